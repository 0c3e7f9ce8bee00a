//! Draws charts: curves over a horizontal axis.
//!
//! The plotting library draws frame, grid, tick labels, curves and areas. Names and legend are drawn with `svg.rs`,
//! which can place them without overlap.

mod axis;
mod key;
mod names;
mod plot;

use super::figure;
use super::svg::{Held, LINE, Picture, SIZE, letters, width};
use super::table::Values;
use super::wrap::lines;
use crate::tell::{Chart, Curve};
pub(super) use axis::Axis;
use axis::{x_ends, y_ends};
use key::contour_key;
pub(super) use key::key;
use names::stretch_names;
use plot::{Plot, SCALE, inner};

/// Width of the picture.
pub(super) const WIDTH: f64 = 480.0;
/// Height of the plot area, without names, labels and legend.
const PLOT: f64 = 270.0;
/// Approximate number of intervals between ticks, on a horizontal axis and on a vertical one of height `PLOT`.
const PIECES: f64 = 6.0;

/// Draws a chart.
pub(super) fn draw(chart: &Chart) -> Picture {
    let x = Axis::new(x_ends(chart), chart.x_log, PIECES);
    let seat = Seat {
        x: &x,
        left: margin(chart, &x, PLOT),
        top: 10.0,
        height: PLOT,
        figures_below: true,
    };
    let mut picture = Picture::new(&chart.title, WIDTH);
    let (bottom, unnamed) = plotted(&mut picture, chart, &seat);
    let foot = label_below(&mut picture, &chart.x_label, seat.left, bottom + 24.0);
    let foot = key(&mut picture, chart, seat.left, foot + 10.0);
    picture.height = contour_key(&mut picture, chart, &unnamed, (seat.left, foot)) + 12.0;
    picture
}

/// Position and size of a plot in the picture.
pub(super) struct Seat<'a> {
    /// The horizontal axis.
    pub x: &'a Axis,
    /// The left end of the plot.
    pub left: f64,
    /// Top of the plot, including the names above its shaded ranges.
    pub top: f64,
    /// Height of the plot.
    pub height: f64,
    /// Whether the tick labels of the horizontal axis are drawn below the plot.
    pub figures_below: bool,
}

/// Right end of the plot.
pub(super) const RIGHT: f64 = WIDTH - 18.0;

/// The vertical axis of a plot; a lower plot has fewer ticks.
fn upright_axis(chart: &Chart, x: &Axis, height: f64) -> Axis {
    Axis::new(y_ends(chart, x), chart.y_log, PIECES * height / PLOT)
}

/// Left margin that a plot needs for the label and tick labels of its vertical axis.
pub(super) fn margin(chart: &Chart, x: &Axis, height: f64) -> f64 {
    let y = upright_axis(chart, x, height);
    let figures = y.ticks.iter().map(|t| width(&t.1, SIZE));
    let upright = lines(&chart.y_label, letters(height, SIZE));
    18.0 + upright.len().max(1) as f64 * LINE + figures.fold(20.0, f64::max)
}

/// A common horizontal axis that covers several charts and further values.
pub(super) fn shared_axis(charts: &[Chart], others: impl Iterator<Item = f64>) -> Axis {
    let ends = charts.iter().filter_map(x_ends).flat_map(|e| [e.0, e.1]);
    let log = charts.first().is_some_and(|c| c.x_log);
    Axis::new(figure::ends(ends.chain(others)), log, PIECES)
}

/// Writes the label of the horizontal axis; returns its lower end.
pub(super) fn label_below(picture: &mut Picture, label: &str, left: f64, top: f64) -> f64 {
    let mut foot = top;
    for line in lines(label, letters(RIGHT - left, SIZE)) {
        foot += LINE;
        picture.words(((left + RIGHT) / 2.0, foot), Held::Middle, &line);
    }
    foot
}

