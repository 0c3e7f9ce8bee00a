//! Ways in which a log was read wrongly without a word, each as a family.

use super::{LEVELS, json, read};
use oilwheel::model::log::{Choices, Signal};
use oilwheel::vary::log::{Digest, Doubt, digest};
use rand::{RngExt, SeedableRng};
use std::fmt::Write as _;
use std::io::Read;

fn rows(many: usize, row: impl Fn(usize) -> String) -> String {
    (0..many).map(row).collect()
}

fn peak(log: &Digest) -> f64 {
    log.exposure.peak.unwrap().0 - 273.15
}

fn refused(text: &[u8], choices: &Choices) -> String {
    let read = digest(|| Ok(text), "log.csv", choices, &LEVELS, &mut |_| {});
    let troubles = read.expect_err("it was read");
    troubles.iter().map(ToString::to_string).collect()
}

/// A second heading in the midst of a file: in the same order, in another, with a row of units, without a coolant.
#[test]
fn a_further_session_is_laid_out_anew() {
    let first = rows(50, |i| format!("{i},90,800\n"));
    for (head, row) in [
        ("Time,ECT [C],RPM\n", "{i},112,800\n"),
        ("Time,RPM,ECT [C]\n", "{i},800,112\n"),
        ("RPM,Time,ECT\nrpm,s,°F\n", "800,{i},233.6\n"),
        ("\nTime,Load,ECT [C],RPM\n", "{i},20,112,800\n"),
    ] {
        let second = rows(50, |i| row.replace("{i}", &i.to_string()));
        let log = read(format!("Time,ECT [C],RPM\n{first}{head}{second}").as_bytes());
        assert!((peak(&log) - 112.0).abs() < 0.01, "{head}: {}", peak(&log));
        assert_eq!(
            (log.tally.rows_read, log.tally.rows_dropped),
            (100, 0),
            "{head}"
        );
        assert_eq!(log.tally.sessions.len(), 1, "{head}");
        let engine = log.tally.seen[Signal::EngineSpeed as usize];
        assert!(
            (engine.most - engine.least).abs() < 1e-9,
            "{head}: {engine:?}"
        );
    }
    let without = rows(50, |i| format!("{i},700\n"));
    let log = read(format!("Time,ECT [C],RPM\n{first}Time,RPM\n{without}").as_bytes());
    assert!(!log.tally.sessions[0].coolant);
}

/// Minutes and seconds, milliseconds, microseconds, and slow rows that are none of them.
#[test]
fn the_scale_of_time_is_told_or_guessed_by_what_can_be() {
    for (head, row, long) in [
        (
            "Time",
            (|i| format!("{:02}:{:02}", i / 60, i % 60)) as fn(usize) -> String,
            3599.0,
        ),
        (
            "Time",
            |i| format!("{:02}:{:02}", 20 + i / 60, i % 60),
            3599.0,
        ),
        (
            "Time",
            |i| format!("{:02}:{:02}", (8 + i / 60) % 24, i % 60),
            3599.0 * 60.0,
        ),
        ("Time", |i| format!("{}", i * 100), 359.9),
        ("millis", |i| format!("{}", i * 1000), 3599.0),
        ("Time", |i| format!("{}", i * 100_000), 359.9),
        ("Time", |i| format!("{i}"), 3599.0),
        ("Time", |i| format!("{:.1}", i as f64 / 10.0), 359.9),
    ] {
        let log =
            read(format!("{head},ECT\n{}", rows(3600, |i| format!("{},90\n", row(i)))).as_bytes());
        assert!(
            (log.tally.duration - long).abs() < 0.2,
            "{} … : {}",
            row(1),
            log.tally.duration
        );
    }
    // A row a minute, with a coolant that warms up within 20 rows: in milliseconds no engine does.
    let log = read(
        format!(
            "Time,ECT\n{}",
            rows(60, |i| format!("{},{}\n", i * 60, (20 + 4 * i).min(90)))
        )
        .as_bytes(),
    );
    assert!(
        (log.tally.duration - 3540.0).abs() < 1e-6,
        "{}",
        log.tally.duration
    );
}

