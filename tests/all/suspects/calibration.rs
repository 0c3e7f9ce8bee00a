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
use oilwheel::probe::{self, Probe, What};
use oilwheel::quantity::Kind;
use oilwheel::report;
use oilwheel::tell::{Answer, Block, Chart, Curve};
use oilwheel::vary::forecast::{self, Forecast, Row, Subject};
use oilwheel::vary::posterior::{Evidence, Suspect, chance};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use std::path::{Path, PathBuf};

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
    /// Not at all: it is as far off as the model says of itself.
    Model,
    /// Wear widens turbulent slip where the model widens laminar slip.
    TurbulentWear,
    /// The control valve empties to the other place.
    OtherPort,
    /// Speeds are off by up to 3 %, pressures by up to 5 %, each in its own way.
    ModelError,
    /// Something that the list of faults does not have: the pump's pulley a quarter too large.
    Pulley,
    /// The same: a fan that takes 60 % more power.
    HeavyFan,
    /// The same: steering in the circuit that holds 40 bar.
    Steering,
}

impl World {
    fn name(self) -> &'static str {
        match self {
            World::Model => "model",
            World::TurbulentWear => "turbulent wear",
            World::OtherPort => "other valve port",
            World::ModelError => "model error",
            World::Pulley => "pulley a quarter too large",
            World::HeavyFan => "fan that takes 60 % more power",
            World::Steering => "steering that holds 40 bar",
        }
    }

    /// Whether nothing of the list is wrong, but something else.
    fn stranger(self) -> bool {
        matches!(self, World::Pulley | World::HeavyFan | World::Steering)
    }

    /// By what share a reading is off in this world, by lot: where the simulator is the model, by what the model says that
    /// it has wrong.
    fn error(self, what: What, lot: f64) -> f64 {
        match self {
            World::Model => forecast::model(what) * quantile(lot),
            World::ModelError if what.kind() == Kind::Speed => 0.03 * (2.0 * lot - 1.0),
            World::ModelError => 0.05 * (2.0 * lot - 1.0),
            _ => 0.0,
        }
    }

    /// Changes a case before any fault.
    fn on(self, case: &mut Case) {
        match self {
            World::OtherPort => {
                case.shape.valve_to_motor_outlet = !case.shape.valve_to_motor_outlet
            }
            World::Pulley => case.pump.ratio *= 0.75,
            World::HeavyFan => case.fan.rated_power *= 1.6,
            World::Steering => {
                if let Some(steering) = &mut case.steering {
                    steering.pressure = 40e5;
                }
            }
            World::Model | World::TurbulentWear | World::ModelError => {}
        }
    }
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
            stop: &oilwheel::trouble::Stop::default(),
            machine: &posed.machine,
            case: &posed.case,
            spread: &posed.spread,
        };
        let (forecast, _) = subject
            .forecast(&rows, &[], priors.nothing, &priors.faults())
            .unwrap();
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
        let truth = if world.stranger() {
            0
        } else {
            pick(&priors, chance())
        };
        // Nothing that matters: half of these machines are sound, half have something below its floor.
        // Where a fault has two forms, either is as likely; other worlds know the first alone.
        let dice: [f64; 4] = std::array::from_fn(|_| chance());
        let with = |which: usize, little: bool| {
            let forms = &self.forecast.forms[which];
            let second = world == World::Model && dice[0] > 0.5 && forms.len() > 1;
            let (form, floor) = forms[usize::from(second)];
            let severity = if little {
                floor * dice[1]
            } else {
                floor + (form.range.1 - floor) * dice[1]
            };
            (Some(form), severity)
        };
        let (fault, severity) = if truth > 0 {
            with(truth - 1, false)
        } else if world.stranger() || dice[2] < 0.5 {
            (None, 0.0)
        } else {
            with(pick(&priors[1..], dice[3]), true)
        };
        let own = |i: &Input| i.part() != "now" || matches!(i.field().key, "air_temp" | "altitude");
        let mut draws = [0.0; 256];
        for input in Input::all().filter(own) {
            draws[input.number()] = quantile(chance());
        }
        let conditions: Vec<[f64; 2]> = self
            .rows
            .iter()
            .map(|_| [quantile(chance()), quantile(chance())])
            .collect();
        let errors: Vec<f64> = self.rows.iter().map(|_| chance()).collect();
        let wrong: Vec<f64> = self.rows.iter().map(|_| chance()).collect();
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
                let drawn = value + 0.5 * half * draws[input.number()];
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
            if !row.well {
                world.on(&mut case);
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
            let alike = self
                .rows
                .iter()
                .position(|r| r.setting == row.setting && r.what == row.what)
                .unwrap();
            value *= 1.0 + world.error(row.what, wrong[alike]);
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
    suspects: Vec<Suspect>,
    true_severity: f64,
    chance: f64,
}

