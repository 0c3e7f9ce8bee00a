//! Computes all results at the operating point of the oil circuit.

mod output;

use super::limit::Limit;
use super::ready::{Point, Ready};
use super::solve::{Operating, balanced};
use crate::input::Place;
use crate::model::{Case, Slopes};
use crate::numeric::{Dual64, Over, Real, positive};
use crate::part::reynolds;
use crate::trouble::Trouble;
pub use output::{LOSSES, OUTPUTS, Output, OutputDeclaration, State};
use serde::ser::{Serialize, Serializer};

/// Serialised as the key of the limit.
impl Serialize for Limit {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.key())
    }
}

/// The flow swept by the pump's chambers, broken down by where it goes, m³/s.
struct Swept<N> {
    /// Flow to valves, motor and steering.
    delivered: N,
    /// Flow bypassed by the regulator.
    bypass: N,
    /// Part of the swept flow that the chambers do not fill with oil.
    unfilled: N,
    /// Part of the swept flow lost by compression of the free air in the oil.
    air: N,
    slip: N,
    /// Flow drawn through the suction hose, measured at outlet pressure.
    drawn: N,
}

impl<N: Real> Swept<N> {
    fn of<C: Real>(ready: &Ready<'_, C>, point: &Point<N>) -> Self
    where
        N: Over<C>,
    {
        let zero = N::from(0.0);
        let recirculates = ready.case.shape.recirculates;
        let pump = &point.pump;
        let delivered = point.while_pumping(point.asked());
        let unfilled = if pump.starved {
            positive(pump.swept - pump.hose - pump.slip / pump.liquid)
        } else {
            zero
        };
        // If displacement alone limits the pump, the circuit takes the whole flow, and a small remainder is a rounding
        // error, not a bypass flow.
        let regulates = ready.regulated.is_some_and(|q| pump.flow.re() >= q.re());
        let turned = if recirculates {
            pump.displaced - delivered
        } else {
            pump.hose * pump.liquid - delivered
        };
        let bypass = if regulates && turned.re() > 1e-12 * pump.swept.re() {
            turned
        } else {
            zero
        };
        let air = (pump.swept - unfilled) * (-pump.liquid + 1.0);
        Self {
            delivered,
            bypass,
            unfilled,
            air,
            slip: pump.swept - unfilled - air - delivered - bypass,
            drawn: if recirculates {
                delivered
            } else {
                delivered + bypass
            },
        }
    }
}

/// The load on the pump's shaft.
struct Shaft<N> {
    /// Pressure difference across pump and regulator, Pa.
    drop: N,
    /// Torque lost to friction, N m.
    loss: N,
    /// Shaft torque, N m.
    torque: N,
}

impl<N: Real> Shaft<N> {
    fn of<C: Real>(ready: &Ready<'_, C>, point: &Point<N>) -> Self
    where
        N: Over<C>,
    {
        let pump = &ready.case.pump;
        let drop = point.pump.drop + point.pump.regulator_drop;
        let loss = pump.torque_loss(drop, ready.pump_drag_mu, point.pump.speed);
        Self {
            drop,
            loss,
            torque: point.while_pumping(drop * pump.displacement + loss),
        }
    }
}

/// The losses of the pump's shaft power, in the order of [`LOSSES`], W; `motor` is the hydraulic power converted by the
/// motor, W.
fn losses<C: Real, N: Over<C>>(
    ready: &Ready<'_, C>,
    point: &Point<N>,
    swept: &Swept<N>,
    shaft: &Shaft<N>,
    motor: N,
) -> [N; LOSSES.len()] {
    let reservoir = ready.case.reservoir.pressure;
    // Pressure lost in the suction line; oil that the regulator returns inside the pump does not pass through that
    // line.
    let suction = -point.pump.inlet + ready.suction.tank;
    let turned_back = if ready.case.shape.recirculates {
        swept.bypass * shaft.drop
    } else {
        swept.bypass * (shaft.drop - suction)
    };
    let return_side = &point.return_side;
    let steering_first = point.first_flow * (point.outlet - reservoir);
    let throttled = (point.outlet - point.fan_path) * (point.motor_flow + point.valve_flow);
    let series = return_side.steering_drop * point.line_flow;
    let fan = point.fan.torque * point.fan.omega;
    [
        shaft.loss * point.pump.speed,
        swept.slip * shaft.drop,
        swept.unfilled * shaft.drop,
        swept.air * shaft.drop,
        turned_back,
        swept.delivered * point.pump.regulator_drop,
        swept.drawn * suction,
        point.relief_flow * (point.outlet - reservoir),
        steering_first + throttled + series,
        point.valve_flow * point.valve_drop - point.check_flow * point.fan.motor_drop,
        point.supply_drop * point.line_flow,
        point.motor_slip * point.fan.motor_drop,
        motor - fan,
        return_side.return_drop * point.line_flow,
        return_side.filter_drop * point.line_flow,
        return_side.cooler_drop * point.line_flow,
    ]
    .map(|x| point.while_pumping(x))
}

impl<N: Real> State<N> {
    /// All results for a balanced circuit.
    fn at<C: Real>(ready: &Ready<'_, C>, point: &Point<N>) -> Self
    where
        N: Over<C>,
    {
        let case = ready.case;
        // Efficiencies are zero if no power is spent, if the oil drives the pump, or if the air drives the motor.
        let share = |driven: bool, useful: N, spent: N| {
            if driven && spent.re() > 0.0 {
                useful / spent
            } else {
                N::from(0.0)
            }
        };
        let only = |x: N| point.while_pumping(x);
        let (fan, pump) = (&point.fan, &point.pump);
        let swept = Swept::of(ready, point);
        let shaft = Shaft::of(ready, point);
        let pump_power = shaft.torque * pump.speed;
        let fan_power = fan.torque * fan.omega;
        let (pumps, drives) = (pump.drop.re() >= 0.0, fan_power.re() >= 0.0);
        let motor_power = fan.omega * case.motor.displacement * fan.motor_drop;
        let (lines, suction) = (ready.lines_oil.nu, ready.inlet_nu);
        Self {
            fan_speed: fan.omega,
            supply_gauge_pressure: only(point.outlet),
            motor_inlet_pressure: only(point.return_side.pressure + fan.motor_drop),
            return_pressure: only(point.return_side.pressure),
            motor_pressure_drop: only(fan.motor_drop),
            inlet_pressure: pump.inlet,
            pump_speed: pump.speed,
            belt_slip: if ready.pump_speed.re() > 0.0 {
                -pump.speed / ready.pump_speed + 1.0
            } else {
                N::from(0.0)
            },
            pump_flow: swept.delivered,
            motor_flow: only(point.motor_flow),
            valve_flow: only(point.valve_flow),
            relief_flow: only(point.relief_flow),
            bypass_flow: only(swept.bypass),
            steering_flow: only(point.first_flow),
            pump_slip_flow: only(swept.slip),
            motor_slip_flow: only(point.motor_slip),
            pump_torque: shaft.torque,
            motor_torque: fan.torque,
            pump_shaft_power: pump_power,
            fan_shaft_power: fan_power,
            pump_volumetric_efficiency: share(pumps, swept.delivered + swept.bypass, pump.swept),
            pump_mechanical_efficiency: share(
                pumps,
                shaft.drop * case.pump.displacement,
                shaft.torque,
            ),
            motor_volumetric_efficiency: share(
                drives,
                fan.omega * case.motor.displacement,
                only(point.motor_flow + point.check_flow),
            ),
            motor_mechanical_efficiency: share(drives, fan_power, motor_power),
            drive_efficiency: share(pumps && drives, fan_power, pump_power),
            supply_reynolds: only(reynolds(point.line_flow, case.supply.bore, lines)),
            return_reynolds: only(reynolds(point.line_flow, case.return_line.bore, lines)),
            suction_reynolds: only(reynolds(pump.hose, case.suction.bore, suction)),
            oil_viscosity: N::still(ready.pump_oil.nu),
            losses: losses(ready, point, &swept, &shaft, motor_power),
        }
    }
}

impl State {
    /// Whether the pump's chambers fill only partly.
    pub fn starved(&self) -> bool {
        let unfilled = LOSSES.iter().position(|l| l.0 == "unfilled_chambers");
        unfilled.is_some_and(|k| self.losses[k] > 0.0)
    }

