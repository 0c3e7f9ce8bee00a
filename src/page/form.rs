//! The form of a question, made from the declarations of the question's fields.

use super::book;
use super::boxes;
use super::door::{AS_NOTED, LINES, SAME, SEVERITY, as_read, first};
use super::fields::{Fields, Slide};
use super::typed::Typed;
use super::view::{MACHINE_NAMES, Names, OIL_NAMES, name_of, understood};
use crate::fault;
use crate::input::unit::celsius;
use crate::model::{Lookup, MACHINES, Machine, Setup, TRIPS};
use crate::quantity::{Kind, Units, parse};
use crate::question::basis::WITH;
use crate::question::{Field, Group, Question, Takes, Usual, heat};
use crate::trouble::Trouble;
use maud::{Markup, PreEscaped, html};
use std::sync::LazyLock;

/// Fields that the form leaves out because they are useful only on the command line.
const LEFT_OUT: &[(&str, &[&str])] = &[
    (
        "suspects",
        &[
            "well",
            "priors",
            "engine_speed",
            "oil_temp",
            "command",
            "with",
        ],
    ),
    ("auxfan", &["oil_temp", "air_temp", "command"]),
    ("flush", &["oil"]),
    ("trip", &["engine_speed"]),
    ("log", &["machine", "oil", "set", "with"]),
    ("sweep", &["steps", "steps_2"]),
    ("size", &["wants", "out"]),
    ("points", &["out"]),
];

/// How many letters of a placeholder a box shows on a phone 360 px wide, alone in its line and beside a slider.
const ROOM: usize = 30;
const ROOM_AT_SLIDE: usize = 11;

/// The label of the choice whether the air conditioning is on.
const AIR: &str = "Air conditioning";

/// A switch as a choice of two: its usual state, and the other one.
fn switch(usual: &str, other: &str) -> Names {
    vec![(String::new(), usual.into()), ("on".into(), other.into())]
}

/// The data from which a form is made.
pub(super) struct Form<'a> {
    pub question: &'static Question,
    pub fields: Fields<'a>,
    pub machine: &'a Machine,
    pub units: Units,
}

/// The form of a question.
pub(super) fn form(
    question: &'static Question,
    typed: &Typed,
    problems: &[Trouble],
    machine: &Machine,
) -> Markup {
    let fields = Fields {
        question,
        typed,
        problems,
    };
    let units = typed.units();
    let form = Form {
        question,
        fields,
        machine,
        units,
    };
    let shown = html! {
        @if asks_machine(question) { fieldset #book { (book::panel(&form)) } }
        @for group in question.groups { (form.group(group)) }
        (form.own_machine())
        (send(units))
    };
    let shown = shown.into_string();
    html! {
        (PreEscaped(&shown))
        @for (name, value) in typed.others(&shown) { input type="hidden" name=(name) value=(value); }
    }
}

/// Whether a question is about a machine, and therefore uses the notebook.
fn asks_machine(question: &Question) -> bool {
    let field = question.field("machine");
    field.is_some_and(|f| f.usual == Usual::Required)
}

/// The notebook panel of the form by itself, so that the page can replace it.
pub(super) fn notebook(question: &'static Question, typed: &Typed) -> Option<Markup> {
    let machine = machine(typed).filter(|_| asks_machine(question))?;
    let fields = Fields {
        question,
        typed,
        problems: &[],
    };
    let units = typed.units();
    Some(book::panel(&Form {
        question,
        fields,
        machine: &machine,
        units,
    }))
}

/// The button that submits the form, and the choice of units.
fn send(units: Units) -> Markup {
    html! {
        p.go {
            button.main { "Compute" }
            label for="units" { "Units" } " "
            select #units name="units" data-reload {
                option value="si" selected[units == Units::Si] { "metric" }
                option value="us" selected[units == Units::Us] { "US" }
            }
        }
    }
}

