//! The tables and pictures of the electric fans.

use super::super::answer::{Bar, Bars, Chart, Curve, Mark, Table};
use super::super::words;
use super::{base, brief};
use crate::balance::COLDEST;
use crate::quantity::{Kind, Units};
use crate::question::auxfan::{Auxfan, Fitted, Found, Remedy, Set, Side, Wire, Working, square};
use std::cmp::Ordering;

/// A table that compares all remedies.
pub(super) fn comparison(request: &Auxfan, found: &Found) -> Table {
    let units = request.setup.units;
    let target = units.show(Kind::Temperature, found.target);
    Table {
        title: "Side by side".into(),
        heads: vec![
            String::new(),
            "main fan".into(),
            "air".into(),
            "fan current".into(),
            format!("coolant at {target}"),
            "hottest day".into(),
            "gain".into(),
        ],
        rows: found
            .sides
            .iter()
            .map(|s| {
                vec![
                    s.name.into(),
                    units.show(Kind::Speed, s.fan_speed),
                    words::airflow(units, s.airflow),
                    units.show(Kind::Current, s.current),
                    words::coolant(units, &s.warm),
                    words::day(units, s.hottest_day),
                    gained(units, found, s),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4, 5, 6],
    }
}

/// The gain in limiting ambient temperature from a remedy, with the limits of its band.
fn gained(units: Units, found: &Found, side: &Side) -> String {
    let kind = Kind::TemperatureDifference;
    match side.gained_band.0 {
        _ if words::day_bar(side.hottest_day) < side.hottest_day => {
            words::gain(units, base(found), side.hottest_day)
        }
        Some((low, high)) => units.show_band(kind, side.gained, low, high),
        None => units.show(kind, side.gained),
    }
}

/// A bar chart of the limiting ambient temperatures.
pub(super) fn bars(request: &Auxfan, found: &Found) -> Bars {
    let units = request.setup.units;
    let target = units.show(Kind::Temperature, found.target);
    let bar = |s: &Side| Bar {
        name: s.name.into(),
        value: units.number(Kind::Temperature, words::day_bar(s.hottest_day)),
        range: None,
        note: match s.hottest_day > COLDEST {
            true if words::day_bar(s.hottest_day) < s.hottest_day => {
                words::day(units, s.hottest_day)
            }
            true => format!("coolant at {target}: {}", words::coolant(units, &s.warm)),
            false => "or colder: heats up without limit".into(),
        },
    };
    let mut rows: Vec<Bar> = found.sides.iter().map(bar).collect();
    rows.push(Bar {
        name: "required".into(),
        value: units.number(Kind::Temperature, found.target),
        ..Bar::default()
    });
    Bars {
        title: "Hottest day on which the coolant stays at its limit, before and after".into(),
        label: format!(
            "limiting ambient temperature, {}",
            units.unit(Kind::Temperature)
        ),
        rows,
    }
}

/// A table of the operating points of the fans.
pub(super) fn points(request: &Auxfan, found: &Found) -> Table {
    let units = request.setup.units;
    let row = |p: &Working| {
        let spot = request.spots.get(p.spot);
        vec![
            spot.map_or(String::new(), |s| format!("{} ({})", s.key, s.ahead)),
            units.show(Kind::AirFlow, p.flow),
            units.show(Kind::Share, p.of_free),
            units.show(Kind::AirPressure, p.pressure),
            units.show(Kind::AirPressure, p.helped),
            units.show(Kind::Current, p.current),
        ]
    };
    Table {
        title: "Operating points of the fans, at the limiting ambient temperature".into(),
        heads: [
            "place",
            "flow per fan",
            "fraction of free flow",
            "static pressure",
            "pressure help from downstream",
            "current per fan",
        ]
        .map(String::from)
        .to_vec(),
        rows: found.points.iter().map(row).collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }
}

/// The fan curves, with the core's system curve at each position.
pub(super) fn curves(request: &Auxfan, found: &Found, set: &Set) -> Option<Chart> {
    if found.curves.is_empty() {
        return None;
    }
    let units = request.setup.units;
    let point = |&(q, p): &(f64, f64)| {
        let p = units.number(Kind::AirPressure, p);
        (units.number(Kind::AirFlow, q), p)
    };
    let curve = |name: String, points: &[(f64, f64)]| Curve {
        name,
        points: points.iter().map(point).collect(),
        band: Vec::new(),
    };
    let mut chart = Chart {
        title: "Fan curves, and the system curve of the core".into(),
        x_label: format!("airflow through this place, {}", units.unit(Kind::AirFlow)),
        y_label: format!("static pressure, {}", units.unit(Kind::AirPressure)),
        ..Chart::default()
    };
    for one in &found.curves {
        let spot = request.spots.get(one.spot)?;
        let fitted = set.get(one.spot).copied().flatten()?;
        let fan = request.fans.get(fitted.fan)?;
        let mount = spot.mount.word();
        let name = format!("{} × {} as {mount}", fitted.count, fan.name);
        if !chart.curves.iter().any(|c| c.name == name) {
            chart.curves.push(curve(name, &one.fans));
        }
        let asked = curve(format!("system curve at {}", spot.key), &one.asked);
        chart.curves.push(asked);
        let (x, y) = point(&one.at);
        chart.marks.push(Mark {
            name: spot.key.clone(),
            x,
            y,
            spread: 0.0,
        });
    }
    Some(chart)
}

/// Width of a chart's plot relative to the height that its vertical axis spans, so that both axes have one scale.
const ASPECT: f64 = 1.57;

/// The fans of a set on the face of the core, about to scale: squares with their rims, one arrangement that fits. `None` if
/// rows of squares do not fit.
pub(super) fn face(request: &Auxfan, set: &Set) -> Option<Chart> {
    let units = request.setup.units;
    let [width, height] = request.setup.case.core.as_ref()?.sides();
    let shown = |m: f64| units.number(Kind::Length, m);
    let outline = |[x, y]: [f64; 2], [across, up]: [f64; 2]| {
        let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)];
        corners.map(|(i, k)| (shown(x + i * across), shown(y + k * up)))
    };
    let curve = |name: String, points: Vec<(f64, f64)>| Curve {
        name,
        points,
        band: Vec::new(),
    };
    let mut placed: Vec<_> = set.iter().zip(&request.spots).collect();
    let side = |one: &Option<Fitted>| one.and_then(|o| request.fans.get(o.fan)).map(square);
    placed.sort_by(|a, b| side(b.0).partial_cmp(&side(a.0)).unwrap_or(Ordering::Equal));
    let mut curves = vec![curve(
        "core".into(),
        outline([0.0; 2], [width, height]).to_vec(),
    )];
    let (mut x, mut y, mut row) = (0.0, 0.0, 0.0_f64);
    for (one, spot) in placed {
        let Some((one, side)) = one.as_ref().zip(side(one)) else {
            continue;
        };
        let mut points = Vec::new();
        for _ in 0..one.count {
            if x + side > width + 1e-9 {
                (x, y, row) = (0.0, y + row, 0.0);
            }
            if x + side > width + 1e-9 || y + side > height + 1e-9 {
                return None;
            }
            points.extend(outline([x, y], [side; 2]));
            points.push((f64::NAN, f64::NAN));
            (x, row) = (x + side, row.max(side));
        }
        let name = &request.fans.get(one.fan)?.name;
        curves.push(curve(format!("{name} at {}", spot.key), points));
    }
    let high = height.max(width / ASPECT);
    let length = units.unit(Kind::Length);
    (curves.len() > 1).then(|| Chart {
        title: "The fans on the face of the core: one arrangement that fits".into(),
        x_label: format!("width, {length}"),
        y_label: format!("height, {length}"),
        y_from_zero: true,
        curves,
        frame: Some([(0.0, 0.0), (shown(ASPECT * high), shown(high))]),
        ..Chart::default()
    })
}

