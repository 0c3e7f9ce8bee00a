//! What a trip costs, as a multiple of one solve of the oil circuit in the same run.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use oilwheel::balance::{Rules, Stored, solve, travel};
use oilwheel::input::unit::celsius;
use oilwheel::model::{Ask, Leg, Lookup, TRIPS};
use std::hint::black_box;
use std::time::Instant;

/// The best time of several turns, s.
fn best(turns: u32, times: u32, mut what: impl FnMut()) -> f64 {
    (0..turns)
        .map(|_| {
            let begin = Instant::now();
            for _ in 0..times {
                what();
            }
            begin.elapsed().as_secs_f64() / f64::from(times)
        })
        .fold(f64::INFINITY, f64::min)
}

fn main() {
    let setup = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap();
    let (machine, case) = (&setup.machine, &setup.case);
    let one = best(50, 200, || {
        black_box(solve(black_box(case)).unwrap());
    });
    println!(
        "{:<34} {:>8.1} µs",
        "one cold solve of the circuit",
        one * 1e6
    );
    println!(
        "{:<34} {:>10} {:>9} {:>9} {:>8} {:>14}",
        "trip of an hour", "ms", "moments", "solves", "events", "solves' worth"
    );
    let start = Stored::even(celsius(60.0));
    let run = |name: &str, legs: &[Leg]| {
        let course = travel(case, legs, start, Rules::USUAL).unwrap();
        let took = best(5, 2, || {
            black_box(travel(black_box(case), legs, start, Rules::USUAL).unwrap());
        });
        println!(
            "{name:<34} {:>10.1} {:>9} {:>9} {:>8} {:>14.0}",
            took * 1e3,
            course.evaluations,
            course.solves,
            course.events.len(),
            took / one
        );
    };
    for (name, _) in TRIPS {
        let legs = Lookup::LibraryOnly
            .trip(name)
            .unwrap()
            .legs(machine, case)
            .unwrap();
        // Driven again and again until an hour is over.
        let length = legs.last().unwrap().time;
        let mut hour: Vec<Leg> = Vec::new();
        for round in 0.. {
            let more = legs.iter().map(|leg| Leg {
                time: leg.time + f64::from(round) * length,
                ..*leg
            });
            hour.extend(more.take_while(|leg| leg.time <= 3600.0));
            if f64::from(round + 1) * length >= 3600.0 {
                break;
            }
        }
        let end = *hour.last().unwrap();
        hour.push(Leg {
            time: 3600.0,
            ..end
        });
        run(name, &hour);
        if name == "commute" {
            // The same with a row a second, as a log has.
            let mut rows = Vec::new();
            for pair in hour.windows(2) {
                let mut time = pair[0].time;
                while time < pair[1].time {
                    rows.push(Leg {
                        time,
                        now: pair[0].towards(&pair[1], time),
                        command: None,
                    });
                    time += 1.0;
                }
            }
            run("commute, a row a second", &rows);
        }
    }
}
