//! Many cases, one per row: each is answered like the question `speed`, in the original order; a row with an error is
//! reported, not dropped.
//!
//! | file | task |
//! |---|---|
//! | `columns.rs` | the meaning of each column, and how its cells are read |
//! | `rows.rs` | reads a table or JSON lines as a stream of rows |
//! | `run.rs` | computes many rows in parallel |

mod columns;
mod rows;
mod run;

use super::basis;
use super::{Field, Group, Intake, Question, Request, Takes, Usual, Values};
use crate::balance::Output;
use crate::fault::{self, Fault};
use crate::model::{Ask, Lookup};
use crate::outcome;
use crate::question::{Open, Outcome, Sink};
use crate::trouble::{Stop, Trouble, Troubles};
use std::ops::Range;

/// Field for the file with the cases.
pub const CASES: Field = Field::new("cases", Takes::Log, "The cases")
    .help("A CSV file with headings, JSON lines, or - for standard input. A column is `id`, `machine`, `oil`, `with`, `unplugged`, a field such as engine_speed, or an input such as pump.slip. Its cells contain units, or the column name ends in the unit, as in engine_speed_rpm. For an empty cell, the value given by a flag is used, else the default.")
    .required()
    .by_place();

/// Field for the machine used in rows that do not name one.
pub const MACHINE: Field = Field {
    usual: Usual::Words("the column `machine`"),
    by_place: false,
    ..basis::MACHINE
};

/// Field that restricts the computation to some rows.
pub const ROWS: Field = Field::new("rows", Takes::Words, "Only these rows")
    .help("Written start..end, counted from 0. The end row is not included.")
    .example("1000..2000")
    .else_words("all");

/// Field for the outputs to print.
pub const GIVE: Field = Field::new("give", Takes::Words, "Outputs")
    .help("One or more, separated by commas, or `all`.")
    .usually("fan_speed, supply_gauge_pressure, motor_pressure_drop, pump_flow, pump_shaft_power, drive_efficiency")
    .many();

/// Whether to print uncertainty bands.
pub const BANDS: Field = Field::new(
    "bands",
    Takes::Switch,
    "With the uncertainty band of the fan speed",
)
.help("The same band as in `speed`. Each row then takes some hundred times as long.");

/// The output format.
pub const FORMAT: Field = Field::new(
    "format",
    Takes::Choice(&[
        ("as-read", "the format of the cases"),
        ("csv", "CSV"),
        ("lines", "JSON lines"),
    ]),
    "Format of the answers",
)
.help("as-read, csv, or lines (one JSON object per line).");

/// The output file.
pub const OUT: Field = Field::new(
    "out",
    Takes::Text("the answers"),
    "Where to write the answers",
)
.help("The path of a file.")
.example("answers.csv")
.else_words("standard output");

/// The question.
pub static QUESTION: Question = Question {
    key: "batch",
    title: "",
    about: "How fast does the fan turn in each of many cases?",
    groups: &[
        Group::new("The cases", &[&CASES, &ROWS, &GIVE, &BANDS, &FORMAT, &OUT]),
        Group::new("Defaults for all rows", &[&MACHINE, &basis::OIL]),
        basis::MOMENT,
        basis::AIR,
        basis::FAULT,
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel batch cases.csv --machine light-truck --out answers.csv",
        "oilwheel batch cases.csv --rows 1000..2000 --bands",
        "oilwheel batch - --format csv < cases.jsonl",
    ],
    finds: Found::properties,
};

/// The request.
#[derive(Clone)]
pub struct Batch {
    /// Defaults for fields that a row does not set.
    ask: Ask,
    /// Faults applied to every row.
    faults: Vec<(&'static Fault, f64)>,
    lookup: Lookup,
    /// The name of the cases in messages.
    name: String,
    open: Open,
    sink: Option<Sink>,
    stop: Stop,
    rows: Range<u64>,
    outputs: Vec<Output>,
    bands: bool,
    format: &'static str,
}

outcome! {
    /// The result of `batch`.
    pub struct Found {
        /// Number of rows, answered or refused.
        rows: usize,
        /// Number of rows refused.
        refused: usize,
        /// The first row that was refused, counted from 0.
        first_refused: Option<usize>,
        /// The error in that row.
        first_error: Option<String>,
        /// The answers, one per line; absent if they were written to the output directly.
        answers: Option<String>,
    }
}

impl Request for Batch {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let name = intake.needed(&CASES).map(String::from);
        let nowhere = || {
            Trouble::input(
                "no file can be opened here",
                "this question on the command line",
            )
        };
        let open = values.open.clone().ok_or_else(nowhere);
        let open = intake.keep(&CASES, open);
        let rows = intake.rows();
        let outputs = intake.outputs();
        let format = intake.choice(&FORMAT);
        let faults: Result<Vec<_>, Trouble> = values.all(&basis::WITH).map(fault::parse).collect();
        let faults = intake.keep(&basis::WITH, faults);
        let read = name.zip(open).zip(rows).zip(outputs).zip(format);
        intake.finish(read.zip(faults).map(
            |(((((name, open), rows), outputs), format), faults)| Batch {
                ask: basis::ask(values),
                faults,
                lookup: values.lookup,
                name,
                open,
                sink: values.sink.clone(),
                stop: values.stop.clone(),
                rows,
                outputs,
                bands: values.has(&BANDS),
                format,
            },
        ))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        run::run(self)
    }
}

impl Intake<'_> {
    /// The requested rows.
    fn rows(&mut self) -> Option<Range<u64>> {
        let Some(words) = self.values.get(&ROWS) else {
            return Some(0..u64::MAX);
        };
        let ends = words.split_once("..").and_then(|(from, to)| {
            let to = to.trim();
            let to = if to.is_empty() {
                Some(u64::MAX)
            } else {
                to.parse().ok()
            };
            Some(from.trim().parse::<u64>().ok()?..to?)
        });
        let found = ends.filter(|rows| rows.start < rows.end).ok_or_else(|| {
            Trouble::input(
                format!("`{words}`"),
                "start..end in whole numbers, with the end above the start, such as 1000..2000",
            )
        });
        self.keep(&ROWS, found)
    }

    /// The requested outputs.
    fn outputs(&mut self) -> Option<Vec<Output>> {
        let mut typed: Vec<&str> = self.values.all(&GIVE).collect();
        if typed.is_empty() {
            typed.extend(self.values.get(&GIVE));
        }
        let names = typed.iter().flat_map(|words| words.split(','));
        let mut all = Vec::new();
        for name in names.map(str::trim).filter(|name| !name.is_empty()) {
            if name == "all" {
                all = Output::all().collect();
                continue;
            }
            let found = self.keep(&GIVE, Output::of_name(name))?;
            if !all.contains(&found) {
                all.push(found);
            }
        }
        Some(all)
    }
}
