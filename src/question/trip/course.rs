//! The trip of one machine, and its key figures.

use super::{COLD, Side, Trip};
use crate::balance::{Asked, Moment, Rules, SimulatedTrip, Stored, TripEvent, travel_while, warm};
use crate::model::{Case, Leg};
use crate::question::mention;
use crate::trouble::{Stop, Trouble, Troubles};
use crate::vary::settled::boiling;

/// Duration of idling computed after the trip, s.
pub const IDLING: f64 = 3600.0;

/// Oil temperature, K, above which hydraulic fan drives should not run *(common practice, no source)*.
pub const HOT_OIL: f64 = 366.15;

/// Key figures of a computed trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// Time and value of the peak coolant temperature, s and K.
    pub peak: (f64, f64),
    /// Time and value of the peak oil temperature, s and K.
    pub peak_oil: (f64, f64),
    /// Time at which the coolant reaches its limit, s; `None` if it does not.
    pub to_limit: Option<f64>,
    /// Time with the coolant above its limit, s.
    pub above_limit: f64,
    /// Time with the coolant above the lower estimate of its boiling point, s.
    pub above_boiling: f64,
    /// Time with the oil above `HOT_OIL`, s.
    pub hot_oil: f64,
    /// Average fan speed, rad/s.
    pub fan: f64,
    /// Average and maximum power at the pump's shaft, W.
    pub pump: (f64, f64),
    /// Energy at the pump's shaft, J.
    pub pump_energy: f64,
    /// Heat of all fuel burned, J.
    pub fuel: f64,
    /// Heat of the additional fuel that the engine burns to drive the pump, J.
    pub pump_fuel: f64,
    /// Whether the coolant boils, which ends the trip.
    pub boiled: bool,
    /// Result of leaving the machine idling after the trip.
    pub idle: Idle,
}

/// Result of leaving the machine idling after the trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Idle {
    /// The coolant reaches its limit after this time, s.
    Until(f64),
    /// The coolant stays below its limit; its final temperature, K.
    Stays(f64),
    /// The coolant is at its limit before idling begins, or the trip ended with boiling.
    No,
}

impl Idle {
    /// The time to the limit at idle, s; infinite if the coolant stays below it for the computed duration.
    pub fn time(self) -> f64 {
        match self {
            Self::Until(time) => time,
            Self::Stays(_) => f64::INFINITY,
            Self::No => 0.0,
        }
    }
}

/// The rows of the trip as legs, and the initial temperatures, for one of the compared machines in a given case.
fn started(request: &Trip, side: &Side, case: &Case) -> Result<(Vec<Leg>, Stored), Troubles> {
    let mut legs = request.profile.legs(&side.setup.machine, case)?;
    if side.command.is_some() {
        for leg in &mut legs {
            leg.command = side.command;
        }
    }
    let Some(first) = legs.first().copied() else {
        return Err(vec![Trouble::input(
            "no rows",
            "a trip of at least two rows",
        )]);
    };
    let mut stored = match (request.cold, request.profile.coolant) {
        (true, _) => Stored::even(first.now.ambient),
        (false, Some(t)) => Stored::even(t),
        (false, None) => settled(case, &first).map_err(|t| vec![t])?,
    };
    let oil = request.profile.oil.filter(|_| !request.cold);
    if let Some(oil) = side.oil_temp.or(oil) {
        stored.oil = oil;
    }
    Ok((legs, stored))
}

/// The temperatures of the machine in its steady state in the first row.
fn settled(case: &Case, first: &Leg) -> Result<Stored, Trouble> {
    let hint = || {
        format!(
            "{} starts the trip at ambient temperature, and a column coolant_c gives its initial temperature",
            mention(COLD.key)
        )
    };
    let mut there = *case;
    there.now = first.now;
    there.now.command = first.command.unwrap_or(case.now.command);
    let asked = Asked {
        automatic: first.command.is_none(),
        ..Asked::STEADY
    };
    let found = warm(&there, asked).map_err(|trouble| match trouble.hint.is_empty() {
        true => trouble.hint(hint()),
        false => trouble,
    })?;
    let stored = match found.heats {
        None => Stored::settled(&found),
        Some(_) => None,
    };
    stored.ok_or_else(|| {
        let why = found
            .heats
            .map_or("there is no steady state", |h| h.words());
        Trouble::no_answer(
            format!("no steady state in the first row: {why}"),
            "a first row in which the machine has a steady state",
        )
        .hint(hint())
    })
}

