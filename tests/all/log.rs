//! Logs: the reader on anything that may come, the synthetic drive, the real one.

mod corpus;
mod defects;
mod silent;
mod simulated;

use assert_cmd::Command;
use oilwheel::model::Lookup;
use oilwheel::model::log::{Choices, LogReader, Signal, Tally};
use oilwheel::quantity::Units;
use oilwheel::question::log::{Finding, Log};
use oilwheel::question::{Open, Request, Values};
use oilwheel::trouble::Stop;
use oilwheel::vary::log::{
    Digest, Fuel, Heat, Pace, Verdict, all_given_from, by_pace, digest, heat, runs_hot,
};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use serde_json::Value;
use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

const LEVELS: [f64; 3] = [373.15, 378.15, 383.15];

fn read(text: &[u8]) -> Digest {
    digest(
        || Ok(text),
        "log.csv",
        &Choices::default(),
        &LEVELS,
        &mut |_| {},
    )
    .unwrap()
}

fn file(name: &str, text: &[u8]) -> String {
    let folder = std::env::temp_dir().join(format!("oilwheel-log-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path.to_string_lossy().into_owned()
}

fn program(args: &[&str], code: i32) -> (String, String) {
    let assert = Command::cargo_bin("oilwheel")
        .unwrap()
        .args(args)
        .assert()
        .code(code);
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let output = assert.get_output();
    (text(&output.stdout), text(&output.stderr))
}

fn json(args: &[&str]) -> Value {
    let all: Vec<&str> = ["log"]
        .iter()
        .chain(args)
        .chain(&["--json"])
        .copied()
        .collect();
    serde_json::from_str(&program(&all, 0).0).unwrap()
}

/// The tally of a text, or nothing where it is refused.
fn tally(bytes: &[u8]) -> Option<Tally> {
    let mut reader = LogReader::open(bytes, "log.csv", &Choices::default()).ok()?;
    while let Ok(Some(_)) = reader.next_row() {}
    Some(reader.tally().clone())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(
        std::env::var("OILWHEEL_CASES").ok().and_then(|c| c.parse().ok()).unwrap_or(400)
    ))]

    /// Whatever the bytes: no panic.
    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        tally(&bytes);
    }

    /// Whatever stands in the cells: every row is read or dropped, or is headings.
    #[test]
    fn any_cells(
        separator in prop::sample::select(vec![',', ';', '\t']),
        ending in prop::sample::select(vec!["\n", "\r\n"]),
        marked in any::<bool>(),
        rows in prop::collection::vec(prop::collection::vec(cell(), 1..6), 0..60),
    ) {
        let mut text = String::from(if marked { "\u{feff}" } else { "" });
        text.push_str(&["Time", "Engine coolant temperature [°C]", "Engine RPM", "Vehicle speed [km/h]"]
            .join(&separator.to_string()));
        text.push_str(ending);
        // A first row that is sound, so that rows below the headings are not taken for units.
        text.push_str(&["0", "20", "700", "0"].join(&separator.to_string()));
        text.push_str(ending);
        let mut count = 1;
        for row in &rows {
            let row: Vec<String> = row
                .iter()
                .map(|c| c.replace(|c: char| c == separator || c.is_control() || c == '"', " "))
                .collect();
            let line = row.join(&separator.to_string());
            count += u64::from(!line.is_empty());
            text.push_str(&line);
            text.push_str(ending);
        }
        let tally = tally(text.as_bytes()).expect("headings are sound");
        // A row of two headings or more begins a session, and may have its units below it.
        let (found, headings) = (tally.rows_read + tally.rows_dropped, tally.sessions.len() as u64);
        prop_assert!(found <= count && found + 2 * headings >= count, "{found} of {count}");
        // The first row is read, unless so many others have a time of day that the column is a clock.
        let clock = rows.iter().any(|r| r[0].contains(':'));
        prop_assert!(tally.rows_read >= 1 || clock);
    }

    /// A sound log with some bytes of its rows spoilt: no panic, and not more rows than lines.
    #[test]
    fn spoilt(hits in prop::collection::vec((30_usize..1500, any::<u8>()), 0..20)) {
        let mut bytes = b"Time,Engine coolant temperature [C],RPM\n".to_vec();
        for i in 0..100 {
            bytes.extend_from_slice(format!("{i},{},{}\n", 80 + i % 20, 700 + i).as_bytes());
        }
        for (at, byte) in hits {
            let at = at.min(bytes.len() - 1);
            bytes[at] = byte;
        }
        let lines = bytes.split(|b| matches!(b, b'\n' | b'\r')).count() as u64;
        if let Some(tally) = tally(&bytes) {
            prop_assert!(tally.rows_read + tally.rows_dropped <= lines);
        }
    }
}

fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => (0.0..5000.0).prop_map(|v: f64| format!("{v:.2}")),
        2 => (-50..250).prop_map(|v: i32| v.to_string()),
        1 => (-50..250).prop_map(|v: i32| format!("{v},5")),
        1 => (0..86_400).prop_map(|v: i32| format!("{:02}:{:02}:{:02}", v / 3600, v / 60 % 60, v % 60)),
        1 => prop::sample::select(vec!["", "-", "NaN", "n/a", "24 °C", "75 °F", "text", "1e3", "-40", "1e400", "Â°"])
            .prop_map(String::from),
        1 => ".{0,12}",
    ]
}

/// A drive of a lumped machine: 60 kJ/K, forty minutes moving and forty standing in turn, heat by pace, conductance by pace; coolant read in whole degrees.
fn drive(seed: u64, conductance: [f64; 2], fuel: bool, ambient: f64, hours: f64) -> String {
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
    let mut noise = move || (0..12).map(|_| random.random_range(-0.5..0.5)).sum::<f64>();
    let mut text = String::from(
        "Time [s],Coolant temperature [°C],Engine RPM,Vehicle speed [km/h],Ambient air temperature [°C],Engine fuel rate [L/h]\n",
    );
    let (mut t, mut moving) = (ambient + 60.0, false);
    let mut load = 1.0;
    for second in 0..(hours * 3600.0) as usize {
        if second % 2400 == 0 {
            moving = !moving;
        }
        if second % 60 == 0 {
            load = 1.0 + 0.1 * noise();
        }
        // Petrol and diesel in the middle: 34.3 MJ/L as the study takes it, a quarter of it to the coolant.
        let rate = if moving { 6.0 } else { 2.4 } * load;
        let heat = 0.25 * rate / 3600.0 * 34.259e6;
        let ua = conductance[usize::from(moving)];
        t += (heat - ua * (t - ambient)) / 60e3;
        let told = if fuel {
            format!("{rate:.2}")
        } else {
            String::new()
        };
        let speed = if moving { 90.0 } else { 0.0 };
        writeln!(
            text,
            "{second},{:.0},{},{speed},{ambient},{told}",
            t + 0.2 * noise(),
            800
        )
        .unwrap();
    }
    text
}

#[test]
fn conductances_are_recovered_within_their_intervals() {
    let truth = [80.0, 190.0];
    let (mut held, mut told) = (0, 0);
    for seed in 0..30 {
        let log = read(drive(seed, truth, true, 30.0, 4.0).as_bytes());
        let lines = by_pace(&log, &heat(&log, None), None, all_given_from(&log, None));
        for (pace, truth) in [(Pace::Standing, truth[0]), (Pace::Fast, truth[1])] {
            let line = lines.iter().find(|l| l.pace == pace).unwrap();
            if let Some(i) = line.conductance {
                told += 1;
                held += u32::from((i.mean - truth).abs() <= i.half);
                assert!(
                    (i.mean / truth - 1.0).abs() < 0.1,
                    "{pace:?}: {i:?} for {truth}"
                );
            }
        }
    }
    assert!(told >= 50, "{told}");
    assert!(
        f64::from(held) >= 0.85 * f64::from(told),
        "{held} of {told}"
    );
}

