//! A fan's pressure and torque against flow and speed, in a form that obeys the fan laws and stays regular at a standstill and
//! when ram air drives the fan.

use super::Bound;
use crate::numeric::{Over, Real};

/// Where it is used, speed and flow over those of the rating point.
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

/// Pressure or torque over that of the rating point, at the rating's air density.
///
/// **Equation.** `y = c0 n² + c1 n q + c2 q|q|`, `c2 = 1 − c0 − c1`, so that y = 1 where n = q = 1.
///
/// **Symbols.** `shut` c0, pressure or torque with no flow over that of the rating point, at its speed; `slope` c1; `speed` n and
/// `flow` q over those of the rating point. No units; both results go with air density.
///
/// **Range.** One fan. Around a stall the fan's curve is not a parabola: a fit over the whole curve is off by 5 to 10 % there.
///
/// **Source.** The fan laws (ISO 5801) with a second-degree polynomial in the flow coefficient, as is usual for a fan's curve;
/// q|q| for flow that runs backwards *(judgment)*.
///
/// Easily confused: static pressure, with what the duct behind takes left out.
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
