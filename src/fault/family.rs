//! What a fault belongs to, and which others it resembles.

use super::Fault;

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

/// Pairs of faults that ordinary readings do not tell apart: common practice, no source.
pub const TWINS: [(&str, &str); 9] = [
    ("worn-pump", "oil-too-thin"),
    ("worn-motor", "oil-too-thin"),
    ("worn-pump", "air-in-oil"),
    ("oil-too-thin", "air-in-oil"),
    ("regulator-low", "suction-restricted"),
    ("supply-restricted", "return-restricted"),
    ("control-not-asking", "relief-low"),
    ("core-blocked-outside", "core-blocked-inside"),
    ("thermostat-sticks", "coolant-pump-worn"),
];

impl Fault {
    /// Keys of the faults that ordinary readings do not tell from it.
    pub fn twins(&self) -> Vec<&'static str> {
        let other = |(a, b): (&'static str, &'static str)| match self.key {
            key if key == a => Some(b),
            key if key == b => Some(a),
            _ => None,
        };
        TWINS.into_iter().filter_map(other).collect()
    }
}
