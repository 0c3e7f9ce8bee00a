//! Writes trips as JSON, for the peer in Python: what flows along each, where it ends, and how long it took.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use oilwheel::balance::{Capacities, Moment, Rules, Stored, travel};
use oilwheel::input::unit::celsius;
use oilwheel::model::{Ask, Lookup, TRIPS};
use serde_json::json;
use std::hint::black_box;
use std::time::Instant;

/// How often each trip has its turn: its best time counts, as in the peer.
const TURNS: u32 = 10;

fn main() {
    let setup = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap();
    let case = &setup.case;
    let c = Capacities::of(case).unwrap();
    let trips: Vec<_> = TRIPS
        .iter()
        .map(|(name, _)| {
            let trip = Lookup::LibraryOnly.trip(name).unwrap();
            let legs = trip.legs(&setup.machine, case).unwrap();
            let start = Stored::even(celsius(60.0));
            let course = travel(case, &legs, start, Rules::USUAL).unwrap();
            let seconds = (0..TURNS)
                .map(|_| {
                    let begin = Instant::now();
                    black_box(travel(black_box(case), &legs, start, Rules::USUAL).unwrap());
                    begin.elapsed().as_secs_f64()
                })
                .fold(f64::INFINITY, f64::min);
            let along = |of: &dyn Fn(&Moment) -> f64| -> Vec<f64> {
                course.moments.iter().map(of).collect()
            };
            json!({
                "name": name,
                "seconds": seconds,
                "capacities": [c.metal, c.coolant, c.core, c.oil, c.slow],
                "metal_to_coolant": case.engine.unwrap().metal_to_coolant,
                "slow_joined": case.engine.unwrap().slow_joined,
                "start": 333.15,
                "time": along(&|m| m.time),
                "engine_heat": along(&|m| m.budget.engine_heat),
                "from_coolant": along(&|m| m.budget.passing.from_coolant),
                "to_air": along(&|m| m.budget.passing.to_air),
                "arriving": along(&|m| m.budget.passing.arriving),
                "oil_net": along(&|m| {
                    let b = &m.budget;
                    b.oil_heat + b.oil_engine_heat - b.oil_cooler_heat - b.oil_surface_heat
                }),
                "given_off": along(&|m| m.budget.surface_heat + m.budget.oil_engine_heat),
                "coolant": along(&|m| m.stored.coolant),
                "oil": along(&|m| m.stored.oil),
            })
        })
        .collect();
    println!("{}", json!(trips));
}
