//! What does a log of the road say: how hot, how long, doing what; how far from boiling; and did the repair work?
//!
//! | file | what it holds |
//! |---|---|
//! | `mod.rs` | the request, how it is answered |
//! | `fields.rs` | the fields |
//! | `source.rs` | where a log comes from, and how it is read |
//! | `drive.rs` | what one log holds: rows, peak, time above levels, episodes, columns, and what to bear in mind of it |
//! | `cooling.rs` | where it runs hot: cooling by pace |
//! | `compared.rs` | before and after |
//! | `simulation.rs` | the log and a model of a machine |

mod compared;
mod cooling;
mod drive;
mod fields;
mod simulation;
mod source;

pub use compared::BeforeAfter;
pub use cooling::AtPace;
pub use drive::{Drive, HotSpell, LogColumn, LogGap, LogMistake, Threshold};
pub use fields::{
    ABOVE, ALTITUDE, AMBIENT, AMBIENT_AFTER, CAP, COLUMN, COMPARE, EVERY, FUEL, FULL_FROM, GLYCOL,
    LOG, MACHINE,
};
pub use simulation::{OtherVehicle, PhaseMisfit, Simulation, Stopped};
pub use source::Source;

use super::{Field, Flat, Group, Intake, Outcome, Question, Request, Takes, Values, basis};
use crate::fault;
use crate::fluid::coolant;
use crate::input::unit::celsius;
use crate::model::log::{Choices, Signal};
use crate::model::{Ask, Caution, LogCaution, Posed, Whose, in_range_of};
use crate::outcome;
use crate::quantity::{Units, parse};
use crate::trouble::{Stop, Trouble, Troubles};
use crate::vary::log::{
    Digest, Fuel, Hot, all_given_from, by_pace, compare, heat, missing, simulate, where_hot,
};

/// A logged altitude, m, below which boiling hardly differs from sea level's.
const MATTERS: f64 = 100.0;
/// The highest altitude, m, that is believed.
const HIGHEST: f64 = 6000.0;
/// Levels that are counted where none are asked for, K.
pub const USUAL_LEVELS: [f64; 3] = [celsius(100.0), celsius(105.0), celsius(110.0)];

/// The question.
pub static QUESTION: Question = Question {
    key: "log",
    title: "Read a log",
    about: "What does a log of the road say: how hot, how long, doing what; and did the repair work?",
    groups: &[
        Group::new("A scan tool's log", &[&LOG]),
        Group::folded("A log after the repair", &[&COMPARE]),
        Group::new("From which boiling follows", &[&CAP, &GLYCOL, &ALTITUDE]),
        Group::folded(
            "What the log does not say",
            &[
                &AMBIENT,
                &AMBIENT_AFTER,
                &ABOVE,
                &COLUMN,
                &EVERY,
                &FUEL,
                &FULL_FROM,
            ],
        ),
        Group::folded(
            "A machine to compare it with",
            &[&MACHINE, &basis::OIL, &basis::WITH, &basis::SET],
        ),
    ],
    examples: &[
        "oilwheel log drive.csv",
        "oilwheel log drive.csv --ambient \"30 C\" --above \"98 C\" --column coolant=ECT",
        "oilwheel log before.csv --compare after.csv",
        "oilwheel log drive.csv --machine light-truck --with worn-pump=0.4",
    ],
    finds: Found::properties,
};

/// Cap, mix and altitude, from which boiling follows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filling {
    /// What the cap holds, Pa gauge.
    pub cap: f64,
    /// Fraction of glycol by volume.
    pub glycol: f64,
    /// Altitude, m.
    pub altitude: f64,
}

impl Filling {
    /// Temperatures, K, between which it begins to boil.
    pub fn boiling(&self) -> [f64; 2] {
        coolant::boiling(self.glycol, self.cap, self.altitude)
    }
}

/// What is asked.
#[derive(Clone)]
pub struct Log {
    /// The log.
    pub log: Source,
    /// A log after a repair, to compare with it.
    pub after: Option<Source>,
    /// How their columns are taken.
    pub choices: Choices,
    /// Levels, K, to count time above.
    pub levels: Vec<f64>,
    /// What the cap holds, Pa gauge, and the fraction of glycol by volume.
    pub coolant: (f64, f64),
    /// Altitude, m, if stated.
    pub altitude: Option<f64>,
    /// What the engine burns, if stated.
    pub fuel: Option<Fuel>,
    /// Ambient temperature of the log and of the one after, K, if stated.
    pub ambient: [Option<f64>; 2],
    /// Coolant temperature, K, from which thermostat and fan have no more to give, if stated or known of the machine.
    pub full_from: Option<f64>,
    /// A machine to compare it with, if asked for.
    pub machine: Option<Posed>,
    /// Units to print.
    pub units: Units,
    /// Whether somebody still waits.
    pub stop: Stop,
}

