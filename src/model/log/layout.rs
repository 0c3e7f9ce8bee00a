//! From the first stretch of a file: shape, separator, decimal marks, heads, units, clock.

use super::cell::{self, Marks};
use super::clock::{self, Told};
use super::names::{self, Meaning, SIGNALS, Scale, Signal, Unit};
use super::rows;
use super::shape::{self, Shape};
use crate::law::diagnostic_scaling_sae_j1979::Parameter;
use crate::trouble::{Trouble, Troubles, mention, near};

pub(super) use super::clock::Time;
pub use super::clock::TimeUnit;

/// The cells of a row.
pub(super) type Cells = Vec<Vec<u8>>;

/// What the asker says of a log's columns.
#[derive(Clone, Debug, Default)]
pub struct Choices {
    /// Which column is which, as typed: `coolant=ECT`, `coolant=3`, `coolant=ECT [°F]`, `intake-air=none`.
    pub columns: Vec<String>,
    /// Seconds between rows, for a log without a column of time.
    pub every: Option<f64>,
    /// How the column of time is told.
    pub time_unit: Option<TimeUnit>,
    /// What stands between cells.
    pub delimiter: Option<u8>,
    /// Which sign marks decimals: a point or a comma; the other parts thousands.
    pub decimal: Option<u8>,
    /// Whether temperatures without a unit are in degrees Fahrenheit.
    pub fahrenheit: bool,
}

impl Choices {
    /// Whether the unit of a signal is said.
    fn say_unit(&self, signal: Signal) -> bool {
        let said = self.columns.iter().filter_map(|c| c.split_once('='));
        let mut said = said.filter(|(key, _)| Signal::find(key.trim()) == Some(signal));
        said.any(|(_, name)| name.trim_end().ends_with(']'))
    }
}

/// What of a log was guessed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guessed {
    /// What a unit of the time column is.
    TimeScale,
    /// Which column tells the time.
    TimeColumn,
    /// Which column tells a signal.
    Column(Signal),
    /// What stands between cells.
    Delimiter,
    /// What points and commas in the column of a signal are.
    Marks(Signal),
    /// The unit of a signal.
    Unit(Signal),
    /// Under which headings the cells of rows stand that have one more than there are headings.
    Shift,
}

/// A guess: what was taken, what it may be otherwise, and what settles it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Guess {
    /// What was guessed.
    pub what: Guessed,
    /// What was taken.
    pub taken: String,
    /// What it may be otherwise.
    pub other: String,
    /// The field that says the other, by its key; none where only the file itself can.
    pub field: Option<&'static str>,
    /// What that field then holds, or how the file must be changed.
    pub setting: String,
}

/// A column, and what it was taken for.
#[derive(Clone, Debug)]
pub struct Column {
    /// Where it stands, from 1; where each row tells one signal, its place among them.
    pub number: usize,
    /// Its heading.
    pub name: String,
    /// What it was taken for.
    pub signal: Signal,
    /// Its unit, cleaned.
    pub unit: String,
    /// Whether the unit is the usual one, for want of one that is said.
    pub unit_guessed: bool,
    /// Whether the asker said the unit.
    pub(super) unit_said: bool,
    /// What points and commas in it are.
    pub(super) marks: Marks,
    /// How its cells become SI.
    pub(super) scale: Scale,
    /// How its bytes are scaled, where it carries bytes.
    pub(super) raw: Option<Parameter>,
}

/// How a log is laid out.
#[derive(Clone, Debug)]
pub struct Layout {
    /// What stands between cells.
    pub separator: char,
    /// All headings.
    pub heads: Vec<String>,
    /// The columns that are used.
    pub columns: Vec<Column>,
    /// What was guessed.
    pub guesses: Vec<Guess>,
    /// The column of time, from 1, if there is one.
    pub time_column: Option<usize>,
    /// Other columns that may tell the time: number and heading.
    pub other_times: Vec<(usize, String)>,
    /// How the time is written.
    pub clock: &'static str,
    /// Usual seconds between rows.
    pub usual_step: f64,
    pub(super) shape: Shape,
    pub(super) quoted: bool,
    /// Lines before the first row of data.
    pub(super) lines_before: u64,
    /// Bytes before the first row of data.
    pub(super) bytes_before: usize,
    pub(super) time: Time,
    pub(super) time_marks: Marks,
    pub(super) date: Option<usize>,
}

