//! Comparison before and after a repair.

use crate::outcome;
use crate::vary::log::{Change, Compared, Outcome as Effect, Pace, PaceChange};

outcome! {
    /// Coolant temperature before and after a repair, at one pace.
    pub struct ChangeAtPace {
        /// The pace: the range of road speed.
        pace: Pace,
        /// Whether the engine runs `cooler` or `hotter` after the repair, or `no_change`; `regulated` if the thermostat
        /// held the temperature before and after; or `unclear`.
        change: &'static str,
        /// Largest change that may have gone undetected, if no change was found.
        within: Option<f64> as TemperatureDifference,
        /// Coolant temperature after minus before, corrected for ambient temperature where it has an effect.
        effect: f64 as TemperatureDifference,
        /// Half-width (95 %) of the uncertainty of `effect`.
        effect_half_width: f64 as TemperatureDifference,
        /// Mean coolant temperature before the repair.
        coolant_before: f64 as Temperature,
        /// Mean coolant temperature after the repair.
        coolant_after: f64 as Temperature,
        /// Number of two-minute intervals at this pace before the repair.
        stretches_before: usize,
        /// Number of two-minute intervals compared, after the repair.
        stretches_after: usize,
    }
}

outcome! {
    /// Comparison of the coolant temperature before and after a repair, corrected for ambient temperature, load and air
    /// conditioning.
    pub struct BeforeAfter {
        /// Whether the engine runs `cooler` or `hotter` after the repair, or `no_change`; or `cannot_tell`.
        outcome: &'static str,
        /// Why the outcome is `cannot_tell`; otherwise empty.
        cannot_tell_because: &'static str,
        /// The pace that decides an outcome of `cooler` or `hotter`: the one with the largest change, given in `paces`;
        /// null if all paces together decide.
        decided_at: Option<Pace>,
        /// Coolant temperature after minus before over all paces, with all possible corrections.
        effect: Option<f64> as TemperatureDifference,
        /// Half-width (95 %) of the uncertainty of `effect`.
        effect_half_width: f64 as TemperatureDifference,
        /// Coolant temperature after minus before, without corrections.
        plain_difference: f64 as TemperatureDifference,
        /// Number of warm, steady two-minute intervals before the repair.
        stretches_before: usize,
        /// Number of two-minute intervals compared, after the repair.
        stretches_after: usize,
        /// Mean ambient temperature before the repair.
        ambient_before: f64 as Temperature,
        /// Mean ambient temperature after the repair.
        ambient_after: f64 as Temperature,
        /// Engine load after the repair divided by that before.
        load_ratio: f64,
        /// Fraction of the time with the air conditioning on, before the repair.
        air_conditioning_before: f64 as Share,
        /// Fraction of the time with the air conditioning on, after the repair.
        air_conditioning_after: f64 as Share,
        /// Quantities missing from either log, which increases the uncertainty.
        not_known: Vec<&'static str>,
        /// Comparison at each pace.
        paces: Vec<ChangeAtPace>,
    }
    beside {
        /// The conclusion.
        result: Effect,
    }
}

impl BeforeAfter {
    /// Converts the comparison for output.
    pub(super) fn of(c: Compared) -> Self {
        let (outcome, cannot_tell_because) = match c.outcome {
            Effect::Cooler => ("cooler", ""),
            Effect::Hotter => ("hotter", ""),
            Effect::NoChange(_) => ("no_change", ""),
            Effect::CannotTell(why) => ("cannot_tell", why),
        };
        Self {
            outcome,
            cannot_tell_because,
            decided_at: largest(&c),
            effect: c.effect,
            effect_half_width: c.half,
            plain_difference: c.plain,
            stretches_before: c.stretches[0],
            stretches_after: c.stretches[1],
            ambient_before: c.ambient[0],
            ambient_after: c.ambient[1],
            load_ratio: c.load,
            air_conditioning_before: c.conditioning[0],
            air_conditioning_after: c.conditioning[1],
            not_known: c.not_known,
            paces: c.paces.iter().map(ChangeAtPace::of).collect(),
            result: c.outcome,
        }
    }
}

/// The pace with the largest change, if the outcome is a change.
fn largest(c: &Compared) -> Option<Pace> {
    let changed = match c.outcome {
        Effect::Cooler => Change::Cooler,
        Effect::Hotter => Change::Hotter,
        Effect::NoChange(_) | Effect::CannotTell(_) => return None,
    };
    let paces = c.paces.iter().filter(|p| p.change == changed);
    { paces }
        .max_by(|a, b| a.effect.abs().total_cmp(&b.effect.abs()))
        .map(|p| p.pace)
}

impl ChangeAtPace {
    fn of(p: &PaceChange) -> Self {
        let (change, within) = match p.change {
            Change::Cooler => ("cooler", None),
            Change::Hotter => ("hotter", None),
            Change::None(within) => ("no_change", Some(within)),
            Change::Regulated => ("regulated", None),
            Change::Unclear => ("unclear", None),
        };
        Self {
            pace: p.pace,
            change,
            within,
            effect: p.effect,
            effect_half_width: p.half,
            coolant_before: p.coolant[0],
            coolant_after: p.coolant[1],
            stretches_before: p.stretches[0],
            stretches_after: p.stretches[1],
        }
    }
}
