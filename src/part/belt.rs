//! The belt that turns the pump: it carries a torque up to its limit, and slips with what is beyond.

use crate::numeric::{Over, Real, positive};

crate::part! {
    /// A belt between engine and pump.
    Belt {
        torque_limit: Torque [0.5, 2000.0] f64::NAN, Belt, "torque at the pump's pulley from which it slips";
        steepness: Number [0.5, 50.0] 3.0, Belt, "how fast slip grows beyond the limit (judgment)";
        grip: Share [0.02, 1.0] 1.0, Belt, "share of its torque limit that is left; 1 when sound";
    }
}

impl<N: Real> Belt<N> {
    /// Slip, 0 to 1, where the pump asks for `torque` (N m). Zero up to the limit, then
    /// `x / (1 + x)` with `x = steepness · (torque / limit − 1)`: never quite 1, and rising with torque. *(judgment)*
    pub fn slip<M: Over<N>>(&self, torque: M) -> M {
        let x = positive(torque / (self.torque_limit * self.grip) - 1.0) * self.steepness;
        x / (x + 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_only_beyond_its_limit_and_then_more_and_more() {
        let belt: Belt = Belt {
            torque_limit: 10.0,
            steepness: 3.0,
            grip: 1.0,
        };
        assert!(belt.slip(10.0).abs() < 1e-15);
        assert!((belt.slip(20.0) - 0.75).abs() < 1e-15);
        assert!(belt.slip(1e9) < 1.0);
        let worn = Belt { grip: 0.5, ..belt };
        assert!(worn.slip(10.0) > 0.7);
    }
}