/// Jam, crawl and road in turn, ten minutes each, never at rest for long, with a thermostat that opens from 85 to 95 °C: what the
/// storing of heat does to the conductance must be inside the interval.
#[test]
fn a_thermostat_and_short_turns_do_not_spoil_the_intervals() {
    let (truth, fuel, speed) = ([55.0, 75.0, 200.0], [1.2, 1.6, 6.0], [0, 12, 70]);
    let (mut held, mut told) = (0, 0);
    for seed in 0..20 {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
        let mut text = String::from(
            "Time [s];ECT [°C];Engine RPM;Speed [km/h];Ambient [°C];Fuel rate [L/h]\n",
        );
        let mut t = 25.0_f64;
        for second in 0..10_800 {
            let turn = second / 600 % 3;
            let heat = 0.25 * fuel[turn] / 3600.0 * 34.259e6;
            let open = ((t - 85.0) / 10.0).clamp(0.15, 1.0);
            t += (heat - open * truth[turn] * (t - 33.0)) / 60e3;
            let ambient = 33.0 + random.random_range(-0.5..0.5);
            let (speed, fuel) = (speed[turn], fuel[turn]);
            writeln!(text, "{second};{t:.1};900;{speed};{ambient:.1};{fuel}").unwrap();
        }
        let log = read(text.as_bytes());
        for line in by_pace(&log, &heat(&log, None), None, all_given_from(&log, None)) {
            let truth = match line.pace {
                Pace::Standing => truth[0],
                Pace::Fast => truth[2],
                // Crawling, the thermostat holds: what is told is less than there is.
                _ => continue,
            };
            let i = line.conductance.unwrap();
            told += 1;
            held += u32::from((i.mean - truth).abs() <= i.half);
            assert!((i.mean / truth - 1.0).abs() < 0.1, "{i:?} for {truth}");
        }
    }
    assert!(held * 100 >= told * 85, "{held} of {told}");
}

#[test]
fn hot_standing_and_hot_moving_are_told_apart() {
    // Without fuel: temperatures alone.
    let hot = |log: &Digest| runs_hot(log, all_given_from(log, None)).verdict;
    let standing = read(drive(1, [70.0, 300.0], false, 30.0, 4.0).as_bytes());
    assert!(matches!(hot(&standing), Verdict::Standing(_)));
    let moving = read(drive(2, [150.0, 165.0], false, 30.0, 4.0).as_bytes());
    assert!(matches!(hot(&moving), Verdict::Moving(_)));
    let cool = read(drive(3, [150.0, 320.0], false, 20.0, 3.0).as_bytes());
    assert!(matches!(
        hot(&cool),
        Verdict::Regulated | Verdict::CannotTell(_)
    ));
    assert!(matches!(heat(&standing, None), Heat::Unknown(_)));
}

#[test]
fn a_repair_shows_and_a_cooler_day_does_not() {
    let sick = file(
        "sick.csv",
        drive(4, [70.0, 300.0], true, 30.0, 4.0).as_bytes(),
    );
    let well = file(
        "well.csv",
        drive(5, [85.0, 300.0], true, 30.0, 4.0).as_bytes(),
    );
    let day = file(
        "day.csv",
        drive(6, [70.0, 300.0], true, 20.0, 4.0).as_bytes(),
    );
    let ac = ["--altitude", "0 m"];
    let answer = json(&[&sick, "--compare", &well, ac[0], ac[1]]);
    let compare = &answer["compare"];
    assert_eq!(compare["outcome"], "cooler", "{compare}");
    // By hand: 5.71 kW over 70 W/K is 81.6 K, over 85 W/K 67.2 K, for the standing half; nothing changes moving.
    assert!(compare["effect_k"].as_f64().unwrap() < -3.0);
    let answer = json(&[&sick, "--compare", &day]);
    assert_eq!(
        answer["compare"]["outcome"], "cannot_tell",
        "{}",
        answer["compare"]
    );
    // It was hot enough to show a change, and there is none.
    let answer = json(&[&sick, "--compare", &sick]);
    assert_eq!(answer["compare"]["outcome"], "no_change");
    // Several before and after, and columns that differ after.
    let answer = json(&[
        &sick,
        &sick,
        "--compare",
        &well,
        "--compare",
        &well,
        "--column-after",
        "coolant=2",
    ]);
    assert_eq!(answer["compare"]["outcome"], "cooler");
}

/// Standard input.
#[test]
fn a_dash_is_standard_input() {
    let hot = drive(8, [70.0, 300.0], true, 30.0, 2.0);
    let assert = Command::cargo_bin("oilwheel")
        .unwrap()
        .args(["log", "-", "--json"])
        .write_stdin(hot)
        .assert()
        .code(0);
    let answer: Value = serde_json::from_slice(&assert.get_output().stdout).unwrap();
    assert_eq!(answer["rows_read"], 7200);
    assert_eq!(answer["runs_hot"]["verdict"], "standing");
}

