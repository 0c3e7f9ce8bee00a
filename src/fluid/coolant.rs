//! Coolant: ethylene glycol and water.

use crate::fluid::air;
use crate::law::{
    boiling_raoult as raoult, coolant_properties_ashrae_2001 as glycol_water,
    steam_saturation_iapws_1997 as steam,
};
use crate::numeric::Real;
use std::sync::LazyLock;

/// Volumetric heat capacity, J/(m³ K), of coolant with the volume fraction `share` of glycol at temperature `t` (K).
pub fn capacity<N: Real>(share: N, t: N) -> N {
    glycol_water::density(share, t) * glycol_water::heat_capacity(share, t)
}

/// Thermal conductance of the coolant film in turbulent flow, relative to its value for 50 % glycol at 90 °C, for which
/// the core ratings are assumed to be given *(engineering assumption)*. The conductance is proportional to
/// `ρ^0.8 c^0.4 k^0.6 μ^−0.4` (Dittus and Boelter 1930).
pub fn film<N: Real>(share: N, t: N) -> N {
    static RATED: LazyLock<f64> = LazyLock::new(|| film_exponent(0.5, 363.15));
    (film_exponent(share, t) - *RATED).exp()
}

/// The natural logarithm of `ρ^0.8 c^0.4 k^0.6 μ^−0.4`, the coolant properties that determine the film conductance.
fn film_exponent<N: Real>(share: N, t: N) -> N {
    let viscosity = glycol_water::viscosity(share, t);
    (glycol_water::density(share, t) / viscosity).ln() * 0.8
        + (glycol_water::heat_capacity(share, t) * viscosity).ln() * 0.4
        + glycol_water::conductivity(share, t).ln() * 0.6
}

/// Freezing point (first crystals), K.
pub fn freezing<N: Real>(share: N) -> N {
    glycol_water::freezing(share)
}

/// Range of the published boiling points of coolants: their minimum and maximum rise above that of water, as a fraction
/// of the rise that Raoult's law predicts. Published values for 50 % glycol under a cap of 1.03 bar are 125 to 131 °C;
/// the law gives 129.6 °C *(common practice, no source)*.
const BAND: [f64; 2] = [0.45, 1.15];

/// Lower and upper estimate of the boiling point, K, under a pressure cap (Pa gauge) at an altitude (m).
pub fn boiling<N: Real>(share: N, cap: N, altitude: N) -> [N; 2] {
    let p = air::pressure(altitude) + cap;
    let water = steam::temperature(p);
    let more = raoult::temperature(p, share) - water;
    BAND.map(|part| water + more * part)
}
