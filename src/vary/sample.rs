//! Bands by sampling: Latin hypercube, the same for a seed everywhere.

use crate::balance::{Output, State, solve_from};
use crate::input::Input;
use crate::model::Case;
use crate::numeric::quantile;
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Cases drawn within the spread of a case's inputs. A spread is two standard deviations of a normal distribution, and
/// every draw is cut to the field's range.
pub fn draw(case: &Case, spread: &Case, count: usize, seed: u64) -> Vec<Case> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut cases = vec![*case; count];
    let mut strata: Vec<usize> = (0..count).collect();
    for input in Input::all() {
        let (Some(value), Some(half)) = (case.get(input), spread.get(input)) else {
            continue;
        };
        if half <= 0.0 {
            continue;
        }
        strata.shuffle(&mut random);
        let field = input.field();
        for (one, stratum) in cases.iter_mut().zip(&strata) {
            let p = (*stratum as f64 + random.random::<f64>()) / count as f64;
            let drawn = value + 0.5 * half * quantile(p);
            *one = one.with(
                input,
                drawn.clamp(field.low.min(value), field.high.max(value)),
            );
        }
    }
    cases
}

/// Standard normal scores in strata: one list of `count` for each of `sources`, each balanced about zero.
pub fn scores(sources: usize, count: usize, seed: u64) -> Vec<Vec<f64>> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let strata: Vec<f64> = (0..count)
        .map(|i| quantile((i as f64 + 0.5) / count as f64))
        .collect();
    (0..sources)
        .map(|_| {
            let mut list = strata.clone();
            list.shuffle(&mut random);
            list
        })
        .collect()
}

/// The band that holds 95 % of the drawn cases, by output: low, middle, high. Cases without a balance are left out.
pub fn band(cases: &[Case], output: Output, start: f64) -> Option<(f64, f64, f64)> {
    let mut found: Vec<f64> = cases
        .iter()
        .filter_map(|case| {
            let operating = solve_from(case, start).ok()?;
            Some(if output == Output::FAN_SPEED {
                operating.omega
            } else {
                State::found(case, &operating).get(output)
            })
        })
        .collect();
    found.sort_by(f64::total_cmp);
    let at = |p: f64| {
        let place = p * (found.len().max(1) - 1) as f64;
        let (low, part) = (place.floor() as usize, place.fract());
        let next = found.get(low + 1).or(found.get(low))?;
        Some(found.get(low)? * (1.0 - part) + next * part)
    };
    Some((at(0.025)?, at(0.5)?, at(0.975)?))
}
