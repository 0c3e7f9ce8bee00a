//! Ethylene glycol and water: properties and freezing point versus glycol fraction and temperature.
//!
//! The properties are density, heat capacity, thermal conductivity and viscosity. The polynomials were fitted for this
//! program to a handbook's table; the validation table lists their errors.

use super::Bound;
use crate::numeric::Real;

/// Valid range of the fits. Below 10 % glycol the fits extrapolate towards water, to within 0.3 % (viscosity: 10 %).
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "x",
        low: 0.1,
        high: 0.6,
        unit: "1",
    },
    Bound {
        symbol: "T",
        low: 238.15,
        high: 373.15,
        unit: "K",
    },
];

/// θ of the equations: the Celsius temperature divided by 100, from `t` in K.
fn hundreds<N: Real>(t: N) -> N {
    (t - 273.15) / 100.0
}

/// Density, kg/m³.
///
/// **Equation.** `ρ = 1000.75 + 183.4765 x − 45.25099 x² − 18.83752 θ − 30.01527 x θ − 24.34246 θ²`,
/// `θ = (T − 273.15)/100`.
///
/// **Symbols.** `share` x, volume fraction of glycol at 20 °C; `t` T, K.
///
/// **Range.** 10 to 60 % glycol, from the freezing point to 100 °C. For vehicles the fit is used up to 125 °C, beyond
/// any published table.
///
/// **Source.** ASHRAE Handbook, Fundamentals, 2001, secondary coolants; fitted for this program by least squares.
///
/// Easily confused: the fraction is by volume, not by mass.
///
/// ```
/// use oilwheel::law::coolant_properties_ashrae_2001::density;
/// // The table at 50 %, 80 °C: 1038.46.
/// assert!((density(0.5_f64, 353.15) / 1038.46 - 1.0).abs() < 4e-4);
/// ```
pub fn density<N: Real>(share: N, t: N) -> N {
    let h = hundreds(t);
    share * (-share * 45.25099 + 183.4765) - h * 18.83752 - share * h * 30.01527 - h * h * 24.34246
        + 1000.75
}

/// Specific heat capacity, J/(kg·K).
///
/// **Equation.** `c = 4093.906 − 1530.796 x − 498.7785 x² + 125.9137 θ + 519.5511 x θ`.
///
/// **Symbols.** As for [`density`].
///
/// **Range.** As for [`density`].
///
/// **Source.** As for [`density`].
///
/// ```
/// use oilwheel::law::coolant_properties_ashrae_2001::heat_capacity;
/// // The table at 50 %, 80 °C: 3512.
/// assert!((heat_capacity(0.5_f64, 353.15) / 3512.0 - 1.0).abs() < 6e-4);
/// ```
pub fn heat_capacity<N: Real>(share: N, t: N) -> N {
    let h = hundreds(t);
    -share * (share * 498.7785 + 1530.796) + h * 125.9137 + share * h * 519.5511 + 4093.906
}

/// Thermal conductivity, W/(m·K).
///
/// **Equation.** `k = 0.5617386 − 0.5107817 x + 0.2272692 x² + 0.1981117 θ − 0.2125904 x θ − 0.08701776 θ² +
/// 0.09517943 x θ²`.
///
/// **Symbols.** As for [`density`].
///
/// **Range.** As for [`density`].
///
/// **Source.** As for [`density`].
///
/// ```
/// use oilwheel::law::coolant_properties_ashrae_2001::conductivity;
/// // The table at 50 %, 80 °C: 0.411.
/// assert!((conductivity(0.5_f64, 353.15) / 0.411 - 1.0).abs() < 6e-3);
/// ```
pub fn conductivity<N: Real>(share: N, t: N) -> N {
    let h = hundreds(t);
    share * (share * 0.2272692 - 0.5107817) + h * 0.1981117
        - share * h * 0.2125904
        - h * h * 0.08701776
        + share * h * h * 0.09517943
        + 0.5617386
}

/// Dynamic viscosity, Pa·s.
///
/// **Equation.** `ln μ = A + B/(θ + 1.3) + C/(θ + 1.3)²`, `A = −10.77109 + 4.110309 x − 7.830112 x²`,
/// `B = 6.39748 − 7.392945 x + 21.52299 x²`, `C = −1.10943 + 8.422716 x − 14.59819 x²`.
///
/// **Symbols.** As for [`density`].
///
/// **Range.** As for [`density`].
///
/// **Source.** As for [`density`].
///
/// ```
/// use oilwheel::law::coolant_properties_ashrae_2001::viscosity;
/// // The table at 50 %, 40 °C: 2.26 mPa s.
/// assert!((viscosity(0.5_f64, 313.15) / 2.26e-3 - 1.0).abs() < 0.02);
/// ```
pub fn viscosity<N: Real>(share: N, t: N) -> N {
    let u = (hundreds(t) + 1.3).recip();
    let a = share * (-share * 7.830112 + 4.110309) - 10.77109;
    let b = share * (share * 21.52299 - 7.392945) + 6.39748;
    let c = share * (-share * 14.59819 + 8.422716) - 1.10943;
    (a + u * (b + u * c)).exp()
}

/// Freezing point (first crystals), K.
///
/// **Equation.** `T = 273.15 − 34.29754 x − 31.40953 x² − 95.98796 x³`.
///
/// **Symbols.** As for [`density`].
///
/// **Source.** As for [`density`].
///
/// **Range.** 0 to 58 % glycol. Above about 65 % the real freezing point rises again.
///
/// ```
/// use oilwheel::law::coolant_properties_ashrae_2001::freezing;
/// // The table at 49.6 %: −36.4 °C.
/// assert!((freezing(0.496_f64) - 236.75).abs() < 0.6);
/// ```
pub fn freezing<N: Real>(share: N) -> N {
    -share * (share * (share * 95.98796 + 31.40953) + 34.29754) + 273.15
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn derivatives() {
        for f in [density, heat_capacity, conductivity, viscosity] {
            check::derivative(|x| f(x, 350.0.into()), 0.4);
            check::derivative(|t| f(0.4.into(), t), 350.0);
        }
        check::derivative(freezing, 0.4);
    }
}
