//! The search for the most likely values: residuals of the readings, their derivatives, and the resulting fit.

use super::{Fit, Met, Narrowed, UNTOUCHED, posterior};
use crate::balance::{State, Turning, solve_from};
use crate::input::{Input, InputSet, Place};
use crate::model::{Case, Machine};
use crate::numeric::chi_square_tail;
use crate::probe::{Reading, Setting};
use crate::trouble::Trouble;
use crate::vary::forecast::model;
use crate::vary::sample::{factor, moved, uncertain};
use argmin::core::{CostFunction, Gradient};
use nalgebra::{DMatrix, DVector};

/// The data of the search.
pub(super) struct Search<'a> {
    pub(super) base: &'a Case,
    pub(super) machine: &'a Machine,
    pub(super) readings: &'a [Reading],
    /// The uncertain inputs, with their standard deviation (half of the half-width).
    pub(super) inputs: Vec<(Input, f64)>,
    /// The inputs whose uncertainty is a factor.
    pub(super) factors: InputSet,
    pub(super) factor: DMatrix<f64>,
    /// Each condition, with one standard deviation of its engine speed and of its oil temperature.
    pub(super) scenes: Vec<(Setting, f64, f64)>,
    /// One standard deviation of each reading, from instrument and model together.
    pub(super) sigmas: Vec<f64>,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        machine: &'a Machine,
        case: &'a Case,
        spread: &Case,
        readings: &'a [Reading],
    ) -> Result<Self, Trouble> {
        let own = |i: &Input| i.part() != "now" || matches!(i.field().key, "air_temp" | "altitude");
        let keys: Vec<Input> = uncertain(spread).into_iter().filter(own).collect();
        let inputs: Vec<(Input, f64)> = keys
            .iter()
            .map(|i| (*i, 0.5 * spread.get(*i).unwrap_or(0.0)))
            .collect();
        let mut scenes: Vec<(Setting, f64, f64)> = Vec::new();
        for reading in readings {
            let (engine, oil) = (0.5 * reading.engine_half, 0.5 * reading.oil_temp_half);
            match scenes.iter_mut().find(|s| s.0 == reading.setting) {
                Some(scene) => {
                    scene.1 = scene.1.max(engine);
                    scene.2 = scene.2.max(oil);
                }
                None => scenes.push((reading.setting, engine, oil)),
            }
        }
        let mut search = Self {
            base: case,
            machine,
            readings,
            factor: factor(&keys, &machine.correlations),
            inputs,
            factors: spread.factors,
            scenes,
            sigmas: Vec::new(),
        };
        let computed = search.computed(&vec![0.0; search.width()])?;
        search.sigmas = readings
            .iter()
            .zip(&computed)
            .map(|(r, c)| r.sigma().hypot(model(r.probe.what, *c)))
            .collect();
        Ok(search)
    }

    /// The dimension of `u`.
    pub(super) fn width(&self) -> usize {
        self.inputs.len() + 2 * self.scenes.len()
    }

    /// The case at `u`, before a condition is applied.
    pub(super) fn case(&self, u: &[f64]) -> Case {
        let mut case = *self.base;
        for ((input, sigma), score) in self.inputs.iter().zip(self.scores(u).iter()) {
            let value = self.base.get(*input).unwrap_or(0.0);
            let moved = moved(*input, value, *sigma, self.factors.has(*input), *score);
            case = case.with(*input, moved);
        }
        case
    }

    /// Standard deviation of an input in a case; proportional to the input's value if the uncertainty is a factor.
    fn sigma(&self, case: &Case, input: Input, sigma: f64) -> f64 {
        let at = |case: &Case| case.get(input).unwrap_or(0.0);
        match self.factors.has(input) && at(self.base) > 0.0 {
            true => sigma * at(case) / at(self.base),
            false => sigma,
        }
    }

    /// The case at `u` in one of the conditions.
    fn scene(&self, number: usize, case: &Case, u: &[f64]) -> Case {
        let (setting, engine, oil) = &self.scenes[number];
        let mut scene = setting.on(self.machine, case);
        let at = self.inputs.len() + 2 * number;
        scene.now.engine_speed = (scene.now.engine_speed + engine * u[at]).max(0.0);
        scene.now.oil_temp += oil * u[at + 1];
        scene
    }

    /// The computed value of each reading at `u`.
    pub(super) fn computed(&self, u: &[f64]) -> Result<Vec<f64>, Trouble> {
        let case = self.case(u);
        let mut found = vec![0.0; self.readings.len()];
        for number in 0..self.scenes.len() {
            let scene = self.scene(number, &case, u);
            let state = State::found(&scene, &solve_from(&scene, f64::NAN)?);
            for (slot, reading) in found.iter_mut().zip(self.readings) {
                if reading.setting == self.scenes[number].0 {
                    *slot = reading.probe.what.read(&scene, &state);
                }
            }
        }
        Ok(found)
    }

    /// The deviation of the computed readings at `u`, in standard deviations of the readings.
    pub(super) fn off(&self, u: &[f64]) -> Result<DVector<f64>, Trouble> {
        let computed = self.computed(u)?;
        let off = |r: usize| (computed[r] - self.readings[r].value) / self.sigmas[r];
        Ok(DVector::from_fn(self.readings.len(), |r, _| off(r)))
    }

    /// The scores of the inputs at `u`, in their own standard deviations.
    pub(super) fn scores(&self, u: &[f64]) -> DVector<f64> {
        &self.factor * DVector::from_column_slice(&u[..self.inputs.len()])
    }

    /// The residuals of the readings at `u` and their derivatives with respect to `u`, in standard deviations of the
    /// readings.
    pub(super) fn residuals(&self, u: &[f64]) -> Result<(DVector<f64>, DMatrix<f64>), Trouble> {
        let (count, own) = (self.readings.len(), self.inputs.len());
        let mut off = DVector::zeros(count);
        let mut by_input = DMatrix::zeros(count, own);
        let mut slopes = DMatrix::zeros(count, self.width());
        let case = self.case(u);
        for number in 0..self.scenes.len() {
            let scene = self.scene(number, &case, u);
            let operating = solve_from(&scene, f64::NAN)?;
            let state = State::found(&scene, &operating);
            let rows: Vec<usize> = (0..count)
                .filter(|r| self.readings[*r].setting == self.scenes[number].0)
                .collect();
            for row in &rows {
                let reading = &self.readings[*row];
                let read = reading.probe.what.read(&scene, &state);
                off[*row] = (read - reading.value) / self.sigmas[*row];
            }
            let turning = Turning::of(&scene, &operating);
            let all = scene.slopes(
                |input| input.place() != Place::Heat,
                |scene| {
                    let state = turning.along(scene);
                    let read = |row: &usize| self.readings[*row].probe.what.read(scene, &state);
                    rows.iter().map(read).collect()
                },
            );
            let along = |input: Input, sigma: f64, fill: &mut dyn FnMut(usize, f64)| {
                for (row, slope) in rows.iter().zip(all.along(input).unwrap_or_default()) {
                    let slope = sigma * slope / self.sigmas[*row];
                    fill(*row, if slope.is_finite() { slope } else { 0.0 });
                }
            };
            for (column, (input, sigma)) in self.inputs.iter().enumerate() {
                let sigma = self.sigma(&case, *input, *sigma);
                along(*input, sigma, &mut |row, s| by_input[(row, column)] = s);
            }
            let (_, engine, oil) = self.scenes[number];
            for (i, (input, sigma)) in [(Input::ENGINE_SPEED, engine), (Input::OIL_TEMP, oil)]
                .into_iter()
                .enumerate()
            {
                let column = own + 2 * number + i;
                along(input, sigma, &mut |row, s| slopes[(row, column)] = s);
            }
        }
        slopes
            .view_mut((0, 0), (count, own))
            .copy_from(&(by_input * &self.factor));
        Ok((off, slopes))
    }
}

