//! Why is this fan slower than another, place by place, and can the oil alone explain a reading?

use super::answer::{Answer, Bar, Bars, Block, Chart, Curve, Mark, Stretch, Table};
use super::words;
use crate::balance::{Operating, State};
use crate::fault;
use crate::input::unit::celsius;
use crate::input::{Input, Place};
use crate::model::{Ask, Case, OILS, OilSheet, Posed, Shelf, measured_speed};
use crate::quantity::{Kind, Measure, Units};
use crate::trouble::{Trouble, Troubles};
use crate::vary::inverse::{self, SPAN};
use crate::vary::{shares, sweep};
use serde_json::{Map, Value, json};

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// This case.
    pub posed: Posed,
    /// The case it is held against; none where only a reading is to be explained.
    pub against: Option<Posed>,
    /// A speed that was measured, with its ±.
    pub measured: Option<Measure>,
    /// The oils that people pour in.
    pub poured: Vec<OilSheet>,
}

/// What a case is held against, as typed; nothing where it is the same.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Against {
    /// Another oil.
    pub oil: Option<String>,
    /// Another oil temperature.
    pub oil_temp: Option<String>,
    /// Another machine.
    pub machine: Option<String>,
    /// Other faults, each as `worn-pump=0.4`.
    pub with: Vec<String>,
}

