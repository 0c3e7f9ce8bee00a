//! The faults of the oil side: how the severity of each changes the inputs, and its description. The faults of the heat
//! side are in `heat.rs`.
//!
//! How the severity changes the inputs is an engineering assumption for every fault: the change is smooth, it is zero
//! at severity 0, and at severity 1 it is gross on every class of machine. Durations and symptoms are common practice,
//! without a source; `validation/fault_directions` compares the symptoms with the model.

use super::{Fault, Subsystem};
use crate::input::unit::{BAR, L_MIN, MM};
use crate::model::Case;
use crate::model::Hazard::{
    Approval, Belts, FailSafe, Fan, Hot, Masking, Outlet, Pressure, Raised, ReliefSetting, Shared,
};

/// Severity range: at 0 the fault has no effect, at 1 it is gross.
const WHOLE: (f64, f64) = (0.0, 1.0);

/// Applies wear that widens the leakage gaps by the fraction `wider`: laminar leakage is proportional to the cube of
/// the gap, turbulent leakage to the gap. If the machine file gives almost no leakage, wear starts from a minimum
/// leakage typical of a healthy machine.
fn widen(slip: &mut f64, turbulent: &mut f64, wider: f64) {
    let gap = 1.0 + wider;
    *slip = (*slip + slip.max(1e-8) * (gap.powi(3) - 1.0)).min(2e-6);
    *turbulent = (*turbulent + turbulent.max(1e-3) * (gap - 1.0)).min(0.05);
}

/// Applies wear in the form of a groove instead of wider gaps: it adds turbulent leakage, which is independent of
/// viscosity.
fn score(turbulent: &mut f64, severity: f64) {
    let gap: f64 = 1.0 + 3.0 * severity;
    *turbulent = (*turbulent + 0.05 * (gap.powi(3) - 1.0) / 63.0).min(0.05);
}

/// Fraction of a passage's area that a restriction leaves open: 1 at severity 0, 1/20 at severity 1.
fn open(severity: f64) -> f64 {
    0.05_f64.powf(severity)
}

/// Narrows a bore to the fraction `open` of its area, but not below `least`, the minimum diameter allowed as an input.
fn narrow(bore: &mut f64, open: f64, least: f64) {
    *bore = (*bore * open.sqrt()).max(bore.min(least));
}

/// Lowest viscosity of an oil that is too thin, as a fraction of its data sheet viscosity: shearing of an oil with
/// thickeners takes away a quarter of the viscosity, the wrong grade as much again, and dilution by fuel or solvent the
/// rest. An engineering assumption.
pub const THINNEST: f64 = 0.4;

/// A function that changes the inputs of a case according to a severity.
type Change = fn(&mut Case, f64);

/// Alternative forms of faults, by fault key, for use when the actual form is unknown; an alternative has the same
/// weight as the declared form.
pub(super) const OTHER_FORMS: [(&str, Change); 2] = [
    ("worn-pump", |case, s| {
        score(&mut case.pump.turbulent_slip, s)
    }),
    ("worn-motor", |case, s| {
        score(&mut case.motor.turbulent_slip, s)
    }),
];

