//! Presents the outcome of `check` in words.

use super::Presentation;
use super::answer::{Block, Table};
use crate::model::{OilSheet, Setup};
use crate::quantity::{Kind, Units};
use crate::question::check::{Check, Found, OfMachine, OfOil, Row};

/// Presents the outcome of the question.
pub fn tell(request: &Check, found: &Found) -> Presentation {
    match (request, found) {
        (Check::Machine(setup), Found::Machine(found)) => machine(setup, found),
        (Check::Oil(sheet, units), Found::Oil(found)) => oil(sheet, *units, found),
        _ => Presentation::default(),
    }
}

/// Shows the performance of a valid machine.
fn machine(setup: &Setup, found: &OfMachine) -> Presentation {
    let units = setup.units;
    let mut told = Presentation::about(setup);
    told.headline(format!(
        "The machine file is valid: {}.",
        setup.machine.name
    ));
    let row = |row: &Row| {
        vec![
            row.key.into(),
            units.show(Kind::Speed, row.engine_speed),
            units.show(Kind::Speed, row.state.fan_speed),
            units.show(Kind::Pressure, row.state.supply_gauge_pressure),
            row.limit.key().into(),
        ]
    };
    told.show(Block::Table(Table {
        title: "Performance with warm oil at full fan command".into(),
        heads: [
            "engine",
            "engine speed",
            "fan speed",
            "pump pressure",
            "limited by",
        ]
        .map(String::from)
        .to_vec(),
        rows: found.rows.iter().map(row).collect(),
        numeric: vec![1, 2, 3],
    }));
    source(&mut told, &setup.machine.status);
    told.cautions.clone_from(&found.cautions);
    told
}

/// Shows the properties of a valid oil versus temperature.
fn oil(sheet: &OilSheet, units: Units, found: &OfOil) -> Presentation {
    let mut told = Presentation::default();
    told.headline(format!("The oil file is valid: {}.", sheet.name));
    let row = |(t, nu): &(f64, f64)| {
        vec![
            units.show(Kind::Temperature, *t),
            units.show(Kind::KinematicViscosity, *nu),
        ]
    };
    told.show(Block::Table(Table {
        title: "Viscosity".into(),
        heads: vec!["temperature".into(), "viscosity".into()],
        rows: found.viscosities.iter().map(row).collect(),
        numeric: vec![0, 1],
    }));
    source(&mut told, &sheet.status);
    told
}

fn source(told: &mut Presentation, status: &str) {
    if !status.is_empty() {
        told.say(format!("Source of its values: {status}"));
    }
}
