//! How the fan command follows the coolant temperature: it rises with the coolant, falls with hysteresis, and is held
//! in between.

use crate::part::FanControl;

/// Rate of change above which the coolant temperature counts as rising or falling, K/s.
const MOVES: f64 = 1e-4;

/// How the command follows the coolant temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Follow {
    /// The command follows the rising coolant temperature.
    Up,
    /// The command follows the falling coolant temperature, offset by the hysteresis.
    Down,
    /// The command is held at `asked` while the coolant temperature is between `low` and `high` (K).
    Stands { asked: f64, low: f64, high: f64 },
    /// The coolant temperature has left the band from `low` to `high` (K), and the command is still held until the
    /// delay ends at time `until` (s); `up` is true if the temperature rose above the band.
    Waits {
        asked: f64,
        low: f64,
        high: f64,
        until: f64,
        up: bool,
    },
}

impl Follow {
    /// Fan command, 0 to 1, at a coolant temperature `t` (K).
    pub fn asks(self, control: &FanControl, t: f64) -> f64 {
        match self {
            Follow::Up => control.ramp(t),
            Follow::Down => control.ramp(t + control.hysteresis),
            Follow::Stands { asked, .. } | Follow::Waits { asked, .. } => asked,
        }
    }

    /// The state in which the command is held from now on, with the coolant at `t` (K).
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

/// Whether the coolant temperature, which changes at `rate` (K/s), now moves against the direction in which the command
/// follows it.
pub(super) fn turned(way: Option<Follow>, rate: f64) -> bool {
    match way {
        Some(Follow::Up) => rate < -MOVES,
        Some(Follow::Down) => rate > MOVES,
        _ => false,
    }
}
