//! The outcome of a question, declared once: JSON, CSV and the schema are derived from the declaration.
//!
//! Quantities are in SI in memory; in the output each is in the unit at the end of its key, whatever the printed unit
//! system.

use crate::quantity::Kind;
use serde_json::{Map, Value, json};

/// A type that can be a member of an outcome.
pub trait Find {
    /// The JSON value. For a quantity, `kind` determines the unit.
    fn value(&self, kind: Option<Kind>) -> Value;

    /// The JSON schema of the value.
    fn schema(kind: Option<Kind>) -> Value
    where
        Self: Sized;

    /// Inserts the value under a key; a type that has its own keys inserts those instead.
    fn put(&self, key: &str, kind: Option<Kind>, into: &mut Map<String, Value>) {
        into.insert(key_of(key, kind), self.value(kind));
    }

    /// Inserts the JSON schema of the entries that `put` inserts.
    fn describe(key: &str, kind: Option<Kind>, meaning: &str, into: &mut Map<String, Value>)
    where
        Self: Sized,
    {
        into.insert(key_of(key, kind), described(Self::schema(kind), meaning));
    }
}

/// A struct whose members are declared with `outcome!`.
pub trait Outcome {
    /// The outcome as a JSON object.
    fn object(&self) -> Map<String, Value>;
    /// The JSON schema of the properties of that object.
    fn properties() -> Map<String, Value>;
}

/// A key with its unit at the end.
pub fn key_of(key: &str, kind: Option<Kind>) -> String {
    match kind.map(Kind::json_suffix) {
        None | Some("") => key.to_string(),
        Some(unit) => format!("{key}_{unit}"),
    }
}

/// Adds a description to a schema.
pub fn described(mut schema: Value, meaning: &str) -> Value {
    if let Value::Object(map) = &mut schema {
        map.insert("description".into(), meaning.trim().into());
    }
    schema
}

impl Find for f64 {
    fn value(&self, kind: Option<Kind>) -> Value {
        json!(kind.map_or(*self, |k| k.to_json(*self)))
    }
    fn schema(_: Option<Kind>) -> Value {
        // Non-finite values are null.
        json!({"type": ["number", "null"]})
    }
}

macro_rules! plain {
    ($($Type:ty => $schema:literal;)*) => {
        $(impl Find for $Type {
            fn value(&self, _: Option<Kind>) -> Value { json!(self) }
            fn schema(_: Option<Kind>) -> Value { json!({"type": $schema}) }
        })*
    };
}
plain! {
    bool => "boolean";
    usize => "integer";
    u64 => "integer";
    String => "string";
    &'static str => "string";
}

/// Any JSON value, for keys that depend on the question.
impl Find for Value {
    fn value(&self, _: Option<Kind>) -> Value {
        self.clone()
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({})
    }
}

impl<T: Find> Find for Option<T> {
    fn value(&self, kind: Option<Kind>) -> Value {
        self.as_ref().map_or(Value::Null, |v| v.value(kind))
    }
    fn schema(kind: Option<Kind>) -> Value {
        json!({"anyOf": [T::schema(kind), {"type": "null"}]})
    }
}

impl<T: Find> Find for Vec<T> {
    fn value(&self, kind: Option<Kind>) -> Value {
        self.iter().map(|v| v.value(kind)).collect()
    }
    fn schema(kind: Option<Kind>) -> Value {
        json!({"type": "array", "items": T::schema(kind)})
    }
}

/// An interval, as a list of its two limits.
impl Find for (f64, f64) {
    fn value(&self, kind: Option<Kind>) -> Value {
        json!([self.0.value(kind), self.1.value(kind)])
    }
    fn schema(kind: Option<Kind>) -> Value {
        json!({"type": "array", "items": f64::schema(kind), "minItems": 2, "maxItems": 2})
    }
}

/// Values under keys known only at run time, such as the places in the circuit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Keyed<T>(pub Vec<(String, T)>);

impl<T: Find> Find for Keyed<T> {
    fn value(&self, kind: Option<Kind>) -> Value {
        let pairs = self.0.iter();
        Value::Object(pairs.map(|(k, v)| (k.clone(), v.value(kind))).collect())
    }
    fn schema(kind: Option<Kind>) -> Value {
        json!({"type": "object", "additionalProperties": T::schema(kind)})
    }
}

