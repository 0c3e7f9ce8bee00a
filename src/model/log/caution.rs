//! Cautions about a log: a key and the related figures.

use super::{Mistake, Session, Signal};
use crate::model::Caution;

/// A caution about a log.
#[expect(missing_docs, reason = "the comment of a variant names its figures")]
#[derive(Clone, Debug, PartialEq)]
pub enum LogCaution {
    /// A column is completely blank: its position and heading.
    BlankColumn { column: usize, name: String },
    /// A cell could not be read as it is written.
    Cell(Mistake),
    /// More cells could not be read than are listed: number listed, total number, number listed in the JSON answer.
    MoreCells {
        named: usize,
        cells: u64,
        listed: usize,
    },
    /// The log is short: number of rows, and duration in s.
    ShortLog { rows: u64, duration: f64 },
    /// Some coolant readings are physically impossible: their number.
    Dropouts { readings: u64 },
    /// The clock was set back within the log.
    ClockSetBack,
    /// The file contains a further session with its own headings.
    Session(Session),
    /// Rows with zeros in place of readings were skipped: their number.
    RowsOfZeros { rows: u64 },
    /// Rows were dropped because their time was far from that of the rows around them.
    RowsAhead { rows: u64 },
    /// Physically impossible readings of a signal were skipped.
    Impossible { signal: Signal, readings: u64 },
    /// The coolant reading did not change although the engine was running: its value, for how long, and from when.
    ReadingStill { at: f64, duration: f64, from: f64 },
    /// The log has the intake air temperature, which is not the ambient temperature: its range.
    IntakeAir { low: f64, high: f64 },
    /// A field was given that applies only to a single log, not to a table of several logs: its key.
    OneLogOnly { field: &'static str },
    /// The simulation ends before the end of the log: when, and why.
    SimulationEnds { at: f64, why: String },
    /// Ambient temperature is neither logged nor stated.
    NoAmbient,
    /// The boiling point of a coolant is known only within limits, and the sensor measures the temperature only at its
    /// own position.
    BoilingIsABand,
}

impl LogCaution {
    /// Key of the caution in JSON output.
    pub fn key(&self) -> &'static str {
        match self {
            Self::BlankColumn { .. } => "blank_column",
            Self::Cell(_) => "log_cell",
            Self::MoreCells { .. } => "more_log_cells",
            Self::ShortLog { .. } => "short_log",
            Self::Dropouts { .. } => "coolant_dropouts",
            Self::ClockSetBack => "clock_set_back",
            Self::Session(_) => "further_session",
            Self::RowsOfZeros { .. } => "rows_of_zeros",
            Self::RowsAhead { .. } => "rows_ahead",
            Self::Impossible { .. } => "impossible_readings",
            Self::ReadingStill { .. } => "reading_still",
            Self::IntakeAir { .. } => "intake_air",
            Self::OneLogOnly { .. } => "no_effect",
            Self::SimulationEnds { .. } => "simulation_ends",
            Self::NoAmbient => "no_ambient",
            Self::BoilingIsABand => "boiling_is_a_band",
        }
    }
}

impl From<LogCaution> for Caution {
    fn from(caution: LogCaution) -> Self {
        Self::Log(caution)
    }
}
