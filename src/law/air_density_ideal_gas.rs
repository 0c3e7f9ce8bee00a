//! Density of dry air from the ideal gas law.

use super::Bound;
use crate::numeric::Real;

/// Range in which the law is accurate to 0.15 %.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "p",
        low: 40e3,
        high: 110e3,
        unit: "Pa",
    },
    Bound {
        symbol: "T",
        low: 233.15,
        high: 433.15,
        unit: "K",
    },
];

/// Specific gas constant of dry air according to ISO 2533, J/(kg·K).
pub const GAS_CONSTANT: f64 = 287.05287;

/// Density of dry air.
///
/// **Equation.** `ρ = p/(R T)`, R = 287.05287 J/(kg·K).
///
/// **Symbols.** `p` pressure, Pa *absolute*; `t` temperature, K. Returns kg/m³.
///
/// **Range.** Air near the ground. The density of moist air at 40 °C is up to 3 % lower.
///
/// **Source.** ISO 2533:1975, Standard Atmosphere, for R.
///
/// Easily confused: `p` is the absolute pressure at the fan, whereas a weather report gives the pressure reduced to sea
/// level.
///
/// ```
/// use oilwheel::law::air_density_ideal_gas::density;
/// // The standard atmosphere at sea level: 1.225 kg/m³.
/// assert!((density(101_325.0_f64, 288.15) - 1.225).abs() < 5e-6);
/// ```
pub fn density<N: Real>(p: N, t: N) -> N {
    p / (t * GAS_CONSTANT)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        check::derivative(|t| density(1e5.into(), t), 300.0);
        check::derivative(|p| density(p, 300.0.into()), 1e5);
    }
}
