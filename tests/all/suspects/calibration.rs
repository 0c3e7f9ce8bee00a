//! Simulated cases with a known cause: how often is the answer right, and as sure as it says?
//!
//! The simulator is the full balance with every input drawn within its ±, a fault of a drawn severity, and readings with
//! drawn errors. What weighs them sees only the readings.

use oilwheel::balance::{State, solve};
use oilwheel::fault::Fault;
use oilwheel::fault::priors::{EMBEDDED, Priors};
use oilwheel::input::Input;
use oilwheel::model::{Ask, Case, Posed, Shelf};
use oilwheel::numeric::quantile;
use oilwheel::probe::{self, Probe};
use oilwheel::quantity::Kind;
use oilwheel::vary::forecast::{Forecast, Row, Subject};
use oilwheel::vary::posterior::{Evidence, chance, posterior};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// The readings, in the order in which the sets take them.
const READ: [&str; 8] = [
    "fan-speed-idle-hot",
    "fan-speed-raised-hot",
    "fan-speed-idle-cold",
    "fan-speed-raised-cold",
    "supply-pressure-raised-hot",
    "return-pressure-raised-hot",
    "fan-speed-raised-hot-unplugged",
    "pump-speed-raised-cold",
];
/// How many readings of the same machine, when it was well, are taken as a baseline: the first ones.
const WELL: usize = 4;
/// Sets of readings: name, how many of the list, whether with the baseline.
const SETS: [(&str, usize, bool); 7] = [
    ("idle and raised speed, hot", 2, false),
    ("and cold", 4, false),
    ("and supply pressure", 5, false),
    ("and return pressure", 6, false),
    ("and forced fail-safe", 7, false),
    ("and pump speed", 8, false),
    ("and a baseline of four speeds", 8, true),
];

/// How the simulator differs from the model.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum World {
    /// Not at all.
    Model,
    /// Wear widens turbulent slip where the model widens laminar slip.
    TurbulentWear,
    /// The control valve empties to the other place.
    OtherPort,
    /// Speeds are off by up to 3 %, pressures by up to 5 %, each in its own way.
    ModelError,
}

/// One simulated case.
struct Simulated {
    /// The true hypothesis, its severity.
    truth: usize,
    severity: f64,
    /// What each row reads.
    values: Vec<f64>,
}

struct Bench {
    posed: Posed,
    rows: Vec<Row>,
    probes: Vec<&'static Probe>,
    forecast: Forecast,
}

