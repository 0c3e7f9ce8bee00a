//! What a road log shows: how hot the engine gets, for how long, at which speeds, how close to boiling; and did a
//! repair help?
//!
//! | file | task |
//! |---|---|
//! | `mod.rs` | the request, how it is answered |
//! | `fields.rs` | the fields |
//! | `typed.rs` | parses what the user entered |
//! | `source.rs` | where a log comes from, and how it is read |
//! | `drive.rs` | the result for one log: rows, peak temperature, time above levels, episodes, columns, guesses |
//! | `doubts.rs` | cautions about the quality of a log |
//! | `climbs.rs` | where the engine runs hot, from climbs of the coolant temperature above its usual warm level |
//! | `cooling.rs` | where the engine runs hot, from the cooling at each pace |
//! | `compared.rs` | comparison before and after a repair |
//! | `simulation.rs` | comparison of the log with a model of a machine |
//! | `several.rs` | several logs, one per row |

mod climbs;
mod compared;
mod cooling;
mod doubts;
mod drive;
mod fields;
mod several;
mod simulation;
mod source;
mod typed;

pub use climbs::{ClimbLeg, HotClimb, HotClimbs};
pub use compared::{BeforeAfter, ChangeAtPace};
pub use cooling::AtPace;
pub use drive::{
    Drive, HotSpell, LogColumn, LogGap, LogGuess, LogMistake, LogSoak, LogWarmUp, Threshold,
};
pub use fields::*;
pub use several::{LogLine, Several};
pub use simulation::{OtherVehicle, PhaseMisfit, Simulation, Stopped};
pub use source::Source;

use super::{Flat, Group, Outcome, Question, Request, Values, basis};
use crate::fluid::coolant;
use crate::input::unit::celsius;
use crate::model::log::LogCaution;
use crate::model::log::{Choices, Signal};
use crate::model::{Caution, Setup, Whose};
use crate::outcome;
use crate::quantity::Units;
use crate::trouble::{Stop, Trouble, Troubles};
use crate::vary::log::{
    Digest, Fuel, all_given_from, by_pace, compare_all, heat, missing, runs_hot, simulate, survey,
};
use serde_json::{Map, Value};

/// Logged altitudes below this, m, are ignored: the boiling point hardly differs from that at sea level.
const MATTERS: f64 = 100.0;
/// Maximum plausible altitude, m.
const HIGHEST: f64 = 6000.0;
/// Default coolant temperature levels, K; the time at or above each is counted.
pub const USUAL_LEVELS: [f64; 3] = [celsius(100.0), celsius(105.0), celsius(110.0)];

/// The question `log`: its fields, examples and outcome.
pub static QUESTION: Question = Question {
    key: "log",
    title: "Read a log",
    about: "What does a road log show: how hot the engine gets, for how long and in what kind of driving, and whether a repair helped?",
    groups: &[
        Group::new("A scan tool's log", &[&LOG]),
        Group::folded(
            "A log after the repair",
            &[&COMPARE, &AMBIENT_AFTER, &COLUMN_AFTER],
        ),
        Group::new("To compute the boiling point", &[&CAP, &GLYCOL, &ALTITUDE]),
        Group::folded(
            "What the log does not contain",
            &[&AMBIENT, &ABOVE, &FUEL, &FULL_FROM],
        ),
        Group::folded(
            "How the log is read",
            &[&COLUMN, &TIME_UNIT, &EVERY, &DELIMITER, &DECIMAL],
        ),
        Group::folded(
            "A machine to compare with",
            &[&MACHINE, &basis::OIL, &basis::WITH, &basis::SET],
        ),
    ],
    examples: &[
        "oilwheel log drive.csv",
        "oilwheel log drive.csv --ambient \"30 C\" --above \"98 C\" --column coolant=ECT",
        "oilwheel log before.csv --compare after.csv",
        "oilwheel log logs/",
        "oilwheel log drive.csv --machine light-truck --with worn-pump=0.4",
    ],
    finds: Finding::properties,
};

/// Cap pressure, glycol fraction and altitude, which determine the coolant's boiling point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filling {
    /// The cap pressure, Pa gauge.
    pub cap: f64,
    /// Volume fraction of glycol.
    pub glycol: f64,
    /// Altitude, m.
    pub altitude: f64,
}

