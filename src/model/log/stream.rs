//! Row after row; what is dropped is counted and named. Memory does not grow with the file.

use super::cell;
use super::layout::{self, Choices, Column, Layout, Time};
use super::names::{self, SIGNALS, Signal, Unit};
use crate::law::diagnostic_scaling_sae_j1979 as j1979;
use crate::trouble::{Trouble, Troubles};
use csv::ByteRecord;
use std::io::{self, Cursor, Read};

/// How much of a file is looked at before rows are read.
const FIRST: usize = 1 << 17;

/// How many mistakes, and how many gaps, are kept; all are counted.
const KEPT: usize = 50;

/// Rows further apart than this (s), and than ten usual steps, have a gap between them.
const GAP: f64 = 20.0;

/// A reading that is blank for longer (s) is no longer known.
const HELD: f64 = 60.0;

/// So many rows in order, all behind the last good one, show that the clock was set back.
const RESTART: usize = 5;

/// A coolant that leaps by more (K) within a step does so by its sensor, unless it stays there for [`SETTLED`].
const LEAP: f64 = 20.0;

/// See [`LEAP`], s.
const SETTLED: f64 = 10.0;

/// Where signals are asked in turn, the rows right after a gap repeat what was read before it: so long (s) a reading that has not
/// changed since is not believed.
const STALE: f64 = 5.0;

/// Coolant temperatures, K, that a reading can be: the ends of the byte that carries it mean that the sensor is not there.
const COOLANT: (f64, f64) = (273.15 - 39.5, 273.15 + 160.0);

/// One row: what is known at a moment. A signal that is not known is not a number.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// Seconds since the first row.
    pub time: f64,
    /// Seconds since the row before.
    pub step: f64,
    /// Whether a gap lies between this row and the one before.
    pub gap: bool,
    values: [f64; SIGNALS.len()],
}

impl Sample {
    /// A signal's value, in SI.
    pub fn get(&self, signal: Signal) -> f64 {
        self.values[signal as usize]
    }

    /// A sample of given signals; the others are not known.
    pub fn of(time: f64, step: f64, gap: bool, known: &[(Signal, f64)]) -> Self {
        let mut values = [f64::NAN; SIGNALS.len()];
        for (signal, value) in known {
            values[*signal as usize] = *value;
        }
        Self {
            time,
            step,
            gap,
            values,
        }
    }
}

/// A stretch without rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// When it begins, seconds since the first row.
    pub from: f64,
    /// How long it is, s; not a number where the clock was set back.
    pub long: f64,
}

/// Why a row was dropped, or how a reading had to be mended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// The line of the file, from 1.
    pub line: u64,
    /// The column, from 1.
    pub column: usize,
    /// Its heading.
    pub name: String,
    /// What stands there.
    pub found: String,
    /// What was expected.
    pub expected: &'static str,
    /// Whether the row was dropped for it.
    pub dropped: bool,
}

/// What a column's readings were.
#[derive(Clone, Copy, Debug, Default)]
pub struct Seen {
    /// How many there were.
    pub readings: u64,
    /// The least, in SI.
    pub least: f64,
    /// The greatest, in SI.
    pub most: f64,
}

/// What was counted on the way.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// Rows that were used.
    pub rows_read: u64,
    /// Rows that were not.
    pub rows_dropped: u64,
    /// Of these, rows whose time lay behind the row before.
    pub backwards: u64,
    /// The first mistakes.
    pub mistakes: Vec<Mistake>,
    /// Cells in another unit than their column's.
    pub mixed_units: u64,
    /// Rows with the stamp of the row before.
    pub repeated_stamps: u64,
    /// Coolant readings that no coolant has: the sensor was not there.
    pub dropouts: u64,
    /// Coolant readings above 135 in the column's unit.
    pub over_135: u64,
    /// The first gaps.
    pub gaps: Vec<Gap>,
    /// How many gaps there were.
    pub gap_count: u64,
    /// How long they were together, s.
    pub gap_time: f64,
    /// Times that the clock was set back.
    pub restarts: u64,
    /// From the first row to the last, s.
    pub duration: f64,
    /// What each signal's readings were.
    pub seen: [Seen; SIGNALS.len()],
}

/// A column while rows are read.
struct Lane {
    column: Column,
    at: usize,
    /// The last cell and its value, which most cells repeat.
    cell: Vec<u8>,
    value: f64,
    /// When it was last told.
    told: f64,
    /// Whether this row repeats it.
    repeats: bool,
    /// Whether it has not changed since the last gap.
    stale: bool,
}

