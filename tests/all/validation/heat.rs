//! Coolant, steam, air's heat capacity, road load, fuel, fan curve, limiting ambient.

use super::{Line, Row, across, table};
use oilwheel::balance::{Capacities, Rules, Stored, travel};
use oilwheel::input::unit::L_MIN;
use oilwheel::law::{
    air_heat_capacity_wark_1983 as air, boiling_raoult as raoult,
    coolant_properties_ashrae_2001 as glycol, fan_curve_quadratic as curve,
    fuel_heat_stoichiometric as fuel, limiting_ambient_sae_j1393 as j1393,
    road_load_steady as road, steam_saturation_iapws_1997 as steam,
};
use oilwheel::model::{Ask, Leg, Lookup, RatingPoint};
use oilwheel::vary::rating;

/// What the integration of a trip may be off, K.
/// Whether it was set before or after the first run is not recorded.
const INTEGRATED: f64 = 1e-3;
/// Sums and identities taken here another way, %.
/// Whether it was set before or after the first run is not recorded.
const SECOND_WAY: f64 = 1e-6;
/// What the fits leave, to 100 °C: density, heat capacity, conductivity, viscosity, %.
/// Whether it was set before or after the first run is not recorded.
const FIT: [f64; 4] = [0.03, 0.06, 0.6, 7.0];
/// Another collection of measurements, from 0 °C on, %.
/// Set after the first run: it was [1.0, 3.0, 8.0, 25.0] before.
const OTHER: [f64; 4] = [1.2, 3.0, 8.0, 25.0];
/// Run on to pure water, %.
/// Whether it was set before or after the first run is not recorded.
const WATER: [f64; 4] = [0.3, 1.6, 3.0, 25.0];
/// Freezing: the fit, K; the other collection, K.
/// Whether it was set before or after the first run is not recorded.
const FREEZING: [f64; 2] = [0.6, 3.0];
/// Same formulation printed to a millikelvin; another one, K.
/// Whether it was set before or after the first run is not recorded.
const STEAM: [f64; 2] = [6e-4, 3e-3];
/// The glycol's own vapour left out; another model, K.
/// Set after the first run: it was [0.7, 1.2] before.
const VAPOUR: [f64; 2] = [0.9, 1.4];
/// Figures met in public, K.
/// Set after the first run: it was 5.0 before.
const PUBLISHED: f64 = 5.2;
/// Pressure leaves the ideal gas by this much, %.
/// Set after the first run: it was 0.2 before.
const REAL_GAS: f64 = 0.25;
/// A parabola through a whole fan curve, of the rating point's value: pressure, power.
/// Whether it was set before or after the first run is not recorded.
const PARABOLA: [f64; 2] = [0.12, 0.06];
/// Power laws of air speed and coolant flow for fins that follow another law: fitted points, points held out, %.
/// Whether it was set before or after the first run is not recorded.
const RATED: [f64; 2] = [3.0, 3.0];

pub fn rows() -> Vec<Row> {
    let mut rows = coolant();
    rows.extend(boiling());
    rows.push(heat_capacity());
    rows.extend(road_load());
    rows.push(fuel_heat());
    rows.extend(fan_curve());
    rows.extend(limiting_ambient());
    rows.push(lumped_cooling());
    rows.extend(rated_core());
    rows
}

fn rated_core() -> Vec<Row> {
    const NAME: &str = "core_rating_louver_chang_1997";
    let lines = table(NAME, "data");
    let point = |l: &Line| RatingPoint {
        air_speed: l.number("air_speed_mps"),
        coolant_flow: l.number("coolant_flow_lpm") * L_MIN,
        coolant_temp: l.number("coolant_c") + 273.15,
        air_temp: l.number("air_c") + 273.15,
        heat: l.number("heat_w"),
    };
    let of = |held: &str| -> Vec<RatingPoint> {
        let chosen = lines.iter().filter(|l| l.text("held_out") == held);
        chosen.map(point).collect()
    };
    let mut case = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap()
        .case;
    // The face of the core that the table is of.
    case.core.as_mut().unwrap().face = 0.64 * 0.5;
    let found = rating::fit(&case, &of("no")).unwrap();
    for told in &found.told {
        case = case.with(told.input, told.value);
    }
    let whats = [
        "a louvered core's points, fitted",
        "the same core's points held out",
    ];
    let mut rows: Vec<Row> = ["no", "yes"]
        .into_iter()
        .zip(whats)
        .zip(RATED)
        .map(|((held, what), allowed)| {
            let mut row = Row::percent(NAME, what, allowed);
            for p in of(held) {
                row.see(rating::passes(&case, &p).unwrap(), p.heat);
            }
            row
        })
        .collect();
    let mut told = Row::absolute(NAME, "all three sought are told", "times not", 0.0);
    told.must(found.rank == 3);
    rows.push(told);
    rows
}

