//! What limits the fan's speed, and its names.

/// What limits the fan's speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Limit {
    /// All that the pump displaces goes to the motor.
    Displacement,
    /// The pump's inlet is starved.
    Inlet,
    /// The flow regulator holds the flow.
    Regulator,
    /// The belt slips.
    Belt,
    /// The control valve lets oil by.
    Valve,
    /// The relief valve is open.
    Relief,
    /// Air drives the fan, and the fan the motor.
    Air,
    /// The fan stands.
    Standstill,
}

impl Limit {
    /// All limits, in the order in which the later one is named where two act.
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

    /// Its key in answers.
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

    /// Its name in words.
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

    /// What it means, to follow "the fan's speed is limited by".
    pub fn words(self) -> &'static str {
        match self {
            Limit::Displacement => "how much oil the pump displaces at this engine speed",
            Limit::Inlet => "the pump's inlet, which cannot fill the pump",
            Limit::Regulator => "the flow regulator in the pump",
            Limit::Belt => "the belt, which slips",
            Limit::Valve => "the control valve, which lets oil by the motor",
            Limit::Relief => "the relief valve, which is open",
            Limit::Air => "the airflow alone, which drives the fan faster than the oil would",
            Limit::Standstill => "nothing that turns it: the fan stands",
        }
    }
}
