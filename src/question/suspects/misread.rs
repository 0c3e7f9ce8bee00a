//! An error that multiplies all readings of one kind by the same factor: each blade counted as a revolution, or one
//! unit of pressure mistaken for another.
//!
//! The probability of such an error is computed together with those of the causes: if the readings are `y = k·x`, their
//! probability density is that of `x = y/k`, divided by `k` once for each reading.

use super::Suspects;
use super::weigh::{Weighing, weigh};
use crate::probe::Reading;
use crate::quantity::Kind;
use crate::question::readings::Slip;
use crate::trouble::Trouble;

/// Prior probability of such an error, shared equally by all errors of the same kind: an engineering assumption.
const COMMON: f64 = 0.03;
/// If the readings fit with a probability of at least `FITS`, such an error is considered only if all readings of the
/// kind exceed `HIGH` times the expected values.
const FITS: f64 = 0.05;
const HIGH: f64 = 1.5;
/// For pressures, it is also considered if all readings are below `LOW` times the expected values.
const LOW: f64 = 0.3;

/// An error is assumed only if its probability is above this.
const ASSUMED: f64 = 0.5;

/// An error that explains the readings better than the assumption of no error, with its probability.
#[derive(Clone, Copy, Debug)]
pub struct Misread {
    /// The typing or counting error.
    pub slip: Slip,
    /// Probability of this error relative to no error and all other errors considered.
    pub probability: f64,
    /// Whether the error is assumed, so that everything else is computed from the corrected readings. How many blades
    /// were counted need not be known for that.
    pub assumed: bool,
}

/// The most probable error, with the request as corrected for it; `None` if no error is more probable than none.
pub(super) fn find(weighed: &Weighing<'_>) -> Result<Option<(Misread, Suspects)>, Trouble> {
    let none = weighed.log_evidence() + (1.0 - COMMON).ln();
    let mut tried = Vec::new();
    for (kind, slips) in [
        (Kind::Speed, Slip::of_speed().collect()),
        (Kind::Pressure, Slip::OF_PRESSURE.to_vec()),
    ] {
        let of_kind =
            |r: &Reading| r.probe.what.kind() == kind && r.probe.setting.settled.is_none();
        let ratios = weighed.over_sound(of_kind);
        let (Some(most), Some(least)) = (
            ratios.iter().copied().reduce(f64::max),
            ratios.iter().copied().reduce(f64::min),
        ) else {
            continue;
        };
        let odd = least > HIGH || (kind == Kind::Pressure && most < LOW);
        if !odd && weighed.chance() >= FITS {
            continue;
        }
        let slips: Vec<Slip> = slips;
        let all = slips.len() as f64;
        // The corrected speed must be between 0.25 and 1.4 times the expected value.
        let left = |s: &Slip| (0.25..1.4).contains(&(s.factor() * most));
        for slip in slips
            .into_iter()
            .filter(|s| kind == Kind::Pressure || left(s))
        {
            let asked = mended(weighed.request, slip, of_kind);
            let log = weigh(&asked, &[])?.log_evidence();
            let turned = ratios.len() as f64 * slip.factor().ln();
            tried.push((slip, asked, log + turned + (COMMON / all).ln()));
        }
    }
    let top = tried.iter().map(|t| t.2).fold(none, f64::max);
    let total: f64 = tried.iter().map(|t| (t.2 - top).exp()).sum::<f64>() + (none - top).exp();
    let of = |log: f64| (log - top).exp() / total;
    let counted = tried.iter().filter(|t| matches!(t.0, Slip::Blades(_)));
    let counted: f64 = counted.map(|t| of(t.2)).sum();
    let best = tried.into_iter().max_by(|a, b| a.2.total_cmp(&b.2));
    Ok(best.filter(|b| b.2 > none).map(|(slip, asked, log)| {
        let probability = of(log);
        let assumed = match slip {
            Slip::Blades(_) => counted > ASSUMED,
            _ => probability > ASSUMED,
        };
        let misread = Misread {
            slip,
            probability,
            assumed,
        };
        (misread, asked)
    }))
}

/// The request with all readings of a kind corrected for an error.
fn mended(request: &Suspects, slip: Slip, of_kind: impl Fn(&Reading) -> bool) -> Suspects {
    let mut asked = request.clone();
    for reading in asked.readings.all.iter_mut().filter(|r| of_kind(r)) {
        reading.value *= slip.factor();
        reading.half *= slip.factor();
    }
    asked
}
