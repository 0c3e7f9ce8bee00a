//! Trips: cooling against the exponential, energy, tolerances, the steady end, events, and tables with mistakes.

use oilwheel::balance::{
    Asked, Capacities, Limit, Moment, NoSteadyState, Rules, SimulatedTrip, Stored, TripEvent,
    stays_hot, travel, travel_while, warm,
};
use oilwheel::fault::put_on;
use oilwheel::input::Input;
use oilwheel::input::unit::{RPM, celsius};
use oilwheel::model::{Ask, Case, Caution, Leg, Lookup, MACHINES, Machine, Profile, TRIPS};
use oilwheel::quantity::Units;
use oilwheel::question::basis::{self, AGAINST_OIL, MACHINE, WITH};
use oilwheel::question::heat::{self, Heat};
use oilwheel::question::trip::{self, Found, TRIP, Trip};
use oilwheel::question::{Outcome, Request, Series, Values};
use oilwheel::tell::{self, Block};
use oilwheel::trouble::{Cause, Stop};
use serde_json::{Map, Value};

use crate::cli::json;
use crate::random::Random;

fn machine(name: &str) -> (Machine, Case) {
    let setup = Ask::about(name).resolve(Lookup::LibraryOnly).unwrap();
    (setup.machine, setup.case)
}

fn truck() -> Case {
    machine("light-truck").1
}

/// The truck standing at idle for a time.
fn idling(case: &Case, seconds: f64) -> [Leg; 2] {
    [0.0, seconds].map(|time| Leg {
        time,
        now: case.now,
        command: None,
    })
}

fn trip_of(name: &str, trip: &str) -> (Case, Vec<Leg>) {
    let (machine, case) = machine(name);
    let legs = Lookup::LibraryOnly
        .trip(trip)
        .unwrap()
        .legs(&machine, &case)
        .unwrap();
    (case, legs)
}

fn run(case: &Case, legs: &[Leg], start: Stored, tolerance: f64) -> SimulatedTrip {
    let rules = Rules {
        tolerance,
        ..Rules::USUAL
    };
    travel(case, legs, start, rules).unwrap()
}

fn last(course: &SimulatedTrip) -> Stored {
    course.moments.last().unwrap().stored
}

#[test]
fn a_standing_engine_cools_along_the_exponentials_of_two_bodies() {
    // The engine stands: no heat, no coolant through the core, no oil moved. Metal and coolant are two bodies joined by a
    // conductance, which come together along exp(−K (1/Cm + 1/Cc) t) about their common temperature.
    let mut case = truck();
    case.now.engine_speed = 0.0;
    let engine = case.engine.as_mut().unwrap();
    (engine.surface, engine.slow_joined) = (0.0, 0.0);
    case.oil_heat.as_mut().unwrap().engine = 0.0;
    let start = Stored {
        metal: celsius(110.0),
        slow: celsius(100.0),
        coolant: celsius(60.0),
        core: case.now.ambient,
        oil: celsius(70.0),
    };
    let c = Capacities::of(&case).unwrap();
    let joined = case.engine.unwrap().metal_to_coolant;
    let common = (c.metal * start.metal + c.coolant * start.coolant) / (c.metal + c.coolant);
    let rate = joined * (1.0 / c.metal + 1.0 / c.coolant);
    let surface = case.oil_heat.unwrap().surface;
    let course = run(&case, &idling(&case, 300.0), start, 1.0);
    assert!(course.moments.len() > 20);
    for m in &course.moments {
        let fallen = (-rate * m.time).exp();
        let coolant = common + (start.coolant - common) * fallen;
        let metal = common + (start.metal - common) * fallen;
        assert!((m.stored.coolant - coolant).abs() < 1e-3, "{} s", m.time);
        assert!((m.stored.metal - metal).abs() < 1e-3, "{} s", m.time);
        // The oil gives heat to still air through its surfaces alone.
        let oil =
            case.now.ambient + (start.oil - case.now.ambient) * (-surface / c.oil * m.time).exp();
        assert!((m.stored.oil - oil).abs() < 1e-3, "{} s", m.time);
        assert!((m.stored.core - start.core).abs() < 1e-6);
    }
}

#[test]
fn energy_along_a_trip_closes() {
    for (trip, _) in TRIPS {
        for name in ["light-truck", "car"] {
            let (case, legs) = trip_of(name, trip);
            let course = run(&case, &legs, Stored::even(legs[0].now.ambient), 1.0);
            // What the air carried away is summed from its own warming, what came in from engine and drive.
            let left = course.heat_in - course.heat_out - course.heat_stored;
            assert!(course.heat_in > 1e6 && course.heat_stored.abs() > 1e5);
            assert!(
                left.abs() < 1e-5 * course.heat_in,
                "{name}, {trip}: {left} J of {} J",
                course.heat_in
            );
        }
    }
}

