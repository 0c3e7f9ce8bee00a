//! How long the server takes from a slide's step to the new answer, and what a page weighs.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use criterion::{Criterion, criterion_group, criterion_main};
use oilwheel::page::respond;
use oilwheel::trouble::Stop;
use std::hint::black_box;

fn steps(criterion: &mut Criterion) {
    for path in ["/speed", "/why", "/sweep", "/flush", "/heat", "/auxfan"] {
        let weight: usize = [path, "/page.css", "/page.js", "/icon.svg"]
            .iter()
            .map(|p| respond(p, "", b"", &Stop::default()).body.len())
            .sum();
        println!("{path} with all it needs: {:.0} kB", weight as f64 / 1e3);
        let mut engine = 700;
        criterion.bench_function(&format!("a slide's step on {path}"), |bench| {
            bench.iter(|| {
                engine = 700 + (engine + 10) % 3000;
                let reply = respond(
                    &format!("/part{path}"),
                    &format!("engine_speed={engine}+rpm"),
                    b"",
                    &Stop::default(),
                );
                assert_eq!(reply.status, 200);
                black_box(reply)
            });
        });
    }
}

criterion_group!(benches, steps);
criterion_main!(benches);
