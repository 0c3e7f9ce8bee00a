//! A period in which the coolant rose or fell, from sums since the start of the log.

use super::runs_hot::MAJORITY;
use crate::model::log::{Sample, Signal};
use crate::vary::log::stretch::Pace;

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

    /// Rise of the coolant, K; negative for a fall.
    pub fn height(&self) -> f64 {
        self.ends[1] - self.ends[0]
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
}

/// Sums since the start of the log, at one moment.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mark {
    pub time: f64,
    pub coolant: f64,
    pub paces: [f64; 5],
    rose: [f64; 5],
    beside: [(f64, f64); BESIDE.len()],
}

impl Mark {
    /// The start of the log.
    pub const START: Self = Self {
        time: 0.0,
        coolant: f64::NAN,
        paces: [0.0; 5],
        rose: [0.0; 5],
        beside: [(0.0, 0.0); BESIDE.len()],
    };

    pub fn add(&mut self, last: &Sample, sample: &Sample) {
        let coolant = sample.get(Signal::Coolant);
        let pace = Pace::of(last.get(Signal::RoadSpeed)) as usize;
        self.paces[pace] += sample.step;
        self.rose[pace] += coolant - self.coolant;
        self.time = sample.time;
        self.coolant = coolant;
        for (signal, (time, sum)) in BESIDE.into_iter().zip(&mut self.beside) {
            let value = last.get(signal);
            if value.is_finite() {
                *time += sample.step;
                *sum += sample.step * value;
            }
        }
    }

    /// The leg from here to a later mark.
    pub fn leg(&self, to: &Self) -> Leg {
        let less = |(a, b): (f64, f64), (c, d): (f64, f64)| (c - a, d - b);
        Leg {
            from: self.time,
            long: to.time - self.time,
            ends: [self.coolant, to.coolant],
            paces: std::array::from_fn(|k| to.paces[k] - self.paces[k]),
            rose: std::array::from_fn(|k| to.rose[k] - self.rose[k]),
            beside: std::array::from_fn(|k| less(self.beside[k], to.beside[k])),
        }
    }

    pub fn later(self, other: Self) -> Self {
        if other.time > self.time { other } else { self }
    }
}
