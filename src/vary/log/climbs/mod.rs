//! Climbs: rises of the coolant above its own warm level, with the pace during the rise and during the fall.
//!
//! A climb begins after the warm-up (or in it, if the coolant goes on far above the level), at the warm level or at a trough above it, and runs to its crest in any traffic; at
//! standstill, it is the part within the stop if that is nearly all of it. With a cycling fan, the
//! coolant falls again at standstill. The fan control therefore allows the temperature from which the coolant falls at
//! standstill, and a climb up to that temperature is not a sign of insufficient cooling.

mod leg;
mod runs_hot;

use super::bins::{degree, mode};
use super::exposure::SETTLED;
use super::stretch::Pace;
use crate::model::log::{Sample, Signal};
use leg::Mark;
pub use leg::{Leg, Where};
use runs_hot::SURELY;
pub use runs_hot::{Certainty, RunsHot, Verdict, runs_hot};

/// A crest or a trough is confirmed when the coolant temperature has turned back by this much, K: readings come in
/// steps of a degree and flicker.
pub const TURN: f64 = 2.5;

/// Maximum number of rises kept, those with the highest crests.
const KEPT: usize = 256;

/// Minimum fraction of a climb within one stop to attribute it to this stop alone.
const ONE_STOP: f64 = 0.8;

/// Maximum number of stops kept of one rise.
const STOPS: usize = 64;

/// A rise of this much above the level (K) counts as a climb.
const CLEAR: f64 = 5.0;

/// A warm-up has ended when the coolant has stayed this long, s, within [`TURN`] below the warm level *(engineering
/// assumption: a warm-up that overshoots it by [`CLEAR`] passes this range in less than a minute)*.
const WARMED_UP: f64 = 120.0;

/// A rise from cold that stays longer than this, s, more than [`CLEAR`] above the level that the coolant has on the move,
/// and falls on the move, is more than a warm-up *(engineering assumption: a thermostat that opens late delays by a
/// minute or two)*.
const STAYED: f64 = 180.0;

/// Minimum time on the move within a degree of the warm level for it to be known, s.
const MOVING: f64 = 120.0;

/// A rise above the warm level, and the fall after it.
#[derive(Clone, Copy, Debug)]
pub struct Climb {
    /// Rise of the climb, from the warm level or from a trough above it; only the part within a stop if that is nearly
    /// all of it.
    pub rise: Leg,
    /// Fall after the climb; `None` if the log or a gap ends it.
    pub fall: Option<Leg>,
    /// Maximum temperature of the climb, K.
    pub crest: f64,
}

/// A rise from a trough to a crest in any condition of the engine, with what is needed to find the climb in it: the warm
/// level is known only at the end of the log.
#[derive(Clone, Debug)]
struct Rise {
    trough: Mark,
    crest: Mark,
    /// The last moment at or below each whole degree between them, in rising order.
    below: Vec<Mark>,
    /// The stops in which the coolant exceeded its maximum: their start, and that maximum.
    stops: Vec<[Mark; 2]>,
    fall: Option<Leg>,
}

impl Rise {
    /// The climb above a level, K; `None` if the rise is a warm-up only.
    fn above(&self, level: f64) -> Option<Climb> {
        let until = |level: f64| {
            let below = |m: &&Mark| degree(m.coolant) <= degree(level);
            *self.below.iter().rfind(below).unwrap_or(&self.trough)
        };
        let start = until(level);
        let cold = self.trough.coolant < level - CLEAR;
        let warming = start.time - until(level - TURN).time < WARMED_UP;
        let stayed = self.crest.time - until(level + CLEAR).time >= STAYED;
        let cools_moving = self.fall.is_some_and(|f| f.place() == Where::Moving);
        let beyond = self.crest.coolant >= SURELY || stayed && cools_moving;
        if cold && warming && !beyond {
            return None;
        }
        let whole = start.leg(&self.crest);
        let in_stop = |[from, to]: &[Mark; 2]| start.later(*from).leg(to);
        let stops = self.stops.iter().filter(|s| s[1].time > start.time);
        let stop = stops
            .map(in_stop)
            .max_by(|a, b| a.height().total_cmp(&b.height()))
            .filter(|s| s.height() >= ONE_STOP * whole.height());
        let rise = stop.filter(|_| whole.place() == Where::Standing);
        (whole.height() > 0.0).then(|| Climb {
            rise: rise.unwrap_or(whole),
            fall: self.fall,
            crest: self.crest.coolant,
        })
    }
}

