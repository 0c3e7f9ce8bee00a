//! Draws the symbols that several elements have in common.

use super::{Drawing, OUTLINE};
use crate::report::svg::{INK, Look};

impl<'a> Drawing<'a> {
    pub(super) fn diamond(&mut self, x: f64, y: f64, look: Look) {
        self.picture.shape(
            &[(x - 24.0, y), (x, y - 24.0), (x + 24.0, y), (x, y + 24.0)],
            look,
        );
    }

    pub(super) fn small_diamond(&mut self, x: f64, y: f64, look: Look) {
        self.picture.shape(
            &[(x - 15.0, y), (x, y - 15.0), (x + 15.0, y), (x, y + 15.0)],
            look,
        );
    }

    /// Draws the symbol for a line that ends in the reservoir.
    pub(super) fn tank(&mut self, x: f64, y: f64) {
        let corners = [
            (x - 13.0, y),
            (x - 13.0, y + 14.0),
            (x + 13.0, y + 14.0),
            (x + 13.0, y),
        ];
        self.picture.path(&corners, Look::line(INK, OUTLINE));
    }

    /// Draws a junction of lines.
    pub(super) fn dot(&mut self, x: f64, y: f64) {
        self.picture.circle((x, y), 4.5, Look::filled(INK));
    }

    /// Draws a rotating shaft as a double line.
    pub(super) fn shaft(&mut self, from: f64, to: f64, y: f64) {
        for side in [-2.5, 2.5] {
            self.picture
                .path(&[(from, y + side), (to, y + side)], Look::line(INK, 1.2));
        }
    }

    /// Draws an arrowhead that shows the flow direction of a line.
    pub(super) fn arrow(&mut self, (x, y): (f64, f64), way: Way) {
        self.triangle(way.ahead((x, y), 6.0), way, 11.0);
    }

    /// Draws a filled triangle with its tip at a point.
    pub(super) fn triangle(&mut self, tip: (f64, f64), way: Way, size: f64) {
        let back = way.ahead(tip, -size);
        let half = size * 0.55;
        let (left, right) = match way {
            Way::Up | Way::Down => ((back.0 - half, back.1), (back.0 + half, back.1)),
            Way::Left | Way::Right => ((back.0, back.1 - half), (back.0, back.1 + half)),
        };
        self.picture.shape(&[tip, left, right], Look::filled(INK));
    }

    /// Draws an arrow across a symbol, which means that the element is adjustable.
    pub(super) fn slanted_arrow(&mut self, from: (f64, f64), to: (f64, f64)) {
        self.picture.path(&[from, to], Look::line(INK, 1.3));
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let long = dx.hypot(dy);
        let (dx, dy) = (dx / long, dy / long);
        let at = |along: f64, aside: f64| {
            (
                to.0 + along * dx - aside * dy,
                to.1 + along * dy + aside * dx,
            )
        };
        self.picture
            .shape(&[to, at(-8.0, 3.2), at(-8.0, -3.2)], Look::filled(INK));
    }
}

/// A direction in the picture.
#[derive(Clone, Copy)]
pub(super) enum Way {
    Up,
    Down,
    Left,
    Right,
}

impl Way {
    /// The point at a distance `by` from another in this direction.
    fn ahead(self, (x, y): (f64, f64), by: f64) -> (f64, f64) {
        match self {
            Way::Up => (x, y - by),
            Way::Down => (x, y + by),
            Way::Left => (x - by, y),
            Way::Right => (x + by, y),
        }
    }
}
