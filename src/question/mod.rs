//! The questions that oilwheel answers. Each declares its input fields and its outcome once and computes the outcome;
//! the text of the answer is written elsewhere.
//!
//! | file | task |
//! |---|---|
//! | `field.rs` | an input field of a question, and groups of fields |
//! | `values.rs` | what the user entered, and how it is read |
//! | `find.rs` | the outcome of a question: keys, units, descriptions |
//! | `basis.rs` | the fields for machine, oil and operating condition |
//! | `condition.rs` | operating conditions in words, such as `engine 1600 rpm, oil 80 C` |
//! | `want.rs` | requirements in words, such as `coolant <= 105 C at 38 C` |
//! | `own.rs` | a notebook given in place of a machine |
//! | `noted.rs` | what the readings in a notebook say about the fan at present |
//! | `readings.rs` | readings taken on a machine, and typing errors in them |
//! | the others | one question each: its fields, its request and its outcome |

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
pub mod noted;
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
pub mod weather;
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
    /// Input fields of the question, in groups.
    pub groups: &'static [Group],
    /// Command-line examples.
    pub examples: &'static [&'static str],
    /// Returns the JSON schema of the outcome's properties.
    pub finds: fn() -> Map<String, Value>,
}

impl Question {
    /// All input fields of the question, in order.
    pub fn fields(&self) -> impl Iterator<Item = &'static Field> + use<> {
        let groups: &'static [Group] = self.groups;
        groups.iter().flat_map(|g| g.fields.iter().copied())
    }

    /// The question's field with a given key; `None` if it has no such field.
    pub fn field(&self, key: &str) -> Option<&'static Field> {
        self.fields().find(|f| f.key == key)
    }

    /// Whether the question has this field.
    pub fn asks(&self, field: &Field) -> bool {
        self.field(field.key).is_some()
    }
}

/// A request whose inputs have been read and checked, ready to be answered.
pub trait Request: Sized {
    /// The question of this request.
    const QUESTION: &'static Question;
    /// The outcome of this request.
    type Outcome: Outcome;
    /// Reads the user's input; reports all errors at once.
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
