//! Before and after.

use super::super::answer::{Answer, Block, Table};
use super::Question;
use super::exposure::put_all;
use crate::quantity::Kind;
use crate::vary::log::{Change, Digest, Outcome, compare_all};
use serde_json::{Value, json};

pub(super) fn say(answer: &mut Answer, question: &Question) {
    let units = question.units;
    let before: Vec<&Digest> = std::iter::once(&question.log)
        .chain(&question.more[0])
        .collect();
    let after: Vec<&Digest> = question.after.iter().chain(&question.more[1]).collect();
    let c = compare_all(&before, &after, question.ambient);
    // What is told is what was found at the pace that shows it most; else over all paces.
    let named = c
        .paces
        .iter()
        .filter(|p| matches!(p.change, Change::Cooler | Change::Hotter));
    let named = named.max_by(|a, b| a.effect.abs().total_cmp(&b.effect.abs()));
    let effect = named.map_or(c.effect.unwrap_or(f64::NAN), |p| p.effect);
    let half = named.map_or(c.half, |p| p.half);
    let at = named.map_or(String::new(), |p| format!(" {}", p.pace.label()));
    let by = |v: f64| units.show_spread(Kind::TemperatureDifference, v, half);
    const ALLOWED: &str = "with ambient, load and air conditioning allowed for";
    let (key, said) = match c.outcome {
        Outcome::Cooler => (
            "cooler",
            format!("After, it runs cooler{at} by {}, {ALLOWED}.", by(-effect)),
        ),
        Outcome::Hotter => (
            "hotter",
            format!("After, it runs hotter{at} by {}, {ALLOWED}.", by(effect)),
        ),
        Outcome::NoChange(within) => (
            "no_change",
            format!(
                "After, it runs no cooler and no hotter by more than {}, though it was hot enough to show more.",
                units.show(Kind::TemperatureDifference, within)
            ),
        ),
        Outcome::CannotTell(why) => {
            let so_far = c.effect.map_or(String::new(), |effect| {
                format!(
                    " After less before, allowed for what is known: {}.",
                    by(effect)
                )
            });
            (
                "cannot_tell",
                format!("Whether it runs cooler after, these logs cannot tell: {why}.{so_far}"),
            )
        }
    };
    let plain = |kind: Kind, v: f64| {
        if v.is_finite() {
            units.show(kind, v)
        } else {
            "not known".to_string()
        }
    };
    let line = |name: &str, [before, after]: [String; 2]| vec![name.to_string(), before, after];
    let first = if c.load.is_finite() { 1.0 } else { f64::NAN };
    answer.blocks.extend([
        Block::Headline(said),
        Block::Table(Table {
            title: "What was allowed for".into(),
            heads: ["what", "before", "after"].map(String::from).to_vec(),
            rows: vec![
                line(
                    "warm, steady stretches of two minutes",
                    c.stretches.map(|n| n.to_string()),
                ),
                line("ambient", c.ambient.map(|v| plain(Kind::Temperature, v))),
                line(
                    "load, over that before",
                    [first, c.load].map(|v| plain(Kind::Share, v)),
                ),
                line(
                    "air conditioning on",
                    c.conditioning.map(|v| plain(Kind::Share, v)),
                ),
            ],
            numeric: vec![1, 2],
        }),
    ]);
    if !c.not_known.is_empty() {
        answer.blocks.push(Block::Sentence(format!(
            "Not in both logs: {}. What that may have changed makes the ± wider (how much is a judgment).",
            c.not_known.join(", ")
        )));
    }
    put_all(
        answer,
        json!({"compare": {
            "outcome": key,
            "effect_k": c.effect,
            "effect_half_width_k": c.half,
            "plain_difference_k": c.plain,
            "stretches_before": c.stretches[0],
            "stretches_after": c.stretches[1],
            "ambient_before_c": c.ambient[0] - 273.15,
            "ambient_after_c": c.ambient[1] - 273.15,
            "load_ratio": c.load,
            "not_known": c.not_known,
            "paces": c.paces.iter().map(|p| {
                let (change, within) = match p.change {
                    Change::Cooler => ("cooler", None),
                    Change::Hotter => ("hotter", None),
                    Change::None(within) => ("no_change", Some(within)),
                    Change::Regulated => ("regulated", None),
                    Change::Unclear => ("unclear", None),
                };
                json!({
                    "pace": p.pace.key(), "change": change, "within_k": within, "effect_k": p.effect, "effect_half_width_k": p.half,
                    "coolant_before_c": p.coolant[0] - 273.15, "coolant_after_c": p.coolant[1] - 273.15,
                    "stretches_before": p.stretches[0], "stretches_after": p.stretches[1],
                })
            }).collect::<Value>(),
        }}),
    );
}
