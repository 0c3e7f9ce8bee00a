//! The air balance: finds the airflow at which fan pressure, ram pressure and pressure losses balance, with the same
//! pressure difference across all zones of the core face.

use crate::fluid::air;
use crate::model::Case;
use crate::numeric::{Dual64, NoRoot, Over, Real, falling_root, positive, settle};
use crate::part::{Fan, FanCurve, Front, SquareLoad};

/// Maximum number of zones of the core face: three with equipment upstream, the open remainder, and three more for the
/// areas that auxiliary fans without a shroud leave uncovered.
pub const ZONES: usize = 7;

/// Index of the open zone, which has no equipment upstream.
pub const BARE: usize = 3;

/// Number of zones if every auxiliary fan covers its whole zone.
const WHOLE: usize = 4;

/// Air density at which the pressure drop of a core is rated, kg/m³.
const RATING_DENSITY: f64 = 1.2;

/// One zone of the core face, with air speed `v`: `Δp + lift − fan_linear·v − fan_square·v|v| = linear·v +
/// square·v|v|`.
#[derive(Clone, Copy, Debug)]
pub struct Zone<N> {
    /// Open area, m².
    pub area: N,
    linear: N,
    square: N,
    /// Pressure of the auxiliary fan at zero flow, Pa.
    lift: N,
    /// Linear coefficient of the auxiliary fan's pressure versus air speed.
    fan_linear: N,
    fan_square: N,
}

/// The air path in one operating condition: the quantities that do not depend on the fan speed.
#[derive(Clone, Copy, Debug)]
pub struct AirWay<N> {
    fan: Fan<N>,
    curve: FanCurve<N>,
    /// Ram pressure upstream of the grille, Pa.
    ram: N,
    /// Pressure loss of grille and exit divided by mass flow squared, Pa s²/kg².
    loss: N,
    /// The zones of the face.
    pub zones: [Zone<N>; ZONES],
    /// Number of zones in use.
    count: usize,
    /// Density of the ambient air, kg/m³.
    pub outer: N,
    /// Density of the air at the fan, kg/m³.
    pub inner: N,
}

/// The equipment upstream of the core in each of the three zones; `None` where there is none.
pub(super) fn fronts<N>(case: &Case<N>) -> [Option<&Front<N>>; 3] {
    [&case.front_1, &case.front_2, &case.front_3].map(Option::as_ref)
}

/// The airflow at one fan speed.
#[derive(Clone, Copy, Debug)]
pub struct Airflow<N> {
    /// Mass flow through the fan, kg/s.
    pub mass: N,
    /// Volume flow at the fan, m³/s.
    pub flow: N,
    /// Mass flow that auxiliary fans blow back through other zones of the face, kg/s.
    pub back: N,
    /// Pressure drop of the core, Pa.
    pub over_core: N,
    /// Air speed at each zone of the core face, m/s; negative if the air flows back out.
    pub speed: [N; ZONES],
    /// Static pressure rise of the fan, Pa.
    pub pressure: N,
    /// Torque of the fan, N m.
    pub torque: N,
}

impl<N: Real> Zone<N> {
    /// Air speed, m/s, at a pressure difference `dp` (Pa).
    fn speed<M: Over<N>>(&self, dp: M) -> M {
        self.speed_and_size(dp).0
    }

    /// Air speed, m/s, at a pressure difference `dp` (Pa), and the slope of `dp` versus air speed, Pa per m/s.
    fn speed_and_size<M: Over<N>>(&self, dp: M) -> (M, M) {
        let drive = dp + self.lift;
        let (linear, square) = (self.linear + self.fan_linear, self.square + self.fan_square);
        let size = (drive.abs() * (square * 4.0) + linear * linear).sqrt();
        (drive * 2.0 / (size + linear), size)
    }

    /// Resistance of the core and the equipment upstream in this zone, Pa, at air speed `v` (m/s).
    pub fn resistance(&self, v: N) -> N {
        self.linear * v + self.square * v * v.abs()
    }

    /// Pressure of the auxiliary fan in this zone, Pa, at air speed `v` (m/s).
    pub fn fan_pressure(&self, v: N) -> N {
        self.lift - self.fan_linear * v - self.fan_square * v * v.abs()
    }

    fn map<M>(&self, f: impl Fn(N) -> M) -> Zone<M> {
        Zone {
            area: f(self.area),
            linear: f(self.linear),
            square: f(self.square),
            lift: f(self.lift),
            fan_linear: f(self.fan_linear),
            fan_square: f(self.fan_square),
        }
    }
}

