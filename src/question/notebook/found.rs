//! Results of the question `notebook`.

use crate::outcome;
use crate::probe::{Day, Reading};
use crate::question::suspects;
use crate::vary::band::Stated;

outcome! {
    /// A known fact about the machine, and how much it is worth.
    pub struct Known {
        /// Key of the input that the fact is about.
        input: String,
        /// The value stated in the notebook.
        value: String,
        /// How the fact is known, such as the way it was measured.
        how: String,
        /// Fraction by which this fact alone reduces the uncertainty of the machine's fan speed at idle.
        worth: f64 = "narrows_idle_speed_by_fraction",
    }
}

outcome! {
    /// A reading, and the value expected on the healthy machine under the same conditions.
    pub struct Past {
        /// The key of the test.
        test: &'static str,
        /// The unit of the values.
        unit: &'static str,
        /// The measured value.
        read: f64,
        /// The value expected on the healthy machine.
        expected: f64,
        /// Half-width (95 %) of the uncertainty of the expected value.
        expected_half: f64 = "expected_half_width",
        /// Whether the reading is marked as taken on the healthy machine.
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
        /// Relative change of the reading after the repair, corrected for differences in engine speed, oil and air.
        change: f64 = "change_fraction",
        /// Half-width (95 %) of the uncertainty of the relative change.
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
    /// The kind of quantity that the test measures.
    pub fn test_kind(&self) -> crate::quantity::Kind {
        self.ends[0].0.probe.what.kind()
    }
}

outcome! {
    /// A repair and its effect according to the readings.
    pub struct Done {
        /// The repair that was made.
        what: String,
        /// The date.
        day: String = "date",
        /// The change in each test made before and after the repair.
        changed: Vec<Changed>,
        /// The most probable causes according to the readings before the repair.
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
        /// Fan speed of the healthy machine at idle and full command.
        idle: f64 as Speed = "fan_speed_idle",
        /// Half-width (95 %) of the uncertainty of the healthy machine's fan speed.
        idle_half: f64 as Speed = "fan_speed_idle_half_width",
        /// Fan speed at idle and full command of a healthy machine of this class, without the notebook's facts.
        class_idle: f64 as Speed = "class_fan_speed_idle",
        /// Half-width (95 %) of the uncertainty of the class's fan speed.
        class_half: f64 as Speed = "class_fan_speed_idle_half_width",
        /// The known facts, each with its effect on the uncertainty.
        known: Vec<Known>,
        /// The diagnosis from the readings since the last repair.
        now: suspects::Found,
        /// Duration of the next test, minutes.
        minutes: f64 = "next_minutes",
        /// Every reading with its expected value.
        past: Vec<Past>,
        /// Each repair and its effect.
        works: Vec<Done>,
    }
    beside {
        /// The uncertainty bands of the fan speed: of the healthy machine, and of its class.
        bands: [Stated; 2],
    }
}
