//! The first look: what limits the fan of a demo machine, and how much fan speed another oil costs.

use super::state::cautions;
use super::{FIRST_LOOK, Outcome, Question, Request, Values};
use crate::balance::{Limit, State};
use crate::input::unit::celsius;
use crate::model::{Ask, Caution, Lookup, OilSheet, Setup};
use crate::outcome;
use crate::quantity::Measure;
use crate::trouble::{Trouble, Troubles};
use crate::vary::band::{self, Stated, difference};
use crate::vary::derivative::sensitivities;

/// The demo machine, and the oil that is compared with the machine's own.
pub const DEMO: (&str, &str) = ("light-truck", "transmission-multi-vehicle");

/// The question.
pub static QUESTION: Question = Question {
    key: FIRST_LOOK,
    title: "",
    about: "What limits the fan of a demo machine, how much speed would another oil cost, and what should be checked next?",
    groups: &[],
    examples: &[],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub struct FirstLook {
    /// Machine, oil, condition.
    pub setup: Setup,
    /// The other oil.
    pub other: OilSheet,
}

outcome! {
    /// Comparison of both oils at one engine speed and oil temperature.
    pub struct Look {
        /// Engine speed.
        engine_speed: f64 as Speed,
        /// Oil temperature.
        oil_temp: f64 as Temperature,
        /// Fan speed with the machine's own oil.
        fan_speed: f64 as Speed,
        /// Fan speed with the other oil.
        other: f64 as Speed = "fan_speed_other_oil",
        /// What limits the fan speed with the machine's own oil.
        limited_by: Limit,
        /// Lower limit of the relative change in fan speed with the other oil (95 % of machines).
        change_low: Option<f64> = "other_oil_change_share_low",
        /// Upper limit of the relative change in fan speed with the other oil (95 % of machines).
        change_high: Option<f64> = "other_oil_change_share_high",
    }
    beside {
        /// `idle` or `raised`.
        engine: &'static str,
        /// Relative change in fan speed with the other oil.
        change: f64,
    }
}

outcome! {
    /// The result.
    pub struct Found {
        /// The state of the circuit.
        state: State,
        /// Lower limit of the uncertainty band of the fan speed (95 %).
        low: f64 as Speed = "fan_speed_low",
        /// Upper limit of the uncertainty band of the fan speed (95 %).
        high: f64 as Speed = "fan_speed_high",
        /// What limits the fan speed.
        limit: Limit = "limited_by",
        /// Relative change in fan speed with the other oil, for each row of `series`.
        changes: Vec<f64> = "other_oil_change_share",
        /// Comparison of both oils at several engine speeds and oil temperatures.
        series: Vec<Look>,
    }
    beside {
        /// The band of the fan speed.
        band: Stated,
        /// The cautions.
        cautions: Vec<Caution>,
    }
}

impl Request for FirstLook {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let ask = Ask {
            units: values.units,
            ..Ask::about(DEMO.0)
        };
        Ok(FirstLook {
            setup: ask.resolve(Lookup::LibraryOnly)?,
            other: Lookup::LibraryOnly.oil(DEMO.1)?,
        })
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find().map_err(|t| vec![t])
    }
}

impl FirstLook {
    fn find(&self) -> Result<Found, Trouble> {
        let setup = &self.setup;
        let (state, operating) = State::of(&setup.case)?;
        let slopes = sensitivities(&setup.case, &operating);
        let correlations = &setup.machine.correlations;
        let band = band::stated(
            &setup.case,
            &setup.spread,
            correlations,
            &operating,
            &slopes,
        );
        let warm = setup.case.now.oil_temp;
        let usual = setup.machine.usual;
        let looks = [
            ("idle", usual.idle, warm),
            ("raised", usual.raised, warm),
            ("raised", usual.raised, celsius(20.0)),
            ("raised", usual.raised, celsius(-10.0)),
        ];
        let looks = looks.map(|(name, speed, oil_temp)| self.look(name, speed, oil_temp));
        let series = looks.into_iter().collect::<Result<Vec<_>, _>>()?;
        let mut all = cautions(setup, &state, operating.limit);
        all.push(Caution::InventedMachine);
        Ok(Found {
            low: band.low,
            high: band.high,
            limit: operating.limit,
            changes: series.iter().map(|l| l.change).collect(),
            series,
            band,
            cautions: all,
            state,
        })
    }

    /// Compares both oils at one engine speed and oil temperature.
    fn look(&self, engine: &'static str, speed: Measure, oil_temp: f64) -> Result<Look, Trouble> {
        let mut this = self.setup.clone();
        let now = &mut this.case.now;
        (now.engine_speed, now.oil_temp) = (speed.value, oil_temp);
        this.spread.now.engine_speed = speed.spread;
        let mut that = this.clone();
        (that.case.oil, that.case.curve) = (self.other.oil, self.other.curve);
        that.spread.oil = self.other.spread;
        let (case, on_other) = (this.case, that.case);
        let (own, operating) = State::of(&case)?;
        let other = State::of(&on_other)?.0.fan_speed;
        let share = difference(&that, &this).and_then(|d| d.share);
        let still = own.fan_speed <= 0.0;
        Ok(Look {
            engine_speed: case.now.engine_speed,
            oil_temp,
            fan_speed: own.fan_speed,
            other,
            limited_by: operating.limit,
            change_low: share.map(|s| s.0),
            change_high: share.map(|s| s.1),
            engine,
            change: if still {
                0.0
            } else {
                other / own.fan_speed - 1.0
            },
        })
    }
}
