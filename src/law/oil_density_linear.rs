//! Density of an oil versus temperature: the linear equation of handbooks.

use super::Bound;
use crate::numeric::Real;

/// Valid range of the equation.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "ρ15",
        low: 750.0,
        high: 1100.0,
        unit: "kg/m³",
    },
    Bound {
        symbol: "α",
        low: 5e-4,
        high: 9e-4,
        unit: "1/K",
    },
    Bound {
        symbol: "T",
        low: 233.15,
        high: 423.15,
        unit: "K",
    },
];

/// Density of the oil at the temperature `t`.
///
/// **Equation.** `ρ = ρ15 (1 − α (T − 288.15))`.
///
/// **Symbols.** `rho15` density at 15 °C, kg/m³; `expansion` α, thermal expansion, 1/K, about 7·10⁻⁴; `t` temperature,
/// K. Returns kg/m³.
///
/// **Range.** −40 to 150 °C; within 0.3 % of ASTM D1250 table 54D from −20 to 150 °C, with that table's α.
///
/// **Source.** Common practice in handbooks; no single source.
///
/// Easily confused: α refers to 15 °C, not to 0 or 20 °C, and is the volumetric expansion, not the linear expansion.
///
/// ```
/// use oilwheel::law::oil_density_linear::density;
/// // By hand: 85 K above 15 °C at 7·10⁻⁴ /K leaves 0.9405 of 870.
/// assert!((density(870.0_f64, 7e-4, 373.15) - 818.235).abs() < 1e-9);
/// ```
pub fn density<N: Real>(rho15: N, expansion: N, t: N) -> N {
    rho15 * (-(expansion * (t - 288.15)) + 1.0)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        check::derivative(|t| density(870.0.into(), 7e-4.into(), t), 300.0);
        check::derivative(|a| density(870.0.into(), a, 300.0.into()), 7e-4);
    }
}
