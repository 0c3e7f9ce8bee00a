//! Presents the outcome of `faults` in words.

use super::answer::{Block, Table};
use super::{Presentation, hazard};
use crate::fault::{ALL, Fault, HEAT};
use crate::question::basis::WITH;
use crate::question::faults::{Faults, Found};

/// Presents the outcome of the question.
pub fn tell(request: &Faults, _: &Found) -> Presentation {
    let mut told = Presentation::default();
    match request.one {
        Some(fault) => in_full(&mut told, fault),
        None => listed(&mut told),
    }
    told
}

/// Describes one fault in full.
fn in_full(told: &mut Presentation, fault: &Fault) {
    told.headline(format!("{}: {}.", fault.key, fault.name));
    let lines = [
        ("severity", fault.severity.to_string()),
        ("symptoms", fault.shows.to_string()),
        ("confirming test", fault.confirm.to_string()),
        (
            "time for the test",
            format!("about {} min", fault.effort_minutes),
        ),
    ];
    told.show(Block::Table(Table {
        title: String::new(),
        heads: vec![String::new(), fault.name.into()],
        rows: lines.into_iter().map(|(k, v)| vec![k.into(), v]).collect(),
        numeric: Vec::new(),
    }));
    told.show(Block::Safety(hazard::lines(fault.hazards)));
}

/// Lists all faults.
fn listed(told: &mut Presentation) {
    told.headline(format!(
        "Possible faults. To apply one to a machine, use {} KEY=SEVERITY.",
        WITH.mention()
    ));
    for (title, list) in [
        ("Oil side: faults that change the fan speed", ALL),
        (
            "Heat side: faults that change the coolant temperature",
            HEAT,
        ),
    ] {
        let row = |f: &Fault| vec![f.key.into(), f.name.into(), f.shows.into()];
        told.show(Block::Table(Table {
            title: title.into(),
            heads: ["key", "fault", "symptoms"].map(String::from).to_vec(),
            rows: list.iter().map(row).collect(),
            numeric: Vec::new(),
        }));
    }
}
