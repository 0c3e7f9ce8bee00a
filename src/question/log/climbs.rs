//! Climbs above the engine's own warm level, and the conclusion on where the engine runs hot.

use crate::model::log::Signal;
use crate::outcome;
use crate::vary::log::{Certainty, Leg, RunsHot, Verdict, Where};

/// Number of climbs listed.
const LISTED: usize = 20;

outcome! {
    /// A rise or a fall of the coolant.
    pub struct ClimbLeg {
        /// Start, since the first row.
        from: f64 as Time,
        /// Duration.
        duration: f64 as Time,
        /// Coolant temperature at the start.
        begins: f64 as Temperature = "from",
        /// Coolant temperature at the end.
        ends: f64 as Temperature = "to",
        /// Where the vehicle was: `standing`, `traffic`, `moving` or `mixed`.
        place: &'static str = "where",
        /// Mean fan speed.
        fan_speed: f64 as Speed,
        /// Mean fan command.
        fan_command: f64,
        /// Fraction of the time with air conditioning.
        air_conditioning: f64,
        /// Mean engine load.
        load: f64,
    }
    beside {
        /// Where the vehicle was.
        at: Where,
    }
}

outcome! {
    /// A rise of the coolant above its own warm level, and the fall after it.
    pub struct HotClimb {
        /// The rise.
        rise: ClimbLeg,
        /// The fall; null if the log or a gap ends it.
        fall: Option<ClimbLeg>,
    }
}

outcome! {
    /// Where the engine runs hot, by climbs of the coolant temperature above the engine's own warm level.
    pub struct HotClimbs {
        /// `standing`, `moving`, `both` or `regulated`; or `cannot_tell`.
        verdict: &'static str,
        /// Why the log is inconclusive; empty if it is conclusive.
        cannot_tell_because: &'static str,
        /// Certainty: `likely` or `sure`.
        certainty: Option<&'static str>,
        /// The engine's own warm level.
        level: f64 as Temperature,
        /// Temperature that the control allows at standstill: the level from which the coolant fell while the vehicle
        /// was stopped.
        held: Option<f64> as Temperature,
        /// The climbs that support this conclusion, highest first.
        climbs: Vec<HotClimb>,
    }
    beside {
        /// The conclusion from the climbs.
        said: Verdict,
    }
}

impl HotClimbs {
    /// The result of the climbs.
    pub(super) fn of(found: &RunsHot) -> Self {
        let (verdict, cannot_tell_because) = key(&found.verdict);
        let certainty = match found.verdict {
            Verdict::Standing(c) | Verdict::Moving(c) | Verdict::Both(c) => Some(c),
            Verdict::Regulated | Verdict::CannotTell(_) => None,
        };
        let climbs = found.hot.iter().take(LISTED).map(|climb| HotClimb {
            rise: ClimbLeg::of(&climb.rise),
            fall: climb.fall.as_ref().map(ClimbLeg::of),
        });
        Self {
            verdict,
            cannot_tell_because,
            certainty: certainty.map(|c| match c {
                Certainty::Likely => "likely",
                Certainty::Sure => "sure",
            }),
            level: found.level,
            held: found.held,
            climbs: climbs.collect(),
            said: found.verdict,
        }
    }
}

/// The keys in JSON: where the engine runs hot, and why that is unknown.
pub(super) fn key(verdict: &Verdict) -> (&'static str, &'static str) {
    match verdict {
        Verdict::Standing(_) => ("standing", ""),
        Verdict::Moving(_) => ("moving", ""),
        Verdict::Both(_) => ("both", ""),
        Verdict::Regulated => ("regulated", ""),
        Verdict::CannotTell(why) => ("cannot_tell", why),
    }
}

impl ClimbLeg {
    fn of(leg: &Leg) -> Self {
        let at = leg.place();
        Self {
            from: leg.from,
            duration: leg.long,
            begins: leg.ends[0],
            ends: leg.ends[1],
            place: match at {
                Where::Standing => "standing",
                Where::Traffic => "traffic",
                Where::Moving => "moving",
                Where::Mixed => "mixed",
            },
            fan_speed: leg.mean(Signal::FanSpeed),
            fan_command: leg.mean(Signal::FanCommand),
            air_conditioning: leg.mean(Signal::AirConditioning),
            load: leg.mean(Signal::Load),
            at,
        }
    }
}
