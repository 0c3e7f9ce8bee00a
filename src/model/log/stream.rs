//! Row after row; what is dropped is counted and named. Memory does not grow with the file.

use super::cell;
use super::clock::Clock;
use super::layout::{self, Choices, Column, Layout, Time};
use super::names::{self, Signal, Unit};
use super::rows::{Broken, Record, Rows};
use super::shape::{self, Shape};
use super::source::{self, Text};
use super::tally::{Gap, Mistake, Sample, Session, Tally};
use crate::law::diagnostic_scaling_sae_j1979 as j1979;
use crate::trouble::{Trouble, Troubles};
use std::collections::VecDeque;
use std::io::{self, Cursor, Read};

/// How much of a file is looked at before rows are read.
const FIRST: usize = 1 << 17;

/// How many mistakes, and how many gaps, are kept; all are counted.
const KEPT: usize = 50;

/// Rows further apart than this (s), and than ten usual steps, have a gap between them.
const GAP: f64 = 20.0;

/// A reading that is blank for longer (s) is no longer known.
const HELD: f64 = 60.0;

/// So many rows in order, all behind the last good one, show that the clock was set back; and so many are looked at before a leap
/// forward is believed.
const RESTART: usize = 5;

/// A coolant that leaps by more (K) within a step does so by its sensor, unless it stays there for [`SETTLED`].
const LEAP: f64 = 20.0;

/// See [`LEAP`], s.
const SETTLED: f64 = 10.0;

/// Where signals are asked in turn, the rows right after a gap repeat what was read before it: so long (s) a reading that has not
/// changed since is not believed.
const STALE: f64 = 5.0;

/// A column while rows are read.
struct Lane {
    column: Column,
    at: usize,
    /// The least and the greatest that its readings can be, in SI.
    range: (f64, f64),
    /// The last cell, the unit that its row told, and its value, which most cells repeat.
    cell: Vec<u8>,
    unit: Vec<u8>,
    value: f64,
    /// Whether its figure is zero.
    zero: bool,
    /// When it was last told.
    told: f64,
    /// Whether this row repeats it.
    repeats: bool,
    /// Whether it has not changed since the last gap.
    stale: bool,
    /// Whether the last row took its value as it stands, and that is above 135 in its unit.
    taken: bool,
    over_135: bool,
}

