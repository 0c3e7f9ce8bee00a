//! Notebooks: the four stories that come with the program, what is written into one, and what cannot be.

use oilwheel::model::Lookup;
use oilwheel::probe::{ALL, Book, Day, Readings};
use oilwheel::quantity::Units;
use oilwheel::question::notebook::{ADD, Found, NOTEBOOK, Notebook, added};
use oilwheel::question::suspects::Strength;
use oilwheel::question::{Request, Values};
use oilwheel::tell;

fn text(name: &str) -> String {
    let path = format!(
        "{}/models/notebooks/{name}.toml",
        env!("CARGO_MANIFEST_DIR")
    );
    std::fs::read_to_string(path).unwrap()
}

fn values(text: &str, add: &[&str]) -> Values {
    let mut values = Values::new(Units::Si, Lookup::LibraryOnly);
    values.push_text(NOTEBOOK.key, "mine.toml", text);
    for words in add {
        values.push(ADD.key, words);
    }
    values
}

fn asked(text: &str) -> Found {
    Notebook::read(&values(text, &[]))
        .unwrap()
        .answer()
        .unwrap()
}

fn odds(found: &Found, key: &str) -> f64 {
    let mut all = found.now.candidates.iter();
    all.find(|c| c.fault == key).map_or(0.0, |c| c.probability)
}

