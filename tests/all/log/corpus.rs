//! One invented drive in every shape: whatever the shape, it must say the same.

use super::LEVELS;
use oilwheel::model::log::{Choices, Guessed, Signal};
use oilwheel::trouble::Troubles;
use oilwheel::vary::log::{Digest, Verdict, all_given_from, digest, runs_hot};
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/all/log/shapes")
}

fn read(name: &str, choices: &Choices) -> Result<Digest, Troubles> {
    let bytes = std::fs::read(folder().join(name)).unwrap();
    digest(|| Ok(bytes.as_slice()), name, choices, &LEVELS, &mut |_| {})
}

/// Each file, the rows that it has, and what of it must be guessed.
const READ: &[(&str, u64, &[Guessed])] = &[
    ("plain.csv", 61, &[]),
    ("semicolon_decimal_comma.csv", 61, &[]),
    ("latin1.csv", 61, &[]),
    ("french.csv", 61, &[]),
    ("spanish.csv", 61, &[]),
    ("italian.csv", 61, &[]),
    ("portuguese.csv", 61, &[]),
    ("utf16.csv", 61, &[]),
    ("packed.csv.gz", 61, &[]),
    ("long.csv", 183, &[]),
    ("long_without_heading.csv", 244, &[]),
    (
        "long_by_number.csv",
        122,
        &[Guessed::Unit(Signal::Coolant), Guessed::TimeScale],
    ),
    ("unit_row.csv", 61, &[]),
    ("several_headings.csv", 61, &[Guessed::TimeScale]),
    ("units_as_words.csv", 61, &[Guessed::TimeScale]),
    ("key_value.txt", 61, &[Guessed::Unit(Signal::Coolant)]),
    ("key_value_clock.txt", 61, &[Guessed::Unit(Signal::Coolant)]),
    ("metadata.csv", 61, &[]),
    ("two_sessions.csv", 61, &[Guessed::Unit(Signal::RoadSpeed)]),
    ("run_time.csv", 61, &[Guessed::Unit(Signal::Coolant)]),
    ("thousands.csv", 61, &[]),
    ("thousands_points.csv", 61, &[]),
    ("spreadsheet_days.csv", 61, &[]),
    ("epoch_s.csv", 61, &[]),
    ("epoch_ms.csv", 61, &[]),
    ("epoch_us.csv", 61, &[]),
    ("milliseconds_unsaid.csv", 61, &[Guessed::TimeScale]),
    ("minutes_seconds.csv", 61, &[Guessed::TimeScale]),
    ("one_more.csv", 61, &[Guessed::Shift]),
    ("j1939.csv", 61, &[]),
    ("j1939_names.csv", 61, &[]),
];

#[test]
fn every_shape_says_the_same() {
    for (name, rows, guessed) in READ {
        let log = read(name, &Choices::default()).unwrap_or_else(|t| panic!("{name}: {t:?}"));
        let tally = &log.tally;
        assert_eq!(
            (tally.rows_read, tally.rows_dropped),
            (*rows, 0),
            "{name}: {:?}",
            tally.mistakes
        );
        // Between two sessions lies a time that is not known.
        let long = if *name == "two_sessions.csv" {
            590.0
        } else {
            600.0
        };
        assert!(
            (tally.duration - long).abs() < 1.0,
            "{name}: {} s",
            tally.duration
        );
        let (peak, at) = log.exposure.peak.unwrap();
        assert!((peak - 273.15 - 101.0).abs() < 0.01, "{name}: {peak}");
        assert!(
            (at - 500.0 + 600.0 - long).abs() < 1.0,
            "{name}: peak at {at}"
        );
        let engine = log.tally.seen[Signal::EngineSpeed as usize];
        let rpm = 30.0 / std::f64::consts::PI;
        assert!(
            (engine.least * rpm - 780.0).abs() < 0.1,
            "{name}: {engine:?}"
        );
        assert!(
            (engine.most * rpm - 1732.0).abs() < 9.0,
            "{name}: {}",
            engine.most * rpm
        );
        let made: Vec<Guessed> = log.layout.guesses.iter().map(|g| g.what).collect();
        for wanted in *guessed {
            assert!(made.contains(wanted), "{name}: {wanted:?} among {made:?}");
        }
        for guess in &log.layout.guesses {
            assert!(
                !guess.other.is_empty() && !guess.setting.is_empty(),
                "{name}: {guess:?}"
            );
        }
        // 40 K up and 8 K down within 10 min, at each degree for 20 s at most: no level is known to rise above.
        let found = runs_hot(&log, all_given_from(&log, None));
        assert!(
            matches!(found.verdict, Verdict::CannotTell(_)) && found.level.is_nan(),
            "{name}: {found:?}"
        );
        assert!(log.doubts().is_empty(), "{name}: {:?}", log.doubts());
    }
}

#[test]
fn what_cannot_be_read_is_named_for_what_it_is() {
    for (name, words) in [
        ("refused_zip.csv", &["zip"][..]),
        ("refused_json.csv", &["JSON"]),
        ("refused_binary.csv", &["binary"]),
        (
            "refused_time_destroyed.csv",
            &["repeat", "`Laps`", "column time=4"],
        ),
        ("refused_no_coolant.csv", &["no column of coolant", "`RPM`"]),
        ("refused_one_more.csv", &["3 cells under 2 headings"]),
        (
            "refused_no_time.csv",
            &["no time column", "`Frame no`", "column time=1"],
        ),
    ] {
        let said = read(name, &Choices::default())
            .err()
            .unwrap_or_else(|| panic!("{name} was read"));
        let said: Vec<String> = said.iter().map(ToString::to_string).collect();
        for word in words {
            assert!(said.join("\n").contains(word), "{name}: {word}\n{said:?}");
        }
    }
    let listed: Vec<&str> = READ.iter().map(|r| r.0).collect();
    for file in std::fs::read_dir(folder()).unwrap() {
        let name = file.unwrap().file_name().into_string().unwrap();
        let told =
            listed.contains(&name.as_str()) || name.starts_with("refused_") || name == "README.md";
        assert!(told, "{name} stands in no list");
    }
}

/// What a setting says goes before what was guessed.
#[test]
fn a_setting_settles_what_was_guessed() {
    use oilwheel::model::log::TimeUnit;
    let with = |unit: &str| Choices {
        time_unit: TimeUnit::find(unit),
        ..Choices::default()
    };
    let long = |name: &str, choices: &Choices| read(name, choices).unwrap().tally.duration;
    assert!((long("minutes_seconds.csv", &with("hh:mm")) - 36_000.0).abs() < 1.0);
    assert!((long("milliseconds_unsaid.csv", &with("us")) - 0.6).abs() < 1e-6);
    let fahrenheit = Choices {
        columns: vec!["coolant=2 [°F]".into()],
        ..Choices::default()
    };
    let peak = read(
        "run_time.csv",
        &Choices {
            columns: vec!["coolant=4 [°F]".into()],
            ..fahrenheit
        },
    );
    // By hand: 101 °F are 38.33 °C.
    let (peak, _) = peak.unwrap().exposure.peak.unwrap();
    assert!((peak - 273.15 - 38.333).abs() < 0.01, "{peak}");
}
