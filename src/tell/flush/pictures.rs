//! Tables and pictures.

use super::super::answer::{Chart, Curve, Mark, Table};
use super::told::{from_to, makes};
use super::{Blends, Method, Question, Rounds, asked, volume};
use crate::balance::{Operating, State};
use crate::input::unit::celsius;
use crate::quantity::Kind;
use crate::trouble::Trouble;
use crate::vary::dilution::Old;
use crate::vary::sweep;
use serde_json::{Value, json};

/// Most rounds that the table shows.
const ROWS: usize = 24;

/// The rounds as a table for people and as a series.
pub(super) fn tables(
    question: &Question,
    shares: &[(f64, f64)],
    states: &[State],
    needed: usize,
) -> (Table, Table) {
    let units = question.fresh.units;
    let poured = question.plan.method == Method::ReturnLine;
    let every = shares.len().div_ceil(ROWS).max(1);
    let mut rows = Table {
        title: "Round by round".into(),
        heads: vec![
            "round".into(),
            "fresh oil".into(),
            "old oil left".into(),
            format!(
                "viscosity at {}",
                units.show(Kind::Temperature, question.fresh.case.now.oil_temp)
            ),
            "fan speed".into(),
            String::new(),
        ],
        rows: Vec::new(),
        numeric: vec![0, 1, 2, 3, 4],
    };
    let mut series = Table {
        heads: [
            "round",
            "fresh_oil_l",
            "old_share",
            "old_share_low",
            "viscosity_mm2_per_s",
            "fan_speed_rpm",
        ]
        .map(String::from)
        .to_vec(),
        numeric: vec![0, 1, 2, 3, 4, 5],
        ..Table::default()
    };
    for (n, ((share, low), state)) in shares.iter().zip(states).enumerate() {
        let fresh = volume(question, n as f64);
        let percent = |x: f64| units.show(Kind::Share, x);
        series.rows.push(vec![
            n.to_string(),
            format!("{:.4}", Kind::Volume.to_json(fresh)),
            format!("{share:.6}"),
            format!("{low:.6}"),
            format!(
                "{:.4}",
                Kind::KinematicViscosity.to_json(state.oil_viscosity)
            ),
            format!("{:.3}", Kind::Speed.to_json(state.fan_speed)),
        ]);
        if n % every != 0 && n != needed {
            continue;
        }
        rows.rows.push(vec![
            n.to_string(),
            units.show(Kind::Volume, fresh),
            if poured && n > 0 {
                format!("{} to {}", percent(*low), percent(*share))
            } else {
                percent(*share)
            },
            units.show(Kind::KinematicViscosity, state.oil_viscosity),
            units.show(Kind::Speed, state.fan_speed),
            if n == needed { "enough" } else { "" }.into(),
        ]);
    }
    (rows, series)
}

/// Old oil over the fresh oil that went in.
pub(super) fn over_volume(
    question: &Question,
    rounds: &Rounds,
    hopeful: &Rounds,
    shown: usize,
) -> Chart {
    let (plan, units) = (&question.plan, question.fresh.units);
    let fill = plan.fill;
    let x = |rounds: f64| units.number(Kind::Volume, volume(question, rounds));
    let poured = plan.method == Method::ReturnLine;
    let parts: Vec<f64> = if poured {
        sweep::values(0.0, 1.0, 25, false)
    } else {
        vec![0.0, 1.0]
    };
    let along = |rounds: &Rounds, limit: usize| -> Vec<(f64, f64)> {
        (0..shown)
            .flat_map(|n| {
                let before = rounds.old.get(n).or(rounds.old.last()).copied();
                let before = before.unwrap_or(Old::ALL);
                parts.iter().map(move |part| {
                    let after = fill.exchanged(before, plan.exchanges(*part)[limit]);
                    (x(n as f64 + part), 100.0 * fill.share(after))
                })
            })
            .collect()
    };
    let worse = along(rounds, 0);
    let mut curves = vec![Curve {
        name: if poured {
            "mixed at once; the band reaches to old oil pushed out ahead".into()
        } else {
            "old oil left in the whole fill".into()
        },
        band: if poured {
            let better = along(hopeful, 1);
            let ends = worse.iter().zip(&better);
            ends.map(|(w, b)| (w.0, b.1.min(w.1), b.1.max(w.1)))
                .collect()
        } else {
            Vec::new()
        },
        points: worse,
    }];
    if !poured {
        // What a fill without anything that stands still would do.
        curves.push(Curve {
            name: "if nothing stood still".into(),
            points: (0..=shown)
                .map(|n| {
                    let left = (1.0 - plan.exchanged).powi(n as i32);
                    (x(n as f64), 100.0 * left)
                })
                .collect(),
            band: Vec::new(),
        });
    }
    Chart {
        title: "Old oil left over the fresh oil that went in".into(),
        x_label: format!("fresh oil, {}", units.unit(Kind::Volume)),
        y_label: "old oil left, %".into(),
        y_from_zero: true,
        curves,
        levels: question
            .target
            .map(|t| vec![(format!("asked, {}", units.show(Kind::Share, t)), 100.0 * t)])
            .unwrap_or_default(),
        ..Chart::default()
    }
}

