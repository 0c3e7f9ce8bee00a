//! Assigns columns to signals, with their units.

use super::cell::{self, Marks};
use super::choices::{Choices, Guess, Guessed};
use super::layout::{Cells, Head};
use super::marks::{self, Place};
use super::names::{self, Meaning, SIGNALS, Scale, Signal, Unit};
use crate::law::diagnostic_scaling_sae_j1979::Parameter;
use crate::trouble::{Trouble, Troubles};

/// A column of a log and how its cells are interpreted.
#[derive(Clone, Debug)]
pub struct Column {
    /// Position of the column, from 1; if each row holds one reading, its position in the equivalent table with one
    /// column per signal.
    pub number: usize,
    /// Heading of the column.
    pub name: String,
    /// Signal of the column.
    pub signal: Signal,
    /// Unit of the column, normalised.
    pub unit: String,
    /// Whether the usual unit was assumed because none is given.
    pub unit_guessed: bool,
    /// Whether the user gave the unit.
    pub(super) unit_said: bool,
    /// The meaning of points and commas in the column.
    pub(super) marks: Marks,
    /// Whether the column has had neither points nor commas so far.
    pub(super) open: bool,
    /// Conversion of the cells to SI.
    pub(super) scale: Scale,
    /// Scaling of the raw bytes, if the column has raw bytes.
    pub(super) raw: Option<Parameter>,
}

/// A column assignment by the user.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Assigned {
    Nothing,
    Said(Meaning),
    Refused,
}

/// Applies the column assignments that the user made as `signal=column`.
pub(super) fn assigned(
    heads: &mut [Head],
    choices: &Choices,
    line: u64,
    source: &str,
    troubles: &mut Troubles,
) -> Vec<Assigned> {
    let mut assigned = vec![Assigned::Nothing; heads.len()];
    for typed in &choices.columns {
        let read = meant(typed).and_then(|(meaning, name)| match name {
            none if none.eq_ignore_ascii_case("none") => Ok((meaning, None)),
            name => match place(heads, name) {
                None => Err(no_column(heads, name, line, source)),
                place => Ok((meaning, place)),
            },
        });
        match read {
            Ok((meaning, None)) => {
                for (a, head) in assigned.iter_mut().zip(heads.iter()) {
                    if head.means(meaning) {
                        *a = Assigned::Refused;
                    }
                }
            }
            Ok((meaning, Some((at, unit)))) => {
                assigned[at] = Assigned::Said(meaning);
                if !unit.is_empty() {
                    heads[at].unit = unit;
                }
            }
            Err(trouble) => troubles.push(trouble.on("column")),
        }
    }
    assigned
}

/// The signal or time named before the `=`, and the text after it.
fn meant(typed: &str) -> Result<(Meaning, &str), Trouble> {
    let expected = "SIGNAL=COLUMN, such as coolant=ECT";
    let parted = typed.split_once('=');
    let (key, name) = parted.ok_or_else(|| Trouble::input(format!("`{typed}`"), expected))?;
    let (key, name) = (key.trim(), name.trim());
    if key == "time" {
        return Ok((Meaning::Time, name));
    }
    let signal = Signal::find(key).ok_or_else(|| {
        let keys: Vec<&str> = SIGNALS.iter().map(|s| s.key()).chain(["time"]).collect();
        let found = format!("no signal called `{key}`");
        Trouble::input(found, keys.join(", ")).did_you_mean(key, keys)
    })?;
    Ok((Meaning::Signal(signal), name))
}

/// The position of a column, by name or number; a unit may follow in square brackets.
fn place(heads: &[Head], name: &str) -> Option<(usize, String)> {
    let find = |name: &str| {
        let by_name = heads.iter().position(|h| h.is(name));
        let by_number = name.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
        by_name.or(by_number.filter(|n| *n < heads.len()))
    };
    if let Some(at) = find(name) {
        return Some((at, String::new()));
    }
    let (name, unit) = name.strip_suffix(']')?.rsplit_once('[')?;
    Some((find(name.trim())?, unit.trim().to_string()))
}

fn no_column(heads: &[Head], name: &str, line: u64, source: &str) -> Trouble {
    let names: Vec<String> = heads.iter().map(|h| quoted(&h.name)).collect();
    let found = format!("no column called `{name}` in line {line} of {source}");
    let trouble = Trouble::input(found, listed(&names));
    trouble.did_you_mean(name, heads.iter().map(|h| h.name.as_str()))
}

