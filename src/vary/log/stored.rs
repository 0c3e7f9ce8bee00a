//! Heat that engine and coolant take up for each kelvin, as a log tells it.
//!
//! At a pace that lasts, heat in = conductance × excess + stored × slope. Where the heat hardly varies, as at idle, excess and slope
//! lie on one line, and the log tells how fast the excess goes to its end, not what is stored. What makes one of the other is how
//! the conductance itself goes with the excess; it is not the same at all: air that other coolers warm carries off the more of the
//! coolant's heat, in proportion, the hotter the coolant is, and an oil that warms up turns the fan slower. So that is taken as
//! known to within a doubt, and the doubt comes out in the interval.

use super::interval::{NORMAL, alike, student};
use super::stretch::{LONG, Pace};

/// A warm stretch of a pace that lasts, with heat (W) and ambient known.
#[derive(Clone, Copy, Debug)]
pub(super) struct Settled {
    pub pace: Pace,
    /// K.
    pub coolant: f64,
    /// Over ambient, K.
    pub excess: f64,
    /// K/s.
    pub slope: f64,
    /// W.
    pub heat: f64,
}

impl Settled {
    /// Conductance, W/K, where so much (J/K) is stored.
    pub fn conductance(&self, stored: f64) -> f64 {
        (self.heat - stored * self.slope) / self.excess
    }
}

/// What engine and coolant store for each kelvin, J/K, and one sigma of its logarithm, before a log is seen: 40 to 600 kJ/K, from a
/// small car to a bus *(judgment)*.
const BEFORE: (f64, f64) = (150e3, std::f64::consts::LN_2);

/// By so many per cent a conductance grows with a per cent of excess, and one sigma *(judgment: 0 where air comes as cool as the day,
/// 0.4 where it comes 20 K warmer and the excess is 70 K; below 0 where oil warms up meanwhile)*.
const GROWS: (f64, f64) = (0.2, 0.25);

/// Error, one sigma, of the rise over two stretches, from means of a reading in steps, over the step: where it rises by less than
/// [`SLOW`] steps, and where by more. Worked out for even ramps rounded to whole steps, at any phase: up to 0.41, and up to 0.16.
const RISE_READ: [f64; 2] = [0.3, 0.08];

/// See [`RISE_READ`].
const SLOW: f64 = 1.0;

/// More than this share of the squares of the slopes is never put down to reading.
const MOST_READ: f64 = 0.6;

/// What a stretch leaves unexplained is never thought less than this share of its heat *(judgment)*.
const LEAST_LEFT: f64 = 0.005;

/// Stretches of a pace from which on it tells anything.
const LEAST: usize = 3;

/// Rounds in which the conductances and what is stored settle.
const ROUNDS: usize = 4;

/// What is stored for each kelvin.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stored {
    /// J/K.
    pub each: f64,
    /// Half the width of its interval, J/K.
    pub half: f64,
}

/// Sums over stretches, each pace weighed by what it leaves unexplained.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    /// Slope times heat that is not carried off.
    both: f64,
    /// Slopes squared; what errors of reading add to that; the same with stretches that are alike counted for less.
    square: f64,
    read: f64,
    alike: f64,
    freedom: f64,
}

impl Stored {
    /// From stretches where the thermostat has no more to give, their coolant read in steps (K).
    pub fn of(full: &[Settled], step: f64) -> Self {
        let before = Self {
            each: BEFORE.0,
            half: NORMAL * BEFORE.0 * BEFORE.1,
        };
        (0..ROUNDS).fold(before, |found, _| {
            let mut sums = Sums::default();
            for pace in Pace::ALL {
                let here: Vec<Settled> = full.iter().copied().filter(|s| s.pace == pace).collect();
                if here.len() >= LEAST {
                    sums.add(&here, found.each, step);
                }
            }
            sums.stored()
        })
    }
}

