//! The outputs and power losses of a state, each declared once.

use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;
use serde::ser::{Serialize, SerializeMap, Serializer};

macro_rules! outputs {
    ($($field:ident: $kind:ident, $help:literal;)*) => {
        /// All results of one balance.
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct State<N = f64> {
            $(#[doc = $help] pub $field: N,)*
            /// Losses of the pump's shaft power on its way to the fan, in the order of [`LOSSES`], W; together with
            /// `fan_shaft_power` they add up to the pump's shaft power.
            pub losses: [N; LOSSES.len()],
        }

        /// Declarations of all outputs, in display order.
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

            /// The state assembled from values in the order of `values`; `none` replaces missing ones.
            pub fn of_values(mut all: impl Iterator<Item = N>, none: N) -> Self {
                let mut next = || all.next().unwrap_or(none);
                State { $($field: next(),)* losses: std::array::from_fn(|_| next()) }
            }

            /// Combines each value with the corresponding value of another state.
            pub(super) fn with<M: Copy>(&self, other: &State<M>, f: impl Fn(N, M) -> N) -> Self {
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

    /// The output whose key the user entered, written with dashes, underscores or spaces.
    pub fn of_name(name: &str) -> Result<Output, Trouble> {
        let key = name.trim().to_lowercase().replace(['-', ' '], "_");
        Output::find(&key).ok_or_else(|| {
            let keys: Vec<&str> = OUTPUTS.iter().map(|o| o.key).collect();
            let problem = Trouble::input(format!("no output called `{name}`"), keys.join(", "));
            problem.did_you_mean(&key, keys)
        })
    }
}

/// The places where the pump's shaft power is lost: key and description of each.
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
    /// The value of an output as text, with its unit.
    pub fn show(&self, output: Output, units: Units) -> String {
        units.show(output.declaration().kind, self.get(output))
    }
}

/// Serialised with one entry per output; each key ends in the unit.
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
