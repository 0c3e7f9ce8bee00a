//! The background of each number that the page shows: how it is computed, by which laws, their sources and ranges of
//! validity, and how they were checked.

use crate::law::{Bound, Law};
use maud::{Markup, html};

/// The table of all checks against external data.
const VALIDATION: &str = include_str!("../../validation/README.md");

/// Laws for viscosity and density of the oil in a clearance.
const OIL: &[&str] = &[
    "kinematic_viscosity_astm_d341",
    "oil_density_linear",
    "dynamic_viscosity_barus_1893",
];

/// Laws of leakage in pump and motor.
const SLIP: &[&str] = &["leakage_wilson_1950", "leakage_schlosser_1961"];

/// Laws of the air that passes the fan.
const AIR: &[&str] = &[
    "fan_affinity_iso_5801",
    "air_density_ideal_gas",
    "atmosphere_isa_1975",
];

/// How one output is computed: its key, an explanation, and the groups of laws used.
type Derivation = (
    &'static str,
    &'static str,
    &'static [&'static [&'static str]],
);

/// How the outputs are computed, one entry each.
const DERIVATIONS: &[Derivation] = &[
    (
        "fan_speed",
        "The only speed at which the pump flow equals the flow through motor and valves, and the motor pressure difference balances the fan torque. All equations are solved together. The limit named with it is the one that alone would allow the lowest speed.",
        &[SLIP, &["torque_loss_wilson_1950"], AIR, OIL],
    ),
    (
        "supply_gauge_pressure",
        "Motor inlet pressure plus the pressure drop of the supply line.",
        &[&["friction_factor_churchill_1977"], OIL],
    ),
    (
        "motor_inlet_pressure",
        "Motor outlet pressure plus the motor pressure difference.",
        &[],
    ),
    (
        "return_pressure",
        "Pressure drops of return line, oil cooler, filter and steering downstream of the motor, plus reservoir pressure.",
        &[&["friction_factor_churchill_1977"], OIL],
    ),
    (
        "motor_pressure_drop",
        "Δp = (T + Cv V μ ω + T0) / (V (1 − Cf)), where T is the fan's torque. This is the equation for the torque losses of a motor, solved for pressure.",
        &[&["torque_loss_wilson_1950"], AIR, OIL],
    ),
    (
        "inlet_pressure",
        "Air pressure plus reservoir pressure, minus the pressure drops of suction hose and screen. It is never below the minimum at which the pump chambers still fill.",
        &[
            &["atmosphere_isa_1975", "friction_factor_churchill_1977"],
            OIL,
        ],
    ),
    (
        "pump_speed",
        "Engine speed times drive ratio, minus belt slip.",
        &[],
    ),
    (
        "belt_slip",
        "Zero up to the belt's torque limit; above it the transmitted torque grows with slip. This form is an engineering assumption, not a published law.",
        &[],
    ),
    (
        "pump_flow",
        "Displacement times angular speed (V ω) of the pump, minus leakage, compression of free air, unfilled volume and the flow that the regulator bypasses.",
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
        "Displacement times angular speed (V ω) of the motor, plus its leakage.",
        &[SLIP, OIL],
    ),
    (
        "valve_flow",
        "(Δp − cracking pressure) / slope once the valve is open, plus the leakage of the closed valve. The cracking pressure follows the command.",
        &[&["orifice_flow_merritt_1967"]],
    ),
    (
        "relief_flow",
        "(p − setting) / slope once the relief valve is open.",
        &[],
    ),
    (
        "bypass_flow",
        "The available pump flow minus the flow through the regulator's orifice at the pressure drop set by its spring.",
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
        "As in the machine file, if the steering has priority.",
        &[],
    ),
    (
        "pump_slip_flow",
        "Leakage through the pump's clearances, laminar plus turbulent.",
        &[SLIP, OIL],
    ),
    (
        "motor_slip_flow",
        "Leakage through the motor's clearances, laminar plus turbulent.",
        &[SLIP, OIL],
    ),
    (
        "pump_torque",
        "V Δp plus the torque losses of the pump.",
        &[&["torque_loss_wilson_1950"], OIL],
    ),
    (
        "motor_torque",
        "Torque of the fan at this speed in this air.",
        &[AIR],
    ),
    ("pump_shaft_power", "Torque times speed.", &[]),
    ("fan_shaft_power", "Torque times speed.", &[AIR]),
    (
        "pump_volumetric_efficiency",
        "Flow divided by V ω.",
        &[&["efficiency_iso_4391"]],
    ),
    (
        "pump_mechanical_efficiency",
        "V Δp divided by torque.",
        &[&["efficiency_iso_4391"]],
    ),
    (
        "motor_volumetric_efficiency",
        "V ω divided by flow.",
        &[&["efficiency_iso_4391"]],
    ),
    (
        "motor_mechanical_efficiency",
        "Torque divided by V Δp.",
        &[&["efficiency_iso_4391"]],
    ),
    (
        "drive_efficiency",
        "Fan shaft power divided by pump shaft power.",
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
        "Straight lines on the viscosity scale of ASTM D341, drawn between the viscosities in the oil's data sheet, times the viscosity factor of the oil.",
        &[&["kinematic_viscosity_astm_d341"]],
    ),
];

/// Explains how the number with a given key is computed, with links to its laws further down the page.
pub(super) fn of(key: &str) -> Markup {
    let other = match key {
        "probability" => {
            "Bayes' rule. For each cause and severity, the expected readings are compared with the actual ones, with the uncertainty of machine and instruments. The prior weight of a cause says how common it is; these weights are an engineering assumption."
        }
        "hottest_day" => {
            "The ambient temperature at which the coolant reaches its limit, with the thermostat open and all fans at full speed. It is computed for each set of fans that fits: in each zone of the core face, the fan curves of the data sheets meet the resistance of core and coolers, with the main fan downstream. It can be computed even if there is no steady coolant temperature."
        }
        "rounds" => {
            "The number of whole rounds after which the remaining old oil meets the target. Of the two limits, plug flow and complete mixing, the worse one is used."
        }
        "coolant_temp" => {
            "The temperature at which core, oil cooler and surfaces reject all the heat of engine and oil, with the fan at the resulting speed. During a trip, the machine stores the difference. In a log, it is the reading."
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
    let Some((_, how, groups)) = DERIVATIONS.iter().find(|b| b.0 == key) else {
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

/// All laws used, each once, with equations, sources and ranges.
pub(super) fn laws() -> Markup {
    let mut keys: Vec<&str> = DERIVATIONS
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
                // The link target is inside the collapsed element, so that a browser expands the element.
                span id={ "law-" (law.key) } {}
                @for w in law.written() {
                    p.gives { (w.gives) }
                    p.equation { (w.equation) }
                    dl.small {
                        div { dt { "Symbols" } dd { (w.symbols) } }
                        div { dt { "Valid for" } dd { (w.range) } }
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

/// A limit of a range as text, with a power of ten if that is shorter.
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

/// The checks of a law against external data: the rows of its folder in the validation table.
fn checks(key: &str) -> Markup {
    let rows = rows(key);
    html! {
        @if rows.is_empty() {
            p { "No check against external data is listed under the name of this law." }
        } @else {
            p.title { "Checked against external data (validation/" (key) ")" }
            div.sideways tabindex="0" role="group" aria-label="Checks" {
                table {
                    thead { tr { @for head in ["check", "points", "allowed", "worst", "verdict"] { th scope="col" { (head) } } } }
                    tbody { @for row in rows { tr { @for cell in row { td { (cell) } } } } }
                }
            }
        }
    }
}

/// The rows of a folder in the validation table, with the cells check, points, allowed deviation, worst deviation,
/// verdict.
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
        let told: Vec<&str> = DERIVATIONS.iter().map(|b| b.0).collect();
        let outputs: Vec<&str> = OUTPUTS.iter().map(|o| o.key).collect();
        assert_eq!(told, outputs);
        for key in DERIVATIONS
            .iter()
            .flat_map(|b| b.2.iter().copied().flatten())
        {
            assert!(Law::find(key).is_some(), "no law {key}");
        }
    }

    #[test]
    fn every_law_told_of_has_rows_in_the_validation_table() {
        for key in DERIVATIONS
            .iter()
            .flat_map(|b| b.2.iter().copied().flatten())
        {
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
