//! The search for the best design.

use super::linear::{self, Straight};
use super::{Design, Free, INSIDE, Looked, Point, Problem, Sloped};
use crate::input::Input;
use crate::trouble::Trouble;
use argmin::core::{CostFunction, Executor};
use argmin::solver::neldermead::NelderMead;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use std::collections::VecDeque;

/// Number of random points evaluated before the local search, for each combination of sizes.
const SCATTERED: usize = 200;
/// Maximum number of points from which local searches start.
const STARTS: usize = 6;
/// Maximum number of steps of a local search.
const STEPS: usize = 60;
/// Three limits of the repeated local searches around the best point: maximum number of rounds, half-width of the box
/// of starting points, and relative gain below which the rounds end.
const POLISHES: usize = 8;
const AROUND: f64 = 0.05;
const GAIN: f64 = 1e-6;
/// Linearisations found at other points are also used in a local search: how many at most, and from which maximum
/// distance, as a multiple of the step radius.
const CUTS: usize = 8;
const NEARBY: f64 = 3.0;
/// Weight of a violation of 1, where the goal is divided by its scale.
const PENALTY: f64 = 100.0;
/// Additional starting points for a relaxed problem lie this far from the design, relative to each input's range.
const NUDGE: f64 = 3e-3;
/// A requirement whose margin is below this, relative to its scale, may be active.
const ACTIVE: f64 = 1e-5;
/// A value is at a limit of its range if it is this near to it, and such a range is widened by this, both relative to
/// the width of the range.
const AT_END: f64 = 1e-6;
const WIDER: f64 = 0.1;
/// A requirement is met if its violation is at most this.
pub(super) const MET: f64 = 1e-9;

/// The design at which a search ended.
#[derive(Clone)]
pub(super) struct Ended {
    pub design: Design,
    at: Looked,
    merit: Merit,
}

/// How far a search has come before what kinks may hide is sought.
pub(super) struct Begun {
    pub at: Looked,
    merit: Merit,
    starts: Vec<Looked>,
}

/// How near a single requirement comes to its bound.
pub(super) struct Reach {
    /// Points to search on from, that found so far first.
    starts: Vec<Looked>,
    /// The value furthest from the bound among random points, SI.
    pub furthest: f64,
}

impl Reach {
    /// The value nearest to the bound found so far, SI.
    pub fn near(&self) -> f64 {
        self.starts[0].values[0]
    }
}

/// The objective of a local search: the goal divided by its scale, plus the penalty on the worst violation.
#[derive(Clone, Copy)]
struct Merit {
    /// Scale of the goal; infinite if the goal does not count.
    size: f64,
}

impl Merit {
    fn of(self, looked: &Looked) -> f64 {
        looked.goal / self.size + PENALTY * looked.worst()
    }
}

impl Problem {
    /// Runs a local search from a point; returns its end point.
    fn climb(&self, from: &Looked, merit: Merit) -> Option<Looked> {
        let mut radius = 0.2_f64;
        let mut here = self.slopes(from.clone());
        let mut others: VecDeque<Sloped> = VecDeque::new();
        for _ in 0..STEPS {
            if radius < 1e-9 {
                break;
            }
            let near = |o: &&Sloped| apart(&o.at.x, &here.at.x) < NEARBY * radius;
            let cuts: Vec<&Sloped> = others.iter().filter(near).collect();
            let now = merit.of(&here.at);
            let worth = |step: &linear::Step| now - (here.at.goal / merit.size + step.value);
            let poor = |step: &linear::Step| worth(step) < 1e-11 * now.abs().max(1.0);
            let mut step = self.step(&here, &cuts, radius, merit)?;
            if poor(&step) {
                step = self.step(&here, &[], radius, merit)?;
            }
            if poor(&step) {
                break;
            }
            let x = here.at.x.iter().zip(&step.d);
            let next: Vec<f64> = x.map(|(x, d)| (x + d).clamp(0.0, 1.0)).collect();
            let next = self.look(&next, Some(&here.at.solved));
            let kept = next
                .as_ref()
                .map_or(0.0, |l| (now - merit.of(l)) / worth(&step));
            let widest = step.d.iter().fold(0.0_f64, |a, d| a.max(d.abs()));
            let mut other = next.map(|next| self.slopes(next));
            if kept > 0.05 {
                other = other.map(|next| std::mem::replace(&mut here, next));
                if kept > 0.7 && widest > 0.8 * radius {
                    radius = (2.0 * radius).min(0.5);
                }
            } else {
                radius = 0.3 * radius.min(widest.max(1e-9));
            }
            others.extend(other);
            if others.len() > CUTS {
                others.pop_front();
            }
        }
        Some(here.at)
    }

