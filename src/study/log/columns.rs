//! Which column was taken for what, and what the log's own state asks to be borne in mind.

use super::super::answer::{Answer, Block, Table};
use super::{count, moment, span};
use crate::model::log::{Guess, Guessed, SIGNALS, Signal};
use crate::quantity::{Kind, Units};
use crate::vary::log::Digest;
use serde_json::{Map, Value, json};

/// A reading that stands still for longer, s, is remarked on.
const STILL: f64 = 1200.0;

/// Mistakes that are printed.
const PRINTED: usize = 5;

pub(super) fn say(answer: &mut Answer, units: Units, log: &Digest, which: &str) {
    let (mut rows, mut numbers) = (Vec::new(), Map::new());
    let layout = &log.layout;
    if let Some(at) = layout.time_column {
        let name = layout.heads.get(at - 1).cloned().unwrap_or_default();
        numbers.insert(
            "time".into(),
            json!({"column": at, "name": name, "unit": layout.clock}),
        );
        let clock = layout.clock.to_string();
        rows.push(vec![
            "time".to_string(),
            at.to_string(),
            name,
            clock,
            String::new(),
        ]);
    }
    for column in &layout.columns {
        let (at, name) = (column.number, &column.name);
        let seen = log.tally.seen[column.signal as usize];
        let said = if column.unit_guessed {
            " (not said)"
        } else {
            ""
        };
        let range = if seen.readings > 0 {
            let [least, most] = [seen.least, seen.most].map(|v| show(units, column.signal, v));
            format!("{least} to {most}")
        } else {
            let caution = format!("Column {at}, `{name}`, is blank throughout.");
            answer.cautions.push(caution);
            "all blank".to_string()
        };
        rows.push(vec![
            column.signal.label().to_string(),
            at.to_string(),
            name.clone(),
            format!("{}{said}", column.unit),
            range,
        ]);
        numbers.insert(
            column.signal.key().into(),
            json!({
                "column": at, "name": name, "unit": column.unit,
                "unit_guessed": column.unit_guessed, "readings": seen.readings,
                "impossible": seen.impossible,
            }),
        );
    }
    answer.blocks.push(Block::Table(Table {
        title: format!(
            "Which column{which} was taken for what (--column SIGNAL=COLUMN says otherwise)"
        ),
        heads: ["signal", "column", "heading", "unit", "read"]
            .map(String::from)
            .to_vec(),
        rows,
        numeric: vec![1],
    }));
    let missing: Vec<&str> = SIGNALS
        .into_iter()
        .filter(|s| !layout.columns.iter().any(|c| c.signal == *s))
        .map(Signal::label)
        .collect();
    if !missing.is_empty() {
        let missing = format!("Not in the log: {}.", missing.join(", "));
        answer.blocks.push(Block::Sentence(missing));
    }
    let guesses = layout.guesses.iter().map(|g| {
        json!({"what": format!("{:?}", g.what), "taken": g.taken, "other": g.other, "setting": g.setting})
    });
    answer.numbers.insert("guesses".into(), guesses.collect());
    answer
        .numbers
        .insert("columns".into(), Value::Object(numbers));
    answer.cautions.extend(told(units, log));
}

/// A reading in the units that are printed.
fn show(units: Units, signal: Signal, v: f64) -> String {
    let kind = match signal {
        Signal::AirFlow => return format!("{:.1} g/s", v * 1e3),
        Signal::FuelRate => return format!("{:.2} L/h", v * 3.6e6),
        Signal::Coolant | Signal::Ambient | Signal::IntakeAir => Kind::Temperature,
        Signal::EngineSpeed | Signal::FanSpeed => Kind::Speed,
        Signal::RoadSpeed => Kind::RoadSpeed,
        Signal::ManifoldPressure | Signal::Barometer => Kind::AbsolutePressure,
        Signal::Load | Signal::AirConditioning | Signal::FanCommand => Kind::Share,
        Signal::Altitude => Kind::Altitude,
    };
    units.show(kind, v)
}

