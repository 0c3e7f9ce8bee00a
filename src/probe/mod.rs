//! Tests that can be made on a fan drive: for each, the quantity read, the operating condition, the time needed and the
//! hazards.

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
pub use spelled::{counted, thousands};

use crate::balance::{self, Output, State};
use crate::input::Input;
use crate::input::unit::{BAR, L_MIN};
use crate::model::{Case, Hazard, INPUTS, Machine};
use crate::numeric::Real;
use crate::part::LUGGING;
use crate::quantity::Kind;
use crate::trouble::{Trouble, near};

/// The quantity that a test reads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// A computed result of the oil circuit, such as a speed, a pressure or a flow.
    Output(Output),
    /// Vacuum at the pump inlet, Pa below ambient pressure.
    InletVacuum,
    /// Free air, as a fraction of the oil volume: from the rise of the reservoir level when the engine stops.
    FreeAir,
    /// Viscosity of the oil, m²/s, from a flow cup or a laboratory.
    Viscosity,
    /// Coolant temperature at the engine outlet, K.
    CoolantTemp,
    /// Temperature drop of the coolant in the core, K: upper minus lower radiator hose.
    HoseDifference,
    /// A fact of the machine, found with a tape measure, on a nameplate or in a document; it does not depend on any
    /// fault.
    Fact(Input),
}

impl What {
    /// The kind of quantity that the test reads.
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

    /// Whether this is a coolant reading.
    pub fn of_coolant(self) -> bool {
        matches!(self, What::CoolantTemp | What::HoseDifference)
    }

    /// The expected reading of the test in a state of the oil circuit; NaN for a coolant reading, which needs the heat
    /// balance.
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

/// The engine speed of a test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Engine {
    /// The machine's idle speed.
    Idle,
    /// The machine's raised engine speed.
    Raised,
    /// A specific speed, rad/s.
    At(f64),
}

/// How the machine is operated until its coolant reaches steady state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Use {
    /// Ambient temperature, K.
    pub ambient: f64,
    /// Road speed, m/s; 0 at standstill.
    pub road_speed: f64,
    /// Grade of the road, rise over run.
    pub grade: f64,
    /// Mass of a trailer, kg.
    pub trailer: f64,
    /// Air conditioning, from 0 (off) to 1 (in full operation).
    pub air_conditioning: f64,
    /// Whether the fan control sets the command from the coolant temperature; otherwise the command is that in
    /// `Setting`.
    pub automatic: bool,
}

/// The operating condition of a test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Engine speed.
    pub engine: Engine,
    /// Oil temperature, K; `None` for the machine's usual one.
    pub oil_temp: Option<f64>,
    /// Air temperature at the fan, K, for this test only; `None` for the machine's usual one, which is common to all
    /// tests that do not state their own.
    pub air: Option<f64>,
    /// Fan command, 0 to 1.
    pub command: f64,
    /// Whether the control valve is unplugged, and therefore in its fail-safe position.
    pub unplugged: bool,
    /// How the machine is operated, if the test waits until coolant and oil are in steady state; `oil_temp` is then not
    /// used.
    pub settled: Option<Use>,
}

impl Setting {
    /// The engine speed in this condition on a given machine, rad/s.
    pub fn engine_speed(&self, machine: &Machine) -> f64 {
        match self.engine {
            Engine::Idle => machine.usual.idle.value,
            Engine::Raised => machine.usual.raised.value,
            Engine::At(speed) => speed,
        }
    }

    /// The oil temperature in this condition on a given machine, K.
    pub fn oil_temp(&self, machine: &Machine) -> f64 {
        self.oil_temp.unwrap_or(machine.usual.oil_temp.value)
    }

    /// A copy of a machine's case in this condition.
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
                let gear = vehicle.gear(used.road_speed, [LUGGING, machine.usual.full.value]);
                let speed = vehicle.engine_speed(gear, used.road_speed, case.now.engine_speed);
                case.now.engine_speed = speed.unwrap_or(case.now.engine_speed);
            }
        }
        case
    }
}

/// A test that can be made on a machine.
#[derive(Clone, Copy, Debug)]
pub struct Probe {
    /// Key of the test in readings files.
    pub key: &'static str,
    /// Name of the test.
    pub name: &'static str,
    /// The quantity read.
    pub what: What,
    /// The operating condition for the test.
    pub setting: Setting,
    /// What the machine must have for this test, in words that continue "only where"; empty if the test is possible on
    /// every machine.
    pub only_where: &'static str,
    /// The usual instrument, by its key (see [`INSTRUMENTS`]).
    pub instrument: &'static str,
    /// Duration in minutes, including preparation.
    pub effort_minutes: f64,
    /// Required tools.
    pub tools: &'static str,
    /// Instructions, in a sentence or two.
    pub how: &'static str,
    /// Hazards.
    pub hazards: &'static [Hazard],
}

impl Probe {
    /// Whether the test can be made on the machine: its engine reaches the speed of the test, and if the test waits for
    /// a steady state, its file has the parts for the heat balance. A fact is included only if its value is uncertain.
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

