//! Presents the outcome of `why` in words and pictures.

use super::answer::{Bar, Bars, Block, Chart, Curve, Figure, Mark, Next, Stretch, Table};
use super::suspects::percent;
use super::{Presentation, caution, words};
use crate::fault;
use crate::input::Place;
use crate::model::Setup;
use crate::quantity::{Kind, Measure, Units};
use crate::question::why::{Comparison, Explanation, Found, Viscosities, Why};
use crate::question::{Keyed, Series, suspects};
use crate::vary::inverse::SPAN;

/// Presents the outcome of the question.
pub fn tell(request: &Why, found: &Found) -> Presentation {
    let setup = &request.setup;
    let units = setup.units;
    let mut told = Presentation::about(setup);
    let rpm = |v| units.show(Kind::Speed, v);
    let reading = request
        .measured
        .map(|m| units.show_spread(Kind::Speed, m.value, m.spread));
    match (&request.baseline, &found.comparison.0) {
        (Some(baseline), Some(comparison)) => {
            compare(&mut told, setup, baseline, found, comparison);
            // Where there is nothing to compare, the reading is what was asked about.
            if let (true, Some(reading), Some(explanation)) =
                (comparison.equal, &reading, &found.explanation.0)
            {
                told.blocks
                    .retain(|block| !matches!(block, Block::Headline(_)));
                told.headline(oil_verdict(units, found, reading, explanation));
                told.figure = None;
            }
        }
        _ => {
            let speed = rpm(found.state.fan_speed);
            told.headline(format!(
                "The fan should make {speed}, limited by {}.",
                found.limit.words()
            ));
            told.figure = Some(Figure {
                figure: speed,
                label: "fan speed, computed".into(),
                key: "fan_speed",
            });
        }
    }
    if let (Some(reading), Some(explanation)) = (&reading, &found.explanation.0) {
        told.say(by_the_oil_alone(setup, found, reading, explanation));
        told.show(Block::Next(Next {
            words: "weigh all causes of this reading, and see which test tells most.".into(),
            question: suspects::QUESTION.key,
            ..Next::default()
        }));
        told.show(Block::Table(at_other_temperatures(
            units,
            reading,
            explanation,
        )));
    }
    told.show(Block::Chart(versus_viscosity(request, found)));
    told.show(Block::Safety(caution::safety()));
    told.cautions.clone_from(&found.cautions);
    told.series = Series::of(&found.series);
    told
}

/// Compares the two cases, with the contribution of each place of the circuit to the difference.
fn compare(
    told: &mut Presentation,
    setup: &Setup,
    baseline: &Setup,
    found: &Found,
    comparison: &Comparison,
) {
    let units = setup.units;
    let rpm = |v| units.show(Kind::Speed, v);
    let (own, other) = (found.state.fan_speed, comparison.fan_speed);
    let difference = comparison.difference;
    let differs: Vec<_> = words::assumptions(baseline)
        .into_iter()
        .filter(|entry| !told.assumptions.contains(entry))
        .map(|(label, value)| (format!("baseline: {label}"), value))
        .collect();
    told.assumptions.extend(differs);
    let sign = if difference > 0.0 { "+" } else { "" };
    told.figure = Some(Figure {
        figure: format!("{sign}{}", rpm(difference)),
        label: format!(
            "difference from the fan speed {}",
            in_words(setup, baseline)
        ),
        key: "fan_speed",
    });
    let wide = comparison.band.filter(|b| b.high > b.low);
    told.headline(if let (true, Some(band)) = (comparison.equal, wide) {
        format!(
            "Both cases make {}. Within the machine's ±, the difference is {} to {}.",
            rpm(own),
            rpm(band.low),
            rpm(band.high)
        )
    } else if comparison.equal {
        format!(
            "Both cases make {}: there is no difference to explain.",
            rpm(own)
        )
    } else {
        let share = (other > 0.0).then(|| difference / other);
        format!(
            "This fan makes {}, the baseline {}: {}.",
            rpm(own),
            rpm(other),
            words::speed_difference(units, difference, share, comparison.band.as_ref())
        )
    });
    if let (Some(this), Some(there)) = (words::ends_at(setup), words::ends_at(baseline)) {
        told.say(format!(
            "Each case is at its steady state: here the oil settles at {this}; in the baseline at {there}."
        ));
    }
    told.why(format!(
        "This fan is limited by {}. {}",
        found.limit.words(),
        more_viscous(units, own, found.more_viscous)
    ));
    told.say(format!(
        "The baseline is limited by {}. {}",
        comparison.limit.words(),
        more_viscous(units, other, comparison.more_viscous)
    ));
    let Some(shares) = &comparison.shares else {
        told.say("The two machines differ in their parts or configuration, so the difference cannot be attributed to single places of the circuit.");
        return;
    };
    if let Some(split) = &comparison.split {
        told.say(format!(
            "Of the oil's effect, the grade makes the fan {}, and the temperature makes it {}.",
            words::faster_or_slower(units, split.grade),
            words::faster_or_slower(units, split.temperature)
        ));
    }
    if !comparison.equal {
        told.show(Block::Bars(contributions(units, comparison, shares)));
    }
}