outcome! {
    /// The log at one moment.
    pub struct Moment {
        /// Since the first row.
        time: f64 as Time,
        /// Mean coolant temperature about that time.
        coolant: f64 as Temperature,
        /// The highest coolant temperature about that time.
        coolant_most: f64 as Temperature,
        /// Mean road speed about that time.
        road_speed: f64 as RoadSpeed,
        /// Simulated coolant temperature, with a machine.
        simulated_coolant: Option<f64> as Temperature,
    }
}

outcome! {
    /// What `log` finds.
    pub struct Found {
        /// What the log holds.
        drive: Flat<Drive>,
        /// The lowest temperature at which the coolant may begin to boil.
        boiling_low: f64 as Temperature,
        /// The highest temperature at which it may begin to boil.
        boiling_high: f64 as Temperature,
        /// By how much the peak stayed below that lowest temperature.
        margin_to_boiling: f64 as TemperatureDifference,
        /// The lowest temperature at which it may begin to boil under a cap that holds nothing.
        boiling_low_open: f64 as Temperature,
        /// The highest such temperature.
        boiling_high_open: f64 as Temperature,
        /// By how much the peak stayed below the lowest of these.
        margin_to_boiling_open: f64 as TemperatureDifference,
        /// Where it runs hot: `standing`, `moving`, `both` or `nowhere`; or `cannot_tell`.
        where_hot: &'static str,
        /// Why the log cannot tell; empty where it can.
        where_hot_unknown_because: &'static str,
        /// From what the heat into the coolant is known: `fuel` or `air`; or `unknown`.
        heat_from: &'static str,
        /// Why it is unknown; empty where it is known.
        heat_unknown_because: &'static str,
        /// Coolant temperature from which thermostat and fan are taken to give all they have.
        full_from: f64 as Temperature,
        /// Cooling by pace.
        paces: Vec<AtPace>,
        /// The log and a model of a machine, where asked for.
        model: Option<Simulation>,
        /// What the log after holds, where there is one.
        after: Option<Drive>,
        /// Before and after, where there is a log after.
        compare: Option<BeforeAfter>,
        /// The log over time.
        series: Vec<Moment>,
    }
    beside {
        /// The log as it was read.
        log: Digest,
        /// The log after as it was read.
        log_after: Option<Digest>,
        /// Where it runs hot.
        hot: Hot,
        /// Cap, mix, altitude.
        filling: Filling,
        /// Whether the altitude is the greatest logged.
        altitude_logged: bool,
        /// What must be borne in mind.
        cautions: Vec<Caution>,
    }
}

impl Request for Log {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let log = Source::of(&mut intake, &LOG);
        if log.is_none() && intake.problems.is_empty() {
            let expected = "a scan tool's log, as comma-separated values";
            let problem = Trouble::no_answer("no log yet", expected);
            intake.problems.push(problem.on(LOG.key));
        }
        let after = Source::of(&mut intake, &COMPARE);
        let cap = intake.value(&CAP);
        let glycol = intake.value(&GLYCOL);
        let altitude = intake.value(&ALTITUDE);
        let ambient = [&AMBIENT, &AMBIENT_AFTER].map(|f| intake.value(f));
        let levels = levels(&mut intake);
        let choices = Choices {
            columns: columns(values.all(&COLUMN)),
            every: intake.value(&EVERY),
            fahrenheit: false,
        };
        let fuel = match intake.choice(&FUEL) {
            Some("petrol" | "gasoline") => Some(Fuel::Petrol),
            Some("diesel") => Some(Fuel::Diesel),
            _ => None,
        };
        let stated = intake.value(&FULL_FROM);
        needs(&mut intake, &[&AMBIENT_AFTER], &COMPARE);
        needs(
            &mut intake,
            &[&basis::OIL, &basis::SET, &basis::WITH],
            &MACHINE,
        );
        let machine = machine(&mut intake);
        let read = log.zip(cap).zip(glycol).map(|((log, cap), glycol)| Log {
            log,
            after,
            choices,
            levels,
            coolant: (cap, glycol),
            altitude,
            fuel,
            ambient,
            full_from: stated.or(machine.as_ref().and_then(full_of)),
            machine,
            units: values.units,
            stop: values.stop.clone(),
        });
        intake.finish(read)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        let (mut filling, mut altitude_logged) =
            (self.filling(self.altitude.unwrap_or(0.0)), false);
        let (mut log, mut after) = self.logs(&filling)?;
        let height_after = after.as_ref().map_or(f64::NAN, |a| a.exposure.altitude);
        let height = log.exposure.altitude.max(height_after);
        if self.altitude.is_none() && (MATTERS..=HIGHEST).contains(&height) {
            // As logged; once more, to count the time above the boiling point of that altitude.
            (filling, altitude_logged) = (self.filling(height), true);
            (log, after) = self.logs(&filling)?;
        }
        Ok(self.find(log, after, filling, altitude_logged))
    }
}

