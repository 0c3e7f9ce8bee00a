//! Wording that several answers share.

use super::answer::{Circuit, Table};
use crate::balance::{Asked, Capacities, LOSSES, Limit, OUTPUTS, State, Warm, warm, warm_from};
use crate::fluid::coolant;
use crate::model::{Case, Posed, Settled};
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;
use crate::vary::derivative::{Sensitivity, sensitivities};
use serde_json::{Map, Value, json};

/// What must be said of any blend.
pub const COMPATIBILITY: &str = "A viscosity says nothing of whether two oils agree with each other, nor of seals, friction and additives: only the makers of the machine and of the oils can say that.";

/// A number under a key that ends in its unit.
pub fn put(numbers: &mut Map<String, Value>, key: &str, kind: Kind, si: f64) {
    let suffix = kind.json_suffix();
    let name = if suffix.is_empty() {
        key.to_string()
    } else {
        format!("{key}_{suffix}")
    };
    numbers.insert(name, json!(kind.to_json(si)));
}

/// A speed with its ±; where the straight ± would go below zero, its ends, of which none lies below a standstill.
pub fn speed_band(units: Units, speed: f64, half: f64) -> String {
    let show = |omega| units.show(Kind::Speed, omega);
    if half > speed {
        format!("{} (0 to {})", show(speed), show(speed + half))
    } else {
        units.show_spread(Kind::Speed, speed, half)
    }
}

/// All outputs of a state under their keys.
pub fn put_state(numbers: &mut Map<String, Value>, state: &State) {
    for (declaration, output) in OUTPUTS.iter().zip(crate::balance::Output::all()) {
        put(
            numbers,
            declaration.key,
            declaration.kind,
            state.get(output),
        );
    }
    let losses: Map<String, Value> = LOSSES
        .iter()
        .zip(state.losses)
        .map(|((key, _), watts)| ((*key).to_string(), json!(watts)))
        .collect();
    numbers.insert("losses_w".into(), Value::Object(losses));
}

/// What was assumed, without what belongs to one moment.
pub fn lasting(posed: &Posed) -> impl Iterator<Item = (String, String)> {
    const MOMENT: [&str; 4] = [
        "engine speed",
        "oil temperature",
        "command",
        "air at the fan",
    ];
    let said = posed.said.iter();
    said.filter(|(label, _)| !MOMENT.contains(&label.as_str()))
        .cloned()
}

/// The question at the oil and air temperatures at which the machine settles when it runs on like this.
pub fn warmed(posed: &Posed) -> Result<Posed, Trouble> {
    let asked = Asked {
        automatic: false,
        ..Asked::STEADY
    };
    let warm = warm(&posed.case, asked)?;
    if let Some(heats) = warm.heats {
        return Err(Trouble::no_answer(
            heats.words(),
            "a machine that settles warm",
        ));
    }
    let mut settled = posed.clone();
    let b = &warm.budget;
    (settled.case.now.oil_temp, settled.case.now.air_temp) = (b.oil_temp, b.air_temp);
    settled.spread.now.oil_temp = 0.0;
    settled.spread.now.air_temp = 0.0;
    for (label, value) in &mut settled.said {
        let at = match label.as_str() {
            "oil temperature" => b.oil_temp,
            "air at the fan" => b.air_temp,
            _ => continue,
        };
        *value = format!(
            "{} (where it settles)",
            posed.units.show(Kind::Temperature, at)
        );
    }
    settled.said.push((
        "outer air".into(),
        posed.units.show(Kind::Temperature, posed.case.now.ambient),
    ));
    settled.cautions = settled.oil.cautions(b.oil_temp, posed.units);
    settled.settled = Some(Settled {
        oil_temp: b.oil_temp,
        from: posed.case.now.ambient,
        time: warm_up(&posed.case, asked, &warm),
    });
    Ok(settled)
}

/// So near to where it settles, K, oil counts as warm.
pub const NEAR: f64 = 5.0;

