//! How the speed goes along one input, on one oil or several.

use super::answer::{Answer, Block, Chart, Curve, Stretch, Table};
use super::words;
use crate::balance::State;
use crate::input::Input;
use crate::model::{Case, OilSheet, Posed};
use crate::quantity::{Kind, Units, parse};
use crate::trouble::{Trouble, Troubles, near};
use crate::vary::inverse;
use crate::vary::sweep::{self, Step};
use serde_json::{Value, json};

/// What the sweep goes along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Along {
    /// An input, from one SI value to another.
    Input(Input, f64, f64),
    /// The oil's viscosity at its temperature, m²/s.
    Viscosity(f64, f64),
}

impl Along {
    /// As typed: what to go along, where to begin and where to end.
    pub fn typed(
        over: &str,
        from: &str,
        to: &str,
        case: &Case,
        units: Units,
    ) -> Result<Self, Troubles> {
        let input = match over {
            "viscosity" => None,
            "engine-speed" => Some(input_of("now.engine_speed", case)),
            "oil-temp" => Some(input_of("now.oil_temp", case)),
            "command" => Some(input_of("now.command", case)),
            key => Some(input_of(key, case)),
        };
        let input = input.transpose().map_err(|t| vec![t])?;
        let (kind, low, high) = input.map_or((Kind::KinematicViscosity, 0.5e-6, 0.1), |i| {
            (i.field().kind, i.field().low, i.field().high)
        });
        let end = |flag: &str, words: &str| {
            let show = |v| units.show(kind, v);
            parse(kind, words)
                .and_then(|m| {
                    let inside = m.value >= low && m.value <= high;
                    inside.then_some(m.value).ok_or_else(|| {
                        Trouble::input(
                            format!("{} outside the range", show(m.value)),
                            format!("{} to {}", show(low), show(high)),
                        )
                    })
                })
                .map_err(|t| t.at(flag))
        };
        match (end("--from", from), end("--to", to)) {
            (Ok(from), Ok(to)) => Ok(input.map_or(Along::Viscosity(from, to), |input| {
                Along::Input(input, from, to)
            })),
            (from, to) => Err([from, to].into_iter().filter_map(Result::err).collect()),
        }
    }
}

/// The input of a key, on a machine that has it.
fn input_of(key: &str, case: &Case) -> Result<Input, Trouble> {
    let keys: Vec<String> = Input::all()
        .filter(|i| case.get(*i).is_some())
        .map(Input::key)
        .collect();
    match Input::find(key) {
        Some(input) if case.get(input).is_some() => Ok(input),
        _ => {
            let hint =
                near(key, keys.iter().map(String::as_str)).map(|k| format!("did you mean `{k}`?"));
            Err(Trouble::input(
                format!("no input called `{key}` on this machine"),
                "engine-speed, oil-temp, viscosity, command, or part.key such as pump.slip",
            )
            .hint(hint.unwrap_or_default())
            .at("--over"))
        }
    }
}

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Machine, oil, condition.
    pub posed: Posed,
    /// What the sweep goes along.
    pub along: Along,
    /// The oils; none: the one of the case.
    pub oils: Vec<OilSheet>,
    /// How many steps.
    pub steps: usize,
}

/// The name, kind and key of what the sweep goes along.
fn axis(along: Along) -> (String, Kind, String) {
    match along {
        Along::Viscosity(..) => (
            "viscosity at this temperature".into(),
            Kind::KinematicViscosity,
            "viscosity".into(),
        ),
        Along::Input(input, ..) => {
            let name = if input.part() == "now" {
                input.field().help.into()
            } else {
                input.key()
            };
            (name, input.field().kind, input.key().replace('.', "_"))
        }
    }
}

