//! The texts of requirements, free inputs and the goal, from flags or from a file.

use super::{FREE, GOAL, WANT, WANTS};
use crate::model::{Reader, Section};
use crate::question::{Field, Intake};
use crate::trouble::{Spot, Trouble};

/// The keys of a file of requirements, free inputs and a goal.
const KEYS: [&str; 3] = ["want", "free", "goal"];

/// A text, and the field or the place in a file that it comes from.
pub(super) struct Text {
    pub words: String,
    spot: Spot,
}

/// The texts of all requirements, free inputs and the goal.
#[derive(Default)]
pub(super) struct Said {
    pub wants: Vec<Text>,
    pub frees: Vec<Text>,
    pub goal: Option<Text>,
}

impl Text {
    fn typed(field: &Field, words: &str) -> Self {
        Self {
            words: words.into(),
            spot: Spot {
                field: field.key.into(),
                ..Spot::default()
            },
        }
    }
}

impl Intake<'_> {
    /// Returns the value found, or records the problem with the place that the text comes from.
    pub(super) fn keep_said<T>(&mut self, text: &Text, found: Result<T, Trouble>) -> Option<T> {
        let there = |trouble: Trouble| Trouble {
            spot: text.spot.clone(),
            ..trouble
        };
        found.map_err(|t| self.problems.push(there(t))).ok()
    }

    /// All texts: those of the file first, then those of the flags; a goal given by a flag takes precedence over that
    /// of the file.
    pub(super) fn said(&mut self) -> Said {
        let mut said = self.wanted_in_file();
        let values = self.values;
        let typed = |field: &'static Field| values.all(field).map(|w| Text::typed(field, w));
        said.wants.extend(typed(&WANT));
        said.frees.extend(typed(&FREE));
        let goal = typed(&GOAL).next().or(said.goal.take());
        let usual = || values.get(&GOAL).map(|w| Text::typed(&GOAL, w));
        said.goal = goal.or_else(usual);
        said
    }

    /// The texts of the file of requirements; empty without a file.
    fn wanted_in_file(&mut self) -> Said {
        let Some((name, text)) = self.file(&WANTS) else {
            return Said::default();
        };
        let mut reader = Reader::new(&name, &text);
        let document = reader.document();
        let whole = Section::whole(&document);
        reader.refuse_unknown(&whole, &KEYS, "a key of a requirements file");
        let mut texts = |key: &str| {
            let list = match key {
                "goal" => reader.words(&whole, key).into_iter().collect(),
                _ => reader.list(&whole, key),
            };
            let one = |(words, span): (&str, std::ops::Range<usize>)| Text {
                words: words.into(),
                spot: Spot {
                    field: WANTS.key.into(),
                    ..reader.spot(span)
                },
            };
            list.into_iter().map(one).collect::<Vec<_>>()
        };
        let [wants, frees, goal] = KEYS.map(&mut texts);
        let troubles = reader.troubles.into_iter().map(|t| t.on(WANTS.key));
        self.problems.extend(troubles);
        Said {
            wants,
            frees,
            goal: goal.into_iter().next(),
        }
    }
}
