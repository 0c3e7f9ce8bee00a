//! Coefficients of a pump or motor from points of flow and torque.
//!
//! Flow is `Q = V ω ∓ Cs V Δp/μ ∓ Ct V^(2/3) √(2 Δp/ρ)`, torque `T = V Δp ± (Cf V Δp + Cv V μ_b ω + T0)`, with the
//! upper sign for a pump and the lower for a motor, as in the balance. All coefficients are found together by least
//! squares (Gauss-Newton). Each equation is weighted by the scatter of flow or torque, which is estimated from the
//! points. A coefficient that would become negative is fixed at zero. The covariance is that of the linearised model at
//! the solution; the ± is the half-width of the 95 % interval by Student's t.
//!
//! **Source** D. M. Bates, D. G. Watts 1988, *Nonlinear Regression Analysis and Its Applications*, Wiley, chapters 1
//! and 2, from memory.

use crate::fluid::oil::OilNow;
use crate::law::leakage_schlosser_1961::gap;
use crate::law::torque_loss_wilson_1950::{REFERENCE_VISCOSITY, drag_viscosity};
use crate::numeric::quantile;
use crate::trouble::Trouble;
use nalgebra::{DMatrix, DVector};

/// One measured point, with the oil's properties at it.
#[derive(Clone, Copy, Debug)]
pub struct Point {
    /// Pressure difference, Pa.
    pub pressure: f64,
    /// Speed, rad/s.
    pub speed: f64,
    /// Flow, m³/s, with its weight, which is inversely proportional to its stated relative ±.
    pub flow: Option<(f64, f64)>,
    /// Torque, N m, with its weight.
    pub torque: Option<(f64, f64)>,
    /// The oil.
    pub oil: OilNow<f64>,
}

/// The coefficients in order.
pub const COEFFICIENTS: [&str; 7] = [
    "displacement",
    "slip",
    "turbulent_slip",
    "friction",
    "drag",
    "dry_torque",
    "drag_exponent",
];
/// Number of coefficients.
const COUNT: usize = COEFFICIENTS.len();
/// Number of coefficients that flow determines, the first ones; torque determines the others.
pub const OF_FLOW: usize = 3;
/// Typical value of each coefficient, for scaling.
const SIZES: [f64; COUNT] = [2e-6, 1e-8, 1e-3, 0.05, 1e5, 0.5, 0.5];
/// The viscosity exponent of friction that is used if the points do not determine it, as in the machine files.
const EXPONENT: f64 = 0.5;
/// The exponent is solved for only if the viscosities differ by at least this ratio.
const SPANNED: f64 = 2.0;
/// Maximum number of iterations.
const ROUNDS: usize = 60;

/// What to solve for.
#[derive(Clone, Copy, Debug)]
pub struct Sought {
    /// Whether the machine is a pump; otherwise a motor.
    pub pump: bool,
    /// Displacement, m³/rad.
    pub displacement: Option<f64>,
    /// Whether the viscosity exponent of friction is solved for if the points determine it.
    pub exponent: bool,
}

/// One fitted coefficient.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficient {
    /// Value of the coefficient, SI.
    pub value: f64,
    /// Half-width of the coefficient's 95 % interval; `None` if the coefficient was not solved for.
    pub half: Option<f64>,
    /// Whether the coefficient would become negative and is therefore fixed at zero.
    pub at_none: bool,
}

/// The result of the fit.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// The coefficients, in the order of [`COEFFICIENTS`].
    pub all: [Coefficient; COUNT],
    /// Correlation between fitted coefficients, by index.
    pub correlations: Vec<(usize, usize, f64)>,
    /// Computed flow and torque of each point, each with the half-width of its 95 % prediction interval.
    pub computed: Vec<[Option<(f64, f64)>; 2]>,
    /// Scatter around the model, one standard deviation, of flow (m³/s) and torque (N m).
    pub scatter: [Option<f64>; 2],
    /// Number of points minus number of coefficients, for flow and torque.
    pub spare: [usize; 2],
}

/// Student's t with `spare` degrees of freedom for a two-sided 95 % interval.
///
/// **Source** Cornish–Fisher expansion, M. Abramowitz, I. Stegun 1964, 26.7.5, from memory; exact for one and two
/// degrees of freedom.
pub fn student(spare: usize) -> f64 {
    match spare {
        0 => return f64::INFINITY,
        1 => return 12.706,
        2 => return 4.3027,
        _ => {}
    }
    let (z, n) = (quantile(0.975), spare as f64);
    let power = |k: i32| z.powi(k);
    z + (power(3) + z) / (4.0 * n)
        + (5.0 * power(5) + 16.0 * power(3) + 3.0 * z) / (96.0 * n * n)
        + (3.0 * power(7) + 19.0 * power(5) + 17.0 * power(3) - 15.0 * z) / (384.0 * n.powi(3))
        + (79.0 * power(9) + 776.0 * power(7) + 1482.0 * power(5) - 1920.0 * power(3) - 945.0 * z)
            / (92_160.0 * n.powi(4))
}

