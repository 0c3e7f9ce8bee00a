//! The conditions that are held side by side, and what each comes to.

use super::super::words;
use super::{Anchor, Question};
use crate::balance::{Asked, COLDEST, Find, Heats, State, Warm, at_limit, warm, warm_from};
use crate::input::{Input, Place};
use crate::law::limiting_ambient_sae_j1393 as j1393;
use crate::model::{Case, INPUTS, Posed};
use crate::numeric::falling_root_by_values;
use crate::part::LUGGING;
use crate::quantity::Kind;
use crate::trouble::Trouble;
use crate::vary::rating::{self, Rated};
use crate::vary::sample;
use rayon::prelude::*;

/// How many cases are drawn for the band.
const DRAWN: usize = 120;

/// The seed they are drawn with.
const SEED: u64 = 20_261_126;

/// A condition with what it comes to.
pub(super) struct Look {
    pub name: String,
    pub warm: Warm,
    /// The state on the day on which the coolant reaches its limit, be there such a day or not.
    pub limit: Option<Warm>,
}

impl Look {
    /// A case as asked; sought from another look's state where one is near.
    fn at(name: &str, case: &Case, asked: Asked, near: Option<&Look>) -> Result<Self, Trouble> {
        let settled = near.filter(|l| l.steady());
        Ok(Self {
            name: name.into(),
            warm: warm_from(case, asked, settled.map(|l| &l.warm))?,
            limit: at_limit(case, asked, near.and_then(|l| l.limit.as_ref())),
        })
    }

    /// Whether it settles.
    pub fn steady(&self) -> bool {
        self.warm.heats.is_none()
    }

    /// Whether it is the oil that does not settle.
    pub fn oil_heats(&self) -> bool {
        self.warm.heats == Some(Heats::Oil)
    }

    /// The ambient temperature at which the coolant reaches its limit, unless no day is that cold.
    pub fn limiting(&self) -> Option<f64> {
        limiting(self.limit.as_ref()?)
    }
}

/// What was found.
pub(super) struct Found {
    /// The machine on the road, as rating points and a reading have it.
    pub case: Case,
    pub asked: Asked,
    pub rated: Option<Rated>,
    pub anchor: Option<Anchored>,
    /// The coolant's limit, K.
    pub limit: f64,
    /// Between which temperatures it boils, K.
    pub boiling: [f64; 2],
    /// Side by side, first as asked.
    pub looks: Vec<Look>,
    /// Between which temperatures the coolant settles within the machine's ±, K.
    pub band: Option<(f64, f64)>,
    /// Limiting ambient and air-to-boil temperature by the formula, K; none where it does not hold.
    pub by_formula: Option<(f64, f64)>,
    /// How long cold oil takes to warm up, s.
    pub warm_up: Option<f64>,
}

/// What a reading set.
#[derive(Clone, Copy)]
pub(super) struct Anchored {
    pub input: Input,
    pub value: f64,
    /// Its value before.
    pub given: f64,
}

impl Found {
    pub fn of(question: &Question) -> Result<Self, Trouble> {
        let posed = &question.posed;
        let asked = Asked {
            automatic: !question.command_given && posed.case.fan_control.is_some(),
            fan_speed: question.fan_speed,
            hold_oil: question.fan_speed.is_some(),
            find: Find::Coolant,
        };
        let (mut case, mut spread) = (on_the_road(&posed.case, question)?, posed.spread);
        let rated = match &question.rating[..] {
            [] => None,
            points => Some(rating::fit(&case, points)?),
        };
        for told in rated.iter().flat_map(|r| &r.told) {
            case = case.with(told.input, told.value);
            let kept = spread.get(told.input).unwrap_or(0.0);
            spread = spread.with(told.input, told.half.unwrap_or(kept));
        }
        let anchor = match &question.anchor {
            Some(reading) => Some(take_reading(&mut case, &mut spread, asked, reading)?),
            None => None,
        };
        let here = Look::at("as asked", &case, asked, None)?;
        let band = here
            .steady()
            .then(|| spread_of(posed, &case, &spread, asked, &here.warm));
        let limit = case.coolant.as_ref().map_or(f64::NAN, |c| c.limit);
        let by_formula = by_formula(question, &case, &here, limit);
        let warm_up = words::warm_up(&case, asked, &here.warm);
        posed.stop.check()?;
        let looks = what_ifs(question, &case, asked, here)?;
        posed.stop.check()?;
        Ok(Self {
            boiling: words::boiling(&case),
            band: band.flatten(),
            case,
            asked,
            rated,
            anchor,
            limit,
            looks,
            by_formula,
            warm_up,
        })
    }

    /// As asked.
    pub fn here(&self) -> &Look {
        &self.looks[0]
    }

    /// Whether the thermostat is full open with the coolant at its limit.
    pub fn opens_at_limit(&self) -> bool {
        let thermostat = self.case.thermostat.as_ref();
        thermostat.is_some_and(|t| t.is_open(self.limit))
    }
}

