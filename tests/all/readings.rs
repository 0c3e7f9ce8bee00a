//! Readings files: what is read, and what is said of what cannot be.

use oilwheel::input::unit::{BAR, RPM, celsius};
use oilwheel::model::{Caution, Lookup, Machine};
use oilwheel::probe::{Engine, Readings};
use oilwheel::quantity::Units;
use oilwheel::tell::caution;
use proptest::prelude::*;

const WELL: &str = include_str!("../../models/readings/well.toml");
const TABLE: &str = include_str!("../../models/readings/well.csv");

fn truck() -> Machine {
    Lookup::LibraryOnly.machine("light-truck").unwrap()
}

fn read(source: &str, text: &str) -> Result<Readings, String> {
    Readings::from_text(source, text, &truck()).map_err(|all| {
        let lines: Vec<String> = all.iter().map(ToString::to_string).collect();
        lines.join("\n")
    })
}

/// One reading in TOML.
fn one(lines: &str) -> Result<Readings, String> {
    read("mine.toml", &format!("[[reading]]\n{lines}\n"))
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * b.abs()
}

#[test]
fn the_examples_are_read() {
    for text in [
        WELL,
        include_str!("../../models/readings/thick-oil.toml"),
        include_str!("../../models/readings/worn-pump.toml"),
        include_str!("../../models/readings/not-asking.toml"),
    ] {
        let found = read("example.toml", text).unwrap();
        assert!(found.all.len() >= 3 && found.notes.is_empty());
        assert!(text.contains("Invented") && found.status == "invented");
        assert_eq!(found.machine.as_deref(), Some("light-truck"));
        assert_eq!(
            Readings::oil_of("example.toml", text).as_deref(),
            Some("central-hydraulic")
        );
    }
}

#[test]
fn a_table_says_the_same_as_toml() {
    let (toml, csv) = (
        read("well.toml", WELL).unwrap(),
        read("well.csv", TABLE).unwrap(),
    );
    let semicolons = TABLE.replace(',', ";");
    for other in [csv, read("mine.txt", &semicolons).unwrap()] {
        assert_eq!(toml.all.len(), other.all.len());
        for (a, b) in toml.all.iter().zip(&other.all) {
            assert_eq!(a.probe.key, b.probe.key);
            assert_eq!(a.setting.unplugged, b.setting.unplugged);
            assert!(close(a.value, b.value), "{}", a.probe.key);
            for (x, y) in [
                (a.engine_half, b.engine_half),
                (a.oil_temp_half, b.oil_temp_half),
                (a.setting.oil_temp.unwrap(), b.setting.oil_temp.unwrap()),
            ] {
                assert!(close(x, y));
            }
            // Errors are typed in the table, and by instrument in the other.
            assert!((a.half / b.half - 1.0).abs() < 1.2 && a.uniform == b.uniform);
        }
    }
}

/// A gauge of class 1.6 to 160 bar errs by 2.56 bar anywhere, evenly spread; counted blades divide value and error.
#[test]
fn errors_come_from_the_instrument_or_as_typed() {
    let gauge = one(
        "test = \"supply-pressure-raised-hot\"\nvalue = \"60 bar\"\ninstrument = \"gauge-class-1.6\"\nfull_scale = \"160 bar\"",
    )
    .unwrap()
    .all[0];
    assert!(gauge.uniform && close(gauge.half, 2.56 * BAR) && close(gauge.value, 60.0 * BAR));
    assert!(close(gauge.sigma(), 2.56 * BAR / 3.0_f64.sqrt()));

    for lines in [
        "value = \"4200 rpm\"\nerror = \"60 rpm\"\nblades = 6",
        "value = \"700 rpm ± 10 rpm\"",
        "value = \"700 rpm\"\nerror = \"10\"",
        "value = \"700 rpm\"\nerror = \"1.4285714285714286 %\"",
    ] {
        let speed = one(&format!("test = \"fan-speed-idle-hot\"\n{lines}"))
            .unwrap()
            .all[0];
        assert!(
            !speed.uniform && (speed.half / RPM - 10.0).abs() < 1e-6,
            "{lines}"
        );
        assert!(close(speed.value, 700.0 * RPM));
    }
}

