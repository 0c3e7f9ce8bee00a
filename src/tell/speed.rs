//! Presents the outcome of `speed` in words and pictures.

use super::answer::{Bar, Bars, Block, Chart, Curve, Figure, Mark, Stretch};
use super::{Presentation, caution, words};
use crate::balance::{LOSSES, Limit, State};
use crate::input::unit::RPM;
use crate::model::Setup;
use crate::quantity::{Kind, Measure, Units};
use crate::question::Series;
use crate::question::speed::{Found, NextLimit, Speed};
use crate::vary::sample::Band;

/// Presents the outcome of the question.
pub fn tell(request: &Speed, found: &Found) -> Presentation {
    let setup = &request.setup;
    let units = setup.units;
    let (state, limit) = (&found.state, found.limit);
    let mut told = Presentation::about(setup);
    told.figure = Some(figure(setup, found));
    let band = words::speed_band(units, state.fan_speed, &found.band);
    let made = |verb: &str| match limit {
        Limit::Standstill => format!("The fan {verb} stand still."),
        _ => format!("The fan {verb} make {band}, limited by {}.", limit.words()),
    };
    match (request.measured, found.shortfall_sigma) {
        (Some(measured), Some(sigma)) => {
            told.headline(verdict(setup, measured, sigma, &band));
            told.why(made("should"));
        }
        _ if limit == Limit::Standstill => told.headline("The fan is stopped."),
        _ => told.headline(format!(
            "The fan makes {band}, limited by {}.",
            limit.words()
        )),
    }
    if let Some(end) = words::ends_at(setup) {
        told.say(format!(
            "If the engine keeps running like this, the oil settles at {end}."
        ));
    }
    if let (Some(measured), Some(short), Some(sigma)) =
        (request.measured, found.shortfall, found.shortfall_sigma)
    {
        told.say(judged(setup, measured, short, sigma));
    }
    if let Some(next) = found.next_limits.first() {
        told.say(next_limit(setup, state, next));
    }
    told.say(match found.full_from {
        Some(engine) => format!(
            "Full fan speed is reached at an engine speed of about {:.0} {}; below that the pump cannot deliver enough.",
            carried(units, found, engine),
            units.unit(Kind::Speed)
        ),
        None => "This drive never reaches full fan speed within its range of engine speeds: the pump's delivery is always the limit.".into(),
    });
    told.say(more_viscous(setup, found));
    if let Some(band) = found.band.sampled.filter(|_| found.band.by_draws) {
        told.say(skewed(setup, &band));
    }
    if setup.case.now.engine_speed > 0.0 {
        told.say(starts(setup, found.start));
    }
    let slow = found.shortfall_sigma.is_some_and(|s| s >= 2.0);
    told.show(Block::Next(match limit {
        // A flow regulator that limits the speed does not explain why a fan is slow.
        Limit::Regulator if slow => "whether full fan is really commanded. Then read the fan speed at idle, and once more with the control valve unplugged.".into(),
        limit => words::next(limit).into(),
    }));
    told.show(Block::Chart(versus_engine_speed(request, found)));
    told.show(Block::Table(words::state_table(units, state)));
    told.show(Block::Bars(watts(setup, state)));
    let depends = depends_on(setup, found);
    if !depends.rows.is_empty() {
        told.show(Block::Bars(depends));
    }
    let circuit = words::circuit(units, &setup.case, state, limit);
    told.show(Block::Circuit(circuit));
    told.show(Block::Safety(caution::safety()));
    told.cautions.clone_from(&found.cautions);
    told.series = Series::of(&found.series);
    told
}

/// Says which limit would act next.
fn next_limit(setup: &Setup, state: &State, next: &NextLimit) -> String {
    let (name, speed) = (
        next.limit.name(),
        setup.units.show(Kind::Speed, next.fan_speed),
    );
    if next.fan_speed > state.fan_speed * 1.5 {
        format!("No other limit is near: the next, {name}, would act at a fan speed of {speed}.")
    } else {
        format!(
            "The next limit is near: without the present one, {name} would limit the fan to {speed}."
        )
    }
}

