//! The parts of a result that several questions share: outputs, derivatives and cautions of a state of the oil circuit.

use super::find::{Find, described, key_of};
use crate::balance::{
    LOSSES, Limit, NoSteadyState, OUTPUTS, Operating, Output, State, Warm, crossings,
};
use crate::fluid::coolant;
use crate::model::{Caution, Settled, Setup};
use crate::outcome;
use crate::quantity::Kind;
use crate::vary::derivative::{Sensitivity, sensitivities};
use crate::vary::settled::boiling;
use serde_json::{Map, Value, json};

impl Find for Limit {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.key())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string", "enum": Limit::ALL.map(Limit::key)})
    }
}

/// Each output of a state under its own key, and the power losses.
impl Find for State {
    fn value(&self, kind: Option<Kind>) -> Value {
        let mut map = Map::new();
        self.put("", kind, &mut map);
        Value::Object(map)
    }
    fn schema(_: Option<Kind>) -> Value {
        let mut map = Map::new();
        Self::describe("", None, "", &mut map);
        json!({"type": "object", "properties": map})
    }
    fn put(&self, _: &str, _: Option<Kind>, into: &mut Map<String, Value>) {
        for (declaration, output) in OUTPUTS.iter().zip(Output::all()) {
            self.get(output)
                .put(declaration.key, Some(declaration.kind), into);
        }
        let losses = LOSSES.iter().zip(self.losses);
        let losses: Map<String, Value> =
            losses.map(|((k, _), w)| ((*k).into(), json!(w))).collect();
        into.insert("losses_w".into(), Value::Object(losses));
    }
    fn describe(_: &str, _: Option<Kind>, _: &str, into: &mut Map<String, Value>) {
        for declaration in OUTPUTS {
            f64::describe(
                declaration.key,
                Some(declaration.kind),
                declaration.help,
                into,
            );
        }
        let losses = json!({"type": "object", "additionalProperties": {"type": "number"}});
        into.insert(
            "losses_w".into(),
            described(losses, "breakdown of the pump shaft power"),
        );
    }
}

/// Three keys: `oil_temp_settled`, the steady oil temperature; `oil_temp_own_control`, that under the machine's fan
/// control; and `oil_warm_up`, the warm-up time. What follows `settled` in the member's key is appended to each.
impl Find for Option<Settled> {
    fn value(&self, kind: Option<Kind>) -> Value {
        let mut map = Map::new();
        self.put("settled", kind, &mut map);
        Value::Object(map)
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "object"})
    }
    fn put(&self, key: &str, _: Option<Kind>, into: &mut Map<String, Value>) {
        let end = key.trim_start_matches("settled");
        if let Some(settled) = self {
            let time = settled.time.unwrap_or(f64::NAN);
            settled.oil_temp.put(
                &format!("oil_temp_settled{end}"),
                Some(Kind::Temperature),
                into,
            );
            time.put(&format!("oil_warm_up{end}"), Some(Kind::Time), into);
            let own = format!("oil_temp_own_control{end}");
            settled.own_control.put(&own, Some(Kind::Temperature), into);
        }
    }
    fn describe(key: &str, _: Option<Kind>, _: &str, into: &mut Map<String, Value>) {
        let end = key.trim_start_matches("settled");
        let (temp, time) = (
            format!("oil_temp_settled{end}"),
            format!("oil_warm_up{end}"),
        );
        f64::describe(
            &temp,
            Some(Kind::Temperature),
            "steady oil temperature, if requested",
            into,
        );
        f64::describe(
            &time,
            Some(Kind::Time),
            "time for cold oil to warm up to within 5 K of the steady temperature",
            into,
        );
        Option::<f64>::describe(
            &format!("oil_temp_own_control{end}"),
            Some(Kind::Temperature),
            "steady oil temperature with the command set by the fan control; null if the command was given or there is no fan control",
            into,
        );
    }
}

outcome! {
    /// Derivatives of a state with respect to one input, per JSON unit of that input.
    pub struct Slope {
        /// Key of the input.
        input: String,
        /// Value of the input, in `unit`.
        value: f64,
        /// The unit of the input.
        unit: &'static str,
        /// Change of fan speed, rpm per unit of the input.
        fan_speed: f64 = "fan_speed_rpm_per_unit",
        /// Change of pump outlet pressure, bar per unit of the input.
        supply_pressure: f64 = "supply_gauge_pressure_bar_per_unit",
        /// Change of pump shaft power, W per unit of the input.
        pump_power: f64 = "pump_shaft_power_w_per_unit",
    }
}

impl Slope {
    /// Converts the derivatives of a state to JSON units.
    pub fn of(all: &[Sensitivity]) -> Vec<Slope> {
        all.iter()
            .map(|s| {
                let kind = s.input.field().kind;
                let unit = kind.from_json(1.0) - kind.from_json(0.0);
                Slope {
                    input: s.input.key(),
                    value: kind.to_json(s.value),
                    unit: kind.json_suffix(),
                    fan_speed: Kind::Speed.to_json(s.slope.fan_speed * unit),
                    supply_pressure: Kind::Pressure.to_json(s.slope.supply_gauge_pressure * unit),
                    pump_power: s.slope.pump_shaft_power * unit,
                }
            })
            .collect()
    }
}

