//! What is asked of a log, as typed.

use super::{Filling, Question};
use crate::fault;
use crate::model::log::{Choices, TimeUnit};
use crate::model::{Ask, Shelf};
use crate::quantity::{Kind, Units, parse};
use crate::study::Answer;
use crate::trouble::{Trouble, Troubles, near};
use crate::vary::log::{Digest, Fuel};

/// A logged altitude, m, below which boiling hardly differs from sea level's, and the highest that is believed.
const MATTERS: f64 = 100.0;
/// See [`MATTERS`].
const HIGHEST: f64 = 6000.0;

/// Logs, and those after a repair.
pub struct Logs {
    /// The log that is asked about, and further ones before.
    pub before: (Digest, Vec<Digest>),
    /// Those after.
    pub after: Vec<Digest>,
}

impl From<(Digest, Option<Digest>)> for Logs {
    fn from((before, after): (Digest, Option<Digest>)) -> Self {
        Self {
            before: (before, Vec::new()),
            after: after.into_iter().collect(),
        }
    }
}

/// What reads the logs, told how to take those before and those after, and which levels to count.
pub type ReadLogs<'a> = &'a dyn Fn(&[Choices; 2], &[f64]) -> Result<Logs, Troubles>;

/// What is asked of a log, as typed; nothing where nothing was.
#[derive(Clone, Debug, Default)]
pub struct Typed {
    /// What the cap holds.
    pub cap: String,
    /// Share of glycol by volume.
    pub glycol: String,
    /// Altitude.
    pub altitude: Option<String>,
    /// Ambient temperature.
    pub ambient: Option<String>,
    /// Ambient temperature of the log after.
    pub ambient_after: Option<String>,
    /// Levels to count time above.
    pub above: Vec<String>,
    /// Which column is which.
    pub columns: Vec<String>,
    /// The same in the logs after, where it differs.
    pub columns_after: Vec<String>,
    /// How the column of time is told.
    pub time_unit: Option<String>,
    /// What stands between cells.
    pub delimiter: Option<String>,
    /// Which sign marks decimals.
    pub decimal: Option<String>,
    /// How far rows are apart.
    pub every: Option<String>,
    /// What the engine burns.
    pub fuel: Option<String>,
    /// From which coolant temperature thermostat and fan have no more to give.
    pub full_from: Option<String>,
    /// A machine to hold it against.
    pub machine: Option<Ask>,
    /// Faults on that machine.
    pub with: Vec<String>,
    /// Units to print.
    pub units: Units,
}

