//! Uncertainty bands by sampling: Latin hypercube, reproducible on any machine for a given seed.

use crate::balance::{Operating, solve_from};
use crate::input::Input;
use crate::model::{Case, Together};
use crate::numeric::quantile;
use nalgebra::{DMatrix, DVector};
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Cases sampled within the uncertainty of a case's inputs. A half-width is two standard deviations of a normal
/// distribution, or of a log-normal one if the uncertainty is a factor. Correlations are included, and a machine narrowed
/// by readings is one of those that fit them. Every sampled value is limited to its field's range.
pub fn draw(
    case: &Case,
    spread: &Case,
    correlations: &Together,
    count: usize,
    seed: u64,
) -> Vec<Case> {
    draw_of(&uncertain(spread), case, spread, correlations, count, seed)
}

/// Cases sampled with a random score for each of the given inputs, even for those that this case knows exactly, so that
/// two cases with the same list of inputs get the same scores.
pub fn draw_of(
    inputs: &[Input],
    case: &Case,
    spread: &Case,
    correlations: &Together,
    count: usize,
    seed: u64,
) -> Vec<Case> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut cases = vec![*case; count];
    let mut strata: Vec<usize> = (0..count).collect();
    let mut scores: Vec<Vec<f64>> = inputs
        .iter()
        .map(|_| {
            strata.shuffle(&mut random);
            let score = |stratum: &usize| {
                quantile((*stratum as f64 + random.random::<f64>()) / count as f64)
            };
            strata.iter().map(score).collect()
        })
        .collect();
    if !correlations.is_empty() {
        let factor = factor(inputs, correlations);
        for n in 0..count {
            let own = DVector::from_iterator(inputs.len(), scores.iter().map(|s| s[n]));
            for (score, together) in scores.iter_mut().zip((&factor * own).iter()) {
                score[n] = *together;
            }
        }
    }
    if let Some(fitting) = correlations.fitting() {
        let mut examples: Vec<usize> = (0..fitting.scores.len()).collect();
        examples.shuffle(&mut random);
        for (input, scores) in inputs.iter().zip(&mut scores) {
            if let Some(k) = fitting.inputs.iter().position(|i| i == input) {
                let each = examples.iter().cycle().zip(scores);
                each.for_each(|(n, score)| *score = fitting.scores[*n][k]);
            }
        }
    }
    for (input, scores) in inputs.iter().copied().zip(scores) {
        let (value, half) = (
            case.get(input).unwrap_or(0.0),
            spread.get(input).unwrap_or(0.0),
        );
        let factor = spread.factors.has(input);
        for (one, score) in cases.iter_mut().zip(scores) {
            if let Some(slot) = one.slot(input) {
                *slot = moved(input, value, 0.5 * half, factor, score);
            }
        }
    }
    // Sampled separately, the two might contradict each other: no motor starts on less than what keeps it turning.
    for one in &mut cases {
        one.motor.breakaway = one.motor.breakaway.max(one.motor.dry_torque);
    }
    cases
}

/// The value of an input moved by `score` standard deviations, in its logarithm if the uncertainty is a factor, and
/// limited to its field's range.
pub fn moved(input: Input, value: f64, sigma: f64, factor: bool, score: f64) -> f64 {
    let field = input.field();
    let moved = if factor && value > 0.0 {
        value * (sigma / value * score).exp()
    } else {
        value + sigma * score
    };
    moved.clamp(field.low.min(value), field.high.max(value))
}

/// The inputs that are uncertain.
pub fn uncertain(spread: &Case) -> Vec<Input> {
    Input::all()
        .filter(|i| spread.get(*i).is_some_and(|h| h > 0.0))
        .collect()
}

/// The matrix that converts independent standard normal numbers into correlated ones, for `inputs` in their order: F
/// with F·Fᵀ equal to the correlation matrix. Negative eigenvalues caused by rounding are set to zero.
pub fn factor(inputs: &[Input], correlations: &[(Input, Input, f64)]) -> DMatrix<f64> {
    let mut matrix = DMatrix::identity(inputs.len(), inputs.len());
    if inputs.is_empty() || correlations.is_empty() {
        return matrix;
    }
    let at = |input: &Input| inputs.iter().position(|i| i == input);
    for (a, b, r) in correlations {
        if let (Some(i), Some(j)) = (at(a), at(b)) {
            matrix[(i, j)] = *r;
            matrix[(j, i)] = *r;
        }
    }
    let parts = matrix.symmetric_eigen();
    let roots = parts.eigenvalues.map(|l| l.max(0.0).sqrt());
    // The symmetric root: an input without correlations depends only on its own random number.
    &parts.eigenvectors * DMatrix::from_diagonal(&roots) * parts.eigenvectors.transpose()
}

/// Stratified standard normal scores: `sources` lists of `count` scores, each list balanced around zero.
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

/// The band of fan speed that contains 95 % of the sampled cases.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower limit of the band, rad/s.
    pub low: f64,
    /// Upper limit of the band, rad/s.
    pub high: f64,
    /// The fraction of cases in which something else limits the fan speed than in the central case.
    pub other_limit: f64,
}

/// The quantile of a sorted list at a fraction `share`, by linear interpolation between neighbours.
pub fn at(sorted: &[f64], share: f64) -> f64 {
    let last = sorted.len().saturating_sub(1);
    let place = share * last as f64;
    let (low, part) = (place.floor() as usize, place.fract());
    sorted[low] * (1.0 - part) + sorted[(low + 1).min(last)] * part
}

/// The band of fan speed over cases sampled around an operating point. Cases without an operating point are omitted.
pub fn speed_band(cases: &[Case], middle: &Operating) -> Option<Band> {
    let mut found: Vec<(f64, bool)> = cases
        .par_iter()
        .filter_map(|case| solve_from(case, middle.omega).ok())
        .map(|o| (o.omega, o.limit != middle.limit))
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let others = found.iter().filter(|(_, other)| *other).count();
    let speeds: Vec<f64> = found.iter().map(|(speed, _)| *speed).collect();
    if speeds.is_empty() {
        return None;
    }
    Some(Band {
        low: at(&speeds, 0.025),
        high: at(&speeds, 0.975),
        other_limit: others as f64 / found.len() as f64,
    })
}
