//! Converts form input to the values of a question, and finds the box that a problem refers to.
//!
//! Most boxes have the key of their field as their name. Some kinds of field have several boxes: an oil has a choice
//! and a line for data sheet values (`oil`, `oil_line`), a fault has a choice and a severity (`with`, `with_severity`),
//! a file has a text (`trip_text`), a setting has a box for each input (`set.pump.ratio`).

use super::book;
use super::boxes::range;
use super::form::machine;
use super::typed::{FIRST_MACHINE, Typed};
use crate::model::Lookup;
use crate::probe::find;
use crate::quantity::{Kind, parse};
use crate::question::basis::{
    self as fields, AIR_TEMP, ALTITUDE, COMMAND, ENGINE_SPEED, MACHINE, MEASURED, OIL, OIL_TEMP,
    SET, UNPLUGGED,
};
use crate::question::noted::with_reading;
use crate::question::{Field, Question, Takes, Usual, Values};
use crate::trouble::Trouble;

/// Name of the user's own machine file in messages.
const OWN_MACHINE: &str = "your machine file";

/// Fields whose box has several lines, with one value per line.
pub(super) const LINES: [&str; 3] = ["want", "free", "variant"];

/// The value of the option "same oil".
pub(super) const SAME: &str = "same";

/// The value that stands for no electric fan at any position.
pub(super) const NOWHERE: &str = "none";

/// Default severity of a fault.
pub(super) const SEVERITY: &str = "0.5";

/// What an empty box for a fan speed shows if that of the notebook is taken.
pub(super) const AS_NOTED: &str = "as in the notebook";

/// What the page fills in where a required field would be empty, so that each question shows an answer at once.
const FIRST: [(&str, &str, &str); 7] = [
    ("why", "against_oil", "transmission-multi-vehicle"),
    ("flush", "from_oil", "transmission-multi-vehicle"),
    ("trip", "trip", "jam"),
    ("trip", "against_oil", SAME),
    ("sweep", "over", "oil-temp"),
    ("size", "want", "fan_speed >= 1500 rpm at engine 1600 rpm"),
    ("size", "free", "pump.displacement = 8..40 cm3/rev"),
];

/// What the page fills in for a field of a question, if anything.
pub(super) fn first(question: &Question, field: &Field) -> Option<&'static str> {
    let own = |(q, key, _): &&(&str, &str, &str)| *q == question.key && *key == field.key;
    FIRST.iter().find(own).map(|(.., words)| *words)
}

/// Name in messages of a text that the user entered.
pub(super) fn text_name(field: &Field) -> String {
    match field.takes {
        Takes::Text(what) => format!("your {what}"),
        Takes::Machine => OWN_MACHINE.into(),
        _ => format!("your {}", field.key.replace('_', " ")),
    }
}

/// The values of a question.
pub(super) fn values(question: &Question, typed: &Typed) -> Values {
    let mut values = Values::new(typed.units(), Lookup::LibraryOnly);
    for field in question.fields() {
        push(&mut values, question, field, typed);
    }
    values
}

/// The values of the fields for machine, oil and condition only.
pub(super) fn basis(question: &Question, typed: &Typed) -> Values {
    let mut values = Values::new(typed.units(), Lookup::LibraryOnly);
    for field in [
        MACHINE,
        OIL,
        ENGINE_SPEED,
        OIL_TEMP,
        COMMAND,
        AIR_TEMP,
        ALTITUDE,
        UNPLUGGED,
        SET,
    ] {
        push(&mut values, question, &field, typed);
    }
    values
}

/// The same, with the reading that the question takes from the notebook, if any, and its condition.
pub(super) fn basis_as_read(question: &Question, typed: &Typed) -> Values {
    let values = basis(question, typed);
    match question.asks(&MEASURED) && typed.get(MEASURED.key).is_none() {
        true => with_reading(&values),
        false => values,
    }
}