/// Every mistake of a text.
fn wrong(text: &str) -> String {
    let read = Notebook::read(&values(text, &[]));
    let troubles = read.and_then(|n| n.answer().map(|_| ())).unwrap_err();
    let lines: Vec<String> = troubles.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

const SLOW: &str = "machine = \"light-truck\"\n[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"640 rpm ± 5 rpm\"\n";

/// 640 rpm on a truck of which only the class is known: slow, but no cause is settled, and there is something to find out next.
#[test]
fn an_unknown_truck_is_slow_and_nothing_is_settled() {
    let found = asked(&text("unknown-truck"));
    assert!(found.now.strength <= Strength::LeansTo);
    assert!(found.now.candidates.iter().all(|c| c.probability < 0.5));
    assert!(odds(&found, "nothing") < 0.05 && found.minutes > 0.0);
    // `why` and `suspects` say the same of the oil: it is not what is most likely.
    assert!(found.now.oil_probability < 0.2);
}

#[test]
fn a_sound_truck_with_another_pump_is_not_called_slow() {
    let found = asked(&text("other-pump"));
    assert_eq!(found.now.candidates[0].fault, "nothing");
    for one in &found.now.candidates {
        assert!(one.fault == "nothing" || one.probability < 0.3, "{one:?}");
    }
    assert!(found.idle_half < 0.8 * found.class_half);
    assert!(found.known.iter().all(|k| k.worth > 0.02));
}

#[test]
fn a_hot_truck_with_a_sound_fan_is_not_called_sick() {
    let found = asked(&text("hot-but-healthy"));
    let listed = found.now.candidates.iter().filter(|c| c.fault != "nothing");
    assert!(listed.map(|c| c.probability).fold(0.0, f64::max) < 0.5);
    assert!(found.now.strength < Strength::Likely || found.now.candidates[0].fault == "nothing");
}

#[test]
fn a_fan_that_recovers_after_an_oil_change_is_told_with_its_size() {
    let found = asked(&text("oil-changed"));
    let work = &found.works[0];
    let idle = work.changed.iter().find(|c| c.test == "fan-speed-idle-hot");
    let idle = idle.unwrap();
    // By hand: 1130 over 820 is 38 % more, in conditions that hardly differ.
    assert!(
        (idle.change - 0.38).abs() < 0.03 && idle.half < 0.1,
        "{idle:?}"
    );
    assert_eq!(idle.verdict, "better");
    assert!(!work.causes_before.is_empty());
    assert_eq!(found.now.candidates[0].fault, "nothing");
    let told = tell::answer("notebook", &values(&text("oil-changed"), &[]))
        .unwrap()
        .unwrap();
    let said = format!("{:?}", told.blocks);
    assert!(said.contains("removes air, water and dirt") && said.contains("better"));
}

/// What is added stands at the end; every line that was there stays, in its order.
#[test]
fn what_is_added_keeps_comments_and_order() {
    let before = text("oil-changed");
    let add = [
        "fan-speed-idle-hot = 640 rpm ± 10 rpm at engine 690 rpm, oil 79 C, air 20 C, on 2026-07-01",
        "motor.displacement = 10 cm3/rev, plate",
        "work = belt changed, on 2026-07-02",
    ];
    let request = Notebook::read(&values(&before, &add)).unwrap();
    let after = request.added.clone().unwrap();
    let mut lines = after.lines();
    for line in before.lines() {
        assert!(lines.any(|l| l == line), "lost: {line}");
    }
    assert!(after.contains("belt changed") && after.contains("690 rpm"));
    assert_eq!(request.all.len(), 7);
    assert_eq!(request.now.readings.book.works.len(), 2);
    // One mistake, and nothing of it is written.
    for wrong in [
        "fan-speed-idle-hot = 640 bar ± 10 bar",
        "pump.ratio = 1.4",
        "what is this",
    ] {
        let all = [add[0], wrong];
        assert!(Notebook::read(&values(&before, &all)).is_err(), "{wrong}");
    }
}

#[test]
fn what_cannot_be_is_said_all_at_once() {
    let head = "name = \"x\"\n";
    assert!(
        wrong(&format!("{head}[known]\n\"pump.ratio\" = \"1.3\"\n"))
            .contains("does not name its machine")
    );
    let machine = "machine = \"light-truck\"\nsince = 2020-01-01\n";
    let all = wrong(&format!(
        "{machine}[known]\n\"pump.ratio\" = \"13 bar\"\n\"pump.colour\" = \"red\"\n[[work]]\nwhat = \"belt\"\n"
    ));
    for words in ["pump.colour", "without `date`", "bar"] {
        assert!(all.contains(words), "{words}: {all}");
    }
    let far = wrong(&format!(
        "{machine}[known]\n\"pump.displacement\" = \"80 cm3/rev\"\n"
    ));
    assert!(far.contains("in this class"), "{far}");
    let early = wrong(&format!(
        "{machine}[[reading]]\ndate = 2019-05-01\ntest = \"fan-speed-idle-hot\"\nvalue = \"900 rpm ± 5 rpm\"\n"
    ));
    assert!(early.contains("had its present form"), "{early}");
    let one = "[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"900 rpm ± 5 rpm\"\n";
    let many = wrong(&format!("{machine}{}", one.repeat(1000)));
    assert!(many.contains("1000 readings"), "{many}");
    let clash = wrong(&format!(
        "{machine}[known]\n\"valve.high\" = \"90 bar ± 1 bar\"\n\"valve.low\" = \"0 bar\"\n\"relief.setting\" = \"-5 bar\"\n"
    ));
    assert!(
        clash.contains("relief.setting") || clash.contains("bar"),
        "{clash}"
    );
    assert!(wrong(&one.replace("900", "nine")).contains("does not name its machine"));
}

/// A notebook goes where a machine goes, and its facts count there.
#[test]
fn every_question_takes_a_notebook_for_a_machine() {
    let book = text("other-pump");
    for key in ["speed", "suspects", "heat", "sheet"] {
        let mut values = Values::new(Units::Si, Lookup::LibraryOnly);
        values.push_text("machine", "mine.toml", &book);
        let answer = tell::answer(key, &values).unwrap().unwrap();
        let ratio = answer.case["pump.ratio"].as_f64().unwrap();
        assert!((ratio - 1.15).abs() < 0.02, "{key}: {ratio}");
    }
    let mut why = Values::new(Units::Si, Lookup::LibraryOnly);
    why.push_text("machine", "mine.toml", SLOW);
    why.push("measured", "640 rpm ± 10 rpm");
    let why = tell::answer("why", &why).unwrap().unwrap();
    let oil = why.numbers["oil_probability"].as_f64().unwrap();
    let found = asked(SLOW);
    assert!((oil - found.now.oil_probability).abs() < 0.05, "{oil}");
}

/// A test or a fact that cannot be had is not proposed.
#[test]
fn what_is_skipped_is_not_proposed() {
    let proposed = |text: &str| -> Vec<&'static str> {
        asked(text).now.next_tests.iter().map(|t| t.test).collect()
    };
    let all = proposed(SLOW);
    assert!(all.contains(&"pump.ratio") && all.contains(&"fan-speed-raised-hot"));
    let some = proposed(&format!(
        "skip = [\"pump.ratio\", \"fan-speed-raised-hot\"]\n{SLOW}"
    ));
    assert!(!some.contains(&"pump.ratio") && !some.contains(&"fan-speed-raised-hot"));
    assert_eq!(some.len() + 2, all.len());
}

