//! The probability of each cause.

use super::found::{Candidate, Explains, Found, Outlier, Pair, Strength};
use super::{Suspects, misread, next, refuse};
use crate::balance::Output;
use crate::fault::priors::{EMBEDDED, NOT_LISTED, NOTHING, Priors};
use crate::fault::{Fault, Subsystem};
use crate::model::{Caution, Setup};
use crate::probe::{Probe, Reading, Readings, Seen, What};
use crate::question::readings::Slip;
use crate::question::state::{SEAL, left_out_of};
use crate::trouble::{Trouble, Troubles};
use crate::vary::forecast::{FLOOR, Forecast, Row, SELDOM, Subject, WARMER, WORTH, Weights};
use crate::vary::others::{self, Other};
use crate::vary::posterior::{self, Evidence, Suspect, chance};

/// Two causes whose predicted readings differ by less than this, in standard deviations, are not distinguished.
const TWINS: f64 = 2.0;
/// Only causes with at least this probability are checked for others that the readings cannot distinguish from them.
const ALIVE: f64 = 0.05;
/// Readings fit if the probability of deviations as large as theirs is at least this: an engineering assumption.
const FITS: f64 = 0.05;
/// A fan that turns at less than this fraction of the speed expected of a healthy machine hardly turns: an engineering
/// assumption.
const STANDS: f64 = 0.1;
/// Number of hypotheses for which the prediction of each reading is computed.
const EXPLAINED: usize = 4;

/// All hypotheses weighed by the readings; hypothesis 0 is "no significant fault", the last is an unlisted cause.
pub(super) struct Weighing<'a> {
    pub request: &'a Suspects,
    pub forecast: Forecast,
    /// The readings, followed by those taken on the healthy machine.
    pub evidence: Vec<Evidence>,
    pub suspects: Vec<Suspect>,
    /// Indices of the hypotheses, most probable first.
    order: Vec<usize>,
    /// Probability of deviations as large as those observed under the best-fitting hypothesis.
    chance: f64,
}

/// Answers the question: computes the probabilities of the causes, and ranks the remaining tests.
pub(super) fn find(request: &Suspects) -> Result<Found, Trouble> {
    let open = next::open(request);
    let weighed = weigh(request, &open)?;
    match misread::find(&weighed)? {
        Some((slip, mended)) if slip.assumed => {
            let mut found = found(&weigh(&mended, &open)?, &open)?;
            // What was read may be right after all.
            let typed = seal(request).filter(|c| !found.cautions.contains(c));
            found.cautions.extend(typed);
            Ok(Found {
                misread: Some(slip),
                ..found
            })
        }
        slip => Ok(Found {
            misread: slip.map(|s| s.0),
            ..found(&weighed, &open)?
        }),
    }
}

/// The probability of each cause after the readings of a machine, most probable first, with the built-in prior weights;
/// `None` if no cause explains the readings.
pub fn candidates(
    setup: &Setup,
    readings: &Readings,
    well: &Readings,
) -> Result<Option<Vec<Candidate>>, Troubles> {
    let request = Suspects {
        setup: setup.clone(),
        readings: readings.clone(),
        well: (!well.all.is_empty()).then(|| well.clone()),
        priors: Priors::from_text("models/priors.toml", EMBEDDED)?,
        skip: Vec::new(),
    };
    let problems = refuse::problems(&request);
    if !problems.is_empty() {
        return Err(problems);
    }
    let found = || {
        let weighed = weigh(&request, &[])?;
        let explained = |w: &Weighing<'_>| (!w.unexplained()).then(|| w.candidates());
        Ok(match misread::find(&weighed)? {
            Some((slip, mended)) if slip.assumed => explained(&weigh(&mended, &[])?),
            _ => explained(&weighed),
        })
    };
    found().map_err(|t: Trouble| vec![t])
}

