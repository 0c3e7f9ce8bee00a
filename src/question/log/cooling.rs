//! Where the engine runs hot: cooling versus pace.

use crate::outcome;
use crate::quantity::Kind;
use crate::question::Find;
use crate::vary::log::{ByPace, Heat, Hot, Interval, Pace};
use serde_json::{Value, json};

outcome! {
    /// The warm engine at one pace, from a log. A half-width covers about 95 of 100 cases.
    pub struct AtPace {
        /// The pace.
        pace: Pace,
        /// Fraction of the time at that pace.
        time_share: f64,
        /// Number of warm two-minute intervals at that pace.
        warm_stretches: usize,
        /// Mean coolant temperature in these intervals.
        coolant: Option<f64> as Temperature,
        /// Half-width of that mean.
        coolant_half_width: Option<f64> as TemperatureDifference,
        /// Excess of the coolant temperature above ambient.
        above_ambient: Option<f64> as TemperatureDifference,
        /// Half-width of that excess.
        above_ambient_half_width: Option<f64> as TemperatureDifference,
        /// Rate of rise of the coolant.
        rise: Option<f64> = "rise_k_per_min",
        /// Half-width of that rate.
        rise_half_width: Option<f64> = "rise_half_width_k_per_min",
        /// Number of steady intervals, from which the conductance is computed.
        steady_stretches: usize,
        /// Heat flow into the coolant per kelvin above ambient.
        conductance: Option<f64> as Conductance,
        /// Half-width of that conductance.
        conductance_half_width: Option<f64> as Conductance,
        /// Whether thermostat and fan were at their maximum in these intervals; otherwise more cooling may be
        /// available.
        thermostat_full_open: bool,
    }
}

/// Seconds in a minute.
const MINUTE: f64 = 60.0;

impl AtPace {
    /// The result at a pace.
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

/// The keys in JSON: where it runs hot, and why that is unknown.
pub(super) fn where_hot(hot: &Hot) -> (&'static str, &'static str) {
    match hot {
        Hot::Standing => ("standing", ""),
        Hot::Moving => ("moving", ""),
        Hot::Both => ("both", ""),
        Hot::Nowhere => ("nowhere", ""),
        Hot::CannotTell(why) => ("cannot_tell", why),
    }
}

/// The keys in JSON: the source of the heat, and why it is unknown.
pub(super) fn heat_from(heat: &Heat) -> (&'static str, &'static str) {
    match heat {
        Heat::Fuel(_) => ("fuel", ""),
        Heat::Air => ("air", ""),
        Heat::Unknown(why) => ("unknown", why),
    }
}
