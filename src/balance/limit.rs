//! What limits the fan speed, and the names of the limits.

/// What limits the fan speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Limit {
    /// The pump's full displacement flow goes to the motor.
    Displacement,
    /// The suction side cannot fill the pump's chambers completely.
    Inlet,
    /// The flow regulator holds the flow.
    Regulator,
    /// The belt slips.
    Belt,
    /// The control valve bypasses oil.
    Valve,
    /// The relief valve is open.
    Relief,
    /// Air drives the fan, and the fan drives the motor.
    Air,
    /// The fan is stopped.
    Standstill,
}

impl Limit {
    /// All limits in ascending order of precedence: if two act at once, the later one in this list is reported.
    pub const ALL: [Limit; 8] = [
        Limit::Displacement,
        Limit::Inlet,
        Limit::Regulator,
        Limit::Belt,
        Limit::Valve,
        Limit::Relief,
        Limit::Air,
        Limit::Standstill,
    ];

    /// Key of the limit in JSON output.
    pub fn key(self) -> &'static str {
        match self {
            Limit::Displacement => "displacement",
            Limit::Inlet => "inlet",
            Limit::Regulator => "regulator",
            Limit::Belt => "belt",
            Limit::Valve => "valve",
            Limit::Relief => "relief",
            Limit::Air => "air",
            Limit::Standstill => "standstill",
        }
    }

    /// Name of the limit.
    pub fn name(self) -> &'static str {
        match self {
            Limit::Displacement => "the pump's displacement",
            Limit::Inlet => "the pump's inlet",
            Limit::Regulator => "the flow regulator",
            Limit::Belt => "the belt",
            Limit::Valve => "the control valve",
            Limit::Relief => "the relief valve",
            Limit::Air => "the airflow",
            Limit::Standstill => "standstill",
        }
    }

    /// The limit in words that complete the sentence "the fan's speed is limited by …".
    pub fn words(self) -> &'static str {
        match self {
            Limit::Displacement => "the pump's displacement at this engine speed",
            Limit::Inlet => "the pump inlet, which cannot fill the pump",
            Limit::Regulator => "the flow regulator in the pump",
            Limit::Belt => "the belt, which slips",
            Limit::Valve => "the control valve, which bypasses oil around the motor",
            Limit::Relief => "the relief valve, which is open",
            Limit::Air => "the airflow alone, which drives the fan faster than the oil would",
            Limit::Standstill => "too little torque to turn it: the fan is stopped",
        }
    }
}
