//! Parses a cell as a number or a time. All functions work on bytes, because the encoding may be broken.

use jiff::civil::Date;

/// Meaning of points and commas inside a number.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Marks {
    /// Both points and commas are decimal marks.
    #[default]
    Decimal,
    /// Commas separate thousands.
    CommaThousands,
    /// Points separate thousands.
    PointThousands,
}

/// Powers of ten, used as divisors.
const POWERS: [f64; 19] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18,
];

/// Texts for a missing reading.
const MISSING: [&str; 14] = [
    "nan",
    "null",
    "none",
    "n/a",
    "na",
    "no data",
    "nodata",
    "?",
    "inf",
    "-inf",
    "#n/a",
    "unknown",
    "not available",
    "∞",
];

/// Decodes a cell as text; invalid UTF-8 is read as Latin-1.
pub fn text(cell: &[u8]) -> String {
    match std::str::from_utf8(cell) {
        Ok(text) => text.into(),
        Err(_) => cell.iter().map(|b| char::from(*b)).collect(),
    }
}

/// Whether a trimmed cell marks a missing reading.
pub fn missing(cell: &[u8]) -> bool {
    let is = |m: &&str| cell.eq_ignore_ascii_case(m.as_bytes());
    match cell.first() {
        Some(b'0'..=b'9') => false,
        _ => cell.iter().all(|c| *c == b'-') || MISSING.iter().any(is),
    }
}

/// Parses the number at the start of a trimmed cell; returns the number and the rest of the cell.
pub fn number(cell: &[u8], marks: Marks) -> Option<(f64, &[u8])> {
    let (negative, mut at) = match cell.first()? {
        b'-' => (true, 1),
        b'+' => (false, 1),
        _ => (false, 0),
    };
    let (mut digits, mut decimals, mut mantissa) = (0_usize, None, 0_u64);
    while let Some(c) = cell.get(at) {
        match c {
            b'0'..=b'9' => {
                if digits >= 18 {
                    return long(cell);
                }
                mantissa = mantissa * 10 + u64::from(c - b'0');
                digits += 1;
                decimals = decimals.map(|d: usize| d + 1);
            }
            b'.' if marks != Marks::PointThousands && decimals.is_none() => decimals = Some(0),
            b',' if marks != Marks::CommaThousands && decimals.is_none() => decimals = Some(0),
            b'.' | b',' if decimals.is_none() && thousands(cell, at) => {}
            // An apostrophe or a space, also a typographic one, separates thousands, whatever the decimal mark.
            b'\'' | b' ' if decimals.is_none() && thousands(cell, at) => {}
            0xC2 | 0xE2 if decimals.is_none() && wide_blank(cell, at).is_some() => {
                at += wide_blank(cell, at).unwrap_or(1) - 1;
            }
            _ => break,
        }
        at += 1;
    }
    if digits == 0 {
        return None;
    }
    let exact = mantissa as f64 / POWERS.get(decimals.unwrap_or(0)).copied().unwrap_or(1.0);
    let mut value = if negative { -exact } else { exact };
    if let Some(b'e' | b'E') = cell.get(at) {
        let sign = usize::from(matches!(cell.get(at + 1), Some(b'+' | b'-')));
        let end = (at + 1 + sign..cell.len())
            .find(|i| !cell[*i].is_ascii_digit())
            .unwrap_or(cell.len());
        let power = std::str::from_utf8(&cell[at + 1..end])
            .ok()
            .and_then(|p| p.parse::<i32>().ok());
        if let Some(power) = power {
            value *= 10f64.powi(power);
            at = end;
        }
    }
    value.is_finite().then(|| (value, cell[at..].trim_ascii()))
}

/// Length in bytes of a non-ASCII space or apostrophe at position `at`, if it separates thousands.
fn wide_blank(cell: &[u8], at: usize) -> Option<usize> {
    let blanks = ["\u{a0}", "\u{202f}", "\u{2009}", "\u{2019}"];
    let blank = blanks
        .iter()
        .find(|b| cell[at..].starts_with(b.as_bytes()))?;
    thousands(cell, at + blank.len() - 1).then_some(blank.len())
}