/// The fan speed with its ±.
fn figure(setup: &Setup, found: &Found) -> Figure {
    let (units, fan, band) = (setup.units, found.state.fan_speed, &found.band);
    let shown = words::speed_band(units, fan, band);
    let (figure, label) = match shown.split_once(" (") {
        Some((figure, ends)) => {
            let ends = ends.trim_end_matches(')');
            let label = format!("fan speed; in about 95 of 100 cases {ends}");
            (figure.to_string(), label)
        }
        None => (
            shown,
            "fan speed; the ± holds in about 95 of 100 cases".into(),
        ),
    };
    let key = "fan_speed";
    Figure { figure, label, key }
}

/// An engine speed at which the limit changes, in the unit shown, to no more figures than the ± of the fan speed carries.
fn carried(units: Units, found: &Found, engine: f64) -> f64 {
    let step = match found.band.half() / RPM {
        half if half >= 100.0 => 50.0,
        half if half >= 20.0 => 10.0,
        _ => 1.0,
    };
    (units.number(Kind::Speed, engine) / step).round() * step
}

/// Explains why the band comes from samples.
fn skewed(setup: &Setup, band: &Band) -> String {
    let why = if band.other_limit > 0.0 {
        let share = setup.units.show(Kind::Share, band.other_limit);
        format!("; in {share} of the samples another limit acts")
    } else {
        String::new()
    };
    format!(
        "The speed is not linear in the inputs, so the band is found by sampling all inputs within their ± (95 %){why}."
    )
}

/// Says what a slightly more viscous oil would change.
fn more_viscous(setup: &Setup, found: &Found) -> String {
    if found.state.fan_speed <= 0.0 {
        return "The oil's viscosity has no effect as long as the fan is stopped.".into();
    }
    if found.more_viscous.abs() < 0.0005 * found.state.fan_speed {
        return "The oil's viscosity hardly matters in this condition.".into();
    }
    format!(
        "An oil 10 % more viscous than this one would make the fan about {} here.",
        words::faster_or_slower(setup.units, found.more_viscous)
    )
}

/// Says whether a stopped fan would start.
fn starts(setup: &Setup, (available, required): (f64, f64)) -> String {
    let show = |p| setup.units.show(Kind::Pressure, p);
    let would = if available >= required {
        "would"
    } else {
        "would not"
    };
    format!(
        "A stopped fan {would} start: {} available, {} required.",
        show(available),
        show(required)
    )
}

/// Says whether a measured speed is slow, and which speed is expected.
fn verdict(setup: &Setup, measured: Measure, sigma: f64, expected: &str) -> String {
    let read = setup
        .units
        .show_spread(Kind::Speed, measured.value, measured.spread);
    let engine = setup.units.show(Kind::Speed, setup.case.now.engine_speed);
    let numbers = format!("{read}, {expected} expected at an engine speed of {engine}.");
    match sigma {
        s if s >= 2.0 => format!("Your fan is slow: {numbers}"),
        s if s <= -2.0 => format!("Your fan is fast: {numbers}"),
        s if s.abs() >= 1.0 => {
            format!("Cannot tell yet: {numbers} The machine is not known well enough.")
        }
        _ => format!("This reading shows no fault: {numbers}"),
    }
}

