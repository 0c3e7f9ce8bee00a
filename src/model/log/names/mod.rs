//! Maps headings to signals and units.

mod unit;

use crate::law::diagnostic_scaling_sae_j1979 as j1979;
use std::sync::OnceLock;
pub(super) use unit::{Scale, Unit, any_unit, is_raw, plain_unit, scale};

/// The name of a signal, and its plausible range. The signal's headings are in `headings.csv`, one row per language.
struct Wording {
    key: &'static str,
    label: &'static str,
    /// The SAE J1979 parameter numbers (PIDs) of the signal.
    ids: &'static [u8],
    /// The SAE J1939 parameter numbers (SPNs) of the signal *(from memory)*.
    numbers: &'static [u32],
    kind: Unit,
    /// The unit assumed if none is given.
    usual: &'static str,
    /// The minimum and maximum plausible reading, in the usual unit *(common practice, no source)*: a value outside
    /// this range means a faulty sensor, a faulty link or a wrong unit.
    range: (f64, f64),
}

/// Declares the signals once: name, key, description, parameters, usual unit, plausible range.
macro_rules! signals {
    ($($(#[$doc:meta])* $name:ident $key:literal $label:literal $ids:tt $numbers:tt $kind:ident $usual:literal $range:tt)*) => {
        /// A signal that a column of a log may hold.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Signal { $($(#[$doc])* $name,)* }

        /// All signals, in the order of their number.
        pub const SIGNALS: [Signal; WORDINGS.len()] = [$(Signal::$name),*];

        const WORDINGS: &[Wording] = &[$(Wording {
            key: $key, label: $label, ids: &$ids, numbers: &$numbers, kind: Unit::$kind, usual: $usual, range: $range,
        }),*];
    };
}

signals! {
    /// Engine coolant temperature, K. In the vehicle's data, the lowest and the highest value of the byte mean that the
    /// sensor is missing.
    Coolant "coolant" "coolant temperature" [0x05] [110] Temperature "°C" (-39.5, 160.0)
    /// Engine speed, rad/s.
    EngineSpeed "engine-speed" "engine speed" [0x0C] [190] Rotation "rpm" (0.0, 12_000.0)
    /// Road speed, m/s.
    RoadSpeed "road-speed" "road speed" [0x0D] [84] Road "km/h" (0.0, 300.0)
    /// Ambient air temperature, K.
    Ambient "ambient" "ambient air" [0x46] [171] Temperature "°C" (-60.0, 70.0)
    /// Intake air temperature, K.
    IntakeAir "intake-air" "intake air" [0x0F] [172] Temperature "°C" (-60.0, 200.0)
    /// Intake air mass flow of the engine, kg/s.
    AirFlow "air-flow" "engine air flow" [0x10] [132] MassFlow "g/s" (0.0, 1500.0)
    /// Fuel consumption of the engine, m³/s.
    FuelRate "fuel-rate" "engine fuel flow" [0x5E] [183] FuelFlow "L/h" (0.0, 500.0)
    /// Pressure in the intake manifold, Pa absolute.
    ManifoldPressure "manifold-pressure" "manifold pressure" [0x0B] [] Pressure "kPa" (3.0, 700.0)
    /// Air pressure, Pa absolute.
    Barometer "barometer" "air pressure" [0x33] [108] Pressure "kPa" (40.0, 115.0)
    /// Engine load, a fraction.
    Load "load" "engine load" [0x04] [92] Share "%" (0.0, 400.0)
    /// Height above sea level, m.
    Altitude "altitude" "altitude" [] [580] Height "m" (-500.0, 9000.0)
    /// Air conditioning, from 0 (off) to 1 (on).
    AirConditioning "air-conditioning" "air conditioning" [] [] Switch "0 or 1" (0.0, 100.0)
    /// Speed of the radiator fan, rad/s.
    FanSpeed "fan-speed" "fan speed" [] [1639] Rotation "rpm" (0.0, 8000.0)
    /// Radiator fan command, a fraction.
    FanCommand "fan-command" "fan command" [] [975, 986] Share "%" (0.0, 110.0)
}

impl Signal {
    fn wording(self) -> &'static Wording {
        &WORDINGS[self as usize]
    }

    /// Key of the signal: `coolant`, `engine-speed` …
    pub fn key(self) -> &'static str {
        self.wording().key
    }

    /// Name of the signal.
    pub fn label(self) -> &'static str {
        self.wording().label
    }

    /// The signal with a given key.
    pub fn find(key: &str) -> Option<Self> {
        SIGNALS.into_iter().find(|s| s.key() == key)
    }

    /// The unit assumed if none is given.
    pub(super) fn usual_unit(self) -> &'static str {
        self.wording().usual
    }

    pub(super) fn kind(self) -> Unit {
        self.wording().kind
    }

    /// The minimum and maximum plausible reading, in SI.
    pub(super) fn range(self) -> (f64, f64) {
        let (factor, zero) = scale(self.kind(), self.usual_unit()).unwrap_or((1.0, 0.0));
        let (least, most) = self.wording().range;
        (least * factor + zero, most * factor + zero)
    }

    /// The SAE J1979 scaling of the signal's bytes, if the standard has a parameter for this signal.
    pub(super) fn scaling(self) -> Option<j1979::Parameter> {
        self.wording().ids.first().and_then(|id| j1979::find(*id))
    }
}

