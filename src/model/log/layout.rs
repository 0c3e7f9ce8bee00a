//! Detects the layout from the beginning of a file: shape, separator, headings, columns, time.

use super::cell::{self, Marks};
use super::choices::{Choices, Guess, Guessed};
use super::clock::{self, Time};
use super::columns::{Column, assigned, columns, no_coolant};
use super::marks::{file_marks, share_possible};
use super::names::{self, Meaning, Signal};
use super::rows;
use super::shape::{self, Found, Shape};
use super::timing::{by_name, date, no_time, timing};
use crate::trouble::{Trouble, Troubles, mention};

/// The cells of a row.
pub(super) type Cells = Vec<Vec<u8>>;

/// The layout of a log.
#[derive(Clone, Debug)]
pub struct Layout {
    /// The cell separator.
    pub separator: char,
    /// All headings.
    pub heads: Vec<String>,
    /// The columns in use.
    pub columns: Vec<Column>,
    /// The guesses made.
    pub guesses: Vec<Guess>,
    /// The time column, from 1, if there is one.
    pub time_column: Option<usize>,
    /// Other columns that may hold the time: number and heading.
    pub other_times: Vec<(usize, String)>,
    /// The format of the time.
    pub clock: &'static str,
    /// Usual interval between rows, s.
    pub usual_step: f64,
    pub(super) shape: Shape,
    pub(super) quoted: bool,
    /// Lines before the first row of data.
    pub(super) lines_before: u64,
    /// Bytes before the first row of data.
    pub(super) bytes_before: usize,
    pub(super) time: Time,
    pub(super) time_marks: Marks,
    /// Whether the time column has had neither points nor commas so far.
    pub(super) time_open: bool,
    pub(super) date: Option<usize>,
}

/// A heading, its unit and its meaning.
#[derive(Clone, Debug)]
pub(super) struct Head {
    pub name: String,
    pub bare: String,
    pub unit: String,
    pub meaning: Option<(Meaning, i32)>,
}

impl Head {
    pub fn read(cell: &[u8]) -> Self {
        let text = cell::text(cell);
        let name: String = text.chars().filter(|c| !c.is_control()).collect();
        let name = name.trim().trim_matches('\u{feff}').to_string();
        let (bare, unit, meaning) = names::read(&name);
        Self {
            name,
            bare,
            unit,
            meaning,
        }
    }

    pub fn is(&self, words: &str) -> bool {
        let words = words.trim();
        self.name.eq_ignore_ascii_case(words)
            || (!self.bare.is_empty() && self.bare.eq_ignore_ascii_case(words))
    }

    /// Whether the heading is that of a time, a run time or a date.
    pub fn tells_time(&self) -> bool {
        let times = [Meaning::Time, Meaning::RunTime, Meaning::Date];
        times.into_iter().any(|m| self.means(m))
    }

    pub fn means(&self, meaning: Meaning) -> bool {
        self.meaning.is_some_and(|m| m.0 == meaning)
    }
}

/// Detects the layout from the beginning of a file.
pub(super) fn find(
    chunk: &[u8],
    whole: bool,
    source: &str,
    choices: &Choices,
) -> Result<Layout, Troubles> {
    let quoted = rows::quoted(chunk);
    let found = shape::find(chunk, whole, quoted, choices);
    let mut found = found.ok_or_else(|| vec![no_rows(chunk).at(source)])?;
    let mut guesses: Vec<Guess> = delimiter(&found, choices).into_iter().collect();
    let line = Some(found.line as usize);
    let there = |trouble: Trouble, column: usize| {
        let mut trouble = trouble.at(source);
        (trouble.spot.line, trouble.spot.column) = (line, Some(column));
        trouble
    };
    if found.shape == Shape::Wide
        && let Err(trouble) = one_more(&mut found, choices, &mut guesses)
    {
        return Err(vec![there(trouble, found.heads.len())]);
    }
    let mut troubles = Troubles::new();
    let assigned = assigned(&mut found.heads, choices, found.line, source, &mut troubles);
    let file = file_marks(&found.rows, found.separator, choices);
    let columns = columns(
        &found.heads,
        &found.rows,
        &assigned,
        choices,
        file,
        &mut guesses,
    );
    let coolant = columns.iter().find(|c| c.signal == Signal::Coolant);
    let timing = timing(&found, &assigned, coolant, file, choices);
    if timing.told.is_none() {
        troubles.push(no_time(&timing.others).at(source));
    }
    if coolant.is_none() {
        let (trouble, column) = no_coolant(&found.heads);
        let hint = "coolant=NAME names that column; NAME may also be its number, counted from 1";
        troubles.push(there(
            trouble.hint(format!("{} {hint}", mention("column"))),
            column,
        ));
    }
    let Some(told) = timing.told.filter(|_| troubles.is_empty()) else {
        return Err(troubles);
    };
    guesses.extend(timing.guess);
    guesses.extend(told.guess);
    Ok(Layout {
        separator: found.separator as char,
        time_column: match told.time {
            Time::Every(_) => None,
            _ => timing.at.map(|t| t + 1),
        },
        clock: told.clock,
        usual_step: told.usual_step,
        shape: found.shape,
        quoted,
        lines_before: found.lines_before,
        bytes_before: found.bytes_before,
        time: told.time,
        time_marks: timing.marks,
        time_open: timing.open,
        date: timing.date,
        columns,
        guesses,
        other_times: timing.others,
        heads: found.heads.into_iter().map(|h| h.name).collect(),
    })
}