/// Says by how much a reading deviates, and whether this is significant.
fn judged(setup: &Setup, measured: Measure, short: f64, sigma: f64) -> String {
    let units = setup.units;
    let reading = units.show_spread(Kind::Speed, measured.value, measured.spread);
    let size = units.show(Kind::Speed, short.abs());
    let way = if short >= 0.0 { "below" } else { "above" };
    let judged = match sigma.abs() {
        s if s < 1.0 => {
            "That is well within the uncertainty of instrument and machine: this reading shows no fault."
        }
        s if s < 2.0 => {
            "The uncertainty of instrument and machine may still explain it: measure again, or narrow the machine by readings from when it was healthy."
        }
        s if s < 3.0 => "The uncertainty of instrument and machine hardly explains it.",
        _ => "That is far outside the uncertainty of instrument and machine.",
    };
    let so = if sigma >= 2.0 {
        " The fan is really slow."
    } else if sigma <= -2.0 {
        " The fan is really fast: is the machine file wrong, or the valve stuck at full command?"
    } else {
        ""
    };
    format!(
        "The reading of {reading} is {size} {way} the expected speed of this machine, {:.1} standard deviations. {judged}{so}",
        sigma.abs()
    )
}

/// Fan speed versus engine speed, with the limits shaded.
fn versus_engine_speed(request: &Speed, found: &Found) -> Chart {
    let setup = &request.setup;
    let units = setup.units;
    let unit = units.unit(Kind::Speed);
    let x = |v: f64| units.number(Kind::Speed, v);
    let now = x(setup.case.now.engine_speed);
    let mark = |name: &str, y: f64, half: f64| Mark {
        name: name.into(),
        x: now,
        y: x(y),
        spread: x(half),
    };
    let ends = [found.stretches.first(), found.stretches.last()];
    let ends = [ends[0].map(|s| s.1), ends[1].map(|s| s.2)];
    let edge = |v: f64| match ends.contains(&Some(v)) {
        true => x(v),
        false => carried(units, found, v),
    };
    let mut marks = vec![mark("computed", found.state.fan_speed, found.band.half())];
    marks.extend(
        request
            .measured
            .map(|m| mark("measured", m.value, m.spread)),
    );
    let points = found
        .series
        .iter()
        .map(|s| (x(s.engine_speed), x(s.fan_speed)));
    Chart {
        title: "Fan speed versus engine speed, and what limits it".into(),
        x_label: format!("engine speed, {unit}"),
        y_label: format!("fan speed, {unit}"),
        y_from_zero: true,
        curves: vec![Curve {
            name: setup.oil.name.clone(),
            points: points.collect(),
            band: Vec::new(),
        }],
        stretches: Stretch::all(&found.stretches, edge),
        marks,
        ..Chart::default()
    }
}

/// How the pump's shaft power is divided.
fn watts(setup: &Setup, state: &State) -> Bars {
    let units = setup.units;
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
            "Where the {} of pump shaft power goes",
            units.show(Kind::Power, total)
        ),
        label: format!("power, {}", units.unit(Kind::Power)),
        rows,
    }
}

/// How much each input's ± contributes to the ± of the fan speed, largest first.
fn depends_on(setup: &Setup, found: &Found) -> Bars {
    let units = setup.units;
    let bar = |s: &crate::vary::derivative::Sensitivity| {
        let half = setup.spread.get(s.input).filter(|h| *h > 0.0)?;
        let field = s.input.field();
        let what = field.help.split([',', ';', ':']).next().unwrap_or_default();
        let kind = match field.kind {
            Kind::Temperature => Kind::TemperatureDifference,
            kind => kind,
        };
        let value = units.number(Kind::Speed, s.slope.fan_speed * half);
        (value.abs() > 0.0).then(|| Bar {
            name: format!("{}: {what}", s.input.part()),
            value,
            range: None,
            note: format!("if {} more", units.show(kind, half)),
        })
    };
    let mut rows: Vec<Bar> = found.sensitivities.iter().filter_map(bar).collect();
    // Sorting in single precision keeps effects that differ only by rounding in the order of the inputs.
    let size = |row: &Bar| row.value.abs() as f32;
    rows.sort_by(|a, b| size(b).total_cmp(&size(a)));
    rows.truncate(10);
    Bars {
        title: "Where the ± of the answer comes from".into(),
        label: format!("change of fan speed, {}", units.unit(Kind::Speed)),
        rows,
    }
}
