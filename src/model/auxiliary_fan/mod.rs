//! Electric fans from data sheets: a falling pressure curve is fitted to the points given for each fan.

mod table;

use super::read::Reader;
use crate::quantity::{Kind, Units};
use crate::trouble::{Trouble, Troubles};
use nalgebra::{DMatrix, DVector};
use std::f64::consts::FRAC_PI_4;
use table::read;

/// Table of the built-in classes of electric fans, as text.
pub const AUXILIARY_FANS: &str = include_str!("../../../models/auxfans/classes.csv");

/// One point of the fan curve in a data sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FanPoint {
    /// Air flow, m³/s.
    pub flow: f64,
    /// Static pressure, Pa.
    pub pressure: f64,
    /// Current, A.
    pub current: f64,
}

/// Mounting position of a fan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mount {
    /// Downstream of the core, drawing air through it.
    Puller,
    /// Upstream of the core, pushing air through it.
    Pusher,
}

impl Mount {
    /// The word for the mounting position in tables.
    pub fn word(self) -> &'static str {
        match self {
            Mount::Pusher => "pusher",
            Mount::Puller => "puller",
        }
    }
}

/// An electric fan, with the curve `p = p0 − a·q − b·q²` fitted to its points.
#[derive(Clone, Debug, PartialEq)]
pub struct AuxiliaryFan {
    /// Name of the fan.
    pub name: String,
    /// Points of the fan curve, in order of rising flow.
    pub points: Vec<FanPoint>,
    /// Diameter of the blades, m.
    pub diameter: f64,
    /// Mass, kg.
    pub mass: f64,
    /// Depth including the motor, m, if known.
    pub depth: Option<f64>,
    /// The mounting position for which the curve was measured.
    pub mount: Mount,
    /// Pressure at zero flow on the fitted curve, Pa.
    pub shut_pressure: f64,
    /// Flow at zero pressure on the fitted curve, m³/s.
    pub free_flow: f64,
    /// Fraction of the pressure fall that is linear in flow; the rest is quadratic.
    pub linear: f64,
    /// Maximum deviation of the fitted curve from the points, relative to the maximum pressure.
    pub misfit: f64,
}

impl AuxiliaryFan {
    /// Makes a fan from the points of its curve, whose pressure must fall with flow.
    pub fn new(
        name: &str,
        mut points: Vec<FanPoint>,
        diameter: f64,
        mass: f64,
        mount: Mount,
    ) -> Result<Self, Trouble> {
        points.sort_by(|a, b| a.flow.total_cmp(&b.flow));
        if points.len() < 2 {
            return Err(Trouble::input(
                format!("`{name}` has a single point"),
                "a curve of two or more points, preferably five, from zero flow to zero pressure",
            )
            .hint("a free-flow rating alone does not give the airflow through a core"));
        }
        for pair in points.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let show = |p: FanPoint| {
                let si = Units::Si;
                format!(
                    "{} at {}",
                    si.show(Kind::AirPressure, p.pressure),
                    si.show(Kind::AirFlow, p.flow)
                )
            };
            if b.pressure >= a.pressure || b.flow <= a.flow {
                return Err(Trouble::input(
                    format!(
                        "the pressure of `{name}` does not fall as the flow rises: {}, then {}",
                        show(a),
                        show(b)
                    ),
                    "a pressure that falls as the flow rises",
                )
                .hint(
                    "a fan curve dips where the fan stalls: leave out those points, and do not run the fan there",
                ));
            }
        }
        let (shut_pressure, a, b) = fitted(&points).ok_or_else(|| {
            Trouble::input(
                format!("`{name}`: no falling curve fits the points"),
                "points whose pressure falls as the flow rises",
            )
        })?;
        let greatest = points[0].pressure;
        let misfit = points
            .iter()
            .map(|p| (shut_pressure - p.flow * (a + b * p.flow) - p.pressure).abs())
            .fold(0.0, f64::max)
            / greatest;
        let free_flow = 2.0 * shut_pressure / (a + (a * a + 4.0 * b * shut_pressure).sqrt());
        Ok(Self {
            name: name.into(),
            points,
            diameter,
            mass,
            depth: None,
            mount,
            shut_pressure,
            free_flow,
            linear: (a * free_flow / shut_pressure).clamp(0.0, 1.0),
            misfit,
        })
    }

    /// Area swept by the blades, m².
    pub fn disc(&self) -> f64 {
        FRAC_PI_4 * self.diameter * self.diameter
    }

    /// Current, A, at a flow (m³/s): interpolated between the points, constant beyond them.
    pub fn current_at(&self, flow: f64) -> f64 {
        let after = self.points.iter().position(|p| p.flow >= flow);
        match after {
            Some(0) => self.points[0].current,
            Some(k) => {
                let (a, b) = (self.points[k - 1], self.points[k]);
                a.current + (b.current - a.current) * (flow - a.flow) / (b.flow - a.flow)
            }
            None => self.points.last().map_or(f64::NAN, |p| p.current),
        }
    }

    /// Maximum current of the points, A.
    pub fn greatest_current(&self) -> f64 {
        self.points.iter().map(|p| p.current).fold(0.0, f64::max)
    }

    /// Reads the fans of a table; `source` is the table's name in messages.
    pub fn from_text(source: &str, text: &str) -> Result<Vec<Self>, Troubles> {
        let mut reader = Reader::new(source, text);
        let fans = read(&mut reader, text);
        if reader.troubles.is_empty() && fans.is_empty() {
            reader.note(
                Trouble::input(
                    "the table contains no fans",
                    "one row for each point of a fan curve",
                ),
                0..0,
            );
        }
        if reader.troubles.is_empty() {
            Ok(fans)
        } else {
            Err(reader.troubles)
        }
    }
}

