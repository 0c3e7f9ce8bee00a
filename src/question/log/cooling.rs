//! Cooling of the engine at each pace, and where it runs hot.

use crate::outcome;
use crate::quantity::Kind;
use crate::question::Find;
use crate::vary::log::{ByPace, Heat, Interval, Pace};
use serde_json::{Value, json};

outcome! {
    /// Coolant temperature and cooling of the warm engine at one pace. Half-widths are those of 95 % confidence
    /// intervals.
    pub struct AtPace {
        /// The pace: the range of road speed.
        pace: Pace,
        /// Fraction of the time at this pace.
        time_share: f64,
        /// Number of two-minute intervals at this pace with a warm engine.
        warm_stretches: usize,
        /// Mean coolant temperature in the warm intervals.
        coolant: Option<f64> as Temperature,
        /// Half-width of the mean coolant temperature.
        coolant_half_width: Option<f64> as TemperatureDifference,
        /// Mean excess of the coolant temperature over ambient temperature.
        above_ambient: Option<f64> as TemperatureDifference,
        /// Half-width of the mean excess over ambient temperature.
        above_ambient_half_width: Option<f64> as TemperatureDifference,
        /// Mean rate of rise of the coolant temperature.
        rise: Option<f64> = "rise_k_per_min",
        /// Half-width of the mean rate of rise.
        rise_half_width: Option<f64> = "rise_half_width_k_per_min",
        /// Number of intervals with a steady temperature, from which the conductance is computed.
        steady_stretches: usize,
        /// Thermal conductance: heat flow into the coolant per kelvin of coolant temperature above ambient.
        conductance: Option<f64> as Conductance,
        /// Half-width of the thermal conductance.
        conductance_half_width: Option<f64> as Conductance,
        /// Whether thermostat and fan were at their maximum in the steady intervals; otherwise more cooling may be
        /// available.
        thermostat_full_open: bool,
    }
}

/// Seconds in a minute.
const MINUTE: f64 = 60.0;

impl AtPace {
    /// Converts the result at one pace for output.
    pub(super) fn of(line: &ByPace) -> Self {
        let mean = |i: Option<Interval>| i.map(|i| i.mean);
        let half = |i: Option<Interval>| i.map(|i| i.half);
        let count = |i: Option<Interval>| i.map_or(0, |i| i.count);
        Self {
            pace: line.pace,
            time_share: line.share,
            warm_stretches: count(line.coolant),
            coolant: mean(line.coolant),
            coolant_half_width: half(line.coolant),
            above_ambient: mean(line.excess),
            above_ambient_half_width: half(line.excess),
            rise: mean(line.rise).map(|r| r * MINUTE),
            rise_half_width: half(line.rise).map(|r| r * MINUTE),
            steady_stretches: count(line.conductance),
            conductance: mean(line.conductance),
            conductance_half_width: half(line.conductance),
            thermostat_full_open: line.at_full,
        }
    }
}

impl Find for Pace {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.key())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string", "enum": Pace::ALL.map(Pace::key)})
    }
}

/// Values in JSON: which flow gives the heat into the coolant, and why the heat is unknown.
pub(super) fn heat_from(heat: &Heat) -> (&'static str, &'static str) {
    match heat {
        Heat::Fuel(_) => ("fuel", ""),
        Heat::Air => ("air", ""),
        Heat::Unknown(why) => ("unknown", why),
    }
}