/// Stop and go with an engine that stops: standing still it burns and moves nothing, and whatever it does energy closes.
#[test]
fn stop_and_start_gets_on_and_closes() {
    let mut random = Random::new(23);
    for (name, _) in MACHINES {
        let (machine, case) = machine(name);
        let idle = machine.usual.idle.value;
        for _ in 0..12 {
            let ambient = celsius(random.even(-20.0, 42.0));
            let mut time = 0.0;
            let legs: Vec<Leg> = (0..30)
                .map(|_| {
                    let mut now = case.now;
                    let stands = random.chance(0.6);
                    now.engine_speed = match (stands, random.chance(0.6)) {
                        (true, true) => 0.0,
                        (true, false) => idle,
                        _ => idle * random.even(1.0, 2.5),
                    };
                    now.road_speed = if stands { 0.0 } else { random.even(0.0, 15.0) };
                    now.ambient = ambient;
                    now.air_conditioning = f64::from(u8::from(random.chance(0.5)));
                    let leg = Leg {
                        time,
                        now,
                        command: None,
                    };
                    time += random.log(0.5, 60.0);
                    leg
                })
                .collect();
            let start = Stored {
                oil: celsius(random.even(-10.0, 100.0)),
                core: celsius(random.even(45.0, 95.0)),
                ..Stored::even(celsius(random.even(60.0, 105.0)))
            };
            let course = travel(&case, &legs, start, Rules::USUAL)
                .unwrap_or_else(|t| panic!("{name}: {t}\n{start:?}\n{legs:#?}"));
            let left = course.heat_in - course.heat_out - course.heat_stored;
            assert!(
                left.abs() < 1e-5 * course.heat_in + 50.0,
                "{name}: {left} J of {} J",
                course.heat_in
            );
            for m in course.moments.iter().filter(|m| m.now.engine_speed <= 0.0) {
                let b = &m.budget;
                assert!(b.engine_heat.abs() + b.radiator_flow.abs() + b.ahead_heat.abs() < 1e-9);
                if m.now.road_speed <= 0.0 {
                    assert!(
                        m.fan_speed.abs() + b.airflow.mass.abs() + b.radiator_heat.abs() < 1e-9
                    );
                }
            }
        }
    }
}

/// A pump so worn that the fan stops as the oil warms and starts as it cools: there the balance has its edges.
#[test]
fn a_fan_about_to_stop_gets_on() {
    let mut stood = 0;
    for severity in [0.8, 0.84, 0.88, 0.92, 0.96, 1.0] {
        let mut setup = Ask::about("light-truck")
            .resolve(Lookup::LibraryOnly)
            .unwrap();
        let faults = [format!("worn-pump={severity}")];
        put_on(&mut setup, &faults, "with").unwrap();
        let case = setup.case;
        for oil in [20.0, 130.0] {
            let start = Stored {
                oil: celsius(oil),
                ..Stored::even(celsius(85.0))
            };
            let course = run(&case, &idling(&case, 3600.0), start, 1.0);
            let left = course.heat_in - course.heat_out - course.heat_stored;
            assert!(left.abs() < 1e-5 * course.heat_in, "{faults:?}: {left} J");
            let stands = |m: &Moment| m.limit == Limit::Standstill;
            stood += usize::from(
                course.moments.iter().any(stands) && !course.moments.iter().all(stands),
            );
        }
    }
    assert!(stood >= 1, "the edge was not met");
}

#[test]
fn a_tighter_tolerance_changes_little() {
    for (trip, _) in TRIPS {
        let (case, legs) = trip_of("light-truck", trip);
        let start = Stored::even(celsius(60.0));
        let usual = run(&case, &legs, start, 1.0);
        let tight = run(&case, &legs, start, 0.01);
        let (a, b) = (last(&usual), last(&tight));
        for (x, y) in [
            (a.metal, b.metal),
            (a.coolant, b.coolant),
            (a.core, b.core),
            (a.oil, b.oil),
        ] {
            assert!((x - y).abs() < 0.01, "{trip}: {a:?} {b:?}");
        }
    }
}

#[test]
fn the_steady_end_is_what_heat_answers() {
    let mut tried = 0;
    for (name, _) in MACHINES {
        let mut case = machine(name).1;
        case.fan_control.as_mut().unwrap().hysteresis = 0.0;
        for (ambient, speed, turns) in [(25.0, 0.0, 1.0), (35.0, 0.0, 1.6), (30.0, 15.0, 2.2)] {
            case.now.ambient = celsius(ambient);
            case.now.road_speed = speed;
            case.now.engine_speed = machine(name).0.usual.idle.value * turns;
            let steady = warm(&case, Asked::STEADY).unwrap();
            if steady.heats.is_some() {
                continue;
            }
            tried += 1;
            let course = run(
                &case,
                &idling(&case, 6.0 * 3600.0),
                Stored::even(celsius(50.0)),
                1.0,
            );
            let end = last(&course);
            let b = &steady.budget;
            assert!(
                (end.coolant - b.coolant_temp).abs() < 0.02 && (end.oil - b.oil_temp).abs() < 0.02,
                "{name} at {ambient} °C: {end:?}, not {} and {}",
                b.coolant_temp,
                b.oil_temp
            );
            // What the state begins with when it begins settled is where it ends.
            let settled = Stored::settled(&steady).unwrap();
            assert!((end.core - settled.core).abs() < 0.02);
            assert!((end.metal - settled.metal).abs() < 0.02);
        }
    }
    assert!(tried >= 10, "{tried}");
}

