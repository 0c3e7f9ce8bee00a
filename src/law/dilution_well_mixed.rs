//! How much old oil is left after drain and refill, or while fresh oil flows through: the well-mixed vessel.

use super::Bound;
use crate::numeric::Real;

/// Where the laws hold.
pub const RANGE: &[Bound] = &[
    Bound {
        symbol: "f",
        low: 0.0,
        high: 1.0,
        unit: "1",
    },
    Bound {
        symbol: "v",
        low: 0.0,
        high: 20.0,
        unit: "1",
    },
];

/// Share of old oil after one drain and refill.
///
/// **Equation.** `c = c0 (1 − f)`; n rounds make `c0 (1 − f)^n`.
///
/// **Symbols.** `before` c0, share of old oil before; `exchanged` f, volume drained over the volume that mixes. No units.
///
/// **Range.** Oil that mixes fully between rounds; what stands still in hoses and coolers does not count as mixed.
///
/// **Source.** Mass balance of a stirred vessel, any textbook on chemical reactors.
///
/// Easily confused: f belongs to the volume that mixes, not to the whole fill.
///
/// ```
/// use oilwheel::law::dilution_well_mixed::after_refill;
/// // By hand: three rounds of 40 % leave 0.6³ = 0.216.
/// let c = (0..3).fold(1.0_f64, |c, _| after_refill(c, 0.4));
/// assert!((c - 0.216).abs() < 1e-12);
/// ```
pub fn after_refill<N: Real>(before: N, exchanged: N) -> N {
    before * (-exchanged + 1.0)
}

/// Share of old oil while fresh oil flows in and mixed oil flows out.
///
/// **Equation.** `c = c0 exp(−v)`.
///
/// **Symbols.** `before` c0, share of old oil before; `volumes` v, volume that flowed in over the volume that mixes. No
/// units.
///
/// **Range, source.** As for [`after_refill`]. Plug flow, which pushes the old oil out ahead, would leave `1 − v`.
///
/// ```
/// use oilwheel::law::dilution_well_mixed::while_flowing;
/// // By hand: one volume leaves 1/e.
/// assert!((while_flowing(1.0_f64, 1.0) - 0.36787944).abs() < 1e-8);
/// ```
pub fn while_flowing<N: Real>(before: N, volumes: N) -> N {
    before * (-volumes).exp()
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;

    #[test]
    fn many_small_refills_are_a_flow() {
        let c = (0..1_000_000).fold(1.0_f64, |c, _| after_refill(c, 2e-6));
        assert!((c - while_flowing(1.0, 2.0)).abs() < 1e-6);
    }

    #[test]
    fn derivatives() {
        check::derivative(|f| after_refill(0.8.into(), f), 0.4);
        check::derivative(|v| while_flowing(0.8.into(), v), 0.4);
    }
}
