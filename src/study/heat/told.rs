//! An answer in words.

use super::super::words;
use super::looks::{Anchored, Found};
use crate::balance::{Heats, crossings};
use crate::fluid::coolant;
use crate::input::unit::celsius;
use crate::model::{Case, Posed};
use crate::quantity::{Kind, Units};
use crate::vary::rating::{Rated, Told};

/// Greatest of some shares, without their sign.
pub(super) fn worst(shares: &[f64]) -> f64 {
    shares.iter().fold(0.0, |most, x| x.abs().max(most))
}

/// What is said below the headline.
pub(super) fn lines(posed: &Posed, found: &Found) -> Vec<String> {
    let units = posed.units;
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let warm = &found.here().warm;
    let b = &warm.budget;
    let mut lines = vec![
        boiling(units, found),
        limiting(units, found),
        match found.by_formula {
            Some((formula, boil)) => format!(
                "By the formula of SAE J1393 the limiting ambient temperature is {}, and air-to-boil {}.",
                temp(formula),
                temp(boil)
            ),
            None => "The formula of SAE J1393 and its air-to-boil hold with the thermostat full open and the fan at full command; here they are not.".into(),
        },
    ];
    if found.asked.fan_speed.is_some() {
        lines.push(format!(
            "The fan's speed is imposed, so the oil keeps its {}.",
            temp(b.oil_temp)
        ));
    }
    if let Some(time) = found.warm_up {
        lines.push(format!(
            "From a start at the day's {} the oil takes about {:.0} min to come within {} of its {}.",
            temp(b.ambient),
            (time / 60.0).max(1.0),
            units.show(Kind::TemperatureDifference, words::NEAR),
            temp(b.oil_temp)
        ));
    }
    lines.extend(found.rated.iter().flat_map(|r| rated_words(units, r)));
    lines.push(match found.anchor {
        Some(Anchored {
            input,
            value,
            given,
        }) => format!(
            "Your reading sets {} to {} (given: {}).",
            input.key(),
            units.show(input.field().kind, value),
            units.show(input.field().kind, given)
        ),
        None => format!(
            "Without a reading of your own to anchor them, temperatures and the limiting ambient are credible to about {}; differences between the lines below are better than that.",
            words::credible(units)
        ),
    });
    lines
}

/// What stands below the map.
pub(super) fn below_map(units: Units) -> String {
    format!(
        "Fan at full command and thermostat open, in the gear that the road speed asks for: a line steps where the gear changes, and ends where the engine lacks the power; a gap is where no such day was found, as where the oil would heat without end. Beyond {} it only says that heat is no worry there.",
        units.show(Kind::Temperature, celsius(50.0))
    )
}

fn boiling(units: Units, found: &Found) -> String {
    let [low, high] = found.boiling;
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let here = found.here();
    format!(
        "The coolant boils between {} and {} with this cap, mix and altitude (sources differ){}.",
        temp(low),
        temp(high),
        match here.warm.budget.coolant_temp {
            _ if here.oil_heats() => String::new(),
            _ if !here.steady() => ", which it reaches".to_string(),
            t if t < low => format!(
                "; that is {} away at least",
                units.show(Kind::TemperatureDifference, low - t)
            ),
            t if t < high => ": it may boil already".to_string(),
            _ => ": it boils".to_string(),
        }
    )
}

fn limiting(units: Units, found: &Found) -> String {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let here = found.here();
    let below = here.steady() && here.warm.budget.coolant_temp < found.limit;
    match here.limiting() {
        Some(ambient) => format!(
            "Limiting ambient temperature: with thermostat open and fan at full command the coolant reaches its limit of {} on a day of {}.",
            temp(found.limit),
            temp(ambient)
        ),
        None if below && found.opens_at_limit() => format!(
            "No limiting ambient temperature: on hotter days the oil passes {}, where the computation ends, before the coolant reaches its limit.",
            temp(celsius(200.0))
        ),
        None if here.oil_heats() => "No limiting ambient temperature: the oil heats without end before the coolant reaches its limit.".into(),
        None => "No limiting ambient temperature: no day is cold enough, or at the coolant's limit the thermostat would not be full open.".into(),
    }
}

/// What the rating points said.
fn rated_words(units: Units, rated: &Rated) -> Vec<String> {
    let share = |x: f64| units.show(Kind::Share, x);
    let (told, kept): (Vec<&Told>, Vec<&Told>) = rated.told.iter().partition(|t| t.half.is_some());
    let told: Vec<String> = told
        .iter()
        .map(|t| {
            let show = units.show_spread(t.input.field().kind, t.value, t.half.unwrap_or(0.0));
            format!("{} {show}", t.input.key())
        })
        .collect();
    let held = if rated.held_out.is_empty() {
        "no point could be left out to check the rest".to_string()
    } else {
        format!(
            "a point left out is met to within {}",
            share(worst(&rated.held_out))
        )
    };
    let mut said = vec![format!(
        "Your {} rating points set {}; they are met to within {}, and {held}.",
        rated.off.len(),
        told.join(", "),
        share(worst(&rated.off))
    )];
    for one in kept {
        said.push(format!(
            "They do not tell {} ({}), which keeps the machine's {}: points at other {} would.",
            one.input.key(),
            one.input.field().help,
            units.show(one.input.field().kind, one.value),
            if one.input.key() == "core.air_exponent" {
                "air speeds"
            } else {
                "coolant flows"
            }
        ));
    }
    if worst(&rated.held_out) > 0.1 {
        said.push("A point left out is missed by more than a tenth: look for a wrong row, or a core that such a curve does not fit.".into());
    }
    said
}