impl Sums {
    /// Takes in the stretches of a pace, about so much (J/K) being stored.
    fn add(&mut self, here: &[Settled], stored: f64, step: f64) {
        let count = here.len() as f64;
        let mean = |of: &dyn Fn(&Settled) -> f64| here.iter().map(of).sum::<f64>() / count;
        let (heat, excess, slope) = (mean(&|s| s.heat), mean(&|s| s.excess), mean(&|s| s.slope));
        let grown = (1.0 + GROWS.0) * mean(&|s| s.conductance(stored));
        let slopes = || here.iter().map(|s| s.slope - slope);
        let kept = here
            .iter()
            .map(|s| s.heat - heat - grown * (s.excess - excess));
        let pairs: Vec<(f64, f64)> = slopes().zip(kept).collect();
        let left: Vec<f64> = pairs.iter().map(|(s, k)| k - stored * s).collect();
        let freedom = count - 1.0;
        let variance = left.iter().map(|l| l * l).sum::<f64>() / freedom;
        let weight = variance.max((LEAST_LEFT * heat).powi(2)).recip();
        let square: f64 = slopes().map(|s| s * s).sum();
        let error = |s: &Settled| {
            let fast = 2.0 * LONG * s.slope.abs() > SLOW * step;
            RISE_READ[usize::from(fast)] * step / (2.0 * LONG)
        };
        let read = freedom * mean(&|s| error(s).powi(2));
        let r = alike(&left, 0.0);
        self.both += weight * pairs.iter().map(|(s, k)| s * k).sum::<f64>();
        self.square += weight * square;
        self.read += weight * read.min(MOST_READ * square);
        self.alike += weight * square * (1.0 + r) / (1.0 - r);
        self.freedom += freedom;
    }

    /// Least squares of heat that is not carried off against slope, with what reading adds to the slopes' squares taken out (errors
    /// in variables, their variance known); and what was known before. Both weighed in the logarithm.
    fn stored(&self) -> Stored {
        let without = self.square - self.read;
        let told = self.both / without;
        let (mut weight, mut sum) = (BEFORE.1.powi(-2), BEFORE.0.ln() / BEFORE.1.powi(2));
        if told > 0.0 {
            let by_chance = student(self.freedom - 1.0) / NORMAL * self.alike.sqrt() / without;
            let sigma = (by_chance / told).hypot(GROWS.1 / (1.0 + GROWS.0));
            weight += sigma.powi(-2);
            sum += told.ln() / sigma.powi(2);
        }
        let each = (sum / weight).exp();
        Stored {
            each,
            half: NORMAL * each / weight.sqrt(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An hour at one pace after another, stretch by stretch: 120 kJ/K, conductances that grow with the excess, readings in steps.
    fn settled(grows: f64, step: f64) -> Vec<Settled> {
        let of = |pace, heat: f64, at_80: f64, from: f64| {
            let mut excess = from;
            (0..15).map(move |k| {
                let heat = heat * if k % 2 == 0 { 1.01 } else { 0.99 };
                let slope = (heat - at_80 * (excess / 80.0).powf(grows) * excess) / 120e3;
                let now = Settled {
                    pace,
                    coolant: excess + 308.15,
                    excess: if step > 0.0 {
                        (excess / step).round() * step
                    } else {
                        excess
                    },
                    slope,
                    heat,
                };
                excess += slope * LONG;
                now
            })
        };
        let standing = of(Pace::Standing, 9000.0, 110.0, 62.0);
        standing
            .chain(of(Pace::Crawling, 12_000.0, 180.0, 78.0))
            .collect()
    }

    #[test]
    fn what_is_stored_is_found_where_the_conductance_grows_as_thought() {
        let found = Stored::of(&settled(GROWS.0, 0.0), 0.0);
        assert!((found.each / 120e3 - 1.0).abs() < 0.06, "{found:?}");
        assert!((0.3..0.5).contains(&(found.half / found.each)), "{found:?}");
    }

    #[test]
    fn however_it_grows_the_interval_holds() {
        for grows in [-0.2, 0.0, 0.4, 0.6] {
            let found = Stored::of(&settled(grows, 0.0), 0.0);
            assert!(
                (found.each - 120e3).abs() < found.half,
                "{grows}: {found:?}"
            );
        }
    }

    #[test]
    fn a_log_that_tells_nothing_leaves_what_was_known_before() {
        let rest: Vec<Settled> = settled(0.0, 0.0)
            .iter()
            .map(|s| Settled { slope: 0.0, ..*s })
            .collect();
        for stretches in [&[][..], &rest] {
            let found = Stored::of(stretches, 1.0);
            assert!((found.each / BEFORE.0 - 1.0).abs() < 1e-9, "{found:?}");
        }
    }
}
