//! Curves over an axis.
//!
//! The plotting library draws frame, grid, figures, curves and areas; names and legend are drawn with `svg.rs`, so that
//! they do not overlap.

use super::figure::{self, drawable};
use super::measured::Measured;
use super::svg::{COLOURS, Held, INK, LINE, Look, Picture, SIZE, SOFT, letters, width};
use super::table::Values;
use super::wrap::lines;
use crate::tell::{Chart, Curve, Mark};
use plotters::coord::ranged1d::{DefaultFormatting, KeyPointHint};
use plotters::prelude::*;

/// Width of the picture.
pub(super) const WIDTH: f64 = 480.0;
/// Height of the plot alone.
const PLOT: f64 = 270.0;
/// Approximate number of intervals between ticks, for a vertical axis of that height and for a horizontal one.
const PIECES: f64 = 6.0;
/// The library rounds to whole pixels: it draws larger by this factor, for smooth curves.
const SCALE: f64 = 8.0;
/// Length of a line sample in the legend.
const SAMPLE: f64 = 34.0;

/// Dash patterns in turn, as length and gap; further curves also have markers.
const DASHES: [Option<(i32, i32)>; 4] = [None, Some((10, 5)), Some((2, 4)), Some((18, 4))];

/// One axis: its ends in drawing coordinates, and its ticks as coordinate and text.
#[derive(Clone)]
pub(super) struct Axis {
    low: f64,
    high: f64,
    log: bool,
    /// Coordinates with their labels.
    pub ticks: Vec<(f64, String)>,
}

impl Axis {
    fn new(ends: Option<(f64, f64)>, log: bool, pieces: f64) -> Self {
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

    /// The coordinate of a value, if there is one.
    pub fn of(&self, value: f64) -> Option<f64> {
        let coordinate = if self.log { value.log10() } else { value };
        drawable(coordinate).then_some(coordinate)
    }

    /// Position of a coordinate as a fraction of the axis length.
    pub fn share(&self, coordinate: f64) -> f64 {
        (coordinate - self.low) / (self.high - self.low)
    }

    /// The text of the tick at a coordinate.
    fn text(&self, coordinate: f64) -> String {
        let near = |t: &&(f64, String)| (t.0 - coordinate).abs() <= (self.high - self.low) * 1e-6;
        self.ticks
            .iter()
            .find(near)
            .map(|t| t.1.clone())
            .unwrap_or_default()
    }
}

/// The interface of an axis to the plotting library.
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

/// The box that a name occupies.
#[derive(Clone, Copy)]
struct Room {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Room {
    /// The box of a text with baseline `y`.
    fn of(text: &str, x: f64, y: f64, held: Held) -> Self {
        let long = width(text, SIZE);
        let left = match held {
            Held::Left => x,
            Held::Middle => x - long / 2.0,
            Held::Right => x - long,
        };
        Self {
            left,
            right: left + long,
            top: y - SIZE,
            bottom: y + 4.0,
        }
    }

    fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    fn holds(&self, (x, y): (f64, f64)) -> bool {
        (self.left..self.right).contains(&x) && (self.top..self.bottom).contains(&y)
    }

    fn inside(&self, other: &Self) -> bool {
        self.left >= other.left
            && self.right <= other.right
            && self.top >= other.top
            && self.bottom <= other.bottom
    }
}

/// Areas that names should not cover.
struct Taken {
    names: Vec<Room>,
    /// Points of the curves and of the horizontal lines.
    points: Vec<(f64, f64)>,
}

impl Taken {
    /// Number of names and of curve points that a box would cover.
    fn met(&self, room: &Room) -> (usize, usize) {
        let names = self.names.iter().filter(|name| name.meets(room)).count();
        (
            names,
            self.points
                .iter()
                .filter(|point| room.holds(**point))
                .count(),
        )
    }
}

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
    let bottom = plotted(&mut picture, chart, &seat);
    let foot = label_below(&mut picture, &chart.x_label, seat.left, bottom + 24.0);
    picture.height = key(&mut picture, chart, seat.left, foot + 10.0) + 12.0;
    picture
}

/// Position of a plot.
pub(super) struct Seat<'a> {
    /// The horizontal axis.
    pub x: &'a Axis,
    /// The left end of the plot.
    pub left: f64,
    /// Top of the plot, including the names above ranges.
    pub top: f64,
    /// Height of the plot.
    pub height: f64,
    /// Whether the tick labels are below it.
    pub figures_below: bool,
}

