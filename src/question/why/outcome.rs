//! What `why` finds.

use crate::balance::{Limit, State};
use crate::model::{Caution, Settled};
use crate::outcome;
use crate::quantity::Kind;
use crate::question::{Find, Flat, Keyed};
use crate::vary::band::Difference;
use serde_json::Value;

/// Intervals of viscosity, m²/s; in mm²/s in JSON.
#[derive(Clone, Debug, PartialEq)]
pub struct Viscosities(pub Vec<(f64, f64)>);

impl Find for Viscosities {
    fn value(&self, _: Option<Kind>) -> Value {
        self.0.value(Some(Kind::KinematicViscosity))
    }
    fn schema(_: Option<Kind>) -> Value {
        Vec::<(f64, f64)>::schema(None)
    }
}

outcome! {
    /// How a difference splits between the oil's grade and its temperature.
    pub struct Split {
        /// Effect of the grade on the fan speed.
        grade: f64 as Speed,
        /// Effect of the temperature on the fan speed.
        temperature: f64 as Speed,
    }
}

outcome! {
    /// The baseline, and the contributions of places to the difference.
    pub struct Comparison {
        /// The steady temperatures of the baseline, if requested.
        settled: Option<Settled> = "settled_against",
        /// Fan speed of the baseline.
        fan_speed: f64 as Speed = "fan_speed_against",
        /// Fan speed minus that of the baseline.
        difference: f64 as Speed,
        /// Low end of the difference within the machine's ± (95 %).
        difference_low: Option<f64> as Speed,
        /// High end of the same.
        difference_high: Option<f64> as Speed,
        /// What limits the baseline's fan speed.
        limit: Limit = "limited_by_against",
        /// Contribution of each place to the difference; null if the machines differ in parts or choices.
        shares: Option<Keyed<f64>> as Speed,
        /// Low end of each contribution within the machine's ± (95 %).
        shares_low: Option<Keyed<f64>> as Speed,
        /// High end of the same.
        shares_high: Option<Keyed<f64>> as Speed,
        /// The oil's contribution by grade and by temperature, if both differ.
        split: Option<Split> = "grade_or_temperature",
    }
    beside {
        /// The band of the difference.
        band: Option<Difference>,
        /// Whether there is no difference to explain.
        equal: bool,
        /// Change of the baseline's fan speed for an oil 10 % more viscous, rad/s.
        more_viscous: f64,
        /// Viscosity of the baseline's oil, m²/s.
        viscosity: f64,
    }
}

outcome! {
    /// The reading at another oil temperature.
    pub struct AtOilTemp {
        /// Oil temperature.
        oil_temp: f64 as Temperature,
        /// Computed fan speed.
        fan_speed: f64 as Speed,
        /// Intervals of viscosity (mm²/s) that would explain the reading at this temperature.
        needed: Viscosities = "viscosities_needed",
        /// Speed difference that remains unexplained with the best oil in common use.
        unexplained: f64 as Speed,
    }
    beside {
        /// Minimum and maximum viscosity of the oils in common use at this temperature, m²/s.
        poured: (f64, f64),
    }
}

outcome! {
    /// Whether the oil alone can explain a reading.
    pub struct Explanation {
        /// Intervals of viscosity (mm²/s) that would explain the reading.
        needed: Viscosities = "viscosities_needed",
        /// Viscosity range of the oils in common use.
        poured: Vec<(f64, f64)> as KinematicViscosity = "viscosities_poured",
        /// Remaining difference with the best of these oils: computed minus measured.
        unexplained: f64 as Speed,
        /// Probability that the oil itself is the cause, among all causes considered by `suspects`.
        oil_probability: f64,
        /// The same reading at other oil temperatures.
        over_oil_temp: Vec<AtOilTemp>,
    }
}

outcome! {
    /// The state at one viscosity.
    pub struct Step {
        /// Viscosity of the oil at its temperature.
        viscosity: f64 as KinematicViscosity,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// What limits the fan speed.
        limited_by: Limit,
    }
}

outcome! {
    /// The result of `why`.
    pub struct Found {
        /// The state of the circuit.
        state: State,
        /// The steady temperatures, if requested.
        settled: Option<Settled>,
        /// What limits the fan speed.
        limit: Limit = "limited_by",
        /// The baseline.
        comparison: Flat<Option<Comparison>>,
        /// Whether the oil alone can explain the reading.
        explanation: Flat<Option<Explanation>>,
        /// The state at each viscosity.
        series: Vec<Step>,
    }
    beside {
        /// Change of fan speed for an oil 10 % more viscous, rad/s.
        more_viscous: f64,
        /// Viscosity of the oil, m²/s.
        viscosity: f64,
        /// Where each limit acts along the viscosity, m²/s.
        stretches: Vec<(Limit, f64, f64)>,
        /// The cautions.
        cautions: Vec<Caution>,
    }
}
