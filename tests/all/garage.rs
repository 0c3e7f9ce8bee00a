//! Files that an owner writes from scratch, and what the program says of them.

use crate::own::{VAN, VAN_HEAT, VAN_READINGS};
use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// A folder of its own for a test.
fn folder(name: &str) -> PathBuf {
    let path = std::env::temp_dir().join(format!("oilwheel-garage-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&path).unwrap();
    path
}

/// What is printed, and what is said on standard error, run in a folder.
fn run(at: &Path, args: &[&str], code: i32) -> (String, String) {
    let mut command = Command::cargo_bin("oilwheel").unwrap();
    let assert = command.current_dir(at).args(args).assert().code(code);
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let output = assert.get_output();
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    assert!(!err.contains("panicked"), "{err}");
    (out, err)
}

/// Text as one line: where it is broken does not matter.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn written(at: &Path, name: &str, text: &str) {
    std::fs::write(at.join(name), text).unwrap();
}

#[test]
fn an_oil_stands_beside_the_machine_whose_file_names_it() {
    let at = folder("beside");
    let shop = at.join("shop");
    std::fs::create_dir_all(&shop).unwrap();
    written(
        &shop,
        "oil.toml",
        "name = \"shop oil\"\ndata = [\"40 C = 32 cSt\", \"100 C = 6 cSt\"]\n",
    );
    written(
        &shop,
        "van.toml",
        &VAN.replace("\"steering-mineral\"", "\"./oil.toml\""),
    );
    let readings = VAN_READINGS.replace("oil = \"steering-mineral\"", "oil = \"oil.toml\"");
    written(&shop, "readings.toml", &readings);
    for args in [
        &["check", "shop/van.toml"][..],
        &["speed", "shop/van.toml"],
        &["fit", "shop/van.toml", "shop/readings.toml"],
    ] {
        assert!(run(&at, args, 0).0.contains("shop oil"), "{args:?}");
    }
    // The machine that a fit writes finds the oil as well, wherever it is written.
    for out in ["shop/fitted.toml", "fitted.toml", "other/fitted.toml"] {
        std::fs::create_dir_all(at.join("other")).unwrap();
        let args = ["fit", "shop/van.toml", "shop/readings.toml", "--out", out];
        run(&at, &args, 0);
        assert!(run(&at, &["check", out], 0).0.contains("shop oil"), "{out}");
    }
    std::fs::remove_file(shop.join("oil.toml")).unwrap();
    let said = run(&at, &["speed", "shop/van.toml"], 2).1;
    assert!(said.contains("shop/./oil.toml"), "{said}");
}

#[test]
fn an_oil_cooler_stands_in_the_air_once() {
    let at = folder("cooler");
    let twice = "\n[front_2]\nshare = \"0.2\"\ndrop = \"20 Pa\"\noil_cooler = \"0.7\"\n";
    for (name, text, words) in [
        ("nowhere.toml", VAN_HEAT.to_string(), "in none of the zones"),
        (
            "twice.toml",
            VAN_HEAT.replace("[front_1]", "[front_1]\noil_cooler = \"0.7\"") + twice,
            "140 % of the oil cooler",
        ),
    ] {
        written(&at, name, &(VAN.to_string() + &text));
        let said = run(&at, &["check", name], 2).1;
        assert!(
            said.contains(words) && said.contains("oil_cooler"),
            "{said}"
        );
    }
    let sound = VAN_HEAT.replace("[front_1]", "[front_1]\noil_cooler = \"1\"");
    written(&at, "sound.toml", &(VAN.to_string() + &sound));
    run(&at, &["heat", "sound.toml"], 0);
    let without = VAN_HEAT.replace("cooler = \"20 W/K\"", "cooler = \"0 W/K\"");
    written(&at, "without.toml", &(VAN.to_string() + &without));
    run(&at, &["check", "without.toml"], 0);
}

#[test]
fn oil_that_heats_without_end_is_not_told_as_boiling_coolant() {
    let at = folder("hot-oil");
    let without = VAN_HEAT.replace("cooler = \"20 W/K\"", "cooler = \"0 W/K\"");
    written(&at, "van.toml", &(VAN.to_string() + &without));
    let said = flat(&run(&at, &["heat", "van.toml", "--road-speed", "90 km/h"], 0).0);
    assert!(said.contains("the oil cannot reject the heat"), "{said}");
    assert!(!said.contains("which it reaches"), "{said}");
    assert!(
        said.contains("the oil heats up without limit before"),
        "{said}"
    );
}

#[test]
fn what_a_file_leaves_out_is_told_as_not_known() {
    let at = folder("left-out");
    written(&at, "van.toml", VAN);
    written(&at, "readings.toml", VAN_READINGS);
    run(
        &at,
        &["fit", "van.toml", "readings.toml", "--out", "fitted.toml"],
        0,
    );
    for args in [
        &["check", "van.toml"][..],
        &["speed", "van.toml"],
        &["fit", "van.toml", "readings.toml"],
        &["suspects", "van.toml", "readings.toml"],
        // What a fit could not move is no better known in the file that it writes.
        &["check", "fitted.toml"],
    ] {
        let said = flat(&run(&at, args, 0).0);
        assert!(
            said.contains("were known exactly") && said.contains("motor.turbulent_slip"),
            "{said}"
        );
        // What is sound unless said otherwise is no guess.
        assert!(
            !said.contains("belt.grip") && !said.contains("valve.leak"),
            "{said}"
        );
    }
    let whole = run(&at, &["speed", "light-truck"], 0).0;
    assert!(!flat(&whole).contains("known exactly"), "{whole}");
}

#[test]
fn us_units_are_told_throughout() {
    let at = folder("us");
    let sound = VAN_HEAT.replace("[front_1]", "[front_1]\noil_cooler = \"1\"");
    written(&at, "van.toml", &(VAN.to_string() + &sound));
    for args in [
        &["heat", "van.toml"][..],
        &["trip", "van.toml", "jam"],
        &["auxfan", "van.toml"],
        &["sheet", "van.toml"],
        &["speed", "van.toml", "--warm"],
    ] {
        let mut us = args.to_vec();
        us.extend(["--units", "us"]);
        let said = flat(&run(&at, &us, 0).0);
        let kelvin = said.match_indices(" K").any(|(i, _)| {
            let next = said[i + 2..].chars().next();
            said[..i].ends_with(|c: char| c.is_ascii_digit())
                && !next.is_some_and(char::is_alphanumeric)
        });
        assert!(!kelvin, "{args:?}: {said}");
    }
    let said = flat(&run(&at, &["heat", "van.toml", "--units", "us"], 0).0);
    assert!(said.contains("±16.2 °F"), "{said}");
    for args in [
        &[][..],
        &["heat", "van.toml", "--map", "--engine-speed", "full"],
        &["auxfan", "van.toml", "--engine-speed", "full"],
        &["speed", "van.toml", "--oil-temp", "250 F"],
        &[
            "speed",
            "van.toml",
            "--oil-temp",
            "-40 F",
            "--engine-speed",
            "raised",
        ],
        &["oil", "iso-vg-46", "--machine", "van.toml"],
    ] {
        let mut us = args.to_vec();
        us.extend(["--units", "us"]);
        let said = flat(&run(&at, &us, 0).0);
        let said = said.split("Source of its values").next().unwrap();
        for unit in ["°C", "mm²/s", "bar ", "bar,", "L/min"] {
            let metric = said
                .match_indices(&format!(" {unit}"))
                .any(|(i, _)| said[..i].ends_with(|c: char| c.is_ascii_digit()));
            assert!(!metric, "{args:?}: {unit}: {said}");
        }
    }
}

#[test]
fn an_engine_speed_out_of_range_is_told_with_the_range_that_holds() {
    let at = folder("range");
    written(&at, "van.toml", VAN);
    let at_speed = |rpm: &str| {
        let text = VAN_READINGS.replace("760 rpm", rpm);
        written(&at, "readings.toml", &text);
    };
    at_speed("500 rpm");
    let said = run(&at, &["suspects", "van.toml", "readings.toml"], 2).1;
    assert!(said.contains("525 rpm to 3914 rpm"), "{said}");
    for within in ["526 rpm", "3913 rpm"] {
        at_speed(within);
        run(&at, &["fit", "van.toml", "readings.toml"], 0);
    }
}

#[test]
fn a_fit_knows_its_machine_by_another_spelling_of_its_path() {
    let at = folder("same");
    written(&at, "van.toml", VAN);
    written(&at, "readings.toml", VAN_READINGS);
    let args = ["fit", "van.toml", "readings.toml", "--out", "fitted.toml"];
    let said = flat(&run(&at, &args, 0).0);
    assert!(!said.contains("The readings file is for"), "{said}");
    assert!(!said.contains("-0.0"), "{said}");
    assert!(said.contains("fewer than one case in 1000"), "{said}");
    let fitted = std::fs::read_to_string(at.join("fitted.toml")).unwrap();
    assert!(
        fitted.contains("the owner. Narrowed by 3 readings"),
        "{fitted}"
    );
}

#[test]
fn no_warning_is_said_twice() {
    let at = folder("twice");
    written(&at, "van.toml", VAN);
    written(&at, "readings.toml", VAN_READINGS);
    let said = run(&at, &["suspects", "van.toml", "readings.toml"], 0).0;
    let safety = said.split_once("SAFETY").unwrap().1;
    let warnings: Vec<String> = safety.split("!!").map(flat).collect();
    for (i, warning) in warnings.iter().enumerate() {
        assert!(!warnings[..i].contains(warning), "{warning}");
    }
}

#[test]
fn a_starved_pump_is_not_said_to_fill() {
    // At −45 °C this oil keeps the fan standing and the inlet at its least pressure: `speed` says that it is starved.
    let oil = "40C=31 cSt, 100C=6.1 cSt";
    let at = folder("fills");
    let cold = ["speed", "light-truck", "--oil", oil, "--oil-temp", "-45 C"];
    let said = flat(&run(&at, &cold, 0).0);
    assert!(said.contains("inlet is starved"), "{said}");
    let said = flat(&run(&at, &["oil", oil], 0).0);
    assert!(!said.contains("fills completely even with oil"), "{said}");
    // Where it says that the pump fills, `speed` agrees.
    let out = run(&at, &["oil", oil, "--json"], 0).0;
    let answer: Value = serde_json::from_str(&out).unwrap();
    let from = answer["pump_fills_from_idle_c"].as_f64().unwrap();
    let warmer = format!("{} C", from + 4.0);
    let args = [
        "speed",
        "light-truck",
        "--oil",
        oil,
        "--oil-temp",
        &warmer,
        "--json",
    ];
    let state: Value = serde_json::from_str(&run(&at, &args, 0).0).unwrap();
    assert!(state["losses_w"]["unfilled_chambers"].as_f64().unwrap() < 1e-6);
    let colder = format!("{} C", from - 2.0);
    let args = ["speed", "light-truck", "--oil", oil, "--oil-temp", &colder];
    let said = flat(&run(&at, &args, 0).0);
    assert!(said.contains("inlet is starved"), "{said}");
}

#[test]
fn a_flag_that_has_no_say_is_told() {
    let at = folder("flags");
    let sweep = [
        "sweep",
        "light-truck",
        "--from",
        "0 C",
        "--to",
        "80 C",
        "--over",
        "oil-temp",
    ];
    for more in [
        &["--oil", "iso-vg-32", "--oils", "iso-vg-46"][..],
        &["--oil-temp", "50 C"],
    ] {
        let args = [&sweep[..], more].concat();
        let said = run(&at, &args, 2).1;
        assert!(said.contains(more[0]), "{said}");
    }
    for args in [
        &["new", "light-truck", "--csv", "x.csv"][..],
        &["new", "light-truck", "--units", "us"],
        &["sheet", "light-truck", "--csv", "x.csv"],
    ] {
        let assert = Command::cargo_bin("oilwheel")
            .unwrap()
            .current_dir(&at)
            .args(args)
            .assert();
        let said = String::from_utf8(assert.get_output().stderr.clone()).unwrap();
        assert!(said.contains(args[2]), "{args:?}: {said}");
        assert!(!at.join("x.csv").exists(), "{args:?}");
    }
    for (args, flag) in [
        (
            &["heat", "light-truck", "--air-temp", "90 C"][..],
            "--air-temp",
        ),
        (&["heat", "light-truck", "--oil-temp", "20 C"], "--oil-temp"),
        (
            &["trip", "light-truck", "jam", "--engine-speed", "raised"],
            "--engine-speed",
        ),
        (
            &["auxfan", "light-truck", "--command", "least"],
            "--command",
        ),
    ] {
        let said = flat(&run(&at, args, 0).0);
        assert!(
            said.contains(&format!("{flag} has no effect here")),
            "{said}"
        );
    }
    let args = [
        "heat",
        "light-truck",
        "--oil-temp",
        "20 C",
        "--fan-speed",
        "600 rpm",
    ];
    let said = flat(&run(&at, &args, 0).0);
    assert!(!said.contains("has no effect"), "{said}");
}

#[test]
fn a_new_file_writes_ranges_as_people_read_them() {
    let at = folder("new");
    let text = run(&at, &["new", "light-truck"], 0).0;
    assert!(
        text.contains("fan speed held at full command; 100 rpm to 14000 rpm"),
        "{text}"
    );
}

#[test]
fn machines_that_do_not_get_through_a_trip_are_not_left_out_of_the_words() {
    let at = folder("lost");
    let wide = "core.conductance=1800 W/K ± 100 %";
    let said = flat(&run(&at, &["trip", "light-truck", "jam", "--set", wide], 0).0);
    assert!(said.contains("may be the hottest"), "{said}");
    assert!(!said.contains("9 of 10"), "{said}");
}

#[test]
fn an_ambient_that_is_said_is_told_and_stands_in_place_of_the_log() {
    let at = folder("ambient");
    let rows: String = (0..200).map(|i| format!("{i},90,30\n")).collect();
    written(
        &at,
        "log.csv",
        &format!("Time (s),ECT (°C),Ambient (°C)\n{rows}"),
    );
    let said = flat(&run(&at, &["log", "log.csv", "--ambient", "10 C"], 0).0);
    assert!(
        said.contains("ambient 10 °C (instead of the log's)"),
        "{said}"
    );
    let said = flat(&run(&at, &["log", "log.csv"], 0).0);
    assert!(!said.contains("instead of the log's"), "{said}");
    let said = run(&at, &["log", "log.csv", "--ambient-after", "10 C"], 2).1;
    assert!(said.contains("--compare"), "{said}");
}

#[test]
#[cfg(target_os = "linux")]
fn an_answer_that_cannot_be_printed_is_told() {
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_oilwheel"));
    let child = command
        .args(["check", "light-truck"])
        .stdout(full)
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("could not be printed"), "{said}");
}

