//! Time above levels, episodes, peak, rate of rise.

use super::bins::{degree, mode};
use super::stretch::Pace;
use crate::model::log::{Sample, Signal};
use std::collections::VecDeque;

/// An episode ends when the coolant falls more than this below the level, K, or stays below the level for longer than
/// [`PAUSE`]: readings come in whole degrees and flicker. Shorter dips count as part of the episode.
const FLICKER: f64 = 1.0;

/// See [`FLICKER`], s.
const PAUSE: f64 = 60.0;

/// Maximum number of episodes kept; all are counted.
const KEPT: usize = 200;

/// Averaging time of the rate of rise, s.
const OVER: f64 = 60.0;

/// The coolant settled at a level if it was within a degree of it for [`MINUTES`], and for this fraction of the time from
/// 60 °C upwards *(engineering assumption: an even rise over 40 K spends a fourteenth of its time there)*.
pub(super) const SETTLED: f64 = 0.15;

/// See [`SETTLED`], s.
const MINUTES: f64 = 180.0;

/// A minute belongs to a warm-up if shortly before it, within these times, s, the coolant was still this much below, K.
const WARM_UP: [(f64, f64); 2] = [(120.0, 2.5), (240.0, 5.0)];

/// An engine is warm above this, K.
const WARM: f64 = 273.15 + 80.0;

/// One period at or above a level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Episode {
    /// The level, K.
    pub level: f64,
    /// Start of the episode, s.
    pub from: f64,
    /// Duration of the episode, s.
    pub long: f64,
    /// Maximum temperature of the episode, K.
    pub peak: f64,
    /// Excess over the level, integrated over time, K s.
    pub degree_time: f64,
    /// Time at each [`Pace`], s; the last one is for unknown pace.
    pub paces: [f64; 5],
    /// Mean grade of the road, if altitude was logged and the vehicle moved.
    pub grade: Option<f64>,
    distance: f64,
    altitude: f64,
    /// Time in the current dip.
    dip: f64,
}

impl Episode {
    /// The pace during most of the episode.
    pub fn pace(&self) -> Pace {
        let most = self.paces.iter().copied().fold(0.0, f64::max);
        Pace::ALL
            .into_iter()
            .find(|p| self.paces[*p as usize] >= most && most > 0.0)
            .unwrap_or(Pace::Unknown)
    }
}

/// Exposure to one level.
#[derive(Clone, Debug)]
pub struct Level {
    /// The level, K.
    pub temperature: f64,
    /// Time at or above the level, including short dips of a degree, s.
    pub time: f64,
    /// The longest episode, s.
    pub longest: f64,
    /// Excess integrated over time, K s.
    pub degree_time: f64,
    /// Number of episodes.
    pub episodes: u64,
    run: Option<Episode>,
}

/// A period with a frozen coolant reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Unmoved {
    /// Start of the period, s.
    pub from: f64,
    /// Duration of the period, s.
    pub long: f64,
    /// The reading, K.
    pub reading: f64,
}

/// The exposure of the coolant.
#[derive(Clone, Debug)]
pub struct Exposure {
    /// The exposure to each level, in ascending order.
    pub levels: Vec<Level>,
    /// The first episodes, of every level.
    pub episodes: Vec<Episode>,
    /// Maximum temperature, K, and when it was first reached, s; `None` without readings.
    pub peak: Option<(f64, f64)>,
    /// Time with known coolant temperature, s.
    pub known: f64,
    /// Time at each pace, s.
    pub paces: [f64; 5],
    /// Number of rows with known engine speed, and the number of those with the engine stopped.
    pub engine_rows: (u64, u64),
    /// Time with known engine speed, and the part of it with the engine stopped, s.
    pub engine_time: (f64, f64),
    /// The longest period with a frozen coolant reading and the engine running.
    pub unmoved: Unmoved,
    /// Maximum altitude, m; NaN if unknown.
    pub altitude: f64,
    now_unmoved: Unmoved,
    histogram: Vec<f64>,
    /// For each degree of starting temperature: the fastest rise over a minute, K/s, and its time, s.
    rises: Vec<(f64, f64)>,
    recent: VecDeque<(f64, f64)>,
    /// The last moment at or below each degree under the present one, in rising order: degree and time, s.
    below: Vec<(usize, f64)>,
}

impl Level {
    /// Whether the level was ever reached.
    pub fn reached(&self) -> bool {
        self.episodes > 0
    }
}