/// What was assumed, with the road's conditions.
pub(super) fn said(posed: &Posed, case: &Case) -> Vec<(String, String)> {
    let units = posed.units;
    let mut said: Vec<(String, String)> = words::lasting(posed)
        .filter(|(label, _)| !label.starts_with("now."))
        .collect();
    let now = &case.now;
    let mut say = |label: &str, value: String| said.push((label.into(), value));
    say("engine speed", units.show(Kind::Speed, now.engine_speed));
    say("outer air", units.show(Kind::Temperature, now.ambient));
    say("road speed", units.show(Kind::RoadSpeed, now.road_speed));
    if now.road_speed > 0.0 {
        say("grade", units.show(Kind::Share, now.grade));
    }
    if now.trailer > 0.0 {
        say("trailer", units.show(Kind::Mass, now.trailer));
    }
    say(
        "air conditioning",
        units.show(Kind::Share, now.air_conditioning),
    );
    say("command", units.show(Kind::Share, now.command));
    said
}

/// The sentence that answers.
pub(super) fn headline(posed: &Posed, found: &Found) -> String {
    let (units, here) = (posed.units, found.here());
    let b = &here.warm.budget;
    let fan = units.show(Kind::Speed, here.warm.fan_speed);
    if let Some(heats) = here.warm.heats {
        return format!("No steady state with the fan at {fan}: {}.", heats.words());
    }
    let [_, boils] = words::boiling(&here.warm.case);
    if b.coolant_temp > boils {
        return format!(
            "The coolant boils: with the fan at {fan} moving {} of air the core gives off what the engine puts in only where the coolant would be hotter than that.",
            units.show(Kind::AirFlow, b.draft.flow)
        );
    }
    let range = found.band.map_or(String::new(), |(low, high)| {
        format!(
            " ({} to {} within the machine's ±)",
            units.show(Kind::Temperature, low),
            units.show(Kind::Temperature, high)
        )
    });
    format!(
        "The coolant settles at {}{range} and the oil at {}, with the fan at {fan} moving {} of air.",
        units.show(Kind::Temperature, b.coolant_temp),
        units.show(Kind::Temperature, b.oil_temp),
        units.show(Kind::AirFlow, b.draft.flow)
    )
}

/// What must be borne in mind.
pub(super) fn cautions(posed: &Posed, found: &Found) -> Vec<String> {
    let w = &found.here().warm;
    let mut said = words::cautions(posed, &w.state, w.operating.limit);
    if let Some(heats) = w.heats {
        said.push(format!(
            "No steady state: {}. Stop before it boils.",
            heats.words()
        ));
        if heats == Heats::Coolant || heats == Heats::Oil {
            said.push(
                "The figures below are those at the end of the search, not of a machine at rest."
                    .into(),
            );
        }
    } else if w.budget.coolant_temp > found.boiling[0] {
        said.push("The coolant would boil. Past that point the heat balance means nothing.".into());
    }
    if let Some(c) = &w.case.coolant
        && w.heats.is_none()
        && w.budget.coolant_temp > c.limit
    {
        said.push(format!(
            "The coolant is above its limit of {}.",
            posed.units.show(Kind::Temperature, c.limit)
        ));
    }
    if let Some(c) = &w.case.coolant
        && w.case.now.ambient < coolant::freezing(c.glycol)
    {
        said.push(format!(
            "With {} glycol the coolant freezes at {}: on such a day it bursts what it stands in once the engine is off.",
            posed.units.show(Kind::Share, c.glycol),
            posed
                .units
                .show(Kind::Temperature, coolant::freezing(c.glycol))
        ));
    }
    if w.heats.is_none() && w.budget.oil_temp > 366.15 {
        said.push(format!(
            "The oil is above {}, more than such drives are meant for.",
            posed.units.show(Kind::Temperature, celsius(93.0))
        ));
    }
    if w.case
        .engine
        .is_some_and(|e| w.budget.engine_power > e.rated_power)
    {
        said.push("The engine does not have the power that this takes: it would slow down.".into());
    }
    if crossings(&w.case) > 1 {
        said.push("More than one fan speed balances here, as air drives the fan: the speed shown is one of them.".into());
    }
    if w.case.now.road_speed < 1.0 {
        said.push("At a standstill the temperature turns on how much air comes round again, which is a judgment, and on a few tens of fan rpm.".into());
    }
    said
}
