//! The machine as requested and in other conditions, side by side.

use super::{Heat, Look, Variant};
use crate::balance::{Asked, COLDEST, State, Warm, at_limit, warm_from};
use crate::model::{Case, INPUTS};
use crate::trouble::Trouble;
use rayon::prelude::*;

impl Look {
    /// Solves a case in the comparison; starts from another look's state if one is near.
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
            warm,
            limit,
        })
    }
}

/// The limiting ambient temperature, from the state with the coolant at its limit; `None` if no day is cold enough.
pub(super) fn limiting(at: &Warm) -> Option<f64> {
    let ambient = at.budget.ambient;
    (ambient > COLDEST).then_some(ambient)
}

/// A case with the core half blocked on the outside.
pub(super) fn half_blocked(case: &Case) -> Case {
    case.with(INPUTS.core.blocked, 0.5)
}

/// The condition as requested, and others for comparison.
pub(super) fn side_by_side(
    request: &Heat,
    case: &Case,
    asked: Asked,
    here: Look,
) -> Result<Vec<Look>, Trouble> {
    let mut others: Vec<(Variant, Case, Asked)> = Vec::new();
    for oil in &request.oils {
        let mut poured = *case;
        (poured.oil, poured.curve) = (oil.oil, oil.curve);
        others.push((Variant::Oil(oil.name.clone()), poured, asked));
    }
    if request.fan_speed.is_some() {
        let free = Asked {
            fan_speed: None,
            hold_oil: false,
            ..asked
        };
        others.push((Variant::FanAsComputed, *case, free));
    } else {
        let mut full = *case;
        full.now.command = 1.0;
        full.now.oil_temp = here.warm.budget.oil_temp;
        let third = State::of(&full)?.0.fan_speed / 3.0;
        let held = Asked {
            fan_speed: Some(third),
            hold_oil: true,
            ..asked
        };
        others.push((Variant::FanAtThird(third), *case, held));
    }
    if case.now.cabin_heater < 1.0 {
        let mut on = *case;
        on.now.cabin_heater = 1.0;
        others.push((Variant::HeaterOn, on, asked));
    }
    others.push((Variant::HalfBlocked, half_blocked(case), asked));
    let looks: Result<Vec<Look>, Trouble> = others
        .into_par_iter()
        .map(|(name, case, asked)| Look::at(name, &case, asked, Some(&here)))
        .collect();
    let looks = looks?;
    Ok(std::iter::once(here).chain(looks).collect())
}
