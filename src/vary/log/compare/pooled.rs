//! One regression over the stretches of all paces, with an allowance for quantities that are not logged.

use super::{Compared, LEAST, Outcome, STEP, Sides};
use crate::model::log::Signal;
use crate::vary::log::interval::{alike, student};
use crate::vary::log::stretch::{Pace, Stretch};
use nalgebra::{DMatrix, DVector};

/// Rise of the coolant per kelvin of ambient temperature: 0 if the thermostat compensates, 1 if it is fully open. Mean
/// and one standard deviation *(engineering assumption)*.
pub(super) const AMBIENT: (f64, f64) = (0.5, 0.25);
/// Rise of the coolant for a doubled load, K *(engineering assumption: hardly anything is known)*.
const LOAD: (f64, f64) = (5.0, 5.0);
/// Rise of the coolant for air conditioning on versus off, K *(engineering assumption)*.
const CONDITIONING: (f64, f64) = (2.0, 2.0);
/// Standard deviation of quantities missing from the logs: K of ambient, fraction of load, fraction of time with air
/// conditioning *(engineering assumption)*.
const UNKNOWN: (f64, f64, f64) = (8.0, 0.3, 0.5);

/// Minus the time constant of the engine's temperature, s: at a constant pace the final temperature exceeds the present
/// one by slope × time constant. The time constant is a heat capacity (60 to 150 kJ/K) divided by a conductance (60 to
/// 250 W/K). Mean and one standard deviation *(engineering assumption)*.
const TO_REST: (f64, f64) = (-600.0, 400.0);

/// Minimum correlation of neighbouring stretches, which share readings: as for
/// [`overlapping`](crate::vary::log::interval).
const SHARED: f64 = 5.0 / 11.0;

/// All paces together, with a given effect of ambient temperature on the coolant; for stretches of a lasting pace, at
/// the final temperature.
pub(super) fn pooled(
    [mut before, mut after]: Sides,
    of_ambient: (f64, f64),
    lasting: bool,
) -> Compared {
    let paces = common_paces(&mut before, &mut after);
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
    let mut compared = plainly(both, load, [before.len(), after.len()]);
    if before.len() < LEAST || after.len() < LEAST {
        return compared;
    }
    let (has_ambient, has_conditioning) = (known(Signal::Ambient), known(Signal::AirConditioning));
    // Unknown quantities widen the interval by their slope (mean and uncertainty combined) times their possible
    // difference.
    let mut wider = 0.0;
    for (name, is_known, (slope, sigma), unknown) in [
        ("ambient", has_ambient, of_ambient, UNKNOWN.0),
        ("load", load.is_some(), LOAD, UNKNOWN.1),
        (
            "air conditioning",
            has_conditioning,
            CONDITIONING,
            UNKNOWN.2,
        ),
    ] {
        if !is_known {
            compared.not_known.push(name);
            wider += (slope.hypot(sigma) * unknown).powi(2);
        }
    }
    let rows: Vec<(&Stretch, f64)> = before
        .iter()
        .map(|s| (s, 0.0))
        .chain(after.iter().map(|s| (s, 1.0)))
        .collect();
    let slopes = slopes(
        &rows,
        has_ambient.then_some(of_ambient),
        load,
        has_conditioning,
        lasting,
    );
    let Some(found) = regression(&rows, &paces, &slopes) else {
        return compared;
    };
    let r = alike(found.residuals.as_slice(), 0.0).max(if lasting { SHARED } else { 0.0 });
    let worth = (1.0 - r) / (1.0 + r);
    let sigma = (found.variance / worth + wider).sqrt();
    compared.effect = Some(found.effect);
    compared.half = student(found.freedom * worth) * sigma;
    compared
}

/// The comparison without the regression; `both` returns the means of a signal before and after, and `load` is the
/// signal used for the load.
fn plainly(
    both: impl Fn(Signal) -> [f64; 2],
    load: Option<Signal>,
    stretches: [usize; 2],
) -> Compared {
    let coolant = both(Signal::Coolant);
    Compared {
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
        stretches,
        not_known: Vec::new(),
    }
}

/// The paces that occur both before and after; drops the stretches at other paces.
fn common_paces(before: &mut Vec<Stretch>, after: &mut Vec<Stretch>) -> Vec<Pace> {
    let has = |side: &[Stretch], pace: Pace| side.iter().any(|s| s.pace == pace);
    let mut paces = Pace::ALL.to_vec();
    paces.retain(|p| has(before, *p) && has(after, *p));
    for side in [before, after] {
        side.retain(|s| paces.contains(&s.pace));
    }
    paces
}

/// A regressor other than pace and repair: its value in a stretch, and the prior of its slope (mean and one standard
/// deviation).
type Slope<'a> = (Box<dyn Fn(&Stretch) -> f64 + 'a>, (f64, f64));

/// The regressors that are known in every stretch; a row is a stretch with 1 after the repair, 0 before.
fn slopes<'a>(
    rows: &[(&Stretch, f64)],
    of_ambient: Option<(f64, f64)>,
    load: Option<Signal>,
    has_conditioning: bool,
    lasting: bool,
) -> Vec<Slope<'a>> {
    let pooled = |signal| rows.iter().map(|r| r.0.mean(signal)).sum::<f64>() / rows.len() as f64;
    let mut slopes: Vec<Slope> = Vec::new();
    if let Some(of_ambient) = of_ambient {
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
    slopes
}

/// The result of the regression: the change (step) from before to after.
struct Step {
    effect: f64,
    variance: f64,
    residuals: DVector<f64>,
    /// Degrees of freedom.
    freedom: f64,
}

/// Least squares of the coolant temperature versus paces, step and regressors; the scatter follows from the residuals.
fn regression(rows: &[(&Stretch, f64)], paces: &[Pace], slopes: &[Slope<'_>]) -> Option<Step> {
    let at_step = paces.len();
    let mut step = None;
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
    for _ in 0..3 {
        let mut normal = design.transpose() * &design / variance;
        let mut right = design.transpose() * &measured / variance;
        for (k, (_, (slope, sigma))) in slopes.iter().enumerate() {
            let at = paces.len() + 1 + k;
            normal[(at, at)] += 1.0 / (sigma * sigma);
            right[at] += slope / (sigma * sigma);
        }
        let inverse = normal.try_inverse()?;
        let found = &inverse * right;
        let residuals = &measured - &design * &found;
        let freedom = rows.len() as f64 - paces.len() as f64 - 1.0;
        variance = (residuals.norm_squared() / freedom.max(1.0)).max(STEP * STEP / 12.0);
        step = Some(Step {
            effect: found[at_step],
            variance: inverse[(at_step, at_step)],
            residuals,
            freedom,
        });
    }
    step
}
