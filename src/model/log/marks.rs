//! Finds whether points and commas in a column are decimal marks or separate thousands.

use super::cell::{self, Marks};
use super::choices::{Choices, Guess, Guessed};
use super::layout::{Cells, Head};
use super::names::{self, Signal};

/// Fraction of a column's readings that are plausible for a signal; zero without readings.
pub(super) fn share_possible(
    rows: &[Cells],
    at: usize,
    signal: Signal,
    head: &Head,
    marks: Marks,
) -> f64 {
    let scale = names::scale(signal.kind(), &head.unit)
        .or_else(|| names::scale(signal.kind(), signal.usual_unit()))
        .unwrap_or((1.0, 0.0));
    let (least, most) = signal.range();
    let (mut all, mut good) = (0.0, 0.0);
    for cell in rows
        .iter()
        .filter_map(|r| r.get(at))
        .map(|c| c.trim_ascii())
    {
        if cell.is_empty() || cell::missing(cell) {
            continue;
        }
        all += 1.0;
        let value = cell::number(cell, marks).map(|n| n.0 * scale.0 + scale.1);
        good += f64::from(u8::from(value.is_some_and(|v| (least..=most).contains(&v))));
    }
    if all > 0.0 { good / all } else { 0.0 }
}

/// The digits, points, commas and signs at the start of a cell, without a unit that may follow.
fn figures(cell: &[u8]) -> &[u8] {
    let cell = cell.trim_ascii();
    let sign = |c: &&u8| matches!(c, b'0'..=b'9' | b'.' | b',' | b'-' | b'+');
    &cell[..cell.iter().take_while(sign).count()]
}

/// Evidence for the meaning of a sign (point or comma) in a column.
#[derive(Clone, Copy, Debug, Default)]
struct SeenMarks {
    /// Number of cells in which the sign can only be a decimal mark, and number in which it may separate thousands.
    decimals: usize,
    thousands: usize,
    /// Number of cells that have exactly three digits and no sign.
    whole: usize,
}

fn seen_marks<'a>(cells: impl Iterator<Item = &'a [u8]>, sign: u8) -> SeenMarks {
    let mut seen = SeenMarks::default();
    for cell in cells.map(figures) {
        let mut at = cell.iter().enumerate().filter(|(_, c)| **c == sign);
        let others = cell.iter().any(|c| matches!(c, b'.' | b',') && *c != sign);
        match (at.next(), at.next()) {
            (Some((at, _)), _) if cell::thousands(cell, at) => seen.thousands += 1,
            (Some(_), None) => seen.decimals += 1,
            (None, _) if !others && cell.len() == 3 => seen.whole += 1,
            _ => {}
        }
    }
    seen
}

/// The meaning of points and commas in the file as a whole, as far as the cells show it.
pub(super) fn file_marks(rows: &[Cells], separator: u8, choices: &Choices) -> Marks {
    match choices.decimal {
        Some(b'.') => return Marks::CommaThousands,
        Some(_) => return Marks::PointThousands,
        None => {}
    }
    let cells = || rows.iter().flatten().map(Vec::as_slice);
    let [commas, points] = [b',', b'.'].map(|sign| seen_marks(cells(), sign));
    match (
        commas.decimals > 0,
        points.decimals > 0 || points.thousands > 0,
    ) {
        (false, true) => Marks::CommaThousands,
        (true, false) => Marks::PointThousands,
        // Where commas separate cells, a comma within a quoted cell separates thousands unless some are decimal marks.
        (false, false) if separator == b',' => Marks::CommaThousands,
        _ => Marks::Decimal,
    }
}

/// Whether no cell of a column has a point or a comma: the first one that follows then settles what they mean.
pub(super) fn open(rows: &[Cells], at: usize, choices: &Choices) -> bool {
    let signs = |c: &Vec<u8>| figures(c).iter().any(|c| matches!(c, b'.' | b','));
    choices.decimal.is_none() && !rows.iter().filter_map(|r| r.get(at)).any(signs)
}

/// The meaning of points and commas by the first cell with one of them in a column that had neither, and whether it is a
/// guess; `None` if the cell has neither. `last` is the number before it, and `zero_up` whether a number that follows a
/// zero is rather in the thousands.
pub(super) fn settled(
    cell: &[u8],
    marks: Marks,
    last: f64,
    zero_up: bool,
) -> Option<(Marks, bool)> {
    let figures = figures(cell);
    let at = figures.iter().position(|c| matches!(c, b'.' | b','))?;
    let [thousands, decimal] = match figures[at] {
        b',' => [Marks::CommaThousands, Marks::PointThousands],
        _ => [Marks::PointThousands, Marks::CommaThousands],
    };
    if !cell::thousands(figures, at) {
        return Some((decimal, false));
    }
    if marks == thousands {
        return Some((thousands, false));
    }
    // Of the two readings, a factor of a thousand apart, the one that is nearer to the number before.
    let (value, _) = cell::number(figures, thousands)?;
    let up = match last.abs() {
        last if last > 0.0 => last * 1000_f64.sqrt() > value.abs(),
        _ => zero_up,
    };
    Some((if up { thousands } else { decimal }, true))
}