/// An outcome whose keys are merged into those of the enclosing outcome instead of being nested under a key.
#[derive(Clone, Copy, Debug, Default)]
pub struct Flat<T>(pub T);

impl<T> std::ops::Deref for Flat<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.0
    }
}

impl<T: Outcome> Find for Flat<T> {
    fn value(&self, _: Option<Kind>) -> Value {
        Value::Object(self.0.object())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "object", "properties": T::properties()})
    }
    fn put(&self, _: &str, _: Option<Kind>, into: &mut Map<String, Value>) {
        into.extend(self.0.object());
    }
    fn describe(_: &str, _: Option<Kind>, _: &str, into: &mut Map<String, Value>) {
        into.extend(T::properties());
    }
}

/// An optional outcome; `None` has no keys.
impl<T: Outcome> Outcome for Option<T> {
    fn object(&self) -> Map<String, Value> {
        self.as_ref().map_or_else(Map::new, T::object)
    }
    fn properties() -> Map<String, Value> {
        T::properties()
    }
}

/// The lower and upper limit of a range, under two keys such as `may_idle_low_s` and `may_idle_high_s`; null if there
/// is no range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ends(pub Option<(f64, f64)>);

impl Find for Ends {
    fn value(&self, kind: Option<Kind>) -> Value {
        self.0.value(kind)
    }
    fn schema(kind: Option<Kind>) -> Value {
        Option::<(f64, f64)>::schema(kind)
    }
    fn put(&self, key: &str, kind: Option<Kind>, into: &mut Map<String, Value>) {
        self.0.map(|e| e.0).put(&format!("{key}_low"), kind, into);
        self.0.map(|e| e.1).put(&format!("{key}_high"), kind, into);
    }
    fn describe(key: &str, kind: Option<Kind>, meaning: &str, into: &mut Map<String, Value>) {
        for (end, word) in [("low", "low end"), ("high", "high end")] {
            let meaning = format!("{}, {word}", meaning.trim().trim_end_matches('.'));
            Option::<f64>::describe(&format!("{key}_{end}"), kind, &meaning, into);
        }
    }
}

/// Rows of a table or of a curve, all with the same keys; written by `--csv`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// Keys, each with its unit at the end.
    pub heads: Vec<String>,
    /// Rows of cells.
    pub rows: Vec<Vec<String>>,
}

impl Series {
    /// Makes a row of each outcome. Texts and numbers become cells; nested values are omitted.
    pub fn of<T: Outcome>(rows: &[T]) -> Self {
        let cell = |v: &Value| match v {
            Value::String(text) => text.clone(),
            Value::Null => String::new(),
            other => other.to_string(),
        };
        let single = |v: &Value| !v.is_array() && !v.is_object();
        let objects: Vec<Map<String, Value>> = rows.iter().map(T::object).collect();
        let Some(first) = objects.first() else {
            return Self::default();
        };
        let heads = first
            .iter()
            .filter(|(_, v)| single(v))
            .map(|(k, _)| k.clone());
        let rows = objects
            .iter()
            .map(|o| o.values().filter(|v| single(v)).map(cell).collect());
        Self {
            heads: heads.collect(),
            rows: rows.collect(),
        }
    }
}

