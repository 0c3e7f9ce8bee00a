//! What the user entered, by field key, and how a question reads and checks it.

use super::field::{Field, Takes, Usual};
use crate::model::{Lookup, OilSheet, in_range_of};
use crate::probe::thousands;
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::{Stop, Trouble, Troubles};
use std::io::{Read, Write};
use std::sync::{Arc, Mutex};

/// A function that opens a log by its name.
pub type Open = Arc<dyn Fn(&str) -> std::io::Result<Box<dyn Read + Send>> + Send + Sync>;

/// A destination for answers that are written piece by piece.
pub type Sink = Arc<Mutex<dyn Write + Send>>;

/// What the user entered, by field key, and the context of the request.
#[derive(Clone)]
pub struct Values {
    typed: Vec<(String, String)>,
    /// Texts uploaded with the request: field key, name used in messages, and text.
    texts: Vec<(String, String, String)>,
    /// The unit system of the answer.
    pub units: Units,
    /// Where the names of machines and oils may be looked up.
    pub lookup: Lookup,
    /// Cancels the computation when the answer is no longer needed.
    pub stop: Stop,
    /// Opens a log by its name; `None` if logs cannot be opened here.
    pub open: Option<Open>,
    /// A destination for answers that are written piece by piece.
    pub sink: Option<Sink>,
}

impl Default for Values {
    fn default() -> Self {
        Self {
            typed: Vec::new(),
            texts: Vec::new(),
            units: Units::Si,
            lookup: Lookup::LibraryOnly,
            stop: Stop::default(),
            open: None,
            sink: None,
        }
    }
}

impl Values {
    /// A request in which nothing has been entered yet.
    pub fn new(units: Units, lookup: Lookup) -> Self {
        Self {
            units,
            lookup,
            ..Self::default()
        }
    }

    /// Returns the request with the text of a field added.
    pub fn with(mut self, field: &Field, words: &str) -> Self {
        self.push(field.key, words);
        self
    }

    /// Adds text under a key. Blank text is ignored.
    pub fn push(&mut self, key: &str, words: &str) {
        let words = words.trim();
        if !words.is_empty() {
            self.typed.push((key.into(), words.into()));
        }
    }

    /// Adds the text of a file under a key; `name` is the file's name in messages.
    pub fn push_text(&mut self, key: &str, name: &str, text: &str) {
        self.texts.push((key.into(), name.into(), text.into()));
    }

    /// All entries as field key and text, in the order in which they were entered.
    pub fn typed(&self) -> impl Iterator<Item = (&str, &str)> {
        self.typed.iter().map(|(k, v)| (k.as_str(), v.as_str()))
    }

    /// The text entered for a field, else its default value.
    pub fn get<'a>(&'a self, field: &'a Field) -> Option<&'a str> {
        self.all(field).next().or(match field.usual {
            Usual::Value(words) => Some(words),
            _ => None,
        })
    }

    /// All texts entered for a field.
    pub fn all<'a>(&'a self, field: &'a Field) -> impl Iterator<Item = &'a str> {
        let own = move |(key, _): &(&str, &str)| *key == field.key;
        self.typed().filter(own).map(|(_, words)| words)
    }

    /// All texts entered for a field, as owned strings.
    pub fn list(&self, field: &Field) -> Vec<String> {
        self.all(field).map(String::from).collect()
    }

    /// The text entered for a field, else its default value, as an owned string.
    pub fn text(&self, field: &Field) -> Option<String> {
        self.get(field).map(String::from)
    }

    /// Whether anything was entered or uploaded for a field.
    pub fn has(&self, field: &Field) -> bool {
        self.all(field).next().is_some() || self.came_along(field).is_some()
    }

    /// The uploaded text with a given name.
    pub fn text_called(&self, name: &str) -> Option<&str> {
        let found = self.texts.iter().find(|(_, own, _)| own == name)?;
        Some(&found.2)
    }

    /// The uploaded text of a field: the name used in messages, and the text.
    pub fn came_along(&self, field: &Field) -> Option<(&str, &str)> {
        let found = self.texts.iter().find(|(key, ..)| key == field.key)?;
        Some((&found.1, &found.2))
    }
}

/// Reads what the user entered, and records each problem with the field that it concerns.
pub struct Intake<'a> {
    /// The request that is read.
    pub values: &'a Values,
    /// The problems so far.
    pub problems: Troubles,
}

impl<'a> Intake<'a> {
    /// Starts reading a request.
    pub fn new(values: &'a Values) -> Self {
        Self {
            values,
            problems: Vec::new(),
        }
    }

    /// The result if there were no problems, else all problems.
    pub fn finish<T>(self, read: Option<T>) -> Result<T, Troubles> {
        match read {
            Some(read) if self.problems.is_empty() => Ok(read),
            _ => Err(self.problems),
        }
    }

    /// Returns the value, or records its problem at a field.
    pub fn keep<T>(&mut self, field: &Field, found: Result<T, Trouble>) -> Option<T> {
        found.map_err(|t| self.problems.push(t.on(field.key))).ok()
    }

    /// Returns the value, or records all its problems at a field.
    pub fn keep_all<T>(&mut self, field: &Field, found: Result<T, Troubles>) -> Option<T> {
        let note = |all: Troubles| {
            self.problems
                .extend(all.into_iter().map(|t| t.on(field.key)));
        };
        found.map_err(note).ok()
    }