impl Lane {
    fn of(column: &Column) -> Self {
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

/// What is wrong with a row: the column, from 0, and what was expected there.
type Wrong = (usize, &'static str);

/// Reads a log row by row.
pub struct LogReader<R: Read> {
    rows: Rows<io::Chain<Cursor<Vec<u8>>, Text<R>>>,
    source: String,
    choices: Choices,
    layout: Layout,
    lanes: Vec<Lane>,
    tally: Tally,
    clock: Clock,
    sample: Sample,
    started: bool,
    /// Rows that were looked at ahead.
    ahead: VecDeque<Record>,
    /// What ended looking ahead.
    broken: Option<Trouble>,
    /// Headings of a further session, right above.
    headings: Option<Record>,
    /// Whether a session begins with this row.
    session: bool,
    /// The last time as told, and what is added to it.
    told: f64,
    shift: f64,
    /// Rows in order behind the last good one, and the last of them.
    behind: (usize, f64),
    /// When the coolant reading began to differ widely from the value held.
    leapt: Option<f64>,
    /// When the last gap ended.
    resumed: f64,
    gap_beyond: f64,
}

impl<R: Read> LogReader<R> {
    /// Begins to read a log; `source` names it in messages.
    pub fn open(source_of_bytes: R, source: &str, choices: &Choices) -> Result<Self, Troubles> {
        let mut bytes = source::open(source_of_bytes).map_err(|t| vec![t.at(source)])?;
        let mut first = Vec::with_capacity(FIRST);
        let read = bytes.by_ref().take(FIRST as u64).read_to_end(&mut first);
        let filled = read.map_err(|e| vec![source::unreadable(&e.to_string()).at(source)])?;
        let layout = layout::find(&first, filled < FIRST, source, choices)?;
        let mut rest = Cursor::new(first);
        rest.set_position(layout.bytes_before as u64);
        let (separator, line) = (layout.separator as u8, layout.lines_before + 1);
        Ok(Self {
            rows: Rows::new(rest.chain(bytes), separator, layout.quoted, line),
            source: source.to_string(),
            choices: choices.clone(),
            lanes: layout.columns.iter().map(Lane::of).collect(),
            tally: Tally::default(),
            clock: Clock::default(),
            sample: Sample::of(0.0, 0.0, false, &[]),
            started: false,
            ahead: VecDeque::new(),
            broken: None,
            headings: None,
            session: false,
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

    /// How many bytes of text were read so far.
    pub fn position(&self) -> u64 {
        self.rows.position() + self.layout.bytes_before as u64
    }

    /// The next good row; none at the end.
    pub fn next_row(&mut self) -> Result<Option<&Sample>, Trouble> {
        loop {
            if let Some(record) = self.ahead.pop_front() {
                self.rows.swap(record);
            } else if let Some(trouble) = self.broken.take() {
                return Err(trouble);
            } else if !self.read()? {
                return Ok(None);
            }
            match self.row() {
                Ok(()) => {
                    self.tally.rows_read += 1;
                    return Ok(Some(&self.sample));
                }
                Err(Some((column, expected))) => {
                    self.tally.rows_dropped += 1;
                    self.name(column, expected, true);
                }
                // Headings, or a row that is looked at again.
                Err(None) => {}
            }
        }
    }

    /// Reads a row from the source; false at the end.
    fn read(&mut self) -> Result<bool, Trouble> {
        self.rows.read().map_err(|broken| {
            let trouble = match broken {
                Broken::Source(e) => source::unreadable(&e.to_string()),
                Broken::TooLong(line) => Trouble::input(
                    format!("line {line} does not end within a million bytes"),
                    "rows of readings, a line each",
                )
                .hint("a quote that is never closed, or a file without line ends"),
            };
            trouble.at(self.source.clone())
        })
    }

    /// Puts a mistake on the list, while there is room.
    fn name(&mut self, column: usize, expected: &'static str, dropped: bool) {
        if self.tally.mistakes.len() >= KEPT {
            return;
        }
        let record = self.rows.record();
        let cell = self.layout.shape.cell(
            record,
            column,
            self.layout.shape.tells(record, &self.layout.heads),
        );
        let found: String = cell::text(cell).chars().take(40).collect();
        self.tally.mistakes.push(Mistake {
            line: record.line,
            column: column + 1,
            name: self.layout.heads.get(column).cloned().unwrap_or_default(),
            found,
            expected,
            dropped,
        });
    }

    /// Takes in the record; else what is wrong with it, or nothing where it is no row of readings.
    fn row(&mut self) -> Result<(), Option<Wrong>> {
        let wide = self.layout.shape == Shape::Wide;
        let width = self.layout.heads.len();
        let tells = self
            .layout
            .shape
            .tells(self.rows.record(), &self.layout.heads);
        let told = self.time(tells);
        if told.is_err() && wide && self.is_headings() {
            return Err(None);
        }
        if wide
            && let Some(extra) =
                (width..self.rows.record().len()).find(|i| !self.rows.record().get(*i).is_empty())
        {
            return Err(Some((extra, "no more cells than headings")));
        }
        let (column, told) = told?;
        let mut mixed = None;
        let record = self.rows.record();
        for lane in &mut self.lanes {
            let cell = self.layout.shape.cell(record, lane.at, tells);
            let unit = self.layout.shape.unit(record, lane.at, tells);
            lane.repeats = cell == lane.cell.as_slice() && unit == lane.unit.as_slice();
            if lane.repeats {
                continue;
            }
            let (value, other) = lane
                .column
                .read(cell, unit)
                .map_err(|e| Some((lane.at, e)))?;
            if other {
                mixed = Some(lane.at);
            }
            lane.value = value;
            let (factor, zero) = lane.column.scale;
            lane.zero = (value - zero).abs() < 1e-9 * factor;
            lane.cell.clear();
            lane.cell.extend_from_slice(cell);
            lane.unit.clear();
            lane.unit.extend_from_slice(unit);
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
        let placeholder = self.is_placeholder();
        self.tally.placeholders += u64::from(placeholder);
        for i in 0..self.lanes.len() {
            self.take(i, time, gap, placeholder);
        }
        Ok(())
    }

    /// Whether the coolant and most of what else is told read 0: before a link is up some tools write that.
    fn is_placeholder(&self) -> bool {
        let coolant = self
            .lanes
            .iter()
            .any(|l| l.column.signal == Signal::Coolant && l.zero && !l.value.is_nan());
        if !coolant {
            return false;
        }
        let told = self.lanes.iter().filter(|l| !l.value.is_nan());
        let zeros = self.lanes.iter().filter(|l| l.zero && !l.value.is_nan());
        let (told, zeros) = (told.count(), zeros.count());
        told >= 3 && zeros * 3 > told * 2
    }

    /// Whether headings stand here in place of readings: then what follows is laid out anew.
    fn is_headings(&mut self) -> bool {
        let record = self.rows.record();
        let cells: Vec<&[u8]> = record.cells().collect();
        if let Some(above) = self.headings.take() {
            let owned: Vec<Vec<u8>> = cells.iter().map(|c| c.to_vec()).collect();
            if shape::is_units(&owned) {
                let heads: Vec<&[u8]> = above.cells().collect();
                self.layout = self.layout.anew(&heads, &cells, &self.choices);
                self.lanes = self.layout.columns.iter().map(Lane::of).collect();
                return true;
            }
        }
        let words = cells.iter().filter(|c| !c.is_empty());
        let known = cells
            .iter()
            .filter(|c| layout::Head::read(c).meaning.is_some());
        let numbers = cells
            .iter()
            .filter(|c| cell::number(c, cell::Marks::Decimal).is_some_and(|n| n.1.is_empty()));
        let timed = self.layout.time_column.is_none_or(|at| {
            let name = self.layout.heads.get(at - 1).map(String::as_bytes);
            cells
                .iter()
                .any(|c| Some(*c) == name || layout::Head::read(c).tells_time())
        });
        if known.count() < 2 || numbers.count() * 2 > words.count() || !timed {
            return false;
        }
        let new = self.layout.anew(&cells, &[], &self.choices);
        let coolant = new.columns.iter().any(|c| c.signal == Signal::Coolant);
        self.tally.sessions.push(Session {
            line: record.line,
            same: new.heads == self.layout.heads,
            coolant,
        });
        self.headings = Some(record.clone());
        self.layout = new;
        self.lanes = self.layout.columns.iter().map(Lane::of).collect();
        self.sample = Sample::of(self.sample.time, 0.0, false, &[]);
        self.session = true;
        self.clock = Clock::default();
        true
    }

    /// Puts a column's reading into the sample.
    fn take(&mut self, i: usize, time: f64, gap: bool, placeholder: bool) {
        let lane = &mut self.lanes[i];
        let signal = lane.column.signal;
        let seen = &mut self.tally.seen[signal as usize];
        if lane.taken && lane.repeats && !gap && !placeholder {
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

    /// The time as told, s, and the column that tells it.
    fn time(&mut self, tells: Option<usize>) -> Result<(usize, f64), Option<Wrong>> {
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

    /// Time since the first row, since the row before, and whether a gap lies between.
    fn advance(&mut self, column: usize, told: f64) -> Result<(f64, f64, bool), Option<Wrong>> {
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
            // Past midnight, or past the full hour.
            self.clock.turns += period;
        }
        told += self.clock.turns;
        let step = told - self.told;
        if step < 0.0 {
            return self.set_back(column, told);
        }
        if step > self.gap_beyond && self.falls_back(told) {
            self.tally.ahead += 1;
            return Err(Some((column, "a time not far ahead of the rows below")));
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

    /// Time that lies behind the last row: dropped, until it is seen that the clock was set back.
    fn set_back(&mut self, column: usize, told: f64) -> Result<(f64, f64, bool), Option<Wrong>> {
        let (many, last) = self.behind;
        let ordered = told >= last && told - last <= self.gap_beyond;
        self.behind = (if many > 0 && ordered { many + 1 } else { 1 }, told);
        if self.behind.0 < RESTART && !self.session {
            self.tally.backwards += 1;
            return Err(Some((column, "a time not before the row above")));
        }
        // Go on from the last good row, over a gap of unknown length.
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

    /// Whether the rows below a leap forward go on from the row above it: then the leap alone is wrong.
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

/// The time that a row tells, s; none where rows are evenly apart, or where it tells none.
fn told_by(
    layout: &Layout,
    clock: &mut Clock,
    record: &Record,
    tells: Option<usize>,
) -> Option<f64> {
    let cell = |at: usize| layout.shape.cell(record, at, tells);
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

impl Column {
    /// A cell's value in SI, not a number where it is blank; and whether it is in a unit of its own. `beside` is the unit that its row
    /// tells, which goes before the heading's unless the asker said that.
    fn read(&self, cell: &[u8], beside: &[u8]) -> Result<(f64, bool), &'static str> {
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
    fn units_that_change_from_row_to_row_are_each_rows_own() {
        let rows =
            "0,ECT,90,°C\n1,ECT,194,°F\n2,RPM,700,rpm\n3,ECT,194,°C\n4,ECT,91,°C\n5,RPM,710,rpm\n";
        let text = format!(
            "Time [s],Name,Value,Unit\n{}",
            rows.replace("3,ECT,194,°C", "3,ECT,195.8,°F")
        );
        let (samples, tally, _) = plain(&text);
        assert_eq!(coolant(&samples), [90.0, 90.0, 90.0, 91.0, 91.0, 91.0]);
        assert_eq!((tally.mixed_units, tally.rows_dropped), (2, 0));
        // What the asker says goes before what the rows say.
        let choices = Choices {
            columns: vec!["coolant=ECT [°F]".into()],
            ..Choices::default()
        };
        let (samples, tally, _) = read(text.as_bytes(), &choices);
        assert!((coolant(&samples)[1] - 90.0).abs() < 1e-6);
        assert_eq!(tally.mixed_units, 0);
    }

    #[test]
    fn words_that_are_headings_begin_no_session_without_a_time() {
        let (_, tally, _) = plain("Time,ECT\n0,90\nRPM,Speed\n1,91\n");
        assert!(tally.sessions.is_empty());
        assert_eq!((tally.rows_read, tally.rows_dropped), (2, 1));
        let (_, tally, _) = plain("Time,ECT\n0,90\nTime,ECT\n1,91\n");
        assert_eq!((tally.sessions.len(), tally.rows_dropped), (1, 0));
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
                troubles.iter().any(|t| t.spot.field == "column"),
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
