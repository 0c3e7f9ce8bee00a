//! The probability of each hypothesis, given readings.
//!
//! A [`Hypothesis`] is a list of [`Node`]s. Each node is a small interval (cell) of the fault's severity, with the mean
//! of every reading at that severity and the readings' covariance from all uncertainties. Within a node the readings
//! follow a multivariate normal distribution; the mixture over the nodes of a hypothesis, and over hypotheses, is
//! summed exactly. This file contains no fan model.

use super::information::Outlook;
use crate::numeric::{between, chi_square_tail};
use crate::probe::Reading;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Nodes with a smaller probability are ignored when the expected information of a test is computed.
pub const LEAST: f64 = 1e-6;

/// Quantiles of the computed distribution of severity that are reported as lower limit, median and upper limit of the
/// 90 % interval. The computed distribution is too narrow, because the readings are linearised around one machine: in
/// simulated cases the interval from its 5 % to its 95 % quantile holds too few of the true severities. These quantiles
/// were chosen on other cases than those in `validation/calibration`.
const SEVERITY: [f64; 3] = [0.02, 0.5, 0.98];

/// One severity cell of a hypothesis, with the readings expected in it. Each row is one quantity read in one condition.
#[derive(Clone, Debug)]
pub struct Node {
    /// The severity cell: lower limit, middle, upper limit.
    pub severity: [f64; 3],
    /// The node's fraction of its hypothesis's prior weight.
    pub prior: f64,
    /// Expected reading in each row.
    pub mean: DVector<f64>,
    /// Covariance of the rows, without the instruments' errors.
    pub covariance: DMatrix<f64>,
}

/// One hypothesis.
#[derive(Clone, Debug)]
pub struct Hypothesis {
    /// Prior probability of the hypothesis.
    pub prior: f64,
    /// Nodes of the hypothesis.
    pub nodes: Vec<Node>,
}

/// Range above a lower bound, or above the mean if it is higher, over which a normal distribution is integrated, in
/// standard deviations: it has practically no weight beyond.
const FAR: f64 = 30.0;

/// A reading, as evidence about one row of the nodes.
#[derive(Clone, Copy, Debug)]
pub struct Evidence {
    /// The row of the nodes to which the reading belongs.
    pub row: usize,
    /// The measured value.
    pub value: f64,
    /// Half-width of the reading's error: two standard deviations, or the full range if `uniform`.
    pub half: f64,
    /// Whether the error is uniformly distributed.
    pub uniform: bool,
    /// Whether the instrument was at full scale: the true value is this or more.
    pub at_least: bool,
}

impl Evidence {
    /// Logarithm of the maximum possible density of the reading, which only the instrument's error limits.
    pub fn most(&self) -> f64 {
        if self.at_least {
            return 0.0;
        }
        -0.5 * (2.0 * std::f64::consts::PI * variance(self.half, self.uniform)).ln()
    }

    /// The evidence that a reading gives about a row.
    pub fn of(row: usize, reading: &Reading) -> Self {
        Self {
            row,
            value: reading.value,
            half: reading.half,
            uniform: reading.uniform,
            at_least: reading.at_least,
        }
    }
}

/// The posterior distribution of all rows at a node, given the evidence.
#[derive(Clone, Debug)]
pub struct Belief {
    /// Means.
    pub mean: DVector<f64>,
    /// Covariance.
    pub covariance: DMatrix<f64>,
    /// Logarithm of the density of the evidence.
    pub log_likelihood: f64,
    /// Squared deviation of the evidence from the mean, in standard deviations (Mahalanobis distance).
    pub distance: f64,
}

/// Variance of an instrument's error.
pub fn variance(half: f64, uniform: bool) -> f64 {
    half * half / if uniform { 3.0 } else { 4.0 }
}