impl Log {
    /// Cap and mix at an altitude.
    fn filling(&self, altitude: f64) -> Filling {
        let (cap, glycol) = self.coolant;
        Filling {
            cap,
            glycol,
            altitude,
        }
    }

    /// Reads the log, and the one after, with the time above each level counted; the mistakes of both at once.
    fn logs(&self, filling: &Filling) -> Result<(Digest, Option<Digest>), Troubles> {
        let mut levels = self.levels.clone();
        levels.push(filling.boiling()[0]);
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let read = |source: &Source| source.read(&self.choices, &levels, &self.stop);
        let log = read(&self.log);
        match (log, self.after.as_ref().map(read).transpose()) {
            (Ok(log), Ok(after)) => Ok((log, after)),
            (log, after) => {
                let both = [log.err(), after.err()];
                Err(both.into_iter().flatten().flatten().collect())
            }
        }
    }

    /// What follows from logs that were read.
    fn find(
        &self,
        log: Digest,
        after: Option<Digest>,
        filling: Filling,
        altitude_logged: bool,
    ) -> Found {
        let heat = heat(&log, self.fuel);
        let full_from = all_given_from(&log, self.full_from);
        let paces = by_pace(&log, &heat, self.ambient[0], full_from);
        let hot = where_hot(&log, full_from);
        let (place, place_unknown) = cooling::where_hot(&hot);
        let (heat_from, heat_unknown_because) = cooling::heat_from(&heat);
        let peak = log.exposure.peak.map_or(f64::NAN, |p| p.0);
        let closed = filling.boiling();
        let open = Filling {
            cap: 0.0,
            ..filling
        }
        .boiling();
        let model = self.machine.as_ref().map(|posed| {
            let lacks = missing(&log, self.ambient[0]);
            let run = lacks
                .is_empty()
                .then(|| simulate(&log, &posed.case, self.ambient[0], filling.altitude));
            Simulation::of(posed, &log, lacks, run)
        });
        Found {
            drive: Flat(Drive::of(&log)),
            boiling_low: closed[0],
            boiling_high: closed[1],
            margin_to_boiling: closed[0] - peak,
            boiling_low_open: open[0],
            boiling_high_open: open[1],
            margin_to_boiling_open: open[0] - peak,
            where_hot: place,
            where_hot_unknown_because: place_unknown,
            heat_from,
            heat_unknown_because,
            full_from,
            paces: paces.iter().map(AtPace::of).collect(),
            series: moments(&log, model.as_ref()),
            after: after.as_ref().map(Drive::of),
            compare: after
                .as_ref()
                .map(|after| BeforeAfter::of(compare(&log, after, self.ambient))),
            cautions: self.cautions(&log, after.as_ref(), model.as_ref()),
            model,
            log,
            log_after: after,
            hot,
            filling,
            altitude_logged,
        }
    }

