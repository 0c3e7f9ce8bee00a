//! Presents the outcome of `flush` in words and pictures.

mod pictures;

use super::answer::{Block, Figure};
use super::{Presentation, caution, words};
use crate::input::unit::celsius;
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::flush::{Flush, Found, Method, PAYS};

/// Presents the outcome of the question.
pub fn tell(request: &Flush, found: &Found) -> Presentation {
    let units = request.fresh.units;
    let now = &request.fresh.case.now;
    let mut told = Presentation {
        assumptions: assumptions(request),
        figure: Some(figure(units, found)),
        ..Presentation::about(&request.fresh)
    };
    told.headline(headline(request, found));
    told.why(format!(
        "With the engine at {} and the oil at {}, the fan makes {} with the old oil and {} after the change. With fresh oil alone it would make {}.",
        units.show(Kind::Speed, now.engine_speed),
        units.show(Kind::Temperature, now.oil_temp),
        units.show(Kind::Speed, found.fan_speed_old),
        units.show(Kind::Speed, found.fan_speed),
        units.show(Kind::Speed, found.fan_speed_fresh)
    ));
    told.say(worth(units, found));
    told.say(elsewhere(units, found));
    told.say(assumed(request));
    told.show(Block::Table(pictures::rounds(request, found)));
    told.show(Block::Chart(pictures::along(request, found)));
    told.show(Block::Chart(pictures::speeds(units, found)));
    told.show(Block::Table(pictures::over_oil_temp(units, found)));
    told.show(Block::Table(pictures::methods(request, found)));
    told.show(Block::Safety(caution::safety()));
    told.cautions.clone_from(&found.cautions);
    told.series = Series::of(&found.series);
    told
}

/// How many oil changes are needed, and how much fresh oil.
fn figure(units: Units, found: &Found) -> Figure {
    let volume = units.show(Kind::Volume, found.volume.0);
    Figure {
        figure: counted(found.rounds_needed, "oil change"),
        label: format!("{volume} of fresh oil in all"),
        key: "rounds",
    }
}

/// What one round of a flushing method is called.
fn name(method: Method) -> &'static str {
    match method {
        Method::Drain => "drain and refill",
        Method::Reservoir => "exchange of the reservoir's oil",
        Method::ReturnLine => "pour through the return line",
    }
}

/// The assumptions.
fn assumptions(request: &Flush) -> Vec<(String, String)> {
    let (plan, units) = (&request.plan, request.fresh.units);
    let mut all = words::assumptions(&request.fresh);
    for (label, _) in &mut all {
        if label == "oil" {
            *label = "fresh oil".into();
        }
    }
    let percent = |x| units.show(Kind::Share, x);
    all.insert(1, ("old oil".into(), request.old.oil.name.clone()));
    let mut say = |label: &str, value: String| all.push((label.into(), value));
    say("method", name(plan.method).into());
    say(
        "exchanged each round",
        format!(
            "{}, {} of the fill",
            units.show(Kind::Volume, request.volume(1.0)),
            percent(plan.exchanged)
        ),
    );
    say(
        "stagnant volume",
        format!(
            "{}, of which {} mixes while the engine runs between rounds",
            percent(plan.fill.still),
            percent(plan.fill.mixing)
        ),
    );
    say("target", request.asked());
    all
}

