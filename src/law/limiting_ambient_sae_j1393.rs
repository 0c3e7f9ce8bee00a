//! Limiting ambient temperature and air-to-boil temperature: SAE J1393.

use super::Bound;
use crate::numeric::Real;

/// Range of coolant temperatures in which the definitions are used.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "T_out",
    low: 323.15,
    high: 398.15,
    unit: "K",
}];

/// Ambient temperature at which the coolant would reach its limit, K.
///
/// **Equation.** `LAT = T_max − T_out + T_amb`.
///
/// **Symbols.** `limit` T_max, maximum allowed coolant temperature; `coolant` T_out, coolant temperature at the engine
/// outlet; `ambient` T_amb, ambient temperature; all in K. The formula assumes that the coolant temperature rises by
/// one kelvin per kelvin of ambient temperature.
///
/// **Range.** Valid only in a steady state with the thermostat fully open and the fan at full command.
///
/// **Source.** SAE J1393, from publicly available summaries.
///
/// ```
/// use oilwheel::law::limiting_ambient_sae_j1393::limiting_ambient;
/// // By hand: coolant at 100 °C on a 30 °C day, 110 °C allowed: 40 °C.
/// assert!((limiting_ambient(383.15_f64, 373.15, 303.15) - 313.15).abs() < 1e-12);
/// ```
pub fn limiting_ambient<N: Real>(limit: N, coolant: N, ambient: N) -> N {
    limit - coolant + ambient
}

/// Air-to-boil temperature, K: the limiting ambient temperature for a coolant limit of 100 °C.
///
/// **Equation.** `ATB = 373.15 K − T_out + T_amb`.
///
/// **Symbols.** As for [`limiting_ambient`].
///
/// **Range.** As for [`limiting_ambient`].
///
/// **Source.** As for [`limiting_ambient`].
///
/// Easily confused: coolant under a pressure cap does not boil at 100 °C; its true boiling point is calculated
/// separately.
///
/// ```
/// use oilwheel::law::limiting_ambient_sae_j1393::air_to_boil;
/// // By hand: coolant at 95 °C on a 30 °C day: 35 °C.
/// assert!((air_to_boil(368.15_f64, 303.15) - 308.15).abs() < 1e-12);
/// ```
pub fn air_to_boil<N: Real>(coolant: N, ambient: N) -> N {
    limiting_ambient(N::from(373.15), coolant, ambient)
}
