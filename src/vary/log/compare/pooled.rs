//! Stretches of all paces together: one regression, with what is not logged.

use super::{Compared, LEAST, Outcome, STEP, Sides};
use crate::model::log::Signal;
use crate::vary::log::interval::{alike, student};
use crate::vary::log::stretch::{Pace, Stretch};
use nalgebra::{DMatrix, DVector};

/// Kelvin of coolant per kelvin of ambient: 0 if the thermostat compensates, 1 if it is fully open. Mean and one
/// standard deviation *(engineering assumption)*.
pub(super) const AMBIENT: (f64, f64) = (0.5, 0.25);

/// Kelvin of coolant for a doubled load *(engineering assumption: hardly anything is known)*.
const LOAD: (f64, f64) = (5.0, 5.0);

/// Kelvin of coolant for air conditioning on versus off *(engineering assumption)*.
const CONDITIONING: (f64, f64) = (2.0, 2.0);

/// Standard deviation of quantities missing from the logs: K of ambient, fraction of load, fraction of time with air
/// conditioning *(engineering assumption)*.
const UNKNOWN: (f64, f64, f64) = (8.0, 0.3, 0.5);

/// Time constant in seconds of an engine at one pace, by which its slope predicts the final temperature: 60 to 150 kJ/K
/// over 60 to 250 W/K. Mean and one standard deviation *(engineering assumption)*.
const TO_REST: (f64, f64) = (-600.0, 400.0);

/// Minimum correlation of neighbouring stretches, which share readings: as for [`overlapping`](crate::vary::log::interval).
const SHARED: f64 = 5.0 / 11.0;

/// All paces together, with a given effect of ambient temperature on the coolant; for stretches of a lasting pace, at
/// the final temperature.
pub(super) fn pooled(
    [mut before, mut after]: Sides,
    of_ambient: (f64, f64),
    lasting: bool,
) -> Compared {
    let paces: Vec<Pace> = Pace::ALL
        .into_iter()
        .filter(|p| {
            [&before, &after]
                .iter()
                .all(|s| s.iter().any(|s| s.pace == *p))
        })
        .collect();
    for side in [&mut before, &mut after] {
        side.retain(|s| paces.contains(&s.pace));
    }
    let mean = |side: &[Stretch], signal: Signal| {
        side.iter().map(|s| s.mean(signal)).sum::<f64>() / side.len() as f64
    };
    let both = |signal| [mean(&before, signal), mean(&after, signal)];
    let known = |signal| both(signal).iter().all(|v| v.is_finite());
    let load = [
        Signal::FuelRate,
        Signal::AirFlow,
        Signal::Load,
        Signal::EngineSpeed,
    ]
    .into_iter()
    .find(|s| known(*s) && both(*s)[0] > 0.0);
    let coolant = both(Signal::Coolant);
    let mut compared = Compared {
        outcome: Outcome::CannotTell(
            "there are fewer than three warm, steady stretches of two minutes at a pace common to both logs",
        ),
        paces: Vec::new(),
        effect: None,
        half: f64::INFINITY,
        plain: coolant[1] - coolant[0],
        ambient: both(Signal::Ambient),
        load: load.map_or(f64::NAN, |s| both(s)[1] / both(s)[0]),
        conditioning: both(Signal::AirConditioning),
        stretches: [before.len(), after.len()],
        not_known: Vec::new(),
    };
    if before.len() < LEAST || after.len() < LEAST {
        return compared;
    }
    // Unknown quantities widen the interval by their slope (mean and uncertainty combined) times their possible
    // difference.
    let mut wider = 0.0;
    let mut missing = |name, (slope, sigma): (f64, f64), unknown: f64| {
        compared.not_known.push(name);
        wider += (slope.hypot(sigma) * unknown).powi(2);
    };
    let has_ambient = known(Signal::Ambient);
    let has_conditioning = known(Signal::AirConditioning);
    if !has_ambient {
        missing("ambient", of_ambient, UNKNOWN.0);
    }
    if load.is_none() {
        missing("load", LOAD, UNKNOWN.1);
    }
    if !has_conditioning {
        missing("air conditioning", CONDITIONING, UNKNOWN.2);
    }
    let rows: Vec<(&Stretch, f64)> = before
        .iter()
        .map(|s| (s, 0.0))
        .chain(after.iter().map(|s| (s, 1.0)))
        .collect();
    let pooled = |signal| rows.iter().map(|r| r.0.mean(signal)).sum::<f64>() / rows.len() as f64;
    type Slope<'a> = (Box<dyn Fn(&Stretch) -> f64 + 'a>, (f64, f64));
    let mut slopes: Vec<Slope> = Vec::new();
    if has_ambient {
        let centre = pooled(Signal::Ambient);
        slopes.push((
            Box::new(move |s| s.mean(Signal::Ambient) - centre),
            of_ambient,
        ));
    }
    if let Some(signal) = load {
        let centre = pooled(signal);
        slopes.push((Box::new(move |s| s.mean(signal) / centre - 1.0), LOAD));
    }
    if has_conditioning {
        slopes.push((Box::new(|s| s.mean(Signal::AirConditioning)), CONDITIONING));
    }
    if lasting {
        slopes.push((Box::new(|s| s.slope), TO_REST));
    }
    let columns = paces.len() + 1 + slopes.len();
    let design = DMatrix::from_fn(rows.len(), columns, |r, c| {
        let (stretch, is_after) = rows[r];
        match c {
            c if c < paces.len() => f64::from(u8::from(stretch.pace == paces[c])),
            c if c == paces.len() => is_after,
            c => slopes[c - paces.len() - 1].0(stretch),
        }
    });
    let measured = DVector::from_iterator(
        rows.len(),
        rows.iter().map(|r| r.0.mean(Signal::Coolant) - 273.15),
    );
    // The resolution of the reading leaves some uncertainty, however steady the readings are.
    let mut variance: f64 = STEP * STEP / 12.0;
    let mut solved = None;
    for _ in 0..3 {
        let mut normal = design.transpose() * &design / variance;
        let mut right = design.transpose() * &measured / variance;
        for (k, (_, (slope, sigma))) in slopes.iter().enumerate() {
            let at = paces.len() + 1 + k;
            normal[(at, at)] += 1.0 / (sigma * sigma);
            right[at] += slope / (sigma * sigma);
        }
        let Some(inverse) = normal.try_inverse() else {
            return compared;
        };
        let found = &inverse * right;
        let residuals = &measured - &design * &found;
        let freedom = rows.len() as f64 - paces.len() as f64 - 1.0;
        variance = (residuals.norm_squared() / freedom.max(1.0)).max(STEP * STEP / 12.0);
        solved = Some((found, inverse, residuals, freedom));
    }
    let Some((found, inverse, residuals, freedom)) = solved else {
        return compared;
    };
    let r = alike(residuals.as_slice(), 0.0).max(if lasting { SHARED } else { 0.0 });
    let worth = (1.0 - r) / (1.0 + r);
    let at = paces.len();
    let sigma = (inverse[(at, at)] / worth + wider).sqrt();
    let effect = found[at];
    let half = student(freedom * worth) * sigma;
    compared.effect = Some(effect);
    compared.half = half;
    compared
}
