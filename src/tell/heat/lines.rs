//! The sentences below the headline.

use crate::balance::NoSteadyState;
use crate::input::unit::celsius;
use crate::quantity::{Kind, Units};
use crate::question::heat::{Anchored, DRAWN, Found, Heat, Rating, Ratio, Variant};
use crate::tell::words;
use crate::vary::rating::RatedInput;
use crate::vary::settled::NEAR;

/// All sentences in order.
pub(super) fn all(request: &Heat, found: &Found) -> Vec<String> {
    let units = request.setup.units;
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let b = &found.here().warm.budget;
    let mut lines = vec![
        boiling(units, found),
        limiting(units, found),
        by_formula(units, found),
    ];
    if request.bands {
        lines.insert(1, chances(units, found));
    }
    lines.extend(heater(units, found));
    lines.extend(slowed(request, found));
    if let Some(time) = found.oil_warm_up {
        lines.push(format!(
            "From a cold start at {} ambient, the oil comes within {} of its steady {} after about {:.0} min.",
            temp(b.ambient),
            units.show(Kind::TemperatureDifference, NEAR),
            temp(b.oil_temp),
            (time / 60.0).max(1.0)
        ));
    }
    lines.extend(found.rating.iter().flat_map(|r| rating(units, r)));
    lines.push(match &found.anchored {
        Some(anchored) => anchoring(units, anchored),
        None => format!(
            "Without a reading of your own as an anchor, temperatures and the limiting ambient temperature are accurate to about {}; differences between the rows of the tables are more accurate.",
            words::credible(units)
        ),
    });
    lines
}

/// The cabin heater as a test: by how much it would lower the coolant, and what it tells.
fn heater(units: Units, found: &Found) -> Option<String> {
    let mut looks = found.side_by_side.iter();
    let on = looks.find(|l| l.name == Variant::HeaterOn)?;
    let lower = -on.coolant_difference?;
    let band = on.difference_band.0.map_or(String::new(), |(low, high)| {
        format!(" ({})", words::kelvins(units, (-high).max(0.0), -low))
    });
    Some(format!(
        "Test with the cabin heater and its blower fully on: the coolant should settle {} lower{band}. If it blows hot and the gauge falls less, more heat comes in than computed, or the gauge is wrong; if it blows cold, the coolant is low, holds air or does not flow (common practice, no source).",
        words::kelvin(units, lower)
    ))
}

/// Says how the fan speed is known, if it is not that of the machine as computed.
fn slowed(request: &Heat, found: &Found) -> Option<String> {
    let units = request.setup.units;
    let oil = words::degrees(units, found.here().warm.budget.oil_temp);
    let held = format!("the oil temperature is held at {oil}");
    let rpm = |n: f64| units.show(Kind::Speed, n);
    Some(match (request.fan_speed, request.ratio) {
        (Some(_), _) => {
            let mut looks = found.side_by_side.iter();
            let free = looks.find(|l| l.name == Variant::FanAsComputed)?;
            let control = match free.warm.operating.command < 1.0
                && free.fan_speed < found.fan_speed
            {
                true => format!(
                    " Its control would let this fan make only {} here, because the coolant does not need more; the given speed takes no account of that.",
                    rpm(free.fan_speed)
                ),
                false => String::new(),
            };
            format!("The fan speed is given, so {held}.{control}")
        }
        (_, Some(Ratio::Given(share))) => format!(
            "At every command the fan makes {} of the speed of a healthy fan, and {held}.",
            units.show(Kind::Share, share.value)
        ),
        (_, Some(Ratio::Read(reading))) => format!(
            "You read a fan speed of {} at {}{}. The fan speed computed here is changed in the same ratio, and {held}.",
            rpm(reading.value),
            words::commanded(units, reading.setting.command),
            reading
                .date
                .map_or(String::new(), |day| format!(" on {day}"))
        ),
        _ => return None,
    })
}

/// Says which inputs were adjusted to fit the readings.
fn anchoring(units: Units, anchored: &Anchored) -> String {
    let moved: Vec<String> = anchored
        .moved
        .iter()
        .map(|(input, value, given, _)| {
            let show = |v| units.show(input.field().kind, v);
            format!(
                "{} {} (before: {})",
                input.key(),
                show(*value),
                show(*given)
            )
        })
        .collect();
    format!(
        "The model is fitted to your readings by adjusting the uncertain inputs, each in proportion to its uncertainty, above all {}.",
        moved.join(", ")
    )
}

/// The text below the map of the limiting ambient temperature.
pub(super) fn below_map(units: Units) -> String {
    format!(
        "The fan is at full command, the thermostat is open, and the gear suits the road speed. A line steps where the gear changes, and ends where the engine lacks the power. A gap means that no limiting ambient temperature was found, for example because the oil would heat up without limit. The bands cover 95 of 100 machines within the ±, to first order about each point. Values above {} only show that heat is no concern there.",
        units.show(Kind::Temperature, celsius(50.0))
    )
}