impl Form<'_> {
    /// The fields of a group that the form shows.
    fn shown(&self, group: &Group) -> Vec<&'static Field> {
        let out = LEFT_OUT.iter().find(|(key, _)| *key == self.question.key);
        let out = out.map_or(&[][..], |(_, fields)| fields);
        let shown = group
            .fields
            .iter()
            .copied()
            .filter(|f| !out.contains(&f.key));
        shown.collect()
    }

    /// A group of fields: expanded, or collapsed until one of its fields has input.
    fn group(&self, group: &Group) -> Markup {
        let shown = self.shown(group);
        let inside = html! { @for field in &shown { (self.field(field)) } };
        if shown.is_empty() {
            html! {}
        } else if group.folded {
            let holds = shown.iter().any(|f| self.holds(f));
            html! { details open[holds] { summary { (group.title) } (inside) } }
        } else {
            html! { fieldset { legend { (group.title) } (inside) } }
        }
    }

    /// Whether a field has input or an error.
    fn holds(&self, field: &Field) -> bool {
        match (field.takes, field.key) {
            (Takes::Setting, _) => boxes::some(&self.fields, "set."),
            (_, "at" | "try") => boxes::some(&self.fields, &format!("{}.", field.key)),
            (Takes::Text(_) | Takes::Log, key) => self.fields.holds(&format!("{key}_text")),
            (Takes::Oil, key) => {
                self.fields.holds(key) || self.fields.holds(&format!("{key}_line"))
            }
            (_, key) => self.fields.holds(key),
        }
    }

    /// One field.
    fn field(&self, field: &'static Field) -> Markup {
        let (fields, key) = (&self.fields, field.key);
        match (field.takes, key) {
            (_, "at") => boxes::places(self),
            // The boxes of this field are at each position for electric fans.
            (_, "try") => html! { p.wrong #try-wrong { (fields.said_of("try")) } },
            // Single readings are entered in the notebook.
            (_, "readings") => html! {
                details open[fields.holds("readings_text")] {
                    summary { "Use a readings file instead" }
                    (fields.text("readings_text", "The file's text", "The readings as TOML or as a CSV table. They are used instead of those in the notebook."))
                }
            },
            (Takes::Log, _) => boxes::log(self, field),
            (Takes::Setting, _) => boxes::parts(self),
            (Takes::Machine, "machine") if field.usual == Usual::Required => self.machine_choice(),
            (Takes::Machine, _) => {
                let names = or("the same machine", &brief(&MACHINE_NAMES));
                fields.choice(key, field.label, &names)
            }
            (Takes::Oil, _) if field.many => self.oils(field),
            (Takes::Oil, _) => self.oil(field),
            (Takes::Trip, _) => self.trip(field),
            (Takes::Fault, _) => self.fault(field),
            (Takes::Choice(words), _) => {
                let names: Names = words
                    .iter()
                    .map(|(k, w)| ((*k).into(), (*w).into()))
                    .collect();
                html! {
                    (fields.choice(key, field.label, &names))
                    @if !field.help.is_empty() { p.help { (field.help) } }
                }
            }
            // The wording is the same on all tabs, whichever state is the usual one there.
            (Takes::Switch, "air_conditioning") => fields.choice(key, AIR, &switch("off", "on")),
            (Takes::Switch, "no_air_conditioning") => fields.choice(key, AIR, &switch("on", "off")),
            (Takes::Switch, _) => fields.tick(key, field.label),
            (Takes::Text(_), _) => fields.text_or_file(
                &format!("{key}_text"),
                field.label,
                field.help,
                ".csv,.toml,text/csv,text/plain",
            ),
            (Takes::Words, "over") => boxes::over(self, field),
            (_, key) if LINES.contains(&key) => {
                let usual = first(self.question, field);
                let usual = usual.map_or(String::new(), |words| {
                    format!(" If the box is empty: {words}.")
                });
                let help = format!(
                    "One per line, such as {}.{usual} {}",
                    field.example, field.help
                );
                fields.text(key, field.label, &help)
            }
            _ => {
                let slide = self.slide(field);
                let room = slide.as_ref().map_or(ROOM, |_| ROOM_AT_SLIDE);
                let usual = self.usual(field);
                // What does not fit into the box on a phone stands below it.
                let (usual, help) = match usual.chars().count() <= room {
                    true => (usual, field.help.to_string()),
                    false => (String::new(), format!("{} If empty: {usual}.", field.help)),
                };
                match slide {
                    Some(slide) => fields.slide(key, field.label, &usual, help.trim(), &slide),
                    None => fields.words(key, field.label, &usual, help.trim()),
                }
            }
        }
    }

    /// The default of a field, shown as the placeholder of its empty box.
    fn usual(&self, field: &Field) -> String {
        let usual = self.machine.idling();
        let typed = self.fields.typed;
        if let Some(words) = as_read(self.question, typed, field.key) {
            return words;
        }
        let of_fan = field.key == heat::FAN_SPEED.key && typed.get(WITH.key).is_none();
        if of_fan && book::last_speed(typed).is_some() {
            return AS_NOTED.into();
        }
        match field.key {
            "from" | "to" => {
                let (from, to) = boxes::range(self.fields.typed, self.machine);
                return if field.key == "from" { from } else { to };
            }
            _ if field.usual == Usual::Words("set by the fan control") => {
                return super::view::AUTOMATIC.into();
            }
            "engine_speed" => return self.units.show(Kind::Speed, usual.engine_speed.value),
            "oil_temp" if !asks_machine(self.question) => return field.example.into(),
            "oil_temp" if self.question.key != "trip" => {
                return self.units.show(Kind::Temperature, usual.oil_temp.value);
            }
            "air_temp" => return self.units.show(Kind::Temperature, usual.air_temp.value),
            _ => {}
        }
        let words = match field.usual {
            Usual::Value(words) => words,
            Usual::Words(words) if !words.is_empty() => words,
            _ => field.example,
        };
        // In the units of the page.
        match field.takes {
            Takes::Quantity(kind, ..) => {
                parse(kind, words).map_or_else(|_| words.into(), |m| self.units.show(kind, m.value))
            }
            _ => words.into(),
        }
    }

    /// The choice of machine and oil, as a sentence.
    fn machine_choice(&self) -> Markup {
        let own = self.fields.typed.machine().is_empty();
        let machines = if own {
            or(&self.machine.name, &MACHINE_NAMES)
        } else {
            MACHINE_NAMES.clone()
        };
        html! {
            div.sentence {
                label for="machine" { "This is a" } " " (self.fields.pick("machine", &brief(&machines)))
                span.help { (rest_of(&self.machine.name)) }
            }
        }
    }

    /// The field for an oil: a choice, and a line for data sheet values.
    fn oil(&self, field: &Field) -> Markup {
        let (fields, key) = (&self.fields, field.key);
        let own = head_of(&name_of(&OIL_NAMES, &self.machine.fill)).to_string();
        let mut names = brief(&OIL_NAMES);
        match (first(self.question, field), field.usual) {
            (Some(SAME), _) => names.insert(0, (SAME.into(), "the same oil".into())),
            (Some(first), Usual::Required) => names.sort_by_key(|(key, _)| key != first),
            (Some(first), _) => {
                names.sort_by_key(|(key, _)| key != first);
                names.push((SAME.into(), "the same oil".into()));
            }
            // An empty choice, so that it is not taken along to other questions.
            (None, Usual::Value(usual)) => {
                let name = name_of(&OIL_NAMES, usual);
                names.insert(0, (String::new(), format!("{} (usual)", head_of(&name))));
            }
            (None, _) => names.insert(0, (String::new(), format!("{own} (its usual)"))),
        }
        let line = format!("{key}_line");
        html! {
            (fields.choice(key, field.label, &names))
            details open[fields.holds(&line)] {
                summary { "From its data sheet" }
                (fields.words(&line, "Values from the data sheet", "",
                    "Two viscosities or more, and the density if known, each with its temperature, such as 40C=35 cSt, 100C=7.4 cSt, 15C=850 kg/m3. They are used instead of the oil chosen above."))
            }
        }
    }

    /// The oils of the library as checkboxes.
    fn oils(&self, field: &Field) -> Markup {
        let (typed, key) = (self.fields.typed, field.key);
        html! {
            div.oils role="group" aria-label=(field.label) {
                p.help { (field.label) }
                @for (oil, name) in OIL_NAMES.iter() {
                    label { input type="checkbox" name=(key) value=(oil) checked[typed.all(key).any(|o| o == oil)]; " " (name) }
                }
            }
            p.wrong id={ (super::fields::id(key)) "-wrong" } { (self.fields.said_of(key)) }
        }
    }

    /// The field for a trip: a choice with its description, and a box for the user's own table.
    fn trip(&self, field: &Field) -> Markup {
        let (fields, key) = (&self.fields, field.key);
        let now = fields.typed.get(key).unwrap_or(TRIPS[0].0);
        let chosen = TRIP_NAMES.iter().find(|(key, _)| now == key);
        let text = format!("{key}_text");
        html! {
            (fields.choice(key, field.label, &brief(&TRIP_NAMES)))
            @if let Some((_, about)) = chosen { p.help { (rest_of(about)) } }
            details open[fields.holds(&text)] {
                summary { "A trip of your own" }
                (fields.text_or_file(&text, "Its table", field.help, ".csv,text/csv,text/plain"))
            }
        }
    }

    /// The field for a fault and its severity.
    fn fault(&self, field: &Field) -> Markup {
        let (fields, key) = (&self.fields, field.key);
        let mut names: Names = vec![(String::new(), "none".into())];
        names.extend(
            fault::ALL
                .iter()
                .map(|f| (f.key.to_string(), f.name.to_string())),
        );
        let chosen = fault::ALL
            .iter()
            .find(|f| Some(f.key) == fields.typed.get(key));
        let help = chosen.map_or("From 0 (no fault) to 1 (worst).".to_string(), |f| {
            format!("From {} to {}: {}", f.range.0, f.range.1, f.severity)
        });
        html! {
            (fields.choice(key, field.label, &names))
            (fields.words(&format!("{key}_severity"), "Its severity", SEVERITY, &help))
        }
    }

    /// The slider for a field of the operating condition, if the field has one.
    fn slide(&self, field: &Field) -> Option<Slide> {
        let usual = self.machine.idling();
        let at = [usual.engine_speed.value, usual.oil_temp.value, 1.0];
        let now = understood(self.question, self.fields.typed);
        let at = now.map_or(at, |setup| moment_of(&setup));
        let all = slides(self.machine, at, self.units);
        all.into_iter()
            .find(|(key, _)| *key == field.key)
            .map(|(_, slide)| slide)
    }

    /// The box for the user's own machine file, if the question is about a machine.
    fn own_machine(&self) -> Markup {
        let own = self.fields.typed.machine().is_empty();
        let asks = self
            .question
            .field("machine")
            .is_some_and(|f| f.usual == Usual::Required);
        if !asks {
            return html! {};
        }
        html! {
            details open[own] {
                summary { "A machine file of your own" }
                (self.fields.text_or_file("machine_text", "The file's text", "Paste the text here. It is used as long as this box is not empty. The button “Machine file” below saves a file to start from. The text stays on this computer.", ".toml,text/plain"))
            }
        }
    }
}

