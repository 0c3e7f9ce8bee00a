//! The command `oil`.

use crate::cli::{fails, json};
use oilwheel::model::OILS;

#[test]
fn the_library_is_listed() {
    let root = json(&["oil"]);
    let oils = root["oils"].as_array().unwrap();
    assert_eq!(oils.len(), OILS.len());
    for oil in oils {
        for key in ["key", "name", "status"] {
            assert!(!oil[key].as_str().unwrap().is_empty(), "{key}");
        }
        for key in [
            "viscosity_at_40_c_mm2_per_s",
            "viscosity_at_100_c_mm2_per_s",
            "viscosity_index",
            "coldest_point_c",
        ] {
            assert!(oil[key].is_number(), "{key}");
        }
    }
}

/// The second worked example of ASTM D2270: 22.83 and 5.05 mm²/s have index 156.
#[test]
fn one_oil_shows_its_index_its_windows_and_its_data() {
    let root = json(&["oil", "40C=22.83 mm2/s, 100C=5.05 mm2/s"]);
    let number = |key: &str| root[key].as_f64().unwrap();
    assert!((number("viscosity_index") - 156.0).abs() < 0.6);
    assert!(
        (number("data_from_c") - 40.0).abs() < 1e-6 && (number("data_to_c") - 100.0).abs() < 1e-6
    );
    assert!(root["viscosities"].as_array().unwrap().len() > 5);
    assert!(
        root["cautions"]
            .to_string()
            .contains("No viscosity of this oil is given below")
    );
    // Colder means thicker: the windows follow each other, and 22.83 mm²/s at 40 °C is inside the good one.
    let windows = root["windows"].as_array().unwrap();
    let find = |key: &str| windows.iter().find(|w| w["window"] == key).unwrap();
    let ends = |key: &str| ["from_c", "to_c"].map(|end| find(key)[end].as_f64().unwrap());
    assert!(ends("good")[0] < 40.0 && ends("good")[1] > 40.0);
    let order = ["cold_start", "running_maximum", "good", "hot_minimum"].map(|key| ends(key)[1]);
    assert!(order.windows(2).all(|w| w[0] < w[1]));
}

#[test]
fn a_blend_of_two_shows_its_viscosity_and_warns_of_compatibility() {
    let pair = [
        "oil",
        "central-hydraulic",
        "transmission-multi-vehicle",
        "--share",
    ];
    let at = |share: &str| {
        let args: Vec<&str> = pair.iter().copied().chain([share]).collect();
        let root = json(&args);
        assert!(root["cautions"].to_string().contains("are compatible"));
        root["viscosity_at_40_c_mm2_per_s"].as_f64().unwrap()
    };
    assert!((at("0") - 18.5).abs() < 1e-6 && (at("100 %") - 35.0).abs() < 1e-6);
    assert!(at("30 %") > 18.5 && at("30 %") < at("60 %"));
}

#[test]
fn oil_says_what_is_wrong() {
    let pair =
        |share: &'static str| vec!["oil", "central-hydraulic", "iso-vg-46", "--share", share];
    for (args, word) in [
        (
            vec!["oil", "central-hydralic"],
            "did you mean `central-hydraulic`?",
        ),
        (vec!["oil", "40C=35 cSt"], "two to"),
        (
            vec!["oil", "iso-vg-32", "--machine", "lite-truck"],
            "did you mean `light-truck`?",
        ),
        (vec!["oil", "iso-vg-32", "iso-vg-64"], "did you mean"),
        (vec!["oil", "iso-vg-32", "--share", "30 %"], "two oils"),
        (pair("120 %"), "--share"),
        (pair("-10 %"), "--share"),
        (pair("30"), "30 %"),
    ] {
        let said = fails(&args, 2);
        assert!(said.contains(word), "{args:?}: {said}");
    }
}
