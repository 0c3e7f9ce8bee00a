//! The comparison of two logs, from before and after a repair.

use super::super::Presentation;
use super::super::answer::{Block, Table};
use crate::quantity::{Kind, Units};
use crate::question::log::{BeforeAfter, ChangeAtPace};
use crate::vary::log::Outcome as Effect;

pub(super) fn tell(told: &mut Presentation, units: Units, c: &BeforeAfter) {
    told.headline(verdict(units, c));
    if !c.paces.is_empty() {
        told.show(Block::Table(by_pace(units, c)));
    }
    told.show(Block::Table(allowed_for(units, c)));
    if !c.not_known.is_empty() {
        told.say(format!(
            "Not in both logs: {}. Their possible effect widens the ± (by an engineering assumption).",
            c.not_known.join(", ")
        ));
    }
}

/// What was corrected for: what both logs have.
fn corrected(c: &BeforeAfter) -> String {
    let known = |values: [f64; 2]| values.into_iter().all(f64::is_finite);
    let all = [
        (
            "ambient temperature",
            known([c.ambient_before, c.ambient_after]),
        ),
        ("load", c.load_ratio.is_finite()),
        (
            "air conditioning",
            known([c.air_conditioning_before, c.air_conditioning_after]),
        ),
    ];
    let names: Vec<&str> = { all.iter() }.filter(|a| a.1).map(|a| a.0).collect();
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => format!(", after correction for {last}"),
        Some((last, rest)) => format!(", after correction for {} and {last}", rest.join(", ")),
    }
}

fn verdict(units: Units, c: &BeforeAfter) -> String {
    // The change at that pace; if it is not clear at any pace, the change over all paces.
    let deciding = c.paces.iter().find(|p| Some(p.pace) == c.decided_at);
    let (effect, half, at) = match deciding {
        Some(p) => (
            p.effect,
            p.effect_half_width,
            format!(" ({})", p.pace.label()),
        ),
        None => (
            c.effect.unwrap_or(f64::NAN),
            c.effect_half_width,
            String::new(),
        ),
    };
    let by = |v: f64| units.show_spread(Kind::TemperatureDifference, v, half);
    let corrected = corrected(c);
    match c.result {
        Effect::Cooler => format!(
            "After the repair it runs cooler{at} by {}{corrected}.",
            by(-effect)
        ),
        Effect::Hotter => format!(
            "After the repair it runs hotter{at} by {}{corrected}.",
            by(effect)
        ),
        Effect::NoChange(within) => format!(
            "After the repair it runs neither cooler nor hotter by more than {}, although the engine was hot enough to show a larger change.",
            units.show(Kind::TemperatureDifference, within)
        ),
        Effect::CannotTell(why) => {
            let so_far = c.effect.map_or(String::new(), |effect| {
                format!(
                    " After minus before, corrected for what is known: {}.",
                    by(effect)
                )
            });
            format!(
                "These logs cannot tell whether it runs cooler after the repair: {why}.{so_far}"
            )
        }
    }
}

/// A table of the temperatures before and after, by pace.
fn by_pace(units: Units, c: &BeforeAfter) -> Table {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let row = |p: &ChangeAtPace| {
        let change = match p.change {
            "no_change" => "no significant change",
            "regulated" => "held by the thermostat",
            "unclear" => "within its error",
            word => word,
        };
        vec![
            p.pace.label().to_string(),
            temp(p.coolant_before),
            temp(p.coolant_after),
            units.show_spread(Kind::TemperatureDifference, p.effect, p.effect_half_width),
            change.to_string(),
        ]
    };
    Table {
        title: "Before and after, by pace (after minus before, corrected for ambient temperature)"
            .into(),
        heads: ["pace", "before", "after", "difference", "change"]
            .map(String::from)
            .to_vec(),
        rows: c.paces.iter().map(row).collect(),
        numeric: vec![1, 2, 3],
    }
}

fn allowed_for(units: Units, c: &BeforeAfter) -> Table {
    let plain = |kind: Kind, v: f64| {
        if v.is_finite() {
            units.show(kind, v)
        } else {
            "not known".to_string()
        }
    };
    let line = |name: &str, [before, after]: [String; 2]| vec![name.to_string(), before, after];
    let both = |kind, values: [f64; 2]| values.map(|v| plain(kind, v));
    let first = if c.load_ratio.is_finite() {
        1.0
    } else {
        f64::NAN
    };
    let stretches = [c.stretches_before, c.stretches_after];
    let conditioning = [c.air_conditioning_before, c.air_conditioning_after];
    Table {
        title: "What was corrected for".into(),
        heads: ["quantity", "before", "after"].map(String::from).to_vec(),
        rows: vec![
            line(
                "warm, steady stretches of two minutes",
                stretches.map(|n| n.to_string()),
            ),
            line(
                "ambient",
                both(Kind::Temperature, [c.ambient_before, c.ambient_after]),
            ),
            line(
                "load relative to before",
                both(Kind::Share, [first, c.load_ratio]),
            ),
            line("air conditioning on", both(Kind::Share, conditioning)),
        ],
        numeric: vec![1, 2],
    }
}
