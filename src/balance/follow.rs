//! How the fan's control follows the coolant: up, later down, and standing between.

use crate::part::FanControl;

/// The coolant falls (or rises) where it does so faster than this, K/s.
const MOVES: f64 = 1e-4;

/// How the command follows the coolant's temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Follow {
    /// The command follows the coolant up.
    Up,
    /// The command follows the coolant down, later by the hysteresis.
    Down,
    /// The command stands while the coolant lies between two temperatures.
    Stands { asked: f64, low: f64, high: f64 },
    /// The coolant has left them and the delay runs: until when, and upwards or downwards.
    Waits {
        asked: f64,
        low: f64,
        high: f64,
        until: f64,
        up: bool,
    },
}

impl Follow {
    /// Fan command at a coolant temperature `t`, K.
    pub fn asks(self, control: &FanControl, t: f64) -> f64 {
        match self {
            Follow::Up => control.ramp(t),
            Follow::Down => control.ramp(t + control.hysteresis),
            Follow::Stands { asked, .. } | Follow::Waits { asked, .. } => asked,
        }
    }

    /// The command stands from here, with the coolant at `t` (K).
    pub fn stand(self, control: &FanControl, t: f64) -> Follow {
        let asked = self.asks(control, t);
        let turned = match self {
            Follow::Down => t + control.hysteresis,
            _ => t,
        };
        let high = turned.clamp(control.begins, control.full);
        Follow::Stands {
            asked,
            low: if asked <= 0.0 {
                f64::NEG_INFINITY
            } else {
                high - control.hysteresis
            },
            high: if asked >= 1.0 { f64::INFINITY } else { high },
        }
    }
}

/// Whether coolant that changes at a rate (K/s) goes against the way that the command follows.
pub(super) fn turned(way: Option<Follow>, rate: f64) -> bool {
    match way {
        Some(Follow::Up) => rate < -MOVES,
        Some(Follow::Down) => rate > MOVES,
        _ => false,
    }
}
