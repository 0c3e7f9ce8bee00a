//! `sweep` in words and pictures.

use super::answer::{Block, Chart, Curve, Stretch};
use super::{Told, caution};
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::sweep::{self, Along, Found, Sweep};

/// Tells it.
pub fn tell(request: &Sweep, found: &Found) -> Told {
    let posed = &request.posed;
    let (units, along) = (posed.units, request.along);
    let mut told = Told::about(posed);
    let name = name(along);
    told.assumptions.retain(|(label, _)| {
        let other_oils = label == "oil" && !request.oils.is_empty();
        !other_oils && *label != name
    });
    if let Some(input) = along.input {
        told.case.remove(&input.key());
    }
    told.headline(headline(units, &name, found));
    for curve in &found.curves {
        told.say(limits(units, along.kind(), curve));
    }
    told.show(Block::Chart(versus(units, along, &name, &found.curves)));
    told.show(Block::Safety(caution::safety()));
    told.cautions.clone_from(&posed.cautions);
    told.series = Series::of(&found.series);
    told
}

/// What the sweep goes along, as it is called where it is assumed.
fn name(along: Along) -> String {
    let Some(input) = along.input else {
        return "viscosity at this temperature".into();
    };
    match (input.part(), input.field().key) {
        ("now", "engine_speed") => "engine speed".into(),
        ("now", "oil_temp") => "oil temperature".into(),
        ("now", "command") => "command".into(),
        ("now", "air_temp") => "air at the fan".into(),
        ("now", "altitude") => "altitude".into(),
        _ => input.key(),
    }
}

/// From the slowest fan to the fastest.
fn headline(units: Units, name: &str, found: &Found) -> String {
    let speeds = found.series.iter().map(|row| row.fan_speed);
    let (low, high) = speeds.fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
    let show = |omega| units.show(Kind::Speed, omega);
    format!(
        "Over this range of {name} the fan makes {} to {}.",
        show(low),
        show(high)
    )
}

/// What limits the speed on one oil.
fn limits(units: Units, kind: Kind, curve: &sweep::Curve) -> String {
    let show = |v| units.show(kind, v);
    let parts: Vec<String> = curve
        .stretches
        .iter()
        .map(|(limit, from, to)| format!("{} from {} to {}", limit.key(), show(*from), show(*to)))
        .collect();
    format!("{}: limited by {}.", curve.oil, parts.join(", "))
}

/// Fan speed versus what the sweep goes along; the limits are shaded where there is one oil.
fn versus(units: Units, along: Along, name: &str, curves: &[sweep::Curve]) -> Chart {
    let kind = along.kind();
    let x = |v: f64| units.number(kind, v);
    let drawn = |curve: &sweep::Curve| Curve {
        name: curve.oil.clone(),
        points: curve
            .points
            .iter()
            .map(|p| (x(p.at.value), units.number(Kind::Speed, p.fan_speed)))
            .collect(),
        band: Vec::new(),
    };
    let unit = units.unit(kind);
    let comma = if unit.is_empty() { "" } else { ", " };
    Chart {
        title: format!("Fan speed versus {name}"),
        x_label: format!("{name}{comma}{unit}"),
        y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
        x_log: along.input.is_none(),
        y_from_zero: true,
        curves: curves.iter().map(drawn).collect(),
        stretches: match curves {
            [one] => Stretch::all(&one.stretches, x),
            _ => Vec::new(),
        },
        ..Chart::default()
    }
}
