//! Steering in the fan's circuit, and the reservoir.

use crate::input::unit::{BAR, L, L_MIN};

crate::part! {
    /// Steering: a back-pressure behind the motor, or a flow taken first.
    Steering {
        pressure: Pressure [0.0, 250.0 * BAR] 3.0 * BAR, Steering, "pressure that it takes";
        flow: Flow [0.0, 100.0 * L_MIN] 0.0, Steering, "flow that it takes first where it has priority; 0 in series";
    }
}

crate::part! {
    /// The reservoir.
    Reservoir {
        pressure: Pressure [-0.3 * BAR, 3.0 * BAR] 0.0, Inlet, "pressure over the oil; 0 where it is vented";
        volume: Volume [0.2 * L, 500.0 * L] f64::NAN, Inlet, "oil in the whole system";
    }
}