/// Limiting ambient and air-to-boil temperature, K, by the formula of SAE J1393; none where it does not hold.
fn by_formula(question: &Question, case: &Case, here: &Look, limit: f64) -> Option<(f64, f64)> {
    let b = &here.warm.budget;
    let open = case.thermostat.as_ref()?.is_open(b.coolant_temp);
    let full = here.warm.operating.command >= 1.0 - 1e-9 || question.fan_speed.is_some();
    (here.steady() && open && full).then(|| {
        (
            j1393::limiting_ambient(limit, b.coolant_temp, b.ambient),
            j1393::air_to_boil(b.coolant_temp, b.ambient),
        )
    })
}

/// Sets what a reading sets of a machine and its ±.
fn take_reading(
    case: &mut Case,
    spread: &mut Case,
    asked: Asked,
    reading: &Anchor,
) -> Result<Anchored, Trouble> {
    let (input, value) = anchored(case, reading)?;
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

/// The case on the road: engine speed by gear and road speed.
pub(super) fn on_the_road(case: &Case, question: &Question) -> Result<Case, Trouble> {
    let mut case = *case;
    let speed = case.now.road_speed;
    let Some(vehicle) = case
        .vehicle
        .filter(|_| speed > 0.0 && !question.engine_given)
    else {
        return Ok(case);
    };
    let idle = question.posed.machine.usual.idle.value;
    let gear = question
        .gear
        .unwrap_or_else(|| vehicle.gear(speed, LUGGING));
    case.now.engine_speed = vehicle.engine_speed(gear, speed, idle).ok_or_else(|| {
        Trouble::input(
            format!("gear {gear}"),
            "a gear that [vehicle] gives a ratio for",
        )
        .at("--gear")
    })?;
    let full = question.posed.machine.usual.full.value;
    if case.now.engine_speed > full {
        let show = |n| question.posed.units.show(Kind::Speed, n);
        return Err(Trouble::input(
            format!(
                "an engine at {} in gear {gear}",
                show(case.now.engine_speed)
            ),
            format!("no more than its full speed, {}", show(full)),
        )
        .hint("a higher gear, or a lower road speed"));
    }
    Ok(case)
}

/// The day of a state at the coolant's limit, unless no day is that cold.
pub(super) fn limiting(at: &Warm) -> Option<f64> {
    let ambient = at.budget.ambient;
    (ambient > COLDEST).then_some(ambient)
}

/// The input that a reading sets, and its value: at a standstill what comes round again, else the core's conductance.
fn anchored(case: &Case, anchor: &Anchor) -> Result<(Input, f64), Trouble> {
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
    match found {
        Ok(value) => Ok((set, value)),
        Err(_) => Err(Trouble::no_answer(
            "an anchor reading that no value of the machine's least known input explains",
            format!(
                "a reading that some {} between {low:.2} and {high:.2} gives",
                set.key()
            ),
        )
        .hint("is another fault at work, or the condition another than that of the reading?")
        .at("--anchor")),
    }
}

/// The band of the coolant's temperature, about 95 %, by sampling; a case without a steady state counts as hottest.
fn spread_of(
    posed: &Posed,
    case: &Case,
    spread: &Case,
    asked: Asked,
    near: &Warm,
) -> Option<(f64, f64)> {
    let together = &posed.machine.correlations;
    let drawn = sample::draw(case, spread, together, DRAWN, SEED);
    let mut found: Vec<f64> = drawn
        .par_iter()
        .filter_map(|c| {
            posed.stop.check().ok()?;
            Some(warm_from(c, asked, Some(near)).ok()?.budget.coolant_temp)
        })
        .collect();
    found.sort_by(f64::total_cmp);
    let at = |p: f64| {
        found
            .get((p * (found.len().max(1) - 1) as f64).round() as usize)
            .copied()
    };
    Some((at(0.025)?, at(0.975)?))
}

fn what_ifs(
    question: &Question,
    case: &Case,
    asked: Asked,
    here: Look,
) -> Result<Vec<Look>, Trouble> {
    let units = question.posed.units;
    let mut others: Vec<(String, Case, Asked)> = Vec::new();
    for oil in &question.oils {
        let mut poured = *case;
        (poured.oil, poured.curve) = (oil.oil, oil.curve);
        others.push((format!("on {}", oil.name), poured, asked));
    }
    if question.fan_speed.is_some() {
        let free = Asked {
            fan_speed: None,
            hold_oil: false,
            ..asked
        };
        others.push(("fan as it should be".into(), *case, free));
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
        let third = units.show(Kind::Speed, third);
        let name = format!("fan at a third of its full speed, {third}");
        others.push((name, *case, held));
    }
    let half = case.with(INPUTS.core.blocked, 0.5);
    others.push(("core half blocked outside".into(), half, asked));
    let looks: Result<Vec<Look>, Trouble> = others
        .par_iter()
        .map(|(name, case, asked)| Look::at(name, case, *asked, Some(&here)))
        .collect();
    let looks = looks?;
    Ok(std::iter::once(here).chain(looks).collect())
}
