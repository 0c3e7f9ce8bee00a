//! A test sheet to print: what to measure, under which conditions, and with which instrument.

use super::basis::{self, MACHINE};
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::balance::Output;
use crate::model::{Hazard, Setup};
use crate::outcome;
use crate::probe::{ALL, Probe, What};
use crate::trouble::Troubles;

/// Switch to include tests that need more than reflective tape and tachometer.
pub const ALL_TESTS: Field = Field::new(
    "all",
    Takes::Switch,
    "Include tests of pressure, flow, oil and cooling",
)
.help("Otherwise the sheet is a single page with the fan speed tests, for reflective tape and a tachometer.");

/// The question.
pub static QUESTION: Question = Question {
    key: "sheet",
    title: "",
    about: "Make a test sheet for a machine, to fill in by hand. Written to a file or a pipe, it is a page to print.",
    groups: &[
        Group::new("The machine", &[&MACHINE]),
        Group::new("The tests", &[&ALL_TESTS]),
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel sheet light-truck > sheet.html",
        "oilwheel sheet bus --all --report sheet.html",
    ],
    finds: Found::properties,
};

/// The instrument used in all tests of the one-page sheet.
const TACHOMETER: &str = "photo-tachometer";

/// The request.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The machine.
    pub setup: Setup,
    /// Whether to list every test that can be made on the machine; otherwise only those with tape and tachometer.
    pub all: bool,
}

outcome! {
    /// A test that can be made on the machine, and its operating condition.
    pub struct SheetTest {
        /// The key of the test, as in a readings file.
        test: &'static str,
        /// Name of the test.
        name: &'static str,
        /// Duration of the test, minutes.
        effort_minutes: f64,
        /// The instrument usually used.
        instrument: &'static str,
        /// Unit of the reading.
        unit: &'static str,
        /// Engine speed.
        engine_speed: f64 as Speed,
        /// Ambient temperature, if the test is read in the steady state.
        ambient: Option<f64> as Temperature,
        /// Road speed, if the test is read in the steady state.
        road_speed: Option<f64> as RoadSpeed,
        /// Grade of the road, if the test is read in the steady state.
        grade: Option<f64>,
        /// Operating fraction of the air conditioning, if the test is read in the steady state.
        air_conditioning: Option<f64>,
        /// Oil temperature, unless the test is read in the steady state.
        oil_temp: Option<f64> as Temperature,
        /// Fan command, 0 to 1.
        command: f64,
        /// Whether the control valve is unplugged.
        unplugged: bool,
        /// Equipment that a machine must have for this test; empty if the test is possible on every machine.
        only_where: &'static str,
        /// Hazards of the test.
        hazards: Vec<Hazard>,
    }
    beside {
        /// The declaration of the test.
        probe: &'static Probe,
    }
}

outcome! {
    /// The result of `sheet`.
    pub struct Found {
        /// The tests: those with tape and tachometer, or all that can be made on the machine.
        tests: Vec<SheetTest>,
    }
}

impl Request for Sheet {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let setup = intake.basis();
        let all = values.has(&ALL_TESTS);
        intake.finish(setup.map(|setup| Sheet { setup, all }))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        let machine = &self.setup.machine;
        let runs = ALL.iter().filter(|p| p.runs_on(machine));
        let tape = |p: &&Probe| {
            let fan = p.what == What::Output(Output::FAN_SPEED) && p.instrument == TACHOMETER;
            self.all || fan && p.setting.command >= 1.0 && !p.setting.unplugged
        };
        let runs = runs.filter(tape);
        Ok(Found {
            tests: runs.map(|p| self.test(p)).collect(),
        })
    }
}

impl Sheet {
    fn test(&self, probe: &'static Probe) -> SheetTest {
        let (machine, setting) = (&self.setup.machine, &probe.setting);
        let used = setting.settled;
        SheetTest {
            test: probe.key,
            name: probe.name,
            effort_minutes: probe.effort_minutes,
            instrument: probe.instrument,
            unit: probe.what.kind().json_suffix(),
            engine_speed: setting.engine_speed(machine),
            ambient: used.map(|u| u.ambient),
            road_speed: used.map(|u| u.road_speed),
            grade: used.map(|u| u.grade),
            air_conditioning: used.map(|u| u.air_conditioning),
            oil_temp: used.is_none().then(|| setting.oil_temp(machine)),
            command: setting.command,
            unplugged: setting.unplugged,
            only_where: probe.only_where,
            hazards: probe.hazards.to_vec(),
            probe,
        }
    }
}
