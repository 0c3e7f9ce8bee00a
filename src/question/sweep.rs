//! How does the speed go along one input, on one oil or several?

use super::basis::{self, OIL};
use super::find::key_of;
use super::{Field, Find, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::balance::{Limit, State};
use crate::input::Input;
use crate::model::{Case, OilSheet, Posed, in_range_of};
use crate::outcome;
use crate::quantity::{Kind, parse};
use crate::trouble::{Trouble, Troubles};
use crate::vary::inverse;
use crate::vary::sweep::{self, Step};
use serde_json::{Map, Value, json};

/// What to go along.
pub const OVER: Field = Field::new("over", Takes::Words, "What to go along")
    .help("engine-speed, oil-temp, viscosity, command, or an input such as pump.slip.")
    .example("oil-temp")
    .required();

/// Where to begin.
pub const FROM: Field = Field::new("from", Takes::Words, "From")
    .help("Where to begin, with its unit.")
    .example("-20 C")
    .required();

/// Where to end.
pub const TO: Field = Field::new("to", Takes::Words, "To")
    .help("Where to end, with its unit.")
    .example("110 C")
    .required();

/// The oils to compare.
pub const OILS: Field = Field::new("oils", Takes::Oil, "On these oils")
    .help("With commas between, or one by one.")
    .else_words("the one in the machine")
    .many();

/// How many steps.
pub const STEPS: Field = Field::new("steps", Takes::Count(2, 20_000), "How many values")
    .help("From 2 to 20000.")
    .usually("101");

/// The question.
pub static QUESTION: Question = Question {
    key: "sweep",
    title: "Along a range",
    about: "How does the speed go along one input, on one oil or several?",
    groups: &[
        basis::MACHINE_AND_OIL,
        basis::MOMENT,
        Group::new("Along which range", &[&OVER, &FROM, &TO, &STEPS, &OILS]),
        basis::AIR,
        basis::FAULT,
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel sweep light-truck --over oil-temp --from \"-20 C\" --to \"110 C\"",
        "oilwheel sweep light-truck --over viscosity --from \"5 cSt\" --to \"1000 cSt\"",
        "oilwheel sweep bus --over engine-speed --from \"500 rpm\" --to \"2200 rpm\" --oils iso-vg-32,iso-vg-46",
    ],
    finds: Found::properties,
};

/// What the sweep goes along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Along {
    /// The input; none: the oil's viscosity at its temperature.
    pub input: Option<Input>,
    /// The first value, SI.
    pub from: f64,
    /// The last value, SI.
    pub to: f64,
}

/// What the oil's viscosity may be, m²/s.
const VISCOSITY: (f64, f64) = (0.5e-6, 0.1);

impl Along {
    /// What its values measure.
    pub fn kind(&self) -> Kind {
        kind(self.input)
    }

    /// Its key in an answer, with the unit at the end.
    pub fn key(&self) -> String {
        let key = self.input.map_or("viscosity".into(), Input::key);
        key_of(&key.replace('.', "_"), Some(self.kind()))
    }
}

fn kind(input: Option<Input>) -> Kind {
    input.map_or(Kind::KinematicViscosity, |i| i.field().kind)
}

/// What is asked.
#[derive(Clone, Debug)]
pub struct Sweep {
    /// Machine, oil, condition.
    pub posed: Posed,
    /// What the sweep goes along.
    pub along: Along,
    /// The oils; none: the one of the case.
    pub oils: Vec<OilSheet>,
    /// How many values.
    pub steps: usize,
}

/// A value of what the sweep goes along; its key follows from that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct At {
    /// What the sweep goes along.
    pub along: Along,
    /// The value, SI.
    pub value: f64,
}

impl Find for At {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.along.kind().to_json(self.value))
    }
    fn schema(_: Option<Kind>) -> Value {
        f64::schema(None)
    }
    fn put(&self, _: &str, _: Option<Kind>, into: &mut Map<String, Value>) {
        into.insert(self.along.key(), self.value(None));
    }
    fn describe(_: &str, _: Option<Kind>, _: &str, _: &mut Map<String, Value>) {}
}

outcome! {
    /// One point of a curve.
    pub struct Point {
        /// The value of what the sweep goes along.
        at: At,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// What limits the fan speed.
        limited_by: Limit,
    }
}

outcome! {
    /// The fan speed on one oil.
    pub struct Curve {
        /// The oil's name.
        oil: String,
        /// Its points, each with the value of what the sweep goes along under the key of that.
        points: Vec<Point>,
    }
    beside {
        /// Where each limit acts.
        stretches: Vec<(Limit, f64, f64)>,
    }
}

outcome! {
    /// The state on one oil at one value.
    pub struct Row {
        /// The oil's key, or its name where it has none.
        oil: String,
        /// The value of what the sweep goes along.
        at: At,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// Gauge pressure at the pump outlet.
        supply_gauge_pressure: f64 as Pressure,
        /// Pressure over the motor.
        motor_pressure_drop: f64 as Pressure,
        /// Power at the pump's shaft.
        pump_shaft_power: f64 as Power,
        /// What limits the fan speed.
        limited_by: Limit,
    }
}

outcome! {
    /// What `sweep` finds.
    pub struct Found {
        /// The fan speed on each oil.
        curves: Vec<Curve>,
        /// The state on each oil at each value, under the key of what the sweep goes along.
        series: Vec<Row>,
    }
}

