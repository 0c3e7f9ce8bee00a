//! The causes by brute force: many machines are drawn from what is known, each is read under each cause, and how near it comes to
//! the readings is added up. Nothing is taken as straight there. `OILWHEEL_DRAWS` says how many machines are drawn for each form.

use super::asking::{question, speed, story};
use nalgebra::{Cholesky, DMatrix, DVector};
use oilwheel::balance::{State, solve};
use oilwheel::fault::Fault;
use oilwheel::input::Input;
use oilwheel::model::Case;
use oilwheel::probe::Reading;
use oilwheel::question::suspects::Suspects;
use oilwheel::vary::forecast::{self, Forecast, Row, Subject, Weights};
use oilwheel::vary::posterior::{Evidence, Suspect};
use oilwheel::vary::sample;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use std::io::Write as _;

/// How many draws must count, as if they were alone, for a cause that matters.
const EFFECTIVE: f64 = 400.0;
/// Of a cause for which fewer draws count nothing is compared.
const LEAST: f64 = 25.0;
/// How far the probabilities may lie apart: set before the first run.
const APART: f64 = 0.08;

fn weighed(asked: &Suspects) -> (Forecast, Vec<Suspect>) {
    let (rows, evidence) = rows(asked);
    let weights = Weights::of(&asked.priors, false);
    let subject = Subject {
        machine: &asked.setup.machine,
        case: &asked.setup.case,
        spread: &asked.setup.spread,
        stop: &asked.setup.stop,
    };
    subject.forecast(&rows, &evidence, &weights).unwrap()
}

fn all(asked: &Suspects) -> Vec<(Reading, bool)> {
    let now = asked.readings.all.iter().map(|r| (*r, false));
    let well = asked.well.iter().flat_map(|w| &w.all).map(|r| (*r, true));
    now.chain(well).collect()
}

fn rows(asked: &Suspects) -> (Vec<Row>, Vec<Evidence>) {
    let all = all(asked);
    let evidence = all.iter().enumerate();
    (
        all.iter().map(|(r, well)| Row::of(r, *well)).collect(),
        evidence.map(|(n, (r, _))| Evidence::of(n, r)).collect(),
    )
}

/// A machine with what its conditions are off by, by reading.
struct Drawn {
    machine: Case,
    off: Vec<[f64; 3]>,
}

fn machines(asked: &Suspects, count: usize, seed: u64) -> Vec<Drawn> {
    let setup = &asked.setup;
    let mut spread = setup.spread;
    for input in [Input::ENGINE_SPEED, Input::OIL_TEMP, Input::COMMAND] {
        spread = spread.with(input, 0.0);
    }
    let drawn = sample::draw(
        &setup.case,
        &spread,
        &setup.machine.correlations,
        count,
        seed,
    );
    let mut random = ChaCha8Rng::seed_from_u64(seed + 1);
    let mut normal = || oilwheel::numeric::quantile(random.random_range(1e-12..1.0 - 1e-12));
    let readings = all(asked);
    let machines = drawn.into_iter().map(|machine| {
        let mut off: Vec<[f64; 3]> = Vec::new();
        for (n, (reading, well)) in readings.iter().enumerate() {
            let same = |(r, w): &(Reading, bool)| r.setting == reading.setting && w == well;
            let first = readings[..n].iter().position(same);
            off.push(match first {
                Some(first) => off[first],
                None => [
                    0.5 * reading.engine_half * normal(),
                    0.5 * reading.oil_temp_half * normal(),
                    0.5 * reading.air_half * normal(),
                ],
            });
        }
        Drawn { machine, off }
    });
    machines.collect()
}

