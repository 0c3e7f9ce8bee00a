//! The pump: displacement, leakage, torque.

use crate::input::unit::{BAR, CM3_REV, RPM};
use crate::law::{leakage_schlosser_1961, leakage_wilson_1950, torque_loss_wilson_1950};
use crate::numeric::{Over, Real};

crate::part! {
    /// The pump that feeds the fan motor.
    Pump {
        displacement: Displacement [0.5 * CM3_REV, 500.0 * CM3_REV] f64::NAN, Pump, "geometric displacement";
        ratio: Number [0.2, 5.0] f64::NAN, Pump, "pump speed for each turn of the engine";
        slip: Number [0.0, 2e-6] 1.5e-8, PumpSlip, "laminar slip coefficient Cs";
        turbulent_slip: Number [0.0, 0.05] 3e-3, PumpSlip, "turbulent slip coefficient Ct";
        drag: Number [0.0, 2e6] 1e5, Belt, "viscous drag coefficient Cv";
        drag_exponent: Number [0.0, 1.2] 0.5, Belt, "how viscous drag follows viscosity: 1 in proportion, 0 not at all, usually 0.5 (judgment)";
        friction: Number [0.0, 0.8] 0.1, Belt, "dry friction as a share of the pressure torque, Cf";
        dry_torque: Torque [0.0, 50.0] 0.5, Belt, "torque to turn it without pressure and oil drag, T0";
        least_inlet: AbsolutePressure [0.2 * BAR, BAR] 0.6 * BAR, Inlet, "least absolute inlet pressure at which its chambers fill at its fill speed";
        fill_speed: Speed [100.0 * RPM, 20_000.0 * RPM] 6000.0 * RPM, Inlet, "pump speed at which the least inlet pressure just fills it; not given: its ratio times the machine's full engine speed";
    }
}

impl<N: Real> Pump<N> {
    /// Leakage back to the inlet, m³/s, at pressure difference `dp` (Pa); `gap` is the area of the gaps (m²), `mu` the
    /// viscosity in the clearances (Pa s), `rho` the density (kg/m³).
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
