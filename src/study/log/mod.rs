//! What does a log of the road say: how hot, how long, doing what; how far from boiling; and did the repair work?
//!
//! | file | what it says |
//! |---|---|
//! | `exposure.rs` | rows, peak, time above levels, episodes, margin to boiling |
//! | `paces.rs` | where it runs hot: cooling by road speed |
//! | `compared.rs` | before and after |
//! | `machine.rs` | against the model: measured and simulated coolant |
//! | `columns.rs` | which column was taken for what, and what the log's own state asks to be borne in mind |
//! | `table.rs` | several logs in one table |
//! | `pictures.rs` | the curves and the series behind them |
//! | `typed.rs` | the question as typed, by flags or by form |

mod columns;
mod compared;
mod exposure;
mod machine;
mod paces;
mod pictures;
mod table;
mod typed;

pub use table::table;
pub use typed::{Logs, ReadLogs, Typed, asked, choices};

use super::answer::{Answer, Block};
use crate::fluid::coolant;
use crate::input::unit::celsius;
use crate::model::Posed;
use crate::model::log::Signal;
use crate::quantity::{Kind, Units};
use crate::vary::log::{Digest, Fuel};
use serde_json::Value;

/// Levels that are counted where none are asked for, K.
pub fn usual_levels() -> [f64; 3] {
    [100.0, 105.0, 110.0].map(celsius)
}

/// Cap, mix and altitude, from which boiling follows.
#[derive(Clone, Copy, Debug)]
pub struct Filling {
    /// What the cap holds, Pa gauge.
    pub cap: f64,
    /// Share of glycol by volume.
    pub glycol: f64,
    /// Altitude, m.
    pub altitude: f64,
    /// Whether that is the greatest altitude logged.
    pub logged: bool,
}

impl Filling {
    /// Temperatures, K, between which it begins to boil.
    fn boiling(&self) -> [f64; 2] {
        coolant::boiling(self.glycol, self.cap, self.altitude)
    }

    /// All levels to count: those asked for, and the low edge of boiling.
    pub fn levels(&self, asked: &[f64]) -> Vec<f64> {
        let mut levels = asked.to_vec();
        levels.push(self.boiling()[0]);
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        levels
    }
}

/// What is asked.
pub struct Question {
    /// The log, its exposure counted at the filling's [`Filling::levels`].
    pub log: Digest,
    /// A log after a repair, to hold against it.
    pub after: Option<Digest>,
    /// Further logs before and after.
    pub more: [Vec<Digest>; 2],
    /// Cap, mix, altitude.
    pub filling: Filling,
    /// What the engine burns, if said.
    pub fuel: Option<Fuel>,
    /// Ambient temperature of the log and of the one after, K, if said.
    pub ambient: [Option<f64>; 2],
    /// Coolant temperature, K, from which thermostat and fan have no more to give, if said.
    pub full_from: Option<f64>,
    /// A machine to hold it against, if asked for.
    pub machine: Option<Posed>,
    /// Units to print.
    pub units: Units,
}

/// Answers.
pub fn answer(question: &Question) -> Answer {
    let (log, after, units) = (&question.log, &question.after, question.units);
    let filling = &question.filling;
    let mut altitude = units.show(Kind::Altitude, filling.altitude);
    if filling.logged {
        altitude.push_str(" (the greatest logged)");
    }
    let mut answer = Answer {
        question: "log",
        case: vec![
            ("log".into(), log.source.clone()),
            ("cap".into(), units.show(Kind::Pressure, filling.cap)),
            ("glycol".into(), units.show(Kind::Share, filling.glycol)),
            ("altitude".into(), altitude),
        ],
        ..Answer::default()
    };
    for (name, log, said) in [
        ("ambient", Some(log), question.ambient[0]),
        ("ambient after", after.as_ref(), question.ambient[1]),
    ] {
        let (Some(log), Some(said)) = (log, said) else {
            continue;
        };
        let mut shown = units.show(Kind::Temperature, said);
        if log.knows(Signal::Ambient) {
            shown.push_str(" (in place of the log's)");
        }
        answer.case.push((name.into(), shown));
    }
    let peak = exposure::headline(question);
    match after {
        // The question was whether the repair worked: that comes first.
        Some(after) => {
            answer.case.push(("after".into(), after.source.clone()));
            compared::say(&mut answer, question);
            let before = format!("Before: {peak}");
            answer.blocks.push(Block::Sentence(before));
        }
        None => answer.blocks.push(Block::Headline(peak)),
    }
    exposure::rows(&mut answer, units, log);
    pictures::say(&mut answer, question);
    exposure::levels(&mut answer, question, log);
    exposure::margin(&mut answer, question);
    paces::say(&mut answer, question);
    let simulated = question
        .machine
        .as_ref()
        .and_then(|posed| machine::say(&mut answer, question, posed));
    columns::say(&mut answer, units, log, "");
    if let Some(after) = after {
        let mut other = Answer::default();
        exposure::rows(&mut other, units, after);
        exposure::levels(&mut other, question, after);
        other.blocks.clear();
        columns::say(&mut other, units, after, " after");
        answer.blocks.extend(other.blocks);
        let numbers = Value::Object(other.numbers);
        answer.numbers.insert("after".into(), numbers);
        let said = other.cautions.into_iter().map(|c| format!("After: {c}"));
        answer.cautions.extend(said);
    }
    if !log.knows(Signal::Ambient) && question.ambient[0].is_none() {
        let said = "Ambient is not in the log: --ambient says it.";
        answer.cautions.push(said.into());
    }
    answer.cautions.push("Where a coolant begins to boil differs between published figures by several kelvin, so it is a band; steam pockets at hot spots come earlier. The sensor reads where it sits, in steps of 1 °C on most vehicles.".into());
    answer.series = pictures::series(log, simulated.as_ref());
    answer
        .blocks
        .push(Block::Safety(SAFETY.map(String::from).to_vec()));
    answer
}

const SAFETY: [&str; 4] = [
    "Never open a hot cooling system: the cap holds back scalding coolant and steam.",
    "The fan may start by itself, also with the engine off. Keep hands and sleeves out of its plane.",
    "Do not read a screen while driving: let the tool log, and look later.",
    "After an engine was too hot, what to inspect follows the service information and licensed practice.",
];

/// A time in words.
fn span(seconds: f64) -> String {
    let s = seconds.round().max(0.0) as u64;
    match s {
        0..60 => format!("{s} s"),
        60..3600 if s.is_multiple_of(60) => format!("{} min", s / 60),
        60..3600 => format!("{} min {} s", s / 60, s % 60),
        _ => format!("{} h {} min", s / 3600, s / 60 % 60),
    }
}

/// A moment after the first row, as a clock shows it.
fn moment(seconds: f64) -> String {
    let s = seconds.round().max(0.0) as u64;
    format!("{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

/// So many of a thing: `1 row`, `3 rows`.
fn count(many: u64, thing: &str) -> String {
    match many {
        0 => format!("no {thing}"),
        1 => format!("1 {thing}"),
        _ => format!("{many} {thing}s"),
    }
}
