//! Of several steady states, the one that a machine reaches that warms up from cold.
//!
//! As the air warms up, so does the oil: it gets thinner, and a fan that is already slow loses speed. Surplus heat then does
//! not fall throughout with the coolant temperature, and there may be a cool and a hot steady state at once.

use super::balance::{Balance, LOW, Point};
use crate::trouble::Trouble;

/// Step of the search for the lowest steady state, K.
const STEP: f64 = 2.5;

/// The surplus counts as falling evenly if its slopes at both ends are its mean slope to within this factor.
const EVENLY: f64 = 2.5;

/// A root with the unknowns that are held at a bound.
type Root = (Point, [bool; 3]);

impl Balance<'_> {
    /// The coolant temperature, K, up to which thermostat and fan control still open: below it surplus heat falls steeply.
    fn opened(&self) -> f64 {
        let valve = self.case.thermostat.as_ref().map_or(LOW[0], |t| t.full);
        let control = self.case.fan_control.as_ref();
        let asks = control.filter(|_| self.asked.automatic);
        valve.max(asks.map_or(LOW[0], |c| c.full))
    }

    /// The coolant temperature, K, from which a search for the lowest steady state begins: where the thermostat opens.
    fn begins(&self) -> f64 {
        let opens = self.case.thermostat.as_ref().map_or(LOW[0], |t| t.opens);
        self.low[0].max(opens)
    }

    /// Whether a steady state lower than `found`, or below `boils` (K) if that is lower, may have been passed.
    pub(super) fn may_have_passed(&mut self, found: &Point, boils: f64) -> Result<bool, Trouble> {
        let (from, to) = (self.opened(), found.x[0].min(boils));
        if to < from + STEP {
            return Ok(false);
        }
        let mut others = [found.x[1], found.x[2]];
        let upper = self.surplus(to, &mut others)?.1;
        let lower = self.surplus(from, &mut others)?.1;
        let mean = (upper.re - lower.re) / (to - from);
        let even = |slope: f64| slope < 0.0 && (1.0 / EVENLY..EVENLY).contains(&(slope / mean));
        Ok(lower.re <= 0.0 || !even(upper.eps) || !even(lower.eps))
    }

    /// The lowest steady state below `to` (K), with oil and air warming up along with the coolant; `None` if there is
    /// none.
    pub(super) fn lowest(&mut self, to: f64) -> Result<Option<Root>, Trouble> {
        let from = self.begins();
        let mut others = [self.case.now.oil_temp.min(from), self.case.now.ambient + 30.0];
        if self.surplus(from, &mut others)?.1.re <= 0.0 {
            return self.nested((LOW[0], from), others).map(Some);
        }
        let steps = ((to - from) / STEP).ceil();
        let mut below = (from, others);
        for k in 1..=steps as usize {
            let at = from + (to - from) * k as f64 / steps;
            let mut others = below.1;
            if self.surplus(at, &mut others)?.1.re <= 0.0 {
                return self.nested((below.0, at), below.1).map(Some);
            }
            below = (at, others);
        }
        Ok(None)
    }

    /// The highest temperature, K, above `cool` and up to `boils` at which surplus heat keeps a machine that is already
    /// that hot; `None` if it cools down from there.
    pub(super) fn stays_hot(&mut self, cool: &Point, boils: f64) -> Result<Option<f64>, Trouble> {
        let from = cool.x[0].max(self.opened()) + STEP;
        let mut others = [cool.x[1].max(boils), cool.x[2].max(boils)];
        let steps = ((boils - from) / STEP).ceil().max(0.0);
        for k in 0..=steps as usize {
            let at = boils - (boils - from) * k as f64 / steps.max(1.0);
            if at > from && self.surplus(at, &mut others)?.1.re > 0.0 {
                return Ok(Some(at));
            }
        }
        Ok(None)
    }
}
