//! Coefficients of a fan curve from points of flow, static pressure and shaft power.
//!
//! The fan laws convert each point to the speed and air density of a rating point. There, pressure and torque are `y =
//! A (c0 + c1 x + (1 − c0 − c1) x²)`, where `x` is the flow relative to that of the rating point, as in the balance.
//! This is linear in `A`, `A c0` and `A c1`, which are found by least squares. If the fitted pressure curve is not
//! concave, its curvature is fixed at the minimum allowed in a machine file. The covariance of `A`, `c0`, `c1` is that
//! of the linearised model at the solution; the ± is the half-width of the 95 % interval by Student's t.
//!
//! **Source** As for [`points`](super::points); the fan laws of ISO 5801.

use super::points::{Coefficient, student};
use crate::trouble::Trouble;
use nalgebra::{DMatrix, DVector, Matrix3};

/// One measured point. Pressure (Pa) and torque (N m) each come with their stated ±, zero if none is stated.
#[derive(Clone, Copy, Debug)]
pub struct Point {
    /// Volume flow, m³/s.
    pub flow: f64,
    /// Speed, rad/s.
    pub speed: f64,
    /// Air density, kg/m³.
    pub density: f64,
    /// Static pressure, Pa.
    pub pressure: Option<(f64, f64)>,
    /// Shaft torque, N m.
    pub torque: Option<(f64, f64)>,
}

/// The rating point, to which the coefficients refer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rating {
    /// Volume flow, m³/s.
    pub flow: f64,
    /// Speed, rad/s.
    pub speed: f64,
    /// Air density, kg/m³.
    pub density: f64,
}

/// The coefficients of a curve: its value at the rating point (Pa or N m), then its value and slope at zero flow, both
/// relative to that value.
pub type Curve = [Coefficient; 3];

/// The curve of pressure or of torque.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// The coefficients.
    pub all: Curve,
    /// Correlation between two of them, by index.
    pub correlations: Vec<(usize, usize, f64)>,
    /// Whether the curvature was fixed at the minimum allowed.
    pub straight: bool,
    /// Scatter of the points without a stated ±, at rated speed and density: one standard deviation, SI.
    pub scatter: f64,
    /// Number of points minus number of coefficients.
    pub spare: usize,
    /// Computed value of each point, with the half-width of its prediction, 95 %; also for points without a measured
    /// value.
    pub computed: Vec<(f64, f64)>,
}

/// Whether the curve is that of pressure or of torque.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// Static pressure.
    Pressure,
    /// Shaft torque.
    Torque,
}

/// Minimum curvature of a pressure curve, `c0 + c1 − 1`, so that pressure falls more and more steeply with flow.
const LEAST_CURVATURE: f64 = 0.01;

/// Assumed ± of a point that states none, as a fraction of the greatest value; it sets the weight of such a point
/// relative to points with a stated ±.
const USUAL: f64 = 0.01;

impl Rating {
    /// Ratio of a pressure or torque at the point's speed and density to its value at the rated ones.
    fn scale(&self, point: &Point) -> f64 {
        (point.speed / self.speed).powi(2) * point.density / self.density
    }

    /// Flow of a point converted to rated speed, relative to the rated flow.
    fn flow_of(&self, point: &Point) -> f64 {
        point.flow / point.speed * self.speed / self.flow
    }
}

impl Of {
    fn value(self, point: &Point) -> Option<(f64, f64)> {
        match self {
            Self::Pressure => point.pressure,
            Self::Torque => point.torque,
        }
    }
}

/// A point converted to rated speed and density: relative flow, value, weight.
type At = (f64, f64, f64);

/// Finds the curve of pressure or torque; `None` if no point has a value for it.
pub fn fit(points: &[Point], rating: &Rating, of: Of) -> Result<Option<Fitted>, Trouble> {
    let raw = points.iter().filter_map(|p| Some((p, of.value(p)?)));
    let raw: Vec<(f64, f64, f64)> = raw
        .map(|(p, (value, spread))| {
            let scale = rating.scale(p);
            (rating.flow_of(p), value / scale, spread / scale)
        })
        .collect();
    if raw.is_empty() {
        return Ok(None);
    }
    if raw.len() <= 3 {
        let found = format!("{} points of one curve for 3 coefficients", raw.len());
        return Err(Trouble::input(found, "at least 4 points"));
    }
    let greatest = raw.iter().map(|r| r.1).fold(0.0, f64::max);
    let weight = |spread: f64| match spread > 0.0 {
        true => USUAL * greatest / spread,
        false => 1.0,
    };
    let rows: Vec<At> = raw.iter().map(|r| (r.0, r.1, weight(r.2))).collect();
    let mut solved = Solved::of(&rows, false)?;
    let [_, shut, slope] = solved.curve();
    let straight = of == Of::Pressure && shut + slope - 1.0 < LEAST_CURVATURE;
    if straight {
        solved = Solved::of(&rows, true)?;
    }
    Ok(Some(solved.told(points, rating, of)))
}

