//! Orifices and pipes.

use super::{Row, across, table};
use oilwheel::law::{
    discharge_coefficient_mccloy_1980 as discharge, friction_factor_churchill_1977 as friction,
    orifice_flow_merritt_1967 as orifice,
};

/// Computed elsewhere from the same equation, nine digits printed, %.
/// Whether it was set before or after the first run is not recorded.
const SAME_EQUATION: f64 = 1e-6;
/// Sums and identities taken here another way, %.
/// Whether it was set before or after the first run is not recorded.
const SECOND_WAY: f64 = 1e-6;
/// A rule of thumb with one digit's worth of rounding, %.
/// Whether it was set before or after the first run is not recorded.
const RULE: f64 = 0.2;
/// Three forms of the same thing: laminar limit against Merritt, turbulent limit against both, %; known misfits: between
/// the limits, and Wu's laminar slope.
/// Whether it was set before or after the first run is not recorded.
const FORMS: [f64; 4] = [2.0, 3.0, 30.0, 45.0];
/// The other regimes' share at Re = 1000, by the equation itself, %.
/// Whether it was set before or after the first run is not recorded.
const LAMINAR: f64 = 1e-8;
/// Churchill's own formula for rough pipes against Colebrook's, worst at Re = 4000, %.
/// Whether it was set before or after the first run is not recorded.
const COLEBROOK: f64 = 3.5;

pub fn rows() -> Vec<Row> {
    let mut rows = discharge_coefficient();
    rows.extend(orifice_flow());
    rows.extend(pipe());
    rows
}

fn discharge_coefficient() -> Vec<Row> {
    const NAME: &str = "discharge_coefficient_mccloy_1980";
    const TURBULENT: f64 = 0.611;
    const SLOPE: f64 = 0.2;
    let critical = 2.0 * TURBULENT / (SLOPE * SLOPE);
    // λ is Re/Cd: the one Cd at which both agree, by halving.
    let at = |re: f64| {
        let (mut low, mut high) = (1e-9_f64, 1.0);
        for _ in 0..200 {
            let cd = 0.5 * (low + high);
            if discharge::coefficient(TURBULENT, re / cd, critical) > cd {
                low = cd
            } else {
                high = cd
            }
        }
        low
    };
    let mut between = Row::percent(
        NAME,
        "against Merritt's cap and Wu's hump, Re 1 to 300: another form",
        FORMS[2],
    )
    .misfit();
    let mut slope = Row::percent(
        NAME,
        "against Wu's laminar slope, Re up to 1: 0.35 for 0.2",
        FORMS[3],
    )
    .misfit();
    let mut laminar = Row::percent(
        NAME,
        "against Merritt's laminar limit, Re up to 1",
        FORMS[0],
    );
    let mut turbulent = Row::percent(NAME, "against both turbulent limits, Re from 300", FORMS[1]);
    for line in table(NAME, "data") {
        let (re, wu, merritt) = (
            line.number("re"),
            line.number("cd_wu"),
            line.number("cd_merritt"),
        );
        if re <= 1.0 {
            laminar.see(at(re), merritt);
            slope.see(at(re), wu);
        } else {
            let row = if re < 300.0 {
                &mut between
            } else {
                &mut turbulent
            };
            row.see(at(re), wu);
            row.see(at(re), merritt);
        }
    }
    let mut tanh = Row::percent(
        NAME,
        "the library's hyperbolic tangent, whole range",
        SECOND_WAY,
    )
    .twice();
    for cd in across(&discharge::RANGE[0], 5) {
        for lambda in (-60..=60).map(|i| 10_f64.powf(0.1 * f64::from(i))) {
            for critical in across(&discharge::RANGE[2], 10) {
                tanh.see(
                    discharge::coefficient(cd, lambda, critical),
                    cd * (2.0 * lambda / critical).tanh(),
                );
            }
        }
    }
    vec![between, slope, laminar, turbulent, tanh]
}

fn orifice_flow() -> Vec<Row> {
    const NAME: &str = "orifice_flow_merritt_1967";
    const INCH: f64 = 0.0254;
    const PSI: f64 = 0.453_592_37 * 9.806_65 / (INCH * INCH);
    let mut rule = Row::percent(
        NAME,
        "the rule Q = 100 A √Δp in US units (from memory)",
        RULE,
    );
    for line in table(NAME, "data") {
        let (area, dp) = (
            line.number("area_in2") * INCH * INCH,
            line.number("dp_psi") * PSI,
        );
        rule.see(
            orifice::flow(0.625, area, dp, 833.6) / INCH.powi(3),
            line.number("flow_in3s"),
        );
    }
    let mut jet = Row::percent(
        NAME,
        "a jet's kinetic energy gives back Δp, whole range",
        SECOND_WAY,
    )
    .twice();
    for cd in across(&orifice::RANGE[0], 5).skip(1) {
        for area in across(&orifice::RANGE[1], 5) {
            for dp in across(&orifice::RANGE[2], 9) {
                for rho in across(&orifice::RANGE[3], 5) {
                    let u = orifice::flow(cd, area, dp, rho) / (cd * area);
                    jet.see(0.5 * rho * u * u.abs(), dp);
                }
            }
        }
    }
    vec![rule, jet]
}

/// Colebrook 1939: `1/√f = −2 log10(ε/(3.7 D) + 2.51/(Re √f))`, by repeated substitution.
fn colebrook(re: f64, rough: f64) -> f64 {
    let inverse = (0..200).fold(5.0_f64, |x, _| -2.0 * (rough / 3.7 + 2.51 * x / re).log10());
    1.0 / (inverse * inverse)
}

fn pipe() -> Vec<Row> {
    const NAME: &str = "friction_factor_churchill_1977";
    let mut form = Row::percent(NAME, "the form, another library's", SAME_EQUATION);
    let mut check = Row::percent(
        NAME,
        "Colebrook solved here against that library's",
        SAME_EQUATION,
    );
    for line in table(NAME, "data") {
        let (re, rough) = (line.number("re"), line.number("relative_roughness"));
        form.see(friction::darcy(re, rough), line.number("churchill"));
        if let Some(f) = line.some_number("colebrook") {
            check.see(colebrook(re, rough), f);
        }
    }
    let mut laminar = Row::percent(NAME, "64/Re, Re from 10⁻¹² to 1000", LAMINAR);
    let mut turbulent = Row::percent(
        NAME,
        "Colebrook, Re from 4000 to 10⁹, roughness to 0.05",
        COLEBROOK,
    );
    for re in across(&friction::RANGE[0], 420) {
        for rough in [0.0, 1e-6, 1e-5, 1e-4, 1e-3, 0.01, 0.05] {
            if re <= 1000.0 {
                laminar.see(friction::darcy(re, rough), 64.0 / re);
            } else if re >= 4000.0 {
                turbulent.see(friction::darcy(re, rough), colebrook(re, rough));
            }
        }
    }
    vec![form, check, laminar, turbulent]
}
