//! Computes the time of each row, across clock restarts, set-backs, jumps and gaps.

use super::super::cell;
use super::super::clock::{Clock, Time};
use super::super::layout::Layout;
use super::super::rows::Record;
use super::super::tally::Gap;
use super::{KEPT, LogReader, Wrong};
use std::io::Read;

/// Two rows have a gap between them if they are further apart than this, s, and than ten usual intervals.
pub(super) const GAP: f64 = 20.0;

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
            return Err(Some((column, "a time not far ahead of the following rows")));
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

    /// Whether the rows after a jump forward continue from the row before it, so that only the row with the jump is
    /// wrong.
    fn falls_back(&mut self, told: f64) -> bool {
        if self.ahead.len() < RESTART && self.broken.is_none() {
            let current = self.rows.record().clone();
            while self.ahead.len() < RESTART {
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
        let mut clock = self.clock.clone();
        let goes_on = |t: f64| t < told && t >= self.told && t - self.told <= self.gap_beyond;
        self.ahead.iter().any(|record| {
            let tells = self.layout.shape.tells(record, &self.layout.heads);
            told_by(&self.layout, &mut clock, record, tells)
                .is_some_and(|t| goes_on(t + clock.turns))
        })
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
            _ => None,
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
