//! The expected readings under every fault: the hypotheses whose probabilities [`super::posterior`] computes.
//!
//! At each severity the readings are linearised in all uncertain quantities. A few samples capture what the
//! linearisation misses: if another limit takes over within the uncertainty, the derivatives of both are weighted by
//! how often each applies, and the remaining error shifts the mean and widens the covariance.

mod scene;
mod search;
mod work;

use super::posterior::{Evidence, Hypothesis, Suspect, posterior};
use super::sample;
use crate::balance::{COOLANT_MODEL_HALF, solve_from};
use crate::fault::priors::Priors;
use crate::fault::{Fault, HEAT};
use crate::input::{Input, Place};
use crate::model::{Case, Machine};
use crate::probe::{self, Engine, Reading, Setting, What};
use crate::quantity::Kind;
use crate::trouble::{Stop, Trouble};
use nalgebra::DMatrix;
use rayon::prelude::*;
use scene::{Found, Source, Strip, TestCondition, View};
use search::{Search, Spot};
use work::Work;

/// Relative prior weights of the hypotheses.
#[derive(Clone, Debug)]
pub struct Weights {
    /// Weight of "nothing wrong that matters".
    pub nothing: f64,
    /// Weight of an unlisted cause.
    pub not_listed: f64,
    /// Weight of each fault.
    pub faults: Vec<(&'static Fault, f64)>,
}

/// A fault matters if it changes the fan speed by at least this fraction in any of the usual conditions.
pub const FLOOR: f64 = 0.05;
/// Standard deviation of the model error, as a fraction: of a speed, and of any other output. An engineering
/// assumption.
const MODEL: (f64, f64) = (0.01, 0.02);
/// Model error (standard deviation) of a difference of two coolant temperatures, as a fraction: an engineering
/// assumption.
const MODEL_DIFFERENCE: f64 = 0.1;
/// Day-to-day part of the model error of a reading, as a fraction of its standard deviation; the rest is constant: an
/// engineering assumption.
pub const REPEATS: f64 = 0.3;
/// Minimum probability of a cause to be reported in detail.
pub const WORTH: f64 = 0.02;
/// Minimum probability of deviations as large as the observed ones; below it, no hypothesis explains the readings.
pub const SELDOM: f64 = 0.01;
/// A fault of the heat side matters if it warms the coolant by this much, K, in some use.
pub const WARMER: f64 = 3.0;

impl Weights {
    /// The weights from a file; those of faults on the heat side only if there are coolant readings.
    pub fn of(priors: &Priors, warm: bool) -> Self {
        Self {
            nothing: priors.nothing,
            not_listed: priors.not_listed,
            faults: match warm {
                true => priors.all_faults(),
                false => priors.faults(),
            },
        }
    }
}

/// One row of the forecast: the quantity read, and the condition.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// The quantity read.
    pub what: What,
    /// The condition of the reading.
    pub setting: Setting,
    /// Half-width (about 95 %) of the engine speed in the condition, rad/s.
    pub engine_half: f64,
    /// Half-width (about 95 %) of the oil temperature in the condition, K; of the ambient temperature if the test waits
    /// for a steady state.
    pub oil_temp_half: f64,
    /// Half-width (about 95 %) of the air temperature at the fan, K; used if the condition has its own air temperature.
    pub air_half: f64,
    /// The part of the error common to other readings of the same instrument: an identifier, and the standard
    /// deviation.
    pub shared: Option<(usize, f64)>,
    /// Whether the row is a reading of the healthy machine, unaffected by the present fault.
    pub well: bool,
}

impl Row {
    /// The row of a reading; `well` if it was taken when the machine was healthy.
    pub fn of(reading: &Reading, well: bool) -> Self {
        Self {
            what: reading.probe.what,
            setting: reading.setting,
            engine_half: reading.engine_half,
            oil_temp_half: reading.oil_temp_half,
            air_half: reading.air_half,
            shared: None,
            well,
        }
    }
}

/// One form of a fault, and the minimum severity at which it matters.
pub type Form = (Fault, f64);

