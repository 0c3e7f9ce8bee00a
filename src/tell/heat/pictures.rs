//! The tables and pictures of the heat balance.

use crate::balance::{BARE, Budget, Warm};
use crate::fault;
use crate::quantity::{Kind, Units};
use crate::question::Ends;
use crate::question::heat::{Day, Found, Heat, MAP_POINTS, MapPoint, Variant};
use crate::tell::answer::{Bar, Bars, Chart, Curve, Mark, Table};
use crate::tell::words;

/// The name of one of the compared conditions.
fn name(request: &Heat, variant: &Variant) -> String {
    let (units, noted) = (request.setup.units, request.follows_readings());
    let name = variant.name();
    match variant {
        Variant::FanAtThird(speed) => format!("{name}, {}", units.show(Kind::Speed, *speed)),
        Variant::Asked if noted => "as your readings show".into(),
        Variant::Healthy | Variant::FanAsComputed if noted => "with a healthy fan".into(),
        Variant::Cause(cause) => format!("if it is {}", fault::name(cause.fault)),
        _ => name,
    }
}

/// A table that compares the conditions, one per row.
pub(super) fn side_by_side(request: &Heat, found: &Found) -> Table {
    let units = request.setup.units;
    let heads = ["", "fan", "air", "coolant", "oil", "limiting ambient"];
    let rows = found.side_by_side.iter().map(|l| {
        vec![
            name(request, &l.name),
            units.show(Kind::Speed, l.fan_speed),
            words::airflow(units, l.warm.budget.airflow.flow),
            words::coolant(units, &l.warm),
            l.oil_temp.map_or("-".into(), |t| words::degrees(units, t)),
            l.limiting_ambient
                .map_or("-".into(), |t| words::day(units, t)),
        ]
    });
    Table {
        title: "Side by side".into(),
        heads: heads.map(String::from).to_vec(),
        rows: rows.collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }
}

/// A table of how each condition differs from the first, and how likely the coolant then becomes too hot.
pub(super) fn differences(request: &Heat, found: &Found) -> Table {
    let units = request.setup.units;
    let heads = ["", "coolant", "limiting ambient", "reach the limit", "boil"];
    let first = found.limiting_ambient.unwrap_or(f64::NAN);
    let rows = found.side_by_side.iter().map(|l| {
        let days = [first, l.limiting_ambient.unwrap_or(f64::NAN)];
        // Where the first row boils there is no difference, but this row has a band of its own.
        let coolant = match l.coolant_band.0.filter(|_| !found.steady) {
            Some(band) => words::to_boiling(units, band, found.boiling_high),
            None => difference(units, l.coolant_difference, l.difference_band),
        };
        vec![
            name(request, &l.name),
            coolant,
            words::of_days(days, || {
                difference(units, l.limiting_difference, l.limiting_difference_band)
            }),
            l.chance_of_limit.map_or("-".into(), words::chance),
            l.chance_to_boil.map_or("-".into(), words::chance),
        ]
    });
    let title = match found.steady {
        true => "Differences from the first row, each sampled machine compared with itself",
        false => "Coolant within the ±, and differences from the first row",
    };
    Table {
        title: title.into(),
        heads: heads.map(String::from).to_vec(),
        rows: rows.collect(),
        numeric: vec![1, 2, 3, 4],
    }
}

/// A temperature difference with the limits of its band: `-2 K (-3 to -1 K)`.
fn difference(units: Units, difference: Option<f64>, band: Ends) -> String {
    let kind = Kind::TemperatureDifference;
    match (difference, band.0) {
        (None, _) => "-".into(),
        (Some(d), None) => units.show(kind, d),
        (Some(d), Some((low, high))) => units.show_band(kind, d, low, high),
    }
}