/// The JSON key of an output, such as `fan_speed_rpm`.
pub fn output_key(output: &crate::balance::OutputDeclaration) -> String {
    key_of(output.key, Some(output.kind))
}

/// Pressure limit of common shaft seals, Pa, as given in service literature (common practice, no source).
pub const SEAL: f64 = 14e5;

/// The cautions about a state that all questions share.
pub fn cautions(setup: &Setup, state: &State, limit: Limit) -> Vec<Caution> {
    let mut all = setup.cautions.clone();
    let runs = setup.case.now.engine_speed > 0.0;
    let nu = state.oil_viscosity * 1e6;
    let mut add = |when: bool, caution: Caution| {
        if when {
            all.push(caution);
        }
    };
    let fraction = state.belt_slip;
    add(fraction > 0.005, Caution::BeltSlips { fraction });
    add(!runs, Caution::EngineOff);
    add(runs && limit == Limit::Standstill, Caution::FanStalled);
    add(state.starved(), Caution::InletStarved);
    add(runs && nu > 400.0, Caution::VanesMayStick);
    let limit = 1e-3;
    add(runs && nu > 1000.0, Caution::FrictionExtrapolated { limit });
    let recommended = 12e-6;
    add(nu < 6.0, Caution::OilThin { recommended });
    let limit = SEAL;
    add(
        state.return_pressure > limit,
        Caution::SealPressure { limit },
    );
    all
}

/// The cautions about steady temperatures and the state of the oil circuit at them.
pub fn warm_cautions(setup: &Setup, warm: &Warm) -> Vec<Caution> {
    let (case, b) = (&warm.case, &warm.budget);
    let mut there = setup.clone();
    there.case = *case;
    if warm.heats.is_none() {
        there.cautions = there.oil.cautions(b.oil_temp);
    }
    let mut all = cautions(&there, &warm.state, warm.operating.limit);
    let mut add = |when: bool, caution: Caution| {
        if when {
            all.push(caution);
        }
    };
    if let Some(heats) = warm.heats {
        let why = heats.words();
        add(true, Caution::NoSteadyState { why });
        add(heats == NoSteadyState::Oil, Caution::EndOfSearch);
        add(heats != NoSteadyState::Oil, Caution::CoolantBoils);
    } else {
        let [low, _] = boiling(case);
        add(b.coolant_temp > low, Caution::CoolantMayBoil);
    }
    if let Some(c) = &case.coolant {
        let (limit, glycol, at) = (c.limit, c.glycol, coolant::freezing(c.glycol));
        let hot = warm.heats.is_none() && b.coolant_temp > limit;
        add(hot, Caution::CoolantAboveLimit { limit });
        add(
            case.now.ambient < at,
            Caution::CoolantFreezes { glycol, at },
        );
    }
    let full = setup.machine.usual.full.value;
    let (power, speed) = (b.engine_power, case.now.engine_speed);
    let weak = case
        .engine
        .is_some_and(|e| power > e.most_power(speed, full));
    add(weak, Caution::EngineLacksPower);
    add(crossings(case) > 1, Caution::SeveralFanSpeeds);
    add(case.now.road_speed < 1.0, Caution::Recirculation);
    all
}

/// The caution about inputs missing from the machine file, whose uncertainty the stated ± therefore omits. It lists
/// those for which a 25 % increase would change the fan speed by 0.5 % or more. An input at a limit of its range
/// describes a healthy part, so its value is not a guess.
pub fn left_out(setup: &Setup, slopes: &[Sensitivity], state: &State) -> Option<Caution> {
    let matters = |s: &&Sensitivity| {
        let field = s.input.field();
        let inside = s.value > field.low && s.value < field.high;
        let change = 0.25 * s.value * s.slope.fan_speed;
        inside && change.abs() >= 0.005 * state.fan_speed && setup.spread.get(s.input) == Some(0.0)
    };
    let left = |s: &&Sensitivity| setup.machine.left_out.contains(&s.input);
    let all = slopes.iter().filter(left).filter(matters);
    let inputs: Vec<_> = all.map(|s| s.input).collect();
    (!inputs.is_empty()).then_some(Caution::LeftOut { inputs })
}

/// The same caution as `left_out`, for callers that need nothing else of the state.
pub fn left_out_of(setup: &Setup) -> Option<Caution> {
    let (state, operating) = State::of(&setup.case).ok()?;
    left_out(setup, &sensitivities(&setup.case, &operating), &state)
}

/// Derivative of the fan speed with respect to the viscosity factor, rad/s.
pub fn viscosity_slope(case: &crate::model::Case, operating: &Operating) -> f64 {
    let thickness = crate::input::Input::OIL_THICKNESS;
    let speed = |case: &_| vec![State::along(case, operating).fan_speed];
    let slopes = case.slopes(|input| input == thickness, speed);
    slopes.along(thickness).map_or(0.0, |row| row[0]) * case.oil.thickness
}
