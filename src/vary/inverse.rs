//! The viscosities that would explain a measured fan speed without any other cause.

use super::sweep::{Step, sweep, values};
use crate::balance::solve_from;
use crate::input::Input;
use crate::model::Case;

/// Minimum and maximum viscosity considered, m²/s.
pub const SPAN: (f64, f64) = (1e-6, 2e-2);

/// Number of viscosities evaluated before the limits are located between them.
const GRID: usize = 240;

/// Viscosity of a case's oil at its temperature, m²/s, if the case's viscosity factor were 1.
pub fn base_viscosity(case: &Case) -> f64 {
    case.curve.viscosity(case.now.oil_temp)
}

/// States at logarithmically spaced viscosities, m²/s, at the case's temperature; `x` of each step is the viscosity.
pub fn over_viscosity(case: &Case, from: f64, to: f64, count: usize) -> Vec<Step> {
    let grid = values(from, to, count, true);
    over_viscosities(case, &grid)
        .into_iter()
        .flatten()
        .collect()
}

/// The state at each of the given viscosities, m²/s; `None` where the circuit has no operating point.
pub fn over_viscosities(case: &Case, viscosities: &[f64]) -> Vec<Option<Step>> {
    let base = base_viscosity(case);
    let grid: Vec<f64> = viscosities.iter().map(|nu| nu / base).collect();
    let steps = sweep(case, Input::OIL_THICKNESS, &grid).into_iter();
    steps
        .map(|step| step.map(|s| Step { x: s.x * base, ..s }))
        .collect()
}

/// The case with its oil's viscosity set to `nu`, m²/s, at the case's temperature.
pub fn at_viscosity(case: &Case, nu: f64) -> Case {
    case.with(Input::OIL_THICKNESS, nu / base_viscosity(case))
}

/// The intervals of viscosity, m²/s, in which the computed speed is within `low..=high` (rad/s).
pub fn viscosities(case: &Case, low: f64, high: f64) -> Vec<(f64, f64)> {
    let base = base_viscosity(case);
    let speed = |nu: f64| {
        solve_from(&case.with(Input::OIL_THICKNESS, nu / base), f64::NAN)
            .map_or(f64::NAN, |o| o.omega)
    };
    // Negative inside the interval: the distance from its middle minus the half-width.
    let outside = |v: f64| (v - 0.5 * (low + high)).abs() - 0.5 * (high - low);
    let steps = over_viscosity(case, SPAN.0, SPAN.1, GRID);
    let border = |mut a: f64, mut b: f64| {
        let inside_at_a = outside(speed(a)) <= 0.0;
        for _ in 0..60 {
            let middle = (a * b).sqrt();
            if (outside(speed(middle)) <= 0.0) == inside_at_a {
                a = middle
            } else {
                b = middle
            }
        }
        (a * b).sqrt()
    };
    // A very narrow interval may lie between two neighbouring points that are both outside it.
    let middle = 0.5 * (low + high);
    let mut found: Vec<(f64, f64)> = Vec::new();
    let mut open: Option<f64> = None;
    for pair in steps.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        let (va, vb) = (a.state.fan_speed, b.state.fan_speed);
        let (in_a, in_b) = (outside(va) <= 0.0, outside(vb) <= 0.0);
        if in_a && open.is_none() {
            open = Some(a.x);
        }
        match (in_a, in_b) {
            (false, true) => open = Some(border(a.x, b.x)),
            (true, false) => {
                if let Some(from) = open.take() {
                    found.push((from, border(a.x, b.x)));
                }
            }
            (false, false) if (va - middle) * (vb - middle) < 0.0 => {
                let cross = crossing(&speed, a.x, b.x, middle);
                found.push((border(a.x, cross), border(cross, b.x)));
            }
            _ => {}
        }
    }
    if let (Some(from), Some(last)) = (open, steps.last()) {
        found.push((from, last.x));
    }
    found
}

/// The viscosity between two given ones at which the speed crosses a value.
fn crossing(speed: &impl Fn(f64) -> f64, mut a: f64, mut b: f64, value: f64) -> f64 {
    let above = speed(a) > value;
    for _ in 0..60 {
        let middle = (a * b).sqrt();
        if (speed(middle) > value) == above {
            a = middle
        } else {
            b = middle
        }
    }
    (a * b).sqrt()
}
