//! Writes coupled heat solves of the light truck in varied conditions as JSON, for the peer in Python:
//! `cargo run --release --example dump-heat -- 60`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use oilwheel::balance::{Asked, Warm, warm};
use oilwheel::input::Input;
use oilwheel::input::unit::{RPM, celsius};
use oilwheel::model::{Ask, Case, Lookup, OILS};
use oilwheel::part::LUGGING;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::{Map, json};
use std::hint::black_box;
use std::time::Instant;

/// How often each solve is repeated; its best time counts.
const TURNS: u32 = 50;

/// Between two values, evenly.
fn even(random: &mut ChaCha8Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * random.random::<f64>()
}

/// A condition of the light truck, and how it stands.
fn drawn(random: &mut ChaCha8Rng) -> Case {
    let which = even(random, 0.0, OILS.len() as f64) as usize;
    let mut ask = Ask::about("light-truck");
    ask.oil = Some(OILS[which.min(OILS.len() - 1)].0.into());
    let mut case = ask.resolve(Lookup::LibraryOnly).unwrap().case;
    let now = &mut case.now;
    now.ambient = celsius(even(random, -5.0, 42.0));
    now.altitude = even(random, 0.0, 2500.0);
    now.air_conditioning = even(random, 0.0, 1.0);
    now.engine_speed = even(random, 700.0, 2500.0) * RPM;
    if random.random::<f64>() < 0.6 {
        now.road_speed = even(random, 5.0, 30.0);
        now.grade = even(random, 0.0, 0.07);
        if random.random::<f64>() < 0.5 {
            now.trailer = even(random, 300.0, 1500.0);
        }
        let vehicle = case.vehicle.unwrap();
        let gear = vehicle.gear(now.road_speed, [LUGGING, f64::INFINITY]);
        now.engine_speed = vehicle
            .engine_speed(gear, now.road_speed, 700.0 * RPM)
            .unwrap();
    }
    for (key, low, high) in [
        ("core.blocked", 0.0, 0.3),
        ("core.fouling", 1.0, 1.8),
        ("core.blocked_tubes", 0.0, 0.2),
        ("coolant.glycol", 0.2, 0.6),
        ("air.recirculation", 0.05, 0.4),
        ("pump.slip", 1e-8, 5e-8),
        ("motor.slip", 1e-8, 5e-8),
        ("oil_heat.cooler", 20.0, 60.0),
        ("now.cabin_heater", 0.0, 0.5),
        ("core.conductance", 2500.0, 4500.0),
    ] {
        case = case.with(Input::find(key).unwrap(), even(random, low, high));
    }
    case
}

/// What the peer has as well: a pump that fills, a fan that the oil drives, a coolant that flows.
fn shared(found: &Warm) -> bool {
    found.heats.is_none()
        && found.state.fan_speed > 0.0
        && found.state.motor_pressure_drop > 0.0
        && found.budget.radiator_flow > 0.0
        && found.state.inlet_pressure > found.case.pump.least_inlet * 1.001
        && found.budget.airflow.speed.iter().all(|v| *v > 0.1)
}

fn main() {
    let count = std::env::args()
        .nth(1)
        .map_or(60, |n| n.parse().expect("a number of cases"));
    let mut random = ChaCha8Rng::seed_from_u64(22);
    let cases: Vec<Case> = std::iter::repeat_with(|| drawn(&mut random))
        .filter(|case| warm(case, Asked::STEADY).is_ok_and(|w| shared(&w)))
        .take(count)
        .collect();
    let answers: Vec<_> = cases
        .iter()
        .map(|case| {
            let found = warm(case, Asked::STEADY).unwrap();
            let mut seconds = f64::INFINITY;
            for _ in 0..TURNS {
                let begin = Instant::now();
                black_box(warm(black_box(case), Asked::STEADY).unwrap());
                seconds = seconds.min(begin.elapsed().as_secs_f64());
            }
            let inputs: Map<_, _> = Input::all()
                .filter_map(|input| Some((input.key(), json!(case.get(input)?))))
                .collect();
            json!({
                "inputs": inputs,
                "shape": {
                    "recirculates": case.shape.recirculates,
                    "valve_to_motor_outlet": case.shape.valve_to_motor_outlet,
                    "steering_first": case.shape.steering_first,
                    "unplugged": case.shape.unplugged,
                },
                "oil": case.curve.points().collect::<Vec<_>>(),
                "coolant_temp": found.budget.coolant_temp,
                "oil_temp": found.budget.oil_temp,
                "air_temp": found.budget.air_temp,
                "fan_speed": found.fan_speed,
                "seconds": seconds,
            })
        })
        .collect();
    println!("{}", json!(answers));
}
