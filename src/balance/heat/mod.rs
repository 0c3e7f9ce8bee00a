//! Heat from engine to coolant to air and from oil to air, solved together with the fan speed.

mod balance;
mod cold;

use super::budget::{Budget, Parts, missing, sound_machine};
use super::rates::Capacities;
use super::solve::Operating;
use super::state::State;
use crate::fluid::coolant;
use crate::input::unit::celsius;
use crate::model::Case;
use crate::trouble::Trouble;
pub(super) use balance::Balance;
use balance::{HIGH, LOW, Point, STILL, Search};

/// Half-width (about 95 %) of the model's error in a steady coolant temperature, K: an engineering assumption, declared
/// only here.
pub const COOLANT_MODEL_HALF: f64 = 9.0;

/// Settings of the heat balance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Whether the fan control sets the command from the coolant temperature; otherwise the command is taken from the
    /// operating condition.
    pub automatic: bool,
    /// An imposed fan speed, rad/s; `None` to compute it from the oil circuit.
    pub fan_speed: Option<f64>,
    /// The factor by which the fan speed of the oil circuit is multiplied: 1, or that of a reading.
    pub fan_ratio: f64,
    /// Whether the oil is held at the temperature given in the operating condition.
    pub hold_oil: bool,
    /// The quantity solved for besides oil and air temperature.
    pub find: Find,
    /// Convergence limit: the largest permitted residual, relative to the heat flow.
    pub closed: f64,
}

/// The quantity that the heat balance solves for besides oil and air temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Find {
    /// The coolant temperature.
    Coolant,
    /// The ambient temperature at which the coolant reaches its temperature limit.
    Ambient,
}

impl Asked {
    /// Settings for the steady state, with the fan control active if the machine has one.
    pub const STEADY: Asked = Asked {
        automatic: true,
        fan_speed: None,
        fan_ratio: 1.0,
        hold_oil: false,
        find: Find::Coolant,
        closed: 1e-12,
    };
}

/// Why there is no steady state below boiling.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoSteadyState {
    /// The core cannot reject the engine's heat.
    Coolant,
    /// The heat that the drive's losses release into the oil cannot be rejected.
    Oil,
    /// No coolant flows through the core.
    CoolantStands,
    /// No air flows through the core.
    AirStands,
}

impl NoSteadyState {
    /// The reason in words.
    pub fn words(self) -> &'static str {
        match self {
            NoSteadyState::Coolant => {
                "the core cannot reject the engine's heat: the coolant heats up until it boils"
            }
            NoSteadyState::Oil => {
                "the oil cannot reject the heat of the drive's losses: the oil temperature rises without limit"
            }
            NoSteadyState::CoolantStands => {
                "no coolant flows through the core: the engine heats up until the coolant boils"
            }
            NoSteadyState::AirStands => {
                "no air flows through the core: the fan is stopped and nothing else moves air, so the coolant heats up until it boils"
            }
        }
    }
}

/// A solution of the heat balance. If the steady coolant temperature would be above the boiling point, this is the
/// state at which the coolant begins to boil.
#[derive(Clone, Copy, Debug)]
pub struct Warm {
    /// All heat flows.
    pub budget: Budget,
    /// State of the oil circuit.
    pub state: State,
    /// Operating point of the oil circuit.
    pub operating: Operating,
    /// Fan speed, rad/s: solved from the circuit, or imposed.
    pub fan_speed: f64,
    /// The reason why there is no steady state; `None` if there is one.
    pub heats: Option<NoSteadyState>,
    /// Number of solutions of the oil circuit.
    pub solves: usize,
    /// The case with the solved temperatures and command.
    pub case: Case,
}

/// Solves for fan speed, coolant, oil and air temperature together.
pub fn warm(case: &Case, asked: Asked) -> Result<Warm, Trouble> {
    warm_from(case, asked, None)
}

