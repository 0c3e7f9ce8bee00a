//! Updates a machine's uncertain inputs from its coolant temperatures: in steady states, while parked, in warm-ups at
//! idle.
//!
//! Each observation is computed with [`warm`] or [`travel`], and its derivatives with respect to the uncertain inputs
//! by finite differences of half a standard deviation. The inputs are then conditioned on all observations at once. As
//! the observations are not linear in the inputs, this is repeated from the updated inputs.
//!
//! **Source** A. Tarantola 1987, *Inverse Problem Theory*, the total inversion algorithm of Tarantola and Valette 1982,
//! from memory.

use super::forecast::model;
use super::known::{Prior, Row};
use crate::balance::{Asked, Rules, Stored, travel, warm};
use crate::input::Input;
use crate::model::{Case, INPUTS, Leg, Setup};
use crate::probe::{Reading, What};
use crate::trouble::Trouble;
use rayon::prelude::*;

/// Standard deviation of the model error of a parked machine's coolant temperature, K: root mean square deviation of
/// such a model fitted to one car (validation/parked_cooling_car), plus the error of the ambient sensor, which reads 2
/// to 5 K high after the car has stood.
const PARKED: f64 = 3.5;

/// Standard deviation of the model error of a warm-up time, as a fraction: the computed times agree with those of one
/// car to within a fifth, taken as two standard deviations (validation/idle_warmup_car).
const WARM_UP: f64 = 0.1;

/// Maximum number of iterations. They end if no score changes by more than `STAYS`; `STEP` is the step of the finite
/// differences. Scores and step are in standard deviations of the inputs.
const ROUNDS: usize = 4;
const STAYS: f64 = 0.02;
const STEP: f64 = 0.5;

/// Maximum simulated duration of a warm-up, as a multiple of the observed duration extrapolated back to the cold start.
const LONGEST: f64 = 3.0;

/// The inputs that affect cooling while parked.
const WHILE_PARKED: [Input; 6] = [
    INPUTS.engine.surface,
    INPUTS.engine.metal,
    INPUTS.engine.slow_metal,
    INPUTS.engine.slow_joined,
    INPUTS.engine.metal_to_coolant,
    INPUTS.coolant.volume,
];

/// The additional inputs that affect a warm-up at idle.
const WHILE_IDLING: [Input; 6] = [
    INPUTS.engine.surface_running,
    INPUTS.engine.idle_share,
    INPUTS.engine.friction,
    INPUTS.engine.efficiency,
    INPUTS.engine.accessories,
    INPUTS.core.heat_capacity,
];

/// One observation of the coolant.
#[derive(Clone, Copy, Debug)]
pub enum Observed {
    /// A reading taken in a steady state.
    Steady(Reading),
    /// Cooling while parked.
    Parked {
        /// Coolant temperature at the start and at the end, K.
        ends: [f64; 2],
        /// Duration, s.
        long: f64,
        /// Ambient temperature, K.
        ambient: f64,
    },
    /// A warm-up at idle, with the vehicle at rest.
    WarmUp {
        /// Temperature of the cold engine, K.
        begins: f64,
        /// Coolant temperatures between which the time was measured, K.
        ends: [f64; 2],
        /// Time between them, s.
        long: f64,
        /// Engine speed, rad/s.
        engine_speed: f64,
        /// Ambient temperature, K.
        ambient: f64,
        /// Heat flow of the fuel, W, if measured; otherwise 0.
        fuel_heat: f64,
    },
}

/// An observed value compared with the computed ones: temperatures in K, warm-up times in s.
#[derive(Clone, Copy, Debug)]
pub struct Seen {
    /// The observation.
    pub observed: Observed,
    /// The observed value.
    pub value: f64,
    /// The value computed before the update.
    pub before: f64,
    /// The value computed after the update.
    pub after: f64,
    /// Remaining deviation, in standard deviations of reading and model together.
    pub off: f64,
}

/// An observation fits if its remaining deviation is no more than this, in standard deviations.
const FITS: f64 = 3.0;

impl Seen {
    /// Whether the observation fits the machine.
    pub fn fits(&self) -> bool {
        self.off.abs() <= FITS
    }
}

impl Observed {
    /// The observed value: K, or s for a warm-up.
    pub fn value(&self) -> f64 {
        match self {
            Self::Steady(reading) => reading.value,
            Self::Parked { ends, .. } => ends[1],
            Self::WarmUp { long, .. } => *long,
        }
    }

    /// Duration of a cooling or warm-up, s; zero for a steady state.
    pub fn long(&self) -> f64 {
        match self {
            Self::Steady(_) => 0.0,
            Self::Parked { long, .. } | Self::WarmUp { long, .. } => *long,
        }
    }

    /// Standard deviation of the combined error of observation and model, in the unit of the value.
    fn error(&self, computed: f64) -> f64 {
        match self {
            Self::Steady(r) => (0.5 * r.half).hypot(model(r.probe.what, computed)),
            Self::Parked { .. } => PARKED,
            Self::WarmUp { long, .. } => WARM_UP * long,
        }
    }

