//! Exact derivatives of a state with respect to every input, and the uncertainty band that follows from the inputs' ±.

use crate::balance::{OUTPUTS, Operating, Output, State};
use crate::input::Input;
use crate::model::Case;
use serde::ser::{Serialize, SerializeMap, Serializer};

/// How a state changes with one input.
#[derive(Clone, Copy, Debug)]
pub struct Sensitivity {
    /// The input.
    pub input: Input,
    /// Value of the input.
    pub value: f64,
    /// The derivative of each output, per SI unit of the input.
    pub slope: State,
}

impl Sensitivity {
    /// The derivative of an output in the units in which JSON gives output and input: rpm per cm³/rev, and so on.
    pub fn per_unit(&self, output: Output) -> f64 {
        let outputs = output.declaration().kind.json_factor();
        self.slope.get(output) * outputs / self.input.field().kind.json_factor()
    }
}

/// Written as the input with its value and the derivative of each output, in the units with which the keys end.
impl Serialize for Sensitivity {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let kind = self.input.field().kind;
        let mut map = serializer.serialize_map(Some(OUTPUTS.len() + 4))?;
        map.serialize_entry("input", &self.input.key())?;
        map.serialize_entry("place", self.input.place().key())?;
        map.serialize_entry("value", &kind.to_json(self.value))?;
        map.serialize_entry("per", kind.json_suffix())?;
        for output in Output::all() {
            let declaration = output.declaration();
            let key = declaration.kind.json_key(declaration.key);
            map.serialize_entry(&key, &self.per_unit(output))?;
        }
        map.end()
    }
}

/// The derivatives of the state with respect to every input of the case that affects the oil circuit.
pub fn sensitivities(case: &Case, operating: &Operating) -> Vec<Sensitivity> {
    let slopes = State::slopes(case, operating);
    Input::all()
        .filter_map(|input| {
            let value = case.get(input)?;
            let slope = State::of_values(slopes.along(input)?.iter().skip(1).copied(), 0.0);
            Some(Sensitivity {
                input,
                value,
                slope,
            })
        })
        .collect()
}

/// Half-width of the band, about 95 %, of an output, from the uncertainty of all inputs, to first order; correlations
/// found by a fit are included.
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
