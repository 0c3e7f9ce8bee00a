//! Published equations, one a file, each with its symbols, range and source.
//!
//! Plain SI, for any [`Real`](crate::numeric::Real). What a part does with them stands in the parts.

/// Validity of one symbol of an equation, as data.
#[derive(Clone, Copy, Debug)]
pub struct Bound {
    /// The symbol as the equation writes it.
    pub symbol: &'static str,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// Unit.
    pub unit: &'static str,
}

pub mod air_density_ideal_gas;
pub mod atmosphere_isa_1975;
pub mod blend_viscosity_astm_d7152;
pub mod blend_viscosity_refutas;
pub mod boiling_raoult;
pub mod coolant_properties_ashrae_2001;
pub mod diagnostic_scaling_sae_j1979;
pub mod dilution_well_mixed;
pub mod discharge_coefficient_mccloy_1980;
pub mod dynamic_viscosity_barus_1893;
pub mod effectiveness_kays_london;
pub mod efficiency_iso_4391;
pub mod fan_affinity_iso_5801;
pub mod free_air_polytropic;
pub mod friction_factor_churchill_1977;
pub mod fuel_heat_stoichiometric;
pub mod kinematic_viscosity_astm_d341;
pub mod leakage_schlosser_1961;
pub mod leakage_wilson_1950;
pub mod oil_density_astm_d1250_54d;
pub mod oil_density_linear;
pub mod orifice_flow_merritt_1967;
pub mod steam_saturation_iapws_1997;
pub mod torque_loss_wilson_1950;
pub mod viscosity_index_astm_d2270;

#[cfg(test)]
mod check {
    //! What every law's tests need.

    use crate::numeric::Dual64;

    /// Asserts that the exact derivative agrees with a difference of values to one part in 10⁵.
    pub fn derivative(f: impl Fn(Dual64) -> Dual64, x: f64) {
        let step = 1e-5 * x.abs();
        let difference =
            (f(Dual64::from(x + step)).re - f(Dual64::from(x - step)).re) / (2.0 * step);
        let exact = f(Dual64::new(x, 1.0)).eps;
        assert!(
            (exact - difference).abs() <= 1e-5 * exact.abs() + 1e-300,
            "at {x}: {exact} for {difference}"
        );
    }
}