#[test]
fn air_tells_the_fuel_of_a_throttled_engine_alone() {
    let log = |manifold: u32| {
        let mut text = String::from("Time,Coolant,RPM,Vehicle speed,MAF,MAP\n");
        for i in 0..300 {
            writeln!(text, "{i},90,750,0,3.1,{manifold}").unwrap();
        }
        read(text.as_bytes())
    };
    // Common practice: about 30 to 40 kPa at idle behind a throttle, near 100 kPa without one.
    let (petrol, diesel) = (log(35), log(99));
    assert_eq!(heat(&petrol, None), Heat::Air);
    assert!(matches!(heat(&diesel, None), Heat::Unknown(why) if why.contains("throttle")));
    assert_eq!(heat(&diesel, Some(Fuel::Petrol)), Heat::Air);
    assert!(matches!(
        heat(&petrol, Some(Fuel::Diesel)),
        Heat::Unknown(_)
    ));
}

#[test]
fn json_has_its_keys_and_the_files_are_written() {
    let log = file(
        "keys.csv",
        drive(7, [70.0, 300.0], true, 30.0, 2.0).as_bytes(),
    );
    let [csv, svg, html] = ["a.csv", "a.svg", "a.html"].map(|n| file(n, b""));
    let answer = json(&[&log, "--csv", &csv, "--plot", &svg, "--report", &html]);
    for key in [
        "columns",
        "rows_read",
        "rows_dropped",
        "duration_s",
        "peak_coolant_c",
        "episodes",
        "gaps",
    ] {
        assert!(answer.get(key).is_some(), "{key}");
    }
    assert_eq!(answer["rows_read"], 7200);
    assert_eq!(
        answer["columns"]["coolant"]["name"],
        "Coolant temperature [°C]"
    );
    let first = &answer["episodes"][0];
    assert_eq!(
        (&first["doing"], &first["grade"]),
        (&Value::from("standing"), &Value::Null)
    );
    let thresholds = answer["thresholds"].as_array().unwrap();
    let times: Vec<f64> = thresholds
        .iter()
        .map(|t| t["time_s"].as_f64().unwrap())
        .collect();
    assert!(times.windows(2).all(|w| w[0] >= w[1]), "{times:?}");
    assert!(
        std::fs::read_to_string(csv)
            .unwrap()
            .starts_with("time_s,coolant_c")
    );
    for picture in [svg, html] {
        let picture = std::fs::read_to_string(picture).unwrap();
        for axis in ["coolant, °C", "time, min"] {
            assert!(picture.contains(axis), "{axis}");
        }
    }
    let text = program(&["log", &log, "--units", "us"], 0).0;
    for word in ["°F", "Where it runs hot", "licensed workshop", "SAFETY"] {
        assert!(text.contains(word), "{word}\n{text}");
    }
}

/// What the vehicle did while it was hot, in the words that a reader knows.
#[test]
fn episodes_are_spent_standing_crawling_driving_climbing() {
    for (speed, grade, doing) in [
        (0, 0.0, "standing"),
        (10, 0.0, "crawling"),
        (50, 0.0, "driving"),
        (90, 0.0, "driving"),
        (50, 0.06, "climbing"),
        (90, 0.06, "climbing"),
    ] {
        let mut text = String::from("Time,ECT [°C],Engine RPM,Speed [km/h],Altitude [m]\n");
        for i in 0..300 {
            let height = grade * f64::from(i * speed) / 3.6;
            writeln!(text, "{i},101,900,{speed},{height:.1}").unwrap();
        }
        let answer = json(&[&file("doing.csv", text.as_bytes())]);
        assert_eq!(answer["episodes"][0]["doing"], doing, "{speed} {grade}");
    }
}

/// A pass: where an altitude is logged, boiling is counted at it.
#[test]
fn boiling_is_counted_at_the_altitude_that_was_logged() {
    let mut text = String::from("Time,ECT [°C],Altitude [ft]\n");
    for i in 0..300 {
        writeln!(text, "{i},117,{}", 10_000).unwrap();
    }
    let log = file("pass.csv", text.as_bytes());
    let logged = json(&[&log]);
    let said = json(&[&log, "--altitude", "10000 ft"]);
    let sea = json(&[&log, "--altitude", "0 m"]);
    assert_eq!(logged["boiling_low_c"], said["boiling_low_c"]);
    // By hand: 3048 m takes 31 kPa from the air, with a cap of 13 psi a sixth of the pressure: 5 to 7 K.
    let lower = sea["boiling_low_c"].as_f64().unwrap() - logged["boiling_low_c"].as_f64().unwrap();
    assert!((4.0..8.0).contains(&lower), "{lower}");
    let low = logged["boiling_low_c"].as_f64().unwrap();
    let counted = |answer: &Value| {
        let levels = answer["thresholds"].as_array().unwrap().clone();
        levels
            .iter()
            .any(|t| (t["threshold_c"].as_f64().unwrap() - low).abs() < 1e-9)
    };
    assert!(counted(&logged) && !counted(&sea));
}

