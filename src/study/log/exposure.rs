//! Rows, peak, time above levels, episodes, margin to boiling.

use super::super::answer::{Answer, Block, Table};
use super::{Filling, Question, count, moment, span};
use crate::quantity::{Kind, Units};
use crate::vary::log::{CLIMB, Digest, Episode, Pace};
use serde_json::{Map, Value, json};

/// Episodes that the table shows.
const SHOWN: usize = 12;

/// In one sentence.
pub(super) fn headline(question: &Question) -> String {
    let (log, units) = (&question.log, question.units);
    let (peak, when) = log.exposure.peak.unwrap_or((f64::NAN, f64::NAN));
    let below = question.filling.boiling()[0] - peak;
    let boil = if below >= 0.0 {
        let below = units.show(Kind::TemperatureDifference, below);
        format!("{below} below where it may begin to boil")
    } else {
        "inside or above the band in which it begins to boil".to_string()
    };
    let hot = log.exposure.levels.first().map_or(String::new(), |first| {
        let level = units.show(Kind::Temperature, first.temperature);
        if first.reached() {
            let [time, longest] = [first.time, first.longest].map(span);
            format!("; it was at or above {level} for {time}, the longest stretch {longest}")
        } else {
            format!("; it never reached {level}")
        }
    });
    let peak = units.show(Kind::Temperature, peak);
    let when = moment(when);
    if log.withdrawn() {
        return format!(
            "No verdict: too many readings dropped out or could not be used. The highest that is left is {peak} ({when} after the first row)."
        );
    }
    format!("The coolant peaked at {peak} ({when} after the first row), {boil}{hot}.")
}

/// What was counted.
pub(super) fn rows(answer: &mut Answer, units: Units, log: &Digest) {
    let (tally, exposure) = (&log.tally, &log.exposure);
    let gaps = match tally.gap_count {
        0 => "without a gap".to_string(),
        1 => format!("with one gap of {}", span(tally.gap_time)),
        n => format!("with {n} gaps, {} together", span(tally.gap_time)),
    };
    let mut said = format!(
        "{} over {}, {gaps}; {} dropped.",
        count(tally.rows_read, "row"),
        span(tally.duration),
        count(tally.rows_dropped, "row")
    );
    let plateau = exposure.plateau();
    if let Some((plateau, share)) = plateau {
        said.push_str(&format!(
            " Warm, it stayed most at {} ({} of the time within a degree).",
            units.show(Kind::Temperature, plateau),
            units.show(Kind::Share, share)
        ));
    }
    if let Some((rise, at)) = exposure.rise() {
        said.push_str(&format!(
            " Its fastest rise when warm was {} a minute, at {}.",
            units.show(Kind::TemperatureDifference, rise * 60.0),
            moment(at)
        ));
    }
    let (rows, off) = exposure.engine_rows;
    let off_share = off as f64 / rows as f64;
    if off > 0 {
        let share = units.show(Kind::Share, off_share);
        said.push_str(&format!(" The engine was at rest in {share} of the rows."));
    }
    answer.blocks.push(Block::Sentence(said));
    let (peak, when) = exposure.peak.unwrap_or((f64::NAN, f64::NAN));
    let gaps = tally.gaps.iter();
    let mistakes = tally.mistakes.iter();
    put_all(
        answer,
        json!({
            "rows_read": tally.rows_read,
            "rows_dropped": tally.rows_dropped,
            "rows_backwards": tally.backwards,
            "rows_ahead": tally.ahead,
            "rows_of_zeros": tally.placeholders,
            "sessions": tally.sessions.len() + 1,
            "verdict_withdrawn": log.withdrawn(),
            "warm_ups": log.rates.warm_ups.iter().map(|w| json!({"from_s": w.from, "rate_k_per_min": w.rate * 60.0})).collect::<Value>(),
            "soaks": log.rates.soaks.iter().map(|s| json!({
                "from_s": s.from, "duration_s": s.long, "coolant_before_c": s.ends[0] - 273.15,
                "coolant_after_c": s.ends[1] - 273.15, "ambient_c": s.ambient - 273.15, "rate_per_h": s.rate.map(|r| r * 3600.0),
            })).collect::<Value>(),
            "repeated_stamps": tally.repeated_stamps,
            "cells_in_another_unit": tally.mixed_units,
            "coolant_dropouts": tally.dropouts,
            "clock_set_back": tally.restarts,
            "gap_count": tally.gap_count,
            "duration_s": tally.duration,
            "gap_time_s": tally.gap_time,
            "gaps": gaps.map(|g| json!({"from_s": g.from, "duration_s": g.long})).collect::<Value>(),
            "mistakes": mistakes.map(|m| json!({
                "line": m.line, "column": m.column, "name": m.name, "found": m.found,
                "expected": m.expected, "row_dropped": m.dropped,
            })).collect::<Value>(),
            "peak_coolant_c": peak - 273.15,
            "peak_at_s": when,
            "plateau_c": plateau.map(|p| p.0 - 273.15),
            "plateau_share": plateau.map(|p| p.1),
            "fastest_warm_rise_k_per_min": exposure.rise().map(|r| r.0 * 60.0),
            "engine_off_share": off_share,
            "engine_off_time_share": exposure.engine_time.1 / exposure.engine_time.0,
        }),
    );
}

/// Adds all entries of an object to the numbers.
pub(super) fn put_all(answer: &mut Answer, entries: Value) {
    if let Value::Object(entries) = entries {
        answer.numbers.extend(entries);
    }
}