/// What differs in the baseline, in words.
fn in_words(setup: &Setup, baseline: &Setup) -> String {
    let temp = |p: &Setup| p.units.show(Kind::Temperature, p.case.now.oil_temp);
    let mut parts = Vec::new();
    if baseline.machine.name != setup.machine.name {
        parts.push(format!("of the {}", baseline.machine.name));
    }
    if baseline.oil.name != setup.oil.name {
        parts.push(format!("on {}", baseline.oil.name));
    }
    if temp(baseline) != temp(setup) {
        parts.push(format!("with oil at {}", temp(baseline)));
    }
    let other = baseline.faults.iter().filter(|f| !setup.faults.contains(f));
    parts.extend(other.map(|(key, severity)| {
        let name = fault::find(key).map_or(*key, |f| f.name);
        format!("with {name} at {severity}")
    }));
    if parts.is_empty() {
        "of the baseline".into()
    } else {
        parts.join(", ")
    }
}

/// Says what a slightly more viscous oil would change in a case.
fn more_viscous(units: Units, fan_speed: f64, change: f64) -> String {
    if fan_speed <= 0.0 || change.abs() < 5e-4 * fan_speed {
        return "An oil 10 % more viscous would make hardly any difference.".into();
    }
    format!(
        "An oil 10 % more viscous would make it about {}.",
        words::faster_or_slower(units, change)
    )
}

/// The contributions of the places of the circuit, largest first.
fn contributions(units: Units, comparison: &Comparison, shares: &Keyed<f64>) -> Bars {
    let name = |key: &str| {
        let place = Place::ALL.into_iter().find(|p| p.key() == key);
        place.map_or_else(|| key.to_string(), |p| p.name().to_string())
    };
    let difference = comparison.difference;
    let matters = |(_, v): &&(String, f64)| v.abs() > 5e-4 * difference.abs();
    let of = |all: &Option<Keyed<f64>>, key: &str| {
        let found = all.as_ref()?.0.iter().find(|(own, _)| own == key)?;
        Some(units.number(Kind::Speed, found.1))
    };
    let mut rows: Vec<Bar> = shares
        .0
        .iter()
        .filter(matters)
        .map(|(key, v)| Bar {
            name: name(key),
            value: units.number(Kind::Speed, *v),
            range: of(&comparison.shares_low, key).zip(of(&comparison.shares_high, key)),
            ..Bar::default()
        })
        .collect();
    rows.sort_by(|a, b| b.value.abs().total_cmp(&a.value.abs()));
    Bars {
        title: "Contributions to the difference, place by place".into(),
        label: format!("change of fan speed, {}", units.unit(Kind::Speed)),
        rows,
    }
}

/// An interval of viscosity as text, without its unit.
fn interval(units: Units, (low, high): (f64, f64)) -> String {
    let kind = Kind::KinematicViscosity;
    let bare = |nu: f64| {
        let shown = units.show(kind, nu);
        shown
            .trim_end_matches(units.unit(kind))
            .trim_end()
            .to_string()
    };
    if high > 0.999 * SPAN.1 {
        format!("{} or more", bare(low))
    } else {
        format!("{} to {}", bare(low), bare(high))
    }
}

/// Intervals of viscosity as text, without their unit.
fn intervals(units: Units, found: &Viscosities) -> String {
    let shown: Vec<String> = found.0.iter().map(|i| interval(units, *i)).collect();
    shown.join(", or ")
}

/// Says in one sentence whether the oil alone explains a reading.
fn oil_verdict(units: Units, found: &Found, reading: &str, explanation: &Explanation) -> String {
    let expected = units.show(Kind::Speed, found.state.fan_speed);
    let left = explanation.unexplained.abs();
    if explanation.needed.0.is_empty() || left > 0.0 {
        let left = units.show(Kind::Speed, left);
        format!(
            "The oil alone does not explain {reading}: {expected} expected, and no oil in common use accounts for {left} of the difference."
        )
    } else {
        format!(
            "The oil alone could explain {reading} ({expected} expected), but other causes could, too."
        )
    }
}

