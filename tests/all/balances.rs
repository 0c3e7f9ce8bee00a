//! The balance of the oil circuit: one root, flows and watts that close, limits, monotony, derivatives.

use crate::random::Random;
use oilwheel::balance::{Limit, State};
use oilwheel::model::{Ask, Shelf};

/// Cases in the quick run; the campaign in CI sets `OILWHEEL_CASES`.
fn cases() -> usize {
    std::env::var("OILWHEEL_CASES")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(5_000)
}

#[test]
fn every_case_settles_and_closes() {
    let mut random = Random::new(1);
    let mut counts = Vec::new();
    let mut by = std::collections::BTreeMap::new();
    let mut limits = std::collections::BTreeMap::new();
    for k in 0..cases() {
        let case = random.case();
        let (state, operating) =
            State::of(&case).unwrap_or_else(|t| panic!("case {k}: {t}\n{case:?}"));
        *limits.entry(operating.limit).or_insert(0) += 1;
        by.entry((operating.limit, case.governor.is_some()))
            .or_insert_with(Vec::new)
            .push(operating.evaluations);
        counts.push(operating.evaluations);
        let spent: f64 = state.losses.iter().sum();
        assert!(
            (spent - state.pump_shaft_power).abs() <= 1e-9 * state.pump_shaft_power.abs().max(1e-3),
            "case {k}: {spent} W spent of {} W {:?}\n{case:?}\n{state:?}",
            state.pump_shaft_power,
            operating.limit
        );
        let flow = state.pump_flow
            - state.motor_flow
            - state.valve_flow
            - state.relief_flow
            - state.steering_flow;
        assert!(
            flow.abs() <= 1e-9 * case.pump.displacement * state.pump_speed,
            "case {k}: flow {flow}"
        );
        assert!(
            state
                .losses
                .iter()
                .all(|w| *w >= -1e-7 * state.pump_shaft_power.max(1.0)),
            "case {k}: a loss gives power {:?}\n{operating:?}\n{state:?}\n{case:?}",
            state.losses
        );
    }
    for (k, v) in &mut by {
        v.sort_unstable();
        let v: &Vec<usize> = v;
        eprintln!(
            "{k:?} n {} mean {:.2} p50 {} p90 {} p99 {} max {}",
            v.len(),
            v.iter().sum::<usize>() as f64 / v.len() as f64,
            v[v.len() / 2],
            v[v.len() * 9 / 10],
            v[v.len() * 99 / 100],
            v[v.len() - 1]
        );
    }
    counts.sort_unstable();
    let mean = counts.iter().sum::<usize>() as f64 / counts.len() as f64;
    eprintln!(
        "evaluations: mean {mean:.2}, 99th {}, most {}; {limits:?}",
        counts[counts.len() * 99 / 100],
        counts[counts.len() - 1]
    );
    assert!(
        limits.len() == Limit::ALL.len(),
        "every limit is met: {limits:?}"
    );
}

#[test]
fn a_governed_fan_slows_down_to_the_least_as_less_is_asked() {
    let posed = Ask::about("bus").pose(Shelf::LibraryOnly).unwrap();
    let mut open = posed.case;
    open.governor = None;
    open.now.command = 0.0;
    let least = State::of(&open).unwrap().0.fan_speed;
    let mut before = 0.0;
    for k in 0..=20 {
        let mut case = posed.case;
        case.now.command = f64::from(k) / 20.0;
        let speed = State::of(&case).unwrap().0.fan_speed;
        if k == 0 {
            assert!(
                (speed / least - 1.0).abs() < 1e-9,
                "{speed} at no command, {least} with the valve at its least"
            );
        }
        assert!(
            speed >= before * (1.0 - 1e-9),
            "{speed} at {k}/20 after {before}"
        );
        before = speed;
    }
    assert!(before > 1.5 * least);
}
