//! Results of the notebook question.

use crate::outcome;
use crate::probe::{Day, Reading};
use crate::question::suspects;
use crate::vary::band::Stated;

outcome! {
    /// A fact, and what it is worth.
    pub struct Known {
        /// The input that it is about.
        input: String,
        /// What it says.
        value: String,
        /// How it is known.
        how: String,
        /// By what fraction it alone narrows the fan speed at idle.
        worth: f64 = "narrows_idle_speed_by_fraction",
    }
}

outcome! {
    /// A reading beside what it should be in its own condition on the healthy machine.
    pub struct Past {
        /// The key of the test.
        test: &'static str,
        /// The unit of its values.
        unit: &'static str,
        /// What was read.
        read: f64,
        /// What it should be.
        expected: f64,
        /// Half-width (95 %) of what it should be.
        expected_half: f64 = "expected_half_width",
        /// Whether the machine was healthy then.
        healthy: bool,
        /// The day, where it is noted.
        day: Option<String> = "date",
    }
    beside {
        /// The reading.
        reading: Reading,
        /// What it should be with half of its ±, SI.
        should: (f64, f64),
    }
}

outcome! {
    /// What one test read before a work and after it.
    pub struct Changed {
        /// The key of the test.
        test: &'static str,
        /// By what fraction it changed, allowed for engine speed, oil and air.
        change: f64 = "change_fraction",
        /// Half-width (95 %) of that.
        half: f64 = "change_half_width",
        /// `better`, `same`, `worse` or `cannot_tell`.
        verdict: &'static str,
    }
    beside {
        /// What was read before and after, SI, and what each should be.
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
    /// A work and what the readings say of it.
    pub struct Done {
        /// What was done.
        what: String,
        /// The day.
        day: String = "date",
        /// What changed, by test.
        changed: Vec<Changed>,
        /// The most likely causes by the readings before it.
        causes_before: Vec<suspects::Candidate>,
    }
    beside {
        /// The day.
        date: Day,
    }
}

outcome! {
    /// What `notebook` finds.
    pub struct Found {
        /// The notebook's name.
        name: String,
        /// Fan speed at idle, full command, of the healthy machine.
        idle: f64 as Speed = "fan_speed_idle",
        /// Half-width (95 %) of its uncertainty.
        idle_half: f64 as Speed = "fan_speed_idle_half_width",
        /// The same of the class.
        class_idle: f64 as Speed = "class_fan_speed_idle",
        /// Half-width (95 %) of that.
        class_half: f64 as Speed = "class_fan_speed_idle_half_width",
        /// The facts.
        known: Vec<Known>,
        /// What the readings since the last work say.
        now: suspects::Found,
        /// Minutes that the next test takes.
        minutes: f64 = "next_minutes",
        /// Every reading beside what it should be.
        past: Vec<Past>,
        /// Each work and what it did.
        works: Vec<Done>,
    }
    beside {
        /// The bands of the healthy machine's speed and of the class's.
        bands: [Stated; 2],
    }
}
