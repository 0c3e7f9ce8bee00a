//! The notebook that all tabs share: what is written into it, and where it stands in the form.
//!
//! Its text is `book_text`, in the format of a notebook's file. A reading or fact to be written comes in boxes of its
//! own: `note.test`,
//! `note.value` … from the form, `next.test`, `next.value` from the card of what to do next, `next.skip` for what cannot be done.

use super::boxes::example;
use super::fields::Fields;
use super::form::{Form, machine};
use super::typed::{FIRST_MACHINE, Typed};
use crate::balance::Output;
use crate::probe::{ALL, Book, FACTS, Probe, Reading, Readings, What};
use crate::quantity::{Kind, Units};
use crate::question::notebook::added;
use crate::trouble::{Trouble, Troubles};
use maud::{Markup, html};
use toml_edit::{Array, DocumentMut, value};

/// The box of its text.
pub(super) const TEXT: &str = "book_text";
/// What messages call it.
pub(super) const NAME: &str = "your notebook";
/// The form's box for a reading or fact.
const VALUE: &str = "note.value";
/// The test that is offered first.
pub(super) const FIRST: &str = "fan-speed-idle-hot";

/// What was done to the machine, as `--add` calls it.
const WORK: &str = "work";

/// What stands behind a reading, by the word that `--add` has for it: the box, its label, an example.
const BEHIND: [(&str, &str, &str, &str); 5] = [
    ("engine", "note.engine", "Engine speed", "as the test says"),
    ("oil", "note.oil", "Oil temperature", "as the test says"),
    ("air", "note.air", "Outer air", "as the test says"),
    ("with", "note.by", "Instrument", "the test's usual one"),
    ("on", "note.date", "Day", "2026-05-02"),
];

/// Words of the tests' names, and shorter ones with which a choice stays whole on a phone.
const SHORT: [(&str, &str); 24] = [
    ("pressure at the pump's outlet at", "pump outlet:"),
    ("pressure at the motor's inlet at", "motor inlet:"),
    ("pressure behind the motor at", "motor outlet:"),
    ("vacuum at the pump's inlet at", "pump inlet:"),
    ("flow from the motor's case drain at", "case drain:"),
    ("flow from the pump at", "pump flow:"),
    ("pump speed at", "pump speed:"),
    ("fan speed at", "fan speed:"),
    ("upper less lower radiator hose at", "radiator hoses:"),
    ("coolant temperature at", "coolant:"),
    (
        "coolant temperature up a grade of 7 %",
        "coolant: 7 % grade",
    ),
    ("coolant temperature on a level road", "coolant: level road"),
    ("raised engine speed", "raised"),
    ("about 3000 rpm of the engine", "3000 rpm"),
    ("oil at about 20 °C", "20 °C"),
    (", oil warm", ", warm"),
    ("control valve unplugged", "unplugged"),
    (" fan asked for", " fan"),
    (
        "a long stop on a hot day, air conditioning on",
        "stop, hot day",
    ),
    (", by the rise of the level", ", by level"),
    (
        "the pressure that full fan asks for",
        "pressure at full fan",
    ),
    (
        "the flow that the pump's regulator holds",
        "flow that the regulator holds",
    ),
    (
        "the power that the fan takes at its rated speed",
        "fan's power at rated speed",
    ),
    ("the fan motor's displacement", "fan motor's displacement"),
];

/// A test's name, short enough for a choice on a phone.
fn short(name: &str) -> String {
    let mut name = name.split(':').next().unwrap_or(name);
    for from in [
        "its plate or part number",
        "the service information",
        "its maker",
    ] {
        let rest = name
            .strip_suffix(from)
            .and_then(|n| n.strip_suffix(", from "));
        name = rest.unwrap_or(name);
    }
    let one = |name: String, (long, short): &(&str, &str)| name.replace(long, short);
    SHORT.iter().fold(name.to_string(), one)
}

