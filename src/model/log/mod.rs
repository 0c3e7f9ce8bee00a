//! Logs of a scan tool: comma-separated values of any common shape, read as a stream.
//!
//! | file | what it does |
//! |---|---|
//! | `names.rs` | which heading is which signal, and its unit |
//! | `cell.rs` | a cell as a number or a time |
//! | `layout.rs` | from the first stretch of a file: encoding, separator, decimal mark, heads, units, clock |
//! | `stream.rs` | row after row; what is dropped is counted and named |

mod cell;
mod layout;
mod names;
mod stream;

pub use layout::{Choices, Column, Layout};
pub use names::{SIGNALS, Signal};
pub use stream::{Gap, LogReader, Mistake, Sample, Seen, Tally};
