//! The tokenizer: splits the text of a log into rows of cells, in constant memory.
//!
//! A row that ends within the buffer and has neither quotes nor lone carriage returns is split in place, sixteen bytes
//! at a time; any other row is passed to `csv-core`.

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};
use std::io::{self, Read};

/// Bytes read at a time.
const BUFFER: usize = 1 << 18;

/// Maximum length of a row, bytes; a longer row is an error.
const LONGEST: usize = 1 << 20;
/// Maximum number of cells in a row; a row with more is an error.
const MOST_CELLS: usize = 1 << 14;

/// Number of bytes searched for separators and line ends at once.
const AT_ONCE: usize = 16;

/// A row: its cells without quotes.
#[derive(Clone, Debug)]
pub(super) struct Record {
    bytes: Vec<u8>,
    ends: Vec<usize>,
    count: usize,
    /// Number of bytes between cells: 1 if the separators were kept, otherwise 0.
    between: usize,
    /// Line number of the row, from 1.
    pub line: u64,
}

impl Record {
    fn new() -> Self {
        Self {
            bytes: vec![0; 1 << 12],
            ends: vec![0; 1 << 8],
            count: 0,
            between: 0,
            line: 0,
        }
    }

    /// Number of cells.
    pub fn len(&self) -> usize {
        self.count
    }

    /// A cell, trimmed; empty beyond the last cell.
    #[inline]
    pub fn get(&self, at: usize) -> &[u8] {
        if at >= self.count {
            return b"";
        }
        let from = match at {
            0 => 0,
            at => self.ends[at - 1] + self.between,
        };
        self.bytes[from..self.ends[at]].trim_ascii()
    }

    /// All cells.
    pub fn cells(&self) -> impl Iterator<Item = &[u8]> {
        (0..self.count).map(|i| self.get(i))
    }

    /// Records the end of a cell; false if the row is full.
    fn ends_at(&mut self, end: usize) -> bool {
        if self.count == self.ends.len() {
            if self.count >= MOST_CELLS {
                return false;
            }
            self.ends.resize(2 * self.count, 0);
        }
        self.ends[self.count] = end;
        self.count += 1;
        true
    }

    /// Splits the row at the start of `text` into cells, if it has no quotes and no unusual line end.
    fn split(&mut self, text: &[u8], separator: u8, quoted: bool) -> Split {
        self.count = 0;
        self.between = 1;
        let parts = |c: u8| (c == separator) | (c == b'\n') | (c == b'\r') | (quoted & (c == b'"'));
        for (number, bytes) in text.chunks(AT_ONCE).enumerate() {
            let block: [u8; AT_ONCE] = bytes.try_into().unwrap_or_else(|_| {
                let mut block = [0; AT_ONCE];
                block[..bytes.len()].copy_from_slice(bytes);
                block
            });
            let mut hits = u128::from_le_bytes(block.map(|c| u8::from(parts(c))));
            while hits != 0 {
                let within = hits.trailing_zeros() as usize / 8;
                hits &= hits - 1;
                let at = number * AT_ONCE + within;
                match block[within] {
                    _ if at >= text.len() => return Split::GoesOn,
                    b'\n' => return self.take(text, at, at + 1),
                    b'\r' if at + 1 == text.len() => return Split::GoesOn,
                    b'\r' if text[at + 1] == b'\n' => return self.take(text, at, at + 2),
                    c if c == separator && self.ends_at(at) => {}
                    _ => return Split::Other,
                }
            }
        }
        Split::GoesOn
    }

    /// Stores the row, whose cells except the last are already split.
    fn take(&mut self, text: &[u8], end: usize, next: usize) -> Split {
        if end == 0 {
            return Split::Row(next);
        }
        if !self.ends_at(end) {
            return Split::Other;
        }
        if self.bytes.len() < end {
            self.bytes.resize(end, 0);
        }
        self.bytes[..end].copy_from_slice(&text[..end]);
        Split::Row(next)
    }
}

/// Result of splitting the row at the start of a text.
enum Split {
    /// A plain row, possibly empty; the number is the position of the next row.
    Row(usize),
    /// A row whose end is not in the buffer yet.
    GoesOn,
    /// A row with quotes, with too many cells, or with an unusual line end.
    Other,
}