/// Solves the heat balance, starting from a solution assumed to be near.
pub fn warm_from(case: &Case, asked: Asked, near: Option<&Warm>) -> Result<Warm, Trouble> {
    warm_below(case, asked, near, boils(case))
}

/// The same as [`warm_from`], but as if the coolant did not boil: an extrapolation that shows a search in which
/// direction the coolant temperature falls.
pub fn warm_past_boiling(case: &Case, asked: Asked, near: Option<&Warm>) -> Result<Warm, Trouble> {
    warm_below(case, asked, near, HIGH[0])
}

/// Solves the heat balance; the coolant is taken to boil above the temperature `boils` (K).
fn warm_below(case: &Case, asked: Asked, near: Option<&Warm>, boils: f64) -> Result<Warm, Trouble> {
    let parts = Parts::of(case).ok_or_else(|| missing(case))?;
    check_conditions(case)?;
    let mut low = LOW;
    if asked.find == Find::Coolant && parts.thermostat.least <= 0.0 {
        // Below the opening temperature no coolant flows through the core, and the residual has no slope.
        low[0] = parts.thermostat.opens + 0.01;
    }
    let mut balance = Balance::of(case, asked, near.map(|w| &w.operating));
    balance.low = low;
    let middle = 0.5 * (parts.thermostat.opens + parts.thermostat.full);
    let start = match (near, asked.find) {
        (Some(w), Find::Coolant) => [w.budget.coolant_temp, w.budget.oil_temp, w.budget.air_temp],
        (Some(w), Find::Ambient) => [w.budget.ambient, w.budget.oil_temp, w.budget.air_temp],
        (None, Find::Coolant) => [middle, case.now.oil_temp, case.now.ambient + 30.0],
        (None, Find::Ambient) => [
            parts.coolant.limit - 60.0,
            case.now.oil_temp,
            parts.coolant.limit - 30.0,
        ],
    };
    let start = [0, 1, 2].map(|i| start[i].clamp(low[i], HIGH[i]));
    let first = balance.at(start)?;
    if parts.pump.flow_at(case.now.engine_speed) * parts.thermostat.most <= 0.0 {
        return Ok(finished(
            first,
            Some(NoSteadyState::CoolantStands),
            &balance,
        ));
    }
    let still = |point: &Point| point.budget.airflow.mass <= STILL;
    let (stands, others) = (still(&first), [first.x[1], first.x[2]]);
    if stands {
        // Below boiling the fan control may still request nothing.
        let hottest = match asked.find {
            Find::Coolant => balance.inner(boils, others, Search::Others)?,
            Find::Ambient => first,
        };
        if still(&hottest) {
            return Ok(finished(hottest, Some(NoSteadyState::AirStands), &balance));
        }
        return lowest(balance, others, boils);
    }
    let found = balance.newton(first, Search::Whole)?;
    let (mut point, mut held) = match (found, asked.find) {
        (Some(found), _) => found,
        (None, Find::Coolant) if boils < HIGH[0] => return lowest(balance, others, boils),
        (None, _) => balance.fallback()?,
    };
    if asked.find == Find::Coolant {
        let jumped = near.is_none_or(|w| (w.budget.coolant_temp - point.x[0]).abs() > NEAR);
        if (jumped || held[0])
            && balance.may_have_passed(&point, boils)?
            && let Some(lower) = balance.lowest(point.x[0].min(boils))?
        {
            (point, held) = lower;
        }
        if held[0] || point.x[0] > boils {
            let point = balance.inner(boils, [point.x[1], point.x[2]], Search::Others)?;
            return Ok(finished(point, Some(NoSteadyState::Coolant), &balance));
        }
    }
    ended(point, held, &balance)
}

/// The lowest steady state below `boils` (K), or the state at which the coolant boils, sought from oil and air at
/// `others` (K).
fn lowest(mut balance: Balance<'_>, others: [f64; 2], boils: f64) -> Result<Warm, Trouble> {
    if let Some((point, held)) = balance.lowest(boils)? {
        return ended(point, held, &balance);
    }
    let hottest = balance.inner(boils, others, Search::Others)?;
    Ok(finished(hottest, Some(NoSteadyState::Coolant), &balance))
}

