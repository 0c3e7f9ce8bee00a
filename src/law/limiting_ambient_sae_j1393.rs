//! How hot it may be outside: limiting ambient temperature and air-to-boil, SAE J1393.

use super::Bound;
use crate::numeric::Real;

/// Where the definitions are used: coolant temperature.
pub const RANGE: &[Bound] = &[Bound {
    symbol: "T_out",
    low: 323.15,
    high: 398.15,
    unit: "K",
}];

/// Ambient temperature, K, at which the coolant would reach its limit.
///
/// **Equation.** `LAT = T_max − T_out + T_amb`.
///
/// **Symbols.** `limit` T_max, the greatest coolant temperature allowed; `coolant` T_out, coolant leaving the engine; `ambient`
/// T_amb; all K. The formula takes it that coolant and air move together, one kelvin for one.
///
/// **Range.** Steady; thermostat full open, fan at full command, or it means nothing.
///
/// **Source.** SAE J1393, as summarised publicly.
///
/// ```
/// use oilwheel::law::limiting_ambient_sae_j1393::limiting_ambient;
/// // By hand: coolant at 100 °C on a 30 °C day, 110 °C allowed: 40 °C.
/// assert!((limiting_ambient(383.15_f64, 373.15, 303.15) - 313.15).abs() < 1e-12);
/// ```
pub fn limiting_ambient<N: Real>(limit: N, coolant: N, ambient: N) -> N {
    limit - coolant + ambient
}

/// Air-to-boil, K: the limiting ambient temperature for a coolant at 100 °C.
///
/// **Equation.** `ATB = 373.15 K − T_out + T_amb`.
///
/// **Symbols.** As for [`limiting_ambient`].
///
/// **Range.** As for [`limiting_ambient`].
///
/// **Source.** As for [`limiting_ambient`].
///
/// Easily confused: nothing boils at 100 °C under a cap; true boiling is
/// another figure.
///
/// ```
/// use oilwheel::law::limiting_ambient_sae_j1393::air_to_boil;
/// // By hand: coolant at 95 °C on a 30 °C day: 35 °C.
/// assert!((air_to_boil(368.15_f64, 303.15) - 308.15).abs() < 1e-12);
/// ```
pub fn air_to_boil<N: Real>(coolant: N, ambient: N) -> N {
    limiting_ambient(N::from(373.15), coolant, ambient)
}