/// Stamps that a spreadsheet cut to six figures, and one that never changes.
#[test]
fn a_destroyed_column_of_time_is_refused_with_another_named() {
    for stamp in ["\"1,51336E+12\"", "1.51336E+12", "17"] {
        let text = format!(
            "Time,ECT,Engine RPM,Laps\n{}",
            rows(120, |i| format!("{stamp},{},800,{i}\n", 80 + i % 20))
        );
        let said = refused(text.as_bytes(), &Choices::default());
        assert!(said.contains("repeat") && said.contains("`Laps`"), "{said}");
    }
    let steps = rows(300, |i| {
        format!(
            "{},{},800\n",
            1.51336e12 + (i / 100) as f64 * 1e7,
            80 + i % 20
        )
    });
    let said = refused(
        format!("Time,ECT,Engine RPM\n{steps}").as_bytes(),
        &Choices::default(),
    );
    assert!(
        said.contains("repeat") && said.contains("every \"1 s\""),
        "{said}"
    );
    // Ten rows a second with stamps of whole seconds are sound.
    let log = read(format!("Time,ECT\n{}", rows(600, |i| format!("{},90\n", i / 10))).as_bytes());
    assert!((log.tally.duration - 59.0).abs() < 1e-9);
}

/// Units and words that show that a column carries something else.
#[test]
fn what_is_no_reading_of_the_signal_is_not_taken() {
    for other in [
        "Engine coolant temp (V)",
        "Coolant temp sensor voltage",
        "Coolant temp [mV]",
        "Coolant temperature sensor raw",
        "Coolant temp (counts)",
        "ECT [widgets]",
    ] {
        let log = read(
            format!(
                "Time,{other},ECT [C]\n{}",
                rows(50, |i| format!("{i},1.2,9{}\n", i % 10))
            )
            .as_bytes(),
        );
        assert!((peak(&log) - 99.0).abs() < 0.01, "{other}: {}", peak(&log));
        let said = refused(
            format!("Time,{other}\n0,1.2\n1,1.2\n").as_bytes(),
            &Choices::default(),
        );
        assert!(
            said.contains("coolant") || said.contains("a temperature"),
            "{other}: {said}"
        );
    }
    let log = read(
        format!(
            "Time,ECT [C],Calculated Load (g/rev)\n{}",
            rows(50, |i| format!("{i},90,0.8\n"))
        )
        .as_bytes(),
    );
    assert!(!log.knows(Signal::Load));
}

/// Zeros before a link is up, and zeros in its midst.
#[test]
fn a_row_of_zeros_is_no_reading() {
    for (from, to) in [(0, 30), (100, 130), (0, 1)] {
        let row = |i| match i {
            i if (from..to).contains(&i) => format!("{i},0,0,0,0\n"),
            _ => format!("{i},82,800,0,25\n"),
        };
        let log = read(
            format!(
                "Time,ECT [C],Engine RPM,Speed [km/h],Ambient air temp [C]\n{}",
                rows(300, row)
            )
            .as_bytes(),
        );
        let seen = log.tally.seen[Signal::Coolant as usize];
        assert!(
            (seen.least - 273.15 - 82.0).abs() < 0.01,
            "{from}: {seen:?}"
        );
        assert_eq!(log.tally.placeholders, (to - from) as u64);
        assert!(log.rise().is_none(), "{:?}", log.rise());
    }
}

