//! The fan as a load on the motor.

use crate::input::unit::{MM, RPM};
use crate::law::fan_affinity_iso_5801 as affinity;
use crate::numeric::Real;

crate::part! {
    /// The fan, by one rating point.
    Fan {
        diameter: Length [100.0 * MM, 2000.0 * MM] f64::NAN, FanAir, "diameter over the blade tips";
        rated_speed: Speed [100.0 * RPM, 10000.0 * RPM] f64::NAN, FanAir, "speed of the rating point";
        rated_power: Power [10.0, 100e3] f64::NAN, FanAir, "shaft power at the rating point, in its core and shroud";
        rated_density: Density [0.7, 1.5] 1.2, FanAir, "air density of the rating point";
    }
}

/// What the fan asks of the motor: torque at speed.
pub trait Load<N> {
    /// Torque, N m, at `omega` (rad/s). Must not fall with speed.
    fn torque(&self, omega: N) -> N;
}

/// A load that goes with the square of speed: the fan in one fixed air path.
#[derive(Clone, Copy, Debug)]
pub struct SquareLoad<N> {
    /// Torque over speed squared, N m s².
    pub factor: N,
}

impl<N: Real> Fan<N> {
    /// The load in air of density `rho` (kg/m³), by the affinity laws from the rating point.
    pub fn load(&self, rho: N) -> SquareLoad<N> {
        let one = N::from(1.0);
        let torque = affinity::torque(
            self.rated_power / self.rated_speed,
            one,
            one,
            rho / self.rated_density,
        );
        SquareLoad {
            factor: torque / (self.rated_speed * self.rated_speed),
        }
    }
}

impl<N: Real> Load<N> for SquareLoad<N> {
    fn torque(&self, omega: N) -> N {
        self.factor * omega * omega
    }
}
