//! What must be borne in mind about a log: a key and the figures that belong to it.

use super::{Mistake, Session, Signal};
use crate::model::Caution;

/// What must be borne in mind about a log.
#[expect(missing_docs, reason = "the comment of a variant names its figures")]
#[derive(Clone, Debug, PartialEq)]
pub enum LogCaution {
    /// A column that is blank throughout: where it stands, and its heading.
    BlankColumn { column: usize, name: String },
    /// A cell that could not be read as it stands.
    Cell(Mistake),
    /// There are more of these: how many are named, how many there are, how many the answer's JSON lists.
    MoreCells {
        named: usize,
        cells: u64,
        listed: usize,
    },
    /// The log is short: rows, s.
    ShortLog { rows: u64, duration: f64 },
    /// Coolant readings that no coolant can have.
    Dropouts { readings: u64 },
    /// The clock was set back within the log.
    ClockSetBack,
    /// A further session under headings of its own.
    Session(Session),
    /// Rows with nothing but zeros were passed over.
    RowsOfZeros { rows: u64 },
    /// Rows whose time alone lay far ahead were dropped.
    RowsAhead { rows: u64 },
    /// Readings of a signal that it cannot have were passed over.
    Impossible { signal: Signal, readings: u64 },
    /// The coolant reading stood still with the engine running: where, for how long, and since when.
    ReadingStill { at: f64, duration: f64, from: f64 },
    /// Intake air is no ambient temperature: its range.
    IntakeAir { low: f64, high: f64 },
    /// A field that was given acts on a single log, not on a table of several: its key.
    OneLogOnly { field: &'static str },
    /// The simulation ends before the log: when, and why.
    SimulationEnds { at: f64, why: String },
    /// Ambient temperature is neither logged nor stated.
    NoAmbient,
    /// Where a coolant begins to boil is known as a band, and the sensor reads where it is.
    BoilingIsABand,
}

impl LogCaution {
    /// Its key for a program.
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