impl Node {
    /// Conditions on the evidence, one row after the other. Normal errors are treated exactly; for a uniform error, or
    /// an instrument at full scale, the posterior is replaced by the normal distribution of equal mean and variance.
    pub fn given(&self, evidence: &[Evidence]) -> Belief {
        let mut belief = Belief {
            mean: self.mean.clone(),
            covariance: self.covariance.clone(),
            log_likelihood: 0.0,
            distance: 0.0,
        };
        // Normal errors come first: conditioning on them is exact in any order.
        let exact = |e: &&Evidence| !e.uniform && !e.at_least;
        for one in evidence.iter().filter(exact) {
            belief.take(one);
        }
        for one in evidence.iter().filter(|e| !exact(e)) {
            belief.take(one);
        }
        belief
    }
}

impl Belief {
    pub(super) fn take(&mut self, one: &Evidence) {
        let i = one.row;
        let noise = variance(one.half, one.uniform);
        let own = self.covariance[(i, i)].max(0.0);
        let all = own + noise;
        let off = one.value - self.mean[i];
        self.distance += match one.at_least {
            true => off.max(0.0).powi(2) / all,
            false => off * off / all,
        };
        // The shift of the mean of row i, and the fraction by which its variance is reduced.
        let (moves, goes) = if one.at_least {
            let all = all.sqrt();
            let (share, mean, left) = between(off / all, (off / all).max(0.0) + FAR);
            self.log_likelihood += share;
            (own / all * mean, own / (all * all) * (1.0 - left))
        } else if one.uniform && own > 1e-12 * noise {
            let s = own.sqrt();
            let (share, mean, left) = between((off - one.half) / s, (off + one.half) / s);
            self.log_likelihood += share - (2.0 * one.half).ln();
            (s * mean, 1.0 - left)
        } else {
            self.log_likelihood -=
                0.5 * (off * off / all + all.ln() + (2.0 * std::f64::consts::PI).ln());
            (off * own / all, own / all)
        };
        if own > 0.0 {
            let column = self.covariance.column(i) / own;
            self.mean.axpy(moves, &column, 1.0);
            self.covariance.ger(-goes * own, &column, &column, 1.0);
        }
    }
}

/// The posterior of one hypothesis.
#[derive(Clone, Debug)]
pub struct Suspect {
    /// Posterior probability of the hypothesis.
    pub probability: f64,
    /// Severity: lower limit, median and upper limit of the 90 % interval; see `SEVERITY`.
    pub severity: [f64; 3],
    /// Posterior probability of each node; over the nodes of all hypotheses they add up to 1.
    pub weights: Vec<f64>,
    /// Index of the node whose predictions agree best with the readings.
    pub nearest: usize,
    /// Squared deviation of the readings from that node, in standard deviations.
    pub distance: f64,
}

impl Suspect {
    /// Changes the probability of the hypothesis; its nodes keep their relative weights.
    pub fn rescale(&mut self, probability: f64) {
        if self.probability > 0.0 {
            let by = probability / self.probability;
            self.weights.iter_mut().for_each(|w| *w *= by);
        }
        self.probability = probability;
    }
}

/// The posterior distribution at each node of each hypothesis, only for the rows with readings.
fn beliefs(hypotheses: &[Hypothesis], evidence: &[Evidence]) -> Vec<Vec<Belief>> {
    let rows = Rows::of(evidence);
    hypotheses
        .par_iter()
        .map(|h| {
            let given = |n| rows.node(n).given(&rows.evidence);
            h.nodes.iter().map(given).collect()
        })
        .collect()
}

/// The logarithm of a node's posterior weight, not normalised.
fn log(hypothesis: &Hypothesis, (node, belief): (&Node, &Belief)) -> f64 {
    (hypothesis.prior * node.prior).ln() + belief.log_likelihood
}

/// The logarithms of the posterior weights, not normalised, of all nodes of each hypothesis.
pub fn logs(hypotheses: &[Hypothesis], evidence: &[Evidence]) -> Vec<Vec<f64>> {
    weights(hypotheses, &beliefs(hypotheses, evidence))
}