fn found(weighed: &Weighing<'_>, open: &[&'static Probe]) -> Result<Found, Trouble> {
    let request = weighed.request;
    request.setup.stop.check()?;
    let tests = next::tests(weighed, open);
    let expected = match tests.first() {
        Some(first) => next::expected(weighed, first),
        None => Vec::new(),
    };
    let faults = |(a, b): (usize, usize)| vec![weighed.key(a), weighed.key(b)];
    let unexplained = weighed.unexplained();
    let pairs = match unexplained {
        true => pairs(weighed)?,
        false => Vec::new(),
    };
    let pair = |(a, b, probability): (usize, usize, f64)| Pair {
        faults: faults((a, b)),
        probability,
    };
    Ok(Found {
        readings: request.readings.all.len(),
        candidates: weighed.candidates(),
        next_tests: tests.into_iter().map(|t| t.told).collect(),
        twins: weighed.twins().into_iter().map(faults).collect(),
        unexplained,
        stands: weighed.stands(),
        chance: weighed.chance,
        pairs: pairs.into_iter().take(5).map(pair).collect(),
        oil_probability: weighed.oil_probability(),
        strength: weighed.strength(),
        misread: None,
        worth: weighed.worth().count(),
        outliers: weighed.outliers(),
        expected,
        explains: weighed.explains(),
        cautions: weighed.cautions(),
    })
}

/// The rows of readings to be computed (readings, those of the healthy machine, future tests), and the evidence from
/// the measured ones.
fn rows(request: &Suspects, open: &[&'static Probe]) -> (Vec<Row>, Vec<Evidence>) {
    let (readings, well) = (&request.readings.all, request.baseline());
    let now = readings.iter().map(|r| Row::of(r, false));
    let before = well.iter().map(|r| Row::of(r, true));
    let to_come = open.iter().map(|p| next::row(p, &request.setup.machine));
    let mut rows: Vec<Row> = now.chain(before).chain(to_come).collect();
    let all: Vec<&Reading> = readings.iter().chain(well).collect();
    let numbered = all.iter().enumerate();
    let mut evidence: Vec<Evidence> = numbered.map(|(row, r)| Evidence::of(row, r)).collect();
    share(&all, &mut rows, &mut evidence);
    (rows, evidence)
}

/// The caution about a return pressure that was read above what a shaft seal bears.
fn seal(request: &Suspects) -> Option<Caution> {
    let behind = |r: &Reading| r.probe.what == What::Output(Output::RETURN_PRESSURE);
    let mut all = request.readings.all.iter();
    let high = all.any(|r| behind(r) && r.value > SEAL);
    high.then_some(Caution::SealPressure { limit: SEAL })
}

fn subject(request: &Suspects) -> Subject<'_> {
    let setup = &request.setup;
    Subject {
        machine: &setup.machine,
        case: &setup.case,
        spread: &setup.spread,
        stop: &setup.stop,
    }
}

pub(super) fn weigh<'a>(
    request: &'a Suspects,
    open: &[&'static Probe],
) -> Result<Weighing<'a>, Trouble> {
    let (rows, evidence) = rows(request, open);
    let subject = subject(request);
    let weights = Weights::of(&request.priors, request.heat_side());
    let (forecast, suspects) = subject.forecast(&rows, &evidence, &weights)?;
    let mut order: Vec<usize> = (0..suspects.len()).collect();
    order.sort_by(|a, b| {
        let probability = |h: usize| suspects[h].probability;
        probability(*b).total_cmp(&probability(*a))
    });
    // The last hypothesis, an unlisted cause, fits any readings and is left out here.
    let listed = &suspects[..suspects.len() - 1];
    let distances = listed.iter().map(|s| s.distance);
    let nearest = distances.fold(f64::INFINITY, f64::min);
    let chance = match evidence.len() {
        0 => 1.0,
        count => chance(nearest, count),
    };
    Ok(Weighing {
        request,
        forecast,
        evidence,
        suspects,
        order,
        chance,
    })
}