/// Declares the outcome of a question: a struct, and the keys of its members in the output.
///
/// A line is `member: Type as Kind,` for a quantity in SI, `member: Type,` for a value without a unit, and `member:
/// Type = "key",` if the key differs from the member's name. The doc comment of a member is its description in the
/// schema. Members after `beside` are available in the program but are not part of any output.
#[macro_export]
macro_rules! outcome {
    (
        $(#[$doc:meta])*
        pub struct $Name:ident {
            $($(#[doc = $meaning:literal])+ $member:ident: $Type:ty $(as $kind:ident)? $(= $key:literal)?,)*
        }
        $(beside { $($(#[doc = $about:literal])+ $aside:ident: $Aside:ty,)* })?
    ) => {
        $(#[$doc])*
        #[derive(Clone, Debug)]
        pub struct $Name {
            $($(#[doc = $meaning])+ pub $member: $Type,)*
            $($($(#[doc = $about])+ pub $aside: $Aside,)*)?
        }

        impl $crate::question::Outcome for $Name {
            fn object(&self) -> serde_json::Map<String, serde_json::Value> {
                let mut map = serde_json::Map::new();
                $($crate::question::Find::put(
                    &self.$member,
                    $crate::outcome!(@key $member $($key)?),
                    $crate::outcome!(@kind $($kind)?),
                    &mut map,
                );)*
                map
            }
            fn properties() -> serde_json::Map<String, serde_json::Value> {
                let mut map = serde_json::Map::new();
                $(<$Type as $crate::question::Find>::describe(
                    $crate::outcome!(@key $member $($key)?),
                    $crate::outcome!(@kind $($kind)?),
                    concat!($($meaning),+),
                    &mut map,
                );)*
                map
            }
        }

        impl $crate::question::Find for $Name {
            fn value(&self, _: Option<$crate::quantity::Kind>) -> serde_json::Value {
                serde_json::Value::Object($crate::question::Outcome::object(self))
            }
            fn schema(_: Option<$crate::quantity::Kind>) -> serde_json::Value {
                serde_json::json!({
                    "type": "object",
                    "properties": <$Name as $crate::question::Outcome>::properties(),
                })
            }
        }
    };
    (@key $member:ident) => { stringify!($member) };
    (@key $member:ident $key:literal) => { $key };
    (@kind) => { None };
    (@kind $kind:ident) => { Some($crate::quantity::Kind::$kind) };
}

#[cfg(test)]
mod tests {
    use super::*;

    crate::outcome! {
        /// One row.
        pub struct Row {
            /// Fan speed.
            fan_speed: f64 as Speed,
            /// What limits it.
            limited_by: &'static str,
        }
    }
    crate::outcome! {
        /// An outcome to test.
        pub struct Try {
            /// How fast.
            fan_speed: f64 as Speed,
            /// Highest temperature, if any.
            hottest: Option<f64> as Temperature = "peak_temp",
            /// The rows of the curve.
            rows: Vec<Row>,
        }
        beside {
            /// Not part of the output.
            hidden: usize,
        }
    }

    fn row(rpm: f64) -> Row {
        Row {
            fan_speed: Kind::Speed.from_json(rpm),
            limited_by: "inlet",
        }
    }

    #[test]
    fn keys_carry_units_and_the_schema_has_the_same_keys() {
        let found = Try {
            fan_speed: Kind::Speed.from_json(640.0),
            hottest: None,
            rows: vec![row(10.0)],
            hidden: 1,
        };
        assert_eq!(found.hidden, 1);
        let object = found.object();
        let keys: Vec<&String> = object.keys().collect();
        assert_eq!(keys, ["fan_speed_rpm", "peak_temp_c", "rows"]);
        assert_eq!(keys, Try::properties().keys().collect::<Vec<_>>());
        assert!((object["fan_speed_rpm"].as_f64().unwrap() - 640.0).abs() < 1e-9);
        assert!(object["peak_temp_c"].is_null());
        assert_eq!(
            Try::properties()["fan_speed_rpm"]["description"],
            "How fast."
        );
    }

    crate::outcome! {
        /// An outcome that contains the keys of other outcomes.
        pub struct Around {
            /// A row.
            row: Flat<Row>,
            /// An optional row.
            other: Flat<Option<Row>>,
            /// A range.
            idle: Ends as Time,
        }
    }

    #[test]
    fn keys_of_others_stand_among_its_own() {
        let around = |other, idle| Around {
            row: Flat(row(640.0)),
            other: Flat(other),
            idle: Ends(idle),
        };
        let object = around(None, Some((1.0, 2.0))).object();
        let keys: Vec<&String> = object.keys().collect();
        let all = ["fan_speed_rpm", "limited_by", "idle_low_s", "idle_high_s"];
        assert_eq!(keys, all);
        assert_eq!(keys, Around::properties().keys().collect::<Vec<_>>());
        assert!((object["idle_high_s"].as_f64().unwrap() - 2.0).abs() < 1e-12);
        assert!(around(None, None).object()["idle_low_s"].is_null());
        // If the second row is present, its values replace those of the first under the same keys.
        let object = around(Some(row(10.0)), None).object();
        assert!((object["fan_speed_rpm"].as_f64().unwrap() - 10.0).abs() < 1e-9);
    }

    #[test]
    fn rows_become_a_series() {
        let series = Series::of(&[row(10.0), row(20.0)]);
        assert_eq!(series.heads, ["fan_speed_rpm", "limited_by"]);
        assert_eq!(series.rows[1][1], "inlet");
    }
}