/// A value with its derivative with respect to each coefficient.
type Sloped = (f64, [f64; COUNT]);

impl Point {
    /// Viscosity in the clearances, and the viscosity for viscous friction before its exponent is applied, Pa s.
    fn films(&self) -> (f64, f64) {
        let OilNow { rho, .. } = self.oil;
        (
            self.oil.clearance(rho, 0.5 * self.pressure),
            self.oil.clearance(rho, 0.0),
        )
    }

    /// Flow, m³/s.
    fn flow_at(&self, pump: bool, c: &[f64; COUNT]) -> Sloped {
        let sign = if pump { -1.0 } else { 1.0 };
        let [v, cs, ct, ..] = *c;
        let film = self.pressure / self.films().0;
        let jet = (2.0 * self.pressure / self.oil.rho).sqrt();
        let value = v * self.speed + sign * (cs * v * film + ct * gap(v) * jet);
        let along_v = self.speed + sign * (cs * film + 2.0 / 3.0 * ct * gap(v) / v * jet);
        (
            value,
            [
                along_v,
                sign * v * film,
                sign * gap(v) * jet,
                0.0,
                0.0,
                0.0,
                0.0,
            ],
        )
    }

    /// Torque at the shaft, N m.
    fn torque_at(&self, pump: bool, c: &[f64; COUNT]) -> Sloped {
        let sign = if pump { 1.0 } else { -1.0 };
        let [v, _, _, cf, cv, t0, b] = *c;
        let film = self.films().1;
        let drag = drag_viscosity(film, b) * self.speed;
        let value = v * self.pressure + sign * (cf * v * self.pressure + cv * v * drag + t0);
        let along_v = self.pressure + sign * (cf * self.pressure + cv * drag);
        let along_b = sign * cv * v * drag * (film / REFERENCE_VISCOSITY).ln();
        let slopes = [
            along_v,
            0.0,
            0.0,
            sign * v * self.pressure,
            sign * v * drag,
            sign,
            along_b,
        ];
        (value, slopes)
    }
}

/// One equation, for flow or for torque: weighted residual and derivatives.
struct Row {
    off: f64,
    slopes: [f64; COUNT],
    of: usize,
}

/// The search for the coefficients, with its present state.
struct Fit<'a> {
    points: &'a [Point],
    pump: bool,
    /// Which coefficients are solved for.
    sought: [bool; COUNT],
    /// Which of these are fixed at zero.
    held: [bool; COUNT],
    /// Scatter of flow and torque for points of weight 1.
    scatter: [f64; 2],
}