fn weights(hypotheses: &[Hypothesis], seen: &[Vec<Belief>]) -> Vec<Vec<f64>> {
    hypotheses
        .iter()
        .zip(seen)
        .map(|(h, beliefs)| h.nodes.iter().zip(beliefs).map(|n| log(h, n)).collect())
        .collect()
}

/// Posterior probabilities given the readings, in the order of the hypotheses.
pub fn posterior(hypotheses: &[Hypothesis], evidence: &[Evidence]) -> Vec<Suspect> {
    let seen = beliefs(hypotheses, evidence);
    let logs = weights(hypotheses, &seen);
    let top = logs
        .iter()
        .flatten()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = logs.iter().flatten().map(|l| (l - top).exp()).sum();
    hypotheses
        .iter()
        .zip(&seen)
        .zip(logs)
        .map(|((h, beliefs), logs)| {
            let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp() / total).collect();
            let nearest = (0..beliefs.len())
                .min_by(|a, b| beliefs[*a].distance.total_cmp(&beliefs[*b].distance))
                .unwrap_or(0);
            Suspect {
                probability: weights.iter().sum(),
                severity: SEVERITY.map(|p| severity(h, &logs, p)),
                nearest,
                distance: beliefs.get(nearest).map_or(f64::INFINITY, |b| b.distance),
                weights,
            }
        })
        .collect()
}

/// The severity at quantile `p` of a hypothesis; within each cell all severities are equally probable.
fn severity(hypothesis: &Hypothesis, logs: &[f64], p: f64) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let mut left = p * weights.iter().sum::<f64>();
    for (node, weight) in hypothesis.nodes.iter().zip(&weights) {
        let [low, _, high] = node.severity;
        if left <= *weight {
            return low + (high - low) * if *weight > 0.0 { left / weight } else { 0.5 };
        }
        left -= weight;
    }
    hypothesis.nodes.last().map_or(f64::NAN, |n| n.severity[2])
}

/// The predicted readings in rows `first` to `first + count`, given the evidence: for each row, one [`Outlook`] per
/// hypothesis.
pub fn outlooks(
    hypotheses: &[Hypothesis],
    suspects: &[Suspect],
    evidence: &[Evidence],
    first: usize,
    count: usize,
) -> Vec<Vec<Outlook>> {
    let believed: Vec<Vec<(f64, Belief)>> = hypotheses
        .par_iter()
        .zip(suspects)
        .map(|(h, s)| {
            h.nodes
                .iter()
                .zip(&s.weights)
                .filter(|(_, w)| **w > LEAST)
                .map(|(n, w)| (*w, n.given(evidence)))
                .collect()
        })
        .collect();
    (first..first + count)
        .map(|row| {
            believed
                .iter()
                .map(|nodes| Outlook {
                    parts: nodes
                        .iter()
                        .map(|(w, b)| (*w, b.mean[row], b.covariance[(row, row)].max(0.0).sqrt()))
                        .collect(),
                })
                .collect()
        })
        .collect()
}

