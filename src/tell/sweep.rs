//! Presents the outcome of `sweep` in words and pictures.

use super::answer::{Block, Chart, Curve, Stretch};
use super::{Presentation, caution, words};
use crate::balance::Output;
use crate::input::Input;
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::basis::WARM;
use crate::question::sweep::{self, Along, Found, Sweep};
use crate::vary::size::Figure;

/// Presents the outcome of the question.
pub fn tell(request: &Sweep, found: &Found) -> Presentation {
    let setup = &request.setup;
    let along = request.along;
    let mut told = Presentation::about(setup);
    let name = name(along);
    let axes = [Some(along), request.second];
    let axes = axes.into_iter().flatten();
    if let Some(steady) = request.steady {
        told.assumptions = assumptions(request, steady);
    }
    let names: Vec<String> = axes.clone().map(self::name).collect();
    let other_oils = |label: &str| label == "oil" && !request.oils.is_empty();
    told.assumptions
        .retain(|(label, _)| !other_oils(label) && !names.contains(label));
    for input in axes.filter_map(|along| along.input) {
        told.case.remove(&input.key());
    }
    let range = names.join(" and ");
    told.headline(headline(request, &range, found));
    told.blocks
        .extend(without_effect(request, &names, found).map(Block::Sentence));
    told.blocks
        .extend(unsteady(request, found).map(Block::Sentence));
    for curve in &found.curves {
        told.say(limits(request, curve));
    }
    if request.band {
        let what = request.output.help();
        told.say(format!("The band around each curve contains the {what} of 95 % of machines within the ± of machine, oil and condition."));
    }
    if let [first, others @ ..] = &found.curves[..] {
        let all = others
            .iter()
            .filter_map(|c| against(request, &first.oil, c));
        all.for_each(|words| told.say(words));
    }
    told.show(Block::Chart(match request.second {
        Some(second) => over_two(request, second, found),
        None => versus(request, &name, &found.curves),
    }));
    if let Some(chart) = differences(request, &name, &found.curves) {
        told.show(Block::Chart(chart));
    }
    told.show(Block::Safety(caution::safety()));
    told.cautions.clone_from(&found.cautions);
    told.series = Series::of(&found.series);
    told
}

/// The name of the swept quantity, worded as in the assumptions.
fn name(along: Along) -> String {
    let Some(input) = along.input else {
        return "viscosity at this temperature".into();
    };
    match (input.part(), input.field().key) {
        ("now", "oil_temp") => "oil temperature".into(),
        ("now", "air_temp") => "air at the fan".into(),
        ("now", "ambient") => "ambient air".into(),
        ("now", "work") => "load".into(),
        ("now", key) => key.replace('_', " "),
        _ => input.key(),
    }
}

/// The assumptions of a sweep at steady temperatures.
fn assumptions(request: &Sweep, steady: sweep::Steady) -> Vec<(String, String)> {
    let setup = &request.setup;
    let (units, now) = (setup.units, &setup.case.now);
    let mut all = words::lasting(setup);
    all.retain(|(label, _)| !label.starts_with("now."));
    let on_the_road = request.over(Input::ROAD_SPEED) || now.road_speed > 0.0;
    let engine = match (
        steady.geared && on_the_road && setup.case.vehicle.is_some(),
        steady.gear,
    ) {
        (true, Some(gear)) => format!("from the road speed, in gear {gear}"),
        (true, None) => {
            "from the road speed, in the highest gear that does not lug the engine".into()
        }
        (false, _) => units.show(Kind::Speed, now.engine_speed),
    };
    all.push(("engine speed".into(), engine));
    all.extend(words::weather(units, now, on_the_road));
    let limiting = request.output == Figure::Limiting;
    all.retain(|(label, _)| !(limiting && label == "ambient air"));
    let command = match steady.automatic && !limiting {
        true => "set by the fan control".into(),
        false if limiting => "full".into(),
        false => words::command(setup),
    };
    all.push(("command".into(), command));
    all
}

