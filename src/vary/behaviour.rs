//! What a machine does, compared with the design targets of its class.

use super::sample;
use super::sweep::full_from;
use crate::balance::{Limit, State, solve};
use crate::input::{Field, Input};
use crate::model::{Case, Machine, Setup};
use crate::quantity::{Measure, Units};
use crate::trouble::Trouble;
use rayon::prelude::*;

/// Number of sampled machines, and the seed of the sampling.
const DRAWN: (usize, u64) = (200, 20_261_129);

/// Value, SI, of a machine's behaviour at full command and usual oil temperature; `None` if there is no operating
/// point. `key` is the key of a field in [`crate::model::BEHAVIOURS`].
pub fn behaves(machine: &Machine, case: &Case, key: &str) -> Option<f64> {
    let usual = |key: &str| Some(machine.usual.engine_speed(key)?.value);
    let (idle, raised, full) = (usual("idle")?, usual("raised")?, usual("full")?);
    let mut at = *case;
    at.now.engine_speed = full;
    match key {
        "full_speed" => Some(solve(&at).ok()?.omega),
        "working_pressure" => Some(State::of(&at).ok()?.0.supply_gauge_pressure),
        "least_speed" => {
            (at.now.engine_speed, at.now.command) = (idle, 0.0);
            Some(solve(&at).ok()?.omega)
        }
        _ => {
            let limits = [Limit::Displacement, Limit::Inlet];
            let mut limited = |engine_speed: f64| {
                at.now.engine_speed = engine_speed;
                Some(limits.contains(&solve(&at).ok()?.limit))
            };
            if !limited(raised)? && !limited(idle)? {
                return Some(idle);
            }
            full_from(case, Input::ENGINE_SPEED, idle, full).or(Some(full))
        }
    }
}

/// The behaviours stated in a class file that no machine sampled within the file's ± shows.
pub fn contradicted(setup: &Setup) -> Vec<Trouble> {
    let machine = &setup.machine;
    if machine.behaviours.is_empty() {
        return Vec::new();
    }
    let together = &machine.correlations;
    let cases = sample::draw(&setup.case, &setup.spread, together, DRAWN.0, DRAWN.1);
    let out = |(field, wanted): &(&'static Field, Measure)| {
        let shown = |case: &Case| behaves(machine, case, field.key);
        let mut shown: Vec<f64> = cases.par_iter().filter_map(shown).collect();
        shown.sort_by(f64::total_cmp);
        let (low, high) = (*shown.first()?, *shown.last()?);
        let (from, to) = match wanted.by_factor() {
            Some(factor) => (wanted.value / factor, wanted.value * factor),
            None => (wanted.value - wanted.spread, wanted.value + wanted.spread),
        };
        (high < from || low > to).then(|| {
            let show = |x| Units::Si.show(field.kind, x);
            let wanted = Units::Si.show_measure(field.kind, *wanted);
            Trouble::input(
                format!("[behaviours] {} = {wanted}", field.key),
                format!(
                    "the values that follow from the ranges in the file: {} to {} in {} machines sampled from them ({})",
                    show(low),
                    show(high),
                    shown.len(),
                    field.help
                ),
            )
            .at(&machine.key)
        })
    };
    machine.behaviours.iter().filter_map(out).collect()
}
