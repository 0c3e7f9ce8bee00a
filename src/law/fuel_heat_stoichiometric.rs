//! Heat released by petrol in stoichiometric combustion, from a measured fuel or air flow.

use super::Bound;
use crate::numeric::Real;

/// Range in which the law is used.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "m_air",
    low: 0.0,
    high: 1.0,
    unit: "kg/s",
}];

/// Stoichiometric air-fuel ratio by mass, for petrol with a hydrogen-to-carbon ratio of 1.87.
pub const AIR_FUEL: f64 = 14.6;

/// Lower heating value of petrol, J/kg.
pub const LOWER_HEATING_VALUE: f64 = 44.0e6;

/// Heat released by a flow of petrol, W.
///
/// **Equation.** `P = m_fuel H`, H = 44.0 MJ/kg.
///
/// **Symbols.** `fuel` m_fuel, fuel mass flow, kg/s; H lower heating value, J/kg.
///
/// **Range.** Petrol without alcohol; 10 % ethanol reduces the heat by 3 to 4 %.
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

/// Heat released in a petrol engine by complete combustion, calculated from the intake air flow, W.
///
/// **Equation.** `P = m_air H/14.6`.
///
/// **Symbols.** `air` m_air, air mass flow, kg/s; H lower heating value, J/kg; 14.6 air-fuel ratio.
///
/// **Range.** A petrol engine with a stoichiometric mixture; not a diesel engine, which runs with excess air.
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
