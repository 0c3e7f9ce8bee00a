//! Detects the shape of a file: one signal per column, one reading per row, or pairs of name and reading.

mod long;

use super::cell::{self, Marks};
use super::choices::Choices;
use super::layout::{Cells, Head};
use super::names::{self, Meaning, Signal};
use super::rows::{self, Record, Row};
use long::long;

/// The shape of a file: where a row holds its readings.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shape {
    /// One signal per column.
    Wide,
    /// One reading per row: positions of the name, of the value, and of the remaining columns (`own`).
    Long {
        own: Vec<usize>,
        name: usize,
        value: usize,
        /// Position of the unit of the reading, if rows have one.
        unit: Option<usize>,
        /// Whether the names are bare parameter numbers (PIDs).
        bare: bool,
    },
    /// Pairs of name and reading, with the sign `mark` between the two; a reading is found by its name, or by its
    /// position if the cell has no name.
    Pairs { mark: u8, places: Vec<Place> },
}

/// How a reading is found in a row of pairs.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Place {
    Named(Vec<u8>),
    At(usize),
}

impl Shape {
    /// The column (from 0) whose reading a row holds; `None` if every row holds all columns.
    #[inline]
    pub fn tells(&self, record: &Record, heads: &[String]) -> Option<usize> {
        let Self::Long { own, name, .. } = self else {
            return None;
        };
        let said = record.get(*name);
        let known = heads.iter().skip(own.len());
        let at = known.into_iter().position(|h| h.as_bytes() == said);
        Some(at.map_or(usize::MAX, |i| i + own.len()))
    }

    /// The cell of a column (from 0) in a row, possibly with blanks around it; `tells` is the result of [`Shape::tells`] for this row.
    #[inline(always)]
    pub fn cell<'a>(&self, record: &'a Record, at: usize, tells: Option<usize>) -> &'a [u8] {
        match self {
            Self::Wide => record.raw(at),
            Self::Long { own, value, .. } => match own.get(at) {
                Some(own) => record.get(*own),
                None if tells == Some(at) => record.get(*value),
                None => b"",
            },
            Self::Pairs { mark, places } => match places.get(at) {
                Some(Place::At(at)) => record.get(*at),
                Some(Place::Named(name)) => paired(record, *mark, name),
                None => b"",
            },
        }
    }
}

impl Shape {
    /// The unit given in a row for the reading in a column (from 0); empty if there is none.
    #[inline(always)]
    pub fn unit<'a>(&self, record: &'a Record, at: usize, tells: Option<usize>) -> &'a [u8] {
        match self {
            _ if tells != Some(at) => b"",
            Self::Long { unit, .. } => unit.map_or(b"", |u| record.get(u)),
            _ => b"",
        }
    }
}

/// The reading that is paired with a given name in a row; empty if there is none.
fn paired<'a>(record: &'a Record, mark: u8, name: &[u8]) -> &'a [u8] {
    let mut pairs = record.cells().filter_map(|c| pair(c, mark));
    pairs.find(|p| p.0 == name).map_or(b"", |p| p.1)
}

/// Splits a cell at `mark` into name and reading; `None` if it is not such a pair.
fn pair(cell: &[u8], mark: u8) -> Option<(&[u8], &[u8])> {
    let at = cell.iter().position(|c| *c == mark)?;
    let (name, value) = (cell[..at].trim_ascii(), cell[at + 1..].trim_ascii());
    let letters = name.first().is_some_and(|c| c.is_ascii_alphabetic());
    letters.then_some((name, value))
}

/// The headings found, and the first rows below them.
pub(super) struct Found {
    pub separator: u8,
    /// Another separator that gives as many known headings.
    pub other: Option<u8>,
    pub shape: Shape,
    pub heads: Vec<Head>,
    pub rows: Vec<Cells>,
    /// The line of the headings, from 1.
    pub line: u64,
    /// Number of lines and of bytes before the first row of data.
    pub lines_before: u64,
    pub bytes_before: usize,
}

