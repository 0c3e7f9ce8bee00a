//! Bands by sampling: Latin hypercube, the same for a seed everywhere.

use crate::balance::{Output, State, solve_from};
use crate::input::Input;
use crate::model::Case;
use crate::numeric::quantile;
use nalgebra::{DMatrix, DVector};
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Cases drawn within the spread of a case's inputs. A spread is two standard deviations of a normal distribution, inputs
/// that go together do so, and every draw is cut to the field's range.
pub fn draw(
    case: &Case,
    spread: &Case,
    correlations: &[(Input, Input, f64)],
    count: usize,
    seed: u64,
) -> Vec<Case> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut cases = vec![*case; count];
    let mut strata: Vec<usize> = (0..count).collect();
    let inputs = uncertain(spread);
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
        let factor = factor(&inputs, correlations);
        for n in 0..count {
            let own = DVector::from_iterator(inputs.len(), scores.iter().map(|s| s[n]));
            for (score, together) in scores.iter_mut().zip((&factor * own).iter()) {
                score[n] = *together;
            }
        }
    }
    for (input, scores) in inputs.into_iter().zip(scores) {
        let (value, half) = (
            case.get(input).unwrap_or(0.0),
            spread.get(input).unwrap_or(0.0),
        );
        let field = input.field();
        for (one, score) in cases.iter_mut().zip(scores) {
            let drawn = value + 0.5 * half * score;
            *one = one.with(
                input,
                drawn.clamp(field.low.min(value), field.high.max(value)),
            );
        }
    }
    cases
}

/// The inputs that are not known exactly.
pub fn uncertain(spread: &Case) -> Vec<Input> {
    Input::all()
        .filter(|i| spread.get(*i).is_some_and(|h| h > 0.0))
        .collect()
}

/// A matrix that turns independent standard normal numbers into ones that go together as `correlations` say, for `inputs` in
/// their order: F with F·Fᵀ the correlation matrix. What rounding made impossible in that matrix is cut off.
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
    // The symmetric root: without correlations each input keeps its own source.
    &parts.eigenvectors * DMatrix::from_diagonal(&roots) * parts.eigenvectors.transpose()
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
