//! The smallest set of electric fans that meets the requirements, the fraction of sampled machines in which it does,
//! and the limits that rule out sufficient sets.

use super::sides::{Compared, Main, as_it_is, moved_along};
use super::wants::{Wanted, What};
use super::{Auxfan, Set, Tried, mounted};
use crate::balance::warm_past_boiling;
use crate::input::Input;
use crate::model::Case;
use crate::outcome;
use crate::quantity::Kind;
use crate::trouble::Trouble;
use crate::vary::sample;
use rayon::prelude::*;

/// Number of machines sampled to find how often the requirements are met.
const MACHINES: usize = 200;

/// The seed of the sampling.
const SEED: u64 = 20_261_129;

/// Number of sets beyond the smallest sufficient one for which the fraction of sampled machines is also computed.
const MORE: usize = 3;

outcome! {
    /// A requirement, and how well it is met.
    pub struct WantMet {
        /// The requirement as entered by the user.
        want: String,
        /// Unit of the values below.
        unit: String,
        /// Limit stated in the requirement.
        bound: f64,
        /// Value without electric fans; null if it rises without limit.
        without: Option<f64>,
        /// Value with the set; null without a set, or if it rises without limit.
        with_set: Option<f64>,
        /// Whether the requirement is met, with the set or, if there is none, without electric fans.
        holds: bool,
        /// Fraction of sampled machines that meet the requirement, with the set or, if there is none, without electric
        /// fans.
        share: Option<f64>,
    }
    beside {
        /// Kind of the limited quantity.
        kind: Kind,
        /// Bound, value without electric fans, value with the set, SI.
        si: [f64; 3],
    }
}

outcome! {
    /// A set whose temperature margin is larger than that of every smaller set.
    pub struct Rung {
        /// The fans, and where they are mounted.
        set: String,
        /// Number of fans.
        fans: usize,
        /// Maximum current of all fans together.
        current: f64 as Current,
        /// Mass of all fans together.
        mass: f64 as Mass,
        /// Smallest margin of a temperature to its bound; negative if a bound is violated.
        margin: f64 as TemperatureDifference,
        /// Fraction of sampled machines in which all requirements are met.
        share: f64,
    }
}

outcome! {
    /// A limit that prevents the requirements from being met.
    pub struct InTheWay {
        /// What is limited: `current`, `depth`, or `face` for the face area of the core.
        what: &'static str,
        /// A set that would be sufficient without this limit, if there is one.
        set: Option<String>,
        /// Unit of the values below.
        unit: String,
        /// Current or depth of that set.
        takes: Option<f64>,
        /// Value of the limit.
        limit: Option<f64>,
    }
    beside {
        /// Kind of the limited quantity.
        kind: Kind,
        /// Current or depth of that set, and the limit, SI.
        si: Option<[f64; 2]>,
    }
}

/// The set chosen for the requirements, and how well it meets them.
#[derive(Clone, Debug)]
pub(super) struct Answered {
    pub wants: Vec<WantMet>,
    pub met: bool,
    /// Whether all requirements are met without electric fans.
    pub without: bool,
    pub chosen: Option<Tried>,
    /// Fraction of sampled machines that meet all requirements, with the set or, if there is none, without electric
    /// fans.
    pub share: f64,
    pub ladder: Vec<Rung>,
    pub in_the_way: Vec<InTheWay>,
    /// Maximum allowed current of a set, A.
    pub current: f64,
}

/// Depth of the deepest fan of a set, m; zero if unknown.
fn depth(request: &Auxfan, set: &Set) -> f64 {
    let fans = set.iter().flatten().filter_map(|s| request.fans.get(s.fan));
    fans.filter_map(|f| f.depth).fold(0.0, f64::max)
}

/// A set with the smallest of its temperature margins, K, and the depth of its deepest fan, m.
struct Weighed<'t> {
    tried: &'t Tried,
    margin: f64,
    depth: f64,
}

