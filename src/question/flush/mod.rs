//! How many oil changes until little of the old oil is left, and what is the effect on the fan?
//!
//! | file | task |
//! |---|---|
//! | `found.rs` | the types of the results |
//! | `rounds.rs` | blends of the old and the fresh oil, and the rounds of a plan |

mod found;
mod rounds;

pub use found::{AtOilTemp, ByMethod, Found, Round};
pub use rounds::PAYS;

use super::basis::{self, WITH};
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values, mention};
use crate::fault;
use crate::model::{Ask, Setup};
use crate::quantity::Kind;
use crate::question::Find;
use crate::trouble::{Trouble, Troubles};
use crate::vary::dilution::{Exchange, Fill};
use serde_json::{Value, json};

/// The oil in the machine.
pub const FROM_OIL: Field = Field::new("from_oil", Takes::Oil, "The present oil")
    .help("A name from the library, the path of an oil file, or the values of a data sheet.")
    .example("40C=35 cSt, 100C=7.4 cSt")
    .required();

/// The new oil.
pub const TO_OIL: Field = Field::new("to_oil", Takes::Oil, "The new oil")
    .help("Written in the same way.")
    .else_words("the machine's usual oil");

/// The oil field of other questions; entering it is an error here, because this question has two oils.
pub const OIL: Field = basis::OIL.called(
    "One oil",
    "Not used here: give the present oil and the new oil.",
);

/// The method of the oil change.
pub const METHOD: Field = Field::new(
    "method",
    Takes::Choice(&[
        ("drain", "drain and refill"),
        ("reservoir", "empty and refill the reservoir"),
        ("return-line", "through the return line"),
    ]),
    "Method",
)
.help("Through the return line: fresh oil is poured into the reservoir while the old oil runs out of the return line.")
.usually("drain");

/// Maximum fraction of old oil that may remain.
pub const TARGET: Field = Field::new(
    "target",
    // The minimum is above zero, because dilution never removes all of the old oil.
    Takes::Quantity(Kind::Share, 1e-4, 1.0, &[]),
    "Fraction of old oil that may remain",
)
.example("5 %")
.else_words("5 %, unless a speed is required");

/// Maximum deviation of the fan speed from that with fresh oil.
pub const SPEED_WITHIN: Field = Field::new(
    "speed_within",
    Takes::Quantity(Kind::Share, 1e-4, 1.0, &[]),
    "Or: maximum deviation of the fan speed from that with fresh oil",
)
.help("In the given operating condition.")
.example("1 %")
.else_words("not required");

/// Fraction of the fill that is drained in one round.
pub const DRAINED: Field = Field::new(
    "drained",
    Takes::Quantity(Kind::Share, 0.01, 1.0, &[]),
    "Fraction of the fill drained in one round",
)
.help("For the methods drain and reservoir.")
.example("40 %")
.else_words("40 %; 30 % if the reservoir is sucked out");

/// The volume poured in at one time by the return line method.
pub const POUR: Field = Field::new(
    "pour",
    Takes::Quantity(Kind::Volume, 1e-6, 50.0, &[]),
    "Volume poured through in one go",
)
.help("For the return line method.")
.example("2 L")
.else_words("the whole fill");

/// Fraction of the fill that is stagnant during an exchange.
pub const STAGNANT: Field = Field::new(
    "stagnant",
    Takes::Quantity(Kind::Share, 0.0, 0.9, &[]),
    "Stagnant fraction of the fill",
)
.help("Oil in steering, cooler and hoses that does not drain.")
.usually("20 %");

/// Degree to which the stagnant volume mixes.
pub const MIXING: Field = Field::new(
    "mixing",
    Takes::Quantity(Kind::Share, 0.0, 1.0, &[]),
    "How far the stagnant volume mixes between rounds",
)
.help("With the engine running: 0 % means not at all, 100 % fully.")
.usually("80 %");

/// The price of a litre of fresh oil.
pub const COST_PER_LITRE: Field = Field::new(
    "cost_per_litre",
    Takes::Quantity(Kind::Cost, 0.01, 1e6, &[]),
    "Price of a litre of fresh oil",
)
.help("In your currency.")
.else_words("no cost computed");

