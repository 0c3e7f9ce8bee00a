//! From what is wanted to the parts: designs whose answer is known, slopes against designs anew, and three worked ones, each checked
//! by `speed`.

use crate::cli::{fails, json, json_with};
use serde_json::Value;

pub(crate) fn number(value: &Value, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} in {value}"))
}

/// The value of an input in a design.
pub(crate) fn part(answer: &Value, input: &str) -> f64 {
    let all = answer["design"].as_array().unwrap();
    number(all.iter().find(|p| p["input"] == input).unwrap(), "value")
}

/// The design as `--set` of another question, with the unit of each.
pub(crate) fn sets(answer: &Value) -> Vec<String> {
    let unit = |suffix: &str| match suffix {
        "cm3_per_rev" => "cm3/rev",
        "w_per_k" => "W/K",
        "mm" => "mm",
        "bar" => "bar",
        "nm" => "N m",
        "rpm" => "rpm",
        "" => "",
        other => panic!("{other}"),
    };
    let one = |p: &Value| {
        let (input, value) = (p["input"].as_str().unwrap(), number(p, "value"));
        let unit = unit(p["unit"].as_str().unwrap());
        ["--set".to_string(), format!("{input}={value} {unit}")]
    };
    let parts = ["design", "follows"].map(|key| answer[key].as_array().unwrap());
    parts.into_iter().flatten().flat_map(one).collect()
}

/// What `speed` says of a design in a condition.
fn speed(machine: &str, answer: &Value, condition: &[&str]) -> Value {
    let sets = sets(answer);
    let mut args = vec!["speed", machine];
    args.extend(sets.iter().map(String::as_str));
    args.extend(condition);
    json(&args)
}

/// The pump of 12 cm³/rev makes some speed where its displacement limits: who wants that speed and the smallest pump gets it back.
#[test]
fn a_pump_that_is_known_is_found() {
    let condition = ["--engine-speed", "900 rpm", "--oil-temp", "60 C"];
    let known = json(
        &[
            &[
                "speed",
                "light-truck",
                "--set",
                "pump.displacement=12 cm3/rev",
            ][..],
            &condition,
        ]
        .concat(),
    );
    assert_eq!(known["limited_by"], "displacement");
    let want = format!(
        "fan_speed >= {} rpm at engine 900 rpm, oil 60 C",
        number(&known, "fan_speed_rpm")
    );
    let args = [
        "size",
        "light-truck",
        "--want",
        &want,
        "--free",
        "pump.displacement = 6..30 cm3/rev",
        "--goal",
        "smallest pump",
        "--machines",
        "0",
    ];
    let answer = json(&args);
    assert_eq!(answer["met"], true);
    // The search aims 1e-7 of the bound inside.
    assert!(
        (part(&answer, "pump.displacement") / 12.0 - 1.0).abs() < 1e-5,
        "{answer}"
    );
    assert_eq!(answer["wants"][0]["binds"], true);
}

const TRUCK: [&str; 10] = [
    "size",
    "light-truck",
    "--want",
    "fan_speed >= 2300 rpm at engine 1500 rpm, oil 90 C",
    "--want",
    "supply_pressure <= 110 bar",
    "--free",
    "pump.displacement = 8..40 cm3/rev",
    "--free",
    "motor.displacement = 5..20 cm3/rev",
];

/// A regulator that does not hold back, a control valve above what the fan takes; and friction torques and a fill speed that do not go
/// with the displacement, so that a grid of displacements is one of the same machines.
const OPEN: [&str; 12] = [
    "--set",
    "regulator.rated_flow=60 L/min",
    "--set",
    "valve.high=105 bar",
    "--set",
    "pump.dry_torque=0.6 N m",
    "--set",
    "pump.fill_speed=5850 rpm",
    "--set",
    "motor.dry_torque=0.35 N m",
    "--set",
    "motor.breakaway=0.9 N m",
];

fn truck(more: &[&str]) -> Value {
    json(&[&TRUCK[..], &OPEN, more].concat())
}