/// From cold for 12 h at idle.
fn from_cold(case: &Case) -> SimulatedTrip {
    let cold = Stored::even(case.now.ambient);
    run(case, &idling(case, 12.0 * 3600.0), cold, 1.0)
}

/// A slow fan whose oil warms up with the air has a cool and a hot steady state: `heat` gives the one that a machine reaches
/// from cold, and a hotter day is no cooler.
#[test]
fn of_two_steady_states_heat_gives_the_one_reached_from_cold() {
    let (_, mut case) = machine("light-truck");
    case = oilwheel::fault::find("worn-pump").unwrap().on(&case, 0.7);
    case.fan_control.as_mut().unwrap().hysteresis = 0.0;
    case.now.air_conditioning = 1.0;
    let (mut before, mut hot) = (0.0, 0);
    for day in [8.0, 10.0, 12.0, 12.5, 13.0, 14.0, 16.0, 20.0] {
        case.now.ambient = celsius(day);
        let steady = warm(&case, Asked::STEADY).unwrap();
        let course = from_cold(&case);
        assert_eq!(steady.heats.is_some(), course.boiled, "{day} °C");
        let there = steady.budget.coolant_temp;
        assert!(there >= before, "{day} °C: {there} after {before}");
        if steady.heats.is_none() {
            let end = last(&course).coolant;
            assert!((there - end).abs() < 0.1, "{day} °C: {there}, not {end}");
            hot += i32::from(stays_hot(&steady, Asked::STEADY).is_some_and(|t| t > there));
        }
        before = there;
    }
    assert!(hot > 0, "no second state");
    case = machine("light-truck").1;
    let steady = warm(&case, Asked::STEADY).unwrap();
    assert_eq!(stays_hot(&steady, Asked::STEADY), None);
}

/// Below the temperature at which the control asks for the fan, no air flows: that is no reason to boil.
#[test]
fn a_fan_that_stands_until_it_is_requested_does_not_boil() {
    let mut tried = 0;
    for (name, _) in MACHINES {
        for begins in [85.0, 95.0] {
            let mut case = machine(name).1;
            case.now.ambient = celsius(20.0);
            case.valve.low = 1e5;
            let control = case.fan_control.as_mut().unwrap();
            (control.begins, control.full) = (celsius(begins), celsius(begins + 7.0));
            control.hysteresis = 0.0;
            let steady = warm(&case, Asked::STEADY).unwrap();
            assert_eq!(steady.heats, None, "{name}");
            let (there, end) = (steady.budget.coolant_temp, last(&from_cold(&case)).coolant);
            assert!((there - end).abs() < 0.5, "{name}: {there}, not {end}");
            tried += 1;
        }
    }
    assert!(tried == 8);
}

/// A core at 90 °C in still air: by hand, with 10 W/(m² K) on both faces at 70 K and falling with the cube root of the
/// difference, that rate is r = 20 A/C and the difference is 70 K·(1 + r t/3)⁻³.
#[test]
fn a_parked_core_cools_down() {
    let mut case = truck();
    (case.now.engine_speed, case.now.ambient) = (0.0, celsius(20.0));
    let start = Stored::even(celsius(90.0));
    let course = run(&case, &idling(&case, 4.0 * 3600.0), start, 1.0);
    let core = case.core.unwrap();
    let rate = 20.0 * core.face / core.heat_capacity;
    for m in &course.moments {
        let by_hand = 20.0 + 70.0 * (1.0 + rate * m.time / 3.0).powi(-3);
        let there = m.stored.core - 273.15;
        assert!(
            (there - by_hand).abs() < 0.05,
            "{} s: {there}, {by_hand}",
            m.time
        );
    }
    assert!(last(&course).core < celsius(25.0));
    let left = course.heat_in - course.heat_out - course.heat_stored;
    assert!(left.abs() < 1e-3 * course.heat_stored.abs(), "{left} J");
}

/// An engine that is off burns nothing and needs no power.
#[test]
fn a_parked_machine_has_no_share_of_fuel_and_lacks_no_power() {
    let rows = "time_min,road_speed_km_h,ambient_c,engine_speed_rpm,coolant_c,oil_c\n0,0,20,0,90,80\n240,0,20,0,,\n";
    let request = asked(&along(rows));
    let outcome = found(&request);
    let lacks = |c: &Caution| *c == Caution::EngineLacksPower;
    assert!(!outcome.cautions.iter().any(lacks));
    let told = tell::trip::tell(&request, &outcome);
    let cells = told.blocks.iter().filter_map(|b| match b {
        Block::Table(table) => Some(table.rows.iter().flatten()),
        _ => None,
    });
    assert!(cells.flatten().all(|cell| !cell.contains("NaN")));
}

