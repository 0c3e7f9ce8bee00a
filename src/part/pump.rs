//! The pump: its displacement, leakage and torque.

use crate::input::unit::{BAR, CM3_REV, RPM};
use crate::law::{leakage_schlosser_1961, leakage_wilson_1950, torque_loss_wilson_1950};
use crate::numeric::{Over, Real};

crate::part! {
    /// The pump that feeds the fan motor.
    Pump {
        displacement: Displacement [0.5 * CM3_REV, 500.0 * CM3_REV] f64::NAN, Pump, "geometric displacement";
        ratio: Number [0.2, 5.0] f64::NAN, Pump, "drive ratio: pump speed divided by engine speed";
        slip: Number [0.0, 2e-6] 1.5e-8, PumpSlip, "laminar leakage coefficient Cs";
        turbulent_slip: Number [0.0, 0.05] 3e-3, PumpSlip, "turbulent leakage coefficient Ct";
        drag: Number [0.0, 2e6] 1e5, Belt, "viscous friction coefficient Cv";
        drag_exponent: Number [0.0, 1.2] 0.5, Belt, "exponent of viscosity in viscous friction; 1 means proportional to viscosity, 0 independent of it, usually 0.5 (engineering assumption)";
        friction: Number [0.0, 0.8] 0.1, Belt, "friction coefficient Cf: friction torque as a fraction of the pressure torque";
        dry_torque: Torque [0.0, 50.0] 0.5, Belt, "constant friction torque T0: the part that depends on neither pressure nor viscosity";
        least_inlet: AbsolutePressure [0.2 * BAR, BAR] 0.6 * BAR, Inlet, "minimum absolute inlet pressure that still fills the pump's chambers at the fill speed";
        fill_speed: Speed [100.0 * RPM, 20_000.0 * RPM] 6000.0 * RPM, Inlet, "pump speed at which the minimum inlet pressure just fills the pump's chambers; default: drive ratio times full engine speed";
    }
}

impl<N: Real> Pump<N> {
    /// Leakage back to the inlet, m³/s, at pressure difference `dp` (Pa); `gap` is the area of the leakage gaps (m²),
    /// `mu` the viscosity in the clearances (Pa s), `rho` the density (kg/m³).
    pub fn slip_flow<M: Over<N>>(&self, gap: N, dp: M, mu: M, rho: N) -> M {
        leakage_wilson_1950::laminar(self.slip, self.displacement, dp, mu)
            + leakage_schlosser_1961::turbulent(self.turbulent_slip, gap, dp, rho)
    }

    /// Torque lost to friction, N m, at speed `omega` (rad/s) and pressure difference `dp` (Pa); `mu` is the effective
    /// viscosity for viscous friction (Pa s).
    pub fn torque_loss<M: Over<N>>(&self, dp: M, mu: N, omega: M) -> M {
        torque_loss_wilson_1950::torque_loss(
            self.friction,
            self.drag,
            self.dry_torque,
            self.displacement,
            dp,
            mu,
            omega,
        )
    }
}
