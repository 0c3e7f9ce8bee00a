//! The commands on oils: `oil` and `flush`.

use super::flags::{AskArgs, FlushArgs, OilArgs};
use super::one;
use crate::model::{Ask, OILS, Shelf};
use crate::quantity::{Kind, Measure, Units, parse};
use crate::study::flush::{Method, Plan};
use crate::study::{Answer, flush, oil};
use crate::trouble::{Trouble, Troubles, near};
use crate::vary::dilution::Fill;

/// The library, one oil, or a blend of two.
pub(super) fn oil(args: &OilArgs, units: Units) -> Result<Answer, Troubles> {
    if let (Some(share), 0..=1) = (&args.share, args.oils.len()) {
        let trouble = Trouble::input(
            format!("a share of {share} without two oils"),
            "two oils to blend",
        );
        let hint = "oilwheel oil central-hydraulic transmission-multi-vehicle --share \"30 %\"";
        return Err(vec![trouble.hint(hint).at("--share")]);
    }
    match args.oils.as_slice() {
        [] => {
            let library = OILS.iter().map(|(key, _)| Shelf::LibraryOnly.oil(key));
            Ok(oil::library(
                &library.collect::<Result<Vec<_>, _>>()?,
                units,
            ))
        }
        [name] => {
            let ask = Ask {
                oil: Some(name.clone()),
                units,
                ..Ask::about(&args.machine)
            };
            one(oil::one(&ask.pose(Shelf::Files)?))
        }
        [first, second, ..] => {
            let mut troubles = Vec::new();
            let mut read = |name: &String| Shelf::Files.oil(name).map_err(|t| troubles.extend(t));
            let (a, b) = (read(first), read(second));
            let share = match &args.share {
                Some(words) => share("--share", words, 0.0..=1.0, &mut troubles),
                None => Some(0.5),
            };
            match (a, b, share) {
                (Ok(a), Ok(b), Some(share)) => one(oil::blend(&a, &b, share, units)),
                _ => Err(troubles),
            }
        }
    }
}

/// How often the oil must be changed.
pub(super) fn flush(args: &FlushArgs, units: Units) -> Result<Answer, Troubles> {
    let mut troubles = Vec::new();
    if args.ask.oil.is_some() {
        let trouble = Trouble::input("one oil", "the oil that is in it and the oil that goes in");
        let hint = "write --from-oil and --to-oil";
        troubles.push(trouble.hint(hint).at("--oil"));
    }
    let mut pose = |flag: &str, name: &Option<String>| {
        let ask = AskArgs {
            oil: name.clone(),
            ..args.ask.clone()
        };
        ask.pose(units).map_err(|all| {
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
    let old = pose("--from-oil", &Some(args.from_oil.clone()));
    let fresh = pose("--to-oil", &args.to_oil);

    let method = Method::ALL.into_iter().find(|m| m.key() == args.method);
    if method.is_none() {
        let keys = Method::ALL.map(Method::key);
        let hint = near(&args.method, keys).map(|k| format!("did you mean `{k}`?"));
        let trouble = Trouble::input(
            format!("no method called `{}`", args.method),
            keys.join(", "),
        );
        troubles.push(trouble.hint(hint.unwrap_or_default()).at("--method"));
    }
    let mut some = |flag: &str, words: &Option<String>, range| {
        let words = words.as_ref()?;
        share(flag, words, range, &mut troubles)
    };
    // Dilution never takes the last of the old oil, nor brings a speed quite to its end.
    let target = some("--target", &args.target, 1e-4..=1.0);
    let within = some("--speed-within", &args.speed_within, 1e-4..=1.0);
    let drained = some("--drained", &args.drained, 0.01..=1.0);
    let still = some("--stagnant", &Some(args.stagnant.clone()), 0.0..=0.9);
    let mixing = some("--mixing", &Some(args.mixing.clone()), 0.0..=1.0);
    let mut positive = |flag: &str, kind: Kind, words: &Option<String>| {
        let read = parse(kind, words.as_ref()?).and_then(|m| {
            let fits = m.value > 0.0;
            let found = format!("{} is not above zero", units.show(kind, m.value));
            fits.then_some(m.value)
                .ok_or_else(|| Trouble::input(found, format!("a {} above zero", kind.name())))
        });
        read.map_err(|t| troubles.push(t.at(flag))).ok()
    };
    let pour = positive("--pour", Kind::Volume, &args.pour);
    let cost_per_litre = positive("--cost-per-litre", Kind::Cost, &args.cost_per_litre);
    let misplaced = match method {
        Some(Method::ReturnLine) => args.drained.as_ref().map(|_| ("--drained", "--pour")),
        Some(_) => args.pour.as_ref().map(|_| ("--pour", "--drained")),
        None => None,
    };
    if let Some((given, meant)) = misplaced {
        let found = format!("{given} with the method `{}`", args.method);
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
    one(flush::answer(&flush::Question {
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
    }))
}

/// A share within a range, in per cent or as a part of one.
fn share(
    flag: &str,
    words: &str,
    range: std::ops::RangeInclusive<f64>,
    troubles: &mut Troubles,
) -> Option<f64> {
    let percent = |x| Units::Si.show(Kind::Share, x);
    let read = parse(Kind::Share, words).and_then(|Measure { value, .. }| {
        let expected = format!("{} to {}", percent(*range.start()), percent(*range.end()));
        range.contains(&value).then_some(value).ok_or_else(|| {
            let found = format!("{} outside the range", percent(value));
            Trouble::input(found, expected).hint("write a share as \"30 %\" or 0.3")
        })
    });
    read.map_err(|t| troubles.push(t.at(flag))).ok()
}
