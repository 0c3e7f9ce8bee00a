//! A machine narrowed by readings.

use assert_cmd::Command;
use oilwheel::balance::State;
use oilwheel::input::Input;
use oilwheel::model::{Ask, Case, Lookup, Machine, Setup, Together, machine_text};
use oilwheel::numeric::quantile;
use oilwheel::probe::{Reading, Readings, Setting, find};
use oilwheel::vary::fit::fit;
use oilwheel::vary::forecast::model;
use oilwheel::vary::sample;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

pub fn truck() -> Setup {
    Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap()
}

fn input(key: &str) -> Input {
    Input::find(key).unwrap()
}

/// A reading of a test by its usual instrument; engine speed known to 5 rpm, oil temperature to 2 K.
pub fn reading(machine: &Machine, key: &str, value: f64) -> Reading {
    let probe = find(key).unwrap();
    let (half, uniform) = probe.usual_error(machine, value);
    Reading {
        uniform,
        engine_half: 0.5,
        oil_temp_half: 2.0,
        ..Reading::of(probe, value, half)
    }
}

/// What a case reads in the condition of a test, or off it.
pub fn truth(machine: &Machine, case: &Case, key: &str, off: (f64, f64)) -> f64 {
    let probe = find(key).unwrap();
    let mut scene = probe.setting.on(machine, case);
    scene.now.engine_speed += off.0;
    scene.now.oil_temp += off.1;
    probe.what.read(&scene, &State::of(&scene).unwrap().0)
}

const TESTS: [&str; 8] = [
    "fan-speed-idle-hot",
    "fan-speed-raised-hot",
    "fan-speed-idle-cold",
    "fan-speed-raised-cold",
    "fan-speed-raised-hot-half",
    "supply-pressure-idle-hot",
    "supply-pressure-raised-hot",
    "return-pressure-raised-cold",
];

/// A machine of the class, drawn within its ±, and what is read on it in these tests, with errors as the instruments and the
/// model have them.
pub fn known_machine(setup: &Setup, spread: &Case, number: u64) -> (Case, Vec<Reading>) {
    let case = sample::draw(&setup.case, spread, &Together::default(), 1, number)[0];
    let mut random = ChaCha8Rng::seed_from_u64(number);
    let mut conditions: Vec<(Setting, (f64, f64))> = Vec::new();
    let readings = TESTS.map(|key| {
        let mut lot = || random.random::<f64>().clamp(1e-9, 1.0 - 1e-9);
        let (speed, temp) = (quantile(lot()), quantile(lot()));
        let (of_model, of_instrument) = (quantile(lot()), lot());
        // Readings in one condition share what engine speed and oil temperature are off by.
        let setting = find(key).unwrap().setting;
        let same = conditions.iter().find(|c| c.0 == setting).map(|c| c.1);
        let off = same.unwrap_or((0.25 * speed, temp));
        conditions.push((setting, off));
        let plain = truth(&setup.machine, &case, key, off);
        let one = reading(&setup.machine, key, plain);
        let error = if one.uniform {
            one.half * (2.0 * of_instrument - 1.0)
        } else {
            0.5 * one.half * quantile(of_instrument)
        };
        let value = plain + model(one.probe.what, plain) * of_model + error;
        Reading { value, ..one }
    });
    (case, readings.to_vec())
}

/// The half widths of a class machine, but for the condition.
pub fn half_widths(setup: &Setup) -> Case {
    let mut spread = setup.spread;
    for key in ["now.engine_speed", "now.oil_temp"] {
        spread = spread.with(input(key), 0.0);
    }
    spread
}

/// How well they are recovered is held against what is told in `validation/fit_recovers`.
#[test]
fn readings_make_nothing_wider_and_their_correlations_carry_on() {
    let setup = truck();
    let spread = half_widths(&setup);
    let mut widths = (0.0, 0.0);
    for number in 0..8 {
        let (_, readings) = known_machine(&setup, &spread, number);
        let found = fit(&setup.machine, &setup.case, &spread, &readings).unwrap();
        assert!(found.rank >= 4 && found.rank <= TESTS.len());
        for one in &found.inputs {
            assert!(one.left() <= 1.0 + 1e-9);
        }
        // A condition that was not read: 3000 rpm.
        let machine = found.machine(&setup.machine);
        let far = [reading(&machine, "fan-speed-3000-hot", 200.0)];
        let before = |machine: &Machine, case: &Case, spread: &Case| {
            fit(machine, case, spread, &far).unwrap().readings[0]
                .before
                .1
        };
        widths.0 += before(&machine, &found.case, &spread_of(&found, &spread));
        widths.1 += before(&setup.machine, &setup.case, &spread);
    }
    assert!(
        widths.0 < 0.4 * widths.1,
        "correlations carry what was learned"
    );
}

