//! Air pressure versus altitude: the standard atmosphere, ISO 2533:1975.

use super::Bound;
use crate::numeric::Real;

/// Valid range of the formula.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "z",
    low: -500.0,
    high: 11_000.0,
    unit: "m",
}];

/// Air pressure at an altitude.
///
/// **Equation.** `p = 101325 (1 − 0.0065 h/288.15)^5.255880`, `h = r z/(r + z)`, r = 6 356 766 m.
///
/// **Symbols.** `altitude` z, height above sea level as given on a map, m; h geopotential altitude, m; r radius of the
/// earth, m. Returns the absolute pressure, Pa.
///
/// **Range.** −500 to 11 000 m. Weather changes the pressure by ±3 %.
///
/// **Source.** ISO 2533:1975, Standard Atmosphere; identical to the U.S. Standard Atmosphere 1976 in this range.
///
/// Easily confused: the pressure formula uses the geopotential altitude h; the function first converts the altitude on
/// a map to h.
///
/// ```
/// use oilwheel::law::atmosphere_isa_1975::pressure;
/// // U.S. Standard Atmosphere 1976, table: 89 876 Pa at 1000 m.
/// assert!((pressure(1000.0_f64) - 89_876.0).abs() < 1.0);
/// ```
pub fn pressure<N: Real>(altitude: N) -> N {
    let h = altitude * 6_356_766.0 / (altitude + 6_356_766.0);
    // The exponent is 9.80665/(287.05287 · 0.0065).
    (h * (-0.0065 / 288.15) + 1.0).powf(5.255_880) * 101_325.0
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        check::derivative(pressure, 1500.0);
    }
}
