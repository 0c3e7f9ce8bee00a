//! A case less all that does not depend on fan speed, and the circuit at one fan speed.

use super::air::FanLoad;
use super::pumping::{Pumped, Suction};
use crate::fluid::air;
use crate::fluid::oil::OilNow;
use crate::input::Place;
use crate::law::leakage_schlosser_1961::gap;
use crate::law::torque_loss_wilson_1950::drag_viscosity;
use crate::model::Case;
use crate::numeric::{Over, Real, greater, lesser, positive};

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
    /// Kinematic viscosity of the oil in the suction hose, m²/s.
    pub(super) inlet_nu: N,
    pub(super) air: N,
    /// Pressure of the outer air, Pa absolute.
    pub(super) atmosphere: N,
    /// Pump speed if the belt does not slip, rad/s.
    pub(super) pump_speed: N,
    /// What the regulator holds, m³/s.
    pub(super) regulated: Option<N>,
    pub(super) suction: Suction<N>,
    /// The same without derivatives of its own.
    pub(super) still_suction: Suction<f64>,
    /// What the suction hose carries at most, m³/s, where that is less than the pump's chambers sweep.
    pub(super) inlet_bound: Option<N>,
    /// Pressure at the inlet of a starved pump, Pa absolute.
    pub(super) starved_inlet: N,
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
    Belt,
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
    /// Flow that steering takes first, m³/s.
    pub first_flow: N,
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
    /// Flow that is asked of the pump, m³/s.
    pub fn asked(&self) -> N {
        self.first_flow + self.valve_flow + self.relief_flow + self.motor_flow
    }

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

impl<'a, N: Real> Ready<'a, N> {
    /// Works out what does not depend on the fan's speed.
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

    /// Bounds what the suction hose carries, where that is less than `most` (m³/s).
    pub(super) fn bound_inlet(&mut self, most: f64) {
        self.inlet_bound = self.suction.limit(most);
        self.starved_inlet = self
            .inlet_bound
            .map_or(self.suction.tank, |q| self.suction.inlet(q));
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
            first_flow: M::still(self.first_flow()),
            air,
        }
    }

    /// Flow that steering takes first where it is fed so, m³/s.
    pub(super) fn first_flow(&self) -> N {
        match &self.case.steering {
            Some(s) if self.case.shape.steering_first => s.flow,
            _ => N::from(0.0),
        }
    }

    /// The fan standing without pressure, steering at its full pressure and short of its flow: it gets `first_flow`, m³/s.
    pub(super) fn short<M: Over<N>>(&self, first_flow: M) -> FanSide<M> {
        FanSide {
            first_flow,
            ..self.standing(M::from(0.0))
        }
    }

    /// The fan standing: `rise` from −1 to 0 builds up the steering's pressure, with no flow for steering yet, from 0 to 1 the
    /// pressure over the motor, up to the one at which it would turn; both with a square, because leaks go with the root of
    /// pressure.
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
            behind,
            fan_path,
            outlet,
            relief_flow,
            first_flow: fan.first_flow,
            pump,
            residual: pump.flow - asked,
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
}
