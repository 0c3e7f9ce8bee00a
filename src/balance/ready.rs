//! A case less all that does not depend on fan speed, and the circuit at one fan speed.

use super::air::FanLoad;
use crate::fluid::air;
use crate::fluid::oil::OilNow;
use crate::input::Place;
use crate::law::free_air_polytropic as free_air;
use crate::law::leakage_schlosser_1961::gap;
use crate::model::Case;
use crate::numeric::{Dual64, NoRoot, Over, Real, falling_root, greater, lesser, positive, settle};
use crate::part::{Element, Line};

/// What no longer depends on the fan's speed.
#[derive(Clone, Copy, Debug)]
pub struct Ready<'a, N> {
    pub(super) case: &'a Case<N>,
    /// Density of the oil, kg/m³.
    pub(super) rho: N,
    pub(super) pump_oil: OilNow<N>,
    pub(super) pump_drag_mu: N,
    pub(super) motor_oil: OilNow<N>,
    pub(super) motor_drag_mu: N,
    pub(super) lines_oil: OilNow<N>,
    pub(super) inlet_oil: OilNow<N>,
    pub(super) air: N,
    /// Pressure of the outer air, Pa absolute.
    pub(super) atmosphere: N,
    /// Pump speed if the belt does not slip, rad/s.
    pub(super) pump_speed: N,
    /// What the regulator holds, m³/s.
    pub(super) regulated: Option<N>,
    /// What the inlet lets through, m³/s, where that is less than the pump would take.
    pub(super) inlet_bound: Option<N>,
    /// Pressure at the pump's inlet, Pa absolute.
    pub(super) inlet_pressure: N,
    /// The command that reaches the valve.
    pub(super) command: N,
    /// Where the valve opens, Pa.
    pub(super) opens_at: N,
    pub(super) load: FanLoad<N>,
    /// Area of the gaps through which pump and motor leak where density holds back, m².
    pub(super) pump_gap: N,
    pub(super) motor_gap: N,
}

/// Which of the pump's bounds counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Bound {
    Least,
    Displacement,
    Inlet,
    Regulator,
}

/// How a valve is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Port<N> {
    /// As it is: open above its setting.
    Real,
    Shut,
    /// As if it went on below its setting with negative flow, which the lines do not carry.
    Open,
    Given(N),
}

impl<N: Real> Port<N> {
    /// What a valve passes, m³/s, of which `open` is the flow as if it were open, negative below its setting.
    fn passes(self, open: impl FnOnce() -> N) -> N {
        match self {
            Port::Real => positive(open()),
            Port::Open => open(),
            Port::Shut => N::from(0.0),
            Port::Given(q) => q,
        }
    }
}

/// How the circuit is taken: as it is, or one limit alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct View<N> {
    pub bound: Bound,
    pub valve: Port<N>,
    pub relief: Port<N>,
}

/// What turns the fan's side of the circuit: speed and pressure over the motor, and how far steering holds against it.
#[derive(Clone, Copy, Debug)]
pub(super) struct FanSide<N> {
    pub omega: N,
    pub torque: N,
    pub motor_drop: N,
    /// Share of the steering's pressure that stands: 1 with oil running.
    pub steering: N,
    /// Air that the fan draws, kg for each rad: where the search for it may start at a speed nearby.
    pub air: f64,
}

/// The circuit at one fan speed: pressures in Pa, gauge, flows in m³/s.
#[derive(Clone, Copy, Debug)]
pub(super) struct Point<N> {
    pub fan: FanSide<N>,
    pub motor_flow: N,
    pub motor_slip: N,
    /// Flow that the anti-cavitation check brings round the motor; `motor_flow` is less by it.
    pub check_flow: N,
    pub valve_drop: N,
    pub valve_flow: N,
    /// Flow through supply and return.
    pub line_flow: N,
    pub supply_drop: N,
    pub behind: Behind<N>,
    /// Pressure of the fan's path at the pump.
    pub fan_path: N,
    /// Pressure at the pump's outlet.
    pub outlet: N,
    pub relief_flow: N,
    /// Flow that steering takes first.
    pub first_flow: N,
    pub pump: Pumped<N>,
    /// Flow that is left over: zero at the balance.
    pub residual: N,
}

impl<N: Real> Point<N> {
    /// A number as it is while the pump turns, and zero where it stands.
    pub fn while_pumping(&self, x: N) -> N {
        if self.pump.speed.re() > 0.0 {
            x
        } else {
            N::from(0.0)
        }
    }
}

