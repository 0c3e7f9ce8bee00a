//! Oil: the viscosity curve, and the properties at one temperature.

use crate::input::unit::{BAR, celsius};
use crate::law::{
    blend_viscosity_astm_d7152 as d7152, dynamic_viscosity_barus_1893 as barus,
    kinematic_viscosity_astm_d341 as d341, oil_density_linear as density,
};
use crate::numeric::{Over, Real};
use crate::trouble::Trouble;

crate::part! {
    /// Properties of an oil other than its viscosity curve.
    Oil {
        thickness: Number [0.01, 100.0] 1.0, Oil, "factor by which the oil's viscosity is multiplied; 1 for the data sheet value";
        density: Density [600.0, 1200.0] 855.0, Oil, "density at 15 °C";
        expansion: PerKelvin [2e-4, 15e-4] 7e-4, Oil, "thermal expansion";
        pressure_viscosity: PerPascal [0.0, 60e-9] 18e-9, Oil, "pressure-viscosity coefficient";
        shear_loss: Share [0.4, 1.0] 1.0, Oil, "fraction of the viscosity that remains in high-shear clearances; 1 for an oil without polymer additives";
        air: Share [0.0, 0.3] 0.0, Oil, "free air in the oil, as a fraction of the volume at the pump inlet";
        air_release: AbsolutePressure [0.02 * BAR, BAR] 0.2 * BAR, Oil, "absolute pressure below which dissolved air comes out of the oil and the pump no longer fills completely (engineering assumption)";
    }
}

/// Maximum number of points on a viscosity curve: enough for a blend of two oils with six points each.
pub const POINTS: usize = 12;

/// Allowed kinematic viscosity of a point of the curve, m²/s.
const VISCOSITIES: std::ops::Range<f64> = 0.2e-6..1.0;

/// Viscosity versus temperature: the ASTM D341 ordinate, interpolated linearly in ln T between neighbouring points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve {
    count: usize,
    /// For each point, the logarithm of the temperature (K) and the ASTM D341 ordinate.
    points: [(f64, f64); POINTS],
    /// Minimum and maximum temperature of the data, K.
    pub range: (f64, f64),
}