/// How long oil as cold as the day takes to come within [`NEAR`] of where it settles, s; coolant and air are taken as settled.
pub fn warm_up(case: &Case, asked: Asked, settled: &Warm) -> Option<f64> {
    const PIECES: usize = 24;
    if asked.hold_oil || settled.heats.is_some() {
        return None;
    }
    let capacity = Capacities::of(case)?.oil;
    let (from, to) = (case.now.ambient, settled.budget.oil_temp - NEAR);
    let piece = (to - from) / PIECES as f64;
    let held = Asked {
        hold_oil: true,
        ..asked
    };
    let mut seconds = 0.0;
    for k in 0..PIECES {
        if piece <= 0.0 {
            return None;
        }
        let mut at = *case;
        at.now.oil_temp = from + piece * (k as f64 + 0.5);
        let b = warm_from(&at, held, Some(settled)).ok()?.budget;
        let net = b.oil_heat - b.oil_cooler_heat - b.oil_surface_heat;
        if net <= 0.0 {
            return None;
        }
        seconds += capacity * piece / net;
    }
    Some(seconds)
}

/// Where the oil ends, and how long a cold one takes: `74 °C, about 12 min after a start at 25 °C`; nothing where the case
/// was not taken there.
pub fn ends_at(posed: &Posed) -> Option<String> {
    let settled = posed.settled?;
    let temp = |t: f64| posed.units.show(Kind::Temperature, t);
    Some(match settled.time {
        Some(time) => format!(
            "{}, within {} of it about {:.0} min after a start at {}",
            temp(settled.oil_temp),
            posed.units.show(Kind::TemperatureDifference, NEAR),
            (time / 60.0).max(1.0),
            temp(settled.from)
        ),
        None => format!(
            "{}, hardly warmer than a start at {}",
            temp(settled.oil_temp),
            temp(settled.from)
        ),
    })
}

/// Where the oil ends, as numbers.
pub fn put_settled(numbers: &mut Map<String, Value>, posed: &Posed, end: &str) {
    if let Some(settled) = posed.settled {
        let key = |name: &str| format!("{name}{end}");
        put(
            numbers,
            &key("oil_temp_settled"),
            Kind::Temperature,
            settled.oil_temp,
        );
        let time = settled.time.unwrap_or(f64::NAN);
        put(numbers, &key("oil_warm_up"), Kind::Time, time);
    }
}

/// Between which temperatures, K, a case's coolant boils, as sources differ.
pub fn boiling(case: &Case) -> [f64; 2] {
    case.coolant.as_ref().map_or([f64::NAN; 2], |c| {
        coolant::boiling(c.glycol, c.cap, case.now.altitude)
    })
}

/// The coolant of a state in words: no number where it boils, as the balance means nothing there.
pub fn coolant(units: Units, warm: &Warm) -> String {
    let [low, high] = boiling(&warm.case);
    let shown = |t: f64| units.show(Kind::Temperature, t);
    match warm.budget.coolant_temp {
        _ if warm.heats.is_some() => "heats without end".into(),
        t if t > high => "boils".into(),
        t if t > low => format!("{}, may boil", shown(t)),
        t => shown(t),
    }
}

/// A range of temperature differences, K: `8 to 10 K`.
pub fn kelvins(units: Units, from: f64, to: f64) -> String {
    let kind = Kind::TemperatureDifference;
    let low = units.number(kind, from);
    format!("{low:.0} to {}", units.show(kind, to))
}

/// To what the model's absolute temperatures are credible *(judgment)*.
pub fn credible(units: Units) -> String {
    format!("±{}", kelvins(units, 8.0, 10.0))
}

/// A speed with its sign in words: `12 rpm slower`.
pub fn faster_or_slower(units: Units, change: f64) -> String {
    let size = units.show(Kind::Speed, change.abs());
    if change >= 0.0 {
        format!("{size} faster")
    } else {
        format!("{size} slower")
    }
}

/// A number with its sign and one decimal; nothing is `+0.0`, from whichever side.
pub fn signed(x: f64) -> String {
    format!("{:+.1}", (10.0 * x).round() / 10.0 + 0.0)
}

/// The title of the main figures of a state.
pub const FIGURES: &str = "The circuit's figures";

