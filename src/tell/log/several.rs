//! Several logs in one table.

use super::super::Presentation;
use super::super::answer::{Block, Table};
use super::super::words::{count, duration};
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::log::{LogLine, Several};
use crate::vary::log::Verdict;

/// A table of all logs; those in which the engine runs hot come first.
pub(super) fn tell(units: Units, found: &Several) -> Presentation {
    let mut told = Presentation::default();
    let read = found.logs.iter().filter(|l| l.troubles.is_empty()).count();
    let hot = found.logs.iter().filter(|l| runs_hot(l)).count();
    told.headline(format!(
        "The engine runs hot in {hot} of {} that could be read.",
        count(read as u64, "log")
    ));
    told.show(Block::Table(Table {
        title: "Logs by peak temperature; those in which the engine runs hot come first".into(),
        heads: ["log", "result", "peak", "duration", "reason"]
            .map(String::from)
            .to_vec(),
        rows: found.logs.iter().map(|l| row(units, l)).collect(),
        numeric: vec![2, 3],
    }));
    told.cautions.clone_from(&found.cautions);
    told.series = Series::of(&found.logs);
    told
}

fn runs_hot(line: &LogLine) -> bool {
    use Verdict::{Both, Moving, Standing};
    matches!(line.hot, Some(Standing(_) | Moving(_) | Both(_)))
}

fn row(units: Units, line: &LogLine) -> Vec<String> {
    let verdict = match line.hot {
        _ if !line.troubles.is_empty() => "not read",
        None => "no verdict",
        Some(Verdict::Standing(_)) => "hot at standstill",
        Some(Verdict::Moving(_)) => "hot on the move",
        Some(Verdict::Both(_)) => "hot at standstill and on the move",
        Some(Verdict::Regulated) => "held by the thermostat",
        Some(Verdict::CannotTell(_)) => "cannot tell",
    };
    let peak = line.peak_coolant.map(|t| units.show(Kind::Temperature, t));
    let lasts = line.duration.map(duration);
    let why = match line.verdict {
        "withdrawn" => "too many readings are missing or unusable".into(),
        _ => line.why.clone(),
    };
    vec![
        line.log.clone(),
        verdict.into(),
        peak.unwrap_or_default(),
        lasts.unwrap_or_default(),
        why,
    ]
}
