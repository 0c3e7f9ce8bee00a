//! The quantities of a case that do not depend on fan speed, and the oil circuit evaluated at one fan speed.

use super::air::FanLoad;
use super::pumping::{Pumped, Suction};
use crate::fluid::air;
use crate::fluid::oil::OilNow;
use crate::input::Place;
use crate::law::leakage_schlosser_1961::gap;
use crate::law::torque_loss_wilson_1950::drag_viscosity;
use crate::model::Case;
use crate::numeric::{Over, Real, greater, lesser, positive};

/// Quantities of the oil circuit that do not depend on the fan speed, computed once for a case.
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
    /// Kinematic viscosity of the oil in the suction hose, m²/s.
    pub(super) inlet_nu: N,
    pub(super) air: N,
    /// Pressure of the ambient air, Pa absolute.
    pub(super) atmosphere: N,
    /// Pump speed if the belt does not slip, rad/s.
    pub(super) pump_speed: N,
    /// The regulated flow, m³/s.
    pub(super) regulated: Option<N>,
    pub(super) suction: Suction<N>,
    /// The suction path as plain numbers, without derivatives.
    pub(super) still_suction: Suction<f64>,
    /// The maximum flow of the suction hose, m³/s, if less than the flow swept by the pump's chambers.
    pub(super) inlet_bound: Option<N>,
    /// Pressure at the inlet of a starved pump, Pa absolute.
    pub(super) starved_inlet: N,
    /// The command that takes effect at the valve.
    pub(super) command: N,
    /// Cracking pressure of the valve, Pa.
    pub(super) opens_at: N,
    pub(super) load: FanLoad<N>,
    /// Area of the gaps for turbulent leakage in pump and motor, m².
    pub(super) pump_gap: N,
    pub(super) motor_gap: N,
}

/// Which limit on the pump's flow is applied: the smallest of all (`Least`), or a single one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Bound {
    Least,
    Displacement,
    Inlet,
    Regulator,
    Belt,
}

/// How a valve is modelled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Port<N> {
    /// Real valve: open above its cracking pressure.
    Real,
    Shut,
    /// The characteristic of the open valve, extended below cracking pressure, where the flow is negative; the lines do
    /// not carry this negative flow.
    Open,
    Given(N),
}

impl<N: Real> Port<N> {
    /// Flow through the valve, m³/s; `open` gives the open-valve characteristic, negative below cracking pressure.
    fn passes(self, open: impl FnOnce() -> N) -> N {
        match self {
            Port::Real => positive(open()),
            Port::Open => open(),
            Port::Shut => N::from(0.0),
            Port::Given(q) => q,
        }
    }
}

/// How the circuit is modelled: with all limits, or with a single one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct View<N> {
    pub bound: Bound,
    pub valve: Port<N>,
    pub relief: Port<N>,
}

/// The state of the fan side of the circuit: fan speed and torque, pressure difference across the motor, and the state
/// of the steering.
#[derive(Clone, Copy, Debug)]
pub(super) struct FanSide<N> {
    pub omega: N,
    pub torque: N,
    pub motor_drop: N,
    /// Fraction of the steering's full pressure that has built up; 1 while oil flows.
    pub steering: N,
    /// Flow to the priority steering.
    pub first_flow: N,
    /// The fan's mass flow of air divided by its speed, kg/rad: a starting value at nearby speeds.
    pub air: f64,
}

/// The circuit at one fan speed: gauge pressures in Pa, flows in m³/s.
#[derive(Clone, Copy, Debug)]
pub(super) struct Point<N> {
    pub fan: FanSide<N>,
    pub motor_flow: N,
    pub motor_slip: N,
    /// Flow through the anti-cavitation check valve in parallel with the motor; `motor_flow` is net of this flow.
    pub check_flow: N,
    pub valve_drop: N,
    pub valve_flow: N,
    /// Flow through supply and return line.
    pub line_flow: N,
    pub supply_drop: N,
    pub return_side: ReturnSide<N>,
    /// Pressure that the fan branch requires at the pump.
    pub fan_path: N,
    /// Pressure at the pump outlet.
    pub outlet: N,
    pub relief_flow: N,
    /// Flow to the priority steering.
    pub first_flow: N,
    pub pump: Pumped<N>,
    /// Flow delivered minus flow demanded; zero when the circuit is balanced.
    pub residual: N,
}

