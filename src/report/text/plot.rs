//! Draws a chart with characters in a terminal, with its legend.

use super::{listed, long, titled};
use crate::report::dots::Dots;
use crate::report::figure::{self, drawable, figure};
use crate::report::wrap::lines;
use crate::tell::{Chart, Panels, Stretch};

/// Number of rows of a plot.
const PLOT_ROWS: usize = 14;
/// Symbols of the curves in a plot.
const SIGNS: [char; 10] = ['o', 'x', '+', '*', '#', '@', '%', '&', '=', '~'];
/// Symbol of a single point in a plot.
const MARK: char = '◆';

/// A chart as a plot of dots, with its legend.
pub(super) fn plot(chart: &Chart, width: usize) -> String {
    let across = |v: f64| if chart.x_log { v.log10() } else { v };
    let up = |v: f64| if chart.y_log { v.log10() } else { v };
    let points: Vec<(f64, f64)> = chart
        .lines()
        .flat_map(|c| c.points.iter().copied())
        .chain(chart.marks.iter().map(|m| (m.x, m.y)))
        .filter(|p| drawable(across(p.0)) && drawable(up(p.1)))
        .collect();
    if points.is_empty() {
        return titled(&chart.title, "(no values to draw)".into(), width);
    }
    let frame = || chart.frame.iter().flatten();
    let widths = points.iter().chain(frame()).map(|p| across(p.0));
    let x_ends = figure::ends(widths).unwrap_or((0.0, 1.0));
    let heights = points.iter().chain(frame()).map(|p| p.1);
    let levels = chart.levels.iter().map(|l| l.1);
    let zero = (chart.y_from_zero && !chart.y_log).then_some(0.0);
    let y_ends = figure::ends(heights.chain(levels).chain(zero).map(up)).unwrap_or((0.0, 1.0));
    let (x_low, x_high) = figure::widened(x_ends);
    let (y_low, y_high) = figure::widened(y_ends);

    let height = |v: f64| figure(if chart.y_log { 10f64.powf(v) } else { v });
    let (top, foot) = (height(y_high), height(y_low));
    let indent = long(&top).max(long(&foot)) + 1;
    let columns = width.saturating_sub(indent + 2).clamp(16, 64);
    let mut dots = Dots::new(columns, PLOT_ROWS);
    let (wide, high) = dots.size();
    let place = |x: f64, y: f64| {
        let (x, y) = (across(x), up(y));
        let at = (
            (x - x_low) / (x_high - x_low) * (wide - 1.0),
            (y_high - y) / (y_high - y_low) * (high - 1.0),
        );
        (drawable(x) && drawable(y)).then_some(at)
    };
    draw(chart, &mut dots, points[0].0, place);

    let mut out: Vec<String> = lines(&chart.y_label, width);
    for (i, row) in dots.rows().enumerate() {
        let figure = match i {
            0 => top.as_str(),
            _ if i == PLOT_ROWS - 1 => foot.as_str(),
            _ => "",
        };
        out.push(format!("{figure:>indent$}│{row}"));
    }
    out.push(format!("{}└{}", " ".repeat(indent), "─".repeat(columns)));
    let back = |v: f64| figure(if chart.x_log { 10f64.powf(v) } else { v });
    let (left, middle, right) = (back(x_low), back((x_low + x_high) / 2.0), back(x_high));
    let between = columns.saturating_sub(long(&left) + long(&right));
    out.push(format!(
        "{} {left}{middle:^between$}{right}",
        " ".repeat(indent)
    ));
    out.extend(lines(&chart.x_label, width));

    out.push(key(chart, width));
    out.push(ranges(chart, width));
    out.retain(|part| !part.is_empty());
    titled(&chart.title, out.join("\n"), width)
}

