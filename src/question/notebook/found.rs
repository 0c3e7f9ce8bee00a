//! Results of the notebook question.

use crate::outcome;
use crate::probe::{Day, Reading};
use crate::question::suspects;
use crate::vary::band::Stated;

outcome! {
    /// A fact and its value.
    pub struct Known {
        /// The input concerned.
        input: String,
        /// The value stated.
        value: String,
        /// The source of the fact.
        how: String,
        /// Fraction by which this fact alone reduces the uncertainty of the fan speed at idle.
        worth: f64 = "narrows_idle_speed_by_fraction",
    }
}

outcome! {
    /// A reading and its expected value in its own condition on the healthy machine.
    pub struct Past {
        /// The key of the test.
        test: &'static str,
        /// The unit of its values.
        unit: &'static str,
        /// The measured value.
        read: f64,
        /// The expected value.
        expected: f64,
        /// Half-width (95 %) of the expected value.
        expected_half: f64 = "expected_half_width",
        /// Whether the machine was healthy at that time.
        healthy: bool,
        /// The date, if recorded.
        day: Option<String> = "date",
    }
    beside {
        /// The reading.
        reading: Reading,
        /// Expected value and its half-width, SI.
        should: (f64, f64),
    }
}

outcome! {
    /// A test before and after a repair.
    pub struct Changed {
        /// The key of the test.
        test: &'static str,
        /// Relative change of the reading, corrected for engine speed, oil and air.
        change: f64 = "change_fraction",
        /// Half-width (95 %) of the uncertainty of that change.
        half: f64 = "change_half_width",
        /// `better`, `same`, `worse` or `cannot_tell`.
        verdict: &'static str,
    }
    beside {
        /// The readings before and after, and the expected value of each, SI.
        ends: [(Reading, f64); 2],
    }
}

impl Changed {
    /// The kind of quantity.
    pub fn test_kind(&self) -> crate::quantity::Kind {
        self.ends[0].0.probe.what.kind()
    }
}

outcome! {
    /// A repair and its effect according to the readings.
    pub struct Done {
        /// The work done.
        what: String,
        /// The date.
        day: String = "date",
        /// The changes, by test.
        changed: Vec<Changed>,
        /// The most probable causes, from the readings before it.
        causes_before: Vec<suspects::Candidate>,
    }
    beside {
        /// The date.
        date: Day,
    }
}

outcome! {
    /// The result of `notebook`.
    pub struct Found {
        /// Name of the notebook.
        name: String,
        /// Fan speed at idle, full command, of the healthy machine.
        idle: f64 as Speed = "fan_speed_idle",
        /// Half-width (95 %) of its uncertainty.
        idle_half: f64 as Speed = "fan_speed_idle_half_width",
        /// Fan speed at idle, full command, of a healthy machine of the class.
        class_idle: f64 as Speed = "class_fan_speed_idle",
        /// Half-width (95 %) of its uncertainty.
        class_half: f64 as Speed = "class_fan_speed_idle_half_width",
        /// The facts.
        known: Vec<Known>,
        /// The diagnosis from the readings since the last work.
        now: suspects::Found,
        /// Duration of the next test, minutes.
        minutes: f64 = "next_minutes",
        /// Every reading with its expected value.
        past: Vec<Past>,
        /// Each repair and its effect.
        works: Vec<Done>,
    }
    beside {
        /// The uncertainty bands of the fan speed of the healthy machine and of the class.
        bands: [Stated; 2],
    }
}
