//! Cautions about the quality of a log.

use crate::model::log::LogCaution;
use crate::model::log::{Column, SIGNALS, Signal};
use crate::vary::log::Digest;

/// A coolant reading that does not change for longer than this, s, is reported.
const STILL: f64 = 1200.0;
/// Number of unreadable cells that are reported individually.
const NAMED: usize = 5;
/// A log with fewer rows or a shorter duration (s) than this counts as short.
const SHORT: (u64, f64) = (30, 120.0);
/// If the intake air temperature varies by more than this, K, it cannot be close to ambient temperature.
const VARIES: f64 = 30.0;

/// Cautions about the quality of a log.
pub(super) fn cautions(log: &Digest) -> Vec<LogCaution> {
    let mut all = blank(log);
    all.extend(of_rows(log));
    all.extend(of_readings(log));
    all
}

/// Cautions about columns without any reading.
fn blank(log: &Digest) -> Vec<LogCaution> {
    let unread = |c: &&Column| {
        let seen = log.tally.seen[c.signal as usize];
        seen.readings + seen.impossible == 0
    };
    let blank = log.layout.columns.iter().filter(unread);
    let caution = |c: &Column| LogCaution::BlankColumn {
        column: c.number,
        name: c.name.clone(),
    };
    blank.map(caution).collect()
}

/// Cautions about unusable rows, too few rows, a clock set back, and new headings within the file.
fn of_rows(log: &Digest) -> Vec<LogCaution> {
    let tally = &log.tally;
    let cells = tally.mistakes.iter().take(NAMED).cloned();
    let mut all: Vec<LogCaution> = cells.map(LogCaution::Cell).collect();
    let sessions = tally.sessions.iter().cloned().map(LogCaution::Session);
    let mut add = |when: bool, caution: LogCaution| {
        if when {
            all.push(caution);
        }
    };
    let more = LogCaution::MoreCells {
        named: NAMED,
        cells: tally.rows_dropped + tally.mixed_units,
        listed: tally.mistakes.len(),
    };
    add(tally.rows_dropped + tally.mixed_units > NAMED as u64, more);
    let (rows, duration) = (tally.rows_read, tally.duration);
    let short = rows < SHORT.0 || duration < SHORT.1;
    add(short, LogCaution::ShortLog { rows, duration });
    let rows = tally.placeholders;
    add(rows > 0, LogCaution::RowsOfZeros { rows });
    let rows = tally.ahead;
    add(rows > 0, LogCaution::RowsAhead { rows });
    add(tally.restarts > 0, LogCaution::ClockSetBack);
    all.extend(sessions);
    all
}

/// Cautions about impossible or implausible readings.
fn of_readings(log: &Digest) -> Vec<LogCaution> {
    let tally = &log.tally;
    let mut all = Vec::new();
    let mut add = |when: bool, caution: LogCaution| {
        if when {
            all.push(caution);
        }
    };
    let readings = tally.dropouts;
    add(readings > 0, LogCaution::Dropouts { readings });
    for signal in SIGNALS.into_iter().filter(|s| *s != Signal::Coolant) {
        let readings = tally.seen[signal as usize].impossible;
        add(readings > 0, LogCaution::Impossible { signal, readings });
    }
    let still = log.exposure.unmoved;
    let (at, duration, from) = (still.reading, still.long, still.from);
    let sticks = LogCaution::ReadingStill { at, duration, from };
    add(duration > STILL, sticks);
    let intake = tally.seen[Signal::IntakeAir as usize];
    let (low, high) = (intake.least, intake.most);
    let varies = intake.readings > 0 && high - low > VARIES;
    add(varies, LogCaution::IntakeAir { low, high });
    all
}