/// Right end of the plot.
pub(super) const RIGHT: f64 = WIDTH - 18.0;

/// The vertical axis of a plot; a lower plot has fewer ticks.
fn upright_axis(chart: &Chart, x: &Axis, height: f64) -> Axis {
    Axis::new(y_ends(chart, x), chart.y_log, PIECES * height / PLOT)
}

/// Left margin of a plot, for its tick labels and axis label.
pub(super) fn margin(chart: &Chart, x: &Axis, height: f64) -> f64 {
    let y = upright_axis(chart, x, height);
    let figures = y.ticks.iter().map(|t| width(&t.1, SIZE));
    let upright = lines(&chart.y_label, letters(height, SIZE));
    18.0 + upright.len().max(1) as f64 * LINE + figures.fold(20.0, f64::max)
}

/// A common horizontal axis for several charts and further values.
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

/// Draws the plot of a chart with its names; returns its lower end.
pub(super) fn plotted(picture: &mut Picture, chart: &Chart, seat: &Seat<'_>) -> f64 {
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

    // Drawing in memory does not fail; if it did, the names would still be drawn.
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
    plot.name_contours(picture, chart, &mut taken);
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
    bottom
}

/// The ends of the horizontal axis.
fn x_ends(chart: &Chart) -> Option<(f64, f64)> {
    let curves = chart.lines().flat_map(|c| {
        let points = c.points.iter().filter(|p| drawable(p.1)).map(|p| p.0);
        points.chain(c.band.iter().map(|b| b.0))
    });
    let values: Vec<f64> = curves
        .chain(chart.marks.iter().map(|m| m.x))
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

/// The lower end of an error bar; not below zero on an axis that starts at zero.
fn least(chart: &Chart, y: f64, spread: f64) -> f64 {
    if chart.y_from_zero && y >= 0.0 {
        (y - spread).max(0.0)
    } else {
        y - spread
    }
}

/// The ends of the vertical axis.
fn y_ends(chart: &Chart, x: &Axis) -> Option<(f64, f64)> {
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
    let values = curves.chain(marks).chain(chart.levels.iter().map(|l| l.1));
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

/// The name of a shaded range and its position.
struct Named {
    text: String,
    /// Row, counted upwards from the plot.
    row: usize,
    /// The middle of the text.
    middle: f64,
    /// The ends of the range.
    from: f64,
    to: f64,
}

/// Positions of the names of the ranges: in the lowest row without overlap.
fn stretch_names(chart: &Chart, x: &Axis, left: f64, right: f64) -> Vec<Named> {
    let mut named: Vec<Named> = Vec::new();
    for stretch in &chart.stretches {
        let place = |v: f64, open: f64| match v {
            v if drawable(v) => x
                .of(v)
                .map_or(left, |c| left + x.share(c).clamp(0.0, 1.0) * (right - left)),
            _ => open,
        };
        let (from, to) = (place(stretch.from, left), place(stretch.to, right));
        if to - from < 0.5 {
            continue;
        }
        let text = shortened(&stretch.name, WIDTH - 24.0);
        let long = width(&text, SIZE);
        let lowest = (long / 2.0).min(WIDTH / 2.0);
        let middle = ((from + to) / 2.0).clamp(lowest, WIDTH - lowest);
        let taken = |row: usize| {
            named.iter().any(|n| {
                n.row == row
                    && (n.middle - middle).abs() < (width(&n.text, SIZE) + long) / 2.0 + 8.0
            })
        };
        let row = (0..).find(|row| !taken(*row)).unwrap_or(0);
        named.push(Named {
            text,
            row,
            middle,
            from,
            to,
        });
    }
    named
}

/// A plot in the picture.
struct Plot<'a> {
    x: &'a Axis,
    y: &'a Axis,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    figures_below: bool,
}

impl Plot<'_> {
    /// Areas that names should not cover.
    fn taken(&self, chart: &Chart) -> Taken {
        let points = chart.lines().flat_map(|c| &c.points);
        let points = points.filter_map(|p| Some(self.place(self.at(*p)?)));
        let along = || (0..).map(|i| self.left + 8.0 * f64::from(i));
        let levels = chart.levels.iter().filter_map(|l| self.y.of(l.1));
        let levels = levels
            .map(|level| self.place((self.x.low, level)).1)
            .flat_map(|y| along().take_while(|x| *x < self.right).map(move |x| (x, y)));
        Taken {
            names: Vec::new(),
            points: points.chain(levels).collect(),
        }
    }

    /// The coordinates of a point, if defined.
    fn at(&self, (x, y): (f64, f64)) -> Option<(f64, f64)> {
        Some((self.x.of(x)?, self.y.of(y)?))
    }

    /// The position in the picture of a pair of coordinates.
    fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (
            self.left + self.x.share(x) * (self.right - self.left),
            self.bottom - self.y.share(y) * (self.bottom - self.top),
        )
    }

    /// Frame, grid, shading, bands, curves, levels and error bars.
    fn draw(&self, chart: &Chart, into: &mut String) -> Result<(), Box<dyn std::error::Error>> {
        let large = |v: f64| (v * SCALE).round() as i32;
        let foot = 26.0;
        let size = (large(WIDTH) as u32, large(self.bottom + foot) as u32);
        let root = Measured(SVGBackend::with_string(into, size)).into_drawing_area();
        let mut plot = ChartBuilder::on(&root)
            .margin_top(large(self.top))
            .margin_right(large(WIDTH - self.right))
            .set_label_area_size(LabelAreaPosition::Left, large(self.left))
            .set_label_area_size(LabelAreaPosition::Bottom, large(foot))
            .build_cartesian_2d(self.x.clone(), self.y.clone())?;

        let (low, high) = (self.y.low, self.y.high);
        for (i, stretch) in chart.stretches.iter().enumerate() {
            let end = |v: f64, open: f64| {
                if drawable(v) {
                    self.x.of(v).unwrap_or(self.x.low)
                } else {
                    open
                }
            };
            let (from, to) = (end(stretch.from, self.x.low), end(stretch.to, self.x.high));
            let (from, to) = (from.max(self.x.low), to.min(self.x.high));
            if from < to {
                let shade = if i % 2 == 0 {
                    RGBColor(241, 241, 241)
                } else {
                    RGBColor(226, 226, 226)
                };
                plot.draw_series([Rectangle::new([(from, low), (to, high)], shade.filled())])?;
            }
        }
        // The library's font size is larger than drawn by this factor.
        let type_size = SIZE * SCALE * 1.24;
        let ink = RGBColor(26, 26, 26);
        plot.configure_mesh()
            .bold_line_style(RGBColor(200, 200, 200).stroke_width(large(0.8) as u32))
            .light_line_style(TRANSPARENT)
            .axis_style(ink.stroke_width(large(1.0) as u32))
            .label_style(("sans-serif", type_size).into_font().color(&ink))
            .x_label_formatter(&|v| match self.figures_below {
                true => self.x.text(*v),
                false => String::new(),
            })
            .y_label_formatter(&|v| self.y.text(*v))
            .set_all_tick_mark_size(large(4.0))
            .draw()?;
        if low < 0.0 && high > 0.0 && !self.y.log {
            plot.draw_series([PathElement::new(
                [(self.x.low, 0.0), (self.x.high, 0.0)],
                ink.stroke_width(large(1.0) as u32),
            )])?;
        }
        for (i, curve) in chart.curves.iter().enumerate() {
            for band in runs(&curve.band, |b| {
                Some((self.x.of(b.0)?, self.y.of(b.1)?, self.y.of(b.2)?))
            }) {
                let lower = band.iter().map(|b| (b.0, b.1));
                let edge: Vec<(f64, f64)> =
                    lower.chain(band.iter().rev().map(|b| (b.0, b.2))).collect();
                plot.draw_series([Polygon::new(edge, colour(i).mix(0.18))])?;
            }
        }
        for (_, level) in &chart.levels {
            let Some(level) = self.y.of(*level) else {
                continue;
            };
            let ends = [(self.x.low, level), (self.x.high, level)];
            let style = ink.stroke_width(large(1.2) as u32);
            plot.draw_series(DashedLineSeries::new(ends, large(7.0), large(3.0), style))?;
        }
        for (i, curve) in chart.curves.iter().enumerate() {
            let style = colour(i).stroke_width(large(2.4) as u32);
            for run in runs(&curve.points, |p| self.at(*p)) {
                match DASHES[i % DASHES.len()] {
                    _ if run.len() == 1 => {
                        plot.draw_series(
                            run.iter()
                                .map(|p| Circle::new(*p, large(3.5), colour(i).filled())),
                        )?;
                    }
                    None => {
                        plot.draw_series(LineSeries::new(run, style))?;
                    }
                    Some((long, gap)) => {
                        let (long, gap) = (large(f64::from(long)), large(f64::from(gap)));
                        plot.draw_series(DashedLineSeries::new(run, long, gap, style))?;
                    }
                }
            }
        }
        for (i, contour) in chart.contours.iter().enumerate() {
            let style = shade(i, chart.contours.len()).stroke_width(large(2.0) as u32);
            for run in runs(&contour.points, |p| self.at(*p)) {
                plot.draw_series(LineSeries::new(run, style))?;
            }
        }
        drop(plot);
        root.present()?;
        Ok(())
    }

    /// The names above the shaded ranges, with a thin leader line if they are higher up.
    fn name_stretches(&self, picture: &mut Picture, names: &[Named]) {
        for name in names {
            let y = self.top - 6.0 - name.row as f64 * LINE;
            let tied = name.middle.clamp(name.from, name.to);
            if name.row > 0 {
                picture.path(&[(tied, y + 4.0), (tied, self.top)], Look::line(SOFT, 0.8));
            }
        }
        for name in names {
            let y = self.top - 6.0 - name.row as f64 * LINE;
            picture.rimmed((name.middle, y), Held::Middle, &name.text);
        }
    }

    /// The names above the horizontal lines, at the end without overlap.
    fn name_levels(&self, picture: &mut Picture, chart: &Chart, taken: &mut Taken) {
        for (name, level) in &chart.levels {
            let Some(level) = self.y.of(*level) else {
                continue;
            };
            let y = self.place((self.x.low, level)).1;
            let middle = (self.left + self.right) / 2.0;
            let sides = [
                (self.right - 6.0, Held::Right),
                (self.left + 6.0, Held::Left),
                (middle, Held::Middle),
            ];
            let choices = sides
                .into_iter()
                .flat_map(|(x, held)| [(x, y - 5.0, held), (x, y + SIZE + 1.0, held)]);
            self.write(picture, name, choices, taken);
        }
    }

    /// The labels of contour lines, each on its line without overlap.
    fn name_contours(&self, picture: &mut Picture, chart: &Chart, taken: &mut Taken) {
        // A label covers its own line; only overlap with other names counts.
        taken.points.clear();
        for contour in &chart.contours {
            let longest = runs(&contour.points, |p| self.at(*p));
            let Some(line) = longest.iter().max_by_key(|run| run.len()) else {
                continue;
            };
            let last = line.len() - 1;
            let along = [10, 8, 12, 6, 14, 4, 16, 2, 18].map(|part| line[last * part / 20]);
            let beside = |by: f64| {
                along.map(|at| {
                    let (x, y) = self.place(at);
                    (x, y + by, Held::Middle)
                })
            };
            // On the line; if that is outside the plot, above or below it.
            let choices = [beside(5.0), beside(-5.0), beside(SIZE + 1.0)].concat();
            self.write(picture, &contour.name, choices, taken);
        }
    }

    /// The marks and their names, on the side without overlap.
    fn name_marks(&self, picture: &mut Picture, chart: &Chart, taken: &mut Taken) {
        let placed = |m: &Mark| self.at((m.x, m.y)).map(|at| self.place(at));
        for (x, y) in chart.marks.iter().filter_map(placed) {
            taken.names.push(Room {
                left: x - 6.0,
                right: x + 6.0,
                top: y - 6.0,
                bottom: y + 6.0,
            });
        }
        for mark in &chart.marks {
            let Some((x, y)) = placed(mark) else { continue };
            let end = |y: f64| self.at((mark.x, y)).map(|at| self.place(at).1);
            let spread = mark.spread.abs();
            if let (Some(low), Some(high)) =
                (end(least(chart, mark.y, spread)), end(mark.y + spread))
                && spread > 0.0
            {
                let look = Look::line(INK, 1.6);
                picture.path(&[(x, low), (x, high)], look);
                for end in [low, high] {
                    picture.path(&[(x - 5.0, end), (x + 5.0, end)], look);
                }
            }
            diamond(picture, x, y);
            let choices = [
                (x + 10.0, y + 5.0, Held::Left),
                (x - 10.0, y + 5.0, Held::Right),
                (x + 8.0, y - 9.0, Held::Left),
                (x - 8.0, y - 9.0, Held::Right),
                (x + 8.0, y + 20.0, Held::Left),
                (x - 8.0, y + 20.0, Held::Right),
                (x, y - 26.0, Held::Middle),
                (x, y + 36.0, Held::Middle),
            ];
            self.write(picture, &mark.name, choices, taken);
        }
        // The markers of the curves after the first few.
        for (i, curve) in chart.curves.iter().enumerate().skip(DASHES.len()) {
            for (x, y) in spaced(curve, |p| self.at(p).map(|at| self.place(at))) {
                marker(picture, i, x, y);
            }
        }
    }

    /// Writes a name inside the plot, at the candidate position that overlaps the fewest names, then the fewest curves.
    fn write(
        &self,
        picture: &mut Picture,
        name: &str,
        choices: impl IntoIterator<Item = (f64, f64, Held)>,
        taken: &mut Taken,
    ) {
        if name.is_empty() {
            return;
        }
        let plot = Room {
            left: self.left,
            right: self.right,
            top: self.top,
            bottom: self.bottom,
        };
        let inside = choices
            .into_iter()
            .map(|(x, y, held)| (x, y, held, Room::of(name, x, y, held)))
            .filter(|c| c.3.inside(&plot));
        if let Some((x, y, held, room)) = inside.min_by_key(|c| taken.met(&c.3)) {
            taken.names.push(room);
            picture.rimmed((x, y), held, name);
        } else {
            let line = shortened(name, self.right - self.left - 12.0);
            picture.rimmed((self.left + 6.0, self.top + SIZE + 2.0), Held::Left, &line);
        }
    }
}

