//! Which cause is how probable after readings of one machine.

use super::forecast::{Row, Subject};
use super::posterior::Evidence;
use crate::fault::Fault;
use crate::fault::priors::Priors;
use crate::model::Posed;
use crate::probe::Readings;
use crate::trouble::Troubles;
use serde::Serialize;

/// A cause with what the readings say of it.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Weighed {
    /// The fault; `None` stands for nothing wrong that matters.
    #[serde(serialize_with = "by_key")]
    pub fault: Option<&'static Fault>,
    /// Its probability.
    pub probability: f64,
    /// Its severity: 5 %, 50 % and 95 % quantiles.
    pub severity: [f64; 3],
}

fn by_key<S: serde::Serializer>(
    fault: &Option<&'static Fault>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    fault.map(|f| f.key).serialize(serializer)
}

/// Weighs the causes by readings, the most probable first; before any reading they are as common as `priors` say.
pub fn weigh(
    posed: &Posed,
    readings: &Readings,
    priors: &Priors,
) -> Result<Vec<Weighed>, Troubles> {
    let rows: Vec<Row> = readings.all.iter().map(|r| Row::of(r, false)).collect();
    let numbered = readings.all.iter().enumerate();
    let evidence: Vec<Evidence> = numbered.map(|(row, r)| Evidence::of(row, r)).collect();
    let warm = readings.all.iter().any(|r| r.probe.what.of_coolant());
    let faults = if warm {
        priors.all_faults()
    } else {
        priors.faults()
    };
    let subject = Subject {
        machine: &posed.machine,
        case: &posed.case,
        spread: &posed.spread,
        stop: &posed.stop,
    };
    let (forecast, suspects) = subject
        .forecast(&rows, &evidence, priors.nothing, &faults)
        .map_err(|t| vec![t])?;
    let causes = std::iter::once(None).chain(forecast.faults.into_iter().map(Some));
    let mut all: Vec<Weighed> = causes
        .zip(suspects)
        .map(|(fault, s)| Weighed {
            fault,
            probability: s.probability,
            severity: s.severity,
        })
        .collect();
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    Ok(all)
}
