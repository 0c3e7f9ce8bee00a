//! Effectiveness of a crossflow heat exchanger, both streams unmixed, exact: Kays and London.

use super::Bound;
use crate::numeric::Real;

/// Range in which the series is summed.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "NTU",
        low: 0.0,
        high: MOST,
        unit: "1",
    },
    Bound {
        symbol: "Cr",
        low: 0.0,
        high: 1.0,
        unit: "1",
    },
];

/// Limit of the number of transfer units; a higher number makes no practical difference.
pub const MOST: f64 = 500.0;

/// Effectiveness: heat transferred as a fraction of the maximum possible.
///
/// **Equation.** `ε = 1/(Cr N) Σₙ [1 − e^(−N) Σ_(m≤n) N^m/m!] [1 − e^(−Cr N) Σ_(m≤n) (Cr N)^m/m!]`, n from 0. The code
/// writes the second bracket as a series and exchanges the two sums, which avoids the division by Cr:
/// `ε = Σ_(m≥1) e^(−x) x^(m−1)/m! · S_m`, `x = Cr N`, where `S_m` is the sum of the first bracket over n from 0 to
/// m − 1.
///
/// **Symbols.** `ntu` N, number of transfer units `UA/Cmin`; `cr` Cr, capacity rate ratio `Cmin/Cmax`. No units.
///
/// **Range.** N up to 500, Cr from 0 to 1.
///
/// **Source.** J. L. Mason, Heat transfer in crossflow, Proceedings of the 2nd U.S. National Congress of Applied
/// Mechanics, ASME 1955, page 801; arranged as in W. M. Kays and A. L. London, Compact Heat Exchangers.
///
/// Easily confused: the well-known one-line formula with the exponents 0.22 and 0.78 is an approximation with an error
/// of up to 0.9 percentage points.
///
/// ```
/// use oilwheel::law::effectiveness_kays_london::crossflow;
/// // One stream boiling: 1 − 1/e. Both alike, one transfer unit: 0.476222 by an independent integral.
/// assert!((crossflow(1.0_f64, 0.0) - 0.632120559).abs() < 1e-9);
/// assert!((crossflow(1.0_f64, 1.0) - 0.476222388).abs() < 1e-9);
/// ```
pub fn crossflow<N: Real>(ntu: N, cr: N) -> N {
    let ntu = if ntu.re() > MOST { N::from(MOST) } else { ntu };
    let x = cr * ntu;
    // e^(−N) N^n/n!, the first bracket at n, and the sum of the first m brackets.
    let mut poisson = (-ntu).exp();
    let mut bracket = -(-ntu).exp_m1();
    let mut sum = N::from(0.0);
    // e^(−x) x^(m−1)/m!.
    let mut weight = (-x).exp();
    let mut effectiveness = N::from(0.0);
    let mut m = 1.0;
    loop {
        sum += bracket;
        let term = weight * sum;
        effectiveness += term;
        // Stop after the peak of the weights, when the remaining terms are negligible; also stop on NaN.
        if !(m < x.re() + 2.0 || weight.re() * m > 1e-18) {
            return effectiveness;
        }
        poisson = poisson * ntu / m;
        bracket = bracket - poisson;
        m += 1.0;
        weight = weight * x / m;
    }
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::numeric::Dual64;

    #[test]
    fn limits() {
        assert!(crossflow(0.0_f64, 0.7).abs() < 1e-15);
        // Few transfer units: ε → N.
        assert!((crossflow(1e-9_f64, 0.7) / 1e-9 - 1.0).abs() < 1e-8);
        // Many transfer units: ε → 1 if Cr < 1, and ε → 1 − √(1/(π N)) to first order if Cr = 1.
        assert!((crossflow(400.0_f64, 0.5) - 1.0).abs() < 1e-12);
        let slow = 1.0 - (1.0 / (std::f64::consts::PI * 400.0)).sqrt();
        assert!(
            (crossflow(400.0, 1.0) - slow).abs() < 1e-3,
            "{} {slow}",
            crossflow(400.0, 1.0)
        );
        assert!(crossflow(f64::NAN, 1.0).is_nan());
    }

    #[test]
    fn derivatives() {
        for (ntu, cr) in [(0.2, 0.3), (1.0, 1.0), (4.0, 0.9), (40.0, 0.99)] {
            check::derivative(|n| crossflow(n, cr.into()), ntu);
            check::derivative(|c| crossflow(ntu.into(), c), cr);
        }
        // No division by zero at Cr = 0.
        let at_none = crossflow(Dual64::from(1.0), Dual64::new(0.0, 1.0));
        let near = (crossflow(1.0, 1e-6) - crossflow(1.0, 0.0)) / 1e-6;
        assert!((at_none.eps - near).abs() < 1e-5, "{at_none:?} {near}");
    }
}
