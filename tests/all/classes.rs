//! The class machines are as wide as their class: each input's uncertainty covers what the trade builds, and what designers hold
//! fixed whatever the parts (full fan speed, the engine speed from which it is reached, working pressure, the fan's speed when
//! nothing is asked for) narrows the combinations. Here the ± and correlations of the class files are computed again.
//!
//! Ranges and behaviours are common practice without a source, or engineering assumptions from measured pumps and motors
//! (`validation/pump_rig_helwig_2015`): `classes/ranges.csv`, and [behaviours] in the class files.

use oilwheel::input::Input;
use oilwheel::model::{Ask, Case, Lookup, MACHINES, Machine, Together};
use oilwheel::quantity::{Measure, parse};
use oilwheel::vary::behaviour::{behaves, contradicted};
use oilwheel::vary::sample;
use rayon::prelude::*;

const RANGES: &str = include_str!("classes/ranges.csv");

/// Draws in the quick run, and when files are written with `OILWHEEL_WRITE_CLASSES`.
const QUICK: usize = 4_000;
const MANY: usize = 40_000;

/// Correlations below this are left out of the files.
const FAINT: f64 = 0.08;

fn rows<'a>(text: &'a str, machine: &'a str) -> impl Iterator<Item = (&'a str, &'a str)> {
    let cells = text
        .lines()
        .skip(1)
        .map(|l| l.splitn(3, ',').collect::<Vec<_>>());
    cells.filter(move |c| c[0] == machine).map(|c| (c[1], c[2]))
}

/// One class: the machine with the trade's ranges, and the inputs that have one.
struct Class {
    machine: Machine,
    case: Case,
    spread: Case,
    inputs: Vec<Input>,
}

impl Class {
    fn of(name: &str) -> Self {
        let mut ask = Ask::about(name);
        ask.engine_speed = Some("raised".into());
        let setup = ask.resolve(Lookup::LibraryOnly).unwrap();
        let (mut case, mut spread) = (setup.case, setup.case.map(&mut |_, _| 0.0));
        let mut inputs = Vec::new();
        for (key, text) in rows(RANGES, name) {
            let input = Input::find(key).unwrap();
            let measure = parse(input.field().kind, text).unwrap();
            case = case.with(input, measure.value);
            spread = spread.with(input, measure.spread);
            spread.factors.put(input, measure.factor);
            inputs.push(input);
        }
        Self {
            machine: setup.machine,
            case,
            spread,
            inputs,
        }
    }
}

/// Means, half widths and correlations of the class's inputs, as drawn and weighed by how near each draw behaves.
struct Weighed {
    means: Vec<f64>,
    halves: Vec<f64>,
    correlations: Vec<Vec<f64>>,
    /// How many draws that is worth.
    worth: f64,
}

/// The number that is normal: the logarithm over the middle of what is meant as a factor.
fn normal(class: &Class, input: Input, value: f64) -> f64 {
    let middle = class.case.get(input).unwrap();
    if class.spread.factors.has(input) {
        (value / middle).ln()
    } else {
        value - middle
    }
}

fn weigh(class: &Class, count: usize) -> Weighed {
    let cases = sample::draw(&class.case, &class.spread, &Together::default(), count, 77);
    let weights: Vec<f64> = cases
        .par_iter()
        .map(|case| {
            let wanted = &class.machine.behaviours;
            let off: Option<f64> = wanted
                .iter()
                .map(|(field, m)| {
                    let found = behaves(&class.machine, case, field.key)?;
                    let off = match m.by_factor() {
                        Some(factor) => (found.max(1e-3) / m.value).ln() / factor.ln(),
                        None => (found - m.value) / m.spread,
                    };
                    // Half of the half width is a standard deviation.
                    Some(4.0 * off * off)
                })
                .sum();
            off.map_or(0.0, |off| (-0.5 * off).exp())
        })
        .collect();
    let all: f64 = weights.iter().sum();
    let worth = all * all / weights.iter().map(|w| w * w).sum::<f64>();
    let columns: Vec<Vec<f64>> = class
        .inputs
        .iter()
        .map(|i| {
            cases
                .iter()
                .map(|c| normal(class, *i, c.get(*i).unwrap()))
                .collect()
        })
        .collect();
    let mean = |x: &[f64]| x.iter().zip(&weights).map(|(x, w)| x * w).sum::<f64>() / all;
    let means: Vec<f64> = columns.iter().map(|c| mean(c)).collect();
    let about = |i: usize, j: usize| {
        let pairs = columns[i].iter().zip(&columns[j]).zip(&weights);
        pairs
            .map(|((x, y), w)| (x - means[i]) * (y - means[j]) * w)
            .sum::<f64>()
            / all
    };
    let n = class.inputs.len();
    let sigmas: Vec<f64> = (0..n).map(|i| about(i, i).sqrt()).collect();
    Weighed {
        correlations: (0..n)
            .map(|i| {
                (0..n)
                    .map(|j| about(i, j) / (sigmas[i] * sigmas[j]))
                    .collect()
            })
            .collect(),
        halves: sigmas.iter().map(|s| 2.0 * s).collect(),
        means,
        worth,
    }
}