/// Stacked plots, then lanes in which periods are marked over the same axis.
pub(super) fn stacked(panels: &Panels, width: usize) -> String {
    let mut parts: Vec<String> = panels.charts.iter().map(|c| plot(c, width)).collect();
    let curves = panels.charts.iter().flat_map(|c| &c.curves);
    let ends = curves.flat_map(|c| &c.points).map(|p| p.0);
    let spans = panels.lanes.iter().flat_map(|l| &l.spans);
    let ends = figure::ends(ends.chain(spans.flat_map(|s| [s.0, s.1])));
    if let Some((low, high)) = ends.filter(|_| !panels.lanes.is_empty()) {
        let columns = width.saturating_sub(2).clamp(16, 64);
        let at = |v: f64| ((v - low) / (high - low) * columns as f64).clamp(0.0, columns as f64);
        let mut out = Vec::new();
        for lane in &panels.lanes {
            let met = |column: &usize| {
                let column = *column as f64;
                let meets = |s: &&(f64, f64)| at(s.0) < column + 1.0 && at(s.1) > column;
                lane.spans.iter().any(|s| meets(&s))
            };
            let signs = (0..columns).map(|c| if met(&c) { '█' } else { '·' });
            out.extend(lines(&lane.name, width));
            out.push(signs.collect());
        }
        let (left, right) = (figure(low), figure(high));
        let between = columns.saturating_sub(long(&left) + long(&right));
        out.push(format!("{left}{}{right}", " ".repeat(between)));
        out.extend(lines(&panels.x_label, width));
        parts.push(out.join("\n"));
    }
    titled(&panels.title, parts.join("\n\n"), width)
}

/// Draws curves, horizontal lines and marks. `place` returns the position of a point, if it can be drawn; `some_x` is
/// any value on the horizontal axis.
fn draw(
    chart: &Chart,
    dots: &mut Dots,
    some_x: f64,
    place: impl Fn(f64, f64) -> Option<(f64, f64)>,
) {
    let curves: Vec<Vec<Option<(f64, f64)>>> = chart
        .lines()
        .map(|c| c.points.iter().map(|p| place(p.0, p.1)).collect())
        .collect();
    for (i, curve) in curves.iter().enumerate() {
        for run in curve.split(Option::is_none) {
            let run: Vec<(f64, f64)> = run.iter().flatten().copied().collect();
            run.iter().for_each(|p| dots.line(*p, *p));
            run.windows(2).for_each(|p| dots.line(p[0], p[1]));
            if curves.len() > 1 {
                dots.name(&run, (i, curves.len()), SIGNS[i % SIGNS.len()]);
            }
        }
    }
    for (_, level) in &chart.levels {
        if let Some((_, y)) = place(some_x, *level) {
            dots.level(y);
        }
    }
    for mark in &chart.marks {
        if let Some(at) = place(mark.x, mark.y) {
            dots.sign(at, MARK);
        }
    }
}

/// The legend: each symbol with the name of its curve, and the names of horizontal lines and marks.
fn key(chart: &Chart, width: usize) -> String {
    let mut key: Vec<(String, String)> = Vec::new();
    for (i, curve) in chart
        .lines()
        .enumerate()
        .filter(|(_, c)| !c.name.is_empty())
    {
        let sign = match chart.lines().count() {
            1 => '⠤',
            _ => SIGNS[i % SIGNS.len()],
        };
        key.push((sign.to_string(), curve.name.clone()));
    }
    for (name, level) in &chart.levels {
        key.push(("-".into(), format!("{name} ({})", figure(*level))));
    }
    for mark in &chart.marks {
        let spread = if mark.spread.abs() > 0.0 {
            format!(" ± {}", figure(mark.spread.abs()))
        } else {
            String::new()
        };
        key.push((
            MARK.to_string(),
            format!(
                "{} ({}; {}{spread})",
                mark.name,
                figure(mark.x),
                figure(mark.y)
            ),
        ));
    }
    listed(
        key.iter().map(|(sign, name)| (sign.as_str(), name.clone())),
        width,
    )
}

/// Lists the named ranges of the horizontal axis.
fn ranges(chart: &Chart, width: usize) -> String {
    let ends = |s: &Stretch| format!("{} to {}", figure(s.from), figure(s.to));
    let stretches: Vec<(String, String)> = chart
        .stretches
        .iter()
        .map(|s| (ends(s), s.name.clone()))
        .collect();
    listed(
        stretches
            .iter()
            .map(|(ends, name)| (ends.as_str(), name.clone())),
        width,
    )
}