/// A table of the air: airflow and static pressure of the fan, and the face velocity in each zone of the core.
pub(super) fn air(units: Units, warm: &Warm) -> Table {
    let airflow = &warm.budget.airflow;
    let speed = |k: usize| units.show(Kind::AirSpeed, airflow.speed[k]);
    let mut rows = vec![
        vec![
            "airflow at the fan".into(),
            units.show(Kind::AirFlow, airflow.flow),
        ],
        vec![
            "static pressure of the fan".into(),
            units.show(Kind::AirPressure, airflow.pressure),
        ],
    ];
    let fronts = [&warm.case.front_1, &warm.case.front_2, &warm.case.front_3];
    let mut open = 1.0;
    for (k, front) in fronts.into_iter().enumerate() {
        let Some(front) = front else { continue };
        open -= front.share;
        rows.push(vec![
            format!(
                "face velocity downstream of {}, {} of the face",
                front.words(),
                units.show(Kind::Share, front.share)
            ),
            speed(k),
        ]);
    }
    if open > 1e-6 {
        let share = units.show(Kind::Share, open);
        rows.push(vec![
            format!("face velocity at the open core, {share} of the face"),
            speed(BARE),
        ]);
    }
    Table {
        title: "The air".into(),
        heads: vec!["quantity".into(), "value".into()],
        rows,
        numeric: vec![1],
    }
}

/// Bar charts of the heat flows into (positive) and out of (negative) the coolant, and the same for the oil.
pub(super) fn budgets(units: Units, b: &Budget) -> [Bars; 2] {
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
            "Heat in and out of the coolant, and into the air upstream of the core",
            &[
                ("engine to metal and coolant", b.engine_heat),
                ("block, sump and hoses to air", -b.surface_heat),
                ("cabin heater", -b.cabin_heat),
                ("core to air", -b.radiator_heat),
                ("other coolers upstream", b.ahead_heat),
            ],
        ),
        bars(
            "Heat in and out of the oil",
            &[
                ("losses of the fan drive", b.oil_heat),
                ("from the engine's metal", b.oil_engine_heat),
                ("oil cooler to air", -b.oil_cooler_heat),
                ("surfaces to air", -b.oil_surface_heat),
            ],
        ),
    ]
}

/// Coolant versus ambient temperature, for the machine as given and with half of the core blocked.
pub(super) fn versus_ambient(units: Units, found: &Found) -> Chart {
    let shown = |t: f64| units.number(Kind::Temperature, t);
    let curve = |name: &str, of: fn(&Day) -> Option<f64>| Curve {
        name: name.into(),
        points: found
            .series
            .iter()
            .map(|day| (shown(day.ambient), of(day).map_or(f64::NAN, shown)))
            .collect(),
        band: Vec::new(),
    };
    let mark = |t: f64| Mark {
        name: "this day".into(),
        x: shown(found.ambient),
        y: shown(t),
        spread: 0.0,
    };
    let unit = units.unit(Kind::Temperature);
    Chart {
        title: "Coolant versus ambient temperature".into(),
        x_label: format!("ambient air, {unit}"),
        y_label: format!("coolant, {unit}"),
        curves: vec![
            curve("as requested", |day| day.coolant_temp),
            curve("core half blocked", |day| day.coolant_temp_half_blocked),
        ],
        marks: found.coolant_temp.map(mark).into_iter().collect(),
        levels: vec![
            ("may boil from here".into(), shown(found.boiling_low)),
            ("limit".into(), shown(found.limit)),
        ],
        ..Chart::default()
    }
}

/// Limiting ambient temperature versus road speed, one curve per grade.
pub(super) fn map(units: Units, points: &[MapPoint]) -> Chart {
    let y = |t: Option<f64>| t.map_or(f64::NAN, |t| units.number(Kind::Temperature, t));
    let x = |p: &MapPoint| units.number(Kind::RoadSpeed, p.road_speed / 3.6);
    let rows = points.chunks(MAP_POINTS).step_by(MAP_POINTS / 4);
    let curves = rows.map(|row| Curve {
        name: format!("grade {}", units.show(Kind::Share, row[0].grade / 100.0)),
        points: row.iter().map(|p| (x(p), y(p.limiting_ambient))).collect(),
        band: row
            .iter()
            .filter_map(|p| {
                let (low, high) = p.limiting_band.0?;
                Some((x(p), y(Some(low)), y(Some(high))))
            })
            .collect(),
    });
    Chart {
        title: "Limiting ambient temperature versus road speed and grade".into(),
        x_label: format!("road speed, {}", units.unit(Kind::RoadSpeed)),
        y_label: format!(
            "limiting ambient temperature, {}",
            units.unit(Kind::Temperature)
        ),
        curves: curves.collect(),
        ..Chart::default()
    }
}
