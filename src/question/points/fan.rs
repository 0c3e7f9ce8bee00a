//! Fits a fan curve to points: chooses the rating point, and computes the coefficients.

use super::{Coefficient, Found, Together, span};
use crate::model::FanCurvePoint;
use crate::outcome;
use crate::part::{Fan, FanCurve};
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;
use crate::vary::fan_points::{Fitted, Of, Point, Rating, fit};

/// The points of a fan curve.
#[derive(Clone, Debug)]
pub struct FanTable {
    points: Vec<FanCurvePoint>,
    solved: Vec<Point>,
    /// The rating point: the flow of highest efficiency, at the highest speed.
    pub rating: Rating,
    /// Diameter of the fan, m.
    pub diameter: Option<f64>,
}

outcome! {
    /// A point of a fan, compared with the fit.
    pub struct FanMisfit {
        /// Line in the table.
        line: usize,
        /// Volume flow.
        flow: f64 as AirFlow,
        /// Speed.
        speed: f64 as Speed,
        /// Air density.
        density: f64 as Density,
        /// Measured static pressure.
        pressure: Option<f64> as AirPressure,
        /// Static pressure computed with the fitted coefficients.
        pressure_computed: Option<f64> as AirPressure,
        /// Half-width (95 %) of the predicted static pressure for a single measurement at this point.
        pressure_half: Option<f64> as AirPressure,
        /// Measured shaft power.
        power: Option<f64> as Power,
        /// Shaft power computed with the fitted coefficients.
        power_computed: Option<f64> as Power,
        /// Half-width (95 %) of the predicted shaft power for a single measurement at this point.
        power_half: Option<f64> as Power,
    }
}

/// Section and key, in a machine file, of each coefficient of a curve.
type Keys = [(&'static str, &'static str); 3];

const PRESSURE: Keys = [
    ("fan_curve", "pressure"),
    ("fan_curve", "shut_pressure"),
    ("fan_curve", "pressure_slope"),
];

const TORQUE: Keys = [
    ("fan", "rated_power"),
    ("fan_curve", "shut_torque"),
    ("fan_curve", "torque_slope"),
];

impl FanTable {
    /// Builds the table from the points; a point without a density is given `density`, kg/m³.
    pub(super) fn of(points: Vec<FanCurvePoint>, diameter: Option<f64>, density: f64) -> Self {
        let solved: Vec<Point> = points
            .iter()
            .map(|p| Point {
                flow: p.flow,
                speed: p.speed,
                density: p.density.unwrap_or(density),
                pressure: p.pressure.map(|m| (m.value, m.spread)),
                torque: p.power.map(|m| (m.value / p.speed, m.spread / p.speed)),
            })
            .collect();
        Self {
            rating: rating(&solved),
            points,
            solved,
            diameter,
        }
    }

    pub(super) fn find(&self) -> Result<Found, Trouble> {
        let fit = |of| fit(&self.solved, &self.rating, of);
        let (pressure, torque) = (fit(Of::Pressure)?, fit(Of::Torque)?);
        let mut coefficients = vec![
            self.chosen("fan", "rated_speed", self.rating.speed),
            self.chosen("fan", "rated_density", self.rating.density),
            self.chosen("fan_curve", "flow", self.rating.flow),
        ];
        let mut correlations = Vec::new();
        for (fitted, keys, times) in [
            (&torque, TORQUE, self.rating.speed),
            (&pressure, PRESSURE, 1.0),
        ] {
            let Some(fitted) = fitted else { continue };
            coefficients.extend(coefficients_of(fitted, keys, times)?);
            let together = |(a, b, correlation): &(usize, usize, f64)| Together {
                one: keys[*a].1,
                other: keys[*b].1,
                correlation: *correlation,
            };
            correlations.extend(fitted.correlations.iter().map(together));
        }
        rises_with_speed(&coefficients)?;
        let reach = self.solved.iter().map(|p| self.relative(p));
        let reach = reach.fold((f64::INFINITY, 0.0_f64), |(a, b), x| (a.min(x), b.max(x)));
        let scatter = |f: &Option<Fitted>| f.as_ref().map(|f| f.scatter);
        let spare = |f: &Option<Fitted>| f.as_ref().map_or(0, |f| f.spare);
        Ok(Found {
            coefficients,
            correlations,
            pressure_scatter: scatter(&pressure),
            power_scatter: scatter(&torque).map(|t| t * self.rating.speed),
            pressure_spare: spare(&pressure),
            power_spare: spare(&torque),
            fan_points: self.misfits(pressure.as_ref(), torque.as_ref()),
            spans: vec![("speed", span(self.solved.iter().map(|p| p.speed)))],
            reach: Some([reach.0, reach.1]),
            straight: pressure.is_some_and(|p| p.straight),
            ..Found::empty()
        })
    }

    /// Ratio of flow to speed, relative to that at the rating point.
    fn relative(&self, point: &Point) -> f64 {
        point.flow / point.speed * self.rating.speed / self.rating.flow
    }

