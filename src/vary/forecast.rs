//! What every reading would be under every fault: the hypotheses that [`super::posterior`] weighs.
//!
//! At each severity the readings are linearised in all that is uncertain. What a straight line misses is seen by a few
//! samples: where another limit takes over within the spread, the slopes of both are weighed by how often each holds,
//! and what is still left moves the mean and widens the covariance.

use super::posterior::{Evidence, Hypothesis, Node, Suspect, posterior};
use super::sample;
use crate::balance::{Limit, Output, solve_from};
use crate::fault::{Fault, HEAT};
use crate::input::{Input, Place};
use crate::model::{Case, Machine};
use crate::numeric::Dual64;
use crate::probe::{self, Engine, Setting, What};
use crate::quantity::Kind;
use crate::trouble::{Stop, Trouble};
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Severities at which slopes are taken, above the floor; between them they are interpolated.
const ANCHORS: usize = 8;
/// Cells of severity between two anchors.
const CELLS: usize = 6;
/// Samples that see what the straight line misses.
const SAMPLES: usize = 16;
/// The seed they are drawn with.
const SEED: u64 = 86;
/// A fault matters from this share of the fan's speed on, in some usual condition.
pub const FLOOR: f64 = 0.05;
/// Standard deviation of what the model itself has wrong, as a share of a speed and of any other output: a judgment.
const MODEL: (f64, f64) = (0.01, 0.02);
/// The same of a coolant temperature, of its value in kelvin (2 K of 370), and of a difference of two: a judgment.
const MODEL_COOLANT: (f64, f64) = (0.0055, 0.1);
/// A fault of the heat side matters where it warms the coolant by this much, K, in some use.
pub const WARMER: f64 = 3.0;

/// One row of the forecast: what is read, in which condition.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// What is read.
    pub what: What,
    /// The condition.
    pub setting: Setting,
    /// How far its engine speed may be off, rad/s, about 95 %.
    pub engine_half: f64,
    /// How far its oil temperature may be off, K, about 95 %; its outer air where coolant and oil settle.
    pub oil_temp_half: f64,
    /// It is read on the machine when it was well, whatever it has now.
    pub well: bool,
}

/// One form of a fault, and the severity at which it begins to matter.
pub type Form = (Fault, f64);

/// The hypotheses with their names.
#[derive(Clone, Debug)]
pub struct Forecast {
    /// The faults in order; before them stands "nothing wrong that matters".
    pub faults: Vec<&'static Fault>,
    /// The hypotheses: nothing that matters, then each fault.
    pub hypotheses: Vec<Hypothesis>,
    /// The faults that this machine cannot have, or that never cost the fan enough.
    pub left_out: Vec<&'static Fault>,
    /// Each fault's forms, with the severity at which each begins to matter.
    pub forms: Vec<Vec<Form>>,
}

/// A condition with all that is drawn or varied in it, before any fault.
struct Scene {
    base: Case,
    setting: Setting,
    /// Which rows are read in it.
    rows: Vec<usize>,
    /// The case with each source moved by one standard deviation, and where the source stands among all.
    moved: Vec<(usize, Case)>,
    /// Samples: each case, with its sources in standard deviations.
    drawn: Vec<(Case, Vec<f64>)>,
}

/// What the rows of one scene read at one severity.
#[derive(Clone)]
struct Seen {
    /// What is read where all is as given.
    plain: Vec<f64>,
    /// By how much the mean lies off that.
    shift: Vec<f64>,
    /// Slope along each source of the scene, by row, then what the line misses, by row and sample.
    slopes: Vec<Vec<f64>>,
    missed: Vec<Vec<f64>>,
}

/// Values of all inputs of a case.
fn values(case: &Case) -> [f64; 256] {
    let mut all = [0.0; 256];
    case.map(&mut |i, v| all[usize::from(i.0)] = *v);
    all
}

