//! Fan, air, atmosphere, heat exchangers.

use super::{Row, across, table};
use oilwheel::law::{
    air_density_ideal_gas as gas, atmosphere_isa_1975 as isa,
    effectiveness_kays_london as exchanger, fan_affinity_iso_5801 as fan,
};

/// Computed elsewhere from the same laws, four to five digits printed, %.
/// Whether it was set before or after the first run is not recorded.
const PRINTED: f64 = 0.05;
/// Sums and identities taken here another way, %.
/// Whether it was set before or after the first run is not recorded.
const SECOND_WAY: f64 = 1e-6;
/// Ideal against real air, worst at −40 °C, %.
/// Whether it was set before or after the first run is not recorded.
const REAL_GAS: f64 = 0.15;
/// Another library's atmosphere, eight digits printed, %; its density, gas constant rounded otherwise.
/// Whether it was set before or after the first run is not recorded.
const ATMOSPHERE: [f64; 2] = [1e-4, 1e-3];
/// Nine digits printed.
/// Whether it was set before or after the first run is not recorded.
const TABLE: f64 = 2e-9;
/// Heat balances marched in cells, carried to the limit.
/// Whether it was set before or after the first run is not recorded.
const MARCHED: f64 = 1e-6;
/// The textbooks round NTU, heat or outlet temperature.
/// Whether it was set before or after the first run is not recorded.
const BOOK: f64 = 0.01;

pub fn rows() -> Vec<Row> {
    let mut rows = fan_laws();
    rows.push(air());
    rows.extend(atmosphere());
    rows.extend(crossflow());
    rows
}

fn fan_laws() -> Vec<Row> {
    const NAME: &str = "fan_affinity_iso_5801";
    let (speed, diameter, density) = (1150.0 / 600.0, 42.0 / 36.0, 0.045 / 0.075);
    let mut example = Row::percent(NAME, "a fan of other size, speed and air", PRINTED);
    for line in table(NAME, "data") {
        let (flow, pressure) = (line.number("flow_cfm"), line.number("pressure_inh2o"));
        // Nothing scales to nothing; a ratio cannot be taken.
        if flow > 0.0 {
            example.see(
                fan::flow(flow, speed, diameter),
                line.number("new_flow_cfm"),
            );
        }
        if pressure > 0.0 {
            example.see(
                fan::pressure(pressure, speed, diameter, density),
                line.number("new_pressure_inh2o"),
            );
        }
        let (power, new) = (line.number("power_hp"), line.number("new_power_hp"));
        example.see(fan::power(power, speed, diameter, density), new);
        example.see(fan::torque(power, speed, diameter, density) * speed, new);
    }
    let mut coefficients = Row::percent(
        NAME,
        "flow, pressure, power coefficients stay, whole range",
        SECOND_WAY,
    );
    let (q, p, w, t) = (2.0, 400.0, 1500.0, 1500.0 / 250.0);
    for n in across(&fan::RANGE[0], 10) {
        for d in across(&fan::RANGE[1], 10) {
            for rho in across(&fan::RANGE[2], 10) {
                coefficients.see(fan::flow(q, n, d) / (n * d * d * d), q);
                coefficients.see(fan::pressure(p, n, d, rho) / (rho * (n * d) * (n * d)), p);
                let tip = n * d;
                coefficients.see(
                    fan::power(w, n, d, rho) / (rho * tip * tip * tip * d * d),
                    w,
                );
                coefficients.see(
                    fan::torque(t, n, d, rho) * 250.0 * n / fan::power(w, n, d, rho),
                    1.0,
                );
            }
        }
    }
    vec![example, coefficients]
}

fn air() -> Row {
    const NAME: &str = "air_density_ideal_gas";
    let mut row = Row::percent(
        NAME,
        "real dry air, −40 to 160 °C, sea level and altitude",
        REAL_GAS,
    );
    for line in table(NAME, "data") {
        row.see(
            gas::density(line.number("p_pa"), line.number("t_c") + 273.15),
            line.number("density_kgm3"),
        );
    }
    row
}

