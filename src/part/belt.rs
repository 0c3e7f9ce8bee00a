//! The belt that drives the pump: it transmits torque up to its limit, and slips above that.

use crate::numeric::{Over, Real};

crate::part! {
    /// A belt between engine and pump.
    Belt {
        torque_limit: Torque [0.5, 2000.0] f64::NAN, Belt, "torque at the pump pulley above which the belt slips";
        growth: Number [0.005, 1.0] 0.05, Belt, "relative increase of the transmitted torque from incipient slip to full slip (engineering assumption)";
        grip: Share [0.02, 1.0] 1.0, Belt, "fraction of the torque limit that remains; 1 when healthy";
    }
}

impl<N: Real> Belt<N> {
    /// The pump speed `n`, rad/s, at which a slipping belt transmits exactly the torque that the pump needs. The pump
    /// needs `push` (N m) at any speed, plus a torque proportional to speed that is `drag` (N m) at `full` (rad/s), the
    /// speed without slip. The torque that the belt transmits starts at its limit and grows with slip: `push +
    /// drag·n/full = limit·(1 + growth·(1 − n/full))`. A result above `full` means that the belt does not slip, and one
    /// below zero that the pump stands still. *(engineering assumption)*
    pub fn speed<M: Over<N>>(&self, push: M, drag: N, full: N) -> M {
        let limit = self.torque_limit * self.grip;
        (-push + limit * (self.growth + 1.0)) * (full / (limit * self.growth + drag))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_only_beyond_its_limit_and_stands_beyond_its_growth() {
        let belt: Belt = Belt {
            torque_limit: 10.0,
            growth: 0.05,
            grip: 1.0,
        };
        assert!((belt.speed(9.0, 1.0, 300.0) - 300.0).abs() < 1e-9);
        // Calculated by hand: 9.5 + 1·n = 10·(1 + 0.05·(1 − n)) with n = 1/1.5.
        assert!((belt.speed(9.5, 1.0, 300.0) - 200.0).abs() < 1e-9);
        assert!(belt.speed(10.5, 1.0, 300.0).abs() < 1e-9);
        assert!(belt.speed(8.0, 1.0, 300.0) > 300.0);
        let worn = Belt { grip: 0.5, ..belt };
        assert!((worn.speed(5.0, 0.0, 300.0) - 300.0).abs() < 1e-9);
    }
}
