//! The belt that drives the pump: it transmits torque up to its limit, and slips above that.

use crate::numeric::{Over, Real};

crate::part! {
    /// A belt between engine and pump.
    Belt {
        torque_limit: Torque [0.5, 2000.0] f64::NAN, Belt, "torque at the pump pulley above which the belt slips";
        growth: Number [0.005, 1.0] 0.05, Belt, "relative increase of the transmitted torque from incipient slip to full slip (engineering assumption)";
        grip: Share [0.02, 1.0] 1.0, Belt, "remaining fraction of the torque limit; 1 when healthy";
    }
}

impl<N: Real> Belt<N> {
    /// The maximum speed, rad/s, at which the belt drives a pump that needs the torque `push` (N m) at any speed, plus
    /// `drag` (N m) at the speed `full` (rad/s) that the engine gives without slip. The transmitted torque grows with
    /// slip, from its limit at the rate of its growth: `push + drag·n/full = limit·(1 + growth·(1 − n/full))`. Above
    /// `full` the belt does not slip, and the line is extended; below zero the pump is stopped. *(engineering
    /// assumption)*
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
        // By hand: 9.5 + 1·n = 10·(1 + 0.05·(1 − n)) with n = 1/1.5.
        assert!((belt.speed(9.5, 1.0, 300.0) - 200.0).abs() < 1e-9);
        assert!(belt.speed(10.5, 1.0, 300.0).abs() < 1e-9);
        assert!(belt.speed(8.0, 1.0, 300.0) > 300.0);
        let worn = Belt { grip: 0.5, ..belt };
        assert!((worn.speed(5.0, 0.0, 300.0) - 300.0).abs() < 1e-9);
    }
}