impl Curve {
    /// Builds a curve from two or more points of temperature (K) and kinematic viscosity (m²/s).
    pub fn new(points: &[(f64, f64)]) -> Result<Self, Trouble> {
        let mut sorted = points.to_vec();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        if sorted.len() < 2 || sorted.len() > POINTS {
            return Err(Trouble::input(
                match sorted.len() {
                    0 => "no viscosities".to_string(),
                    1 => "only one viscosity".to_string(),
                    n => format!("{n} viscosities"),
                },
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
                        "the viscosity of the oil does not fall with temperature: {:.4} mm²/s at {:.0} °C, {:.4} mm²/s at {:.0} °C",
                        thick * 1e6,
                        cold - 273.15,
                        thin * 1e6,
                        warm - 273.15
                    ),
                    "a viscosity that falls with temperature",
                )
                .hint("have two values been swapped?"));
            }
        }
        for (t, nu) in &sorted {
            if !(VISCOSITIES.contains(nu) && *t > celsius(-100.0) && *t < celsius(300.0)) {
                return Err(Trouble::input(
                    format!(
                        "{:.4} mm²/s at {:.0} °C is out of range",
                        nu * 1e6,
                        t - 273.15
                    ),
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

    /// Kinematic viscosity, m²/s, at temperature `t` (K). Outside the data, the first or last segment is extrapolated.
    pub fn viscosity<N: Real>(&self, t: N) -> N {
        let x = t.ln();
        let inner = self.points.get(1..self.count.max(2) - 1).unwrap_or(&[]);
        let at = inner.iter().filter(|p| x.re() > p.0).count();
        let ((x0, y0), (x1, y1)) = (self.points[at], self.points[at + 1]);
        d341::viscosity((x - x0) * ((y1 - y0) / (x1 - x0)) + y0)
    }

    /// The temperature, K, at which the oil has the kinematic viscosity `nu` (m²/s): the inverse of
    /// [`viscosity`](Self::viscosity).
    pub fn temperature(&self, nu: f64) -> f64 {
        let y = d341::ordinate(nu);
        let inner = self.points.get(1..self.count.max(2) - 1).unwrap_or(&[]);
        let at = inner.iter().filter(|p| y < p.1).count();
        let ((x0, y0), (x1, y1)) = (self.points[at], self.points[at + 1]);
        (x0 + (y - y0) * (x1 - x0) / (y1 - y0)).exp()
    }

    /// The viscosity curve of a blend of oils. Each oil is given by its volume fraction, its curve, and a viscosity
    /// factor.
    ///
    /// The curves and the blending rule of ASTM D7152 are both linear in the D341 ordinate. The blend gets a point at
    /// the temperature of every point of its oils, so its curve is exact between the points if the factors are 1. If
    /// there are more than [`POINTS`] points, some inner ones are dropped.
    pub fn blend(parts: &[(f64, &Curve, f64)]) -> Result<Self, Trouble> {
        let present = || parts.iter().filter(|(share, _, _)| *share > 0.0);
        let at = |t: f64| -> Vec<(f64, f64)> {
            let nu = |curve: &Curve, factor: f64| curve.viscosity(t) * factor;
            let all = present().map(|(share, curve, factor)| (*share, nu(curve, *factor)));
            all.collect()
        };
        let mut knots: Vec<f64> = present()
            .flat_map(|(_, curve, _)| curve.points().map(|p| p.0))
            .filter(|t| at(*t).iter().all(|(_, nu)| VISCOSITIES.contains(nu)))
            .collect();
        knots.sort_by(f64::total_cmp);
        knots.dedup_by(|warm, cold| *warm - *cold < 1.0);
        while knots.len() > POINTS {
            let gap = |k: usize| knots[k + 1] - knots[k - 1];
            let spare = (1..knots.len() - 1).min_by(|i, j| gap(*i).total_cmp(&gap(*j)));
            knots.remove(spare.unwrap_or(1));
        }
        if knots.len() < 2 {
            return Err(Trouble::no_answer(
                "the oils are too different to be blended: at the temperatures for which one has data, the viscosity of the other is out of range",
                "oils with viscosities of 0.2 to 1,000,000 mm²/s at the same temperatures",
            ));
        }
        let points: Vec<(f64, f64)> = knots.iter().map(|t| (*t, d7152::blend(&at(*t)))).collect();
        let mut blend = Self::new(&points)?;
        // The data range of the blend is the temperature range that the data of all its oils have in common.
        let cold = present()
            .map(|p| p.1.range.0)
            .fold(f64::NEG_INFINITY, f64::max);
        let warm = present().map(|p| p.1.range.1).fold(f64::INFINITY, f64::min);
        if cold < warm {
            blend.range = (cold, warm);
        }
        Ok(blend)
    }

    /// The points of the curve, as temperature (K) and kinematic viscosity (m²/s).
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.points[..self.count]
            .iter()
            .map(|(x, y)| (x.exp(), d341::viscosity(*y)))
    }
}

/// The properties of an oil at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OilNow<N> {
    /// Kinematic viscosity, m²/s.
    pub nu: N,
    /// Density, kg/m³.
    pub rho: N,
    /// Pressure-viscosity coefficient, 1/Pa.
    pub pressure_viscosity: N,
    /// Fraction of the viscosity that remains in high-shear clearances.
    pub shear_loss: N,
    /// Free air at the pump inlet, as a volume fraction.
    pub air: N,
    /// Pressure at which the oil releases its dissolved air, Pa absolute.
    pub air_release: N,
}

impl<N: Real> Oil<N> {
    /// The properties of the oil at temperature `t` (K), with its viscosity from `curve`.
    pub fn now(&self, curve: &Curve, t: N) -> OilNow<N> {
        OilNow {
            nu: curve.viscosity(t) * self.thickness,
            rho: density::density(self.density, self.expansion, t),
            pressure_viscosity: self.pressure_viscosity,
            shear_loss: self.shear_loss,
            air: self.air,
            air_release: self.air_release,
        }
    }
}

impl<N: Real> OilNow<N> {
    /// Kinematic viscosity under pressure `p` (Pa), m²/s.
    pub fn nu_at<M: Over<N>>(&self, p: M) -> M {
        barus::dynamic_viscosity(self.nu, self.pressure_viscosity, p)
    }

    /// Dynamic viscosity, Pa s, in a high-shear clearance under pressure `p` (Pa), for the oil density `rho` (kg/m³).
    pub fn clearance<M: Over<N>>(&self, rho: N, p: M) -> M {
        self.nu_at(p) * (rho * self.shear_loss)
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
    fn the_temperature_of_a_viscosity_is_the_inverse() {
        let c = curve(&[(-20.0, 250.0), (40.0, 18.5), (100.0, 6.1)]);
        for t in -60..200 {
            let t = celsius(f64::from(t));
            assert!((c.temperature(c.viscosity(t)) - t).abs() < 1e-6, "at {t} K");
        }
    }

    /// Compares the rule of ASTM D7152 at every temperature with the curve through a few points.
    #[test]
    fn a_blend_is_the_blend_at_every_temperature() {
        let a = curve(&[(-20.0, 250.0), (40.0, 18.5), (100.0, 6.1)]);
        let b = curve(&[(-40.0, 17000.0), (40.0, 35.0), (100.0, 7.4)]);
        let half = Curve::blend(&[(0.7, &a, 1.0), (0.3, &b, 1.1)]).unwrap();
        for t in -55..140 {
            let t = celsius(f64::from(t));
            let rule = d7152::blend(&[(0.7, a.viscosity(t)), (0.3, 1.1 * b.viscosity(t))]);
            let off = half.viscosity(t) / rule - 1.0;
            // The blend is not exact here, because multiplying a viscosity by 1.1 does not act linearly on the
            // ordinate.
            assert!(off.abs() < 0.01, "at {t} K: {off}");
        }
        assert_eq!(half.range, (celsius(-20.0), celsius(100.0)));
    }

    /// At temperatures where the second oil has points, the viscosity of the first one overflows. The blend uses the
    /// range that both oils cover; if there is none, an error is reported.
    #[test]
    fn oils_that_are_very_unlike_are_blended_as_far_as_they_go() {
        let steep = curve(&[(40.0, 900_000.0), (100.0, 7.0)]);
        let cold = curve(&[(-20.0, 250.0), (40.0, 18.5), (100.0, 6.1)]);
        let half = Curve::blend(&[(0.5, &steep, 1.0), (0.5, &cold, 1.0)]).unwrap();
        let rule = d7152::blend(&[(0.5, 7e-6), (0.5, 6.1e-6)]);
        assert!((half.viscosity(celsius(100.0)) / rule - 1.0).abs() < 1e-9);
        let deep = curve(&[(-60.0, 900.0), (-40.0, 1.0)]);
        assert!(Curve::blend(&[(0.5, &steep, 1.0), (0.5, &deep, 1.0)]).is_err());
        let none = Curve::blend(&[(1.0, &cold, 1.0), (0.0, &steep, 1.0)]).unwrap();
        assert!((none.viscosity(celsius(-20.0)) / 250e-6 - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_blend_of_many_points_is_exact_as_long_as_they_fit() {
        let a = curve(&[
            (-40.0, 2000.0),
            (-10.0, 130.0),
            (10.0, 53.0),
            (30.0, 26.0),
            (60.0, 12.0),
            (110.0, 5.3),
        ]);
        let b = curve(&[
            (-35.0, 9000.0),
            (-15.0, 900.0),
            (5.0, 180.0),
            (25.0, 65.0),
            (55.0, 22.0),
            (95.0, 8.0),
        ]);
        let half = Curve::blend(&[(0.5, &a, 1.0), (0.5, &b, 1.0)]).unwrap();
        for t in -60..150 {
            let t = celsius(f64::from(t));
            let rule = d7152::blend(&[(0.5, a.viscosity(t)), (0.5, b.viscosity(t))]);
            assert!((half.viscosity(t) / rule - 1.0).abs() < 1e-9, "at {t} K");
        }
        // If there are too many points, the end points are kept.
        let more: Vec<(f64, f64)> = (0..12)
            .map(|k| 7.0 * f64::from(k) - 21.0)
            .map(|t| (t, a.viscosity(celsius(t)) * 1e6))
            .collect();
        let many = Curve::blend(&[(0.5, &curve(&more), 1.0), (0.5, &b, 1.0)]).unwrap();
        let ends: Vec<f64> = many.points().map(|p| p.0 - 273.15).collect();
        assert!((ends[0] + 35.0).abs() < 1e-9 && (ends[ends.len() - 1] - 95.0).abs() < 1e-9);
    }

    #[test]
    fn refuses_an_oil_that_thickens_as_it_warms() {
        assert!(Curve::new(&[(celsius(40.0), 7e-6), (celsius(100.0), 35e-6)]).is_err());
        assert!(Curve::new(&[(celsius(40.0), 7e-6)]).is_err());
        assert!(Curve::new(&[(celsius(40.0), 7e-6), (celsius(40.2), 6e-6)]).is_err());
    }
}