/// The hypotheses with their names.
#[derive(Clone, Debug)]
pub struct Forecast {
    /// The faults, in the order of the hypotheses after "nothing wrong that matters".
    pub faults: Vec<&'static Fault>,
    /// The hypotheses: nothing that matters, then each fault, then an unlisted cause.
    pub hypotheses: Vec<Hypothesis>,
    /// The faults that are impossible on this machine, or never reduce the fan speed enough.
    pub left_out: Vec<&'static Fault>,
    /// The forms of each fault, each with the minimum severity at which it matters.
    pub forms: Vec<Vec<Form>>,
}

impl Forecast {
    /// Probabilities of the hypotheses after the readings.
    pub fn suspects(&self, evidence: &[Evidence]) -> Vec<Suspect> {
        posterior(&self.hypotheses, evidence)
    }
}

/// The subject of a forecast.
pub struct Subject<'a> {
    /// The machine.
    pub machine: &'a Machine,
    /// The machine's inputs, with its oil.
    pub case: &'a Case,
    /// The half-width (about 95 %) of each input.
    pub spread: &'a Case,
    /// Cancels the computation when the answer is no longer needed.
    pub stop: &'a Stop,
}

/// The usual conditions in which the effect of a fault is evaluated.
const USUAL: [Setting; 5] = {
    const fn at(engine: Engine, cold: bool, command: f64) -> Setting {
        let oil_temp = if cold {
            Some(crate::input::unit::celsius(20.0))
        } else {
            None
        };
        Setting {
            engine,
            oil_temp,
            air: oil_temp,
            command,
            unplugged: false,
            settled: None,
        }
    }
    [
        at(Engine::Idle, false, 1.0),
        at(Engine::Raised, false, 1.0),
        at(Engine::Idle, true, 1.0),
        at(Engine::Raised, true, 1.0),
        at(Engine::Raised, false, 0.0),
    ]
};

