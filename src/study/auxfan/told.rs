//! An answer in words.

use super::super::words;
use super::sides::{
    Found, Main, Outcome, Working, alternator, as_it_is, rolling, search, shown, smallest,
};
use super::{Question, STARTING, Set, Spot};
use crate::balance::{COLDEST, Heats, Warm, warm};
use crate::input::unit::celsius;
use crate::model::Case;
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;

/// Misfit of a fan's curve from which it is said.
const MISFIT: f64 = 0.1;

/// What the temperatures are worth.
fn credible(units: Units) -> String {
    format!(
        "Absolute temperatures standing still are credible to about {} without a reading of your own; the differences are better. How much of the air comes round again, what a pusher loses against a puller, and what a standing fan blocks are judgments.",
        words::credible(units)
    )
}

/// What is said where the oil gives out first.
fn oil_first(units: Units) -> String {
    format!(
        "At this engine speed the oil passes {}, where the computation ends, before the coolant reaches its limit: some of the hottest days are only known to be no colder than the day asked for. Such oil is ruined long before; look at a lower engine speed.",
        units.show(Kind::Temperature, celsius(200.0))
    )
}

/// A set in words.
pub(super) fn named(question: &Question, set: &Set) -> String {
    let each: Vec<String> = question
        .spots
        .iter()
        .zip(set)
        .filter_map(|(spot, one)| {
            let one = one.as_ref()?;
            let fan = question.fans.get(one.fan)?;
            let mount = spot.mount.word();
            let shroud = if spot.shroud { " in a shroud" } else { "" };
            Some(format!(
                "{} × {} as {mount}{shroud} at {} ({})",
                one.count, fan.name, spot.key, spot.ahead
            ))
        })
        .collect();
    if each.is_empty() {
        "no fan".into()
    } else {
        each.join(", ")
    }
}

/// A set in fewer words: how the fans are mounted is left out where all places have the same.
pub(super) fn brief(question: &Question, set: &Set) -> String {
    let same = |s: &Spot| {
        question
            .spots
            .first()
            .is_some_and(|f| (f.mount, f.shroud) == (s.mount, s.shroud))
    };
    if !question.spots.iter().all(same) || set.iter().all(Option::is_none) {
        return named(question, set);
    }
    let each = question.spots.iter().zip(set).filter_map(|(spot, one)| {
        let one = one.as_ref()?;
        let fan = question.fans.get(one.fan)?;
        Some(format!("{} × {} at {}", one.count, fan.name, spot.key))
    });
    each.collect::<Vec<_>>().join(", ")
}

/// A limiting ambient temperature in words.
pub(super) fn day(units: Units, t: f64) -> String {
    let shown = units.show(Kind::Temperature, t);
    if t > COLDEST {
        shown
    } else {
        format!("below {shown}")
    }
}

/// What was assumed.
pub(super) fn said(question: &Question, found: &Found) -> Vec<(String, String)> {
    let units = question.posed.units;
    let mut said: Vec<(String, String)> = words::lasting(&question.posed)
        .filter(|(label, _)| !label.starts_with("now."))
        .collect();
    let now = &found.base().warm.case.now;
    let mut say = |label: &str, value: String| said.push((label.into(), value));
    say("engine speed", units.show(Kind::Speed, now.engine_speed));
    say("outer air", units.show(Kind::Temperature, question.target));
    match question.climb {
        Some(grade) => say("climb at walking pace", units.show(Kind::Share, grade)),
        None => say("road", "standing".into()),
    }
    say(
        "air conditioning",
        units.show(Kind::Share, now.air_conditioning),
    );
    say("command", "full".into());
    if let Some(share) = found.share {
        say(
            "main fan held at",
            format!("{} of what it should make", units.show(Kind::Share, share)),
        );
    }
    say("right oil", question.right_oil.name.clone());
    let place = |spot: &Spot| {
        let share = units.show(Kind::Share, spot.share);
        format!("{} ({}, {share} of the face)", spot.key, spot.ahead)
    };
    let places: Vec<String> = question.spots.iter().map(place).collect();
    say("places for electric fans", places.join(", "));
    said
}

