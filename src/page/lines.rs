//! The lines of the notebook as the form shows them, each with a button that strikes it out.

use super::book::{book, read, short};
use super::card::left_out;
use super::typed::Typed;
use crate::probe::{Day, Engine, FACTS, Reading};
use crate::quantity::{Kind, Units};
use maud::{Markup, html};
use toml_edit::DocumentMut;

/// The box that names the line to be struck out.
pub(super) const STRIKE: &str = "strike";

/// Removes a line from the notebook; returns the removed text.
pub(super) fn struck(typed: &Typed, document: &mut DocumentMut, line: &str) -> Option<String> {
    let (list, which) = line.split_once('.')?;
    if list == "skip" {
        let all = document.get_mut(list)?.as_array_mut()?;
        all.retain(|key| key.as_str() != Some(which));
        return Some(format!(
            "“{}” from the list of what you cannot do",
            left_out(which)
        ));
    }
    let words = written(typed, typed.units())
        .into_iter()
        .find(|l| l.strike == line)?;
    match list {
        "known" => {
            document.get_mut(list)?.as_table_like_mut()?.remove(which)?;
        }
        // Repairs are listed by date, not in the order of the file, so date and text identify them.
        "work" => {
            let all = document.get(list)?.as_array_of_tables()?;
            let said = |table: &toml_edit::Table, key: &str| {
                let value = table.get(key).map(|v| v.to_string());
                value.map(|v| v.trim().trim_matches('"').to_string())
            };
            let (date, what) = which.split_once('.')?;
            let here = |t: &toml_edit::Table| {
                let day = said(t, "date").and_then(|day| Day::read(&day).ok());
                day.is_some_and(|day| day.to_string() == date)
                    && t.get("what").and_then(|w| w.as_str()) == Some(what)
            };
            let at = all.iter().position(here)?;
            document.get_mut(list)?.as_array_of_tables_mut()?.remove(at);
        }
        _ => {
            let at: usize = which.parse().ok()?;
            let item = document.get_mut(list)?;
            if let Some(all) = item.as_array_of_tables_mut() {
                all.remove(at);
            } else {
                item.as_array_mut()?.remove(at);
            }
        }
    }
    Some([words.name, words.value].join(": "))
}

/// A line of the notebook in the form.
struct Line {
    /// The line's key, sent by the button that strikes it out.
    strike: String,
    name: String,
    value: String,
    more: String,
}

/// All lines of the notebook: readings, facts, and repairs.
fn written(typed: &Typed, units: Units) -> Vec<Line> {
    let fact = |key: &str| FACTS.iter().find(|p| p.key == key);
    let book = book(typed);
    let readings = read(typed).into_iter().enumerate().map(|(n, r)| Line {
        strike: format!("reading.{n}"),
        name: r.probe.name.into(),
        value: units.show_spread(r.probe.what.kind(), r.value, r.half),
        more: details(&r, units),
    });
    let known = book.known.iter().map(|known| {
        let (field, key) = (known.input.field(), known.input.key());
        Line {
            name: fact(&key).map_or_else(|| field.help.into(), |p| short(p.name)),
            value: units.show_measure(field.kind, known.measure),
            strike: format!("known.{key}"),
            more: String::new(),
        }
    });
    let works = book.works.iter().map(|work| Line {
        strike: format!("work.{}.{}", work.date, work.what),
        name: "work done".into(),
        value: work.what.clone(),
        more: format!(", {}", work.date),
    });
    readings.chain(known).chain(works).collect()
}

/// The condition of a reading, in words.
fn details(r: &Reading, units: Units) -> String {
    let mut words = String::new();
    if let Engine::At(speed) = r.setting.engine {
        words += &format!(" at an engine speed of {}", units.show(Kind::Speed, speed));
    }
    if let Some(day) = r.date {
        words += &format!(", {day}");
    }
    if r.healthy {
        words += ", healthy";
    }
    if r.unsure {
        words += ", not sure whether full fan was commanded";
    }
    words
}

/// Shows the lines of the notebook, each with a button that strikes it out.
pub(super) fn lines(typed: &Typed, units: Units) -> Markup {
    let (all, skip) = (written(typed, units), book(typed).skip);
    html! {
        @if !all.is_empty() {
            ul.written {
                @for line in &all {
                    li {
                        span { (line.name) ": " strong { (line.value) } (line.more) }
                        button.strike name=(STRIKE) value=(line.strike) formmethod="post" title="Strike out"
                            aria-label={ "Strike out " (line.name) ": " (line.value) } { "✕" }
                    }
                }
            }
        }
        @if !skip.is_empty() {
            p.help { "Not proposed, because you cannot do it:" }
            ul.left {
                @for key in skip {
                    li {
                        span { (left_out(key)) }
                        button.strike name=(STRIKE) value={ "skip." (key) } formmethod="post" title="Propose it again"
                            aria-label={ "Propose again: " (left_out(key)) } { "✕" }
                    }
                }
            }
        }
    }
}

/// Says what the request has changed in the notebook, with a button to undo it.
pub(super) fn done(typed: &Typed) -> Markup {
    html! {
        @for words in &typed.done {
            p.done role="status" {
                (words) " "
                button.scripted hidden type="button" data-book="back" { "Undo" }
            }
        }
    }
}