#[test]
fn events_are_found_to_ten_milliseconds() {
    // When, and how fast the coolant's temperature changes there, K/s.
    let times = |trip: &str, start: f64, tolerance: f64, what: TripEvent| -> Vec<(f64, f64)> {
        let (case, legs) = trip_of("light-truck", trip);
        let course = run(&case, &legs, Stored::even(celsius(start)), tolerance);
        let events = course.events.iter().filter(|e| e.1 == what);
        let rate = |time: f64| {
            let after = course.moments.partition_point(|m| m.time < time).max(1);
            let pair = [after - 1, after.min(course.moments.len() - 1)].map(|i| &course.moments[i]);
            (pair[1].stored.coolant - pair[0].stored.coolant) / (pair[1].time - pair[0].time)
        };
        events.map(|e| (e.0, rate(e.0))).collect()
    };
    for (trip, start, what) in [
        ("cold-start", -10.0, TripEvent::ThermostatOpens),
        ("tow", 20.0, TripEvent::ThermostatOpens),
        ("tow", 20.0, TripEvent::FanAsked),
        ("tow", 20.0, TripEvent::CommandStands),
    ] {
        let usual = times(trip, start, 1.0, what);
        let tight = times(trip, start, 1e-3, what);
        assert!(!usual.is_empty(), "{trip}: {what:?}");
        // Where the coolant hardly moves, a tenth of a millikelvin is more time than that.
        let ((usual, _), (tight, rate)) = (usual[0], tight[0]);
        assert!(
            (usual - tight).abs() < 0.01_f64.max(1e-4 / rate.abs()),
            "{trip}, {what:?}: {usual} {tight}, {rate} K/s"
        );
    }
    // The thermostat opens where the track passes its temperature.
    let (case, legs) = trip_of("light-truck", "cold-start");
    let course = run(&case, &legs, Stored::even(celsius(-10.0)), 1.0);
    let opens = case.thermostat.unwrap().opens;
    let at = times("cold-start", -10.0, 1.0, TripEvent::ThermostatOpens)[0].0;
    let near = course
        .moments
        .iter()
        .min_by(|a, b| (a.time - at).abs().total_cmp(&(b.time - at).abs()))
        .unwrap();
    assert!((near.time - at).abs() < 1e-6 && (near.stored.coolant - opens).abs() < 1e-6);
}

#[test]
fn the_control_waits_and_keeps_its_band() {
    // Driven up and down by the road: after each turn the command stands until the coolant has left the band and the delay
    // has run.
    let (mut case, legs) = trip_of("light-truck", "jam");
    let control = case.fan_control.as_mut().unwrap();
    (control.hysteresis, control.delay) = (1.0, 5.0);
    control.begins = celsius(92.0);
    let control = *control;
    let course = run(&case, &legs, Stored::even(celsius(95.0)), 1.0);
    let stands: Vec<f64> = course
        .events
        .iter()
        .filter(|e| e.1 == TripEvent::CommandStands)
        .map(|e| e.0)
        .collect();
    assert!(!stands.is_empty());
    let mut held = 0;
    for pair in course.events.windows(2) {
        if let [
            (from, TripEvent::CommandStands),
            (to, TripEvent::CommandMoves),
        ] = pair
        {
            assert!(to - from >= control.delay - 1e-6);
            let between: Vec<f64> = course
                .moments
                .iter()
                .filter(|m| m.time > from + 1e-6 && m.time < to - 1e-6)
                .map(|m| m.now.command)
                .collect();
            for pair in between.windows(2) {
                assert!((pair[0] - pair[1]).abs() < 1e-12, "at {from}: {between:?}");
            }
            held += between.len();
        }
    }
    assert!(held > 0);
    for m in &course.moments {
        // Never more than the band and what the delay lets pass away from the ramp: the coolant moves less than 0.3 K/s.
        let least = control.command(m.stored.coolant - 2.5, m.now.air_conditioning);
        let most = control.command(m.stored.coolant + 2.5, m.now.air_conditioning);
        assert!((least..=most).contains(&m.now.command), "{} s", m.time);
    }
}

#[test]
fn a_core_without_air_boils_the_coolant_and_ends_the_trip() {
    let mut case = truck();
    case.now.ambient = celsius(45.0);
    case.now.engine_speed = 2500.0 * RPM;
    case.now.work = 40e3;
    case.core.as_mut().unwrap().blocked = 0.95;
    assert_eq!(
        warm(&case, Asked::STEADY).unwrap().heats,
        Some(NoSteadyState::Coolant)
    );
    let course = run(
        &case,
        &idling(&case, 7200.0),
        Stored::even(celsius(80.0)),
        1.0,
    );
    assert!(course.boiled);
    let told: Vec<TripEvent> = course.events.iter().map(|e| e.1).collect();
    let place = |what: TripEvent| told.iter().position(|w| *w == what).unwrap();
    assert!(place(TripEvent::LimitReached) < place(TripEvent::MayBoil));
    assert!(place(TripEvent::MayBoil) < place(TripEvent::Boils));
    assert_eq!(told.last(), Some(&TripEvent::Boils));
}

#[test]
fn every_trip_runs_on_every_machine() {
    for (name, _) in MACHINES {
        for (trip, _) in TRIPS {
            let (case, legs) = trip_of(name, trip);
            let course = run(&case, &legs, Stored::even(celsius(70.0)), 1.0);
            assert!(course.moments.len() > 10);
            let times: Vec<f64> = course.track.iter().map(|p| p.0).collect();
            assert!(times.windows(2).all(|w| w[0] <= w[1]), "{name}, {trip}");
            let end = legs.last().unwrap().time;
            assert!(course.boiled || (course.track.last().unwrap().0 - end).abs() < 1e-6);
        }
    }
}

