//! Prior weights, read from a file: how common each fault is, before anything has been measured.

use super::{ALL, Fault, HEAT};
use crate::trouble::{Trouble, Troubles, near};
use toml::de::{DeTable, DeValue};

/// The built-in weights.
pub const EMBEDDED: &str = include_str!("../../models/priors.toml");

/// The key of the weight of "nothing wrong that matters".
pub const NOTHING: &str = "nothing";

/// The key of the weight of a cause that is not listed.
pub const NOT_LISTED: &str = "not-listed";

/// The prior weights: how common each cause is relative to the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Priors {
    /// Weight of "nothing wrong that matters".
    pub nothing: f64,
    /// Weight of a cause that is not listed.
    pub not_listed: f64,
    /// Weight of each fault: first those of `ALL` (oil side), then those of `HEAT` (heat side).
    pub weights: Vec<f64>,
    /// Source of the weights.
    pub status: String,
}

/// The keys of the weights in order: `nothing`, `not-listed`, then all faults.
fn keys() -> impl Iterator<Item = &'static str> {
    let own = [NOTHING, NOT_LISTED].into_iter();
    own.chain(ALL.iter().chain(HEAT).map(|f| f.key))
}

/// Reads the weights from a TOML text, in the order of `keys`; a weight that is missing or wrong is `None`.
fn weights(
    document: &toml::Spanned<DeTable<'_>>,
    text: &str,
    troubles: &mut Troubles,
) -> Vec<Option<f64>> {
    let mut note = |found: String, expected: &str, hint: String, span| {
        troubles.push(
            Trouble::input(found, expected)
                .hint(hint)
                .within(text, span),
        );
    };
    let mut found: Vec<Option<f64>> = vec![None; ALL.len() + HEAT.len() + 2];
    if let Some((_, section)) = document.get_ref().get_key_value("weight")
        && let DeValue::Table(table) = section.get_ref()
    {
        for (key, value) in table {
            let name: &str = key.get_ref();
            let number = match value.get_ref() {
                DeValue::Integer(i) => i.as_str().replace('_', "").parse().ok(),
                DeValue::Float(f) => f.as_str().replace('_', "").parse().ok(),
                _ => None,
            };
            let place = keys().position(|k| k == name);
            match (place, number) {
                (None, _) => {
                    let hint = near(name, keys())
                        .map_or(String::new(), |k| format!("did you mean `{k}`?"));
                    note(
                        format!("a weight for `{name}`"),
                        "the key of a fault, `nothing` or `not-listed`",
                        hint,
                        key.span(),
                    );
                }
                (Some(place), Some(weight)) if f64::is_finite(weight) && weight >= 0.0 => {
                    if let Some(slot) = found.get_mut(place) {
                        *slot = Some(weight);
                    }
                }
                _ => {
                    let typed = text.get(value.span()).unwrap_or_default();
                    note(
                        format!("a weight of {typed} for `{name}`"),
                        "a number of 0 or more",
                        String::new(),
                        value.span(),
                    );
                }
            }
        }
    } else {
        note(
            "no [weight]".into(),
            "[weight] with a number for each cause",
            String::new(),
            0..0,
        );
    }
    found
}

/// Returns an error if a weight is missing, or if all weights are 0.
fn incomplete(found: &[Option<f64>]) -> Option<Trouble> {
    let missing: Vec<&str> = keys()
        .zip(found)
        .filter(|(_, w)| w.is_none())
        .map(|(k, _)| k)
        .collect();
    let total: f64 = found.iter().flatten().sum();
    if !missing.is_empty() {
        return Some(Trouble::input(
            format!("no weight for {}", missing.join(", ")),
            "a weight for each cause; 0 for an impossible one",
        ));
    }
    let all_zero = !(total > 0.0 && total.is_finite());
    all_zero.then(|| Trouble::input("all weights are 0", "at least one weight above 0"))
}

impl Priors {
    /// The built-in weights.
    pub fn usual() -> Result<Self, Troubles> {
        Self::from_text("models/priors.toml", EMBEDDED)
    }

    /// Parses the text of a file; `source` is the file's name in messages.
    pub fn from_text(source: &str, text: &str) -> Result<Self, Troubles> {
        let (document, errors) = DeTable::parse_recoverable(text);
        let mut troubles: Troubles = errors
            .iter()
            .map(|e| {
                let trouble = Trouble::input(e.message(), "TOML");
                trouble.within(text, e.span().unwrap_or(0..0))
            })
            .collect();
        let status = match document.get_ref().get("status").map(|s| s.get_ref()) {
            Some(DeValue::String(words)) => words.to_string(),
            _ => String::new(),
        };
        let found = weights(&document, text, &mut troubles);
        if troubles.is_empty() {
            troubles.extend(incomplete(&found));
        }
        if !troubles.is_empty() {
            return Err(troubles.into_iter().map(|t| t.at(source)).collect());
        }
        let mut weights = found.into_iter().map(Option::unwrap_or_default);
        Ok(Self {
            nothing: weights.next().unwrap_or_default(),
            not_listed: weights.next().unwrap_or_default(),
            weights: weights.collect(),
            status,
        })
    }

    /// Each fault of the oil side with its weight.
    pub fn faults(&self) -> Vec<(&'static Fault, f64)> {
        ALL.iter().zip(self.weights.iter().copied()).collect()
    }

    /// Each fault of the oil side and of the heat side, with its weight.
    pub fn all_faults(&self) -> Vec<(&'static Fault, f64)> {
        let both = ALL.iter().chain(HEAT);
        both.zip(self.weights.iter().copied()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_embedded_weights_are_sound() {
        let priors = Priors::from_text("models/priors.toml", EMBEDDED).unwrap();
        assert!(priors.nothing > 0.0 && priors.weights.len() == ALL.len() + HEAT.len());
        assert!(priors.status.contains("Judgment"));
    }

    #[test]
    fn every_mistake_is_told() {
        let says = |text: &str| {
            let all = Priors::from_text("p", text).unwrap_err();
            all.iter()
                .map(|t| t.to_string())
                .collect::<Vec<_>>()
                .join("\n")
        };
        assert!(says("").contains("no [weight]"));
        let negative = EMBEDDED.replace("worn-pump = 1.5", "worn-pump = -1.5");
        assert!(says(&negative).contains("-1.5 for `worn-pump`"));
        let unknown = EMBEDDED.replace("worn-pump", "wornpump");
        assert!(says(&unknown).contains("did you mean `worn-pump`?"));
        let missing = EMBEDDED.replace("worn-motor = 1\n", "");
        assert!(says(&missing).contains("no weight for worn-motor"));
        let lines =
            |f: &dyn Fn(&str) -> String| EMBEDDED.lines().map(f).collect::<Vec<_>>().join("\n");
        let zero = lines(&|l| match l.split_once(" = ") {
            Some((key, _)) if key != "status" => format!("{key} = 0"),
            _ => l.into(),
        });
        assert!(says(&zero).contains("all weights are 0"));
        assert!(says("[weight\nnothing = ").contains("TOML"));
        assert!(says(&EMBEDDED.replace("= 3 ", "= nan ")).contains("nan for `nothing`"));
    }
}
