//! Cooling versus pace, with intervals.

use super::digest::Digest;
use super::interval::{Interval, NORMAL, interval, overlapping};
use super::stored::{Settled, Stored};
use super::stretch::{Pace, Stretch};
use crate::law::{atmosphere_isa_1975 as isa, fuel_heat_stoichiometric as fuel_heat};
use crate::model::log::Signal;

/// The fuel of the engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fuel {
    /// Petrol: stoichiometric air.
    Petrol,
    /// Diesel: excess air.
    Diesel,
}

/// Source of the heat that the engine gives to its coolant.
#[derive(Clone, Debug, PartialEq)]
pub enum Heat {
    /// Measured fuel flow, with this heat in J/m³.
    Fuel(f64),
    /// Measured air flow, assuming complete combustion.
    Air,
    /// Unknown, with the reason.
    Unknown(&'static str),
}

/// Fraction of the fuel's heat that goes into the coolant, and its ±: 20 to 30 % *(common practice, no source)*.
const TO_COOLANT: (f64, f64) = (0.25, 0.05);

/// Heat per volume of fuel, J/m³: petrol from the law's heating value at 745 kg/m³, diesel 42.8 MJ/kg at 835 kg/m³
/// *(from memory)*; if the fuel is unknown their mean, within 6 % of both.
const DENSITY_PETROL: f64 = 745.0;
const DIESEL: f64 = 835.0 * 42.8e6;

/// Manifold pressure at idle relative to air pressure, above which the engine is unthrottled *(common practice, no
/// source)*.
const UNTHROTTLED: f64 = 0.8;

/// Nearly steady: K/s.
pub(super) const STEADY: f64 = 0.8 / 60.0;

/// Maximum rate of temperature change at which the stored heat is evaluated, K/s: above it, metal and coolant do not
/// warm up together *(engineering assumption)*.
const FASTEST: f64 = 3.0 / 60.0;

/// Above the engine's most frequent temperature by this much (K), the thermostat is fully open *(engineering
/// assumption: it is fully open 10 to 15 K above the start of opening)*.
const FULL_OPEN: f64 = 5.0;

/// Above this, K, any thermostat is fully open *(common practice, no source)*.
pub(super) const SURELY_OPEN: f64 = 273.15 + 105.0;

/// The source from which a log gives the heat into the coolant.
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
        return Heat::Unknown("the log contains neither fuel flow nor air flow of the engine");
    }
    match (fuel, unthrottled(digest)) {
        (Some(Fuel::Diesel), _) => Heat::Unknown(
            "a diesel runs with excess air, so its air flow does not give its fuel flow",
        ),
        (None, Some(true)) => Heat::Unknown(
            "the manifold stays near air pressure at idle, so the engine is unthrottled (a diesel or similar), and its air flow does not give its fuel flow",
        ),
        (Some(Fuel::Petrol), _) | (None, Some(false)) => Heat::Air,
        (None, None) => Heat::Unknown(
            "the log does not show whether the engine is throttled, and its fuel is not stated",
        ),
    }
}

/// Whether the engine is unthrottled at idle; `None` if the log does not show it.
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

/// Half-width (95 %) of the error of a conductance due to the engine's slow metal, as a fraction: the metal still
/// releases or absorbs heat because of the preceding pace *(engineering assumption: without it, 1 interval in 8 missed
/// the true value in driven logs of engines with two masses)*.
const METAL: f64 = 0.065;

impl Heat {
    /// Heat into the coolant over a stretch, W; NaN if unknown.
    pub fn over(&self, stretch: &Stretch) -> f64 {
        let released = match self {
            Self::Fuel(each) => stretch.mean(Signal::FuelRate) * each,
            Self::Air => fuel_heat::from_air(stretch.mean(Signal::AirFlow)),
            Self::Unknown(_) => f64::NAN,
        };
        TO_COOLANT.0 * released
    }
}

/// The result of a log at one pace.
#[derive(Clone, Debug)]
pub struct ByPace {
    /// The pace.
    pub pace: Pace,
    /// Fraction of the time.
    pub share: f64,
    /// Coolant temperature over stretches with a warm engine, K.
    pub coolant: Option<Interval>,
    /// Excess of the coolant temperature over ambient, K.
    pub excess: Option<Interval>,
    /// Rate of rise of the coolant, K/s.
    pub rise: Option<Interval>,
    /// Heat into the coolant minus stored heat, over the excess temperature, in nearly steady stretches of a lasting
    /// pace, W/K.
    pub conductance: Option<Interval>,
    /// Whether the thermostat was fully open in these stretches; otherwise the conductance is the part used, not the
    /// available one.
    pub at_full: bool,
}

/// Ambient temperature of a stretch: as logged, or as stated.
pub(super) fn ambient(stretch: &Stretch, said: Option<f64>) -> f64 {
    said.unwrap_or_else(|| stretch.mean(Signal::Ambient))
}

/// Coolant temperature, K, above which thermostat and fan are assumed to be at their maximum: as stated, else from the
/// engine's most frequent temperature. For an engine that stays cool, this temperature is near the start of thermostat
/// opening, and the result is too low.
pub fn all_given_from(digest: &Digest, said: Option<f64>) -> f64 {
    let plateau = digest.exposure.plateau().map_or(f64::INFINITY, |p| p.0);
    said.unwrap_or((plateau + FULL_OPEN).min(SURELY_OPEN))
}

/// Warm stretches of a lasting pace, with known heat and ambient temperature.
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

/// Cooling versus pace; `said` is the stated ambient temperature if the log has none, `full` is the result of
/// [`all_given_from`], both in K.
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
    // All readings at a pace may have the same rounding error of half a step. A stated ambient temperature has no
    // rounding.
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
            let half = (i.half.hypot(stored.half * slope)).hypot(off.hypot(METAL * i.mean));
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
