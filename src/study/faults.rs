//! What can go wrong, on the oil side and the heat side.

use super::answer::{Answer, Block, Table};
use crate::fault::{ALL, Fault, HEAT};
use serde_json::{Value, json};

/// All faults, or one in full.
pub fn answer(one: Option<&Fault>) -> Answer {
    let mut answer = Answer {
        question: "faults",
        ..Answer::default()
    };
    let listed: Vec<&Fault> = one.map_or_else(|| ALL.iter().chain(HEAT).collect(), |f| vec![f]);
    match one {
        Some(fault) => {
            answer
                .blocks
                .push(Block::Headline(format!("{}: {}.", fault.key, fault.name)));
            let lines = [
                ("severity", fault.severity.to_string()),
                ("how it shows", fault.shows.to_string()),
                ("what settles it", fault.confirm.to_string()),
                ("that takes about", format!("{} min", fault.effort_minutes)),
                (
                    "not told apart by ordinary readings",
                    fault.twins.join(", "),
                ),
            ];
            answer.blocks.push(Block::Table(Table {
                title: String::new(),
                heads: vec!["what".into(), fault.name.into()],
                rows: lines.into_iter().map(|(k, v)| vec![k.into(), v]).collect(),
                numeric: Vec::new(),
            }));
            answer.blocks.push(Block::Safety(
                fault.cautions.iter().map(|c| (*c).to_string()).collect(),
            ));
        }
        None => {
            answer.blocks.push(Block::Headline(
                "What can go wrong; put one on a machine with --with KEY=SEVERITY.".into(),
            ));
            for (title, list) in [
                ("On the oil side: it shows on the fan", ALL),
                ("On the heat side: it shows on the coolant", HEAT),
            ] {
                answer.blocks.push(Block::Table(Table {
                    title: title.into(),
                    heads: ["key", "fault", "how it shows"].map(String::from).to_vec(),
                    rows: list
                        .iter()
                        .map(|f| vec![f.key.into(), f.name.into(), f.shows.into()])
                        .collect(),
                    numeric: Vec::new(),
                }));
            }
        }
    }
    let faults: Vec<Value> = listed
        .iter()
        .map(|f| {
            json!({
                "key": f.key, "name": f.name, "severity": f.severity, "shows": f.shows, "confirm": f.confirm,
                "effort_minutes": f.effort_minutes, "twins": f.twins,
            })
        })
        .collect();
    answer.numbers.insert("faults".into(), Value::Array(faults));
    answer
}