#[test]
fn bad_logs_are_named_by_line_and_column() {
    let rows = |n: usize, row: &dyn Fn(usize) -> String| (0..n).map(row).collect::<String>();
    for (name, text, code, words) in [
        (
            "none.csv",
            "Time,RPM\n0,700\n1,700\n".into(),
            2,
            &["no column of coolant", "none.csv:1:1", "--column"][..],
        ),
        (
            "blank.csv",
            format!("Time,ECT,RPM\n{}", rows(50, &|i| format!("{i},,700\n"))),
            2,
            &["column 2", "blank"],
        ),
        (
            "back.csv",
            format!("Time,ECT\n{}", rows(50, &|i| format!("{},90\n", 100 - i))),
            2,
            &["backwards", "back.csv:3:1"],
        ),
        ("empty.csv", String::new(), 2, &["the file is empty"]),
        (
            "psi.csv",
            format!("Time,Coolant (psi)\n{}", rows(50, &|i| format!("{i},90\n"))),
            2,
            &["psi.csv:1:2", "`Coolant (psi)`", "`psi`", "temperature"],
        ),
        (
            "commas.csv",
            format!(
                "Time,ECT,RPM\n{}",
                rows(50, &|i| format!("{i},90,5,700,2\n"))
            ),
            2,
            &["line 2", "semicolons"],
        ),
        (
            "noise.csv",
            format!(
                "Time,{}\n{}",
                "é".repeat(500),
                rows(50, &|i| format!("{i},90\n"))
            ),
            2,
            &["no column of coolant", "éé…`"],
        ),
        ("heads.csv", "Time,ECT\n".into(), 2, &["no row"]),
        (
            "text.csv",
            format!("Time,ECT\n{}", rows(9, &|i| format!("{i},warm\n"))),
            2,
            &["text.csv:2:2", "warm"],
        ),
        (
            "ten.csv",
            format!("Time,ECT\n{}", rows(10, &|i| format!("{i},9{i}\n"))),
            0,
            &["short log", "10 rows"],
        ),
        (
            "some.csv",
            format!(
                "Time,ECT\n{}",
                rows(200, &|i| if i == 7 {
                    "7,9o\n".into()
                } else {
                    format!("{i},90\n")
                })
            ),
            0,
            &["Line 9, column 2", "1 row dropped"],
        ),
        (
            "units.csv",
            format!(
                "Time,ECT [°C]\n{}",
                rows(200, &|i| if i == 7 {
                    "7,194 °F\n".into()
                } else {
                    format!("{i},90\n")
                })
            ),
            0,
            &["Line 9, column 2", "the row was kept", "no row dropped"],
        ),
        (
            "unsaid.csv",
            format!(
                "Time,ECT\n{}",
                rows(200, &|i| format!("{i},19{}\n", i % 10))
            ),
            0,
            &["is in °F (in °C it would be too hot for any coolant)."],
        ),
    ] {
        let path = file(name, text.as_bytes());
        let (out, err) = program(&["log", &path], code);
        let said = if code == 0 { out } else { err }.replace('\n', " ");
        for word in words {
            assert!(said.contains(word), "{name}: {word}\n{said}");
        }
        assert!(!said.contains("panicked"), "{said}");
    }
    for (flag, value) in [
        ("--cap", "13 apples"),
        ("--glycol", "90 %"),
        ("--fuel", "coal"),
        ("--column", "coolant=X"),
    ] {
        let path = file("good.csv", b"Time,ECT\n0,90\n1,90\n");
        let said = program(&["log", &path, flag, value], 2).1;
        assert!(said.contains(flag), "{flag}: {said}");
    }
    let said = program(&["log", "no-such-file.csv"], 2).1;
    assert!(said.contains("no-such-file.csv"), "{said}");
}

