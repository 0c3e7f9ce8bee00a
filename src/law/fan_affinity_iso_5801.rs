//! A fan's flow, pressure, power and torque versus speed, size and air density: the fan laws, ISO 5801.
//!
//! Every ratio is the new value over the old one. The laws relate operating points with the same flow coefficient, such
//! as those of one fan at different speeds in a system whose pressure drop rises with the square of the flow.

use super::Bound;
use crate::numeric::Real;

/// Range in which the laws are accurate to about 1 %.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "n/n0",
        low: 0.1,
        high: 3.0,
        unit: "1",
    },
    Bound {
        symbol: "D/D0",
        low: 0.5,
        high: 2.0,
        unit: "1",
    },
    Bound {
        symbol: "ρ/ρ0",
        low: 0.5,
        high: 1.5,
        unit: "1",
    },
];

/// Volume flow at another speed and size; independent of density.
///
/// **Equation.** `Q = Q0 (n/n0) (D/D0)³`.
///
/// **Symbols.** `flow` Q0, m³/s; `speed_ratio` n/n0; `diameter_ratio` D/D0.
///
/// **Range.** Operating points with the same flow coefficient, `Q/(n D³)`.
///
/// **Source.** ISO 5801, Fans, performance testing using standardized airways, conversion rules; AMCA 201.
///
/// Easily confused: the law is for the volume flow, not the mass flow.
///
/// ```
/// use oilwheel::law::fan_affinity_iso_5801::flow;
/// // By hand: twice the speed, half the size.
/// assert!((flow(8.0_f64, 2.0, 0.5) - 2.0).abs() < 1e-12);
/// ```
pub fn flow<N: Real>(flow: N, speed_ratio: N, diameter_ratio: N) -> N {
    flow * speed_ratio * diameter_ratio.powi(3)
}

/// Pressure at another speed, size and density.
///
/// **Equation.** `p = p0 (ρ/ρ0) (n/n0)² (D/D0)²`.
///
/// **Symbols.** `pressure` p0, Pa; `speed_ratio` n/n0; `diameter_ratio` D/D0; `density_ratio` ρ/ρ0.
///
/// **Range, source.** As for [`flow`]. Easily confused: the density is that of the air at the fan, not of the outdoor
/// air.
///
/// ```
/// use oilwheel::law::fan_affinity_iso_5801::pressure;
/// // By hand: 100 · 0.9 · 2² · 0.5².
/// assert!((pressure(100.0_f64, 2.0, 0.5, 0.9) - 90.0).abs() < 1e-12);
/// ```
pub fn pressure<N: Real>(pressure: N, speed_ratio: N, diameter_ratio: N, density_ratio: N) -> N {
    pressure * density_ratio * (speed_ratio * diameter_ratio).powi(2)
}

/// Shaft power at another speed, size and density.
///
/// **Equation.** `P = P0 (ρ/ρ0) (n/n0)³ (D/D0)⁵`.
///
/// **Symbols.** `power` P0, W; `speed_ratio` n/n0; `diameter_ratio` D/D0; `density_ratio` ρ/ρ0.
///
/// **Range, source.** As for [`flow`]. Easily confused: power is proportional to the cube of speed, torque to the
/// square.
///
/// ```
/// use oilwheel::law::fan_affinity_iso_5801::power;
/// // By hand: 1000 · 0.9 · 2³ · 0.5⁵.
/// assert!((power(1000.0_f64, 2.0, 0.5, 0.9) - 225.0).abs() < 1e-12);
/// ```
pub fn power<N: Real>(power: N, speed_ratio: N, diameter_ratio: N, density_ratio: N) -> N {
    power * density_ratio * speed_ratio.powi(3) * diameter_ratio.powi(5)
}

/// Shaft torque at another speed, size and density.
///
/// **Equation.** `T = T0 (ρ/ρ0) (n/n0)² (D/D0)⁵`.
///
/// **Symbols.** `torque` T0, N·m; `speed_ratio` n/n0; `diameter_ratio` D/D0; `density_ratio` ρ/ρ0.
///
/// **Range, source.** As for [`flow`]; torque is power over speed. Easily confused: torque is proportional to the
/// square of speed, power to the cube.
///
/// ```
/// use oilwheel::law::fan_affinity_iso_5801::torque;
/// // By hand: 10 · 0.9 · 2² · 0.5⁵.
/// assert!((torque(10.0_f64, 2.0, 0.5, 0.9) - 1.125).abs() < 1e-12);
/// ```
pub fn torque<N: Real>(torque: N, speed_ratio: N, diameter_ratio: N, density_ratio: N) -> N {
    torque * density_ratio * speed_ratio.powi(2) * diameter_ratio.powi(5)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn power_is_torque_times_speed_and_air_power_scales_alike() {
        let (n, d, rho) = (1.3_f64, 0.8, 0.9);
        assert!((power(1.0, n, d, rho) - torque(1.0, n, d, rho) * n).abs() < 1e-12);
        assert!((power(1.0, n, d, rho) - flow(1.0, n, d) * pressure(1.0, n, d, rho)).abs() < 1e-12);
    }

    #[test]
    fn derivatives() {
        check::derivative(|n| torque(10.0.into(), n, 1.0.into(), 0.9.into()), 0.7);
        check::derivative(|n| power(10.0.into(), n, 1.0.into(), 0.9.into()), 0.7);
    }
}
