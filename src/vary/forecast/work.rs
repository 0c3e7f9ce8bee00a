//! From test conditions to hypotheses: decides which severities of each fault are computed, and builds its nodes.

use super::scene::{
    self, CELLS, Found, Live, SAMPLES, STRETCHES, Seen, Strip, TestCondition, View,
};
use super::{Forecast, Form, Row, SELDOM, WORTH, model, shared};
use crate::fault::Fault;
use crate::input::unit::BAR;
use crate::probe::What;
use crate::quantity::Kind;
use crate::trouble::{Stop, Trouble};
use crate::vary::posterior::{self, Evidence, Hypothesis, LEAST, Node, Suspect, chance};
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// A node with a weight below this fraction of the second most probable hypothesis is excluded. The upper bound of its
/// weight is exact for normal errors and for a single uniform error. With several uniform errors their order changes it
/// slightly, which this margin covers.
const NEGLIGIBLE: f64 = 1e-12;

/// Maximum number of rounds in which the test conditions with readings are computed.
const ROUNDS: usize = 10;

/// All intermediate results on the way to the hypotheses.
pub struct Work<'a> {
    pub rows: &'a [Row],
    /// Number of sources, and the correlations of the first sources, which are the machine's inputs.
    pub sources: usize,
    pub together: DMatrix<f64>,
    /// Whether the machine's inputs are uncorrelated.
    pub alone: bool,
    pub scenes: Vec<TestCondition>,
    /// Each test condition with the most likely machine under each hypothesis: first healthy, then with each form of a
    /// fault.
    pub views: Vec<Vec<View>>,
    /// The readings of a healthy machine, by view and test condition.
    pub sound: Vec<Found>,
    /// Weights of "nothing that matters", of an unlisted cause, and of each fault.
    pub nothing: f64,
    pub not_listed: f64,
    pub faults: Vec<(&'static Fault, f64)>,
    /// Each form with the index of its fault.
    pub forms: Vec<(usize, Form)>,
    /// The readings versus severity, by form and test condition.
    pub strips: Vec<Strip>,
    pub left_out: Vec<&'static Fault>,
}

/// Deviation from the expected reading due to an unlisted cause, as a fraction: small, medium, large. An engineering
/// assumption.
const BREADTHS: [f64; 3] = [0.1, 0.25, 0.6];
/// Deviation due to an unlisted cause from the reading expected under a listed one. An engineering assumption.
const NEAR: [f64; 2] = [0.03, 0.1];
/// Only one in this many severity cells is used for unlisted causes that resemble a listed one; the number of cells in
/// a severity interval is a multiple of this.
const THIN: usize = 3;
/// Correlation between the effects of an unlisted cause on two readings of one kind. An engineering assumption.
const KIND_CORRELATION: f64 = 0.5;

/// The deviation for a breadth of 1 at a reading with expected value `mean`, SI. An engineering assumption.
fn breadth(what: What, mean: f64) -> f64 {
    match what {
        What::CoolantTemp => 60.0,
        What::FreeAir => 0.1,
        What::InletVacuum => mean.abs() + 0.2 * BAR,
        _ if what.kind() == Kind::Pressure => mean.abs() + 5.0 * BAR,
        _ => mean.abs(),
    }
}

/// The form and severity interval of a node; `None` for a healthy machine.
pub type Spot = Option<(usize, usize)>;
type Placed = (Spot, Node);

