//! Several logs in one table.

use super::super::answer::{Answer, Block, Table};
use super::span;
use crate::quantity::{Kind, Units};
use crate::vary::log::{Line, Verdict};
use serde_json::{Value, json};

/// All logs, those that run hot first.
pub fn table(lines: Vec<Line>, units: Units) -> Answer {
    let mut answer = Answer {
        question: "log",
        ..Answer::default()
    };
    let verdict = |line: &Line| match &line.read {
        Err(_) => "not read",
        Ok((digest, _)) if digest.withdrawn() => "no verdict",
        Ok((_, hot)) => match hot.verdict {
            Verdict::Standing(_) => "hot standing",
            Verdict::Moving(_) => "hot moving",
            Verdict::Both(_) => "hot standing and moving",
            Verdict::Regulated => "regulated",
            Verdict::CannotTell(_) => "cannot tell",
        },
    };
    let row = |line: &Line| match &line.read {
        Err(troubles) => {
            let why = troubles.first().map_or(String::new(), |t| t.found.clone());
            vec![
                line.source.clone(),
                verdict(line).into(),
                String::new(),
                String::new(),
                why,
            ]
        }
        Ok((digest, _)) => {
            let peak = digest.exposure.peak.map_or(f64::NAN, |p| p.0);
            vec![
                line.source.clone(),
                verdict(line).into(),
                units.show(Kind::Temperature, peak),
                span(digest.tally.duration),
                String::new(),
            ]
        }
    };
    let hot = lines
        .iter()
        .filter(|l| verdict(l).starts_with("hot"))
        .count();
    let read = lines.iter().filter(|l| l.read.is_ok()).count();
    answer.blocks.push(Block::Headline(format!(
        "{hot} of {read} logs that could be read run hot."
    )));
    answer.blocks.push(Block::Table(Table {
        title: "Logs, those that run hot first, then by their peak".into(),
        heads: ["log", "what it says", "peak", "lasts", "why not"]
            .map(String::from)
            .to_vec(),
        rows: lines.iter().map(row).collect(),
        numeric: vec![2, 3],
    }));
    let numbers = lines.iter().map(|line| match &line.read {
        Err(troubles) => json!({
            "log": line.source, "verdict": verdict(line),
            "troubles": troubles.iter().map(ToString::to_string).collect::<Value>(),
        }),
        Ok((digest, _)) => json!({
            "log": line.source, "verdict": verdict(line),
            "peak_coolant_c": digest.exposure.peak.map(|p| p.0 - 273.15),
            "duration_s": digest.tally.duration, "rows_read": digest.tally.rows_read,
        }),
    });
    answer.numbers.insert("logs".into(), numbers.collect());
    answer
}