impl Bench {
    fn new(machine: &str) -> Self {
        let posed = Ask::about(machine).pose(Shelf::Files).unwrap();
        let mut probes: Vec<&'static Probe> =
            READ.iter().map(|k| probe::find(k).unwrap()).collect();
        let well: Vec<&'static Probe> = probes[..WELL].to_vec();
        let row = |p: &&'static Probe, well| Row {
            what: p.what,
            setting: p.setting,
            engine_half: 0.01 * p.setting.engine_speed(&posed.machine),
            oil_temp_half: 3.0,
            well,
        };
        let mut rows: Vec<Row> = probes.iter().map(|p| row(p, false)).collect();
        rows.extend(well.iter().map(|p| row(p, true)));
        probes.extend(well);
        let priors = Priors::from_text("priors", EMBEDDED).unwrap();
        let subject = Subject {
            machine: &posed.machine,
            case: &posed.case,
            spread: &posed.spread,
        };
        let started = std::time::Instant::now();
        let forecast = subject
            .forecast(&rows, priors.nothing, &priors.faults())
            .unwrap();
        eprintln!("{machine}: forecast {:?}", started.elapsed());
        Self {
            posed,
            rows,
            probes,
            forecast,
        }
    }

    fn half(&self, row: usize, value: f64) -> (f64, bool) {
        self.probes[row].usual_error(&self.posed.machine, value)
    }

    fn fault(&self, hypothesis: usize) -> Option<&'static Fault> {
        hypothesis.checked_sub(1).map(|i| self.forecast.faults[i])
    }

    fn simulate(&self, world: World, seed: u64) -> Option<Simulated> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut chance = || random.random::<f64>().clamp(1e-12, 1.0 - 1e-12);
        let pick = |weights: &[f64], p: f64| {
            let mut left = p * weights.iter().sum::<f64>();
            weights
                .iter()
                .position(|w| {
                    left -= w;
                    left < 0.0
                })
                .unwrap_or(weights.len() - 1)
        };
        let priors: Vec<f64> = self.forecast.hypotheses.iter().map(|h| h.prior).collect();
        let truth = pick(&priors, chance());
        // Nothing that matters: half of these machines are sound, half have something below its floor.
        let (fault, severity) = match self.fault(truth) {
            Some(fault) => {
                let floor = self.forecast.floors[truth - 1];
                (Some(fault), floor + (fault.range.1 - floor) * chance())
            }
            None if chance() < 0.5 => (None, 0.0),
            None => {
                let which = pick(&priors[1..], chance());
                (
                    self.fault(which + 1),
                    self.forecast.floors[which] * chance(),
                )
            }
        };
        let own = |i: &Input| i.part() != "now" || matches!(i.field().key, "air_temp" | "altitude");
        let mut draws = [0.0; 256];
        for input in Input::all().filter(own) {
            draws[usize::from(input.0)] = quantile(chance());
        }
        let conditions: Vec<[f64; 2]> = self
            .rows
            .iter()
            .map(|_| [quantile(chance()), quantile(chance())])
            .collect();
        let errors: Vec<f64> = self.rows.iter().map(|_| chance()).collect();
        let wrong: Vec<f64> = self.rows.iter().map(|_| 2.0 * chance() - 1.0).collect();
        let mut values = Vec::new();
        for (n, row) in self.rows.iter().enumerate() {
            let base = row.setting.on(&self.posed.machine, &self.posed.case);
            let mut case: Case = base;
            for input in Input::all().filter(own) {
                let (Some(value), Some(half)) = (base.get(input), self.posed.spread.get(input))
                else {
                    continue;
                };
                let field = input.field();
                let drawn = value + 0.5 * half * draws[usize::from(input.0)];
                case = case.with(
                    input,
                    drawn.clamp(field.low.min(value), field.high.max(value)),
                );
            }
            // Readings in the same condition on the same day share its error.
            let first = self
                .rows
                .iter()
                .position(|r| r.setting == row.setting && r.well == row.well)
                .unwrap();
            case.now.engine_speed += 0.5 * row.engine_half * conditions[first][0];
            case.now.oil_temp += 0.5 * row.oil_temp_half * conditions[first][1];
            if world == World::OtherPort {
                case.shape.valve_to_motor_outlet = !case.shape.valve_to_motor_outlet;
            }
            if let (Some(fault), false) = (fault, row.well) {
                let before = case;
                case = fault.on(&case, severity);
                if world == World::TurbulentWear {
                    // The same loss of flow at a usual pressure, by the other law: see the gap's first power.
                    turbulent(&before, &mut case, fault.key);
                }
            }
            let operating = solve(&case).ok()?;
            let state = State::found(&case, &operating);
            let mut value = row.what.read(&case, &state);
            if world == World::ModelError {
                let first = self
                    .rows
                    .iter()
                    .position(|r| r.setting == row.setting && r.what == row.what)
                    .unwrap();
                let share = if row.what.kind() == Kind::Speed {
                    0.03
                } else {
                    0.05
                };
                value *= 1.0 + share * wrong[first];
            }
            let (half, uniform) = self.half(n, value);
            value += if uniform {
                half * (2.0 * errors[n] - 1.0)
            } else {
                0.5 * half * quantile(errors[n])
            };
            values.push(value);
        }
        Some(Simulated {
            truth,
            severity,
            values,
        })
    }

    fn evidence(&self, case: &Simulated, set: (usize, bool)) -> Vec<Evidence> {
        let used = (0..set.0).chain(if set.1 {
            READ.len()..self.rows.len()
        } else {
            0..0
        });
        used.map(|row| {
            let (half, uniform) = self.half(row, case.values[row]);
            Evidence {
                row,
                value: case.values[row],
                half,
                uniform,
            }
        })
        .collect()
    }
}

