//! A fan's pressure and torque versus flow and speed: a quadratic form that obeys the fan laws.
//!
//! The form remains well-behaved at standstill and when ram air drives the fan.

use super::Bound;
use crate::numeric::{Over, Real};

/// Range of use of speed and flow, both relative to the rating point.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "n/n0",
        low: 0.0,
        high: 2.0,
        unit: "1",
    },
    Bound {
        symbol: "Q/Q0",
        low: -0.5,
        high: 2.0,
        unit: "1",
    },
];

/// Fan pressure or torque relative to the rating point, at the air density of the rating point.
///
/// **Equation.** `y = c0 n² + c1 n q + c2 q|q|`, `c2 = 1 − c0 − c1`, so that y = 1 where n = q = 1.
///
/// **Symbols.** `shut` c0, pressure or torque at zero flow and rated speed, relative to the rating point; `slope` c1;
/// `speed` n and `flow` q, relative to the rating point. No units; pressure and torque are proportional to air density.
///
/// **Range.** A single fan. Near stall a real fan curve is not a parabola: a fit to the whole curve has an error of 5
/// to 10 % there.
///
/// **Source.** The fan laws (ISO 5801) with a second-degree polynomial in the flow coefficient, as is usual for fan
/// curves; q|q| instead of q² for reverse flow *(engineering assumption)*.
///
/// Easily confused: this is the static pressure of the fan; losses of a duct downstream are not included.
///
/// ```
/// use oilwheel::law::fan_curve_quadratic::over_rating;
/// // By hand: shut off at half speed, a quarter of c0.
/// assert!((over_rating(1.6_f64, 0.2, 0.5, 0.0) - 0.4).abs() < 1e-12);
/// ```
pub fn over_rating<C: Real, N: Over<C>>(shut: C, slope: C, speed: N, flow: N) -> N {
    let rest = C::from(1.0) - shut - slope;
    speed * speed * shut + speed * flow * slope + flow * flow.abs() * rest
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::numeric::Dual64;

    #[test]
    fn derivatives() {
        let f = |n: Dual64, q: Dual64| over_rating(1.5, 0.3, n, q);
        check::derivative(|n| f(n, 0.7.into()), 0.6);
        check::derivative(|q| f(0.6.into(), q), 0.7);
        check::derivative(|q| f(0.6.into(), q), -0.7);
    }
}
