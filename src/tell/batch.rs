//! `batch` in words: how many rows there were, and how many were refused. The answers themselves go by piece.

use super::Told;
use crate::question::batch::{Batch, Found};

/// Tells it.
pub fn tell(_: &Batch, found: &Found) -> Told {
    let mut told = Told::default();
    let Found { rows, refused, .. } = found;
    let first = found.first_refused.zip(found.first_error.as_ref());
    told.headline(match first {
        None => format!("{rows} rows answered."),
        Some((row, error)) => format!(
            "{} of {rows} rows answered; {refused} refused, each with what is wrong in `error`. Row {row}, counted from 0: {error}.",
            rows - refused
        ),
    });
    told
}
