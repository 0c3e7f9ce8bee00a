//! Formats numbers as short text, and finds round numbers for an axis.

/// Larger values are not drawn, because their differences could overflow.
const LARGEST: f64 = 1e100;

/// Whether a value can be drawn.
pub(super) fn drawable(value: f64) -> bool {
    value.is_finite() && value.abs() < LARGEST
}

/// A value to three significant digits, but always with all digits before the decimal point.
pub(super) fn figure(value: f64) -> String {
    let size = value.abs();
    if !value.is_finite() {
        return "–".into();
    }
    if size == 0.0 {
        return "0".into();
    }
    if !(1e-3..1e7).contains(&size) {
        return short_exponent(value);
    }
    let decimals = (2 - size.log10().floor() as i32).max(0) as usize;
    trimmed(format!("{value:.decimals$}"))
}

/// The text of a tick, with as many decimals as the step between ticks requires.
pub(super) fn tick(value: f64, step: f64) -> String {
    if value.abs() < step * 1e-6 {
        return "0".into();
    }
    if !(1e-4..1e6).contains(&step) && !(1e-3..1e6).contains(&value.abs()) {
        return short_exponent(value);
    }
    let decimals = (-(step * 1.000_001).log10().floor()).clamp(0.0, 8.0) as usize;
    format!("{value:.decimals$}")
}

/// The text of a tick on a logarithmic axis.
pub(super) fn log_tick(value: f64) -> String {
    if (1e-3..1e6).contains(&value) {
        trimmed(format!("{value:.6}"))
    } else {
        short_exponent(value)
    }
}

/// A number in exponential notation with up to two decimals.
fn short_exponent(value: f64) -> String {
    let text = format!("{value:.2e}");
    match text.split_once('e') {
        Some((mantissa, exponent)) => format!("{}e{exponent}", trimmed(mantissa.into())),
        None => text,
    }
}

/// A number without trailing zeros after the decimal point.
fn trimmed(text: String) -> String {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').into()
    } else {
        text
    }
}

/// The smallest and largest of the drawable values.
pub(super) fn ends(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values
        .into_iter()
        .filter(|v| drawable(*v))
        .fold(None, |ends, v| match ends {
            None => Some((v, v)),
            Some((low, high)) => Some((low.min(v), high.max(v))),
        })
}

/// A range that is never empty: a single value gets a margin on both sides.
pub(super) fn widened((low, high): (f64, f64)) -> (f64, f64) {
    let size = low.abs().max(high.abs());
    if high - low > size * 1e-9 {
        return (low, high);
    }
    let room = if size > 0.0 { size * 0.1 } else { 1.0 };
    (low - room, high + room)
}

/// The round step that divides a range into about `pieces` intervals.
pub(super) fn step(low: f64, high: f64, pieces: f64) -> f64 {
    let rough = (high - low) / pieces;
    let power = 10f64.powf(rough.log10().floor());
    let lead = rough / power;
    let round = match lead {
        l if l < 1.5 => 1.0,
        l if l < 3.5 => 2.0,
        l if l < 7.5 => 5.0,
        _ => 10.0,
    };
    round * power
}

/// The multiples of `step` from `low` to `high`.
pub(super) fn multiples(low: f64, high: f64, step: f64) -> Vec<f64> {
    let first = (low / step - 1e-6).ceil();
    let last = (high / step + 1e-6).floor();
    if !(first.is_finite() && last.is_finite()) || last - first > 1000.0 {
        return Vec::new();
    }
    (0..=(last - first).max(-1.0) as i64)
        .map(|i| (first + i as f64) * step)
        .collect()
}

/// The round numbers 1, 2, 5 times a power of ten from `low` to `high`, thinned out if there are many; plain multiples
/// if the range is too short for them.
pub(super) fn log_ticks(low: f64, high: f64) -> Vec<f64> {
    let decades = (high / low).log10();
    let leads: &[f64] = match decades {
        d if d <= 2.6 => &[1.0, 2.0, 5.0],
        d if d <= 5.0 => &[1.0, 3.0],
        _ => &[1.0],
    };
    let every = (decades / 8.0).ceil().max(1.0) as i32;
    let (first, last) = (low.log10().floor() as i32, high.log10().ceil() as i32);
    let ticks: Vec<f64> = (first..=last)
        .filter(|power| power.rem_euclid(every) == 0)
        .flat_map(|power| leads.iter().map(move |lead| lead * 10f64.powi(power)))
        .filter(|v| (low * (1.0 - 1e-9)..=high * (1.0 + 1e-9)).contains(v))
        .collect();
    if ticks.len() >= 3 {
        ticks
    } else {
        multiples(low, high, step(low, high, 5.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_short() {
        for (value, text) in [
            (0.0, "0"),
            (2400.0, "2400"),
            (12.3456, "12.3"),
            (-0.012345, "-0.0123"),
            (1e9, "1e9"),
            (f64::NAN, "–"),
            (100.0, "100"),
        ] {
            assert_eq!(figure(value), text);
        }
    }

    #[test]
    fn ticks_are_round_and_inside() {
        assert_eq!(tick(step(0.0, 97.0, 5.0), 1.0), "20");
        assert_eq!(multiples(-15.0, 25.0, 10.0), [-10.0, 0.0, 10.0, 20.0]);
        assert_eq!(log_ticks(5.0, 120.0), [5.0, 10.0, 20.0, 50.0, 100.0]);
        assert_eq!(log_ticks(1.0, 1e12).len(), 7);
        assert!(log_ticks(40.0, 44.0).len() >= 3);
        assert_eq!(
            [tick(0.3, 0.1), tick(250.0, 50.0), tick(2e9, 1e9)],
            ["0.3", "250", "2e9"]
        );
    }

    #[test]
    fn a_lone_value_gets_room() {
        for v in [0.0, 5.0, -5.0, 1e-30, 1e90] {
            let (low, high) = widened((v, v));
            assert!(low < v && v < high);
        }
    }
}
