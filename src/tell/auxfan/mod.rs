//! Presents the outcome of `auxfan` in words and pictures.

mod pictures;
mod wants;

use super::answer::{Block, Figure};
use super::{Presentation, hazard, words};
use crate::balance::{COLDEST, NoSteadyState, Warm};
use crate::model::Hazard;
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::auxfan::{Auxfan, Found, Remedy, Side, Spot, Tried, Would};

/// Presents the outcome of the question.
pub fn tell(request: &Auxfan, found: &Found) -> Presentation {
    let mut told = Presentation {
        assumptions: assumptions(request, found),
        figure: Some(figure(request, found)),
        ..Presentation::about(&request.setup)
    };
    let wanted = !found.wants.is_empty();
    told.unmet = wanted && !found.target_met && request.tried.is_none();
    told.headline(match wanted {
        true => wants::headline(request, found),
        false => headline(request, found),
    });
    let mut verdict = verdict(request, found).into_iter();
    if wanted {
        wants::lines(request, found)
            .into_iter()
            .for_each(|s| told.say(s));
        told.show(Block::Table(wants::table(request, found)));
        told.show(Block::Table(wants::ladder(request, found)));
    }
    if let Some(first) = verdict.next() {
        told.why(first);
    }
    verdict.for_each(|s| told.say(s));
    told.show(Block::Table(pictures::comparison(request, found)));
    told.show(Block::Bars(pictures::bars(request, found)));
    if let Some(one) = &found.chosen {
        told.show(Block::Table(pictures::points(request, found)));
        let face = pictures::face(request, &one.set);
        told.blocks.extend(face.map(Block::Chart));
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

/// The gain in limiting ambient temperature from the fans, with the gains from repair and from the correct oil.
fn figure(request: &Auxfan, found: &Found) -> Figure {
    let units = request.setup.units;
    // If there is no limiting ambient temperature at present, gains are counted from the lowest one that is reported.
    let more = match base(found) > COLDEST {
        true => "",
        false => " or more",
    };
    let gain = |remedy: Remedy| {
        let side = found.side(remedy)?;
        let sign = if side.gained >= 0.05 { "+" } else { "" };
        let gain = words::gain(units, base(found), side.hottest_day);
        Some(match gain.starts_with("over") {
            true => gain,
            false => format!("{sign}{gain}{more}"),
        })
    };
    let others = [
        (Remedy::Mended, "repair"),
        (Remedy::RightOil, "the right oil"),
    ];
    let others = others
        .into_iter()
        .filter_map(|(remedy, words)| Some(format!("{words} {}", gain(remedy)?)));
    let others = others.collect::<Vec<_>>().join(", ");
    let beside = match others.as_str() {
        "" => String::new(),
        some => format!("; for comparison: {some}"),
    };
    let (figure, label) = match gain(Remedy::Fans) {
        Some(gain) => (gain, "gain in limiting ambient temperature from these fans"),
        None if found.met => (
            "No fan needed".into(),
            "at the required ambient temperature",
        ),
        None => (
            "No fan helps".into(),
            "of those considered, at these positions",
        ),
    };
    Figure {
        figure,
        label: format!("{label}{beside}"),
        key: "hottest_day",
    }
}

/// The limiting ambient temperature of the machine as it is, K.
fn base(found: &Found) -> f64 {
    found.side(Remedy::None).map_or(COLDEST, |s| s.hottest_day)
}

/// A short name of a set of fans; it omits the mounting if this is the same at all positions.
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

/// The assumptions.
fn assumptions(request: &Auxfan, found: &Found) -> Vec<(String, String)> {
    let units = request.setup.units;
    let mut all = words::lasting(&request.setup);
    all.retain(|(label, _)| !label.starts_with("now."));
    let mut say = |label: &str, value: String| all.push((label.into(), value));
    if let Some(side) = found.side(Remedy::None) {
        let now = &side.warm.case.now;
        say("engine speed", units.show(Kind::Speed, now.engine_speed));
        say("ambient air", units.show(Kind::Temperature, found.target));
        match request.climb {
            Some(grade) => say("climb at walking pace", units.show(Kind::Share, grade)),
            None if now.road_speed > 0.0 => {
                let grade = units.show(Kind::Share, now.grade);
                let speed = units.show(Kind::RoadSpeed, now.road_speed);
                say("road", format!("{speed}, grade {grade}"));
            }
            None => say("road", "standstill".into()),
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
            format!("{} of its expected speed", units.show(Kind::Share, share)),
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

/// The headline.
fn headline(request: &Auxfan, found: &Found) -> String {
    let units = request.setup.units;
    let target = units.show(Kind::Temperature, found.target);
    let [now, days] = [words::day, words::up_to].map(|words| words(units, base(found)));
    let doing = match request.climb {
        Some(_) => "climb at walking pace",
        None => "stand idling",
    };
    let can = format!("hottest day on which this machine can {doing}");
    let mended = found.side(Remedy::Mended).map_or(String::new(), |m| {
        match words::day(units, m.hottest_day) {
            day if day == now => String::new(),
            day => format!(" Repairing the fault would raise this to {day}."),
        }
    });
    let would = found.would.as_ref().map_or(String::new(), would_suffice);
    let Some(one) = &found.chosen else {
        let assumed = request.main.is_none() && request.setup.faults.is_empty();
        let healthy = if assumed {
            " if this machine is healthy"
        } else {
            ""
        };
        return if found.met {
            format!(
                "No electric fan is needed{healthy}: at present this machine can {doing} {days}; {target} is required.{mended}"
            )
        } else {
            format!("None of these fans in these places raises the {can}, {now}.{mended}{would}")
        };
    };
    let (set, then) = (&one.name, words::day(units, one.hottest_day));
    let tried = request.tried.is_some();
    let first = if one.hottest_day >= found.target {
        let what = if tried {
            ""
        } else {
            "The smallest sufficient set: "
        };
        let already = if found.met {
            " The target is met without them."
        } else {
            ""
        };
        format!("{what}{set}. The {can} rises from {now} to {then}; {target} is required.{already}")
    } else {
        let what = if tried {
            format!("Not sufficient: {set}")
        } else {
            format!("No set of these fans is sufficient; the best, {set},")
        };
        format!("{what} moves the {can} from {now} to {then}; {target} is required.")
    };
    format!("{first}{mended}{would}")
}

/// Says what would reach the target if these fans do not; the text begins with a space.
fn would_suffice(would: &Would) -> String {
    match would {
        Would::RightOil => " The right oil alone would be sufficient.".into(),
        Would::Mended => " That alone would be sufficient.".into(),
        Would::MendedAndRightOil => {
            " Repair and the right oil together would be sufficient.".into()
        }
        Would::MendedWith(set) => format!(" After that repair, {set} would be sufficient."),
        Would::Sealed(set) => {
            let with = set.as_ref().map_or(String::new(), |s| format!(" and {s}"));
            format!(" Seals around the core that prevent recirculation{with} would be sufficient.")
        }
        Would::LessOilHeat => nor(
            "the oil heats up without limit, so a larger oil cooler or a lower engine speed is required",
        ),
        Would::LargerCore => nor("a larger core, less heat, or other fans are required"),
    }
}

fn nor(takes: &str) -> String {
    format!(
        " Even a healthy main fan with these fans and tight seals around the core would not be sufficient: {takes}."
    )
}

/// Whether the oil heats up without limit.
fn oil_overheats(warm: &Warm) -> bool {
    warm.heats == Some(NoSteadyState::Oil)
}

/// Compares the remedies in words.
fn verdict(request: &Auxfan, found: &Found) -> Vec<String> {
    let units = request.setup.units;
    let mut lines = vec![on_the_day(request, found)];
    let as_it_is = found.side(Remedy::None);
    if base(found) <= COLDEST {
        let what = match as_it_is {
            Some(side) if oil_overheats(&side.warm) => "the oil",
            _ => "the coolant",
        };
        lines.push(format!(
            "At present {what} heats up without limit on any day, so gains are counted from {}.",
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
        "All of this is at full command with the thermostat open. The remedies are compared by the limiting ambient temperature, the hottest day on which the coolant does not exceed its limit. There may be one even if the coolant has no steady temperature on the day asked for.".into(),
    );
    lines
}

/// Says how much the fans would gain, K, compared with a repair.
fn fans_gain(units: Units, found: &Found, fans: f64) -> String {
    let degrees = |k: f64| words::kelvin(units, k);
    let (more, or_more) = match base(found) > COLDEST {
        true => ("", ""),
        false => ("at least ", " or more"),
    };
    match found.side(Remedy::Mended).map(|m| m.gained) {
        Some(mend) if mend > 0.5 => {
            let part = fans / mend;
            let shown = units.show(Kind::Share, part);
            let word = if part < 0.5 {
                "They mask the fault and do not repair it"
            } else if part < 1.0 {
                "They make up for much of it, but the fault remains"
            } else {
                "They gain more than a repair would, but the fault remains"
            };
            let (fans, mend) = (degrees(fans), degrees(mend));
            format!(
                "These fans gain {more}{fans}, {more}{shown} of the {mend}{or_more} that a repair would gain. {word}."
            )
        }
        _ if found.slow => format!(
            "These fans gain {more}{}; repairing the fault gains nothing here.",
            degrees(fans)
        ),
        _ => format!(
            "The machine is assumed healthy; these fans gain {}.",
            degrees(fans)
        ),
    }
}

/// Says how hot the coolant gets with each remedy at the requested ambient temperature.
fn on_the_day(request: &Auxfan, found: &Found) -> String {
    let units = request.setup.units;
    let each = |s: &Side| format!("{} {}", s.name, words::coolant(units, &s.warm));
    let all: Vec<String> = found.sides.iter().map(each).collect();
    format!(
        "Coolant on a day of {}: {}. Each is accurate to {} (the model's own error); the differences are more accurate.",
        units.show(Kind::Temperature, found.target),
        all.join(", "),
        words::credible(units)
    )
}

/// Says how much the correct oil would gain.
fn right_oil(request: &Auxfan, found: &Found) -> String {
    let units = request.setup.units;
    let (Some(oil), Some(now)) = (found.side(Remedy::RightOil), found.side(Remedy::None)) else {
        return "The machine is assumed to contain its usual oil; if it contains another, choose that one.".into();
    };
    let degrees = |k: f64| words::kelvin(units, k);
    let word = match oil.gained {
        change if change.abs() < 0.5 => "hardly changes anything".to_string(),
        change if change > 0.0 => format!("gains {}", degrees(change)),
        change => format!("costs {}", degrees(-change)),
    };
    format!(
        "The right oil ({}) alone {word} here, with the fan at {} instead of {}.",
        request.right_oil.name,
        units.show(Kind::Speed, oil.fan_speed),
        units.show(Kind::Speed, now.fan_speed)
    )
}

/// Says how much current the fans draw, and how much the alternator can spare.
fn electrical(request: &Auxfan, found: &Found, one: &Tried) -> [String; 3] {
    let units = request.setup.units;
    let amps = |a: f64| units.show(Kind::Current, a);
    let (spare, current) = (found.spare, one.current);
    [
        format!(
            "They draw {} at their operating point and {} at most. If all start at once, they briefly draw about {} (3 times as much; 2 to 3 times is common practice, no source): start them one after the other.",
            amps(found.running),
            amps(current),
            amps(found.starting_current)
        ),
        format!(
            "At idle the alternator delivers {}, of which {} {} to spare{}.",
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
            "Their maximum current takes {} of shaft power at the alternator; the resulting engine heat is included.",
            units.show(Kind::Power, found.alternator_power)
        ),
    ]
}

/// Says how the fans, when switched off, change the limiting ambient temperature on the road.
fn road(request: &Auxfan, found: &Found) -> Option<String> {
    let units = request.setup.units;
    let plain = found.road_limiting_ambient?;
    let off = found.road_limiting_ambient_fans_off?;
    let speed = units.show(Kind::RoadSpeed, request.road_speed);
    if plain <= COLDEST {
        return Some(format!(
            "At {speed} on a level road this machine overheats on any day at present, with or without the fans in the airflow."
        ));
    }
    let change = off - plain;
    let word = if change < 0.0 { "costs" } else { "gains" };
    Some(format!(
        "On a level road at {speed} the stopped fans obstruct the airflow: the limiting ambient temperature goes from {} to {}, which {word} {} of margin.",
        words::day(units, plain),
        words::day(units, off),
        words::kelvin(units, change.abs())
    ))
}

/// What to check next.
fn next(slow: bool) -> &'static str {
    if slow {
        "before buying a fan, find out with readings why the main fan is slow. After fitting, hold a strip of paper to each fan: a fan wired with reversed polarity works against the main fan."
    } else {
        "before buying a fan, read the main fan's speed at full command. After fitting, hold a strip of paper to each fan: a fan wired with reversed polarity works against the main fan."
    }
}
