//! The operating point: the fan speed at which the pump's delivery equals the flow through motor and valves.

mod guess;
mod limits;

use super::limit::Limit;
use super::ready::{Bound, FanSide, Point, Port, Ready, View};
use crate::model::Case;
use crate::numeric::{Dual64, NoRoot, Over, Real, falling_root};
use crate::trouble::Trouble;
use guess::{builds_up, guess};
use limits::acting;

/// The mode of operation, which determines the unknown that is solved for to balance the circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Mode {
    /// The fan turns; the unknown is the fan speed.
    Running,
    /// The governor holds the fan speed; the unknown is the flow through the control valve.
    Governed,
    /// The fan is stopped; the unknown is how far the pressure has built up.
    Standing,
    /// The fan is stopped; the priority steering has full pressure but not its full flow. The unknown is the flow to
    /// the steering.
    Short,
}

/// The operating point of the oil circuit of a case.
#[derive(Clone, Copy, Debug)]
pub struct Operating {
    mode: Mode,
    /// Value of the unknown; its meaning depends on the mode.
    root: f64,
    /// Whether the residual flow crosses zero at `root`; otherwise the unknown is at a bound.
    sought: bool,
    /// Mass flow of air through the fan divided by fan speed, kg/rad.
    pub(super) air: f64,
    /// Fan speed, rad/s.
    pub omega: f64,
    /// What limits the fan speed.
    pub limit: Limit,
    /// The command applied to the valve.
    pub command: f64,
    /// Number of evaluations of the oil circuit that the search took.
    pub evaluations: usize,
}

/// The circuit with all limits.
fn whole<N>() -> View<N> {
    View {
        bound: Bound::Least,
        valve: Port::Real,
        relief: Port::Real,
    }
}

/// Finds the operating point.
pub fn solve(case: &Case) -> Result<Operating, Trouble> {
    solve_from(case, f64::NAN)
}

/// Finds the operating point, starting at a fan speed (rad/s) assumed to be near.
pub fn solve_from(case: &Case, start: f64) -> Result<Operating, Trouble> {
    solve_about(case, (start, f64::NAN))
}

/// Finds the operating point, starting from that of a similar case.
pub fn solve_near(case: &Case, near: &Operating) -> Result<Operating, Trouble> {
    solve_about(case, (near.omega, near.air))
}

fn solve_about(case: &Case, start: (f64, f64)) -> Result<Operating, Trouble> {
    balanced(&Ready::new(case), start)
}

/// Finds the operating point. `start` holds starting values of fan speed, rad/s, and of air mass flow divided by fan
/// speed, kg/rad; NaN if unknown.
pub(super) fn balanced(ready: &Ready<'_, f64>, start: (f64, f64)) -> Result<Operating, Trouble> {
    let case = ready.case;
    let Some(governor) = &case.governor else {
        return open_loop(ready, start);
    };
    let target = governor.full_speed * ready.command;
    if target <= 0.0 {
        return open_loop(&ready.commanded(0.0), start);
    }
    let side = ready.running(Dual64::from(target));
    let mut surplus = 0.0;
    // If full command leaves too little oil to reach the governed speed, or minimum command too much, the valve is at
    // an end position.
    for (asked, command) in [(1, 1.0), (2, 0.0)] {
        let end = ready.commanded(command);
        let point = end.point(side, whole());
        surplus = (point.residual + point.valve_flow).re;
        let short = if command > 0.5 {
            point.residual.re <= 0.0
        } else {
            point.residual.re >= 0.0
        };
        if short {
            let found = open_loop(&end, start)?;
            return Ok(Operating {
                evaluations: found.evaluations + asked,
                ..found
            });
        }
    }
    governed(ready, side, (target, surplus))
}

/// The operating point at the governed speed `target` (rad/s); `surplus` is the residual flow (m³/s) with the valve
/// shut.
fn governed(
    ready: &Ready<'_, f64>,
    side: FanSide<Dual64>,
    (target, surplus): (f64, f64),
) -> Result<Operating, Trouble> {
    let case = ready.case;
    let spill = |q| {
        ready.point(
            side,
            View {
                valve: Port::Given(q),
                ..whole()
            },
        )
    };
    let most = ready.case.pump.displacement * ready.pump_speed;
    let root = falling_root(|q| spill(q).residual, 0.0, most, surplus, most)
        .map_err(|why| lost("the bypass flow at the governed speed", why))?;
    let point = spill(Dual64::from(root.x));
    let opens_at = point.valve_drop.re - root.x * case.valve.slope;
    let span = case.valve.high - case.valve.low;
    let command = if span > 0.0 {
        ((opens_at - case.valve.low) / span).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let limit = if point.relief_flow.re > 0.0 {
        Limit::Relief
    } else {
        Limit::Valve
    };
    Ok(Operating {
        mode: Mode::Governed,
        root: root.x,
        sought: root.slope < 0.0,
        air: side.air,
        omega: target,
        limit,
        command,
        evaluations: root.evaluations + 2,
    })
}

impl Ready<'_, f64> {
    /// The residual flow, m³/s, and the gauge pressure at the pump outlet, Pa, with the fan running at `omega` (rad/s);
    /// with all limits, or only with the limit `alone`. The residual falls with increasing speed and is zero at the
    /// operating point.
    #[doc(hidden)]
    pub fn left_over(&self, alone: Option<Limit>, omega: Dual64) -> (Dual64, Dual64) {
        let view = alone.and_then(Limit::view).unwrap_or(whole());
        let point = self.point(self.running(omega), view);
        (point.residual, point.outlet)
    }

    /// Upper bound of the fan speed, rad/s: the speed at which the pump's whole swept flow passes through the motor
    /// without leakage; higher if the airflow may drive the fan.
    #[doc(hidden)]
    pub fn most_speed(&self) -> f64 {
        let swept = self.case.pump.displacement * self.pump_speed;
        let fed = (swept / self.case.motor.displacement) * (1.0 + 1e-9);
        if self.load.may_be_driven() {
            fed.max(2.0 * self.case.fan.rated_speed)
        } else {
            fed
        }
    }
}

