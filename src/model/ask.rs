//! Turns a request, made with command-line flags or a form, into a case.

use super::case::{Case, INPUTS};
use super::caution::Caution;
use super::check::missing;
use super::library::Lookup;
use super::machine::{Machine, Now};
use super::oil_sheet::OilSheet;
use super::rated_core;
use super::read::in_range;
use crate::input::Input;
use crate::quantity::{Measure, Units, parse};
use crate::trouble::{Stop, Trouble, Troubles, mention, near};
use serde::{Deserialize, Serialize};

/// A request, with the text that the user entered in each field; `None` for a field that was not given.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Ask {
    /// The machine: a library name or a path.
    pub machine: String,
    /// The text of the machine file; `machine` is then only the name used in messages.
    pub machine_text: Option<String>,
    /// The oil: a library name, a path, or data sheet values on one line.
    pub oil: Option<String>,
    /// Oil temperature.
    pub oil_temp: Option<String>,
    /// Engine speed, or `idle`, `raised`, `full`.
    pub engine_speed: Option<String>,
    /// Fan command: 0 to 1, `full`, or `least`.
    pub command: Option<String>,
    /// Air temperature at the fan.
    pub air_temp: Option<String>,
    /// Altitude.
    pub altitude: Option<String>,
    /// Inputs and configuration options set individually, such as `pump.ratio=1.4` or `choices.steering=first`.
    pub set: Vec<String>,
    /// Whether the control valve is unplugged, so that it has no power.
    pub unplugged: bool,
    /// The unit system of the answer.
    pub units: Units,
}

/// A machine with its oil in one operating condition, ready for the computation: the result of resolving an [`Ask`].
#[derive(Clone, Debug)]
pub struct Setup {
    /// The machine.
    pub machine: Machine,
    /// The oil.
    pub oil: OilSheet,
    /// The values of all inputs.
    pub case: Case,
    /// The uncertainty of each input, as a half-width (about 95 %).
    pub spread: Case,
    /// The keys of the operating conditions that the request gives; all others have the machine's usual values.
    pub typed: Vec<&'static str>,
    /// Inputs set individually.
    pub sets: Vec<(Input, Measure)>,
    /// The faults applied: key and severity of each.
    pub faults: Vec<(&'static str, f64)>,
    /// Cautions about the oil in this condition.
    pub cautions: Vec<Caution>,
    /// The unit system of the answer.
    pub units: Units,
    /// The steady oil temperature, if the case is computed at that temperature.
    pub settled: Option<Settled>,
    /// Cancels the computation when the answer is no longer needed.
    pub stop: Stop,
}

/// The steady oil temperature that the machine reaches if it keeps running in this condition.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settled {
    /// Oil temperature, K.
    pub oil_temp: f64,
    /// Oil temperature at a cold start, K: equal to the ambient temperature.
    pub from: f64,
    /// Time, s, from the cold start until the oil is within 5 K of its steady temperature; `None` if the oil hardly
    /// warms.
    pub time: Option<f64>,
    /// Steady oil temperature, K, with the command set by the machine's fan control; `None` if the machine has no fan
    /// control, or if the request gives a command.
    pub own_control: Option<f64>,
}

impl Ask {
    /// A request that names only the machine; everything else has its usual value.
    pub fn about(machine: &str) -> Self {
        Self {
            machine: machine.into(),
            ..Self::default()
        }
    }

