//! A readings file: TOML with `[[reading]]`, or CSV with the same names as column headings.
//!
//! In either format each reading becomes a row of cells, which keep their text and its position in the file; all errors
//! are found in one pass over the rows.

mod measured;
mod rows;
mod setting;

use super::notebook::in_order;
use super::{Book, Day, Reading, find};
use crate::model::{Caution, Machine, Reader};
use crate::trouble::{Trouble, Troubles};
use measured::measured;
pub use rows::COLUMNS;
use rows::{Row, csv_rows, is_csv, toml_rows};
use setting::{UNSURE, air, setting};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Maximum number of readings.
const MOST: usize = 200;

/// The readings of one machine.
#[derive(Clone, Debug, Default)]
pub struct Readings {
    /// Description of the readings; may be empty.
    pub name: String,
    /// Source of the readings; may be empty.
    pub status: String,
    /// The machine named in the file.
    pub machine: Option<String>,
    /// The oil named in the file: a name, a path or data sheet values on one line.
    pub oil: Option<String>,
    /// The readings.
    pub all: Vec<Reading>,
    /// The other contents of a notebook.
    pub book: Book,
    /// Cautions about readings that are accepted although they are unusual.
    pub notes: Vec<Caution>,
}

impl Readings {
    /// The oil named in a readings file; errors in the file are ignored.
    pub fn oil_of(source: &str, text: &str) -> Option<String> {
        if is_csv(source, text) {
            return None;
        }
        let (document, _) = DeTable::parse_recoverable(text);
        match document.get_ref().get("oil")?.get_ref() {
            DeValue::String(words) => Some(words.to_string()),
            _ => None,
        }
    }

    /// Parses the text of a file of readings taken on a machine; `source` is the file's name in messages.
    pub fn from_text(source: &str, text: &str, machine: &Machine) -> Result<Self, Troubles> {
        Self::read(source, text, machine, false)
    }

    /// Parses the text of a notebook, which may have no reading yet.
    pub fn from_notebook(source: &str, text: &str, machine: &Machine) -> Result<Self, Troubles> {
        Self::read(source, text, machine, true)
    }

    /// Replaces the other contents of a notebook by those of another text; by date, the works of that text come before or
    /// after the readings.
    pub fn take_book(&mut self, book: Book) {
        for reading in &mut self.all {
            let done = book.works.iter().filter(|w| reading.date >= Some(w.date));
            reading.works = done.count();
        }
        self.book = book;
    }

    fn read(
        source: &str,
        text: &str,
        machine: &Machine,
        allow_none: bool,
    ) -> Result<Self, Troubles> {
        let mut reader = Reader::new(source, text);
        let mut found = Self::default();
        let rows = if is_csv(source, text) {
            csv_rows(&mut reader, text)
        } else {
            toml_rows(&mut reader, &mut found)
        };
        let book = &found.book;
        let says_more = !book.known.is_empty() || !book.works.is_empty() || !book.logs.is_empty();
        if rows.is_empty() && reader.troubles.is_empty() && !says_more && !allow_none {
            let trouble = Trouble::input("no readings", "at least one [[reading]]")
                .hint("`oilwheel sheet MACHINE` prints the tests that you can make");
            reader.note(trouble, 0..0);
        }
        if rows.len() > MOST {
            let trouble = Trouble::input(
                format!("{} readings", rows.len()),
                format!("at most {MOST}"),
            );
            reader.note(trouble, 0..0);
            return Err(reader.troubles);
        }
        let mut starts = Vec::new();
        for row in &rows {
            let Some(reading) = reading(&mut reader, row, machine) else {
                continue;
            };
            if let Some((date, since)) = reading.date.zip(found.book.since)
                && date < since
            {
                let trouble = Trouble::input(
                    format!("a reading dated {date}, before `since`"),
                    format!(
                        "{since} or later: only since then has the machine had its present form"
                    ),
                );
                reader.note(trouble, row.span.clone());
            }
            found.all.push(reading);
            starts.push(row.span.start);
        }
        if !reader.troubles.is_empty() {
            return Err(reader.troubles);
        }
        count_works(&mut found.all, &starts, &found.book);
        found.notes.extend(repeats(&found.all));
        Ok(found)
    }
}