#[test]
fn a_larger_core_is_not_advised_where_the_oil_gives_out() {
    let at = folder("oil-first");
    let sound = VAN_HEAT.replace("[front_1]", "[front_1]\noil_cooler = \"1\"");
    written(&at, "van.toml", &(VAN.to_string() + &sound));
    // `heat` says what gives out.
    let full = ["--engine-speed", "full"];
    let heat = ["heat", "van.toml", "--command", "full", "--ambient", "38 C"];
    let heat = [&heat[..], &["--air-conditioning"], &full].concat();
    let said = flat(&run(&at, &heat, 0).0);
    assert!(said.contains("the oil cannot reject the heat"), "{said}");
    let auxfan = [&["auxfan", "van.toml"][..], &full].concat();
    let said = flat(&run(&at, &auxfan, 0).0);
    assert!(said.contains("the oil heats up without limit"), "{said}");
    assert!(
        said.contains("larger oil cooler") && !said.contains("larger core"),
        "{said}"
    );
    // With a cooler that does, the coolant is the question again.
    let cooled = [&auxfan[..], &["--set", "oil_heat.cooler=400 W/K"]].concat();
    let said = flat(&run(&at, &cooled, 0).0);
    assert!(!said.contains("heats up without limit"), "{said}");
}

#[test]
fn coolant_that_boils_does_not_settle() {
    let at = folder("boils");
    let climb = [
        "--road-speed",
        "120 km/h",
        "--grade",
        "12 %",
        "--trailer",
        "3000 kg",
    ];
    let said = run(&at, &[&["heat", "car"][..], &climb].concat(), 0).0;
    assert!(
        flat(&said).contains("the coolant boils 1 min after"),
        "{said}"
    );
    assert!(!flat(&said).contains("settles at"), "{said}");
}
