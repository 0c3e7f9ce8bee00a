//! Results of the `why` question.

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
    /// Contributions of the oil's grade and of its temperature to a difference.
    pub struct Split {
        /// Effect of the grade on the fan speed.
        grade: f64 as Speed,
        /// Effect of the temperature on the fan speed.
        temperature: f64 as Speed,
    }
}

outcome! {
    /// The baseline, and the contribution of each place in the circuit to the difference.
    pub struct Comparison {
        /// The steady temperatures of the baseline, if requested.
        settled: Option<Settled> = "settled_against",
        /// Fan speed of the baseline.
        fan_speed: f64 as Speed = "fan_speed_against",
        /// Fan speed minus that of the baseline.
        difference: f64 as Speed,
        /// Lower limit of the difference within the machine's ± (95 %).
        difference_low: Option<f64> as Speed,
        /// Upper limit of the difference within the machine's ± (95 %).
        difference_high: Option<f64> as Speed,
        /// What limits the baseline's fan speed.
        limit: Limit = "limited_by_against",
        /// Contribution of each place in the circuit, such as motor friction, to the difference; null if the machines
        /// differ in parts or choices.
        shares: Option<Keyed<f64>> as Speed,
        /// Lower limit of each contribution within the machine's ± (95 %).
        shares_low: Option<Keyed<f64>> as Speed,
        /// Upper limit of each contribution within the machine's ± (95 %).
        shares_high: Option<Keyed<f64>> as Speed,
        /// The oil's contribution by grade and by temperature, if both differ.
        split: Option<Split> = "grade_or_temperature",
    }
    beside {
        /// The band of the difference.
        band: Option<Difference>,
        /// Whether there is no difference to explain.
        equal: bool,
        /// Change of the baseline's fan speed with an oil 10 % more viscous, rad/s.
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
        /// The reading at other oil temperatures.
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
        /// Change of fan speed with an oil 10 % more viscous, rad/s.
        more_viscous: f64,
        /// Viscosity of the oil, m²/s.
        viscosity: f64,
        /// Each limit, and the interval of viscosity in which it acts, m²/s.
        stretches: Vec<(Limit, f64, f64)>,
        /// The cautions.
        cautions: Vec<Caution>,
    }
}