/// Writes what the form brings into the notebook; what is wrong with it is told, and the notebook stays as it was.
pub(super) fn settled(typed: &mut Typed) -> Troubles {
    if typed.get("next.value").is_some() && typed.get(VALUE).is_none() {
        for name in ["test", "value"] {
            let words = typed
                .get(&format!("next.{name}"))
                .unwrap_or_default()
                .to_string();
            typed.set(&format!("note.{name}"), &words);
        }
        typed.forget("next.value");
    }
    let skip = typed.get("next.skip").map(String::from);
    let additions: Vec<(String, String)> = ["known.1.", "known.2.", "known.3.", "note.", "next."]
        .iter()
        .filter_map(|boxes| Some((format!("{boxes}value"), addition(typed, boxes)?)))
        .collect();
    let old = typed.get(TEXT).unwrap_or_default().to_string();
    for boxes in ["next.", "known."] {
        typed.forget(boxes);
    }
    if old.is_empty() && skip.is_none() && additions.is_empty() {
        return Vec::new();
    }
    // What cannot be read as TOML is told of at once: it can be long, and every question would read it several times.
    let Ok(mut document) = old.parse::<DocumentMut>() else {
        let read = Book::from_text(NAME, &old).err().unwrap_or_default();
        return read.into_iter().map(|t| t.on(TEXT)).collect();
    };
    let own = typed.get("machine_text").is_some();
    for key in ["machine", "oil"] {
        match (typed.get(key), document.get(key).and_then(|v| v.as_str())) {
            // A file of one's own stands in the place of the notebook's machine.
            (_, Some(_)) if key == "machine" && own => {}
            (_, None) if key == "machine" && own => document[key] = value(FIRST_MACHINE),
            (None, Some(words)) => {
                let words = words.to_string();
                typed.set(key, &words);
            }
            (Some(words), _) => document[key] = value(words),
            (None, None) if key == "machine" => document[key] = value(typed.machine()),
            (None, None) => {}
        }
    }
    if let Some(key) = skip {
        let all = document.entry("skip").or_insert(value(Array::new()));
        if let Some(all) = all.as_array_mut() {
            all.push(key);
        }
    }
    match written_down(typed, document.to_string(), &additions) {
        Ok(text) => {
            typed.set(TEXT, &text);
            if !additions.is_empty() {
                typed.forget("note.");
            }
            Vec::new()
        }
        Err(all) => all,
    }
}

/// The text of a notebook with what the boxes say, each of which is told of its own mistakes.
fn written_down(
    typed: &Typed,
    mut text: String,
    additions: &[(String, String)],
) -> Result<String, Troubles> {
    let Some(machine) = machine(typed) else {
        return Ok(text);
    };
    let mut wrong = Vec::new();
    for (name, addition) in additions {
        let more = added(NAME, &text, &[addition])
            .and_then(|more| Readings::from_notebook(NAME, &more, &machine).map(|_| more));
        let here = |t: Trouble| {
            let mut plain = t.on(name);
            plain.spot.line = None;
            plain
        };
        match more {
            Ok(more) => text = more,
            Err(all) => wrong.extend(all.into_iter().map(here)),
        }
    }
    match wrong.is_empty() {
        true => Ok(text),
        false => Err(wrong),
    }
}

/// The notebook's text with one's own machine file in the place of its machine.
pub(super) fn about(text: &str, file: &str) -> String {
    let Ok(mut document) = text.parse::<DocumentMut>() else {
        return text.into();
    };
    document["machine"] = value(file);
    document.to_string()
}

/// What the boxes say, as `--add` of `notebook` takes it.
fn addition(typed: &Typed, boxes: &str) -> Option<String> {
    let read = typed.get(&format!("{boxes}value"))?;
    let key = typed.get(&format!("{boxes}test")).unwrap_or(FIRST);
    if key == WORK {
        // Its day parts the readings before from those after it.
        let day = typed.get(&format!("{boxes}date")).unwrap_or_default();
        return Some(format!("work = {read}, on {day}"));
    }
    let probe = ALL.iter().chain(FACTS).find(|p| p.key == key);
    let read = read.replace("+/-", "±").replace("+-", "±");
    let bare = |part: &str| part.trim().parse::<f64>().is_ok();
    let read = match probe {
        Some(p) if read.split('±').all(bare) => {
            format!("{read} {}", typed.units().unit(p.what.kind()))
        }
        _ => read,
    };
    if probe.is_some_and(|p| matches!(p.what, What::Fact(_))) {
        return Some(format!("{key} = {}", read.trim()));
    }
    let mut behind = Vec::new();
    // The card of what to do next has no boxes for the condition.
    for (word, name, ..) in BEHIND.iter().filter(|b| b.1.starts_with(boxes)) {
        if let Some(words) = typed.get(name) {
            let kind = match *word {
                "engine" => Some(Kind::Speed),
                "oil" | "air" => Some(Kind::Temperature),
                _ => None,
            };
            let bare = |part: &str| part.trim().parse::<f64>().is_ok();
            match kind.filter(|_| words.split('±').all(bare)) {
                Some(kind) => behind.push(format!("{word} {words} {}", typed.units().unit(kind))),
                None => behind.push(format!("{word} {words}")),
            }
        }
    }
    if let Some(p) = probe
        && !read.contains('±')
        && !behind.iter().any(|words| words.starts_with("with "))
    {
        behind.push(format!("with {}", p.instrument));
    }
    behind.extend(typed.get(&format!("{boxes}when")).map(String::from));
    Some(match behind.is_empty() {
        true => format!("{key} = {read}"),
        false => format!("{key} = {read} at {}", behind.join(", ")),
    })
}

