//! Scaling of the data bytes of diagnostic parameters: SAE J1979, mode 01.

use super::Bound;

/// Valid range of each data byte.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "A",
    low: 0.0,
    high: 255.0,
    unit: "1",
}];

/// One diagnostic parameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameter {
    /// Parameter number (PID) in mode 01.
    pub id: u8,
    /// Number of data bytes: 1 or 2.
    pub bytes: usize,
    /// Increase of the value per count of the raw number, in `unit`.
    pub count: f64,
    /// Value when the raw number is zero, in `unit`.
    pub zero: f64,
    /// Unit of the value.
    pub unit: &'static str,
}

const fn parameter(id: u8, bytes: usize, count: f64, zero: f64, unit: &'static str) -> Parameter {
    Parameter {
        id,
        bytes,
        count,
        zero,
        unit,
    }
}

/// The parameters that concern cooling. The scalings of PIDs 33, 43, 46 and 5E are quoted from memory.
pub const PARAMETERS: [Parameter; 12] = [
    parameter(0x04, 1, 100.0 / 255.0, 0.0, "%"),
    parameter(0x05, 1, 1.0, -40.0, "degC"),
    parameter(0x0B, 1, 1.0, 0.0, "kPa"),
    parameter(0x0C, 2, 0.25, 0.0, "rpm"),
    parameter(0x0D, 1, 1.0, 0.0, "km/h"),
    parameter(0x0F, 1, 1.0, -40.0, "degC"),
    parameter(0x10, 2, 0.01, 0.0, "g/s"),
    parameter(0x11, 1, 100.0 / 255.0, 0.0, "%"),
    parameter(0x33, 1, 1.0, 0.0, "kPa"),
    parameter(0x43, 2, 100.0 / 255.0, 0.0, "%"),
    parameter(0x46, 1, 1.0, -40.0, "degC"),
    parameter(0x5E, 2, 0.05, 0.0, "L/h"),
];

/// The parameter with a given number, if it is one of [`PARAMETERS`].
pub fn find(id: u8) -> Option<Parameter> {
    PARAMETERS.into_iter().find(|p| p.id == id)
}

/// Converts the data bytes of a parameter to its value, in the parameter's unit.
///
/// **Equation.** `v = zero + count n`, `n = A` for one byte, `n = 256 A + B` for two.
///
/// **Symbols.** `a` A, `b` B: the first and second raw byte, 0 to 255; n raw number; `count` and `zero`: see
/// [`Parameter`], in the parameter's unit.
///
/// **Range.** All byte values. The lowest or highest value, such as −40 °C or 215 °C, often means that the sensor is
/// missing.
///
/// **Source.** SAE J1979, Diagnostic Test Modes, mode 01, taken from public tables of its parameters.
///
/// ```
/// use oilwheel::law::diagnostic_scaling_sae_j1979::{find, value};
/// // By hand: (256 · 0x1A + 0xF8)/4 = 1726 rpm.
/// assert!(find(0x0C).is_some_and(|p| (value(p, 0x1A, 0xF8) - 1726.0).abs() < 1e-9));
/// ```
pub fn value(parameter: Parameter, a: u8, b: u8) -> f64 {
    let n = match parameter.bytes {
        1 => f64::from(a),
        _ => 256.0 * f64::from(a) + f64::from(b),
    };
    parameter.zero + parameter.count * n
}

/// The minimum and maximum value that a parameter's bytes can represent.
pub fn ends(parameter: Parameter) -> (f64, f64) {
    (value(parameter, 0, 0), value(parameter, 255, 255))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_in_order_and_a_stranger_is_none() {
        assert!(PARAMETERS.windows(2).all(|p| p[0].id < p[1].id));
        assert_eq!(find(0x99), None);
    }

    #[test]
    fn a_single_byte_does_not_look_at_the_next() {
        let coolant = find(0x05).unwrap();
        assert!((value(coolant, 0x7B, 0xFF) - 83.0).abs() < 1e-12);
    }
}