/// What belongs to another field is refused without it, and named as it was typed.
#[test]
fn fields_that_belong_together_are_asked_for_together() {
    let path = file("alone.csv", b"Time,ECT\n0,90\n1,90\n");
    for (flag, value, other) in [
        ("--oil", "iso-vg-32", "--machine"),
        ("--set", "pump.ratio=1.4", "--machine"),
        ("--with", "worn-pump=0.4", "--machine"),
        ("--ambient-after", "20 C", "--compare"),
        ("--column-after", "coolant=ECT", "--compare"),
    ] {
        let said = program(&["log", &path, flag, value], 2).1;
        assert!(said.contains(&format!("{flag} without {other}")), "{said}");
    }
}

/// A folder: each log in a row, those that run hot first; one that cannot be read says why and spoils none of the others.
#[test]
fn several_logs_stand_in_a_table() {
    let sick = drive(8, [70.0, 300.0], true, 30.0, 2.0);
    let cool = drive(9, [150.0, 320.0], true, 20.0, 2.0);
    let folder = std::env::temp_dir().join(format!("oilwheel-logs-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    for (name, text) in [
        ("a.csv", &cool),
        ("b.csv", &sick),
        ("c.csv", &"Time,RPM\n0,700\n1,700\n".into()),
        ("d.json", &"[{\"time\": 0}]".into()),
    ] {
        std::fs::write(folder.join(name), text).unwrap();
    }
    let answer = json(&[&folder.to_string_lossy(), "--glycol", "40 %"]);
    let logs = answer["logs"].as_array().unwrap();
    let of = |at: usize, key: &str| logs[at][key].as_str().unwrap().to_string();
    assert!(
        of(0, "log").ends_with("b.csv") && of(0, "verdict") == "standing",
        "{answer}"
    );
    assert!(
        of(1, "log").ends_with("a.csv") && of(1, "verdict") != "standing",
        "{answer}"
    );
    assert!(
        of(2, "log").ends_with("c.csv") && of(2, "verdict") == "not_read",
        "{answer}"
    );
    assert!(of(3, "log").ends_with("d.json") && of(3, "verdict") == "not_read");
    assert!(logs[2]["troubles"][0].as_str().unwrap().contains("coolant"));
    // What says nothing to a table is said to.
    let caution = &answer["cautions"][0];
    assert_eq!(caution["key"], "no_effect");
    assert!(caution["words"].as_str().unwrap().contains("--glycol"));
    let paths = ["a.csv", "b.csv"].map(|n| folder.join(n).to_string_lossy().into_owned());
    let text = program(&["log", &paths[0], &paths[1]], 0).0;
    assert!(
        text.contains("The engine runs hot in 1 of 2 logs that could be read."),
        "{text}"
    );
    // The same logs, one after a repair.
    let answer = json(&[&paths[1], "--compare", &paths[0]]);
    // Neither holds a pace for long enough to compare them.
    assert_eq!(answer["compare"]["outcome"], "cannot_tell", "{answer}");
}

/// A guess is told with what it may be otherwise and the flag that decides; with that flag it is no guess, and °C become °F.
#[test]
fn a_guess_is_told_with_what_decides_it() {
    let rows: String = (0..200).map(|i| format!("{i},{}\n", 85 + i % 3)).collect();
    let path = file("guess.csv", format!("Time [s],ECT\n{rows}").as_bytes());
    let setting = "--column \"coolant=2 [°F]\"";
    let text = program(&["log", &path], 0).0.replace('\n', " ");
    let line =
        format!("coolant temperature is in °C. If that is wrong (°F instead), enter {setting}");
    assert!(text.contains(&line), "{text}");
    let answer = json(&[&path]);
    let guess = &answer["guesses"][0];
    assert_eq!(
        (&guess["what"], &guess["signal"]),
        (&"unit".into(), &"coolant".into())
    );
    let decided = json(&[&path, "--column", "coolant=2 [°F]"]);
    assert_eq!(decided["guesses"], Value::Array(Vec::new()));
    // By hand: 87 °F is 30.6 °C.
    let peak = decided["peak_coolant_c"].as_f64().unwrap();
    assert!((peak - (87.0 - 32.0) / 1.8).abs() < 1e-9, "{peak}");
}

/// Logs that were sent: no file is touched; a log is read once, though its altitude moves the boiling point, unless it came as far
/// as that; and nothing is read once nobody waits.
#[test]
fn a_log_that_was_sent_is_read_until_nobody_waits() {
    let stop = Stop::able();
    let asked = |coolant: u32, opened: &Arc<AtomicUsize>| {
        let mut text = String::from("Time,ECT [°C],Altitude [m]\n");
        for i in 0..300 {
            writeln!(text, "{i},{coolant},1800").unwrap();
        }
        let counted = Arc::clone(opened);
        let open: Open = Arc::new(move |name: &str| {
            assert_eq!(name, "your log");
            counted.fetch_add(1, Ordering::Relaxed);
            Ok(Box::new(std::io::Cursor::new(text.clone())))
        });
        let mut values = Values::new(Units::Si, Lookup::LibraryOnly);
        values.push("log", "your log");
        values.open = Some(open);
        values.stop = stop.clone();
        Log::read(&values).map_err(|t| t[0].to_string()).unwrap()
    };
    let found = |request: &Log| match request.answer().unwrap() {
        Finding::One(found) => found,
        Finding::Several(_) => panic!("one log is no table"),
    };
    // 128 °C lies between where it begins to boil at 1800 m and where it does at the sea.
    for (coolant, times, above) in [(95, 1, 0.0), (128, 2, 299.0)] {
        let opened = Arc::new(AtomicUsize::new(0));
        let found = found(&asked(coolant, &opened));
        assert!(found.altitude_logged && (found.filling.altitude - 1800.0).abs() < 1e-9);
        assert_eq!(opened.load(Ordering::Relaxed), times, "{coolant}");
        let levels = &found.drive.0.thresholds;
        let mut boils = levels.iter();
        let level = boils.find(|l| (l.threshold - found.boiling_low).abs() < 1e-6);
        let level = level.unwrap();
        assert!(
            (level.time - above).abs() < 1e-6,
            "{coolant}: {}",
            level.time
        );
    }
    let request = asked(95, &Arc::default());
    stop.stop();
    let said = request.answer().map(|_| ()).unwrap_err();
    assert!(said[0].found.contains("cancelled"), "{said:?}");
    // Without anything that opens it, or without a log, nothing is read.
    let mut none = Values::new(Units::Si, Lookup::LibraryOnly);
    let said = Log::read(&none).map(|_| ()).unwrap_err();
    assert_eq!(
        (said[0].found.as_str(), said[0].spot.field.as_str()),
        ("no log yet", "log")
    );
    none.push("log", "/etc/hostname");
    assert!(Log::read(&none).is_err());
}

/// Real logs and their descriptions, where the folder is there: each log's section of its `SOURCE.md`.
fn real() -> Vec<(PathBuf, String)> {
    let project = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let beside = || project.join("../shared/logs");
    let folder = std::env::var_os("OILWHEEL_LOGS").map_or_else(beside, PathBuf::from);
    let described = std::fs::read_to_string(folder.join("SOURCE.md")).unwrap_or_default();
    let sections = described.split("\n# ").map(|s| s.trim_start_matches("# "));
    let found: Vec<(PathBuf, String)> = sections
        .filter_map(|s| s.split_once('\n'))
        .map(|(name, text)| (folder.join(name.trim()), text.replace('\n', " ")))
        .filter(|(path, _)| path.is_file())
        .collect();
    if found.is_empty() {
        eprintln!(
            "SKIPPED: no real log with its SOURCE.md in {}; OILWHEEL_LOGS names another folder",
            folder.display()
        );
    }
    found
}

/// The number that stands in a text before some words: `a 604 s gap`.
fn told(text: &str, words: &str) -> f64 {
    let before = text.split(words).next().filter(|b| b.len() < text.len());
    let number = before.and_then(|b| b.split([' ', '(']).next_back());
    let number = number.unwrap_or_else(|| panic!("`{words}` in {text}"));
    number.replace(',', "").parse().unwrap()
}

/// What its collector says of a log must come out: how long it is, its gap, how often the engine was at rest, the intake air that is
/// not usable as ambient, that no throttle holds its air to its fuel. Rows and peak are counted here, by hand.
#[test]
fn real_logs_come_out_as_they_are_described() {
    for (path, described) in real() {
        let answer = json(&[&path.to_string_lossy()]);
        let number = |key: &str| answer[key].as_f64().unwrap();
        let bytes = std::fs::read(&path).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        let rows = || {
            text.lines()
                .skip(1)
                .map(|l| l.split(',').collect::<Vec<_>>())
        };
        assert_eq!(answer["rows_read"], rows().count());
        assert_eq!(answer["rows_dropped"], 0);
        let column = answer["columns"]["coolant"]["column"].as_u64().unwrap() as usize - 1;
        let heads: Vec<&str> = text.lines().next().unwrap().split(',').collect();
        assert!(heads[column].contains("Coolant Temperature"), "{heads:?}");
        let peak = rows()
            .filter_map(|r| r[column].parse().ok())
            .fold(0.0, f64::max);
        assert!((number("peak_coolant_c") - peak).abs() < 1e-6);

        let long = told(&described, " s. ");
        assert!((number("duration_s") - long).abs() < 1.0);
        assert_eq!(answer["gap_count"], 1);
        let gap = answer["gaps"][0]["duration_s"].as_f64().unwrap();
        assert!((gap - told(&described, " s gap")).abs() < 1.0, "{gap}");
        let rest = told(&described, " % of rows") / 100.0;
        assert!((number("engine_off_share") - rest).abs() < 0.005);
        // A thermostat holds a warm engine: 80 to 95 °C where it opens (common practice).
        assert!((80.0..95.0).contains(&number("plateau_c")));
        assert_eq!(answer["episodes"].as_array().unwrap().len(), 0);
        assert_eq!(answer["where_hot"], "nowhere");
        let coolant = &answer["columns"]["coolant"];
        let unit = (&coolant["unit"], &coolant["unit_guessed"]);
        assert_eq!(unit, (&Value::from("°C"), &Value::from(false)));
        assert!(described.contains("useless as ambient"));
        let intake = format!(
            "{} °C. That cannot be the ambient",
            told(&described, " °C with")
        );
        let said = answer["cautions"].to_string();
        assert!(said.contains(&intake), "{intake}: {said}");
        assert!(described.contains("unthrottled"));
        assert_eq!(answer["heat_from"], "unknown");
        let why = answer["heat_unknown_because"].as_str().unwrap();
        assert!(why.contains("throttle"), "{why}");
    }
}

/// Bytes of a log that is made as it is read.
struct Made {
    left: u64,
    row: u64,
    held: Vec<u8>,
    from: usize,
}

impl Made {
    fn of(bytes: u64) -> Self {
        Self {
            left: bytes,
            row: 0,
            held: b"Time,Engine Coolant Temperature [C],Engine RPM,Vehicle Speed [km/h],Ambient Air Temperature [C],MAF [g/s]\n".to_vec(),
            from: 0,
        }
    }
}

impl std::io::Read for Made {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        if self.from == self.held.len() {
            if self.left == 0 {
                return Ok(0);
            }
            self.held.clear();
            self.from = 0;
            for _ in 0..500 {
                let i = self.row;
                let line = format!(
                    "{}.{},{},{},{},25,{}.{}\n",
                    i / 10,
                    i % 10,
                    85 + i / 600 % 20,
                    700 + i % 2000,
                    i / 100 % 120,
                    3 + i % 20,
                    i % 10
                );
                self.held.extend_from_slice(line.as_bytes());
                self.row += 1;
            }
            self.left = self.left.saturating_sub(self.held.len() as u64);
        }
        let n = out.len().min(self.held.len() - self.from);
        out[..n].copy_from_slice(&self.held[self.from..self.from + n]);
        self.from += n;
        Ok(n)
    }
}