/// The direction from one case to another, as a case in numbers that carry a derivative.
fn toward(from: &Case, to: &Case) -> Case<Dual64> {
    let there = values(to);
    from.map(&mut |i, v| Dual64::new(*v, there[usize::from(i.0)] - v))
}

/// Takes severities that change nothing as they are; others by the fault.
fn with(fault: Option<&Fault>, case: &Case, severity: f64) -> Case {
    match fault {
        Some(f) if severity > 0.0 => f.on(case, severity),
        _ => *case,
    }
}

impl Scene {
    fn plain(
        &self,
        rows: &[Row],
        fault: Option<&Fault>,
        severity: f64,
    ) -> Result<Vec<f64>, Trouble> {
        let case = with(fault, &self.base, severity);
        let found = probe::Seen::of(&self.setting, &case, None)?;
        Ok(found.read(&case, self.tests(rows)))
    }

    /// Heat takes longer to solve and goes smoothly with severity: fewer points are solved there, the rest lies between.
    fn coarse(&self) -> bool {
        self.setting.settled.is_some()
    }

    /// What is read in it.
    fn tests<'a>(&'a self, rows: &'a [Row]) -> impl Iterator<Item = What> + 'a {
        self.rows.iter().map(|r| rows[*r].what)
    }

    fn slopes(
        &self,
        rows: &[Row],
        fault: Option<&Fault>,
        severity: f64,
        about: &Case,
        found: &probe::Seen,
    ) -> Vec<Vec<f64>> {
        let case = with(fault, about, severity);
        let from = values(&self.base);
        let mut slopes = vec![vec![0.0; self.moved.len()]; self.rows.len()];
        for (column, (_, moved)) in self.moved.iter().enumerate() {
            // The same move, made from `about`.
            let to = values(moved);
            let there = about.map(&mut |i, v| {
                let n = usize::from(i.0);
                v + to[n] - from[n]
            });
            let dual = toward(&case, &with(fault, &there, severity));
            let read = found.along(&dual, self.tests(rows));
            for (line, read) in slopes.iter_mut().zip(read) {
                let slope = read.eps;
                line[column] = if slope.is_finite() { slope } else { 0.0 };
            }
        }
        slopes
    }

    fn seen(&self, rows: &[Row], fault: Option<&Fault>, severity: f64) -> Result<Seen, Trouble> {
        let case = with(fault, &self.base, severity);
        let found = probe::Seen::of(&self.setting, &case, None)?;
        let plain = found.read(&case, self.tests(rows));
        let drawn: Vec<(probe::Seen, Vec<f64>)> = self
            .drawn
            .iter()
            .map(|(drawn, _)| {
                let drawn = with(fault, drawn, severity);
                let found = probe::Seen::of(&self.setting, &drawn, Some(&found))?;
                let read = found.read(&drawn, self.tests(rows));
                Ok((found, read))
            })
            .collect::<Result<_, Trouble>>()?;
        let count = drawn.len() as f64;
        // Slopes of each limit that is met, weighed by how often.
        let mut slopes = vec![vec![0.0; self.moved.len()]; self.rows.len()];
        let mut limits: Vec<Limit> = drawn.iter().map(|d| d.0.operating().limit).collect();
        limits.sort_unstable();
        limits.dedup();
        for limit in limits {
            let of = || {
                drawn
                    .iter()
                    .zip(&self.drawn)
                    .filter(|(d, _)| d.0.operating().limit == limit)
            };
            let share = of().count() as f64 / count;
            let size = |u: &[f64]| u.iter().map(|x| x * x).sum::<f64>();
            let part = if limit == found.operating().limit {
                self.slopes(rows, fault, severity, &self.base, &found)
            } else {
                match of().min_by(|a, b| size(&a.1.1).total_cmp(&size(&b.1.1))) {
                    Some((found, about)) => self.slopes(rows, fault, severity, &about.0, &found.0),
                    None => continue,
                }
            };
            for (line, part) in slopes.iter_mut().zip(part) {
                line.iter_mut().zip(part).for_each(|(s, p)| *s += share * p);
            }
        }
        let mut missed: Vec<Vec<f64>> = (0..self.rows.len())
            .map(|r| {
                drawn
                    .iter()
                    .zip(&self.drawn)
                    .map(|((_, read), (_, u))| {
                        let line: f64 = slopes[r].iter().zip(u).map(|(s, u)| s * u).sum();
                        read[r] - plain[r] - line
                    })
                    .collect()
            })
            .collect();
        let shift: Vec<f64> = missed
            .iter()
            .map(|m| m.iter().sum::<f64>() / count)
            .collect();
        for (line, shift) in missed.iter_mut().zip(&shift) {
            line.iter_mut()
                .for_each(|m| *m = (*m - shift) / count.sqrt());
        }
        Ok(Seen {
            plain,
            shift,
            slopes,
            missed,
        })
    }
}

