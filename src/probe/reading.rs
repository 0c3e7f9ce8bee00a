//! A reading of a test.

use super::{Probe, Setting};
use crate::trouble::Trouble;

/// One reading: the test, its value, its uncertainty, and the actual condition.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// The test.
    pub probe: &'static Probe,
    /// The value, SI.
    pub value: f64,
    /// Half-width of the reading's error, SI: about 95 % of a normal distribution, or the full range if `uniform`.
    pub half: f64,
    /// Whether the error is uniformly distributed between its limits, as for the accuracy class of a gauge.
    pub uniform: bool,
    /// Whether the value is only a lower bound of the true value, for example because the instrument was at full scale.
    pub at_least: bool,
    /// Whether it is uncertain that the fan was at full command. At full command it would turn at this speed or faster,
    /// so `at_least` is set too.
    pub unsure: bool,
    /// The instrument, if named, and its full scale, SI (0 for an instrument without full scale).
    pub by: Option<(&'static str, f64)>,
    /// The operating condition in which the reading was taken.
    pub setting: Setting,
    /// Uncertainty of the engine speed during the reading, as a half-width (about 95 %), rad/s.
    pub engine_half: f64,
    /// Uncertainty of the oil temperature during the reading, as a half-width (about 95 %), K; if the test waits for a
    /// steady state, that of the ambient temperature instead.
    pub oil_temp_half: f64,
    /// Uncertainty of the air temperature at the fan, as a half-width (about 95 %), K; used only if `setting` gives an
    /// air temperature.
    pub air_half: f64,
    /// Whether the reading itself says that full fan was commanded.
    pub commanded: bool,
    /// The date of the reading.
    pub date: Option<Day>,
    /// How many of the notebook's works were done before it; 0 for a reading without date.
    pub works: usize,
    /// Whether the machine was healthy when the reading was taken.
    pub healthy: bool,
}

/// A date, possibly with a time of day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day {
    year: u16,
    month: u8,
    day: u8,
    /// Minutes since midnight, if the time is given.
    minute: Option<u16>,
}

impl Day {
    /// Parses a date such as `2026-05-02`, or with a time `2026-05-02 15:30` or `2026-05-02T15:30:00` (ISO 8601; seconds
    /// are left out).
    pub fn read(words: &str) -> Result<Self, Trouble> {
        let (date, time) = match words.split_once([' ', 'T']) {
            Some((date, time)) => (date, Some(time.trim())),
            None => (words, None),
        };
        let parts: Vec<&str> = date.split('-').collect();
        let day = match parts[..] {
            [year, month, day] if year.len() == 4 => year
                .parse()
                .ok()
                .zip(month.parse().ok())
                .zip(day.parse().ok())
                .map(|((year, month), day)| Self {
                    year,
                    month,
                    day,
                    minute: time.and_then(minute),
                }),
            _ => None,
        };
        day.filter(|d| (1..=d.month_length()).contains(&d.day))
            .filter(|d| d.minute.is_some() == time.is_some())
            .ok_or_else(|| {
                let expected = "a date such as 2026-05-02, or with a time: 2026-05-02 15:30";
                Trouble::input(format!("`{words}`"), expected)
            })
    }

    /// The day without its time.
    pub fn alone(self) -> Self {
        Self {
            minute: None,
            ..self
        }
    }

    /// The time of day in minutes, if given.
    pub fn minute(self) -> Option<u16> {
        self.minute
    }

    fn month_length(self) -> u8 {
        match self.month {
            2 if self.year.is_multiple_of(4)
                && (!self.year.is_multiple_of(100) || self.year.is_multiple_of(400)) =>
            {
                29
            }
            2 => 28,
            4 | 6 | 9 | 11 => 30,
            1..=12 => 31,
            _ => 0,
        }
    }

    /// Days since the year 0, for the axis of a chart.
    pub fn number(self) -> f64 {
        let before = (1..self.month).map(|month| Self { month, ..self }.month_length());
        let whole: u32 = before.map(u32::from).sum();
        let time = f64::from(self.minute.unwrap_or(0)) / 1440.0;
        365.2425 * f64::from(self.year) + f64::from(whole) + f64::from(self.day) + time
    }
}

/// Minutes since midnight, from a time such as `15:30` or `15:30:00`.
fn minute(time: &str) -> Option<u16> {
    let number = |part: &str, limit: u16| -> Option<u16> {
        let whole = Some(part).filter(|p| p.len() == 2)?;
        whole.parse().ok().filter(|n| *n < limit)
    };
    let parts: Vec<&str> = time.split(':').collect();
    let (hour, minute) = match parts[..] {
        [hour, minute] => (hour, minute),
        [hour, minute, seconds] => {
            number(seconds.split('.').next()?, 60)?;
            (hour, minute)
        }
        _ => return None,
    };
    Some(60 * number(hour, 24)? + number(minute, 60)?)
}

impl std::fmt::Display for Day {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)?;
        match self.minute {
            Some(m) => write!(f, " {:02}:{:02}", m / 60, m % 60),
            None => Ok(()),
        }
    }
}

impl Reading {
    /// Makes a reading of a test in its default operating condition; `half` is the half-width of its error (95 %).
    pub fn of(probe: &'static Probe, value: f64, half: f64) -> Self {
        Self {
            probe,
            value,
            half,
            uniform: false,
            at_least: false,
            unsure: false,
            by: None,
            setting: probe.setting,
            engine_half: 0.0,
            oil_temp_half: 0.0,
            air_half: 10.0,
            commanded: false,
            date: None,
            works: 0,
            healthy: false,
        }
    }

    /// Standard deviation of the error of the measured value, SI.
    pub fn sigma(&self) -> f64 {
        self.half / if self.uniform { 3.0_f64.sqrt() } else { 2.0 }
    }
}
