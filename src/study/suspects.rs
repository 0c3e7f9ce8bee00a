//! Which cause is how likely after these readings, and which test would tell most next?

use super::answer::{Answer, Bar, Bars, Block, Chart, Curve, Table};
use super::words;
use crate::fault::Fault;
use crate::fault::priors::{NOTHING, Priors};
use crate::input::unit::BAR;
use crate::model::{Machine, Posed};
use crate::probe::{self, Probe, Reading, Readings, What};
use crate::quantity::{Kind, Units};
use crate::trouble::{Trouble, Troubles};
use crate::vary::forecast::{FLOOR, Forecast, Row, SELDOM, Subject, WARMER, WORTH};
use crate::vary::information::{Outlook, bits};
use crate::vary::posterior::{self, Evidence, Suspect, chance, posterior};
use rayon::prelude::*;
use serde_json::{Value, json};

/// From this probability on a cause is named without a doubt in the sentence.
const SURE: f64 = 0.9;
/// Causes closer than this, in standard deviations, are not told apart by the readings.
const TWINS: f64 = 2.0;
/// A test that brings less than this share of what the best one brings is not proposed, however quick.
const TOO_LITTLE: f64 = 0.15;
/// How far the engine speed of a test that is still to be made may be off, as a share: a judgment.
const ENGINE_SHARE: f64 = 0.01;
/// The same for its oil temperature, K: a judgment.
const KELVIN: f64 = 3.0;
/// Pounds per square inch in pascal.
const PSI: f64 = 6894.757;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Machine and oil.
    pub posed: Posed,
    /// What was read.
    pub readings: Readings,
    /// What was read on the same machine when it was well.
    pub well: Option<Readings>,
    /// How common each cause is.
    pub priors: Priors,
}

/// Everything that the words and pictures are made of.
struct Found<'a> {
    posed: &'a Posed,
    readings: &'a [Reading],
    forecast: Forecast,
    evidence: Vec<Evidence>,
    suspects: Vec<Suspect>,
    /// Suspects from the most to the least likely.
    order: Vec<usize>,
    /// The chance of readings this far off under the hypothesis that fits best.
    chance: f64,
    tests: Vec<Test>,
    twins: Vec<(usize, usize)>,
    pairs: Vec<(usize, usize, f64)>,
}

/// A test that is still to be made.
struct Test {
    probe: &'static Probe,
    bits: f64,
    outlooks: Vec<Outlook>,
}

impl Test {
    fn worth(&self) -> f64 {
        self.bits / self.probe.effort_minutes
    }
}

impl Found<'_> {
    /// All evidence but that of one reading, by its number.
    fn evidence_without(&self, n: usize) -> Vec<Evidence> {
        let others = self.evidence.iter();
        others.filter(|e| e.row != n).copied().collect()
    }

    fn fault(&self, hypothesis: usize) -> Option<&'static Fault> {
        self.forecast
            .faults
            .get(hypothesis.checked_sub(1)?)
            .copied()
    }

    fn name(&self, hypothesis: usize) -> &'static str {
        self.fault(hypothesis)
            .map_or("nothing wrong that matters", |f| f.name)
    }

    fn key(&self, hypothesis: usize) -> &'static str {
        self.fault(hypothesis).map_or(NOTHING, |f| f.key)
    }

    fn probability(&self, hypothesis: usize) -> f64 {
        self.suspects.get(hypothesis).map_or(0.0, |s| s.probability)
    }

    fn unexplained(&self) -> bool {
        self.chance < SELDOM
    }

    /// The suspects that are worth a line.
    fn worth(&self) -> impl Iterator<Item = usize> + '_ {
        self.order
            .iter()
            .copied()
            .enumerate()
            .filter(|(n, h)| *n < 2 || self.probability(*h) >= WORTH)
            .map(|(_, h)| h)
    }
}

fn percent(p: f64) -> String {
    match 100.0 * p {
        p if p > 99.0 && p < 100.0 => "over 99 %".into(),
        p if p > 0.0 && p < 1.0 => "under 1 %".into(),
        p => format!("{p:.0} %"),
    }
}

