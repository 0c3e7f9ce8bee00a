//! The figures that requirements and goals refer to: an output, the oil velocity in a line, an input, a difference of
//! two of these, or a temperature of the heat balance.

use super::condition::Stand;
use crate::balance::{OUTPUTS, Output};
use crate::input::Input;
use crate::model::Case;
use crate::numeric::Real;
use crate::quantity::Kind;
use crate::trouble::Trouble;

/// A figure that a requirement or the goal refers to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Figure {
    /// An output of the balance.
    Output(Output),
    /// Mean oil velocity in a line.
    Velocity(Way),
    /// Margin of the relief valve's setting above the pressure at which the control valve opens at full command.
    ReliefAboveValve,
    /// An input of the machine.
    Input(Input),
    /// Steady coolant temperature.
    Coolant,
    /// Steady oil temperature.
    Oil,
    /// Limiting ambient temperature.
    Limiting,
}

/// A line of the circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Way {
    /// The line from the reservoir to the pump.
    Suction,
    /// The line from the pump to the motor.
    Supply,
    /// The line from the motor to the reservoir.
    Return,
}

/// Common names of figures, each with the key that it stands for.
const NAMES: [(&str, &str); 15] = [
    ("supply_pressure", "supply_gauge_pressure"),
    ("working_pressure", "supply_gauge_pressure"),
    ("back_pressure", "return_pressure"),
    ("back_pressure_at_the_motor", "return_pressure"),
    ("pump_power", "pump_shaft_power"),
    ("fan_power", "fan_shaft_power"),
    ("efficiency", "drive_efficiency"),
    ("viscosity", "oil_viscosity"),
    ("pressure_line_velocity", "supply_velocity"),
    ("pump", "pump.displacement"),
    ("motor", "motor.displacement"),
    ("fan", "fan.diameter"),
    ("coolant", "coolant_temp"),
    ("oil", "oil_temp"),
    ("limiting_ambient_temp", "limiting_ambient"),
];

/// Figures that are neither outputs nor inputs.
const OWN: [(&str, Figure); 7] = [
    ("suction_velocity", Figure::Velocity(Way::Suction)),
    ("supply_velocity", Figure::Velocity(Way::Supply)),
    ("return_velocity", Figure::Velocity(Way::Return)),
    ("relief_above_valve", Figure::ReliefAboveValve),
    ("coolant_temp", Figure::Coolant),
    ("oil_temp", Figure::Oil),
    ("limiting_ambient", Figure::Limiting),
];

/// Scale of a requirement on a temperature, K: about the difference between hot ambient air and hot coolant. An
/// engineering assumption.
const WARMTH: f64 = 50.0;

impl Figure {
    /// The figure with a given name, such as `fan_speed`, `suction velocity`, `pump.displacement`.
    pub fn find(name: &str) -> Result<Self, Trouble> {
        let typed = name.trim().to_lowercase().replace(['-', ' '], "_");
        let key = NAMES.iter().find(|(name, _)| *name == typed);
        let key = key.map_or(typed.as_str(), |(_, key)| *key);
        let own = OWN.iter().find(|(own, _)| *own == key).map(|(_, f)| *f);
        let found = own
            .or_else(|| Output::find(key).map(Self::Output))
            .or_else(|| Input::find(key).map(Self::Input));
        found.ok_or_else(|| {
            let outputs = OUTPUTS.iter().map(|o| o.key);
            let known: Vec<&str> = outputs.chain(OWN.iter().map(|o| o.0)).collect();
            let expected = format!(
                "an input such as pump.displacement, or {}",
                known.join(", ")
            );
            let problem = Trouble::input(format!("no quantity called `{}`", name.trim()), expected);
            problem.did_you_mean(&typed, known.into_iter().chain(NAMES.iter().map(|n| n.0)))
        })
    }

    /// The kind of quantity.
    pub fn kind(self) -> Kind {
        match self {
            Self::Output(output) => output.declaration().kind,
            Self::Velocity(_) => Kind::AirSpeed,
            Self::ReliefAboveValve => Kind::Pressure,
            Self::Input(input) => input.field().kind,
            Self::Coolant | Self::Oil | Self::Limiting => Kind::Temperature,
        }
    }