/// A table of the wire and the fuse for each fan.
pub(super) fn wires(request: &Auxfan, found: &Found) -> Table {
    let units = request.setup.units;
    let row = |wire: &Wire| {
        let fan = request.fans.get(wire.fan)?;
        let mut row = vec![
            fan.name.clone(),
            units.show(Kind::Current, wire.current),
            units.show(Kind::Current, wire.starting),
        ];
        row.extend(match wire.wiring {
            Some(w) => [
                units.show(Kind::Current, w.fuse),
                format!("{} mm²", w.size),
                w.gauge.map_or("-".into(), |g| format!("AWG {g}")),
                units.show(Kind::Voltage, w.drop),
            ],
            None => ["-", "thicker than 35 mm²", "-", "-"].map(String::from),
        });
        Some(row)
    };
    Table {
        title: format!(
            "Wire and fuse of each fan, for a wire of {} one way at {}",
            units.show(Kind::HoseLength, request.wire),
            units.show(Kind::Voltage, found.alternator.voltage)
        ),
        heads: [
            "fan",
            "maximum running current",
            "starting current",
            "fuse",
            "wire",
            "or gauge",
            "voltage drop, both ways",
        ]
        .map(String::from)
        .to_vec(),
        rows: found.wires.iter().filter_map(row).collect(),
        numeric: vec![1, 2, 3, 4, 5, 6],
    }
}

