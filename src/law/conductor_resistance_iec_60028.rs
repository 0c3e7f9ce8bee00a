//! Resistance of a copper conductor: IEC 60028.

use super::Bound;
use crate::numeric::Real;

/// Range in which the equation is used.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "A",
        low: 0.1e-6,
        high: 150e-6,
        unit: "m²",
    },
    Bound {
        symbol: "T",
        low: 233.15,
        high: 398.15,
        unit: "K",
    },
];

/// Resistivity of annealed copper at 20 °C, Ω m.
const RESISTIVITY: f64 = 1.7241e-8;

/// Temperature coefficient of resistance, 1/K, referred to 20 °C.
const GROWTH: f64 = 3.93e-3;

/// Resistance of a copper conductor in one direction, without the return conductor, Ω.
///
/// **Equation.** `R = ρ20 L / A [1 + α (T − 293.15 K)]`, ρ20 = 17.241 nΩ m, α = 3.93·10⁻³ /K.
///
/// **Symbols.** `length` L, m; `area` A, copper cross-section, m²; `temperature` T, of the copper, K.
///
/// **Range.** Annealed copper, direct current. The resistance of a flexible wire of a nominal size may be up to 17 %
/// higher (IEC 60228, class 5).
///
/// **Source.** IEC 60028, International standard of resistance for copper, 1925; constants quoted from memory and
/// compared with published wire tables.
///
/// Easily confused: the current flows through twice the cable length (out and back), unless it returns through the
/// vehicle frame.
///
/// ```
/// use oilwheel::law::conductor_resistance_iec_60028::resistance;
/// // By hand: 1 m of 1 mm² at 20 °C has 17.241 mΩ.
/// assert!((resistance(1.0_f64, 1e-6, 293.15) - 17.241e-3).abs() < 1e-9);
/// ```
pub fn resistance<N: Real>(length: N, area: N, temperature: N) -> N {
    length / area * RESISTIVITY * ((temperature - 293.15) * GROWTH + 1.0)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        check::derivative(|a| resistance(3.0.into(), a, 333.15.into()), 4e-6);
        check::derivative(|t| resistance(3.0.into(), 4e-6.into(), t), 333.15);
    }
}