/// The error for a file without rows.
fn no_rows(chunk: &[u8]) -> Trouble {
    let what = match chunk.iter().all(u8::is_ascii_whitespace) {
        true => "the file is empty",
        false => "no table: no heading line with rows of values below it",
    };
    Trouble::input(
        what,
        "a line of headings, then rows of comma-separated values",
    )
}

/// The guess about the cell separator, if another separator is possible too.
fn delimiter(found: &Found, choices: &Choices) -> Option<Guess> {
    let other = found.other.filter(|_| choices.delimiter.is_none())?;
    Some(Guess {
        what: Guessed::Delimiter,
        taken: sign(found.separator),
        other: sign(other),
        field: Some("delimiter"),
        setting: sign(other),
    })
}

impl Layout {
    /// The layout of a further session whose headings appear in the middle of a file, possibly with reordered columns.
    /// `units` is the row below, which may hold units.
    pub(super) fn anew(&self, row: &[&[u8]], units: &[&[u8]], choices: &Choices) -> Self {
        let mut heads: Vec<Head> = row.iter().map(|c| Head::read(c)).collect();
        for (head, unit) in heads.iter_mut().zip(units) {
            if head.unit.is_empty() {
                head.unit = cell::text(unit).trim().to_string();
            }
        }
        let mut unheard = Troubles::new();
        let assigned = assigned(&mut heads, choices, 1, "", &mut unheard);
        let file = self.columns.first().map_or(Marks::Decimal, |c| c.marks);
        let mut columns = columns(&heads, &[], &assigned, choices, file, &mut Vec::new());
        for column in &mut columns {
            let before = self.columns.iter().find(|c| c.signal == column.signal);
            column.marks = before.map_or(file, |c| c.marks);
            column.open &= before.is_none_or(|c| c.open);
        }
        let coolant = columns.iter().find(|c| c.signal == Signal::Coolant);
        let at = by_name(&heads, &assigned, &[], coolant);
        let time = match (self.time, at) {
            (Time::Number(_, factor), Some(at)) => Time::Number(at, factor),
            (Time::Clock(_, minutes), Some(at)) => Time::Clock(at, minutes),
            (time, _) => time,
        };
        Self {
            columns,
            time,
            time_column: at.map(|a| a + 1).or(self.time_column),
            date: date(&heads, at),
            heads: heads.into_iter().map(|h| h.name).collect(),
            ..self.clone()
        }
    }
}

/// A cell separator, as the user writes it in a setting.
fn sign(separator: u8) -> String {
    match separator {
        b'\t' => "tab".into(),
        b' ' => "space".into(),
        other => char::from(other).to_string(),
    }
}

/// Aligns headings and cells if each row has one cell more than there are headings. The alignment that gives rising
/// times and more plausible readings is used; if neither alignment is better, an error is returned.
fn one_more(found: &mut Found, choices: &Choices, guesses: &mut Vec<Guess>) -> Result<(), Trouble> {
    let (heads, rows) = (&mut found.heads, &found.rows);
    let wide = heads.len();
    let filled =
        |r: &&Cells| r.len() == wide + 1 && r.last().is_some_and(|c| !c.trim_ascii().is_empty());
    if rows.len() < 2 || rows.iter().filter(filled).count() * 10 < rows.len() * 8 {
        return Ok(());
    }
    let file = file_marks(rows, found.separator, choices);
    // Number of signals with plausible readings, and number of time columns with rising times, if the cells are shifted
    // against the headings by `shift`.
    let sense = |shift: usize| {
        let signals = heads.iter().enumerate().filter(|(i, h)| match h.meaning {
            Some((Meaning::Signal(signal), _)) => {
                share_possible(rows, i + shift, signal, h, file) > 0.9
            }
            _ => false,
        });
        let rising = clock::rising(&vec![Head::read(b""); wide + 1], rows);
        let times = heads
            .iter()
            .enumerate()
            .filter(|(i, h)| h.means(Meaning::Time) && rising.contains(&(i + shift)));
        (signals.count(), times.count())
    };
    let [(plain, time), (shifted, time_shifted)] = [sense(0), sense(1)];
    let blank = Head::read(b"");
    let (taken, other) = if time > time_shifted || time == time_shifted && plain > shifted {
        heads.push(blank);
        ("the last cell of each row has no heading", "the first")
    } else if time_shifted > time || shifted > plain {
        heads.insert(0, blank);
        ("the first cell of each row has no heading", "the last")
    } else {
        return Err(Trouble::input(
            format!("rows of {} cells under {wide} headings", wide + 1),
            "as many headings as cells",
        )
        .hint("add the missing heading, so that every column has one"));
    };
    guesses.push(Guess {
        what: Guessed::Shift,
        taken: taken.into(),
        other: other.into(),
        field: None,
        setting: "give every column of the file a heading".into(),
    });
    Ok(())
}
