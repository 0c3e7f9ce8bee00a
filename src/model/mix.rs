//! Two cases mixed place by place.

use super::{Case, Elsewhere};
use crate::input::{Input, Place};

/// Two cases with the same parts and configuration options, whose inputs can be mixed place by place.
#[derive(Clone, Debug)]
pub struct Mix<'a> {
    from: &'a Case,
    to: &'a Case,
    /// The inputs that differ between the cases, except the oil's, each with its place and the second case's value.
    differing: Vec<(Input, Place, f64)>,
}

impl<'a> Mix<'a> {
    /// Prepares two cases for mixing.
    pub fn of(from: &'a Case, to: &'a Case) -> Self {
        let differing = |input: Input| {
            let (own, other) = (from.get(input)?, to.get(input)?);
            let place = input.place();
            (place != Place::Oil && (own - other).abs() > 0.0).then_some((input, place, other))
        };
        Self {
            from,
            to,
            differing: Input::all().filter_map(differing).collect(),
        }
    }

    /// The first case, but with the inputs and the oil of the second case in the places that `takes` selects.
    pub fn taking(&self, takes: impl Fn(Place) -> bool) -> Case {
        let mut mix = *self.from;
        for (input, place, value) in &self.differing {
            if let Some(slot) = mix.slot(*input).filter(|_| takes(*place)) {
                *slot = *value;
            }
        }
        mix.elsewhere = Some(Elsewhere {
            places: Place::ALL.into_iter().filter(|p| takes(*p)).collect(),
            curve: self.to.curve,
            oil: self.to.oil,
            oil_temp: self.to.now.oil_temp,
        });
        mix
    }
}
