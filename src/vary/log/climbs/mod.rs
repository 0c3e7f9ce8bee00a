//! Climbs: rises of the coolant above its own warm level, with the pace during the rise and during the fall.
//!
//! The pace may change during a climb, which runs from its trough to its crest in any traffic. With a cycling fan, the
//! coolant falls again at standstill. The fan control therefore allows the temperature from which the coolant falls at
//! standstill, and a climb up to that temperature is not a sign of insufficient cooling.

mod runs_hot;

use super::exposure::degree;
use super::stretch::Pace;
use crate::model::log::{Sample, Signal};
use runs_hot::MAJORITY;
pub use runs_hot::{Certainty, RunsHot, Verdict, runs_hot};

/// A crest or a trough is confirmed when the coolant temperature has turned back by this much, K: readings come in
/// steps of a degree and flicker.
pub const TURN: f64 = 2.5;

/// Maximum number of climbs kept, those with the highest crests; all are counted.
const KEPT: usize = 256;

/// A rise of this much above the level (K) counts as a climb.
const CLEAR: f64 = 5.0;

/// Minimum time on the move for the warm level to be known, s.
const MOVING: f64 = 120.0;

/// Signals averaged over a climb.
const BESIDE: [Signal; 5] = [
    Signal::FanSpeed,
    Signal::FanCommand,
    Signal::AirConditioning,
    Signal::Load,
    Signal::Ambient,
];

/// Where the vehicle was during a period.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Where {
    /// At standstill.
    Standing,
    /// Alternately at standstill and crawling.
    Traffic,
    /// On the move.
    Moving,
    /// A mixture of standstill and motion; or the road speed is unknown.
    Mixed,
}

/// A period in which the coolant rose, or fell.
#[derive(Clone, Copy, Debug, Default)]
pub struct Leg {
    /// Start of the leg, s.
    pub from: f64,
    /// Duration of the leg, s.
    pub long: f64,
    /// Coolant temperature at the start and end of the leg, K.
    pub ends: [f64; 2],
    /// Time at each pace, s.
    pub paces: [f64; 5],
    /// Rise of the coolant at each pace, K.
    pub rose: [f64; 5],
    beside: [(f64, f64); BESIDE.len()],
}

impl Leg {
    /// Mean of the fan's speed or command, the air conditioning, load or ambient temperature over the leg; NaN if
    /// unknown.
    pub fn mean(&self, signal: Signal) -> f64 {
        let known = BESIDE.iter().zip(&self.beside);
        known
            .filter(|(s, _)| **s == signal)
            .map(|(_, (time, sum))| sum / time)
            .next()
            .unwrap_or(f64::NAN)
    }

    /// Rate of rise of the coolant, K/s.
    pub fn rate(&self) -> f64 {
        (self.ends[1] - self.ends[0]) / self.long
    }

    /// Where the vehicle was during the rise or fall.
    pub fn place(&self) -> Where {
        let all: f64 = self.rose.iter().sum();
        let share =
            |paces: &[Pace]| paces.iter().map(|p| self.rose[*p as usize]).sum::<f64>() / all;
        if share(&[Pace::Standing]) >= MAJORITY {
            Where::Standing
        } else if share(&[Pace::Standing, Pace::Crawling]) >= MAJORITY {
            Where::Traffic
        } else if share(&[Pace::Slow, Pace::Fast]) >= MAJORITY {
            Where::Moving
        } else {
            Where::Mixed
        }
    }

    fn add(&mut self, last: &Sample, step: f64, coolant: f64) {
        self.long += step;
        let pace = Pace::of(last.get(Signal::RoadSpeed)) as usize;
        self.paces[pace] += step;
        self.rose[pace] += coolant - self.ends[1];
        self.ends[1] = coolant;
        for (signal, (time, sum)) in BESIDE.into_iter().zip(&mut self.beside) {
            let value = last.get(signal);
            if value.is_finite() {
                *time += step;
                *sum += step * value;
            }
        }
    }

