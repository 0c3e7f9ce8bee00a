//! All results of one balance.

use super::limit::Limit;
use super::ready::{Point, Ready};
use super::solve::{Operating, solve};
use crate::input::Place;
use crate::model::{Case, Slopes};
use crate::numeric::{Dual64, Over, Real, positive};
use crate::part::reynolds;
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;
use serde::ser::{Serialize, SerializeMap, Serializer};

macro_rules! outputs {
    ($($field:ident: $kind:ident, $help:literal;)*) => {
        /// All results of one balance.
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct State<N = f64> {
            $(#[doc = $help] pub $field: N,)*
            /// Losses of the pump's shaft power on its way to the fan, by [`LOSSES`]; the losses and `fan_shaft_power`
            /// add up to the pump's shaft power.
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

            /// The state with a function applied to each value.
            pub fn map<M: Copy>(&self, f: impl Fn(N) -> M) -> State<M> {
                State { $($field: f(self.$field),)* losses: self.losses.map(&f) }
            }

            /// All values: the outputs in order, then the losses.
            pub fn values(self) -> impl Iterator<Item = N> {
                [$(self.$field,)*].into_iter().chain(self.losses)
            }

            /// The state with the given values.
            pub fn of_values(mut all: impl Iterator<Item = N>, none: N) -> Self {
                let mut next = || all.next().unwrap_or(none);
                State { $($field: next(),)* losses: std::array::from_fn(|_| next()) }
            }

            /// Combines each value with that of another state.
            fn with<M: Copy>(&self, other: &State<M>, f: impl Fn(N, M) -> N) -> Self {
                let losses = std::array::from_fn(|i| f(self.losses[i], other.losses[i]));
                State { $($field: f(self.$field, other.$field),)* losses }
            }
        }
    };
}

outputs! {
    fan_speed: Speed, "fan speed";
    supply_gauge_pressure: Pressure, "gauge pressure at the pump outlet";
    motor_inlet_pressure: Pressure, "gauge pressure at the motor inlet";
    return_pressure: Pressure, "gauge pressure at the motor outlet";
    motor_pressure_drop: Pressure, "pressure difference across the motor";
    inlet_pressure: AbsolutePressure, "absolute pressure at the pump inlet";
    pump_speed: Speed, "pump speed";
    belt_slip: Share, "belt slip";
    pump_flow: Flow, "pump outlet flow";
    motor_flow: Flow, "motor inlet flow, including leakage";
    valve_flow: Flow, "flow bypassed around the motor by the control valve";
    relief_flow: Flow, "flow through the relief valve";
    bypass_flow: Flow, "flow bypassed by the regulator";
    steering_flow: Flow, "priority flow to the steering";
    pump_slip_flow: Flow, "pump leakage";
    motor_slip_flow: Flow, "motor leakage";
    pump_torque: Torque, "pump shaft torque";
    motor_torque: Torque, "fan shaft torque";
    pump_shaft_power: Power, "pump shaft power";
    fan_shaft_power: Power, "fan shaft power";
    pump_volumetric_efficiency: Share, "volumetric efficiency of the pump; 0 if the oil drives it";
    pump_mechanical_efficiency: Share, "hydraulic-mechanical efficiency of the pump; 0 if the oil drives it";
    motor_volumetric_efficiency: Share, "volumetric efficiency of the motor; 0 if the fan drives it";
    motor_mechanical_efficiency: Share, "hydraulic-mechanical efficiency of the motor; 0 if the fan drives it";
    drive_efficiency: Share, "fan shaft power over pump shaft power; 0 if the air drives the fan";
    supply_reynolds: Number, "Reynolds number in the supply line";
    return_reynolds: Number, "Reynolds number in the return line";
    suction_reynolds: Number, "Reynolds number in the suction hose";
    oil_viscosity: KinematicViscosity, "kinematic viscosity of the oil at its temperature";
}

/// The declaration of one output.
#[derive(Clone, Copy, Debug)]
pub struct OutputDeclaration {
    /// Key of the output.
    pub key: &'static str,
    /// Kind of quantity.
    pub kind: Kind,
    /// Description of the output.
    pub help: &'static str,
}

/// One output of a state, by its index.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Output(u8);

impl Output {
    /// Fan speed.
    pub const FAN_SPEED: Output = Output(0);
    /// Gauge pressure at the pump outlet.
    pub const SUPPLY_PRESSURE: Output = Output(1);
    /// Gauge pressure at the motor inlet.
    pub const MOTOR_PRESSURE: Output = Output(2);
    /// Gauge pressure at the motor outlet.
    pub const RETURN_PRESSURE: Output = Output(3);
    /// Pump speed.
    pub const PUMP_SPEED: Output = Output(6);
    /// Flow delivered by the pump.
    pub const PUMP_FLOW: Output = Output(8);
    /// Leakage in the motor.
    pub const MOTOR_SLIP_FLOW: Output = Output(15);

    /// All outputs in order.
    pub fn all() -> impl Iterator<Item = Output> {
        (0..OUTPUTS.len()).map(|i| Output(i as u8))
    }

    /// Declaration of the output.
    pub fn declaration(self) -> &'static OutputDeclaration {
        &OUTPUTS[usize::from(self.0).min(OUTPUTS.len() - 1)]
    }

    /// The output with a key such as `fan_speed`.
    pub fn find(key: &str) -> Option<Output> {
        Output::all().find(|o| o.declaration().key == key)
    }

    /// The output with a typed key, written with dashes, underscores or spaces.
    pub fn of_name(name: &str) -> Result<Output, Trouble> {
        let key = name.trim().to_lowercase().replace(['-', ' '], "_");
        Output::find(&key).ok_or_else(|| {
            let keys: Vec<&str> = OUTPUTS.iter().map(|o| o.key).collect();
            let problem = Trouble::input(format!("no output called `{name}`"), keys.join(", "));
            problem.did_you_mean(&key, keys)
        })
    }
}

