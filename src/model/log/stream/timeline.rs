//! Computes the time of each row, across clock restarts, set-backs, jumps and gaps.

use super::super::cell;
use super::super::choices::Guessed;
use super::super::clock::{Clock, Time};
use super::super::layout::Layout;
use super::super::marks;
use super::super::names::{self, Unit};
use super::super::rows::Record;
use super::super::tally::Gap;
use super::{KEPT, LogReader, Wrong};
use std::io::Read;

/// Two rows have a gap between them if they are further apart than this, s, and than ten usual intervals.
pub(super) const GAP: f64 = 20.0;

/// A few rows at the start or at the end of a log that are further apart from the rest than this, s, have a wrong time: a
/// clock that was not set yet, or a broken stamp.
const DAY: f64 = 86_400.0;

const FAR: &str = "a time not far from that of the rows around";

/// Number of consecutive rows with times before the last valid one that confirm a clock set-back; also the number of
/// rows inspected before a jump forward is accepted.
const RESTART: usize = 5;

impl<R: Read> LogReader<R> {
    /// The time column, and the time in the current row, s.
    pub(super) fn time(&mut self, tells: Option<usize>) -> Result<(usize, f64), Option<Wrong>> {
        let at = match self.layout.time {
            Time::Every(step) => {
                let rows = self.tally.rows_read + self.tally.rows_dropped;
                return Ok((0, step * rows as f64));
            }
            Time::Number(at, _) | Time::Clock(at, _) => at,
        };
        if self.layout.time_open
            && let Time::Number(_, factor) = self.layout.time
        {
            let record = self.rows.record();
            let cell = self.layout.shape.cell(record, at, tells).trim_ascii();
            let (marks, last) = (self.layout.time_marks, self.told / factor);
            if let Some((marks, guess)) = marks::settled(cell, marks, last, false) {
                let mut guess = guess.then(|| marks::late_guess(Guessed::TimeScale, cell, marks));
                for words in guess.iter_mut().flat_map(|g| [&mut g.taken, &mut g.other]) {
                    words.insert_str(0, "a number in which ");
                }
                (self.layout.time_marks, self.layout.time_open) = (marks, false);
                self.layout.guesses.extend(guess);
            }
        }
        let told = told_by(&self.layout, &mut self.clock, self.rows.record(), tells);
        Ok((at, told.ok_or(Some((at, "a time")))?))
    }

    /// Converts the time `told` of a row to the time since the first row and the time since the previous row, s, and
    /// returns whether there is a gap before this row.
    pub(super) fn advance(
        &mut self,
        column: usize,
        told: f64,
    ) -> Result<(f64, f64, bool), Option<Wrong>> {
        if !self.started {
            if self.starts_apart(told) {
                self.tally.ahead += 1;
                return Err(Some((column, FAR)));
            }
            self.started = true;
            self.session = false;
            self.told = told;
            self.shift = -told;
            return Ok((0.0, 0.0, false));
        }
        let mut told = told;
        if let Some(period) = self.clock.period
            && self.told - (told + self.clock.turns) > 0.5 * period
        {
            // The clock has restarted at midnight, or at the full hour.
            self.clock.turns += period;
        }
        told += self.clock.turns;
        let step = told - self.told;
        if step < 0.0 {
            return self.set_back(column, told);
        }
        if step > self.gap_beyond && self.falls_back(told) {
            self.tally.ahead += 1;
            return Err(Some((column, FAR)));
        }
        self.session = false;
        self.behind = (0, f64::NEG_INFINITY);
        let from = self.sample.time;
        self.told = told;
        if step <= 0.0 {
            self.tally.repeated_stamps += 1;
        }
        let gap = step > self.gap_beyond;
        if gap {
            self.note(Gap { from, long: step });
        }
        Ok((told + self.shift, step, gap))
    }

    /// Handles a time before that of the last row: the row is dropped, unless a clock set-back is confirmed.
    fn set_back(&mut self, column: usize, told: f64) -> Result<(f64, f64, bool), Option<Wrong>> {
        let (many, last) = self.behind;
        let ordered = told >= last && told - last <= self.gap_beyond;
        self.behind = (if many > 0 && ordered { many + 1 } else { 1 }, told);
        if self.behind.0 < RESTART && !self.session {
            self.tally.backwards += 1;
            return Err(Some((column, "a time not before that of the previous row")));
        }
        // The time continues from the last valid row, after a gap of unknown length.
        let time = self.sample.time;
        self.behind = (0, f64::NEG_INFINITY);
        self.session = false;
        self.told = told;
        self.shift = time - told;
        self.tally.restarts += 1;
        self.note(Gap {
            from: time,
            long: f64::NAN,
        });
        Ok((time, 0.0, true))
    }

    /// Reads rows ahead, until this many wait.
    fn look_ahead(&mut self, many: usize) {
        if self.ahead.len() >= many || self.broken.is_some() {
            return;
        }
        let current = self.rows.record().clone();
        while self.ahead.len() < many {
            match self.read() {
                Ok(true) => self.ahead.push_back(self.rows.record().clone()),
                Ok(false) => break,
                Err(trouble) => {
                    self.broken = Some(trouble);
                    break;
                }
            }
        }
        self.rows.swap(current);
    }

    /// The times in the rows read ahead, s.
    fn times_ahead(&self) -> Vec<f64> {
        let mut clock = self.clock.clone();
        let mut time = |record: &Record| {
            let tells = self.layout.shape.tells(record, &self.layout.heads);
            let told = told_by(&self.layout, &mut clock, record, tells)?;
            Some(told + clock.turns)
        };
        self.ahead.iter().filter_map(&mut time).collect()
    }

