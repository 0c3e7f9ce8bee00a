//! `auxfan` in words and pictures.

mod pictures;

use super::answer::{Block, Figure};
use super::{Told, hazard, words};
use crate::balance::{COLDEST, Heats, Warm};
use crate::model::Hazard;
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::auxfan::{Auxfan, Found, Remedy, Spot, Tried, Would};

/// Tells it.
pub fn tell(request: &Auxfan, found: &Found) -> Told {
    let mut told = Told {
        assumptions: assumptions(request, found),
        figure: Some(figure(request, found)),
        ..Told::about(&request.posed)
    };
    told.headline(headline(request, found));
    let mut verdict = verdict(request, found).into_iter();
    if let Some(first) = verdict.next() {
        told.why(first);
    }
    verdict.for_each(|s| told.say(s));
    told.show(Block::Table(pictures::comparison(request, found)));
    told.show(Block::Bars(pictures::bars(request, found)));
    if let Some(one) = &found.chosen {
        told.show(Block::Table(pictures::points(request, found)));
        let curves = pictures::curves(request, found, &one.set);
        told.blocks.extend(curves.map(Block::Chart));
        electrical(request, found, one)
            .into_iter()
            .for_each(|s| told.say(s));
        told.show(Block::Table(pictures::wires(request, found)));
        road(request, found).into_iter().for_each(|s| told.say(s));
    }
    told.blocks
        .extend(pictures::gains(request, found).map(Block::Chart));
    if !found.front.is_empty() {
        told.show(Block::Table(pictures::front(request, found)));
    }
    told.show(Block::Next(next(found.slow).into()));
    told.show(Block::Safety(hazard::lines(
        &[Hazard::ELECTRIC, Hazard::GENERAL].concat(),
    )));
    told.cautions.clone_from(&found.cautions);
    told.series = Series::of(&found.series);
    told
}

/// What the fans gain, with what mending and the right oil gain.
fn figure(request: &Auxfan, found: &Found) -> Figure {
    let units = request.posed.units;
    // Where no day is cold enough as it is, gains are counted from the coldest that counts.
    let more = match base(found) > COLDEST {
        true => "",
        false => " or more",
    };
    let gain = |remedy: Remedy| {
        let kelvin = found.side(remedy)?.gained;
        let sign = if kelvin >= 0.05 { "+" } else { "" };
        let kelvin = units.show(Kind::TemperatureDifference, kelvin);
        Some(format!("{sign}{kelvin}{more}"))
    };
    let others = [
        (Remedy::Mended, "mending"),
        (Remedy::RightOil, "the right oil"),
    ];
    let others = others
        .into_iter()
        .filter_map(|(remedy, words)| Some(format!("{words} {}", gain(remedy)?)));
    let others = others.collect::<Vec<_>>().join(", ");
    let beside = match others.as_str() {
        "" => String::new(),
        some => format!("; beside that: {some}"),
    };
    let (figure, label) = match gain(Remedy::Fans) {
        Some(gain) => (gain, "on the hottest day that it stands, by these fans"),
        None if found.met => ("No fan needed".into(), "for the day that is asked for"),
        None => ("No fan helps".into(), "of these, in these places"),
    };
    Figure {
        figure,
        label: format!("{label}{beside}"),
        key: "hottest_day",
    }
}

/// The limiting ambient temperature as it is, K.
fn base(found: &Found) -> f64 {
    found.side(Remedy::None).map_or(COLDEST, |s| s.hottest_day)
}

/// A set in few words: how the fans are mounted is left out where all places have the same.
fn brief(request: &Auxfan, one: &Tried) -> String {
    let same = |s: &Spot| {
        let first = request.spots.first();
        first.is_some_and(|f| (f.mount, f.shroud) == (s.mount, s.shroud))
    };
    if !request.spots.iter().all(same) || one.fans == 0 {
        return one.name.clone();
    }
    let each = request
        .spots
        .iter()
        .zip(&one.set)
        .filter_map(|(spot, one)| {
            let one = one.as_ref()?;
            let fan = request.fans.get(one.fan)?;
            Some(format!("{} × {} at {}", one.count, fan.name, spot.key))
        });
    each.collect::<Vec<_>>().join(", ")
}

/// A limiting ambient temperature in words.
fn day(units: Units, t: f64) -> String {
    let shown = units.show(Kind::Temperature, t);
    if t > COLDEST {
        shown
    } else {
        format!("below {shown}")
    }
}

