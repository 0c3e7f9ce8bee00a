//! Power steering that shares the fan's hydraulic circuit, and the oil reservoir.

use crate::input::unit::{BAR, L, L_MIN};

crate::part! {
    /// Power steering: in series with the fan motor it causes a back-pressure at the motor outlet; with priority it
    /// takes its flow before the motor.
    Steering {
        pressure: Pressure [0.0, 250.0 * BAR] 3.0 * BAR, Steering, "pressure drop of the steering";
        flow: Flow [0.0, 100.0 * L_MIN] 0.0, Steering, "priority flow of the steering; 0 if the steering is in series";
    }
}

crate::part! {
    /// The oil reservoir.
    Reservoir {
        pressure: Pressure [-0.3 * BAR, 3.0 * BAR] 0.0, Inlet, "gauge pressure above the oil; 0 if vented";
        volume: Volume [0.2 * L, 500.0 * L] f64::NAN, Inlet, "oil volume of the whole system";
    }
}
