//! A test sheet to print: what to read, in which condition, with which instrument.

use super::basis::{self, MACHINE};
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::balance::Output;
use crate::model::{Hazard, Posed};
use crate::outcome;
use crate::probe::{ALL, Probe, What};
use crate::trouble::Troubles;

/// More than tape and tachometer.
pub const ALL_TESTS: Field = Field::new(
    "all",
    Takes::Switch,
    "Gauges, flows, oil and the heat side as well",
)
.help("Otherwise one page: the fan's speed, by reflecting tape and a tachometer.");

/// The question.
pub static QUESTION: Question = Question {
    key: "sheet",
    title: "",
    about: "A test sheet for a machine, to fill in by hand; written to a file or a pipe, it is a page to print.",
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

/// The instrument of the one page.
const TACHOMETER: &str = "photo-tachometer";

/// What is asked.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The machine.
    pub posed: Posed,
    /// Every test that the machine can run; otherwise those of tape and tachometer.
    pub all: bool,
}

outcome! {
    /// A test that the machine can run, and its condition.
    pub struct SheetTest {
        /// The key of the test, as in a readings file.
        test: &'static str,
        /// Its name.
        name: &'static str,
        /// Minutes that it takes.
        effort_minutes: f64,
        /// The usual instrument.
        instrument: &'static str,
        /// The unit of what is read.
        unit: &'static str,
        /// Engine speed.
        engine_speed: f64 as Speed,
        /// Ambient temperature, where the test waits for the steady state.
        ambient: Option<f64> as Temperature,
        /// Road speed, where the test waits for the steady state.
        road_speed: Option<f64> as RoadSpeed,
        /// Grade of the road, where the test waits for the steady state.
        grade: Option<f64>,
        /// How far air conditioning is on, where the test waits for the steady state.
        air_conditioning: Option<f64>,
        /// Oil temperature, where the test does not wait for the steady state.
        oil_temp: Option<f64> as Temperature,
        /// Fan command, 0 to 1.
        command: f64,
        /// Whether the control valve is unplugged.
        unplugged: bool,
        /// What the machine must have for it, in words; empty where it goes on every machine.
        only_where: &'static str,
        /// What can hurt on the way.
        hazards: Vec<Hazard>,
    }
    beside {
        /// The test itself.
        probe: &'static Probe,
    }
}

outcome! {
    /// What `sheet` finds.
    pub struct Found {
        /// The tests: those of tape and tachometer, or every one that the machine can run.
        tests: Vec<SheetTest>,
    }
}

impl Request for Sheet {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let posed = intake.basis();
        let all = values.has(&ALL_TESTS);
        intake.finish(posed.map(|posed| Sheet { posed, all }))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        let machine = &self.posed.machine;
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
        let (machine, setting) = (&self.posed.machine, &probe.setting);
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
