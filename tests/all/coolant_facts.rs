//! What the coolant says of one machine: known machines are driven, their logs written down, and read again.

use oilwheel::balance::{Asked, Rules, Stored, travel, warm};
use oilwheel::input::Input;
use oilwheel::input::unit::celsius;
use oilwheel::model::{Ask, Case, Caution, Leg, Lookup, Setup};
use oilwheel::quantity::Units;
use oilwheel::question::basis::MACHINE;
use oilwheel::question::fit::{Found, Narrow, READINGS};
use oilwheel::question::{Request, Values, own};
use oilwheel::trouble::Troubles;
use std::fmt::Write as _;
use std::io::Cursor;
use std::sync::Arc;

const HEADS: &str = "Time (sec),Engine RPM (rpm),Vehicle speed (km/h),Engine Coolant Temperature (°C),Ambient air temperature (°C)\n";

fn truck() -> Case {
    Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap()
        .case
}

fn input(key: &str) -> Input {
    Input::find(key).unwrap()
}

/// A truck of the class with some inputs multiplied.
fn other(factors: &[(&str, f64)]) -> Case {
    factors.iter().fold(truck(), |case, (key, factor)| {
        let value = case.get(input(key)).unwrap();
        case.with(input(key), factor * value)
    })
}

/// A machine in one condition for a time: time, s, and coolant, °C, and how it ends.
fn goes(case: &Case, start: Stored, long: f64) -> (Vec<(f64, f64)>, Stored) {
    let legs = [0.0, long].map(|time| Leg {
        time,
        now: case.now,
        command: None,
    });
    let course = travel(case, &legs, start, Rules::USUAL).unwrap();
    let track = course.track.iter().map(|p| (p.0, p.1 - 273.15));
    (track.collect(), course.moments.last().unwrap().stored)
}

/// The log of a machine that idles from cold for 40 min, is parked for some hours, and is started again: a row each 5 s, whole degrees, as
/// a diagnostic port has it.
fn log(case: &Case, day: f64, hours: f64) -> String {
    let mut case = *case;
    case.now.ambient = celsius(day);
    let (track, hot) = goes(&case, Stored::even(celsius(day)), 2400.0);
    let mut text = String::from(HEADS);
    let mut row = |time: f64, coolant: f64| {
        let _ = writeln!(text, "{time},700,0,{:.0},{day}", coolant);
    };
    for k in 0..480 {
        let time = 5.0 * f64::from(k);
        let next = track.iter().position(|p| p.0 >= time).unwrap();
        row(time, track[next].1);
    }
    let mut off = case;
    off.now.engine_speed = 0.0;
    let (_, cold) = goes(&off, hot, 3600.0 * hours);
    for k in 0..12 {
        row(
            2400.0 + 3600.0 * hours + 5.0 * f64::from(k),
            cold.coolant - 273.15,
        );
    }
    text
}

/// Values that open logs by their names.
fn with(logs: &[(&str, String)]) -> Values {
    let logs: Vec<(String, String)> = logs
        .iter()
        .map(|(n, t)| (n.to_string(), t.clone()))
        .collect();
    let mut values = Values::new(Units::Si, Lookup::LibraryOnly);
    values.open = Some(Arc::new(move |name: &str| {
        let found = logs.iter().find(|(n, _)| n == name);
        let text = found
            .ok_or_else(|| std::io::Error::other("not there"))?
            .1
            .clone();
        Ok(Box::new(Cursor::new(text.into_bytes())))
    }));
    values
}

fn fitted(book: &str, logs: &[(&str, String)]) -> Result<Found, Troubles> {
    let mut values = with(logs).with(&MACHINE, "light-truck");
    values.push_text(READINGS.key, "mine.toml", book);
    Narrow::read(&values)?.answer()
}

/// The notebook's machine.
fn own_machine(book: &str, logs: &[(&str, String)]) -> Result<Setup, Troubles> {
    let mut ask = Ask::about("mine.toml");
    ask.machine_text = Some(book.into());
    own::resolve(&ask, &with(logs))
}

const BOOK: &str = "machine = \"light-truck\"\n[[log]]\nfile = \"drive.csv\"\n";

/// Heat capacity over conductance of a parked engine, s: what its cooling alone can tell.
fn slowness(case: &Case) -> f64 {
    let e = case.engine.unwrap();
    (e.metal + e.slow_metal) / e.surface
}

/// A known truck with a barer and a heavier engine: the class's middle is off by 40 and 25 %, what is found by less than half of that,
/// and the truth lies within its ±.
#[test]
fn a_known_engine_is_found_again_from_its_log() {
    for (barer, heavier) in [(1.4, 1.0), (0.75, 1.0), (1.0, 1.25), (1.3, 1.25)] {
        let truth = other(&[
            ("engine.surface", barer),
            ("engine.metal", heavier),
            ("engine.slow_metal", heavier),
        ]);
        let found = fitted(BOOK, &[("drive.csv", log(&truth, 20.0, 3.0))]).unwrap();
        assert!(found.fits, "{barer} {heavier}: {:?}", found.coolant);
        assert_eq!(found.coolant.len(), 2);
        for one in &found.coolant {
            assert!(one.off.abs() < 1.0, "{one:?}");
        }
        let engine = &found.machine;
        let value = |key: &str| engine.value(input(key)).unwrap();
        let [surface, quick, slow] =
            ["engine.surface", "engine.metal", "engine.slow_metal"].map(value);
        let slowly = (quick.value + slow.value) / surface.value;
        let off = |x: f64| (x / slowness(&truth)).ln().abs();
        let before = off(slowness(&truck()));
        assert!(
            off(slowly) < (0.5 * before).max(0.08),
            "{barer} {heavier}: {slowly}"
        );
        for (key, found) in [("engine.surface", surface), ("engine.slow_metal", slow)] {
            let is = truth.get(input(key)).unwrap();
            assert!(
                (is / found.value).ln().abs() < found.spread / found.value,
                "{key}: {is} {found:?}"
            );
        }
        // Known better than before.
        let narrower = found.inputs.iter().filter(|i| i.input == "engine.surface");
        assert!(narrower.clone().count() == 1);
        for one in narrower {
            assert!(one.narrowed.left() < 0.9, "{}", one.narrowed.left());
        }
    }
}

