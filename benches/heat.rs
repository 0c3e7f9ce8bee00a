//! What heat costs: a coupled solve as a multiple of a solve of the oil circuit alone, and the map's time.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use criterion::Criterion;
use oilwheel::balance::{Asked, Find, Warm, solve, warm, warm_from};
use oilwheel::input::unit::{RPM, celsius};
use oilwheel::model::{Ask, Case, Lookup};
use oilwheel::part::LUGGING;
use oilwheel::quantity::Units;
use oilwheel::question::basis::MACHINE;
use oilwheel::question::heat::{Heat, MAP_POINTS};
use oilwheel::question::{Request, Values};
use std::hint::black_box;
use std::time::Instant;

/// The light truck standing and on the road, mild and hot, towing: at the temperatures at which it settles.
fn cases() -> Vec<(Case, Warm)> {
    let truck = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap()
        .case;
    let mut cases = Vec::new();
    for (ambient, kmh, grade, trailer) in [
        (20.0, 0.0, 0.0, 0.0),
        (38.0, 0.0, 0.0, 0.0),
        (20.0, 60.0, 0.0, 0.0),
        (38.0, 60.0, 0.0, 0.0),
        (38.0, 110.0, 0.0, 0.0),
        (30.0, 70.0, 0.06, 1500.0),
    ] {
        let mut case = truck;
        case.now.ambient = celsius(ambient);
        case.now.air_conditioning = f64::from(u8::from(ambient > 25.0));
        case.now.road_speed = kmh / 3.6;
        (case.now.grade, case.now.trailer) = (grade, trailer);
        if kmh > 0.0 {
            let vehicle = case.vehicle.unwrap();
            let gear = vehicle.gear(kmh / 3.6, [LUGGING, f64::INFINITY]);
            case.now.engine_speed = vehicle.engine_speed(gear, kmh / 3.6, 700.0 * RPM).unwrap();
        }
        let found = warm(&case, Asked::STEADY).unwrap();
        cases.push((case, found));
    }
    cases
}

fn main() {
    let cases = cases();
    let mut criterion = Criterion::default().sample_size(20).configure_from_args();
    let mut table = Vec::new();
    let mut run = |name: &'static str, what: &dyn Fn(&(Case, Warm))| {
        let mut best = f64::INFINITY;
        criterion.bench_function(name, |bench| {
            bench.iter_custom(|times| {
                let begin = Instant::now();
                for k in 0..times {
                    what(&cases[k as usize % cases.len()]);
                }
                let took = begin.elapsed();
                if times as usize >= cases.len() {
                    best = best.min(took.as_secs_f64() / times as f64);
                }
                took
            });
        });
        table.push((name, best));
    };
    run("oil circuit, fan in its air", &|(_, found)| {
        black_box(solve(black_box(&found.case)).unwrap());
    });
    run("oil circuit, cube law", &|(_, found)| {
        let mut plain = found.case;
        plain.fan_curve = None;
        black_box(solve(black_box(&plain)).unwrap());
    });
    run("coupled solve, cold", &|(case, _)| {
        black_box(warm(black_box(case), Asked::STEADY).unwrap());
    });
    run("coupled solve, begun nearby", &|(case, found)| {
        black_box(warm_from(black_box(case), Asked::STEADY, Some(found)).unwrap());
    });
    run("limiting ambient", &|(case, _)| {
        let asked = Asked {
            automatic: false,
            find: Find::Ambient,
            ..Asked::STEADY
        };
        black_box(warm(black_box(case), asked).unwrap());
    });
    let one = table[0].1;
    println!(
        "{:<30} {:>12} {:>16}",
        "best of the run", "µs", "circuit solves"
    );
    for (name, took) in &table {
        println!("{name:<30} {:>12.1} {:>16.1}", took * 1e6, took / one);
    }

    let values = Values::new(Units::Si, Lookup::LibraryOnly).with(&MACHINE, "light-truck");
    let request = Heat::read(&values).unwrap();
    let time = |map: bool| {
        let request = Heat {
            map,
            ..request.clone()
        };
        let once = || {
            let begin = Instant::now();
            black_box(request.answer().unwrap());
            begin.elapsed().as_secs_f64()
        };
        (0..5).map(|_| once()).fold(f64::INFINITY, f64::min)
    };
    let (plain, with_map) = (time(false), time(true));
    println!(
        "an answer {plain:.2} s; with its map of {MAP_POINTS} × {MAP_POINTS} points {:.2} s more",
        with_map - plain
    );
    criterion.final_summary();
}