/// Says that an axis changes nothing, if so.
fn without_effect<'a>(
    request: &'a Sweep,
    names: &'a [String],
    found: &'a Found,
) -> impl Iterator<Item = String> + use<'a> {
    let idle = names.iter().zip(found.idle).filter(|(_, idle)| *idle);
    let help = request.output.help();
    let hint = match request.steady {
        Some(_) => String::new(),
        None => format!(
            " At given temperatures only the oil circuit counts; {} computes the temperatures too.",
            WARM.mention()
        ),
    };
    idle.map(move |(name, _)| format!("The {help} does not depend on {name} here.{hint}"))
}

/// Says where there is no steady state, and why; `None` if there is one everywhere.
fn unsteady(request: &Sweep, found: &Found) -> Option<String> {
    let (_, why) = found.heats.first()?;
    let along = request.along;
    let ends = found.heats.iter().map(|(x, _)| *x);
    let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
        (a.min(v), b.max(v))
    });
    let show = |x| request.setup.units.show(along.kind(), x);
    let place = match low < high {
        true => format!("{} from {} to {}", name(along), show(low), show(high)),
        false => format!("{} {}", name(along), show(low)),
    };
    Some(format!(
        "No steady state at {} of the values ({place}), which are left out, because {}.",
        found.heats.len(),
        why.words()
    ))
}

/// The headline: the range of the output from minimum to maximum.
fn headline(request: &Sweep, range: &str, found: &Found) -> String {
    let values = found.series.iter().map(|row| row.given.value);
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
        (a.min(v), b.max(v))
    });
    let show = |v| request.setup.units.show(request.output.kind(), v);
    let (low, high) = (show(low), show(high));
    if low == high {
        return format!(
            "Over this range of {range} the {} is {low} throughout.",
            request.output.help()
        );
    }
    if request.output == Figure::Output(Output::FAN_SPEED) {
        format!("Over this range of {range} the fan makes {low} to {high}.")
    } else {
        format!(
            "Over this range of {range}: {} {low} to {high}.",
            request.output.help()
        )
    }
}

/// Says what limits the fan speed in which range, for one oil.
fn limits(request: &Sweep, curve: &sweep::Curve) -> String {
    let show = |v| request.setup.units.show(request.along.kind(), v);
    let parts: Vec<String> = curve
        .stretches
        .iter()
        .map(|(limit, from, to)| format!("{} from {} to {}", limit.key(), show(*from), show(*to)))
        .collect();
    let what = match request.output.is_of_heat() {
        true => "fan speed limited",
        false => "limited",
    };
    format!("{}: {what} by {}.", curve.oil, parts.join(", "))
}

/// The difference from the first oil at both ends of the range, and where its band includes zero, in words.
fn against(request: &Sweep, first: &str, curve: &sweep::Curve) -> Option<String> {
    let (units, kind) = (request.setup.units, request.along.kind());
    let shown = request.output.kind().difference();
    let ends = [curve.points.first()?, curve.points.last()?];
    let each = |p: &sweep::Point| {
        let (middle, low, high) = p.given.difference?;
        let band = units.show_band(shown, middle, low, high);
        Some(format!("{band} at {}", units.show(kind, p.at.value)))
    };
    let parts: Vec<String> = ends.into_iter().filter_map(each).collect();
    let alike = |p: &&sweep::Point| {
        let band = p.given.difference;
        band.is_some_and(|(_, low, high)| low <= 0.0 && high >= 0.0)
    };
    let (same, all) = (
        curve.points.iter().filter(alike).count(),
        curve.points.len(),
    );
    let told = match same {
        0 => "the two oils can be distinguished over the whole range".to_string(),
        _ if same == all => "the two oils cannot be distinguished in this range".into(),
        _ => {
            let at = |p: Option<&sweep::Point>| p.map_or(f64::NAN, |p| p.at.value);
            let (from, to) = (
                at(curve.points.iter().find(alike)),
                at(curve.points.iter().rfind(alike)),
            );
            format!(
                "the two oils cannot be distinguished from {} to {}",
                units.show(kind, from),
                units.show(kind, to)
            )
        }
    };
    (parts.len() == 2).then(|| {
        format!(
            "{} on {} minus that on {first}: {}; {told}.",
            capital(request.output.help()),
            curve.oil,
            parts.join(", ")
        )
    })
}