fn computed(asked: &Suspects, drawn: &Drawn, fault: Option<(&Fault, f64)>) -> Option<DVector<f64>> {
    let readings = all(asked);
    let mut values = Vec::new();
    for ((reading, well), off) in readings.iter().zip(&drawn.off) {
        let mut case = reading.setting.on(&asked.setup.machine, &drawn.machine);
        case.now.engine_speed += off[0];
        case.now.oil_temp += off[1];
        if reading.setting.air.is_some() {
            case.now.air_temp += off[2];
        }
        if let (Some((fault, severity)), false) = (fault, *well) {
            case = fault.on(&case, severity);
        }
        let operating = solve(&case).ok()?;
        values.push(
            reading
                .probe
                .what
                .read(&case, &State::found(&case, &operating)),
        );
    }
    Some(DVector::from_vec(values))
}

/// The logarithm of the density of the readings where this is computed.
fn density(asked: &Suspects, computed: &DVector<f64>) -> f64 {
    let readings = all(asked);
    let count = readings.len();
    let errors = DMatrix::from_fn(count, count, |a, b| {
        let (one, other) = (&readings[a].0, &readings[b].0);
        let model = |r: &Reading, n: usize| forecast::model(r.probe.what, computed[n]);
        let same = one.setting == other.setting && one.probe.what == other.probe.what;
        let own = if a == b { one.sigma().powi(2) } else { 0.0 };
        let rows = [a, b].map(|n| Row::of(&readings[n].0, readings[n].1));
        let alike = forecast::shared(&rows[0], &rows[1]);
        own + if same {
            alike * model(one, a) * model(other, b)
        } else {
            0.0
        }
    });
    let off = DVector::from_fn(count, |n, _| readings[n].0.value - computed[n]);
    let root = Cholesky::new(errors).unwrap();
    let volume: f64 = root.l().diagonal().iter().map(|d| 2.0 * d.ln()).sum();
    -0.5 * (off.dot(&root.solve(&off)) + volume)
}

/// The evidence of a fault's form over a range of severity, or of a sound machine; and how many draws count.
fn evidence(asked: &Suspects, form: Option<(&Fault, f64, f64)>, count: usize) -> (f64, f64) {
    let drawn = machines(asked, count, 11);
    let logs: Vec<f64> = drawn
        .par_iter()
        .enumerate()
        .filter_map(|(n, drawn)| {
            // Severities that have nothing to do with the machine: the golden ratio's multiples.
            let part = (0.618_033_988_75 * (n as f64 + 0.5)).fract();
            let fault = form.map(|(f, low, high)| (f, low + (high - low) * part));
            Some(density(asked, &computed(asked, drawn, fault)?))
        })
        .collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = weights.iter().sum();
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    (top + (sum / count as f64).ln(), sum * sum / squares)
}

/// Probabilities of "nothing" and each fault among these, by brute force, with how many draws count.
fn brute(asked: &Suspects, forecast: &Forecast, count: usize) -> Vec<(f64, f64)> {
    let mut all: Vec<Vec<(f64, f64, f64)>> = Vec::new();
    let mut nothing = vec![(0.5, evidence(asked, None, 4 * count))];
    let total: f64 = forecast.hypotheses[1..=forecast.faults.len()]
        .iter()
        .map(|h| h.prior)
        .sum();
    let mut faults = Vec::new();
    for (forms, hypothesis) in forecast.forms.iter().zip(&forecast.hypotheses[1..]) {
        let mut own = Vec::new();
        for (form, floor) in forms {
            let (low, high) = form.range;
            let share = 1.0 / forms.len() as f64;
            let below = evidence(asked, Some((form, low, *floor)), count / 4);
            nothing.push((0.5 * hypothesis.prior / total * share, below));
            let above = evidence(asked, Some((form, *floor, high)), count);
            own.push((share, above));
        }
        faults.push(own);
    }
    for group in std::iter::once(nothing).chain(faults) {
        all.push(group.into_iter().map(|(w, (l, n))| (w, l, n)).collect());
    }
    let top = all
        .iter()
        .flatten()
        .map(|p| p.1)
        .fold(f64::NEG_INFINITY, f64::max);
    let each: Vec<(f64, f64)> = all
        .iter()
        .zip(&forecast.hypotheses)
        .map(|(parts, h)| {
            let one = |p: &(f64, f64, f64)| p.0 * (p.1 - top).exp();
            let mass: f64 = parts.iter().map(one).sum();
            let heavy = parts.iter().max_by(|a, b| one(a).total_cmp(&one(b)));
            (h.prior * mass, heavy.map_or(0.0, |p| p.2))
        })
        .collect();
    let total: f64 = each.iter().map(|e| e.0).sum();
    each.into_iter().map(|(p, n)| (p / total, n)).collect()
}

