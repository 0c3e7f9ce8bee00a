//! The steady temperatures of a machine that keeps running in one condition, and the warm-up time of a cold one.

use crate::balance::{Asked, Capacities, Warm, warm, warm_from};
use crate::fluid::coolant;
use crate::model::{Case, Settled, Setup};
use crate::trouble::Trouble;

/// Oil within this difference of its steady temperature counts as warm, K.
pub const NEAR: f64 = 5.0;

/// The setup with oil and air at the temperatures of the steady state.
pub fn warmed(setup: &Setup) -> Result<Setup, Trouble> {
    let asked = Asked {
        automatic: false,
        ..Asked::STEADY
    };
    let warm = warm(&setup.case, asked)?;
    if let Some(heats) = warm.heats {
        let expected = "a machine that reaches a steady state";
        return Err(Trouble::no_answer(heats.words(), expected));
    }
    let given = setup.typed.contains(&"command") || setup.case.shape.unplugged;
    let controlled = setup.case.fan_control.is_some() && !given;
    let own_control = controlled
        .then(|| warm_from(&setup.case, Asked::STEADY, Some(&warm)).ok())
        .flatten()
        .filter(|own| own.heats.is_none())
        .map(|own| own.budget.oil_temp);
    let mut settled = setup.clone();
    let b = &warm.budget;
    (settled.case.now.oil_temp, settled.case.now.air_temp) = (b.oil_temp, b.air_temp);
    settled.spread.now.oil_temp = 0.0;
    settled.spread.now.air_temp = 0.0;
    settled.cautions = settled.oil.cautions(b.oil_temp);
    settled.settled = Some(Settled {
        oil_temp: b.oil_temp,
        from: setup.case.now.ambient,
        time: warm_up(&setup.case, asked, &warm),
        own_control,
    });
    Ok(settled)
}

/// Time for oil at ambient temperature to come within [`NEAR`] of its steady temperature, s; coolant and air are taken
/// to have their steady temperatures from the start. `None` if there is no such time.
pub fn warm_up(case: &Case, asked: Asked, settled: &Warm) -> Option<f64> {
    const PIECES: usize = 24;
    if asked.hold_oil || settled.heats.is_some() {
        return None;
    }
    let capacity = Capacities::of(case)?.oil;
    let (from, to) = (case.now.ambient, settled.budget.oil_temp - NEAR);
    let piece = (to - from) / PIECES as f64;
    let held = Asked {
        hold_oil: true,
        ..asked
    };
    let mut seconds = 0.0;
    for k in 0..PIECES {
        if piece <= 0.0 {
            return None;
        }
        let mut at = *case;
        at.now.oil_temp = from + piece * (k as f64 + 0.5);
        let b = warm_from(&at, held, Some(settled)).ok()?.budget;
        let net = b.oil_heat + b.oil_engine_heat - b.oil_cooler_heat - b.oil_surface_heat;
        if net <= 0.0 {
            return None;
        }
        seconds += capacity * piece / net;
    }
    Some(seconds)
}

/// Lower and upper estimate of the boiling point of a case's coolant, K.
pub fn boiling(case: &Case) -> [f64; 2] {
    case.coolant.as_ref().map_or([f64::NAN; 2], |c| {
        coolant::boiling(c.glycol, c.cap, case.now.altitude)
    })
}
