//! The axis of a sweep.

use crate::balance::Output;
use crate::input::Input;
use crate::model::{Case, Setup, in_range_of};
use crate::quantity::{Kind, parse};
use crate::question::{Field, Find, Intake, basis, key_of, mention};
use crate::trouble::Trouble;
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

/// An optional value on the second axis; `None` has no key in the answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Second(pub Option<At>);

impl Find for Second {
    fn value(&self, kind: Option<Kind>) -> Value {
        self.0.map_or(Value::Null, |at| at.value(kind))
    }
    fn schema(_: Option<Kind>) -> Value {
        f64::schema(None)
    }
    fn put(&self, key: &str, kind: Option<Kind>, into: &mut Map<String, Value>) {
        if let Some(at) = &self.0 {
            at.put(key, kind, into);
        }
    }
    fn describe(_: &str, _: Option<Kind>, _: &str, _: &mut Map<String, Value>) {}
}

/// The requested output under its own key, with its uncertainty band and difference, if requested. For the fan speed,
/// the key is the same as that of `fan_speed`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given {
    /// The output.
    pub output: Output,
    /// Value of the output, SI.
    pub value: f64,
    /// Uncertainty band of the output, SI.
    pub band: Option<(f64, f64)>,
    /// Value minus that with the first oil, and the lower and upper limit (95 %) of this difference, SI.
    pub difference: Option<(f64, f64, f64)>,
}

impl Find for Given {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.output.declaration().kind.to_json(self.value))
    }
    fn schema(_: Option<Kind>) -> Value {
        f64::schema(None)
    }
    fn put(&self, _: &str, _: Option<Kind>, into: &mut Map<String, Value>) {
        let declared = self.output.declaration();
        let kind = Some(declared.kind);
        into.insert(key_of(declared.key, kind), self.value(kind));
        if let Some((low, high)) = self.band {
            low.put(&format!("{}_low", declared.key), kind, into);
            high.put(&format!("{}_high", declared.key), kind, into);
        }
        if let Some((middle, low, high)) = self.difference {
            middle.put(&format!("{}_difference", declared.key), kind, into);
            low.put(&format!("{}_difference_low", declared.key), kind, into);
            high.put(&format!("{}_difference_high", declared.key), kind, into);
        }
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
            name if basis::MOMENT
                .fields
                .iter()
                .chain(basis::AIR.fields)
                .any(|f| f.key == name) =>
            {
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
        let field = if typed {
            mention(key)
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
        "engine-speed, oil-temp, viscosity, command, air-temp, altitude, or part.key such as pump.slip",
    );
    Err(problem.did_you_mean(key, keys.iter().map(String::as_str)))
}
