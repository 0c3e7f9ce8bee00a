//! Weighing causes: closed forms.

use super::{Row, table};
use nalgebra::{DMatrix, DVector};
use oilwheel::vary::information::{Outlook, bits};
use oilwheel::vary::posterior::{Evidence, Hypothesis, Node, posterior};

/// Densities are exact but for rounding.
const EXACT: f64 = 1e-9;
/// Severity is interpolated within 400 cells.
const CELLS: f64 = 2e-3;
/// Information is summed over at most 1200 points.
const POINTS: f64 = 2e-3;

pub fn rows() -> Vec<Row> {
    closed_forms()
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
                let which = [0.05, 0.5, 0.95]
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
