//! Against the model: measured and simulated coolant in one picture, and how far they lie apart by phase.

use super::super::answer::{Answer, Block, Table};
use super::super::words;
use super::exposure::put_all;
use super::{Question, count, moment, pictures, span};
use crate::model::log::Signal;
use crate::model::{Fuel, Posed};
use crate::quantity::{Kind, Units};
use crate::vary::log::{Digest, Misfit, Simulated, missing, simulate, unthrottled};
use serde_json::{Value, json};

/// To so many K absolute temperatures of the model are credible at best and at worst *(judgment)*.
const CREDIBLE: f64 = 10.0;

/// Simulates and says it; nothing where the log has too little.
pub(super) fn say(answer: &mut Answer, question: &Question, posed: &Posed) -> Option<Simulated> {
    let (log, units) = (&question.log, question.units);
    // The log says how high as well.
    let own = words::lasting(posed).filter(|(label, _)| label != "altitude");
    answer.case.extend(own);
    answer.blocks.push(Block::Heading(format!(
        "Against the model: {}",
        posed.machine.name
    )));
    let lacks: Vec<&str> = missing(log, question.ambient[0])
        .into_iter()
        .map(Signal::label)
        .collect();
    let machine = json!({"machine": posed.machine.name, "oil": posed.oil.name, "missing": lacks});
    if !lacks.is_empty() {
        let hint = if lacks.contains(&Signal::Ambient.label()) {
            " --ambient says how warm it was."
        } else {
            ""
        };
        answer.blocks.push(Block::Sentence(format!(
            "Not simulated: the log has no {}, and a simulation needs it.{hint} If a column has it under another name, --column says which.",
            lacks.join(", no ")
        )));
        put_all(answer, json!({"model": machine}));
        return None;
    }
    let simulated = simulate(
        log,
        &posed.case,
        question.ambient[0],
        question.filling.altitude,
    );
    put_all(answer, json!({"model": numbers(&simulated, machine)}));
    let sentences = [
        apart(units, &simulated),
        another(log, posed, &simulated),
        Some(begun(&simulated)),
    ];
    let sentences = sentences.into_iter().flatten().map(Block::Sentence);
    answer.blocks.extend(sentences);
    if simulated.whole.is_some() {
        let chart = pictures::both(units, log, &simulated);
        answer.blocks.push(Block::Chart(chart));
        answer.blocks.push(Block::Table(table(units, &simulated)));
    }
    for (when, why) in &simulated.stopped {
        answer
            .cautions
            .push(format!("The simulation ends at {}: {why}.", moment(*when)));
    }
    answer.cautions.extend(posed.cautions.clone());
    Some(simulated)
}

/// How far apart, and whether that is more than the model can be trusted to.
fn apart(units: Units, simulated: &Simulated) -> Option<String> {
    let Some(whole) = simulated.whole else {
        return Some("Nothing could be simulated.".into());
    };
    let same = format!(
        "as warm within {}",
        units.show(Kind::TemperatureDifference, 0.1)
    );
    let by = |mean: f64| match mean {
        m if m.abs() < 0.1 => same.clone(),
        m => format!(
            "{} {}",
            units.show(Kind::TemperatureDifference, m.abs()),
            if m > 0.0 { "hotter" } else { "cooler" }
        ),
    };
    let mut text = format!(
        "The simulated coolant is {} than the measured in the mean; the root mean square of the difference is {}.",
        by(whole.mean),
        units.show(Kind::TemperatureDifference, whole.rms)
    )
    .replace(&format!("{same} than"), &format!("{same} as"));
    let beyond: Vec<String> = simulated
        .phases
        .iter()
        .filter(|(_, m)| m.mean.abs() > CREDIBLE)
        .map(|(phase, m)| format!("{} {}", phase.label(), by(m.mean)))
        .collect();
    if beyond.is_empty() {
        text.push_str(&format!(
            " In every phase the mean lies within the {} to which the model's temperatures are credible: that alone shows no fault, and rules none out.",
            words::credible(units)
        ));
    } else {
        text.push_str(&format!(
            " That is more than the {} to which the model's temperatures are credible: {}.",
            words::credible(units),
            beyond.join(", ")
        ));
    }
    Some(text)
}

