//! What the asker says of a log, and what of it was guessed.

use super::clock::TimeUnit;
use super::names::Signal;

/// What the asker says of a log's columns.
#[derive(Clone, Debug, Default)]
pub struct Choices {
    /// Which column is which, as typed: `coolant=ECT`, `coolant=3`, `coolant=ECT [°F]`, `intake-air=none`.
    pub columns: Vec<String>,
    /// Seconds between rows, for a log without a column of time.
    pub every: Option<f64>,
    /// How the column of time is told.
    pub time_unit: Option<TimeUnit>,
    /// What stands between cells.
    pub delimiter: Option<u8>,
    /// Which sign marks decimals: a point or a comma; the other parts thousands.
    pub decimal: Option<u8>,
    /// Whether temperatures without a unit are in degrees Fahrenheit.
    pub fahrenheit: bool,
}

impl Choices {
    /// Whether the unit of a signal is said.
    pub(super) fn say_unit(&self, signal: Signal) -> bool {
        let said = self.columns.iter().filter_map(|c| c.split_once('='));
        let mut said = said.filter(|(key, _)| Signal::find(key.trim()) == Some(signal));
        said.any(|(_, name)| name.trim_end().ends_with(']'))
    }
}

/// What of a log was guessed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guessed {
    /// What a unit of the time column is.
    TimeScale,
    /// Which column tells the time.
    TimeColumn,
    /// Which column tells a signal.
    Column(Signal),
    /// What stands between cells.
    Delimiter,
    /// What points and commas in the column of a signal are.
    Marks(Signal),
    /// The unit of a signal.
    Unit(Signal),
    /// Under which headings the cells of rows stand that have one more than there are headings.
    Shift,
}

/// A guess: what was taken, what it may be otherwise, and what settles it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Guess {
    /// What was guessed.
    pub what: Guessed,
    /// What was taken.
    pub taken: String,
    /// What it may be otherwise.
    pub other: String,
    /// The field that says the other, by its key; none where only the file itself can.
    pub field: Option<&'static str>,
    /// What that field then holds, or how the file must be changed.
    pub setting: String,
}