/// Whether the sign at a position in a cell may separate thousands: it follows a digit, is followed by exactly three
/// digits, and the cell does not begin with 0.
pub fn thousands(cell: &[u8], at: usize) -> bool {
    let behind = cell[at + 1..].iter().take_while(|c| c.is_ascii_digit());
    let before = cell[..at].iter().rfind(|c| c.is_ascii());
    behind.count() == 3 && before.is_some_and(u8::is_ascii_digit) && cell[0] != b'0'
}

/// Parses a number with more than 18 digits.
fn long(cell: &[u8]) -> Option<(f64, &[u8])> {
    let end = cell
        .iter()
        .position(|c| !matches!(c, b'0'..=b'9' | b'.' | b'-' | b'+' | b'e' | b'E'))
        .unwrap_or(cell.len());
    let value: f64 = std::str::from_utf8(&cell[..end]).ok()?.parse().ok()?;
    value.is_finite().then(|| (value, cell[end..].trim_ascii()))
}

/// The state of a switch: 1 if on, 0 if off; `None` if the cell states neither.
pub fn switch(cell: &[u8]) -> Option<f64> {
    let is = |words: &[&str]| {
        words
            .iter()
            .any(|w| cell.eq_ignore_ascii_case(w.as_bytes()))
    };
    if is(&["on", "yes", "true", "active", "engaged", "ein"]) {
        Some(1.0)
    } else if is(&["off", "no", "false", "inactive", "disengaged", "aus"]) {
        Some(0.0)
    } else {
        None
    }
}

/// Parses raw bytes from the vehicle, written in hexadecimal: `7B`, `0x7B`, `1A F8`, or with the reply header `41 05
/// 7B`.
pub fn bytes(cell: &[u8], id: u8, wanted: usize) -> Option<[u8; 2]> {
    let mut digits = [0_u8; 8];
    let mut many = 0;
    let cell = cell.strip_prefix(b"0x").unwrap_or(cell);
    for c in cell.iter().filter(|c| **c != b' ') {
        *digits.get_mut(many)? = (*c as char).to_digit(16)? as u8;
        many += 1;
    }
    let mut octets = [0_u8; 4];
    for (octet, pair) in octets.iter_mut().zip(digits.chunks(2)) {
        *octet = pair[0] * 16 + pair[1];
    }
    let count = many / 2;
    let from = match (many % 2, count) {
        (0, n) if n == wanted => 0,
        (0, n) if n == wanted + 2 && octets[0] == 0x41 && octets[1] == id => 2,
        _ => return None,
    };
    Some([octets[from], if wanted == 2 { octets[from + 1] } else { 0 }])
}

/// A time of day, or a time within the hour, and the text before and after it in the cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stamp<'a> {
    /// The time in seconds since midnight, or since the full hour.
    pub seconds: f64,
    /// Period after which the clock restarts, s.
    pub period: f64,
    /// Text before: a date, or nothing.
    pub before: &'a [u8],
    /// Text after: a time zone, a year, or nothing.
    pub after: &'a [u8],
}

