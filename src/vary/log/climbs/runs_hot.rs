//! Whether an engine runs hot, judged by the climbs of its coolant temperature.

use super::{CLEAR, Climb, Leg, Where};
use crate::model::log::Signal;
use crate::vary::log::digest::Digest;
use crate::vary::log::stretch::Pace;

/// Latest switch-on temperature of an electric fan, K: 92 to 100 °C *(common practice, no source)*. A climb that ends
/// below this temperature may end without any cooling by the fan.
const FAN_SWITCH_ON: f64 = 273.15 + 97.0;

/// Minimum duration (s) for a climb that ends below [`FAN_SWITCH_ON`] to count *(engineering assumption)*.
const MIN_DURATION: f64 = 150.0;

/// A climb must exceed the temperature that the control allows by this much, K.
const BEYOND: f64 = 2.5;

/// No fan control allows a higher temperature than this, K *(common practice, no source)*.
const SURELY: f64 = 273.15 + 105.0;

/// Minimum fraction of a climb at one pace to attribute the climb to it.
pub(super) const MAJORITY: f64 = 0.6;

/// How certain it is that the engine runs hot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Certainty {
    /// One climb, or one that ended below the latest switch-on temperature of a fan.
    Likely,
    /// More than one, each clearly above the temperature that the control allows.
    Sure,
}

/// The conclusion from the climbs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// The coolant climbs at standstill or in traffic, and falls on the move.
    Standing(Certainty),
    /// The coolant climbs on the move.
    Moving(Certainty),
    /// The engine runs hot both at standstill and on the move.
    Both(Certainty),
    /// Thermostat and fan held the temperature: the capacity of the radiator is unknown.
    Regulated,
    /// Where the engine runs hot is unknown, with the reason.
    CannotTell(&'static str),
}

/// Where the engine runs hot, and the climbs that show it.
#[derive(Clone, Debug)]
pub struct RunsHot {
    /// The conclusion from the climbs.
    pub verdict: Verdict,
    /// The engine's own warm level, K.
    pub level: f64,
    /// Temperature that the fan control allows at standstill, K: the coolant fell from this temperature while standing.
    /// `None` if the coolant never fell at standstill.
    pub held: Option<f64>,
    /// The climbs that show where the engine runs hot, highest first.
    pub hot: Vec<Climb>,
}

/// Finds where the engine runs hot, from the climbs above its own warm level.
pub fn runs_hot(digest: &Digest) -> RunsHot {
    let climbs = &digest.climbs;
    let plateau = digest.exposure.plateau().map(|p| p.0);
    let level = climbs.level().or(plateau).unwrap_or(f64::NAN);
    let still = |leg: &Leg| leg.place() == Where::Standing;
    let fell_still = |c: &&Climb| c.fall.as_ref().is_some_and(still) && c.crest() > level;
    let held = climbs
        .all
        .iter()
        .filter(fell_still)
        .map(Climb::crest)
        .reduce(f64::max);
    let mut found = RunsHot {
        verdict: Verdict::Regulated,
        level,
        held,
        hot: Vec::new(),
    };
    if level.is_nan() {
        found.verdict = Verdict::CannotTell("the engine never warmed up");
        return found;
    }
    let let_go = held.map_or(level, |h| h.min(SURELY) + BEYOND);
    let beyond = let_go.max(level + CLEAR - 0.5);
    let clear = |c: &&Climb| {
        let still_falls = c.fall.as_ref().is_some_and(still);
        let told = asks_for_fan(c) || c.rise.long >= MIN_DURATION && !still_falls;
        // A climb from cold is a warm-up, however high it ends.
        c.crest() >= beyond && told && c.rise.ends[0] >= level - CLEAR
    };
    let mut hot: Vec<Climb> = climbs.all.iter().filter(clear).copied().collect();
    hot.sort_by(|a, b| b.crest().total_cmp(&a.crest()));
    found.verdict = verdict(digest, &hot);
    found.hot = hot;
    found
}

/// The conclusion from the climbs that show where the engine runs hot.
fn verdict(digest: &Digest, hot: &[Climb]) -> Verdict {
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
    let unknown = digest.exposure.paces[Pace::Unknown as usize];
    match (enough(&standing), enough(&moving)) {
        (true, true) => Verdict::Both(sure(&standing).min_of(sure(&moving))),
        (true, false) => Verdict::Standing(sure(&standing)),
        (false, true) => Verdict::Moving(sure(&moving)),
        (false, false) if hot.is_empty() => Verdict::Regulated,
        _ if unknown * 2.0 > digest.exposure.paces.iter().sum() => {
            Verdict::CannotTell("road speed is not in the log")
        }
        _ => Verdict::CannotTell(
            "it climbed only once, briefly, and not above the switch-on temperature of fans",
        ),
    }
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
    climb.crest() >= FAN_SWITCH_ON || fan_ran(&climb.rise)
}
