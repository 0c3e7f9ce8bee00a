//! Evaluates the main fan as it is, repaired and with the correct oil, and all sets of electric fans.

use super::smallest::{self, Answered};
use super::{Auxfan, Held, Remedy, Set, Side, Tried, Would, every, mounted, name_of};
use crate::balance::{Asked, COLDEST, NoSteadyState, Warm, at_limit, warm};
use crate::input::Input;
use crate::model::{Case, OilSheet};
use crate::part::LUGGING;
use crate::question::Ends;
use crate::trouble::Trouble;
use crate::vary::band::of_values;
use crate::vary::sample;
use rayon::prelude::*;

/// Number of machines sampled for the bands of the gains.
const DRAWN: usize = 60;

/// The seed of the sampling.
const SEED: u64 = 20_261_126;

/// Walking pace, m/s.
const WALKING: f64 = 5.0 / 3.6;

/// Full command, with the fan speed solved from the circuit.
const FREE: Asked = Asked {
    automatic: false,
    ..Asked::STEADY
};

/// The main fan in one state, such as faulty or repaired: the case, and the settings of the heat balance.
#[derive(Clone, Copy)]
pub(super) struct Main {
    pub case: Case,
    pub asked: Asked,
}

impl Main {
    /// The warm state at the limiting ambient temperature, if there is one.
    fn limit(&self) -> Option<Warm> {
        at_limit(&self.case, self.asked, None)
    }

    /// The limiting ambient temperature, K; `COLDEST` if no ambient temperature is low enough.
    pub fn hottest_day(&self) -> f64 {
        self.known_day().0
    }

    /// The limiting ambient temperature, and whether the oil overheats before the coolant reaches its limit. If it
    /// does, the temperature is only a lower bound: the case's own ambient temperature, at which coolant and oil are
    /// steady.
    fn known_day(&self) -> (f64, bool) {
        match self.limit() {
            Some(w) => (w.budget.ambient.max(COLDEST), false),
            None if self.stands() => (self.case.now.ambient, true),
            None => (COLDEST, false),
        }
    }

    /// The warm state in which operating points are shown: at the limiting ambient temperature, or the case's own if
    /// there is none.
    pub fn shown(&self) -> Option<Warm> {
        self.limit().or_else(|| warm(&self.case, self.asked).ok())
    }

    /// Whether the coolant stays at or below its limit at the case's own ambient temperature.
    fn stands(&self) -> bool {
        let limit = self.case.coolant.as_ref().map_or(f64::NAN, |c| c.limit);
        warm(&self.case, self.asked)
            .is_ok_and(|w| w.heats.is_none() && w.budget.coolant_temp <= limit)
    }

    /// The main fan with a set of electric fans fitted, on or off.
    pub fn with(&self, request: &Auxfan, set: &Set, on: bool) -> Self {
        let case = mounted(&self.case, &request.spots, &request.fans, set, on);
        Self { case, ..*self }
    }

    /// The main fan with the correct oil. An imposed fan speed is scaled by the ratio of the healthy machine's speeds
    /// with the two oils.
    fn on_right_oil(&self, request: &Auxfan, healthy: &Case) -> Result<Self, Trouble> {
        let mut oiled = *self;
        oiled.case = on_oil(&self.case, &request.right_oil);
        if let Some(speed) = self.asked.fan_speed {
            let now = warm(healthy, FREE)?.fan_speed.max(1e-9);
            let then = warm(&on_oil(healthy, &request.right_oil), FREE)?.fan_speed;
            oiled.asked.fan_speed = Some(speed * then / now);
        }
        Ok(oiled)
    }
}

impl Side {
    /// One row of the comparison, for a main fan in one state. Its gain is relative to the limiting ambient temperature
    /// `base`, K; without a base the gain is zero.
    fn of(
        request: &Auxfan,
        remedy: Remedy,
        main: &Main,
        current: f64,
        base: Option<f64>,
    ) -> Result<Self, Trouble> {
        let (hottest_day, oil_first) = main.known_day();
        let warm = warm(&main.case, main.asked)?;
        let steady = warm.heats.is_none();
        Ok(Self {
            remedy,
            name: remedy.name(request.main.is_some()),
            fan_speed: warm.fan_speed,
            airflow: warm.budget.airflow.flow,
            current,
            limiting_ambient: cold_enough(hottest_day),
            gained: hottest_day - base.unwrap_or(hottest_day),
            gained_band: Ends(None),
            steady,
            coolant_temp: steady.then_some(warm.budget.coolant_temp),
            hottest_day,
            oil_first,
            warm,
            asked: main.asked,
        })
    }
}

