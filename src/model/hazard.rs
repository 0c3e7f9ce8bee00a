//! What can hurt, or do harm, when a machine is tested or mended. The words are made where answers are told.

/// What can hurt, or do harm.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hazard {
    /// Oil under pressure: jets, and lines that are opened.
    Pressure,
    /// A pump whose outlet is blocked.
    Outlet,
    /// A fan that starts by itself, and its blades.
    Fan,
    /// Hot oil, hoses, coolant and core; exhaust.
    Hot,
    /// An engine that overheats during a test.
    Overheating,
    /// Running belts and pulleys.
    Belts,
    /// A raised machine.
    Raised,
    /// The road, for one who reads and drives.
    Driving,
    /// Steering or brakes that share the circuit.
    Shared,
    /// An oil that the machine's maker does not approve.
    Approval,
    /// Wear hidden with a thicker oil.
    Masking,
    /// A relief setting that is raised.
    ReliefSetting,
    /// A valve whose fail-safe is not known.
    FailSafe,
    /// Dirt in the circuit.
    Dirt,
    /// Used oil on the skin and as waste.
    UsedOil,
    /// Wires that a fan's current is too much for.
    Wiring,
    /// Electric fans that start by themselves.
    ElectricFan,
    /// Fins and a condenser's lines, where a fan is fixed.
    Condenser,
    /// Work that is for service information and trained people.
    Service,
}

impl Hazard {
    /// All of them.
    pub const ALL: [Hazard; 19] = [
        Hazard::Pressure,
        Hazard::Outlet,
        Hazard::Fan,
        Hazard::Hot,
        Hazard::Overheating,
        Hazard::Belts,
        Hazard::Raised,
        Hazard::Driving,
        Hazard::Shared,
        Hazard::Approval,
        Hazard::Masking,
        Hazard::ReliefSetting,
        Hazard::FailSafe,
        Hazard::Dirt,
        Hazard::UsedOil,
        Hazard::Wiring,
        Hazard::ElectricFan,
        Hazard::Condenser,
        Hazard::Service,
    ];

    /// Those that any work on a fan drive has.
    pub const GENERAL: &[Hazard] = &[
        Hazard::Pressure,
        Hazard::Outlet,
        Hazard::Fan,
        Hazard::Hot,
        Hazard::Belts,
        Hazard::Raised,
        Hazard::Shared,
        Hazard::Approval,
        Hazard::Service,
    ];

    /// Those that fitting an electric fan has besides.
    pub const ELECTRIC: &[Hazard] = &[Hazard::Wiring, Hazard::ElectricFan, Hazard::Condenser];

    /// Its key for a program.
    pub fn key(self) -> &'static str {
        match self {
            Hazard::Pressure => "pressure",
            Hazard::Outlet => "outlet_blocked",
            Hazard::Fan => "fan",
            Hazard::Hot => "hot",
            Hazard::Overheating => "overheating",
            Hazard::Belts => "belts",
            Hazard::Raised => "raised_machine",
            Hazard::Driving => "driving",
            Hazard::Shared => "shared_circuit",
            Hazard::Approval => "oil_approval",
            Hazard::Masking => "wear_masked",
            Hazard::ReliefSetting => "relief_setting",
            Hazard::FailSafe => "fail_safe",
            Hazard::Dirt => "dirt",
            Hazard::UsedOil => "used_oil",
            Hazard::Wiring => "wiring",
            Hazard::ElectricFan => "electric_fan",
            Hazard::Condenser => "condenser",
            Hazard::Service => "service_information",
        }
    }
}
