//! Wording common to several answers.

mod temperature;

pub use temperature::*;

use super::answer::{Circuit, Table};
use crate::balance::{Limit, State};
use crate::fault;
use crate::model::{Case, Condition, Setup};
use crate::quantity::{Kind, Units};
use crate::vary::band::{Difference, Stated};
use crate::vary::settled::NEAR;

/// The caution that applies to any blend.
pub const COMPATIBILITY: &str = "Viscosity says nothing about whether two oils are compatible, nor about seals, friction and additives: only the makers of the machine and of the oils can say that.";

/// A fan speed with its ±, or with the limits of its band if this is asymmetric or would otherwise extend below zero.
pub fn speed_band(units: Units, speed: f64, band: &Stated) -> String {
    if band.by_draws || band.linear > speed {
        units.show_band(Kind::Speed, speed, band.low, band.high)
    } else {
        units.show_spread(Kind::Speed, speed, band.linear)
    }
}

/// A difference of two fan speeds with its band: `420 rpm faster (23 %; 110 to 900 rpm in 95 of 100 machines)`, or the
/// statement that the two cannot be distinguished.
pub fn speed_difference(
    units: Units,
    difference: f64,
    share: Option<f64>,
    band: Option<&Difference>,
) -> String {
    let size = makes(units, difference);
    let share = share.map(|s| units.show(Kind::Share, (1e3 * s.abs()).round() / 1e3));
    let Some(band) = band else {
        return share.map_or(size.clone(), |share| format!("{size} ({share})"));
    };
    let (low, high) = (band.low, band.high);
    let ends = match (difference < 0.0, band.holds_none()) {
        (true, false) => (-high, -low),
        _ => (low, high),
    };
    let shown = units.show_band(Kind::Speed, difference.abs(), ends.0, ends.1);
    let ends = shown
        .split_once(" (")
        .map_or(shown.as_str(), |(_, ends)| ends.trim_end_matches(')'));
    let share = share.map_or_else(String::new, |share| format!("{share}; "));
    match band.holds_none() {
        true => {
            format!(
                "{size} ({share}{ends}: within the machine's ± the two cannot be distinguished)"
            )
        }
        false => format!("{size} ({share}{ends} within the machine's ±)"),
    }
}

/// The assumptions about machine, oil and condition, each as label and value.
pub fn assumptions(setup: &Setup) -> Vec<(String, String)> {
    let mut all = lasting(setup);
    let at = all.len().min(2);
    all.splice(at..at, moment(setup));
    all
}

/// Weather and road, as labels and values; the grade only if the vehicle is on the road.
pub fn weather(units: Units, now: &Condition, on_the_road: bool) -> Vec<(String, String)> {
    let all = [
        ("ambient air", Kind::Temperature, now.ambient, true),
        ("road speed", Kind::RoadSpeed, now.road_speed, true),
        ("grade", Kind::Share, now.grade, on_the_road),
        ("trailer", Kind::Mass, now.trailer, now.trailer > 0.0),
        ("load", Kind::Power, now.work, now.work > 0.0),
        ("air conditioning", Kind::Share, now.air_conditioning, true),
    ];
    let said = all.into_iter().filter(|a| a.3);
    said.map(|(label, kind, value, _)| (label.into(), units.show(kind, value)))
        .collect()
}

/// The assumptions about the operating condition.
fn moment(setup: &Setup) -> Vec<(String, String)> {
    let (units, now, half) = (setup.units, &setup.case.now, &setup.spread.now);
    let settled = setup.settled.is_some();
    let worded = |key: &str, kind: Kind, value: f64, half: f64, settles: bool| {
        let remark = match (settled && settles, setup.typed.contains(&key)) {
            (true, _) => " (steady state)",
            (false, true) => "",
            (false, false) => " (the machine's usual)",
        };
        format!("{}{remark}", units.show_spread(kind, value, half))
    };
    let (speed, temp) = (Kind::Speed, Kind::Temperature);
    let mut all = vec![
        (
            "engine speed",
            worded(
                "engine_speed",
                speed,
                now.engine_speed,
                half.engine_speed,
                false,
            ),
        ),
        (
            "oil temperature",
            worded("oil_temp", temp, now.oil_temp, half.oil_temp, true),
        ),
        ("command", command(setup)),
        (
            "air at the fan",
            worded("air_temp", temp, now.air_temp, half.air_temp, true),
        ),
    ];
    if settled {
        all.push(("ambient air", units.show(temp, now.ambient)));
    }
    all.into_iter().map(|(k, v)| (k.to_string(), v)).collect()
}