/// Where the pump's shaft power is lost: key and description.
pub const LOSSES: [(&str, &str); 16] = [
    ("pump_friction", "pump friction"),
    ("pump_slip", "pump leakage"),
    ("unfilled_chambers", "unfilled pump chambers"),
    ("air_compression", "compression of free air"),
    ("regulator_bypass", "regulator bypass"),
    ("regulator_orifice", "regulator pressure drop"),
    ("suction", "suction hose and screen"),
    ("relief_valve", "relief valve"),
    ("steering", "steering"),
    ("control_valve", "control valve"),
    ("supply_line", "supply line"),
    ("motor_slip", "motor leakage"),
    ("motor_friction", "motor friction"),
    ("return_line", "return line"),
    ("filter", "filter"),
    ("oil_cooler", "oil cooler"),
];

impl State {
    /// An output as text, with its unit.
    pub fn show(&self, output: Output, units: Units) -> String {
        units.show(output.declaration().kind, self.get(output))
    }
}

/// Serialised under the output keys, with the unit at the end of each key.
impl Serialize for State {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        struct Losses<'a>(&'a [f64; LOSSES.len()]);
        impl Serialize for Losses<'_> {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_map(LOSSES.iter().map(|(key, _)| key).zip(self.0))
            }
        }
        let mut map = serializer.serialize_map(Some(OUTPUTS.len() + 1))?;
        for output in Output::all() {
            let OutputDeclaration { key, kind, .. } = output.declaration();
            map.serialize_entry(&kind.json_key(key), &kind.to_json(self.get(output)))?;
        }
        map.serialize_entry("losses_w", &Losses(&self.losses))?;
        map.end()
    }
}

/// A limit is serialised as its key.
impl Serialize for Limit {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.key())
    }
}

/// Breakdown of the flow swept by the pump's chambers, m³/s.
struct Swept<N> {
    /// Flow to valves, motor and steering.
    delivered: N,
    /// Flow bypassed by the regulator.
    bypass: N,
    /// Unfilled volume of the chambers.
    unfilled: N,
    /// Volume lost by compression of free air.
    air: N,
    slip: N,
    /// Flow in the suction hose, at outlet pressure.
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
        // If displacement alone limits the pump, the circuit takes the whole flow; the rounding remainder is not a
        // flow.
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

/// The losses of the pump's shaft power, by [`LOSSES`]; `motor` is the hydraulic power at the motor, W.
fn losses<C: Real, N: Over<C>>(
    ready: &Ready<'_, C>,
    point: &Point<N>,
    swept: &Swept<N>,
    shaft: &Shaft<N>,
    motor: N,
) -> [N; LOSSES.len()] {
    let reservoir = ready.case.reservoir.pressure;
    // Power lost in the suction line; oil that the regulator returns inside the pump does not flow through that line.
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
    /// The whole state at a point of the circuit.
    fn at<C: Real>(ready: &Ready<'_, C>, point: &Point<N>) -> Self
    where
        N: Over<C>,
    {
        let case = ready.case;
        // `None` if no power is spent, or the oil drives the pump, or the air drives the motor.
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

    /// Solves a case.
    pub fn of(case: &Case) -> Result<(State, Operating), Trouble> {
        let operating = solve(case)?;
        Ok((State::found(case, &operating), operating))
    }

    /// The state of a case at its operating point.
    pub fn found(case: &Case, operating: &Operating) -> State {
        let ready = Ready::new(case);
        State::at(&ready, &operating.held(&ready, operating.root()).0)
    }

    /// The state with the derivatives along one input or any other direction that `case` carries, at the operating
    /// point of the case.
    pub fn along<N: Real>(case: &Case<N>, operating: &Operating) -> State<N> {
        Turning::of(&case.map(&mut |_, v| v.re()), operating).along(case)
    }

    /// The derivatives along every input of the oil circuit: first of the residual flow, which stays zero, then of all
    /// [values](State::values).
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

/// The common part of a state's derivatives in all directions: its derivative along the unknown of the balance.
#[derive(Clone, Copy, Debug)]
pub struct Turning {
    operating: Operating,
    state: State,
    /// The slope of the residual flow.
    slope: f64,
}

impl Turning {
    /// Computes the common part at the operating point of a case.
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

    /// The state with its derivative along one input or any other direction that `case` carries, by the implicit
    /// function theorem: from the circuit with the unknown held, and the change of the unknown.
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