/// The half widths after a fit, for a second one.
pub fn spread_of(found: &oilwheel::vary::fit::Fit, spread: &Case) -> Case {
    let mut after = *spread;
    for one in &found.inputs {
        after = after.with_uncertainty(one.input, one.measure());
    }
    after
}

/// Viscosity by cup is the curve times `oil.thickness`, and nothing else: a straight case with one unknown. By hand: with prior
/// 1 ± 0.05 and a reading of 1.06 ± 8 %, weights go with the inverse squares of the half widths.
#[test]
fn a_straight_case_as_by_hand() {
    let setup = truck();
    let curve = truth(&setup.machine, &setup.case, "viscosity-40", (0.0, 0.0));
    let cup = Reading {
        half: 0.08 * 1.06 * curve,
        engine_half: 0.0,
        oil_temp_half: 0.0,
        ..reading(&setup.machine, "viscosity-40", 1.06 * curve)
    };
    let before = setup.spread.oil.thickness;
    assert!((before - 0.05).abs() < 1e-12);
    for count in [1, 3] {
        let found = fit(
            &setup.machine,
            &setup.case,
            &setup.spread,
            &vec![cup; count],
        )
        .unwrap();
        let (own, read) = (before.powi(-2), count as f64 * (0.08_f64 * 1.06).powi(-2));
        let middle = (own + 1.06 * read) / (own + read);
        let half = (own + read).sqrt().recip();
        let one = found
            .inputs
            .iter()
            .find(|n| n.input.key() == "oil.thickness");
        let (value, after) = one.unwrap().after;
        assert!((value - middle).abs() < 1e-6, "{value} {middle}");
        assert!((after - half).abs() < 1e-6, "{after} {half}");
        // Repeating a test adds no direction; nothing else is touched, and all else stays where it was.
        assert_eq!(found.rank, 1);
        for one in found
            .inputs
            .iter()
            .filter(|n| n.input.key() != "oil.thickness")
        {
            assert!((one.left() - 1.0).abs() < 1e-9, "{}", one.input.key());
            assert!((one.after.0 - one.before.0).abs() <= 1e-9 * one.before.0.abs());
        }
    }
}

#[test]
fn nothing_to_narrow_or_to_narrow_by_is_refused() {
    let setup = truck();
    let none = fit(&setup.machine, &setup.case, &setup.spread, &[]).unwrap_err();
    assert!(none.found.contains("no readings"));
    let known = setup.spread.map(&mut |_, _| 0.0);
    let one = [reading(&setup.machine, "fan-speed-idle-hot", 100.0)];
    let exact = fit(&setup.machine, &setup.case, &known, &one).unwrap_err();
    assert!(exact.found.contains("has a ±") && !exact.hint.is_empty());
}

/// A fitted machine is written with its correlations, and read back the same; so the band made of it is the one told.
#[test]
fn a_fitted_machine_comes_back_from_its_file() {
    let setup = truck();
    let text = include_str!("../../models/readings/well.toml");
    let readings = Readings::from_text("well.toml", text, &setup.machine).unwrap();
    let found = fit(&setup.machine, &setup.case, &setup.spread, &readings.all).unwrap();
    let machine = found.machine(&setup.machine);
    assert!(machine.correlations.len() > 20);
    let back = Machine::from_text("fitted", &machine_text(&machine)).unwrap();
    for i in Input::all() {
        match (machine.value(i), back.value(i)) {
            (Some(a), Some(b)) => {
                assert!(
                    (a.value - b.value).abs() <= 1e-9 * a.value.abs(),
                    "{}",
                    i.key()
                );
                assert!(
                    (a.spread - b.spread).abs() <= 1e-3 * a.spread,
                    "{}",
                    i.key()
                );
            }
            (a, b) => assert_eq!(a.is_none(), b.is_none()),
        }
    }
    assert_eq!(machine.correlations.len(), back.correlations.len());
    for (a, b) in machine.correlations.iter().zip(back.correlations.iter()) {
        assert_eq!((a.0, a.1), (b.0, b.1));
        assert!((a.2 - b.2).abs() < 1e-4);
    }
}

