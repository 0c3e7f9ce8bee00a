//! Logs of a scan tool: rows of readings in any common format, read as a stream.
//!
//! | file | task |
//! |---|---|
//! | `source.rs` | turns bytes into text: decompresses and decodes them; reports files that are not text |
//! | `rows.rs` | the tokenizer: splits text into rows of cells |
//! | `names/` with `headings.csv` | maps headings in several languages to signals and units |
//! | `cell.rs` | parses a cell as a number or a time |
//! | `clock.rs` | reads the time column |
//! | `shape/` | detects the shape of a file: one signal per column, one reading per row, or pairs of name and reading |
//! | `choices.rs` | the user's settings, and the guesses made where settings are missing |
//! | `marks.rs` | finds whether points and commas are decimal marks or separate thousands |
//! | `columns.rs` | assigns columns to signals, with their units |
//! | `timing.rs` | finds the time column |
//! | `layout.rs` | detects shape, separator, headings, columns and time from the beginning of a file |
//! | `stream.rs` | reads row by row; counts and lists what is dropped |
//! | `stream/lane.rs` | converts cells to readings, and checks their plausibility |
//! | `stream/timeline.rs` | computes the time of each row, across clock restarts, set-backs, jumps and gaps |
//! | `stream/sessions.rs` | further sessions in the same file |
//! | `tally.rs` | the samples, and counters of what was read and dropped |
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
