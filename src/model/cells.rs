//! Reads a table written by hand: cells are separated by commas, semicolons or tabs, and lines that begin with `#` are
//! comments.

use crate::trouble::Trouble;
use std::borrow::Cow;
use std::ops::Range;

/// One cell, without surrounding quotes, and its position in the text.
pub(crate) struct Cell<'t> {
    pub words: Cow<'t, str>,
    pub span: Range<usize>,
}

/// One line of cells, and its position in the text.
pub(crate) struct Line<'t> {
    pub cells: Vec<Cell<'t>>,
    /// Number of the line, from 1.
    pub number: usize,
    pub span: Range<usize>,
}

/// A table.
pub(crate) struct Cells<'t> {
    /// Comments above the headings.
    pub about: Vec<&'t str>,
    /// The cell separator, as found in the heading row.
    pub separator: char,
    /// The first line that is neither empty nor a comment.
    pub head: Line<'t>,
    /// The lines below the headings that are neither empty nor comments.
    pub rows: Vec<Line<'t>>,
}

/// The lines of a text, each with its position in bytes, its text without line end and byte-order mark, and its number
/// from 1.
fn lines(text: &str) -> impl Iterator<Item = (usize, &str, usize)> {
    let mut from = 0;
    text.split_inclusive('\n')
        .zip(1..)
        .map(move |(raw, number)| {
            let whole = raw.trim_end_matches(['\n', '\r']);
            let line = whole.trim_start_matches('\u{feff}');
            let begin = from + whole.len() - line.len();
            from += raw.len();
            (begin, line, number)
        })
}

/// The text of a comment, without the `#`; `None` if the line is not a comment.
fn remark(line: &str) -> Option<&str> {
    Some(line.trim_start().strip_prefix('#')?.trim())
}

/// Whether a line is empty or has separators only.
fn is_empty(line: &str) -> bool {
    let is_gap = |c: char| c.is_whitespace() || [',', ';', '"'].contains(&c);
    line.chars().all(is_gap)
}

/// The first line of a text that is neither empty nor a comment; empty if there is none.
pub(crate) fn head_of(text: &str) -> &str {
    let mut said = lines(text).filter(|(_, line, _)| remark(line).is_none() && !is_empty(line));
    said.next().map_or("", |(_, line, _)| line)
}

impl<'t> Cells<'t> {
    /// Reads the table in a text; `None` if there are only empty lines and comments.
    pub fn read(text: &'t str) -> Option<Self> {
        let mut about = Vec::new();
        let mut found: Option<Self> = None;
        for (begin, line, number) in lines(text) {
            if let Some(remark) = remark(line) {
                if found.is_none() {
                    about.push(remark);
                }
            } else if is_empty(line) {
            } else if let Some(table) = &mut found {
                let row = Line::read(line, begin, number, table.separator);
                table.rows.push(row);
            } else {
                let separator = [';', '\t'].into_iter().find(|s| line.contains(*s));
                let separator = separator.unwrap_or(',');
                found = Some(Self {
                    about: std::mem::take(&mut about),
                    separator,
                    head: Line::read(line, begin, number, separator),
                    rows: Vec::new(),
                });
            }
        }
        found
    }
}

impl<'t> Line<'t> {
    fn read(line: &'t str, begin: usize, number: usize, separator: char) -> Self {
        let mut cells = Vec::new();
        let mut from = 0;
        while let Some(rest) = line.get(from..) {
            let length = length_of_first(rest, separator);
            let raw = rest.get(..length).unwrap_or(rest);
            let at = begin + from + raw.len() - raw.trim_start().len();
            cells.push(Cell {
                words: unquoted(raw.trim()),
                span: at..at + raw.trim().len(),
            });
            from += length + separator.len_utf8();
        }
        Self {
            cells,
            number,
            span: begin..begin + line.len(),
        }
    }

    /// The text of a cell; empty if the cell is missing.
    pub fn words(&self, place: usize) -> &str {
        self.cells.get(place).map_or("", |c| &c.words)
    }

    /// Returns an error if there are more cells than headings.
    pub fn fits(&self, heads: usize) -> Result<(), Trouble> {
        if self.cells.len() <= heads {
            return Ok(());
        }
        let found = format!("this row has {} cells", self.cells.len());
        Err(
            Trouble::input(found, format!("at most {heads}, one for each heading")).hint(
                "is there a decimal comma? write a decimal point, put the cell in quotes, or separate the cells with semicolons",
            ),
        )
    }
}

/// Length of the first cell, up to its separator; separators in quotes are ignored.
fn length_of_first(text: &str, separator: char) -> usize {
    let begins_quoted = text.trim_start_matches(' ').starts_with('"');
    let mut inside = false;
    for (at, sign) in text.char_indices() {
        if sign == '"' && begins_quoted {
            inside = !inside;
        } else if sign == separator && !inside {
            return at;
        }
    }
    text.len()
}

/// A cell without surrounding quotes; a doubled quote inside becomes one quote.
fn unquoted(cell: &str) -> Cow<'_, str> {
    let Some(inner) = cell.strip_prefix('"') else {
        return cell.into();
    };
    let inner = inner.strip_suffix('"').unwrap_or(inner).trim();
    if inner.contains('"') {
        inner.replace("\"\"", "\"").into()
    } else {
        inner.into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(line: &Line<'_>) -> Vec<String> {
        line.cells.iter().map(|c| c.words.to_string()).collect()
    }

    #[test]
    fn a_table_is_read_as_it_was_typed() {
        let text =
            "\u{feff}# mine\r\n\r\n a ; \"b;c\" ;d\r\n# more\n;;\n1;\"say \"\"so\"\"\";ü\n2;\n";
        let table = Cells::read(text).unwrap();
        assert_eq!(
            (table.about.as_slice(), table.separator),
            (&["mine"][..], ';')
        );
        assert_eq!(words(&table.head), ["a", "b;c", "d"]);
        assert_eq!(words(&table.rows[0]), ["1", "say \"so\"", "ü"]);
        assert_eq!(words(&table.rows[1]), ["2", ""]);
        assert_eq!(table.rows[1].words(2), "");
        assert_eq!((table.head.number, table.rows[0].number), (3, 6));
        let stands =
            |line: &Line<'_>, place: usize| text[line.cells[place].span.clone()].to_string();
        assert_eq!(stands(&table.head, 0), "a");
        assert_eq!(stands(&table.head, 1), "\"b;c\"");
        assert_eq!(stands(&table.rows[0], 2), "ü");
        assert_eq!(&text[table.rows[1].span.clone()], "2;");
        assert!(table.rows[0].fits(3).is_ok() && table.rows[0].fits(2).is_err());
    }

    #[test]
    fn nothing_is_no_table() {
        for text in ["", "\n\n", "# only a remark\n", " , ,\n", "\u{feff}"] {
            assert!(Cells::read(text).is_none(), "{text:?}");
            assert_eq!(head_of(text), "");
        }
    }

    #[test]
    fn odd_quotes_lose_no_cell_and_no_byte() {
        let one = |text: &str| words(&Cells::read(text).unwrap().head);
        assert_eq!(one("5\" hose,b"), ["5\" hose", "b"]);
        assert_eq!(one("\"a,b"), ["a,b"]);
        assert_eq!(one("x,\""), ["x", ""]);
        assert_eq!(one("x\t\"y\tz\"\t"), ["x", "y\tz", ""]);
    }
}
