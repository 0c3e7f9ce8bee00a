//! What is asked, as typed.

use super::{Method, Plan, Question};
use crate::fault;
use crate::model::{Ask, Shelf, share};
use crate::quantity::{Kind, parse};
use crate::trouble::{Trouble, Troubles, near};
use crate::vary::dilution::Fill;

/// What is planned, as typed.
#[derive(Clone, Debug)]
pub struct Typed {
    /// The oil that is in it.
    pub from_oil: String,
    /// The oil that goes in; none: the machine's usual one.
    pub to_oil: Option<String>,
    /// The key of the method.
    pub method: String,
    /// How much old oil may be left.
    pub target: Option<String>,
    /// How near the fan's speed must come to that on fresh oil.
    pub speed_within: Option<String>,
    /// Share of the whole fill that comes out in one round.
    pub drained: Option<String>,
    /// What is poured through the return line in one go.
    pub pour: Option<String>,
    /// Share of the fill that stands still during an exchange.
    pub stagnant: String,
    /// How far that share mixes with the rest between rounds.
    pub mixing: String,
    /// What a litre of the fresh oil costs.
    pub cost_per_litre: Option<String>,
}

/// Understands what is asked, as typed: every mistake at once.
pub fn pose(ask: &Ask, with: &[String], typed: &Typed, shelf: Shelf) -> Result<Question, Troubles> {
    let units = ask.units;
    let mut troubles = Vec::new();
    let mut pose = |flag: &str, name: &Option<String>| {
        let ask = Ask {
            oil: name.clone(),
            ..ask.clone()
        };
        fault::pose(&ask, with, shelf).map_err(|all| {
            let named = all.into_iter().map(|mut t| {
                if t.spot.source == "oil" {
                    t.spot.source = flag.into();
                }
                t
            });
            // What is wrong with machine and condition is wrong for both oils, and said once.
            let new: Troubles = named.filter(|t| !troubles.contains(t)).collect();
            troubles.extend(new);
        })
    };
    let old = pose("--from-oil", &Some(typed.from_oil.clone()));
    let fresh = pose("--to-oil", &typed.to_oil);

    let method = Method::ALL.into_iter().find(|m| m.key() == typed.method);
    if method.is_none() {
        let keys = Method::ALL.map(Method::key);
        let hint = near(&typed.method, keys).map(|k| format!("did you mean `{k}`?"));
        let trouble = Trouble::input(
            format!("no method called `{}`", typed.method),
            keys.join(", "),
        );
        troubles.push(trouble.hint(hint.unwrap_or_default()).at("--method"));
    }
    let mut some = |flag: &str, words: &Option<String>, range| {
        let words = words.as_ref()?;
        share(flag, words, range, &mut troubles)
    };
    // Dilution never takes the last of the old oil, nor brings a speed quite to its end.
    let target = some("--target", &typed.target, 1e-4..=1.0);
    let within = some("--speed-within", &typed.speed_within, 1e-4..=1.0);
    let drained = some("--drained", &typed.drained, 0.01..=1.0);
    let still = some("--stagnant", &Some(typed.stagnant.clone()), 0.0..=0.9);
    let mixing = some("--mixing", &Some(typed.mixing.clone()), 0.0..=1.0);
    let mut positive = |flag: &str, kind: Kind, words: &Option<String>| {
        let read = parse(kind, words.as_ref()?).and_then(|m| {
            let fits = m.value > 0.0;
            let found = format!("{} is not above zero", units.show(kind, m.value));
            fits.then_some(m.value)
                .ok_or_else(|| Trouble::input(found, format!("a {} above zero", kind.name())))
        });
        read.map_err(|t| troubles.push(t.at(flag))).ok()
    };
    let pour = positive("--pour", Kind::Volume, &typed.pour);
    let cost_per_litre = positive("--cost-per-litre", Kind::Cost, &typed.cost_per_litre);
    let misplaced = match method {
        Some(Method::ReturnLine) => typed.drained.as_ref().map(|_| ("--drained", "--pour")),
        Some(_) => typed.pour.as_ref().map(|_| ("--pour", "--drained")),
        None => None,
    };
    if let Some((given, meant)) = misplaced {
        let found = format!("{given} with the method `{}`", typed.method);
        let trouble = Trouble::input(found, format!("{meant}, which goes with that method"));
        troubles.push(trouble.at(given));
    }
    let (Ok(old), Ok(fresh), Some(method), Some(still), Some(mixing), true) =
        (old, fresh, method, still, mixing, troubles.is_empty())
    else {
        return Err(troubles);
    };
    let exchanged = match (method, pour) {
        (Method::ReturnLine, Some(pour)) => pour / fresh.case.reservoir.volume,
        (Method::ReturnLine, None) => method.usual_share(),
        _ => drained.unwrap_or(method.usual_share().min(1.0 - still)),
    };
    if method != Method::ReturnLine && exchanged > 1.0 - still + 1e-9 {
        let percent = |x| units.show(Kind::Share, x);
        let found = format!(
            "{} drained where {} stands still",
            percent(exchanged),
            percent(still)
        );
        let trouble = Trouble::input(found, format!("at most {}", percent(1.0 - still)));
        let hint = "what stands still does not run out: give less with --stagnant or --drained";
        return Err(vec![trouble.hint(hint).at("--drained")]);
    }
    if method == Method::ReturnLine && !(0.01..=100.0).contains(&exchanged) {
        let show = |x| units.show(Kind::Volume, x * fresh.case.reservoir.volume);
        let found = format!("{} for a fill of {}", show(exchanged), show(1.0));
        let trouble = Trouble::input(found, format!("{} to {}", show(0.01), show(100.0)));
        return Err(vec![trouble.at("--pour")]);
    }
    Ok(Question {
        fresh,
        old,
        plan: Plan {
            method,
            exchanged,
            fill: Fill { still, mixing },
        },
        target: target.or(within.is_none().then_some(0.05)),
        within,
        cost_per_litre,
    })
}
