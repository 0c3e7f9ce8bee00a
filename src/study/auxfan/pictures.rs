//! Tables and pictures.

use super::super::answer::{Bar, Bars, Chart, Curve, Mark, Table};
use super::super::words;
use super::sides::{Found, Main, Outcome, Side, Working, alternator, shown};
use super::told::{brief, day, named};
use super::{Question, STARTING, Set, mounted_as, wiring};
use crate::balance::{AirWay, COLDEST};
use crate::model::AuxiliaryFan;
use crate::quantity::Kind;

pub(super) fn comparison(question: &Question, found: &Found) -> Table {
    let units = question.posed.units;
    let target = units.show(Kind::Temperature, question.target);
    Table {
        title: "Side by side".into(),
        heads: vec![
            String::new(),
            "main fan".into(),
            "air".into(),
            "electric".into(),
            format!("coolant at {target}"),
            "hottest day".into(),
            "gained".into(),
        ],
        rows: found
            .sides
            .iter()
            .map(|s| {
                vec![
                    s.name.clone(),
                    units.show(Kind::Speed, s.warm.fan_speed),
                    units.show(Kind::AirFlow, s.warm.budget.draft.flow),
                    units.show(Kind::Current, s.current),
                    words::coolant(units, &s.warm),
                    day(units, s.hottest_day),
                    units.show(Kind::TemperatureDifference, found.gained(s.hottest_day)),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4, 5, 6],
    }
}

pub(super) fn bars(question: &Question, found: &Found) -> Bars {
    let units = question.posed.units;
    let target = units.show(Kind::Temperature, question.target);
    let bar = |s: &Side| Bar {
        name: s.name.clone(),
        value: units.number(Kind::Temperature, s.hottest_day),
        range: None,
        note: match s.hottest_day > COLDEST {
            true => format!("coolant at {target}: {}", words::coolant(units, &s.warm)),
            false => "or colder: heats without end".into(),
        },
    };
    let mut rows: Vec<Bar> = found.sides.iter().map(bar).collect();
    rows.push(Bar {
        name: "asked for".into(),
        value: units.number(Kind::Temperature, question.target),
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

pub(super) fn points_table(question: &Question, points: &[Working]) -> Table {
    let units = question.posed.units;
    Table {
        title: "Where the fans work, on the day of the limit".into(),
        heads: [
            "place",
            "air of each",
            "of its free flow",
            "static pressure",
            "air behind helps with",
            "current of each",
        ]
        .map(String::from)
        .to_vec(),
        rows: points
            .iter()
            .map(|p| {
                vec![
                    question
                        .spots
                        .get(p.spot)
                        .map_or(String::new(), |s| format!("{} ({})", s.key, s.ahead)),
                    units.show(Kind::AirFlow, p.flow),
                    units.show(Kind::Share, p.of_free),
                    units.show(Kind::AirPressure, p.pressure),
                    units.show(Kind::AirPressure, p.helped),
                    units.show(Kind::Current, p.current),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }
}

/// The fans' curves over what they must overcome, each place's own.
pub(super) fn curves(question: &Question, main: &Main, set: &Set) -> Option<Chart> {
    const STEPS: usize = 41;
    let units = question.posed.units;
    let warm = shown(&main.with(question, set, true))?;
    let way = AirWay::of(&warm.case)?;
    let draft = &warm.budget.draft;
    let (x, y) = (
        |q: f64| units.number(Kind::AirFlow, q),
        |p: f64| units.number(Kind::AirPressure, p),
    );
    let mut chart = Chart {
        title: "The fans' curves over what the core asks of them".into(),
        x_label: format!("air through the place, {}", units.unit(Kind::AirFlow)),
        y_label: format!("static pressure, {}", units.unit(Kind::AirPressure)),
        ..Chart::default()
    };
    for (spot, one) in question.spots.iter().zip(set) {
        let Some((one, fan)) = one
            .as_ref()
            .and_then(|o| Some((o, question.fans.get(o.fan)?)))
        else {
            continue;
        };
        let (Some(zone), Some(at)) = (way.zones.get(spot.slot), draft.speed.get(spot.slot)) else {
            continue;
        };
        let free = fan.free_flow * mounted_as(fan, spot.mount).0 * one.count as f64;
        let most = (1.1 * free).max(1.1 * zone.area * at) / zone.area;
        let line = |name: String, f: &dyn Fn(f64) -> f64, from: f64| Curve {
            name,
            points: (0..STEPS)
                .map(|k| most * k as f64 / (STEPS - 1) as f64)
                .map(|v| {
                    (
                        x(zone.area * v),
                        if f(v) >= from { y(f(v)) } else { f64::NAN },
                    )
                })
                .collect(),
            band: Vec::new(),
        };
        let top = 1.25 * zone.fan_pressure(0.0);
        let asks = |v: f64| {
            let p = zone.resistance(v) - draft.over_core;
            if p <= top { p } else { f64::NAN }
        };
        let mount = spot.mount.word();
        let name = format!("{} × {} as {mount}", one.count, fan.name);
        if !chart.curves.iter().any(|c| c.name == name) {
            let curve = line(name, &|v| zone.fan_pressure(v), 0.0);
            chart.curves.push(curve);
        }
        chart
            .curves
            .push(line(format!("asked at {}", spot.key), &asks, -0.3 * top));
        chart.marks.push(Mark {
            name: spot.key.clone(),
            x: x(zone.area * at),
            y: y(zone.fan_pressure(*at)),
            spread: 0.0,
        });
    }
    Some(chart)
}

pub(super) fn wires(question: &Question, set: &Set) -> Table {
    let units = question.posed.units;
    let voltage = alternator(&question.posed.case).voltage;
    let mut kinds: Vec<usize> = set.iter().flatten().map(|s| s.fan).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let row = |fan: &AuxiliaryFan| {
        let current = fan.greatest_current();
        let mut row = vec![
            fan.name.clone(),
            units.show(Kind::Current, current),
            units.show(Kind::Current, STARTING * current),
        ];
        row.extend(match wiring(current, voltage, question.wire) {
            Some(w) => [
                units.show(Kind::Current, w.fuse),
                format!("{} mm²", w.size),
                w.gauge.map_or("-".into(), |g| format!("AWG {g}")),
                units.show(Kind::Voltage, w.drop),
            ],
            None => ["-", "thicker than 35 mm²", "-", "-"].map(String::from),
        });
        row
    };
    Table {
        title: format!(
            "Wire and fuse of each fan, {} one way at {}",
            units.show(Kind::HoseLength, question.wire),
            units.show(Kind::Voltage, voltage)
        ),
        heads: [
            "fan",
            "running, at most",
            "starting",
            "fuse",
            "wire",
            "or gauge",
            "lost there and back",
        ]
        .map(String::from)
        .to_vec(),
        rows: kinds
            .iter()
            .filter_map(|k| question.fans.get(*k))
            .map(row)
            .collect(),
        numeric: vec![1, 2, 3, 4, 5, 6],
    }
}

/// Degrees gained over amperes, with what mending and oil gain beside it.
pub(super) fn gains(question: &Question, found: &Found, front: &[&Outcome]) -> Option<Chart> {
    if front.len() < 2 {
        return None;
    }
    let units = question.posed.units;
    let y = |t: f64| units.number(Kind::TemperatureDifference, found.gained(t));
    let levels = [
        ("mended", "mended, no fan"),
        ("right_oil", "right oil, no fan"),
    ]
    .into_iter()
    .filter_map(|(key, name)| Some((name.to_string(), y(found.side(key)?.hottest_day))))
    .chain([("asked for".to_string(), y(question.target))])
    .filter(|(_, v)| *v >= 0.0)
    .collect();
    Some(Chart {
        title: "Degrees gained over amperes: the best sets".into(),
        x_label: format!("current at most, {}", units.unit(Kind::Current)),
        y_label: format!(
            "gain of the hottest day, {}",
            units.unit(Kind::TemperatureDifference)
        ),
        y_from_zero: true,
        curves: vec![Curve {
            name: "best set for its current".into(),
            points: front
                .iter()
                .map(|o| (o.current, y(o.hottest_day)))
                .collect(),
            band: Vec::new(),
        }],
        marks: found
            .chosen
            .iter()
            .map(|o| Mark {
                name: "these fans".into(),
                x: o.current,
                y: y(o.hottest_day),
                spread: 0.0,
            })
            .collect(),
        levels,
        ..Chart::default()
    })
}

/// The best sets.
pub(super) fn front_table(question: &Question, found: &Found, front: &[&Outcome]) -> Table {
    let units = question.posed.units;
    Table {
        title: "The best sets, each the best for its current".into(),
        heads: ["set", "current", "mass", "hottest day", "gained"]
            .map(String::from)
            .to_vec(),
        rows: front
            .iter()
            .map(|o| {
                vec![
                    brief(question, &o.set),
                    units.show(Kind::Current, o.current),
                    units.show(Kind::Mass, o.mass),
                    day(units, o.hottest_day),
                    units.show(Kind::TemperatureDifference, found.gained(o.hottest_day)),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4],
    }
}

/// Every set that was tried.
pub(super) fn series(question: &Question, found: &Found) -> Table {
    Table {
        title: String::new(),
        heads: [
            "set",
            "fans",
            "current_a",
            "mass_kg",
            "limiting_ambient_c",
            "gained_k",
        ]
        .map(String::from)
        .to_vec(),
        rows: found
            .all
            .iter()
            .map(|o| {
                vec![
                    named(question, &o.set),
                    o.count.to_string(),
                    format!("{:.2}", o.current),
                    format!("{:.2}", o.mass),
                    if o.hottest_day > COLDEST {
                        format!("{:.2}", o.hottest_day - 273.15)
                    } else {
                        String::new()
                    },
                    format!("{:.2}", found.gained(o.hottest_day)),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }
}