/// What speaks against taking these readings at all.
fn refuse(machine: &Machine, units: Units, readings: &[Reading]) -> Troubles {
    let mut troubles = Vec::new();
    let (idle, full) = (machine.usual.idle.value, machine.usual.full.value);
    for r in readings {
        let key = r.probe.key;
        if !(r.half > 0.0 && r.half.is_finite() && r.value.is_finite()) {
            troubles.push(
                Trouble::input(
                    format!("`{key}` without an error"),
                    "how far the reading may be off, more than 0",
                )
                .hint("or the instrument that read it"),
            );
        }
        let speed = r.setting.engine_speed(machine);
        if !(0.5 * idle..=1.1 * full).contains(&speed) {
            troubles.push(Trouble::input(
                format!(
                    "`{key}` at {} of the engine",
                    units.show(Kind::Speed, speed)
                ),
                format!(
                    "a speed that this machine's engine runs at: {} to {}",
                    units.show(Kind::Speed, idle),
                    units.show(Kind::Speed, full)
                ),
            ));
        }
    }
    for (n, a) in readings.iter().enumerate() {
        for b in readings.iter().skip(n + 1) {
            let same = a.probe.what == b.probe.what
                && a.setting.unplugged == b.setting.unplugged
                && a.setting.settled == b.setting.settled
                && (a.setting.command - b.setting.command).abs() < 0.02
                && (a.setting.engine_speed(machine) / b.setting.engine_speed(machine) - 1.0).abs()
                    < 0.03
                && (a.setting.oil_temp(machine) - b.setting.oil_temp(machine)).abs() < 5.0;
            let apart = (a.value - b.value).abs();
            if same && apart > a.half + b.half + 0.1 * a.value.abs().max(b.value.abs()) {
                let kind = a.probe.what.kind();
                troubles.push(
                    Trouble::input(
                        format!(
                            "two readings of {} that contradict each other: {} and {}",
                            a.probe.name,
                            units.show(kind, a.value),
                            units.show(kind, b.value)
                        ),
                        "readings of one condition that agree within their errors",
                    )
                    .hint("measure again, and leave out the wrong one"),
                );
            }
        }
    }
    troubles
}

/// Weighs the causes, and the tests that are still to be made.
fn find(question: &Question) -> Result<Found<'_>, Troubles> {
    let posed = &question.posed;
    let machine = &posed.machine;
    let readings = &question.readings.all;
    let well = question.well.as_ref().map_or(&[][..], |w| &w.all);
    let mut troubles = refuse(machine, posed.units, readings);
    troubles.extend(refuse(machine, posed.units, well));
    if !troubles.is_empty() {
        return Err(troubles);
    }
    let mut rows: Vec<Row> = readings.iter().map(|r| Row::of(r, false)).collect();
    rows.extend(well.iter().map(|r| Row::of(r, true)));
    let all = readings.iter().chain(well).enumerate();
    let evidence: Vec<Evidence> = all.map(|(row, r)| Evidence::of(row, r)).collect();
    // The heat side is in question where the coolant was read.
    let warm = readings
        .iter()
        .chain(well)
        .any(|r| r.probe.what.of_coolant());
    let open: Vec<&'static Probe> = probe::ALL
        .iter()
        .filter(|p| warm || !p.what.of_coolant())
        .filter(|p| p.runs_on(machine) && !readings.iter().any(|r| r.probe.key == p.key))
        .filter(|p| {
            p.what != What::Output(crate::balance::Output::PUMP_SPEED) || machine.has("belt")
        })
        .collect();
    rows.extend(open.iter().map(|p| Row {
        what: p.what,
        setting: p.setting,
        engine_half: ENGINE_SHARE * p.setting.engine_speed(machine),
        oil_temp_half: KELVIN,
        well: false,
    }));
    let subject = Subject {
        machine,
        case: &posed.case,
        spread: &posed.spread,
        stop: &posed.stop,
    };
    let priors = if warm {
        question.priors.all_faults()
    } else {
        question.priors.faults()
    };
    let (forecast, suspects) = subject
        .forecast(&rows, &evidence, question.priors.nothing, &priors)
        .map_err(|t| vec![t])?;
    posed.stop.check().map_err(|t| vec![t])?;
    let mut order: Vec<usize> = (0..suspects.len()).collect();
    order.sort_by(|a, b| {
        suspects[*b]
            .probability
            .total_cmp(&suspects[*a].probability)
    });
    let nearest = suspects
        .iter()
        .map(|s| s.distance)
        .fold(f64::INFINITY, f64::min);
    let chance = if evidence.is_empty() {
        1.0
    } else {
        chance(nearest, evidence.len())
    };
    let mut found = Found {
        posed,
        readings,
        forecast,
        evidence,
        suspects,
        order,
        chance,
        tests: Vec::new(),
        twins: Vec::new(),
        pairs: Vec::new(),
    };
    found.tests = tests(&found, &open);
    found.twins = twins(&found);
    if found.unexplained() {
        found.pairs = posterior::pairs(&found.forecast.hypotheses, &found.evidence);
    }
    Ok(found)
}

