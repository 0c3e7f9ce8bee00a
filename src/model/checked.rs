//! A case that is always valid, and its serialised form: SI values by key.

use super::ask::Setup;
use super::case::{Case, PARTS, Shape};
use super::machine::{CHOICES, Machine, Now};
use super::oil_sheet::OilSheet;
use super::read::in_range;
use crate::fluid::oil::Curve;
use crate::input::Input;
use crate::quantity::{Units, parse};
use crate::trouble::{Trouble, Troubles};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A case that has been checked: every value is within its range, every required part is present, and no values
/// conflict. Each value has an uncertainty, as a half-width (about 95 %).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "SiCase", into = "SiCase")]
pub struct CheckedCase {
    case: Case,
    spread: Case,
}

impl CheckedCase {
    /// Makes the case of a machine with an oil in an operating condition, and checks it.
    pub fn new(machine: &Machine, oil: &OilSheet, now: &Now) -> Result<Self, Troubles> {
        let (case, spread) = machine.case(oil, now)?;
        Ok(Self { case, spread })
    }

    /// The value of an input, SI; `None` if the machine has no such part.
    pub fn get(&self, input: Input) -> Option<f64> {
        self.case.get(input)
    }

    /// The uncertainty of an input, SI, as a half-width (about 95 %).
    pub fn half_width(&self, input: Input) -> Option<f64> {
        self.spread.get(input)
    }

    /// A copy of the case with one input set to a value in SI, without ±.
    pub fn with(&self, input: Input, value: f64) -> Result<Self, Trouble> {
        Ok(Self {
            case: self.case.set(input, value)?,
            spread: self.spread.with(input, 0.0),
        })
    }

    /// A copy of the case with one input set from text such as `16 cm³/rev ± 3 %`.
    pub fn typed(&self, input: Input, text: &str) -> Result<Self, Trouble> {
        let measure = parse(input.field().kind, text)
            .and_then(|m| in_range(input.field(), m, Units::Si))
            .map_err(|t| t.at(input.key()))?;
        let mut one = self.with(input, measure.value)?;
        one.spread = one.spread.with_uncertainty(input, measure);
        Ok(one)
    }

    /// The value of an input with its half-width, as text with a unit.
    pub fn show(&self, input: Input, units: Units) -> Option<String> {
        let kind = input.field().kind;
        Some(units.show_spread(kind, self.get(input)?, self.half_width(input)?))
    }

    /// The case itself, for the modules that compute with it.
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// A case that holds the half-width of each input instead of its value.
    pub fn spread(&self) -> &Case {
        &self.spread
    }
}

impl Setup {
    /// Checks the resolved case.
    pub fn checked(&self) -> Result<CheckedCase, Troubles> {
        checked(self.case, self.spread)
    }
}

fn checked(case: Case, spread: Case) -> Result<CheckedCase, Troubles> {
    let wrong = case.wrong(&spread);
    if wrong.is_empty() {
        return Ok(CheckedCase { case, spread });
    }
    let key = |inputs: &[Input]| inputs.first().map(|i| i.key()).unwrap_or_default();
    let told = wrong.into_iter().map(|(inputs, t)| t.at(key(&inputs)));
    Err(told.collect())
}

/// Version of the serialised form.
const FORMAT: u32 = 1;

/// The serialised form of a case.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SiCase {
    format: u32,
    /// Each input's value, SI.
    inputs: BTreeMap<String, f64>,
    /// The half-width of each input that has one, SI.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    half_widths: BTreeMap<String, f64>,
    /// The inputs whose uncertainty is a factor: such an input has a log-normal distribution, and its half-width is the
    /// value times the logarithm of the factor.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    factors: Vec<String>,
    /// Viscosity points of the oil: temperature, K, and kinematic viscosity, m²/s.
    viscosity: Vec<(f64, f64)>,
    /// The word that is set for each configuration option.
    choices: BTreeMap<String, String>,
    /// Whether the control valve is unplugged.
    #[serde(default)]
    unplugged: bool,
}

