//! Every fault, however gross, has a heat balance: a steady state, or the reason why there is none.

use oilwheel::balance::{Asked, warm};
use oilwheel::fault::{ALL, HEAT};
use oilwheel::input::unit::celsius;
use oilwheel::model::{Ask, Lookup, MACHINES};

/// Severities between 0 and 1; the campaign in CI sets `OILWHEEL_CASES` and takes more.
fn steps() -> usize {
    let campaign = std::env::var_os("OILWHEEL_CASES").is_some();
    if campaign { 40 } else { 10 }
}

/// Ambient temperature, °C, air conditioning and cabin heater.
const DAYS: [(f64, f64, f64); 5] = [
    (-15.0, 0.0, 1.0),
    (5.0, 1.0, 1.0),
    (18.0, 1.0, 1.0),
    (30.0, 0.0, 0.0),
    (38.0, 1.0, 0.0),
];

/// Where the fan is about to stop, the air downstream of the core and with it the oil's surfaces and the block change by
/// tens of kelvin within a few revolutions per minute; the balance must close there, too.
#[test]
fn no_fault_is_without_an_answer() {
    let (mut asked, mut none) = (0, Vec::new());
    for (name, _) in MACHINES {
        let setup = Ask::about(name).resolve(Lookup::LibraryOnly).unwrap();
        let speeds = [
            setup.case.now.engine_speed,
            setup.machine.usual.raised.value,
        ];
        for fault in ALL.iter().chain(HEAT) {
            if fault.applies(&setup.case).is_err() {
                continue;
            }
            for (step, speed, day) in conditions(speeds) {
                let (low, high) = fault.range;
                let severity = low + (high - low) * step;
                let mut case = fault.on(&setup.case, severity);
                case.now.engine_speed = speed;
                (case.now.ambient, case.now.air_conditioning) = (celsius(day.0), day.1);
                case.now.cabin_heater = day.2;
                asked += 1;
                if let Err(why) = warm(&case, Asked::STEADY) {
                    none.push(format!("{name}, {}={severity}, {day:?}: {why}", fault.key));
                }
            }
        }
    }
    assert!(none.is_empty(), "of {asked}: {}", none.join("\n"));
}

/// Every step of severity at every engine speed on every day.
fn conditions(speeds: [f64; 2]) -> impl Iterator<Item = (f64, f64, (f64, f64, f64))> {
    (1..=steps()).flat_map(move |k| {
        let step = k as f64 / steps() as f64;
        speeds
            .into_iter()
            .flat_map(move |speed| DAYS.map(|day| (step, speed, day)))
    })
}
