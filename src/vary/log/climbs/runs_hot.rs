//! Whether an engine runs hot: by the climbs of its coolant temperature; if none shows it, by means at each pace.

use super::{CLEAR, Climb, Leg, Where};
use crate::model::log::Signal;
use crate::vary::log::cooling::{STEADY, SURELY_OPEN};
use crate::vary::log::digest::Digest;
use crate::vary::log::interval::interval;
use crate::vary::log::stretch::{Pace, Stretch};

/// Latest switch-on temperature of an electric fan, K: 92 to 100 °C *(common practice, no source)*. A climb that ends
/// below this temperature may end without any cooling by the fan.
const FAN_SWITCH_ON: f64 = 273.15 + 97.0;

/// Minimum duration (s) for a climb that ends below [`FAN_SWITCH_ON`] to count *(engineering assumption)*.
const MIN_DURATION: f64 = 150.0;

/// A climb must exceed the temperature that the control allows by this much, K.
const BEYOND: f64 = 2.5;

/// Below this, K, no mean is hot *(common practice, no source)*.
const HOT: f64 = 273.15 + 100.0;

/// Difference of means, K, within the resolution of a sensor.
const SAME: f64 = 1.5;

/// No fan control allows a higher temperature than this, K *(common practice, no source)*.
pub(super) const SURELY: f64 = 273.15 + 105.0;

const NO_SPEED: &str = "the log does not contain the road speed";

/// Minimum fraction of a climb at one pace to attribute the climb to it.
pub(super) const MAJORITY: f64 = 0.6;

/// How certain it is that the engine runs hot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Certainty {
    /// One climb, or one that ended below the latest switch-on temperature of a fan; or by means only.
    Likely,
    /// More than one, each clearly above the temperature that the control allows.
    Sure,
}

/// Where the engine runs hot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// At standstill or in traffic: depends on the fan.
    Standing(Certainty),
    /// On the move: depends on the radiator.
    Moving(Certainty),
    /// Both at standstill and on the move.
    Both(Certainty),
    /// Thermostat and fan held the temperature: the capacity of the radiator is unknown.
    Regulated,
    /// Where the engine runs hot is unknown, with the reason.
    CannotTell(&'static str),
}

/// Where the engine runs hot, and the climbs that show it.
#[derive(Clone, Debug)]
pub struct RunsHot {
    /// The conclusion.
    pub verdict: Verdict,
    /// The engine's own warm level, K.
    pub level: f64,
    /// Temperature that the fan control allows at standstill, K: the coolant fell from this temperature while standing.
    /// `None` if the coolant never fell at standstill.
    pub held: Option<f64>,
    /// The climbs that show where the engine runs hot, largest first.
    pub hot: Vec<Climb>,
}

/// Finds where the engine runs hot: from the climbs above its own warm level; if these do not show it, from means.
/// `full` is the result of [`all_given_from`](crate::vary::log::all_given_from), K.
pub fn runs_hot(digest: &Digest, full: f64) -> RunsHot {
    let settled = digest.climbs.level().or(digest.exposure.settled());
    let level = settled.unwrap_or(f64::NAN);
    let held = digest.climbs.held(level);
    let mut found = RunsHot {
        verdict: Verdict::CannotTell("the engine never warmed up"),
        level,
        held,
        hot: Vec::new(),
    };
    if digest.withdrawn() {
        found.verdict = Verdict::CannotTell("too many readings are missing or unusable");
        return found;
    }
    if digest.exposure.plateau().is_none() {
        return found;
    }
    let let_go = held.map_or(level, |h| h.min(SURELY) + BEYOND);
    let beyond = let_go.max(level + CLEAR - 0.5);
    let still = |leg: &Leg| leg.place() == Where::Standing;
    // Without a fall at standstill it is unknown whether the fan had to switch on below its latest temperature.
    let clear = |c: &Climb| {
        let still_falls = c.fall.as_ref().is_some_and(still);
        asks_for_fan(c) || held.is_some() && c.rise.long >= MIN_DURATION && !still_falls
    };
    found.hot = digest.climbs.above(level);
    found.hot.retain(|c| c.crest >= beyond);
    let unclear = !found.hot.is_empty();
    found.hot.retain(clear);
    found
        .hot
        .sort_by(|a, b| b.rise.height().total_cmp(&a.rise.height()));
    found.verdict = match by_climbs(digest, &found.hot) {
        Some(verdict) => verdict,
        None if settled.is_none() => {
            Verdict::CannotTell("the coolant temperature never settled for some minutes")
        }
        None if unclear => Verdict::CannotTell(
            "the coolant temperature rose, but not to where every fan switches on",
        ),
        None if held.is_none() && peak(digest) >= beyond => Verdict::CannotTell(
            "the coolant temperature rose above its usual level only in the warm-up",
        ),
        // A level that was only held at standstill may itself be too hot.
        None if level >= HOT && digest.climbs.level().is_none() => {
            Verdict::CannotTell("the log does not show the usual temperature on the move")
        }
        None => Verdict::Regulated,
    };
    let unknown = matches!(found.verdict, Verdict::Regulated | Verdict::CannotTell(_));
    // Up to a temperature from which the coolant fell at standstill, thermostat and fan regulate.
    if unknown && held.is_none_or(|_| peak(digest) >= beyond) {
        found.verdict = by_means(digest, full).unwrap_or(found.verdict);
    }
    found
}

