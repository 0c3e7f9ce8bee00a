//! From requirements to parts: finds the inputs of a machine that meet requirements in several conditions and minimise
//! a goal.
//!
//! Every requirement is `value ≥ bound` or `value ≤ bound`, scaled by its bound. From many starting points within the
//! ranges of the free inputs, goal and requirements are linearised with exact derivatives and the best step within a
//! box is taken; the box shrinks if the linearisation was too optimistic. A Nelder-Mead search then starts from the
//! best point, to find improvements hidden by kinks.
//!
//! **Source** Sequential linear programming with a trust box and the exact penalty: R. Fletcher 1987, *Practical
//! Methods of Optimization*, section 12.4, from memory. The method finds a local optimum; a better one elsewhere cannot
//! be excluded.

mod figure;
mod linear;

pub use figure::{Figure, Way};

use crate::balance::{Operating, State, Turning, solve};
use crate::input::Input;
use crate::model::Case;
use crate::trouble::{Stop, Trouble};
use argmin::core::{CostFunction, Executor};
use argmin::solver::neldermead::NelderMead;
use linear::Straight;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// A requirement in one condition.
#[derive(Clone, Copy, Debug)]
pub struct Want {
    /// Figure of the requirement.
    pub figure: Figure,
    /// Whether the bound is a minimum; otherwise a maximum.
    pub least: bool,
    /// The bound, SI.
    pub bound: f64,
    /// The index of the condition.
    pub at: usize,
}

impl Want {
    /// Violation of the requirement relative to its scale; negative with a margin.
    fn off(&self, value: f64) -> f64 {
        let off = if self.least {
            self.bound - value
        } else {
            value - self.bound
        };
        off / self.figure.scale(self.bound)
    }

    /// Whether a value meets the requirement.
    pub fn holds(&self, value: f64) -> bool {
        if self.least {
            value >= self.bound
        } else {
            value <= self.bound
        }
    }
}

/// An input that is free within a range.
#[derive(Clone, Copy, Debug)]
pub struct Free {
    /// The input.
    pub input: Input,
    /// Minimum of the free input, SI.
    pub low: f64,
    /// Maximum of the free input, SI.
    pub high: f64,
}

/// The goal, to be minimised or maximised: the mean over some conditions.
#[derive(Clone, Debug)]
pub struct Goal {
    /// Figure of the goal.
    pub figure: Figure,
    /// Whether the goal is maximised; otherwise minimised.
    pub most: bool,
    /// The conditions.
    pub at: Vec<usize>,
}

/// The design problem: requirements, free inputs, goal.
#[derive(Clone, Debug)]
pub struct Problem {
    /// The machine in each condition.
    pub conditions: Vec<Case>,
    /// The requirements.
    pub wants: Vec<Want>,
    /// The free inputs.
    pub frees: Vec<Free>,
    /// The goal.
    pub goal: Goal,
    /// Cancels the computation when the answer is no longer needed.
    pub stop: Stop,
}

/// The best design found.
#[derive(Clone, Debug)]
pub struct Design {
    /// The value of each free input, SI.
    pub values: Vec<f64>,
    /// Value of the goal in the design, SI.
    pub goal: f64,
    /// The value of each requirement's figure, SI.
    pub wants: Vec<f64>,
    /// Change of the goal per SI unit by which a requirement's bound is relaxed, from new designs with the bound
    /// relaxed by a thousandth; 0 if the bound is not active.
    pub buys: Vec<f64>,
    /// Violation of the worst requirement, relative to its scale; 0 if all are met.
    pub off: f64,
    /// The conflicting requirements, if they cannot all be met.
    pub against: Vec<usize>,
}

/// Number of points evaluated before the climb, for each combination of sizes.
const SCATTERED: usize = 200;
/// Number of these points from which a climb starts.
const STARTS: usize = 6;
/// Maximum number of steps of a climb.
const STEPS: usize = 60;
/// Weight of a violation of 1 relative to the goal.
const PENALTY: f64 = 100.0;
/// Safety margin on each requirement, so that rounding does not violate any.
const INSIDE: f64 = 1e-7;
/// Fraction of its scale by which a requirement is relaxed to find the benefit.
const RELAXED: f64 = 1e-3;
/// Distance from a design, relative to each range, of additional starting points for the relaxed problem.
const NUDGE: f64 = 3e-3;
/// A requirement is met if its violation is at most this.
const MET: f64 = 1e-9;

/// An evaluated point: the goal, and the violation of each requirement.
struct Evaluated {
    goal: f64,
    values: Vec<f64>,
    off: Vec<f64>,
}

/// An evaluated point with derivatives along each free input scaled by its range.
struct Sloped {
    at: Evaluated,
    goal: Vec<f64>,
    off: Vec<Vec<f64>>,
}

