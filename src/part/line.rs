//! Pressure drop of hoses, pipes, screens, filters and the oil cooler.

use crate::input::unit::{BAR, MM};
use crate::law::friction_factor_churchill_1977 as friction;
use crate::numeric::{Over, Real, lesser};

crate::part! {
    /// A hose or pipe with its fittings.
    Line {
        length: HoseLength [0.0, 60.0] f64::NAN, Lines, "length";
        bore: Length [2.0 * MM, 120.0 * MM] f64::NAN, Lines, "inside diameter";
        roughness: Length [0.0, 0.5 * MM] 0.002 * MM, Lines, "wall roughness";
        fittings: Number [0.0, 500.0] 3.0, Lines, "sum of the loss coefficients of bends and fittings";
    }
}

crate::part! {
    /// A screen or a filter element with a bypass.
    Element {
        resistance: LaminarResistance [0.0, 1e15] f64::NAN, Lines, "pressure drop divided by dynamic viscosity and by flow";
        bypass: Pressure [0.01 * BAR, 50.0 * BAR] f64::NAN, Lines, "pressure drop at which the bypass opens; enter a high value if there is no bypass";
    }
}

crate::part! {
    /// The oil side of the oil cooler: parallel tubes, with a cold-oil bypass.
    Cooler {
        length: HoseLength [0.05, 60.0] f64::NAN, Lines, "length of each tube";
        bore: Length [MM, 50.0 * MM] f64::NAN, Lines, "inside diameter of each tube";
        tubes: Number [1.0, 200.0] 1.0, Lines, "number of parallel tubes";
        roughness: Length [0.0, 0.5 * MM] 0.002 * MM, Lines, "wall roughness of the tubes";
        fittings: Number [0.0, 500.0] 4.0, Lines, "sum of the loss coefficients of headers and bends";
        bypass: Pressure [0.05 * BAR, 50.0 * BAR] 3.0 * BAR, Lines, "pressure drop at which the bypass opens";
    }
}

/// Reynolds number of a flow `q` (m³/s) in a bore `d` (m) at viscosity `nu` (m²/s).
pub fn reynolds<C: Real, N: Over<C>>(q: N, d: C, nu: C) -> N {
    q.abs() * (4.0 / std::f64::consts::PI) / (d * nu)
}

/// Pressure drop, Pa, of a round passage at flow `q` (m³/s), viscosity `nu` (m²/s) and density `rho` (kg/m³).
fn passage<C: Real, N: Over<C>>(
    length: C,
    bore: C,
    roughness: C,
    fittings: C,
    q: N,
    nu: N,
    rho: C,
) -> N {
    if q.re().abs() < 1e-15 {
        // At zero flow the friction factor is not defined; Poiseuille's law gives the pressure drop and its slope.
        return q * nu * (rho * length * (128.0 / std::f64::consts::PI) / bore.powi(4));
    }
    // The reciprocal is computed once, because a division costs as much time as the rest of this function.
    let inverse = bore.recip();
    let through = q * (inverse * (4.0 / std::f64::consts::PI));
    let speed = through * inverse;
    let factor = friction::darcy_of_inverse(nu / through.abs(), roughness * inverse);
    (factor * (length * inverse) + fittings) * speed * speed.abs() * (rho * 0.5)
}

impl<N: Real> Line<N> {
    /// Pressure drop, Pa, at flow `q` (m³/s), viscosity `nu` (m²/s) and density `rho` (kg/m³).
    pub fn drop<M: Over<N>>(&self, q: M, nu: M, rho: N) -> M {
        passage(
            self.length,
            self.bore,
            self.roughness,
            self.fittings,
            q,
            nu,
            rho,
        )
    }
}

impl<N: Real> Element<N> {
    /// Pressure drop, Pa, at flow `q` (m³/s) and dynamic viscosity `mu` (Pa s).
    pub fn drop<M: Over<N>>(&self, q: M, mu: N) -> M {
        lesser(q * (self.resistance * mu), M::still(self.bypass))
    }
}

impl<N: Real> Cooler<N> {
    /// Pressure drop, Pa, at flow `q` (m³/s), viscosity `nu` (m²/s) and density `rho` (kg/m³).
    pub fn drop<M: Over<N>>(&self, q: M, nu: M, rho: N) -> M {
        let each = passage(
            self.length,
            self.bore,
            self.roughness,
            self.fittings,
            q / self.tubes,
            nu,
            rho,
        );
        lesser(each, M::still(self.bypass))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn laminar_flow_obeys_poiseuille() {
        // 128 μ L Q / (π d⁴) with μ = 0.0425 Pa s, L = 2 m, Q = 1e-4 m³/s, d = 10 mm: calculated by hand, 34 632 Pa.
        let line: Line = Line {
            length: 2.0,
            bore: 0.01,
            roughness: 0.0,
            fittings: 0.0,
        };
        let drop = line.drop(1e-4, 50e-6, 850.0);
        assert!((drop / 34632.3 - 1.0).abs() < 1e-4, "{drop}");
    }

    #[test]
    fn the_drop_never_falls_with_flow() {
        let line: Line = Line {
            length: 2.0,
            bore: 0.01,
            roughness: 1e-5,
            fittings: 3.0,
        };
        let mut before = 0.0;
        for k in 0..4000 {
            let drop = line.drop(f64::from(k) * 1e-6, 10e-6, 850.0);
            assert!(drop >= before, "at step {k}: {drop} after {before}");
            before = drop;
        }
    }

    #[test]
    fn a_bypass_caps_the_drop() {
        let screen: Element = Element {
            resistance: 1e12,
            bypass: 2e4,
        };
        assert!((screen.drop(1e-4, 1e-4) - 1e4).abs() < 1e-9);
        assert!((screen.drop(1e-3, 1.0) - 2e4).abs() < 1e-9);
    }
}