impl Outcome {
    fn p(&self, hypothesis: usize) -> f64 {
        self.suspects[hypothesis].probability
    }

    /// Hypotheses from the most to the least likely.
    fn order(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.suspects.len()).collect();
        order.sort_by(|a, b| self.p(*b).total_cmp(&self.p(*a)));
        order
    }

    /// The smallest set that holds 90 %: whether it holds the truth, its size, its mass; and whether it does when the last
    /// one is let in only so often that the set holds 90 % on average.
    fn smallest_set(&self, dice: f64) -> (bool, usize, f64, bool) {
        let (mut mass, mut held, mut by_lot) = (0.0, false, false);
        let order = self.order();
        for (n, i) in order.iter().enumerate() {
            let p = self.p(*i);
            let last = mass + p >= 0.9;
            held |= *i == self.truth;
            by_lot |= *i == self.truth && (!last || dice < (0.9 - mass) / p);
            mass += p;
            if last {
                return (held, n + 1, mass, by_lot);
            }
        }
        (held, order.len(), mass, by_lot)
    }
}

/// What came of all cases with one set of readings, as shares.
#[derive(Default, Debug, Clone)]
struct Line {
    cases: f64,
    held: f64,
    by_lot: f64,
    size: f64,
    mass: f64,
    first: f64,
    first_or_twin: f64,
    error: f64,
    severity: f64,
    flagged: f64,
    /// More than 0.9 on a cause whose twin is not read apart from it.
    twin_over: f64,
    /// 0.9 or more on a fault, unflagged, though it is another or none.
    blamed: f64,
    /// By tenth of the first cause's probability: cases, sum of probabilities, how often right.
    bins: Vec<(f64, f64, f64)>,
}

impl Line {
    fn of(bench: &Bench, rows: &[usize], outcomes: &[Outcome]) -> Self {
        let mut l = Line {
            bins: vec![(0.0, 0.0, 0.0); 10],
            ..Line::default()
        };
        let yes = |b: bool| f64::from(u8::from(b));
        let mut random = ChaCha8Rng::seed_from_u64(7);
        let mut severities = 0.0;
        for o in outcomes {
            let (held, size, mass, by_lot) = o.smallest_set(random.random());
            let top = o.order()[0];
            l.held += yes(held);
            l.by_lot += yes(by_lot);
            l.size += size as f64;
            l.mass += mass;
            l.first += yes(top == o.truth);
            l.first_or_twin += yes(top == o.truth || bench.twins(top, o.truth));
            if o.truth > 0 {
                let [low, _, high] = o.suspects[o.truth].severity;
                severities += 1.0;
                l.severity += yes(low <= o.true_severity && o.true_severity <= high);
            }
            l.flagged += yes(o.chance < 0.01);
            l.twin_over += yes(o.p(top) > 0.9 + 1e-9 && bench.twin_open(top, rows));
            l.blamed += yes(top > 0 && o.p(top) >= 0.9 && top != o.truth && o.chance >= 0.01);
            let bin = &mut l.bins[((o.p(top) * 10.0) as usize).min(9)];
            *bin = (bin.0 + 1.0, bin.1 + o.p(top), bin.2 + yes(top == o.truth));
        }
        let n = outcomes.len() as f64;
        for share in [
            &mut l.held,
            &mut l.by_lot,
            &mut l.size,
            &mut l.mass,
            &mut l.first,
            &mut l.first_or_twin,
            &mut l.flagged,
            &mut l.twin_over,
            &mut l.blamed,
        ] {
            *share /= n;
        }
        l.severity /= f64::max(severities, 1.0);
        l.error = l.bins.iter().map(|b| f64::abs(b.1 - b.2)).sum::<f64>() / n;
        l.cases = n;
        l
    }
}

/// A reading that settles a cause, and how often it does.
struct Settles {
    cause: &'static str,
    reading: &'static str,
    cases: f64,
    before: f64,
    after: f64,
    settled: f64,
}

