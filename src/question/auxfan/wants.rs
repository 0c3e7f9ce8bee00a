//! Requirements on electric fans in words, and the conditions that they name.

use super::WANT;
use crate::input::Input;
use crate::model::{AuxiliaryFan, Case, Setup};
use crate::quantity::{Kind, parse};
use crate::question::want::{Situation, Spelled};
use crate::trouble::{Trouble, Troubles};

/// The quantity that a requirement limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// Steady coolant temperature.
    Coolant,
    /// Steady oil temperature.
    Oil,
    /// Limiting ambient temperature.
    Limiting,
    /// Maximum current of the set.
    Current,
    /// Depth of the deepest fan.
    Depth,
}

/// Names of the quantities that a requirement may limit, each with its kind.
const NAMES: [(&str, What, Kind); 7] = [
    ("coolant", What::Coolant, Kind::Temperature),
    ("coolant_temp", What::Coolant, Kind::Temperature),
    ("oil", What::Oil, Kind::Temperature),
    ("oil_temp", What::Oil, Kind::Temperature),
    ("limiting_ambient", What::Limiting, Kind::Temperature),
    ("current", What::Current, Kind::Current),
    ("depth", What::Depth, Kind::Length),
];

/// A requirement.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// The text as entered by the user.
    pub words: String,
    /// The quantity that it limits.
    pub what: What,
    pub(super) kind: Kind,
    least: bool,
    pub(super) bound: f64,
    /// Index of the condition in which it applies; `None` for the condition of the comparison.
    pub(super) at: Option<usize>,
}

/// The condition of a requirement: the present and the healthy machine in it, and whether the fan control sets the
/// command.
#[derive(Clone, Copy, Debug)]
pub(super) struct There {
    pub faulty: Case,
    pub healthy: Case,
    pub automatic: bool,
}

/// All requirements; empty if none are given.
#[derive(Clone, Debug, Default)]
pub struct Wants {
    /// The requirements.
    pub all: Vec<Wanted>,
    pub(super) conditions: Vec<There>,
    /// The fraction of sampled machines that must meet all requirements.
    pub sure: Option<f64>,
}

impl Wanted {
    fn read(
        words: &str,
        setup: &Setup,
        fans: &[AuxiliaryFan],
        all: &mut Vec<Situation>,
    ) -> Result<Self, Trouble> {
        let spelled = Spelled::of(words).ok_or_else(|| {
            Trouble::input(
                format!("`{words}` without >= or <="),
                format!("a requirement such as {}", WANT.example),
            )
        })?;
        let name = spelled.figure.to_lowercase().replace(['-', ' '], "_");
        let names = || NAMES.iter().map(|n| n.0);
        let Some((_, what, kind)) = NAMES.iter().find(|n| n.0 == name).copied() else {
            let found = format!("no quantity called `{}`", spelled.figure);
            let expected = names().collect::<Vec<_>>().join(", ");
            return Err(Trouble::input(found, expected).did_you_mean(&name, names()));
        };
        let bound = parse(kind, spelled.bound)?;
        if bound.spread > 0.0 {
            let found = format!("`{words}` with ±");
            return Err(Trouble::input(found, "a bound without ±"));
        }
        let of_set = [What::Current, What::Depth].contains(&what);
        if spelled.least != (what == What::Limiting) {
            let sign = if spelled.least { "<=" } else { ">=" };
            let found = format!("`{words}`");
            return Err(Trouble::input(
                found,
                format!("{} {sign} …", spelled.figure),
            ));
        }
        if of_set && spelled.condition.is_some() {
            let found = format!("`{words}` gives a condition");
            let expected = "no condition, because the set is the same in every condition";
            return Err(Trouble::input(found, expected));
        }
        let unknown = fans.iter().find(|f| f.depth.is_none());
        if let (What::Depth, Some(fan)) = (what, unknown) {
            let found = format!("the depth of the fan `{}` is not known", fan.name);
            return Err(Trouble::input(found, "a column depth in the table of fans"));
        }
        let at = spelled
            .condition
            .map(|c| Situation::numbered(c, true, setup, all));
        Ok(Self {
            words: words.split_whitespace().collect::<Vec<_>>().join(" "),
            what,
            kind,
            least: spelled.least,
            bound: bound.value,
            at: at.transpose()?,
        })
    }

    /// Margin of a value to the bound; negative if the bound is violated.
    pub(super) fn margin(&self, value: f64) -> f64 {
        if self.least {
            value - self.bound
        } else {
            self.bound - value
        }
    }

    /// Whether the requirement limits a temperature; otherwise it limits the current or depth of the set.
    pub(super) fn is_of_heat(&self) -> bool {
        ![What::Current, What::Depth].contains(&self.what)
    }
}

impl Wants {
    /// Parses the requirements, and sets up the present and the healthy machine in each condition; reports all errors
    /// at once.
    pub(super) fn read<'w>(
        words: impl Iterator<Item = &'w str>,
        setup: &Setup,
        healthy: &Case,
        fans: &[AuxiliaryFan],
    ) -> Result<Self, Troubles> {
        let (mut situations, mut troubles, mut all) = (Vec::new(), Vec::new(), Vec::new());
        for words in words {
            match Wanted::read(words, setup, fans, &mut situations) {
                Ok(want) => all.push(want),
                Err(trouble) => troubles.push(trouble.on(WANT.key)),
            }
        }
        if troubles.is_empty() && !all.is_empty() && !all.iter().any(Wanted::is_of_heat) {
            let trouble = Trouble::input(
                "no requirement on a temperature",
                format!("one such as {}", WANT.example),
            );
            troubles.push(trouble.on(WANT.key));
        }
        if !troubles.is_empty() {
            return Err(troubles);
        }
        let there = |situation: &Situation| {
            let on = |case: &Case| {
                let mut case = situation.on(case).case;
                if !situation.condition.sets(Input::COMMAND) {
                    case.now.command = 1.0;
                }
                case
            };
            There {
                faulty: on(&setup.case),
                healthy: on(healthy),
                automatic: situation.heat.is_some_and(|h| h.automatic),
            }
        };
        Ok(Self {
            conditions: situations.iter().map(there).collect(),
            all,
            sure: None,
        })
    }

    /// The present and the healthy machine in the first condition that a requirement names.
    pub(super) fn first(&self) -> Option<[Case; 2]> {
        self.conditions.first().map(|c| [c.faulty, c.healthy])
    }

    /// Maximum current or depth of a set, if a requirement limits it.
    pub(super) fn most(&self, what: What) -> Option<f64> {
        let of = self.all.iter().filter(|w| w.what == what);
        of.map(|w| w.bound).reduce(f64::min)
    }

    /// The requirements on temperatures.
    pub(super) fn of_heat(&self) -> impl Iterator<Item = &Wanted> {
        self.all.iter().filter(|w| w.is_of_heat())
    }
}
