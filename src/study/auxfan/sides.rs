//! The main fan in each of its states, sets of electric fans, and what they come to.

use super::{Held, Question, Set, every, mounted, mounted_as};
use crate::balance::{AirWay, Asked, COLDEST, Warm, at_limit, warm};
use crate::model::{Case, Machine, Mount, OilSheet};
use crate::part::{Alternator, LUGGING};
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;
use rayon::prelude::*;

/// Walking pace, m/s.
const WALKING: f64 = 5.0 / 3.6;

/// Full command, the fan's speed as it comes.
const FREE: Asked = Asked {
    automatic: false,
    ..Asked::STEADY
};

/// The main fan in one state: the case, and how it is asked for.
#[derive(Clone, Copy)]
pub(super) struct Main {
    pub case: Case,
    pub asked: Asked,
}

impl Main {
    /// The state on the day on which the coolant reaches its limit.
    pub fn limit(&self) -> Option<Warm> {
        at_limit(&self.case, self.asked, None)
    }

    /// That day's temperature, K; the coldest that counts where no day is cold enough.
    pub fn hottest_day(&self) -> f64 {
        self.known_day().0
    }

    /// The same, and whether the oil gives out before the coolant reaches its limit: then that day is only known to be no
    /// colder than one on which both settle, the case's own.
    fn known_day(&self) -> (f64, bool) {
        match self.limit() {
            Some(w) => (w.budget.ambient.max(COLDEST), false),
            None if self.stands() => (self.case.now.ambient, true),
            None => (COLDEST, false),
        }
    }

    /// Whether the coolant stays at or below its limit on the case's own day.
    pub fn stands(&self) -> bool {
        let limit = self.case.coolant.as_ref().map_or(f64::NAN, |c| c.limit);
        warm(&self.case, self.asked)
            .is_ok_and(|w| w.heats.is_none() && w.budget.coolant_temp <= limit)
    }

    /// With a set of fans in place, on or off.
    pub fn with(&self, question: &Question, set: &Set, on: bool) -> Self {
        let case = mounted(&self.case, &question.spots, &question.fans, set, on);
        Self { case, ..*self }
    }

    /// On the right oil. A speed that is held goes with what the sound machine does.
    fn on_right_oil(&self, question: &Question, sound: &Case) -> Result<Self, Trouble> {
        let mut oiled = *self;
        oiled.case = on_oil(&self.case, &question.right_oil);
        if let Some(speed) = self.asked.fan_speed {
            let now = warm(sound, FREE)?.fan_speed.max(1e-9);
            let then = warm(&on_oil(sound, &question.right_oil), FREE)?.fan_speed;
            oiled.asked.fan_speed = Some(speed * then / now);
        }
        Ok(oiled)
    }
}

/// What a set comes to.
#[derive(Clone, Debug)]
pub(super) struct Outcome {
    pub set: Set,
    pub count: usize,
    pub current: f64,
    pub mass: f64,
    pub hottest_day: f64,
}

/// One line of the comparison.
pub(super) struct Side {
    pub name: String,
    pub key: &'static str,
    pub current: f64,
    pub warm: Warm,
    pub hottest_day: f64,
    /// The oil gives out before the coolant reaches its limit.
    pub oil_first: bool,
}

impl Side {
    fn of(name: &str, key: &'static str, main: &Main, current: f64) -> Result<Self, Trouble> {
        let (hottest_day, oil_first) = main.known_day();
        Ok(Self {
            name: name.into(),
            key,
            current,
            warm: warm(&main.case, main.asked)?,
            hottest_day,
            oil_first,
        })
    }
}

/// What was found.
pub(super) struct Found {
    /// The main fan as it is.
    pub main: Main,
    /// The same without what is wrong.
    pub mended: Main,
    /// What its speed is of what it should be, where it is held.
    pub share: Option<f64>,
    /// Something is wrong with it.
    pub slow: bool,
    /// The right oil is not the one that is in it.
    pub other_oil: bool,
    /// The target is met as it is.
    pub met: bool,
    /// What every set that was tried comes to.
    pub all: Vec<Outcome>,
    /// The set to look at.
    pub chosen: Option<Outcome>,
    /// Side by side, first as it is.
    pub sides: Vec<Side>,
}

impl Found {
    pub fn of(question: &Question) -> Result<Self, Trouble> {
        let mended = Main {
            case: situated(question, &question.sound),
            asked: FREE,
        };
        let share = held_share(question, &mended.case)?;
        let faulty = situated(question, &question.posed.case);
        let main = as_it_is(&faulty, &mended.case, share)?;
        // That the machine can be balanced at all is found here.
        let base = Side::of("as it is", "as_it_is", &main, 0.0)?;
        let met = base.hottest_day >= question.target;
        // Where the oil gives out first, one set is as good as the next.
        let all = if met && base.oil_first {
            Vec::new()
        } else {
            search(question, &main)?
        };
        let chosen = match &question.tried {
            Some(set) => Some(outcome(question, &main, set.clone())),
            None if met => None,
            None => smallest(&all, question.target)
                .or(best(&all))
                .filter(|o| o.hottest_day > base.hottest_day)
                .cloned(),
        };
        let mut found = Self {
            main,
            mended,
            share,
            slow: share.is_some() || question.posed.case != question.sound,
            other_oil: question.right_oil.name != question.posed.oil.name,
            met,
            all,
            chosen,
            sides: vec![base],
        };
        let others = found.others(question)?;
        found.sides.extend(others);
        Ok(found)
    }

