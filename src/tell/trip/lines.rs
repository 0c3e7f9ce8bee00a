//! The sentences about a trip.

use super::{Named, clock};
use crate::quantity::{Kind, Units};
use crate::question::trip::{Found, Idle, Look, Spread};
use crate::tell::words;

/// The headline.
pub(super) fn headline(units: Units, here: &Look) -> String {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let ((at, peak), limit) = (here.figures.peak, here.coolant_limit);
    if here.boiled {
        return format!(
            "The coolant boils after {}: the trip ends there.",
            clock(at)
        );
    }
    match here.time_to_limit {
        Some(when) => format!(
            "The coolant reaches its limit of {} after {} and peaks at {} after {}; it is above its limit for {}.",
            temp(limit),
            clock(when),
            temp(peak),
            clock(at),
            clock(here.above_limit)
        ),
        None => format!(
            "The coolant peaks at {} after {}, {} below its limit of {}.",
            temp(peak),
            clock(at),
            units.show(Kind::TemperatureDifference, limit - peak),
            temp(limit)
        ),
    }
}

/// Compares this trip with the baseline; the sign of the difference is the computed one.
pub(super) fn compared(units: Units, found: &Found, there: &Named<'_>) -> String {
    let (here, name) = (&found.here.0, &there.name);
    let (at, peak) = there.look.figures.peak;
    let (at, shown) = (clock(at), units.show(Kind::Temperature, peak));
    if there.look.boiled {
        return format!("For comparison ({name}): the coolant boils after {at}.");
    }
    if here.boiled {
        return format!("For comparison ({name}): the coolant peaks at {shown} and does not boil.");
    }
    let difference = here.peak_coolant_temp - peak;
    let size = |d: f64| units.show(Kind::TemperatureDifference, d.abs());
    let hotter = match difference {
        d if d.abs() < 0.1 => format!("equally hot to within {}", size(0.1)),
        d if d > 0.0 => format!("{} hotter", size(d)),
        d => format!("{} cooler", size(d)),
    };
    let within = found.peak_difference_low.zip(found.peak_difference_high);
    let within = within.filter(|(low, high)| high > low);
    let within = within.map_or(String::new(), |(low, high)| {
        let signed = |d: f64| format!("{}{}", if d < 0.0 { "−" } else { "+" }, size(d));
        format!(
            " ({} to {} within the machine's ±)",
            signed(low),
            signed(high)
        )
    });
    format!(
        "For comparison ({name}): the coolant peaks at {shown} after {at}. So this trip peaks {hotter}{within}, with a fan that is {} on average.",
        words::faster_or_slower(units, here.fan_speed_mean - there.look.fan_speed_mean)
    )
}

/// Names the variant with the least pump energy among those that keep the coolant below its limit.
pub(super) fn variants(units: Units, found: &Found) -> String {
    let given = std::iter::once(("as given", &found.here.0));
    let others = found.variants.iter().map(|v| (v.name.as_str(), &v.look.0));
    let cool = |l: &Look| !l.boiled && l.figures.to_limit.is_none();
    let held = given.chain(others).filter(|(_, look)| cool(look));
    let least = held.min_by(|a, b| a.1.pump_energy.total_cmp(&b.1.pump_energy));
    match least {
        Some((name, look)) => format!(
            "Of the variants that stay below the coolant's limit, `{name}` takes the least pump power, {} on average.",
            units.show(Kind::Power, look.pump_shaft_power_mean)
        ),
        None => "No variant stays below the coolant's limit.".into(),
    }
}

/// Says how machines sampled within the ± get through the trip.
pub(super) fn spread(units: Units, spread: &Spread) -> String {
    let (all, through) = (spread.machines, spread.came_through);
    let Some((low, high)) = spread.peak_coolant_temp.0 else {
        return format!(
            "None of {all} machines sampled within this one's ± completes the trip, so no ± is given."
        );
    };
    if all == 1 {
        return "No input of this machine has a ±, so no range is given.".into();
    }
    let boil = match spread.boil {
        0 => String::new(),
        n => format!(", and it boils in {n}, which ends the trip"),
    };
    let limit = match spread.reach_limit {
        0 => "none of them it reaches".to_string(),
        n => format!("{n} of them it reaches"),
    };
    let (lost, cover) = match all - through {
        0 => (
            String::new(),
            "About 9 of 10 such machines are within this range, which covers the uncertainty of the inputs, not that of the model itself.",
        ),
        n => (
            format!(
                " ({n} more have no initial steady state, no suitable gear, or heat up without limit)"
            ),
            "The omitted machines may be the hottest, so the true range is wider.",
        ),
    };
    format!(
        "In {through} machines sampled within this one's ±{lost} the coolant peaks between {} and {}; in {limit} its limit{boil}. {cover}",
        units.show(Kind::Temperature, low),
        units.show(Kind::Temperature, high),
    )
}

/// The peak temperature of the oil, and the fan speeds.
pub(super) fn oil_and_fan(units: Units, here: &Look) -> String {
    let speed = |n: f64| units.show(Kind::Speed, n);
    format!(
        "The oil peaks at {} after {}; the fan turns between {} and {}, {} on average.",
        units.show(Kind::Temperature, here.peak_oil_temp),
        clock(here.peak_oil_time),
        speed(here.fan_speed_least),
        speed(here.fan_speed_greatest),
        speed(here.fan_speed_mean)
    )
}

/// Says what happens if the engine idles after the trip.
pub(super) fn idling(units: Units, here: &Look) -> String {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let own = match here.figures.idle {
        Idle::Until(seconds) => format!(
            "Left idling after the trip, the coolant reaches its limit of {} after {}.",
            temp(here.coolant_limit),
            clock(seconds)
        ),
        Idle::Stays(end) => format!(
            "Left idling after the trip, the coolant stays below its limit: after an hour it is at {}.",
            temp(end)
        ),
        Idle::No => {
            "No idling is possible after the trip: the coolant is already at its limit.".into()
        }
    };
    let spread = &here.spread;
    if spread.machines <= 1 || spread.came_through == 0 {
        return own;
    }
    format!(
        "{own} Of the {} sampled machines, {} stay below the limit for an hour.",
        spread.came_through,
        spread.count(|f| matches!(f.idle, Idle::Stays(_)))
    )
}