/// Whether the log is of the machine at all.
fn another(log: &Digest, posed: &Posed, simulated: &Simulated) -> Option<String> {
    let units = posed.units;
    let mut signs = Vec::new();
    if posed.machine.fuel == Some(Fuel::Petrol) && unthrottled(log) == Some(true) {
        signs.push("the logged engine is not throttled at idle, as a diesel's is not, and the machine's burns petrol".to_string());
    }
    let most = log.tally.seen[Signal::EngineSpeed as usize].most;
    let full = posed.machine.usual.full.value;
    if most > 1.05 * full {
        signs.push(format!(
            "the logged engine turns at up to {}, and the machine's at {} at most",
            units.show(Kind::Speed, most),
            units.show(Kind::Speed, full)
        ));
    }
    let rated = posed.case.engine.as_ref().map(|e| e.rated_power);
    if let Some(rated) = rated.filter(|r| simulated.engine_power > *r) {
        signs.push(format!(
            "on this road the machine would need {}, and its engine has {}",
            units.show(Kind::Power, simulated.engine_power),
            units.show(Kind::Power, rated)
        ));
    }
    let name = &posed.machine.name;
    Some(match signs.as_slice() {
        [] => format!(
            "This is a simulation of the machine “{name}”. If the log is of another vehicle, the difference tells how two vehicles differ, and nothing of a fault; a machine file of the vehicle itself makes it a test."
        ),
        signs => format!(
            "The log is of another vehicle than the machine “{name}”: {}. So the difference tells how two vehicles differ, and nothing of a fault; a machine file of the vehicle itself would make it a test.",
            signs.join("; ")
        ),
    })
}

fn begun(simulated: &Simulated) -> String {
    let anew = match simulated.begins.len() {
        0 | 1 => String::new(),
        n => format!(
            ", and anew at the first reading after each gap ({})",
            count(n as u64 - 1, "time")
        ),
    };
    format!(
        "It begins with engine, core and oil as warm as the coolant's first reading{anew}; what the vehicle spends on gaining speed is left out, so in traffic its engine gets a little less heat than a real one."
    )
}

fn table(units: Units, simulated: &Simulated) -> Table {
    let row = |name: &str, m: &Misfit| {
        vec![
            name.to_string(),
            span(m.time),
            units.show(Kind::TemperatureDifference, m.mean),
            units.show(Kind::TemperatureDifference, m.rms),
        ]
    };
    let phases = simulated.phases.iter();
    let mut rows: Vec<Vec<String>> = phases.map(|(p, m)| row(p.label(), m)).collect();
    rows.extend(simulated.whole.as_ref().map(|m| row("all", m)));
    Table {
        title: "Simulated less measured coolant, by what the vehicle does".into(),
        heads: ["phase", "for", "mean", "root mean square"]
            .map(String::from)
            .to_vec(),
        rows,
        numeric: vec![1, 2, 3],
    }
}

fn numbers(simulated: &Simulated, machine: Value) -> Value {
    let phases: Vec<Value> = simulated
        .phases
        .iter()
        .map(|(phase, m)| {
            json!({
                "phase": phase.label(),
                "time_s": m.time,
                "misfit_mean_k": m.mean,
                "misfit_rms_k": m.rms,
            })
        })
        .collect();
    let known = || simulated.coolant.iter().copied().filter(|t| t.is_finite());
    let peak = known().fold(f64::NAN, f64::max);
    let stopped: Vec<Value> = simulated
        .stopped
        .iter()
        .map(|(time, why)| json!({"time_s": time, "why": why}))
        .collect();
    let mut all = json!({
        "misfit_mean_k": simulated.whole.map(|m| m.mean),
        "misfit_rms_k": simulated.whole.map(|m| m.rms),
        "phases": phases,
        "simulated_peak_coolant_c": peak - 273.15,
        "begins_s": simulated.begins,
        "stopped": stopped,
    });
    if let (Value::Object(all), Value::Object(machine)) = (&mut all, machine) {
        all.extend(machine);
    }
    all
}
