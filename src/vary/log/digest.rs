//! One pass over a log, which provides the data for every answer.

use super::climbs::Climbs;
use super::curve::Curve;
use super::exposure::Exposure;
use super::rates::Rates;
use super::stretch::Stretches;
use crate::model::log::{Choices, Layout, LogReader, SIGNALS, Sample, Signal, Tally};
use crate::trouble::{Trouble, Troubles, mention};
use std::io::Read;
use std::sync::mpsc;
use std::thread;

/// Rows in a batch: they are read, then added up, and the progress callback is called.
const ROWS: usize = 2048;

/// Batches of rows that may wait to be added up.
const AHEAD: usize = 2;

/// Fraction above which impossible readings, dropped rows or backward times count as many.
const MANY: f64 = 0.05;

/// Maximum interval of repeated time stamps, s, in a valid time column. Stamps in hours and minutes are a minute apart;
/// numbers in exponent notation with two digits are further apart.
const COARSE: f64 = 61.0;

/// Why a log is unreliable, with the fraction of readings or rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Doubt {
    /// Coolant readings that jump or are physically impossible.
    Dropouts(f64),
    /// Impossible readings of another signal.
    Impossible(Signal, f64),
    /// Dropped rows.
    Dropped(f64),
    /// Rows of zeros.
    Placeholders(f64),
}

/// The data kept from a log.
#[derive(Clone, Debug)]
pub struct Digest {
    /// Name of the log.
    pub source: String,
    /// Layout of the log.
    pub layout: Layout,
    /// The counters.
    pub tally: Tally,
    /// The exposure of the coolant.
    pub exposure: Exposure,
    /// The log in reduced resolution.
    pub curve: Curve,
    /// Means over short stretches.
    pub stretches: Stretches,
    /// Climbs of the coolant above its own level.
    pub climbs: Climbs,
    /// Warm-up, and cooling while parked.
    pub rates: Rates,
    /// Whether temperatures without a unit were read as degrees Fahrenheit, because they are impossible in Celsius.
    pub fahrenheit_guessed: bool,
}

impl Digest {
    /// Whether there is any reading of a signal.
    pub fn knows(&self, signal: Signal) -> bool {
        self.tally.seen[signal as usize].readings > 0
    }

    /// The fastest rise of the warm engine, K/s, and its time, s.
    pub fn rise(&self) -> Option<(f64, f64)> {
        self.exposure.rise(self.climbs.level())
    }

    /// Why the log is unreliable.
    pub fn doubts(&self) -> Vec<Doubt> {
        let tally = &self.tally;
        let rows = (tally.rows_read + tally.rows_dropped) as f64;
        let coolant = tally.seen[Signal::Coolant as usize].readings + tally.dropouts;
        let mut doubts = vec![
            Doubt::Dropouts(tally.dropouts as f64 / coolant as f64),
            Doubt::Dropped(tally.rows_dropped as f64 / rows),
            Doubt::Placeholders(tally.placeholders as f64 / rows),
        ];
        for signal in SIGNALS.into_iter().filter(|s| *s != Signal::Coolant) {
            let seen = tally.seen[signal as usize];
            let all = (seen.readings + seen.impossible) as f64;
            doubts.push(Doubt::Impossible(signal, seen.impossible as f64 / all));
        }
        doubts.retain(|d| d.share() > MANY);
        doubts
    }

    /// Whether dropouts and unusable rows are too many for any conclusion.
    pub fn withdrawn(&self) -> bool {
        let of_all =
            |d: &Doubt| matches!(d, Doubt::Dropouts(_) | Doubt::Dropped(_)) && d.share() > MANY;
        self.doubts().iter().any(of_all)
    }
}

impl Doubt {
    /// The fraction of readings or rows affected.
    pub fn share(&self) -> f64 {
        match self {
            Self::Dropouts(s)
            | Self::Impossible(_, s)
            | Self::Dropped(s)
            | Self::Placeholders(s) => *s,
        }
    }
}

