//! Results of the question `suspects`.

use super::Misread;
use crate::model::{Caution, Hazard};
use crate::outcome;
use crate::probe::Probe;
use crate::quantity::Kind;
use crate::question::Find;
use crate::question::readings::Slip;
use serde_json::{Value, json};

outcome! {
    /// One possible explanation of the readings.
    pub struct Candidate {
        /// Key of the fault; `nothing` for the explanation that there is no significant fault.
        fault: &'static str,
        /// Probability given the readings.
        probability: f64,
        /// Severity of the fault, 5 % quantile.
        severity_low: Option<f64>,
        /// Severity of the fault, median.
        severity: Option<f64>,
        /// Severity of the fault, 95 % quantile.
        severity_high: Option<f64>,
    }
}

outcome! {
    /// A test that has not been made yet.
    pub struct NextTest {
        /// The key of the test.
        test: &'static str,
        /// Expected information gain about the cause, bits.
        bits: f64 = "information_bits",
        /// Duration, minutes.
        effort_minutes: f64,
        /// Hazards.
        hazards: Vec<Hazard>,
    }
    beside {
        /// The declaration of the test.
        probe: &'static Probe,
    }
}

outcome! {
    /// Two simultaneous faults that together would explain the readings.
    pub struct Pair {
        /// The keys of both faults.
        faults: Vec<&'static str>,
        /// Probability of this pair relative to all pairs.
        probability: f64,
    }
}

outcome! {
    /// The result of `suspects`.
    pub struct Found {
        /// Number of readings.
        readings: usize,
        /// All explanations, most probable first.
        candidates: Vec<Candidate> = "suspects",
        /// The remaining tests, in recommended order.
        next_tests: Vec<NextTest>,
        /// Pairs of faults that these readings hardly distinguish.
        twins: Vec<Vec<&'static str>>,
        /// Whether no single fault explains the readings.
        unexplained: bool,
        /// Whether the fan hardly turned at full command: its speed then says little about the cause.
        stands: bool = "fan_stands",
        /// Probability of deviations as large as those observed under the best-fitting explanation.
        chance: f64 = "chance_of_such_readings",
        /// Pairs of simultaneous faults that would explain the readings if no single fault does, most probable first.
        pairs: Vec<Pair>,
        /// Probability that the oil itself is at fault.
        oil_probability: f64,
        /// An error in all readings of one kind, such as `blades_7` if each of 7 blades was counted as a revolution.
        misread: Option<Misread>,
        /// How firmly the most probable explanation can be concluded: from its probability (also with other prior
        /// weights), from whether readings of the healthy machine exist, and from how well the readings fit.
        strength: Strength,
    }
    beside {
        /// Number of explanations that are worth reporting.
        worth: usize,
        /// Readings without which the others would fit.
        outliers: Vec<Outlier>,
        /// Range (90 %) of the expected reading of the first remaining test under each probable explanation.
        expected: Vec<Expected>,
        /// For each reading, how well the most probable explanations fit it.
        explains: Vec<Explains>,
        /// The cautions.
        cautions: Vec<Caution>,
    }
}

/// How firmly a cause can be concluded from the readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Strength {
    /// The cause cannot be determined yet.
    CannotTell,
    /// The readings point to the cause.
    LeansTo,
    /// The cause is likely.
    Likely,
    /// The cause is confirmed by readings of more than one kind and comparison with the healthy machine.
    Settled,
}

impl Strength {
    /// All levels, from weakest to strongest.
    pub const ALL: [Strength; 4] = [
        Strength::CannotTell,
        Strength::LeansTo,
        Strength::Likely,
        Strength::Settled,
    ];

    /// Key of the level in JSON output.
    pub fn key(self) -> &'static str {
        match self {
            Strength::CannotTell => "cannot_tell",
            Strength::LeansTo => "leans_to",
            Strength::Likely => "likely",
            Strength::Settled => "settled",
        }
    }
}

impl Find for Misread {
    fn value(&self, _: Option<Kind>) -> Value {
        json!({"slip": self.slip.key(), "probability": self.probability, "assumed": self.assumed})
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "object", "properties": {
            "slip": {"type": "string"},
            "probability": {"type": "number"},
            "assumed": {"type": "boolean"},
        }})
    }
}

impl Find for Strength {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.key())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string", "enum": Strength::ALL.map(Strength::key)})
    }
}

/// A reading without which the others would fit.
#[derive(Clone, Copy, Debug)]
pub struct Outlier {
    /// Index of the reading, from 0.
    pub reading: usize,
    /// The value at which the reading would fit, SI.
    pub would_fit: f64,
    /// The typing error that would explain the reading.
    pub slip: Option<Slip>,
}

/// The expected reading of a test if one hypothesis is true.
#[derive(Clone, Copy, Debug)]
pub struct Expected {
    /// The key of the fault, or `nothing`.
    pub fault: &'static str,
    /// Probability of the hypothesis from the readings so far.
    pub probability: f64,
    /// Range that contains the reading with a probability of 90 % if the hypothesis is true, SI.
    pub range: (f64, f64),
}

/// The value of each reading as predicted by one hypothesis from the other readings.
#[derive(Clone, Debug)]
pub struct Explains {
    /// The key of the fault, or `nothing`.
    pub fault: &'static str,
    /// For each reading: the predicted value, SI, and the reading's deviation from it in standard deviations; none if the
    /// reading is a lower bound that the predicted value meets.
    pub readings: Vec<(f64, Option<f64>)>,
}

impl Found {
    /// The explanations that are worth reporting.
    pub fn worth(&self) -> &[Candidate] {
        self.candidates.get(..self.worth).unwrap_or_default()
    }

    /// The test to make next, if any is informative.
    pub fn next(&self) -> Option<&NextTest> {
        self.next_tests.first().filter(|t| t.bits > 0.005)
    }
}