/// A name, or as much of it as fits.
fn shortened(name: &str, room: f64) -> String {
    if width(name, SIZE) <= room {
        return name.to_owned();
    }
    let start = lines(name, letters(room, SIZE).saturating_sub(1))
        .into_iter()
        .next();
    start.unwrap_or_default() + "…"
}

/// The elements inside the library's outermost element.
fn inner(svg: &str) -> &str {
    let start = svg.find('>').map_or(0, |i| i + 1);
    let end = svg.rfind("</svg>").unwrap_or(svg.len());
    svg.get(start..end).unwrap_or("")
}

/// The colour of a curve.
fn colour(i: usize) -> RGBColor {
    let byte = |at: usize| {
        COLOURS[i % COLOURS.len()]
            .get(at..at + 2)
            .and_then(|h| u8::from_str_radix(h, 16).ok())
            .unwrap_or(0)
    };
    RGBColor(byte(1), byte(3), byte(5))
}

/// The colour of a contour line: darker for higher values.
fn shade(i: usize, count: usize) -> RGBColor {
    let part = i as f64 / count.saturating_sub(1).max(1) as f64;
    let mixed = |pale: f64, dark: f64| (pale + (dark - pale) * part).round() as u8;
    RGBColor(mixed(120.0, 8.0), mixed(180.0, 40.0), mixed(220.0, 100.0))
}

