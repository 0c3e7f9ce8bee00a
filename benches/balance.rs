//! What a solve costs, as a multiple of one evaluation of the circuit's residual in the same run; what sharing a difference costs
//! beside the solves it needs; what a second core gains on a long sweep.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout
)]

#[path = "../tests/all/random.rs"]
mod random;

use criterion::Criterion;
use oilwheel::balance::{Operating, Ready, State, solve, solve_from};
use oilwheel::input::Input;
use oilwheel::model::{Ask, Case, Lookup};
use oilwheel::numeric::Dual64;
use oilwheel::vary::{self, shares::differing, sweep};
use rayon::ThreadPoolBuilder;
use std::hint::black_box;
use std::time::Instant;

/// Random cases that each benchmark goes through in turn.
const CASES: usize = 50;
/// States of the long sweep.
const STATES: usize = 100_000;
/// Runs that the best is taken of.
const RUNS: usize = 7;
/// Turns of the long sweep on one core and on two.
const TURNS: usize = 20;

fn main() {
    let mut random = random::Random::new(1);
    // Fans that turn, without a governor: one root each.
    let cases: Vec<(Case, Operating)> = std::iter::repeat_with(|| random.case())
        .map(|case| (case, solve(&case).unwrap()))
        .filter(|(case, found)| found.omega > 0.0 && case.governor.is_none())
        .take(CASES)
        .collect();
    let ready: Vec<(Ready<'_, f64>, Dual64)> = cases
        .iter()
        .map(|(case, found)| (Ready::new(case), Dual64::new(found.omega, 1.0)))
        .collect();

    let mut criterion = Criterion::default().sample_size(20).configure_from_args();
    let mut table = Vec::new();
    let mut run = |name: &'static str, what: &dyn Fn(usize)| {
        let mut best = f64::INFINITY;
        criterion.bench_function(name, |bench| {
            bench.iter_custom(|times| {
                let begin = Instant::now();
                for k in 0..times {
                    what(k as usize % CASES);
                }
                let took = begin.elapsed();
                // Runs too short to see all cases say nothing about the mean case.
                if times as usize >= CASES {
                    best = best.min(took.as_secs_f64() / times as f64);
                }
                took
            });
        });
        table.push((name, best));
    };

    run("residual", &|k| {
        let (ready, omega) = &ready[k];
        black_box(ready.left_over(None, black_box(*omega)));
    });
    run("cold solve", &|k| {
        black_box(solve(black_box(&cases[k].0)).unwrap());
    });
    run("warm solve", &|k| {
        let (case, found) = &cases[k];
        black_box(solve_from(black_box(case), found.omega * 1.02).unwrap());
    });
    run("state", &|k| {
        black_box(State::of(black_box(&cases[k].0)).unwrap());
    });
    run("state with all sensitivities", &|k| {
        let (case, _) = black_box(&cases[k]);
        let (_, found) = State::of(case).unwrap();
        black_box(State::slopes(case, &found));
    });

    let one = table[0].1;
    println!("{:<30} {:>12} {:>12}", "best of the run", "µs", "residuals");
    for (name, took) in table {
        println!("{name:<30} {:>12.2} {:>12.1}", took * 1e6, took / one);
    }
    criterion.final_summary();
    shares();
    threads();
}

/// The best time of several runs, s.
fn best(mut what: impl FnMut()) -> f64 {
    (0..RUNS)
        .map(|_| {
            let begin = Instant::now();
            what();
            begin.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

fn light_truck(oil: &str) -> Case {
    let mut ask = Ask::about("light-truck");
    ask.oil = Some(oil.into());
    ask.resolve(Lookup::LibraryOnly).unwrap().case
}

/// A difference between two oils shared among places, against as many solves as it has subsets.
fn shares() {
    let (from, to) = (
        light_truck("central-hydraulic"),
        light_truck("transmission-multi-vehicle"),
    );
    let subsets = 1_u32 << differing(&from, &to).len();
    let one = ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let (solved, shared) = one.install(|| {
        let solved = best(|| {
            for _ in 0..subsets / 2 {
                black_box(solve(black_box(&from)).unwrap());
                black_box(solve(black_box(&to)).unwrap());
            }
        });
        (
            solved,
            best(|| drop(black_box(vary::shares::shares(black_box(&from), &to)))),
        )
    });
    println!(
        "shares of {subsets} subsets: {:.2} times as many solves",
        shared / solved
    );
}

/// A sweep on one core and on two, in turn, so that both see the same minutes of a machine that others use too.
fn threads() {
    let case = light_truck("central-hydraulic");
    let input = Input::find("now.engine_speed").unwrap();
    let speeds = sweep::values(70.0, 400.0, STATES, false);
    let mut cores = [1, 2].map(|threads| {
        let pool = ThreadPoolBuilder::new().num_threads(threads);
        (pool.build().unwrap(), f64::INFINITY)
    });
    for _ in 0..TURNS {
        for (pool, took) in &mut cores {
            let begin = Instant::now();
            black_box(pool.install(|| sweep::sweep(&case, input, &speeds)));
            *took = took.min(begin.elapsed().as_secs_f64());
        }
    }
    let [one, two] = cores.map(|(_, took)| took);
    println!(
        "{STATES} states: two cores {:.2} times as fast as one ({:.2} µs a state on one)",
        one / two,
        one / STATES as f64 * 1e6
    );
}
