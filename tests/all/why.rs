//! Shares among places, and the viscosities that would make a reading.

use crate::random::Random;
use oilwheel::balance::{Limit, solve};
use oilwheel::input::unit::{MM2_S, RPM, celsius};
use oilwheel::input::{Input, Place};
use oilwheel::model::{Ask, Case, Lookup, Mix};
use oilwheel::vary::{inverse, shares};

fn truck(oil: &str, oil_temp: &str, engine: &str) -> Case {
    let ask = Ask {
        oil: Some(oil.into()),
        oil_temp: Some(oil_temp.into()),
        engine_speed: Some(engine.into()),
        ..Ask::about("light-truck")
    };
    ask.resolve(Lookup::LibraryOnly).unwrap().case
}

fn speed(case: &Case) -> f64 {
    solve(case).unwrap().omega
}

/// Random pairs of the same shape that differ in oil, temperature and some inputs.
fn pairs(count: usize) -> Vec<(Case, Case)> {
    let mut random = Random::new(7);
    let mut found = Vec::new();
    while found.len() < count {
        let a = random.case();
        let mut b = a;
        b.oil.thickness = random.log(0.3, 4.0);
        b.oil.density = random.even(800.0, 900.0);
        b.now.oil_temp = celsius(random.even(-20.0, 110.0));
        b.pump.slip *= random.log(0.3, 3.0);
        b.motor.drag *= random.log(0.3, 3.0);
        if speed(&a) > 0.0 && speed(&b) > 0.0 {
            found.push((a, b));
        }
    }
    found
}

#[test]
fn shares_add_up_and_turn_their_sign() {
    for (a, b) in pairs(40) {
        let there = shares::shares(&a, &b).unwrap();
        let back = shares::shares(&b, &a).unwrap();
        let sum: f64 = there.iter().map(|(_, v)| v).sum();
        let difference = speed(&b) - speed(&a);
        assert!(
            (sum - difference).abs() <= 1e-9 * speed(&a).max(1.0),
            "{sum} of {difference}"
        );
        for ((p, x), (q, y)) in there.iter().zip(&back) {
            assert_eq!(p, q);
            assert!(
                (x + y).abs() <= 1e-9 * speed(&a).max(1.0),
                "{p:?}: {x} there, {y} back"
            );
        }
    }
}

#[test]
fn equal_cases_share_nothing() {
    let case = truck("central-hydraulic", "80 C", "idle");
    assert!(shares::shares(&case, &case).unwrap().is_empty());
}

#[test]
fn one_changed_place_takes_all() {
    let a = truck("central-hydraulic", "80 C", "idle");
    for (key, factor, place) in [
        ("pump.slip", 5.0, Place::PumpSlip),
        ("motor.turbulent_slip", 3.0, Place::MotorSlip),
        ("pump.displacement", 0.9, Place::Pump),
        ("fan.rated_power", 1.2, Place::FanAir),
    ] {
        let input = Input::find(key).unwrap();
        let b = a.with(input, a.get(input).unwrap() * factor);
        let found = shares::shares(&a, &b).unwrap();
        assert_eq!(found.len(), 1, "{key}");
        assert_eq!(found[0].0, place);
        assert!((found[0].1 - (speed(&b) - speed(&a))).abs() < 1e-9);
    }
}

#[test]
fn machines_of_different_shape_get_no_split() {
    let truck = truck("central-hydraulic", "80 C", "idle");
    let bus = Ask::about("bus").resolve(Lookup::LibraryOnly).unwrap().case;
    assert!(shares::shares(&truck, &bus).is_err());
}

#[test]
fn taking_every_place_from_the_other_makes_it_the_other() {
    for (a, b) in pairs(20) {
        let mixed = Mix::of(&a, &b).taking(|_| true);
        assert!((speed(&mixed) - speed(&b)).abs() <= 1e-9 * speed(&b));
        let none = Mix::of(&a, &b).taking(|_| false);
        assert!((speed(&none) - speed(&a)).abs() <= 1e-9 * speed(&a));
    }
}

#[test]
fn the_inverse_finds_the_viscosity_that_made_a_reading() {
    for (oil, t, engine) in [
        ("transmission-multi-vehicle", "-10 C", "raised"),
        ("steering-mineral", "0 C", "raised"),
        ("transmission-sheared", "90 C", "idle"),
    ] {
        let made_by = truck(oil, t, engine);
        let nu = inverse::base_viscosity(&made_by);
        // The same viscosity reached by thickening another oil of the same density and shear loss.
        let base = Case {
            curve: truck("central-hydraulic", t, engine).curve,
            ..made_by
        };
        let read = speed(&made_by);
        let found = inverse::viscosities(&base, read - 0.5 * RPM, read + 0.5 * RPM);
        assert!(
            found
                .iter()
                .any(|(a, b)| *a <= nu * (1.0 + 1e-9) && nu <= *b * (1.0 + 1e-9)),
            "{oil} at {t}: {nu} not in {found:?}"
        );
    }
}

#[test]
fn a_reading_that_no_viscosity_explains_says_so() {
    let case = truck("central-hydraulic", "80 C", "idle");
    assert!(inverse::viscosities(&case, 1500.0 * RPM, 1520.0 * RPM).is_empty());
}

/// Hot and at idle the displacement limits, and there no oil that people pour in makes this fan badly slow; cold and
/// raised they cost it some of its speed. (The direction is the model's; that viscosity falls steeply with temperature is ASTM D341.)
#[test]
fn a_fan_that_is_slow_when_hot_is_not_explained_by_common_oils() {
    let hot = truck("central-hydraulic", "80 C", "idle");
    assert_eq!(solve(&hot).unwrap().limit, Limit::Displacement);
    let low = 640.0 * RPM;
    let needed = inverse::viscosities(&hot, low - RPM, low + RPM);
    let thickest = truck("engine-10w-30", "80 C", "idle");
    let thinnest = truck("transmission-sheared", "80 C", "idle");
    let span = (
        inverse::base_viscosity(&thinnest) * 0.7,
        inverse::base_viscosity(&thickest),
    );
    assert!(
        needed.iter().all(|(a, b)| *b < span.0 || *a > span.1),
        "{needed:?} {span:?}"
    );
    let cold = truck("central-hydraulic", "-10 C", "raised");
    let low = 0.85 * solve(&cold).unwrap().omega;
    let needed = inverse::viscosities(&cold, low - RPM, low + RPM);
    let span = (
        200.0 * MM2_S,
        inverse::base_viscosity(&truck("engine-10w-30", "-10 C", "raised")),
    );
    assert!(
        needed.iter().any(|(a, b)| *b > span.0 && *a < span.1),
        "{needed:?} {span:?}"
    );
}
