//! A sweep of two inputs: the states and the contour lines of the output.

use super::{Along, At, Found, Given, Row, Second, Sweep};
use crate::balance::NoSteadyState;
use crate::model::Setup;
use crate::outcome;
use crate::trouble::Trouble;
use crate::vary::contour::{Field, Polyline};
use rayon::prelude::*;

/// Approximate number of contour levels.
const LEVELS: f64 = 9.0;

outcome! {
    /// The contour lines at one level.
    pub struct Contour {
        /// Value of the output along the line, in the unit of the output's key.
        level: f64,
    }
    beside {
        /// Value of the output along the line, in the printed unit.
        shown: f64,
        /// The lines at this level, with coordinates in the printed units.
        lines: Vec<Polyline>,
    }
}

impl Sweep {
    /// Sweeps two inputs.
    pub(super) fn over_two(&self, side: &Setup, second: Along) -> Result<Found, Trouble> {
        let (units, kind) = (self.setup.units, self.output.kind());
        self.setup.stop.expect(second.steps);
        let lines: Result<Vec<Line>, Trouble> = second
            .values()
            .par_iter()
            .map(|y| self.line(side, second, *y))
            .collect();
        let (mut found, mut values) = (Found::default(), Vec::new());
        for line in lines? {
            values.extend(line.values);
            found.series.extend(line.rows);
            found.heats.extend(line.heats);
        }
        let shown = |along: &Along| {
            let kind = along.kind();
            let values = along.values().into_iter();
            values.map(|v| units.number(kind, v)).collect::<Vec<f64>>()
        };
        let (x, y) = (shown(&self.along), shown(&second));
        let field = Field {
            x: &x,
            y: &y,
            values: &values,
        };
        let file = |shown: f64| {
            // Converts from the printed unit to that of the key.
            let (a, b) = (units.number(kind, 1.0), kind.to_json(1.0));
            let (a_0, b_0) = (units.number(kind, 0.0), kind.to_json(0.0));
            (shown - a_0) / (a - a_0) * (b - b_0) + b_0
        };
        let contours = levels(&values).into_iter().map(|shown| Contour {
            level: file(shown),
            shown,
            lines: field.lines(shown),
        });
        found.contours = contours.filter(|c| !c.lines.is_empty()).collect();
        Ok(found)
    }

    /// The states along the first axis at a value of the second.
    fn line(&self, side: &Setup, second: Along, y: f64) -> Result<Line, Trouble> {
        self.setup.stop.check()?;
        let (units, kind) = (self.setup.units, self.output.kind());
        let place = Second(Some(At {
            along: second,
            value: y,
        }));
        let mut line = Line::default();
        for found in self.along(&second.on(&side.case, y))? {
            let value = match found {
                Some(Ok(spot)) => spot.value,
                _ => f64::NAN,
            };
            line.values.push(units.number(kind, value));
            match found {
                Some(Ok(spot)) => {
                    let given = Given {
                        output: self.output,
                        value,
                        band: None,
                        difference: None,
                    };
                    line.rows.push(self.row(side, &spot, place, given));
                }
                Some(Err(heats)) => line.heats.push(heats),
                None => {}
            }
        }
        Ok(line)
    }
}

/// The states along the first axis at one value of the second.
#[derive(Default)]
struct Line {
    /// The output at each value, in the printed unit; NaN where there is no state.
    values: Vec<f64>,
    rows: Vec<Row>,
    heats: Vec<(f64, NoSteadyState)>,
}

/// Round levels between the minimum and the maximum of the given values.
fn levels(values: &[f64]) -> Vec<f64> {
    let finite = values.iter().copied().filter(|v| v.is_finite());
    let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
        (a.min(v), b.max(v))
    });
    let span = high - low;
    if span.is_nan() || span <= 1e-9 * high.abs().max(low.abs()) {
        return Vec::new();
    }
    let size = 10_f64.powf((span / LEVELS).log10().floor());
    let round = [1.0, 2.0, 5.0, 10.0].map(|k| k * size);
    let step = round
        .into_iter()
        .find(|step| span / step <= LEVELS)
        .unwrap_or(span);
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    // Levels must be slightly inside the range, because there is no contour line at its very ends.
    let inside = |v: &f64| *v > low + 1e-6 * span && *v < high - 1e-6 * span;
    (first..=last)
        .map(|k| k as f64 * step)
        .filter(inside)
        .collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn levels_are_round_and_inside() {
        assert_eq!(super::levels(&[0.0, 10.0, f64::NAN]), [2.0, 4.0, 6.0, 8.0]);
        assert_eq!(super::levels(&[612.0, 2380.0]).first(), Some(&800.0));
        assert!(super::levels(&[3.0, 3.0]).is_empty() && super::levels(&[]).is_empty());
    }
}