/// Wear by turbulent slip alone, made to leak as much at 50 bar and 10 mm²/s as the laminar wear would.
fn turbulent(before: &Case, case: &mut Case, key: &str) {
    let (dp, mu, rho): (f64, f64, f64) = (50e5, 8e-3, 830.0);
    let swap = |slip: &mut f64, turbulent: &mut f64, slip_before: f64, size: f64| {
        let laminar = (*slip - slip_before) * size * dp / mu;
        *slip = slip_before;
        *turbulent += laminar / ((size * size).cbrt() * (2.0 * dp / rho).sqrt());
    };
    match key {
        "worn-pump" => swap(
            &mut case.pump.slip,
            &mut case.pump.turbulent_slip,
            before.pump.slip,
            case.pump.displacement,
        ),
        "worn-motor" => swap(
            &mut case.motor.slip,
            &mut case.motor.turbulent_slip,
            before.motor.slip,
            case.motor.displacement,
        ),
        _ => {}
    }
}

/// What came of one case with one set of readings.
struct Outcome {
    truth: usize,
    probabilities: Vec<f64>,
    severity: [f64; 3],
    true_severity: f64,
    chance: f64,
}

/// The smallest set that holds 90 %: whether it holds the truth, its size, its mass; and whether it does when the last
/// one is let in only so often that the set holds 90 % on average.
fn smallest_set(o: &Outcome, dice: f64) -> (bool, usize, f64, bool) {
    let mut order: Vec<usize> = (0..o.probabilities.len()).collect();
    order.sort_by(|a, b| o.probabilities[*b].total_cmp(&o.probabilities[*a]));
    let (mut mass, mut held, mut exact) = (0.0, false, false);
    for (n, i) in order.iter().enumerate() {
        let p = o.probabilities[*i];
        let last = mass + p >= 0.9;
        held |= *i == o.truth;
        exact |= *i == o.truth && (!last || dice < (0.9 - mass) / p);
        mass += p;
        if last {
            return (held, n + 1, mass, exact);
        }
    }
    (held, order.len(), mass, exact)
}

/// A line of the calibration table.
#[derive(Default, Debug, Clone)]
struct Line {
    cases: f64,
    held: f64,
    exact: f64,
    size: f64,
    mass: f64,
    first: f64,
    first_or_twin: f64,
    error: f64,
    severity: f64,
    severities: f64,
    flagged: f64,
    over_twin: f64,
    bins: Vec<(f64, f64, f64)>,
}

fn campaign(machine: &str, world: World, count: usize) -> Vec<Line> {
    let bench = Bench::new(machine);
    let started = std::time::Instant::now();
    let cases: Vec<Simulated> = (0..count as u64)
        .into_par_iter()
        .filter_map(|n| bench.simulate(world, 1000 + n))
        .collect();
    eprintln!("simulated {:?}", started.elapsed());
    let lines = SETS
        .iter()
        .map(|(_, rows, well)| {
            let outcomes: Vec<Outcome> = cases
                .par_iter()
                .map(|case| {
                    let evidence = bench.evidence(case, (*rows, *well));
                    let suspects = posterior(&bench.forecast.hypotheses, &evidence);
                    let distance = suspects
                        .iter()
                        .map(|s| s.distance)
                        .fold(f64::INFINITY, f64::min);
                    Outcome {
                        truth: case.truth,
                        probabilities: suspects.iter().map(|s| s.probability).collect(),
                        severity: suspects[case.truth].severity,
                        true_severity: case.severity,
                        chance: chance(distance, evidence.len()),
                    }
                })
                .collect();
            line(&bench, &outcomes)
        })
        .collect();
    eprintln!("weighed {:?}", started.elapsed());
    lines
}