impl Work<'_> {
    /// All severity intervals of all forms.
    pub fn every(&self) -> Vec<Live> {
        vec![[true; STRETCHES]; self.forms.len()]
    }

    /// The test conditions that faults affect: those with evidence, and the others. Among those with evidence, the ones
    /// that are slow to compute come last; otherwise the next is always the one worst explained by a healthy machine
    /// fitted to the preceding ones.
    pub fn read(&self, evidence: &[Evidence]) -> (Vec<usize>, Vec<usize>) {
        let of = |s: usize| {
            let rows = &self.scenes[s].rows;
            evidence.iter().filter(|e| rows.contains(&e.row)).copied()
        };
        let felt = (0..self.scenes.len()).filter(|s| !self.scenes[*s].well);
        let (mut read, open): (Vec<usize>, Vec<usize>) =
            felt.partition(|s| of(*s).next().is_some());
        let sound = self.sound_node();
        let mut taken: Vec<Evidence> = Vec::new();
        for n in 0..read.len() {
            let belief = sound.given(&taken);
            let off = |e: Evidence| {
                let own = belief.covariance[(e.row, e.row)].max(0.0);
                (e.value - belief.mean[e.row]).powi(2)
                    / (own + posterior::variance(e.half, e.uniform))
            };
            let rank = |s: usize| (self.scenes[s].coarse(), -of(s).map(off).sum::<f64>());
            let next = (n..read.len()).min_by(|a, b| {
                let (a, b) = (rank(read[*a]), rank(read[*b]));
                a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
            });
            read.swap(n, next.unwrap_or(n));
            taken.extend(of(read[n]));
        }
        (read, open)
    }

    /// The node of a healthy machine.
    fn sound_node(&self) -> Node {
        let sound: Vec<Option<&Seen>> = self.sound[..self.scenes.len()]
            .iter()
            .map(|s| Some(&s.0))
            .collect();
        self.node(0, &sound, [0.0; 3], 1.0, None)
    }

    /// Computes the live severity intervals of each form in some test conditions; calls `ask` before each form in each
    /// condition.
    pub fn solve(
        &mut self,
        ask: impl Fn() -> Result<(), Trouble> + Sync,
        wanted: &[usize],
        live: &[Live],
    ) -> Result<(), Trouble> {
        let count = self.scenes.len();
        let (scenes, forms, views) = (&self.scenes, &self.forms, &self.views);
        self.strips
            .par_iter_mut()
            .enumerate()
            .filter(|(n, _)| wanted.contains(&(n % count)))
            .try_for_each(|(n, strip)| {
                ask()?;
                let (form, scene) = (n / count, n % count);
                strip.grow(
                    &scenes[scene],
                    &views[form + 1][scene],
                    &forms[form].1,
                    &live[form],
                )
            })
    }

    /// Computes the test conditions with readings, a few at a time. Drops the severity intervals that would stay
    /// negligible even if they matched all remaining readings perfectly. Returns the intervals that remain.
    pub fn weigh(
        &mut self,
        stop: &Stop,
        read: &[usize],
        evidence: &[Evidence],
    ) -> Result<Vec<Live>, Trouble> {
        let mut live = self.every();
        let mut leading = vec![[false; STRETCHES]; self.forms.len()];
        let mut to_come = read;
        while !to_come.is_empty() {
            // The fewer forms remain, the more test conditions are computed at once, so that all threads stay busy.
            let left = live.iter().filter(|l| l.contains(&true)).count().max(1);
            let least = read.len().div_ceil(ROUNDS);
            let (now, rest) = to_come.split_at((live.len() / left).max(least).min(to_come.len()));
            to_come = rest;
            self.solve(|| stop.check(), now, &live)?;
            if rest.is_empty() {
                break;
            }
            let later = |e: &Evidence| rest.iter().any(|s| self.scenes[*s].rows.contains(&e.row));
            let (later, known): (Vec<Evidence>, Vec<Evidence>) =
                evidence.iter().copied().partition(later);
            let so_far = self.logs(&live, &known);
            // The two leading hypotheses are computed completely, to compare the others with the second.
            for (_, spot) in best(&so_far).into_iter().take(2) {
                if let Some((form, stretch)) = spot {
                    leading[form][stretch] = true;
                }
            }
            self.solve(|| stop.ask(), rest, &leading)?;
            let ends = best(&self.logs(&leading, evidence));
            let second = ends.get(1).map_or(f64::NEG_INFINITY, |b| b.0);
            let most: f64 = later.iter().map(Evidence::most).sum();
            live = leading.clone();
            // The unlisted cause is computed only near the listed causes that remain. On its own it would keep all
            // severity intervals, with a negligible weight.
            for (spot, log) in so_far[..so_far.len() - 1].iter().flatten() {
                if let Some((form, stretch)) = spot
                    && log + most > second + NEGLIGIBLE.ln()
                {
                    live[*form][*stretch] = true;
                }
            }
        }
        Ok(live)
    }

    /// The logarithm of each node's weight given some evidence, with its form and severity interval, by hypothesis.
    fn logs(&self, live: &[Live], evidence: &[Evidence]) -> Vec<Vec<(Spot, f64)>> {
        let (forecast, spots) = self.forecast(live);
        let logs = posterior::logs(&forecast.hypotheses, evidence);
        spots
            .into_iter()
            .zip(logs)
            .map(|(spots, logs)| spots.into_iter().zip(logs).collect())
            .collect()
    }

    /// Marks as live all severity intervals of the hypotheses that are reported in detail.
    pub fn fill(&self, live: &mut [Live], suspects: &[Suspect], readings: usize) {
        // An unlisted cause fits everything.
        let nearest = suspects[..suspects.len() - 1]
            .iter()
            .map(|s| s.distance)
            .fold(f64::INFINITY, f64::min);
        let unexplained = chance(nearest, readings) < SELDOM;
        let mut order: Vec<usize> = (0..suspects.len()).collect();
        order.sort_by(|a, b| {
            suspects[*b]
                .probability
                .total_cmp(&suspects[*a].probability)
        });
        for (rank, hypothesis) in order.into_iter().enumerate() {
            if rank < 2 || suspects[hypothesis].probability >= WORTH || unexplained {
                for ((fault, _), live) in self.forms.iter().zip(&mut *live) {
                    if hypothesis == 0 {
                        live[0] = true;
                    } else if hypothesis == fault + 1 {
                        live[1..].fill(true);
                    }
                }
            }
        }
    }

    /// The severity intervals of each form with a probability that is not negligible.
    pub fn live(&self, spots: &[Vec<Spot>], suspects: &[Suspect]) -> Vec<Live> {
        let mut live = vec![[false; STRETCHES]; self.forms.len()];
        for (spots, suspect) in spots.iter().zip(suspects) {
            for (spot, weight) in spots.iter().zip(&suspect.weights) {
                if let (Some((form, stretch)), true) = (spot, *weight > LEAST) {
                    live[*form][*stretch] = true;
                }
            }
        }
        live
    }

    /// The hypotheses, with the form and severity interval of each of their nodes.
    pub fn forecast(&self, live: &[Live]) -> (Forecast, Vec<Vec<Spot>>) {
        let weights = std::iter::once(self.nothing)
            .chain(self.faults.iter().map(|f| f.1))
            .chain([self.not_listed]);
        let total: f64 = weights.clone().sum();
        let (mut hypotheses, mut spots) = (Vec::new(), Vec::new());
        for (placed, weight) in self.nodes(live).into_iter().zip(weights) {
            let (spot, nodes): (Vec<Spot>, Vec<Node>) = placed.into_iter().unzip();
            let prior = weight / total;
            hypotheses.push(Hypothesis { prior, nodes });
            spots.push(spot);
        }
        let forms = |n| self.forms.iter().filter(move |f| f.0 == n).map(|f| f.1);
        let forecast = Forecast {
            faults: self.faults.iter().map(|f| f.0).collect(),
            hypotheses,
            left_out: self.left_out.clone(),
            forms: (0..self.faults.len()).map(|n| forms(n).collect()).collect(),
        };
        (forecast, spots)
    }

    /// The nodes of each hypothesis in the live severity intervals.
    fn nodes(&self, live: &[Live]) -> Vec<Vec<Placed>> {
        let per_form: Vec<[Vec<Placed>; 2]> = (0..self.forms.len())
            .into_par_iter()
            .map(|form| self.nodes_of(form, &live[form]))
            .collect();
        let mut faults: Vec<Vec<Placed>> = self.faults.iter().map(|_| Vec::new()).collect();
        let share: f64 = self.faults.iter().map(|f| f.1).sum();
        // Half of the weight of "nothing that matters" is a healthy machine; the other half is a fault too small to
        // matter.
        let mut nothing = vec![(None, self.sound_node())];
        for ((fault, _), [below, nodes]) in self.forms.iter().zip(per_form) {
            let weight = self.faults[*fault].1;
            nothing.extend(below.into_iter().map(|(place, node)| {
                let prior = node.prior * weight / share;
                (place, Node { prior, ..node })
            }));
            faults[*fault].extend(nodes);
        }
        if !self.forms.is_empty() && share > 0.0 {
            nothing.iter_mut().for_each(|n| n.1.prior *= 0.5);
        }
        let not_listed = self.not_listed(&faults);
        for nodes in &mut faults {
            nodes.sort_by(|a, b| a.1.severity[1].total_cmp(&b.1.severity[1]));
        }
        std::iter::once(nothing)
            .chain(faults)
            .chain([not_listed])
            .collect()
    }

    /// An unlisted cause: half of its weight is spread around the readings of a healthy machine, the other half is
    /// close to the readings under some listed cause.
    fn not_listed(&self, faults: &[Vec<Placed>]) -> Vec<Placed> {
        let sound = self.sound_node();
        let all: f64 = self.faults.iter().map(|f| f.1).sum();
        let share = 0.5 * THIN as f64 / (all * NEAR.len() as f64);
        let near = faults.iter().zip(&self.faults).flat_map(|(nodes, of)| {
            let some = nodes.iter().skip(THIN / 2).step_by(THIN);
            some.flat_map(move |(spot, node)| {
                let prior = share * of.1 * node.prior;
                NEAR.map(|b| (*spot, self.blurred(node, b, prior)))
            })
        });
        BREADTHS
            .map(|b| (None, self.blurred(&sound, b, 0.5 / BREADTHS.len() as f64)))
            .into_iter()
            .chain(near)
            .collect()
    }

    /// A node with readings that deviate by some breadth, partly correlated among readings of the same kind.
    fn blurred(&self, node: &Node, breadth_of: f64, prior: f64) -> Node {
        let wide = |row: usize| match self.rows[row].well || !node.mean[row].is_finite() {
            true => 0.0,
            false => breadth_of * breadth(self.rows[row].what, node.mean[row]),
        };
        let wide: Vec<f64> = (0..self.rows.len()).map(wide).collect();
        let mut node = Node {
            severity: [breadth_of; 3],
            prior,
            ..node.clone()
        };
        for (a, one) in self.rows.iter().enumerate() {
            for (b, other) in self.rows.iter().enumerate() {
                let alike = match () {
                    () if a == b => 1.0,
                    () if one.what == other.what && one.setting == other.setting => 1.0,
                    () if one.what == other.what => KIND_CORRELATION,
                    () => 0.0,
                };
                node.covariance[(a, b)] += alike * wide[a] * wide[b];
            }
        }
        node
    }

    /// The nodes of a form below and above the severity at which it begins to matter, each with its fraction of the
    /// fault's weight.
    fn nodes_of(&self, form: usize, live: &Live) -> [Vec<Placed>; 2] {
        let (fault, (form_of, floor)) = &self.forms[form];
        let forms = self.forms.iter().filter(|f| f.0 == *fault).count() as f64;
        let severities = scene::severities(form_of, *floor);
        let whole = [
            severities[1] - severities[0],
            severities[STRETCHES] - severities[1],
        ];
        let count = self.scenes.len();
        let strips = &self.strips[form * count..(form + 1) * count];
        let mut nodes = [Vec::new(), Vec::new()];
        for stretch in (0..STRETCHES).filter(|s| live[*s]) {
            let (from, to) = (severities[stretch], severities[stretch + 1]);
            for cell in 0..CELLS {
                let at = |part: f64| from + (to - from) * (cell as f64 + part) / CELLS as f64;
                let severity = [at(0.0), at(0.5), at(1.0)];
                let cells: Vec<_> = strips.iter().map(|s| s.cell(stretch, cell)).collect();
                let mut ends = vec![(0.0, 0.0); self.rows.len()];
                for (scene, cell) in self.scenes.iter().zip(&cells) {
                    let Some((_, [low, high])) = cell else {
                        continue;
                    };
                    for (i, row) in scene.rows.iter().enumerate() {
                        ends[*row] = (low[i], high[i]);
                    }
                }
                let seen: Vec<Option<&Seen>> =
                    cells.iter().map(|c| c.as_ref().map(|c| &c.0)).collect();
                let part = usize::from(stretch > 0);
                let prior = (severity[2] - severity[0]) / whole[part] / forms;
                let node = self.node(form + 1, &seen, severity, prior, Some(&ends));
                nodes[part].push((Some((form, stretch)), node));
            }
        }
        nodes
    }

    /// Means and covariance of all computed rows, from the sources, the linearisation error, the model error and the
    /// width of the severity cell.
    fn node(
        &self,
        view: usize,
        seen: &[Option<&Seen>],
        severity: [f64; 3],
        prior: f64,
        ends: Option<&[(f64, f64)]>,
    ) -> Node {
        let first = view * self.scenes.len();
        let sound = |n: usize| self.scenes[n].well.then_some(&self.sound[first + n].0);
        let known: Vec<(&TestCondition, usize, &Seen)> = seen
            .iter()
            .enumerate()
            .filter_map(|(n, seen)| Some((&self.scenes[n], sound(n).or(*seen)?)))
            .flat_map(|(scene, seen)| (0..scene.rows.len()).map(move |i| (scene, i, seen)))
            .collect();
        // Converts from the scores of the view to the scores with all values as given.
        let mut back = Vec::with_capacity(known.len());
        for (n, seen) in seen.iter().enumerate() {
            let Some(seen) = sound(n).or(*seen) else {
                continue;
            };
            let at = &self.views[view][n].at;
            for line in &seen.slopes {
                back.push(line.iter().zip(at).map(|(s, u)| s * u).sum::<f64>());
            }
        }
        let mut loads = DMatrix::zeros(known.len(), self.sources + SAMPLES);
        for (row, (scene, i, seen)) in known.iter().enumerate() {
            for (source, slope) in scene.sources.iter().zip(&seen.slopes[*i]) {
                loads[(row, source.at)] = *slope;
            }
            for (m, missed) in seen.missed[*i].iter().enumerate() {
                loads[(row, self.sources + m)] = *missed;
            }
        }
        if !self.alone {
            let own = self.together.nrows();
            let turned = loads.columns(0, own) * &self.together;
            loads.columns_mut(0, own).copy_from(&turned);
        }
        let common = &loads * loads.transpose();
        let count = self.rows.len();
        let mut mean = DVector::from_element(count, f64::NAN);
        let mut covariance = DMatrix::from_element(count, count, f64::NAN);
        for ((scene, i, seen), back) in known.iter().zip(&back) {
            mean[scene.rows[*i]] = seen.plain[*i] + seen.shift[*i] - back;
        }
        for (m, (one, i, _)) in known.iter().enumerate() {
            for (n, (other, j, _)) in known.iter().enumerate().take(m + 1) {
                let (a, b) = (one.rows[*i], other.rows[*j]);
                let mut both = common[(m, n)];
                // Two readings of the same quantity in the same condition: the model error is common.
                let (plain, other_plain) = (known[m].2.plain[*i], known[n].2.plain[*j]);
                if one.tests[*i] == other.tests[*j] && one.setting == other.setting {
                    let alike = shared(&self.rows[a], &self.rows[b]);
                    both += alike * model(one.tests[*i], plain) * model(one.tests[*i], other_plain);
                }
                // The error of one instrument is common.
                if let (Some(one), Some(other)) = (self.rows[a].shared, self.rows[b].shared)
                    && one.0 == other.0
                {
                    both += one.1 * other.1;
                }
                let wide = |scene: &TestCondition, row: usize| match ends {
                    Some(ends) if !scene.well => ends[row].1 - ends[row].0,
                    _ => 0.0,
                };
                both += wide(one, a) * wide(other, b) / 12.0;
                covariance[(a, b)] = both;
                covariance[(b, a)] = both;
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

/// The node of maximum weight of each hypothesis, in descending order of weight.
fn best(logs: &[Vec<(Spot, f64)>]) -> Vec<(f64, Spot)> {
    let mut best: Vec<(f64, Spot)> = logs
        .iter()
        .filter_map(|nodes| {
            let (spot, log) = nodes.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
            Some((*log, *spot))
        })
        .collect();
    best.sort_by(|a, b| b.0.total_cmp(&a.0));
    best
}