/// The question `flush`: its fields, examples and outcome.
pub static QUESTION: Question = Question {
    key: "flush",
    title: "Oil change",
    about: "How often must the oil be changed until little of the old oil is left, and what is the effect on the fan?",
    groups: &[
        Group::new("The machine", &[&basis::MACHINE]),
        basis::MOMENT,
        Group::new("The oils", &[&FROM_OIL, &TO_OIL]),
        Group::new("Method", &[&METHOD, &TARGET, &SPEED_WITHIN]),
        Group::folded(
            "Volumes and cost",
            &[&DRAINED, &POUR, &STAGNANT, &MIXING, &COST_PER_LITRE],
        ),
        basis::AIR,
        basis::FAULT,
        basis::SETTINGS,
        Group::folded("Not used here", &[&OIL]),
    ],
    examples: &[
        "oilwheel flush light-truck --from-oil transmission-multi-vehicle",
        "oilwheel flush light-truck --from-oil transmission-multi-vehicle --method return-line --target \"2 %\"",
        "oilwheel flush light-truck --from-oil transmission-multi-vehicle --oil-temp \"-10 C\" --speed-within \"2 %\"",
    ],
    finds: Found::properties,
};

/// The method of the oil change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Drain and refill.
    Drain,
    /// Suck out the reservoir and refill it.
    Reservoir,
    /// Pour in while the old oil drains from the return line into a container.
    ReturnLine,
}

impl Method {
    /// All methods.
    pub const ALL: [Method; 3] = [Method::Drain, Method::Reservoir, Method::ReturnLine];

    /// Key of the method in flags and answers.
    pub fn key(self) -> &'static str {
        match self {
            Method::Drain => "drain",
            Method::Reservoir => "reservoir",
            Method::ReturnLine => "return-line",
        }
    }

    /// Default fraction of the fill that is exchanged in one round. The reservoir of such systems holds 25 to 50 % of
    /// the oil, and draining also removes some oil from the hoses: common practice, no source.
    pub fn usual_share(self) -> f64 {
        match self {
            Method::Drain => 0.4,
            Method::Reservoir => 0.3,
            Method::ReturnLine => 1.0,
        }
    }

    /// Default fraction exchanged in one round, limited to what is not stagnant, because the stagnant fraction `still`
    /// does not drain.
    fn usual_beside(self, still: f64) -> f64 {
        match self {
            Method::ReturnLine => self.usual_share(),
            _ => self.usual_share().min(1.0 - still),
        }
    }
}

impl Find for Method {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.key())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string", "enum": Method::ALL.map(Method::key)})
    }
}

/// The plan of an oil change.
#[derive(Clone, Copy, Debug)]
pub struct Plan {
    /// The method of the oil change.
    pub method: Method,
    /// Fraction of the fill that is exchanged in one round; above 1 if more than the whole fill is poured through.
    pub exchanged: f64,
    /// The stagnant fraction of the fill, and how far it mixes between rounds.
    pub fill: Fill,
}

impl Plan {
    /// The exchange in a part (0 to 1) of a round, in the worst and in the best case. Oil poured through mixes fully
    /// with the old oil in the worst case, and pushes it out unmixed in the best case.
    fn exchanges(&self, part: f64) -> [Exchange; 2] {
        let amount = self.exchanged * part;
        match self.method {
            Method::Drain | Method::Reservoir => [Exchange::Refill(amount); 2],
            Method::ReturnLine => [Exchange::Mixed(amount), Exchange::PushedOut(amount)],
        }
    }
}

/// A request for `flush`, parsed from what the user entered.
#[derive(Clone, Debug)]
pub struct Flush {
    /// Machine and condition with the fresh oil.
    pub fresh: Setup,
    /// Machine and condition with the old oil.
    pub old: Setup,
    /// The plan.
    pub plan: Plan,
    /// The maximum fraction of old oil that may remain, if requested.
    pub target: Option<f64>,
    /// The maximum relative deviation of the fan speed from that with fresh oil, if requested.
    pub within: Option<f64>,
    /// The price of a litre of fresh oil.
    pub cost_per_litre: Option<f64>,
}

impl Flush {
    /// Volume of fresh oil for a number of rounds, m³.
    pub fn volume(&self, rounds: f64) -> f64 {
        self.fresh.case.reservoir.volume * self.plan.exchanged * rounds
    }
}

/// Resolves the machine and condition twice: with the old oil and with the fresh oil.
fn both(intake: &mut Intake<'_>) -> Option<(Setup, Setup)> {
    let values = intake.values;
    let mut resolve = |field: &Field, oil: Option<&str>| {
        let ask = Ask {
            oil: oil.map(String::from),
            ..basis::ask(values)
        };
        let setup = crate::question::own::resolve(&ask, values).and_then(|mut setup| {
            fault::put_on(&mut setup, &values.list(&WITH), WITH.key)?;
            Ok(setup)
        });
        setup.map_err(|all| {
            let named = all.into_iter().map(|t| t.moved("oil", field.key));
            // Errors in machine and condition apply to both oils, and are reported once.
            let new: Troubles = named.filter(|t| !intake.problems.contains(t)).collect();
            intake.problems.extend(new);
        })
    };
    // If the old oil is missing, the other fields are still parsed, so that all errors are reported.
    let old = resolve(&FROM_OIL, values.get(&FROM_OIL)).ok();
    let fresh = resolve(&TO_OIL, values.get(&TO_OIL)).ok();
    intake.needed(&FROM_OIL);
    let (mut old, mut fresh) = (old?, fresh?);
    (old.stop, fresh.stop) = (values.stop.clone(), values.stop.clone());
    Some((old, fresh))
}

