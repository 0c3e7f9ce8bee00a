//! Faults as values: nothing at severity zero, more and more beyond, and inside what a case accepts.

use crate::random::Random;
use oilwheel::balance::State;
use oilwheel::fault::{self, Fault};
use oilwheel::input::Input;
use oilwheel::model::{Ask, Case, Lookup, MACHINES};

/// The conditions in which a fault is looked at: engine at idle and at raised speed with the oil hot, and at raised
/// speed with the oil at 5 °C.
pub const CONDITIONS: [&str; 3] = ["idle_hot", "raised_hot", "raised_cold"];

/// The library's machines, and one whose valve caps the speed hot, as the trade's table has it in mind.
pub fn machines() -> Vec<(String, Ask)> {
    let mut all: Vec<_> = MACHINES
        .iter()
        .map(|(key, _)| ((*key).to_string(), Ask::about(key)))
        .collect();
    let mut capped = Ask::about("light-truck");
    capped.set.push("valve.high = 40 bar".into());
    all.insert(1, ("light-truck-capped".into(), capped));
    all
}

/// A machine in each of the conditions, at a command.
pub fn conditions(asked: &Ask, command: f64) -> [Case; 3] {
    CONDITIONS.map(|condition| {
        let (speed, temperature) = condition.split_once('_').unwrap();
        let mut asked = asked.clone();
        asked.engine_speed = Some(speed.into());
        asked.command = Some(command.to_string());
        if temperature == "cold" {
            asked.oil_temp = Some("5 °C".into());
            if !asked.set.iter().any(|s| s.contains("now.air_temp")) {
                asked.air_temp = Some("10 °C".into());
            }
        }
        asked.resolve(Lookup::LibraryOnly).unwrap().case
    })
}

/// How a fault shows, in per cent of what is read on the sound machine.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    pub severity: f64,
    /// Fan speed in each condition.
    pub speeds: [f64; 3],
    /// Gauge pressure at the pump, in the condition in which the speed changes most.
    pub supply: f64,
    /// Pressure over the motor, there too.
    pub motor: f64,
}

impl Reading {
    /// The change in a column of the trade's table.
    pub fn get(&self, column: &str) -> f64 {
        match CONDITIONS.iter().position(|c| *c == column) {
            Some(at) => self.speeds[at],
            None if column == "supply_pressure" => self.supply,
            None if column == "motor_pressure" => self.motor,
            None => panic!("no column: {column}"),
        }
    }
}

/// A fault at the severity at which the largest change of fan speed is `largest` per cent, or at full severity where it
/// stays below; nothing where the machine lacks the part.
pub fn reading(asked: &Ask, fault: &Fault, command: f64, largest: f64) -> Option<Reading> {
    let cases = conditions(asked, command);
    fault.applies(&cases[0]).ok()?;
    let sound = cases.map(|case| State::of(&case).unwrap().0);
    let at = |severity: f64| {
        let ill = cases.map(|case| State::of(&fault.on(&case, severity)).unwrap().0);
        let change = |of: fn(&State) -> f64, i: usize| 100.0 * (of(&ill[i]) / of(&sound[i]) - 1.0);
        let speeds = [0, 1, 2].map(|i| change(|s| s.fan_speed, i));
        let most = (0..3)
            .max_by(|i, j| speeds[*i].abs().total_cmp(&speeds[*j].abs()))
            .unwrap();
        Reading {
            severity,
            speeds,
            supply: change(|s| s.supply_gauge_pressure, most),
            motor: change(|s| s.motor_pressure_drop, most),
        }
    };
    let size = |r: &Reading| r.speeds.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
    let (mut low, mut high) = (0.0, 1.0);
    if size(&at(high)) > largest {
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if size(&at(middle)) > largest {
                high = middle
            } else {
                low = middle
            }
        }
    }
    Some(at(high))
}

fn random_cases(seed: u64, count: usize) -> Vec<Case> {
    let mut random = Random::new(seed);
    (0..count).map(|_| random.case()).collect()
}

/// The library's machines in all conditions.
fn library_cases() -> Vec<Case> {
    machines()
        .iter()
        .flat_map(|(_, asked)| [0.0, 0.5, 1.0].map(|c| conditions(asked, c)))
        .flatten()
        .collect()
}

