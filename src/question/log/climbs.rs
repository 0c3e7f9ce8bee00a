//! Climbs of the coolant temperature above the engine's usual warm level, and where the engine runs hot according to
//! them.

use crate::model::log::Signal;
use crate::outcome;
use crate::vary::log::{Certainty, Leg, Pace, RunsHot, Verdict, Where};

/// Number of climbs listed.
const LISTED: usize = 20;

outcome! {
    /// A rise or a fall of the coolant temperature.
    pub struct ClimbLeg {
        /// Start time, counted from the first row.
        from: f64 as Time,
        /// Duration.
        duration: f64 as Time,
        /// Coolant temperature at the start.
        begins: f64 as Temperature = "from",
        /// Coolant temperature at the end.
        ends: f64 as Temperature = "to",
        /// How the vehicle moved during most of the rise or fall: `standing`, `traffic` (standing and crawling),
        /// `moving` or `mixed`.
        place: &'static str = "where",
        /// Mean fan speed.
        fan_speed: f64 as Speed,
        /// Mean fan command.
        fan_command: f64,
        /// Fraction of the time with the air conditioning on.
        air_conditioning: f64,
        /// Mean engine load.
        load: f64,
    }
    beside {
        /// How the vehicle moved during most of the rise or fall.
        at: Where,
        /// Fraction of the time at standstill.
        standing: f64,
    }
}

outcome! {
    /// A rise of the coolant temperature above the engine's usual warm level, and the fall after it.
    pub struct HotClimb {
        /// The rise from that level, or from a later minimum above it; only the part within a stop if that is nearly
        /// all of it.
        rise: ClimbLeg,
        /// The fall after the rise; null if the log ended or had a gap before it.
        fall: Option<ClimbLeg>,
    }
}

outcome! {
    /// Where the engine runs hot, judged by climbs of the coolant temperature above the engine's usual warm level; if
    /// no climb shows it, by means over two-minute intervals.
    pub struct HotClimbs {
        /// Where the engine runs hot: `standing`, `moving` or `both`; `regulated` if thermostat and fan held the
        /// temperature; or `cannot_tell`.
        verdict: &'static str,
        /// Why the verdict is `cannot_tell`; otherwise empty.
        cannot_tell_because: &'static str,
        /// How certain it is that the engine runs hot: `likely` or `sure`; null if it was not found to run hot.
        certainty: Option<&'static str>,
        /// The engine's usual warm level: its most frequent coolant temperature while driving; null if it never settled.
        level: f64 as Temperature,
        /// Temperature that the fan control allows at standstill: the highest from which the coolant fell again while
        /// the vehicle was stopped.
        held: Option<f64> as Temperature,
        /// The climbs that support this conclusion, largest first.
        climbs: Vec<HotClimb>,
    }
    beside {
        /// The conclusion.
        said: Verdict,
    }
}

impl HotClimbs {
    /// Converts the result of the analysis for output.
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

/// Values in JSON: where the engine runs hot, and why that is unknown.
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
            standing: leg.paces[Pace::Standing as usize] / leg.long,
        }
    }
}
