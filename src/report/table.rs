//! The data table of a picture, for screen readers and for reading exact values.

use super::figure::{drawable, figure};
use super::svg::escaped;
use crate::tell::{Bars, Chart, Curve};
use maud::{Markup, PreEscaped, html};

/// Maximum number of rows for one curve; a curve with more points is represented by evenly spaced ones.
const ROWS: usize = 60;

/// The values drawn in a plot, each with its position in the picture.
pub(super) struct Values {
    /// Left, top, right and bottom of the plot.
    pub area: [f64; 4],
    heads: Vec<String>,
    /// The unit of the curves that have a name of their own; those without one have it in their heading.
    unit: Option<String>,
    rows: Vec<Row>,
    marks: Vec<String>,
}

/// One value on the horizontal axis, with the value of each curve there and the limit that acts there.
struct Row {
    x: f64,
    cells: Vec<Option<(String, (f64, f64))>>,
    limit: Option<String>,
}

impl Values {
    /// Collects the values of a chart; `at` returns the position of a point in the picture, if it is drawn.
    pub fn of(
        chart: &Chart,
        area: [f64; 4],
        at: &dyn Fn((f64, f64)) -> Option<(f64, f64)>,
    ) -> Self {
        // Contour lines are left out, because they can have several values at one position on the axis.
        let curves: Vec<&Curve> = chart.curves.iter().collect();
        let drawn: Vec<Vec<(f64, f64)>> = curves.iter().map(|c| spread(c, at)).collect();
        let mut along: Vec<f64> = drawn.iter().flatten().map(|p| p.0).collect();
        along.sort_by(f64::total_cmp);
        along.dedup();
        let named = |c: &&Curve| match c.name.as_str() {
            "" => chart.y_label.clone(),
            name => name.to_string(),
        };
        let row = |x: &f64| Row {
            x: *x,
            cells: curves.iter().map(|c| cell(c, *x, at)).collect(),
            limit: limit(chart, *x),
        };
        let rows: Vec<Row> = along.iter().map(row).collect();
        let mut heads = vec![chart.x_label.clone()];
        heads.extend(curves.iter().map(named));
        if rows.iter().any(|r| r.limit.is_some()) {
            heads.push("limited by".into());
        }
        let marks = chart.marks.iter().map(|m| {
            let half = match m.spread.abs() {
                half if half > 0.0 => format!(" ± {}", figure(half)),
                _ => String::new(),
            };
            format!("{}: {}, {}{half}", m.name, figure(m.x), figure(m.y))
        });
        Self {
            area,
            heads,
            unit: chart.y_label.rsplit_once(", ").map(|l| l.1.to_string()),
            rows,
            marks: marks.collect(),
        }
    }

    /// Sets the name of the axis, if the chart itself has none.
    pub fn along(&mut self, label: &str) {
        if self.heads[0].is_empty() {
            self.heads[0] = label.to_string();
        }
    }

    /// The unit of a column, if its heading does not have it.
    fn unit_of(&self, at: usize) -> Option<&str> {
        let curve = at > 0 && self.heads[at] != "limited by" && !self.heads[at].contains(", ");
        self.unit.as_deref().filter(|_| curve)
    }

    /// The values as a table in markup; each is annotated with its position in the picture.
    pub fn markup(&self) -> Markup {
        let limits = self.heads.len() > 1 + self.rows.first().map_or(0, |r| r.cells.len());
        html! {
            div.sideways tabindex="0" role="group" aria-label=(PreEscaped(escaped(&self.heads.join(", ")))) {
                table.values {
                    thead { tr { @for (i, head) in self.heads.iter().enumerate() { th scope="col" data-unit=[self.unit_of(i)] { (PreEscaped(escaped(head))) } } } }
                    tbody {
                        @for row in &self.rows {
                            tr {
                                th scope="row" { (figure(row.x)) }
                                @for cell in &row.cells {
                                    @match cell {
                                        Some((words, (x, y))) => td data-at=(format!("{x:.1} {y:.1}")) { (words) },
                                        None => td {},
                                    }
                                }
                                @if limits { td { (PreEscaped(escaped(row.limit.as_deref().unwrap_or("")))) } }
                            }
                        }
                    }
                }
            }
            @if !self.marks.is_empty() { ul { @for mark in &self.marks { li { (PreEscaped(escaped(mark))) } } } }
        }
    }
}

/// The drawn points of a curve, thinned out to about the maximum number of rows.
fn spread(curve: &Curve, at: &dyn Fn((f64, f64)) -> Option<(f64, f64)>) -> Vec<(f64, f64)> {
    let all = curve.points.iter().copied();
    let all: Vec<(f64, f64)> = all.filter(|p| at(*p).is_some()).collect();
    let every = all.len().div_ceil(ROWS).max(1);
    let last = all.len().saturating_sub(1);
    let kept = all.into_iter().enumerate();
    let kept = kept.filter(|(i, _)| i % every == 0 || *i == last);
    kept.map(|(_, p)| p).collect()
}

/// The text of a curve's value, with its band, at `x` on the axis, and the position of that point in the picture.
fn cell(
    curve: &Curve,
    x: f64,
    at: &dyn Fn((f64, f64)) -> Option<(f64, f64)>,
) -> Option<(String, (f64, f64))> {
    let point = *curve.points.iter().find(|p| p.0.total_cmp(&x).is_eq())?;
    let place = at(point)?;
    let band = curve.band.iter().find(|b| b.0.total_cmp(&x).is_eq());
    let words = match band {
        Some((_, low, high)) => {
            let [y, low, high] = [point.1, *low, *high].map(figure);
            format!("{y} ({low} to {high})")
        }
        None => figure(point.1),
    };
    Some((words, place))
}

/// The name of the limit that acts at `x` on the axis.
fn limit(chart: &Chart, x: f64) -> Option<String> {
    let from = |v: f64| !drawable(v) || v <= x;
    let to = |v: f64| !drawable(v) || x <= v;
    let found = chart.stretches.iter().find(|s| from(s.from) && to(s.to));
    found.map(|s| s.name.clone())
}

/// The data table of bars.
pub(super) fn bars(bars: &Bars) -> Markup {
    html! {
        table {
            thead { tr { td {} th scope="col" { (PreEscaped(escaped(&bars.label))) } } }
            tbody {
                @for bar in &bars.rows {
                    @let (value, range) = super::bars::worded(bar);
                    tr {
                        th scope="row" { (PreEscaped(escaped(&bar.name))) }
                        td { (PreEscaped(escaped([value, range, bar.note.clone()].join(" ").trim()))) }
                    }
                }
            }
        }
    }
}