/// The meaning of a heading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    /// The time.
    Time,
    /// The date alone.
    Date,
    /// Time since engine start, used only if there is no other time.
    RunTime,
    /// A signal.
    Signal(Signal),
}

/// The phrases for one meaning in one language, the preferred phrase first, each split into words (`means`), and words
/// that rule this meaning out (`not`). A phrase fits a heading if each of its words is the start of a word in the heading (short words must match
/// exactly).
#[derive(Default)]
struct Phrases {
    means: Vec<Vec<String>>,
    not: Vec<String>,
}

/// The table of headings: the meaning of each column, and its phrases in every language.
type Headings = Vec<(Meaning, Vec<Phrases>)>;

/// The table of headings, read from `headings.csv`, which has one row per language. Columns whose heading is neither a
/// signal's key nor one of the three time keys are skipped.
fn headings() -> &'static Headings {
    static TABLE: OnceLock<Headings> = OnceLock::new();
    TABLE.get_or_init(|| {
        let mut reader = csv::Reader::from_reader(include_str!("headings.csv").as_bytes());
        let heads = reader.headers().cloned().unwrap_or_default();
        let rows: Vec<csv::StringRecord> = reader.records().filter_map(Result::ok).collect();
        let meaning = |key: &str| match key {
            "time" => Some(Meaning::Time),
            "date" => Some(Meaning::Date),
            "run-time" => Some(Meaning::RunTime),
            key => Signal::find(key).map(Meaning::Signal),
        };
        let columns = heads.iter().enumerate();
        let columns = columns.filter_map(|(at, key)| {
            let cells = rows.iter().filter_map(|r| r.get(at));
            Some((meaning(key)?, cells.map(phrases).collect()))
        });
        columns.collect()
    })
}

/// Parses a cell such as `coolant temp, ect | oil level`: phrases separated by commas, then the words that exclude the
/// meaning.
fn phrases(cell: &str) -> Phrases {
    let (means, not) = cell.split_once('|').unwrap_or((cell, ""));
    let words = |text: &str| text.split_whitespace().map(String::from).collect();
    Phrases {
        means: means
            .split(',')
            .map(words)
            .filter(|p: &Vec<String>| !p.is_empty())
            .collect(),
        not: words(not),
    }
}

/// The meaning of a heading without its unit, and how certain it is: a higher number is more certain.
fn meaning(name: &str) -> Option<(Meaning, i32)> {
    let words = words(name);
    if words.is_empty() {
        return None;
    }
    if let Some(known) = numbered(&words) {
        return known.map(|s| (Meaning::Signal(s), 60));
    }
    among(&words, |_| true)
}

/// The meaning of the words of a heading among those `wanted`.
fn among(words: &[String], wanted: impl Fn(Meaning) -> bool) -> Option<(Meaning, i32)> {
    headings()
        .iter()
        .filter(|(meaning, _)| wanted(*meaning))
        .filter_map(|(meaning, languages)| {
            let not = languages.iter().flat_map(|l| &l.not);
            if not.into_iter().any(|n| has(words, n)) {
                return None;
            }
            let sure = languages
                .iter()
                .filter_map(|l| sure(words, &l.means))
                .max()?;
            Some((*meaning, sure))
        })
        .max_by_key(|(_, sure)| *sure)
}

/// Whether one of the words starts with `part`; a short `part` must match the whole word.
fn has(words: &[String], part: &str) -> bool {
    words
        .iter()
        .any(|w| w == part || (part.len() >= 4 && w.starts_with(part)))
}

/// How certainly the words match the best fitting phrase; `None` if none fits.
fn sure(words: &[String], means: &[Vec<String>]) -> Option<i32> {
    means
        .iter()
        .enumerate()
        .filter(|(_, phrase)| phrase.iter().all(|p| has(words, p)))
        .map(|(rank, phrase)| {
            let matched = phrase.len();
            let extra = words.len().saturating_sub(matched);
            20 + 8 * matched as i32 - 3 * extra as i32 - rank as i32
        })
        .max()
}

/// Repairs text that was written as UTF-8 but read as Latin-1; `None` if the text is not damaged.
fn mended(text: &str) -> Option<String> {
    let signs = text.chars().any(|c| matches!(c, 'Ã' | 'Â'));
    let bytes: Option<Vec<u8>> = text
        .chars()
        .map(|c| u8::try_from(u32::from(c)).ok())
        .collect();
    signs.then(|| String::from_utf8(bytes?).ok()).flatten()
}

