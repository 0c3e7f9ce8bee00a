//! The axis of a sweep.

use crate::input::Input;
use crate::model::{Case, INPUTS, Setup, in_range_of};
use crate::quantity::{Kind, parse};
use crate::question::weather;
use crate::question::{Field, Find, Intake, basis, key_of, mention};
use crate::trouble::Trouble;
use crate::vary::{inverse, sweep};
use serde_json::{Map, Value, json};

/// The input fields that define an axis of a sweep.
pub(super) struct Axis {
    /// Field for the quantity of the axis.
    pub over: &'static Field,
    /// Field for the first value.
    pub from: &'static Field,
    /// Field for the last value.
    pub to: &'static Field,
    /// Field for the number of values.
    pub steps: &'static Field,
}

/// The axis of a sweep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Along {
    /// The input; `None` for the oil's viscosity at its temperature.
    pub input: Option<Input>,
    /// The first value, SI.
    pub from: f64,
    /// The last value, SI.
    pub to: f64,
    /// The number of values.
    pub steps: usize,
}

/// Permitted range of the oil's viscosity, m²/s.
const VISCOSITY: (f64, f64) = (0.5e-6, 0.1);

impl Along {
    /// Kind of quantity of the axis.
    pub fn kind(&self) -> Kind {
        kind(self.input)
    }

    /// Key of the axis in an answer, with the unit at the end.
    pub fn key(&self) -> String {
        let key = self.input.map_or("viscosity".into(), Input::key);
        key_of(&key.replace('.', "_"), Some(self.kind()))
    }

    /// The values of the axis.
    pub fn values(&self) -> Vec<f64> {
        sweep::values(self.from, self.to, self.steps, self.input.is_none())
    }

    /// A case with the swept quantity set to `value`.
    pub(super) fn on(&self, case: &Case, value: f64) -> Case {
        match self.input {
            Some(input) => case.with(input, value),
            None => inverse::at_viscosity(case, value),
        }
    }

    /// A case and its uncertainties with the swept quantity set to `value`, which itself is taken as exact.
    pub(super) fn resolve(&self, side: &Setup, value: f64) -> Setup {
        let exact = self.input.unwrap_or(Input::OIL_THICKNESS);
        Setup {
            case: self.on(&side.case, value),
            spread: side.spread.with(exact, 0.0),
            ..side.clone()
        }
    }
}

fn kind(input: Option<Input>) -> Kind {
    input.map_or(Kind::KinematicViscosity, |i| i.field().kind)
}

/// A value on the axis, output under the key of the axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct At {
    /// The axis.
    pub along: Along,
    /// The value, SI.
    pub value: f64,
}

impl Find for At {
    fn value(&self, _: Option<Kind>) -> Value {
        // Rounded, so that 6 cm³/rev comes back as 6 from its value in SI.
        let value = self.along.kind().to_json(self.value);
        json!(format!("{value:.13e}").parse().unwrap_or(value))
    }
    fn schema(_: Option<Kind>) -> Value {
        f64::schema(None)
    }
    fn put(&self, _: &str, _: Option<Kind>, into: &mut Map<String, Value>) {
        into.insert(self.along.key(), self.value(None));
    }
    fn describe(_: &str, _: Option<Kind>, _: &str, _: &mut Map<String, Value>) {}
}

impl Intake<'_> {
    /// Reads the quantity of the axis, its first and last value, and the number of values.
    pub(super) fn along(&mut self, fields: &Axis, setup: &Setup) -> Option<Along> {
        let over = self.needed(fields.over)?;
        let name = over.to_lowercase().replace('-', "_");
        let found = match name.as_str() {
            "viscosity" => Ok(None),
            "load" => Ok(Some(INPUTS.now.work)),
            name if Input::find(&format!("now.{name}")).is_some() => {
                input_of(&format!("now.{name}"), &setup.case).map(Some)
            }
            _ => input_of(over, &setup.case).map(Some),
        };
        let input = self.keep(fields.over, found)?;
        if let Some(input) = input {
            self.not_set(input, setup, fields.over);
        }
        let from = self.end(fields.from, input);
        let to = self.end(fields.to, input);
        let steps = self.count(fields.steps);
        let ((from, to), steps) = from.zip(to).zip(steps)?;
        if from.total_cmp(&to).is_eq() {
            let at = setup.units.show(kind(input), from);
            let problem = Trouble::input(format!("a range from {at} to {at}"), "two values");
            self.problems.push(problem.on(fields.to.key));
        }
        Some(Along {
            input,
            from,
            to,
            steps,
        })
    }

    /// Reports an error if an input is set to one value although it is the axis of the sweep.
    fn not_set(&mut self, input: Input, setup: &Setup, over: &Field) {
        let key = input.field().key;
        let typed = input.part() == "now" && setup.typed.contains(&key);
        let weather = weather::CONDITION
            .iter()
            .find(|(_, own)| input.part() == "now" && *own == key);
        let weather = weather.filter(|(field, _)| self.values.has(field));
        let field = if typed {
            mention(key)
        } else if let Some((field, _)) = weather {
            field.mention()
        } else if setup.sets.iter().any(|(set, _)| *set == input) {
            format!("{} {}", basis::SET.mention(), input.key())
        } else {
            return;
        };
        let found = format!("{field} is given, but it is also the axis of the sweep");
        let problem = Trouble::input(found, "only one of the two");
        self.problems.push(problem.on(over.key));
    }

    /// Reads the first or last value of the axis.
    fn end(&mut self, field: &'static Field, input: Option<Input>) -> Option<f64> {
        let words = self.needed(field)?;
        let (low, high) = input.map_or(VISCOSITY, |i| (i.field().low, i.field().high));
        let (kind, units) = (kind(input), self.values.units);
        let read = parse(kind, words).and_then(|m| in_range_of(kind, low, high, m, units));
        self.keep(field, read.map(|m| m.value.clamp(low, high)))
    }
}

/// The input with a given key; an error if the machine does not have it.
fn input_of(key: &str, case: &Case) -> Result<Input, Trouble> {
    if let Some(input) = Input::find(key).filter(|i| case.get(*i).is_some()) {
        return Ok(input);
    }
    let there = Input::all().filter(|i| case.get(*i).is_some());
    let keys: Vec<String> = there.map(Input::key).collect();
    let problem = Trouble::input(
        format!("this machine has no input called `{key}`"),
        "engine-speed, oil-temp, viscosity, command, air-temp, altitude, ambient, road-speed, grade, trailer, load, or part.key such as pump.slip",
    );
    Err(problem.did_you_mean(key, keys.iter().map(String::as_str)))
}