    /// Whether the rows after a jump forward continue from the row before it, so that only the row with the jump is
    /// wrong; or the log ends within a few rows after a jump of days.
    fn falls_back(&mut self, told: f64) -> bool {
        self.look_ahead(RESTART);
        let few = self.ahead.len() < RESTART && self.broken.is_none();
        if few && told - self.told > DAY && self.tally.rows_read > RESTART as u64 {
            return true;
        }
        let goes_on = |t: &f64| *t < told && *t >= self.told && t - self.told <= self.gap_beyond;
        self.times_ahead().iter().any(goes_on)
    }

    /// Whether the first row has a time that is days apart from that of the rows after it.
    fn starts_apart(&mut self, told: f64) -> bool {
        if matches!(self.layout.time, Time::Every(_)) {
            return false;
        }
        self.look_ahead(2 * RESTART);
        let times = self.times_ahead();
        let mut before = told;
        let jump = times.iter().take(RESTART).position(|t| {
            let last = std::mem::replace(&mut before, *t);
            (t - last).abs() > DAY
        });
        let rest = jump.and_then(|at| times.get(at..at + RESTART));
        rest.is_some_and(|rest| rest.windows(2).all(|w| (w[1] - w[0]).abs() <= DAY))
    }

    fn note(&mut self, gap: Gap) {
        self.tally.gap_count += 1;
        if gap.long > 0.0 {
            self.tally.gap_time += gap.long;
        }
        if self.tally.gaps.len() < KEPT {
            self.tally.gaps.push(gap);
        }
    }
}

/// The time given in a row, s; `None` if rows are equally spaced, or the row has no time.
fn told_by(
    layout: &Layout,
    clock: &mut Clock,
    record: &Record,
    tells: Option<usize>,
) -> Option<f64> {
    let cell = |at: usize| layout.shape.cell(record, at, tells).trim_ascii();
    match layout.time {
        Time::Every(_) => None,
        Time::Number(at, factor) => match cell::number(cell(at), layout.time_marks)? {
            (value, []) => Some(value * factor),
            (value, b"s") => Some(value),
            (value, unit) => {
                names::scale(Unit::Time, &cell::text(unit)).map(|(factor, _)| value * factor)
            }
        },
        Time::Clock(at, minutes) => clock.read(cell(at), layout.date.map(cell), minutes),
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::names::Signal;
    use super::super::tests::{coolant, plain};
    use super::*;

    #[test]
    fn clocks_pass_midnight_with_and_without_a_date() {
        for text in [
            "Time,ECT\n23:59:59,90\n00:00:01,91\n",
            "Time,ECT\n59:59.0,90\n00:01.0,91\n",
            "Time,ECT\n11:59:59 PM,90\n12:00:01 AM,91\n",
            "Time,ECT\n2024-02-29 23:59:59,90\n2024-03-01 00:00:01,91\n",
            "Time,ECT\n30/04/2024 23:59:59,90\n01/05/2024 00:00:01,91\n",
            "Time,ECT\n1/5/2024 23:59:59,90\n1/6/2024 00:00:01,91\n",
            "Date;Time;ECT\n01.05.2024;23:59:59;90\n02.05.2024;00:00:01;91\n",
            "Time,ECT\n1714521599000,90\n1714521601000,91\n",
            "time_ms,ECT\n0,90\n2000,91\n",
            "Time (min),ECT\n0,90\n0.0333333333,91\n",
            "Zeit;ECT\nmin;°C\n0;90\n0,0333333333;91\n",
            "Zeit (Minuten);ECT\n0;90\n0,0333333333;91\n",
        ] {
            let (_, tally, _) = plain(text);
            assert!(
                (tally.duration - 2.0).abs() < 1e-6,
                "{text} {}",
                tally.duration
            );
            assert_eq!(tally.rows_dropped, 0, "{text}");
        }
    }

    #[test]
    fn gaps_restarts_and_repeated_stamps() {
        let (_, tally, _) = plain("Time,ECT\n0,90\n1,90\n1,90\n2,90\n602,90\n603,90\n");
        assert_eq!(tally.gap_count, 1);
        assert_eq!(
            tally.gaps,
            [Gap {
                from: 2.0,
                long: 600.0
            }]
        );
        assert_eq!(tally.repeated_stamps, 1);
        let again: String = (0..10).map(|t| format!("{t},90\n")).collect();
        let (_, tally, _) = plain(&format!("Time,ECT\n500,90\n501,90\n{again}"));
        assert_eq!(
            (tally.restarts, tally.rows_dropped, tally.rows_read),
            (1, 4, 8)
        );
        assert!((tally.duration - 6.0).abs() < 1e-9);
    }

    #[test]
    fn what_a_gap_left_over_is_not_believed() {
        let (samples, _, _) = plain(
            "Time,ECT,RPM\n0,77,700\n1,77,700\n600,77,800\n601,77,800\n602,87,800\n603,87,800\n",
        );
        let coolant = coolant(&samples);
        assert!(coolant[2].is_nan() && coolant[3].is_nan(), "{coolant:?}");
        assert!((coolant[4] - 87.0).abs() < 1e-9);
        assert!(
            samples[2].get(Signal::EngineSpeed) > 80.0,
            "the engine speed is new"
        );
    }
}