/// The trip and its key figures, for one of the compared machines in a given case.
pub(super) fn computed(
    request: &Trip,
    side: &Side,
    case: &Case,
    rules: Rules,
) -> Result<(SimulatedTrip, Figures), Troubles> {
    let (legs, start) = started(request, side, case)?;
    let stop = &side.setup.stop;
    let course = travel_while(case, &legs, start, rules, stop).map_err(|t| vec![t])?;
    let idle = match (course.moments.last(), legs.last()) {
        (Some(end), Some(last)) if !course.boiled => {
            let idling = side.setup.machine.usual.idle.value;
            idled(case, idling, (*last, end.stored), rules, stop).map_err(|t| vec![t])?
        }
        _ => Idle::No,
    };
    let figures = Figures::of(case, &course, start.coolant, idle);
    Ok((course, figures))
}

/// The result of idling after the given leg, from the temperatures at its end.
fn idled(
    case: &Case,
    engine_speed: f64,
    (mut leg, stored): (Leg, Stored),
    rules: Rules,
    stop: &Stop,
) -> Result<Idle, Trouble> {
    if stored.coolant >= limit(case) {
        return Ok(Idle::No);
    }
    leg.now.road_speed = 0.0;
    leg.now.grade = 0.0;
    leg.now.work = 0.0;
    leg.now.engine_speed = engine_speed;
    leg.time = 0.0;
    let after = Leg {
        time: IDLING,
        ..leg
    };
    let rules = Rules {
        stop_at_limit: true,
        ..rules
    };
    let left = travel_while(case, &[leg, after], stored, rules, stop)?;
    let reached = left.events.iter().find(|e| e.1 == TripEvent::LimitReached);
    Ok(match reached {
        Some(at) => Idle::Until(at.0),
        None => Idle::Stays(left.track.last().map_or(f64::NAN, |p| p.1)),
    })
}

/// The coolant's limit, K.
pub(super) fn limit(case: &Case) -> f64 {
    case.coolant.as_ref().map_or(f64::NAN, |c| c.limit)
}

impl Figures {
    /// Key figures of a trip that began with the coolant at `began`, K; `idle` is the result of idling after it.
    fn of(case: &Case, course: &SimulatedTrip, began: f64, idle: Idle) -> Self {
        let limit = limit(case);
        let [boiling, _] = boiling(case);
        let most = |of: fn(&(f64, f64, f64)) -> f64| {
            let track = course.track.iter().map(|p| (p.0, of(p)));
            track
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .unwrap_or((f64::NAN, f64::NAN))
        };
        let reached = |what: TripEvent| course.events.iter().find(|e| e.1 == what).map(|e| e.0);
        let lasted = course.track.last().map_or(0.0, |p| p.0).max(1e-9);
        let pump_energy = summed(course, |m| m.budget.pump_power);
        let efficiency = case.engine.map_or(f64::NAN, |e| e.efficiency);
        let powers = course.moments.iter().map(|m| m.budget.pump_power);
        Self {
            peak: most(|p| p.1),
            peak_oil: most(|p| p.2),
            to_limit: if began >= limit {
                Some(0.0)
            } else {
                reached(TripEvent::LimitReached)
            },
            above_limit: above(course, |p| p.1, limit),
            above_boiling: above(course, |p| p.1, boiling),
            hot_oil: above(course, |p| p.2, HOT_OIL),
            fan: summed(course, |m| m.fan_speed) / lasted,
            pump: (pump_energy / lasted, powers.fold(0.0, f64::max)),
            pump_energy,
            fuel: summed(course, |m| m.budget.fuel_heat),
            pump_fuel: pump_energy / efficiency,
            boiled: course.boiled,
            idle,
        }
    }
}

/// Integrates a quantity over the time of the trip.
fn summed(course: &SimulatedTrip, of: fn(&Moment) -> f64) -> f64 {
    let pairs = course.moments.windows(2);
    let parts = pairs.map(|w| 0.5 * (of(&w[0]) + of(&w[1])) * (w[1].time - w[0].time));
    parts.sum()
}

/// Time, s, for which a temperature is above a level.
fn above(course: &SimulatedTrip, of: fn(&(f64, f64, f64)) -> f64, level: f64) -> f64 {
    course
        .track
        .windows(2)
        .map(|w| {
            let (a, b) = (of(&w[0]) - level, of(&w[1]) - level);
            let length = w[1].0 - w[0].0;
            match (a > 0.0, b > 0.0) {
                (true, true) => length,
                (false, false) => 0.0,
                _ => length * a.max(b) / (a - b).abs(),
            }
        })
        .sum()
}
