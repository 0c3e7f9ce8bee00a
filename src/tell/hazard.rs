//! The safety notes.

use crate::model::Hazard;

/// The notes on several hazards.
pub fn lines(hazards: &[Hazard]) -> Vec<String> {
    hazards.iter().map(|h| words(*h).to_string()).collect()
}

/// The note on a hazard.
pub fn words(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Pressure => {
            "Oil under pressure: a fine jet goes through skin and gloves and is a surgical emergency. Search for leaks with cardboard, never with a hand. Stop the engine and let the pressure off before a line is opened, and use gauges and hoses rated above the relief setting."
        }
        Hazard::Outlet => {
            "Never block a pump's outlet, and put no shut-off valve there: the pump may have no relief of its own."
        }
        Hazard::Fan => {
            "The fan may start by itself, and a cracked blade bursts: keep hands, face, cords and sleeves out of its plane."
        }
        Hazard::Hot => {
            "Oil, hoses, coolant and core burn. Never open a hot cooling system. Run the engine only with good ventilation."
        }
        Hazard::Overheating => "Stop the engine before the coolant gauge reaches red.",
        Hazard::Belts => "Keep hands, hair and clothes away from running belts and pulleys.",
        Hazard::Raised => "Under a raised machine: stands, not a jack alone.",
        Hazard::Driving => {
            "The driver takes no readings: take somebody along, or a scan tool that records."
        }
        Hazard::Shared => {
            "Where steering or brake boost shares this circuit, a wrong repair or a wrong oil is a steering or brake fault."
        }
        Hazard::Approval => {
            "Use only oil that the machine's maker approves: viscosity says nothing of seals and additives."
        }
        Hazard::Masking => "Do not hide wear with a thicker oil.",
        Hazard::ReliefSetting => {
            "The relief setting is for the service information and for trained people; never raise it to gain speed."
        }
        Hazard::FailSafe => {
            "Look up first what this machine's valve does without power: most go to full fan, some to least."
        }
        Hazard::Dirt => {
            "Dirt kills pumps: clean round a fitting before it is opened, and bleed and top up as the service information says."
        }
        Hazard::UsedOil => "Keep used oil off the skin; it is waste that is handed in.",
        Hazard::Wiring => {
            "A fuse of its own for each fan, near the battery or alternator; a relay and terminals for its starting current. Wire, fuse and relay follow local wiring practice, the fan's data sheet and the machine's service information before this."
        }
        Hazard::ElectricFan => {
            "Take the battery off before wiring. Electric fans start by themselves, some with the engine off: keep hands and cords out of their plane."
        }
        Hazard::Condenser => {
            "Do not fix a fan to the core with ties through its fins, and leave a condenser's lines alone: refrigerant is for licensed practice."
        }
        Hazard::Service => {
            "Settings, torques, oil approval and bleeding: as the service information says. Refrigerant and pressure vessels: licensed practice."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn every_hazard_has_a_key_and_words_of_its_own() {
        let keys: HashSet<&str> = Hazard::ALL.iter().map(|h| h.key()).collect();
        let said: HashSet<&str> = Hazard::ALL.iter().map(|h| words(*h)).collect();
        assert_eq!(
            (keys.len(), said.len()),
            (Hazard::ALL.len(), Hazard::ALL.len())
        );
    }
}