    /// The best step within a box around a point. Beyond a kink other linearisations apply; those found at other points
    /// are added as further constraints, each shifted if necessary so that at the point itself it is not more violated
    /// than the requirement.
    fn step(
        &self,
        here: &Sloped,
        others: &[&Sloped],
        radius: f64,
        merit: Merit,
    ) -> Option<linear::Step> {
        let x = &here.at.x;
        let low: Vec<f64> = x.iter().map(|x| (-radius).max(-x)).collect();
        let high: Vec<f64> = x.iter().map(|x| radius.min(1.0 - x)).collect();
        let cost: Vec<f64> = here.goal.iter().map(|g| g / merit.size).collect();
        let (mut slopes, mut off) = (here.off.clone(), here.at.off.clone());
        for other in others {
            for (k, row) in other.off.iter().enumerate() {
                let away = x.iter().zip(&other.at.x).zip(row);
                let moved: f64 = away.map(|((x, from), slope)| slope * (x - from)).sum();
                off.push((other.at.off[k] + moved).min(here.at.off[k]));
                slopes.push(row.clone());
            }
        }
        let straight = Straight {
            cost: &cost,
            slopes: &slopes,
            off: &off,
            low: &low,
            high: &high,
            penalty: PENALTY,
        };
        straight.solve()
    }

    /// Random points, the middle of the ranges, and the present machine, each evaluated.
    fn scattered(&self, seed: u64) -> Result<Vec<Looked>, Trouble> {
        let width = self.frees.len();
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut points = vec![vec![0.5; width]];
        let own = |free: &Free| {
            let value = self.conditions[0].case.get(free.input).unwrap_or(free.low);
            ((value - free.low) / (free.high - free.low)).clamp(0.0, 1.0)
        };
        points.push(self.frees.iter().map(own).collect());
        points.extend((0..SCATTERED).map(|_| (0..width).map(|_| random.random::<f64>()).collect()));
        let middle = self.look(&points[0], None).map(|l| l.solved);
        let looked: Vec<Looked> = points
            .par_iter()
            .filter_map(|x| self.look(x, middle.as_deref()))
            .collect();
        if looked.is_empty() {
            return Err(Trouble::no_answer(
                "no operating point anywhere in these ranges",
                "ranges in which the machine can run",
            ));
        }
        Ok(looked)
    }