/// Finds the column of each signal: the one that the user assigned, otherwise the one with the best heading and numbers
/// below it.
pub(super) fn columns(
    heads: &[Head],
    rows: &[Cells],
    assigned: &[Assigned],
    choices: &Choices,
    file: Marks,
    guesses: &mut Vec<Guess>,
) -> Vec<Column> {
    let mut columns = Vec::new();
    for signal in SIGNALS {
        let said = Assigned::Said(Meaning::Signal(signal));
        let said = assigned.iter().position(|a| *a == said);
        let candidates = candidates(heads, assigned, signal);
        let best = said.or_else(|| best(&candidates, heads, rows, signal, file));
        let Some(at) = best else { continue };
        let others = candidates.iter().filter(|other| **other != at);
        let others = others.filter(|_| said.is_none());
        guesses.extend(others.map(|other| Guess {
            what: Guessed::Column(signal),
            taken: named(heads, at),
            other: named(heads, *other),
            field: Some("column"),
            setting: format!("{}={}", signal.key(), other + 1),
        }));
        let head = &heads[at];
        let place = Place {
            rows,
            at,
            signal,
            head,
        };
        let marks = place.marks(file, choices, guesses);
        // The unit written after the readings, if the heading has none.
        let behind = rows.iter().filter_map(|r| r.get(at)).find_map(|c| {
            let unit = cell::text(cell::number(c.trim_ascii(), marks)?.1);
            names::scale(signal.kind(), &unit).map(|_| unit)
        });
        let mut column = column(at, head, behind, signal, choices);
        column.marks = marks;
        column.open = marks::open(rows, at, choices);
        guesses.extend(unit_guess(&column, choices));
        columns.push(column);
    }
    columns
}

/// The candidate columns for a signal, best first.
fn candidates(heads: &[Head], assigned: &[Assigned], signal: Signal) -> Vec<usize> {
    let open = heads.iter().zip(assigned).enumerate();
    let open = open.filter(|(_, (_, assigned))| **assigned == Assigned::Nothing);
    let mut sure: Vec<(i32, usize)> = open
        .filter_map(|(i, (head, _))| match head.meaning {
            Some((Meaning::Signal(s), sure)) if s == signal => Some((-sure, i)),
            _ => None,
        })
        .filter(|(_, i)| {
            // A unit of another kind shows that the column holds something else.
            let unit = &heads[*i].unit;
            let own = || names::scale(signal.kind(), unit).is_some();
            unit.is_empty() || own() || names::is_raw(unit)
        })
        .collect();
    sure.sort_unstable();
    sure.into_iter().map(|c| c.1).collect()
}

/// The best of several candidate columns: one with numbers is preferred to one that is blank so far, almost blank, or
/// zero throughout where zeros mean that there is no reading. For the coolant, a column with other text is used if there
/// is no better one, and its errors are reported cell by cell.
fn best(
    candidates: &[usize],
    heads: &[Head],
    rows: &[Cells],
    signal: Signal,
    file: Marks,
) -> Option<usize> {
    let of = |wanted: Option<bool>| {
        let all = candidates.iter().copied();
        all.filter(move |at| filled(rows, *at, heads, signal, file) == wanted)
    };
    let zeros = matches!(signal.kind(), Unit::Temperature | Unit::Pressure)
        || signal == Signal::EngineSpeed;
    let told = |at: usize| {
        let cells = rows
            .iter()
            .filter_map(|r| r.get(at))
            .map(|c| c.trim_ascii());
        let told = cells.filter(|c| !c.is_empty() && !cell::missing(c));
        told.filter(|c| !zeros || cell::number(c, file).is_none_or(|n| n.0 != 0.0))
            .count()
    };
    let most = of(Some(true)).map(told).max().unwrap_or(0);
    let must = || candidates.first().copied();
    let must = || must().filter(|_| signal == Signal::Coolant);
    { of(Some(true)) }
        .find(|at| told(*at) * 10 >= most)
        .or_else(|| of(None).next())
        .or_else(must)
}

/// Describes a column in words by its number and heading.
pub(super) fn named(heads: &[Head], at: usize) -> String {
    match heads[at].name.as_str() {
        "" => format!("column {}", at + 1),
        name => format!("column {}, {}", at + 1, quoted(name)),
    }
}

