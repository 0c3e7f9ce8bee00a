//! Presents `points` in words and tables, and as sections of a machine file.

mod fan;

use super::Presentation;
use super::answer::{Block, Chart, Curve, Mark, Table};
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::points::{Coefficient, Found, Misfit, OUT, Points, Table as Of};

/// Correlations of at least this size are reported.
const TOGETHER: f64 = 0.9;
/// The effects of a quantity can be separated only if its values differ by at least this factor.
const SPANNED: f64 = 1.5;

/// Presents the outcome of the question.
pub fn tell(request: &Points, found: &Found) -> Presentation {
    let units = request.units;
    let mut told = Presentation::default();
    let what = what(request);
    told.assumptions
        .push(("points".into(), request.source.clone()));
    told.headline(headline(units, what, found));
    told.say(scatter(units, found));
    untold(found).into_iter().for_each(|text| told.say(text));
    told.show(Block::Table(coefficients(units, found)));
    match &request.table {
        Of::Machine(_) => {
            let oil = request.oil.name.clone();
            told.assumptions.push(("oil".into(), oil));
            told.show(Block::Table(misfits(units, found)));
            let charts = SIDES.iter().filter_map(|side| picture(units, found, side));
            told.blocks.extend(charts.map(Block::Chart));
            told.series = Series::of(&found.points);
        }
        Of::Fan(table) => fan::show(&mut told, units, table, found),
    }
    let sections = sections(found);
    let sections: Vec<String> = sections.iter().map(|s| format!("[{s}]")).collect();
    let sections = sections.join(" and ");
    told.say(match &request.out {
        Some(path) => {
            format!("{path} contains the lines for {sections}: copy them into these sections of a machine file.")
        }
        None => format!("{} writes the lines for {sections} of a machine file.", OUT.mention()),
    });
    told.made = Some(section(request, found));
    told
}

/// The part whose points are given.
fn what(request: &Points) -> &'static str {
    match &request.table {
        Of::Machine(table) if table.pump => "pump",
        Of::Machine(_) => "motor",
        Of::Fan(_) => "fan",
    }
}

/// The names of the machine file's sections, each once.
fn sections(found: &Found) -> Vec<&'static str> {
    let mut all: Vec<&str> = found.coefficients.iter().map(|c| c.section).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// A coefficient with its ±, as text.
fn shown(units: Units, one: &Coefficient) -> String {
    match one.si.1 {
        Some(half) => units.show_spread(one.kind, one.si.0, half),
        None => units.show(one.kind, one.si.0),
    }
}

fn headline(units: Units, what: &str, found: &Found) -> String {
    let parts: Vec<String> = found
        .coefficients
        .iter()
        .filter(|c| c.half.is_some())
        .map(|c| format!("{} {}", c.key.replace('_', " "), shown(units, c)))
        .collect();
    format!("The {what}: {}.", parts.join(", "))
}

/// Says how much the points scatter.
fn scatter(units: Units, found: &Found) -> String {
    let one = |name: &str, kind: Kind, scatter: Option<f64>, spare: usize| {
        scatter.map(|s| {
            format!(
                "{name} {} ({spare} degrees of freedom)",
                units.show(kind, s)
            )
        })
    };
    let both = [
        one("flow", Kind::Flow, found.flow_scatter, found.flow_spare),
        one(
            "torque",
            Kind::Torque,
            found.torque_scatter,
            found.torque_spare,
        ),
        one(
            "static pressure",
            Kind::AirPressure,
            found.pressure_scatter,
            found.pressure_spare,
        ),
        one(
            "shaft power",
            Kind::Power,
            found.power_scatter,
            found.power_spare,
        ),
    ];
    let parts: Vec<String> = both.into_iter().flatten().collect();
    format!(
        "The points scatter around the fit with a standard deviation of {}.",
        parts.join(" and ")
    )
}

/// Says what the points do not determine.
fn untold(found: &Found) -> Vec<String> {
    let mut said = Vec::new();
    let fan = found.reach.is_some();
    for (name, span) in found.spans.iter().filter(|s| s.1 < SPANNED && !fan) {
        said.push(format!("In the points, {name} varies only by a factor of {span:.2}: the effects that depend on {name} can hardly be told apart."));
    }
    for one in &found.coefficients {
        let key = one.key.replace('_', " ");
        if one.at_none {
            said.push(format!(
                "The fit would make {key} negative, so it is held at zero."
            ));
        } else if one.half.is_none() && !fan {
            said.push(format!(
                "The points do not determine {key}: it keeps its given or default value."
            ));
        } else if !one.told && one.half.is_some() {
            said.push(format!("{key} is not significantly different from zero."));
        }
    }
    said.extend(fan::untold(found));
    for pair in found
        .correlations
        .iter()
        .filter(|p| p.correlation.abs() >= TOGETHER)
    {
        let [one, other] = [pair.one, pair.other].map(|k| k.replace('_', " "));
        said.push(format!(
            "{one} and {other} are strongly correlated ({:.2}): use both from here, or neither.",
            pair.correlation
        ));
    }
    said
}

