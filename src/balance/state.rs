//! All that comes out of one balance.

use super::ready::{Point, Ready};
use super::solve::{Operating, solve};
use crate::model::Case;
use crate::numeric::{Dual64, Over, Real, positive};
use crate::part::reynolds;
use crate::quantity::Kind;
use crate::trouble::Trouble;

macro_rules! outputs {
    ($($field:ident: $kind:ident, $help:literal;)*) => {
        /// All that comes out of one balance.
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct State<N = f64> {
            $(#[doc = $help] pub $field: N,)*
            /// Where each watt of the pump's shaft power goes, by [`LOSSES`]; the last is the fan.
            pub losses: [N; LOSSES.len()],
        }

        /// The outputs in order.
        pub const OUTPUTS: &[OutputDeclaration] = &[$(OutputDeclaration { key: stringify!($field), kind: Kind::$kind, help: $help },)*];

        impl<N: Copy> State<N> {
            /// The value of an output.
            pub fn get(&self, output: Output) -> N {
                let all = [$(self.$field,)*];
                all[usize::from(output.0).min(all.len() - 1)]
            }

            /// The same with each value changed.
            pub fn map<M: Copy>(&self, f: impl Fn(N) -> M) -> State<M> {
                State { $($field: f(self.$field),)* losses: self.losses.map(&f) }
            }

            /// Each value put together with that of another state.
            fn with<M: Copy>(&self, other: &State<M>, f: impl Fn(N, M) -> N) -> Self {
                let losses = std::array::from_fn(|i| f(self.losses[i], other.losses[i]));
                State { $($field: f(self.$field, other.$field),)* losses }
            }
        }
    };
}

outputs! {
    fan_speed: Speed, "fan speed";
    supply_gauge_pressure: Pressure, "gauge pressure at the pump's outlet";
    motor_inlet_pressure: Pressure, "gauge pressure at the motor's inlet";
    return_pressure: Pressure, "gauge pressure behind the motor";
    motor_pressure_drop: Pressure, "pressure difference over the motor";
    inlet_pressure: AbsolutePressure, "absolute pressure at the pump's inlet";
    pump_speed: Speed, "pump speed";
    belt_slip: Share, "slip of the belt";
    pump_flow: Flow, "flow that the pump delivers";
    motor_flow: Flow, "flow that the motor takes, slip included";
    valve_flow: Flow, "flow past the motor through the control valve";
    relief_flow: Flow, "flow through the relief valve";
    bypass_flow: Flow, "flow that the regulator turns back, or that is missing at a starved inlet";
    steering_flow: Flow, "flow taken first by steering";
    pump_slip_flow: Flow, "slip in the pump";
    motor_slip_flow: Flow, "slip in the motor";
    pump_torque: Torque, "torque at the pump's shaft";
    motor_torque: Torque, "torque at the fan's shaft";
    pump_shaft_power: Power, "power at the pump's shaft";
    fan_shaft_power: Power, "power at the fan's shaft";
    pump_volumetric_efficiency: Share, "volumetric efficiency of the pump";
    pump_mechanical_efficiency: Share, "hydro-mechanical efficiency of the pump";
    motor_volumetric_efficiency: Share, "volumetric efficiency of the motor";
    motor_mechanical_efficiency: Share, "hydro-mechanical efficiency of the motor";
    drive_efficiency: Share, "fan shaft power over pump shaft power";
    supply_reynolds: Number, "Reynolds number in the supply line";
    return_reynolds: Number, "Reynolds number in the return line";
    suction_reynolds: Number, "Reynolds number in the suction hose";
    oil_viscosity: KinematicViscosity, "viscosity of the oil at its temperature";
}

/// The declaration of one output.
#[derive(Clone, Copy, Debug)]
pub struct OutputDeclaration {
    /// Its key.
    pub key: &'static str,
    /// What it measures.
    pub kind: Kind,
    /// What it is, in words.
    pub help: &'static str,
}

/// One output of a state, by its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Output(u8);

impl Output {
    /// Fan speed.
    pub const FAN_SPEED: Output = Output(0);
    /// Gauge pressure at the pump's outlet.
    pub const SUPPLY_PRESSURE: Output = Output(1);
    /// Gauge pressure at the motor's inlet.
    pub const MOTOR_PRESSURE: Output = Output(2);
    /// Gauge pressure behind the motor.
    pub const RETURN_PRESSURE: Output = Output(3);
    /// Pump speed.
    pub const PUMP_SPEED: Output = Output(6);
    /// Flow that the pump delivers.
    pub const PUMP_FLOW: Output = Output(8);
    /// Slip in the motor.
    pub const MOTOR_SLIP_FLOW: Output = Output(15);

    /// All outputs in order.
    pub fn all() -> impl Iterator<Item = Output> {
        (0..OUTPUTS.len()).map(|i| Output(i as u8))
    }

    /// Its declaration.
    pub fn declaration(self) -> &'static OutputDeclaration {
        &OUTPUTS[usize::from(self.0).min(OUTPUTS.len() - 1)]
    }

    /// The output of a key such as `fan_speed`.
    pub fn find(key: &str) -> Option<Output> {
        Output::all().find(|o| o.declaration().key == key)
    }
}