/// What stands between motor and reservoir, Pa.
#[derive(Clone, Copy, Debug)]
pub(super) struct Behind<N> {
    pub return_drop: N,
    pub filter_drop: N,
    pub cooler_drop: N,
    /// Zero where steering is fed first.
    pub steering_drop: N,
    /// Gauge pressure behind the motor: all of them and the reservoir's.
    pub pressure: N,
}

/// The pump at one pressure.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pumped<N> {
    /// Pressure difference over it, Pa.
    pub drop: N,
    pub belt_slip: N,
    /// Its speed, rad/s.
    pub speed: N,
    /// Volume that its chambers sweep, m³/s.
    pub swept: N,
    /// Share of it that is left at the outlet's pressure: free air shrinks.
    pub liquid: N,
    /// What it would deliver if nothing but its size bound it, m³/s.
    pub displaced: N,
    /// What it delivers, m³/s.
    pub flow: N,
}

fn suction_drop<C: Real, N: Over<C>>(
    line: &Line<C>,
    screen: Option<&Element<C>>,
    q: N,
    nu: C,
    rho: C,
) -> N {
    let screen = screen.map_or(N::from(0.0), |s| s.drop(q, nu * rho));
    line.drop(q, N::still(nu), rho) + screen
}

impl<'a, N: Real> Ready<'a, N> {
    /// Works out what does not depend on the fan's speed.
    pub fn new(case: &'a Case<N>) -> Self {
        let oil_at = case.oils();
        let rho = oil_at(Place::Density).rho;
        let atmosphere = air::pressure(case.now.altitude);
        let pump_speed = case.now.engine_speed * case.pump.ratio;
        let swept = case.pump.displacement * pump_speed;
        let regulated = case
            .regulator
            .as_ref()
            .map(|r| r.flow(oil_at(Place::Regulator).nu, rho));
        let carried = match regulated {
            Some(q) if case.shape.recirculates => lesser(swept, q),
            _ => swept,
        };
        let command = case.control.passes(case.now.command, case.shape.unplugged);
        let mut ready = Self {
            case,
            rho,
            pump_oil: oil_at(Place::PumpSlip),
            pump_drag_mu: oil_at(Place::Belt).clearance(rho, N::from(0.0)),
            motor_oil: oil_at(Place::MotorSlip),
            motor_drag_mu: oil_at(Place::MotorDrag).clearance(rho, N::from(0.0)),
            lines_oil: oil_at(Place::Lines),
            inlet_oil: oil_at(Place::Inlet),
            air: oil_at(Place::FreeAir).air,
            atmosphere,
            pump_speed,
            regulated,
            inlet_bound: None,
            inlet_pressure: atmosphere + case.reservoir.pressure,
            command,
            opens_at: case.valve.opens_at(command),
            load: FanLoad::of(case),
            pump_gap: gap(case.pump.displacement),
            motor_gap: gap(case.motor.displacement),
        };
        let tank = ready.inlet_pressure;
        ready.inlet_pressure = tank - ready.suction_drop(carried);
        if ready.inlet_pressure.re() < case.pump.least_inlet.re() {
            ready.inlet_bound = Some(ready.inlet_limit(carried.re()));
            ready.inlet_pressure = lesser(case.pump.least_inlet, tank);
        }
        ready
    }

    /// The same with the valve at another command.
    pub(super) fn commanded(&self, command: f64) -> Self {
        let command = N::from(command);
        Self {
            command,
            opens_at: self.case.valve.opens_at(command),
            ..*self
        }
    }

    /// Pressure drop in the suction, Pa, at a flow (m³/s).
    fn suction_drop(&self, q: N) -> N {
        suction_drop(
            &self.case.suction,
            self.case.screen.as_ref(),
            q,
            self.inlet_oil.nu,
            self.rho,
        )
    }

