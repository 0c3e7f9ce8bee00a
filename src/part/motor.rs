//! The gear or gerotor motor of the fan: it drives the fan, is driven by it, or is stopped.

use crate::input::unit::{BAR, CM3_REV};
use crate::law::{leakage_schlosser_1961, leakage_wilson_1950};
use crate::numeric::{Over, Real, positive};

crate::part! {
    /// The hydraulic motor that drives the fan.
    Motor {
        displacement: Displacement [0.5 * CM3_REV, 500.0 * CM3_REV] f64::NAN, Motor, "geometric displacement";
        slip: Number [0.0, 2e-6] 1.5e-8, MotorSlip, "laminar leakage coefficient Cs";
        turbulent_slip: Number [0.0, 0.05] 3e-3, MotorSlip, "turbulent leakage coefficient Ct";
        drag: Number [0.0, 2e6] 1e5, MotorDrag, "viscous friction coefficient Cv";
        drag_exponent: Number [0.0, 1.2] 0.5, MotorDrag, "exponent of viscosity in viscous friction; 1 means proportional to viscosity, 0 independent of it, usually 0.5 (engineering assumption)";
        friction: Number [0.0, 0.6] 0.1, MotorDrag, "friction coefficient Cf: friction torque as a fraction of the pressure torque";
        dry_torque: Torque [0.0, 200.0] 0.2, MotorDrag, "constant friction torque T0: the part that depends on neither pressure nor viscosity";
        breakaway: Torque [0.0, 400.0] 0.6, MotorDrag, "breakaway torque: shaft torque at which a stopped motor begins to turn";
        anti_cavitation: Pressure [0.01 * BAR, 5.0 * BAR] 0.1 * BAR, Valve, "opening pressure of the anti-cavitation check valve that feeds an overrunning motor";
    }
}

/// Pressure above its cracking pressure, Pa, at which the anti-cavitation check valve passes the motor's flow at 200
/// rad/s; the low value means a large valve *(engineering assumption)*.
const CHECK_RISE: f64 = 0.1 * BAR;

impl<N: Real> Motor<N> {
    /// Torque lost to viscous and constant friction, N m, at speed `omega` (rad/s) and viscosity `mu` (Pa s); it always
    /// opposes the rotation.
    fn drag_torque<M: Over<N>>(&self, mu: N, omega: M) -> M {
        omega * (self.drag * self.displacement * mu) + self.dry_torque
    }

    /// Pressure difference, Pa, at a shaft torque `shaft_torque` (N m; negative if the fan drives the motor) and speed
    /// `omega` (rad/s), with viscosity `mu` (Pa s) in the clearances. The friction that is proportional to pressure
    /// reverses when the fan drives the motor.
    pub fn pressure_drop<M: Over<N>>(&self, shaft_torque: M, mu: N, omega: M) -> M {
        let torque = shaft_torque + self.drag_torque(mu, omega);
        let one = N::from(1.0);
        let friction = if torque.re() >= 0.0 {
            one - self.friction
        } else {
            one + self.friction
        };
        torque / (self.displacement * friction)
    }

    /// Flow, m³/s, through the anti-cavitation check valve, from motor outlet to inlet, when the fan drives the motor,
    /// at pressure difference `dp` (Pa).
    pub fn check_flow<M: Over<N>>(&self, dp: M) -> M {
        positive(-dp - self.anti_cavitation) * (self.displacement * (200.0 / CHECK_RISE))
    }

    /// Leakage, m³/s, at pressure difference `dp` (Pa); `gap` is the area of the leakage gaps (m²), `mu` the viscosity
    /// in the clearances (Pa s), `rho` the density (kg/m³).
    pub fn slip_flow<M: Over<N>>(&self, gap: N, dp: M, mu: M, rho: N) -> M {
        leakage_wilson_1950::laminar(self.slip, self.displacement, dp, mu)
            + leakage_schlosser_1961::turbulent(self.turbulent_slip, gap, dp, rho)
    }

    /// Pressure difference, Pa, at which a stopped motor begins to turn.
    pub fn starts_at(&self) -> N {
        self.breakaway / (self.displacement * (N::from(1.0) - self.friction))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: Motor = Motor {
        displacement: 1.5e-6,
        slip: 1e-8,
        turbulent_slip: 3e-3,
        drag: 1e5,
        drag_exponent: 0.5,
        friction: 0.1,
        dry_torque: 0.2,
        breakaway: 0.6,
        anti_cavitation: 1e4,
    };

    #[test]
    fn torque_and_pressure_balance_driving_and_driven() {
        let (mu, omega) = (0.01, 200.0);
        let drag = 1e5 * 1.5e-6 * mu * omega + 0.2;
        let dp = ONE.pressure_drop(8.0, mu, omega);
        assert!((1.5e-6 * dp * 0.9 - drag - 8.0).abs() < 1e-12);
        let dp = ONE.pressure_drop(-1.0, mu, omega);
        assert!(dp < 0.0 && (1.5e-6 * dp * 1.1 - drag + 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_check_valve_opens_when_the_fan_drives() {
        assert!(ONE.check_flow(-1e4).abs() < 1e-15);
        // Calculated by hand: at 0.2 bar above its cracking pressure the check passes the motor's flow at 400 rad/s.
        assert!((ONE.check_flow(-3e4) / (1.5e-6 * 400.0) - 1.0).abs() < 1e-9);
    }
}
