//! The text of each caution.

use super::answer::Remark;
use super::hazard;
use super::words::{COMPATIBILITY, clock, count, credible, duration, signed};
use crate::fault;
use crate::model::log::LogCaution;
use crate::model::log::Mistake;
use crate::model::{AsCause, Caution, Hazard, Whose};
use crate::quantity::{Kind, Units};
use crate::question::mention;

/// The texts of the cautions, each text once.
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

/// The text of one caution.
pub fn words(caution: &Caution, units: Units) -> String {
    let whole = |k: f64| {
        let kind = Kind::Temperature;
        format!("{:.0} {}", units.number(kind, k), units.unit(kind)).replace('-', "−")
    };
    match caution {
        Caution::OilBelowData { at, coldest } => format!(
            "At {} the oil is colder than the coldest temperature at which its viscosity is given ({}). Extrapolated from two warm values, the viscosity computed here may be off by half or more, in either direction.",
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
            "At {} the oil is hot: the usual limit for hydraulic fan drives is about {}.",
            whole(*at),
            whole(*limit)
        ),
        Caution::BeltSlips { fraction } => {
            let slip = match (fraction * 20.0).round() / 20.0 {
                rough if rough > 0.0 => format!("about {}", units.show(Kind::Share, rough)),
                _ => "a little".to_owned(),
            };
            format!(
                "The belt slips ({slip}): it cannot transmit the torque that the pump needs. A slipping belt does not last, and the amount of slip is uncertain."
            )
        }
        Caution::EngineOff => "The engine is off, so pump and fan do not turn.".into(),
        Caution::FanStalled => {
            "Oil flows, but the pressure is too low to keep the fan turning.".into()
        }
        Caution::InletStarved => "The pump's inlet is starved: expect cavitation noise and air release from the oil. How much the pump still delivers rests on two engineering assumptions: the minimum inlet pressure, and the pressure at which the oil releases its air.".into(),
        Caution::VanesMayStick => "At this viscosity the vanes of a vane pump may not extend at low speed; it then delivers less than computed here.".into(),
        Caution::FrictionExtrapolated { limit } => format!(
            "Above {} there are no measurements: viscous friction and the filling of the pump are extrapolated.",
            units.show(Kind::KinematicViscosity, *limit)
        ),
        Caution::OilThin { recommended } => format!(
            "This viscosity is below the minimum that most pump makers allow: with hot oil, gear pumps need at least 7 to {}, depending on the maker.",
            units.show(Kind::KinematicViscosity, *recommended)
        ),
        Caution::SealPressure { limit } => format!(
            "The pressure at the motor outlet is above {}, more than the usual limit of gear motor shaft seals.",
            units.show(Kind::Pressure, *limit)
        ),
        Caution::LeftOut { inputs } => {
            let keys: Vec<String> = inputs.iter().map(|i| i.key()).collect();
            format!(
                "The machine file omits these inputs: {}. Their default values are used as if they were known exactly, so the ± of the answer is too narrow. `oilwheel new light-truck` prints a file with typical ±, where there are any.",
                keys.join(", ")
            )
        }
        Caution::TwoLimitsMeet { thinner, thicker } => format!(
            "Two limits meet at this speed, so thinner and thicker oil act differently: an oil 1 % less viscous changes the fan speed by {} rpm, one 1 % more viscous by {} rpm.",
            signed(Kind::Speed.to_json(*thinner)),
            signed(Kind::Speed.to_json(*thicker))
        ),
        Caution::AlternatorShort => "At idle the alternator cannot supply these fans: the battery runs down while they are on. Use a raised idle, a larger alternator, or fewer fans.".into(),
        Caution::AlternatorUsual => "The machine file has no [alternator]: default values are used.".into(),
        Caution::AirBlownBack { fraction } => format!(
            "The electric fans deliver more air than the main fan draws off: {} of it flows back out through the core face beside them, and half of that recirculates (an engineering assumption). A shroud or flaps would help more than a stronger fan.",
            units.show(Kind::Share, *fraction)
        ),
        Caution::AirAgainstFans => "The pressure downstream of the core opposes the electric fans: at this low speed the main fan obstructs them.".into(),
        Caution::MainFanStarved => "With the electric fans on, the total airflow is smaller than without them: they starve the main fan.".into(),
        Caution::FanCurveMisfit { fan, fraction } => format!(
            "The curve fitted to {fan} deviates from its points by up to {} of its maximum pressure.",
            units.show(Kind::Share, *fraction)
        ),
        Caution::FanBeyondData => "A fan operates outside the points of its data sheet, on the extrapolated curve.".into(),
        Caution::FansRatedFree => "Electric fans are rated at free flow; through stacked cores they usually deliver 40 to 60 % of that (common practice, no source).".into(),
        Caution::OilGivesOutFirst { limit } => format!(
            "At this engine speed the oil exceeds {} before the coolant reaches its limit, and the computation ends there. Some limiting ambient temperatures are therefore only known to be at least the one asked for. The oil would be ruined long before that: consider a lower engine speed.",
            units.show(Kind::Temperature, *limit)
        ),
        Caution::AccuracyStanding => format!(
            "Without a reading of your own, absolute temperatures at standstill are accurate to about {}; differences are more accurate. How much air recirculates, how much weaker a fan is as a pusher than as a puller, and how far a stopped fan blocks the air are engineering assumptions.",
            credible(units)
        ),
        Caution::OilsMayDisagree => format!("{COMPATIBILITY} Use only an oil that the machine's maker approves, and ask whether it may be mixed with the old oil."),
        Caution::SteeringAtRisk { shares } => {
            let circuit = if *shares {
                "Steering shares this circuit, and brake boost may share it too:"
            } else {
                "Where steering or brake boost shares the circuit,"
            };
            format!("{circuit} an oil that attacks the seals, or trapped air, may cause a steering or brake failure.")
        }
        Caution::BleedAndCheck => "Bleed the circuit according to the service information, and check level and foam after every round. Collect the old oil and hand it in for disposal.".into(),
        Caution::ExchangeAssumed => format!(
            "How much of the oil stagnates, and how far it mixes, are engineering assumptions. So is the exchanged fraction, unless you measure what comes out and enter it with {} or {}.",
            mention("drained"),
            mention("pour")
        ),
        Caution::PumpMayRunDry => "The pump must never run dry: pour in as fast as the old oil runs out, or stop the engine.".into(),
        Caution::NoSteadyState { why } => format!("No steady state: {why}. Stop before the coolant boils."),
        Caution::EndOfSearch => "The numbers shown are those at which the search for a steady state ended; they are not a steady state.".into(),
        Caution::CoolantBoils => "The coolant boils. Stop before that, let the engine idle with the cabin heater fully on, and switch it off once it is cooler; do not open the cooling system while it is hot.".into(),
        Caution::CoolantMayBoil => "The coolant may boil.".into(),
        Caution::StaysHot { at, cool } => format!(
            "From cold the coolant settles at {}, but at {} the same machine stays hot: hot oil slows its fan. Once that hot, after a climb for example, let it cool down first.",
            whole(*cool),
            whole(*at)
        ),
        Caution::AnchorsFar { far } => format!(
            "Your coolant readings are {far:.1} standard deviations from a healthy machine of this class: the answer is narrow but may be wrong. Look for a fault, or check the readings and their conditions."
        ),
        Caution::CoolantAboveLimit { limit } => format!(
            "The coolant is above its limit of {}.",
            units.show(Kind::Temperature, *limit)
        ),
        Caution::CoolantFreezes { glycol, at } => format!(
            "With {} glycol the coolant freezes at {}: at this ambient temperature it may burst block, core or hoses once the engine is off.",
            units.show(Kind::Share, *glycol),
            units.show(Kind::Temperature, *at)
        ),
        Caution::EngineLacksPower => "At this speed the engine does not have enough power for this: the machine would slow down, or would need a lower gear.".into(),
        Caution::SeveralFanSpeeds => "There is more than one operating point here, because air drives the fan: the speed shown is one of them.".into(),
        Caution::Recirculation => "At standstill the temperature depends on how much hot air recirculates, which is an engineering assumption. A few tens of rpm of fan speed also change it noticeably.".into(),
        Caution::NoVehicle => "The machine file has no [vehicle] section, so the road does not load the engine. Give the load in a column `work_kw` instead.".into(),
        Caution::InletStarvedAtTimes => "The pump inlet is starved for a while: expect cavitation noise and air release from the oil.".into(),
        Caution::FanStandsAtTimes => "The fan is stopped for a while with the engine running.".into(),
        Caution::NoEffect { field } => {
            format!("{} has no effect here: it is computed, or follows from other inputs.", mention(field))
        }
        Caution::OnTheRoadOnly { field } => format!(
            "{} has no effect at a standstill; state the road speed with {}.",
            mention(field),
            mention("road_speed")
        ),
        Caution::Log(caution) => of_log(caution, units),
        Caution::ReadTwice { test, kind, values, contradict } => {
            let [one, other] = values.map(|(value, half)| units.show_spread(*kind, value, half));
            let so = if *contradict {
                ": the two differ by more than their errors. Both are used; repeat the reading."
            } else {
                "; both are used."
            };
            format!("{test} was read twice, as {one} and as {other}{so}")
        }
        Caution::OtherMachine { named, here } => format!(
            "The readings file is for the machine `{named}`; the machine used here is `{here}`."
        ),
        Caution::FanAsRead { speed, engine_speed } => format!(
            "The fan speed follows the reading in your notebook: {} with the engine at {}.",
            units.show(Kind::Speed, *speed),
            units.show(Kind::Speed, *engine_speed),
        ),
        Caution::ByCause { causes } => by_cause(causes, units),
        Caution::Unexplained => "The readings in your notebook fit neither a healthy machine nor one with a single listed fault, and none of them gives the fan speed in this condition. The answer is therefore for a healthy machine. Check the readings.".into(),
        Caution::FewReadings => "So few readings narrow the machine only a little. To read the fan speed at idle and at raised engine speed, with warm and with cold oil, takes ten minutes.".into(),
        Caution::LogNotRead { file } => format!("The log {file} is not read here. The command-line program reads it from the folder of the notebook."),
        Caution::NoFit => "These readings do not fit this machine. The narrowed machine is not a valid baseline: find the cause first.".into(),
        Caution::ResistanceKept { input, kept } => format!(
            "In reality a larger {} adds air resistance or takes up face area. This design leaves that out ({} and the face area stay as they are), so more always looks better. Take the limit of the range, and the resistance, from a part that exists.",
            input.key(),
            kept.key()
        ),
        Caution::MovedFar { input } => format!(
            "To fit the readings, {} had to be changed by more than its ±: either the machine is not of this class, or it was not healthy.",
            input.key()
        ),
        Caution::PriorsJudged { status } => format!(
            "How common each cause is before any reading is an engineering assumption ({}); the probabilities depend on it, above all when there are few readings.",
            match status.trim_end_matches('.') {
                "" => "as in the file",
                status => status,
            }
        ),
        Caution::NothingMeans { change, warmer } => {
            let heat = warmer.map_or(String::new(), |k| {
                let warmer = units.show(Kind::TemperatureDifference, k);
                format!(", and none on the heat side warms the coolant by {warmer}")
            });
            format!(
                "\"Nothing wrong that matters\" means that no fault changes the fan speed by {} in any usual condition{heat}.",
                units.show(Kind::Share, *change)
            )
        }
        Caution::NoBaseline => "Without readings of this machine in healthy condition, an unlisted cause can look like a listed one.".into(),
        Caution::OneKind => "All readings are of one kind. An unlisted cause, or two causes at once, can produce the same readings: a pressure, a temperature or a drain flow tells more than another speed.".into(),
        Caution::FaultsLeftOut { faults } => format!(
            "Not considered, because this machine cannot have them or they have too little effect: {}.",
            faults.iter().map(|key| fault::name(key)).collect::<Vec<_>>().join(", ")
        ),
        Caution::CommonWindows => "The viscosity windows are those usual for gear pumps in makers' guides: common practice, no source. For the limits of this pump, see its maker's documents.".into(),
        Caution::ApprovedOil => "Use only oil that the machine's maker approves: viscosity says nothing about seals, friction and additives.".into(),
        Caution::NoColdPoint { coldest } => format!(
            "No viscosity of this oil is given below {}: the value computed for cold oil may be off by half or more.",
            units.show(Kind::Temperature, *coldest)
        ),
        Caution::Compatibility => COMPATIBILITY.into(),
        Caution::InventedMachine => "The demo machine is invented, within the ranges of its class.".into(),
        Caution::Of { whose, caution } => {
            let of = match whose {
                Whose::Baseline => "Baseline",
                Whose::OldOil => "Old oil",
                Whose::LogAfter => "Log after the repair",
            };
            format!("{of}: {}", words(caution, units))
        }
    }
}

