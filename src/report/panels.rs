//! Draws stacked charts over a common axis, with lanes below them in which bars mark periods.

use super::chart::{self, Axis, RIGHT, Seat, WIDTH};
use super::svg::{COLOURS, Held, INK, LINE, Look, Picture, SOFT};
use crate::tell::{Lane, Panels};

/// Height of the first plot, and of each of the others.
const HEIGHTS: [f64; 2] = [200.0, 110.0];
/// Distance between plots.
const APART: f64 = 14.0;
/// Height of the bars that show the periods in a lane.
const SPAN: f64 = 12.0;
/// Minimum drawn width of a period.
const NARROW: f64 = 1.5;

/// Draws the charts and lanes of a `Panels` block.
pub(super) fn draw(panels: &Panels) -> Picture {
    let spans = panels.lanes.iter().flat_map(|l| &l.spans);
    let x = chart::shared_axis(&panels.charts, spans.flat_map(|s| [s.0, s.1]));
    let heights = HEIGHTS.into_iter().chain(std::iter::repeat(HEIGHTS[1]));
    let charts = || panels.charts.iter().zip(heights.clone());
    let margins = charts().map(|(chart, height)| chart::margin(chart, &x, height));
    let left = margins.fold(40.0, f64::max);
    let mut picture = Picture::new(&panels.title, WIDTH);
    let mut top = 10.0;
    for (chart, height) in charts() {
        let seat = Seat {
            x: &x,
            left,
            top,
            height,
            figures_below: false,
        };
        let (bottom, _) = chart::plotted(&mut picture, chart, &seat);
        top = chart::key(&mut picture, chart, left, bottom) + APART;
    }
    let lanes = top;
    for (i, lane) in panels.lanes.iter().enumerate() {
        top = drawn(&mut picture, lane, &x, left, (i, top));
    }
    let ends = [left, RIGHT];
    picture.path(&ends.map(|end| (end, top)), Look::line(INK, 1.0));
    for (coordinate, text) in &x.ticks {
        let at = place(&x, *coordinate, left);
        if top > lanes {
            picture.path(&[(at, lanes), (at, top)], Look::line(SOFT, 0.4));
        }
        picture.path(&[(at, top), (at, top + 4.0)], Look::line(INK, 1.0));
        picture.words((at, top + LINE), Held::Middle, text);
    }
    let foot = chart::label_below(&mut picture, &panels.x_label, left, top + LINE + 4.0);
    picture.height = foot + 12.0;
    for values in &mut picture.values {
        values.along(&panels.x_label);
    }
    picture
}

/// Horizontal position of a coordinate in the picture.
fn place(x: &Axis, coordinate: f64, left: f64) -> f64 {
    left + x.share(coordinate) * (RIGHT - left)
}

/// Draws a lane with its name above it; returns the position of the next lane.
fn drawn(picture: &mut Picture, lane: &Lane, x: &Axis, left: f64, (i, top): (usize, f64)) -> f64 {
    picture.words((left, top + LINE - 4.0), Held::Left, &lane.name);
    let (y, colour) = (top + LINE, COLOURS[i % COLOURS.len()]);
    for (from, to) in &lane.spans {
        let (Some(from), Some(to)) = (x.of(*from), x.of(*to)) else {
            continue;
        };
        let [from, to] = [from, to].map(|c| place(x, c, left).clamp(left, RIGHT));
        let wide = (to - from).max(NARROW).min(RIGHT - left);
        let from = from.min(RIGHT - wide);
        picture.rectangle((from, y), (wide, SPAN), Look::filled(colour));
    }
    let below = y + SPAN + 2.0;
    picture.path(&[(left, below), (RIGHT, below)], Look::line(SOFT, 0.6));
    below + 4.0
}
