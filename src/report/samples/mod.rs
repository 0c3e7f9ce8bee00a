//! Sample answers that the tests render. All numbers and names are invented.

mod extreme;

use crate::question::Series;
use crate::tell::{
    Answer, Bar, Bars, Block, Chart, Circuit, Curve, Form, Lane, Mark, Panels, Remark, Stretch,
    Table,
};
use extreme::extreme;

/// Every sample with its name.
pub(super) fn all() -> Vec<(String, Answer)> {
    let mut all = vec![
        ("empty".to_owned(), Answer::default()),
        ("full".to_owned(), full()),
        ("extreme".to_owned(), extreme()),
    ];
    for mask in 0..64u8 {
        let on = |bit: u8| mask & (1 << bit) != 0;
        let places = [
            "pump",
            "motor",
            "valve",
            "",
            "regulator",
            "supply",
            "return",
            "suction",
            "cooler",
            "steering",
        ];
        let shape = Circuit {
            valve_to_motor_outlet: on(0),
            regulator: on(1),
            steering_in_series: on(2) && !on(3),
            steering_in_priority: on(3),
            filter: on(4),
            cooler: on(5),
            screen: on(0) != on(4),
            limiting: places[usize::from(mask) % places.len()],
            ..circuit()
        };
        all.push((
            format!("circuit {mask}"),
            answer(vec![Block::Circuit(shape)]),
        ));
    }
    all
}

fn answer(blocks: Vec<Block>) -> Answer {
    Answer {
        question: "speed",
        blocks,
        ..Answer::default()
    }
}

fn strings(words: &[&str]) -> Vec<String> {
    words.iter().map(|w| (*w).to_owned()).collect()
}

/// Cautions with the given texts.
pub(super) fn remarks(words: &[&str]) -> Vec<Remark> {
    let remark = |w: &&str| Remark {
        key: "sample",
        words: (*w).to_owned(),
    };
    words.iter().map(remark).collect()
}

/// An answer with one block of every kind.
pub(super) fn full() -> Answer {
    let mut answer = answer(vec![
        Block::Form(Form {
            title: "Fan speed, oil warm".into(),
            about: vec!["Tape on one blade.".into()],
            ticks: strings(&["oil level", "belt"]),
            heads: strings(&["read, rpm", "oil, °C"]),
            rows: vec![["at idle".into(), "fan-speed-idle-hot".into(), "700 rpm".into()]],
            cautions: strings(&["Keep out of the fan's plane."]),
        }),
        Block::Sentence("The regulator limits it: at this viscosity it passes less than its rated flow. With <healthy> oil at 90 °C the same machine would turn at 2280 rpm.".into()),
        Block::Headline("The fan turns at 1840 rpm (1700 to 1980), 440 rpm slower than it should.".into()),
        Block::Next("the regulator's spring, with <clean> hands.".into()),
        Block::Circuit(circuit()),
        Block::Heading("Over oil temperature".into()),
        Block::Chart(chart()),
        Block::Heading("Over viscosity".into()),
        Block::Chart(log_chart()),
        Block::Heading("Over time".into()),
        Block::Panels(panels()),
        Block::Heading("Where the speed goes".into()),
        Block::Bars(bars()),
        Block::Table(Table {
            title: "What to check next".into(),
            heads: strings(&["Test", "Tells apart (bit)", "Effort (min)", "How"]),
            rows: vec![
                strings(&["Oil temperature at the reservoir", "0.82", "5", "Contact probe on the wall below the level, after ten minutes at working speed"]),
                strings(&["Motor case drain flow", "0.41", "25", "Measuring jug and watch"]),
                strings(&["Pressure at the pump outlet", "0.4", "40", "Gauge, 0–250 bar"]),
            ],
            numeric: vec![1, 2],
        }),
        Block::Safety(strings(&[
            "The fan may start unbidden. Keep hands, hair and clothes out of its plane.",
            "A jet of oil from a pinhole enters the skin. Do not feel for leaks by hand; a doctor at once if it happens.",
        ])),
    ]);
    answer.assumptions = [
        ("Machine", "backhoe-class, invented"),
        ("Oil", "hydraulic oil ISO VG 46 <new>"),
        ("Oil temperature", "62 °C"),
        ("Command", "1 (full)"),
    ]
    .map(|(a, b)| (a.to_owned(), b.to_owned()))
    .to_vec();
    answer.numbers.insert("fan_speed_rpm".into(), 1840.0.into());
    answer.numbers.insert("margin_k".into(), f64::NAN.into());
    answer.cautions = remarks(&[
        "The oil is 8 K outside the range of its data: the viscosity is extended beyond it.",
        "The belt slip rests on an engineering assumption.",
    ]);
    answer.series = Series {
        heads: strings(&["oil_temperature_c", "fan_speed_rpm"]),
        rows: vec![strings(&["20", "900"]), strings(&["60", "1840"])],
    };
    answer
}

