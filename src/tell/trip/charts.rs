//! The pictures of a trip: temperatures, fan speed with what limits it, fan command, road speed.

use super::Named;
use crate::balance::Moment;
use crate::quantity::{Kind, Units};
use crate::tell::answer::{Chart, Curve, Stretch};

/// Label of the time axis.
const TIME: &str = "time, min";

/// All pictures.
pub(super) fn all(units: Units, here: &Named<'_>, there: Option<&Named<'_>>) -> [Chart; 4] {
    let both = |what: &str, of: &dyn Fn(&Moment) -> f64| {
        let sides = std::iter::once(here).chain(there);
        sides
            .map(|side| along(named(what, side), side, of))
            .collect()
    };
    let stretches = here.look.limits.iter().map(|l| Stretch {
        name: l.limited_by.key().into(),
        from: minutes(l.from),
        to: minutes(l.to),
    });
    [
        temperatures(units, here, there),
        Chart {
            title: "Fan speed along the trip, and what limits it".into(),
            x_label: TIME.into(),
            y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
            y_from_zero: true,
            curves: both("fan", &|m| units.number(Kind::Speed, m.fan_speed)),
            stretches: stretches.collect(),
            ..Chart::default()
        },
        Chart {
            title: "Fan command".into(),
            x_label: TIME.into(),
            y_label: "command, %".into(),
            y_from_zero: true,
            curves: both("command", &|m| 100.0 * m.command),
            ..Chart::default()
        },
        Chart {
            title: "Road speed".into(),
            x_label: TIME.into(),
            y_label: format!("road speed, {}", units.unit(Kind::RoadSpeed)),
            y_from_zero: true,
            curves: vec![along("road speed".into(), here, &|m| {
                units.number(Kind::RoadSpeed, m.now.road_speed)
            })],
            ..Chart::default()
        },
    ]
}

/// The coolant and oil temperatures of this trip and the baseline; without a baseline, also engine metal and core.
fn temperatures(units: Units, here: &Named<'_>, there: Option<&Named<'_>>) -> Chart {
    let temp = |t: f64| units.number(Kind::Temperature, t);
    let coolant = |m: &Moment| temp(m.stored.coolant);
    let oil = |m: &Moment| temp(m.stored.oil);
    let mut curves = vec![
        along(named("coolant", here), here, &coolant),
        along(named("oil", here), here, &oil),
    ];
    match there {
        Some(there) => curves.extend([
            along(named("coolant", there), there, &coolant),
            along(named("oil", there), there, &oil),
        ]),
        None => curves.extend([
            along("engine metal".into(), here, &|m| temp(m.stored.metal)),
            along("core".into(), here, &|m| temp(m.stored.core)),
        ]),
    }
    let limit = here.look.coolant_limit;
    let mut levels = vec![("coolant limit".to_string(), temp(limit))];
    // A level far above the curves would only flatten them.
    let mut sides = std::iter::once(here).chain(there);
    if sides.any(|side| side.look.peak_coolant_temp > limit) {
        levels.push(("may boil from here".into(), temp(here.look.boiling)));
    }
    Chart {
        title: "Temperatures along the trip".into(),
        x_label: TIME.into(),
        y_label: format!("temperature, {}", units.unit(Kind::Temperature)),
        curves,
        levels,
        ..Chart::default()
    }
}

fn minutes(seconds: f64) -> f64 {
    seconds / 60.0
}

/// The name of a curve; in the comparison the name of its trip is added.
fn named(what: &str, side: &Named<'_>) -> String {
    match side.name.as_str() {
        "" => what.to_string(),
        name => format!("{what}, {name}"),
    }
}

/// A quantity over the time of a trip.
fn along(name: String, side: &Named<'_>, of: &dyn Fn(&Moment) -> f64) -> Curve {
    let moments = side.look.course.moments.iter();
    Curve {
        name,
        points: moments.map(|m| (minutes(m.time), of(m))).collect(),
        band: Vec::new(),
    }
}