/// What the vehicle did most of an episode: `standing`, `crawling`, `driving`, `climbing`, `unknown`.
fn doing(episode: &Episode) -> &'static str {
    match episode.pace() {
        Pace::Slow | Pace::Fast if episode.grade.is_some_and(|g| g >= CLIMB) => "climbing",
        Pace::Slow | Pace::Fast => "driving",
        pace => pace.key(),
    }
}

/// Time above levels, and episodes.
pub(super) fn levels(answer: &mut Answer, question: &Question, log: &Digest) {
    let (units, exposure) = (question.units, &log.exposure);
    let boiling = question.filling.boiling()[0];
    let show = |t: f64| units.show(Kind::Temperature, t);
    let rows = exposure.levels.iter().map(|level| {
        let boils = (level.temperature - boiling).abs() < 1e-6;
        let may = if boils { ", may begin to boil" } else { "" };
        let minutes = level.degree_time / 60.0;
        let minutes = units.show(Kind::TemperatureDifference, minutes);
        vec![
            format!("{}{may}", show(level.temperature)),
            span(level.time),
            span(level.longest),
            format!("{minutes} min"),
            level.episodes.to_string(),
        ]
    });
    answer.blocks.push(Block::Table(Table {
        title: "Time at or above".into(),
        heads: ["level", "time", "longest", "excess × time", "episodes"]
            .map(String::from)
            .to_vec(),
        rows: rows.collect(),
        numeric: vec![1, 2, 3, 4],
    }));
    if let Some(lowest) = exposure.levels.first().filter(|l| l.episodes > 0) {
        let all = lowest.episodes;
        let here = |x: &&Episode| (x.level - lowest.temperature).abs() < 1e-9;
        let mut worst: Vec<&Episode> = exposure.episodes.iter().filter(here).collect();
        worst.sort_by(|a, b| b.degree_time.total_cmp(&a.degree_time));
        worst.truncate(SHOWN);
        worst.sort_by(|a, b| a.from.total_cmp(&b.from));
        let level = show(lowest.temperature);
        let rows = worst.iter().map(|x| {
            let (from, long) = (moment(x.from), span(x.long));
            vec![from, long, show(x.peak), doing(x).to_string()]
        });
        answer.blocks.push(Block::Table(Table {
            title: match worst.len() {
                shown if all as usize > shown => {
                    format!("The {shown} worst of {all} episodes at or above {level}")
                }
                _ => format!("Episodes at or above {level}"),
            },
            heads: ["began at", "lasted", "peak", "mostly"]
                .map(String::from)
                .to_vec(),
            rows: rows.collect(),
            numeric: vec![0, 1, 2],
        }));
        let blind = |x: &&Episode| doing(x) == "driving" && x.grade.is_none();
        let unseen = if worst.iter().any(blind) {
            " Whether a drive climbed shows only with altitude in the log."
        } else {
            ""
        };
        answer.blocks.push(Block::Sentence(format!(
            "This says how hot it was and for how long, not what that did: what to inspect after heat is for licensed practice and the service information.{unseen}"
        )));
    }
    let levels = exposure.levels.iter().map(|level| {
        json!({
            "threshold_c": level.temperature - 273.15,
            "time_s": level.time,
            "longest_s": level.longest,
            "degree_minutes_k_min": level.degree_time / 60.0,
            "episodes": level.episodes,
        })
    });
    let episodes = exposure.episodes.iter().map(|x| {
        let times = Pace::ALL.map(|p| (format!("{}_s", p.key()), json!(x.paces[p as usize])));
        json!({
            "threshold_c": x.level - 273.15,
            "from_s": x.from,
            "duration_s": x.long,
            "peak_c": x.peak - 273.15,
            "degree_minutes_k_min": x.degree_time / 60.0,
            "doing": doing(x),
            "grade": x.grade,
            "times": times.into_iter().collect::<Map<String, Value>>(),
        })
    });
    let (levels, episodes): (Value, Value) = (levels.collect(), episodes.collect());
    put_all(answer, json!({"thresholds": levels, "episodes": episodes}));
}

/// How far the peak is from boiling, with the cap and without.
pub(super) fn margin(answer: &mut Answer, question: &Question) {
    let (units, filling) = (question.units, question.filling);
    let (peak, _) = question.log.exposure.peak.unwrap_or((f64::NAN, 0.0));
    let closed = filling.boiling();
    let open = Filling {
        cap: 0.0,
        ..filling
    }
    .boiling();
    let row = |name: String, [low, high]: [f64; 2]| {
        let [earliest, latest] = [low, high].map(|t| units.show(Kind::Temperature, t));
        let below = units.show(Kind::TemperatureDifference, low - peak);
        vec![name, earliest, latest, below]
    };
    let holds = units.show(Kind::Pressure, filling.cap);
    answer.blocks.push(Block::Table(Table {
        title: format!(
            "Where it begins to boil, with {} glycol at {}",
            units.show(Kind::Share, filling.glycol),
            units.show(Kind::Altitude, filling.altitude)
        ),
        heads: [
            "cap",
            "at the earliest",
            "at the latest",
            "peak is below by",
        ]
        .map(String::from)
        .to_vec(),
        rows: vec![
            row(format!("holds {holds}"), closed),
            row("holds nothing".into(), open),
        ],
        numeric: vec![1, 2, 3],
    }));
    put_all(
        answer,
        json!({
            "boiling_low_c": closed[0] - 273.15,
            "boiling_high_c": closed[1] - 273.15,
            "margin_to_boiling_k": closed[0] - peak,
            "boiling_low_open_c": open[0] - 273.15,
            "margin_to_boiling_open_k": open[0] - peak,
        }),
    );
}
