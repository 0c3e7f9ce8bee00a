//! What a notebook's fan readings mean for the questions that are not about the cause: heat, trip, electric fans, speed.

use serde_json::Value;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A slow fan read at idle, 640 rpm where about 1140 rpm is computed. Invented.
const SLOW: &str = "machine = \"light-truck\"\n[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"640 rpm ± 5 rpm\"\n";
/// The same fan read at about 3000 rpm of the engine, later.
const FAST: &str = "[[reading]]\ntest = \"fan-speed-3000-hot\"\nvalue = \"1200 rpm ± 5 rpm\"\n";
/// And at half command.
const HALF: &str =
    "[[reading]]\ntest = \"fan-speed-raised-hot-half\"\nvalue = \"900 rpm ± 5 rpm\"\n";

/// The answer as JSON to a question about a notebook.
fn asked(question: &str, notebook: &str, rest: &[&str]) -> Value {
    static MADE: AtomicUsize = AtomicUsize::new(0);
    let name = format!(
        "oilwheel-noted-{}-{}.toml",
        std::process::id(),
        MADE.fetch_add(1, Ordering::Relaxed)
    );
    let path = std::env::temp_dir().join(name);
    std::fs::write(&path, notebook).unwrap();
    let path = path.to_str().unwrap();
    let mut command = assert_cmd::Command::cargo_bin("oilwheel").unwrap();
    let command = command.args([question, path]).args(rest).arg("--json");
    let answer: Value = serde_json::from_slice(&command.output().unwrap().stdout).unwrap();
    assert!(answer["troubles"].is_null(), "{answer}");
    answer
}

fn number(answer: &Value, key: &str) -> f64 {
    answer[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} in {answer}"))
}

/// The words of a caution; empty if the answer has no such caution.
fn caution(answer: &Value, key: &str) -> String {
    let mut all = answer["cautions"].as_array().unwrap().iter();
    let found = all.find(|c| c["key"] == key);
    found.map_or(String::new(), |c| c["words"].to_string())
}

/// A reading taken in another condition does not set that of the question.
#[test]
fn the_reading_in_force_is_that_of_the_condition_asked() {
    let day = ["--ambient", "38 C", "--air-conditioning"];
    let alone = asked("heat", SLOW, &day);
    let both = asked("heat", &format!("{SLOW}{FAST}{HALF}"), &day);
    for answer in [&alone, &both] {
        assert!((number(answer, "engine_speed_rpm") - 700.0).abs() < 1e-6);
        // At this heat the control asks for all that the fan can do.
        assert!(
            caution(answer, "fan_as_read").contains("640 rpm"),
            "{answer}"
        );
    }
    let same = |key: &str| (number(&alone, key) - number(&both, key)).abs() < 1e-9;
    assert!(same("coolant_temp_c") && same("fan_speed_rpm"));
    let healthy = asked("heat", "machine = \"light-truck\"\nreading = []\n", &day);
    assert!(number(&alone, "coolant_temp_c") > number(&healthy, "coolant_temp_c") + 3.0);
    // The readings before a repair say nothing about the fan after it.
    let repaired = format!(
        "{}date = 2026-05-01\n[[work]]\ndate = 2026-06-01\nwhat = \"pump\"\n",
        SLOW
    );
    let repaired = asked("heat", &repaired, &day);
    assert!(
        (number(&repaired, "coolant_temp_c") - number(&healthy, "coolant_temp_c")).abs() < 1e-6
    );
}

/// What was read at full command limits what the control gets, and does not replace it: slow is never cooler.
#[test]
fn a_slow_fan_is_never_cooler_than_a_healthy_one() {
    for ambient in ["10 C", "25 C", "38 C"] {
        let answer = asked("heat", SLOW, &["--ambient", ambient, "--without-bands"]);
        let rows = answer["side_by_side"].as_array().unwrap();
        let healthy = rows
            .iter()
            .find(|r| r["name"] == "fan as computed")
            .unwrap();
        let less = number(healthy, "coolant_temp_c") - number(&answer, "coolant_temp_c");
        assert!(less < 0.05, "{ambient}: {less} K cooler");
    }
}

/// Where no reading was taken, the most probable cause is applied, and the answer says so.
#[test]
fn elsewhere_the_most_probable_cause_is_applied_and_named() {
    let road = [
        "--ambient",
        "38 C",
        "--road-speed",
        "70 km/h",
        "--grade",
        "6 %",
    ];
    let tow = [&road[..], &["--trailer", "1500 kg", "--without-bands"]].concat();
    let slow = asked("heat", &format!("{SLOW}{FAST}"), &tow);
    let words = caution(&slow, "by_cause");
    assert!(
        words.contains("most probable cause") && words.contains("probability"),
        "{slow}"
    );
    let rows = slow["side_by_side"].as_array().unwrap();
    let healthy = rows
        .iter()
        .find(|r| r["name"] == "without the fault")
        .unwrap();
    assert!(number(healthy, "coolant_difference_k") < 0.0, "{healthy}");
    // A fault that is stated is taken as stated.
    let stated = asked(
        "heat",
        SLOW,
        &[&tow[..], &["--with", "worn-pump=0"]].concat(),
    );
    assert!(caution(&stated, "by_cause").is_empty());
    // Nothing is applied where no cause explains the readings, and that is said.
    let at_odds = asked("heat", &format!("{SLOW}{FAST}{HALF}"), &tow);
    assert!(caution(&at_odds, "by_cause").is_empty());
    assert!(!caution(&at_odds, "unexplained").is_empty(), "{at_odds}");
    let trip = asked("trip", SLOW, &["jam"]);
    assert!(!caution(&trip, "by_cause").is_empty() && number(&trip, "peak_difference_k") > 0.0);
}

/// A second reading, of the same slow fan, does not make it healthy.
#[test]
fn electric_fans_keep_the_fault_in_mind() {
    for notebook in [SLOW.to_string(), format!("{SLOW}{FAST}")] {
        let answer = asked("auxfan", &notebook, &[]);
        let rows = answer["side_by_side"].as_array().unwrap();
        let mended = rows
            .iter()
            .find(|r| r["name"] == "main fan repaired")
            .unwrap();
        assert!(number(mended, "gained_k") > 1.0, "{mended}");
        assert!(caution(&answer, "fan_as_read").contains("640 rpm"));
    }
}

#[test]
fn a_speed_is_compared_with_the_reading_of_its_condition() {
    let notebook = format!("{SLOW}{FAST}{HALF}");
    let idle = asked("speed", &notebook, &[]);
    let short = number(&idle, "fan_speed_rpm") - number(&idle, "shortfall_rpm");
    assert!((short - 640.0).abs() < 0.1, "{short}");
    let half = ["--engine-speed", "raised", "--command", "50 %"];
    let half = asked("speed", &notebook, &half);
    let short = number(&half, "fan_speed_rpm") - number(&half, "shortfall_rpm");
    assert!((short - 900.0).abs() < 0.1, "{short}");
    let none = asked("speed", &notebook, &["--engine-speed", "1000 rpm"]);
    assert!(none["shortfall_rpm"].is_null());
}
