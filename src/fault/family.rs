//! The subsystem that a fault belongs to.

/// The subsystem of the machine that a fault belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subsystem {
    /// The oil, including its air content.
    Oil,
    /// The pump.
    Pump,
    /// The motor and the fan's bearing.
    Motor,
    /// Relief valve, flow regulator, control valve and bypass.
    Valve,
    /// The control that sends the command to the control valve.
    Control,
    /// Hoses, screen, filter and oil cooler.
    Line,
    /// The belt that drives the pump.
    Belt,
    /// The airflow through the core.
    AirSide,
    /// The coolant circuit, and the heat that the engine rejects into it.
    CoolantSide,
}

impl Subsystem {
    /// All subsystems.
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

    /// Key of the subsystem in JSON output.
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
