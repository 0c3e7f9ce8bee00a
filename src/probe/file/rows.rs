//! Splits a readings file into rows, each a list of cells that keep their text and its position in the file.

use super::Readings;
use crate::model::{Cells, Reader, Section, head_of};
use crate::probe::Book;
use crate::probe::notebook::HEADS;
use crate::trouble::Trouble;
use std::ops::Range;
use toml::de::DeValue;

/// The fields of a reading: the keys under `[[reading]]` or the column headings of a CSV, with their meaning.
pub const COLUMNS: [(&str, &str); 18] = [
    ("test", "key of the test, as printed on the test sheet"),
    ("value", "the value read, with its unit, such as 640 rpm"),
    ("error", "uncertainty of the value, such as 10 rpm or 2 %"),
    (
        "instrument",
        "instrument used, if no uncertainty is given: photo-tachometer, gauge-class-1.6 …",
    ),
    (
        "full_scale",
        "full scale of a gauge or flow meter, such as 250 bar",
    ),
    (
        "blades",
        "number of blades, if every blade was counted; the value is divided by it",
    ),
    (
        "engine_speed",
        "engine speed, if it differs from that of the test, such as 2100 rpm",
    ),
    (
        "oil_temp",
        "oil temperature, if it differs from that of the test, such as 76 °C",
    ),
    (
        "thermometer",
        "thermometer used for the oil, such as infrared or thermocouple",
    ),
    (
        "air_temp",
        "ambient temperature, if known, such as 24 °C; not for coolant tests",
    ),
    (
        "command",
        "fan command, if it differs from that of the test: 0 to 1, full, half or least; \"not sure\" if it is uncertain whether full fan was commanded",
    ),
    (
        "ambient",
        "for coolant tests: ambient temperature, such as 31 °C",
    ),
    (
        "road_speed",
        "for coolant tests: road speed, if it differs from that of the test, such as 90 km/h",
    ),
    (
        "grade",
        "for coolant tests: grade, if it differs from that of the test, such as 6 %",
    ),
    (
        "trailer",
        "for coolant tests: mass of the trailer, if there was one, such as 1500 kg",
    ),
    (
        "air_conditioning",
        "for coolant tests: 0 (off) to 1 (on), if it differs from that of the test",
    ),
    ("date", "date of the reading, such as 2026-05-02"),
    (
        "when",
        "condition of the machine at the time: healthy, or in question",
    ),
];

/// One cell: its key, its text as in the file, and the position of the text.
pub(super) struct Cell {
    key: String,
    words: String,
    span: Range<usize>,
}

/// One reading: its cells, and its position in the file.
pub(super) struct Row {
    pub(super) cells: Vec<Cell>,
    pub(super) span: Range<usize>,
}

impl Row {
    /// The text of the cell with a given key; `None` if the cell is empty or missing.
    pub(super) fn get(&self, key: &str) -> Option<(&str, Range<usize>)> {
        let cell = self.cells.iter().find(|c| c.key == key)?;
        let words = cell.words.trim();
        (!words.is_empty()).then(|| (words, cell.span.clone()))
    }

    /// The position of the cell for the first of `keys` that is given; if none is given, the position of the whole
    /// reading.
    pub(super) fn place_of(&self, keys: &[&str]) -> Range<usize> {
        let given = keys.iter().find_map(|key| self.get(key));
        given.map_or(self.span.clone(), |(_, span)| span)
    }
}

/// Whether a file of readings is a CSV table rather than TOML.
pub(super) fn is_csv(source: &str, text: &str) -> bool {
    let head = head_of(text);
    let by_head = head.trim_start_matches('"').starts_with("test") && !head.contains('=');
    source.to_lowercase().ends_with(".csv") || by_head
}

/// Splits a TOML text into one row per reading, and stores its other contents in `found`.
pub(super) fn toml_rows(reader: &mut Reader<'_>, found: &mut Readings) -> Vec<Row> {
    let document = reader.document();
    let all = Section::whole(&document);
    let expected = "[[reading]], [known], [[work]], [[log]], or a key from the top of a notebook";
    reader.refuse_unknown(&all, &HEADS, expected);
    found.book = Book::read(reader, &all);
    let mut word = |key: &str| reader.words(&all, key).map(|(w, _)| w.to_string());
    found.name = word("name").unwrap_or_default();
    found.status = word("status").unwrap_or_default();
    found.machine = word("machine");
    found.oil = word("oil");
    let Some((name, value)) = all.table.get_key_value("reading") else {
        return Vec::new();
    };
    let DeValue::Array(items) = value.get_ref() else {
        let trouble = Trouble::input(
            "`reading` is not a list",
            "[[reading]] in double brackets before each reading",
        );
        reader.note(trouble, name.span());
        return Vec::new();
    };
    let mut rows = Vec::new();
    for item in items.iter() {
        let DeValue::Table(table) = item.get_ref() else {
            reader.note(
                Trouble::input(
                    "a reading that is not a table",
                    "[[reading]] with `test` and `value`",
                ),
                item.span(),
            );
            continue;
        };
        let section = Section {
            table,
            span: item.span(),
        };
        rows.push(toml_row(reader, &section));
    }
    rows
}

/// One reading.
fn toml_row<'t>(reader: &mut Reader<'t>, section: &Section<'_, 't>) -> Row {
    reader.refuse_unknown(section, &COLUMNS.map(|c| c.0), "a key of a reading");
    let cells = section
        .table
        .iter()
        .filter_map(|(key, value)| {
            let words = match value.get_ref() {
                DeValue::String(words) => words.to_string(),
                DeValue::Integer(number) => number.to_string(),
                DeValue::Float(number) => number.to_string(),
                DeValue::Datetime(day) if key.get_ref() == "date" => day.to_string(),
                _ => {
                    let found = format!("`{}` is neither text nor a number", key.get_ref());
                    reader.note(Trouble::input(found, "a text in quotes"), value.span());
                    return None;
                }
            };
            Some(Cell {
                key: key.get_ref().to_string(),
                words,
                span: value.span(),
            })
        })
        .collect();
    Row {
        cells,
        span: section.span.clone(),
    }
}

/// Splits a CSV table into one row per reading.
pub(super) fn csv_rows(reader: &mut Reader<'_>, text: &str) -> Vec<Row> {
    let Some(table) = Cells::read(text) else {
        return Vec::new();
    };
    let known = COLUMNS.map(|c| c.0);
    for head in &table.head.cells {
        if !known.contains(&&*head.words) {
            let hint = match crate::trouble::near(&head.words, known) {
                Some(k) => format!("did you mean `{k}`?"),
                None => format!("known keys: {}", known.join(", ")),
            };
            let found = format!("a column headed `{}`", head.words);
            let trouble = Trouble::input(found, "a key of a reading").hint(hint);
            reader.note(trouble, head.span.clone());
        }
    }
    let mut rows = Vec::new();
    for line in &table.rows {
        if let Err(trouble) = line.fits(table.head.cells.len()) {
            reader.note(trouble, line.span.clone());
            continue;
        }
        let cells = table.head.cells.iter().zip(&line.cells);
        let cells = cells.map(|(head, cell)| Cell {
            key: head.words.to_string(),
            words: cell.words.to_string(),
            span: cell.span.clone(),
        });
        rows.push(Row {
            cells: cells.collect(),
            span: line.span.clone(),
        });
    }
    rows
}
