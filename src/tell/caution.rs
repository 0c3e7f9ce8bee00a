//! The words of each caution.

use super::answer::Remark;
use super::hazard;
use super::words::{COMPATIBILITY, clock, count, credible, duration, signed};
use crate::fault;
use crate::model::log::LogCaution;
use crate::model::log::Mistake;
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
        Caution::BeltSlips { fraction } => {
            let slip = match (fraction * 20.0).round() / 20.0 {
                rough if rough > 0.0 => format!("about {}", units.show(Kind::Share, rough)),
                _ => "a little".to_owned(),
            };
            format!(
                "The belt slips, by {slip}: it cannot carry the torque that the pump asks for. A slipping belt does not last, and how much it slips is no sharp figure."
            )
        }
        Caution::EngineOff => "The engine is off, so the pump does not turn, nor the fan.".into(),
        Caution::FanStalled => {
            "Oil flows, but not with the pressure that keeps the fan turning.".into()
        }
        Caution::InletStarved => "The pump's inlet is starved: expect whine, and air drawn from the oil. How much the pump still delivers then rests on engineering assumptions (the minimum inlet pressure, and the pressure at which the oil releases its air).".into(),
        Caution::VanesMayStick => "At this viscosity a vane pump may not extend its vanes at low speed, and then pumps less than is computed here.".into(),
        Caution::FrictionExtrapolated { limit } => format!(
            "Above {} viscous friction and filling are extrapolated: nothing measured is behind them.",
            units.show(Kind::KinematicViscosity, *limit)
        ),
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
        Caution::AlternatorShort => "At idle the alternator cannot carry these fans: the battery runs down while they help. A raised idle, a larger alternator, or fewer fans.".into(),
        Caution::AlternatorUsual => "The machine file has no [alternator]: usual values are taken.".into(),
        Caution::AirBlownBack { fraction } => format!(
            "The fans press more air in than the main fan takes away: {} of it comes back out of the face beside them, and half of that recirculates (an engineering assumption). A shroud or flaps would help more than a stronger fan.",
            units.show(Kind::Share, *fraction)
        ),
        Caution::AirAgainstFans => "The air downstream of the core is against the fans: a main fan so slow is in their way.".into(),
        Caution::MainFanStarved => "With them on, less air comes through in all than without: they starve the main fan.".into(),
        Caution::FanCurveMisfit { fan, fraction } => format!(
            "The curve that is fitted to {fan} lies off its points by up to {} of its greatest pressure.",
            units.show(Kind::Share, *fraction)
        ),
        Caution::FanBeyondData => "A fan works outside the points of its data sheet, on the fitted curve drawn on.".into(),
        Caution::FansRatedFree => "Electric fans are rated with nothing before them; 40 to 60 % of that is what usually arrives through stacked cores (common practice, no source).".into(),
        Caution::OilGivesOutFirst { limit } => format!(
            "At this engine speed the oil passes {}, where the computation ends, before the coolant reaches its limit: some of the hottest days are only known to be no colder than the day asked for. Such oil is ruined long before; look at a lower engine speed.",
            units.show(Kind::Temperature, *limit)
        ),
        Caution::AccuracyStanding => format!(
            "Absolute temperatures standing still are accurate to about {} without a reading of your own; the differences are better. How much of the air recirculates, what a pusher loses against a puller, and what a standing fan blocks are engineering assumptions.",
            credible(units)
        ),
        Caution::OilsMayDisagree => format!("{COMPATIBILITY} Pour in only what the machine's maker approves, and ask whether it may meet the old oil at all."),
        Caution::SteeringAtRisk { shares } => {
            let circuit = if *shares {
                "Steering shares this circuit, and brake boost may:"
            } else {
                "Where steering or brake boost shares the circuit,"
            };
            format!("{circuit} an oil that its seals do not stand, or air left in it, is a steering or brake fault.")
        }
        Caution::BleedAndCheck => "Bleed the circuit as the service information says, and check level and foam after every round. Catch the old oil and hand it in.".into(),
        Caution::ExchangeAssumed => format!(
            "How much stands still and how far it mixes are engineering assumptions, and so is the fraction exchanged where it was not measured: measure what comes out and give it with {} or {}.",
            mention("drained"),
            mention("pour")
        ),
        Caution::PumpMayRunDry => "The pump must never run dry: pour as fast as the old oil runs out, or stop the engine.".into(),
        Caution::NoSteadyState { why } => format!("No steady state: {why}. Stop before it boils."),
        Caution::EndOfSearch => "The figures below are those at the end of the search, not of a steady state.".into(),
        Caution::CoolantBoils => "The coolant boils. Stop before it does, let the engine idle with the cabin heater full on and, once it is cooler, off; do not open the cooling system while it is hot.".into(),
        Caution::CoolantMayBoil => "The coolant may boil.".into(),
        Caution::CoolantAboveLimit { limit } => format!(
            "The coolant is above its limit of {}.",
            units.show(Kind::Temperature, *limit)
        ),
        Caution::CoolantFreezes { glycol, at } => format!(
            "With {} glycol the coolant freezes at {}: on such a day it bursts whatever holds it once the engine is off.",
            units.show(Kind::Share, *glycol),
            units.show(Kind::Temperature, *at)
        ),
        Caution::EngineLacksPower => "The engine does not have the power that this takes: it would slow down.".into(),
        Caution::SeveralFanSpeeds => "More than one fan speed balances here, as air drives the fan: the speed shown is one of them.".into(),
        Caution::Recirculation => "At a standstill the temperature depends on how much air recirculates, which is an engineering assumption, and on a few tens of rpm of the fan.".into(),
        Caution::NoVehicle => "This machine has no [vehicle], so the road does not load its engine: a column work_kw can.".into(),
        Caution::InletStarvedAtTimes => "The pump's inlet is starved for a while: expect whine, and air drawn from the oil.".into(),
        Caution::FanStandsAtTimes => "The fan stands still for a while with the engine running.".into(),
        Caution::NoEffect { field } => {
            format!("{} has no effect here: it is computed, or follows from the rest.", mention(field))
        }
        Caution::Log(caution) => of_log(caution, units),
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
        Caution::LogNotRead { file } => format!("The log {file} is not read here: the command line reads it beside the notebook."),
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
        Caution::OneKind => "All readings are of one kind. Something that is not on this list, or two causes at once, can give the same ones: a pressure, a temperature or a drain flow settles more than another speed.".into(),
        Caution::FaultsLeftOut { faults } => format!(
            "Left out, as this machine cannot have them or they cost it too little: {}.",
            faults.iter().map(|key| fault::name(key)).collect::<Vec<_>>().join(", ")
        ),
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

/// What a caution about a log says.
fn of_log(caution: &LogCaution, units: Units) -> String {
    let temp = |t: &f64| units.show(Kind::Temperature, *t);
    match caution {
        LogCaution::BlankColumn { column, name } => {
            format!("Column {column}, `{name}`, is blank throughout.")
        }
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
        LogCaution::OneLogOnly { field } => format!(
            "{} has no effect on a table of several logs: it acts where one log is asked about.",
            mention(field)
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

/// A cell that could not be read as it stands.
fn cell(mistake: &Mistake) -> String {
    let what = if mistake.dropped { "dropped" } else { "kept" };
    format!(
        "Line {}, column {} (`{}`): found `{}`, expected {}; the row was {what}.",
        mistake.line, mistake.column, mistake.name, mistake.found, mistake.expected
    )
}

/// The usual words on what can hurt.
/// What is said on what can hurt in any work on a fan drive.
pub fn safety() -> Vec<String> {
    hazard::lines(Hazard::GENERAL)
}
