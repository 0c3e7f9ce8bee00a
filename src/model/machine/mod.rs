//! A machine as given by its file.

mod choice;
mod read;

use super::case::{COUNT, Case, PARTS, Shape};
use super::check::clashes;
use super::oil_sheet::OilSheet;
use super::read::in_range;
use super::together::Together;
use crate::input::unit::{BAR, RPM, celsius};
use crate::input::{Field, Input};
use crate::quantity::{Measure, Units, parse};
use crate::trouble::{Trouble, Troubles};
pub use choice::{CHOICES, FUEL, Fuel};

crate::part! {
    /// The operating condition assumed by default.
    UsualCondition {
        idle: Speed [100.0 * RPM, 9000.0 * RPM] 700.0 * RPM, Pump, "engine speed at idle";
        raised: Speed [100.0 * RPM, 9000.0 * RPM] 2000.0 * RPM, Pump, "raised engine speed, used for tests";
        full: Speed [100.0 * RPM, 9000.0 * RPM] 4000.0 * RPM, Pump, "full engine speed";
        oil_temp: Temperature [celsius(-60.0), celsius(200.0)] celsius(80.0), Oil, "temperature of the warm oil";
        air_temp: Temperature [celsius(-60.0), celsius(150.0)] celsius(55.0), FanAir, "air temperature at the fan, downstream of the core, with a warm engine";
        air_release: AbsolutePressure [0.02 * BAR, BAR] f64::NAN, Inlet, "absolute pressure at which the oil releases its dissolved air; default: the oil's own value";
    }
}

impl<T: Copy> UsualCondition<T> {
    /// The engine speed for one of the words `idle`, `raised` and `full`.
    pub fn engine_speed(&self, word: &str) -> Option<T> {
        match word {
            "idle" => Some(self.idle),
            "raised" => Some(self.raised),
            "full" => Some(self.full),
            _ => None,
        }
    }
}

/// A machine: the values of its parts with their uncertainty, its configuration options, and its usual operating
/// condition.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Key by which the machine is selected.
    pub key: String,
    /// Name of the machine.
    pub name: String,
    /// Source of the machine's values.
    pub status: String,
    /// Configuration options of the machine.
    pub shape: Shape,
    /// Fuel of the engine, if given.
    pub fuel: Option<Fuel>,
    /// The oil the machine is filled with: a key, a path, or data sheet values on one line.
    pub fill: String,
    /// Usual operating condition of the machine.
    pub usual: UsualCondition<Measure>,
    values: Vec<Option<Measure>>,
    /// Inputs missing from the machine file; they have their default values without ±.
    pub left_out: Vec<Input>,
    /// Correlations between the uncertainties of the inputs, each pair once.
    pub correlations: Together,
    /// If the file describes a class of machines: quantities that all machines of the class have in common, whatever
    /// their parts.
    pub behaviours: Vec<(&'static Field, Measure)>,
}

/// The operating condition of a computation; uncertainties are half-widths (about 95 %).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Now {
    /// Engine speed, rad/s.
    pub engine_speed: Measure,
    /// Oil temperature, K.
    pub oil_temp: Measure,
    /// Command, 0 to 1.
    pub command: Measure,
    /// Air temperature at the fan, K.
    pub air_temp: Measure,
    /// Altitude, m.
    pub altitude: Measure,
}

impl Machine {
    /// Builds a machine in code from inputs given as text, such as `(INPUTS.pump.displacement, "16 cm³/rev ± 3 %")`. An
    /// optional part is included if one of its inputs is given; an input that is not given gets its default value.
    pub fn built(
        name: &str,
        oil: &str,
        shape: Shape,
        given: &[(Input, &str)],
    ) -> Result<Self, Troubles> {
        let mut troubles = Troubles::new();
        let mut values = vec![None; COUNT];
        let has = |part: &str| given.iter().any(|(input, _)| input.part() == part);
        for part in PARTS.iter().filter(|p| !["oil", "now"].contains(&p.key)) {
            if part.optional && !has(part.key) {
                continue;
            }
            for input in Input::all().filter(|i| i.part() == part.key) {
                let field = input.field();
                let measure = match given.iter().find(|(i, _)| *i == input) {
                    Some((_, text)) => {
                        parse(field.kind, text).and_then(|m| in_range(field, m, Units::Si))
                    }
                    None if field.usual.is_nan() => Err(Trouble::input(
                        "a required input is missing",
                        format!("a value for it ({})", field.help),
                    )),
                    None => Ok(Measure::exact(field.usual)),
                };
                match measure {
                    Ok(measure) => values[input.number()] = Some(measure),
                    Err(trouble) => troubles.push(trouble.at(input.key())),
                }
            }
        }
        let value = |input: Input| values.get(input.number()).copied().flatten();
        let number = |input| value(input).map(|m: Measure| m.value);
        troubles.extend(clashes(&number).map(|clash| clash.trouble.at(name)));
        if !troubles.is_empty() {
            return Err(troubles);
        }
        Ok(Self {
            key: name.to_string(),
            name: name.to_string(),
            status: "built in code".into(),
            shape,
            fuel: None,
            fill: oil.to_string(),
            usual: UsualCondition::<f64>::usual().map(&mut |_, v| Measure::exact(*v)),
            left_out: Input::all()
                .filter(|i| value(*i).is_some() && !given.iter().any(|(g, _)| g == i))
                .collect(),
            values,
            correlations: Together::default(),
            behaviours: Vec::new(),
        })
    }

