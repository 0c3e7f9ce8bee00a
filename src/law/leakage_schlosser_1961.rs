//! Turbulent leakage of a pump or motor: Schlösser 1961.

use super::Bound;
use crate::numeric::{Over, Real};

/// Range in which the law is used.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "Ct",
        low: 0.0,
        high: 0.05,
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
        symbol: "ρ",
        low: 700.0,
        high: 1100.0,
        unit: "kg/m³",
    },
];

/// Leakage through sharp-edged gaps, governed by density rather than viscosity.
///
/// **Equation.** `Q = Ct V^(2/3) √(2 Δp/ρ)`, odd in Δp.
///
/// **Symbols.** `ct` turbulent leakage coefficient, no unit; `gap` the area `V^(2/3)`, m², from [`gap`]; `dp` pressure
/// difference, Pa; `rho` density, kg/m³. Returns m³/s, with the sign of Δp.
///
/// **Range.** Any. At Δp = 0, where the slope of the square root is infinite, the function returns zero flow with a
/// zero derivative.
///
/// **Source.** W. M. J. Schlösser, Mathematical model for displacement pumps and motors, Hydraulic Power Transmission,
/// April 1961, pages 252 to 257 and 269; quoted from secondary sources.
///
/// Easily confused: V is the displacement per radian, and its power 2/3 is an area.
///
/// ```
/// use oilwheel::law::leakage_schlosser_1961::{gap, turbulent};
/// // By hand: V^(2/3) = 10⁻⁴ m² and √(2 · 4.3 MPa / 860 kg/m³) = 100 m/s.
/// assert!((turbulent(3e-3_f64, gap(1e-6), 4.3e6, 860.0) - 3e-5).abs() < 1e-15);
/// ```
pub fn turbulent<C: Real, N: Over<C>>(ct: C, gap: C, dp: N, rho: C) -> N {
    if dp.is_zero() {
        return N::from(0.0);
    }
    (dp.abs() * (rho.recip() * 2.0)).sqrt() * (ct * gap) * dp.signum()
}

/// Reference area of a displacement `v` (m³/rad), m²: `v` to the power 2/3.
pub fn gap<N: Real>(v: N) -> N {
    v.powf(2.0 / 3.0)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::numeric::Dual64;

    #[test]
    fn is_odd_and_harmless_at_no_pressure() {
        let q = |dp: Dual64| turbulent(3e-3, 1e-4, dp, 860.0);
        assert!((q(4.3e6.into()) + q((-4.3e6).into())).re.abs() < 1e-18);
        let none = q(Dual64::new(0.0, 1.0));
        assert!(none.re.abs() < 1e-30 && none.eps.abs() < 1e-30);
    }

    #[test]
    fn derivatives() {
        check::derivative(gap, 1e-6);
        for dp in [4e6, -4e6] {
            check::derivative(|dp| turbulent(3e-3, 1e-4, dp, 860.0), dp);
            check::derivative(
                |rho| turbulent(3e-3.into(), 1e-4.into(), Dual64::from(dp), rho),
                860.0,
            );
        }
    }
}
