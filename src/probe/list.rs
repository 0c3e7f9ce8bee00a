//! The tests and instruments.

use super::{Engine, Instrument, Probe, Setting, What};
use crate::balance::Output;
use crate::input::unit::{BAR, RPM, celsius};

const fn hot(engine: Engine) -> Setting {
    Setting {
        engine,
        oil_temp: None,
        command: 1.0,
        unplugged: false,
    }
}

const fn cold(engine: Engine) -> Setting {
    Setting {
        engine,
        oil_temp: Some(celsius(20.0)),
        command: 1.0,
        unplugged: false,
    }
}

const FAN: &[&str] =
    &["Keep hands, cords and sleeves out of the fan's plane: it may start by itself."];

const fn fan_speed(key: &'static str, name: &'static str, setting: Setting) -> Probe {
    Probe {
        key,
        name,
        what: What::Output(Output::FAN_SPEED),
        setting,
        instrument: "photo-tachometer",
        effort_minutes: 5.0,
        tools: "photo tachometer, reflecting tape",
        how: "Tape on one blade, or count the blades and divide. Ask for full fan and wait until the speed is steady.",
        cautions: FAN,
    }
}

/// All tests.
pub const ALL: &[Probe] = &[
    fan_speed(
        "fan-speed-idle-hot",
        "fan speed at idle, oil warm",
        hot(Engine::Idle),
    ),
    fan_speed(
        "fan-speed-raised-hot",
        "fan speed at raised engine speed, oil warm",
        hot(Engine::Raised),
    ),
    fan_speed(
        "fan-speed-3000-hot",
        "fan speed at 3000 rpm, oil warm",
        hot(Engine::At(3000.0 * RPM)),
    ),
    fan_speed(
        "fan-speed-idle-cold",
        "fan speed at idle, oil at about 20 °C",
        cold(Engine::Idle),
    ),
    fan_speed(
        "fan-speed-raised-cold",
        "fan speed at raised engine speed, oil at about 20 °C",
        cold(Engine::Raised),
    ),
];

/// All instruments.
pub const INSTRUMENTS: &[Instrument] = &[
    Instrument {
        key: "photo-tachometer",
        name: "photo tachometer",
        of_reading: 0.0005,
        fixed: RPM,
        uniform: false,
        status: "common practice, no source",
    },
    Instrument {
        key: "gauge-250-bar-class-1.6",
        name: "pressure gauge, 250 bar full scale, class 1.6",
        of_reading: 0.0,
        fixed: 0.016 * 250.0 * BAR,
        uniform: true,
        status: "class of full scale: common practice, no source",
    },
];
