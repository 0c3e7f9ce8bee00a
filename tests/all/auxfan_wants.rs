//! Electric fans by requirements: the set is the smallest, told by trying every set anew; what is in the way is in the way.

use crate::cli::{fails, json};
use oilwheel::balance::{Asked, warm_past_boiling};
use oilwheel::fault::put_on;
use oilwheel::input::unit::{RPM, celsius};
use oilwheel::model::{Ask, Case, Lookup};
use oilwheel::question::auxfan::{self, Set};
use serde_json::Value;

const WORN: &str = "worn-pump=0.6";
const WANT: &str = "coolant <= 105 C at 40 C, engine 700 rpm, air conditioning";

/// The answer; the code is 1 where no set meets what is required.
fn ask(more: &[&str]) -> Value {
    let args = [&["auxfan", "light-truck", "--with", WORN, "--json"], more].concat();
    let mut command = assert_cmd::Command::cargo_bin("oilwheel").unwrap();
    let run = command.args(&args).assert();
    let output = run.get_output();
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    let unmet = answer["target_met"] == false && !more.contains(&"--try");
    assert_eq!(output.status.code(), Some(i32::from(unmet)), "{args:?}");
    answer
}

/// The worn truck standing on that day, with the fan control as it is.
fn standing() -> Case {
    let mut setup = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap();
    put_on(&mut setup, &[WORN.to_string()], "with").unwrap();
    let mut case = setup.case;
    (case.now.ambient, case.now.air_conditioning) = (celsius(40.0), 1.0);
    (case.now.engine_speed, case.now.command) = (700.0 * RPM, 1.0);
    case
}

/// Every set: fans, current, mass, depth, coolant temperature K.
fn every() -> Vec<(usize, f64, f64, f64, f64)> {
    let (case, fans) = (standing(), auxfan::fans_of(None));
    let spots = auxfan::spots(&case, None).unwrap();
    let asked = Asked {
        automatic: case.fan_control.is_some(),
        ..Asked::STEADY
    };
    let one = |set: Set| {
        let each: Vec<_> = set
            .iter()
            .flatten()
            .map(|s| (&fans[s.fan], s.count))
            .collect();
        let sum = |of: &dyn Fn(&oilwheel::model::AuxiliaryFan) -> f64| {
            each.iter().map(|(f, n)| of(f) * *n as f64).sum::<f64>()
        };
        let depth = each
            .iter()
            .map(|(f, _)| f.depth.unwrap())
            .fold(0.0, f64::max);
        let mounted = auxfan::mounted(&case, &spots, &fans, &set, true);
        let coolant = warm_past_boiling(&mounted, asked, None);
        (
            each.iter().map(|e| e.1).sum(),
            sum(&|f| f.greatest_current()),
            sum(&|f| f.mass),
            depth,
            coolant.map_or(f64::INFINITY, |w| w.budget.coolant_temp),
        )
    };
    auxfan::every(&case, &spots, &fans)
        .unwrap()
        .into_iter()
        .map(one)
        .collect()
}

/// Of all sets within limits of current and depth, the smallest that is cool enough: fans and current.
fn smallest(bound: f64, current: f64, depth: f64) -> Option<(usize, f64)> {
    let all = every();
    let cool = all
        .iter()
        .filter(|s| s.4 <= celsius(bound) && s.1 <= current && s.3 <= depth);
    let least = cool.min_by(|a, b| (a.0, a.1, a.2).partial_cmp(&(b.0, b.1, b.2)).unwrap());
    least.map(|s| (s.0, s.1))
}

fn number(value: &Value, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} in {value}"))
}

/// Whatever the bound, the set is the one that a search through all of them finds, and what it does is what it does there.
#[test]
fn the_set_is_the_smallest_of_all() {
    let spare = number(&ask(&["--want", WANT]), "alternator_spare_a");
    for (bound, more, current, depth) in [
        (105.0, &[][..], spare, 1.0),
        (100.0, &[][..], spare, 1.0),
        (98.0, &["--want", "current <= 100 A"][..], 100.0, 1.0),
        (100.0, &["--want", "depth <= 70 mm"][..], spare, 0.0701),
    ] {
        let want = WANT.replace("105", &bound.to_string());
        let answer = ask(&[&["--want", &want], more].concat());
        let expected = smallest(bound, current, depth);
        assert_eq!(
            answer["target_met"],
            expected.is_some(),
            "{bound}: {answer}"
        );
        let Some((fans, amperes)) = expected else {
            continue;
        };
        assert!(
            (number(&answer, "set_current_a") - amperes).abs() < 1e-9,
            "{bound}: {fans}"
        );
        let met = &answer["wants"][0];
        assert!(
            met["holds"] == true && number(met, "with_set") <= bound,
            "{met}"
        );
        assert!(number(met, "without") > number(met, "with_set"), "{met}");
        assert!(answer["in_the_way"].as_array().unwrap().is_empty());
    }
}