impl Filling {
    /// Lower and upper estimate of the boiling point, K.
    pub fn boiling(&self) -> [f64; 2] {
        coolant::boiling(self.glycol, self.cap, self.altitude)
    }
}

/// A request for `log`, parsed from what the user entered.
#[derive(Clone)]
pub struct Log {
    /// The logs: the main one, then any others recorded before a repair; or several logs for a table.
    pub logs: Vec<Source>,
    /// Logs recorded after a repair, to be compared with `logs`.
    pub after: Vec<Source>,
    /// Whether a table of several logs is requested.
    pub table: bool,
    /// Keys of the fields that the user filled in but that have no effect on a table.
    pub idle: Vec<&'static str>,
    /// Settings for reading the logs before the repair, and those after it.
    pub choices: [Choices; 2],
    /// Coolant temperature thresholds, K; the time above each is counted.
    pub levels: Vec<f64>,
    /// The cap pressure, Pa gauge, and the volume fraction of glycol.
    pub coolant: (f64, f64),
    /// Altitude, m, if stated.
    pub altitude: Option<f64>,
    /// The fuel of the engine, if stated.
    pub fuel: Option<Fuel>,
    /// Ambient temperature, K, of the logs before the repair and of those after it, if stated.
    pub ambient: [Option<f64>; 2],
    /// Coolant temperature, K, above which thermostat and fan are at their maximum, if stated or known for the machine.
    pub full_from: Option<f64>,
    /// A machine to be simulated along the log, if requested.
    pub machine: Option<Setup>,
    /// The unit system of the answer.
    pub units: Units,
    /// Cancels the computation when the answer is no longer needed.
    pub stop: Stop,
}

outcome! {
    /// The log in one time bin.
    pub struct Moment {
        /// Middle of the time bin, counted from the first row.
        time: f64 as Time,
        /// Mean coolant temperature in the time bin.
        coolant: f64 as Temperature,
        /// Maximum coolant temperature in the time bin.
        coolant_most: f64 as Temperature,
        /// Mean road speed in the time bin.
        road_speed: f64 as RoadSpeed,
        /// Simulated coolant temperature, if a machine is given.
        simulated_coolant: Option<f64> as Temperature,
    }
}

outcome! {
    /// The result of `log` for one log, or for logs before and after a repair.
    pub struct Found {
        /// Rows, temperatures, episodes and columns of the log.
        drive: Flat<Drive>,
        /// Lower estimate of the coolant's boiling point; sources differ.
        boiling_low: f64 as Temperature,
        /// Upper estimate of the coolant's boiling point.
        boiling_high: f64 as Temperature,
        /// Margin from the peak coolant temperature to the lower estimate of the boiling point; null if `verdict_withdrawn`.
        margin_to_boiling: f64 as TemperatureDifference,
        /// Lower estimate of the boiling point without cap pressure.
        boiling_low_open: f64 as Temperature,
        /// Upper estimate of the boiling point without cap pressure.
        boiling_high_open: f64 as Temperature,
        /// Margin from the peak coolant temperature to the lower estimate of the boiling point without cap pressure;
        /// null if `verdict_withdrawn`.
        margin_to_boiling_open: f64 as TemperatureDifference,
        /// Where the engine runs hot, and the climbs of the coolant temperature that show it.
        runs_hot: HotClimbs,
        /// The verdict of `runs_hot`, with `nowhere` for `regulated`.
        where_hot: &'static str,
        /// Why `where_hot` is `cannot_tell`; otherwise empty.
        where_hot_unknown_because: &'static str,
        /// Which logged flow gives the heat into the coolant: `fuel` or `air`; `unknown` if neither does.
        heat_from: &'static str,
        /// Why the heat into the coolant is unknown; empty if it is known.
        heat_unknown_because: &'static str,
        /// Coolant temperature above which thermostat and fan are assumed to be at their maximum.
        full_from: f64 as Temperature,
        /// Coolant temperature and cooling of the warm engine at each pace.
        paces: Vec<AtPace>,
        /// Comparison with a model of a machine, if requested.
        model: Option<Simulation>,
        /// The results for the log after the repair, if any.
        after: Option<Drive>,
        /// Comparison before and after the repair, if there is a log after it.
        compare: Option<BeforeAfter>,
        /// The log in time bins.
        series: Vec<Moment>,
    }
    beside {
        /// The log as read.
        log: Digest,
        /// The log after the repair, as read.
        log_after: Option<Digest>,
        /// Names of all logs before the repair, and of all logs after it.
        names: [Vec<String>; 2],
        /// Cap pressure, glycol fraction and altitude used for the boiling point.
        filling: Filling,
        /// Whether this altitude is the highest one logged; otherwise it is the one stated by the user, or sea level.
        altitude_logged: bool,
        /// The cautions to be shown with the result.
        cautions: Vec<Caution>,
    }
}