/// Number of fan speeds at which the circuit is balanced, found by a scan in small steps. It is one, except in unusual
/// cases in which the airflow drives the fan.
pub fn crossings(case: &Case) -> usize {
    const STEPS: usize = 80;
    let ready = Ready::new(case);
    let high = ready.most_speed();
    let surplus = |k: usize| {
        let omega = Dual64::from(high * k as f64 / STEPS as f64);
        ready.left_over(None, omega).0.re > 0.0
    };
    let signs: Vec<bool> = (0..=STEPS).map(surplus).collect();
    signs.windows(2).filter(|pair| pair[0] != pair[1]).count()
}

fn open_loop(ready: &Ready<'_, f64>, (start, air): (f64, f64)) -> Result<Operating, Trouble> {
    let high = ready.most_speed();
    if high <= 0.0 {
        return Ok(Operating {
            mode: Mode::Standing,
            root: 0.0,
            sought: false,
            air: ready.load.rated_air(),
            omega: 0.0,
            limit: Limit::Standstill,
            command: ready.command,
            evaluations: 0,
        });
    }
    let scale = high * ready.case.motor.displacement;
    let start = if start.is_finite() {
        start
    } else {
        guess(ready)
    };
    let mut last = None;
    let mut evaluations = 0;
    let mut air = if air.is_finite() {
        air
    } else {
        ready.load.rated_air()
    };
    let residual = |omega: Dual64| {
        evaluations += 1;
        let side = ready.running_near(omega, air);
        air = side.air;
        let point = ready.point(side, whole());
        last = Some(point);
        point.residual
    };
    let root = match falling_root(residual, 0.0, high, start, scale) {
        Ok(root) if root.x > 0.0 => root,
        Ok(_) | Err(NoRoot::Below(_)) => return standing(ready, last.as_ref(), evaluations),
        Err(why) => return Err(lost("the fan speed", why)),
    };
    let limit = last.map_or(Limit::Displacement, |point| acting(ready, &point));
    Ok(Operating {
        mode: Mode::Running,
        root: root.x,
        sought: root.slope < 0.0,
        air,
        omega: root.x,
        limit,
        command: ready.command,
        evaluations,
    })
}

/// The operating point with the fan stopped; `turning` is the circuit at the starting pressure.
fn standing(
    ready: &Ready<'_, f64>,
    turning: Option<&Point<Dual64>>,
    before: usize,
) -> Result<Operating, Trouble> {
    let swept = ready.case.pump.displacement * ready.pump_speed;
    let (mut evaluations, first) = (before, ready.first_flow());
    let mut left = |side: FanSide<Dual64>| {
        evaluations += 1;
        ready.point(side, whole()).residual
    };
    let bounds = [ready.regulated, ready.inlet_bound].into_iter().flatten();
    let mut offered = bounds.fold(swept, |q, bound| q.min(bound));
    let (mut mode, mut low, mut high, mut start) = (Mode::Standing, 0.0, 1.0, f64::NAN);
    // Without flow from the pump, no pressure builds up. The residual then has a double root, which the search finds
    // quickly only if it starts there.
    let dry = offered <= 0.0;
    // The steering takes precedence over the motor: first its pressure builds up, then its flow if it has priority.
    if ready.case.steering.is_some() {
        let full = left(ready.standing(Dual64::new(0.0, 1.0)));
        let unfed = if first > 0.0 {
            left(ready.short(Dual64::new(0.0, 1.0)))
        } else {
            full
        };
        offered = full.re;
        if unfed.re <= 0.0 {
            let slope = left(ready.standing(Dual64::new(-f64::MIN_POSITIVE, 1.0))).eps;
            (low, high, start) = (-1.0, -f64::MIN_POSITIVE, unfed.re / slope.abs());
        } else if full.re <= 0.0 && first > 0.0 {
            (mode, high, start) = (Mode::Short, first, unfed.re.min(first));
        }
    }
    if dry {
        start = low;
    } else if !start.is_finite() {
        start = turning.map_or(0.7, |point| builds_up(ready, point, offered));
    }
    let side = |x: Dual64| match mode {
        Mode::Short => ready.short(x),
        _ => ready.standing(x),
    };
    // With the fan stopped, all flows are leakage, so residuals below 1e-11 of the pump's swept flow are negligible.
    let found = falling_root(|x| left(side(x)), low, high, start, 1e3 * swept);
    let (root, sought) = match found {
        Ok(root) => (root.x, root.slope < 0.0),
        Err(NoRoot::Below(_)) => (low, false),
        Err(NoRoot::Above(_)) => (high, false),
        // Bisection succeeds where misleading derivatives make the search fail; a NaN residual means that the pressure
        // is beyond the physical range.
        Err(NoRoot::Lost(..)) if high.is_finite() => {
            let positive = |x| left(side(Dual64::new(x, 0.0))).re > 0.0;
            (bisected(positive, low, high), false)
        }
        Err(why) => return Err(lost("the inlet pressure of the stopped motor", why)),
    };
    Ok(Operating {
        mode,
        root,
        sought,
        air: ready.load.rated_air(),
        omega: 0.0,
        limit: Limit::Standstill,
        command: ready.command,
        evaluations,
    })
}