impl Fit<'_> {
    fn rows(&self, c: &[f64; COUNT]) -> Vec<Row> {
        let mut rows = Vec::new();
        for point in self.points {
            let both = [
                (point.flow, point.flow_at(self.pump, c)),
                (point.torque, point.torque_at(self.pump, c)),
            ];
            for (of, (measured, (value, slopes))) in both.into_iter().enumerate() {
                if let Some((measured, weight)) = measured {
                    let times = weight / self.scatter[of];
                    rows.push(Row {
                        off: times * (measured - value),
                        slopes: slopes.map(|s| s * times),
                        of,
                    });
                }
            }
        }
        rows
    }

    /// The coefficients that are solved for and not fixed at zero.
    fn moving(&self) -> Vec<usize> {
        (0..COUNT)
            .filter(|k| self.sought[*k] && !self.held[*k])
            .collect()
    }

    /// The derivatives of the rows with respect to the free coefficients, each scaled by its typical value.
    fn matrix(rows: &[Row], moving: &[usize]) -> DMatrix<f64> {
        DMatrix::from_fn(rows.len(), moving.len(), |r, k| {
            rows[r].slopes[moving[k]] * SIZES[moving[k]]
        })
    }

    /// Iterates from starting coefficients, with the scatter kept constant.
    fn search(&mut self, c: &mut [f64; COUNT]) -> Result<(), Trouble> {
        for _ in 0..ROUNDS {
            let (rows, moving) = (self.rows(c), self.moving());
            let off = DVector::from_iterator(rows.len(), rows.iter().map(|r| r.off));
            let parts = Self::matrix(&rows, &moving).svd(true, true);
            let largest = parts.singular_values.max();
            let step = parts.solve(&off, 1e-9 * largest).map_err(|_| untold())?;
            let mut widest = 0.0_f64;
            for (k, step) in moving.iter().zip(step.iter()) {
                c[*k] += step * SIZES[*k];
                widest = widest.max(step.abs() * SIZES[*k] / c[*k].abs().max(1e-3 * SIZES[*k]));
                if c[*k] < 0.0 {
                    (c[*k], self.held[*k]) = (0.0, true);
                }
            }
            c[6] = c[6].min(1.2);
            if c[0] <= 0.0 || !c.iter().all(|x| x.is_finite()) {
                return Err(untold());
            }
            if widest < 1e-8 && !self.let_go(c) {
                break;
            }
        }
        Ok(())
    }

    /// Frees one coefficient fixed at zero that would become positive; returns whether there was one.
    fn let_go(&mut self, c: &[f64; COUNT]) -> bool {
        let rows = self.rows(c);
        let rises =
            |k: usize| rows.iter().map(|r| r.off * r.slopes[k]).sum::<f64>() * SIZES[k] > 1e-6;
        let free = (0..COUNT).find(|k| self.held[*k] && rises(*k));
        if let Some(k) = free {
            self.held[k] = false;
        }
        free.is_some()
    }

    /// Number of coefficients determined by flow and by torque.
    fn told(&self) -> [usize; 2] {
        let moving = self.moving();
        let of_flow = moving.iter().filter(|k| **k < OF_FLOW).count();
        let any_flow = self.points.iter().any(|p| p.flow.is_some());
        if any_flow {
            [of_flow, moving.len() - of_flow]
        } else {
            [0, moving.len()]
        }
    }

    /// Number of points minus number of coefficients, for flow and torque.
    fn spare(&self) -> [usize; 2] {
        let told = self.told();
        let flows = self.points.iter().filter(|p| p.flow.is_some()).count();
        let torques = self.points.iter().filter(|p| p.torque.is_some()).count();
        [
            flows.saturating_sub(told[0]),
            torques.saturating_sub(told[1]),
        ]
    }

    /// The scatter estimated from the rows.
    fn scatter_of(&self, c: &[f64; COUNT]) -> [f64; 2] {
        let (rows, spare) = (self.rows(c), self.spare());
        [0, 1].map(|of| {
            let sum: f64 = rows
                .iter()
                .filter(|r| r.of == of)
                .map(|r| r.off * r.off)
                .sum();
            let found = self.scatter[of] * (sum / spare[of].max(1) as f64).sqrt();
            // Points that were computed from the model itself scatter by rounding only.
            found.max([1e-12, 1e-6][of])
        })
    }
}

fn untold() -> Trouble {
    Trouble::no_answer(
        "no coefficients can be found from these points",
        "points at several pressures and speeds",
    )
}

/// Finds the coefficients.
pub fn fit(points: &[Point], sought: &Sought) -> Result<Fitted, Trouble> {
    let (mut fit, mut c) = begin(points, sought)?;
    for _ in 0..8 {
        let before = fit.scatter;
        fit.search(&mut c)?;
        fit.scatter = fit.scatter_of(&c);
        if before
            .iter()
            .zip(fit.scatter)
            .all(|(a, b)| (a / b - 1.0).abs() < 1e-6)
        {
            break;
        }
    }
    Ok(said(&fit, &c))
}

