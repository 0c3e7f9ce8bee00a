//! Reads the data points of a fan curve from the fan's maker: a table of airflow, speed, static pressure, shaft power
//! and air density.

use super::point_table::{PointColumn, PointRow, Shape};
use super::read::Reader;
use crate::quantity::{Kind, Measure, Units};
use crate::trouble::{Trouble, Troubles};

/// One point of a fan curve, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FanCurvePoint {
    /// Line of the point in the table, from 1.
    pub line: usize,
    /// Volume flow, m³/s.
    pub flow: f64,
    /// Speed, rad/s.
    pub speed: f64,
    /// Static pressure, Pa.
    pub pressure: Option<Measure>,
    /// Shaft power, W.
    pub power: Option<Measure>,
    /// Density of the air, kg/m³; `None` for standard air.
    pub density: Option<f64>,
}

const COLUMNS: [PointColumn; 5] = [
    ("flow", Kind::AirFlow, 0.0, 60.0, "1.7 m3/s"),
    ("speed", Kind::Speed, 1.0, 2000.0, "2400 rpm"),
    ("pressure", Kind::AirPressure, 0.0, 5000.0, "460 Pa"),
    ("power", Kind::Power, 1.0, 100e3, "2.2 kW"),
    ("density", Kind::Density, 0.5, 2.0, "1.2 kg/m3"),
];

/// Every row needs flow and speed, and pressure or power.
const SHAPE: Shape = Shape {
    columns: &COLUMNS,
    needs: &[&["flow"], &["speed"], &["pressure", "power"]],
};

/// Two ratios of flow to speed count as equal if they differ by less than this fraction of the greatest one.
const APART: f64 = 0.02;
/// Minimum number of different ratios of flow to speed for a curve.
const FEWEST: usize = 3;

impl FanCurvePoint {
    /// Parses a CSV text with headings; `source` is the table's name in messages. Reports all errors at once.
    pub fn all_from_text(source: &str, text: &str) -> Result<Vec<Self>, Troubles> {
        let mut reader = Reader::new(source, text);
        let rows = SHAPE.read(&mut reader, text);
        let points: Vec<Self> = rows.iter().filter_map(Self::of).collect();
        for (row, point) in rows.iter().zip(&points) {
            if let Some(trouble) = point.impossible() {
                reader.note(trouble, row.spans[3].clone());
            }
        }
        let flows = flows(&points);
        if reader.troubles.is_empty() && flows < FEWEST {
            let found = match flows {
                1 => "all points have the same ratio of flow to speed".to_string(),
                _ => format!("the points have only {flows} different ratios of flow to speed"),
            };
            let expected = format!("{FEWEST} or more, from near zero flow to near zero pressure");
            reader.note(Trouble::input(found, expected), rows[0].spans[0].clone());
        }
        if reader.troubles.is_empty() {
            Ok(points)
        } else {
            Err(reader.troubles)
        }
    }

    fn of(row: &PointRow) -> Option<Self> {
        let [flow, speed, pressure, power, density] = row.values[..] else {
            return None;
        };
        Some(Self {
            line: row.line,
            flow: flow?.value,
            speed: speed?.value,
            pressure,
            power,
            density: density.map(|m| m.value),
        })
    }

    /// Returns an error if the air receives at least as much power as the shaft, which is impossible.
    fn impossible(&self) -> Option<Trouble> {
        let (air, shaft) = (self.flow * self.pressure?.value, self.power?.value);
        (air >= shaft).then(|| {
            let show = |w| Units::Si.show(Kind::Power, w);
            let found = format!("a shaft power of {}", show(shaft));
            let expected = format!(
                "more than flow times static pressure, which is {}",
                show(air)
            );
            Trouble::input(found, expected).hint("are the units of flow, pressure and power right?")
        })
    }
}

/// Number of different ratios of flow to speed.
fn flows(points: &[FanCurvePoint]) -> usize {
    let mut flows: Vec<f64> = points.iter().map(|p| p.flow / p.speed).collect();
    flows.sort_by(f64::total_cmp);
    let apart = APART * flows.last().copied().unwrap_or_default();
    let mut last = f64::NEG_INFINITY;
    let new = |flow: &f64| {
        let new = *flow > last + apart;
        if new {
            last = *flow;
        }
        new
    };
    flows.into_iter().filter(new).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    const FOUR: &str = "flow (m3/s),speed (rpm),pressure (Pa),power,density\n0,2400,700,1.9 kW,\n0.8,2400,660,2.1 kW,1.2 kg/m3\n1.7,2400,460 ± 5,2.3 kW,\n2.4,2400,0,1.5 kW,\n";

    #[test]
    fn reads_a_curve_and_names_the_cell_of_what_cannot_be() {
        let points = FanCurvePoint::all_from_text("t", FOUR).unwrap();
        assert_eq!((points.len(), points[3].line), (4, 5));
        assert!(
            points[2]
                .pressure
                .is_some_and(|p| (p.spread - 5.0).abs() < 1e-9)
        );
        assert_eq!((points[0].density, points[1].density), (None, Some(1.2)));
        let steady = FOUR.replace("\n0,", "\n1.7,").replace("\n0.8,", "\n1.7,");
        let steady = steady.replace("\n2.4,", "\n1.7,");
        for (text, line, column, says) in [
            // By hand: 1.7 m³/s · 460 Pa = 782 W.
            (
                FOUR.replace("2.3 kW", "0.7 kW"),
                4,
                18,
                "more than flow times static pressure, which is 782 W",
            ),
            (
                FOUR.replace(",460 ± 5", ",-460"),
                4,
                10,
                "pressure: -460 Pa",
            ),
            (FOUR.replace("\n0.8", "\n-0.8"), 3, 1, "flow: -0.8 m³/s"),
            (FOUR.replace("1.9 kW", "-1.9 kW"), 2, 12, "power: -1.9"),
            (FOUR.replace("0,2400", "0,0"), 2, 3, "speed: 0 rpm"),
            (
                FOUR.replace("(Pa)", "(bar ft)"),
                1,
                25,
                "as the unit of pressure",
            ),
            (FOUR.replace("power", "powr"), 1, 39, "did you mean `power`"),
            (
                FOUR.replace(",460 ± 5,2.3 kW", ",,"),
                4,
                1,
                "this row is incomplete",
            ),
            (
                FOUR.replace("0,700,1.9 kW,", "0,700,1.9 kW,,7"),
                2,
                1,
                "6 cells",
            ),
            (steady, 2, 1, "the same ratio of flow to speed"),
        ] {
            let all = FanCurvePoint::all_from_text("t", &text).unwrap_err();
            let said = all[0].to_string();
            let at = (all[0].spot.line, all[0].spot.column);
            assert!(said.contains(says), "{says}: {said}");
            assert_eq!(at, (Some(line), Some(column)), "{said}");
        }
        assert!(FanCurvePoint::all_from_text("t", "").is_err());
    }
}
