//! Presents the outcome of `heat` in words and pictures.
//!
//! | file | what it does |
//! |---|---|
//! | `mod.rs` | the answer in order, its headline and figure |
//! | `lines.rs` | the sentences below the headline |
//! | `pictures.rs` | tables and pictures |

mod lines;
mod pictures;

use super::answer::{Block, Figure};
use super::{Presentation, caution, words};
use crate::fault;
use crate::model::Setup;
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::heat::{Found, Heat, Ratio};

/// Presents the outcome of the question.
pub fn tell(request: &Heat, found: &Found) -> Presentation {
    let units = request.setup.units;
    let mut told = Presentation::about(&found.setup);
    told.assumptions = assumptions(request, found);
    told.figure = Some(figure(units, found));
    told.headline(headline(request, found));
    let mut lines = lines::all(request, found).into_iter();
    if let Some(first) = lines.next() {
        told.why(first);
    }
    lines.for_each(|line| told.say(line));
    told.show(Block::Table(pictures::side_by_side(request, found)));
    told.show(Block::Table(pictures::differences(request, found)));
    told.show(Block::Chart(pictures::versus_ambient(units, found)));
    for bars in pictures::budgets(units, &found.here().warm.budget) {
        told.show(Block::Bars(bars));
    }
    told.show(Block::Table(pictures::air(units, &found.here().warm)));
    told.series = Series::of(&found.series);
    if !found.map.is_empty() {
        told.show(Block::Chart(pictures::map(units, &found.map)));
        told.say(lines::below_map(units));
        told.series = Series::of(&found.map);
    }
    told.show(Block::Safety(caution::safety()));
    told.cautions.clone_from(&found.cautions);
    told
}

/// The steady coolant temperature, or a statement that there is no steady state.
fn figure(units: Units, found: &Found) -> Figure {
    let (figure, label) = match found.coolant_temp {
        Some(t) => {
            let label = "steady coolant temperature";
            (words::degrees(units, t), label)
        }
        None => {
            let label = found.here().warm.heats.map_or("", |h| h.words());
            let figure = match found.time_to_boil.0 {
                Some(takes) => format!("boils after {}", words::minutes(takes)),
                None => "no steady state".into(),
            };
            (figure, label)
        }
    };
    let (label, key) = (label.into(), "coolant_temp");
    Figure { figure, label, key }
}

/// The condition in a few words: `At a standstill, engine at 700 rpm, 38 °C ambient, air conditioning on`.
fn condition(request: &Heat, setup: &Setup) -> String {
    let (units, now) = (setup.units, &setup.case.now);
    let mut words = match now.road_speed > 0.0 {
        false => "At a standstill".to_string(),
        true => format!("At {}", units.show(Kind::RoadSpeed, now.road_speed)),
    };
    let moves = now.road_speed > 0.0;
    if moves && now.grade.abs() > 0.0 {
        let way = if now.grade > 0.0 { "up" } else { "down" };
        let grade = units.show(Kind::Share, now.grade.abs());
        words.push_str(&format!(" {way} a grade of {grade}"));
    }
    if moves && now.trailer > 0.0 {
        let trailer = units.show(Kind::Mass, now.trailer);
        words.push_str(&format!(" with a trailer of {trailer}"));
    }
    let engine = units.show(Kind::Speed, now.engine_speed);
    let ambient = words::degrees(units, now.ambient);
    words.push_str(&format!(", engine at {engine}, {ambient} ambient"));
    if now.air_conditioning > 0.0 {
        words.push_str(", air conditioning on");
    }
    if let Some(cause) = request.causes().first() {
        let name = fault::name(cause.fault);
        words.push_str(&format!(
            ", with the most probable cause of your readings ({name})"
        ));
    } else if let Some(Ratio::Read(reading)) = request.ratio {
        let speed = units.show(Kind::Speed, reading.value);
        words.push_str(&format!(", fan as slow as in your reading of {speed}"));
    }
    words
}

/// The headline.
fn headline(request: &Heat, found: &Found) -> String {
    let units = request.setup.units;
    let whole = |t: f64| words::degrees(units, t);
    let warm = &found.here().warm;
    let b = &warm.budget;
    let fan = units.show(Kind::Speed, found.fan_speed);
    let air = words::airflow(units, found.airflow);
    let condition = condition(request, &found.setup);
    if let Some(heats) = warm.heats {
        let Some(takes) = found.time_to_boil.0 else {
            return format!(
                "{condition}: no steady state with the fan at {fan}: {}.",
                heats.words()
            );
        };
        let from = warm.case.thermostat.map_or(f64::NAN, |t| t.opens);
        return format!(
            "{condition}: the coolant boils {} after passing {}; the fan then makes {fan} and moves {air} of air. Stop before that, let the engine idle with the cabin heater fully on, and do not open the cooling system.",
            words::minutes(takes),
            whole(from),
        );
    }
    let (coolant, oil) = (whole(b.coolant_temp), whole(b.oil_temp));
    let coolant = match found.coolant_band.0 {
        Some((low, high)) => format!(
            "{} within the machine's ± ({coolant} for the machine as described)",
            words::to_boiling(units, (low, high), found.boiling_high)
        ),
        None => coolant,
    };
    // A fan that was read faster than it turns here would seem a mistake without the reason.
    let asked = match request.ratio {
        Some(Ratio::Read(_)) if found.command < 1.0 => ", because its control asks for no more",
        _ => "",
    };
    format!(
        "{condition}: the coolant settles at {coolant}, the oil at {oil}, with the fan at {fan}{asked}."
    )
}

/// The assumptions, including those about road and air.
fn assumptions(request: &Heat, found: &Found) -> Vec<(String, String)> {
    let (setup, units) = (&found.setup, found.setup.units);
    let now = &setup.case.now;
    let mut all = words::lasting(setup);
    all.retain(|(label, _)| !label.starts_with("now."));
    let mut say = |label: &str, kind: Kind, value: f64| {
        all.push((label.into(), units.show(kind, value)));
    };
    if let Some((_, heat)) = request.fuel_heat {
        say("fuel heat, as measured", Kind::Power, heat);
    }
    say("engine speed", Kind::Speed, now.engine_speed);
    if let Some(gear) = found.gear {
        say("gear", Kind::Number, gear as f64);
    }
    all.extend(words::weather(units, now, now.road_speed > 0.0));
    let command = units.show(Kind::Share, now.command);
    all.push(("command".into(), command));
    all
}