/// Where the pump's shaft power goes: key and words.
pub const LOSSES: [(&str, &str); 17] = [
    ("pump_friction", "friction and drag in the pump"),
    ("pump_slip", "slip in the pump"),
    ("unfilled_chambers", "chambers that did not fill"),
    ("air_compression", "free air pressed together"),
    ("regulator_bypass", "oil that the regulator turns back"),
    ("regulator_orifice", "the regulator's own drop"),
    ("suction", "suction hose and screen"),
    ("relief_valve", "relief valve"),
    ("steering", "steering"),
    ("control_valve", "control valve"),
    ("supply_line", "supply line"),
    ("motor_slip", "slip in the motor"),
    ("motor_friction", "friction and drag in the motor"),
    ("return_line", "return line"),
    ("filter", "filter"),
    ("oil_cooler", "oil cooler"),
    ("fan", "the fan: what all this is for"),
];

impl<N: Real> State<N> {
    /// The whole state where the circuit is at a point.
    fn at<C: Real>(ready: &Ready<'_, C>, point: &Point<N>) -> Self
    where
        N: Over<C>,
    {
        let (zero, one) = (N::from(0.0), N::from(1.0));
        let case = ready.case;
        let running = point.pump_speed.re() > 0.0;
        let share = |a: N, b: N| if b.re() > 0.0 { a / b } else { zero };
        let only = |x: N| if running { x } else { zero };

        let delivered =
            only(point.first_flow + point.valve_flow + point.relief_flow + point.motor_flow);
        // What the pump's outlet side passes on or turns back; what is short of the swept volume slipped.
        let offered = positive(point.displaced);
        // Else the pump's size alone bounds it: all that is offered is taken, and what rounding leaves over is not a flow.
        let bounded = point.source.re() < point.displaced.re();
        let starved = bounded
            && ready.inlet_bound.is_some()
            && ready.regulated.is_none_or(|q| point.source.re() < q.re());
        let unfilled = match ready.inlet_bound {
            Some(bound) if !case.shape.recirculates => positive(point.swept - bound),
            _ if starved => positive(offered - delivered),
            _ => zero,
        };
        let internal = if case.shape.recirculates {
            zero
        } else {
            unfilled
        };
        let turned = if starved {
            zero
        } else {
            offered - internal * point.liquid - delivered
        };
        let bypass = if bounded && turned.re() > 1e-12 * point.swept.re() {
            turned
        } else {
            zero
        };
        let missing = if case.shape.recirculates {
            unfilled
        } else {
            zero
        };
        let air = (point.swept - internal) * (one - point.liquid);
        let slip = point.swept - internal - air - delivered - bypass - missing;

        let regulator_drop = only(ready.regulator_drop(delivered + bypass));
        let dp = point.pump_drop + regulator_drop;
        let torque_loss = case
            .pump
            .torque_loss(dp, ready.pump_drag_mu, point.pump_speed);
        let torque = only(dp * case.pump.displacement + torque_loss);
        let power = torque * point.pump_speed;
        let reservoir = case.reservoir.pressure;
        let inlet = ready.inlet_pressure - ready.atmosphere;
        let outer = delivered
            + if case.shape.recirculates {
                zero
            } else {
                bypass
            };
        let steering_first = point.first_flow * (point.outlet - reservoir);
        let throttled = (point.outlet - point.fan_path) * (point.motor_flow + point.valve_flow);
        let series = point.steering_drop * point.return_flow;
        let motor_power = point.omega * case.motor.displacement * point.motor_drop;
        let fan_power = point.fan_torque * point.omega;
        let suction = outer * (reservoir - inlet);
        let turned_back = if case.shape.recirculates {
            bypass * dp
        } else {
            bypass * (dp - (reservoir - inlet))
        };
        let losses = [
            torque_loss * point.pump_speed,
            slip * dp,
            (internal + missing) * dp,
            air * dp,
            turned_back,
            delivered * regulator_drop,
            suction,
            point.relief_flow * (point.outlet - reservoir),
            steering_first + throttled + series,
            point.valve_flow * point.valve_drop - point.check_flow * point.motor_drop,
            point.supply_drop * point.supply_flow,
            point.motor_slip * point.motor_drop,
            motor_power - fan_power,
            point.return_drop * point.return_flow,
            point.filter_drop * point.return_flow,
            point.cooler_drop * point.return_flow,
            fan_power,
        ]
        .map(only);
        let carried = if case.shape.recirculates {
            delivered
        } else {
            delivered + bypass
        };
        Self {
            fan_speed: point.omega,
            supply_gauge_pressure: only(point.outlet),
            motor_inlet_pressure: only(point.rail + point.motor_drop),
            return_pressure: only(point.rail),
            motor_pressure_drop: only(point.motor_drop),
            inlet_pressure: N::still(ready.inlet_pressure),
            pump_speed: point.pump_speed,
            belt_slip: only(point.belt_slip),
            pump_flow: delivered,
            motor_flow: only(point.motor_flow),
            valve_flow: only(point.valve_flow),
            relief_flow: only(point.relief_flow),
            bypass_flow: only(bypass + missing),
            steering_flow: only(point.first_flow),
            pump_slip_flow: only(slip),
            motor_slip_flow: only(point.motor_slip),
            pump_torque: torque,
            motor_torque: point.fan_torque,
            pump_shaft_power: power,
            fan_shaft_power: fan_power,
            pump_volumetric_efficiency: share(delivered + bypass, point.swept),
            pump_mechanical_efficiency: share(dp * case.pump.displacement, torque),
            motor_volumetric_efficiency: share(
                point.omega * case.motor.displacement,
                only(point.motor_flow + point.check_flow),
            ),
            motor_mechanical_efficiency: share(fan_power, motor_power),
            drive_efficiency: share(fan_power, power),
            supply_reynolds: only(reynolds(
                point.supply_flow,
                case.supply.bore,
                ready.lines_oil.nu,
            )),
            return_reynolds: only(reynolds(
                point.return_flow,
                case.return_line.bore,
                ready.lines_oil.nu,
            )),
            suction_reynolds: only(reynolds(carried, case.suction.bore, ready.inlet_oil.nu)),
            oil_viscosity: N::still(ready.pump_oil.nu),
            losses,
        }
    }
}

impl State {
    /// Solves a case.
    pub fn of(case: &Case) -> Result<(State, Operating), Trouble> {
        let operating = solve(case)?;
        Ok((State::found(case, &operating), operating))
    }