impl<N: Real> AirWay<N> {
    /// The air path; `None` if the machine has no core, air path or fan curve.
    pub fn of(case: &Case<N>) -> Option<Self> {
        let (curve, core, path) = (case.fan_curve?, case.core?, case.air?);
        let (now, zero, one) = (&case.now, N::from(0.0), N::from(1.0));
        let outer = air::density(now.altitude, now.ambient);
        let inner = air::density(now.altitude, now.air_temp);
        // The air warms and expands as it passes through the core.
        let swelling = (now.air_temp / now.ambient + 1.0) * 0.5;
        let rated = core.rated_air_speed;
        let zone = |share: N, front: Option<&Front<N>>, served: bool| {
            let area = core.face * share * (one - core.blocked);
            let mut drop = core.rated_drop * core.fouling + front.map_or(zero, |f| f.drop);
            let (mut lift, mut fan_linear, mut fan_square) = (zero, zero, zero);
            if let Some(f) = front.filter(|_| served) {
                drop += f.auxiliary_drop * (one - f.auxiliary);
                let rho = outer + (inner - outer) * f.auxiliary_behind;
                lift = f.auxiliary_pressure * f.auxiliary * rho / RATING_DENSITY;
                let over = area * outer / rho / f.auxiliary_flow;
                fan_linear = lift * f.auxiliary_linear * over;
                fan_square = lift * (one - f.auxiliary_linear) * over * over;
            }
            Zone {
                area,
                linear: drop * core.linear / rated * swelling,
                square: drop * (one - core.linear) / (rated * rated)
                    * (outer / RATING_DENSITY)
                    * swelling,
                lift,
                fan_linear,
                fan_square,
            }
        };
        let fronts = fronts(case);
        let taken = fronts.iter().flatten().fold(zero, |sum, f| sum + f.share);
        let served = fronts.map(|f| zone(f.map_or(zero, |f| f.share * f.reach()), f, true));
        let rest = fronts.map(|f| {
            let share = f.map_or(zero, |f| f.share * (one - f.reach()));
            zone(share, f, false)
        });
        let bare = zone(positive(one - taken), None, false);
        let ([a, b, c], [d, e, f]) = (served, rest);
        let whole = fronts.iter().flatten().all(|f| f.reach().re() >= 1.0);
        let face = core.face * core.face * 2.0;
        Some(Self {
            fan: case.fan,
            curve,
            ram: path.ram * outer * now.road_speed * now.road_speed * 0.5,
            loss: (path.grille / outer + path.exit / inner) / face,
            zones: [a, b, c, bare, d, e, f],
            count: if whole { WHOLE } else { ZONES },
            outer,
            inner,
        })
    }

    /// The air path without derivatives.
    fn still(&self) -> AirWay<f64> {
        let f = |v: N| v.re();
        AirWay {
            fan: self.fan.map(&mut |_, v| f(*v)),
            curve: self.curve.map(&mut |_, v| f(*v)),
            ram: f(self.ram),
            loss: f(self.loss),
            zones: self.zones.map(|z| z.map(f)),
            count: self.count,
            outer: f(self.outer),
            inner: f(self.inner),
        }
    }

    /// Pressure drop of the core, Pa, at mass flow `m` (kg/s) and fan speed `omega` (rad/s).
    fn over_core<M: Over<N>>(&self, omega: M, m: M) -> M {
        let fan = self
            .curve
            .pressure_at(&self.fan, omega, m / self.inner, self.inner);
        fan - m * m.abs() * self.loss + self.ram
    }

    /// Mass flow through the core minus the mass flow `m` through the fan, kg/s; zero when the two balance.
    fn surplus<M: Over<N>>(&self, omega: M, m: M) -> M {
        let dp = self.over_core(omega, m);
        let through = self
            .zones
            .iter()
            .take(self.count)
            .fold(M::from(0.0), |sum, z| sum + z.speed(dp) * z.area);
        through * self.outer - m
    }

