//! Writes names in a plot at positions where they overlap as little as possible.

use super::WIDTH;
use super::axis::{Axis, least};
use super::key::{DASHES, marker};
use super::plot::{Plot, runs};
use crate::report::figure::drawable;
use crate::report::svg::{Held, INK, LINE, Look, Picture, SIZE, SOFT, letters, width};
use crate::report::wrap::lines;
use crate::tell::{Chart, Curve, Mark};

/// Distance of the points of a curve that names should not cover.
const APART: f64 = 8.0;

/// How far other lines stay away from a label beside its line, so that it belongs to no other.
const CLEAR: f64 = 5.0;

/// A position in the picture.
type Spot = (f64, f64);

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
    pub(super) fn of(text: &str, x: f64, y: f64, held: Held) -> Self {
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

    /// The box with a margin.
    fn wider(&self, by: f64) -> Self {
        Self {
            left: self.left - by,
            right: self.right + by,
            top: self.top - by,
            bottom: self.bottom + by,
        }
    }

    /// Whether a straight line between two points passes through the box.
    fn crossed(&self, (x, y): Spot, (to_x, to_y): Spot) -> bool {
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (start, way, low, high) in [
            (x, to_x - x, self.left, self.right),
            (y, to_y - y, self.top, self.bottom),
        ] {
            if way.abs() < 1e-9 {
                if start < low || start > high {
                    return false;
                }
                continue;
            }
            let (a, b) = ((low - start) / way, (high - start) / way);
            (from, to) = (from.max(a.min(b)), to.min(a.max(b)));
        }
        from <= to
    }

    /// The part of the box that the letters fill, without descenders.
    fn letters(&self) -> Self {
        Self {
            top: self.top + 0.25 * SIZE,
            bottom: self.bottom - 3.0,
            ..*self
        }
    }

    pub(super) fn inside(&self, other: &Self) -> bool {
        self.left >= other.left
            && self.right <= other.right
            && self.top >= other.top
            && self.bottom <= other.bottom
    }
}

/// What further names should not cover: names already written, and curves.
pub(super) struct Taken {
    names: Vec<Room>,
    /// Points along the curves.
    points: Vec<(f64, f64)>,
    /// Vertical positions of the horizontal lines.
    levels: Vec<f64>,
}

impl Taken {
    /// The number of names and horizontal lines that a box would cover, without the line that is named, at `own`; and the
    /// number of points of curves.
    fn met(&self, room: &Room, own: Option<f64>) -> (usize, usize) {
        let names = self.names.iter().filter(|name| name.meets(room)).count();
        let points = self.points.iter().filter(|p| room.holds(**p)).count();
        let other = |y: &&f64| own.is_none_or(|own| (*y - own).abs() > 0.5);
        let lines = self.crossing(room).filter(other).count();
        (names + lines, points)
    }

    /// The horizontal lines that would strike through the letters in a box.
    fn crossing(&self, room: &Room) -> impl Iterator<Item = &f64> {
        let Room { top, bottom, .. } = room.letters();
        self.levels
            .iter()
            .filter(move |y| (top..bottom).contains(*y))
    }
}

/// The name of a shaded range and its position.
pub(super) struct Named {
    text: String,
    /// Row, counted upwards from the plot.
    pub(super) row: usize,
    /// Horizontal position of the middle of the text.
    middle: f64,
    /// Left end of the range; `to` is its right end.
    from: f64,
    to: f64,
}