/// Cases of at most four readings on the class machine, as wide as the class.
fn cases() -> Vec<(&'static str, Suspects)> {
    let first = |name: &str, count: usize| {
        let mut asked = story(name);
        asked.readings.all.truncate(count);
        asked
    };
    let idle = |rpm| speed("fan-speed-idle-hot", rpm);
    let raised = |rpm| speed("fan-speed-raised-hot", rpm);
    let cold = |rpm| speed("fan-speed-raised-cold", rpm);
    let based = |name: &str, keys: [&str; 2]| {
        let mut asked = story(name);
        let mut well = story("well");
        asked.readings.all.retain(|r| keys.contains(&r.probe.key));
        well.readings.all.retain(|r| keys.contains(&r.probe.key));
        asked.well = Some(well.readings);
        asked
    };
    let hot = ["fan-speed-idle-hot", "fan-speed-raised-hot"];
    let both = ["fan-speed-idle-hot", "fan-speed-raised-cold"];
    vec![
        ("640 at idle", question(vec![idle(640.0)])),
        ("640 and 1560", question(vec![idle(640.0), raised(1560.0)])),
        ("worn pump, three", first("worn-pump", 3)),
        ("repaired, three", first("repaired", 3)),
        ("thick oil, three", first("thick-oil", 3)),
        ("not asking, three", first("not-asking", 3)),
        ("fast", question(vec![idle(1250.0), raised(2500.0)])),
        (
            "slow raised",
            question(vec![idle(1000.0), raised(1700.0), cold(1750.0)]),
        ),
        ("worn pump with a baseline", based("worn-pump", hot)),
        ("thick oil with a baseline", based("thick-oil", both)),
    ]
}

/// Each case's probabilities against those of many draws. A cause is compared where both draws enough count for it.
#[test]
fn the_odds_are_those_of_many_machines() {
    let draws = std::env::var("OILWHEEL_DRAWS").ok();
    let count = draws.as_ref().and_then(|n| n.parse().ok());
    let all = cases();
    // The small run takes two cases for which enough of its draws count.
    let small = ["640 at idle", "fast"];
    let some = all
        .iter()
        .filter(|c| count.is_some() || small.contains(&c.0));
    let mut wrong = Vec::new();
    for (name, asked) in some {
        let (forecast, suspects) = weighed(asked);
        let listed: f64 = suspects[..=forecast.faults.len()]
            .iter()
            .map(|s| s.probability)
            .sum();
        let brute = brute(asked, &forecast, count.unwrap_or(4000));
        let mut few = 0;
        for (n, (p, effective)) in brute.iter().enumerate() {
            let own = suspects[n].probability / listed;
            let key = n
                .checked_sub(1)
                .map_or("nothing", |n| forecast.faults[n].key);
            if *p > 0.02 || own > 0.02 {
                let _ = writeln!(
                    std::io::stdout(),
                    "{name}: {key} {own:.3} by draws {p:.3} ({effective:.0} count)"
                );
                few += usize::from(*effective < EFFECTIVE);
                // Chance moves a share that few draws count for; where hardly any does, nothing is compared.
                let room = APART + 2.0 * p.max(own) * (1.0 / effective).sqrt();
                if *effective >= LEAST && (own - p).abs() > room {
                    wrong.push(format!("{name}: {key} {own:.3}, by draws {p:.3}"));
                }
            }
        }
        let _ = writeln!(
            std::io::stdout(),
            "{name}: {few} with fewer than {EFFECTIVE} draws that count"
        );
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
