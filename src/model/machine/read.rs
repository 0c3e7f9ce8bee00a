//! Reads a machine file section by section, and reports all errors at once.

use super::choice::{CHOICES, FUEL, Fuel};
use super::{Machine, UsualCondition};
use crate::input::{Field, Input};
use crate::model::behaviour::BEHAVIOURS;
use crate::model::case::{COUNT, PARTS, Shape};
use crate::model::check::clashes;
use crate::model::library::{Lookup, OILS};
use crate::model::oil_sheet::OilSheet;
use crate::model::read::{Reader, Section};
use crate::quantity::Measure;
use crate::trouble::{Trouble, Troubles, near};
use toml::de::{DeTable, DeValue};

/// Default of an input that is missing from the file, if it depends on other values of the machine.
fn derived(machine: &Machine, key: &str) -> Option<f64> {
    let value = |key: &str| Some(machine.value(Input::find(key)?)?.value);
    match key {
        "pump.fill_speed" => Some(value("pump.ratio")? * machine.usual.full.value),
        "fan.rated_diameter" => value("fan.diameter"),
        _ => None,
    }
}

/// Checks the oil that a machine file names, and returns the errors; a path is not checked, because its file is opened
/// only when the oil is needed.
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

/// Reads the section `[behaviours]`, in which every entry is optional.
fn read_behaviours<'t>(
    reader: &mut Reader<'t>,
    all: &Section<'_, 't>,
) -> Vec<(&'static Field, Measure)> {
    let Some(section) = reader.section(all.table, "behaviours") else {
        return Vec::new();
    };
    let keys: Vec<&str> = BEHAVIOURS.iter().map(|f| f.key).collect();
    reader.refuse_unknown(&section, &keys, "a key of [behaviours]");
    let each = |field: &'static Field| Some((field, reader.measure(&section, field)?));
    BEHAVIOURS.iter().filter_map(each).collect()
}

/// The inputs that have their default value because the file gives none.
pub(super) fn left_out(values: &[Option<Measure>], table: &DeTable<'_>) -> Vec<Input> {
    let given = |input: &Input| {
        let part = table.get(input.part()).map(toml::Spanned::get_ref);
        matches!(part, Some(DeValue::Table(part)) if part.contains_key(input.field().key))
    };
    let valued = Input::all().filter(|i| values.get(i.number()).is_some_and(Option::is_some));
    valued.filter(|i| !given(i)).collect()
}

/// Reads the section `[choices]`, in which every option is required except the fuel.
fn read_choices<'t>(
    reader: &mut Reader<'t>,
    all: &Section<'_, 't>,
) -> ([bool; CHOICES.len()], Option<Fuel>) {
    let mut chosen = [false; CHOICES.len()];
    let mut fuel = None;
    if let Some(section) = reader.section(all.table, "choices") {
        let mut keys = CHOICES.map(|c| c.0).to_vec();
        keys.push(FUEL.0);
        reader.refuse_unknown(&section, &keys, "a key of [choices]");
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
            Trouble::input("the machine file has no [choices]", expected),
            0..0,
        );
    }
    (chosen, fuel)
}

/// Reads the section `[usual]`: the oil, and the usual operating condition.
fn read_usual<'t>(
    reader: &mut Reader<'t>,
    all: &Section<'_, 't>,
) -> (String, UsualCondition<Measure>) {
    let mut fill = String::new();
    let mut usual = UsualCondition::<f64>::usual().map(&mut |_, value| Measure::exact(*value));
    if let Some(section) = reader.section(all.table, "usual") {
        let mut keys = vec!["oil"];
        keys.extend(UsualCondition::<f64>::FIELDS.iter().map(|f| f.key));
        reader.refuse_unknown(&section, &keys, "a key of [usual]");
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
            let expected = "`idle` below `raised`, and `raised` below `full`";
            reader.note(
                Trouble::input("the engine speeds in [usual] are out of order", expected),
                section.span.clone(),
            );
        }
    }
    if fill.is_empty() {
        let trouble = Trouble::input(
            "the machine file names no usual oil",
            "[usual] with oil = \"…\"",
        )
        .hint("`oilwheel oil` lists the library");
        reader.note(trouble, 0..0);
    }
    (fill, usual)
}

