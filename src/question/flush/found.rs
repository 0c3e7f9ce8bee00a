//! Results of the oil change question.

use super::Method;
use crate::model::Caution;
use crate::outcome;
use crate::vary::band::Difference;

outcome! {
    /// The result after one round of the oil change.
    pub struct Round {
        /// Number of the round; 0 is before the first.
        round: usize,
        /// Fresh oil added so far.
        fresh_oil: f64 as Volume,
        /// Remaining old oil as a fraction of the whole fill, in the worst case (least dilution).
        old_share: f64,
        /// Remaining old oil as a fraction of the whole fill, in the best case (most dilution).
        old_share_low: f64,
        /// Viscosity of the blend.
        viscosity: f64 as KinematicViscosity,
        /// Fan speed with the blend.
        fan_speed: f64 as Speed,
    }
}

outcome! {
    /// The fan speeds at another oil temperature, in an otherwise unchanged condition.
    pub struct AtOilTemp {
        /// Oil temperature.
        oil_temp: f64 as Temperature,
        /// Fan speed with the old oil.
        fan_speed_old: f64 as Speed,
        /// Fan speed after the rounds needed.
        fan_speed: f64 as Speed,
        /// Fan speed with fresh oil.
        fan_speed_fresh: f64 as Speed,
    }
}

outcome! {
    /// Rounds and fresh oil that a method needs to meet the target.
    pub struct ByMethod {
        /// The method.
        method: Method,
        /// Fraction of the fill exchanged in one round.
        exchanged_share: f64,
        /// Number of rounds needed; null if no number of rounds meets the target.
        rounds_needed: Option<usize>,
        /// Fresh oil needed in the worst case (least dilution), litres.
        litres_needed: Option<f64>,
        /// Fresh oil needed in the best case (most dilution), litres.
        litres_needed_low: Option<f64>,
    }
}

outcome! {
    /// The result of `flush`.
    pub struct Found {
        /// Method of the oil change.
        method: Method,
        /// Number of rounds needed.
        rounds_needed: usize,
        /// Fresh oil needed in the worst case (least dilution), litres.
        litres_needed: f64,
        /// Fresh oil needed in the best case (most dilution), litres.
        litres_needed_low: f64,
        /// Cost of the fresh oil in the worst case (least dilution), if a price was given.
        cost: Option<f64>,
        /// Old oil that remains after the rounds needed, as a fraction of the whole fill.
        old_share_left: f64,
        /// The last round that changes the fan speed by a worthwhile amount; 0 if no round does.
        last_round_that_pays: usize,
        /// Fan speed with the old oil.
        fan_speed_old: f64 as Speed,
        /// Fan speed after the rounds needed.
        fan_speed: f64 as Speed,
        /// Fan speed with fresh oil.
        fan_speed_fresh: f64 as Speed,
        /// Lower limit (95 %) of the change in fan speed from old to fresh oil, within the machine's ±.
        difference_low: Option<f64> as Speed,
        /// Upper limit (95 %) of the change in fan speed from old to fresh oil, within the machine's ±.
        difference_high: Option<f64> as Speed,
        /// Viscosity of the old oil.
        viscosity_old: f64 as KinematicViscosity,
        /// Viscosity of the fresh oil.
        viscosity_fresh: f64 as KinematicViscosity,
        /// Volume of the whole fill.
        fill: f64 as Volume,
        /// Fraction of the fill exchanged in one round.
        exchanged_share: f64,
        /// Stagnant fraction of the fill.
        stagnant_share: f64,
        /// Degree to which the stagnant volume mixes between rounds.
        mixing_share: f64,
        /// Maximum fraction of old oil that may remain, if requested.
        target_share: Option<f64>,
        /// Maximum relative deviation of the fan speed from that with fresh oil, if requested.
        speed_within_share: Option<f64>,
        /// Results after each round, from the first.
        rounds: Vec<Round>,
        /// The fan speeds at other oil temperatures.
        over_oil_temp: Vec<AtOilTemp>,
        /// Rounds and fresh oil that each method needs to meet the target.
        methods: Vec<ByMethod>,
        /// Results after each round, starting before the first.
        series: Vec<Round>,
    }
    beside {
        /// Uncertainty band of the change in fan speed from old to fresh oil.
        band: Option<Difference>,
        /// Fresh oil needed in the worst and in the best case, m³.
        volume: (f64, f64),
        /// Fan speed after the last worthwhile round, rad/s.
        speed_paid: f64,
        /// Points of fresh oil added, m³, and the remaining fraction of old oil in the worst and in the best case.
        along: Vec<(f64, f64, f64)>,
        /// Points of fresh oil added, m³, and the remaining fraction of old oil if no volume were stagnant; empty if
        /// oil is poured through.
        if_none_still: Vec<(f64, f64)>,
        /// Points of the fraction of old oil, and fan speed, rad/s.
        speeds: Vec<(f64, f64)>,
        /// The cautions to be shown with the result.
        cautions: Vec<Caution>,
    }
}
