//! How much do readings taken on a healthy machine reduce the uncertainty of its inputs?

use super::basis::{self, AIR_TEMP, ALTITUDE, OIL_TEMP};
use super::own;
use super::readings::{self, Slip};
use super::state::left_out_of;
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::balance::State;
use crate::model::{Case, Caution, Machine, Setup, seen_from};
use crate::outcome;
use crate::probe::Readings;
use crate::quantity::{Kind, Measure};
use crate::trouble::{Trouble, Troubles};
use crate::vary::band::{self, Stated};
use crate::vary::coolant::{self, Observed, Seen};
use crate::vary::derivative::sensitivities;
use crate::vary::fit::{Fit, Met, Narrowed, UNTOUCHED, fit};

/// The readings do not fit if the probability of deviations as large as those observed is below this.
const SELDOM: f64 = 0.01;
/// With fewer readings than this, a caution states that they reduce the uncertainty only slightly.
const FEW: usize = 3;
/// A reading that deviates by more standard deviations than this may be a typing error.
const FAR_OFF: f64 = 3.0;
/// An input counts as greatly changed if it changed by more than this factor times its half-width.
const MOVED_FAR: f64 = 1.5;

/// Field for the readings.
pub const READINGS: Field = readings::READINGS.required();

/// Field for the file to which the fitted machine is written.
pub const OUT: Field = Field::new(
    "out",
    Takes::Text("the fitted machine"),
    "Where to write the fitted machine",
)
.help("A machine file. In later questions, give its path instead of the machine's name.")
.example("mine.toml")
.else_words("not written");

/// Field for the oil temperature at which the fan speeds before and after the fit are computed.
const TOLD_AT: Field = OIL_TEMP.called(
    "Oil temperature",
    "Used for the fan speeds computed before and after the fit. Each reading has its own oil temperature.",
);