impl Problem {
    /// The case of a condition with the free inputs at a point of the unit box.
    fn case(&self, condition: usize, x: &[f64]) -> Case {
        let mut case = self.conditions[condition];
        for (free, x) in self.frees.iter().zip(x) {
            case = case.with(free.input, free.low + (free.high - free.low) * x);
        }
        case
    }

    /// Solves every condition; `None` if one has no balance or its inputs conflict.
    fn solved(&self, x: &[f64]) -> Option<Vec<(Case, State, Operating)>> {
        let one = |k: usize| {
            let case = self.case(k, x);
            if case.clash().is_some() {
                return None;
            }
            let operating = solve(&case).ok()?;
            Some((case, State::found(&case, &operating), operating))
        };
        (0..self.conditions.len()).map(one).collect()
    }

    /// Sign and weight of the goal.
    fn weight(&self) -> f64 {
        let sign = if self.goal.most { -1.0 } else { 1.0 };
        sign / self.goal.at.len().max(1) as f64
    }

    fn evaluated(&self, solved: &[(Case, State, Operating)]) -> Evaluated {
        let value = |want: &Want| want.figure.read(&solved[want.at].0, &solved[want.at].1);
        let values: Vec<f64> = self.wants.iter().map(value).collect();
        let off = self
            .wants
            .iter()
            .zip(&values)
            .map(|(w, v)| w.off(*v) + INSIDE);
        let goal = self
            .goal
            .at
            .iter()
            .map(|k| self.goal.figure.read(&solved[*k].0, &solved[*k].1));
        Evaluated {
            goal: self.weight() * goal.sum::<f64>(),
            off: off.collect(),
            values,
        }
    }

    fn look(&self, x: &[f64]) -> Option<Evaluated> {
        let evaluated = self.evaluated(&self.solved(x)?);
        let whole = evaluated.goal.is_finite() && evaluated.off.iter().all(|o| o.is_finite());
        whole.then_some(evaluated)
    }

    /// Evaluates a point with exact derivatives.
    fn sloped(&self, x: &[f64]) -> Option<Sloped> {
        let solved = self.solved(x)?;
        let at = self.evaluated(&solved);
        let mut goal = vec![0.0; self.frees.len()];
        let mut off = vec![vec![0.0; self.frees.len()]; self.wants.len()];
        for (k, (case, _, operating)) in solved.iter().enumerate() {
            let figures: Vec<Figure> = std::iter::once(self.goal.figure)
                .chain(self.wants.iter().map(|want| want.figure))
                .collect();
            let turning = Turning::of(case, operating);
            let slopes = case.slopes(
                |input| self.frees.iter().any(|free| free.input == input),
                |case| {
                    let state = turning.along(case);
                    figures.iter().map(|f| f.read(case, &state)).collect()
                },
            );
            for (f, free) in self.frees.iter().enumerate() {
                let along = slopes.along(free.input).unwrap_or_default();
                let slope = |figure: usize| {
                    let slope = along.get(figure).copied().unwrap_or(0.0);
                    let slope = slope * (free.high - free.low);
                    if slope.is_finite() { slope } else { 0.0 }
                };
                for (w, (want, row)) in self.wants.iter().zip(&mut off).enumerate() {
                    if want.at == k {
                        let sign = if want.least { -1.0 } else { 1.0 };
                        row[f] = sign * slope(w + 1) / want.figure.scale(want.bound);
                    }
                }
                let times = self.goal.at.iter().filter(|at| **at == k).count() as f64;
                goal[f] += self.weight() * times * slope(0);
            }
        }
        Some(Sloped { at, goal, off })
    }
}

impl Evaluated {
    /// Violation of the worst requirement.
    fn worst(&self) -> f64 {
        self.off.iter().fold(0.0, |a, b| a.max(*b))
    }
}

/// The objective of a climb: the goal over its scale, and the violation of the worst requirement.
#[derive(Clone, Copy)]
struct Merit {
    /// Scale of the goal; infinite if the goal does not count.
    size: f64,
}

impl Merit {
    fn of(self, evaluated: &Evaluated) -> f64 {
        evaluated.goal / self.size + PENALTY * evaluated.worst()
    }
}

impl Problem {
    /// Climbs from a point; returns the end point.
    fn climb(&self, from: &[f64], merit: Merit) -> Option<Vec<f64>> {
        let (mut x, mut radius) = (from.to_vec(), 0.2_f64);
        let mut here = self.sloped(&x)?;
        for _ in 0..STEPS {
            if radius < 1e-9 {
                break;
            }
            let step = self.step(&here, &x, radius, merit)?;
            let now = merit.of(&here.at);
            let promised = now - (here.at.goal / merit.size + step.value);
            if promised < 1e-11 * now.abs().max(1.0) {
                break;
            }
            let next: Vec<f64> = x
                .iter()
                .zip(&step.d)
                .map(|(x, d)| (x + d).clamp(0.0, 1.0))
                .collect();
            let kept = self
                .look(&next)
                .map_or(0.0, |l| (now - merit.of(&l)) / promised);
            let widest = step.d.iter().fold(0.0_f64, |a, d| a.max(d.abs()));
            if kept > 0.05
                && let Some(there) = self.sloped(&next)
            {
                (x, here) = (next, there);
                if kept > 0.7 && widest > 0.8 * radius {
                    radius = (2.0 * radius).min(0.5);
                }
            } else {
                radius = 0.3 * radius.min(widest.max(1e-9));
            }
        }
        Some(x)
    }

