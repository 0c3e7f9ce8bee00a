//! Solves a case at many values of one input.

use crate::balance::{Limit, Operating, State, solve_from};
use crate::input::Input;
use crate::model::Case;
use rayon::prelude::*;

/// One point of a sweep.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// The input's value.
    pub x: f64,
    /// The state at this value.
    pub state: State,
    /// Operating point of the state.
    pub operating: Operating,
}

/// The values of a sweep: equally spaced, on a linear or a logarithmic scale.
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

/// Interval between values that are solved without a starting value. The values between them start from linear
/// interpolation. No value therefore waits for its neighbour, and the result is independent of the number of threads.
const SPAN: usize = 32;
/// Maximum number of values that a thread takes at a time: small enough that at the end no thread waits long for
/// another.
const PIECE: usize = 1024;

/// Solves the case at each value of an input; `None` where the circuit has no operating point.
pub fn sweep(case: &Case, input: Input, values: &[f64]) -> Vec<Option<Step>> {
    let found = |x: f64, start: f64| {
        let case = case.with(input, x);
        let operating = solve_from(&case, start).ok()?;
        Some((case, operating))
    };
    let starts: Vec<f64> = values
        .par_chunks(SPAN)
        .map(|span| found(span[0], f64::NAN).map_or(f64::NAN, |(_, o)| o.omega))
        .collect();
    let step = |(i, x): (usize, &f64)| {
        let (before, part) = (starts[i / SPAN], (i % SPAN) as f64 / SPAN as f64);
        let after = starts.get(i / SPAN + 1).unwrap_or(&before);
        let start = before + (after - before) * part;
        let (case, operating) = found(*x, if start > 0.0 { start } else { f64::NAN })?;
        Some(Step {
            x: *x,
            state: State::found(&case, &operating),
            operating,
        })
    };
    values
        .par_iter()
        .enumerate()
        .with_max_len(PIECE)
        .map(step)
        .collect()
}

/// The ranges of a sweep within which the same limit applies: each with its limit, start and end. The boundary between
/// two ranges is midway between two steps.
pub fn stretches(steps: impl IntoIterator<Item = (f64, Limit)>) -> Vec<(Limit, f64, f64)> {
    let mut found: Vec<(Limit, f64, f64)> = Vec::new();
    let mut before: Option<f64> = None;
    for (x, limit) in steps {
        let border = before.map_or(x, |before| 0.5 * (before + x));
        match found.last_mut() {
            Some(last) if last.0 == limit => last.2 = x,
            Some(last) => {
                last.2 = border;
                found.push((limit, border, x));
            }
            None => found.push((limit, x, x)),
        }
        before = Some(x);
    }
    found
}

impl Step {
    /// The input's value, and what limits the fan speed there.
    pub fn limit(&self) -> (f64, Limit) {
        (self.x, self.operating.limit)
    }
}

/// The first value in `from..to` at which the regulator, the control valve or the relief valve limits the fan speed, to
/// within 1e-4 of the span.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ask, Lookup};

    fn truck() -> Case {
        let setup = Ask::about("light-truck").resolve(Lookup::LibraryOnly);
        setup.expect("a case").case
    }

    fn swept(case: &Case, threads: usize, engine_speeds: &[f64]) -> Vec<Option<Step>> {
        let engine = Input::ENGINE_SPEED;
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        let pool = pool.build().expect("threads");
        pool.install(|| sweep(case, engine, engine_speeds))
    }

    /// From below idle to above the onset of the regulator: each state equals the one solved without a starting value,
    /// and is identical to the last digit for any number of threads.
    #[test]
    fn each_value_has_the_state_that_it_has_alone() {
        let engine_speeds = values(30.0, 400.0, 3000, false);
        let case = truck();
        let steps = swept(&case, 1, &engine_speeds);
        for (x, step) in engine_speeds.iter().zip(&steps) {
            let step = step.expect("a balance");
            let mut alone = case;
            alone.now.engine_speed = *x;
            let alone = solve_from(&alone, f64::NAN).expect("a balance");
            assert_eq!((step.x, step.operating.limit), (*x, alone.limit));
            let off = (step.state.fan_speed / alone.omega - 1.0).abs();
            assert!(off < 1e-9, "{x} rad/s: off by {off}");
        }
        for (one, three) in steps.iter().zip(swept(&case, 3, &engine_speeds)) {
            let bits = |s: Option<Step>| s.map(|s| s.state.fan_speed.to_bits());
            assert_eq!(bits(*one), bits(three));
        }
    }

    /// A value without an operating point leaves only its own entry empty.
    #[test]
    fn a_value_without_a_balance_leaves_its_place_empty() {
        let mut engine_speeds = values(80.0, 90.0, 70, false);
        let wrong = [0, 17, SPAN, 69];
        for i in wrong {
            engine_speeds[i] = f64::NAN;
        }
        let steps = swept(&truck(), 2, &engine_speeds);
        assert_eq!(steps.len(), engine_speeds.len());
        for (i, step) in steps.iter().enumerate() {
            assert_eq!(step.is_none(), wrong.contains(&i), "value {i}");
        }
    }
}