/// The question.
pub static QUESTION: Question = Question {
    key: "fit",
    title: "",
    about: "Use readings taken when the machine was healthy to reduce its uncertainty, and write the fitted machine to a file.",
    groups: &[
        basis::MACHINE_AND_OIL,
        Group::new("Readings", &[&READINGS, &OUT]),
        Group::folded(
            "Air, altitude, oil temperature",
            &[&AIR_TEMP, &ALTITUDE, &TOLD_AT],
        ),
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel fit light-truck models/readings/well.toml",
        "oilwheel fit light-truck models/readings/well.toml --out mine.toml",
    ],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub struct Narrow {
    /// The machine with its oil.
    pub setup: Setup,
    /// The name of the oil, if one was given.
    pub oil: Option<String>,
    /// The readings of the healthy machine.
    pub readings: Readings,
    /// The name of the readings file in messages.
    pub source: String,
    /// The observations of coolant temperature, from readings and logs.
    pub observed: Vec<Observed>,
    /// The file to which the fitted machine is written.
    pub out: Option<String>,
}

outcome! {
    /// One uncertain input before and after the fit; values are in `unit`.
    pub struct FittedInput {
        /// Key of the input.
        input: String,
        /// The unit of the values.
        unit: &'static str,
        /// Value before the fit.
        before: f64,
        /// Half-width (95 %) of the input's uncertainty before the fit.
        before_half: f64 = "before_half_width",
        /// Value after the fit.
        after: f64,
        /// Half-width (95 %) of the input's uncertainty after the fit.
        after_half: f64 = "after_half_width",
        /// Whether the readings reduced the input's uncertainty by more than 5 %.
        touched: bool,
    }
    beside {
        /// The values before and after the fit, SI.
        narrowed: Narrowed,
    }
}

outcome! {
    /// One reading compared with the values computed before and after the fit; values are in `unit`.
    pub struct FittedReading {
        /// The key of the test.
        test: &'static str,
        /// The unit of the values.
        unit: &'static str,
        /// The measured value.
        read: f64,
        /// Computed value before the fit.
        before: f64 = "computed_before",
        /// Computed value after the fit.
        after: f64 = "computed_after",
        /// The half-width of the reading's error.
        half: f64 = "read_half_width",
        /// Deviation of the reading that remains after the fit, in standard deviations of instrument and model.
        off: f64 = "off_standard_deviations",
    }
    beside {
        /// The reading and the computed values, SI.
        met: Met,
        /// The typing error that would explain the deviation, and the corrected value, SI.
        slip: Option<(Slip, f64)>,
    }
}

outcome! {
    /// One observation of coolant temperature compared with the values computed before and after the fit; values are in
    /// `unit`.
    pub struct FittedCoolant {
        /// What was observed: the key of a test, `parked` or `warm_up`.
        observed: &'static str,
        /// The unit of the values.
        unit: &'static str,
        /// The observed value.
        read: f64,
        /// Computed value before the fit.
        before: f64 = "computed_before",
        /// Computed value after the fit.
        after: f64 = "computed_after",
        /// Deviation that remains after the fit, in standard deviations of reading and model.
        off: f64 = "off_standard_deviations",
    }
    beside {
        /// The observation and the computed values, SI.
        seen: Seen,
    }
}

outcome! {
    /// The result of `fit`.
    pub struct Found {
        /// Fan speed at idle before the fit.
        idle_before: f64 as Speed = "fan_speed_idle_before",
        /// Half-width (95 %) of the uncertainty of the fan speed at idle before the fit.
        idle_before_half: f64 as Speed = "fan_speed_idle_before_half_width",
        /// Fan speed at idle after the fit.
        idle_after: f64 as Speed = "fan_speed_idle_after",
        /// Half-width (95 %) of the uncertainty of the fan speed at idle after the fit.
        idle_after_half: f64 as Speed = "fan_speed_idle_after_half_width",
        /// Fan speed at raised engine speed before the fit.
        raised_before: f64 as Speed = "fan_speed_raised_before",
        /// Half-width (95 %) of the uncertainty of the fan speed at raised engine speed before the fit.
        raised_before_half: f64 as Speed = "fan_speed_raised_before_half_width",
        /// Fan speed at raised engine speed after the fit.
        raised_after: f64 as Speed = "fan_speed_raised_after",
        /// Half-width (95 %) of the uncertainty of the fan speed at raised engine speed after the fit.
        raised_after_half: f64 as Speed = "fan_speed_raised_after_half_width",
        /// Whether the readings fit the machine.
        fits: bool,
        /// Probability that readings of a machine as described deviate at least as much as these.
        chance: f64,
        /// Number of independent combinations of inputs whose uncertainty is reduced by the readings.
        rank: usize,
        /// How much the uncertainty of each combination is reduced: singular values, largest first.
        singular_values: Vec<f64>,
        /// Each uncertain input.
        inputs: Vec<FittedInput>,
        /// The readings of the oil circuit.
        readings: Vec<FittedReading>,
        /// The observations of coolant temperature from readings, and of the engine's heat from logs.
        coolant: Vec<FittedCoolant>,
    }
    beside {
        /// Fan speed at idle with its band, before and after the fit.
        idle: (FanBand, FanBand),
        /// Fan speed at raised engine speed with its band, before and after the fit.
        raised: (FanBand, FanBand),
        /// The fitted machine; the path of its oil is relative to the output file.
        machine: Machine,
        /// The cautions.
        cautions: Vec<Caution>,
    }
}

impl Request for Narrow {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let measured = intake.measured(&READINGS).and_then(|mut measured| {
            let (all, book) = (&measured.readings.all, &measured.readings.book);
            let setup = &mut measured.setup;
            let observed = own::observed(all, book, &measured.book_at, setup, values);
            Some((intake.keep_all(&READINGS, observed)?, measured))
        });
        let request = measured.map(|(observed, measured)| Narrow {
            observed,
            setup: measured.setup,
            oil: measured.oil,
            readings: measured.readings,
            source: measured.source,
            out: values.text(&OUT),
        });
        intake.finish(request)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find().map_err(|t| vec![t])
    }
}

