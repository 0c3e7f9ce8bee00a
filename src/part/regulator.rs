//! The flow regulator in the pump: a spring keeps the pressure drop across an orifice constant, and with it the flow.
//! At high viscosity the regulated flow also depends on the viscosity.

use crate::input::unit::{BAR, L_MIN, MM2_S};
use crate::law::{
    discharge_coefficient_mccloy_1980 as discharge, orifice_flow_merritt_1967 as orifice,
};
use crate::numeric::{Dual64, Real, falling_root, settle};

crate::part! {
    /// A flow regulator, which limits the flow delivered by the pump.
    Regulator {
        rated_flow: Flow [0.5 * L_MIN, 1000.0 * L_MIN] f64::NAN, Regulator, "regulated flow at the rated viscosity";
        rated_viscosity: KinematicViscosity [MM2_S, 1000.0 * MM2_S] 10.0 * MM2_S, Regulator, "rated viscosity: oil viscosity at which the flow is rated";
        rated_density: Density [600.0, 1200.0] 830.0, Regulator, "rated oil density: oil density at which the flow is rated";
        spring_drop: Pressure [0.2 * BAR, 30.0 * BAR] 4.0 * BAR, Regulator, "pressure drop across the orifice, set by the spring";
        discharge: Number [0.3, 1.0] 0.65, Regulator, "discharge coefficient in turbulent flow";
        critical: Number [5.0, 5000.0] 60.0, Regulator, "critical flow number of the transition from laminar to turbulent flow; 15 to 60 for a sharp edge, 1000 or more for a long drilled passage";
    }
}

impl<N: Real> Regulator<N> {
    /// Flow, m³/s, through an orifice of diameter `d` (m) at the pressure drop set by the spring; viscosity `nu`
    /// (m²/s), density `rho` (kg/m³).
    fn passes(&self, d: N, nu: N, rho: N) -> N {
        let speed = (self.spring_drop * 2.0 / rho).sqrt();
        let coefficient = discharge::coefficient(self.discharge, d * speed / nu, self.critical);
        orifice::flow(
            coefficient,
            d * d * std::f64::consts::FRAC_PI_4,
            self.spring_drop,
            rho,
        )
    }

    /// Orifice diameter, m, that gives the rated flow at the rated viscosity and density.
    fn diameter(&self) -> N {
        // The diameter for fully turbulent flow is a lower bound of the solution; above it the flow grows faster than
        // d².
        let speed = (self.spring_drop * 2.0 / self.rated_density).sqrt();
        let least =
            (self.rated_flow / (self.discharge * speed * std::f64::consts::FRAC_PI_4)).sqrt();
        let missing =
            |d: N| self.rated_flow - self.passes(d, self.rated_viscosity, self.rated_density);
        let (flow, start) = (self.rated_flow.re(), least.re());
        if missing(least).re() <= 1e-14 * flow {
            return least;
        }
        let rated = self.map(&mut |_, v| Dual64::from(v.re()));
        let plain = |d: Dual64| {
            rated.rated_flow - rated.passes(d, rated.rated_viscosity, rated.rated_density)
        };
        match falling_root(plain, start, 1e3 * start, start, flow) {
            Ok(root) => settle(root.x, root.slope, missing(N::from(root.x))),
            Err(_) => least,
        }
    }

    /// Regulated flow, m³/s, at viscosity `nu` (m²/s) and density `rho` (kg/m³).
    pub fn flow(&self, nu: N, rho: N) -> N {
        self.passes(self.diameter(), nu, rho)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: Regulator = Regulator {
        rated_flow: 20.0 * L_MIN,
        rated_viscosity: 10.0 * MM2_S,
        rated_density: 830.0,
        spring_drop: 4.0 * BAR,
        discharge: 0.65,
        critical: 60.0,
    };

    #[test]
    fn holds_the_rated_flow_on_the_rated_oil() {
        for critical in [15.0, 60.0, 1000.0, 5000.0] {
            let r = Regulator { critical, ..ONE };
            let q = r.flow(10.0 * MM2_S, 830.0);
            assert!((q / (20.0 * L_MIN) - 1.0).abs() < 1e-10, "{critical}: {q}");
        }
    }

    #[test]
    fn passes_less_of_a_thick_oil_and_most_so_through_a_long_drilling() {
        let thick = 500.0 * MM2_S;
        let sharp = ONE.flow(thick, 830.0);
        let long = Regulator {
            critical: 1000.0,
            ..ONE
        }
        .flow(thick, 830.0);
        assert!(long < sharp && sharp < 20.0 * L_MIN);
    }
}
