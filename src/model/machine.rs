//! A machine as given by its file.

use super::behaviour::BEHAVIOURS;
use super::case::{COUNT, Case, PARTS, Shape};
use super::check::clashes;
use super::library::{Lookup, OILS};
use super::oil_sheet::OilSheet;
use super::read::{Reader, Section, in_range};
use crate::input::unit::{BAR, RPM, celsius};
use crate::input::{Field, Input};
use crate::quantity::{Measure, Units, parse};
use crate::trouble::{Trouble, Troubles};
use toml::de::{DeTable, DeValue};

crate::part! {
    /// The condition assumed by default.
    UsualCondition {
        idle: Speed [100.0 * RPM, 9000.0 * RPM] 700.0 * RPM, Pump, "engine speed at idle";
        raised: Speed [100.0 * RPM, 9000.0 * RPM] 2000.0 * RPM, Pump, "raised engine speed for tests";
        full: Speed [100.0 * RPM, 9000.0 * RPM] 4000.0 * RPM, Pump, "full engine speed";
        oil_temp: Temperature [celsius(-60.0), celsius(200.0)] celsius(80.0), Oil, "oil temperature when warm";
        air_temp: Temperature [celsius(-60.0), celsius(150.0)] celsius(55.0), FanAir, "air temperature at the fan, downstream of the core, when warm";
        air_release: AbsolutePressure [0.02 * BAR, BAR] f64::NAN, Inlet, "absolute pressure at which the oil releases its dissolved air; default: the oil's own value";
    }
}

/// Default of an input missing from the file, if the default depends on the machine.
fn derived(machine: &Machine, key: &str) -> Option<f64> {
    let value = |key: &str| Some(machine.value(Input::find(key)?)?.value);
    match key {
        "pump.fill_speed" => Some(value("pump.ratio")? * machine.usual.full.value),
        "fan.rated_diameter" => value("fan.diameter"),
        _ => None,
    }
}

impl<T: Copy> UsualCondition<T> {
    /// The engine speed for a word: `idle`, `raised`, `full`.
    pub fn engine_speed(&self, word: &str) -> Option<T> {
        match word {
            "idle" => Some(self.idle),
            "raised" => Some(self.raised),
            "full" => Some(self.full),
            _ => None,
        }
    }
}

/// The choices of a machine: key, the word for no, the word for yes, description.
pub const CHOICES: [(&str, [&str; 2], &str); 3] = [
    (
        "regulator_returns_to",
        ["reservoir", "pump inlet"],
        "where the flow regulator returns its excess flow",
    ),
    (
        "valve_empties_into",
        ["reservoir", "motor outlet"],
        "where the control valve discharges",
    ),
    (
        "steering",
        ["in series", "first"],
        "whether the steering is in series downstream of the motor or has priority",
    ),
];

/// The fuel of an engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fuel {
    /// Petrol: stoichiometric air.
    Petrol,
    /// Diesel: excess air.
    Diesel,
}

/// An optional choice of a machine: key, words, description.
pub const FUEL: (&str, [&str; 2], &str) = ("fuel", ["petrol", "diesel"], "what the engine burns");

impl Fuel {
    fn of(diesel: bool) -> Self {
        if diesel { Fuel::Diesel } else { Fuel::Petrol }
    }

    /// The word for the fuel in files.
    pub fn word(self) -> &'static str {
        match self {
            Fuel::Petrol => FUEL.1[0],
            Fuel::Diesel => FUEL.1[1],
        }
    }
}

/// A machine: the values of its parts with their uncertainty, its choices, and its usual condition.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Key by which the machine is selected.
    pub key: String,
    /// Name of the machine.
    pub name: String,
    /// Source of the machine's values.
    pub status: String,
    /// Choices of the machine.
    pub shape: Shape,
    /// Fuel of the engine, if given.
    pub fuel: Option<Fuel>,
    /// The oil the machine is filled with: a key, a path, or data sheet values on one line.
    pub fill: String,
    /// Usual condition of the machine.
    pub usual: UsualCondition<Measure>,
    values: Vec<Option<Measure>>,
    /// Inputs missing from the machine file, which have their default value without ±.
    pub left_out: Vec<Input>,
    /// Correlations between the uncertainties of the inputs, each pair once.
    pub correlations: Vec<(Input, Input, f64)>,
    /// For a class: behaviour common to its machines, independent of their parts.
    pub behaviours: Vec<(&'static Field, Measure)>,
}

