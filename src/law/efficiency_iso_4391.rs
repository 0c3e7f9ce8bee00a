//! Efficiencies of pumps and motors: the definitions of ISO 4391.
//!
//! Displacement is per *radian* here, so the standard's factors of 2π drop out; the flows are treated as
//! incompressible.

use super::Bound;
use crate::numeric::Real;

/// Practical range of the quantities. Each definition is valid wherever its denominator is not zero.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "V",
        low: 1e-7,
        high: 2e-4,
        unit: "m³/rad",
    },
    Bound {
        symbol: "Δp",
        low: 1e4,
        high: 40e6,
        unit: "Pa",
    },
    Bound {
        symbol: "ω",
        low: 1.0,
        high: 700.0,
        unit: "rad/s",
    },
];

/// Volumetric efficiency of a pump.
///
/// **Equation.** `η = Q/(V ω)`.
///
/// **Symbols.** `flow` Q, the outlet flow, m³/s; `displacement` V, derived, m³/rad; `speed` ω, rad/s.
///
/// **Range.** Wherever the denominator is not zero.
///
/// **Source.** ISO 4391, Hydraulic fluid power, pumps, motors and integral transmissions, parameter definitions and
/// letter symbols (from memory).
///
/// ```
/// use oilwheel::law::efficiency_iso_4391::pump_volumetric;
/// // By hand: 10⁻⁶ m³/rad at 100 rad/s is 10⁻⁴ m³/s.
/// assert!((pump_volumetric(0.9e-4_f64, 1e-6, 100.0) - 0.9).abs() < 1e-12);
/// ```
pub fn pump_volumetric<N: Real>(flow: N, displacement: N, speed: N) -> N {
    flow / (displacement * speed)
}

/// Hydraulic-mechanical efficiency of a pump.
///
/// **Equation.** `η = V Δp/T`.
///
/// **Symbols.** `displacement` V, derived, m³/rad; `pressure` Δp, Pa; `torque` T at the shaft, N·m.
///
/// **Range.** Wherever the denominator is not zero.
///
/// **Source.** ISO 4391, Hydraulic fluid power, pumps, motors and integral transmissions, parameter definitions and
/// letter symbols (from memory).
///
/// ```
/// use oilwheel::law::efficiency_iso_4391::pump_hydro_mechanical;
/// // By hand: 10⁻⁶ m³/rad at 10 MPa is 10 N·m.
/// assert!((pump_hydro_mechanical(1e-6_f64, 1e7, 12.5) - 0.8).abs() < 1e-12);
/// ```
pub fn pump_hydro_mechanical<N: Real>(displacement: N, pressure: N, torque: N) -> N {
    displacement * pressure / torque
}

/// Overall efficiency of a pump: hydraulic power over shaft power.
///
/// **Equation.** `η = Δp Q/(T ω)`.
///
/// **Symbols.** `flow` Q, the outlet flow, m³/s; `pressure` Δp, Pa; `torque` T at the shaft, N·m; `speed` ω, rad/s.
///
/// **Range.** Wherever the denominator is not zero.
///
/// **Source.** ISO 4391, Hydraulic fluid power, pumps, motors and integral transmissions, parameter definitions and
/// letter symbols (from memory).
///
/// ```
/// use oilwheel::law::efficiency_iso_4391::pump_total;
/// // By hand: 0.9·10⁻⁴ m³/s at 10 MPa is 900 W, from 12.5 N·m at 100 rad/s, 1250 W.
/// assert!((pump_total(0.9e-4_f64, 1e7, 12.5, 100.0) - 0.72).abs() < 1e-12);
/// ```
pub fn pump_total<N: Real>(flow: N, pressure: N, torque: N, speed: N) -> N {
    flow * pressure / (torque * speed)
}

