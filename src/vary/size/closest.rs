//! The best design among combinations of sizes; where not all requirements can be met, the closest one.
//!
//! The bound of a requirement that no design can meet is relaxed to what can be reached, and the search is repeated,
//! until the others are met. If that hardly helps against the best design for the others, the requirement is left out
//! instead. In a conflict the worst violation is minimised, the bounds of the requirements in conflict are relaxed by it, and so on with the
//! others: what need not be missed is met.

use super::search::{Begun, Ended, MET, Reach};
use super::{Design, Goal, INSIDE, Problem, Want};
use crate::trouble::Trouble;
use rayon::prelude::*;

/// A requirement that no design meets is left out if its violation in the best design for the others could be reduced by
/// less than this fraction: the goal should not be spent on it. An engineering assumption.
const HARDLY: f64 = 0.1;
/// The same where coming nearer costs a requirement that can be met. An engineering assumption.
const COSTLY: f64 = 0.2;
/// A combination of sizes is searched to the end if, after the local searches, its goal or its violation is within this
/// fraction of the best, or its violation is within `SLIGHT`; what kinks hide was below 4 % in trials.
const NEAR: f64 = 0.1;
const SLIGHT: f64 = 0.01;
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
    /// Whether coming nearer than the best design for the other requirements would hardly help, or cost one of them; the
    /// requirement is then left out of the search.
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
    let relax = |relaxed: &mut [Problem], k: usize, off: f64| {
        let bound = wants[k].reached(off);
        relaxed.iter_mut().for_each(|p| p.wants[k].bound = bound);
    };
    for k in (0..wants.len()).filter(|k| wants[*k].off(found.design.wants[*k]) > MET) {
        if let Some(beyond) = beyond(problems, k, seed)? {
            relax(&mut relaxed, k, 1.0 + 2.0 * wants[k].off(beyond.furthest));
            found.beyond.push(beyond);
        }
    }
    // The best design for the others.
    let mut next = match found.beyond.is_empty() {
        true => None,
        false => Some(least(&relaxed, seed)?.0),
    };
    let without = next.as_ref().map(|best| best.design.wants.clone());
    for (beyond, values) in found.beyond.iter_mut().zip(without.iter().cycle()) {
        let k = beyond.want;
        let (there, nearest) = (wants[k].off(values[k]), wants[k].off(beyond.nearest));
        let gain = (there - nearest) / there;
        beyond.hardly = gain < HARDLY;
        if beyond.hardly {
            continue;
        }
        let mut nearer = relaxed.clone();
        relax(&mut nearer, k, nearest);
        let met = next.as_ref().is_some_and(|best| best.design.off <= 0.0);
        if met && gain < COSTLY {
            let best = least(&nearer, seed)?.0;
            beyond.hardly = best.design.off > 0.0;
        }
        if !beyond.hardly {
            (relaxed, next) = (nearer, None);
        }
    }
    let mut against: Vec<usize> = found.beyond.iter().map(|b| b.want).collect();
    for round in 0.. {
        let best = match next.take() {
            Some(best) => best,
            None => least(&relaxed, seed)?.0,
        };
        found = Best {
            beyond: found.beyond,
            ..best
        };
        let design = &found.design;
        if design.off <= 0.0 || round > wants.len() {
            break;
        }
        let conflict: Vec<usize> = match design.against.is_empty() || round == wants.len() {
            true => (0..wants.len()).collect(),
            false => design.against.clone(),
        };
        for k in conflict {
            if relaxed[0].wants[k].off(design.wants[k]) > MET {
                relax(&mut relaxed, k, wants[k].off(design.wants[k]));
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

/// For each free input and each list of sizes, what a range wider by a tenth would gain: of the goal, or of the requirements that are missed.
fn wider(problem: &Problem, design: &Design, missed: Option<&Problem>) -> Vec<Option<f64>> {
    let one = |f: usize| {
        let goal = problem.gain_if_wider(design, f, false)?;
        let miss = missed.and_then(|missed| missed.gain_if_wider(design, f, true));
        Some(goal.max(miss.unwrap_or(0.0)))
    };
    (0..problem.frees.len() + problem.sizes.len())
        .map(one)
        .collect()
}

/// The best design of each problem, and of these the one with the smallest violation, then the best goal.
fn least(problems: &[Problem], seed: u64) -> Result<(Best, Ended), Trouble> {
    let begun: Result<Vec<(usize, Begun)>, Trouble> = problems
        .par_iter()
        .enumerate()
        .map(|(k, problem)| {
            problem.stop.check()?;
            Ok(problem.begun(seed).ok().map(|begun| (k, begun)))
        })
        .filter_map(Result::transpose)
        .collect();
    let found: Result<Vec<(usize, Ended)>, Trouble> = contenders(begun?)
        .into_par_iter()
        .map(|(k, begun)| {
            problems[k].stop.ask()?;
            Ok(problems[k].best(begun, seed).ok().map(|ended| (k, ended)))
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
        return Err(problems[0].begun(seed).err().unwrap_or(none));
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

/// The combinations of sizes that may still be the best.
fn contenders(all: Vec<(usize, Begun)>) -> Vec<(usize, Begun)> {
    let off = |begun: &Begun| (begun.at.worst() - INSIDE).max(0.0);
    let meets = |begun: &Begun| off(begun) <= MET;
    let least = |values: &mut dyn Iterator<Item = f64>| values.fold(f64::INFINITY, f64::min);
    let nearest = least(&mut all.iter().map(|(_, b)| off(b)));
    let meeting = all.iter().filter(|(_, b)| meets(b));
    let goal = least(&mut meeting.map(|(_, b)| b.at.goal));
    let may = |(_, begun): &(usize, Begun)| match meets(begun) {
        true => begun.at.goal <= goal + NEAR * goal.abs(),
        false => off(begun) <= (1.0 + NEAR) * nearest + SLIGHT,
    };
    all.into_iter().filter(may).collect()
}

/// What can be reached of a requirement if it is the only one; `None` if it can be met.
fn beyond(problems: &[Problem], k: usize, seed: u64) -> Result<Option<Beyond>, Trouble> {
    let want = problems[0].wants[k];
    let alone: Vec<Problem> = problems.iter().map(|p| p.only(k)).collect();
    problems[0].stop.ask()?;
    let reach = |problem: &Problem| Some((problem.clone(), problem.reach(seed).ok()?));
    let mut all: Vec<(Problem, Reach)> = alone.par_iter().filter_map(reach).collect();
    let near = |reach: &Reach| want.off(reach.near());
    all.sort_by(|a, b| near(&a.1).total_cmp(&near(&b.1)));
    let Some(nearest) = all.first().map(|(_, reach)| near(reach)) else {
        return Ok(None);
    };
    let by = |a: &f64, b: &f64| want.off(*a).total_cmp(&want.off(*b));
    let furthest = all.iter().map(|(_, reach)| reach.furthest).max_by(by);
    let may = |(_, r): &&(Problem, Reach)| near(r) <= (1.0 + NEAR) * nearest.max(0.0) + SLIGHT;
    let mut best: Option<f64> = None;
    for (problem, reach) in all.iter().filter(may) {
        problem.stop.ask()?;
        let value = match near(reach) <= MET {
            true => reach.near(),
            false => problem.nearest(reach, seed)?,
        };
        if want.off(value) <= MET {
            return Ok(None);
        }
        best = Some(best.map_or(value, |best| std::cmp::min_by(best, value, by)));
    }
    let ends = best.zip(furthest);
    Ok(ends.map(|(nearest, furthest)| Beyond {
        want: k,
        nearest,
        furthest,
        hardly: false,
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
            sizes: Vec::new(),
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