/// Collects climbs.
#[derive(Clone, Debug)]
pub struct Climbs {
    /// The rises kept.
    all: Vec<Rise>,
    /// Time in each one-degree bin from −40 °C upwards while moving, s.
    moving: Vec<f64>,
    /// The current moment, the last turning point, and the extreme since then; whether the leg between them rises.
    now: Mark,
    start: Mark,
    extreme: Mark,
    rising: bool,
    /// The last moment at or below each whole degree under the present one, in rising order.
    below: Vec<Mark>,
    /// The start of the present stop, and the stops of the present rise.
    stop: Option<Mark>,
    stops: Vec<[Mark; 2]>,
    /// A rise whose fall is not complete yet.
    risen: Option<Rise>,
}

impl Default for Climbs {
    fn default() -> Self {
        Self {
            all: Vec::new(),
            moving: vec![0.0; 220],
            now: Mark::START,
            start: Mark::START,
            extreme: Mark::START,
            rising: true,
            below: Vec::new(),
            stop: None,
            stops: Vec::new(),
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
            self.now.time = sample.time;
            self.now.coolant = coolant;
            self.begin();
            return;
        };
        let pace = Pace::of(last.get(Signal::RoadSpeed));
        let was = degree(self.now.coolant);
        if matches!(pace, Pace::Slow | Pace::Fast) {
            self.moving[was] += sample.step;
        }
        self.stop = match pace {
            Pace::Standing => self.stop.or(Some(self.now)),
            _ => None,
        };
        if degree(coolant) > was {
            self.below.push(self.now);
        }
        self.now.add(last, sample);
        self.follow();
        let warmer = |m: &mut Mark| degree(m.coolant) >= degree(coolant);
        while self.below.pop_if(warmer).is_some() {}
    }

    /// Continues the leg, or turns, with the row just added.
    fn follow(&mut self) {
        let coolant = self.now.coolant;
        // Before the first rise, the trough is the last moment at the minimum.
        let unrisen = self.rising && self.extreme.coolant <= self.start.coolant;
        if unrisen && coolant <= self.start.coolant {
            self.start = self.now;
            self.extreme = self.now;
            return;
        }
        let on = if self.rising { 1.0 } else { -1.0 };
        let beyond = on * (coolant - self.extreme.coolant);
        if beyond <= -TURN {
            self.turn();
        } else if beyond > 0.0 || beyond >= 0.0 && !self.rising {
            self.extreme = self.now;
        } else {
            return;
        }
        if self.rising {
            self.in_stop();
        }
    }

    /// Notes a maximum that is exceeded at standstill.
    fn in_stop(&mut self) {
        let Some(stop) = self.stop else { return };
        let begun = stop.later(self.start);
        match self.stops.last_mut() {
            Some([from, to]) if from.time >= begun.time => *to = self.now,
            last => {
                // A stop with a smaller rise than this is never most of a climb.
                if last.is_some_and(|[from, to]| to.coolant - from.coolant < TURN)
                    || self.stops.len() >= STOPS
                {
                    self.stops.pop();
                }
                self.stops.push([begun, self.now]);
            }
        }
    }

    /// Starts anew at the present row.
    fn begin(&mut self) {
        self.start = self.now;
        self.extreme = self.now;
        self.rising = true;
        self.below.clear();
        self.stop = None;
        self.stops.clear();
        self.risen = None;
    }

    /// The rise from the last turning point to the extreme, if it is one.
    fn rise(&mut self) -> Option<Rise> {
        let (trough, crest) = (self.start, self.extreme);
        let within = |m: &&Mark| m.time > trough.time;
        let stops = std::mem::take(&mut self.stops);
        (crest.coolant - trough.coolant >= TURN).then(|| Rise {
            trough,
            crest,
            below: self.below.iter().filter(within).copied().collect(),
            stops,
            fall: None,
        })
    }

    /// Completes the leg; the data since then begin the next one.
    fn turn(&mut self) {
        if self.rising {
            self.risen = self.rise();
        } else if let Some(rise) = self.risen.take() {
            let fall = Some(self.start.leg(&self.extreme));
            self.keep(Rise { fall, ..rise });
        }
        self.rising = !self.rising;
        self.start = self.extreme;
        self.extreme = self.now;
    }

