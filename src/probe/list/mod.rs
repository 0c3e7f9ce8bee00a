//! The list of tests and instruments.
//!
//! Durations are engineering assumptions: they include preparation, and apply to an experienced person. Operating
//! conditions and instruments follow common practice, without a source unless the instrument's status names one.

mod instruments;

use super::{Engine, Probe, Setting, Use, What};
use crate::balance::Output;
use crate::input::unit::{RPM, celsius};
use crate::model::Hazard::{
    Belts, Dirt, Driving, FailSafe, Fan, Hot, Outlet, Overheating, Pressure, UsedOil,
};
pub use instruments::INSTRUMENTS;

/// Operating condition with the oil at the machine's usual temperature and full fan command.
const fn hot(engine: Engine) -> Setting {
    Setting {
        engine,
        oil_temp: None,
        air: None,
        command: 1.0,
        unplugged: false,
        settled: None,
    }
}

/// Operating condition with the oil at 20 °C and full fan command. The air at the fan is at 20 °C too, as long as the
/// radiator is cold.
const fn cold(engine: Engine) -> Setting {
    Setting {
        oil_temp: Some(celsius(20.0)),
        air: Some(celsius(20.0)),
        ..hot(engine)
    }
}

const AT_3000: Engine = Engine::At(3000.0 * RPM);

/// Declares a test that reads the fan speed.
const fn fan_speed(
    key: &'static str,
    name: &'static str,
    setting: Setting,
    effort_minutes: f64,
    how: &'static str,
) -> Probe {
    Probe {
        key,
        name,
        what: What::Output(Output::FAN_SPEED),
        setting,
        only_where: "",
        instrument: "photo-tachometer",
        effort_minutes,
        tools: "photo tachometer and reflecting tape, or a phone that films in slow motion",
        how,
        hazards: if setting.unplugged {
            &[FailSafe, Fan]
        } else {
            &[Fan]
        },
    }
}

const FULL: &str = "Engine off: put the tape on one blade. Without tape a tachometer counts every blade, so note how many there are. Command full fan with the scan tool, or let the coolant get near its limit; air conditioning alone does not command full fan. Wait for a steady speed.";
const PART: &str = "Set the fan command to minimum or half with the scan tool. With a cool engine and air conditioning off, it is at its minimum by itself. Wait for a steady speed.";
const UNPLUGGED: &str = "Stop the engine, unplug the control valve, start the engine again. If the fan now runs at the speed expected for the fail-safe position, then valve, pump and motor are healthy and the fault is in the control.";
const COLD: &str = "Let the machine stand overnight. After the first start of the day, read the speed as soon as it is steady. The oil warms up quickly, so note its temperature. Raise the speed of a cold engine gently, and no further than the test asks.";

/// Declares a test that reads the pump speed.
const fn pump_speed(key: &'static str, name: &'static str, setting: Setting) -> Probe {
    Probe {
        key,
        name,
        what: What::Output(Output::PUMP_SPEED),
        setting,
        only_where: "a belt drives the pump and its pulley is visible",
        instrument: "photo-tachometer",
        effort_minutes: 10.0,
        tools: "photo tachometer, reflecting tape",
        how: "Engine off: put the tape on the pump pulley. Then read pump speed and engine speed at the same moment. This is the clearest test for a slipping belt.",
        hazards: &[Belts, Fan],
    }
}

/// Declares a test that reads a pressure.
const fn pressure(
    key: &'static str,
    name: &'static str,
    output: Output,
    setting: Setting,
    how: &'static str,
) -> Probe {
    Probe {
        key,
        name,
        what: What::Output(output),
        setting,
        only_where: "",
        instrument: "gauge-class-1.6",
        effort_minutes: 20.0,
        tools: "pressure gauge with a full scale above the relief setting, a suitable tee and hose",
        how,
        hazards: &[Pressure, Outlet, Hot, Belts, Dirt],
    }
}

const SUPPLY: &str = "Tee the gauge in at the pump outlet. Command full fan and wait for a steady speed. Read pressure and fan speed at the same time.";
const MOTOR: &str = "Tee the gauge in at the motor inlet. Command full fan and wait for a steady speed. The pressure at the pump outlet minus this one is the pressure drop of the hose between them.";
const RETURN: &str = "Tee the gauge in at the motor outlet, upstream of cooler and filter. Do not use a low-range gauge: if the return is blocked, the pressure there may rise to the relief setting. Command full fan and wait for a steady speed.";