/// What each head means.
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

    /// Whether it is one of a time.
    pub fn tells_time(&self) -> bool {
        let times = [Meaning::Time, Meaning::RunTime, Meaning::Date];
        times.into_iter().any(|m| self.means(m))
    }

    fn means(&self, meaning: Meaning) -> bool {
        self.meaning.is_some_and(|m| m.0 == meaning)
    }
}

/// Finds the layout from the first stretch of a file.
pub(super) fn find(
    chunk: &[u8],
    whole: bool,
    source: &str,
    choices: &Choices,
) -> Result<Layout, Troubles> {
    let quoted = rows::quoted(chunk);
    let mut found = shape::find(chunk, whole, quoted, choices).ok_or_else(|| {
        let nothing = chunk.iter().all(u8::is_ascii_whitespace);
        let what = match nothing {
            true => "nothing",
            false => "no line of headings over rows of values",
        };
        let expected = "a line of headings, then rows of comma-separated values";
        vec![Trouble::input(what, expected).at(source)]
    })?;
    let mut guesses = Vec::new();
    if let Some(other) = found.other.filter(|_| choices.delimiter.is_none()) {
        guesses.push(Guess {
            what: Guessed::Delimiter,
            taken: sign(found.separator),
            other: sign(other),
            field: Some("delimiter"),
            setting: sign(other),
        });
    }
    let mut troubles = Troubles::new();
    if found.shape == Shape::Wide
        && let Err(trouble) = one_more(&mut found.heads, &found.rows, choices, &mut guesses)
    {
        let mut trouble = trouble.at(source);
        trouble.spot.line = Some(found.line as usize);
        trouble.spot.column = Some(found.heads.len());
        return Err(vec![trouble]);
    }
    let assigned = assigned(&mut found.heads, choices, found.line, source, &mut troubles);
    let (heads, rows) = (&found.heads, &found.rows);
    let file = file_marks(rows, choices);
    let columns = columns(heads, rows, &assigned, choices, file, &mut guesses);
    let coolant = columns.iter().find(|c| c.signal == Signal::Coolant);
    let rising = clock::rising(heads, rows);
    let headless = found.shape != Shape::Wide;
    let time_by_name = assigned
        .iter()
        .position(|a| *a == Assigned::Said(Meaning::Time))
        .or_else(|| time_head(heads, &assigned, rows, coolant.map(|c| c.number - 1)));
    let time_at = time_by_name.or_else(|| rising.first().copied().filter(|_| headless));
    let date = heads
        .iter()
        .position(|h| h.means(Meaning::Date))
        .filter(|d| Some(*d) != time_at);
    let time_marks = time_at.map_or(file, |at| marks_of(rows, at, file, choices));
    let is_time = |at: &usize| {
        Some(*at) != time_at
            && heads[*at]
                .meaning
                .is_none_or(|m| !matches!(m.0, Meaning::Signal(_) | Meaning::Date))
    };
    let other_times: Vec<(usize, String)> = rising
        .iter()
        .copied()
        .filter(is_time)
        .map(|at| (at + 1, heads[at].name.clone()))
        .collect();
    let told = match (time_at, choices.every) {
        (_, Some(step)) => Told {
            time: Time::Every(step),
            clock: "one row every so often, as said",
            usual_step: step,
            guess: None,
        },
        (Some(at), None) => {
            let rise = coolant.map_or(0.0, |c| rise(c, rows));
            clock::told(at, &heads[at], rows, time_marks, choices.time_unit, rise)
        }
        (None, None) => {
            troubles.push(no_time(&other_times).at(source));
            Told {
                time: Time::Every(1.0),
                clock: "",
                usual_step: 1.0,
                guess: None,
            }
        }
    };
    if coolant.is_none() {
        let (trouble, column) = no_coolant(heads);
        let mut trouble = trouble
            .hint(format!(
                "{} coolant=NAME says which column it is (or its number, from 1)",
                mention("column")
            ))
            .at(source);
        trouble.spot.line = Some(found.line as usize);
        trouble.spot.column = Some(column);
        troubles.push(trouble);
    }
    if !troubles.is_empty() {
        return Err(troubles);
    }
    if let (None, Some(at), Some((other, _))) = (time_by_name, time_at, other_times.first()) {
        guesses.push(Guess {
            what: Guessed::TimeColumn,
            taken: named(heads, at),
            other: named(heads, other - 1),
            field: Some("column"),
            setting: format!("time={other}"),
        });
    }
    guesses.extend(told.guess);
    Ok(Layout {
        separator: found.separator as char,
        time_column: match told.time {
            Time::Every(_) => None,
            _ => time_at.map(|t| t + 1),
        },
        clock: told.clock,
        usual_step: told.usual_step,
        shape: found.shape,
        quoted,
        lines_before: found.lines_before,
        bytes_before: found.bytes_before,
        time: told.time,
        time_marks,
        date,
        columns,
        guesses,
        other_times,
        heads: found.heads.into_iter().map(|h| h.name).collect(),
    })
}

