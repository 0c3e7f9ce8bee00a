//! The oil: its viscosity curve, and its properties at one temperature.

use crate::input::unit::celsius;
use crate::law::{
    dynamic_viscosity_barus_1893 as barus, kinematic_viscosity_astm_d341 as d341,
    oil_density_linear as density,
};
use crate::numeric::Real;
use crate::trouble::Trouble;

crate::part! {
    /// What is known of an oil beside its viscosity curve.
    Oil {
        thickness: Number [0.01, 100.0] 1.0, Oil, "factor on its viscosity; 1 as its data sheet says";
        density: Density [600.0, 1200.0] 855.0, Oil, "density at 15 °C";
        expansion: PerKelvin [2e-4, 15e-4] 7e-4, Oil, "thermal expansion";
        pressure_viscosity: PerPascal [0.0, 60e-9] 18e-9, Oil, "pressure-viscosity coefficient";
        shear_loss: Share [0.4, 1.0] 1.0, Oil, "share of its viscosity left in fast clearances; 1 for an oil without polymer";
        air: Share [0.0, 0.3] 0.0, Oil, "free air, as a share of the volume drawn in";
    }
}

/// Most points that a viscosity curve holds.
pub const POINTS: usize = 6;

/// Viscosity against temperature: straight in the ASTM D341 ordinate between neighbouring points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve {
    count: usize,
    /// ln of temperature and ordinate of each point.
    points: [(f64, f64); POINTS],
    /// Coldest and warmest temperature of the data, K.
    pub range: (f64, f64),
}

impl Curve {
    /// From two or more points of temperature (K) and kinematic viscosity (m²/s).
    pub fn new(points: &[(f64, f64)]) -> Result<Self, Trouble> {
        let mut sorted = points.to_vec();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        if sorted.len() < 2 || sorted.len() > POINTS {
            return Err(Trouble::input(
                format!("{} viscosity point(s)", sorted.len()),
                format!("two to {POINTS} viscosities at different temperatures"),
            )
            .hint("a data sheet gives them at 40 °C and 100 °C"));
        }
        for pair in sorted.windows(2) {
            let [(cold, thick), (warm, thin)] = [pair[0], pair[1]];
            if warm - cold < 1.0 {
                return Err(Trouble::input(
                    format!("two viscosities at about {:.0} °C", cold - 273.15),
                    "viscosities at temperatures at least 1 K apart",
                ));
            }
            if thin >= thick {
                return Err(Trouble::input(
                    format!(
                        "an oil that does not thin as it warms: {:.4} mm²/s at {:.0} °C, {:.4} mm²/s at {:.0} °C",
                        thick * 1e6,
                        cold - 273.15,
                        thin * 1e6,
                        warm - 273.15
                    ),
                    "a viscosity that falls with temperature",
                )
                .hint("are two values exchanged?"));
            }
        }
        for (t, nu) in &sorted {
            if !(*nu > 0.2e-6 && *nu < 1.0 && *t > celsius(-100.0) && *t < celsius(300.0)) {
                return Err(Trouble::input(
                    format!("{:.4} mm²/s at {:.0} °C", nu * 1e6, t - 273.15),
                    "0.2 to 1,000,000 mm²/s between −100 and 300 °C",
                ));
            }
        }
        let mut table = [(0.0, 0.0); POINTS];
        for (slot, (t, nu)) in table.iter_mut().zip(&sorted) {
            *slot = (t.ln(), d341::ordinate(*nu));
        }
        let range = (sorted[0].0, sorted[sorted.len() - 1].0);
        Ok(Self {
            count: sorted.len(),
            points: table,
            range,
        })
    }

    /// Kinematic viscosity, m²/s, at temperature `t` (K). Beyond the data, the end piece goes on.
    pub fn viscosity<N: Real>(&self, t: N) -> N {
        let x = t.ln();
        let inner = self.points.get(1..self.count.max(2) - 1).unwrap_or(&[]);
        let at = inner.iter().filter(|p| x.re() > p.0).count();
        let ((x0, y0), (x1, y1)) = (self.points[at], self.points[at + 1]);
        d341::viscosity((x - x0) * ((y1 - y0) / (x1 - x0)) + y0)
    }

    /// The points, as temperature (K) and kinematic viscosity (m²/s).
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.points[..self.count]
            .iter()
            .map(|(x, y)| (x.exp(), d341::viscosity(*y)))
    }
}

/// An oil at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OilNow<N> {
    /// Kinematic viscosity, m²/s.
    pub nu: N,
    /// Density, kg/m³.
    pub rho: N,
    /// Pressure-viscosity coefficient, 1/Pa.
    pub pressure_viscosity: N,
    /// Share of the viscosity left in fast clearances.
    pub shear_loss: N,
    /// Free air as a share of the volume drawn in.
    pub air: N,
}

impl<N: Real> Oil<N> {
    /// The oil at temperature `t` (K).
    pub fn now(&self, curve: &Curve, t: N) -> OilNow<N> {
        OilNow {
            nu: curve.viscosity(t) * self.thickness,
            rho: density::density(self.density, self.expansion, t),
            pressure_viscosity: self.pressure_viscosity,
            shear_loss: self.shear_loss,
            air: self.air,
        }
    }
}

impl<N: Real> OilNow<N> {
    /// Kinematic viscosity under pressure `p` (Pa), m²/s.
    pub fn nu_at(&self, p: N) -> N {
        barus::dynamic_viscosity(self.nu, self.pressure_viscosity, p)
    }

    /// Dynamic viscosity in a clearance, Pa s, under pressure `p` (Pa), with density `rho`.
    pub fn clearance(&self, rho: N, p: N) -> N {
        self.nu_at(p) * rho * self.shear_loss
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(points: &[(f64, f64)]) -> Curve {
        let si: Vec<_> = points
            .iter()
            .map(|(t, nu)| (celsius(*t), nu * 1e-6))
            .collect();
        Curve::new(&si).unwrap()
    }

    #[test]
    fn passes_through_its_points_and_falls_between() {
        let points = [(-20.0, 250.0), (40.0, 18.5), (100.0, 6.1)];
        let c = curve(&points);
        for (t, nu) in points {
            assert!((c.viscosity(celsius(t)) * 1e6 / nu - 1.0).abs() < 1e-9);
        }
        let mut before = f64::INFINITY;
        for t in -60..200 {
            let nu = c.viscosity(celsius(f64::from(t)));
            assert!(nu < before, "at {t} °C");
            before = nu;
        }
    }

    #[test]
    fn refuses_an_oil_that_thickens_as_it_warms() {
        assert!(Curve::new(&[(celsius(40.0), 7e-6), (celsius(100.0), 35e-6)]).is_err());
        assert!(Curve::new(&[(celsius(40.0), 7e-6)]).is_err());
        assert!(Curve::new(&[(celsius(40.0), 7e-6), (celsius(40.2), 6e-6)]).is_err());
    }
}
