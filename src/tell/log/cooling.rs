//! When the engine runs hot: the cooling at each pace of driving.

use super::super::Presentation;
use super::super::answer::{Block, Next, Table};
use super::super::hazard;
use super::super::words::duration;
use crate::model::log::Signal;
use crate::probe;
use crate::quantity::{Kind, Units};
use crate::question::log::{AtPace, ClimbLeg, FUEL, FULL_FROM, Found, HotClimbs, Log};
use crate::question::{mention, suspects};
use crate::vary::log::{Certainty, TURN, Verdict, Where, unthrottled};

/// A temperature with a larger ± than this, K, is marked as varying.
const VARIED: f64 = 10.0;

/// A larger fraction of the time counts as all of it.
const ALL: f64 = 0.95;

pub(super) fn tell(told: &mut Presentation, request: &Log, found: &Found) {
    let (units, lines) = (request.units, &found.paces);
    let known = lines.iter().any(|l| l.conductance.is_some());
    told.show(Block::Heading("Where it runs hot".into()));
    if found.compare.is_some() {
        told.say(why(units, found));
    }
    // If the heat flow is unknown, the rate of temperature rise is compared instead.
    let last = if known {
        "heat per kelvin"
    } else {
        "rise per minute"
    };
    let heads = ["pace", "of the time", "coolant", "above ambient", last];
    told.show(Block::Table(Table {
        title: "Warm engine, by pace (± covers about 95 of 100 cases; “about”: large variation)"
            .into(),
        heads: heads.map(String::from).to_vec(),
        rows: lines.iter().map(|l| row(units, l, known)).collect(),
        numeric: vec![1, 2, 3, 4],
    }));
    told.say(of_heat(request, found, known));
    if known {
        let rule = match request.full_from {
            Some(_) => "as stated".to_string(),
            None => format!(
                "5 °C above the engine's most frequent temperature (engineering assumption, and too low for an engine that stays cool: set it with {})",
                FULL_FROM.mention()
            ),
        };
        told.say(format!(
            "The thermostat is assumed to be fully open, and the fan fully on, from {}, {rule}.",
            units.show(Kind::Temperature, found.full_from)
        ));
    }
}

/// Says whether the engine runs hot at standstill or on the move, and how certain that is; `None` if it does not run hot.
pub(super) fn lead(hot: &Verdict) -> Option<String> {
    let (certainty, at) = match hot {
        Verdict::Standing(c) => (c, "at standstill"),
        Verdict::Moving(c) => (c, "on the move"),
        Verdict::Both(c) => (c, "both at standstill and on the move"),
        Verdict::Regulated | Verdict::CannotTell(_) => return None,
    };
    Some(match certainty {
        Certainty::Likely => format!("It probably runs hot {at}"),
        Certainty::Sure => format!("It runs hot {at}"),
    })
}

/// The reason for the verdict: the largest climb, or else what the means show.
pub(super) fn why(units: Units, found: &Found) -> String {
    let hot = &found.runs_hot;
    let by_means = || {
        match hot.said {
        Verdict::Standing(_) => "On average it runs hotter at standstill and when crawling than on the move, by more than the error.".into(),
        Verdict::Moving(_) => "On average it runs hotter on the move than at standstill, by more than the error.".into(),
        Verdict::Both(_) => "It stays hot both at standstill and on the move.".into(),
        Verdict::Regulated => regulated(units, found),
        Verdict::CannotTell(why) => format!("This log cannot tell whether it runs hot at standstill or on the move: {why}."),
    }
    };
    largest(units, hot).unwrap_or_else(by_means)
}

/// Says how far the coolant rose above its usual level, and what held it.
fn regulated(units: Units, found: &Found) -> String {
    let (hot, peak) = (&found.runs_hot, found.drive.0.peak_coolant);
    let held = match hot.held {
        Some(held) if held > hot.level + TURN => format!(
            "and fell at standstill from up to {}, as if held by thermostat and fan",
            units.show(Kind::Temperature, held)
        ),
        _ => "as if held by a thermostat".into(),
    };
    format!(
        "The coolant rose at most {} above its usual level of {}, {held}. The log therefore does not show the cooling reserve, at standstill or on the move.",
        units.show(Kind::TemperatureDifference, (peak - hot.level).max(0.0)),
        units.show(Kind::Temperature, hot.level),
    )
}

/// What to check next; `None` if the engine does not run hot.
pub(super) fn next(hot: &Verdict) -> Option<Next> {
    const FAN: &str = "the fan, its drive and its control";
    const CORE: &str = "the radiator, the coolant flow and any blockage of the air";
    let parts = match hot {
        Verdict::Standing(_) => FAN.to_string(),
        Verdict::Moving(_) => {
            return Some(
                format!("{CORE} (common practice, no source).")
                    .as_str()
                    .into(),
            );
        }
        Verdict::Both(_) => format!("{FAN}; also {CORE}"),
        Verdict::Regulated | Verdict::CannotTell(_) => return None,
    };
    let probe = probe::find("fan-speed-idle-hot").ok()?;
    let words = format!(
        "{parts} (common practice, no source). Begin with the {}. {} Then {} weighs the causes.",
        probe.name,
        probe.how,
        mention(suspects::QUESTION.key)
    );
    Some(Next {
        words,
        cautions: hazard::lines(probe.hazards),
        question: suspects::QUESTION.key,
        ..Next::default()
    })
}

