//! The curves of a log.

use super::super::Presentation;
use super::super::answer::{Block, Chart, Curve, Lane, Mark, Panels};
use crate::model::log::Signal;
use crate::quantity::{Kind, Units};
use crate::question::log::{Found, Simulation};
use crate::vary::log::{Bin, Digest, Pace, TURN};

/// Logs up to this duration, s, have a time axis in minutes, longer ones in hours.
const LONG: f64 = 3.0 * 3600.0;

pub(super) fn tell(told: &mut Presentation, units: Units, found: &Found) {
    let axis = Axis::of(&found.log);
    let mut chart = temperatures(units, found, axis);
    if let Some(after) = &found.log_after {
        chart.curves[0].name = "coolant before".into();
        let after = coolant(units, after, axis, "coolant after");
        chart.curves.insert(1, after);
    }
    let log = &found.log;
    let mut charts = vec![chart];
    let speeds = [
        (Signal::EngineSpeed, Kind::Speed, "engine speed"),
        (Signal::RoadSpeed, Kind::RoadSpeed, "road speed"),
    ];
    let known = speeds.into_iter().filter(|s| log.knows(s.0));
    charts.extend(known.map(|(signal, kind, name)| {
        let number = |bin: &Bin| units.number(kind, bin.mean(signal));
        Chart {
            y_label: format!("{name}, {}", units.unit(kind)),
            y_from_zero: true,
            curves: vec![axis.curve(log, "", |_, bin| number(bin))],
            ..Chart::default()
        }
    }));
    told.show(Block::Panels(Panels {
        title: "The drive versus time".into(),
        x_label: axis.label.into(),
        charts,
        lanes: lanes(units, found, axis),
    }));
}

/// A fan command of at least this value counts as full.
const FULL: f64 = 0.95;

/// The periods in which the vehicle was stopped, the coolant temperature climbed, or the fan command was full.
fn lanes(units: Units, found: &Found, axis: Axis) -> Vec<Lane> {
    let (log, level) = (&found.log, found.runs_hot.level);
    let lane = |name: String, spans: Vec<(f64, f64)>| Lane {
        name: match spans.is_empty() {
            true => format!("{name}: never"),
            false => name,
        },
        spans: { spans.into_iter() }
            .map(|(from, to)| (from / axis.unit, to / axis.unit))
            .collect(),
    };
    let climbs = log.climbs.above(level);
    let rises = climbs.iter().map(|c| c.rise);
    let rises = rises.filter(|r| r.height() >= TURN);
    let rises = rises.map(|r| (r.from, r.from + r.long)).collect();
    let turn = units.show(Kind::TemperatureDifference, TURN);
    let mut lanes = Vec::new();
    if log.knows(Signal::RoadSpeed) {
        let still = |v: f64| Pace::of(v) == Pace::Standing;
        lanes.push(lane(
            "standing".into(),
            log.curve.spans(Signal::RoadSpeed, still),
        ));
    }
    let name = format!("coolant climbs {turn} or more above its usual level");
    lanes.push(lane(name, rises));
    if log.knows(Signal::FanCommand) {
        let full = log.curve.spans(Signal::FanCommand, |v| v >= FULL);
        let name = format!("fan command {} or more", units.show(Kind::Share, FULL));
        lanes.push(lane(name, full));
    }
    lanes
}

/// The time axis.
#[derive(Clone, Copy)]
struct Axis {
    /// Seconds per unit of the axis.
    unit: f64,
    label: &'static str,
}

impl Axis {
    fn of(log: &Digest) -> Self {
        let (unit, label) = if log.tally.duration > LONG {
            (3600.0, "time, h")
        } else {
            (60.0, "time, min")
        };
        Self { unit, label }
    }

    /// A curve with one point for each bin of a log.
    fn curve(self, log: &Digest, name: &str, of: impl Fn(usize, &Bin) -> f64) -> Curve {
        let bins = log.curve.bins.iter().enumerate();
        let points = bins.map(|(i, bin)| (log.curve.middle(i) / self.unit, of(i, bin)));
        Curve {
            name: name.into(),
            points: whole(points, log, self.unit),
            ..Curve::default()
        }
    }
}

fn coolant(units: Units, log: &Digest, axis: Axis, name: &str) -> Curve {
    let number = |bin: &Bin| units.number(Kind::Temperature, bin.coolant());
    axis.curve(log, name, |_, bin| number(bin))
}

/// The points of a curve. Bins without data are omitted; in a gap of the log, one point that is not finite interrupts
/// the line.
fn whole(points: impl Iterator<Item = (f64, f64)>, log: &Digest, unit: f64) -> Vec<(f64, f64)> {
    let gaps = &log.tally.gaps;
    let mut kept: Vec<(f64, f64)> = Vec::new();
    for (x, y) in points {
        if y.is_finite() {
            if kept.is_empty() && x < 0.01 * log.tally.duration / unit {
                // The curve begins at the start of the log, not at the middle of the first bin.
                kept.push((0.0, y));
            }
            kept.push((x, y));
            continue;
        }
        let s = x * unit;
        let inside = gaps.iter().any(|g| s > g.from && s < g.from + g.long);
        if inside && kept.last().is_some_and(|k| k.1.is_finite()) {
            kept.push((x, f64::NAN));
        }
    }
    kept
}

/// Measured and simulated coolant in one picture.
pub(super) fn both(units: Units, log: &Digest, model: &Simulation) -> Chart {
    let axis = Axis::of(log);
    let simulated = |i: usize| model.coolant.get(i).copied().unwrap_or(f64::NAN);
    let simulated = axis.curve(log, "simulated", |i, _| {
        units.number(Kind::Temperature, simulated(i))
    });
    Chart {
        title: "Coolant temperature, measured and simulated".into(),
        x_label: axis.label.into(),
        y_label: format!("coolant, {}", units.unit(Kind::Temperature)),
        curves: vec![coolant(units, log, axis, "measured"), simulated],
        ..Chart::default()
    }
}

fn temperatures(units: Units, found: &Found, axis: Axis) -> Chart {
    let t = |k: f64| units.number(Kind::Temperature, k);
    let (log, drive) = (&found.log, &found.drive.0);
    let (low, high) = (found.boiling_low, found.boiling_high);
    let end = log.tally.duration / axis.unit;
    let boils = Curve {
        name: "begins to boil".into(),
        points: vec![(0.0, t(low)), (end, t(low))],
        band: vec![(0.0, t(low), t(high)), (end, t(low), t(high))],
    };
    let levels = drive.thresholds.iter().map(|l| l.threshold);
    let levels = levels.filter(|level| (level - low).abs() > 0.5);
    let show = |k: f64| units.show(Kind::Temperature, k);
    Chart {
        title: "Coolant temperature".into(),
        x_label: axis.label.into(),
        y_label: format!("coolant, {}", units.unit(Kind::Temperature)),
        curves: vec![coolant(units, log, axis, "coolant"), boils],
        levels: levels.map(|level| (show(level), t(level))).collect(),
        marks: vec![Mark {
            name: format!("peak {}", super::drive::peak(units, drive)),
            x: drive.peak_at / axis.unit,
            y: t(drive.peak_coolant),
            spread: 0.0,
        }],
        ..Chart::default()
    }
}
