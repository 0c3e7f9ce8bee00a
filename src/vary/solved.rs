//! The solution of a checked case: its state, what limits the fan speed, and its dependence on the inputs.

use super::derivative::{Sensitivity, half_width, sensitivities};
use crate::balance::{Limit, Operating, Output, State};
use crate::model::CheckedCase;
use crate::trouble::Trouble;
use serde::Serialize;

/// The solution of the balance of a case.
#[derive(Clone, Debug, Serialize)]
pub struct Solved {
    /// What limits the fan speed.
    #[serde(rename = "limited_by")]
    pub limit: Limit,
    /// The state: all results.
    #[serde(flatten)]
    pub state: State,
    #[serde(skip)]
    operating: Operating,
}

/// Solves the balance of a case.
pub fn solve(case: &CheckedCase) -> Result<Solved, Trouble> {
    let (state, operating) = State::of(case.case())?;
    Ok(Solved {
        limit: operating.limit,
        state,
        operating,
    })
}

impl Solved {
    /// The derivatives of every output with respect to each input of the oil circuit; `case` must be the solved one.
    pub fn slopes(&self, case: &CheckedCase) -> Vec<Sensitivity> {
        sensitivities(case.case(), &self.operating)
    }

    /// The half-width (about 95 %) of an output from the ± of all inputs, to first order.
    pub fn half_width(&self, case: &CheckedCase, output: Output) -> f64 {
        half_width(&self.slopes(case), case.spread(), &[], output)
    }
}
