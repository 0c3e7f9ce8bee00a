//! What can go wrong, as values: a fault changes a few inputs of a case by one severity.

mod family;
mod heat;
mod list;
pub mod priors;

pub use family::Subsystem;
pub use heat::HEAT;
use list::OTHER_FORMS;
pub use list::{ALL, THINNEST};

use crate::input::Input;
use crate::model::{Ask, Case, Hazard, Posed, Shelf};
use crate::quantity::{self, Kind};
use crate::trouble::{Trouble, Troubles, near};

/// One fault.
#[derive(Clone, Copy, Debug)]
pub struct Fault {
    /// What it is asked for by: `worn-pump`.
    pub key: &'static str,
    /// What of the machine it belongs to.
    pub of: Subsystem,
    /// Its name in words.
    pub name: &'static str,
    /// What the least and the greatest severity mean.
    pub severity: &'static str,
    /// Least and greatest severity; at the least it changes nothing.
    pub range: (f64, f64),
    /// How it shows.
    pub shows: &'static str,
    /// The test or reading that settles it.
    pub confirm: &'static str,
    /// What that takes, minutes.
    pub effort_minutes: f64,
    /// What can hurt on the way.
    pub hazards: &'static [Hazard],
    /// The part without which a machine cannot have it; none where every machine has what it takes.
    pub part: Option<&'static str>,
    /// Changes a case by a severity.
    pub apply: fn(&mut Case, f64),
}

impl Fault {
    /// A case with this fault.
    pub fn on(&self, case: &Case, severity: f64) -> Case {
        let mut faulty = *case;
        (self.apply)(&mut faulty, severity);
        faulty
    }

    /// The fault in each of its forms.
    pub fn forms(&self) -> impl Iterator<Item = Fault> + use<> {
        let first = *self;
        let other = OTHER_FORMS
            .into_iter()
            .find(|(key, _)| *key == first.key)
            .map(|(_, apply)| Fault { apply, ..first });
        std::iter::once(first).chain(other)
    }

    /// Whether the machine has the part that it sits in.
    pub fn applies(&self, case: &Case) -> Result<(), Trouble> {
        let Some(part) = self.part else { return Ok(()) };
        if Input::all().any(|i| i.part() == part && case.get(i).is_some()) {
            return Ok(());
        }
        Err(Trouble::input(
            format!("`{}` on a machine without [{part}]", self.key),
            "a fault of a part that the machine has",
        ))
    }
}

/// The fault of a key.
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

/// The name of the fault of a key; of any other key, the key.
pub fn name(key: &str) -> &str {
    let mut all = ALL.iter().chain(HEAT);
    all.find(|f| f.key == key).map_or(key, |f| f.name)
}

/// Understands what is asked, with faults put on, each as `worn-pump=0.4`.
pub fn pose(ask: &Ask, faults: &[String], shelf: Shelf) -> Result<Posed, Troubles> {
    let mut posed = ask.pose(shelf)?;
    put_on(&mut posed, faults, "with")?;
    Ok(posed)
}

/// Puts faults, each as `worn-pump=0.4`, on a question's case, one after the other; `field` is the key of the field that names them.
pub fn put_on(posed: &mut Posed, faults: &[String], field: &str) -> Result<(), Troubles> {
    let mut troubles = Vec::new();
    let mut on: Vec<&str> = Vec::new();
    for text in faults {
        let found = parse(text).and_then(|(fault, severity)| {
            fault.applies(&posed.case)?;
            if on.contains(&fault.key) {
                let found = format!("`{}` twice", fault.key);
                return Err(Trouble::input(
                    found,
                    "each fault once, with its whole severity",
                ));
            }
            on.push(fault.key);
            Ok((fault, severity))
        });
        match found {
            Ok((fault, severity)) => {
                posed.case = fault.on(&posed.case, severity);
                posed.faults.push((fault.key, severity));
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

/// A fault with its severity, as `worn-pump=0.4` or `worn-pump=40 %`.
pub fn parse(text: &str) -> Result<(&'static Fault, f64), Trouble> {
    let (key, severity) = match text.split_once('=') {
        Some((key, severity)) => (key, severity.trim()),
        None => (text, ""),
    };
    let fault = find(key)?;
    let (low, high) = fault.range;
    let expected = format!(
        "{}=severity, from {low} to {high}: {}",
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
