//! Tests that one can make on a fan drive: what is read, in which condition, with what effort and hazards.

mod facts;
mod file;
mod list;
mod notebook;
mod reading;
mod seen;
mod spelled;

pub use facts::FACTS;
pub use file::{COLUMNS, Readings};
pub use list::{ALL, INSTRUMENTS};
pub use notebook::{Book, Fact, Work, machine_of, skippable};
pub use reading::{Day, Reading};
pub use seen::Seen;

use crate::balance::{self, Output, State};
use crate::input::Input;
use crate::input::unit::{BAR, L_MIN};
use crate::model::{Case, Hazard, INPUTS, Machine};
use crate::numeric::Real;
use crate::part::LUGGING;
use crate::quantity::Kind;
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
    /// Coolant temperature at the engine's outlet, K.
    CoolantTemp,
    /// Upper less lower radiator hose: how far the coolant cools in the core, K.
    HoseDifference,
    /// A fact of the machine itself, by a tape, a plate or a document, whatever is wrong with it.
    Fact(Input),
}

impl What {
    /// What kind of quantity the test reads.
    pub fn kind(self) -> Kind {
        match self {
            What::Output(output) => output.declaration().kind,
            What::InletVacuum => Kind::Pressure,
            What::FreeAir => Kind::Share,
            What::Viscosity => Kind::KinematicViscosity,
            What::CoolantTemp => Kind::Temperature,
            What::HoseDifference => Kind::TemperatureDifference,
            What::Fact(input) => input.field().kind,
        }
    }

    /// Whether it is read on the coolant.
    pub fn of_coolant(self) -> bool {
        matches!(self, What::CoolantTemp | What::HoseDifference)
    }

    /// What the test would read in a state of the oil circuit, which says nothing of the coolant.
    pub fn read<N: Real>(self, case: &Case<N>, state: &State<N>) -> N {
        match self {
            What::Output(output) => state.get(output),
            What::InletVacuum => {
                crate::fluid::air::pressure(case.now.altitude) - state.inlet_pressure
            }
            What::FreeAir => case.oil.air,
            What::Viscosity => state.oil_viscosity,
            What::CoolantTemp | What::HoseDifference => N::from(f64::NAN),
            What::Fact(input) => case.get(input).unwrap_or(N::from(f64::NAN)),
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

/// How the machine is used until its coolant settles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Use {
    /// Outer air, K.
    pub ambient: f64,
    /// Road speed, m/s; 0 standing.
    pub road_speed: f64,
    /// Grade of the road, rise over run.
    pub grade: f64,
    /// Mass of a trailer, kg.
    pub trailer: f64,
    /// How far air conditioning is on.
    pub air_conditioning: f64,
    /// The fan's control follows the coolant; else the command is that of the setting.
    pub automatic: bool,
}

/// The condition in which a test is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Engine speed.
    pub engine: Engine,
    /// Oil temperature, K; none: the machine's usual.
    pub oil_temp: Option<f64>,
    /// Air at the fan, K, of this test alone; none: the machine's usual, and the same in all such tests.
    pub air: Option<f64>,
    /// Fan command, 0 to 1.
    pub command: f64,
    /// Whether the valve is unplugged, so that it stands at its fail-safe.
    pub unplugged: bool,
    /// Where the test waits until coolant and oil settle: how the machine is used; its oil temperature is not set then.
    pub settled: Option<Use>,
}

impl Setting {
    /// The engine speed on a machine, rad/s.
    pub fn engine_speed(&self, machine: &Machine) -> f64 {
        match self.engine {
            Engine::Idle => machine.usual.idle.value,
            Engine::Raised => machine.usual.raised.value,
            Engine::At(speed) => speed,
        }
    }

    /// The oil temperature on a machine, K.
    pub fn oil_temp(&self, machine: &Machine) -> f64 {
        self.oil_temp.unwrap_or(machine.usual.oil_temp.value)
    }

    /// The case of a machine in this condition.
    pub fn on(&self, machine: &Machine, case: &Case) -> Case {
        let mut case = *case;
        case.now.engine_speed = self.engine_speed(machine);
        case.now.oil_temp = self.oil_temp(machine);
        case.now.air_temp = self.air.unwrap_or(case.now.air_temp);
        case.now.command = self.command;
        case.shape.unplugged = self.unplugged;
        if let Some(used) = &self.settled {
            let now = &mut case.now;
            now.ambient = used.ambient;
            now.road_speed = used.road_speed;
            now.grade = used.grade;
            now.trailer = used.trailer;
            now.air_conditioning = used.air_conditioning;
            if let (Some(vehicle), Engine::Idle) = (&case.vehicle, self.engine)
                && used.road_speed > 0.0
            {
                let gear = vehicle.gear(used.road_speed, LUGGING);
                let speed = vehicle.engine_speed(gear, used.road_speed, case.now.engine_speed);
                case.now.engine_speed = speed.unwrap_or(case.now.engine_speed);
            }
        }
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
    /// What the machine must have for it, in words that follow "only where"; empty where it goes on every machine.
    pub only_where: &'static str,
    /// The usual instrument, by its key (see [`INSTRUMENTS`]).
    pub instrument: &'static str,
    /// Minutes that it takes, with the preparation.
    pub effort_minutes: f64,
    /// What it takes.
    pub tools: &'static str,
    /// How it is made, in a sentence or two.
    pub how: &'static str,
    /// What can hurt.
    pub hazards: &'static [Hazard],
}

impl Probe {
    /// Whether a machine's engine runs at the speed of the test, and it has what settles where the test waits for that.
    pub fn runs_on(&self, machine: &Machine) -> bool {
        if let Some(used) = &self.setting.settled
            && (!balance::HEAT_PARTS.iter().all(|p| machine.has(p))
                || (used.road_speed > 0.0 && !machine.has("vehicle")))
        {
            return false;
        }
        if let What::Fact(input) = self.what {
            return machine.value(input).is_some_and(|m| m.spread > 0.0);
        }
        let speed = self.setting.engine_speed(machine);
        speed >= 0.9 * machine.usual.idle.value && speed <= machine.usual.full.value
    }

