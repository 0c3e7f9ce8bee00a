//! Attributes a difference in fan speed to the places of the circuit that differ (pump slip, lines, motor friction …),
//! by Shapley's value.
//!
//! **Source** L. S. Shapley 1953, *A value for n-person games*, Contributions to the Theory of Games II, 307–317. The
//! contribution of a place is its effect on the speed, averaged over every order in which the places can be changed.
//! The contributions therefore add up to the whole difference, and places with equal effects get equal contributions.

use crate::balance::{solve, solve_from};
use crate::input::{Input, Place};
use crate::model::{Case, Mix};
use crate::trouble::Trouble;
use rayon::prelude::*;

/// Maximum number of places: the number of subsets is 2 to this power, and more would take too long.
const MOST: usize = 16;

/// The places of the oil circuit in which two cases of the same shape differ.
pub fn differing(a: &Case, b: &Case) -> Vec<Place> {
    let oils = a.oil != b.oil || a.curve != b.curve || differs(a.now.oil_temp, b.now.oil_temp);
    Place::ALL
        .into_iter()
        .filter(|place| {
            let own = Input::all()
                .filter(|i| i.place() == *place && i.part() != "oil")
                .any(|i| matches!((a.get(i), b.get(i)), (Some(x), Some(y)) if differs(x, y)));
            own || (oils && sees_oil(a, *place))
        })
        .collect()
}

fn differs(x: f64, y: f64) -> bool {
    (x - y).abs() > 0.0
}

/// Whether the oil affects what happens at a place of this machine.
fn sees_oil(case: &Case, place: Place) -> bool {
    match place {
        Place::PumpSlip
        | Place::Inlet
        | Place::Lines
        | Place::MotorSlip
        | Place::MotorDrag
        | Place::Density => true,
        Place::FreeAir => true,
        Place::Regulator => case.regulator.is_some(),
        Place::Belt => case.belt.is_some(),
        _ => false,
    }
}

/// The contribution of each differing place to the change of fan speed from one case to another of the same shape,
/// rad/s.
pub fn shares(from: &Case, to: &Case) -> Result<Vec<(Place, f64)>, Trouble> {
    if !from.same_shape(to) {
        return Err(Trouble::no_answer(
            "the two machines have different parts or choices",
            "two machines that differ only in values, so that the difference can be attributed to places",
        ));
    }
    let places = differing(from, to);
    let count = places.len();
    if count > MOST {
        return Err(Trouble::no_answer(
            format!("the machines differ in {count} places"),
            format!("at most {MOST}"),
        ));
    }
    let start = solve(from)?.omega;
    let mix = Mix::of(from, to);
    let value = |subset: usize| -> Result<f64, Trouble> {
        let takes = |p: Place| {
            places
                .iter()
                .position(|q| *q == p)
                .is_some_and(|i| subset >> i & 1 == 1)
        };
        Ok(solve_from(&mix.taking(takes), start)?.omega)
    };
    let subsets = 0..1_usize << count;
    let speeds: Vec<f64> = if count > 6 {
        subsets
            .into_par_iter()
            .map(value)
            .collect::<Result<_, _>>()?
    } else {
        subsets.map(value).collect::<Result<_, _>>()?
    };
    Ok(places
        .iter()
        .enumerate()
        .map(|(i, place)| (*place, shapley(&speeds, count, i)))
        .collect())
}

/// As [`shares`], but averaged over only four orders, in which each place comes before every other as often as after
/// it. This takes about twenty solutions instead of hundreds, for use with hundreds of sampled cases.
pub fn shares_in_four_orders(from: &Case, to: &Case) -> Result<Vec<(Place, f64)>, Trouble> {
    let places = differing(from, to);
    let mix = Mix::of(from, to);
    let start = solve(from)?.omega;
    let mut found: Vec<(Place, f64)> = places.iter().map(|p| (*p, 0.0)).collect();
    let count = places.len();
    for turned in [0, count / 2] {
        for backwards in [false, true] {
            let (mut taken, mut before) = (Vec::with_capacity(count), start);
            for k in 0..count {
                let k = if backwards { count - 1 - k } else { k };
                let at = (k + turned) % count;
                taken.push(places[at]);
                let now = solve_from(&mix.taking(|p| taken.contains(&p)), before)?.omega;
                found[at].1 += 0.25 * (now - before);
                before = now;
            }
        }
    }
    Ok(found)
}

