//! Pumps and motors: leakage, torque lost, efficiencies, textbook examples.

use super::{Line, Row, across, table};
use oilwheel::law::{
    efficiency_iso_4391 as efficiency, friction_factor_churchill_1977 as friction,
    leakage_schlosser_1961 as schlosser, leakage_wilson_1950 as wilson,
    torque_loss_wilson_1950 as torque,
};
use std::f64::consts::{PI, TAU};

/// Efficiencies computed elsewhere from the same equations: six digits of numbers that reach minus eight.
/// Whether it was set before or after the first run is not recorded.
const SAME_EQUATION: f64 = 1e-5;
/// Sums and integrals taken here another way, %.
/// Whether it was set before or after the first run is not recorded.
const SECOND_WAY: f64 = 1e-6;
/// Gerotor points: laminar slip alone, and both (curves read to ±1 point, slip rises with speed in them).
/// Whether it was set before or after the first run is not recorded.
const GEROTOR: [f64; 2] = [4.0, 1.5];
/// The book's constants (1714, 7740, 449, 62.4, 32.2) are rounded to three or four digits, %.
/// Whether it was set before or after the first run is not recorded.
const BOOK: f64 = 0.2;

const INCH: f64 = 0.0254;
const CUBIC_INCH: f64 = INCH * INCH * INCH;
const GALLON: f64 = 231.0 * CUBIC_INCH;
const GPM: f64 = GALLON / 60.0;
const FOOT: f64 = 12.0 * INCH;
const POUND_FORCE: f64 = 0.453_592_37 * 9.806_65;
const PSI: f64 = POUND_FORCE / (INCH * INCH);
const HP: f64 = 550.0 * FOOT * POUND_FORCE;
const RPM: f64 = TAU / 60.0;

pub fn rows() -> Vec<Row> {
    let mut rows = efficiencies();
    rows.push(slot());
    rows.push(journal());
    rows.extend(gerotor());
    rows.push(esposito());
    rows
}

/// A machine of the grid at work: displacement, Δp, μ, ω.
fn at_work(line: &Line) -> (f64, f64, f64, f64) {
    let mu = line.number("nu_mm2s") * 1e-6 * 860.0;
    // Any displacement: efficiencies do not depend on it.
    (
        3e-6,
        line.number("dp_bar") * 1e5,
        mu,
        line.number("speed_rpm") * RPM,
    )
}

fn efficiencies() -> Vec<Row> {
    const WHAT: &str = "efficiencies of six machines, computed elsewhere";
    let row = |name| Row::absolute(name, WHAT, "of 1", SAME_EQUATION).twice();
    let (mut flow, mut loss, mut total) = (
        row("leakage_wilson_1950"),
        row("torque_loss_wilson_1950"),
        row("efficiency_iso_4391"),
    );
    for line in table(flow.folder, "data") {
        let (v, dp, mu, w) = at_work(&line);
        let leak = wilson::laminar(line.number("cs"), v, dp, mu);
        flow.see(
            efficiency::pump_volumetric(v * w - leak, v, w),
            line.number("pump_eta_v"),
        );
        flow.see(
            efficiency::motor_volumetric(v * w + leak, v, w),
            line.number("motor_eta_v"),
        );
    }
    for line in table(loss.folder, "data") {
        let (v, dp, mu, w) = at_work(&line);
        let lost = torque::torque_loss(line.number("cf"), line.number("cv"), 0.0, v, dp, mu, w);
        loss.see(
            efficiency::pump_hydro_mechanical(v, dp, v * dp + lost),
            line.number("pump_eta_hm"),
        );
        loss.see(
            efficiency::motor_hydro_mechanical(v, dp, v * dp - lost),
            line.number("motor_eta_hm"),
        );
    }
    for line in table(total.folder, "data") {
        let (v, dp, mu, w) = at_work(&line);
        let leak = wilson::laminar(line.number("cs"), v, dp, mu);
        let lost = torque::torque_loss(line.number("cf"), line.number("cv"), 0.0, v, dp, mu, w);
        total.see(
            efficiency::pump_total(v * w - leak, dp, v * dp + lost, w),
            line.number("pump_eta_t"),
        );
        total.see(
            efficiency::motor_total(v * w + leak, dp, v * dp - lost, w),
            line.number("motor_eta_t"),
        );
    }
    vec![flow, loss, total]
}