/// The tests that are still to be made, from the one that tells most a minute to the least.
fn tests(found: &Found<'_>, open: &[&'static Probe]) -> Vec<Test> {
    let first = found.evidence.len();
    let columns = posterior::outlooks(
        &found.forecast.hypotheses,
        &found.suspects,
        &found.evidence,
        first,
        open.len(),
    );
    let mut tests: Vec<Test> = open
        .par_iter()
        .zip(columns)
        .map(|(probe, outlooks)| {
            let middle: f64 = outlooks
                .iter()
                .flat_map(|o| &o.parts)
                .map(|(w, m, _)| w * m)
                .sum();
            let (half, uniform) = probe.usual_error(&found.posed.machine, middle);
            Test {
                probe,
                bits: bits(&outlooks, half, uniform),
                outlooks,
            }
        })
        .collect();
    let best = tests.iter().map(|t| t.bits).fold(0.0, f64::max);
    // What brings next to nothing comes last, however quick it is.
    let rank = |t: &Test| (t.bits < TOO_LITTLE * best, -t.worth());
    tests.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    tests
}

/// Pairs that these readings do not tell apart, each with some probability.
fn twins(found: &Found<'_>) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    let alive: Vec<usize> = found
        .order
        .iter()
        .copied()
        .filter(|h| *h > 0 && found.probability(*h) >= 0.05)
        .collect();
    for (n, a) in alive.iter().enumerate() {
        for b in &alive[n + 1..] {
            let (Some(one), Some(other)) = (found.fault(*a), found.fault(*b)) else {
                continue;
            };
            let listed = one.twins.contains(&other.key) || other.twins.contains(&one.key);
            let node = heaviest(found, *a);
            let apart = found.forecast.hypotheses[*a]
                .nodes
                .get(node)
                .map_or(0.0, |node| {
                    posterior::apart(node, &found.forecast.hypotheses[*b], &found.evidence)
                });
            if listed || apart < TWINS {
                pairs.push((*a, *b));
            }
        }
    }
    pairs
}

