//! Wire and fuse of one electric fan.

use crate::law::{conductor_resistance_iec_60028 as copper, wire_gauge_astm_b258 as gauge};

/// Wire sizes, mm², each with its continuous current in a warm engine bay, A. The currents are somewhat below the rule
/// of thumb of 15 A for gauge 14, 20 A for gauge 12 and 30 A for gauge 10 *(common practice, no source)*.
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

/// American wire gauges on the market, thinnest first.
const GAUGES: [u8; 9] = [18, 16, 14, 12, 10, 8, 6, 4, 2];

/// Ratings of fuses, A.
const FUSES: [f64; 14] = [
    5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 120.0,
];

/// Minimum rating of the fuse relative to the running current *(common practice, no source)*.
const FUSE_OVER: f64 = 1.25;

/// Maximum voltage drop over supply and return wire, relative to the system voltage *(common practice, no source)*.
const DROP: f64 = 0.03;

/// Temperature of the copper in a warm engine bay, K *(engineering assumption)*.
const WARM: f64 = 353.15;

/// Maximum resistance of a flexible wire relative to solid copper of its nominal size: IEC 60228, class 5.
pub const STRANDED: f64 = 1.16;

/// Starting current of a fan relative to its running current: 2 to 3 times *(common practice, no source)*.
pub const STARTING: f64 = 3.0;

/// The circuit of one fan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wiring {
    /// Rating of the fuse, A.
    pub fuse: f64,
    /// Nominal size of the wire, mm².
    pub size: f64,
    /// The thinnest wire gauge of at least this size; `None` if no gauge on the market is thick enough.
    pub gauge: Option<u8>,
    /// Voltage drop over supply and return wire at the running current, V.
    pub drop: f64,
}

/// Voltage drop, V, over supply and return wire at a current (A), for flexible wire of a size (mm²) and one-way length
/// (m).
pub fn drop(current: f64, size: f64, length: f64) -> f64 {
    current * STRANDED * copper::resistance(2.0 * length, size * 1e-6, WARM)
}

/// The fuse, and the thinnest wire that the fuse protects and whose voltage drop is acceptable; `None` if no size
/// suffices.
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
        // By hand: the fuse is 25 A. 4 mm² carries only 22 A. 6 mm² carries 32 A, but its resistance of 1.16 ·
        // 17.241e-9 · 6 / 6e-6 · 1.2358 = 24.7 mΩ drops 0.494 V, above the limit of 0.405 V. 10 mm² drops 0.297 V.
        assert!((w.fuse - 25.0).abs() < 1e-12 && (w.size - 10.0).abs() < 1e-12);
        assert!((w.drop - 0.2966).abs() < 1e-3, "{}", w.drop);
        assert_eq!(w.gauge, Some(6));
        // A short wire is chosen by its current rating.
        assert!((wiring(20.0, 13.5, 0.5).unwrap().size - 6.0).abs() < 1e-12);
        assert_eq!(wiring(200.0, 13.5, 1.0), None);
    }
}
