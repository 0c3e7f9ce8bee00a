//! Exact derivatives of a state along every input, and the band that the inputs' ± make of them.

use crate::balance::{Operating, Output, State};
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
    Input::all()
        .filter(|input| input.place() != Place::Heat)
        .filter_map(|input| {
            let value = case.get(input)?;
            let slope = State::along(&case.along(input), operating).map(|n| n.eps);
            Some(Sensitivity {
                input,
                value,
                slope,
            })
        })
        .collect()
}

/// Half the width of the band, about 95 %, that the spread of all inputs makes of an output, to first order.
pub fn half_width(all: &[Sensitivity], spread: &Case, output: Output) -> f64 {
    all.iter()
        .map(|s| s.slope.get(output) * spread.get(s.input).unwrap_or(0.0))
        .map(|part| part * part)
        .sum::<f64>()
        .sqrt()
}
