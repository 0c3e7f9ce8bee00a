//! Variants of the machine on the same trip.

use super::{Look, Side, Trip, VARIANT, side_with};
use crate::model::Ask;
use crate::outcome;
use crate::question::Flat;
use crate::question::Values;
use crate::question::basis::WITH;
use crate::trouble::{Trouble, Troubles};

/// Maximum number of variants.
const MOST: usize = 100;

/// A variant of the machine.
#[derive(Clone, Debug)]
pub struct Variant {
    /// Name of the variant.
    pub name: String,
    /// The machine as changed by the variant.
    pub side: Side,
}

outcome! {
    /// The results of the trip for a variant.
    pub struct VariantLook {
        /// Name of the variant.
        name: String,
        /// The results of the trip.
        look: Flat<Look>,
    }
}

/// What a variant changes.
enum Change<'w> {
    Machine(&'w str),
    Oil(&'w str),
    With(&'w str),
    Set(&'w str),
}

impl<'w> Change<'w> {
    fn read(words: &'w str) -> Result<Self, Trouble> {
        let named = words
            .split_once(' ')
            .map(|(name, rest)| (name, rest.trim()));
        match named {
            Some(("machine", rest)) => Ok(Self::Machine(rest)),
            Some(("oil", rest)) => Ok(Self::Oil(rest)),
            Some(("with", rest)) => Ok(Self::With(rest)),
            _ if words.contains('=') && words.contains('.') => Ok(Self::Set(words)),
            _ => {
                let found = format!("`{words}` is not a change to a machine");
                let expected = "part.key=value, oil …, machine … or with fault=severity";
                Err(Trouble::input(found, expected))
            }
        }
    }
}

/// Key of the input in a setting such as `part.key=value`.
fn key(setting: &str) -> &str {
    setting.split('=').next().unwrap_or_default().trim()
}

impl Variant {
    /// Parses `name: change; change`; `ask` is the request for the original machine, to which the changes apply.
    fn read(words: &str, values: &Values, ask: &Ask) -> Result<Self, Troubles> {
        let (name, changes) = words.split_once(':').ok_or_else(|| {
            let found = format!("`{words}` does not begin with a name and a colon");
            vec![Trouble::input(
                found,
                format!("a variant such as `{}`", VARIANT.example),
            )]
        })?;
        let name = name.trim().to_string();
        let mut ask = ask.clone();
        let mut faults = None;
        for words in changes.split(';').map(str::trim).filter(|w| !w.is_empty()) {
            match Change::read(words).map_err(|t| vec![t])? {
                Change::Machine(machine) => {
                    (ask.machine, ask.machine_text) = (machine.into(), None);
                }
                Change::Oil(oil) => ask.oil = Some(oil.into()),
                Change::With(fault) => faults.get_or_insert_with(Vec::new).push(fault.into()),
                Change::Set(setting) => {
                    ask.set.retain(|other| key(other) != key(setting));
                    ask.set.push(setting.into());
                }
            }
        }
        let faults = faults.unwrap_or_else(|| values.list(&WITH));
        let side = side_with(values, &ask, &faults, WITH.key)?;
        Ok(Self { name, side })
    }

    /// Parses all variants; every error is assigned to the field of variants and names its variant.
    pub(super) fn all(values: &Values, ask: &Ask) -> Result<Vec<Self>, Troubles> {
        let (mut all, mut troubles): (Vec<Self>, Troubles) = (Vec::new(), Vec::new());
        for words in values.all(&VARIANT) {
            match Self::read(words, values, ask) {
                Ok(one) if all.iter().any(|other| other.name == one.name) => {
                    let found = format!("two variants are called `{}`", one.name);
                    troubles
                        .push(Trouble::input(found, "a different name for each").on(VARIANT.key));
                }
                Ok(one) => all.push(one),
                Err(found) => troubles.extend(found.into_iter().map(|t| of_variant(words, t))),
            }
        }
        if all.len() > MOST {
            let found = format!("{} variants", all.len());
            troubles.push(Trouble::input(found, format!("at most {MOST}")).on(VARIANT.key));
        }
        if troubles.is_empty() {
            Ok(all)
        } else {
            Err(troubles)
        }
    }

    pub(super) fn look(&self, request: &Trip) -> Result<VariantLook, Troubles> {
        let look = Look::of(request, &self.side);
        let look = look.map_err(|all| {
            all.into_iter()
                .map(|t| of_variant(&self.name, t))
                .collect::<Troubles>()
        })?;
        Ok(VariantLook {
            name: self.name.clone(),
            look: Flat(look),
        })
    }
}

/// Adds the name of the variant to an error, and assigns the error to the field of variants.
fn of_variant(words: &str, trouble: Trouble) -> Trouble {
    let name = words.split(':').next().unwrap_or_default().trim();
    let found = match trouble.found.contains(words) {
        true => trouble.found.clone(),
        false => format!("variant `{name}`: {}", trouble.found),
    };
    let mut trouble = Trouble { found, ..trouble };
    trouble.spot.field = VARIANT.key.into();
    trouble
}
