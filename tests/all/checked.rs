//! The same checks on every way in: a machine's file, `--set`, flags and the library.

use oilwheel::fault;
use oilwheel::input::Input;
use oilwheel::model::{Ask, INPUTS, Lookup, Machine, Setup, machine_text};
use oilwheel::quantity::Measure;
use oilwheel::trouble::Troubles;

fn set(sets: &[&str]) -> Result<Setup, Troubles> {
    let ask = Ask {
        set: sets.iter().map(|s| s.to_string()).collect(),
        ..Ask::about("light-truck")
    };
    ask.resolve(Lookup::LibraryOnly)
}

fn refused(sets: &[&str]) -> String {
    let troubles = set(sets).expect_err(&sets.join(" "));
    let said: Vec<String> = troubles.iter().map(ToString::to_string).collect();
    said.join("\n")
}

/// Each clash: what sets it, and what is said of it.
const CLASHES: [(&str, &str, &str); 6] = [
    ("valve.high", "3 bar", "not above low"),
    ("valve.low", "90 bar", "not above low"),
    ("relief.setting", "2 bar", "[relief] setting 2 bar"),
    (
        "motor.breakaway",
        "0.01 N m",
        "[motor] breakaway torque 0.01 N m",
    ),
    ("thermostat.full", "60 C", "`full` above `opens`"),
    ("front_1.share", "100 %", "the core face"),
];

#[test]
fn what_must_hold_between_inputs_is_checked_on_every_way_in() {
    let sound = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap();
    let text = machine_text(&sound.machine);
    for (key, value, said) in CLASHES {
        let by_flag = refused(&[&format!("{key}={value}")]);
        assert!(by_flag.starts_with(&format!("set.{key}: ")), "{by_flag}");
        assert!(by_flag.contains(said), "{by_flag}");

        let input = Input::find(key).unwrap();
        let measure = oilwheel::quantity::parse(input.field().kind, value).unwrap();
        let by_library = sound.case.set(input, measure.value).unwrap_err();
        assert!(by_library.to_string().contains(said), "{by_library}");

        let own = sound.machine.clone().with(input, measure);
        let by_machine = own.case(&sound.oil, &own.idling()).unwrap_err();
        assert!(by_machine[0].to_string().contains(said), "{by_machine:?}");
        let by_file = Machine::from_text("own", &machine_text(&own)).unwrap_err();
        assert!(by_file[0].to_string().contains(said), "{by_file:?}");
        assert_ne!(machine_text(&own), text);
    }
}

#[test]
fn a_clash_is_named_where_it_was_set() {
    // The relief is checked against the valve's low setting, which is what was set here.
    let said = refused(&["valve.high=300 bar", "valve.low=250 bar"]);
    assert!(said.starts_with("set.valve.low: [relief]"), "{said}");
}

#[test]
fn the_library_takes_no_value_outside_its_range() {
    let case = set(&[]).unwrap().case;
    for (input, value) in [
        (INPUTS.pump.slip, -1e-8),
        (INPUTS.pump.displacement, 0.0),
        (INPUTS.pump.ratio, f64::NAN),
        (Input::OIL_TEMP, f64::INFINITY),
        (Input::COMMAND, 1.5),
    ] {
        let trouble = case.set(input, value).unwrap_err();
        assert_eq!(trouble.spot.source, input.key());
    }
    let lacking = case.set(INPUTS.governor.full_speed, 200.0).unwrap_err();
    assert!(lacking.found.contains("no [governor]"), "{lacking}");

    let sound = set(&[]).unwrap();
    let own = sound
        .machine
        .clone()
        .with(INPUTS.pump.slip, Measure::within(-1e-8, 0.0));
    let troubles = own.case(&sound.oil, &own.idling()).unwrap_err();
    assert_eq!(troubles.len(), 1, "{troubles:?}");
    assert!(troubles[0].found.contains("too low"));
}

#[test]
fn a_spread_that_makes_no_sense_is_refused() {
    for sets in [
        "pump.displacement=14 cm3/rev ± 200 %",
        "pump.displacement=14 cm3/rev ± 1e308",
        "pump.ratio=1.2 ± 40",
        "now.oil_temp=80 C ± 400 K",
        "belt_slip=0.1 ± 3",
        "now.command=0.5 ± 1.5",
    ] {
        let sets = sets.replace("belt_slip", "valve.least_command");
        let said = refused(&[&sets]);
        assert!(said.contains("expected at most ±"), "{sets}: {said}");
    }
    // What may be 0 may be off by more than itself.
    for sets in [
        "pump.displacement=14 cm3/rev ± 50 %",
        "pump.slip=1e-9 ± 2e-9",
    ] {
        assert!(set(&[sets]).is_ok(), "{sets}");
    }
    let machine = include_str!("../../models/machines/light-truck.toml");
    let text = machine.replace("± 3 %", "± 300 %");
    assert_ne!(text, machine);
    let troubles = Machine::from_text("own", &text).unwrap_err();
    assert!(
        troubles.iter().all(|t| t.found.contains('±')),
        "{troubles:?}"
    );
}

#[test]
fn what_is_given_twice_is_refused() {
    let said = refused(&["pump.ratio=1.4", "pump.ratio=1.5"]);
    assert!(
        said.contains("`pump.ratio` is set more than once"),
        "{said}"
    );
    let said = refused(&["choices.steering=first", "choices.steering=in series"]);
    assert!(said.contains("is set more than once"), "{said}");
    for (flag, key, value) in [
        ("--engine-speed", "now.engine_speed", "800 rpm"),
        ("--oil-temp", "now.oil_temp", "70 C"),
        ("--command", "now.command", "0.5"),
        ("--air-temp", "now.air_temp", "50 C"),
        ("--altitude", "now.altitude", "500 m"),
    ] {
        let mut ask = Ask::about("light-truck");
        let slot = match flag {
            "--engine-speed" => &mut ask.engine_speed,
            "--oil-temp" => &mut ask.oil_temp,
            "--command" => &mut ask.command,
            "--air-temp" => &mut ask.air_temp,
            _ => &mut ask.altitude,
        };
        *slot = Some(value.into());
        assert!(ask.resolve(Lookup::LibraryOnly).is_ok(), "{flag}");
        ask.set = vec![format!("{key}={value}")];
        let said = ask.resolve(Lookup::LibraryOnly).unwrap_err();
        assert_eq!(said.len(), 1);
        let field = flag.trim_start_matches("--").replace('-', "_");
        let by = format!("by {field}");
        assert!(said[0].to_string().contains(&by), "{said:?}");
    }
}

#[test]
fn a_fault_is_put_on_once() {
    let with = |faults: [&str; 2]| {
        let faults = faults.map(String::from);
        fault::resolve(&Ask::about("light-truck"), &faults, Lookup::LibraryOnly)
    };
    assert!(with(["worn-pump=0.2", "worn-motor=0.2"]).is_ok());
    let said = with(["worn-pump=0.2", "worn-pump=0.4"]).unwrap_err();
    assert!(
        said[0].found.contains("`worn-pump` is given twice"),
        "{said:?}"
    );
}