impl Exposure {
    /// Starts the exposure to some levels, K, in rising order.
    pub fn of(levels: &[f64]) -> Self {
        Self {
            levels: levels
                .iter()
                .map(|temperature| Level {
                    temperature: *temperature,
                    time: 0.0,
                    longest: 0.0,
                    degree_time: 0.0,
                    episodes: 0,
                    run: None,
                })
                .collect(),
            episodes: Vec::new(),
            peak: None,
            rises: vec![(0.0, 0.0); 220],
            known: 0.0,
            paces: [0.0; 5],
            engine_rows: (0, 0),
            engine_time: (0.0, 0.0),
            unmoved: Unmoved::default(),
            altitude: f64::NAN,
            now_unmoved: Unmoved::default(),
            histogram: vec![0.0; 220],
            recent: VecDeque::new(),
            below: Vec::new(),
        }
    }

    /// Moves a level to another temperature, K, if neither was ever reached; returns false otherwise.
    pub fn moved_unreached(&mut self, from: f64, to: f64) -> bool {
        let reached = |level: f64| self.peak.is_some_and(|(peak, _)| peak >= level);
        let own = |l: &Level| (l.temperature - from).abs() < 1e-6;
        let near = |l: &Level| (l.temperature - to).abs() < 1e-6;
        if reached(from.min(to)) || self.levels.iter().any(near) {
            return false;
        }
        for level in self.levels.iter_mut().filter(|l| own(l)) {
            level.temperature = to;
        }
        self.levels
            .sort_by(|a, b| a.temperature.total_cmp(&b.temperature));
        true
    }

    /// Adds a row; the values of the previous one, `last`, apply until the time of this one.
    pub fn add(&mut self, last: Option<&Sample>, sample: &Sample) {
        let engine = sample.get(Signal::EngineSpeed);
        if engine.is_finite() {
            self.engine_rows.0 += 1;
            self.engine_rows.1 += u64::from(engine <= 0.0);
        }
        self.altitude = self.altitude.max(sample.get(Signal::Altitude));
        let coolant = sample.get(Signal::Coolant);
        if coolant.is_finite() && self.peak.is_none_or(|(peak, _)| coolant > peak) {
            self.peak = Some((coolant, sample.time));
        }
        match last {
            Some(last) if !sample.gap => self.held(last, sample.step),
            _ => self.recent.clear(),
        }
        for level in &mut self.levels {
            let over = coolant >= level.temperature;
            let low = coolant.is_nan() || coolant < level.temperature - FLICKER;
            let ends = |run: &mut Episode| sample.gap || run.dip > PAUSE || low;
            if let Some(run) = level.run.take_if(ends) {
                close(run, &mut self.episodes);
            }
            if over && level.run.is_none() {
                level.episodes += 1;
                level.run = Some(Episode {
                    level: level.temperature,
                    from: sample.time,
                    long: 0.0,
                    peak: coolant,
                    degree_time: 0.0,
                    paces: [0.0; 5],
                    grade: None,
                    distance: 0.0,
                    altitude: sample.get(Signal::Altitude),
                    dip: 0.0,
                });
            }
            if let Some(run) = &mut level.run {
                run.peak = run.peak.max(coolant);
            }
        }
        self.risen(last, sample, coolant);
        self.moved(sample, coolant, engine);
    }

    /// Adds the time for which the previous values applied.
    fn held(&mut self, last: &Sample, step: f64) {
        let coolant = last.get(Signal::Coolant);
        let speed = last.get(Signal::RoadSpeed);
        let pace = Pace::of(speed);
        let engine = last.get(Signal::EngineSpeed);
        if engine.is_finite() {
            self.engine_time.0 += step;
            self.engine_time.1 += if engine <= 0.0 { step } else { 0.0 };
        }
        self.paces[pace as usize] += step;
        if coolant.is_nan() {
            return;
        }
        self.known += step;
        if let Some(time) = self.histogram.get_mut(degree(coolant)) {
            *time += step;
        }
        for level in &mut self.levels {
            let Some(run) = &mut level.run else { continue };
            let excess = coolant - level.temperature;
            if excess >= 0.0 {
                let with_dip = step + run.dip;
                run.dip = 0.0;
                run.long += with_dip;
                run.degree_time += excess * step;
                run.paces[pace as usize] += with_dip;
                level.time += with_dip;
                level.degree_time += excess * step;
            } else {
                run.dip += step;
            }
            run.distance += speed.max(0.0) * step;
            run.grade = (run.distance > 200.0)
                .then(|| (last.get(Signal::Altitude) - run.altitude) / run.distance)
                .filter(|g| g.is_finite());
            level.longest = level.longest.max(run.long);
        }
    }