impl CostFunction for &Search<'_> {
    type Param = Vec<f64>;
    type Output = f64;

    /// Half of `J`; infinite where there is no operating point, so that the search steps back.
    fn cost(&self, u: &Vec<f64>) -> Result<f64, argmin::core::Error> {
        let Ok(computed) = self.computed(u) else {
            return Ok(f64::INFINITY);
        };
        let far: f64 = computed
            .iter()
            .zip(self.readings)
            .zip(&self.sigmas)
            .map(|((c, r), s)| ((c - r.value) / s).powi(2))
            .sum();
        Ok(0.5 * (far + u.iter().map(|x| x * x).sum::<f64>()))
    }
}

impl Gradient for &Search<'_> {
    type Param = Vec<f64>;
    type Gradient = Vec<f64>;

    fn gradient(&self, u: &Vec<f64>) -> Result<Vec<f64>, argmin::core::Error> {
        let (off, slopes) = self.residuals(u)?;
        let pull = slopes.tr_mul(&off);
        Ok(u.iter().zip(pull.iter()).map(|(u, p)| u + p).collect())
    }
}

impl Search<'_> {
    /// The half-width of each computed reading, SI, that follows from the covariance of `u`.
    fn wide(&self, slopes: &DMatrix<f64>, covariance: &DMatrix<f64>) -> Vec<f64> {
        let rows = slopes.row_iter().zip(&self.sigmas);
        rows.map(|(row, sigma)| {
            let variance = (row * covariance * row.transpose())[(0, 0)];
            2.0 * sigma * variance.max(0.0).sqrt()
        })
        .collect()
    }

    /// Collects the result of the fit at the most likely `u`.
    pub(super) fn told(&self, start: &[f64], u: &[f64], least: f64) -> Result<Fit, Trouble> {
        let (_, slopes_before) = self.residuals(start)?;
        let (off, slopes) = self.residuals(u)?;
        let (singular, covariance) = posterior(&slopes);
        let computed = (self.computed(start)?, self.computed(u)?);
        let own = self.inputs.len();
        let case = self.case(u);
        // From `u` to the inputs, in units of their own standard deviations.
        let inner = covariance.view((0, 0), (own, own));
        let together = &self.factor * inner * self.factor.transpose();
        let deviation: Vec<f64> = (0..own).map(|i| together[(i, i)].max(0.0).sqrt()).collect();
        let prior: Vec<f64> = (0..own).map(|i| self.factor.row(i).norm()).collect();
        let correlation = DMatrix::from_fn(own, own, |i, j| {
            let scale = deviation[i] * deviation[j];
            match i == j {
                true => 1.0,
                false if scale > 0.0 => (together[(i, j)] / scale).clamp(-1.0, 1.0),
                false => 0.0,
            }
        });
        let inputs = self
            .inputs
            .iter()
            .enumerate()
            .map(|(i, (input, sigma))| Narrowed {
                input: *input,
                before: (self.base.get(*input).unwrap_or(0.0), 2.0 * sigma * prior[i]),
                after: (
                    case.get(*input).unwrap_or(0.0),
                    2.0 * self.sigma(&case, *input, *sigma) * deviation[i],
                ),
                factor: self.factors.has(*input),
            })
            .collect();
        let unit = DMatrix::identity(self.width(), self.width());
        let before = self.wide(&slopes_before, &unit);
        let after = self.wide(&slopes, &covariance);
        let readings = (0..self.readings.len())
            .map(|r| Met {
                reading: self.readings[r],
                before: (computed.0[r], before[r]),
                after: (computed.1[r], after[r]),
                off: off[r],
            })
            .collect();
        Ok(Fit {
            case,
            inputs,
            correlation,
            readings,
            rank: singular
                .iter()
                .filter(|s| (1.0 + *s * *s).sqrt().recip() < UNTOUCHED)
                .count(),
            singular,
            chance: chi_square_tail(least, self.readings.len()),
        })
    }
}
