//! Is this machine or oil file valid, and what would the machine do?

use super::state::{cautions, left_out};
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::balance::{Limit, State};
use crate::input::unit::celsius;
use crate::model::{Ask, Caution, MACHINES, Machine, OILS, OilSheet, Setup, beside};
use crate::outcome;
use crate::quantity::{Measure, Units};
use crate::trouble::{Trouble, Troubles};
use crate::vary::behaviour::contradicted;
use crate::vary::derivative::sensitivities;
use serde_json::{Map, Value};

/// Field for the file to check.
pub const FILE: Field = Field::new(
    "file",
    Takes::Text("a machine or oil file"),
    "The file to check",
)
.help("The path of a machine or oil file, a name from the library, or - for standard input.")
.required()
.by_place();

/// The question.
pub static QUESTION: Question = Question {
    key: "check",
    title: "",
    about: "Is this machine or oil file valid, and how would it perform?",
    groups: &[Group::new("What to check", &[&FILE])],
    examples: &["oilwheel check mine.toml"],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub enum Check {
    /// A machine.
    Machine(Box<Setup>),
    /// An oil, and the unit system of the answer.
    Oil(Box<OilSheet>, Units),
}

outcome! {
    /// Performance of a machine at its usual oil temperature and full fan command.
    pub struct OfMachine {
        /// Fan speed at idle.
        idle: f64 as Speed = "fan_speed_idle",
        /// What limits the fan speed at idle.
        limit_idle: Limit = "limited_by_idle",
        /// Fan speed at raised engine speed.
        raised: f64 as Speed = "fan_speed_raised",
        /// What limits the fan speed at raised engine speed.
        limit_raised: Limit = "limited_by_raised",
        /// Fan speed at full engine speed.
        full: f64 as Speed = "fan_speed_full",
        /// What limits the fan speed at full engine speed.
        limit_full: Limit = "limited_by_full",
    }
    beside {
        /// The performance as rows, one for each engine speed.
        rows: Vec<Row>,
        /// The cautions.
        cautions: Vec<Caution>,
    }
}

/// The machine's computed state at one engine speed.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// `idle`, `raised`, `full`.
    pub key: &'static str,
    /// Engine speed, rad/s.
    pub engine_speed: f64,
    /// The state at this engine speed.
    pub state: State,
    /// What limits the fan speed.
    pub limit: Limit,
}

outcome! {
    /// Properties of an oil.
    pub struct OfOil {
        /// Lowest temperature covered by the oil's data.
        data_from: f64 as Temperature,
        /// Highest temperature covered by the oil's data.
        data_to: f64 as Temperature,
    }
    beside {
        /// Pairs of temperature, K, and kinematic viscosity, m²/s.
        viscosities: Vec<(f64, f64)>,
    }
}

/// The result of `check`.
#[derive(Clone, Debug)]
pub enum Found {
    /// The result for a machine.
    Machine(Box<OfMachine>),
    /// The result for an oil.
    Oil(OfOil),
}

impl Outcome for Found {
    fn object(&self) -> Map<String, Value> {
        match self {
            Found::Machine(found) => found.object(),
            Found::Oil(found) => found.object(),
        }
    }
    fn properties() -> Map<String, Value> {
        let mut all = OfMachine::properties();
        all.extend(OfOil::properties());
        all
    }
}

impl Request for Check {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let text = intake.machine_or_oil();
        let (name, text) = intake.finish(text)?;
        let mut lines = text.lines().map(str::trim_start);
        if lines.any(|l| l.starts_with("data")) && !text.contains("[pump]") {
            let oil = OilSheet::from_text(&name, &text)?;
            return Ok(Check::Oil(Box::new(oil), values.units));
        }
        let machine = Machine::from_text(&name, &text)?;
        let ask = Ask {
            oil: Some(beside(&name, &machine.fill)),
            machine_text: Some(text),
            units: values.units,
            ..Ask::about(&name)
        };
        Ok(Check::Machine(Box::new(ask.resolve(values.lookup)?)))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        match self {
            Check::Machine(setup) => {
                let contradicted = contradicted(setup);
                if !contradicted.is_empty() {
                    return Err(contradicted);
                }
                let found = of_machine(setup).map_err(|t| vec![t])?;
                Ok(Found::Machine(Box::new(found)))
            }
            Check::Oil(oil, _) => Ok(Found::Oil(of_oil(oil))),
        }
    }
}

impl Intake<'_> {
    /// The name and the text of the machine or oil file to be checked, from the library or from the user.
    fn machine_or_oil(&mut self) -> Option<(String, String)> {
        let name = self.values.get(&FILE);
        let mut library = MACHINES.iter().chain(&OILS);
        match library.find(|(key, _)| Some(*key) == name) {
            Some((key, text)) => Some((key.to_string(), text.to_string())),
            None => self.file(&FILE),
        }
    }
}

fn of_machine(setup: &Setup) -> Result<OfMachine, Trouble> {
    let usual = setup.machine.usual;
    let row = |key: &'static str, engine_speed: Measure| {
        let mut case = setup.case;
        case.now.engine_speed = engine_speed.value;
        let (state, operating) = State::of(&case)?;
        let row = Row {
            key,
            engine_speed: case.now.engine_speed,
            state,
            limit: operating.limit,
        };
        Ok::<_, Trouble>((row, sensitivities(&case, &operating)))
    };
    let (idle, slopes) = row("idle", usual.idle)?;
    let (raised, _) = row("raised", usual.raised)?;
    let (full, _) = row("full", usual.full)?;
    let mut all = cautions(setup, &idle.state, idle.limit);
    all.extend(left_out(setup, &slopes, &idle.state));
    Ok(OfMachine {
        idle: idle.state.fan_speed,
        limit_idle: idle.limit,
        raised: raised.state.fan_speed,
        limit_raised: raised.limit,
        full: full.state.fan_speed,
        limit_full: full.limit,
        rows: vec![idle, raised, full],
        cautions: all,
    })
}

fn of_oil(oil: &OilSheet) -> OfOil {
    let at = |t: f64| (celsius(t), oil.oil.now(&oil.curve, celsius(t)).nu);
    OfOil {
        data_from: oil.curve.range.0,
        data_to: oil.curve.range.1,
        viscosities: [-20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0].map(at).to_vec(),
    }
}
