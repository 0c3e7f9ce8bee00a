//! Means over short stretches, by pace.

use crate::model::log::{SIGNALS, Sample, Signal};

/// Length of a stretch, s.
pub(super) const LONG: f64 = 120.0;

/// The signals whose steps are looked for.
const STEPPED: [Signal; 2] = [Signal::Coolant, Signal::Ambient];

/// How many stretches are kept; of more, every second one goes, and so on.
const MOST: usize = 4096;

/// How fast the vehicle goes. The bounds are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// Below 2 km/h.
    Standing,
    /// Below 20 km/h.
    Crawling,
    /// Below 60 km/h.
    Slow,
    /// From 60 km/h.
    Fast,
    /// Not known.
    Unknown,
}

impl Pace {
    /// All, in the order of their number.
    pub const ALL: [Self; 5] = [
        Self::Standing,
        Self::Crawling,
        Self::Slow,
        Self::Fast,
        Self::Unknown,
    ];

    /// The pace at a road speed, m/s.
    pub fn of(speed: f64) -> Self {
        match speed * 3.6 {
            v if v.is_nan() => Self::Unknown,
            v if v < 2.0 => Self::Standing,
            v if v < 20.0 => Self::Crawling,
            v if v < 60.0 => Self::Slow,
            _ => Self::Fast,
        }
    }

    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Standing => "standing",
            Self::Crawling => "crawling",
            Self::Slow => "driving slowly",
            Self::Fast => "driving fast",
            Self::Unknown => "speed not known",
        }
    }

    /// As programs read it.
    pub fn key(self) -> &'static str {
        match self {
            Self::Standing => "standing",
            Self::Crawling => "crawling",
            Self::Slow => "driving_slowly",
            Self::Fast => "driving_fast",
            Self::Unknown => "unknown",
        }
    }
}

/// Means over about two minutes without a gap.
#[derive(Clone, Copy, Debug)]
pub struct Stretch {
    /// When it began, s.
    pub from: f64,
    /// How long it is, s.
    pub long: f64,
    /// Its pace: by mean road speed.
    pub pace: Pace,
    /// How fast the coolant rose, K/s.
    pub slope: f64,
    /// Share of time with the engine running; not a number where that is not known.
    pub running: f64,
    means: [f64; SIGNALS.len()],
}

impl Stretch {
    /// Mean of a signal, in SI; not a number where it was not known most of the time.
    pub fn mean(&self, signal: Signal) -> f64 {
        self.means[signal as usize]
    }

    /// Sets a mean by hand: what the asker says instead of the log.
    pub fn with(mut self, signal: Signal, value: f64) -> Self {
        self.means[signal as usize] = value;
        self
    }

    /// Whether the engine was warm and mostly running.
    pub fn warm(&self) -> bool {
        self.mean(Signal::Coolant) >= 273.15 + 70.0
            && (self.running.is_nan() || self.running >= 0.5)
    }

    /// Whether it was warm and running and its temperature nearly at rest, to within K/s.
    pub fn steady(&self, within: f64) -> bool {
        self.warm() && self.slope.abs() <= within && (self.running.is_nan() || self.running >= 0.8)
    }
}

/// Sums over the stretch that still runs.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    from: f64,
    long: f64,
    running: (f64, f64),
    sums: [(f64, f64); SIGNALS.len()],
    /// Of coolant: time, temperature, their squares and product, all weighed by time.
    line: (f64, f64, f64),
}

/// Gathers stretches.
#[derive(Clone, Debug)]
pub struct Stretches {
    /// Those that are complete.
    pub all: Vec<Stretch>,
    /// Manifold pressure at idle, standing: time and pressure times time.
    idle: (f64, f64),
    /// The least change of coolant and ambient from one row to the next, K.
    steps: [f64; 2],
    now: Sums,
    last: Option<Sample>,
    /// Of so many stretches, one is kept.
    every: usize,
    count: usize,
}

impl Default for Stretches {
    fn default() -> Self {
        Self {
            all: Vec::new(),
            idle: (0.0, 0.0),
            steps: [f64::INFINITY; 2],
            now: Sums::default(),
            last: None,
            every: 1,
            count: 0,
        }
    }
}

