//! The notebook, which all tabs of the page share: how entries are added to it, and its panel in the form.
//!
//! The notebook's text is in the box `book_text`, in the format of a notebook file. A new reading or fact has boxes of
//! its own: `note.test`, `note.value` … in the form; `next.test`, `next.value` … where the next step is suggested;
//! `next.skip` for a test that is not possible.

use super::boxes::example;
use super::card::{by_phone, left_out, too_fast};
use super::device::{assumed, usual_by, with_what};
use super::form::{Form, machine};
use super::lines::{STRIKE, lines, struck};
use super::typed::{FIRST_MACHINE, Typed};
use crate::balance::Output;
use crate::model::Machine;
use crate::probe::{ALL, Book, FACTS, INSTRUMENTS, Probe, Reading, Readings, What, counted};
use crate::quantity::{Kind, Units};
use crate::question::notebook::{added, reading_of};
use crate::trouble::{Trouble, Troubles};
use maud::{Markup, html};
use toml_edit::{Array, DocumentMut, value};

/// Name of the box that contains the notebook's text.
pub(super) const TEXT: &str = "book_text";
/// Name of the notebook in messages.
pub(super) const NAME: &str = "your notebook";
/// The box for the value of a reading or fact.
const VALUE: &str = "note.value";
/// The test that is selected at first.
pub(super) const FIRST: &str = "fan-speed-idle-hot";

/// The key of an entry about a repair, as in `--add`, and an example of one.
const WORK: &str = "work";
const WORK_EXAMPLE: &str = "such as “oil changed”";

/// The details of a reading: for each the keyword in `--add`, the box, its label, and an example.
const BEHIND: [(&str, &str, &str, &str); 6] = [
    ("engine", "engine", "Engine speed", ""),
    ("oil", "oil", "Oil temperature", ""),
    ("air", "air", "Ambient air", "as in the test"),
    ("on", "date", "Date, or date and time", "today"),
    ("with", "by", "", ""),
    ("command", "command", "", ""),
];

/// How many of these details, from the first, the test prescribes. Their boxes are beside that of the value, always
/// visible.
const FIXED: usize = 2;

/// The options of the question whether full fan was commanded, for tests of the fan speed at full command.
pub(super) const COMMANDED: [(&str, &str); 2] = [("full", "yes"), ("not sure", "not sure")];

/// The box for a test or an instrument that is not available, and what the buttons that add an entry say: from the card,
/// or from the form.
pub(super) const SKIP: &str = "next.skip";
pub(super) const NEXT: &str = "next";
const NOTE: &str = "note";

/// Phrases in the names of tests, with abbreviations that fit into a drop-down list on a phone.
const SHORT: [(&str, &str); 25] = [
    ("pump outlet pressure at", "pump outlet:"),
    ("motor inlet pressure at", "motor inlet:"),
    ("motor outlet pressure at", "motor outlet:"),
    ("vacuum at the pump inlet at", "pump inlet:"),
    ("motor case drain flow at", "case drain:"),
    ("pump flow at", "pump flow:"),
    ("pump speed at", "pump speed:"),
    ("fan speed at", "fan speed:"),
    (
        "temperature of the upper minus the lower radiator hose at",
        "radiator hoses:",
    ),
    ("coolant temperature at", "coolant:"),
    (
        "coolant temperature on a climb of 7 %",
        "coolant: 7 % climb",
    ),
    ("coolant temperature on a level road", "coolant: level road"),
    ("raised engine speed", "raised"),
    ("an engine speed of about 3000 rpm", "3000 rpm"),
    ("oil at about 20 °C", "20 °C"),
    (", oil warm", ", warm"),
    ("control valve unplugged", "unplugged"),
    (", minimum command", ", minimum"),
    (", half command", ", half"),
    (
        "a long stop on a hot day, air conditioning on",
        "stop, hot day",
    ),
    (", from the rise of the level", ", by level"),
    ("pressure at full fan command", "pressure at full command"),
    (
        "rated flow of the pump's regulator",
        "rated flow of the regulator",
    ),
    ("fan shaft power at rated speed", "fan power at rated speed"),
    ("motor displacement", "motor displacement"),
];

