//! Volume of oil with entrained free air versus pressure: the polytropic gas law.

use super::Bound;
use crate::numeric::Over;

/// Valid range of the law.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "x",
        low: 0.0,
        high: 0.3,
        unit: "1",
    },
    Bound {
        symbol: "p1",
        low: 10e3,
        high: 300e3,
        unit: "Pa",
    },
    Bound {
        symbol: "p",
        low: 10e3,
        high: 40e6,
        unit: "Pa",
    },
];

/// Polytropic exponent, between 1 (isothermal) and 1.4 (adiabatic); an engineering assumption.
pub const EXPONENT: f64 = 1.2;

/// Volume of oil with its free air at the pressure p, relative to its volume at the inlet.
///
/// **Equation.** `v = (1 − x) + x (p1/p)^(1/n)`, n = 1.2.
///
/// **Symbols.** `air` x, volume fraction of free air at the inlet; `p_inlet_abs` p1, inlet pressure, Pa *absolute*;
/// `p_abs` p, pressure, Pa absolute.
///
/// **Range.** x up to 0.3. The oil itself is assumed incompressible, and no air is assumed to dissolve during
/// compression.
///
/// **Source.** Polytropic change of an ideal gas, any thermodynamics textbook; the exponent is an engineering
/// assumption.
///
/// Easily confused: pressures are absolute, and the air fraction is stated at inlet pressure, not at atmospheric
/// pressure.
///
/// ```
/// use oilwheel::law::free_air_polytropic::liquid_share;
/// // By hand: 2^1.2 times the pressure halves the air: 0.9 + 0.1/2.
/// let v = liquid_share(0.1_f64, 100e3, 100e3 * 2.0_f64.powf(1.2));
/// assert!((v - 0.95).abs() < 1e-12);
/// ```
pub fn liquid_share<C, N: Over<C>>(air: C, p_inlet_abs: N, p_abs: N) -> N {
    ((p_inlet_abs / p_abs).powf(1.0 / EXPONENT) - 1.0) * air + 1.0
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::numeric::Dual64;

    #[test]
    fn without_air_or_pressure_nothing_shrinks() {
        assert!((liquid_share(0.0_f64, 100e3, 20e6) - 1.0).abs() < 1e-15);
        assert!((liquid_share(0.2_f64, 100e3, 100e3) - 1.0).abs() < 1e-15);
        // At very high pressure only the liquid volume remains.
        assert!((liquid_share(0.2_f64, 100e3, 1e15) - 0.8).abs() < 1e-8);
    }

    #[test]
    fn derivatives() {
        check::derivative(|p| liquid_share(0.1, 9e4.into(), p), 5e6);
        check::derivative(|x| liquid_share(x, 9e4.into(), Dual64::from(5e6)), 0.1);
    }
}
