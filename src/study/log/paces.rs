//! Where it runs hot: cooling by road speed.

use super::super::answer::{Answer, Block, Table};
use super::exposure::put_all;
use super::{Question, span};
use crate::model::log::Signal;
use crate::quantity::{Kind, Units};
use crate::vary::log::{
    ByPace, Certainty, Digest, Heat, Hot, Interval, Leg, Verdict, Where, all_given_from, by_pace,
    heat, runs_hot, where_hot,
};
use serde_json::{Value, json};

/// A wider ± of a temperature, K, says no more than that it varied.
const VARIED: f64 = 10.0;

pub(super) fn say(answer: &mut Answer, question: &Question) {
    let (log, units) = (&question.log, question.units);
    let heat = heat(log, question.fuel);
    let full = all_given_from(log, question.full_from);
    let lines = by_pace(log, &heat, question.ambient[0], full);
    let (key, reason) = match where_hot(log, full) {
        Hot::Standing => (
            "standing",
            "It runs hotter standing and crawling than moving, by more than the error: common practice looks at the fan, its drive and its control first (no source).".to_string(),
        ),
        Hot::Moving => (
            "moving",
            "It runs hotter moving than standing, by more than the error: common practice looks at the radiator, the coolant's flow and what blocks the air first (no source).".to_string(),
        ),
        Hot::Both => ("both", "It runs hot standing as well as moving.".to_string()),
        Hot::Nowhere => (
            "nowhere",
            "The coolant never rose clear of the level at which it stayed most, as where a thermostat holds it. So the log does not show how much more the cooling could have given, standing or moving.".to_string(),
        ),
        Hot::CannotTell(why) => (
            "cannot_tell",
            format!("Whether it runs hot standing or moving, this log cannot tell: {why}."),
        ),
    };
    let known = lines.iter().any(|l| l.conductance.is_some());
    // Without heat, how fast it rises is what there is to compare.
    let last = if known {
        "heat per kelvin"
    } else {
        "rises a minute"
    };
    let heads = ["pace", "of the time", "coolant", "above ambient", last];
    let of_heat = match &heat {
        Heat::Unknown(why) => format!(
            "How much heat the coolant took up is not known here: {why}. So the table compares temperatures alone."
        ),
        _ if known => "Heat per kelvin of excess over ambient, with 25 ± 5 % of the fuel's heat going to the coolant (common practice, no source). That share is not the same at all paces: it is larger at idle (a model of an engine puts about 40 % there) than under load, so a figure for standing may be half as much again as told, and the ratio between two paces is no better than that. One pace against the same pace of another log is: there the ± of each counts. Where it says “at least”, thermostat or fan still held something back.".into(),
        _ => "Heat per kelvin is not told: it takes three stretches of two minutes with the coolant nearly steady and the pace kept two minutes before and after, and ambient and the engine's draw known.".into(),
    };
    let rule = match question.full_from {
        Some(_) => "as said",
        None => {
            "5 K above the level at which the engine stays most (judgment, and too low for an engine that keeps cool: --full-from says it better)"
        }
    };
    let taken = format!(
        "Thermostat and fan are taken to give all they have from {}, {rule}.",
        units.show(Kind::Temperature, full)
    );
    let (from, why) = match heat {
        Heat::Fuel(_) => ("fuel", ""),
        Heat::Air => ("air", ""),
        Heat::Unknown(why) => ("unknown", why),
    };
    put_all(
        answer,
        json!({
            "where_hot": key,
            "where_hot_reason": reason,
            "heat_from": from,
            "heat_unknown_because": why,
            "full_from_c": Kind::Temperature.to_json(full),
            "paces": lines.iter().map(pace_json).collect::<Value>(),
        }),
    );
    let climbs = climbs(answer, units, log);
    answer
        .blocks
        .push(Block::Heading("Where it runs hot".into()));
    answer.blocks.extend(climbs.map(Block::Sentence));
    answer.blocks.extend([
        Block::Sentence(reason),
        Block::Table(Table {
            title: "Warm engine, by pace (± holds about 95 of 100 times; “about”: it varied much)"
                .into(),
            heads: heads.map(String::from).to_vec(),
            rows: lines.iter().map(|l| pace_row(units, l, known)).collect(),
            numeric: vec![1, 2, 3, 4],
        }),
        Block::Sentence(of_heat),
    ]);
    if known {
        answer.blocks.push(Block::Sentence(taken));
    }
}

