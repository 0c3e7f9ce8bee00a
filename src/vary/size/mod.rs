//! From requirements to parts: finds the inputs of a machine that meet requirements in several conditions and minimise
//! a goal.
//!
//! Every requirement is `value ≥ bound` or `value ≤ bound`; its violation is divided by its scale, usually the bound.
//! Local searches start from many points within the ranges of the free inputs: goal and requirements are linearised
//! with exact derivatives and the best step within a box is taken, which shrinks if the linearisation was too
//! optimistic. A Nelder-Mead search then starts from the best point, to find improvements hidden by kinks.
//!
//! **Source** Sequential linear programming with a trust box and the exact penalty: R. Fletcher 1987, *Practical
//! Methods of Optimization*, section 12.4, from memory. The method finds a local optimum; a better one elsewhere cannot
//! be excluded.

mod closest;
mod condition;
mod figure;
mod linear;
mod search;

pub use closest::{Best, Beyond, best};
pub use condition::{Condition, Heat, Solved, Stand};
pub use figure::{Figure, Way};

use crate::input::Input;
use crate::trouble::Stop;

/// A requirement on one figure in one condition.
#[derive(Clone, Copy, Debug)]
pub struct Want {
    /// The figure that is limited.
    pub figure: Figure,
    /// Whether the bound is a minimum; otherwise a maximum.
    pub least: bool,
    /// The bound, SI.
    pub bound: f64,
    /// The index of the condition in which it applies.
    pub at: usize,
}

