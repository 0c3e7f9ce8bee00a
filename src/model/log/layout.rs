//! From the first stretch of a file: encoding, separator, decimal mark, heads, units, clock.

use super::cell::{self, Comma};
use super::names::{self, Meaning, SIGNALS, Scale, Signal, Unit};
use crate::law::diagnostic_scaling_sae_j1979::Parameter;
use crate::trouble::{Trouble, Troubles, near};

/// What the asker says of a log's columns.
#[derive(Clone, Debug, Default)]
pub struct Choices {
    /// Which column is which, as typed: `coolant=ECT`, `coolant=3`, `intake-air=none`.
    pub columns: Vec<String>,
    /// Seconds between rows, for a log without a column of time.
    pub every: Option<f64>,
    /// Whether temperatures without a unit are in degrees Fahrenheit.
    pub fahrenheit: bool,
}

/// A column, and what it was taken for.
#[derive(Clone, Debug)]
pub struct Column {
    /// Where it stands, from 1.
    pub number: usize,
    /// Its heading.
    pub name: String,
    /// What it was taken for.
    pub signal: Signal,
    /// Its unit, cleaned.
    pub unit: String,
    /// Whether the unit is the usual one, for want of one that is said.
    pub unit_guessed: bool,
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
    /// Other columns that might have been meant: number, heading, and the signal.
    pub passed_over: Vec<(usize, String, Signal)>,
    /// The column of time, from 1, if there is one.
    pub time_column: Option<usize>,
    /// How the time is written.
    pub clock: &'static str,
    /// Usual seconds between rows.
    pub usual_step: f64,
    pub(super) comma: Comma,
    pub(super) quoted: bool,
    /// Lines before the first row of data.
    pub(super) lines_before: usize,
    /// Bytes before the first row of data.
    pub(super) bytes_before: usize,
    pub(super) time: Time,
    pub(super) date: Option<usize>,
}

/// How time is told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Time {
    /// A number in the column (from 0), times this many seconds.
    Number(usize, f64),
    /// A clock in the column (from 0).
    Clock(usize),
    /// One row every so many seconds.
    Every(f64),
}

const SEPARATORS: [u8; 5] = *b",;\t|:";

/// Rows that are looked at.
const LOOK: usize = 400;

/// A line of the first stretch: its bytes, and where the next begins.
struct Line<'a> {
    text: &'a [u8],
    next: usize,
    number: usize,
}

/// The lines of the first stretch that are not empty; the last only where it is whole.
fn lines(chunk: &[u8], whole: bool) -> Vec<Line<'_>> {
    let (mut lines, mut at, mut number) = (Vec::new(), 0, 0);
    while at < chunk.len() {
        let end = chunk[at..].iter().position(|c| matches!(c, b'\n' | b'\r'));
        let Some(end) = end.map(|e| at + e).or(whole.then_some(chunk.len())) else {
            break;
        };
        let both = chunk.get(end) == Some(&b'\r') && chunk.get(end + 1) == Some(&b'\n');
        let next = (end + 1 + usize::from(both)).min(chunk.len());
        number += 1;
        if end > at {
            lines.push(Line {
                text: &chunk[at..end],
                next,
                number,
            });
        }
        at = next;
    }
    lines
}

/// The cells of a line.
fn cells(line: &[u8], separator: u8, quoted: bool) -> Vec<Vec<u8>> {
    let mut cells = vec![Vec::new()];
    let mut inside = false;
    for c in line {
        if quoted && *c == b'"' {
            inside = !inside;
        } else if *c == separator && !inside {
            cells.push(Vec::new());
        } else if let Some(cell) = cells.last_mut() {
            cell.push(*c);
        }
    }
    cells
}

/// What each head means.
struct Head {
    name: String,
    bare: String,
    unit: String,
    meaning: Option<(Meaning, i32)>,
}

