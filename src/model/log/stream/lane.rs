//! One column while rows are read: it converts cells to readings and checks that the readings are plausible.

use super::super::cell;
use super::super::choices::{Guess, Guessed};
use super::super::columns::Column;
use super::super::marks;
use super::super::names::{self, Signal, Unit};
use super::LogReader;
use crate::law::diagnostic_scaling_sae_j1979 as j1979;
use std::io::Read;

/// A reading without an update is used for this time, s, and then becomes unknown.
const HELD: f64 = 60.0;

/// A coolant reading that jumps by more than this (K) in one step is taken as a sensor error, until it has stayed at
/// the new level for [`SETTLED`].
const LEAP: f64 = 20.0;

/// Time, s, after which a coolant reading that jumped by more than [`LEAP`] is accepted.
const SETTLED: f64 = 10.0;

/// A tool that polls the signals one after another repeats old readings in the first rows after a gap. For this time
/// after a gap, s, an unchanged reading is therefore rejected.
const STALE: f64 = 5.0;

/// The state of one column while rows are read.
pub(super) struct Lane {
    pub column: Column,
    pub at: usize,
    /// The minimum and maximum plausible reading, in SI.
    pub range: (f64, f64),
    /// The last cell, the unit given in its row, and its value. They are cached, because most cells repeat the previous
    /// one.
    pub cell: Vec<u8>,
    pub unit: Vec<u8>,
    pub value: f64,
    /// Whether the number in the last cell is zero, or is 0 °C in another unit.
    pub zero: bool,
    /// Time of the last update.
    pub told: f64,
    /// Whether the cell in the current row repeats the last one.
    pub repeats: bool,
    /// Whether the reading is unchanged since the last gap.
    pub stale: bool,
    /// Whether the value of the last row was accepted (`taken`), and whether it was above 135 in its unit (`over_135`).
    pub taken: bool,
    pub over_135: bool,
}

impl Lane {
    pub fn of(column: &Column) -> Self {
        Self {
            column: column.clone(),
            at: column.number - 1,
            range: column.signal.range(),
            cell: Vec::new(),
            unit: Vec::new(),
            value: f64::NAN,
            zero: false,
            told: f64::NEG_INFINITY,
            repeats: false,
            stale: false,
            taken: false,
            over_135: false,
        }
    }
}

impl Lane {
    /// Settles the meaning of points and commas by the first cell with one of them; returns the guess made, if any.
    pub fn settle(&mut self, cell: &[u8]) -> Option<Guess> {
        let (factor, zero) = self.column.scale;
        let (last, signal) = ((self.value - zero) / factor, self.column.signal);
        let up = signal == Signal::EngineSpeed;
        let (marks, guess) = marks::settled(cell, self.column.marks, last, up)?;
        (self.column.marks, self.column.open) = (marks, false);
        guess.then(|| marks::late_guess(Guessed::Marks(signal), cell, marks))
    }
}

impl<R: Read> LogReader<R> {
    /// Whether the coolant and most other readings are 0: some tools write zeros before they are connected to the
    /// vehicle.
    pub(super) fn is_placeholder(&self) -> bool {
        let coolant = self
            .lanes
            .iter()
            .any(|l| l.zero && l.column.signal == Signal::Coolant);
        if !coolant {
            return false;
        }
        let told = self.lanes.iter().filter(|l| !l.value.is_nan()).count();
        let zeros = self.lanes.iter().filter(|l| l.zero).count();
        told >= 3 && zeros * 3 > told * 2
    }

    /// Checks the reading of a column, and stores it in the sample if it is plausible.
    pub(super) fn take(&mut self, i: usize, time: f64, gap: bool, placeholder: bool) {
        let lane = &mut self.lanes[i];
        let signal = lane.column.signal;
        let seen = &mut self.tally.seen[signal as usize];
        if lane.taken & lane.repeats & !(gap | placeholder) {
            lane.told = time;
            seen.readings += 1;
            self.tally.over_135 += u64::from(lane.over_135);
            return;
        }
        lane.taken = false;
        let held = &mut self.sample.values[signal as usize];
        let mut value = if placeholder { f64::NAN } else { lane.value };
        lane.stale = lane.repeats && (gap || lane.stale);
        if lane.stale && time - self.resumed < STALE {
            *held = f64::NAN;
            return;
        }
        let (least, most) = lane.range;
        let possible = value.is_nan() || (least..=most).contains(&value);
        if signal == Signal::Coolant && !value.is_nan() {
            let (factor, zero) = lane.column.scale;
            lane.over_135 = (value - zero) / factor > 135.0;
            self.tally.over_135 += u64::from(lane.over_135);
            let leap = possible && !gap && (value - *held).abs() > LEAP;
            let unsettled = leap && time - *self.leapt.get_or_insert(time) < SETTLED;
            if !possible || unsettled {
                self.tally.dropouts += 1;
                value = f64::NAN;
            } else {
                self.leapt = None;
            }
        }
        if !possible {
            seen.impossible += 1;
            value = f64::NAN;
        }
        if value.is_nan() {
            if time - lane.told > HELD || gap {
                *held = f64::NAN;
            }
            return;
        }
        lane.told = time;
        lane.taken = true;
        *held = value;
        if seen.readings == 0 {
            (seen.least, seen.most) = (value, value);
        }
        seen.readings += 1;
        seen.least = seen.least.min(value);
        seen.most = seen.most.max(value);
    }
}

impl Column {
    /// Converts a cell to its value in SI, NaN if blank; also returns whether its unit differs from that of the column.
    /// `beside` is the unit given in the row: it has precedence over the heading's unit, but not over the user's.
    pub(super) fn read(&self, cell: &[u8], beside: &[u8]) -> Result<(f64, bool), &'static str> {
        if cell.is_empty() || cell::missing(cell) {
            return Ok((f64::NAN, false));
        }
        let si = |value: f64, (factor, zero): names::Scale| value * factor + zero;
        if let Some(parameter) = self.raw {
            let [a, b] =
                cell::bytes(cell, parameter.id, parameter.bytes).ok_or("bytes in hexadecimal")?;
            return Ok((si(j1979::value(parameter, a, b), self.scale), false));
        }
        match cell::number(cell, self.marks) {
            Some((value, [])) if beside.is_empty() || self.unit_said => {
                Ok((si(value, self.scale), false))
            }
            Some((value, [])) => {
                let scale = names::scale(self.signal.kind(), &cell::text(beside));
                let scale = scale.unwrap_or(self.scale);
                Ok((si(value, scale), scale != self.scale))
            }
            Some((value, unit)) => {
                let unit = String::from_utf8_lossy(unit);
                let scale = names::scale(self.signal.kind(), &unit)
                    .filter(|_| names::plain_unit(&unit).len() + 2 >= unit.chars().count())
                    .ok_or("a number")?;
                Ok((si(value, scale), scale != self.scale))
            }
            None if self.signal.kind() == Unit::Switch => {
                cell::switch(cell).map(|v| (v, false)).ok_or("on or off")
            }
            None => Err("a number"),
        }
    }
}
