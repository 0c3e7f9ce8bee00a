//! Rates of warm-up and of cooling while parked, which are kept in a notebook.

use crate::model::log::{SIGNALS, Sample, Signal};

/// Temperature range of the warm-up rate, K.
const WARM_UP: [f64; 2] = [273.15 + 40.0, 273.15 + 70.0];

/// Readings before and after a gap give a cooling rate if the gap is at least this long, s, and the coolant fell by
/// more than this, K.
const PARKED: (f64, f64) = (600.0, 5.0);

/// After a gap the first readings of the other signals follow within this time, s.
const AFTER: f64 = 60.0;

/// Minimum excess over ambient for a cooling rate, K.
const LEAST: f64 = 10.0;

/// Maximum number of warm-ups, and of coolings, that are kept.
const KEPT: usize = 32;

/// A warm-up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WarmUp {
    /// Start of the warm-up, s.
    pub from: f64,
    /// Rate of rise of the coolant between 40 and 70 °C, K/s.
    pub rate: f64,
    /// Coolant temperature when the engine was started, K.
    pub begins: f64,
    /// Mean of each signal since the engine was started; NaN if it was not logged.
    pub means: [f64; SIGNALS.len()],
}

impl WarmUp {
    /// The coolant temperatures between which the rate is taken, K.
    pub const ENDS: [f64; 2] = WARM_UP;

    /// Mean of a signal since the engine was started.
    pub fn mean(&self, signal: Signal) -> f64 {
        self.means[signal as usize]
    }
}

/// Time means of all signals.
#[derive(Clone, Debug)]
struct Means {
    /// Coolant temperature at the start, K.
    begins: f64,
    /// Integral of each signal over time, and the time for which it was known.
    sums: [(f64, f64); SIGNALS.len()],
}

impl Means {
    fn from(begins: f64) -> Self {
        Self {
            begins,
            sums: [(0.0, 0.0); SIGNALS.len()],
        }
    }

    fn add(&mut self, sample: &Sample) {
        for (signal, sum) in SIGNALS.into_iter().zip(&mut self.sums) {
            let value = sample.get(signal);
            if value.is_finite() {
                *sum = (sum.0 + value * sample.step, sum.1 + sample.step);
            }
        }
    }

    fn all(&self) -> [f64; SIGNALS.len()] {
        self.sums.map(|(sum, time)| sum / time)
    }
}

/// Cooling while parked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Soak {
    /// Start of the cooling, s.
    pub from: f64,
    /// Duration of the cooling, s.
    pub long: f64,
    /// Coolant temperature before and after, K.
    pub ends: [f64; 2],
    /// Ambient temperature, K; NaN if unknown.
    pub ambient: f64,
    /// Relative rate of decay of the excess over ambient, 1/s; `None` if ambient temperature is unknown.
    pub rate: Option<f64>,
}

impl Soak {
    /// Whether the ambient temperature of the cooling is still unknown, and `time`, s, is shortly after the cooling.
    fn awaits(&self, time: f64) -> bool {
        self.ambient.is_nan() && time <= self.from + self.long + AFTER
    }

    /// Sets the ambient temperature, K, and computes the rate from it.
    fn on(&mut self, ambient: f64) {
        let [before, after] = self.ends.map(|t| t - ambient);
        self.ambient = ambient;
        self.rate = (after >= LEAST && before > after).then(|| (before / after).ln() / self.long);
    }
}

/// Collects rates.
#[derive(Clone, Debug, Default)]
pub struct Rates {
    /// Warm-ups.
    pub warm_ups: Vec<WarmUp>,
    /// Cooling while parked.
    pub soaks: Vec<Soak>,
    begun: Option<f64>,
    /// Means since the engine was started.
    running: Option<Means>,
    /// Time of the last reading, s, and its value, K.
    last: Option<(f64, f64)>,
    /// Time, s, of the first reading with the engine off, and its value, K; `None` while the engine runs.
    rest: Option<(f64, f64)>,
}