impl Want {
    /// Violation of the requirement relative to its scale; negative if there is a margin.
    pub fn off(&self, value: f64) -> f64 {
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

/// An input that follows another one by a power law, as in geometrically similar units of different size.
#[derive(Clone, Copy, Debug)]
pub struct Follow {
    /// The input that follows.
    pub input: Input,
    /// Its value, SI, where the other input has the value `from`.
    pub value: f64,
    /// The value of the other input, SI, at which `value` holds.
    pub from: f64,
    /// The exponent.
    pub power: f64,
}

impl Follow {
    /// The factor by which the input changes if the other one has a given value.
    pub fn ratio(&self, other: f64) -> f64 {
        (other / self.from).powf(self.power)
    }

    /// The value, SI, within the range of the input.
    pub fn at(&self, other: f64) -> f64 {
        let field = self.input.field();
        (self.value * self.ratio(other)).clamp(field.low, field.high)
    }

    /// The derivative with respect to the other input.
    fn slope(&self, other: f64) -> f64 {
        self.power * self.value * self.ratio(other) / other
    }
}

/// An input that is free within a range.
#[derive(Clone, Debug)]
pub struct Free {
    /// The input.
    pub input: Input,
    /// Minimum of the free input, SI.
    pub low: f64,
    /// Maximum of the free input, SI.
    pub high: f64,
    /// The inputs that follow it.
    pub follows: Vec<Follow>,
}

impl Free {
    /// The value, SI, at a place within the range, 0 to 1.
    fn value(&self, x: f64) -> f64 {
        self.low + (self.high - self.low) * x
    }

    /// The inputs to set, each with its value, SI, at a place within the range.
    fn sets(&self, x: f64) -> impl Iterator<Item = (Input, f64)> {
        let value = self.value(x);
        let follows = self.follows.iter();
        std::iter::once((self.input, value)).chain(follows.map(move |f| (f.input, f.at(value))))
    }
}

/// The goal: the weighted mean of a figure over some conditions, to be minimised or maximised.
#[derive(Clone, Debug)]
pub struct Goal {
    /// The figure to be minimised or maximised.
    pub figure: Figure,
    /// Whether the goal is maximised; otherwise minimised.
    pub most: bool,
    /// The conditions, each with its weight.
    pub at: Vec<(usize, f64)>,
}

impl Goal {
    /// The weight of a condition; the weights of all conditions add up to 1.
    fn weight(&self, k: usize) -> f64 {
        let sum = |own: &dyn Fn(usize) -> bool| -> f64 {
            let at = self.at.iter().filter(|at| own(at.0));
            at.map(|at| at.1).sum()
        };
        sum(&|at| at == k) / sum(&|_| true)
    }
}

/// The design problem.
#[derive(Clone, Debug)]
pub struct Problem {
    /// The machine in each condition.
    pub conditions: Vec<Condition>,
    /// The requirements.
    pub wants: Vec<Want>,
    /// The free inputs.
    pub frees: Vec<Free>,
    /// The inputs that are chosen from lists of sizes, with the smallest and the largest of each; their values are those
    /// of the machine in its conditions.
    pub sizes: Vec<Free>,
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
    /// Value of the goal for this design, SI.
    pub goal: f64,
    /// The value of the figure in each requirement, SI.
    pub wants: Vec<f64>,
    /// Change of the goal per SI unit by which the bound of each requirement is relaxed, from designing anew with a
    /// slightly relaxed bound; 0 if the bound is not active.
    pub buys: Vec<f64>,
    /// Violation of the worst requirement, relative to its scale; 0 if all are met.
    pub off: f64,
    /// The indices of the requirements in conflict, if they cannot all be met: those that limit how near the worst one
    /// comes to its bound.
    pub against: Vec<usize>,
    /// For each free input, and then for each that is chosen from a list of sizes, whose value is at a limit of its range:
    /// by what fraction the goal would be better, or the worst violation smaller, in a range wider by a tenth at that
    /// limit.
    pub wider: Vec<Option<f64>>,
}

/// Safety margin on each requirement, relative to its scale, so that rounding does not violate any.
const INSIDE: f64 = 1e-7;

/// A point of the unit box (every free input scaled to its range) at which goal and requirements were evaluated.
#[derive(Clone)]
struct Looked {
    x: Vec<f64>,
    goal: f64,
    values: Vec<f64>,
    off: Vec<f64>,
    solved: Vec<Solved>,
}

/// An evaluated point with the derivatives with respect to each free input, scaled by the input's range.
struct Sloped {
    at: Looked,
    /// Whether the derivatives could be computed in every condition; they are zero where they could not.
    whole: bool,
    goal: Vec<f64>,
    off: Vec<Vec<f64>>,
}

/// The solutions of all conditions at one point.
type Point = [Solved];

impl Problem {
    /// Condition `k` with the free inputs at a point of the unit box.
    fn condition(&self, k: usize, x: &[f64]) -> Condition {
        let sets = self.frees.iter().zip(x).flat_map(|(f, x)| f.sets(*x));
        self.conditions[k].with(sets)
    }

    /// Solves every condition, starting from nearby solutions; `None` if one has no solution or its inputs contradict
    /// each other.
    fn solved(&self, x: &[f64], near: Option<&Point>) -> Option<Vec<Solved>> {
        let of = |k: usize, figure: Figure| {
            let goal = self.goal.weight(k) > 0.0 && self.goal.figure == figure;
            goal || self.wants.iter().any(|w| w.at == k && w.figure == figure)
        };
        let one = |k: usize| {
            let limiting = of(k, Figure::Limiting);
            self.condition(k, x).solve(limiting, near.map(|n| &n[k]))
        };
        (0..self.conditions.len()).map(one).collect()
    }

    /// Weight of the goal in a condition, negative if the goal is maximised.
    fn weight(&self, k: usize) -> f64 {
        let sign = if self.goal.most { -1.0 } else { 1.0 };
        sign * self.goal.weight(k)
    }

    fn looked(&self, x: &[f64], solved: Vec<Solved>) -> Looked {
        let value = |want: &Want| want.figure.read(&solved[want.at].stand);
        let values: Vec<f64> = self.wants.iter().map(value).collect();
        let off = self
            .wants
            .iter()
            .zip(&values)
            .map(|(w, v)| w.off(*v) + INSIDE);
        let part = |(k, solved): (usize, &Solved)| match self.weight(k) {
            0.0 => 0.0,
            weight => weight * self.goal.figure.read(&solved.stand),
        };
        let goal = solved.iter().enumerate().map(part).sum();
        Looked {
            x: x.to_vec(),
            goal,
            off: off.collect(),
            values,
            solved,
        }
    }

    fn look(&self, x: &[f64], near: Option<&Point>) -> Option<Looked> {
        let looked = self.looked(x, self.solved(x, near)?);
        let whole = looked.goal.is_finite() && looked.off.iter().all(|o| o.is_finite());
        whole.then_some(looked)
    }

    /// Exact derivatives at an evaluated point.
    fn slopes(&self, at: Looked) -> Sloped {
        let mut goal = vec![0.0; self.frees.len()];
        let mut off = vec![vec![0.0; self.frees.len()]; self.wants.len()];
        let figures: Vec<Figure> = std::iter::once(self.goal.figure)
            .chain(self.wants.iter().map(|want| want.figure))
            .collect();
        let free = |input| {
            let own =
                |free: &Free| free.input == input || free.follows.iter().any(|f| f.input == input);
            self.frees.iter().any(own)
        };
        let mut whole = true;
        for (k, solved) in at.solved.iter().enumerate() {
            let condition = self.condition(k, &at.x);
            let Some(slopes) = condition.slopes(solved, &figures, free) else {
                whole = false;
                continue;
            };
            for (f, free) in self.frees.iter().enumerate() {
                let along = |input: Input, figure: usize| {
                    let along = slopes.along(input).unwrap_or_default();
                    along.get(figure).copied().unwrap_or(0.0)
                };
                let value = free.value(at.x[f]);
                let slope = |figure: usize| {
                    let follows = free.follows.iter();
                    let others = follows.map(|f| f.slope(value) * along(f.input, figure));
                    let slope = along(free.input, figure) + others.sum::<f64>();
                    let slope = slope * (free.high - free.low);
                    if slope.is_finite() { slope } else { 0.0 }
                };
                for (w, (want, row)) in self.wants.iter().zip(&mut off).enumerate() {
                    if want.at == k {
                        let sign = if want.least { -1.0 } else { 1.0 };
                        row[f] = sign * slope(w + 1) / want.figure.scale(want.bound);
                    }
                }
                goal[f] += self.weight(k) * slope(0);
            }
        }
        Sloped {
            at,
            whole,
            goal,
            off,
        }
    }
}

impl Looked {
    /// Violation of the worst requirement.
    fn worst(&self) -> f64 {
        self.off.iter().fold(0.0, |a, b| a.max(*b))
    }
}
