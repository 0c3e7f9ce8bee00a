//! A log reduced to the resolution of a chart.

use crate::model::log::{Sample, Signal};

/// Maximum number of bins.
const MOST: usize = 1200;

/// The signals that are averaged.
const KEPT: [Signal; 7] = [
    Signal::Coolant,
    Signal::RoadSpeed,
    Signal::EngineSpeed,
    Signal::Ambient,
    Signal::Altitude,
    Signal::AirConditioning,
    Signal::FanCommand,
];

/// The data of one bin.
#[derive(Clone, Copy, Debug, Default)]
pub struct Bin {
    /// Time and time-weighted sum of each averaged signal.
    sums: [(f64, f64); KEPT.len()],
    /// Maximum coolant temperature, K; zero if unknown.
    pub coolant_most: f64,
    /// Whether a gap ends in this bin.
    pub after_gap: bool,
}

impl Bin {
    /// Mean of a signal, SI; NaN if unknown or not averaged.
    pub fn mean(&self, signal: Signal) -> f64 {
        let kept = KEPT.iter().zip(&self.sums);
        kept.filter(|(s, _)| **s == signal)
            .map(|(_, (time, sum))| sum / time)
            .next()
            .unwrap_or(f64::NAN)
    }

    /// Mean coolant temperature, K; NaN if unknown.
    pub fn coolant(&self) -> f64 {
        self.mean(Signal::Coolant)
    }

    /// Mean road speed, m/s; NaN if unknown.
    pub fn speed(&self) -> f64 {
        self.mean(Signal::RoadSpeed)
    }

    fn with(mut self, other: Self) -> Self {
        for (own, (time, sum)) in self.sums.iter_mut().zip(other.sums) {
            own.0 += time;
            own.1 += sum;
        }
        self.coolant_most = self.coolant_most.max(other.coolant_most);
        self.after_gap |= other.after_gap;
        self
    }
}

/// The log in bins of equal length, which increases with the length of the log.
#[derive(Clone, Debug)]
pub struct Curve {
    /// Length of a bin, s.
    pub width: f64,
    /// The bins.
    pub bins: Vec<Bin>,
}

impl Default for Curve {
    fn default() -> Self {
        Self {
            width: 1.0,
            bins: Vec::new(),
        }
    }
}

impl Curve {
    /// Adds a row.
    pub fn add(&mut self, sample: &Sample) {
        while sample.time >= self.width * MOST as f64 {
            self.bins = self
                .bins
                .chunks(2)
                .map(|pair| pair.iter().fold(Bin::default(), |a, b| a.with(*b)))
                .collect();
            self.width *= 2.0;
        }
        let at = (sample.time / self.width) as usize;
        if at >= self.bins.len() {
            self.bins.resize(at + 1, Bin::default());
        }
        let weight = if sample.gap {
            1e-3
        } else {
            sample.step.max(1e-3)
        };
        let coolant = sample.get(Signal::Coolant);
        if let Some(bin) = self.bins.get_mut(at) {
            bin.after_gap |= sample.gap;
            if coolant.is_finite() {
                bin.coolant_most = bin.coolant_most.max(coolant);
            }
            for (signal, (time, sum)) in KEPT.into_iter().zip(&mut bin.sums) {
                let value = sample.get(signal);
                if value.is_finite() {
                    *time += weight;
                    *sum += weight * value;
                }
            }
        }
    }

    /// Start and end, s, of the periods in which the mean of a signal satisfies a condition. Bins without a reading do
    /// not split a period; a gap does.
    pub fn spans(&self, signal: Signal, is: impl Fn(f64) -> bool) -> Vec<(f64, f64)> {
        let mut spans: Vec<(f64, f64)> = Vec::new();
        let mut runs = false;
        for (i, bin) in self.bins.iter().enumerate() {
            let (value, from) = (bin.mean(signal), i as f64 * self.width);
            runs &= !bin.after_gap;
            if value.is_nan() {
                continue;
            }
            let on = is(value);
            match spans.last_mut().filter(|_| on && runs) {
                Some(last) => last.1 = from + self.width,
                None if on => spans.push((from, from + self.width)),
                None => {}
            }
            runs = on;
        }
        spans
    }

    /// Mid-time of a bin, s.
    pub fn middle(&self, at: usize) -> f64 {
        (at as f64 + 0.5) * self.width
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked out by hand: standstill from 2 to 5 s although the row at 3 s is missing, from 6 s up to a gap, and after
    /// the gap.
    #[test]
    fn spans_by_hand() {
        let mut curve = Curve::default();
        let rows = [
            (0, 9.0),
            (1, 9.0),
            (2, 0.0),
            (4, 0.0),
            (5, 9.0),
            (6, 0.0),
            (60, 0.0),
        ];
        for (at, speed) in rows {
            let known = [(Signal::RoadSpeed, speed)];
            curve.add(&Sample::of(f64::from(at), 1.0, at == 60, &known));
        }
        let standing = curve.spans(Signal::RoadSpeed, |v| v < 0.5);
        assert_eq!(standing, [(2.0, 5.0), (6.0, 7.0), (60.0, 61.0)]);
    }

    #[test]
    fn a_long_log_stays_small_and_keeps_its_peak() {
        let mut curve = Curve::default();
        for i in 0..100_000 {
            let t = if i == 77_777 { 390.0 } else { 360.0 };
            curve.add(&Sample::of(
                f64::from(i),
                1.0,
                false,
                &[(Signal::Coolant, t)],
            ));
        }
        assert!(curve.bins.len() <= MOST && curve.bins.len() > MOST / 4);
        let most = curve
            .bins
            .iter()
            .map(|b| b.coolant_most)
            .fold(0.0, f64::max);
        assert!((most - 390.0).abs() < 1e-9);
        assert!((curve.bins[3].coolant() - 360.0).abs() < 1e-6);
    }
}
