//! Heat from engine to coolant to air and from oil to air, solved together with the fan speed.

use super::budget::{Budget, Drive, Parts, missing, sound_machine};
use super::rates::Capacities;
use super::solve::{Operating, solve_from};
use super::state::{State, Turning};
use crate::fluid::coolant;
use crate::input::unit::celsius;
use crate::model::Case;
use crate::numeric::{Dual64, NoRoot, Real, falling_root_by_values};
use crate::trouble::Trouble;
use nalgebra::{Matrix3, Vector3};

/// Half-width (about 95 %) of the model error of a steady coolant temperature, K: an engineering assumption. Declared
/// here once for all uses.
pub const COOLANT_MODEL_HALF: f64 = 9.0;

/// Settings of the heat balance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Whether the fan control follows the coolant; otherwise the command is that of the condition.
    pub automatic: bool,
    /// A fan speed that is imposed, rad/s.
    pub fan_speed: Option<f64>,
    /// Whether the oil is held at the temperature of the condition.
    pub hold_oil: bool,
    /// The quantity solved for besides oil and air temperature.
    pub find: Find,
}

/// The quantity solved for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Find {
    /// Solve for the coolant temperature.
    Coolant,
    /// Solve for the ambient temperature at which the coolant reaches its limit.
    Ambient,
}

impl Asked {
    /// The steady state, with the fan control active if the machine has one.
    pub const STEADY: Asked = Asked {
        automatic: true,
        fan_speed: None,
        hold_oil: false,
        find: Find::Coolant,
    };
}

/// Why there is no steady state below boiling.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoSteadyState {
    /// The core cannot reject the engine's heat.
    Coolant,
    /// The oil cannot reject its heat.
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
                "the oil cannot reject the heat of the drive's losses: it heats up without limit"
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

/// A warm state. Nothing is computed beyond boiling: if the steady temperature is above the boiling point, this is the
/// state in which the coolant boils.
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
    /// Why there is no steady state; `None` if there is one.
    pub heats: Option<NoSteadyState>,
    /// Number of solutions of the oil circuit.
    pub solves: usize,
    /// The case with the solved temperatures and command.
    pub case: Case,
}

/// Lower bounds of the unknown temperatures, K: coolant or ambient, oil, air downstream of the core.
const LOW: [f64; 3] = [celsius(-120.0), celsius(-60.0), celsius(-120.0)];
const HIGH: [f64; 3] = [celsius(200.0), celsius(200.0), celsius(400.0)];

/// Maximum step of one Newton iteration, K.
const STRIDE: f64 = 40.0;

/// Maximum residual relative to the heat flow.
const CLOSED: f64 = 1e-10;

/// The balance as a function of its three unknowns.
pub(super) struct Balance<'a> {
    case: &'a Case,
    asked: Asked,
    /// The last fan speed, rad/s: starting value of the next solution.
    near: f64,
    /// Lower bounds of the unknowns for Newton's method.
    low: [f64; 3],
    solves: usize,
}

/// One evaluation of the heat balance.
struct Point {
    x: [f64; 3],
    case: Case,
    operating: Operating,
    budget: Budget,
    /// Relative residuals.
    off: [f64; 3],
    scale: [f64; 3],
}

impl Point {
    fn size(&self, held: [bool; 3]) -> f64 {
        (0..3)
            .filter(|i| !held[*i])
            .fold(0.0, |most, i| self.off[i].abs().max(most))
    }
}

impl<'a> Balance<'a> {
    /// The balance of a case; the search starts from a fan speed, rad/s, if one is near.
    pub(super) fn of(case: &'a Case, asked: Asked, near: f64) -> Self {
        Self {
            case,
            asked,
            near,
            low: LOW,
            solves: 0,
        }
    }
}

