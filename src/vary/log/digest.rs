//! One pass over a log, from which every answer is made.

use super::curve::Curve;
use super::exposure::Exposure;
use super::stretch::Stretches;
use crate::model::log::{Choices, Layout, LogReader, Signal, Tally};
use crate::trouble::{Trouble, Troubles};
use std::io::Read;

/// Between two calls of the progress callback.
const ROWS: u64 = 1 << 15;

/// What is kept of a log.
#[derive(Clone, Debug)]
pub struct Digest {
    /// Its name.
    pub source: String,
    /// How it is laid out.
    pub layout: Layout,
    /// What was counted.
    pub tally: Tally,
    /// What the coolant went through.
    pub exposure: Exposure,
    /// The log thinned.
    pub curve: Curve,
    /// Means over short stretches.
    pub stretches: Stretches,
    /// Whether temperatures without a unit were taken to be in degrees Fahrenheit, since they could not be in Celsius.
    pub fahrenheit_guessed: bool,
}

impl Digest {
    /// Whether there is any reading of a signal.
    pub fn knows(&self, signal: Signal) -> bool {
        self.tally.seen[signal as usize].readings > 0
    }
}

/// Reads a whole log. `open` gives its bytes from the start, perhaps twice; `progress` is told how many were read.
pub fn digest<R: Read>(
    open: impl Fn() -> Result<R, Trouble>,
    source: &str,
    choices: &Choices,
    levels: &[f64],
    progress: &mut dyn FnMut(u64),
) -> Result<Digest, Troubles> {
    let first = pass(
        open().map_err(|t| vec![t])?,
        source,
        choices,
        levels,
        progress,
    )?;
    let of_coolant = first
        .layout
        .columns
        .iter()
        .find(|c| c.signal == Signal::Coolant);
    let unsaid = of_coolant.is_some_and(|c| c.unit_guessed);
    // No coolant is at 135 °C for long; at 135 °F every engine is.
    let hot = first.tally.over_135 * 20 > first.tally.rows_read;
    if unsaid && hot && !choices.fahrenheit {
        let choices = Choices {
            fahrenheit: true,
            ..choices.clone()
        };
        let second = pass(
            open().map_err(|t| vec![t])?,
            source,
            &choices,
            levels,
            progress,
        )?;
        return checked(Digest {
            fahrenheit_guessed: true,
            ..second
        });
    }
    checked(first)
}

fn pass<R: Read>(
    bytes: R,
    source: &str,
    choices: &Choices,
    levels: &[f64],
    progress: &mut dyn FnMut(u64),
) -> Result<Digest, Troubles> {
    let mut reader = LogReader::open(bytes, source, choices)?;
    let mut exposure = Exposure::of(levels);
    let mut curve = Curve::default();
    let mut stretches = Stretches::default();
    let mut rows = 0;
    while let Some(sample) = reader.next_row().map_err(|t| vec![t])? {
        exposure.add(sample);
        curve.add(sample);
        stretches.add(sample);
        rows += 1;
        if rows % ROWS == 0 {
            progress(reader.position());
        }
    }
    progress(reader.position());
    exposure.finish();
    Ok(Digest {
        source: source.to_string(),
        layout: reader.layout().clone(),
        tally: reader.tally().clone(),
        exposure,
        curve,
        stretches,
        fahrenheit_guessed: false,
    })
}

/// What is wrong where no row can be used.
fn no_row(digest: &Digest) -> Trouble {
    let expected = "rows of readings";
    let Some(m) = digest.tally.mistakes.first() else {
        return Trouble::input("no row can be used", expected);
    };
    let place = match m.name.as_str() {
        "" => format!("line {}, column {}", m.line, m.column),
        name => format!("line {}, column {}, `{name}`", m.line, m.column),
    };
    let found = format!(
        "no row of {} can be used; the first: {place}: `{}`, expected {}",
        digest.tally.rows_dropped, m.found, m.expected
    );
    let trouble = Trouble::input(found, expected);
    if m.column > digest.layout.heads.len() && digest.layout.separator == ',' {
        return trouble.hint(
            "commas between cells and before decimals alike cannot be told apart: save it with semicolons between cells",
        );
    }
    trouble
}

/// Refuses a log in which there is nothing to see.
fn checked(digest: Digest) -> Result<Digest, Troubles> {
    let column = digest
        .layout
        .columns
        .iter()
        .find(|c| c.signal == Signal::Coolant);
    let name = column.map_or_else(String::new, |c| {
        format!("column {}, `{}`", c.number, c.name)
    });
    let tally = &digest.tally;
    let mut trouble = if tally.rows_read + tally.rows_dropped == 0 {
        Trouble::input("no row under the headings", "rows of readings")
    } else if tally.rows_read == 0 {
        no_row(&digest)
    } else if digest.exposure.peak.is_none() && tally.dropouts > 0 {
        Trouble::input(
            format!("{name}: no reading that a coolant can have"),
            "coolant temperatures between −39 and 160 °C",
        )
        .hint("a unit in the heading, such as [°F], says how they are to be read")
    } else if digest.exposure.peak.is_none() {
        Trouble::input(
            format!("{name}: every cell is blank"),
            "coolant temperatures",
        )
        .hint("--column coolant=NAME names another column")
    } else if tally.backwards > tally.rows_read {
        Trouble::input(
            format!(
                "time runs backwards in {} of {} rows",
                tally.backwards,
                tally.rows_read + tally.rows_dropped
            ),
            "rows in the order of time",
        )
        .hint("sort the rows by time")
    } else {
        return Ok(digest);
    }
    .at(digest.source.clone());
    let mistake = tally
        .mistakes
        .first()
        .filter(|_| tally.rows_read == 0 || tally.backwards > 0);
    trouble.spot.line = mistake.map(|m| m.line as usize);
    trouble.spot.column = mistake.map(|m| m.column);
    Err(vec![trouble])
}
