//! One thing that a question asks, declared once: flags, form, completions, manual and the place of a problem come from it.

use crate::fault;
use crate::model::{MACHINES, OILS, TRIPS};
use crate::quantity::Kind;
use crate::trouble::mention;

/// What a field takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Takes {
    /// A quantity with its unit, within a range in SI; some words instead of a number.
    Quantity(Kind, f64, f64, &'static [&'static str]),
    /// A reading, which must come with its error.
    Reading(Kind),
    /// A machine: a key of the library, a path, or a file's text.
    Machine,
    /// An oil: a key of the library, a path, or the figures of a data sheet.
    Oil,
    /// A trip: a key of the library, a path, or a table's text.
    Trip,
    /// A fault and its severity, `worn-pump=0.4`.
    Fault,
    /// An input of the machine and its value, `pump.ratio=1.4`.
    Setting,
    /// One of several words, each with its meaning; the first is the usual one.
    Choice(&'static [(&'static str, &'static str)]),
    /// Yes or no.
    Switch,
    /// A whole number within a range.
    Count(usize, usize),
    /// A file, or its text: what it holds.
    Text(&'static str),
    /// A log: a path, or what was sent.
    Log,
    /// Words that the question itself reads.
    Words,
}

/// What is taken where nothing is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Usual {
    /// It must be given.
    Required,
    /// This, as if it had been typed.
    Value(&'static str),
    /// Something else, said in words: `as computed`.
    Words(&'static str),
}

/// One thing that a question asks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Its key: `oil_temp` in a request and a form, `--oil-temp` on the command line.
    pub key: &'static str,
    /// What it takes.
    pub takes: Takes,
    /// Its name.
    pub label: &'static str,
    /// What more there is to know; may be empty.
    pub help: &'static str,
    /// An example of what may be typed; may be empty.
    pub example: &'static str,
    /// What is taken where nothing is given.
    pub usual: Usual,
    /// It may be given several times.
    pub many: bool,
    /// It is given by its place on the command line, without a flag.
    pub by_place: bool,
}

impl Field {
    /// A field that may be left out.
    pub const fn new(key: &'static str, takes: Takes, label: &'static str) -> Self {
        Self {
            key,
            takes,
            label,
            help: "",
            example: "",
            usual: Usual::Words(""),
            many: false,
            by_place: false,
        }
    }

    /// With more to know.
    pub const fn help(mut self, help: &'static str) -> Self {
        self.help = help;
        self
    }

    /// With an example.
    pub const fn example(mut self, example: &'static str) -> Self {
        self.example = example;
        self
    }

    /// Says in words what is taken where nothing is given.
    pub const fn else_words(mut self, words: &'static str) -> Self {
        self.usual = Usual::Words(words);
        self
    }

    /// With what is taken where nothing is given, as if typed.
    pub const fn usually(mut self, value: &'static str) -> Self {
        self.usual = Usual::Value(value);
        self
    }

    /// It must be given.
    pub const fn required(mut self) -> Self {
        self.usual = Usual::Required;
        self
    }

    /// It may be given several times.
    pub const fn many(mut self) -> Self {
        self.many = true;
        self
    }

    /// It is given by its place on the command line.
    pub const fn by_place(mut self) -> Self {
        self.by_place = true;
        self
    }

    /// The same with another name and more to know.
    pub const fn called(mut self, label: &'static str, help: &'static str) -> Self {
        self.label = label;
        self.help = help;
        self
    }

    /// Its flag without the dashes: `oil-temp`.
    pub fn flag(&self) -> String {
        self.key.replace('_', "-")
    }

    /// The words that may be typed, where they can be listed: for completions.
    pub fn values(&self) -> Vec<&'static str> {
        let keys =
            |library: &[(&'static str, &'static str)]| library.iter().map(|(k, _)| *k).collect();
        match self.takes {
            Takes::Machine => keys(&MACHINES),
            Takes::Oil => keys(&OILS),
            Takes::Trip => keys(&TRIPS),
            Takes::Fault => fault::ALL
                .iter()
                .chain(fault::HEAT)
                .map(|f| f.key)
                .collect(),
            Takes::Choice(words) => words.iter().map(|(word, _)| *word).collect(),
            Takes::Quantity(_, _, _, words) => words.to_vec(),
            _ => Vec::new(),
        }
    }

    /// What stands for its value in help: `TEMPERATURE`.
    pub fn value_name(&self) -> String {
        match self.takes {
            Takes::Quantity(kind, ..) => kind.name().to_uppercase().replace(' ', "-"),
            Takes::Reading(kind) => format!("{} ± ERROR", kind.name().to_uppercase()),
            Takes::Machine => "MACHINE".into(),
            Takes::Oil => "OIL".into(),
            Takes::Trip => "TRIP".into(),
            Takes::Fault if self.by_place => "FAULT".into(),
            Takes::Fault => "FAULT=SEVERITY".into(),
            Takes::Setting => "PART.KEY=VALUE".into(),
            Takes::Count(..) => "NUMBER".into(),
            Takes::Text(_) | Takes::Log if !self.by_place => "FILE".into(),
            Takes::Choice(_) | Takes::Switch | Takes::Words | Takes::Text(_) | Takes::Log => {
                self.key.to_uppercase().replace('_', "-")
            }
        }
    }

    /// Its name where a text speaks of it: the command line and the page each put their own there.
    pub fn mention(&self) -> String {
        mention(self.key)
    }
}

/// A few fields that stand together in the form and in the help.
#[derive(Clone, Copy, Debug)]
pub struct Group {
    /// What they are about.
    pub title: &'static str,
    /// The form shows them only when asked to.
    pub folded: bool,
    /// The fields.
    pub fields: &'static [&'static Field],
}

impl Group {
    /// Fields that the form shows.
    pub const fn new(title: &'static str, fields: &'static [&'static Field]) -> Self {
        Self {
            title,
            folded: false,
            fields,
        }
    }

    /// Fields that the form shows when asked to.
    pub const fn folded(title: &'static str, fields: &'static [&'static Field]) -> Self {
        Self {
            title,
            folded: true,
            fields,
        }
    }
}