/// The least power over a grid of both displacements, each point by `batch`: no design that the grid shows is better by more than a
/// hair, set before the first run at 0.1 %.
#[test]
fn a_grid_shows_no_better_design() {
    let answer = truck(&["--machines", "0"]);
    assert_eq!(answer["met"], true, "{answer}");
    let mut table = "pump.displacement_cm3_per_rev,motor.displacement_cm3_per_rev\n".to_string();
    for i in 0..=80 {
        for k in 0..=75 {
            table.push_str(&format!(
                "{},{}\n",
                8.0 + 0.4 * f64::from(i),
                5.0 + 0.2 * f64::from(k)
            ));
        }
    }
    let mut command = assert_cmd::Command::cargo_bin("oilwheel").unwrap();
    let flags = [
        "batch",
        "-",
        "--machine",
        "light-truck",
        "--engine-speed",
        "1500 rpm",
        "--oil-temp",
        "90 C",
        "--give",
        "fan_speed,supply_gauge_pressure,pump_shaft_power",
    ];
    let output = command
        .args(flags)
        .args(OPEN)
        .write_stdin(table)
        .assert()
        .success()
        .get_output()
        .stdout
        .clone();
    let mut reader = csv::Reader::from_reader(&output[..]);
    let mut best = f64::INFINITY;
    for row in reader.records().map(Result::unwrap) {
        let value = |k: usize| row[k].parse::<f64>().unwrap_or(f64::NAN);
        if value(1) >= 2300.0 && value(2) <= 110.0 {
            best = best.min(value(3));
        }
    }
    let found = number(&answer, "goal_value");
    eprintln!("grid {best} W, found {found} W");
    assert!(
        best.is_finite() && found <= best * 1.001,
        "{found} W against {best} W"
    );
}

/// What relaxing a want would buy, against a design sought anew from scratch with it relaxed by 0.1 %: to 2 % of that, set before
/// the first run. The smallest pump stands where the control valve begins to open, a kink.
#[test]
fn what_relaxing_buys_is_what_a_new_design_shows() {
    for goal in ["smallest pump", "least pump power"] {
        let goal = ["--goal", goal, "--machines", "0"];
        let answer = truck(&goal);
        let first = &answer["wants"][0];
        assert_eq!(first["binds"], true, "{answer}");
        let relaxed: Vec<String> = TRUCK.iter().map(|a| a.replace("2300", "2297.7")).collect();
        let relaxed: Vec<&str> = relaxed.iter().map(String::as_str).collect();
        let anew = json(&[&relaxed[..], &OPEN, &goal].concat());
        let change = number(&anew, "goal_value") - number(&answer, "goal_value");
        let told = 2.3 * number(first, "buys");
        assert!(
            change < 0.0 && (change / told - 1.0).abs() < 0.02,
            "{change} for {told}"
        );
    }
}

/// A light truck that reaches full fan speed at 1500 rpm; and how it holds over the ±.
#[test]
fn a_light_truck_reaches_full_fan_at_1500_rpm() {
    let answer = truck(&[]);
    assert_eq!(answer["met"], true, "{answer}");
    let state = speed(
        "light-truck",
        &answer,
        &[
            &OPEN[..],
            &["--engine-speed", "1500 rpm", "--oil-temp", "90 C"],
        ]
        .concat(),
    );
    assert!(
        number(&state, "fan_speed_rpm") >= 2300.0
            && number(&state, "supply_gauge_pressure_bar") <= 110.0
    );
    let told = number(&answer["conditions"][0], "fan_speed_rpm");
    assert!((number(&state, "fan_speed_rpm") / told - 1.0).abs() < 1e-9);
    // At a want that binds about half of the machines fall short; all wants hold no more often than each.
    let share = number(&answer["wants"][0], "share");
    assert!(
        (0.2..=0.8).contains(&share) && number(&answer, "share") <= share,
        "{answer}"
    );
}

/// Who wants to be sure gets a larger pump: the want then holds in about the share that was asked for. To 3 points either way, set
/// before the first run: the design is aimed at anew four times.
#[test]
fn a_want_that_is_to_be_sure_holds_as_often() {
    let (plain, sure) = (truck(&[]), truck(&["--sure", "90 %"]));
    let share = number(&sure["wants"][0], "share");
    assert!((0.87..=0.93).contains(&share), "{share}");
    assert!(number(&sure, "goal_value") > number(&plain, "goal_value"));
    assert!((number(&sure, "sure_share") - 0.9).abs() < 1e-12);
}