/// Says for which cause an answer is, and which others are about as probable.
fn by_cause(causes: &[AsCause], units: Units) -> String {
    let named = |c: &AsCause| {
        let chance = (20.0 * c.probability).round() / 20.0;
        format!(
            "{} (severity {:.2}, probability about {})",
            fault::name(c.fault),
            c.severity,
            units.show(Kind::Share, chance.max(0.05))
        )
    };
    let mut all = causes.iter().map(named);
    let first = all.next().unwrap_or_default();
    let others: Vec<String> = all.collect();
    let others = match &others[..] {
        [] => String::new(),
        _ => format!(
            " Almost as probable, and perhaps with a different result here: {}.",
            others.join(", ")
        ),
    };
    format!(
        "Your readings show a fault, but none of them gives the fan speed in this condition. The answer is therefore for the most probable cause, {first}.{others} To choose another cause, use {}; severity 0 means a healthy machine.",
        mention("with")
    )
}

/// The text of a caution about a log.
fn of_log(caution: &LogCaution, units: Units) -> String {
    let temp = |t: &f64| units.show(Kind::Temperature, *t);
    match caution {
        LogCaution::BlankColumn { column, name } => {
            format!("Column {column}, `{name}`, is completely blank.")
        }
        LogCaution::Cell(mistake) => cell(mistake),
        LogCaution::MoreCells { named, cells, listed } => {
            format!("{named} of {cells} such cells are listed here; the JSON answer lists the first {listed}.")
        }
        LogCaution::ShortLog { rows, duration: long } => format!(
            "This is a short log ({}, {}): it may not be representative.",
            count(*rows, "row"),
            duration(*long)
        ),
        LogCaution::Dropouts { readings } => format!(
            "Skipped: {} that are physically impossible (sensor dropout).",
            count(*readings, "coolant reading")
        ),
        LogCaution::ClockSetBack => "The clock was set back within the log; this counts as a gap of unknown length.".into(),
        LogCaution::Session(session) => {
            let lacks = match session.separator {
                Some(separator) => format!(
                    " and another cell separator ({}). Its rows are not read: save it as a file of its own",
                    match separator {
                        '\t' => "tab".to_string(),
                        sign => format!("`{sign}`"),
                    }
                ),
                None if session.coolant => String::new(),
                None => ". It has no coolant column, so its rows are not used".into(),
            };
            format!(
                "Another session begins in line {}, with its own headings{lacks}.",
                session.line
            )
        }
        LogCaution::RowsOfZeros { rows } => format!(
            "Skipped: {} in which nearly all readings are 0, as before the scan tool is connected.",
            count(*rows, "row")
        ),
        LogCaution::RowsAhead { rows } => {
            format!("Dropped: {} with a time far from that of the rows around.", count(*rows, "row"))
        }
        LogCaution::Impossible { signal, readings } => format!(
            "Skipped: {} of {} outside the possible range.",
            count(*readings, "reading"),
            signal.label()
        ),
        LogCaution::ReadingStill { at, duration: long, from } => format!(
            "The coolant reading stayed at {} for {} from {} on with the engine running: either the thermostat held it, or the sensor is stuck.",
            temp(at),
            duration(*long),
            clock(*from)
        ),
        LogCaution::IntakeAir { low, high } => format!(
            "The intake air reads from {} to {}. That cannot be the ambient temperature, so it is not used as such.",
            temp(low),
            temp(high)
        ),
        LogCaution::OneLogOnly { field } => format!(
            "{} has no effect on a table of several logs; it applies to a single log.",
            mention(field)
        ),
        LogCaution::SimulationEnds { at, why } => {
            format!("The simulation ends at {}: {why}.", clock(*at))
        }
        LogCaution::NoAmbient => {
            format!("Ambient temperature is not in the log: state it with {}.", mention("ambient"))
        }
        LogCaution::BoilingIsABand => "Published boiling points of coolants differ by several kelvin, so a band is given; steam pockets at hot spots form earlier. The sensor reads the temperature at its own position, on most vehicles in steps of 1 °C.".into(),
    }
}

/// The text about a table cell that could not be read as it is.
fn cell(mistake: &Mistake) -> String {
    let what = if mistake.dropped { "dropped" } else { "kept" };
    format!(
        "Line {}, column {} (`{}`): found `{}`, expected {}; the row was {what}.",
        mistake.line, mistake.column, mistake.name, mistake.found, mistake.expected
    )
}

/// The safety notes that apply to any work on a fan drive.
pub fn safety() -> Vec<String> {
    hazard::lines(Hazard::GENERAL)
}
