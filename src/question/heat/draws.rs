//! Bands and probabilities for every condition of the comparison, and bands of the differences, all from the same
//! sampled machines.

use super::looks::limiting;
use super::reading::Put;
use super::{Heat, Look, Variant};
use crate::balance::{Asked, NoSteadyState, Warm, at_limit, warm_from};
use crate::model::{Case, OilSheet, Together};
use crate::question::Ends;
use crate::vary::band::of_values;
use crate::vary::sample;
use crate::vary::settled::boiling;
use rayon::prelude::*;

/// Number of machines sampled.
pub const DRAWN: usize = 120;

/// Maximum residual relative to the heat flow for a sampled machine. It changes a temperature by about 0.01 K, and
/// temperatures are reported to 1 K.
const ROUGHLY: f64 = 1e-4;

/// The seed of the sampling.
const SEED: u64 = 20_261_126;

/// Healthy machines sampled within the ±, each fitted to the readings.
pub(super) struct Drawn<'a> {
    request: &'a Heat,
    machines: Vec<Case>,
    /// Random error of an imposed fan speed for each machine, in standard deviations.
    errors: Vec<f64>,
}

/// The result of one machine in one condition.
#[derive(Clone, Copy)]
struct Result {
    /// Coolant temperature, K; the upper estimate of the boiling point if it boils.
    coolant: f64,
    /// Probability that the coolant boils, given the uncertainty of its boiling point.
    boils: f64,
    /// Whether the coolant reaches its limit or certainly boils.
    limit: bool,
    /// Limiting ambient temperature, K.
    limiting_ambient: Option<f64>,
}

