//! The printed test sheet.

use assert_cmd::Command;
use oilwheel::model::Lookup;
use oilwheel::probe::{ALL, find};
use serde_json::Value;

fn sheet(args: &[&str]) -> String {
    let mut all = vec!["sheet", "--all"];
    all.extend(args);
    let run = Command::cargo_bin("oilwheel").unwrap().args(all).assert();
    String::from_utf8(run.success().get_output().stdout.clone()).unwrap()
}

#[test]
fn the_sheet_is_a_page_with_every_test_that_the_machine_can_run() {
    for machine in ["light-truck", "car", "bus", "off-road"] {
        let page = sheet(&[machine]);
        assert!(
            page.starts_with("<!DOCTYPE html>") && !page.contains("<script"),
            "{machine}"
        );
        let known = Lookup::LibraryOnly.machine(machine).unwrap();
        for probe in ALL {
            let printed = page.contains(&format!("<code>{}</code>", probe.key));
            assert_eq!(printed, probe.runs_on(&known), "{machine}: {}", probe.key);
        }
        assert!(page.contains("surgical emergency") && page.contains("out of its plane"));
    }
    assert!(!sheet(&["bus"]).contains("fan-speed-3000"));
}

#[test]
fn tests_stand_in_the_order_of_what_they_cost() {
    let page = sheet(&["light-truck"]);
    let minutes: Vec<f64> = page
        .split("<code>")
        .skip(1)
        .map(|rest| {
            let key = rest.split("</code>").next().unwrap();
            find(key).unwrap().effort_minutes
        })
        .collect();
    assert!(minutes.len() > 20 && minutes.is_sorted());
}

#[test]
fn units_files_and_json_as_everywhere() {
    assert!(sheet(&["car", "--units", "us"]).contains("reading, psi"));
    let json: Value = serde_json::from_str(&sheet(&["car", "--json"])).unwrap();
    let tests = json["tests"].as_array().unwrap();
    for test in tests {
        assert!(find(test["test"].as_str().unwrap()).is_ok());
        assert!(test["effort_minutes"].as_f64().unwrap() > 0.0);
    }
    let path = std::env::temp_dir().join(format!("oilwheel-sheet-{}.html", std::process::id()));
    sheet(&["car", "--report", path.to_str().unwrap()]);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), sheet(&["car"]));
    std::fs::remove_file(path).unwrap();
}

#[test]
fn unless_more_is_asked_for_it_is_tape_and_tachometer() {
    for machine in ["light-truck", "car", "bus", "off-road"] {
        let run = Command::cargo_bin("oilwheel").unwrap();
        let run = { run }.args(["sheet", machine]).assert().success();
        let page = String::from_utf8(run.get_output().stdout.clone()).unwrap();
        let keys = page.split("<code>").skip(1);
        let keys: Vec<&str> = keys.filter_map(|k| k.split("</code>").next()).collect();
        assert!(!keys.is_empty(), "{machine}");
        for key in keys {
            let probe = find(key).unwrap();
            assert_eq!(probe.instrument, "photo-tachometer", "{machine}: {key}");
            assert!(!probe.setting.unplugged, "{machine}: {key}");
        }
        assert!(page.contains("out of its plane"));
    }
}
