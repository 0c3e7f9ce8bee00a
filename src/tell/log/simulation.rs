//! A log compared with a simulation: measured and simulated coolant in one picture, and their difference by phase.

use super::super::Presentation;
use super::super::answer::{Block, Table};
use super::super::words::{count, credible, duration};
use super::pictures;
use crate::balance::COOLANT_MODEL_HALF;
use crate::model::Setup;
use crate::model::log::Signal;
use crate::quantity::{Kind, Units};
use crate::question::log::{AMBIENT, COLUMN, Found, OtherVehicle, Simulation};

/// Mean temperatures that differ by less than this, K, count as equal.
const SAME: f64 = 0.1;

pub(super) fn tell(told: &mut Presentation, setup: &Setup, found: &Found, model: &Simulation) {
    let (units, name) = (setup.units, &model.machine);
    told.show(Block::Heading(format!("Compared with a model: {name}")));
    if !model.ran() {
        told.say(lacking(&model.missing));
        return;
    }
    told.say(apart(units, model));
    told.say(another(units, model));
    told.say(begun(model));
    if model.misfit_mean.is_some() {
        told.show(Block::Chart(pictures::both(units, &found.log, model)));
        told.show(Block::Table(table(units, model)));
    }
}

fn lacking(missing: &[Signal]) -> String {
    let lacks: Vec<&str> = missing.iter().map(|s| s.label()).collect();
    let hint = if missing.contains(&Signal::Ambient) {
        format!(" State the ambient temperature with {}.", AMBIENT.mention())
    } else {
        String::new()
    };
    format!(
        "Not simulated: the log has no {}, which a simulation needs.{hint} If the log has it under another heading, name that column with {}.",
        lacks.join(", no "),
        COLUMN.mention()
    )
}

/// Says how far simulation and measurement differ, and whether that exceeds the accuracy of the model.
fn apart(units: Units, model: &Simulation) -> String {
    let (Some(mean), Some(rms)) = (model.misfit_mean, model.misfit_rms) else {
        return "Nothing could be simulated.".into();
    };
    let kelvin = |k: f64| units.show(Kind::TemperatureDifference, k);
    let by = |mean: f64, than: &str| match mean {
        m if m.abs() < SAME && than.is_empty() => format!("as warm within {}", kelvin(SAME)),
        m if m.abs() < SAME => format!("as warm as, within {},", kelvin(SAME)),
        m if m > 0.0 => format!("{} hotter{than}", kelvin(m)),
        m => format!("{} cooler{than}", kelvin(-m)),
    };
    let whole = by(mean, " than");
    let beyond = model
        .phases
        .iter()
        .filter(|p| p.misfit_mean.abs() > COOLANT_MODEL_HALF);
    let beyond: Vec<String> = beyond
        .map(|p| format!("{} {}", p.phase.label(), by(p.misfit_mean, "")))
        .collect();
    let credible = credible(units);
    let judged = if beyond.is_empty() {
        format!(
            "In every phase the mean difference is within {credible}, the accuracy of the model: this neither shows a fault nor excludes one."
        )
    } else {
        format!(
            "The mean difference exceeds {credible}, the accuracy of the model, in these phases: {}.",
            beyond.join(", ")
        )
    };
    format!(
        "The simulated coolant is on average {whole} the measured one; the root mean square of the difference is {}. {judged}",
        kelvin(rms)
    )
}

/// Says what suggests that the log is of another vehicle.
fn another(units: Units, model: &Simulation) -> String {
    let sign = |sign: &OtherVehicle| {
        match sign {
        OtherVehicle::Unthrottled => "the logged engine is unthrottled at idle, like a diesel, but the machine's engine burns petrol".to_string(),
        OtherVehicle::EngineSpeed { logged, full } => format!(
            "the logged engine runs at up to {}, the machine's at {} at most",
            units.show(Kind::Speed, *logged),
            units.show(Kind::Speed, *full)
        ),
        OtherVehicle::EnginePower { required, rated } => format!(
            "on this road the machine would need {}, but its engine has {}",
            units.show(Kind::Power, *required),
            units.show(Kind::Power, *rated)
        ),
    }
    };
    let (name, signs) = (&model.machine, &model.other_vehicle);
    if signs.is_empty() {
        return format!(
            "This is a simulation of the machine “{name}”. If the log is of another vehicle, the difference shows how two vehicles differ, not a fault; only with a machine file of the logged vehicle is it a test."
        );
    }
    let signs: Vec<String> = signs.iter().map(sign).collect();
    format!(
        "The log is of another vehicle than the machine “{name}”: {}. The difference therefore shows how two vehicles differ, not a fault; only with a machine file of the logged vehicle would it be a test.",
        signs.join("; ")
    )
}

fn begun(model: &Simulation) -> String {
    let anew = match model.begins.len() {
        0 | 1 => String::new(),
        n => format!(
            ", and restarts at the first reading after each gap ({})",
            count(n as u64 - 1, "time")
        ),
    };
    format!(
        "The simulation starts with engine, core and oil at the temperature of the first coolant reading{anew}. The power for acceleration is not included, so in traffic the simulated engine produces slightly less heat than a real one."
    )
}

fn table(units: Units, model: &Simulation) -> Table {
    let kelvin = |k: f64| units.show(Kind::TemperatureDifference, k);
    let row = |name: &str, time: f64, mean: f64, rms: f64| {
        vec![name.to_string(), duration(time), kelvin(mean), kelvin(rms)]
    };
    let phases = model.phases.iter();
    let mut rows: Vec<Vec<String>> = phases
        .map(|p| row(p.phase.label(), p.time, p.misfit_mean, p.misfit_rms))
        .collect();
    let whole = model.misfit_mean.zip(model.misfit_rms);
    rows.extend(whole.map(|(mean, rms)| row("all", model.time, mean, rms)));
    Table {
        title: "Simulated minus measured coolant temperature, by phase".into(),
        heads: ["phase", "duration", "mean", "root mean square"]
            .map(String::from)
            .to_vec(),
        rows,
        numeric: vec![1, 2, 3],
    }
}