/// A machine that meets the requirement needs no fan.
#[test]
fn a_machine_that_is_cool_enough_needs_no_fan() {
    let answer = json(&["auxfan", "light-truck", "--want", WANT]);
    assert_eq!(
        (&answer["target_met"], &answer["already_met"]),
        (&true.into(), &true.into())
    );
    assert!(answer["set"].is_null(), "{}", answer["set"]);
    assert!(number(&answer, "wants_share") > 0.5);
}

/// A limit that is in the way is named with a set that meets all but it; without that limit this set is found.
#[test]
fn what_is_in_the_way_is_named() {
    let want = WANT.replace("105", "100");
    let tight = ask(&["--want", &want, "--want", "current <= 8 A"]);
    assert_eq!(tight["target_met"], false);
    let way = &tight["in_the_way"][0];
    assert_eq!(way["what"], "current", "{tight}");
    assert!(number(way, "takes") > 8.0 && (number(way, "limit") - 8.0).abs() < 1e-9);
    let free = ask(&["--want", &want, "--want", "current <= 1000 A"]);
    assert_eq!(way["set"], free["set"]);
    // The miss is that of the nearest set within the limit, of all sets.
    let nearest = every()
        .into_iter()
        .filter(|s| s.1 <= 8.0)
        .map(|s| s.4)
        .fold(f64::INFINITY, f64::min);
    let with = number(&tight["wants"][0], "with_set");
    assert!((with - (nearest - 273.15)).abs() < 1e-6, "{with}");
    // Nothing that fits on the face is enough.
    let hot = ask(&[
        "--want",
        &WANT.replace("105", "60"),
        "--want",
        "current <= 1000 A",
    ]);
    assert_eq!(
        hot["in_the_way"][0]["what"], "face",
        "{}",
        hot["in_the_way"]
    );
}

/// A looser requirement is met in no fewer machines, a larger set in no fewer either, and one that is to be sure is met as often.
#[test]
fn a_requirement_that_is_to_be_sure_holds_as_often() {
    let set = ["--try", "class-250@front_2"];
    let shares: Vec<f64> = ["96", "100", "105", "115"]
        .map(|bound| {
            let want = WANT.replace("105", bound);
            number(
                &ask(&[&["--want", &want], &set[..]].concat()),
                "wants_share",
            )
        })
        .to_vec();
    assert!(shares.windows(2).all(|w| w[0] <= w[1]), "{shares:?}");
    assert!(shares[0] < shares[3], "{shares:?}");
    let plain = ask(&["--want", WANT]);
    let sure = ask(&["--want", WANT, "--sure", "90 %"]);
    assert!(number(&plain, "set_current_a") <= number(&sure, "set_current_a"));
    match sure["target_met"].as_bool().unwrap() {
        true => assert!(number(&sure, "wants_share") >= 0.9),
        false => assert!(number(&sure, "wants_share") < 0.9),
    }
}

#[test]
fn what_is_typed_wrong_is_named() {
    let cases: [(&[&str], &str); 10] = [
        (&["--want", "coolant = 100 C"], "without >= or <="),
        (&["--want", "coolnt <= 100 C"], "did you mean `coolant`"),
        (&["--want", "coolant >= 100 C"], "coolant <="),
        (&["--want", "coolant <= 100"], "unit"),
        (
            &["--want", "coolant <= 100 C at moon 3 m"],
            "is not a condition",
        ),
        (
            &["--want", "coolant <= 100 C at 38 C, oil 80 C"],
            "the heat balance computes them",
        ),
        (&["--want", "coolant <= 100 C ± 2 C"], "without ±"),
        (
            &["--want", "current <= 20 A"],
            "no requirement on a temperature",
        ),
        (
            &["--want", WANT, "--want", "depth <= 60 mm at 38 C"],
            "the same in every condition",
        ),
        (&["--sure", "90 %"], "without a requirement"),
    ];
    for (args, says) in cases {
        let said = fails(&[&["auxfan", "light-truck"], args].concat(), 2);
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(says), "{args:?}: {said}");
    }
    let held = ["--fan-speed", "50 %", "--want", "oil <= 90 C at 38 C"];
    assert!(fails(&[&["auxfan", "light-truck"], &held[..]].concat(), 2).contains("on the coolant"));
}
