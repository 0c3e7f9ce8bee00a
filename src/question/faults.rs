//! The list of possible faults, on the oil side and the heat side.

use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::fault::{self, ALL, Fault, HEAT};
use crate::outcome;
use crate::trouble::Troubles;

/// Field for the one fault to describe in full.
pub const KEY: Field = Field::new("key", Takes::Fault, "Fault to describe in full")
    .example("worn-pump")
    .else_words("a list of all faults")
    .by_place();

/// The question.
pub static QUESTION: Question = Question {
    key: "faults",
    title: "",
    about: "What can go wrong, what are the symptoms, and which test confirms it?",
    groups: &[Group::new("Which", &[&KEY])],
    examples: &["oilwheel faults", "oilwheel faults worn-pump"],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Copy, Debug)]
pub struct Faults {
    /// The requested fault; `None` for all.
    pub one: Option<&'static Fault>,
}

outcome! {
    /// A fault.
    pub struct Described {
        /// Key of the fault.
        key: &'static str,
        /// Name of the fault.
        name: &'static str,
        /// What the minimum and the maximum severity mean.
        severity: &'static str,
        /// Symptoms of the fault.
        shows: &'static str,
        /// Test that confirms the fault.
        confirm: &'static str,
        /// Duration of that test, minutes.
        effort_minutes: f64,
    }
}

outcome! {
    /// The result of `faults`.
    pub struct Found {
        /// The faults.
        faults: Vec<Described>,
    }
}

impl Request for Faults {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let one = values.get(&KEY).map(fault::find).transpose();
        let one = intake.keep(&KEY, one);
        intake.finish(one.map(|one| Faults { one }))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        let all: Vec<&Fault> = match self.one {
            Some(fault) => vec![fault],
            None => ALL.iter().chain(HEAT).collect(),
        };
        let described = |f: &Fault| Described {
            key: f.key,
            name: f.name,
            severity: f.severity,
            shows: f.shows,
            confirm: f.confirm,
            effort_minutes: f.effort_minutes,
        };
        let faults = all.into_iter().map(described).collect();
        Ok(Found { faults })
    }
}
