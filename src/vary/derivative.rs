//! Exact derivatives of a state along every input, and the band that the inputs' ± make of them.

use crate::balance::{Operating, Output, State, Turning};
use crate::input::{Input, Place};
use crate::model::Case;

/// How a state changes with one input.
#[derive(Clone, Copy, Debug)]
pub struct Sensitivity {
    /// The input.
    pub input: Input,
    /// Its value.
    pub value: f64,
    /// The derivative of each output, per SI unit of the input.
    pub slope: State,
}

/// The derivative of the state along every input that the case has and the oil circuit feels.
pub fn sensitivities(case: &Case, operating: &Operating) -> Vec<Sensitivity> {
    let turning = Turning::of(case, operating);
    Input::all()
        .filter(|input| input.place() != Place::Heat)
        .filter_map(|input| {
            let value = case.get(input)?;
            let slope = turning.along(&case.along(input)).map(|n| n.eps);
            Some(Sensitivity {
                input,
                value,
                slope,
            })
        })
        .collect()
}

/// Half the width of the band, about 95 %, that the spread of all inputs makes of an output, to first order; inputs of
/// which a fit has found that they go together do so.
pub fn half_width(
    all: &[Sensitivity],
    spread: &Case,
    correlations: &[(Input, Input, f64)],
    output: Output,
) -> f64 {
    let part = |s: &Sensitivity| s.slope.get(output) * spread.get(s.input).unwrap_or(0.0);
    let alone: f64 = all.iter().map(|s| part(s).powi(2)).sum();
    let of = |input: Input| all.iter().find(|s| s.input == input).map_or(0.0, part);
    let together: f64 = correlations
        .iter()
        .map(|(a, b, r)| 2.0 * r * of(*a) * of(*b))
        .sum();
    (alone + together).max(0.0).sqrt()
}