/// What an empty box shows if the question takes a reading from the notebook: its engine speed, oil temperature or
/// command, or that the fan speed is taken from there.
pub(super) fn as_read(question: &Question, typed: &Typed, key: &str) -> Option<String> {
    let taken = [ENGINE_SPEED, OIL_TEMP, COMMAND, MEASURED];
    if !taken.iter().any(|f| f.key == key) || typed.get(book::TEXT).is_none() {
        return None;
    }
    let values = basis_as_read(question, typed);
    let setup = fields::read(&values.has(&MEASURED).then_some(values)?).ok()?;
    let (units, now) = (typed.units(), &setup.case.now);
    Some(match key {
        "engine_speed" => units.show(Kind::Speed, now.engine_speed),
        "oil_temp" => units.show(Kind::Temperature, now.oil_temp),
        "command" => units.show(Kind::Share, now.command),
        _ => AS_NOTED.into(),
    })
}

/// The values of one field.
fn push(values: &mut Values, question: &Question, field: &Field, typed: &Typed) {
    let key = field.key;
    let file = typed.get(&format!("{key}_text"));
    if key == MACHINE.key
        && field.usual == Usual::Required
        && let Some(text) = typed.get(book::TEXT)
    {
        match file {
            Some(file) => {
                values.push_text(key, book::NAME, &book::about(text, OWN_MACHINE));
                values.push_text("machine_file", OWN_MACHINE, file);
            }
            None => values.push_text(key, book::NAME, text),
        }
        return;
    }
    if let Some(text) = file {
        values.push_text(key, &text_name(field), text);
        return;
    }
    match (field.takes, key) {
        (_, "at") => push_some(
            values,
            key,
            places(typed, "at.", |place, how| match how {
                NOWHERE => String::new(),
                _ => format!("{place}={how}"),
            }),
        ),
        (_, "try") => push_some(
            values,
            key,
            places(typed, "try.", |place, some| match some.split_once('*') {
                Some((fan, count)) => format!("{fan}@{place}*{count}"),
                None => format!("{some}@{place}"),
            }),
        ),
        (Takes::Setting, _) => {
            for (name, value) in typed.pairs() {
                if let Some(input) = name.strip_prefix("set.") {
                    values.push(key, &format!("{input}={value}"));
                }
            }
        }
        (Takes::Fault, _) => {
            let severity = typed.get(&format!("{key}_severity")).unwrap_or(SEVERITY);
            if let Some(fault) = typed.get(key) {
                values.push(key, &format!("{fault}={severity}"));
            }
        }
        (Takes::Machine, "machine") if question.asks(&MACHINE) => {
            if field.usual == Usual::Required {
                values.push(key, typed.get(key).unwrap_or(FIRST_MACHINE));
            } else if let Some(machine) = typed.get(key) {
                values.push(key, machine);
            }
        }
        // For this question the field `oil` states the new oil.
        (Takes::Oil, "oil") if question.key == "flush" => {}
        (Takes::Oil, _) if !field.many => {
            let chosen = match key {
                "to_oil" => oil(typed, key).or_else(|| oil(typed, "oil")),
                _ => oil(typed, key),
            };
            let oil = chosen.or(first(question, field).map(String::from));
            if let Some(oil) = oil.filter(|oil| oil != SAME) {
                values.push(key, &oil);
            }
        }
        _ => {
            let mut some = false;
            let lines = LINES.contains(&key);
            for words in typed.all(key) {
                // A box of several lines holds one value per line.
                let words = words.split(|c| lines && c == '\n').map(str::trim);
                for words in words.filter(|w| !(lines && w.is_empty())) {
                    values.push(key, &with_unit(field, words, typed));
                    some = true;
                }
            }
            if some {
                return;
            }
            if let Some(words) = first(question, field) {
                values.push(key, words);
            } else if question.key == "sweep" && ["from", "to"].contains(&key) {
                let ends = machine(typed).map(|machine| range(typed, &machine));
                let end = ends.map(|(from, to)| if key == "from" { from } else { to });
                values.push(key, &end.unwrap_or_default());
            }
        }
    }
}

/// Adds a given text even if it is empty, because it is valid to choose no position at all.
fn push_some(values: &mut Values, key: &str, words: Option<String>) {
    if let Some(words) = words {
        values.push(key, if words.is_empty() { NOWHERE } else { &words });
    }
}

/// Adds the unit shown at the box to a number without a unit. A fraction up to one is valid without a unit and stays
/// unchanged.
fn with_unit(field: &Field, words: &str, typed: &Typed) -> String {
    let kind = match field.takes {
        Takes::Quantity(kind, ..) | Takes::Reading(kind) => kind,
        _ => return words.into(),
    };
    let bare = words
        .parse::<f64>()
        .is_ok_and(|n| kind != Kind::Share || n > 1.0);
    let words = if bare {
        format!("{words} {}", typed.units().unit(kind))
    } else {
        words.into()
    };
    match field.takes {
        Takes::Reading(Kind::Speed) => with_error(words, typed),
        _ => words,
    }
}

