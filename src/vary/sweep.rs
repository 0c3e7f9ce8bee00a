//! A case carried along one input.

use crate::balance::{Limit, Operating, State, solve_from};
use crate::input::Input;
use crate::model::Case;
use rayon::prelude::*;

/// One point of a sweep.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// The input's value.
    pub x: f64,
    /// The state there.
    pub state: State,
    /// Its operating point.
    pub operating: Operating,
}

/// The values of a sweep: evenly from one end to the other, or evenly in the logarithm.
pub fn values(from: f64, to: f64, count: usize, logarithmic: bool) -> Vec<f64> {
    let last = count.max(2) - 1;
    (0..=last)
        .map(|i| {
            let part = i as f64 / last as f64;
            if logarithmic {
                from * (to / from).powf(part)
            } else {
                from + (to - from) * part
            }
        })
        .collect()
}

/// How many neighbouring values are solved one after the other, each started at the last one's speed. Fixed, so that the
/// result does not depend on how many threads there are.
const RUN: usize = 64;

/// The states along an input; a value without a balance is left out.
pub fn sweep(case: &Case, input: Input, values: &[f64]) -> Vec<Step> {
    let run = |values: &[f64]| {
        let mut start = f64::NAN;
        let step = |x: &f64| {
            let case = case.with(input, *x);
            let operating = solve_from(&case, start).ok()?;
            start = if operating.omega > 0.0 {
                operating.omega
            } else {
                f64::NAN
            };
            Some(Step {
                x: *x,
                state: State::found(&case, &operating),
                operating,
            })
        };
        values.iter().filter_map(step).collect::<Vec<_>>()
    };
    values.par_chunks(RUN).flat_map_iter(run).collect()
}

/// The stretches of a sweep along which one limit acts: the limit, from, to. Borders lie midway between steps.
pub fn stretches(steps: &[Step]) -> Vec<(Limit, f64, f64)> {
    let mut found: Vec<(Limit, f64, f64)> = Vec::new();
    let mut before: Option<f64> = None;
    for step in steps {
        let border = before.map_or(step.x, |x| 0.5 * (x + step.x));
        match found.last_mut() {
            Some(last) if last.0 == step.operating.limit => last.2 = step.x,
            Some(last) => {
                last.2 = border;
                found.push((step.operating.limit, border, step.x));
            }
            None => found.push((step.operating.limit, step.x, step.x)),
        }
        before = Some(step.x);
    }
    found
}

/// The first value in `from..to` from which neither the pump's displacement nor its inlet limits, to 1e-4 of the span.
pub fn full_from(case: &Case, input: Input, from: f64, to: f64) -> Option<f64> {
    let full = |x: f64| {
        let limit = solve_from(&case.with(input, x), f64::NAN).ok()?.limit;
        Some(matches!(
            limit,
            Limit::Regulator | Limit::Valve | Limit::Relief
        ))
    };
    let steps = values(from, to, 40, false);
    let at = steps.iter().position(|x| full(*x) == Some(true))?;
    let mut high = steps[at];
    if at == 0 {
        return Some(high);
    }
    let mut low = steps[at - 1];
    while high - low > 1e-4 * (to - from) {
        let middle = 0.5 * (low + high);
        if full(middle)? {
            high = middle
        } else {
            low = middle
        }
    }
    Some(high)
}
