//! Discharge coefficient of an orifice from laminar to turbulent flow: McCloy and Martin 1980.

use super::Bound;
use crate::numeric::Real;

/// Range in which this form of the equation is used.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "Cd∞",
        low: 0.5,
        high: 1.0,
        unit: "1",
    },
    Bound {
        symbol: "λ",
        low: 0.0,
        high: 1e6,
        unit: "1",
    },
    Bound {
        symbol: "λcrit",
        low: 10.0,
        high: 1e4,
        unit: "1",
    },
];

/// Discharge coefficient as a function of the flow number.
///
/// **Equation.** `Cd = Cd∞ tanh(2 λ/λcrit)`, `λ = (d/ν) √(2 Δp/ρ)`.
///
/// **Symbols.** `cd_inf` coefficient in turbulent flow; `lambda` flow number λ, with d the hydraulic diameter in m, ν
/// in m²/s, Δp in Pa, ρ in kg/m³; `lambda_crit` the flow number at which Cd reaches 96 % of Cd∞. No units.
///
/// **Range.** λcrit is 15 to 60 for a sharp-edged orifice, and 1000 or more for a long drilled passage.
///
/// **Source.** D. McCloy and H. R. Martin, Control of Fluid Power, 2nd edition, Ellis Horwood 1980, for describing the
/// transition by a flow number; the hyperbolic tangent is common in simulation practice (from memory).
///
/// Easily confused: λ uses the *ideal* jet speed, so λ is `Re/Cd`, not the Reynolds number.
///
/// ```
/// use oilwheel::law::discharge_coefficient_mccloy_1980::coefficient;
/// // Tables of functions: tanh 1 = 0.7615942, tanh 2 = 0.9640276.
/// assert!((coefficient(1.0_f64, 20.0, 40.0) - 0.7615942).abs() < 1e-7);
/// assert!((coefficient(1.0_f64, 40.0, 40.0) - 0.9640276).abs() < 1e-7);
/// ```
pub fn coefficient<N: Real>(cd_inf: N, lambda: N, lambda_crit: N) -> N {
    // The hyperbolic tangent is written as (1 − e^(−2x))/(1 + e^(−2x)), so that a large x gives no quotient of two
    // infinities, which would be NaN.
    let less = (lambda * -4.0 / lambda_crit).exp_m1();
    -cd_inf * less / (less + 2.0)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::numeric::Dual64;

    #[test]
    fn derivatives_far_up_too() {
        check::derivative(|l| coefficient(0.61.into(), l, 40.0.into()), 30.0);
        check::derivative(|l| coefficient(0.61.into(), l, 40.0.into()), 1e-6);
        let far = coefficient(
            Dual64::from(0.61),
            Dual64::new(1e6, 1.0),
            Dual64::from(15.0),
        );
        assert!(
            (far.re - 0.61).abs() < 1e-15 && far.eps.abs() < 1e-15,
            "{far:?}"
        );
    }
}