#[test]
fn a_failed_balance_ends_the_trip_with_its_time() {
    let case = truck();
    let mut legs = idling(&case, 300.0).to_vec();
    legs.push(Leg {
        time: 600.0,
        ..legs[1]
    });
    legs[2].now.ambient = f64::NAN;
    let trouble = travel(&case, &legs, Stored::even(celsius(80.0)), Rules::USUAL).unwrap_err();
    assert_eq!(trouble.cause, Cause::NoAnswer);
    let said = trouble.to_string();
    assert!(said.contains("after 5 min 0.0 s of the trip: "), "{said}");
}

fn refused(text: &str) -> String {
    let all = Profile::from_text("mine.csv", text).unwrap_err();
    let said: Vec<String> = all.iter().map(ToString::to_string).collect();
    said.join("\n")
}

#[test]
fn tables_with_mistakes_are_told_line_and_column() {
    for (text, says) in [
        ("", "neither headings nor rows"),
        ("time_s,ambient_c\n", "no rows"),
        ("time_s,ambient_c\n0,20\n", "one row"),
        (
            "time_s,ambient_c\n5,20\n5,20\n",
            "all rows have the same time",
        ),
        (
            "time_s,ambient_c\n0,20\n20,20\n10,20\n",
            "mine.csv:4:1: time jumps back, from 20 s to 10 s",
        ),
        (
            "time_s,ambient_c\n0,20\n20,warm\n",
            "mine.csv:3:4: `warm` for ambient; expected a number in °C",
        ),
        ("time_s,ambient_c\n0,20\n20,900\n", "mine.csv:3:4: 900 °C"),
        ("time_s,ambient_c\n0,20\n20,inf\n", "mine.csv:3:4: `inf`"),
        (
            "time_s,ambiant_c\n0,20\n20,20\n",
            "mine.csv:1:8: unknown column `ambiant_c`",
        ),
        (
            "ambient_c\n20\n",
            "mine.csv:1:1: the table has no column for time",
        ),
        (
            "time_s,ambient_c\n0,20\n,20\n",
            "mine.csv:3:1: this row has no time",
        ),
        (
            "time_s,ambient_c\n0,20,3\n5,20\n",
            "mine.csv:2:1: this row has 3 cells; expected at most 2, one for each heading",
        ),
        (
            "time_s,time_min\n0,0\n5,1\n",
            "mine.csv:1:8: a second column for time",
        ),
    ] {
        let said = refused(text);
        assert!(said.contains(says), "{text:?}\n{said}");
    }
    // Every mistake at once.
    assert_eq!(
        refused("time_s,ambient_c\nx,20\n20,y\n30,z\n")
            .lines()
            .count(),
        3
    );
}

#[test]
fn missing_columns_and_cells_take_what_is_usual() {
    let (machine, case) = machine("light-truck");
    let read = |text: &str| Profile::from_text("x", text).unwrap().legs(&machine, &case);
    let legs = read("time_s,road_speed_km_h,command\n10,0,\n20,60,1\n30,,automatic\n").unwrap();
    assert_eq!(legs.len(), 3);
    assert!(legs[0].time.abs() < 1e-12 && (legs[2].time - 20.0).abs() < 1e-12);
    assert!((legs[0].now.ambient - case.now.ambient).abs() < 1e-12);
    assert!((legs[0].now.engine_speed - machine.usual.idle.value).abs() < 1e-12);
    assert_eq!(
        legs.iter().map(|l| l.command).collect::<Vec<_>>(),
        [None, Some(1.0), None]
    );
    // An empty cell keeps what was.
    assert!((legs[2].now.road_speed - 60.0 / 3.6).abs() < 1e-12);
    // Top gear at 60 km/h, by hand: 16.667 / 0.38 · 3.73 · 1 = 163.6 rad/s in third; fourth would lug.
    assert!((legs[1].now.engine_speed - 163.6).abs() < 0.05);
    let said = read("time_s,road_speed_km_h,gear\n0,0,1\n9,200,1\n").unwrap_err();
    let said: Vec<String> = said.iter().map(ToString::to_string).collect();
    assert!(
        said[0].starts_with("x:3:1: in gear 1 the engine would turn at"),
        "{said:?}"
    );
}

/// The truck on a trip of the library.
fn on(trip: &str) -> Values {
    Values::new(Units::Si, Lookup::LibraryOnly)
        .with(&MACHINE, "light-truck")
        .with(&TRIP, trip)
}

/// The truck on a trip of its own.
fn along(rows: &str) -> Values {
    let mut values = Values::new(Units::Si, Lookup::LibraryOnly).with(&MACHINE, "light-truck");
    values.push_text("trip", "x", rows);
    values
}

fn asked(values: &Values) -> Trip {
    Trip::read(values).unwrap()
}

fn found(request: &Trip) -> Found {
    request.answer().unwrap()
}