/// Pairs of simultaneous faults that would fit, each with its probability. Their readings are computed for the machine
/// as given, not for the machine that each fault alone would require.
fn pairs(weighed: &Weighing<'_>) -> Result<Vec<(usize, usize, f64)>, Trouble> {
    let request = weighed.request;
    let (rows, evidence) = rows(request, &[]);
    let weights = Weights::of(&request.priors, request.heat_side());
    let subject = subject(request);
    let (forecast, _) = subject.whole(&rows, &[], &weights)?;
    // All hypotheses except the last one, an unlisted cause.
    let listed = &forecast.hypotheses[..forecast.hypotheses.len() - 1];
    Ok(posterior::pairs(listed, &evidence))
}

/// Fraction of the variance of an instrument's error that all its readings have in common: an engineering assumption.
/// Errors due to a gauge's accuracy class or a thermometer's contact are mostly the same each time.
const SHARED: f64 = 0.75;

/// Correlates the errors of readings that were taken with the same instrument: part of the variance is common, the rest
/// is independent.
fn share(all: &[&Reading], rows: &mut [Row], evidence: &mut [Evidence]) {
    for (n, reading) in all.iter().enumerate() {
        let same = |(m, other): &(usize, &&Reading)| {
            let alike = |a: (&str, f64), b: (&str, f64)| a.0 == b.0 && (a.1 - b.1).abs() <= 0.0;
            reading.by.zip(other.by).is_some_and(|(a, b)| alike(a, b))
                && reading.healthy == other.healthy
                && rows[*m].well == rows[n].well
                && reading.probe.what.kind() == other.probe.what.kind()
        };
        let of_it: Vec<usize> = all
            .iter()
            .enumerate()
            .filter(same)
            .map(|(m, _)| m)
            .collect();
        if let [first, _, ..] = of_it[..] {
            rows[n].shared = Some((first, SHARED.sqrt() * reading.sigma()));
            evidence[n].half *= (1.0 - SHARED).sqrt();
        }
    }
}

