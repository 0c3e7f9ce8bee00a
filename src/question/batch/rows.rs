//! Reads a table or JSON lines as a stream of rows.

use crate::trouble::Trouble;
use csv::{ByteRecord, Reader, ReaderBuilder, Trim};
use serde_json::{Map, Value};
use std::io::{BufRead, BufReader, Cursor, Read};

/// Maximum length of a line, bytes.
const LONGEST: u64 = 1 << 20;

/// The byte stream from which the cases are read.
type Bytes = Box<dyn Read + Send>;

/// A stream of rows.
pub(super) enum Rows {
    /// A table: its headings, and the reader of its rows.
    Table(Vec<String>, Box<Reader<Bytes>>),
    /// Rows of JSON objects, one per line.
    Lines(Box<dyn BufRead + Send>),
}

/// One row as read.
pub(super) enum Row {
    /// The cells of a table row.
    Cells(ByteRecord),
    /// A JSON object.
    Object(Map<String, Value>),
    /// An error message for an unreadable row.
    Broken(String),
}

impl Rows {
    /// Detects the format and starts reading.
    pub fn of(bytes: Bytes) -> Result<Self, Trouble> {
        let mut bytes = BufReader::with_capacity(1 << 16, bytes);
        let head = head(&mut bytes)?;
        let said = head.trim_start_matches('\u{feff}').trim_start();
        if said.is_empty() {
            let expected = "a line of column names with rows below it, or JSON lines";
            return Err(Trouble::input("the input is empty", expected));
        }
        let again = Cursor::new(head.clone().into_bytes()).chain(bytes);
        if said.starts_with('{') {
            return Ok(Self::Lines(Box::new(again)));
        }
        let separator = [b';', b'\t']
            .into_iter()
            .find(|s| said.as_bytes().contains(s));
        let bytes: Bytes = Box::new(again);
        let mut reader = ReaderBuilder::new()
            .delimiter(separator.unwrap_or(b','))
            .flexible(true)
            .trim(Trim::All)
            .comment(Some(b'#'))
            .from_reader(bytes);
        let heads = reader.headers().map_err(|e| unreadable(&e))?;
        let heads = heads.iter().map(String::from).collect();
        Ok(Self::Table(heads, Box::new(reader)))
    }

    /// The next row; `None` at the end.
    pub fn next(&mut self) -> Result<Option<Row>, Trouble> {
        match self {
            Self::Table(heads, reader) => {
                let mut record = ByteRecord::with_capacity(128, heads.len());
                let more = reader.read_byte_record(&mut record);
                Ok(more
                    .map_err(|e| unreadable(&e))?
                    .then_some(Row::Cells(record)))
            }
            Self::Lines(bytes) => loop {
                let Some(line) = line(bytes)? else {
                    return Ok(None);
                };
                if line.trim_ascii().is_empty() {
                    continue;
                }
                return Ok(Some(object(&line)));
            },
        }
    }

    /// Skips the next row; returns whether there was one.
    pub fn skip(&mut self) -> Result<bool, Trouble> {
        match self {
            Self::Table(..) => Ok(self.next()?.is_some()),
            Self::Lines(bytes) => loop {
                match line(bytes)? {
                    None => return Ok(false),
                    Some(line) if line.trim_ascii().is_empty() => {}
                    Some(_) => return Ok(true),
                }
            },
        }
    }
}

/// Reads up to the end of the first non-empty line.
fn head(bytes: &mut impl BufRead) -> Result<String, Trouble> {
    let mut text = String::new();
    while let Some(line) = line(bytes)? {
        let words = String::from_utf8_lossy(&line);
        text.push_str(&words);
        let words = words.trim_start_matches('\u{feff}').trim();
        if !words.is_empty() && !words.starts_with('#') {
            break;
        }
        if words.is_empty() {
            text.clear();
        }
    }
    Ok(text)
}

/// The next line with its line end; `None` at the end.
fn line(bytes: &mut impl BufRead) -> Result<Option<Vec<u8>>, Trouble> {
    let mut line = Vec::new();
    let read = bytes.take(LONGEST).read_until(b'\n', &mut line);
    let read = read.map_err(|e| unreadable(&e))?;
    if read as u64 == LONGEST && !line.ends_with(b"\n") {
        return Err(Trouble::input(
            "a line of more than 1 MB",
            "one case per line",
        ));
    }
    Ok((read > 0).then_some(line))
}

/// Parses a line as a JSON object.
fn object(line: &[u8]) -> Row {
    match serde_json::from_slice(line) {
        Ok(Value::Object(map)) => Row::Object(map),
        Ok(_) => Row::Broken("not a JSON object; expected {\"engine_speed_rpm\": 700, …}".into()),
        Err(e) => Row::Broken(format!("not valid JSON: {e}")),
    }
}

fn unreadable(e: &dyn std::fmt::Display) -> Trouble {
    Trouble::input(format!("cannot be read: {e}"), "a table or JSON lines")
}
