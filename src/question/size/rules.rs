//! Built-in requirements: design rules.

use super::words::{Wanted, want};
use crate::model::Posed;

/// Each rule with its source. No rule is a law: a maker's own value takes precedence.
const RULES: [(&str, &str); 8] = [
    (
        "suction_velocity <= 1.2 m/s",
        "common practice of fluid-power handbooks, no single source",
    ),
    (
        "supply_velocity <= 7.6 m/s",
        "common practice of fluid-power handbooks, no single source",
    ),
    (
        "return_velocity <= 4.6 m/s",
        "common practice of fluid-power handbooks, no single source",
    ),
    (
        "return_pressure <= 14 bar",
        "common practice for the shaft seal of a gear motor, no source",
    ),
    (
        "inlet_pressure >= 0.8 bar abs",
        "common practice, no source",
    ),
    (
        "relief_above_valve >= 10 bar",
        "engineering assumption: otherwise the relief valve opens before the control valve reaches its pressure",
    ),
    (
        "belt_slip <= 2 %",
        "engineering assumption: a belt that keeps slipping wears and burns",
    ),
    (
        "oil_viscosity >= 7.4 mm2/s",
        "common practice: the minimum that gear pump makers allow hot, no single source",
    ),
];

/// The rules as requirements that apply in all conditions.
pub(super) fn wants(posed: &Posed) -> Vec<Wanted> {
    let one = |(words, source): &(&str, &'static str)| {
        let wanted = want(words, posed, &mut Vec::new()).ok()?;
        Some(Wanted {
            source: Some(source),
            ..wanted
        })
    };
    RULES.iter().filter_map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ask, Shelf};

    #[test]
    fn every_rule_is_read_and_says_where_it_comes_from() {
        let posed = Ask::about("bus").pose(Shelf::LibraryOnly).unwrap();
        let all = wants(&posed);
        assert_eq!(all.len(), RULES.len());
        assert!(
            all.iter()
                .all(|w| w.source.is_some_and(|s| !s.is_empty()) && w.at.is_none())
        );
    }
}
