//! Before and after.

use super::super::Told;
use super::super::answer::{Block, Table};
use crate::quantity::{Kind, Units};
use crate::question::log::BeforeAfter;
use crate::vary::log::Outcome as Change;

pub(super) fn tell(told: &mut Told, units: Units, c: &BeforeAfter) {
    told.headline(verdict(units, c));
    told.show(Block::Table(allowed_for(units, c)));
    if !c.not_known.is_empty() {
        told.say(format!(
            "Not in both logs: {}. What that may have changed makes the ± wider (how much is an engineering assumption).",
            c.not_known.join(", ")
        ));
    }
}

fn verdict(units: Units, c: &BeforeAfter) -> String {
    let by = |v: f64| units.show_spread(Kind::TemperatureDifference, v, c.effect_half_width);
    let effect = c.effect.unwrap_or(f64::NAN);
    const ALLOWED: &str = "with ambient, load and air conditioning allowed for";
    match c.change {
        Change::Cooler => format!("After, it runs cooler by {}, {ALLOWED}.", by(-effect)),
        Change::Hotter => format!("After, it runs hotter by {}, {ALLOWED}.", by(effect)),
        Change::CannotTell(why) => {
            let so_far = c.effect.map_or(String::new(), |effect| {
                format!(
                    " After less before, allowed for what is known: {}.",
                    by(effect)
                )
            });
            format!("Whether it runs cooler after, these logs cannot tell: {why}.{so_far}")
        }
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
        title: "What was allowed for".into(),
        heads: ["what", "before", "after"].map(String::from).to_vec(),
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
                "load, over that before",
                both(Kind::Share, [first, c.load_ratio]),
            ),
            line("air conditioning on", both(Kind::Share, conditioning)),
        ],
        numeric: vec![1, 2],
    }
}