/// Its readings.
fn read(typed: &Typed) -> Vec<Reading> {
    let found = typed.get(TEXT).zip(machine(typed));
    let found = found.and_then(|(text, m)| Readings::from_notebook(NAME, text, &m).ok());
    found.map_or_else(Vec::new, |r| r.all)
}

/// The last fan speed in it that is in question: what `speed` and `why` are asked about.
pub(super) fn last_speed(typed: &Typed) -> Option<Reading> {
    let of_fan = |r: &Reading| r.probe.what == What::Output(Output::FAN_SPEED);
    let asked = |r: &Reading| of_fan(r) && !r.healthy && !r.setting.unplugged;
    read(typed).into_iter().rev().find(asked)
}

/// Where it stands in the form.
pub(super) fn panel(form: &Form<'_>) -> Markup {
    let fields = &form.fields;
    let mut tests: Vec<&Probe> = ALL.iter().filter(|p| p.runs_on(form.machine)).collect();
    tests.sort_by(|a, b| a.effort_minutes.total_cmp(&b.effort_minutes));
    let chosen = fields.typed.get("note.test").unwrap_or(FIRST);
    let usual = tests.iter().find(|p| p.key == chosen);
    let usual = usual.map_or_else(|| "1.27 ± 0.02".into(), |p| example(p.what.kind()));
    let when = [("in question", "now"), ("healthy", "when all was well")];
    html! {
        legend { "What you read or know" }
        div.field {
            label for="note-test" { "Test or fact" }
            select #note-test name="note.test" {
                @for p in tests.into_iter().chain(FACTS.iter().filter(|p| p.runs_on(form.machine))) {
                    option value=(p.key) title=(p.name) selected[p.key == chosen] { (short(p.name)) }
                }
                option value=(WORK) selected[chosen == WORK] { "work done: oil, a part …" }
            }
        }
        (fields.words(VALUE, "Its value", &usual, "A bare number takes the usual unit; without ± the test's usual instrument counts."))
        details open[BEHIND.iter().any(|b| fields.holds(b.1))] {
            summary { "In which condition" }
            @for (_, name, label, usual) in BEHIND { (fields.words(name, label, usual, "")) }
            (fields.choice("note.when", "When", &when.map(|(k, w)| (k.to_string(), w.to_string()))))
        }
        p.go { button name="write" value="on" formmethod="post" { "Write it down" } }
        (written(fields, form.units))
        details open[!fields.said_of(TEXT).is_empty()] data-key="book" {
            summary { "The notebook’s text" }
            (fields.text(TEXT, "As its file holds it", "It goes to every question, and stays in this browser."))
            button name="write" value="on" formmethod="post" { "Use this text" }
        }
        p.scripted.keep hidden {
            button type="button" data-book="undo" { "Undo" }
            button type="button" data-book="keep" { "Keep as a file" }
            button type="button" data-book="clear" { "Clear" }
            label for="book-file" { "Bring one back: " }
            input #book-file type="file" accept=".toml,text/plain";
        }
    }
}

/// What stands in it: readings, facts, and what was done.
fn written(fields: &Fields<'_>, units: Units) -> Markup {
    let all = read(fields.typed);
    let book = fields
        .typed
        .get(TEXT)
        .map(|text| Book::from_text(NAME, text));
    let book = book.and_then(Result::ok).unwrap_or_default();
    let fact = |key: &str| FACTS.iter().find(|p| p.key == key);
    html! {
        @if !all.is_empty() || !book.known.is_empty() || !book.works.is_empty() {
            ul.written {
                @for r in &all {
                    li {
                        (r.probe.name) ": " strong { (units.show_spread(r.probe.what.kind(), r.value, r.half)) }
                        @if let Some(day) = r.date { ", " (day) }
                        @if r.healthy { ", healthy" }
                    }
                }
                @for known in &book.known {
                    @let (field, key) = (known.input.field(), known.input.key());
                    li {
                        (fact(&key).map_or_else(|| field.help.into(), |p| short(p.name))) ": "
                        strong { (units.show_measure(field.kind, known.measure)) }
                    }
                }
                @for work in &book.works { li { "done: " (work.what) ", " (work.date) } }
            }
        }
    }
}
