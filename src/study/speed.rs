//! What speed should this fan make, what limits it, and is a reading really slow?

use super::answer::{Answer, Bar, Bars, Block, Chart, Curve, Mark, Stretch, Table};
use super::words;
use crate::balance::{LOSSES, Limit, Operating, Output, State};
use crate::input::Input;
use crate::model::Posed;
use crate::quantity::{Kind, Measure};
use crate::trouble::Trouble;
use crate::vary::derivative::{Sensitivity, half_width, sensitivities};
use crate::vary::sample::{self, Band};
use crate::vary::sweep::{self, Step};
use serde_json::{Value, json};

/// How many cases are drawn for the sampled band.
const DRAWN: usize = 400;
/// The seed they are drawn with.
const SEED: u64 = 20_261_125;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Machine, oil, condition.
    pub posed: Posed,
    /// A speed that was measured, with its ±.
    pub measured: Option<Measure>,
}

/// Everything that the words and pictures are made of.
struct Found {
    state: State,
    operating: Operating,
    slopes: Vec<Sensitivity>,
    /// Half the width of the linear band, rad/s.
    half: f64,
    /// The sampled band.
    sampled: Option<Band>,
    others: Vec<(Limit, f64)>,
    full_from: Option<f64>,
}

impl Found {
    /// The sampled band, where it is another than the linear one.
    fn apart(&self) -> Option<Band> {
        self.sampled
            .filter(|band| differs(self.state.fan_speed, self.half, band))
    }

    /// The ends of the band that is told, rad/s.
    fn ends(&self) -> (f64, f64) {
        let speed = self.state.fan_speed;
        match self.apart() {
            Some(band) => (band.low, band.high),
            None => ((speed - self.half).max(0.0), speed + self.half),
        }
    }
}

fn find(posed: &Posed) -> Result<Found, Trouble> {
    let case = &posed.case;
    let (state, operating) = State::of(case)?;
    let slopes = sensitivities(case, &operating);
    let half = half_width(
        &slopes,
        &posed.spread,
        &posed.machine.correlations,
        Output::FAN_SPEED,
    );
    let drawn = sample::draw(
        case,
        &posed.spread,
        &posed.machine.correlations,
        DRAWN,
        SEED,
    );
    let sampled = sample::speed_band(&drawn, &operating);
    let engine = input("now.engine_speed");
    let (idle, full) = (
        posed.machine.usual("idle").value,
        posed.machine.usual("full").value,
    );
    Ok(Found {
        others: operating.other_limits(case),
        full_from: sweep::full_from(case, engine, 0.3 * idle, full),
        state,
        operating,
        slopes,
        half,
        sampled,
    })
}

