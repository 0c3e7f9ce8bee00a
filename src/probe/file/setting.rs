//! Finds the operating condition in which a reading was taken, and its uncertainty.

use super::note;
use super::rows::Row;
use crate::input::Input;
use crate::input::unit::celsius;
use crate::model::{INPUTS, Machine, Reader, in_range};
use crate::probe::{Engine, Probe, Setting, instrument};
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::Trouble;

/// The columns that apply only to coolant tests.
const OF_COOLANT: [&str; 5] = [
    "ambient",
    "road_speed",
    "grade",
    "trailer",
    "air_conditioning",
];

/// The text under `command` if it is uncertain whether the fan was at full command during the reading.
pub(super) const UNSURE: &str = "not sure";

/// Uncertainty of an engine speed given without ±, as a fraction: an engineering assumption.
const ENGINE_SPEED_FRACTION: f64 = 0.01;
/// Uncertainty of the engine speed, as a fraction, if a reading does not state the speed and the machine file gives no
/// ±: an engineering assumption.
const TEST_ENGINE_SPEED_FRACTION: f64 = 0.02;
/// Uncertainty of an oil temperature that is given without ± and without a thermometer, K: an engineering assumption.
const TYPED_KELVIN: f64 = 3.0;
/// Uncertainty of an ambient temperature given without ±, K: an engineering assumption.
const AMBIENT_KELVIN: f64 = 2.0;
/// Uncertainty of the ambient temperature, K, if a reading does not state it: an engineering assumption.
const TEST_AMBIENT_KELVIN: f64 = 5.0;
/// Ambient temperature that corresponds to a machine's usual air temperature at the fan, K: an engineering assumption.
const USUAL_AMBIENT: f64 = celsius(25.0);
/// Oil temperature, K, below which the radiator is taken to reject no heat yet, so that the air at the fan is at
/// ambient temperature.
const COLD_OIL: f64 = celsius(45.0);
/// Uncertainty of the air temperature at the fan, K, in a cold test that does not state it; the air is then taken to
/// have the temperature of the oil, but at most 25 °C: an engineering assumption.
const COLD_AIR_KELVIN: f64 = 10.0;
/// Uncertainty of the oil temperature, K, if a reading does not state it and the machine file gives no ±: an
/// engineering assumption.
const TEST_KELVIN: f64 = 5.0;

/// The operating condition of a reading, and the uncertainties of its engine speed and oil temperature; for a coolant
/// test, of the ambient temperature instead.
pub(super) fn setting(
    reader: &mut Reader<'_>,
    row: &Row,
    probe: &Probe,
    machine: &Machine,
) -> Option<(Setting, f64, f64)> {
    let mut setting = probe.setting;
    let engine_half = engine_speed(reader, row, probe, machine, &mut setting)?;
    if !probe.runs_on(machine) && probe.setting.settled.is_some() {
        let trouble = Trouble::input(
            format!("`{}`, but the machine file lacks parts for it", probe.key),
            "a machine file with core, air, coolant, engine and the other parts of the heat balance; for a test on the road also [vehicle]",
        )
        .hint("`oilwheel new light-truck` shows these parts and explains each input");
        reader.note(trouble, row.place_of(&["engine_speed", "test"]));
        return None;
    }
    let ambient_half = used(reader, row, probe, &mut setting)?;

    let oil_temp_half = oil_temp(reader, row, machine, &mut setting)?;
    if let Some((words, at)) = row.get("command") {
        let read = match words {
            "full" => Ok(1.0),
            "half" => Ok(0.5),
            "least" => Ok(0.0),
            UNSURE if probe.shows_full_fan() => Ok(1.0),
            UNSURE => Err(Trouble::input(
                format!("the command `{UNSURE}` for {}", probe.name),
                "these words only for tests of the fan speed at full command",
            )),
            _ => parse(Kind::Share, words)
                .and_then(|m| in_range(Input::COMMAND.field(), m, Units::Si))
                .map(|m| m.value),
        };
        setting.command = note(reader, at, read)?;
        if let Some(used) = &mut setting.settled {
            used.automatic = false;
        }
    }
    Some((setting, engine_half, ambient_half.unwrap_or(oil_temp_half)))
}

/// Sets the engine speed of a reading, and returns its uncertainty.
fn engine_speed(
    reader: &mut Reader<'_>,
    row: &Row,
    probe: &Probe,
    machine: &Machine,
    setting: &mut Setting,
) -> Option<f64> {
    let usual = |engine: Engine| match engine {
        Engine::Idle => machine.usual.idle.spread,
        Engine::Raised => machine.usual.raised.spread,
        Engine::At(_) => 0.0,
    };
    let mut engine_half = usual(setting.engine);
    if engine_half <= 0.0 {
        engine_half = TEST_ENGINE_SPEED_FRACTION * setting.engine_speed(machine);
    }
    if let Some((words, at)) = row.get("engine_speed") {
        let field = Input::ENGINE_SPEED.field();
        let read = match words {
            "idle" => Ok(machine.usual.idle),
            "raised" => Ok(machine.usual.raised),
            _ => parse(Kind::Speed, words).and_then(|m| in_range(field, m, Units::Si)),
        };
        let measure = note(reader, at, read)?;
        setting.engine = Engine::At(measure.value);
        engine_half = if measure.spread > 0.0 {
            measure.spread
        } else {
            ENGINE_SPEED_FRACTION * measure.value
        };
    }
    let speed = setting.engine_speed(machine);
    let (idle, full) = (machine.usual.idle.value, machine.usual.full.value);
    let (least, most) = (0.7 * idle, 1.03 * full);
    if speed < least || speed > most {
        let show = |v| Units::Si.show(Kind::Speed, v);
        let trouble = Trouble::input(
            format!("{} at an engine speed of {}", probe.key, show(speed)),
            format!(
                "an engine speed that this machine reaches, {} to {}",
                show(least),
                show(most)
            ),
        )
        .hint("choose another test, or give the actual `engine_speed`");
        reader.note(trouble, row.place_of(&["engine_speed", "test"]));
        return None;
    }
    Some(engine_half)
}

