//! The questions: the fields and the outcome of each, declared once. A question computes and does not phrase text.
//!
//! | file | task |
//! |---|---|
//! | `field.rs` | an input field of a question, and groups of fields |
//! | `values.rs` | the typed input, and how it is read |
//! | `find.rs` | the outcome of a question: keys, units, descriptions |
//! | `basis.rs` | the fields of machine, oil and condition |
//! | `condition.rs` | conditions in words, such as `engine 1600 rpm, oil 80 C` |
//! | `want.rs` | requirements in words, such as `coolant <= 105 C at 38 C` |
//! | `own.rs` | a notebook in place of a machine |
//! | `readings.rs` | readings of a machine, and typing errors in them |
//! | the others | one question each: its fields, its request, its outcome |

pub mod auxfan;
pub mod basis;
pub mod batch;
pub mod check;
pub mod condition;
pub mod faults;
mod field;
mod find;
pub mod first_look;
pub mod fit;
pub mod flush;
pub mod heat;
#[cfg(feature = "logs")]
pub mod log;
pub mod notebook;
pub mod oil;
pub mod own;
pub mod points;
pub mod readings;
pub mod sheet;
pub mod size;
pub mod speed;
pub mod state;
pub mod suspects;
pub mod sweep;
pub mod trip;
mod values;
pub mod want;
pub mod why;

pub use crate::trouble::{mention, with_names};
pub use field::{Field, Group, Takes, Usual};
pub use find::{Ends, Find, Flat, Keyed, Outcome, Series, described, key_of};
pub use values::{Intake, Open, Sink, Values, renamed};

use crate::trouble::Troubles;
use serde_json::{Map, Value};

/// A question: its fields and its outcome.
pub struct Question {
    /// Key of the question: the command, the address of its page, and the value of `question` in an answer.
    pub key: &'static str,
    /// A short title for the page; empty if the page does not have this question.
    pub title: &'static str,
    /// The question it answers, in one sentence.
    pub about: &'static str,
    /// Fields of the question.
    pub groups: &'static [Group],
    /// Command-line examples.
    pub examples: &'static [&'static str],
    /// Schema of the outcome.
    pub finds: fn() -> Map<String, Value>,
}

impl Question {
    /// Fields of the question in order.
    pub fn fields(&self) -> impl Iterator<Item = &'static Field> + use<> {
        let groups: &'static [Group] = self.groups;
        groups.iter().flat_map(|g| g.fields.iter().copied())
    }

    /// Field of the question with a given key.
    pub fn field(&self, key: &str) -> Option<&'static Field> {
        self.fields().find(|f| f.key == key)
    }

    /// Whether the question has a given field.
    pub fn asks(&self, field: &Field) -> bool {
        self.field(field.key).is_some()
    }
}

/// A resolved request, ready to be answered.
pub trait Request: Sized {
    /// The question of this request.
    const QUESTION: &'static Question;
    /// The outcome of this request.
    type Outcome: Outcome;
    /// Parses the typed input; reports all errors at once.
    fn read(values: &Values) -> Result<Self, Troubles>;
    /// Computes the outcome.
    fn answer(&self) -> Result<Self::Outcome, Troubles>;
}

/// The key of the default question.
pub const FIRST_LOOK: &str = "first-look";

/// All questions, in display order.
pub static ALL: &[&Question] = &[
    &speed::QUESTION,
    &why::QUESTION,
    &suspects::QUESTION,
    &notebook::QUESTION,
    &heat::QUESTION,
    &auxfan::QUESTION,
    &trip::QUESTION,
    #[cfg(feature = "logs")]
    &log::QUESTION,
    &sweep::QUESTION,
    &batch::QUESTION,
    &size::QUESTION,
    &points::QUESTION,
    &flush::QUESTION,
    &oil::QUESTION,
    &faults::QUESTION,
    &sheet::QUESTION,
    &fit::QUESTION,
    &check::QUESTION,
    &first_look::QUESTION,
];

/// The question with a given key.
pub fn find(key: &str) -> Option<&'static Question> {
    ALL.iter().copied().find(|q| q.key == key)
}