/// A bus at 2500 m, its pump of one of the usual sizes, its motor of any, with the rules of the trade. The air there has 0.747 bar
/// (standard atmosphere), so that 0.8 bar at the pump's inlet cannot be had from an open reservoir: that is named. With a reservoir
/// under pressure the wants are met.
#[test]
fn a_bus_at_2500_m() {
    let open = [
        "size",
        "bus",
        "--rules",
        "--want",
        "fan_speed >= 1700 rpm at engine 1500 rpm, altitude 2500 m, air 75 C, oil 85 C",
        "--want",
        "supply_pressure <= 200 bar",
        "--free",
        "pump.displacement = 28, 32, 36, 40, 45, 50, 56 cm3/rev",
        "--free",
        "motor.displacement = 18..45 cm3/rev",
        "--free",
        "suction.bore = 30..60 mm",
        "--free",
        "supply.bore = 12..32 mm",
        "--free",
        "return.bore = 16..40 mm",
    ];
    let answer = json_with(&open, 1);
    assert_eq!(answer["met"], false);
    let against = answer["against"].as_array().unwrap();
    assert_eq!(against.len(), 1, "{against:?}");
    assert!(against[0].as_str().unwrap().starts_with("inlet_pressure"));
    assert!((0.065..0.1).contains(&number(&answer, "worst_off_share")));
    let args = [&open[..], &["--free", "reservoir.pressure = 0..0.5 bar"]].concat();
    let answer = json(&args);
    assert_eq!(answer["met"], true, "{answer:#}");
    assert_eq!(answer["choices"], 7);
    let condition = [
        "--engine-speed",
        "1500 rpm",
        "--altitude",
        "2500 m",
        "--air-temp",
        "75 C",
        "--oil-temp",
        "85 C",
    ];
    let state = speed("bus", &answer, &condition);
    assert!(
        number(&state, "fan_speed_rpm") >= 1700.0
            && number(&state, "supply_gauge_pressure_bar") <= 200.0
    );
    assert!(number(&state, "return_pressure_bar") <= 14.0);
    // Suction velocity by hand: Q = V n over the bore's area, at most what the pump sweeps.
    let swept = part(&answer, "pump.displacement") * number(&state, "pump_speed_rpm") / 60.0 * 1e-6;
    let bore = part(&answer, "suction.bore") * 1e-3;
    let velocity = 4.0 * swept / (std::f64::consts::PI * bore * bore);
    let rule = answer["wants"]
        .as_array()
        .unwrap()
        .iter()
        .find(|w| w["want"].as_str().unwrap().starts_with("suction_velocity"))
        .unwrap();
    assert!(
        velocity >= number(rule, "value") * 0.999 && number(rule, "value") <= 1.2,
        "{velocity} {rule}"
    );
    assert!(rule["source"].as_str().unwrap().contains("common practice"));
}

/// An off-road fan with the least power: no want may be off, and each neighbour that meets the wants takes more.
#[test]
fn an_off_road_fan_with_the_least_power() {
    let args = [
        "size",
        "off-road",
        "--want",
        "fan_speed >= 2200 rpm at engine 2200 rpm, oil 70 C",
        "--want",
        "back pressure at the motor <= 14 bar",
        "--free",
        "pump.displacement = 5..30 cm3/rev",
        "--free",
        "motor.displacement = 5..30 cm3/rev",
        "--free",
        "supply.bore = 8..20 mm",
        "--free",
        "return.bore = 8..25 mm",
        "--machines",
        "100",
    ];
    let answer = json(&args);
    assert_eq!(answer["met"], true, "{answer:#}");
    let condition = ["--engine-speed", "2200 rpm", "--oil-temp", "70 C"];
    let state = speed("off-road", &answer, &condition);
    assert!(number(&state, "fan_speed_rpm") >= 2200.0);
    let power = number(&state, "pump_shaft_power_w");
    assert!((power / number(&answer, "goal_value") - 1.0).abs() < 1e-6);
    for input in ["pump.displacement", "motor.displacement"] {
        for times in [0.97, 1.03] {
            let mut other = answer.clone();
            for p in other["design"].as_array_mut().unwrap() {
                if p["input"] == input {
                    p["value"] = (number(p, "value") * times).into();
                }
            }
            let part = input.split('.').next().unwrap();
            for p in other["follows"].as_array_mut().unwrap() {
                let key = p["input"].as_str().unwrap().to_string();
                let power = if key == "pump.fill_speed" {
                    -1.0 / 3.0
                } else {
                    1.0
                };
                if key.starts_with(part) {
                    p["value"] = (number(p, "value") * f64::powf(times, power)).into();
                }
            }
            let beside = speed("off-road", &other, &condition);
            let meets = number(&beside, "fan_speed_rpm") >= 2200.0;
            assert!(
                !meets || number(&beside, "pump_shaft_power_w") > power * 0.9999,
                "{input} × {times}"
            );
        }
    }
}