fn heaviest(found: &Found<'_>, hypothesis: usize) -> usize {
    let weights = &found.suspects[hypothesis].weights;
    (0..weights.len())
        .max_by(|a, b| weights[*a].total_cmp(&weights[*b]))
        .unwrap_or(0)
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Troubles> {
    let found = find(question)?;
    let posed = &question.posed;
    let mut answer = Answer {
        question: "suspects",
        case: posed.said.clone(),
        cautions: posed.cautions.clone(),
        ..Answer::default()
    };
    answer
        .case
        .retain(|(label, _)| label == "machine" || label == "oil" || label.contains('.'));
    answer
        .case
        .push(("readings".into(), found.readings.len().to_string()));
    if let Some(well) = &question.well {
        answer.case.push((
            "readings when it was well".into(),
            well.all.len().to_string(),
        ));
    }
    answer
        .cautions
        .extend(question.readings.notes.iter().cloned());
    answer.blocks.push(Block::Headline(headline(&found)));
    let mut say = |text: String| {
        if !text.is_empty() {
            answer.blocks.push(Block::Sentence(text));
        }
    };
    for text in outliers(&found) {
        say(text);
    }
    say(pair_words(&found));
    say(twin_words(&found));
    say(oil_first(&found));
    answer.blocks.push(Block::Bars(odds(&found)));
    if let Some(test) = found.tests.first().filter(|t| t.bits > 0.005) {
        next(&found, test, &mut answer);
    }
    if !found.readings.is_empty() {
        let (table, chart) = explains(&found);
        answer.blocks.push(Block::Heading(
            "How well each cause explains each reading".into(),
        ));
        answer.blocks.push(Block::Table(table));
        answer.blocks.push(Block::Chart(chart));
    }
    confirm(&found, &mut answer);
    answer.cautions.extend(words::left_out_of(posed));
    answer.cautions.push(format!(
        "How common each cause is before any reading is a judgment ({}); the probabilities stand and fall with it, most of all where few readings are in.",
        if question.priors.status.is_empty() { "as the file says" } else { question.priors.status.trim_end_matches('.') }
    ));
    answer.cautions.push(format!(
        "\"Nothing wrong that matters\" is a machine on which no fault changes the fan's speed by {:.0} % in any usual condition{}.",
        100.0 * FLOOR,
        if found.readings.iter().any(|r| r.probe.what.of_coolant()) {
            format!(
                ", and none on the heat side warms the coolant by {}",
                posed.units.show(Kind::TemperatureDifference, WARMER)
            )
        } else {
            String::new()
        }
    ));
    if question.well.is_none() && !found.readings.is_empty() {
        answer.cautions.push(
            "Without readings of this machine from when it was well, something that is not on this list can pass for a cause that is."
                .into(),
        );
    }
    let out: Vec<&str> = found.forecast.left_out.iter().map(|f| f.name).collect();
    if !out.is_empty() {
        answer.cautions.push(format!(
            "Left out, as this machine cannot have them or they cost it too little: {}.",
            out.join(", ")
        ));
    }
    numbers(&mut answer, &found);
    Ok(answer)
}

fn headline(found: &Found<'_>) -> String {
    let next = found.tests.first().filter(|t| t.bits > 0.005);
    let measure = next.map_or(String::new(), |t| format!(" Next: {}.", t.probe.name));
    if found.readings.is_empty() {
        return format!("Nothing is measured yet, so nothing is known of this machine.{measure}");
    }
    if found.unexplained() {
        return "None of these causes explains the readings.".into();
    }
    let (Some(first), second) = (found.order.first(), found.order.get(1)) else {
        return "No cause is known for this machine.".into();
    };
    let p = found.probability(*first);
    let q = second.map_or(0.0, |s| found.probability(*s));
    let name = found.name(*first);
    // A cause that is not read apart from its twin stands at the bound, not above it.
    if p > SURE + 1e-6 {
        let severity = severity_words(found, *first);
        return format!("Almost surely {name} ({}){severity}.", percent(p));
    }
    if p >= 0.5 {
        return format!("Most likely {name} ({}).{measure}", percent(p));
    }
    match second {
        Some(second) if p + q >= 0.8 => {
            format!(
                "Either {name} ({}) or {} ({}).{measure}",
                percent(p),
                found.name(*second),
                percent(q)
            )
        }
        _ => match next {
            Some(test) => format!("Cannot tell yet: measure next {}.", test.probe.name),
            None => format!(
                "Cannot tell, and no test of the list would tell more: first stands {name} ({}).",
                percent(p)
            ),
        },
    }
}

fn severity_words(found: &Found<'_>, hypothesis: usize) -> String {
    if hypothesis == 0 {
        return String::new();
    }
    let [low, middle, high] = found.suspects[hypothesis].severity;
    format!(", severity {middle:.2} ({low:.2} to {high:.2})")
}

/// Readings that spoil what else would fit, and what may have gone wrong with them.
fn outliers(found: &Found<'_>) -> Vec<String> {
    if !found.unexplained() {
        return Vec::new();
    }
    let units = found.posed.units;
    let mut said = Vec::new();
    for (n, reading) in found.readings.iter().enumerate() {
        let others = found.evidence_without(n);
        if others.is_empty() {
            continue;
        }
        let suspects = posterior(&found.forecast.hypotheses, &others);
        let Some((h, best)) = suspects
            .iter()
            .enumerate()
            .min_by(|a, b| a.1.distance.total_cmp(&b.1.distance))
        else {
            continue;
        };
        if chance(best.distance, others.len()) < 0.05 {
            continue;
        }
        let node = &found.forecast.hypotheses[h].nodes[best.nearest];
        let belief = node.given(&others);
        let (mean, own) = (belief.mean[n], belief.covariance[(n, n)].max(0.0));
        let kind = reading.probe.what.kind();
        let fits = |factor: f64| {
            let error = posterior::variance(reading.half * factor, reading.uniform);
            (reading.value * factor - mean).abs() < 2.0 * (own + error).sqrt()
        };
        let mut text = format!(
            "The rest fits without {}: {} was read, about {} would fit.",
            reading.probe.name,
            units.show_spread(kind, reading.value, reading.half),
            units.show(kind, mean)
        );
        if kind == Kind::Pressure && fits(PSI / BAR) {
            text.push_str(" Was it psi, typed as bar?");
        } else if kind == Kind::Pressure && fits(BAR / PSI) {
            text.push_str(" Was it bar, typed as psi?");
        } else if kind == Kind::Speed
            && let Some(blades) = (2..=12).find(|b| fits(1.0 / f64::from(*b)))
        {
            text.push_str(&format!(" Were {blades} blades counted as turns?"));
        }
        said.push(text);
    }
    if said.is_empty() && found.pairs.is_empty() {
        said.push(
            "No single cause of the list fits, nor two at once, nor does one reading stand out as wrong: check the machine file, the oil and the conditions, then look for what the list does not have."
                .into(),
        );
    }
    said
}

fn pair_words(found: &Found<'_>) -> String {
    let named: Vec<String> = found
        .pairs
        .iter()
        .take(3)
        .map(|(a, b, p)| {
            format!(
                "{} with {} ({})",
                found.name(*a),
                found.name(*b),
                percent(*p)
            )
        })
        .collect();
    if named.is_empty() {
        return String::new();
    }
    format!(
        "Two causes at once would fit: {}. (Shares among pairs; effects of two are taken to multiply.)",
        named.join("; ")
    )
}

fn twin_words(found: &Found<'_>) -> String {
    let named: Vec<String> = found
        .twins
        .iter()
        .take(4)
        .map(|(a, b)| format!("{} and {}", found.name(*a), found.name(*b)))
        .collect();
    if named.is_empty() || found.unexplained() {
        return String::new();
    }
    format!("These readings hardly tell apart: {}.", named.join("; "))
}

/// Cheap and reversible first.
fn oil_first(found: &Found<'_>) -> String {
    let oily = |h: usize| found.fault(h).is_some_and(|f| f.key.contains("oil"));
    let p: f64 = (0..found.suspects.len())
        .filter(|h| oily(*h))
        .map(|h| found.probability(h))
        .sum();
    if p < 0.1 || found.unexplained() {
        return String::new();
    }
    format!(
        "The oil itself is in question ({}). Level, foam and the right oil, fresh, come before any part: they are cheap and can be undone.",
        percent(p)
    )
}

/// A probability in per cent, to a tenth; what is not sure is not shown as sure.
fn shown(probability: f64) -> f64 {
    let tenths = (1000.0 * probability).round() / 10.0;
    if probability < 1.0 {
        tenths.min(99.9)
    } else {
        tenths
    }
}

fn odds(found: &Found<'_>) -> Bars {
    let rows = found
        .worth()
        .map(|h| Bar {
            name: found.name(h).into(),
            value: shown(found.probability(h)),
            range: None,
            note: if found.readings.is_empty() {
                String::new()
            } else {
                severity_words(found, h).trim_start_matches(", ").into()
            },
        })
        .collect();
    Bars {
        title: if found.readings.is_empty() {
            "How common each cause is, before anything is read: no finding yet"
        } else {
            "How likely each cause is"
        }
        .into(),
        label: "probability, %".into(),
        rows,
    }
}

/// The next test: how it is made, and what its outcomes would mean.
fn next(found: &Found<'_>, test: &Test, answer: &mut Answer) {
    let (units, probe) = (found.posed.units, test.probe);
    let kind = probe.what.kind();
    answer
        .blocks
        .push(Block::Heading(format!("Next test: {}", probe.name)));
    let only = if probe.only_where.is_empty() {
        String::new()
    } else {
        format!(" Only where {}.", probe.only_where)
    };
    answer.blocks.push(Block::Next(format!(
        "{}. About {:.0} minutes; takes {}. {}{only}",
        probe.name, probe.effort_minutes, probe.tools, probe.how
    )));
    if probe.setting.unplugged {
        answer.blocks.push(Block::Sentence(format!(
            "First look up what this machine's valve does without power. The machine file says that it stands at {:.0} % then; if that is wrong, so is what follows.",
            100.0 * found.posed.case.control.fail_safe
        )));
    }
    let mut rows = Vec::new();
    for h in found.worth() {
        let outlook = &test.outlooks[h];
        let weight: f64 = outlook.parts.iter().map(|p| p.0).sum();
        if weight <= 0.0 {
            continue;
        }
        // No tachometer and no flow meter reads less than nothing.
        let least = match kind {
            Kind::Speed | Kind::Flow => 0.0,
            _ => f64::NEG_INFINITY,
        };
        let at = |p: f64| units.show(kind, outlook.quantile(p).max(least));
        rows.push(vec![
            format!("{} to {}", at(0.05), at(0.95)),
            found.name(h).into(),
            percent(found.probability(h)),
        ]);
    }
    answer.blocks.push(Block::Table(Table {
        title: "What it would read, nine times in ten".into(),
        heads: ["reading", "if it is", "so likely now"]
            .map(String::from)
            .to_vec(),
        rows,
        numeric: vec![2],
    }));
    let best = found.tests.iter().take(6);
    answer.blocks.push(Block::Bars(Bars {
        title: "What the next tests would tell".into(),
        label: "expected information, bits".into(),
        rows: best
            .map(|t| Bar {
                name: t.probe.name.into(),
                value: t.bits,
                range: None,
                note: format!("{:.2} bits in {:.0} min", t.bits, t.probe.effort_minutes),
            })
            .collect(),
    }));
    answer.blocks.push(Block::Safety(
        probe.cautions.iter().map(|c| (*c).to_string()).collect(),
    ));
}

/// What confirms the first suspect, before anything is taken apart.
fn confirm(found: &Found<'_>, answer: &mut Answer) {
    let first = found.order.first().copied().unwrap_or(0);
    let Some(fault) = found
        .fault(first)
        .filter(|_| found.probability(first) >= 0.5 && !found.unexplained())
    else {
        return;
    };
    answer.blocks.push(Block::Heading(format!(
        "Before a part is changed: confirm {}",
        fault.name
    )));
    answer.blocks.push(Block::Sentence(format!(
        "{} (about {:.0} minutes). It shows as: {}. Severity: {}.",
        upper(fault.confirm),
        fault.effort_minutes,
        fault.shows,
        fault.severity
    )));
    answer.blocks.push(Block::Safety(
        fault.cautions.iter().map(|c| (*c).to_string()).collect(),
    ));
}

fn upper(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or(String::new(), |c| c.to_uppercase().chain(letters).collect())
}

/// How each cause explains each reading, as a table and a picture.
fn explains(found: &Found<'_>) -> (Table, Chart) {
    let units = found.posed.units;
    let shown: Vec<usize> = found.worth().take(4).collect();
    let expected = |h: usize, n: usize| {
        let others = found.evidence_without(n);
        posterior::expected(&found.forecast.hypotheses[h], &others, n)
    };
    // By suspect and reading: what is expected, and how far off the reading is in standard deviations.
    let off: Vec<(usize, Vec<(f64, f64)>)> = shown
        .iter()
        .map(|h| {
            let each = found.readings.iter().enumerate().map(|(n, r)| {
                let (mean, deviation) = expected(*h, n);
                let error = posterior::variance(r.half, r.uniform);
                (
                    mean,
                    (r.value - mean) / (deviation * deviation + error).sqrt(),
                )
            });
            (*h, each.collect())
        })
        .collect();
    let mut heads = vec!["".to_string(), "reading".into(), "was".into()];
    heads.extend(off.iter().map(|(h, _)| format!("if {}", found.name(*h))));
    let rows = found
        .readings
        .iter()
        .enumerate()
        .map(|(n, r)| {
            let kind = r.probe.what.kind();
            let mut row = vec![
                (n + 1).to_string(),
                r.probe.name.into(),
                units.show_spread(kind, r.value, r.half),
            ];
            row.extend(off.iter().map(|(_, each)| {
                let (mean, deviations) = each[n];
                format!(
                    "{} ({} σ)",
                    units.show(kind, mean),
                    words::signed(deviations)
                )
            }));
            row
        })
        .collect();
    let table = Table {
        title: "What each cause expects from the other readings, and how far this one lies off (σ: standard deviations)".into(),
        heads,
        rows,
        numeric: [0].into_iter().chain(2..3 + off.len()).collect(),
    };
    let chart = Chart {
        title: "How far each reading lies from what each cause expects".into(),
        x_label: "reading, as numbered in the table".into(),
        y_label: "standard deviations".into(),
        curves: off
            .iter()
            .map(|(h, each)| Curve {
                name: found.name(*h).into(),
                points: each
                    .iter()
                    .enumerate()
                    .map(|(n, e)| ((n + 1) as f64, e.1))
                    .collect(),
                band: Vec::new(),
            })
            .collect(),
        levels: vec![("2 above".into(), 2.0), ("2 below".into(), -2.0)],
        ..Chart::default()
    };
    (table, chart)
}

fn numbers(answer: &mut Answer, found: &Found<'_>) {
    let suspects: Vec<Value> = found
        .order
        .iter()
        .map(|h| {
            let s = &found.suspects[*h];
            let severity = |i: usize| {
                if *h == 0 {
                    Value::Null
                } else {
                    json!(s.severity[i])
                }
            };
            json!({
                "fault": found.key(*h),
                "probability": s.probability,
                "severity_low": severity(0),
                "severity": severity(1),
                "severity_high": severity(2),
            })
        })
        .collect();
    let tests: Vec<Value> = found
        .tests
        .iter()
        .map(|t| {
            json!({
                "test": t.probe.key,
                "information_bits": t.bits,
                "effort_minutes": t.probe.effort_minutes,
            })
        })
        .collect();
    let n = &mut answer.numbers;
    n.insert("readings".into(), json!(found.readings.len()));
    n.insert("suspects".into(), Value::Array(suspects));
    n.insert("next_tests".into(), Value::Array(tests));
    let twins = found
        .twins
        .iter()
        .map(|(a, b)| json!([found.key(*a), found.key(*b)]))
        .collect();
    n.insert("twins".into(), Value::Array(twins));
    n.insert("unexplained".into(), json!(found.unexplained()));
    n.insert("chance_of_such_readings".into(), json!(found.chance));
    let pairs = found
        .pairs
        .iter()
        .take(5)
        .map(|(a, b, p)| json!({"faults": [found.key(*a), found.key(*b)], "probability": p}))
        .collect();
    n.insert("pairs".into(), Value::Array(pairs));
    answer.series = Table {
        title: String::new(),
        heads: [
            "fault",
            "probability",
            "severity_low",
            "severity",
            "severity_high",
        ]
        .map(String::from)
        .to_vec(),
        rows: found
            .order
            .iter()
            .map(|h| {
                let s = &found.suspects[*h];
                let mut row = vec![found.key(*h).to_string(), format!("{:.6}", s.probability)];
                row.extend(s.severity.map(|v| {
                    if *h == 0 || v.is_nan() {
                        String::new()
                    } else {
                        format!("{v:.4}")
                    }
                }));
                row
            })
            .collect(),
        numeric: vec![1, 2, 3, 4],
    };
}