fn line(bench: &Bench, outcomes: &[Outcome]) -> Line {
    let mut l = Line {
        cases: outcomes.len() as f64,
        bins: vec![(0.0, 0.0, 0.0); 10],
        ..Line::default()
    };
    let yes = |b: bool| f64::from(u8::from(b));
    let mut random = ChaCha8Rng::seed_from_u64(7);
    for o in outcomes {
        let (held, size, mass, exact) = smallest_set(o, random.random());
        l.held += yes(held);
        l.exact += yes(exact);
        l.size += size as f64;
        l.mass += mass;
        let top = (0..o.probabilities.len())
            .max_by(|a, b| o.probabilities[*a].total_cmp(&o.probabilities[*b]))
            .unwrap();
        let twin = |a: usize, b: usize| match (bench.fault(a), bench.fault(b)) {
            (Some(a), Some(b)) => a.twins.contains(&b.key) || b.twins.contains(&a.key),
            _ => false,
        };
        l.first += yes(top == o.truth);
        l.first_or_twin += yes(top == o.truth || twin(top, o.truth));
        l.over_twin += yes(o.probabilities[top] > 0.9 && top != o.truth && twin(top, o.truth));
        if o.truth > 0 {
            l.severities += 1.0;
            l.severity += yes(o.severity[0] <= o.true_severity && o.true_severity <= o.severity[2]);
        }
        l.flagged += yes(o.chance < 0.01);
        for (i, p) in o.probabilities.iter().enumerate() {
            let bin = &mut l.bins[((p * 10.0) as usize).min(9)];
            *bin = (bin.0 + 1.0, bin.1 + p, bin.2 + yes(i == o.truth));
        }
    }
    // Of the top cause alone: how sure, against how often right.
    let mut tops = [(0.0, 0.0, 0.0); 10];
    for o in outcomes {
        let top = (0..o.probabilities.len())
            .max_by(|a, b| o.probabilities[*a].total_cmp(&o.probabilities[*b]))
            .unwrap();
        let p = o.probabilities[top];
        let bin = &mut tops[((p * 10.0) as usize).min(9)];
        *bin = (bin.0 + 1.0, bin.1 + p, bin.2 + yes(top == o.truth));
    }
    l.error = tops.iter().map(|b| f64::abs(b.1 - b.2)).sum::<f64>() / l.cases;
    l.bins = tops.to_vec();
    l
}

#[test]
fn explore() {
    let count = std::env::var("OILWHEEL_CALIBRATION")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(200);
    let machine = std::env::var("M").unwrap_or("light-truck".into());
    let worlds: &[World] = if std::env::var("W").is_ok() {
        &[World::TurbulentWear, World::OtherPort, World::ModelError]
    } else {
        &[World::Model]
    };
    for world in worlds {
        println!("{machine} {world:?}");
        for (set, l) in SETS.iter().zip(campaign(&machine, *world, count)) {
            let n = l.cases;
            println!(
                "{:32} held {:.3} exact {:.3} mass {:.3} size {:.2} first {:.3} twin {:.3} ece {:.3} sev {:.3} flagged {:.3} over {:.4}",
                set.0,
                l.held / n,
                l.exact / n,
                l.mass / n,
                l.size / n,
                l.first / n,
                l.first_or_twin / n,
                l.error,
                l.severity / l.severities,
                l.flagged / n,
                l.over_twin / n
            );
            if std::env::var("B").is_ok() {
                for b in &l.bins {
                    print!("[{:.0}: {:.2}/{:.2}] ", b.0, b.1 / b.0, b.2 / b.0);
                }
                println!();
            }
        }
    }
}
