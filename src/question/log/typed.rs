//! Parses what the user entered; reports all errors at once.

use super::fields::{
    ABOVE, ALTITUDE, AMBIENT, AMBIENT_AFTER, CAP, COLUMN, COLUMN_AFTER, COMPARE, DECIMAL,
    DELIMITER, EVERY, FUEL, FULL_FROM, GLYCOL, LOG, MACHINE, TIME_UNIT,
};
use super::{Log, QUESTION, Source, USUAL_LEVELS};
use crate::fault;
use crate::model::log::{Choices, TimeUnit};
use crate::model::{Ask, Setup, in_range_of};
use crate::quantity::parse;
use crate::question::{Field, Intake, Takes, Values, basis};
use crate::trouble::{Trouble, Troubles};
use crate::vary::log::Fuel;

/// Builds the request of the question `log` from the values entered.
pub(super) fn read(values: &Values) -> Result<Log, Troubles> {
    let mut intake = Intake::new(values);
    let (logs, folder) = Source::all(&mut intake, &LOG);
    if logs.is_empty() && intake.problems.is_empty() {
        let expected = "a scan tool's log, as comma-separated values";
        let problem = Trouble::no_answer("no log yet", expected);
        intake.problems.push(problem.on(LOG.key));
    }
    let (after, _) = Source::all(&mut intake, &COMPARE);
    let cap = intake.value(&CAP);
    let glycol = intake.value(&GLYCOL);
    let altitude = intake.value(&ALTITUDE);
    let ambient = [&AMBIENT, &AMBIENT_AFTER].map(|f| intake.value(f));
    let levels = levels(&mut intake);
    let choices = choices(&mut intake);
    let fuel = match intake.choice(&FUEL) {
        Some("petrol" | "gasoline") => Some(Fuel::Petrol),
        Some("diesel") => Some(Fuel::Diesel),
        _ => None,
    };
    let stated = intake.value(&FULL_FROM);
    needs(&mut intake, &[&AMBIENT_AFTER, &COLUMN_AFTER], &COMPARE);
    needs(
        &mut intake,
        &[&basis::OIL, &basis::SET, &basis::WITH],
        &MACHINE,
    );
    let machine = machine(&mut intake);
    let table = folder || logs.len() > 1 && after.is_empty();
    let read = cap.zip(glycol).map(|coolant| Log {
        idle: if table { idle(values) } else { Vec::new() },
        logs,
        after,
        table,
        choices,
        levels,
        coolant,
        altitude,
        fuel,
        ambient,
        full_from: stated.or(machine.as_ref().and_then(full_of)),
        machine,
        units: values.units,
        stop: values.stop.clone(),
    });
    intake.finish(read)
}

/// The machine to compare the log with, if requested.
fn machine(intake: &mut Intake<'_>) -> Option<Setup> {
    let values = intake.values;
    if !values.has(&MACHINE) {
        return None;
    }
    // The altitude field belongs to the log, not to the machine.
    let ask = Ask {
        altitude: None,
        ..basis::ask(values)
    };
    let setup = crate::question::own::resolve(&ask, values).and_then(|mut setup| {
        fault::put_on(&mut setup, &values.list(&basis::WITH), basis::WITH.key)?;
        Ok(setup)
    });
    setup.map_err(|all| intake.problems.extend(all)).ok()
}

/// The coolant temperature, K, above which a machine's thermostat and fan are at their maximum.
fn full_of(setup: &Setup) -> Option<f64> {
    let thermostat = setup.case.thermostat?.full;
    let fan = setup.case.fan_control.map_or(thermostat, |c| c.full);
    Some(thermostat.max(fan))
}

/// Reports fields given without the field that they depend on.
fn needs(intake: &mut Intake<'_>, fields: &[&Field], other: &Field) {
    let values = intake.values;
    if values.has(other) {
        return;
    }
    for field in fields.iter().filter(|f| values.has(f)) {
        let found = format!("{} without {}", field.mention(), other.mention());
        let expected = format!("{} too, or neither", other.mention());
        intake
            .problems
            .push(Trouble::input(found, expected).on(field.key));
    }
}

