//! Further ways in which a log was read or judged wrongly without a word; worked out by hand.

use super::{file, json, program, read};
use oilwheel::model::log::{Guessed, Signal};
use oilwheel::vary::log::{Digest, RunsHot, Verdict, all_given_from};
use std::fmt::Write as _;

fn rows(many: usize, row: impl Fn(usize) -> String) -> String {
    (0..many).map(row).collect()
}

fn peak(log: &Digest) -> f64 {
    log.exposure.peak.unwrap().0 - 273.15
}

fn runs_hot(log: &Digest) -> RunsHot {
    oilwheel::vary::log::runs_hot(log, all_given_from(log, None))
}

fn says(name: &str, text: &str, more: &[&str]) -> String {
    let path = file(name, text.as_bytes());
    let args: Vec<&str> = ["log", &path].iter().chain(more).copied().collect();
    let said = program(&args, 0).0;
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The first sign of thousands comes long after the rows from which the layout is found: in a reading, in the time, in a row of
/// one reading; and a decimal mark that comes as late stays one.
#[test]
fn the_first_point_or_comma_may_come_late() {
    for (separator, high) in [
        (",", "\"1,450\""),
        (";", "1,450"),
        (";", "1.450"),
        ("\t", "1,450"),
    ] {
        let text = rows(1200, |i| {
            let rpm = if i < 600 { "800" } else { high };
            format!("{i}{separator}90{separator}{rpm}\n")
        });
        let log = read(format!("Time [s]{separator}ECT [C]{separator}RPM\n{text}").as_bytes());
        let rpm = log.tally.seen[Signal::EngineSpeed as usize].most * 30.0 / std::f64::consts::PI;
        assert!((rpm - 1450.0).abs() < 1e-6, "{separator} {high}: {rpm}");
        assert_eq!(log.tally.rows_dropped, 0);
        let guessed = log
            .layout
            .guesses
            .iter()
            .any(|g| g.what == Guessed::Marks(Signal::EngineSpeed));
        assert_eq!(guessed, separator != ",", "{:?}", log.layout.guesses);
    }
    for (separator, quote, sign) in [(",", "\"", ","), (";", "", "."), (";", "", ",")] {
        let text = rows(3000, |i| match i {
            i if i < 1000 => format!("{quote}{i}{quote}{separator}90\n"),
            i => format!(
                "{quote}{}{sign}{:03}{quote}{separator}90\n",
                i / 1000,
                i % 1000
            ),
        });
        let log = read(format!("Time [s]{separator}ECT [C]\n{text}").as_bytes());
        assert!(
            (log.tally.duration - 2999.0).abs() < 1e-9,
            "{sign}: {}",
            log.tally.duration
        );
    }
    for (separator, late) in [
        (",", "90.125"),
        (";", "90,125"),
        (";", "90,5"),
        (",", "\"90,5\""),
    ] {
        let text = rows(1200, |i| {
            let t = if i < 600 { "90" } else { late };
            format!("{i}{separator}{t}\n")
        });
        let log = read(format!("Time [s]{separator}ECT [C]\n{text}").as_bytes());
        assert!((90.1..90.6).contains(&peak(&log)), "{late}: {}", peak(&log));
        assert_eq!(log.tally.rows_dropped, 0, "{late}");
    }
}

/// A clock that was not set yet at the start, or a stamp of another year at the end; a real pause of days stays.
#[test]
fn a_few_stamps_days_apart_at_either_end_are_dropped() {
    for few in [1, 3, 5] {
        let text = rows(600, |i| {
            let t = if i >= 600 - few { 1_000_000_000 + i } else { i };
            format!("{t},90\n")
        });
        let log = read(format!("Time [s],ECT\n{text}").as_bytes());
        assert_eq!((log.tally.ahead, log.tally.gap_count), (few as u64, 0));
        assert!((log.tally.duration - (599 - few) as f64).abs() < 1e-9);
        for (begin, unit) in [(1_714_550_000_i64, 1), (1_714_550_000_000, 1000)] {
            let text = rows(600, |i| {
                let t = if i < few { 0 } else { begin };
                format!("{},90\n", t + i as i64 * unit)
            });
            let log = read(format!("Time,ECT\n{text}").as_bytes());
            assert_eq!(
                (log.tally.ahead, log.tally.rows_read),
                (few as u64, 600 - few as u64)
            );
            assert!(
                (log.tally.duration - (599 - few) as f64).abs() < 1e-6,
                "{}",
                log.tally.duration
            );
        }
        let text = rows(600, |i| {
            let year = if i < few { "1970-01-01" } else { "2024-05-01" };
            format!("{year} 08:{:02}:{:02},90\n", i / 60, i % 60)
        });
        let log = read(format!("Time,ECT\n{text}").as_bytes());
        assert!(
            (log.tally.duration - (599 - few) as f64).abs() < 1e-6,
            "{}",
            log.tally.duration
        );
    }
    let text = rows(600, |i| {
        format!("{},90\n", if i < 300 { i } else { 200_000 + i })
    });
    let log = read(format!("Time [s],ECT\n{text}").as_bytes());
    assert_eq!(
        (log.tally.ahead, log.tally.rows_read, log.tally.gap_count),
        (0, 600, 1)
    );
}

/// What never stayed at a level was held by nothing; what did, was, and how far it rose is said.
#[test]
fn only_a_level_that_was_held_is_called_regulated() {
    let head = "Time [s],ECT [C],RPM,Speed [km/h]\n";
    for (name, many, row) in [
        (
            "rises.csv",
            480,
            (|i| format!("{i},{:.0},800,0\n", 60.0 + i as f64 / 12.0)) as fn(usize) -> String,
        ),
        ("rises_moving.csv", 480, |i| {
            format!("{i},{:.0},1800,60\n", 60.0 + i as f64 / 12.0)
        }),
        ("slowly.csv", 2400, |i| {
            format!("{i},{:.0},1800,60\n", 60.0 + i as f64 / 60.0)
        }),
        ("nine.csv", 9, |i| format!("{i},90,800,0\n")),
    ] {
        let text = format!("{head}{}", rows(many, row));
        let log = read(text.as_bytes());
        assert!(
            matches!(runs_hot(&log).verdict, Verdict::CannotTell(why) if why.contains("settled")),
            "{name}"
        );
        let said = says(name, &text, &[]);
        assert!(
            !said.contains("thermostat held") && !said.contains("as if held"),
            "{said}"
        );
    }
    let text = format!(
        "{head}{}",
        rows(900, |i| format!(
            "{i},{},1800,60\n",
            if i % 300 < 20 { 92 } else { 90 }
        ))
    );
    let log = read(text.as_bytes());
    assert_eq!(runs_hot(&log).verdict, Verdict::Regulated);
    let said = says("held.csv", &text, &[]);
    assert!(
        said.contains("rose at most 2 °C above its usual level of 90"),
        "{said}"
    );
}

/// A level that was held only at a stand, above 100 °C, is not one that a thermostat is known to hold.
#[test]
fn a_hot_level_at_a_stand_alone_is_not_called_regulated() {
    let found = runs_hot(&read(drive(102.0, &[(1200, 0.0, 102.0)]).as_bytes()));
    assert!(matches!(found.verdict, Verdict::CannotTell(_)), "{found:?}");
}

/// Seconds at a pace, km/h, and the coolant at the end of them, °C; straight lines between.
fn drive(from: f64, parts: &[(usize, f64, f64)]) -> String {
    let mut text = String::from("Time [s],ECT [C],RPM,Speed [km/h]\n");
    let (mut t, mut second) = (from, 0);
    for (long, speed, to) in parts {
        let step = (to - t) / *long as f64;
        for _ in 0..*long {
            t += step;
            writeln!(
                text,
                "{second},{t:.0},{},{speed}",
                if *speed > 0.0 { 1900 } else { 800 }
            )
            .unwrap();
            second += 1;
        }
    }
    text
}

/// Idled from cold past the level that it has on the move: hot, if it stays there or goes beyond what any fan allows. A late
/// thermostat, or a stop that a fan ends, is not.
#[test]
fn what_idles_hot_from_cold_is_named() {
    let moving = [(240, 60.0, 88.0), (700, 60.0, 88.0)];
    for (name, parts, hot) in [
        ("to 110 in 25 min", vec![(1500, 0.0, 110.0)], true),
        (
            "to 102, slowly at the end",
            vec![(700, 0.0, 90.0), (700, 0.0, 102.0)],
            true,
        ),
        ("past 105 soon", vec![(500, 0.0, 107.0)], true),
        ("a late thermostat", vec![(500, 0.0, 98.0)], false),
        (
            "a fan",
            vec![
                (700, 0.0, 96.0),
                (200, 0.0, 88.0),
                (200, 0.0, 96.0),
                (200, 0.0, 88.0),
            ],
            false,
        ),
    ] {
        let log = read(drive(25.0, &[&parts[..], &moving].concat()).as_bytes());
        let found = runs_hot(&log);
        assert_eq!(
            matches!(found.verdict, Verdict::Standing(_)),
            hot,
            "{name}: {found:?}"
        );
        assert!(
            hot || !matches!(found.verdict, Verdict::Moving(_) | Verdict::Both(_)),
            "{name}: {found:?}"
        );
    }
}

/// Stops from 82 to 90 °C: a fan that switches on at 95 °C had nothing to do; above 97 °C it had.
#[test]
fn what_no_fan_was_asked_for_is_not_hot() {
    for (top, hot) in [(90.0, false), (94.0, false), (99.0, true)] {
        let stop = [(240, 0.0, top), (240, 60.0, 82.0), (240, 60.0, 82.0)];
        let parts = [&[(600, 60.0, 82.0)][..], &stop, &stop, &stop].concat();
        let found = runs_hot(&read(drive(82.0, &parts).as_bytes()));
        assert_eq!(
            matches!(found.verdict, Verdict::Standing(_)),
            hot,
            "{top}: {found:?}"
        );
        assert!(
            hot || matches!(found.verdict, Verdict::CannotTell(_)),
            "{top}: {found:?}"
        );
    }
}

/// A peak that looks like a level has reached it, or is written so that it does not look like it.
#[test]
fn a_peak_just_short_of_a_level_is_written_so() {
    for (head, t, more, said_peak, level) in [
        ("ECT [C]", "99.96", vec![], "99.96 °C", "100 °C"),
        ("ECT [C]", "99.998", vec![], "99.998 °C", "100 °C"),
        (
            "ECT [C]",
            "104.97",
            vec!["--above", "105 C"],
            "104.97 °C",
            "105 °C",
        ),
        (
            "ECT [F]",
            "211.97",
            vec!["--units", "us"],
            "211.97 °F",
            "212 °F",
        ),
    ] {
        let usual = if head.contains('F') { "205" } else { "95" };
        let text = rows(300, |i| {
            format!("{i},{}\n", if i == 150 { t } else { usual })
        });
        let said = says("short_of.csv", &format!("Time [s],{head}\n{text}"), &more);
        let peaked = format!("peaked at {said_peak}");
        assert!(
            said.contains(&peaked) && said.contains(&format!("never reached {level}")),
            "{said}"
        );
    }
}

/// How certain it is, and what fan, air conditioning and load did meanwhile.
#[test]
fn certainty_and_what_went_beside_are_told() {
    let stop = [(300, 0.0, 104.0), (300, 60.0, 88.0), (300, 60.0, 88.0)];
    for (stops, lead) in [
        (1, "It probably runs hot at standstill."),
        (3, "It runs hot at standstill."),
    ] {
        let parts = [vec![(600, 60.0, 88.0)], stop.repeat(stops)].concat();
        let text = drive(88.0, &parts);
        let mut lines = text.lines();
        let mut more = format!("{},Fan speed [rpm],A/C,Load [%]\n", lines.next().unwrap());
        for line in lines {
            writeln!(more, "{line},450,1,20").unwrap();
        }
        let said = says("certain.csv", &more, &[]);
        assert!(said.starts_with(lead), "{said}");
        let beside = "Meanwhile, on average: fan 450 rpm, air conditioning on, engine load 20 %.";
        assert!(said.contains(beside), "{said}");
    }
}

/// Noise is given no figures that look sound.
#[test]
fn a_withdrawn_log_shows_no_figures() {
    let text = rows(600, |i| {
        format!("{i},{},800,0\n", [90, 215, 20, 104, 160, -40][i % 6])
    });
    let text = format!("Time,ECT [C],RPM,Speed [km/h]\n{text}");
    let answer = json(&[&file("noise.csv", text.as_bytes())]);
    assert_eq!(answer["verdict_withdrawn"], true);
    assert!(
        answer["fastest_warm_rise_k_per_min"].is_null() && answer["margin_to_boiling_k"].is_null(),
        "{answer}"
    );
    assert_eq!(answer["episodes"].as_array().unwrap().len(), 0);
    let said = says("noise.csv", &text, &[]);
    assert!(
        !said.contains("fastest rise") && !said.contains("margin") && !said.contains("Episodes"),
        "{said}"
    );
}

/// The alternative to seconds is what the step between rows makes likely.
#[test]
fn the_other_unit_of_time_is_a_likely_one() {
    for (step, other) in [
        (10.0, "milliseconds"),
        (100.0, "seconds"),
        (1.0, "minutes"),
        (0.1, "minutes"),
    ] {
        let text = rows(900, |i| format!("{},90\n", i as f64 * step));
        let log = read(format!("Time,ECT\n{text}").as_bytes());
        let guess = log
            .layout
            .guesses
            .iter()
            .find(|g| g.what == Guessed::TimeScale)
            .unwrap();
        assert_eq!(guess.other, other, "{step}");
    }
}

/// A unit in every cell, that of the time too; a time column for each signal.
#[test]
fn units_in_cells_and_a_time_for_each_signal() {
    let words = rows(300, |i| format!("{i} s,200 degF,{} mph\n", i % 60));
    let milli = rows(300, |i| {
        format!("{} ms,200 degF,{} mph\n", i * 1000, i % 60)
    });
    let each = rows(300, |i| format!("{i},200,{i}.3,{}\n", i % 60));
    for text in [
        format!("time,coolant,speed\n{words}"),
        format!("time,coolant,speed\n{milli}"),
        format!("Time_ECT [s],ECT [degF],Time_Speed [s],Speed [mph]\n{each}"),
        format!("Time_ECT,ECT [degF],Time_Speed,Speed [mph]\n{each}"),
        format!("ECT,,Speed,\nTime [s],[degF],Time [s],[mph]\n{each}"),
        format!("ECT,,Speed,\ntime,value,time,value\ns,degF,s,mph\n{each}"),
    ] {
        let log = read(text.as_bytes());
        // By hand: 200 °F are 93.33 °C, 59 mph are 26.38 m/s.
        assert!(
            (peak(&log) - 93.333).abs() < 0.01,
            "{}: {}",
            &text[..40],
            peak(&log)
        );
        let speed = log.tally.seen[Signal::RoadSpeed as usize];
        assert!(
            (speed.most - 26.375).abs() < 0.01,
            "{}: {speed:?}",
            &text[..40]
        );
        assert_eq!((log.tally.rows_read, log.tally.rows_dropped), (300, 0));
        assert!(
            (log.tally.duration - 299.0).abs() < 1e-9,
            "{}",
            log.tally.duration
        );
    }
}

/// A second heading with another separator is told; zeros in degrees Fahrenheit are zeros.
#[test]
fn another_heading_and_zeros_in_fahrenheit() {
    let first = rows(60, |i| format!("{i},90,800\n"));
    let second = rows(60, |i| format!("{i};800;112\n"));
    let text =
        format!("Time,ECT [C],RPM\n{first}Zeit;Motordrehzahl;Kühlmitteltemperatur [°C]\n{second}");
    let said = says("headings.csv", &text, &[]);
    assert!(
        said.contains("line 62") && said.contains("another cell separator (`;`)"),
        "{said}"
    );
    let row = |i| match i {
        0..30 => format!("{i},32,0,0\n"),
        i => format!("{i},180,800,0\n"),
    };
    let log = read(format!("Time,ECT [F],RPM,Speed [mph]\n{}", rows(300, row)).as_bytes());
    assert_eq!(log.tally.placeholders, 30);
}

/// The first of two columns of coolant is zero throughout, or almost blank.
#[test]
fn a_column_of_zeros_gives_way() {
    for cell in [
        |_: usize| "0",
        |i: usize| if i.is_multiple_of(50) { "40" } else { "" },
    ] {
        let text = rows(600, |i| format!("{i},{},91\n", cell(i)));
        let log = read(format!("Time,Engine coolant temperature [C],ECT [C]\n{text}").as_bytes());
        assert!((peak(&log) - 91.0).abs() < 0.01, "{}", peak(&log));
    }
}