fn has(fault: &Fault, case: &Case) -> bool {
    fault.applies(case).is_ok()
}

#[test]
fn severity_zero_changes_nothing() {
    let cases = [library_cases(), random_cases(11, 200)].concat();
    for case in &cases {
        let sound = State::of(case).unwrap().0;
        for fault in fault::ALL {
            let same = fault.on(case, fault.range.0);
            assert_eq!(same, *case, "{}", fault.key);
            assert_eq!(State::of(&same).unwrap().0, sound, "{}", fault.key);
        }
    }
}

#[test]
fn a_fault_changes_something_exactly_where_it_applies() {
    for case in [library_cases(), random_cases(12, 200)].concat() {
        for fault in fault::ALL {
            let changed = fault.on(&case, 0.5) != case;
            assert_eq!(changed, has(fault, &case), "{}\n{case:?}", fault.key);
        }
    }
}

#[test]
fn says_which_part_a_machine_lacks() {
    let bus = conditions(&Ask::about("bus"), 1.0)[0];
    let said = fault::find("belt-slip")
        .unwrap()
        .applies(&bus)
        .unwrap_err()
        .to_string();
    assert!(
        said.contains("`belt-slip`, but the machine file has no [belt]"),
        "{said}"
    );
}

#[test]
fn inputs_move_one_way_smoothly_and_stay_within_their_range() {
    const STEPS: i32 = 50;
    for case in [library_cases(), random_cases(13, 100)].concat() {
        for fault in fault::ALL {
            let (low, high) = fault.range;
            let at = |k: i32| fault.on(&case, low + (high - low) * f64::from(k) / f64::from(STEPS));
            let all: Vec<Case> = (0..=STEPS).map(at).collect();
            for input in Input::all() {
                let Some(values) = all
                    .iter()
                    .map(|c| c.get(input))
                    .collect::<Option<Vec<f64>>>()
                else {
                    continue;
                };
                let field = input.field();
                let (least, most) = (field.low.min(values[0]), field.high.max(values[0]));
                let inside = |v: &f64| *v >= least * (1.0 - 1e-12) && *v <= most * (1.0 + 1e-12);
                let key = input.key();
                assert!(values.iter().all(inside), "{} {key}: {values:?}", fault.key);
                let rises = values.windows(2).all(|w| w[1] >= w[0]);
                let falls = values.windows(2).all(|w| w[1] <= w[0]);
                assert!(rises || falls, "{} {key}: {values:?}", fault.key);
                // No step is more than a fifth of the way, but the first of a hole, which goes with the root.
                let way = (values[values.len() - 1] - values[0]).abs();
                let largest = values
                    .windows(2)
                    .map(|w| (w[1] - w[0]).abs())
                    .fold(0.0, f64::max);
                assert!(
                    largest <= 0.2 * way + 1e-12 * values[0].abs(),
                    "{} {key}: {values:?}",
                    fault.key
                );
            }
        }
    }
}

/// A fault that costs speed costs more the worse it is, at full command; thicker and thinner oil may do either. A part in
/// ten thousand is let pass: a regulator that holds less spares the suction, which gives a trace of speed back.
#[test]
fn a_worse_fault_never_makes_a_faster_fan() {
    for case in library_cases().into_iter().filter(|c| c.now.command > 0.9) {
        for fault in fault::ALL
            .iter()
            .filter(|f| !f.key.starts_with("oil-too") && has(f, &case))
        {
            let mut before = f64::INFINITY;
            for k in 0..=40 {
                let speed = State::of(&fault.on(&case, f64::from(k) / 40.0))
                    .unwrap()
                    .0
                    .fan_speed;
                assert!(
                    speed <= before * (1.0 + 1e-4),
                    "{} at {k}/40: {speed} after {before}",
                    fault.key
                );
                before = speed;
            }
        }
    }
}

