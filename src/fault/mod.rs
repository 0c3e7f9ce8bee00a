//! Faults declared as data: each fault changes a few inputs of a case, by amounts that depend on a single number, its
//! severity.

mod family;
mod heat;
mod list;
pub mod priors;

pub use family::Subsystem;
pub use heat::HEAT;
use list::OTHER_FORMS;
pub use list::{ALL, THINNEST};

use crate::input::Input;
use crate::model::{Ask, Case, Hazard, Lookup, Setup};
use crate::quantity::{self, Kind};
use crate::trouble::{Trouble, Troubles, near};

/// A fault that a machine may have.
#[derive(Clone, Copy, Debug)]
pub struct Fault {
    /// Key by which the user selects the fault, such as `worn-pump`.
    pub key: &'static str,
    /// The subsystem of the machine that the fault belongs to.
    pub of: Subsystem,
    /// Name of the fault.
    pub name: &'static str,
    /// What the minimum and the maximum severity mean, in words.
    pub severity: &'static str,
    /// What a given severity means: a text with `{}` in place of a number, and the function that computes this number
    /// from the severity.
    pub extent: (&'static str, fn(f64) -> f64),
    /// Minimum and maximum severity; at the minimum the fault has no effect.
    pub range: (f64, f64),
    /// Symptoms of the fault.
    pub shows: &'static str,
    /// The test or reading that confirms the fault.
    pub confirm: &'static str,
    /// Time needed for the confirming test, minutes.
    pub effort_minutes: f64,
    /// Hazards of the confirming test.
    pub hazards: &'static [Hazard],
    /// The part that a machine must have for this fault to apply; `None` if the fault applies to every machine.
    pub part: Option<&'static str>,
    /// Changes the inputs of a case according to the severity.
    pub apply: fn(&mut Case, f64),
}

impl Fault {
    /// A copy of the case with this fault at the given severity.
    pub fn on(&self, case: &Case, severity: f64) -> Case {
        let mut faulty = *case;
        (self.apply)(&mut faulty, severity);
        faulty
    }

    /// The fault in each form that it may take: as declared, and in its alternative form if there is one.
    pub fn forms(&self) -> impl Iterator<Item = Fault> + use<> {
        let first = *self;
        let other = OTHER_FORMS
            .into_iter()
            .find(|(key, _)| *key == first.key)
            .map(|(_, apply)| Fault { apply, ..first });
        std::iter::once(first).chain(other)
    }

    /// Describes an estimated severity in words, with the range of its uncertainty: `clearances 2.4 times as wide (1.8
    /// to 3.1)`.
    pub fn meaning(&self, [low, middle, high]: [f64; 3]) -> String {
        let (words, number) = self.extent;
        let percent = words.contains("{} %");
        let shown = |severity: f64| match percent {
            true => format!("{:.0}", number(severity)),
            false => format!("{:.1}", number(severity)),
        };
        let [first, last] = match number(low) <= number(high) {
            true => [shown(low), shown(high)],
            false => [shown(high), shown(low)],
        };
        let unit = if percent { " %" } else { "" };
        let said = words.replace("{}", &shown(middle));
        match first == last {
            true => said,
            false => format!("{said} ({first} to {last}{unit})"),
        }
    }

    /// Checks that the machine has the part that this fault affects.
    pub fn applies(&self, case: &Case) -> Result<(), Trouble> {
        let Some(part) = self.part else { return Ok(()) };
        if Input::all().any(|i| i.part() == part && case.get(i).is_some()) {
            return Ok(());
        }
        Err(Trouble::input(
            format!("`{}`, but the machine file has no [{part}]", self.key),
            "a fault of a part that the machine has",
        ))
    }
}

/// Finds the fault with a given key.
pub fn find(key: &str) -> Result<&'static Fault, Trouble> {
    let key = key.trim();
    if let Some(fault) = ALL.iter().chain(HEAT).find(|f| f.key == key) {
        return Ok(fault);
    }
    let keys: Vec<&str> = ALL.iter().chain(HEAT).map(|f| f.key).collect();
    let (expected, hint) = match near(key, keys.iter().copied()) {
        Some(k) => ("the key of a fault".into(), format!("did you mean `{k}`?")),
        None => (format!("one of {}", keys.join(", ")), String::new()),
    };
    Err(Trouble::input(format!("no fault called `{key}`"), expected).hint(hint))
}

/// The name of the fault with a given key; an unknown key is returned unchanged.
pub fn name(key: &str) -> &str {
    let mut all = ALL.iter().chain(HEAT);
    all.find(|f| f.key == key).map_or(key, |f| f.name)
}

/// Resolves a request and applies faults to the resulting case; each fault is given as text such as `worn-pump=0.4`.
pub fn resolve(ask: &Ask, faults: &[String], lookup: Lookup) -> Result<Setup, Troubles> {
    let mut setup = ask.resolve(lookup)?;
    put_on(&mut setup, faults, "with")?;
    Ok(setup)
}