/// Fits the curve `p = p0 − a·q − b·q²` by least squares; returns `p0`, `a` and `b`, of which `a` and `b` are not
/// negative.
fn fitted(points: &[FanPoint]) -> Option<(f64, f64, f64)> {
    let scale = points.last()?.flow;
    let wanted = DVector::from_iterator(points.len(), points.iter().map(|p| p.pressure));
    // Fits the curve with only the given powers of flow.
    let by = |powers: &[i32]| {
        let matrix = DMatrix::from_fn(points.len(), powers.len() + 1, |i, j| match j {
            0 => 1.0,
            _ => -(points[i].flow / scale).powi(powers[j - 1]),
        });
        let x = matrix.clone().svd(true, true).solve(&wanted, 1e-12).ok()?;
        let off = (matrix * &x - &wanted).norm_squared();
        let of = |power: i32| {
            let at = powers.iter().position(|p| *p == power);
            at.map_or(0.0, |k| x[k + 1] / scale.powi(power))
        };
        let found = (x[0], of(1), of(2));
        (found.0 > 0.0 && found.1 >= 0.0 && found.2 >= 0.0 && found.1 + found.2 > 0.0)
            .then_some((off, found))
    };
    if points.len() > 2
        && let Some((_, found)) = by(&[1, 2])
    {
        return Some(found);
    }
    let squared = by(&[2]);
    let straight = by(&[1]);
    match (squared, straight) {
        (Some((a, one)), Some((b, other))) => Some(if b < a * (1.0 - 1e-9) && points.len() > 2 {
            other
        } else {
            one
        }),
        (one, other) => one.or(other).map(|(_, found)| found),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(list: &[(f64, f64)]) -> Vec<FanPoint> {
        list.iter()
            .map(|(flow, pressure)| FanPoint {
                flow: *flow,
                pressure: *pressure,
                current: 10.0 - flow,
            })
            .collect()
    }

    fn fan(list: &[(f64, f64)]) -> Result<AuxiliaryFan, Trouble> {
        AuxiliaryFan::new("f", points(list), 0.3, 2.0, Mount::Puller)
    }

    #[test]
    fn a_curve_of_its_form_is_met_exactly() {
        // Calculated by hand: 200 − 100 q − 300 q² is zero at q = 2/3.
        let list: Vec<(f64, f64)> = [0.0, 0.2, 0.4, 0.6]
            .map(|q| (q, 200.0 - 100.0 * q - 300.0 * q * q))
            .to_vec();
        let f = fan(&list).unwrap();
        assert!((f.shut_pressure - 200.0).abs() < 1e-9 && (f.free_flow - 2.0 / 3.0).abs() < 1e-9);
        assert!((f.linear - 1.0 / 3.0).abs() < 1e-9 && f.misfit < 1e-9);
        assert!((f.current_at(0.3) - 9.7).abs() < 1e-12 && (f.current_at(9.0) - 9.4).abs() < 1e-12);
    }

    #[test]
    fn two_points_make_a_parabola_and_a_hollow_curve_a_straight_line() {
        let f = fan(&[(0.0, 100.0), (0.5, 0.0)]).unwrap();
        assert!((f.free_flow - 0.5).abs() < 1e-12 && f.linear < 1e-12);
        let hollow = fan(&[(0.0, 100.0), (0.25, 30.0), (0.5, 0.0)]).unwrap();
        assert!(hollow.linear > 0.99 && hollow.misfit > 0.05, "{hollow:?}");
    }

    #[test]
    fn a_rising_curve_and_a_single_point_are_refused() {
        assert!(
            fan(&[(0.0, 100.0), (0.2, 110.0), (0.5, 0.0)])
                .unwrap_err()
                .found
                .contains("does not fall")
        );
        assert!(fan(&[(0.0, 100.0), (0.0, 90.0)]).is_err());
        assert!(
            fan(&[(0.5, 0.0)])
                .unwrap_err()
                .found
                .contains("single point")
        );
    }

    #[test]
    fn the_classes_are_sound() {
        let fans = AuxiliaryFan::from_text("classes", AUXILIARY_FANS).unwrap();
        assert_eq!(fans.len(), 5);
        assert!(
            fans.iter()
                .all(|f| f.misfit < 0.05 && f.greatest_current() > f.current_at(f.free_flow))
        );
    }
}
