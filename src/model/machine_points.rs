//! Data points of a pump or motor from its maker: a table of pressure, speed, flow, torque, and viscosity or
//! temperature.

use super::cells::{Cells, Line};
use super::read::Reader;
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::{Trouble, Troubles};
use std::ops::Range;

/// One data point, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MachinePoint {
    /// Line of the point in the table, from 1.
    pub line: usize,
    /// Pressure difference, Pa.
    pub pressure: f64,
    /// Speed, rad/s.
    pub speed: f64,
    /// Delivered flow of a pump, or inlet flow of a motor, m³/s.
    pub flow: Option<Measure>,
    /// Shaft torque, N m.
    pub torque: Option<Measure>,
    /// Viscosity of the oil, m²/s.
    pub viscosity: Option<f64>,
    /// Temperature of the oil, K.
    pub oil_temp: Option<f64>,
}

/// A column: heading, kind, minimum and maximum, an example.
type PointColumn = (&'static str, Kind, f64, f64, &'static str);

/// The columns of a table of points: heading, kind, minimum and maximum, an example. Pressure and speed are required,
/// and flow or torque.
pub const POINT_COLUMNS: [PointColumn; 6] = [
    ("pressure", Kind::Pressure, 1e4, 6e7, "100 bar"),
    ("speed", Kind::Speed, 1.0, 2000.0, "1500 rpm"),
    ("flow", Kind::Flow, 1e-7, 0.1, "21.5 L/min"),
    ("torque", Kind::Torque, 1e-3, 5000.0, "28 N m"),
    (
        "viscosity",
        Kind::KinematicViscosity,
        1e-6,
        0.01,
        "32 mm2/s",
    ),
    ("oil_temp", Kind::Temperature, 233.15, 423.15, "50 °C"),
];

/// Maximum number of points.
const MOST: usize = 2000;

impl MachinePoint {
    /// Parses a CSV text with headings and a unit in every cell; `source` is the table's name in messages. Reports all
    /// errors at once.
    pub fn all_from_text(source: &str, text: &str) -> Result<Vec<Self>, Troubles> {
        let mut reader = Reader::new(source, text);
        let points = read(&mut reader, text);
        if reader.troubles.is_empty() && !(3..=MOST).contains(&points.len()) {
            let expected = format!("3 to {MOST} points, so that some can check the others");
            let trouble = Trouble::input(format!("{} points", points.len()), expected);
            reader.troubles.push(trouble.at(source));
        }
        if reader.troubles.is_empty() {
            Ok(points)
        } else {
            Err(reader.troubles)
        }
    }
}

/// The position of each column.
type Places = [Option<usize>; POINT_COLUMNS.len()];

fn read(reader: &mut Reader<'_>, text: &str) -> Vec<MachinePoint> {
    let Some(table) = Cells::read(text) else {
        reader.note(Trouble::input("no points", columns()), 0..0);
        return Vec::new();
    };
    let names = POINT_COLUMNS.map(|c| c.0);
    for head in table
        .head
        .cells
        .iter()
        .filter(|h| !names.contains(&&*h.words))
    {
        let trouble = Trouble::input(format!("a column `{}`", head.words), columns());
        reader.note(trouble.did_you_mean(&head.words, names), head.span.clone());
    }
    let places = names.map(|name| table.head.cells.iter().position(|h| h.words == name));
    let missing = match places {
        [None, ..] => Some("pressure"),
        [_, None, ..] => Some("speed"),
        [_, _, None, None, ..] => Some("flow or torque"),
        _ => None,
    };
    if let Some(missing) = missing {
        let trouble = Trouble::input(format!("points without {missing}"), columns());
        reader.note(trouble, table.head.span.clone());
    }
    if !reader.troubles.is_empty() {
        return Vec::new();
    }
    let heads = table.head.cells.len();
    table
        .rows
        .iter()
        .filter_map(|row| point(reader, row, &places, heads))
        .collect()
}

/// Parses one row as a point.
fn point(
    reader: &mut Reader<'_>,
    row: &Line<'_>,
    places: &Places,
    heads: usize,
) -> Option<MachinePoint> {
    if let Err(trouble) = row.fits(heads) {
        reader.note(trouble, row.span.clone());
        return None;
    }
    let mut found = [None; POINT_COLUMNS.len()];
    for ((slot, column), place) in found.iter_mut().zip(&POINT_COLUMNS).zip(places) {
        let Some(place) = place.filter(|p| !row.words(*p).is_empty()) else {
            continue;
        };
        match value(column, row.words(place)) {
            Ok(value) => *slot = Some(value),
            Err(trouble) => reader.note(trouble, span(row, place)),
        }
    }
    let [pressure, speed, flow, torque, viscosity, oil_temp] = found;
    if pressure.is_none() || speed.is_none() || (flow.is_none() && torque.is_none()) {
        let expected = "pressure, speed, and flow or torque in every row";
        reader.note(
            Trouble::input("an incomplete row", expected),
            row.span.clone(),
        );
        return None;
    }
    Some(MachinePoint {
        line: row.number,
        pressure: pressure?.value,
        speed: speed?.value,
        flow,
        torque,
        viscosity: viscosity.map(|m| m.value),
        oil_temp: oil_temp.map(|m| m.value),
    })
}

fn span(row: &Line<'_>, place: usize) -> Range<usize> {
    row.cells
        .get(place)
        .map_or(row.span.clone(), |c| c.span.clone())
}

/// A cell in SI, within the range of its column.
fn value(&(name, kind, low, high, _): &PointColumn, words: &str) -> Result<Measure, Trouble> {
    let found = parse(kind, words)?;
    if (low..=high).contains(&found.value) {
        return Ok(found);
    }
    let show = |v| Units::Si.show(kind, v);
    let expected = format!("{} to {}", show(low), show(high));
    Err(
        Trouble::input(format!("{name}: {}", show(found.value)), expected)
            .hint("is the unit right?"),
    )
}

/// The columns as text.
fn columns() -> String {
    let names = POINT_COLUMNS.map(|c| c.0).join(", ");
    format!(
        "columns {names}, with a unit in every cell; pressure, speed, and flow or torque are required"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const THREE: &str = "pressure,speed,flow,oil_temp\n50 bar,1500 rpm,21 L/min,50 C\n100 bar,1500 rpm,20 L/min ± 1 %,50 C\n150 bar,1500 rpm,19 L/min,50 C\n";

    #[test]
    fn reads_a_table_and_tells_every_mistake() {
        let points = MachinePoint::all_from_text("t", THREE).unwrap();
        assert_eq!((points.len(), points[2].line), (3, 4));
        assert!(points[1].flow.is_some_and(|f| f.spread > 0.0) && points[0].torque.is_none());
        for (from, to, says) in [
            ("flow", "flo", "did you mean `flow`"),
            ("speed", "torque", "without speed"),
            ("50 bar", "50 C", "pressure"),
            ("21 L/min", "", "an incomplete row"),
            ("1500 rpm,20", "9 rpm,20", "speed: 9 rpm"),
            (",50 C\n150", ",50 C,7\n150", "5 cells"),
        ] {
            let text = THREE.replacen(from, to, 1);
            let all = MachinePoint::all_from_text("t", &text).unwrap_err();
            let said = all
                .iter()
                .map(ToString::to_string)
                .collect::<Vec<_>>()
                .join("\n");
            assert!(said.contains(says), "{says}: {said}");
        }
        assert!(MachinePoint::all_from_text("t", "").is_err());
    }
}