    /// These fans, the right oil and mending, each by itself and with what it goes with.
    fn others(&self, question: &Question) -> Result<Vec<Side>, Trouble> {
        let mut sides = Vec::new();
        let alone = |name: &str, key, main: &Main| Side::of(name, key, main, 0.0);
        let with_fans = |name: &str, key, main: &Main| {
            let one = self.chosen.as_ref();
            one.map(|o| Side::of(name, key, &main.with(question, &o.set, true), o.current))
                .transpose()
        };
        let sound = &self.mended.case;
        sides.extend(with_fans("these fans", "fans", &self.main)?);
        if self.other_oil {
            let oiled = self.main.on_right_oil(question, sound)?;
            sides.push(alone("right oil", "right_oil", &oiled)?);
            sides.extend(with_fans(
                "these fans and right oil",
                "fans_and_right_oil",
                &oiled,
            )?);
        }
        if self.slow {
            let mended = match question.main {
                Some(_) => "main fan mended",
                None => "faults mended",
            };
            sides.push(alone(mended, "mended", &self.mended)?);
            if self.other_oil {
                let oiled = self.mended.on_right_oil(question, sound)?;
                let name = format!("{mended}, right oil");
                sides.push(alone(&name, "mended_and_right_oil", &oiled)?);
            }
            let name = format!("{mended}, and these fans");
            sides.extend(with_fans(&name, "mended_and_fans", &self.mended)?);
        }
        Ok(sides)
    }

    /// As it is.
    pub fn base(&self) -> &Side {
        &self.sides[0]
    }

    /// The side of a key.
    pub fn side(&self, key: &str) -> Option<&Side> {
        self.sides.iter().find(|s| s.key == key)
    }

    /// What the hottest day gains, K, over the one as it is.
    pub fn gained(&self, hottest_day: f64) -> f64 {
        hottest_day - self.base().hottest_day
    }

    /// Whether the target is met, as it is or by the set to look at.
    pub fn meets(&self, target: f64) -> bool {
        let chosen = self.chosen.as_ref();
        self.met || chosen.is_some_and(|o| o.hottest_day >= target)
    }

    /// The sets that no other beats in both degrees and current, by rising current.
    pub fn front(&self) -> Vec<&Outcome> {
        let mut sorted: Vec<&Outcome> = self.all.iter().collect();
        sorted.sort_by(|a, b| {
            let by = a.current.total_cmp(&b.current);
            by.then(b.hottest_day.total_cmp(&a.hottest_day))
        });
        let mut found: Vec<&Outcome> = Vec::new();
        for one in sorted {
            if found
                .last()
                .is_none_or(|last| one.hottest_day > last.hottest_day + 1e-6)
            {
                found.push(one);
            }
        }
        found
    }
}

/// A machine standing, or on the climb, on the target's day.
fn situated(question: &Question, case: &Case) -> Case {
    let mut case = *case;
    case.now.ambient = question.target;
    case.now.command = 1.0;
    let Some(grade) = question.climb else {
        return case;
    };
    case.now.grade = grade;
    rolling(question, &case, WALKING)
}

/// The same at a road speed, with the engine as gear and road have it.
pub(super) fn rolling(question: &Question, case: &Case, speed: f64) -> Case {
    let mut case = *case;
    case.now.road_speed = speed;
    let machine: &Machine = &question.posed.machine;
    let idle = machine.usual.idle.value;
    let by_gear = case
        .vehicle
        .as_ref()
        .and_then(|v| v.engine_speed(v.gear(speed, LUGGING), speed, idle));
    if let (Some(engine), false) = (by_gear, question.engine_given) {
        case.now.engine_speed = engine;
    }
    case
}

/// What the main fan's speed, where it is held, is of what it should be.
fn held_share(question: &Question, sound: &Case) -> Result<Option<f64>, Trouble> {
    Ok(match question.main {
        None => None,
        Some(Held::Share(share)) => Some(share),
        Some(Held::At(speed)) => Some(speed / warm(sound, FREE)?.fan_speed.max(1e-9)),
    })
}

