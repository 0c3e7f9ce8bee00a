//! Torque lost in a pump or motor: Wilson 1950.

use super::Bound;
use crate::numeric::{Over, Real};

/// Range of published coefficients.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "Cf",
        low: 0.005,
        high: 0.25,
        unit: "1",
    },
    Bound {
        symbol: "Cv",
        low: 2e4,
        high: 2e5,
        unit: "1",
    },
    Bound {
        symbol: "T0",
        low: 0.0,
        high: 20.0,
        unit: "N·m",
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
    Bound {
        symbol: "ω",
        low: 0.0,
        high: 700.0,
        unit: "rad/s",
    },
];

/// Torque lost to pressure-dependent friction, viscous friction and constant seal friction.
///
/// **Equation.** `T = Cf V |Δp| + Cv V μ ω + T0`.
///
/// **Symbols.** `cf` friction coefficient, no unit; `cv` viscous friction coefficient, no unit; `t0` constant friction
/// torque, N·m; `v` displacement, m³/rad; `dp` pressure difference, Pa; `mu` dynamic viscosity, Pa·s; `omega` speed,
/// rad/s. Returns N·m.
///
/// **Range.** A pump or motor turning forwards; at rest the breakaway torque applies instead. Cv is about 10⁵, Cf 0.05
/// to 0.2.
///
/// **Source.** W. E. Wilson, Positive-Displacement Pumps and Fluid Motors, Pitman 1950; quoted from secondary sources.
///
/// Easily confused: Cv is defined with V in m³/rad, and viscous friction uses the viscosity at zero gauge pressure.
///
/// ```
/// use oilwheel::law::torque_loss_wilson_1950::torque_loss;
/// // By hand: 0.1 · 2·10⁻⁶ · 10⁷ + 10⁵ · 2·10⁻⁶ · 0.01 · 200 + 0.5 = 2 + 0.4 + 0.5.
/// let t = torque_loss(0.1_f64, 1e5, 0.5, 2e-6, 1e7, 0.01, 200.0);
/// assert!((t - 2.9).abs() < 1e-12);
/// ```
pub fn torque_loss<C: Real, N: Over<C>>(cf: C, cv: C, t0: C, v: C, dp: N, mu: C, omega: N) -> N {
    (dp.abs() * cf + omega * (cv * mu)) * v + t0
}

/// Reference viscosity of [`drag_viscosity`], Pa·s: the viscosity at which the effective viscosity equals the actual
/// one *(engineering assumption)*.
pub const REFERENCE_VISCOSITY: f64 = 0.03;

/// The effective viscosity for viscous friction. A sheared film warms up, so thick oil causes less friction than its
/// viscosity at the port suggests.
///
/// **Equation.** `μ_drag = μ_r (μ/μ_r)^b`, where μ_r is [`REFERENCE_VISCOSITY`].
///
/// **Symbols.** `mu` μ, dynamic viscosity in the clearance before the film warms up, Pa·s; `exponent` b, no unit.
/// Returns Pa·s.
///
/// **Range.** b from 0.3 to 1, usually 0.5; b = 1 is Wilson's law.
///
/// **Source.** The form is an engineering assumption, based on one measured pump: Helwig, Pignanelli and Schütze, I2MTC
/// 2015, doi 10.1109/I2MTC.2015.7151267. For the viscous friction of that pump between 28 and 65 mm²/s, the error with
/// b = 0.5 is half of that with b = 1.
///
/// ```
/// use oilwheel::law::torque_loss_wilson_1950::drag_viscosity;
/// // By hand: 30 mPa·s · √(120/30), and Wilson's own with 1.
/// assert!((drag_viscosity(0.12_f64, 0.5) - 0.06).abs() < 1e-15);
/// assert!((drag_viscosity(0.12_f64, 1.0) - 0.12).abs() < 1e-15);
/// ```
pub fn drag_viscosity<N: Real>(mu: N, exponent: N) -> N {
    ((mu / REFERENCE_VISCOSITY).ln() * exponent).exp() * REFERENCE_VISCOSITY
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::numeric::Dual64;

    fn at(dp: Dual64, omega: Dual64) -> Dual64 {
        torque_loss(0.1, 1e5, 0.5, 2e-6, dp, 0.01, omega)
    }

    #[test]
    fn is_the_same_when_the_pressure_turns_round() {
        assert!((at((-1e7).into(), 200.0.into()).re - 2.9).abs() < 1e-12);
    }

    #[test]
    fn derivatives() {
        check::derivative(|dp| at(dp, 200.0.into()), 1e7);
        check::derivative(|dp| at(dp, 200.0.into()), -1e7);
        check::derivative(|omega| at(1e7.into(), omega), 200.0);
        check::derivative(|mu| drag_viscosity(mu, 0.5.into()), 0.01);
        check::derivative(|b| drag_viscosity(Dual64::from(0.01), b), 0.5);
    }
}
