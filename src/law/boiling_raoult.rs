//! Boiling point of a mixture of ethylene glycol and water: Raoult's law, neglecting the vapour pressure of the glycol.

use super::{Bound, steam_saturation_iapws_1997 as steam};
use crate::numeric::Real;

/// Range in which the result is within about 0.9 K of Raoult's law with the vapour pressure of the glycol included.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "x",
        low: 0.0,
        high: 0.6,
        unit: "1",
    },
    Bound {
        symbol: "p",
        low: 50e3,
        high: 350e3,
        unit: "Pa",
    },
];

/// Density at 20 °C (kg/m³) and molar mass (kg/mol) of glycol and of water.
const GLYCOL: (f64, f64) = (1113.2, 0.062068);
const WATER: (f64, f64) = (998.2, 0.018015);

/// Boiling temperature of the mixture, K.
///
/// **Equation.** `T = T_steam(p/y)`, `y = n_w/(n_w + n_g)`, `n_g = x ρ_g/M_g`, `n_w = (1 − x) ρ_w/M_w`.
///
/// **Symbols.** `p` pressure, Pa *absolute*; `share` x, volume fraction of glycol; y mole fraction of water; T_steam
/// boiling temperature of water; n moles per volume; ρ density; M molar mass.
///
/// **Range.** Up to 60 % glycol. The neglected vapour pressure of the glycol would lower the boiling point by 0.1 K at
/// 30 % and 0.8 K at 60 %.
///
/// **Source.** Raoult 1887; IAPWS 1997 for water. Published boiling points of coolants differ from the result by
/// several kelvin in both directions.
///
/// ```
/// use oilwheel::law::boiling_raoult::temperature;
/// // 30 % at one atmosphere by the full law: 103.57 °C.
/// assert!((temperature(101_325.0_f64, 0.3) - 376.72).abs() < 0.3);
/// ```
pub fn temperature<N: Real>(p: N, share: N) -> N {
    let glycol = share * (GLYCOL.0 / GLYCOL.1);
    let water = (N::from(1.0) - share) * (WATER.0 / WATER.1);
    steam::temperature(p * (glycol + water) / water)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn water_alone_is_water() {
        assert!((temperature(2e5_f64, 0.0) - steam::temperature(2e5)).abs() < 1e-12);
    }

    #[test]
    fn derivatives() {
        check::derivative(|p| temperature(p, 0.5.into()), 2e5);
        check::derivative(|x| temperature(2e5.into(), x), 0.5);
    }
}