/// All faults of the oil side, in display order.
pub const ALL: &[Fault] = &[
    Fault {
        key: "worn-pump",
        of: Subsystem::Pump,
        name: "worn pump",
        severity: "0 = clearances as in the machine file, 1 = four times as wide",
        extent: ("clearances {} times as wide", |s| 1.0 + 3.0 * s),
        range: WHOLE,
        shows: "fan slow at idle, above all with hot oil; less slow at raised engine speed, where the pump has flow to spare, and hardly slow there with cold oil",
        confirm: "measure pump flow and pressure at idle with hot oil: the flow is low although the pump inlet is normal and the oil free of air",
        effort_minutes: 60.0,
        hazards: &[Pressure, Outlet, Hot, Shared, Masking],
        part: None,
        apply: |case, s| widen(&mut case.pump.slip, &mut case.pump.turbulent_slip, 3.0 * s),
    },
    Fault {
        key: "worn-motor",
        of: Subsystem::Motor,
        name: "worn motor",
        severity: "0 = clearances as in the machine file, 1 = four times as wide",
        extent: ("clearances {} times as wide", |s| 1.0 + 3.0 * s),
        range: WHOLE,
        shows: "fan slow with hot oil, at idle and at raised engine speed, less slow with cold oil; more motor flow per revolution",
        confirm: "measure the motor flow per fan revolution with hot and with cold oil; also the case drain flow, if there is a case drain",
        effort_minutes: 60.0,
        hazards: &[Pressure, Fan, Hot, Shared, Masking],
        part: None,
        apply: |case, s| {
            widen(
                &mut case.motor.slip,
                &mut case.motor.turbulent_slip,
                3.0 * s,
            )
        },
    },
    Fault {
        key: "bypass-leaking",
        of: Subsystem::Valve,
        name: "bypass leaking or stuck open",
        severity: "0 = tight, 1 = a leak that takes most of the flow",
        extent: (
            "a leak {} % as large as one that takes most of the flow",
            |s| 100.0 * s,
        ),
        range: WHOLE,
        shows: "fan slow at any engine speed, with cold and with hot oil, because oil bypasses the motor",
        confirm: "remove and inspect the bypass valve, or replace it; or measure the bypass flow at full fan command",
        effort_minutes: 45.0,
        hazards: &[Pressure, Fan, Hot, Shared],
        part: None,
        // An additional leak orifice, sized to the motor; its area is proportional to the severity.
        apply: |case, s| {
            let hole = 0.3 * case.motor.displacement.cbrt() * s.sqrt();
            let most = (10.0 * MM).max(case.valve.leak);
            case.valve.leak = case.valve.leak.hypot(hole).min(most);
        },
    },
    Fault {
        key: "control-not-asking",
        of: Subsystem::Control,
        name: "control does not command full speed",
        severity: "0 = the whole command reaches the valve, 1 = none of it",
        extent: ("{} % of the command reaches the valve", |s| {
            100.0 * (1.0 - s)
        }),
        range: WHOLE,
        shows: "low pressure and a slow fan at raised engine speed, with hot and with cold oil; may seem normal at idle",
        confirm: "unplug the control valve, so that it moves to its fail-safe position: if the fan then speeds up, the fan drive is healthy and its control is not",
        effort_minutes: 10.0,
        hazards: &[FailSafe, Fan, Belts],
        part: None,
        apply: |case, s| case.control.ceiling *= 1.0 - s,
    },
    Fault {
        key: "valve-stuck-full",
        of: Subsystem::Valve,
        name: "control valve stuck at full",
        severity: "0 = follows the command down to its minimum, 1 = stays at full command",
        extent: ("stuck {} % of the way from minimum to full command", |s| {
            100.0 * s
        }),
        range: WHOLE,
        shows: "fan loud even at low command; engine warms up slowly",
        confirm: "measure the fan speed at minimum command: use the control's own test function, or a cold engine",
        effort_minutes: 10.0,
        hazards: &[Fan, Belts],
        part: None,
        apply: |case, s| case.valve.least_command += (1.0 - case.valve.least_command) * s,
    },
    Fault {
        key: "relief-low",
        of: Subsystem::Valve,
        name: "relief valve opens too early",
        severity: "0 = at its setting, 1 = at a tenth of it",
        extent: ("opens at {} % of its setting", |s| 100.0 * (1.0 - 0.9 * s)),
        range: WHOLE,
        shows: "fan normal at idle; at raised engine speed the fan speed levels off and the oil runs hot",
        confirm: "measure the pressure at raised engine speed, at full command and with the control valve unplugged: it stays low in both cases",
        effort_minutes: 30.0,
        hazards: &[Pressure, Outlet, Hot, ReliefSetting],
        part: None,
        apply: |case, s| case.relief.setting = (case.relief.setting * (1.0 - 0.9 * s)).max(BAR),
    },
    Fault {
        key: "regulator-low",
        of: Subsystem::Valve,
        name: "flow regulator setting too low",
        severity: "0 = its rated flow, 1 = a tenth of it",
        extent: ("set to {} % of its rated flow", |s| 100.0 * (1.0 - 0.9 * s)),
        range: WHOLE,
        shows: "fan normal at idle; at raised engine speed the pump flow levels off too early, and so does the fan speed",
        confirm: "measure the pump flow at several engine speeds: it levels off below the rated flow although the inlet pressure is normal",
        effort_minutes: 60.0,
        hazards: &[Pressure, Outlet, Hot, Shared],
        part: Some("regulator"),
        apply: |case, s| {
            if let Some(regulator) = &mut case.regulator {
                regulator.rated_flow = (regulator.rated_flow * (1.0 - 0.9 * s)).max(0.5 * L_MIN);
            }
        },
    },
    Fault {
        key: "motor-drag",
        of: Subsystem::Motor,
        name: "stiff motor or fan bearing",
        severity: "0 = as in the machine file, 1 = friction that takes 70 % of the pressure at full command",
        extent: ("friction takes {} % of the pressure at full command", |s| {
            70.0 * s
        }),
        range: WHOLE,
        shows: "fan slow, above all at low pressure; the pressure is too high for the fan speed",
        confirm: "with the engine off and secured, turn the fan by hand and feel whether it is rough or stiff; then measure the pressure at two fan speeds",
        effort_minutes: 15.0,
        hazards: &[Fan, Pressure, Hot],
        part: None,
        apply: |case, s| {
            let extra = 0.7 * case.motor.displacement * case.valve.high * s;
            case.motor.dry_torque = (case.motor.dry_torque + extra).min(200.0);
            case.motor.breakaway = (case.motor.breakaway + 1.5 * extra).min(400.0);
        },
    },
    Fault {
        key: "oil-too-thick",
        of: Subsystem::Oil,
        name: "oil too thick",
        severity: "0 = data sheet viscosity, 1 = ten times that",
        extent: ("{} times its data sheet viscosity", |s| 10_f64.powf(s)),
        range: WHOLE,
        shows: "fan slow with cold oil, faster as the oil warms; normal or slightly faster with hot oil",
        confirm: "take the same reading with cold and with warm oil; measure the viscosity with an efflux cup; find out which oil was filled in",
        effort_minutes: 20.0,
        hazards: &[Approval, Shared, Hot],
        part: None,
        apply: |case, s| case.oil.thickness = (case.oil.thickness * 10_f64.powf(s)).min(100.0),
    },
    Fault {
        key: "oil-too-thin",
        of: Subsystem::Oil,
        name: "oil too thin or sheared",
        severity: "0 = data sheet viscosity, 1 = two fifths of it, as when diluted with fuel or a solvent",
        extent: ("{} % of its data sheet viscosity", |s| {
            100.0 * THINNEST.powf(s)
        }),
        range: WHOLE,
        shows: "fan slow with hot oil, at idle and at raised engine speed; normal with cold oil",
        confirm: "measure the viscosity with an efflux cup, or repeat the reading with fresh oil",
        effort_minutes: 20.0,
        hazards: &[Approval, Shared, Hot, Masking],
        part: None,
        apply: |case, s| case.oil.thickness = (case.oil.thickness * THINNEST.powf(s)).max(0.01),
    },
    Fault {
        key: "air-in-oil",
        of: Subsystem::Oil,
        name: "air in the oil",
        severity: "0 = no additional air, 1 = 30 % of the volume at the pump inlet is air",
        extent: ("about {} % air at the pump inlet", |s| 30.0 * s),
        range: WHOLE,
        shows: "fan slow and unsteady, with intermittent noise; foam in the reservoir",
        confirm: "with warm oil, run the engine at raised speed, then stop it: the reservoir level rises by 5 mm or more, or the oil foams",
        effort_minutes: 5.0,
        hazards: &[Hot, Belts, Shared],
        part: None,
        apply: |case, s| case.oil.air += (0.3 - case.oil.air) * s,
    },
    Fault {
        key: "suction-restricted",
        of: Subsystem::Line,
        name: "suction restricted",
        severity: "0 = open, 1 = a twentieth of the area of hose and screen left",
        extent: ("{} % of the area of hose and screen left", |s| {
            100.0 * open(s)
        }),
        range: WHOLE,
        shows: "fan normal at idle; slow with cold oil at high engine speed, with a steady whine",
        confirm: "measure the vacuum at the pump inlet at raised engine speed, with cold oil",
        effort_minutes: 30.0,
        hazards: &[Hot, Belts, Raised],
        part: None,
        apply: |case, s| {
            narrow(&mut case.suction.bore, open(s), 2.0 * MM);
            if let Some(screen) = &mut case.screen {
                screen.resistance /= open(s);
            }
        },
    },
    Fault {
        key: "supply-restricted",
        of: Subsystem::Line,
        name: "pressure hose restricted",
        severity: "0 = open, 1 = a twentieth of the hose area left",
        extent: ("{} % of the hose area left", |s| 100.0 * open(s)),
        range: WHOLE,
        shows: "pressure high upstream of the hose and low downstream; fan slow at raised engine speed, above all with cold oil",
        confirm: "measure the pressure at both ends of the hose with two gauges, at raised engine speed",
        effort_minutes: 45.0,
        hazards: &[Pressure, Outlet, Hot],
        part: None,
        apply: |case, s| narrow(&mut case.supply.bore, open(s), 2.0 * MM),
    },
    Fault {
        key: "return-restricted",
        of: Subsystem::Line,
        name: "return line or oil cooler restricted",
        severity: "0 = open, 1 = a twentieth of the area of hose, filter and cooler left",
        extent: ("{} % of the area of hose, filter and cooler left", |s| {
            100.0 * open(s)
        }),
        range: WHOLE,
        shows: "high pressure although the fan is slow, above all with cold oil; the oil runs hot",
        confirm: "measure the pressure at the motor outlet at raised engine speed",
        effort_minutes: 30.0,
        hazards: &[Pressure, Hot],
        part: None,
        apply: |case, s| {
            narrow(&mut case.return_line.bore, open(s), 2.0 * MM);
            if let Some(filter) = &mut case.filter {
                filter.resistance /= open(s);
            }
            if let Some(cooler) = &mut case.cooler {
                narrow(&mut cooler.bore, open(s), MM);
            }
        },
    },
    Fault {
        key: "belt-slip",
        of: Subsystem::Belt,
        name: "belt slips",
        severity: "0 = full grip, 1 = a twentieth of it",
        extent: ("{} % of its grip left", |s| 100.0 * open(s)),
        range: WHOLE,
        shows: "fan normal at idle; slow at raised engine speed, above all with cold oil, often with a squeal",
        confirm: "compare pump speed and engine speed, with a photo tachometer on the pump pulley",
        effort_minutes: 10.0,
        hazards: &[Belts, Fan],
        part: Some("belt"),
        apply: |case, s| {
            if let Some(belt) = &mut case.belt {
                belt.grip = (belt.grip * open(s)).max(0.02);
            }
        },
    },
];
