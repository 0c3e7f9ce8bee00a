//! The tables and pictures of a flush.

use super::super::answer::{Chart, Curve, Mark, Table};
use super::{from_to, name};
use crate::quantity::{Kind, Units};
use crate::question::flush::{AtOilTemp, ByMethod, Flush, Found, Method, Round};

/// Maximum number of rounds in the table.
const ROWS: usize = 24;

/// A table of the rounds.
pub(super) fn rounds(request: &Flush, found: &Found) -> Table {
    let units = request.fresh.units;
    let poured = found.method == Method::ReturnLine;
    let percent = |x: f64| units.show(Kind::Share, x);
    let every = found.series.len().div_ceil(ROWS).max(1);
    let shown = |r: &&Round| r.round.is_multiple_of(every) || r.round == found.rounds_needed;
    let row = |r: &Round| {
        let share = percent(r.old_share);
        vec![
            r.round.to_string(),
            units.show(Kind::Volume, r.fresh_oil),
            match poured && r.round > 0 {
                true => format!("{} to {share}", percent(r.old_share_low)),
                false => share,
            },
            units.show(Kind::KinematicViscosity, r.viscosity),
            units.show(Kind::Speed, r.fan_speed),
            match r.round == found.rounds_needed {
                true => "enough".into(),
                false => String::new(),
            },
        ]
    };
    Table {
        title: "Round by round".into(),
        heads: vec![
            "round".into(),
            "fresh oil".into(),
            "old oil left".into(),
            format!(
                "viscosity at {}",
                units.show(Kind::Temperature, request.fresh.case.now.oil_temp)
            ),
            "fan speed".into(),
            String::new(),
        ],
        rows: found.series.iter().filter(shown).map(row).collect(),
        numeric: vec![0, 1, 2, 3, 4],
    }
}

/// Fraction of old oil versus the volume of fresh oil added.
pub(super) fn along(request: &Flush, found: &Found) -> Chart {
    let units = request.fresh.units;
    let poured = found.method == Method::ReturnLine;
    let x = |v: f64| units.number(Kind::Volume, v);
    let along = || {
        found
            .along
            .iter()
            .map(|(v, w, b)| (x(*v), 100.0 * w, 100.0 * b))
    };
    let points = along().map(|(v, worse, _)| (v, worse)).collect();
    let mut curves = vec![if poured {
        let band = along().map(|(v, w, b)| (v, b.min(w), b.max(w)));
        Curve {
            name: "complete mixing; the band extends to plug flow".into(),
            points,
            band: band.collect(),
        }
    } else {
        Curve {
            name: "old oil left in the whole fill".into(),
            points,
            band: Vec::new(),
        }
    }];
    if !found.if_none_still.is_empty() {
        let points = found.if_none_still.iter().map(|(v, s)| (x(*v), 100.0 * s));
        curves.push(Curve {
            name: "without a stagnant volume".into(),
            points: points.collect(),
            band: Vec::new(),
        });
    }
    let level = |t: f64| (format!("target, {}", units.show(Kind::Share, t)), 100.0 * t);
    Chart {
        title: "Old oil left versus fresh oil added".into(),
        x_label: format!("fresh oil, {}", units.unit(Kind::Volume)),
        y_label: "old oil left, %".into(),
        y_from_zero: true,
        curves,
        levels: request.target.map(level).into_iter().collect(),
        ..Chart::default()
    }
}

/// Fan speed versus the fraction of old oil, with the rounds marked.
pub(super) fn speeds(units: Units, found: &Found) -> Chart {
    let y = |omega| units.number(Kind::Speed, omega);
    // The last rounds are too close together for labels.
    let mut marks: Vec<Mark> = Vec::new();
    let rounds = found.series.iter().take(found.rounds_needed + 1);
    for round in rounds {
        let x = 100.0 * round.old_share;
        let last = round.round == found.rounds_needed;
        let near = marks.last().is_some_and(|m: &Mark| m.x - x < 9.0);
        marks.push(Mark {
            name: match round.round {
                0 => "old".into(),
                _ if near && !last => String::new(),
                n => n.to_string(),
            },
            x,
            y: y(round.fan_speed),
            spread: 0.0,
        });
    }
    let points = found.speeds.iter().map(|(s, v)| (100.0 * s, y(*v)));
    Chart {
        title: "Fan speed versus the fraction of old oil; each mark is a round".into(),
        x_label: "old oil left, %".into(),
        y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
        y_from_zero: true,
        curves: vec![Curve {
            name: "in the given condition".into(),
            points: points.collect(),
            band: Vec::new(),
        }],
        marks,
        ..Chart::default()
    }
}

/// A table of what the flush does for the fan speed at other oil temperatures.
pub(super) fn over_oil_temp(units: Units, found: &Found) -> Table {
    let figure = |omega| format!("{:.0}", units.number(Kind::Speed, omega));
    let row = |at: &AtOilTemp| {
        let change = match at.fan_speed_old > 0.0 {
            true => at.fan_speed / at.fan_speed_old - 1.0,
            false => 0.0,
        };
        vec![
            units.show(Kind::Temperature, at.oil_temp),
            figure(at.fan_speed_old),
            figure(at.fan_speed),
            figure(at.fan_speed_fresh),
            format!("{:+.1} %", 100.0 * change).replace('-', "−"),
        ]
    };
    Table {
        title: format!(
            "Fan speed at other oil temperatures, {}, otherwise in the same condition",
            units.unit(Kind::Speed)
        ),
        heads: [
            "oil temperature",
            "old oil",
            "after the flush",
            "fresh oil",
            "change",
        ]
        .map(String::from)
        .to_vec(),
        rows: found.over_oil_temp.iter().map(row).collect(),
        numeric: vec![0, 1, 2, 3, 4],
    }
}

/// A table of how many rounds and litres each method needs for the same target.
pub(super) fn methods(request: &Flush, found: &Found) -> Table {
    let units = request.fresh.units;
    let fill = request.fresh.case.reservoir.volume;
    let row = |by: &ByMethod| {
        // Lower and upper limit of the litres needed.
        let ends = by.litres_needed_low.zip(by.litres_needed);
        let range = |show: &dyn Fn(f64) -> String| {
            ends.map_or("–".into(), |(low, high)| from_to(low, high, show))
        };
        let mut row = vec![
            name(by.method).to_string(),
            units.show(Kind::Volume, fill * by.exchanged_share),
            by.rounds_needed.map_or("never".into(), |n| n.to_string()),
            range(&|l| units.show(Kind::Volume, Kind::Volume.from_json(l))),
        ];
        let price = request.cost_per_litre;
        row.extend(price.map(|p| range(&|l| units.show(Kind::Cost, p * l))));
        row
    };
    let mut table = Table {
        title: format!("What each method needs for {}", request.asked()),
        heads: ["method", "each round", "rounds", "fresh oil"]
            .map(String::from)
            .to_vec(),
        rows: found.methods.iter().map(row).collect(),
        numeric: vec![1, 2, 3],
    };
    if request.cost_per_litre.is_some() {
        table.heads.push("cost".into());
        table.numeric.push(4);
    }
    table
}
