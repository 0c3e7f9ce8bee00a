//! `sweep` over any output, with bands, and over two inputs.

use crate::cli::{fails, json};
use serde_json::Value;

fn rows(answer: &Value) -> &Vec<Value> {
    answer["series"].as_array().unwrap()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} in {value}"))
}

const OVER: [&str; 8] = [
    "sweep",
    "light-truck",
    "--over",
    "oil_temp",
    "--from",
    "20 C",
    "--to",
    "100 C",
];

/// Each value with its band is what `speed` says there.
#[test]
fn a_band_along_a_range_is_that_of_speed() {
    let answer = json(&[&OVER[..], &["--steps", "3", "--band"]].concat());
    for row in rows(&answer) {
        let temp = format!("{} C", number(row, "now_oil_temp_c"));
        let alone = json(&["speed", "light-truck", "--oil-temp", &temp]);
        for key in ["fan_speed_rpm", "fan_speed_low_rpm", "fan_speed_high_rpm"] {
            assert!(
                (number(row, key) / number(&alone, key) - 1.0).abs() < 1e-6,
                "{temp}: {key}"
            );
        }
    }
    let pressure = json(
        &[
            &OVER[..],
            &["--steps", "5", "--band", "--give", "supply-gauge-pressure"],
        ]
        .concat(),
    );
    for row in rows(&pressure) {
        let [low, middle, high] = ["_low_bar", "_bar", "_high_bar"]
            .map(|k| number(row, &format!("supply_gauge_pressure{k}")));
        assert!(low < middle && middle < high, "{row}");
    }
}

/// On two oils, the difference and its band are those of `why` at the same place.
#[test]
fn the_difference_between_two_oils_is_that_of_why() {
    let (first, second) = ("central-hydraulic", "transmission-multi-vehicle");
    let oils = format!("{first},{second}");
    let answer = json(&[&OVER[..], &["--steps", "3", "--band", "--oils", &oils]].concat());
    let mut compared = 0;
    for row in rows(&answer).iter().filter(|r| r["oil"] == second) {
        let temp = format!("{} C", number(row, "now_oil_temp_c"));
        let alone = json(&[
            "why",
            "light-truck",
            "--oil",
            second,
            "--against-oil",
            first,
            "--oil-temp",
            &temp,
        ]);
        for end in ["", "_low", "_high"] {
            let (here, there) = (
                number(row, &format!("fan_speed_difference{end}_rpm")),
                number(&alone, &format!("difference{end}_rpm")),
            );
            assert!(
                (here - there).abs() < 1e-6 * (1.0 + there.abs()),
                "{temp}{end}: {here}, {there}"
            );
            compared += 1;
        }
    }
    assert_eq!(compared, 9);
    assert!(
        rows(&answer)
            .iter()
            .filter(|r| r["oil"] == first)
            .all(|r| r["fan_speed_difference_rpm"].is_null())
    );
}

/// What is set on the machine holds on every oil of a sweep.
#[test]
fn what_is_set_holds_on_every_oil() {
    let set = [
        "--steps",
        "2",
        "--oils",
        "central-hydraulic,transmission-multi-vehicle",
        "--set",
        "oil.air=12 %",
    ];
    let (with, without) = (
        json(&[&OVER[..], &set].concat()),
        json(&[&OVER[..], &set[..4]].concat()),
    );
    for (a, b) in rows(&with).iter().zip(rows(&without)) {
        assert!(
            number(a, "fan_speed_rpm") < number(b, "fan_speed_rpm"),
            "{a} {b}"
        );
    }
}

/// A flag's own name leads to its input, in either spelling.
#[test]
fn flags_own_names_are_taken() {
    for (name, from, to) in [
        ("altitude", "0 m", "3000 m"),
        ("air-temp", "0 C", "60 C"),
        ("air_temp", "0 C", "60 C"),
        ("engine_speed", "700 rpm", "900 rpm"),
    ] {
        json(&[
            "sweep", "bus", "--over", name, "--from", from, "--to", to, "--steps", "3",
        ]);
    }
}

const TWO: [&str; 8] = [
    "--over-2",
    "engine-speed",
    "--from-2",
    "700 rpm",
    "--to-2",
    "2400 rpm",
    "--steps-2",
    "4",
];

/// Over two inputs each state is what it is alone, with a fault on too; the lines of equal value lie between values above and below.
#[test]
fn over_two_inputs_each_state_is_what_it_is_alone() {
    let fault = ["--with", "worn-pump=0.4"];
    let answer = json(
        &[
            &OVER[..],
            &["--steps", "5"],
            &TWO,
            &fault,
            &["--give", "pump_shaft_power"],
        ]
        .concat(),
    );
    assert_eq!(rows(&answer).len(), 20);
    for row in rows(&answer).iter().step_by(7) {
        let temp = format!("{} C", number(row, "now_oil_temp_c"));
        let engine = format!("{} rpm", number(row, "now_engine_speed_rpm"));
        let alone = json(
            &[
                &[
                    "speed",
                    "light-truck",
                    "--oil-temp",
                    &temp,
                    "--engine-speed",
                    &engine,
                ][..],
                &fault,
            ]
            .concat(),
        );
        assert!(
            (number(row, "pump_shaft_power_w") / number(&alone, "pump_shaft_power_w") - 1.0).abs()
                < 1e-6
        );
    }
    let values: Vec<f64> = rows(&answer)
        .iter()
        .map(|r| number(r, "pump_shaft_power_w"))
        .collect();
    let (low, high) = values
        .iter()
        .fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(*v), b.max(*v)));
    let contours = answer["contours"].as_array().unwrap();
    assert!(
        contours.len() >= 4
            && contours
                .iter()
                .all(|c| (low..high).contains(&number(c, "level"))),
        "{contours:?}"
    );
}

