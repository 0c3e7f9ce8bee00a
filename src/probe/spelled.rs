//! Parses speeds that were measured without a tachometer: from revolutions counted in a slow-motion video or against a
//! stopwatch, or from the pitch of the fan's tone and the number of blades.

use crate::input::unit::RPM;
use crate::quantity::{Kind, Measure, parse};
use crate::trouble::Trouble;
use std::f64::consts::TAU;

/// Uncertainty of a camera's frame rate, as a fraction: an engineering assumption.
const RATE: f64 = 0.002;
/// Uncertainty of a hand-held stopwatch, start and stop together, s: common practice, no source.
const WATCH: f64 = 0.3;
/// Uncertainty of a tone's frequency, as a fraction: an engineering assumption (an app that shows a spectrum).
const TONE: f64 = 0.01;

const TURNS: &str =
    "counted turns, such as `12 turns in 275 frames at 240 fps` or `20 turns in 31 s`";
const BLADES: &str = "a frequency and the number of blades, such as `118 Hz, 7 blades`";

/// The key of the instrument with which a speed in this text was measured, if the text is not an ordinary quantity;
/// `None` within for turns counted against a watch.
pub fn counted(words: &str) -> Option<Option<&'static str>> {
    speed(words).map(|_| match () {
        () if words.contains("blade") => Some("tone"),
        () if words.contains("frame") => Some(super::BY_PHONE),
        () => None,
    })
}

/// The problem that a point in a speed may part the thousands: a fan that turns 1.140 times a minute stands.
pub fn thousands(words: &str, measure: Measure) -> Option<Trouble> {
    let digits = |n: usize| words.bytes().take(n).all(|b| b.is_ascii_digit());
    let (whole, rest) = words.split_once('.')?;
    let rest = rest.split(|c: char| !c.is_ascii_digit()).next()?;
    let parts = digits(1) && whole.len() == 1 && rest.len() == 3;
    (parts && (RPM..10.0 * RPM).contains(&measure.value)).then(|| {
        let expected = format!(
            "{whole}{rest} without the point, or {whole}.{} with two decimals",
            &rest[..2]
        );
        Trouble::input(
            format!("`{whole}.{rest}` could mean {whole}{rest} or a little more than {whole}"),
            expected,
        )
    })
}

/// Parses a speed given as counted revolutions or as the frequency of a tone, and estimates its ±; `None` if the text
/// is an ordinary quantity.
pub(super) fn speed(words: &str) -> Option<Result<Measure, Trouble>> {
    if words.contains("turn") {
        return Some(turns(words).ok_or_else(|| {
            Trouble::input(format!("`{words}`"), TURNS)
                .hint("count the frames from the start of the first turn to the end of the last")
        }));
    }
    if words.contains("blade") {
        return Some(tone(words).ok_or_else(|| {
            Trouble::input(format!("`{words}`"), BLADES)
                .hint("give the lowest strong frequency of the tone; twice that frequency is only a harmonic")
        }));
    }
    None
}

/// Parses a positive number that is followed by one of these words.
fn number(words: &str, before: &[&str]) -> Option<f64> {
    let mut parts = words.split_whitespace();
    let first = parts.next()?;
    let second = parts.next().unwrap_or_default();
    let value: f64 = first.parse().ok()?;
    let fits = before.contains(&second) && parts.next().is_none();
    (fits && value.is_finite() && value > 0.0).then_some(value)
}

fn turns(words: &str) -> Option<Measure> {
    let (count, rest) = words.split_once(" in ")?;
    let count = number(count, &["turns", "turn"])?;
    let (seconds, error) = match rest.split_once(" at ") {
        Some((frames, rate)) => {
            let frames = number(frames, &["frames", "frame"])?;
            let rate = number(rate, &["fps", "frames/s"])?;
            // Start and end are each known to within one frame.
            (frames / rate, (1.0 / frames).hypot(RATE))
        }
        None => {
            let time = parse(Kind::Time, rest).ok()?.value;
            (time, WATCH / time)
        }
    };
    let value = TAU * count / seconds;
    (value.is_finite() && value < 1e4 * RPM).then(|| Measure::within(value, value * error))
}

fn tone(words: &str) -> Option<Measure> {
    let (tone, blades) = words.split_once(',')?;
    let tone = parse(Kind::Speed, tone.trim()).ok()?;
    let blades = number(blades.trim(), &["blades", "blade"])?;
    let whole = (blades - blades.round()).abs() < 1e-9 && (1.0..=20.0).contains(&blades);
    let error = match tone.spread > 0.0 {
        true => tone.spread,
        false => TONE * tone.value,
    };
    (whole && tone.value > 0.0).then(|| Measure::within(tone.value / blades, error / blades))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 12 revolutions in 275 frames of 1/240 s are 12·240/275 revolutions per second; a tone of 118 Hz from 7 blades
    /// means 118/7 revolutions per second.
    #[test]
    fn turns_and_tones_as_by_hand() {
        let read = |words: &str| speed(words).unwrap().unwrap();
        let by_hand = [
            (
                "12 turns in 275 frames at 240 fps",
                12.0 * 240.0 / 275.0 * 60.0,
            ),
            ("20 turns in 31 s", 20.0 / 31.0 * 60.0),
            ("118 Hz, 7 blades", 118.0 / 7.0 * 60.0),
        ];
        for (words, rpm) in by_hand {
            let measure = read(words);
            assert!((measure.value / RPM - rpm).abs() < 1e-6 * rpm, "{words}");
            assert!(measure.spread > 0.0 && measure.spread < 0.02 * measure.value);
        }
        assert!(speed("640 rpm ± 10 rpm").is_none());
        for wrong in [
            "12 turns",
            "0 turns in 3 s",
            "118 Hz, 7.5 blades",
            "x Hz, 7 blades",
            "12 turns in 275 frames",
        ] {
            assert!(speed(wrong).unwrap().is_err(), "{wrong}");
        }
    }
}