impl Balance<'_> {
    /// The case and the coolant temperature at the unknowns.
    pub(super) fn set<N: Real>(&self, mut case: Case<N>, x: [N; 3]) -> (Case<N>, N) {
        let coolant = match self.asked.find {
            Find::Coolant => x[0],
            Find::Ambient => {
                case.now.ambient = x[0];
                case.coolant.as_ref().map_or(N::from(f64::NAN), |c| c.limit)
            }
        };
        case.now.oil_temp = x[1];
        case.now.air_temp = x[2];
        if let (true, Some(control)) = (self.asked.automatic, &case.fan_control) {
            case.now.command = control.command(coolant, case.now.air_conditioning);
        }
        (case, coolant)
    }

    fn budget<N: Real>(
        &self,
        case: &Case<N>,
        (state, air): (&State<N>, f64),
        coolant: N,
        oil: N,
    ) -> Result<Budget<N>, Trouble> {
        let omega = self.asked.fan_speed.map_or(state.fan_speed, N::from);
        let drive = Drive {
            omega,
            pump_power: state.pump_shaft_power,
            fan_power: state.fan_shaft_power,
            air,
        };
        let mut budget =
            Budget::of(case, &drive, coolant, None).ok_or_else(|| missing(self.case))?;
        if self.asked.hold_oil {
            // A substitute equation that holds the oil temperature.
            budget.left[1] = -(oil - self.case.now.oil_temp) * 100.0;
        }
        Ok(budget)
    }

    fn at(&mut self, x: [f64; 3]) -> Result<Point, Trouble> {
        let (case, coolant) = self.set(*self.case, x);
        let operating = solve_from(&case, self.near)?;
        self.solves += 1;
        if operating.omega > 0.0 {
            self.near = operating.omega;
        }
        let state = State::found(&case, &operating);
        let budget = self.budget(&case, (&state, operating.air), coolant, x[1])?;
        let flowing = budget.engine_heat.abs().max(100.0);
        let scale = [flowing, budget.oil_heat.abs().max(10.0), flowing];
        let off = [0, 1, 2].map(|i| budget.left[i] / scale[i]);
        Ok(Point {
            x,
            case,
            operating,
            budget,
            off,
            scale,
        })
    }

    /// The heat flows, with derivatives along those that `case` carries and along one of the unknowns.
    pub(super) fn along<N: Real>(
        &self,
        case: &Case<N>,
        turning: &Turning,
        x: [N; 3],
    ) -> Option<Budget<N>> {
        let (case, coolant) = self.set(*case, x);
        let state = turning.along(&case);
        let air = turning.operating().air;
        self.budget(&case, (&state, air), coolant, x[1]).ok()
    }

    /// Derivatives along the unknowns at `x`: of the residuals, one column per unknown, and of the coolant's return temperature.
    pub(super) fn across(
        &self,
        turning: &Turning,
        x: [f64; 3],
    ) -> Option<(Matrix3<f64>, [f64; 3])> {
        let case = self.case.constant();
        let (mut left, mut back) = (Matrix3::zeros(), [0.0; 3]);
        for (k, back) in back.iter_mut().enumerate() {
            let moving = [0, 1, 2].map(|i| Dual64::new(x[i], if i == k { 1.0 } else { 0.0 }));
            let budget = self.along(&case, turning, moving)?;
            left.set_column(k, &Vector3::from(budget.left.map(|r| r.eps)));
            *back = budget.return_temp.eps;
        }
        Some((left, back))
    }

    /// Derivatives of the residuals along each unknown.
    fn slopes(&self, point: &Point) -> Result<Matrix3<f64>, Trouble> {
        let turning = Turning::of(&point.case, &point.operating);
        let (left, _) = self
            .across(&turning, point.x)
            .ok_or_else(|| missing(self.case))?;
        Ok(Matrix3::from_fn(|i, k| left[(i, k)] / point.scale[i]))
    }

    /// Newton's method from a starting point. With `fixed` the first unknown is held. An unknown that surplus heat
    /// drives to its upper bound is held there.
    fn newton(
        &mut self,
        mut point: Point,
        fixed: bool,
    ) -> Result<Option<(Point, [bool; 3])>, Trouble> {
        let mut held = [fixed, false, false];
        for _ in 0..20 {
            if point.size(held) <= CLOSED {
                return Ok(Some((point, held)));
            }
            if point.x[0] <= self.low[0] && point.off[0] < 0.0 && !fixed {
                return Ok(None);
            }
            let mut slopes = self.slopes(&point)?;
            let mut value = Vector3::from(point.off);
            for i in (0..3).filter(|i| held[*i]) {
                slopes.row_mut(i).fill(0.0);
                slopes[(i, i)] = 1.0;
                value[i] = 0.0;
            }
            let step = slopes
                .lu()
                .solve(&-value)
                .unwrap_or(Vector3::repeat(f64::NAN));
            let longest = step.amax();
            if !longest.is_finite() {
                return Ok(None);
            }
            let mut stride = (STRIDE / longest.max(1e-9)).min(1.0);
            let size = point.size(held);
            for tries in 0..4 {
                let x =
                    [0, 1, 2].map(|i| (point.x[i] + stride * step[i]).clamp(self.low[i], HIGH[i]));
                let next = self.at(x)?;
                if next.size(held) < size * (1.0 - 0.1 * stride) || tries == 3 {
                    point = next;
                    break;
                }
                stride *= 0.4;
            }
            for (i, held) in held.iter_mut().enumerate() {
                let against = point.x[i] >= HIGH[i] && point.off[i] > 0.0;
                *held = (fixed && i == 0) || (against && self.asked.find == Find::Coolant);
            }
        }
        Ok(None)
    }

    /// Fallback if Newton's method fails above the thermostat's opening temperature: first below it, where block and
    /// cabin heater reject all heat, else by nested search.
    fn fallback(&mut self, parts: &Parts<'_, f64>) -> Result<(Point, [bool; 3]), Trouble> {
        self.low = LOW;
        if self.asked.find == Find::Coolant && parts.thermostat.least <= 0.0 {
            let ambient = self.case.now.ambient;
            let shut = [
                parts.thermostat.opens - 5.0,
                self.case.now.oil_temp,
                ambient,
            ];
            let begin = self.at(shut)?;
            if let Some(found) = self.newton(begin, false)? {
                return Ok(found);
            }
        }
        self.nested()
    }

    /// Nested root search: the first unknown by bracketing, the others solved inside. Slow but reliable, because the
    /// residual heat falls with temperature.
    fn nested(&mut self) -> Result<(Point, [bool; 3]), Trouble> {
        let up = match self.asked.find {
            Find::Coolant => 1.0,
            Find::Ambient => -1.0,
        };
        let mut others = [self.case.now.oil_temp, self.case.now.ambient + 30.0];
        let root = falling_root_by_values(
            |a| {
                let point = self.inner(a, others)?;
                others = [point.x[1], point.x[2]];
                Ok::<_, Trouble>(up * point.off[0])
            },
            LOW[0],
            HIGH[0],
        )?;
        let point = self.inner(end(root, LOW[0], HIGH[0]), others)?;
        let held = [0, 1, 2].map(|i| point.x[i] >= HIGH[i] && point.off[i] > 0.0);
        Ok((point, held))
    }

    /// Oil and air temperature for a value of the first unknown: by Newton's method, else by nested search.
    fn inner(&mut self, a: f64, start: [f64; 2]) -> Result<Point, Trouble> {
        let begin = self.at([a, start[0], start[1]])?;
        if let Some((point, _)) = self.newton(begin, true)? {
            return Ok(point);
        }
        let oil = falling_root_by_values(
            |oil| {
                let air = self.air(a, oil)?;
                Ok::<_, Trouble>(self.at([a, oil, air])?.off[1])
            },
            LOW[1],
            HIGH[1],
        )?;
        let oil = end(oil, LOW[1], HIGH[1]);
        let air = self.air(a, oil)?;
        self.at([a, oil, air])
    }

    fn air(&mut self, a: f64, oil: f64) -> Result<f64, Trouble> {
        let found = falling_root_by_values(
            |air| Ok::<_, Trouble>(self.at([a, oil, air])?.off[2]),
            LOW[2],
            HIGH[2],
        )?;
        Ok(end(found, LOW[2], HIGH[2]))
    }
}