/// Declares a test that reads the flow delivered by the pump.
const fn flow(key: &'static str, name: &'static str, setting: Setting) -> Probe {
    Probe {
        key,
        name,
        what: What::Output(Output::PUMP_FLOW),
        setting,
        only_where: "",
        instrument: "turbine-flow-meter",
        effort_minutes: 60.0,
        tools: "flow meter rated for full pressure, hoses and adapters",
        how: "Fit the flow meter in line at the pump outlet, with its arrow in the direction of flow. Leave its load valve fully open. Command full fan and wait for a steady speed.",
        hazards: &[Pressure, Outlet, Hot, Belts, Dirt],
    }
}

/// Declares a test that reads the vacuum at the pump inlet.
const fn vacuum(key: &'static str, name: &'static str, setting: Setting) -> Probe {
    Probe {
        key,
        name,
        what: What::InletVacuum,
        setting,
        only_where: "",
        instrument: "gauge-class-1.6",
        effort_minutes: 30.0,
        tools: "vacuum gauge, tee for the suction hose, clamps",
        how: "Tee the gauge in at the pump inlet and seal it well: air drawn in there causes the very fault you are looking for. Note how far the pressure is below ambient pressure.",
        hazards: &[Hot, Belts, Dirt],
    }
}

/// Operating condition with the engine at idle or in gear until all temperatures are steady; the fan control sets the
/// command.
const fn settled(used: Use) -> Setting {
    Setting {
        settled: Some(used),
        ..hot(Engine::Idle)
    }
}

/// A long stop on a hot day with air conditioning on.
const HOT_STOP: Use = Use {
    ambient: celsius(35.0),
    road_speed: 0.0,
    grade: 0.0,
    trailer: 0.0,
    air_conditioning: 1.0,
    automatic: true,
};

/// Driving on a level road in mild weather.
const CRUISE: Use = Use {
    ambient: celsius(25.0),
    road_speed: 80.0 / 3.6,
    air_conditioning: 0.0,
    ..HOT_STOP
};

/// Driving up a long grade.
const CLIMB: Use = Use {
    road_speed: 60.0 / 3.6,
    grade: 0.07,
    ..CRUISE
};

/// Declares a test that reads the coolant temperature.
const fn coolant(key: &'static str, name: &'static str, used: Use, effort_minutes: f64) -> Probe {
    Probe {
        key,
        name,
        what: What::CoolantTemp,
        setting: settled(used),
        only_where: "",
        instrument: "diagnostic-port",
        effort_minutes,
        tools: "scan tool at the diagnostic port, thermometer for the ambient air",
        how: if used.road_speed > 0.0 {
            "Keep driving until the reading has been steady for some minutes. Note the ambient temperature, the road speed, the grade, and whether air conditioning was on."
        } else {
            "Park out of the wind with the bonnet shut. Let the engine idle until the reading is steady or swings around one value. Note the ambient temperature, and whether air conditioning was on."
        },
        hazards: if used.road_speed > 0.0 {
            &[Hot, Overheating, Driving]
        } else {
            &[Hot, Overheating, Fan]
        },
    }
}