/// The result of `log`: for one log in detail, or for several logs in a table.
#[derive(Clone, Debug)]
pub enum Finding {
    /// The result for one log, or for logs before and after a repair.
    One(Box<Found>),
    /// The result for several logs.
    Several(Several),
}

impl Outcome for Finding {
    fn object(&self) -> Map<String, Value> {
        match self {
            Self::One(found) => found.object(),
            Self::Several(several) => several.object(),
        }
    }
    fn properties() -> Map<String, Value> {
        let mut all = Found::properties();
        all.extend(Several::properties());
        all
    }
}

/// The logs as read, before and after a repair.
struct Logs {
    before: Vec<Digest>,
    after: Vec<Digest>,
}

impl Request for Log {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Finding;

    fn read(values: &Values) -> Result<Self, Troubles> {
        typed::read(values)
    }

    fn answer(&self) -> Result<Finding, Troubles> {
        self.expect();
        if self.table {
            return Ok(Finding::Several(self.several()));
        }
        let mut filling = self.filling(self.altitude.unwrap_or(0.0));
        let mut logs = self.read_all(&filling)?;
        let heights = logs.before.iter().chain(&logs.after);
        let height = heights
            .map(|l| l.exposure.altitude)
            .fold(f64::NAN, f64::max);
        let altitude_logged = self.altitude.is_none() && (MATTERS..=HIGHEST).contains(&height);
        if altitude_logged {
            let [from, to] = [filling, self.filling(height)].map(|f| f.boiling()[0]);
            filling = self.filling(height);
            let counted_anyway = self.levels.iter().any(|l| (l - from).abs() < 1e-6);
            let mut all = logs.before.iter_mut().chain(&mut logs.after);
            if counted_anyway || !all.all(|log| log.exposure.moved_unreached(from, to)) {
                // The time above the boiling point at this altitude is not yet counted, so the logs are read again.
                self.expect();
                logs = self.read_all(&filling)?;
            }
        }
        let found = self.find(logs, filling, altitude_logged);
        let none = || vec![Trouble::no_answer("no log", "at least one log")];
        found.map(|f| Finding::One(Box::new(f))).ok_or_else(none)
    }
}

impl Log {
    /// Announces the amount of data to be read, for the progress display.
    fn expect(&self) {
        let logs = self.logs.iter().chain(&self.after);
        self.stop.expect(logs.map(Source::pieces).sum());
    }

    /// The coolant filling of the request at an altitude, m.
    fn filling(&self, altitude: f64) -> Filling {
        let (cap, glycol) = self.coolant;
        Filling {
            cap,
            glycol,
            altitude,
        }
    }

    /// Reads the logs before and after the repair, and counts the time above each level; reports the errors of all logs
    /// at once.
    fn read_all(&self, filling: &Filling) -> Result<Logs, Troubles> {
        let mut levels = self.levels.clone();
        levels.push(filling.boiling()[0]);
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let mut problems = Troubles::new();
        let mut read = |sources: &[Source], choices: &Choices| -> Vec<Digest> {
            let all = sources.iter().map(|s| s.read(choices, &levels, &self.stop));
            all.filter_map(|read| read.map_err(|t| problems.extend(t)).ok())
                .collect()
        };
        let before = read(&self.logs, &self.choices[0]);
        let after = read(&self.after, &self.choices[1]);
        if problems.is_empty() {
            Ok(Logs { before, after })
        } else {
            Err(problems)
        }
    }

