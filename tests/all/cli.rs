//! The program as its user meets it.

use assert_cmd::Command;
use serde_json::Value;

fn oilwheel(args: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("oilwheel").unwrap().args(args).assert()
}

pub(crate) fn json(args: &[&str]) -> Value {
    json_with(args, 0)
}

/// The answer as JSON of a command that ends with a code; it is 1 where nothing meets what was required.
pub(crate) fn json_with(args: &[&str], code: i32) -> Value {
    let mut all = args.to_vec();
    all.push("--json");
    let output = oilwheel(&all).code(code).get_output().stdout.clone();
    serde_json::from_slice(&output).unwrap()
}

/// What a command that must fail with a code says on standard error.
pub(crate) fn fails(args: &[&str], code: i32) -> String {
    let assert = oilwheel(args).code(code);
    let said = String::from_utf8(assert.get_output().stderr.clone()).unwrap();
    assert!(!said.contains("panicked"), "{said}");
    assert!(
        assert.get_output().stdout.is_empty(),
        "nothing but the error is printed"
    );
    said
}

fn folder(name: &str) -> std::path::PathBuf {
    let path = std::env::temp_dir().join(format!("oilwheel-test-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&path).unwrap();
    path
}

#[test]
fn without_a_command_it_shows_the_demo_and_writes_no_file() {
    let folder = folder("first-look");
    let mut command = Command::cargo_bin("oilwheel").unwrap();
    let shown = command
        .current_dir(&folder)
        .env("TMPDIR", &folder)
        .assert()
        .success();
    let text = String::from_utf8(shown.get_output().stdout.clone()).unwrap();
    assert!(std::fs::read_dir(&folder).unwrap().next().is_none());
    std::fs::remove_dir_all(folder).unwrap();
    for word in [
        "rpm",
        "limited by",
        "What to check next",
        "Try next",
        "SAFETY",
        "invented",
    ] {
        assert!(text.contains(word), "{word}\n{text}");
    }
}

#[test]
fn speed_answers_in_json_with_its_keys() {
    let answer = json(&["speed", "light-truck", "--measured", "640 rpm ± 10 rpm"]);
    for key in [
        "fan_speed_rpm",
        "fan_speed_low_rpm",
        "fan_speed_high_rpm",
        "limited_by",
        "supply_gauge_pressure_bar",
        "motor_pressure_drop_bar",
        "pump_flow_l_per_min",
        "motor_flow_l_per_min",
        "pump_shaft_power_w",
        "fan_shaft_power_w",
        "losses_w",
        "sensitivities",
        "full_speed_from_engine_rpm",
        "shortfall_rpm",
        "shortfall_sigma",
        "cautions",
    ] {
        assert!(answer.get(key).is_some(), "{key} is missing");
    }
    let number = |key: &str| answer[key].as_f64().unwrap();
    assert!(number("fan_speed_low_rpm") < number("fan_speed_rpm"));
    assert!((number("shortfall_rpm") - (number("fan_speed_rpm") - 640.0)).abs() < 1e-9);
    assert!(number("shortfall_sigma") > 3.0);
    let spent: f64 = answer["losses_w"]
        .as_object()
        .unwrap()
        .values()
        .map(|w| w.as_f64().unwrap())
        .sum();
    let spent = spent + number("fan_shaft_power_w");
    assert!((spent / number("pump_shaft_power_w") - 1.0).abs() < 1e-9);
    let slopes = answer["sensitivities"].as_array().unwrap();
    assert!(
        slopes
            .iter()
            .all(|s| s["input"].is_string() && s["fan_speed_rpm_per_unit"].is_number())
    );
}

#[test]
fn why_answers_in_json_and_its_shares_add_up() {
    let answer = json(&[
        "why",
        "light-truck",
        "--against-oil",
        "transmission-multi-vehicle",
        "--oil-temp",
        "-10 C",
        "--engine-speed",
        "raised",
        "--measured",
        "640 rpm ± 10 rpm",
    ]);
    let number = |key: &str| answer[key].as_f64().unwrap();
    let sum: f64 = answer["shares_rpm"]
        .as_object()
        .unwrap()
        .values()
        .map(|v| v.as_f64().unwrap())
        .sum();
    assert!((sum - number("difference_rpm")).abs() < 1e-6);
    assert!(
        (number("fan_speed_rpm") - number("fan_speed_against_rpm") - number("difference_rpm"))
            .abs()
            < 1e-9
    );
    for key in [
        "limited_by",
        "limited_by_against",
        "viscosities_needed",
        "unexplained_rpm",
    ] {
        assert!(answer.get(key).is_some(), "{key} is missing");
    }
}

#[test]
fn trip_answers_in_json_with_its_keys_beside_the_sound_machine() {
    let answer = json(&["trip", "light-truck", "jam", "--with", "worn-pump=0.36"]);
    for (key, there) in [
        (
            "peak_coolant_temp_c",
            Value::is_number as fn(&Value) -> bool,
        ),
        ("peak_coolant_time_s", Value::is_number),
        ("peak_oil_temp_c", Value::is_number),
        ("coolant_limit_c", Value::is_number),
        ("above_limit_s", Value::is_number),
        ("above_boiling_s", Value::is_number),
        ("boiled", Value::is_boolean),
        ("duration_s", Value::is_number),
        ("fan_speed_mean_rpm", Value::is_number),
        ("heat_in_j", Value::is_number),
        ("events", Value::is_array),
        ("limits", Value::is_array),
        ("against", Value::is_object),
        ("peak_difference_k", Value::is_number),
    ] {
        assert!(
            answer.get(key).is_some_and(there),
            "{key}: {:?}",
            answer.get(key)
        );
    }
    let number = |key: &str| answer[key].as_f64().unwrap();
    // 31 minutes, as the trip's last row says, unless it boils first.
    assert!(answer["boiled"] == true || (number("duration_s") - 1860.0).abs() < 1e-6);
    let left = number("heat_in_j") - number("heat_out_j") - number("heat_stored_j");
    assert!(left.abs() < 1e-4 * number("heat_in_j"));
    assert!(number("peak_difference_k") > 0.0, "less fan is no cooler");
}

#[test]
fn equal_cases_and_machines_of_other_shape_are_told_so() {
    let same = json(&["why", "light-truck", "--against-oil", "central-hydraulic"]);
    assert_eq!(same["difference_rpm"].as_f64(), Some(0.0));
    let other = json(&["why", "light-truck", "--against-machine", "bus"]);
    assert!(other["shares_rpm"].is_null());
    let text = oilwheel(&["why", "light-truck", "--against-machine", "bus"]).success();
    let text = String::from_utf8(text.get_output().stdout.clone()).unwrap();
    assert!(
        text.replace('\n', " ").contains("cannot be attributed"),
        "{text}"
    );
}

#[test]
fn wrong_input_is_told_where_what_expected_and_what_to_try() {
    for (args, words) in [
        (
            vec!["speed", "light-truk"],
            vec!["light-truk", "did you mean `light-truck`"],
        ),
        (
            vec!["speed", "light-truck", "--oil-temp", "80"],
            vec!["--oil-temp", "unit"],
        ),
        (
            vec!["speed", "light-truck", "--oil-temp", "300 C"],
            vec!["too high", "200"],
        ),
        (
            vec!["speed", "light-truck", "--oil-temp", "-70 C"],
            vec!["too low", "-60"],
        ),
        (
            vec!["speed", "light-truck", "--command", "7"],
            vec!["--command", "7"],
        ),
        (
            vec!["speed", "light-truck", "--engine-speed", "NaN rpm"],
            vec!["--engine-speed"],
        ),
        (
            vec!["speed", "light-truck", "--engine-speed", "-5 rpm"],
            vec!["--engine-speed", "too low"],
        ),
        (
            vec!["speed", "light-truck", "--engine-speed", "10 bar"],
            vec!["pressure", "speed"],
        ),
        (
            vec!["speed", "light-truck", "--set", "pump.raito=1.4"],
            vec!["pump.raito", "pump.ratio"],
        ),
        (
            vec![
                "speed",
                "light-truck",
                "--set",
                "pump.displacement=0 cm3/rev",
            ],
            vec!["too low"],
        ),
        (
            vec!["speed", "light-truck", "--oil", "40C=7 cSt, 100C=35 cSt"],
            vec!["fall with temperature", "swapped"],
        ),
        (
            vec!["speed", "light-truck", "--oil", "40C=35 cSt"],
            vec!["two"],
        ),
        (
            vec!["speed", "light-truck", "--measured", "640 rpm"],
            vec!["±"],
        ),
        (
            vec!["speed", "/nowhere/mine.toml"],
            vec!["/nowhere/mine.toml", "cannot be opened"],
        ),
        (vec!["why", "light-truck"], vec!["--against-oil"]),
        (
            vec![
                "sweep",
                "light-truck",
                "--over",
                "pump.slipp",
                "--from",
                "0",
                "--to",
                "1",
            ],
            vec!["pump.slip"],
        ),
        (vec!["new", "lorry"], vec!["light-truck"]),
        (
            vec!["trip", "light-truck", "jamm"],
            vec!["jamm", "did you mean `jam`"],
        ),
        (vec!["trip", "light-truck"], vec!["TRIP"]),
        (
            vec!["trip", "light-truck", "/nowhere/road.csv"],
            vec!["/nowhere/road.csv"],
        ),
    ] {
        let said = fails(&args, 2);
        for word in words {
            assert!(
                said.contains(word),
                "{args:?} does not say {word:?}:\n{said}"
            );
        }
    }
}

#[test]
fn a_fault_goes_on_any_command_and_its_share_is_found_in_its_place() {
    let sound = json(&["speed", "light-truck"]);
    let worn = json(&["speed", "light-truck", "--with", "worn-pump=0.6"]);
    assert!(worn["fan_speed_rpm"].as_f64() < sound["fan_speed_rpm"].as_f64());
    let answer = json(&[
        "why",
        "light-truck",
        "--with",
        "worn-pump=0.6",
        "--against-with",
        "worn-pump=0",
    ]);
    assert_eq!(answer["fan_speed_rpm"], worn["fan_speed_rpm"]);
    assert_eq!(answer["fan_speed_against_rpm"], sound["fan_speed_rpm"]);
    let shares = answer["shares_rpm"].as_object().unwrap();
    assert_eq!(shares.keys().collect::<Vec<_>>(), ["pump_slip"]);
    let listed = json(&["faults"]);
    assert!(listed["faults"].as_array().unwrap().len() >= 15);
    for (args, word) in [
        (
            vec!["speed", "light-truck", "--with", "worn-pmp=0.4"],
            "did you mean `worn-pump`",
        ),
        (
            vec!["speed", "light-truck", "--with", "worn-pump=4"],
            "0 to 1",
        ),
        (vec!["speed", "bus", "--with", "belt-slip=0.5"], "no [belt]"),
    ] {
        assert!(fails(&args, 2).contains(word), "{args:?}");
    }
}

#[test]
fn troubles_come_as_json_too() {
    let output = oilwheel(&[
        "speed",
        "light-truck",
        "--oil-temp",
        "80",
        "--command",
        "7",
        "--json",
    ])
    .code(2);
    let said: Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
    let troubles = said["troubles"].as_array().unwrap();
    assert_eq!(troubles.len(), 2);
    assert!(
        troubles
            .iter()
            .all(|t| t["found"].is_string() && t["expected"].is_string())
    );
}

#[test]
fn odd_files_are_refused_clearly() {
    let folder = folder("odd");
    let write = |name: &str, bytes: &[u8]| {
        let path = folder.join(name);
        std::fs::write(&path, bytes).unwrap();
        path.to_str().unwrap().to_string()
    };
    let empty = write("empty.toml", b"");
    let binary = write("binary.toml", &[0xff, 0xfe, 0, 1, 2, 200]);
    let nul = write("nul.toml", b"name = \"a\"\0");
    let large = write("large.toml", &vec![b'#'; 3 << 20]);
    for (path, word) in [
        (&empty, "empty"),
        (&binary, "UTF-8"),
        (&nul, "NUL"),
        (&large, "1 MB"),
    ] {
        assert!(fails(&["check", path], 2).contains(word), "{path}");
    }
    assert!(fails(&["check", folder.to_str().unwrap()], 2).contains("folder"));
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_new_machine_file_is_sound_and_does_what_its_class_does() {
    let folder = folder("new");
    for class in ["light-truck", "car", "bus", "off-road"] {
        let text = oilwheel(&["new", class])
            .success()
            .get_output()
            .stdout
            .clone();
        let path = folder.join(format!("{class}.toml"));
        std::fs::write(&path, &text).unwrap();
        let path = path.to_str().unwrap();
        let (mine, own) = (json(&["speed", path]), json(&["speed", class]));
        for key in ["fan_speed_rpm", "fan_speed_high_rpm"] {
            let (a, b) = (mine[key].as_f64().unwrap(), own[key].as_f64().unwrap());
            assert!((a / b - 1.0).abs() < 1e-3, "{class} {key}: {a} against {b}");
        }
        json(&["check", path]);
    }
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn ten_mistakes_come_in_one_go_with_their_places() {
    let folder = folder("ten");
    let text = r#"name = "mine"
[choices]
regulator_returns_to = "sump"
valve_empties_into = "motor outlet"
steering = "in series"
[usual]
oil = "central-hydralic"
idle = "700"
[pump]
displacment = "15 cm3/rev"
ratio = "-1"
slip = "a lot"
[relief]
setting = "3 bar"
[valve]
high = "66 L/min"
low = "4 bar"
[supply]
length = "1.2 m"
bore = "10 miles"
[return]
length = "2.5 m"
[suction]
length = "0.5 m"
bore = "22 mm"
[motr]
displacement = "10 cm3/rev"
[fan]
diameter = "460 mm"
rated_speed = "inf rpm"
rated_power = "2.2 kW"
[reservoir]
volume = "2.4 L"
"#;
    let path = folder.join("mine.toml");
    std::fs::write(&path, text).unwrap();
    let path = path.to_str().unwrap();
    let said = fails(&["check", path], 2);
    for (line, word) in [
        (3, "sump"),
        (7, "central-hydraulic"),
        (8, "unit"),
        (10, "displacement"),
        (11, "-1"),
        (12, "a lot"),
        (16, "flow"),
        (20, "miles"),
        (21, "bore"),
        (26, "motor"),
        (30, "inf"),
    ] {
        assert!(
            said.contains(&format!("mine.toml:{line}:")),
            "line {line} is not named:\n{said}"
        );
        assert!(said.contains(word), "{word} is not said:\n{said}");
    }
    std::fs::remove_dir_all(folder).unwrap();
}

/// A machine that a notebook names, and an oil that this machine names, are read: no output may overwrite them.
#[test]
fn what_an_input_names_is_not_overwritten() {
    let folder = folder("named");
    let at = |name: &str| folder.join(name).to_str().unwrap().to_string();
    let new = oilwheel(&["new", "light-truck"])
        .success()
        .get_output()
        .stdout
        .clone();
    let machine = String::from_utf8(new)
        .unwrap()
        .replace("\"central-hydraulic\"", "\"own-oil.toml\"");
    assert!(machine.contains("own-oil.toml"));
    std::fs::write(at("own.toml"), &machine).unwrap();
    let oil = include_str!("../../models/oils/central-hydraulic.toml");
    std::fs::write(at("own-oil.toml"), oil).unwrap();
    std::fs::write(at("book.toml"), "machine = \"own.toml\"\n").unwrap();
    for (file, before) in [("own.toml", machine.as_str()), ("own-oil.toml", oil)] {
        let said = fails(&["speed", &at("book.toml"), "--report", &at(file)], 2);
        assert!(said.contains("is also an input file"), "{said}");
        assert_eq!(std::fs::read_to_string(at(file)).unwrap(), before);
    }
    oilwheel(&["speed", &at("book.toml"), "--report", &at("new.html")]).success();
}

#[test]
fn files_are_written_whole_and_an_odd_path_is_told() {
    let folder = folder("out");
    let at = |name: &str| folder.join(name).to_str().unwrap().to_string();
    let (csv, svg, html) = (at("a.csv"), at("a.svg"), at("a.html"));
    oilwheel(&[
        "speed",
        "light-truck",
        "--csv",
        &csv,
        "--plot",
        &svg,
        "--report",
        &html,
    ])
    .success();
    let text = std::fs::read_to_string(&csv).unwrap();
    assert!(text.starts_with("engine_speed_rpm,fan_speed_rpm,") && text.lines().count() > 100);
    assert!(std::fs::read_to_string(&svg).unwrap().contains("<svg"));
    let page = std::fs::read_to_string(&html).unwrap();
    assert!(page.contains("</html>") && !page.contains("http://") || page.contains("www.w3.org"));
    assert!(
        fails(&["speed", "light-truck", "--csv", "/nowhere/at/all.csv"], 2).contains("/nowhere")
    );
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn an_engine_that_stands_makes_a_fan_that_stands() {
    let answer = json(&["speed", "light-truck", "--engine-speed", "0 rpm"]);
    assert_eq!(answer["fan_speed_rpm"].as_f64(), Some(0.0));
    assert_eq!(answer["limited_by"], "standstill");
    assert_eq!(answer["pump_shaft_power_w"].as_f64(), Some(0.0));
    assert_eq!(answer["cautions"][0]["key"], "engine_off");
}

#[test]
fn both_systems_of_units_say_the_same() {
    let text = |units| {
        String::from_utf8(
            oilwheel(&["speed", "car", "--units", units])
                .success()
                .get_output()
                .stdout
                .clone(),
        )
        .unwrap()
    };
    assert!(text("si").contains("bar") && !text("si").contains(" psi"));
    assert!(text("us").contains(" psi") && !text("us").contains(" bar"));
    let (si, us) = (
        json(&["speed", "car", "--units", "si"]),
        json(&["speed", "car", "--units", "us"]),
    );
    assert_eq!(
        si["supply_gauge_pressure_bar"],
        us["supply_gauge_pressure_bar"]
    );
}

#[test]
fn completions_and_manual_name_every_command() {
    let text = |args: &[&str]| {
        let output = oilwheel(args).success().get_output().stdout.clone();
        String::from_utf8(output).unwrap()
    };
    let commands: Vec<String> = text(&["--help"])
        .lines()
        .skip_while(|l| *l != "Commands:")
        .skip(1)
        .take_while(|l| !l.trim().is_empty())
        .filter_map(|l| {
            let word = l.strip_prefix("  ")?.split(' ').next()?;
            (!word.is_empty()).then(|| word.to_string())
        })
        .collect();
    assert!(commands.len() > 14, "{commands:?}");
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = text(&["completions", shell]);
        for command in &commands {
            assert!(script.contains(command.as_str()), "{shell}: {command}");
        }
        assert!(script.contains("against-oil"), "{shell}");
    }
    let page = text(&["manual"]);
    assert!(page.contains(".TH oilwheel 1"), "{page}");
    for command in &commands {
        let written = format!("oilwheel\\-{}(1)", command.replace('-', "\\-"));
        assert!(page.contains(&written), "{written}");
        let own = text(&["manual", command]);
        assert!(own.contains(".SH SYNOPSIS"), "{command}");
    }
    assert!(text(&["manual", "why"]).contains("\\-\\-against\\-oil"));
    assert!(fails(&["manual", "spede"], 2).contains("speed"));
}