/// The fan command, in words.
pub fn command(setup: &Setup) -> String {
    let share = |x| setup.units.show(Kind::Share, x);
    match setup.case.now.command {
        _ if setup.case.shape.unplugged => {
            format!(
                "valve unplugged: fail-safe at {}",
                share(setup.case.control.fail_safe)
            )
        }
        c if c >= 1.0 => "full".into(),
        c if c <= 0.0 => "minimum".into(),
        c => share(c),
    }
}

/// A fan command as text that follows "at": `full command`.
pub fn commanded(units: Units, command: f64) -> String {
    match command {
        c if c >= 1.0 => "full command".into(),
        c => format!("a command of {}", units.show(Kind::Share, c)),
    }
}

/// The assumptions that do not depend on the operating condition.
pub fn lasting(setup: &Setup) -> Vec<(String, String)> {
    let units = setup.units;
    let mut all = vec![
        ("machine".into(), setup.machine.name.clone()),
        ("oil".into(), setup.oil.name.clone()),
    ];
    if setup.typed.contains(&"altitude") {
        let (at, half) = (setup.case.now.altitude, setup.spread.now.altitude);
        all.push((
            "altitude".into(),
            units.show_spread(Kind::Altitude, at, half),
        ));
    }
    for (input, measure) in &setup.sets {
        let shown = units.show_spread(input.field().kind, measure.value, measure.spread);
        all.push((input.key(), shown));
    }
    for (key, severity) in &setup.faults {
        let name = fault::find(key).map_or(*key, |f| f.name);
        all.push(("fault".into(), format!("{name}, severity {severity}")));
    }
    all
}

/// The steady oil temperature and the time to reach it: `74 °C, and is within 2 K of that about 12 min after a start at 25 °C`; `None` if the
/// case is not at its steady state.
pub fn ends_at(setup: &Setup) -> Option<String> {
    let settled = setup.settled?;
    let temp = |t: f64| setup.units.show(Kind::Temperature, t);
    let own = settled
        .own_control
        .filter(|own| (own - settled.oil_temp).abs() > NEAR);
    let own = own.map_or(String::new(), |own| {
        format!(
            "; at {} if the fan control sets the command (here it is full)",
            temp(own)
        )
    });
    let ends = match settled.time {
        Some(time) => format!(
            "{}, and is within {} of that about {:.0} min after a start at {}",
            temp(settled.oil_temp),
            setup.units.show(Kind::TemperatureDifference, NEAR),
            (time / 60.0).max(1.0),
            temp(settled.from)
        ),
        None => format!(
            "{}, hardly warmer than the {} of the start",
            temp(settled.oil_temp),
            temp(settled.from)
        ),
    };
    Some(ends + &own)
}

/// A probability in per cent. Because it is counted in sampled machines, it is never shown as 0 or 100 %.
pub fn chance(share: f64) -> String {
    match 100.0 * share {
        p if p < 1.0 => "< 1 %".into(),
        p if p > 99.0 => "> 99 %".into(),
        p => format!("{p:.0} %"),
    }
}

/// A range of minutes: `6 to 9 min`.
pub fn minutes((least, most): (f64, f64)) -> String {
    let whole = |s: f64| (s / 60.0).round().max(1.0);
    let (least, most) = (whole(least), whole(most));
    if (most - least).abs() <= f64::EPSILON * most.abs() {
        return format!("{least:.0} min");
    }
    format!("{least:.0} to {most:.0} min")
}

/// A duration: `12 min 5 s`.
pub fn duration(seconds: f64) -> String {
    let s = seconds.round().max(0.0) as u64;
    match s {
        0..60 => format!("{s} s"),
        60..3600 if s.is_multiple_of(60) => format!("{} min", s / 60),
        60..3600 => format!("{} min {} s", s / 60, s % 60),
        _ => format!("{} h {} min", s / 3600, s / 60 % 60),
    }
}