    /// Starting points of the local search, chosen from evaluated ones by merit and distance; and the scale of the goal.
    fn starts(&self, looked: Vec<Looked>) -> (Vec<Looked>, f64) {
        let mut sizes: Vec<f64> = looked.iter().map(|l| l.goal.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let size = sizes
            .get(sizes.len() / 2)
            .copied()
            .filter(|s| *s > 0.0)
            .unwrap_or(1.0);
        let merit = |l: &Looked| Merit { size }.of(l);
        let mut ranked = looked;
        ranked.sort_by(|a, b| merit(a).total_cmp(&merit(b)));
        let mut kept: Vec<Looked> = Vec::new();
        for spot in ranked {
            let near = |k: &Looked| k.x.iter().zip(&spot.x).all(|(a, b)| (a - b).abs() < 0.1);
            if kept.len() < STARTS && !kept.iter().any(near) {
                kept.push(spot);
            }
        }
        (kept, size)
    }

    /// The result of the local searches alone, without what kinks may hide.
    pub(super) fn begun(&self, seed: u64) -> Result<Begun, Trouble> {
        if self.frees.is_empty() {
            let none = || {
                Trouble::no_answer(
                    "no operating point at this design",
                    "other ranges of the free inputs",
                )
            };
            return Ok(Begun {
                at: self.look(&[], None).ok_or_else(none)?,
                merit: Merit { size: 1.0 },
                starts: Vec::new(),
            });
        }
        let (starts, size) = self.starts(self.scattered(seed)?);
        let merit = Merit { size };
        let at = self.climbed(&starts, merit)?;
        Ok(Begun { at, merit, starts })
    }

    /// The best design; what relaxing its requirements buys to first order only.
    pub(super) fn best(&self, begun: Begun, seed: u64) -> Result<Ended, Trouble> {
        let Begun { at, merit, starts } = begun;
        if self.frees.is_empty() {
            return Ok(self.ended(at, merit));
        }
        let best = self.searched(&at, merit).unwrap_or(at);
        let best = self.polished(best, merit, seed)?;
        let found = self.ended(best.clone(), merit);
        if found.design.off <= MET {
            return Ok(found);
        }
        // To find the conflicting requirements, the goal is left out.
        let closest = self.closest(&[vec![best], starts].concat(), seed)?;
        let merit = Merit {
            size: f64::INFINITY,
        };
        Ok(self.ended(closest, merit))
    }

    fn ended(&self, at: Looked, merit: Merit) -> Ended {
        Ended {
            design: self.design(at.clone(), merit.size),
            at,
            merit,
        }
    }

    /// The point at which the worst requirement is violated least, whatever the goal.
    fn closest(&self, starts: &[Looked], seed: u64) -> Result<Looked, Trouble> {
        let merit = Merit {
            size: f64::INFINITY,
        };
        self.polished(self.climbed(starts, merit)?, merit, seed)
    }

    /// How near the only requirement of this problem comes to its bound, found roughly, and its value furthest from it
    /// among random points.
    pub(super) fn reach(&self, seed: u64) -> Result<Reach, Trouble> {
        if self.frees.is_empty() {
            let at = self.begun(seed)?.at;
            let furthest = at.values[0];
            let starts = vec![at];
            return Ok(Reach { starts, furthest });
        }
        let looked = self.scattered(seed)?;
        let worse = |a: &&Looked, b: &&Looked| a.off[0].total_cmp(&b.off[0]);
        let furthest = looked
            .iter()
            .max_by(worse)
            .map_or(f64::NAN, |l| l.values[0]);
        let merit = Merit {
            size: f64::INFINITY,
        };
        let mut starts = self.starts(looked).0;
        let near = self.climbed(&starts[..1], merit)?;
        starts.insert(0, near);
        Ok(Reach { starts, furthest })
    }

    /// The value of the only requirement of this problem that is nearest to its bound.
    pub(super) fn nearest(&self, reach: &Reach, seed: u64) -> Result<f64, Trouble> {
        if self.frees.is_empty() {
            return Ok(reach.starts[0].values[0]);
        }
        Ok(self.closest(&reach.starts, seed)?.values[0])
    }

    /// The design with the benefit of relaxing each active requirement, found by designing anew with that requirement
    /// relaxed. If another limit takes over at the design itself, one-sided derivatives are not sufficient.
    pub(super) fn priced(&self, ended: &Ended) -> Design {
        let (mut design, best, merit) = (ended.design.clone(), &ended.at, ended.merit);
        let sign = if self.goal.most { -1.0 } else { 1.0 };
        let nudged = |by: f64| best.x.iter().map(|x| (x + by).clamp(0.0, 1.0)).collect();
        let starts: [Vec<f64>; 3] = [best.x.clone(), nudged(NUDGE), nudged(-NUDGE)];
        let count = if self.frees.is_empty() {
            0
        } else {
            self.wants.len()
        };
        for k in 0..count {
            // At a kink the slopes at the design itself may be those of a branch that this requirement does not limit.
            if best.off[k] < -ACTIVE && design.buys[k].abs() <= 0.0 {
                continue;
            }
            let mut relaxed = self.clone();
            let want = &mut relaxed.wants[k];
            let by = want.figure.relaxed(want.bound);
            want.bound += if want.least { -by } else { by };
            let look = |x: &Vec<f64>| relaxed.look(x, Some(&best.solved));
            let starts: Vec<Looked> = starts.iter().filter_map(look).collect();
            let end = relaxed.climbed(&starts, merit).ok();
            if let Some(looked) = end.filter(|l| l.worst() <= INSIDE) {
                let gain = best.goal - looked.goal;
                let real = gain > GAIN * merit.size;
                design.buys[k] = if real { -sign * gain / by } else { 0.0 };
            }
        }
        design
    }

    /// The best end point of the local searches from several points.
    fn climbed(&self, starts: &[Looked], merit: Merit) -> Result<Looked, Trouble> {
        self.stop.ask()?;
        let ends: Vec<Looked> = starts
            .par_iter()
            .filter_map(|from| self.climb(from, merit))
            .collect();
        let best = ends
            .into_iter()
            .min_by(|a, b| merit.of(a).total_cmp(&merit.of(b)));
        best.ok_or_else(|| {
            Trouble::no_answer(
                "the search found no design",
                "other ranges of the free inputs",
            )
        })
    }

    /// The best end point of local searches from a point and from others around it, repeated as long as the objective
    /// improves: at a kink, a single search may shrink its steps too early.
    fn polished(&self, mut best: Looked, merit: Merit, seed: u64) -> Result<Looked, Trouble> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        for _ in 0..POLISHES {
            let mut around = || {
                let x = best.x.iter();
                let moved = x.map(|x| x + AROUND * (2.0 * random.random::<f64>() - 1.0));
                moved.map(|x| x.clamp(0.0, 1.0)).collect::<Vec<f64>>()
            };
            let points: Vec<Vec<f64>> = (1..STARTS).map(|_| around()).collect();
            let look = |x: &Vec<f64>| self.look(x, Some(&best.solved));
            let mut starts: Vec<Looked> = points.par_iter().filter_map(look).collect();
            starts.push(best.clone());
            let found = self.climbed(&starts, merit)?;
            let gain = merit.of(&best) - merit.of(&found);
            if gain > 0.0 {
                best = found;
            }
            if gain < GAIN * merit.of(&best).abs() {
                break;
            }
        }
        Ok(best)
    }

