//! The notebook that all tabs share: what is written into it, and where it stands in the form.
//!
//! Its text is `book_text`, in the format of a notebook's file. A reading or fact to be written comes in boxes of its own: `note.test`,
//! `note.value` … from the form, `next.test`, `next.value` from the card of what to do next, `next.skip` for what cannot be done.

use super::boxes::example;
use super::fields::Fields;
use super::form::{Form, machine};
use super::typed::Typed;
use crate::balance::Output;
use crate::probe::{ALL, FACTS, Probe, Reading, Readings, What};
use crate::quantity::Units;
use crate::question::notebook::added;
use crate::trouble::{Trouble, Troubles};
use maud::{Markup, html};
use toml_edit::{Array, DocumentMut, value};

/// The box of its text.
pub(super) const TEXT: &str = "book_text";
/// What messages call it.
pub(super) const NAME: &str = "your notebook";
/// The box that what cannot be written is told beside.
const VALUE: &str = "note.value";
/// The test that is offered first.
const FIRST: &str = "fan-speed-idle-hot";

/// What stands behind a reading, by the word that `--add` has for it: the box, its label, an example.
const BEHIND: [(&str, &str, &str, &str); 5] = [
    ("engine", "note.engine", "Engine speed", "as the test says"),
    ("oil", "note.oil", "Oil temperature", "as the test says"),
    ("air", "note.air", "Outer air", "as the test says"),
    ("with", "note.by", "Instrument", "the test's usual one"),
    ("on", "note.date", "Day", "2026-05-02"),
];

/// Writes what the form brings into the notebook; what is wrong with it is told, and the notebook stays as it was.
pub(super) fn settled(typed: &mut Typed) -> Troubles {
    if typed.get("next.value").is_some() {
        for name in ["test", "value"] {
            let words = typed
                .get(&format!("next.{name}"))
                .unwrap_or_default()
                .to_string();
            typed.set(&format!("note.{name}"), &words);
        }
    }
    let skip = typed.get("next.skip").map(String::from);
    let addition = addition(typed);
    let old = typed.get(TEXT).unwrap_or_default().to_string();
    typed.forget("next.");
    if old.is_empty() && skip.is_none() && addition.is_none() {
        return Vec::new();
    }
    // What cannot be read as TOML is told of by the question that reads it.
    let Ok(mut document) = old.parse::<DocumentMut>() else {
        return Vec::new();
    };
    for key in ["machine", "oil"] {
        match (typed.get(key), document.get(key).and_then(|v| v.as_str())) {
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
    let text = document.to_string();
    let Some(addition) = addition else {
        typed.set(TEXT, &text);
        return Vec::new();
    };
    let written = added(NAME, &text, &[&addition]).and_then(|text| {
        let machine = machine(typed).ok_or_else(Vec::new)?;
        Readings::from_notebook(NAME, &text, &machine).map(|_| text)
    });
    match written {
        Ok(text) => {
            typed.set(TEXT, &text);
            typed.forget("note.");
            Vec::new()
        }
        Err(all) => {
            let here = |t: Trouble| {
                let mut plain = t.on(VALUE);
                plain.spot.line = None;
                plain
            };
            all.into_iter().map(here).collect()
        }
    }
}

/// What the boxes say, as `--add` of `notebook` takes it.
fn addition(typed: &Typed) -> Option<String> {
    let read = typed.get(VALUE)?;
    let key = typed.get("note.test").unwrap_or(FIRST);
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
    for (word, name, ..) in BEHIND {
        if let Some(words) = typed.get(name) {
            behind.push(format!("{word} {words}"));
        }
    }
    if let Some(p) = probe
        && !read.contains('±')
        && typed.get("note.by").is_none()
    {
        behind.push(format!("with {}", p.instrument));
    }
    behind.extend(typed.get("note.when").map(String::from));
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
                    option value=(p.key) selected[p.key == chosen] { (p.name) }
                }
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

/// What stands in it.
fn written(fields: &Fields<'_>, units: Units) -> Markup {
    let all = read(fields.typed);
    html! {
        @if !all.is_empty() {
            ul.written {
                @for r in &all {
                    li {
                        (r.probe.name) ": " strong { (units.show_spread(r.probe.what.kind(), r.value, r.half)) }
                        @if let Some(day) = r.date { ", " (day) }
                        @if r.healthy { ", healthy" }
                    }
                }
            }
        }
    }
}
