//! What a reading of the machine sets: at a standstill the air that recirculates, on the road the core's conductance.

use crate::balance::{Asked, warm};
use crate::input::{Input, Place};
use crate::model::Case;
use crate::model::INPUTS;
use crate::numeric::falling_root_by_values;
use crate::quantity::{Kind, Measure, parse};
use crate::trouble::Trouble;

/// A reading of the machine at this condition: coolant at a fan speed on a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Anchor {
    /// Coolant temperature, K.
    pub coolant: Measure,
    /// Fan speed, rad/s.
    pub fan_speed: f64,
    /// Ambient temperature, K.
    pub ambient: f64,
}

/// What a reading set.
#[derive(Clone, Copy, Debug)]
pub struct Anchored {
    /// The input.
    pub input: Input,
    /// Its value.
    pub value: f64,
    /// Its value before.
    pub given: f64,
}

/// A reading such as `98 C at 700 rpm, 30 C ambient`.
pub(super) fn parsed(words: &str) -> Result<Anchor, Trouble> {
    let wrong = || {
        Trouble::input(
            format!("`{words}`"),
            "coolant, fan speed and ambient air, such as \"98 C at 700 rpm, 30 C ambient\"",
        )
    };
    let (coolant, rest) = words.split_once(" at ").ok_or_else(wrong)?;
    let (fan, ambient) = rest.split_once(',').ok_or_else(wrong)?;
    let ambient = ambient.trim().trim_end_matches("ambient").trim();
    Ok(Anchor {
        coolant: parse(Kind::Temperature, coolant)?,
        fan_speed: parse(Kind::Speed, fan)?.value,
        ambient: parse(Kind::Temperature, ambient)?.value,
    })
}

/// Sets what a reading sets of a machine and its ±.
pub(super) fn put(
    case: &mut Case,
    spread: &mut Case,
    asked: Asked,
    reading: &Anchor,
) -> Result<Anchored, Trouble> {
    let (input, value) = sought(case, reading)?;
    let given = case.get(input).unwrap_or(f64::NAN);
    *case = case.with(input, value);
    // What the reading's error leaves of the ±: its share of the effect.
    let slope = {
        let one = Asked {
            fan_speed: Some(reading.fan_speed),
            hold_oil: true,
            ..asked
        };
        let mut there = *case;
        there.now.ambient = reading.ambient;
        let step = 0.01 * value.abs().max(0.05);
        let at = |v: f64| Ok::<_, Trouble>(warm(&there.with(input, v), one)?.budget.coolant_temp);
        (at(value + step)? - at(value - step)?) / (2.0 * step)
    };
    let half = reading.coolant.spread.max(0.5) / slope.abs().max(1e-9);
    // One reading pins the sum of all that heat depends on; the rest keeps no ± of its own here.
    let pinned = |i: &Input| i.place() == Place::Heat || ["core", "air"].contains(&i.part());
    *spread = Input::all()
        .filter(pinned)
        .fold(*spread, |s, i| s.with(i, 0.0))
        .with(input, half);
    Ok(Anchored {
        input,
        value,
        given,
    })
}

/// The input that a reading sets, and its value.
fn sought(case: &Case, anchor: &Anchor) -> Result<(Input, f64), Trouble> {
    let standing = case.now.road_speed < 1.0;
    let (set, low, high) = if standing {
        (INPUTS.air.recirculation, 0.0, 0.8)
    } else {
        (INPUTS.core.conductance, 0.2, 5.0)
    };
    let now = case.get(set).unwrap_or(0.0);
    let (low, high, sign) = if standing {
        (low, high, 1.0)
    } else {
        (low * now, high * now, -1.0)
    };
    let asked = Asked {
        fan_speed: Some(anchor.fan_speed),
        hold_oil: true,
        ..Asked::STEADY
    };
    let mut there = *case;
    there.now.ambient = anchor.ambient;
    let found = falling_root_by_values(
        |value| {
            let temp = warm(&there.with(set, value), asked)?.budget.coolant_temp;
            Ok::<_, Trouble>(sign * (anchor.coolant.value - temp))
        },
        low,
        high,
    )?;
    found.map(|value| (set, value)).map_err(|_| {
        Trouble::no_answer(
            "an anchor reading that no value of the machine's least known input explains",
            format!(
                "a reading that some {} between {low:.2} and {high:.2} gives",
                set.key()
            ),
        )
        .hint("is another fault at work, or the condition another than that of the reading?")
        .on("anchor")
    })
}
