//! Reads the data points of a pump or motor from its maker: a table of pressure, speed, flow, torque, and viscosity or
//! temperature.

use super::point_table::{PointColumn, Shape};
use super::read::Reader;
use crate::quantity::{Kind, Measure};
use crate::trouble::Troubles;

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

/// The columns of the table: for each, its heading, kind of quantity, minimum, maximum, and an example.
const POINT_COLUMNS: [PointColumn; 6] = [
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

/// Every row needs pressure and speed, and flow or torque.
const SHAPE: Shape = Shape {
    columns: &POINT_COLUMNS,
    needs: &[&["pressure"], &["speed"], &["flow", "torque"]],
};

impl MachinePoint {
    /// Parses a CSV text with headings; `source` is the table's name in messages. Reports all errors at once.
    pub fn all_from_text(source: &str, text: &str) -> Result<Vec<Self>, Troubles> {
        let mut reader = Reader::new(source, text);
        let rows = SHAPE.read(&mut reader, text);
        if !reader.troubles.is_empty() {
            return Err(reader.troubles);
        }
        let point = |row: &super::point_table::PointRow| {
            let [pressure, speed, flow, torque, viscosity, oil_temp] = row.values[..] else {
                return None;
            };
            Some(Self {
                line: row.line,
                pressure: pressure?.value,
                speed: speed?.value,
                flow,
                torque,
                viscosity: viscosity.map(|m| m.value),
                oil_temp: oil_temp.map(|m| m.value),
            })
        };
        Ok(rows.iter().filter_map(point).collect())
    }
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
            ("speed", "torque", "have no speed"),
            ("50 bar", "50 C", "pressure"),
            ("21 L/min", "", "this row is incomplete"),
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
        // Units in the headings give the same result as units in the cells.
        let heads = THREE.replacen("pressure,speed", "pressure (bar),speed", 1);
        let heads = ["50", "100", "150"].iter().fold(heads, |text, bar| {
            text.replacen(&format!("\n{bar} bar"), &format!("\n{bar}"), 1)
        });
        assert_eq!(MachinePoint::all_from_text("t", &heads).unwrap(), points);
    }
}
