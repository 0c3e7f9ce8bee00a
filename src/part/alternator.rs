//! The alternator: the current available for electric fans with the engine at idle.

use crate::numeric::Real;

crate::part! {
    /// The alternator and its loads.
    Alternator {
        idle_output: Current [5.0, 1000.0] 60.0, Heat, "output current of the hot alternator with the engine at idle";
        other_load: Current [0.0, 1000.0] 40.0, Heat, "current drawn by all other loads, such as engine, lights and cabin blower";
        voltage: Voltage [5.0, 60.0] 13.5, Heat, "charging voltage of the electrical system";
        efficiency: Share [0.2, 0.95] 0.55, Heat, "efficiency: electrical output divided by shaft power";
    }
}

impl<N: Real> Alternator<N> {
    /// Current left for electric fans at idle, A; negative if the existing loads already exceed the alternator's
    /// output.
    pub fn spare(&self) -> N {
        self.idle_output - self.other_load
    }

    /// Shaft power, W, that the alternator takes to deliver `current` (A).
    pub fn shaft_power(&self, current: N) -> N {
        current * self.voltage / self.efficiency
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spares_and_takes_power() {
        let usual = Alternator::<f64>::usual();
        assert!((usual.spare() - 20.0).abs() < 1e-12);
        // Calculated by hand: 11 A at 13.5 V is 148.5 W; at an efficiency of 55 % this takes 270 W of shaft power.
        assert!((usual.shaft_power(11.0) - 270.0).abs() < 1e-9);
    }
}