/// Noise tells nothing, and says so.
#[test]
fn many_drop_outs_withdraw_the_verdict() {
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
    let mut text = String::from("Time,ECT [C],Engine RPM,Speed [km/h]\n");
    for i in 0..600 {
        let (t, n) = (
            random.random_range(-40..216),
            random.random_range(0..16_369),
        );
        writeln!(text, "{i},{t},{n},{}", random.random_range(0..256)).unwrap();
    }
    let log = read(text.as_bytes());
    assert!(log.withdrawn(), "{:?}", log.doubts());
    assert!(
        log.doubts()
            .iter()
            .any(|d| matches!(d, Doubt::Impossible(Signal::EngineSpeed, _)))
    );
    let answer = json(&[&super::file("withdrawn.csv", text.as_bytes())]);
    assert_eq!(answer["verdict_withdrawn"], true);
    assert_eq!(answer["runs_hot"]["verdict"], "cannot_tell");
    assert_eq!(answer["where_hot"], "cannot_tell");
    // A few drop-outs withdraw nothing.
    let few = rows(600, |i| {
        format!("{i},{},800,0\n", if i % 100 == 50 { 215 } else { 90 })
    });
    let log = read(format!("Time,ECT [C],Engine RPM,Speed [km/h]\n{few}").as_bytes());
    assert!(
        !log.withdrawn() && log.tally.dropouts == 6,
        "{:?}",
        log.doubts()
    );
}

/// One stamp, or a few in a row, far ahead of the rest; at the start of a gap none is.
#[test]
fn a_stamp_in_the_future_is_dropped() {
    for many in [1, 3] {
        let text = rows(600, |i| {
            let ahead = (300..300 + many).contains(&i);
            format!("{},90\n", if ahead { 1_000_000_000 + i } else { i })
        });
        let log = read(format!("Time [s],ECT\n{text}").as_bytes());
        assert!(
            (log.tally.duration - 599.0).abs() < 1e-9,
            "{}",
            log.tally.duration
        );
        assert_eq!((log.tally.ahead, log.tally.gap_count), (many as u64, 0));
    }
    let dated = rows(60, |i| {
        format!(
            "20{}-05-01 08:00:{i:02},90\n",
            if i == 30 { 56 } else { 24 }
        )
    });
    let log = read(format!("Time,ECT\n{dated}").as_bytes());
    assert!(
        (log.tally.duration - 59.0).abs() < 1e-9,
        "{}",
        log.tally.duration
    );
    let parked = rows(600, |i| {
        format!("{},90\n", if i < 300 { i } else { 3000 + i })
    });
    let log = read(format!("Time [s],ECT\n{parked}").as_bytes());
    assert_eq!(
        (log.tally.rows_read, log.tally.gap_count, log.tally.ahead),
        (600, 1, 0)
    );
}

/// Thousands are parted in some cells of a column, in all of them, by a comma, a point, an apostrophe.
#[test]
fn thousands_are_settled_by_the_column() {
    let rpm = |log: &Digest| {
        let seen = log.tally.seen[Signal::EngineSpeed as usize];
        [seen.least, seen.most].map(|v| (v * 30.0 / std::f64::consts::PI).round() as i64)
    };
    for (separator, low, high) in [
        (",", "960", "\"1,450\""),
        (";", "960", "1,450"),
        (";", "960", "1.450"),
        (";", "960", "1'450"),
        (";", "960", "1\u{a0}450"),
    ] {
        let text = rows(60, |i| {
            format!(
                "{i}{separator}90{separator}{}\n",
                if i % 2 == 0 { low } else { high }
            )
        });
        let log = read(format!("Time{separator}ECT{separator}RPM\n{text}").as_bytes());
        assert_eq!(rpm(&log), [960, 1450], "{high}");
    }
    // Every cell above a thousand, and decimals elsewhere: what an engine can turn settles it, and that is a guess.
    let text = rows(60, |i| format!("{i};90;1,{}50\n", i % 9 + 1));
    let log = read(format!("Time;ECT;RPM\n{text}").as_bytes());
    assert_eq!(rpm(&log), [1150, 1950]);
    assert!(
        log.layout
            .guesses
            .iter()
            .any(|g| g.field == Some("decimal")),
        "{:?}",
        log.layout.guesses
    );
    let decimals = Choices {
        decimal: Some(b','),
        ..Choices::default()
    };
    let said = digest(
        || {
            Ok(std::io::Cursor::new(
                format!("Time;ECT;RPM\n{text}").into_bytes(),
            ))
        },
        "log.csv",
        &decimals,
        &LEVELS,
        &mut |_| {},
    );
    assert_eq!(rpm(&said.unwrap())[1], 2);
}