/// The sliders of the operating condition, each with the key of its field.
pub(super) fn slides(
    machine: &Machine,
    [engine_speed, oil_temp, command]: [f64; 3],
    units: Units,
) -> [(&'static str, Slide); 3] {
    let (idle, full) = (machine.usual.idle.value, machine.usual.full.value);
    let slide = |kind: Kind, low: f64, high: f64, step: f64, at: f64| {
        let round = |si: f64| (units.number(kind, si) / step).round() * step;
        Slide {
            low: round(low),
            high: round(high),
            step,
            at: round(at),
            unit: units.unit(kind),
        }
    };
    let (cold, hot) = (celsius(-30.0), celsius(120.0));
    [
        (
            "engine_speed",
            slide(Kind::Speed, 0.5 * idle, full, 10.0, engine_speed),
        ),
        (
            "oil_temp",
            slide(Kind::Temperature, cold, hot, 1.0, oil_temp),
        ),
        ("command", slide(Kind::Share, 0.0, 1.0, 1.0, command)),
    ]
}

/// Engine speed, oil temperature and command of a case.
pub(super) fn moment_of(setup: &Setup) -> [f64; 3] {
    let now = &setup.case.now;
    [now.engine_speed, now.oil_temp, now.command]
}

/// The machine whose values are the placeholders in the form; the first one of the library if the chosen one cannot be
/// read.
pub(super) fn machine(typed: &Typed) -> Option<Machine> {
    let named = match typed.get("machine_text") {
        Some(text) => Machine::from_text("", text),
        None => Lookup::LibraryOnly.machine(typed.machine()),
    };
    let first = |_| Machine::from_text(MACHINES[0].0, MACHINES[0].1);
    named.or_else(first).ok()
}

/// The trips of the library: key, and the comment in the first line of their table.
static TRIP_NAMES: LazyLock<Names> = LazyLock::new(|| {
    let name = |(key, table): &(&str, &str)| {
        let about = table.lines().next().unwrap_or_default();
        let about = about.trim_start_matches('#').trim();
        let about = about.trim_end_matches("Invented.").trim();
        ((*key).to_string(), about.replacen(": ", ", ", 1))
    };
    TRIPS.iter().map(name).collect()
});

/// A list of options with an additional first one whose value is empty.
pub(super) fn or(first: &str, names: &[(String, String)]) -> Names {
    let mut all = vec![(String::new(), first.to_string())];
    all.extend_from_slice(names);
    all
}

/// The part of a name before its first comma.
fn head_of(name: &str) -> &str {
    name.split(", ").next().unwrap_or(name)
}

/// The part of a name after its first comma.
fn rest_of(name: &str) -> &str {
    name.split_once(", ").map_or("", |(_, rest)| rest)
}

/// Keys with the part of their names before the first comma, so that they fit into a narrow drop-down list.
fn brief(names: &[(String, String)]) -> Names {
    let short = |(key, name): &(String, String)| (key.clone(), head_of(name).to_string());
    names.iter().map(short).collect()
}
