//! Fits a core to a table of rating points by least squares within bounds, and finds the inputs that the points do not
//! determine.
//!
//! The unknowns are the core's thermal conductance, its exponent of air speed, and the air side's fraction of the
//! thermal resistance. The residual of a point is its computed minus its measured heat, as a fraction of the measured
//! heat. A damped Gauss-Newton step (Levenberg and Marquardt), limited to the inputs' ranges, is repeated until
//! convergence. An input with a ± wider than a third of its range is not determined by the points: it keeps the
//! machine's value, and the others are solved again.
//!
//! **Source** J. J. Moré 1978, *The Levenberg–Marquardt algorithm*, Lecture Notes in Mathematics 630, from memory.

use crate::input::Input;
use crate::model::{Case, INPUTS, RatingPoint};
use crate::numeric::{Dual64, Real};
use crate::part::Core;
use crate::trouble::Trouble;
use nalgebra::{DMatrix, DVector};

/// The unknowns, in order.
const UNKNOWNS: [Input; 3] = [
    INPUTS.core.conductance,
    INPUTS.core.air_exponent,
    INPUTS.core.air_side,
];
/// An input with a ± wider than this fraction of its range is not determined.
const UNDETERMINED: f64 = 1.0 / 3.0;
/// Minimum standard deviation of a measured heat, as a fraction *(engineering assumption)*.
const LEAST_ERROR: f64 = 0.01;
/// Maximum number of steps of the search.
const STEPS: usize = 200;

/// One of the unknowns.
#[derive(Clone, Copy, Debug)]
pub struct RatedInput {
    /// The input.
    pub input: Input,
    /// Value of the input.
    pub value: f64,
    /// Half-width of the input's uncertainty (about 95 %); `None` if the points do not determine the input and the
    /// machine's value was kept.
    pub half: Option<f64>,
}

/// The result of the fit.
#[derive(Clone, Debug)]
pub struct Rated {
    /// The three inputs, fitted or kept: thermal conductance, exponent of air speed, the air side's fraction of the
    /// resistance.
    pub told: Vec<RatedInput>,
    /// Number of unknowns that the points determine.
    pub rank: usize,
    /// Singular values, largest first, of the derivatives of the relative heat with respect to all three inputs, the
    /// conductance scaled by its value, the others by their ranges.
    pub singular: Vec<f64>,
    /// Computed minus measured heat of each point, as a fraction.
    pub off: Vec<f64>,
    /// Computed minus measured heat of each point as a fraction, from a fit to all other points; empty if there are too
    /// few points to leave one out.
    pub held_out: Vec<f64>,
}

/// Heat, W, rejected by the core at a point.
fn heat<N: Real>(core: &Core<N>, glycol: N, point: &RatingPoint) -> N {
    let streams = [point.air_speed, point.coolant_flow].map(N::from);
    core.heat_at(
        streams,
        [point.coolant_temp, point.air_temp].map(N::from),
        glycol,
    )
}

/// The fitting problem.
struct Search<'a> {
    case: &'a Case,
    points: &'a [RatingPoint],
    inputs: [Input; 3],
}

