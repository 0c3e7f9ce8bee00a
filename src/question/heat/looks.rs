//! The results for the condition as requested, and for others for comparison.

use super::{Heat, Look, Variant};
use crate::balance::{Asked, COLDEST, State, Warm, at_limit, warm_from};
use crate::fault;
use crate::model::{Case, INPUTS};
use crate::question::Ends;
use crate::trouble::Trouble;
use rayon::prelude::*;

impl Look {
    /// Solves a case for the comparison, starting from the results `near` for another condition, if any.
    pub(super) fn at(
        name: Variant,
        case: &Case,
        asked: Asked,
        near: Option<&Look>,
    ) -> Result<Self, Trouble> {
        let steady = near.filter(|l| l.steady);
        let warm = warm_from(case, asked, steady.map(|l| &l.warm))?;
        let limit = at_limit(case, asked, near.and_then(|l| l.limit.as_ref()));
        let steady = warm.heats.is_none();
        Ok(Self {
            name,
            steady,
            fan_speed: warm.fan_speed,
            coolant_temp: steady.then_some(warm.budget.coolant_temp),
            oil_temp: steady.then_some(warm.budget.oil_temp),
            limiting_ambient: limit.as_ref().and_then(limiting),
            coolant_band: Ends(None),
            chance_of_limit: None,
            chance_to_boil: None,
            coolant_difference: None,
            difference_band: Ends(None),
            limiting_band: Ends(None),
            limiting_difference: None,
            limiting_difference_band: Ends(None),
            warm,
            limit,
        })
    }

    /// Adds the differences from the results for another condition.
    fn against(self, other: &Look) -> Self {
        let less = |a: Option<f64>, b: Option<f64>| Some(a? - b?);
        Self {
            coolant_difference: less(self.coolant_temp, other.coolant_temp),
            limiting_difference: less(self.limiting_ambient, other.limiting_ambient),
            ..self
        }
    }
}

/// The limiting ambient temperature, from the state with the coolant at its limit; `None` if no ambient temperature is
/// low enough.
pub(super) fn limiting(at: &Warm) -> Option<f64> {
    let ambient = at.budget.ambient;
    (ambient > COLDEST).then_some(ambient)
}

/// A case with the core half blocked on the outside.
pub(super) fn half_blocked(case: &Case) -> Case {
    case.with(INPUTS.core.blocked, 0.5)
}

impl Variant {
    /// Turns a healthy machine into the case for this condition; also returns the settings of its heat balance.
    pub(super) fn put(&self, request: &Heat, healthy: &Case, asked: Asked) -> (Case, Asked) {
        let (mut case, mut asked) = match self {
            Self::Healthy => (*healthy, asked),
            _ => (request.faulty(healthy), asked),
        };
        match self {
            Self::Asked | Self::Healthy => {}
            Self::Oil(oil) => (case.oil, case.curve) = (oil.oil, oil.curve),
            Self::AirConditioning(on) => case.now.air_conditioning = f64::from(u8::from(*on)),
            Self::FanAsComputed => {
                asked = Asked {
                    fan_speed: None,
                    fan_ratio: 1.0,
                    hold_oil: false,
                    ..asked
                }
            }
            Self::Cause(cause) => {
                case = fault::find(cause.fault).map_or(case, |f| f.on(healthy, cause.severity));
            }
            Self::FanAtThird(speed) => (asked.fan_speed, asked.hold_oil) = (Some(*speed), true),
            Self::HeaterOn => case.now.cabin_heater = 1.0,
            Self::HalfBlocked => case = half_blocked(&case),
        }
        (case, asked)
    }
}

/// The conditions to be compared with the requested one.
fn others(request: &Heat, here: &Look) -> Result<Vec<Variant>, Trouble> {
    let case = &here.warm.case;
    let oils = request.oils.iter();
    let mut others: Vec<Variant> = oils
        .map(|oil| Variant::Oil(Box::new(oil.clone())))
        .collect();
    if !request.setup.faults.is_empty() {
        others.push(Variant::Healthy);
    }
    let rivals = request.causes().iter().skip(1);
    others.extend(rivals.map(|cause| Variant::Cause(*cause)));
    if request.is_slowed() {
        others.push(Variant::FanAsComputed);
    } else if request.causes().is_empty() {
        let mut full = *case;
        full.now.command = 1.0;
        full.now.oil_temp = here.warm.budget.oil_temp;
        others.push(Variant::FanAtThird(State::of(&full)?.0.fan_speed / 3.0));
    }
    let fronts = [&case.front_1, &case.front_2, &case.front_3];
    if fronts.into_iter().flatten().any(|f| f.condenser > 0.0) {
        others.push(Variant::AirConditioning(case.now.air_conditioning <= 0.0));
    }
    if case.now.cabin_heater < 1.0 {
        others.push(Variant::HeaterOn);
    }
    others.push(Variant::HalfBlocked);
    Ok(others)
}

/// The results for the condition as requested, followed by those for comparison.
pub(super) fn side_by_side(
    request: &Heat,
    healthy: &Case,
    asked: Asked,
    here: Look,
) -> Result<Vec<Look>, Trouble> {
    let looks: Result<Vec<Look>, Trouble> = others(request, &here)?
        .into_par_iter()
        .map(|name| {
            let (case, asked) = name.put(request, healthy, asked);
            Look::at(name, &case, asked, Some(&here))
        })
        .collect();
    let looks = looks?.into_iter().map(|look| look.against(&here));
    let looks: Vec<Look> = looks.collect();
    Ok(std::iter::once(here).chain(looks).collect())
}
