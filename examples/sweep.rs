//! Sweeps oil temperature and engine speed over 10,000 states, and counts what limits the fan.

#![expect(clippy::print_stdout, reason = "an example shows what it finds")]

use oilwheel::prelude::*;
use std::collections::BTreeMap;

/// States along each of the two inputs.
const STEPS: u32 = 100;

fn main() -> Result<(), Troubles> {
    let case = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)?
        .checked()?;
    let between = |low: f64, high: f64, step: u32| {
        low + (high - low) * f64::from(step) / f64::from(STEPS - 1)
    };
    let rpm = std::f64::consts::PI / 30.0;
    let mut counts = BTreeMap::new();
    for i in 0..STEPS {
        let there = case
            .with(Input::OIL_TEMP, between(253.15, 373.15, i))
            .map_err(|t| vec![t])?;
        for k in 0..STEPS {
            let speed = between(600.0 * rpm, 3000.0 * rpm, k);
            let one = there
                .with(Input::ENGINE_SPEED, speed)
                .map_err(|t| vec![t])?;
            let solved = solve(&one).map_err(|t| vec![t])?;
            *counts.entry(solved.limit.name()).or_insert(0) += 1;
        }
    }
    for (limit, count) in counts {
        println!("{count:>6} states limited by {limit}");
    }
    Ok(())
}
