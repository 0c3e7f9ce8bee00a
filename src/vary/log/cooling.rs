//! Cooling by pace, with intervals; where it runs hot.

use super::climbs::{Verdict, runs_hot};
use super::digest::Digest;
use super::interval::{Interval, NORMAL, interval, overlapping};
use super::stored::{Settled, Stored};
use super::stretch::{Pace, Stretch};
use crate::law::{atmosphere_isa_1975 as isa, fuel_heat_stoichiometric as fuel_heat};
use crate::model::log::Signal;

/// What the engine burns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fuel {
    /// Petrol, its mixture held to the air that it needs.
    Petrol,
    /// Diesel fuel, burnt in more air than it needs.
    Diesel,
}

/// Where the heat that the engine gives to its coolant may be known from.
#[derive(Clone, Debug, PartialEq)]
pub enum Heat {
    /// From measured fuel, so many J/m³.
    Fuel(f64),
    /// From measured air, all of it burnt.
    Air,
    /// Not at all, and why.
    Unknown(&'static str),
}

/// Share of the fuel's heat that goes into the coolant, and ± of it: 20 to 30 % *(common practice, no source)*.
const TO_COOLANT: (f64, f64) = (0.25, 0.05);

/// Heat in a litre of fuel, J/m³: petrol by the law's heating value at 745 kg/m³, diesel fuel 42.8 MJ/kg at 835 kg/m³ *(from
/// memory)*; their mean, within 6 % of both, where it is not known which.
const DENSITY_PETROL: f64 = 745.0;
const DIESEL: f64 = 835.0 * 42.8e6;

/// Manifold pressure at idle over the air's, above which no throttle closes *(common practice, no source)*.
const UNTHROTTLED: f64 = 0.8;

/// Nearly at rest: K/s.
const STEADY: f64 = 0.8 / 60.0;

/// Still tells what is stored, K/s: faster than this, metal and coolant do not rise alike *(judgment)*.
const FASTEST: f64 = 3.0 / 60.0;

/// So far (K) above the level at which the engine stays most, the thermostat has no more to give *(judgment: it is full open 10
/// to 15 K above where it begins)*.
const FULL_OPEN: f64 = 5.0;

/// Above this, K, a thermostat is full open whatever its rating *(common practice, no source)*.
const SURELY_OPEN: f64 = 273.15 + 105.0;

/// How the heat may be known from a log.
pub fn heat(digest: &Digest, fuel: Option<Fuel>) -> Heat {
    let petrol = DENSITY_PETROL * fuel_heat::LOWER_HEATING_VALUE;
    if digest.knows(Signal::FuelRate) {
        return Heat::Fuel(match fuel {
            Some(Fuel::Petrol) => petrol,
            Some(Fuel::Diesel) => DIESEL,
            None => 0.5 * (petrol + DIESEL),
        });
    }
    if !digest.knows(Signal::AirFlow) {
        return Heat::Unknown("neither fuel nor air drawn by the engine is in the log");
    }
    match (fuel, unthrottled(digest)) {
        (Some(Fuel::Diesel), _) => Heat::Unknown(
            "a diesel draws air that it does not burn, so its air does not tell its fuel",
        ),
        (None, Some(true)) => Heat::Unknown(
            "the manifold stays near the air's pressure at idle, so no throttle holds the air to the fuel (a diesel, or the like), and the air does not tell the fuel",
        ),
        (Some(Fuel::Petrol), _) | (None, Some(false)) => Heat::Air,
        (None, None) => Heat::Unknown(
            "the log does not show whether the engine is throttled, and what it burns is not stated",
        ),
    }
}

/// Whether no throttle closes at idle; none where the log does not show it.
pub fn unthrottled(digest: &Digest) -> Option<bool> {
    let manifold = digest.stretches.idle_manifold()?;
    let altitude = Some(digest.exposure.altitude).filter(|a| a.is_finite());
    let air = if digest.knows(Signal::Barometer) {
        digest.tally.seen[Signal::Barometer as usize].most
    } else {
        isa::pressure(altitude.unwrap_or(0.0))
    };
    Some(manifold > UNTHROTTLED * air)
}

impl Heat {
    /// Heat into the coolant over a stretch, W; not a number where it is not known.
    pub fn over(&self, stretch: &Stretch) -> f64 {
        let released = match self {
            Self::Fuel(each) => stretch.mean(Signal::FuelRate) * each,
            Self::Air => fuel_heat::from_air(stretch.mean(Signal::AirFlow)),
            Self::Unknown(_) => f64::NAN,
        };
        TO_COOLANT.0 * released
    }
}

/// What a log says of one pace.
#[derive(Clone, Debug)]
pub struct ByPace {
    /// The pace.
    pub pace: Pace,
    /// Share of the time.
    pub share: f64,
    /// Coolant over stretches with a warm engine, K.
    pub coolant: Option<Interval>,
    /// Its excess over ambient, K.
    pub excess: Option<Interval>,
    /// How fast it rises there, K/s.
    pub rise: Option<Interval>,
    /// Heat into the coolant, less what it stores, over its excess, in stretches nearly at rest of a pace that lasts, W/K.
    pub conductance: Option<Interval>,
    /// Whether these stretches were so hot that the thermostat had no more to give; else the conductance is what was used, not
    /// what there is.
    pub at_full: bool,
}

/// Ambient of a stretch: as logged, or as said.
pub(super) fn ambient(stretch: &Stretch, said: Option<f64>) -> f64 {
    said.unwrap_or_else(|| stretch.mean(Signal::Ambient))
}

/// The coolant's temperature, K, from which thermostat and fan are taken to have no more to give: as said, else by the level at
/// which the engine stays most. An engine that keeps cool stays near where its thermostat begins to open, and its level says too
/// little.
pub fn all_given_from(digest: &Digest, said: Option<f64>) -> f64 {
    let plateau = digest.exposure.plateau().map_or(f64::INFINITY, |p| p.0);
    said.unwrap_or((plateau + FULL_OPEN).min(SURELY_OPEN))
}

/// Warm stretches of a pace that lasts, with heat and ambient known.
fn settled(digest: &Digest, heat: &Heat, said: Option<f64>) -> Vec<Settled> {
    let warm = digest.stretches.settled.iter();
    let settled = warm.filter(|s| s.steady(FASTEST)).map(|s| Settled {
        pace: s.pace,
        coolant: s.mean(Signal::Coolant),
        excess: s.mean(Signal::Coolant) - ambient(s, said),
        slope: s.slope,
        heat: heat.over(s),
    });
    settled
        .filter(|s| s.excess > 0.0 && s.heat.is_finite())
        .collect()
}

/// Cooling by pace; `said` is the ambient where the log does not have it, `full` what [`all_given_from`] gave, both in K.
pub fn by_pace(digest: &Digest, heat: &Heat, said: Option<f64>, full: f64) -> Vec<ByPace> {
    let times = &digest.exposure.paces;
    let total: f64 = times.iter().sum();
    let mut settled = settled(digest, heat, said);
    let steps = digest.stretches.steps();
    let hot: Vec<Settled> = settled
        .iter()
        .copied()
        .filter(|s| s.coolant >= full)
        .collect();
    let stored = Stored::of(&hot, steps[0]);
    settled.retain(|s| s.slope.abs() <= STEADY);
    // All readings of a pace may lie half a step off to one side. An ambient that was said has no steps.
    let steps = [steps[0], if said.is_some() { 0.0 } else { steps[1] }];
    let read = NORMAL * steps[0].hypot(steps[1]) / 12_f64.sqrt();
    let there = |p: &Pace| {
        let least = if *p == Pace::Unknown { 0.01 } else { 0.0 };
        times[*p as usize] > least * total
    };
    let of = |pace: Pace| {
        let warm = |s: &&Stretch| s.warm() && s.pace == pace;
        let mean = |f: &dyn Fn(&Stretch) -> f64| {
            let all = digest.stretches.all.iter().filter(warm).map(f);
            interval(&all.filter(|v| v.is_finite()).collect::<Vec<f64>>())
        };
        let conductance = |least: f64| {
            let here = || {
                let here = settled.iter();
                here.filter(|s| s.pace == pace && s.coolant >= least)
            };
            let all = here().map(|s| s.conductance(stored.each));
            let i = overlapping(&all.collect::<Vec<f64>>())?;
            let of_all = |f: &dyn Fn(&Settled) -> f64| here().map(f).sum::<f64>() / i.count as f64;
            let slope = of_all(&|s| s.slope / s.excess);
            let off = i.mean * read * of_all(&|s| s.excess.recip());
            let half = i.half.hypot(stored.half * slope).hypot(off);
            (i.mean > 0.0).then_some(Interval { half, ..i })
        };
        let at_full = conductance(full);
        ByPace {
            pace,
            share: times[pace as usize] / total,
            coolant: mean(&|s| s.mean(Signal::Coolant)),
            excess: mean(&|s| s.mean(Signal::Coolant) - ambient(s, said)),
            rise: mean(&|s| s.slope),
            conductance: at_full.or_else(|| conductance(0.0)),
            at_full: at_full.is_some(),
        }
    };
    Pace::ALL.into_iter().filter(there).map(of).collect()
}

/// Where it runs hot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hot {
    /// Standing or crawling: the fan's work.
    Standing,
    /// Moving: the radiator's work.
    Moving,
    /// Alike at both.
    Both,
    /// Nowhere in this log.
    Nowhere,
    /// The log cannot tell, and why.
    CannotTell(&'static str),
}

/// Where it runs hot: by the climbs above its own level; else warm stretches while standing or crawling against warm stretches while moving. `full` is what
/// [`all_given_from`] gave, K.
pub fn where_hot(digest: &Digest, full: f64) -> Hot {
    let Some((peak, _)) = digest.exposure.peak else {
        return Hot::CannotTell("no coolant reading");
    };
    if digest.exposure.plateau().is_none() {
        return Hot::CannotTell("the engine never became warm");
    }
    match runs_hot(digest).verdict {
        Verdict::Standing(_) => return Hot::Standing,
        Verdict::Moving(_) => return Hot::Moving,
        Verdict::Both(_) => return Hot::Both,
        Verdict::Regulated | Verdict::CannotTell(_) => {}
    }
    let hot: f64 = 273.15 + 100.0;
    if peak < hot.max(full).min(SURELY_OPEN) {
        return Hot::Nowhere;
    }
    if digest.exposure.paces[Pace::Unknown as usize] * 2.0 > digest.exposure.paces.iter().sum() {
        return Hot::CannotTell("road speed is not in the log");
    }
    let of = |paces: [Pace; 2]| -> Vec<f64> {
        digest
            .stretches
            .all
            .iter()
            .filter(|s| s.warm() && paces.contains(&s.pace))
            .map(|s| s.mean(Signal::Coolant))
            .collect()
    };
    let (still, moving) = (
        of([Pace::Standing, Pace::Crawling]),
        of([Pace::Slow, Pace::Fast]),
    );
    let (Some(a), Some(b)) = (interval(&still), interval(&moving)) else {
        return Hot::CannotTell(
            "there are fewer than three warm stretches of two minutes either standing or moving",
        );
    };
    let most = |v: &[f64]| v.iter().copied().fold(0.0, f64::max);
    let (still_most, moving_most) = (most(&still), most(&moving));
    // A difference of the sensor's step, or inside the error, is none.
    if a.apart(&b) && (a.mean - b.mean).abs() > 1.5 {
        return if a.mean > b.mean {
            Hot::Standing
        } else {
            Hot::Moving
        };
    }
    if still_most >= hot && moving_most >= hot {
        Hot::Both
    } else {
        Hot::CannotTell("the difference between standing and moving lies inside its error")
    }
}