impl Found {
    fn has(&self, wanted: &dyn Fn(&Head) -> bool) -> bool {
        self.heads.iter().any(wanted)
    }
}

pub(super) const SEPARATORS: [u8; 5] = *b",;\t|:";

/// Number of rows that are inspected to detect the shape.
const LOOK: usize = 400;
/// Number of lines that are searched for the headings.
const HEADINGS: usize = 60;
/// Number of rows inspected if each row holds one reading.
const LOOK_LONG: usize = 3000;

/// The column labels given by the user; column numbers are left out.
fn said(choices: &Choices) -> Vec<&str> {
    let labels = choices.columns.iter().filter_map(|c| c.split_once('='));
    labels
        .map(|l| l.1.trim())
        .filter(|l| l.parse::<usize>().is_err() && !l.is_empty())
        .collect()
}

/// Whether a cell is a number, possibly with a unit behind, or a time.
fn is_value(cell: &[u8]) -> bool {
    let cell = cell.trim_ascii();
    // `0C` is a number in hexadecimal, `1/min` a unit.
    let apart = |rest: &[u8]| cell[..cell.len() - rest.len()].ends_with(b" ") || rest[0] >= 128;
    let unit = |rest: &[u8]| apart(rest) && names::any_unit(&cell::text(rest));
    cell::number(cell, Marks::Decimal).is_some_and(|(_, rest)| rest.is_empty() || unit(rest))
        || cell::stamp(cell, true).is_some_and(|s| s.before.len() < 20)
}

/// Finds headings and rows in the first part of a file.
pub(super) fn find(chunk: &[u8], whole: bool, quoted: bool, choices: &Choices) -> Option<Found> {
    let said = said(choices);
    let coolant = |h: &Head| {
        matches!(h.meaning, Some((Meaning::Signal(Signal::Coolant), _)))
            || said.iter().any(|s| h.is(s))
    };
    let of = |most: usize, blanks: bool| -> Vec<(u8, Vec<Row>)> {
        let separators: Vec<u8> = match choices.delimiter {
            Some(one) => vec![one],
            None => SEPARATORS
                .into_iter()
                .chain(blanks.then_some(b' '))
                .collect(),
        };
        let split = |s: u8| (s, rows::split(chunk, whole, s, quoted, most));
        separators.into_iter().map(split).collect()
    };
    let tables = of(HEADINGS + LOOK, true);
    if let Some(pairs) = tables.iter().find_map(|(s, rows)| pairs(*s, rows)) {
        return Some(pairs);
    }
    let wide = wide(tables.into_iter().filter(|t| t.0 != b' ').collect(), &said);
    // A heading row has no values; a row with values belongs to a table of named readings.
    let sound = |w: &Found| {
        w.has(&coolant)
            && !w
                .heads
                .iter()
                .any(|h| is_value(h.name.as_bytes()) && h.meaning.is_none())
    };
    if wide.as_ref().is_some_and(sound) {
        return wide;
    }
    let tables = of(LOOK_LONG, false);
    let long = tables.iter().find_map(|(s, rows)| long(*s, rows, &said));
    long.or(wide)
}