    fn risen(&mut self, last: Option<&Sample>, sample: &Sample, coolant: f64) {
        if coolant.is_nan() {
            return;
        }
        let now = degree(coolant);
        while self.below.pop_if(|b| b.0 >= now).is_some() {}
        self.below.push((now, sample.time));
        if self
            .recent
            .back()
            .is_none_or(|(t, _)| sample.time - t >= OVER / 12.0)
        {
            self.recent.push_back((sample.time, coolant));
        }
        let kept = self.recent.len();
        while self
            .recent
            .front()
            .is_some_and(|(t, _)| sample.time - t > OVER * 1.1)
        {
            self.recent.pop_front();
        }
        let same_start = self.recent.len() == kept;
        if let Some((t, then)) = self.recent.front()
            && sample.time - t >= OVER * 0.8
        {
            // If the coolant is no warmer than in the previous row, the rise since the same start is not faster.
            if same_start
                && let Some(last) = last
                && last.time - t >= OVER * 0.8
                && last.get(Signal::Coolant) >= coolant
            {
                return;
            }
            let rise = (coolant - then) / (sample.time - t);
            let lower = then.min(coolant);
            let was_below = |(within, by): (f64, f64)| {
                let last = self.below.iter().rfind(|b| b.0 <= degree(lower - by));
                last.is_some_and(|b| t - b.1 < within)
            };
            if WARM_UP.into_iter().all(was_below) {
                return;
            }
            if let Some(fastest) = self.rises.get_mut(degree(lower)).filter(|f| rise > f.0) {
                *fastest = (rise, *t);
            }
        }
    }

    fn moved(&mut self, sample: &Sample, coolant: f64, engine: f64) {
        let same = (coolant - self.now_unmoved.reading).abs() < 1e-9;
        if !same || sample.gap || engine <= 0.0 {
            self.now_unmoved = Unmoved {
                from: sample.time,
                long: 0.0,
                reading: coolant,
            };
        }
        self.now_unmoved.long = sample.time - self.now_unmoved.from;
        if self.now_unmoved.long > self.unmoved.long {
            self.unmoved = self.now_unmoved;
        }
    }

    /// Ends the open episodes, at the end of a log.
    pub fn finish(&mut self) {
        for level in &mut self.levels {
            if let Some(run) = level.run.take() {
                close(run, &mut self.episodes);
            }
        }
        self.episodes
            .sort_by(|a, b| a.from.total_cmp(&b.from).then(a.level.total_cmp(&b.level)));
    }

    /// The fastest rise of the warm engine, K/s, and its time, s: over a minute with both ends at or above `level`, K, the
    /// usual level on the move, or if that is unknown, the most frequent temperature; not in a warm-up.
    pub fn rise(&self, level: Option<f64>) -> Option<(f64, f64)> {
        let level = level.or(self.plateau().map(|p| p.0))?.max(WARM);
        let warm = self.rises.iter().skip(degree(level));
        let fastest = warm.copied().max_by(|a, b| a.0.total_cmp(&b.0));
        fastest.filter(|f| f.0 > 0.0)
    }

    /// The most frequent temperature of the warm engine, K: the mean over the degree with the most time, from 60 °C
    /// upwards, and its two neighbours; and the fraction of the known time in these three. `None` if the engine was
    /// never that warm.
    pub fn plateau(&self) -> Option<(f64, f64)> {
        let (level, time, _) = mode(&self.histogram)?;
        Some((level, time / self.known))
    }

    /// The most frequent temperature, K, if the coolant stayed there for some minutes.
    pub(super) fn settled(&self) -> Option<f64> {
        let (level, time, warm) = mode(&self.histogram)?;
        (time >= MINUTES && time >= SETTLED * warm).then_some(level)
    }
}