/// Applies faults to the resolved case one after the other; each fault is given as text such as `worn-pump=0.4`.
/// `field` is the key of the field that holds these texts, for error messages.
pub fn put_on(setup: &mut Setup, faults: &[String], field: &str) -> Result<(), Troubles> {
    let mut troubles = Vec::new();
    let mut on: Vec<&str> = Vec::new();
    for text in faults {
        let found = parse(text).and_then(|(fault, severity)| {
            fault.applies(&setup.case)?;
            if on.contains(&fault.key) {
                let found = format!("`{}` is given twice", fault.key);
                return Err(Trouble::input(
                    found,
                    "each fault once, with its total severity",
                ));
            }
            on.push(fault.key);
            Ok((fault, severity))
        });
        match found {
            Ok((fault, severity)) => {
                setup.case = fault.on(&setup.case, severity);
                setup.faults.push((fault.key, severity));
            }
            Err(trouble) => troubles.push(trouble.on(field)),
        }
    }
    if troubles.is_empty() {
        Ok(())
    } else {
        Err(troubles)
    }
}

/// Parses a fault with its severity, such as `worn-pump=0.4` or `worn-pump=40 %`.
pub fn parse(text: &str) -> Result<(&'static Fault, f64), Trouble> {
    let (key, severity) = match text.split_once('=') {
        Some((key, severity)) => (key, severity.trim()),
        None => (text, ""),
    };
    let fault = find(key)?;
    let (low, high) = fault.range;
    let expected = format!(
        "{}=SEVERITY from {low} to {high} ({})",
        fault.key, fault.severity
    );
    if severity.is_empty() {
        return Err(Trouble::input(
            format!("`{}` without a severity", fault.key),
            expected,
        ));
    }
    match quantity::parse(Kind::Share, severity) {
        Ok(m) if m.spread <= 0.0 && (low..=high).contains(&m.value) => Ok((fault, m.value)),
        _ => Err(Trouble::input(
            format!("a severity of `{severity}`"),
            expected,
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_a_fault_with_its_severity() {
        for text in ["worn-pump=0.4", " worn-pump = 40 % "] {
            let (fault, severity) = parse(text).unwrap();
            assert_eq!(fault.key, "worn-pump");
            assert!((severity - 0.4).abs() < 1e-12);
        }
    }

    /// At severities 0 and 1, the number in `extent` agrees with the words in `severity`.
    #[test]
    fn the_meaning_of_a_severity_is_that_of_its_ends() {
        for fault in ALL.iter().chain(HEAT) {
            let (words, number) = fault.extent;
            assert_eq!(words.matches("{}").count(), 1, "{}", fault.key);
            let share = if words.contains("{} %") { 100.0 } else { 1.0 };
            let (none, gross) = (number(0.0) / share, number(1.0) / share);
            assert!(
                none.abs().min((none - 1.0).abs()) < 1e-12,
                "{}: {none}",
                fault.key
            );
            // The number that the words in `severity` state for severity 1.
            let declared = match fault.severity.split_once(", 1 = ").unwrap().1 {
                w if w.starts_with("four times") => 4.0,
                w if w.starts_with("ten times") => 10.0,
                w if w.contains("half as much again") => 1.5,
                w if w.starts_with("30 %") => 0.3,
                w if w.contains("70 %") => 0.7,
                w if w.starts_with("half") => 0.5,
                w if w.contains("two thirds") => 0.67,
                w if w.contains("two fifths") => 0.4,
                w if w.contains("tenth") => 0.1,
                w if w.contains("twentieth") => 0.05,
                w if w.starts_with("none") => 0.0,
                _ => 1.0,
            };
            assert!((gross - declared).abs() < 1e-9, "{}: {gross}", fault.key);
        }
    }

    #[test]
    fn says_what_a_severity_means() {
        let pump = find("worn-pump").unwrap();
        assert_eq!(
            pump.meaning([0.2, 0.4, 0.6]),
            "clearances 2.2 times as wide (1.6 to 2.8)"
        );
        let belt = find("relief-low").unwrap();
        assert_eq!(
            belt.meaning([0.0, 0.5, 1.0]),
            "opens at 55 % of its setting (10 to 100 %)"
        );
    }

    #[test]
    fn says_what_is_wrong() {
        let says = |text: &str| parse(text).unwrap_err().to_string();
        assert!(says("wornpump=0.4").contains("did you mean `worn-pump`?"));
        assert!(says("gremlins=1").contains("one of worn-pump, "));
        assert!(says("worn-pump").contains("without a severity"));
        assert!(says("worn-pump=").contains("without a severity"));
        for severity in ["1.1", "-0.1", "nan", "much", "0.4 ± 0.1", "40 bar"] {
            let said = says(&format!("worn-pump={severity}"));
            assert!(
                said.contains(&format!("severity of `{severity}`")) && said.contains("from 0 to 1"),
                "{said}"
            );
        }
    }
}
