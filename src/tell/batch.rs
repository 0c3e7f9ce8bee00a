//! Presents `batch`: the numbers of rows and of refused rows. The answers themselves are written row by row.

use super::Presentation;
use crate::question::batch::{Batch, Found};

/// Presents the outcome of the question.
pub fn tell(_: &Batch, found: &Found) -> Presentation {
    let mut told = Presentation::default();
    let Found { rows, refused, .. } = found;
    let first = found.first_refused.zip(found.first_error.as_ref());
    told.headline(match first {
        None => format!("{rows} rows answered."),
        Some((row, error)) => format!(
            "{} of {rows} rows answered; {refused} refused, each with the reason in `error`. The first is row {row}, counted from 0: {error}.",
            rows - refused
        ),
    });
    told
}
