//! Cross-section of American wire gauges: ASTM B258.

use super::Bound;
use crate::numeric::Real;
use std::f64::consts::PI;

/// Range in which the equation is used.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "n",
    low: 0.0,
    high: 40.0,
    unit: "1",
}];

/// Cross-sectional area of a wire of a given gauge, m².
///
/// **Equation.** `A = π/4 d²`, `d = 0.127 mm · 92^((36 − n)/39)`.
///
/// **Symbols.** `gauge` n, the gauge number; d, diameter of a solid wire.
///
/// **Range.** Solid round wires; a stranded wire of the same gauge has about the same copper cross-section.
///
/// **Source.** ASTM B258; the equation is quoted from memory and compared with published wire tables.
///
/// Easily confused: a higher gauge number means a thinner wire.
///
/// ```
/// use oilwheel::law::wire_gauge_astm_b258::area;
/// // By hand: gauge 36 is 0.127 mm across by definition.
/// assert!((area(36.0_f64) - std::f64::consts::FRAC_PI_4 * 0.127e-3 * 0.127e-3).abs() < 1e-15);
/// ```
pub fn area<N: Real>(gauge: N) -> N {
    let diameter = ((-gauge + 36.0) / 39.0 * 92_f64.ln()).exp() * 0.127e-3;
    diameter * diameter * (0.25 * PI)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        check::derivative(area, 12.0);
    }
}