/// Laminar slip is flow through a plane slot: the velocity profile, summed by Simpson's rule.
fn slot() -> Row {
    let mut row = Row::percent(
        "leakage_wilson_1950",
        "a plane slot's profile summed, whole range",
        SECOND_WAY,
    )
    .twice();
    let (height, length) = (20e-6_f64, 3e-3);
    for v in across(&wilson::RANGE[1], 5) {
        for dp in across(&wilson::RANGE[2], 7) {
            for mu in across(&wilson::RANGE[3], 5) {
                for cs in across(&wilson::RANGE[0], 5) {
                    let width = cs * 12.0 * length * v / height.powi(3);
                    let u = |y: f64| dp / (2.0 * mu * length) * y * (height - y);
                    let profile = height / 6.0 * (u(0.0) + 4.0 * u(0.5 * height) + u(height));
                    row.see(wilson::laminar(cs, v, dp, mu), width * profile);
                }
            }
        }
    }
    row
}

/// Drag is a journal in plane shear, friction a band pressed on by the pressure.
fn journal() -> Row {
    let mut row = Row::percent(
        "torque_loss_wilson_1950",
        "a journal in shear and a rubbing band, whole range",
        SECOND_WAY,
    )
    .twice();
    let range = |symbol: &str| torque::RANGE.iter().find(|b| b.symbol == symbol).unwrap();
    let (radius, gap) = (0.02, 30e-6);
    for dp in across(range("Δp"), 6) {
        for mu in across(range("μ"), 6) {
            for omega in across(range("ω"), 6) {
                for (cf, cv) in across(range("Cf"), 6).zip(across(range("Cv"), 6)) {
                    for v in across(range("V"), 4) {
                        let length = cv * v * gap / (TAU * radius * radius * radius);
                        let shear = mu * omega * radius / gap * TAU * radius * length;
                        let rubbing = cf * (dp.abs() * v / radius);
                        row.see(
                            torque::torque_loss(cf, cv, 0.7, v, dp, mu, omega),
                            (shear + rubbing) * radius + 0.7,
                        );
                    }
                }
            }
        }
    }
    row
}

fn gerotor() -> Vec<Row> {
    const NAME: &str = "leakage_schlosser_1961";
    const DENSITY: f64 = 870.0;
    let v = 4.53 * CUBIC_INCH / TAU;
    // Points of efficiency that each law takes at a coefficient of one, and those missing.
    let points: Vec<[f64; 3]> = table(NAME, "data")
        .iter()
        .map(|l| {
            let (dp, points) = (
                l.number("dp_psi") * PSI,
                100.0 / (v * l.number("speed_rpm") * RPM),
            );
            let turbulent = schlosser::turbulent(1.0, schlosser::gap(v), dp, DENSITY);
            [
                wilson::laminar(1.0, v, dp, 1.0) * points,
                turbulent * points,
                100.0 * (1.0 - l.number("eta_v")),
            ]
        })
        .collect();
    let sum = |i: usize, j: usize| points.iter().map(|p| p[i] * p[j]).sum::<f64>();
    let mut alone = Row::absolute(
        NAME,
        "gerotor points fitted by laminar slip alone",
        "points",
        GEROTOR[0],
    )
    .misfit();
    let mut both = Row::absolute(
        NAME,
        "gerotor points fitted by both slips (not a prediction)",
        "points",
        GEROTOR[1],
    );
    let single = sum(0, 2) / sum(0, 0);
    let determinant = sum(0, 0) * sum(1, 1) - sum(0, 1) * sum(0, 1);
    let laminar = (sum(0, 2) * sum(1, 1) - sum(1, 2) * sum(0, 1)) / determinant;
    let turbulent = (sum(1, 2) * sum(0, 0) - sum(0, 2) * sum(0, 1)) / determinant;
    for p in &points {
        alone.see(single * p[0], p[2]);
        both.see(laminar * p[0] + turbulent * p[1], p[2]);
    }
    // Cs at 20 mPa·s of an oil that is not stated, and Ct: of the size that other machines have.
    let mut size = Row::absolute(
        NAME,
        "the fit's coefficients lie in the laws' ranges",
        "outside",
        0.0,
    );
    let cs = laminar * 0.02;
    size.must(cs > wilson::RANGE[0].low && cs < wilson::RANGE[0].high);
    size.must(turbulent > 0.0 && turbulent < schlosser::RANGE[0].high);

    let mut jet = Row::percent(
        NAME,
        "a jet's kinetic energy gives back Δp, whole range",
        SECOND_WAY,
    )
    .twice();
    for v in across(&schlosser::RANGE[1], 5) {
        for dp in across(&schlosser::RANGE[2], 9) {
            for rho in across(&schlosser::RANGE[3], 5) {
                for ct in across(&schlosser::RANGE[0], 4).skip(1) {
                    let gap = schlosser::gap(v);
                    let u = schlosser::turbulent(ct, gap, dp, rho) / (ct * v.powf(2.0 / 3.0));
                    jet.see(0.5 * rho * u * u.abs(), dp);
                }
            }
        }
    }
    vec![alone, both, size, jet]
}