/// The name of a test, short enough for a drop-down list on a phone.
pub(super) fn short(name: &str) -> String {
    let mut name = name.split(':').next().unwrap_or(name);
    for from in [
        "its nameplate or part number",
        "the service information",
        "the maker",
    ] {
        let rest = name
            .strip_suffix(from)
            .and_then(|n| n.strip_suffix(", from "));
        name = rest.unwrap_or(name);
    }
    let one = |name: String, (long, short): &(&str, &str)| name.replace(long, short);
    SHORT.iter().fold(name.to_string(), one)
}

/// Adds the entries made in the form to the notebook. If they have errors, returns these and leaves the notebook
/// unchanged.
pub(super) fn settled(typed: &mut Typed) -> Troubles {
    if let Some(empty) = nothing_typed(typed) {
        return vec![empty];
    }
    if typed.get("next.value").is_some() && typed.get(VALUE).is_none() {
        for name in ["test", "value", "by", "engine", "oil", "date", "command"] {
            let words = typed.get(&format!("next.{name}")).map(String::from);
            typed.set(&format!("note.{name}"), &words.unwrap_or_default());
        }
        typed.forget("next.value");
    }
    let skip = typed.get(SKIP).map(String::from);
    let strike = typed.get(STRIKE).map(String::from);
    typed.forget(STRIKE);
    let additions: Vec<(String, String)> = ["known.1.", "known.2.", "known.3.", "note.", "next."]
        .iter()
        .filter(|_| strike.is_none())
        .filter_map(|boxes| Some((format!("{boxes}value"), addition(typed, boxes)?)))
        .collect();
    let old = typed.get(TEXT).unwrap_or_default().to_string();
    typed.forget("next.");
    if old.is_empty() && skip.is_none() && strike.is_none() && additions.is_empty() {
        return Vec::new();
    }
    // Text that is not valid TOML is reported at once: it can be long, and every question would parse it several times.
    let Ok(mut document) = old.parse::<DocumentMut>() else {
        let read = Book::from_text(NAME, &old).err().unwrap_or_default();
        return read.into_iter().map(|t| t.on(TEXT)).collect();
    };
    agreed(typed, &mut document);
    if let Some(key) = skip {
        leave_out(typed, &mut document, &key);
    }
    if let Some(line) = strike
        && let Some(words) = struck(typed, &mut document, &line)
    {
        typed.done.push(format!("Struck out: {words}."));
    }
    match written_down(typed, document.to_string(), &additions) {
        Ok(text) => {
            let kept: Vec<String> = additions.iter().map(|a| in_words(&a.1)).collect();
            if !kept.is_empty() {
                typed
                    .done
                    .push(format!("Added to the notebook: {}.", kept.join("; ")));
            }
            typed.set(TEXT, &text);
            typed.forget("known.");
            if !additions.is_empty() {
                typed.forget("note.");
            }
            Vec::new()
        }
        Err(all) => all,
    }
}

/// Notes that a test cannot be made, or that an instrument is not at hand.
fn leave_out(typed: &mut Typed, document: &mut DocumentMut, key: &str) {
    let said = format!("No longer proposed: {}.", left_out(key));
    typed.done.push(said);
    let all = document.entry("skip").or_insert(value(Array::new()));
    if let Some(all) = all.as_array_mut() {
        all.push(key);
    }
}

