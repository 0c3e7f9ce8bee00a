//! The tokenizer: splits the text of a log into rows of cells, in constant memory.
//!
//! A row that ends within the buffer and has neither quotes nor lone carriage returns is split in place, eight
//! bytes at a time; any other row is passed to `csv-core`.

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};
use std::io::{self, Read};

/// Bytes read at a time.
const BUFFER: usize = 1 << 18;

/// Maximum length of a row, bytes; a longer row is an error.
const LONGEST: usize = 1 << 20;
/// Maximum number of cells in a row; a row with more is an error.
const MOST_CELLS: usize = 1 << 14;

/// A row: its cells without quotes.
#[derive(Clone, Debug)]
pub(super) struct Record {
    bytes: Vec<u8>,
    /// Where each cell begins, and where one after the last would.
    begins: Vec<usize>,
    /// Number of bytes between cells: 1 if the separators were kept, otherwise 0.
    between: usize,
    /// Line number of the row, from 1.
    pub line: u64,
}

impl Record {
    fn new() -> Self {
        Self {
            bytes: vec![0; 1 << 12],
            begins: vec![0],
            between: 0,
            line: 0,
        }
    }

    /// Number of cells.
    pub fn len(&self) -> usize {
        self.begins.len() - 1
    }

    /// A cell, trimmed; empty beyond the last cell.
    pub fn get(&self, at: usize) -> &[u8] {
        self.raw(at).trim_ascii()
    }

    /// A cell as it is written; empty beyond the last cell.
    #[inline(always)]
    pub fn raw(&self, at: usize) -> &[u8] {
        match self.begins.get(at..at + 2) {
            Some([from, next]) => &self.bytes[*from..*next - self.between],
            _ => b"",
        }
    }

    /// All cells.
    pub fn cells(&self) -> impl Iterator<Item = &[u8]> {
        (0..self.len()).map(|i| self.get(i))
    }

    /// Splits the row at the start of `text` into cells, if it has no quotes and no unusual line end.
    fn split(&mut self, text: &[u8], separator: u8, quoted: bool) -> Split {
        self.begins.truncate(1);
        self.between = 1;
        let quote = if quoted { b'"' } else { separator };
        let (mut rest, mut from) = (text, 0);
        while let Some((eight, after)) = rest.split_first_chunk() {
            let mut hits = marked(*eight, [separator, b'\n', b'\r', quote]);
            while hits != 0 {
                let within = hits.trailing_zeros() as usize / 8;
                hits &= hits - 1;
                let at = from + within;
                match eight[within] {
                    c if c == separator => self.begins.push(at + 1),
                    b'\n' => return self.take(text, at, at + 1),
                    b'\r' if text.get(at + 1) == Some(&b'\n') => {
                        return self.take(text, at, at + 2);
                    }
                    _ => return Split::Other,
                }
            }
            (rest, from) = (after, from + 8);
        }
        Split::GoesOn
    }

    /// Stores the row, whose cells except the last are already split.
    fn take(&mut self, text: &[u8], end: usize, next: usize) -> Split {
        if end == 0 {
            return Split::Row(next);
        }
        if self.len() >= MOST_CELLS {
            return Split::Other;
        }
        self.begins.push(end + 1);
        if self.bytes.len() < end {
            self.bytes.resize(end, 0);
        }
        self.bytes[..end].copy_from_slice(&text[..end]);
        Split::Row(next)
    }
}

/// The highest bit of each byte that is one of four ASCII characters.
#[inline(always)]
fn marked(eight: [u8; 8], wanted: [u8; 4]) -> u64 {
    const LOW: u64 = u64::from_ne_bytes([0x7F; 8]);
    let word = u64::from_le_bytes(eight);
    // The addition carries into the highest bit of each byte whose lower bits differ.
    let differs = |c: u8| ((word & LOW) ^ u64::from_ne_bytes([c; 8])) + LOW;
    let [a, b, c, d] = wanted.map(differs);
    !(a & b & c & d | word | LOW)
}

/// Result of splitting the row at the start of a text.
enum Split {
    /// A plain row, possibly empty; the number is the position of the next row.
    Row(usize),
    /// A row whose end is not in the buffer yet, or among the last seven bytes.
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
                    if self.record.len() > 0 {
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
        self.record.begins.push(0);
        loop {
            if self.from == self.to {
                self.fill()?;
            }
            let record = &mut self.record;
            let (result, taken, written, ended) = self.core.read_record(
                &self.buffer[self.from..self.to],
                &mut record.bytes[length..],
                &mut record.begins[1 + count..],
            );
            self.from += taken;
            length += written;
            count += ended;
            match result {
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull if record.bytes.len() < LONGEST => {
                    record.bytes.resize(2 * record.bytes.len(), 0);
                }
                ReadRecordResult::OutputEndsFull if record.len() < MOST_CELLS => {
                    record.begins.resize(2 * record.begins.len(), 0);
                }
                ReadRecordResult::OutputFull | ReadRecordResult::OutputEndsFull => {
                    return Err(Broken::TooLong(begun));
                }
                ReadRecordResult::Record => {
                    record.begins.truncate(1 + count);
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
