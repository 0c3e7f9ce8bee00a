//! Where it runs hot: cooling by pace.

use super::super::Told;
use super::super::answer::{Block, Table};
use super::super::words::duration;
use crate::model::log::Signal;
use crate::quantity::{Kind, Units};
use crate::question::log::{AtPace, FUEL, FULL_FROM, Found, HotClimbs, Log};
use crate::vary::log::{Hot, Where, unthrottled};

/// A wider ± of a temperature, K, says no more than that it varied.
const VARIED: f64 = 10.0;

pub(super) fn tell(told: &mut Told, request: &Log, found: &Found) {
    let (units, lines) = (request.units, &found.paces);
    let known = lines.iter().any(|l| l.conductance.is_some());
    told.show(Block::Heading("Where it runs hot".into()));
    if let Some(sentence) = highest(units, &found.runs_hot) {
        told.say(sentence);
    }
    told.say(verdict(&found.hot));
    // Without heat, how fast it rises is what there is to compare.
    let last = if known {
        "heat per kelvin"
    } else {
        "rises a minute"
    };
    let heads = ["pace", "of the time", "coolant", "above ambient", last];
    told.show(Block::Table(Table {
        title: "Warm engine, by pace (± holds about 95 of 100 times; “about”: it varied much)"
            .into(),
        heads: heads.map(String::from).to_vec(),
        rows: lines.iter().map(|l| row(units, l, known)).collect(),
        numeric: vec![1, 2, 3, 4],
    }));
    told.say(of_heat(request, found, known));
    if known {
        let rule = match request.full_from {
            Some(_) => "as stated".to_string(),
            None => format!(
                "5 K above the level at which the engine stays most (engineering assumption, and too low for an engine that keeps cool: {} states it better)",
                FULL_FROM.mention()
            ),
        };
        told.say(format!(
            "Thermostat and fan are taken to give all they have from {}, {rule}.",
            units.show(Kind::Temperature, found.full_from)
        ));
    }
}

/// The highest climb above its own level, where climbs say that it runs hot.
fn highest(units: Units, hot: &HotClimbs) -> Option<String> {
    hot.certainty?;
    let climb = hot.climbs.first()?;
    let at = |w: Where| match w {
        Where::Standing => "at a stand",
        Where::Traffic => "in traffic",
        Where::Moving => "on the move",
        Where::Mixed => "at changing paces",
    };
    let rise = &climb.rise;
    let fell = climb.fall.as_ref();
    let fell = fell.map_or(String::new(), |f| format!(", and fell {}", at(f.at)));
    Some(format!(
        "The highest climb above its own level of {}: it rose {} in {} {}{fell}.",
        units.show(Kind::Temperature, hot.level),
        units.show(Kind::TemperatureDifference, rise.ends - rise.begins),
        duration(rise.duration),
        at(rise.at),
    ))
}

fn verdict(hot: &Hot) -> String {
    match hot {
        Hot::Standing => "It runs hotter standing and crawling than moving, by more than the error: common practice looks at the fan, its drive and its control first (no source).".into(),
        Hot::Moving => "It runs hotter moving than standing, by more than the error: common practice looks at the radiator, the coolant's flow and what blocks the air first (no source).".into(),
        Hot::Both => "It runs hot standing as well as moving.".into(),
        Hot::Nowhere => "The coolant never rose clear of the level at which it stayed most, as where a thermostat holds it. So the log does not show how much more the cooling could have given, standing or moving.".into(),
        Hot::CannotTell(why) => format!("Whether it runs hot standing or moving, this log cannot tell: {why}."),
    }
}

/// How the table's heat is known, or why it is not.
fn of_heat(request: &Log, found: &Found, known: bool) -> String {
    let why = found.heat_unknown_because;
    if !why.is_empty() {
        let open = request.fuel.is_none()
            && found.log.knows(Signal::AirFlow)
            && unthrottled(&found.log).is_none();
        let open = match open {
            true => format!(
                " If it burns petrol: {} petrol takes its fuel from its air.",
                FUEL.mention()
            ),
            false => String::new(),
        };
        return format!(
            "How much heat the coolant took up is not known here: {why}. So the table compares temperatures alone.{open}"
        );
    }
    if known {
        return "Heat per kelvin of excess over ambient, with 25 ± 5 % of the fuel's heat going to the coolant (common practice, no source). That fraction is not the same at all paces: it is larger at idle (a model of an engine puts about 40 % there) than under load, so a figure for standing may be half as much again as stated, and the ratio between two paces is no better than that. One pace against the same pace of another log is: there the ± of each counts. Where it says “at least”, thermostat or fan still held something back.".into();
    }
    "Heat per kelvin is not available: it takes three stretches of two minutes with the coolant nearly steady and the pace kept two minutes before and after, and ambient and the engine's fuel or air known.".into()
}

fn row(units: Units, line: &AtPace, known: bool) -> Vec<String> {
    let mean = |kind, mean: Option<f64>, half: Option<f64>| match (mean, half) {
        (Some(mean), Some(half)) if half > VARIED && kind != Kind::Conductance => {
            format!("about {}", units.show(kind, mean))
        }
        (Some(mean), Some(half)) => units.show_spread(kind, mean, half),
        _ => "–".into(),
    };
    let held = line.conductance.is_some() && !line.thermostat_full_open;
    let difference = Kind::TemperatureDifference;
    let last = if known {
        let least = if held { "at least " } else { "" };
        let conductance = mean(
            Kind::Conductance,
            line.conductance,
            line.conductance_half_width,
        );
        format!("{least}{conductance}")
    } else {
        mean(difference, line.rise, line.rise_half_width)
    };
    vec![
        line.pace.label().to_string(),
        units.show(Kind::Share, line.time_share),
        mean(Kind::Temperature, line.coolant, line.coolant_half_width),
        mean(
            difference,
            line.above_ambient,
            line.above_ambient_half_width,
        ),
        last,
    ]
}
