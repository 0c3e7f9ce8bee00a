//! Valves that open with pressure: the control valve that bypasses oil around the motor, and the main relief valve.

use crate::input::unit::{BAR, L_MIN, MM, RPM};
use crate::law::orifice_flow_merritt_1967 as orifice;
use crate::numeric::{Over, Real, greater, lesser};

crate::part! {
    /// The control valve. Its cracking pressure follows the command.
    Valve {
        low: Pressure [0.1 * BAR, 300.0 * BAR] 4.0 * BAR, Valve, "cracking pressure difference at zero command";
        high: Pressure [BAR, 400.0 * BAR] f64::NAN, Valve, "cracking pressure difference at full command";
        slope: ValveSlope [1e-3 * BAR / L_MIN, 100.0 * BAR / L_MIN] 0.3 * BAR / L_MIN, Valve, "pressure override: rise of pressure per unit of flow";
        leak: Length [0.0, 10.0 * MM] 0.0, Valve, "diameter of an orifice that leaks as much as the closed valve; 0 when healthy";
        least_command: Share [0.0, 1.0] 0.0, Valve, "lowest command that the valve can follow; 0 if it moves freely, 1 if it is stuck at full command";
    }
}

crate::part! {
    /// The main relief valve at the pump.
    Relief {
        setting: Pressure [BAR, 500.0 * BAR] f64::NAN, Relief, "cracking pressure";
        slope: ValveSlope [1e-3 * BAR / L_MIN, 100.0 * BAR / L_MIN] 0.3 * BAR / L_MIN, Relief, "pressure override: rise of pressure per unit of flow";
    }
}

crate::part! {
    /// The command to the control valve.
    Control {
        ceiling: Share [0.0, 1.0] 1.0, Valve, "highest command that reaches the valve; 1 when the control is healthy";
        fail_safe: Share [0.0, 1.0] 1.0, Valve, "fail-safe command: the command that corresponds to the position of the unpowered valve";
    }
}

crate::part! {
    /// A control that regulates fan speed instead of pressure.
    Governor {
        full_speed: Speed [100.0 * RPM, 14_000.0 * RPM] f64::NAN, Valve, "fan speed held at full command";
    }
}

/// Discharge coefficient of the orifice that represents the leakage of the closed valve: a sharp edge in turbulent flow
/// (Merritt 1967).
const LEAK_DISCHARGE: f64 = 0.61;

impl<N: Real> Valve<N> {
    /// Pressure difference, Pa, at which the valve begins to open, for a `command` of 0 to 1.
    pub fn opens_at(&self, command: N) -> N {
        self.low + (self.high - self.low) * greater(command, self.least_command)
    }

    /// Flow through the open valve, m³/s, at pressure difference `dp` (Pa). It is linear in pressure, and negative
    /// below the cracking pressure; the caller handles that case.
    pub fn open_flow<M: Over<N>>(&self, dp: M, opens_at: N) -> M {
        (dp - opens_at) / self.slope
    }

    /// Leakage through the closed valve, m³/s, at pressure difference `dp` (Pa) and oil density `rho` (kg/m³).
    pub fn leak_flow<M: Over<N>>(&self, dp: M, rho: N) -> M {
        let area = self.leak * self.leak * std::f64::consts::FRAC_PI_4;
        orifice::flow(N::from(LEAK_DISCHARGE), area, dp, rho)
    }
}

impl<N: Real> Relief<N> {
    /// Flow through the open valve, m³/s, at pressure difference `dp` (Pa). It is linear in pressure, and negative
    /// below the cracking pressure; the caller handles that case.
    pub fn open_flow<M: Over<N>>(&self, dp: M) -> M {
        (dp - self.setting) / self.slope
    }
}

impl<N: Real> Control<N> {
    /// The command that reaches the valve: the fail-safe command if the valve is `unplugged`, otherwise `command` up to
    /// the ceiling.
    pub fn passes(&self, command: N, unplugged: bool) -> N {
        if unplugged {
            self.fail_safe
        } else {
            lesser(command, self.ceiling)
        }
    }
}
