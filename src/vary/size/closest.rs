//! The best design among combinations of sizes; where not all requirements can be met, the closest one.
//!
//! The bound of a requirement that no design can meet is relaxed to what can be reached, and the search is repeated,
//! until the others are met. A requirement that the free inputs hardly change is left out instead. In a conflict the
//! worst violation is minimised, the bounds of the requirements in conflict are relaxed by it, and so on with the
//! others: what need not be missed is met.

use super::search::{Ended, MET};
use super::{Design, Goal, INSIDE, Problem, Want};
use crate::trouble::Trouble;
use rayon::prelude::*;

/// A requirement is left out if the free inputs change its value by less than this fraction of its smallest violation:
/// the other requirements and the goal should not depend on a change that does not help. An engineering assumption.
const HARDLY: f64 = 0.25;
/// A relaxed bound is this much beyond what can be reached, relative to the violation there, so that a design exists.
const ROOM: f64 = 1e-4;

/// Other sizes are nearly as good if their goal is worse by at most this fraction.
const NEARLY: f64 = 0.01;

/// The best design.
#[derive(Clone, Debug)]
pub struct Best {
    /// The index of the problem that it solves.
    pub choice: usize,
    /// The design. If not all requirements are met, its `against` are all that could not be.
    pub design: Design,
    /// The requirements that no design meets, even by itself.
    pub beyond: Vec<Beyond>,
    /// The designs of other problems that meet all requirements with a goal that is nearly as good, best first.
    pub others: Vec<(usize, Design)>,
}

/// A requirement that no design in these ranges meets, even if it is the only one.
#[derive(Clone, Copy, Debug)]
pub struct Beyond {
    /// The index of the requirement.
    pub want: usize,
    /// The value nearest to the bound, SI.
    pub nearest: f64,
    /// The value furthest from it among random designs, SI.
    pub furthest: f64,
    /// Whether the free inputs hardly change the value; the requirement is then left out of the search.
    pub hardly: bool,
}

/// The best design of several problems with the same requirements, free inputs and goal, which differ in the sizes of
/// parts.
pub fn best(problems: &[Problem], seed: u64) -> Result<Best, Trouble> {
    let (mut found, ended) = least(problems, seed)?;
    if found.design.off <= 0.0 {
        found.design = problems[found.choice].priced(&ended);
        found.design.wider = wider(&problems[found.choice], &found.design, None);
        return Ok(found);
    }
    let wants = &problems[0].wants;
    let mut relaxed = problems.to_vec();
    for k in (0..wants.len()).filter(|k| wants[*k].off(found.design.wants[*k]) > MET) {
        if let Some(beyond) = beyond(problems, k, seed)? {
            let bound = match beyond.hardly {
                true => wants[k].reached(1.0 + 2.0 * wants[k].off(beyond.furthest)),
                false => wants[k].reached(wants[k].off(beyond.nearest)),
            };
            relaxed.iter_mut().for_each(|p| p.wants[k].bound = bound);
            found.beyond.push(beyond);
        }
    }
    let mut against: Vec<usize> = found.beyond.iter().map(|b| b.want).collect();
    for round in 0.. {
        found = Best {
            beyond: found.beyond,
            ..least(&relaxed, seed)?.0
        };
        let design = &found.design;
        if design.off <= 0.0 || round > wants.len() {
            break;
        }
        let relax: Vec<usize> = match design.against.is_empty() || round == wants.len() {
            true => (0..wants.len()).collect(),
            false => design.against.clone(),
        };
        for k in relax {
            let off = wants[k].off(design.wants[k]);
            if relaxed[0].wants[k].off(design.wants[k]) > MET {
                let bound = wants[k].reached(off);
                relaxed.iter_mut().for_each(|p| p.wants[k].bound = bound);
                against.push(k);
            }
        }
    }
    against.sort_unstable();
    against.dedup();
    let missed = problems[found.choice].those(&against, &found.beyond);
    found.design.wider = wider(&relaxed[found.choice], &found.design, missed.as_ref());
    let off = |(want, value): (&Want, &f64)| want.off(*value);
    let all = wants.iter().zip(&found.design.wants).map(off);
    found.design.off = all.fold(0.0, f64::max);
    found.design.against = against;
    Ok(found)
}