/// The headline: number of rounds, volume of fresh oil, and the old oil that remains.
fn headline(request: &Flush, found: &Found) -> String {
    let units = request.fresh.units;
    let (needed, (volume, low)) = (found.rounds_needed, found.volume);
    if needed == 0 {
        return "No flush is needed: the old oil already meets the target.".into();
    }
    let price = request.cost_per_litre.map_or(String::new(), |price| {
        let cost = |v: f64| units.show(Kind::Cost, price * v * 1e3);
        format!(", at a cost of {}", from_to(low, volume, cost))
    });
    let litres = |v| units.show(Kind::Volume, v);
    let drained = match (found.method, needed) {
        (Method::ReturnLine, _) => {
            return format!(
                "{} of fresh oil through the return line, in {}, are enough for the target: {}{price}.",
                from_to(low, volume, litres),
                counted(needed, "pour"),
                request.asked()
            );
        }
        (Method::Drain, 1) => "1 drain and refill".into(),
        (Method::Drain, n) => format!("{n} drains and refills"),
        (Method::Reservoir, n) => format!("{} of the reservoir", counted(n, "exchange")),
    };
    let leave = if needed == 1 { "leaves" } else { "leave" };
    format!(
        "{drained} of {} ({} in all{price}) {leave} {} of the old oil.",
        litres(request.volume(1.0)),
        litres(volume),
        units.show(Kind::Share, found.old_share_left)
    )
}

/// A range as text, or a single value if both limits are practically the same.
fn from_to(low: f64, high: f64, show: impl Fn(f64) -> String) -> String {
    if high - low > 0.005 * high {
        format!("{} to {}", show(low), show(high))
    } else {
        show(high)
    }
}

/// A number with its noun, in singular or plural.
fn counted(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

/// Says after which round another one is no longer worthwhile.
fn worth(units: Units, found: &Found) -> String {
    let (pays, fresh) = (found.last_round_that_pays, found.fan_speed_fresh);
    let least = units.show(Kind::Share, PAYS);
    let all = words::speed_difference(
        units,
        fresh - found.fan_speed_old,
        None,
        found.band.as_ref(),
    );
    if fresh <= 0.0 {
        return "The fan is stopped in this condition, so no round changes its speed.".into();
    }
    if pays == 0 {
        return format!(
            "For the fan speed in this condition no round is worthwhile: even fresh oil alone makes the fan {all}, and no single round changes its speed by as much as {least}. The benefit of a flush here is clean oil of the right kind."
        );
    }
    format!(
        "Fresh oil alone makes the fan {all} in this condition. After round {pays} no further round changes its speed by as much as {least}, and all further rounds together change it by {}. They still reduce the old oil, but hardly change the speed.",
        units.show(Kind::Speed, (fresh - found.speed_paid).abs())
    )
}

/// Says what the flush does for the fan speed if the oil is at 0 or at 80 °C.
fn elsewhere(units: Units, found: &Found) -> String {
    let named = found.over_oil_temp.iter().filter(|at| {
        let near = |t: f64| (at.oil_temp - celsius(t)).abs() < 1.0;
        at.fan_speed_fresh > 0.0 && (near(0.0) || near(80.0))
    });
    let named = named.map(|at| {
        format!(
            "{} with the oil at {}",
            words::makes(units, at.fan_speed - at.fan_speed_old),
            units.show(Kind::Temperature, at.oil_temp)
        )
    });
    let named: Vec<String> = named.collect();
    if named.is_empty() {
        "The fan is stopped in this condition at all of the oil temperatures below.".into()
    } else {
        format!("The flush makes the fan {}.", named.join(", and "))
    }
}

/// The assumptions about an exchange of oil, in a sentence.
fn assumed(request: &Flush) -> String {
    let plan = &request.plan;
    let percent = |x| request.fresh.units.show(Kind::Share, x);
    let mut text = match plan.method {
        Method::ReturnLine => {
            "The true result is between two limits: plug flow, in which fresh oil pushes the old oil out, and complete mixing. Rounds and volumes are those for the worse limit. ".to_string()
        }
        _ => format!(
            "Each round removes {} of the fill from the circulating mixture; run the engine between rounds, otherwise the fresh oil in the reservoir is drained again. ",
            percent(plan.exchanged)
        ),
    };
    if plan.fill.still > 0.0 {
        text.push_str(&format!(
            "{} of the fill (steering, cooler, hoses) is stagnant during an exchange; {} of it mixes afterwards. The fraction of old oil refers to the whole fill; viscosity and speed are those after complete mixing.",
            percent(plan.fill.still),
            percent(plan.fill.mixing)
        ));
    }
    text
}
