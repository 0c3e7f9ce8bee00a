//! Parses a quantity as users enter it: `1450 psi`, `99 °C`, `700 rpm ± 3%`.

mod number;
#[cfg(test)]
mod tests;
mod unit;

use super::units::Unit;
use super::{Kind, Measure};
use crate::trouble::Trouble;
use number::amount;
pub(super) use unit::{ascii, plain};
use unit::{find, wanted};

/// Marks between a value and the half-width of its uncertainty.
const SPREAD_MARKS: [&str; 3] = ["±", "+/-", "+-"];

/// Marks between a value and its uncertainty factor.
const FACTOR_MARKS: [&str; 6] = ["×/÷", "×÷", "x/÷", "×/", "x/", "*/"];

/// Maximum accepted uncertainty factor.
const MOST_FACTOR: f64 = 100.0;

/// Longer texts are truncated to this many characters in messages.
const SHOWN: usize = 40;

/// Parses a quantity of a given kind, with its uncertainty if present.
///
/// Printed values can be read back: in `640 ± 10 rpm` the unit at the end applies to both numbers. Otherwise, the mark
/// `±`, `+/-` or `+-` is followed by a number in the unit of the value, a number with its own unit, or a percentage of
/// the value. For a fraction, per cent means percentage points: `85 % ± 3 %` means 82 to 88 %. For a temperature the
/// uncertainty is a temperature difference. The mark `×/÷`, `x/` or `*/` is followed by a factor: `2e-8 ×/÷ 3` means
/// 0.67e-8 to 6e-8.
pub fn parse(kind: Kind, text: &str) -> Result<Measure, Trouble> {
    parse_in(kind, text, "")
}

/// Parses a quantity like [`parse`], but takes a number without a unit to be in `unit`, as in a form field that shows
/// its unit.
pub fn parse_in(kind: Kind, text: &str, unit: &str) -> Result<Measure, Trouble> {
    let text: String = text.chars().map(simple).collect();
    let text = text.trim();
    if text.is_empty() {
        return Err(Trouble::input("no value", wanted(kind)));
    }
    let marks = SPREAD_MARKS.iter().map(|m| (m, false));
    let mark = marks
        .chain(FACTOR_MARKS.iter().map(|m| (m, true)))
        .filter_map(|(m, by)| text.find(m).map(|at| (at, std::cmp::Reverse(m.len()), by)))
        .min();
    let (main, rest) = match mark {
        Some((at, long, by)) => (&text[..at], Some((&text[at + long.0..], by))),
        None => (text, None),
    };
    let (number, typed) = amount(kind, main)?;
    let word = match (typed, rest) {
        // A fraction up to 1 needs no unit: 0.85 ± 3 % means 82 to 88 %.
        ("", Some(_)) if kind == Kind::Share && number.abs() <= 1.0 => unit,
        ("", Some((rest, false))) => last_unit(kind, rest).unwrap_or(unit),
        ("", _) => unit,
        _ => typed,
    };
    let unit = find(kind, word)?;
    let value = unit.to_si(kind, number);
    if !value.is_finite() {
        return Err(Trouble::input(
            format!("{} is too large", quote(main)),
            wanted(kind),
        ));
    }
    if value < 0.0 && matches!(kind, Kind::Temperature | Kind::AbsolutePressure) {
        let below = if kind == Kind::Temperature {
            "absolute zero"
        } else {
            "vacuum"
        };
        return Err(Trouble::input(
            format!("{} is below {below}", quote(main)),
            wanted(kind),
        ));
    }
    if kind == Kind::Share && word.is_empty() && !(0.0..=1.0).contains(&number) {
        return Err(Trouble::input(
            format!("{} without a unit", quote(main)),
            "a fraction from 0 to 1, or per cent",
        )
        .hint(format!("write {} % for per cent", clip(main))));
    }
    let spread = match rest {
        Some((rest, true)) => factor(kind, rest, value)?,
        Some((rest, false)) => spread(kind, rest, unit, value)?,
        None => 0.0,
    };
    Ok(Measure {
        value,
        spread,
        factor: rest.is_some_and(|r| r.1),
    })
}

/// Parses the text after `×/÷`: a factor by which the value may be larger or smaller. Returns the value times the
/// logarithm of the factor.
fn factor(kind: Kind, text: &str, value: f64) -> Result<f64, Trouble> {
    let expected = "a factor above 1 and up to 100 without a unit, e.g. ×/÷ 3";
    let found = text.trim().parse::<f64>().ok();
    let found = found.filter(|f| *f > 1.0 && *f <= MOST_FACTOR);
    match found {
        Some(factor) if value > 0.0 && kind != Kind::Temperature => Ok(value * factor.ln()),
        Some(_) => Err(Trouble::input(
            match kind {
                Kind::Temperature => "×/÷ after a temperature".to_string(),
                _ => format!("×/÷ after a {} that is zero or negative", kind.name()),
            },
            "± with a half-width, or a positive value before ×/÷",
        )),
        None => Err(
            Trouble::input(format!("{} after ×/÷", quote(text)), expected)
                .hint("×/÷ 3 means from a third to three times the value"),
        ),
    }
}

/// The unit of the number after `±`, if it also applies to the value before `±`. Per cent does so only for fractions.
fn last_unit(kind: Kind, rest: &str) -> Option<&str> {
    let (_, word) = amount(kind, rest).ok()?;
    let of_value = !word.is_empty() && (kind == Kind::Share || plain(word) != "%");
    of_value.then_some(word)
}

/// Parses the text after `±`. Returns the half-width of the uncertainty, in SI.
fn spread(kind: Kind, text: &str, main: Unit, value: f64) -> Result<f64, Trouble> {
    let expected = "an uncertainty, e.g. ± 3 % or ± 2 with a unit";
    if text.trim().is_empty() {
        return Err(Trouble::input("nothing after ±", expected));
    }
    let (number, word) = amount(kind, text)?;
    if number < 0.0 {
        return Err(Trouble::input(
            format!("the uncertainty {} is negative", quote(text)),
            expected,
        ));
    }
    let spread = if plain(word).is_empty() {
        number * main.factor
    } else if plain(word) == "%" && kind != Kind::Share {
        if kind == Kind::Temperature {
            return Err(Trouble::input(
                "an uncertainty in per cent of a temperature",
                "an uncertainty in degrees, e.g. ± 2 C or ± 3 F",
            )
            .hint("per cent of a temperature would depend on the zero of its scale"));
        }
        number / 100.0 * value.abs()
    } else {
        number * find(kind, word)?.factor
    };
    if spread.is_finite() {
        Ok(spread)
    } else {
        Err(Trouble::input(
            format!("the uncertainty {} is too large", quote(text)),
            expected,
        ))
    }
}

/// The text in a form for messages: shortened, on one line, in backticks.
pub(super) fn quote(text: &str) -> String {
    format!("`{}`", clip(text.trim()))
}

/// The first [`SHOWN`] characters of a text, on one line.
pub(super) fn clip(text: &str) -> String {
    let mut short: String = text
        .chars()
        .take(SHOWN)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text.chars().nth(SHOWN).is_some() {
        short.push('…');
    }
    short
}

/// Replaces typographic minus signs, hyphens and spaces with the characters on the keyboard.
fn simple(c: char) -> char {
    match c {
        '\u{2010}'..='\u{2015}' | '−' | '⁻' | '－' => '-',
        c if c.is_whitespace() => ' ',
        c => c,
    }
}
