//! The page: the report with a form. With the feature `serve` it is served to the browser of this computer alone.
//!
//! | file | what it does |
//! |---|---|
//! | `server.rs` | listens on the loopback address, and holds every request to its limits |
//! | `typed.rs` | what a form sends |
//! | `door.rs` | from what was typed to the values of a question, and from a problem back to its box |
//! | `reply.rs` | path and form → one question → what is sent back |
//! | `view.rs` | the whole page, and the part of it that answers |
//! | `form.rs` | the form, from the declarations of the question's fields |
//! | `boxes.rs` | the fields of which a form makes several boxes: readings, parts, places for fans, a log |
//! | `book.rs` | the notebook that all tabs share |
//! | `fields.rs` | one box of the form, with its help and what is wrong with it |
//! | `guide.rs` | the first visit, step by step |
//! | `behind.rs` | what is behind each number: equation, source, range, validation |
//!
//! Nothing is kept between requests, and no path from the client touches a file.

mod behind;
mod book;
mod boxes;
mod door;
mod fields;
mod form;
mod guide;
mod reply;
#[cfg(feature = "serve")]
mod server;
mod typed;
mod view;

pub use reply::{Reply, respond};
#[cfg(feature = "serve")]
pub use server::serve;
pub use typed::Typed;

use crate::question::{self, Question};

/// The questions that the page asks, in the order in which they are offered.
pub fn questions() -> impl Iterator<Item = &'static Question> {
    question::ALL
        .iter()
        .copied()
        .filter(|q| !q.title.is_empty())
}

/// The question of a path.
fn find(path: &str) -> Option<&'static Question> {
    questions().find(|q| q.key == path)
}
