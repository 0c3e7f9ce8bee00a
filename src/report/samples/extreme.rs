//! A sample answer with extreme content.

use super::{answer, circuit, curve, evenly, remarks, strings};
use crate::tell::{Answer, Bar, Bars, Block, Chart, Circuit, Curve, Mark, Stretch, Table};

/// A text longer than a line, which contains a word that is longer than a line.
const LONG: &str = "an uncommonly long name that goes on well past what anybody would write in earnest, with_one_unbreakable_word_of_great_length_in_it";

/// An answer with content that is difficult for every rendering.
pub(super) fn extreme() -> Answer {
    let mut blocks = vec![
        Block::Headline(LONG.into()),
        Block::Headline("A second headline".into()),
        Block::Heading(LONG.into()),
        Block::Sentence(String::new()),
        Block::Sentence(LONG.repeat(4)),
    ];
    blocks.extend(charts().into_iter().map(Block::Chart));
    blocks.extend(bars().into_iter().map(Block::Bars));
    blocks.extend(tables().into_iter().map(Block::Table));
    blocks.extend(circuits().into_iter().map(Block::Circuit));
    blocks.extend([Block::Safety(vec![]), Block::Safety(strings(&[LONG]))]);
    let mut answer = answer(blocks);
    answer.assumptions = vec![
        (LONG.into(), LONG.into()),
        (String::new(), String::new()),
        ("short".into(), LONG.into()),
    ];
    answer.cautions = remarks(&[LONG, ""]);
    answer
}

fn chart(curves: Vec<Curve>) -> Chart {
    Chart {
        title: LONG.into(),
        x_label: LONG.into(),
        y_label: LONG.into(),
        curves,
        ..Chart::default()
    }
}

/// A chart with many curves, marks and other elements.
fn crowded() -> Chart {
    let xs = evenly(0.0, 10.0, 40);
    let mut crowded = chart(
        (0..10)
            .map(|i| {
                curve(
                    &format!("Curve {i}"),
                    |x| f64::from(i) * 3.0 + (x + f64::from(i)).sin(),
                    &xs,
                )
            })
            .collect(),
    );
    crowded.marks = (0..6)
        .map(|i| Mark {
            name: format!("reading {i}"),
            x: 5.0 + 0.1 * f64::from(i),
            y: 14.0,
            spread: 2.0,
        })
        .collect();
    crowded.levels = (0..4)
        .map(|i| (format!("level {i}"), 20.0 + 0.2 * f64::from(i)))
        .collect();
    crowded.stretches = (0..12)
        .map(|i| Stretch {
            name: format!("stretch {i}"),
            from: f64::from(i),
            to: f64::from(i) + 0.8,
        })
        .collect();
    crowded.stretches.push(Stretch {
        name: LONG.into(),
        from: f64::NEG_INFINITY,
        to: f64::NAN,
    });
    crowded
}

/// A chart with values that cannot be drawn.
fn broken() -> Chart {
    let mut broken = chart(vec![
        Curve {
            name: LONG.into(),
            points: vec![
                (0.0, 1.0),
                (1.0, f64::NAN),
                (2.0, 3.0),
                (3.0, 2.0),
                (f64::INFINITY, 1.0),
                (4.0, 1.5),
            ],
            band: vec![
                (0.0, 0.5, 1.5),
                (1.0, f64::NAN, 2.0),
                (2.0, 2.0, 4.0),
                (3.0, 1.0, 3.0),
            ],
        },
        Curve::default(),
    ]);
    broken.marks = vec![
        Mark {
            name: LONG.into(),
            x: f64::NAN,
            y: 1.0,
            spread: f64::NAN,
        },
        Mark {
            name: "half".into(),
            x: 1.0,
            y: 1.0,
            spread: f64::NAN,
        },
    ];
    broken.levels = vec![(LONG.into(), 2.5), ("nowhere".into(), f64::NAN)];
    broken
}

fn charts() -> Vec<Chart> {
    let xs = evenly(0.0, 10.0, 40);
    let lone = chart(vec![curve("Only one point", |_| 5.0, &[3.0])]);
    let huge = chart(vec![
        curve("Huge", |x| x * 1e12, &xs),
        curve("Beyond", |_| 1e300, &xs),
    ]);
    let small = chart(vec![curve("Small", |x| x * 1e-12 - 3e-12, &xs)]);
    let mut log = chart(vec![curve(
        "Not all can be shown",
        |x| x,
        &evenly(-5.0, 1e6, 30),
    )]);
    log.x_log = true;
    let mut log_short = chart(vec![curve("Short", |x| x, &[40.0, 41.0, 44.0])]);
    log_short.x_log = true;
    let mut log_up = chart(vec![curve(
        "Not all is above zero",
        |x| x,
        &evenly(-5.0, 1e6, 30),
    )]);
    log_up.y_log = true;
    log_up.levels = vec![("at two".into(), 2.0), ("nowhere".into(), 0.0)];
    vec![
        crowded(),
        broken(),
        lone,
        huge,
        small,
        log,
        log_short,
        log_up,
        Chart::default(),
        Chart {
            x_log: true,
            ..Chart::default()
        },
    ]
}

fn bars() -> Vec<Bars> {
    let bar = |name: &str, value, range, note: &str| Bar {
        name: name.into(),
        value,
        range,
        note: note.into(),
    };
    let bars = |rows| Bars {
        title: LONG.into(),
        label: LONG.into(),
        rows,
    };
    vec![
        bars(vec![
            bar(LONG, -1e9, Some((-2e9, f64::NAN)), LONG),
            bar("tiny", 1e-9, Some((-1e8, 3e8)), ""),
            bar("not a number", f64::NAN, None, "could not be found"),
            bar("without end", f64::INFINITY, Some((0.0, 1e9)), ""),
            bar("", 5e8, None, ""),
        ]),
        bars(vec![
            bar("small", -1e-7, None, ""),
            bar("smaller", -3e-8, None, ""),
        ]),
        bars(vec![bar("nought", 0.0, None, "")]),
        Bars::default(),
    ]
}

fn tables() -> Vec<Table> {
    let table = |heads: &[&str], rows: Vec<Vec<String>>, numeric| Table {
        title: String::new(),
        heads: strings(heads),
        rows,
        numeric,
    };
    vec![
        Table::default(),
        table(&["a", "b"], vec![], vec![0, 7]),
        table(
            &[],
            vec![strings(&["x", "y", "z"]), strings(&["only one"])],
            vec![2],
        ),
        table(
            &["many", "columns", "stand", "in", "this", "one", "table"],
            vec![vec![LONG.into(); 7]],
            vec![],
        ),
    ]
}

fn circuits() -> Vec<Circuit> {
    vec![
        Circuit::default(),
        Circuit {
            labels: circuit()
                .labels
                .iter()
                .map(|(place, _)| (*place, strings(&[LONG, "one", "two", "three"])))
                .collect(),
            steering_in_series: false,
            steering_in_priority: true,
            limiting: "fan",
            ..circuit()
        },
        Circuit {
            limiting: "nowhere",
            labels: vec![("nowhere", vec![]), ("pump", vec![])],
            ..circuit()
        },
    ]
}