/// One campaign: a line for each set of readings; and what settles what.
fn campaign(bench: &Bench, world: World, count: usize) -> (Vec<Line>, Vec<Settles>) {
    let cases: Vec<Simulated> = (0..count as u64)
        .into_par_iter()
        .filter_map(|n| bench.simulate(world, 1000 + n))
        .collect();
    assert!(cases.len() * 100 >= count * 99, "cases without a balance");
    let mut before: Vec<Outcome> = Vec::new();
    let mut settles = Vec::new();
    let lines = SETS
        .iter()
        .map(|(_, upto, well)| {
            let mut rows: Vec<usize> = (0..*upto).collect();
            rows.extend(if *well {
                READ.len()..bench.rows.len()
            } else {
                0..0
            });
            let outcomes = bench.weigh(&cases, &rows);
            if !well && let Some(new) = (*upto).checked_sub(1) {
                settles.extend(bench.settles(READ[new], &before, &outcomes));
            }
            let line = Line::of(bench, &rows, &outcomes);
            before = outcomes;
            line
        })
        .collect();
    (lines, settles)
}

impl Bench {
    fn weigh(&self, cases: &[Simulated], rows: &[usize]) -> Vec<Outcome> {
        let mut cut = self.forecast.clone();
        cut.hypotheses = cut.hypotheses.iter().map(|h| h.rows(rows)).collect();
        let asked: Vec<Row> = rows.iter().map(|r| self.rows[*r]).collect();
        cases
            .par_iter()
            .map(|case| {
                let evidence: Vec<Evidence> = rows
                    .iter()
                    .enumerate()
                    .map(|(row, r)| {
                        let (half, uniform) = self.half(*r, case.values[*r]);
                        Evidence {
                            row,
                            value: case.values[*r],
                            half,
                            uniform,
                        }
                    })
                    .collect();
                let suspects = cut.suspects(&asked, &evidence);
                let distance = suspects
                    .iter()
                    .map(|s| s.distance)
                    .fold(f64::INFINITY, f64::min);
                Outcome {
                    truth: case.truth,
                    suspects,
                    true_severity: case.severity,
                    chance: chance(distance, evidence.len()),
                }
            })
            .collect()
    }

    fn twins(&self, a: usize, b: usize) -> bool {
        match (self.fault(a), self.fault(b)) {
            (Some(a), Some(b)) => a.twins().contains(&b.key),
            _ => false,
        }
    }

    /// Whether a cause has a twin on this machine from which these rows do not tell it: the trade's list, written down here
    /// once more.
    fn twin_open(&self, hypothesis: usize, rows: &[usize]) -> bool {
        let Some(fault) = self.fault(hypothesis) else {
            return false;
        };
        let read = |part: &str| {
            rows.iter()
                .any(|r| *r < READ.len() && READ[*r].contains(part))
        };
        let here = |key: &str| self.forecast.faults.iter().any(|f| f.key == key);
        match fault.key {
            "worn-pump" | "oil-too-thin" | "air-in-oil" => !read("viscosity") && !read("free-air"),
            "worn-motor" => here("oil-too-thin") && !read("viscosity"),
            "regulator-low" => here("suction-restricted") && !read("vacuum"),
            "suction-restricted" => here("regulator-low") && !read("vacuum"),
            "supply-restricted" => here("return-restricted") && !read("return-pressure"),
            "return-restricted" => here("supply-restricted") && !read("return-pressure"),
            "control-not-asking" => here("relief-low") && !read("unplugged"),
            "relief-low" => here("control-not-asking") && !read("unplugged"),
            _ => false,
        }
    }

    /// What a reading that was just added is said to settle.
    fn settles(
        &self,
        reading: &'static str,
        before: &[Outcome],
        after: &[Outcome],
    ) -> Option<Settles> {
        let cause = match reading {
            "fan-speed-raised-hot-unplugged" => "control-not-asking",
            "pump-speed-raised-cold" => "belt-slip",
            "return-pressure-raised-hot" => "return-restricted",
            _ => return None,
        };
        let h = 1 + self.forecast.faults.iter().position(|f| f.key == cause)?;
        let mean = |all: &[Outcome], f: &dyn Fn(f64) -> f64| {
            let own: Vec<f64> = all
                .iter()
                .filter(|o| o.truth == h)
                .map(|o| f(o.p(h)))
                .collect();
            own.iter().sum::<f64>() / own.len() as f64
        };
        Some(Settles {
            cause,
            reading,
            cases: after.iter().filter(|o| o.truth == h).count() as f64,
            before: mean(before, &|p| p),
            after: mean(after, &|p| p),
            settled: mean(after, &|p| f64::from(u8::from(p >= 0.9))),
        })
    }
}

const WORLDS: [World; 7] = [
    World::Model,
    World::TurbulentWear,
    World::OtherPort,
    World::ModelError,
    World::Pulley,
    World::HeavyFan,
    World::Steering,
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("validation/calibration")
}