impl<N: Real> Point<N> {
    /// Flow that the circuit demands of the pump, m³/s.
    pub fn asked(&self) -> N {
        self.first_flow + self.valve_flow + self.relief_flow + self.motor_flow
    }

    /// Returns `x` while the pump turns, zero if it is stopped.
    pub fn while_pumping(&self, x: N) -> N {
        if self.pump.speed.re() > 0.0 {
            x
        } else {
            N::from(0.0)
        }
    }
}

/// Pressure drops between motor and reservoir, Pa.
#[derive(Clone, Copy, Debug)]
pub(super) struct ReturnSide<N> {
    pub return_drop: N,
    pub filter_drop: N,
    pub cooler_drop: N,
    /// Back-pressure of the steering; zero with priority steering.
    pub steering_drop: N,
    /// Gauge pressure at the motor outlet: sum of the pressure drops and the reservoir pressure.
    pub pressure: N,
}

impl<'a, N: Real> Ready<'a, N> {
    /// Computes everything that is independent of the fan speed.
    pub fn new(case: &'a Case<N>) -> Self {
        let oil_at = case.oils();
        let rho = oil_at(Place::Density).rho;
        let atmosphere = air::pressure(case.now.altitude);
        let pump_speed = case.now.engine_speed * case.pump.ratio;
        let regulated = case
            .regulator
            .as_ref()
            .map(|r| r.flow(oil_at(Place::Regulator).nu, rho));
        let inlet_oil = oil_at(Place::Inlet);
        let suction = Suction::of(case, &inlet_oil, rho, atmosphere);
        let command = case.control.passes(case.now.command, case.shape.unplugged);
        let drag =
            |place, exponent| drag_viscosity(oil_at(place).clearance(rho, N::from(0.0)), exponent);
        let mut ready = Self {
            case,
            rho,
            pump_oil: oil_at(Place::PumpSlip),
            pump_drag_mu: drag(Place::Belt, case.pump.drag_exponent),
            motor_oil: oil_at(Place::MotorSlip),
            motor_drag_mu: drag(Place::MotorDrag, case.motor.drag_exponent),
            lines_oil: oil_at(Place::Lines),
            inlet_nu: inlet_oil.nu,
            air: oil_at(Place::FreeAir).air,
            atmosphere,
            pump_speed,
            regulated,
            suction,
            still_suction: suction.still(),
            inlet_bound: None,
            starved_inlet: suction.tank,
            command,
            opens_at: case.valve.opens_at(command),
            load: FanLoad::of(case),
            pump_gap: gap(case.pump.displacement),
            motor_gap: gap(case.motor.displacement),
        };
        ready.bound_inlet((case.pump.displacement * pump_speed).re());
        ready
    }

    /// Sets the flow limit of the suction hose, if that limit is less than `most` (m³/s).
    pub(super) fn bound_inlet(&mut self, most: f64) {
        self.inlet_bound = self.suction.limit(most);
        self.starved_inlet = self
            .inlet_bound
            .map_or(self.suction.tank, |q| self.suction.inlet(q));
    }

    /// The same circuit at another valve command.
    pub(super) fn commanded(&self, command: f64) -> Self {
        let command = N::from(command);
        Self {
            command,
            opens_at: self.case.valve.opens_at(command),
            ..*self
        }
    }

    /// The fan side with the fan running at `omega` (rad/s).
    pub(super) fn running<M: Over<N>>(&self, omega: M) -> FanSide<M> {
        self.running_near(omega, self.load.rated_air())
    }

