//! Heat capacity of air at constant pressure.

use super::Bound;
use crate::numeric::Real;

/// Range in which the polynomial is accurate to 0.25 %.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "T",
    low: 233.15,
    high: 433.15,
    unit: "K",
}];

/// Specific heat capacity of dry air, J/(kg·K).
///
/// **Equation.** `c = R (3.653 − 1.337·10⁻³ T + 3.294·10⁻⁶ T² − 1.913·10⁻⁹ T³ + 0.2763·10⁻¹² T⁴)`, R = 287.05 J/(kg·K).
///
/// **Symbols.** `t` temperature T, K.
///
/// **Range.** Fitted for 300 to 1000 K; accurate down to −40 °C. The heat capacity of moist air is up to 4 % higher.
///
/// **Source.** K. Wark, Thermodynamics, 4th edition 1983, ideal-gas heat capacities; coefficients quoted from memory
/// and checked against an equation of state.
///
/// ```
/// use oilwheel::law::air_heat_capacity_wark_1983::heat_capacity;
/// // 27 °C, any table: 1.005 to 1.007 kJ/(kg K).
/// assert!((heat_capacity(300.0_f64) - 1006.0).abs() < 2.0);
/// ```
pub fn heat_capacity<N: Real>(t: N) -> N {
    let poly = t * (t * (t * (t * 0.2763e-12 - 1.913e-9) + 3.294e-6) - 1.337e-3) + 3.653;
    poly * 287.05
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        check::derivative(heat_capacity, 320.0);
    }
}
