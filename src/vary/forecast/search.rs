//! The most likely machine under one hypothesis.
//!
//! All uncertain quantities are `x = F·u` with `u` standard normal, in logarithms if the uncertainty is a factor. Under
//! a fault of given severity the most likely `u` minimises `|u|² + rᵀR⁻¹r`, where `r` is measured minus computed and
//! `R` is the error covariance of instruments and model. This `u` is found by Gauss-Newton iteration with exact
//! derivatives `A`: `u ← AᵀS⁻¹(y − f(u) + A·u)`, `S = A·Aᵀ + R`; the severity is found by trying several values in each
//! iteration. The readings are then linearised around the most likely machine, and samples of its posterior
//! distribution capture what the linearisation misses.
//!
//! **Source** A. Tarantola 2005, *Inverse Problem Theory*, SIAM, section 3.2; posterior samples from prior samples
//! corrected by the measured values: A. G. Journel and C. J. Huijbregts 1978, *Mining Geostatistics*, chapter 7. Both
//! from memory.

use super::scene::{SAMPLES, STRETCHES, TestCondition, View, severities};
use super::{Form, Row, model, shared};
use crate::fault::Fault;
use crate::probe;
use crate::trouble::{Stop, Trouble};
use crate::vary::posterior::{Evidence, variance};
use crate::vary::sample;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use rayon::prelude::*;

/// The seed of the sampling.
const SEED: u64 = 86;
/// Maximum number of iterations.
const STEPS: usize = 6;
/// A step that lowers the objective by less than this ends the search.
const ENOUGH: f64 = 0.02;
/// Maximum absolute value of a score, so that impossible readings do not lead to an impossible machine.
const FARTHEST: f64 = 3.5;
/// Factor on the error variance of a satisfied lower bound, so that it has practically no weight.
const NO_MATTER: f64 = 1e6;

/// The most likely machine under a hypothesis, and samples of its posterior distribution.
pub struct Spot {
    /// Scores of all uncertain sources at the most likely machine.
    at: Vec<f64>,
    drawn: Vec<Vec<f64>>,
}

pub struct Search<'a> {
    rows: &'a [Row],
    scenes: &'a [TestCondition],
    sources: usize,
    together: &'a DMatrix<f64>,
    evidence: &'a [Evidence],
    /// The test conditions with evidence.
    read: Vec<usize>,
    /// Standard normal scores of each source, then of each piece of evidence, by sample.
    scores: Vec<Vec<f64>>,
}

/// The computed value for each piece of evidence at some `u`, with its derivatives and errors.
struct Line {
    off: DVector<f64>,
    /// Derivatives along each source.
    slopes: DMatrix<f64>,
    /// Error covariance of instruments and model.
    errors: DMatrix<f64>,
    /// Total covariance of the readings.
    whole: Cholesky<f64, Dyn>,
}

/// A hypothesis in the search: a fault with its severity, or none.
type Cause<'f> = Option<(&'f Fault, f64)>;

impl<'a> Search<'a> {
    pub fn new(
        rows: &'a [Row],
        scenes: &'a [TestCondition],
        sources: usize,
        together: &'a DMatrix<f64>,
        evidence: &'a [Evidence],
    ) -> Self {
        let of = |s: &usize| evidence.iter().any(|e| scenes[*s].rows.contains(&e.row));
        Self {
            rows,
            scenes,
            sources,
            together,
            evidence,
            read: (0..scenes.len()).filter(of).collect(),
            scores: sample::scores(sources + evidence.len(), SAMPLES, SEED),
        }
    }

    /// The most likely machine if healthy, then under each form of a fault.
    pub fn places(&self, stop: &Stop, forms: &[(usize, Form)]) -> Result<Vec<Spot>, Trouble> {
        let start = DVector::zeros(self.sources);
        let sound = self.seek(&start, None)?;
        let each = forms.par_iter().map(|(_, form)| {
            stop.ask()?;
            self.seek(&start, Some(form))
        });
        let rest: Vec<Spot> = each.collect::<Result<_, Trouble>>()?;
        Ok(std::iter::once(sound).chain(rest).collect())
    }

    /// Each test condition with a machine and its samples.
    pub fn views(&self, spot: &Spot) -> Vec<View> {
        let scenes = self.scenes.iter();
        scenes.map(|s| s.view(&spot.at, &spot.drawn)).collect()
    }

