//! Finds the unit that the user means, in any spelling.

use super::{clip, quote, simple};
use crate::quantity::Kind;
use crate::quantity::units::{UNITS, Unit};
use crate::trouble::{Trouble, near};

/// Suffixes of a pressure unit that state the reference pressure, and whether each means absolute pressure.
const REFERENCES: [(&str, bool); 8] = [
    ("absolute", true),
    ("abs", true),
    ("a", true),
    ("gauge", false),
    ("gage", false),
    ("g", false),
    ("diff", false),
    ("d", false),
];

/// Unit symbols, each with the words that it replaces. A word that is not listed here stays as it is.
const WORDS: &[(&str, &[&str])] = &[
    ("/", &["per"]),
    ("", &["deg", "degs", "degree", "degrees", "of"]),
    ("%", &["percent", "pct"]),
    ("A", &["amp", "amps", "ampere", "amperes"]),
    ("bar", &["bars"]),
    ("C", &["celsius", "centigrade"]),
    (
        "cm3",
        &[
            "cc",
            "ccm",
            "ml",
            "milliliter",
            "milliliters",
            "millilitre",
            "millilitres",
        ],
    ),
    ("cP", &["centipoise"]),
    ("cSt", &["centistoke", "centistokes"]),
    ("F", &["fahrenheit"]),
    ("ft", &["foot", "feet"]),
    ("gal", &["gals", "gallon", "gallons"]),
    ("h", &["hr", "hrs", "hour", "hours"]),
    ("H2O", &["water"]),
    ("Hg", &["mercury"]),
    ("hp", &["horsepower"]),
    ("imp", &["imperial", "uk"]),
    ("in", &["inch", "inches"]),
    ("K", &["kelvin", "kelvins"]),
    ("kn", &["knot", "knots"]),
    ("kW", &["kilowatt", "kilowatts"]),
    ("L", &["ltr", "liter", "liters", "litre", "litres"]),
    ("lb", &["lbs", "pound", "pounds"]),
    ("m", &["meter", "meters", "metre", "metres"]),
    ("mi", &["mile", "miles"]),
    ("min", &["mins", "minute", "minutes"]),
    (
        "mm",
        &["millimeter", "millimeters", "millimetre", "millimetres"],
    ),
    ("N", &["newton", "newtons"]),
    ("Pa", &["pascal", "pascals"]),
    ("pt", &["pint", "pints"]),
    ("qt", &["qts", "quart", "quarts"]),
    ("rev", &["revs", "revolution", "revolutions", "turn"]),
    ("s", &["sec", "secs", "second", "seconds"]),
    ("V", &["volt", "volts"]),
    ("W", &["watt", "watts"]),
];

/// The unit that `word` means for this kind of quantity.
pub(super) fn find(kind: Kind, word: &str) -> Result<Unit, Trouble> {
    let spelling = plain(word);
    match named(kind.dimension(), &spelling).as_slice() {
        [unit] => return Ok(*unit),
        [] => {}
        [first, second, ..] => {
            return Err(Trouble::input(
                format!(
                    "{} may be {} or {}",
                    quote(word),
                    first.name(),
                    second.name()
                ),
                wanted(kind),
            )
            .hint("upper and lower case make a difference"));
        }
    }
    if spelling.is_empty() {
        return Err(Trouble::input("unit missing", wanted(kind)).hint(usable(kind)));
    }
    let pressure = referenced_pressure(&spelling);
    if kind.dimension() == Kind::Pressure
        && let Some((unit, absolute)) = pressure
    {
        if absolute == (kind == Kind::AbsolutePressure) {
            return Ok(unit);
        }
        return Err(other_reference(kind, word, absolute));
    }
    let other = UNITS
        .iter()
        .find(|u| matches(u, &spelling, true))
        .map(|u| u.measures);
    let other = other.or(pressure.map(|_| Kind::Pressure));
    let other = other.or_else(|| {
        UNITS
            .iter()
            .find(|u| matches(u, &spelling, false))
            .map(|u| u.measures)
    });
    if let Some(other) = other {
        let expected = match kind {
            Kind::Speed => wanted(kind).replacen("speed", "speed of rotation", 1),
            _ => wanted(kind),
        };
        let found = format!("{} measures {}", quote(word), other.name());
        return Err(Trouble::input(found, expected));
    }
    Err(unknown(kind, word))
}

/// The error for a pressure with the wrong reference, such as absolute instead of gauge.
fn other_reference(kind: Kind, word: &str, absolute: bool) -> Trouble {
    let (found, expected, hint) = if absolute {
        let gauge = format!("a gauge {}, e.g. {}", kind.name(), kind.facts().example);
        ("an absolute", gauge, "subtract the air pressure")
    } else {
        ("a gauge", wanted(kind), "add the air pressure")
    };
    let trouble = Trouble::input(format!("{} is {found} pressure", quote(word)), expected);
    trouble.hint(format!("{hint}, at sea level 1.013 bar or 14.7 psi"))
}