/// Adds the accuracy of the usual instrument to a fan speed that was entered without ±.
fn with_error(words: String, typed: &Typed) -> String {
    let read = parse(Kind::Speed, &words).ok().filter(|m| m.spread == 0.0);
    let probe = find(book::FIRST).ok().zip(machine(typed));
    let half = read
        .zip(probe)
        .map(|(m, (p, of))| p.usual_error(&of, m.value).0);
    match half {
        Some(half) => format!("{words} ± {}", Kind::Speed.typed(half)),
        None => words,
    }
}

/// An oil: the line of data sheet values if the user entered one, otherwise the chosen oil.
fn oil(typed: &Typed, key: &str) -> Option<String> {
    let line = typed.get(&format!("{key}_line")).map(|line| {
        // A text without `=` would be taken as a library name; with `=` the parser reports an invalid line instead.
        if line.contains('=') {
            line.to_string()
        } else {
            format!("{line}=")
        }
    });
    line.or_else(|| typed.get(key).map(String::from))
}

/// The choices made at the positions for electric fans, joined into one text; `None` if there are none.
fn places(typed: &Typed, what: &str, join: impl Fn(&str, &str) -> String) -> Option<String> {
    let chosen = typed
        .pairs()
        .filter_map(|(name, how)| Some((name.strip_prefix(what)?, how)));
    let all: Vec<String> = chosen.map(|(place, how)| join(place, how)).collect();
    let there = || all.iter().filter(|words| !words.is_empty()).cloned();
    (!all.is_empty()).then(|| there().collect::<Vec<_>>().join(", "))
}

/// The name of the box that a problem refers to, if any.
pub(super) fn box_of(question: &Question, typed: &Typed, problem: &Trouble) -> Option<String> {
    let key = problem.spot.field.as_str();
    if problem.spot.source == OWN_MACHINE {
        return Some("machine_text".into());
    }
    if key.is_empty()
        || ["set.", "note.", "next.", book::TEXT]
            .iter()
            .any(|b| key.starts_with(b))
    {
        return (!key.is_empty()).then(|| key.to_string());
    }
    let field = question
        .field(key)
        .or(Some(&MACHINE).filter(|f| f.key == key))?;
    if key == MACHINE.key && typed.get(book::TEXT).is_some() {
        return Some(book::TEXT.into());
    }
    let text = format!("{key}_text");
    if typed.get(&text).is_some() {
        return Some(text);
    }
    let line = format!("{key}_line");
    Some(match field.takes {
        Takes::Oil if typed.get(&line).is_some() => line,
        Takes::Fault => format!("{key}_severity"),
        Takes::Text(_) | Takes::Log => text,
        _ => key.to_string(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question;

    #[test]
    fn a_problem_finds_its_box() {
        let typed = Typed::read("oil_line=40C&with=worn-pump").unwrap();
        let speed = &question::speed::QUESTION;
        for (field, name) in [
            ("oil_temp", "oil_temp"),
            ("set.pump.ratio", "set.pump.ratio"),
            ("oil", "oil_line"),
            ("with", "with_severity"),
        ] {
            let problem = Trouble::input("x", "y").on(field);
            assert_eq!(box_of(speed, &typed, &problem).as_deref(), Some(name));
        }
        assert_eq!(box_of(speed, &typed, &Trouble::input("x", "y")), None);
    }

    #[test]
    fn boxes_become_values() {
        let typed = Typed::read(
            "with=worn-pump&with_severity=0.4&set.pump.ratio=1.4&oil_temp=30&command=50",
        )
        .unwrap();
        let values = values(&question::speed::QUESTION, &typed);
        let all: Vec<(&str, &str)> = values.typed().collect();
        for pair in [
            ("machine", FIRST_MACHINE),
            ("with", "worn-pump=0.4"),
            ("set", "pump.ratio=1.4"),
            ("oil_temp", "30 °C"),
            ("command", "50 %"),
        ] {
            assert!(all.contains(&pair), "{pair:?} in {all:?}");
        }
    }
}
