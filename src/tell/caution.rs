//! The words of each caution.

use super::answer::Remark;
use super::hazard;
use super::words::signed;
use crate::fault;
use crate::model::{Caution, Hazard, Whose};
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
        Caution::ReadTwice { test, kind, values, contradict } => {
            let [one, other] = values.map(|(value, half)| units.show_spread(*kind, value, half));
            let so = if *contradict {
                ": the two contradict each other by more than their errors. Both are taken; better read it again."
            } else {
                "; both are taken."
            };
            format!("{test} was read twice, as {one} and as {other}{so}")
        }
        Caution::OtherMachine { named, here } => format!(
            "The readings say that they are of `{named}`; the machine here is `{here}`."
        ),
        Caution::FewReadings => "Few readings narrow little. Idle and raised speed, warm and cold, take ten minutes.".into(),
        Caution::NoFit => "These readings do not fit. What was narrowed by them is no baseline: find the cause first.".into(),
        Caution::MovedFar { input } => format!(
            "{} had to move by more than its ±: either the machine is not of this class, or it was not healthy.",
            input.key()
        ),
        Caution::PriorsJudged { status } => format!(
            "How common each cause is before any reading is an engineering assumption ({}); the probabilities depend on it, most of all where there are few readings.",
            match status.trim_end_matches('.') {
                "" => "as the file says",
                status => status,
            }
        ),
        Caution::NothingMeans { change, warmer } => {
            let heat = warmer.map_or(String::new(), |k| {
                let warmer = units.show(Kind::TemperatureDifference, k);
                format!(", and none on the heat side warms the coolant by {warmer}")
            });
            format!(
                "\"Nothing wrong that matters\" is a machine on which no fault changes the fan speed by {} in any usual condition{heat}.",
                units.show(Kind::Share, *change)
            )
        }
        Caution::NoBaseline => "Without readings of this machine from when it was healthy, something that is not on this list can pass for a cause that is.".into(),
        Caution::FaultsLeftOut { faults } => format!(
            "Left out, as this machine cannot have them or they cost it too little: {}.",
            faults.iter().map(|key| fault::name(key)).collect::<Vec<_>>().join(", ")
        ),
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

/// What is said on what can hurt in any work on a fan drive.
pub fn safety() -> Vec<String> {
    hazard::lines(Hazard::GENERAL)
}
