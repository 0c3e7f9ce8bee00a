//! Reads the time column: numbers with their unit, or clock times with or without a date.

use super::cell::{self, Marks};
use super::choices::{Guess, Guessed};
use super::layout::{Cells, Head};
use super::names::{self, Unit};

/// How the times of the rows are given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Time {
    /// A number in the column (from 0), in units of this many seconds.
    Number(usize, f64),
    /// A clock time in the column (from 0); the flag states whether two groups of digits are minutes and seconds.
    Clock(usize, bool),
    /// Rows at a constant interval, s.
    Every(f64),
}

/// The scale of a time column, as given by the user.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TimeUnit {
    /// Numbers in units of this many seconds.
    Number(f64),
    /// Hours and minutes.
    HoursMinutes,
    /// Minutes and seconds.
    MinutesSeconds,
}

impl TimeUnit {
    /// All accepted values, as the user writes them.
    pub const WORDS: &[(&str, Self)] = &[
        ("s", Self::Number(1.0)),
        ("ms", Self::Number(1e-3)),
        ("us", Self::Number(1e-6)),
        ("ns", Self::Number(1e-9)),
        ("min", Self::Number(60.0)),
        ("h", Self::Number(3600.0)),
        ("days", Self::Number(86_400.0)),
        ("hh:mm", Self::HoursMinutes),
        ("mm:ss", Self::MinutesSeconds),
    ];

    /// Parses a value that the user wrote.
    pub fn find(word: &str) -> Option<Self> {
        let word = word.trim().to_lowercase().replace('µ', "u");
        Self::WORDS.iter().find(|w| w.0 == word).map(|w| w.1)
    }
}

/// How the time of a row is computed from its time column.
pub(super) struct TimeAxis {
    pub time: Time,
    /// Description of the time format.
    pub clock: &'static str,
    /// Usual interval between rows, s.
    pub usual_step: f64,
    /// The guess made, if any.
    pub guess: Option<Guess>,
}

/// Clock times of two groups may be elapsed minutes and seconds if the first is below this many minutes; hours and
/// minutes of the day may start anywhere.
const BEGINS: f64 = 5.0;

/// Rows are seldom further apart than this, s. If numbers without a unit are further apart than this when read as
/// seconds, their unit is taken to be smaller than a second.
const APART: f64 = 20.0;

/// If rows are further apart than this in a unit that is not stated, the unit is more likely to be the millisecond than the
/// minute *(engineering assumption)*.
const MINUTES: f64 = 2.0;

/// Maximum sustained rise of coolant temperature, K/s *(engineering assumption)*; it shows whether times are in seconds
/// or in milliseconds.
const FASTEST: f64 = 2.0;

/// Interprets the time in a column. `rise` is the change of coolant temperature over the inspected rows, K.
pub(super) fn told(
    at: usize,
    head: &Head,
    rows: &[Cells],
    marks: Marks,
    said: Option<TimeUnit>,
    rise: f64,
) -> TimeAxis {
    let texts: Vec<&[u8]> = rows
        .iter()
        .filter_map(|r| r.get(at))
        .map(|c| c.trim_ascii())
        .filter(|c| !c.is_empty())
        .collect();
    let is_clock = |t: &&&[u8]| cell::stamp(t, true).is_some();
    if texts.iter().filter(is_clock).count() * 2 > texts.len() {
        return of_clock(at, &texts, said);
    }
    let times: Vec<f64> = texts
        .iter()
        .filter_map(|t| cell::number(t, marks).map(|n| n.0))
        .collect();
    let (factor, clock, other) = match said {
        Some(TimeUnit::Number(factor)) => (factor, "a number, in the stated unit", ""),
        _ => of_number(head, unit_behind(&texts, marks), &times, rise),
    };
    let guess = other.split_once(", ").map(|(other, unit)| Guess {
        what: Guessed::TimeScale,
        taken: clock.into(),
        other: other.into(),
        field: Some("time_unit"),
        setting: unit.into(),
    });
    TimeAxis {
        time: Time::Number(at, factor),
        clock,
        usual_step: usual_step(&times) * factor,
        guess,
    }
}

/// The unit behind the numbers of a time column, s.
fn unit_behind(texts: &[&[u8]], marks: Marks) -> Option<f64> {
    let units = texts.iter().filter_map(|t| cell::number(t, marks));
    let mut units = units.filter_map(|(_, unit)| names::scale(Unit::Time, &cell::text(unit)));
    units.next().map(|s| s.0)
}