fn esposito() -> Row {
    const NAME: &str = "fluid_power_examples_esposito";
    let mut row = Row::percent(
        NAME,
        "relief loss, motor, transmission, transmission with line",
        BOOK,
    );
    let torque_unit = POUND_FORCE * INCH;
    let displacement = |cubic_inch: f64| cubic_inch * CUBIC_INCH / TAU;

    let mut ours: Vec<(&str, &str, f64)> = Vec::new();
    // 5-5: power over a relief.
    ours.push(("5-5", "power saved", (20.0 - 0.7) * GPM * 1200.0 * PSI / HP));

    // 7-3: a motor on the bench.
    let (v, w, q, t, dp) = (
        displacement(10.0),
        2000.0 * RPM,
        95.0 * GPM,
        1500.0 * torque_unit,
        1000.0 * PSI,
    );
    ours.push((
        "7-3",
        "eta_v",
        100.0 * efficiency::motor_volumetric(q, v, w),
    ));
    ours.push((
        "7-3",
        "eta_hm",
        100.0 * efficiency::motor_hydro_mechanical(v, dp, t),
    ));
    ours.push(("7-3", "eta_t", 100.0 * efficiency::motor_total(q, dp, t, w)));
    ours.push(("7-3", "power", t * w / HP));

    // 7-4: pump's flow turns the motor.
    let q = 0.82 * displacement(5.0) * 500.0 * RPM;
    let v = 0.92 * q / (400.0 * RPM);
    ours.push(("7-4", "motor displacement", v * TAU / CUBIC_INCH));
    ours.push(("7-4", "torque", 0.90 * v * 1000.0 * PSI / torque_unit));

    // 9-5: the same with its line.
    let (rho, nu, d, g) = (0.9 * 999.0, 125e-6, 1.040 * INCH, 9.806_65);
    let q = 0.94 * displacement(10.0) * 1000.0 * RPM;
    let u = q / (PI * d * d / 4.0);
    let re = u * d / nu;
    let head = (friction::darcy(re, 0.0) * 50.0 * FOOT / d + 2.0 * 0.75 + 4.0) * u * u / (2.0 * g);
    let p1 = 500.0 * PSI + rho * g * (head + 20.0 * FOOT);
    let shaft = (p1 + 4.0 * PSI) * q / (0.94 * 0.92);
    let speed = 0.90 * q / displacement(8.0);
    let motor_torque = 0.92 * displacement(8.0) * 495.0 * PSI;
    ours.push(("9-5", "flow", q / GPM));
    ours.push(("9-5", "velocity", u / FOOT));
    ours.push(("9-5", "re", re));
    ours.push(("9-5", "head loss", head / FOOT));
    ours.push(("9-5", "outlet pressure", p1 / PSI));
    ours.push(("9-5", "pump power", shaft / HP));
    ours.push(("9-5", "motor speed", speed / RPM));
    ours.push(("9-5", "torque", motor_torque / torque_unit));
    ours.push(("9-5", "eta_t", 100.0 * motor_torque * speed / shaft));

    let lines = table(NAME, "data");
    assert_eq!(lines.len(), ours.len());
    for line in lines {
        let (example, quantity) = (line.text("example"), line.text("quantity"));
        let (.., value) = ours
            .iter()
            .find(|(e, q, _)| *e == example && *q == quantity)
            .unwrap();
        row.see(*value, line.number("value"));
    }
    row
}
