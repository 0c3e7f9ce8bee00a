//! Contour lines over a grid by marching squares. In a saddle, the mean of the cell's corners decides which edges
//! connect.

use std::collections::HashMap;

/// A line through points.
pub type Polyline = Vec<(f64, f64)>;

/// An edge of the grid: its first corner, and whether it runs along the second axis (otherwise the first).
type Edge = (usize, usize, bool);

/// Values over a grid: `value(i, j)` at `x[i]`, `y[j]`; NaN marks a missing value.
pub struct Field<'a> {
    /// Coordinates along the first axis, ascending or descending.
    pub x: &'a [f64],
    /// Coordinates along the second axis.
    pub y: &'a [f64],
    /// The values row by row: the index of the first axis runs fastest.
    pub values: &'a [f64],
}

impl Field<'_> {
    fn value(&self, i: usize, j: usize) -> f64 {
        self.values
            .get(j * self.x.len() + i)
            .copied()
            .unwrap_or(f64::NAN)
    }

    /// Position at which a level crosses an edge.
    fn crossing(&self, (i, j, up): Edge, level: f64) -> (f64, f64) {
        let (k, l) = if up { (i, j + 1) } else { (i + 1, j) };
        let (a, b) = (self.value(i, j), self.value(k, l));
        let part = ((level - a) / (b - a)).clamp(0.0, 1.0);
        let between = |from: f64, to: f64| from + (to - from) * part;
        (between(self.x[i], self.x[k]), between(self.y[j], self.y[l]))
    }

    /// The pairs of edges that the contour line of a level connects within a cell.
    fn joined(&self, i: usize, j: usize, level: f64) -> Vec<(Edge, Edge)> {
        let corners = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)];
        let values = corners.map(|(i, j)| self.value(i, j));
        if values.iter().any(|v| !v.is_finite()) {
            return Vec::new();
        }
        let above = values.map(|v| v >= level);
        // The edges around the cell; the k-th leads from corner k to the next.
        let edges = [
            (i, j, false),
            (i + 1, j, true),
            (i, j + 1, false),
            (i, j, true),
        ];
        let crossed: Vec<usize> = (0..4)
            .filter(|k| above[*k] != above[(*k + 1) % 4])
            .collect();
        match crossed[..] {
            [a, b] => vec![(edges[a], edges[b])],
            [_, _, _, _] => {
                let middle = values.iter().sum::<f64>() / 4.0 >= level;
                if middle == above[0] {
                    vec![(edges[0], edges[1]), (edges[2], edges[3])]
                } else {
                    vec![(edges[3], edges[0]), (edges[1], edges[2])]
                }
            }
            _ => Vec::new(),
        }
    }

    /// The contour lines of a level; a closed line ends where it begins.
    pub fn lines(&self, level: f64) -> Vec<Polyline> {
        let mut beside: HashMap<Edge, Vec<Edge>> = HashMap::new();
        let mut order = Vec::new();
        for j in 1..self.y.len() {
            for i in 1..self.x.len() {
                for (a, b) in self.joined(i - 1, j - 1, level) {
                    beside.entry(a).or_default().push(b);
                    beside.entry(b).or_default().push(a);
                    order.extend([a, b]);
                }
            }
        }
        // Open lines from their ends, then closed lines.
        let ends = order
            .iter()
            .filter(|e| beside.get(e).is_some_and(|b| b.len() == 1));
        let starts: Vec<Edge> = ends.chain(&order).copied().collect();
        let mut lines = Vec::new();
        for start in starts {
            let mut line = vec![self.crossing(start, level)];
            let mut at = start;
            while let Some(next) = beside.get_mut(&at).and_then(Vec::pop) {
                if let Some(back) = beside.get_mut(&next) {
                    let same = back.iter().position(|e| *e == at);
                    same.map(|k| back.swap_remove(k));
                }
                line.push(self.crossing(next, level));
                at = next;
            }
            if line.len() > 1 {
                lines.push(line);
            }
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vary::sweep::values;

    fn over(count: usize, f: impl Fn(f64, f64) -> f64) -> (Vec<f64>, Vec<f64>) {
        let axis = values(-2.0, 2.0, count, false);
        let found = axis
            .iter()
            .flat_map(|y| axis.iter().map(|x| f(*x, *y)).collect::<Vec<_>>());
        let found = found.collect();
        (axis, found)
    }

    /// For x² + y² at 1, a circle: one closed line, each point within the grid error of the radius, with the length of
    /// a circle. The tolerance, set before the first run, is h²/8, the distance between a chord and the circle for grid
    /// size h.
    #[test]
    fn a_circle_is_one_closed_line() {
        let (axis, values) = over(81, |x, y| x * x + y * y);
        let field = Field {
            x: &axis,
            y: &axis,
            values: &values,
        };
        let lines = field.lines(1.0);
        assert_eq!(lines.len(), 1);
        let line = &lines[0];
        assert_eq!(line.first(), line.last());
        assert!(
            line.iter()
                .all(|p| (p.0.hypot(p.1) - 1.0).abs() < 0.05 * 0.05 / 8.0 * 1.01)
        );
        let long: f64 = line
            .windows(2)
            .map(|p| (p[1].0 - p[0].0).hypot(p[1].1 - p[0].1))
            .sum();
        assert!(
            (long / (2.0 * std::f64::consts::PI) - 1.0).abs() < 1e-3,
            "{long}"
        );
    }

    #[test]
    fn a_plane_gives_a_straight_line_and_a_hole_breaks_it() {
        let (axis, mut values) = over(5, |x, y| x + y);
        let field = Field {
            x: &axis,
            y: &axis,
            values: &values,
        };
        let lines = field.lines(0.5);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].iter().all(|p| (p.0 + p.1 - 0.5).abs() < 1e-12));
        values[12] = f64::NAN;
        let field = Field {
            x: &axis,
            y: &axis,
            values: &values,
        };
        assert_eq!(field.lines(0.5).len(), 2);
        assert!(field.lines(9.0).is_empty());
    }

    /// For x·y at a small level: two branches, which a saddle must not join.
    #[test]
    fn a_saddle_has_two_branches() {
        let (axis, values) = over(4, |x, y| x * y);
        let field = Field {
            x: &axis,
            y: &axis,
            values: &values,
        };
        for level in [0.1, -0.1] {
            let lines = field.lines(level);
            assert_eq!(lines.len(), 2, "{level}");
            let signs =
                |line: &Polyline| line.iter().all(|p| p.0 > 0.0) || line.iter().all(|p| p.0 < 0.0);
            assert!(lines.iter().all(signs), "{lines:?}");
        }
    }
}
