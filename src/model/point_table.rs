//! Reads a maker's table of data points: the columns are named, and the units are in the cells or in the headings. Each
//! error is reported at its cell.

use super::cells::{Cells, Line};
use super::read::Reader;
use crate::quantity::{Kind, Measure, Units, parse, parse_in};
use crate::trouble::Trouble;
use std::ops::Range;

/// A column: its heading, kind of quantity, minimum, maximum, and an example.
pub type PointColumn = (&'static str, Kind, f64, f64, &'static str);

/// Maximum number of points.
const MOST: usize = 2000;

/// The columns of a table, and groups of columns: every row needs a value from at least one column of each group.
pub(super) struct Shape {
    pub columns: &'static [PointColumn],
    pub needs: &'static [&'static [&'static str]],
}

/// One row of the table.
pub(super) struct PointRow {
    /// Line number of the row in the table, from 1.
    pub line: usize,
    /// The values by column, SI.
    pub values: Vec<Option<Measure>>,
    /// The position of each cell in the text, by column.
    pub spans: Vec<Range<usize>>,
}

/// The position of a column in the table, and the unit in its heading; `None` if the table lacks the column.
type Place<'t> = Option<(usize, &'t str)>;

impl Shape {
    /// Reads the rows, and records all errors; without errors there are at least three rows.
    pub fn read(&self, reader: &mut Reader<'_>, text: &str) -> Vec<PointRow> {
        let Some(table) = Cells::read(text) else {
            reader.note(Trouble::input("no points", self.words()), 0..0);
            return Vec::new();
        };
        let places = self.places(reader, &table.head);
        if !reader.troubles.is_empty() {
            return Vec::new();
        }
        let heads = table.head.cells.len();
        let rows = table.rows.iter();
        let rows: Vec<PointRow> = rows
            .filter_map(|row| self.row(reader, row, &places, heads))
            .collect();
        if reader.troubles.is_empty() && !(3..=MOST).contains(&rows.len()) {
            let expected =
                format!("3 to {MOST} points, so that they can be checked against each other");
            let trouble = Trouble::input(format!("{} points", rows.len()), expected);
            reader.note(trouble, table.head.span);
        }
        rows
    }

    /// Finds the position of each column.
    fn places<'t>(&self, reader: &mut Reader<'_>, head: &'t Line<'_>) -> Vec<Place<'t>> {
        let names: Vec<&str> = self.columns.iter().map(|c| c.0).collect();
        let mut places = vec![None; names.len()];
        for (at, cell) in head.cells.iter().enumerate() {
            let (name, unit) = match cell.words.split_once('(') {
                Some((name, unit)) => (name.trim(), unit.trim_end_matches(')').trim()),
                None => (&*cell.words, ""),
            };
            let Some(column) = names.iter().position(|n| *n == name) else {
                let trouble = Trouble::input(format!("unknown column `{name}`"), self.words());
                let trouble = trouble.did_you_mean(name, names.iter().copied());
                reader.note(trouble, cell.span.clone());
                continue;
            };
            let (_, kind, .., example) = self.columns[column];
            if !unit.is_empty() && parse(kind, &format!("1 {unit}")).is_err() {
                let found = format!("`{unit}` is given as the unit of {name}");
                let expected = format!("a unit of {}, such as in {example}", kind.name());
                reader.note(Trouble::input(found, expected), cell.span.clone());
            }
            if places[column].replace((at, unit)).is_some() {
                let trouble = Trouble::input(
                    format!("two columns are named `{name}`"),
                    "each column once",
                );
                reader.note(trouble, cell.span.clone());
            }
        }
        let is_there = |name: &&str| {
            names
                .iter()
                .zip(&places)
                .any(|(n, p)| n == name && p.is_some())
        };
        let mut needs = self.needs.iter();
        if reader.troubles.is_empty()
            && let Some(missing) = needs.find(|group| !group.iter().any(is_there))
        {
            let found = format!("the points have no {}", missing.join(" or "));
            reader.note(Trouble::input(found, self.words()), head.span.clone());
        }
        places
    }

    /// Reads one row.
    fn row(
        &self,
        reader: &mut Reader<'_>,
        row: &Line<'_>,
        places: &[Place<'_>],
        heads: usize,
    ) -> Option<PointRow> {
        if let Err(trouble) = row.fits(heads) {
            reader.note(trouble, row.span.clone());
            return None;
        }
        let mut found = PointRow {
            line: row.number,
            values: vec![None; self.columns.len()],
            spans: vec![row.span.clone(); self.columns.len()],
        };
        let before = reader.troubles.len();
        for (k, (column, place)) in self.columns.iter().zip(places).enumerate() {
            let Some((place, unit)) = place.filter(|p| !row.words(p.0).is_empty()) else {
                continue;
            };
            let cell = row.cells.get(place);
            found.spans[k] = cell.map_or(row.span.clone(), |c| c.span.clone());
            match value(column, row.words(place), unit) {
                Ok(value) => found.values[k] = Some(value),
                Err(trouble) => reader.note(trouble, found.spans[k].clone()),
            }
        }
        let is_there = |name: &&str| {
            let mut columns = self.columns.iter().zip(&found.values);
            columns.any(|(c, v)| c.0 == *name && v.is_some())
        };
        let whole = self.needs.iter().all(|group| group.iter().any(is_there));
        if !whole && reader.troubles.len() == before {
            let expected = format!("{} in every row", self.needed());
            let trouble = Trouble::input("this row is incomplete", expected);
            reader.note(trouble, row.span.clone());
        }
        whole.then_some(found)
    }

    /// Describes the required columns in words.
    fn needed(&self) -> String {
        let groups: Vec<String> = self.needs.iter().map(|g| g.join(" or ")).collect();
        let (last, rest) = groups
            .split_last()
            .map_or(("", &[][..]), |(l, r)| (l.as_str(), r));
        format!("{}, and {last}", rest.join(", "))
    }

    /// Describes all columns in words, for error messages.
    fn words(&self) -> String {
        let names: Vec<&str> = self.columns.iter().map(|c| c.0).collect();
        format!(
            "columns {}, with a unit in every cell or in the heading, such as {} ({}); {} are required",
            names.join(", "),
            self.columns[0].0,
            Units::Si.unit(self.columns[0].1),
            self.needed()
        )
    }
}

/// Parses a cell, and checks that the value is within the range of its column.
fn value(
    &(name, kind, low, high, _): &PointColumn,
    words: &str,
    unit: &str,
) -> Result<Measure, Trouble> {
    let found = parse_in(kind, words, unit)?;
    if (low..=high).contains(&found.value) {
        return Ok(found);
    }
    let show = |v| Units::Si.show(kind, v);
    let expected = format!("{} to {}", show(low), show(high));
    Err(Trouble::input(
        format!("{name}: {} is out of range", show(found.value)),
        expected,
    )
    .hint("is the unit right?"))
}