impl Layout {
    /// The layout under headings that stand in the midst of a file: a further session, its columns perhaps in another order. `units`
    /// may stand in the row below.
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
        }
        let coolant = columns.iter().find(|c| c.signal == Signal::Coolant);
        let at = assigned
            .iter()
            .position(|a| *a == Assigned::Said(Meaning::Time))
            .or_else(|| time_head(&heads, &assigned, &[], coolant.map(|c| c.number - 1)));
        let time = match (self.time, at) {
            (Time::Number(_, factor), Some(at)) => Time::Number(at, factor),
            (Time::Clock(_, minutes), Some(at)) => Time::Clock(at, minutes),
            (time, _) => time,
        };
        Self {
            columns,
            time,
            time_column: at.map(|a| a + 1).or(self.time_column),
            date: heads
                .iter()
                .position(|h| h.means(Meaning::Date))
                .filter(|d| Some(*d) != at),
            heads: heads.into_iter().map(|h| h.name).collect(),
            ..self.clone()
        }
    }
}

/// A sign that parts cells, as it is typed.
fn sign(separator: u8) -> String {
    match separator {
        b'\t' => "tab".into(),
        b' ' => "space".into(),
        other => char::from(other).to_string(),
    }
}

/// Rows that all have one cell more than there are headings: under which headings they stand is told by what the readings can be,
/// else not at all.
fn one_more(
    heads: &mut Vec<Head>,
    rows: &[Cells],
    choices: &Choices,
    guesses: &mut Vec<Guess>,
) -> Result<(), Trouble> {
    let wide = heads.len();
    let filled =
        |r: &&Cells| r.len() == wide + 1 && r.last().is_some_and(|c| !c.trim_ascii().is_empty());
    if rows.len() < 2 || rows.iter().filter(filled).count() * 10 < rows.len() * 8 {
        return Ok(());
    }
    let file = file_marks(rows, choices);
    // How many signals read what they can be, and whether the time rises.
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
        .hint("put in the heading that is missing, so that each reading stands under its own"));
    };
    guesses.push(Guess {
        what: Guessed::Shift,
        taken: taken.into(),
        other: other.into(),
        field: None,
        setting: "a heading for every column of the file".into(),
    });
    Ok(())
}

/// Which share of a column's readings a signal can be; nothing where there is none.
fn share_possible(rows: &[Cells], at: usize, signal: Signal, head: &Head, marks: Marks) -> f64 {
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

/// By how much a column's readings change over the first rows, K.
fn rise(column: &Column, rows: &[Cells]) -> f64 {
    let cells = rows.iter().filter_map(|r| r.get(column.number - 1));
    let values = cells.filter_map(|c| cell::number(c.trim_ascii(), column.marks));
    let (least, most) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), (v, _)| {
        (a.min(v), b.max(v))
    });
    ((most - least) * column.scale.0).max(0.0)
}

/// Why no column is read as time, with the columns that may tell it.
fn no_time(candidates: &[(usize, String)]) -> Trouble {
    let (column, every) = (mention("column"), mention("every"));
    let expected = format!("a column such as Time, or {every}");
    let trouble = Trouble::input("no column of time", expected);
    let named = match candidates.first() {
        Some((number, name)) => format!(
            "column {number}, {}, rises from row to row: {column} time={number} takes it",
            quoted(name)
        ),
        None => format!("{column} time=NAME names it"),
    };
    trouble.hint(format!(
        "{named}; {every} \"1 s\" says how far rows are apart"
    ))
}