    /// The result of a Nelder-Mead search from a point, followed by a local search; `None` if the result is not better.
    fn searched(&self, from: &Looked, merit: Merit) -> Option<Looked> {
        let mut corners = vec![from.x.clone()];
        for k in 0..from.x.len() {
            let mut corner = from.x.clone();
            corner[k] += if corner[k] > 0.5 { -0.05 } else { 0.05 };
            corners.push(corner);
        }
        let solver = NelderMead::new(corners).with_sd_tolerance(1e-9).ok()?;
        let search = Search {
            problem: self,
            merit,
            near: &from.solved,
        };
        let run = Executor::new(search, solver)
            .configure(|s| s.max_iters(150))
            .timer(false)
            .run()
            .ok()?;
        let x = run.state.best_param?;
        let x: Vec<f64> = x.iter().map(|x| x.clamp(0.0, 1.0)).collect();
        let end = self.climb(&self.look(&x, Some(&from.solved))?, merit)?;
        (merit.of(&end) < merit.of(from) - 1e-9).then_some(end)
    }

    /// The design at a point, with first-order shadow prices.
    fn design(&self, at: Looked, size: f64) -> Design {
        let here = self.slopes(at);
        let off = (here.at.worst() - INSIDE).max(0.0);
        let met = off <= MET;
        let step = self.step(&here, &[], 1e-4, Merit { size });
        let prices = step.map_or_else(Vec::new, |s| s.prices);
        let binds = |k: usize| prices.get(k).copied().unwrap_or(0.0) > 1e-9;
        let per_unit = |k: usize| {
            let sign = if self.goal.most { 1.0 } else { -1.0 };
            let price = prices.get(k).copied().unwrap_or(0.0);
            sign * price * size / self.wants[k].figure.scale(self.wants[k].bound)
        };
        let count = self.wants.len();
        let values = self.frees.iter().zip(&here.at.x);
        Design {
            values: values.map(|(f, x)| f.value(*x)).collect(),
            goal: here.at.goal * if self.goal.most { -1.0 } else { 1.0 },
            wants: here.at.values,
            buys: (0..count)
                .map(|k| if met && binds(k) { per_unit(k) } else { 0.0 })
                .collect(),
            off: if met { 0.0 } else { off },
            against: (0..count).filter(|k| !met && binds(*k)).collect(),
            wider: vec![None; self.frees.len() + self.sizes.len()],
        }
    }