/// Positions of the names of the shaded ranges: each in the lowest row in which it overlaps no other name.
pub(super) fn stretch_names(chart: &Chart, x: &Axis, left: f64, right: f64) -> Vec<Named> {
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

impl Plot<'_> {
    /// The points of curves and lines that names should not cover.
    pub(super) fn taken(&self, chart: &Chart) -> Taken {
        let runs = chart.lines().flat_map(|c| runs(&c.points, |p| self.at(*p)));
        let placed = |run: Vec<_>| run.iter().map(|p| self.place(*p)).collect::<Vec<Spot>>();
        let points = runs.flat_map(|run| dense(&placed(run)));
        let levels = chart.levels.iter().filter_map(|l| self.y.of(l.1));
        let levels = levels.map(|level| self.place((self.x.low, level)).1);
        Taken {
            names: Vec::new(),
            points: points.collect(),
            levels: levels.collect(),
        }
    }

    /// Writes the names above the shaded ranges; those above the lowest row have a thin leader line.
    pub(super) fn name_stretches(&self, picture: &mut Picture, names: &[Named]) {
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

    /// Writes the names of the horizontal lines above or below them, or where other lines are near, on them; at the
    /// position with the least overlap.
    pub(super) fn name_levels(&self, picture: &mut Picture, chart: &Chart, taken: &mut Taken) {
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
            let near = |other: &f64| (0.5..LINE + 2.0).contains(&(other - y).abs());
            let choices: Vec<(f64, f64, Held)> = if taken.levels.iter().any(near) {
                let wide = self.right - self.left;
                let between = [0.25, 0.75].map(|part| (self.left + part * wide, Held::Middle));
                let along = sides.into_iter().chain(between);
                along.map(|(x, held)| (x, y + 5.0, held)).collect()
            } else {
                let beside = |(x, held)| [(x, y - 5.0, held), (x, y + SIZE + 1.0, held)];
                sides.into_iter().flat_map(beside).collect()
            };
            self.write(picture, name, choices, taken, Some(y));
        }
    }

    /// Writes the labels of the contour lines, each on its own line or, if there is room, beside it, and on no other.
    /// Returns the indices of those for which there is no such place.
    pub(super) fn name_contours(
        &self,
        picture: &mut Picture,
        chart: &Chart,
        taken: &mut Taken,
    ) -> Vec<usize> {
        let placed = |contour: &Curve| -> Vec<Vec<(f64, f64)>> {
            let of_run = |run: Vec<_>| run.iter().map(|p| self.place(*p)).collect();
            let runs = runs(&contour.points, |p| self.at(*p)).into_iter();
            runs.map(of_run).collect()
        };
        let lines: Vec<Vec<Vec<(f64, f64)>>> = chart.contours.iter().map(placed).collect();
        let mut left_out = Vec::new();
        for (i, contour) in chart.contours.iter().enumerate() {
            let others = || {
                let others = lines.iter().enumerate().filter(|(k, _)| *k != i);
                others.flat_map(|(_, runs)| runs).flat_map(|r| r.windows(2))
            };
            let free = |(at, held, beside): &(Spot, Held, f64)| {
                let room = Room::of(&contour.name, at.0, at.1, *held);
                let wide = room.wider(*beside);
                let met = taken.names.iter().any(|name| name.meets(&room));
                room.inside(&self.room())
                    && !met
                    && !others().any(|ends| wide.crossed(ends[0], ends[1]))
            };
            match choices(&lines[i]).into_iter().find(free) {
                Some((at, held, _)) => {
                    taken.names.push(Room::of(&contour.name, at.0, at.1, held));
                    picture.rimmed(at, held, &contour.name);
                }
                None if lines[i].is_empty() => {}
                None => left_out.push(i),
            }
        }
        left_out
    }

    /// The area of the plot.
    fn room(&self) -> Room {
        Room {
            left: self.left,
            right: self.right,
            top: self.top,
            bottom: self.bottom,
        }
    }

    /// Draws the marks and writes the name of each on the side with the least overlap.
    pub(super) fn name_marks(&self, picture: &mut Picture, chart: &Chart, taken: &mut Taken) {
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
                (x + 8.0, y - 5.0, Held::Left),
                (x - 8.0, y - 5.0, Held::Right),
            ];
            self.write(picture, &mark.name, choices, taken, None);
        }
        // Curves beyond those with their own dash pattern are distinguished by markers.
        for (i, curve) in chart.curves.iter().enumerate().skip(DASHES.len()) {
            for (x, y) in spaced(curve, |p| self.at(p).map(|at| self.place(at))) {
                marker(picture, i, x, y);
            }
        }
    }

    /// Writes a name inside the plot, at the candidate position that overlaps the fewest names and, among equals, the
    /// fewest points of curves and lines other than the named one, at `own`. No horizontal line strikes it through.
    fn write(
        &self,
        picture: &mut Picture,
        name: &str,
        choices: impl IntoIterator<Item = (f64, f64, Held)>,
        taken: &mut Taken,
        own: Option<f64>,
    ) {
        if name.is_empty() {
            return;
        }
        if let Some((at, held, room)) = self.best(name, choices, taken, own) {
            if taken.crossing(&room).next().is_some() {
                let Room { left, right, .. } = room;
                let Room { top, bottom, .. } = room.letters();
                let size = (right - left, bottom - top);
                picture.rectangle((left, top), size, Look::filled("#ffffff"));
            }
            taken.names.push(room);
            picture.rimmed(at, held, name);
        } else {
            let line = shortened(name, self.right - self.left - 12.0);
            picture.rimmed((self.left + 6.0, self.top + SIZE + 2.0), Held::Left, &line);
        }
    }

    /// The candidate position inside the plot at which a name overlaps least, and the box that it then occupies.
    fn best(
        &self,
        name: &str,
        choices: impl IntoIterator<Item = (f64, f64, Held)>,
        taken: &Taken,
        own: Option<f64>,
    ) -> Option<((f64, f64), Held, Room)> {
        let plot = self.room();
        let inside = choices
            .into_iter()
            .map(|(x, y, held)| ((x, y), held, Room::of(name, x, y, held)))
            .filter(|c| c.2.inside(&plot));
        inside.min_by_key(|c| taken.met(&c.2, own))
    }
}

