//! Results of the oil change question.

use super::Method;
use crate::model::Caution;
use crate::outcome;
use crate::vary::band::Difference;

outcome! {
    /// After one round.
    pub struct Round {
        /// Which round; 0 is before any.
        round: usize,
        /// Fresh oil that went in so far.
        fresh_oil: f64 as Volume,
        /// Old oil that is left, as a fraction of the whole fill: by the limit that dilutes least.
        old_share: f64,
        /// The same by the limit that dilutes most.
        old_share_low: f64,
        /// Viscosity of the blend.
        viscosity: f64 as KinematicViscosity,
        /// Fan speed on it.
        fan_speed: f64 as Speed,
    }
}

outcome! {
    /// The fan at another oil temperature, all else as asked.
    pub struct AtOilTemp {
        /// Oil temperature.
        oil_temp: f64 as Temperature,
        /// Fan speed on the old oil.
        fan_speed_old: f64 as Speed,
        /// Fan speed after the flush.
        fan_speed: f64 as Speed,
        /// Fan speed on fresh oil.
        fan_speed_fresh: f64 as Speed,
    }
}

outcome! {
    /// What a method takes to the same end.
    pub struct ByMethod {
        /// The method.
        method: Method,
        /// Fraction of the fill that it exchanges in a round.
        exchanged_share: f64,
        /// Rounds; none where no number of them does.
        rounds_needed: Option<usize>,
        /// Fresh oil by the limit that dilutes least, litres.
        litres_needed: Option<f64>,
        /// The same by the limit that dilutes most, litres.
        litres_needed_low: Option<f64>,
    }
}

outcome! {
    /// What `flush` finds.
    pub struct Found {
        /// How the oil is changed.
        method: Method,
        /// Rounds that are needed.
        rounds_needed: usize,
        /// Fresh oil that is needed by the limit that dilutes least, litres.
        litres_needed: f64,
        /// The same by the limit that dilutes most, litres.
        litres_needed_low: f64,
        /// What that costs, by the limit that dilutes least; where a price was given.
        cost: Option<f64>,
        /// Old oil that is then left, as a fraction of the whole fill.
        old_share_left: f64,
        /// The last round that changes the fan speed by enough to be worth it; 0 for none.
        last_round_that_pays: usize,
        /// Fan speed on the old oil.
        fan_speed_old: f64 as Speed,
        /// Fan speed after the flush.
        fan_speed: f64 as Speed,
        /// Fan speed on fresh oil.
        fan_speed_fresh: f64 as Speed,
        /// Low end of what fresh oil alone changes, within the machine's ± (95 %).
        difference_low: Option<f64> as Speed,
        /// High end of that.
        difference_high: Option<f64> as Speed,
        /// Viscosity of the old oil.
        viscosity_old: f64 as KinematicViscosity,
        /// Viscosity of the fresh oil.
        viscosity_fresh: f64 as KinematicViscosity,
        /// The whole fill.
        fill: f64 as Volume,
        /// Fraction of the fill that is exchanged in a round.
        exchanged_share: f64,
        /// Fraction of the fill that stands still meanwhile.
        stagnant_share: f64,
        /// How far that mixes between rounds.
        mixing_share: f64,
        /// Old oil that may be left, where that is asked.
        target_share: Option<f64>,
        /// How near the speed must come to that on fresh oil, where that is asked.
        speed_within_share: Option<f64>,
        /// After each round, from the first.
        rounds: Vec<Round>,
        /// The fan at other oil temperatures.
        over_oil_temp: Vec<AtOilTemp>,
        /// What each method takes to the same end.
        methods: Vec<ByMethod>,
        /// After each round, from before any.
        series: Vec<Round>,
    }
    beside {
        /// The band of what fresh oil alone changes.
        band: Option<Difference>,
        /// Fresh oil that is needed by the limit that dilutes least, and by the one that dilutes most, m³.
        volume: (f64, f64),
        /// Fan speed after the last round that pays, rad/s.
        speed_paid: f64,
        /// Old oil left versus fresh oil: m³, and the fraction by the limit that dilutes least and by the one that
        /// dilutes most.
        along: Vec<(f64, f64, f64)>,
        /// The same, m³ and fraction, if nothing stood still: empty where oil is poured through.
        if_none_still: Vec<(f64, f64)>,
        /// Fan speed, rad/s, versus the fraction of old oil.
        speeds: Vec<(f64, f64)>,
        /// What must be borne in mind.
        cautions: Vec<Caution>,
    }
}
