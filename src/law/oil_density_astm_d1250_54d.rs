//! Density of a lubricating oil versus temperature: ASTM D1250 table 54D.
//!
//! A second method, used to check the linear equation.

use super::Bound;

/// Valid range of the table.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "ρ15",
        low: 800.0,
        high: 1164.0,
        unit: "kg/m³",
    },
    Bound {
        symbol: "T",
        low: 253.15,
        high: 423.15,
        unit: "K",
    },
];

/// Density of the oil at the temperature `t`.
///
/// **Equation.** `ρ = ρ15 exp(−α ΔT (1 + 0.8 α ΔT))`, `α = 0.6278/ρ15`, `ΔT = T − 288.15`.
///
/// **Symbols.** `rho15` density at 15 °C, kg/m³; `t` temperature, K. Returns kg/m³.
///
/// **Range.** Lubricating oils of 800 to 1164 kg/m³, −20 to 150 °C.
///
/// **Source.** ASTM D1250 (also ISO 91), Petroleum Measurement Tables, table 54D, generalised lubricating oils.
///
/// Easily confused: tables 54A (crude oils) and 54B (fuels) have different constants.
///
/// ```
/// use oilwheel::law::oil_density_astm_d1250_54d::density;
/// // By hand: at 627.8 kg/m³ α is 10⁻³, and 100 K make exp(−0.108) = 0.8976276.
/// assert!((density(627.8, 388.15) / 627.8 - 0.8976276).abs() < 1e-7);
/// ```
pub fn density(rho15: f64, t: f64) -> f64 {
    let x = 0.6278 / rho15 * (t - 288.15);
    rho15 * (-x * (1.0 + 0.8 * x)).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn at_15_degrees_nothing_changes() {
        assert!((density(870.0, 288.15) - 870.0).abs() < 1e-12);
    }
}
