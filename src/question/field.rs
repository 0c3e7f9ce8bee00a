//! The input fields of the questions. Each is declared once; flags, form, completions, manual and the place named in
//! error messages are derived from the declaration.

use crate::fault;
use crate::model::{MACHINES, OILS, TRIPS};
use crate::quantity::Kind;
use crate::trouble::mention;

/// The kind of value that a field accepts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Takes {
    /// A quantity with its unit, within a range in SI; some words are allowed instead of a number.
    Quantity(Kind, f64, f64, &'static [&'static str]),
    /// A measured value, which must be given with its uncertainty.
    Reading(Kind),
    /// A machine: a key of the library, a path, or the text of a file.
    Machine,
    /// An oil: a key of the library, a path, or data sheet values.
    Oil,
    /// A trip: a key of the library, a path, or the text of a table.
    Trip,
    /// A fault and its severity, `worn-pump=0.4`.
    Fault,
    /// An input of the machine and its value, `pump.ratio=1.4`.
    Setting,
    /// One of several words, each with its meaning; the first is the default.
    Choice(&'static [(&'static str, &'static str)]),
    /// Yes or no.
    Switch,
    /// A whole number within a range.
    Count(usize, usize),
    /// A file, or the text of a file; with a description of its content.
    Text(&'static str),
    /// A log: a path, or the uploaded data.
    Log,
    /// Text parsed by the question itself.
    Words,
}

/// The default of a field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Usual {
    /// No default: the field is required.
    Required,
    /// A default value, used as if the user had entered it.
    Value(&'static str),
    /// A default that is only described in words, such as `as computed`.
    Words(&'static str),
}

/// One input field of a question.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Key of the field: `oil_temp` in a request and a form, `--oil-temp` on the command line.
    pub key: &'static str,
    /// Value type of the field.
    pub takes: Takes,
    /// Name of the field.
    pub label: &'static str,
    /// Additional help text; may be empty.
    pub help: &'static str,
    /// An example of what to enter; may be empty.
    pub example: &'static str,
    /// The default.
    pub usual: Usual,
    /// Whether the field may be given several times.
    pub many: bool,
    /// Whether the field is a positional argument on the command line.
    pub by_place: bool,
}

impl Field {
    /// Creates an optional field without default and help.
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

    /// Adds help.
    pub const fn help(mut self, help: &'static str) -> Self {
        self.help = help;
        self
    }

    /// Adds an example.
    pub const fn example(mut self, example: &'static str) -> Self {
        self.example = example;
        self
    }

    /// Describes the default in words.
    pub const fn else_words(mut self, words: &'static str) -> Self {
        self.usual = Usual::Words(words);
        self
    }

    /// Sets the default value, used as if the user had entered it.
    pub const fn usually(mut self, value: &'static str) -> Self {
        self.usual = Usual::Value(value);
        self
    }

    /// Makes the field required.
    pub const fn required(mut self) -> Self {
        self.usual = Usual::Required;
        self
    }

    /// Allows the field to be given several times.
    pub const fn many(mut self) -> Self {
        self.many = true;
        self
    }

    /// Makes the field a positional argument on the command line.
    pub const fn by_place(mut self) -> Self {
        self.by_place = true;
        self
    }

    /// Gives the field another label and help text.
    pub const fn called(mut self, label: &'static str, help: &'static str) -> Self {
        self.label = label;
        self.help = help;
        self
    }

    /// Flag of the field without the dashes: `oil-temp`.
    pub fn flag(&self) -> String {
        self.key.replace('_', "-")
    }

    /// The words that a user can enter, if they can be listed; used for completions.
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

    /// Placeholder of the field's value in help texts: `TEMPERATURE`.
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

    /// A placeholder for the field's name in texts; command line and page each insert their own name.
    pub fn mention(&self) -> String {
        mention(self.key)
    }
}

/// A few related fields, grouped in the form and in the help.
#[derive(Clone, Copy, Debug)]
pub struct Group {
    /// Title of the group.
    pub title: &'static str,
    /// Whether the form shows the group only on request.
    pub folded: bool,
    /// The fields.
    pub fields: &'static [&'static Field],
}

impl Group {
    /// A group that the form always shows.
    pub const fn new(title: &'static str, fields: &'static [&'static Field]) -> Self {
        Self {
            title,
            folded: false,
            fields,
        }
    }

    /// A group that the form shows only on request.
    pub const fn folded(title: &'static str, fields: &'static [&'static Field]) -> Self {
        Self {
            title,
            folded: true,
            fields,
        }
    }
}