/// Reads a whole log. `open` returns its bytes from the start, and may be called twice; `progress` receives the number
/// of bytes read.
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
    // Coolant is never above 135 °C for long, but in every engine it is above 135 °F.
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

/// What the rows of a log add up to.
#[derive(Debug)]
struct Sums {
    exposure: Exposure,
    curve: Curve,
    stretches: Stretches,
    climbs: Climbs,
    rates: Rates,
    last: Option<Sample>,
}

impl Sums {
    fn of(levels: &[f64]) -> Self {
        Self {
            exposure: Exposure::of(levels),
            curve: Curve::default(),
            stretches: Stretches::default(),
            climbs: Climbs::default(),
            rates: Rates::default(),
            last: None,
        }
    }

    fn add(&mut self, rows: &[Sample]) {
        let mut last = self.last.as_ref();
        for row in rows {
            self.exposure.add(last, row);
            self.curve.add(row);
            self.stretches.add(last, row);
            self.climbs.add(last, row);
            self.rates.add(row);
            last = Some(row);
        }
        self.last = last.copied();
    }
}

fn pass<R: Read>(
    bytes: R,
    source: &str,
    choices: &Choices,
    levels: &[f64],
    progress: &mut dyn FnMut(u64),
) -> Result<Digest, Troubles> {
    let mut reader = LogReader::open(bytes, source, choices)?;
    let mut sums = Sums::of(levels);
    let two = thread::available_parallelism().is_ok_and(|n| n.get() > 1);
    let read = if two { in_parallel } else { in_turn };
    read(&mut reader, &mut sums, progress).map_err(|t| vec![t])?;
    sums.exposure.finish();
    sums.climbs.finish();
    Ok(Digest {
        source: source.to_string(),
        layout: reader.layout().clone(),
        tally: reader.tally().clone(),
        exposure: sums.exposure,
        curve: sums.curve,
        stretches: sums.stretches,
        climbs: sums.climbs,
        rates: sums.rates,
        fahrenheit_guessed: false,
    })
}

/// Reads all rows and adds them up, batch after batch.
fn in_turn<R: Read>(
    reader: &mut LogReader<R>,
    sums: &mut Sums,
    progress: &mut dyn FnMut(u64),
) -> Result<(), Trouble> {
    read(reader, progress, |rows| {
        sums.add(&rows);
        rows
    })
}

/// Reads all rows, while another thread adds up those read before.
fn in_parallel<R: Read>(
    reader: &mut LogReader<R>,
    sums: &mut Sums,
    progress: &mut dyn FnMut(u64),
) -> Result<(), Trouble> {
    thread::scope(|scope| {
        let (full, to_add) = mpsc::sync_channel::<Vec<Sample>>(AHEAD);
        let (empty, added) = mpsc::channel();
        scope.spawn(move || {
            for rows in to_add {
                sums.add(&rows);
                // At the end of the log nobody takes the vector.
                empty.send(rows).ok();
            }
        });
        read(reader, progress, |rows| {
            // Fails only if the other thread panicked, and then the scope does too.
            full.send(rows).ok();
            added.try_recv().unwrap_or_default()
        })
    })
}

/// Reads all rows in batches; `add` takes a batch, and returns a vector for the next one.
fn read<R: Read>(
    reader: &mut LogReader<R>,
    progress: &mut dyn FnMut(u64),
    mut add: impl FnMut(Vec<Sample>) -> Vec<Sample>,
) -> Result<(), Trouble> {
    let mut rows = Vec::new();
    loop {
        rows.clear();
        while rows.len() < ROWS
            && let Some(row) = reader.next_row()?
        {
            rows.push(*row);
        }
        progress(reader.position());
        if rows.is_empty() {
            return Ok(());
        }
        rows = add(rows);
    }
}

