//! The samples of a log, and counters of what was read and what was dropped.

use super::names::{SIGNALS, Signal};

/// One row: the values of all signals at one moment; an unknown value is NaN.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// Seconds since the first row.
    pub time: f64,
    /// Seconds since the previous row.
    pub step: f64,
    /// Whether there is a gap between this row and the previous one.
    pub gap: bool,
    pub(super) values: [f64; SIGNALS.len()],
}

impl Sample {
    /// A signal's value, in SI.
    pub fn get(&self, signal: Signal) -> f64 {
        self.values[signal as usize]
    }

    /// Makes a sample from the known values; all other signals are unknown.
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

/// A period without rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Start of the gap, seconds since the first row.
    pub from: f64,
    /// Duration of the gap, s; NaN if the clock was set back.
    pub long: f64,
}

/// An error in a cell: why its row was dropped, or how its reading was corrected.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// The line of the file, from 1.
    pub line: u64,
    /// The column, from 1.
    pub column: usize,
    /// Heading of the column.
    pub name: String,
    /// The text found.
    pub found: String,
    /// The expected content.
    pub expected: &'static str,
    /// Whether the row was dropped because of this error.
    pub dropped: bool,
}

/// A further session in the same file, with its own headings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// Line number of the headings, from 1.
    pub line: u64,
    /// Whether the headings equal those of the previous session.
    pub same: bool,
    /// Whether the session has a coolant column; without it, its rows cannot be used.
    pub coolant: bool,
    /// Another cell separator than that of the file, which the headings use; then its rows cannot be used either.
    pub separator: Option<char>,
}

/// Statistics of a column's readings.
#[derive(Clone, Copy, Debug, Default)]
pub struct Seen {
    /// Number of plausible readings.
    pub readings: u64,
    /// Number of impossible readings.
    pub impossible: u64,
    /// Minimum, in SI.
    pub least: f64,
    /// Maximum, in SI.
    pub most: f64,
}

/// Counters of what was read and what was dropped.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// Rows used.
    pub rows_read: u64,
    /// Rows not used.
    pub rows_dropped: u64,
    /// Rows not used because their time was before that of the previous row.
    pub backwards: u64,
    /// Rows not used because their time was far ahead of that of the rows before and after them; or a few rows at the start or
    /// at the end of the log whose time is days apart from that of the rest.
    pub ahead: u64,
    /// The first errors.
    pub mistakes: Vec<Mistake>,
    /// Cells whose unit differs from that of their column.
    pub mixed_units: u64,
    /// Rows with the same time stamp as the previous row.
    pub repeated_stamps: u64,
    /// Coolant readings rejected as physically impossible, as from a disconnected sensor.
    pub dropouts: u64,
    /// Rows in which the coolant and most other readings are zero, written before the tool was connected to the
    /// vehicle; they are not used as readings.
    pub placeholders: u64,
    /// Coolant readings above 135, in the unit of their column.
    pub over_135: u64,
    /// The first gaps.
    pub gaps: Vec<Gap>,
    /// Number of gaps.
    pub gap_count: u64,
    /// Total duration of the gaps, s.
    pub gap_time: f64,
    /// Number of clock set-backs.
    pub restarts: u64,
    /// Sessions after the first.
    pub sessions: Vec<Session>,
    /// Time from the first row to the last, s.
    pub duration: f64,
    /// Statistics of each signal's readings.
    pub seen: [Seen; SIGNALS.len()],
}