/// The climbs in numbers, and the highest in a sentence.
fn climbs(answer: &mut Answer, units: Units, log: &Digest) -> Option<String> {
    let found = runs_hot(log);
    let place = |at: Where| match at {
        Where::Standing => "standing",
        Where::Traffic => "traffic",
        Where::Moving => "moving",
        Where::Mixed => "mixed",
    };
    let (verdict, certainty) = match found.verdict {
        Verdict::Standing(c) => ("standing", Some(c)),
        Verdict::Moving(c) => ("moving", Some(c)),
        Verdict::Both(c) => ("both", Some(c)),
        Verdict::Regulated => ("regulated", None),
        Verdict::CannotTell(_) => ("cannot_tell", None),
    };
    let known = |v: f64| Some(v).filter(|v| v.is_finite());
    let leg = |l: &Leg| {
        json!({
            "from_s": l.from, "duration_s": l.long, "from_c": l.ends[0] - 273.15, "to_c": l.ends[1] - 273.15,
            "where": place(l.place()),
            "fan_speed_rpm": known(l.mean(Signal::FanSpeed)).map(|v| Kind::Speed.to_json(v)),
            "fan_command": known(l.mean(Signal::FanCommand)),
            "air_conditioning": known(l.mean(Signal::AirConditioning)),
            "load": known(l.mean(Signal::Load)),
        })
    };
    let list = found.hot.iter().take(20);
    put_all(
        answer,
        json!({"runs_hot": {
            "verdict": verdict,
            "certainty": certainty.map(|c| match c { Certainty::Sure => "sure", Certainty::Likely => "likely" }),
            "level_c": known(found.level).map(|l| l - 273.15),
            "held_c": found.held.map(|h| h - 273.15),
            "climbs": list.map(|c| json!({"rise": leg(&c.rise), "fall": c.fall.as_ref().map(leg)})).collect::<Value>(),
        }}),
    );
    let highest = found.hot.first().filter(|_| certainty.is_some())?;
    let rise = &highest.rise;
    let at = |w: Where| match w {
        Where::Standing => "at a stand",
        Where::Traffic => "in traffic",
        Where::Moving => "on the move",
        Where::Mixed => "at changing paces",
    };
    let fell = highest
        .fall
        .map_or(String::new(), |f| format!(", fell {}", at(f.place())));
    Some(format!(
        "The highest climb above its own level of {}: it rose {} in {} {}{fell}.",
        units.show(Kind::Temperature, found.level),
        units.show(Kind::TemperatureDifference, rise.ends[1] - rise.ends[0]),
        span(rise.long),
        at(rise.place()),
    ))
}

fn pace_row(units: Units, line: &ByPace, known: bool) -> Vec<String> {
    let mean = |kind, value: Option<Interval>, factor: f64| {
        value.map_or("–".into(), |i| {
            let (mean, half) = (i.mean * factor, i.half * factor);
            if half > VARIED && kind != Kind::Conductance {
                return format!("about {}", units.show(kind, mean));
            }
            units.show_spread(kind, mean, half)
        })
    };
    let held = line.conductance.is_some() && !line.at_full;
    let last = if known {
        let least = if held { "at least " } else { "" };
        format!("{least}{}", mean(Kind::Conductance, line.conductance, 1.0))
    } else {
        mean(Kind::TemperatureDifference, line.rise, 60.0)
    };
    vec![
        line.pace.label().to_string(),
        units.show(Kind::Share, line.share),
        mean(Kind::Temperature, line.coolant, 1.0),
        mean(Kind::TemperatureDifference, line.excess, 1.0),
        last,
    ]
}

fn pace_json(line: &ByPace) -> Value {
    let mean = |i: Option<Interval>, factor: f64| i.map(|i| i.mean * factor);
    let half = |i: Option<Interval>, factor: f64| i.map(|i| i.half * factor);
    let count = |i: Option<Interval>| i.map_or(0, |i| i.count);
    json!({
        "pace": line.pace.key(),
        "time_share": line.share,
        "warm_stretches": count(line.coolant),
        "coolant_c": line.coolant.map(|i| i.mean - 273.15),
        "coolant_half_width_k": half(line.coolant, 1.0),
        "above_ambient_k": mean(line.excess, 1.0),
        "above_ambient_half_width_k": half(line.excess, 1.0),
        "rise_k_per_min": mean(line.rise, 60.0),
        "rise_half_width_k_per_min": half(line.rise, 60.0),
        "steady_stretches": count(line.conductance),
        "conductance_w_per_k": mean(line.conductance, 1.0),
        "conductance_half_width_w_per_k": half(line.conductance, 1.0),
        "thermostat_full_open": line.at_full,
    })
}
