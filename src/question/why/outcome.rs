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
    /// Contributions of the oil's grade and of its temperature to a difference in fan speed.
    pub struct Split {
        /// Contribution of the oil's grade to the difference in fan speed.
        grade: f64 as Speed,
        /// Contribution of the oil temperature to the difference in fan speed.
        temperature: f64 as Speed,
    }
}

outcome! {
    /// Comparison with the baseline: the difference, and what each place in the circuit contributes to it.
    pub struct Comparison {
        /// The steady oil temperature and the warm-up time of the baseline, if requested.
        settled: Option<Settled> = "settled_against",
        /// Fan speed of the baseline.
        fan_speed: f64 as Speed = "fan_speed_against",
        /// Fan speed of the case minus that of the baseline.
        difference: f64 as Speed,
        /// Lower limit of the difference within the machine's uncertainty (95 %).
        difference_low: Option<f64> as Speed,
        /// Upper limit of the difference within the machine's uncertainty (95 %).
        difference_high: Option<f64> as Speed,
        /// What limits the baseline's fan speed.
        limit: Limit = "limited_by_against",
        /// Contribution of each place in the circuit, such as motor friction, to the difference; null if the machines
        /// differ in their parts or configuration options.
        shares: Option<Keyed<f64>> as Speed,
        /// Lower limit of each contribution within the machine's uncertainty (95 %).
        shares_low: Option<Keyed<f64>> as Speed,
        /// Upper limit of each contribution within the machine's uncertainty (95 %).
        shares_high: Option<Keyed<f64>> as Speed,
        /// The oil's contribution split into those of grade and temperature, if both differ.
        split: Option<Split> = "grade_or_temperature",
    }
    beside {
        /// Uncertainty band of the difference.
        band: Option<Difference>,
        /// Whether the two fan speeds are equal, so that there is nothing to explain.
        equal: bool,
        /// Change of the baseline's fan speed if its oil were 10 % more viscous, rad/s.
        more_viscous: f64,
        /// Viscosity of the baseline's oil, m²/s.
        viscosity: f64,
    }
}

outcome! {
    /// Whether the oil alone could explain the reading at another oil temperature.
    pub struct AtOilTemp {
        /// Oil temperature.
        oil_temp: f64 as Temperature,
        /// Computed fan speed.
        fan_speed: f64 as Speed,
        /// Intervals of viscosity (mm²/s) that would explain the reading within its ± and the model's error at this
        /// temperature.
        needed: Viscosities = "viscosities_needed",
        /// Difference between computed and measured fan speed that remains with the best-fitting oil in common use.
        unexplained: f64 as Speed,
    }
    beside {
        /// Minimum and maximum viscosity of the oils in common use at this temperature, m²/s; the minimum is that of a
        /// sheared, wrong or diluted oil.
        poured: (f64, f64),
    }
}

outcome! {
    /// Whether the oil alone can explain a reading.
    pub struct Explanation {
        /// Intervals of viscosity (mm²/s) that would explain the reading within its ± and the model's error.
        needed: Viscosities = "viscosities_needed",
        /// Viscosity range of the oils in common use, down to this machine's oil when it is sheared, of the wrong grade
        /// or diluted with fuel as far as `suspects` considers.
        poured: Vec<(f64, f64)> as KinematicViscosity = "viscosities_poured",
        /// Computed minus measured fan speed that remains with the best-fitting of these oils.
        unexplained: f64 as Speed,
        /// Probability that the oil itself is the cause, among all causes considered by `suspects`.
        oil_probability: f64,
        /// Whether the oil could explain the reading at other oil temperatures.
        over_oil_temp: Vec<AtOilTemp>,
    }
}

outcome! {
    /// Fan speed at one viscosity.
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
        /// The steady oil temperature and the warm-up time, if requested.
        settled: Option<Settled>,
        /// What limits the fan speed.
        limit: Limit = "limited_by",
        /// Comparison with the baseline, if one was requested.
        comparison: Flat<Option<Comparison>>,
        /// Whether the oil alone can explain the measured fan speed, if one was given.
        explanation: Flat<Option<Explanation>>,
        /// Fan speed over a range of viscosities.
        series: Vec<Step>,
    }
    beside {
        /// Change of fan speed if the oil were 10 % more viscous, rad/s.
        more_viscous: f64,
        /// Viscosity of the oil, m²/s.
        viscosity: f64,
        /// Each limit, and the interval of viscosity in which it acts, m²/s.
        stretches: Vec<(Limit, f64, f64)>,
        /// The cautions.
        cautions: Vec<Caution>,
    }
}