    /// A coefficient that belongs to the rating point, and so is chosen, not fitted.
    fn chosen(&self, section: &'static str, key: &str, si: f64) -> Coefficient {
        coefficient((section, key), si, None)
    }

    /// Each point, compared with the fitted curves.
    fn misfits(&self, pressure: Option<&Fitted>, torque: Option<&Fitted>) -> Vec<FanMisfit> {
        let one = |(k, point): (usize, &FanCurvePoint)| {
            let (pressure, torque) = (
                pressure.map(|f| f.computed[k]),
                torque.map(|f| f.computed[k]),
            );
            FanMisfit {
                line: point.line,
                flow: point.flow,
                speed: point.speed,
                density: self.solved[k].density,
                pressure: point.pressure.map(|m| m.value),
                pressure_computed: pressure.map(|p| p.0),
                pressure_half: pressure.map(|p| p.1),
                power: point.power.map(|m| m.value),
                power_computed: torque.map(|t| t.0 * point.speed),
                power_half: torque.map(|t| t.1 * point.speed),
            }
        };
        self.points.iter().enumerate().map(one).collect()
    }
}

/// Chooses the rating point, and scales it to the highest speed: the point with the highest efficiency; if shaft power
/// is missing, the one with the highest air power at equal speed and density; if pressure is missing, the one with the
/// median flow.
fn rating(points: &[Point]) -> Rating {
    let speed = points.iter().map(|p| p.speed).fold(0.0, f64::max);
    let of = |p: &Point| Rating {
        flow: p.flow * speed / p.speed,
        speed,
        density: p.density,
    };
    let worth = |p: &Point| {
        let air = p.flow * p.pressure?.0;
        Some(match p.torque {
            Some((torque, _)) => air / (torque * p.speed),
            None => air / (p.speed.powi(3) * p.density),
        })
    };
    let both = |p: &&Point| p.pressure.is_some() && p.torque.is_some();
    let among: Vec<&Point> = match points.iter().any(|p| both(&p)) {
        true => points.iter().filter(both).collect(),
        false => points.iter().collect(),
    };
    let valued = among.iter().filter_map(|p| Some((worth(p)?, *p)));
    let best = valued
        .filter(|v| v.0 > 0.0)
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let mut by_flow: Vec<&Point> = points.iter().filter(|p| p.flow > 0.0).collect();
    by_flow.sort_by(|a, b| (a.flow / a.speed).total_cmp(&(b.flow / b.speed)));
    let middle = by_flow.get(by_flow.len() / 2).copied();
    best.map(|b| b.1)
        .or(middle)
        .map_or_else(|| of(&points[0]), of)
}

/// The declaration of an input of the fan.
fn field((section, key): (&str, &str)) -> Option<&'static crate::input::Field> {
    let fields = match section {
        "fan" => Fan::<f64>::FIELDS,
        _ => FanCurve::<f64>::FIELDS,
    };
    fields.iter().find(|f| f.key == key)
}

fn coefficient(at: (&'static str, &str), value: f64, half: Option<f64>) -> Coefficient {
    let kind = field(at).map_or(Kind::Number, |f| f.kind);
    Coefficient {
        key: at.1.into(),
        unit: kind.json_suffix().into(),
        value: kind.to_json(value),
        half: half.map(|h| h * kind.json_factor()),
        at_none: false,
        told: half.is_some_and(|h| h < value.abs()),
        section: at.0,
        kind,
        si: (value, half),
    }
}

/// The coefficients of a curve; an error if one is outside the range allowed in a machine file, because the points then
/// do not determine the curve.
fn coefficients_of(fitted: &Fitted, keys: Keys, times: f64) -> Result<Vec<Coefficient>, Trouble> {
    let one = |(k, at): (usize, &(&'static str, &'static str))| {
        let times = if k == 0 { times } else { 1.0 };
        let (value, half) = (fitted.all[k].value, fitted.all[k].half);
        let found = coefficient(*at, value * times, half.map(|h| h * times));
        let Some(field) = field(*at) else {
            return Ok(found);
        };
        if (field.low..=field.high).contains(&found.si.0) {
            return Ok(found);
        }
        let show = |v| Units::Si.show(field.kind, v);
        let what = format!("a fan curve with {} = {}", at.1, show(found.si.0));
        let expected = format!("{} to {}", show(field.low), show(field.high));
        Err(Trouble::no_answer(what, expected)
            .hint("give points from near zero flow to near zero pressure, but none at which the fan stalls"))
    };
    keys.iter().enumerate().map(one).collect()
}

/// Returns an error if the torque of the fan falls with speed; machine files are checked in the same way.
fn rises_with_speed(all: &[Coefficient]) -> Result<(), Trouble> {
    let value = |key: &str| all.iter().find(|c| c.key == key).map(|c| c.si.0);
    match value("shut_torque").zip(value("torque_slope")) {
        Some((shut, slope)) if 2.0 * shut + 1.5 * slope <= 0.0 => Err(Trouble::no_answer(
            "a fan curve whose torque falls with speed",
            "shaft powers that match the flows",
        )),
        _ => Ok(()),
    }
}