/// Understands what is asked, as typed.
pub fn pose(
    ask: &Ask,
    with: &[String],
    against: &Against,
    measured: Option<&str>,
    shelf: Shelf,
) -> Result<Question, Troubles> {
    let posed = fault::pose(ask, with, shelf)?;
    let measured = measured
        .map(measured_speed)
        .transpose()
        .map_err(|t| vec![t])?;
    let held = against.oil.is_some()
        || against.oil_temp.is_some()
        || against.machine.is_some()
        || !against.with.is_empty();
    if !held && measured.is_none() {
        let trouble = Trouble::input(
            "nothing to hold this case against",
            "--against-oil, --against-oil-temp, --against-machine, --against-with or --measured",
        )
        .hint(format!(
            "oilwheel why {} --against-oil transmission-multi-vehicle",
            ask.machine
        ));
        return Err(vec![trouble.at("why")]);
    }
    let against = if held {
        let mut other = ask.clone();
        other.oil = against.oil.clone().or(other.oil);
        if let Some(oil_temp) = &against.oil_temp {
            other.oil_temp = Some(oil_temp.clone());
        }
        if let Some(machine) = &against.machine {
            other.machine = machine.clone();
            other.machine_text = None;
        }
        // What is wrong only there is said of what was typed there.
        let there = |mut trouble: Trouble| {
            let source = match trouble.spot.source.as_str() {
                "oil" if against.oil.is_some() => "--against-oil",
                "--oil-temp" => "--against-oil-temp",
                "machine" => "--against-machine",
                other => other,
            };
            trouble.spot.source = source.to_string();
            trouble
        };
        let posed = other.pose(shelf);
        let mut posed = posed.map_err(|all| all.into_iter().map(there).collect::<Troubles>())?;
        // Another oil, temperature or machine is compared with the same faults; a fault, with its absence.
        let same = if against.with.is_empty() { with } else { &[] };
        fault::put_on(&mut posed, same, "--with")?;
        fault::put_on(&mut posed, &against.with, "--against-with")?;
        Some(posed)
    } else {
        None
    };
    let poured = OILS
        .iter()
        .map(|(key, _)| Shelf::LibraryOnly.oil(key))
        .collect::<Result<_, _>>()?;
    Ok(Question {
        posed,
        against,
        measured,
        poured,
    })
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Trouble> {
    let posed = &question.posed;
    let units = posed.units;
    let (state, operating) = State::of(&posed.case)?;
    let mut answer = Answer {
        question: "why",
        case: posed.said.clone(),
        ..Answer::default()
    };
    answer.cautions = words::cautions(posed, &state, operating.limit);
    words::put_state(&mut answer.numbers, &state);
    words::put_settled(&mut answer.numbers, posed, "");
    answer
        .numbers
        .insert("limited_by".into(), json!(operating.limit.key()));
    match &question.against {
        Some(against) => compare(&mut answer, posed, (&state, &operating), against)?,
        None => {
            let speed = units.show(Kind::Speed, state.fan_speed);
            answer.blocks.push(Block::Headline(format!(
                "The fan should make {speed}, limited by {}.",
                operating.limit.words()
            )));
        }
    }
    let (chart, series) = over_viscosity(question, &state)?;
    if let Some(measured) = question.measured {
        explain(&mut answer, question, &state, measured)?;
    }
    answer.blocks.push(Block::Chart(chart));
    answer.series = series;
    answer.blocks.push(Block::Safety(words::safety()));
    Ok(answer)
}

/// The two cases, and the difference shared among the places.
fn compare(
    answer: &mut Answer,
    posed: &Posed,
    (state, operating): (&State, &Operating),
    against: &Posed,
) -> Result<(), Trouble> {
    let units = posed.units;
    let (other, other_operating) = State::of(&against.case)?;
    for (label, value) in against
        .said
        .iter()
        .filter(|entry| !posed.said.contains(entry))
    {
        answer
            .case
            .push((format!("against: {label}"), value.clone()));
    }
    for caution in words::cautions(against, &other, other_operating.limit) {
        if !answer.cautions.contains(&caution) {
            answer
                .cautions
                .push(format!("Of the case held against: {caution}"));
        }
    }
    let difference = state.fan_speed - other.fan_speed;
    let rpm = |v| units.show(Kind::Speed, v);
    let share = if other.fan_speed > 0.0 {
        difference / other.fan_speed
    } else {
        0.0
    };
    let equal = difference.abs() < 1e-9 * other.fan_speed.max(1.0);
    answer.blocks.push(Block::Headline(if equal {
        format!(
            "Both cases make {}: there is no difference to explain.",
            rpm(state.fan_speed)
        )
    } else {
        format!(
            "This fan makes {}, the one held against it {}: {} ({}).",
            rpm(state.fan_speed),
            rpm(other.fan_speed),
            words::faster_or_slower(units, difference),
            units.show(Kind::Share, share.abs())
        )
    }));
    let mut say = |text: String| answer.blocks.push(Block::Sentence(text));
    if let (Some(this), Some(there)) = (words::ends_at(posed), words::ends_at(against)) {
        say(format!(
            "Each case stands where its oil ends: this one at {this}; the one held against it at {there}."
        ));
    }
    say(format!(
        "This one is limited by {}. {}",
        operating.limit.words(),
        thicker(units, &posed.case, operating)
    ));
    say(format!(
        "The one held against it is limited by {}. {}",
        other_operating.limit.words(),
        thicker(units, &against.case, &other_operating)
    ));
    let n = &mut answer.numbers;
    words::put_settled(n, against, "_against");
    words::put(n, "fan_speed_against", Kind::Speed, other.fan_speed);
    words::put(n, "difference", Kind::Speed, difference);
    n.insert(
        "limited_by_against".into(),
        json!(other_operating.limit.key()),
    );
    if !posed.case.same_shape(&against.case) {
        answer.blocks.push(Block::Sentence(
            "The two machines differ in shape (other parts, or other choices), so the difference cannot be shared among places."
                .into(),
        ));
        answer.numbers.insert("shares_rpm".into(), Value::Null);
        return Ok(());
    }
    let found = shares::shares(&against.case, &posed.case)?;
    let keyed: Map<String, Value> = found
        .iter()
        .map(|(place, v)| (place.key().to_string(), json!(Kind::Speed.to_json(*v))))
        .collect();
    answer
        .numbers
        .insert("shares_rpm".into(), Value::Object(keyed));
    if !equal {
        if let Some(text) = split(units, &posed.case, &against.case, &mut answer.numbers)? {
            answer.blocks.push(Block::Sentence(text));
        }
        answer
            .blocks
            .push(Block::Bars(bars(units, found, difference)));
    }
    Ok(())
}

/// What a slightly thicker oil would do in a case, with its sign as computed.
fn thicker(units: Units, case: &Case, operating: &Operating) -> String {
    let slope = State::along(&case.along(Input::OIL_THICKNESS), operating)
        .fan_speed
        .eps
        * case.oil.thickness;
    if operating.omega <= 0.0 || slope.abs() * 0.1 < 5e-4 * operating.omega {
        return "A 10 % thicker oil would make next to no difference there.".into();
    }
    format!(
        "A 10 % thicker oil would run it about {} there.",
        words::faster_or_slower(units, 0.1 * slope)
    )
}

/// Grade or temperature, where both differ.
fn split(
    units: Units,
    case: &Case,
    against: &Case,
    numbers: &mut Map<String, Value>,
) -> Result<Option<String>, Trouble> {
    let Some((grade, temperature)) = shares::grade_or_temperature(against, case)? else {
        return Ok(None);
    };
    let by = json!({
        "grade_rpm": Kind::Speed.to_json(grade),
        "temperature_rpm": Kind::Speed.to_json(temperature),
    });
    numbers.insert("grade_or_temperature".into(), by);
    Ok(Some(format!(
        "Of what the oil does, its grade makes the fan {} and its temperature {}.",
        words::faster_or_slower(units, grade),
        words::faster_or_slower(units, temperature)
    )))
}

/// The shares as bars, largest first.
fn bars(units: Units, mut found: Vec<(Place, f64)>, difference: f64) -> Bars {
    found.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    found.retain(|(_, v)| v.abs() > 5e-4 * difference.abs());
    Bars {
        title: "What makes the difference, place by place".into(),
        label: format!("change of fan speed, {}", units.unit(Kind::Speed)),
        rows: found
            .into_iter()
            .map(|(place, v)| Bar {
                name: place.name().into(),
                value: units.number(Kind::Speed, v),
                range: None,
                note: String::new(),
            })
            .collect(),
    }
}

/// Fan speed over viscosity at this condition: both oils marked, the limits shaded.
fn over_viscosity(question: &Question, state: &State) -> Result<(Chart, Table), Trouble> {
    let posed = &question.posed;
    let units = posed.units;
    let base = inverse::base_viscosity(&posed.case);
    let own = base * posed.case.oil.thickness;
    let (mut low, mut high) = (2e-6_f64.min(0.5 * own), 1e-3_f64.max(2.0 * own));
    let mut marks = vec![(posed.oil.name.clone(), own, state.fan_speed)];
    if let Some(against) = &question.against {
        let nu = inverse::base_viscosity(&against.case) * against.case.oil.thickness;
        (low, high) = (low.min(0.5 * nu), high.max(2.0 * nu));
        let name = if against.oil.name == posed.oil.name {
            "held against".into()
        } else {
            against.oil.name.clone()
        };
        marks.push((name, nu, State::of(&against.case)?.0.fan_speed));
    }
    let steps = inverse::over_viscosity(&posed.case, low.max(SPAN.0), high.min(10.0 * SPAN.1), 160);
    let x = |nu: f64| units.number(Kind::KinematicViscosity, nu);
    let y = |omega: f64| units.number(Kind::Speed, omega);
    let chart = Chart {
        title: "Fan speed over the oil's viscosity in this condition, and what limits it".into(),
        x_label: format!(
            "viscosity at this temperature, {}",
            units.unit(Kind::KinematicViscosity)
        ),
        y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
        x_log: true,
        y_from_zero: true,
        curves: vec![Curve {
            name: "this machine".into(),
            points: steps
                .iter()
                .map(|s| (x(s.x), y(s.state.fan_speed)))
                .collect(),
            band: Vec::new(),
        }],
        stretches: sweep::stretches(&steps)
            .into_iter()
            .map(|(limit, from, to)| Stretch {
                name: limit.key().into(),
                from: x(from),
                to: x(to),
            })
            .collect(),
        marks: marks
            .into_iter()
            .map(|(name, nu, v)| Mark {
                name,
                x: x(nu),
                y: y(v),
                spread: 0.0,
            })
            .collect(),
        levels: question
            .measured
            .map(|m| {
                vec![(
                    format!("measured, {}", units.show(Kind::Speed, m.value)),
                    y(m.value),
                )]
            })
            .unwrap_or_default(),
        ..Chart::default()
    };
    let table = Table {
        title: String::new(),
        heads: vec![
            "viscosity_mm2_per_s".into(),
            "fan_speed_rpm".into(),
            "limited_by".into(),
        ],
        rows: steps
            .iter()
            .map(|s| {
                vec![
                    format!("{:.5}", Kind::KinematicViscosity.to_json(s.x)),
                    format!("{:.3}", Kind::Speed.to_json(s.state.fan_speed)),
                    s.operating.limit.key().into(),
                ]
            })
            .collect(),
        numeric: vec![0, 1],
    };
    Ok((chart, table))
}

/// What the oils that people pour in can do at a temperature.
struct Poured {
    /// Thinnest and thickest of them, m²/s.
    span: (f64, f64),
    /// The viscosities that would make the reading.
    needed: Vec<(f64, f64)>,
    /// What stays unexplained with the best of them: computed less measured, rad/s.
    unexplained: f64,
}

fn poured(case: &Case, oils: &[OilSheet], measured: Measure) -> Poured {
    let at: Vec<f64> = oils
        .iter()
        .map(|o| o.curve.viscosity(case.now.oil_temp))
        .collect();
    let own = inverse::base_viscosity(case);
    let span = at
        .iter()
        .fold((own, own), |(low, high), nu| (low.min(*nu), high.max(*nu)));
    let (low, high) = (
        measured.value - measured.spread,
        measured.value + measured.spread,
    );
    let needed = inverse::viscosities(case, low, high);
    let within = needed.iter().any(|(a, b)| *a <= span.1 && *b >= span.0);
    let unexplained = if within {
        0.0
    } else {
        inverse::over_viscosity(case, span.0, span.1, 60)
            .iter()
            .map(|s| s.state.fan_speed - measured.value)
            .min_by(|a, b| a.abs().total_cmp(&b.abs()))
            .unwrap_or(0.0)
    };
    Poured {
        span,
        needed,
        unexplained,
    }
}

/// Whether a reading can be the oil's doing alone, here and at other temperatures.
fn explain(
    answer: &mut Answer,
    question: &Question,
    state: &State,
    measured: Measure,
) -> Result<(), Trouble> {
    let posed = &question.posed;
    let units = posed.units;
    let nu = |v: f64| units.show(Kind::KinematicViscosity, v);
    let kind = Kind::KinematicViscosity;
    let unit = units.unit(kind);
    let bare = |v: f64| nu(v).trim_end_matches(unit).trim_end().to_string();
    let short = |(a, b): &(f64, f64)| {
        let open = *b > 0.999 * SPAN.1;
        if open {
            format!("{} or more", bare(*a))
        } else {
            format!("{} to {}", bare(*a), bare(*b))
        }
    };
    let range = |(a, b): &(f64, f64)| {
        let open = *b > 0.999 * SPAN.1;
        if open {
            format!("{} or more", nu(*a))
        } else {
            format!("{} to {}", nu(*a), nu(*b))
        }
    };
    let here = poured(&posed.case, &question.poured, measured);
    let needed = here
        .needed
        .iter()
        .map(range)
        .collect::<Vec<_>>()
        .join(", or ");
    let span = range(&here.span);
    let reading = units.show_spread(Kind::Speed, measured.value, measured.spread);
    let temperature = units.show(Kind::Temperature, posed.case.now.oil_temp);
    let text = if here.needed.is_empty() {
        format!(
            "No oil, however thick or thin, makes this machine turn at {reading} in this condition (it would make {}). The oil alone does not explain the reading: {} stay unexplained. Something else is at work: air in the oil, wear, the valve, the inlet, or the control.",
            units.show(Kind::Speed, state.fan_speed),
            units.show(Kind::Speed, here.unexplained.abs())
        )
    } else if here.unexplained.abs() > 0.0 {
        format!(
            "To explain {reading} by itself the oil would have to have {needed} at {temperature}. What people pour in has {span} there, so the oil alone does not explain it: {} stay unexplained. Something else is at work: air in the oil, wear, the valve, the inlet, or the control.",
            units.show(Kind::Speed, here.unexplained.abs())
        )
    } else {
        format!(
            "The oil alone could explain {reading}: it would have to have {needed} at {temperature}, and what people pour in has {span} there. That is possible, not proven: a timed-cup viscosity or fresh oil would tell."
        )
    };
    answer.blocks.push(Block::Sentence(text));

    let mut table = Table {
        title: format!(
            "If {reading} had been read at another oil temperature: when would the oil be to blame?"
        ),
        heads: vec![
            "oil".into(),
            "fan computed".into(),
            format!("needed, {unit}"),
            format!("poured in, {unit}"),
            "the oil?".into(),
        ],
        rows: Vec::new(),
        numeric: vec![0, 1],
    };
    let mut listed = Vec::new();
    for t in [-20.0, -10.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0] {
        let mut case = posed.case;
        case.now.oil_temp = celsius(t);
        let (there, _) = State::of(&case)?;
        let found = poured(&case, &question.poured, measured);
        let needed = found
            .needed
            .iter()
            .map(short)
            .collect::<Vec<_>>()
            .join(", or ");
        let yes = found.unexplained.abs() <= 0.0;
        table.rows.push(vec![
            units.show(Kind::Temperature, case.now.oil_temp),
            units.show(Kind::Speed, there.fan_speed),
            if needed.is_empty() {
                "none does".into()
            } else {
                needed
            },
            short(&found.span),
            if yes {
                "yes".into()
            } else {
                format!(
                    "no, {} left",
                    units.show(Kind::Speed, found.unexplained.abs())
                )
            },
        ]);
        listed.push(json!({
            "oil_temp_c": t,
            "fan_speed_rpm": Kind::Speed.to_json(there.fan_speed),
            "viscosities_needed": intervals(&found.needed),
            "unexplained_rpm": Kind::Speed.to_json(found.unexplained),
        }));
    }
    answer.blocks.push(Block::Table(table));
    let n = &mut answer.numbers;
    n.insert("viscosities_needed".into(), intervals(&here.needed));
    n.insert(
        "viscosities_poured_mm2_per_s".into(),
        intervals(&[here.span]),
    );
    n.insert(
        "unexplained_rpm".into(),
        json!(Kind::Speed.to_json(here.unexplained)),
    );
    n.insert("over_oil_temp".into(), Value::Array(listed));
    Ok(())
}

/// Intervals of viscosity in mm²/s.
fn intervals(found: &[(f64, f64)]) -> Value {
    let mm2 = |nu: f64| Kind::KinematicViscosity.to_json(nu);
    Value::Array(
        found
            .iter()
            .map(|(a, b)| json!([mm2(*a), mm2(*b)]))
            .collect(),
    )
}