/// Reports a value that belongs to a method other than the chosen one.
fn misplaced(intake: &mut Intake<'_>, method: Method) {
    let (given, meant) = match method {
        Method::ReturnLine => (DRAINED, POUR),
        _ => (POUR, DRAINED),
    };
    if intake.values.has(&given) {
        let found = format!("{} with the method `{}`", given.mention(), method.key());
        let expected = format!("{}, which belongs to that method", meant.mention());
        let problem = Trouble::input(found, expected);
        intake.problems.push(problem.on(given.key));
    }
}

impl Request for Flush {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        if values.has(&OIL) {
            let expected = "the present oil and the new oil";
            let (from, to) = (FROM_OIL.mention(), TO_OIL.mention());
            let problem =
                Trouble::input("only one oil", expected).hint(format!("write {from} and {to}"));
            intake.problems.push(problem.on(OIL.key));
        }
        let both = both(&mut intake);
        let key = intake.choice(&METHOD);
        let method = Method::ALL.into_iter().find(|m| Some(m.key()) == key);
        let target = intake.value(&TARGET);
        let within = intake.value(&SPEED_WITHIN);
        let drained = intake.value(&DRAINED);
        let pour = intake.value(&POUR);
        let still = intake.value(&STAGNANT);
        let mixing = intake.value(&MIXING);
        let cost_per_litre = intake.value(&COST_PER_LITRE);
        if let Some(method) = method {
            misplaced(&mut intake, method);
        }
        let read = (|| Some((both?, method?, still?, mixing?)))();
        let ((old, fresh), method, still, mixing) = intake.finish(read)?;
        let exchanged = match (method, pour) {
            (Method::ReturnLine, Some(pour)) => pour / fresh.case.reservoir.volume,
            _ => drained.unwrap_or(method.usual_beside(still)),
        };
        let plan = Plan {
            method,
            exchanged,
            fill: Fill { still, mixing },
        };
        let flush = Flush {
            fresh,
            old,
            plan,
            target: target.or(within.is_none().then_some(0.05)),
            within,
            cost_per_litre,
        };
        flush.possible().map(|()| flush).map_err(|t| vec![t])
    }

    fn answer(&self) -> Result<Found, Troubles> {
        rounds::find(self).map_err(|t| vec![t])
    }
}

impl Flush {
    /// Checks that the planned volume can be exchanged in one round.
    fn possible(&self) -> Result<(), Trouble> {
        let (units, plan) = (self.fresh.units, &self.plan);
        let (still, exchanged) = (plan.fill.still, plan.exchanged);
        if plan.method != Method::ReturnLine {
            if exchanged <= 1.0 - still + 1e-9 {
                return Ok(());
            }
            let percent = |x| units.show(Kind::Share, x);
            let found = format!(
                "{} drained, although {} is stagnant",
                percent(exchanged),
                percent(still)
            );
            let problem =
                Trouble::input(found, format!("at most {} drained", percent(1.0 - still)));
            return Err(problem
                .hint(format!(
                    "the stagnant volume does not drain: reduce {} or {}",
                    mention(STAGNANT.key),
                    mention(DRAINED.key)
                ))
                .on(DRAINED.key));
        }
        if (0.01..=100.0).contains(&exchanged) {
            return Ok(());
        }
        let show = |x| units.show(Kind::Volume, x * self.fresh.case.reservoir.volume);
        let found = format!("{} poured through a fill of {}", show(exchanged), show(1.0));
        let expected = format!("{} to {}", show(0.01), show(100.0));
        Err(Trouble::input(found, expected).on(POUR.key))
    }

    /// The requirement in words, for error messages and for the answer.
    pub fn asked(&self) -> String {
        let percent = |x| self.fresh.units.show(Kind::Share, x);
        let mut parts = Vec::new();
        if let Some(target) = self.target {
            parts.push(format!("at most {} of old oil", percent(target)));
        }
        if let Some(within) = self.within {
            parts.push(format!(
                "a fan speed within {} of that with fresh oil",
                percent(within)
            ));
        }
        parts.join(" and ")
    }
}