/// Why no column is read as coolant, and the column (from 1) that a message points to.
fn no_coolant(heads: &[Head]) -> (Trouble, usize) {
    let named = |h: &Head| h.means(Meaning::Signal(Signal::Coolant));
    if let Some(i) = heads.iter().position(named) {
        let Head { name, unit, .. } = &heads[i];
        let found = format!("{} in `{unit}`", quoted(name));
        return (Trouble::input(found, "a temperature, in °C or °F"), i + 1);
    }
    let names: Vec<String> = heads.iter().map(|h| quoted(&h.name)).collect();
    let found = format!("no column of coolant temperature among {}", listed(&names));
    let expected = "a heading such as `Engine coolant temperature`";
    (Trouble::input(found, expected), 1)
}

/// A heading as messages show it: as long as a heading may be.
fn quoted(name: &str) -> String {
    const MOST: usize = 40;
    match name.char_indices().nth(MOST) {
        Some((end, _)) => format!("`{}…`", &name[..end]),
        None => format!("`{name}`"),
    }
}

/// The first few of some names.
fn listed(names: &[String]) -> String {
    const MOST: usize = 12;
    match names.len() {
        n if n > MOST => format!("{} and {} more", names[..MOST].join(", "), n - MOST),
        _ => names.join(", "),
    }
}

/// The figures and signs that a cell begins with: a unit may follow; a date has two points.
fn figures(cell: &[u8]) -> &[u8] {
    let cell = cell.trim_ascii();
    let sign = |c: &&u8| matches!(c, b'0'..=b'9' | b'.' | b',' | b'-' | b'+');
    &cell[..cell.iter().take_while(sign).count()]
}

/// What a sign in a column is seen to be.
#[derive(Clone, Copy, Debug, Default)]
struct SeenMarks {
    /// Cells with one such sign that can only mark decimals, and that may part thousands.
    decimals: usize,
    thousands: usize,
    /// Cells without any, of three figures.
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

/// What points and commas are in the whole file, as far as it shows.
fn file_marks(rows: &[Cells], choices: &Choices) -> Marks {
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
        _ => Marks::Decimal,
    }
}

/// What points and commas are in a column: where some cells have a sign before their last three figures and others have three
/// figures and no sign, it parts thousands.
fn marks_of(rows: &[Cells], at: usize, file: Marks, choices: &Choices) -> Marks {
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

/// What the asker said of a column.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Assigned {
    Nothing,
    Said(Meaning),
    Refused,
}

/// Reads `signal=column` as typed.
fn assigned(
    heads: &mut [Head],
    choices: &Choices,
    line: u64,
    source: &str,
    troubles: &mut Troubles,
) -> Vec<Assigned> {
    let mut assigned = vec![Assigned::Nothing; heads.len()];
    for typed in &choices.columns {
        let wrong = |found: String, expected: String| Trouble::input(found, expected).on("column");
        let Some((key, name)) = typed.split_once('=') else {
            troubles.push(wrong(
                format!("`{typed}`"),
                "SIGNAL=COLUMN, such as coolant=ECT".into(),
            ));
            continue;
        };
        let (key, name) = (key.trim(), name.trim());
        let keys: Vec<&str> = SIGNALS.iter().map(|s| s.key()).chain(["time"]).collect();
        let meaning = match Signal::find(key) {
            Some(signal) => Meaning::Signal(signal),
            None if key == "time" => Meaning::Time,
            None => {
                let hint = near(key, keys.iter().copied()).map(|k| format!("did you mean `{k}`?"));
                troubles.push(
                    wrong(format!("no signal called `{key}`"), keys.join(", "))
                        .hint(hint.unwrap_or_default()),
                );
                continue;
            }
        };
        if name.eq_ignore_ascii_case("none") {
            for (a, head) in assigned.iter_mut().zip(heads.iter()) {
                if head.meaning.is_some_and(|m| m.0 == meaning) {
                    *a = Assigned::Refused;
                }
            }
            continue;
        }
        let find = |name: &str| {
            let by_name = heads.iter().position(|h| h.is(name));
            let by_number = name.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
            by_name.or(by_number.filter(|n| *n < heads.len()))
        };
        // A unit may stand behind it in square brackets.
        let with_unit = || {
            let (name, unit) = name.strip_suffix(']')?.rsplit_once('[')?;
            Some((find(name.trim())?, unit.trim().to_string()))
        };
        match find(name).map(|at| (at, String::new())).or_else(with_unit) {
            Some((at, unit)) => {
                assigned[at] = Assigned::Said(meaning);
                if !unit.is_empty() {
                    heads[at].unit = unit;
                }
            }
            None => {
                let hint = near(name, heads.iter().map(|h| h.name.as_str()));
                let names: Vec<String> = heads.iter().map(|h| quoted(&h.name)).collect();
                troubles.push(
                    wrong(
                        format!("no column called `{name}` in line {line} of {source}"),
                        listed(&names),
                    )
                    .hint(
                        hint.map(|h| format!("did you mean `{h}`?"))
                            .unwrap_or_default(),
                    ),
                );
            }
        }
    }
    assigned
}

