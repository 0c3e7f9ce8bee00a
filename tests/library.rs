//! The library as other programs use it, with the prelude alone.
#![allow(clippy::unwrap_used)]

use oilwheel::prelude::*;

fn checked(machine: &str) -> CheckedCase {
    let setup = Ask::about(machine).resolve(Lookup::LibraryOnly).unwrap();
    setup.checked().unwrap()
}

#[test]
fn a_case_written_down_gives_the_same_answer_again() {
    for (machine, _) in MACHINES {
        let case = checked(machine);
        let text = serde_json::to_string(&case).unwrap();
        let back: CheckedCase = serde_json::from_str(&text).unwrap();
        let (one, two) = (solve(&case).unwrap(), solve(&back).unwrap());
        assert_eq!(one.limit, two.limit);
        for output in Output::all() {
            let (a, b) = (one.state.get(output), two.state.get(output));
            // Only the oil's points go through logarithms on their way.
            assert!((a - b).abs() <= 1e-9 * a.abs(), "{machine}: {a} {b}");
        }
        for input in Input::all() {
            assert_eq!(case.get(input), back.get(input));
            assert_eq!(case.half_width(input), back.half_width(input));
        }
    }
}

#[test]
fn a_case_that_was_changed_by_hand_is_checked_as_any_other() {
    let case = serde_json::to_value(checked("bus")).unwrap();
    let broken = |change: &dyn Fn(&mut serde_json::Value)| {
        let mut changed = case.clone();
        change(&mut changed);
        let read: Result<CheckedCase, _> = serde_json::from_value(changed);
        read.unwrap_err().to_string()
    };
    let said = broken(&|c| c["inputs"]["pump.slip"] = (-1e-8).into());
    assert!(
        said.contains("pump.slip: ") && said.contains("too low"),
        "{said}"
    );
    let said = broken(&|c| c["inputs"]["pump.slop"] = 1.0.into());
    assert!(said.contains("`pump.slop`"), "{said}");
    let said = broken(&|c| {
        c["inputs"].as_object_mut().unwrap().remove("pump.slip");
    });
    assert!(said.contains("no value for pump.slip"), "{said}");
    let said = broken(&|c| c["inputs"]["valve.high"] = 2e5.into());
    assert!(said.contains("not above low"), "{said}");
    let said = broken(&|c| c["half_widths"]["pump.displacement"] = 1.0.into());
    assert!(said.contains("×/÷"), "{said}");
    let said = broken(&|c| c["half_widths"]["relief.setting"] = 1e9.into());
    assert!(said.contains('±'), "{said}");
    let said = broken(&|c| c["factors"][0] = "pump.slop".into());
    assert!(said.contains("`pump.slop`"), "{said}");
    let said = broken(&|c| c["choices"]["steering"] = "sometimes".into());
    assert!(said.contains("`steering`"), "{said}");
    let said = broken(&|c| c["format"] = 2.into());
    assert!(said.contains("format 1"), "{said}");
}

#[test]
fn a_request_is_read_with_what_is_not_said_as_usual() {
    let text = r#"{"machine": "car", "oil_temp": "70 °C ± 2 K", "set": ["pump.ratio=1.1"]}"#;
    let ask: Ask = serde_json::from_str(text).unwrap();
    let case = ask.resolve(Lookup::LibraryOnly).unwrap().checked().unwrap();
    assert_eq!(case.show(Input::OIL_TEMP, Units::Si).unwrap(), "70 ± 2 °C");
    assert!((case.get(INPUTS.pump.ratio).unwrap() - 1.1).abs() < 1e-12);
    assert!(serde_json::from_str::<Ask>(r#"{"machin": "car"}"#).is_err());
    let again: Ask = serde_json::from_str(&serde_json::to_string(&ask).unwrap()).unwrap();
    assert_eq!(ask, again);
}

#[test]
fn what_comes_out_stands_under_its_keys() {
    let case = checked("light-truck");
    let solved = solve(&case).unwrap();
    let out = serde_json::to_value(&solved).unwrap();
    assert_eq!(out["limited_by"], solved.limit.key());
    let number = |key: &str| out[key].as_f64().unwrap();
    let rpm = std::f64::consts::PI / 30.0;
    assert!((number("fan_speed_rpm") * rpm / solved.state.fan_speed - 1.0).abs() < 1e-12);
    let lost: f64 = out["losses_w"]
        .as_object()
        .unwrap()
        .values()
        .map(|w| w.as_f64().unwrap())
        .sum();
    let whole = lost + number("fan_shaft_power_w");
    assert!((whole / number("pump_shaft_power_w") - 1.0).abs() < 1e-9);
}

#[test]
fn a_slope_is_what_a_small_step_makes_of_the_keys() {
    // Also where the input is 0 in its own unit: at 0 °C and at sea level.
    let case = checked("light-truck");
    let case = case.typed(Input::OIL_TEMP, "0 °C").unwrap();
    let solved = solve(&case).unwrap();
    for input in [Input::OIL_TEMP, INPUTS.pump.displacement, Input::ALTITUDE] {
        let kind = input.field().kind;
        let slopes = solved.slopes(&case);
        let slope = slopes.iter().find(|s| s.input == input).unwrap();
        let value = case.get(input).unwrap();
        let step = 1e-6 * (input.field().high - input.field().low);
        let (low, high) = (value - step, value + step);
        let at = |v| {
            solve(&case.with(input, v).unwrap())
                .unwrap()
                .state
                .fan_speed
        };
        let rpm = Kind::Speed.to_json(at(high)) - Kind::Speed.to_json(at(low));
        let units = kind.to_json(high) - kind.to_json(low);
        let ours = slope.per_unit(Output::FAN_SPEED);
        assert!(
            (rpm / units - ours).abs() <= 1e-3 * ours.abs() + 1e-3,
            "{}: {ours} and {}",
            input.key(),
            rpm / units
        );
        let out = serde_json::to_value(slope).unwrap();
        assert_eq!(out["input"], input.key());
        assert!((out["fan_speed_rpm"].as_f64().unwrap() - ours).abs() <= 1e-9 * ours.abs());
    }
}

#[test]
fn a_machine_built_in_code_is_checked() {
    let said = Machine::built("own", "iso-vg-46", Shape::default(), &[]).unwrap_err();
    let keys: Vec<&str> = said.iter().map(|t| t.spot.source.as_str()).collect();
    assert!(keys.contains(&"pump.displacement") && keys.contains(&"relief.setting"));
    let said = Machine::built(
        "own",
        "iso-vg-46",
        Shape::default(),
        &[(INPUTS.pump.displacement, "16 bar")],
    );
    assert!(said.unwrap_err()[0].found.contains("measures pressure"));
}

#[test]
fn readings_are_weighed() {
    let setup = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap();
    let text = "[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"640 rpm ± 10 rpm\"\n";
    let readings = Readings::from_text("readings", text, &setup.machine).unwrap();
    let causes = weigh(&setup, &readings, &Priors::usual().unwrap()).unwrap();
    let whole: f64 = causes.iter().map(|c| c.probability).sum();
    assert!((whole - 1.0).abs() < 1e-9);
    assert!(causes.is_sorted_by(|a, b| a.probability >= b.probability));
    assert!(
        causes[0].cause.key() != "nothing",
        "640 rpm is no healthy speed"
    );
}