/// The problem that the button beside a box was pressed and the box is empty.
fn nothing_typed(typed: &Typed) -> Option<Trouble> {
    let empty = |boxes: &str| typed.get(&format!("{boxes}.value")).is_none();
    let write = typed.get("write").filter(|w| [NEXT, NOTE].contains(w))?;
    (empty(NEXT) && empty(NOTE)).then(|| {
        let key = typed.get(&format!("{write}.test")).unwrap_or(FIRST);
        let probe = ALL.iter().chain(FACTS).find(|p| p.key == key);
        let such = probe.map_or_else(|| WORK_EXAMPLE.into(), such_as);
        Trouble::input("nothing was typed", format!("a value, {such}")).on(format!("{write}.value"))
    })
}

/// Makes machine and oil the same in form and notebook: those of the form or, if the form names none, those of the
/// notebook.
fn agreed(typed: &mut Typed, document: &mut DocumentMut) {
    let own = typed.get("machine_text").is_some();
    for key in ["machine", "oil"] {
        match (typed.get(key), document.get(key).and_then(|v| v.as_str())) {
            // The user's own machine file replaces the notebook's machine.
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
}

/// The text of a notebook after the entries from the boxes were added; an error refers to the box that caused it.
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
        let more = added(NAME, &text, &[addition]).and_then(|more| {
            let all = Readings::from_notebook(NAME, &more, &machine)?.all;
            let (key, rest) = addition.split_once(" = ").unwrap_or_default();
            let doubtful = ALL.iter().any(|p| p.key == key) && !reading_of(rest).0.contains('±');
            // An addition is the last entry of the text.
            let new = all.last().filter(|_| doubtful);
            match new.and_then(|r| too_fast(r, &machine, typed.units())) {
                Some(doubt) => Err(vec![doubt]),
                None => Ok(more),
            }
        });
        let here = |t: Trouble| {
            let mut plain = t.on(name);
            plain.spot.line = None;
            plain.found = without_key(&plain.found, addition);
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

/// An added entry as it is named in a message: its name and its value.
fn in_words(addition: &str) -> String {
    let (key, rest) = addition.split_once(" = ").unwrap_or((addition, ""));
    let probe = ALL.iter().chain(FACTS).find(|p| p.key == key);
    let value = match key {
        WORK => rest,
        _ => reading_of(rest).0,
    };
    format!("{}: {value}", probe.map_or(key, |p| p.name))
}

/// A message about an entry, with the name of the test in place of its key.
fn without_key(found: &str, addition: &str) -> String {
    let key = addition.split(" = ").next().unwrap_or_default();
    let probe = ALL.iter().chain(FACTS).find(|p| p.key == key);
    let Some(probe) = probe else {
        return found.into();
    };
    let found = found.strip_prefix(&format!("{key}: ")).unwrap_or(found);
    let quoted = format!("`{key}`");
    found.replace(&quoted, probe.name).replace(key, probe.name)
}

/// The notebook's text with the user's own machine file as the machine.
pub(super) fn about(text: &str, file: &str) -> String {
    let Ok(mut document) = text.parse::<DocumentMut>() else {
        return text.into();
    };
    document["machine"] = value(file);
    document.to_string()
}

/// The content of the boxes as one entry, in the syntax of `--add`.
fn addition(typed: &Typed, boxes: &str) -> Option<String> {
    let read = typed.get(&format!("{boxes}value"))?;
    let key = typed.get(&format!("{boxes}test")).unwrap_or(FIRST);
    if key == WORK {
        // A repair has a date, which separates the readings before it from those after it.
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
    for (word, name, ..) in BEHIND.iter().filter(|b| b.0 != "with") {
        // The form has the box for the command even for tests at other commands, to which it does not apply.
        if *word == "command" && !probe.is_some_and(Probe::shows_full_fan) {
            continue;
        }
        if let Some(words) = typed.get(&format!("{boxes}{name}")) {
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
    behind.extend(probe.and_then(|p| with(typed, boxes, p, &read)));
    behind.extend(typed.get(&format!("{boxes}when")).map(String::from));
    Some(match behind.is_empty() {
        true => format!("{key} = {read}"),
        false => format!("{key} = {read} at {}", behind.join(", ")),
    })
}

/// The instrument of a reading, with its full scale if its error depends on that.
fn with(typed: &Typed, boxes: &str, p: &Probe, words: &str) -> Option<String> {
    // Both fan speeds of the first visit are read with the same instrument.
    let by = typed.get(&format!("{boxes}by"));
    let by = by.or_else(|| typed.get("note.by").filter(|_| boxes.starts_with("known.")));
    let usual = || usual_by(&read(typed), &book(typed).skip, p);
    let by = match counted(words) {
        Some(own) => own?,
        None => by.or_else(|| (!words.contains('±')).then(usual))?,
    };
    let of_scale = INSTRUMENTS
        .iter()
        .any(|i| i.key == by && i.of_full_scale > 0.0);
    let scale = machine(typed)
        .filter(|_| of_scale)
        .and_then(|m| p.full_scale(&m));
    let scale = scale.map(|s| format!(", full scale {}", p.what.kind().typed(s)));
    Some(format!("with {by}{}", scale.unwrap_or_default()))
}

/// All readings in the notebook.
pub(super) fn read(typed: &Typed) -> Vec<Reading> {
    let found = typed.get(TEXT).zip(machine(typed));
    let found = found.and_then(|(text, m)| Readings::from_notebook(NAME, text, &m).ok());
    found.map_or_else(Vec::new, |r| r.all)
}

/// The other contents of the notebook; none if there is no notebook or it is invalid.
pub(super) fn book(typed: &Typed) -> Book {
    let book = typed.get(TEXT).map(|text| Book::from_text(NAME, text));
    book.and_then(Result::ok).unwrap_or_default()
}

/// The last fan speed that `speed` and `why` can compare: not from the healthy machine, not with the valve unplugged,
/// and with full fan certainly commanded.
pub(super) fn last_speed(typed: &Typed) -> Option<Reading> {
    let of_fan = |r: &Reading| r.probe.what == What::Output(Output::FAN_SPEED);
    let asked = |r: &Reading| of_fan(r) && !r.healthy && !r.setting.unplugged && !r.unsure;
    read(typed).into_iter().rev().find(asked)
}

/// Whether fan speeds were noted but none can be compared, because it is not certain that full fan was commanded.
pub(super) fn unsure(typed: &Typed) -> bool {
    let all = read(typed);
    last_speed(typed).is_none() && all.iter().any(|r| r.unsure && !r.healthy)
}

/// A kind of test: its name, and a function that tells whether a test is of this kind.
type KindOfTest = (&'static str, fn(&Probe) -> bool);

/// The kinds of tests, in the order in which they are listed.
const KINDS: [KindOfTest; 5] = [
    ("Speed", |p| p.what.kind() == Kind::Speed),
    ("Pressure", |p| p.what.kind() == Kind::Pressure),
    ("Coolant", |p| p.what.of_coolant()),
    ("Flow and oil", |_| true),
    ("Facts", |_| true),
];

/// A test as an option of the list, with the default content of its boxes.
fn offered(form: &Form<'_>, p: &Probe, chosen: &str, readings: &[Reading]) -> Markup {
    let (engine, oil) = moment(p, form.machine, form.units);
    html! {
        option value=(p.key) title=(p.name) selected[p.key == chosen] data-example=(such_as(p)) data-engine=(engine) data-oil=(oil) data-full[p.shows_full_fan()]
            data-by=[assumed(form, p, readings)] data-kind=(p.what.kind().name()) { (short(p.name)) }
    }
}

/// Engine speed and oil temperature at which a test is made, as text; empty for a fact, and where the test waits until
/// they have settled.
pub(super) fn moment(p: &Probe, machine: &Machine, units: Units) -> (String, String) {
    if matches!(p.what, What::Fact(_)) || p.setting.settled.is_some() {
        return Default::default();
    }
    let (engine, oil) = (p.setting.engine_speed(machine), p.setting.oil_temp(machine));
    (
        units.show(Kind::Speed, engine),
        units.show(Kind::Temperature, oil),
    )
}

/// An example of a value as a placeholder, worded so that it is not mistaken for an entered value.
pub(super) fn such_as(p: &Probe) -> String {
    match p.what {
        What::Fact(_) => "such as 1.27 ± 0.02".into(),
        _ => format!("such as {}", example(p.what.kind())),
    }
}

/// The notebook's panel in the form.
pub(super) fn panel(form: &Form<'_>) -> Markup {
    let fields = &form.fields;
    let mut tests: Vec<&Probe> = ALL.iter().filter(|p| p.runs_on(form.machine)).collect();
    tests.sort_by(|a, b| a.effort_minutes.total_cmp(&b.effort_minutes));
    let facts = FACTS.iter().filter(|p| p.runs_on(form.machine));
    let mut grouped: [Vec<&Probe>; KINDS.len()] = Default::default();
    for p in tests {
        let kind = KINDS.iter().position(|k| k.1(p)).unwrap_or_default();
        grouped[kind].push(p);
    }
    grouped[KINDS.len() - 1].extend(facts);
    let chosen = fields.typed.get("note.test").unwrap_or(FIRST);
    let now = grouped.iter().flatten().find(|p| p.key == chosen);
    let usual = now.map_or_else(|| WORK_EXAMPLE.into(), |p| such_as(p));
    let (engine, oil) = now.map_or_else(Default::default, |p| moment(p, form.machine, form.units));
    let readings = read(fields.typed);
    let by = now.and_then(|p| assumed(form, p, &readings));
    let when = [("in question", "as it is now"), ("healthy", "healthy")];
    let behind = |n: usize| {
        let (_, name, label, usual) = BEHIND[n];
        let usual = [&engine, &oil].get(n).map_or(usual, |u| u.as_str());
        fields.words(&format!("note.{name}"), label, usual, "")
    };
    let folded = FIXED..BEHIND.len() - 2;
    let holds = |n: usize| fields.holds(&format!("note.{}", BEHIND[n].1));
    html! {
        legend { "A reading or fact" }
        div.field {
            label for="note-test" { "Test or fact" }
            select #note-test name="note.test" {
                @for (kind, tests) in KINDS.iter().zip(&grouped) {
                    optgroup label=(kind.0) { @for p in tests { (offered(form, p, chosen, &readings)) } }
                }
                optgroup label="Work" {
                    option value=(WORK) selected[chosen == WORK] data-example=(WORK_EXAMPLE) { "work done: oil, part …" }
                }
            }
        }
        (fields.words(VALUE, "Value", &usual, "A number without a unit has the usual unit. Without ± (or +-), the accuracy of the instrument below is used."))
        (with_what(form, by))
        (by_phone(false))
        @for n in 0..FIXED { (behind(n)) }
        (fields.choice("note.command", "Was full fan commanded?", &COMMANDED.map(|(k, w)| (k.to_string(), w.to_string()))))
        details open[folded.clone().any(holds)] {
            summary { "Air, date, state of the machine" }
            @for n in folded { (behind(n)) }
            (fields.choice("note.when", "State of the machine at the time", &when.map(|(k, w)| (k.to_string(), w.to_string()))))
        }
        p.go { button name="write" value=(NOTE) formmethod="post" { "Add to notebook" } }
        (lines(fields.typed, form.units))
        details open[!fields.said_of(TEXT).is_empty()] data-key="book" {
            summary { "The notebook’s text" }
            (fields.text(TEXT, "Text in the format of a notebook file", "Every question uses this text. It stays in this browser."))
            button name="write" value="on" formmethod="post" { "Use this text" }
        }
        p.scripted.keep hidden {
            button type="button" data-book="undo" { "Undo" }
            button type="button" data-book="keep" { "Save as a file" }
            button type="button" data-book="clear" { "Clear" }
            label for="book-file" { "Load a notebook: " }
            input #book-file type="file" accept=".toml,text/plain";
        }
    }
}
