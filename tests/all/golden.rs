//! What the program said last time, frozen: a change of numbers or words must be meant. These are no checks of the physics;
//! the numbers are rounded to four digits, because powers differ in the last digits from platform to platform.
//!
//! After a change that is meant: `INSTA_UPDATE=always cargo test --test all golden`, and a line in `CHANGELOG.md` under
//! *Numbers changed*.

use serde_json::Value;

fn program() -> assert_cmd::Command {
    assert_cmd::Command::new(env!("CARGO_BIN_EXE_oilwheel"))
}

fn run(args: &[&str]) -> Value {
    let output = program().args(args).arg("--json").output().unwrap();
    serde_json::from_slice(&output.stdout).unwrap()
}

fn rounded(value: &Value) -> Value {
    match value {
        Value::Number(n) => {
            let x = n.as_f64().unwrap_or(0.0);
            let short: f64 = format!("{x:.3e}").parse().unwrap();
            serde_json::json!(if short.abs() < 1e-9 { 0.0 } else { short })
        }
        Value::Array(all) => Value::Array(all.iter().map(rounded).collect()),
        Value::Object(all) => {
            Value::Object(all.iter().map(|(k, v)| (k.clone(), rounded(v))).collect())
        }
        other => other.clone(),
    }
}

/// The frozen part of an answer: all but the version, what changes with the number of evaluations, and the points of curves.
fn frozen(args: &[&str]) -> String {
    let mut value = rounded(&run(args));
    if let Some(all) = value.as_object_mut() {
        all.remove("version");
        all.remove("evaluations");
        all.remove("series");
    }
    serde_json::to_string_pretty(&value).unwrap()
}

#[test]
fn golden_speed() {
    for machine in ["light-truck", "car", "bus", "off-road"] {
        for engine in ["idle", "raised"] {
            insta::assert_snapshot!(
                format!("speed-{machine}-{engine}"),
                frozen(&["speed", machine, "--engine-speed", engine])
            );
        }
    }
}

#[test]
fn golden_why() {
    for (engine, temperature) in [("idle", "80 C"), ("raised", "20 C"), ("raised", "-10 C")] {
        let name = format!("why-{engine}-{}", temperature.replace(' ', ""));
        let args = [
            "why",
            "light-truck",
            "--against-oil",
            "transmission-multi-vehicle",
            "--engine-speed",
            engine,
            "--oil-temp",
            temperature,
        ];
        insta::assert_snapshot!(name, frozen(&args));
    }
}

#[test]
fn golden_words() {
    let output = program()
        .args(["speed", "light-truck", "--measured", "640 rpm ± 10 rpm"])
        .env("COLUMNS", "96")
        .output()
        .unwrap();
    insta::assert_snapshot!("speed-words", String::from_utf8(output.stdout).unwrap());
}
