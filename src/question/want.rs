//! Requirements in words: a quantity, `>=` or `<=`, a bound with its unit, and the operating condition after `at`.

use super::condition::{Condition, gear_on_the_road, on_the_road};
use crate::balance::warm;
use crate::input::Input;
use crate::model::{Case, Setup};
use crate::trouble::Trouble;
use crate::vary::size::{self as vary, Heat};

/// An operating condition in which a requirement must be met.
#[derive(Clone, Debug, PartialEq)]
pub struct Situation {
    /// The condition's text and the inputs that it sets.
    pub condition: Condition,
    /// How the temperatures are computed from the heat balance; `None` if they are given.
    pub heat: Option<Heat>,
    /// Whether its ambient temperature is the limiting one that is required.
    pub day: bool,
}

/// The comparison signs, each with whether the bound is a minimum.
const SIGNS: [(&str, bool); 6] = [
    (">=", true),
    ("<=", false),
    ("≥", true),
    ("≤", false),
    (">", true),
    ("<", false),
];

/// A requirement, split into its parts.
pub struct Spelled<'t> {
    /// The quantity that is required to meet the bound.
    pub figure: &'t str,
    /// Whether the bound is a minimum.
    pub least: bool,
    /// The bound, with its unit.
    pub bound: &'t str,
    /// The operating condition, if one is named.
    pub condition: Option<&'t str>,
}

impl<'t> Spelled<'t> {
    /// Splits a requirement; `None` if it contains no comparison sign.
    pub fn of(words: &'t str) -> Option<Self> {
        let sign = SIGNS
            .iter()
            .filter_map(|(sign, least)| Some((words.find(sign)?, *sign, *least)));
        let (place, sign, least) = sign.min_by_key(|s| (s.0, std::cmp::Reverse(s.1.len())))?;
        let (bound, condition) = at(&words[place + sign.len()..]);
        Some(Self {
            figure: words[..place].trim(),
            least,
            bound: bound.trim(),
            condition,
        })
    }
}

/// Splits the text before ` at ` from the condition after it.
pub fn at(words: &str) -> (&str, Option<&str>) {
    words
        .split_once(" at ")
        .map_or((words, None), |(before, at)| (before, Some(at)))
}

impl Situation {
    /// Applies a condition to a machine, with or without a heat balance; an error if the heat balance has no solution.
    pub fn of(condition: Condition, heat: bool, setup: &Setup) -> Result<Self, Trouble> {
        if !heat {
            return Ok(Self {
                condition,
                heat: None,
                day: false,
            });
        }
        let words = condition.words.clone();
        if condition.sets(Input::OIL_TEMP) || condition.sets(Input::AIR_TEMP) {
            let expected =
                "a condition without these temperatures, because the heat balance computes them";
            let found = format!("`{words}` gives an oil or air temperature");
            return Err(Trouble::input(found, expected));
        }
        let case = condition.on(&setup.case);
        let typed = |key| setup.typed.contains(&key);
        let given = condition.sets(Input::ENGINE_SPEED) || typed("engine_speed");
        let gear = gear_on_the_road(&case, condition.gear, setup).filter(|_| !given);
        if condition.gear.is_some() && gear.is_none() {
            let found = format!("`{words}` gives a gear");
            return Err(Trouble::input(
                found,
                "a gear only with a road speed and without an engine speed",
            ));
        }
        let case = match gear {
            Some(_) => on_the_road(&case, gear, setup)?,
            None => case,
        };
        let held = setup.case.shape.unplugged || typed("command");
        let heat = Heat {
            automatic: case.fan_control.is_some() && !held && !condition.sets(Input::COMMAND),
            gear: gear.map(|gear| (gear, setup.machine.usual.idle.value)),
        };
        warm(&case, heat.asked())?;
        Ok(Self {
            condition,
            heat: Some(heat),
            day: false,
        })
    }

    /// A case of the machine in this condition.
    pub fn on(&self, case: &Case) -> vary::Condition {
        let condition = vary::Condition {
            case: self.condition.on(case),
            heat: self.heat,
        };
        condition.with(std::iter::empty())
    }

    /// The index of a condition among those named so far, to which it is added if new. The heat balance is used if
    /// `heat` is true or if the condition calls for it.
    pub fn numbered(
        words: &str,
        heat: bool,
        setup: &Setup,
        all: &mut Vec<Self>,
    ) -> Result<usize, Trouble> {
        let engine = |word: &str| setup.machine.usual.engine_speed(word);
        let condition = Condition::read(words, engine)?;
        let heat = heat || condition.is_of_heat();
        let same = |other: &Self| {
            let (a, b) = (&other.condition, &condition);
            a.sets == b.sets && a.gear == b.gear && other.heat.is_some() == heat
        };
        if let Some(k) = all.iter().position(same) {
            return Ok(k);
        }
        all.push(Self::of(condition, heat, setup)?);
        Ok(all.len() - 1)
    }
}
