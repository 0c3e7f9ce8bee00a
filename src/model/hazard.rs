//! Hazards to people and machine during tests and repairs. The code that prints answers puts them into words.

/// A hazard to people or machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hazard {
    /// Oil under pressure, which may jet out, especially from an opened line.
    Pressure,
    /// A pump whose outlet is blocked.
    Outlet,
    /// The blades of a fan that may start by itself.
    Fan,
    /// Hot oil, hoses, coolant and core, and exhaust gas.
    Hot,
    /// An engine that overheats during a test.
    Overheating,
    /// Running belts and pulleys.
    Belts,
    /// A raised machine.
    Raised,
    /// Driving on the road while reading values.
    Driving,
    /// Steering or brakes that share the circuit.
    Shared,
    /// An oil that the machine's maker does not approve.
    Approval,
    /// Wear that is hidden by a thicker oil.
    Masking,
    /// A raised relief setting.
    ReliefSetting,
    /// A valve whose fail-safe position is unknown.
    FailSafe,
    /// Dirt in the circuit.
    Dirt,
    /// Used oil, which must not stay on the skin and must be disposed of properly.
    UsedOil,
    /// Wires overloaded by the fan's current.
    Wiring,
    /// Electric fans that start by themselves.
    ElectricFan,
    /// Damage to core fins and condenser lines when a fan is mounted.
    Condenser,
    /// Work that requires service information and trained people.
    Service,
}

impl Hazard {
    /// All hazards.
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

    /// Hazards of all work on a fan drive.
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

    /// Additional hazards of fitting an electric fan.
    pub const ELECTRIC: &[Hazard] = &[Hazard::Wiring, Hazard::ElectricFan, Hazard::Condenser];

    /// Key of the hazard in JSON output.
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