impl<'a> Drawn<'a> {
    /// Samples machines around a healthy one. Machines that cannot be fitted to the readings are omitted.
    pub fn of(
        request: &'a Heat,
        (healthy, spread): (&Case, &Case),
        put: Option<(&Put<'_>, &Warm)>,
    ) -> Self {
        let setup = &request.setup;
        let together = &setup.machine.correlations;
        let drawn = sample::draw(healthy, spread, together, DRAWN, SEED);
        let readings = put.map_or(0, |(put, _)| put.readings());
        // The last row of scores is for the imposed fan speed.
        let offs = sample::scores(readings + 1, DRAWN, SEED);
        let one = |(n, case): (usize, &Case)| {
            setup.stop.check().ok()?;
            let fitted = match put {
                Some((put, near)) => put.draw(case, near, |k| offs[k][n])?,
                None => *case,
            };
            Some((fitted, offs[readings][n]))
        };
        let (machines, errors) = drawn.par_iter().enumerate().filter_map(one).unzip();
        Self {
            request,
            machines,
            errors,
        }
    }

    /// The sampled machines with the faults of the request applied.
    pub fn faulty(&self) -> Vec<Case> {
        let one = |case: &Case| self.request.faulty(case);
        self.machines.iter().map(one).collect()
    }

    /// Adds to each condition its bands and probabilities, and the bands of its differences from the first condition.
    pub fn judge(&self, looks: &mut [Look], asked: Asked) {
        let asked = Asked {
            closed: ROUGHLY,
            ..asked
        };
        let all: Vec<Vec<Option<Result>>> =
            looks.iter().map(|look| self.results(look, asked)).collect();
        for (k, (look, own)) in looks.iter_mut().zip(&all).enumerate() {
            let found = || own.iter().flatten();
            if 2 * found().count() < DRAWN {
                continue;
            }
            let mean = |of: fn(&Result) -> f64| {
                Some(found().map(of).sum::<f64>() / found().count() as f64)
            };
            look.chance_to_boil = mean(|r| r.boils);
            look.chance_of_limit = mean(|r| r.boils.max(f64::from(u8::from(r.limit))));
            if look.steady {
                look.coolant_band = band(own.iter().map(|r| Some(r.as_ref()?.coolant)));
            }
            look.limiting_band = band(own.iter().map(|r| r.as_ref()?.limiting_ambient));
            let both = || own.iter().zip(&all[0]);
            if k > 0 && look.coolant_difference.is_some() {
                let of = |(a, b): (&Option<Result>, &Option<Result>)| {
                    Some(a.as_ref()?.coolant - b.as_ref()?.coolant)
                };
                look.difference_band = band(both().map(of));
            }
            if k > 0 && look.limiting_difference.is_some() {
                let of = |(a, b): (&Option<Result>, &Option<Result>)| {
                    Some(a.as_ref()?.limiting_ambient? - b.as_ref()?.limiting_ambient?)
                };
                look.limiting_difference_band = band(both().map(of));
            }
        }
    }

    /// Solves each sampled machine in one condition; `None` for a machine whose heat balance has no solution.
    fn results(&self, look: &Look, asked: Asked) -> Vec<Option<Result>> {
        let near = look.steady.then_some(&look.warm);
        let oils = self.oils(&look.name);
        let one = |(n, machine): (usize, &Case)| {
            self.request.setup.stop.check().ok()?;
            let (mut case, mut asked) = look.name.put(self.request, machine, asked);
            if let Some(oils) = &oils {
                case.oil = oils[n].oil;
            }
            if let (Some(speed), Some(_)) = (self.request.fan_speed, asked.fan_speed) {
                let speed = speed.value + 0.5 * speed.spread * self.errors[n];
                asked.fan_speed = Some(speed.max(0.0));
            }
            if let (Some(ratio), true) = (&self.request.ratio, asked.hold_oil) {
                let of = &self.request.setup.machine;
                asked.fan_ratio = ratio.of(of, machine, self.errors[n]).ok()?;
            }
            let warm = warm_from(&case, asked, near).ok()?;
            let limit = at_limit(&case, asked, look.limit.as_ref());
            Some(Result::of(&warm, limit.as_ref()))
        };
        self.machines.par_iter().enumerate().map(one).collect()
    }

    /// Samples another oil within its ±, independently of the oil in the machine; `None` if this condition has no other
    /// oil.
    fn oils(&self, name: &Variant) -> Option<Vec<Case>> {
        let Variant::Oil(sheet) = name else {
            return None;
        };
        let setup = &self.request.setup;
        let (case, spread) = poured(&setup.case, &setup.spread, sheet);
        let of_oil: Vec<_> = sample::uncertain(&spread)
            .into_iter()
            .filter(|i| i.part() == "oil")
            .collect();
        let count = self.machines.len();
        Some(sample::draw_of(
            &of_oil,
            &case,
            &spread,
            &Together::default(),
            count,
            SEED + 1,
        ))
    }
}

/// Replaces the oil of a case, and the oil's ±.
fn poured(case: &Case, spread: &Case, sheet: &OilSheet) -> (Case, Case) {
    let (mut case, mut spread) = (*case, *spread);
    (case.oil, case.curve) = (sheet.oil, sheet.curve);
    spread.oil = sheet.spread;
    let of_oil = crate::input::Input::all().filter(|i| i.part() == "oil");
    for (k, input) in of_oil.enumerate() {
        let factor = sheet.factors.get(k).copied().unwrap_or(false);
        spread.factors.put(input, factor);
    }
    (case, spread)
}

impl Result {
    fn of(warm: &Warm, limit: Option<&Warm>) -> Self {
        let [low, high] = boiling(&warm.case);
        let stops = matches!(
            warm.heats,
            Some(NoSteadyState::Coolant | NoSteadyState::CoolantStands | NoSteadyState::AirStands)
        );
        let coolant = match stops {
            true => high,
            false => warm.budget.coolant_temp,
        };
        let most = warm.case.coolant.as_ref().map_or(f64::NAN, |c| c.limit);
        Self {
            coolant,
            boils: ((coolant - low) / (high - low)).clamp(0.0, 1.0),
            limit: stops || coolant >= most,
            limiting_ambient: limit.and_then(limiting),
        }
    }
}

/// The band of a value in sampled machines.
fn band(values: impl Iterator<Item = Option<f64>>) -> Ends {
    Ends(of_values(values))
}