    /// The fan side with the fan running at `omega` (rad/s); `air` estimates its mass flow divided by its speed,
    /// kg/rad.
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
            first_flow: M::still(self.first_flow()),
            air,
        }
    }

    /// Flow to the priority steering, m³/s; zero if the steering has no priority.
    pub(super) fn first_flow(&self) -> N {
        match &self.case.steering {
            Some(s) if self.case.shape.steering_first => s.flow,
            _ => N::from(0.0),
        }
    }

    /// The fan side with the fan stopped and no pressure difference across the motor; the steering has full pressure
    /// but only a reduced flow `first_flow` (m³/s).
    pub(super) fn short<M: Over<N>>(&self, first_flow: M) -> FanSide<M> {
        FanSide {
            first_flow,
            ..self.standing(M::from(0.0))
        }
    }

    /// The fan side with the fan stopped. From `rise` = −1 to 0 the pressure of the steering builds up (quadratically),
    /// still without flow to it; from 0 to 1 the pressure difference across the motor builds up to its starting value
    /// (to the fourth power). These powers are used because leaks can be proportional to the square root of pressure.
    pub(super) fn standing<M: Over<N>>(&self, rise: M) -> FanSide<M> {
        let zero = M::from(0.0);
        let (torque, air) = self.load.torque(zero, self.load.rated_air());
        let turning = self
            .case
            .motor
            .pressure_drop(torque, self.motor_drag_mu, zero);
        let (steering, motor) = (lesser(rise, zero) + 1.0, positive(rise));
        let fed = M::still(self.first_flow());
        FanSide {
            omega: zero,
            torque,
            motor_drop: (motor * motor) * (motor * motor) * turning,
            steering: steering * steering,
            first_flow: if rise.re() < 0.0 { zero } else { fed },
            air,
        }
    }

    /// The circuit for a given state of the fan side.
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
        // If the check valve carries more flow than the motor takes, no flow passes through supply and return line.
        let line_flow = positive(motor_flow) + positive(spilled);
        let return_side = self.return_side(line_flow, fan.steering);
        let supply_drop =
            case.supply
                .drop(line_flow, self.lines_oil.nu_at(positive(motor_drop)), rho);
        // The pressure cannot fall below vacuum, however much oil a motor driven by the fan draws.
        let fan_path = greater(
            return_side.pressure + motor_drop + supply_drop,
            M::still(self.atmosphere * -0.9),
        );
        let outlet = match &case.steering {
            Some(s) if case.shape.steering_first => {
                greater(fan_path, fan.steering * s.pressure + tank)
            }
            _ => fan_path,
        };
        let (valve_drop, valve_flow) = if beside {
            (motor_drop, spilled)
        } else {
            let drop = fan_path - tank;
            (drop, self.valve_flow(drop, view.valve))
        };
        let relief_flow = view.relief.passes(|| case.relief.open_flow(outlet - tank));

        let asked = fan.first_flow + valve_flow + relief_flow + motor_flow;
        let pump = self.pumped(outlet, asked, view.bound);
        Point {
            fan,
            motor_flow,
            motor_slip,
            check_flow,
            valve_drop,
            valve_flow,
            line_flow,
            supply_drop,
            return_side,
            fan_path,
            outlet,
            relief_flow,
            first_flow: fan.first_flow,
            pump,
            residual: pump.flow - asked,
        }
    }

    /// Flow through the control valve, m³/s, at a pressure difference `drop` (Pa), including its leakage when closed.
    fn valve_flow<M: Over<N>>(&self, drop: M, port: Port<M>) -> M {
        let valve = &self.case.valve;
        port.passes(|| valve.open_flow(drop, self.opens_at))
            + valve.leak_flow(positive(drop), self.rho)
    }

    /// The pressure drops from motor to reservoir at a flow `flow` (m³/s); `steering` is the fraction of the steering's
    /// full pressure.
    fn return_side<M: Over<N>>(&self, flow: M, steering: M) -> ReturnSide<M> {
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
        ReturnSide {
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
}
