//! The evidence of the likely hypotheses, by draws from what is believed under each: nothing is taken as straight in what a draw weighs.
//!
//! A cell of severity is drawn by its weight, and a machine from the normal belief `q` that the straight line gives there. With what the
//! full balance computes for it, a draw weighs `p(y | u, s)·p(u)·p(s) / (q(u | s)·q(s))`; the mean of the weights is the evidence.
//!
//! **Source** importance sampling: C. P. Robert and G. Casella 2004, *Monte Carlo Statistical Methods*, section 3.3, from memory.

use super::search::{Search, Spot};
use super::work::Work;
use super::{WORTH, work};
use crate::fault::Fault;
use crate::numeric::quantile;
use crate::trouble::{Stop, Trouble};
use crate::vary::posterior::{Evidence, Hypothesis, Node, Suspect};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// How many machines are drawn for a hypothesis.
const DRAWS: usize = 256;
/// Draws of which fewer than this count are no check.
const FEWEST: f64 = 40.0;
/// The evidence is corrected where the draws put it farther off than this many of their standard errors.
const ERRORS: f64 = 2.0;
/// The seed that they are drawn with.
const SEED: u64 = 4711;

/// What the draws say of one hypothesis.
#[derive(Clone, Copy, Debug)]
pub struct Checked {
    /// Its place among the hypotheses.
    pub hypothesis: usize,
    /// The logarithm of its evidence by the draws, less that without them.
    pub moved: f64,
    /// How many draws count, as if they were alone.
    pub effective: f64,
    /// Whether its evidence was corrected.
    pub corrected: bool,
}

/// The logarithm of a normal density.
fn density(off: &DVector<f64>, root: &Cholesky<f64, Dyn>) -> f64 {
    let volume: f64 = root.l_dirty().diagonal().iter().map(|d| d.ln()).sum();
    let turn = 0.5 * off.len() as f64 * (2.0 * std::f64::consts::PI).ln();
    -0.5 * off.dot(&root.solve(off)) - volume - turn
}

/// Checks the likely hypotheses, and corrects their probabilities where the draws say so.
pub fn check(
    work: &Work<'_>,
    (hypotheses, spots): (&[Hypothesis], &[Vec<work::Spot>]),
    suspects: &mut [Suspect],
    evidence: &[Evidence],
    stop: &Stop,
) -> Result<Vec<Checked>, Trouble> {
    let search = Search::new(
        work.rows,
        &work.scenes,
        work.sources,
        &work.together,
        evidence,
    );
    // The last one is what is not on the list: it is as broad as it says, and nothing there bends.
    let worth: Vec<usize> = (0..hypotheses.len() - 1)
        .filter(|h| suspects[*h].probability >= WORTH)
        .collect();
    let checked: Vec<Option<Checked>> = worth
        .into_par_iter()
        .map(|h| {
            stop.ask()?;
            let drawn = Drawn {
                work,
                search: &search,
                evidence,
                nodes: hypotheses[h].nodes.iter().zip(&spots[h]).collect(),
                weights: &suspects[h].weights,
            };
            Ok(drawn.check(h))
        })
        .collect::<Result<_, Trouble>>()?;
    let checked: Vec<Checked> = checked.into_iter().flatten().collect();
    let mut all: Vec<f64> = suspects.iter().map(|s| s.probability).collect();
    for one in checked.iter().filter(|c| c.corrected) {
        all[one.hypothesis] *= one.moved.exp();
    }
    let total: f64 = all.iter().sum();
    for (suspect, p) in suspects.iter_mut().zip(&all) {
        suspect.rescale(p / total);
    }
    Ok(checked)
}

struct Drawn<'a> {
    work: &'a Work<'a>,
    search: &'a Search<'a>,
    evidence: &'a [Evidence],
    nodes: Vec<(&'a Node, &'a work::Spot)>,
    weights: &'a [f64],
}