/// Finds by bisection the argument at which a falling function ceases to be positive.
fn bisected(mut positive: impl FnMut(f64) -> bool, mut low: f64, mut high: f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if positive(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

fn lost(what: &str, why: NoRoot) -> Trouble {
    Trouble::no_answer(
        format!("the balance did not converge for {what}: {why}"),
        "a pump, motor and fan with a common operating point",
    )
    .hint("check for an input far outside its usual range")
}

impl Operating {
    /// The value of the unknown that balances the circuit.
    pub(super) fn root(&self) -> f64 {
        self.root
    }

    /// Change of the unknown that compensates a change of the residual, given the residual's derivative `slope` with
    /// respect to the unknown; `None` if the unknown is at a bound. The derivative must be computed at the root itself:
    /// the one from the search was computed at a nearby point, which matters where flows almost cancel.
    pub(super) fn gives<N: Real>(&self, residual: N, slope: f64) -> Option<N> {
        (self.sought && slope < 0.0).then(|| -residual / slope)
    }

    /// The circuit with the unknown set to a given value, and the resulting residual flow.
    pub(super) fn held<C: Real, N: Over<C>>(
        &self,
        ready: &Ready<'_, C>,
        unknown: N,
    ) -> (Point<N>, N) {
        // If the governor cannot hold its speed, the valve is at an end position.
        let saturated = ready.case.governor.is_some() && self.mode != Mode::Governed;
        let at_its_end;
        let ready = if saturated {
            at_its_end = ready.commanded(self.command);
            &at_its_end
        } else {
            ready
        };
        let side = match self.mode {
            Mode::Running => ready.running_near(unknown, self.air),
            Mode::Standing => ready.standing(unknown),
            Mode::Short => ready.short(unknown),
            Mode::Governed => {
                let governor = ready.case.governor.as_ref();
                let target = governor.map_or(N::from(self.omega), |g| {
                    N::still(g.full_speed * ready.command)
                });
                ready.running_near(target, self.air)
            }
        };
        let view = match self.mode {
            Mode::Governed => View {
                valve: Port::Given(unknown),
                ..whole()
            },
            _ => whole(),
        };
        let point = ready.point(side, view);
        let drawn = Point {
            pump: ready.actual_suction(&point),
            ..point
        };
        (drawn, point.residual)
    }

    /// With the fan stopped: the pressure difference available at the motor and that required to start it, Pa.
    pub fn start(case: &Case) -> Result<(f64, f64), Trouble> {
        let ready = Ready::new(case);
        let starts_at = case.motor.starts_at();
        let at = |drop: Dual64| {
            let side = FanSide {
                omega: Dual64::from(0.0),
                torque: Dual64::from(0.0),
                motor_drop: drop,
                steering: Dual64::from(1.0),
                first_flow: ready.first_flow().into(),
                air: ready.load.rated_air(),
            };
            ready.point(side, whole()).residual
        };
        let scale = case.pump.displacement * ready.pump_speed;
        if scale <= 0.0 {
            return Ok((0.0, starts_at));
        }
        match falling_root(at, 0.0, 1e9, starts_at.max(1e5), scale) {
            Ok(root) => Ok((root.x, starts_at)),
            Err(NoRoot::Below(_)) => Ok((0.0, starts_at)),
            Err(NoRoot::Above(_)) => Ok((1e9, starts_at)),
            Err(why) => Err(lost("the inlet pressure of the stopped motor", why)),
        }
    }
}
