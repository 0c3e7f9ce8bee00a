//! Laminar leakage of a pump or motor: Wilson 1950.

use super::Bound;
use crate::numeric::{Over, Real};

/// Range of published coefficients.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "Cs",
        low: 1e-9,
        high: 2e-7,
        unit: "1",
    },
    Bound {
        symbol: "V",
        low: 1e-7,
        high: 2e-4,
        unit: "m³/rad",
    },
    Bound {
        symbol: "Δp",
        low: -40e6,
        high: 40e6,
        unit: "Pa",
    },
    Bound {
        symbol: "μ",
        low: 1e-3,
        high: 10.0,
        unit: "Pa·s",
    },
];

/// Laminar leakage through the clearances of a pump or motor.
///
/// **Equation.** `Q = Cs V Δp/μ`.
///
/// **Symbols.** `cs` laminar leakage coefficient, no unit; `v` displacement, m³/rad; `dp` pressure difference, Pa; `mu`
/// dynamic viscosity in the clearance, Pa·s. Returns m³/s, with the sign of Δp.
///
/// **Range.** Laminar flow in the clearances; published values of Cs are 2·10⁻⁹ (piston) to 10⁻⁷ (internal gear).
///
/// **Source.** W. E. Wilson, Positive-Displacement Pumps and Fluid Motors, Pitman 1950; quoted from secondary sources.
///
/// Easily confused: V is the displacement per *radian*. With the displacement per revolution, Cs would be smaller by a
/// factor of 2π.
///
/// ```
/// use oilwheel::law::leakage_wilson_1950::laminar;
/// // By hand: 5·10⁻⁸ · 2·10⁻⁶ · 10⁷ / 0.01.
/// assert!((laminar(5e-8_f64, 2e-6, 1e7, 0.01) - 1e-4).abs() < 1e-12);
/// ```
pub fn laminar<C: Real, N: Over<C>>(cs: C, v: C, dp: N, mu: N) -> N {
    dp * (cs * v) / mu
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        check::derivative(|mu| laminar(5e-8, 2e-6, 1e7.into(), mu), 0.01);
        check::derivative(|dp| laminar(5e-8, 2e-6, dp, 0.01.into()), 1e7);
    }
}
