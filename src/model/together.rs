//! How the uncertainties of a machine's inputs belong together.

use crate::input::Input;
use std::ops::{Deref, DerefMut};
use std::sync::Arc;

/// Correlations between the uncertainties of a machine's inputs, each pair once. A machine narrowed by readings also
/// has examples of the machines that fit them: correlations alone do not describe these, because what is computed is not
/// linear in the inputs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Together {
    pairs: Vec<(Input, Input, f64)>,
    fitting: Option<Arc<Fitting>>,
}

/// Equally probable examples of the machines that fit some readings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fitting {
    /// The inputs in which the examples differ.
    pub inputs: Vec<Input>,
    /// For each example and each input: the deviation from the machine's value in standard deviations, of the logarithm
    /// if the uncertainty is a factor.
    pub scores: Vec<Vec<f64>>,
}

impl Together {
    /// The examples of machines that fit the readings, if the machine was narrowed by readings.
    pub fn fitting(&self) -> Option<&Fitting> {
        self.fitting.as_deref()
    }

    /// Notes the examples of machines that fit the readings.
    pub fn fit(&mut self, fitting: Fitting) {
        self.fitting = Some(Arc::new(fitting));
    }

    /// Makes an input independent of the others.
    pub fn free(&mut self, input: Input) {
        self.pairs.retain(|(a, b, _)| *a != input && *b != input);
        let Some(fitting) = &mut self.fitting else {
            return;
        };
        if let Some(n) = fitting.inputs.iter().position(|i| *i == input) {
            let fitting = Arc::make_mut(fitting);
            fitting.inputs.remove(n);
            for scores in &mut fitting.scores {
                scores.remove(n);
            }
        }
    }
}

impl From<Vec<(Input, Input, f64)>> for Together {
    fn from(pairs: Vec<(Input, Input, f64)>) -> Self {
        Self {
            pairs,
            fitting: None,
        }
    }
}

impl Deref for Together {
    type Target = Vec<(Input, Input, f64)>;
    fn deref(&self) -> &Self::Target {
        &self.pairs
    }
}

impl DerefMut for Together {
    fn deref_mut(&mut self) -> &mut Self::Target {
        &mut self.pairs
    }
}