/// The search for a set.
struct Search<'a> {
    request: &'a Auxfan,
    /// The main fan in the condition of the comparison, then in each condition that requirements name.
    mains: Vec<Main>,
    /// Maximum allowed current (A) and depth (m) of a set of electric fans.
    limits: [f64; 2],
}

/// Finds the set for the requirements among those that were tried.
pub(super) fn answer(
    request: &Auxfan,
    compared: &Compared,
    spare: f64,
) -> Result<Answered, Trouble> {
    let wants = &request.wants;
    let mut mains = vec![compared.main];
    for there in &wants.conditions {
        let mut main = as_it_is(&there.faulty, &there.healthy, compared.held)?;
        main.asked.automatic = there.automatic && compared.held.is_none();
        mains.push(main);
    }
    let current = wants.most(What::Current).unwrap_or(spare.max(0.0));
    let depth = wants.most(What::Depth).unwrap_or(f64::INFINITY);
    let search = Search {
        request,
        mains,
        limits: [current, depth],
    };
    search.answer(&compared.all, compared.chosen.as_ref())
}

impl Search<'_> {
    fn answer(&self, all: &[Tried], examined: Option<&Tried>) -> Result<Answered, Trouble> {
        let stop = &self.request.setup.stop;
        let weigh = |tried| stop.check().map(|()| self.weighed(tried));
        let weighed: Result<Vec<Weighed<'_>>, Trouble> = all.par_iter().map(weigh).collect();
        let mut weighed = weighed?;
        weighed.sort_by(|a, b| {
            let (a, b) = (a.tried, b.tried);
            let by = a.fans.cmp(&b.fans).then(a.current.total_cmp(&b.current));
            by.then(a.mass.total_cmp(&b.mass))
        });
        let machines = self.machines();
        let own;
        let rungs: Vec<&Weighed<'_>> = match examined {
            Some(tried) => {
                own = self.weighed(tried);
                vec![&own]
            }
            None => self.ladder(&weighed, self.limits),
        };
        let from = rungs.iter().position(|r| r.margin >= 0.0);
        let from = from.unwrap_or(rungs.len()).saturating_sub(1);
        let rungs = &rungs[from..];
        let (mut ladder, mut found): (Vec<Rung>, Option<usize>) = (Vec::new(), None);
        for (k, one) in rungs.iter().enumerate() {
            if found.is_some_and(|f| k > f + MORE) {
                break;
            }
            stop.check()?;
            let rung = self.rung(one, &machines);
            let sure = self.request.wants.sure.is_none_or(|s| rung.share >= s);
            let enough = sure && one.margin >= 0.0 && self.within(one, self.limits);
            found = found.or(enough.then_some(k));
            ladder.push(rung);
        }
        // Without a sufficient set, choose the one that comes closest: if a fraction of machines is required and the
        // margins are positive, the set with the largest fraction; otherwise the set with the largest margin.
        let nearest = |a: &usize, b: &usize| {
            let by = ladder[*a].share.total_cmp(&ladder[*b].share);
            let by = match self.request.wants.sure {
                Some(_) if rungs[*a].margin >= 0.0 && rungs[*b].margin >= 0.0 => by,
                _ => std::cmp::Ordering::Equal,
            };
            by.then(rungs[*a].margin.total_cmp(&rungs[*b].margin))
        };
        let best = found.or_else(|| (0..rungs.len()).max_by(nearest));
        let best = best.map(|k| rungs[k].tried);
        let none: Set = vec![None; self.request.spots.len()];
        let set = best.map_or(&none, |t| &t.set);
        let shares = self.shares(set, &machines);
        Ok(Answered {
            wants: self.wants(&none, set, &shares.0),
            met: found.is_some(),
            without: found.is_some_and(|k| rungs[k].tried.fans == 0),
            chosen: best.filter(|t| t.fans > 0).cloned(),
            share: shares.1,
            in_the_way: match (rungs.iter().any(|r| r.margin >= 0.0), examined) {
                (false, None) => self.in_the_way(&weighed),
                _ => Vec::new(),
            },
            ladder,
            current: self.limits[0],
        })
    }

    fn weighed<'t>(&self, tried: &'t Tried) -> Weighed<'t> {
        let cases = self.mains.iter().map(|m| m.case);
        let values = self.values(cases, &tried.set);
        let margins = self
            .request
            .wants
            .of_heat()
            .zip(values)
            .map(|(w, v)| w.margin(v));
        Weighed {
            tried,
            margin: margins.fold(f64::INFINITY, f64::min),
            depth: depth(self.request, &tried.set),
        }
    }

    /// The temperature limited by each requirement, with a set fitted to a machine; `cases` is that machine in each
    /// condition. Infinite where a temperature rises without limit.
    fn values(&self, cases: impl Iterator<Item = Case>, set: &Set) -> Vec<f64> {
        let (request, wants) = (self.request, &self.request.wants);
        let mounted = |case: Case| mounted(&case, &request.spots, &request.fans, set, true);
        let cases: Vec<Case> = cases.map(mounted).collect();
        let index = |w: &Wanted| w.at.map_or(0, |k| k + 1);
        let warm: Vec<_> = cases
            .iter()
            .zip(&self.mains)
            .enumerate()
            .map(|(k, (case, main))| {
                let asked = [What::Coolant, What::Oil];
                let needed = |w: &Wanted| index(w) == k && asked.contains(&w.what);
                let needed = wants.all.iter().any(needed);
                needed.then(|| warm_past_boiling(case, main.asked, None).ok())?
            })
            .collect();
        let value = |w: &Wanted| {
            let (k, none) = (index(w), f64::INFINITY);
            match w.what {
                What::Coolant => warm[k].as_ref().map_or(none, |s| s.budget.coolant_temp),
                What::Oil => warm[k].as_ref().map_or(none, |s| s.budget.oil_temp),
                _ => Main {
                    case: cases[k],
                    ..self.mains[k]
                }
                .hottest_day(),
            }
        };
        wants.of_heat().map(value).collect()
    }

    fn within(&self, one: &Weighed<'_>, [current, depth]: [f64; 2]) -> bool {
        one.tried.current <= current && one.depth <= depth
    }

    /// The sets within the limits whose temperature margin is larger than that of every smaller set.
    fn ladder<'w, 't>(&self, sorted: &'w [Weighed<'t>], limits: [f64; 2]) -> Vec<&'w Weighed<'t>> {
        let mut found: Vec<&Weighed<'_>> = Vec::new();
        for one in sorted.iter().filter(|w| self.within(w, limits)) {
            if found
                .last()
                .is_none_or(|last| one.margin > last.margin + 1e-6)
            {
                found.push(one);
            }
        }
        found
    }

    /// What rules out every sufficient set: each limit whose removal alone would allow one, else both limits together,
    /// else the face area of the core.
    fn in_the_way(&self, sorted: &[Weighed<'_>]) -> Vec<InTheWay> {
        let free = f64::INFINITY;
        let first = |limits: [f64; 2]| {
            let ladder = self.ladder(sorted, limits);
            ladder.into_iter().find(|w| w.margin >= 0.0)
        };
        let [current, depth] = self.limits;
        let mut found = Vec::new();
        if let Some(one) = first([free, depth]) {
            found.push(in_the_way(
                "current",
                one,
                Kind::Current,
                [one.tried.current, current],
            ));
        }
        if let Some(one) = first([current, free]) {
            found.push(in_the_way("depth", one, Kind::Length, [one.depth, depth]));
        }
        if let (true, Some(one)) = (found.is_empty(), first([free, free])) {
            found.push(in_the_way(
                "current",
                one,
                Kind::Current,
                [one.tried.current, current],
            ));
            found.push(in_the_way("depth", one, Kind::Length, [one.depth, depth]));
        }
        if found.is_empty() {
            found.push(InTheWay {
                what: "face",
                set: None,
                unit: String::new(),
                takes: None,
                limit: None,
                kind: Kind::Number,
                si: None,
            });
        }
        found
    }

    /// Samples machines within the ±; returns the cases of each machine, one for each condition.
    fn machines(&self) -> Vec<Vec<Case>> {
        let (setup, healthy) = (&self.request.setup, &self.request.healthy);
        let inputs = sample::uncertain(&setup.spread);
        let together = &setup.machine.correlations;
        let drawn = sample::draw(healthy, &setup.spread, together, MACHINES, SEED);
        let one = |drawn: &Case| {
            let moved = |main: &Main| {
                let along = |case: Case, input: &Input| {
                    moved_along(case, *input, &setup.spread, [healthy, drawn])
                };
                inputs.iter().fold(main.case, along)
            };
            self.mains.iter().map(moved).collect()
        };
        drawn.iter().map(one).collect()
    }

    /// For a set: the fraction of machines that meet each requirement on a temperature, and the fraction that meet all
    /// of them.
    fn shares(&self, set: &Set, machines: &[Vec<Case>]) -> (Vec<f64>, f64) {
        let wants: Vec<&Wanted> = self.request.wants.of_heat().collect();
        let one = |cases: &Vec<Case>| -> Vec<bool> {
            let values = self.values(cases.iter().copied(), set);
            let pairs = wants.iter().zip(values);
            pairs.map(|(w, v)| w.margin(v) >= 0.0).collect()
        };
        let held: Vec<Vec<bool>> = machines.par_iter().map(one).collect();
        let share = |n: usize| n as f64 / machines.len() as f64;
        let each = (0..wants.len()).map(|k| share(held.iter().filter(|h| h[k]).count()));
        let all = held.iter().filter(|h| h.iter().all(|b| *b)).count();
        (each.collect(), share(all))
    }

    fn rung(&self, one: &Weighed<'_>, machines: &[Vec<Case>]) -> Rung {
        Rung {
            set: one.tried.name.clone(),
            fans: one.tried.fans,
            current: one.tried.current,
            mass: one.tried.mass,
            margin: one.margin,
            share: self.shares(&one.tried.set, machines).1,
        }
    }

    /// Evaluates each requirement without electric fans and with the set.
    fn wants(&self, none: &Set, set: &Set, shares: &[f64]) -> Vec<WantMet> {
        let values = |set: &Set| {
            self.values(self.mains.iter().map(|m| m.case), set)
                .into_iter()
        };
        let (mut without, mut with) = (values(none), values(set));
        let mut shares = shares.iter().copied();
        let fans = |set: &Set| set.iter().flatten().count() > 0;
        let current = |set: &Set| {
            let each = set.iter().flatten();
            let each = each.filter_map(|s| Some((self.request.fans.get(s.fan)?, s.count)));
            each.map(|(f, n)| f.greatest_current() * n as f64).sum()
        };
        let mut one = |w: &Wanted| {
            let (si, share) = match w.what {
                What::Current => ([w.bound, 0.0, current(set)], None),
                What::Depth => ([w.bound, 0.0, depth(self.request, set)], None),
                _ => {
                    let infinite = f64::INFINITY;
                    let without = without.next().unwrap_or(infinite);
                    (
                        [w.bound, without, with.next().unwrap_or(infinite)],
                        shares.next(),
                    )
                }
            };
            let known = |v: f64| v.is_finite().then(|| w.kind.to_json(v));
            WantMet {
                want: w.words.clone(),
                unit: w.kind.json_suffix().into(),
                bound: w.kind.to_json(w.bound),
                without: known(si[1]),
                with_set: known(si[2]).filter(|_| fans(set)),
                holds: w.margin(si[2]) >= 0.0,
                share,
                kind: w.kind,
                si,
            }
        };
        self.request.wants.all.iter().map(&mut one).collect()
    }
}

/// Describes a limit that rules out a sufficient set.
fn in_the_way(what: &'static str, one: &Weighed<'_>, kind: Kind, si: [f64; 2]) -> InTheWay {
    InTheWay {
        what,
        set: Some(one.tried.name.clone()),
        unit: kind.json_suffix().into(),
        takes: Some(kind.to_json(si[0])),
        limit: Some(kind.to_json(si[1])),
        kind,
        si: Some(si),
    }
}