/// How sure of the first cause, against how often it is right.
fn reliability(found: &[(World, Vec<Line>)]) -> Answer {
    let mut curves = vec![Curve {
        name: "as sure as right".into(),
        points: vec![(20.0, 20.0), (100.0, 100.0)],
        band: Vec::new(),
    }];
    for (world, lines) in found.iter().filter(|(w, _)| !w.stranger()) {
        let points = (0..10)
            .filter_map(|bin| {
                let sum = lines.iter().fold((0.0, 0.0, 0.0), |s, l| {
                    let b = l.bins[bin];
                    (s.0 + b.0, s.1 + b.1, s.2 + b.2)
                });
                (sum.0 >= 20.0).then(|| (100.0 * sum.1 / sum.0, 100.0 * sum.2 / sum.0))
            })
            .collect();
        curves.push(Curve {
            name: world.name().into(),
            points,
            band: Vec::new(),
        });
    }
    Answer {
        blocks: vec![Block::Chart(Chart {
            title: "How sure of the first cause, and how often it is right".into(),
            x_label: "probability that is given, %".into(),
            y_label: "right, %".into(),
            curves,
            ..Chart::default()
        })],
        ..Answer::default()
    }
}

fn write(found: &[(World, Vec<Line>)], settles: &[Settles]) {
    let mut data = String::from(
        "world,readings,cases,held,held_by_lot,mass,size,first,first_or_twin,calibration_error,severity_covered,flagged,blamed,twin_over\n",
    );
    for (world, lines) in found {
        for ((name, ..), l) in SETS.iter().zip(lines) {
            data += &format!(
                "{},\"{name}\",{},{:.4},{:.4},{:.4},{:.3},{:.4},{:.4},{:.4},{:.4},{:.4},{:.4},{:.4}\n",
                world.name(),
                l.cases,
                l.held,
                l.by_lot,
                l.mass,
                l.size,
                l.first,
                l.first_or_twin,
                l.error,
                l.severity,
                l.flagged,
                l.blamed,
                l.twin_over
            );
        }
    }
    std::fs::create_dir_all(folder()).unwrap();
    std::fs::write(folder().join("data.csv"), data).unwrap();
    let mut text = String::from("reading,cause,cases,before,after,settled\n");
    for s in settles {
        text += &format!(
            "{},{},{},{:.4},{:.4},{:.4}\n",
            s.reading, s.cause, s.cases, s.before, s.after, s.settled
        );
    }
    std::fs::write(folder().join("settles.csv"), text).unwrap();
    std::fs::write(
        folder().join("reliability.svg"),
        report::svg(&reliability(found)).unwrap(),
    )
    .unwrap();
}

/// `OILWHEEL_CALIBRATION=2000` runs the whole and writes `validation/calibration` anew; what was asked of it is held against
/// that in the table of validation. Else a small one is run, with room for chance.
#[test]
fn as_sure_as_right() {
    let asked = std::env::var("OILWHEEL_CALIBRATION").ok();
    let whole = asked.as_ref().and_then(|n| n.parse().ok());
    let count = whole.unwrap_or(200);
    let bench = Bench::new("light-truck");
    let worlds = if whole.is_some() {
        &WORLDS[..]
    } else {
        &WORLDS[..1]
    };
    let mut found = Vec::new();
    let mut settles = Vec::new();
    for world in worlds {
        let (lines, settled) = campaign(&bench, *world, count);
        if *world == World::Model {
            settles = settled;
        }
        found.push((*world, lines));
    }
    if whole.is_some() {
        write(&found, &settles);
    }
    // Chance alone moves a share of 0.9 by 0.02 in 200 cases; what is allowed is three times that beyond what is asked.
    let room = 3.0 * (0.09 / count as f64).sqrt();
    for ((name, ..), l) in SETS.iter().zip(&found[0].1) {
        assert!((l.by_lot - 0.9).abs() < 0.03 + room, "{name}: {l:?}");
        assert!((l.severity - 0.9).abs() < 0.05 + room, "{name}: {l:?}");
        assert!(l.error < 0.05 + 2.0 * room, "{name}: {l:?}");
        assert!(l.flagged < 0.02 + room, "{name}: {l:?}");
        assert!(l.twin_over <= 0.0, "{name}: {l:?}");
    }
}

/// The same for any number of threads.
#[test]
fn threads_change_nothing() {
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| {
            let bench = Bench::new("off-road");
            let (lines, _) = campaign(&bench, World::Model, 10);
            format!("{lines:?}")
        })
    };
    assert_eq!(with(1), with(3));
}
