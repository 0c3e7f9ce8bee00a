//! Parses the number at the start of a text that the user entered.

use super::unit::wanted;
use super::{clip, quote};
use crate::quantity::Kind;
use crate::trouble::Trouble;

/// Splits a text into a number and the unit that follows it.
pub(super) fn amount(kind: Kind, text: &str) -> Result<(f64, &str), Trouble> {
    let text = text.trim();
    if text.contains(',') {
        return Err(Trouble::input(
            format!("{} has a comma", quote(text)),
            "a decimal point, and no thousands separator",
        )
        .hint(without_comma(text)));
    }
    let end = number_length(text.as_bytes());
    let (digits, rest) = text.split_at(end);
    let Ok(mut number) = digits.parse::<f64>() else {
        return Err(Trouble::input(
            format!("{} is not a number with its unit", quote(text)),
            wanted(kind),
        ));
    };
    let mut unit = rest.trim_start();
    // A common fraction, as in the hose size `1/2 in`.
    if let Some(below) = rest.strip_prefix('/') {
        let long = below.bytes().take_while(u8::is_ascii_digit).count();
        if let Ok(divisor) = below[..long].parse::<f64>() {
            number /= divisor;
            unit = below[long..].trim_start();
        }
    }
    if number.is_finite() {
        Ok((number, unit))
    } else {
        Err(Trouble::input(
            format!("{} is not a finite number", quote(text)),
            wanted(kind),
        ))
    }
}

/// A hint on how to write a number that contains a comma. If the number also contains a point, whichever comes last is
/// taken as the decimal mark.
fn without_comma(text: &str) -> String {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, ',' | '.' | '+' | '-')))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let whole = |mark| number.replace(mark, "");
    let write = |number: &str| clip(&format!("{number}{unit}"));
    let (before, after) = number.rsplit_once(',').unwrap_or((number, ""));
    match number.rfind('.') {
        Some(point) if point > before.len() => format!("write {}", write(&whole(','))),
        Some(_) => format!("write {}", write(&whole('.').replace(',', "."))),
        None if before.contains(',') => format!("write {}", write(&whole(','))),
        None if after.len() == 3 && !before.trim_start_matches(['+', '-', '0']).is_empty() => {
            format!(
                "write {} or {}, whichever is meant",
                write(&whole(',')),
                write(&number.replace(',', "."))
            )
        }
        None => format!("write {}", write(&number.replace(',', "."))),
    }
}

/// Length in bytes of the decimal number at the start of a text.
fn number_length(text: &[u8]) -> usize {
    let digits = |from: usize| {
        text.iter()
            .skip(from)
            .take_while(|b| b.is_ascii_digit())
            .count()
    };
    let sign = |at: usize| usize::from(matches!(text.get(at), Some(b'+' | b'-')));
    let mut end = sign(0);
    end += digits(end);
    if text.get(end) == Some(&b'.') {
        end += 1 + digits(end + 1);
    }
    if matches!(text.get(end), Some(b'e' | b'E')) {
        let power = end + 1 + sign(end + 1);
        if digits(power) > 0 {
            end = power + digits(power);
        }
    }
    end
}
