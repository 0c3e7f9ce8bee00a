//! The air: one pressure behind the core balances the fan, the ram air and every part of the core's face.

use crate::fluid::air;
use crate::model::Case;
use crate::numeric::{Dual64, NoRoot, Real, falling_root, positive, settle};
use crate::part::{Fan, FanCurve, Front, Load, SquareLoad};

/// Parts of the core's face: three with something ahead of them, and the rest.
pub const ZONES: usize = 4;

/// Air density at which a core's pressure drop is given, kg/m³.
const RATING_DENSITY: f64 = 1.2;

/// One part of the face: `Δp + lift = linear·v + square·v|v|`.
#[derive(Clone, Copy, Debug)]
pub struct Zone<N> {
    /// Open area, m².
    pub area: N,
    linear: N,
    square: N,
    /// What an auxiliary fan adds with no flow, Pa.
    lift: N,
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
    /// Density of the outer air, kg/m³.
    pub outer: N,
    /// Density of the air at the fan, kg/m³.
    pub inner: N,
}

/// What air flows at one fan speed.
#[derive(Clone, Copy, Debug)]
pub struct Draft<N> {
    /// Mass flow, kg/s.
    pub mass: N,
    /// Flow at the fan, m³/s.
    pub flow: N,
    /// Speed at each part of the face, m/s.
    pub speed: [N; ZONES],
    /// Static pressure of the fan, Pa.
    pub pressure: N,
    /// Torque of the fan, N m.
    pub torque: N,
}

impl<N: Real> Zone<N> {
    /// Air speed, m/s, at a pressure difference `dp` (Pa).
    fn speed(&self, dp: N) -> N {
        let drive = dp + self.lift;
        let size = (self.linear * self.linear + self.square * drive.abs() * 4.0).sqrt();
        drive * 2.0 / (self.linear + size)
    }

    fn map<M>(&self, f: impl Fn(N) -> M) -> Zone<M> {
        Zone {
            area: f(self.area),
            linear: f(self.linear),
            square: f(self.square),
            lift: f(self.lift),
        }
    }
}

impl<N: Real> AirWay<N> {
    /// The way of the air; none where the machine has no core, air path or fan curve.
    pub fn of(case: &Case<N>) -> Option<Self> {
        let (curve, core, path) = (case.fan_curve?, case.core?, case.air?);
        let (now, one) = (&case.now, N::from(1.0));
        let outer = air::density(now.altitude, now.ambient);
        let inner = air::density(now.altitude, now.air_temp);
        // The air warms on its way through, and takes more room.
        let swelling = (now.air_temp / now.ambient + 1.0) * 0.5;
        let rated = core.rated_air_speed;
        let zone = |share: N, front: Option<&Front<N>>| {
            let area = core.face * share * (one - core.blocked);
            let mut drop = core.rated_drop * core.fouling;
            let (mut lift, mut fan) = (N::from(0.0), N::from(0.0));
            if let Some(f) = front {
                drop += f.drop + f.auxiliary_drop * (one - f.auxiliary);
                lift = f.auxiliary_pressure * f.auxiliary * outer / RATING_DENSITY;
                fan = lift * (area / f.auxiliary_flow).powi(2);
            }
            Zone {
                area,
                linear: drop * core.linear / rated * swelling,
                square: drop * (one - core.linear) / (rated * rated)
                    * (outer / RATING_DENSITY)
                    * swelling
                    + fan,
                lift,
            }
        };
        let fronts = [&case.front_1, &case.front_2, &case.front_3].map(Option::as_ref);
        let taken = fronts
            .iter()
            .flatten()
            .fold(N::from(0.0), |sum, f| sum + f.share);
        let [a, b, c] = fronts.map(|f| zone(f.map_or(N::from(0.0), |f| f.share), f));
        let face = core.face * core.face * 2.0;
        Some(Self {
            fan: case.fan,
            curve,
            ram: path.ram * outer * now.road_speed * now.road_speed * 0.5,
            loss: (path.grille / outer + path.exit / inner) / face,
            zones: [a, b, c, zone(positive(one - taken), None)],
            outer,
            inner,
        })
    }

    /// The same without derivatives of its own, in numbers that carry one.
    fn still(&self) -> AirWay<Dual64> {
        let f = |v: N| Dual64::from(v.re());
        AirWay {
            fan: self.fan.map(&mut |_, v| f(*v)),
            curve: self.curve.map(&mut |_, v| f(*v)),
            ram: f(self.ram),
            loss: f(self.loss),
            zones: self.zones.map(|z| z.map(f)),
            outer: f(self.outer),
            inner: f(self.inner),
        }
    }

    /// Pressure over the core, Pa, with mass flow `m` (kg/s) at fan speed `omega` (rad/s).
    fn over_core(&self, omega: N, m: N) -> N {
        let fan = self
            .curve
            .pressure_at(&self.fan, omega, m / self.inner, self.inner);
        self.ram - self.loss * m * m.abs() + fan
    }

    /// Mass flow that the core lets through more than `m`, kg/s.
    fn surplus(&self, omega: N, m: N) -> N {
        let dp = self.over_core(omega, m);
        let through = self
            .zones
            .iter()
            .fold(N::from(0.0), |sum, z| sum + z.area * z.speed(dp));
        through * self.outer - m
    }

    /// The air at fan speed `omega` (rad/s).
    ///
    /// As long as the fan's pressure bends down with flow, what the core lets through is a concave function of the flow that
    /// the fan draws, so that one flow balances the two.
    pub fn draft(&self, omega: N) -> Draft<N> {
        let still = self.still();
        let speed = Dual64::from(omega.re());
        let per_rad = still.inner * still.curve.flow / still.fan.rated_speed;
        // Beyond twice the rated flow only a strong ram or an auxiliary fan leads.
        let rated = (per_rad * speed).re;
        let mut high = 2.0 * rated + still.outer.re * 0.1;
        let (scale, mut guess) = (high, rated.max(0.1 * high));
        let root = loop {
            match falling_root(|m| still.surplus(speed, m), 0.0, high, guess, scale) {
                Err(NoRoot::Above(_)) if high < 1e4 => (guess, high) = (high, 4.0 * high),
                found => break found,
            }
        };
        let mass = match root {
            Ok(root) if root.x > 0.0 && root.slope < 0.0 => {
                settle(root.x, root.slope, self.surplus(omega, N::from(root.x)))
            }
            _ => N::from(0.0),
        };
        let dp = self.over_core(omega, mass);
        let flow = mass / self.inner;
        Draft {
            mass,
            flow,
            speed: self.zones.map(|z| z.speed(dp)),
            pressure: self.curve.pressure_at(&self.fan, omega, flow, self.inner),
            torque: self.curve.torque_at(&self.fan, omega, flow, self.inner),
        }
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

    /// Whether air may drive the fan.
    pub fn may_be_driven(&self) -> bool {
        self.way
            .as_ref()
            .is_some_and(|w| w.ram.re() > 0.0 || w.zones.iter().any(|z| z.lift.re() > 0.0))
    }
}

impl<N: Real> Load<N> for FanLoad<N> {
    fn torque(&self, omega: N) -> N {
        match &self.way {
            Some(way) => way.draft(omega).torque,
            None => self.square.torque(omega),
        }
    }
}