/// Describes the largest climb of the coolant above the engine's usual temperature, if climbs show that it runs hot.
fn largest(units: Units, hot: &HotClimbs) -> Option<String> {
    hot.certainty?;
    let climb = hot.climbs.first()?;
    let at = |leg: &ClimbLeg| match leg.at {
        Where::Standing if leg.standing < ALL => "mostly at standstill",
        Where::Standing => "at standstill",
        Where::Traffic => "in traffic",
        Where::Moving => "on the move",
        Where::Mixed => "at changing speeds",
    };
    let rise = &climb.rise;
    let fell = climb.fall.as_ref();
    let fell = fell.map_or(String::new(), |f| format!(", and fell {}", at(f)));
    Some(format!(
        "In its largest climb above the usual level of {} the coolant rose by {} in {} {}{fell}.{}",
        units.show(Kind::Temperature, hot.level),
        units.show(Kind::TemperatureDifference, rise.ends - rise.begins),
        duration(rise.duration),
        at(rise),
        beside(units, rise),
    ))
}

/// Says what fan, air conditioning and load were during a climb, as far as they were logged.
fn beside(units: Units, rise: &ClimbLeg) -> String {
    let share = |name: &str, v: f64| format!("{name} {}", units.show(Kind::Share, v));
    let on = match rise.air_conditioning {
        v if v > ALL => "air conditioning on".to_string(),
        v if v < 1.0 - ALL => "air conditioning off".to_string(),
        v => share("air conditioning on for", v),
    };
    let all = [
        (
            rise.fan_speed,
            format!("fan {}", units.show(Kind::Speed, rise.fan_speed)),
        ),
        (rise.fan_command, share("fan command", rise.fan_command)),
        (rise.air_conditioning, on),
        (rise.load, share("engine load", rise.load)),
    ];
    let known = all.into_iter().filter(|v| v.0.is_finite()).map(|v| v.1);
    let known: Vec<String> = known.collect();
    match known.is_empty() {
        true => String::new(),
        false => format!(" Meanwhile, on average: {}.", known.join(", ")),
    }
}

/// Says where the heat in the table comes from, or why it is unknown.
fn of_heat(request: &Log, found: &Found, known: bool) -> String {
    let why = found.heat_unknown_because;
    if !why.is_empty() {
        let open = request.fuel.is_none()
            && found.log.knows(Signal::AirFlow)
            && unthrottled(&found.log).is_none();
        let open = match open {
            true => format!(
                " If the engine burns petrol, {} petrol computes the fuel from the air flow.",
                FUEL.mention()
            ),
            false => String::new(),
        };
        return format!(
            "The heat into the coolant is unknown: {why}. The table therefore compares temperatures only.{open}"
        );
    }
    if known {
        return "The last column is the heat per kelvin above ambient, if 25 ± 5 % of the fuel's heat goes to the coolant (common practice, no source). That fraction is larger at idle (about 40 % in an engine model) than under load. The true value at standstill may therefore be half as high again, and the ratio between two paces is equally uncertain. Two logs can be compared more accurately at the same pace: there the stated ± applies. “At least” means that the thermostat was not yet fully open, or the fan not yet fully on.".into();
    }
    "Heat per kelvin is not available. It requires three stretches of two minutes with nearly steady coolant, at the same pace for two minutes before and after. It also requires the ambient temperature, and the fuel flow or air flow of the engine.".into()
}

fn row(units: Units, line: &AtPace, known: bool) -> Vec<String> {
    let mean = |kind, mean: Option<f64>, half: Option<f64>| match (mean, half) {
        (Some(mean), Some(half)) if half > VARIED && kind != Kind::Conductance => {
            format!("about {}", units.show(kind, mean))
        }
        (Some(mean), Some(half)) => units.show_spread(kind, mean, half),
        _ => "–".into(),
    };
    let held = line.conductance.is_some() && !line.thermostat_full_open;
    let difference = Kind::TemperatureDifference;
    let last = if known {
        let least = if held { "at least " } else { "" };
        let conductance = mean(
            Kind::Conductance,
            line.conductance,
            line.conductance_half_width,
        );
        format!("{least}{conductance}")
    } else {
        mean(difference, line.rise, line.rise_half_width)
    };
    vec![
        line.pace.label().to_string(),
        units.show(Kind::Share, line.time_share),
        mean(Kind::Temperature, line.coolant, line.coolant_half_width),
        mean(
            difference,
            line.above_ambient,
            line.above_ambient_half_width,
        ),
        last,
    ]
}