/// Interprets times given as plain numbers: returns the factor that converts them to seconds, a description, and the
/// alternative if the unit is a guess.
fn of_number(
    head: &Head,
    behind: Option<f64>,
    times: &[f64],
    rise: f64,
) -> (f64, &'static str, &'static str) {
    let unit = if head.unit.is_empty() {
        &head.bare
    } else {
        &head.unit
    };
    let words = head.name.to_lowercase();
    let said = behind.or(names::scale(Unit::Time, unit).map(|s| s.0));
    let said = said.or_else(|| {
        let ends = |word: &str| {
            words
                .split(|c: char| !c.is_alphanumeric())
                .any(|w| w == word)
        };
        let scales = [("milli", "ms", 1e-3), ("micro", "us", 1e-6)];
        scales
            .iter()
            .find(|(long, short, _)| words.contains(long) || ends(short) || words.ends_with(short))
            .map(|s| s.2)
    });
    let first = times.first().copied().unwrap_or(0.0);
    let last = times.last().copied().unwrap_or(0.0);
    let step = usual_step(times);
    if let Some(factor) = said {
        return (factor, "a number with its unit", "");
    }
    // The first rows may have the time of a clock that was not set yet.
    let middle = times.get(times.len() / 2).copied().unwrap_or(0.0);
    match middle {
        f if f > 1e17 => return (1e-9, "nanoseconds since 1970", ""),
        f if f > 1e14 => return (1e-6, "microseconds since 1970", ""),
        f if f > 1e11 => return (1e-3, "milliseconds since 1970", ""),
        f if (1e9..1e10).contains(&f) => return (1.0, "seconds since 1970", ""),
        f if (20_000.0..80_000.0).contains(&f) && step < 0.01 => {
            return (86_400.0, "days, as a spreadsheet stores dates", "");
        }
        _ => {}
    }
    // Whether the rise of the coolant temperature is physically possible if the unit of time is `factor` seconds; if
    // not, the unit must be longer.
    let possible = |factor: f64| rise < 5.0 || rise / ((last - first).abs() * factor) < FASTEST;
    match step {
        s if s >= 1000.0 * APART && possible(1e-6) => (
            1e-6,
            "a number, assumed to be microseconds",
            "milliseconds, ms",
        ),
        s if s >= APART && possible(1e-3) => {
            (1e-3, "a number, assumed to be milliseconds", "seconds, s")
        }
        s if last <= 1.0 && s < 1e-4 && last - first < 1.0 && times.len() > 10 => {
            (86_400.0, "a number, assumed to be days", "seconds, s")
        }
        // Rows 10 units apart are more often 10 ms than 10 min apart.
        s if s > MINUTES => (1.0, "a number, assumed to be seconds", "milliseconds, ms"),
        _ => (1.0, "a number, assumed to be seconds", "minutes, min"),
    }
}

/// Interprets clock times: decides whether two groups of digits are hours and minutes, or minutes and seconds.
fn of_clock(at: usize, texts: &[&[u8]], said: Option<TimeUnit>) -> TimeAxis {
    let read = |minutes_first: bool| -> Vec<f64> {
        let stamps = texts.iter().filter_map(|t| cell::stamp(t, minutes_first));
        stamps.map(|s| s.seconds).collect()
    };
    let two = |t: &&&[u8]| {
        let alike = [false, true].map(|m| cell::stamp(t, m).map(|s| s.seconds));
        alike[0] != alike[1]
    };
    let open = texts.iter().filter(two).count() * 2 > texts.len();
    let as_minutes = read(true);
    let past_day = texts
        .iter()
        .any(|t| cell::stamp(t, false).is_none() && cell::stamp(t, true).is_some());
    let begins = as_minutes.first().copied().unwrap_or(0.0) < 60.0 * BEGINS;
    // Time stamps in whole minutes repeat from row to row; time stamps in whole seconds differ in each row.
    let repeats = as_minutes
        .windows(2)
        .filter(|w| w[0] >= w[1] && w[0] - w[1] < 1.0)
        .count();
    let sparse = repeats * 2 <= as_minutes.len();
    let minutes_first = match said {
        Some(TimeUnit::HoursMinutes) => false,
        Some(TimeUnit::MinutesSeconds) => true,
        _ => open && (past_day || begins && sparse),
    };
    let dated = texts
        .iter()
        .find_map(|t| cell::stamp(t, minutes_first))
        .is_some_and(|s| !s.before.trim_ascii().is_empty());
    let clock = match (open, minutes_first, dated) {
        (_, _, true) => "date and time",
        (true, true, _) => "minutes and seconds",
        (true, false, _) => "hours and minutes",
        _ => "time of day",
    };
    let guess = (open && !dated && !past_day && said.is_none()).then(|| {
        let (other, word) = match minutes_first {
            true => ("hours and minutes", "hh:mm"),
            false => ("minutes and seconds", "mm:ss"),
        };
        Guess {
            what: Guessed::TimeScale,
            taken: clock.into(),
            other: other.into(),
            field: Some("time_unit"),
            setting: word.into(),
        }
    });
    TimeAxis {
        time: Time::Clock(at, minutes_first),
        clock,
        usual_step: usual_step(&read(minutes_first)),
        guess,
    }
}

