//! Narrows a machine class by the known facts of one machine.
//!
//! The uncertain inputs are expressed as scores `x` (of their logarithms if the uncertainty is a factor), which follow
//! a standard normal distribution with the class's correlations `C`. A fact gives one score `s` with an error `τ`. If
//! `H` selects the inputs with facts and `K = C·Hᵀ·(H·C·Hᵀ + τ²)⁻¹`, the posterior has the mean `K·s` and the
//! covariance `C − K·H·C`: inputs that are correlated with a known one change with it.
//!
//! **Source** conditioning of a normal distribution: any textbook of statistics.

use super::sample::{factor, uncertain};
use crate::input::Input;
use crate::model::Setup;
use crate::numeric::chi_square_tail;
use crate::quantity::Measure;
use nalgebra::{Cholesky, DMatrix, DVector};

/// A fact contradicts the class if it deviates by more than this many of the class's standard deviations.
pub const CONTRADICTS: f64 = 4.5;
/// Correlations smaller than this are omitted.
const LEAST: f64 = 5e-4;

/// The scale of a score: central value and standard deviation of the input, and whether the score is logarithmic.
#[derive(Clone, Copy)]
struct Scale {
    middle: f64,
    one: f64,
    factor: bool,
}

impl Scale {
    fn of(setup: &Setup, input: Input) -> Self {
        let middle = setup.case.get(input).unwrap_or(0.0);
        Self {
            middle,
            one: 0.5 * setup.spread.get(input).unwrap_or(0.0),
            factor: setup.spread.factors.has(input) && middle > 0.0,
        }
    }

    fn score(self, value: f64) -> f64 {
        match self.factor {
            true => (value.max(1e-300) / self.middle).ln() * self.middle / self.one,
            false => (value - self.middle) / self.one,
        }
    }

    fn value(self, score: f64) -> f64 {
        match self.factor {
            true => self.middle * (self.one / self.middle * score).exp(),
            false => self.middle + self.one * score,
        }
    }
}

/// Deviation of a fact from the class, in the class's standard deviations; `None` if the class gives no uncertainty for
/// the input.
pub fn off(setup: &Setup, input: Input, value: f64) -> Option<f64> {
    let scale = Scale::of(setup, input);
    (scale.one > 0.0).then(|| scale.score(value))
}

/// One linearised observation: the derivatives of the observed value with respect to the scores of the inputs.
#[derive(Clone, Debug)]
pub struct Row {
    /// The derivative per unit of score, for each input that affects the observed value.
    pub slopes: Vec<(Input, f64)>,
    /// The observed value minus the value that the linearisation gives at zero scores.
    pub value: f64,
    /// Standard deviation of the value's error.
    pub error: f64,
}

/// The uncertain inputs of a machine as normal scores, with their correlations.
pub struct Prior {
    inputs: Vec<Input>,
    scales: Vec<Scale>,
    covariance: DMatrix<f64>,
}

impl Prior {
    /// The uncertain inputs of a machine, without those of the operating condition.
    pub fn of(setup: &Setup) -> Self {
        let own = |i: &Input| i.part() != "now";
        let inputs: Vec<Input> = uncertain(&setup.spread).into_iter().filter(own).collect();
        let root = factor(&inputs, &setup.machine.correlations);
        Self {
            scales: inputs.iter().map(|i| Scale::of(setup, *i)).collect(),
            covariance: &root * root.transpose(),
            inputs,
        }
    }

    /// The uncertain inputs, in the order of the scores.
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// The value of one input at a score, limited to the input's range.
    pub fn value(&self, k: usize, score: f64) -> f64 {
        let (scale, field) = (self.scales[k], self.inputs[k].field());
        let (low, high) = (field.low.min(scale.middle), field.high.max(scale.middle));
        scale.value(score).clamp(low, high)
    }

    /// The most likely scores given the observations, and their covariance.
    pub fn told(&self, rows: &[Row]) -> Option<(DVector<f64>, DMatrix<f64>)> {
        let seen = DMatrix::from_fn(rows.len(), self.inputs.len(), |k, i| {
            let own = rows[k].slopes.iter().filter(|s| s.0 == self.inputs[i]);
            own.map(|s| s.1).sum()
        });
        let cross = &self.covariance * seen.transpose();
        let errors = DVector::from_iterator(rows.len(), rows.iter().map(|r| r.error.powi(2)));
        let whole = Cholesky::new(&seen * &cross + DMatrix::from_diagonal(&errors))?;
        let values = DVector::from_iterator(rows.len(), rows.iter().map(|r| r.value));
        let mean = &cross * whole.solve(&values);
        let after = &self.covariance - &cross * whole.solve(&cross.transpose());
        Some((mean, after))
    }

