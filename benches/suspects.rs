//! What weighing causes by ten readings costs: the causes alone, and with the tests that are still to be made.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use oilwheel::balance::State;
use oilwheel::fault::{self, priors};
use oilwheel::input::unit::RPM;
use oilwheel::model::{Ask, Lookup, Setup};
use oilwheel::probe::{self, Reading, Readings};
use oilwheel::question::Request;
use oilwheel::question::suspects::Suspects;
use oilwheel::vary::forecast::{Row, Subject, Weights};
use oilwheel::vary::posterior::Evidence;
use std::hint::black_box;
use std::time::Instant;

const READ: [&str; 10] = [
    "fan-speed-idle-hot",
    "fan-speed-raised-hot",
    "fan-speed-3000-hot",
    "fan-speed-idle-cold",
    "fan-speed-raised-cold",
    "fan-speed-raised-hot-half",
    "fan-speed-raised-hot-unplugged",
    "supply-pressure-raised-hot",
    "return-pressure-raised-hot",
    "pump-speed-raised-cold",
];

/// Runs of which the shortest counts.
const RUNS: usize = 15;

/// What a light truck with a worn pump reads, engine speed and oil temperature a little off those of the tests.
fn readings(setup: &Setup) -> Vec<Reading> {
    let worn = fault::find("worn-pump").unwrap();
    let one = |(n, key): (usize, &&str)| {
        let probe = probe::find(key).unwrap();
        let mut setting = probe.setting;
        setting.oil_temp = Some(setting.oil_temp(&setup.machine) + 0.1 * n as f64);
        let case = worn.on(&setting.on(&setup.machine, &setup.case), 0.36);
        let value = probe.what.read(&case, &State::of(&case).unwrap().0);
        let (half, uniform) = probe.usual_error(&setup.machine, value);
        Reading {
            uniform,
            setting,
            engine_half: 5.0 * RPM,
            oil_temp_half: 2.0,
            ..Reading::of(probe, value, half)
        }
    };
    READ.iter().enumerate().map(one).collect()
}

fn shortest(name: &str, work: impl Fn()) {
    let run = || {
        let begin = Instant::now();
        work();
        begin.elapsed().as_secs_f64()
    };
    let best = (0..RUNS).map(|_| run()).fold(f64::INFINITY, f64::min);
    println!("{name}: {:.0} ms", 1e3 * best);
}

fn main() {
    let setup = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap();
    let priors = priors::Priors::from_text("priors", priors::EMBEDDED).unwrap();
    let readings = readings(&setup);
    let rows: Vec<Row> = readings.iter().map(|r| Row::of(r, false)).collect();
    let numbered = readings.iter().enumerate();
    let evidence: Vec<Evidence> = numbered.map(|(row, r)| Evidence::of(row, r)).collect();
    let subject = Subject {
        machine: &setup.machine,
        case: &setup.case,
        spread: &setup.spread,
        stop: &setup.stop,
    };
    shortest("ten readings, causes alone", || {
        let found = subject.forecast(&rows, &evidence, &Weights::of(&priors, false));
        black_box(found.unwrap());
    });
    let asked = |all| Suspects {
        setup: setup.clone(),
        readings: Readings {
            all,
            ..Readings::default()
        },
        well: None,
        priors: priors.clone(),
        skip: Vec::new(),
    };
    for (name, question) in [
        ("ten readings, with next tests", asked(readings)),
        ("no reading yet, with next tests", asked(Vec::new())),
    ] {
        shortest(name, || {
            black_box(question.answer().unwrap());
        });
    }
}
