//! What a fault belongs to.

/// What of the machine a fault belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subsystem {
    /// The oil itself, with the air in it.
    Oil,
    /// The pump.
    Pump,
    /// The motor and the fan's bearing.
    Motor,
    /// Relief, flow regulator, control valve and bypass.
    Valve,
    /// What asks the control valve.
    Control,
    /// Hoses, screen, filter and oil cooler.
    Line,
    /// The belt that drives the pump.
    Belt,
    /// The air through the core.
    AirSide,
    /// The coolant, and the heat that goes into it.
    CoolantSide,
}

impl Subsystem {
    /// All of them.
    pub const ALL: [Subsystem; 9] = [
        Subsystem::Oil,
        Subsystem::Pump,
        Subsystem::Motor,
        Subsystem::Valve,
        Subsystem::Control,
        Subsystem::Line,
        Subsystem::Belt,
        Subsystem::AirSide,
        Subsystem::CoolantSide,
    ];

    /// Its key for a program.
    pub fn key(self) -> &'static str {
        match self {
            Subsystem::Oil => "oil",
            Subsystem::Pump => "pump",
            Subsystem::Motor => "motor",
            Subsystem::Valve => "valve",
            Subsystem::Control => "control",
            Subsystem::Line => "line",
            Subsystem::Belt => "belt",
            Subsystem::AirSide => "air_side",
            Subsystem::CoolantSide => "coolant_side",
        }
    }
}