impl Rates {
    /// Adds a row.
    pub fn add(&mut self, sample: &Sample) {
        let coolant = sample.get(Signal::Coolant);
        if coolant.is_nan() {
            return;
        }
        if let Some(soak) = self.soaks.last_mut().filter(|s| s.awaits(sample.time)) {
            soak.on(sample.get(Signal::Ambient));
        }
        let last = self.last.replace((sample.time, coolant));
        let engine = sample.get(Signal::EngineSpeed);
        if engine <= 0.0 {
            self.running = None;
        } else if sample.gap || self.running.is_none() {
            self.running = Some(Means::from(coolant));
        } else if let Some(running) = &mut self.running {
            running.add(sample);
        }
        if let Some((time, then)) = last {
            if sample.gap {
                self.begun = None;
                self.soaked(time, then, sample);
            }
            let crossed = |level: f64| !sample.gap && then < level && coolant >= level;
            if crossed(WARM_UP[0]) {
                self.begun = Some(sample.time);
            }
            if coolant < WARM_UP[0] {
                self.begun = None;
            }
            if crossed(WARM_UP[1])
                && let Some(from) = self.begun.take()
                && sample.time > from
                && let Some(running) = &self.running
                && self.warm_ups.len() < KEPT
            {
                self.warm_ups.push(WarmUp {
                    from,
                    rate: (WARM_UP[1] - WARM_UP[0]) / (sample.time - from),
                    begins: running.begins,
                    means: running.all(),
                });
            }
        }
        // Logged cooling with the engine off.
        match (engine <= 0.0 && !sample.gap, self.rest) {
            (true, None) => self.rest = Some((sample.time, coolant)),
            (true, Some(_)) => {}
            (false, Some((from, then))) => {
                self.rest = None;
                if !sample.gap {
                    self.soaked(from, then, sample);
                }
            }
            (false, None) => {}
        }
    }

    fn soaked(&mut self, from: f64, then: f64, sample: &Sample) {
        let (long, coolant) = (sample.time - from, sample.get(Signal::Coolant));
        if long < PARKED.0 || then - coolant < PARKED.1 || self.soaks.len() >= KEPT {
            return;
        }
        let mut soak = Soak {
            from,
            long,
            ends: [then, coolant],
            ambient: f64::NAN,
            rate: None,
        };
        soak.on(sample.get(Signal::Ambient));
        self.soaks.push(soak);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn celsius(t: f64) -> f64 {
        t + 273.15
    }

    /// By hand: cooling from 60 K to 60/e K above ambient in an hour gives a rate constant of 1/3600 s⁻¹; the warm-up
    /// rate is 3 K/min.
    #[test]
    fn rates_by_hand() {
        let mut rates = Rates::default();
        let mut add = |time: f64, step: f64, gap: bool, t: f64| {
            let known = [
                (Signal::Coolant, celsius(t)),
                (Signal::Ambient, celsius(20.0)),
                (Signal::EngineSpeed, 80.0),
            ];
            rates.add(&Sample::of(time, step, gap, &known));
        };
        for i in 0..=1200 {
            add(
                f64::from(i),
                1.0,
                false,
                (20.0 + f64::from(i) / 20.0).min(80.0),
            );
        }
        add(4800.0, 3600.0, true, 20.0 + 60.0 / std::f64::consts::E);
        assert!((rates.warm_ups[0].rate * 60.0 - 3.0).abs() < 0.02);
        assert!((rates.soaks[0].rate.unwrap() * 3600.0 - 1.0).abs() < 1e-9);
        let first = rates.warm_ups[0];
        assert!((first.begins - celsius(20.0)).abs() < 1e-9);
        assert!((first.mean(Signal::EngineSpeed) - 80.0).abs() < 1e-9);
        assert!((first.mean(Signal::Ambient) - celsius(20.0)).abs() < 1e-9);
        assert!(first.mean(Signal::FuelRate).is_nan());
    }
}