fn run(case: &Case, along: Along, count: usize) -> Vec<Step> {
    match along {
        Along::Viscosity(from, to) => inverse::over_viscosity(case, from, to, count),
        Along::Input(input, from, to) => {
            sweep::sweep(case, input, &sweep::values(from, to, count, false))
                .into_iter()
                .flatten()
                .collect()
        }
    }
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Trouble> {
    let posed = &question.posed;
    let units = posed.units;
    let (name, kind, key) = axis(question.along);
    let own = [posed.oil.clone()];
    let oils = if question.oils.is_empty() {
        &own[..]
    } else {
        &question.oils[..]
    };
    let runs: Vec<(&OilSheet, Vec<Step>)> = oils
        .iter()
        .map(|oil| {
            let case = if question.oils.is_empty() {
                posed.case
            } else {
                on(&posed.case, oil)
            };
            (oil, run(&case, question.along, question.steps))
        })
        .collect();
    if runs.iter().all(|(_, steps)| steps.is_empty()) {
        State::of(&posed.case)?;
        return Err(Trouble::no_answer(
            "no value of the sweep has a balance",
            "a range in which the machine runs",
        ));
    }

    let mut answer = Answer {
        question: "sweep",
        case: posed.said.clone(),
        ..Answer::default()
    };
    answer.case.retain(|(label, _)| {
        !swept(question.along, label) && (question.oils.is_empty() || label != "oil")
    });
    answer.cautions = posed.cautions.clone();
    answer
        .blocks
        .push(Block::Headline(headline(units, &name, &runs)));
    for (oil, steps) in &runs {
        answer
            .blocks
            .push(Block::Sentence(limits(units, kind, oil, steps)));
    }
    let x = |v: f64| units.number(kind, v);
    let unit = units.unit(kind);
    let comma = if unit.is_empty() {
        String::new()
    } else {
        format!(", {unit}")
    };
    let first = runs
        .first()
        .map(|(_, steps)| sweep::stretches(steps))
        .unwrap_or_default();
    answer.blocks.push(Block::Chart(Chart {
        title: format!("Fan speed over {name}"),
        x_label: format!("{name}{comma}"),
        y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
        x_log: matches!(question.along, Along::Viscosity(..)),
        y_from_zero: true,
        curves: runs
            .iter()
            .map(|(oil, steps)| Curve {
                name: oil.name.clone(),
                points: steps
                    .iter()
                    .map(|s| (x(s.x), units.number(Kind::Speed, s.state.fan_speed)))
                    .collect(),
                band: Vec::new(),
            })
            .collect(),
        stretches: if runs.len() == 1 {
            first
                .into_iter()
                .map(|(l, a, b)| Stretch {
                    name: l.key().into(),
                    from: x(a),
                    to: x(b),
                })
                .collect()
        } else {
            Vec::new()
        },
        ..Chart::default()
    }));
    let suffix = kind.json_suffix();
    let head = if suffix.is_empty() {
        key
    } else {
        format!("{key}_{suffix}")
    };
    answer.series = Table {
        title: String::new(),
        heads: [
            "oil",
            &head,
            "fan_speed_rpm",
            "supply_gauge_pressure_bar",
            "motor_pressure_drop_bar",
            "pump_shaft_power_w",
            "limited_by",
        ]
        .map(String::from)
        .to_vec(),
        rows: runs
            .iter()
            .flat_map(|(oil, steps)| steps.iter().map(|s| row(kind, oil, s)))
            .collect(),
        numeric: vec![1, 2, 3, 4, 5],
    };
    let curves: Vec<Value> = runs
        .iter()
        .map(|(oil, steps)| {
            let points: Vec<Value> = steps
                .iter()
                .map(|s| {
                    json!({
                        (head.clone()): kind.to_json(s.x),
                        "fan_speed_rpm": Kind::Speed.to_json(s.state.fan_speed),
                        "limited_by": s.operating.limit.key(),
                    })
                })
                .collect();
            json!({"oil": oil.name, "points": points})
        })
        .collect();
    answer.numbers.insert("curves".into(), Value::Array(curves));
    answer.blocks.push(Block::Safety(words::safety()));
    Ok(answer)
}

/// The case on another oil.
fn on(case: &Case, oil: &OilSheet) -> Case {
    Case {
        oil: oil.oil,
        curve: oil.curve,
        ..*case
    }
}

/// Whether a line of the assumptions is what the sweep goes along.
fn swept(along: Along, label: &str) -> bool {
    match along {
        Along::Input(input, ..) => {
            input.field().help == label
                || (input.field().key == "oil_temp" && label == "oil temperature")
        }
        Along::Viscosity(..) => false,
    }
}

fn headline(units: Units, name: &str, runs: &[(&OilSheet, Vec<Step>)]) -> String {
    let speeds = runs
        .iter()
        .flat_map(|(_, steps)| steps.iter().map(|s| s.state.fan_speed));
    let (low, high) = speeds.fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
    format!(
        "Over {name} the fan makes {} to {}.",
        units.show(Kind::Speed, low),
        units.show(Kind::Speed, high)
    )
}

/// What limits the speed along the sweep.
fn limits(units: Units, kind: Kind, oil: &OilSheet, steps: &[Step]) -> String {
    let parts: Vec<String> = sweep::stretches(steps)
        .into_iter()
        .map(|(limit, from, to)| {
            format!(
                "{} from {} to {}",
                limit.key(),
                units.show(kind, from),
                units.show(kind, to)
            )
        })
        .collect();
    format!("{}: limited by {}.", oil.name, parts.join(", "))
}

fn row(kind: Kind, oil: &OilSheet, step: &Step) -> Vec<String> {
    vec![
        if oil.key.is_empty() {
            oil.name.clone()
        } else {
            oil.key.clone()
        },
        format!("{:.6}", kind.to_json(step.x)),
        format!("{:.3}", Kind::Speed.to_json(step.state.fan_speed)),
        format!(
            "{:.4}",
            Kind::Pressure.to_json(step.state.supply_gauge_pressure)
        ),
        format!(
            "{:.4}",
            Kind::Pressure.to_json(step.state.motor_pressure_drop)
        ),
        format!("{:.2}", step.state.pump_shaft_power),
        step.operating.limit.key().into(),
    ]
}