/// Parses one row; errors are recorded.
fn reading(reader: &mut Reader<'_>, row: &Row, machine: &Machine) -> Option<Reading> {
    let before = reader.troubles.len();
    let probe = match row.get("test") {
        Some((key, span)) => note(reader, span, find(key)),
        None => note(
            reader,
            row.span.clone(),
            Err(Trouble::input("a reading without `test`", COLUMNS[0].1)),
        ),
    };
    let probe = probe?;
    let measured = measured(reader, row, probe);
    let setting = setting(reader, row, probe, machine);
    let error = measured?;
    let (mut setting, engine_half, oil_temp_half) = setting?;
    let air_half = air(reader, row, machine, &mut setting)?;
    let (date, healthy) = (day(reader, row)?, when(reader, row)?);
    let unsure = matches!(row.get("command"), Some((UNSURE, _)));
    let commanded = row.get("command").is_some() && setting.command >= 1.0 && !unsure;
    (reader.troubles.len() == before).then_some(Reading {
        probe,
        value: error.value,
        half: error.half,
        uniform: error.uniform,
        at_least: error.at_least || unsure,
        unsure,
        by: error.by,
        setting,
        engine_half,
        oil_temp_half,
        air_half,
        commanded,
        date,
        works: 0,
        healthy,
    })
}

/// The date of a reading, if given.
fn day(reader: &mut Reader<'_>, row: &Row) -> Option<Option<Day>> {
    match row.get("date") {
        Some((words, span)) => note(reader, span, Day::read(words)).map(Some),
        None => Some(None),
    }
}

/// Whether the machine was healthy at the time of the reading.
fn when(reader: &mut Reader<'_>, row: &Row) -> Option<bool> {
    let (words, span) = match row.get("when") {
        Some(given) => given,
        None => return Some(false),
    };
    let read = match words {
        "healthy" => Ok(true),
        "in question" => Ok(false),
        _ => Err(Trouble::input(
            format!("`{words}`"),
            "`healthy` or `in question`",
        )),
    };
    note(reader, span, read)
}

/// Returns the value of a result; an error is recorded at position `span`.
fn note<T>(reader: &mut Reader<'_>, span: Range<usize>, result: Result<T, Trouble>) -> Option<T> {
    result.map_err(|t| reader.note(t, span)).ok()
}

/// Counts the works before each reading; `starts` are the positions of the readings in the text.
fn count_works(all: &mut [Reading], starts: &[usize], book: &Book) {
    let dates = all.iter().map(|r| r.date).zip(starts.iter().copied());
    let works = book.works.iter().map(|w| (Some(w.date), w.at));
    let mut done = 0;
    for n in in_order(dates.chain(works).collect::<Vec<_>>().into_iter()) {
        match all.get_mut(n) {
            Some(reading) => reading.works = done,
            None => done += 1,
        }
    }
}

/// Cautions about tests made more than once in the same condition, with no repair in between.
fn repeats(all: &[Reading]) -> Vec<Caution> {
    let mut notes = Vec::new();
    for (i, one) in all.iter().enumerate() {
        for other in &all[i + 1..] {
            if other.probe.key == one.probe.key
                && !(one.unsure || other.unsure)
                && other.setting == one.setting
                && other.healthy == one.healthy
                && other.works == one.works
            {
                notes.push(Caution::ReadTwice {
                    test: one.probe.key,
                    kind: one.probe.what.kind(),
                    values: [one, other].map(|r| (r.value, r.half)),
                    contradict: (one.value - other.value).abs() > one.half + other.half,
                });
            }
        }
    }
    notes
}
