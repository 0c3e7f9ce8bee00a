//! Resistance of a vehicle at a steady speed: rolling resistance, grade resistance and air drag.

use super::Bound;
use crate::numeric::Real;

/// Range in which the equation is used.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "V",
        low: 0.0,
        high: 60.0,
        unit: "m/s",
    },
    Bound {
        symbol: "i",
        low: -0.4,
        high: 0.4,
        unit: "1",
    },
];

/// Standard gravity, m/s².
pub const GRAVITY: f64 = 9.80665;

/// Driving force at the wheels needed to keep a steady speed, N; negative if the vehicle would accelerate downhill.
///
/// **Equation.** `F = m g (f cos α + sin α) + ½ ρ A V²`, `tan α = i`.
///
/// **Symbols.** `mass` m, kg; `rolling` f, coefficient of rolling resistance; `grade` i, rise over run; α slope angle;
/// g standard gravity; `rho` ρ, air density, kg/m³; `drag_area` A, drag coefficient times frontal area, m²; `speed` V,
/// m/s.
///
/// **Range.** Still air and a straight road.
///
/// **Source.** Balance of forces, as in any textbook on vehicle dynamics (such as T. D. Gillespie, Fundamentals of
/// Vehicle Dynamics, SAE 1992, chapter 4).
///
/// Easily confused: a grade of 100 % is 45°; the drag area already includes the drag coefficient.
///
/// ```
/// use oilwheel::law::road_load_steady::force;
/// // By hand: 1000 kg on a flat road at rest, f = 0.01: 98.07 N.
/// assert!((force(1000.0_f64, 0.01, 0.0, 1.2, 1.0, 0.0) - 98.0665).abs() < 1e-9);
/// ```
pub fn force<N: Real>(mass: N, rolling: N, grade: N, rho: N, drag_area: N, speed: N) -> N {
    let slant = (grade * grade + 1.0).sqrt();
    mass * (rolling + grade) / slant * GRAVITY + rho * drag_area * speed * speed.abs() * 0.5
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        let f = |v, i| force(2500.0.into(), 0.01.into(), i, 1.2.into(), 1.3.into(), v);
        check::derivative(|v| f(v, 0.05.into()), 20.0);
        check::derivative(|i| f(20.0.into(), i), 0.05);
    }
}