/// A circuit with text at all elements.
pub(super) fn circuit() -> Circuit {
    let label = |place, words: &[&str]| (place, strings(words));
    Circuit {
        title: "The circuit at this moment".into(),
        valve_to_motor_outlet: true,
        regulator: true,
        steering_in_series: true,
        steering_in_priority: false,
        filter: true,
        cooler: true,
        screen: true,
        labels: vec![
            label(
                "pump",
                &["2100 rpm", "152 bar", "38.2 L/min", "slip 2.1 L/min"],
            ),
            label("regulator", &["34 L/min at most", "bypasses 4.2 L/min"]),
            label("relief", &["opens at 210 bar", "shut"]),
            label("valve", &["set 165 bar", "passes 0 L/min"]),
            label("supply", &["34 L/min", "drop 2.4 bar"]),
            label("motor", &["1840 rpm", "Δp 138 bar", "slip 3.1 L/min"]),
            label("fan", &["1840 rpm", "4.9 kW", "air 3.2 m³/s"]),
            label("return", &["34 L/min", "4.2 bar"]),
            label("steering", &["3.5 bar", "idle"]),
            label("filter", &["drop 0.4 bar"]),
            label("cooler", &["drop 0.9 bar", "gives off 1.8 kW"]),
            label("suction", &["0.82 bar abs"]),
            label("reservoir", &["62 °C", "58 mm²/s"]),
        ],
        limiting: "regulator",
    }
}

fn curve(name: &str, f: impl Fn(f64) -> f64, xs: &[f64]) -> Curve {
    Curve {
        name: name.into(),
        points: xs.iter().map(|x| (*x, f(*x))).collect(),
        band: Vec::new(),
    }
}

fn evenly(from: f64, to: f64, count: u32) -> Vec<f64> {
    (0..count)
        .map(|i| from + (to - from) * f64::from(i) / f64::from(count - 1))
        .collect()
}

/// A chart of speed versus temperature with a band, shaded ranges, marks and levels.
pub(super) fn chart() -> Chart {
    let xs = evenly(-20.0, 110.0, 80);
    let healthy = |t: f64| 2300.0 / (1.0 + (-(t - 15.0) / 14.0).exp());
    let mut found = curve("This machine", |t| healthy(t) * 0.82, &xs);
    found.band = xs
        .iter()
        .map(|t| (*t, healthy(*t) * 0.76, healthy(*t) * 0.88))
        .collect();
    Chart {
        title: "Fan speed over oil temperature".into(),
        x_label: "Oil temperature (°C)".into(),
        y_label: "Fan speed (rpm)".into(),
        y_from_zero: true,
        curves: vec![
            curve("Healthy machine", healthy, &xs),
            found,
            curve(
                "With oil of the right grade",
                |t| healthy(t + 6.0) * 0.9,
                &xs,
            ),
        ],
        stretches: [
            ("inlet", -20.0, -4.0),
            ("regulator", -4.0, 41.0),
            ("displacement", 41.0, 92.0),
            ("control valve", 92.0, 110.0),
        ]
        .map(|(name, from, to)| Stretch {
            name: name.into(),
            from,
            to,
        })
        .to_vec(),
        marks: vec![Mark {
            name: "reading".into(),
            x: 62.0,
            y: 1840.0,
            spread: 90.0,
        }],
        levels: vec![("needed at full load".into(), 2050.0)],
        ..Chart::default()
    }
}

/// Charts over a common axis, with a lane of periods.
fn panels() -> Panels {
    let lane = |name: &str, spans: &[(f64, f64)]| Lane {
        name: name.into(),
        spans: spans.to_vec(),
    };
    Panels {
        title: "The drive".into(),
        x_label: "time, min".into(),
        charts: vec![chart(), chart()],
        lanes: vec![
            lane("standing", &[(0.0, 12.0), (30.0, 30.01)]),
            lane("fan command 95 % or more: never", &[]),
        ],
    }
}

/// A chart with a logarithmic axis.
fn log_chart() -> Chart {
    let xs: Vec<f64> = evenly(0.7, 3.3, 60)
        .iter()
        .map(|p| 10f64.powf(*p))
        .collect();
    Chart {
        title: "Fan speed over viscosity".into(),
        x_label: "Kinematic viscosity (mm²/s)".into(),
        y_label: "Fan speed (rpm)".into(),
        x_log: true,
        curves: vec![
            curve("Fan", |v| 2300.0 - 300.0 / v - 0.6 * v, &xs),
            curve("Without regulator", |v| 2350.0 - 500.0 / v - 0.4 * v, &xs),
        ],
        stretches: [
            ("slip", 5.0, 9.0),
            ("displacement", 9.0, 10.5),
            ("regulator", 10.5, 12.0),
            ("relief valve", 12.0, 400.0),
            ("inlet", 400.0, 2000.0),
        ]
        .map(|(name, from, to)| Stretch {
            name: name.into(),
            from,
            to,
        })
        .to_vec(),
        marks: vec![
            Mark {
                name: "now".into(),
                x: 58.0,
                y: 2200.0,
                spread: 0.0,
            },
            Mark {
                name: "at 90 °C".into(),
                x: 15.0,
                y: 2270.0,
                spread: 0.0,
            },
        ],
        ..Chart::default()
    }
}

fn bars() -> Bars {
    let bar = |name: &str, value, range, note: &str| Bar {
        name: name.into(),
        value,
        range,
        note: note.into(),
    };
    Bars {
        title: "Share of the lost speed".into(),
        label: "Change of fan speed (rpm)".into(),
        rows: vec![
            bar(
                "Flow regulator",
                -310.0,
                Some((-390.0, -240.0)),
                "thicker oil passes less",
            ),
            bar(
                "Motor slip",
                42.5,
                Some((20.0, 61.0)),
                "thicker oil leaks less",
            ),
            bar("Motor drag", -120.0, None, ""),
            bar(
                "Lines and hoses, return filter and oil cooler together",
                -52.0,
                Some((-80.0, -30.0)),
                "",
            ),
            bar("Belt", 0.0, None, "does not slip"),
        ],
    }
}