    /// The state of a case at the operating point that was found for it.
    pub fn found(case: &Case, operating: &Operating) -> State {
        let ready = Ready::new(case);
        State::at(&ready, &operating.held(&ready, operating.root()).0)
    }

    /// The state with its derivative along one input or any other direction that `case` carries, at the operating point
    /// that was found for its values.
    pub fn along(case: &Case<Dual64>, operating: &Operating) -> State<Dual64> {
        Turning::of(&case.map(&mut |_, v| v.re), operating).along(case)
    }
}

/// What the derivatives of a state along any direction have in common: how it moves along the unknown of the balance.
#[derive(Clone, Copy, Debug)]
pub struct Turning {
    operating: Operating,
    state: State,
}

impl Turning {
    /// At the operating point that was found for a case.
    pub fn of(case: &Case, operating: &Operating) -> Self {
        let ready = Ready::new(case);
        let point = operating.held(&ready, Dual64::new(operating.root(), 1.0)).0;
        Self {
            operating: *operating,
            state: State::at(&ready, &point).map(|n| n.eps),
        }
    }

    /// The operating point that it was made at.
    pub(super) fn operating(&self) -> &Operating {
        &self.operating
    }

    /// The state with its derivative along one input or any other direction that `case` carries: by the implicit function
    /// theorem, from the circuit with the unknown held and how that must give.
    pub fn along(&self, case: &Case<Dual64>) -> State<Dual64> {
        let ready = Ready::new(case);
        let root = Dual64::from(self.operating.root());
        let (point, residual) = self.operating.held(&ready, root);
        let gives = self.operating.gives(residual.eps);
        State::at(&ready, &point).with(&self.state, |held, turning| {
            Dual64::new(held.re, held.eps + gives * turning)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outputs_with_a_name_are_what_they_say() {
        for (output, key) in [
            (Output::FAN_SPEED, "fan_speed"),
            (Output::SUPPLY_PRESSURE, "supply_gauge_pressure"),
            (Output::MOTOR_PRESSURE, "motor_inlet_pressure"),
            (Output::RETURN_PRESSURE, "return_pressure"),
            (Output::PUMP_SPEED, "pump_speed"),
            (Output::PUMP_FLOW, "pump_flow"),
            (Output::MOTOR_SLIP_FLOW, "motor_slip_flow"),
        ] {
            assert_eq!(output.declaration().key, key);
        }
    }
}
