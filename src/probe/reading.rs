//! What a test has read.

use super::{Probe, Setting};
use crate::trouble::Trouble;

/// One reading: which test, what it read, how far it may be off, and in which condition it was really made.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// The test.
    pub probe: &'static Probe,
    /// What it read, SI.
    pub value: f64,
    /// Half the width of its error, SI: about 95 % of a bell, or all of it where `uniform`.
    pub half: f64,
    /// Whether the error is spread evenly between its ends, as that of a gauge's class.
    pub uniform: bool,
    /// The instrument stood at its full scale: it was that much, or more.
    pub at_least: bool,
    /// The instrument that read it, where it was named, with its full scale, SI (0 where it has none).
    pub by: Option<(&'static str, f64)>,
    /// The condition in which it was made.
    pub setting: Setting,
    /// How far the engine speed of that condition may be off, rad/s, about 95 %.
    pub engine_half: f64,
    /// How far the oil temperature of that condition may be off, K, about 95 %; the outer air's where coolant and oil settle.
    pub oil_temp_half: f64,
    /// How far the air at the fan of that condition may be off, K, about 95 %; of use where the condition has its own air.
    pub air_half: f64,
    /// The day it was read.
    pub date: Option<Day>,
    /// The machine was healthy then.
    pub healthy: bool,
}

/// A day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day {
    year: u16,
    month: u8,
    day: u8,
}

impl Day {
    /// A day as `2026-05-02`.
    pub fn read(words: &str) -> Result<Self, Trouble> {
        let parts: Vec<&str> = words.split('-').collect();
        let day = match parts[..] {
            [year, month, day] if year.len() == 4 => year
                .parse()
                .ok()
                .zip(month.parse().ok())
                .zip(day.parse().ok())
                .map(|((year, month), day)| Self { year, month, day }),
            _ => None,
        };
        day.filter(|d| (1..=d.month_length()).contains(&d.day))
            .ok_or_else(|| Trouble::input(format!("`{words}`"), "a day, such as 2026-05-02"))
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

    /// Days since the year 0, for a picture's axis.
    pub fn number(self) -> f64 {
        let before = (1..self.month).map(|month| Self { month, ..self }.month_length());
        let whole: u32 = before.map(u32::from).sum();
        365.2425 * f64::from(self.year) + f64::from(whole) + f64::from(self.day)
    }
}

impl std::fmt::Display for Day {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl Reading {
    /// What a test reads in its own condition, off by `half` (95 %) at most.
    pub fn of(probe: &'static Probe, value: f64, half: f64) -> Self {
        Self {
            probe,
            value,
            half,
            uniform: false,
            at_least: false,
            by: None,
            setting: probe.setting,
            engine_half: 0.0,
            oil_temp_half: 0.0,
            air_half: 10.0,
            date: None,
            healthy: false,
        }
    }

    /// Standard deviation of the reading's own error, SI.
    pub fn sigma(&self) -> f64 {
        self.half / if self.uniform { 3.0_f64.sqrt() } else { 2.0 }
    }
}
