//! The figures that requirements, goals and sweeps refer to: an output, the oil velocity in a line, an input, a
//! difference of two of these, or a result of the heat balance. Each is declared once, an output in `balance`, all
//! others here.

use super::condition::Stand;
use crate::balance::{Budget, OUTPUTS, Output};
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
    /// Steady temperature of the coolant leaving the core.
    CoolantReturn,
    /// Steady temperature of the air downstream of the core.
    Air,
    /// Volume flow of air at the fan.
    Airflow,
    /// Heat into the engine's metal.
    EngineHeat,
    /// Heat from the core to the air.
    RadiatorHeat,
    /// Heat that the losses of the drive release into the oil.
    OilHeat,
    /// Power at the engine's shaft.
    EnginePower,
    /// Heat of the fuel burned.
    FuelHeat,
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
const NAMES: [(&str, &str); 16] = [
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
    ("air_flow", "airflow"),
];

/// The declaration of a figure that is neither an output nor an input.
struct Own {
    key: &'static str,
    figure: Figure,
    kind: Kind,
    help: &'static str,
}

/// Declares the figures that are neither outputs nor inputs: key, figure, kind of quantity, description.
macro_rules! own {
    ($($key:literal, $figure:expr, $kind:ident, $help:literal;)*) => {
        &[$(Own { key: $key, figure: $figure, kind: Kind::$kind, help: $help },)*]
    };
}

/// Figures that are neither outputs nor inputs. Those of the heat have the keys that `heat` gives them.
const OWN: &[Own] = own! {
    "suction_velocity", Figure::Velocity(Way::Suction), AirSpeed, "oil velocity in the suction hose";
    "supply_velocity", Figure::Velocity(Way::Supply), AirSpeed, "oil velocity in the supply line";
    "return_velocity", Figure::Velocity(Way::Return), AirSpeed, "oil velocity in the return line";
    "relief_above_valve", Figure::ReliefAboveValve, Pressure, "relief valve setting above the control valve's";
    "coolant_temp", Figure::Coolant, Temperature, "coolant temperature";
    "oil_temp", Figure::Oil, Temperature, "oil temperature";
    "limiting_ambient", Figure::Limiting, Temperature, "limiting ambient temperature";
    "coolant_return_temp", Figure::CoolantReturn, Temperature, "temperature of the coolant leaving the core";
    "air_temp", Figure::Air, Temperature, "air temperature downstream of the core";
    "airflow", Figure::Airflow, AirFlow, "air flow at the fan";
    "engine_heat", Figure::EngineHeat, Power, "heat into the engine's metal";
    "radiator_heat", Figure::RadiatorHeat, Power, "heat from the core to the air";
    "oil_heat", Figure::OilHeat, Power, "heat from the drive's losses into the oil";
    "engine_power", Figure::EnginePower, Power, "power at the engine's shaft";
    "fuel_heat", Figure::FuelHeat, Power, "heat of the fuel burned";
};

/// Scale of a requirement on a temperature, K: about the difference between hot ambient air and hot coolant. An
/// engineering assumption.
const WARMTH: f64 = 50.0;

impl Figure {
    /// The figure with a given name, such as `fan_speed`, `suction velocity`, `pump.displacement`.
    pub fn find(name: &str) -> Result<Self, Trouble> {
        let typed = name.trim().to_lowercase().replace(['-', ' '], "_");
        let key = NAMES.iter().find(|(name, _)| *name == typed);
        let key = key.map_or(typed.as_str(), |(_, key)| *key);
        let own = OWN.iter().find(|own| own.key == key).map(|own| own.figure);
        let found = own
            .or_else(|| Output::find(key).map(Self::Output))
            .or_else(|| Input::find(key).map(Self::Input));
        found.ok_or_else(|| {
            let known: Vec<&str> = Self::keys().collect();
            let expected = format!(
                "an input such as pump.displacement, or {}",
                known.join(", ")
            );
            let problem = Trouble::input(format!("no quantity called `{}`", name.trim()), expected);
            problem.did_you_mean(&typed, known.into_iter().chain(NAMES.iter().map(|n| n.0)))
        })
    }

    /// The keys of all figures except inputs.
    pub fn keys() -> impl Iterator<Item = &'static str> {
        let outputs = OUTPUTS.iter().map(|o| o.key);
        outputs.chain(OWN.iter().map(|own| own.key))
    }

    /// Its declaration, if it is neither an output nor an input.
    fn own(self) -> Option<&'static Own> {
        OWN.iter().find(|own| own.figure == self)
    }

    /// The kind of quantity.
    pub fn kind(self) -> Kind {
        match self {
            Self::Output(output) => output.declaration().kind,
            Self::Input(input) => input.field().kind,
            _ => self.own().map_or(Kind::Number, |own| own.kind),
        }
    }

    /// Key of the figure.
    pub fn key(self) -> String {
        match self {
            Self::Output(output) => output.declaration().key.into(),
            Self::Input(input) => input.key(),
            _ => self.own().map_or("", |own| own.key).into(),
        }
    }

    /// Description of the figure.
    pub fn help(self) -> &'static str {
        match self {
            Self::Output(output) => output.declaration().help,
            Self::Input(input) => input.field().help,
            _ => self.own().map_or("", |own| own.help),
        }
    }

    /// Name of the figure.
    pub fn name(self) -> String {
        match self {
            Self::Input(input) => input.key(),
            _ => self.key().replace('_', " "),
        }
    }

    /// Whether the figure is one of the machine itself, the same in every condition.
    pub fn is_of_machine(self) -> bool {
        match self {
            Self::Input(input) => input.part() != "now" && input.part() != "oil",
            figure => figure == Self::ReliefAboveValve,
        }
    }

    /// Whether the figure comes from the heat balance.
    pub fn is_of_heat(self) -> bool {
        !matches!(
            self,
            Self::Output(_) | Self::Velocity(_) | Self::ReliefAboveValve | Self::Input(_)
        )
    }

    /// Value of the figure, SI.
    pub fn read<N: Real>(self, stand: &Stand<N>) -> N {
        let (case, state) = (&stand.case, &stand.state);
        let speed = |reynolds: N, bore: N| reynolds * state.oil_viscosity / bore;
        let heat = |of: fn(&Budget<N>) -> N| {
            let budget = stand.budget.as_ref();
            budget.map_or_else(|| f64::NAN.into(), of)
        };
        match self {
            Self::Output(output) => state.get(output),
            Self::Velocity(Way::Suction) => speed(state.suction_reynolds, case.suction.bore),
            Self::Velocity(Way::Supply) => speed(state.supply_reynolds, case.supply.bore),
            Self::Velocity(Way::Return) => speed(state.return_reynolds, case.return_line.bore),
            Self::ReliefAboveValve => case.relief.setting - case.valve.high,
            Self::Input(input) => case.get(input).unwrap_or(N::from(f64::NAN)),
            Self::Coolant => heat(|b| b.coolant_temp),
            Self::Oil => case.now.oil_temp,
            Self::Limiting => stand.limiting,
            Self::CoolantReturn => heat(|b| b.return_temp),
            Self::Air => heat(|b| b.air_temp),
            Self::Airflow => heat(|b| b.airflow.flow),
            Self::EngineHeat => heat(|b| b.engine_heat),
            Self::RadiatorHeat => heat(|b| b.radiator_heat),
            Self::OilHeat => heat(|b| b.oil_heat),
            Self::EnginePower => heat(|b| b.engine_power),
            Self::FuelHeat => heat(|b| b.fuel_heat),
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