    /// A copy of the machine with one of its inputs set.
    pub fn with(mut self, input: Input, measure: Measure) -> Self {
        self.set(input, measure);
        self
    }

    /// The value of one of the machine's inputs, if the machine has the part.
    pub fn value(&self, input: Input) -> Option<Measure> {
        self.values.get(input.number()).copied().flatten()
    }

    /// Sets one of the machine's inputs; no effect if the machine lacks the part.
    pub fn set(&mut self, input: Input, measure: Measure) {
        if let Some(Some(slot)) = self.values.get_mut(input.number()) {
            *slot = measure;
            self.left_out.retain(|one| *one != input);
        }
    }

    /// Sets one of the machine's inputs, even if it had no value before.
    pub(super) fn put(&mut self, input: Input, measure: Measure) {
        if let Some(slot) = self.values.get_mut(input.number()) {
            *slot = Some(measure);
        }
    }

    /// Whether the machine has a part.
    pub fn has(&self, part: &str) -> bool {
        Input::all().any(|i| i.part() == part && self.value(i).is_some())
    }

    /// The condition at warm idle with full command.
    pub fn idling(&self) -> Now {
        Now {
            engine_speed: self.usual.idle,
            oil_temp: self.usual.oil_temp,
            command: Measure::exact(1.0),
            air_temp: self.usual.air_temp,
            altitude: Measure::exact(0.0),
        }
    }

    /// Makes the case of this machine with an oil in an operating condition, and a second case with the uncertainty of
    /// each input; both are checked.
    pub fn case(&self, oil: &OilSheet, now: &Now) -> Result<(Case, Case), Troubles> {
        let (case, spread) = self.assembled(oil, now).map_err(|t| vec![t])?;
        let wrong: Troubles = {
            let at = |inputs: &[Input]| inputs.first().map(|i| i.key()).unwrap_or_default();
            let all = case.wrong(&spread).into_iter();
            all.map(|(inputs, t)| t.at(at(&inputs))).collect()
        };
        if wrong.is_empty() {
            Ok((case, spread))
        } else {
            Err(wrong)
        }
    }

    /// Makes the same two cases as `case`, without checks.
    pub(super) fn assembled(&self, oil: &OilSheet, now: &Now) -> Result<(Case, Case), Trouble> {
        let all = |input: Input| {
            let key = input.key();
            let field = input.field();
            let from_oil = || {
                let release = self.usual.air_release;
                if field.key == "air_release" && release.value.is_finite() {
                    return Some(release);
                }
                let at = crate::fluid::oil::Oil::<f64>::FIELDS
                    .iter()
                    .position(|f| f.key == field.key)?;
                let (mut value, mut spread) = (oil.oil, oil.spread);
                Some(Measure {
                    factor: oil.factors.get(at).copied().unwrap_or(false),
                    ..Measure::within(*value.slot(at)?, *spread.slot(at)?)
                })
            };
            let found = match key.as_str() {
                "now.engine_speed" => Some(now.engine_speed),
                "now.oil_temp" => Some(now.oil_temp),
                "now.command" => Some(now.command),
                "now.air_temp" => Some(now.air_temp),
                "now.altitude" => Some(now.altitude),
                _ if input.part() == "now" => Some(Measure::exact(field.usual)),
                _ if input.part() == "oil" => from_oil(),
                _ => self.value(input),
            };
            found.ok_or_else(|| {
                Trouble::input(format!("no value for {key}"), "a value for every input")
            })
        };
        let has = |part: &str| self.has(part);
        let case = Case::try_make(oil.curve, self.shape, has, |i| all(i).map(|m| m.value))?;
        let mut spread = Case::try_make(oil.curve, self.shape, has, |i| all(i).map(|m| m.spread))?;
        for input in Input::all() {
            let factor = all(input).is_ok_and(|m| m.factor);
            spread.factors.put(input, factor);
        }
        Ok((case, spread))
    }
}