impl Stretches {
    /// Takes in a row: what was known at the row before held until now.
    pub fn add(&mut self, sample: &Sample) {
        if let Some(last) = self.last.filter(|_| !sample.gap) {
            self.held(&last, sample.step);
            for (step, signal) in self.steps.iter_mut().zip(STEPPED) {
                let change = (sample.get(signal) - last.get(signal)).abs();
                if change > 1e-6 {
                    *step = step.min(change);
                }
            }
        } else {
            self.now = Sums {
                from: sample.time,
                ..Sums::default()
            };
        }
        if self.now.long >= LONG {
            self.close();
            self.now = Sums {
                from: sample.time,
                ..Sums::default()
            };
        }
        self.last = Some(*sample);
    }

    fn held(&mut self, last: &Sample, step: f64) {
        let now = &mut self.now;
        let middle = now.long + 0.5 * step;
        now.long += step;
        for (signal, (time, sum)) in SIGNALS.into_iter().zip(&mut now.sums) {
            let value = last.get(signal);
            if value.is_finite() {
                *time += step;
                *sum += value * step;
            }
        }
        let coolant = last.get(Signal::Coolant);
        if coolant.is_finite() {
            now.line.0 += middle * step;
            now.line.1 += middle * middle * step;
            now.line.2 += middle * coolant * step;
        }
        let engine = last.get(Signal::EngineSpeed);
        if engine.is_finite() {
            now.running.0 += step;
            now.running.1 += if engine > 0.0 { step } else { 0.0 };
        }
        let (manifold, speed) = (
            last.get(Signal::ManifoldPressure),
            last.get(Signal::RoadSpeed),
        );
        if manifold.is_finite()
            && Pace::of(speed) == Pace::Standing
            && (40.0..130.0).contains(&engine)
        {
            self.idle.0 += step;
            self.idle.1 += manifold * step;
        }
    }

    fn close(&mut self) {
        let now = &self.now;
        let mean = |(time, sum): (f64, f64)| {
            if time >= 0.8 * now.long {
                sum / time
            } else {
                f64::NAN
            }
        };
        let means = now.sums.map(mean);
        let (time, sum) = now.sums[Signal::Coolant as usize];
        let (t, tt, ty) = now.line;
        let spread = tt - t * t / time;
        let slope = if spread > 0.0 {
            (ty - t * sum / time) / spread
        } else {
            f64::NAN
        };
        if means[Signal::Coolant as usize].is_nan() || slope.is_nan() {
            return;
        }
        self.count += 1;
        if !self.count.is_multiple_of(self.every) {
            return;
        }
        if self.all.len() >= MOST {
            let mut keep = false;
            self.all.retain(|_| {
                keep = !keep;
                keep
            });
            self.every *= 2;
        }
        self.all.push(Stretch {
            from: now.from,
            long: now.long,
            pace: Pace::of(means[Signal::RoadSpeed as usize]),
            slope,
            running: mean(now.running),
            means,
        });
    }

    /// The steps, K, in which coolant and ambient were read: the least change seen, and no more than 1 K.
    pub fn steps(&self) -> [f64; 2] {
        self.steps.map(|s| s.min(1.0))
    }

    /// Mean manifold pressure at idle, Pa; none where it is not known for ten seconds.
    pub fn idle_manifold(&self) -> Option<f64> {
        (self.idle.0 >= 10.0).then(|| self.idle.1 / self.idle.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_and_slope_by_hand() {
        let mut stretches = Stretches::default();
        for i in 0..=300 {
            let t = f64::from(i);
            let known = [
                (Signal::Coolant, 363.15 + t / 60.0),
                (Signal::RoadSpeed, 10.0),
                (Signal::EngineSpeed, if i % 2 == 0 { 80.0 } else { 0.0 }),
            ];
            stretches.add(&Sample::of(t, f64::from(u8::from(i > 0)), false, &known));
        }
        assert_eq!(stretches.all.len(), 2);
        let first = stretches.all[0];
        assert!((first.slope * 60.0 - 1.0).abs() < 1e-9);
        assert!((first.mean(Signal::Coolant) - (363.15 + 59.5 / 60.0)).abs() < 1e-6);
        assert!((first.running - 0.5).abs() < 1e-9);
        assert_eq!(first.pace, Pace::Slow);
        assert!(first.mean(Signal::Ambient).is_nan());
        assert!(!first.steady(1.0), "the engine stood half of the time");
    }

    #[test]
    fn memory_stays_flat() {
        let mut stretches = Stretches::default();
        for i in 0..2_000_000 {
            let known = [(Signal::Coolant, 360.0)];
            stretches.add(&Sample::of(f64::from(i), 1.0, i == 0, &known));
        }
        assert!(stretches.all.len() <= MOST && stretches.all.len() > MOST / 4);
    }
}