/// All tests.
pub const ALL: &[Probe] = &[
    fan_speed(
        "fan-speed-idle-hot",
        "fan speed at idle, oil warm",
        hot(Engine::Idle),
        5.0,
        FULL,
    ),
    fan_speed(
        "fan-speed-raised-hot",
        "fan speed at raised engine speed, oil warm",
        hot(Engine::Raised),
        5.0,
        FULL,
    ),
    fan_speed(
        "fan-speed-3000-hot",
        "fan speed at an engine speed of about 3000 rpm, oil warm",
        hot(AT_3000),
        5.0,
        FULL,
    ),
    fan_speed(
        "fan-speed-idle-cold",
        "fan speed at idle, oil at about 20 °C",
        cold(Engine::Idle),
        20.0,
        COLD,
    ),
    fan_speed(
        "fan-speed-raised-cold",
        "fan speed at raised engine speed, oil at about 20 °C",
        cold(Engine::Raised),
        20.0,
        COLD,
    ),
    fan_speed(
        "fan-speed-3000-cold",
        "fan speed at an engine speed of about 3000 rpm, oil at about 20 °C",
        cold(AT_3000),
        60.0,
        COLD,
    ),
    Probe {
        key: "free-air",
        name: "free air in the oil, from the rise of the level",
        what: What::FreeAir,
        setting: hot(Engine::Raised),
        only_where: "the oil level is visible",
        instrument: "ruler",
        effort_minutes: 5.0,
        tools: "ruler, or pen to mark the reservoir; torch",
        how: "Mark the oil level with the engine at raised speed. Stop the engine and mark the level again at once. No rise and no foam means 0 %. Otherwise divide the volume by which the oil rose by the oil fill: a rise of 5 mm in a reservoir 10 cm in diameter, with a fill of one litre, means about 4 %. If foam hides the level, enter 15 % ± 10 %.",
        hazards: &[Hot, Belts],
    },
    fan_speed(
        "fan-speed-idle-hot-least",
        "fan speed at idle, oil warm, minimum command",
        Setting {
            command: 0.0,
            ..hot(Engine::Idle)
        },
        8.0,
        PART,
    ),
    fan_speed(
        "fan-speed-raised-hot-least",
        "fan speed at raised engine speed, oil warm, minimum command",
        Setting {
            command: 0.0,
            ..hot(Engine::Raised)
        },
        8.0,
        PART,
    ),
    fan_speed(
        "fan-speed-raised-hot-half",
        "fan speed at raised engine speed, oil warm, half command",
        Setting {
            command: 0.5,
            ..hot(Engine::Raised)
        },
        8.0,
        PART,
    ),
    fan_speed(
        "fan-speed-idle-hot-unplugged",
        "fan speed at idle, oil warm, control valve unplugged",
        Setting {
            unplugged: true,
            ..hot(Engine::Idle)
        },
        10.0,
        UNPLUGGED,
    ),
    fan_speed(
        "fan-speed-raised-hot-unplugged",
        "fan speed at raised engine speed, oil warm, control valve unplugged",
        Setting {
            unplugged: true,
            ..hot(Engine::Raised)
        },
        10.0,
        UNPLUGGED,
    ),
    pump_speed(
        "pump-speed-raised-hot",
        "pump speed at raised engine speed, oil warm",
        hot(Engine::Raised),
    ),
    pump_speed(
        "pump-speed-raised-cold",
        "pump speed at raised engine speed, oil at about 20 °C",
        cold(Engine::Raised),
    ),
    Probe {
        key: "viscosity-40",
        name: "viscosity of the oil at 40 °C",
        what: What::Viscosity,
        setting: Setting {
            oil_temp: Some(celsius(40.0)),
            ..hot(Engine::Idle)
        },
        only_where: "",
        instrument: "timed-cup",
        effort_minutes: 15.0,
        tools: "efflux cup, stopwatch, thermometer, water bath; or a sample for a laboratory",
        how: "Warm a clean oil sample to 40 °C and time how long it takes to flow out of the cup. The cup's table converts seconds to mm²/s. If the sample is not at 40 °C, note its temperature.",
        hazards: &[Hot, UsedOil],
    },
    pressure(
        "supply-pressure-idle-hot",
        "pump outlet pressure at idle, oil warm",
        Output::SUPPLY_PRESSURE,
        hot(Engine::Idle),
        SUPPLY,
    ),
    pressure(
        "supply-pressure-raised-hot",
        "pump outlet pressure at raised engine speed, oil warm",
        Output::SUPPLY_PRESSURE,
        hot(Engine::Raised),
        SUPPLY,
    ),
    pressure(
        "supply-pressure-idle-cold",
        "pump outlet pressure at idle, oil at about 20 °C",
        Output::SUPPLY_PRESSURE,
        cold(Engine::Idle),
        SUPPLY,
    ),
    pressure(
        "supply-pressure-raised-cold",
        "pump outlet pressure at raised engine speed, oil at about 20 °C",
        Output::SUPPLY_PRESSURE,
        cold(Engine::Raised),
        SUPPLY,
    ),
    pressure(
        "motor-pressure-idle-hot",
        "motor inlet pressure at idle, oil warm",
        Output::MOTOR_PRESSURE,
        hot(Engine::Idle),
        MOTOR,
    ),
    pressure(
        "motor-pressure-raised-hot",
        "motor inlet pressure at raised engine speed, oil warm",
        Output::MOTOR_PRESSURE,
        hot(Engine::Raised),
        MOTOR,
    ),
    pressure(
        "return-pressure-idle-hot",
        "motor outlet pressure at idle, oil warm",
        Output::RETURN_PRESSURE,
        hot(Engine::Idle),
        RETURN,
    ),
    pressure(
        "return-pressure-raised-hot",
        "motor outlet pressure at raised engine speed, oil warm",
        Output::RETURN_PRESSURE,
        hot(Engine::Raised),
        RETURN,
    ),
    pressure(
        "return-pressure-idle-cold",
        "motor outlet pressure at idle, oil at about 20 °C",
        Output::RETURN_PRESSURE,
        cold(Engine::Idle),
        RETURN,
    ),
    pressure(
        "return-pressure-raised-cold",
        "motor outlet pressure at raised engine speed, oil at about 20 °C",
        Output::RETURN_PRESSURE,
        cold(Engine::Raised),
        RETURN,
    ),
    vacuum(
        "inlet-vacuum-raised-hot",
        "vacuum at the pump inlet at raised engine speed, oil warm",
        hot(Engine::Raised),
    ),
    vacuum(
        "inlet-vacuum-raised-cold",
        "vacuum at the pump inlet at raised engine speed, oil at about 20 °C",
        cold(Engine::Raised),
    ),
    Probe {
        key: "case-drain-flow-raised-hot",
        name: "motor case drain flow at raised engine speed, oil warm",
        what: What::Output(Output::MOTOR_SLIP_FLOW),
        setting: hot(Engine::Raised),
        only_where: "the motor has a case drain line that carries all of its leakage",
        instrument: "measuring-jug",
        effort_minutes: 40.0,
        tools: "measuring jug, stopwatch, hose, plug for the reservoir port",
        how: "Run the case drain hose into the jug for half a minute with full fan commanded, and keep the reservoir filled. Never block the drain: the shaft seal would burst.",
        hazards: &[Pressure, Fan, Hot, Dirt],
    },
    flow(
        "flow-idle-hot",
        "pump flow at idle, oil warm",
        hot(Engine::Idle),
    ),
    flow(
        "flow-raised-hot",
        "pump flow at raised engine speed, oil warm",
        hot(Engine::Raised),
    ),
    flow(
        "flow-idle-cold",
        "pump flow at idle, oil at about 20 °C",
        cold(Engine::Idle),
    ),
    flow(
        "flow-raised-cold",
        "pump flow at raised engine speed, oil at about 20 °C",
        cold(Engine::Raised),
    ),
    coolant(
        "coolant-hot-stop",
        "coolant temperature at a long stop on a hot day, air conditioning on",
        HOT_STOP,
        20.0,
    ),
    coolant(
        "coolant-cruise",
        "coolant temperature on a level road at 80 km/h",
        CRUISE,
        30.0,
    ),
    coolant(
        "coolant-climb",
        "coolant temperature on a climb of 7 % at 60 km/h",
        CLIMB,
        30.0,
    ),
    Probe {
        key: "hoses-hot-stop",
        name: "temperature of the upper minus the lower radiator hose at a long stop on a hot day, air conditioning on",
        what: What::HoseDifference,
        setting: settled(HOT_STOP),
        only_where: "",
        instrument: "two-thermometers",
        effort_minutes: 20.0,
        tools: "two thermocouples, or an infrared thermometer on matt black spots",
        how: "Once the coolant temperature is steady, measure both radiator hoses at the radiator tanks. Note the upper temperature minus the lower. A lower hose that stays cold, or a large difference, means low coolant flow.",
        hazards: &[Hot, Overheating, Fan, Belts],
    },
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::probe::instrument;
    use std::collections::HashSet;

    #[test]
    fn every_test_has_a_key_of_its_own_and_an_instrument_that_measures_it() {
        let keys: HashSet<&str> = ALL.iter().map(|p| p.key).collect();
        assert_eq!(keys.len(), ALL.len());
        for probe in ALL {
            assert_eq!(
                instrument(probe.instrument).unwrap().kind,
                probe.what.kind(),
                "{}",
                probe.key
            );
            assert!(probe.effort_minutes > 0.0 && !probe.hazards.is_empty());
        }
    }

    /// A gauge of class 1.6 with a full scale of 250 bar has an error of 4 bar anywhere on the scale.
    #[test]
    fn a_gauge_errs_by_its_full_scale() {
        let gauge = instrument("gauge-class-1.6").unwrap();
        for value in [10e5, 200e5] {
            assert!((gauge.half_width(value, 250e5) - 4e5).abs() < 1e-6);
        }
    }
}