/// Understands what is asked, has the logs read, and answers. `read_logs` gives the log, and the one after where there is one,
/// with the time above each level counted.
pub fn asked(typed: &Typed, read_logs: ReadLogs<'_>) -> Result<Answer, Troubles> {
    let mut troubles = Troubles::new();
    let mut read = |flag: &str, kind: Kind, words: &str, low: f64, high: f64| -> f64 {
        let read = parse(kind, words).and_then(|m| {
            if (low..=high).contains(&m.value) {
                return Ok(m.value);
            }
            let units = typed.units;
            Err(Trouble::input(
                format!("{} outside the range", units.show(kind, m.value)),
                format!("{} to {}", units.show(kind, low), units.show(kind, high)),
            ))
        });
        read.unwrap_or_else(|t| {
            troubles.push(t.at(flag));
            low
        })
    };
    let cap = read("--cap", Kind::Pressure, &typed.cap, 0.0, 3e5);
    let glycol = read("--glycol", Kind::Share, &typed.glycol, 0.0, 0.6);
    let altitude = typed
        .altitude
        .as_deref()
        .map(|w| read("--altitude", Kind::Altitude, w, -500.0, HIGHEST));
    let mut air = |flag: &str, words: &Option<String>| {
        let words = words.as_deref();
        words.map(|w| read(flag, Kind::Temperature, w, 213.15, 333.15))
    };
    let ambient = [
        air("--ambient", &typed.ambient),
        air("--ambient-after", &typed.ambient_after),
    ];
    let mut asked: Vec<f64> = typed
        .above
        .iter()
        .map(|w| read("--above", Kind::Temperature, w, 273.15, 433.15))
        .collect();
    let every = typed
        .every
        .as_deref()
        .map(|w| read("--every", Kind::Time, w, 1e-3, 3600.0));
    let said_full = typed
        .full_from
        .as_deref()
        .map(|w| read("--full-from", Kind::Temperature, w, 313.15, 413.15));
    let fuel = match typed.fuel.as_deref() {
        None => None,
        Some("petrol" | "gasoline") => Some(Fuel::Petrol),
        Some("diesel") => Some(Fuel::Diesel),
        Some(other) => {
            let hint = near(other, ["petrol", "diesel"]).map(|k| format!("did you mean `{k}`?"));
            let trouble = Trouble::input(format!("no fuel called `{other}`"), "petrol or diesel");
            troubles.push(trouble.hint(hint.unwrap_or_default()).at("--fuel"));
            None
        }
    };
    let machine = typed.machine.as_ref().and_then(|ask| {
        let posed = fault::pose(ask, &typed.with, Shelf::Files);
        posed.map_err(|t| troubles.extend(t)).ok()
    });
    if !troubles.is_empty() {
        return Err(troubles);
    }
    // A machine says it too.
    let of_machine = machine.as_ref().and_then(|posed| {
        let thermostat = posed.case.thermostat?.full;
        let fan = posed.case.fan_control.map_or(thermostat, |c| c.full);
        Some(thermostat.max(fan))
    });
    if asked.is_empty() {
        asked = super::usual_levels().to_vec();
    }
    let mut filling = Filling {
        cap,
        glycol,
        altitude: altitude.unwrap_or(0.0),
        logged: false,
    };
    let choices = choices(typed, every)?;
    let read = |filling: &Filling| read_logs(&choices, &filling.levels(&asked));
    let mut logs = read(&filling)?;
    let heights = logs.after.iter().map(|a| a.exposure.altitude);
    let height = heights.fold(logs.before.0.exposure.altitude, f64::max);
    if altitude.is_none() && (MATTERS..=HIGHEST).contains(&height) {
        // As logged; once more, to count the time above the boiling point of that altitude.
        (filling.altitude, filling.logged) = (height, true);
        logs = read(&filling)?;
    }
    let (log, more) = logs.before;
    let mut afters = logs.after.into_iter();
    Ok(super::answer(&Question {
        log,
        after: afters.next(),
        more: [more, afters.collect()],
        filling,
        fuel,
        ambient,
        full_from: said_full.or(of_machine),
        machine,
        units: typed.units,
    }))
}

/// How the logs before and after are to be taken.
pub fn choices(typed: &Typed, every: Option<f64>) -> Result<[Choices; 2], Troubles> {
    let mut troubles = Troubles::new();
    let mut wrong = |flag: &str, found: &str, expected: String| {
        let found = format!("`{found}`");
        troubles.push(Trouble::input(found, expected).at(flag));
    };
    let time_unit = typed.time_unit.as_deref().and_then(|word| {
        let words = TimeUnit::WORDS.iter().map(|w| w.0).collect::<Vec<_>>();
        let found = TimeUnit::find(word);
        if found.is_none() {
            wrong("--time-unit", word, words.join(", "));
        }
        found
    });
    let delimiter = typed.delimiter.as_deref().and_then(|word| {
        let found = match word {
            "tab" | "\\t" => Some(b'\t'),
            "space" => Some(b' '),
            one => one
                .bytes()
                .next()
                .filter(|c| one.len() == 1 && c.is_ascii_punctuation() || *c == b'\t'),
        };
        if found.is_none() {
            wrong(
                "--delimiter",
                word,
                "one sign such as ; or ,, or tab, or space".into(),
            );
        }
        found
    });
    let decimal = typed.decimal.as_deref().and_then(|word| {
        let found = match word {
            "." | "point" => Some(b'.'),
            "," | "comma" => Some(b','),
            _ => None,
        };
        if found.is_none() {
            wrong("--decimal", word, "point or comma".into());
        }
        found
    });
    if !troubles.is_empty() {
        return Err(troubles);
    }
    let of = |columns: &[String]| Choices {
        columns: columns.to_vec(),
        every,
        time_unit,
        delimiter,
        decimal,
        fahrenheit: false,
    };
    let after = match typed.columns_after.as_slice() {
        [] => &typed.columns,
        _ => &typed.columns_after,
    };
    Ok([of(&typed.columns), of(after)])
}