/// A value with its half-width, SI.
type Band = (f64, f64);
/// A function that selects one of the engine speeds stated in a machine file.
type EngineSpeed = fn(&Machine) -> Measure;

impl Narrow {
    fn find(&self) -> Result<Found, Trouble> {
        let setup = &self.setup;
        let (fitted, seen) = self.narrowed()?;
        let machine = self.machine(&fitted);
        let before =
            |usual: EngineSpeed| fan_band(&setup.machine, &setup.case, &setup.spread, usual);
        let spread = fitted.spread(&setup.spread);
        let after = |usual: EngineSpeed| fan_band(&machine, &fitted.case, &spread, usual);
        let idle = (before(|m| m.usual.idle)?, after(|m| m.usual.idle)?);
        let raised = (before(|m| m.usual.raised)?, after(|m| m.usual.raised)?);
        let half = |fan: &FanBand| fan.band.half();
        Ok(Found {
            idle_before: idle.0.speed,
            idle_before_half: half(&idle.0),
            idle_after: idle.1.speed,
            idle_after_half: half(&idle.1),
            raised_before: raised.0.speed,
            raised_before_half: half(&raised.0),
            raised_after: raised.1.speed,
            raised_after_half: half(&raised.1),
            fits: fitted.chance >= SELDOM && seen.iter().all(Seen::fits),
            chance: fitted.chance,
            rank: fitted.rank,
            inputs: fitted.inputs.iter().map(FittedInput::of).collect(),
            readings: fitted.readings.iter().map(FittedReading::of).collect(),
            cautions: self.cautions(&fitted, &seen),
            coolant: seen.iter().map(FittedCoolant::of).collect(),
            singular_values: fitted.singular,
            idle,
            raised,
            machine,
        })
    }

    /// Fits the machine to the readings of the oil circuit, then to the observations of coolant temperature.
    fn narrowed(&self) -> Result<(Fit, Vec<Seen>), Trouble> {
        let setup = &self.setup;
        let (machine, case, spread) = (&setup.machine, &setup.case, &setup.spread);
        let all = self.readings.all.iter();
        let oil: Vec<_> = all
            .filter(|r| r.setting.settled.is_none())
            .copied()
            .collect();
        if oil.is_empty() && self.observed.is_empty() && !self.readings.book.logs.is_empty() {
            return Err(says_nothing());
        }
        let mut fitted = match oil.is_empty() && !self.observed.is_empty() {
            true => Fit::none(machine, case, spread),
            false => fit(machine, case, spread, &oil)?,
        };
        if self.observed.is_empty() {
            return Ok((fitted, Vec::new()));
        }
        let mut learned = setup.clone();
        learned.machine = fitted.machine(machine);
        learned.case = fitted.case;
        learned.case.now = case.now;
        learned.spread = fitted.spread(spread);
        let seen = coolant::learn(&mut learned, &self.observed)?;
        fitted.learned(&learned);
        Ok((fitted, seen))
    }

    /// The fitted machine; the path of its oil is made relative to the output file.
    fn machine(&self, fitted: &Fit) -> Machine {
        let mut machine = fitted.machine(&self.setup.machine);
        if let Some(oil) = &self.oil {
            machine.fill.clone_from(oil);
        }
        if let Some(path) = &self.out {
            machine.fill = seen_from(path, &machine.fill);
        }
        machine
    }

    fn cautions(&self, fitted: &Fit, seen: &[Seen]) -> Vec<Caution> {
        let setup = &self.setup;
        let mut all = setup.cautions.clone();
        all.extend(left_out_of(setup));
        all.extend(self.readings.notes.iter().cloned());
        if fitted.chance < SELDOM || !seen.iter().all(Seen::fits) {
            all.push(Caution::NoFit);
        }
        let here = &setup.machine.key;
        let other = |named: &&String| bare(named) != bare(here);
        all.extend(self.readings.machine.as_ref().filter(other).map(|named| {
            let (named, here) = (named.clone(), here.clone());
            Caution::OtherMachine { named, here }
        }));
        if fitted.readings.len() + seen.len() < FEW {
            all.push(Caution::FewReadings);
        }
        let moved = |n: &&Narrowed| n.moved().abs() > MOVED_FAR;
        let moved = fitted.inputs.iter().filter(moved);
        all.extend(moved.map(|n| Caution::MovedFar { input: n.input }));
        all
    }
}