    /// What must be borne in mind.
    fn cautions(
        &self,
        log: &Digest,
        after: Option<&Digest>,
        model: Option<&Simulation>,
    ) -> Vec<Caution> {
        let mut all: Vec<Caution> = Vec::new();
        for stopped in model.iter().flat_map(|m| &m.stopped) {
            let (at, why) = (stopped.time, stopped.why.clone());
            all.push(LogCaution::SimulationEnds { at, why }.into());
        }
        let of_machine = self
            .machine
            .iter()
            .filter(|_| model.is_some_and(Simulation::ran));
        all.extend(of_machine.flat_map(|posed| posed.cautions.clone()));
        all.extend(drive::cautions(log).into_iter().map(Caution::from));
        let of_after = after.map(drive::cautions).unwrap_or_default();
        all.extend(
            of_after
                .into_iter()
                .map(|c| Caution::from(c).of(Whose::LogAfter)),
        );
        if !log.knows(Signal::Ambient) && self.ambient[0].is_none() {
            all.push(LogCaution::NoAmbient.into());
        }
        all.push(LogCaution::BoilingIsABand.into());
        all
    }
}

/// The log over time, and what was simulated along it.
fn moments(log: &Digest, model: Option<&Simulation>) -> Vec<Moment> {
    let simulated = model.filter(|m| m.ran()).map(|m| &m.coolant);
    let known = log.curve.bins.iter().enumerate();
    let known = known.filter(|(_, bin)| bin.coolant().is_finite());
    known
        .map(|(i, bin)| Moment {
            time: log.curve.middle(i),
            coolant: bin.coolant(),
            coolant_most: bin.coolant_most,
            road_speed: bin.speed(),
            simulated_coolant: simulated.map(|s| s.get(i).copied().unwrap_or(f64::NAN)),
        })
        .collect()
}

/// The machine to compare the log with, if asked for.
fn machine(intake: &mut Intake<'_>) -> Option<Posed> {
    let values = intake.values;
    if !values.has(&MACHINE) {
        return None;
    }
    // The log's own altitude is no altitude of the machine's.
    let ask = Ask {
        altitude: None,
        ..basis::ask(values)
    };
    let posed = fault::pose(&ask, &values.list(&basis::WITH), values.shelf);
    posed.map_err(|all| intake.problems.extend(all)).ok()
}

/// From which coolant temperature, K, a machine's thermostat and fan have no more to give.
fn full_of(posed: &Posed) -> Option<f64> {
    let thermostat = posed.case.thermostat?.full;
    let fan = posed.case.fan_control.map_or(thermostat, |c| c.full);
    Some(thermostat.max(fan))
}

/// Notes the fields that were given without the one that they belong to.
fn needs(intake: &mut Intake<'_>, fields: &[&Field], other: &Field) {
    let values = intake.values;
    if values.has(other) {
        return;
    }
    for field in fields.iter().filter(|f| values.has(f)) {
        let found = format!("{} without {}", field.mention(), other.mention());
        let expected = format!("{} too, or neither", other.mention());
        intake
            .problems
            .push(Trouble::input(found, expected).on(field.key));
    }
}

/// The levels to count time above, K: as typed, with commas between, else the usual ones.
fn levels(intake: &mut Intake<'_>) -> Vec<f64> {
    let Takes::Quantity(kind, low, high, _) = ABOVE.takes else {
        return Vec::new();
    };
    let values = intake.values;
    let typed = values.all(&ABOVE).flat_map(|words| words.split(','));
    let read = typed
        .map(str::trim)
        .filter(|w| !w.is_empty())
        .filter_map(|w| {
            let found = parse(kind, w).and_then(|m| in_range_of(kind, low, high, m, values.units));
            intake.keep(&ABOVE, found)
        });
    let levels: Vec<f64> = read.map(|m| m.value).collect();
    if levels.is_empty() {
        USUAL_LEVELS.to_vec()
    } else {
        levels
    }
}

/// Which column is which, with commas between; what has no `=` belongs to the heading before it, which has a comma.
fn columns<'a>(typed: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for words in typed {
        for (i, piece) in words.split(',').enumerate() {
            match all.last_mut() {
                Some(last) if i > 0 && !piece.contains('=') => {
                    last.push(',');
                    last.push_str(piece);
                }
                _ => all.push(piece.to_string()),
            }
        }
    }
    let trimmed = all.iter().map(|c| c.trim_matches([' ', ',']));
    trimmed
        .filter(|c| !c.is_empty())
        .map(String::from)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_parted_at_commas_and_headings_with_commas_stay_whole() {
        let of = |typed: &[&str]| columns(typed.iter().copied());
        assert_eq!(
            of(&["coolant=ECT, load=3", "ambient=none"]),
            ["coolant=ECT", "load=3", "ambient=none"]
        );
        assert_eq!(
            of(&["coolant=Temp, engine,load=3,"]),
            ["coolant=Temp, engine", "load=3"]
        );
    }
}
