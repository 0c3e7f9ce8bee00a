//! Is this machine or oil file sound, and what would it do?

use super::answer::{Answer, Block, Table};
use super::words;
use crate::balance::State;
use crate::model::{OilSheet, Posed};
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;
use crate::vary::derivative::sensitivities;
use serde_json::json;

/// Says what a sound machine would do at idle and at full engine speed.
pub fn machine(posed: &Posed) -> Result<Answer, Trouble> {
    let units = posed.units;
    let mut answer = Answer {
        question: "check",
        case: posed.said.clone(),
        ..Answer::default()
    };
    answer.blocks.push(Block::Headline(format!(
        "The machine file is sound: {}.",
        posed.machine.name
    )));
    let mut table = Table {
        title: "What it would do, warm, at full command".into(),
        heads: [
            "engine",
            "engine speed",
            "fan speed",
            "pump pressure",
            "limited by",
        ]
        .map(String::from)
        .to_vec(),
        rows: Vec::new(),
        numeric: vec![1, 2, 3],
    };
    let usual = posed.machine.usual;
    for (key, speed) in [
        ("idle", usual.idle),
        ("raised", usual.raised),
        ("full", usual.full),
    ] {
        let mut case = posed.case;
        case.now.engine_speed = speed.value;
        let (state, operating) = State::of(&case)?;
        table.rows.push(vec![
            key.into(),
            units.show(Kind::Speed, case.now.engine_speed),
            units.show(Kind::Speed, state.fan_speed),
            units.show(Kind::Pressure, state.supply_gauge_pressure),
            operating.limit.key().into(),
        ]);
        words::put(
            &mut answer.numbers,
            &format!("fan_speed_{key}"),
            Kind::Speed,
            state.fan_speed,
        );
        answer
            .numbers
            .insert(format!("limited_by_{key}"), json!(operating.limit.key()));
        if key == "idle" {
            answer.cautions = words::cautions(posed, &state, operating.limit);
            let slopes = sensitivities(&case, &operating);
            let left_out = words::left_out(posed, &slopes, &state);
            answer.cautions.extend(left_out);
        }
    }
    answer.blocks.push(Block::Table(table));
    if !posed.machine.status.is_empty() {
        answer.blocks.push(Block::Sentence(format!(
            "Where its numbers come from: {}",
            posed.machine.status
        )));
    }
    Ok(answer)
}

/// Says what a sound oil is like over temperature.
pub fn oil(sheet: &OilSheet, units: Units) -> Answer {
    let mut answer = Answer {
        question: "check",
        ..Answer::default()
    };
    answer.blocks.push(Block::Headline(format!(
        "The oil file is sound: {}.",
        sheet.name
    )));
    let mut table = Table {
        title: "Viscosity".into(),
        heads: vec!["temperature".into(), "viscosity".into()],
        rows: Vec::new(),
        numeric: vec![0, 1],
    };
    for t in [-20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0] {
        let t = crate::input::unit::celsius(t);
        let nu = sheet.oil.now(&sheet.curve, t).nu;
        table.rows.push(vec![
            units.show(Kind::Temperature, t),
            units.show(Kind::KinematicViscosity, nu),
        ]);
    }
    answer.blocks.push(Block::Table(table));
    if !sheet.status.is_empty() {
        answer.blocks.push(Block::Sentence(format!(
            "Where its numbers come from: {}",
            sheet.status
        )));
    }
    let (cold, warm) = sheet.curve.range;
    words::put(&mut answer.numbers, "data_from", Kind::Temperature, cold);
    words::put(&mut answer.numbers, "data_to", Kind::Temperature, warm);
    answer
}