impl Subject<'_> {
    /// The coolant temperature in the condition of each coolant test; empty on a machine without the required parts.
    fn coolant(&self, fault: Option<(&Fault, f64)>) -> Vec<f64> {
        probe::ALL
            .iter()
            .filter(|p| p.what == What::CoolantTemp && p.runs_on(self.machine))
            .map(|p| {
                let sound = p.setting.on(self.machine, self.case);
                let case = fault.map_or(sound, |(fault, severity)| fault.on(&sound, severity));
                let found = probe::Seen::of(&p.setting, &case, None);
                found.map_or(f64::NAN, |f| f.read(&case, std::iter::once(p.what))[0])
            })
            .collect()
    }

    /// The usual conditions, each with the fan speed of a healthy machine as given and at full command.
    fn usual(&self) -> Vec<(Case, f64, f64)> {
        let speed = |case: &Case| solve_from(case, f64::NAN).map_or(f64::NAN, |o| o.omega);
        USUAL
            .iter()
            .map(|setting| {
                let sound = setting.on(self.machine, self.case);
                let mut full = sound;
                full.now.command = 1.0;
                (sound, speed(&sound), speed(&full))
            })
            .collect()
    }

    /// The minimum severity at which a fault matters; `None` if the fault never matters on this machine.
    fn floor(&self, fault: &Fault, usual: &[(Case, f64, f64)]) -> Option<f64> {
        if fault.applies(self.case).is_err() {
            return None;
        }
        let (low, high) = fault.range;
        let of_heat = HEAT.iter().any(|f| f.key == fault.key);
        let sound = if of_heat {
            self.coolant(None)
        } else {
            Vec::new()
        };
        let matters = |severity: f64| {
            if of_heat {
                let now = self.coolant(Some((fault, severity)));
                return now.iter().zip(&sound).any(|(a, b)| a - b >= WARMER);
            }
            usual.iter().any(|(case, sound, full)| {
                let found = solve_from(&fault.on(case, severity), *sound);
                found.is_ok_and(|o| (o.omega - sound).abs() >= FLOOR * full)
            })
        };
        let steps = 40;
        let at = |i: usize| low + (high - low) * i as f64 / steps as f64;
        let first = (1..=steps).find(|i| matters(at(*i)))?;
        let (mut a, mut b) = (at(first - 1), at(first));
        for _ in 0..10 {
            let middle = 0.5 * (a + b);
            if matters(middle) {
                b = middle
            } else {
                a = middle
            }
        }
        Some(b)
    }

    /// The test conditions of the rows, the number of sources (uncertain quantities), and the correlations of the first
    /// sources, which are the machine's inputs.
    fn scenes(&self, rows: &[Row]) -> (Vec<TestCondition>, usize, DMatrix<f64>) {
        let own = |i: &Input| i.part() != "now" || matches!(i.field().key, "air_temp" | "altitude");
        // If the test does not wait for a steady state, inputs that act only on temperatures have no effect.
        let felt = |i: &Input, settles: bool| settles || i.place() != Place::Heat;
        let settles = rows.iter().any(|r| r.setting.settled.is_some());
        let inputs: Vec<Input> = Input::all()
            .filter(|i| own(i) && felt(i, settles))
            .filter(|i| self.spread.get(*i).is_some_and(|h| h > 0.0))
            .collect();
        // Readings of the healthy machine were taken on another day.
        let mut settings: Vec<(Setting, bool)> = Vec::new();
        for row in rows {
            if !settings.contains(&(row.setting, row.well)) {
                settings.push((row.setting, row.well));
            }
        }
        let mut spread = *self.spread;
        for input in Input::all().filter(|i| !own(i)) {
            spread = spread.with(input, 0.0);
        }
        let sources = inputs.len() + 3 * settings.len();
        let together = sample::factor(&inputs, &self.machine.correlations);
        let scenes = settings
            .iter()
            .enumerate()
            .map(|(number, (setting, well))| {
                let middle = setting.on(self.machine, self.case);
                let of: Vec<usize> = (0..rows.len())
                    .filter(|r| rows[*r].setting == *setting && rows[*r].well == *well)
                    .collect();
                let widest =
                    |f: fn(&Row) -> f64| of.iter().map(|r| f(&rows[*r])).fold(0.0, f64::max);
                let mut wide = spread;
                wide.now.engine_speed = widest(|r| r.engine_half);
                let second = match setting.settled {
                    Some(_) => {
                        wide.now.ambient = widest(|r| r.oil_temp_half);
                        Input::AMBIENT
                    }
                    None => {
                        wide.now.oil_temp = widest(|r| r.oil_temp_half);
                        Input::OIL_TEMP
                    }
                };
                let first = inputs.len() + 3 * number;
                let mut felt: Vec<(usize, Input)> = inputs.iter().copied().enumerate().collect();
                felt.extend([(first, Input::ENGINE_SPEED), (first + 1, second)]);
                if setting.air.is_some() {
                    felt.retain(|(_, i)| *i != Input::AIR_TEMP);
                    felt.push((first + 2, Input::AIR_TEMP));
                    wide.now.air_temp = widest(|r| r.air_half);
                }
                let sources = felt.into_iter().filter_map(|(at, input)| {
                    let half = wide.get(input).filter(|h| *h > 0.0)?;
                    let middle = middle.get(input)?;
                    let acts = setting.settled.is_some() || input.place() != Place::Heat;
                    acts.then_some(Source {
                        at,
                        input,
                        middle,
                        one: 0.5 * half,
                        factor: wide.factors.has(input) && middle > 0.0,
                    })
                });
                TestCondition {
                    sources: sources.collect(),
                    middle,
                    setting: *setting,
                    well: *well,
                    tests: of.iter().map(|r| rows[*r].what).collect(),
                    rows: of,
                }
            });
        (scenes.collect(), sources, together)
    }

    /// The hypotheses for these rows, and the probability of each given the evidence. `priors` gives the weight of
    /// "nothing that matters", and that of each fault.
    ///
    /// Hypotheses excluded by the evidence have no nodes, except those that are reported: the two most probable ones
    /// and each one above [`WORTH`] are computed in full. All hypotheses are computed in full if none of them explains
    /// the evidence. Rows without evidence are computed only where the evidence leaves some probability; elsewhere they
    /// are NaN. Without any evidence everything is computed.
    pub fn forecast(
        &self,
        rows: &[Row],
        evidence: &[Evidence],
        priors: &Weights,
    ) -> Result<(Forecast, Vec<Suspect>), Trouble> {
        if evidence.is_empty() {
            return self.whole(rows, evidence, priors);
        }
        let mut work = self.begin(rows, evidence, priors)?;
        let (read, open) = work.read(evidence);
        let mut live = work.weigh(self.stop, &read, evidence)?;
        let suspects = work.forecast(&live).0.suspects(evidence);
        work.fill(&mut live, &suspects, evidence.len());
        work.solve(|| self.stop.ask(), &read, &live)?;
        let (forecast, spots) = work.forecast(&live);
        let suspects = forecast.suspects(evidence);
        let likely = work.live(&spots, &suspects);
        work.solve(|| self.stop.check(), &open, &likely)?;
        Ok((work.forecast(&live).0, suspects))
    }

    /// The forecast with everything computed, even what the evidence excludes: a reference for comparison.
    pub fn whole(
        &self,
        rows: &[Row],
        evidence: &[Evidence],
        priors: &Weights,
    ) -> Result<(Forecast, Vec<Suspect>), Trouble> {
        let mut work = self.begin(rows, evidence, priors)?;
        let (read, open) = work.read(evidence);
        let every = work.every();
        work.solve(|| self.stop.check(), &[read, open].concat(), &every)?;
        let forecast = work.forecast(&every).0;
        let suspects = forecast.suspects(evidence);
        Ok((forecast, suspects))
    }

    /// The part of the forecast common to all severities.
    fn begin<'a>(
        &self,
        rows: &'a [Row],
        evidence: &[Evidence],
        priors: &Weights,
    ) -> Result<Work<'a>, Trouble> {
        let (scenes, sources, together) = self.scenes(rows);
        let usual = self.usual();
        let forms: usize = priors.faults.iter().map(|(f, _)| f.forms().count()).sum();
        let strips = forms * scenes.iter().filter(|scene| !scene.well).count();
        self.stop.expect(2 * forms + scenes.len() + strips);
        let found: Vec<(&'static Fault, f64, Vec<Form>)> = priors
            .faults
            .par_iter()
            .map(|(fault, weight)| {
                let forms = fault.forms().filter_map(|form| {
                    self.stop.check().ok()?;
                    Some((form, self.floor(&form, &usual)?))
                });
                (*fault, *weight, forms.collect())
            })
            .collect();
        let (faults, out): (Vec<_>, Vec<_>) = found.into_iter().partition(|f| !f.2.is_empty());
        let forms: Vec<(usize, Form)> = faults
            .iter()
            .enumerate()
            .flat_map(|(n, (.., forms))| forms.iter().map(move |form| (n, *form)))
            .collect();
        let search = Search::new(rows, &scenes, sources, &together, evidence);
        let places: Vec<Spot> = search.places(self.stop, &forms)?;
        let views: Vec<Vec<View>> = places.par_iter().map(|place| search.views(place)).collect();
        let sound: Vec<Found> = (0..views.len() * scenes.len())
            .into_par_iter()
            .map(|n| {
                self.stop.ask()?;
                let (view, scene) = (n / scenes.len(), n % scenes.len());
                scenes[scene].seen(None, 0.0, &views[view][scene], None)
            })
            .collect::<Result<_, _>>()?;
        let count = scenes.len();
        Ok(Work {
            rows,
            sources,
            together,
            alone: self.machine.correlations.is_empty(),
            strips: (0..forms.len() * count)
                .map(|n| Strip::new(&sound[n + count]))
                .collect(),
            scenes,
            views,
            sound,
            nothing: priors.nothing,
            not_listed: priors.not_listed,
            faults: faults.iter().map(|f| (f.0, f.1)).collect(),
            forms,
            left_out: out.iter().map(|f| f.0).collect(),
        })
    }
}

/// Common part of the model error's variance for two readings of the same quantity in the same condition.
pub fn shared(one: &Row, other: &Row) -> f64 {
    match one.well == other.well {
        true => 1.0,
        false => 1.0 - REPEATS * REPEATS,
    }
}

/// Standard deviation of the model error at a computed `value`, SI.
pub fn model(what: What, value: f64) -> f64 {
    match what {
        What::Output(o) if o.declaration().kind == Kind::Speed => MODEL.0 * value.abs(),
        What::Viscosity | What::FreeAir | What::Fact(_) => 0.0,
        What::CoolantTemp => 0.5 * COOLANT_MODEL_HALF,
        What::HoseDifference => MODEL_DIFFERENCE * value.abs(),
        _ => MODEL.1 * value.abs(),
    }
}
