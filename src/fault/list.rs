//! The faults, and how each severity changes the inputs. All maps are judgments: smooth, nothing at 0, gross at 1.

use super::Fault;
use crate::input::unit::{BAR, L_MIN, MM};



const WHOLE: (f64, f64) = (0.0, 1.0);

/// Below this a machine's laminar slip coefficient is taken as this when wear multiplies it.
const LEAST_SLIP: f64 = 1e-8;
/// The same for turbulent slip.
const LEAST_TURBULENT_SLIP: f64 = 1e-3;

/// Gaps that wear has widened by a share `wider`: laminar slip goes with the cube of the gap, turbulent slip with the gap.
fn widen(slip: &mut f64, turbulent: &mut f64, wider: f64) {
    let gap = 1.0 + wider;
    *slip = (*slip + slip.max(LEAST_SLIP) * (gap.powi(3) - 1.0)).min(2e-6);
    *turbulent = (*turbulent + turbulent.max(LEAST_TURBULENT_SLIP) * (gap - 1.0)).min(0.05);
}

/// A bore that is left with a share `open` of its area.
fn narrow(bore: &mut f64, open: f64, least: f64) {
    *bore = (*bore * open.sqrt()).max(bore.min(least));
}

/// Every fault, in the order in which they are shown.
pub const ALL: &[Fault] = &[
    Fault {
        key: "worn-pump",
        name: "worn pump",
        severity: "0 gaps as the machine file has them, 1 gaps four times as wide",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| widen(&mut case.pump.slip, &mut case.pump.turbulent_slip, 3.0 * s),
    },
    Fault {
        key: "worn-motor",
        name: "worn motor",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| widen(&mut case.motor.slip, &mut case.motor.turbulent_slip, 3.0 * s),
    },
    Fault {
        key: "bypass-leaking",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| {
            let hole = 0.3 * case.motor.displacement.cbrt() * s.sqrt();
            case.valve.leak = case.valve.leak.hypot(hole);
        },
    },
    Fault {
        key: "control-not-asking",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| case.control.ceiling *= 1.0 - s,
    },
    Fault {
        key: "valve-stuck-full",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| case.valve.least_command += (1.0 - case.valve.least_command) * s,
    },
    Fault {
        key: "relief-low",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| case.relief.setting = (case.relief.setting * (1.0 - 0.9 * s)).max(BAR),
    },
    Fault {
        key: "regulator-low",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: Some("regulator"),
        apply: |case, s| {
            if let Some(r) = &mut case.regulator {
                r.rated_flow = (r.rated_flow * (1.0 - 0.9 * s)).max(0.5 * L_MIN);
            }
        },
    },
    Fault {
        key: "motor-drag",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| {
            let extra = 0.7 * case.motor.displacement * case.valve.high * s;
            case.motor.dry_torque += extra;
            case.motor.breakaway += 1.5 * extra;
        },
    },
    Fault {
        key: "oil-too-thick",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| case.oil.thickness *= 10f64.powf(s),
    },
    Fault {
        key: "oil-too-thin",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| case.oil.thickness *= 0.15f64.powf(s),
    },
    Fault {
        key: "air-in-oil",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| case.oil.air += (0.3 - case.oil.air) * s,
    },
    Fault {
        key: "suction-restricted",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| {
            let open = 1.0 - 0.95 * s;
            narrow(&mut case.suction.bore, open, 2.0 * MM);
            if let Some(screen) = &mut case.screen { screen.resistance /= open; }
        },
    },
    Fault {
        key: "supply-restricted",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| narrow(&mut case.supply.bore, 1.0 - 0.95 * s, 2.0 * MM),
    },
    Fault {
        key: "return-restricted",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: None,
        apply: |case, s| {
            let open = 1.0 - 0.95 * s;
            narrow(&mut case.return_line.bore, open, 2.0 * MM);
            if let Some(filter) = &mut case.filter { filter.resistance /= open; }
            if let Some(cooler) = &mut case.cooler { narrow(&mut cooler.bore, open, MM); }
        },
    },
    Fault {
        key: "belt-slip",
        name: "",
        severity: "",
        range: WHOLE,
        shows: "", confirm: "", effort_minutes: 30.0, cautions: &[], twins: &["oil-too-thin", "air-in-oil"],
        part: Some("belt"),
        apply: |case, s| {
            if let Some(belt) = &mut case.belt {
                belt.grip *= 1.0 - 0.95 * s;
            }
        },
    },
];