fn atmosphere() -> Vec<Row> {
    const NAME: &str = "atmosphere_isa_1975";
    let mut pressure = Row::percent(NAME, "pressure, −500 to 6000 m", ATMOSPHERE[0]);
    let mut density = Row::percent(NAME, "density with the table's temperature", ATMOSPHERE[1]);
    for line in table(NAME, "data") {
        let p = isa::pressure(line.number("altitude_m"));
        pressure.see(p, line.number("p_pa"));
        density.see(
            gas::density(p, line.number("t_k")),
            line.number("density_kgm3"),
        );
    }
    let mut column = Row::percent(
        NAME,
        "the weight of the air column summed, whole range",
        ATMOSPHERE[0],
    );
    const RADIUS: f64 = 6_356_766.0;
    // d(ln p)/dz, gravity and temperature at that height.
    let slope = |z: f64| {
        let near = RADIUS / (RADIUS + z);
        -9.806_65 * near * near / (gas::GAS_CONSTANT * (288.15 - 0.0065 * near * z))
    };
    for z in across(&isa::RANGE[0], 23) {
        let (n, h) = (200, z / 200.0);
        let simpson = |i: i32| {
            let a = f64::from(i) * h;
            h / 6.0 * (slope(a) + 4.0 * slope(a + 0.5 * h) + slope(a + h))
        };
        column.see(
            isa::pressure(z),
            101_325.0 * (0..n).map(simpson).sum::<f64>().exp(),
        );
    }
    vec![pressure, density, column]
}

/// Crossflow marched cell by cell: both heat balances by the trapezoidal rule over n by n cells.
fn marched(ntu: f64, cr: f64, n: usize) -> f64 {
    let (a, b) = (0.5 * ntu / n as f64, 0.5 * cr * ntu / n as f64);
    // The stream of least capacity comes in hot (1) and goes along x, the other cold (0) along y.
    let mut cold = vec![0.0; n];
    let mut sum = 0.0;
    for _ in 0..n {
        let mut hot = 1.0;
        for cold in &mut cold {
            // hot' = hot − a (hot + hot' − cold − cold'), cold' = cold + b (hot + hot' − cold − cold').
            let drive = 2.0 * (hot - *cold) / (1.0 + a + b);
            hot -= a * drive;
            *cold += b * drive;
        }
        sum += hot;
    }
    1.0 - sum / n as f64
}

fn crossflow() -> Vec<Row> {
    const NAME: &str = "effectiveness_kays_london";
    let mut grid = Row::absolute(NAME, "the exact integral, another library's", "of 1", TABLE);
    for line in table(NAME, "data") {
        grid.see(
            exchanger::crossflow(line.number("ntu"), line.number("cr")),
            line.number("crossflow"),
        );
    }
    let mut book = Row::absolute(NAME, "three textbook examples", "of 1", BOOK);
    for line in table(NAME, "examples") {
        book.see(
            exchanger::crossflow(line.number("ntu"), line.number("cr")),
            line.number("effectiveness"),
        );
    }
    let mut cells = Row::absolute(
        NAME,
        "heat balances marched in cells, NTU to 10",
        "of 1",
        MARCHED,
    );
    for ntu in [0.1, 0.5, 1.0, 2.0, 4.0, 10.0] {
        for cr in across(&exchanger::RANGE[1], 4) {
            let limit = (4.0 * marched(ntu, cr, 400) - marched(ntu, cr, 200)) / 3.0;
            cells.see(exchanger::crossflow(ntu, cr), limit);
        }
    }
    let mut bounds = Row::absolute(
        NAME,
        "between parallel and counterflow and rising, whole range",
        "times not",
        0.0,
    );
    for cr in across(&exchanger::RANGE[1], 20) {
        let mut last = 0.0;
        for ntu in (-30..=27)
            .map(|i| 10_f64.powf(0.1 * f64::from(i)))
            .filter(|n| *n <= exchanger::MOST)
        {
            let parallel = (1.0 - (-ntu * (1.0 + cr)).exp()) / (1.0 + cr);
            let x = (-ntu * (1.0 - cr)).exp();
            let counter = if cr < 1.0 {
                (1.0 - x) / (1.0 - cr * x)
            } else {
                ntu / (1.0 + ntu)
            };
            let ours = exchanger::crossflow(ntu, cr);
            bounds.must(ours > parallel - 1e-12 && ours < counter + 1e-12 && ours >= last - 1e-12);
            last = ours;
        }
    }
    vec![grid, book, cells, bounds]
}