/// A chart of the differences from the first oil; `None` without bands or with only one oil.
fn differences(request: &Sweep, name: &str, curves: &[sweep::Curve]) -> Option<Chart> {
    let (first, others) = curves.split_first()?;
    let (units, along) = (request.setup.units, request.along);
    let (kind, shown) = (along.kind(), request.output.kind().difference());
    let drawn = |curve: &sweep::Curve| {
        let one = |p: &sweep::Point| {
            let (middle, low, high) = p.given.difference?;
            let [middle, low, high] = [middle, low, high].map(|v| units.number(shown, v));
            Some((units.number(kind, p.at.value), middle, low, high))
        };
        let all: Vec<_> = curve.points.iter().filter_map(one).collect();
        Curve {
            name: curve.oil.clone(),
            points: all.iter().map(|p| (p.0, p.1)).collect(),
            band: all.iter().map(|p| (p.0, p.2, p.3)).collect(),
        }
    };
    let curves: Vec<Curve> = others.iter().map(drawn).collect();
    let there = curves.iter().any(|c| !c.points.is_empty());
    there.then(|| Chart {
        title: format!(
            "{} minus that on {}",
            capital(request.output.help()),
            first.oil
        ),
        x_label: labelled(units, name, kind),
        y_label: labelled(units, "difference", shown),
        x_log: along.input.is_none(),
        y_from_zero: shown != Kind::Temperature,
        curves,
        ..Chart::default()
    })
}

/// The output versus the swept quantity; with only one oil, the ranges of the limits are shaded.
fn versus(request: &Sweep, name: &str, curves: &[sweep::Curve]) -> Chart {
    let (units, along) = (request.setup.units, request.along);
    let (kind, shown) = (along.kind(), request.output.kind());
    let x = |v: f64| units.number(kind, v);
    let y = |v: f64| units.number(shown, v);
    let drawn = |curve: &sweep::Curve| Curve {
        name: curve.oil.clone(),
        points: curve
            .points
            .iter()
            .map(|p| (x(p.at.value), y(p.given.value)))
            .collect(),
        band: curve
            .points
            .iter()
            .filter_map(|p| {
                p.given
                    .band
                    .map(|(low, high)| (x(p.at.value), y(low), y(high)))
            })
            .collect(),
    };
    Chart {
        title: format!("{} versus {name}", capital(request.output.help())),
        x_label: labelled(units, name, kind),
        y_label: labelled(units, request.output.help(), shown),
        x_log: along.input.is_none(),
        y_from_zero: shown != Kind::Temperature,
        curves: curves.iter().map(drawn).collect(),
        stretches: match curves {
            [one] => Stretch::all(&one.stretches, x),
            _ => Vec::new(),
        },
        ..Chart::default()
    }
}

/// Contour lines over two inputs.
fn over_two(request: &Sweep, second: Along, found: &Found) -> Chart {
    let units = request.setup.units;
    let drawn = |contour: &sweep::Contour| Curve {
        name: Kind::Number.typed(round(contour.shown)),
        // A NaN between two lines separates them.
        points: contour
            .lines
            .iter()
            .flat_map(|line| line.iter().copied().chain([(f64::NAN, f64::NAN)]))
            .collect(),
        band: Vec::new(),
    };
    let named = |along: Along| labelled(units, &name(along), along.kind());
    let corner = |end: fn(Along) -> f64| {
        let at = |along: Along| units.number(along.kind(), end(along));
        (at(request.along), at(second))
    };
    Chart {
        title: format!(
            "{} versus {} and {}",
            capital(&labelled(
                units,
                request.output.help(),
                request.output.kind()
            )),
            name(request.along),
            name(second)
        ),
        x_label: named(request.along),
        y_label: named(second),
        x_log: request.along.input.is_none(),
        contours: found.contours.iter().map(drawn).collect(),
        frame: Some([corner(|along| along.from), corner(|along| along.to)]),
        ..Chart::default()
    }
}

/// A value rounded so that the error accumulated from step to step disappears.
fn round(value: f64) -> f64 {
    format!("{value:.6e}").parse().unwrap_or(value)
}

/// A name with its unit.
fn labelled(units: Units, name: &str, kind: Kind) -> String {
    match units.unit(kind) {
        "" => name.to_string(),
        unit => format!("{name}, {unit}"),
    }
}

/// The text with a capital first letter.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}
