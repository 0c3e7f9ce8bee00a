//! `batch` in words: how many rows there were, and how many were refused. The answers themselves go by piece.

use super::Told;
use crate::question::batch::{Batch, Found};

/// Tells it.
pub fn tell(_: &Batch, found: &Found) -> Told {
    let mut told = Told::default();
    let Found { rows, refused, .. } = found;
    told.headline(match refused {
        0 => format!("{rows} rows answered."),
        _ => format!(
            "{} of {rows} rows answered; {refused} refused.",
            rows - refused
        ),
    });
    if let (Some(row), Some(error)) = (found.first_refused, &found.first_error) {
        told.say(format!(
            "Row {row}, counted from 0: {error}. The others name theirs in `error`."
        ));
    }
    told
}