    /// Solves the oil circuit of a case.
    pub fn of(case: &Case) -> Result<(State, Operating), Trouble> {
        Self::about(case, (f64::NAN, f64::NAN))
    }

    /// Solves the oil circuit, starting from the operating point of a similar case.
    pub fn near(case: &Case, near: &Operating) -> Result<(State, Operating), Trouble> {
        Self::about(case, (near.omega, near.air))
    }

    /// Solves the oil circuit. `start` holds starting values of fan speed, rad/s, and of air mass flow divided by fan
    /// speed, kg/rad; NaN if unknown.
    pub(super) fn about(case: &Case, start: (f64, f64)) -> Result<(State, Operating), Trouble> {
        let ready = Ready::new(case);
        let operating = balanced(&ready, start)?;
        let point = operating.held(&ready, operating.root()).0;
        Ok((State::at(&ready, &point), operating))
    }

    /// The state of a case at an operating point that is already known.
    pub fn found(case: &Case, operating: &Operating) -> State {
        let ready = Ready::new(case);
        State::at(&ready, &operating.held(&ready, operating.root()).0)
    }

    /// The state with its directional derivatives at the operating point; the direction, such as that of one input, is
    /// given by the derivative parts of `case`.
    pub fn along<N: Real>(case: &Case<N>, operating: &Operating) -> State<N> {
        Turning::of(&case.map(&mut |_, v| v.re()), operating).along(case)
    }

