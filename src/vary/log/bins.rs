//! Temperatures in bins of one degree, from −40 °C upwards.

/// The most frequent temperature from 60 °C upwards, K, in a histogram of one-degree bins (s): the mean over the degree
/// with the most time and its two neighbours; the time in these three; and the whole time from 60 °C upwards.
pub(super) fn mode(bins: &[f64]) -> Option<(f64, f64, f64)> {
    let warm = 100;
    let all: f64 = bins[warm..].iter().sum();
    let at = (warm..bins.len() - 1).max_by(|a, b| bins[*a].total_cmp(&bins[*b]))?;
    let three = &bins[at - 1..=at + 1];
    let time: f64 = three.iter().sum();
    let weighed = three.iter().enumerate().map(|(k, t)| t * (at + k) as f64);
    let level = weighed.sum::<f64>() / time - 1.0 + 233.15;
    (bins[at] > 0.0).then_some((level, time, all))
}

/// The one-degree bin, from −40 °C upwards, of a temperature (K).
pub(super) fn degree(temperature: f64) -> usize {
    (temperature - 233.15 + 0.5).clamp(0.0, 219.0) as usize
}