/// Says whether the oil alone explains a reading.
fn by_the_oil_alone(
    setup: &Setup,
    found: &Found,
    reading: &str,
    explanation: &Explanation,
) -> String {
    // Beside the viscosity, the oil's air counts as the oil itself.
    let odds = format!(
        "With all causes considered, the oil itself, or air in it, is the cause with a probability of {}.",
        percent(explanation.oil_probability)
    );
    let units = setup.units;
    let unit = units.unit(Kind::KinematicViscosity);
    let rpm = |v| units.show(Kind::Speed, v);
    let left = rpm(explanation.unexplained.abs());
    let at = units.show(Kind::Temperature, setup.case.now.oil_temp);
    let needed = intervals(units, &explanation.needed);
    let poured = explanation.poured.iter().map(|i| interval(units, *i));
    let poured: String = poured.collect();
    if explanation.needed.0.is_empty() {
        format!(
            "No oil, thick or thin, makes this fan run at {reading} in this condition ({} expected). Viscosity alone does not explain the reading: {left} remain unexplained. {odds}",
            rpm(found.state.fan_speed)
        )
    } else if explanation.unexplained.abs() > 0.0 {
        format!(
            "To explain {reading} by itself, the oil would need {needed} {unit} at {at}. Oils in common use, sheared or diluted ones included, have {poured} {unit} there, so viscosity alone does not explain it: {left} remain unexplained. {odds}"
        )
    } else {
        format!(
            "The oil alone could explain {reading}: it would need {needed} {unit} at {at}, and oils in common use, sheared or diluted ones included, have {poured} {unit} there. {odds} An efflux cup or fresh oil would tell."
        )
    }
}

/// A table that shows whether the oil could explain the same reading at other oil temperatures.
fn at_other_temperatures(units: Units, reading: &str, explanation: &Explanation) -> Table {
    let unit = units.unit(Kind::KinematicViscosity);
    let row = |at: &crate::question::why::AtOilTemp| {
        let needed = intervals(units, &at.needed);
        vec![
            units.show(Kind::Temperature, at.oil_temp),
            units.show(Kind::Speed, at.fan_speed),
            if needed.is_empty() {
                "none".into()
            } else {
                needed
            },
            interval(units, at.poured),
            if at.unexplained.abs() > 0.0 {
                format!(
                    "no, {} unexplained",
                    units.show(Kind::Speed, at.unexplained.abs())
                )
            } else {
                "yes".into()
            },
        ]
    };
    Table {
        title: format!(
            "The same reading of {reading} at other oil temperatures: could the oil explain it?"
        ),
        heads: vec![
            "oil".into(),
            "computed fan speed".into(),
            format!("needed, {unit}"),
            format!("in common use, {unit}"),
            "explained by oil?".into(),
        ],
        rows: explanation.over_oil_temp.iter().map(row).collect(),
        numeric: vec![0, 1],
    }
}

/// Fan speed versus viscosity in this condition, with both oils marked and the limits shaded.
fn versus_viscosity(request: &Why, found: &Found) -> Chart {
    let setup = &request.setup;
    let units = setup.units;
    let x = |nu: f64| units.number(Kind::KinematicViscosity, nu);
    let y = |omega: f64| units.number(Kind::Speed, omega);
    let mark = |name: &str, nu: f64, omega: f64| Mark {
        name: name.into(),
        x: x(nu),
        y: y(omega),
        spread: 0.0,
    };
    let mut marks = vec![mark(
        &setup.oil.name,
        found.viscosity,
        found.state.fan_speed,
    )];
    if let (Some(baseline), Some(other)) = (&request.baseline, &found.comparison.0) {
        let same = baseline.oil.name == setup.oil.name;
        let name = if same { "baseline" } else { &baseline.oil.name };
        marks.push(mark(name, other.viscosity, other.fan_speed));
    }
    let level = |m: Measure| {
        let name = format!("measured, {}", units.show(Kind::Speed, m.value));
        (name, y(m.value))
    };
    let points = found.series.iter();
    Chart {
        title: "Fan speed versus the oil's viscosity in this condition, and what limits it".into(),
        x_label: format!(
            "viscosity at this temperature, {}",
            units.unit(Kind::KinematicViscosity)
        ),
        y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
        x_log: true,
        y_from_zero: true,
        curves: vec![Curve {
            name: "this machine".into(),
            points: points.map(|s| (x(s.viscosity), y(s.fan_speed))).collect(),
            band: Vec::new(),
        }],
        stretches: Stretch::all(&found.stretches, x),
        marks,
        levels: request.measured.map(level).into_iter().collect(),
        ..Chart::default()
    }
}