/// Reads a log row by row.
pub struct LogReader<R: Read> {
    csv: csv::Reader<io::Chain<Cursor<Vec<u8>>, Bytes<R>>>,
    source: String,
    layout: Layout,
    lanes: Vec<Lane>,
    record: ByteRecord,
    tally: Tally,
    clock: Clock,
    sample: Sample,
    started: bool,
    /// The last time as told, and what is added to it.
    told: f64,
    shift: f64,
    /// Rows in order behind the last good one, and the last of them.
    behind: (usize, f64),
    /// Since when the coolant reads far from what is believed.
    leapt: Option<f64>,
    /// When the last gap ended.
    resumed: f64,
    gap_beyond: f64,
}

impl<R: Read> LogReader<R> {
    /// Begins to read a log; `source` names it in messages.
    pub fn open(source_of_bytes: R, source: &str, choices: &Choices) -> Result<Self, Troubles> {
        let failed = |e: io::Error| vec![unreadable(&e.to_string(), source)];
        let mut bytes = Bytes::new(source_of_bytes).map_err(failed)?;
        let mut first = vec![0; FIRST];
        let mut filled = 0;
        while filled < FIRST {
            match bytes.read(&mut first[filled..]) {
                Ok(0) => break,
                Ok(n) => filled += n,
                Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                Err(e) => return Err(failed(e)),
            }
        }
        first.truncate(filled);
        let layout = layout::find(&first, filled < FIRST, source, choices)?;
        let mut rest = Cursor::new(first);
        rest.set_position(layout.bytes_before as u64);
        let csv = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(layout.separator as u8)
            .quoting(layout.quoted)
            .buffer_capacity(1 << 18)
            .from_reader(rest.chain(bytes));
        let lanes = layout
            .columns
            .iter()
            .map(|column| Lane {
                column: column.clone(),
                at: column.number - 1,
                cell: Vec::new(),
                value: f64::NAN,
                told: f64::NEG_INFINITY,
                repeats: false,
                stale: false,
            })
            .collect();
        Ok(Self {
            csv,
            source: source.to_string(),
            lanes,
            record: ByteRecord::new(),
            tally: Tally::default(),
            clock: Clock::default(),
            sample: Sample::of(0.0, 0.0, false, &[]),
            started: false,
            told: 0.0,
            shift: 0.0,
            behind: (0, f64::NEG_INFINITY),
            leapt: None,
            resumed: f64::NEG_INFINITY,
            gap_beyond: (10.0 * layout.usual_step).max(GAP),
            layout,
        })
    }

    /// How the log is laid out.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// What was counted so far.
    pub fn tally(&self) -> &Tally {
        &self.tally
    }

    /// How many bytes were read so far.
    pub fn position(&self) -> u64 {
        self.csv.position().byte() + self.layout.bytes_before as u64
    }

    /// The next good row; none at the end.
    pub fn next_row(&mut self) -> Result<Option<&Sample>, Trouble> {
        loop {
            match self.csv.read_byte_record(&mut self.record) {
                Ok(true) => {}
                Ok(false) => return Ok(None),
                Err(e) => return Err(unreadable(&e.to_string(), &self.source)),
            }
            match self.row() {
                Ok(()) => {
                    self.tally.rows_read += 1;
                    return Ok(Some(&self.sample));
                }
                Err((column, expected)) => {
                    self.tally.rows_dropped += 1;
                    self.name(column, expected, true);
                }
            }
        }
    }

    /// Puts a mistake on the list, while there is room.
    fn name(&mut self, column: usize, expected: &'static str, dropped: bool) {
        if self.tally.mistakes.len() >= KEPT {
            return;
        }
        let line = self.record.position().map_or(0, csv::Position::line);
        let cell = self.record.get(column).unwrap_or(b"");
        let found: String = cell::text(cell).chars().take(40).collect();
        self.tally.mistakes.push(Mistake {
            line: line + self.layout.lines_before as u64,
            column: column + 1,
            name: self.layout.heads.get(column).cloned().unwrap_or_default(),
            found,
            expected,
            dropped,
        });
    }