    /// The derivatives with respect to every input of the oil circuit: first that of the residual flow, which the
    /// balance keeps at zero, then those of all [values](State::values).
    pub fn slopes(case: &Case, operating: &Operating) -> Slopes {
        let (across, slopes) = case.slopes_about(
            operating.root(),
            |input| input.place() != Place::Heat,
            |case, unknown| {
                let ready = Ready::new(case);
                let (point, residual) = operating.held(&ready, unknown);
                let values = State::at(&ready, &point).values();
                std::iter::once(residual).chain(values).collect()
            },
        );
        match operating.gives(1.0, across[0]) {
            Some(_) => slopes.giving(&across),
            None => slopes,
        }
    }
}

/// The part common to the derivatives of a state with respect to all inputs: its derivative with respect to the unknown
/// that balances the circuit.
#[derive(Clone, Copy, Debug)]
pub struct Turning {
    operating: Operating,
    state: State,
    /// The derivative of the residual flow with respect to the unknown.
    slope: f64,
}

impl Turning {
    /// Computes this common part at the operating point of a case.
    pub fn of(case: &Case, operating: &Operating) -> Self {
        let ready = Ready::new(case);
        let (point, residual) = operating.held(&ready, Dual64::new(operating.root(), 1.0));
        Self {
            operating: *operating,
            state: State::at(&ready, &point).map(|n| n.eps),
            slope: residual.eps,
        }
    }

    /// The operating point.
    pub(super) fn operating(&self) -> &Operating {
        &self.operating
    }

    /// The state with its directional derivative, by the implicit function theorem: the derivative with the unknown
    /// held, plus the effect of the change of the unknown. The direction, such as that of one input, is given by the
    /// derivative parts of `case`.
    pub fn along<N: Real>(&self, case: &Case<N>) -> State<N> {
        let ready = Ready::new(case);
        let root = N::from(self.operating.root());
        let (point, residual) = self.operating.held(&ready, root);
        let held = State::at(&ready, &point);
        match self.operating.gives(residual, self.slope) {
            Some(gives) => held.with(&self.state, |held, turning| {
                (held + gives * turning).valued(held.re())
            }),
            None => held,
        }
    }
}