    /// Updates values, uncertainties and correlations of a machine from the observations.
    pub fn teach(&self, setup: &mut Setup, rows: &[Row]) {
        let Some((mean, after)) = self.told(rows).filter(|_| !rows.is_empty()) else {
            return;
        };
        let count = self.inputs.len();
        let deviation: Vec<f64> = (0..count).map(|i| after[(i, i)].max(0.0).sqrt()).collect();
        for (i, input) in self.inputs.iter().enumerate() {
            let (scale, value) = (self.scales[i], self.value(i, mean[i]));
            let one = match scale.factor {
                true => value * scale.one / scale.middle * deviation[i],
                false => scale.one * deviation[i],
            };
            let measure = Measure {
                value,
                spread: 2.0 * one,
                factor: scale.factor,
            };
            put(setup, *input, measure);
        }
        let mut correlations = Vec::new();
        for i in 0..count {
            for j in i + 1..count {
                let r = after[(i, j)] / (deviation[i] * deviation[j]).max(1e-12);
                if r.abs() >= LEAST {
                    let r = r.clamp(-1.0, 1.0);
                    correlations.push((self.inputs[i], self.inputs[j], r));
                }
            }
        }
        setup.machine.correlations = correlations.into();
    }
}

/// The two facts that contradict each other most in a class, if they are as unlikely together as a single fact that
/// contradicts it; by their places in the list.
pub fn apart(setup: &Setup, facts: &[(Input, Measure)]) -> Option<(usize, usize)> {
    let prior = Prior::of(setup);
    let place = |n: usize| prior.inputs.iter().position(|i| *i == facts[n].0);
    let score = |n: usize, at: usize| {
        let (scale, measure) = (prior.scales[at], facts[n].1);
        let up = scale.score(measure.value + 0.5 * measure.spread);
        let score = scale.score(measure.value);
        (score, (up - score).powi(2))
    };
    let far = |a: usize, b: usize| {
        let (i, j) = (place(a)?, place(b)?);
        let ((x, ex), (y, ey)) = (score(a, i), score(b, j));
        let (r, p, q) = (prior.covariance[(i, j)], 1.0 + ex, 1.0 + ey);
        Some((q * x * x - 2.0 * r * x * y + p * y * y) / (p * q - r * r))
    };
    let pairs = (0..facts.len()).flat_map(|a| (a + 1..facts.len()).map(move |b| (a, b)));
    let all = pairs.filter_map(|(a, b)| Some((a, b, far(a, b)?)));
    let (a, b, far) = all.max_by(|a, b| a.2.total_cmp(&b.2))?;
    (chi_square_tail(far, 2) < chi_square_tail(CONTRADICTS.powi(2), 1)).then_some((a, b))
}

/// Updates a machine with known facts.
pub fn learn(setup: &mut Setup, facts: &[(Input, Measure)]) {
    let prior = Prior::of(setup);
    let mut rows = Vec::new();
    for (input, measure) in facts {
        match prior.inputs.iter().position(|i| i == input) {
            Some(n) => {
                let scale = prior.scales[n];
                // The error of the score: half of the ±, that is, one standard deviation.
                let up = scale.score(measure.value + 0.5 * measure.spread);
                let score = scale.score(measure.value);
                rows.push(Row {
                    slopes: vec![(*input, 1.0)],
                    value: score,
                    error: (up - score).abs().max(1e-6),
                });
            }
            None => put(setup, *input, *measure),
        }
    }
    prior.teach(setup, &rows);
}

fn put(setup: &mut Setup, input: Input, measure: Measure) {
    setup.machine.set(input, measure);
    setup.case = setup.case.with(input, measure.value);
    setup.spread = setup.spread.with(input, measure.spread);
    setup.spread.factors.put(input, measure.factor);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ask, INPUTS, Lookup};

    /// Two scores with correlation r: an exact fact s for one moves the other to r·s and reduces its variance to 1 −
    /// r².
    #[test]
    fn what_goes_together_moves_along_as_by_hand() {
        let mut setup = Ask::about("light-truck")
            .resolve(Lookup::LibraryOnly)
            .unwrap();
        let (pump, ratio) = (INPUTS.pump.displacement, INPUTS.pump.ratio);
        setup.machine.correlations = vec![(pump, ratio, -0.5)].into();
        let scale = Scale::of(&setup, pump);
        let before = Scale::of(&setup, ratio);
        let fact = Measure::exact(scale.value(1.2));
        learn(&mut setup, &[(pump, fact)]);
        let after = Scale::of(&setup, ratio);
        assert!((before.score(after.middle) + 0.6).abs() < 1e-4);
        let narrower = after.one / after.middle / (before.one / before.middle);
        assert!((narrower - 0.75_f64.sqrt()).abs() < 1e-4, "{narrower}");
        assert!((setup.case.pump.displacement - fact.value).abs() < 1e-6 * fact.value);
    }
}
