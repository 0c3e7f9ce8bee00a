//! Before and after.

use super::super::answer::{Answer, Block, Table};
use super::Question;
use super::exposure::put_all;
use crate::quantity::Kind;
use crate::vary::log::{Digest, Outcome, compare};
use serde_json::json;

pub(super) fn say(answer: &mut Answer, question: &Question, after: &Digest) {
    let units = question.units;
    let c = compare(&question.log, after, question.ambient);
    let effect = c.effect.unwrap_or(f64::NAN);
    let by = |v: f64| units.show_spread(Kind::TemperatureDifference, v, c.half);
    const ALLOWED: &str = "with ambient, load and air conditioning allowed for";
    let (key, said) = match c.outcome {
        Outcome::Cooler => (
            "cooler",
            format!("After, it runs cooler by {}, {ALLOWED}.", by(-effect)),
        ),
        Outcome::Hotter => (
            "hotter",
            format!("After, it runs hotter by {}, {ALLOWED}.", by(effect)),
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
        }}),
    );
}
