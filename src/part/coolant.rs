//! The coolant side: the coolant, the coolant pump, the thermostat, and the fan control.

use crate::input::unit::{BAR, L, L_MIN, RPM, celsius};
use crate::numeric::{Real, greater, lesser, positive};

crate::part! {
    /// The coolant, and the pressure cap of the cooling system.
    Coolant {
        glycol: Share [0.0, 0.7] 0.5, Heat, "fraction of ethylene glycol by volume; the rest is water";
        cap: Pressure [0.0, 3.0 * BAR] BAR, Heat, "gauge pressure at which the pressure cap opens";
        limit: Temperature [celsius(80.0), celsius(130.0)] celsius(110.0), Heat, "maximum allowed coolant temperature at the engine outlet";
        volume: Volume [0.2 * L, 300.0 * L] 9.0 * L, Heat, "coolant volume in block, head and hoses (default quoted from memory)";
        heater: Conductance [0.0, 5e3] 80.0, Heat, "conductance of the cabin heater at full heat, from coolant to ambient air (engineering assumption)";
        air_conditioning_off: Temperature [celsius(90.0), celsius(140.0)] celsius(117.0), Heat, "coolant temperature at which the air conditioning cuts out";
    }
}

crate::part! {
    /// The engine-driven coolant pump.
    CoolantPump {
        flow: Flow [L_MIN, 3000.0 * L_MIN] f64::NAN, Heat, "coolant flow at the rated engine speed with the thermostat fully open";
        rated_speed: Speed [500.0 * RPM, 9000.0 * RPM] f64::NAN, Heat, "rated engine speed: the speed at which the coolant pump delivers its rated flow";
        health: Share [0.0, 1.0] 1.0, Heat, "fraction of the pump's flow that remains; 1 when healthy";
    }
}

crate::part! {
    /// The thermostat, which controls how much coolant flows through the radiator.
    Thermostat {
        opens: Temperature [celsius(40.0), celsius(120.0)] celsius(88.0), Heat, "coolant temperature at which the thermostat begins to open";
        full: Temperature [celsius(45.0), celsius(130.0)] celsius(100.0), Heat, "coolant temperature at which the thermostat is fully open";
        least: Share [0.0, 1.0] 0.0, Heat, "minimum opening; 0 when healthy, more if it does not close fully";
        most: Share [0.0, 1.0] 1.0, Heat, "maximum opening; 1 when healthy, less if it sticks";
    }
}

crate::part! {
    /// The fan control, which sets the fan command from the coolant temperature.
    FanControl {
        begins: Temperature [celsius(40.0), celsius(130.0)] celsius(90.0), Heat, "coolant temperature up to which the command is at its minimum";
        full: Temperature [celsius(41.0), celsius(140.0)] celsius(103.0), Heat, "coolant temperature above which the command is full";
        air_conditioning: Share [0.0, 1.0] 0.5, Heat, "minimum fan command with the air conditioning on";
        hysteresis: TemperatureDifference [0.0, 20.0] 2.0, Heat, "hysteresis: how far the coolant temperature must fall before the command is reduced (default quoted from memory)";
        delay: Time [0.0, 120.0] 3.0, Heat, "delay: how long the coolant temperature must stay beyond the threshold before the command changes (default quoted from memory)";
    }
}

/// How far `t` is from `low` towards `high`: 0 at or below `low`, 1 at or above `high`.
fn between<N: Real>(t: N, low: N, high: N) -> N {
    lesser(
        positive((t - low) / greater(high - low, N::from(0.1))),
        N::from(1.0),
    )
}

/// Hysteresis of the air-conditioning cut-out, K: the compressor restarts this far below the cut-out temperature
/// *(common practice, no source)*.
const BACK_ON: f64 = 3.0;

impl<N: Real> Coolant<N> {
    /// Fraction of the time for which the air conditioning may run at coolant temperature `t` (K); near its cut-out
    /// temperature it cycles on and off.
    pub fn lets_air_conditioning(&self, t: N) -> N {
        let low = self.air_conditioning_off - BACK_ON;
        N::from(1.0) - between(t, low, self.air_conditioning_off)
    }
}

/// Ambient temperatures, K, between which the load of the air conditioning rises from nothing to full: below the first
/// a switch keeps the compressor off *(common practice, no source)*, from the second the refrigerant condenses about as
/// far above ambient on every day (`validation/condensing_at_idle`), as it does at full load. That the load is linear in
/// between is an engineering assumption.
const AIR_CONDITIONING_LOADS: [f64; 2] = [celsius(5.0), celsius(25.0)];

/// Load of the air conditioning at ambient temperature `t` (K), as a fraction of its full load.
pub fn air_conditioning_load<N: Real>(t: N) -> N {
    let [none, full] = AIR_CONDITIONING_LOADS.map(N::from);
    between(t, none, full)
}

impl<N: Real> CoolantPump<N> {
    /// Coolant flow, m³/s, at engine speed `n` (rad/s) with the thermostat fully open.
    pub fn flow_at(&self, n: N) -> N {
        self.flow * self.health * n / self.rated_speed
    }
}

impl<N: Real> Thermostat<N> {
    /// Fraction of the coolant flow that passes through the radiator at coolant temperature `t` (K).
    pub fn opening(&self, t: N) -> N {
        lesser(
            greater(between(t, self.opens, self.full), self.least),
            self.most,
        )
    }

    /// Whether the thermostat is fully open at `t` (K).
    pub fn is_open(&self, t: N) -> bool {
        t.re() >= self.full.re() - 1e-9
    }
}

impl<N: Real> FanControl<N> {
    /// The fan command (0 to 1) at coolant temperature `t` (K), without the minimum for air conditioning.
    pub fn ramp(&self, t: N) -> N {
        between(t, self.begins, self.full)
    }

    /// Raises the fan command `asked` (0 to 1), if necessary, to the minimum for air conditioning; `air_conditioning`
    /// is the fraction of the time for which it runs.
    pub fn with_air_conditioning(&self, asked: N, air_conditioning: N) -> N {
        greater(asked, self.air_conditioning * air_conditioning)
    }

    /// The fan command (0 to 1) at coolant temperature `t` (K); `air_conditioning` is the fraction of the time for
    /// which the air conditioning runs.
    pub fn command(&self, t: N, air_conditioning: N) -> N {
        self.with_air_conditioning(self.ramp(t), air_conditioning)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thermostat_opens_between_its_temperatures_and_sticks_where_it_is_told() {
        let sound: Thermostat = Thermostat {
            opens: 360.0,
            full: 372.0,
            least: 0.0,
            most: 1.0,
        };
        assert!(sound.opening(350.0).abs() < 1e-15);
        assert!((sound.opening(366.0) - 0.5).abs() < 1e-12);
        assert!(sound.is_open(372.0) && !sound.is_open(371.0));
        let stuck = Thermostat {
            least: 0.3,
            most: 0.4,
            ..sound
        };
        assert!((stuck.opening(300.0) - 0.3).abs() < 1e-15);
        assert!((stuck.opening(400.0) - 0.4).abs() < 1e-15);
    }
}