/// The axes of a contour picture show the whole range asked for, although no line goes there; and what was typed as 6 comes back as 6.
#[test]
fn a_picture_over_two_inputs_shows_the_whole_range() {
    let args = [
        "sweep",
        "light-truck",
        "--over",
        "pump.displacement",
        "--from",
        "6 cm3/rev",
        "--to",
        "24 cm3/rev",
        "--over-2",
        "engine-speed",
        "--from-2",
        "600 rpm",
        "--to-2",
        "4500 rpm",
    ];
    let run = |flag: &str| {
        let mut command = assert_cmd::Command::cargo_bin("oilwheel").unwrap();
        let run = command.args(args).args([flag, "-"]).assert().success();
        String::from_utf8(run.get_output().stdout.clone()).unwrap()
    };
    let picture = run("--plot");
    let ticks: Vec<&str> = picture
        .split('>')
        .map(|t| t.split('<').next().unwrap().trim())
        .collect();
    for tick in ["6", "24", "1000", "4500"] {
        assert!(ticks.contains(&tick), "{tick} in {ticks:?}");
    }
    let table = run("--csv");
    assert!(table.lines().nth(1).unwrap().contains(",6.0,"), "{table}");
}

#[test]
fn what_does_not_go_together_is_named() {
    let cases: [(&[&str], &str); 6] = [
        (&["--give", "fan_sped"], "did you mean `fan_speed`"),
        (&["--from-2", "700 rpm"], "--over-2"),
        (
            &["--over-2", "oil-temp", "--from-2", "0 C", "--to-2", "9 C"],
            "the same input on both axes",
        ),
        (
            &[
                "--over-2",
                "viscosity",
                "--from-2",
                "5 cSt",
                "--to-2",
                "9 cSt",
            ],
            "viscosity on the first axis",
        ),
        (
            &[
                "--over-2",
                "engine-speed",
                "--from-2",
                "700 rpm",
                "--to-2",
                "900 rpm",
                "--band",
            ],
            "only with one axis",
        ),
        (
            &[
                "--over-2",
                "engine-speed",
                "--from-2",
                "700 rpm",
                "--to-2",
                "900 rpm",
                "--steps",
                "2000",
                "--steps-2",
                "2000",
            ],
            "at most 1000000",
        ),
    ];
    for (args, says) in cases {
        let said = fails(&[&OVER[..], args].concat(), 2);
        assert!(said.contains(says), "{args:?}: {said}");
    }
}

/// Each output of the heat balance is what `heat` says there, on one axis and on two, in weather and on the road. To 1e-6 of it, set
/// before the first run: both close the balance to 1e-12.
#[test]
fn outputs_of_the_heat_are_those_of_heat() {
    let road = ["--road-speed", "60 km/h", "--air-conditioning"];
    for (output, key) in [
        ("coolant", "coolant_temp_c"),
        ("oil", "oil_temp_c"),
        ("air flow", "airflow_m3_per_s"),
        ("radiator_heat", "radiator_heat_w"),
        ("engine power", "engine_power_w"),
        ("air_temp", "air_temp_c"),
        ("coolant-return-temp", "coolant_return_temp_c"),
        ("limiting_ambient", "limiting_ambient_c"),
    ] {
        let args = [
            "sweep",
            "light-truck",
            "--over",
            "ambient",
            "--from",
            "10 C",
            "--to",
            "40 C",
            "--steps",
            "2",
            "--over-2",
            "grade",
            "--from-2",
            "0 %",
            "--to-2",
            "5 %",
            "--steps-2",
            "2",
            "--give",
            output,
        ];
        let answer = json(&[&args[..], &road].concat());
        assert_eq!(rows(&answer).len(), 4, "{output}");
        for row in rows(&answer) {
            let ambient = format!("{} C", number(row, "now_ambient_c"));
            let grade = format!("{} %", 100.0 * number(row, "now_grade_share"));
            let args = [
                "heat",
                "light-truck",
                "--without-bands",
                "--ambient",
                &ambient,
                "--grade",
                &grade,
            ];
            let alone = json(&[&args[..], &road].concat());
            let (here, there) = (number(row, key), number(&alone, key));
            assert!(
                (here / there - 1.0).abs() < 1e-6,
                "{output} at {ambient}, {grade}: {here}, {there}"
            );
        }
    }
}

