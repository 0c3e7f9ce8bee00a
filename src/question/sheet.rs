//! A test sheet to print: what to read, in which condition, with which instrument.

use super::basis::{self, MACHINE};
use super::{Group, Intake, Outcome, Question, Request, Values};
use crate::model::{Hazard, Posed};
use crate::outcome;
use crate::probe::{ALL, Probe};
use crate::trouble::Troubles;

/// The question.
pub static QUESTION: Question = Question {
    key: "sheet",
    title: "",
    about: "A test sheet for a machine, to fill in by hand; written to a file or a pipe, it is a page to print.",
    groups: &[Group::new("The machine", &[&MACHINE]), basis::SETTINGS],
    examples: &[
        "oilwheel sheet light-truck > sheet.html",
        "oilwheel sheet bus --report sheet.html",
    ],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The machine.
    pub posed: Posed,
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
        /// The tests that the machine can run.
        tests: Vec<SheetTest>,
    }
}

impl Request for Sheet {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let posed = intake.basis();
        intake.finish(posed.map(|posed| Sheet { posed }))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        let machine = &self.posed.machine;
        let runs = ALL.iter().filter(|p| p.runs_on(machine));
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