/// Bodies that come together or cool, along a trip with the engine standing.
fn lumped_cooling() -> Row {
    const NAME: &str = "lumped_cooling_exponential";
    let mut row = Row::absolute(
        NAME,
        "two bodies 50 K apart, one 50 K warm",
        "K",
        INTEGRATED,
    );
    let setup = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap();
    for line in table(NAME, "data") {
        let mut case = setup.case;
        case.now.engine_speed = 0.0;
        // Two bodies alone: no heat to the air, to the metal that follows, or to the oil.
        let engine = case.engine.as_mut().unwrap();
        (engine.surface, engine.slow_joined) = (0.0, 0.0);
        case.oil_heat.as_mut().unwrap().engine = 0.0;
        let cold = case.now.ambient;
        let mut start = Stored::even(cold);
        let capacities = Capacities::of(&case).unwrap();
        let joined = line.text("quantity") == "two_bodies";
        let scale = if joined {
            start.metal += 50.0;
            let engine = case.engine.as_mut().unwrap();
            engine.metal = capacities.coolant / line.number("ratio");
            engine.metal / engine.metal_to_coolant
        } else {
            start.oil += 50.0;
            capacities.oil / case.oil_heat.unwrap().surface
        };
        let legs = [0.0, line.number("time") * scale].map(|time| Leg {
            time,
            now: case.now,
            command: None,
        });
        let course = travel(&case, &legs, start, Rules::USUAL).unwrap();
        let end = course.moments.last().unwrap().stored;
        let ours = if joined { end.coolant } else { end.oil };
        row.see(ours - cold, 50.0 * line.number("share"));
    }
    row
}

/// A property of coolant by share and temperature.
type Property = fn(f64, f64) -> f64;

const PROPERTIES: [(&str, Property); 4] = [
    ("rho_kgm3", glycol::density),
    ("cp_JkgK", glycol::heat_capacity),
    ("k_WmK", glycol::conductivity),
    ("mu_Pas", glycol::viscosity),
];

fn coolant() -> Vec<Row> {
    const NAME: &str = "coolant_properties_ashrae_2001";
    let whats = [
        [
            "density, fit",
            "density, another collection",
            "density, run on to water",
        ],
        [
            "heat capacity, fit",
            "heat capacity, another collection",
            "heat capacity, run on to water",
        ],
        [
            "conductivity, fit",
            "conductivity, another collection",
            "conductivity, run on to water",
        ],
        [
            "viscosity, fit",
            "viscosity, another collection",
            "viscosity, run on to water",
        ],
    ];
    let freezing = table(NAME, "freezing");
    let volume = |mass: f64| {
        let rows: Vec<(f64, f64)> = freezing
            .iter()
            .map(|l| (l.number("mass_pct") / 100.0, l.number("vol_pct") / 100.0))
            .collect();
        rows.windows(2)
            .find(|w| mass <= w[1].0 + 1e-9)
            .map(|w| w[0].1 + (mass - w[0].0) / (w[1].0 - w[0].0) * (w[1].1 - w[0].1))
    };
    let mut rows = Vec::new();
    for (k, (column, f)) in PROPERTIES.into_iter().enumerate() {
        let mut fit = Row::percent(NAME, whats[k][0], FIT[k]);
        for line in table(NAME, "data") {
            fit.see(
                f(
                    line.number("vol_pct_EG") / 100.0,
                    line.number("T_C") + 273.15,
                ),
                line.number(column),
            );
        }
        let mut other = Row::percent(NAME, whats[k][1], OTHER[k]);
        for line in table(NAME, "other_library") {
            if let (Some(x), t) = (volume(line.number("mass_frac_EG")), line.number("T_C"))
                && t >= 0.0
            {
                other.see(f(x, t + 273.15), line.number(column));
            }
        }
        let mut water = Row::percent(NAME, whats[k][2], WATER[k]);
        for line in table(NAME, "water") {
            water.see(f(0.0, line.number("T_C") + 273.15), line.number(column));
        }
        rows.extend([fit, other, water]);
    }
    let mut fit = Row::absolute(NAME, "freezing, fit", "K", FREEZING[0]);
    for line in &freezing {
        fit.see(
            glycol::freezing(line.number("vol_pct") / 100.0) - 273.15,
            line.number("Tfreeze_C"),
        );
    }
    let mut other = Row::absolute(NAME, "freezing, another collection", "K", FREEZING[1]);
    for line in table(NAME, "other_library") {
        if let Some(x) = volume(line.number("mass_frac_EG")) {
            other.see(glycol::freezing(x) - 273.15, line.number("Tfreeze_C"));
        }
    }
    let mut sense = Row::absolute(
        NAME,
        "positive, and thinning with heat, whole range",
        "times not",
        0.0,
    );
    for x in across(&glycol::RANGE[0], 20) {
        let mut last = f64::INFINITY;
        for t in across(&glycol::RANGE[1], 40) {
            let mu = glycol::viscosity(x, t);
            sense.must(
                mu > 0.0
                    && mu < last
                    && glycol::density(x, t) > 900.0
                    && glycol::heat_capacity(x, t) > 2500.0,
            );
            last = mu;
        }
    }
    rows.extend([fit, other, sense]);
    rows
}