/// Shapley's value of player `i` of `count`, from the worth of every subset.
fn shapley(worth: &[f64], count: usize, i: usize) -> f64 {
    let mut weights = vec![1.0 / count as f64; count];
    for k in 1..count {
        // 1 / (n · C(n−1, k)), from the previous one.
        weights[k] = weights[k - 1] * k as f64 / (count - k) as f64;
    }
    worth
        .iter()
        .enumerate()
        .filter(|(subset, _)| subset >> i & 1 == 0)
        .map(|(subset, without)| {
            let with = worth.get(subset | 1 << i).copied().unwrap_or(*without);
            weights[subset.count_ones() as usize] * (with - without)
        })
        .sum()
}

/// How much of a change of fan speed is due to the oil's grade and how much to its temperature, in this order, if both
/// differ.
pub fn grade_or_temperature(from: &Case, to: &Case) -> Result<Option<(f64, f64)>, Trouble> {
    let grades = from.oil != to.oil || from.curve != to.curve;
    if !grades || !differs(from.now.oil_temp, to.now.oil_temp) {
        return Ok(None);
    }
    let at = |grade: &Case, temperature: &Case| -> Result<f64, Trouble> {
        let mut case = Case {
            oil: grade.oil,
            curve: grade.curve,
            ..*from
        };
        case.now.oil_temp = temperature.now.oil_temp;
        Ok(solve(&case)?.omega)
    };
    let worth = [at(from, from)?, at(to, from)?, at(from, to)?, at(to, to)?];
    Ok(Some((shapley(&worth, 2, 0), shapley(&worth, 2, 1))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ask, Lookup};

    /// The contributions from four orders also add up to the difference, and are close to those from all orders: to a
    /// twentieth of the difference, set before the first run.
    #[test]
    fn four_orders_come_near_all_of_them() {
        let of = |oil: &str, degrees: &str| {
            let mut ask = Ask::about("light-truck");
            (ask.oil, ask.oil_temp) = (Some(oil.into()), Some(degrees.into()));
            ask.resolve(Lookup::LibraryOnly).unwrap().case
        };
        for degrees in ["-10 C", "20 C", "80 C"] {
            let from = of("transmission-multi-vehicle", degrees);
            let to = of("central-hydraulic", degrees);
            let whole = solve(&to).unwrap().omega - solve(&from).unwrap().omega;
            let all = shares(&from, &to).unwrap();
            let four = shares_in_four_orders(&from, &to).unwrap();
            let sum: f64 = four.iter().map(|s| s.1).sum();
            assert!((sum - whole).abs() < 1e-6, "{sum} of {whole}");
            for (a, b) in all.iter().zip(&four) {
                assert_eq!(a.0, b.0);
                assert!(
                    (a.1 - b.1).abs() < 0.05 * whole.abs(),
                    "{degrees}: {a:?} {b:?}"
                );
            }
        }
    }

    /// The glove game of the textbooks: one left glove, two right ones; a pair is worth 1. Shapley: 2/3, 1/6, 1/6.
    #[test]
    fn the_glove_game_comes_out_as_in_the_textbooks() {
        let worth: Vec<f64> = (0..8_usize)
            .map(|s| if s & 1 == 1 && s & 6 != 0 { 1.0 } else { 0.0 })
            .collect();
        let values: Vec<f64> = (0..3).map(|i| shapley(&worth, 3, i)).collect();
        assert!((values[0] - 2.0 / 3.0).abs() < 1e-12);
        assert!((values[1] - 1.0 / 6.0).abs() < 1e-12 && (values[2] - 1.0 / 6.0).abs() < 1e-12);
    }
}
