//! Uncertainty bands of fan speed: of one case, and of the difference between two.

use super::derivative::{Sensitivity, half_width, sensitivities};
use super::sample::{self, Band};
use super::shares::{differing, shares_in_four_orders};
use crate::balance::{Operating, Output, State, solve_from, solve_near};
use crate::input::{Input, Place};
use crate::model::{Case, Setup, Together};
use rayon::prelude::*;

/// Number of sampled cases.
const DRAWN: usize = 400;
/// Number of pairs of sampled cases for which the contributions of places are computed.
const SHARED: usize = 200;
/// The seed of the sampling.
const SEED: u64 = 20_261_125;

/// The 95 % band of a fan speed: from linearisation, or from sampling if the two bands differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stated {
    /// Lower limit of the band, rad/s.
    pub low: f64,
    /// Upper limit of the band, rad/s.
    pub high: f64,
    /// Half-width of the linear band, rad/s.
    pub linear: f64,
    /// The band of the sampled cases.
    pub sampled: Option<Band>,
    /// Whether the stated band is the sampled one.
    pub by_draws: bool,
}

impl Stated {
    /// Half-width of the band, rad/s.
    pub fn half(&self) -> f64 {
        0.5 * (self.high - self.low)
    }
}

/// The uncertainty band of a case's fan speed.
pub fn stated(
    case: &Case,
    spread: &Case,
    correlations: &Together,
    operating: &Operating,
    slopes: &[Sensitivity],
) -> Stated {
    let middle = operating.omega;
    let linear = half_width(slopes, spread, correlations, Output::FAN_SPEED);
    let drawn = sample::draw(case, spread, correlations, DRAWN, SEED);
    let sampled = sample::speed_band(&drawn, operating);
    let told = sampled.filter(|band| differs(middle, linear, band));
    let (low, high) = match told {
        Some(band) => (band.low, band.high),
        None => ((middle - linear).max(0.0), middle + linear),
    };
    Stated {
        low,
        high,
        linear,
        sampled,
        by_draws: told.is_some(),
    }
}

/// The 95 % band of any output of a case, as lower and upper limit: from linearisation, or from sampling if the two
/// bands differ.
pub fn of_output(
    case: &Case,
    spread: &Case,
    correlations: &Together,
    operating: &Operating,
    output: Output,
) -> (f64, f64) {
    let slopes = sensitivities(case, operating);
    if output == Output::FAN_SPEED {
        let band = stated(case, spread, correlations, operating, &slopes);
        return (band.low, band.high);
    }
    let middle = State::found(case, operating).get(output);
    let half = half_width(&slopes, spread, correlations, output);
    let drawn = sample::draw(case, spread, correlations, DRAWN, SEED);
    let one = |case: &Case| {
        let found = solve_near(case, operating).ok()?;
        Some(State::found(case, &found).get(output))
    };
    let found: Vec<f64> = drawn.par_iter().filter_map(one).collect();
    if found.is_empty() {
        return (middle - half, middle + half);
    }
    let (low, high) = ends(found);
    let sampled = Band {
        low,
        high,
        other_limit: 0.0,
    };
    if differs(middle, half, &sampled) {
        (low, high)
    } else {
        (middle - half, middle + half)
    }
}

/// Whether a limit of the sampled band deviates from the linear one by more than a tenth of the linear half-width.
fn differs(middle: f64, half: f64, band: &Band) -> bool {
    let off = |a: f64| (a - half).abs() > 0.1 * half.max(1e-9) && (a - half).abs() > 0.01 * middle;
    off(band.high - middle) || off(middle - band.low)
}

/// The 95 % band of the difference between two fan speeds, over machines sampled within their uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// Lower limit of the difference, rad/s.
    pub low: f64,
    /// Upper limit of the difference, rad/s.
    pub high: f64,
    /// The band of the difference as a fraction of the second speed; `None` if the second fan is stopped in some
    /// samples.
    pub share: Option<(f64, f64)>,
}

impl Difference {
    /// The band between two cases that are the same.
    pub const NONE: Self = Self {
        low: 0.0,
        high: 0.0,
        share: None,
    };

    /// Whether the band includes zero difference.
    pub fn holds_none(&self) -> bool {
        self.low <= 0.0 && self.high >= 0.0
    }
}

