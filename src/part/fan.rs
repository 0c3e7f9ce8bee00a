//! The fan as a load on the motor.

use crate::input::unit::{MM, RPM};
use crate::law::{fan_affinity_iso_5801 as affinity, fan_curve_quadratic as quadratic};
use crate::numeric::{Over, Real};

crate::part! {
    /// The fan, described by one rating point.
    Fan {
        diameter: Length [100.0 * MM, 2000.0 * MM] f64::NAN, FanAir, "diameter over the blade tips";
        rated_diameter: Length [100.0 * MM, 2000.0 * MM] 450.0 * MM, FanAir, "diameter of the fan to which the rating point applies; default: this fan's diameter";
        rated_speed: Speed [100.0 * RPM, 10000.0 * RPM] f64::NAN, FanAir, "speed at the rating point";
        rated_power: Power [10.0, 100e3] f64::NAN, FanAir, "shaft power at the rating point, installed with core and shroud";
        rated_density: Density [0.7, 1.5] 1.2, FanAir, "air density at the rating point";
    }
}

crate::part! {
    /// Pressure and torque of the fan versus airflow, relative to the rating point; for a fan whose torque depends on
    /// its airflow.
    FanCurve {
        flow: AirFlow [0.01, 60.0] f64::NAN, FanAir, "volume flow at the rating point, for the air density at the fan";
        pressure: AirPressure [5.0, 3000.0] f64::NAN, FanAir, "static pressure at the rating point";
        shut_pressure: Number [0.5, 6.0] 1.8, FanAir, "shut-off pressure (zero flow) relative to the rating point";
        pressure_slope: Number [-4.0, 4.0] 0.0, FanAir, "slope of pressure versus flow at zero flow, relative to the rating point; must be greater than 1 − shut_pressure";
        shut_torque: Number [0.3, 4.0] 0.9, FanAir, "torque at zero flow relative to the rating point";
        torque_slope: Number [-2.0, 3.0] 0.5, FanAir, "slope of torque versus flow at zero flow, relative to the rating point";
    }
}

/// A load whose torque is proportional to the square of speed, like that of a fan in an unchanging air path.
#[derive(Clone, Copy, Debug)]
pub struct SquareLoad<N> {
    /// Torque divided by speed squared, N m s².
    pub factor: N,
}

impl<N: Real> Fan<N> {
    /// Diameter of the fan relative to that of the rating point.
    fn size(&self) -> N {
        self.diameter / self.rated_diameter
    }

    /// The fan's load in air of density `rho` (kg/m³), scaled from the rating point by the affinity laws.
    pub fn load(&self, rho: N) -> SquareLoad<N> {
        let torque = affinity::torque(
            self.rated_power / self.rated_speed,
            N::from(1.0),
            self.size(),
            rho / self.rated_density,
        );
        SquareLoad {
            factor: torque / (self.rated_speed * self.rated_speed),
        }
    }
}

impl<N: Real> FanCurve<N> {
    /// Static pressure, Pa, of `fan` at speed `omega` (rad/s), airflow `q` (m³/s) and air density `rho` (kg/m³).
    pub fn pressure_at<M: Over<N>>(&self, fan: &Fan<N>, omega: M, q: M, rho: N) -> M {
        let (n, q) = self.over(fan, omega, q);
        let over = quadratic::over_rating(self.shut_pressure, self.pressure_slope, n, q);
        over * (self.pressure * fan.size().powi(2) * rho / fan.rated_density)
    }

    /// Torque, N m, of `fan` at speed `omega` (rad/s), airflow `q` (m³/s) and air density `rho` (kg/m³).
    pub fn torque_at<M: Over<N>>(&self, fan: &Fan<N>, omega: M, q: M, rho: N) -> M {
        let (n, q) = self.over(fan, omega, q);
        let over = quadratic::over_rating(self.shut_torque, self.torque_slope, n, q);
        over * (fan.rated_power / fan.rated_speed * fan.size().powi(5) * rho / fan.rated_density)
    }

    /// Speed and flow relative to the rating point, scaled to the fan's diameter.
    fn over<M: Over<N>>(&self, fan: &Fan<N>, omega: M, q: M) -> (M, M) {
        let flow = self.flow * fan.size().powi(3);
        (omega / fan.rated_speed, q / flow)
    }
}

impl<N: Real> SquareLoad<N> {
    /// Torque of the load, N m, at speed `omega` (rad/s).
    pub fn torque<M: Over<N>>(&self, omega: M) -> M {
        omega * omega * self.factor
    }
}