/// The conclusion from warm stretches at standstill or crawling versus warm stretches on the move; `None` if the coolant
/// was never hot.
fn by_means(digest: &Digest, full: f64) -> Option<Verdict> {
    if peak(digest) < HOT.max(full).min(SURELY_OPEN) {
        return None;
    }
    if speed_unknown(digest) {
        return Some(Verdict::CannotTell(NO_SPEED));
    }
    let coolant = |s: &Stretch| s.mean(Signal::Coolant);
    let at = |paces: [Pace; 2]| {
        let all = digest.stretches.all.iter();
        let at = all.filter(|s| s.warm() && paces.contains(&s.pace));
        at.collect::<Vec<&Stretch>>()
    };
    let sides = [
        at([Pace::Standing, Pace::Crawling]),
        at([Pace::Slow, Pace::Fast]),
    ];
    let mean = |side: &[&Stretch]| {
        let all: Vec<f64> = side.iter().map(|s| coolant(s)).collect();
        interval(&all)
    };
    let (Some(still), Some(moving)) = (mean(&sides[0]), mean(&sides[1])) else {
        return Some(Verdict::CannotTell(
            "there are fewer than three warm stretches of two minutes either standing or moving",
        ));
    };
    // A difference within the sensor's resolution or within the error counts as none.
    if still.apart(&moving) && (still.mean - moving.mean).abs() > SAME {
        return Some(if still.mean > moving.mean {
            Verdict::Standing(Certainty::Likely)
        } else {
            Verdict::Moving(Certainty::Likely)
        });
    }
    // Where the coolant falls, it is still hot from the pace before.
    let hot = |s: &&Stretch| coolant(s) >= HOT && s.slope >= -STEADY;
    Some(if sides.iter().all(|side| side.iter().any(hot)) {
        Verdict::Both(Certainty::Likely)
    } else {
        Verdict::CannotTell("the difference between standing and moving is within its error")
    })
}

/// Whether the road speed is unknown most of the time.
fn speed_unknown(digest: &Digest) -> bool {
    let paces = &digest.exposure.paces;
    paces[Pace::Unknown as usize] * 2.0 > paces.iter().sum()
}

/// The highest coolant temperature, K.
fn peak(digest: &Digest) -> f64 {
    digest.exposure.peak.map_or(f64::NAN, |p| p.0)
}

/// The conclusion from the climbs that show where the engine runs hot; `None` without any.
fn by_climbs(digest: &Digest, hot: &[Climb]) -> Option<Verdict> {
    let of = |wanted: &[Where]| -> Vec<&Climb> {
        hot.iter()
            .filter(|c| wanted.contains(&c.rise.place()))
            .collect()
    };
    let standing = of(&[Where::Standing, Where::Traffic]);
    let moving = of(&[Where::Moving]);
    let sure = |climbs: &[&Climb]| {
        let asked = climbs.iter().filter(|c| asks_for_fan(c)).count();
        if asked >= 2 {
            Certainty::Sure
        } else {
            Certainty::Likely
        }
    };
    // Two climbs that end below the latest switch-on temperature of a fan, or one that ends above it or with the fan
    // commanded on.
    let enough = |climbs: &[&Climb]| climbs.len() >= 2 || climbs.iter().any(|c| asks_for_fan(c));
    Some(match (enough(&standing), enough(&moving)) {
        (true, true) => Verdict::Both(sure(&standing).min_of(sure(&moving))),
        (true, false) => Verdict::Standing(sure(&standing)),
        (false, true) => Verdict::Moving(sure(&moving)),
        (false, false) if hot.is_empty() => return None,
        _ if speed_unknown(digest) => Verdict::CannotTell(NO_SPEED),
        _ => Verdict::CannotTell(
            "the coolant temperature rose only once, and not to where fans switch on",
        ),
    })
}

impl Certainty {
    fn min_of(self, other: Self) -> Self {
        match (self, other) {
            (Self::Sure, Self::Sure) => Self::Sure,
            _ => Self::Likely,
        }
    }
}

/// Whether the log shows the fan commanded on during a leg.
fn fan_ran(leg: &Leg) -> bool {
    leg.mean(Signal::FanCommand) >= 0.8
}

/// Whether the fan had to run at the end of a climb.
fn asks_for_fan(climb: &Climb) -> bool {
    climb.crest >= FAN_SWITCH_ON || fan_ran(&climb.rise)
}
