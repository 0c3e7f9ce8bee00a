//! Writes random cases with their answers as JSON, for the peer in Python: `cargo run --release --example dump -- 200`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

#[path = "../../tests/all/random.rs"]
mod random;

use oilwheel::balance::{State, solve};
use oilwheel::input::Input;
use serde_json::{Map, json};
use std::hint::black_box;
use std::time::Instant;

/// Solves that one time is taken over, and how often each case has its turn: its best time counts, as in the peer.
const TIMES: u32 = 20;
const TURNS: u32 = 50;

fn main() {
    let count = std::env::args()
        .nth(1)
        .map_or(200, |n| n.parse().expect("a number of cases"));
    let mut random = random::Random::new(21);
    let cases: Vec<_> = std::iter::repeat_with(|| random.case())
        .take(count)
        .collect();
    let mut best = vec![f64::INFINITY; count];
    for _ in 0..TURNS {
        for (case, best) in cases.iter().zip(&mut best) {
            let begin = Instant::now();
            for _ in 0..TIMES {
                black_box(solve(black_box(case)).unwrap());
            }
            *best = best.min(begin.elapsed().as_secs_f64() / f64::from(TIMES));
        }
    }
    let answers: Vec<_> = cases
        .iter()
        .zip(best)
        .map(|(case, seconds)| {
            let (state, found) = State::of(case).unwrap();
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
                "limit": found.limit.key(),
                "fan_speed": state.fan_speed,
                "pump_flow": state.pump_flow,
                "supply_gauge_pressure": state.supply_gauge_pressure,
                "inlet_pressure": state.inlet_pressure,
                "pump_speed": state.pump_speed,
                "seconds": seconds,
            })
        })
        .collect();
    println!("{}", json!(answers));
}
