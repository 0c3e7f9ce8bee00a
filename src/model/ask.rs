//! From what is asked, by flags or by form, to a case.

use super::case::Case;
use super::library::Shelf;
use super::machine::{Machine, Now};
use super::oil_sheet::OilSheet;
use super::read::in_range;
use crate::input::{Field, Input};
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::{Stop, Trouble, Troubles, near};

/// What is asked, as typed; nothing where nothing was.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ask {
    /// The machine: a name of the library's, or a path.
    pub machine: String,
    /// The machine's file as text; its name then only stands in messages.
    pub machine_text: Option<String>,
    /// The oil: a name of the library's, a path, or a data sheet's line.
    pub oil: Option<String>,
    /// Oil temperature.
    pub oil_temp: Option<String>,
    /// Engine speed, or `idle`, `raised`, `full`.
    pub engine_speed: Option<String>,
    /// Command, 0 to 1, or `full`, `least`.
    pub command: Option<String>,
    /// Air temperature at the fan.
    pub air_temp: Option<String>,
    /// Altitude.
    pub altitude: Option<String>,
    /// Inputs set one by one: `pump.ratio=1.4`; or choices: `choices.steering=first`.
    pub set: Vec<String>,
    /// The valve is without power.
    pub unplugged: bool,
    /// The system that answers are printed in.
    pub units: Units,
}

/// What is asked, understood.
#[derive(Clone, Debug)]
pub struct Posed {
    /// The machine.
    pub machine: Machine,
    /// The oil.
    pub oil: OilSheet,
    /// All inputs.
    pub case: Case,
    /// The half width, about 95 %, of each input.
    pub spread: Case,
    /// What was taken, in words, as label and value.
    pub said: Vec<(String, String)>,
    /// What must be borne in mind.
    pub cautions: Vec<String>,
    /// The system that answers are printed in.
    pub units: Units,
    /// Where oil and air have settled, if the case is taken there.
    pub settled: Option<Settled>,
    /// Whether somebody still waits for an answer.
    pub stop: Stop,
}

/// Where the oil ends when the machine runs on like this.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settled {
    /// Oil temperature, K.
    pub oil_temp: f64,
    /// Temperature of a cold start, K: that of the outer air.
    pub from: f64,
    /// How long the oil takes from there until it is within 5 K of where it ends, s; none where it hardly warms.
    pub time: Option<f64>,
}

/// The declaration of a field of the condition.
pub(super) fn condition(key: &str) -> &'static Field {
    let fields = super::case::Condition::<f64>::FIELDS;
    fields.iter().find(|f| f.key == key).unwrap_or(&fields[0])
}

impl Ask {
    /// A question about a machine, with all else as usual.
    pub fn about(machine: &str) -> Self {
        Self {
            machine: machine.into(),
            ..Self::default()
        }
    }

    /// Understands what is asked: every mistake at once.
    pub fn pose(&self, shelf: Shelf) -> Result<Posed, Troubles> {
        let mut troubles = Vec::new();
        let machine = match &self.machine_text {
            Some(text) => Machine::from_text(&self.machine, text),
            None => shelf.machine(&self.machine),
        };
        let mut machine = machine.map_err(|t| troubles.extend(t)).ok();
        let oil_name = self
            .oil
            .clone()
            .or(machine.as_ref().map(|m| m.fill.clone()));
        let oil = oil_name.and_then(|name| shelf.oil(&name).map_err(|t| troubles.extend(t)).ok());
        let mut read = |flag: &str, key: &str, words: &Option<String>| {
            let words = words.as_ref()?;
            let field = condition(key);
            let read = parse(field.kind, words).and_then(|m| in_range(field, m, self.units));
            read.map_err(|t| troubles.push(t.at(flag))).ok()
        };
        let oil_temp = read("--oil-temp", "oil_temp", &self.oil_temp);
        let air_temp = read("--air-temp", "air_temp", &self.air_temp);
        let altitude = read("--altitude", "altitude", &self.altitude);
        let named =
            |words: &Option<String>, key: &str| words.as_deref().map(str::trim) == Some(key);
        let command = match &self.command {
            words if named(words, "full") => Some(Measure::exact(1.0)),
            words if named(words, "least") => Some(Measure::exact(0.0)),
            words => read("--command", "command", words),
        };
        let engine_speed = match (&machine, &self.engine_speed) {
            (Some(m), Some(w)) if ["idle", "raised", "full"].contains(&w.trim()) => {
                Some(m.usual(w.trim()))
            }
            (_, words) => read("--engine-speed", "engine_speed", words),
        };
        let sets = self.sets(machine.as_mut(), &mut troubles);
        let (Some(mut machine), Some(oil), true) = (machine, oil, troubles.is_empty()) else {
            return Err(troubles);
        };

        let idling = machine.idling();
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
        let (mut case, mut spread) = machine.case(&oil, &now).map_err(|t| vec![t])?;
        case.shape.unplugged = self.unplugged;
        for (input, measure) in &sets {
            case = case.with(*input, measure.value);
            spread = spread.with(*input, measure.spread);
            spread.factors.put(*input, measure.factor);
        }
        let units = self.units;
        let worded = |field: &Field, value: f64, half: f64, typed: bool| {
            let usual = if typed { "" } else { " (the machine's usual)" };
            format!("{}{usual}", units.show_spread(field.kind, value, half))
        };
        let (at, half) = (&case.now, &spread.now);
        let speed = worded(
            condition("engine_speed"),
            at.engine_speed,
            half.engine_speed,
            self.engine_speed.is_some(),
        );
        let oil_temp = worded(
            condition("oil_temp"),
            at.oil_temp,
            half.oil_temp,
            self.oil_temp.is_some(),
        );
        let air_temp = worded(
            condition("air_temp"),
            at.air_temp,
            half.air_temp,
            self.air_temp.is_some(),
        );
        let asked = if self.unplugged {
            format!(
                "valve unplugged: fail-safe at {}",
                units.show(Kind::Share, case.control.fail_safe)
            )
        } else {
            command_words(at.command)
        };
        let mut said = vec![
            ("machine".into(), machine.name.clone()),
            ("oil".into(), oil.name.clone()),
            ("engine speed".into(), speed),
            ("oil temperature".into(), oil_temp),
            ("command".into(), asked),
            ("air at the fan".into(), air_temp),
        ];
        if self.altitude.is_some() {
            said.push((
                "altitude".into(),
                worded(condition("altitude"), at.altitude, half.altitude, true),
            ));
        }
        for (input, measure) in &sets {
            said.push((
                input.key(),
                units.show_measure(input.field().kind, *measure),
            ));
        }
        let cautions = oil.cautions(case.now.oil_temp, self.units);
        Ok(Posed {
            machine,
            oil,
            case,
            spread,
            said,
            cautions,
            units,
            settled: None,
            stop: Stop::default(),
        })
    }