/// The most memory that this process held, bytes.
fn most_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM"))?;
    line.split_whitespace()
        .nth(1)?
        .parse::<u64>()
        .ok()
        .map(|k| k * 1024)
}

/// A long log takes no more memory than a short one. `OILWHEEL_LOG_MB=100` makes it long.
#[test]
fn memory_stays_flat() {
    let megabytes = std::env::var("OILWHEEL_LOG_MB")
        .ok()
        .and_then(|m| m.parse().ok())
        .unwrap_or(8_u64);
    let run = |bytes| {
        let log = digest(
            || Ok(Made::of(bytes)),
            "made",
            &Choices::default(),
            &LEVELS,
            &mut |_| {},
        )
        .unwrap();
        assert_eq!(log.tally.rows_dropped, 0);
        assert!(log.tally.seen[Signal::Coolant as usize].readings == log.tally.rows_read);
        log.tally.rows_read
    };
    let short = run(2 << 20);
    let before = most_memory();
    let long = run(megabytes << 20);
    assert!(long > 3 * short);
    // Other tests run in this process too, so the bound is a tenth of a long log, not nothing.
    if let (Some(before), Some(after)) = (before, most_memory())
        && megabytes >= 100
    {
        assert!(
            after - before < (megabytes << 20) / 10,
            "{before} to {after}"
        );
    }
}