/// Turns in slow motion and a tone are the same speed as one by the tachometer.
#[test]
fn a_speed_without_a_tachometer_is_read() {
    for words in ["12 turns in 275 frames at 240 fps", "73.3 Hz, 7 blades"] {
        let found = asked(&SLOW.replace("640 rpm ± 5 rpm", words));
        assert!(
            (found.past[0].read - 628.4).abs() < 1.0,
            "{words}: {}",
            found.past[0].read
        );
    }
}

/// Each of seven blades counted as a turn, in all readings: said as what it is.
#[test]
fn blades_counted_as_turns_in_all_readings_are_noticed() {
    let reading = |test: &str, rpm: f64| {
        format!("[[reading]]\ntest = \"{test}\"\nvalue = \"{rpm} rpm ± 5 rpm\"\n")
    };
    let text = format!(
        "machine = \"light-truck\"\n{}{}{}",
        reading("fan-speed-idle-hot", 7.0 * 1100.0),
        reading("fan-speed-raised-hot", 7.0 * 2380.0),
        reading("fan-speed-raised-cold", 7.0 * 2320.0)
    );
    let found = asked(&text);
    let slip = found.now.misread.unwrap();
    assert_eq!(slip.slip.key(), "blades_7");
    assert_eq!(found.now.candidates[0].fault, "nothing");
}

fn headline(text: &str) -> String {
    let answer = tell::answer("notebook", &values(text, &[]))
        .unwrap()
        .unwrap();
    oilwheel::report::pieces(&answer).headline
}

/// A slow reading for which full fan was perhaps not commanded is a lower bound: the fan is not called slow, and the same test comes
/// first again. What is faster than a healthy fan at full command counts as ever.
#[test]
fn a_fan_that_was_perhaps_not_commanded_is_not_condemned() {
    let unsure = format!("{SLOW}command = \"not sure\"\n");
    let (sure, found) = (asked(SLOW), asked(&unsure));
    assert!(odds(&sure, "nothing") < 0.05);
    assert_eq!(found.now.candidates[0].fault, "nothing");
    assert_eq!(found.now.strength, Strength::CannotTell);
    assert_eq!(found.now.next_tests[0].test, "fan-speed-idle-hot");
    let said = headline(&unsure);
    assert!(
        said.starts_with("Cannot tell yet: it is not certain that full fan was commanded")
            && !said.contains("Slow"),
        "{said}"
    );
    let fast = "machine = \"light-truck\"\n[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"1900 rpm ± 5 rpm\"\ncommand = \"not sure\"\n";
    assert!(headline(fast).starts_with("Fast: "), "{}", headline(fast));
    // Read again at full command, it is no contradiction, and it counts.
    let again = format!(
        "{unsure}[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"1150 rpm ± 5 rpm\"\n"
    );
    let found = asked(&again);
    assert!(found.now.outliers.is_empty());
    assert!(!headline(&again).contains("Slow"), "{}", headline(&again));
    // Only a fan speed at full command can be in doubt so.
    let pressure = "machine = \"light-truck\"\n[[reading]]\ntest = \"supply-pressure-idle-hot\"\nvalue = \"20 bar ± 1 bar\"\ncommand = \"not sure\"\n";
    assert!(wrong(pressure).contains("at full command"));
}

/// With several readings the headline leads with the one that departs most, and never calls one "as expected" beside a cause.
#[test]
fn the_headline_does_not_contradict_itself() {
    let worn = "machine = \"light-truck\"\n[known]\n\"pump.ratio\" = \"1.3 ± 0.02\"\n[[reading]]\nwhen = \"healthy\"\ntest = \"fan-speed-idle-hot\"\nvalue = \"1100 rpm ± 10 rpm\"\n[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"560 rpm ± 10 rpm\"\n[[reading]]\ntest = \"fan-speed-raised-hot\"\nvalue = \"2100 rpm ± 10 rpm\"\n[[reading]]\ntest = \"fan-speed-3000-hot\"\nvalue = \"2330 rpm ± 30 rpm\"\n";
    let said = headline(worn);
    assert!(
        said.starts_with("Slow: fan speed at idle, oil warm, 560 ± 10 rpm;"),
        "{said}"
    );
    assert!(
        !said.contains("As expected") && !said.contains("severity"),
        "{said}"
    );
}

