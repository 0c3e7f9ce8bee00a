//! The confidence interval of the mean of consecutive readings.

/// A mean and the half-width of its 95 % confidence interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The mean.
    pub mean: f64,
    /// The half-width.
    pub half: f64,
    /// Number of values.
    pub count: usize,
}

impl Interval {
    /// Whether two intervals are significantly different: the difference exceeds both errors combined.
    pub(super) fn apart(&self, other: &Self) -> bool {
        (self.mean - other.mean).abs() > self.half.hypot(other.half)
    }
}

/// Number of standard deviations for a two-sided 95 % interval.
pub(super) const NORMAL: f64 = 1.959_964;

/// Student's t for a two-sided 95 % interval, from common tables; beyond the end of the table from the first terms of
/// its series.
pub(super) fn student(freedom: f64) -> f64 {
    const TABLE: [f64; 10] = [
        12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
    ];
    let freedom = freedom.max(1.0);
    let at = freedom.floor() as usize;
    match (TABLE.get(at - 1), TABLE.get(at)) {
        (Some(low), Some(high)) => low + (high - low) * freedom.fract(),
        _ => {
            let z = NORMAL;
            z + (z.powi(3) + z) / (4.0 * freedom)
                + (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / (96.0 * freedom * freedom)
        }
    }
}

/// Correlation of each value with the next, not below zero. With few values it is underestimated; one over their number
/// is added to compensate.
pub(super) fn alike(values: &[f64], mean: f64) -> f64 {
    let square: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    if values.len() < 4 || square <= 0.0 {
        return 0.0;
    }
    let next: f64 = values
        .windows(2)
        .map(|w| (w[0] - mean) * (w[1] - mean))
        .sum();
    (next / square + 1.0 / values.len() as f64).clamp(0.0, 0.9)
}

/// The interval of the mean of values in time order; `None` for fewer than three.
///
/// Correlation of neighbours reduces the effective number of values to `n (1 − r)/(1 + r)`.
pub(super) fn interval(values: &[f64]) -> Option<Interval> {
    about(values, 0.0)
}

/// The interval of the mean of values that are each a weighted mean (a quarter, a half and a quarter) of three
/// consecutive ones: the overlap correlates these values, which a small sample does not show.
pub(super) fn overlapping(values: &[f64]) -> Option<Interval> {
    about(values, SHARED)
}

/// Effect of the overlap on the variance of the mean of many values, as an equivalent correlation of neighbours: (1 +
/// r)/(1 − r) = 1/(¼² + ½² + ¼²).
const SHARED: f64 = 5.0 / 11.0;

/// The interval with a correlation of neighbours of at least `least`.
fn about(values: &[f64], least: f64) -> Option<Interval> {
    let count = values.len();
    if count < 3 {
        return None;
    }
    let mean = values.iter().sum::<f64>() / count as f64;
    let square: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    let r = alike(values, mean).max(least);
    let worth = (count as f64 * (1.0 - r) / (1.0 + r)).max(2.0);
    let sigma = (square / (count as f64 - 1.0)).sqrt();
    Some(Interval {
        mean,
        half: student(worth - 1.0) * sigma / worth.sqrt(),
        count,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};

    #[test]
    fn student_as_in_tables() {
        // Common tables, from memory: 2.086 at 20, 2.042 at 30, 1.984 at 100.
        for (freedom, wanted) in [
            (1.0, 12.706),
            (5.0, 2.571),
            (20.0, 2.086),
            (30.0, 2.042),
            (100.0, 1.984),
        ] {
            assert!((student(freedom) - wanted).abs() < 2e-3, "{freedom}");
        }
    }

    #[test]
    fn by_hand() {
        // 1, 2, 3: mean 2, s = 1, t = 4.303, half = 4.303/√3.
        let i = interval(&[1.0, 2.0, 3.0]).unwrap();
        assert!((i.mean - 2.0).abs() < 1e-12 && (i.half - 2.484).abs() < 1e-3);
        assert_eq!(interval(&[1.0, 2.0]), None);
    }

    #[test]
    fn few_values_that_overlap_hold_the_mean_as_often_as_they_say() {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        for count in [3, 4, 5, 6, 8, 12, 20, 40] {
            let tries = 2000;
            let held = (0..tries).filter(|_| {
                let noise: Vec<f64> = (0..count + 2)
                    .map(|_| (0..12).map(|_| random.random_range(-0.5..0.5)).sum())
                    .collect();
                let of = |w: &[f64]| 0.25 * w[0] + 0.5 * w[1] + 0.25 * w[2];
                let values: Vec<f64> = noise.windows(3).map(of).collect();
                let i = overlapping(&values).unwrap();
                i.mean.abs() <= i.half
            });
            // At least 95 of 100, except by chance.
            let share = held.count() as f64 / f64::from(tries);
            assert!(share >= 0.94, "{count}: {share}");
        }
    }

    #[test]
    fn the_interval_holds_the_mean_as_often_as_it_says() {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(6);
        for (count, memory) in [(8, 0.0), (40, 0.0), (40, 0.5)] {
            let tries = 2000;
            let held = (0..tries)
                .filter(|_| {
                    let mut last = 0.0;
                    let values: Vec<f64> = (0..count)
                        .map(|_| {
                            let noise: f64 = (0..12).map(|_| random.random_range(-0.5..0.5)).sum();
                            last = memory * last + noise;
                            last
                        })
                        .collect();
                    let i = interval(&values).unwrap();
                    i.mean.abs() <= i.half
                })
                .count();
            let share = held as f64 / f64::from(tries);
            assert!((0.90..=0.99).contains(&share), "{count}, {memory}: {share}");
        }
    }
}
