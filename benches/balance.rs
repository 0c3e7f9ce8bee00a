//! What a solve costs, as a multiple of one evaluation of the circuit's residual in the same run.
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
use oilwheel::model::Case;
use oilwheel::numeric::Dual64;
use std::hint::black_box;
use std::time::Instant;

/// Random cases that each benchmark goes through in turn.
const CASES: usize = 50;

fn main() {
    let mut random = random::Random::new(1);
    // Fans that turn, without a governor: one root each.
    let cases: Vec<(Case, Operating)> = std::iter::repeat_with(|| random.case())
        .map(|case| (case, solve(&case).unwrap()))
        .filter(|(case, found)| found.omega > 0.0 && case.governor.is_none())
        .take(CASES)
        .collect();
    let constant: Vec<Case<Dual64>> = cases.iter().map(|(case, _)| case.constant()).collect();
    let ready: Vec<(Ready<'_, Dual64>, Dual64)> = constant
        .iter()
        .zip(&cases)
        .map(|(case, (_, found))| (Ready::new(case), Dual64::new(found.omega, 1.0)))
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
        for input in Input::all().filter(|i| case.get(*i).is_some()) {
            black_box(State::along(&case.along(input), &found));
        }
    });

    let one = table[0].1;
    println!("{:<30} {:>12} {:>12}", "best of the run", "µs", "residuals");
    for (name, took) in table {
        println!("{name:<30} {:>12.2} {:>12.1}", took * 1e6, took / one);
    }
    criterion.final_summary();
}