#[test]
fn what_cannot_be_met_together_is_named_with_how_far_it_is_off() {
    let args = [
        "size",
        "light-truck",
        "--want",
        "fan_speed >= 2300 rpm at engine 700 rpm, oil 80 C",
        "--want",
        "supply_pressure <= 20 bar",
        "--free",
        "pump.displacement = 8..20 cm3/rev",
        "--free",
        "motor.displacement = 6..16 cm3/rev",
        "--machines",
        "0",
    ];
    let answer = json_with(&args, 1);
    assert_eq!(answer["met"], false);
    assert_eq!(answer["against"].as_array().unwrap().len(), 2, "{answer}");
    assert!(number(&answer, "worst_off_share") > 0.05, "{answer}");
    // Each says by how much, in its own unit; the worst share is that of one of them, and no larger.
    for want in answer["wants"].as_array().unwrap() {
        let (margin, bound) = (number(want, "margin"), number(want, "bound"));
        assert!(margin < 0.0 && want["holds"] == false, "{want}");
        let off = -margin / bound;
        assert!(
            off <= number(&answer, "worst_off_share") * (1.0 + 1e-6),
            "{want}"
        );
    }
}

#[test]
fn what_is_typed_wrong_is_named() {
    let free = ["--free", "pump.displacement = 8..40 cm3/rev"];
    let want = ["--want", "fan_speed >= 2300 rpm"];
    let cases: [(&[&str], &str); 11] = [
        (
            &["--want", "fan_sped >= 2300 rpm", free[0], free[1]],
            "did you mean `fan_speed`",
        ),
        (
            &[
                want[0],
                want[1],
                "--want",
                "fan_speed <= 2000 rpm",
                free[0],
                free[1],
            ],
            "exclude each other",
        ),
        (
            &[
                want[0],
                want[1],
                "--free",
                "pump.displacement = 40..8 cm3/rev",
            ],
            "from low to high",
        ),
        (
            &[want[0], want[1], "--free", "coolant.volume = 8..12 L"],
            "affects neither a requirement nor the goal",
        ),
        (
            &[
                want[0],
                want[1],
                "--free",
                "governor.full_speed = 800..1200 rpm",
            ],
            "this machine has no `governor.full_speed`",
        ),
        (
            &[want[0], want[1], free[0], free[1], free[0], free[1]],
            "both here and by --free",
        ),
        (
            &[
                want[0],
                want[1],
                free[0],
                free[1],
                "--set",
                "pump.displacement=9 cm3/rev",
            ],
            "both here and by --set",
        ),
        (
            &[
                want[0],
                want[1],
                free[0],
                free[1],
                "--goal",
                "cheapest pump",
            ],
            "`least` or `most`",
        ),
        (&[free[0], free[1]], "no requirement"),
        (
            &[want[0], want[1], free[0], free[1], "--goal", "smallest fan"],
            "no free input changes",
        ),
        (
            &[want[0], want[1], "--free", "oil.thickness = 1..2"],
            "is not an input of a part of the machine",
        ),
    ];
    for (args, says) in cases {
        let said = fails(&[&["size", "light-truck"], args].concat(), 2);
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(says), "{args:?}: {said}");
    }
}

