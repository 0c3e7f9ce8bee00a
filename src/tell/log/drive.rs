//! One log: its rows, peak, times above temperature levels, hot episodes, margin to boiling, and the columns used.

use super::super::Presentation;
use super::super::answer::{Block, Table};
use super::super::words::{clock, count, duration};
use crate::model::log::{Column, SIGNALS, Signal};
use crate::quantity::{Kind, Units};
use crate::question::log::{COLUMN, Drive, Found, HotSpell, Threshold};
use crate::vary::log::{Digest, WarmUp};

/// Maximum number of episodes in the table.
const SHOWN: usize = 12;

/// The headline.
pub(super) fn headline(units: Units, found: &Found) -> String {
    let drive = &found.drive.0;
    let below = found.margin_to_boiling;
    let boil = if below >= 0.0 {
        let below = units.show(Kind::TemperatureDifference, below);
        format!("{below} below the lowest boiling point")
    } else {
        "within or above the range of boiling points".to_string()
    };
    let peak = peak(units, drive);
    let when = clock(drive.peak_at);
    if drive.verdict_withdrawn {
        return format!(
            "No verdict: too many readings are missing or unusable. The highest remaining one is {peak} ({when} after the first row)."
        );
    }
    format!("The coolant peaked at {peak} ({when} after the first row), {boil}.")
}

/// The peak, with as many decimals as it takes not to look like a level that it did not reach.
pub(super) fn peak(units: Units, drive: &Drive) -> String {
    let show = |t: f64| units.show(Kind::Temperature, t);
    let shown = show(drive.peak_coolant);
    let missed = |l: &&Threshold| l.episodes == 0 && show(l.threshold) == shown;
    let Some(level) = drive.thresholds.iter().find(missed) else {
        return shown;
    };
    let [peak, level] =
        [drive.peak_coolant, level.threshold].map(|t| units.number(Kind::Temperature, t));
    let exact = (1..6).map(|n| format!("{peak:.n$}"));
    let exact = exact.skip_while(|p| p.parse().is_ok_and(|p: f64| p >= level));
    let unit = units.unit(Kind::Temperature);
    { exact }.next().map_or(shown, |p| format!("{p} {unit}"))
}

/// Says how many rows and gaps the log has.
pub(super) fn rows(units: Units, drive: &Drive) -> String {
    let gaps = match drive.gap_count {
        0 => "without a gap".to_string(),
        1 => format!("with one gap of {}", duration(drive.gap_time)),
        n => format!("with {n} gaps, {} together", duration(drive.gap_time)),
    };
    let first = drive.thresholds.first();
    let hot = first.filter(|_| !drive.verdict_withdrawn).map_or(String::new(), |first| {
        let level = units.show(Kind::Temperature, first.threshold);
        if first.episodes > 0 {
            let [time, longest] = [first.time, first.longest].map(duration);
            format!("The coolant was at or above {level} for {time} in all, at most {longest} at a time. ")
        } else {
            format!("The coolant never reached {level}. ")
        }
    });
    let mut text = format!(
        "{hot}The log has {} over {}, {gaps}; {} dropped.",
        count(drive.rows_read, "row"),
        duration(drive.duration),
        count(drive.rows_dropped, "row")
    );
    if let (Some(plateau), Some(share)) = (drive.plateau, drive.plateau_share) {
        text.push_str(&format!(
            " When warm, the coolant was mostly at {} (within a degree for {} of the time).",
            units.show(Kind::Temperature, plateau),
            units.show(Kind::Share, share)
        ));
    }
    if let (Some(rise), Some(at)) = (drive.fastest_warm_rise, drive.fastest_warm_rise_at) {
        text.push_str(&format!(
            " The fastest rise when warm was {} per minute, at {}.",
            units.show(Kind::TemperatureDifference, rise),
            clock(at)
        ));
    }
    if drive.engine_off_share > 0.0 {
        let share = units.show(Kind::Share, drive.engine_off_share);
        text.push_str(&format!(" The engine was off in {share} of the rows."));
    }
    text
}

/// Adds the warm-ups, and the cooling while parked, in a line each: facts for the notebook.
pub(super) fn rates(told: &mut Presentation, units: Units, drive: &Drive) {
    let (kelvin, show) = (Kind::TemperatureDifference, |t| {
        units.show(Kind::Temperature, t)
    });
    if let Some(first) = drive.warm_ups.first() {
        let more = match drive.warm_ups.len() {
            1 => String::new(),
            n => format!("; the first of {n} warm-ups"),
        };
        let [from, to] = WarmUp::ENDS.map(show);
        told.say(format!(
            "Fact for the notebook: it warmed up by {} per minute between {from} and {to} ({} after the first row{more}).",
            units.show(kelvin, first.rate),
            clock(first.from)
        ));
    }
    if let Some(first) = drive.soaks.first() {
        let ambient = match first.ambient {
            t if t.is_finite() => format!(" at an ambient temperature of {}", show(t)),
            _ => String::new(),
        };
        let more = match drive.soaks.len() {
            1 => String::new(),
            n => format!(" (the first of {n} periods)"),
        };
        told.say(format!(
            "Fact for the notebook: parked, the coolant cooled from {} to {} in {}{ambient}{more}.",
            show(first.coolant_before),
            show(first.coolant_after),
            duration(first.duration)
        ));
    }
}