/// The condition of a question; uncertainties as half-widths of about 95 %.
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

/// Errors in the name of the oil in a machine file; a path is followed only when a question is asked.
fn named_oil(words: &str) -> Troubles {
    if words.contains('=') {
        OilSheet::from_line(words).err().unwrap_or_default()
    } else if words.contains(['/', '\\', '.']) {
        Troubles::new()
    } else {
        let named = Lookup::LibraryOnly.text(words, &OILS, "oil");
        named.err().into_iter().collect()
    }
}

/// The section of behaviours, all of which are optional.
fn read_behaviours<'t>(
    reader: &mut Reader<'t>,
    all: &Section<'_, 't>,
) -> Vec<(&'static Field, Measure)> {
    let Some(section) = reader.section(all.table, "behaviours") else {
        return Vec::new();
    };
    let keys: Vec<&str> = BEHAVIOURS.iter().map(|f| f.key).collect();
    reader.refuse_unknown(&section, &keys, "a behaviour");
    let each = |field: &'static Field| Some((field, reader.measure(&section, field)?));
    BEHAVIOURS.iter().filter_map(each).collect()
}

/// The inputs that have a default because the file gives no value.
fn left_out(values: &[Option<Measure>], table: &DeTable<'_>) -> Vec<Input> {
    let given = |input: &Input| {
        let part = table.get(input.part()).map(toml::Spanned::get_ref);
        matches!(part, Some(DeValue::Table(part)) if part.contains_key(input.field().key))
    };
    let valued = Input::all().filter(|i| values.get(i.number()).is_some_and(Option::is_some));
    valued.filter(|i| !given(i)).collect()
}