/// Draws the plot of a chart with all names in it; returns its lower end, and the indices of the contour lines whose
/// labels found no room.
pub(super) fn plotted(picture: &mut Picture, chart: &Chart, seat: &Seat<'_>) -> (f64, Vec<usize>) {
    let (x, left, right) = (seat.x, seat.left, RIGHT);
    let y = upright_axis(chart, x, seat.height);
    let names = stretch_names(chart, x, left, right);
    let rows = names.iter().map(|n| n.row + 1).max().unwrap_or(0);
    let top = seat.top + rows as f64 * LINE;
    let bottom = top + seat.height;
    let plot = Plot {
        x,
        y: &y,
        left,
        right,
        top,
        bottom,
        figures_below: seat.figures_below,
    };

    // Drawing to memory does not fail; if it did, the names would still be drawn.
    let mut elements = String::new();
    if plot.draw(chart, &mut elements).is_ok() {
        picture.foreign(inner(&elements), SCALE);
    }
    plot.name_stretches(picture, &names);
    let place = |p: (f64, f64)| plot.at(p).map(|at| plot.place(at));
    let area = [left, top, right, bottom];
    picture.values.push(Values::of(chart, area, &place));
    let mut taken = plot.taken(chart);
    plot.name_levels(picture, chart, &mut taken);
    let unnamed = plot.name_contours(picture, chart, &mut taken);
    plot.name_marks(picture, chart, &mut taken);
    let drawn = |c: &Curve| c.points.iter().any(|p| plot.at(*p).is_some());
    if !chart.lines().any(drawn) && chart.marks.is_empty() {
        let middle = ((left + right) / 2.0, (top + bottom) / 2.0);
        picture.words(middle, Held::Middle, "no values to draw");
    }
    let upright = lines(&chart.y_label, letters(seat.height, SIZE));
    for (i, line) in upright.iter().enumerate() {
        picture.upwards((16.0 + i as f64 * LINE, (top + bottom) / 2.0), line);
    }
    (bottom, unnamed)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The axes show the whole area that was asked for; a contour line that has room for its label has it on itself, and
    /// one in a corner without room has it in the legend below.
    #[test]
    fn contour_lines_are_named_on_themselves_or_in_the_legend() {
        let line = |name: &str, points: &[(f64, f64)]| Curve {
            name: name.into(),
            points: points.to_vec(),
            band: Vec::new(),
        };
        let chart = Chart {
            contours: vec![
                line("five", &[(2.0, 5.0), (8.0, 5.0)]),
                line("nine", &[(9.97, 10.0), (10.0, 9.97)]),
            ],
            frame: Some([(0.0, 0.0), (10.0, 20.0)]),
            ..Chart::default()
        };
        let low_and_high = |axis: Axis| (axis.low, axis.high);
        let x = Axis::new(x_ends(&chart), false, PIECES);
        let y = upright_axis(&chart, &x, PLOT);
        assert_eq!(low_and_high(x), (0.0, 10.0));
        assert_eq!(low_and_high(y), (0.0, 20.0));
        let texts = draw(&chart).texts();
        let down = |name: &str| texts.iter().find(|t| t.0 == name).unwrap().1;
        let at = 10.0 + PLOT * (1.0 - 5.0 / 20.0);
        assert!((down("five") - at).abs() < SIZE, "{texts:?}");
        let corner = Chart {
            frame: Some([(0.0, 0.0), (10.0, 10.0)]),
            ..chart
        };
        let texts = draw(&corner).texts();
        let down = texts.iter().find(|t| t.0 == "nine").unwrap().1;
        assert!(down > 10.0 + PLOT, "{texts:?}");
    }

    /// Charts of contour lines that are far apart, close together, steep, level and bent: each label lies on or beside
    /// its own line and on no other, or its line is in the legend.
    #[test]
    fn a_label_is_on_no_other_line_than_its_own() {
        type Shape = fn(f64, f64) -> f64;
        let shapes: [(usize, Shape); 6] = [
            (12, |k, x| k / x),
            (9, |k, x| 0.1 * k + 4.0 * (x - 0.5)),
            (12, |k, x| 0.05 * k + 0.1 * x),
            (12, |k, x| 0.03 * k * k * x),
            (8, |k, x| 0.1 * k + 0.05 * (20.0 * x).sin()),
            (12, |k, x| 0.5 + (k - 6.0) * 0.08 * (x - 0.5) * (x - 0.5)),
        ];
        let mut beside = 0;
        for (count, y) in shapes {
            let line = |k: usize| {
                let at = |i: usize| (i as f64 / 50.0, y(k as f64, i as f64 / 50.0));
                let inside = |p: &(f64, f64)| (0.0..1.0).contains(&p.1);
                Curve {
                    name: format!("{}", 1000 + 200 * k),
                    points: (0..=50).map(at).filter(inside).collect(),
                    band: Vec::new(),
                }
            };
            let chart = Chart {
                contours: (1..=count).map(line).collect(),
                frame: Some([(0.0, 0.0), (1.0, 1.0)]),
                ..Chart::default()
            };
            let x = Axis::new(x_ends(&chart), false, PIECES);
            let left = margin(&chart, &x, PLOT);
            let place = |p: &(f64, f64)| (left + p.0 * (RIGHT - left), 10.0 + PLOT * (1.0 - p.1));
            let lines: Vec<Vec<(f64, f64)>> = chart
                .contours
                .iter()
                .map(|c| c.points.iter().map(place).collect())
                .collect();
            // The distance of a label's box from a line, from points half a pixel apart.
            let away = |(_, down, ends): &(String, f64, (f64, f64)), line: &[(f64, f64)]| {
                let pieces = line.windows(2).flat_map(|p| {
                    (0..=200).map(|i| {
                        let part = f64::from(i) / 200.0;
                        (
                            p[0].0 + part * (p[1].0 - p[0].0),
                            p[0].1 + part * (p[1].1 - p[0].1),
                        )
                    })
                });
                let far = |(x, y): (f64, f64)| {
                    let out = |v: f64, low: f64, high: f64| (low - v).max(v - high).max(0.0);
                    out(x, ends.0, ends.1).hypot(out(y, down - SIZE + 2.0, *down))
                };
                pieces.map(far).fold(f64::INFINITY, f64::min)
            };
            let texts = draw(&chart).texts();
            for (k, contour) in chart
                .contours
                .iter()
                .enumerate()
                .filter(|c| c.1.points.len() > 1)
            {
                let told: Vec<_> = texts.iter().filter(|t| t.0 == contour.name).collect();
                assert_eq!(told.len(), 1, "{}", contour.name);
                if told[0].1 > 10.0 + PLOT {
                    beside += 1;
                    continue;
                }
                let own = away(told[0], &lines[k]);
                assert!(own < 6.0, "{told:?} is {own} away from its line");
                let others = lines.iter().enumerate().filter(|(other, _)| *other != k);
                for (other, line) in others {
                    let other_away = away(told[0], line);
                    assert!(
                        other_away > 0.0 && other_away >= own,
                        "{told:?} on line {other}"
                    );
                }
            }
        }
        assert!(beside > 0, "some lines are too close for any label");
    }
}