/// The coolant temperatures, K, above which time is counted: those entered, separated by commas, else the defaults.
fn levels(intake: &mut Intake<'_>) -> Vec<f64> {
    let Takes::Quantity(kind, low, high, _) = ABOVE.takes else {
        return Vec::new();
    };
    let values = intake.values;
    let typed = values.all(&ABOVE).flat_map(|words| words.split(','));
    let read = typed
        .map(str::trim)
        .filter(|w| !w.is_empty())
        .filter_map(|w| {
            let found = parse(kind, w).and_then(|m| in_range_of(kind, low, high, m, values.units));
            intake.keep(&ABOVE, found)
        });
    let levels: Vec<f64> = read.map(|m| m.value).collect();
    if levels.is_empty() {
        USUAL_LEVELS.to_vec()
    } else {
        levels
    }
}

/// Settings for reading the logs before the repair, and those after it.
fn choices(intake: &mut Intake<'_>) -> [Choices; 2] {
    let values = intake.values;
    let time_unit = word(intake, &TIME_UNIT, TimeUnit::find, || {
        let words: Vec<&str> = TimeUnit::WORDS.iter().map(|w| w.0).collect();
        words.join(", ")
    });
    let sign = |word: &str| match word {
        "tab" | "\\t" => Some(b'\t'),
        "space" => Some(b' '),
        one => match one.as_bytes() {
            [c] if c.is_ascii_punctuation() => Some(*c),
            _ => None,
        },
    };
    let signs = || "one character such as `;` or `,`, or the word tab or space".to_string();
    let delimiter = word(intake, &DELIMITER, sign, signs);
    let mark = |word: &str| match word {
        "." | "point" => Some(b'.'),
        "," | "comma" => Some(b','),
        _ => None,
    };
    let decimal = word(intake, &DECIMAL, mark, || "point or comma".into());
    let every = intake.value(&EVERY);
    let before = columns(values.all(&COLUMN));
    let after = match columns(values.all(&COLUMN_AFTER)) {
        none if none.is_empty() => before.clone(),
        some => some,
    };
    [before, after].map(|columns| Choices {
        columns,
        every,
        time_unit,
        delimiter,
        decimal,
        fahrenheit: false,
    })
}

/// Interprets the word entered in a field, if any, with `find`.
fn word<T>(
    intake: &mut Intake<'_>,
    field: &Field,
    find: impl Fn(&str) -> Option<T>,
    expected: impl Fn() -> String,
) -> Option<T> {
    let word = intake.values.get(field)?;
    let unknown = || Trouble::input(format!("`{word}`"), expected());
    intake.keep(field, find(word).ok_or_else(unknown))
}

/// Keys of the fields that the user filled in but that have no effect on a table of several logs.
fn idle(values: &Values) -> Vec<&'static str> {
    let read = [&LOG, &COLUMN, &TIME_UNIT, &EVERY, &DELIMITER, &DECIMAL];
    let acts = |field: &Field| read.iter().any(|f| f.key == field.key);
    let given = QUESTION.fields().filter(|f| values.has(f) && !acts(f));
    given.map(|f| f.key).collect()
}

/// Splits column assignments at commas; a piece without `=` is joined to the previous one, whose heading contains a
/// comma.
fn columns<'a>(typed: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for words in typed {
        for (i, piece) in words.split(',').enumerate() {
            match all.last_mut() {
                Some(last) if i > 0 && !piece.contains('=') => {
                    last.push(',');
                    last.push_str(piece);
                }
                _ => all.push(piece.to_string()),
            }
        }
    }
    let trimmed = all.iter().map(|c| c.trim_matches([' ', ',']));
    trimmed
        .filter(|c| !c.is_empty())
        .map(String::from)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_parted_at_commas_and_headings_with_commas_stay_whole() {
        let of = |typed: &[&str]| columns(typed.iter().copied());
        assert_eq!(
            of(&["coolant=ECT, load=3", "ambient=none"]),
            ["coolant=ECT", "load=3", "ambient=none"]
        );
        assert_eq!(
            of(&["coolant=Temp, engine,load=3,"]),
            ["coolant=Temp, engine", "load=3"]
        );
    }
}