impl Machine {
    /// Parses the text of a machine file; `source` is the file's name in messages.
    pub fn from_text(source: &str, text: &str) -> Result<Self, Troubles> {
        let mut reader = Reader::new(source, text);
        let document = reader.document();
        let all = Section::whole(&document);
        let parts = || PARTS.iter().filter(|p| p.key != "oil" && p.key != "now");
        let mut known = vec![
            "name",
            "status",
            "choices",
            "usual",
            "behaviours",
            "correlations",
        ];
        known.extend(parts().map(|p| p.key));
        reader.refuse_unknown(
            &all,
            &known,
            "a part of a machine, or `name`, `status`, [choices], [usual]",
        );

        let word = |found: Option<(&str, _)>| found.map(|(w, _)| w.to_string()).unwrap_or_default();
        let name = word(reader.words(&all, "name"));
        let status = word(reader.words(&all, "status"));

        let mut chosen = [false; CHOICES.len()];
        let mut fuel = None;
        if let Some(section) = reader.section(all.table, "choices") {
            let mut keys = CHOICES.map(|c| c.0).to_vec();
            keys.push(FUEL.0);
            reader.refuse_unknown(&section, &keys, "a choice");
            fuel = reader.choice(&section, FUEL.0, FUEL.1).map(Fuel::of);
            for (slot, (key, words, about)) in chosen.iter_mut().zip(CHOICES) {
                match reader.choice(&section, key, words) {
                    Some(yes) => *slot = yes,
                    None if section.table.get(key).is_none() => {
                        let expected = format!("\"{}\" or \"{}\": {about}", words[0], words[1]);
                        reader.note(
                            Trouble::input(format!("[choices] has no `{key}`"), expected),
                            section.span.clone(),
                        );
                    }
                    None => {}
                }
            }
        } else if all.table.get("choices").is_none() {
            let expected = format!("[choices] with {}", CHOICES.map(|c| c.0).join(", "));
            reader.note(
                Trouble::input("a machine without [choices]", expected),
                0..0,
            );
        }

        let mut fill = String::new();
        let mut usual = UsualCondition::<f64>::usual().map(&mut |_, value| Measure::exact(*value));
        if let Some(section) = reader.section(all.table, "usual") {
            let mut keys = vec!["oil"];
            keys.extend(UsualCondition::<f64>::FIELDS.iter().map(|f| f.key));
            reader.refuse_unknown(&section, &keys, "a usual condition");
            if let Some((words, span)) = reader.words(&section, "oil") {
                fill = words.to_string();
                for trouble in named_oil(words) {
                    reader.note(trouble, span.clone());
                }
            }
            usual = usual.map(&mut |i, held| {
                let field = UsualCondition::<f64>::FIELDS.get(i);
                field
                    .and_then(|field| reader.measure(&section, field))
                    .unwrap_or(*held)
            });
            if usual.idle.value >= usual.raised.value || usual.raised.value >= usual.full.value {
                let expected = "idle below raised, raised below full";
                reader.note(
                    Trouble::input("engine speeds out of order in [usual]", expected),
                    section.span.clone(),
                );
            }
        }
        if fill.is_empty() {
            let trouble =
                Trouble::input("a machine without a usual oil", "[usual] with oil = \"…\"")
                    .hint("`oilwheel oil` lists the library");
            reader.note(trouble, 0..0);
        }

        let mut values = vec![None; Input::all().count()];
        let mut base = 0;
        for part in PARTS {
            if part.key != "oil" && part.key != "now" {
                match reader.section(all.table, part.key) {
                    Some(section) => {
                        let found = reader.part(&section, part.key, part.fields);
                        values[base..base + found.len()].clone_from_slice(&found);
                    }
                    None if !part.optional && all.table.get(part.key).is_none() => {
                        // A misspelt header has been reported already.
                        let missed =
                            all.table
                                .keys()
                                .map(|k| k.get_ref().as_ref())
                                .any(|k: &str| {
                                    !known.contains(&k)
                                        && crate::trouble::near(k, known.iter().copied())
                                            == Some(part.key)
                                });
                        if part.fields.iter().any(|f| f.usual.is_nan()) {
                            if !missed {
                                let keys: Vec<_> = part
                                    .fields
                                    .iter()
                                    .filter(|f| f.usual.is_nan())
                                    .map(|f| f.key)
                                    .collect();
                                let expected = format!("[{}] with {}", part.key, keys.join(", "));
                                reader.note(
                                    Trouble::input(
                                        format!("a machine without [{}]", part.key),
                                        expected,
                                    ),
                                    0..0,
                                );
                            }
                        } else {
                            for (i, field) in part.fields.iter().enumerate() {
                                values[base + i] = Some(Measure::exact(field.usual));
                            }
                        }
                    }
                    None => {}
                }
            }
            base += part.fields.len();
        }
        let machine = Self {
            key: source.to_string(),
            name,
            status,
            shape: Shape {
                recirculates: chosen[0],
                valve_to_motor_outlet: chosen[1],
                steering_first: chosen[2],
                unplugged: false,
            },
            fuel,
            fill,
            usual,
            left_out: left_out(&values, all.table),
            values,
            correlations: Vec::new(),
            behaviours: read_behaviours(&mut reader, &all),
        };
        let mut machine = machine;
        for input in machine.left_out.clone() {
            if let Some(value) = derived(&machine, &input.key()) {
                machine.values[input.number()] = Some(Measure::exact(value));
                // By default the fan was rated at its own diameter; this is not a guess.
                if input.part() == "fan" {
                    machine.left_out.retain(|one| *one != input);
                }
            }
        }
        machine.read_rated_core(&mut reader, &all);
        machine.cross_check(&mut reader, &all);
        let machine = Self {
            correlations: machine.read_correlations(&mut reader, &all),
            ..machine
        };
        if reader.troubles.is_empty() {
            Ok(machine)
        } else {
            Err(reader.troubles)
        }
    }