/// The limiting ambient temperature; `None` at `COLDEST`, which means that no ambient temperature is low enough.
fn cold_enough(hottest_day: f64) -> Option<f64> {
    (hottest_day > COLDEST).then_some(hottest_day)
}

/// The machine in its present state, repaired, and with electric fans.
pub(super) struct Compared {
    /// The main fan in its present state.
    pub main: Main,
    /// Speed of the main fan as a fraction of the healthy machine's speed, if imposed.
    pub held: Option<f64>,
    /// Whether the main fan has a fault.
    pub slow: bool,
    /// Whether the machine meets the target in its present state.
    pub met: bool,
    /// The result of every set tried.
    pub all: Vec<Tried>,
    /// The set of electric fans to examine, if any.
    pub chosen: Option<Tried>,
    /// The rows of the comparison, starting with the present machine.
    pub sides: Vec<Side>,
    /// The set chosen for the requirements in words, and how well it meets them.
    pub answered: Option<Answered>,
    /// The main fan without the fault.
    mended: Main,
}

impl Compared {
    pub fn of(request: &Auxfan) -> Result<Self, Trouble> {
        let mended = Main {
            case: situated(request, &request.healthy),
            asked: FREE,
        };
        let held = imposed_fraction(request, &mended.case)?;
        let faulty = situated(request, &request.setup.case);
        let main = as_it_is(&faulty, &mended.case, held)?;
        // This fails if the machine has no heat balance.
        let base = Side::of(request, Remedy::None, &main, 0.0, None)?;
        let day = base.hottest_day;
        let met = day >= request.target;
        // If the oil overheats first, all sets have the same lower bound and cannot be ranked.
        let wanted = !request.wants.all.is_empty();
        let all = if met && base.oil_first && !wanted {
            Vec::new()
        } else {
            search(request, &main, day)?
        };
        let chosen = match &request.tried {
            Some(set) => Some(weighed(request, &main, day, set.clone())),
            None if met || wanted => None,
            None => smallest(&all, request.target)
                .or(best(&all))
                .filter(|o| o.hottest_day > day)
                .cloned(),
        };
        let mut compared = Self {
            main,
            held,
            slow: held.is_some() || request.setup.case != request.healthy,
            met,
            all,
            chosen,
            sides: vec![base],
            answered: None,
            mended,
        };
        if wanted {
            let answered = smallest::answer(request, &compared, request.alternator().spare())?;
            compared.met = answered.without;
            compared.chosen.clone_from(&answered.chosen);
            compared.answered = Some(answered);
        }
        let others = compared.others(request)?;
        compared.sides.extend(others);
        request.setup.stop.check()?;
        compared.judge(request);
        Ok(compared)
    }

    /// The rows for the chosen electric fans, the correct oil and the repair, alone and in combination.
    fn others(&self, request: &Auxfan) -> Result<Vec<Side>, Trouble> {
        let base = Some(self.sides[0].hottest_day);
        let alone = |remedy, main: &Main| Side::of(request, remedy, main, 0.0, base);
        let with_fans = |remedy, main: &Main| {
            let one = self.chosen.as_ref();
            one.map(|o| {
                let main = main.with(request, &o.set, true);
                Side::of(request, remedy, &main, o.current, base)
            })
            .transpose()
        };
        let other_oil = request.right_oil.name != request.setup.oil.name;
        let healthy = &self.mended.case;
        let mut sides = Vec::new();
        sides.extend(with_fans(Remedy::Fans, &self.main)?);
        if other_oil {
            let oiled = self.main.on_right_oil(request, healthy)?;
            sides.push(alone(Remedy::RightOil, &oiled)?);
            sides.extend(with_fans(Remedy::FansAndRightOil, &oiled)?);
        }
        if self.slow {
            sides.push(alone(Remedy::Mended, &self.mended)?);
            if other_oil {
                let oiled = self.mended.on_right_oil(request, healthy)?;
                sides.push(alone(Remedy::MendedAndRightOil, &oiled)?);
            }
            sides.extend(with_fans(Remedy::MendedAndFans, &self.mended)?);
        }
        Ok(sides)
    }