/// Distance, K, from a state assumed to be near, within which a steady state counts as the continuation of it.
const NEAR: f64 = 5.0;

/// The result for a point found, with the unknowns held at a bound.
fn ended(point: Point, held: [bool; 3], balance: &Balance<'_>) -> Result<Warm, Trouble> {
    let heats = match held {
        [true, ..] => Some(NoSteadyState::Coolant),
        [_, true, _] => Some(NoSteadyState::Oil),
        _ => None,
    };
    if heats.is_none() && point.size([false; 3]) > balance.asked.closed.max(1e-6) {
        return Err(Trouble::no_answer(
            format!(
                "the heat balance did not converge: residual {:.2} W in the coolant, {:.2} W in the oil, {:.2} W in the air",
                point.budget.left[0], point.budget.left[1], point.budget.left[2]
            ),
            "temperatures at which heat in equals heat out",
        )
        .hint("check for an input far outside its usual range"));
    }
    Ok(finished(point, heats, balance))
}

/// The temperature, K, at which a machine that is already that hot stays hot, although one that warms up from cold
/// settles at the steady state `cool`: the higher of two steady states lies there, or it boils. `None` if it cools down.
pub fn stays_hot(cool: &Warm, asked: Asked) -> Option<f64> {
    let mut balance = Balance::of(&cool.case, asked, None);
    let b = &cool.budget;
    let point = balance.at([b.coolant_temp, b.oil_temp, b.air_temp]).ok()?;
    let steady = cool.heats.is_none() && asked.find == Find::Coolant;
    balance
        .stays_hot(&point, boils(&cool.case))
        .ok()?
        .filter(|_| steady)
}

/// The higher of two estimates of the coolant's boiling point, K (sources differ); the model is not used above it.
pub fn boils(case: &Case) -> f64 {
    case.coolant.as_ref().map_or(HIGH[0], |c| {
        let [_, high] = coolant::boiling(c.glycol, c.cap, case.now.altitude);
        high
    })
}

/// Number of intervals into which the temperature rise to boiling is divided for integration.
const PIECES: usize = 12;

/// Shortest and longest time, s, for coolant at `from` (K) to boil; oil and air are in quasi-steady state. The shortest
/// is to the lower estimate of the boiling point without the heat stored in slow engine metal and core, the longest to
/// the upper estimate with it. `None` if the coolant does not boil.
pub fn time_to_boil(case: &Case, asked: Asked, from: f64) -> Option<[f64; 2]> {
    let c = case.coolant.as_ref()?;
    let capacities = Capacities::of(case)?;
    let quick = capacities.metal + capacities.coolant;
    let asked = Asked {
        find: Find::Coolant,
        ..asked
    };
    let mut balance = Balance::of(case, asked, None);
    let mut others = [case.now.oil_temp, case.now.ambient + 30.0];
    let mut takes = |to: f64, capacity: f64| {
        let piece = (to - from) / PIECES as f64;
        (0..PIECES).try_fold(0.0, |sum, k| {
            let at = from + piece * (k as f64 + 0.5);
            let point = balance.inner(at, others, Search::Others).ok()?;
            others = [point.x[1], point.x[2]];
            let left = point.budget.left[0];
            (left > 0.0).then(|| sum + capacity * piece / left)
        })
    };
    let [low, high] = coolant::boiling(c.glycol, c.cap, case.now.altitude);
    if from >= low {
        return Some([0.0; 2]);
    }
    let slow = quick + capacities.slow + capacities.core;
    Some([takes(low, quick)?, takes(high, slow)?])
}

/// Lowest limiting ambient temperature that is reported, K; if the result is below it, no ambient temperature counts as
/// low enough.
pub const COLDEST: f64 = celsius(-50.0);

