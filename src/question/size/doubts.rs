//! The cautions about a design.

use super::Size;
use crate::input::Input;
use crate::model::{Caution, INPUTS};
use crate::question::state;
use crate::vary::size::Solved;

/// The fronts of the core in which an oil cooler may be: the fraction of it there, and the air pressure drop.
const FRONTS: [(Input, Input); 3] = [
    (INPUTS.front_1.oil_cooler, INPUTS.front_1.drop),
    (INPUTS.front_2.oil_cooler, INPUTS.front_2.drop),
    (INPUTS.front_3.oil_cooler, INPUTS.front_3.drop),
];

impl Size {
    /// The cautions about the design, each once: where the oil is hottest, if in several conditions.
    pub(super) fn cautions(&self, solved: &[Solved]) -> Vec<Caution> {
        let oil = |s: &Solved| s.stand.case.now.oil_temp;
        let mut order: Vec<&Solved> = solved.iter().collect();
        order.sort_by(|a, b| oil(b).total_cmp(&oil(a)));
        let setup = &self.setup;
        let there = setup.oil.cautions(setup.case.now.oil_temp);
        let of_setup = setup.cautions.iter().filter(|c| !there.contains(c));
        let found = order.into_iter().flat_map(|s| self.here(s));
        let kept = |c: &Caution| matches!(c, Caution::ResistanceKept { .. });
        let mut all: Vec<Caution> = Vec::new();
        for caution in found.chain(self.kept()).chain(of_setup.cloned()) {
            if !all
                .iter()
                .any(|c| c == &caution || (c.key() == caution.key() && !kept(c)))
            {
                all.push(caution);
            }
        }
        all
    }

    /// The cautions about the design in one condition. Of coolant that boils nothing else is said.
    fn here(&self, solved: &Solved) -> Vec<Caution> {
        let Some(warm) = solved.warm() else {
            let case = solved.stand.case;
            let mut there = self.setup.clone();
            (there.case, there.cautions) = (case, there.oil.cautions(case.now.oil_temp));
            return state::cautions(&there, &solved.stand.state, solved.operating.limit);
        };
        let mut all = state::warm_cautions(&self.setup, warm);
        if solved.boils() {
            let hot = |c: &Caution| {
                matches!(
                    c,
                    Caution::CoolantMayBoil | Caution::CoolantAboveLimit { .. }
                )
            };
            all.retain(|c| !hot(c));
            all.insert(0, Caution::CoolantBoils);
        }
        all
    }

    /// The cautions about heat exchangers that are sized while the resistance to the air stays as it is.
    fn kept(&self) -> Vec<Caution> {
        let free = |input| self.ranges.iter().any(|r| r.input == input);
        let there = |input| self.setup.case.get(input).is_some_and(|share| share > 0.0);
        let fronts = FRONTS.iter().filter(|(share, _)| there(*share));
        let cooler = fronts.map(|(_, drop)| (INPUTS.oil_heat.cooler, *drop));
        let core = [(INPUTS.core.conductance, INPUTS.core.rated_drop)];
        let all = core.into_iter().chain(cooler);
        let sized = all.filter(|(input, kept)| free(*input) && !free(*kept));
        sized
            .map(|(input, kept)| Caution::ResistanceKept { input, kept })
            .collect()
    }
}