    /// The text of a required field; records a problem if it is missing.
    pub fn needed(&mut self, field: &'a Field) -> Option<&'a str> {
        let values = self.values;
        let words = values.all(field).next();
        if words.is_none() {
            let problem = Trouble::input("nothing", field.label);
            self.problems.push(problem.on(field.key));
        }
        words
    }

    /// A quantity within its field's range; `None` if not given.
    pub fn quantity(&mut self, field: &Field) -> Option<Measure> {
        let words = self.values.get(field)?;
        let Takes::Quantity(kind, low, high, _) = field.takes else {
            return None;
        };
        let units = self.values.units;
        let found = parse(kind, words).and_then(|m| in_range_of(kind, low, high, m, units));
        self.keep(field, found)
    }

    /// The value of a quantity, SI.
    pub fn value(&mut self, field: &Field) -> Option<f64> {
        self.quantity(field).map(|m| m.value)
    }

    /// A reading with its uncertainty; `None` if not given.
    pub fn reading(&mut self, field: &Field) -> Option<Measure> {
        let words = self.values.get(field)?;
        let Takes::Reading(kind) = field.takes else {
            return None;
        };
        self.keep(field, reading(kind, words))
    }

    /// The chosen word of a field that offers a choice.
    pub fn choice(&mut self, field: &Field) -> Option<&'static str> {
        let Takes::Choice(choices) = field.takes else {
            return None;
        };
        let Some(words) = self.values.get(field) else {
            return choices.first().map(|(word, _)| *word);
        };
        let known = || choices.iter().map(|(word, _)| *word);
        let found = known().find(|word| *word == words).ok_or_else(|| {
            let expected = known().collect::<Vec<_>>().join(", ");
            Trouble::input(format!("`{words}`"), expected).did_you_mean(words, known())
        });
        self.keep(field, found)
    }

    /// A whole number within its field's range; `None` if not given.
    pub fn count(&mut self, field: &Field) -> Option<usize> {
        let words = self.values.get(field)?;
        let Takes::Count(low, high) = field.takes else {
            return None;
        };
        let found = words.parse().ok().filter(|n| (low..=high).contains(n));
        let found = found.ok_or_else(|| {
            Trouble::input(
                format!("`{words}`"),
                format!("a whole number from {low} to {high}"),
            )
        });
        self.keep(field, found)
    }

    /// The oil of a field; `None` if not given.
    pub fn oil(&mut self, field: &Field) -> Option<OilSheet> {
        self.oil_of(field, self.values.get(field)?)
    }

    /// The oil with the name entered in a field.
    fn oil_of(&mut self, field: &Field, name: &str) -> Option<OilSheet> {
        let here = |t: Trouble| t.moved("oil", field.key);
        let found = self.values.lookup.oil(name);
        let found = found.map_err(|all| all.into_iter().map(here).collect());
        self.keep_all(field, found)
    }

    /// The oils of a field that accepts several, separated by commas or given one by one.
    pub fn oils(&mut self, field: &Field) -> Vec<OilSheet> {
        let names = split_names(self.values.all(field));
        let read = names.iter().filter_map(|name| self.oil_of(field, name));
        read.collect()
    }

    /// The text of a field that accepts a file: the name used in messages, and the text; `None` if not given.
    pub fn file(&mut self, field: &Field) -> Option<(String, String)> {
        if let Some((name, text)) = self.values.came_along(field) {
            return Some((name.into(), text.into()));
        }
        let path = self.values.get(field)?;
        let found = self.values.lookup.file(path);
        self.keep(field, found).map(|text| (path.to_string(), text))
    }
}

/// Moves the problems of one field to another, such as from the case to the baseline of a comparison.
pub fn renamed(mut all: Troubles, from: &str, to: &str) -> Troubles {
    for trouble in all.iter_mut().filter(|t| t.spot.field == from) {
        trouble.spot.field = to.into();
    }
    all
}

/// Splits names of oils at commas, but keeps the values of a data sheet together.
pub(super) fn split_names<'a>(typed: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut names = Vec::new();
    for words in typed {
        if words.contains('=') {
            names.push(words.to_string());
        } else {
            let parts = words.split(',').map(str::trim).filter(|w| !w.is_empty());
            names.extend(parts.map(String::from));
        }
    }
    names
}

/// Parses a measured value of a kind of quantity, which must be given with its uncertainty.
fn reading(kind: Kind, words: &str) -> Result<Measure, Trouble> {
    let measure = parse(kind, words)?;
    if kind == Kind::Speed && measure.value < 0.0 {
        return Err(Trouble::input(words, "a speed of zero or more"));
    }
    if let Some(doubt) = thousands(words, measure).filter(|_| kind == Kind::Speed) {
        return Err(doubt);
    }
    if measure.spread <= 0.0 {
        let found = format!("`{words}` has no ± after it");
        return Err(Trouble::input(
            found,
            format!("a reading with its uncertainty, such as \"{words} ± 1 %\""),
        )
        .hint(
            "a photo tachometer is accurate to about ±0.05 %, a stroboscope read by eye to perhaps ±2 %",
        ));
    }
    Ok(measure)
}