    /// Turns the request into a case; all errors are reported together.
    pub fn resolve(&self, lookup: Lookup) -> Result<Setup, Troubles> {
        let mut troubles = Vec::new();
        let machine = match &self.machine_text {
            Some(text) => Machine::from_text(&self.machine, text),
            None => lookup.machine(&self.machine),
        };
        let mut machine = machine.map_err(|t| troubles.extend(t)).ok();
        let oil_name = self
            .oil
            .clone()
            .or(machine.as_ref().map(|m| m.fill.clone()));
        let oil = oil_name.and_then(|name| lookup.oil(&name).map_err(|t| troubles.extend(t)).ok());
        let typed = self.condition(machine.as_ref(), &mut troubles);
        let sets = self.sets(machine.as_mut(), &mut troubles);
        let (Some(mut machine), Some(oil), true) = (machine, oil, troubles.is_empty()) else {
            return Err(troubles);
        };

        let idling = machine.idling();
        let [engine_speed, oil_temp, command, air_temp, altitude] = typed;
        let now = Now {
            engine_speed: engine_speed.unwrap_or(idling.engine_speed),
            oil_temp: oil_temp.unwrap_or(idling.oil_temp),
            command: command.unwrap_or(idling.command),
            air_temp: air_temp.unwrap_or(idling.air_temp),
            altitude: altitude.unwrap_or(idling.altitude),
        };
        for (input, measure) in &sets {
            machine.set(*input, *measure);
        }
        let (mut case, mut spread) = machine.assembled(&oil, &now).map_err(|t| vec![t])?;
        case.shape.unplugged = self.unplugged;
        for (input, measure) in &sets {
            case = case.with(*input, measure.value);
            spread = spread.with_uncertainty(*input, *measure);
        }
        let wrong: Troubles = case
            .wrong(&spread)
            .into_iter()
            .map(|(inputs, trouble)| trouble.on(named_input(&inputs, &sets)))
            .collect();
        if !wrong.is_empty() {
            return Err(wrong);
        }
        let units = self.units;
        let cautions = oil.cautions(case.now.oil_temp);
        Ok(Setup {
            machine,
            oil,
            case,
            spread,
            typed: self.given(),
            sets,
            faults: Vec::new(),
            cautions,
            units,
            settled: None,
            stop: Stop::default(),
        })
    }

    /// Parses the operating conditions that the request gives: engine speed, oil temperature, command, air temperature
    /// and altitude.
    fn condition(
        &self,
        machine: Option<&Machine>,
        troubles: &mut Troubles,
    ) -> [Option<Measure>; 5] {
        let mut read = |key: &str, input: Input, words: &Option<String>| {
            let words = words.as_ref()?;
            let field = input.field();
            let read = parse(field.kind, words).and_then(|m| in_range(field, m, self.units));
            read.map_err(|t| troubles.push(t.on(key))).ok()
        };
        let oil_temp = read("oil_temp", Input::OIL_TEMP, &self.oil_temp);
        let air_temp = read("air_temp", Input::AIR_TEMP, &self.air_temp);
        let altitude = read("altitude", Input::ALTITUDE, &self.altitude);
        let named =
            |words: &Option<String>, key: &str| words.as_deref().map(str::trim) == Some(key);
        let command = match &self.command {
            words if named(words, "full") => Some(Measure::exact(1.0)),
            words if named(words, "least") => Some(Measure::exact(0.0)),
            words => read("command", Input::COMMAND, words),
        };
        let named_speed = |words: &str| machine?.usual.engine_speed(words.trim());
        let engine_speed = match self.engine_speed.as_deref().and_then(named_speed) {
            Some(named) => Some(named),
            None => read("engine_speed", Input::ENGINE_SPEED, &self.engine_speed),
        };
        [engine_speed, oil_temp, command, air_temp, altitude]
    }