/// A number says which column, and is no heading; a label that is not there is none either.
#[test]
fn a_number_is_a_place_and_no_heading() {
    // A row of words among which the numbers 1, 2 and 3 stand.
    let text = format!(
        "x,A,B,Mode,Gear,Note,Place\n{}",
        rows(60, |i| match i {
            0 => "1,2,3,eco,drive,ok,town\n".into(),
            i => format!("{},90,800,eco,drive,ok,town\n", i + 1),
        })
    );
    let choices = Choices {
        columns: ["time=1", "coolant=2", "engine-speed=3"]
            .map(String::from)
            .to_vec(),
        ..Choices::default()
    };
    let log = digest(
        || Ok(text.as_bytes()),
        "log.csv",
        &choices,
        &LEVELS,
        &mut |_| {},
    )
    .unwrap();
    assert_eq!(
        (log.tally.rows_read, log.layout.heads[1].as_str()),
        (60, "A")
    );
}

/// A column that is blank gives way to one that is filled, whichever comes first.
#[test]
fn a_blank_column_gives_way_to_a_filled_one() {
    for (head, blank_first) in [
        ("Engine coolant temperature [C],ECT [C]", true),
        ("ECT [C],Engine coolant temperature [C]", false),
    ] {
        let text = rows(60, |i| {
            if blank_first {
                format!("{i},,91\n")
            } else {
                format!("{i},91,\n")
            }
        });
        let log = read(format!("Time,{head}\n{text}").as_bytes());
        assert!((peak(&log) - 91.0).abs() < 0.01, "{head}");
    }
}

/// A quoted cell over two lines; a quote that is never closed; a line without an end.
#[test]
fn strange_files_are_read_or_named_and_never_held() {
    let text = format!(
        "Time,ECT,Note\n0,90,\"two\nlines\"\n{}",
        rows(60, |i| format!("{},90,\n", i + 1))
    );
    let log = read(text.as_bytes());
    assert_eq!(
        (log.tally.rows_read, log.tally.rows_dropped),
        (61, 0),
        "{:?}",
        log.tally.mistakes
    );
    let open = || {
        let head = std::io::Cursor::new(b"Time,ECT\n0,90\n1,90\n2,".to_vec());
        Ok(head.chain(std::io::repeat(b'9').take(300 << 20)))
    };
    let said = digest(open, "log.csv", &Choices::default(), &LEVELS, &mut |_| {});
    let said = said.expect_err("it was read")[0].to_string();
    assert!(said.contains("does not end"), "{said}");
}

/// A column that may tell the time is named before rows are counted in its place.
#[test]
fn a_column_that_may_tell_the_time_is_named() {
    let text = format!(
        "Sample at,ECT,RPM\n{}",
        rows(60, |i| format!("{},90,800\n", i * 2))
    );
    let said = refused(text.as_bytes(), &Choices::default());
    assert!(
        said.contains("`Sample at`") && said.contains("column time=1"),
        "{said}"
    );
    let log = read(
        format!(
            "ENGINE_RUN_TINE (),COOLANT_TEMPERATURE ()\n{}",
            rows(60, |i| format!("{},90\n", i / 2))
        )
        .as_bytes(),
    );
    assert!((log.tally.duration - 29.0).abs() < 1e-9);
}