/// A half width in a class's own terms: the logarithm of its factor, or SI.
fn half_of(m: &Measure) -> f64 {
    m.by_factor().map_or(m.spread, f64::ln)
}

#[test]
fn the_class_files_hold_what_ranges_and_behaviours_make_of_them() {
    let write = std::env::var("OILWHEEL_WRITE_CLASSES").ok();
    let mut report = String::new();
    for (name, _) in MACHINES {
        let class = Class::of(name);
        let found = weigh(&class, if write.is_some() { MANY } else { QUICK });
        assert!(
            found.worth > 40.0,
            "{name}: worth {} draws only",
            found.worth
        );
        report += &format!("# {name} {}\n", found.worth);
        let sampling = 3.0 / found.worth.sqrt();
        for (k, input) in class.inputs.iter().enumerate() {
            let range = Measure {
                value: class.case.get(*input).unwrap(),
                spread: class.spread.get(*input).unwrap(),
                factor: class.spread.factors.has(*input),
            };
            let prior = half_of(&range);
            report += &format!(
                "{},{:e},{:e},{}\n",
                input.key(),
                found.means[k] / prior,
                found.halves[k] / prior,
                range.factor
            );
            for (l, other) in class.inputs.iter().enumerate().take(k) {
                let r = found.correlations[k][l];
                if r.abs() >= FAINT {
                    report += &format!("~{},{},{r:.2}\n", input.key(), other.key());
                }
            }
            if write.is_none() {
                let own = class.machine.value(*input).unwrap();
                assert_eq!(own.factor, range.factor, "{name} {}", input.key());
                let off = half_of(&own) / found.halves[k] - 1.0;
                assert!(
                    off.abs() < 0.05 + sampling,
                    "{name} {}: half width off by {off}",
                    input.key()
                );
                for (l, other) in class.inputs.iter().enumerate().take(k) {
                    let of = |a: &Input, b: &Input| {
                        let pairs = class.machine.correlations.iter();
                        pairs
                            .filter(|p| (p.0, p.1) == (*a, *b))
                            .map(|p| p.2)
                            .sum::<f64>()
                    };
                    let off = of(input, other) + of(other, input) - found.correlations[k][l];
                    assert!(
                        off.abs() < FAINT + 0.03 + sampling,
                        "{name} {} {}: correlation off by {off}",
                        input.key(),
                        other.key()
                    );
                }
            }
        }
    }
    if let Some(path) = write {
        std::fs::write(path, report).unwrap();
    }
}

/// A class file may not promise what its ranges cannot hold.
#[test]
fn behaviours_that_no_machine_of_the_ranges_shows_are_refused() {
    for (name, text) in MACHINES {
        let setup = |text: &str| {
            let ask = Ask {
                machine_text: Some(text.into()),
                ..Ask::about(name)
            };
            ask.resolve(Lookup::LibraryOnly).unwrap()
        };
        assert_eq!(contradicted(&setup(text)), [], "{name}");
        let (parts, behaviours) = text.split_once("[behaviours]").unwrap();
        let line = behaviours.lines().find(|l| l.starts_with("full_speed"));
        let wrong = behaviours.replace(line.unwrap(), "full_speed = \"6000 rpm ± 200 rpm\"");
        let wrong = format!("{parts}[behaviours]{wrong}");
        let told = contradicted(&setup(&wrong));
        assert_eq!(told.len(), 1, "{name}");
        assert!(told[0].found.contains("6000 ± 200 rpm"), "{told:?}");
        assert!(told[0].expected.contains("fan speed"), "{told:?}");
    }
}