/// The state at the ambient temperature at which the coolant reaches its limit, with the thermostat open and the fan at
/// full command; this may be an ambient temperature that does not occur in practice. `None` if the thermostat is not
/// open at that limit, or no ambient temperature is low enough.
pub fn at_limit(case: &Case, asked: Asked, near: Option<&Warm>) -> Option<Warm> {
    let limit = case.coolant.as_ref()?.limit;
    if !case.thermostat.as_ref()?.is_open(limit) {
        return None;
    }
    let mut case = *case;
    case.now.command = 1.0;
    // The case's ambient temperature is not used here, but must pass the check of the operating conditions.
    case.now.ambient = case.now.ambient.min(limit - 1.0);
    let found = warm_from(&case, at_limit_asked(asked), near).ok()?;
    found.heats.is_none().then_some(found)
}

/// The heat balance settings that [`at_limit`] uses.
pub fn at_limit_asked(asked: Asked) -> Asked {
    Asked {
        automatic: false,
        find: Find::Ambient,
        ..asked
    }
}

fn finished(point: Point, heats: Option<NoSteadyState>, balance: &Balance<'_>) -> Warm {
    let state = State::found(&point.case, &point.operating);
    Warm {
        fan_speed: balance.omega(&state),
        budget: point.budget,
        state,
        operating: point.operating,
        heats,
        solves: balance.solves,
        case: point.case,
    }
}

/// Checks that machine and operating condition permit a heat balance.
fn check_conditions(case: &Case) -> Result<(), Trouble> {
    sound_machine(case)?;
    if case.now.engine_speed <= 0.0 {
        return Err(Trouble::no_answer(
            "the engine is stopped, so there is no heat and no steady state",
            "a running engine",
        ));
    }
    if let Some(c) = &case.coolant
        && case.now.ambient >= c.limit
    {
        return Err(Trouble::input(
            format!(
                "ambient air at {:.0} °C, not below the coolant limit of {:.0} °C",
                case.now.ambient - 273.15,
                c.limit - 273.15
            ),
            "air that can cool the coolant",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::Input;
    use crate::model::{Ask, Lookup};

    #[test]
    fn a_steady_state_moves_as_its_tangent_says() {
        let mut case = Ask::about("light-truck")
            .resolve(Lookup::LibraryOnly)
            .unwrap()
            .case;
        (case.now.ambient, case.now.air_conditioning) = (celsius(38.0), 1.0);
        let found = warm(&case, Asked::STEADY).unwrap();
        let tangent = found.tangent(Asked::STEADY).unwrap();
        for (key, step) in [
            ("now.ambient", 0.05),
            ("core.conductance", 2.0),
            ("core.blocked", 1e-4),
            ("pump.slip", 1e-11),
            ("oil_heat.cooler", 0.1),
            ("air.recirculation", 1e-4),
        ] {
            let input = Input::find(key).unwrap();
            let [coolant, oil, air, back] = tangent.along(&case.along(input)).unwrap();
            let at = |by: f64| {
                let value = case.get(input).unwrap() + by;
                warm(&case.with(input, value), Asked::STEADY).unwrap()
            };
            let (more, less) = (at(step), at(-step));
            for (what, slope, more, less) in [
                (
                    "coolant",
                    coolant,
                    more.budget.coolant_temp,
                    less.budget.coolant_temp,
                ),
                ("oil", oil, more.budget.oil_temp, less.budget.oil_temp),
                ("air", air, more.budget.air_temp, less.budget.air_temp),
                (
                    "return",
                    back,
                    more.budget.return_temp,
                    less.budget.return_temp,
                ),
            ] {
                let by_steps = (more - less) / (2.0 * step);
                assert!(
                    (slope.eps - by_steps).abs() < 2e-3 * by_steps.abs() + 1e-6,
                    "{what} along {key}: {} and {by_steps} by steps",
                    slope.eps
                );
            }
        }
    }
}