/// A time since the start of a log, in the format of a clock: `0:12:05`.
pub fn clock(seconds: f64) -> String {
    let s = seconds.round().max(0.0) as u64;
    format!("{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

/// A number with its noun: `no row`, `1 row`, `3 rows`.
pub fn count(many: u64, thing: &str) -> String {
    match many {
        0 => format!("no {thing}"),
        1 => format!("1 {thing}"),
        _ => format!("{many} {thing}s"),
    }
}

/// A change of speed in words: `12 rpm slower`.
pub fn faster_or_slower(units: Units, change: f64) -> String {
    let size = units.show(Kind::Speed, change.abs());
    if change >= 0.0 {
        format!("{size} faster")
    } else {
        format!("{size} slower")
    }
}

/// A change of speed in words: `97 rpm faster`, or that there is none to be seen.
pub fn makes(units: Units, change: f64) -> String {
    if units.show(Kind::Speed, change.abs()) == units.show(Kind::Speed, 0.0) {
        "neither faster nor slower".into()
    } else {
        faster_or_slower(units, change)
    }
}

/// A number with its sign and one decimal; zero is `+0.0`, never `-0.0`.
pub fn signed(x: f64) -> String {
    format!("{:+.1}", (10.0 * x).round() / 10.0 + 0.0)
}

/// The text with its first letter capitalised.
pub fn capitalized(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// Title of the table of the main figures.
pub const FIGURES: &str = "Values in the circuit";

/// A table of the main figures of a state.
pub fn state_table(units: Units, state: &State) -> Table {
    let show = |kind, si| units.show(kind, si);
    let mut rows = Vec::new();
    let mut row = |name: &str, value: String| rows.push(vec![name.to_string(), value]);
    row(
        "pump outlet pressure",
        show(Kind::Pressure, state.supply_gauge_pressure),
    );
    row(
        "motor pressure difference",
        show(Kind::Pressure, state.motor_pressure_drop),
    );
    row(
        "motor outlet pressure",
        show(Kind::Pressure, state.return_pressure),
    );
    row(
        "pump inlet pressure",
        show(Kind::AbsolutePressure, state.inlet_pressure),
    );
    row("pump speed", show(Kind::Speed, state.pump_speed));
    row("pump flow", show(Kind::Flow, state.pump_flow));
    row("motor flow", show(Kind::Flow, state.motor_flow));
    row("pump leakage", show(Kind::Flow, state.pump_slip_flow));
    row("motor leakage", show(Kind::Flow, state.motor_slip_flow));
    if state.valve_flow > 0.0 {
        row("control valve flow", show(Kind::Flow, state.valve_flow));
    }
    if state.relief_flow > 0.0 {
        row("relief valve flow", show(Kind::Flow, state.relief_flow));
    }
    if state.bypass_flow > 0.0 {
        row("regulator bypass flow", show(Kind::Flow, state.bypass_flow));
    }
    if state.belt_slip > 0.0 {
        row("belt slip", show(Kind::Share, state.belt_slip));
    }
    row(
        "pump shaft power",
        show(Kind::Power, state.pump_shaft_power),
    );
    row("fan shaft power", show(Kind::Power, state.fan_shaft_power));
    row(
        "oil viscosity",
        show(Kind::KinematicViscosity, state.oil_viscosity),
    );
    Table {
        title: FIGURES.into(),
        heads: vec!["quantity".into(), "value".into()],
        rows,
        numeric: vec![1],
    }
}

/// What to check next, depending on what limits the fan speed.
pub fn next(limit: Limit) -> &'static str {
    match limit {
        Limit::Displacement => {
            "first the level, foam and colour of the oil. Then warm the oil, command full fan, and read the fan speed at idle and at raised engine speed. If the fan is slow only at idle, suspect leakage or air; if it is slow at both, suspect the control, the regulator or the relief valve."
        }
        Limit::Inlet => {
            "the reservoir level, the screen and the suction hose: the pump cannot fill."
        }
        Limit::Regulator => {
            "whether the fan speed stays constant as engine speed rises: then the regulator limits it, as it should."
        }
        Limit::Valve => {
            "whether full fan is really commanded, and whether the speed follows the command."
        }
        Limit::Relief => {
            "what causes the high pressure: the fan, the motor or the return line. The relief valve should be closed."
        }
        Limit::Belt => {
            "belt tension and condition, and whether the pump turns freely: a slipping belt does not last."
        }
        Limit::Air => "the fan speed without wind: at standstill, with full fan commanded.",
        Limit::Standstill => {
            "whether engine and pump turn, and whether the oil is warm enough to flow."
        }
    }
}

/// The circuit diagram with the figures of a state.
pub fn circuit(units: Units, case: &Case, state: &State, limit: Limit) -> Circuit {
    let first = case.shape.steering_first && case.steering.is_some();
    let series = !first && case.steering.is_some();
    Circuit {
        title: "The circuit in this condition".into(),
        valve_to_motor_outlet: case.shape.valve_to_motor_outlet,
        regulator: case.regulator.is_some(),
        steering_in_series: series,
        steering_in_priority: first,
        filter: case.filter.is_some(),
        cooler: case.cooler.is_some(),
        screen: case.screen.is_some(),
        labels: labels(units, case, state),
        limiting: match limit {
            Limit::Displacement | Limit::Belt => "pump",
            Limit::Inlet => "suction",
            Limit::Regulator => "regulator",
            Limit::Valve => "valve",
            Limit::Relief => "relief",
            Limit::Air | Limit::Standstill => "motor",
        },
    }
}

/// Labels for the elements of the diagram: what flows, pressures and speeds the state has there.
fn labels(units: Units, case: &Case, state: &State) -> Vec<(&'static str, Vec<String>)> {
    let show = |kind, si| units.show(kind, si);
    let flow = |q| show(Kind::Flow, q);
    let bar = |p| show(Kind::Pressure, p);
    let mut labels = vec![
        (
            "pump",
            vec![
                show(Kind::Speed, state.pump_speed),
                flow(state.pump_flow),
                show(Kind::Power, state.pump_shaft_power),
            ],
        ),
        (
            "relief",
            vec![
                format!("opens at {}", bar(case.relief.setting)),
                flow(state.relief_flow),
            ],
        ),
        ("valve", vec![flow(state.valve_flow)]),
        ("supply", vec![bar(state.supply_gauge_pressure)]),
        (
            "motor",
            vec![bar(state.motor_pressure_drop), flow(state.motor_flow)],
        ),
        (
            "fan",
            vec![
                show(Kind::Speed, state.fan_speed),
                show(Kind::Power, state.fan_shaft_power),
            ],
        ),
        ("return", vec![bar(state.return_pressure)]),
        (
            "suction",
            vec![show(Kind::AbsolutePressure, state.inlet_pressure)],
        ),
        (
            "reservoir",
            vec![
                show(Kind::Temperature, case.now.oil_temp),
                show(Kind::KinematicViscosity, state.oil_viscosity),
            ],
        ),
    ];
    if case.regulator.is_some() {
        labels.push((
            "regulator",
            vec![format!("bypasses {}", flow(state.bypass_flow))],
        ));
    }
    if let Some(steering) = &case.steering {
        labels.push(("steering", vec![bar(steering.pressure)]));
    }
    labels
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_has_no_minus() {
        assert_eq!([-0.04, 0.04, -0.06].map(signed), ["+0.0", "+0.0", "-0.1"]);
    }

    #[test]
    fn a_speed_band_ends_at_a_standstill() {
        let rpm = std::f64::consts::PI / 30.0;
        let band = |speed: f64, half: f64| {
            let band = Stated {
                low: (speed - half).max(0.0) * rpm,
                high: (speed + half) * rpm,
                linear: half * rpm,
                sampled: None,
                by_draws: false,
            };
            speed_band(Units::Si, speed * rpm, &band)
        };
        assert_eq!(band(640.0, 10.0), "640 ± 10 rpm");
        assert_eq!(band(100.0, 250.0), "100 rpm (0 to 350 rpm)");
    }
}
