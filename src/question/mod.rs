//! The questions: what each asks and what it finds, each declared once. A question computes and phrases nothing.
//!
//! | file | what it holds |
//! |---|---|
//! | `field.rs` | one thing that a question asks, and groups of them |
//! | `values.rs` | what was typed, and how it is read |
//! | `find.rs` | what a question finds: keys, units, meaning |
//! | `basis.rs` | the fields of machine, oil and condition |
//! | `own.rs` | a notebook where a machine is asked for |
//! | `readings.rs` | readings of a machine, and slips of the pen in them |
//! | the others | one question each: its fields, its request, its outcome |

pub mod auxfan;
pub mod basis;
pub mod batch;
pub mod check;
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
pub mod why;

pub use crate::trouble::{mention, with_names};
pub use field::{Field, Group, Takes, Usual};
pub use find::{Ends, Find, Flat, Keyed, Outcome, Series, described, key_of};
pub use values::{Intake, Open, Sink, Values, renamed};

use crate::trouble::Troubles;
use serde_json::{Map, Value};

/// A question: what it asks and what it finds.
pub struct Question {
    /// Its key: the command, the address of its page, and `question` in an answer.
    pub key: &'static str,
    /// A few words for the page; empty where the page does not ask it.
    pub title: &'static str,
    /// What it answers, in a sentence.
    pub about: &'static str,
    /// What it asks.
    pub groups: &'static [Group],
    /// Sessions that show how it is asked.
    pub examples: &'static [&'static str],
    /// The schema of what it finds.
    pub finds: fn() -> Map<String, Value>,
}

impl Question {
    /// Its fields in order.
    pub fn fields(&self) -> impl Iterator<Item = &'static Field> + use<> {
        let groups: &'static [Group] = self.groups;
        groups.iter().flat_map(|g| g.fields.iter().copied())
    }

    /// Its field of a key.
    pub fn field(&self, key: &str) -> Option<&'static Field> {
        self.fields().find(|f| f.key == key)
    }

    /// Whether it asks for a field.
    pub fn asks(&self, field: &Field) -> bool {
        self.field(field.key).is_some()
    }
}

/// What is asked, understood: it can be answered.
pub trait Request: Sized {
    /// Which question it is.
    const QUESTION: &'static Question;
    /// What is found.
    type Outcome: Outcome;
    /// Reads what was typed: every mistake at once.
    fn read(values: &Values) -> Result<Self, Troubles>;
    /// Finds it.
    fn answer(&self) -> Result<Self::Outcome, Troubles>;
}

/// The key of the question that is asked where none is named.
pub const FIRST_LOOK: &str = "first-look";

/// All questions, in the order in which they are offered.
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

/// The question of a key.
pub fn find(key: &str) -> Option<&'static Question> {
    ALL.iter().copied().find(|q| q.key == key)
}
