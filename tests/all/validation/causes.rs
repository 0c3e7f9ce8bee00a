//! Weighing causes: closed forms, and the calibration as last run in full.

use super::{Row, table};
use nalgebra::{DMatrix, DVector};
use oilwheel::vary::information::{Outlook, bits};
use oilwheel::vary::posterior::{Evidence, Hypothesis, Node, posterior};

/// Densities are exact but for rounding.
/// Whether it was set before or after the first run is not recorded.
const EXACT: f64 = 1e-9;
/// Severity is interpolated within 400 cells.
/// Whether it was set before or after the first run is not recorded.
const CELLS: f64 = 2e-3;
/// Information is summed over at most 1200 points.
/// Whether it was set before or after the first run is not recorded.
const POINTS: f64 = 2e-3;
/// 48 nodes of severity know the odds to about 1 %.
/// Whether it was set before or after the first run is not recorded.
const CURVED: f64 = 2.0;

pub fn rows() -> Vec<Row> {
    let mut rows = closed_forms();
    rows.push(curved());
    rows.extend(calibration());
    rows
}

fn node(severity: [f64; 3], prior: f64, mean: &[f64], covariance: &[f64]) -> Node {
    Node {
        severity,
        prior,
        mean: DVector::from_column_slice(mean),
        covariance: DMatrix::from_row_slice(mean.len(), mean.len(), covariance),
    }
}

fn alone(prior: f64, mean: &[f64], covariance: &[f64]) -> Hypothesis {
    let nodes = vec![node([0.0, 0.5, 1.0], 1.0, mean, covariance)];
    Hypothesis { prior, nodes }
}

fn read(row: usize, value: f64, half: f64, uniform: bool) -> Evidence {
    Evidence {
        row,
        value,
        half,
        uniform,
        at_least: false,
    }
}

fn closed_forms() -> Vec<Row> {
    const NAME: &str = "bayes_closed_forms";
    let row = |what, allowed| Row::absolute(NAME, what, "of 1", allowed);
    let mut odds = row(
        "probability of two causes, normal and even errors",
        EXACT.max(1e-6),
    );
    let mut severity = row("quantiles of a severity", CELLS);
    let mut information = Row::absolute(NAME, "information of a test", "bits", POINTS);
    for line in table(NAME, "data") {
        let v = |column| line.number(column);
        let expected = v("expected");
        match line.text("kind") {
            "two_readings" => {
                let (common, own) = (v("e").powi(2), v("f").powi(2));
                let covariance = [common + own, common, common, common + own];
                let both = [
                    alone(v("j"), &[v("a"), v("b")], &covariance),
                    alone(1.0 - v("j"), &[v("c"), v("d")], &covariance),
                ];
                let evidence = [
                    read(0, v("h"), 2.0 * v("g"), false),
                    read(1, v("i"), 2.0 * v("g"), false),
                ];
                odds.see(posterior(&both, &evidence)[0].probability, expected);
            }
            "even_error" => {
                let own = [v("c").powi(2)];
                let both = [
                    alone(v("f"), &[v("a")], &own),
                    alone(1.0 - v("f"), &[v("b")], &own),
                ];
                let evidence = [read(0, v("e"), v("d"), true)];
                odds.see(posterior(&both, &evidence)[0].probability, expected);
            }
            "severity" => {
                let (slope, error, value) = (v("a"), v("b"), v("c"));
                let wide = slope / 400.0;
                let nodes = (0..400)
                    .map(|i| {
                        let at = |part: f64| (f64::from(i) + part) / 400.0;
                        let cell = [at(0.0), at(0.5), at(1.0)];
                        node(cell, 1.0 / 400.0, &[slope * cell[1]], &[wide * wide / 12.0])
                    })
                    .collect();
                let found = posterior(
                    &[Hypothesis { prior: 1.0, nodes }],
                    &[read(0, value, 2.0 * error, false)],
                );
                let which = [0.02, 0.5, 0.98]
                    .iter()
                    .position(|p| (p - v("d")).abs() < 1e-9)
                    .unwrap();
                severity.see(found[0].severity[which], expected);
            }
            "information_two" => {
                let one = |mean: f64| Outlook {
                    parts: vec![(0.5, mean, 0.0)],
                };
                information.see(bits(&[one(1.0), one(-1.0)], 2.0 * v("a"), false), expected);
            }
            "information_many" => {
                let many: Vec<Outlook> = (0..200)
                    .map(|i| {
                        let z = -5.0 + 10.0 * (f64::from(i) + 0.5) / 200.0;
                        Outlook {
                            parts: vec![(
                                (-0.5 * z * z).exp() * 0.05 / (2.0 * std::f64::consts::PI).sqrt(),
                                v("a") * z,
                                0.0,
                            )],
                        }
                    })
                    .collect();
                information.see(bits(&many, 2.0 * v("b"), false), expected);
            }
            "information_even" => {
                let one = |mean: f64| Outlook {
                    parts: vec![(0.5, mean, 1e-3)],
                };
                information.see(bits(&[one(0.0), one(v("a"))], v("b"), true), expected);
            }
            kind => panic!("no kind: {kind}"),
        }
    }
    vec![odds, severity, information]
}