/// What the machine does on the hottest day.
fn doing(question: &Question) -> &'static str {
    match question.climb {
        Some(_) => "climb at walking pace",
        None => "stand",
    }
}

/// The sentence that answers.
pub(super) fn headline(question: &Question, found: &Found) -> Result<String, Trouble> {
    let units = question.posed.units;
    let target = units.show(Kind::Temperature, question.target);
    let now = day(units, found.base().hottest_day);
    let can = format!("hottest day on which this machine can {}", doing(question));
    let mended = found.side("mended").map_or(String::new(), |m| {
        let day = day(units, m.hottest_day);
        format!(" Mending what is wrong raises it to {day}.")
    });
    let met = found.meets(question.target);
    let would = if met {
        String::new()
    } else {
        format!(" {}", what_would(question, found)?)
    };
    let Some(one) = &found.chosen else {
        return Ok(if met {
            format!(
                "No electric fan is needed: as it is, this machine can {} on a day of up to {now}, and {target} is asked for.{mended}",
                doing(question)
            )
        } else {
            format!("None of these fans in these places raises the {can}, {now}.{mended}{would}")
        });
    };
    let set = named(question, &one.set);
    let then = day(units, one.hottest_day);
    let first = if one.hottest_day >= question.target {
        let what = match question.tried {
            Some(_) => "",
            None => "The smallest set that does it: ",
        };
        let already = if found.met {
            " The target was met without them."
        } else {
            ""
        };
        format!("{what}{set}. The {can} goes from {now} to {then}; {target} is asked for.{already}")
    } else {
        let what = match question.tried {
            Some(_) => "Not enough: ",
            None => "No set of these fans is enough; the best, ",
        };
        format!("{what}{set}, moves the {can} from {now} to {then}; {target} is asked for.")
    };
    Ok(format!("{first}{mended}{would}"))
}

/// What would meet the target where these fans do not.
fn what_would(question: &Question, found: &Found) -> Result<String, Trouble> {
    let target = question.target;
    let by = |key: &str| found.side(key).is_some_and(|s| s.hottest_day >= target);
    if by("right_oil") {
        return Ok("The right oil alone would do.".into());
    }
    if by("mended") {
        return Ok("That alone would do.".into());
    }
    if by("mended_and_right_oil") {
        return Ok("Mending it and the right oil would do together.".into());
    }
    if found.slow {
        let all = search(question, &found.mended)?;
        if let Some(one) = smallest(&all, target) {
            return Ok(format!(
                "With that mended, {} would do.",
                named(question, &one.set)
            ));
        }
    }
    let mut sealed = found.mended;
    if let Some(air) = &mut sealed.case.air {
        air.recirculation = 0.0;
    }
    let all = search(question, &sealed)?;
    if let Some(one) = smallest(&all, target) {
        let with = if one.count == 0 {
            String::new()
        } else {
            format!(" and {}", named(question, &one.set))
        };
        return Ok(format!(
            "Seals about the core that let no hot air come round again{with} would do."
        ));
    }
    let takes = if oil_heats(&warm(&sealed.case, sealed.asked)?) {
        "it is the oil that heats without end, so it takes a larger oil cooler, or a lower engine speed"
    } else {
        "it takes a larger core, less heat, or other fans than these"
    };
    Ok(format!(
        "Nor would a sound main fan with them and tight seals about the core: {takes}."
    ))
}

/// Whether it is the oil that cannot give off its heat.
fn oil_heats(warm: &Warm) -> bool {
    warm.heats == Some(Heats::Oil)
}