/// Parses the time in a trimmed cell: `08:24`, `8:24:29 PM`, `2024-05-01T08:24:29.866Z`, `24:29.9` (minutes and
/// seconds). Two groups without a fraction are hours and minutes, or minutes and seconds if `minutes_first`.
pub fn stamp(cell: &[u8], minutes_first: bool) -> Option<Stamp<'_>> {
    let colon = cell.iter().position(|c| *c == b':')?;
    let from = cell[..colon]
        .iter()
        .rposition(|c| !c.is_ascii_digit())
        .map_or(0, |i| i + 1);
    let (groups, count, at, fraction) = groups(cell, from)?;
    if count < 2 {
        return None;
    }
    let of_hour = count == 2 && (fraction || minutes_first);
    let [mut hours, minutes, seconds] = match of_hour {
        true => [0.0, groups[0], groups[1]],
        false => groups,
    };
    let mut after = cell[at..].trim_ascii();
    if let Some(half) = after.get(..2) {
        let afternoon = half.eq_ignore_ascii_case(b"pm");
        if (afternoon || half.eq_ignore_ascii_case(b"am")) && hours <= 12.0 {
            hours = hours % 12.0 + if afternoon { 12.0 } else { 0.0 };
            after = after[2..].trim_ascii();
        }
    }
    // Minutes beyond 59 mean an elapsed time, not a time of day.
    let on = of_hour && minutes >= 60.0;
    if !on && minutes >= 60.0 || seconds >= 61.0 {
        return None;
    }
    // An elapsed time may exceed 24 hours; hours and minutes alone may not.
    if count == 2 && !of_hour && hours >= 24.0 {
        return None;
    }
    let offset = zone(after).unwrap_or(0.0);
    Some(Stamp {
        seconds: hours * 3600.0 + minutes * 60.0 + seconds - offset,
        period: match () {
            () if on => f64::INFINITY,
            () if of_hour => 3600.0,
            () => 86_400.0,
        },
        before: &cell[..from],
        after,
    })
}

/// Parses groups of digits separated by colons; returns their values, their number, the position at which they end, and
/// whether the last one has decimals.
fn groups(cell: &[u8], from: usize) -> Option<([f64; 3], usize, usize, bool)> {
    let mut groups = [0.0; 3];
    let (mut count, mut at, mut fraction) = (0, from, false);
    loop {
        let begin = at;
        let whole;
        (whole, at) = digits(cell, begin, 9);
        if at == begin {
            return None;
        }
        *groups.get_mut(count)? = whole as f64;
        count += 1;
        match cell.get(at) {
            Some(b':') if count < 3 => at += 1,
            // Some tools write a colon before the decimals of a second.
            Some(b'.' | b',' | b':') => {
                let begin = at + 1;
                let parts;
                (parts, at) = digits(cell, begin, 18);
                groups[count - 1] += parts as f64 / POWERS[at - begin];
                fraction = true;
                break;
            }
            _ => break,
        }
    }
    Some((groups, count, at, fraction))
}

/// The number formed by the digits from a position onwards, at most `most` of them, and the position at which they end.
fn digits(cell: &[u8], from: usize, most: usize) -> (u64, usize) {
    let (mut number, mut at) = (0, from);
    for c in cell[from..].iter().take(most) {
        let digit = c.wrapping_sub(b'0');
        if digit > 9 {
            break;
        }
        number = number * 10 + u64::from(digit);
        at += 1;
    }
    (number, at)
}

/// Offset in seconds of a time zone written after a time (`+02:00`, `-0500`), so that daylight saving changes cause no
/// jump.
fn zone(after: &[u8]) -> Option<f64> {
    let (sign, rest) = match after.first()? {
        b'+' => (1.0, &after[1..]),
        b'-' => (-1.0, &after[1..]),
        _ => return None,
    };
    let digits: Vec<u8> = rest.iter().copied().filter(u8::is_ascii_digit).collect();
    let two = |at: usize| -> Option<f64> {
        std::str::from_utf8(digits.get(at..at + 2)?)
            .ok()?
            .parse()
            .ok()
    };
    let only = rest.iter().all(|c| c.is_ascii_digit() || *c == b':');
    only.then_some(())?;
    Some(sign * (two(0)? * 3600.0 + two(2).unwrap_or(0.0) * 60.0))
}

const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];

