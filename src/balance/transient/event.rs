//! Events during a trip: some are reported, others only end an interval of integration.

use crate::balance::follow::{Follow, turned};
use crate::numeric::{NoRoot, falling_root_by_values};
use crate::trouble::Trouble;

/// An event of a trip that is reported.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TripEvent {
    /// The thermostat begins to open.
    ThermostatOpens,
    /// The thermostat is closed again.
    ThermostatShuts,
    /// The thermostat is fully open.
    ThermostatFull,
    /// The thermostat is no longer fully open.
    ThermostatBack,
    /// The fan control begins to raise the fan command.
    FanAsked,
    /// The fan control requests full fan command.
    FanFull,
    /// The coolant temperature has reversed: the command is held.
    CommandStands,
    /// The delay of the fan control has expired, and the command changes again.
    CommandMoves,
    /// The coolant temperature rises above the limit.
    LimitReached,
    /// The coolant temperature falls below the limit.
    LimitLeft,
    /// The coolant may boil: it has reached the lower estimate of its boiling point.
    MayBoil,
    /// The coolant boils: it has reached the upper estimate of its boiling point, and the trip ends.
    Boils,
}

impl TripEvent {
    /// Key of the event in JSON output.
    pub fn key(self) -> &'static str {
        match self {
            TripEvent::ThermostatOpens => "thermostat_opens",
            TripEvent::ThermostatShuts => "thermostat_shuts",
            TripEvent::ThermostatFull => "thermostat_full",
            TripEvent::ThermostatBack => "thermostat_back",
            TripEvent::FanAsked => "fan_asked",
            TripEvent::FanFull => "fan_full",
            TripEvent::CommandStands => "command_stands",
            TripEvent::CommandMoves => "command_moves",
            TripEvent::LimitReached => "limit_reached",
            TripEvent::LimitLeft => "limit_left",
            TripEvent::MayBoil => "may_boil",
            TripEvent::Boils => "boils",
        }
    }

    /// Description of the event.
    pub fn words(self) -> &'static str {
        match self {
            TripEvent::ThermostatOpens => "the thermostat begins to open",
            TripEvent::ThermostatShuts => "the thermostat is closed",
            TripEvent::ThermostatFull => "the thermostat is fully open",
            TripEvent::ThermostatBack => "the thermostat begins to close",
            TripEvent::FanAsked => "the fan command begins to rise",
            TripEvent::FanFull => "the fan command reaches its full value",
            TripEvent::CommandStands => {
                "the coolant temperature reverses, so the fan command is held"
            }
            TripEvent::CommandMoves => "the fan command changes again",
            TripEvent::LimitReached => "the coolant reaches its limit",
            TripEvent::LimitLeft => "the coolant falls below its limit",
            TripEvent::MayBoil => "the coolant may boil from here on",
            TripEvent::Boils => "the coolant boils",
        }
    }
}

/// What the crossing of a threshold means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum What {
    /// The crossing is reported as an event: the first if the temperature rises, the second if it falls; `None` is not
    /// reported.
    Reported(Option<TripEvent>, Option<TripEvent>),
    /// The coolant temperature leaves the band in which the command is held; `true` if upwards.
    Leaves(bool),
    /// The coolant temperature returns to that band before the delay expires.
    Returns,
}

/// Distance, K, by which a steady temperature may waver about a threshold without crossing it: ten times the error
/// permitted in a step.
const WAVERS: f64 = 1e-4;

/// A threshold: a coolant temperature at which an interval of integration ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    /// Coolant temperature of the threshold, K.
    pub(super) at: f64,
    /// Side of the threshold on which the interval begins: 1 above, -1 below.
    pub(super) side: f64,
    pub(super) what: What,
}

impl Edge {
    /// Whether coolant at `t` (K) has crossed the threshold.
    pub(super) fn passed(&self, t: f64) -> bool {
        self.side * (t - self.at) < -WAVERS
    }
}

/// The first event between two moments, each given by time and coolant temperature: its time, and the threshold
/// crossed, or `None` if the coolant temperature reverses. `coolant_at` gives the coolant temperature at any time from
/// `begins`.
pub(super) fn first_event(
    edges: &[Edge],
    watched: Option<Follow>,
    coolant_at: impl Fn(f64) -> f64,
    begins: f64,
    [(time, before), (next, after)]: [(f64, f64); 2],
) -> Result<Option<(f64, Option<Edge>)>, Trouble> {
    let mut first: Option<(f64, Option<Edge>)> = None;
    for edge in edges.iter().filter(|e| e.passed(after)) {
        let ahead = |t| Ok::<_, Trouble>(edge.side * (coolant_at(t) - edge.at));
        let root = match falling_root_by_values(ahead, time, next)? {
            Ok(root) => root,
            Err(NoRoot::Below(_)) if time > begins => time,
            Err(_) => next,
        };
        if first.is_none_or(|(t, _)| root < t) {
            first = Some((root, Some(*edge)));
        }
    }
    let slope = (after - before) / (next - time).max(1e-9);
    if first.is_none() && turned(watched, slope) {
        // The rate of change crosses zero somewhere in this interval or the previous one.
        let wide = 1e-3 * (next - time);
        let back = (2.0 * time - next).max(begins);
        let rises = -slope.signum();
        let root = falling_root_by_values(
            |t| Ok::<_, Trouble>(rises * (coolant_at(t + wide) - coolant_at(t - wide))),
            back + wide,
            next - wide,
        )?;
        first = Some((root.unwrap_or(time).max(time), None));
    }
    Ok(first)
}
