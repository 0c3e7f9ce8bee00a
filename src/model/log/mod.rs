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
//! | `choices.rs` | what the asker says, and what was guessed |
//! | `marks.rs` | what points and commas in a column are |
//! | `columns.rs` | which column carries which signal, and in which unit |
//! | `timing.rs` | which column tells the time |
//! | `layout.rs` | from the first stretch of a file: shape, separator, heads, columns, time |
//! | `stream.rs` | row after row; what is dropped is counted and named |
//! | `stream/lane.rs` | cells become readings, and readings are believed or not |
//! | `stream/timeline.rs` | the time of each row: clocks that turn over, are set back or leap, and gaps |
//! | `stream/sessions.rs` | a further session in the same file |
//! | `tally.rs` | what is read and counted |
//! | `caution.rs` | what must be borne in mind about a log |

mod caution;
mod cell;
mod choices;
mod clock;
mod columns;
mod layout;
mod marks;
mod names;
mod rows;
mod shape;
mod source;
mod stream;
mod tally;
mod timing;

pub use caution::LogCaution;
pub use choices::{Choices, Guess, Guessed};
pub use clock::TimeUnit;
pub use columns::Column;
pub use layout::Layout;
pub use names::{SIGNALS, Signal};
pub use stream::LogReader;
pub use tally::{Gap, Mistake, Sample, Seen, Session, Tally};