/// A guess in one line, with the alternative and what settles it.
fn guessed(guess: &Guess) -> String {
    let what = match guess.what {
        Guessed::TimeScale => "the time is".to_string(),
        Guessed::TimeColumn => "the time stands in".into(),
        Guessed::Delimiter => "between cells stands".into(),
        Guessed::Marks(signal) => format!("in {},", signal.label()),
        Guessed::Unit(signal) => format!("{} is in", signal.label()),
        Guessed::Shift => "under the headings,".into(),
    };
    format!(
        "{what} {}; else {}: {}",
        guess.taken, guess.other, guess.setting
    )
}

/// What the log's own state asks to be borne in mind.
fn told(units: Units, log: &Digest) -> Vec<String> {
    let (tally, layout, mut said) = (&log.tally, &log.layout, Vec::new());
    for (at, name, signal) in &layout.passed_over {
        let signal = signal.label();
        said.push(format!(
            "Column {at}, `{name}`, may carry {signal} too; it was not used."
        ));
    }
    for m in tally.mistakes.iter().take(PRINTED) {
        let what = if m.dropped { "dropped" } else { "kept" };
        said.push(format!(
            "Line {}, column {} (`{}`): found `{}`, expected {}; the row was {what}.",
            m.line, m.column, m.name, m.found, m.expected
        ));
    }
    let all = tally.rows_dropped + tally.mixed_units;
    if all > PRINTED as u64 {
        let listed = tally.mistakes.len();
        said.push(format!(
            "These are {PRINTED} of {all}; --json lists the first {listed}."
        ));
    }
    if tally.rows_read < 30 || tally.duration < 120.0 {
        let (rows, long) = (count(tally.rows_read, "row"), span(tally.duration));
        said.push(format!(
            "This is a short log ({rows}, {long}): it shows what was, and hardly what usually is."
        ));
    }
    if tally.dropouts > 0 {
        let readings = count(tally.dropouts, "coolant reading");
        said.push(format!(
            "Passed over: {readings} that no coolant can have (a sensor that dropped out)."
        ));
    }
    for guess in &layout.guesses {
        said.push(format!("Guessed: {}.", guessed(guess)));
    }
    for session in &tally.sessions {
        let lacks = match session.coolant {
            true => "",
            false => ", without a column of coolant, so its rows tell nothing",
        };
        said.push(format!(
            "A further session begins in line {}, under headings of its own{lacks}.",
            session.line
        ));
    }
    if tally.placeholders > 0 {
        let rows = count(tally.placeholders, "row");
        said.push(format!(
            "Passed over: {rows} in which nearly everything reads 0, as before a link is up."
        ));
    }
    if tally.ahead > 0 {
        let rows = count(tally.ahead, "row");
        said.push(format!("Dropped: {rows} whose time alone lay far ahead."));
    }
    for signal in SIGNALS.into_iter().filter(|s| *s != Signal::Coolant) {
        let impossible = tally.seen[signal as usize].impossible;
        if impossible > 0 {
            let readings = count(impossible, "reading");
            said.push(format!(
                "Passed over: {readings} of {} beyond what it can be.",
                signal.label()
            ));
        }
    }
    if tally.restarts > 0 {
        said.push("The clock was set back within the log; what lies between is counted as a gap of unknown length.".into());
    }
    let unsaid = |c: &crate::model::log::Column| c.signal == Signal::Coolant && c.unit_guessed;
    if log.fahrenheit_guessed {
        said.push("No unit is said for the coolant; in °C it would be beyond any coolant, so °F were taken.".into());
    } else if layout.columns.iter().any(unsaid) {
        said.push("No unit is said for the coolant; °C were taken.".into());
    }
    let still = log.exposure.unmoved;
    if still.long > STILL {
        said.push(format!(
            "The coolant reading stood at {} for {} from {} on with the engine running: a thermostat may hold it so, and so does a sensor that sticks.",
            units.show(Kind::Temperature, still.reading),
            span(still.long),
            moment(still.from)
        ));
    }
    let intake = tally.seen[Signal::IntakeAir as usize];
    if intake.readings > 0 && intake.most - intake.least > 30.0 {
        let [least, most] = [intake.least, intake.most].map(|t| units.show(Kind::Temperature, t));
        said.push(format!(
            "Intake air reads from {least} to {most}: useless as ambient, and not used for it."
        ));
    }
    said
}