    /// The keys of the operating conditions that the request gives.
    fn given(&self) -> Vec<&'static str> {
        let given = |words: &Option<String>, key| words.as_ref().map(|_| key);
        let all = [
            given(&self.engine_speed, "engine_speed"),
            given(&self.oil_temp, "oil_temp"),
            given(&self.command, "command"),
            given(&self.air_temp, "air_temp"),
            given(&self.altitude, "altitude"),
        ];
        all.into_iter().flatten().collect()
    }

    /// The field of the request that gives the input with this key; `None` if none does.
    fn field_of(&self, key: &str) -> Option<&'static str> {
        let (field, given) = match key {
            "now.engine_speed" => ("engine_speed", self.engine_speed.is_some()),
            "now.oil_temp" => ("oil_temp", self.oil_temp.is_some()),
            "now.command" => ("command", self.command.is_some()),
            "now.air_temp" => ("air_temp", self.air_temp.is_some()),
            "now.altitude" => ("altitude", self.altitude.is_some()),
            _ => return None,
        };
        given.then_some(field)
    }

    /// Parses the inputs that are set individually, and applies configuration options to the machine.
    fn sets(
        &self,
        mut machine: Option<&mut Machine>,
        troubles: &mut Troubles,
    ) -> Vec<(Input, Measure)> {
        let mut found = Vec::new();
        let mut keys: Vec<&str> = Vec::new();
        let mut rated = [None; 2];
        for words in &self.set {
            let (key, value) = match words.split_once('=') {
                Some((key, value)) => (key.trim(), value.trim()),
                None => {
                    let trouble = Trouble::input(
                        format!("`{words}`"),
                        "part.key=value, such as pump.ratio=1.4",
                    );
                    troubles.push(trouble.on("set"));
                    continue;
                }
            };
            let twice = self
                .field_of(key)
                .or_else(|| keys.contains(&key).then_some("set"));
            if let Some(other) = twice {
                let found = match other {
                    "set" => format!("`{key}` is set more than once"),
                    _ => format!("`{key}` is set both here and by {}", mention(other)),
                };
                let trouble = Trouble::input(found, "each input to be set only once");
                troubles.push(trouble.on(format!("set.{key}")));
                continue;
            }
            keys.push(key);
            if let Some(field) = rated_core::find(key) {
                let read = parse(field.kind, value).and_then(|m| in_range(field, m, self.units));
                match read {
                    Ok(measure) => {
                        rated[usize::from(field.key == rated_core::RATED[1].key)] = Some(measure)
                    }
                    Err(trouble) => troubles.push(trouble.on(format!("set.{key}"))),
                }
                continue;
            }
            let read = match (key.strip_prefix("choices."), machine.as_deref_mut()) {
                (Some(choice), Some(machine)) => machine.choose(choice, value),
                (Some(_), None) => Ok(()),
                (None, machine) => {
                    set_one(key, value, machine.as_deref(), self.units).map(|set| found.push(set))
                }
            };
            if let Err(trouble) = read {
                troubles.push(trouble.on(format!("set.{key}")));
            }
        }
        if let Some(machine) = machine.filter(|_| troubles.is_empty()) {
            match rated_conductance(machine, rated, &found) {
                Ok(Some(measure)) => found.push((INPUTS.core.conductance, measure)),
                Ok(None) => {}
                Err(trouble) => troubles.push(trouble.on("set.core.rated_heat")),
            }
        }
        found
    }
}

/// Computes the thermal conductance of the core from the heat at its rating point (`rated`), after the inputs in `sets`
/// have been applied to the machine. `None` if that heat was not given, or if a conductance was set as well and agrees
/// with it.
fn rated_conductance(
    machine: &Machine,
    rated: [Option<Measure>; 2],
    sets: &[(Input, Measure)],
) -> Result<Option<Measure>, Trouble> {
    let mut machine = machine.clone();
    for (input, measure) in sets {
        machine.set(*input, *measure);
    }
    let own = |(input, _): &&(Input, Measure)| *input == INPUTS.core.conductance;
    let given = sets.iter().find(own).map(|set| set.1);
    let found = rated_core::conductance(&machine, rated, given)?;
    Ok(found.filter(|_| given.is_none()))
}

/// The key under which an error about these inputs is reported: that of the first one that was set individually; if
/// none was, that of the first.
fn named_input(inputs: &[Input], sets: &[(Input, Measure)]) -> String {
    match inputs.iter().find(|i| sets.iter().any(|set| set.0 == **i)) {
        Some(set) => format!("set.{}", set.key()),
        None => inputs.first().map(|i| i.key()).unwrap_or_default(),
    }
}

/// Parses one individually set input.
fn set_one(
    key: &str,
    value: &str,
    machine: Option<&Machine>,
    units: Units,
) -> Result<(Input, Measure), Trouble> {
    let input = Input::find(key).ok_or_else(|| {
        let keys: Vec<String> = Input::all().map(Input::key).collect();
        let hint = match near(key, keys.iter().map(String::as_str)) {
            Some(k) => format!("did you mean `{k}`?"),
            None => "`oilwheel new light-truck` lists all inputs and explains each one".into(),
        };
        Trouble::input(
            format!("no input called `{key}`"),
            "the key of an input, such as pump.ratio",
        )
        .hint(hint)
    })?;
    let own = ["oil", "now"].contains(&input.part());
    if !own && machine.is_some_and(|m| m.value(input).is_none()) {
        return Err(missing(input));
    }
    let measure =
        parse(input.field().kind, value).and_then(|m| in_range(input.field(), m, units))?;
    Ok((input, measure))
}