/// What was assumed.
fn assumptions(request: &Auxfan, found: &Found) -> Vec<(String, String)> {
    let units = request.posed.units;
    let mut all = words::lasting(&request.posed);
    all.retain(|(label, _)| !label.starts_with("now."));
    let mut say = |label: &str, value: String| all.push((label.into(), value));
    if let Some(side) = found.side(Remedy::None) {
        let now = &side.warm.case.now;
        say("engine speed", units.show(Kind::Speed, now.engine_speed));
        say("ambient air", units.show(Kind::Temperature, found.target));
        match request.climb {
            Some(grade) => say("climb at walking pace", units.show(Kind::Share, grade)),
            None => say("road", "standing".into()),
        }
        say(
            "air conditioning",
            units.show(Kind::Share, now.air_conditioning),
        );
    }
    say("command", "full".into());
    if let Some(share) = found.held {
        say(
            "main fan held at",
            format!("{} of what it should make", units.show(Kind::Share, share)),
        );
    }
    say("right oil", request.right_oil.name.clone());
    let place = |spot: &Spot| {
        let share = units.show(Kind::Share, spot.share);
        format!("{} ({}, {share} of the face)", spot.key, spot.ahead)
    };
    let places: Vec<String> = request.spots.iter().map(place).collect();
    say("places for electric fans", places.join(", "));
    all
}

/// The sentence that answers.
fn headline(request: &Auxfan, found: &Found) -> String {
    let units = request.posed.units;
    let target = units.show(Kind::Temperature, found.target);
    let now = day(units, base(found));
    let doing = match request.climb {
        Some(_) => "climb at walking pace",
        None => "stand",
    };
    let can = format!("hottest day on which this machine can {doing}");
    let mended = found.side(Remedy::Mended).map_or(String::new(), |m| {
        let day = day(units, m.hottest_day);
        format!(" Mending what is wrong raises it to {day}.")
    });
    let would = found.would.as_ref().map_or(String::new(), what_would);
    let Some(one) = &found.chosen else {
        return if found.met {
            format!(
                "No electric fan is needed: as it is, this machine can {doing} on a day of up to {now}, and {target} is asked for.{mended}"
            )
        } else {
            format!("None of these fans in these places raises the {can}, {now}.{mended}{would}")
        };
    };
    let (set, then) = (&one.name, day(units, one.hottest_day));
    let tried = request.tried.is_some();
    let first = if one.hottest_day >= found.target {
        let what = if tried {
            ""
        } else {
            "The smallest set that does it: "
        };
        let already = if found.met {
            " The target was met without them."
        } else {
            ""
        };
        format!("{what}{set}. The {can} goes from {now} to {then}; {target} is asked for.{already}")
    } else {
        let what = if tried {
            "Not enough: "
        } else {
            "No set of these fans is enough; the best, "
        };
        format!("{what}{set}, moves the {can} from {now} to {then}; {target} is asked for.")
    };
    format!("{first}{mended}{would}")
}

/// What would meet the target where these fans do not; begins with a space.
fn what_would(would: &Would) -> String {
    match would {
        Would::RightOil => " The right oil alone would do.".into(),
        Would::Mended => " That alone would do.".into(),
        Would::MendedAndRightOil => " Mending it and the right oil would do together.".into(),
        Would::MendedWith(set) => format!(" With that mended, {set} would do."),
        Would::Sealed(set) => {
            let with = set.as_ref().map_or(String::new(), |s| format!(" and {s}"));
            format!(" Seals about the core that let no hot air recirculate{with} would do.")
        }
        Would::LessOilHeat => nor(
            "it is the oil that heats without end, so it takes a larger oil cooler, or a lower engine speed",
        ),
        Would::LargerCore => nor("it takes a larger core, less heat, or other fans than these"),
    }
}

fn nor(takes: &str) -> String {
    format!(" Nor would a healthy main fan with them and tight seals about the core: {takes}.")
}

/// Whether it is the oil that cannot give off its heat.
fn oil_heats(warm: &Warm) -> bool {
    warm.heats == Some(Heats::Oil)
}

/// The comparison in words.
fn verdict(request: &Auxfan, found: &Found) -> Vec<String> {
    let units = request.posed.units;
    let mut lines = Vec::new();
    let as_it_is = found.side(Remedy::None);
    if base(found) <= COLDEST {
        let what = match as_it_is {
            Some(side) if oil_heats(&side.warm) => "the oil",
            _ => "it",
        };
        lines.push(format!(
            "As it is, no day is cold enough: {what} heats without end, so gains are counted from {}.",
            units.show(Kind::Temperature, COLDEST)
        ));
    }
    lines.extend(
        found
            .chosen
            .as_ref()
            .map(|o| fans_gain(units, found, o.gained)),
    );
    lines.push(right_oil(request, found));
    lines.push(
        "All at full command with the thermostat open. The measure is the hottest day on which the coolant stays at its limit (the limiting ambient temperature), as that exists where a steady coolant temperature does not.".into(),
    );
    lines
}