/// Detects a table with one signal per column: chooses the separator and the line that give the most known headings.
fn wide(tables: Vec<(u8, Vec<Row>)>, said: &[&str]) -> Option<Found> {
    let mut best: Option<((usize, usize), usize, usize)> = None;
    let mut other = None;
    for (table, (separator, rows)) in tables.iter().enumerate() {
        // The search ends at the first readings below a coolant heading: headings further down start another session.
        let mut coolant = false;
        for (at, row) in rows.iter().take(HEADINGS).enumerate() {
            let cells = &row.cells;
            if coolant && cells.iter().any(|c| is_value(c)) {
                break;
            }
            if cells.len() < 2 || cells.len() > 2000 {
                continue;
            }
            let number = |c: &&Vec<u8>| {
                cell::number(c.trim_ascii(), Marks::Decimal)
                    .is_some_and(|(_, rest)| rest.is_empty())
                    && Head::read(c).meaning.is_none()
            };
            if cells.iter().filter(number).count() * 2 > cells.len() {
                continue;
            }
            let heads: Vec<Head> = cells.iter().map(|c| Head::read(c)).collect();
            let known = |h: &&Head| h.meaning.is_some() || said.iter().any(|s| h.is(s));
            let score = (heads.iter().filter(known).count(), cells.len());
            let named = |h: &Head| matches!(h.meaning, Some((Meaning::Signal(Signal::Coolant), _)));
            coolant |= score.0 >= 2 && heads.iter().any(named);
            match best {
                Some((b, t, _)) if score <= b => {
                    if score.0 >= 2 && score.0 == b.0 && t != table {
                        other = Some(*separator);
                    }
                }
                _ => {
                    best = Some((score, table, at));
                    other = None;
                }
            }
        }
    }
    let (_, table, at) = best?;
    let (separator, rows) = tables.into_iter().nth(table)?;
    let (from, to) = block(&rows, at);
    let heads = merged(rows.get(from..to)?, at - from);
    let last = rows.get(to - 1)?;
    Some(Found {
        separator,
        other,
        shape: Shape::Wide,
        heads,
        line: rows.get(at)?.line,
        lines_before: last.line,
        bytes_before: last.next,
        rows: rows
            .get(to..)?
            .iter()
            .take(LOOK)
            .map(|r| r.cells.clone())
            .collect(),
    })
}

/// Whether a row holds headings: it has the expected number of cells, contains words, and no values.
fn is_heading(row: &[Vec<u8>], wide: usize) -> bool {
    let words = row.iter().filter(|c| {
        let c = c.trim_ascii();
        !c.is_empty() && !cell::missing(c)
    });
    row.len() == wide && words.clone().count() >= 2 && !words.clone().any(|c| is_value(c))
}

/// The range of adjacent rows around the detected heading row that hold headings too, such as codes, labels or units.
fn block(rows: &[Row], at: usize) -> (usize, usize) {
    let wide = rows[at].cells.len();
    let (mut from, mut to) = (at, at + 1);
    while wide >= 3 && from > 0 && is_heading(&rows[from - 1].cells, wide) {
        from -= 1;
    }
    while let Some(row) = rows.get(to)
        && (is_heading(&row.cells, wide) || is_units(&row.cells))
    {
        to += 1;
    }
    (from, to)
}

/// Heading rows in which the name of a signal that stands above its own time column is moved to the column of its values.
fn beside_times(rows: &[Row]) -> Vec<Row> {
    let is_time = |at: usize| {
        let mut cells = rows.iter().filter_map(|r| r.cells.get(at));
        cells.any(|c| Head::read(c).means(Meaning::Time))
    };
    let mut moved = rows.to_vec();
    for row in &mut moved {
        for at in (1..row.cells.len()).rev() {
            let alone = row.cells[at].trim_ascii().is_empty();
            let above = &row.cells[at - 1];
            if alone && !above.is_empty() && !Head::read(above).tells_time() && is_time(at - 1) {
                row.cells.swap(at - 1, at);
            }
        }
    }
    moved
}

