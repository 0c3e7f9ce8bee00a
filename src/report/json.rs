//! What a program reads of an answer.

use super::VERSION;
use crate::study::Answer;
use serde_json::{Map, Value};

/// An answer as JSON: `format`, `version`, `question`, `case`; the numbers; `cautions`. What is not finite is null.
pub fn json(answer: &Answer) -> String {
    let case = answer
        .case
        .iter()
        .map(|(label, value)| (label.clone(), Value::from(value.clone())));
    let mut root = Map::new();
    root.insert("format".into(), "oilwheel-answer".into());
    root.insert("version".into(), VERSION.into());
    root.insert("question".into(), answer.question.into());
    root.insert("case".into(), Value::Object(case.collect()));
    for (key, value) in &answer.numbers {
        root.entry(key.clone()).or_insert_with(|| value.clone());
    }
    root.insert("cautions".into(), answer.cautions.clone().into());
    pretty(root)
}

/// An object as indented text.
pub(super) fn pretty(root: Map<String, Value>) -> String {
    format!("{:#}\n", Value::Object(root))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::samples;

    #[test]
    fn the_head_comes_first_and_in_order() {
        for (name, answer) in samples::all() {
            let Ok(Value::Object(root)) = serde_json::from_str(&json(&answer)) else {
                panic!("{name} does not parse")
            };
            let keys: Vec<&str> = root.keys().map(String::as_str).collect();
            assert_eq!(
                keys[..4],
                ["format", "version", "question", "case"],
                "{name}"
            );
            assert_eq!(keys.last(), Some(&"cautions"), "{name}");
            assert_eq!(keys.len(), 5 + answer.numbers.len(), "{name}");
            assert_eq!(root["version"], env!("CARGO_PKG_VERSION"));
        }
    }

    #[test]
    fn what_is_not_finite_is_null_and_numbers_keep_their_order() {
        let mut answer = Answer {
            question: "speed",
            ..Answer::default()
        };
        for (key, value) in [
            ("z_rpm", f64::NAN),
            ("a_rpm", 1234.5),
            ("m_rpm", f64::INFINITY),
        ] {
            answer.numbers.insert(key.into(), value.into());
        }
        let root: Value = serde_json::from_str(&json(&answer)).unwrap();
        assert!(root["z_rpm"].is_null() && root["m_rpm"].is_null());
        assert_eq!(root["a_rpm"].as_f64(), Some(1234.5));
        let keys: Vec<&String> = root.as_object().unwrap().keys().collect();
        assert_eq!(keys[4..7], ["z_rpm", "a_rpm", "m_rpm"]);
    }
}