#[test]
fn a_fault_is_compared_with_the_healthy_machine() {
    let found = found(&asked(&on("jam").with(&WITH, "core-blocked-outside=1")));
    let n = found.object();
    let hotter = n["peak_difference_k"].as_f64().unwrap();
    assert!(hotter > 0.5, "a blocked core is no cooler: {hotter}");
    let other = n["against"]["peak_coolant_temp_c"].as_f64().unwrap();
    let here = n["peak_coolant_temp_c"].as_f64().unwrap();
    assert!((here - other - hotter).abs() < 1e-9);
    for key in [
        "peak_coolant_time_s",
        "peak_oil_temp_c",
        "time_to_limit_s",
        "above_limit_s",
        "above_boiling_s",
        "fan_speed_mean_rpm",
        "may_idle_s",
        "heat_in_j",
        "events",
        "limits",
    ] {
        assert!(n.contains_key(key), "{key}");
    }
    let series = Series::of(&found.series);
    assert_eq!(series.heads[0], "time_s");
    assert_eq!(
        series.heads[15..],
        [
            "coolant_temp_against_c",
            "oil_temp_against_c",
            "fan_speed_against_rpm"
        ]
    );
    assert!(series.rows.iter().all(|r| r.len() == 18));
}

/// The truck standing at idle for a minute, from its steady state: its peak is its steady end.
fn standing() -> Trip {
    asked(&along(
        "time_s,road_speed_km_h,ambient_c\n0,0,30\n60,0,30\n",
    ))
}

/// Least and greatest peak of the coolant among machines drawn, °C.
fn peaks(numbers: &Map<String, Value>) -> [f64; 2] {
    ["low", "high"].map(|end| {
        let key = format!("peak_coolant_temp_{end}_c");
        numbers["spread"][key].as_f64().unwrap()
    })
}

#[test]
fn the_spread_of_a_steady_end_is_that_of_heat() {
    let numbers = found(&standing()).object();
    let [low, high] = peaks(&numbers);
    let values = Values::new(Units::Si, Lookup::LibraryOnly)
        .with(&MACHINE, "light-truck")
        .with(&heat::AMBIENT, "30 C");
    let steady = Heat::read(&values).unwrap().answer().unwrap().object();
    let at = |key: &str| steady[key].as_f64().unwrap();
    let peak = numbers["peak_coolant_temp_c"].as_f64().unwrap();
    assert!((peak - at("coolant_temp_c")).abs() < 0.1, "{peak}");
    // Of 24 of a normal distribution the ends lie 3.895 sigmas apart in the mean, one sigma of that being 0.712 (d2 and d3 of
    // common control chart tables, from memory); 95 % of it lie within 3.92 sigmas. Three sigmas of chance either way.
    let ratio = (high - low) / (at("coolant_temp_high_c") - at("coolant_temp_low_c"));
    assert!((0.45..1.54).contains(&ratio), "{low} to {high}: {ratio}");
    assert!(low < peak && peak < high);
}

#[test]
fn without_any_plus_and_minus_there_is_no_spread() {
    let mut request = standing();
    let spread = &mut request.side.setup.spread;
    for input in oilwheel::vary::sample::uncertain(spread) {
        *spread.slot(input).unwrap() = 0.0;
    }
    let numbers = found(&request).object();
    let [low, high] = peaks(&numbers);
    let peak = numbers["peak_coolant_temp_c"].as_f64().unwrap();
    assert!((low - peak).abs() < 1e-12 && (high - peak).abs() < 1e-12);
}

/// The time to the limit at idle after a trip is when machines reach the limit in the same trip with idling put to its end.
#[test]
fn idling_on_is_the_trip_with_idling_at_its_end() {
    const DRIVEN: f64 = 600.0;
    let gone = |rows: &str| {
        let head =
            "time_s,road_speed_km_h,ambient_c,engine_speed_rpm\n0,60,40,1800\n600,60,40,1800\n";
        let values = along(&format!("{head}{rows}")).with(&WITH, "worn-pump=0.8");
        found(&asked(&values)).object()
    };
    let [short, long] = ["", "601,0,40,700\n4201,0,40,700\n"].map(gone);
    let seconds = |n: &serde_json::Value| n.as_f64().unwrap_or(f64::INFINITY);
    let pairs = [
        (&short["may_idle_s"], &long["time_to_limit_s"]),
        (
            &short["spread"]["may_idle_low_s"],
            &long["spread"]["time_to_limit_low_s"],
        ),
        (
            &short["spread"]["may_idle_high_s"],
            &long["spread"]["time_to_limit_high_s"],
        ),
    ];
    let mut reached = 0;
    for (left, whole) in pairs.map(|(a, b)| (seconds(a), seconds(b) - DRIVEN)) {
        if left.is_finite() || whole.is_finite() {
            assert!((left - whole).abs() < 5.0, "{left} s and {whole} s");
            reached += 1;
        }
    }
    assert!(reached >= 2, "the limit is reached");
}

/// A trailer weighs nothing where a machine stands, however little is known of it: the two sides are the same.
#[test]
fn an_input_that_is_uncertain_on_one_side_alone_does_not_part_the_draws() {
    let mut request = standing();
    let mut side = request.side.clone();
    let trailer = Input::find("now.trailer").unwrap();
    *side.setup.spread.slot(trailer).unwrap() = 500.0;
    let (oil, oil_temp, with) = (false, false, false);
    request.against = Some(trip::Against {
        side,
        oil,
        oil_temp,
        with,
    });
    let numbers = found(&request).object();
    for key in ["peak_difference_low_k", "peak_difference_high_k"] {
        let apart = numbers[key].as_f64().unwrap();
        assert!(apart.abs() < 1e-9, "{key}: {apart}");
    }
}