    /// Reads several logs, and summarises each in one row.
    fn several(&self) -> Several {
        let names: Vec<String> = self.logs.iter().map(|s| s.name.clone()).collect();
        let read = |name: &str| {
            let source = self.logs.iter().find(|s| s.name == name);
            let unknown = || {
                vec![Trouble::no_answer(
                    format!("no log called `{name}`"),
                    "a log that was given",
                )]
            };
            let source = source.ok_or_else(unknown)?;
            source.read(&self.choices[0], &self.levels, &self.stop)
        };
        let lines = survey(&names, read);
        let idle = self
            .idle
            .iter()
            .map(|field| LogCaution::OneLogOnly { field }.into());
        Several {
            logs: lines.iter().map(LogLine::of).collect(),
            cautions: idle.collect(),
        }
    }

    /// Computes the result from the logs read.
    fn find(&self, logs: Logs, filling: Filling, altitude_logged: bool) -> Option<Found> {
        let compare = (!logs.after.is_empty()).then(|| {
            let [before, after] = [&logs.before, &logs.after].map(|l| l.iter().collect::<Vec<_>>());
            BeforeAfter::of(compare_all(&before, &after, self.ambient))
        });
        let names = |logs: &[Digest]| logs.iter().map(|l| l.source.clone()).collect();
        let names = [names(&logs.before), names(&logs.after)];
        let log = logs.before.into_iter().next()?;
        let after = logs.after.into_iter().next();
        let heat = heat(&log, self.fuel);
        let full_from = all_given_from(&log, self.full_from);
        let paces = by_pace(&log, &heat, self.ambient[0], full_from);
        let runs_hot = HotClimbs::of(&runs_hot(&log, full_from));
        let (heat_from, heat_unknown_because) = cooling::heat_from(&heat);
        let peak = { log.exposure.peak }.filter(|_| !log.withdrawn());
        let peak = peak.map_or(f64::NAN, |p| p.0);
        let closed = filling.boiling();
        let open = Filling {
            cap: 0.0,
            ..filling
        }
        .boiling();
        let model = self
            .machine
            .as_ref()
            .map(|m| self.simulated(m, &log, &filling));
        Some(Found {
            drive: Flat(Drive::of(&log)),
            boiling_low: closed[0],
            boiling_high: closed[1],
            margin_to_boiling: closed[0] - peak,
            boiling_low_open: open[0],
            boiling_high_open: open[1],
            margin_to_boiling_open: open[0] - peak,
            where_hot: match runs_hot.verdict {
                "regulated" => "nowhere",
                verdict => verdict,
            },
            where_hot_unknown_because: runs_hot.cannot_tell_because,
            runs_hot,
            heat_from,
            heat_unknown_because,
            full_from,
            paces: paces.iter().map(AtPace::of).collect(),
            series: moments(&log, model.as_ref()),
            after: after.as_ref().map(Drive::of),
            compare,
            cautions: self.cautions(&log, after.as_ref(), model.as_ref()),
            model,
            log,
            log_after: after,
            names,
            filling,
            altitude_logged,
        })
    }

    /// Simulates a machine along a log, if the log has the required signals.
    fn simulated(&self, setup: &Setup, log: &Digest, filling: &Filling) -> Simulation {
        let ambient = self.ambient[0];
        let lacks = missing(log, ambient);
        let run = || simulate(log, &setup.case, ambient, filling.altitude);
        let run = lacks.is_empty().then(run);
        Simulation::of(setup, log, lacks, run)
    }

    /// Collects the cautions to be shown with the result.
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
        let ran = model.is_some_and(Simulation::ran);
        let of_machine = self.machine.iter().filter(|_| ran);
        all.extend(of_machine.flat_map(|setup| setup.cautions.clone()));
        all.extend(doubts::cautions(log).into_iter().map(Caution::from));
        let of_after = after.map(doubts::cautions).unwrap_or_default();
        let of_after = of_after.into_iter().map(Caution::from);
        all.extend(of_after.map(|c| c.of(Whose::LogAfter)));
        if !log.knows(Signal::Ambient) && self.ambient[0].is_none() {
            all.push(LogCaution::NoAmbient.into());
        }
        all.push(LogCaution::BoilingIsABand.into());
        all
    }
}

/// The log in time bins, with the simulated coolant temperature if a machine was simulated.
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
