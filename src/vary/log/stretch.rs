//! Means over short periods (stretches), by pace.

use crate::model::log::{SIGNALS, Sample, Signal};

/// Length of a stretch, s.
pub(super) const LONG: f64 = 120.0;

/// The signals whose resolution is determined.
const STEPPED: [Signal; 2] = [Signal::Coolant, Signal::Ambient];

/// Maximum number of stretches kept; each time it is reached, every second one is dropped.
const MOST: usize = 4096;

/// The pace of the vehicle. The limits are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// Below 2 km/h.
    Standing,
    /// Below 20 km/h.
    Crawling,
    /// Below 60 km/h.
    Slow,
    /// 60 km/h or faster.
    Fast,
    /// Unknown.
    Unknown,
}

impl Pace {
    /// All paces, in order of their index.
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

    /// Name of the pace.
    pub fn label(self) -> &'static str {
        match self {
            Self::Standing => "standing",
            Self::Crawling => "crawling",
            Self::Slow => "driving slowly",
            Self::Fast => "driving fast",
            Self::Unknown => "speed not known",
        }
    }

    /// Key of the pace in JSON.
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
    /// Start of the stretch, s.
    pub from: f64,
    /// Duration of the stretch, s.
    pub long: f64,
    /// Pace of the stretch: from mean road speed.
    pub pace: Pace,
    /// Rate of rise of the coolant, K/s.
    pub slope: f64,
    /// Fraction of time with the engine running; NaN if unknown.
    pub running: f64,
    means: [f64; SIGNALS.len()],
}

impl Stretch {
    /// Mean of a signal, in SI; NaN if the signal was unknown most of the time.
    pub fn mean(&self, signal: Signal) -> f64 {
        self.means[signal as usize]
    }

    /// Sets a mean to a value stated by the user.
    pub fn with(mut self, signal: Signal, value: f64) -> Self {
        self.means[signal as usize] = value;
        self
    }

    /// Whether the engine was warm and mostly running.
    pub fn warm(&self) -> bool {
        self.mean(Signal::Coolant) >= 273.15 + 70.0
            && (self.running.is_nan() || self.running >= 0.5)
    }

    /// Whether the engine was warm and running, and its temperature changed no faster than `within`, K/s.
    pub fn steady(&self, within: f64) -> bool {
        self.warm() && self.slope.abs() <= within && (self.running.is_nan() || self.running >= 0.8)
    }

    /// Three consecutive stretches at one pace combined into one: the rate of rise of the coolant from the first to the
    /// last, and every mean weighted with a quarter, a half and a quarter, which is the weighting over time that this
    /// rate implies.
    ///
    /// Means over two minutes have a far smaller error than the resolution of a reading, and for a minute or two after
    /// a change of pace the metal still releases stored heat.
    fn settled(first: &Self, middle: &Self, last: &Self) -> Option<Self> {
        if first.pace != middle.pace || last.pace != middle.pace {
            return None;
        }
        let weighed = |a: f64, b: f64, c: f64| 0.25 * a + 0.5 * b + 0.25 * c;
        let (from, to) = (first.from + 0.5 * first.long, last.from + 0.5 * last.long);
        let rise = last.mean(Signal::Coolant) - first.mean(Signal::Coolant);
        Some(Self {
            slope: rise / (to - from),
            running: weighed(first.running, middle.running, last.running),
            means: SIGNALS.map(|s| weighed(first.mean(s), middle.mean(s), last.mean(s))),
            ..*middle
        })
    }
}

/// Keeps an evenly spaced selection: at [`MOST`], every second one is dropped.
#[derive(Clone, Copy, Debug)]
struct Thinned {
    /// One stretch of this many is kept.
    every: usize,
    count: usize,
}

impl Thinned {
    const NONE: Self = Self { every: 1, count: 0 };

    fn keep(&mut self, all: &mut Vec<Stretch>, stretch: Stretch) {
        self.count += 1;
        if !self.count.is_multiple_of(self.every) {
            return;
        }
        if all.len() >= MOST {
            let mut keep = false;
            all.retain(|_| {
                keep = !keep;
                keep
            });
            self.every *= 2;
        }
        all.push(stretch);
    }
}

/// Sums over the current stretch.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    from: f64,
    long: f64,
    running: (f64, f64),
    sums: [(f64, f64); SIGNALS.len()],
    /// For the slope of the coolant temperature: time, squared time, and time × temperature, integrated over time.
    line: (f64, f64, f64),
}