/// A letter without its accent.
fn plain(c: char) -> Option<char> {
    const LETTERS: &[(&str, char)] = &[
        ("àáâãäå", 'a'),
        ("ç", 'c'),
        ("èéêë", 'e'),
        ("ìíîï", 'i'),
        ("ñ", 'n'),
        ("òóôõö", 'o'),
        ("ùúûüū", 'u'),
    ];
    LETTERS
        .iter()
        .find(|(from, _)| from.contains(c))
        .map(|l| l.1)
}

/// A heading's words in lower case without accents, split at anything but letters and digits.
fn words(name: &str) -> Vec<String> {
    let mended = mended(name);
    let mut spaced = String::new();
    let mut before = ' ';
    for c in mended.as_deref().unwrap_or(name).chars() {
        // `CoolantTemp` is split into two words.
        if c.is_uppercase() && before.is_lowercase() {
            spaced.push(' ');
        }
        spaced.push(if c.is_alphanumeric() { c } else { ' ' });
        before = c;
    }
    let spaced = spaced.to_lowercase().replace('ß', "ss");
    let spaced: String = spaced.chars().map(|c| plain(c).unwrap_or(c)).collect();
    let mut words: Vec<String> = spaced.split_whitespace().map(String::from).collect();
    // `A/C` counts as one word.
    if let Some(at) = words.windows(2).position(|w| w[0] == "a" && w[1] == "c") {
        words.splice(at..at + 2, ["ac".to_string()]);
    }
    words
}

/// The signal of a heading that names a parameter by its number in SAE J1979 (`0105`, `01 05`, `PID 05`, `01-0x05`) or
/// SAE J1939 (`SPN 110`). The outer `None` means that the heading names no number, the inner one that the parameter is
/// not one of the signals.
fn numbered(words: &[String]) -> Option<Option<Signal>> {
    let find = |of: &dyn Fn(&Wording) -> bool| SIGNALS.into_iter().find(|s| of(s.wording()));
    let spn = match words {
        [one, rest @ ..] if one == "spn" => rest.first().and_then(|n| n.parse::<u32>().ok()),
        [one, ..] => one.strip_prefix("spn").and_then(|n| n.parse().ok()),
        [] => None,
    };
    if let Some(spn) = spn {
        return Some(find(&|w| w.numbers.contains(&spn)));
    }
    let bare: Vec<&str> = words
        .iter()
        .map(|w| w.trim_start_matches("0x"))
        .filter(|w| *w != "pid" && *w != "mode")
        .collect();
    let said = bare.len() < words.len();
    let digits = match bare[..] {
        [one] if one.len() == 4 && one.starts_with("01") => &one[2..],
        [one] if one.len() == 2 && said => one,
        ["01" | "1", two] if two.len() == 2 => two,
        _ => return None,
    };
    let id = u8::from_str_radix(digits, 16).ok()?;
    Some(find(&|w| w.ids.contains(&id)))
}

/// Splits a heading into name and unit, and finds its meaning from the name alone, or if that has no meaning, from the
/// whole heading (`Engine RPM`).
pub(super) fn read(head: &str) -> (String, String, Option<(Meaning, i32)>) {
    let (bare, unit) = parted(head);
    let whole = || meaning(head).filter(|m| matches!(m.0, Meaning::Signal(_)));
    let mut meaning = meaning(&bare).or_else(whole);
    // Each signal may have a time column of its own: `Time_ECT [s]`.
    let words_of = words(&bare);
    let first = among(words_of.get(..1).unwrap_or(&[]), |m| m == Meaning::Time);
    let of_time = among(&words_of, |m| m == Meaning::Time);
    let of_time = of_time.filter(|_| match unit.as_str() {
        "" => first.is_some(),
        unit => scale(Unit::Time, unit).is_some(),
    });
    if of_time.is_some() && matches!(meaning, Some((Meaning::Signal(_), _))) {
        meaning = of_time;
    }
    // Raw bytes can be used only if the heading names the parameter by its number.
    if plain_unit(&unit) == "raw" && numbered(&words_of).is_none() {
        meaning = None;
    }
    (bare, unit, meaning)
}

/// Splits a heading into name and unit, which is in brackets or the last word.
fn parted(head: &str) -> (String, String) {
    let head = head.trim();
    for (open, close) in [('[', ']'), ('(', ')'), ('{', '}')] {
        if let (Some(from), Some(to)) = (head.rfind(open), head.rfind(close))
            && from < to
        {
            let inside = head[from + open.len_utf8()..to].trim();
            let outside = format!("{} {}", &head[..from], &head[to + close.len_utf8()..]);
            if any_unit(inside) || open == '[' || inside.contains('/') {
                return (outside.trim().to_string(), inside.to_string());
            }
        }
    }
    let tail = head
        .char_indices()
        .rev()
        .find(|(_, c)| " _,;:-".contains(*c))
        .map(|(at, c)| (at, at + c.len_utf8()));
    if let Some((before, after)) = tail
        && any_unit(&head[after..])
    {
        return (
            head[..before]
                .trim_end_matches([' ', ',', '_', '-'])
                .to_string(),
            head[after..].to_string(),
        );
    }
    (head.to_string(), String::new())
}

#[cfg(test)]
mod tests;