/// The day number of a date, counted from an arbitrary origin; `texts` are the texts before and after the time. Of the
/// two results, the first applies if the day is written before the month, the second if the month comes first; they are
/// equal if only one order is possible.
pub fn day(texts: [&[u8]; 2]) -> Option<[i64; 2]> {
    let (mut numbers, mut many, mut month) = ([0_i64; 3], 0, None);
    let parts = |i: usize| texts[i].split(|c| !c.is_ascii_alphanumeric());
    // The text after the time holds at most a year; other digits there belong to the time zone.
    let years = parts(1).filter(|p| p.len() == 4);
    for part in parts(0).chain(years).filter(|p| !p.is_empty()) {
        let digits = part.iter().take_while(|c| c.is_ascii_digit()).count();
        if digits > 0 && digits <= 8 && (digits == part.len() || part[digits] == b'T') {
            let value: i64 = std::str::from_utf8(&part[..digits]).ok()?.parse().ok()?;
            if digits == 8 {
                let (y, m, d) = (value / 10_000, value / 100 % 100, value % 100);
                return civil(y, m, d).map(|n| [n; 2]);
            }
            if many < 3 {
                numbers[many] = value;
                many += 1;
            }
        } else if let Some(word) = part.get(..3) {
            month = month.or(MONTHS
                .iter()
                .position(|m| word.eq_ignore_ascii_case(m.as_bytes()))
                .map(|m| m as i64 + 1));
        }
    }
    let year = |y: i64| if y < 100 { y + 2000 } else { y };
    match (month, many) {
        (Some(m), 2 | 3) => {
            let (d, y) = if numbers[0] > 31 {
                (numbers[1], numbers[0])
            } else {
                (numbers[0], numbers[1])
            };
            civil(year(y), m, d).map(|n| [n; 2])
        }
        (None, 3) if numbers[0] > 31 => civil(numbers[0], numbers[1], numbers[2]).map(|n| [n; 2]),
        (None, 3) => {
            let [a, b, y] = numbers;
            let day_first = civil(year(y), b, a);
            let month_first = civil(year(y), a, b);
            Some([day_first.or(month_first)?, month_first.or(day_first)?])
        }
        _ => None,
    }
}