impl From<CheckedCase> for SiCase {
    fn from(one: CheckedCase) -> Self {
        let values = |case: &Case| -> BTreeMap<String, f64> {
            let value = |input: Input| Some((input.key(), case.get(input)?));
            Input::all().filter_map(value).collect()
        };
        let mut half_widths = values(&one.spread);
        half_widths.retain(|_, half| *half > 0.0);
        let factor = |input: &Input| one.spread.factors.has(*input);
        let factors = Input::all().filter(factor).map(Input::key).collect();
        let shape = one.case.shape;
        let taken = [
            shape.recirculates,
            shape.valve_to_motor_outlet,
            shape.steering_first,
        ];
        let choice = |((key, words, _), yes): (&(&str, [&str; 2], &str), bool)| {
            (key.to_string(), words[usize::from(yes)].to_string())
        };
        Self {
            format: FORMAT,
            inputs: values(&one.case),
            half_widths,
            factors,
            viscosity: one.case.curve.points().collect(),
            choices: CHOICES.iter().zip(taken).map(choice).collect(),
            unplugged: shape.unplugged,
        }
    }
}

impl TryFrom<SiCase> for CheckedCase {
    type Error = String;

    fn try_from(plain: SiCase) -> Result<Self, String> {
        plain.check().map_err(|troubles| {
            let words: Vec<String> = troubles.iter().map(ToString::to_string).collect();
            words.join("; ")
        })
    }
}

impl SiCase {
    fn check(&self) -> Result<CheckedCase, Troubles> {
        if self.format != FORMAT {
            let found = format!("the case has format {}", self.format);
            return Err(vec![Trouble::input(found, format!("format {FORMAT}"))]);
        }
        let unknown: Troubles = self
            .inputs
            .keys()
            .chain(self.half_widths.keys())
            .chain(&self.factors)
            .filter(|key| Input::find(key).is_none())
            .map(|key| Trouble::input(format!("no input called `{key}`"), "the key of an input"))
            .collect();
        if !unknown.is_empty() {
            return Err(unknown);
        }
        let curve = Curve::new(&self.viscosity).map_err(|t| vec![t])?;
        let shape = self.shape().map_err(|t| vec![t])?;
        let has = |part: &str| {
            let optional = PARTS.iter().any(|p| p.key == part && p.optional);
            let starts = |key: &String| key.split('.').next() == Some(part);
            !optional || self.inputs.keys().any(starts)
        };
        let given = |input: Input| {
            let found = self.inputs.get(&input.key()).copied();
            found.ok_or_else(|| {
                vec![Trouble::input(
                    format!("no value for {}", input.key()),
                    "a value for every input of the parts present",
                )]
            })
        };
        let half = |input: Input| {
            Ok::<f64, Troubles>(self.half_widths.get(&input.key()).copied().unwrap_or(0.0))
        };
        let case = Case::try_make(curve, shape, has, given)?;
        let mut spread = Case::try_make(curve, shape, has, half)?;
        for input in self.factors.iter().filter_map(|key| Input::find(key)) {
            spread.factors.put(input, true);
        }
        checked(case, spread)
    }

    fn shape(&self) -> Result<Shape, Trouble> {
        let mut taken = [false; CHOICES.len()];
        for (slot, (key, words, _)) in taken.iter_mut().zip(CHOICES) {
            let word = self.choices.get(key).map(String::as_str);
            *slot = match words.iter().position(|w| Some(*w) == word) {
                Some(at) => at == 1,
                None => {
                    let expected = format!("{} or {}", words[0], words[1]);
                    let found = format!("the choice `{key}` has no valid value");
                    return Err(Trouble::input(found, expected));
                }
            };
        }
        let [recirculates, valve_to_motor_outlet, steering_first] = taken;
        Ok(Shape {
            recirculates,
            valve_to_motor_outlet,
            steering_first,
            unplugged: self.unplugged,
        })
    }
}