    fn with(mut self, other: &Self) -> Self {
        self.long += other.long;
        for (own, other) in self.paces.iter_mut().zip(other.paces) {
            *own += other;
        }
        for (own, other) in self.rose.iter_mut().zip(other.rose) {
            *own += other;
        }
        for (own, other) in self.beside.iter_mut().zip(other.beside) {
            own.0 += other.0;
            own.1 += other.1;
        }
        self.ends[1] = other.ends[1];
        self
    }
}

/// A rise from a trough to a crest, and the fall after it.
#[derive(Clone, Copy, Debug)]
pub struct Climb {
    /// Rise of the climb.
    pub rise: Leg,
    /// Fall after the climb; `None` if the log or a gap ends it.
    pub fall: Option<Leg>,
}

impl Climb {
    /// Maximum temperature of the climb, K.
    pub fn crest(&self) -> f64 {
        self.rise.ends[1]
    }
}

/// Collects climbs.
#[derive(Clone, Debug)]
pub struct Climbs {
    /// The climbs kept.
    pub all: Vec<Climb>,
    /// Number of climbs.
    pub count: u64,
    /// Time in each one-degree bin from −40 °C upwards while moving, s.
    moving: Vec<f64>,
    /// The current leg up to its last turning point, the data after that point, and whether the leg rises.
    now: Leg,
    since: Leg,
    rising: bool,
    /// A rise whose fall is not complete yet.
    risen: Option<Leg>,
}

impl Default for Climbs {
    fn default() -> Self {
        Self {
            all: Vec::new(),
            count: 0,
            moving: vec![0.0; 220],
            now: Leg::default(),
            since: Leg::default(),
            rising: true,
            risen: None,
        }
    }
}

impl Climbs {
    /// Adds a row; the values of the previous one, `last`, apply until the time of this one.
    pub fn add(&mut self, last: Option<&Sample>, sample: &Sample) {
        let coolant = sample.get(Signal::Coolant);
        if sample.gap || coolant.is_nan() {
            self.finish();
        }
        if coolant.is_nan() {
            return;
        }
        let goes_on = |last: &&Sample| !sample.gap && !last.get(Signal::Coolant).is_nan();
        let Some(last) = last.filter(goes_on) else {
            self.begin(sample.time, coolant);
            return;
        };
        let pace = Pace::of(last.get(Signal::RoadSpeed));
        if matches!(pace, Pace::Slow | Pace::Fast) {
            self.moving[degree(last.get(Signal::Coolant))] += sample.step;
        }
        // Before the first rise, the trough is the last moment at the minimum.
        let unrisen = self.rising && self.now.ends[1] <= self.now.ends[0];
        if unrisen && coolant <= self.now.ends[0] {
            self.begin(sample.time, coolant);
            return;
        }
        self.since.add(last, sample.step, coolant);
        let on = if self.rising { 1.0 } else { -1.0 };
        let beyond = on * (coolant - self.now.ends[1]);
        if beyond >= 0.0 {
            // The extreme is exceeded or reached again: the data since then belong to the leg.
            if beyond > 0.0 || self.now.long <= 0.0 || !self.rising {
                self.now = self.now.with(&self.since);
                self.since = self.leg(sample.time, coolant);
            }
        } else if beyond <= -TURN {
            self.turn();
            self.since = self.leg(sample.time, coolant);
        }
    }

    fn leg(&self, from: f64, coolant: f64) -> Leg {
        Leg {
            from,
            ends: [coolant; 2],
            ..Leg::default()
        }
    }

    fn begin(&mut self, time: f64, coolant: f64) {
        self.now = self.leg(time, coolant);
        self.since = self.now;
        self.rising = true;
        self.risen = None;
    }

    /// Completes the leg; the data since then begin the next one.
    fn turn(&mut self) {
        let done = self.now;
        if self.rising {
            self.risen = Some(done).filter(|d| d.ends[1] - d.ends[0] >= TURN);
        } else if let Some(rise) = self.risen.take() {
            self.keep(Climb {
                rise,
                fall: Some(done),
            });
        }
        self.rising = !self.rising;
        self.now = self.since;
    }

