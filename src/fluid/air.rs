//! Air: pressure, density and heat capacity.

use crate::law::{air_density_ideal_gas, air_heat_capacity_wark_1983, atmosphere_isa_1975};
use crate::numeric::Real;

/// Pressure of the air, Pa, at `altitude` (m) in the standard atmosphere.
pub fn pressure<N: Real>(altitude: N) -> N {
    atmosphere_isa_1975::pressure(altitude)
}

/// Density of air, kg/m³, at `altitude` (m) and temperature `t` (K).
pub fn density<N: Real>(altitude: N, t: N) -> N {
    air_density_ideal_gas::density(pressure(altitude), t)
}

/// Specific heat capacity of air, J/(kg K), at temperature `t` (K).
pub fn heat_capacity<N: Real>(t: N) -> N {
    air_heat_capacity_wark_1983::heat_capacity(t)
}
