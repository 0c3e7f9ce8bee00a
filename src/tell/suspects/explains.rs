//! How well each cause explains each reading.

use super::name;
use crate::question::suspects::{Explains, Found, Suspects};
use crate::tell::answer::{Chart, Curve, Table};
use crate::tell::{readings, words};

/// A table of how well each cause explains each reading.
pub(super) fn table(request: &Suspects, found: &Found) -> Table {
    let units = request.setup.units;
    let mut heads: Vec<String> = ["", "test", "reading"].map(String::from).to_vec();
    heads.extend(
        found
            .explains
            .iter()
            .map(|e| format!("if {}", name(e.fault))),
    );
    let rows = request.readings.all.iter().enumerate().map(|(n, reading)| {
        let number = (n + 1).to_string();
        let value = readings::value(units, reading);
        let mut row = vec![number, reading.probe.name.into(), value];
        let expected = found.explains.iter().filter_map(|e| e.readings.get(n));
        row.extend(expected.map(|(mean, off)| {
            let mean = units.show(reading.probe.what.kind(), *mean);
            match off {
                Some(off) => format!("{mean} ({} σ)", words::signed(*off)),
                None => format!("{mean} (fits)"),
            }
        }));
        row
    });
    let numeric = (2..3 + found.explains.len()).chain([0]);
    Table {
        title: "Each reading, the value that each cause predicts for it from the other readings, and the deviation (σ: standard deviations)".into(),
        rows: rows.collect(),
        heads,
        numeric: numeric.collect(),
    }
}

/// A chart of how well each cause explains each reading; `None` for so few readings that their table tells as much.
pub(super) fn chart(found: &Found) -> Option<Chart> {
    let readings = found.explains.first()?.readings.len();
    if readings < 3 {
        return None;
    }
    let points = |e: &Explains| {
        let off = e.readings.iter().enumerate();
        off.filter_map(|(n, (_, off))| Some(((n + 1) as f64, (*off)?)))
            .collect()
    };
    let curve = |e: &Explains| Curve {
        name: name(e.fault).into(),
        points: points(e),
        band: Vec::new(),
    };
    Some(Chart {
        title: "Deviation of each reading from the prediction of each cause".into(),
        x_label: "reading, as numbered in the table".into(),
        y_label: "standard deviations".into(),
        curves: found.explains.iter().map(curve).collect(),
        levels: vec![("2 σ above".into(), 2.0), ("2 σ below".into(), -2.0)],
        frame: Some([(0.0, 0.0), ((readings + 1) as f64, 0.0)]),
        ..Chart::default()
    })
}
