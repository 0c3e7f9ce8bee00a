//! Logs of a scan tool: readings in rows, of any common shape, read as a stream.
//!
//! | file | what it does |
//! |---|---|
//! | `source.rs` | bytes as text: unpacked, decoded; what is no text is named |
//! | `rows.rs` | the one tokenizer |
//! | `names.rs`, `headings.csv` | which heading is which signal, in which language, and its unit |
//! | `cell.rs` | a cell as a number or a time |
//! | `clock.rs` | how a column tells the time |
//! | `shape.rs` | a signal a column, a reading a row, pairs of name and reading |
//! | `layout.rs` | from the first stretch of a file: heads, units, decimal marks, clock; and what of that was guessed |
//! | `stream.rs` | row after row; what is dropped is counted and named |
//! | `tally.rs` | what is read and counted |
//! | `caution.rs` | what must be borne in mind about a log |

mod caution;
mod cell;
mod clock;
mod layout;
mod names;
mod rows;
mod shape;
mod source;
mod stream;
mod tally;

pub use caution::LogCaution;
pub use layout::{Choices, Column, Guess, Guessed, Layout, TimeUnit};
pub use names::{SIGNALS, Signal};
pub use stream::LogReader;
pub use tally::{Gap, Mistake, Sample, Seen, Session, Tally};
