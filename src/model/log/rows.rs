//! The one tokenizer: rows of cells, on `csv-core`, in memory that does not grow.

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};
use std::io::{self, Read};

/// Bytes read at a time.
const BUFFER: usize = 1 << 18;

/// The longest row, bytes, and its most cells: what is longer is no row.
const LONGEST: usize = 1 << 20;
/// See [`LONGEST`].
const MOST_CELLS: usize = 1 << 14;

/// A row: its cells without quotes.
#[derive(Clone, Debug)]
pub(super) struct Record {
    bytes: Vec<u8>,
    ends: Vec<usize>,
    count: usize,
    /// Its line, from 1.
    pub line: u64,
}

impl Record {
    fn new() -> Self {
        Self {
            bytes: vec![0; 1 << 12],
            ends: vec![0; 1 << 8],
            count: 0,
            line: 0,
        }
    }

    /// How many cells it has.
    pub fn len(&self) -> usize {
        self.count
    }

    /// A cell without the blanks around it; nothing past the last.
    pub fn get(&self, at: usize) -> &[u8] {
        if at >= self.count {
            return b"";
        }
        let from = if at == 0 { 0 } else { self.ends[at - 1] };
        self.bytes[from..self.ends[at]].trim_ascii()
    }

    /// All cells.
    pub fn cells(&self) -> impl Iterator<Item = &[u8]> {
        (0..self.count).map(|i| self.get(i))
    }
}

/// Why reading ends before its time.
#[derive(Debug)]
pub(super) enum Broken {
    /// The source.
    Source(io::Error),
    /// A row that is too long to be one, from this line on.
    TooLong(u64),
}

/// Rows of a source.
pub(super) struct Rows<R> {
    source: R,
    core: Reader,
    buffer: Vec<u8>,
    from: usize,
    to: usize,
    before: u64,
    record: Record,
}

impl<R: Read> Rows<R> {
    /// Rows whose cells are parted by `separator`; the first line is `line`.
    pub fn new(source: R, separator: u8, quoted: bool, line: u64) -> Self {
        let mut core = ReaderBuilder::new()
            .delimiter(separator)
            .quoting(quoted)
            .build();
        core.set_line(line);
        Self {
            source,
            core,
            buffer: vec![0; BUFFER],
            from: 0,
            to: 0,
            before: 0,
            record: Record::new(),
        }
    }

    /// Bytes taken in so far.
    pub fn position(&self) -> u64 {
        self.before + self.from as u64
    }

    /// The row that was read last.
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// Puts a row in the place of the one that was read last, and gives that.
    pub fn swap(&mut self, record: Record) -> Record {
        std::mem::replace(&mut self.record, record)
    }

    /// Reads a row; false at the end.
    pub fn read(&mut self) -> Result<bool, Broken> {
        let (mut length, mut count) = (0, 0);
        let begun = self.core.line();
        loop {
            if self.from == self.to {
                self.before += self.to as u64;
                self.from = 0;
                self.to = loop {
                    match self.source.read(&mut self.buffer) {
                        Ok(n) => break n,
                        Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                        Err(e) => return Err(Broken::Source(e)),
                    }
                };
            }
            let record = &mut self.record;
            let (result, taken, written, ended) = self.core.read_record(
                &self.buffer[self.from..self.to],
                &mut record.bytes[length..],
                &mut record.ends[count..],
            );
            self.from += taken;
            length += written;
            count += ended;
            match result {
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull if record.bytes.len() < LONGEST => {
                    record.bytes.resize(2 * record.bytes.len(), 0);
                }
                ReadRecordResult::OutputEndsFull if record.ends.len() < MOST_CELLS => {
                    record.ends.resize(2 * record.ends.len(), 0);
                }
                ReadRecordResult::OutputFull | ReadRecordResult::OutputEndsFull => {
                    return Err(Broken::TooLong(begun));
                }
                ReadRecordResult::Record => {
                    record.count = count;
                    let newline = self.from > 0 && self.buffer[self.from - 1] == b'\n' && taken > 0;
                    record.line = self.core.line() - u64::from(newline);
                    return Ok(true);
                }
                ReadRecordResult::End => return Ok(false),
            }
        }
    }
}

/// A row of the first stretch of a file.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// Its cells.
    pub cells: Vec<Vec<u8>>,
    /// Its line, from 1.
    pub line: u64,
    /// Where the next begins.
    pub next: usize,
}

/// The rows of the first stretch of a file; the last only where it is whole.
pub(super) fn split(
    chunk: &[u8],
    whole: bool,
    separator: u8,
    quoted: bool,
    most: usize,
) -> Vec<Row> {
    let mut rows = Rows::new(chunk, separator, quoted, 1);
    let mut all = Vec::new();
    while all.len() < most && matches!(rows.read(), Ok(true)) {
        let next = rows.position() as usize;
        if next == chunk.len() && !whole && !chunk.ends_with(b"\n") {
            break;
        }
        let cells = rows.record.cells().map(<[u8]>::to_vec).collect();
        all.push(Row {
            cells,
            line: rows.record.line,
            next,
        });
    }
    all
}

/// Whether quotes hold cells together: each that begins a cell is closed again soon, or the text ends inside the last.
pub(super) fn quoted(chunk: &[u8]) -> bool {
    let quotes = chunk.iter().filter(|c| **c == b'"').count();
    if quotes == 0 {
        return false;
    }
    // A quote that is never closed would swallow the rest of the file.
    let lines = chunk.split(|c| *c == b'\n').take(400);
    let odd = lines
        .filter(|l| l.iter().filter(|c| **c == b'"').count() % 2 == 1)
        .count();
    odd % 2 == 0 && odd <= 8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_of_a_row_and_its_line() {
        let text = b"a,\"b\nc\",d\r\n\r\n\"1,450\",960\n";
        let rows = split(text, true, b',', true, 9);
        let cells: Vec<Vec<&str>> = rows
            .iter()
            .map(|r| {
                r.cells
                    .iter()
                    .map(|c| std::str::from_utf8(c).unwrap())
                    .collect()
            })
            .collect();
        assert_eq!(cells[1], ["1,450", "960"], "{cells:?}");
        assert_eq!((rows[1].line, rows[1].next), (4, text.len()));
    }

    /// An endless row: 16 MB without an end are no row, and are not held.
    #[test]
    fn an_endless_row_is_named_and_not_held() {
        let endless = io::repeat(b'1').take(16 << 20);
        let mut rows = Rows::new(io::Cursor::new(b"a,b\n").chain(endless), b',', true, 1);
        assert!(rows.read().unwrap());
        assert!(matches!(rows.read(), Err(Broken::TooLong(2))));
        assert!(rows.record.bytes.len() <= LONGEST && rows.position() < 4 << 20);
    }
}
