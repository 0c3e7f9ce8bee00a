//! Fuel heat from a measured flow of a petrol engine.

use super::{AIR_FLOW, FUEL_FLOW};
use crate::law::fuel_heat_stoichiometric as law;
use crate::model::{Fuel, Machine};
use crate::question::basis::declared;
use crate::question::{Field, Intake, mention};
use crate::trouble::Trouble;

/// Density of petrol, kg/m³ *(common practice, no source)*.
const PETROL: f64 = 745.0;

/// Maximum fuel flow, m³/s, equivalent to the maximum fuel heat that the input accepts.
pub(super) const MAX_FUEL: f64 = declared("fuel_heat").high / law::LOWER_HEATING_VALUE / PETROL;
/// Maximum air flow, kg/s, equivalent to the same fuel heat.
pub(super) const MAX_AIR: f64 =
    declared("fuel_heat").high / law::LOWER_HEATING_VALUE * law::AIR_FUEL;

/// The measured flow: that of fuel, m³/s, or that of air, kg/s.
pub(super) struct Flows {
    fuel: Option<f64>,
    air: Option<f64>,
}

impl Flows {
    pub fn read(intake: &mut Intake<'_>) -> Self {
        let (fuel, air) = (intake.value(&FUEL_FLOW), intake.value(&AIR_FLOW));
        if intake.values.has(&FUEL_FLOW) && intake.values.has(&AIR_FLOW) {
            let both = Trouble::input("an air flow and a fuel flow", "only one of the two");
            intake.problems.push(both.on(AIR_FLOW.key));
        }
        Self { fuel, air }
    }

    /// The heat of the fuel burned by a machine's engine, W, with the field that gives the flow; `None` if no flow was
    /// measured.
    pub fn heat(
        &self,
        machine: &Machine,
        intake: &mut Intake<'_>,
    ) -> Option<(&'static Field, f64)> {
        let fuel = self.fuel.map(|q| (&FUEL_FLOW, law::from_fuel(PETROL * q)));
        let air = self.air.map(|m| (&AIR_FLOW, law::from_air(m)));
        let (field, heat) = fuel.or(air)?;
        intake.keep(field, burns_petrol(field, machine))?;
        Some((field, heat))
    }
}

/// Returns an error if the engine is not known to burn petrol, because its fuel heat then does not follow from a flow.
fn burns_petrol(field: &Field, machine: &Machine) -> Result<(), Trouble> {
    let set = mention("set");
    let (found, hint) = match machine.fuel {
        Some(Fuel::Petrol) => return Ok(()),
        Some(Fuel::Diesel) if field.key == AIR_FLOW.key => (
            "a diesel runs with excess air, so its air flow does not give its fuel flow",
            format!("give the fuel heat itself: {set} \"now.fuel_heat=30 kW\""),
        ),
        Some(Fuel::Diesel) => (
            "the fuel flow of a diesel does not give its heat here: a heating value with a source is available only for petrol",
            format!(
                "give the fuel heat itself (about 10 kWh per litre): {set} \"now.fuel_heat=30 kW\""
            ),
        ),
        None => (
            "a flow was given, but the fuel of the engine is not stated",
            format!(
                "if it is petrol, put fuel = \"petrol\" under [choices] in the machine file, or give {set} choices.fuel=petrol"
            ),
        ),
    };
    Err(Trouble::input(found, "an engine that burns petrol").hint(hint))
}
