//! Applies the known facts of one machine to its class.
//!
//! Scores `x` of the uncertain inputs (in logarithms if the uncertainty is a factor) are normal with the class's
//! correlations `C`. A fact gives one score `s` with an error `τ`. With `H` selecting the facts' rows and
//! `K = C·Hᵀ·(H·C·Hᵀ + τ²)⁻¹`, the posterior has the mean `K·s` and the covariance `C − K·H·C`: inputs correlated with
//! a fact move with it.
//!
//! **Source** conditioning of a normal distribution: any textbook of statistics.

use super::sample::{factor, uncertain};
use crate::input::Input;
use crate::model::Posed;
use crate::quantity::Measure;
use nalgebra::{Cholesky, DMatrix, DVector};

/// A fact that deviates by this many of the class's standard deviations contradicts the class.
pub const CONTRADICTS: f64 = 4.5;
/// Correlations smaller than this are omitted.
const LEAST: f64 = 5e-4;

/// The middle value of a score, its standard deviation, and whether it is logarithmic.
#[derive(Clone, Copy)]
struct Scale {
    middle: f64,
    one: f64,
    factor: bool,
}

impl Scale {
    fn of(posed: &Posed, input: Input) -> Self {
        let middle = posed.case.get(input).unwrap_or(0.0);
        Self {
            middle,
            one: 0.5 * posed.spread.get(input).unwrap_or(0.0),
            factor: posed.spread.factors.has(input) && middle > 0.0,
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
pub fn off(posed: &Posed, input: Input, value: f64) -> Option<f64> {
    let scale = Scale::of(posed, input);
    (scale.one > 0.0).then(|| scale.score(value))
}

/// Applies facts to a machine.
pub fn learn(posed: &mut Posed, facts: &[(Input, Measure)]) {
    let own = |i: &Input| i.part() != "now";
    let inputs: Vec<Input> = uncertain(&posed.spread).into_iter().filter(own).collect();
    let scales: Vec<Scale> = inputs.iter().map(|i| Scale::of(posed, *i)).collect();
    let at = |input: Input| inputs.iter().position(|i| *i == input);
    let mut told: Vec<(usize, f64, f64)> = Vec::new();
    for (input, measure) in facts {
        match at(*input) {
            Some(n) => {
                let scale = scales[n];
                // The score's error, from half of the ±.
                let up = scale.score(measure.value + 0.5 * measure.spread);
                let score = scale.score(measure.value);
                told.push((n, score, (up - score).abs().max(1e-6)));
            }
            None => {
                put(posed, *input, *measure);
            }
        }
    }
    if told.is_empty() {
        return;
    }
    let root = factor(&inputs, &posed.machine.correlations);
    let before = &root * root.transpose();
    let count = told.len();
    let cross = DMatrix::from_fn(inputs.len(), count, |i, k| before[(i, told[k].0)]);
    let whole = DMatrix::from_fn(count, count, |a, b| {
        let error = if a == b { told[a].2.powi(2) } else { 0.0 };
        before[(told[a].0, told[b].0)] + error
    });
    let Some(whole) = Cholesky::new(whole) else {
        return;
    };
    let scores = DVector::from_iterator(count, told.iter().map(|t| t.1));
    let mean = &cross * whole.solve(&scores);
    let after = &before - &cross * whole.solve(&cross.transpose());
    let deviation: Vec<f64> = (0..inputs.len())
        .map(|i| after[(i, i)].max(0.0).sqrt())
        .collect();
    for (i, input) in inputs.iter().enumerate() {
        let (scale, field) = (scales[i], input.field());
        let (low, high) = (field.low.min(scale.middle), field.high.max(scale.middle));
        let value = scale.value(mean[i]).clamp(low, high);
        let one = match scale.factor {
            true => value * scale.one / scale.middle * deviation[i],
            false => scale.one * deviation[i],
        };
        let measure = Measure {
            value,
            spread: 2.0 * one,
            factor: scale.factor,
        };
        put(posed, *input, measure);
    }
    let mut correlations = Vec::new();
    for i in 0..inputs.len() {
        for j in i + 1..inputs.len() {
            let r = after[(i, j)] / (deviation[i] * deviation[j]).max(1e-12);
            if r.abs() >= LEAST {
                correlations.push((inputs[i], inputs[j], r.clamp(-1.0, 1.0)));
            }
        }
    }
    posed.machine.correlations = correlations;
}

fn put(posed: &mut Posed, input: Input, measure: Measure) {
    posed.machine.set(input, measure);
    posed.case = posed.case.with(input, measure.value);
    posed.spread = posed.spread.with(input, measure.spread);
    posed.spread.factors.put(input, measure.factor);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ask, INPUTS, Shelf};

    /// Two scores with correlation r: an exact fact s for one moves the other to r·s and reduces its variance to 1 −
    /// r².
    #[test]
    fn what_goes_together_moves_along_as_by_hand() {
        let mut posed = Ask::about("light-truck").pose(Shelf::LibraryOnly).unwrap();
        let (pump, ratio) = (INPUTS.pump.displacement, INPUTS.pump.ratio);
        posed.machine.correlations = vec![(pump, ratio, -0.5)];
        let scale = Scale::of(&posed, pump);
        let before = Scale::of(&posed, ratio);
        let fact = Measure::exact(scale.value(1.2));
        learn(&mut posed, &[(pump, fact)]);
        let after = Scale::of(&posed, ratio);
        assert!((before.score(after.middle) + 0.6).abs() < 1e-4);
        let narrower = after.one / after.middle / (before.one / before.middle);
        assert!((narrower - 0.75_f64.sqrt()).abs() < 1e-4, "{narrower}");
        assert!((posed.case.pump.displacement - fact.value).abs() < 1e-6 * fact.value);
    }
}