/// The unbroken runs of a series.
fn runs<P, Q>(points: &[P], at: impl Fn(&P) -> Option<Q>) -> Vec<Vec<Q>> {
    let mut runs: Vec<Vec<Q>> = vec![Vec::new()];
    for point in points {
        match (at(point), runs.last_mut()) {
            (Some(q), Some(run)) => run.push(q),
            _ => runs.push(Vec::new()),
        }
    }
    runs.retain(|run| !run.is_empty());
    runs
}

/// About eight points of a curve, evenly spread.
fn spaced(curve: &Curve, at: impl Fn((f64, f64)) -> Option<(f64, f64)>) -> Vec<(f64, f64)> {
    let points: Vec<(f64, f64)> = curve.points.iter().filter_map(|p| at(*p)).collect();
    let every = points.len().div_ceil(8).max(1);
    points.into_iter().skip(every / 2).step_by(every).collect()
}

/// The marker of a curve: hollow circle, hollow square, then hollow triangle.
fn marker(picture: &mut Picture, i: usize, x: f64, y: f64) {
    let look = Look::line(COLOURS[i % COLOURS.len()], 1.8).inside("#ffffff");
    match i / DASHES.len() {
        1 => picture.circle((x, y), 4.0, look),
        2 => picture.rectangle((x - 3.5, y - 3.5), (7.0, 7.0), look),
        _ => picture.shape(
            &[(x, y - 5.0), (x + 4.5, y + 3.5), (x - 4.5, y + 3.5)],
            look,
        ),
    }
}