/// The comparison in words.
pub(super) fn verdict(question: &Question, found: &Found) -> Vec<String> {
    let units = question.posed.units;
    let base = found.base().hottest_day;
    let degrees = |k: f64| units.show(Kind::TemperatureDifference, k);
    let more = if base > COLDEST { "" } else { "at least " };
    let mut lines = Vec::new();
    if base <= COLDEST {
        let what = if oil_heats(&found.base().warm) {
            "the oil"
        } else {
            "it"
        };
        lines.push(format!(
            "As it is, no day is cold enough: {what} heats without end, so gains are counted from {}.",
            units.show(Kind::Temperature, COLDEST)
        ));
    }
    if let Some(fans) = found.chosen.as_ref().map(|o| found.gained(o.hottest_day)) {
        let text = match found.side("mended").map(|m| found.gained(m.hottest_day)) {
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
                format!(
                    "These fans gain {more}{}, {more}{shown} of the {}{} that mending gains. {word}.",
                    degrees(fans),
                    degrees(mend),
                    if more.is_empty() { "" } else { " or more" }
                )
            }
            _ if found.slow => format!(
                "These fans gain {more}{}; mending what is wrong gains nothing here.",
                degrees(fans)
            ),
            _ => format!(
                "The machine is taken as sound, so these fans add to what it should do: {}.",
                degrees(fans)
            ),
        };
        lines.push(text);
    }
    if let Some(oil) = found.side("right_oil") {
        let change = found.gained(oil.hottest_day);
        let word = if change.abs() < 0.5 {
            "changes next to nothing".to_string()
        } else if change > 0.0 {
            format!("gains {}", degrees(change))
        } else {
            format!("costs {}", degrees(-change))
        };
        lines.push(format!(
            "The right oil ({}) by itself {word} here, the fan at {} in place of {}.",
            question.right_oil.name,
            units.show(Kind::Speed, oil.warm.fan_speed),
            units.show(Kind::Speed, found.base().warm.fan_speed)
        ));
    } else {
        lines.push("The right oil is in it already, so there is nothing to gain by it.".into());
    }
    lines.push(
        "All at full command with the thermostat open. The measure is the hottest day on which the coolant stays at its limit, as that exists where a steady coolant temperature does not.".into(),
    );
    lines
}

/// Amperes against what the alternator has to spare.
pub(super) fn electrical(
    question: &Question,
    one: &Outcome,
    points: &[Working],
    cautions: &mut Vec<String>,
) -> Vec<String> {
    let units = question.posed.units;
    let amps = |a: f64| units.show(Kind::Current, a);
    let alternator = alternator(&question.posed.case);
    let spare = alternator.spare();
    let running: f64 = points.iter().map(|p| p.current * p.count).sum();
    let mut lines = vec![format!(
        "They draw {} where they work, {} at most, and about {} for a moment when all start at once (3 times; 2 to 3 times is common practice, no source): start them one after the other.",
        amps(running),
        amps(one.current),
        amps(STARTING * one.current)
    )];
    lines.push(format!(
        "At idle the alternator gives {}, of which {} {} left{}.",
        amps(alternator.idle_output),
        amps(spare.max(0.0)),
        if spare > 0.0 { "are" } else { "is" },
        if spare >= one.current {
            ": enough".to_string()
        } else {
            format!(": {} too little", amps(one.current - spare.max(0.0)))
        }
    ));
    if spare < one.current {
        cautions.push("At idle the alternator cannot carry these fans: the battery runs down while they help. A raised idle, a larger alternator, or fewer fans.".into());
    }
    if question.posed.case.alternator.is_none() {
        cautions.push("The machine file has no [alternator]: usual values are taken.".into());
    }
    lines.push(format!(
        "That takes {} at the alternator's shaft, whose heat in the engine is counted.",
        units.show(Kind::Power, alternator.shaft_power(one.current))
    ));
    lines
}