/// A bus on a pass at 2500 m, where the air has 0.747 bar (standard atmosphere): 0.8 bar at the inlet of the pump cannot be had from
/// an open reservoir. That is named, and the oil, which can be cooled enough, is.
#[test]
fn what_no_design_meets_is_named_and_the_rest_is_met() {
    let args = [
        "size",
        "bus",
        "--want",
        "oil <= 93 C at 48 C, 2500 m, 40 km/h, 10 %, air conditioning",
        "--want",
        "inlet",
        "--free",
        "motor.displacement = 18..45 cm3/rev",
        "--free",
        "oil_heat.cooler = 100..400 W/K",
        "--machines",
        "0",
    ];
    let answer = json_with(&args, 1);
    let against = answer["against"].as_array().unwrap();
    assert!(
        against.len() == 1 && against[0] == "inlet_pressure >= 0.8 bar abs",
        "{against:?}"
    );
    let (oil, inlet) = (&answer["wants"][0], &answer["wants"][1]);
    assert_eq!(oil["holds"], true, "{oil}");
    assert!(oil["nearest"].is_null());
    let nearest = number(inlet, "nearest");
    assert!(
        nearest < 0.747 && nearest >= number(inlet, "value"),
        "{inlet}"
    );
    // A requirement that nothing changes leaves the design that there is without it.
    let truck = [
        "size",
        "light-truck",
        "--want",
        "fan_speed >= 2400 rpm at engine 1500 rpm, oil 90 C",
        "--free",
        "pump.displacement = 8..24 cm3/rev",
        "--free",
        "motor.displacement = 6..14 cm3/rev",
        "--machines",
        "0",
    ];
    let plain = json(&truck);
    let answer = json_with(&[&truck[..], &["--want", "viscosity"]].concat(), 1);
    assert_eq!(answer["against"].as_array().unwrap().len(), 1);
    assert_eq!(answer["wants"][0]["holds"], true);
    let goal = number(&answer, "goal_value") / number(&plain, "goal_value");
    assert!((goal - 1.0).abs() < 1e-3, "{goal}");
}

/// Friction torques go with the displacement, by hand: T = T0 V/V0; the fill speed with V^(-1/3). What is set stays.
#[test]
fn friction_goes_with_the_displacement() {
    let args = [
        "size",
        "off-road",
        "--want",
        "fan_speed >= 2000 rpm at engine 2600 rpm, oil 70 C",
        "--free",
        "motor.displacement = 10, 12 cm3/rev",
        "--free",
        "pump.displacement = 4..20 cm3/rev",
        "--machines",
        "0",
    ];
    let own = json(&["speed", "off-road"]);
    let cm3 = |key: &str| own["case"][key].as_f64().unwrap() * 2.0 * std::f64::consts::PI * 1e6;
    let follows = |answer: &Value| {
        let all = answer["follows"].as_array().unwrap().iter();
        let one = |p: &Value| (p["input"].as_str().unwrap().to_string(), number(p, "value"));
        all.map(one).collect::<std::collections::BTreeMap<_, _>>()
    };
    let answer = json(&args);
    let found = follows(&answer);
    assert_eq!(found.len(), 4, "{found:?}");
    let motor = part(&answer, "motor.displacement") / cm3("motor.displacement");
    let pump = part(&answer, "pump.displacement") / cm3("pump.displacement");
    for (key, by_hand) in [
        ("motor.dry_torque", 0.31 * motor),
        ("motor.breakaway", 1.0 * motor),
        ("pump.dry_torque", 0.39 * pump),
        ("pump.fill_speed", 2870.0 * pump.powf(-1.0 / 3.0)),
    ] {
        assert!(
            (found[key] / by_hand - 1.0).abs() < 1e-6,
            "{key} {found:?} {by_hand}"
        );
    }
    let set = ["--set", "motor.dry_torque=0.31 N m"];
    let found = follows(&json(&[&args[..], &set].concat()));
    let keys: Vec<&str> = found.keys().map(String::as_str).collect();
    assert_eq!(keys, ["pump.dry_torque", "pump.fill_speed"]);
}

/// A limiting ambient temperature that is required is the day of its condition: the same design as with that day named.
#[test]
fn a_limiting_ambient_is_the_day_of_its_condition() {
    let design = |at: &str| {
        let want = format!("limiting_ambient >= 48 C at {at}2500 m, 40 km/h, 10 %");
        json(&[
            "size",
            "bus",
            "--want",
            &want,
            "--free",
            "motor.displacement = 18..45 cm3/rev",
            "--machines",
            "0",
        ])
    };
    let (without, with) = (design(""), design("48 C, "));
    let ratio = number(&without, "goal_value") / number(&with, "goal_value");
    assert!((ratio - 1.0).abs() < 1e-3, "{ratio}");
    // If it just holds, the coolant is at its limit on that day.
    let there = &without["conditions"][0];
    if without["wants"][0]["binds"] == true {
        assert!(
            (number(there, "coolant_temp_c") - 105.0).abs() < 0.05,
            "{there}"
        );
    }
    let args = [
        "size",
        "bus",
        "--want",
        "limiting_ambient >= 48 C at 2500 m, 40 km/h, 10 %",
        "--free",
        "motor.displacement = 18..45 cm3/rev",
        "--machines",
        "0",
    ];
    let mut command = assert_cmd::Command::cargo_bin("oilwheel").unwrap();
    let run = command.args(args).env("COLUMNS", "1000").assert();
    let said = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
    let assumed = "48 °C (the limiting ambient required, with the fan at full command)";
    assert!(said.contains(assumed), "{said}");
}