/// The symbol of a single point.
fn diamond(picture: &mut Picture, x: f64, y: f64) {
    let corners = [(x, y - 6.0), (x + 6.0, y), (x, y + 6.0), (x - 6.0, y)];
    picture.shape(&corners, Look::line("#ffffff", 1.5).inside("#000000"));
}

/// The legend below the plot: a sample of each line and its name. Returns its lower end.
pub(super) fn key(picture: &mut Picture, chart: &Chart, left: f64, top: f64) -> f64 {
    let curves: Vec<(usize, &Curve)> = chart
        .curves
        .iter()
        .enumerate()
        .filter(|(_, c)| !c.name.is_empty())
        .collect();
    let widest = curves
        .iter()
        .map(|(_, c)| width(&c.name, SIZE))
        .fold(0.0, f64::max);
    let room = WIDTH - 12.0 - left;
    let across = ((room / (SAMPLE + 26.0 + widest)).floor().max(1.0) as usize).min(4);
    let column = room / across as f64;
    let mut y = top;
    for row in curves.chunks(across) {
        let mut deepest = 0;
        for (place, (i, curve)) in row.iter().enumerate() {
            let x = left + place as f64 * column;
            sample(picture, *i, x, y + LINE - 5.0, !curve.band.is_empty());
            let name = lines(&curve.name, letters(column - SAMPLE - 8.0, SIZE));
            for (l, line) in name.iter().enumerate() {
                picture.words(
                    (x + SAMPLE + 8.0, y + (l + 1) as f64 * LINE),
                    Held::Left,
                    line,
                );
            }
            deepest = deepest.max(name.len());
        }
        y += deepest as f64 * LINE + 2.0;
    }
    y
}

/// A sample of a curve's line.
fn sample(picture: &mut Picture, i: usize, x: f64, y: f64, band: bool) {
    if band {
        let (r, g, b) = (colour(i).0, colour(i).1, colour(i).2);
        let pale = |c: u8| 255 - ((255 - u32::from(c)) * 18 / 100) as u8;
        let fill = format!("#{:02x}{:02x}{:02x}", pale(r), pale(g), pale(b));
        picture.rectangle((x, y - 7.0), (SAMPLE, 14.0), Look::filled(&fill));
    }
    let dash = DASHES[i % DASHES.len()]
        .map(|(long, gap)| format!("{long} {gap}"))
        .unwrap_or_default();
    picture.path(
        &[(x, y), (x + SAMPLE, y)],
        Look::line(COLOURS[i % COLOURS.len()], 2.4).dashed(&dash),
    );
    if i >= DASHES.len() {
        marker(picture, i, x + SAMPLE / 2.0, y);
    }
}
