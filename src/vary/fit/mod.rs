//! Narrows the uncertainty of a machine by readings that were taken when it was healthy.
//!
//! All uncertain quantities (machine, oil, air, and in each condition engine speed and oil temperature) are written as
//! `x = middle + F·u` with `u` standard normal. The most likely `u` minimises `J = |u|² + |r|²`, where `r` is measured
//! minus computed, in standard deviations of instrument and model. Around that point the computed readings are
//! linearised. With `A` the derivatives of `r` along `u`, the covariance of `u` is `(1 + AᵀA)⁻¹`. The singular values
//! of `A` show in how many directions the readings carry information.
//!
//! **Source** A. Tarantola 2005, *Inverse Problem Theory*, SIAM, section 3.2 (normal prior, normal errors), from
//! memory; in the linear case the minimum of `J` follows a chi-square distribution with as many degrees of freedom as
//! there are readings.

mod fitting;
mod search;

use super::sample::{factor, uncertain};
use crate::input::Input;
use crate::model::{Case, Machine, Setup, Together};
use crate::probe::Reading;
use crate::quantity::{Measure, parse};
use crate::trouble::Trouble;
use argmin::core::Executor;
use argmin::solver::linesearch::BacktrackingLineSearch;
use argmin::solver::linesearch::condition::ArmijoCondition;
use argmin::solver::quasinewton::LBFGS;
pub use fitting::fitting;
use nalgebra::DMatrix;
use search::Search;

/// A ± that remains above this fraction of its prior value counts as unchanged.
pub const UNTOUCHED: f64 = 0.95;

/// Maximum number of steps of the search.
const STEPS: u64 = 300;

/// One input before and after the fit.
#[derive(Clone, Copy, Debug)]
pub struct Narrowed {
    /// The input.
    pub input: Input,
    /// Value and half-width before the fit, SI.
    pub before: (f64, f64),
    /// Value and half-width after the fit, SI.
    pub after: (f64, f64),
    /// Whether the uncertainty is given as a factor instead of a half-width.
    pub factor: bool,
}

impl Narrowed {
    /// Remaining fraction of the uncertainty; if the uncertainty is a factor, the fraction of the factor's logarithm.
    pub fn left(&self) -> f64 {
        let ratio = self.after.1 / self.before.1;
        match self.factor {
            true => ratio * self.before.0 / self.after.0,
            false => ratio,
        }
    }

    /// Change of the value, in prior half-widths.
    pub fn moved(&self) -> f64 {
        let ((before, half), after) = (self.before, self.after.0);
        match self.factor {
            true => (after / before).ln() * before / half,
            false => (after - before) / half,
        }
    }

    /// Value and uncertainty of the input after the fit.
    pub fn measure(&self) -> Measure {
        let (value, spread) = self.after;
        Measure {
            factor: self.factor,
            ..Measure::within(value, spread)
        }
    }
}

/// A reading compared with the values computed before and after the fit.
#[derive(Clone, Copy, Debug)]
pub struct Met {
    /// The reading.
    pub reading: Reading,
    /// Value computed before the fit, SI, and its half-width from all uncertainties.
    pub before: (f64, f64),
    /// Value computed after the fit, SI, and its half-width.
    pub after: (f64, f64),
    /// Remaining deviation of the reading, in standard deviations of instrument and model.
    pub off: f64,
}

/// The result of the fit.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The case with the most likely values of its inputs.
    pub case: Case,
    /// All uncertain inputs, before and after the fit.
    pub inputs: Vec<Narrowed>,
    /// Correlations after the fit; rows and columns in the order of `inputs`.
    pub correlation: DMatrix<f64>,
    /// All readings, compared with computed values.
    pub readings: Vec<Met>,
    /// Singular values, largest first: how strongly the readings narrow each independent combination of inputs.
    pub singular: Vec<f64>,
    /// Number of such combinations whose ± shrinks below [`UNTOUCHED`].
    pub rank: usize,
    /// Probability that readings of a healthy machine of this class deviate at least this much.
    pub chance: f64,
}