    fn keep(&mut self, rise: Rise) {
        if self.all.len() < KEPT {
            self.all.push(rise);
            return;
        }
        let crest = |r: &Rise| r.crest.coolant;
        let lowest = self
            .all
            .iter_mut()
            .min_by(|a, b| crest(a).total_cmp(&crest(b)));
        if let Some(lowest) = lowest.filter(|l| crest(l) < crest(&rise)) {
            *lowest = rise;
        }
    }

    /// Completes the legs still open.
    pub fn finish(&mut self) {
        if self.rising {
            if let Some(rise) = self.rise() {
                self.keep(rise);
            }
        } else if let Some(rise) = self.risen.take() {
            let fall = Some(self.start.leg(&self.now)).filter(|f| f.height() <= -TURN);
            self.keep(Rise { fall, ..rise });
        }
        self.begin();
    }

    /// The climbs above a level, K: each begins only after the warm-up. None if the level is unknown (NaN).
    pub fn above(&self, level: f64) -> Vec<Climb> {
        let known = self.all.iter().filter(|_| level.is_finite());
        known.filter_map(|r| r.above(level)).collect()
    }

    /// The highest temperature above a level, K, from which the coolant fell at standstill.
    fn held(&self, level: f64) -> Option<f64> {
        let still = |r: &&Rise| r.fall.is_some_and(|f| f.place() == Where::Standing);
        let fell = self.all.iter().filter(still).map(|r| r.crest.coolant);
        fell.filter(|crest| *crest > level).reduce(f64::max)
    }

    /// The most frequent temperature while moving, K; `None` if the vehicle hardly moved, or the coolant settled nowhere.
    pub(super) fn level(&self) -> Option<f64> {
        let (level, time, warm) = mode(&self.moving)?;
        (time >= MOVING && time >= SETTLED * warm).then_some(level)
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
        let all = climbs.above(climbs.level().unwrap());
        assert_eq!(all.len(), 1);
        let climb = all[0];
        assert!((climb.crest - 273.15 - 99.0).abs() < 1e-9);
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
        assert!(climbs.all.len() >= 3, "{}", climbs.all.len());
        let falls = climbs.all.iter().filter_map(|c| c.fall);
        assert!(falls.clone().count() >= 2 && falls.clone().all(|f| f.place() == Where::Standing));
    }

    /// A climb begins above the warm level and after the warm-up, and ends with the stop.
    ///
    /// By hand: from 20 °C in 7 min, a steady drive at `level` with a dip or none, a stop of ten minutes up to 110 °C in
    /// eight, and a fall on the move.
    #[test]
    fn a_climb_leaves_out_the_warm_up_and_the_drive() {
        for (from, dip, driven) in [(20.0, 0.0, 90.0), (20.0, 3.0, 90.0), (90.0, 3.0, 92.0)] {
            let drive = (0..2700).map(|i| {
                let t = f64::from(i);
                match i {
                    0..420 => (from + (90.0 - from) * t / 420.0, 60.0),
                    600..720 => (90.0 - dip, 60.0),
                    1000..1200 => (driven, 60.0),
                    420..1200 => (90.0, 60.0),
                    1200..1680 => (driven + (110.0 - driven) * (t - 1200.0) / 480.0, 0.0),
                    1680..1800 => (110.0, 0.0),
                    _ => ((110.0 - (t - 1800.0) / 20.0).max(90.0), 60.0),
                }
            });
            let climbs = run(drive);
            let all = climbs.above(climbs.level().unwrap());
            let rise = all[0].rise;
            assert_eq!((all.len(), rise.place()), (1, Where::Standing), "{all:?}");
            assert!((rise.ends[0] - 273.15 - driven).abs() < 0.6, "{rise:?}");
            assert!((rise.ends[1] - 273.15 - 110.0).abs() < 0.1, "{rise:?}");
            // A degree of the reading takes 24 s.
            assert!(rise.from >= 1199.0 && rise.from <= 1224.0, "{rise:?}");
            assert!((rise.from + rise.long - 1680.0).abs() < 24.0, "{rise:?}");
        }
    }

    /// A thermostat that opens late lets a warm-up overshoot; that is no climb.
    #[test]
    fn a_warm_up_that_overshoots_is_no_climb() {
        let drive = (0..1800).map(|i| match f64::from(i) {
            t if t < 400.0 => (20.0 + 78.0 * t / 400.0, 0.0),
            t => ((98.0 - (t - 400.0) / 15.0).max(90.0), 60.0),
        });
        let climbs = run(drive);
        assert_eq!(climbs.all.len(), 1);
        assert!(climbs.above(climbs.level().unwrap()).is_empty());
    }
}