/// Pairs of simultaneous faults that would fit the readings: the indices of both, and the pair's fraction of the weight
/// of all pairs. The first hypothesis must be "nothing", which gives the readings of a healthy machine. The effects of
/// two faults are assumed to multiply, and the covariance of a pair to lie between those of its two faults.
pub fn pairs(hypotheses: &[Hypothesis], evidence: &[Evidence]) -> Vec<(usize, usize, f64)> {
    let rows = Rows::of(evidence);
    let thin =
        |h: &Hypothesis| -> Vec<Node> { h.nodes.iter().step_by(4).map(|n| rows.node(n)).collect() };
    let nodes: Vec<Vec<Node>> = hypotheses.iter().map(thin).collect();
    let Some(sound) = nodes.first().and_then(|n| n.first()) else {
        return Vec::new();
    };
    let list: Vec<(usize, usize)> = (1..nodes.len())
        .flat_map(|a| (a + 1..nodes.len()).map(move |b| (a, b)))
        .collect();
    let seen: Vec<(usize, usize, f64, f64)> = list
        .par_iter()
        .map(|(a, b)| {
            let (mut log, mut distance) = (f64::NEG_INFINITY, f64::INFINITY);
            for one in &nodes[*a] {
                for two in &nodes[*b] {
                    let both = Node {
                        mean: DVector::from_fn(rows.rows.len(), |i, _| {
                            let (m, a, b) = (sound.mean[i], one.mean[i], two.mean[i]);
                            if m > 0.0 && a > 0.0 && b > 0.0 {
                                a * b / m
                            } else {
                                a + b - m
                            }
                        }),
                        covariance: (&one.covariance + &two.covariance) * 0.5,
                        severity: one.severity,
                        prior: one.prior,
                    };
                    let belief = both.given(&rows.evidence);
                    log = log.max(belief.log_likelihood);
                    distance = f64::min(distance, belief.distance);
                }
            }
            (
                *a,
                *b,
                log + (hypotheses[*a].prior * hypotheses[*b].prior).ln(),
                distance,
            )
        })
        .collect();
    // Two severities were fitted, so two degrees of freedom are lost.
    let fits = |d: f64| chi_square_tail(d, evidence.len().saturating_sub(2).max(1)) >= 0.01;
    let top = seen.iter().map(|s| s.2).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = seen.iter().map(|s| (s.2 - top).exp()).sum();
    let mut found: Vec<(usize, usize, f64)> = seen
        .into_iter()
        .filter(|s| fits(s.3))
        .map(|(a, b, log, _)| (a, b, (log - top).exp() / total))
        .collect();
    found.sort_by(|a, b| b.2.total_cmp(&a.2));
    found
}

impl Hypothesis {
    /// The hypothesis reduced to the given rows.
    pub fn rows(&self, rows: &[usize]) -> Self {
        let cut = Rows {
            rows: rows.to_vec(),
            evidence: Vec::new(),
        };
        Self {
            prior: self.prior,
            nodes: self.nodes.iter().map(|n| cut.node(n)).collect(),
        }
    }
}

/// The rows with evidence; only they affect the likelihood.
pub(super) struct Rows {
    rows: Vec<usize>,
    pub(super) evidence: Vec<Evidence>,
}

impl Rows {
    pub(super) fn of(evidence: &[Evidence]) -> Self {
        let mut rows: Vec<usize> = evidence.iter().map(|e| e.row).collect();
        rows.sort_unstable();
        rows.dedup();
        let place = |row| rows.iter().position(|r| *r == row).unwrap_or(0);
        let evidence = evidence
            .iter()
            .map(|e| Evidence {
                row: place(e.row),
                ..*e
            })
            .collect();
        Self { rows, evidence }
    }

    pub(super) fn node(&self, node: &Node) -> Node {
        Node {
            severity: node.severity,
            prior: node.prior,
            mean: node.mean.select_rows(&self.rows),
            covariance: node
                .covariance
                .select_rows(&self.rows)
                .select_columns(&self.rows),
        }
    }
}

/// Probability that readings deviate at least this much if the nearest hypothesis is true. The fitted severity takes
/// one degree of freedom.
pub fn chance(distance: f64, readings: usize) -> f64 {
    chi_square_tail(distance, readings.saturating_sub(1).max(1))
}

/// Distance from a node to the nearest node of another hypothesis, in standard deviations of these readings. Below a
/// distance of about 2 the two are indistinguishable.
pub fn apart(node: &Node, other: &Hypothesis, evidence: &[Evidence]) -> f64 {
    let rows = Rows::of(evidence);
    let own = rows.node(node);
    other
        .nodes
        .iter()
        .map(|n| {
            let theirs = rows.node(n);
            let read: Vec<Evidence> = rows
                .evidence
                .iter()
                .map(|e| Evidence {
                    value: own.mean[e.row],
                    half: 2.0 * variance(e.half, e.uniform).sqrt(),
                    uniform: false,
                    ..*e
                })
                .collect();
            theirs.given(&read).distance.sqrt()
        })
        .fold(f64::INFINITY, f64::min)
}
