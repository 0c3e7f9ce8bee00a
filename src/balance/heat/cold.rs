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
        let mut others = [
            self.case.now.oil_temp.min(from),
            self.case.now.ambient + 30.0,
        ];
        if self.surplus(from, &mut others)?.1.re <= 0.0 {
            return self.fallback().map(Some);
        }
        let mut below = (from, others);
        for at in self.steps(from, to) {
            let mut others = below.1;
            if self.surplus(at, &mut others)?.1.re <= 0.0 {
                return self.nested((below.0, at), below.1).map(Some);
            }
            below = (at, others);
        }
        Ok(None)
    }

    /// The temperatures, K, above `from` and up to `to` at which surplus heat is looked at: evenly, and where something
    /// that lowers it ends, as a narrow dip lies there.
    fn steps(&self, from: f64, to: f64) -> Vec<f64> {
        let many = ((to - from) / STEP).ceil();
        let even = (1..=many as usize).map(|k| from + (to - from) * k as f64 / many);
        let cuts_out = self.case.coolant.as_ref().map(|c| c.air_conditioning_off);
        let ends = cuts_out.into_iter().chain([self.opened()]);
        let mut all: Vec<f64> = even.chain(ends.filter(|t| from < *t && *t < to)).collect();
        all.sort_by(f64::total_cmp);
        all
    }

    /// The highest temperature, K, above `cool` and up to `boils` at which surplus heat keeps a machine that is already
    /// that hot; `None` if it cools down from there.
    pub(super) fn stays_hot(&mut self, cool: &Point, boils: f64) -> Result<Option<f64>, Trouble> {
        let from = cool.x[0].max(self.opened()) + STEP;
        let mut others = [cool.x[1].max(boils), cool.x[2].max(boils)];
        for at in self.steps(from, boils).into_iter().rev() {
            if self.surplus(at, &mut others)?.1.re > 0.0 {
                return Ok(Some(at));
            }
        }
        Ok(None)
    }
}