/// The file of the design carries the oil in use and what is missed, and is read again.
#[test]
fn the_designed_machine_says_what_it_was_designed_for() {
    let path = std::env::temp_dir().join(format!("oilwheel-sized-{}.toml", std::process::id()));
    let path = path.to_str().unwrap();
    let args = [
        "size",
        "off-road",
        "--oil",
        "iso-vg-32",
        "--want",
        "fan_speed >= 2400 rpm at engine 2200 rpm, oil 70 C",
        "--want",
        "supply_pressure <= 20 bar",
        "--free",
        "pump.displacement = 5..30 cm3/rev",
        "--free",
        "motor.displacement = 5..30 cm3/rev",
        "--machines",
        "0",
        "--out",
        path,
    ];
    let answer = json_with(&args, 1);
    let text = std::fs::read_to_string(path).unwrap();
    assert!(text.contains("oil = \"iso-vg-32\""), "{text}");
    for want in answer["wants"].as_array().unwrap() {
        let line = format!("# MISSED: {} (", want["want"].as_str().unwrap());
        assert!(text.contains(&line), "{line} in {text}");
    }
    assert!(
        text.contains("status = \"Sized, with requirements missed: "),
        "{text}"
    );
    let again = json(&[
        "speed",
        path,
        "--engine-speed",
        "2200 rpm",
        "--oil-temp",
        "70 C",
    ]);
    let told = number(&answer["conditions"][0], "fan_speed_rpm");
    let ratio = number(&again, "fan_speed_rpm") / told;
    std::fs::remove_file(path).unwrap();
    // The file has values to about six digits.
    assert!((ratio - 1.0).abs() < 1e-4, "{ratio}");
}

/// The regulator's flow at the end of its range limits nothing: a wider range would gain nothing. That of a pump would.
#[test]
fn a_wider_range_is_named_only_if_it_gains() {
    let design = |free: &str| {
        json(&[
            "size",
            "light-truck",
            "--want",
            "fan_speed >= 900 rpm at engine 1500 rpm, oil 90 C",
            "--free",
            free,
            "--goal",
            "smallest pump",
            "--free",
            "pump.displacement = 12..24 cm3/rev",
            "--machines",
            "0",
        ])
    };
    let answer = design("regulator.rated_flow = 30..34 L/min");
    let pump = &answer["design"][1];
    assert!(
        pump["at_end"] == true && number(pump, "wider") > 0.05,
        "{pump}"
    );
    let regulator = &answer["design"][0];
    let gain = regulator["wider"].as_f64().unwrap_or(0.0);
    assert!(gain.abs() < 0.01, "{regulator}");
}

/// Each caution that `heat` gives about the design stands in the answer of `size` too; and a larger core costs resistance that the design
/// does not carry.
#[test]
fn the_design_has_its_cautions() {
    let args = [
        "size",
        "light-truck",
        "--want",
        "coolant <= 112 C at 45 C, engine 700 rpm, load 25 kW",
        "--free",
        "core.conductance = 2000..6000 W/K",
        "--goal",
        "smallest core.conductance",
        "--machines",
        "0",
        "--oil",
        "40C=15 cSt, 100C=3.4 cSt, 15C=850 kg/m3",
    ];
    let answer = json(&args);
    let keys = |answer: &Value| {
        let all = answer["cautions"].as_array().unwrap().iter();
        all.map(|c| c["key"].as_str().unwrap().to_string())
            .collect::<Vec<_>>()
    };
    let sets = sets(&answer);
    let mut heat = vec![
        "heat",
        "light-truck",
        "--ambient",
        "45 C",
        "--engine-speed",
        "700 rpm",
    ];
    heat.extend([
        "--load",
        "25 kW",
        "--oil",
        "40C=15 cSt, 100C=3.4 cSt, 15C=850 kg/m3",
    ]);
    heat.extend(sets.iter().map(String::as_str));
    let (own, of_heat) = (keys(&answer), keys(&json(&heat)));
    assert!(of_heat.iter().any(|key| key == "oil_thin"), "{of_heat:?}");
    for key in &of_heat {
        assert!(own.contains(key), "{key} in {own:?}");
    }
    assert!(own.iter().any(|key| key == "resistance_kept"), "{own:?}");
}