    /// Understands what is set one by one; a choice is made at once.
    fn sets(
        &self,
        mut machine: Option<&mut Machine>,
        troubles: &mut Troubles,
    ) -> Vec<(Input, Measure)> {
        let mut found = Vec::new();
        for words in &self.set {
            let (key, value) = match words.split_once('=') {
                Some((key, value)) => (key.trim(), value.trim()),
                None => {
                    let trouble = Trouble::input(
                        format!("`{words}`"),
                        "part.key=value, such as pump.ratio=1.4",
                    );
                    troubles.push(trouble.at("--set"));
                    continue;
                }
            };
            let read = match (key.strip_prefix("choices."), machine.as_deref_mut()) {
                (Some(choice), Some(machine)) => machine.choose(choice, value),
                (Some(_), None) => Ok(()),
                (None, machine) => {
                    set_one(key, value, machine.as_deref(), self.units).map(|set| found.push(set))
                }
            };
            if let Err(trouble) = read {
                troubles.push(trouble.at(format!("--set {key}")));
            }
        }
        found
    }
}

/// A measured fan speed, which must come with its error.
pub fn measured_speed(words: &str) -> Result<Measure, Trouble> {
    let measure = parse(Kind::Speed, words).map_err(|t| t.at("--measured"))?;
    if measure.value < 0.0 {
        return Err(Trouble::input(words, "a speed that is not negative").at("--measured"));
    }
    if measure.spread <= 0.0 {
        let found = format!("`{words}` without ±");
        return Err(Trouble::input(found, "a reading with its error, such as 640 rpm ± 10 rpm")
            .hint("a photo tachometer reads to about ±0.05 %, the eye with a strobe to perhaps ±2 %")
            .at("--measured"));
    }
    Ok(measure)
}

/// A share within a range, in per cent or as a part of one.
pub fn share(
    flag: &str,
    words: &str,
    range: std::ops::RangeInclusive<f64>,
    troubles: &mut Troubles,
) -> Option<f64> {
    let percent = |x| Units::Si.show(Kind::Share, x);
    let read = parse(Kind::Share, words).and_then(|Measure { value, .. }| {
        let expected = format!("{} to {}", percent(*range.start()), percent(*range.end()));
        range.contains(&value).then_some(value).ok_or_else(|| {
            let found = format!("{} outside the range", percent(value));
            Trouble::input(found, expected).hint("write a share as \"30 %\" or 0.3")
        })
    });
    read.map_err(|t| troubles.push(t.at(flag))).ok()
}

/// Reads one input that is set.
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
            None => "`oilwheel new light-truck` lists them all with their meaning".into(),
        };
        Trouble::input(
            format!("no input called `{key}`"),
            "part.key, such as pump.ratio",
        )
        .hint(hint)
    })?;
    let own = ["oil", "now"].contains(&input.part());
    if !own && machine.is_some_and(|m| m.value(input).is_none()) {
        return Err(Trouble::input(
            format!("`{key}` on a machine without [{}]", input.part()),
            "an input of a part that the machine has",
        ));
    }
    let measure =
        parse(input.field().kind, value).and_then(|m| in_range(input.field(), m, units))?;
    Ok((input, measure))
}

/// A command in words.
fn command_words(command: f64) -> String {
    if command >= 1.0 {
        "full".into()
    } else if command <= 0.0 {
        "least".into()
    } else {
        Units::Si.show(Kind::Share, command)
    }
}