impl Drawn<'_> {
    fn check(&self, hypothesis: usize) -> Option<Checked> {
        let mut random = ChaCha8Rng::seed_from_u64(SEED + hypothesis as u64);
        let whole: f64 = self.weights.iter().sum();
        let mut logs = Vec::new();
        let mut plain = Vec::new();
        for (node, _) in &self.nodes {
            plain.push(node.prior.ln() + node.given(self.evidence).log_likelihood);
        }
        for n in 0..DRAWS {
            // Each draw takes its own slice of the weights.
            let part = (n as f64 + random.random::<f64>()) / DRAWS as f64;
            let mut left = part * whole;
            let at = self.weights.iter().position(|w| {
                left -= w;
                left < 0.0
            });
            let at = at.unwrap_or(self.weights.len() - 1);
            let log = self.draw(at, &mut random);
            logs.push(log - (self.weights[at] / whole).ln());
        }
        let mean = |logs: &[f64], count: f64| {
            let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            top + (logs.iter().map(|l| (l - top).exp()).sum::<f64>() / count).ln()
        };
        let (own, laplace) = (mean(&logs, DRAWS as f64), mean(&plain, 1.0));
        let squares: Vec<f64> = logs.iter().map(|l| 2.0 * l).collect();
        let effective = (2.0 * own - mean(&squares, DRAWS as f64)).exp() * DRAWS as f64;
        let moved = own - laplace;
        if !moved.is_finite() || !effective.is_finite() {
            return None;
        }
        let error = (1.0 / effective - 1.0 / DRAWS as f64).max(0.0).sqrt();
        Some(Checked {
            hypothesis,
            moved,
            effective,
            corrected: effective >= FEWEST && moved.abs() > ERRORS * error,
        })
    }

    /// The logarithm of what a machine weighs that is drawn in a cell, but for how often the cell is drawn.
    fn draw(&self, at: usize, random: &mut ChaCha8Rng) -> f64 {
        let (node, spot) = self.nodes[at];
        let view = spot.map_or(0, |(form, _)| form + 1);
        let Some(line) = self.work.places.get(view).and_then(Spot::line) else {
            return f64::NEG_INFINITY;
        };
        let cause: Option<(&Fault, f64)> = spot.map(|(form, _)| {
            let [low, _, high] = node.severity;
            let severity = low + (high - low) * random.random::<f64>();
            (&self.work.forms[form].1.0, severity)
        });
        let mut normal = || quantile(random.random_range(1e-12..1.0 - 1e-12));
        let z = DVector::from_fn(line.slopes.ncols(), |_, _| normal());
        let Some(root) = Cholesky::new(line.errors.clone()) else {
            return f64::NEG_INFINITY;
        };
        let e = root.l() * DVector::from_fn(self.evidence.len(), |_, _| normal());
        let read = self.evidence.iter().map(|e| e.value - node.mean[e.row]);
        let off = DVector::from_iterator(self.evidence.len(), read);
        let aim = line.whole.solve(&(&off - &line.slopes * &z - e));
        let u = z + line.slopes.tr_mul(&aim);
        let Ok(computed) = self.search.computed(&u, cause) else {
            return f64::NEG_INFINITY;
        };
        let straight = &off - &line.slopes * &u;
        self.truly(&computed) - density(&straight, &root)
            + density(&off, &line.whole)
            + node.prior.ln()
    }

    /// The logarithm of the density of the readings where this is computed.
    fn truly(&self, computed: &DVector<f64>) -> f64 {
        let count = self.evidence.len();
        let mut errors: DMatrix<f64> = self.search.alike(computed);
        for n in 0..count {
            errors[(n, n)] += 1e-12 * computed[n].powi(2);
        }
        let node = Node {
            severity: [0.0; 3],
            prior: 1.0,
            mean: computed.clone(),
            covariance: errors,
        };
        let numbered = self.evidence.iter().enumerate();
        let own: Vec<Evidence> = numbered.map(|(row, e)| Evidence { row, ..*e }).collect();
        node.given(&own).log_likelihood
    }
}