/// The error for a word that is not a unit.
fn unknown(kind: Kind, word: &str) -> Trouble {
    let names = UNITS
        .iter()
        .filter(|u| u.measures == kind.dimension())
        .flat_map(|u| u.names)
        .copied();
    let clipped = clip(word);
    let hint = if word.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
        "write the number without spaces, e.g. 1450 or 1.25".to_owned()
    } else if let Some(name) = near(&clipped, names).filter(|_| clipped.chars().count() > 1) {
        format!("did you mean {name}?")
    } else {
        usable(kind)
    };
    Trouble::input(format!("unknown unit {}", quote(word)), wanted(kind)).hint(hint)
}

/// The units of a dimension that have a plain spelling: the exact match, or else all units that match if case is
/// ignored.
fn named(dimension: Kind, spelling: &str) -> Vec<Unit> {
    let of = || UNITS.iter().filter(|u| u.measures == dimension);
    match of().find(|u| matches(u, spelling, true)) {
        Some(unit) => vec![*unit],
        None => of()
            .filter(|u| matches(u, spelling, false))
            .copied()
            .collect(),
    }
}

/// Whether `spelling` is one of the plain spellings of a unit. Case is ignored unless `case` is true.
pub(super) fn matches(unit: &Unit, spelling: &str, case: bool) -> bool {
    unit.names.iter().any(|name| {
        let name = plain(name);
        name == spelling || !case && name.eq_ignore_ascii_case(spelling)
    })
}

/// The pressure unit of a spelling that ends in a pressure reference, such as `psia` or `barg`, and whether the
/// pressure is absolute.
fn referenced_pressure(spelling: &str) -> Option<(Unit, bool)> {
    let low = spelling.to_ascii_lowercase();
    REFERENCES.iter().find_map(|(end, absolute)| {
        let stem = spelling.get(..low.strip_suffix(end)?.len())?;
        match named(Kind::Pressure, stem).as_slice() {
            [unit] => Some((*unit, *absolute)),
            _ => None,
        }
    })
}

/// The expected input, for messages: `a flow, e.g. 20 L/min or 5 gpm`.
pub(super) fn wanted(kind: Kind) -> String {
    let name = kind.name();
    let article = if name.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    let bare = if kind == Kind::Number {
        " without a unit"
    } else {
        ""
    };
    format!("{article} {name}{bare}, e.g. {}", kind.facts().example)
}

/// A hint with up to six accepted units, those used for printing first.
pub(super) fn usable(kind: Kind) -> String {
    let facts = kind.facts();
    let rest = UNITS.iter().filter(|u| u.measures == kind.dimension());
    let mut names = Vec::new();
    for name in [facts.si, facts.us].iter().chain(rest).map(|u| u.name()) {
        if !name.is_empty() && !names.contains(&name) && names.len() < 6 {
            names.push(name);
        }
    }
    if names.is_empty() {
        "write the number without a unit".to_owned()
    } else {
        format!("usable units: {}", names.join(", "))
    }
}

/// The plain spelling by which units are compared: words are replaced by symbols, `cubic cm` and `cm³` by `cm3`, and
/// spaces, multiplication signs, brackets and degree signs are dropped.
pub(crate) fn plain(text: &str) -> String {
    let mut out = String::new();
    let mut word = String::new();
    let mut power = None;
    let mut rest = text.chars().map(simple).peekable();
    while let Some(c) = rest.next() {
        let c = ascii(c);
        if c.is_alphabetic() {
            word.push(c);
        }
        if rest
            .peek()
            .is_some_and(|next| c.is_alphabetic() && ascii(*next).is_alphabetic())
        {
            continue;
        }
        if !word.is_empty() {
            match word.to_lowercase().as_str() {
                "cubic" | "cu" => power = Some('3'),
                "square" | "sq" => power = Some('2'),
                low => {
                    out.push_str(
                        WORDS
                            .iter()
                            .find(|(_, words)| words.contains(&low))
                            .map_or(&word, |(w, _)| w),
                    );
                    out.extend(power.take());
                }
            }
            word.clear();
        }
        let joins = match c {
            '-' => !rest
                .peek()
                .is_some_and(|next| ascii(*next).is_ascii_digit()),
            '·' | '⋅' | '•' | '∙' | '*' | '×' | '.' | '^' | '(' | ')' | '[' | ']' | '°' | 'º'
            | '˚' | ' ' => true,
            _ => c.is_alphabetic(),
        };
        if !joins {
            out.push(c);
        }
    }
    out
}

/// Replaces a superscript, a Greek letter or another special character used in units with its simple equivalent.
pub(crate) fn ascii(c: char) -> char {
    match c {
        '¹' => '1',
        '²' | '₂' => '2',
        '³' => '3',
        'µ' | 'μ' => 'u',
        'ℓ' => 'L',
        '℃' => 'C',
        '℉' => 'F',
        '″' | '”' => '"',
        '′' | '’' => '\'',
        'º' => '°',
        c => c,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every spelling in the table finds its own unit, and only MPa and mPa are case-sensitive.
    #[test]
    fn no_two_units_share_a_spelling() {
        for unit in UNITS {
            for name in unit.names {
                let found = named(unit.measures, &plain(name));
                assert!(
                    found.len() == 1 && found[0].name() == unit.name(),
                    "{name}: {found:?}"
                );
                let folded = named(unit.measures, &plain(name).to_lowercase());
                assert!(
                    folded.len() == 1 || unit.measures == Kind::Pressure,
                    "{name}: {folded:?}"
                );
            }
        }
    }
}