/// Why reading ended early.
#[derive(Debug)]
pub(super) enum Broken {
    /// The source could not be read.
    Source(io::Error),
    /// A row that is too long, starting at this line.
    TooLong(u64),
}

/// The rows of a source, read one by one.
pub(super) struct Rows<R> {
    source: R,
    core: Reader,
    separator: u8,
    quoted: bool,
    buffer: Vec<u8>,
    from: usize,
    to: usize,
    /// Number of bytes consumed before those in the buffer; `line` is the line number of the next row.
    before: u64,
    line: u64,
    record: Record,
}

impl<R: Read> Rows<R> {
    /// Rows with cells separated by `separator`; the first line is `line`.
    pub fn new(source: R, separator: u8, quoted: bool, line: u64) -> Self {
        let mut core = ReaderBuilder::new();
        Self {
            source,
            core: core.delimiter(separator).quoting(quoted).build(),
            separator,
            quoted,
            buffer: vec![0; BUFFER],
            from: 0,
            to: 0,
            before: 0,
            line,
            record: Record::new(),
        }
    }

    /// Bytes consumed so far.
    pub fn position(&self) -> u64 {
        self.before + self.from as u64
    }

    /// The last row read.
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// Replaces the last row read, and returns it.
    pub fn swap(&mut self, record: Record) -> Record {
        std::mem::replace(&mut self.record, record)
    }

    /// Reads a row; false at the end.
    pub fn read(&mut self) -> Result<bool, Broken> {
        loop {
            let text = &self.buffer[self.from..self.to];
            match self.record.split(text, self.separator, self.quoted) {
                Split::Row(next) => {
                    self.from += next;
                    self.record.line = self.line;
                    self.line += 1;
                    if self.record.count > 0 {
                        return Ok(true);
                    }
                }
                Split::GoesOn if text.len() < BUFFER && self.fill()? > 0 => {}
                Split::GoesOn | Split::Other => return self.read_by_core(),
            }
        }
    }

    /// Moves the rest of the buffer to its front and reads more; returns the number of bytes read.
    fn fill(&mut self) -> Result<usize, Broken> {
        self.buffer.copy_within(self.from..self.to, 0);
        self.before += self.from as u64;
        self.to -= self.from;
        self.from = 0;
        loop {
            match self.source.read(&mut self.buffer[self.to..]) {
                Ok(n) => {
                    self.to += n;
                    return Ok(n);
                }
                Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                Err(e) => return Err(Broken::Source(e)),
            }
        }
    }

    /// Reads a row that is not plain, with `csv-core`.
    fn read_by_core(&mut self) -> Result<bool, Broken> {
        let (mut length, mut count) = (0, 0);
        let begun = self.line;
        self.core.set_line(begun);
        self.record.between = 0;
        loop {
            if self.from == self.to {
                self.fill()?;
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
                    let newline = taken > 0 && self.buffer[self.from - 1] == b'\n';
                    self.line = self.core.line();
                    record.line = self.line - u64::from(newline);
                    return Ok(true);
                }
                ReadRecordResult::End => return Ok(false),
            }
        }
    }
}

/// A row from the beginning of a file.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// Cells of the row.
    pub cells: Vec<Vec<u8>>,
    /// Line number of the row, from 1.
    pub line: u64,
    /// The position of the next row.
    pub next: usize,
}

/// The rows at the beginning of a file; an incomplete last row is left out.
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

/// Whether quotes enclose cells: at the start of the text, every quote that is still open at a line end is closed on a
/// later line.
pub(super) fn quoted(chunk: &[u8]) -> bool {
    let quotes = chunk.iter().filter(|c| **c == b'"').count();
    if quotes == 0 {
        return false;
    }
    // A quote that is never closed would make the rest of the file a single cell.
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

    /// 16 MB without a line end are rejected as too long for a row, and are not kept in memory.
    #[test]
    fn an_endless_row_is_named_and_not_held() {
        let endless = io::repeat(b'1').take(16 << 20);
        let mut rows = Rows::new(io::Cursor::new(b"a,b\n").chain(endless), b',', true, 1);
        assert!(rows.read().unwrap());
        assert!(matches!(rows.read(), Err(Broken::TooLong(2))));
        assert!(rows.record.bytes.len() <= LONGEST && rows.position() < 4 << 20);
    }
}
