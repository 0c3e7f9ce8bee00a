//! Dynamic viscosity versus pressure: Barus 1893.

use super::Bound;
use crate::numeric::Over;

/// Valid range of the equation.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "β",
        low: 10e-9,
        high: 42e-9,
        unit: "1/Pa",
    },
    Bound {
        symbol: "p",
        low: 0.0,
        high: MOST,
        unit: "Pa",
    },
];

/// Pressure limit, Pa. Above it the exponential deviates from measurements on oils, so the pressure is clamped.
pub const MOST: f64 = 100e6;

/// Dynamic viscosity under pressure.
///
/// **Equation.** `μ = μ0 exp(β p)`, with p limited to 100 MPa.
///
/// **Symbols.** `mu0` dynamic viscosity at zero gauge pressure, Pa·s; `beta` pressure-viscosity coefficient, 1/Pa,
/// about 18·10⁻⁹ for a mineral oil; `p` gauge pressure, Pa. Returns Pa·s.
///
/// **Range.** 0 to 100 MPa.
///
/// **Source.** C. Barus, Isothermals, isopiestics and isometrics relative to viscosity, American Journal of Science 45,
/// 1893, pages 87 to 96.
///
/// Easily confused: β is for the natural exponential (base e) and for the dynamic, not the kinematic, viscosity.
///
/// ```
/// use oilwheel::law::dynamic_viscosity_barus_1893::dynamic_viscosity;
/// // By hand: 20·10⁻⁹ /Pa at 50 MPa is e¹.
/// let mu = dynamic_viscosity(0.010_f64, 20e-9, 50e6);
/// assert!((mu - 0.02718282).abs() < 1e-8);
/// ```
pub fn dynamic_viscosity<C, N: Over<C>>(mu0: C, beta: C, p: N) -> N {
    let p = if p.re() > MOST { N::from(MOST) } else { p };
    (p * beta).exp() * mu0
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::numeric::Dual64;

    #[test]
    fn is_held_above_the_greatest_pressure() {
        // e² = 7.389056.
        assert!((dynamic_viscosity(1.0_f64, 20e-9, 100e6) - 7.389056).abs() < 1e-6);
        assert!((dynamic_viscosity(1.0_f64, 20e-9, 900e6) - 7.389056).abs() < 1e-6);
    }

    #[test]
    fn derivatives() {
        check::derivative(|p| dynamic_viscosity(0.01, 18e-9, p), 12e6);
        check::derivative(
            |b| dynamic_viscosity(0.01.into(), b, Dual64::from(12e6)),
            18e-9,
        );
    }
}