/// Ends an episode; the list keeps the first episodes, and if there are many, the hottest.
fn close(run: Episode, episodes: &mut Vec<Episode>) {
    if episodes.len() < KEPT {
        episodes.push(run);
        return;
    }
    let coolest = episodes
        .iter_mut()
        .min_by(|a, b| a.degree_time.total_cmp(&b.degree_time));
    if let Some(coolest) = coolest.filter(|c| c.degree_time < run.degree_time) {
        *coolest = run;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn celsius(t: f64) -> f64 {
        t + 273.15
    }

    /// One row per second.
    fn run(temperatures: impl IntoIterator<Item = f64>, speed: f64, gap_at: usize) -> Exposure {
        let mut exposure = Exposure::of(&[celsius(100.0), celsius(105.0)]);
        let mut last = None;
        for (i, t) in temperatures.into_iter().enumerate() {
            let known = [
                (Signal::Coolant, celsius(t)),
                (Signal::RoadSpeed, speed),
                (Signal::EngineSpeed, 80.0),
                (Signal::Altitude, 0.06 * speed * i as f64),
            ];
            let step = f64::from(u8::from(i > 0));
            let row = Sample::of(i as f64, step, i == gap_at, &known);
            exposure.add(last.replace(row).as_ref(), &row);
        }
        exposure.finish();
        exposure
    }

    #[test]
    fn by_hand() {
        // Up from 90 by 1 K per second to 110, and down again.
        let up = (90..110).map(f64::from);
        let down = (90..=110).rev().map(f64::from);
        let e = run(up.chain(down), 0.0, usize::MAX);
        // At or above 100 from the 10th second to the 31st; sums 1 … 10 … 1 above it.
        assert!((e.levels[0].time - 21.0).abs() < 1e-9);
        assert!((e.levels[0].degree_time - 100.0).abs() < 1e-9);
        assert!((e.levels[1].time - 11.0).abs() < 1e-9);
        assert_eq!((e.levels[0].episodes, e.levels[1].episodes), (1, 1));
        let (peak, when) = e.peak.unwrap();
        assert!((peak - celsius(110.0)).abs() < 1e-9 && (when - 20.0).abs() < 1e-9);
        assert_eq!(e.episodes[0].pace(), Pace::Standing);
    }

    #[test]
    fn flicker_is_one_episode_and_a_gap_ends_it() {
        let flicker = (0..100).map(|i| 99.0 + f64::from(i % 2));
        assert_eq!(run(flicker, 0.0, usize::MAX).levels[0].episodes, 1);
        let e = run((0..100).map(|_| 101.0), 0.0, 50);
        assert_eq!(e.levels[0].episodes, 2);
        assert!(
            (e.levels[0].time - 98.0).abs() < 1e-9,
            "the gap is not counted"
        );
    }

    #[test]
    fn a_climb_shows_where_altitude_is_known() {
        let e = run((0..100).map(|_| 101.0), 20.0, usize::MAX);
        assert_eq!(e.episodes[0].pace(), Pace::Fast);
        assert!((e.episodes[0].grade.unwrap() - 0.06).abs() < 1e-3);
    }

    #[test]
    fn rise_and_plateau() {
        // Constant, then 2 K per minute upwards.
        let e = run(
            (0..600).map(|i| 95.0 + (f64::from(i - 300) / 30.0).max(0.0)),
            0.0,
            usize::MAX,
        );
        let (rise, _) = e.rise(None).unwrap();
        assert!((rise * 60.0 - 2.0).abs() < 0.05, "{rise}");
        let (plateau, share) = e.plateau().unwrap();
        assert!(
            (plateau - celsius(95.0)).abs() < 0.2 && share > 0.5,
            "{plateau}"
        );
        assert!(e.unmoved.long > 290.0);
        assert_eq!(run((0..9).map(|_| 20.0), 0.0, usize::MAX).plateau(), None);
    }

    /// A warm-up of 8 K per minute does not count for the warm engine; 3 K per minute from its level upwards does (5
    /// allows for readings in whole degrees, with both ends at the level).
    #[test]
    fn a_warm_up_is_no_rise_of_the_warm_engine() {
        let warm_up = (0..600).map(|i| (20.0 + 8.0 * f64::from(i) / 60.0).min(90.0).round());
        let still = (0..900).map(|_| 90.0);
        let climb = (0..180).map(|i| (90.0 + 3.0 * f64::from(i) / 60.0).round());
        let e = run(warm_up.chain(still).chain(climb), 0.0, usize::MAX);
        let rise = e.rise(None).unwrap().0 * 60.0;
        assert!((2.5..4.5).contains(&rise), "{rise}");
    }

    /// By hand: 12 K per minute from 20 °C, then constant at 90 °C, or over it by 5 K and back: no rise of the warm engine.
    /// After a stay at 95 °C, the level on the move of 90 °C is given: the rise of 3 K per minute from it counts.
    #[test]
    fn the_end_of_a_warm_up_is_no_rise_either() {
        for (over, whole) in [(0.0, false), (5.0, false), (5.0, true)] {
            let t = |i: i32| match f64::from(i) {
                i if i < 600.0 => (20.0 + 12.0 * i / 60.0).min(90.0 + over),
                i => (90.0 + over - (i - 600.0) / 10.0).max(90.0),
            };
            let read = |t: f64| if whole { t.round() } else { t };
            let e = run((0..1500).map(|i| read(t(i))), 0.0, usize::MAX);
            let rise = e.rise(Some(celsius(90.0))).map_or(0.0, |r| r.0 * 60.0);
            assert!(rise < 0.1, "{over} {whole}: {rise}");
        }
        let parts = (0..900)
            .map(|_| 90.0)
            .chain((0..100).map(|i| 90.0 + f64::from(i) / 20.0));
        let e = run(parts.chain((0..1500).map(|_| 95.0)), 0.0, usize::MAX);
        assert!(e.rise(None).is_none());
        let rise = e.rise(Some(celsius(90.0))).unwrap().0 * 60.0;
        assert!((rise - 3.0).abs() < 0.05, "{rise}");
    }

    /// A level that is reached only in the last row counts as reached, with zero time.
    #[test]
    fn a_peak_at_a_level_has_reached_it() {
        let e = run([99.0, 100.0], 0.0, usize::MAX);
        assert!(e.levels[0].reached() && !e.levels[1].reached());
    }
}
