//! Writes an answer as JSON, for other programs.

use super::VERSION;
use crate::question::Question;
use crate::tell::{Answer, Remark};
use serde_json::{Map, Value, json};

/// Version of the JSON format; it changes when a key is removed or changes its meaning.
const KEYS: &str = "2";

/// An answer as JSON: `format`, `version`, `question`, `request` and `case`, then the results, then `cautions`.
/// Non-finite values are null.
pub fn json(answer: &Answer) -> String {
    let mut root = Map::new();
    root.insert("format".into(), "oilwheel-answer".into());
    root.insert("version".into(), VERSION.into());
    root.insert("question".into(), answer.question.into());
    root.insert("request".into(), answer.request.clone().into());
    root.insert("case".into(), answer.case.clone().into());
    for (key, value) in &answer.numbers {
        root.entry(key.clone()).or_insert_with(|| value.clone());
    }
    let caution = |c: &Remark| json!({"key": c.key, "words": c.words});
    root.insert(
        "cautions".into(),
        answer.cautions.iter().map(caution).collect(),
    );
    pretty(root)
}

/// The JSON schema of the answers to a question.
pub fn schema(question: &Question) -> String {
    let text = json!({"type": "string"});
    let caution = json!({
        "type": "object",
        "properties": {"key": text, "words": text},
        "required": ["key", "words"],
    });
    let head: [(&str, Value); 5] = [
        ("format", json!({"const": "oilwheel-answer"})),
        ("version", text.clone()),
        ("question", json!({"const": question.key})),
        (
            "request",
            json!({"type": "object", "description": "what the user entered, by field"}),
        ),
        (
            "case",
            json!({"type": "object", "description": "every input of the case, SI, by key"}),
        ),
    ];
    let mut properties: Map<String, Value> = Map::new();
    properties.extend(head.map(|(k, v)| (k.to_string(), v)));
    properties.extend((question.finds)());
    properties.insert(
        "cautions".into(),
        json!({"type": "array", "items": caution}),
    );
    let mut root = Map::new();
    root.insert(
        "$schema".into(),
        "https://json-schema.org/draft/2020-12/schema".into(),
    );
    root.insert(
        "title".into(),
        format!("Answer of oilwheel {}", question.key).into(),
    );
    root.insert("description".into(), question.about.into());
    root.insert("version".into(), KEYS.into());
    root.insert("type".into(), "object".into());
    root.insert(
        "required".into(),
        json!([
            "format", "version", "question", "request", "case", "cautions"
        ]),
    );
    root.insert("properties".into(), properties.into());
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
                keys[..5],
                ["format", "version", "question", "request", "case"],
                "{name}"
            );
            assert_eq!(keys.last(), Some(&"cautions"), "{name}");
            assert_eq!(keys.len(), 6 + answer.numbers.len(), "{name}");
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
        assert_eq!(keys[5..8], ["z_rpm", "a_rpm", "m_rpm"]);
    }
}