    /// Builds a machine in code from inputs as typed, `(INPUTS.pump.displacement, "16 cm³/rev ± 3 %")`. An optional
    /// part is included if one of its inputs is given; an input that is not given has its default.
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
                        format!("{}, which has no default", field.help),
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
            correlations: Vec::new(),
            behaviours: Vec::new(),
        })
    }

    /// The section of correlations: `"pump.slip" = "motor.slip -0.61, valve.high 0.2"`.
    fn read_correlations<'t>(
        &self,
        reader: &mut Reader<'t>,
        all: &Section<'_, 't>,
    ) -> Vec<(Input, Input, f64)> {
        let mut found: Vec<(Input, Input, f64)> = Vec::new();
        let Some(section) = reader.section(all.table, "correlations") else {
            return found;
        };
        // If there is another error, an input without a value has been reported already.
        let broken = !reader.troubles.is_empty();
        let there = |input: Input| broken || self.value(input).is_some();
        let known: Vec<String> = Input::all().filter(|i| there(*i)).map(Input::key).collect();
        let names: Vec<&str> = known.iter().map(String::as_str).collect();
        reader.refuse_unknown(&section, &names, "an input of this machine, in quotes");
        for one in &names {
            let (Some(a), Some((words, span))) = (Input::find(one), reader.words(&section, one))
            else {
                continue;
            };
            for entry in words.split(',').filter(|e| !e.trim().is_empty()) {
                let pair = entry.trim().rsplit_once(char::is_whitespace);
                let other =
                    pair.and_then(|(key, _)| Input::find(key.trim()).filter(|input| there(*input)));
                let number = pair.and_then(|(_, n)| n.parse().ok());
                let twice = |b: Input| {
                    found
                        .iter()
                        .any(|(x, y, _)| (*x, *y) == (a, b) || (*x, *y) == (b, a))
                };
                match (other, number) {
                    (Some(b), Some(r)) if b != a && (-1.0..=1.0).contains(&r) && !twice(b) => {
                        found.push((a, b, r));
                    }
                    _ => {
                        let trouble = Trouble::input(
                            format!("`{}` under \"{one}\"", entry.trim()),
                            "another input of this machine, once, with a number from -1 to 1",
                        );
                        reader.note(trouble, span.clone());
                    }
                }
            }
        }
        found
    }

    /// A copy of the machine with one of its inputs set.
    pub fn with(mut self, input: Input, measure: Measure) -> Self {
        self.set(input, measure);
        self
    }

    /// Records conflicts between values.
    fn cross_check(&self, reader: &mut Reader<'_>, all: &Section<'_, '_>) {
        let value = |input| self.value(input).map(|m| m.value);
        for clash in clashes(&value) {
            let header = |input: &Input| all.table.get_key_value(input.part());
            let span = clash.inputs.iter().find_map(header);
            reader.note(clash.trouble, span.map_or(0..0, |(name, _)| name.span()));
        }
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

    /// Gives one of the machine's inputs a value, even one that it lacked.
    pub(super) fn put(&mut self, input: Input, measure: Measure) {
        if let Some(slot) = self.values.get_mut(input.number()) {
            *slot = Some(measure);
        }
    }

    /// Sets one of the machine's choices: key, and one of its two words.
    pub fn choose(&mut self, key: &str, word: &str) -> Result<(), Trouble> {
        if key == FUEL.0 {
            let at = FUEL.1.iter().position(|w| *w == word).ok_or_else(|| {
                Trouble::input(
                    format!("`{word}`"),
                    format!("{} or {}", FUEL.1[0], FUEL.1[1]),
                )
            })?;
            self.fuel = Some(Fuel::of(at == 1));
            return Ok(());
        }
        let Some((at, (_, words, _))) = CHOICES.iter().enumerate().find(|(_, c)| c.0 == key) else {
            let keys = CHOICES.map(|c| c.0).join(", ");
            let expected = format!("{keys}, {}", FUEL.0);
            return Err(Trouble::input(
                format!("no choice called `{key}`"),
                expected,
            ));
        };
        let Some(yes) = words.iter().position(|w| *w == word) else {
            let expected = format!("{} or {}", words[0], words[1]);
            return Err(Trouble::input(format!("`{word}`"), expected));
        };
        let shape = &mut self.shape;
        let slots = [
            &mut shape.recirculates,
            &mut shape.valve_to_motor_outlet,
            &mut shape.steering_first,
        ];
        for (_, slot) in slots.into_iter().enumerate().filter(|(i, _)| *i == at) {
            *slot = yes == 1;
        }
        Ok(())
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

    /// The case of this machine with an oil in a condition, and the uncertainty of each input, checked.
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

    /// The case of this machine with an oil in a condition, without checks.
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
                Trouble::input(format!("no value for {key}"), "a value for every part")
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
