//! The normal distribution: quantiles, tail probabilities, and moments after truncation to an interval. Also the tail
//! probability of the chi-square distribution.

use std::f64::consts::PI;

/// The quantile of a standard normal distribution at probability `p`.
///
/// Algorithm AS 241, single precision form: Wichura 1988, *The percentage points of the normal distribution*, Applied
/// Statistics 37, 477–484 (PPND7, accurate to about 1 in 10⁷). Coefficients quoted from memory; the tests below check
/// them against published percentage points.
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

/// Mills' ratio, the upper tail probability divided by the density, for x ≥ 0: by a power series below 4, by a
/// continued fraction above.
fn mills(x: f64) -> f64 {
    if x < 4.0 {
        // The tail probability 1/2 − φ Σ x^(2k+1)/(2k+1)!!, divided by the density φ.
        let (mut term, mut sum, mut k) = (x, x, 1.0);
        while term > 1e-17 * sum && k < 400.0 {
            term *= x * x / (2.0 * k + 1.0);
            sum += term;
            k += 1.0;
        }
        return 0.5 / density(x) - sum;
    }
    let mut fraction = x;
    for k in (1..60).rev() {
        fraction = x + f64::from(k) / fraction;
    }
    1.0 / fraction
}

/// The standard normal density.
fn density(x: f64) -> f64 {
    (-0.5 * x * x).exp() / (2.0 * PI).sqrt()
}

/// The probability that a standard normal variable exceeds `x`.
pub fn upper_tail(x: f64) -> f64 {
    if x < 0.0 {
        1.0 - upper_tail(-x)
    } else {
        mills(x) * density(x)
    }
}

/// The standard normal distribution truncated to the interval from `a` to `b`: the logarithm of the probability of the
/// interval, and the mean and variance after truncation.
pub fn between(a: f64, b: f64) -> (f64, f64, f64) {
    if a + b < 0.0 {
        let (share, mean, variance) = between(-b, -a);
        return (share, -mean, variance);
    }
    let wide = b - a;
    let middle = 0.5 * (a + b);
    if wide * middle.max(1.0) < 1e-3 {
        // In so narrow an interval the difference of two tail probabilities would be inaccurate, but the density is
        // almost linear.
        let share = wide.ln() - 0.5 * middle * middle - 0.5 * (2.0 * PI).ln();
        return (
            share,
            middle - middle * wide * wide / 12.0,
            wide * wide / 12.0,
        );
    }
    // All values are divided by the density at `a`, or by the density at 0 if `a` is negative.
    let at = a.max(0.0);
    let over = |x: f64| (0.5 * (at * at - x * x)).exp();
    let beyond = |x: f64| {
        if x >= 0.0 {
            mills(x) * over(x)
        } else {
            // The total probability minus the lower tail; both are divided by the density at 0, because `at` is 0 here.
            (2.0 * PI).sqrt() - mills(-x) * over(x)
        }
    };
    let share = beyond(a) - beyond(b);
    let mean = (over(a) - over(b)) / share;
    let variance = 1.0 + (a * over(a) - b * over(b)) / share - mean * mean;
    (
        share.ln() - 0.5 * at * at - 0.5 * (2.0 * PI).ln(),
        mean,
        variance.clamp(0.0, 1.0),
    )
}

/// The probability that a chi-square variable with `freedom` degrees of freedom exceeds `x`, by finite sums (Abramowitz
/// and Stegun 1964, *Handbook of Mathematical Functions*, 26.4.4 and 26.4.5, from memory; the tests below check it
/// against published percentage points).
pub fn chi_square_tail(x: f64, freedom: usize) -> f64 {
    if x <= 0.0 || freedom == 0 {
        return 1.0;
    }
    let (mut term, mut tail) = if freedom.is_multiple_of(2) {
        ((-0.5 * x).exp(), 0.0)
    } else {
        let root = x.sqrt();
        (2.0 * density(root) * root, 2.0 * upper_tail(root))
    };
    let mut next = if freedom.is_multiple_of(2) { 2.0 } else { 3.0 };
    for _ in 0..freedom / 2 {
        tail += term;
        term *= x / next;
        next += 2.0;
    }
    tail.min(1.0)
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
    #[test]
    fn tails_undo_quantiles_and_meet_printed_points() {
        for p in [1e-9, 1e-4, 0.02, 0.3, 0.5, 0.8, 0.999] {
            assert!((upper_tail(-quantile(p)) / p - 1.0).abs() < 1e-5, "{p}");
        }
        // Printed in any table of the normal distribution.
        for (x, tail) in [
            (1.0, 0.158_655_254),
            (2.0, 0.022_750_132),
            (3.0, 1.349_898e-3),
            (4.0, 3.167_124e-5),
            (5.0, 2.866_516e-7),
            (6.0, 9.865_876e-10),
        ] {
            assert!((upper_tail(x) / tail - 1.0).abs() < 1e-6, "{x}");
        }
    }

    #[test]
    fn an_interval_is_as_summed_in_small_steps() {
        for (a, b) in [
            (-1.0, 2.0),
            (0.5, 0.9),
            (-8.0, -3.0),
            (6.0, 9.0),
            (-0.2, 0.1),
            (3.0, 3.01),
        ] {
            let steps = 200_000;
            let (mut s0, mut s1, mut s2) = (0.0, 0.0, 0.0);
            for i in 0..steps {
                let x: f64 = a + (b - a) * (f64::from(i) + 0.5) / f64::from(steps);
                let d = density(x) * (b - a) / f64::from(steps);
                (s0, s1, s2) = (s0 + d, s1 + x * d, s2 + x * x * d);
            }
            let (share, mean, variance) = between(a, b);
            assert!((share - s0.ln()).abs() < 1e-7, "{a} {b}");
            assert!((mean - s1 / s0).abs() < 1e-6, "{a} {b}");
            let summed = s2 / s0 - (s1 / s0).powi(2);
            assert!(
                (variance / summed - 1.0).abs() < 1e-3,
                "{a} {b}: {variance} {summed}"
            );
        }
    }

    #[test]
    fn an_interval_that_holds_all_there_is_cuts_nothing_out() {
        // The density underflows at the ends of these intervals.
        for (a, b) in [(-47.0, 90.0), (-1e4, 39.0), (-38.0, 38.0), (-1e200, 1e200)] {
            let (share, mean, variance) = between(a, b);
            assert!(share.abs() < 1e-12 && mean.abs() < 1e-12, "{share} {mean}");
            assert!((variance - 1.0).abs() < 1e-12, "{variance}");
        }
    }

    #[test]
    fn chi_square_meets_its_percentage_points() {
        // Upper 5 % and 1 % points, as printed in any statistical table.
        for (freedom, five, one) in [
            (1, 3.841, 6.635),
            (2, 5.991, 9.210),
            (3, 7.815, 11.345),
            (5, 11.070, 15.086),
            (10, 18.307, 23.209),
        ] {
            assert!((chi_square_tail(five, freedom) - 0.05).abs() < 5e-5);
            assert!((chi_square_tail(one, freedom) - 0.01).abs() < 2e-5);
        }
    }
}