/// Fan speed over the share of old oil, with the rounds marked.
pub(super) fn speed_over_share(
    blends: &Blends<'_>,
    shares: &[(f64, f64)],
) -> Result<Chart, Trouble> {
    let units = blends.question.fresh.units;
    let y = |omega| units.number(Kind::Speed, omega);
    let points = sweep::values(0.0, 1.0, 61, false)
        .into_iter()
        .map(|share| Ok((100.0 * share, y(blends.at(share)?.fan_speed))))
        .collect::<Result<Vec<_>, Trouble>>()?;
    // The last rounds lie too close together to be named.
    let mut marks: Vec<Mark> = Vec::new();
    for (n, (share, _)) in shares.iter().enumerate() {
        let x = 100.0 * share;
        let last = n + 1 == shares.len();
        let near = marks.last().is_some_and(|m: &Mark| m.x - x < 9.0);
        marks.push(Mark {
            name: match n {
                0 => "old".into(),
                _ if near && !last => String::new(),
                _ => n.to_string(),
            },
            x,
            y: y(blends.at(*share)?.fan_speed),
            spread: 0.0,
        });
    }
    Ok(Chart {
        title: "Fan speed over the share of old oil; each mark is a round".into(),
        x_label: "old oil left, %".into(),
        y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
        y_from_zero: true,
        curves: vec![Curve {
            name: "in the condition asked for".into(),
            points,
            band: Vec::new(),
        }],
        marks,
        ..Chart::default()
    })
}

/// What the flush does to the fan at other oil temperatures.
pub(super) fn over_temperature(
    blends: &Blends<'_>,
    left: f64,
) -> Result<(Table, Value, String), Trouble> {
    let units = blends.question.fresh.units;
    let mut table = Table {
        title: format!(
            "Fan speed at other oil temperatures, {}, all else as asked",
            units.unit(Kind::Speed)
        ),
        heads: [
            "oil at",
            "old oil",
            "after the flush",
            "fresh oil",
            "change",
        ]
        .map(String::from)
        .to_vec(),
        rows: Vec::new(),
        numeric: vec![0, 1, 2, 3, 4],
    };
    let mut listed = Vec::new();
    let mut named = Vec::new();
    for t in [-20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0] {
        let speed = |share: f64| -> Result<f64, Trouble> {
            let mut case = blends.case(share)?;
            case.now.oil_temp = celsius(t);
            let (state, _): (State, Operating) = State::of(&case)?;
            Ok(state.fan_speed)
        };
        let [old, after, fresh] = [speed(1.0)?, speed(left)?, speed(0.0)?];
        let figure = |omega| format!("{:.0}", units.number(Kind::Speed, omega));
        let change = if old > 0.0 { after / old - 1.0 } else { 0.0 };
        table.rows.push(vec![
            units.show(Kind::Temperature, celsius(t)),
            figure(old),
            figure(after),
            figure(fresh),
            format!("{:+.1} %", 100.0 * change).replace('-', "−"),
        ]);
        if fresh > 0.0 && (t.abs() < 1.0 || (t - 80.0).abs() < 1.0) {
            named.push(format!(
                "{} with the oil at {}",
                makes(units, after - old),
                units.show(Kind::Temperature, celsius(t))
            ));
        }
        listed.push(json!({
            "oil_temp_c": t,
            "fan_speed_old_rpm": Kind::Speed.to_json(old),
            "fan_speed_rpm": Kind::Speed.to_json(after),
            "fan_speed_fresh_rpm": Kind::Speed.to_json(fresh),
        }));
    }
    let sentence = if named.is_empty() {
        "The fan stands in this condition at any of the oil temperatures below.".into()
    } else {
        format!("The flush makes the fan {}.", named.join(", and "))
    };
    Ok((table, Value::Array(listed), sentence))
}

/// What each method would take to the same end.
pub(super) fn by_method(blends: &Blends<'_>) -> Result<(Table, Value), Trouble> {
    let question = blends.question;
    let units = question.fresh.units;
    let mut table = Table {
        title: format!("By method, for {}", asked(question)),
        heads: vec![
            "method".into(),
            "each round".into(),
            "rounds".into(),
            "fresh oil".into(),
        ],
        rows: Vec::new(),
        numeric: vec![1, 2, 3],
    };
    if question.cost_per_litre.is_some() {
        table.heads.push("cost".into());
        table.numeric.push(4);
    }
    let mut listed = Vec::new();
    for method in Method::ALL {
        let mut plan = question.plan;
        if method != plan.method {
            plan.method = method;
            plan.exchanged = method.usual_share().min(match method {
                Method::ReturnLine => f64::INFINITY,
                _ => 1.0 - plan.fill.still,
            });
        }
        let each = question.fresh.case.reservoir.volume * plan.exchanged;
        let mut row = vec![method.round().to_string(), units.show(Kind::Volume, each)];
        let found = match (blends.rounds(&plan, 0)?, blends.rounds(&plan, 1)?) {
            (Ok(worse), Ok(better)) => Some((worse.needed, better.volume, worse.volume)),
            _ => None,
        };
        row.push(found.map_or("never".into(), |(n, _, _)| n.to_string()));
        row.push(found.map_or("–".into(), |(_, low, high)| {
            from_to(low, high, |v| units.show(Kind::Volume, v))
        }));
        if let Some(price) = question.cost_per_litre {
            row.push(found.map_or("–".into(), |(_, low, high)| {
                from_to(low, high, |v| units.show(Kind::Cost, price * v * 1e3))
            }));
        }
        table.rows.push(row);
        listed.push(json!({
            "method": method.key(),
            "exchanged_share": plan.exchanged,
            "rounds_needed": found.map(|f| f.0),
            "litres_needed": found.map(|f| Kind::Volume.to_json(f.2)),
            "litres_needed_low": found.map(|f| Kind::Volume.to_json(f.1)),
        }));
    }
    Ok((table, Value::Array(listed)))
}