    /// The full scale of a gauge or flow meter that suits a machine; `None` for instruments without a full scale.
    pub fn full_scale(&self, machine: &Machine) -> Option<f64> {
        let value = |input| machine.value(input).map(|m| m.value);
        let next = |scales: &[f64], unit: f64, most: f64| {
            let fits = |s: &&f64| **s * unit >= most;
            scales.iter().find(fits).or(scales.last()).map(|s| s * unit)
        };
        match self.what {
            What::InletVacuum => Some(BAR),
            What::Output(output) => match output.declaration().key {
                // The motor outlet needs the same gauge: if the return line is blocked, the pressure there may rise to
                // the relief setting.
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

    /// Whether the test is left out because it, or the instrument for it, is among the keys in `skip`. A fan speed can
    /// also be read with a phone: it is left out only if a video is not possible either.
    pub fn left_out(&self, skip: &[&str]) -> bool {
        let by = match self.reads_fan() {
            true => &[self.instrument, BY_PHONE][..],
            false => &[self.instrument],
        };
        skip.contains(&self.key) || by.iter().all(|key| skip.contains(key))
    }

    /// Whether the test reads a fan speed.
    pub fn reads_fan(&self) -> bool {
        self.what == What::Output(Output::FAN_SPEED)
    }

    /// Whether the test reads the fan speed at full command.
    pub fn shows_full_fan(&self) -> bool {
        let set = &self.setting;
        self.reads_fan() && set.command >= 1.0 && !set.unplugged
    }

    /// The error of a reading of `value` (SI) with the usual instrument of suitable full scale: half-width (SI), and
    /// whether the distribution is uniform.
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

/// Key of the instrument with which a fan speed can be read without a tachometer.
pub const BY_PHONE: &str = "slow-motion";

/// Uncertainty of a fact given without ±, as a fraction: an engineering assumption.
pub const FACT: f64 = 0.02;

/// Standard full-scale values of pressure gauges, bar (EN 837-1, from memory).
const GAUGES: &[f64] = &[16.0, 25.0, 40.0, 60.0, 100.0, 160.0, 250.0, 400.0, 600.0];

/// Common full-scale values of flow meters, L/min (common practice, no source).
const METERS: &[f64] = &[10.0, 20.0, 40.0, 60.0, 100.0, 150.0, 200.0, 300.0, 600.0];

/// A measuring instrument and its error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instrument {
    /// Key of the instrument in readings files.
    pub key: &'static str,
    /// Name of the instrument.
    pub name: &'static str,
    /// The quantity that the instrument measures.
    pub kind: Kind,
    /// Half-width of the instrument's error as a fraction of the reading.
    pub of_reading: f64,
    /// Additional half-width of the instrument's error as a fraction of full scale.
    pub of_full_scale: f64,
    /// Additional half-width of the instrument's error in SI units.
    pub fixed: f64,
    /// Whether the error is uniformly distributed between its limits (accuracy class of a gauge); otherwise the error
    /// is normally distributed, and the half-width covers 95 % of it.
    pub uniform: bool,
    /// Where the figures come from: a published source, or common practice.
    pub status: &'static str,
}

impl Instrument {
    /// Half-width of the error of a reading `value` with an instrument of a given full scale, all SI; the full scale
    /// matters only if the error depends on it.
    pub fn half_width(&self, value: f64, full_scale: f64) -> f64 {
        let by_scale = if self.of_full_scale > 0.0 {
            self.of_full_scale * full_scale
        } else {
            0.0
        };
        self.of_reading * value.abs() + by_scale + self.fixed
    }
}

/// Finds the instrument with a given key; for an unknown key, the error suggests a similar one.
pub fn instrument(key: &str) -> Result<&'static Instrument, Trouble> {
    INSTRUMENTS.iter().find(|i| i.key == key).ok_or_else(|| {
        let keys: Vec<&str> = INSTRUMENTS.iter().map(|i| i.key).collect();
        let trouble = Trouble::input(
            format!("no instrument called `{key}`"),
            format!("one of {}", keys.join(", ")),
        );
        match near(key, keys) {
            Some(k) => trouble.hint(format!("did you mean `{k}`?")),
            None => trouble
                .hint("or state the uncertainty instead of an instrument: error = \"10 rpm\""),
        }
    })
}

/// Finds the test with a given key; for an unknown key, the error suggests a similar one.
pub fn find(key: &str) -> Result<&'static Probe, Trouble> {
    ALL.iter().find(|p| p.key == key).ok_or_else(|| {
        let trouble = Trouble::input(
            format!("no test called `{key}`"),
            "the key of a test, as printed on the test sheet",
        );
        match near(key, ALL.iter().map(|p| p.key)) {
            Some(k) => trouble.hint(format!("did you mean `{k}`?")),
            None => trouble.hint("`oilwheel sheet MACHINE --all` lists all tests"),
        }
    })
}
