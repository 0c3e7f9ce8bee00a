//! What the other readings say of each reading.

use super::posterior::{Belief, Evidence, Hypothesis, Rows};
use rayon::prelude::*;

/// The distribution of one reading at a node, given all other readings, without the instrument's error.
#[derive(Clone, Copy, Debug, Default)]
pub struct Other {
    /// Logarithm of the density of the other readings.
    pub log_likelihood: f64,
    /// Squared deviation of the other readings, in standard deviations.
    pub distance: f64,
    /// Mean of the reading.
    pub mean: f64,
    /// Variance of the reading.
    pub variance: f64,
}

/// For each node of a hypothesis: each reading as the others predict it.
pub fn others(hypothesis: &Hypothesis, evidence: &[Evidence]) -> Vec<Vec<Other>> {
    let rows = Rows::of(evidence);
    let mut all: Vec<(usize, Evidence)> = rows.evidence.iter().copied().enumerate().collect();
    // As in `Node::given`, those with normal errors come first.
    all.sort_by_key(|(_, e)| e.uniform || e.at_least);
    let nodes = hypothesis.nodes.par_iter();
    let each = nodes.map(|node| {
        let mut found = vec![Other::default(); evidence.len()];
        descend(&rows.node(node).given(&[]), &all, &mut found);
        found
    });
    each.collect()
}

/// Conditions on one half of the readings for those of the other half, and so on down to single ones.
fn descend(belief: &Belief, all: &[(usize, Evidence)], found: &mut [Other]) {
    if let [(n, one)] = all {
        found[*n] = Other {
            log_likelihood: belief.log_likelihood,
            distance: belief.distance,
            mean: belief.mean[one.row],
            variance: belief.covariance[(one.row, one.row)].max(0.0),
        };
    }
    if all.len() < 2 {
        return;
    }
    let (a, b) = all.split_at(all.len() / 2);
    for (these, taken) in [(a, b), (b, a)] {
        let mut belief = belief.clone();
        taken.iter().for_each(|(_, e)| belief.take(e));
        descend(&belief, these, found);
    }
}

/// Each reading that a hypothesis predicts from the others: mean and standard deviation, without the instrument's error.
pub fn expected(hypothesis: &Hypothesis, evidence: &[Evidence]) -> Vec<(f64, f64)> {
    let nodes = others(hypothesis, evidence);
    let one = |n: usize| {
        let log = |k: usize| hypothesis.nodes[k].prior.ln() + nodes[k][n].log_likelihood;
        let logs: Vec<f64> = (0..nodes.len()).map(log).collect();
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let parts = || {
            let each = nodes
                .iter()
                .zip(&logs)
                .map(|(o, log)| ((log - top).exp(), o[n]));
            each.filter(|(w, _)| *w > 0.0)
        };
        let total: f64 = parts().map(|p| p.0).sum();
        let mean = parts().map(|(w, o)| w * o.mean).sum::<f64>() / total;
        let wide = |(w, o): (f64, Other)| w * (o.variance + (o.mean - mean).powi(2));
        (mean, (parts().map(wide).sum::<f64>() / total).sqrt())
    };
    (0..evidence.len()).map(one).collect()
}
