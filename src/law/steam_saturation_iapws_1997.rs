//! Boiling temperature of water at a pressure, and the reverse: IAPWS industrial formulation 1997, region 4.

use super::Bound;
use crate::numeric::Real;

/// Valid range of the formulation.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "p",
    low: 611.213,
    high: 22.064e6,
    unit: "Pa",
}];

const N: [f64; 10] = [
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
];

/// Boiling temperature of water at a pressure, K.
///
/// **Equation.** `β = (p/1 MPa)^¼`, `E = β² + n₃β + n₆`, `F = n₁β² + n₄β + n₇`, `G = n₂β² + n₅β + n₈`,
/// `D = 2G/(−F − √(F² − 4EG))`, `T = ½ [n₁₀ + D − √((n₁₀ + D)² − 4(n₉ + n₁₀D))]`.
///
/// **Symbols.** `p` pressure, Pa *absolute*; n₁ to n₁₀ coefficients of the formulation.
///
/// **Range.** Triple point to critical point.
///
/// **Source.** IAPWS R7-97, Industrial Formulation 1997 for the Thermodynamic Properties of Water and Steam, equation
/// 31; coefficients quoted from memory and checked against other implementations.
///
/// Easily confused: the rating of a pressure cap is a gauge pressure, to which the ambient pressure must be added.
///
/// ```
/// use oilwheel::law::steam_saturation_iapws_1997::temperature;
/// // One atmosphere: 99.974 °C.
/// assert!((temperature(101_325.0_f64) - 373.124).abs() < 1e-3);
/// ```
pub fn temperature<R: Real>(p: R) -> R {
    let b = (p / 1e6).powf(0.25);
    let e = b * b + b * N[2] + N[5];
    let f = b * b * N[0] + b * N[3] + N[6];
    let g = b * b * N[1] + b * N[4] + N[7];
    let d = g * 2.0 / (-f - (f * f - e * g * 4.0).sqrt());
    let sum = d + N[9];
    (sum - (sum * sum - (d * N[9] + N[8]) * 4.0).sqrt()) * 0.5
}

/// Boiling pressure of water at a temperature, Pa absolute.
///
/// **Equation.** `ϑ = T + n₉/(T − n₁₀)`, `A = ϑ² + n₁ϑ + n₂`, `B = n₃ϑ² + n₄ϑ + n₅`, `C = n₆ϑ² + n₇ϑ + n₈`,
/// `p = 1 MPa [2C/(−B + √(B² − 4AC))]⁴`.
///
/// **Symbols.** `t` temperature T, K; n₁ to n₁₀ as for [`temperature`].
///
/// **Range.** As for [`temperature`].
///
/// **Source.** As for [`temperature`], equation 30.
///
/// ```
/// use oilwheel::law::steam_saturation_iapws_1997::pressure;
/// // 300 K: 3536.58941 Pa, the release's own check value.
/// assert!((pressure(300.0_f64) - 3536.58941).abs() < 1e-4);
/// ```
pub fn pressure<R: Real>(t: R) -> R {
    let v = t + (t - N[9]).recip() * N[8];
    let a = v * v + v * N[0] + N[1];
    let b = v * v * N[2] + v * N[3] + N[4];
    let c = v * v * N[5] + v * N[6] + N[7];
    (c * 2.0 / (-b + (b * b - a * c * 4.0).sqrt())).powi(4) * 1e6
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn one_is_the_other_turned_round() {
        for p in [1e3_f64, 1e5, 2e5, 5e6] {
            assert!((pressure(temperature(p)) / p - 1.0).abs() < 1e-7);
        }
    }

    #[test]
    fn derivatives() {
        check::derivative(temperature, 1.5e5);
        check::derivative(pressure, 380.0);
    }
}
