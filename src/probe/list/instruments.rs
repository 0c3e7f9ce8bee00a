//! The instruments.

use crate::input::unit::RPM;
use crate::probe::Instrument;
use crate::quantity::Kind;

/// Declares an instrument whose error is proportional to the reading, plus a fixed error.
const fn plain(
    key: &'static str,
    name: &'static str,
    kind: Kind,
    of_reading: f64,
    fixed: f64,
    status: &'static str,
) -> Instrument {
    Instrument {
        key,
        name,
        kind,
        of_reading,
        of_full_scale: 0.0,
        fixed,
        uniform: false,
        status,
    }
}

/// Declares a pressure gauge with an accuracy class: anywhere on its scale, the error in per cent of full scale equals
/// the class.
pub(super) const fn gauge(key: &'static str, name: &'static str, class: f64) -> Instrument {
    Instrument {
        key,
        name,
        kind: Kind::Pressure,
        of_reading: 0.0,
        of_full_scale: class / 100.0,
        fixed: 0.0,
        uniform: true,
        status: "class as per cent of full scale: EN 837-1, from memory",
    }
}

const PRACTICE: &str = "common practice, no source";

/// All instruments.
pub const INSTRUMENTS: &[Instrument] = &[
    plain(
        "photo-tachometer",
        "photo tachometer",
        Kind::Speed,
        0.0005,
        RPM,
        PRACTICE,
    ),
    plain(
        "stroboscope",
        "stroboscope, by eye: the fan also seems to stand still at a half, a third … of its speed",
        Kind::Speed,
        0.02,
        RPM,
        PRACTICE,
    ),
    plain(
        "slow-motion",
        "slow-motion video: count revolutions and frames",
        Kind::Speed,
        0.01,
        RPM,
        "engineering assumption: an error of one frame in a hundred. Count full revolutions of the same blade",
    ),
    plain(
        "tone",
        "recorded blade-pass tone, divided by the number of blades",
        Kind::Speed,
        0.01,
        RPM,
        "engineering assumption. With a wrong number of blades, or with a harmonic of the tone, the speed is far off",
    ),
    gauge("gauge-class-1.0", "pressure gauge, class 1.0", 1.0),
    gauge("gauge-class-1.6", "pressure gauge, class 1.6", 1.6),
    gauge("gauge-class-2.5", "pressure gauge, class 2.5", 2.5),
    gauge("gauge-class-4.0", "pressure gauge, class 4.0", 4.0),
    Instrument {
        of_full_scale: 0.02,
        ..plain(
            "turbine-flow-meter",
            "turbine flow meter",
            Kind::Flow,
            0.0,
            0.0,
            "1 to 2 % of full scale, of which 2 % is used: common practice, no source",
        )
    },
    plain(
        "measuring-jug",
        "measuring jug and stopwatch",
        Kind::Flow,
        0.05,
        0.0,
        PRACTICE,
    ),
    plain(
        "ruler",
        "ruler at the reservoir",
        Kind::Share,
        0.0,
        0.02,
        "engineering assumption: the rise of the oil level gives only a rough air fraction",
    ),
    plain(
        "timed-cup",
        "efflux cup and stopwatch",
        Kind::KinematicViscosity,
        0.08,
        0.0,
        "engineering assumption, with the temperature held within 1 K",
    ),
    plain(
        "laboratory",
        "laboratory viscometer",
        Kind::KinematicViscosity,
        0.01,
        0.0,
        PRACTICE,
    ),
    plain(
        "thermocouple",
        "thermocouple in the oil or taped to a metal fitting",
        Kind::Temperature,
        0.0,
        1.5,
        "trade pages",
    ),
    plain(
        "infrared",
        "infrared thermometer on a matt black spot",
        Kind::Temperature,
        0.0,
        2.0,
        "trade pages, for 100 °C and below; bare aluminium reads 10 to 30 K too low (common practice, no source)",
    ),
    plain(
        "diagnostic-port",
        "coolant temperature from the diagnostic port",
        Kind::Temperature,
        0.0,
        2.0,
        "steps of 1 °C (SAE J1979); the sensor's own error is common practice, no source",
    ),
    plain(
        "two-thermometers",
        "difference of two thermometers",
        Kind::TemperatureDifference,
        0.0,
        2.5,
        "engineering assumption: two thermometers, each to about 1.5 K, on hoses slightly cooler than the coolant",
    ),
    plain(
        "gauge-on-dash",
        "temperature gauge on the dashboard",
        Kind::Temperature,
        0.0,
        8.0,
        "engineering assumption",
    ),
];