    /// Adds the uncertainty bands of the gains, from the same sampled machines in every row. A machine for which no
    /// ambient temperature is low enough counts as `COLDEST`, as in the row itself.
    fn judge(&mut self, request: &Auxfan) {
        let (setup, healthy) = (&request.setup, &request.healthy);
        let inputs = sample::uncertain(&setup.spread);
        let together = &setup.machine.correlations;
        let drawn = sample::draw(healthy, &setup.spread, together, DRAWN, SEED);
        let days = |side: &Side| -> Vec<Option<f64>> {
            let one = |drawn: &Case| {
                setup.stop.check().ok()?;
                let moved = |case: Case, input: &Input| {
                    moved_along(case, *input, &setup.spread, [healthy, drawn])
                };
                let case = inputs.iter().fold(side.warm.case, moved);
                let asked = side.asked;
                Some(Main { case, asked }.hottest_day())
            };
            drawn.par_iter().map(one).collect()
        };
        let all: Vec<Vec<Option<f64>>> = self.sides.iter().map(days).collect();
        for (side, own) in self.sides.iter_mut().zip(&all).skip(1) {
            let both = own.iter().zip(&all[0]);
            side.gained_band = Ends(of_values(both.map(|(a, b)| Some((*a)? - (*b)?))));
        }
    }

    /// Whether the target is met, in the present state or by the examined set.
    pub fn meets(&self, target: f64) -> bool {
        let chosen = self.chosen.as_ref();
        self.met || chosen.is_some_and(|o| o.hottest_day >= target)
    }

    /// The Pareto-optimal sets: no other set is better in both limiting ambient temperature and current; in order of
    /// rising current.
    pub fn front(&self) -> Vec<Tried> {
        let mut sorted: Vec<&Tried> = self.all.iter().collect();
        sorted.sort_by(|a, b| {
            let by = a.current.total_cmp(&b.current);
            by.then(b.hottest_day.total_cmp(&a.hottest_day))
        });
        let mut found: Vec<Tried> = Vec::new();
        for one in sorted {
            let last = found.last();
            if last.is_none_or(|last| one.hottest_day > last.hottest_day + 1e-6) {
                found.push(one.clone());
            }
        }
        found
    }

    /// What would meet the target if these fans do not.
    pub fn would(&self, request: &Auxfan) -> Result<Would, Trouble> {
        let by = |remedy: Remedy| {
            let mut sides = self.sides.iter();
            sides.any(|s| s.remedy == remedy && s.hottest_day >= request.target)
        };
        for (remedy, would) in [
            (Remedy::RightOil, Would::RightOil),
            (Remedy::Mended, Would::Mended),
            (Remedy::MendedAndRightOil, Would::MendedAndRightOil),
        ] {
            if by(remedy) {
                return Ok(would);
            }
        }
        let smallest_on = |main: &Main| -> Result<Option<Tried>, Trouble> {
            let all = search(request, main, self.sides[0].hottest_day)?;
            Ok(smallest(&all, request.target).cloned())
        };
        if self.slow
            && let Some(one) = smallest_on(&self.mended)?
        {
            return Ok(Would::MendedWith(one.name));
        }
        let mut sealed = self.mended;
        if let Some(air) = &mut sealed.case.air {
            air.recirculation = 0.0;
        }
        if let Some(one) = smallest_on(&sealed)? {
            return Ok(Would::Sealed((one.fans > 0).then_some(one.name)));
        }
        let heats = warm(&sealed.case, sealed.asked)?.heats;
        Ok(match heats {
            Some(NoSteadyState::Oil) => Would::LessOilHeat,
            _ => Would::LargerCore,
        })
    }
}

/// Changes one input of a case by as much as a sampled machine differs from the healthy one: by the ratio of the two if
/// the uncertainty is a factor, otherwise by their difference.
pub(super) fn moved_along(
    case: Case,
    input: Input,
    spread: &Case,
    [healthy, drawn]: [&Case; 2],
) -> Case {
    let all = (case.get(input), healthy.get(input), drawn.get(input));
    let (Some(here), Some(from), Some(to)) = all else {
        return case;
    };
    let there = match spread.factors.has(input) && from > 0.0 {
        true => here * to / from,
        false => here + to - from,
    };
    let field = input.field();
    case.with(
        input,
        there.clamp(field.low.min(here), field.high.max(here)),
    )
}