/// The unknowns and their starting values; fails with too few points.
fn begin<'a>(points: &'a [Point], sought: &Sought) -> Result<(Fit<'a>, [f64; COUNT]), Trouble> {
    let flows: Vec<&Point> = points.iter().filter(|p| p.flow.is_some()).collect();
    let torques: Vec<&Point> = points.iter().filter(|p| p.torque.is_some()).collect();
    let (flow, torque) = (!flows.is_empty(), !torques.is_empty());
    let films = torques.iter().map(|p| p.films().1);
    let (low, high) = films.fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
    let exponent = sought.exponent && torque && torques.len() >= 6 && high >= SPANNED * low;
    let own = sought.displacement.is_none();
    let is_sought = [own, flow, flow, torque, torque, torque, exponent];
    let mut c = SIZES;
    c[0] = sought.displacement.unwrap_or_else(|| {
        let by_flow = flows
            .iter()
            .filter_map(|p| Some(p.flow?.0 / p.speed))
            .fold(0.0, f64::max);
        let by_torque = torques
            .iter()
            .filter_map(|p| Some(p.torque?.0 / p.pressure))
            .fold(f64::INFINITY, f64::min);
        if flow { by_flow } else { by_torque }
    });
    c[6] = EXPONENT;
    for (k, is) in is_sought.iter().enumerate().take(6).skip(1) {
        c[k] = if *is { SIZES[k] } else { 0.0 };
    }
    let sizes = [
        flows
            .iter()
            .filter_map(|p| p.flow)
            .map(|f| 0.01 * f.0)
            .fold(0.0, f64::max),
        torques
            .iter()
            .filter_map(|p| p.torque)
            .map(|t| 0.01 * t.0)
            .fold(0.0, f64::max),
    ];
    let fit = Fit {
        points,
        pump: sought.pump,
        sought: is_sought,
        held: [false; COUNT],
        scatter: sizes.map(|s| if s > 0.0 { s } else { 1.0 }),
    };
    let told = fit.told();
    for (name, count, told) in [
        ("flow", flows.len(), told[0]),
        ("torque", torques.len(), told[1]),
    ] {
        if count > 0 && count <= told {
            let found = format!("{count} points of {name} for {told} coefficients");
            return Err(Trouble::input(
                found,
                format!("at least {} points", told + 1),
            ));
        }
    }
    if own && !flow {
        let found = "only torque points, and no displacement";
        return Err(Trouble::input(
            found,
            "the displacement, or flow points to compute it from",
        ));
    }
    Ok((fit, c))
}

/// The result at the solution.
fn said(fit: &Fit<'_>, c: &[f64; COUNT]) -> Fitted {
    let (rows, moving, spare) = (fit.rows(c), fit.moving(), fit.spare());
    let slopes = Fit::matrix(&rows, &moving);
    // In units of the scatter the variance of each equation is 1.
    let information = slopes.transpose() * &slopes;
    let covariance = information
        .pseudo_inverse(1e-14)
        .unwrap_or_else(|_| DMatrix::zeros(moving.len(), moving.len()));
    let at = |k: usize| moving.iter().position(|m| *m == k);
    let deviation = |k: usize| at(k).map(|i| covariance[(i, i)].max(0.0).sqrt());
    let t = |k: usize| {
        student(spare[usize::from(k >= OF_FLOW || !fit.points.iter().any(|p| p.flow.is_some()))])
    };
    let all = std::array::from_fn(|k| Coefficient {
        value: c[k],
        half: deviation(k).map(|d| t(k) * d * SIZES[k]),
        at_none: fit.held[k],
    });
    let mut correlations = Vec::new();
    for (i, a) in moving.iter().enumerate() {
        for (j, b) in moving.iter().enumerate().skip(i + 1) {
            let r = covariance[(i, j)] / (covariance[(i, i)] * covariance[(j, j)]).sqrt();
            if r.is_finite() {
                correlations.push((*a, *b, r.clamp(-1.0, 1.0)));
            }
        }
    }
    let told = |of: usize, (value, slopes): Sloped| {
        let along =
            DVector::from_iterator(moving.len(), moving.iter().map(|k| slopes[*k] * SIZES[*k]));
        let own = (along.transpose() * &covariance * &along)[(0, 0)].max(0.0);
        (
            value,
            student(spare[of]) * (own + fit.scatter[of].powi(2)).sqrt(),
        )
    };
    let computed = fit.points.iter().map(|p| {
        [
            fit.points
                .iter()
                .any(|p| p.flow.is_some())
                .then(|| told(0, p.flow_at(fit.pump, c))),
            fit.points
                .iter()
                .any(|p| p.torque.is_some())
                .then(|| told(1, p.torque_at(fit.pump, c))),
        ]
    });
    let any = [
        fit.points.iter().any(|p| p.flow.is_some()),
        fit.points.iter().any(|p| p.torque.is_some()),
    ];
    Fitted {
        all,
        correlations,
        computed: computed.collect(),
        scatter: [0, 1].map(|of| any[of].then_some(fit.scatter[of])),
        spare,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From printed tables of Student's t, two-sided 95 %.
    #[test]
    fn students_t() {
        for (spare, printed) in [
            (1, 12.706),
            (2, 4.303),
            (3, 3.182),
            (5, 2.571),
            (10, 2.228),
            (30, 2.042),
            (120, 1.980),
        ] {
            let found = student(spare);
            assert!((found / printed - 1.0).abs() < 2e-3, "{spare}: {found}");
        }
    }
}
