//! Writes all errors together, as text or as JSON for other programs.

use super::{VERSION, json::pretty, wrap::harmless};
use crate::trouble::{TOLD, Trouble};
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use serde_json::{Map, Value, json};

/// Errors as JSON: `troubles`, each with file, line, column, found, expected, hint.
pub fn troubles_json(troubles: &[Trouble]) -> String {
    let filled = |text: &str| {
        if text.is_empty() {
            Value::Null
        } else {
            Value::from(text)
        }
    };
    let list = troubles.iter().map(|t| {
        json!({
            "field": filled(&t.spot.field),
            "file": filled(&t.spot.source),
            "line": t.spot.line,
            "column": t.spot.column,
            "found": t.found,
            "expected": t.expected,
            "hint": filled(&t.hint),
        })
    });
    let mut root = Map::new();
    root.insert("format".into(), "oilwheel-troubles".into());
    root.insert("version".into(), VERSION.into());
    root.insert("troubles".into(), list.collect());
    pretty(root)
}

/// Errors as text, with or without colours. `texts` returns the text of a source by its name, so that the position of
/// the error can be shown in it.
pub fn troubles_text(
    troubles: &[Trouble],
    colours: bool,
    texts: &dyn Fn(&str) -> Option<String>,
) -> String {
    let one = |t: &Trouble| {
        let text = texts(&t.spot.source);
        let mut t = t.clone();
        for words in [
            &mut t.spot.source,
            &mut t.found,
            &mut t.expected,
            &mut t.hint,
        ] {
            *words = harmless(words);
        }
        shown(&t, colours, text).unwrap_or_else(|| plain(&t))
    };
    let mut shown: Vec<String> = troubles.iter().take(TOLD).map(one).collect();
    if troubles.len() > TOLD {
        shown.push(format!("and {} more\n", troubles.len() - TOLD));
    }
    if troubles.len() > 1 {
        shown.push(format!("{} errors\n", troubles.len()));
    }
    shown.join("\n")
}

/// The error with the line of the source that contains it, and a caret under its position.
fn shown(trouble: &Trouble, colours: bool, text: Option<String>) -> Option<String> {
    let span = trouble.spot.span.clone()?;
    let text = text?;
    let start = at_letter(&text, span.start);
    let end = at_letter(&text, span.end).max(start);
    let expected = format!("expected {}", trouble.expected);
    let place = AnnotationKind::Primary
        .span(start..end)
        .label(expected.as_str());
    let mut snippet = Snippet::source(text.as_str()).annotation(place);
    if !trouble.spot.source.is_empty() {
        snippet = snippet.path(trouble.spot.source.as_str());
    }
    let mut group = Level::ERROR
        .primary_title(trouble.found.as_str())
        .element(snippet);
    if !trouble.hint.is_empty() {
        group = group.element(Level::HELP.message(trouble.hint.as_str()));
    }
    let renderer = if colours {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    Some(format!("{}\n", renderer.render(&[group])))
}

/// The error without its source text.
fn plain(trouble: &Trouble) -> String {
    format!("error: {trouble}\n")
}

/// The last character boundary at or before the byte `at`.
fn at_letter(text: &str, at: usize) -> usize {
    (0..=at.min(text.len()))
        .rev()
        .find(|i| text.is_char_boundary(*i))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A text with two mistakes; invented for this test.
    const TEXT: &str = "[pump]\ndisplacment = \"20 cm3/rev\"\n\n[oil]\nviscosity = \"µ thick\"\n";

    fn sample() -> Vec<Trouble> {
        let place = |word: &str| {
            let start = TEXT.find(word).unwrap();
            start..start + word.len()
        };
        vec![
            Trouble::input("unknown key `displacment`", "one of the pump's keys")
                .hint("did you mean `displacement`?")
                .at("machine.toml")
                .within(TEXT, place("displacment")),
            Trouble::input("`µ thick`", "a viscosity")
                .at("machine.toml")
                .within(TEXT, place("µ thick")),
            Trouble::input("`90 furlongs`", "a temperature")
                .hint("try `90 C`")
                .at("--oil-temp"),
        ]
    }

    #[test]
    fn every_trouble_is_shown_with_caret_and_help() {
        let text = troubles_text(&sample(), false, &|name| {
            (name == "machine.toml").then(|| TEXT.to_owned())
        });
        for part in [
            "error: unknown key `displacment`",
            "machine.toml:2:1",
            "^^^^^^^^^^^ expected one of the pump's keys",
            "help: did you mean `displacement`?",
            "machine.toml:5:14",
            "error: --oil-temp: `90 furlongs`; expected a temperature (try `90 C`)",
            "3 errors",
        ] {
            assert!(text.contains(part), "no “{part}” in\n{text}");
        }
    }

    #[test]
    fn without_its_text_a_trouble_is_one_line() {
        let text = troubles_text(&sample()[..1], false, &|_| None);
        assert_eq!(
            text,
            "error: machine.toml:2:1: unknown key `displacment`; expected one of the pump's keys (did you mean `displacement`?)\n"
        );
        assert_eq!(troubles_text(&[], false, &|_| None), "");
    }

    #[test]
    fn a_span_outside_the_text_or_inside_a_letter_does_no_harm() {
        for span in [
            (0, 0),
            (3, 1),
            (500, 600),
            (58, 59),
            (TEXT.len(), TEXT.len() + 1),
        ] {
            let mut trouble = Trouble::input("x", "y").at("m");
            trouble.spot.span = Some(span.0..span.1);
            for source in [TEXT, "", "\n", "µ"] {
                assert!(
                    troubles_text(&[trouble.clone()], false, &|_| Some(source.into()))
                        .contains("expected y")
                );
            }
        }
    }

    #[test]
    fn a_program_reads_place_and_words() {
        let root: Value = serde_json::from_str(&troubles_json(&sample())).unwrap();
        let keys: Vec<&String> = root.as_object().unwrap().keys().collect();
        assert_eq!(keys, ["format", "version", "troubles"]);
        assert_eq!(root["troubles"][0]["line"], 2);
        assert_eq!(root["troubles"][1]["column"], 14);
        assert_eq!(root["troubles"][2]["file"], "--oil-temp");
        assert!(root["troubles"][2]["line"].is_null());
        let keys: Vec<&String> = root["troubles"][0].as_object().unwrap().keys().collect();
        assert_eq!(
            keys,
            [
                "field", "file", "line", "column", "found", "expected", "hint"
            ]
        );
    }
}
