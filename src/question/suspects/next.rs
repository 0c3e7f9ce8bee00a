//! The information to be expected from each remaining test.

use super::Suspects;
use super::found::{Expected, NextTest};
use super::weigh::Weighing;
use crate::balance::Output;
use crate::model::Machine;
use crate::probe::{self, Probe, What};
use crate::quantity::Kind;
use crate::vary::forecast::Row;
use crate::vary::information::{Outlook, bits};
use crate::vary::posterior;
use rayon::prelude::*;

/// A test that yields less than this fraction of the best test's information is ranked after the others, however quick
/// it is.
const TOO_LITTLE: f64 = 0.15;
/// Uncertainty of the engine speed in a future test, as a fraction: an engineering assumption.
const ENGINE_FRACTION: f64 = 0.01;
/// Uncertainty of the oil temperature in a future test, K: an engineering assumption.
const KELVIN: f64 = 3.0;
/// Uncertainty of the air temperature in a future test with its own air temperature, K: an engineering assumption.
const AIR_KELVIN: f64 = 10.0;

/// A test, with the distribution of its reading under each hypothesis.
pub(super) struct Test {
    pub told: NextTest,
    outlooks: Vec<Outlook>,
}

/// The tests that are possible on this machine and have not been made. Coolant tests are included only if there is a
/// coolant reading.
pub(super) fn open(request: &Suspects) -> Vec<&'static Probe> {
    let machine = &request.setup.machine;
    let (warm, readings) = (request.heat_side(), &request.readings.all);
    let belt = |p: &Probe| p.what != What::Output(Output::PUMP_SPEED) || machine.has("belt");
    let known = &request.readings.book.known;
    let made = |p: &Probe| {
        readings.iter().any(|r| r.probe.key == p.key && !r.unsure)
            || known.iter().any(|f| p.what == What::Fact(f.input))
            || p.left_out(&request.skip)
    };
    let all = probe::ALL.iter().chain(probe::FACTS);
    all.filter(|p| warm || !p.what.of_coolant())
        .filter(|p| p.runs_on(machine) && !made(p) && belt(p))
        .collect()
}

/// The row for a future test in the table of computed readings.
pub(super) fn row(probe: &Probe, machine: &Machine) -> Row {
    Row {
        what: probe.what,
        setting: probe.setting,
        engine_half: ENGINE_FRACTION * probe.setting.engine_speed(machine),
        oil_temp_half: KELVIN,
        air_half: AIR_KELVIN,
        shared: None,
        // A fact is independent of any fault.
        well: matches!(probe.what, What::Fact(_)),
    }
}

/// The remaining tests, ranked by expected information per minute.
pub(super) fn tests(weighed: &Weighing<'_>, open: &[&'static Probe]) -> Vec<Test> {
    let columns = posterior::outlooks(
        &weighed.forecast.hypotheses,
        &weighed.suspects,
        &weighed.evidence,
        weighed.evidence.len(),
        open.len(),
    );
    let machine = &weighed.request.setup.machine;
    let pairs = open.par_iter().zip(columns);
    let mut tests: Vec<Test> = pairs
        .map(|(p, outlooks)| test(machine, p, outlooks))
        .collect();
    let best = tests.iter().map(|t| t.told.bits).fold(0.0, f64::max);
    // Tests that yield almost no information come last, however quick they are. A test that may not have been read at
    // full command comes first, to be repeated.
    let readings = &weighed.request.readings.all;
    let again = |t: &Test| readings.iter().any(|r| r.probe.key == t.told.test);
    let rank = |t: &Test| {
        let worth = t.told.bits / t.told.effort_minutes;
        let last = match again(t) {
            true => 0,
            false => 1 + u8::from(t.told.bits < TOO_LITTLE * best),
        };
        (last, -worth)
    };
    tests.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    tests
}

fn test(machine: &Machine, probe: &'static Probe, outlooks: Vec<Outlook>) -> Test {
    let parts = outlooks.iter().flat_map(|o| &o.parts);
    let middle: f64 = parts.map(|(w, m, _)| w * m).sum();
    let (half, uniform) = probe.usual_error(machine, middle);
    Test {
        told: NextTest {
            test: probe.key,
            bits: bits(&outlooks, half, uniform),
            effort_minutes: probe.effort_minutes,
            hazards: probe.hazards.to_vec(),
            probe,
        },
        outlooks,
    }
}

/// The range of the expected reading of a test under each hypothesis that is worth reporting.
pub(super) fn expected(weighed: &Weighing<'_>, test: &Test) -> Vec<Expected> {
    // A tachometer or flow meter never reads below zero.
    let least = match test.told.probe.what.kind() {
        Kind::Speed | Kind::Flow => 0.0,
        _ => f64::NEG_INFINITY,
    };
    let one = |h: usize| {
        let outlook = &test.outlooks[h];
        let weight: f64 = outlook.parts.iter().map(|p| p.0).sum();
        let at = |p: f64| outlook.quantile(p).max(least);
        (weight > 0.0).then(|| Expected {
            fault: weighed.key(h),
            probability: weighed.suspects[h].probability,
            range: (at(0.05), at(0.95)),
        })
    };
    weighed.worth().filter_map(one).collect()
}