/// The linear coefficients `A`, `A c0`, `A c1`, or only the first two if the curvature is fixed at its minimum.
struct Solved {
    linear: Vec<f64>,
    covariance: DMatrix<f64>,
    scatter: f64,
    spare: usize,
    straight: bool,
}

/// The terms at a relative flow that the linear coefficients multiply.
fn along(x: f64, straight: bool) -> Vec<f64> {
    match straight {
        true => vec![(1.0 + LEAST_CURVATURE - LEAST_CURVATURE * x) * x, 1.0 - x],
        false => vec![x * x, 1.0 - x * x, x - x * x],
    }
}

impl Solved {
    fn of(rows: &[At], straight: bool) -> Result<Self, Trouble> {
        let count = if straight { 2 } else { 3 };
        let matrix = DMatrix::from_fn(rows.len(), count, |i, k| {
            rows[i].2 * along(rows[i].0, straight)[k]
        });
        let values = DVector::from_iterator(rows.len(), rows.iter().map(|r| r.2 * r.1));
        let untold = || {
            Trouble::no_answer(
                "no fan curve can be found from these points",
                "points from near zero flow to near zero pressure",
            )
        };
        let information = matrix.transpose() * &matrix;
        let covariance = information.try_inverse().ok_or_else(untold)?;
        let linear = &covariance * matrix.transpose() * &values;
        if !linear.iter().all(|v| v.is_finite()) || linear[0] <= 0.0 {
            return Err(untold());
        }
        let spare = rows.len() - count;
        let off = (&matrix * &linear - values).norm_squared();
        // Points that were computed from the model itself scatter by rounding only.
        let scatter = (off / spare as f64).sqrt().max(1e-9 * linear[0]);
        Ok(Self {
            linear: linear.iter().copied().collect(),
            covariance: covariance * (scatter * scatter),
            scatter,
            spare,
            straight,
        })
    }

    /// The value at the rating point, and the relative value and slope at zero flow.
    fn curve(&self) -> [f64; 3] {
        let rated = self.linear[0];
        let shut = self.linear[1] / rated;
        let slope = match self.linear.get(2) {
            Some(slope) => slope / rated,
            None => 1.0 + LEAST_CURVATURE - shut,
        };
        [rated, shut, slope]
    }

    /// Derivatives of the curve's coefficients with respect to the linear ones.
    fn jacobian(&self) -> DMatrix<f64> {
        let [rated, shut, slope] = self.curve();
        match self.straight {
            true => DMatrix::from_row_slice(
                3,
                2,
                &[
                    1.0,
                    0.0,
                    -shut / rated,
                    1.0 / rated,
                    shut / rated,
                    -1.0 / rated,
                ],
            ),
            false => {
                let all = Matrix3::new(
                    1.0,
                    0.0,
                    0.0,
                    -shut / rated,
                    1.0 / rated,
                    0.0,
                    -slope / rated,
                    0.0,
                    1.0 / rated,
                );
                DMatrix::from_iterator(3, 3, all.iter().copied())
            }
        }
    }

    fn told(&self, points: &[Point], rating: &Rating, of: Of) -> Fitted {
        let (t, jacobian, values) = (student(self.spare), self.jacobian(), self.curve());
        let covariance = &jacobian * &self.covariance * jacobian.transpose();
        let deviation = |k: usize| covariance[(k, k)].max(0.0).sqrt();
        let pairs = [(0, 1), (0, 2), (1, 2)];
        let correlation = |(a, b): (usize, usize)| {
            let r = covariance[(a, b)] / (deviation(a) * deviation(b));
            r.is_finite().then(|| (a, b, r.clamp(-1.0, 1.0)))
        };
        let greatest = |p: &Point| of.value(p).map(|v| v.0 / rating.scale(p));
        let greatest = points.iter().filter_map(greatest).fold(0.0, f64::max);
        let computed = |p: &Point| {
            let row = DVector::from_vec(along(rating.flow_of(p), self.straight));
            let value: f64 = row.iter().zip(&self.linear).map(|(a, b)| a * b).sum();
            let own = (row.transpose() * &self.covariance * &row)[(0, 0)].max(0.0);
            let times = match of.value(p) {
                Some((_, spread)) if spread > 0.0 => spread / rating.scale(p) / (USUAL * greatest),
                _ => 1.0,
            };
            let half = t * (own + (times * self.scatter).powi(2)).sqrt();
            (value * rating.scale(p), half * rating.scale(p))
        };
        Fitted {
            all: std::array::from_fn(|k| Coefficient {
                value: values[k],
                half: Some(t * deviation(k)),
                at_none: false,
            }),
            correlations: pairs.into_iter().filter_map(correlation).collect(),
            straight: self.straight,
            scatter: self.scatter,
            spare: self.spare,
            computed: points.iter().map(computed).collect(),
        }
    }
}