/// The error for a log without usable rows.
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
        "none of the {} rows can be used. The first problem is at {place}: `{}`, where this was expected: {}",
        digest.tally.rows_dropped, m.found, m.expected
    );
    let trouble = Trouble::input(found, expected);
    if m.column > digest.layout.heads.len() && digest.layout.separator == ',' {
        return trouble.hint(
            "a comma cannot be both cell separator and decimal mark: save the file with semicolons between the cells",
        );
    }
    trouble
}

/// The error for an invalid time column: its stamps mostly repeat and are far apart, or never change.
fn no_time(digest: &Digest) -> Option<Trouble> {
    let (tally, layout) = (&digest.tally, &digest.layout);
    let at = layout.time_column?;
    let apart = tally.rows_read.saturating_sub(1 + tally.repeated_stamps) as f64;
    let coarse = tally.repeated_stamps * 2 > tally.rows_read && tally.rows_read >= 10;
    if !coarse || tally.duration / apart <= COARSE {
        return None;
    }
    let name = layout.heads.get(at - 1).cloned().unwrap_or_default();
    let others = layout.other_times.first().map(|(number, name)| {
        format!(
            "column {number}, `{name}`, rises from row to row, so try {} time={number}; or ",
            mention("column")
        )
    });
    let found = format!(
        "column {at}, `{name}`: {} of {} rows repeat the time of the previous row",
        tally.repeated_stamps, tally.rows_read
    );
    let hint = format!(
        "{}give the interval between rows with {} \"1 s\"",
        others.unwrap_or_default(),
        mention("every")
    );
    Some(Trouble::input(found, "a time that increases from row to row").hint(hint))
}

/// Rejects a log without usable content.
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
        Trouble::input("no row below the headings", "rows of readings")
    } else if tally.rows_read == 0 {
        no_row(&digest)
    } else if digest.exposure.peak.is_none() && tally.dropouts > 0 {
        Trouble::input(
            format!("{name}: no plausible coolant reading"),
            "coolant temperatures between −39 and 160 °C",
        )
        .hint("if the readings have another unit, put it in the heading, such as [°F]")
    } else if digest.exposure.peak.is_none() {
        Trouble::input(
            format!("{name}: every cell is blank"),
            "coolant temperatures",
        )
        .hint(format!(
            "choose another column with {} coolant=NAME",
            mention("column")
        ))
    } else if tally.backwards > tally.rows_read {
        Trouble::input(
            format!(
                "time runs backwards in {} of {} rows",
                tally.backwards,
                tally.rows_read + tally.rows_dropped
            ),
            "rows in time order",
        )
        .hint("sort the rows by time")
    } else if let Some(trouble) = no_time(&digest) {
        trouble
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

#[cfg(test)]
mod tests {
    use super::*;

    /// With one processor or two, the sums are the same to the last digit, over several batches and a last short one.
    #[test]
    fn in_turn_and_in_parallel_are_the_same() {
        let line = |i: usize| {
            let (coolant, speed) = (80.0 + (i % 2000) as f64 * 0.02, i / 700 % 90);
            format!("{:.1},{coolant:.2},{speed},{}\n", i as f64 * 0.7, i % 3000)
        };
        let text: String = (0..5 * ROWS + 7).map(line).collect();
        let text = format!("Time [s],ECT [°C],Speed [km/h],RPM\n{text}");
        let of = |parallel: bool| {
            let mut reader =
                LogReader::open(text.as_bytes(), "log.csv", &Choices::default()).unwrap();
            let mut sums = Sums::of(&[373.15]);
            let read = if parallel { in_parallel } else { in_turn };
            read(&mut reader, &mut sums, &mut |_| {}).unwrap();
            assert_eq!(reader.tally().rows_read as usize, 5 * ROWS + 7);
            // By hand: every 2000 rows the coolant passes 100 °C once.
            assert_eq!(sums.exposure.levels[0].episodes, 5);
            format!("{sums:?}")
        };
        assert_eq!(of(true), of(false));
    }
}