/// The notebook's machine is the same whatever is asked of it, and cools as the log has it.
#[test]
fn a_notebook_cools_as_its_log_does() {
    let truth = other(&[("engine.surface", 1.4)]);
    let setup = own_machine(BOOK, &[("drive.csv", log(&truth, 10.0, 4.0))]).unwrap();
    assert!(!setup.cautions.contains(&Caution::NoFit));
    let after = |case: &Case| {
        let mut off = *case;
        (off.now.engine_speed, off.now.ambient) = (0.0, celsius(0.0));
        goes(&off, Stored::even(celsius(90.0)), 3.0 * 3600.0)
            .1
            .coolant
    };
    // On another day and for another time than the log's.
    let (is, class, own) = (after(&truth), after(&truck()), after(&setup.case));
    assert!((class - is).abs() > 4.0, "{class} {is}");
    assert!(
        (own - is).abs() < 0.5 * (class - is).abs(),
        "{own} {is} {class}"
    );
    // The oil side is as it was.
    assert!((setup.case.pump.slip - truck().pump.slip).abs() < 1e-3 * truck().pump.slip);
}

/// A steady reading pulls the machine towards itself, and no farther: the model's own error stands between them.
#[test]
fn a_reading_of_the_coolant_pulls_the_machine_towards_it() {
    let reading = |celsius: f64| {
        format!(
            "machine = \"light-truck\"\n[[reading]]\ntest = \"coolant-hot-stop\"\nwhen = \"healthy\"\nvalue = \"{celsius} °C\"\ninstrument = \"diagnostic-port\"\nambient = \"38 °C\"\n"
        )
    };
    let of = |celsius: f64| fitted(&reading(celsius), &[]).unwrap().coolant[0].clone();
    let middle = of(95.0).before;
    let mut last = f64::NEG_INFINITY;
    for up in [-3.0, 0.0, 4.0, 8.0] {
        let one = of(middle + up);
        assert!((one.before - middle).abs() < 1e-6);
        assert!(one.after > last, "{one:?}");
        last = one.after;
        let moved = one.after - middle;
        assert!(
            moved.abs() <= up.abs() + 0.05 && moved * up >= -0.05,
            "{up}: {moved}"
        );
    }
    // And in a notebook it moves every answer.
    let hot = own_machine(&reading(middle + 8.0), &[]).unwrap();
    let stop = |setup: &Setup| {
        let mut case = setup.case;
        (case.now.ambient, case.now.air_conditioning) = (celsius(38.0), 1.0);
        warm(&case, Asked::STEADY).unwrap().budget.coolant_temp
    };
    let class = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap();
    assert!(stop(&hot) > stop(&class) + 0.5);
}

#[test]
fn what_logs_cannot_say_is_said() {
    let says = |all: Troubles| {
        let all: Vec<String> = all.iter().map(|t| t.to_string()).collect();
        all.join("\n")
    };
    let told = |text: &str| says(fitted(BOOK, &[("drive.csv", text.into())]).unwrap_err());
    // No such file.
    let said = says(fitted(BOOK, &[]).unwrap_err());
    assert!(
        said.contains("drive.csv") && said.contains("cannot be opened"),
        "{said}"
    );
    // Neither parked nor warmed from cold; no ambient; not standing.
    let drive = log(&truck(), 20.0, 3.0);
    let warm: String = drive
        .lines()
        .enumerate()
        .filter(|(k, _)| *k == 0 || (200..480).contains(k))
        .map(|(_, l)| format!("{l}\n"))
        .collect();
    assert!(
        told(&warm).contains("no log shows the engine cooling while parked"),
        "{}",
        told(&warm)
    );
    let blind = drive.replace(",20\n", ",\n");
    assert!(told(&blind).contains("no log shows the engine cooling while parked"));
    // Rubbish is refused as any log is.
    assert!(!told("one,two\nthree,four\n").is_empty());
    // A cooling that no engine of the class shows does not fit, and says so.
    let mut odd = String::new();
    for line in drive.lines() {
        let cells: Vec<&str> = line.split(',').collect();
        let late = cells[0].parse::<f64>().is_ok_and(|t| t > 3600.0);
        let line = if late {
            format!("{},700,0,21,20", cells[0])
        } else {
            line.into()
        };
        odd.push_str(&line);
        odd.push('\n');
    }
    let found = fitted(BOOK, &[("drive.csv", odd.clone())]).unwrap();
    assert!(
        !found.fits && found.cautions.contains(&Caution::NoFit),
        "{:?}",
        found.coolant
    );
    assert!(
        own_machine(BOOK, &[("drive.csv", odd)])
            .unwrap()
            .cautions
            .contains(&Caution::NoFit)
    );
    // Where logs cannot be opened, the notebook is still a machine.
    let mut ask = Ask::about("mine.toml");
    ask.machine_text = Some(BOOK.into());
    let setup = own::resolve(&ask, &Values::new(Units::Si, Lookup::LibraryOnly)).unwrap();
    assert!(
        setup
            .cautions
            .iter()
            .any(|c| matches!(c, Caution::LogNotRead { file } if file == "drive.csv"))
    );
}
