//! What is read and what is counted on the way.

use super::names::{SIGNALS, Signal};

/// One row: what is known at a moment. A signal that is not known is not a number.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// Seconds since the first row.
    pub time: f64,
    /// Seconds since the row before.
    pub step: f64,
    /// Whether a gap lies between this row and the one before.
    pub gap: bool,
    pub(super) values: [f64; SIGNALS.len()],
}

impl Sample {
    /// A signal's value, in SI.
    pub fn get(&self, signal: Signal) -> f64 {
        self.values[signal as usize]
    }

    /// A sample of given signals; the others are not known.
    pub fn of(time: f64, step: f64, gap: bool, known: &[(Signal, f64)]) -> Self {
        let mut values = [f64::NAN; SIGNALS.len()];
        for (signal, value) in known {
            values[*signal as usize] = *value;
        }
        Self {
            time,
            step,
            gap,
            values,
        }
    }
}

/// A stretch without rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// When it begins, seconds since the first row.
    pub from: f64,
    /// How long it is, s; not a number where the clock was set back.
    pub long: f64,
}

/// Why a row was dropped, or how a reading had to be mended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// The line of the file, from 1.
    pub line: u64,
    /// The column, from 1.
    pub column: usize,
    /// Its heading.
    pub name: String,
    /// What stands there.
    pub found: String,
    /// What was expected.
    pub expected: &'static str,
    /// Whether the row was dropped for it.
    pub dropped: bool,
}

/// A further session in the same file, under headings of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// The line of its headings, from 1.
    pub line: u64,
    /// Whether its headings are those of the session before.
    pub same: bool,
    /// Whether one of its columns is the coolant's; else its rows tell nothing.
    pub coolant: bool,
}

/// What a column's readings were.
#[derive(Clone, Copy, Debug, Default)]
pub struct Seen {
    /// How many there were.
    pub readings: u64,
    /// How many there were beside that the signal cannot be.
    pub impossible: u64,
    /// The least, in SI.
    pub least: f64,
    /// The greatest, in SI.
    pub most: f64,
}

/// What was counted on the way.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// Rows that were used.
    pub rows_read: u64,
    /// Rows that were not.
    pub rows_dropped: u64,
    /// Of these, rows whose time lay behind the row before.
    pub backwards: u64,
    /// Of these, rows whose time alone lay far ahead of the rows around them.
    pub ahead: u64,
    /// The first mistakes.
    pub mistakes: Vec<Mistake>,
    /// Cells in another unit than their column's.
    pub mixed_units: u64,
    /// Rows with the stamp of the row before.
    pub repeated_stamps: u64,
    /// Coolant readings that no coolant has: the sensor was not there.
    pub dropouts: u64,
    /// Rows with nothing but zeros, as before a link is up: no readings.
    pub placeholders: u64,
    /// Coolant readings above 135 in the column's unit.
    pub over_135: u64,
    /// The first gaps.
    pub gaps: Vec<Gap>,
    /// How many gaps there were.
    pub gap_count: u64,
    /// How long they were together, s.
    pub gap_time: f64,
    /// Times that the clock was set back.
    pub restarts: u64,
    /// Sessions after the first.
    pub sessions: Vec<Session>,
    /// From the first row to the last, s.
    pub duration: f64,
    /// What each signal's readings were.
    pub seen: [Seen; SIGNALS.len()],
}