/// The main figures of a state.
pub fn state_table(units: Units, state: &State) -> Table {
    let show = |kind, si| units.show(kind, si);
    let mut rows = Vec::new();
    let mut row = |name: &str, value: String| rows.push(vec![name.to_string(), value]);
    row(
        "pressure at the pump",
        show(Kind::Pressure, state.supply_gauge_pressure),
    );
    row(
        "pressure over the motor",
        show(Kind::Pressure, state.motor_pressure_drop),
    );
    row(
        "pressure behind the motor",
        show(Kind::Pressure, state.return_pressure),
    );
    row(
        "pressure at the pump's inlet",
        show(Kind::AbsolutePressure, state.inlet_pressure),
    );
    row("pump speed", show(Kind::Speed, state.pump_speed));
    row("flow from the pump", show(Kind::Flow, state.pump_flow));
    row("flow through the motor", show(Kind::Flow, state.motor_flow));
    row("slip in the pump", show(Kind::Flow, state.pump_slip_flow));
    row("slip in the motor", show(Kind::Flow, state.motor_slip_flow));
    if state.valve_flow > 0.0 {
        row(
            "past the motor through the valve",
            show(Kind::Flow, state.valve_flow),
        );
    }
    if state.relief_flow > 0.0 {
        row(
            "through the relief valve",
            show(Kind::Flow, state.relief_flow),
        );
    }
    if state.bypass_flow > 0.0 {
        row(
            "turned back by the regulator",
            show(Kind::Flow, state.bypass_flow),
        );
    }
    if state.belt_slip > 0.0 {
        row("belt slip", show(Kind::Share, state.belt_slip));
    }
    row(
        "power at the pump's shaft",
        show(Kind::Power, state.pump_shaft_power),
    );
    row(
        "power at the fan's shaft",
        show(Kind::Power, state.fan_shaft_power),
    );
    row(
        "oil viscosity",
        show(Kind::KinematicViscosity, state.oil_viscosity),
    );
    Table {
        title: FIGURES.into(),
        heads: vec!["what".into(), "value".into()],
        rows,
        numeric: vec![1],
    }
}

/// What to check next, by what limits the speed.
pub fn next(limit: Limit) -> &'static str {
    match limit {
        Limit::Displacement => {
            "level, foam and colour of the oil first; then warm the oil, ask for full fan, and read the fan's speed at idle and at raised engine speed. Slow at idle alone points to slip or air; slow at both, to control, regulator or relief."
        }
        Limit::Inlet => {
            "the reservoir's level, its screen and the suction hose: the pump cannot fill."
        }
        Limit::Regulator => {
            "whether the speed stays level as the engine is raised: then the regulator holds it, as it should."
        }
        Limit::Valve => {
            "whether full fan is really asked for, and whether the speed follows the command."
        }
        Limit::Relief => {
            "what presses so hard: fan, motor or return line; the relief should be shut."
        }
        Limit::Belt => {
            "the belt's tension and its condition, and whether the pump turns freely: a slipping belt does not last."
        }
        Limit::Air => "the fan where no wind drives it: standing, with full fan asked for.",
        Limit::Standstill => {
            "whether engine and pump turn, and whether the oil is warm enough to flow."
        }
    }
}