fn boiling(units: Units, found: &Found) -> String {
    let (low, high) = (found.boiling_low, found.boiling_high);
    let here = found.here();
    let t = here.warm.budget.coolant_temp;
    let now = match (here.warm.heats, found.coolant_band.0) {
        (Some(_), _) => String::new(),
        (None, _) if t >= low => ": it may already boil".to_string(),
        (None, Some((_, most))) if most >= low => format!(
            "; the machine as described stays {} below that, but within the ± it may boil",
            words::kelvins(units, low - t, high - t)
        ),
        (None, Some((least, most))) => format!(
            "; within the machine's ± the margin is {}, not counting the model's own error of about {}",
            words::kelvins(units, low - most, low - least),
            words::credible(units)
        ),
        (None, None) => format!(
            "; the machine as described stays {} below that",
            words::kelvins(units, low - t, high - t)
        ),
    };
    format!(
        "With this cap, mixture and altitude the coolant boils between {} and {} (sources differ){now}.",
        words::degrees(units, low),
        words::degrees(units, high),
    )
}

/// Says in how many of a hundred machines the coolant reaches its limit, and in how many it boils.
fn chances(units: Units, found: &Found) -> String {
    let Some((limit, boil)) = found.chance_of_limit.zip(found.chance_to_boil) else {
        return "How likely the coolant is to reach its limit cannot be determined: most machines within the ± have no steady state here.".into();
    };
    let of = |chance: f64| match chance {
        c if c * (DRAWN as f64) < 0.5 => "none".into(),
        c if c > 0.995 => "all".into(),
        c => format!("about {:.0} in 100", (100.0 * c).clamp(1.0, 99.0)),
    };
    format!(
        "Of the machines within the ±, {} reach the coolant limit of {} here, and {} boil ({DRAWN} machines sampled).",
        of(limit),
        units.show(Kind::Temperature, found.limit),
        of(boil),
    )
}

fn limiting(units: Units, found: &Found) -> String {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let here = found.here();
    let below = here.steady && here.warm.budget.coolant_temp < found.limit;
    match found.limiting_ambient {
        Some(ambient) => format!(
            "Limiting ambient temperature: {}{}. On such a day, with the thermostat open and the fan at full command, the coolant reaches its limit of {}.",
            words::day(units, ambient),
            match found.limiting_band.0.map(|(low, high)| words::days(units, low, high)) {
                Some(days) if days != words::day(units, ambient) => format!(" ({days})"),
                _ => String::new(),
            },
            temp(found.limit),
        ),
        None if below && found.opens_at_limit => format!(
            "No limiting ambient temperature: on hotter days the oil exceeds {} before the coolant reaches its limit, and the computation ends there.",
            temp(celsius(200.0))
        ),
        None if here.warm.heats == Some(NoSteadyState::Oil) => "No limiting ambient temperature: the oil heats up without limit before the coolant reaches its limit.".into(),
        None => "No limiting ambient temperature: no ambient temperature is low enough, or the thermostat would not be fully open at the coolant limit.".into(),
    }
}

fn by_formula(units: Units, found: &Found) -> String {
    match found.limiting_ambient_by_formula.zip(found.air_to_boil) {
        Some((formula, boil)) => format!(
            "By the formula of SAE J1393 the limiting ambient temperature is {}, and the air-to-boil temperature {}.",
            words::day(units, formula),
            words::day(units, boil)
        ),
        None => "The formula of SAE J1393 and its air-to-boil temperature do not apply here: they require a fully open thermostat, full fan command, and coolant not so hot that the air conditioning cuts out.".into(),
    }
}

/// Says what the fit to the core's rating points gave.
fn rating(units: Units, rating: &Rating) -> Vec<String> {
    let share = |x: f64| units.show(Kind::Share, x);
    let (told, kept): (Vec<&RatedInput>, Vec<&RatedInput>) =
        rating.told.iter().partition(|t| t.half.is_some());
    let told: Vec<String> = told
        .iter()
        .map(|t| {
            let kind = t.input.field().kind;
            let shown = units.show_spread(kind, t.value, t.half.unwrap_or(0.0));
            format!("{} {shown}", t.input.key())
        })
        .collect();
    let held = match rating.held_out_misfit {
        None => "there are too few points to leave one out as a check".to_string(),
        Some(misfit) => format!(
            "a point left out of the fit is predicted to within {}",
            share(misfit)
        ),
    };
    let mut lines = vec![format!(
        "Your {} rating points determine {}; the fit agrees with them to within {}, and {held}.",
        rating.points,
        told.join(", "),
        share(rating.misfit)
    )];
    for one in kept {
        let others = match one.input.key().as_str() {
            "core.air_exponent" => "air speeds",
            _ => "coolant flows",
        };
        lines.push(format!(
            "They do not determine {} ({}): it keeps the machine's value of {}. Points at other {others} would determine it.",
            one.input.key(),
            one.input.field().help,
            units.show(one.input.field().kind, one.value),
        ));
    }
    if rating.held_out_misfit.is_some_and(|misfit| misfit > 0.1) {
        lines.push("The prediction of a point left out is off by more than a tenth: look for a wrong row in the table, or a core that does not follow this law.".into());
    }
    lines
}