    /// Converts independent scores to the correlated scores of the inputs.
    fn turned(&self, u: &DVector<f64>) -> Vec<f64> {
        let own = self.together.nrows();
        let mut all: Vec<f64> = u.iter().copied().collect();
        let turned = self.together * u.rows(0, own);
        all[..own].copy_from_slice(turned.as_slice());
        all
    }

    fn fault_in<'f>(&self, scene: usize, cause: Cause<'f>) -> (Option<&'f Fault>, f64) {
        match cause {
            Some((fault, severity)) if !self.scenes[scene].well => (Some(fault), severity),
            _ => (None, 0.0),
        }
    }

    /// The computed value for each piece of evidence.
    fn computed(&self, u: &DVector<f64>, cause: Cause<'_>) -> Result<DVector<f64>, Trouble> {
        let scores = self.turned(u);
        let mut all = DVector::zeros(self.evidence.len());
        for scene in &self.read {
            let (fault, severity) = self.fault_in(*scene, cause);
            let scene = &self.scenes[*scene];
            let view = scene.view(&scores, &[]);
            let (plain, _) = scene.plain(&view, (fault, severity, None))?;
            self.put(scene, |n, i| all[n] = plain[i]);
        }
        Ok(all)
    }

    /// Calls `slot` for each piece of evidence in a test condition, with its index and the position of its row in the
    /// condition.
    fn put(&self, scene: &TestCondition, mut slot: impl FnMut(usize, usize)) {
        for (n, e) in self.evidence.iter().enumerate() {
            if let Some(i) = scene.rows.iter().position(|r| *r == e.row) {
                slot(n, i);
            }
        }
    }

    /// The error covariance of instruments and model at these computed values.
    fn errors(&self, computed: &DVector<f64>) -> DMatrix<f64> {
        let mut all = self.alike(computed);
        for (n, e) in self.evidence.iter().enumerate() {
            all[(n, n)] += variance(e.half, e.uniform) + 1e-12 * computed[n].powi(2);
            // A satisfied lower bound carries no further information.
            if e.at_least && computed[n] > e.value {
                all[(n, n)] *= NO_MATTER;
            }
        }
        all
    }

    /// The covariance of the model error and of the common part of an instrument's error.
    fn alike(&self, computed: &DVector<f64>) -> DMatrix<f64> {
        let count = self.evidence.len();
        DMatrix::from_fn(count, count, |a, b| {
            let (one, other) = (
                &self.rows[self.evidence[a].row],
                &self.rows[self.evidence[b].row],
            );
            let mut both = 0.0;
            if one.what == other.what && one.setting == other.setting {
                both += shared(one, other)
                    * model(one.what, computed[a])
                    * model(other.what, computed[b]);
            }
            if let (Some(one), Some(other)) = (one.shared, other.shared)
                && one.0 == other.0
            {
                both += one.1 * other.1;
            }
            both
        })
    }

    fn off(&self, computed: &DVector<f64>) -> DVector<f64> {
        let read = self.evidence.iter().map(|e| e.value);
        DVector::from_iterator(self.evidence.len(), read) - computed
    }

    /// The objective to be minimised.
    fn cost(&self, u: &DVector<f64>, computed: &DVector<f64>) -> f64 {
        let off = self.off(computed);
        let far = Cholesky::new(self.errors(computed)).map(|c| off.dot(&c.solve(&off)));
        u.norm_squared() + far.unwrap_or(f64::INFINITY)
    }

    fn line(
        &self,
        u: &DVector<f64>,
        cause: Cause<'_>,
        nearby: &mut [Option<probe::Seen>],
    ) -> Result<Line, Trouble> {
        let scores = self.turned(u);
        let count = self.evidence.len();
        let mut computed = DVector::zeros(count);
        let mut slopes = DMatrix::zeros(count, self.sources);
        for (place, scene) in self.read.iter().enumerate() {
            let (fault, severity) = self.fault_in(*scene, cause);
            let scene = &self.scenes[*scene];
            let view = scene.view(&scores, &[]);
            let near = nearby[place].as_ref();
            let at = (fault, severity, near);
            let (seen, found) = scene.straight(&view, at)?;
            self.put(scene, |n, i| {
                computed[n] = seen.plain[i];
                for (source, slope) in scene.sources.iter().zip(&seen.slopes[i]) {
                    slopes[(n, source.at)] = *slope;
                }
            });
            if near.is_none() {
                nearby[place] = Some(found);
            }
        }
        let own = self.together.nrows();
        let turned = slopes.columns(0, own) * self.together;
        slopes.columns_mut(0, own).copy_from(&turned);
        let errors = self.errors(&computed);
        let whole = &slopes * slopes.transpose() + &errors;
        let whole = Cholesky::new(whole).ok_or_else(|| {
            Trouble::no_answer(
                "the readings have no uncertainty",
                "readings with an uncertainty above 0",
            )
        })?;
        Ok(Line {
            off: self.off(&computed),
            slopes,
            errors,
            whole,
        })
    }

    fn seek(&self, start: &DVector<f64>, form: Option<&Form>) -> Result<Spot, Trouble> {
        let mut u = start.clone();
        let mut cause: Cause<'_> = form.map(|(fault, floor)| (fault, *floor));
        if self.evidence.is_empty() {
            return Ok(self.spot(&u, None));
        }
        let mut nearby = vec![None; self.read.len()];
        let mut line = self.line(&u, cause, &mut nearby)?;
        let mut cost = f64::INFINITY;
        for _ in 0..STEPS {
            if let Some((fault, floor)) = form {
                let severity = self.severity(&u, fault, *floor, &line)?;
                if cause.is_none_or(|c| (c.1 - severity).abs() > 0.0) {
                    cause = Some((fault, severity));
                    line = self.line(&u, cause, &mut nearby)?;
                }
            }
            let before = self.cost(&u, &self.computed(&u, cause)?);
            let aim = line
                .slopes
                .tr_mul(&line.whole.solve(&(&line.off + &line.slopes * &u)));
            let mut best: Option<(f64, DVector<f64>)> = None;
            let mut part = 1.0;
            for _ in 0..4 {
                let there = (&u + (&aim - &u) * part).map(|x| x.clamp(-FARTHEST, FARTHEST));
                let cost = self
                    .computed(&there, cause)
                    .map_or(f64::INFINITY, |c| self.cost(&there, &c));
                if cost < before {
                    best = Some((cost, there));
                    break;
                }
                part *= 0.4;
            }
            let now = match best {
                Some((now, there)) => {
                    u = there;
                    line = self.line(&u, cause, &mut nearby)?;
                    now
                }
                None => before,
            };
            if cost - now < ENOUGH {
                break;
            }
            cost = now;
        }
        Ok(self.spot(&u, Some(line)))
    }

    /// The most likely severity, with unchanged derivatives.
    fn severity(
        &self,
        u: &DVector<f64>,
        fault: &Fault,
        floor: f64,
        line: &Line,
    ) -> Result<f64, Trouble> {
        let lean = &line.slopes * u;
        let far = |severity: f64| -> Result<f64, Trouble> {
            let off = self.off(&self.computed(u, Some((fault, severity)))?) + &lean;
            Ok(off.dot(&line.whole.solve(&off)))
        };
        let coarse = self.read.iter().any(|s| self.scenes[*s].coarse());
        let all = severities(fault, floor);
        let mut tried: Vec<(f64, f64)> = Vec::new();
        let step = if coarse { 3 } else { 1 };
        for severity in all[1..].iter().step_by(step) {
            tried.push((*severity, far(*severity)?));
        }
        let mut wide = step as f64 * (all[STRETCHES] - all[1]) / (STRETCHES - 1) as f64;
        for _ in 0..2 {
            wide /= 2.0;
            let (middle, _) = least(&tried);
            for there in [middle - wide, middle + wide] {
                if (all[1]..=all[STRETCHES]).contains(&there) {
                    tried.push((there, far(there)?));
                }
            }
        }
        Ok(least(&tried).0)
    }

    fn spot(&self, u: &DVector<f64>, line: Option<Line>) -> Spot {
        let lower = line.as_ref().and_then(|l| Cholesky::new(l.errors.clone()));
        let count = self.evidence.len();
        let drawn = (0..SAMPLES).map(|n| {
            let z = DVector::from_fn(self.sources, |i, _| self.scores[i][n]);
            let Some((line, lower)) = line.as_ref().zip(lower.as_ref()) else {
                return self.turned(&(u + z).map(|x| x.clamp(-FARTHEST, FARTHEST)));
            };
            let e = DVector::from_fn(count, |i, _| self.scores[self.sources + i][n]);
            let read = &line.slopes * &z + lower.l() * e;
            let z = z - line.slopes.tr_mul(&line.whole.solve(&read));
            self.turned(&(u + z).map(|x| x.clamp(-FARTHEST, FARTHEST)))
        });
        Spot {
            drawn: drawn.collect(),
            at: self.turned(u),
        }
    }
}

fn least(tried: &[(f64, f64)]) -> (f64, f64) {
    let all = tried.iter().copied();
    all.min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0.0, 0.0))
}