/// The root, or the bound beyond which the root is.
fn end(root: Result<f64, NoRoot>, low: f64, high: f64) -> f64 {
    match root {
        Ok(x) => x,
        Err(NoRoot::Below(_)) => low,
        Err(_) => high,
    }
}

/// Solves for fan speed, coolant, oil and air temperature together.
pub fn warm(case: &Case, asked: Asked) -> Result<Warm, Trouble> {
    warm_from(case, asked, None)
}

/// Solves the heat balance, starting from a warm state assumed to be near.
pub fn warm_from(case: &Case, asked: Asked, near: Option<&Warm>) -> Result<Warm, Trouble> {
    warm_below(case, asked, near, boils(case))
}

/// The same as if the coolant did not boil: an extrapolation by which a search sees on which side it is cooler.
pub fn warm_past_boiling(case: &Case, asked: Asked, near: Option<&Warm>) -> Result<Warm, Trouble> {
    warm_below(case, asked, near, HIGH[0])
}

/// Solves the heat balance; coolant above `boils` (K) counts as boiling.
fn warm_below(case: &Case, asked: Asked, near: Option<&Warm>, boils: f64) -> Result<Warm, Trouble> {
    let parts = Parts::of(case).ok_or_else(|| missing(case))?;
    check_conditions(case)?;
    let mut low = LOW;
    if asked.find == Find::Coolant && parts.thermostat.least <= 0.0 {
        // Below the opening temperature no coolant flows through the core, and the residual has no slope.
        low[0] = parts.thermostat.opens + 0.01;
    }
    let mut balance = Balance {
        low,
        ..Balance::of(case, asked, near.map_or(f64::NAN, |w| w.operating.omega))
    };
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
    let stands = if parts.pump.flow_at(case.now.engine_speed) * parts.thermostat.most <= 0.0 {
        Some(NoSteadyState::CoolantStands)
    } else if first.budget.airflow.mass <= 1e-9 {
        Some(NoSteadyState::AirStands)
    } else {
        None
    };
    if let Some(heats) = stands {
        return Ok(finished(first, Some(heats), &balance));
    }
    let (point, held) = match balance.newton(first, false)? {
        Some(found) => found,
        None => balance.fallback(&parts)?,
    };
    if asked.find == Find::Coolant && (held[0] || point.x[0] > boils) {
        let point = balance.inner(boils, [point.x[1], point.x[2]])?;
        return Ok(finished(point, Some(NoSteadyState::Coolant), &balance));
    }
    let heats = match held {
        [true, ..] => Some(NoSteadyState::Coolant),
        [_, true, _] => Some(NoSteadyState::Oil),
        _ => None,
    };
    if heats.is_none() && point.size([false; 3]) > 1e-6 {
        return Err(Trouble::no_answer(
            format!(
                "the heat balance did not converge: residual {:.2} W in the coolant, {:.2} W in the oil, {:.2} W in the air",
                point.budget.left[0], point.budget.left[1], point.budget.left[2]
            ),
            "temperatures at which heat in equals heat out",
        )
        .hint("check for an input far outside its usual range"));
    }
    Ok(finished(point, heats, &balance))
}

