//! Checks that a machine has everything that the heat balance requires.

use crate::model::Case;
use crate::trouble::Trouble;

/// The parts that a machine file must contain for a heat balance.
pub const HEAT_PARTS: [&str; 8] = [
    "fan_curve",
    "core",
    "air",
    "coolant",
    "coolant_pump",
    "thermostat",
    "engine",
    "oil_heat",
];

/// The error that lists the parts missing from a machine for a heat balance.
pub(crate) fn missing(case: &Case) -> Trouble {
    let there = [
        case.fan_curve.is_some(),
        case.core.is_some(),
        case.air.is_some(),
        case.coolant.is_some(),
        case.coolant_pump.is_some(),
        case.thermostat.is_some(),
        case.engine.is_some(),
        case.oil_heat.is_some(),
    ];
    let lacks: Vec<String> = HEAT_PARTS
        .into_iter()
        .zip(there)
        .filter(|(_, there)| !there)
        .map(|(key, _)| format!("[{key}]"))
        .collect();
    Trouble::input(
        format!("this machine has no {}", lacks.join(", ")),
        "a machine with its radiator, coolant and engine",
    )
    .hint("`oilwheel new light-truck` shows these parts with their meaning")
}

/// Checks that the machine's inputs are consistent enough for a heat balance.
pub(crate) fn sound_machine(case: &Case) -> Result<(), Trouble> {
    let fronts: f64 = [&case.front_1, &case.front_2, &case.front_3]
        .into_iter()
        .flatten()
        .map(|f| f.share)
        .sum();
    if fronts > 1.0 + 1e-9 {
        return Err(Trouble::input(
            format!(
                "zones with equipment upstream cover {:.0} % of the core face",
                100.0 * fronts
            ),
            "fractions of the core face that add up to 100 % at most",
        ));
    }
    if case
        .fan_curve
        .as_ref()
        .is_some_and(|c| c.shut_pressure + c.pressure_slope <= 1.0)
    {
        return Err(Trouble::input(
            "a fan curve whose pressure is not concave in flow",
            "shut_pressure + pressure_slope above 1 in [fan_curve]",
        ));
    }
    if let Some(t) = &case.thermostat
        && t.full <= t.opens
    {
        return Err(Trouble::input(
            "a thermostat that is fully open at its opening temperature",
            "`full` above `opens` in [thermostat]",
        ));
    }
    Ok(())
}
