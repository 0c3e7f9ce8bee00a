//! Tables and pictures.

use super::super::answer::{Bar, Bars, Chart, Curve, Mark, Table};
use super::super::words;
use super::Question;
use super::looks::{Found, Look, limiting, on_the_road};
use crate::balance::{Asked, BARE, Warm, at_limit, warm_from};
use crate::model::{Case, INPUTS, Posed};
use crate::quantity::Kind;
use crate::trouble::Trouble;
use rayon::prelude::*;

/// Steps along the ambient temperature in the picture.
const STEPS: usize = 31;

/// Points of the map along each axis.
pub const MAP: usize = 40;

/// Each look in a row.
pub(super) fn side_by_side(posed: &Posed, looks: &[Look]) -> Table {
    let units = posed.units;
    let temp = |t: f64| units.show(Kind::Temperature, t);
    Table {
        title: "Side by side".into(),
        heads: ["", "fan", "air", "coolant", "oil", "hottest day"]
            .map(String::from)
            .to_vec(),
        rows: looks
            .iter()
            .map(|l| {
                let b = &l.warm.budget;
                let settled = l.steady();
                vec![
                    l.name.clone(),
                    units.show(Kind::Speed, l.warm.fan_speed),
                    units.show(Kind::AirFlow, b.draft.flow),
                    words::coolant(units, &l.warm),
                    if settled {
                        temp(b.oil_temp)
                    } else {
                        "-".into()
                    },
                    l.limiting().map_or("-".into(), temp),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }
}

/// The air: what the fan moves against what, and how fast it passes each part of the core's face.
pub(super) fn air(posed: &Posed, warm: &Warm) -> Table {
    let units = posed.units;
    let draft = &warm.budget.draft;
    let speed = |k: usize| units.show(Kind::AirSpeed, draft.speed[k]);
    let mut rows = vec![
        vec![
            "airflow at the fan".into(),
            units.show(Kind::AirFlow, draft.flow),
        ],
        vec![
            "static pressure of the fan".into(),
            units.show(Kind::AirPressure, draft.pressure),
        ],
    ];
    let fronts = [&warm.case.front_1, &warm.case.front_2, &warm.case.front_3];
    let mut open = 1.0;
    for (k, front) in fronts.into_iter().enumerate() {
        let Some(front) = front else { continue };
        open -= front.share;
        rows.push(vec![
            format!(
                "face velocity behind {}, {} of the face",
                front.words(),
                units.show(Kind::Share, front.share)
            ),
            speed(k),
        ]);
    }
    if open > 1e-6 {
        let share = units.show(Kind::Share, open);
        rows.push(vec![
            format!("face velocity where nothing stands ahead, {share} of the face"),
            speed(BARE),
        ]);
    }
    Table {
        title: "The air".into(),
        heads: vec!["what".into(), "value".into()],
        rows,
        numeric: vec![1],
    }
}

/// Heat into the coolant and out of it, and the same of the oil; what comes in is positive.
pub(super) fn budgets(posed: &Posed, warm: &Warm) -> [Bars; 2] {
    let units = posed.units;
    let b = &warm.budget;
    let bars = |title: &str, rows: &[(&str, f64)]| Bars {
        title: title.into(),
        label: format!("heat, {}", units.unit(Kind::Power)),
        rows: rows
            .iter()
            .map(|(name, w)| Bar {
                name: (*name).into(),
                value: units.number(Kind::Power, *w),
                range: None,
                note: String::new(),
            })
            .collect(),
    };
    [
        bars(
            "Heat in and out of the coolant, and into the air ahead of the core",
            &[
                ("engine into coolant", b.engine_heat),
                ("core to air", -b.radiator_heat),
                ("other coolers ahead", b.ahead_heat),
            ],
        ),
        bars(
            "Heat in and out of the oil",
            &[
                ("drive's losses", b.oil_heat),
                ("oil cooler to air", -b.oil_cooler_heat),
                ("surfaces to air", -b.oil_surface_heat),
            ],
        ),
    ]
}

/// Coolant temperature, K, on each of some days, colder ones first; no number where it does not settle. Each day is sought
/// from the one before.
fn coolant_on(days: &[f64], case: &Case, asked: Asked, near: &Warm) -> Vec<f64> {
    const TOO_HOT: f64 = 150.0 + 273.15;
    let mut last = near.heats.is_none().then_some(*near);
    let mut on = |day: &f64| {
        let mut case = *case;
        case.now.ambient = *day;
        let found = warm_from(&case, asked, last.as_ref()).ok()?;
        if found.heats.is_some() {
            return None;
        }
        last = Some(found);
        let temp = found.budget.coolant_temp;
        (temp < TOO_HOT).then_some(temp)
    };
    days.iter().map(|day| on(day).unwrap_or(f64::NAN)).collect()
}

/// Coolant temperature over the day's, as asked and with the core half blocked.
pub(super) fn over_ambient(posed: &Posed, found: &Found) -> (Chart, Table) {
    let (case, asked, here) = (&found.case, found.asked, found.here());
    let units = posed.units;
    let y = |t: f64| units.number(Kind::Temperature, t);
    let days: Vec<f64> = (0..STEPS)
        .map(|k| 273.15 - 10.0 + 60.0 * k as f64 / (STEPS - 1) as f64)
        .collect();
    let half = case.with(INPUTS.core.blocked, 0.5);
    let line = |case: &Case| coolant_on(&days, case, asked, &here.warm);
    let (now, blocked) = rayon::join(|| line(case), || line(&half));
    let curve = |name: &str, ys: &[f64]| Curve {
        name: name.into(),
        points: days.iter().zip(ys).map(|(x, t)| (y(*x), y(*t))).collect(),
        band: Vec::new(),
    };
    let marks = if here.steady() {
        vec![Mark {
            name: "this day".into(),
            x: y(case.now.ambient),
            y: y(here.warm.budget.coolant_temp),
            spread: 0.0,
        }]
    } else {
        Vec::new()
    };
    let unit = units.unit(Kind::Temperature);
    let chart = Chart {
        title: "Coolant over the day's temperature".into(),
        x_label: format!("outer air, {unit}"),
        y_label: format!("coolant, {unit}"),
        curves: vec![
            curve("as asked", &now),
            curve("core half blocked", &blocked),
        ],
        marks,
        levels: vec![
            ("may boil from here".into(), y(found.boiling[0])),
            ("limit".into(), y(found.limit)),
        ],
        ..Chart::default()
    };
    let celsius = |t: f64| {
        if t.is_finite() {
            format!("{:.2}", t - 273.15)
        } else {
            String::new()
        }
    };
    let table = Table {
        title: String::new(),
        heads: ["ambient_c", "coolant_temp_c", "coolant_temp_half_blocked_c"]
            .map(String::from)
            .to_vec(),
        rows: days
            .iter()
            .zip(now.iter().zip(&blocked))
            .map(|(x, (a, b))| vec![celsius(*x), celsius(*a), celsius(*b)])
            .collect(),
        numeric: vec![0, 1, 2],
    };
    (chart, table)
}

/// Limiting ambient temperature over road speed and grade.
pub(super) fn map(question: &Question, found: &Found) -> Result<(Chart, Table), Trouble> {
    let (case, asked) = (&found.case, found.asked);
    let units = question.posed.units;
    if case.vehicle.is_none() {
        return Err(Trouble::input(
            "a map for a machine without [vehicle]",
            "a machine that drives",
        )
        .at("--map"));
    }
    let steps = |from: f64, by: f64| (0..MAP).map(move |k| from + by * k as f64);
    let grades: Vec<f64> = steps(0.0, 0.003).collect();
    let speeds: Vec<f64> = steps(20.0 / 3.6, 2.5 / 3.6).collect();
    let free = Question {
        engine_given: false,
        map: false,
        ..question.clone()
    };
    let rows: Vec<Vec<Option<f64>>> = grades
        .par_iter()
        .map(|grade| {
            if question.posed.stop.check().is_err() {
                return Vec::new();
            }
            let mut near: Option<Warm> = None;
            speeds
                .iter()
                .map(|speed| {
                    let mut there = *case;
                    there.now.grade = *grade;
                    // A flow that was measured belongs to its own condition.
                    there.now.fuel_heat = 0.0;
                    there.now.road_speed = *speed;
                    let there = on_the_road(&there, &free).ok()?;
                    if !within_power(&there) {
                        return None;
                    }
                    near = at_limit(&there, asked, near.as_ref());
                    limiting(near.as_ref()?)
                })
                .collect()
        })
        .collect();
    let y = |t: Option<f64>| t.map_or(f64::NAN, |t| units.number(Kind::Temperature, t));
    let curves = rows
        .iter()
        .zip(&grades)
        .step_by(MAP / 4)
        .map(|(row, grade)| Curve {
            name: format!("grade {}", units.show(Kind::Share, *grade)),
            points: speeds
                .iter()
                .zip(row)
                .map(|(v, t)| (units.number(Kind::RoadSpeed, *v), y(*t)))
                .collect(),
            band: Vec::new(),
        })
        .collect();
    let chart = Chart {
        title: "How hot the day may be, over road speed and grade".into(),
        x_label: format!("road speed, {}", units.unit(Kind::RoadSpeed)),
        y_label: format!(
            "limiting ambient temperature, {}",
            units.unit(Kind::Temperature)
        ),
        curves,
        ..Chart::default()
    };
    let table = Table {
        title: String::new(),
        heads: ["grade_percent", "road_speed_kmh", "limiting_ambient_c"]
            .map(String::from)
            .to_vec(),
        rows: grades
            .iter()
            .zip(&rows)
            .flat_map(|(grade, row)| {
                speeds.iter().zip(row).map(move |(speed, t)| {
                    vec![
                        format!("{:.3}", 100.0 * grade),
                        format!("{:.2}", 3.6 * speed),
                        t.map_or(String::new(), |t| format!("{:.2}", t - 273.15)),
                    ]
                })
            })
            .collect(),
        numeric: vec![0, 1, 2],
    };
    Ok((chart, table))
}

/// Whether the engine has the power that road and load ask for, the fan's pump apart.
fn within_power(case: &Case) -> bool {
    let (Some(engine), Some(vehicle)) = (&case.engine, &case.vehicle) else {
        return true;
    };
    let now = &case.now;
    let rho = crate::fluid::air::density(now.altitude, now.ambient);
    vehicle.road_power(now.road_speed, now.grade, now.trailer, rho) + engine.accessories
        <= engine.rated_power
}