    /// Name of the figure.
    pub fn name(self) -> String {
        match self {
            Self::Output(output) => output.declaration().key.replace('_', " "),
            Self::Velocity(Way::Suction) => "suction velocity".into(),
            Self::Velocity(Way::Supply) => "supply velocity".into(),
            Self::Velocity(Way::Return) => "return velocity".into(),
            Self::ReliefAboveValve => "relief above valve".into(),
            Self::Input(input) => input.key(),
            Self::Coolant => "coolant temp".into(),
            Self::Oil => "oil temp".into(),
            Self::Limiting => "limiting ambient".into(),
        }
    }

    /// Whether the figure comes from the heat balance.
    pub fn is_of_heat(self) -> bool {
        matches!(self, Self::Coolant | Self::Oil | Self::Limiting)
    }

    /// Value of the figure, SI.
    pub fn read<N: Real>(self, stand: &Stand<N>) -> N {
        let (case, state) = (&stand.case, &stand.state);
        let speed = |reynolds: N, bore: N| reynolds * state.oil_viscosity / bore;
        match self {
            Self::Output(output) => state.get(output),
            Self::Velocity(Way::Suction) => speed(state.suction_reynolds, case.suction.bore),
            Self::Velocity(Way::Supply) => speed(state.supply_reynolds, case.supply.bore),
            Self::Velocity(Way::Return) => speed(state.return_reynolds, case.return_line.bore),
            Self::ReliefAboveValve => case.relief.setting - case.valve.high,
            Self::Input(input) => case.get(input).unwrap_or(N::from(f64::NAN)),
            Self::Coolant => stand.coolant,
            Self::Oil => case.now.oil_temp,
            Self::Limiting => stand.limiting,
        }
    }

    /// Whether a machine has this figure.
    pub fn is_there(self, case: &Case) -> bool {
        match self {
            Self::Input(input) => case.get(input).is_some(),
            _ => true,
        }
    }

    /// Scale by which the violation of a requirement is divided, SI: its bound, or one unit if the bound is zero; 50 K
    /// for a temperature.
    pub fn scale(self, bound: f64) -> f64 {
        if self.kind() == Kind::Temperature {
            return WARMTH;
        }
        let size = bound.abs();
        if size > 0.0 {
            size
        } else {
            self.kind().from_json(1.0).abs().max(1e-12)
        }
    }
}

impl Figure {
    /// The amount, SI, by which a requirement is relaxed to find the benefit: a thousandth of its bound, or half a
    /// kelvin for a temperature.
    pub(super) fn relaxed(self, bound: f64) -> f64 {
        let share = match self.kind() {
            Kind::Temperature => 1e-2,
            _ => 1e-3,
        };
        share * self.scale(bound)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ask, Lookup};
    use crate::vary::size::Condition;

    /// By hand: v = 4 Q / (π d²), with the flow from the state.
    #[test]
    fn a_velocity_is_flow_over_area() {
        let case = Ask::about("off-road")
            .resolve(Lookup::LibraryOnly)
            .unwrap()
            .case;
        let condition = Condition { case, heat: None };
        let stand = condition.solve(false, None).unwrap().stand;
        let bore = case.supply.bore;
        let by_hand = 4.0 * stand.state.motor_flow / (std::f64::consts::PI * bore * bore);
        let read = Figure::find("supply velocity").unwrap().read(&stand);
        // Oil bypassed by a valve that discharges into the reservoir does not flow through this line.
        assert!(
            (read / by_hand - 1.0).abs() < 1e-9 || case.shape.valve_to_motor_outlet,
            "{read} {by_hand}"
        );
    }

    #[test]
    fn the_trades_names_lead_to_figures() {
        for (name, key) in NAMES {
            assert_eq!(Figure::find(name).unwrap(), Figure::find(key).unwrap());
        }
        let said = Figure::find("fan sped").unwrap_err().to_string();
        assert!(said.contains("did you mean `fan_speed`"), "{said}");
    }
}