/// Faults that ordinary readings do not tell apart, in the trade's experience, and what has to be read to do it. What a model
/// thinks to see between them without that is not trusted beyond [`TRUSTED`].
const SEPARATED_BY: [(&str, &str, &[Separation]); 9] = [
    (
        "worn-pump",
        "oil-too-thin",
        &[Separation::What(What::Viscosity)],
    ),
    (
        "worn-motor",
        "oil-too-thin",
        &[Separation::What(What::Viscosity)],
    ),
    (
        "worn-pump",
        "air-in-oil",
        &[Separation::What(What::FreeAir)],
    ),
    (
        "oil-too-thin",
        "air-in-oil",
        &[
            Separation::What(What::FreeAir),
            Separation::What(What::Viscosity),
        ],
    ),
    (
        "regulator-low",
        "suction-restricted",
        &[Separation::What(What::InletVacuum)],
    ),
    (
        "supply-restricted",
        "return-restricted",
        &[Separation::What(What::Output(Output::RETURN_PRESSURE))],
    ),
    ("control-not-asking", "relief-low", &[Separation::Unplugged]),
    (
        "core-blocked-outside",
        "core-blocked-inside",
        &[Separation::What(What::HoseDifference)],
    ),
    // Only the thermostat in hot water tells these apart.
    ("thermostat-sticks", "coolant-pump-worn", &[]),
];

/// What tells twins apart.
#[derive(Clone, Copy, Debug)]
enum Separation {
    /// Some reading of this.
    What(What),
    /// Any reading with the valve unplugged.
    Unplugged,
}

/// The most that a cause may get before it is read apart from its twin: the rest of it goes to the twin.
const TRUSTED: f64 = 0.9;

impl Forecast {
    /// Probabilities after the readings. No cause gets more than nine tenths until it is read apart from its twin.
    pub fn suspects(&self, rows: &[Row], evidence: &[Evidence]) -> Vec<Suspect> {
        let mut suspects = posterior(&self.hypotheses, evidence);
        let place = |key: &str| self.faults.iter().position(|f| f.key == key).map(|i| i + 1);
        let read = |s: &Separation| {
            evidence
                .iter()
                .filter_map(|e| rows.get(e.row))
                .filter(|r| !r.well)
                .any(|r| match s {
                    Separation::What(what) => r.what == *what,
                    Separation::Unplugged => r.setting.unplugged,
                })
        };
        for (a, b, by) in SEPARATED_BY {
            let (Some(a), Some(b)) = (place(a), place(b)) else {
                continue;
            };
            if by.iter().any(read) {
                continue;
            }
            let (more, less) = if suspects[a].probability > suspects[b].probability {
                (a, b)
            } else {
                (b, a)
            };
            let beyond = suspects[more].probability - TRUSTED;
            if beyond > 0.0 {
                let other = suspects[less].probability + beyond;
                suspects[more].rescale(TRUSTED);
                suspects[less].rescale(other);
            }
        }
        suspects
    }
}