#[test]
fn a_condition_is_the_tests_unless_it_is_given() {
    let test = "test = \"fan-speed-raised-hot\"\nvalue = \"2300 rpm ± 5 rpm\"\n";
    let usual = one(test).unwrap().all[0];
    assert_eq!(usual.setting, usual.probe.setting);
    assert!(close(usual.engine_half, 0.02 * 2000.0 * RPM) && close(usual.oil_temp_half, 15.0));
    let own = one(&format!(
        "{test}engine_speed = \"2100 rpm ± 12 rpm\"\noil_temp = \"176 °F\"\nthermometer = \"thermocouple\"\ncommand = \"half\""
    ))
    .unwrap()
    .all[0];
    assert!(matches!(own.setting.engine, Engine::At(s) if close(s, 2100.0 * RPM)));
    assert!(close(own.engine_half, 12.0 * RPM) && close(own.oil_temp_half, 1.5));
    assert!(close(own.setting.oil_temp.unwrap(), celsius(80.0)));
    assert!(close(own.setting.command, 0.5));
}

#[test]
fn what_cannot_be_is_said_with_its_place_and_a_hint() {
    let fan = "test = \"fan-speed-idle-hot\"\nvalue = \"700 rpm ± 10 rpm\"\n";
    let gauge = "test = \"supply-pressure-idle-hot\"\nvalue = \"60 bar\"\ninstrument = \"gauge-class-1.6\"\n";
    for (lines, place, words) in [
        (
            "test = \"fan-speed-idel-hot\"\nvalue = \"7 rpm ± 1 rpm\"".to_string(),
            "2:8",
            "did you mean `fan-speed-idle-hot`?",
        ),
        ("value = \"700 rpm\"".into(), "1:1", "without `test`"),
        (
            "test = \"fan-speed-idle-hot\"".into(),
            "1:1",
            "without a value",
        ),
        (
            "test = \"fan-speed-idle-hot\"\nvalue = \"60 bar ± 1 bar\"".into(),
            "3:9",
            "fan-speed-idle-hot",
        ),
        (
            "test = \"fan-speed-idle-hot\"\nvalue = 700\nerror = \"10 rpm\"".into(),
            "3:9",
            "rpm",
        ),
        (
            "test = \"fan-speed-idle-hot\"\nvalue = \"700 rpm\"".into(),
            "3:9",
            "instrument = \"photo-tachometer\"",
        ),
        (
            "test = \"fan-speed-idle-hot\"\nvalue = \"700 rpm\"\nerror = \"0 rpm\"".into(),
            "4:9",
            "an uncertainty of zero",
        ),
        (
            "test = \"fan-speed-idle-hot\"\nvalue = \"700 rpm ± 0 rpm\"".into(),
            "3:9",
            "without its uncertainty",
        ),
        (
            "test = \"fan-speed-idle-hot\"\nvalue = \"-700 rpm\"\nerror = \"5 rpm\"".into(),
            "3:9",
            "-700 rpm",
        ),
        (
            format!("{fan}error = \"5 rpm\""),
            "4:9",
            "the uncertainty is given twice",
        ),
        (
            format!("{fan}instrument = \"photo-tacho\""),
            "4:14",
            "photo-tachometer",
        ),
        (
            format!("{fan}instrument = \"gauge-class-1.6\""),
            "4:14",
            "photo-tachometer",
        ),
        (format!("{fan}blades = 0"), "4:10", "1 to 20"),
        (
            format!("{fan}engine_speed = \"6000 rpm\""),
            "4:16",
            "490 rpm to 4635 rpm",
        ),
        (format!("{fan}oil_temp = \"300 °C\""), "4:12", "too high"),
        (
            format!("{fan}thermometer = \"infrared\""),
            "4:15",
            "without `oil_temp`",
        ),
        (
            format!("{fan}oil_temp = \"80 °C\"\nthermometer = \"ruler\""),
            "5:15",
            "infrared",
        ),
        (format!("{fan}command = \"150 %\""), "4:11", "fan command"),
        (format!("{fan}colour = \"red\""), "4:1", "known here"),
        (
            format!("{fan}valeu = \"red\""),
            "4:1",
            "did you mean `value`?",
        ),
        (
            format!("{fan}oil_temp = true"),
            "4:12",
            "neither text nor a number",
        ),
        (gauge.into(), "1:1", "no `full_scale`"),
        (
            format!("{gauge}full_scale = \"40 bar\""),
            "5:14",
            "a reading within full scale",
        ),
    ] {
        let said = one(&lines).unwrap_err();
        assert!(
            said.contains(&format!("mine.toml:{place}: ")),
            "{lines}\n{said}"
        );
        assert!(said.contains(words), "{lines}\n{said}");
    }
}

