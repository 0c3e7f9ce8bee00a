//! Wire and fuse of one electric fan.

use crate::law::{conductor_resistance_iec_60028 as copper, wire_gauge_astm_b258 as gauge};

/// Sizes of wire, mm², with what each carries for long in a warm engine bay, A: a step below the rule of thumb that gauge 14
/// carries 15 A, gauge 12 carries 20 A and gauge 10 carries 30 A *(common practice, no source)*.
const SIZES: [(f64, f64); 9] = [
    (1.0, 7.5),
    (1.5, 10.0),
    (2.5, 15.0),
    (4.0, 22.0),
    (6.0, 32.0),
    (10.0, 50.0),
    (16.0, 70.0),
    (25.0, 95.0),
    (35.0, 120.0),
];

/// Gauges that are sold, the thinnest first.
const GAUGES: [u8; 9] = [18, 16, 14, 12, 10, 8, 6, 4, 2];

/// Ratings of fuses, A.
const FUSES: [f64; 14] = [
    5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 120.0,
];

/// Least rating of the fuse over the running current *(common practice, no source)*.
const FUSE_OVER: f64 = 1.25;

/// Greatest drop of voltage in the wire, there and back, over the system's voltage *(common practice, no source)*.
const DROP: f64 = 0.03;

/// Temperature of the copper in a warm engine bay, K *(engineering assumption)*.
const WARM: f64 = 353.15;

/// Resistance of a flexible wire over that of solid copper of its nominal size, at most: IEC 60228, class 5.
pub const STRANDED: f64 = 1.16;

/// What a fan draws when it starts over what it draws running: 2 to 3 times *(common practice, no source)*.
pub const STARTING: f64 = 3.0;

/// The circuit of one fan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wiring {
    /// Rating of the fuse, A.
    pub fuse: f64,
    /// Nominal size of the wire, mm².
    pub size: f64,
    /// The gauge that is no thinner; none where none that is sold is.
    pub gauge: Option<u8>,
    /// Drop of voltage there and back while running, V.
    pub drop: f64,
}

/// Drop of voltage, V, of a current (A) there and back through a flexible wire of a size (mm²) and a length (m) one way.
pub fn drop(current: f64, size: f64, length: f64) -> f64 {
    current * STRANDED * copper::resistance(2.0 * length, size * 1e-6, WARM)
}

/// Fuse and the thinnest wire that the fuse protects and that does not lose too much voltage; none where no size does.
pub fn wiring(current: f64, voltage: f64, length: f64) -> Option<Wiring> {
    let fuse = FUSES.into_iter().find(|f| *f >= FUSE_OVER * current)?;
    let (size, _) = SIZES.into_iter().find(|(size, carries)| {
        *carries >= fuse && drop(current, *size, length) <= DROP * voltage
    })?;
    Some(Wiring {
        fuse,
        size,
        gauge: GAUGES
            .into_iter()
            .find(|g| gauge::area(f64::from(*g)) >= 0.97e-6 * size),
        drop: drop(current, size, length),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fan_of_20_amperes_gets_a_fuse_and_a_wire_that_the_fuse_protects() {
        let w = wiring(20.0, 13.5, 3.0).unwrap();
        // By hand: 25 A; 4 mm² carries 22 A only, 6 mm² 32 A; 1.16 · 17.241e-9 · 6 / 6e-6 · 1.2358 = 24.7 mΩ, 0.494 V: too
        // much of 0.405 V; 10 mm²: 0.297 V.
        assert!((w.fuse - 25.0).abs() < 1e-12 && (w.size - 10.0).abs() < 1e-12);
        assert!((w.drop - 0.2966).abs() < 1e-3, "{}", w.drop);
        assert_eq!(w.gauge, Some(6));
        // A short one is chosen by what it carries.
        assert!((wiring(20.0, 13.5, 0.5).unwrap().size - 6.0).abs() < 1e-12);
        assert_eq!(wiring(200.0, 13.5, 1.0), None);
    }
}
