//! Computes many rows in parallel, and writes the answers in the original order.

use super::columns::{Column, columns, measure};
use super::rows::{Row, Rows};
use super::{Batch, Found};
use crate::balance::{Operating, State};
use crate::fault::{self, Fault};
use crate::input::Input;
use crate::model::{Ask, Case, Setup};
use crate::quantity::Kind;
use crate::question::own::of_class;
use crate::trouble::{Trouble, Troubles};
use crate::vary::{band, derivative};
use rayon::prelude::*;
use serde_json::Value;
use std::borrow::Cow;
use std::collections::HashMap;
use std::fmt::Write;
use std::io::ErrorKind;
use std::sync::{Arc, Mutex};

/// Maximum number of rows in memory at a time.
const AT_ONCE: usize = 1 << 14;
/// Maximum number of rows that a thread takes at a time.
const PIECE: usize = 256;
/// Maximum number of cached combinations of machine and oil.
const KEPT: usize = 1000;

/// A machine filled with an oil, to which conditions and inputs can be applied; or the message of the error in it.
type Base = Result<Arc<Setup>, String>;
/// The cache key of such a combination: machine, oil, and whether the valve is unplugged.
type Key = (String, String, bool);

/// One cell: what its column contains, and the text of the cell.
type Cell<'a> = (Column, Cow<'a, str>);

/// Computes all requested rows of a batch.
pub(super) fn run(batch: &Batch) -> Result<Found, Troubles> {
    let name = if batch.name == "-" {
        "standard input"
    } else {
        &batch.name
    };
    let here = |t: Trouble| t.at(name);
    let bytes = (batch.open)(&batch.name).map_err(|e| {
        let problem = Trouble::input(format!("cannot be read: {e}"), "a file that can be read");
        vec![here(problem)]
    })?;
    let one = |t: Trouble| vec![here(t)];
    let mut rows = Rows::of(bytes).map_err(one)?;
    let heads = match &rows {
        Rows::Table(heads, _) => {
            columns(heads).map_err(|all| all.into_iter().map(here).collect::<Troubles>())?
        }
        Rows::Lines(_) => Vec::new(),
    };
    let as_lines = match batch.format {
        "csv" => false,
        "lines" => true,
        _ => matches!(rows, Rows::Lines(_)),
    };
    let runner = Runner {
        batch,
        ids: matches!(rows, Rows::Lines(_)) || heads.contains(&Column::Id),
        heads,
        as_lines,
        bases: Mutex::default(),
    };
    let mut number = 0;
    while number < batch.rows.start {
        if !rows.skip().map_err(one)? {
            let found = format!(
                "the rows start at {}, but there are only {number} rows",
                batch.rows.start
            );
            let problem = Trouble::input(found, "rows that exist").on(super::ROWS.key);
            return Err(vec![problem]);
        }
        number += 1;
    }
    runner.all(&mut rows, number).map_err(one)
}

/// The data common to all rows.
struct Runner<'a> {
    batch: &'a Batch,
    heads: Vec<Column>,
    ids: bool,
    as_lines: bool,
    bases: Mutex<HashMap<Key, Base>>,
}

/// The answer to one row as a line of output, and its error, if any.
struct Line {
    text: String,
    error: Option<String>,
}

/// The computed result of one row.
struct Solved {
    state: State,
    operating: Operating,
    band: Option<(f64, f64)>,
}