fn boiling() -> Vec<Row> {
    const STEAM_NAME: &str = "steam_saturation_iapws_1997";
    const NAME: &str = "boiling_raoult";
    let mut same = Row::absolute(STEAM_NAME, "another implementation", "K", STEAM[0]);
    let mut other = Row::absolute(STEAM_NAME, "the scientific formulation", "K", STEAM[1]);
    for line in table(STEAM_NAME, "data") {
        let t = steam::temperature(line.number("p_pa")) - 273.15;
        same.see(t, line.number("t_c"));
        other.see(t, line.number("t_other_c"));
    }
    let mut back = Row::percent(STEAM_NAME, "there and back, whole range", 1e-4);
    for p in across(&steam::RANGE[0], 60) {
        back.see(steam::pressure(steam::temperature(p)), p);
    }
    let mut full = Row::absolute(NAME, "with the glycol's own vapour", "K", VAPOUR[0]);
    let mut unifac = Row::absolute(NAME, "UNIFAC", "K", VAPOUR[1]);
    for line in table(NAME, "data") {
        let t = raoult::temperature(line.number("p_pa"), line.number("glycol_vol_pct") / 100.0)
            - 273.15;
        full.see(t, line.number("raoult_c"));
        unifac.see(t, line.number("unifac_c"));
    }
    let mut published = Row::absolute(NAME, "figures met in public", "K", PUBLISHED).misfit();
    for line in table(NAME, "published") {
        let t = raoult::temperature(line.number("p_pa"), line.number("glycol_vol_pct") / 100.0)
            - 273.15;
        published.see(t, line.number("t_c"));
    }
    let mut rising = Row::absolute(
        NAME,
        "rises with pressure and glycol, whole range",
        "times not",
        0.0,
    );
    for x in across(&raoult::RANGE[0], 12) {
        for p in across(&raoult::RANGE[1], 12) {
            let t = raoult::temperature(p, x);
            rising
                .must(raoult::temperature(p * 1.01, x) > t && raoult::temperature(p, x + 0.01) > t);
        }
    }
    vec![same, other, back, full, unifac, published, rising]
}

fn heat_capacity() -> Row {
    const NAME: &str = "air_heat_capacity_wark_1983";
    let mut row = Row::percent(NAME, "an equation of state, whole range", REAL_GAS);
    for line in table(NAME, "data") {
        row.see(
            air::heat_capacity(line.number("t_c") + 273.15),
            line.number("cp_jkgk"),
        );
    }
    row
}