/// With `--warm` each state is that of `speed --warm`.
#[test]
fn a_warm_sweep_is_speed_at_its_steady_temperatures() {
    let fault = ["--warm", "--with", "worn-pump=0.4"];
    let args = [
        "sweep",
        "light-truck",
        "--over",
        "engine_speed",
        "--from",
        "700 rpm",
        "--to",
        "2500 rpm",
        "--steps",
        "3",
    ];
    for row in rows(&json(&[&args[..], &fault].concat())) {
        let engine = format!("{} rpm", number(row, "now_engine_speed_rpm"));
        let alone = json(
            &[
                &["speed", "light-truck", "--engine-speed", &engine][..],
                &fault,
            ]
            .concat(),
        );
        for (key, there) in [
            ("fan_speed_rpm", "fan_speed_rpm"),
            ("oil_temp_c", "oil_temp_settled_c"),
        ] {
            let (here, there) = (number(row, key), number(&alone, there));
            assert!(
                (here / there - 1.0).abs() < 1e-6,
                "{key} at {engine}: {here}, {there}"
            );
        }
    }
}

/// The band of an output of the heat is about that of `heat`, from other machines of the same class; the difference between two oils is one
/// in kelvin. The widths agree to a third, set before the first run: of 120 machines the end of a 95 % band varies by about a tenth.
#[test]
fn a_band_of_the_heat_is_about_that_of_heat() {
    let args = [
        "sweep",
        "light-truck",
        "--over",
        "ambient",
        "--from",
        "20 C",
        "--to",
        "40 C",
        "--steps",
        "2",
        "--band",
        "--oils",
        "central-hydraulic,iso-vg-46",
    ];
    let answer = json(&[&args[..], &["--give", "coolant"]].concat());
    let row = &rows(&answer)[1];
    let alone = json(&["heat", "light-truck", "--ambient", "40 C"]);
    let wide = |of: &Value| number(of, "coolant_temp_high_c") - number(of, "coolant_temp_low_c");
    assert!(
        (wide(row) / wide(&alone) - 1.0).abs() < 0.33,
        "{row} {}",
        wide(&alone)
    );
    let answer = json(&[&args[..], &["--give", "oil"]].concat());
    let second = &rows(&answer)[3];
    let difference = number(second, "oil_temp_difference_k");
    assert!(difference.abs() < 20.0, "{second}");
    assert!(
        number(second, "oil_temp_difference_low_k") <= difference + 0.5,
        "{second}"
    );
}

/// Where the coolant boils there is no state, and that is said.
#[test]
fn what_boils_is_left_out_and_said() {
    let args = [
        "sweep",
        "light-truck",
        "--over",
        "load",
        "--from",
        "0 kW",
        "--to",
        "60 kW",
        "--give",
        "coolant",
        "--ambient",
        "40 C",
        "--steps",
        "7",
        "--set",
        "core.conductance=800 W/K",
    ];
    let answer = json(&args);
    let out = answer["without_steady_state"].as_u64().unwrap();
    assert!(out > 0 && rows(&answer).len() as u64 + out == 7, "{out}");
    let said = said(&args);
    assert!(
        said.contains("No steady state at") && said.contains("boils"),
        "{said}"
    );
}

/// What is printed, on one line.
fn said(args: &[&str]) -> String {
    let mut command = assert_cmd::Command::cargo_bin("oilwheel").unwrap();
    let run = command.args(args).assert().success();
    let said = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// An axis on which nothing depends is said; with steady temperatures the vehicle's mass counts.
#[test]
fn an_axis_that_changes_nothing_is_said() {
    let args = [
        "sweep",
        "light-truck",
        "--over",
        "vehicle.mass",
        "--from",
        "1000 kg",
        "--to",
        "3000 kg",
        "--steps",
        "3",
    ];
    assert!(said(&args).contains("does not depend on vehicle.mass"));
    let road = [
        "--give",
        "coolant",
        "--road-speed",
        "60 km/h",
        "--grade",
        "6 %",
    ];
    assert!(!said(&[&args[..], &road].concat()).contains("does not depend"));
}

#[test]
fn a_range_of_heat_that_cannot_be_is_named() {
    let cases: [(&[&str], &str); 5] = [
        (
            &["--over", "oil-temp", "--from", "20 C", "--to", "20 C"],
            "a range from 20 °C to 20 °C",
        ),
        (
            &[
                "--over", "oil-temp", "--from", "20 C", "--to", "90 C", "--give", "coolant",
            ],
            "which the heat balance computes",
        ),
        (
            &[
                "--over",
                "viscosity",
                "--from",
                "9 cSt",
                "--to",
                "90 cSt",
                "--warm",
            ],
            "which follows from the oil temperature",
        ),
        (
            &[
                "--over",
                "ambient",
                "--from",
                "0 C",
                "--to",
                "30 C",
                "--ambient",
                "20 C",
            ],
            "the axis of the sweep",
        ),
        (
            &[
                "--over",
                "ambient",
                "--from",
                "0 C",
                "--to",
                "30 C",
                "--give",
                "pump.slip",
            ],
            "which is an input",
        ),
    ];
    for (args, says) in cases {
        let said = fails(&[&["sweep", "light-truck"], args].concat(), 2);
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(says), "{args:?}: {said}");
    }
}
