//! Presents the outcome of `log` in words and pictures.
//! | file | what it says |
//! |---|---|
//! | `drive.rs` | rows, peak, time above levels, episodes, margin to boiling; the columns used |
//! | `guessed.rs` | the guesses about a log |
//! | `cooling.rs` | whether the engine runs hot at standstill or on the move: cooling by pace |
//! | `compared.rs` | the comparison of logs before and after a repair |
//! | `simulation.rs` | the log compared with a simulation |
//! | `pictures.rs` | the curves |
//! | `several.rs` | several logs in one table |

mod compared;
mod cooling;
mod drive;
mod guessed;
mod pictures;
mod several;
mod simulation;

use super::answer::{Block, Figure};
use super::{Presentation, inputs, words};
use crate::model::log::Signal;
use crate::quantity::Kind;
use crate::question::Series;
use crate::question::log::{Finding, Found, Log};
use serde_json::{Map, Value, json};

/// Presents the outcome of the question.
pub fn tell(request: &Log, finding: &Finding) -> Presentation {
    match finding {
        Finding::One(found) => one(request, found),
        Finding::Several(found) => several::tell(request.units, found),
    }
}

/// One log, or one from before and one from after a repair.
fn one(request: &Log, found: &Found) -> Presentation {
    let units = request.units;
    let mut told = Presentation {
        figure: Some(Figure {
            figure: drive::peak(units, &found.drive.0),
            label: "peak coolant temperature in this log".into(),
            key: "coolant_temp",
        }),
        assumptions: assumptions(request, found),
        case: case(request, found),
        cautions: found.cautions.clone(),
        series: series(found),
        ..Presentation::default()
    };
    let peak = drive::headline(units, found);
    match &found.compare {
        // With a second log the question was whether the repair worked, so the comparison comes first.
        Some(compare) => {
            compared::tell(&mut told, units, compare);
            let more = found.names.iter().any(|logs| logs.len() > 1);
            let which = if more {
                "Before, in the first log"
            } else {
                "Before"
            };
            told.say(format!("{which}: {peak}"));
        }
        // Where the engine runs hot is the main result of a single log.
        None => {
            let hot = &found.runs_hot;
            told.headline(match cooling::lead(&hot.said) {
                Some(lead) => format!("{lead}. {peak}"),
                None => peak,
            });
            if !found.drive.0.verdict_withdrawn {
                told.why(cooling::why(units, found));
            }
            if let Some(next) = cooling::next(&hot.said) {
                told.show(Block::Next(next));
            }
        }
    }
    told.say(drive::rows(units, &found.drive.0));
    drive::rates(&mut told, units, &found.drive.0);
    guessed::tell(&mut told, &found.log, "");
    if let Some(after) = &found.log_after {
        guessed::tell(&mut told, after, AFTER);
    }
    pictures::tell(&mut told, units, found);
    if !found.drive.0.verdict_withdrawn {
        drive::levels(&mut told, units, found);
        told.show(Block::Table(drive::margin(units, found)));
    }
    cooling::tell(&mut told, request, found);
    if let (Some(setup), Some(model)) = (&request.machine, &found.model) {
        simulation::tell(&mut told, setup, found, model);
    }
    drive::columns(&mut told, units, &found.log, "");
    if let Some(after) = &found.log_after {
        drive::columns(&mut told, units, after, AFTER);
    }
    told.show(Block::Safety(SAFETY.map(String::from).to_vec()));
    told
}

/// Added to a heading to name the second log.
const AFTER: &str = " after the repair";

const SAFETY: [&str; 4] = [
    "Never open a hot cooling system: the cap holds back scalding coolant and steam.",
    "The fan may start by itself, even with the engine off. Keep hands and sleeves out of its plane.",
    "Do not read a screen while driving: record a log and look at it later.",
    "After an engine has overheated, the service information and a licensed workshop decide what to inspect.",
];

/// The assumptions about logs, coolant and machine, each as label and value.
fn assumptions(request: &Log, found: &Found) -> Vec<(String, String)> {
    let (units, filling) = (request.units, &found.filling);
    let mut altitude = units.show(Kind::Altitude, filling.altitude);
    if found.altitude_logged {
        altitude.push_str(" (highest logged)");
    }
    let mut all: Vec<(String, String)> = vec![
        ("log".into(), found.names[0].join(", ")),
        ("cap".into(), units.show(Kind::Pressure, filling.cap)),
        ("glycol".into(), units.show(Kind::Share, filling.glycol)),
        ("altitude".into(), altitude),
    ];
    let logs = [Some(&found.log), found.log_after.as_ref()];
    let names = ["ambient", "ambient after the repair"];
    for ((name, log), stated) in names.into_iter().zip(logs).zip(request.ambient) {
        if let (Some(log), Some(stated)) = (log, stated) {
            let mut shown = units.show(Kind::Temperature, stated);
            if log.knows(Signal::Ambient) {
                shown.push_str(" (instead of the log's)");
            }
            all.push((name.into(), shown));
        }
    }
    if !found.names[1].is_empty() {
        all.push(("log after the repair".into(), found.names[1].join(", ")));
    }
    let of_machine = request.machine.iter().flat_map(words::lasting);
    all.extend(of_machine);
    all
}

/// The inputs of the boiling point and every input of the machine, in SI units, by key.
fn case(request: &Log, found: &Found) -> Map<String, Value> {
    let filling = &found.filling;
    let mut case: Map<String, Value> = Map::new();
    case.insert("cap".into(), json!(filling.cap));
    case.insert("glycol".into(), json!(filling.glycol));
    case.insert("altitude".into(), json!(filling.altitude));
    let names = ["ambient", "ambient_after"];
    for (name, stated) in names.into_iter().zip(request.ambient) {
        case.extend(stated.map(|t| (name.to_string(), json!(t))));
    }
    case.extend(request.machine.iter().flat_map(inputs));
    case
}

/// The log over time, with the simulation if there is one.
fn series(found: &Found) -> Series {
    let mut series = Series::of(&found.series);
    if !found.model.as_ref().is_some_and(|m| m.ran()) {
        series.heads.pop();
        for row in &mut series.rows {
            row.pop();
        }
    }
    series
}
