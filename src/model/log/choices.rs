//! The user's settings for reading a log, and the guesses made where settings are missing.

use super::clock::TimeUnit;
use super::names::Signal;

/// The user's settings for the columns of a log.
#[derive(Clone, Debug, Default)]
pub struct Choices {
    /// Column assignments, as the user wrote them: `coolant=ECT`, `coolant=3`, `coolant=ECT [°F]`, `intake-air=none`.
    pub columns: Vec<String>,
    /// Seconds between rows, for a log without a time column.
    pub every: Option<f64>,
    /// The unit of the time column.
    pub time_unit: Option<TimeUnit>,
    /// The cell separator.
    pub delimiter: Option<u8>,
    /// The decimal mark, point or comma; the other of the two separates thousands.
    pub decimal: Option<u8>,
    /// Whether temperatures without a unit are in degrees Fahrenheit.
    pub fahrenheit: bool,
}

impl Choices {
    /// Whether the user gave the unit of a signal, as in `coolant=ECT [°F]`.
    pub(super) fn say_unit(&self, signal: Signal) -> bool {
        let said = self.columns.iter().filter_map(|c| c.split_once('='));
        let mut said = said.filter(|(key, _)| Signal::find(key.trim()) == Some(signal));
        said.any(|(_, name)| name.trim_end().ends_with(']'))
    }
}

/// What a guess is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guessed {
    /// The unit of the time column.
    TimeScale,
    /// Which column has the time.
    TimeColumn,
    /// Which column has a signal.
    Column(Signal),
    /// The cell separator.
    Delimiter,
    /// The meaning of points and commas in the column of a signal.
    Marks(Signal),
    /// The unit of a signal.
    Unit(Signal),
    /// The alignment of headings and cells in rows that have one cell more than there are headings.
    Shift,
}

/// A guess: the value used, the alternative, and the setting that selects it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Guess {
    /// What the guess is about.
    pub what: Guessed,
    /// The value used.
    pub taken: String,
    /// The alternative.
    pub other: String,
    /// The key of the field that selects the alternative; `None` if only a change to the file can select it.
    pub field: Option<&'static str>,
    /// The value of that field, or the required change to the file.
    pub setting: String,
}
