//! Examples of the machines that fit the readings.
//!
//! The fit describes the machine by a normal distribution, which is exact only if the computed readings are linear in
//! the inputs. A machine drawn from it is therefore corrected: with `r` the deviations of the computed readings, `r'`
//! those that the linearisation gives for the drawn machine, and `K` the pseudo-inverse of the derivatives `A`, the step
//! `u ← u + K·(r' − r(u))` is repeated until the two agree.
//!
//! **Source** randomised maximum likelihood, with unchanged derivatives: D. S. Oliver, N. He and A. C. Reynolds 1996,
//! from memory.

use super::search::Search;
use crate::model::{Fitting, Setup};
use crate::probe::Reading;
use crate::trouble::Trouble;
use crate::vary::sample::scores;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Number of machines drawn. If fewer than half of them can be corrected, they do not describe the machine.
const DRAWN: usize = 400;
/// Maximum number of steps; the step is halved up to `HALVED` times.
const STEPS: usize = 8;
const HALVED: usize = 3;
/// A machine is corrected when its readings are this close, in standard deviations of the readings.
const CLOSE: f64 = 0.3;
/// Combinations of readings that change less than this, in standard deviations, are not corrected.
const LEAST: f64 = 1e-3;
/// The seed of the sampling.
const SEED: u64 = 20_261_129;

/// Examples of the machines that fit the readings by which a machine was narrowed before; `None` without readings or if
/// they cannot be found.
pub fn fitting(setup: &Setup, readings: &[Reading]) -> Result<Option<Fitting>, Trouble> {
    if readings.is_empty() {
        return Ok(None);
    }
    let search = Search::new(&setup.machine, &setup.case, &setup.spread, readings)?;
    let of_machine: Vec<usize> = (0..search.inputs.len())
        .filter(|i| search.inputs[*i].0.part() != "now")
        .collect();
    let none = DVector::zeros(search.width());
    let (off, all) = search.residuals(none.as_slice())?;
    let mut slopes = DMatrix::zeros(all.nrows(), all.ncols());
    for i in &of_machine {
        slopes.set_column(*i, &all.column(*i));
    }
    let Ok(back) = slopes.clone().pseudo_inverse(LEAST) else {
        return Ok(None);
    };
    let list = scores(of_machine.len(), DRAWN, SEED);
    let one = |n: usize| {
        setup.stop.check()?;
        let mut drawn = none.clone();
        for (k, i) in of_machine.iter().enumerate() {
            drawn[*i] = list[k][n];
        }
        let aim = &off + &slopes * &drawn;
        let found = corrected(&search, drawn, &aim, &back);
        Ok(found.map(|u| {
            let scores = search.scores(u.as_slice());
            of_machine.iter().map(|i| scores[*i]).collect()
        }))
    };
    let all = (0..DRAWN).into_par_iter().map(one);
    let all: Vec<Option<Vec<f64>>> = all.collect::<Result<_, Trouble>>()?;
    let scores: Vec<Vec<f64>> = all.into_iter().flatten().collect();
    Ok((scores.len() >= DRAWN / 2).then(|| Fitting {
        inputs: of_machine.iter().map(|i| search.inputs[*i].0).collect(),
        scores,
    }))
}

/// Moves a drawn machine until its computed readings deviate by `aim`; `None` if that is not possible.
fn corrected(
    search: &Search<'_>,
    mut u: DVector<f64>,
    aim: &DVector<f64>,
    back: &DMatrix<f64>,
) -> Option<DVector<f64>> {
    let gap = |u: &DVector<f64>| Some(aim - search.off(u.as_slice()).ok()?);
    let mut left = gap(&u)?;
    for _ in 0..STEPS {
        if left.norm() <= CLOSE {
            break;
        }
        let step = back * &left;
        let nearer = (0..=HALVED).find_map(|n| {
            let there = &u + &step * 0.5_f64.powi(n as i32);
            let gap = gap(&there).filter(|g| g.norm() < left.norm())?;
            Some((there, gap))
        });
        (u, left) = nearer?;
    }
    (left.norm() <= CLOSE).then_some(u)
}
