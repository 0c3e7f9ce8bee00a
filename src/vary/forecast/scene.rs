//! Expected readings of tests in one condition, on a healthy machine and under a fault versus its severity.

use crate::balance::Limit;
use crate::fault::Fault;
use crate::input::Input;
use crate::model::Case;
use crate::probe::{self, Setting, What};
use crate::trouble::Trouble;

/// Number of severity intervals: the first from zero to the severity at which the fault begins to matter, the others
/// from there to the maximum. Derivatives are computed at the limits of the intervals and interpolated between.
pub const STRETCHES: usize = 8;
/// Number of severity cells in each interval.
pub const CELLS: usize = 6;
/// Number of samples that capture what the linearisation misses.
pub const SAMPLES: usize = 16;

/// Which severity intervals are computed.
pub type Live = [bool; STRETCHES];

/// One uncertain quantity, as it affects a test condition.
#[derive(Clone, Copy, Debug)]
pub struct Source {
    /// Index of the source among all sources.
    pub at: usize,
    /// Input of the source.
    pub input: Input,
    /// Value of the input at score 0.
    pub middle: f64,
    /// One standard deviation; if the uncertainty is a factor, that of the logarithm times the middle value.
    pub one: f64,
    /// Whether the logarithm of the value is normally distributed.
    pub factor: bool,
}

impl Source {
    fn ends(&self) -> (f64, f64) {
        let field = self.input.field();
        (field.low.min(self.middle), field.high.max(self.middle))
    }

    /// Value of the input at a score, clamped to the input's range.
    fn value(&self, score: f64) -> f64 {
        let (low, high) = self.ends();
        let value = match self.factor {
            true => self.middle * (self.one / self.middle * score).exp(),
            false => self.middle + self.one * score,
        };
        value.clamp(low, high)
    }

    /// The score that gives a value.
    fn score(&self, value: f64) -> f64 {
        match self.factor {
            true => (value / self.middle).ln() * self.middle / self.one,
            false => (value - self.middle) / self.one,
        }
    }

    /// Derivative of the value with respect to its score; zero if the value is at a limit of the input's range.
    fn slope(&self, value: f64) -> f64 {
        let (low, high) = self.ends();
        match self.factor {
            _ if value <= low && low < self.middle || value >= high && high > self.middle => 0.0,
            true => value * self.one / self.middle,
            false => self.one,
        }
    }
}

/// A condition with all its uncertain quantities, before any fault.
pub struct TestCondition {
    /// The case with all values as given.
    pub middle: Case,
    pub setting: Setting,
    /// Whether the readings are from the day when the machine was healthy.
    pub well: bool,
    /// The rows read in this condition, and the quantity of each.
    pub rows: Vec<usize>,
    pub tests: Vec<What>,
    /// Each source that affects the condition.
    pub sources: Vec<Source>,
}

/// One test condition, for the machine that is most likely if a given hypothesis is true.
#[derive(Clone, Debug)]
pub struct View {
    /// The case of the most likely machine.
    pub base: Case,
    /// Scores of the most likely machine, by source of the condition.
    pub at: Vec<f64>,
    /// Samples around the most likely machine: each a case with the offsets of its scores.
    pub drawn: Vec<(Case, Vec<f64>)>,
}

/// The readings of the rows of one test condition at one severity.
#[derive(Clone)]
pub struct Seen {
    /// The readings at the scores of the view.
    pub plain: Vec<f64>,
    /// Offset of the mean from these readings.
    pub shift: Vec<f64>,
    /// Derivatives along each source of the condition, by row; then the linearisation errors, by row and sample.
    pub slopes: Vec<Vec<f64>>,
    pub missed: Vec<Vec<f64>>,
}

/// The readings, with the balance they were computed from.
pub type Found = (Seen, probe::Seen);

/// The inputs whose values differ between two cases.
fn changed(from: &Case, to: &Case) -> Vec<Input> {
    let mut other = |input: &Input| from.get(*input) != to.get(*input);
    Input::all().filter(&mut other).collect()
}

/// The point at which a view is evaluated: fault, severity, and a nearby solved balance, if known.
pub type At<'a> = (Option<&'a Fault>, f64, Option<&'a probe::Seen>);

/// Applies a fault at a severity to a case; a severity of zero leaves the case unchanged.
fn with(fault: Option<&Fault>, case: &Case, severity: f64) -> Case {
    match fault {
        Some(f) if severity > 0.0 => f.on(case, severity),
        _ => *case,
    }
}

impl TestCondition {
    /// Whether fewer severities are solved, with interpolation between them: heat balances take longer to solve and
    /// vary smoothly with severity.
    pub fn coarse(&self) -> bool {
        self.setting.settled.is_some()
    }