/// The upper estimate of the boiling point, K, as sources differ; the model is not used above it.
pub fn boils(case: &Case) -> f64 {
    case.coolant.as_ref().map_or(HIGH[0], |c| {
        let [_, high] = coolant::boiling(c.glycol, c.cap, case.now.altitude);
        high
    })
}

/// Number of intervals into which the rise to boiling is divided.
const PIECES: usize = 12;

/// Time, s, for coolant at `from` (K) to boil, at the lower and at the upper estimate of the boiling point; oil and air
/// are in quasi-steady state. The minimum excludes the metal that warms slowly, the maximum includes it. `None` if the
/// coolant does not boil.
pub fn time_to_boil(case: &Case, asked: Asked, from: f64) -> Option<[f64; 2]> {
    let c = case.coolant.as_ref()?;
    let capacities = Capacities::of(case)?;
    let quick = capacities.metal + capacities.coolant;
    let asked = Asked {
        find: Find::Coolant,
        ..asked
    };
    let mut balance = Balance::of(case, asked, f64::NAN);
    let mut others = [case.now.oil_temp, case.now.ambient + 30.0];
    let mut takes = |to: f64, capacity: f64| {
        let piece = (to - from) / PIECES as f64;
        (0..PIECES).try_fold(0.0, |sum, k| {
            let at = from + piece * (k as f64 + 0.5);
            let point = balance.inner(at, others).ok()?;
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

/// Lowest limiting ambient temperature that is reported, K; below it, no ambient temperature is low enough.
pub const COLDEST: f64 = celsius(-50.0);

/// The state at the ambient temperature at which the coolant reaches its limit, with the thermostat open and the fan at
/// full command; this ambient temperature need not occur in practice. `None` if the thermostat would not be open, or no
/// ambient temperature is low enough.
pub fn at_limit(case: &Case, asked: Asked, near: Option<&Warm>) -> Option<Warm> {
    let limit = case.coolant.as_ref()?.limit;
    if !case.thermostat.as_ref()?.is_open(limit) {
        return None;
    }
    let mut case = *case;
    case.now.command = 1.0;
    // The ambient temperature of the case has no effect here.
    case.now.ambient = case.now.ambient.min(limit - 1.0);
    let found = warm_from(&case, at_limit_asked(asked), near).ok()?;
    found.heats.is_none().then_some(found)
}

/// The settings of [`at_limit`]'s balance.
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
        fan_speed: balance.asked.fan_speed.unwrap_or(state.fan_speed),
        budget: point.budget,
        state,
        operating: point.operating,
        heats,
        solves: balance.solves,
        case: point.case,
    }
}

/// Conditions that must be met before heat can be balanced.
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

    #[test]
    fn the_slow_way_finds_what_newton_finds() {
        let mut case = Ask::about("light-truck")
            .resolve(Lookup::LibraryOnly)
            .unwrap()
            .case;
        case.now.ambient = celsius(38.0);
        for find in [Find::Coolant, Find::Ambient] {
            let asked = Asked {
                find,
                ..Asked::STEADY
            };
            let quick = warm(&case, asked).unwrap();
            let mut balance = Balance::of(&case, asked, f64::NAN);
            let (slow, held) = balance.nested().unwrap();
            assert_eq!(held, [false; 3]);
            let x = [
                quick.budget.coolant_temp,
                quick.budget.oil_temp,
                quick.budget.air_temp,
            ];
            let y = [
                slow.budget.coolant_temp,
                slow.budget.oil_temp,
                slow.budget.air_temp,
            ];
            for k in 0..3 {
                assert!((x[k] - y[k]).abs() < 1e-4, "{find:?} {k}: {x:?} {y:?}");
            }
        }
    }
}
