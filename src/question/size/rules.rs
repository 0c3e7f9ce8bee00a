//! Built-in requirements: design rules.

use super::words::{Wanted, want};
use crate::model::Setup;

/// The names of the rules that [`usual`] includes; the others apply only if requested by name.
const USUAL: [&str; 6] = [
    "line velocities",
    "seal",
    "inlet",
    "relief",
    "belt",
    "viscosity",
];

/// A design rule: its name, the requirement, and its source and reliability.
type Rule = (&'static str, &'static str, &'static str);

/// All design rules. A manufacturer's own limit takes precedence over any of them.
const RULES: [Rule; 12] = [
    (
        "line velocities",
        "suction_velocity <= 1.2 m/s",
        "common practice of fluid-power handbooks, no single source",
    ),
    (
        "line velocities",
        "supply_velocity <= 7.6 m/s",
        "common practice of fluid-power handbooks, no single source",
    ),
    (
        "line velocities",
        "return_velocity <= 4.6 m/s",
        "common practice of fluid-power handbooks, no single source",
    ),
    (
        "seal",
        "return_pressure <= 14 bar",
        "common practice for the shaft seal of a gear motor, no source",
    ),
    (
        "inlet",
        "inlet_pressure >= 0.8 bar abs",
        "common practice, no source",
    ),
    (
        "relief",
        "relief_above_valve >= 10 bar",
        "engineering assumption: otherwise the relief valve opens before the control valve reaches its pressure",
    ),
    (
        "belt",
        "belt_slip <= 2 %",
        "engineering assumption: a belt that keeps slipping wears and burns",
    ),
    (
        "viscosity",
        "oil_viscosity >= 7.4 mm2/s",
        "common practice: the minimum that gear pump makers allow for hot oil, no single source",
    ),
    (
        "best viscosity",
        "oil_viscosity >= 16 mm2/s",
        "common practice: the recommended range for gear pumps, no single source",
    ),
    (
        "best viscosity",
        "oil_viscosity <= 40 mm2/s",
        "common practice: the recommended range for gear pumps, no single source",
    ),
    (
        "start",
        "oil_viscosity <= 1650 mm2/s",
        "common practice: the maximum for a cold start of gear pumps, no single source",
    ),
    (
        "oil temperature",
        "oil <= 93 C",
        "common advice on trade websites: 82 °C recommended, 93 °C the limit; no single source",
    ),
];

/// The usual rules as requirements that apply in all conditions.
pub(super) fn usual(setup: &Setup) -> Vec<Wanted> {
    read(setup, |rule| USUAL.contains(&rule.0))
}

/// The rules with a given name; empty if there are none.
pub(super) fn called(name: &str, setup: &Setup) -> Vec<Wanted> {
    let plain = name.trim().to_lowercase().replace(['_', '-'], " ");
    read(setup, |rule| rule.0 == plain)
}

/// The names of the rules.
pub(super) fn names() -> String {
    let mut names: Vec<&str> = RULES.iter().map(|rule| rule.0).collect();
    names.dedup();
    format!("the name of a design rule: {}", names.join(", "))
}

fn read(setup: &Setup, which: impl Fn(&Rule) -> bool) -> Vec<Wanted> {
    let one = |rule: &Rule| {
        let wanted = want(rule.1, setup, &mut Vec::new()).ok()?;
        Some(Wanted {
            source: Some(rule.2),
            ..wanted
        })
    };
    let rules = RULES.iter().filter(|rule| which(rule));
    rules.filter_map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ask, Lookup};

    #[test]
    fn every_rule_is_read_and_says_where_it_comes_from() {
        let setup = Ask::about("bus").resolve(Lookup::LibraryOnly).unwrap();
        let all = read(&setup, |_| true);
        assert_eq!(all.len(), RULES.len());
        assert!(
            all.iter()
                .all(|w| w.source.is_some_and(|s| !s.is_empty()) && w.at.is_none())
        );
        assert_eq!(called("Line velocities", &setup).len(), 3);
        assert!(names().contains("viscosity, best viscosity, start, oil temperature"));
    }
}