    fn tests(&self) -> impl Iterator<Item = What> + '_ {
        self.tests.iter().copied()
    }

    /// The case at the scores of all sources, and the scores of this condition's sources after clamping.
    fn case(&self, scores: &[f64]) -> (Case, Vec<f64>) {
        let mut case = self.middle;
        let mut own = Vec::with_capacity(self.sources.len());
        for source in &self.sources {
            let value = source.value(scores.get(source.at).copied().unwrap_or(0.0));
            own.push(source.score(value));
            if let Some(slot) = case.slot(source.input) {
                *slot = value;
            }
        }
        (case, own)
    }

    /// The view at `scores`, with samples at the scores `drawn`.
    pub fn view(&self, scores: &[f64], drawn: &[Vec<f64>]) -> View {
        let (base, at) = self.case(scores);
        let drawn = drawn.iter().map(|scores| {
            let (case, own) = self.case(scores);
            (case, own.iter().zip(&at).map(|(a, b)| a - b).collect())
        });
        View {
            drawn: drawn.collect(),
            base,
            at,
        }
    }

    /// The readings at the scores of the view, solved from a nearby balance if known.
    pub fn plain(
        &self,
        view: &View,
        (fault, severity, near): At<'_>,
    ) -> Result<(Vec<f64>, probe::Seen), Trouble> {
        let case = with(fault, &view.base, severity);
        let found = probe::Seen::of(&self.setting, &case, near)?;
        Ok((found.read(&case, self.tests()), found))
    }

    /// The readings with their derivatives but without linearisation errors, at the scores of the view.
    pub fn straight(&self, view: &View, (fault, severity, near): At<'_>) -> Result<Found, Trouble> {
        let (plain, found) = self.plain(view, (fault, severity, near))?;
        let slopes = self.slopes(fault, severity, &view.base, &found);
        let none = vec![0.0; plain.len()];
        let seen = Seen {
            shift: none,
            missed: vec![vec![0.0; SAMPLES]; plain.len()],
            plain,
            slopes,
        };
        Ok((seen, found))
    }

    /// The derivatives of the readings along each source, by row.
    fn slopes(
        &self,
        fault: Option<&Fault>,
        severity: f64,
        about: &Case,
        found: &probe::Seen,
    ) -> Vec<Vec<f64>> {
        let case = with(fault, about, severity);
        // A source affects its own input and those that the fault changes.
        let touched = changed(about, &case);
        let mut slopes = vec![vec![0.0; self.sources.len()]; self.rows.len()];
        let all = case.slopes(|_| true, |case| found.along(case, self.tests()));
        for (column, source) in self.sources.iter().enumerate() {
            let mut there = *about;
            if let Some(slot) = there.slot(source.input) {
                *slot += source.slope(*slot);
            }
            let there = with(fault, &there, severity);
            let own = Some(source.input).filter(|own| !touched.contains(own));
            let mut read = vec![0.0; self.rows.len()];
            for input in touched.iter().copied().chain(own) {
                let (from, to) = (case.get(input), there.get(input));
                let step = to.zip(from).map_or(0.0, |(to, from)| to - from);
                if step.abs() > 0.0 {
                    for (read, slope) in read.iter_mut().zip(all.along(input).unwrap_or_default()) {
                        *read += step * slope;
                    }
                }
            }
            for (line, read) in slopes.iter_mut().zip(read) {
                line[column] = if read.is_finite() { read } else { 0.0 };
            }
        }
        slopes
    }

    /// The readings at a severity, with all uncertainties.
    pub fn seen(
        &self,
        fault: Option<&Fault>,
        severity: f64,
        view: &View,
        near: Option<&Found>,
    ) -> Result<Found, Trouble> {
        let (plain, found) = self.plain(view, (fault, severity, near.map(|f| &f.1)))?;
        let drawn: Vec<(probe::Seen, Vec<f64>)> = view
            .drawn
            .iter()
            .map(|(drawn, _)| {
                let drawn = with(fault, drawn, severity);
                let found = probe::Seen::of(&self.setting, &drawn, Some(&found))?;
                let read = found.read(&drawn, self.tests());
                Ok((found, read))
            })
            .collect::<Result<_, Trouble>>()?;
        let count = drawn.len() as f64;
        // Derivatives for each limit of the fan speed that occurs in the samples, weighted by its frequency.
        let mut slopes = vec![vec![0.0; self.sources.len()]; self.rows.len()];
        let mut limits: Vec<Limit> = drawn.iter().map(|d| d.0.operating().limit).collect();
        limits.sort_unstable();
        limits.dedup();
        for limit in limits {
            let of = || {
                drawn
                    .iter()
                    .zip(&view.drawn)
                    .filter(|(d, _)| d.0.operating().limit == limit)
            };
            let share = of().count() as f64 / count;
            let size = |u: &[f64]| u.iter().map(|x| x * x).sum::<f64>();
            let part = if limit == found.operating().limit {
                self.slopes(fault, severity, &view.base, &found)
            } else {
                match of().min_by(|a, b| size(&a.1.1).total_cmp(&size(&b.1.1))) {
                    Some((found, about)) => self.slopes(fault, severity, &about.0, &found.0),
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
                    .zip(&view.drawn)
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
        let seen = Seen {
            plain,
            shift,
            slopes,
            missed,
        };
        Ok((seen, found))
    }
}

/// The limits of the severity intervals of a fault that begins to matter at `floor`.
pub fn severities(fault: &Fault, floor: f64) -> [f64; STRETCHES + 1] {
    let (low, high) = fault.range;
    std::array::from_fn(|i| match i {
        0 => low,
        _ => floor + (high - floor) * (i - 1) as f64 / (STRETCHES - 1) as f64,
    })
}

/// The readings under one fault in one test condition, over the computed severity intervals.
pub struct Strip {
    /// The readings at the limits of the intervals.
    anchors: Vec<Option<Found>>,
    /// The readings at the ends and in the middle of each cell, with all values as given.
    plain: Vec<Option<Vec<f64>>>,
}

impl Strip {
    /// A strip with only the healthy machine computed.
    pub fn new(sound: &Found) -> Self {
        let mut anchors = vec![None; STRETCHES + 1];
        anchors[0] = Some(sound.clone());
        Self {
            anchors,
            plain: vec![None; 2 * CELLS * STRETCHES + 1],
        }
    }

    /// Computes the live intervals that have not been computed yet.
    pub fn grow(
        &mut self,
        scene: &TestCondition,
        view: &View,
        (fault, floor): &(Fault, f64),
        live: &Live,
    ) -> Result<(), Trouble> {
        let coarse = scene.coarse();
        // If readings are interpolated across several intervals, either all intervals are computed or none.
        let live = |stretch: usize| live[stretch] || coarse && live.contains(&true);
        // Whether point `k`, with `steps` points per interval, is inside a live interval or at its limit.
        let needed = |k: usize, steps: usize| {
            (k < steps * STRETCHES && live(k / steps))
                || (k > 0 && k.is_multiple_of(steps) && live(k / steps - 1))
        };
        let solved = |i: usize| needed(i, 1) && (!coarse || i == 1 || i.is_multiple_of(4));
        let severities = severities(fault, *floor);
        for (i, severity) in severities.iter().enumerate() {
            if solved(i) && self.anchors[i].is_none() {
                let near = self.anchors[..i].iter().flatten().last();
                self.anchors[i] = Some(scene.seen(Some(fault), *severity, view, near)?);
            }
        }
        let steps = 2 * CELLS;
        let mut near: Option<probe::Seen> = None;
        for k in 0..=steps * STRETCHES {
            let (i, part) = (k / steps, k % steps);
            let anchor = self.anchors[i].as_ref().filter(|_| part == 0);
            near = anchor.map(|a| a.1.clone()).or(near);
            if self.plain[k].is_some() {
                continue;
            }
            if let Some((seen, _)) = anchor {
                self.plain[k] = Some(seen.plain.clone());
            } else if needed(k, steps) && (!coarse || k.is_multiple_of(CELLS)) {
                let (from, to) = (severities[i], severities[(i + 1).min(STRETCHES)]);
                let severity = from + (to - from) * part as f64 / steps as f64;
                let (read, at) = scene.plain(view, (Some(fault), severity, near.as_ref()))?;
                near = Some(at);
                self.plain[k] = Some(read);
            }
        }
        if coarse && live(0) {
            between(&mut self.anchors, |a, b, share| {
                (mix(&a.0, &b.0, share), a.1.clone())
            });
            between(&mut self.plain, |a, b, share| line(a, b, share));
        }
        Ok(())
    }

    /// The readings in the middle of a cell of an interval, and at the cell's two limits with all values as given;
    /// `None` if not computed.
    pub fn cell(&self, stretch: usize, cell: usize) -> Option<(Seen, [&[f64]; 2])> {
        let read = |k: usize| self.plain[2 * (stretch * CELLS + cell) + k].as_ref();
        let (low, middle, high) = (read(0)?, read(1)?, read(2)?);
        let (from, to) = (&self.anchors[stretch], &self.anchors[stretch + 1]);
        let seen = Seen {
            plain: middle.clone(),
            ..mix(
                &from.as_ref()?.0,
                &to.as_ref()?.0,
                (cell as f64 + 0.5) / CELLS as f64,
            )
        };
        Some((seen, [low, high]))
    }
}

/// Fills in the points that were not solved, by interpolation between the solved points on both sides.
fn between<T>(list: &mut [Option<T>], mix: impl Fn(&T, &T, f64) -> T) {
    for i in 0..list.len() {
        let below = (0..i).rev().find(|k| list[*k].is_some());
        let above = (i..list.len()).find(|k| list[*k].is_some());
        if let (Some(below), Some(above)) = (below, above)
            && let (None, Some(a), Some(b)) = (&list[i], &list[below], &list[above])
        {
            let share = (i - below) as f64 / (above - below) as f64;
            list[i] = Some(mix(a, b, share));
        }
    }
}

/// Interpolates between two rows of numbers.
fn line(a: &[f64], b: &[f64], share: f64) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a + share * (b - a)).collect()
}

/// Interpolates between two severities.
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