/// A frame rate stands behind `at` too, and a number of blades behind a comma: both belong to the reading.
#[test]
fn what_follows_a_counted_speed_is_told_from_it() {
    for (entry, value, more) in [
        (
            "12 turns in 275 frames at 240 fps at on 2026-11-29, engine 690 rpm",
            "12 turns in 275 frames at 240 fps",
            &["date = \"2026-11-29\"", "engine_speed = \"690 rpm\""][..],
        ),
        (
            "12 turns in 275 frames at 240 fps, oil 79 C",
            "12 turns in 275 frames at 240 fps",
            &["oil_temp = \"79 C\""],
        ),
        ("118 Hz, 7 blades", "118 Hz, 7 blades", &[]),
        (
            "118 Hz, 7 blades at on 2026-11-29",
            "118 Hz, 7 blades",
            &["date = \"2026-11-29\""],
        ),
        (
            "640 rpm at engine 690 rpm",
            "640 rpm",
            &["engine_speed = \"690 rpm\""],
        ),
        ("4480 rpm, blades 7", "4480 rpm", &["blades = \"7\""]),
    ] {
        let text = added("", "", &[&format!("fan-speed-idle-hot = {entry}")]).unwrap();
        assert!(text.contains(&format!("value = \"{value}\"")), "{text}");
        assert!(more.iter().all(|line| text.contains(line)), "{text}");
    }
    let wrong = added("", "", &["fan-speed-idle-hot = 640 rpm at butter"]).unwrap_err();
    assert!(wrong[0].found.contains("`butter`"), "{wrong:?}");
}

/// How many works were done before each reading of a text.
fn works_before(entries: &str) -> Vec<usize> {
    let text = format!("machine = \"light-truck\"\n{entries}");
    let machine = Lookup::LibraryOnly.machine("light-truck").unwrap();
    let all = Readings::from_notebook("", &text, &machine).unwrap().all;
    all.iter().map(|r| r.works).collect()
}

/// On one day the order of the file holds, and a time where it is given.
#[test]
fn a_work_parts_the_readings_of_its_day() {
    let reading = |date: &str| {
        format!(
            "[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"900 rpm ± 5 rpm\"\ndate = {date}\n"
        )
    };
    let work = |date: &str| format!("[[work]]\nwhat = \"oil changed\"\ndate = {date}\n");
    let (day, noon) = ("2026-11-29", "\"2026-11-29 12:00\"");
    for (all, before) in [
        ([reading(day), work(day), reading(day)], [0, 1]),
        ([work(day), reading(day), reading(day)], [1, 1]),
        ([reading(day), reading(day), work(day)], [0, 0]),
        // Times stand above the order of the file.
        (
            [
                reading("2026-11-29T15:30:00"),
                work(noon),
                reading("\"2026-11-29T09:05\""),
            ],
            [1, 0],
        ),
        // Without a time an entry has that of the entry before it.
        (
            [reading(noon), work(day), reading("\"2026-11-29 13:00\"")],
            [0, 1],
        ),
        (
            [reading("2026-11-30"), work(day), reading("2026-11-28")],
            [1, 0],
        ),
    ] {
        assert_eq!(works_before(&all.concat()), before, "{all:?}");
    }
    let undated = "[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"900 rpm ± 5 rpm\"\n";
    assert_eq!(works_before(&format!("{}{undated}", work(day))), [0]);
    // What is added stands at the end of the file.
    let mut text = String::new();
    for entry in [
        "fan-speed-idle-hot = 900 rpm ± 5 rpm, on 2026-11-29",
        "work = oil changed, on 2026-11-29",
        "fan-speed-idle-hot = 950 rpm ± 5 rpm, on 2026-11-29",
        "pump.ratio = 1.3 ± 0.02",
        "fan-speed-idle-hot = 951 rpm ± 5 rpm, on 2026-11-29",
    ] {
        text = added("", &text, &[entry]).unwrap();
    }
    assert_eq!(works_before(&text), [0, 1, 1], "{text}");
    for wrong in [
        "2026-11-29 25:00",
        "2026-11-29 12",
        "2026-11-29 12:60",
        "2026-11-29 ",
    ] {
        assert!(Day::read(wrong).is_err(), "{wrong}");
    }
    let read = Day::read("2026-11-29T15:30:12").unwrap();
    assert_eq!(read.to_string(), "2026-11-29 15:30");
}

