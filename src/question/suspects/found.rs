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
        /// The key of the fault; `nothing` where nothing is wrong that matters.
        fault: &'static str,
        /// Its probability after the readings.
        probability: f64,
        /// Severity below which it lies with 5 %.
        severity_low: Option<f64>,
        /// Median of its severity.
        severity: Option<f64>,
        /// Severity below which it lies with 95 %.
        severity_high: Option<f64>,
    }
}

outcome! {
    /// A test that is still to be made.
    pub struct NextTest {
        /// The key of the test.
        test: &'static str,
        /// Expected information about the cause, bits.
        bits: f64 = "information_bits",
        /// Minutes that it takes.
        effort_minutes: f64,
        /// What can hurt on the way.
        hazards: Vec<Hazard>,
    }
    beside {
        /// The test itself.
        probe: &'static Probe,
    }
}

outcome! {
    /// Two faults at once that would explain the readings.
    pub struct Pair {
        /// The keys of both.
        faults: Vec<&'static str>,
        /// The fraction of this pair among all pairs.
        probability: f64,
    }
}

outcome! {
    /// What `suspects` finds.
    pub struct Found {
        /// How many readings there are.
        readings: usize,
        /// Every explanation, the most likely first.
        candidates: Vec<Candidate> = "suspects",
        /// The tests that are still to be made, the one to make first first.
        next_tests: Vec<NextTest>,
        /// Pairs of faults that these readings hardly tell apart.
        twins: Vec<Vec<&'static str>>,
        /// Whether no single fault explains the readings.
        unexplained: bool,
        /// The chance of readings this far off under the explanation that fits best.
        chance: f64 = "chance_of_such_readings",
        /// Two faults at once that would explain what none alone does, the most likely first.
        pairs: Vec<Pair>,
        /// Probability that the oil itself is at fault.
        oil_probability: f64,
        /// A slip that is on all readings of a kind: `blades_7` where each of 7 blades was counted as a turn.
        misread: Option<Misread>,
        /// How strongly the most likely explanation can be named: by its probability, also with other weights
        /// beforehand, by whether there is a baseline, and by whether the readings fit.
        strength: Strength,
    }
    beside {
        /// How many of the explanations are worth a line.
        worth: usize,
        /// Readings without which the rest fits.
        outliers: Vec<Outlier>,
        /// What the first of the next tests would read under the likely explanations, nine times in ten.
        expected: Vec<Expected>,
        /// How well the most likely explanations explain each reading.
        explains: Vec<Explains>,
        /// What must be borne in mind.
        cautions: Vec<Caution>,
    }
}

/// How firmly a cause can be named.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Strength {
    /// The cause cannot be told yet.
    CannotTell,
    /// The readings point to the cause.
    LeansTo,
    /// The cause is likely.
    Likely,
    /// The cause is confirmed, by the machine's own baseline and all readings.
    Settled,
}

impl Strength {
    /// All levels of firmness.
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

/// A reading without which the others fit.
#[derive(Clone, Copy, Debug)]
pub struct Outlier {
    /// Index of the reading, from 0.
    pub reading: usize,
    /// The value that would fit, SI.
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
