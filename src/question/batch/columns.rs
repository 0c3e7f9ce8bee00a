//! The meaning of each column of the cases, and how its cells are read.

use crate::input::Input;
use crate::model::{Machine, in_range};
use crate::quantity::{Measure, Units, parse};
use crate::question::basis;
use crate::trouble::Trouble;
use std::sync::LazyLock;

/// The content of a column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Column {
    /// A name for the row, which is repeated in its answer.
    Id,
    /// The machine.
    Machine,
    /// The oil.
    Oil,
    /// Faults, each with its severity.
    With,
    /// Whether the valve is unplugged.
    Unplugged,
    /// A value of an input, with its unit in the cell.
    Typed(Input),
    /// A value of an input as a plain number, with its unit at the end of the column name.
    Plain(Input),
}

/// Columns that are not inputs.
const OTHERS: [(&str, Column); 5] = [
    ("id", Column::Id),
    ("machine", Column::Machine),
    ("oil", Column::Oil),
    ("with", Column::With),
    ("unplugged", Column::Unplugged),
];

/// Operating-condition fields that can be columns, each with the input that it sets.
const CONDITION: [(&str, Input); 5] = [
    (basis::ENGINE_SPEED.key, Input::ENGINE_SPEED),
    (basis::OIL_TEMP.key, Input::OIL_TEMP),
    (basis::COMMAND.key, Input::COMMAND),
    (basis::AIR_TEMP.key, Input::AIR_TEMP),
    (basis::ALTITUDE.key, Input::ALTITUDE),
];

/// The keys of the inputs that a column may set, as typed and as in JSON, each with its input.
static SETTING: LazyLock<Vec<(String, String, Input)>> = LazyLock::new(|| {
    let inputs = Input::all().map(|i| (i.key(), i));
    let named = CONDITION.iter().map(|(k, i)| ((*k).to_string(), *i));
    let keys =
        |(key, input): (String, Input)| (key.clone(), input.field().kind.json_key(&key), input);
    named.chain(inputs).map(keys).collect()
});

/// Number of unknown columns for which a similar name is sought; only so many are shown.
const SUGGESTED: usize = 20;

/// A name as it is compared with keys.
fn plain(name: &str) -> String {
    name.trim().to_lowercase().replace('-', "_")
}

/// All names that a column may have, but for their JSON spellings.
fn known() -> impl Iterator<Item = &'static str> {
    let others = OTHERS.iter().map(|(key, _)| *key);
    others.chain(SETTING.iter().map(|(key, ..)| key.as_str()))
}

/// An unknown column.
fn unknown(name: &str) -> Trouble {
    let expected = "id, machine, oil, with, unplugged, engine_speed, oil_temp, command, air_temp, altitude, or part.key such as pump.slip; the unit belongs in the cell or at the end of the name, as in engine_speed_rpm";
    Trouble::input(format!("no column called `{}`", name.trim()), expected)
}

impl Column {
    /// Determines from its name what a column contains.
    pub fn of(name: &str) -> Result<Self, Trouble> {
        let plain = plain(name);
        if let Some((_, column)) = OTHERS.iter().find(|(key, _)| *key == plain) {
            return Ok(*column);
        }
        for (key, json_key, input) in &*SETTING {
            if plain == *key {
                return Ok(Self::Typed(*input));
            }
            if plain == *json_key {
                return Ok(Self::Plain(*input));
            }
        }
        Err(unknown(name))
    }

    /// The input that the column sets.
    pub fn input(self) -> Option<Input> {
        match self {
            Self::Typed(input) | Self::Plain(input) => Some(input),
            _ => None,
        }
    }
}

/// Determines what each column contains from the heading row; reports all errors at once.
pub(super) fn columns(heads: &[String]) -> Result<Vec<Column>, Vec<Trouble>> {
    let (mut found, mut wrong): (Vec<Column>, Vec<Trouble>) = (Vec::new(), Vec::new());
    for name in heads {
        match Column::of(name) {
            Ok(column) => {
                let same = |other: &Column| {
                    *other == column
                        || (column.input().is_some() && other.input() == column.input())
                };
                if found.iter().any(same) {
                    let found = format!("`{name}` sets what another column also sets");
                    wrong.push(Trouble::input(found, "one column for each input"));
                }
                found.push(column);
            }
            // A suggestion compares the name with every input: only the first errors are shown, and they alone need one.
            Err(trouble) if wrong.len() >= SUGGESTED => wrong.push(trouble),
            Err(trouble) => wrong.push(trouble.did_you_mean(&plain(name), known())),
        }
    }
    if wrong.is_empty() {
        Ok(found)
    } else {
        Err(wrong)
    }
}

/// Reads the value of an input from a cell, and checks that it is within its range.
pub(super) fn measure(
    column: Column,
    input: Input,
    cell: &str,
    machine: &Machine,
) -> Result<Measure, Trouble> {
    let field = input.field();
    let plain = |number: f64| Measure::exact(field.kind.from_json(number));
    let found = match column {
        Column::Plain(_) => match cell.parse().ok().filter(|x: &f64| x.is_finite()) {
            Some(number) => plain(number),
            None => {
                let expected = format!("a number in {}", field.kind.json_suffix());
                return Err(Trouble::input(format!("`{cell}`"), expected));
            }
        },
        _ => match word(input, cell, machine) {
            Some(measure) => measure,
            None => parse(field.kind, cell)?,
        },
    };
    in_range(field, found, Units::Si)
}

/// The value of a word used instead of a number, such as `idle` or `full`; `None` if the cell is not such a word.
fn word(input: Input, cell: &str, machine: &Machine) -> Option<Measure> {
    if input == Input::ENGINE_SPEED {
        return machine.usual.engine_speed(cell);
    }
    match cell {
        "full" if input == Input::COMMAND => Some(Measure::exact(1.0)),
        "least" if input == Input::COMMAND => Some(Measure::exact(0.0)),
        _ => None,
    }
}
