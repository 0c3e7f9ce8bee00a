//! Faults of the heat side: they leave the fan speed unchanged and show in the coolant temperature.
//!
//! The mapping from severity to inputs is an engineering assumption; symptoms are common practice, no source.

use super::{Fault, Subsystem};
use crate::model::Hazard::{Fan, Hot};

/// Severity range, from no effect to gross.
const WHOLE: (f64, f64) = (0.0, 1.0);

/// All faults of the heat side, in display order.
pub const HEAT: &[Fault] = &[
    Fault {
        key: "core-blocked-outside",
        of: Subsystem::AirSide,
        name: "core blocked outside",
        severity: "0 clean, 1 half the face blocked and three times the air resistance in the rest",
        range: WHOLE,
        shows: "hot on the road and hotter when towing; less at idle; a high rise of the air through the core",
        confirm: "light through the core, dirt between condenser and core; temperatures over the face",
        effort_minutes: 20.0,
        hazards: &[Hot, Fan],
        part: Some("core"),
        apply: |case, s| {
            if let Some(core) = &mut case.core {
                core.blocked += (1.0 - core.blocked) * 0.5 * s;
                core.fouling *= 1.0 + 2.0 * s;
            }
        },
    },
    Fault {
        key: "core-blocked-inside",
        of: Subsystem::CoolantSide,
        name: "core blocked inside",
        severity: "0 clean, 1 half the tubes blocked",
        range: WHOLE,
        shows: "hot on the road and hotter when towing; cold bands on the core, a large drop of the coolant's temperature",
        confirm: "temperatures over the core's face with the thermostat open",
        effort_minutes: 20.0,
        hazards: &[Hot, Fan],
        part: Some("core"),
        apply: |case, s| {
            if let Some(core) = &mut case.core {
                core.blocked_tubes += (1.0 - core.blocked_tubes) * 0.5 * s;
            }
        },
    },
    Fault {
        key: "recirculation",
        of: Subsystem::AirSide,
        name: "shroud or seals missing: hot air comes round again",
        severity: "0 as the machine file has it, 1 two thirds of the air comes round at a standstill",
        range: WHOLE,
        shows: "hot while standing, sound while moving",
        confirm: "paper or smoke at the edges of the core, with the engine at idle",
        effort_minutes: 15.0,
        hazards: &[Fan],
        part: Some("air"),
        apply: |case, s| {
            if let Some(air) = &mut case.air {
                air.recirculation += (0.67 - air.recirculation).max(0.0) * s;
            }
        },
    },
    Fault {
        key: "thermostat-sticks",
        of: Subsystem::CoolantSide,
        name: "thermostat does not open whole",
        severity: "0 opens whole, 1 a tenth of its opening",
        range: WHOLE,
        shows: "hot everywhere, most under load; the lower hose stays cold",
        confirm: "the lower hose, or the thermostat in hot water",
        effort_minutes: 60.0,
        hazards: &[Hot],
        part: Some("thermostat"),
        apply: |case, s| {
            if let Some(thermostat) = &mut case.thermostat {
                thermostat.most *= 1.0 - 0.9 * s;
            }
        },
    },
    Fault {
        key: "coolant-pump-worn",
        of: Subsystem::CoolantSide,
        name: "coolant pump delivers too little",
        severity: "0 all of its flow, 1 a tenth of it",
        range: WHOLE,
        shows: "hot everywhere, most under load; a large drop of the coolant's temperature through the core",
        confirm: "temperatures of both hoses with the thermostat open",
        effort_minutes: 20.0,
        hazards: &[Hot],
        part: Some("coolant_pump"),
        apply: |case, s| {
            if let Some(pump) = &mut case.coolant_pump {
                pump.health *= 1.0 - 0.9 * s;
            }
        },
    },
    Fault {
        key: "too-much-heat",
        of: Subsystem::CoolantSide,
        name: "engine puts too much heat into the coolant",
        severity: "0 as it should, 1 half as much again",
        range: WHOLE,
        shows: "hot everywhere; the core and the fan are sound",
        confirm: "combustion gas in the coolant, timing and mixture",
        effort_minutes: 40.0,
        hazards: &[Hot],
        part: Some("engine"),
        apply: |case, s| {
            if let Some(engine) = &mut case.engine {
                engine.excess *= 1.0 + 0.5 * s;
            }
        },
    },
];