#[test]
fn the_spread_does_not_turn_on_how_many_threads_there_are() {
    let of = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        let pool = pool.build().unwrap();
        pool.install(|| found(&standing())).object()["spread"].clone()
    };
    assert_eq!(of(1), of(3));
}

/// A name too long for a column's head is not cut in pieces.
#[test]
fn a_long_name_heads_no_column() {
    let values = along("time_s,road_speed_km_h,ambient_c\n0,0,30\n60,0,30\n")
        .with(&trip::AGAINST_OIL_AT, "20 C")
        .with(&trip::AGAINST_FAULT, "worn-pump=0.4");
    let request = asked(&values);
    let told = tell::trip::tell(&request, &found(&request));
    let heads = told.blocks.iter().find_map(|b| match b {
        Block::Table(table) => Some(&table.heads),
        _ => None,
    });
    let heads = heads.unwrap();
    assert!(heads.contains(&"compared with it".to_string()), "{heads:?}");
    let said = |text: &str| {
        told.blocks
            .iter()
            .any(|b| matches!(b, Block::Sentence(s) if s.contains(text)))
    };
    assert!(said("(oil initially at 20 °C, worn-pump=0.4)"));
}

/// What is given and changes nothing is named; what the trip does use is not.
#[test]
fn flags_without_effect_are_named() {
    let values = along("time_s,road_speed_km_h,ambient_c\n0,0,30\n60,0,30\n")
        .with(&basis::ENGINE_SPEED, "raised")
        .with(&basis::AIR_TEMP, "60 C")
        .with(&trip::OIL_TEMP, "40 C");
    let cautions = found(&asked(&values)).cautions;
    let named: Vec<&str> = cautions
        .iter()
        .filter_map(|c| match c {
            Caution::NoEffect { field } => Some(*field),
            _ => None,
        })
        .collect();
    assert_eq!(named, ["engine_speed", "air_temp"]);
}

/// The oil's cautions are about the temperatures that it has on the way, not about a usual one.
#[test]
fn oil_cautions_are_those_of_the_trip() {
    let rows = "time_s,road_speed_km_h,ambient_c\n0,0,-40\n60,0,-40\n";
    let cold = found(&asked(&along(rows).with(&trip::COLD, "on")));
    let below =
        |c: &Caution| matches!(c, Caution::OilBelowData { at, .. } if (at - 233.15).abs() < 1e-6);
    assert!(cold.cautions.iter().any(below), "{:?}", cold.cautions);
    let mild = found(&standing());
    assert!(!mild.cautions.iter().any(|c| c.key().starts_with("oil")));
}

#[test]
fn what_is_wrong_with_a_trip_is_told_at_once() {
    let values = on("jamm")
        .with(&WITH, "gremlins=1")
        .with(&AGAINST_OIL, "no-oil")
        .with(&trip::AGAINST_OIL_AT, "900 C");
    let all = Trip::read(&values).unwrap_err();
    let said: Vec<String> = all.iter().map(ToString::to_string).collect();
    let said = said.join("\n");
    for word in ["did you mean `jam`?", "gremlins", "no-oil"] {
        assert!(said.contains(word), "{said}");
    }
    let fields: Vec<&str> = all.iter().map(|t| t.spot.field.as_str()).collect();
    assert_eq!(fields, ["trip", "with", "against_oil", "against_oil_temp"]);
}

#[test]
fn a_trip_ends_when_nobody_waits_for_it() {
    let case = truck();
    let legs = idling(&case, 3600.0);
    let stop = Stop::able();
    stop.stop();
    let start = Stored::even(celsius(80.0));
    let trouble = travel_while(&case, &legs, start, Rules::USUAL, &stop).unwrap_err();
    assert!(trouble.to_string().contains("cancelled"), "{trouble}");
}

