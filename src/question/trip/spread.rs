//! The effect of a machine's ± on a trip: the same trip with machines sampled within the ±.

use super::course::computed;
use super::{Figures, Side, Trip};
use crate::balance::Rules;
use crate::input::Input;
use crate::model::Case;
use crate::outcome;
use crate::question::Ends;
use crate::trouble::Troubles;
use crate::vary::sample;
use rayon::prelude::*;
use std::collections::BTreeSet;

/// Number of sampled machines. On average, 23 of 25 further machines would lie between the minimum and maximum of
/// these.
const DRAWN: usize = 24;

/// The seed of the sampling.
const SEED: u64 = 20_261_126;

/// A wider error tolerance than for the trip itself; the errors are still far below the differences between machines.
const RULES: Rules = Rules {
    tolerance: 100.0,
    stop_at_limit: false,
};

outcome! {
    /// The figures of a trip for machines sampled within the ±.
    pub struct Spread {
        /// Number of sampled machines.
        machines: usize,
        /// Number of sampled machines that complete the trip.
        came_through: usize,
        /// Number of machines in which the coolant reaches its limit.
        reach_limit: usize,
        /// Number of machines in which the coolant boils.
        boil: usize,
        /// Peak coolant temperature.
        peak_coolant_temp: Ends as Temperature,
        /// Peak oil temperature.
        peak_oil_temp: Ends as Temperature,
        /// Time to the coolant limit; null if never reached.
        time_to_limit: Ends as Time,
        /// Time with the coolant above its limit.
        above_limit: Ends as Time,
        /// Time with the coolant above the lower estimate of its boiling point.
        above_boiling: Ends as Time,
        /// Time with the oil above 93 °C.
        oil_above_93_c: Ends as Time,
        /// Average fan speed.
        fan_speed_mean: Ends as Speed,
        /// Time for which the engine may idle after the trip until the coolant reaches its limit; null if more than an
        /// hour.
        may_idle: Ends as Time,
    }
    beside {
        /// The figures in sampling order; `None` for a machine that does not complete the trip because it has no steady
        /// state in the first row, or no suitable gear.
        drawn: Vec<Option<Figures>>,
    }
}

impl Spread {
    /// Samples one of the compared machines; `own` are its nominal figures, which are used if no input has a ±.
    pub(super) fn of(request: &Trip, side: &Side, own: &Figures) -> Result<Self, Troubles> {
        let setup = &side.setup;
        let inputs = uncertain(request);
        if inputs.is_empty() {
            return Ok(Self::from(vec![Some(*own)]));
        }
        setup.stop.expect(DRAWN);
        let together = &setup.machine.correlations;
        let (case, spread) = (&setup.case, &setup.spread);
        let cases = sample::draw_of(&inputs, case, spread, together, DRAWN, SEED);
        let figures = |case: &Case| {
            setup.stop.check()?;
            Ok(computed(request, side, case, RULES).ok().map(|(_, f)| f))
        };
        let drawn: Result<Vec<_>, _> = cases.par_iter().map(figures).collect();
        drawn.map(Self::from).map_err(|t| vec![t])
    }

    fn through(&self) -> impl Iterator<Item = &Figures> {
        self.drawn.iter().flatten()
    }

    /// Number of machines that complete the trip and satisfy a condition.
    pub fn count(&self, which: impl Fn(&Figures) -> bool) -> usize {
        self.through().filter(|f| which(f)).count()
    }

    /// The minimum and maximum of a figure; `None` if no machine completes the trip.
    pub fn range(&self, of: impl Fn(&Figures) -> f64) -> Option<(f64, f64)> {
        ends(self.through().map(of))
    }

    /// The minimum and maximum of the peak coolant temperature minus that of the other machine, K, with both sampled
    /// alike.
    pub(super) fn hotter(&self, other: &Self) -> Option<(f64, f64)> {
        let both = self.drawn.iter().zip(&other.drawn);
        ends(both.filter_map(|(a, b)| Some(a.as_ref()?.peak.1 - b.as_ref()?.peak.1)))
    }
}

impl From<Vec<Option<Figures>>> for Spread {
    fn from(drawn: Vec<Option<Figures>>) -> Self {
        let through = || drawn.iter().flatten();
        let range = |of: fn(&Figures) -> f64| Ends(ends(through().map(of)));
        Self {
            machines: drawn.len(),
            came_through: through().count(),
            reach_limit: through().filter(|f| f.to_limit.is_some()).count(),
            boil: through().filter(|f| f.boiled).count(),
            peak_coolant_temp: range(|f| f.peak.1),
            peak_oil_temp: range(|f| f.peak_oil.1),
            time_to_limit: range(|f| f.to_limit.unwrap_or(f64::INFINITY)),
            above_limit: range(|f| f.above_limit),
            above_boiling: range(|f| f.above_boiling),
            oil_above_93_c: range(|f| f.hot_oil),
            fan_speed_mean: range(|f| f.fan),
            may_idle: range(|f| f.idle.time()),
            drawn,
        }
    }
}

/// The inputs that are uncertain in any of the compared machines, so that all are sampled alike.
fn uncertain(request: &Trip) -> Vec<Input> {
    let against = request.against.as_ref().map(|a| &a.side);
    let sides = std::iter::once(&request.side).chain(against);
    let sides = sides.chain(request.variants.iter().map(|v| &v.side));
    let all: BTreeSet<Input> = sides
        .flat_map(|side| sample::uncertain(&side.setup.spread))
        .collect();
    all.into_iter().collect()
}

/// The minimum and maximum of some values.
fn ends(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.fold(None, |ends, v| {
        let (low, high) = ends.unwrap_or((v, v));
        Some((v.min(low), v.max(high)))
    })
}