/// The posterior of `u` from the derivatives of the residuals: their singular values, and the covariance of `u`.
pub fn posterior(slopes: &DMatrix<f64>) -> (Vec<f64>, DMatrix<f64>) {
    let width = slopes.ncols();
    let parts = slopes.clone().svd(false, true);
    let mut covariance = DMatrix::identity(width, width);
    if let Some(rows) = parts.v_t {
        for (s, row) in parts.singular_values.iter().zip(rows.row_iter()) {
            let direction = row.transpose();
            covariance.ger(-s * s / (1.0 + s * s), &direction, &direction, 1.0);
        }
    }
    let mut singular: Vec<f64> = parts.singular_values.iter().copied().collect();
    singular.sort_by(|a, b| b.total_cmp(a));
    (singular, covariance)
}

/// The expected reading of each test on a machine, SI, with the half-width from the ± of machine and condition.
pub fn expect(
    machine: &Machine,
    case: &Case,
    spread: &Case,
    readings: &[Reading],
) -> Result<Vec<(f64, f64)>, Trouble> {
    let search = Search::new(machine, case, spread, readings)?;
    let start = vec![0.0; search.width()];
    let computed = search.computed(&start)?;
    let (_, slopes) = search.residuals(&start)?;
    let half = |r: usize| 2.0 * search.sigmas[r] * slopes.row(r).norm();
    Ok(computed
        .into_iter()
        .enumerate()
        .map(|(r, c)| (c, half(r)))
        .collect())
}

/// Narrows a machine's inputs by readings of the oil circuit.
pub fn fit(
    machine: &Machine,
    case: &Case,
    spread: &Case,
    readings: &[Reading],
) -> Result<Fit, Trouble> {
    if readings.is_empty() {
        return Err(Trouble::input("no readings", "at least one reading"));
    }
    if let Some(reading) = readings.iter().find(|r| r.setting.settled.is_some()) {
        let found = format!("`{}` among readings of the oil side", reading.probe.key);
        return Err(Trouble::input(found, "readings of the oil side")
            .hint("`vary::coolant::learn` takes those of the coolant"));
    }
    let search = Search::new(machine, case, spread, readings)?;
    if search.inputs.is_empty() {
        let trouble = Trouble::input(
            "no input of this machine has a ±",
            "a machine with uncertain inputs that readings can narrow",
        );
        return Err(
            trouble.hint("add ± and the uncertainty after the values that are not known exactly")
        );
    }
    let start = vec![0.0; search.width()];
    let lost = |e: argmin::core::Error| {
        Trouble::no_answer(
            format!("the search for the most likely machine stopped: {e}"),
            "readings that a machine of this kind can give",
        )
    };
    let line = BacktrackingLineSearch::new(ArmijoCondition::new(1e-4).map_err(lost)?)
        .rho(0.5)
        .map_err(lost)?;
    let solver = LBFGS::new(line, 12)
        .with_tolerance_grad(1e-6)
        .and_then(|s| s.with_tolerance_cost(1e-12))
        .map_err(lost)?;
    let found = Executor::new(&search, solver)
        .configure(|state| state.param(start.clone()).max_iters(STEPS))
        .timer(false)
        .run()
        .map_err(lost)?;
    let u = found.state.best_param.unwrap_or_else(|| start.clone());
    let cost = found.state.best_cost;
    if !cost.is_finite() {
        return Err(Trouble::no_answer(
            "no operating point in one of the conditions",
            "conditions that this machine can run in",
        ));
    }
    search.told(&start, &u, 2.0 * cost)
}

impl Fit {
    /// The result without any reading: nothing is narrowed.
    pub fn none(machine: &Machine, case: &Case, spread: &Case) -> Self {
        let own = |i: &Input| i.part() != "now";
        let keys: Vec<Input> = uncertain(spread).into_iter().filter(own).collect();
        let of = |i: &Input| (case.get(*i).unwrap_or(0.0), spread.get(*i).unwrap_or(0.0));
        let inputs = keys.iter().map(|input| Narrowed {
            input: *input,
            before: of(input),
            after: of(input),
            factor: spread.factors.has(*input),
        });
        let root = factor(&keys, &machine.correlations);
        Self {
            case: *case,
            inputs: inputs.collect(),
            correlation: &root * root.transpose(),
            readings: Vec::new(),
            singular: Vec::new(),
            rank: 0,
            chance: 1.0,
        }
    }