    /// Mass flow through the fan, kg/s, at a fan speed `omega` (rad/s); the search starts at `near` (kg/rad) times the
    /// fan speed.
    ///
    /// As long as the fan's pressure curve is concave in flow, the core flow is a concave function of the fan flow, so
    /// exactly one flow balances the two. Auxiliary fans may blow air back out through the rest of the face. Even then
    /// the pressure drop of the core falls as the fan flow rises, so the solution is still unique.
    fn mass<M: Over<N>>(&self, omega: M, near: f64) -> M {
        let (still, speed) = (self.still(), Dual64::from(omega.re()));
        let surplus = |m: Dual64| {
            let dp = still.over_core(speed, m);
            let through = still
                .zones
                .iter()
                .take(still.count)
                .filter(|z| z.area > 0.0);
            let (flow, slope) = through.fold((0.0, 0.0), |(flow, slope), z| {
                let (v, size) = z.speed_and_size(dp.re);
                (flow + z.area * v, slope + z.area / size)
            });
            Dual64::new(flow, slope * dp.eps) * still.outer - m
        };
        let rated = self.per_rad() * speed.re;
        // Only strong ram air or an auxiliary fan can raise the flow above twice its rated value.
        let mut high = 2.0 * rated + still.outer * 0.1;
        let (scale, mut guess) = (high, (near * speed.re).max(0.1 * high));
        let root = loop {
            match falling_root(surplus, 0.0, high, guess, scale) {
                Err(NoRoot::Above(_)) if high < 1e4 => (guess, high) = (high, 4.0 * high),
                found => break found,
            }
        };
        match root {
            Ok(root) if root.x > 0.0 && root.slope < 0.0 => {
                settle(root.x, root.slope, self.surplus(omega, M::from(root.x)))
            }
            _ => M::from(0.0),
        }
    }

    /// Mass flow at the fan's rating point divided by the rated fan speed, kg/rad.
    fn per_rad(&self) -> f64 {
        (self.inner * self.curve.flow / self.fan.rated_speed).re()
    }

    /// The airflow at fan speed `omega` (rad/s).
    pub fn airflow<M: Over<N>>(&self, omega: M) -> Airflow<M> {
        self.airflow_near(omega, self.per_rad())
    }

    /// The airflow at fan speed `omega` (rad/s); the search starts at `near`, an estimate of mass flow divided by fan
    /// speed (kg/rad).
    pub(super) fn airflow_near<M: Over<N>>(&self, omega: M, near: f64) -> Airflow<M> {
        let mass = self.mass(omega, near);
        let dp = self.over_core(omega, mass);
        let flow = mass / self.inner;
        let speed = self.zones.map(|z| z.speed(dp));
        let back = self
            .zones
            .iter()
            .zip(speed)
            .fold(M::from(0.0), |sum, (z, v)| {
                sum + positive(-(v * z.area)) * self.outer
            });
        Airflow {
            mass,
            flow,
            back,
            over_core: dp,
            speed,
            pressure: self.curve.pressure_at(&self.fan, omega, flow, self.inner),
            torque: self.torque(omega, flow),
        }
    }

    /// Torque of the fan, N m, at speed `omega` (rad/s) and volume flow `flow` (m³/s).
    fn torque<M: Over<N>>(&self, omega: M, flow: M) -> M {
        self.curve.torque_at(&self.fan, omega, flow, self.inner)
    }
}

/// The torque that the fan requires: from the air balance if the fan curve is known, else proportional to the square of
/// speed.
#[derive(Clone, Copy, Debug)]
pub(super) struct FanLoad<N> {
    square: SquareLoad<N>,
    way: Option<AirWay<N>>,
}

impl<N: Real> FanLoad<N> {
    pub fn of(case: &Case<N>) -> Self {
        let now = &case.now;
        Self {
            square: case.fan.load(air::density(now.altitude, now.air_temp)),
            way: AirWay::of(case),
        }
    }

    /// Torque divided by fan speed squared, N m s², from the square law.
    pub fn factor(&self) -> f64 {
        self.square.factor.re()
    }

    /// Starting value of the fan's mass flow divided by its speed, kg/rad.
    pub fn rated_air(&self) -> f64 {
        self.way.as_ref().map_or(0.0, AirWay::per_rad)
    }

    /// Fan torque, N m, at `omega` (rad/s), and the fan's mass flow divided by its speed, kg/rad; the search starts at
    /// `near`. The torque must not fall with speed.
    pub fn torque<M: Over<N>>(&self, omega: M, near: f64) -> (M, f64) {
        let Some(way) = &self.way else {
            return (self.square.torque(omega), near);
        };
        let mass = way.mass(omega, near);
        let air = if omega.re() > 0.0 && mass.re() > 0.0 {
            mass.re() / omega.re()
        } else {
            near
        };
        (way.torque(omega, mass / way.inner), air)
    }

    /// Whether air may drive the fan.
    pub fn may_be_driven(&self) -> bool {
        self.way
            .as_ref()
            .is_some_and(|w| w.ram.re() > 0.0 || w.zones.iter().any(|z| z.lift.re() > 0.0))
    }
}