impl Runner<'_> {
    /// Computes all remaining rows; the first of them has the given number.
    fn all(&self, rows: &mut Rows, mut number: u64) -> Result<Found, Trouble> {
        let mut found = Found {
            rows: 0,
            refused: 0,
            first_refused: None,
            first_error: None,
            answers: self.batch.sink.is_none().then(String::new),
        };
        let mut text = if self.as_lines {
            String::new()
        } else {
            self.head()
        };
        loop {
            let mut taken = Vec::new();
            while taken.len() < AT_ONCE && number + (taken.len() as u64) < self.batch.rows.end {
                match rows.next()? {
                    Some(row) => taken.push(row),
                    None => break,
                }
            }
            self.batch.stop.ask()?;
            let lines: Vec<Line> = taken
                .par_iter()
                .enumerate()
                .with_max_len(PIECE)
                .map(|(i, row)| self.line(number + i as u64, row))
                .collect();
            for (i, line) in lines.iter().enumerate() {
                text.push_str(&line.text);
                if let Some(error) = &line.error {
                    found.refused += 1;
                    if found.first_refused.is_none() {
                        found.first_refused = Some((number + i as u64) as usize);
                        found.first_error = Some(error.clone());
                    }
                }
            }
            found.rows += lines.len();
            number += lines.len() as u64;
            if !self.write(&mut found, &text)? || lines.is_empty() {
                return Ok(found);
            }
            text.clear();
        }
    }

    /// Writes lines of answers; returns false if the receiving program has closed the output.
    fn write(&self, found: &mut Found, text: &str) -> Result<bool, Trouble> {
        if let Some(answers) = &mut found.answers {
            answers.push_str(text);
        }
        let Some(sink) = &self.batch.sink else {
            return Ok(true);
        };
        let written = match sink.lock() {
            Ok(mut sink) => sink.write_all(text.as_bytes()).and_then(|()| sink.flush()),
            Err(_) => Ok(()),
        };
        match written {
            Ok(()) => Ok(true),
            Err(e) if e.kind() == ErrorKind::BrokenPipe => Ok(false),
            Err(e) => Err(Trouble::no_answer(
                format!("the answers could not be written: {e}"),
                "a place that can be written to and has enough space",
            )),
        }
    }

    /// The keys of an answer in order, without `row`, `id` and `error`.
    fn keys(&self) -> Vec<String> {
        let mut keys: Vec<String> = self
            .batch
            .outputs
            .iter()
            .map(|o| {
                let declared = o.declaration();
                declared.kind.json_key(declared.key)
            })
            .collect();
        if self.batch.bands {
            keys.extend(["fan_speed_low", "fan_speed_high"].map(|k| Kind::Speed.json_key(k)));
        }
        keys.push("limited_by".into());
        keys
    }

    /// The heading row of a table of answers.
    fn head(&self) -> String {
        let id = if self.ids { "id," } else { "" };
        format!("row,{id}{},error\n", self.keys().join(","))
    }

    /// Computes one row.
    fn line(&self, number: u64, row: &Row) -> Line {
        let cells = self.cells(row);
        let id = self.id(row);
        let solved = cells.and_then(|cells| self.solved(&cells));
        let text = if self.as_lines {
            self.object(number, id.as_deref(), &solved)
        } else {
            self.row(number, id.as_deref().unwrap_or(""), &solved)
        };
        Line {
            text,
            error: solved.err(),
        }
    }

    /// The name of a row; also found in a table row or object that has errors elsewhere.
    fn id(&self, row: &Row) -> Option<String> {
        match row {
            Row::Cells(record) => {
                let place = self.heads.iter().position(|c| *c == Column::Id)?;
                Some(String::from_utf8_lossy(record.get(place)?).into_owned())
            }
            Row::Object(map) => match map.get("id")? {
                Value::Null => None,
                Value::String(id) => Some(id.clone()),
                other => Some(other.to_string()),
            },
            Row::Broken(_) => None,
        }
    }

    /// The non-empty cells of a row.
    fn cells<'r>(&self, row: &'r Row) -> Result<Vec<Cell<'r>>, String> {
        match row {
            Row::Broken(what) => Err(what.clone()),
            Row::Cells(record) => {
                if record.len() != self.heads.len() {
                    return Err(format!(
                        "{} cells; expected {}, as in the headings",
                        record.len(),
                        self.heads.len()
                    ));
                }
                let cell = |(column, bytes): (&Column, &'r [u8])| {
                    let words = std::str::from_utf8(bytes)
                        .map_err(|_| "a cell that is not UTF-8; expected UTF-8".to_string());
                    words.map(|words| (*column, Cow::from(words)))
                };
                let cells = self.heads.iter().zip(record).map(cell);
                cells
                    .filter(|c| c.as_ref().is_ok_and(|c| !c.1.is_empty()) || c.is_err())
                    .collect()
            }
            Row::Object(map) => {
                let mut cells: Vec<Cell<'r>> = Vec::with_capacity(map.len());
                for (key, value) in map {
                    let column = Column::of(key).map_err(|t| t.to_string())?;
                    if column.input().is_some()
                        && cells.iter().any(|c| c.0.input() == column.input())
                    {
                        return Err(format!(
                            "`{key}` sets what another key also sets; expected one key for each input"
                        ));
                    }
                    let words = match value {
                        Value::Null => continue,
                        Value::String(words) => Cow::from(words.as_str()),
                        Value::Array(all) => Cow::from(
                            all.iter()
                                .filter_map(Value::as_str)
                                .collect::<Vec<_>>()
                                .join(";"),
                        ),
                        other => Cow::from(other.to_string()),
                    };
                    if !words.is_empty() {
                        cells.push((column, words));
                    }
                }
                Ok(cells)
            }
        }
    }

    /// The machine with the oil that a row asks for, from the cache if possible.
    fn base(&self, cells: &[Cell<'_>]) -> Base {
        let words = |column| cells.iter().find(|c| c.0 == column).map(|c| c.1.as_ref());
        let ask = &self.batch.ask;
        let unplugged = match words(Column::Unplugged) {
            None => ask.unplugged,
            Some("true" | "1" | "yes" | "True") => true,
            Some("false" | "0" | "no" | "False") => false,
            Some(other) => return Err(format!("unplugged: `{other}`; expected true or false")),
        };
        let key: Key = (
            words(Column::Machine).unwrap_or(&ask.machine).to_string(),
            words(Column::Oil)
                .or(ask.oil.as_deref())
                .unwrap_or("")
                .to_string(),
            unplugged,
        );
        let kept = self
            .bases
            .lock()
            .ok()
            .and_then(|bases| bases.get(&key).cloned());
        if let Some(base) = kept {
            return base;
        }
        let base = self.resolve(&key);
        if let Ok(mut bases) = self.bases.lock()
            && bases.len() < KEPT
        {
            bases.insert(key, base.clone());
        }
        base
    }

    fn resolve(&self, (machine, oil, unplugged): &Key) -> Base {
        if machine.is_empty() {
            return Err("no machine; expected a column `machine`, or the flag --machine".into());
        }
        let ask = Ask {
            machine: machine.clone(),
            oil: (!oil.is_empty()).then(|| oil.clone()),
            unplugged: *unplugged,
            ..self.batch.ask.clone()
        };
        of_class(&ask, self.batch.lookup)
            .map(Arc::new)
            .map_err(|all| joined(&all))
    }

    /// Applies the cells of a row to its machine and solves the oil circuit.
    fn solved(&self, cells: &[Cell<'_>]) -> Result<Solved, String> {
        let base = self.base(cells)?;
        let (mut case, mut spread) = (base.case, None);
        let mut is_set = false;
        for (column, words) in cells {
            let Some(input) = column.input() else {
                continue;
            };
            let about = |t: Trouble| format!("{}: {t}", column_of(input));
            let found = measure(*column, input, words, &base.machine).map_err(about)?;
            let slot = case.slot(input).ok_or_else(|| {
                format!(
                    "{}: this machine has no [{}]; expected an input of a part that it has",
                    input.key(),
                    input.part()
                )
            })?;
            *slot = found.value;
            is_set |= input.part() != "now";
            if self.batch.bands {
                let before = spread.unwrap_or(base.spread);
                spread = Some(before.with_uncertainty(input, found));
            }
        }
        if is_set && let Some(clash) = case.clash() {
            return Err(clash.to_string());
        }
        let faults = cells.iter().find(|c| c.0 == Column::With);
        let case = self.faulty(case, faults.map(|c| c.1.as_ref()))?;
        let (state, operating) = State::of(&case).map_err(|t| t.to_string())?;
        let band = self.batch.bands.then(|| {
            let together = &base.machine.correlations;
            let slopes = derivative::sensitivities(&case, &operating);
            let spread = spread.unwrap_or(base.spread);
            let band = band::stated(&case, &spread, together, &operating, &slopes);
            (band.low, band.high)
        });
        Ok(Solved {
            state,
            operating,
            band,
        })
    }

    /// Applies to a case the faults given for all rows, then those of this row.
    fn faulty(&self, mut case: Case, own: Option<&str>) -> Result<Case, String> {
        let mut put = |fault: &Fault, severity: f64| {
            fault.applies(&case).map_err(|t| format!("with: {t}"))?;
            case = fault.on(&case, severity);
            Ok::<(), String>(())
        };
        for (fault, severity) in &self.batch.faults {
            put(fault, *severity)?;
        }
        let words = own.into_iter().flat_map(|words| words.split([';', ',']));
        let mut seen: Vec<&str> = self.batch.faults.iter().map(|f| f.0.key).collect();
        for words in words.map(str::trim).filter(|w| !w.is_empty()) {
            let (fault, severity) = fault::parse(words).map_err(|t| format!("with: {t}"))?;
            if seen.contains(&fault.key) {
                return Err(format!(
                    "with: `{}` is given twice; expected each fault only once",
                    fault.key
                ));
            }
            seen.push(fault.key);
            put(fault, severity)?;
        }
        Ok(case)
    }

    /// The values of a row's answer.
    fn numbers<'s>(&'s self, solved: &'s Solved) -> impl Iterator<Item = f64> + 's {
        let outputs = self.batch.outputs.iter();
        let outputs = outputs.map(|o| o.declaration().kind.to_json(solved.state.get(*o)));
        let band = solved.band.into_iter().flat_map(|(low, high)| [low, high]);
        outputs.chain(band.map(|v| Kind::Speed.to_json(v)))
    }

    /// An answer as a row of a table.
    fn row(&self, number: u64, id: &str, solved: &Result<Solved, String>) -> String {
        let mut text = String::with_capacity(160);
        // Writing into a string cannot fail.
        let _ = write!(text, "{number},");
        if self.ids {
            let _ = write!(text, "{},", quoted(id));
        }
        match solved {
            Ok(solved) => {
                for x in self.numbers(solved) {
                    if x.is_finite() {
                        let _ = write!(text, "{x}");
                    }
                    text.push(',');
                }
                let _ = writeln!(text, "{},", solved.operating.limit.key());
            }
            Err(error) => {
                let empty = self.batch.outputs.len() + if self.batch.bands { 3 } else { 1 };
                text.push_str(&",".repeat(empty));
                let _ = writeln!(text, "{}", quoted(error));
            }
        }
        text
    }

    /// An answer as a JSON object on one line.
    fn object(&self, number: u64, id: Option<&str>, solved: &Result<Solved, String>) -> String {
        let mut map = serde_json::Map::new();
        map.insert("row".into(), number.into());
        if let Some(id) = id {
            map.insert("id".into(), id.into());
        }
        match solved {
            Ok(solved) => {
                let numbers = self.numbers(solved).map(Value::from);
                let limit = Value::from(solved.operating.limit.key());
                map.extend(self.keys().into_iter().zip(numbers.chain([limit])));
            }
            Err(error) => {
                map.insert("error".into(), error.as_str().into());
            }
        }
        format!("{}\n", Value::Object(map))
    }
}

/// The column name of an input, as used in error messages.
fn column_of(input: Input) -> String {
    match input.part() {
        "now" => input.field().key.into(),
        _ => input.key(),
    }
}

/// All errors joined into one line.
fn joined(all: &[Trouble]) -> String {
    all.iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join("; ")
}

/// The text of a CSV cell, quoted if necessary.
fn quoted(cell: &str) -> Cow<'_, str> {
    if cell.contains([',', '"', '\n', '\r']) {
        format!(
            "\"{}\"",
            cell.replace('"', "\"\"").replace(['\n', '\r'], " ")
        )
        .into()
    } else {
        cell.into()
    }
}