/// What no pump reaches is approached as nearly as the range allows: no pump of a grid by `speed` makes the fan faster.
#[test]
fn a_speed_out_of_reach_has_the_nearest_design() {
    let args = [
        "size",
        "light-truck",
        "--want",
        "fan_speed >= 9000 rpm at engine 1600 rpm",
        "--free",
        "pump.displacement = 8..40 cm3/rev",
        "--machines",
        "0",
        "--set",
        "pump.dry_torque=0.6 N m",
        "--set",
        "pump.fill_speed=5850 rpm",
    ];
    let answer = json_with(&args, 1);
    let found = number(&answer["wants"][0], "value");
    for k in 0..=32 {
        let pump = format!("pump.displacement={} cm3/rev", 8 + k);
        let there = json(
            &[
                &[
                    "speed",
                    "light-truck",
                    "--engine-speed",
                    "1600 rpm",
                    "--set",
                    &pump,
                ],
                &args[8..],
            ]
            .concat(),
        );
        assert!(
            number(&there, "fan_speed_rpm") <= found * 1.001,
            "{pump}: {found}"
        );
    }
}

/// A requirement that no design meets, and that hardly any design comes nearer to, costs nothing: the design is the one without it.
#[test]
fn a_requirement_out_of_reach_costs_nothing_for_almost_no_gain() {
    let args = [
        "size",
        "bus",
        "--want",
        "fan_speed >= 800 rpm at engine idle, altitude 2500 m, oil 80 C",
        "--free",
        "pump.displacement = 16..56 cm3/rev",
        "--free",
        "motor.displacement = 14..45 cm3/rev",
        "--machines",
        "0",
        "--want",
        "inlet_pressure >= 0.8 bar abs at engine idle, altitude 2500 m, oil 80 C",
    ];
    let (without, with) = (json(&args[..10]), json_with(&args, 1));
    let goal = |answer: &Value| number(answer, "goal_value");
    assert!(
        (goal(&with) / goal(&without) - 1.0).abs() < 1e-3,
        "{} {}",
        goal(&with),
        goal(&without)
    );
    assert_eq!(with["against"].as_array().unwrap().len(), 1);
}

/// A requirement on the machine itself is asked for once, whatever the conditions; a size at the end of its list and the worst machine
/// are told.
#[test]
fn ends_of_lists_and_the_worst_case_are_told() {
    let args = [
        "size",
        "light-truck",
        "--rules",
        "--want",
        "fan_speed >= 1300 rpm at engine 900 rpm, oil 80 C",
        "--want",
        "fan_speed >= 1200 rpm at engine 900 rpm, oil 20 C",
        "--free",
        "pump.displacement = 13, 14, 15 cm3/rev",
        "--goal",
        "most fan_speed at engine 900 rpm, oil 80 C",
    ];
    let mut command = assert_cmd::Command::cargo_bin("oilwheel").unwrap();
    let run = command.args(args).args(["--json"]).output().unwrap();
    let answer: Value = serde_json::from_slice(&run.stdout).unwrap();
    let wants = answer["wants"].as_array().unwrap();
    let relief = |w: &&Value| {
        w["want"]
            .as_str()
            .unwrap()
            .starts_with("relief_above_valve")
    };
    assert_eq!(wants.iter().filter(relief).count(), 1, "{answer:#}");
    assert_eq!(answer["design"][0]["at_end"], true, "{answer:#}");
    let mut command = assert_cmd::Command::cargo_bin("oilwheel").unwrap();
    let run = command.args(args).env("COLUMNS", "1000").output().unwrap();
    let said = String::from_utf8_lossy(&run.stdout).into_owned();
    assert!(said.contains("at the end of its list of sizes"), "{said}");
    assert!(said.contains("in the worst case, `"), "{said}");
}