/// The guess about the first point or comma in a column, in words: what was taken, the alternative, and the decimal mark
/// that selects it.
pub(super) fn late_guess(what: Guessed, cell: &[u8], taken: Marks) -> Guess {
    let comma = figures(cell).iter().find(|c| matches!(c, b'.' | b',')) == Some(&b',');
    let word = if comma { "comma" } else { "point" };
    let thousands = comma == (taken == Marks::CommaThousands);
    let [parts, decimals] = [
        format!("the {word} separates thousands"),
        format!("the {word} is the decimal mark"),
    ];
    let (taken, other) = if thousands {
        (parts, decimals)
    } else {
        (decimals, parts)
    };
    let setting = if thousands == comma { "comma" } else { "point" };
    let (field, setting) = (Some("decimal"), setting.into());
    Guess {
        what,
        taken,
        other,
        field,
        setting,
    }
}

/// The meaning of points and commas in a column: a sign separates thousands if it precedes the last three digits in
/// some cells, and other cells have three digits and no sign.
pub(super) fn marks_of(rows: &[Cells], at: usize, file: Marks, choices: &Choices) -> Marks {
    if choices.decimal.is_some() {
        return file;
    }
    let cells = || rows.iter().filter_map(|r| r.get(at)).map(Vec::as_slice);
    let parts = |sign: u8| {
        let seen = seen_marks(cells(), sign);
        seen.decimals == 0 && seen.thousands > 0 && seen.whole > 0
    };
    match (parts(b','), parts(b'.')) {
        (true, false) => Marks::CommaThousands,
        (false, true) => Marks::PointThousands,
        _ => file,
    }
}

/// The column of a signal, with the data needed to interpret it.
pub(super) struct Place<'a> {
    /// The first rows.
    pub rows: &'a [Cells],
    /// Position of the column, from 0.
    pub at: usize,
    /// Signal of the column.
    pub signal: Signal,
    /// Heading of the column.
    pub head: &'a Head,
}

impl Place<'_> {
    fn cells(&self) -> impl Iterator<Item = &[u8]> {
        let cells = self.rows.iter().filter_map(|r| r.get(self.at));
        cells.map(Vec::as_slice)
    }

    /// Whether the sign may separate thousands in every cell that contains it.
    fn open(&self, sign: u8) -> bool {
        let seen = seen_marks(self.cells(), sign);
        seen.decimals == 0 && seen.thousands > 0
    }

    /// Whether the readings are plausible for the signal if points and commas have these meanings.
    fn likely(&self, marks: Marks) -> bool {
        if self.signal != Signal::EngineSpeed {
            return share_possible(self.rows, self.at, self.signal, self.head, marks) > 0.9;
        }
        // A running engine turns at hundreds of rpm: 1.45 in a cell cannot be its speed in rpm.
        let values = { self.cells() }.filter_map(|c| cell::number(c.trim_ascii(), marks));
        let running: Vec<f64> = values.map(|v| v.0).filter(|v| *v > 0.0).collect();
        running.iter().filter(|v| **v > 100.0).count() * 2 > running.len()
    }

    /// The meaning of points and commas in the column. If a sign may have either meaning in every cell, the more
    /// plausible readings decide, and the result is recorded as a guess.
    pub fn marks(&self, file: Marks, choices: &Choices, guesses: &mut Vec<Guess>) -> Marks {
        let found = marks_of(self.rows, self.at, file, choices);
        if choices.decimal.is_some() {
            return found;
        }
        let (thousands, word) = match (self.open(b','), self.open(b'.')) {
            (true, false) if found != Marks::CommaThousands => (Marks::CommaThousands, "comma"),
            (false, true) if found != Marks::PointThousands => (Marks::PointThousands, "point"),
            _ => return found,
        };
        if !self.likely(thousands) {
            return found;
        }
        let [decimals, parts] = [
            format!("the {word} is the decimal mark"),
            format!("the {word} separates thousands"),
        ];
        let (marks, taken, other, setting) = match (self.likely(found), word) {
            (false, word) => (thousands, parts, decimals, word),
            (true, "comma") => (found, decimals, parts, "point"),
            (true, _) => (found, decimals, parts, "comma"),
        };
        guesses.push(Guess {
            what: Guessed::Marks(self.signal),
            taken,
            other,
            field: Some("decimal"),
            setting: setting.into(),
        });
        marks
    }
}
