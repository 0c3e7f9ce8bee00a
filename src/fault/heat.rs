//! Faults of the heat side: they do not change the fan speed; their effect is on the coolant temperature.
//!
//! How the severity changes the inputs is an engineering assumption; the symptoms are common practice, without a
//! source.

use super::{Fault, Subsystem};
use crate::model::Hazard::{Fan, Hot};

/// Severity range: at 0 the fault has no effect, at 1 it is gross.
const WHOLE: (f64, f64) = (0.0, 1.0);

/// All faults of the heat side, in display order.
pub const HEAT: &[Fault] = &[
    Fault {
        key: "core-blocked-outside",
        of: Subsystem::AirSide,
        name: "core blocked outside",
        severity: "0 = clean, 1 = half the face blocked and three times the air resistance in the rest",
        extent: ("{} % of the face blocked", |s| 50.0 * s),
        range: WHOLE,
        shows: "coolant hot on the road, hotter when towing, less hot at idle; large temperature rise of the air through the core",
        confirm: "check whether light shines through the core, and look for dirt between condenser and core; measure the temperature at several places on the face",
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
        severity: "0 = clean, 1 = half the tubes blocked",
        extent: ("{} % of the tubes blocked", |s| 50.0 * s),
        range: WHOLE,
        shows: "coolant hot on the road, hotter when towing; cold bands on the core; large temperature drop of the coolant through the core",
        confirm: "with the thermostat open, measure the temperature at several places on the core face",
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
        name: "shroud or seals missing: hot air recirculates",
        severity: "0 = as in the machine file, 1 = two thirds of the air recirculates at standstill",
        extent: ("{} % of the air recirculates at standstill", |s| 67.0 * s),
        range: WHOLE,
        shows: "coolant hot at standstill, normal on the road",
        confirm: "with the engine at idle, hold a strip of paper or a smoke source at the edges of the core and see where hot air flows back",
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
        name: "thermostat does not open fully",
        severity: "0 = opens fully, 1 = opens to a tenth",
        extent: ("opens to {} %", |s| 100.0 * (1.0 - 0.9 * s)),
        range: WHOLE,
        shows: "coolant hot in all conditions, above all under load; the lower hose stays cold",
        confirm: "measure the temperature of the lower hose, or test the thermostat in hot water",
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
        severity: "0 = full flow, 1 = a tenth of it",
        extent: ("{} % of its flow", |s| 100.0 * (1.0 - 0.9 * s)),
        range: WHOLE,
        shows: "coolant hot in all conditions, above all under load; large temperature drop of the coolant through the core",
        confirm: "with the thermostat open, measure the temperature of both radiator hoses",
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
        name: "engine rejects too much heat into the coolant",
        severity: "0 = normal heat, 1 = half as much again",
        extent: ("{} times the normal heat", |s| 1.0 + 0.5 * s),
        range: WHOLE,
        shows: "coolant hot in all conditions, although core and fan are healthy",
        confirm: "test the coolant for combustion gas; check timing and mixture",
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