/// The median of the positive steps between consecutive times.
pub(super) fn usual_step(times: &[f64]) -> f64 {
    let mut steps: Vec<f64> = times
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|s| *s > 0.0)
        .collect();
    steps.sort_by(f64::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(1.0)
}

/// The columns that may hold times, whatever their headings: those whose time stamps or numbers never decrease and
/// often increase.
pub(super) fn rising(heads: &[Head], rows: &[Cells]) -> Vec<usize> {
    let rises = |at: usize| {
        let cells = rows
            .iter()
            .filter_map(|r| r.get(at))
            .map(|c| c.trim_ascii());
        let cells: Vec<&[u8]> = cells.filter(|c| !c.is_empty()).collect();
        let read = |c: &&[u8]| match cell::stamp(c, false) {
            Some(stamp) => Some(stamp.seconds),
            None => cell::number(c, Marks::Decimal)
                .filter(|n| n.1.is_empty())
                .map(|n| n.0),
        };
        let times: Vec<f64> = cells.iter().filter_map(read).collect();
        let pairs = || times.windows(2);
        cells.len() >= 3
            && times.len() * 10 >= cells.len() * 9
            && pairs().all(|w| w[1] >= w[0])
            && pairs().filter(|w| w[1] > w[0]).count() * 12 >= times.len()
    };
    (0..heads.len()).filter(|at| rises(*at)).collect()
}

/// Converts clock times, with or without a date, to seconds.
#[derive(Clone, Default)]
pub(super) struct Clock {
    /// The last date as written; `last` holds its day number, first if the day is written first, then if the month is.
    written: Vec<u8>,
    last: Option<[i64; 2]>,
    day: i64,
    /// Period after which the clock restarts, if there is no date.
    pub period: Option<f64>,
    /// Total time added for these restarts, s.
    pub turns: f64,
}

impl Clock {
    /// Converts a clock time to seconds since an arbitrary origin. `date` is the cell with the date, if it is in a
    /// column of its own.
    pub fn read(&mut self, cell: &[u8], date: Option<&[u8]>, minutes_first: bool) -> Option<f64> {
        let stamp = cell::stamp(cell, minutes_first)?;
        let texts = match date {
            Some(date) => [date, b"".as_slice()],
            None => [stamp.before, stamp.after],
        };
        if texts[0].trim_ascii().is_empty() {
            self.period = Some(stamp.period).filter(|p| p.is_finite());
            return Some(stamp.seconds);
        }
        let same = self
            .written
            .strip_prefix(texts[0])
            .is_some_and(|rest| rest == texts[1]);
        if !same {
            let days = cell::day(texts)?;
            if let Some(last) = self.last {
                let [a, b] = [days[0] - last[0], days[1] - last[1]];
                // Day and month are taken in the order that gives the smaller step forward.
                self.day += match (a >= 0, b >= 0) {
                    (true, true) => a.min(b),
                    (true, false) => a,
                    (false, true) => b,
                    (false, false) => a.max(b),
                };
            }
            self.last = Some(days);
            self.written.clear();
            self.written.extend_from_slice(texts[0]);
            self.written.extend_from_slice(texts[1]);
        }
        Some(self.day as f64 * 86_400.0 + stamp.seconds)
    }
}
