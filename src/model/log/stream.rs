//! Reads a log row by row, in constant memory; counts and lists what is dropped.

mod lane;
mod sessions;
mod timeline;

use super::cell;
use super::choices::Choices;
use super::clock::Clock;
use super::layout::{self, Layout};
use super::names::Unit;
use super::rows::{Broken, Record, Rows};
use super::shape::Shape;
use super::source::{self, Text};
use super::tally::{Mistake, Sample, Tally};
use crate::trouble::{Trouble, Troubles};
use lane::Lane;
use std::collections::VecDeque;
use std::io::{self, Cursor, Read};
use timeline::GAP;

/// Number of bytes inspected to detect the layout, before rows are read.
const FIRST: usize = 1 << 17;

/// Maximum number of errors, and of gaps, that are listed; all are counted.
const KEPT: usize = 50;

/// An error in a row: the column, from 0, and the expected content.
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
    /// Rows that have been read ahead, to check a jump in time.
    ahead: VecDeque<Record>,
    /// The error that ended the reading ahead; it is returned after those rows.
    broken: Option<Trouble>,
    /// Heading row of a further session, kept until the next row has been checked for units.
    headings: Option<Record>,
    /// Whether a further session begins with the current row.
    session: bool,
    /// The last valid time in the log's own scale, s, and the offset that converts it to time since the first row.
    told: f64,
    shift: f64,
    /// Number of consecutive rows with times before the last valid one, and the time of the last of these rows.
    behind: (usize, f64),
    /// Time from which the coolant reading has differed widely from the accepted value.
    leapt: Option<f64>,
    /// Time at which the last gap ended, s.
    resumed: f64,
    gap_beyond: f64,
}

impl<R: Read> LogReader<R> {
    /// Opens a log; `source` is the log's name in messages.
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

    /// The layout of the log.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The counters so far.
    pub fn tally(&self) -> &Tally {
        &self.tally
    }

    /// Bytes of text read so far.
    pub fn position(&self) -> u64 {
        self.rows.position() + self.layout.bytes_before as u64
    }

    /// The next valid row; `None` at the end.
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
                // The row holds headings instead of readings.
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
                    "one row of readings per line",
                )
                .hint("is a quotation mark never closed, or does the file have no line breaks?"),
            };
            trouble.at(self.source.clone())
        })
    }

    /// Adds an error to the list, if there is room.
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
        let found: String = cell::text(cell.trim_ascii()).chars().take(40).collect();
        self.tally.mistakes.push(Mistake {
            line: record.line,
            column: column + 1,
            name: self.layout.heads.get(column).cloned().unwrap_or_default(),
            found,
            expected,
            dropped,
        });
    }

    /// Reads the cells of the current row; returns a column whose cell has a unit different from that of the column.
    fn read_cells(&mut self, tells: Option<usize>) -> Result<Option<usize>, Wrong> {
        let mut mixed = None;
        let record = self.rows.record();
        for lane in &mut self.lanes {
            let (cell, unit) = match &self.layout.shape {
                Shape::Wide => (record.raw(lane.at), b"".as_slice()),
                shape => (
                    shape.cell(record, lane.at, tells),
                    shape.unit(record, lane.at, tells),
                ),
            };
            let trimmed = || same(cell.trim_ascii(), lane.cell.trim_ascii());
            lane.repeats = (same(cell, &lane.cell) || trimmed()) && same(unit, &lane.unit);
            if lane.repeats {
                continue;
            }
            if lane.column.open {
                let guess = lane.settle(cell.trim_ascii());
                self.layout.guesses.extend(guess);
            }
            let read = lane.column.read(cell.trim_ascii(), unit);
            let (value, other) = read.map_err(|e| (lane.at, e))?;
            if other {
                mixed = Some(lane.at);
            }
            lane.value = value;
            let (factor, zero) = lane.column.scale;
            let freezing =
                lane.column.signal.kind() == Unit::Temperature && (value - 273.15).abs() < 1e-6;
            lane.zero = (value - zero).abs() < 1e-9 * factor || freezing;
            lane.cell.clear();
            lane.cell.extend_from_slice(cell);
            lane.unit.clear();
            lane.unit.extend_from_slice(unit);
        }
        Ok(mixed)
    }

    /// Processes the current row. The error states what is wrong with it; it is `None` if the row holds headings
    /// instead of readings.
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
        let mixed = self.read_cells(tells).map_err(Some)?;
        let (time, step, gap) = self.advance(column, told)?;
        if let Some(column) = mixed {
            self.tally.mixed_units += 1;
            self.name(
                column,
                "the unit of the heading; the cell's own unit was used",
                false,
            );
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
}

/// Whether two cells are equal. Most cells are only a few bytes long, and comparing them as numbers of four bytes is ten
/// times faster than a call.
#[inline(always)]
fn same(a: &[u8], b: &[u8]) -> bool {
    if a.len() != b.len() {
        return false;
    }
    match (a.first_chunk::<4>(), a.last_chunk::<4>()) {
        (first @ Some(_), last) if a.len() <= 8 => {
            first == b.first_chunk() && last == b.last_chunk()
        }
        (Some(_), _) => a == b,
        _ => a.iter().zip(b).all(|(a, b)| a == b),
    }
}

#[cfg(test)]
mod tests {
    use super::super::names::Signal;
    use super::*;

    fn read(text: &[u8], choices: &Choices) -> (Vec<Sample>, Tally, Layout) {
        let mut reader = LogReader::open(text, "log.csv", choices).unwrap();
        let mut samples = Vec::new();
        while let Some(sample) = reader.next_row().unwrap() {
            samples.push(*sample);
        }
        (samples, reader.tally().clone(), reader.layout().clone())
    }

    pub(super) fn plain(text: &str) -> (Vec<Sample>, Tally, Layout) {
        read(text.as_bytes(), &Choices::default())
    }

    pub(super) fn coolant(samples: &[Sample]) -> Vec<f64> {
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
        // The user's settings have precedence over the unit in the rows.
        let choices = Choices {
            columns: vec!["coolant=ECT [°F]".into()],
            ..Choices::default()
        };
        let (samples, tally, _) = read(text.as_bytes(), &choices);
        // Calculated by hand: 90 °F is 32.2 °C.
        assert!((coolant(&samples)[0] - (90.0 - 32.0) / 1.8).abs() < 1e-6);
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
        assert!(said.found.contains("no time column"), "{said}");
        for text in ["", "\n\n", "just a line\n", "1,2\n3,4\n"] {
            assert!(open(text).is_err(), "{text}");
        }
    }
}