#[test]
fn every_mistake_comes_at_once() {
    let text = "machin = \"light-truck\"\n[[reading]]\ntest = \"fan-sped-idle-hot\"\nvalue = \"1 rpm\"\n[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"700 bar\"\nengine_speed = \"9000 rpm\"\n";
    let said = read("mine.toml", text).unwrap_err();
    assert_eq!(said.lines().count(), 4, "{said}");
    let csv = "test,valeu\nfan-speed-idle-hot,700 rpm\nfan-speed-idle-hot,1,2\n";
    let said = read("mine.csv", csv).unwrap_err();
    for words in ["did you mean `value`?", "without a value", "3 cells"] {
        assert!(said.contains(words), "{words}\n{said}");
    }
}

#[test]
fn no_readings_are_refused() {
    for (source, text) in [
        ("mine.toml", "name = \"x\"\n"),
        ("mine.csv", "test,value\n"),
        ("mine.csv", "# nothing\n"),
        ("mine.toml", "reading = 3\n"),
        ("mine.toml", "reading = [3]\n"),
    ] {
        assert!(read(source, text).is_err(), "{text}");
    }
}

#[test]
fn a_test_that_this_engine_cannot_run_is_refused() {
    let bus = Lookup::LibraryOnly.machine("bus").unwrap();
    let text = "[[reading]]\ntest = \"fan-speed-3000-hot\"\nvalue = \"2000 rpm ± 5 rpm\"\n";
    assert_eq!(Readings::from_text("x", text, &bus).unwrap_err().len(), 1);
    let slower = format!("{text}engine_speed = \"2000 rpm\"\n");
    assert!(Readings::from_text("x", &slower, &bus).is_ok());
}

#[test]
fn readings_that_contradict_each_other_are_taken_and_noted() {
    let twice = |second: &str| {
        let text = format!(
            "[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"960 rpm ± 5 rpm\"\n[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"{second}\"\n"
        );
        read("mine.toml", &text).unwrap()
    };
    for (second, contradicts) in [("963 rpm ± 5 rpm", false), ("700 rpm ± 5 rpm", true)] {
        let found = twice(second);
        assert_eq!((found.all.len(), found.notes.len()), (2, 1));
        let Caution::ReadTwice {
            test, contradict, ..
        } = found.notes[0]
        else {
            panic!("{:?}", found.notes);
        };
        assert_eq!((test, contradict), ("fan-speed-idle-hot", contradicts));
        let words = caution::words(&found.notes[0], Units::Si);
        assert!(
            words.contains("960 ± 5 rpm") && words.contains(&second[..3]),
            "{words}"
        );
        assert_eq!(words.contains("differ by more"), contradicts);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    /// Mangled files are answered, one way or the other.
    #[test]
    fn mangled_files_never_panic(
        csv in any::<bool>(),
        cuts in prop::collection::vec((0.0..1.0f64, 0usize..12, ".{0,6}"), 1..5),
    ) {
        let mut text: Vec<char> = if csv { TABLE } else { WELL }.chars().collect();
        for (at, long, put) in cuts {
            let from = (at * text.len() as f64) as usize;
            let to = (from + long).min(text.len());
            text.splice(from..to, put.chars());
        }
        let text: String = text.into_iter().collect();
        let source = if csv { "mine.csv" } else { "mine.toml" };
        let _ = Readings::oil_of(source, &text);
        if let Err(said) = Readings::from_text(source, &text, &truck()) {
            prop_assert!(!said.is_empty());
        }
    }

    /// So is any text at all.
    #[test]
    fn any_text_never_panics(text in "\\PC{0,200}", csv in any::<bool>()) {
        let source = if csv { "mine.csv" } else { "mine.toml" };
        let _ = Readings::from_text(source, &text, &truck());
    }
}