/// Sets the oil temperature of a reading, and returns its uncertainty.
fn oil_temp(
    reader: &mut Reader<'_>,
    row: &Row,
    machine: &Machine,
    setting: &mut Setting,
) -> Option<f64> {
    let mut oil_temp_half = match setting.oil_temp {
        None => machine.usual.oil_temp.spread,
        Some(_) => 0.0,
    };
    if oil_temp_half <= 0.0 {
        oil_temp_half = TEST_KELVIN;
    }
    if let Some((words, at)) = row.get("oil_temp") {
        let read = parse(Kind::Temperature, words)
            .and_then(|m| in_range(Input::OIL_TEMP.field(), m, Units::Si));
        let measure = note(reader, at, read)?;
        setting.oil_temp = Some(measure.value);
        oil_temp_half = if measure.spread > 0.0 {
            measure.spread
        } else {
            TYPED_KELVIN
        };
    }
    if let Some((key, at)) = row.get("thermometer") {
        let device = instrument(key).and_then(|i| match i.kind {
            Kind::Temperature => Ok(i),
            _ => Err(
                Trouble::input(format!("`{key}` as the thermometer"), "a thermometer")
                    .hint("such as infrared, thermocouple or gauge-on-dash"),
            ),
        });
        let device = note(reader, at.clone(), device)?;
        if row.get("oil_temp").is_none() {
            let trouble = Trouble::input(
                "a thermometer without `oil_temp`",
                "the `oil_temp` it showed",
            );
            reader.note(trouble, at);
            return None;
        }
        oil_temp_half = device.half_width(0.0, 0.0);
    }
    Some(oil_temp_half)
}

/// Sets how the machine was operated until the coolant reached steady state, and returns the uncertainty of the ambient
/// temperature; no effect for a test without coolant readings.
fn used(
    reader: &mut Reader<'_>,
    row: &Row,
    probe: &Probe,
    setting: &mut Setting,
) -> Option<Option<f64>> {
    let refused: &[&str] = match setting.settled {
        Some(_) => &["oil_temp", "thermometer"],
        None => &OF_COOLANT,
    };
    let mut sound = true;
    for key in refused {
        if let Some((_, at)) = row.get(key) {
            let expected = match setting.settled {
                Some(_) => "no oil temperature: in this test the oil reaches its own steady state",
                None => "this key for coolant tests only",
            };
            let found = format!("`{key}` for {}", probe.name);
            reader.note(Trouble::input(found, expected), at);
            sound = false;
        }
    }
    let Some(used) = &mut setting.settled else {
        return sound.then_some(None);
    };
    let mut half = TEST_AMBIENT_KELVIN;
    for key in OF_COOLANT {
        let Some((words, at)) = row.get(key) else {
            continue;
        };
        let (input, slot) = match key {
            "ambient" => (Input::AMBIENT, &mut used.ambient),
            "road_speed" => (Input::ROAD_SPEED, &mut used.road_speed),
            "grade" => (INPUTS.now.grade, &mut used.grade),
            "trailer" => (INPUTS.now.trailer, &mut used.trailer),
            _ => (INPUTS.now.air_conditioning, &mut used.air_conditioning),
        };
        let field = input.field();
        let words = match (key, words) {
            ("air_conditioning", "on") => "1",
            ("air_conditioning", "off") => "0",
            _ => words,
        };
        let read = parse(field.kind, words).and_then(|m| in_range(field, m, Units::Si));
        let Some(measure) = note(reader, at, read) else {
            sound = false;
            continue;
        };
        *slot = measure.value;
        if key == "ambient" {
            half = match measure.spread {
                spread if spread > 0.0 => spread,
                _ => AMBIENT_KELVIN,
            };
        }
    }
    sound.then_some(Some(half))
}

/// Sets the air temperature at the fan for a test that is not a coolant test, and returns its uncertainty.
pub(super) fn air(
    reader: &mut Reader<'_>,
    row: &Row,
    machine: &Machine,
    setting: &mut Setting,
) -> Option<f64> {
    let given = match row.get("air_temp") {
        Some((words, span)) => {
            let field = Input::AIR_TEMP.field();
            let read = parse(field.kind, words).and_then(|m| in_range(field, m, Units::Si));
            Some(note(reader, span, read)?)
        }
        None => None,
    };
    if setting.settled.is_some() {
        return match row.get("air_temp") {
            Some((_, span)) => {
                let trouble = Trouble::input("`air_temp` for a coolant test", "`ambient` instead");
                reader.note(trouble, span);
                None
            }
            None => Some(0.0),
        };
    }
    let usual = machine.usual.air_temp;
    let oil = setting.oil_temp(machine);
    let half = |m: Measure| {
        if m.spread > 0.0 {
            m.spread
        } else {
            AMBIENT_KELVIN
        }
    };
    let (air, half) = match given {
        Some(air) if oil <= COLD_OIL => (Some(air.value), half(air)),
        Some(air) => (
            Some(usual.value + air.value - USUAL_AMBIENT),
            usual.spread.hypot(half(air)),
        ),
        None if oil <= COLD_OIL => (Some(oil.min(USUAL_AMBIENT)), COLD_AIR_KELVIN),
        None => (None, 0.0),
    };
    setting.air = air;
    Some(half)
}