impl Search<'_> {
    fn off(&self, case: &Case) -> Option<DVector<f64>> {
        let (core, coolant) = (case.core?, case.coolant?);
        Some(DVector::from_iterator(
            self.points.len(),
            self.points
                .iter()
                .map(|p| heat(&core, coolant.glycol, p) / p.heat - 1.0),
        ))
    }

    /// Derivatives of the residuals with respect to the inputs: the conductance scaled by its value, the others by
    /// their ranges.
    fn slopes(&self, case: &Case, free: &[Input]) -> Option<DMatrix<f64>> {
        let mut slopes = DMatrix::zeros(self.points.len(), free.len());
        for (k, input) in free.iter().enumerate() {
            let along: Case<Dual64> = case.along(*input);
            let (core, coolant) = (along.core?, along.coolant?);
            for (row, point) in self.points.iter().enumerate() {
                let slope = heat(&core, coolant.glycol, point).eps / point.heat;
                slopes[(row, k)] = slope * self.scale(case, *input);
            }
        }
        Some(slopes)
    }

    fn scale(&self, case: &Case, input: Input) -> f64 {
        if input == self.inputs[0] {
            return case.get(input).unwrap_or(1.0);
        }
        input.field().high - input.field().low
    }

    /// Least squares over the free inputs.
    fn fit(&self, free: &[Input]) -> Option<Case> {
        let mut case = *self.case;
        let mut off = self.off(&case)?;
        let mut damping = 1e-3;
        for _ in 0..STEPS {
            let slopes = self.slopes(&case, free)?;
            let pull = slopes.tr_mul(&off);
            let mut normal = slopes.tr_mul(&slopes);
            for k in 0..free.len() {
                normal[(k, k)] += damping * normal[(k, k)].max(1e-12);
            }
            let step = normal.lu().solve(&-pull)?;
            let mut next = case;
            let mut moved = 0.0_f64;
            for (k, input) in free.iter().enumerate() {
                let (field, now) = (input.field(), case.get(*input)?);
                let scale = self.scale(&case, *input);
                let by = step[k].clamp(-0.3, 0.3) * scale;
                let there = (now + by).clamp(field.low, field.high);
                moved = moved.max((there - now).abs() / scale);
                next = next.with(*input, there);
            }
            let left = self.off(&next)?;
            if left.norm_squared() <= off.norm_squared() {
                (case, off) = (next, left);
                damping = (damping * 0.3).max(1e-12);
                if moved < 1e-10 {
                    break;
                }
            } else {
                damping *= 10.0;
                if damping > 1e9 {
                    break;
                }
            }
        }
        Some(case)
    }

    /// Half-widths of the fitted inputs' uncertainty.
    fn halves(&self, case: &Case, free: &[Input]) -> Option<Vec<f64>> {
        let off = self.off(case)?;
        let spare = self.points.len().saturating_sub(free.len());
        let seen = if spare > 0 {
            (off.norm_squared() / spare as f64).sqrt()
        } else {
            0.0
        };
        let error = seen.max(LEAST_ERROR);
        let parts = self.slopes(case, free)?.svd(false, true);
        let rows = parts.v_t?;
        Some(
            (0..free.len())
                .map(|k| {
                    let variance: f64 = (0..rows.nrows())
                        .map(|i| {
                            let s = parts.singular_values[i].max(1e-9);
                            (rows[(i, k)] / s).powi(2)
                        })
                        .sum();
                    // Fewer points than unknowns: the remaining directions are not determined at all.
                    let unseen = if rows.nrows() < free.len() {
                        f64::INFINITY
                    } else {
                        0.0
                    };
                    2.0 * error * variance.sqrt() + unseen
                })
                .collect(),
        )
    }

    /// Fits only those inputs that the points determine; returns the case, these inputs, and their half-widths.
    fn told(&self) -> Option<(Case, Vec<Input>, Vec<f64>)> {
        let mut free = self.inputs.to_vec();
        loop {
            let case = self.fit(&free)?;
            let halves = self.halves(&case, &free)?;
            // The conductance itself is never dropped: the points always carry information about it.
            let worst = (1..free.len()).max_by(|a, b| halves[*a].total_cmp(&halves[*b]));
            match worst {
                Some(k) if halves[k] > UNDETERMINED || halves[0] > UNDETERMINED => {
                    free.remove(k);
                }
                _ => return Some((case, free, halves)),
            }
        }
    }

    /// The relative error of each point's heat, computed from a fit to all other points; empty if there are too few
    /// points.
    fn held_out(&self, free: &[Input]) -> Vec<f64> {
        if self.points.len() <= free.len() {
            return Vec::new();
        }
        let off = |(k, point): (usize, &RatingPoint)| {
            let mut others = self.points.to_vec();
            others.remove(k);
            let less = Search {
                points: &others,
                ..*self
            };
            let core = less.fit(free)?.core?;
            let glycol = self.case.coolant?.glycol;
            Some(heat(&core, glycol, point) / point.heat - 1.0)
        };
        self.points.iter().enumerate().filter_map(off).collect()
    }
}

/// Whether an input is at a limit of its range.
fn ends(case: &Case, input: Input) -> bool {
    let (field, value) = (input.field(), case.get(input).unwrap_or(f64::NAN));
    let near = 1e-6 * (field.high - field.low);
    value - field.low < near || field.high - value < near
}

/// Fits the core of a case to rating points.
pub fn fit(case: &Case, points: &[RatingPoint]) -> Result<Rated, Trouble> {
    let lost = || {
        Trouble::input(
            "rating points were given, but the machine file lacks [core] or [coolant]",
            "a machine file that describes the radiator",
        )
        .on("rating")
    };
    if points.len() < 2 {
        let trouble = Trouble::input("a single rating point", "at least two rating points");
        return Err(trouble.on("rating"));
    }
    let inputs = UNKNOWNS;
    let search = Search {
        case,
        points,
        inputs,
    };
    let (found, free, halves) = search.told().ok_or_else(lost)?;
    if let Some(input) = free.iter().find(|i| ends(&found, **i)) {
        let found = format!(
            "these rating points push `{}` to the limit of its range",
            input.key()
        );
        let trouble = Trouble::no_answer(found, "points that a core with this face area can match");
        return Err(trouble
            .hint("check that face area, units and glycol fraction are those of the rating")
            .on("rating"));
    }
    let off = search.off(&found).ok_or_else(lost)?;
    let slopes = search.slopes(&found, &inputs).ok_or_else(lost)?;
    let mut singular: Vec<f64> = slopes.singular_values().iter().copied().collect();
    singular.sort_by(|a, b| b.total_cmp(a));
    let held_out = search.held_out(&free);
    let told = inputs
        .iter()
        .map(|input| {
            let half = free.iter().position(|f| f == input).map(|k| halves[k]);
            RatedInput {
                input: *input,
                value: found.get(*input).unwrap_or(f64::NAN),
                half: half.map(|h| h * search.scale(&found, *input)),
            }
        })
        .collect();
    Ok(Rated {
        told,
        rank: free.len(),
        singular,
        off: off.iter().copied().collect(),
        held_out,
    })
}

/// The maximum heat, W, that can pass between air and coolant of a rating point: each stream could at most leave at the
/// inlet temperature of the other. `None` on a machine without a core.
pub fn carried(case: &Case, point: &RatingPoint) -> Option<f64> {
    let (core, coolant) = (case.core.as_ref()?, case.coolant.as_ref()?);
    let streams = [point.air_speed, point.coolant_flow];
    let temps = [point.coolant_temp, point.air_temp];
    let (least, _) = core.carries(streams, temps, coolant.glycol);
    Some(least * (point.coolant_temp - point.air_temp))
}

/// The heat that a case's core rejects at a rating point, W; `None` on a machine without a core.
pub fn passes(case: &Case, point: &RatingPoint) -> Option<f64> {
    Some(heat(
        case.core.as_ref()?,
        case.coolant.as_ref()?.glycol,
        point,
    ))
}
