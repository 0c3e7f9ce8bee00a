//! Results of the question about causes.

use super::Misread;
use crate::model::{Caution, Hazard};
use crate::outcome;
use crate::probe::Probe;
use crate::quantity::Kind;
use crate::question::Find;
use crate::question::readings::Slip;
use serde_json::{Value, json};

outcome! {
    /// One explanation of the readings.
    pub struct Candidate {
        /// Key of the fault; `nothing` for the explanation that there is no significant fault.
        fault: &'static str,
        /// Probability after the readings.
        probability: f64,
        /// Severity, 5 % quantile.
        severity_low: Option<f64>,
        /// Severity, median.
        severity: Option<f64>,
        /// Severity, 95 % quantile.
        severity_high: Option<f64>,
    }
}

outcome! {
    /// A remaining test.
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
    /// Two faults at once that would explain the readings.
    pub struct Pair {
        /// The keys of both.
        faults: Vec<&'static str>,
        /// Probability of this pair among all pairs.
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
        /// Probability of such large deviations under the best-fitting explanation.
        chance: f64 = "chance_of_such_readings",
        /// Pairs of simultaneous faults that would explain the readings if no single fault does, most probable first.
        pairs: Vec<Pair>,
        /// Probability that the oil itself is at fault.
        oil_probability: f64,
        /// An error common to all readings of a kind: `blades_7` if each of 7 blades was counted as a revolution.
        misread: Option<Misread>,
        /// Strength of the conclusion on the most probable explanation: from its probability (also with other prior
        /// weights), the baseline, and the fit of the readings.
        strength: Strength,
    }
    beside {
        /// Number of explanations worth reporting.
        worth: usize,
        /// Readings whose omission makes the others fit.
        outliers: Vec<Outlier>,
        /// Expected reading (90 %) of the first remaining test under each probable explanation.
        expected: Vec<Expected>,
        /// How well the most probable explanations fit each reading.
        explains: Vec<Explains>,
        /// The cautions.
        cautions: Vec<Caution>,
    }
}

/// Strength of the conclusion on a cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Strength {
    /// The cause cannot be determined yet.
    CannotTell,
    /// The readings point to the cause.
    LeansTo,
    /// The cause is likely.
    Likely,
    /// The cause is confirmed, by the machine's own baseline and all readings.
    Settled,
}

impl Strength {
    /// All levels of strength.
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
        json!({"slip": self.slip.key(), "probability": self.probability})
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "object", "properties": {
            "slip": {"type": "string"},
            "probability": {"type": "number"},
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

/// A reading whose omission makes the others fit.
#[derive(Clone, Copy, Debug)]
pub struct Outlier {
    /// Index of the reading, from 0.
    pub reading: usize,
    /// The value of the reading that would fit, SI.
    pub would_fit: f64,
    /// The typing error that would explain the reading.
    pub slip: Option<Slip>,
}

/// The expected reading of a test under one hypothesis.
#[derive(Clone, Copy, Debug)]
pub struct Expected {
    /// The key of the fault, or `nothing`.
    pub fault: &'static str,
    /// Present probability of the hypothesis.
    pub probability: f64,
    /// Limits of the expected reading (90 %), SI.
    pub range: (f64, f64),
}

/// The value of each reading that one hypothesis predicts from the others.
#[derive(Clone, Debug)]
pub struct Explains {
    /// The key of the fault, or `nothing`.
    pub fault: &'static str,
    /// For each reading: the predicted value, SI, and the deviation in standard deviations.
    pub readings: Vec<(f64, f64)>,
}

impl Found {
    /// The hypotheses worth reporting.
    pub fn worth(&self) -> &[Candidate] {
        self.candidates.get(..self.worth).unwrap_or_default()
    }

    /// The test to make next, if any is informative.
    pub fn next(&self) -> Option<&NextTest> {
        self.next_tests.first().filter(|t| t.bits > 0.005)
    }
}