/// Adds the time above each temperature level, and the episodes above it.
pub(super) fn levels(told: &mut Presentation, units: Units, found: &Found) {
    let drive = &found.drive.0;
    let show = |t: f64| units.show(Kind::Temperature, t);
    let rows = drive.thresholds.iter().map(|level| {
        let boils = (level.threshold - found.boiling_low).abs() < 1e-6;
        let may = if boils { ", may begin to boil" } else { "" };
        let excess = units.show(Kind::TemperatureDifference, level.degree_minutes);
        vec![
            format!("{}{may}", show(level.threshold)),
            duration(level.time),
            duration(level.longest),
            format!("{excess} min"),
            level.episodes.to_string(),
        ]
    });
    told.show(Block::Table(Table {
        title: "Time at or above each level".into(),
        heads: [
            "level",
            "time",
            "longest period",
            "excess × time",
            "episodes",
        ]
        .map(String::from)
        .to_vec(),
        rows: rows.collect(),
        numeric: vec![1, 2, 3, 4],
    }));
    if let Some(lowest) = drive.thresholds.first().filter(|l| l.episodes > 0) {
        let worst = worst(drive, lowest.threshold);
        let all = lowest.episodes as usize;
        told.show(Block::Table(episodes(units, &worst, all)));
        let blind = |x: &&HotSpell| x.doing == "driving" && x.grade.is_none();
        let unseen = if worst.iter().any(blind) {
            " Climbs can be recognised only with altitude in the log."
        } else {
            ""
        };
        told.say(format!(
            "This shows how hot it was and for how long, not the damage: what to inspect after overheating is a matter for a licensed workshop and the service information.{unseen}"
        ));
    }
}

/// The worst episodes at or above a level, in the order of time.
fn worst(drive: &Drive, level: f64) -> Vec<&HotSpell> {
    let here = |x: &&HotSpell| (x.threshold - level).abs() < 1e-9;
    let mut worst: Vec<&HotSpell> = drive.episodes.iter().filter(here).collect();
    worst.sort_by(|a, b| b.degree_minutes.total_cmp(&a.degree_minutes));
    worst.truncate(SHOWN);
    worst.sort_by(|a, b| a.from.total_cmp(&b.from));
    worst
}

fn episodes(units: Units, worst: &[&HotSpell], all: usize) -> Table {
    let show = |t: f64| units.show(Kind::Temperature, t);
    let level = worst.first().map_or(String::new(), |x| show(x.threshold));
    let rows = worst.iter().map(|x| {
        let (from, long) = (clock(x.from), duration(x.duration));
        vec![from, long, show(x.peak), x.doing.to_string()]
    });
    Table {
        title: match worst.len() {
            shown if all > shown => {
                format!("The {shown} worst of {all} episodes at or above {level}")
            }
            _ => format!("Episodes at or above {level}"),
        },
        heads: ["began at", "lasted", "peak", "mostly while"]
            .map(String::from)
            .to_vec(),
        rows: rows.collect(),
        numeric: vec![0, 1, 2],
    }
}

/// A table of the margin between peak and boiling point, with and without the pressure cap.
pub(super) fn margin(units: Units, found: &Found) -> Table {
    let (filling, temp) = (&found.filling, |t: f64| units.show(Kind::Temperature, t));
    let row = |name: String, low: f64, high: f64, margin: f64| {
        let below = units.show(Kind::TemperatureDifference, margin);
        vec![name, temp(low), temp(high), below]
    };
    let holds = format!("cap pressure {}", units.show(Kind::Pressure, filling.cap));
    let heads = ["cap", "lowest", "highest", "margin to the peak"];
    Table {
        title: format!(
            "Boiling point with {} glycol at {}",
            units.show(Kind::Share, filling.glycol),
            units.show(Kind::Altitude, filling.altitude)
        ),
        heads: heads.map(String::from).to_vec(),
        rows: vec![
            row(
                holds,
                found.boiling_low,
                found.boiling_high,
                found.margin_to_boiling,
            ),
            row(
                "cap without pressure".into(),
                found.boiling_low_open,
                found.boiling_high_open,
                found.margin_to_boiling_open,
            ),
        ],
        numeric: vec![1, 2, 3],
    }
}

/// Adds the columns that were used; `which` names the log if there are two.
pub(super) fn columns(told: &mut Presentation, units: Units, log: &Digest, which: &str) {
    let layout = &log.layout;
    let time = layout.time_column.map(|at| {
        let name = layout.heads.get(at - 1).cloned().unwrap_or_default();
        let clock = layout.clock.to_string();
        vec!["time".into(), at.to_string(), name, clock, String::new()]
    });
    let signals = layout.columns.iter().map(|c| column(units, log, c));
    told.show(Block::Table(Table {
        title: format!("Columns used{which} ({} changes them)", COLUMN.mention()),
        heads: ["signal", "column", "heading", "unit", "read"]
            .map(String::from)
            .to_vec(),
        rows: time.into_iter().chain(signals).collect(),
        numeric: vec![1],
    }));
    let missing: Vec<&str> = SIGNALS
        .into_iter()
        .filter(|s| !layout.columns.iter().any(|c| c.signal == *s))
        .map(Signal::label)
        .collect();
    if !missing.is_empty() {
        told.say(format!("Not in the log{which}: {}.", missing.join(", ")));
    }
}

fn column(units: Units, log: &Digest, column: &Column) -> Vec<String> {
    let seen = log.tally.seen[column.signal as usize];
    let stated = if column.unit_guessed {
        " (not stated)"
    } else {
        ""
    };
    let range = if seen.readings > 0 {
        let [least, most] = [seen.least, seen.most].map(|v| show(units, column.signal, v));
        format!("{least} to {most}")
    } else {
        "all blank".to_string()
    };
    vec![
        column.signal.label().to_string(),
        column.number.to_string(),
        column.name.clone(),
        format!("{}{stated}", column.unit),
        range,
    ]
}

/// A value of a signal in the units to be printed.
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