/// Merges several heading rows into one heading per column: the one that is recognised best, or the words of all rows.
/// The unit is taken from any row that has one.
fn merged(rows: &[Row], labels: usize) -> Vec<Head> {
    let wide = rows.iter().map(|r| r.cells.len()).max().unwrap_or(0);
    let rows = &beside_times(rows);
    let rest = rows.iter().enumerate();
    let units: Vec<bool> = rest
        .map(|(i, r)| i != labels && is_units(&r.cells))
        .collect();
    let column = |at: usize| {
        let texts = rows.iter().zip(&units);
        let texts = texts.filter_map(|(r, u)| Some((r.cells.get(at)?, *u)));
        let read = texts
            .clone()
            .filter(|(_, units)| !units)
            .map(|(c, _)| Head::read(c));
        let read: Vec<Head> = read.filter(|h| !h.name.is_empty()).collect();
        let sure = |h: &Head| h.meaning.map_or(0, |m| m.1);
        let unit = texts.filter_map(|(c, units)| {
            let text = cell::text(c).trim().to_string();
            let of_row = units && !cell::missing(text.as_bytes());
            (of_row || names::any_unit(&text)).then_some(text)
        });
        let unit = { unit }.next_back().unwrap_or_default();
        let all: Vec<&str> = read.iter().map(|h| h.name.as_str()).collect();
        let all = Head::read(all.join(" ").as_bytes());
        let best = read.into_iter().max_by_key(sure);
        let mut head = match best {
            Some(best) if best.meaning.is_some() || all.meaning.is_none() => best,
            _ => all,
        };
        if head.unit.is_empty() {
            head.unit = unit;
        }
        head
    };
    (0..wide).map(column).collect()
}

/// Whether a row holds units under the headings.
pub(super) fn is_units(row: &[Vec<u8>]) -> bool {
    let texts: Vec<String> = row
        .iter()
        .map(|c| cell::text(c).trim().to_string())
        .filter(|c| !c.is_empty() && !cell::missing(c.as_bytes()))
        .collect();
    let units = texts.iter().filter(|t| names::any_unit(t)).count();
    let times =
        { texts.iter() }.any(|t| !names::any_unit(t) && Head::read(t.as_bytes()).tells_time());
    units > 0 && !times && units * 2 >= texts.len() && !texts.iter().any(|t| is_value(t.as_bytes()))
}

/// Detects rows that hold pairs of name and reading.
fn pairs(separator: u8, rows: &[Row]) -> Option<Found> {
    let mark = b"=:".iter().copied().find(|mark| {
        let known = |c: &Vec<u8>| {
            pair(c, *mark).is_some_and(|(name, value)| {
                Head::read(name).meaning.is_some()
                    && is_value(value.split(|c| *c == b' ').next().unwrap_or(b""))
            })
        };
        let many = |r: &&Row| r.cells.iter().filter(|c| known(c)).count() >= 2;
        rows.iter().take(HEADINGS).filter(many).count() * 2 > rows.len().min(HEADINGS)
    })?;
    let body = rows
        .iter()
        .position(|r| r.cells.iter().filter(|c| pair(c, mark).is_some()).count() >= 2)?;
    let mut places: Vec<Place> = Vec::new();
    for row in rows[body..].iter().take(LOOK) {
        for (at, cell) in row.cells.iter().enumerate().filter(|(_, c)| !c.is_empty()) {
            let place = match pair(cell, mark) {
                Some((name, _)) => Place::Named(name.to_vec()),
                None => Place::At(at),
            };
            if places.len() < 500 && !places.contains(&place) {
                places.push(place);
            }
        }
    }
    let heads: Vec<Head> = places
        .iter()
        .map(|p| match p {
            Place::Named(name) => Head::read(name),
            Place::At(_) => Head::read(b""),
        })
        .collect();
    let of_row = |row: &Row| -> Cells {
        let cells = places.iter().map(|p| match p {
            Place::At(at) => row
                .cells
                .get(*at)
                .filter(|c| pair(c, mark).is_none())
                .cloned(),
            Place::Named(name) => {
                let all = row.cells.iter().filter_map(|c| pair(c, mark));
                let mut of_name = all.filter(|p| p.0 == name.as_slice());
                of_name.next().map(|p| p.1.to_vec())
            }
        });
        cells.map(Option::unwrap_or_default).collect()
    };
    let rows_seen = rows[body..].iter().take(LOOK).map(of_row).collect();
    Some(Found {
        separator,
        other: None,
        line: rows[body].line,
        lines_before: body.checked_sub(1).map_or(0, |i| rows[i].line),
        bytes_before: body.checked_sub(1).map_or(0, |i| rows[i].next),
        rows: rows_seen,
        heads,
        shape: Shape::Pairs { mark, places },
    })
}
