//! Heat in petrol that burns with just the air it needs: from a measured fuel or air flow.

use super::Bound;
use crate::numeric::Real;

/// Where the law is used.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "m_air",
    low: 0.0,
    high: 1.0,
    unit: "kg/s",
}];

/// Air over fuel by mass, petrol of H/C = 1.87.
pub const AIR_FUEL: f64 = 14.6;

/// Lower heating value of petrol, J/kg.
pub const LOWER_HEATING_VALUE: f64 = 44.0e6;

/// Heat set free, W, by a flow of petrol.
///
/// **Equation.** `P = m_fuel H`, H = 44.0 MJ/kg.
///
/// **Symbols.** `fuel`, kg/s.
///
/// **Range.** Petrol without alcohol; a tenth of ethanol takes 3 to 4 % off the heat.
///
/// **Source.** J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, Table D.4; from memory.
///
/// ```
/// use oilwheel::law::fuel_heat_stoichiometric::from_fuel;
/// // By hand: 1 g/s is 44 kW.
/// assert!((from_fuel(1e-3_f64) - 44e3).abs() < 1e-6);
/// ```
pub fn from_fuel<N: Real>(fuel: N) -> N {
    fuel * LOWER_HEATING_VALUE
}

/// Heat set free, W, by a petrol engine that draws a flow of air and burns it whole.
///
/// **Equation.** `P = m_air H/14.6`.
///
/// **Symbols.** `air`, kg/s.
///
/// **Range.** A petrol engine with its mixture held at the stoichiometric one. Not a diesel: it draws air that it does not
/// burn.
///
/// **Source.** As for [`from_fuel`].
///
/// ```
/// use oilwheel::law::fuel_heat_stoichiometric::from_air;
/// // By hand: 14.6 g/s of air burn 1 g/s of petrol.
/// assert!((from_air(14.6e-3_f64) - 44e3).abs() < 1e-6);
/// ```
pub fn from_air<N: Real>(air: N) -> N {
    from_fuel(air / AIR_FUEL)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        check::derivative(from_air, 0.02);
    }
}