/// Reads the sections of the parts; the values are returned in the order of the inputs. `known` lists the sections that
/// a file may have.
fn read_parts<'t>(
    reader: &mut Reader<'t>,
    all: &Section<'_, 't>,
    known: &[&str],
) -> Vec<Option<Measure>> {
    let mut values = vec![None; COUNT];
    let mut base = 0;
    for part in PARTS {
        let slots = &mut values[base..base + part.fields.len()];
        base += part.fields.len();
        if part.key == "oil" || part.key == "now" {
            continue;
        }
        if let Some(section) = reader.section(all.table, part.key) {
            slots.clone_from_slice(&reader.part(&section, part.key, part.fields));
        } else if !part.optional && all.table.get(part.key).is_none() {
            let required = part.fields.iter().filter(|f| f.usual.is_nan());
            let required: Vec<&str> = required.map(|f| f.key).collect();
            if required.is_empty() {
                for (slot, field) in slots.iter_mut().zip(part.fields) {
                    *slot = Some(Measure::exact(field.usual));
                }
            } else if !misspelt(all, part.key, known) {
                let found = format!("the machine file has no [{}]", part.key);
                let expected = format!("[{}] with {}", part.key, required.join(", "));
                reader.note(Trouble::input(found, expected), 0..0);
            }
        }
    }
    values
}

/// Whether the section of `part` is in the file with a misspelt header, which has been reported already.
fn misspelt(all: &Section<'_, '_>, part: &str, known: &[&str]) -> bool {
    let headers = all.table.keys().map(|k| k.get_ref().as_ref());
    let mut unknown = headers.filter(|k: &&str| !known.contains(k));
    unknown.any(|k| near(k, known.iter().copied()) == Some(part))
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

        let (chosen, fuel) = read_choices(&mut reader, &all);
        let (fill, usual) = read_usual(&mut reader, &all);
        let values = read_parts(&mut reader, &all, &known);
        let mut machine = Self {
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
            correlations: Default::default(),
            behaviours: read_behaviours(&mut reader, &all),
        };
        machine.derive();
        machine.read_rated_core(&mut reader, &all);
        machine.cross_check(&mut reader, &all);
        let machine = Self {
            correlations: machine.read_correlations(&mut reader, &all).into(),
            ..machine
        };
        if reader.troubles.is_empty() {
            Ok(machine)
        } else {
            Err(reader.troubles)
        }
    }

    /// Sets the missing inputs whose default depends on other values of the machine.
    fn derive(&mut self) {
        for input in self.left_out.clone() {
            if let Some(value) = derived(self, &input.key()) {
                self.values[input.number()] = Some(Measure::exact(value));
                // A fan rated at its own diameter is the normal case, so this default is not reported as missing.
                if input.part() == "fan" {
                    self.left_out.retain(|one| *one != input);
                }
            }
        }
    }

    /// Reads the section `[correlations]`, with entries such as `"pump.slip" = "motor.slip -0.61, valve.high 0.2"`.
    fn read_correlations<'t>(
        &self,
        reader: &mut Reader<'t>,
        all: &Section<'_, 't>,
    ) -> Vec<(Input, Input, f64)> {
        let mut found: Vec<(Input, Input, f64)> = Vec::new();
        let Some(section) = reader.section(all.table, "correlations") else {
            return found;
        };
        // If there are other errors, an input may lack its value because of them, so it is not reported again.
        let broken = !reader.troubles.is_empty();
        let there = |input: Input| broken || self.value(input).is_some();
        let known: Vec<String> = Input::all().filter(|i| there(*i)).map(Input::key).collect();
        let names: Vec<&str> = known.iter().map(String::as_str).collect();
        reader.refuse_unknown(
            &section,
            &names,
            "the key of an input of this machine, in quotes",
        );
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
                            "another input of this machine, named only once, with a number from -1 to 1",
                        );
                        reader.note(trouble, span.clone());
                    }
                }
            }
        }
        found
    }

    /// Records conflicts between the values of the machine as errors.
    fn cross_check(&self, reader: &mut Reader<'_>, all: &Section<'_, '_>) {
        let value = |input| self.value(input).map(|m| m.value);
        for clash in clashes(&value) {
            let header = |input: &Input| all.table.get_key_value(input.part());
            let span = clash.inputs.iter().find_map(header);
            reader.note(clash.trouble, span.map_or(0..0, |(name, _)| name.span()));
        }
    }
}