    /// The flow, m³/s, at which the inlet pressure is down to the least at which the pump fills; `most` brackets it.
    pub(super) fn inlet_limit(&self, most: f64) -> N {
        let spare = self.atmosphere + self.case.reservoir.pressure - self.case.pump.least_inlet;
        if spare.re() <= 0.0 {
            return N::from(0.0);
        }
        let line = self.case.suction.map(&mut |_, v| v.re());
        let screen = self.case.screen.as_ref();
        let screen = screen.map(|s| s.map(&mut |_, v| v.re()));
        let (nu, rho) = (self.inlet_oil.nu.re(), self.rho.re());
        let left = |q: Dual64| -suction_drop(&line, screen.as_ref(), q, nu, rho) + spare.re();
        // The drop grows with a power of the flow.
        let full = left(Dual64::new(most, 1.0));
        let drop = spare.re() - full.re;
        let power = -full.eps * most / drop;
        let start = most * (spare.re() / drop).powf(power.recip());
        match falling_root(left, 0.0, most, start, spare.re()) {
            Ok(root) => settle(
                root.x,
                root.slope,
                spare - self.suction_drop(N::from(root.x)),
            ),
            Err(NoRoot::Below(_)) => N::from(0.0),
            Err(_) => N::from(most),
        }
    }

    /// The fan running at `omega`, rad/s.
    pub(super) fn running<M: Over<N>>(&self, omega: M) -> FanSide<M> {
        self.running_near(omega, self.load.rated_air())
    }

    /// The same, where it is known about how much air it draws, kg for each rad.
    pub(super) fn running_near<M: Over<N>>(&self, omega: M, air: f64) -> FanSide<M> {
        let (torque, air) = self.load.torque(omega, air);
        let motor_drop = self
            .case
            .motor
            .pressure_drop(torque, self.motor_drag_mu, omega);
        FanSide {
            omega,
            torque,
            motor_drop,
            steering: M::from(1.0),
            air,
        }
    }

    /// The fan standing: `rise` from −1 to 0 builds up the steering's pressure, from 0 to 1 the pressure over the motor,
    /// up to the one at which it would turn; both with a square, because leaks go with the root of pressure.
    pub(super) fn standing<M: Over<N>>(&self, rise: M) -> FanSide<M> {
        let zero = M::from(0.0);
        let (torque, air) = self.load.torque(zero, self.load.rated_air());
        let turning = self
            .case
            .motor
            .pressure_drop(torque, self.motor_drag_mu, zero);
        let (steering, motor) = (lesser(rise, zero) + 1.0, positive(rise));
        FanSide {
            omega: zero,
            torque,
            motor_drop: (motor * motor) * (motor * motor) * turning,
            steering: steering * steering,
            air,
        }
    }

    /// The circuit with the fan's side as given.
    pub(super) fn point<M: Over<N>>(&self, fan: FanSide<M>, view: View<M>) -> Point<M> {
        let case = self.case;
        let (rho, zero) = (self.rho, M::from(0.0));
        let tank = case.reservoir.pressure;

        let (motor, motor_drop) = (&case.motor, fan.motor_drop);
        let motor_slip = motor.slip_flow(
            self.motor_gap,
            motor_drop,
            self.motor_oil.clearance(rho, motor_drop.abs() * 0.5),
            rho,
        );
        let check_flow = motor.check_flow(motor_drop);
        let motor_flow = fan.omega * motor.displacement + motor_slip - check_flow;

        let beside = case.shape.valve_to_motor_outlet;
        let spilled = if beside {
            self.valve_flow(motor_drop, view.valve)
        } else {
            zero
        };
        // Where the check brings round more than the motor takes, the lines carry nothing.
        let line_flow = positive(motor_flow) + positive(spilled);
        let behind = self.behind(line_flow, fan.steering);
        let supply_drop =
            case.supply
                .drop(line_flow, self.lines_oil.nu_at(positive(motor_drop)), rho);
        // No less than a vacuum, wherever a driven fan's motor would draw.
        let fan_path = greater(
            behind.pressure + motor_drop + supply_drop,
            M::still(self.atmosphere * -0.9),
        );
        let (first, outlet) = match &case.steering {
            Some(s) if case.shape.steering_first => (
                M::still(s.flow),
                greater(fan_path, fan.steering * s.pressure + tank),
            ),
            _ => (zero, fan_path),
        };
        let (valve_drop, valve_flow) = if beside {
            (motor_drop, spilled)
        } else {
            let drop = fan_path - tank;
            (drop, self.valve_flow(drop, view.valve))
        };
        let relief_flow = view.relief.passes(|| case.relief.open_flow(outlet - tank));

        let pump = self.pumped(outlet, view.bound);
        // Steering that is short of its pressure takes just its flow: that is what sets how far the pressure has built up.
        let building = fan.steering.re() > 0.0 && fan.steering.re() < 1.0;
        let first_flow = if building {
            first
        } else {
            lesser(first, positive(pump.flow))
        };
        Point {
            fan,
            motor_flow,
            motor_slip,
            check_flow,
            valve_drop,
            valve_flow,
            line_flow,
            supply_drop,
            behind,
            fan_path,
            outlet,
            relief_flow,
            first_flow,
            pump,
            residual: pump.flow - first_flow - valve_flow - relief_flow - motor_flow,
        }
    }