/// Every fault reaches from nothing to a loss that nobody overlooks, on every machine that can have it.
#[test]
fn full_severity_is_gross_on_every_machine() {
    for (machine, asked) in machines() {
        for fault in fault::ALL {
            let command = if fault.key == "valve-stuck-full" {
                0.0
            } else {
                1.0
            };
            let Some(r) = reading(&asked, fault, command, f64::INFINITY) else {
                continue;
            };
            let most = r.speeds.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
            // Drag follows the root of viscosity, and a pump that is not worn leaks little: wrong oil is felt, no more.
            // Thin oil ends where oils end, with fuel in it: on a machine that leaks little it does not matter at all, and is left out.
            let gross = match fault.key {
                "oil-too-thin" => 1.0,
                "oil-too-thick" => 8.0,
                _ => 20.0,
            };
            assert!(most >= gross, "{machine} {}: {r:?}", fault.key);
        }
    }
}

#[test]
fn drag_shows_at_idle_at_low_command() {
    let drag = fault::find("motor-drag").unwrap();
    for (machine, asked) in machines() {
        let r = reading(&asked, drag, 0.0, 10.0).unwrap();
        assert!(
            r.speeds[0] <= -3.0 && r.speeds.iter().all(|s| *s <= 0.0),
            "{machine}: {r:?}"
        );
    }
}

/// Forcing the fail-safe settles whether the control asks too little: it gives back all of the speed, and gives back
/// nothing to any other fault.
#[test]
fn the_fail_safe_tells_the_control_from_the_rest() {
    for (machine, asked) in machines() {
        // Warm and at full engine speed: cold, a starved inlet may hold the fan whatever is asked for, and at less speed a
        // machine without a regulator needs so little pressure that a weak command does not show.
        let mut asked = asked.clone();
        asked.engine_speed = Some("full".into());
        let sound = asked.resolve(Lookup::LibraryOnly).unwrap().case;
        let speed = |case: &Case| State::of(case).unwrap().0.fan_speed;
        let unplugged = |case: &Case| {
            let mut case = *case;
            case.shape.unplugged = true;
            speed(&case)
        };
        for fault in fault::ALL.iter().filter(|f| has(f, &sound)) {
            let ill = fault.on(&sound, 0.8);
            let back = unplugged(&ill) / speed(&ill) - 1.0;
            if fault.key == "control-not-asking" {
                assert!(
                    back > 0.2 && (unplugged(&ill) / speed(&sound) - 1.0).abs() < 1e-9,
                    "{machine}: {back}"
                );
            } else {
                assert!(back.abs() < 1e-9, "{machine} {}: {back}", fault.key);
            }
        }
    }
}

#[test]
fn every_fault_is_told_in_full() {
    for fault in fault::ALL.iter().chain(fault::HEAT) {
        for words in [
            fault.key,
            fault.name,
            fault.severity,
            fault.shows,
            fault.confirm,
        ] {
            assert!(!words.is_empty(), "{}", fault.key);
        }
        assert!(fault.effort_minutes > 0.0 && !fault.hazards.is_empty());
    }
}

/// A fault changes no part that is not its own, so that what is said of a subsystem is true.
#[test]
fn a_fault_changes_the_subsystem_that_it_belongs_to() {
    use oilwheel::fault::Subsystem;
    let parts = |of: Subsystem| -> &[&str] {
        match of {
            Subsystem::Oil => &["oil"],
            Subsystem::Pump => &["pump"],
            Subsystem::Motor => &["motor"],
            Subsystem::Valve => &["valve", "relief", "regulator"],
            Subsystem::Control => &["control"],
            Subsystem::Line => &["suction", "screen", "supply", "return", "filter", "cooler"],
            Subsystem::Belt => &["belt"],
            Subsystem::AirSide => &["air", "core"],
            Subsystem::CoolantSide => &["core", "thermostat", "coolant_pump", "engine"],
        }
    };
    let case = conditions(&Ask::about("light-truck"), 1.0)[0];
    let mut seen = Vec::new();
    for fault in fault::ALL.iter().chain(fault::HEAT) {
        let faulty = fault.on(&case, 0.5);
        let changed = Input::all().filter(|i| faulty.get(*i) != case.get(*i));
        for input in changed {
            let own = parts(fault.of).contains(&input.part());
            assert!(own, "{}: {}", fault.key, input.key());
        }
        seen.push(fault.of);
    }
    assert!(Subsystem::ALL.iter().all(|of| seen.contains(of)));
}