    /// Takes in the record; what is wrong with it: column from 0, and what was expected.
    fn row(&mut self) -> Result<(), (usize, &'static str)> {
        let width = self.layout.heads.len();
        if self.record.len() > width
            && let Some(extra) = (width..self.record.len())
                .find(|i| !self.record.get(*i).unwrap_or(b"").trim_ascii().is_empty())
        {
            return Err((extra, "no more cells than headings"));
        }
        let (column, told) = self.time()?;
        let mut mixed = None;
        for lane in &mut self.lanes {
            let cell = self.record.get(lane.at).unwrap_or(b"").trim_ascii();
            lane.repeats = cell == lane.cell.as_slice();
            if lane.repeats {
                continue;
            }
            let (value, other) = lane
                .column
                .read(cell, &self.layout)
                .map_err(|e| (lane.at, e))?;
            if other {
                mixed = Some(lane.at);
            }
            lane.value = value;
            lane.cell.clear();
            lane.cell.extend_from_slice(cell);
        }
        let (time, step, gap) = self.advance(column, told)?;
        if let Some(column) = mixed {
            self.tally.mixed_units += 1;
            self.name(column, "the unit of the heading; read in its own", false);
        }
        self.sample.time = time;
        self.sample.step = step;
        self.sample.gap = gap;
        if gap {
            self.resumed = time;
        }
        self.tally.duration = time;
        for i in 0..self.lanes.len() {
            self.take(i, time, gap);
        }
        Ok(())
    }

    /// Puts a column's reading into the sample.
    fn take(&mut self, i: usize, time: f64, gap: bool) {
        let lane = &mut self.lanes[i];
        let signal = lane.column.signal;
        let held = &mut self.sample.values[signal as usize];
        let mut value = lane.value;
        lane.stale = lane.repeats && (gap || lane.stale);
        if lane.stale && time - self.resumed < STALE {
            *held = f64::NAN;
            return;
        }
        if signal == Signal::Coolant && !value.is_nan() {
            let (factor, zero) = lane.column.scale;
            self.tally.over_135 += u64::from((value - zero) / factor > 135.0);
            let can_be = (COOLANT.0..=COOLANT.1).contains(&value);
            let leap = can_be && !gap && (value - *held).abs() > LEAP;
            let unsettled = leap && time - *self.leapt.get_or_insert(time) < SETTLED;
            if !can_be || unsettled {
                self.tally.dropouts += 1;
                value = f64::NAN;
            } else {
                self.leapt = None;
            }
        }
        if value.is_nan() {
            if time - lane.told > HELD || gap {
                *held = f64::NAN;
            }
            return;
        }
        lane.told = time;
        *held = value;
        let seen = &mut self.tally.seen[signal as usize];
        if seen.readings == 0 {
            (seen.least, seen.most) = (value, value);
        }
        seen.readings += 1;
        seen.least = seen.least.min(value);
        seen.most = seen.most.max(value);
    }

    /// The time as told, s, and the column that tells it.
    fn time(&mut self) -> Result<(usize, f64), (usize, &'static str)> {
        match self.layout.time {
            Time::Every(step) => {
                let rows = self.tally.rows_read + self.tally.rows_dropped;
                Ok((0, step * rows as f64))
            }
            Time::Number(at, factor) => {
                let cell = self.record.get(at).unwrap_or(b"").trim_ascii();
                match cell::number(cell, self.layout.comma) {
                    Some((value, [])) => Ok((at, value * factor)),
                    Some((value, b"s")) => Ok((at, value)),
                    _ => Err((at, "a time")),
                }
            }
            Time::Clock(at) => {
                let cell = self.record.get(at).unwrap_or(b"").trim_ascii();
                let date = self.layout.date.and_then(|d| self.record.get(d));
                let told = self.clock.read(cell, date).ok_or((at, "a time"))?;
                Ok((at, told))
            }
        }
    }

