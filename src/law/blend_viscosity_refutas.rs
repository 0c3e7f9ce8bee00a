//! Kinematic viscosity of a blend of oils from Refutas's blending numbers. A second method, used to check D7152.

use super::Bound;

/// Valid range of the rule.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "ν",
    low: 0.21e-6,
    high: 2e1,
    unit: "m²/s",
}];

/// The kinematic viscosity of a blend; all viscosities at one temperature.
///
/// **Equation.** `B = 14.534 ln ln(ν + 0.8) + 10.975`, `B_blend = Σ x B / Σ x`, ν in mm²/s.
///
/// **Symbols.** `parts`: *mass* fraction x (on any common scale) and kinematic viscosity (m²/s) of each component.
/// Returns m²/s.
///
/// **Range.** 0.21 mm²/s and above; oils of the same chemical type.
///
/// **Source.** C. G. Refutas's blending index as printed in R. E. Maples, Petroleum Refinery Process Economics, 2nd
/// edition, 2000 (quoted from memory; the book was not consulted).
///
/// Easily confused: unlike ASTM D7152, this rule uses natural logarithms, the constant 0.8, and fractions by mass.
///
/// ```
/// use oilwheel::law::blend_viscosity_refutas::blend;
/// // By hand: ln ln is 0 at e − 0.8 and 1 at e^e − 0.8; half and half gives e^√e − 0.8.
/// let half = blend(&[(0.5, 1.918282e-6), (0.5, 14.354262e-6)]);
/// assert!((half * 1e6 - 4.400322).abs() < 1e-5, "{half}");
/// ```
pub fn blend(parts: &[(f64, f64)]) -> f64 {
    let whole: f64 = parts.iter().map(|(share, _)| share).sum();
    let number = |nu: f64| 14.534 * (nu * 1e6 + 0.8).ln().ln() + 10.975;
    let b: f64 = parts.iter().map(|(share, nu)| share * number(*nu)).sum();
    (((b / whole - 10.975) / 14.534).exp().exp() - 0.8) * 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_oil_blended_with_itself_is_itself() {
        assert!((blend(&[(1.0, 33e-6), (3.0, 33e-6)]) / 33e-6 - 1.0).abs() < 1e-12);
    }
}