    /// The ± of each input after the fit.
    pub fn spread(&self, before: &Case) -> Case {
        let all = self.inputs.iter();
        all.fold(*before, |spread, one| {
            spread.with_uncertainty(one.input, one.measure())
        })
    }

    /// Updates the inputs and their correlations with what was learned about the machine after the fit.
    pub fn learned(&mut self, setup: &Setup) {
        for one in &mut self.inputs {
            let value = setup.case.get(one.input).unwrap_or(one.after.0);
            one.after = (value, setup.spread.get(one.input).unwrap_or(0.0));
        }
        let at = |input: &Input| self.inputs.iter().position(|n| n.input == *input);
        let mut correlation = DMatrix::identity(self.inputs.len(), self.inputs.len());
        for (a, b, r) in setup.machine.correlations.iter() {
            if let (Some(i), Some(j)) = (at(a), at(b)) {
                (correlation[(i, j)], correlation[(j, i)]) = (*r, *r);
            }
        }
        (self.case, self.correlation) = (setup.case, correlation);
    }

    /// The machine with its inputs narrowed by the fit.
    pub fn machine(&self, machine: &Machine) -> Machine {
        let mut fitted = machine.clone();
        let own = |i: &Input| machine.value(*i).is_some();
        for one in self.inputs.iter().filter(|n| own(&n.input)) {
            let after = one.measure();
            let value = short(one.input, after.value);
            fitted = fitted.with(one.input, Measure { value, ..after });
        }
        fitted.correlations = Together::default();
        for (i, a) in self.inputs.iter().enumerate() {
            for (j, b) in self.inputs.iter().enumerate().skip(i + 1) {
                let r = self.correlation[(i, j)];
                if own(&a.input) && own(&b.input) && r.abs() >= LEAST_CORRELATION {
                    fitted.correlations.push((a.input, b.input, r));
                }
            }
        }
        fitted
    }
}

/// A value rounded to six digits in the unit used in files, and limited to its field's range.
fn short(input: Input, value: f64) -> f64 {
    let (kind, field) = (input.field().kind, input.field());
    let typed = kind.typed(value);
    let (figure, unit) = typed.split_once(' ').unwrap_or((&typed, ""));
    let six = figure
        .parse::<f64>()
        .ok()
        .and_then(|x| format!("{x:.5e}").parse::<f64>().ok())
        .and_then(|x| parse(kind, &format!("{x} {unit}")).ok());
    let (low, high) = (field.low.min(value), field.high.max(value));
    six.map_or(value, |m| m.value.clamp(low, high))
}

/// Smaller correlations are omitted from a file.
const LEAST_CORRELATION: f64 = 5e-4;

#[cfg(test)]
mod tests {
    use super::*;

    /// Two unknowns with unit prior, one reading of their sum with error 1: by hand, the covariance is 1 − 1/3 on the
    /// diagonal and −1/3 off it, because (1 + aaᵀ)⁻¹ = 1 − aaᵀ/(1 + aᵀa) with a = (1, 1).
    #[test]
    fn a_reading_of_a_sum_as_by_hand() {
        let slopes = DMatrix::from_row_slice(1, 2, &[1.0, 1.0]);
        let (singular, covariance) = posterior(&slopes);
        assert!((singular[0] - 2.0_f64.sqrt()).abs() < 1e-12);
        for (i, j, expected) in [(0, 0, 2.0 / 3.0), (0, 1, -1.0 / 3.0), (1, 1, 2.0 / 3.0)] {
            assert!((covariance[(i, j)] - expected).abs() < 1e-12);
        }
    }
}
