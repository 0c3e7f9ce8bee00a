//! What stands behind each number: how it comes about, by which laws, from where, within what, and how they were
//! checked.

use crate::law::{Bound, Law};
use maud::{Markup, html};

/// The table of all checks against numbers from outside.
const VALIDATION: &str = include_str!("../../validation/README.md");

/// Laws by which the oil's viscosity and density are known in a clearance.
const OIL: &[&str] = &[
    "kinematic_viscosity_astm_d341",
    "oil_density_linear",
    "dynamic_viscosity_barus_1893",
];

/// Laws of slip.
const SLIP: &[&str] = &["leakage_wilson_1950", "leakage_schlosser_1961"];

/// Laws of the air at the fan.
const AIR: &[&str] = &[
    "fan_affinity_iso_5801",
    "air_density_ideal_gas",
    "atmosphere_isa_1975",
];

/// One output: its key, how it comes about, and the groups of laws behind it.
type Behind = (
    &'static str,
    &'static str,
    &'static [&'static [&'static str]],
);

/// How each output comes about.
const BEHIND: &[Behind] = &[
    (
        "fan_speed",
        "The one speed at which the pump delivers what the motor and the valves beside it take, and the pressure over the motor turns the fan. It falls out of the whole balance; what limits it is the smallest of the speeds that each limit alone would allow.",
        &[SLIP, &["torque_loss_wilson_1950"], AIR, OIL],
    ),
    (
        "supply_gauge_pressure",
        "Pressure at the motor's inlet, and what the supply line takes.",
        &[&["friction_factor_churchill_1977"], OIL],
    ),
    (
        "motor_inlet_pressure",
        "Pressure behind the motor, and the pressure difference over it.",
        &[],
    ),
    (
        "return_pressure",
        "What return line, oil cooler, filter and steering behind the motor take, above the reservoir.",
        &[&["friction_factor_churchill_1977"], OIL],
    ),
    (
        "motor_pressure_drop",
        "Δp = (T + Cv V μ ω + T0) / (V (1 − Cf)), T being the fan's torque: the torque losses of a motor, solved for pressure.",
        &[&["torque_loss_wilson_1950"], AIR, OIL],
    ),
    (
        "inlet_pressure",
        "The air's pressure and the reservoir's, less what suction hose and screen take; never below the least at which the chambers fill.",
        &[
            &["atmosphere_isa_1975", "friction_factor_churchill_1977"],
            OIL,
        ],
    ),
    (
        "pump_speed",
        "Engine speed times ratio, less belt slip.",
        &[],
    ),
    (
        "belt_slip",
        "None up to the belt's torque limit; beyond it x/(1 + x), x growing with the torque. This form is a judgment, not a published law.",
        &[],
    ),
    (
        "pump_flow",
        "V ω of the pump, less slip, free air pressed together, what did not fill, and what the regulator turns back.",
        &[
            SLIP,
            &[
                "free_air_polytropic",
                "orifice_flow_merritt_1967",
                "discharge_coefficient_mccloy_1980",
            ],
            OIL,
        ],
    ),
    (
        "motor_flow",
        "V ω of the motor, and its slip.",
        &[SLIP, OIL],
    ),
    (
        "valve_flow",
        "(Δp − opening pressure) / slope once the valve opens, and what leaks by it when shut. The opening pressure follows the command.",
        &[&["orifice_flow_merritt_1967"]],
    ),
    (
        "relief_flow",
        "(p − setting) / slope once the relief opens.",
        &[],
    ),
    (
        "bypass_flow",
        "What the pump could deliver, less what the regulator's orifice passes at its spring's pressure difference; or what is missing at a starved inlet.",
        &[
            &[
                "orifice_flow_merritt_1967",
                "discharge_coefficient_mccloy_1980",
            ],
            OIL,
        ],
    ),
    (
        "steering_flow",
        "As the machine file says, where steering is fed first.",
        &[],
    ),
    (
        "pump_slip_flow",
        "Through the pump's clearances, laminar and turbulent together.",
        &[SLIP, OIL],
    ),
    (
        "motor_slip_flow",
        "Through the motor's clearances, laminar and turbulent together.",
        &[SLIP, OIL],
    ),
    (
        "pump_torque",
        "V Δp, and the pump's torque losses.",
        &[&["torque_loss_wilson_1950"], OIL],
    ),
    (
        "motor_torque",
        "What the fan asks for at this speed in this air.",
        &[AIR],
    ),
    ("pump_shaft_power", "Torque times speed.", &[]),
    ("fan_shaft_power", "Torque times speed.", &[AIR]),
    (
        "pump_volumetric_efficiency",
        "Flow over V ω.",
        &[&["efficiency_iso_4391"]],
    ),
    (
        "pump_mechanical_efficiency",
        "V Δp over torque.",
        &[&["efficiency_iso_4391"]],
    ),
    (
        "motor_volumetric_efficiency",
        "V ω over flow.",
        &[&["efficiency_iso_4391"]],
    ),
    (
        "motor_mechanical_efficiency",
        "Torque over V Δp.",
        &[&["efficiency_iso_4391"]],
    ),
    (
        "drive_efficiency",
        "Power at the fan's shaft over power at the pump's.",
        &[],
    ),
    (
        "supply_reynolds",
        "Re = 4 Q/(π d ν).",
        &[&["kinematic_viscosity_astm_d341"]],
    ),
    (
        "return_reynolds",
        "Re = 4 Q/(π d ν).",
        &[&["kinematic_viscosity_astm_d341"]],
    ),
    (
        "suction_reynolds",
        "Re = 4 Q/(π d ν).",
        &[&["kinematic_viscosity_astm_d341"]],
    ),
    (
        "oil_viscosity",
        "Straight lines in the D341 ordinate between the points of the oil's data sheet, times the oil's thickness factor.",
        &[&["kinematic_viscosity_astm_d341"]],
    ),
];

/// How the number of a key comes about, and by which laws, which stand further down.
pub(super) fn of(key: &str) -> Markup {
    let other = match key {
        "probability" => {
            "Bayes' rule over causes and their severities, each with how common it is: what every cause would read, with the spread of the machine and the error of each instrument, against what was read. How common causes are is a judgment."
        }
        "hottest_day" => {
            "The outer air at which the coolant reaches its limit, thermostat open and all fans at full, found for each set of fans that fits: fan curves of a data sheet against what core and coolers ask of the air in each part of the face, the main fan behind them all. It exists where a steady coolant temperature does not."
        }
        "rounds" => {
            "Whole rounds until the old oil left is no more than asked for, by the less hopeful of the limits of mixing."
        }
        "coolant_temp" => {
            "The one temperature at which core, oil cooler and surfaces give away what engine and oil take in, with the fan at the speed that this heat, this oil and its control lead to; along a trip, stored heat takes up the difference. A log's is as read."
        }
        _ => "",
    };
    if !other.is_empty() {
        let law = Law::find("dilution_well_mixed").filter(|_| key == "rounds");
        return html! {
            p { (other) }
            @if let Some(law) = law { p.by { "By: " a href={ "#law-" (law.key) } { (law.title()) } "." } }
        };
    }
    let Some((_, how, groups)) = BEHIND.iter().find(|b| b.0 == key) else {
        return html! {};
    };
    let laws: Vec<&Law> = groups
        .iter()
        .copied()
        .flatten()
        .filter_map(|key| Law::find(key))
        .collect();
    html! {
        p { (how) }
        @if !laws.is_empty() {
            p.by { "By: " @for (i, law) in laws.iter().enumerate() {
                @if i > 0 { "; " } a href={ "#law-" (law.key) } { (law.title()) }
            } "." }
        }
    }
}

/// All laws that stand behind the numbers, each once and in full.
pub(super) fn laws() -> Markup {
    let mut keys: Vec<&str> = BEHIND
        .iter()
        .flat_map(|b| b.2.iter().copied().flatten().copied())
        .collect();
    keys.push("dilution_well_mixed");
    keys.sort_unstable();
    keys.dedup();
    html! {
        @for law in keys.into_iter().filter_map(Law::find) {
            details.law {
                summary { (law.title()) }
                // A browser opens what its target stands in, so the target stands inside.
                span id={ "law-" (law.key) } {}
                @for w in law.written() {
                    p.gives { (w.gives) }
                    p.equation { (w.equation) }
                    dl.small {
                        div { dt { "Symbols" } dd { (w.symbols) } }
                        div { dt { "Holds for" } dd { (w.range) } }
                        div { dt { "Source" } dd { (w.source) } }
                    }
                }
                p { "Range of each symbol: " (ranges(law.range)) "." }
                (checks(law.key))
            }
        }
    }
}

fn ranges(bounds: &[Bound]) -> String {
    let one = |b: &Bound| {
        let unit = if b.unit == "1" { "" } else { b.unit };
        format!("{} {} to {} {unit}", b.symbol, short(b.low), short(b.high))
            .trim_end()
            .to_string()
    };
    bounds.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// A number of a range, with powers of ten where that is shorter.
fn short(x: f64) -> String {
    let text = if x.abs() <= 0.0 || (1e-3..1e6).contains(&x.abs()) {
        format!("{x}")
    } else {
        let text = format!("{x:e}");
        match text.split_once('e') {
            Some((figure, power)) => format!("{figure}·10^{power}"),
            None => text,
        }
    };
    text.replace('-', "−")
}

/// The checks of a law: the rows of the validation table whose folder it is.
fn checks(key: &str) -> Markup {
    let rows = rows(key);
    html! {
        @if rows.is_empty() {
            p { "No check against numbers from outside is listed under its own name." }
        } @else {
            p.title { "Checked against numbers from outside (validation/" (key) ")" }
            div.sideways tabindex="0" role="group" aria-label="Checks" {
                table {
                    thead { tr { @for head in ["check", "points", "allowed", "worst", "verdict"] { th scope="col" { (head) } } } }
                    tbody { @for row in rows { tr { @for cell in row { td { (cell) } } } } }
                }
            }
        }
    }
}

/// The rows of a folder in the validation table: check, points, allowed, worst, verdict.
fn rows(key: &str) -> Vec<Vec<&'static str>> {
    let begins = format!("| [{key}]");
    VALIDATION
        .lines()
        .filter(|line| line.starts_with(&begins))
        .map(|line| {
            line.trim_matches('|')
                .split('|')
                .skip(1)
                .map(str::trim)
                .collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::balance::OUTPUTS;

    #[test]
    fn every_output_says_how_it_comes_about() {
        let told: Vec<&str> = BEHIND.iter().map(|b| b.0).collect();
        let outputs: Vec<&str> = OUTPUTS.iter().map(|o| o.key).collect();
        assert_eq!(told, outputs);
        for key in BEHIND.iter().flat_map(|b| b.2.iter().copied().flatten()) {
            assert!(Law::find(key).is_some(), "no law {key}");
        }
    }

    #[test]
    fn every_law_told_of_has_rows_in_the_validation_table() {
        for key in BEHIND.iter().flat_map(|b| b.2.iter().copied().flatten()) {
            let rows = rows(key);
            assert!(!rows.is_empty(), "{key}");
            for row in rows {
                assert_eq!(row.len(), 5, "{key}: {row:?}");
            }
        }
    }

    #[test]
    fn ranges_are_short() {
        let bound = Bound {
            symbol: "β",
            low: 1e-9,
            high: -25_000_000.0,
            unit: "1/Pa",
        };
        assert_eq!(ranges(&[bound]), "β 1·10^−9 to −2.5·10^7 1/Pa");
    }
}
