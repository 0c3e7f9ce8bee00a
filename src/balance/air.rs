//! The air: one pressure behind the core balances the fan, the ram air and every part of the core's face.

use crate::fluid::air;
use crate::model::Case;
use crate::numeric::{Dual64, NoRoot, Over, Real, falling_root, positive, settle};
use crate::part::{Fan, FanCurve, Front, SquareLoad};

/// Parts of the core's face: three with something ahead of them, the bare rest, and what an auxiliary fan without a shroud
/// leaves of each of the three.
pub const ZONES: usize = 7;

/// Of those, the bare rest, by its number.
pub const BARE: usize = 3;

/// Of those, the parts that there are where every auxiliary fan serves all of its own.
const WHOLE: usize = 4;

/// Air density at which a core's pressure drop is given, kg/m³.
const RATING_DENSITY: f64 = 1.2;

/// One part of the face: `Δp + lift − fan_linear·v − fan_square·v|v| = linear·v + square·v|v|`.
#[derive(Clone, Copy, Debug)]
pub struct Zone<N> {
    /// Open area, m².
    pub area: N,
    linear: N,
    square: N,
    /// What an auxiliary fan adds with no flow, Pa.
    lift: N,
    /// How that falls with air speed.
    fan_linear: N,
    fan_square: N,
}

/// The way of the air in one condition, at any fan speed.
#[derive(Clone, Copy, Debug)]
pub struct AirWay<N> {
    fan: Fan<N>,
    curve: FanCurve<N>,
    /// Pressure ahead of the grille, Pa.
    ram: N,
    /// Pressure lost in grille and exit over mass flow squared, Pa s²/kg².
    loss: N,
    /// The parts of the face.
    pub zones: [Zone<N>; ZONES],
    /// How many of them there are.
    count: usize,
    /// Density of the outer air, kg/m³.
    pub outer: N,
    /// Density of the air at the fan, kg/m³.
    pub inner: N,
}

/// What stands ahead of the core, where something does.
pub(super) fn fronts<N>(case: &Case<N>) -> [Option<&Front<N>>; 3] {
    [&case.front_1, &case.front_2, &case.front_3].map(Option::as_ref)
}

/// What air flows at one fan speed.
#[derive(Clone, Copy, Debug)]
pub struct Draft<N> {
    /// Mass flow, kg/s.
    pub mass: N,
    /// Flow at the fan, m³/s.
    pub flow: N,
    /// Mass flow that auxiliary fans blow back through other parts of the face, kg/s.
    pub back: N,
    /// Pressure over the core, Pa.
    pub over_core: N,
    /// Speed at each part of the face, m/s.
    pub speed: [N; ZONES],
    /// Static pressure of the fan, Pa.
    pub pressure: N,
    /// Torque of the fan, N m.
    pub torque: N,
}

impl<N: Real> Zone<N> {
    /// Air speed, m/s, at a pressure difference `dp` (Pa).
    fn speed<M: Over<N>>(&self, dp: M) -> M {
        self.speed_and_size(dp).0
    }

    /// Air speed, m/s, at a pressure difference `dp` (Pa), and what that difference must rise by for each m/s more.
    fn speed_and_size<M: Over<N>>(&self, dp: M) -> (M, M) {
        let drive = dp + self.lift;
        let (linear, square) = (self.linear + self.fan_linear, self.square + self.fan_square);
        let size = (drive.abs() * (square * 4.0) + linear * linear).sqrt();
        (drive * 2.0 / (size + linear), size)
    }

    /// What the core and all that stands ahead of it here resist, Pa, at air speed `v` (m/s).
    pub fn resistance(&self, v: N) -> N {
        self.linear * v + self.square * v * v.abs()
    }

    /// What the auxiliary fan here gives, Pa, at air speed `v` (m/s).
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
    /// The way of the air; none where the machine has no core, air path or fan curve.
    pub fn of(case: &Case<N>) -> Option<Self> {
        let (curve, core, path) = (case.fan_curve?, case.core?, case.air?);
        let (now, zero, one) = (&case.now, N::from(0.0), N::from(1.0));
        let outer = air::density(now.altitude, now.ambient);
        let inner = air::density(now.altitude, now.air_temp);
        // The air warms on its way through, and takes more room.
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

    /// The same without derivatives of its own.
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

    /// Pressure over the core, Pa, with mass flow `m` (kg/s) at fan speed `omega` (rad/s).
    fn over_core<M: Over<N>>(&self, omega: M, m: M) -> M {
        let fan = self
            .curve
            .pressure_at(&self.fan, omega, m / self.inner, self.inner);
        fan - m * m.abs() * self.loss + self.ram
    }

    /// Mass flow that the core lets through more than `m`, kg/s.
    fn surplus<M: Over<N>>(&self, omega: M, m: M) -> M {
        let dp = self.over_core(omega, m);
        let through = self
            .zones
            .iter()
            .take(self.count)
            .fold(M::from(0.0), |sum, z| sum + z.speed(dp) * z.area);
        through * self.outer - m
    }

    /// Mass flow, kg/s, that the fan draws at a speed `omega` (rad/s); the search starts at `near` for each rad/s.
    ///
    /// As long as the fan's pressure bends down with flow, what the core lets through is a concave function of the flow that
    /// the fan draws, so that one flow balances the two. Auxiliary fans may press air back through the rest of the face; the
    /// pressure over the core then falls with that flow, and again there is one.
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
        // Beyond twice the rated flow only a strong ram or an auxiliary fan leads.
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

    /// Mass flow of the rating point, kg/s for each rad/s.
    fn per_rad(&self) -> f64 {
        (self.inner * self.curve.flow / self.fan.rated_speed).re()
    }

    /// The air at fan speed `omega` (rad/s).
    pub fn draft<M: Over<N>>(&self, omega: M) -> Draft<M> {
        self.draft_near(omega, self.per_rad())
    }

    /// The same, where it is known about how much air the fan draws, kg for each rad.
    pub(super) fn draft_near<M: Over<N>>(&self, omega: M, near: f64) -> Draft<M> {
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
        Draft {
            mass,
            flow,
            back,
            over_core: dp,
            speed,
            pressure: self.curve.pressure_at(&self.fan, omega, flow, self.inner),
            torque: self.torque(omega, flow),
        }
    }

    /// Torque, N m, at fan speed `omega` (rad/s) with a flow at the fan (m³/s).
    fn torque<M: Over<N>>(&self, omega: M, flow: M) -> M {
        self.curve.torque_at(&self.fan, omega, flow, self.inner)
    }
}

/// The fan's load: in the air as it balances where its curve is known, else by the square law.
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

    /// Torque over speed squared, N m s², as the square law has it.
    pub fn factor(&self) -> f64 {
        self.square.factor.re()
    }

    /// Where the search for the air that the fan draws may start, kg for each rad.
    pub fn rated_air(&self) -> f64 {
        self.way.as_ref().map_or(0.0, AirWay::per_rad)
    }

    /// Torque, N m, at `omega` (rad/s), and the air that the fan draws, kg for each rad, sought from `near` on. Must not fall
    /// with speed.
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