/// Gain in limiting ambient temperature versus current, with the gains from repair and oil for comparison.
pub(super) fn gains(request: &Auxfan, found: &Found) -> Option<Chart> {
    let front = &found.front;
    if front.len() < 2 {
        return None;
    }
    let units = request.setup.units;
    let y = |k: f64| units.number(Kind::TemperatureDifference, k);
    let levels = [
        (Remedy::Mended, "repaired, no fan"),
        (Remedy::RightOil, "right oil, no fan"),
    ]
    .into_iter()
    .filter_map(|(remedy, name)| Some((name.to_string(), y(found.side(remedy)?.gained))))
    .chain([("required".to_string(), y(found.target - base(found)))])
    .filter(|(_, v)| *v >= 0.0)
    .collect();
    Some(Chart {
        title: "Temperature gain of the best sets of fans versus current".into(),
        x_label: format!("maximum current, {}", units.unit(Kind::Current)),
        y_label: format!(
            "gain in limiting ambient temperature, {}",
            units.unit(Kind::TemperatureDifference)
        ),
        y_from_zero: true,
        curves: vec![Curve {
            name: "best set of fans for its current".into(),
            points: front.iter().map(|o| (o.current, y(o.gained))).collect(),
            band: Vec::new(),
        }],
        marks: found
            .chosen
            .iter()
            .map(|o| Mark {
                name: "these fans".into(),
                x: o.current,
                y: y(o.gained),
                spread: 0.0,
            })
            .collect(),
        levels,
        ..Chart::default()
    })
}

/// A table of the best set of fans for each current, below what a repair and the right oil gain without any.
pub(super) fn front(request: &Auxfan, found: &Found) -> Table {
    let units = request.setup.units;
    let gain = |day: f64| words::gain(units, base(found), day);
    let without = [Remedy::Mended, Remedy::RightOil];
    let without = without.into_iter().filter_map(|r| found.side(r)).map(|s| {
        let name = format!("no fan, {}", s.name);
        let none = || "-".to_string();
        let day = words::day(units, s.hottest_day);
        vec![name, none(), none(), day, gain(s.hottest_day), none()]
    });
    let fans = found.front.iter().map(|o| {
        let each = o.gained / o.current;
        vec![
            brief(request, o),
            units.show(Kind::Current, o.current),
            units.show(Kind::Mass, o.mass),
            words::day(units, o.hottest_day),
            gain(o.hottest_day),
            match each.is_finite() {
                true => words::kelvin(units, each),
                false => "-".into(),
            },
        ]
    });
    Table {
        title: "What each current buys: the best set of fans for it".into(),
        heads: [
            "set",
            "current",
            "mass",
            "hottest day",
            "gain",
            "gain per ampere",
        ]
        .map(String::from)
        .to_vec(),
        rows: without.chain(fans).collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }
}
