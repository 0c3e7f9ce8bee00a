//! The page: the report with a form, served to the browser of this computer alone.
//!
//! | file | what it does |
//! |---|---|
//! | `server.rs` | listens on the loopback address, and holds every request to its limits |
//! | `form.rs` | reads what a form sends, and makes it an `Ask` |
//! | `reply.rs` | path and form → one study → what is sent back |
//! | `view.rs` | the whole page, and the part of it that answers |
//! | `asks.rs` | the form as it is shown: what each question asks |
//! | `fields.rs` | one field of the form, with its help and what is wrong with it |
//! | `behind.rs` | what stands behind each number: equation, source, range, validation |
//!
//! Nothing is kept between requests, and no path from the client touches a file.

mod asks;
mod behind;
mod fields;
mod form;
mod reply;
mod server;
mod view;

pub use form::Typed;
pub use reply::{Reply, respond};
pub use server::serve;

/// The questions that the page answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    /// What speed, and what limits it?
    Speed,
    /// Why slower than another?
    Why,
    /// Which cause, and which test next?
    Suspects,
    /// How warm do coolant and oil get?
    Heat,
    /// What do electric fans buy?
    Auxfan,
    /// How warm along a trip?
    Trip,
    /// What does a log say?
    Log,
    /// How does the speed go along one input?
    Sweep,
    /// How often must the oil be changed?
    Flush,
}

impl Question {
    /// All of them, in the order in which they are offered.
    pub const ALL: [Question; 9] = [
        Question::Speed,
        Question::Why,
        Question::Suspects,
        Question::Heat,
        Question::Auxfan,
        Question::Trip,
        Question::Log,
        Question::Sweep,
        Question::Flush,
    ];

    /// Its path.
    pub fn path(self) -> &'static str {
        match self {
            Question::Speed => "speed",
            Question::Why => "why",
            Question::Suspects => "suspects",
            Question::Heat => "heat",
            Question::Auxfan => "auxfan",
            Question::Trip => "trip",
            Question::Log => "log",
            Question::Sweep => "sweep",
            Question::Flush => "flush",
        }
    }

    /// The question of a path.
    pub fn find(path: &str) -> Option<Question> {
        Question::ALL.into_iter().find(|q| q.path() == path)
    }

    /// The question in a few words.
    fn words(self) -> &'static str {
        match self {
            Question::Speed => "How fast?",
            Question::Why => "What differs?",
            Question::Suspects => "What is wrong?",
            Question::Heat => "How warm?",
            Question::Auxfan => "Electric fans",
            Question::Trip => "On a trip",
            Question::Log => "Read a log",
            Question::Sweep => "Along a range",
            Question::Flush => "Oil change",
        }
    }
}
