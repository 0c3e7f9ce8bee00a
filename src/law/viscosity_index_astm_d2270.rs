//! Viscosity index from the viscosities at 40 and 100 °C: ASTM D2270, ISO 2909.

use super::Bound;

/// Range in which the index is defined.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "ν100",
    low: 2e-6,
    high: 500e-6,
    unit: "m²/s",
}];

/// For each segment of Y = ν100: its lower limit, mm²/s, and the coefficients `[a, b, c]` of `L = a Y² + b Y + c` and
/// `[d, e, f]` of `H = d Y² + e Y + f`.
const QUADRATICS: [(f64, [f64; 3], [f64; 3]); 16] = [
    (2.0, [1.14673, 1.7576, -0.109], [0.84155, 1.5521, -0.077]),
    (3.8, [3.38095, -15.4952, 33.196], [0.78571, 1.7929, -0.183]),
    (4.4, [2.5, -7.2143, 13.812], [0.82143, 1.5679, 0.119]),
    (5.0, [0.101, 16.635, -45.469], [0.04985, 9.1613, -18.557]),
    (6.4, [3.35714, -23.5643, 78.466], [0.22619, 7.7369, -16.656]),
    (7.0, [0.01191, 21.475, -72.87], [0.79762, -0.7321, 14.61]),
    (7.7, [0.41858, 16.1558, -56.04], [0.05794, 10.5156, -28.24]),
    (9.0, [0.88779, 7.5527, -16.6], [0.26665, 6.7015, -10.81]),
    (12.0, [0.7672, 10.7972, -38.18], [0.20073, 8.4658, -22.49]),
    (15.0, [0.97305, 5.3135, -2.2], [0.28889, 5.9741, -4.93]),
    (18.0, [0.97256, 5.25, -0.98], [0.24504, 7.416, -16.73]),
    (22.0, [0.91413, 7.4759, -21.82], [0.20323, 9.1267, -34.23]),
    (28.0, [0.87031, 9.7157, -50.77], [0.18411, 10.1015, -46.75]),
    (
        40.0,
        [0.84703, 12.6752, -133.31],
        [0.17029, 11.4866, -80.62],
    ),
    (55.0, [0.85921, 11.1009, -83.19], [0.1713, 11.368, -76.94]),
    (
        70.0,
        [0.83531, 14.6731, -216.246],
        [0.16841, 11.8493, -96.947],
    ),
];

/// The viscosity index, not rounded; `None` if out of range.
///
/// **Equation.** With `Y = ν100`, `U = ν40`, and L and H the viscosities at 40 °C of the reference oils of index 0 and
/// 100 with the same `ν100`: `VI = 100 (L − U)/(L − H)` if `U > H`, else `VI = (10^N − 1)/0.00715 + 100` with
/// `N = (log10 H − log10 U)/log10 Y`. All viscosities are in mm²/s. L and H come from [`reference()`].
///
/// **Symbols.** `nu40`, `nu100` kinematic viscosity at 40 and 100 °C, m²/s.
///
/// **Range.** ν100 from 2 to 500 mm²/s, and `ν40 > ν100`.
///
/// **Source.** ASTM D2270-10(2016), Standard Practice for Calculating Viscosity Index from Kinematic Viscosity at 40 °C
/// and 100 °C. The standard rounds the index to a whole number.
///
/// Easily confused: older tables base the index on the viscosities at 100 and 210 °F.
///
/// ```
/// use oilwheel::law::viscosity_index_astm_d2270::viscosity_index;
/// // The two worked examples of the standard: 92 and 156.
/// assert_eq!(viscosity_index(73.30e-6, 8.86e-6).map(f64::round), Some(92.0));
/// assert_eq!(viscosity_index(22.83e-6, 5.05e-6).map(f64::round), Some(156.0));
/// ```
pub fn viscosity_index(nu40: f64, nu100: f64) -> Option<f64> {
    let (l, h) = reference(nu100)?;
    if nu40.is_nan() || nu40 <= nu100 {
        return None;
    }
    if nu40 > h {
        return Some(100.0 * (l - nu40) / (l - h));
    }
    let n = (h / nu40).log10() / (nu100 * 1e6).log10();
    Some((10.0_f64.powf(n) - 1.0) / 0.00715 + 100.0)
}

/// L and H, m²/s: viscosity at 40 °C of the reference oils of index 0 and 100 whose viscosity at 100 °C is `nu100`.
///
/// **Equation.** `L = a Y² + b Y + c`, `H = d Y² + e Y + f`; each segment of `Y = ν100` has its own coefficients. In
/// mm²/s.
///
/// **Symbols.** `nu100` kinematic viscosity at 100 °C, m²/s.
///
/// **Range.** As for [`viscosity_index`]. The segments fit the standard's table to 0.12 %, which changes an index by up
/// to 0.7; see `validation`.
///
/// **Source.** As for [`viscosity_index`]; the coefficients are quoted from memory and confirmed against the table.
///
/// ```
/// use oilwheel::law::viscosity_index_astm_d2270::reference;
/// // The standard's first example reads L = 119.94 and H = 69.48 from its table at 8.86 mm²/s.
/// let (l, h) = reference(8.86e-6).unwrap();
/// assert!((l * 1e6 - 119.94).abs() < 0.1 && (h * 1e6 - 69.48).abs() < 0.1);
/// ```
pub fn reference(nu100: f64) -> Option<(f64, f64)> {
    let y = nu100 * 1e6;
    let (least, most) = (RANGE[0].low, RANGE[0].high);
    // Tolerance of one part in 10¹², so that 2 mm²/s written as 2e-6 is accepted.
    if nu100.is_nan() || nu100 < least * (1.0 - 1e-12) || nu100 > most {
        return None;
    }
    let (_, l, h) = QUADRATICS
        .iter()
        .rfind(|q| q.0 <= y)
        .unwrap_or(&QUADRATICS[0]);
    let at = |k: &[f64; 3]| (k[0] * y * y + k[1] * y + k[2]) * 1e-6;
    Some((at(l), at(h)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_out_of_range() {
        for (u, y) in [
            (5e-6, 1.9e-6),
            (5e-6, 6e-6),
            (f64::NAN, 5e-6),
            (30e-6, f64::NAN),
            (9e-3, 600e-6),
        ] {
            assert_eq!(viscosity_index(u, y), None, "{u} {y}");
        }
    }

    #[test]
    fn the_reference_oils_have_0_and_100() {
        for y in [2e-6, 5.2e-6, 12e-6, 69e-6, 200e-6] {
            let (l, h) = reference(y).unwrap();
            assert!(viscosity_index(l, y).unwrap().abs() < 1e-9);
            assert!((viscosity_index(h, y).unwrap() - 100.0).abs() < 1e-9);
            // The two branches agree where they meet.
            assert!((viscosity_index(h * (1.0 + 1e-9), y).unwrap() - 100.0).abs() < 1e-5);
        }
    }

    #[test]
    fn a_thicker_oil_at_40_has_a_lower_index() {
        let at = |u: f64| viscosity_index(u * 1e-6, 7.4e-6).unwrap();
        assert!((20..120).all(|u| at(f64::from(u)) > at(f64::from(u) + 1.0)));
    }
}
