//! What must be borne in mind about an answer: a key and the figures that belong to it. The words are made where answers are told.

use super::log::{Guess, Mistake, Session, Signal};
use crate::input::Input;

/// What must be borne in mind. Figures are in SI; the comment of a variant names them in order.
#[expect(missing_docs, reason = "the comment of a variant names its figures")]
#[derive(Clone, Debug, PartialEq)]
pub enum Caution {
    /// The oil is colder than its coldest viscosity point: where it is, and that point.
    OilBelowData { at: f64, coldest: f64 },
    /// The viscosity is extrapolated: where the oil is, and the range of its data.
    OilOutsideData { at: f64, from: f64, to: f64 },
    /// The oil is hotter than drives of this kind are kept.
    OilHot { at: f64, limit: f64 },
    /// The belt slips by this fraction.
    BeltSlips { fraction: f64 },
    /// The engine is off.
    EngineOff,
    /// The pressure does not keep the fan turning.
    FanStalled,
    /// The pump's inlet is starved, or nearly so.
    InletStarved,
    /// So thick an oil may keep a vane pump's vanes in.
    VanesMayStick,
    /// So thin an oil is below what pump makers allow.
    OilThin { recommended: f64 },
    /// The pressure at the motor outlet is above what common shaft seals hold.
    SealPressure { limit: f64 },
    /// Inputs that the machine file leaves out, and that matter here.
    LeftOut { inputs: Vec<Input> },
    /// Two limits meet here: the change for 1 % less viscosity, and for 1 % more.
    TwoLimitsMeet { thinner: f64, thicker: f64 },
    /// A field that was given and changes nothing, by its key.
    NoEffect { field: &'static str },
    /// About a log.
    Log(LogCaution),
    /// A caution about something other than what was asked: the other side of a comparison, the old oil, the log after.
    Of { whose: Whose, caution: Box<Caution> },
}

/// What must be borne in mind about a log.
#[expect(missing_docs, reason = "the comment of a variant names its figures")]
#[derive(Clone, Debug, PartialEq)]
pub enum LogCaution {
    /// A column that is blank throughout: where it stands, and its heading.
    BlankColumn { column: usize, name: String },
    /// A column that may carry a signal too, and was not used: where it stands, its heading, the signal.
    PassedOver {
        column: usize,
        name: String,
        signal: Signal,
    },
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
    /// No unit is stated for the coolant; °F were taken, for °C it could not be.
    FahrenheitTaken,
    /// What of the layout was guessed.
    Guessed(Guess),
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
    /// The simulation ends before the log: when, and why.
    SimulationEnds { at: f64, why: String },
    /// Ambient temperature is neither logged nor stated.
    NoAmbient,
    /// Where a coolant begins to boil is known as a band, and the sensor reads where it is.
    BoilingIsABand,
}

impl LogCaution {
    fn key(&self) -> &'static str {
        match self {
            Self::BlankColumn { .. } => "blank_column",
            Self::PassedOver { .. } => "column_passed_over",
            Self::Cell(_) => "log_cell",
            Self::MoreCells { .. } => "more_log_cells",
            Self::ShortLog { .. } => "short_log",
            Self::Dropouts { .. } => "coolant_dropouts",
            Self::ClockSetBack => "clock_set_back",
            Self::FahrenheitTaken => "fahrenheit_taken",
            Self::Guessed(_) => "guessed",
            Self::Session(_) => "further_session",
            Self::RowsOfZeros { .. } => "rows_of_zeros",
            Self::RowsAhead { .. } => "rows_ahead",
            Self::Impossible { .. } => "impossible_readings",
            Self::ReadingStill { .. } => "reading_still",
            Self::IntakeAir { .. } => "intake_air",
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

/// What a caution is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// The case that this one is compared with.
    Baseline,
    /// The oil that is in the machine.
    OldOil,
    /// The log after the repair.
    LogAfter,
}

impl Caution {
    /// Its key for a program.
    pub fn key(&self) -> &'static str {
        match self {
            Self::OilBelowData { .. } => "oil_below_data",
            Self::OilOutsideData { .. } => "oil_outside_data",
            Self::OilHot { .. } => "oil_hot",
            Self::BeltSlips { .. } => "belt_slips",
            Self::EngineOff => "engine_off",
            Self::FanStalled => "fan_stalled",
            Self::InletStarved => "inlet_starved",
            Self::VanesMayStick => "vanes_may_stick",
            Self::OilThin { .. } => "oil_thin",
            Self::SealPressure { .. } => "seal_pressure",
            Self::LeftOut { .. } => "left_out",
            Self::TwoLimitsMeet { .. } => "two_limits_meet",
            Self::NoEffect { .. } => "no_effect",
            Self::Log(caution) => caution.key(),
            Self::Of { caution, .. } => caution.key(),
        }
    }

    /// The same about something else.
    pub fn of(self, whose: Whose) -> Self {
        Self::Of {
            whose,
            caution: Box::new(self),
        }
    }
}
