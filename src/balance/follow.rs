//! How the fan command follows the coolant temperature: upwards, downwards with hysteresis, and held in between.

use crate::part::FanControl;

/// Rate above which the coolant temperature counts as rising or falling, K/s.
const MOVES: f64 = 1e-4;

/// How the command follows the coolant temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Follow {
    /// The command follows the rising coolant temperature.
    Up,
    /// The command follows the falling coolant temperature, offset by the hysteresis.
    Down,
    /// The command is held while the coolant is between two temperatures.
    Stands { asked: f64, low: f64, high: f64 },
    /// The coolant has left the band in which the command is held, and the delay is running: `until` is its end, `up`
    /// whether the coolant left upwards.
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

    /// Holds the command from now on, with the coolant at `t` (K).
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

/// Whether the coolant temperature, changing at a rate (K/s), has reversed relative to the direction in which the
/// command follows it.
pub(super) fn turned(way: Option<Follow>, rate: f64) -> bool {
    match way {
        Some(Follow::Up) => rate < -MOVES,
        Some(Follow::Down) => rate > MOVES,
        _ => false,
    }
}