impl Weighing<'_> {
    /// The fault of a hypothesis; `None` for "no significant fault" and for the unlisted cause.
    fn fault(&self, hypothesis: usize) -> Option<&'static Fault> {
        let place = hypothesis.checked_sub(1)?;
        self.forecast.faults.get(place).copied()
    }

    /// The key of a hypothesis.
    pub fn key(&self, hypothesis: usize) -> &'static str {
        match self.fault(hypothesis) {
            Some(fault) => fault.key,
            None if hypothesis == 0 => NOTHING,
            None => NOT_LISTED,
        }
    }

    /// The hypotheses that are worth reporting, most probable first.
    pub fn worth(&self) -> impl Iterator<Item = usize> + '_ {
        let order = self.order.iter().copied().enumerate();
        let worth = move |(n, h): &(usize, usize)| *n < 2 || self.suspects[*h].probability >= WORTH;
        order.filter(worth).map(|(_, h)| h)
    }

    /// Probability of deviations as large as those observed under the best-fitting hypothesis.
    pub fn chance(&self) -> f64 {
        self.chance
    }

    /// Ratio of each reading of a kind to the value expected on the healthy machine.
    pub fn over_sound(&self, of_kind: impl Fn(&Reading) -> bool) -> Vec<f64> {
        let setup = &self.request.setup;
        let ratio = |r: &Reading| {
            let case = r.setting.on(&setup.machine, &setup.case);
            let found = Seen::of(&r.setting, &case, None).ok()?;
            let read = found.read(&case, std::iter::once(r.probe.what));
            let ratio = r.value / read.first()?;
            (ratio.is_finite() && ratio > 0.0).then_some(ratio)
        };
        let all = self.request.readings.all.iter();
        all.filter(|r| of_kind(r)).filter_map(ratio).collect()
    }

    /// Logarithm of the probability density of all readings, summed over all causes.
    pub fn log_evidence(&self) -> f64 {
        let logs = posterior::logs(&self.forecast.hypotheses, &self.evidence);
        let all = || logs.iter().flatten().copied().filter(|l| l.is_finite());
        let top = all().fold(f64::NEG_INFINITY, f64::max);
        top + all().map(|l| (l - top).exp()).sum::<f64>().ln()
    }

    /// Whether the fan hardly turned at full command. Near standstill, breakaway torque and plain defects (plug, seized
    /// valve, motor or belt) count, which the readings do not tell apart.
    fn stands(&self) -> bool {
        let full = |r: &Reading| {
            let at_full = r.setting.command >= 1.0 && !r.setting.unplugged && !r.unsure;
            at_full && r.probe.what == What::Output(Output::FAN_SPEED) && !r.at_least
        };
        self.over_sound(full).iter().any(|ratio| *ratio < STANDS)
            || self
                .request
                .readings
                .all
                .iter()
                .any(|r| full(r) && r.value <= 0.0)
    }

    fn unexplained(&self) -> bool {
        self.chance < SELDOM
    }

    fn candidates(&self) -> Vec<Candidate> {
        let candidate = |h: &usize| {
            let suspect = &self.suspects[*h];
            let [low, middle, high] = suspect
                .severity
                .map(|s| self.fault(*h).is_some().then_some(s));
            Candidate {
                fault: self.key(*h),
                probability: suspect.probability,
                severity_low: low,
                severity: middle,
                severity_high: high,
            }
        };
        self.order.iter().map(candidate).collect()
    }

    /// Pairs of probable causes that the readings do not distinguish.
    fn twins(&self) -> Vec<(usize, usize)> {
        let alive = |h: &usize| self.fault(*h).is_some() && self.suspects[*h].probability >= ALIVE;
        let alive: Vec<usize> = self.order.iter().copied().filter(alive).collect();
        let pairs = alive.iter().enumerate().flat_map(|(n, a)| {
            let later = alive.get(n + 1..).unwrap_or_default();
            later.iter().map(move |b| (*a, *b))
        });
        pairs.filter(|(a, b)| self.alike(*a, *b)).collect()
    }

    fn alike(&self, a: usize, b: usize) -> bool {
        let weights = &self.suspects[a].weights;
        let heaviest = (0..weights.len()).max_by(|a, b| weights[*a].total_cmp(&weights[*b]));
        let node = heaviest.and_then(|n| self.forecast.hypotheses[a].nodes.get(n));
        let other = &self.forecast.hypotheses[b];
        let apart = node.map_or(0.0, |n| posterior::apart(n, other, &self.evidence));
        apart < TWINS
    }

    /// How firmly the most probable cause can be concluded.
    fn strength(&self) -> Strength {
        let Some(first) = self.order.first().copied() else {
            return Strength::CannotTell;
        };
        let p = self.suspects[first].probability;
        let other = self.by_other_weights(first);
        let read = !self.request.readings.all.is_empty();
        let baseline = !self.request.baseline().is_empty();
        let fits = self.chance >= FITS;
        match () {
            () if !read || self.unexplained() || self.stands() => Strength::CannotTell,
            () if baseline && fits && self.of_two_kinds() && p >= 0.9 && other >= 0.8 => {
                Strength::Settled
            }
            () if p >= 0.7 && other >= 0.5 => Strength::Likely,
            () if p >= 0.5 && other >= 0.3 => Strength::LeansTo,
            () => Strength::CannotTell,
        }
    }

    /// Whether the readings are of more than one kind. Fan speeds alone are not conclusive: an unlisted cause can mimic
    /// a listed one, and two causes can mimic a third (`validation/calibration`).
    fn of_two_kinds(&self) -> bool {
        let all = self.request.readings.all.iter();
        let mut kinds = all.map(|r| r.probe.what.kind());
        kinds.next().is_some_and(|first| kinds.any(|k| k != first))
    }

    /// The probability that a hypothesis would have if all were equally common.
    fn by_other_weights(&self, hypothesis: usize) -> f64 {
        let one = |h: usize| {
            let prior = self.forecast.hypotheses[h].prior;
            match prior > 0.0 {
                true => self.suspects[h].probability / prior,
                false => 0.0,
            }
        };
        one(hypothesis) / (0..self.suspects.len()).map(one).sum::<f64>()
    }

    fn oil_probability(&self) -> f64 {
        let oil = |h: &usize| self.fault(*h).is_some_and(|f| f.of == Subsystem::Oil);
        let all = (0..self.suspects.len()).filter(oil);
        all.map(|h| self.suspects[h].probability).sum()
    }

    /// The readings without which the others would fit; empty if all readings together fit.
    fn outliers(&self) -> Vec<Outlier> {
        if !self.unexplained() {
            return Vec::new();
        }
        let listed = &self.forecast.hypotheses[..self.forecast.hypotheses.len() - 1];
        let each = listed.iter().map(|h| others::others(h, &self.evidence));
        let nodes: Vec<Vec<Other>> = each.flatten().collect();
        let all = self.request.readings.all.iter().enumerate();
        all.filter_map(|(n, r)| self.outlier(n, r, &nodes))
            .collect()
    }

    /// A reading that is off although a listed cause explains all others; `nodes` are those of the listed causes.
    fn outlier(&self, n: usize, reading: &Reading, nodes: &[Vec<Other>]) -> Option<Outlier> {
        let others = self.evidence.len() - 1;
        let all = nodes.iter().map(|node| node[n]);
        let best = all.min_by(|a, b| a.distance.total_cmp(&b.distance))?;
        if others == 0 || chance(best.distance, others) < FITS {
            return None;
        }
        let fits = |factor: f64| {
            let error = posterior::variance(reading.half * factor, reading.uniform);
            let off = reading.value * factor - best.mean;
            let off = match reading.at_least {
                true => off.max(0.0),
                false => off.abs(),
            };
            off < 2.0 * (best.variance + error).sqrt()
        };
        (!fits(1.0)).then(|| Outlier {
            reading: n,
            would_fit: best.mean,
            slip: Slip::find(reading.probe.what.kind(), fits),
        })
    }

    /// How well the most probable hypotheses explain each reading.
    fn explains(&self) -> Vec<Explains> {
        let readings = &self.request.readings.all;
        let each = |h: usize| {
            let expected = others::expected(&self.forecast.hypotheses[h], &self.evidence);
            let off = readings.iter().zip(expected).map(|(r, (mean, deviation))| {
                let error = posterior::variance(r.half, r.uniform);
                let all = (deviation * deviation + error).sqrt();
                let met = r.at_least && r.value <= mean;
                (mean, (!met).then_some((r.value - mean) / all))
            });
            Explains {
                fault: self.key(h),
                readings: off.collect(),
            }
        };
        match readings.is_empty() {
            true => Vec::new(),
            false => self.worth().take(EXPLAINED).map(each).collect(),
        }
    }

    fn cautions(&self) -> Vec<Caution> {
        let Suspects {
            setup,
            readings,
            well,
            priors,
            ..
        } = self.request;
        let mut all = setup.cautions.clone();
        all.extend(readings.notes.iter().cloned());
        all.extend(left_out_of(setup));
        all.push(Caution::PriorsJudged {
            status: priors.status.clone(),
        });
        let warm = readings.all.iter().any(|r| r.probe.what.of_coolant());
        all.push(Caution::NothingMeans {
            change: FLOOR,
            warmer: warm.then_some(WARMER),
        });
        if well.is_none() && !readings.all.is_empty() {
            all.push(Caution::NoBaseline);
        } else if !readings.all.is_empty() && !self.of_two_kinds() {
            all.push(Caution::OneKind);
        }
        all.extend(seal(self.request));
        let faults: Vec<_> = self.forecast.left_out.iter().map(|f| f.key).collect();
        if !faults.is_empty() {
            all.push(Caution::FaultsLeftOut { faults });
        }
        all
    }
}
