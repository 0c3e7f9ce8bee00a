//! Heat capacity of engine and coolant, estimated from a log.
//!
//! At a lasting pace, heat in = conductance × excess + heat capacity × slope. If the heat hardly varies, as at idle,
//! excess and slope are collinear, and the log gives the time constant of the excess, not the heat capacity. To
//! separate the two, the dependence of the conductance on the excess is needed, and the conductance is not constant.
//! Air preheated by other coolers carries off relatively more heat the hotter the coolant is, and warming oil slows the
//! fan. This dependence is therefore taken from prior knowledge with an uncertainty, which is included in the interval.

use super::interval::{NORMAL, alike, student};
use super::stretch::{LONG, Pace};

/// A warm stretch of a lasting pace, with known heat (W) and ambient temperature.
#[derive(Clone, Copy, Debug)]
pub(super) struct Settled {
    pub pace: Pace,
    /// Coolant temperature, K.
    pub coolant: f64,
    /// Excess over ambient, K.
    pub excess: f64,
    /// Rate of rise, K/s.
    pub slope: f64,
    /// Heat into the coolant, W.
    pub heat: f64,
}

impl Settled {
    /// Conductance, W/K, for a given heat capacity (J/K).
    pub fn conductance(&self, stored: f64) -> f64 {
        (self.heat - stored * self.slope) / self.excess
    }
}

/// Prior heat capacity of engine and coolant, J/K, and standard deviation of its logarithm: 40 to 600 kJ/K, from a
/// small car to a bus *(engineering assumption)*.
const BEFORE: (f64, f64) = (150e3, std::f64::consts::LN_2);

/// Relative growth of the conductance with the excess (per cent per per cent), and its standard deviation *(engineering
/// assumption: 0 with air at ambient temperature, 0.4 with air 20 K warmer and an excess of 70 K; below 0 if the oil
/// warms up meanwhile)*.
const GROWS: (f64, f64) = (0.2, 0.25);

/// Standard deviation of the error of a rise over two stretches due to the resolution of the readings, as a fraction of
/// this resolution: for a rise of less than [`SLOW`] resolution steps, and for more. Computed for uniform ramps rounded
/// to whole steps, at any phase: up to 0.41, and up to 0.16.
const RISE_READ: [f64; 2] = [0.3, 0.08];

/// See [`RISE_READ`].
const SLOW: f64 = 1.0;

/// Maximum fraction of the sum of squared slopes that is attributed to reading errors.
const MAX_READING_PART: f64 = 0.6;

/// Minimum standard deviation of the unexplained heat, as a fraction of the heat *(engineering assumption)*.
const MIN_UNEXPLAINED: f64 = 0.005;

/// Minimum number of stretches at a pace.
const LEAST: usize = 3;

/// Number of iterations between conductances and heat capacity, enough for convergence.
const ROUNDS: usize = 4;

/// The heat capacity.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stored {
    /// Value of the heat capacity, J/K.
    pub each: f64,
    /// Half-width of the heat capacity's interval, J/K.
    pub half: f64,
}

/// Sums over stretches, with each pace weighted by the inverse variance of its unexplained heat.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    /// Slopes times the heat that is not carried off.
    both: f64,
    /// Squared slopes; the contribution of reading errors to them; the squared slopes, increased to allow for the
    /// correlation of neighbouring stretches.
    square: f64,
    read: f64,
    alike: f64,
    freedom: f64,
}

impl Stored {
    /// Estimated from stretches with the thermostat fully open; `step` is the resolution of the coolant readings, K.
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
    /// Adds the stretches of a pace, for an approximate heat capacity (J/K).
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
        let weight = variance.max((MIN_UNEXPLAINED * heat).powi(2)).recip();
        let square: f64 = slopes().map(|s| s * s).sum();
        let error = |s: &Settled| {
            let fast = 2.0 * LONG * s.slope.abs() > SLOW * step;
            RISE_READ[usize::from(fast)] * step / (2.0 * LONG)
        };
        let read = freedom * mean(&|s| error(s).powi(2));
        let r = alike(&left, 0.0);
        self.both += weight * pairs.iter().map(|(s, k)| s * k).sum::<f64>();
        self.square += weight * square;
        self.read += weight * read.min(MAX_READING_PART * square);
        self.alike += weight * square * (1.0 + r) / (1.0 - r);
        self.freedom += freedom;
    }

    /// Least squares of the heat that is not carried off versus slope, with the contribution of reading errors removed
    /// from the squared slopes (errors in variables with known variance), combined with the prior. The two are averaged
    /// in the logarithm, weighted by inverse variance.
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

    /// One hour at each pace in turn, stretch by stretch: 120 kJ/K, conductances that grow with the excess, readings in
    /// steps.
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