/// Collects stretches.
#[derive(Clone, Debug)]
pub struct Stretches {
    /// The complete stretches.
    pub all: Vec<Stretch>,
    /// Each stretch combined with those before and after it, if all three are consecutive at one pace: the effect of a
    /// lasting pace.
    pub settled: Vec<Stretch>,
    /// Manifold pressure at idle and standstill: time, and pressure integrated over time.
    idle: (f64, f64),
    /// Minimum change of coolant and ambient temperature between rows, K.
    steps: [f64; 2],
    now: Sums,
    /// The last two consecutive stretches.
    recent: [Option<Stretch>; 2],
    thinned: [Thinned; 2],
}

impl Default for Stretches {
    fn default() -> Self {
        Self {
            all: Vec::new(),
            settled: Vec::new(),
            idle: (0.0, 0.0),
            steps: [f64::INFINITY; 2],
            now: Sums::default(),
            recent: [None; 2],
            thinned: [Thinned::NONE; 2],
        }
    }
}

impl Stretches {
    /// Adds a row; the values of the previous one, `last`, apply until the time of this one.
    pub fn add(&mut self, last: Option<&Sample>, sample: &Sample) {
        if let Some(last) = last.filter(|_| !sample.gap) {
            self.held(last, sample.step);
            for (step, signal) in self.steps.iter_mut().zip(STEPPED) {
                let change = (sample.get(signal) - last.get(signal)).abs();
                if change > 1e-6 {
                    *step = step.min(change);
                }
            }
        } else {
            self.recent = [None; 2];
            self.now = Sums {
                from: sample.time,
                ..Sums::default()
            };
        }
        if self.now.long >= LONG {
            let closed = self.closed();
            if let Some(stretch) = closed {
                self.keep(stretch);
            }
            self.recent = [self.recent[1], closed];
            self.now = Sums {
                from: sample.time,
                ..Sums::default()
            };
        }
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

    /// The stretch that ends here; `None` if its coolant temperature is unknown.
    fn closed(&self) -> Option<Stretch> {
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
        let known = means[Signal::Coolant as usize].is_finite() && slope.is_finite();
        known.then(|| Stretch {
            from: now.from,
            long: now.long,
            pace: Pace::of(means[Signal::RoadSpeed as usize]),
            slope,
            running: mean(now.running),
            means,
        })
    }

    fn keep(&mut self, stretch: Stretch) {
        if let [Some(first), Some(middle)] = &self.recent
            && let Some(settled) = Stretch::settled(first, middle, &stretch)
        {
            self.thinned[1].keep(&mut self.settled, settled);
        }
        self.thinned[0].keep(&mut self.all, stretch);
    }

    /// The resolution, K, of coolant and ambient readings: the minimum change seen, at most 1 K.
    pub fn steps(&self) -> [f64; 2] {
        self.steps.map(|s| s.min(1.0))
    }

    /// Mean manifold pressure at idle, Pa; `None` if known for less than ten seconds.
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
        let mut last = None;
        for i in 0..=300 {
            let t = f64::from(i);
            let known = [
                (Signal::Coolant, 363.15 + t / 60.0),
                (Signal::RoadSpeed, 10.0),
                (Signal::EngineSpeed, if i % 2 == 0 { 80.0 } else { 0.0 }),
            ];
            let row = Sample::of(t, f64::from(u8::from(i > 0)), false, &known);
            stretches.add(last.replace(row).as_ref(), &row);
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
    fn three_that_follow_each_other_at_one_pace_settle_by_hand() {
        // Coolant rising half a degree per minute, read in whole degrees; at standstill, with a gap; then driving.
        let mut stretches = Stretches::default();
        let mut last = None;
        for i in 0..=960 {
            let t = f64::from(i);
            let known = [
                (Signal::Coolant, (363.15 + t / 120.0).floor()),
                (Signal::RoadSpeed, if i < 840 { 0.0 } else { 20.0 }),
                (Signal::FuelRate, t),
            ];
            let gap = i == 0 || i == 480;
            let row = Sample::of(t, f64::from(u8::from(!gap)), gap, &known);
            stretches.add(last.replace(row).as_ref(), &row);
        }
        let from: Vec<f64> = stretches.settled.iter().map(|s| s.from).collect();
        // The gap is in the fourth stretch.
        assert_eq!(from, [120.0, 600.0]);
        for s in &stretches.settled {
            assert!((s.slope * 120.0 - 1.0).abs() < 0.02, "{s:?}");
            assert!((s.mean(Signal::FuelRate) - (s.from + 59.5)).abs() < 1e-6);
        }
    }

    #[test]
    fn memory_stays_flat() {
        let mut stretches = Stretches::default();
        let mut last = None;
        for i in 0..2_000_000 {
            let known = [(Signal::Coolant, 360.0)];
            let row = Sample::of(f64::from(i), 1.0, i == 0, &known);
            stretches.add(last.replace(row).as_ref(), &row);
        }
        for kept in [&stretches.all, &stretches.settled] {
            assert!(kept.len() <= MOST && kept.len() > MOST / 4);
        }
    }
}
