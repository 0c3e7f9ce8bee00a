//! The curves and the series behind them.

use super::super::answer::{Answer, Block, Chart, Curve, Mark, Table};
use super::Question;
use crate::model::log::Signal;
use crate::quantity::{Kind, Units};
use crate::vary::log::{Digest, Simulated};

pub(super) fn say(answer: &mut Answer, question: &Question) {
    let (log, units) = (&question.log, question.units);
    let mut chart = temperatures(units, log, question.filling.boiling());
    if let Some(after) = &question.after {
        chart.curves[0].name = "coolant before".into();
        let after = coolant_curve(units, after, per_tick(log).0, "coolant after");
        chart.curves.insert(1, after);
    }
    answer.blocks.push(Block::Chart(chart));
    if log.knows(Signal::RoadSpeed) {
        answer.blocks.push(Block::Chart(speeds(units, log)));
    }
}

/// Seconds in a unit of the picture's axis, and its name.
fn per_tick(log: &Digest) -> (f64, &'static str) {
    if log.tally.duration > 3.0 * 3600.0 {
        (3600.0, "time, h")
    } else {
        (60.0, "time, min")
    }
}

fn coolant_curve(units: Units, log: &Digest, unit: f64, name: &str) -> Curve {
    let points = log.curve.bins.iter().enumerate().map(|(i, bin)| {
        (
            log.curve.middle(i) / unit,
            units.number(Kind::Temperature, bin.coolant()),
        )
    });
    Curve {
        name: name.into(),
        points: whole(points, log, unit),
        ..Curve::default()
    }
}

/// Bins without a row are left out where rows are usually that far apart; in a gap one point breaks the line.
fn whole(points: impl Iterator<Item = (f64, f64)>, log: &Digest, unit: f64) -> Vec<(f64, f64)> {
    let gaps = &log.tally.gaps;
    let mut kept: Vec<(f64, f64)> = Vec::new();
    for (x, y) in points {
        if y.is_finite() {
            if kept.is_empty() && x < 0.01 * log.tally.duration / unit {
                // The axis begins with the log, not in the middle of its first bin.
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
pub(super) fn both(units: Units, log: &Digest, simulated: &Simulated) -> Chart {
    let (unit, x_label) = per_tick(log);
    let points = simulated.coolant.iter().enumerate().map(|(i, t)| {
        (
            log.curve.middle(i) / unit,
            units.number(Kind::Temperature, *t),
        )
    });
    let simulated = Curve {
        name: "simulated".into(),
        points: whole(points, log, unit),
        ..Curve::default()
    };
    Chart {
        title: "Coolant temperature, measured and simulated".into(),
        x_label: x_label.into(),
        y_label: format!("coolant, {}", units.unit(Kind::Temperature)),
        curves: vec![coolant_curve(units, log, unit, "measured"), simulated],
        ..Chart::default()
    }
}

fn temperatures(units: Units, log: &Digest, boiling: [f64; 2]) -> Chart {
    let (unit, x_label) = per_tick(log);
    let t = |k: f64| units.number(Kind::Temperature, k);
    let end = log.tally.duration / unit;
    let mut chart = Chart {
        title: "Coolant temperature".into(),
        x_label: x_label.into(),
        y_label: format!("coolant, {}", units.unit(Kind::Temperature)),
        curves: vec![coolant_curve(units, log, unit, "coolant")],
        ..Chart::default()
    };
    chart.curves.push(Curve {
        name: "begins to boil".into(),
        points: vec![(0.0, t(boiling[0])), (end, t(boiling[0]))],
        band: vec![
            (0.0, t(boiling[0]), t(boiling[1])),
            (end, t(boiling[0]), t(boiling[1])),
        ],
    });
    chart.levels = log
        .exposure
        .levels
        .iter()
        .filter(|l| (l.temperature - boiling[0]).abs() > 0.5)
        .map(|l| {
            (
                units.show(Kind::Temperature, l.temperature),
                t(l.temperature),
            )
        })
        .collect();
    if let Some((peak, when)) = log.exposure.peak {
        chart.marks.push(Mark {
            name: format!("peak {}", units.show(Kind::Temperature, peak)),
            x: when / unit,
            y: t(peak),
            spread: 0.0,
        });
    }
    chart
}

fn speeds(units: Units, log: &Digest) -> Chart {
    let (unit, x_label) = per_tick(log);
    let points = log.curve.bins.iter().enumerate().map(|(i, bin)| {
        (
            log.curve.middle(i) / unit,
            units.number(Kind::RoadSpeed, bin.speed()),
        )
    });
    Chart {
        title: "Road speed".into(),
        x_label: x_label.into(),
        y_label: format!("road speed, {}", units.unit(Kind::RoadSpeed)),
        y_from_zero: true,
        curves: vec![Curve {
            name: String::new(),
            points: whole(points, log, unit),
            ..Curve::default()
        }],
        ..Chart::default()
    }
}

/// What the pictures show, for `--csv`.
pub(super) fn series(log: &Digest, simulated: Option<&Simulated>) -> Table {
    let text = |v: f64| {
        if v.is_finite() {
            format!("{v:.2}")
        } else {
            String::new()
        }
    };
    let rows = log
        .curve
        .bins
        .iter()
        .enumerate()
        .filter(|(_, b)| b.coolant().is_finite());
    let mut heads = vec![
        "time_s",
        "coolant_c",
        "coolant_most_c",
        "road_speed_km_per_h",
    ];
    heads.extend(simulated.map(|_| "simulated_coolant_c"));
    Table {
        heads: heads.into_iter().map(String::from).collect(),
        rows: rows
            .map(|(i, bin)| {
                let mut row = vec![
                    text(log.curve.middle(i)),
                    text(bin.coolant() - 273.15),
                    text(bin.coolant_most - 273.15),
                    text(bin.speed() * 3.6),
                ];
                let t = simulated.map(|s| s.coolant.get(i).copied().unwrap_or(f64::NAN));
                row.extend(t.map(|t| text(t - 273.15)));
                row
            })
            .collect(),
        ..Table::default()
    }
}
