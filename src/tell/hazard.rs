//! The texts of the safety notes.

use crate::model::Hazard;

/// The safety notes for several hazards.
pub fn lines(hazards: &[Hazard]) -> Vec<String> {
    hazards.iter().map(|h| words(*h).to_string()).collect()
}

/// The safety note for a hazard.
pub fn words(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Pressure => {
            "Oil under pressure: a fine jet goes through skin and gloves and is a surgical emergency. Check for leaks with cardboard, never with a hand. Stop the engine and relieve the pressure before opening a line, and use gauges and hoses rated above the relief setting."
        }
        Hazard::Outlet => {
            "Never block a pump outlet or fit a shut-off valve there: the pump may have no built-in relief valve."
        }
        Hazard::Fan => {
            "The fan may start by itself, and a cracked blade may burst: keep hands, face, cords and sleeves out of its plane."
        }
        Hazard::Hot => {
            "Hot oil, hoses, coolant and core cause burns. Never open a hot cooling system. Run the engine only with good ventilation."
        }
        Hazard::Overheating => "Stop the engine before the coolant gauge reaches red.",
        Hazard::Belts => "Keep hands, hair and clothes away from running belts and pulleys.",
        Hazard::Raised => "Support a raised machine on stands, never on a jack alone.",
        Hazard::Driving => {
            "The driver must not take readings: take a passenger along, or use a recording scan tool."
        }
        Hazard::Shared => {
            "Where steering or brake boost shares this circuit, a wrong repair or a wrong oil may cause a steering or brake failure."
        }
        Hazard::Approval => {
            "Use only oil that the machine's maker approves: viscosity says nothing about seals and additives."
        }
        Hazard::Masking => "Do not hide wear with a thicker oil.",
        Hazard::ReliefSetting => {
            "Adjust the relief valve only according to the service information and if trained; never raise its setting to gain speed."
        }
        Hazard::FailSafe => {
            "First look up the fail-safe position of this machine's valve: most go to full fan, some to minimum."
        }
        Hazard::Dirt => {
            "Dirt destroys pumps: clean around a fitting before opening it; bleed and top up according to the service information."
        }
        Hazard::UsedOil => "Keep used oil off the skin, and hand it in for disposal.",
        Hazard::Wiring => {
            "Fit a separate fuse for each fan, near the battery or alternator, and a relay and terminals rated for its starting current. For wire, fuse and relay, local wiring practice, the fan's data sheet and the machine's service information take precedence over this answer."
        }
        Hazard::ElectricFan => {
            "Disconnect the battery before wiring. Electric fans start by themselves, some with the engine off: keep hands and cords out of their plane."
        }
        Hazard::Condenser => {
            "Do not fasten a fan with ties through the core fins, and leave the condenser lines alone: refrigerant work requires a licence."
        }
        Hazard::Service => {
            "Follow the service information for settings, torques, oil approval and bleeding. Work on refrigerant and pressure vessels requires a licence."
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
