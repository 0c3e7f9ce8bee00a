//! How much old oil remains after drain and refill, or while fresh oil flows through: the well-mixed vessel.

use super::Bound;
use crate::numeric::{Real, positive};

/// Valid range of the laws.
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

/// Fraction of old oil after one drain and refill.
///
/// **Equation.** `c = c0 (1 − f)`; after n oil changes `c0 (1 − f)^n`.
///
/// **Symbols.** `before` c0, fraction of old oil before; `exchanged` f, drained volume over mixing volume. No units.
///
/// **Range.** Oil that mixes fully between oil changes. Oil trapped in hoses and coolers does not mix.
///
/// **Source.** Mass balance of a stirred vessel, any textbook on chemical reactors.
///
/// Easily confused: f refers to the volume that mixes, not to the total oil volume.
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

/// Fraction of old oil while fresh oil flows in and mixed oil flows out.
///
/// **Equation.** `c = c0 exp(−v)`.
///
/// **Symbols.** `before` c0, fraction of old oil before; `volumes` v, volume of fresh oil that has flowed in, divided
/// by the mixing volume. No units.
///
/// **Range.** As for [`after_refill`].
///
/// **Source.** As for [`after_refill`].
///
/// In plug flow, where fresh oil pushes the old oil out without mixing, `1 − v` would remain.
///
/// ```
/// use oilwheel::law::dilution_well_mixed::while_flowing;
/// // By hand: one volume leaves 1/e.
/// assert!((while_flowing(1.0_f64, 1.0) - 0.36787944).abs() < 1e-8);
/// ```
pub fn while_flowing<N: Real>(before: N, volumes: N) -> N {
    before * (-volumes).exp()
}

/// Fraction of old oil in plug flow, where fresh oil pushes the old oil out without mixing: the opposite limit to full
/// mixing.
///
/// **Equation.** `c = c0 max(1 − v, 0)`.
///
/// **Symbols.** As for [`while_flowing`].
///
/// **Range.** No real hose reaches plug flow; the true value is between this and [`while_flowing`].
///
/// **Source.** Mass balance of plug flow, any textbook on chemical reactors.
///
/// ```
/// use oilwheel::law::dilution_well_mixed::pushed_out;
/// // By hand: a quarter of the volume pushes out a quarter; one volume and more, all.
/// assert!((pushed_out(0.8_f64, 0.25) - 0.6).abs() < 1e-12 && pushed_out(0.8_f64, 1.5) < 1e-12);
/// ```
pub fn pushed_out<N: Real>(before: N, volumes: N) -> N {
    before * positive(-volumes + 1.0)
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

    /// The tanks-in-series model of textbooks bridges the two limits: it divides the same volume into more and more
    /// stirred vessels in series.
    #[test]
    fn vessels_in_a_row_go_from_mixed_to_pushed_out() {
        let left = |count: usize, v: f64| {
            let (steps, mut vessels) = (40_000, vec![1.0; count]);
            let part = v * count as f64 / f64::from(steps);
            for _ in 0..steps {
                let mut above = 0.0;
                for c in &mut vessels {
                    let own = *c;
                    *c += part * (above - own);
                    above = own;
                }
            }
            vessels.iter().sum::<f64>() / count as f64
        };
        for v in [0.3, 1.0, 1.7] {
            let (mixed, plug) = (while_flowing(1.0, v), pushed_out(1.0, v));
            assert!((left(1, v) - mixed).abs() < 1e-4);
            let [few, many] = [5, 400].map(|n| left(n, v));
            assert!(
                plug < many + 1e-9 && many < few && few < mixed,
                "{v}: {plug} {many} {few} {mixed}"
            );
            assert!(many - plug < 0.03);
        }
    }

    #[test]
    fn derivatives() {
        check::derivative(|f| after_refill(0.8.into(), f), 0.4);
        check::derivative(|v| while_flowing(0.8.into(), v), 0.4);
        check::derivative(|v| pushed_out(0.8.into(), v), 0.4);
    }
}
