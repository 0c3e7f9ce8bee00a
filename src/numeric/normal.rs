//! The normal distribution's quantiles.

/// The value below which a share `p` of a standard normal lies.
///
/// Algorithm AS 241, single precision form: Wichura 1988, *The percentage points of the normal distribution*, Applied
/// Statistics 37, 477–484 (PPND7, accurate to about 1 in 10⁷). Coefficients from memory; checked below against published
/// percentage points.
pub fn quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180625 - q * q;
        return q
            * (((59.109_374_72 * r + 159.291_132_02) * r + 50.434_271_938) * r + 3.387_132_717_9)
            / (((67.187_563_6 * r + 78.757_757_664) * r + 17.895_169_469) * r + 1.0);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 {
        return if q < 0.0 {
            f64::NEG_INFINITY
        } else {
            f64::INFINITY
        };
    }
    let r = (-tail.ln()).sqrt();
    let z = if r <= 5.0 {
        let r = r - 1.6;
        (((0.170_238_210_3 * r + 1.306_728_481_6) * r + 2.756_815_39) * r + 1.423_437_277_7)
            / ((0.120_211_326_75 * r + 0.737_001_642_5) * r + 1.0)
    } else {
        let r = r - 5.0;
        (((0.017_337_203_997 * r + 0.428_682_948_37) * r + 3.081_226_386) * r + 6.657_905_115)
            / ((0.012_258_202_635 * r + 0.241_978_942_25) * r + 1.0)
    };
    if q < 0.0 { -z } else { z }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Percentage points of the normal distribution, as printed in any statistical table.
    const TABLE: [(f64, f64); 8] = [
        (0.5, 0.0),
        (0.6, 0.253_347_1),
        (0.75, 0.674_489_8),
        (0.9, 1.281_551_6),
        (0.95, 1.644_853_6),
        (0.975, 1.959_964_0),
        (0.999, 3.090_232_3),
        (0.999_999, 4.753_424_3),
    ];

    #[test]
    fn meets_the_table_on_both_sides() {
        for (p, z) in TABLE {
            assert!((quantile(p) - z).abs() < 2e-6, "{p}: {}", quantile(p));
            assert!((quantile(1.0 - p) + z).abs() < 2e-6, "{p}");
        }
    }
}