    /// The best step within a box around a point.
    fn step(&self, here: &Sloped, x: &[f64], radius: f64, merit: Merit) -> Option<linear::Step> {
        let low: Vec<f64> = x.iter().map(|x| (-radius).max(-x)).collect();
        let high: Vec<f64> = x.iter().map(|x| radius.min(1.0 - x)).collect();
        let cost: Vec<f64> = here.goal.iter().map(|g| g / merit.size).collect();
        let straight = Straight {
            cost: &cost,
            slopes: &here.off,
            off: &here.at.off,
            low: &low,
            high: &high,
            penalty: PENALTY,
        };
        straight.solve()
    }

    /// Starting points of the climb: the best of the random points, the middle of the ranges, and the present machine.
    fn starts(&self, seed: u64) -> Result<(Vec<Vec<f64>>, f64), Trouble> {
        let width = self.frees.len();
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut points = vec![vec![0.5; width]];
        let own = |free: &Free| {
            let value = self.conditions[0].get(free.input).unwrap_or(free.low);
            ((value - free.low) / (free.high - free.low)).clamp(0.0, 1.0)
        };
        points.push(self.frees.iter().map(own).collect());
        points.extend((0..SCATTERED).map(|_| (0..width).map(|_| random.random::<f64>()).collect()));
        let evaluated: Vec<(Vec<f64>, Evaluated)> = points
            .into_par_iter()
            .filter_map(|x| self.look(&x).map(|l| (x, l)))
            .collect();
        let mut sizes: Vec<f64> = evaluated.iter().map(|l| l.1.goal.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let size = sizes
            .get(sizes.len() / 2)
            .copied()
            .filter(|s| *s > 0.0)
            .unwrap_or(1.0);
        let mut ranked: Vec<(f64, Vec<f64>)> = evaluated
            .into_iter()
            .map(|(x, l)| (Merit { size }.of(&l), x))
            .collect();
        if ranked.is_empty() {
            return Err(Trouble::no_answer(
                "no operating point anywhere in these ranges",
                "ranges in which the machine can run",
            ));
        }
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut kept: Vec<Vec<f64>> = Vec::new();
        for (_, x) in ranked {
            let near = |k: &Vec<f64>| k.iter().zip(&x).all(|(a, b)| (a - b).abs() < 0.1);
            if kept.len() < STARTS && !kept.iter().any(near) {
                kept.push(x);
            }
        }
        Ok((kept, size))
    }

    /// The best design.
    pub fn best(&self, seed: u64) -> Result<Design, Trouble> {
        if self.frees.is_empty() {
            return self.design(&[], 1.0);
        }
        let (starts, size) = self.starts(seed)?;
        let merit = Merit { size };
        let best = self.climbed(&starts, merit)?;
        let best = self.searched(&best, merit).unwrap_or(best);
        let found = self.design(&best, size)?;
        if found.off <= MET {
            return Ok(self.priced(found, &best, merit));
        }
        // Conflicting requirements show up when the goal does not count.
        let merit = Merit {
            size: f64::INFINITY,
        };
        let closest = self.climbed(&[vec![best], starts].concat(), merit)?;
        self.design(&closest, f64::INFINITY)
    }

    /// A design with the benefit of relaxing each active requirement, from new designs with that requirement relaxed:
    /// if another limit takes over at the design itself, one-sided derivatives are not sufficient.
    fn priced(&self, mut design: Design, x: &[f64], merit: Merit) -> Design {
        let sign = if self.goal.most { -1.0 } else { 1.0 };
        let nudged = |by: f64| x.iter().map(|x| (x + by).clamp(0.0, 1.0)).collect();
        let starts = [x.to_vec(), nudged(NUDGE), nudged(-NUDGE)];
        for k in 0..self.wants.len() {
            if design.buys[k].abs() <= 0.0 {
                continue;
            }
            let mut relaxed = self.clone();
            let want = &mut relaxed.wants[k];
            let by = RELAXED * want.figure.scale(want.bound);
            want.bound += if want.least { -by } else { by };
            let end = relaxed.climbed(&starts, merit).ok();
            let evaluated = end.and_then(|x| relaxed.look(&x));
            if let Some(evaluated) = evaluated.filter(|l| l.worst() <= INSIDE) {
                design.buys[k] = (sign * evaluated.goal - design.goal) / by;
            }
        }
        design
    }

    /// The best end point of climbs from several points.
    fn climbed(&self, starts: &[Vec<f64>], merit: Merit) -> Result<Vec<f64>, Trouble> {
        self.stop.ask()?;
        let ends: Vec<(f64, Vec<f64>)> = starts
            .par_iter()
            .filter_map(|x| {
                let end = self.climb(x, merit)?;
                Some((merit.of(&self.look(&end)?), end))
            })
            .collect();
        let best = ends.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
        best.map(|b| b.1).ok_or_else(|| {
            Trouble::no_answer(
                "the search did not terminate",
                "other ranges of the free inputs",
            )
        })
    }

    /// The result of a Nelder-Mead search from a point, followed by a climb; `None` if the result is not better.
    fn searched(&self, from: &[f64], merit: Merit) -> Option<Vec<f64>> {
        let before = merit.of(&self.look(from)?);
        let mut corners = vec![from.to_vec()];
        for k in 0..from.len() {
            let mut corner = from.to_vec();
            corner[k] += if corner[k] > 0.5 { -0.05 } else { 0.05 };
            corners.push(corner);
        }
        let solver = NelderMead::new(corners).with_sd_tolerance(1e-9).ok()?;
        let search = Search {
            problem: self,
            merit,
        };
        let run = Executor::new(search, solver)
            .configure(|s| s.max_iters(150))
            .timer(false)
            .run()
            .ok()?;
        let x = run.state.best_param?;
        let x: Vec<f64> = x.iter().map(|x| x.clamp(0.0, 1.0)).collect();
        let end = self.climb(&x, merit)?;
        (merit.of(&self.look(&end)?) < before - 1e-9).then_some(end)
    }

    /// The design at a point.
    fn design(&self, x: &[f64], size: f64) -> Result<Design, Trouble> {
        let none = || {
            Trouble::no_answer(
                "no operating point for this design",
                "other ranges of the free inputs",
            )
        };
        let here = self.sloped(x).ok_or_else(none)?;
        let off = (here.at.worst() - INSIDE).max(0.0);
        let met = off <= MET;
        let step = self.step(&here, x, 1e-4, Merit { size });
        let prices = step.map_or_else(Vec::new, |s| s.prices);
        let binds = |k: usize| prices.get(k).copied().unwrap_or(0.0) > 1e-9;
        let per_unit = |k: usize| {
            let sign = if self.goal.most { 1.0 } else { -1.0 };
            let price = prices.get(k).copied().unwrap_or(0.0);
            sign * price * size / self.wants[k].figure.scale(self.wants[k].bound)
        };
        let count = self.wants.len();
        let values = self.frees.iter().zip(x);
        Ok(Design {
            values: values.map(|(f, x)| f.low + (f.high - f.low) * x).collect(),
            goal: here.at.goal * if self.goal.most { -1.0 } else { 1.0 },
            wants: here.at.values,
            buys: (0..count)
                .map(|k| if met && binds(k) { per_unit(k) } else { 0.0 })
                .collect(),
            off: if met { 0.0 } else { off },
            against: (0..count).filter(|k| !met && binds(*k)).collect(),
        })
    }

    /// The free inputs that affect neither a requirement nor the goal at any of some random points.
    pub fn idle(&self, seed: u64) -> Vec<Input> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut point = || {
            self.frees
                .iter()
                .map(|_| random.random::<f64>())
                .collect::<Vec<f64>>()
        };
        let points: Vec<Vec<f64>> = (0..40).map(|_| point()).collect();
        let sloped: Vec<Sloped> = points.par_iter().filter_map(|x| self.sloped(x)).collect();
        let touches = |f: usize| {
            let some = |v: f64| v.abs() > 1e-12;
            sloped
                .iter()
                .any(|s| some(s.goal[f]) || s.off.iter().any(|row| some(row[f])))
        };
        let idle = self
            .frees
            .iter()
            .enumerate()
            .filter(|(f, _)| !sloped.is_empty() && !touches(*f));
        idle.map(|(_, free)| free.input).collect()
    }
}

/// The problem as a cost function.
struct Search<'a> {
    problem: &'a Problem,
    merit: Merit,
}

impl CostFunction for Search<'_> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, x: &Vec<f64>) -> Result<f64, argmin::core::Error> {
        let inside: Vec<f64> = x.iter().map(|x| x.clamp(0.0, 1.0)).collect();
        let outside: f64 = x.iter().zip(&inside).map(|(a, b)| (a - b).abs()).sum();
        let evaluated = self.problem.look(&inside);
        Ok(evaluated.map_or(f64::MAX, |l| self.merit.of(&l) + PENALTY * outside))
    }
}