#[test]
fn correlations_in_a_file_are_checked() {
    let mut plain = truck().machine;
    plain.correlations.clear();
    let plain = machine_text(&plain);
    let with = |line: &str| {
        let text = format!("{plain}\n[correlations]\n{line}\n");
        Machine::from_text("mine.toml", &text).map_err(|all| all[0].to_string())
    };
    let sound = with("\"pump.slip\" = \"motor.slip -0.61, valve.high 0.2\"").unwrap();
    assert_eq!(sound.correlations.len(), 2);
    for line in [
        "\"pump.slip\" = \"motor.slip -1.61\"",
        "\"pump.slip\" = \"motor.slip\"",
        "\"pump.slip\" = \"motor.slpi 0.5\"",
        "\"pump.slip\" = \"pump.slip 0.5\"",
        "\"pump.slip\" = \"motor.slip 0.5, motor.slip 0.5\"",
        "\"pump.slip\" = \"governor.full_speed 0.5\"",
        "\"pump.slip\" = 3",
        "\"pump.slpi\" = \"motor.slip 0.5\"",
    ] {
        let said = with(line).unwrap_err();
        assert!(said.starts_with("mine.toml:"), "{said}");
    }
}

fn oilwheel(args: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("oilwheel").unwrap().args(args).assert()
}

fn example(name: &str) -> String {
    format!("{}/models/readings/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn folder(name: &str) -> std::path::PathBuf {
    let path = std::env::temp_dir().join(format!("oilwheel-fit-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&path).unwrap();
    path
}

#[test]
fn fit_writes_a_machine_that_the_other_commands_take() {
    let folder = folder("writes");
    let out = folder.join("mine.toml");
    let out = out.to_str().unwrap();
    let run = oilwheel(&[
        "fit",
        "light-truck",
        &example("well.toml"),
        "--out",
        out,
        "--json",
    ])
    .success();
    let told: Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
    assert_eq!(told["fits"], true);
    assert_eq!(told["rank"], 5);
    let number = |v: &Value, key: &str| v[key].as_f64().unwrap();
    assert!(
        number(&told, "fan_speed_idle_after_half_width_rpm")
            < 0.6 * number(&told, "fan_speed_idle_before_half_width_rpm")
    );
    // What was not touched is said, not passed over.
    let inputs = told["inputs"].as_array().unwrap();
    assert!(
        inputs
            .iter()
            .any(|i| i["input"] == "relief.setting" && i["touched"] == false)
    );
    assert!(
        inputs
            .iter()
            .any(|i| i["input"] == "regulator.rated_flow" && i["touched"] == true)
    );

    // The file keeps what was learned: the same band, though only from what stands in it.
    let run = oilwheel(&["speed", out, "--json"]).success();
    let speed: Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
    let (low, high) = (
        number(&speed, "fan_speed_low_rpm"),
        number(&speed, "fan_speed_high_rpm"),
    );
    let half = number(&told, "fan_speed_idle_after_half_width_rpm");
    assert!(
        (0.5 * (high - low) / half - 1.0).abs() < 0.05,
        "{low} {high} {half}"
    );
    oilwheel(&["check", out]).success();
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn readings_of_a_machine_that_is_not_well_do_not_fit() {
    let run = oilwheel(&["fit", "light-truck", &example("worn-pump.toml")]).success();
    let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    let text = text.replace('\n', " ");
    assert!(
        text.starts_with("The readings do not fit this machine"),
        "{text}"
    );
    assert!(text.contains("The baseline is valid"), "{text}");
}

#[test]
fn a_slip_of_the_pen_is_guessed() {
    let folder = folder("pen");
    let file = folder.join("mine.toml");
    let path = file.to_str().unwrap();
    let well = std::fs::read_to_string(example("well.toml")).unwrap();
    // 66 bar are 957 psi; 2288 rpm with each of six blades counted are 13728.
    for (from, to, guess) in [
        ("\"66 bar\"", "\"957 bar\"", "psi typed as bar?"),
        (
            // How many blades a class machine, as wide as its class, cannot say.
            "\"2288 rpm\"",
            "\"13728 rpm\"",
            "blades counted as a revolution?",
        ),
    ] {
        let text = well.replace(from, to).replace("160 bar", "1000 bar");
        std::fs::write(&file, text).unwrap();
        let run = oilwheel(&["fit", "light-truck", path]).success();
        let said = String::from_utf8(run.get_output().stdout.clone()).unwrap();
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains(guess), "{said}");
    }
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn mistakes_in_readings_point_into_the_file() {
    let folder = folder("mistakes");
    let file = folder.join("mine.toml");
    std::fs::write(
        &file,
        "[[reading]]\ntest = \"fan-speed\"\nvalue = \"700 rpm\"\n",
    )
    .unwrap();
    let run = oilwheel(&["fit", "light-truck", file.to_str().unwrap()]).code(2);
    let said = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(
        said.contains("mine.toml:2:8") && said.contains('^'),
        "{said}"
    );
    oilwheel(&["fit", "light-truck", "nowhere.toml"]).code(2);
    std::fs::remove_dir_all(folder).unwrap();
}