/// What the fans cost on the road when they are off: words, and the limiting ambient temperature without and with them.
pub(super) fn road(
    question: &Question,
    share: Option<f64>,
    set: &Set,
) -> Result<Option<(String, f64, f64)>, Trouble> {
    let units = question.posed.units;
    if question.posed.case.vehicle.is_none() {
        return Ok(None);
    }
    let at = |case: &Case| {
        let mut case = *case;
        (case.now.grade, case.now.command, case.now.ambient) = (0.0, 1.0, question.target);
        rolling(question, &case, question.road_speed)
    };
    let main = as_it_is(&at(&question.posed.case), &at(&question.sound), share)?;
    let (plain, off) = (
        main.hottest_day(),
        main.with(question, set, false).hottest_day(),
    );
    let speed = units.show(Kind::RoadSpeed, question.road_speed);
    let line = if plain <= COLDEST {
        format!(
            "At {speed} on a level road no day is cold enough for this machine as it is, with or without fans in the way."
        )
    } else {
        let change = off - plain;
        let word = if change < 0.0 { "costs" } else { "gains" };
        format!(
            "On a level road at {speed}, off and in the way, they move the hottest day from {} to {}: that {word} {} of margin.",
            day(units, plain),
            day(units, off),
            units.show(Kind::TemperatureDifference, change.abs())
        )
    };
    Ok(Some((line, plain, off)))
}

/// What must be borne in mind of a set.
pub(super) fn set_cautions(
    question: &Question,
    one: &Outcome,
    points: &[Working],
    main: &Main,
) -> Vec<String> {
    let units = question.posed.units;
    let mut said = Vec::new();
    if let Some(back) = points.iter().map(|p| p.back).find(|b| *b > 0.005) {
        said.push(format!(
            "The fans press more air in than the main fan takes away: {} of it comes back out of the face beside them, and half of that round again (a judgment). A shroud or flaps would help more than a stronger fan.",
            units.show(Kind::Share, back)
        ));
    }
    if points.iter().any(|p| p.helped < 0.0) {
        said.push(
            "The air behind the core stands against the fans: a main fan so slow is in their way."
                .into(),
        );
    }
    let main_alone = shown(main).map(|w| w.budget.draft.flow);
    let with = shown(&main.with(question, &one.set, true)).map(|w| w.budget.draft.flow);
    if let (Some(alone), Some(with)) = (main_alone, with)
        && with < alone
    {
        said.push(
            "With them on, less air comes through in all than without: they starve the main fan."
                .into(),
        );
    }
    let used = one
        .set
        .iter()
        .flatten()
        .filter_map(|s| question.fans.get(s.fan));
    for fan in used {
        if fan.misfit > MISFIT {
            said.push(format!(
                "The curve that is fitted to {} lies off its points by up to {} of its greatest pressure.",
                fan.name,
                units.show(Kind::Share, fan.misfit)
            ));
        }
    }
    if points.iter().any(|p| p.beyond) {
        said.push(
            "A fan works outside the points of its data sheet, on the fitted curve drawn on."
                .into(),
        );
    }
    said.push("Electric fans are rated with nothing before them; 40 to 60 % of that is what usually arrives through stacked cores (common practice, no source).".into());
    said
}

/// What to check next.
pub(super) fn next(slow: bool) -> &'static str {
    if slow {
        "what makes the main fan slow, with readings (suspects), before a fan is bought. After fitting: hold a strip of paper to each fan; one that is wired the wrong way round pulls against the main fan."
    } else {
        "the main fan's own speed at full command, before a fan is bought. After fitting: hold a strip of paper to each fan; one that is wired the wrong way round pulls against the main fan."
    }
}

/// What must be borne in mind, whatever the set.
pub(super) fn cautions(units: Units, found: &Found) -> Vec<String> {
    let first = found.sides.iter().any(|s| s.oil_first);
    let first = first.then(|| oil_first(units));
    first.into_iter().chain([credible(units)]).collect()
}

/// What can hurt.
pub(super) fn safety() -> Vec<String> {
    let mut lines = vec![
        "A fuse of its own for each fan, near the battery or alternator; a relay and terminals for its starting current. Wire, fuse and relay follow local wiring practice, the fan's data sheet and the machine's service information before this.".to_string(),
        "Take the battery off before wiring. Electric fans start by themselves, some with the engine off: keep hands and cords out of their plane.".to_string(),
        "Do not fix a fan to the core with ties through its fins, and leave a condenser's lines alone: refrigerant is for licensed practice.".to_string(),
    ];
    lines.extend(words::safety());
    lines
}
