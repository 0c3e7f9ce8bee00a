//! The words of each caution, and those on what can hurt.

use super::answer::Remark;
use super::words::{COMPATIBILITY, signed};
use crate::model::{Caution, Whose};
use crate::quantity::{Kind, Units};
use crate::question::mention;

/// Cautions with their words, each once.
pub fn remarks(all: &[Caution], units: Units) -> Vec<Remark> {
    let mut remarks: Vec<Remark> = Vec::new();
    for caution in all {
        let remark = Remark {
            key: caution.key(),
            words: words(caution, units),
        };
        if !remarks.contains(&remark) {
            remarks.push(remark);
        }
    }
    remarks
}

/// What a caution says.
pub fn words(caution: &Caution, units: Units) -> String {
    let whole = |k: f64| {
        let kind = Kind::Temperature;
        format!("{:.0} {}", units.number(kind, k), units.unit(kind)).replace('-', "−")
    };
    match caution {
        Caution::OilBelowData { at, coldest } => format!(
            "At {} the oil is colder than its coldest viscosity point ({}): two warm points mislead in the cold, and may be off by half of the viscosity or more in either direction.",
            whole(*at),
            whole(*coldest)
        ),
        Caution::OilOutsideData { at, from, to } => format!(
            "At {} the viscosity is extrapolated beyond the oil's data ({} to {}).",
            whole(*at),
            whole(*from),
            whole(*to)
        ),
        Caution::OilHot { at, limit } => format!(
            "The oil is hot at {}: service limits for hydraulic fan drives are about {}.",
            whole(*at),
            whole(*limit)
        ),
        Caution::BeltSlips { fraction } => format!(
            "The belt slips by {}: it cannot carry the torque that the pump asks for.",
            units.show(Kind::Share, *fraction)
        ),
        Caution::EngineOff => "The engine is off, so the pump does not turn, nor the fan.".into(),
        Caution::FanStalled => {
            "Oil flows, but not with the pressure that keeps the fan turning.".into()
        }
        Caution::InletStarved => "The pump's inlet is starved or nearly so: expect whine, and air drawn from the oil. How much the pump still delivers then rests on an engineering assumption (the minimum inlet pressure).".into(),
        Caution::VanesMayStick => "At this viscosity a vane pump may not extend its vanes at low speed, and then pumps less than is computed here.".into(),
        Caution::OilThin { recommended } => format!(
            "At this viscosity the lowest limit of most pump makers is reached: gear pumps want 7 to {} or more when hot.",
            units.show(Kind::KinematicViscosity, *recommended)
        ),
        Caution::SealPressure { limit } => format!(
            "The pressure at the motor outlet is above {}, more than common shaft seals of gear motors hold.",
            units.show(Kind::Pressure, *limit)
        ),
        Caution::LeftOut { inputs } => {
            let keys: Vec<String> = inputs.iter().map(|i| i.key()).collect();
            format!(
                "The machine file leaves these out, so they are at a usual value as if known exactly, and the ± is too narrow by what is not known of them: {}. `oilwheel new light-truck` shows how wide a ± may be.",
                keys.join(", ")
            )
        }
        Caution::TwoLimitsMeet { thinner, thicker } => format!(
            "Two limits meet at this speed, so a change has two slopes: an oil 1 % less viscous changes it by {} rpm, one 1 % more viscous by {} rpm.",
            signed(Kind::Speed.to_json(*thinner)),
            signed(Kind::Speed.to_json(*thicker))
        ),
        Caution::NoEffect { field } => {
            format!("{} has no effect here: it is computed, or follows from the rest.", mention(field))
        }
        Caution::CommonWindows => "The windows are those usual for gear pumps, by makers' guides: common practice, no source. This pump's own figures are in its maker's papers.".into(),
        Caution::ApprovedOil => "Only oil that the machine's maker approves: viscosity says nothing of seals, friction and additives.".into(),
        Caution::NoColdPoint { coldest } => format!(
            "This oil has no viscosity point colder than {}: in the cold it may be off by half of the viscosity or more.",
            units.show(Kind::Temperature, *coldest)
        ),
        Caution::Compatibility => COMPATIBILITY.into(),
        Caution::InventedMachine => "The demo machine is invented, inside the ranges of its class.".into(),
        Caution::Of { whose, caution } => {
            let of = match whose {
                Whose::Baseline => "Of the baseline",
                Whose::OldOil => "Of the old oil",
                Whose::LogAfter => "Of the log after",
            };
            format!("{of}: {}", words(caution, units))
        }
    }
}

/// The usual words on what can hurt.
pub fn safety() -> Vec<String> {
    [
        "Oil under pressure: a fine jet goes through skin and gloves and is a surgical emergency. Search for leaks with cardboard, never with a hand. Let the pressure off before a line is opened, and use gauges and hoses rated above the relief setting.",
        "Never block a pump's outlet, and put no shut-off valve there, unless the pump has a relief of its own.",
        "The fan may start by itself with the engine running. Keep hands, cords and sleeves out of its plane; a cracked blade bursts.",
        "Never open a hot cooling system. Hot oil and belts hurt too. Work on stands, not on a jack alone, with fresh air.",
        "Where steering or brake boost shares this circuit, a wrong repair or a wrong oil is a steering or brake fault. Use only oil that the machine's maker approves: viscosity says nothing of seals and additives.",
        "Settings, torques, oil approval and bleeding: as the service information says. Refrigerant and pressure vessels: licensed practice.",
    ]
    .map(String::from)
    .to_vec()
}