/// Points along a line, at most [`APART`] apart.
fn dense(line: &[Spot]) -> Vec<Spot> {
    let between = |ends: &[Spot]| {
        let ((x, y), (to_x, to_y)) = (ends[0], ends[1]);
        let steps = ((to_x - x).hypot(to_y - y) / APART).ceil().max(1.0);
        (0..steps as usize).map(move |i| {
            let part = i as f64 / steps;
            (x + part * (to_x - x), y + part * (to_y - y))
        })
    };
    let inner = line.windows(2).flat_map(between);
    inner.chain(line.last().copied()).collect()
}

/// The places for the label of a contour line in order of preference, each with how far other lines must stay away from
/// it: on the line, the longest piece and its middle first; then beside it.
fn choices(pieces: &[Vec<Spot>]) -> Vec<(Spot, Held, f64)> {
    let mut pieces: Vec<Vec<Spot>> = pieces.iter().map(|piece| dense(piece)).collect();
    pieces.sort_by_key(|piece| std::cmp::Reverse(piece.len()));
    let spots = |piece: &Vec<Spot>| {
        let (middle, count) = (piece.len() / 2, piece.len());
        let turn = |k: usize| {
            middle.checked_add_signed(match k % 2 {
                0 => (k / 2) as isize,
                _ => -((k / 2 + 1) as isize),
            })
        };
        let order = (0..=count).filter_map(turn).filter(|k| *k < count);
        order.map(|k| piece[k]).collect::<Vec<Spot>>()
    };
    let along: Vec<Spot> = pieces.iter().flat_map(spots).collect();
    let at = |across: f64, down: f64, held: Held, beside: f64| {
        let place = move |(x, y): &Spot| ((x + across, y + down), held, beside);
        along.iter().map(place).collect::<Vec<_>>()
    };
    [
        at(0.0, 5.0, Held::Middle, 0.0),
        at(0.0, -5.0, Held::Middle, CLEAR),
        at(0.0, SIZE + 1.0, Held::Middle, CLEAR),
        at(5.0, 5.0, Held::Left, CLEAR),
        at(-5.0, 5.0, Held::Right, CLEAR),
    ]
    .concat()
}

/// A name, shortened if it is wider than `room`.
fn shortened(name: &str, room: f64) -> String {
    if width(name, SIZE) <= room {
        return name.to_owned();
    }
    let start = lines(name, letters(room, SIZE).saturating_sub(1))
        .into_iter()
        .next();
    start.unwrap_or_default() + "…"
}

/// About eight evenly spaced points of a curve.
fn spaced(curve: &Curve, at: impl Fn((f64, f64)) -> Option<(f64, f64)>) -> Vec<(f64, f64)> {
    let points: Vec<(f64, f64)> = curve.points.iter().filter_map(|p| at(*p)).collect();
    let every = points.len().div_ceil(8).max(1);
    points.into_iter().skip(every / 2).step_by(every).collect()
}

/// Draws the symbol of a single point.
fn diamond(picture: &mut Picture, x: f64, y: f64) {
    let corners = [(x, y - 6.0), (x + 6.0, y), (x, y + 6.0), (x - 6.0, y)];
    picture.shape(&corners, Look::line("#ffffff", 1.5).inside("#000000"));
}