/// A trip that stands still in its steady state: the pump's power is what `speed --warm` has there, its energy that times the time,
/// and the fuel for it what `heat` burns more for as much other work, at a fan and an oil that are held.
#[test]
fn the_pumps_energy_and_its_fuel() {
    let path = std::env::temp_dir().join(format!("oilwheel-energy-{}.csv", std::process::id()));
    let table = "time_s,engine_speed_rpm,ambient_c,command\n0,1500,25,1\n600,1500,25,1\n";
    std::fs::write(&path, table).unwrap();
    let answer = json(&["trip", "light-truck", path.to_str().unwrap()]);
    let number = |value: &serde_json::Value, key: &str| value[key].as_f64().unwrap();
    let steady = json(&[
        "speed",
        "light-truck",
        "--warm",
        "--engine-speed",
        "1500 rpm",
    ]);
    let power = number(&steady, "pump_shaft_power_w");
    for key in ["pump_shaft_power_mean_w", "pump_shaft_power_greatest_w"] {
        let told = number(&answer, key);
        // Set before the first run: the trip begins in the steady state.
        assert!(
            (told / power - 1.0).abs() < 1e-4,
            "{key}: {told} and {power}"
        );
    }
    assert!((number(&answer, "pump_energy_j") / (600.0 * power) - 1.0).abs() < 1e-4);
    let held = |load: &str| {
        let args = [
            "heat",
            "light-truck",
            "--engine-speed",
            "1500 rpm",
            "--fan-speed",
            "1500 rpm",
            "--oil-temp",
            "80 C",
        ];
        number(
            &json(&[&args[..], &["--load", load]].concat()),
            "fuel_heat_w",
        )
    };
    let per_watt = (held("10 kW") - held("5 kW")) / 5e3;
    let fuel = number(&answer, "pump_fuel_heat_j") / number(&answer, "pump_energy_j");
    // To half a percent, set before the first run: the warmer air turns the fan a little easier.
    assert!(
        (fuel / per_watt - 1.0).abs() < 5e-3,
        "{fuel} and {per_watt}"
    );
    assert!(number(&answer, "fuel_heat_j") > number(&answer, "pump_fuel_heat_j"));
    std::fs::remove_file(path).unwrap();
}

/// Variants in one table: each is the trip of that machine alone, and what is typed wrong is named with its variant.
#[test]
fn a_variant_is_the_trip_of_that_machine() {
    let pump = "pump.displacement=9 cm3/rev";
    let answer = json(&[
        "trip",
        "light-truck",
        "jam",
        "--variant",
        &format!("small pump: {pump}"),
        "--variant",
        "other oil, worn: oil iso-vg-32; with worn-pump=0.4",
        "--variant",
        "bus: machine bus",
    ]);
    let alone = [
        json(&["trip", "light-truck", "jam", "--set", pump]),
        json(&[
            "trip",
            "light-truck",
            "jam",
            "--oil",
            "iso-vg-32",
            "--with",
            "worn-pump=0.4",
        ]),
        json(&["trip", "bus", "jam"]),
    ];
    let variants = answer["variants"].as_array().unwrap();
    assert_eq!(variants.len(), 3);
    for (variant, alone) in variants.iter().zip(&alone) {
        for key in [
            "peak_coolant_temp_c",
            "peak_oil_temp_c",
            "pump_energy_j",
            "fuel_heat_j",
            "time_to_limit_s",
            "above_limit_s",
        ] {
            assert!(alone.get(key).is_some(), "{key}");
            assert_eq!(variant[key], alone[key], "{} {key}", variant["name"]);
        }
    }
    assert_eq!(variants[1]["name"], "other oil, worn");
    for (words, says) in [
        ("small pump", "does not begin with a name and a colon"),
        ("a: pump=3", "part.key=value"),
        ("a: pump.displ=3", "variant `a`: no input called"),
        ("a: oil foo", "variant `a`: no oil called `foo`"),
        ("a: with worm-pump=0.3", "did you mean `worn-pump`"),
    ] {
        let said = crate::cli::fails(&["trip", "bus", "jam", "--variant", words], 2);
        assert!(said.contains(says) && said.contains("--variant"), "{said}");
    }
    let twice = [
        "--variant",
        "a: oil iso-vg-32",
        "--variant",
        "a: oil iso-vg-46",
    ];
    let said = crate::cli::fails(&[&["trip", "bus", "jam"], &twice[..]].concat(), 2);
    assert!(said.contains("two variants are called `a`"), "{said}");
}

/// Steady temperatures waver in the dense output; that must not throw away what was integrated behind it.
#[test]
fn a_trip_of_twice_the_length_takes_twice_the_work() {
    let (_, mut case) = machine("off-road");
    case.now.work = 25e3;
    case.now.engine_speed = 2200.0 * RPM;
    let inputs = ["pump.slip", "core.conductance", "oil_heat.surface"];
    for (input, by) in inputs.into_iter().flat_map(|i| [(i, 0.9), (i, 1.1)]) {
        let input = Input::find(input).unwrap();
        let case = case.with(input, case.get(input).unwrap() * by);
        let found = warm(&case, Asked::STEADY).unwrap();
        let start = Stored::settled(&found).unwrap();
        let solves = |hours: f64| run(&case, &idling(&case, 3600.0 * hours), start, 100.0).solves;
        let [one, four] = [1.0, 4.0].map(solves);
        assert!(four < 6 * one, "{one} solves in one hour, {four} in four");
    }
}

/// What stays at its limit does not cross it.
#[test]
fn a_trip_at_the_limit_does_not_say_that_it_is_reached() {
    let mut case = truck();
    case.now.ambient = celsius(38.0);
    let found = warm(&case, Asked::STEADY).unwrap();
    let start = Stored::settled(&found).unwrap();
    for above in [-1e-6, 0.0, 1e-6] {
        let mut there = case;
        there.coolant.as_mut().unwrap().limit = found.budget.coolant_temp + above;
        let course = run(&there, &idling(&there, 3600.0), start, 1.0);
        let told =
            |e: &(f64, TripEvent)| matches!(e.1, TripEvent::LimitReached | TripEvent::LimitLeft);
        assert!(
            !course.events.iter().any(told),
            "{above}: {:?}",
            course.events
        );
    }
}