fn input(key: &str) -> Input {
    Input::find(key).unwrap_or(Input(0))
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Trouble> {
    let posed = &question.posed;
    let units = posed.units;
    let found = find(posed)?;
    let (state, limit) = (&found.state, found.operating.limit);
    let rpm = |omega: f64| units.show(Kind::Speed, omega);

    let mut answer = Answer {
        question: "speed",
        case: posed.said.clone(),
        ..Answer::default()
    };
    let band = match found.apart() {
        Some(band) => format!(
            "{} ({} to {})",
            rpm(state.fan_speed),
            rpm(band.low),
            rpm(band.high)
        ),
        None => words::speed_band(units, state.fan_speed, found.half),
    };
    let headline = if limit == Limit::Standstill {
        "The fan stands.".to_string()
    } else {
        format!("The fan makes {band}, limited by {}.", limit.words())
    };
    answer.blocks.push(Block::Headline(headline));

    let mut say = |text: String| answer.blocks.push(Block::Sentence(text));
    if let Some(end) = words::ends_at(posed) {
        say(format!("Running on like this, the oil ends at {end}."));
    }
    if let Some(measured) = question.measured {
        say(verdict(posed, &found, measured));
    }
    if let Some((next, speed)) = found.others.first() {
        say(if *speed > state.fan_speed * 1.5 {
            format!(
                "No other limit is near: the next, {}, would come at {}.",
                next.name(),
                rpm(*speed)
            )
        } else {
            format!(
                "The next limit is near: without the present one, {} would hold the fan to {}.",
                next.name(),
                rpm(*speed)
            )
        });
    }
    say(match found.full_from {
        Some(engine) => format!(
            "Full fan speed is reached from {} of the engine on; below that the pump cannot deliver enough.",
            rpm(engine)
        ),
        None => "Within its engine speeds this drive never reaches full fan speed: the pump's delivery limits all the way.".into(),
    });
    say(thicker(posed, &found));
    if let Some(band) = found.apart() {
        let why = if band.other_limit > 0.0 {
            format!(
                "; in {} of the cases another limit acts",
                units.show(Kind::Share, band.other_limit)
            )
        } else {
            String::new()
        };
        say(format!(
            "The speed does not go straight with the inputs, so the band comes from drawing them all within their ± (95 %){why}."
        ));
    }
    let (reached, starts_at) = Operating::start(&posed.case)?;
    if posed.case.now.engine_speed > 0.0 {
        say(if reached >= starts_at {
            format!(
                "A standing fan would start: {} are there, {} needed.",
                units.show(Kind::Pressure, reached),
                units.show(Kind::Pressure, starts_at)
            )
        } else {
            format!(
                "A standing fan would not start: {} are there, {} needed.",
                units.show(Kind::Pressure, reached),
                units.show(Kind::Pressure, starts_at)
            )
        });
    }

    answer.blocks.push(Block::Next(words::next(limit).into()));

    let (chart, series) = over_engine_speed(posed, &found, question.measured);
    answer.series = series;
    answer.blocks.push(Block::Chart(chart));
    answer
        .blocks
        .push(Block::Table(words::state_table(units, state)));
    answer.blocks.push(Block::Bars(watts(posed, state)));
    let depends = depends_on(posed, &found);
    if !depends.rows.is_empty() {
        answer.blocks.push(Block::Bars(depends));
    }
    answer.blocks.push(Block::Circuit(words::circuit(
        units,
        &posed.case,
        state,
        limit,
    )));
    answer.blocks.push(Block::Safety(words::safety()));
    answer.cautions = words::cautions(posed, state, limit);
    let left_out = words::left_out(posed, &found.slopes, state);
    answer.cautions.extend(left_out);
    if let Some((low, high)) = found
        .operating
        .sides(&posed.case.along(input("oil.thickness")))
    {
        answer.cautions.push(format!(
            "Two limits meet at this speed, so a change has two slopes: a 1 % thinner oil costs or gives {:+.2} rpm, a 1 % thicker one {:+.2} rpm.",
            -0.01 * Kind::Speed.to_json(low),
            0.01 * Kind::Speed.to_json(high)
        ));
    }
    numbers(&mut answer, question, &found);
    Ok(answer)
}

/// Whether an end of the sampled band lies off the linear one's by more than a tenth of that one's half width.
fn differs(middle: f64, half: f64, band: &Band) -> bool {
    let off = |a: f64| (a - half).abs() > 0.1 * half.max(1e-9) && (a - half).abs() > 0.01 * middle;
    off(band.high - middle) || off(middle - band.low)
}

/// What a slightly thicker oil would do here, with its sign as computed.
fn thicker(posed: &Posed, found: &Found) -> String {
    let slope = found
        .slopes
        .iter()
        .find(|s| s.input == input("oil.thickness"))
        .map_or(0.0, |s| s.slope.fan_speed);
    let change = 0.1 * slope;
    if found.state.fan_speed <= 0.0 {
        return "How thick the oil is makes no difference to a fan that stands, as long as it stands.".into();
    }
    if change.abs() < 0.0005 * found.state.fan_speed {
        return "How thick the oil is hardly matters in this condition.".into();
    }
    format!(
        "An oil 10 % thicker than this would run the fan about {} here.",
        words::faster_or_slower(posed.units, change)
    )
}

/// Whether a measured speed is really slow.
fn verdict(posed: &Posed, found: &Found, measured: Measure) -> String {
    let units = posed.units;
    let (short, sigma) = shortfall(found, measured);
    let reading = units.show_spread(Kind::Speed, measured.value, measured.spread);
    let size = units.show(Kind::Speed, short.abs());
    let way = if short >= 0.0 { "below" } else { "above" };
    let judged = match sigma.abs() {
        s if s < 1.0 => {
            "That is well within what instrument and machine spread explain: no fault is shown by this reading."
        }
        s if s < 2.0 => {
            "Instrument and machine spread may still explain it: measure again, or narrow the machine by readings of when it was well."
        }
        s if s < 3.0 => "Instrument and machine spread hardly explain it.",
        _ => "That is far outside what instrument and machine spread explain.",
    };
    let so = if sigma >= 2.0 {
        " The fan is really slow."
    } else if sigma <= -2.0 {
        " The fan is really fast: is the machine file right, or the valve stuck at full?"
    } else {
        ""
    };
    format!(
        "The reading of {reading} lies {size} {way} what this machine should make, {:.1} standard deviations. {judged}{so}",
        sigma.abs()
    )
}

/// By how much a reading is short of the computed speed, rad/s, and in standard deviations of reading and machine.
fn shortfall(found: &Found, measured: Measure) -> (f64, f64) {
    let short = found.state.fan_speed - measured.value;
    let sigma = 0.5 * found.half.hypot(measured.spread);
    (short, if sigma > 0.0 { short / sigma } else { 0.0 })
}

/// Fan speed over engine speed, with what limits it, and the same as a table.
fn over_engine_speed(posed: &Posed, found: &Found, measured: Option<Measure>) -> (Chart, Table) {
    let units = posed.units;
    let engine = input("now.engine_speed");
    let (idle, full) = (
        posed.machine.usual("idle").value,
        posed.machine.usual("full").value,
    );
    let now = posed.case.now.engine_speed;
    let from = (0.5 * idle).min(now.max(0.1 * idle));
    let speeds = sweep::values(from, full.max(now), 121, false);
    let steps: Vec<Step> = sweep::sweep(&posed.case, engine, &speeds)
        .into_iter()
        .flatten()
        .collect();
    let unit = units.unit(Kind::Speed);
    let x = |v: f64| units.number(Kind::Speed, v);
    let stretches = sweep::stretches(&steps)
        .into_iter()
        .map(|(limit, from, to)| Stretch {
            name: limit.key().into(),
            from: x(from),
            to: x(to),
        })
        .collect();
    let mut marks = vec![Mark {
        name: "computed".into(),
        x: x(now),
        y: x(found.state.fan_speed),
        spread: x(found.half),
    }];
    if let Some(m) = measured {
        marks.push(Mark {
            name: "measured".into(),
            x: x(now),
            y: x(m.value),
            spread: x(m.spread),
        });
    }
    let chart = Chart {
        title: "Fan speed over engine speed, and what limits it".into(),
        x_label: format!("engine speed, {unit}"),
        y_label: format!("fan speed, {unit}"),
        y_from_zero: true,
        curves: vec![Curve {
            name: posed.oil.name.clone(),
            points: steps
                .iter()
                .map(|s| (x(s.x), x(s.state.fan_speed)))
                .collect(),
            band: Vec::new(),
        }],
        stretches,
        marks,
        ..Chart::default()
    };
    let table = Table {
        title: String::new(),
        heads: vec![
            "engine_speed_rpm".into(),
            "fan_speed_rpm".into(),
            "supply_gauge_pressure_bar".into(),
            "limited_by".into(),
        ],
        rows: steps
            .iter()
            .map(|s| {
                vec![
                    format!("{:.1}", Kind::Speed.to_json(s.x)),
                    format!("{:.2}", Kind::Speed.to_json(s.state.fan_speed)),
                    format!(
                        "{:.3}",
                        Kind::Pressure.to_json(s.state.supply_gauge_pressure)
                    ),
                    s.operating.limit.key().into(),
                ]
            })
            .collect(),
        numeric: vec![0, 1, 2],
    };
    (chart, table)
}

/// Where the pump's shaft power goes.
fn watts(posed: &Posed, state: &State) -> Bars {
    let units = posed.units;
    let total = state.pump_shaft_power;
    let mut rows: Vec<Bar> = LOSSES
        .iter()
        .zip(state.losses)
        .filter(|(_, w)| w.abs() > 0.001 * total)
        .map(|((_, name), w)| Bar {
            name: (*name).into(),
            value: units.number(Kind::Power, w),
            range: None,
            note: units.show(Kind::Share, w / total.max(1e-12)),
        })
        .collect();
    rows.sort_by(|a, b| b.value.total_cmp(&a.value));
    Bars {
        title: format!(
            "Where the {} at the pump's shaft go",
            units.show(Kind::Power, total)
        ),
        label: format!("power, {}", units.unit(Kind::Power)),
        rows,
    }
}

/// What the speed depends on most: the effect of each input's ± on the speed.
fn depends_on(posed: &Posed, found: &Found) -> Bars {
    let units = posed.units;
    let mut rows: Vec<Bar> = found
        .slopes
        .iter()
        .filter_map(|s| {
            let spread = posed.spread.get(s.input).filter(|h| *h > 0.0)?;
            let effect = units.number(Kind::Speed, s.slope.fan_speed * spread);
            (effect.abs() > 0.0).then(|| Bar {
                name: format!(
                    "{}: {}",
                    s.input.part(),
                    s.input
                        .field()
                        .help
                        .split(&[',', ';'][..])
                        .next()
                        .unwrap_or_default()
                ),
                value: effect,
                range: None,
                note: format!(
                    "if {} more",
                    units.show(difference(s.input.field().kind), spread)
                ),
            })
        })
        .collect();
    // Two that do the same, but for rounding, stand in the order of the inputs.
    let size = |row: &Bar| row.value.abs() as f32;
    rows.sort_by(|a, b| size(b).total_cmp(&size(a)));
    rows.truncate(10);
    Bars {
        title: "What the answer's ± comes from".into(),
        label: format!("change of fan speed, {}", units.unit(Kind::Speed)),
        rows,
    }
}

/// The kind of a difference between two values of a kind.
fn difference(kind: Kind) -> Kind {
    if kind == Kind::Temperature {
        Kind::TemperatureDifference
    } else {
        kind
    }
}

fn numbers(answer: &mut Answer, question: &Question, found: &Found) {
    let state = &found.state;
    let n = &mut answer.numbers;
    words::put_state(n, state);
    words::put_settled(n, &question.posed, "");
    words::put(n, "fan_speed_low", Kind::Speed, found.ends().0);
    words::put(n, "fan_speed_high", Kind::Speed, found.ends().1);
    if let Some(band) = found.sampled {
        words::put(n, "fan_speed_sampled_low", Kind::Speed, band.low);
        words::put(n, "fan_speed_sampled_high", Kind::Speed, band.high);
    }
    n.insert("limited_by".into(), json!(found.operating.limit.key()));
    let others: Vec<Value> = found
        .others
        .iter()
        .map(|(limit, speed)| json!({"limit": limit.key(), "fan_speed_rpm": Kind::Speed.to_json(*speed)}))
        .collect();
    n.insert("next_limits".into(), Value::Array(others));
    n.insert("command".into(), json!(found.operating.command));
    n.insert("evaluations".into(), json!(found.operating.evaluations));
    let slopes: Vec<Value> = found
        .slopes
        .iter()
        .map(|s| {
            let kind = s.input.field().kind;
            let percent = if kind == Kind::Temperature {
                0.01 * (s.value - 273.15)
            } else {
                0.01 * s.value
            };
            json!({
                "input": s.input.key(),
                "value": kind.to_json(s.value),
                "unit": kind.json_suffix(),
                "rpm_per_percent": Kind::Speed.to_json(s.slope.fan_speed * percent),
            })
        })
        .collect();
    n.insert("sensitivities".into(), Value::Array(slopes));
    n.insert(
        "full_speed_from_engine_rpm".into(),
        json!(found.full_from.map(|v| Kind::Speed.to_json(v))),
    );
    let (short, sigma) = match question.measured {
        Some(measured) => {
            let (short, sigma) = shortfall(found, measured);
            (Some(Kind::Speed.to_json(short)), Some(sigma))
        }
        None => (None, None),
    };
    n.insert("shortfall_rpm".into(), json!(short));
    n.insert("shortfall_sigma".into(), json!(sigma));
}
