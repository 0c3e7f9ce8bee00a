//! Flow through an orifice: the orifice equation, Merritt 1967.

use super::Bound;
use crate::numeric::{Over, Real};

/// Range in which the equation is used.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "Cd",
        low: 0.0,
        high: 1.0,
        unit: "1",
    },
    Bound {
        symbol: "A",
        low: 1e-8,
        high: 1e-3,
        unit: "m²",
    },
    Bound {
        symbol: "Δp",
        low: -40e6,
        high: 40e6,
        unit: "Pa",
    },
    Bound {
        symbol: "ρ",
        low: 700.0,
        high: 1100.0,
        unit: "kg/m³",
    },
];

/// Flow through an orifice.
///
/// **Equation.** `Q = Cd A √(2 Δp/ρ)`, odd in Δp.
///
/// **Symbols.** `cd` discharge coefficient; `area` A, cross-section of the hole, m²; `dp` pressure difference, Pa;
/// `rho` density, kg/m³. Returns m³/s.
///
/// **Range.** An orifice small compared with its pipe. At Δp = 0, where the slope of the square root is infinite, the
/// function returns zero flow with a zero derivative.
///
/// **Source.** H. E. Merritt, Hydraulic Control Systems, Wiley 1967, section 3.3.
///
/// Easily confused: Cd includes the contraction of the jet, so A is the area of the hole, not of the jet.
///
/// ```
/// use oilwheel::law::orifice_flow_merritt_1967::flow;
/// // By hand: √(2 · 4.3 MPa / 860 kg/m³) = 100 m/s through 10 mm² at 0.61.
/// assert!((flow(0.61_f64, 1e-5, 4.3e6, 860.0) - 6.1e-4).abs() < 1e-12);
/// ```
pub fn flow<C: Real, N: Over<C>>(cd: C, area: C, dp: N, rho: C) -> N {
    if dp.is_zero() {
        return N::from(0.0);
    }
    (dp.abs() * (rho.recip() * 2.0)).sqrt() * (cd * area) * dp.signum()
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::numeric::Dual64;

    #[test]
    fn is_odd_and_harmless_at_no_pressure() {
        let q = |dp: Dual64| flow(0.61, 1e-5, dp, 860.0);
        assert!((q(4.3e6.into()) + q((-4.3e6).into())).re.abs() < 1e-18);
        let none = q(Dual64::new(0.0, 1.0));
        assert!(none.re.abs() < 1e-30 && none.eps.abs() < 1e-30);
    }

    #[test]
    fn derivatives() {
        check::derivative(|dp| flow(0.61, 1e-5, dp, 860.0), -2e6);
        check::derivative(
            |rho| flow(0.61.into(), 1e-5.into(), Dual64::from(2e6), rho),
            860.0,
        );
    }
}