/// Rows each second: how long, s, road speed in km/h, and where the coolant goes, °C, and how soon, s.
fn road(parts: &[(f64, f64, f64, f64)], from: f64) -> String {
    let mut text = String::from("Time (s),Coolant (°C),RPM,Vehicle speed (km/h)\n");
    let (mut t, mut second) = (from, 0);
    for (long, speed, to, soon) in parts {
        for _ in 0..*long as usize {
            t += (to - t) / soon;
            let rpm = if *speed > 0.0 { 1900 } else { 700 };
            writeln!(text, "{second},{t:.0},{rpm},{speed}").unwrap();
            second += 1;
        }
    }
    text
}

/// Hot at standstill only: whether it started cold or warm, with a dip on the way, with one stop or two, the largest climb is
/// that of the stop of ten minutes from 90 °C upwards, and every part of the answer says the same. By hand: from 90 °C towards
/// 112 °C with a time constant of 4 min, 110.2 °C is reached in ten minutes.
#[test]
fn hot_at_stops_only_is_hot_at_standstill() {
    let drive = (1200.0, 70.0, 90.0, 100.0);
    let (stop, cools) = ((600.0, 0.0, 112.0, 240.0), (900.0, 70.0, 90.0, 120.0));
    let dip = [
        (600.0, 70.0, 90.0, 100.0),
        (120.0, 70.0, 86.5, 10.0),
        (480.0, 70.0, 90.0, 20.0),
    ];
    let short = [
        (240.0, 70.0, 90.0, 300.0),
        (360.0, 0.0, 112.0, 240.0),
        (300.0, 70.0, 90.0, 120.0),
    ];
    for (name, from, parts) in [
        ("cold", 20.0, vec![drive, stop, cools]),
        ("warm", 90.0, vec![drive, stop, cools]),
        ("dip", 20.0, [&dip[..], &[stop, cools]].concat()),
        ("two", 20.0, [&[drive, stop], &short[..]].concat()),
        (
            "faster",
            20.0,
            vec![drive, (600.0, 90.0, 91.4, 30.0), stop, cools],
        ),
    ] {
        let path = super::file(&format!("{name}.csv"), road(&parts, from).as_bytes());
        let answer = json(&[&path]);
        assert_eq!(answer["runs_hot"]["verdict"], "standing", "{name}");
        assert_eq!(answer["where_hot"], "standing", "{name}");
        let rise = &answer["runs_hot"]["climbs"][0]["rise"];
        let number = |key: &str| rise[key].as_f64().unwrap();
        assert!((number("from_c") - 90.5).abs() <= 1.0, "{name}: {rise}");
        assert!((number("to_c") - 110.0).abs() <= 1.0, "{name}: {rise}");
        let begins: f64 = parts.iter().take_while(|p| p.1 > 0.0).map(|p| p.0).sum();
        let ends = number("from_s") + number("duration_s");
        assert!(number("from_s") >= begins - 1.0, "{name}: {rise}");
        assert!(ends <= begins + 600.0, "{name}: {rise}");
        let text = super::program(&["log", &path], 0).0;
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let stops = parts.iter().filter(|p| p.1 <= 0.0).count();
        let said = match stops {
            1 => "It probably runs hot at standstill.",
            _ => "It runs hot at standstill.",
        };
        assert!(
            text.starts_with(said) && text.contains("What to check next: the fan"),
            "{text}"
        );
    }
}

/// From cold to 110 °C at standstill, then on the move: still hot from the stop, not hot on the move.
#[test]
fn what_cools_on_the_move_is_not_hot_on_the_move() {
    let parts = [(900.0, 0.0, 112.0, 200.0), (720.0, 70.0, 90.0, 120.0)];
    let path = super::file("idle.csv", road(&parts, 20.0).as_bytes());
    let answer = json(&[&path]);
    assert!(["standing", "cannot_tell"].contains(&answer["where_hot"].as_str().unwrap()));
    assert_eq!(answer["where_hot"], answer["runs_hot"]["verdict"]);
}
