//! The types of a sweep's results.

use super::{At, Contour};
use crate::balance::{Limit, NoSteadyState};
use crate::model::Caution;
use crate::outcome;
use crate::quantity::Kind;
use crate::question::{Find, key_of};
use crate::vary::size::Figure;
use serde_json::{Map, Value, json};

outcome! {
    /// One point of a curve.
    pub struct Point {
        /// Value on the axis.
        at: At,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// The requested output.
        given: Given,
        /// What limits the fan speed.
        limited_by: Limit,
    }
}

outcome! {
    /// Fan speed and requested output along the axis, with one oil.
    pub struct Curve {
        /// Name of the oil.
        oil: String,
        /// Points of the curve; each has its value on the axis under the key of the axis.
        points: Vec<Point>,
    }
    beside {
        /// Each limit of the fan speed, and the interval of the axis in which it acts.
        stretches: Vec<(Limit, f64, f64)>,
    }
}

outcome! {
    /// The state with one oil at one value on the axis.
    pub struct Row {
        /// Key of the oil, or its name if it has no key.
        oil: String,
        /// Value on the axis.
        at: At,
        /// Value on the second axis.
        second: Second,
        /// Steady temperatures.
        settles: Settles,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// Gauge pressure at the pump outlet.
        supply_gauge_pressure: f64 as Pressure,
        /// Pressure difference across the motor.
        motor_pressure_drop: f64 as Pressure,
        /// Pump shaft power.
        pump_shaft_power: f64 as Power,
        /// The requested output.
        given: Given,
        /// What limits the fan speed.
        limited_by: Limit,
    }
}

outcome! {
    /// The result of `sweep`.
    #[derive(Default)]
    pub struct Found {
        /// A curve for each oil; empty for two axes.
        curves: Vec<Curve>,
        /// Contour lines, for two axes.
        contours: Vec<Contour>,
        /// Number of values without a steady state, for which there is therefore no state.
        without_steady_state: usize,
        /// The state with each oil at each value; the value is under the key of the axis.
        series: Vec<Row>,
    }
    beside {
        /// The values of the first axis without a steady state, SI, and why there is none.
        heats: Vec<(f64, NoSteadyState)>,
        /// For each axis, whether the output is the same along all of it.
        idle: [bool; 2],
        /// The cautions.
        cautions: Vec<Caution>,
    }
}

/// An optional value on the second axis; `None` has no key in the answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Second(pub Option<At>);

impl Find for Second {
    fn value(&self, kind: Option<Kind>) -> Value {
        self.0.map_or(Value::Null, |at| at.value(kind))
    }
    fn schema(_: Option<Kind>) -> Value {
        f64::schema(None)
    }
    fn put(&self, key: &str, kind: Option<Kind>, into: &mut Map<String, Value>) {
        if let Some(at) = &self.0 {
            at.put(key, kind, into);
        }
    }
    fn describe(_: &str, _: Option<Kind>, _: &str, _: &mut Map<String, Value>) {}
}

/// The requested output under its own key, with its uncertainty band and difference, if requested. For the fan speed,
/// the key is the same as that of `fan_speed`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given {
    /// The output.
    pub output: Figure,
    /// Value of the output, SI.
    pub value: f64,
    /// Uncertainty band of the output, SI.
    pub band: Option<(f64, f64)>,
    /// Value minus that with the first oil, and the lower and upper limit (95 %) of this difference, SI.
    pub difference: Option<(f64, f64, f64)>,
}

impl Find for Given {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.output.kind().to_json(self.value))
    }
    fn schema(_: Option<Kind>) -> Value {
        f64::schema(None)
    }
    fn put(&self, _: &str, _: Option<Kind>, into: &mut Map<String, Value>) {
        let (key, kind) = (self.output.key(), Some(self.output.kind()));
        into.insert(key_of(&key, kind), self.value(kind));
        if let Some((low, high)) = self.band {
            low.put(&format!("{}_low", key), kind, into);
            high.put(&format!("{}_high", key), kind, into);
        }
        let kind = kind.map(Kind::difference);
        if let Some((middle, low, high)) = self.difference {
            middle.put(&format!("{}_difference", key), kind, into);
            low.put(&format!("{}_difference_low", key), kind, into);
            high.put(&format!("{}_difference_high", key), kind, into);
        }
    }
    fn describe(_: &str, _: Option<Kind>, _: &str, _: &mut Map<String, Value>) {}
}

/// Steady coolant and oil temperature, K; `None`, with no keys in the answer, where the temperatures are given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settles(pub Option<[f64; 2]>);

impl Find for Settles {
    fn value(&self, _: Option<Kind>) -> Value {
        Value::Null
    }
    fn schema(_: Option<Kind>) -> Value {
        f64::schema(None)
    }
    fn put(&self, _: &str, _: Option<Kind>, into: &mut Map<String, Value>) {
        for (key, value) in ["coolant_temp", "oil_temp"]
            .iter()
            .zip(self.0.iter().flatten())
        {
            value.put(key, Some(Kind::Temperature), into);
        }
    }
    fn describe(_: &str, _: Option<Kind>, _: &str, _: &mut Map<String, Value>) {}
}
