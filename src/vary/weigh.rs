//! The probability of each possible cause, given readings of one machine.

use super::forecast::{Row, Subject, Weights};
use super::posterior::Evidence;
use crate::fault::Fault;
use crate::fault::priors::{NOT_LISTED, NOTHING, Priors};
use crate::model::Setup;
use crate::probe::Readings;
use crate::trouble::Troubles;
use serde::Serialize;

/// The possible causes.
#[derive(Clone, Copy, Debug)]
pub enum Cause {
    /// Nothing wrong that matters.
    Nothing,
    /// A listed fault.
    Fault(&'static Fault),
    /// An unlisted cause.
    NotListed,
}

impl Cause {
    /// Key of the cause.
    pub fn key(self) -> &'static str {
        match self {
            Cause::Nothing => NOTHING,
            Cause::Fault(fault) => fault.key,
            Cause::NotListed => NOT_LISTED,
        }
    }
}

/// A cause with its posterior.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Weighed {
    /// The cause, by its key.
    #[serde(rename = "fault", serialize_with = "by_key")]
    pub cause: Cause,
    /// Probability of the cause.
    pub probability: f64,
    /// Severity of the cause: lower limit, median and upper limit of the 90 % interval.
    pub severity: [f64; 3],
}

fn by_key<S: serde::Serializer>(cause: &Cause, serializer: S) -> Result<S::Ok, S::Error> {
    cause.key().serialize(serializer)
}

/// Computes the probabilities of the causes from readings, the most probable first; `priors` gives their prior weights.
pub fn weigh(
    setup: &Setup,
    readings: &Readings,
    priors: &Priors,
) -> Result<Vec<Weighed>, Troubles> {
    let rows: Vec<Row> = readings.all.iter().map(|r| Row::of(r, false)).collect();
    let numbered = readings.all.iter().enumerate();
    let evidence: Vec<Evidence> = numbered.map(|(row, r)| Evidence::of(row, r)).collect();
    let warm = readings.all.iter().any(|r| r.probe.what.of_coolant());
    let weights = Weights::of(priors, warm);
    let subject = Subject {
        machine: &setup.machine,
        case: &setup.case,
        spread: &setup.spread,
        stop: &setup.stop,
    };
    let (forecast, suspects) = subject
        .forecast(&rows, &evidence, &weights)
        .map_err(|t| vec![t])?;
    let faults = forecast.faults.into_iter().map(Cause::Fault);
    let causes = std::iter::once(Cause::Nothing)
        .chain(faults)
        .chain([Cause::NotListed]);
    let mut all: Vec<Weighed> = causes
        .zip(suspects)
        .map(|(cause, s)| Weighed {
            cause,
            probability: s.probability,
            severity: s.severity,
        })
        .collect();
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    Ok(all)
}
