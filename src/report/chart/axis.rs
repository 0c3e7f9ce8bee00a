//! The axes of a chart: their ends and ticks.

use crate::report::figure::{self, drawable};
use crate::tell::Chart;
use plotters::coord::ranged1d::{DefaultFormatting, KeyPointHint};
use plotters::prelude::*;

/// One axis, with its ends and ticks as coordinates: values, or on a logarithmic axis the logarithms of values.
#[derive(Clone)]
pub(crate) struct Axis {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) log: bool,
    /// Coordinate and label of each tick.
    pub ticks: Vec<(f64, String)>,
}

impl Axis {
    pub(super) fn new(ends: Option<(f64, f64)>, log: bool, pieces: f64) -> Self {
        let Some((low, high)) = ends else {
            return Self {
                low: 0.0,
                high: 1.0,
                log,
                ticks: Vec::new(),
            };
        };
        if log {
            let (low, high) = if high > low * 1.001 {
                (low, high)
            } else {
                (low / 1.5, high * 1.5)
            };
            let ticks = figure::log_ticks(low, high).into_iter();
            let ticks = ticks.map(|v| (v.log10(), figure::log_tick(v))).collect();
            return Self {
                low: low.log10(),
                high: high.log10(),
                log,
                ticks,
            };
        }
        let (low, high) = figure::widened((low, high));
        let step = figure::step(low, high, pieces);
        let ticks = figure::multiples(low, high, step).into_iter();
        Self {
            low,
            high,
            log,
            ticks: ticks.map(|v| (v, figure::tick(v, step))).collect(),
        }
    }

    /// The coordinate of a value; `None` if it cannot be drawn.
    pub fn of(&self, value: f64) -> Option<f64> {
        let coordinate = if self.log { value.log10() } else { value };
        drawable(coordinate).then_some(coordinate)
    }

    /// Position of a coordinate as a fraction of the axis length.
    pub fn share(&self, coordinate: f64) -> f64 {
        (coordinate - self.low) / (self.high - self.low)
    }

    /// The label of the tick at a coordinate.
    pub(super) fn text(&self, coordinate: f64) -> String {
        let near = |t: &&(f64, String)| (t.0 - coordinate).abs() <= (self.high - self.low) * 1e-6;
        self.ticks
            .iter()
            .find(near)
            .map(|t| t.1.clone())
            .unwrap_or_default()
    }
}

/// Makes an axis usable by the plotting library.
impl Ranged for Axis {
    type FormatOption = DefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, (from, to): (i32, i32)) -> i32 {
        from + (self.share(*value) * f64::from(to - from)).round() as i32
    }

    fn key_points<Hint: KeyPointHint>(&self, _: Hint) -> Vec<f64> {
        self.ticks.iter().map(|t| t.0).collect()
    }

    fn range(&self) -> std::ops::Range<f64> {
        self.low..self.high
    }
}

/// The lowest and highest value of the horizontal axis; `None` if there is nothing to draw.
pub(super) fn x_ends(chart: &Chart) -> Option<(f64, f64)> {
    let curves = chart.lines().flat_map(|c| {
        let points = c.points.iter().filter(|p| drawable(p.1)).map(|p| p.0);
        points.chain(c.band.iter().map(|b| b.0))
    });
    let values: Vec<f64> = curves
        .chain(chart.marks.iter().map(|m| m.x))
        .chain(chart.frame.iter().flatten().map(|corner| corner.0))
        .filter(|v| !chart.x_log || *v > 0.0)
        .collect();
    let ends = figure::ends(values);
    let stretches = chart
        .stretches
        .iter()
        .flat_map(|s| [s.from, s.to])
        .filter(|v| !chart.x_log || *v > 0.0);
    ends.or_else(|| figure::ends(stretches))
}

/// The lower end of the error bar of a value `y`; not below zero if the axis starts at zero.
pub(super) fn least(chart: &Chart, y: f64, spread: f64) -> f64 {
    if chart.y_from_zero && y >= 0.0 {
        (y - spread).max(0.0)
    } else {
        y - spread
    }
}

/// The lowest and highest value of the vertical axis; `None` if there is nothing to draw.
pub(super) fn y_ends(chart: &Chart, x: &Axis) -> Option<(f64, f64)> {
    let seen = |v: f64| x.of(v).is_some();
    let curves = chart.lines().flat_map(|c| {
        let points = c.points.iter().filter(|p| seen(p.0)).map(|p| p.1);
        points.chain(c.band.iter().filter(|b| seen(b.0)).flat_map(|b| [b.1, b.2]))
    });
    let marks = chart.marks.iter().flat_map(|m| {
        let spread = if drawable(m.spread) {
            m.spread.abs()
        } else {
            0.0
        };
        [least(chart, m.y, spread), m.y + spread]
    });
    let frame = chart.frame.iter().flatten().map(|corner| corner.1);
    let levels = chart.levels.iter().map(|l| l.1);
    let values = curves.chain(marks).chain(levels).chain(frame);
    let (low, high) = figure::ends(values.filter(|v| !chart.y_log || *v > 0.0))?;
    if chart.y_log {
        let room = (high / low).powf(0.06);
        return Some((low / room, high * room));
    }
    let (low, high) = if chart.y_from_zero && low >= 0.0 && high <= 0.0 {
        (0.0, 1.0)
    } else if chart.y_from_zero {
        (low.min(0.0), high.max(0.0))
    } else {
        (low, high)
    };
    let (low, high) = figure::widened((low, high));
    if !chart.contours.is_empty() {
        return Some((low, high));
    }
    let room = (high - low) * 0.06;
    let below = if chart.y_from_zero && low >= 0.0 {
        0.0
    } else {
        room
    };
    let above = if chart.y_from_zero && high <= 0.0 {
        0.0
    } else {
        room
    };
    Some((low - below, high + above))
}
