//! Finds the time column and its format.

use super::cell::{self, Marks};
use super::choices::{Choices, Guess, Guessed};
use super::clock::{self, Time, TimeAxis};
use super::columns::{Assigned, Column, named, quoted};
use super::layout::{Cells, Head};
use super::marks::{self, marks_of};
use super::names::{self, Meaning, Unit};
use super::shape::{Found, Shape};
use crate::trouble::{Trouble, mention};

/// How the times of the rows in a log are found.
pub(super) struct Timing {
    /// How the time is computed; `None` if there is neither a time column nor a stated interval.
    pub told: Option<TimeAxis>,
    /// The time column (from 0).
    pub at: Option<usize>,
    /// The column (from 0) with the date alone.
    pub date: Option<usize>,
    /// The meaning of points and commas in the time column.
    pub marks: Marks,
    /// Whether the time column has neither points nor commas so far.
    pub open: bool,
    /// Other columns that may hold the time: number and heading.
    pub others: Vec<(usize, String)>,
    /// The guess, if several columns may hold the time and no heading decides between them.
    pub guess: Option<Guess>,
}

/// Finds the time column and its format.
pub(super) fn timing(
    found: &Found,
    assigned: &[Assigned],
    coolant: Option<&Column>,
    file: Marks,
    choices: &Choices,
) -> Timing {
    let (heads, rows) = (&found.heads, &found.rows);
    let by_name = by_name(heads, assigned, rows, coolant);
    let rising = clock::rising(heads, rows);
    let first = || rising.first().copied();
    let at = by_name.or_else(|| first().filter(|_| found.shape != Shape::Wide));
    let marks = at.map_or(file, |at| marks_of(rows, at, file, choices));
    let may = |other: &usize| {
        let meaning = heads[*other].meaning.map(|m| m.0);
        Some(*other) != at && !matches!(meaning, Some(Meaning::Signal(_) | Meaning::Date))
    };
    let others = rising.iter().copied().filter(may);
    let others: Vec<_> = others.map(|o| (o + 1, heads[o].name.clone())).collect();
    let guess = match (by_name, at, others.first()) {
        (None, Some(at), Some((other, _))) if choices.every.is_none() => Some(Guess {
            what: Guessed::TimeColumn,
            taken: named(heads, at),
            other: named(heads, other - 1),
            field: Some("column"),
            setting: format!("time={other}"),
        }),
        _ => None,
    };
    let told = match (at, choices.every) {
        (_, Some(step)) => Some(TimeAxis {
            time: Time::Every(step),
            clock: "rows at the stated interval",
            usual_step: step,
            guess: None,
        }),
        (Some(at), None) => {
            let rise = coolant.map_or(0.0, |c| rise(c, rows));
            let unit = choices.time_unit;
            Some(clock::told(at, &heads[at], rows, marks, unit, rise))
        }
        (None, None) => None,
    };
    Timing {
        told,
        at,
        date: date(heads, at),
        marks,
        open: at.is_some_and(|at| marks::open(rows, at, choices)),
        others,
        guess,
    }
}

/// The time column given by the user, or found by its heading.
pub(super) fn by_name(
    heads: &[Head],
    assigned: &[Assigned],
    rows: &[Cells],
    coolant: Option<&Column>,
) -> Option<usize> {
    let said = Assigned::Said(Meaning::Time);
    let said = assigned.iter().position(|a| *a == said);
    said.or_else(|| time_head(heads, assigned, rows, coolant.map(|c| c.number - 1)))
}

/// The column that holds only the date, if the time is in another column.
pub(super) fn date(heads: &[Head], time: Option<usize>) -> Option<usize> {
    let date = heads.iter().position(|h| h.means(Meaning::Date));
    date.filter(|d| Some(*d) != time)
}

/// Difference between the highest and the lowest reading of a column in the first rows, K.
fn rise(column: &Column, rows: &[Cells]) -> f64 {
    let cells = rows.iter().filter_map(|r| r.get(column.number - 1));
    let values = cells.filter_map(|c| cell::number(c.trim_ascii(), column.marks));
    let (least, most) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), (v, _)| {
        (a.min(v), b.max(v))
    });
    ((most - least) * column.scale.0).max(0.0)
}

/// The error for a missing time column, with the columns that may hold the time.
pub(super) fn no_time(candidates: &[(usize, String)]) -> Trouble {
    let (column, every) = (mention("column"), mention("every"));
    let expected = format!("a column such as Time, or {every}");
    let trouble = Trouble::input("no time column was found", expected);
    let named = match candidates.first() {
        Some((number, name)) => format!(
            "column {number}, {}, rises from row to row, so try {column} time={number}",
            quoted(name)
        ),
        None => format!("name the time column with {column} time=NAME"),
    };
    trouble.hint(format!(
        "{named}; or give the interval between rows with {every} \"1 s\""
    ))
}

/// Finds the time column by its heading: the one with the best heading and times below it. If each signal has its own
/// time column, it is the one directly before the coolant column.
fn time_head(
    heads: &[Head],
    assigned: &[Assigned],
    rows: &[Cells],
    coolant: Option<usize>,
) -> Option<usize> {
    let reads = |i: usize| {
        rows.iter()
            .filter_map(|r| r.get(i))
            .map(|c| c.trim_ascii())
            .any(|c| cell::stamp(c, true).is_some() || cell::number(c, Marks::Decimal).is_some())
    };
    let sure = |i: usize, h: &Head| {
        let sure = match h.meaning {
            Some((Meaning::Time, sure)) => Some(sure),
            // The heading is just a unit of time.
            _ if h.bare.is_empty() && names::scale(Unit::Time, &h.unit).is_some() => Some(10),
            Some((Meaning::RunTime, _)) => Some(2),
            Some((Meaning::Date, _)) => Some(1),
            _ => None,
        };
        sure.filter(|_| assigned[i] == Assigned::Nothing && (rows.is_empty() || reads(i)))
    };
    let all: Vec<(usize, i32)> = heads
        .iter()
        .enumerate()
        .filter_map(|(i, h)| Some((i, sure(i, h)?)))
        .collect();
    let most = all.iter().map(|c| c.1).max()?;
    let mut best = all.iter().filter(|c| c.1 == most).map(|c| c.0);
    let beside = coolant
        .and_then(|c| c.checked_sub(1))
        .filter(|b| best.clone().any(|at| at == *b));
    beside.or_else(|| best.next())
}