/// What a forecast is made for.
pub struct Subject<'a> {
    /// The machine.
    pub machine: &'a Machine,
    /// Its inputs, with its oil.
    pub case: &'a Case,
    /// The half width, about 95 %, of each input.
    pub spread: &'a Case,
    /// Whether somebody still waits.
    pub stop: &'a Stop,
}

/// The usual conditions in which a fault is asked to matter.
const USUAL: [Setting; 5] = {
    const fn at(engine: Engine, cold: bool, command: f64) -> Setting {
        let oil_temp = if cold {
            Some(crate::input::unit::celsius(20.0))
        } else {
            None
        };
        Setting {
            engine,
            oil_temp,
            command,
            unplugged: false,
            settled: None,
        }
    }
    [
        at(Engine::Idle, false, 1.0),
        at(Engine::Raised, false, 1.0),
        at(Engine::Idle, true, 1.0),
        at(Engine::Raised, true, 1.0),
        at(Engine::Raised, false, 0.0),
    ]
};

impl Subject<'_> {
    /// The coolant's temperature in each use that a test of it names; none on a machine without the parts for it.
    fn coolant(&self, fault: Option<(&Fault, f64)>) -> Vec<f64> {
        probe::ALL
            .iter()
            .filter(|p| p.what == What::CoolantTemp && p.runs_on(self.machine))
            .map(|p| {
                let sound = p.setting.on(self.machine, self.case);
                let case = fault.map_or(sound, |(fault, severity)| fault.on(&sound, severity));
                let found = probe::Seen::of(&p.setting, &case, None);
                found.map_or(f64::NAN, |f| f.read(&case, std::iter::once(p.what))[0])
            })
            .collect()
    }

    /// The usual conditions, each with the speed that a sound machine makes there, and at full command.
    fn usual(&self) -> Vec<(Case, f64, f64)> {
        let speed = |case: &Case| solve_from(case, f64::NAN).map_or(f64::NAN, |o| o.omega);
        USUAL
            .iter()
            .map(|setting| {
                let sound = setting.on(self.machine, self.case);
                let mut full = sound;
                full.now.command = 1.0;
                (sound, speed(&sound), speed(&full))
            })
            .collect()
    }

    /// The severity at which a fault begins to matter; none where it never does on this machine.
    fn floor(&self, fault: &Fault, usual: &[(Case, f64, f64)]) -> Option<f64> {
        if fault.applies(self.case).is_err() {
            return None;
        }
        let (low, high) = fault.range;
        let of_heat = HEAT.iter().any(|f| f.key == fault.key);
        let sound = if of_heat {
            self.coolant(None)
        } else {
            Vec::new()
        };
        let matters = |severity: f64| {
            if of_heat {
                let now = self.coolant(Some((fault, severity)));
                return now.iter().zip(&sound).any(|(a, b)| a - b >= WARMER);
            }
            usual.iter().any(|(case, sound, full)| {
                let found = solve_from(&fault.on(case, severity), *sound);
                found.is_ok_and(|o| (o.omega - sound).abs() >= FLOOR * full)
            })
        };
        let steps = 40;
        let at = |i: usize| low + (high - low) * i as f64 / steps as f64;
        let first = (1..=steps).find(|i| matters(at(*i)))?;
        let (mut a, mut b) = (at(first - 1), at(first));
        for _ in 0..10 {
            let middle = 0.5 * (a + b);
            if matters(middle) {
                b = middle
            } else {
                a = middle
            }
        }
        Some(b)
    }

    /// The scenes of all conditions that the rows name, how many sources there are, and how the first of them, the
    /// machine's inputs, go together.
    fn scenes(&self, rows: &[Row]) -> (Vec<Scene>, usize, DMatrix<f64>) {
        let own = |i: &Input| i.part() != "now" || matches!(i.field().key, "air_temp" | "altitude");
        // Where nothing settles, what acts on temperatures alone is not felt.
        let felt = |i: &Input, settles: bool| settles || i.place() != Place::Heat;
        let settles = rows.iter().any(|r| r.setting.settled.is_some());
        let inputs: Vec<Input> = Input::all()
            .filter(|i| own(i) && felt(i, settles))
            .filter(|i| self.spread.get(*i).is_some_and(|h| h > 0.0))
            .collect();
        // Readings from when the machine was well were taken on another day.
        let mut settings: Vec<(Setting, bool)> = Vec::new();
        for row in rows {
            if !settings.contains(&(row.setting, row.well)) {
                settings.push((row.setting, row.well));
            }
        }
        let engine = find("now.engine_speed");
        let mut spread = *self.spread;
        for input in Input::all().filter(|i| !own(i)) {
            spread = spread.with(input, 0.0);
        }
        let sources = inputs.len() + 2 * settings.len();
        let together = sample::factor(&inputs, &self.machine.correlations);
        let drawn = sample::scores(sources, SAMPLES, SEED);
        let score = |source: usize, n: usize| {
            if source < inputs.len() {
                (0..inputs.len())
                    .map(|j| together[(source, j)] * drawn[j][n])
                    .sum()
            } else {
                drawn[source][n]
            }
        };
        let scenes = settings
            .iter()
            .enumerate()
            .map(|(number, (setting, well))| {
                let base = setting.on(self.machine, self.case);
                let of: Vec<usize> = (0..rows.len())
                    .filter(|r| rows[*r].setting == *setting && rows[*r].well == *well)
                    .collect();
                let widest =
                    |f: fn(&Row) -> f64| of.iter().map(|r| f(&rows[*r])).fold(0.0, f64::max);
                let mut scene = spread;
                scene.now.engine_speed = widest(|r| r.engine_half);
                let (second, slot) = match setting.settled {
                    Some(_) => (find("now.ambient"), &mut scene.now.ambient),
                    None => (find("now.oil_temp"), &mut scene.now.oil_temp),
                };
                *slot = widest(|r| r.oil_temp_half);
                let first = inputs.len() + 2 * number;
                let sources: Vec<(usize, Input)> = inputs
                    .iter()
                    .copied()
                    .enumerate()
                    .chain([(first, engine), (first + 1, second)])
                    .filter(|(_, i)| felt(i, setting.settled.is_some()))
                    .filter(|(_, i)| scene.get(*i).is_some_and(|h| h > 0.0))
                    .collect();
                let value = |case: &Case, i: Input| case.get(i).unwrap_or(0.0);
                let moved = sources
                    .iter()
                    .map(|(at, i)| {
                        (
                            *at,
                            base.with(*i, value(&base, *i) + 0.5 * value(&scene, *i)),
                        )
                    })
                    .collect();
                let drawn = (0..SAMPLES)
                    .map(|n| {
                        let mut u = Vec::new();
                        let mut case = base;
                        for (at, i) in &sources {
                            let (field, middle) = (i.field(), value(&base, *i));
                            let one = 0.5 * value(&scene, *i);
                            let (low, high) = (field.low.min(middle), field.high.max(middle));
                            let cut = (middle + one * score(*at, n)).clamp(low, high);
                            u.push((cut - middle) / one);
                            case = case.with(*i, cut);
                        }
                        (case, u)
                    })
                    .collect();
                Scene {
                    base,
                    setting: *setting,
                    rows: of,
                    moved,
                    drawn,
                }
            })
            .collect();
        (scenes, sources, together)
    }

    /// The hypotheses for these rows. `priors` gives the weight of "nothing that matters", and that of each fault.
    pub fn forecast(
        &self,
        rows: &[Row],
        nothing: f64,
        priors: &[(&'static Fault, f64)],
    ) -> Result<Forecast, Trouble> {
        let (scenes, sources, together) = self.scenes(rows);
        let usual = self.usual();
        let found: Vec<(&'static Fault, f64, Vec<Form>)> = priors
            .par_iter()
            .map(|(fault, weight)| {
                let forms = fault.forms().filter_map(|form| {
                    self.stop.check().ok()?;
                    Some((form, self.floor(&form, &usual)?))
                });
                (*fault, *weight, forms.collect())
            })
            .collect();
        let (faults, out): (Vec<_>, Vec<_>) = found.into_iter().partition(|f| !f.2.is_empty());
        let forms: Vec<(usize, Fault, f64)> = faults
            .iter()
            .enumerate()
            .flat_map(|(n, (_, _, forms))| {
                forms.iter().map(move |(form, floor)| (n, *form, *floor))
            })
            .collect();
        let table = Table {
            rows,
            sources,
            together: &together,
            alone: self.machine.correlations.is_empty(),
            scenes: &scenes,
        };
        let sound: Vec<Seen> = scenes
            .par_iter()
            .map(|s| {
                self.stop.check()?;
                s.seen(rows, None, 0.0)
            })
            .collect::<Result<_, _>>()?;
        let tasks: Vec<(usize, usize)> = (0..forms.len())
            .flat_map(|f| (0..scenes.len()).map(move |s| (f, s)))
            .collect();
        let strips: Vec<Strip> = tasks
            .par_iter()
            .map(|(f, s)| {
                self.stop.check()?;
                Strip::of(&scenes[*s], rows, &forms[*f].1, forms[*f].2, &sound[*s])
            })
            .collect::<Result<_, _>>()?;
        let per_form: Vec<(Vec<Node>, Vec<Node>)> = strips
            .par_chunks(scenes.len().max(1))
            .map(|strips| table.nodes(strips, &sound))
            .collect();
        let mut per_fault: Vec<(Hypothesis, Vec<Node>)> = faults
            .iter()
            .map(|(_, prior, _)| {
                (
                    Hypothesis {
                        prior: *prior,
                        nodes: Vec::new(),
                    },
                    Vec::new(),
                )
            })
            .collect();
        for ((n, ..), (nodes, below)) in forms.iter().zip(per_form) {
            let share = 1.0 / faults[*n].2.len() as f64;
            let shared = |node: Node| Node {
                prior: share * node.prior,
                ..node
            };
            per_fault[*n].0.nodes.extend(nodes.into_iter().map(shared));
            per_fault[*n].1.extend(below.into_iter().map(shared));
        }
        for (hypothesis, _) in &mut per_fault {
            hypothesis
                .nodes
                .sort_by(|a, b| a.severity[1].total_cmp(&b.severity[1]));
        }
        let share: f64 = faults.iter().map(|f| f.1).sum();
        // Half of "nothing that matters" is a sound machine; the other half something too small to matter.
        let mut nodes = vec![Node {
            prior: 1.0,
            ..table.node(&sound, &sound, [0.0; 3], 1.0, None)
        }];
        for ((_, below), (_, prior, _)) in per_fault.iter().zip(&faults) {
            nodes.extend(below.iter().map(|n| Node {
                prior: n.prior * prior / share,
                ..n.clone()
            }));
        }
        if nodes.len() > 1 && share > 0.0 {
            nodes.iter_mut().for_each(|n| n.prior *= 0.5);
        }
        let mut hypotheses = vec![Hypothesis {
            prior: nothing,
            nodes,
        }];
        hypotheses.extend(per_fault.into_iter().map(|(h, _)| h));
        let total: f64 = hypotheses.iter().map(|h| h.prior).sum();
        hypotheses.iter_mut().for_each(|h| h.prior /= total);
        Ok(Forecast {
            faults: faults.iter().map(|f| f.0).collect(),
            hypotheses,
            left_out: out.iter().map(|f| f.0).collect(),
            forms: faults.into_iter().map(|f| f.2).collect(),
        })
    }
}

fn find(key: &str) -> Input {
    Input::find(key).unwrap_or(Input(0))
}

/// One fault in one scene: anchors from severity 0 over the floor to the greatest, and what is read in the cells between.
struct Strip {
    severities: Vec<f64>,
    anchors: Vec<Seen>,
    /// What is read at both ends and in the middle of each cell: `2 × cells + 1` values.
    plain: Vec<Vec<f64>>,
}

impl Strip {
    fn of(
        scene: &Scene,
        rows: &[Row],
        fault: &Fault,
        floor: f64,
        sound: &Seen,
    ) -> Result<Self, Trouble> {
        let (low, high) = fault.range;
        let mut severities = vec![low];
        severities
            .extend((0..ANCHORS).map(|i| floor + (high - floor) * i as f64 / (ANCHORS - 1) as f64));
        let last = severities.len() - 1;
        let solved = |i: usize| !scene.coarse() || i <= 1 || i.is_multiple_of(4) || i == last;
        let mut anchors = vec![sound.clone()];
        for (i, severity) in severities.iter().enumerate().skip(1) {
            anchors.push(if solved(i) {
                scene.seen(rows, Some(fault), *severity)?
            } else {
                sound.clone()
            });
        }
        between(&mut anchors, solved, mix);
        let step = 2 * CELLS;
        let solved = |k: usize| !scene.coarse() || k.is_multiple_of(CELLS);
        let mut plain = Vec::new();
        for k in 0..=last * step {
            let (i, part) = (k / step, k % step);
            let (from, to) = (severities[i], severities[(i + 1).min(last)]);
            let severity = from + (to - from) * part as f64 / step as f64;
            plain.push(if solved(k) {
                scene.plain(rows, Some(fault), severity)?
            } else {
                Vec::new()
            });
        }
        between(&mut plain, solved, |a, b, share| line(a, b, share));
        Ok(Self {
            severities,
            anchors,
            plain,
        })
    }
}

/// Puts the scenes together to means and covariances of all rows.
struct Table<'a> {
    rows: &'a [Row],
    sources: usize,
    together: &'a DMatrix<f64>,
    /// Each input of the machine stands alone.
    alone: bool,
    scenes: &'a [Scene],
}

impl Table<'_> {
    /// The nodes of a fault's form from its floor on, and those below, each with their prior among each other.
    fn nodes(&self, strips: &[Strip], sound: &[Seen]) -> (Vec<Node>, Vec<Node>) {
        let mut nodes = Vec::new();
        let mut below = Vec::new();
        let Some(severities) = strips.first().map(|s| &s.severities) else {
            return (nodes, below);
        };
        for anchor in 0..severities.len() - 1 {
            let (from, to) = (severities[anchor], severities[anchor + 1]);
            for cell in 0..CELLS {
                let at = |part: f64| from + (to - from) * (cell as f64 + part) / CELLS as f64;
                let severity = [at(0.0), at(0.5), at(1.0)];
                let share = (cell as f64 + 0.5) / CELLS as f64;
                let number = 2 * (anchor * CELLS + cell);
                let mut ends = vec![(0.0, 0.0); self.rows.len()];
                let seen: Vec<Seen> = strips
                    .iter()
                    .zip(self.scenes)
                    .map(|(strip, scene)| {
                        for (i, row) in scene.rows.iter().enumerate() {
                            ends[*row] = (strip.plain[number][i], strip.plain[number + 2][i]);
                        }
                        Seen {
                            plain: strip.plain[number + 1].clone(),
                            ..mix(&strip.anchors[anchor], &strip.anchors[anchor + 1], share)
                        }
                    })
                    .collect();
                let node = self.node(&seen, sound, severity, 0.0, Some(&ends));
                if anchor == 0 {
                    below.push(node)
                } else {
                    nodes.push(node)
                }
            }
        }
        for list in [&mut nodes, &mut below] {
            let all: f64 = list.iter().map(|n| n.severity[2] - n.severity[0]).sum();
            list.iter_mut()
                .for_each(|n| n.prior = (n.severity[2] - n.severity[0]) / all);
        }
        (nodes, below)
    }

    /// Means and covariance of all rows: sources, what the line misses, what the model has wrong, the cell's own width.
    fn node(
        &self,
        seen: &[Seen],
        sound: &[Seen],
        severity: [f64; 3],
        prior: f64,
        ends: Option<&[(f64, f64)]>,
    ) -> Node {
        let count = self.rows.len();
        let width = self.sources + SAMPLES;
        let mut mean = DVector::zeros(count);
        let mut loads = DMatrix::zeros(width, count);
        for (scene, (seen, sound)) in self.scenes.iter().zip(seen.iter().zip(sound)) {
            for (i, row) in scene.rows.iter().enumerate() {
                let seen = if self.rows[*row].well { sound } else { seen };
                mean[*row] = seen.plain[i] + seen.shift[i];
                for ((at, _), slope) in scene.moved.iter().zip(&seen.slopes[i]) {
                    loads[(*at, *row)] = *slope;
                }
                for (m, missed) in seen.missed[i].iter().enumerate() {
                    loads[(self.sources + m, *row)] = *missed;
                }
            }
        }
        if !self.alone {
            let own = self.together.nrows();
            let turned = self.together.tr_mul(&loads.rows(0, own));
            loads.rows_mut(0, own).copy_from(&turned);
        }
        let mut covariance = loads.tr_mul(&loads);
        for i in 0..count {
            for j in 0..count {
                let (a, b) = (&self.rows[i], &self.rows[j]);
                // Two readings of the same in the same condition: the model errs alike.
                if a.what == b.what && a.setting == b.setting {
                    covariance[(i, j)] += model(a.what).powi(2) * mean[i] * mean[j];
                }
                if let Some(ends) = ends {
                    let wide = |r: usize| {
                        if self.rows[r].well {
                            0.0
                        } else {
                            ends[r].1 - ends[r].0
                        }
                    };
                    covariance[(i, j)] += wide(i) * wide(j) / 12.0;
                }
            }
        }
        Node {
            severity,
            prior,
            mean,
            covariance,
        }
    }
}