/// The main fan as it is in a condition: held where its speed was measured.
pub(super) fn as_it_is(faulty: &Case, sound: &Case, share: Option<f64>) -> Result<Main, Trouble> {
    let Some(share) = share else {
        return Ok(Main {
            case: *faulty,
            asked: FREE,
        });
    };
    let speed = share * warm(sound, FREE)?.fan_speed;
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

/// A case with an oil in it.
fn on_oil(case: &Case, oil: &OilSheet) -> Case {
    let mut case = *case;
    (case.oil, case.curve) = (oil.oil, oil.curve);
    case
}

/// What every set comes to.
pub(super) fn search(question: &Question, main: &Main) -> Result<Vec<Outcome>, Trouble> {
    let sets = every(&main.case, &question.spots, &question.fans)?;
    let stop = &question.posed.stop;
    sets.into_par_iter()
        .map(|set| stop.check().map(|()| outcome(question, main, set)))
        .collect()
}

fn outcome(question: &Question, main: &Main, set: Set) -> Outcome {
    let each = set
        .iter()
        .flatten()
        .filter_map(|s| Some((question.fans.get(s.fan)?, s.count)));
    let (mut count, mut current, mut mass) = (0, 0.0, 0.0);
    for (fan, n) in each {
        count += n;
        current += fan.greatest_current() * n as f64;
        mass += fan.mass * n as f64;
    }
    Outcome {
        hottest_day: main.with(question, &set, true).hottest_day(),
        set,
        count,
        current,
        mass,
    }
}

/// The smallest set that meets the target: fewest fans, then least current, then least mass.
pub(super) fn smallest(all: &[Outcome], target: f64) -> Option<&Outcome> {
    all.iter()
        .filter(|o| o.hottest_day >= target)
        .min_by(|a, b| {
            let by = a.count.cmp(&b.count).then(a.current.total_cmp(&b.current));
            by.then(a.mass.total_cmp(&b.mass))
        })
}

/// The set that gains most; of those that gain the same, the one that draws least.
fn best(all: &[Outcome]) -> Option<&Outcome> {
    all.iter().max_by(|a, b| {
        let by = a.hottest_day.total_cmp(&b.hottest_day);
        by.then(b.current.total_cmp(&a.current))
    })
}

/// What must hold before the question makes sense.
pub(super) fn sound(question: &Question) -> Result<(), Trouble> {
    let case = &question.posed.case;
    if let (Some(coolant), Some(thermostat)) = (&case.coolant, &case.thermostat)
        && !thermostat.is_open(coolant.limit)
    {
        return Err(Trouble::input(
            "a coolant limit at which the thermostat is not full open",
            "[coolant] limit at or above [thermostat] full",
        ));
    }
    if question.climb.is_some() && case.vehicle.is_none() {
        return Err(Trouble::input(
            "a climb for a machine without [vehicle]",
            "a machine that drives",
        )
        .at("--climb"));
    }
    if let Some(Held::Share(share)) = question.main
        && !(0.0..=1.0).contains(&share)
    {
        return Err(Trouble::input(
            format!(
                "a main fan at {} of what it should make",
                Units::Si.show(Kind::Share, share)
            ),
            "0 to 100 %",
        )
        .at("--fan-speed"));
    }
    Ok(())
}

/// The alternator of a machine, or a usual one.
pub(super) fn alternator(case: &Case) -> Alternator {
    case.alternator.unwrap_or_else(Alternator::<f64>::usual)
}

/// Where the fans at one spot work.
pub(super) struct Working {
    pub spot: usize,
    pub count: f64,
    /// Flow of one fan, m³/s.
    pub flow: f64,
    pub pressure: f64,
    pub current: f64,
    /// Flow over the data sheet's at no pressure.
    pub of_free: f64,
    /// Pressure that the air behind the core gives; negative where it stands against the fan.
    pub helped: f64,
    pub beyond: bool,
    pub back: f64,
}

/// The warm state in which operating points are shown: the day of the limit, or the target's day where there is none.
pub(super) fn shown(main: &Main) -> Option<Warm> {
    main.limit().or_else(|| warm(&main.case, main.asked).ok())
}

pub(super) fn points(question: &Question, main: &Main, set: &Set) -> Vec<Working> {
    let Some(warm) = shown(&main.with(question, set, true)) else {
        return Vec::new();
    };
    let Some(way) = AirWay::of(&warm.case) else {
        return Vec::new();
    };
    let draft = &warm.budget.draft;
    let each = question.spots.iter().zip(set).enumerate();
    each.filter_map(|(k, (spot, one))| {
        let one = one.as_ref()?;
        let fan = question.fans.get(one.fan)?;
        let count = one.count as f64;
        let (zone, v) = (way.zones.get(spot.slot)?, *draft.speed.get(spot.slot)?);
        let at_fan = match spot.mount {
            Mount::Pusher => way.outer,
            Mount::Puller => way.inner,
        };
        let flow = zone.area * v * way.outer / at_fan / count;
        // On the data sheet's curve.
        let sheet = flow / mounted_as(fan, spot.mount).0;
        Some(Working {
            spot: k,
            count,
            flow,
            pressure: zone.fan_pressure(v),
            current: fan.current_at(sheet),
            of_free: flow / fan.free_flow,
            helped: draft.over_core,
            beyond: fan.points.last().is_some_and(|p| sheet > p.flow)
                || fan.points.first().is_some_and(|p| sheet < p.flow),
            back: draft.back / (draft.mass + draft.back).max(1e-12),
        })
    })
    .collect()
}