impl Request for Sweep {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let posed = intake.basis();
        let oils = intake.oils(&OILS);
        if !oils.is_empty() && values.has(&OIL) {
            let found = format!("{} beside {}", OIL.mention(), OILS.mention());
            let problem = Trouble::input(found, "one or the other");
            intake.problems.push(problem.on(OILS.key));
        }
        let steps = intake.count(&STEPS);
        let along = posed.as_ref().and_then(|posed| intake.along(posed));
        let read = posed.zip(along).zip(steps);
        intake.finish(read.map(|((posed, along), steps)| Sweep {
            posed,
            along,
            oils,
            steps,
        }))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find().map_err(|t| vec![t])
    }
}

impl Intake<'_> {
    /// What to go along, where to begin and where to end.
    fn along(&mut self, posed: &Posed) -> Option<Along> {
        let over = self.needed(&OVER)?;
        let input = match over {
            "viscosity" => None,
            "engine-speed" => Some("now.engine_speed"),
            "oil-temp" => Some("now.oil_temp"),
            "command" => Some("now.command"),
            key => Some(key),
        };
        let found = input.map(|key| input_of(key, &posed.case)).transpose();
        let input = self.keep(&OVER, found)?;
        if let Some(input) = input {
            self.not_set(input, posed);
        }
        let from = self.end(&FROM, input);
        let to = self.end(&TO, input);
        let (from, to) = from.zip(to)?;
        Some(Along { input, from, to })
    }

    /// Notes what is set to one value although the sweep goes along it.
    fn not_set(&mut self, input: Input, posed: &Posed) {
        let key = input.field().key;
        let typed = input.part() == "now" && posed.typed.contains(&key);
        let field = if typed {
            super::mention(key)
        } else if posed.sets.iter().any(|(set, _)| *set == input) {
            format!("{} {}", basis::SET.mention(), input.key())
        } else {
            return;
        };
        let found = format!("{field}, which the sweep goes along");
        let problem = Trouble::input(found, "one or the other");
        self.problems.push(problem.on(OVER.key));
    }

    /// One end of the sweep.
    fn end(&mut self, field: &'static Field, input: Option<Input>) -> Option<f64> {
        let words = self.needed(field)?;
        let (low, high) = input.map_or(VISCOSITY, |i| (i.field().low, i.field().high));
        let (kind, units) = (kind(input), self.values.units);
        let read = parse(kind, words).and_then(|m| in_range_of(kind, low, high, m, units));
        self.keep(field, read.map(|m| m.value.clamp(low, high)))
    }
}

/// The input of a key, on a machine that has it.
fn input_of(key: &str, case: &Case) -> Result<Input, Trouble> {
    if let Some(input) = Input::find(key).filter(|i| case.get(*i).is_some()) {
        return Ok(input);
    }
    let there = Input::all().filter(|i| case.get(*i).is_some());
    let keys: Vec<String> = there.map(Input::key).collect();
    let problem = Trouble::input(
        format!("no input called `{key}` on this machine"),
        "engine-speed, oil-temp, viscosity, command, or part.key such as pump.slip",
    );
    Err(problem.did_you_mean(key, keys.iter().map(String::as_str)))
}

impl Sweep {
    fn find(&self) -> Result<Found, Trouble> {
        let posed = &self.posed;
        let own = [posed.oil.clone()];
        let (mut curves, mut series) = (Vec::new(), Vec::new());
        let oils = if self.oils.is_empty() {
            &own[..]
        } else {
            &self.oils[..]
        };
        for oil in oils {
            let case = if self.oils.is_empty() {
                posed.case
            } else {
                Case {
                    oil: oil.oil,
                    curve: oil.curve,
                    ..posed.case
                }
            };
            let steps = self.run(&case);
            series.extend(steps.iter().map(|s| self.row(oil, s)));
            curves.push(Curve {
                oil: oil.name.clone(),
                points: steps.iter().map(|s| self.point(s)).collect(),
                stretches: sweep::stretches(&steps),
            });
        }
        if series.is_empty() {
            State::of(&posed.case)?;
            return Err(Trouble::no_answer(
                "no value of the sweep has a balance",
                "a range in which the machine runs",
            ));
        }
        Ok(Found { curves, series })
    }

    /// The states along the range.
    fn run(&self, case: &Case) -> Vec<Step> {
        let Along { input, from, to } = self.along;
        let Some(input) = input else {
            return inverse::over_viscosity(case, from, to, self.steps);
        };
        let values = sweep::values(from, to, self.steps, false);
        let steps = sweep::sweep(case, input, &values).into_iter();
        steps.flatten().collect()
    }

    fn at(&self, step: &Step) -> At {
        At {
            along: self.along,
            value: step.x,
        }
    }

    fn point(&self, step: &Step) -> Point {
        Point {
            at: self.at(step),
            fan_speed: step.state.fan_speed,
            limited_by: step.operating.limit,
        }
    }

    fn row(&self, oil: &OilSheet, step: &Step) -> Row {
        let named = !oil.key.is_empty();
        Row {
            oil: if named { &oil.key } else { &oil.name }.clone(),
            at: self.at(step),
            fan_speed: step.state.fan_speed,
            supply_gauge_pressure: step.state.supply_gauge_pressure,
            motor_pressure_drop: step.state.motor_pressure_drop,
            pump_shaft_power: step.state.pump_shaft_power,
            limited_by: step.operating.limit,
        }
    }
}