    /// By what fraction the goal of a design gets better, or if `of_miss` its worst violation smaller, in a range of a
    /// free input, or beyond the end of a list of sizes, wider by a tenth; `None` if its value is not at a limit.
    pub(super) fn gain_if_wider(&self, design: &Design, f: usize, of_miss: bool) -> Option<f64> {
        let (mut wider, mut values) = (self.clone(), design.values.clone());
        if let Some(size) = f.checked_sub(self.frees.len()) {
            let size = self.sizes.get(size)?.clone();
            values.push(self.conditions.first()?.case.get(size.input)?);
            wider.frees.push(size);
        }
        let f = f.min(self.frees.len());
        let free = &mut wider.frees[f];
        let (value, width, field) = (values[f], free.high - free.low, free.input.field());
        let listed = f == self.frees.len();
        if width > 0.0 && value - free.low <= AT_END * width {
            free.high = if listed { value } else { free.high };
            free.low = (free.low - WIDER * width).max(field.low);
        } else if width > 0.0 && free.high - value <= AT_END * width {
            free.low = if listed { value } else { free.low };
            free.high = (free.high + WIDER * width).min(field.high);
        } else {
            return None;
        }
        if free.high <= free.low {
            return None;
        }
        let inside = |free: &Free, value: f64| (value - free.low) / (free.high - free.low);
        let x = wider.frees.iter().zip(&values);
        let x: Vec<f64> = x
            .map(|(free, v)| inside(free, *v).clamp(0.0, 1.0))
            .collect();
        let nudged = |by: f64| {
            let mut x = x.clone();
            x[f] = (x[f] + by).clamp(0.0, 1.0);
            x
        };
        let starts = [0.0, NUDGE, -NUDGE, AROUND, -AROUND].map(nudged);
        let starts: Vec<Looked> = starts.iter().filter_map(|x| wider.look(x, None)).collect();
        let here = starts.first()?;
        let (before, size) = match of_miss {
            true => (here.worst(), f64::INFINITY),
            false => (here.goal, here.goal.abs()),
        };
        let end = wider.climbed(&starts, Merit { size }).ok()?;
        let after = if of_miss { end.worst() } else { end.goal };
        let met = of_miss || end.worst() <= here.worst() + INSIDE;
        Some(if met {
            (before - after) / before.abs()
        } else {
            0.0
        })
    }

    /// The free inputs that, at all of some random points, affect neither the goal nor any requirement; and whether none
    /// of them affects the goal. Points where a derivative could not be computed say nothing.
    pub fn idle(&self, seed: u64) -> (Vec<Input>, bool) {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut point = || {
            self.frees
                .iter()
                .map(|_| random.random::<f64>())
                .collect::<Vec<f64>>()
        };
        let points: Vec<Vec<f64>> = (0..40).map(|_| point()).collect();
        let sloped: Vec<Sloped> = points
            .par_iter()
            .filter_map(|x| Some(self.slopes(self.look(x, None)?)))
            .collect();
        let whole: Vec<&Sloped> = sloped.iter().filter(|s| s.whole).collect();
        let some = |v: f64| v.abs() > 1e-12;
        let goal = |f: usize| whole.iter().any(|s| some(s.goal[f]));
        let want = |f: usize| whole.iter().any(|s| s.off.iter().any(|row| some(row[f])));
        let count = self.frees.len();
        let known = !whole.is_empty();
        let idle = (0..count).filter(|f| known && !goal(*f) && !want(*f));
        (
            idle.map(|f| self.frees[f].input).collect(),
            known && !(0..count).any(goal),
        )
    }
}

/// The maximum distance between two points along any input.
fn apart(a: &[f64], b: &[f64]) -> f64 {
    let each = a.iter().zip(b).map(|(a, b)| (a - b).abs());
    each.fold(0.0, f64::max)
}

/// The problem as a cost function for the Nelder-Mead search.
struct Search<'a> {
    problem: &'a Problem,
    merit: Merit,
    near: &'a Point,
}

impl CostFunction for Search<'_> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, x: &Vec<f64>) -> Result<f64, argmin::core::Error> {
        let inside: Vec<f64> = x.iter().map(|x| x.clamp(0.0, 1.0)).collect();
        let outside: f64 = x.iter().zip(&inside).map(|(a, b)| (a - b).abs()).sum();
        let looked = self.problem.look(&inside, Some(self.near));
        Ok(looked.map_or(f64::MAX, |l| self.merit.of(&l) + PENALTY * outside))
    }
}