fn coefficients(units: Units, found: &Found) -> Table {
    let row = |c: &Coefficient| {
        vec![
            c.key.clone(),
            units.show(c.kind, c.si.0),
            c.si.1.map_or_else(String::new, |h| units.show(c.kind, h)),
        ]
    };
    Table {
        title: "Coefficients".into(),
        heads: ["Coefficient", "Value", "± (95 %)"]
            .map(String::from)
            .to_vec(),
        rows: found.coefficients.iter().map(row).collect(),
        numeric: vec![1, 2],
    }
}

fn misfits(units: Units, found: &Found) -> Table {
    let off = |kind, measured: Option<f64>, computed: Option<f64>, half: Option<f64>| {
        let text = measured.zip(computed).map(|(m, c)| {
            let mark = if half.is_some_and(|h| (m - c).abs() > h) {
                " !"
            } else {
                ""
            };
            format!("{}{mark}", units.show(kind, m - c))
        });
        text.unwrap_or_default()
    };
    let value = |kind, v: Option<f64>| v.map_or_else(String::new, |v| units.show(kind, v));
    let row = |m: &Misfit| {
        vec![
            m.line.to_string(),
            units.show(Kind::Pressure, m.pressure),
            units.show(Kind::Speed, m.speed),
            units.show(Kind::KinematicViscosity, m.viscosity),
            value(Kind::Flow, m.flow),
            off(Kind::Flow, m.flow, m.flow_computed, m.flow_half),
            value(Kind::Torque, m.torque),
            off(Kind::Torque, m.torque, m.torque_computed, m.torque_half),
        ]
    };
    let heads = [
        "Line",
        "Pressure",
        "Speed",
        "Viscosity",
        "Flow",
        "deviation",
        "Torque",
        "deviation",
    ];
    Table {
        title: "Point by point; ! marks a value outside the 95 % interval".into(),
        heads: heads.map(String::from).to_vec(),
        rows: found.points.iter().map(row).collect(),
        numeric: (0..8).collect(),
    }
}

/// Flow or torque: its name, its kind of quantity, and a function that reads measured and computed value.
struct Side {
    name: &'static str,
    kind: Kind,
    of: fn(&Misfit) -> (Option<f64>, Option<f64>),
}

const SIDES: [Side; 2] = [
    Side {
        name: "flow",
        kind: Kind::Flow,
        of: |m| (m.flow, m.flow_computed),
    },
    Side {
        name: "torque",
        kind: Kind::Torque,
        of: |m| (m.torque, m.torque_computed),
    },
];

/// Deviations of measured from computed values, versus pressure.
fn picture(units: Units, found: &Found, side: &Side) -> Option<Chart> {
    let point = |m: &Misfit| {
        let (measured, computed) = (side.of)(m);
        let off = units.number(side.kind, measured? - computed?);
        Some((units.number(Kind::Pressure, m.pressure), off))
    };
    let points: Vec<(f64, f64)> = found.points.iter().filter_map(point).collect();
    if points.is_empty() {
        return None;
    }
    let mark = |(x, y): &(f64, f64)| Mark {
        name: String::new(),
        x: *x,
        y: *y,
        spread: 0.0,
    };
    Some(Chart {
        title: format!("Deviation of the points in {}", side.name),
        x_label: format!("pressure difference, {}", units.unit(Kind::Pressure)),
        y_label: format!("measured minus computed, {}", units.unit(side.kind)),
        curves: Vec::<Curve>::new(),
        marks: points.iter().map(mark).collect(),
        ..Chart::default()
    })
}

/// The text of the machine file's sections.
fn section(request: &Points, found: &Found) -> String {
    let mut text = format!(
        "# From the points of {}, by least squares; ± is 95 %.\n",
        request.source.replace('\n', " ")
    );
    for pair in found
        .correlations
        .iter()
        .filter(|p| p.correlation.abs() >= TOGETHER)
    {
        text.push_str(&format!(
            "# Correlation of {} and {}: {:.2}.\n",
            pair.one, pair.other, pair.correlation
        ));
    }
    for section in sections(found) {
        text.push_str(&format!("[{section}]\n"));
        if let (Of::Fan(table), "fan") = (&request.table, section) {
            text.push_str(&fan::diameter(table));
        }
        for one in found.coefficients.iter().filter(|c| c.section == section) {
            text.push_str(&line(one));
        }
    }
    text
}

/// A coefficient as a line of a machine file.
fn line(one: &Coefficient) -> String {
    let half = one.si.1.filter(|_| one.si.0 != 0.0);
    let percent = half.map(|h| 100.0 * h / one.si.0.abs());
    let spread = match percent {
        Some(percent) if one.kind != Kind::Share => format!(" ± {percent:.2} %"),
        _ => String::new(),
    };
    format!("{} = \"{}{spread}\"\n", one.key, one.kind.typed(one.si.0))
}
