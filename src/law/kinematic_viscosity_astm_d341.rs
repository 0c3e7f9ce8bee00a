//! Kinematic viscosity of an oil versus temperature: ASTM D341.
//!
//! On the chart, the viscosity of a petroleum oil versus temperature is a straight line, `ordinate = a − b·log10 T`.

use super::Bound;
use crate::numeric::{Dual64, Real, falling_root, settle};

/// Valid range of the chart.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "ν",
        low: 0.21e-6,
        high: 2e1,
        unit: "m²/s",
    },
    Bound {
        symbol: "T",
        low: 203.15,
        high: 643.15,
        unit: "K",
    },
];

/// Lower limit of the published sum of exponentials, mm²/s. Below it the sum is no longer monotonic and is extended by
/// its tangent.
const LEAST: f64 = 0.21;

/// Viscosity above which the sum of exponentials is negligible in an `f64`, mm²/s.
const PLAIN: f64 = 15.0;

/// The chart's ordinate for a kinematic viscosity.
///
/// **Equation.** `W = log10 log10 Z`, `Z = ν + 0.7 + C − D + E − F + G − H` with `C = exp(−1.14883 − 2.65868 ν)`,
/// `D = exp(−0.0038138 − 12.5645 ν)`, `E = exp(5.46491 − 37.6289 ν)`, `F = exp(13.0458 − 74.6851 ν)`,
/// `G = exp(37.4619 − 192.643 ν)`, `H = exp(80.4945 − 400.468 ν)`, ν in mm²/s. The terms C to H matter only below
/// 2 mm²/s, but are also computed above it, to avoid a step.
///
/// **Symbols.** `nu` kinematic viscosity, m²/s. The ordinate has no unit.
///
/// **Range.** 0.21 mm²/s to 2·10⁷ mm²/s. Below 0.21 mm²/s Z is extended along its tangent.
///
/// **Source.** ASTM D341, Standard Practice for Viscosity-Temperature Charts for Liquid Petroleum Products, annex. The
/// constants of C to H are quoted from memory and checked against the standard's simplified form; see `validation`.
///
/// Easily confused: both logarithms are *decimal*, not natural, and the argument `nu` is in m²/s.
///
/// ```
/// use oilwheel::law::kinematic_viscosity_astm_d341::ordinate;
/// // By hand: Z = 9.3 + 0.7 = 10, whose double logarithm is zero.
/// assert!(ordinate(9.3e-6_f64).abs() < 1e-10);
/// ```
pub fn ordinate<N: Real>(nu: N) -> N {
    z(nu * 1e6).log10().log10()
}

/// The kinematic viscosity at a given ordinate: the exact inverse of [`ordinate`].
///
/// **Equation.** `ν = Z − 0.7` where C to H are negligible; otherwise the full equation for Z is solved for ν by
/// Newton's method.
///
/// **Symbols.** `w` ordinate, no unit. Returns m²/s.
///
/// **Range, source.** As for [`ordinate`]. The standard prints an approximate inverse, accurate to 0.02 %.
///
/// ```
/// use oilwheel::law::kinematic_viscosity_astm_d341::viscosity;
/// // By hand: log10 log10 100 = log10 2, and 100 − 0.7 = 99.3.
/// assert!((viscosity(2.0_f64.log10()) * 1e6 - 99.3).abs() < 1e-9);
/// ```
pub fn viscosity<N: Real>(w: N) -> N {
    let target = power_of_ten(power_of_ten(w));
    let plain = target - 0.7;
    if plain.re().is_nan() || plain.re() > PLAIN {
        return plain * 1e-6;
    }
    let least = z(Dual64::new(LEAST, 1.0));
    if target.re() <= least.re {
        return ((target - least.re) / least.eps + LEAST) * 1e-6;
    }
    // C − D + E − F + G − H is positive, so the root is below the value without these terms.
    match falling_root(
        |nu| -z(nu) + target.re(),
        LEAST,
        plain.re(),
        plain.re(),
        1.0,
    ) {
        Ok(root) => settle(root.x, root.slope, target - z(root.x)) * 1e-6,
        Err(_) => plain * 1e-6,
    }
}

/// The coefficients `(a, b)` of the line `ordinate = a − b·log10 T` through two measured points.
///
/// **Equation.** `b = (W1 − W2)/(log10 T2 − log10 T1)`, `a = W1 + b·log10 T1`.
///
/// **Symbols.** Each point is a temperature in K and a kinematic viscosity in m²/s; `a` and `b` have no unit.
///
/// **Range, source.** As for [`ordinate`]; the temperatures must differ. Easily confused: kelvin, not °C.
///
/// ```
/// use oilwheel::law::kinematic_viscosity_astm_d341::line;
/// // By hand: ordinates log10 2 and 0 one decade of temperature apart.
/// let (a, b) = line((100.0, 99.3e-6), (1000.0, 9.3e-6));
/// assert!((b - 2.0_f64.log10()).abs() < 1e-9 && (a - 3.0 * b).abs() < 1e-9);
/// ```
pub fn line((t1, nu1): (f64, f64), (t2, nu2): (f64, f64)) -> (f64, f64) {
    let b = (ordinate(nu1) - ordinate(nu2)) / (t2.log10() - t1.log10());
    (ordinate(nu1) + b * t1.log10(), b)
}

/// Z of the equation in [`ordinate`], for a viscosity in mm²/s.
fn z<N: Real>(nu: N) -> N {
    if nu.re() < LEAST {
        let least = z(Dual64::new(LEAST, 1.0));
        return (nu - LEAST) * least.eps + least.re;
    }
    let e = |constant: f64, factor: f64| (nu * -factor + constant).exp();
    nu + 0.7 + e(-1.14883, 2.65868) - e(-0.0038138, 12.5645) + e(5.46491, 37.6289)
        - e(13.0458, 74.6851)
        + e(37.4619, 192.643)
        - e(80.4945, 400.468)
}

fn power_of_ten<N: Real>(x: N) -> N {
    (x * std::f64::consts::LN_10).exp()
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn the_logarithms_are_decimal() {
        // Z = 10, 100, 10⁴: calculated by hand.
        for (nu, w) in [
            (9.3, 0.0),
            (99.3, 2.0_f64.log10()),
            (9999.3, 4.0_f64.log10()),
        ] {
            assert!((ordinate(nu * 1e-6) - w).abs() < 1e-10, "{nu}");
        }
    }

    #[test]
    fn there_and_back_without_a_jump() {
        let mut last = f64::NEG_INFINITY;
        for i in 0..4000 {
            let nu = 0.205e-6 * 1e8_f64.powf(f64::from(i) / 4000.0);
            let w = ordinate(nu);
            assert!(w > last, "falls at {nu}");
            assert!(
                (viscosity(w) / nu - 1.0).abs() < 3e-13,
                "{nu} {}",
                viscosity(w)
            );
            last = w;
        }
    }

    #[test]
    fn derivatives() {
        for nu in [0.207e-6, 0.3e-6, 1e-6, 1.9999e-6, 14e-6, 40e-6, 4e-3] {
            check::derivative(ordinate, nu);
            check::derivative(viscosity, ordinate(nu));
        }
    }
}