/// For each free input, what a range wider by a tenth would gain: of the goal, or of the requirements that are missed.
fn wider(problem: &Problem, design: &Design, missed: Option<&Problem>) -> Vec<Option<f64>> {
    let one = |f: usize| {
        let goal = problem.gain_if_wider(design, f, false)?;
        let miss = missed.and_then(|missed| missed.gain_if_wider(design, f, true));
        Some(goal.max(miss.unwrap_or(0.0)))
    };
    (0..problem.frees.len()).map(one).collect()
}

/// The best design of each problem, and of these the one with the smallest violation, then the best goal.
fn least(problems: &[Problem], seed: u64) -> Result<(Best, Ended), Trouble> {
    let found: Result<Vec<(usize, Ended)>, Trouble> = problems
        .par_iter()
        .enumerate()
        .map(|(k, problem)| {
            problem.stop.check()?;
            Ok(problem.best(seed).ok().map(|ended| (k, ended)))
        })
        .filter_map(Result::transpose)
        .collect();
    let sign = if problems[0].goal.most { -1.0 } else { 1.0 };
    let rank = |ended: &Ended| (ended.design.off, sign * ended.design.goal);
    let mut found = found?;
    found.sort_by(|a, b| {
        let (a, b) = (rank(&a.1), rank(&b.1));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    if found.is_empty() {
        // The error is the same for each combination: the first one reports it.
        let none = Trouble::no_answer(
            "no design has an operating point",
            "other ranges of the free inputs",
        );
        return Err(problems[0].best(seed).err().unwrap_or(none));
    }
    let (choice, ended) = found.remove(0);
    let goal = ended.design.goal;
    let near = |other: &Design| sign * (other.goal - goal) <= NEARLY * goal.abs();
    let others = found.into_iter().map(|(k, other)| (k, other.design));
    let others = others.filter(|(_, other)| other.off <= 0.0 && near(other));
    let best = Best {
        choice,
        design: ended.design.clone(),
        beyond: Vec::new(),
        others: others.collect(),
    };
    Ok((best, ended))
}

/// What can be reached of a requirement if it is the only one; `None` if it can be met.
fn beyond(problems: &[Problem], k: usize, seed: u64) -> Result<Option<Beyond>, Trouble> {
    let want = problems[0].wants[k];
    let mut ends: Option<(f64, f64)> = None;
    for problem in problems {
        problem.stop.ask()?;
        let Ok((near, far)) = problem.only(k).reach(seed) else {
            continue;
        };
        if want.off(near) <= MET {
            return Ok(None);
        }
        let by = |a: &f64, b: &f64| want.off(*a).total_cmp(&want.off(*b));
        let (nearest, furthest) = ends.unwrap_or((near, far));
        ends = Some((
            std::cmp::min_by(nearest, near, by),
            std::cmp::max_by(furthest, far, by),
        ));
    }
    Ok(ends.map(|(nearest, furthest)| Beyond {
        want: k,
        nearest,
        furthest,
        hardly: want.off(furthest) - want.off(nearest) < HARDLY * want.off(nearest),
    }))
}

impl Problem {
    /// The problem with only the requirements that are missed and that the free inputs change; `None` if there are none.
    fn those(&self, against: &[usize], beyond: &[Beyond]) -> Option<Problem> {
        let hardly = |k: &usize| beyond.iter().any(|b| b.want == *k && b.hardly);
        let wants = against
            .iter()
            .filter(|k| !hardly(k))
            .map(|k| self.wants[*k]);
        let wants: Vec<Want> = wants.collect();
        (!wants.is_empty()).then(|| Problem {
            wants,
            ..self.clone()
        })
    }

    /// The problem with a single requirement, and without a goal.
    fn only(&self, k: usize) -> Problem {
        let want = Want {
            at: 0,
            ..self.wants[k]
        };
        Problem {
            conditions: vec![self.conditions[self.wants[k].at]],
            wants: vec![want],
            frees: self.frees.clone(),
            goal: Goal {
                figure: want.figure,
                most: false,
                at: vec![(0, 1.0)],
            },
            stop: self.stop.clone(),
        }
    }
}

impl Want {
    /// The bound relaxed so that a given violation just meets it.
    fn reached(&self, off: f64) -> f64 {
        let by = (off * (1.0 + ROOM) + 2.0 * INSIDE) * self.figure.scale(self.bound);
        self.bound + if self.least { -by } else { by }
    }
}