    /// Time since the first row, since the row before, and whether a gap lies between.
    fn advance(
        &mut self,
        column: usize,
        told: f64,
    ) -> Result<(f64, f64, bool), (usize, &'static str)> {
        if !self.started {
            self.started = true;
            self.told = told;
            self.shift = -told;
            return Ok((0.0, 0.0, false));
        }
        let mut told = told;
        if let Some(period) = self.clock.period
            && self.told - (told + self.clock.turns) > 0.5 * period
        {
            // Past midnight, or past the full hour.
            self.clock.turns += period;
        }
        told += self.clock.turns;
        let step = told - self.told;
        if step < 0.0 {
            let (many, last) = self.behind;
            let ordered = told >= last && told - last <= self.gap_beyond;
            self.behind = (if many > 0 && ordered { many + 1 } else { 1 }, told);
            if self.behind.0 < RESTART {
                self.tally.backwards += 1;
                return Err((column, "a time not before the row above"));
            }
            // The clock was set back: go on from the last good row, over a gap of unknown length.
            let time = self.sample.time;
            self.behind = (0, f64::NEG_INFINITY);
            self.told = told;
            self.shift = time - told;
            self.tally.restarts += 1;
            self.note(Gap {
                from: time,
                long: f64::NAN,
            });
            return Ok((time, 0.0, true));
        }
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

impl Column {
    /// A cell's value in SI, not a number where it is blank; and whether it is in a unit of its own.
    fn read(&self, cell: &[u8], layout: &Layout) -> Result<(f64, bool), &'static str> {
        if cell.is_empty() || cell::missing(cell) {
            return Ok((f64::NAN, false));
        }
        let si = |value: f64, (factor, zero): names::Scale| value * factor + zero;
        if let Some(parameter) = self.raw {
            let [a, b] =
                cell::bytes(cell, parameter.id, parameter.bytes).ok_or("bytes in hexadecimal")?;
            return Ok((si(j1979::value(parameter, a, b), self.scale), false));
        }
        match cell::number(cell, layout.comma) {
            Some((value, [])) => Ok((si(value, self.scale), false)),
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

fn unreadable(why: &str, source: &str) -> Trouble {
    Trouble::input(format!("cannot be read: {why}"), "a file that can be read").at(source)
}

/// A clock with or without a date.
#[derive(Default)]
struct Clock {
    /// The last date as written, and its day both ways of reading.
    written: Vec<u8>,
    last: Option<[i64; 2]>,
    day: i64,
    /// After how long it begins anew, where no date tells the day.
    period: Option<f64>,
    /// What was added for that.
    turns: f64,
}

impl Clock {
    /// Seconds since an arbitrary moment.
    fn read(&mut self, cell: &[u8], date: Option<&[u8]>) -> Option<f64> {
        let stamp = cell::stamp(cell)?;
        let texts = match date {
            Some(date) => [date, b"".as_slice()],
            None => [stamp.before, stamp.after],
        };
        if texts[0].trim_ascii().is_empty() {
            self.period = Some(stamp.period);
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
                // Day first or month first: whichever goes less far forward.
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

/// A source of bytes with its byte-order mark taken off, and two-byte text made one-byte.
struct Bytes<R> {
    source: R,
    held: Vec<u8>,
    from: usize,
    /// Where the letter stands in a pair of bytes, in two-byte text.
    wide: Option<usize>,
    /// The first byte of a pair whose second is still to come.
    half: Option<u8>,
}

impl<R: Read> Bytes<R> {
    fn new(mut source: R) -> io::Result<Self> {
        let mut held = Vec::with_capacity(4);
        source.by_ref().take(4).read_to_end(&mut held)?;
        let (skip, wide) = match held[..] {
            [0xEF, 0xBB, 0xBF, ..] => (3, None),
            [0xFF, 0xFE, ..] => (2, Some(0)),
            [0xFE, 0xFF, ..] => (2, Some(1)),
            [a, 0, b, 0] if a != 0 && b != 0 => (0, Some(0)),
            [0, a, 0, b] if a != 0 && b != 0 => (0, Some(1)),
            _ => (0, None),
        };
        Ok(Self {
            source,
            held,
            from: skip,
            wide,
            half: None,
        })
    }
}

impl<R: Read> Bytes<R> {
    /// Bytes as they come.
    fn plain(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if self.from < self.held.len() {
            let n = out.len().min(self.held.len() - self.from);
            out[..n].copy_from_slice(&self.held[self.from..self.from + n]);
            self.from += n;
            return Ok(n);
        }
        self.source.read(out)
    }
}

impl<R: Read> Read for Bytes<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let Some(letter) = self.wide else {
            return self.plain(out);
        };
        loop {
            let n = self.plain(out)?;
            if n == 0 {
                return Ok(0);
            }
            let mut made = 0;
            for i in 0..n {
                let byte = out[i];
                match self.half.take() {
                    None => self.half = Some(byte),
                    Some(first) => {
                        let pair = [first, byte];
                        let high = pair[1 - letter];
                        out[made] = if high == 0 { pair[letter] } else { b'?' };
                        made += 1;
                    }
                }
            }
            if made > 0 {
                return Ok(made);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &[u8], choices: &Choices) -> (Vec<Sample>, Tally, Layout) {
        let mut reader = LogReader::open(text, "log.csv", choices).unwrap();
        let mut samples = Vec::new();
        while let Some(sample) = reader.next_row().unwrap() {
            samples.push(*sample);
        }
        (samples, reader.tally().clone(), reader.layout().clone())
    }

    fn plain(text: &str) -> (Vec<Sample>, Tally, Layout) {
        read(text.as_bytes(), &Choices::default())
    }

    fn coolant(samples: &[Sample]) -> Vec<f64> {
        let celsius = |s: &Sample| ((s.get(Signal::Coolant) - 273.15) * 1e6).round() / 1e6;
        samples.iter().map(celsius).collect()
    }

    #[test]
    fn separators_and_decimal_commas() {
        for text in [
            "Time,Coolant (°C)\n0,90.5\n1,91\n",
            "Time;Coolant (°C)\r\n0;90,5\r\n1;91\r\n",
            "Time\tCoolant [°C]\n0\t90,5\n1\t91\n",
            "\"Time\",\"Coolant (°C)\"\n\"0\",\"90,5\"\n\"1\",\"91\"\n",
            "sep=;\nTime;Coolant (°C)\n0;90.5\n1;91\n",
            "# from a tool, today\n\nTime;Coolant\ns;°C\n0;90.5\n1;91\n",
            "Time;Coolant temp F\n0;194,9\n1;195.8\n",
            "Time,Coolant (°C),\n0,90.5,\n1,91,\n",
        ] {
            let (samples, tally, _) = plain(text);
            assert_eq!(coolant(&samples), [90.5, 91.0], "{text}");
            assert_eq!((tally.rows_read, tally.rows_dropped), (2, 0), "{text}");
            assert!((tally.duration - 1.0).abs() < 1e-9, "{text}");
        }
    }

    #[test]
    fn encodings_whole_and_broken() {
        let text = "Time,Coolant [°C]\n0,90\n1,91\n";
        let mut marked = vec![0xEF, 0xBB, 0xBF];
        marked.extend_from_slice(text.as_bytes());
        let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
        let mut little = vec![0xFF, 0xFE];
        let mut big = vec![0xFE, 0xFF];
        for unit in text.encode_utf16() {
            little.extend_from_slice(&unit.to_le_bytes());
            big.extend_from_slice(&unit.to_be_bytes());
        }
        let twice = text.replace('°', "Â°").into_bytes();
        for bytes in [marked, latin, little, big, twice] {
            let (samples, _, layout) = read(&bytes, &Choices::default());
            assert_eq!(coolant(&samples), [90.0, 91.0], "{bytes:?}");
            assert_eq!(layout.columns[0].unit, "°C");
            assert!(!layout.columns[0].unit_guessed);
            let name = layout.columns[0].name.replace('Â', "");
            assert_eq!(name, "Coolant [°C]");
        }
    }

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
    fn what_is_wrong_is_named_and_good_rows_are_kept() {
        let (samples, tally, _) = plain(
            "Time,ECT,RPM\n0,90,700\n1,9x,700\n2,92,700\n1,93,700\n3,94,seven\n,95,700\n4,96,700\n5,97,700,8\n",
        );
        assert_eq!(coolant(&samples), [90.0, 92.0, 96.0]);
        assert_eq!(
            (tally.rows_read, tally.rows_dropped, tally.backwards),
            (3, 5, 1)
        );
        let places: Vec<(u64, usize, &str)> = tally
            .mistakes
            .iter()
            .map(|m| (m.line, m.column, m.found.as_str()))
            .collect();
        assert_eq!(
            places,
            [
                (3, 2, "9x"),
                (5, 1, "1"),
                (6, 3, "seven"),
                (7, 1, ""),
                (9, 4, "8")
            ]
        );
    }

    #[test]
    fn units_behind_the_readings_are_the_columns() {
        let (samples, tally, layout) =
            plain("Time\tECT\tEngine RPM\tSpeed\n0\t194 F\t1,950 rpm\t3.5\n1\t194 F\t800 rpm\t3\n");
        assert_eq!(coolant(&samples), [90.0, 90.0]);
        let rpm = samples[0].get(Signal::EngineSpeed) * 30.0 / std::f64::consts::PI;
        assert!((rpm - 1950.0).abs() < 1e-9, "{rpm}");
        assert_eq!((tally.mixed_units, tally.rows_dropped), (0, 0));
        assert_eq!(layout.columns[0].unit, "°F");
        assert!(!layout.columns[0].unit_guessed);
    }

    #[test]
    fn a_flow_in_an_unknown_unit_is_not_guessed() {
        let of = |head: &str| {
            let (_, _, layout) = plain(&format!("Time,ECT,{head}\n0,90,1\n1,90,1\n"));
            layout.columns.iter().any(|c| c.signal == Signal::FuelRate)
        };
        assert!(of("Fuel rate") && of("Fuel rate (gal/min)") && !of("Fuel rate (hogshead/day)"));
    }

    #[test]
    fn mixed_units_are_read_in_their_own_and_named() {
        let (samples, tally, _) = plain("Time,ECT [°C]\n0,90 °C\n1,194 °F\n2,91\n");
        assert_eq!(coolant(&samples), [90.0, 90.0, 91.0]);
        assert_eq!((tally.mixed_units, tally.rows_dropped), (1, 0));
        assert_eq!((tally.mistakes[0].line, tally.mistakes[0].column), (3, 2));
    }

    #[test]
    fn a_sensor_that_drops_out_is_held_and_counted() {
        let (samples, tally, _) =
            plain("Time,ECT\n0,90\n1,-40\n2,215\n3,30\n4,91\n5,nan\n6,\n7,91\n");
        assert_eq!(
            coolant(&samples),
            [90.0, 90.0, 90.0, 90.0, 91.0, 91.0, 91.0, 91.0]
        );
        assert_eq!((tally.dropouts, tally.rows_dropped), (3, 0));
    }

    #[test]
    fn a_leap_that_stays_is_believed() {
        let rows: String = (0..30)
            .map(|t| format!("{t},{}\n", if t < 5 { 20 } else { 90 }))
            .collect();
        let (samples, _, _) = plain(&format!("Time,ECT\n{rows}"));
        assert!((coolant(&samples)[29] - 90.0).abs() < 1e-6);
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

    #[test]
    fn bytes_are_scaled_as_the_standard_says() {
        let (samples, _, layout) =
            plain("Time,0105 [hex],010C [hex]\n0,7B,1AF8\n1,41 05 7C,41 0C 1A F8\n");
        assert_eq!(coolant(&samples), [83.0, 84.0]);
        let rpm = samples[1].get(Signal::EngineSpeed) * 30.0 / std::f64::consts::PI;
        assert!((rpm - 1726.0).abs() < 1e-9);
        assert_eq!(layout.columns[0].unit, "bytes");
    }

    #[test]
    fn the_asker_has_the_last_word() {
        let choices = |said: &[&str]| Choices {
            columns: said.iter().map(|s| (*s).to_string()).collect(),
            ..Choices::default()
        };
        let text = b"Time,A [F],ECT [C]\n0,194,80\n1,194,81\n";
        assert_eq!(
            coolant(&read(text, &choices(&["coolant=A"])).0),
            [90.0, 90.0]
        );
        assert_eq!(
            coolant(&read(text, &choices(&["coolant=2"])).0),
            [90.0, 90.0]
        );
        for wrong in ["coolant=B", "colant=A", "coolant", "coolant=9"] {
            let troubles = LogReader::open(&text[..], "log.csv", &choices(&[wrong]))
                .err()
                .unwrap();
            assert!(
                troubles.iter().any(|t| t.spot.source == "--column"),
                "{wrong}: {troubles:?}"
            );
        }
    }

    #[test]
    fn without_coolant_or_time_it_says_what_is_there() {
        let open =
            |text: &'static str| LogReader::open(text.as_bytes(), "log.csv", &Choices::default());
        let said = open("Time,RPM\n0,700\n").err().unwrap()[0].clone();
        assert!(
            said.found.contains("`RPM`") && said.spot.line == Some(1),
            "{said}"
        );
        let said = open("a,ECT\n0,90\n").err().unwrap()[0].clone();
        assert!(said.found.contains("no column of time"), "{said}");
        for text in ["", "\n\n", "just a line\n", "1,2\n3,4\n"] {
            assert!(open(text).is_err(), "{text}");
        }
    }
}