    /// The full scale that suits a machine, for gauges and flow meters; none for what has no such scale.
    pub fn full_scale(&self, machine: &Machine) -> Option<f64> {
        let value = |input| machine.value(input).map(|m| m.value);
        let next = |scales: &[f64], unit: f64, most: f64| {
            let fits = |s: &&f64| **s * unit >= most;
            scales.iter().find(fits).or(scales.last()).map(|s| s * unit)
        };
        match self.what {
            What::InletVacuum => Some(BAR),
            What::Output(output) => match output.declaration().key {
                // Behind the motor as well: a blocked return lets up to the relief's setting stand there.
                key if key.ends_with("pressure") => {
                    next(GAUGES, BAR, 1.2 * value(INPUTS.relief.setting)?)
                }
                "pump_flow" => {
                    let displaced = value(INPUTS.pump.displacement)? * value(INPUTS.pump.ratio)?;
                    let most = displaced * machine.usual.raised.value;
                    let held = value(INPUTS.regulator.rated_flow).unwrap_or(most);
                    next(METERS, L_MIN, 1.2 * most.min(1.3 * held))
                }
                _ => None,
            },
            What::FreeAir
            | What::Viscosity
            | What::CoolantTemp
            | What::HoseDifference
            | What::Fact(_) => None,
        }
    }

    /// The error of a reading of `value` (SI) by the usual instrument, of the scale that suits the machine: half width
    /// (SI), and whether it is spread evenly.
    pub fn usual_error(&self, machine: &Machine, value: f64) -> (f64, bool) {
        if let What::Fact(_) = self.what {
            return (FACT * value.abs(), false);
        }
        match INSTRUMENTS.iter().find(|i| i.key == self.instrument) {
            Some(i) => {
                let scale = self.full_scale(machine).unwrap_or(0.0);
                (i.half_width(value, scale), i.uniform)
            }
            None => (f64::NAN, false),
        }
    }
}

/// How far a fact without ± may be off, as a share of it: an engineering assumption.
pub const FACT: f64 = 0.02;

/// Full scales that pressure gauges come in, bar (EN 837-1, from memory).
const GAUGES: &[f64] = &[16.0, 25.0, 40.0, 60.0, 100.0, 160.0, 250.0, 400.0, 600.0];

/// Full scales that flow meters come in, L/min (common practice, no source).
const METERS: &[f64] = &[10.0, 20.0, 40.0, 60.0, 100.0, 150.0, 200.0, 300.0, 600.0];

/// How an instrument errs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instrument {
    /// Its key in readings files.
    pub key: &'static str,
    /// Its name in words.
    pub name: &'static str,
    /// What it measures.
    pub kind: Kind,
    /// Half width of its error as a share of the reading.
    pub of_reading: f64,
    /// Half width of its error as a share of its full scale, added to that.
    pub of_full_scale: f64,
    /// Half width of its error in SI units, added to that.
    pub fixed: f64,
    /// Whether the error is spread evenly between its ends (a gauge's class), rather than about 95 % of a bell.
    pub uniform: bool,
    /// Whether its figure came from a published source, or is common practice.
    pub status: &'static str,
}

impl Instrument {
    /// Half width of the error of a reading `value` by an instrument of a full scale, all SI; the scale counts only where
    /// the error goes with it.
    pub fn half_width(&self, value: f64, full_scale: f64) -> f64 {
        let by_scale = if self.of_full_scale > 0.0 {
            self.of_full_scale * full_scale
        } else {
            0.0
        };
        self.of_reading * value.abs() + by_scale + self.fixed
    }
}

/// The instrument of a key; the near one is suggested.
pub fn instrument(key: &str) -> Result<&'static Instrument, Trouble> {
    INSTRUMENTS.iter().find(|i| i.key == key).ok_or_else(|| {
        let keys: Vec<&str> = INSTRUMENTS.iter().map(|i| i.key).collect();
        let trouble = Trouble::input(format!("no instrument called `{key}`"), keys.join(", "));
        match near(key, keys) {
            Some(k) => trouble.hint(format!("did you mean `{k}`?")),
            None => trouble.hint("or give the error itself: error = \"10 rpm\""),
        }
    })
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