    /// Flow through the control valve, m³/s, at a pressure difference, Pa, with what it leaks when shut.
    fn valve_flow<M: Over<N>>(&self, drop: M, port: Port<M>) -> M {
        let valve = &self.case.valve;
        port.passes(|| valve.open_flow(drop, self.opens_at))
            + valve.leak_flow(positive(drop), self.rho)
    }

    /// The way from the motor to the reservoir at a flow, m³/s, with a share of the steering's pressure.
    fn behind<M: Over<N>>(&self, flow: M, steering: M) -> Behind<M> {
        let case = self.case;
        let (nu, rho, zero) = (self.lines_oil.nu, self.rho, M::from(0.0));
        let return_drop = case.return_line.drop(flow, M::still(nu), rho);
        let filter = case.filter.as_ref();
        let filter_drop = filter.map_or(zero, |f| f.drop(flow, nu * rho));
        let cooler = case.cooler.as_ref();
        let cooler_drop = cooler.map_or(zero, |c| c.drop(flow, M::still(nu), rho));
        let steering_drop = match &case.steering {
            Some(s) if !case.shape.steering_first => steering * s.pressure,
            _ => zero,
        };
        Behind {
            return_drop,
            filter_drop,
            cooler_drop,
            steering_drop,
            pressure: return_drop
                + case.reservoir.pressure
                + filter_drop
                + cooler_drop
                + steering_drop,
        }
    }

    /// The pump against a gauge pressure at its outlet, Pa.
    fn pumped<M: Over<N>>(&self, outlet: M, bound: Bound) -> Pumped<M> {
        let (case, rho) = (self.case, self.rho);
        let pump = &case.pump;
        let drop = outlet + self.atmosphere - self.inlet_pressure;
        let slip = pump.slip_flow(
            self.pump_gap,
            drop,
            self.pump_oil.clearance(rho, drop.abs() * 0.5),
            rho,
        );
        let belt = case.belt.as_ref();
        let belt_slip = belt.map_or(M::from(0.0), |b| b.slip(self.torque_asked(drop)));
        let speed = (-belt_slip + 1.0) * self.pump_speed;
        let swept = speed * pump.displacement;
        let liquid =
            free_air::liquid_share(self.air, self.inlet_pressure, outlet + self.atmosphere);
        let displaced = swept * liquid - slip;
        let inlet = || {
            self.inlet_bound.map(|bound| {
                if case.shape.recirculates {
                    M::still(bound)
                } else {
                    liquid * bound - slip
                }
            })
        };
        let regulator = || self.regulated.map(M::still);
        let flow = match bound {
            Bound::Displacement => displaced,
            Bound::Inlet => inlet().unwrap_or(displaced),
            Bound::Regulator => regulator().unwrap_or(displaced),
            Bound::Least => [inlet(), regulator()]
                .into_iter()
                .flatten()
                .fold(displaced, lesser),
        };
        Pumped {
            drop,
            belt_slip,
            speed,
            swept,
            liquid,
            displaced,
            flow,
        }
    }

    /// Torque that the pump asks of the belt as long as that does not slip, N m.
    fn torque_asked<M: Over<N>>(&self, pump_drop: M) -> M {
        let pump = &self.case.pump;
        let swept = pump.displacement * self.pump_speed;
        // The regulator's own drop, bounded by what the swept volume would make, so that it does not depend on the
        // fan's speed.
        let dp = pump_drop + self.regulator_drop(swept);
        dp * pump.displacement + pump.torque_loss(dp, self.pump_drag_mu, M::still(self.pump_speed))
    }

    /// The regulator's own pressure drop at a flow that is offered to it, Pa: the spring's from the regulated flow on.
    pub(super) fn regulator_drop<M: Over<N>>(&self, offered: M) -> M {
        match (&self.case.regulator, self.regulated) {
            (Some(r), Some(q)) => {
                let share = lesser(positive(offered) / q, M::from(1.0));
                share * share * r.spring_drop
            }
            _ => M::from(0.0),
        }
    }
}