/// Without an instrument all tests that need it go; a fan speed can be read with a phone as well.
#[test]
fn what_needs_a_missing_instrument_is_not_proposed() {
    let left = |skip: &[&str]| -> Vec<&str> {
        let all = ALL.iter().filter(|p| !p.left_out(skip));
        all.map(|p| p.key).collect()
    };
    let fans = |keys: &[&str]| keys.iter().filter(|k| k.starts_with("fan-speed")).count();
    let (all, none) = (left(&[]), left(&["photo-tachometer"]));
    assert!(fans(&all) > 3 && fans(&none) == fans(&all));
    assert!(all.iter().any(|k| k.starts_with("pump-speed")));
    assert!(!none.iter().any(|k| k.starts_with("pump-speed")));
    assert_eq!(fans(&left(&["photo-tachometer", "slow-motion"])), 0);
    let no_gauge = left(&["gauge-class-1.6"]);
    assert!(no_gauge.len() < all.len() && !no_gauge.iter().any(|k| k.contains("pressure")));
    let book = |skip: &str| Book::from_text("", &format!("skip = [\"{skip}\"]"));
    assert_eq!(book("photo-tachometer").unwrap().skip, ["photo-tachometer"]);
    assert!(book("photo-tachymeter").is_err());
}

/// A point that may part the thousands is asked about.
#[test]
fn a_fan_that_turns_once_a_minute_is_asked_about() {
    let said = wrong(&SLOW.replace("640 rpm", "1.140 rpm"));
    assert!(said.contains("`1.140`") && said.contains("1140"), "{said}");
}

/// The fan speed of a machine by a question, with its band, rpm.
fn band(book: &str, more: &[(&str, &str)]) -> (f64, f64, f64) {
    let mut values = Values::new(Units::Si, Lookup::LibraryOnly);
    values.push_text("machine", "mine.toml", book);
    for (key, value) in more {
        values.push(key, value);
    }
    let answer = tell::answer("speed", &values).unwrap().unwrap();
    let read = |key: &str| answer.numbers[key].as_f64().unwrap();
    (
        read("fan_speed_rpm"),
        read("fan_speed_low_rpm"),
        read("fan_speed_high_rpm"),
    )
}

/// By hand: a reading of ± 2 rpm at 700 ± 5 rpm of the engine (1135·5/700 = 8.1 rpm) with a model error of 1 % (± 23 rpm) bounds the
/// healthy machine to ± 24 rpm, and the same engine speed now adds 8.1 rpm. Oil and air of the two days add little. Neither end of the
/// band may lie far beyond, and `notebook` expects the same of the same condition.
#[test]
fn a_healthy_reading_bounds_the_speed_in_every_question() {
    let healthy = "machine = \"light-truck\"\noil = \"central-hydraulic\"\n[[reading]]\ndate = 2026-05-02\nwhen = \"healthy\"\ntest = \"fan-speed-idle-hot\"\nvalue = \"1135 rpm\"\ninstrument = \"photo-tachometer\"\nengine_speed = \"700 rpm ± 5 rpm\"\noil_temp = \"80 C\"\nair_temp = \"22 C\"\n";
    let (middle, low, high) = band(
        healthy,
        &[
            ("engine_speed", "700 rpm ± 5 rpm"),
            ("oil_temp", "80 C ± 3 K"),
            // The air of a reading is that of the day; at the fan it is warmer by what 55 °C is on a day of 25 °C.
            ("air_temp", "52 C ± 3 K"),
        ],
    );
    let half = 24.0_f64.hypot(8.1);
    for side in [middle - low, high - middle] {
        assert!(
            (0.8 * half..1.5 * half).contains(&side),
            "{low} {middle} {high}"
        );
    }
    let question = format!(
        "{healthy}[[reading]]\ndate = 2026-06-02\ntest = \"fan-speed-idle-hot\"\nvalue = \"1050 rpm ± 5 rpm\"\nengine_speed = \"700 rpm ± 5 rpm\"\noil_temp = \"80 C\"\nair_temp = \"22 C\"\n"
    );
    let found = asked(&question);
    let past = &found.past[1];
    let (low, high) = (
        past.expected - past.expected_half,
        past.expected + past.expected_half,
    );
    assert!((middle - half - low).abs() < 0.3 * half && (middle + half - high).abs() < 0.3 * half);
    assert!(odds(&found, "nothing") < 0.05);
    let measured = tell::answer("speed", &{
        let mut values = Values::new(Units::Si, Lookup::LibraryOnly);
        values.push_text("machine", "mine.toml", healthy);
        values.push("engine_speed", "700 rpm ± 5 rpm");
        values.push("measured", "1050 rpm ± 5 rpm");
        values
    });
    let said = oilwheel::report::pieces(&measured.unwrap().unwrap()).headline;
    assert!(said.contains("slow"), "{said}");
}

