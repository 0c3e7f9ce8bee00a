//! Kinematic viscosity of a blend of oils: ASTM D7152.

use super::Bound;
use super::kinematic_viscosity_astm_d341::{ordinate, viscosity};

/// Valid range of the rule.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "ν",
    low: 0.21e-6,
    high: 2e1,
    unit: "m²/s",
}];

/// The kinematic viscosity of a blend; all viscosities at one temperature.
///
/// **Equation.** `W_blend = Σ x W / Σ x`, W being the ordinate of ASTM D341 ([`ordinate`]).
///
/// **Symbols.** `parts`: volume fraction x (on any common scale) and kinematic viscosity (m²/s) of each component.
/// Returns m²/s, or NaN if the fractions add up to zero.
///
/// **Range.** Oils of the same chemical type. For a base stock blended with a polymer-thickened oil the error may reach
/// 15 %. The rule does not show whether the oils are compatible.
///
/// **Source.** ASTM D7152, Standard Practice for Calculating Viscosity of a Blend of Petroleum Products, the procedure
/// that uses the ordinates at one temperature.
///
/// Easily confused: the fractions here are by volume; in Refutas's rule they are by mass.
///
/// ```
/// use oilwheel::law::blend_viscosity_astm_d7152::blend;
/// // By hand: log10 log10 of 10 and of 100 are 0 and log10 2; half and half gives 10^√2 − 0.7.
/// let half = blend(&[(0.5, 9.3e-6), (0.5, 99.3e-6)]);
/// assert!((half * 1e6 - 25.25455).abs() < 1e-4);
/// ```
pub fn blend(parts: &[(f64, f64)]) -> f64 {
    let whole: f64 = parts.iter().map(|(share, _)| share).sum();
    let w: f64 = parts.iter().map(|(share, nu)| share * ordinate(*nu)).sum();
    viscosity(w / whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_oil_blended_with_itself_or_with_none_is_itself() {
        assert!((blend(&[(1.0, 33e-6), (3.0, 33e-6)]) / 33e-6 - 1.0).abs() < 1e-12);
        assert!((blend(&[(1.0, 33e-6), (0.0, 7e-6)]) / 33e-6 - 1.0).abs() < 1e-12);
        assert!(blend(&[]).is_nan());
    }

    #[test]
    fn a_blend_lies_between_and_rises_with_the_thicker_part() {
        let at = |x: i32| blend(&[(f64::from(x), 100e-6), (f64::from(100 - x), 1e-6)]);
        assert!((0..100).all(|x| at(x) < at(x + 1)));
        assert!((at(0) / 1e-6 - 1.0).abs() < 1e-9 && (at(100) / 100e-6 - 1.0).abs() < 1e-9);
    }
}