fn road_load() -> Vec<Row> {
    const NAME: &str = "road_load_steady";
    let mut hand = Row::percent(NAME, "worked by hand", SECOND_WAY);
    for line in table(NAME, "data") {
        let n = |column| line.number(column);
        hand.see(
            road::force(
                n("mass_kg"),
                n("rolling"),
                n("grade"),
                n("air_density_kgm3"),
                n("drag_area_m2"),
                n("speed_mps"),
            ),
            n("force_n"),
        );
    }
    let mut angles = Row::percent(NAME, "by the slope's angle, whole range", SECOND_WAY);
    for v in across(&road::RANGE[0], 10) {
        for i in across(&road::RANGE[1], 10) {
            let a = i.atan();
            let force = 2500.0 * road::GRAVITY * (0.011 * a.cos() + a.sin()) + 0.55 * 1.4 * v * v;
            angles.see(road::force(2500.0, 0.011, i, 1.1, 1.4, v), force);
        }
    }
    vec![hand, angles]
}

fn fuel_heat() -> Row {
    const NAME: &str = "fuel_heat_stoichiometric";
    let mut row = Row::absolute(NAME, "constants inside what others give", "times not", 0.0);
    for line in table(NAME, "data") {
        let ours = match line.text("quantity") {
            "air_fuel" => fuel::from_fuel(1.0) / fuel::from_air(1.0),
            _ => fuel::from_fuel(1e-6),
        };
        row.must(ours >= line.number("low") && ours <= line.number("high"));
    }
    row
}

fn fan_curve() -> Vec<Row> {
    const NAME: &str = "fan_curve_quadratic";
    let lines = table(NAME, "data");
    let rating = lines
        .iter()
        .find(|l| (l.number("flow_cfm") - 30e3).abs() < 1.0)
        .unwrap();
    let mut rows = Vec::new();
    for (k, column) in ["pressure_inh2o", "power_hp"].into_iter().enumerate() {
        let points: Vec<(f64, f64)> = lines
            .iter()
            .map(|l| {
                (
                    l.number("flow_cfm") / 30e3,
                    l.number(column) / rating.number(column),
                )
            })
            .collect();
        // Least squares of y − q² = c0 (1 − q²) + c1 (q − q²).
        let (mut aa, mut ab, mut bb, mut ay, mut by) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (q, y) in &points {
            let (a, b, y) = (1.0 - q * q, q - q * q, y - q * q);
            (aa, ab, bb) = (aa + a * a, ab + a * b, bb + b * b);
            (ay, by) = (ay + a * y, by + b * y);
        }
        let det = aa * bb - ab * ab;
        let (c0, c1) = ((ay * bb - by * ab) / det, (by * aa - ay * ab) / det);
        let what = ["a textbook fan's pressure", "a textbook fan's power"][k];
        let mut row = Row::absolute(NAME, what, "of 1", PARABOLA[k]);
        for (q, y) in points {
            row.see(curve::over_rating(c0, c1, 1.0, q), y);
        }
        rows.push(row);
    }
    let mut laws = Row::percent(NAME, "the fan laws, whole range", SECOND_WAY);
    for n in across(&curve::RANGE[0], 10).filter(|n| *n > 0.0) {
        for q in across(&curve::RANGE[1], 10) {
            let one = curve::over_rating(1.6, 0.3, 1.0, q);
            laws.see(curve::over_rating(1.6, 0.3, n, q * n), one * n * n);
        }
    }
    rows.push(laws);
    rows
}

fn limiting_ambient() -> Vec<Row> {
    const NAME: &str = "limiting_ambient_sae_j1393";
    let mut limit = Row::absolute(NAME, "limiting ambient, worked by hand", "K", 1e-9);
    let mut boil = Row::absolute(NAME, "air-to-boil, worked by hand", "K", 1e-9);
    for line in table(NAME, "data") {
        let k = |column| line.number(column) + 273.15;
        limit.see(
            j1393::limiting_ambient(k("limit_c"), k("coolant_c"), k("ambient_c")),
            k("limiting_c"),
        );
        boil.see(
            j1393::air_to_boil(k("coolant_c"), k("ambient_c")),
            k("boil_c"),
        );
    }
    let mut whole = Row::absolute(
        NAME,
        "at its limit, the day is the limiting one, whole range",
        "K",
        1e-9,
    );
    for t in across(&j1393::RANGE[0], 10) {
        whole.see(j1393::limiting_ambient(t, t, 300.0), 300.0);
    }
    vec![limit, boil, whole]
}