/// 1030 rpm where it was 1140: `suspects` puts thin oil first, so `why` may not exclude it.
#[test]
fn why_does_not_exclude_the_thin_oil_that_suspects_names() {
    let healthy = "machine = \"light-truck\"\noil = \"central-hydraulic\"\n[[reading]]\ndate = 2026-05-02\nwhen = \"healthy\"\ntest = \"fan-speed-idle-hot\"\nvalue = \"1140 rpm ± 5 rpm\"\nengine_speed = \"700 rpm\"\noil_temp = \"80 C\"\n";
    let mut values = Values::new(Units::Si, Lookup::LibraryOnly);
    values.push_text("machine", "mine.toml", healthy);
    for (key, value) in [
        ("engine_speed", "700 rpm"),
        ("oil_temp", "80 C"),
        ("measured", "1030 rpm ± 5 rpm"),
    ] {
        values.push(key, value);
    }
    let why = tell::answer("why", &values).unwrap().unwrap();
    let oil = why.numbers["oil_probability"].as_f64().unwrap();
    let left = why.numbers["unexplained_rpm"].as_f64().unwrap();
    let low = why.numbers["viscosities_poured_mm2_per_s"][0][0]
        .as_f64()
        .unwrap();
    let said = oilwheel::report::text(&why, 400);
    assert!(oil > 0.3 && left.abs() < 1e-9, "{oil} {left}");
    // 8.29 mm²/s at 80 °C by the data sheet; two fifths of it are left at worst.
    assert!((low - 0.4 * 8.29).abs() < 0.02, "{low}");
    assert!(said.contains(&format!("{:.0} %", 100.0 * oil)) && !said.contains("Something else"));
}

/// Every mistake in one answer, also those beside a missing machine; facts that go together nowhere in the class; a missing file.
#[test]
fn mistakes_do_not_come_in_stages() {
    let rest = "since = 2020-01-01\n[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"640 bar ± 1 bar\"\n[[reading]]\ntest = \"nope\"\nvalue = \"640 rpm\"\n[[reading]]\ndate = 2019-05-02\ntest = \"fan-speed-idle-hot\"\nvalue = \"640 rpm ± 5 rpm\"\n[[work]]\nwhat = \"belt changed\"\n[known]\n\"pump.ratio\" = \"1.3 m\"\n\"pump.rtio\" = \"1.3\"\n\"pump.displacement\" = \"30 cm3/rev\"\n";
    let common = [
        "bar",
        "nope",
        "before `since`",
        "without `date`",
        "length",
        "pump.rtio",
    ];
    let all = wrong(&format!("machine = \"light-truck\"\n{rest}"));
    for words in common.iter().chain(&["in this class"]) {
        assert!(all.contains(words), "{words}: {all}");
    }
    let all = wrong(rest);
    for words in common.iter().chain(&["does not name its machine"]) {
        assert!(all.contains(words), "{words}: {all}");
    }
    let facts =
        |a: &str, b: &str| wrong(&format!("machine = \"light-truck\"\n[known]\n{a}\n{b}\n"));
    let said = facts(
        "\"regulator.rated_flow\" = \"31.5 L/min\"",
        "\"motor.displacement\" = \"8 cm3/rev\"",
    );
    assert!(said.contains("together"), "{said}");
}
