//! Tests that one can make on a fan drive: what is read, in which condition, with what effort and cautions.

mod list;

pub use list::{ALL, INSTRUMENTS};

use crate::balance::{Output, State};
use crate::model::{Case, Machine};
use crate::numeric::Real;
use crate::trouble::{Trouble, near};

/// What a test reads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// An output of the balance.
    Output(Output),
    /// Vacuum at the pump's inlet, Pa below the outer air.
    InletVacuum,
    /// Free air, as a share of the oil's volume: from the rise of the reservoir's level when the engine stops.
    FreeAir,
    /// Viscosity of the oil, m²/s, by a timed cup or a laboratory.
    Viscosity,
}

impl What {
    /// What the test would read in a state.
    pub fn read<N: Real>(self, case: &Case<N>, state: &State<N>) -> N {
        match self {
            What::Output(output) => state.get(output),
            What::InletVacuum => {
                crate::fluid::air::pressure(case.now.altitude) - state.inlet_pressure
            }
            What::FreeAir => case.oil.air,
            What::Viscosity => state.oil_viscosity,
        }
    }
}

/// At which engine speed a test is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Engine {
    /// The machine's idle.
    Idle,
    /// The machine's raised speed.
    Raised,
    /// A speed of its own, rad/s.
    At(f64),
}

/// The condition in which a test is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Engine speed.
    pub engine: Engine,
    /// Oil temperature, K; none: the machine's usual.
    pub oil_temp: Option<f64>,
    /// What is asked of the fan, 0 to 1.
    pub command: f64,
    /// Whether the valve is unplugged, so that it stands at its fail-safe.
    pub unplugged: bool,
}

impl Setting {
    /// The case of a machine in this condition.
    pub fn on(&self, machine: &Machine, case: &Case) -> Case {
        let mut case = *case;
        case.now.engine_speed = match self.engine {
            Engine::Idle => machine.usual("idle").value,
            Engine::Raised => machine.usual("raised").value,
            Engine::At(speed) => speed,
        };
        case.now.oil_temp = self.oil_temp.unwrap_or(machine.usual("oil_temp").value);
        case.now.command = self.command;
        case.shape.unplugged = self.unplugged;
        case
    }
}

/// A test that one can make.
#[derive(Clone, Copy, Debug)]
pub struct Probe {
    /// Its key in readings files.
    pub key: &'static str,
    /// Its name in words.
    pub name: &'static str,
    /// What is read.
    pub what: What,
    /// In which condition.
    pub setting: Setting,
    /// The usual instrument, by its key (see [`INSTRUMENTS`]).
    pub instrument: &'static str,
    /// Minutes that it takes, with the preparation.
    pub effort_minutes: f64,
    /// What it takes.
    pub tools: &'static str,
    /// How it is made, in a sentence or two.
    pub how: &'static str,
    /// What can hurt.
    pub cautions: &'static [&'static str],
}

/// How an instrument errs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instrument {
    /// Its key in readings files.
    pub key: &'static str,
    /// Its name in words.
    pub name: &'static str,
    /// Half width of its error as a share of the reading.
    pub of_reading: f64,
    /// Half width of its error in SI units, added to that.
    pub fixed: f64,
    /// Whether the error is spread evenly between its ends (a gauge's class), rather than about 95 % of a bell.
    pub uniform: bool,
    /// Whether its figure came from a published source, or is common practice.
    pub status: &'static str,
}

/// The test of a key; the near one is suggested.
pub fn find(key: &str) -> Result<&'static Probe, Trouble> {
    ALL.iter().find(|p| p.key == key).ok_or_else(|| {
        let trouble = Trouble::input(
            format!("no test called `{key}`"),
            "a test's key, as on the sheet",
        );
        match near(key, ALL.iter().map(|p| p.key)) {
            Some(k) => trouble.hint(format!("did you mean `{k}`?")),
            None => trouble.hint("`oilwheel sheet` lists the tests"),
        }
    })
}