/// What the fans gain, K, compared with mending.
fn fans_gain(units: Units, found: &Found, fans: f64) -> String {
    let degrees = |k: f64| units.show(Kind::TemperatureDifference, k);
    let (more, or_more) = match base(found) > COLDEST {
        true => ("", ""),
        false => ("at least ", " or more"),
    };
    match found.side(Remedy::Mended).map(|m| m.gained) {
        Some(mend) if mend > 0.5 => {
            let part = fans / mend;
            let shown = units.show(Kind::Share, part);
            let word = if part < 0.5 {
                "They mask the trouble and do not mend it"
            } else if part < 1.0 {
                "They make up for much of it, and the trouble stays"
            } else {
                "They do more than mending would, and the trouble stays"
            };
            let (fans, mend) = (degrees(fans), degrees(mend));
            format!(
                "These fans gain {more}{fans}, {more}{shown} of the {mend}{or_more} that mending gains. {word}."
            )
        }
        _ if found.slow => format!(
            "These fans gain {more}{}; mending what is wrong gains nothing here.",
            degrees(fans)
        ),
        _ => format!(
            "The machine is taken as healthy, so these fans add to what it should do: {}.",
            degrees(fans)
        ),
    }
}

/// What the right oil gains.
fn right_oil(request: &Auxfan, found: &Found) -> String {
    let units = request.posed.units;
    let (Some(oil), Some(now)) = (found.side(Remedy::RightOil), found.side(Remedy::None)) else {
        return "The right oil is in it already, so there is nothing to gain by it.".into();
    };
    let degrees = |k: f64| units.show(Kind::TemperatureDifference, k);
    let word = match oil.gained {
        change if change.abs() < 0.5 => "changes next to nothing".to_string(),
        change if change > 0.0 => format!("gains {}", degrees(change)),
        change => format!("costs {}", degrees(-change)),
    };
    format!(
        "The right oil ({}) by itself {word} here, the fan at {} in place of {}.",
        request.right_oil.name,
        units.show(Kind::Speed, oil.fan_speed),
        units.show(Kind::Speed, now.fan_speed)
    )
}

/// Amperes, and what the alternator has left.
fn electrical(request: &Auxfan, found: &Found, one: &Tried) -> [String; 3] {
    let units = request.posed.units;
    let amps = |a: f64| units.show(Kind::Current, a);
    let (spare, current) = (found.spare, one.current);
    [
        format!(
            "They draw {} where they work, {} at most, and about {} for a moment when all start at once (3 times; 2 to 3 times is common practice, no source): start them one after the other.",
            amps(found.running),
            amps(current),
            amps(found.starting_current)
        ),
        format!(
            "At idle the alternator gives {}, of which {} {} left{}.",
            amps(found.alternator.idle_output),
            amps(spare.max(0.0)),
            if spare > 0.0 { "are" } else { "is" },
            if spare >= current {
                ": enough".to_string()
            } else {
                format!(": {} too little", amps(current - spare.max(0.0)))
            }
        ),
        format!(
            "That takes {} at the alternator's shaft, whose heat in the engine is counted.",
            units.show(Kind::Power, found.alternator_power)
        ),
    ]
}

/// What the fans cost on the road when they are off.
fn road(request: &Auxfan, found: &Found) -> Option<String> {
    let units = request.posed.units;
    let plain = found.road_limiting_ambient?;
    let off = found.road_limiting_ambient_fans_off?;
    let speed = units.show(Kind::RoadSpeed, request.road_speed);
    if plain <= COLDEST {
        return Some(format!(
            "At {speed} on a level road no day is cold enough for this machine as it is, with or without fans in the way."
        ));
    }
    let change = off - plain;
    let word = if change < 0.0 { "costs" } else { "gains" };
    Some(format!(
        "On a level road at {speed}, off and in the way, they move the hottest day from {} to {}: that {word} {} of margin.",
        day(units, plain),
        day(units, off),
        units.show(Kind::TemperatureDifference, change.abs())
    ))
}

/// What to check next.
fn next(slow: bool) -> &'static str {
    if slow {
        "what makes the main fan slow, with readings (suspects), before a fan is bought. After fitting: hold a strip of paper to each fan; one that is wired the wrong way round pulls against the main fan."
    } else {
        "the main fan's own speed at full command, before a fan is bought. After fitting: hold a strip of paper to each fan; one that is wired the wrong way round pulls against the main fan."
    }
}
