//! The first look: what limits the demo machine's fan, what another oil costs it, what to check next.

use super::answer::{Answer, Block, Chart, Curve, Table};
use super::words;
use crate::balance::{Limit, Output, State};
use crate::input::Input;
use crate::input::unit::celsius;
use crate::model::{Case, OilSheet, Posed};
use crate::quantity::{Kind, Measure, Units};
use crate::trouble::Trouble;
use crate::vary::derivative::{half_width, sensitivities};
use crate::vary::sweep;
use serde_json::json;

/// What is asked: a machine at its usual condition, and another oil to compare.
#[derive(Clone, Debug)]
pub struct Question {
    /// Machine, oil, condition.
    pub posed: Posed,
    /// The other oil.
    pub other: OilSheet,
    /// What the reader may try next, as commands.
    pub commands: Vec<String>,
}

/// One condition of the comparison.
struct Look {
    name: String,
    engine: Measure,
    oil_temp: f64,
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Trouble> {
    let posed = &question.posed;
    let units = posed.units;
    let (state, operating) = State::of(&posed.case)?;
    let slopes = sensitivities(&posed.case, &operating);
    let half = half_width(
        &slopes,
        &posed.spread,
        &posed.machine.correlations,
        Output::FAN_SPEED,
    );

    let mut answer = Answer {
        question: "demo",
        case: posed.said.clone(),
        ..Answer::default()
    };
    let band = words::speed_band(units, state.fan_speed, half);
    answer.blocks.push(Block::Headline(format!(
        "At idle and warm this fan makes {band}, limited by {}.",
        operating.limit.words()
    )));

    let warm = posed.case.now.oil_temp;
    let at = |t: f64| units.show(Kind::Temperature, celsius(t)).replace('-', "−");
    let looks = [
        Look {
            name: "idle, warm".into(),
            engine: posed.machine.usual.idle,
            oil_temp: warm,
        },
        Look {
            name: "raised, warm".into(),
            engine: posed.machine.usual.raised,
            oil_temp: warm,
        },
        Look {
            name: format!("raised, oil at {}", at(20.0)),
            engine: posed.machine.usual.raised,
            oil_temp: celsius(20.0),
        },
        Look {
            name: format!("raised, oil at {}", at(-10.0)),
            engine: posed.machine.usual.raised,
            oil_temp: celsius(-10.0),
        },
    ];
    let speed = |look: &Look, oil: &OilSheet| -> Result<(f64, Limit), Trouble> {
        let (state, operating) =
            State::of(&set(&posed.case, oil, look.engine.value, look.oil_temp))?;
        Ok((state.fan_speed, operating.limit))
    };
    let unit = units.unit(Kind::Speed);
    let mut table = Table {
        title: format!(
            "Fan speed on {} and on {}",
            posed.oil.name, question.other.name
        ),
        heads: vec![
            "condition".into(),
            format!("{}, {unit}", posed.oil.name),
            format!("{}, {unit}", question.other.name),
            "change".into(),
            "limited by".into(),
        ],
        rows: Vec::new(),
        numeric: vec![1, 2, 3],
    };
    let mut changes = Vec::new();
    for look in &looks {
        let (own, limit) = speed(look, &posed.oil)?;
        let (other, _) = speed(look, &question.other)?;
        let change = if own > 0.0 { other / own - 1.0 } else { 0.0 };
        changes.push(change);
        table.rows.push(vec![
            look.name.clone(),
            format!("{:.0}", units.number(Kind::Speed, own)),
            format!("{:.0}", units.number(Kind::Speed, other)),
            format!("{:+.1} %", 100.0 * change).replace('-', "−"),
            limit.key().into(),
        ]);
    }
    let percent = |c: f64| units.show(Kind::Share, c.abs());
    let way = |c: f64| if c >= 0.0 { "faster" } else { "slower" };
    answer.blocks.push(Block::Sentence(format!(
        "With {} in it instead of {}, the fan would run {} {} at idle with warm oil, and {} {} at raised engine speed with the oil at {}.",
        question.other.name.to_lowercase(),
        posed.oil.name.to_lowercase(),
        percent(changes[0]),
        way(changes[0]),
        percent(changes[3]),
        way(changes[3]),
        at(-10.0)
    )));
    answer
        .blocks
        .push(Block::Next(words::next(operating.limit).into()));
    answer.blocks.push(Block::Table(table));
    let (chart, series) = over_oil_temperature(question, units);
    answer.blocks.push(Block::Chart(chart));
    answer.series = series;
    answer.blocks.push(Block::Circuit(words::circuit(
        units,
        &posed.case,
        &state,
        operating.limit,
    )));
    answer.blocks.push(Block::Heading("Try next".into()));
    for command in &question.commands {
        answer.blocks.push(Block::Sentence(command.clone()));
    }
    answer.blocks.push(Block::Safety(words::safety()));
    answer.cautions = words::cautions(posed, &state, operating.limit);
    answer
        .cautions
        .push("The demo machine is invented, inside the ranges of its class.".into());

    words::put_state(&mut answer.numbers, &state);
    words::put(
        &mut answer.numbers,
        "fan_speed_low",
        Kind::Speed,
        (state.fan_speed - half).max(0.0),
    );
    words::put(
        &mut answer.numbers,
        "fan_speed_high",
        Kind::Speed,
        state.fan_speed + half,
    );
    answer
        .numbers
        .insert("limited_by".into(), json!(operating.limit.key()));
    answer
        .numbers
        .insert("other_oil_change_share".into(), json!(changes));
    Ok(answer)
}

/// The case on another oil, engine speed and oil temperature.
fn set(case: &Case, oil: &OilSheet, engine: f64, oil_temp: f64) -> Case {
    let mut case = Case {
        oil: oil.oil,
        curve: oil.curve,
        ..*case
    };
    case.now.engine_speed = engine;
    case.now.oil_temp = oil_temp;
    case
}

/// Both oils over oil temperature at raised engine speed.
fn over_oil_temperature(question: &Question, units: Units) -> (Chart, Table) {
    let posed = &question.posed;
    let temperature = Input::OIL_TEMP;
    let grid = sweep::values(celsius(-20.0), celsius(110.0), 66, false);
    let raised = posed.machine.usual.raised.value;
    let mut rows: Vec<Vec<String>> = grid
        .iter()
        .map(|t| vec![format!("{:.1}", Kind::Temperature.to_json(*t))])
        .collect();
    let mut curves = Vec::new();
    for oil in [&posed.oil, &question.other] {
        let steps = sweep::sweep(&set(&posed.case, oil, raised, grid[0]), temperature, &grid);
        for (row, step) in rows.iter_mut().zip(&steps) {
            row.push(step.map_or(String::new(), |s| {
                format!("{:.2}", Kind::Speed.to_json(s.state.fan_speed))
            }));
        }
        curves.push(Curve {
            name: oil.name.clone(),
            points: steps
                .iter()
                .flatten()
                .map(|s| {
                    (
                        units.number(Kind::Temperature, s.x),
                        units.number(Kind::Speed, s.state.fan_speed),
                    )
                })
                .collect(),
            band: Vec::new(),
        });
    }
    let chart = Chart {
        title: format!(
            "Fan speed over oil temperature, engine at {}",
            units.show(Kind::Speed, raised)
        ),
        x_label: format!("oil temperature, {}", units.unit(Kind::Temperature)),
        y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
        y_from_zero: true,
        curves,
        ..Chart::default()
    };
    let heads = vec![
        "oil_temp_c".into(),
        "fan_speed_rpm".into(),
        "fan_speed_other_oil_rpm".into(),
    ];
    (
        chart,
        Table {
            title: String::new(),
            heads,
            rows,
            numeric: vec![0, 1, 2],
        },
    )
}
