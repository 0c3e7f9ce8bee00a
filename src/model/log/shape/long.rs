//! Reads a table with one reading per row: finds the column with the name of the reading, and the column with its
//! value.

use super::{Found, Shape, is_heading, is_value};
use crate::model::log::cell::{self, Marks};
use crate::model::log::layout::{Cells, Head};
use crate::model::log::names::{self, Meaning, Signal};
use crate::model::log::rows::Row;

/// Detects a table with one reading per row.
pub(super) fn long(separator: u8, rows: &[Row], said: &[&str]) -> Option<Found> {
    let mut widths: Vec<usize> = rows.iter().map(|r| r.cells.len()).collect();
    widths.sort_unstable();
    let wide = *widths.get(widths.len() / 2)?;
    if !(3..=12).contains(&wide) {
        return None;
    }
    // The body begins at the first row with two values.
    let values = |r: &Row| r.cells.iter().filter(|c| is_value(c)).count();
    let body = rows
        .iter()
        .position(|r| r.cells.len() == wide && values(r) >= 2)?;
    let all: Vec<&Row> = rows[body..]
        .iter()
        .filter(|r| r.cells.len() == wide)
        .collect();
    let above: Option<&Row> = body
        .checked_sub(1)
        .map(|i| &rows[i])
        .filter(|r| is_heading(&r.cells, wide));
    let table = Body { wide, above, all };
    let (name, bare, names) = table.names(said)?;
    let (value, unit) = table.value_and_unit(name)?;
    let all = &table.all;
    let own: Vec<usize> = (0..wide)
        .filter(|at| ![Some(name), Some(value), unit].contains(&Some(*at)))
        .collect();
    let mut heads: Vec<Head> = own.iter().map(|at| table.head(*at)).collect();
    heads.extend(names.iter().map(|n| {
        let mut head = named(n, bare);
        let first = all.iter().find(|r| r.cells[name] == *n);
        if let (true, Some(unit), Some(row)) = (head.unit.is_empty(), unit, first) {
            head.unit = cell::text(&row.cells[unit]).trim().to_string();
        }
        head
    }));
    let virtual_row = |row: &&Row| -> Cells {
        let mut cells = vec![Vec::new(); heads.len()];
        for (cell, at) in cells.iter_mut().zip(&own) {
            cell.clone_from(&row.cells[*at]);
        }
        let which = names.iter().position(|n| *n == row.cells[name]);
        if let Some(cell) = which.and_then(|w| cells.get_mut(own.len() + w)) {
            cell.clone_from(&row.cells[value]);
        }
        cells
    };
    let rows_seen = all.iter().map(virtual_row).collect();
    Some(Found {
        separator,
        other: None,
        line: above.map_or(1, |r| r.line),
        lines_before: body.checked_sub(1).map_or(0, |i| rows[i].line),
        bytes_before: body.checked_sub(1).map_or(0, |i| rows[i].next),
        rows: rows_seen,
        heads,
        shape: Shape::Long {
            own,
            name,
            value,
            unit,
            bare,
        },
    })
}

/// The rows of a table with one reading per row.
struct Body<'a> {
    /// Number of cells in a row.
    wide: usize,
    /// The row of headings, if there is one.
    above: Option<&'a Row>,
    all: Vec<&'a Row>,
}

impl Body<'_> {
    /// Fraction of a column's cells that satisfy `of`.
    fn share(&self, at: usize, of: impl Fn(&[u8]) -> bool) -> f64 {
        self.all.iter().filter(|r| of(&r.cells[at])).count() as f64 / self.all.len() as f64
    }

    /// The heading of a column.
    fn head(&self, at: usize) -> Head {
        Head::read(self.above.map_or(&b""[..], |r| &r.cells[at]))
    }

    /// Whether the heading of column `at` begins with one of these words.
    fn word(&self, at: usize, words: &[&str]) -> bool {
        let name = self.head(at).name.to_lowercase();
        words.iter().any(|w| name.starts_with(w))
    }

    /// Finds the column with the names of the readings; returns its position, whether the names are bare parameter
    /// numbers (PIDs), and the names.
    fn names(&self, said: &[&str]) -> Option<(usize, bool, Vec<Vec<u8>>)> {
        (0..self.wide).find_map(|at| {
            let bare = self.word(at, &["pid"]);
            let texts = bare || self.share(at, |c| !is_value(c) && !c.is_empty()) > 0.9;
            let names = texts.then(|| self.names_in(at, bare, said))??;
            Some((at, bare, names))
        })
    }

    /// The different names in a column, if they repeat often enough and the coolant is among them.
    fn names_in(&self, at: usize, bare: bool, said: &[&str]) -> Option<Vec<Vec<u8>>> {
        let mut names: Vec<Vec<u8>> = Vec::new();
        for row in &self.all {
            let name = &row.cells[at];
            if !name.is_empty() && !names.contains(name) && names.len() < 400 {
                names.push(name.clone());
            }
        }
        let coolant = |n: &Vec<u8>| {
            let head = named(n, bare);
            matches!(head.meaning, Some((Meaning::Signal(Signal::Coolant), _)))
                || said.iter().any(|s| head.is(s))
        };
        let repeated = names.len() * 3 <= self.all.len().max(3);
        (repeated && names.iter().any(coolant)).then_some(names)
    }

    /// Finds the column with the values and the column with their units; `name` is the column with the names.
    fn value_and_unit(&self, name: usize) -> Option<(usize, Option<usize>)> {
        let is_number = |c: &[u8]| cell::number(c, Marks::Decimal).is_some();
        let numeric: Vec<usize> = (0..self.wide)
            .filter(|at| *at != name && self.share(*at, is_number) > 0.5)
            .collect();
        let called = numeric
            .iter()
            .copied()
            .find(|at| self.word(*at, &["value", "val", "wert", "reading"]));
        let after = numeric.iter().copied().find(|at| *at > name);
        let value = called.or(after)?;
        let unit = (0..self.wide).find(|at| {
            ![name, value].contains(at)
                && self.share(*at, |c| names::any_unit(&cell::text(c))) > 0.3
                && self.share(*at, is_value) < 0.1
        });
        Some((value, unit))
    }
}

/// The heading that corresponds to the name of a reading.
pub(super) fn named(name: &[u8], bare: bool) -> Head {
    let mut head = Head::read(name);
    if bare && head.meaning.is_none() {
        let text = [b"pid ", name].concat();
        head.meaning = Head::read(&text).meaning;
    }
    head
}