/// Standard deviation of what the model has wrong, as a share.
pub fn model(what: What) -> f64 {
    match what {
        What::Output(o) if o.declaration().kind == Kind::Speed => MODEL.0,
        What::Viscosity | What::FreeAir => 0.0,
        What::CoolantTemp => MODEL_COOLANT.0,
        What::HoseDifference => MODEL_COOLANT.1,
        _ => MODEL.1,
    }
}

/// Fills what was not solved from what was on both sides of it.
fn between<T>(list: &mut [T], solved: impl Fn(usize) -> bool, mix: impl Fn(&T, &T, f64) -> T) {
    let last = list.len().saturating_sub(1);
    for i in (0..list.len()).filter(|i| !solved(*i)) {
        let below = (0..i).rev().find(|k| solved(*k)).unwrap_or(0);
        let above = (i..=last).find(|k| solved(*k)).unwrap_or(last);
        let share = (i - below) as f64 / (above - below).max(1) as f64;
        list[i] = mix(&list[below], &list[above], share);
    }
}

/// Between two rows of figures.
fn line(a: &[f64], b: &[f64], share: f64) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a + share * (b - a)).collect()
}

/// Between two severities.
fn mix(a: &Seen, b: &Seen, share: f64) -> Seen {
    let one = |a: &[f64], b: &[f64]| line(a, b, share);
    let all = |a: &[Vec<f64>], b: &[Vec<f64>]| -> Vec<Vec<f64>> {
        a.iter().zip(b).map(|(a, b)| one(a, b)).collect()
    };
    Seen {
        plain: one(&a.plain, &b.plain),
        shift: one(&a.shift, &b.shift),
        slopes: all(&a.slopes, &b.slopes),
        missed: all(&a.missed, &b.missed),
    }
}