    /// The value computed for a machine; `None` if the coolant boils or a warm-up never reaches the observed
    /// temperature.
    fn computed(&self, setup: &Setup, case: &Case) -> Option<f64> {
        match *self {
            Self::Steady(reading) => {
                let used = reading.setting.settled?;
                let asked = Asked {
                    automatic: used.automatic,
                    ..Asked::STEADY
                };
                let there = reading.setting.on(&setup.machine, case);
                let b = warm(&there, asked)
                    .ok()
                    .filter(|w| w.heats.is_none())?
                    .budget;
                Some(match reading.probe.what {
                    What::HoseDifference => b.coolant_temp - b.return_temp,
                    _ => b.coolant_temp,
                })
            }
            Self::Parked {
                ends,
                long,
                ambient,
            } => {
                let mut there = *case;
                (there.now.engine_speed, there.now.ambient) = (0.0, ambient);
                let track = along(&there, Stored::even(ends[0]), long)?;
                track.last().map(|p| p.1)
            }
            Self::WarmUp {
                begins,
                ends,
                long,
                engine_speed,
                ambient,
                fuel_heat,
            } => {
                let mut there = *case;
                there.now.engine_speed = engine_speed;
                (there.now.ambient, there.now.fuel_heat) = (ambient, fuel_heat);
                let most = LONGEST * long * (ends[1] - begins) / (ends[1] - ends[0]);
                let track = along(&there, Stored::even(begins), most)?;
                Some(reaches(&track, ends[1])? - reaches(&track, ends[0])?)
            }
        }
    }

    /// Whether the derivative of this observation with respect to an input is needed.
    fn needs(&self, input: Input) -> bool {
        match self {
            Self::Steady(_) => true,
            Self::Parked { .. } => WHILE_PARKED.contains(&input),
            Self::WarmUp { .. } => WHILE_PARKED.contains(&input) || WHILE_IDLING.contains(&input),
        }
    }

    /// The observation linearised at the given scores, and the value computed there.
    fn row(&self, setup: &Setup, prior: &Prior, scores: &[f64]) -> Option<(Row, f64)> {
        let case = at(&setup.case, prior, scores);
        let here = self.computed(setup, &case)?;
        let slope = |(k, input): (usize, &Input)| {
            let moved = case.with(*input, prior.value(k, scores[k] + STEP));
            let there = self.computed(setup, &moved)?;
            Some((*input, (there - here) / STEP))
        };
        let inputs = prior.inputs().par_iter().enumerate();
        let needed = inputs.filter(|(_, input)| self.needs(**input));
        let slopes: Vec<(Input, f64)> = needed.map(slope).collect::<Option<_>>()?;
        let along = prior.inputs().iter().zip(scores);
        let linear: f64 = along
            .map(|(input, score)| {
                let own = slopes.iter().filter(|s| s.0 == *input);
                own.map(|s| s.1 * score).sum::<f64>()
            })
            .sum();
        let row = Row {
            slopes,
            value: self.value() - here + linear,
            error: self.error(here),
        };
        Some((row, here))
    }
}

/// The case with its uncertain inputs set to the values for these scores.
fn at(case: &Case, prior: &Prior, scores: &[f64]) -> Case {
    let mut case = *case;
    for (k, (input, score)) in prior.inputs().iter().zip(scores).enumerate() {
        if *score != 0.0 {
            case = case.with(*input, prior.value(k, *score));
        }
    }
    case
}

/// Simulates a case for `long` seconds in its constant condition: pairs of time, s, and coolant temperature, K.
fn along(case: &Case, start: Stored, long: f64) -> Option<Vec<(f64, f64)>> {
    let legs = [0.0, long].map(|time| Leg {
        time,
        now: case.now,
        command: None,
    });
    let track = travel(case, &legs, start, Rules::USUAL).ok()?.track;
    Some(track.into_iter().map(|p| (p.0, p.1)).collect())
}

/// Time at which the coolant first rises to a temperature, s; `None` if it never does.
fn reaches(track: &[(f64, f64)], temperature: f64) -> Option<f64> {
    track.windows(2).find_map(|pair| {
        let [(t, from), (end, to)] = [pair[0], pair[1]];
        let there = from < temperature && to >= temperature;
        there.then(|| t + (end - t) * (temperature - from) / (to - from))
    })
}

/// Updates a machine's uncertain inputs from its coolant readings.
pub fn learn(setup: &mut Setup, all: &[Observed]) -> Result<Vec<Seen>, Trouble> {
    let prior = Prior::of(setup);
    let mut scores = vec![0.0; prior.inputs().len()];
    let mut rows = Vec::new();
    let mut before = Vec::new();
    for round in 0..ROUNDS {
        let found = all
            .iter()
            .map(|o| o.row(setup, &prior, &scores).ok_or_else(|| lost(o)));
        let found: Vec<(Row, f64)> = found.collect::<Result<_, _>>()?;
        if round == 0 {
            before = found.iter().map(|f| f.1).collect();
        }
        rows = found.into_iter().map(|f| f.0).collect();
        let Some((mean, _)) = prior.told(&rows) else {
            break;
        };
        let moves = mean.iter().zip(&scores).map(|(to, from)| (to - from).abs());
        let most = moves.fold(0.0, f64::max);
        scores = mean.iter().copied().collect();
        if most < STAYS {
            break;
        }
    }
    let case = at(&setup.case, &prior, &scores);
    let seen = all.iter().zip(before).map(|(observed, before)| {
        let after = observed
            .computed(setup, &case)
            .ok_or_else(|| lost(observed))?;
        Ok(Seen {
            observed: *observed,
            value: observed.value(),
            before,
            after,
            off: (after - observed.value()) / observed.error(after),
        })
    });
    let seen: Result<Vec<Seen>, Trouble> = seen.collect();
    prior.teach(setup, &rows);
    seen
}

fn lost(observed: &Observed) -> Trouble {
    let (found, expected) = match observed {
        Observed::Steady(_) => (
            "the coolant was read in a condition in which this machine would boil",
            "a condition in which the machine as given has a steady state below boiling",
        ),
        Observed::Parked { .. } => (
            "this machine cannot be computed while parked",
            "a machine with its radiator, coolant and engine",
        ),
        Observed::WarmUp { .. } => (
            "this machine does not warm up as far as the reading",
            "an engine that warms by itself at idle",
        ),
    };
    Trouble::no_answer(found, expected)
}