/// The column of each signal: what the asker said, else the surest heading under which numbers stand.
fn columns(
    heads: &[Head],
    rows: &[Cells],
    assigned: &[Assigned],
    choices: &Choices,
    file: Marks,
    guesses: &mut Vec<Guess>,
) -> Vec<Column> {
    let mut columns = Vec::new();
    for signal in SIGNALS {
        let said = assigned
            .iter()
            .position(|a| *a == Assigned::Said(Meaning::Signal(signal)));
        let mut candidates: Vec<(i32, usize)> = heads
            .iter()
            .enumerate()
            .filter(|(i, _)| assigned[*i] == Assigned::Nothing)
            .filter_map(|(i, h)| match h.meaning {
                Some((Meaning::Signal(s), sure)) if s == signal => Some((sure, i)),
                _ => None,
            })
            .filter(|(_, i)| {
                // A unit that is not one of its own shows that it is something else.
                let unit = &heads[*i].unit;
                unit.is_empty()
                    || names::scale(signal.kind(), unit).is_some()
                    || names::is_raw(unit)
            })
            .collect();
        candidates.sort_by_key(|(sure, i)| (-sure, *i));
        let filled = |i: usize| filled(rows, i, heads, signal, file);
        let of = |wanted: Option<bool>| {
            let mut at = candidates.iter().map(|c| c.1);
            at.find(|i| filled(*i) == wanted)
        };
        // What is filled with numbers goes before what is blank so far; coolant must be read: what is wrong in it is then named
        // cell by cell.
        let must = || {
            candidates
                .first()
                .map(|c| c.1)
                .filter(|_| signal == Signal::Coolant)
        };
        let best = said.or_else(|| of(Some(true)).or_else(|| of(None)).or_else(must));
        if let Some(i) = best {
            let others = candidates.iter().map(|c| c.1).filter(|other| *other != i);
            let others = others.filter(|_| said.is_none());
            guesses.extend(others.map(|other| Guess {
                what: Guessed::Column(signal),
                taken: named(heads, i),
                other: named(heads, other),
                field: Some("column"),
                setting: format!("{}={}", signal.key(), other + 1),
            }));
            // A unit behind the readings, where the heading has none.
            let marks = marks(rows, i, signal, &heads[i], file, choices, guesses);
            let behind = rows.iter().filter_map(|r| r.get(i)).find_map(|c| {
                let unit = cell::text(cell::number(c.trim_ascii(), marks)?.1);
                names::scale(signal.kind(), &unit).map(|_| unit)
            });
            let mut column = column(i, &heads[i], behind, signal, choices);
            column.marks = marks;
            guesses.extend(unit_guess(&column, choices));
            columns.push(column);
        }
    }
    columns
}

/// A column by its number and its heading.
fn named(heads: &[Head], at: usize) -> String {
    match heads[at].name.as_str() {
        "" => format!("column {}", at + 1),
        name => format!("column {}, {}", at + 1, quoted(name)),
    }
}

fn column(
    at: usize,
    head: &Head,
    behind: Option<String>,
    signal: Signal,
    choices: &Choices,
) -> Column {
    let raw = signal.scaling().filter(|_| names::is_raw(&head.unit));
    let of = |unit: &str| Some((names::scale(signal.kind(), unit)?, tidy(unit)));
    let said = of(&head.unit).or_else(|| of(&behind?));
    let usual = match signal.kind() {
        Unit::Temperature if choices.fahrenheit => "°F",
        _ => signal.usual_unit(),
    };
    let unit_guessed = raw.is_none() && said.is_none();
    let (scale, unit) = match (raw, said) {
        (Some(parameter), _) => (
            names::scale(signal.kind(), parameter.unit).unwrap_or((1.0, 0.0)),
            "bytes".to_string(),
        ),
        (None, Some(said)) => said,
        (None, None) => (
            names::scale(signal.kind(), usual).unwrap_or((1.0, 0.0)),
            usual.to_string(),
        ),
    };
    Column {
        number: at + 1,
        name: head.name.clone(),
        signal,
        unit,
        unit_guessed,
        unit_said: choices.say_unit(signal),
        marks: Marks::Decimal,
        scale,
        raw,
    }
}