fn column(
    at: usize,
    head: &Head,
    behind: Option<String>,
    signal: Signal,
    choices: &Choices,
) -> Column {
    let raw = signal.scaling().filter(|_| names::is_raw(&head.unit));
    let of = |unit: &str| Some((names::scale(signal.kind(), unit)?, tidy(unit)));
    let said = of(&head.unit).or_else(|| of(&behind?));
    let usual = match signal.kind() {
        Unit::Temperature if choices.fahrenheit => "°F",
        _ => signal.usual_unit(),
    };
    let unit_guessed = raw.is_none() && said.is_none();
    let (scale, unit) = match (raw, said) {
        (Some(parameter), _) => (
            names::scale(signal.kind(), parameter.unit).unwrap_or((1.0, 0.0)),
            "bytes".to_string(),
        ),
        (None, Some(said)) => said,
        (None, None) => (
            names::scale(signal.kind(), usual).unwrap_or((1.0, 0.0)),
            usual.to_string(),
        ),
    };
    Column {
        number: at + 1,
        name: head.name.clone(),
        signal,
        unit,
        unit_guessed,
        unit_said: choices.say_unit(signal),
        marks: Marks::Decimal,
        open: false,
        scale,
        raw,
    }
}

/// The guess about a missing unit, for a signal that is commonly given in more than one unit.
fn unit_guess(column: &Column, choices: &Choices) -> Option<Guess> {
    let other = match column.signal.kind() {
        Unit::Temperature if choices.fahrenheit => "°C",
        Unit::Temperature => "°F",
        Unit::Road => "mph",
        Unit::MassFlow => "lb/min",
        Unit::FuelFlow => "gal/h",
        Unit::Pressure => "psi",
        Unit::Height => "ft",
        _ => return None,
    };
    let key = column.signal.key();
    column.unit_guessed.then(|| Guess {
        what: Guessed::Unit(column.signal),
        taken: column.unit.clone(),
        other: other.into(),
        field: Some("column"),
        setting: format!("{key}={} [{other}]", column.number),
    })
}

/// A unit as it is displayed: a damaged degree sign is repaired.
fn tidy(unit: &str) -> String {
    match names::plain_unit(unit).as_str() {
        "c" | "degc" | "celsius" => "°C".into(),
        "f" | "degf" | "fahrenheit" => "°F".into(),
        _ => unit.to_string(),
    }
}

/// Whether a column holds numbers (rather than other text); `None` if it is blank so far.
fn filled(rows: &[Cells], at: usize, heads: &[Head], signal: Signal, marks: Marks) -> Option<bool> {
    let (mut good, mut bad) = (0, 0);
    for cell in rows.iter().filter_map(|r| r.get(at)) {
        let cell = cell.trim_ascii();
        if cell.is_empty() || cell::missing(cell) {
            continue;
        }
        let reads = cell::number(cell, marks).is_some()
            || (signal.kind() == Unit::Switch && cell::switch(cell).is_some())
            || names::is_raw(&heads[at].unit);
        good += usize::from(reads);
        bad += usize::from(!reads);
    }
    (good + bad > 0).then_some(good >= bad)
}

/// The error for a missing coolant column, and the column (from 1) that the message points to.
pub(super) fn no_coolant(heads: &[Head]) -> (Trouble, usize) {
    let named = |h: &Head| h.means(Meaning::Signal(Signal::Coolant));
    if let Some(i) = heads.iter().position(named) {
        let Head { name, unit, .. } = &heads[i];
        let found = format!(
            "the coolant temperature column {} has the unit `{unit}`",
            quoted(name)
        );
        return (Trouble::input(found, "°C or °F"), i + 1);
    }
    let names: Vec<String> = heads.iter().map(|h| quoted(&h.name)).collect();
    let found = format!(
        "no column of coolant temperature was found among {}",
        listed(&names)
    );
    let expected = "a heading such as `Engine coolant temperature`";
    (Trouble::input(found, expected), 1)
}

/// A heading as shown in messages, shortened if too long.
pub(super) fn quoted(name: &str) -> String {
    const MOST: usize = 40;
    match name.char_indices().nth(MOST) {
        Some((end, _)) => format!("`{}…`", &name[..end]),
        None => format!("`{name}`"),
    }
}

/// The first few of a list of names.
fn listed(names: &[String]) -> String {
    const MOST: usize = 12;
    match names.len() {
        n if n > MOST => format!("{} and {} more", names[..MOST].join(", "), n - MOST),
        _ => names.join(", "),
    }
}
