//! A checked case solved: its state, what limits the fan, and how all of that depends on the inputs.

use super::derivative::{Sensitivity, half_width, sensitivities};
use crate::balance::{Limit, Operating, Output, State};
use crate::model::CheckedCase;
use crate::trouble::Trouble;
use serde::Serialize;

/// A balance that was found.
#[derive(Clone, Debug, Serialize)]
pub struct Solved {
    /// What limits the fan.
    #[serde(rename = "limited_by")]
    pub limit: Limit,
    /// All that comes out.
    #[serde(flatten)]
    pub state: State,
    #[serde(skip)]
    operating: Operating,
}

/// Finds the balance of a case.
pub fn solve(case: &CheckedCase) -> Result<Solved, Trouble> {
    let (state, operating) = State::of(case.case())?;
    Ok(Solved {
        limit: operating.limit,
        state,
        operating,
    })
}

impl Solved {
    /// How every output changes with each input that the oil circuit depends on; `case` is the one that was solved.
    pub fn slopes(&self, case: &CheckedCase) -> Vec<Sensitivity> {
        sensitivities(case.case(), &self.operating)
    }

    /// The half width, about 95 %, that the ± of all inputs gives an output, to first order.
    pub fn half_width(&self, case: &CheckedCase, output: Output) -> f64 {
        half_width(&self.slopes(case), case.spread(), &[], output)
    }
}