/// The circuit's picture with the figures of a state.
pub fn circuit(units: Units, case: &Case, state: &State, limit: Limit) -> Circuit {
    let show = |kind, si| units.show(kind, si);
    let flow = |q| show(Kind::Flow, q);
    let bar = |p| show(Kind::Pressure, p);
    let first = case.shape.steering_first && case.steering.is_some();
    let series = !first && case.steering.is_some();
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
            vec![format!("turns back {}", flow(state.bypass_flow))],
        ));
    }
    if let Some(steering) = &case.steering {
        labels.push(("steering", vec![bar(steering.pressure)]));
    }
    Circuit {
        title: "The circuit at this moment".into(),
        valve_to_motor_outlet: case.shape.valve_to_motor_outlet,
        regulator: case.regulator.is_some(),
        steering_in_series: series,
        steering_in_priority: first,
        filter: case.filter.is_some(),
        cooler: case.cooler.is_some(),
        screen: case.screen.is_some(),
        labels,
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

/// What must be borne in mind about a state, whatever the question.
pub fn cautions(posed: &Posed, state: &State, limit: Limit) -> Vec<String> {
    let mut said = posed.cautions.clone();
    let nu = state.oil_viscosity * 1e6;
    if state.belt_slip > 0.005 {
        let slip = match (state.belt_slip * 20.0).round() / 20.0 {
            rough if rough > 0.0 => format!("about {}", posed.units.show(Kind::Share, rough)),
            _ => "a little".to_owned(),
        };
        said.push(format!(
            "The belt slips, by {}: it cannot carry the torque that the pump asks for. A slipping belt does not last, and how much it slips is no sharp figure.",
            slip
        ));
    }
    if posed.case.now.engine_speed <= 0.0 {
        said.push("The engine stands, so the pump does and the fan with it.".into());
    } else if limit == Limit::Standstill {
        said.push(
            "Oil runs, but not with the pressure that it takes to keep the fan turning.".into(),
        );
    }
    if state.starved() {
        said.push("The pump's inlet is starved: expect whine, and air drawn from the oil. How much the pump still delivers then rests on engineering assumptions (the least inlet pressure, and the pressure at which the oil releases its air).".into());
    }
    if nu > 400.0 && posed.case.now.engine_speed > 0.0 {
        said.push("At this viscosity a vane pump may not extend its vanes at low speed, and then pumps less than is computed here.".into());
    }
    if nu > 1000.0 && posed.case.now.engine_speed > 0.0 {
        let limit = posed.units.show(Kind::KinematicViscosity, 1e-3);
        said.push(format!("Above {limit} viscous friction and filling are extrapolated: nothing measured stands behind them."));
    }
    if nu < 6.0 {
        said.push(format!(
            "At this viscosity most pump makers' lowest limit is reached: gear pumps want 7 to {} or more when hot.",
            posed.units.show(Kind::KinematicViscosity, 12e-6)
        ));
    }
    if state.return_pressure > 14e5 {
        said.push(format!(
            "The pressure behind the motor is above {}, more than common shaft seals of gear motors stand.",
            posed.units.show(Kind::Pressure, 14e5)
        ));
    }
    said
}

/// What must be said where the ± leaves out what a machine's file leaves out: inputs of which a quarter more would change the
/// fan's speed by 0.5 % or more. What stands at an end of its range is sound, and no guess.
pub fn left_out(posed: &Posed, slopes: &[Sensitivity], state: &State) -> Option<String> {
    let matters = |s: &&Sensitivity| {
        let field = s.input.field();
        let inside = s.value > field.low && s.value < field.high;
        let change = 0.25 * s.value * s.slope.fan_speed;
        inside && change.abs() >= 0.005 * state.fan_speed && posed.spread.get(s.input) == Some(0.0)
    };
    let left = |s: &&Sensitivity| posed.machine.left_out.contains(&s.input);
    let keys: Vec<String> = slopes
        .iter()
        .filter(left)
        .filter(matters)
        .map(|s| s.input.key())
        .collect();
    (!keys.is_empty()).then(|| {
        format!(
            "The machine's file leaves these out, so they stand at a usual value as if they were known exactly, and the ± is too narrow by what is not known of them: {}. `oilwheel new light-truck` shows how wide a ± may be.",
            keys.join(", ")
        )
    })
}

/// The same where nothing else is asked of the state.
pub fn left_out_of(posed: &Posed) -> Option<String> {
    let (state, operating) = State::of(&posed.case).ok()?;
    left_out(posed, &sensitivities(&posed.case, &operating), &state)
}

/// The usual words on what can hurt.
pub fn safety() -> Vec<String> {
    [
        "Oil under pressure: a fine jet goes through skin and gloves and is a surgical emergency. Search for leaks with cardboard, never with a hand. Let the pressure off before a line is opened, and use gauges and hoses rated above the relief setting.",
        "Never block a pump's outlet, and put no shut-off valve there, unless the pump has a relief of its own.",
        "The fan may start by itself with the engine running. Keep hands, cords and sleeves out of its plane; a cracked blade bursts.",
        "Never open a hot cooling system. Hot oil and belts hurt too. Work on stands, not on a jack alone, with fresh air.",
        "Where steering or brake boost shares this circuit, a wrong repair or a wrong oil is a steering or brake fault. Use only oil that the machine's maker approves: viscosity says nothing of seals and additives.",
        "Settings, torques, oil approval and bleeding: as the service information says. Refrigerant and pressure vessels: licensed practice.",
    ]
    .map(String::from)
    .to_vec()
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
        let band = |speed, half| speed_band(Units::Si, speed * rpm, half * rpm);
        assert_eq!(band(640.0, 10.0), "640 ± 10 rpm");
        assert_eq!(band(100.0, 250.0), "100 rpm (0 to 350 rpm)");
    }
}