/// The error for logs without any information on the engine's heat.
fn says_nothing() -> Trouble {
    Trouble::input(
        "no log shows the engine cooling while parked, or warming up from cold at idle",
        "a log with ambient temperature in which the engine either warms up at idle from below 35 °C to 70 °C, or is started again after an hour parked",
    )
    .on(READINGS.key)
}

/// A fan speed and its uncertainty band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FanBand {
    /// Fan speed, rad/s.
    pub speed: f64,
    /// Uncertainty band of the fan speed.
    pub band: Stated,
}

/// The fan speed, with its band, at one of the machine's usual engine speeds and full fan command.
fn fan_band(
    machine: &Machine,
    case: &Case,
    spread: &Case,
    usual: EngineSpeed,
) -> Result<FanBand, Trouble> {
    let engine_speed = usual(machine);
    let (mut case, mut spread) = (*case, *spread);
    case.now.engine_speed = engine_speed.value;
    case.now.command = 1.0;
    spread.now.engine_speed = engine_speed.spread;
    let (state, operating) = State::of(&case)?;
    let slopes = sensitivities(&case, &operating);
    let together = &machine.correlations;
    let band = band::stated(&case, &spread, together, &operating, &slopes);
    Ok(FanBand {
        speed: state.fan_speed,
        band,
    })
}

/// A path without a redundant `./`.
fn bare(path: &str) -> &str {
    path.strip_prefix("./").unwrap_or(path)
}

/// Converts a half-width from SI to the JSON unit of a kind of quantity.
fn half_in(kind: Kind, (value, half): Band) -> f64 {
    kind.to_json(value + half) - kind.to_json(value)
}

impl FittedInput {
    fn of(narrowed: &Narrowed) -> Self {
        let kind = narrowed.input.field().kind;
        Self {
            input: narrowed.input.key(),
            unit: kind.json_suffix(),
            before: kind.to_json(narrowed.before.0),
            before_half: half_in(kind, narrowed.before),
            after: kind.to_json(narrowed.after.0),
            after_half: half_in(kind, narrowed.after),
            touched: narrowed.left() <= UNTOUCHED,
            narrowed: *narrowed,
        }
    }
}

impl FittedReading {
    fn of(met: &Met) -> Self {
        let reading = &met.reading;
        let kind = reading.probe.what.kind();
        Self {
            test: reading.probe.key,
            unit: kind.json_suffix(),
            read: kind.to_json(reading.value),
            before: kind.to_json(met.before.0),
            after: kind.to_json(met.after.0),
            half: half_in(kind, (reading.value, reading.half)),
            off: met.off,
            slip: slip(met),
            met: *met,
        }
    }
}

impl FittedCoolant {
    fn of(seen: &Seen) -> Self {
        let (observed, kind) = match seen.observed {
            Observed::Steady(reading) => (reading.probe.key, reading.probe.what.kind()),
            Observed::Parked { .. } => ("parked", Kind::Temperature),
            Observed::WarmUp { .. } => ("warm_up", Kind::Time),
        };
        Self {
            observed,
            unit: kind.json_suffix(),
            read: kind.to_json(seen.value),
            before: kind.to_json(seen.before),
            after: kind.to_json(seen.after),
            off: seen.off,
            seen: *seen,
        }
    }
}

/// The typing error that would explain a reading far from its computed value, and the corrected value.
fn slip(met: &Met) -> Option<(Slip, f64)> {
    let reading = &met.reading;
    let would = |factor: f64| {
        let off = reading.value * factor - met.before.0;
        off.abs() <= met.before.1 + reading.half
    };
    let far = met.off.abs() >= FAR_OFF;
    let slip = Slip::find(reading.probe.what.kind(), would).filter(|_| far)?;
    Some((slip, reading.value * slip.factor()))
}