/// The day number of a calendar date, counted from an arbitrary origin; `None` if there is no such date.
fn civil(year: i64, month: i64, day: i64) -> Option<i64> {
    let small = |v: i64| i8::try_from(v).ok();
    let year = i16::try_from(year)
        .ok()
        .filter(|y| (1900..=2200).contains(y))?;
    let date = Date::new(year, small(month)?, small(day)?).ok()?;
    let since = date.since(jiff::civil::date(1900, 1, 1)).ok()?;
    Some(i64::from(since.get_days()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str, marks: Marks) -> Option<f64> {
        number(text.as_bytes(), marks)
            .filter(|n| n.1.is_empty())
            .map(|n| n.0)
    }

    #[test]
    fn numbers_as_people_and_machines_write_them() {
        use Marks::{CommaThousands as Thousands, Decimal, PointThousands};
        for (text, marks, wanted) in [
            ("24", Decimal, Some(24.0)),
            ("-40.0", Decimal, Some(-40.0)),
            ("+3.5", Decimal, Some(3.5)),
            ("96,5", Decimal, Some(96.5)),
            ("1,726", Thousands, Some(1726.0)),
            ("1,234,567.5", Thousands, Some(1_234_567.5)),
            ("90,5", Thousands, None),
            ("1.450", PointThousands, Some(1450.0)),
            ("1.450,5", PointThousands, Some(1450.5)),
            ("1'450", Decimal, Some(1450.0)),
            ("1 450,5", Decimal, Some(1450.5)),
            ("1\u{a0}450", Decimal, Some(1450.0)),
            ("1\u{202f}234\u{202f}567.5", Decimal, Some(1_234_567.5)),
            ("1.5e3", Decimal, Some(1500.0)),
            (".5", Decimal, Some(0.5)),
            ("5.", Decimal, Some(5.0)),
            (
                "12345678901234567890",
                Decimal,
                Some(12_345_678_901_234_567_890.0),
            ),
            ("", Decimal, None),
            ("-", Decimal, None),
            ("abc", Decimal, None),
            ("1.2.3", Decimal, None),
            ("1e999", Decimal, None),
        ] {
            assert_eq!(value(text, marks), wanted, "{text}");
        }
        let (v, rest) = number("24 °C".as_bytes(), Decimal).unwrap();
        assert!((v - 24.0).abs() < 1e-12 && rest == "°C".as_bytes());
    }

    #[test]
    fn times_in_all_their_dress() {
        for (text, wanted) in [
            ("08:24:29.866", 30269.866),
            ("08:24:29,866", 30269.866),
            ("08:24:29:866", 30269.866),
            ("08:24", 30240.0),
            ("8:24:29 PM", 73469.0),
            ("12:00:05 am", 5.0),
            ("24:29.9", 1469.9),
            ("2024-05-01T08:24:29Z", 30269.0),
            ("01/05/2024 08:24:29", 30269.0),
            ("Thu May 02 08:24:29 GMT+02:00 2024", 30269.0),
        ] {
            let found = stamp(text.as_bytes(), false).map(|s| s.seconds);
            assert!((found.unwrap() - wanted).abs() < 1e-9, "{text}: {found:?}");
        }
        // The time zone offset is subtracted, so the time continues across the end of daylight saving.
        for (text, wanted) in [("02:59:59+02:00", 3599.0), ("02:00:00+0100", 3600.0)] {
            let found = stamp(text.as_bytes(), false).unwrap().seconds;
            assert!((found - wanted).abs() < 1e-9, "{text}: {found}");
        }
        for (text, wanted) in [("08:24", 504.0), ("59:59", 3599.0), ("75:10", 4510.0)] {
            let found = stamp(text.as_bytes(), true).unwrap().seconds;
            assert!((found - wanted).abs() < 1e-9, "{text}: {found}");
        }
        assert_eq!(
            stamp(b"24:30", false),
            None,
            "no clock has 24 hours and 30 minutes"
        );
        for text in ["", ":", "8:", "8:99:00", "noon", "12.5", "::::"] {
            assert_eq!(stamp(text.as_bytes(), false), None, "{text}");
        }
    }

    #[test]
    fn days_follow_each_other() {
        let count = |text: &str| day([text.as_bytes(), b""]);
        let next = |a: &str, b: &str| {
            (0..2)
                .map(|i| count(b).unwrap()[i] - count(a).unwrap()[i])
                .collect::<Vec<_>>()
        };
        assert_eq!(
            next("2024-02-28", "2024-03-01"),
            [2, 2],
            "2024 has a leap day"
        );
        assert_eq!(next("2023-12-31", "2024-01-01"), [1, 1]);
        assert_eq!(next("31.12.2023", "01.01.2024"), [1, 1]);
        assert_eq!(next("30-Apr-2024", "1-May-2024"), [1, 1]);
        assert_eq!(next("20240430", "20240501"), [1, 1]);
        assert_eq!(next("01/05/2024", "02/05/2024")[0], 1);
        assert_eq!(next("05/01/2024", "05/02/2024")[1], 1);
        assert_eq!(count("yesterday"), None);
        assert_eq!(
            day([b"Wed May 01", b"GMT+02:00 2024"]),
            count("1 May 2024"),
            "a zone's figures are not a date's"
        );
    }

    #[test]
    fn bytes_with_and_without_the_head_of_a_reply() {
        assert_eq!(bytes(b"7B", 5, 1), Some([0x7B, 0]));
        assert_eq!(bytes(b"41 05 7B", 5, 1), Some([0x7B, 0]));
        assert_eq!(bytes(b"0x1AF8", 12, 2), Some([0x1A, 0xF8]));
        assert_eq!(bytes(b"41 0C 7B", 5, 1), None);
        assert_eq!(bytes(b"7", 5, 1), None);
        assert_eq!(bytes(b"zz", 5, 1), None);
    }
}