impl Head {
    fn read(cell: &[u8]) -> Self {
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

    fn is(&self, words: &str) -> bool {
        let words = words.trim();
        self.name.eq_ignore_ascii_case(words)
            || (!self.bare.is_empty() && self.bare.eq_ignore_ascii_case(words))
    }
}

/// Finds the layout from the first stretch of a file.
pub(super) fn find(
    chunk: &[u8],
    whole: bool,
    source: &str,
    choices: &Choices,
) -> Result<Layout, Troubles> {
    let lines = lines(chunk, whole);
    let quotes = |l: &Line| l.text.iter().filter(|c| **c == b'"').count();
    let quoted =
        lines.iter().any(|l| quotes(l) > 0) && lines.iter().take(LOOK).all(|l| quotes(l) % 2 == 0);
    let (separator, at) = head_line(&lines, quoted, choices).ok_or_else(|| {
        vec![
            Trouble::input(
                if lines.is_empty() {
                    "nothing"
                } else {
                    "no line of headings over rows of values"
                },
                "a line of headings, then rows of comma-separated values",
            )
            .at(source),
        ]
    })?;
    let mut heads: Vec<Head> = cells(lines[at].text, separator, quoted)
        .iter()
        .map(|c| Head::read(c))
        .collect();
    let mut rows: Vec<Vec<Vec<u8>>> = lines[at + 1..]
        .iter()
        .take(LOOK)
        .map(|l| cells(l.text, separator, quoted))
        .collect();
    let mut last = at;
    if rows.first().is_some_and(|r| is_units(r)) {
        for (head, unit) in heads.iter_mut().zip(rows.remove(0)) {
            if head.unit.is_empty() {
                head.unit = cell::text(&unit).trim().to_string();
            }
        }
        last += 1;
    }
    let comma = comma(&rows);
    let mut troubles = Troubles::new();
    let assigned = assigned(&heads, choices, lines[at].number, source, &mut troubles);
    let (columns, passed_over) = columns(&heads, &rows, &assigned, choices, comma);
    let time_at = assigned
        .iter()
        .position(|a| *a == Assigned::Said(Meaning::Time))
        .or_else(|| time_head(&heads, &assigned, &rows));
    let date = heads
        .iter()
        .position(|h| matches!(h.meaning, Some((Meaning::Date, _))))
        .filter(|d| Some(*d) != time_at);
    let (time, clock, usual_step) = match (time_at, choices.every) {
        (_, Some(step)) => (Time::Every(step), "one row every so often, as said", step),
        (Some(at), None) => told_time(at, &heads[at], &rows, comma),
        (None, None) => {
            troubles.push(
                Trouble::input("no column of time", "a column such as Time, or --every")
                    .hint(
                        "--column time=NAME names it; --every \"1 s\" says how far rows are apart",
                    )
                    .at(source),
            );
            (Time::Every(1.0), "", 1.0)
        }
    };
    if !columns.iter().any(|c| c.signal == Signal::Coolant) {
        let (trouble, column) = no_coolant(&heads);
        let mut trouble = trouble
            .hint("--column coolant=NAME says which column it is (or its number, from 1)")
            .at(source);
        trouble.spot.line = Some(lines[at].number);
        trouble.spot.column = Some(column);
        troubles.push(trouble);
    }
    if !troubles.is_empty() {
        return Err(troubles);
    }
    Ok(Layout {
        separator: separator as char,
        columns,
        passed_over,
        time_column: match time {
            Time::Every(_) => None,
            _ => time_at.map(|t| t + 1),
        },
        clock,
        usual_step,
        comma,
        quoted,
        lines_before: lines[last].number,
        bytes_before: lines[last].next,
        time,
        date,
        heads: heads.into_iter().map(|h| h.name).collect(),
    })
}

/// Why no column is read as coolant, and the column (from 1) that a message points to.
fn no_coolant(heads: &[Head]) -> (Trouble, usize) {
    let named = |h: &Head| matches!(h.meaning, Some((Meaning::Signal(Signal::Coolant), _)));
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

/// The separator and the line of headings: where most headings are known.
fn head_line(lines: &[Line], quoted: bool, choices: &Choices) -> Option<(u8, usize)> {
    let said: Vec<&str> = choices
        .columns
        .iter()
        .filter_map(|c| c.split_once('=').map(|c| c.1))
        .collect();
    let mut best: Option<((usize, usize), (u8, usize))> = None;
    for (at, line) in lines.iter().take(60).enumerate() {
        for separator in SEPARATORS {
            let cells = cells(line.text, separator, quoted);
            if cells.len() < 2 || cells.len() > 2000 {
                continue;
            }
            let number = |c: &&Vec<u8>| {
                let whole = cell::number(c.trim_ascii(), Comma::Decimal)
                    .is_some_and(|(_, rest)| rest.is_empty());
                whole && Head::read(c).meaning.is_none()
            };
            if cells.iter().filter(number).count() * 2 > cells.len() {
                continue;
            }
            let known = cells
                .iter()
                .map(|c| Head::read(c))
                .filter(|h| h.meaning.is_some() || said.iter().any(|s| h.is(s)))
                .count();
            let score = (known, cells.len());
            if best.is_none_or(|(b, _)| score > b) {
                best = Some((score, (separator, at)));
            }
        }
    }
    best.map(|b| b.1)
}

/// Whether a row holds units under the headings.
fn is_units(row: &[Vec<u8>]) -> bool {
    let texts: Vec<String> = row
        .iter()
        .map(|c| cell::text(c).trim().to_string())
        .filter(|c| !c.is_empty())
        .collect();
    let units = texts.iter().filter(|t| names::any_unit(t)).count();
    units > 0 && units * 2 >= texts.len() && texts.iter().all(|t| t.parse::<f64>().is_err())
}

/// What a comma inside numbers is: it parts thousands where points mark decimals and no comma is seen to.
fn comma(rows: &[Vec<Vec<u8>>]) -> Comma {
    let (mut commas, mut points) = (false, false);
    for cell in rows.iter().flatten().map(|c| c.trim_ascii()) {
        // A unit may follow; a date has two points.
        let sign = |c: &&u8| matches!(c, b'0'..=b'9' | b'.' | b',' | b'-' | b'+');
        let cell = &cell[..cell.iter().take_while(sign).count()];
        points |= cell.iter().filter(|c| **c == b'.').count() == 1;
        let at = cell.iter().position(|c| *c == b',');
        commas |= at.is_some_and(|at| !cell::thousands(cell, at));
    }
    if points && !commas {
        Comma::Thousands
    } else {
        Comma::Decimal
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
    heads: &[Head],
    choices: &Choices,
    line: usize,
    source: &str,
    troubles: &mut Troubles,
) -> Vec<Assigned> {
    let mut assigned = vec![Assigned::Nothing; heads.len()];
    for typed in &choices.columns {
        let wrong =
            |found: String, expected: String| Trouble::input(found, expected).at("--column");
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
            for (a, head) in assigned.iter_mut().zip(heads) {
                if head.meaning.is_some_and(|m| m.0 == meaning) {
                    *a = Assigned::Refused;
                }
            }
            continue;
        }
        let by_name = heads.iter().position(|h| h.is(name));
        let by_number = name
            .parse::<usize>()
            .ok()
            .and_then(|n| n.checked_sub(1))
            .filter(|n| *n < heads.len());
        match by_name.or(by_number) {
            Some(at) => assigned[at] = Assigned::Said(meaning),
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

type Found = (Vec<Column>, Vec<(usize, String, Signal)>);

/// The column of each signal: what the asker said, else the surest heading under which numbers stand.
fn columns(
    heads: &[Head],
    rows: &[Vec<Vec<u8>>],
    assigned: &[Assigned],
    choices: &Choices,
    comma: Comma,
) -> Found {
    let (mut columns, mut passed) = (Vec::new(), Vec::new());
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
                // Another family's unit shows that it is something else; and a flow in brackets that are not known may be in anything.
                let Head { name, unit, .. } = &heads[*i];
                let flow = matches!(signal.kind(), Unit::MassFlow | Unit::FuelFlow);
                let known = names::scale(signal.kind(), unit).is_some() || names::is_raw(unit);
                known || !(names::any_unit(unit) || flow && name.contains(['(', '[']))
            })
            .collect();
        candidates.sort_by_key(|(sure, i)| (-sure, *i));
        let numbers = |i: usize| usable(rows, i, heads, signal, comma);
        let best = said.or_else(|| {
            candidates
                .iter()
                .map(|c| c.1)
                .find(|i| numbers(*i))
                // Coolant must be read: what is wrong in it is then named cell by cell.
                .or(candidates
                    .first()
                    .map(|c| c.1)
                    .filter(|_| signal == Signal::Coolant))
        });
        for (_, i) in candidates {
            if Some(i) != best {
                passed.push((i + 1, heads[i].name.clone(), signal));
            }
        }
        if let Some(i) = best {
            // A unit behind the readings, where the heading has none.
            let behind = rows.iter().filter_map(|r| r.get(i)).find_map(|c| {
                let unit = cell::text(cell::number(c.trim_ascii(), comma)?.1);
                names::scale(signal.kind(), &unit).map(|_| unit)
            });
            columns.push(column(i, &heads[i], behind, signal, choices));
        }
    }
    (columns, passed)
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
        scale,
        raw,
    }
}

/// A unit with its degree sign mended.
fn tidy(unit: &str) -> String {
    match names::plain_unit(unit).as_str() {
        "c" | "degc" | "celsius" => "°C".into(),
        "f" | "degf" | "fahrenheit" => "°F".into(),
        _ => unit.to_string(),
    }
}

/// Whether numbers stand in a column, or nothing yet: not text alone.
fn usable(rows: &[Vec<Vec<u8>>], at: usize, heads: &[Head], signal: Signal, comma: Comma) -> bool {
    let (mut good, mut bad) = (0, 0);
    for cell in rows.iter().filter_map(|r| r.get(at)) {
        let cell = cell.trim_ascii();
        if cell.is_empty() || cell::missing(cell) {
            continue;
        }
        let reads = cell::number(cell, comma).is_some()
            || (signal.kind() == Unit::Switch && cell::switch(cell).is_some())
            || names::is_raw(&heads[at].unit);
        good += usize::from(reads);
        bad += usize::from(!reads);
    }
    good >= bad
}

/// The column of time: the surest heading under which times stand.
fn time_head(heads: &[Head], assigned: &[Assigned], rows: &[Vec<Vec<u8>>]) -> Option<usize> {
    let reads = |i: usize| {
        rows.iter()
            .filter_map(|r| r.get(i))
            .map(|c| c.trim_ascii())
            .any(|c| cell::stamp(c).is_some() || cell::number(c, Comma::Decimal).is_some())
    };
    heads
        .iter()
        .enumerate()
        .filter(|(i, _)| assigned[*i] == Assigned::Nothing)
        .filter_map(|(i, h)| {
            let bare = match h.meaning {
                Some((Meaning::Time, sure)) => Some(sure),
                // A heading that is a unit of time and nothing else.
                _ if h.bare.is_empty() && names::scale(Unit::Time, &h.unit).is_some() => Some(10),
                Some((Meaning::Date, _)) => Some(1),
                _ => None,
            };
            bare.map(|sure| (i, sure))
        })
        .filter(|(i, _)| rows.is_empty() || reads(*i))
        .max_by_key(|(i, sure)| (*sure, std::cmp::Reverse(*i)))
        .map(|(i, _)| i)
}

/// How the time in a column is told, and how far rows are usually apart.
fn told_time(
    at: usize,
    head: &Head,
    rows: &[Vec<Vec<u8>>],
    comma: Comma,
) -> (Time, &'static str, f64) {
    let texts: Vec<&[u8]> = rows
        .iter()
        .filter_map(|r| r.get(at))
        .map(|c| c.trim_ascii())
        .filter(|c| !c.is_empty())
        .collect();
    let clocks = texts.iter().filter(|t| cell::stamp(t).is_some()).count();
    if clocks * 2 > texts.len() {
        let times: Vec<f64> = texts
            .iter()
            .filter_map(|t| cell::stamp(t).map(|s| s.seconds))
            .collect();
        let dated = texts
            .iter()
            .find_map(|t| cell::stamp(t))
            .is_some_and(|s| !s.before.trim_ascii().is_empty());
        let clock = if dated {
            "date and time"
        } else {
            "time of day"
        };
        return (Time::Clock(at), clock, usual_step(&times));
    }
    let times: Vec<f64> = texts
        .iter()
        .filter_map(|t| cell::number(t, comma).map(|n| n.0))
        .collect();
    let first = times.first().copied().unwrap_or(0.0);
    let step = usual_step(&times);
    let unit = if head.unit.is_empty() {
        &head.bare
    } else {
        &head.unit
    };
    let said = names::scale(Unit::Time, unit).map(|s| s.0).or_else(|| {
        let words = head.name.to_lowercase();
        (words.contains("milli") || words.ends_with("ms")).then_some(1e-3)
    });
    let (factor, clock) = match said {
        Some(factor) => (factor, "a number with its unit"),
        None if first > 1e17 => (1e-9, "nanoseconds since 1970"),
        None if first > 1e14 => (1e-6, "microseconds since 1970"),
        None if first > 1e11 => (1e-3, "milliseconds since 1970"),
        None if (20_000.0..80_000.0).contains(&first) && step < 0.01 => {
            (86_400.0, "days of a spreadsheet")
        }
        None => (1.0, "a number, taken as seconds"),
    };
    (Time::Number(at, factor), clock, step * factor)
}

/// The median step forward between times.
fn usual_step(times: &[f64]) -> f64 {
    let mut steps: Vec<f64> = times
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|s| *s > 0.0)
        .collect();
    steps.sort_by(f64::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(1.0)
}
