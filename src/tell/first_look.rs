//! Presents the first look at a demo machine in words.

use super::answer::{Block, Table};
use super::{Presentation, caution, words};
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::first_look::{DEMO, FirstLook, Found, Look};

/// Presents the outcome of the question.
pub fn tell(request: &FirstLook, found: &Found) -> Presentation {
    let setup = &request.setup;
    let units = setup.units;
    let mut told = Presentation::about(setup);
    let band = words::speed_band(units, found.state.fan_speed, &found.band);
    told.headline(format!(
        "At warm idle this fan makes {band}, limited by {}.",
        found.limit.words()
    ));
    let (own, other) = (&setup.oil.name, &request.other.name);
    if let [warm, .., cold] = found.series.as_slice() {
        told.say(format!(
            "With {} instead of {}, the fan would run {} at idle with warm oil, and {} at raised engine speed with the oil at {}. The friction of cold, thick oil was measured on one pump only, so the value for cold oil is uncertain.",
            other.to_lowercase(),
            own.to_lowercase(),
            changed(units, warm),
            changed(units, cold),
            units.show(Kind::Temperature, cold.oil_temp)
        ));
    }
    told.show(Block::Next(words::next(found.limit).into()));
    told.show(Block::Table(both_oils(units, own, other, &found.series)));
    let circuit = words::circuit(units, &setup.case, &found.state, found.limit);
    told.show(Block::Circuit(circuit));
    told.show(Block::Heading("Try next".into()));
    let (machine, oil) = DEMO;
    told.say(format!(
        "oilwheel speed {machine} --measured \"640 rpm ± 10 rpm\""
    ));
    told.say(format!(
        "oilwheel why {machine} --against-oil {oil} --oil-temp \"-10 C\" --engine-speed raised"
    ));
    told.say(format!("oilwheel new {machine} > mine.toml"));
    told.show(Block::Safety(caution::safety()));
    told.cautions.clone_from(&found.cautions);
    told.series = Series::of(&found.series);
    told
}

/// A change of fan speed with the limits of its band: `3 % faster (1 to 6 %)`.
fn changed(units: Units, look: &Look) -> String {
    let way = if look.change >= 0.0 {
        "faster"
    } else {
        "slower"
    };
    let (Some(low), Some(high)) = (look.change_low, look.change_high) else {
        return format!("{} {way}", units.show(Kind::Share, look.change.abs()));
    };
    if low <= 0.0 && high >= 0.0 {
        return format!(
            "at the same speed within the machine's ± ({})",
            between(100.0 * low, 100.0 * high)
        );
    }
    let (low, high) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
    let change = rounded(100.0 * look.change.abs(), 100.0 * (high - low));
    format!("{change} % {way} ({})", between(100.0 * low, 100.0 * high))
}

/// A range of percentages: `1 to 6 %`.
fn between(low: f64, high: f64) -> String {
    let wide = high - low;
    format!("{} to {} %", rounded(low, wide), rounded(high, wide))
}

/// A number with only as many decimals as the width of its band justifies.
fn rounded(x: f64, wide: f64) -> String {
    let decimals = usize::from(wide < 5.0);
    // Adding zero removes the minus sign of a rounded zero.
    let step = 10_f64.powi(decimals as i32);
    let x = (x * step).round() / step + 0.0;
    format!("{x:.decimals$}")
}

/// A table of the fan speeds with both oils in some conditions.
fn both_oils(units: Units, own: &str, other: &str, looks: &[Look]) -> Table {
    let unit = units.unit(Kind::Speed);
    let row = |look: &Look| {
        let rpm = |v| format!("{:.0}", units.number(Kind::Speed, v));
        let change = format!("{:+.1}", 100.0 * look.change);
        vec![
            look.engine.into(),
            units.show(Kind::Temperature, look.oil_temp),
            rpm(look.fan_speed),
            rpm(look.other),
            match (look.change_low, look.change_high) {
                (Some(low), Some(high)) => {
                    format!("{change} % ({})", between(100.0 * low, 100.0 * high))
                }
                _ => format!("{change} %"),
            },
            look.limited_by.key().into(),
        ]
    };
    Table {
        title: format!("Fan speed with {own} and with {other}"),
        heads: vec![
            "engine".into(),
            "oil".into(),
            format!("{own}, {unit}"),
            format!("{other}, {unit}"),
            "change".into(),
            "limited by".into(),
        ],
        rows: looks.iter().map(row).collect(),
        numeric: vec![1, 2, 3, 4],
    }
}
