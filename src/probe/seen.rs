//! A case solved in one condition, and the readings that tests give there.

use super::{Setting, What};
use crate::balance::{Asked, Operating, State, Tangent, Turning, Warm, warm_from};
use crate::fluid::coolant;
use crate::model::Case;
use crate::numeric::{Real, lesser};
use crate::trouble::Trouble;
use std::sync::OnceLock;

/// A case solved in the operating condition of a test: the oil circuit, and also the heat balance if the test waits for
/// a steady state.
#[derive(Clone, Debug)]
pub enum Seen {
    /// The oil circuit at given temperatures.
    Circuit(Box<Circuit>),
    /// Oil circuit with coolant, oil and air in steady state.
    Settled(Box<Settled>),
}

/// The solved balance of the oil circuit, and its derivatives once they are needed.
#[derive(Clone, Debug)]
pub struct Circuit {
    operating: Operating,
    state: State,
    turning: OnceLock<Turning>,
}

/// The solved steady state, and its derivatives once they are needed.
#[derive(Clone, Debug)]
pub struct Settled {
    warm: Warm,
    asked: Asked,
    tangent: OnceLock<Option<Tangent>>,
}

/// The settings of the heat balance that correspond to the condition of a test.
fn asked(setting: &Setting, case: &Case) -> Asked {
    Asked {
        automatic: setting.settled.is_some_and(|u| u.automatic)
            && case.fan_control.is_some()
            && !setting.unplugged,
        fan_speed: None,
        hold_oil: false,
        ..Asked::STEADY
    }
}

/// The coolant temperature that a test would show: it is limited to the boiling point.
fn as_read<N: Real>(case: &Case<N>, temp: N) -> N {
    match &case.coolant {
        Some(c) => lesser(
            temp,
            coolant::boiling(c.glycol, c.cap, case.now.altitude)[1],
        ),
        None => temp,
    }
}

impl Seen {
    /// Solves a case in the operating condition of a test, starting from `near`, a known solution in the same
    /// condition, if there is one.
    pub fn of(setting: &Setting, case: &Case, near: Option<&Seen>) -> Result<Self, Trouble> {
        if setting.settled.is_none() {
            let nearby = near.map(Seen::operating);
            let nearby = nearby.and_then(|o| State::near(case, o).ok());
            let (state, operating) = match nearby {
                Some(found) => found,
                None => State::of(case)?,
            };
            return Ok(Seen::Circuit(Box::new(Circuit {
                operating,
                state,
                turning: OnceLock::new(),
            })));
        }
        let asked = asked(setting, case);
        let near = match near {
            Some(Seen::Settled(s)) if s.warm.heats.is_none() => Some(&s.warm),
            _ => None,
        };
        let warm = warm_from(case, asked, near).or_else(|_| warm_from(case, asked, None))?;
        Ok(Seen::Settled(Box::new(Settled {
            warm,
            asked,
            tangent: OnceLock::new(),
        })))
    }

    /// The operating point of the oil circuit.
    pub fn operating(&self) -> &Operating {
        match self {
            Seen::Circuit(c) => &c.operating,
            Seen::Settled(s) => &s.warm.operating,
        }
    }

    /// The readings that tests are expected to give in the solved case.
    pub fn read(&self, case: &Case, tests: impl Iterator<Item = What>) -> Vec<f64> {
        match self {
            Seen::Circuit(c) => tests.map(|what| what.read(case, &c.state)).collect(),
            Seen::Settled(s) => {
                let b = &s.warm.budget;
                // Without a steady state the coolant heats until it boils.
                let coolant = match s.warm.heats {
                    None => b.coolant_temp,
                    Some(_) => f64::INFINITY,
                };
                let coolant = as_read(case, coolant);
                tests
                    .map(|what| match what {
                        What::CoolantTemp => coolant,
                        What::HoseDifference => b.coolant_temp - b.return_temp,
                        _ => what.read(&s.warm.case, &s.warm.state),
                    })
                    .collect()
            }
        }
    }

    /// The readings that tests are expected to give, with their derivatives in the direction that the numbers in `case`
    /// carry.
    pub fn along<N: Real>(&self, case: &Case<N>, tests: impl Iterator<Item = What>) -> Vec<N> {
        match self {
            Seen::Circuit(c) => {
                let plain = || Turning::of(&case.map(&mut |_, v| v.re()), &c.operating);
                let state = c.turning.get_or_init(plain).along(case);
                tests.map(|what| what.read(case, &state)).collect()
            }
            Seen::Settled(s) => {
                let tangent = s.tangent.get_or_init(|| s.warm.tangent(s.asked));
                let moved = tangent.as_ref().and_then(|t| t.along(case));
                tests
                    .map(|what| match (&moved, what) {
                        (Some([coolant, ..]), What::CoolantTemp) => as_read(case, *coolant),
                        (Some([coolant, .., back]), What::HoseDifference) => *coolant - *back,
                        // There are no derivatives without a steady state; with one, only coolant readings have them.
                        _ => N::from(f64::NAN),
                    })
                    .collect()
            }
        }
    }
}
