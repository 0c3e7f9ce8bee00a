//! The words of each caution, and those on what can hurt.

use super::answer::Remark;
use super::words::{clock, count, duration, signed};
use crate::model::log::{Guess, Guessed, Mistake};
use crate::model::{Caution, LogCaution, Whose};
use crate::quantity::{Kind, Units};
use crate::question::log::by_field;
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
        Caution::Log(caution) => of_log(caution, units),
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

/// What a caution about a log says.
fn of_log(caution: &LogCaution, units: Units) -> String {
    let temp = |t: &f64| units.show(Kind::Temperature, *t);
    match caution {
        LogCaution::BlankColumn { column, name } => {
            format!("Column {column}, `{name}`, is blank throughout.")
        }
        LogCaution::PassedOver { column, name, signal } => format!(
            "Column {column}, `{name}`, may carry {} too; it was not used.",
            signal.label()
        ),
        LogCaution::Cell(mistake) => cell(mistake),
        LogCaution::MoreCells { named, cells, listed } => {
            format!("These are {named} of {cells}; the answer as JSON lists the first {listed}.")
        }
        LogCaution::ShortLog { rows, duration: long } => format!(
            "This is a short log ({}, {}): it shows what was, and hardly what usually is.",
            count(*rows, "row"),
            duration(*long)
        ),
        LogCaution::Dropouts { readings } => format!(
            "Passed over: {} that no coolant can have (a sensor that dropped out).",
            count(*readings, "coolant reading")
        ),
        LogCaution::ClockSetBack => "The clock was set back within the log; what lies between is counted as a gap of unknown length.".into(),
        LogCaution::FahrenheitTaken => "No unit is stated for the coolant; in °C it would be beyond any coolant, so °F were taken.".into(),
        LogCaution::Guessed(guess) => guessed(guess),
        LogCaution::Session(session) => {
            let lacks = if session.coolant {
                ""
            } else {
                ", without a column of coolant, so its rows tell nothing"
            };
            format!(
                "A further session begins in line {}, under headings of its own{lacks}.",
                session.line
            )
        }
        LogCaution::RowsOfZeros { rows } => format!(
            "Passed over: {} in which nearly everything reads 0, as before a link is up.",
            count(*rows, "row")
        ),
        LogCaution::RowsAhead { rows } => {
            format!("Dropped: {} whose time alone lay far ahead.", count(*rows, "row"))
        }
        LogCaution::Impossible { signal, readings } => format!(
            "Passed over: {} of {} beyond what it can be.",
            count(*readings, "reading"),
            signal.label()
        ),
        LogCaution::ReadingStill { at, duration: long, from } => format!(
            "The coolant reading stood at {} for {} from {} on with the engine running: a thermostat may hold it so, and so does a sensor that sticks.",
            temp(at),
            duration(*long),
            clock(*from)
        ),
        LogCaution::IntakeAir { low, high } => format!(
            "Intake air reads from {} to {}: useless as ambient, and not used for it.",
            temp(low),
            temp(high)
        ),
        LogCaution::SimulationEnds { at, why } => {
            format!("The simulation ends at {}: {why}.", clock(*at))
        }
        LogCaution::NoAmbient => {
            format!("Ambient temperature is not in the log: {} states it.", mention("ambient"))
        }
        LogCaution::BoilingIsABand => "Where a coolant begins to boil differs between published figures by several kelvin, so it is a band; steam pockets at hot spots come earlier. The sensor reads where it sits, in steps of 1 °C on most vehicles.".into(),
    }
}

/// A guess in one line, with what it may be otherwise and the field that decides.
fn guessed(guess: &Guess) -> String {
    let what = match guess.what {
        Guessed::TimeScale => "the time is".to_string(),
        Guessed::TimeColumn => "the time is in".into(),
        Guessed::Delimiter => "between cells is".into(),
        Guessed::Marks(signal) => format!("in {},", signal.label()),
        Guessed::Unit(signal) => format!("{} is in", signal.label()),
        Guessed::Shift => "under the headings,".into(),
    };
    let (taken, other) = (&guess.taken, &guess.other);
    let setting = by_field(&guess.setting);
    format!("Guessed: {what} {taken}; if {other}: {setting}.")
}

/// A cell that could not be read as it stands.
fn cell(mistake: &Mistake) -> String {
    let what = if mistake.dropped { "dropped" } else { "kept" };
    format!(
        "Line {}, column {} (`{}`): found `{}`, expected {}; the row was {what}.",
        mistake.line, mistake.column, mistake.name, mistake.found, mistake.expected
    )
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
