//! Logs of a scan tool: rows of readings in any common format, read as a stream.
//!
//! | file | task |
//! |---|---|
//! | `source.rs` | bytes to text: decompresses, decodes; names files that are not text |
//! | `rows.rs` | the tokenizer |
//! | `names/` with `headings.csv` | headings in several languages to signals and units |
//! | `cell.rs` | parses a cell as a number or a time |
//! | `clock.rs` | reads the time column |
//! | `shape.rs` | one signal per column, one reading per row, or pairs of name and reading |
//! | `choices.rs` | the user's settings, and the guesses made |
//! | `marks.rs` | the meaning of points and commas in a column |
//! | `columns.rs` | assigns columns to signals, with their units |
//! | `timing.rs` | finds the time column |
//! | `layout.rs` | detects shape, separator, headings, columns and time from the beginning of a file |
//! | `stream.rs` | reads row after row; counts and names what is dropped |
//! | `stream/lane.rs` | converts cells to readings, and checks their plausibility |
//! | `stream/timeline.rs` | the time of each row: clock restarts, set-backs, jumps and gaps |
//! | `stream/sessions.rs` | further sessions in the same file |
//! | `tally.rs` | samples and counters |
//! | `caution.rs` | cautions about a log |

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