/// Puts a machine at standstill or on the requested climb, at the required ambient temperature and full command.
fn situated(request: &Auxfan, case: &Case) -> Case {
    let mut case = *case;
    case.now.ambient = request.target;
    case.now.command = 1.0;
    let Some(grade) = request.climb else {
        return case;
    };
    case.now.grade = grade;
    rolling(request, &case, WALKING)
}

/// Puts a machine at a road speed, m/s, with the engine speed from gear and road speed unless the user gave one.
pub(super) fn rolling(request: &Auxfan, case: &Case, speed: f64) -> Case {
    let mut case = *case;
    case.now.road_speed = speed;
    let usual = &request.setup.machine.usual;
    let (idle, limits) = (usual.idle.value, [LUGGING, usual.full.value]);
    let by_gear = case
        .vehicle
        .as_ref()
        .and_then(|v| v.engine_speed(v.gear(speed, limits), speed, idle));
    if let (Some(engine), false) = (by_gear, request.setup.typed.contains(&"engine_speed")) {
        case.now.engine_speed = engine;
    }
    case
}

/// The main fan's speed as a fraction of the healthy machine's speed, if imposed.
fn imposed_fraction(request: &Auxfan, healthy: &Case) -> Result<Option<f64>, Trouble> {
    Ok(match request.main {
        None => None,
        Some(Held::Share(share)) => Some(share),
        Some(Held::At(speed)) => Some(speed / warm(healthy, FREE)?.fan_speed.max(1e-9)),
    })
}

/// The main fan in its present state, in the condition of the cases; `share` imposes its speed as a fraction of the
/// healthy machine's.
pub(super) fn as_it_is(faulty: &Case, healthy: &Case, share: Option<f64>) -> Result<Main, Trouble> {
    let Some(share) = share else {
        return Ok(Main {
            case: *faulty,
            asked: FREE,
        });
    };
    let speed = share * warm(healthy, FREE)?.fan_speed;
    let asked = Asked {
        fan_speed: Some(speed),
        hold_oil: true,
        ..FREE
    };
    Ok(Main {
        case: *faulty,
        asked,
    })
}

/// Replaces the oil of a case.
fn on_oil(case: &Case, oil: &OilSheet) -> Case {
    let mut case = *case;
    (case.oil, case.curve) = (oil.oil, oil.curve);
    case
}

/// Evaluates every set of electric fans that fits.
fn search(request: &Auxfan, main: &Main, base: f64) -> Result<Vec<Tried>, Trouble> {
    let sets = every(&main.case, &request.spots, &request.fans)?;
    let stop = &request.setup.stop;
    sets.into_par_iter()
        .map(|set| stop.check().map(|()| weighed(request, main, base, set)))
        .collect()
}

/// Evaluates one set; its gain is relative to the limiting ambient temperature `base`, K.
fn weighed(request: &Auxfan, main: &Main, base: f64, set: Set) -> Tried {
    let each = set
        .iter()
        .flatten()
        .filter_map(|s| Some((request.fans.get(s.fan)?, s.count)));
    let (mut fans, mut current, mut mass) = (0, 0.0, 0.0);
    for (fan, n) in each {
        fans += n;
        current += fan.greatest_current() * n as f64;
        mass += fan.mass * n as f64;
    }
    let hottest_day = main.with(request, &set, true).hottest_day();
    Tried {
        name: name_of(&request.spots, &request.fans, &set),
        fans,
        current,
        mass,
        limiting_ambient: cold_enough(hottest_day),
        gained: hottest_day - base,
        set,
        hottest_day,
    }
}

/// The smallest set that meets the target: fewest fans, then lowest current, then lowest mass.
fn smallest(all: &[Tried], target: f64) -> Option<&Tried> {
    all.iter()
        .filter(|o| o.hottest_day >= target)
        .min_by(|a, b| {
            let by = a.fans.cmp(&b.fans).then(a.current.total_cmp(&b.current));
            by.then(a.mass.total_cmp(&b.mass))
        })
}

/// The set with the largest gain; among equals, the one with the lowest current.
fn best(all: &[Tried]) -> Option<&Tried> {
    all.iter().max_by(|a, b| {
        let by = a.hottest_day.total_cmp(&b.hottest_day);
        by.then(b.current.total_cmp(&a.current))
    })
}
