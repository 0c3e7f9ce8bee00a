//! The web page: a form and the report of its answer. With the feature `serve`, only this computer's browser can open
//! it.
//! | file | task |
//! |---|---|
//! | `server.rs` | listens on the loopback address, and enforces the limits of requests |
//! | `typed.rs` | what the user entered in a form |
//! | `door.rs` | converts form input to the values of a question, and finds the box that a problem refers to |
//! | `reply.rs` | path and form → question → reply |
//! | `view.rs` | the whole page, and the part that shows the answer |
//! | `form.rs` | the form, from the declarations of the question's fields |
//! | `boxes.rs` | the fields with several boxes in the form: readings, parts, positions of fans, a log |
//! | `book.rs` | the notebook, which all tabs share |
//! | `card.rs` | the cards that ask for a reading: the first one, and the next step |
//! | `lines.rs` | the lines of the notebook in the form, each with a button that strikes it out |
//! | `device.rs` | the choice of the instrument with which a reading was taken |
//! | `fields.rs` | one box of the form, with its help and errors |
//! | `guide.rs` | the first visit, step by step |
//! | `behind.rs` | the background of each number: equation, source, range, validation |
//!
//! No state is kept between requests, and no path from the client reaches a file.

mod behind;
mod book;
mod boxes;
mod card;
mod device;
mod door;
mod fields;
mod form;
mod guide;
mod lines;
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

/// The questions that the page offers, in display order.
pub fn questions() -> impl Iterator<Item = &'static Question> {
    question::ALL
        .iter()
        .copied()
        .filter(|q| !q.title.is_empty())
}

/// The question with a given URL path.
fn find(path: &str) -> Option<&'static Question> {
    questions().find(|q| q.key == path)
}