/// A curved cause in two readings, against one without severity: by the grid, and by a fine mesh of severity and machine.
fn curved() -> Row {
    let mut row = Row::percent(
        "bayes_closed_forms",
        "odds of a curved cause, by grid and by a fine mesh",
        CURVED,
    );
    let curve = |s: f64| [1.0 - 0.6 * s * s, 2.0 - 0.5 * s];
    let (common, error) = (0.08_f64, 0.03_f64);
    let shared = [common * common; 4];
    for value in [[0.8, 1.75], [0.55, 1.5], [0.97, 1.9]] {
        let nodes = (0..48)
            .map(|i| {
                let at = |part: f64| (i as f64 + part) / 48.0;
                let (a, b) = (curve(at(0.0)), curve(at(1.0)));
                let wide = [b[0] - a[0], b[1] - a[1]];
                let covariance: Vec<f64> = (0..4)
                    .map(|k| shared[k] + wide[k / 2] * wide[k % 2] / 12.0)
                    .collect();
                node(
                    [at(0.0), at(0.5), at(1.0)],
                    1.0 / 48.0,
                    &curve(at(0.5)),
                    &covariance,
                )
            })
            .collect();
        let both = [
            Hypothesis { prior: 0.5, nodes },
            alone(0.5, &curve(0.0), &shared),
        ];
        let evidence = [
            read(0, value[0], 2.0 * error, false),
            read(1, value[1], 2.0 * error, false),
        ];
        let found = posterior(&both, &evidence);
        let odds = found[0].probability / found[1].probability;
        // Severity and what both have in common, summed over a fine mesh out to ten deviations: samples would miss the tail
        // that a far reading lives in.
        let mean = |severities: usize| {
            let mut sum = 0.0;
            for (k, l) in (0..severities).flat_map(|k| (0..4000).map(move |l| (k, l))) {
                let s = if severities > 1 {
                    (k as f64 + 0.5) / severities as f64
                } else {
                    0.0
                };
                let z = 20.0 * (f64::from(l) + 0.5) / 4000.0 - 10.0;
                let off = |i: usize| (value[i] - curve(s)[i] - common * z) / error;
                sum += (-0.5 * (z * z + off(0).powi(2) + off(1).powi(2))).exp();
            }
            sum / severities as f64
        };
        row.see(odds, mean(2000) / mean(1));
    }
    row
}

/// The calibration as it was last run in full, against what was asked of it before it was run. A share of so many cases is moved by
/// chance: 2.6 standard deviations (99 of 100) are allowed for.
fn calibration() -> Vec<Row> {
    const NAME: &str = "calibration";
    const INSIDE: [&str; 4] = ["class", "facts", "baseline", "facts and baseline"];
    let lines = table(NAME, "data");
    let row = |what, allowed| Row::absolute(NAME, what, "of 1", allowed);
    let mut held = row(
        "smallest set of 90 %, last cause by lot, beyond 0.88 to 0.92",
        0.0,
    );
    // A finding of the first run with so wide a class: one world of four passes it, by less than its fifty cases can tell.
    let mut error = row("calibration error beyond 0.03, inside the model", 0.02).misfit();
    let mut severity = row("90 % interval of severity, beyond 0.88 to 0.92", 0.0);
    let mut sick = row(
        "sound machines of an unknown kind called sick, beyond 0.05",
        0.0,
    );
    let mut sure = row("a listed cause above 0.9 for another, beyond 0.02", 0.0);
    // Findings of the first full run: four fan speeds do not part what is not on the list from what is (source.md).
    let mut not_listed = row(
        "not on the list, no listed cause alike: not flagged, beyond 0.2",
        0.8,
    )
    .misfit();
    let mut alike = row("the same: a listed cause above 0.9, beyond 0.02", 0.9).misfit();
    let chance = |share: f64, cases: f64| 2.6 * (share * (1.0 - share) / cases).sqrt();
    for line in &lines {
        let (v, world) = (|column| line.number(column), line.text("world"));
        let cases = v("cases");
        let beyond =
            |got: f64, asked: f64, cases: f64| (got - asked - chance(asked, cases)).max(0.0);
        if INSIDE.contains(&world) {
            let off = (v("held_by_lot") - 0.9).abs() - 0.02 - chance(0.9, cases);
            held.see(off.max(0.0), 0.0);
            error.see(
                (v("calibration_error") - 0.03 - chance(0.5, cases) / 2.0).max(0.0),
                0.0,
            );
            let off = (v("severity_covered") - 0.9).abs() - 0.02 - chance(0.9, v("severities"));
            severity.see(off.max(0.0), 0.0);
            sure.see(beyond(v("wrong_above_0.9"), 0.02, cases), 0.0);
        }
        if world == "sound, class" {
            sick.see(beyond(v("wrong_above_half"), 0.05, cases), 0.0);
        }
        let others = cases * (1.0 - v("same_readings"));
        if v("same_readings") > 0.0 && others > 0.0 || world.starts_with("motor") {
            not_listed.see(beyond(1.0 - v("others_flagged"), 0.2, others), 0.0);
            alike.see(beyond(v("others_wrong_above_0.9"), 0.02, others), 0.0);
        }
    }
    let mut rows = vec![held, error, severity, sure];
    let run = |world: &str| lines.iter().any(|l| l.text("world").starts_with(world));
    if run("sound, class") {
        rows.push(sick);
    }
    if run("pulley") {
        rows.extend([not_listed, alike]);
    }
    rows
}
