//! Presents the points of a fan in words, tables and pictures.

use super::super::Presentation;
use super::super::answer::{Block, Chart, Curve, Mark, Table};
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::points::{FanMisfit, FanTable, Found};

/// If the smallest measured flow is more than this fraction of the rated flow, the values at zero flow are
/// extrapolated.
const NEAR_ZERO: f64 = 0.3;

/// Speeds whose ratio is smaller than this count as equal.
const SAME: f64 = 1.05;

/// Adds the points and their pictures.
pub(super) fn show(told: &mut Presentation, units: Units, table: &FanTable, found: &Found) {
    let (speed, density) = (table.rating.speed, table.rating.density);
    let rating = format!(
        "{} at {} and {}: the flow of highest efficiency, at the highest speed",
        units.show(Kind::AirFlow, table.rating.flow),
        units.show(Kind::Speed, speed),
        units.show(Kind::Density, density)
    );
    told.assumptions.push(("rating point".into(), rating));
    told.show(Block::Table(misfits(units, found)));
    for side in &SIDES {
        let chart = picture(units, table, found, side);
        told.blocks.extend(chart.map(Block::Chart));
    }
    told.series = Series::of(&found.fan_points);
}

/// Says what the points of a fan do not determine.
pub(super) fn untold(found: &Found) -> Vec<String> {
    let Some([least, _]) = found.reach else {
        return Vec::new();
    };
    let mut said = Vec::new();
    if found.spans.iter().any(|s| s.1 < SAME) {
        said.push("All points are at one speed: other speeds are computed by the fan laws, which these points do not test.".into());
    }
    if least > NEAR_ZERO {
        said.push(format!(
            "The points begin at {:.0} % of the rated flow: the values at zero flow are extrapolated.",
            100.0 * least
        ));
    }
    for (scatter, what) in [
        (found.pressure_scatter, "static pressure"),
        (found.power_scatter, "shaft power"),
    ] {
        if scatter.is_none() {
            said.push(format!("The points say nothing about {what}."));
        }
    }
    if found.straight {
        said.push("In these points the pressure does not fall ever more steeply with flow, as the model requires, so the curvature is set to the minimum allowed. Where the fan stalls the curve dips: leave out the points there.".into());
    } else {
        said.push("The curve is a parabola: where the fan stalls, it is off by 5 to 10 %.".into());
    }
    said
}

/// The fan's diameter as a line of a machine file.
pub(super) fn diameter(table: &FanTable) -> String {
    match table.diameter {
        Some(d) => format!("diameter = \"{}\"\n", Kind::Length.typed(d)),
        None => "# diameter = \"…\": the fan's own, over the blade tips\n".into(),
    }
}

/// The measured minus the computed value, with a mark if it is outside the prediction interval.
fn off(units: Units, kind: Kind, (measured, computed, half): Compared) -> String {
    let text = measured.zip(computed).map(|(m, c)| {
        let outside = half.is_some_and(|h| (m - c).abs() > h);
        let mark = if outside { " !" } else { "" };
        format!("{}{mark}", units.show(kind, m - c))
    });
    text.unwrap_or_default()
}

fn misfits(units: Units, found: &Found) -> Table {
    let value = |kind, v: Option<f64>| v.map_or_else(String::new, |v| units.show(kind, v));
    let row = |m: &FanMisfit| {
        let mut row = vec![
            m.line.to_string(),
            units.show(Kind::AirFlow, m.flow),
            units.show(Kind::Speed, m.speed),
        ];
        for side in &SIDES {
            let compared = (side.of)(m);
            row.push(value(side.kind, compared.0));
            row.push(off(units, side.kind, compared));
        }
        row
    };
    let heads = [
        "Line",
        "Flow",
        "Speed",
        "Pressure",
        "deviation",
        "Shaft power",
        "deviation",
    ];
    Table {
        title: "Point by point; ! marks a value outside the 95 % interval".into(),
        heads: heads.map(String::from).to_vec(),
        rows: found.fan_points.iter().map(row).collect(),
        numeric: (0..7).collect(),
    }
}

/// Measured value, computed value, and half-width of the prediction interval.
type Compared = (Option<f64>, Option<f64>, Option<f64>);

/// Static pressure or shaft power: name, kind of quantity, values to compare, and the exponent of speed in the fan
/// laws.
struct Side {
    name: &'static str,
    kind: Kind,
    of: fn(&FanMisfit) -> Compared,
    power: i32,
}

const SIDES: [Side; 2] = [
    Side {
        name: "Static pressure",
        kind: Kind::AirPressure,
        of: |m| (m.pressure, m.pressure_computed, m.pressure_half),
        power: 2,
    },
    Side {
        name: "Shaft power",
        kind: Kind::Power,
        of: |m| (m.power, m.power_computed, m.power_half),
        power: 3,
    },
];

/// Points and fitted curve versus flow, all converted to rated speed and density.
fn picture(units: Units, table: &FanTable, found: &Found, side: &Side) -> Option<Chart> {
    let rating = &table.rating;
    let times =
        |m: &FanMisfit| (rating.speed / m.speed).powi(side.power) * rating.density / m.density;
    let x = |m: &FanMisfit| units.number(Kind::AirFlow, m.flow * rating.speed / m.speed);
    let y = |m: &FanMisfit, si: f64| units.number(side.kind, si * times(m));
    let mark = |m: &FanMisfit| {
        Some(Mark {
            name: String::new(),
            x: x(m),
            y: y(m, (side.of)(m).0?),
            spread: 0.0,
        })
    };
    let marks: Vec<Mark> = found.fan_points.iter().filter_map(mark).collect();
    if marks.is_empty() {
        return None;
    }
    let mut sorted: Vec<&FanMisfit> = found.fan_points.iter().collect();
    sorted.sort_by(|a, b| x(a).total_cmp(&x(b)));
    let point = |m: &&FanMisfit| Some((x(m), y(m, (side.of)(m).1?)));
    let band = |m: &&FanMisfit| {
        let (_, value, half) = (side.of)(m);
        let (value, half) = (value?, half?);
        Some((x(m), y(m, value - half), y(m, value + half)))
    };
    Some(Chart {
        title: format!("{} at {}", side.name, units.show(Kind::Speed, rating.speed)),
        x_label: format!("flow, {}", units.unit(Kind::AirFlow)),
        y_label: format!("{}, {}", side.name.to_lowercase(), units.unit(side.kind)),
        y_from_zero: true,
        curves: vec![Curve {
            name: "fitted, 95 % for a point".into(),
            points: sorted.iter().filter_map(point).collect(),
            band: sorted.iter().filter_map(band).collect(),
        }],
        marks,
        ..Chart::default()
    })
}
