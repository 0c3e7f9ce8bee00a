//! The commands on oils: `oil` and `flush`.

use super::flags::{FlushArgs, OilArgs};
use super::one;
use crate::model::{Ask, OILS, Shelf, share};
use crate::quantity::Units;
use crate::study::{Answer, flush, oil};
use crate::trouble::{Trouble, Troubles};

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
    let typed = flush::Typed {
        from_oil: args.from_oil.clone(),
        to_oil: args.to_oil.clone(),
        method: args.method.clone(),
        target: args.target.clone(),
        speed_within: args.speed_within.clone(),
        drained: args.drained.clone(),
        pour: args.pour.clone(),
        stagnant: args.stagnant.clone(),
        mixing: args.mixing.clone(),
        cost_per_litre: args.cost_per_litre.clone(),
    };
    match flush::pose(&args.ask.ask(units), &args.ask.with, &typed, Shelf::Files) {
        Ok(question) if troubles.is_empty() => one(flush::answer(&question)),
        question => {
            troubles.extend(question.err().into_iter().flatten());
            Err(troubles)
        }
    }
}
