//! Friction factor of a pipe in all flow regimes: Churchill 1977.

use super::Bound;
use crate::numeric::{Over, Real};

/// Valid range of the equation.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "Re",
        low: 1e-12,
        high: 1e9,
        unit: "1",
    },
    Bound {
        symbol: "ε/D",
        low: 0.0,
        high: 0.05,
        unit: "1",
    },
];

/// Reynolds number below which the turbulent terms are smaller than the rounding error.
const LAMINAR: f64 = 800.0;

/// Darcy friction factor, from laminar to fully rough turbulent flow.
///
/// **Equation.** `f = 8 ((8/Re)^12 + (A + B)^(−3/2))^(1/12)`, `A = (2.457 ln(1/((7/Re)^0.9 + 0.27 ε/D)))^16`,
/// `B = (37530/Re)^16`. Below Re = 800 only the first term is computed, `f = 64/Re`, without loss of accuracy
/// (`B^(−3/2)` is below 1e-16 of the first term, and A reduces it further).
///
/// **Symbols.** `re` Reynolds number, greater than zero; `relative_roughness` ε/D. No units.
///
/// **Range.** Any Re; ε/D up to 0.05. Between Re = 2000 and 4000 the flow regime itself is uncertain.
///
/// **Source.** S. W. Churchill, Friction-factor equation spans all fluid-flow regimes, Chemical Engineering 84 (24),
/// 7 November 1977, pages 91 and 92.
///
/// Easily confused: this is the Darcy factor, `Δp = f (L/D) ρ v²/2`, four times the Fanning factor. Churchill's paper
/// gives half the Fanning factor.
///
/// ```
/// use oilwheel::law::friction_factor_churchill_1977::darcy;
/// // Hagen and Poiseuille: 64/Re.
/// assert!((darcy(1000.0_f64, 0.0) - 0.064).abs() < 1e-8);
/// // Colebrook at Re = 10⁵, ε/D = 10⁻⁴: 0.01851.
/// assert!((darcy(1e5_f64, 1e-4) / 0.01851 - 1.0).abs() < 0.005);
/// ```
pub fn darcy<C: Real, N: Over<C>>(re: N, relative_roughness: C) -> N {
    darcy_of_inverse(re.recip(), relative_roughness)
}

/// Darcy friction factor from `1/Re`, which saves a division in performance-critical code.
pub fn darcy_of_inverse<C: Real, N: Over<C>>(inverse: N, relative_roughness: C) -> N {
    if inverse.re() > 1.0 / LAMINAR {
        return inverse * 64.0;
    }
    let fourth = |x: N| (x * x) * (x * x);
    // A logarithm and an exponential take half the time of `powf`, which is accurate to the last digit; the result is
    // accurate to 1e-14.
    let power = |x: N, exponent: f64| (x.ln() * exponent).exp();
    let a = fourth(fourth(
        (power(inverse * 7.0, 0.9) + relative_roughness * 0.27).ln() * 2.457,
    ));
    let b = fourth(fourth(inverse * 37530.0));
    let both = a + b;
    let laminar = fourth(inverse * 8.0);
    let sum = laminar * laminar * laminar + (both * both.sqrt()).recip();
    power(sum, 1.0 / 12.0) * 8.0
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::numeric::Dual64;

    #[test]
    fn does_not_jump_where_the_laminar_branch_ends() {
        for rough in [0.0_f64, 1e-3, 0.05] {
            let (below, above) = (darcy(LAMINAR * (1.0 - 1e-15), rough), darcy(LAMINAR, rough));
            assert!((below / above - 1.0).abs() < 1e-14, "{below} {above}");
        }
    }

    #[test]
    fn stays_finite_and_positive() {
        for i in -120..=90 {
            for rough in [0.0, 1e-6, 0.05] {
                let f = darcy(10.0_f64.powf(f64::from(i) / 10.0), rough);
                assert!(f.is_finite() && f > 0.0, "{i} {rough} {f}");
            }
        }
    }

    #[test]
    fn derivatives() {
        for re in [10.0, 500.0, 2500.0, 1e4, 1e6] {
            check::derivative(|re| darcy(re, 1e-3), re);
        }
        for re in [2500.0, 1e4, 1e6] {
            check::derivative(|rough| darcy(Dual64::from(re), rough), 1e-3);
        }
    }
}