/// The guess that a unit which is not said is, where there is another in use.
fn unit_guess(column: &Column, choices: &Choices) -> Option<Guess> {
    let other = match column.signal.kind() {
        Unit::Temperature if choices.fahrenheit => "°C",
        Unit::Temperature => "°F",
        Unit::Road => "mph",
        Unit::MassFlow => "lb/min",
        Unit::FuelFlow => "gal/h",
        Unit::Pressure => "psi",
        Unit::Height => "ft",
        _ => return None,
    };
    let key = column.signal.key();
    column.unit_guessed.then(|| Guess {
        what: Guessed::Unit(column.signal),
        taken: column.unit.clone(),
        other: other.into(),
        field: Some("column"),
        setting: format!("{key}={} [{other}]", column.number),
    })
}

/// What points and commas in a signal's column are. Where every cell may be read either way, what the signal can be decides, and
/// that is a guess.
fn marks(
    rows: &[Cells],
    at: usize,
    signal: Signal,
    head: &Head,
    file: Marks,
    choices: &Choices,
    guesses: &mut Vec<Guess>,
) -> Marks {
    let found = marks_of(rows, at, file, choices);
    if choices.decimal.is_some() || found == Marks::PointThousands {
        return found;
    }
    let cells = || rows.iter().filter_map(|r| r.get(at)).map(Vec::as_slice);
    let open = |sign: u8| {
        let seen = seen_marks(cells(), sign);
        seen.decimals == 0 && seen.thousands > 0
    };
    let (thousands, word) = match (open(b','), open(b'.')) {
        (true, false) if found == Marks::Decimal => (Marks::CommaThousands, "comma"),
        (false, true) => (Marks::PointThousands, "point"),
        _ => return found,
    };
    let likely = |marks: Marks| match signal {
        // An engine that turns at all turns faster than 1.45 rpm.
        Signal::EngineSpeed => {
            let values = cells().filter_map(|c| cell::number(c.trim_ascii(), marks));
            let running: Vec<f64> = values.map(|v| v.0).filter(|v| *v > 0.0).collect();
            running.iter().filter(|v| **v > 100.0).count() * 2 > running.len()
        }
        _ => share_possible(rows, at, signal, head, marks) > 0.9,
    };
    let (as_decimals, as_thousands) = (likely(found), likely(thousands));
    let taken = if as_thousands && !as_decimals {
        thousands
    } else {
        found
    };
    if !as_thousands {
        return taken;
    }
    let [decimals, parts] = [
        format!("the {word} marks decimals"),
        format!("the {word} parts thousands"),
    ];
    let (taken_words, other, setting) = match (taken == thousands, word) {
        (true, word) => (parts, decimals, word),
        (false, "comma") => (decimals, parts, "point"),
        (false, _) => (decimals, parts, "comma"),
    };
    guesses.push(Guess {
        what: Guessed::Marks(signal),
        taken: taken_words,
        other,
        field: Some("decimal"),
        setting: setting.into(),
    });
    taken
}

/// A unit with its degree sign mended.
fn tidy(unit: &str) -> String {
    match names::plain_unit(unit).as_str() {
        "c" | "degc" | "celsius" => "°C".into(),
        "f" | "degf" | "fahrenheit" => "°F".into(),
        _ => unit.to_string(),
    }
}

/// Whether numbers stand in a column, or text; none where it is blank so far.
fn filled(rows: &[Cells], at: usize, heads: &[Head], signal: Signal, marks: Marks) -> Option<bool> {
    let (mut good, mut bad) = (0, 0);
    for cell in rows.iter().filter_map(|r| r.get(at)) {
        let cell = cell.trim_ascii();
        if cell.is_empty() || cell::missing(cell) {
            continue;
        }
        let reads = cell::number(cell, marks).is_some()
            || (signal.kind() == Unit::Switch && cell::switch(cell).is_some())
            || names::is_raw(&heads[at].unit);
        good += usize::from(reads);
        bad += usize::from(!reads);
    }
    (good + bad > 0).then_some(good >= bad)
}

/// The column of time: the surest heading under which times stand; where each channel has its own, that of the coolant.
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
            // A heading that is a unit of time and nothing else.
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
