//! Design targets, such as the full fan speed, that all machines of a class have in common, whatever their parts.

use crate::input::unit::{BAR, RPM};
use crate::input::{Field, Place};
use crate::quantity::Kind;

/// Quantities that all machines of a class have in common, given under `[behaviours]` in a class file. They restrict
/// the combinations of input values rather than the range of each input; the ± and the correlations in the file are
/// computed from them.
pub static BEHAVIOURS: [Field; 4] = [
    speed(
        "full_speed",
        "fan speed at full engine speed and full command",
    ),
    speed(
        "full_from",
        "engine speed above which the fan runs at full speed",
    ),
    Field {
        key: "working_pressure",
        kind: Kind::Pressure,
        low: 0.0,
        high: 400.0 * BAR,
        usual: f64::NAN,
        place: Place::Valve,
        help: "pump outlet pressure at full engine speed and full command",
    },
    speed("least_speed", "fan speed at idle and zero command"),
];

const fn speed(key: &'static str, help: &'static str) -> Field {
    Field {
        key,
        kind: Kind::Speed,
        low: 0.0,
        high: 9000.0 * RPM,
        usual: f64::NAN,
        place: Place::FanAir,
        help,
    }
}