/// Volumetric efficiency of a motor.
///
/// **Equation.** `η = V ω/Q`.
///
/// **Symbols.** `flow` Q, the inlet flow, m³/s; `displacement` V, derived, m³/rad; `speed` ω, rad/s.
///
/// **Range.** Wherever the denominator is not zero.
///
/// **Source.** ISO 4391, Hydraulic fluid power, pumps, motors and integral transmissions, parameter definitions and
/// letter symbols (from memory).
///
/// ```
/// use oilwheel::law::efficiency_iso_4391::motor_volumetric;
/// // A textbook's motor (Esposito, example 7-3): 10 in³ a turn, 2000 turns a minute, 95 gpm: 91.1 %.
/// let (inch, gallon) = (0.0254_f64, 231.0 * 0.0254_f64.powi(3));
/// let turn = std::f64::consts::TAU;
/// let (flow, displacement, speed) = (95.0 * gallon / 60.0, 10.0 * inch.powi(3) / turn, 2000.0 * turn / 60.0);
/// assert!((motor_volumetric(flow, displacement, speed) - 0.911).abs() < 1e-3);
/// ```
pub fn motor_volumetric<N: Real>(flow: N, displacement: N, speed: N) -> N {
    displacement * speed / flow
}

/// Hydraulic-mechanical efficiency of a motor.
///
/// **Equation.** `η = T/(V Δp)`.
///
/// **Symbols.** `displacement` V, derived, m³/rad; `pressure` Δp, Pa; `torque` T at the shaft, N·m.
///
/// **Range.** Wherever the denominator is not zero.
///
/// **Source.** ISO 4391, Hydraulic fluid power, pumps, motors and integral transmissions, parameter definitions and
/// letter symbols (from memory).
///
/// ```
/// use oilwheel::law::efficiency_iso_4391::motor_hydro_mechanical;
/// // By hand: 10⁻⁶ m³/rad at 10 MPa is 10 N·m.
/// assert!((motor_hydro_mechanical(1e-6_f64, 1e7, 8.0) - 0.8).abs() < 1e-12);
/// ```
pub fn motor_hydro_mechanical<N: Real>(displacement: N, pressure: N, torque: N) -> N {
    torque / (displacement * pressure)
}

/// Overall efficiency of a motor: shaft power over hydraulic power.
///
/// **Equation.** `η = T ω/(Δp Q)`.
///
/// **Symbols.** `flow` Q, the inlet flow, m³/s; `pressure` Δp, Pa; `torque` T at the shaft, N·m; `speed` ω, rad/s.
///
/// **Range.** Wherever the denominator is not zero.
///
/// **Source.** ISO 4391, Hydraulic fluid power, pumps, motors and integral transmissions, parameter definitions and
/// letter symbols (from memory).
///
/// ```
/// use oilwheel::law::efficiency_iso_4391::motor_total;
/// // By hand: 8 N·m at 100 rad/s is 800 W, from 10⁻⁴ m³/s at 10 MPa, 1000 W.
/// assert!((motor_total(1e-4_f64, 1e7, 8.0, 100.0) - 0.8).abs() < 1e-12);
/// ```
pub fn motor_total<N: Real>(flow: N, pressure: N, torque: N, speed: N) -> N {
    torque * speed / (flow * pressure)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn overall_is_volumetric_times_hydraulic_mechanical() {
        let (q, v, dp, t, w) = (3.1e-4_f64, 2.2e-6, 9e6, 21.0, 160.0);
        let pump = pump_volumetric(q, v, w) * pump_hydro_mechanical(v, dp, t);
        assert!((pump_total(q, dp, t, w) - pump).abs() < 1e-12);
        let motor = motor_volumetric(q, v, w) * motor_hydro_mechanical(v, dp, t);
        assert!((motor_total(q, dp, t, w) - motor).abs() < 1e-12);
    }

    #[test]
    fn derivatives() {
        check::derivative(|q| motor_volumetric(q, 2e-6.into(), 150.0.into()), 3e-4);
        check::derivative(
            |t| pump_total(3e-4.into(), 9e6.into(), t, 160.0.into()),
            21.0,
        );
    }
}
