//! How the fraction of old oil in a fill falls from one exchange to the next if part of the fill is stagnant.
//!
//! The fill is divided into two volumes: the circulating one, which an exchange reaches and which is fully mixed, and
//! the stagnant one (ends of the steering, a cooler with an open bypass, hoses without flow). Between exchanges the
//! engine runs and the two mix, partly or fully. The fraction of old oil therefore never falls faster than by the same
//! exchanges of a fully mixed fill.

use crate::law::dilution_well_mixed as law;

/// Fraction of old oil in each of the two volumes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Old {
    /// In the circulating volume.
    pub circulating: f64,
    /// In the stagnant volume.
    pub still: f64,
}

impl Old {
    /// Old oil only.
    pub const ALL: Old = Old {
        circulating: 1.0,
        still: 1.0,
    };
}

/// One oil exchange; amounts are fractions of the whole fill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Exchange {
    /// Drains this fraction and refills with new oil.
    Refill(f64),
    /// Feeds in this fraction of new oil while mixed oil flows out.
    Mixed(f64),
    /// Feeds in this fraction of new oil, which pushes the old oil out without mixing.
    PushedOut(f64),
}

/// The properties of the fill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fill {
    /// Stagnant fraction of the fill, which an exchange does not reach; below 1.
    pub still: f64,
    /// Degree of mixing of the two volumes while the engine runs between exchanges: 0 none, 1 full.
    pub mixing: f64,
}

impl Fill {
    /// Fraction of old oil in the whole fill.
    pub fn share(&self, old: Old) -> f64 {
        (1.0 - self.still) * old.circulating + self.still * old.still
    }

    /// The fractions of old oil after an exchange.
    pub fn exchanged(&self, old: Old, exchange: Exchange) -> Old {
        let of_circulating = |amount: f64| amount / (1.0 - self.still);
        let circulating = match exchange {
            Exchange::Refill(f) => law::after_refill(old.circulating, of_circulating(f).min(1.0)),
            Exchange::Mixed(v) => law::while_flowing(old.circulating, of_circulating(v)),
            Exchange::PushedOut(v) => law::pushed_out(old.circulating, of_circulating(v)),
        };
        Old { circulating, ..old }
    }

    /// The fractions of old oil after the engine has run.
    pub fn run(&self, old: Old) -> Old {
        let whole = self.share(old);
        Old {
            circulating: old.circulating + self.mixing * (whole - old.circulating),
            still: old.still + self.mixing * (whole - old.still),
        }
    }

    /// The fractions of old oil after 0, 1, 2 … exchanges, each followed by running the engine: until almost none is
    /// left, an exchange no longer changes anything, or `most` exchanges are done.
    pub fn rounds(&self, exchange: Exchange, most: usize) -> Vec<Old> {
        let mut found = vec![Old::ALL];
        let mut old = Old::ALL;
        for _ in 0..most {
            let next = self.run(self.exchanged(old, exchange));
            found.push(next);
            let (before, share) = (self.share(old), self.share(next));
            if share < 1e-6 || before - share < 1e-9 {
                break;
            }
            old = next;
        }
        found
    }
}
