//! What a machine's ± does to a trip: the same trip with machines drawn within it.

use super::{Figures, Idle, Question, Side, gone};
use crate::balance::Rules;
use crate::input::Input;
use crate::model::Case;
use crate::quantity::{Kind, Units};
use crate::trouble::Troubles;
use crate::vary::sample;
use rayon::prelude::*;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;

/// So many machines are drawn. Of any number more, 23 of 25 would lie between the least and the greatest of them.
const DRAWN: usize = 24;

/// The seed they are drawn with.
const SEED: u64 = 20_261_126;

/// A step may err by so much more than in the trip itself: still far below what machines differ by.
const RULES: Rules = Rules {
    tolerance: 100.0,
    stop_at_limit: false,
};

/// The figures of a trip for machines drawn within a machine's ±, in the order in which they were drawn.
pub(super) struct Spread {
    /// None for a machine that does not get through: it does not settle in the first row, or has no gear that pulls.
    drawn: Vec<Option<Figures>>,
}

impl Spread {
    /// Of a side; `own` are the figures of the machine itself, which hold where nothing has a ±.
    pub fn of(question: &Question, side: &Side, own: &Figures) -> Result<Self, Troubles> {
        let posed = &side.posed;
        let inputs = uncertain(question);
        if inputs.is_empty() {
            return Ok(Self {
                drawn: vec![Some(*own)],
            });
        }
        posed.stop.expect(DRAWN);
        let together = &posed.machine.correlations;
        let (case, spread) = (&posed.case, &posed.spread);
        let cases = sample::draw_of(&inputs, case, spread, together, DRAWN, SEED);
        let figures = |case: &Case| {
            posed.stop.check()?;
            Ok(gone(question, side, case, RULES).ok().map(|(_, f)| f))
        };
        let drawn: Result<Vec<_>, _> = cases.par_iter().map(figures).collect();
        Ok(Self {
            drawn: drawn.map_err(|t| vec![t])?,
        })
    }

    fn through(&self) -> impl Iterator<Item = &Figures> {
        self.drawn.iter().flatten()
    }

    fn count(&self, which: impl Fn(&Figures) -> bool) -> usize {
        self.through().filter(|f| which(f)).count()
    }

    /// The least and the greatest of a figure; none where no machine gets through.
    pub fn range(&self, of: impl Fn(&Figures) -> f64) -> Option<(f64, f64)> {
        ends(self.through().map(of))
    }

    /// The same as text: `98 to 104 °C`, or one where both are printed alike.
    pub fn shown(&self, of: impl Fn(&Figures) -> f64, show: impl Fn(f64) -> String) -> String {
        let Some((low, high)) = self.range(of).map(|(l, h)| (show(l), show(h))) else {
            return String::new();
        };
        if low == high {
            return low;
        }
        // One unit will do.
        match (low.rsplit_once(' '), high.rsplit_once(' ')) {
            (Some((number, unit)), Some((_, other))) if unit == other => {
                format!("{number} to {high}")
            }
            _ => format!("{low} to {high}"),
        }
    }

    /// The least and the greatest by which a peak of the coolant lies above the other side's, K: the same draw on either side.
    pub fn hotter(&self, other: &Self) -> Option<(f64, f64)> {
        let both = self.drawn.iter().zip(&other.drawn);
        ends(both.filter_map(|(a, b)| Some(a.as_ref()?.peak.1 - b.as_ref()?.peak.1)))
    }

    /// What came of it, in words.
    pub fn told(&self, units: Units) -> String {
        let all = self.drawn.len();
        let Some((low, high)) = self.range(|f| f.peak.1) else {
            return format!(
                "None of {all} machines drawn within this one's ± gets through the trip, so no ± is told."
            );
        };
        if all == 1 {
            return "No input of this machine has a ±, so none is told.".into();
        }
        let through = self.count(|_| true);
        let boil = match self.count(|f| f.boiled) {
            0 => String::new(),
            n => format!(", and it boils in {n}, where the trip ends"),
        };
        let limit = match self.count(|f| f.to_limit.is_some()) {
            0 => "none of them does it reach".to_string(),
            n => format!("{n} of them it reaches"),
        };
        let lost = match all - through {
            0 => String::new(),
            n => format!(
                " ({n} more find no steady state to begin in, or no gear that pulls, or heat without end)"
            ),
        };
        let cover = match all - through {
            0 => {
                "About 9 of 10 such machines lie between these ends, which cover what is not known of the inputs, not what the model itself leaves out."
            }
            _ => {
                "Those that are left out may be the hottest, so the machine's ± reaches farther than these ends."
            }
        };
        format!(
            "In {through} machines drawn within this one's ±{lost} the coolant peaks between {} and {}; in {limit} its limit{boil}. {cover}",
            units.show(Kind::Temperature, low),
            units.show(Kind::Temperature, high),
        )
    }

    /// How many of them stay below the limit when left idling, as a sentence to follow; nothing where no input has a ±.
    pub fn idling(&self) -> String {
        match (self.drawn.len(), self.count(|_| true)) {
            (0 | 1, _) | (_, 0) => String::new(),
            (_, through) => format!(
                " Of the {through} machines drawn, {} stay below it for an hour.",
                self.count(|f| matches!(f.idle, Idle::Stays(_)))
            ),
        }
    }

    /// The numbers.
    pub fn numbers(&self) -> Value {
        let mut n = Map::new();
        n.insert("machines".into(), json!(self.drawn.len()));
        n.insert("came_through".into(), json!(self.count(|_| true)));
        n.insert(
            "reach_limit".into(),
            json!(self.count(|f| f.to_limit.is_some())),
        );
        n.insert("boil".into(), json!(self.count(|f| f.boiled)));
        let mut put = |key: &str, kind: Kind, of: &dyn Fn(&Figures) -> f64| {
            let (low, high) = self.range(of).unwrap_or((f64::NAN, f64::NAN));
            for (end, value) in [("low", low), ("high", high)] {
                // What never happens is null.
                let key = format!("{key}_{end}_{}", kind.json_suffix());
                n.insert(key, json!(kind.to_json(value)));
            }
        };
        put("peak_coolant_temp", Kind::Temperature, &|f| f.peak.1);
        put("peak_oil_temp", Kind::Temperature, &|f| f.peak_oil.1);
        put("time_to_limit", Kind::Time, &|f| {
            f.to_limit.unwrap_or(f64::INFINITY)
        });
        put("above_limit", Kind::Time, &|f| f.above_limit);
        put("above_boiling", Kind::Time, &|f| f.above_boiling);
        put("oil_above_93_c", Kind::Time, &|f| f.hot_oil);
        put("fan_speed_mean", Kind::Speed, &|f| f.fan);
        put("may_idle", Kind::Time, &|f| f.idle.time());
        Value::Object(n)
    }
}

/// The inputs that are not known exactly on either side, so that both sides' machines are drawn alike.
fn uncertain(question: &Question) -> Vec<Input> {
    let sides = std::iter::once(&question.side).chain(&question.against);
    let all: BTreeSet<Input> = sides
        .flat_map(|side| sample::uncertain(&side.posed.spread))
        .collect();
    all.into_iter().collect()
}

/// The least and the greatest.
fn ends(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.fold(None, |ends, v| {
        let (low, high) = ends.unwrap_or((v, v));
        Some((v.min(low), v.max(high)))
    })
}