    fn keep(&mut self, climb: Climb) {
        self.count += 1;
        if self.all.len() < KEPT {
            self.all.push(climb);
            return;
        }
        let lowest = self
            .all
            .iter_mut()
            .min_by(|a, b| a.crest().total_cmp(&b.crest()));
        if let Some(lowest) = lowest.filter(|l| l.crest() < climb.crest()) {
            *lowest = climb;
        }
    }

    /// Completes the legs still open.
    pub fn finish(&mut self) {
        let now = self.now.with(&self.since);
        if self.rising {
            let rise = self.now;
            if rise.ends[1] - rise.ends[0] >= TURN {
                self.keep(Climb { rise, fall: None });
            }
        } else if let Some(rise) = self.risen.take() {
            let fall = Some(now).filter(|f| f.ends[0] - f.ends[1] >= TURN);
            self.keep(Climb { rise, fall });
        }
        self.begin(0.0, f64::NAN);
    }

    /// The most frequent temperature while moving, K; `None` if the vehicle hardly moved.
    pub(super) fn level(&self) -> Option<f64> {
        let warm = 100;
        let all: f64 = self.moving[warm..].iter().sum();
        let at = (warm..self.moving.len() - 1)
            .max_by(|a, b| self.moving[*a].total_cmp(&self.moving[*b]))?;
        let three = &self.moving[at - 1..=at + 1];
        let time: f64 = three.iter().sum();
        let weighed = three.iter().enumerate().map(|(k, t)| t * (at + k) as f64);
        (all >= MOVING).then(|| weighed.sum::<f64>() / time - 1.0 + 233.15)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One row per second: coolant in °C, road speed in km/h.
    fn run(rows: impl IntoIterator<Item = (f64, f64)>) -> Climbs {
        let mut climbs = Climbs::default();
        let mut last = None;
        for (i, (t, v)) in rows.into_iter().enumerate() {
            let known = [
                (Signal::Coolant, t.round() + 273.15),
                (Signal::RoadSpeed, v / 3.6),
            ];
            let row = Sample::of(i as f64, f64::from(u8::from(i > 0)), false, &known);
            climbs.add(last.replace(row).as_ref(), &row);
        }
        climbs.finish();
        climbs
    }

    /// By hand: ten minutes at 90 °C on the move, then at standstill a rise of 9 K in 3.5 minutes which is held, and a
    /// fall on the move.
    #[test]
    fn a_climb_at_a_stand_by_hand() {
        let drive = (0..1200).map(|i| {
            let t = f64::from(i);
            match i {
                0..600 => (90.0, 60.0),
                600..810 => (90.0 + 9.0 * (t - 600.0) / 210.0, 0.0),
                810..1000 => (99.0, 0.0),
                _ => ((99.0 - (t - 1000.0) / 10.0).max(90.0), 50.0),
            }
        });
        let climbs = run(drive);
        assert_eq!(climbs.count, 1);
        let climb = climbs.all[0];
        assert!((climb.crest() - 273.15 - 99.0).abs() < 1e-9);
        assert!(
            (climb.rise.long - 210.0).abs() < 25.0,
            "{}",
            climb.rise.long
        );
        assert_eq!(climb.rise.place(), Where::Standing);
        assert_eq!(
            climb.fall.unwrap().place(),
            Where::Moving,
            "it stood hot before it fell"
        );
        assert!((climbs.level().unwrap() - 273.15 - 90.0).abs() < 0.2);
    }

    /// A cycling fan lets the coolant fall at standstill.
    #[test]
    fn what_falls_at_a_stand_was_let_go_by_the_control() {
        let drive = (0..1800).map(|i| match i {
            0..600 => (89.0, 60.0),
            _ => (91.5 + 3.5 * (f64::from(i - 600) / 60.0).sin(), 0.0),
        });
        let climbs = run(drive);
        assert!(climbs.count >= 3, "{}", climbs.count);
        let falls = climbs.all.iter().filter_map(|c| c.fall);
        assert!(falls.clone().count() >= 2 && falls.clone().all(|f| f.place() == Where::Standing));
    }
}