/// Samples two cases `count` times. Inputs of both are drawn alike, so that each pair compares the same machine in the
/// same condition; two different oils are drawn independently.
pub fn pairs(this: &Setup, that: &Setup, count: usize) -> (Vec<Case>, Vec<Case>) {
    let mut inputs = sample::uncertain(&this.spread);
    for input in sample::uncertain(&that.spread) {
        if !inputs.contains(&input) {
            inputs.push(input);
        }
    }
    let drawn = |inputs: &[Input], side: &Setup, seed| {
        let together = &side.machine.correlations;
        sample::draw_of(inputs, &side.case, &side.spread, together, count, seed)
    };
    let these = drawn(&inputs, this, SEED);
    let mut those = drawn(&inputs, that, SEED);
    if this.case.curve != that.case.curve {
        let of_oil: Vec<Input> = inputs
            .iter()
            .copied()
            .filter(|i| i.part() == "oil")
            .collect();
        let own = drawn(&of_oil, that, SEED + 1);
        for (case, own) in those.iter_mut().zip(own) {
            case.oil = own.oil;
        }
    }
    (these, those)
}

/// The 95 % band of each place's contribution to the difference between two cases (first minus second), over sampled
/// machines. Samples without an operating point are omitted; `None` if most are omitted.
pub fn contributions(this: &Setup, that: &Setup) -> Option<Vec<(Place, (f64, f64))>> {
    let (these, those) = pairs(this, that, SHARED);
    let one = |(this, that): (&Case, &Case)| shares_in_four_orders(that, this).ok();
    let drawn: Vec<Vec<(Place, f64)>> = these.par_iter().zip(&those).filter_map(one).collect();
    if drawn.len() < SHARED / 2 {
        return None;
    }
    let of = |place: Place| {
        let one = |all: &Vec<(Place, f64)>| all.iter().find(|s| s.0 == place).map_or(0.0, |s| s.1);
        (place, ends(drawn.iter().map(one).collect()))
    };
    Some(
        differing(&that.case, &this.case)
            .into_iter()
            .map(of)
            .collect(),
    )
}

/// The difference in fan speed between two cases (first minus second), over sampled machines; `None` if too many samples
/// have no operating point.
pub fn difference(this: &Setup, that: &Setup) -> Option<Difference> {
    let (these, those) = pairs(this, that, DRAWN);
    let near = |side: &Setup| State::of(&side.case).ok().map(|found| found.0.fan_speed);
    let (near_this, near_that) = (near(this)?, near(that)?);
    let one = |(a, b): (&Case, &Case)| {
        let (a, b) = (
            solve_from(a, near_this).ok()?,
            solve_from(b, near_that).ok()?,
        );
        Some((a.omega, b.omega))
    };
    let both: Vec<Option<(f64, f64)>> = these.par_iter().zip(&those).map(one).collect();
    let (low, high) = of_values(both.iter().map(|s| s.map(|(a, b)| a - b)))?;
    let stands = both.iter().flatten().any(|(_, b)| *b <= 0.0);
    let shares = || of_values(both.iter().map(|s| s.map(|(a, b)| a / b - 1.0)));
    let share = if stands { None } else { shares() };
    Some(Difference { low, high, share })
}

/// The 95 % band of the difference in an output between two cases (first minus second), over sampled machines; `None`
/// if too many samples have no operating point.
pub fn output_difference(this: &Setup, that: &Setup, output: Output) -> Option<(f64, f64)> {
    let (these, those) = pairs(this, that, DRAWN);
    let outputs = |cases: &[Case], side: &Setup| -> Option<Vec<Option<f64>>> {
        let (_, near) = State::of(&side.case).ok()?;
        let one = |case: &Case| {
            let found = solve_near(case, &near).ok()?;
            Some(State::found(case, &found).get(output))
        };
        Some(cases.par_iter().map(one).collect())
    };
    let (these, those) = (outputs(&these, this)?, outputs(&those, that)?);
    let each = these.into_iter().zip(those);
    of_values(each.map(|(a, b)| Some(a? - b?)))
}

/// A band is given only if at most this fraction of the sampled machines has no value.
const LACKING: f64 = 0.025;

/// The limits that enclose the central 95 % of the values of sampled machines; `None` if too many have no value.
pub fn of_values(values: impl Iterator<Item = Option<f64>>) -> Option<(f64, f64)> {
    let all: Vec<Option<f64>> = values.collect();
    let found: Vec<f64> = all.iter().flatten().copied().collect();
    let lacking = (all.len() - found.len()) as f64;
    let enough = !found.is_empty() && lacking <= LACKING * all.len() as f64;
    enough.then(|| ends(found))
}

/// The limits that enclose the central 95 % of the values.
fn ends(mut found: Vec<f64>) -> (f64, f64) {
    found.sort_by(f64::total_cmp);
    (sample::at(&found, 0.025), sample::at(&found, 0.975))
}
