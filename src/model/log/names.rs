//! Which heading is which signal, and its unit.

use crate::law::diagnostic_scaling_sae_j1979 as j1979;

/// The family of units that a signal comes in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    Temperature,
    Rotation,
    Road,
    MassFlow,
    FuelFlow,
    Pressure,
    Share,
    Height,
    Switch,
    Time,
}

/// How a signal is called, and which headings mean it.
struct Wording {
    key: &'static str,
    label: &'static str,
    /// The SAE J1979 parameters that carry it.
    ids: &'static [u8],
    kind: Unit,
    /// The unit taken where none is said.
    usual: &'static str,
    /// Headings that mean it, the surest first; each word must begin a word of the heading (short ones: be one).
    means: &'static str,
    /// Words that show that it is something else.
    not: &'static str,
}

/// Declares the signals once: name, key, words for it, its parameters, its usual unit, headings that mean it, words that do not.
macro_rules! signals {
    ($($(#[$doc:meta])* $name:ident $key:literal $label:literal $ids:tt $kind:ident $usual:literal means $means:literal not $not:literal)*) => {
        /// What a column of a log may carry.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Signal { $($(#[$doc])* $name,)* }

        /// All signals, in the order of their number.
        pub const SIGNALS: [Signal; WORDINGS.len()] = [$(Signal::$name),*];

        const WORDINGS: &[Wording] = &[$(Wording {
            key: $key, label: $label, ids: &$ids, kind: Unit::$kind, usual: $usual, means: $means, not: $not,
        }),*];
    };
}

signals! {
    /// Engine coolant temperature, K.
    Coolant "coolant" "coolant temperature" [0x05] Temperature "°C"
        means "engine coolant temp, coolant temp, ect, coolant, clt, water temp, cooling water, kuhlmittel, kuehlmittel, hlmittel, refroidissement, refrigerante, engine temp"
        not "oil level pressure desired target setpoint fan warm trans"
    /// Engine speed, rad/s.
    EngineSpeed "engine-speed" "engine speed" [0x0C] Rotation "rpm"
        means "engine rpm, engine speed, engine revolutions, motordrehzahl, drehzahl, regime moteur, rpm"
        not "fan turbine output pump desired target wheel input x1000"
    /// Road speed, m/s.
    RoadSpeed "road-speed" "road speed" [0x0D] Road "km/h"
        means "vehicle speed, road speed, speed obd, vss, geschwindigkeit, vitesse, speed gps, speed"
        not "engine fan wheel idle turbine shaft wind rpm pump motor"
    /// Ambient air temperature, K.
    Ambient "ambient" "ambient air" [0x46] Temperature "°C"
        means "ambient air temp, ambient temp, outside air temp, outside temp, outdoor temp, aussentemp, entemperatur, ambient, aat, oat"
        not "pressure light baro cabin oil"
    /// Intake air temperature, K.
    IntakeAir "intake-air" "intake air" [0x0F] Temperature "°C"
        means "intake air temp, inlet air temp, intake temp, iat, ansauglufttemp"
        not "pressure"
    /// Air that the engine draws, kg/s.
    AirFlow "air-flow" "air drawn by the engine" [0x10] MassFlow "g/s"
        means "mass air flow, air flow rate, maf air flow, maf, mass flow sensor, luftmasse"
        not "fuel commanded desired voltage"
    /// Fuel that the engine draws, m³/s.
    FuelRate "fuel-rate" "fuel drawn by the engine" [0x5E] FuelFlow "L/h"
        means "engine fuel rate, fuel rate, fuel flow, kraftstoffverbrauch"
        not "level pressure trim rail air cost"
    /// Pressure in the intake manifold, Pa absolute.
    ManifoldPressure "manifold-pressure" "manifold pressure" [0x0B] Pressure "kPa"
        means "intake manifold absolute pressure, manifold absolute pressure, intake manifold pressure, manifold pressure, map"
        not "desired commanded gauge boost"
    /// Air pressure, Pa absolute.
    Barometer "barometer" "air pressure" [0x33] Pressure "kPa"
        means "barometric pressure, atmospheric pressure, baro"
        not "altitude"
    /// Engine load, a share.
    Load "load" "engine load" [0x04] Share "%"
        means "calculated engine load, engine load, calculated load, absolute load, load"
        not "system electrical alternator"
    /// Height above sea level, m.
    Altitude "altitude" "altitude" [] Height "m"
        means "altitude, elevation"
        not "accuracy"
    /// Air conditioning, from 0 (off) to 1 (on).
    AirConditioning "air-conditioning" "air conditioning" [] Switch "0 or 1"
        means "air conditioning, ac compressor, ac clutch, ac relay, ac request, ac status, ac on, ac"
        not "pressure voltage acceleration temp"
}

impl Signal {
    fn wording(self) -> &'static Wording {
        &WORDINGS[self as usize]
    }

    /// Its key: `coolant`, `engine-speed` …
    pub fn key(self) -> &'static str {
        self.wording().key
    }

    /// Its name in words.
    pub fn label(self) -> &'static str {
        self.wording().label
    }

    /// The signal of a key.
    pub fn find(key: &str) -> Option<Self> {
        SIGNALS.into_iter().find(|s| s.key() == key)
    }

    /// The unit taken where none is said.
    pub(super) fn usual_unit(self) -> &'static str {
        self.wording().usual
    }

    pub(super) fn kind(self) -> Unit {
        self.wording().kind
    }

    /// How its bytes are scaled by SAE J1979, if it is one of its parameters.
    pub(super) fn scaling(self) -> Option<j1979::Parameter> {
        self.wording().ids.first().and_then(|id| j1979::find(*id))
    }
}

/// What a heading means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    /// The time.
    Time,
    /// The date alone.
    Date,
    /// A signal.
    Signal(Signal),
}

const TIMES: &str = "date time, device time, time stamp, timestamp, datetime, time, uhrzeit, zeit, elapsed, seconds, clock, sec, ms, t, s";
const NOT_TIMES: &str = "run since mil gps injection fuel clear trip zone";
const DATES: &str = "date, datum";

/// What a heading (without its unit) means, and how sure that is; more is surer.
fn meaning(name: &str) -> Option<(Meaning, i32)> {
    let words = words(name);
    if words.is_empty() {
        return None;
    }
    if let Some(id) = parameter_id(&words) {
        return SIGNALS
            .into_iter()
            .find(|s| s.wording().ids.contains(&id))
            .map(|s| (Meaning::Signal(s), 60));
    }
    let signals = SIGNALS.into_iter().filter_map(|s| {
        let wording = s.wording();
        Some((
            Meaning::Signal(s),
            sure(&words, wording.means, wording.not)?,
        ))
    });
    let time = sure(&words, TIMES, NOT_TIMES).map(|s| (Meaning::Time, s));
    let date = sure(&words, DATES, "time").map(|s| (Meaning::Date, s));
    signals
        .chain(time)
        .chain(date)
        .max_by_key(|(_, sure)| *sure)
}

/// How surely a heading has one of the meanings.
fn sure(words: &[String], means: &str, not: &str) -> Option<i32> {
    let has = |part: &str| {
        words
            .iter()
            .any(|w| w == part || (part.len() >= 4 && w.starts_with(part)))
    };
    if not.split(' ').any(has) {
        return None;
    }
    means
        .split(", ")
        .enumerate()
        .filter(|(_, phrase)| phrase.split(' ').all(has))
        .map(|(rank, phrase)| {
            let matched = phrase.split(' ').count();
            let extra = words.len().saturating_sub(matched);
            20 + 8 * matched as i32 - 3 * extra as i32 - rank as i32
        })
        .max()
}

/// A heading's words in small letters; what is not a letter or a digit parts them.
fn words(name: &str) -> Vec<String> {
    let mut spaced = String::new();
    let mut before = ' ';
    for c in name.chars() {
        // CoolantTemp are two words.
        if c.is_uppercase() && before.is_lowercase() {
            spaced.push(' ');
        }
        spaced.push(if c.is_alphanumeric() { c } else { ' ' });
        before = c;
    }
    let spaced = spaced
        .to_lowercase()
        .replace(['ü', 'ū'], "u")
        .replace('ß', "ss")
        .replace('é', "e");
    let mut words: Vec<String> = spaced.split_whitespace().map(String::from).collect();
    // A/C is one word.
    if let Some(at) = words.windows(2).position(|w| w[0] == "a" && w[1] == "c") {
        words.splice(at..at + 2, ["ac".to_string()]);
    }
    words
}

/// The SAE J1979 parameter that a heading names by number: `0105`, `01 05`, `PID 05`, `01-0x05`.
fn parameter_id(words: &[String]) -> Option<u8> {
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
    u8::from_str_radix(digits, 16).ok()
}

/// How readings in a unit become SI: times the first, plus the second.
pub(super) type Scale = (f64, f64);

const RPM: f64 = std::f64::consts::PI / 30.0;
const POUND: f64 = 0.453_592_37;
const GALLON: f64 = 3.785_411_784e-3;

/// The units of each family: spellings without blanks and signs, in small letters, and the scale.
const UNITS: &[(Unit, &str, Scale)] = &[
    (
        Unit::Temperature,
        "c degc celsius degreesc cel gradc",
        (1.0, 273.15),
    ),
    (
        Unit::Temperature,
        "f degf fahrenheit degreesf",
        (5.0 / 9.0, 459.67 * 5.0 / 9.0),
    ),
    (Unit::Temperature, "k kelvin degk", (1.0, 0.0)),
    (
        Unit::Rotation,
        "rpm 1/min u/min /min min1 r/min rev/min min",
        (RPM, 0.0),
    ),
    (Unit::Road, "km/h kmh kph kmph km/hr", (1.0 / 3.6, 0.0)),
    (
        Unit::Road,
        "mph mi/h miles/h mile/h miles/hour",
        (0.44704, 0.0),
    ),
    (
        Unit::Road,
        "m/s mps meters/second metres/second",
        (1.0, 0.0),
    ),
    (
        Unit::MassFlow,
        "g/s gs g/sec gps grams/sec gm/s gsec",
        (1e-3, 0.0),
    ),
    (Unit::MassFlow, "kg/h kgh kg/hr", (1.0 / 3600.0, 0.0)),
    (
        Unit::MassFlow,
        "lb/min lbmin lb/m lbm/min",
        (POUND / 60.0, 0.0),
    ),
    (
        Unit::FuelFlow,
        "l/h lh l/hr lph liters/hour ltr/h",
        (1e-3 / 3600.0, 0.0),
    ),
    (
        Unit::FuelFlow,
        "gal/h gph gal/hr gallons/hour usgal/h",
        (GALLON / 3600.0, 0.0),
    ),
    (Unit::FuelFlow, "cc/min ml/min", (1e-6 / 60.0, 0.0)),
    (Unit::FuelFlow, "gal/min gpm", (GALLON / 60.0, 0.0)),
    (Unit::FuelFlow, "l/min lpm", (1e-3 / 60.0, 0.0)),
    (Unit::Pressure, "kpa kpaabs kpaa", (1e3, 0.0)),
    (Unit::Pressure, "pa", (1.0, 0.0)),
    (Unit::Pressure, "hpa mbar mb", (100.0, 0.0)),
    (Unit::Pressure, "bar", (1e5, 0.0)),
    (Unit::Pressure, "psi psia", (6_894.757_293_168, 0.0)),
    (Unit::Pressure, "inhg", (3_386.389, 0.0)),
    (Unit::Pressure, "mmhg", (133.322, 0.0)),
    (Unit::Share, "% percent pct", (0.01, 0.0)),
    (Unit::Share, "1 ratio", (1.0, 0.0)),
    (Unit::Height, "m meter meters metres", (1.0, 0.0)),
    (Unit::Height, "ft feet foot", (0.3048, 0.0)),
    (Unit::Switch, "0or1 on/off off/on bool boolean", (1.0, 0.0)),
    (Unit::Switch, "%", (0.01, 0.0)),
    (Unit::Time, "s sec secs second seconds sekunden", (1.0, 0.0)),
    (
        Unit::Time,
        "ms msec millis milliseconds millisecond",
        (1e-3, 0.0),
    ),
    (Unit::Time, "us microseconds", (1e-6, 0.0)),
    // In a column of time, min is no 1/min.
    (Unit::Time, "min mins minutes minuten", (60.0, 0.0)),
    (Unit::Time, "h hours hr stunden", (3600.0, 0.0)),
];

/// A unit's letters, whatever the degree sign has become.
pub(super) fn plain_unit(text: &str) -> String {
    text.chars()
        .flat_map(|c| match c {
            '℃' => vec!['c'],
            '℉' => vec!['f'],
            c if c.is_ascii_alphanumeric() || c == '/' || c == '%' => vec![c.to_ascii_lowercase()],
            _ => vec![],
        })
        .collect()
}

/// The scale of a unit in a family.
pub(super) fn scale(kind: Unit, text: &str) -> Option<Scale> {
    let plain = plain_unit(text);
    UNITS
        .iter()
        .find(|(of, names, _)| *of == kind && names.split(' ').any(|n| n == plain))
        .map(|(_, _, scale)| *scale)
}

/// Whether bytes stand there as the vehicle sent them.
pub(super) fn is_raw(text: &str) -> bool {
    ["hex", "raw", "byte", "bytes", "rawhex"].contains(&plain_unit(text).as_str())
}

/// A heading without its unit, its unit, and what it means: by the words before the unit, else (`Engine RPM`) by all of them.
pub(super) fn read(head: &str) -> (String, String, Option<(Meaning, i32)>) {
    let (bare, unit) = parted(head);
    let whole = || meaning(head).filter(|m| matches!(m.0, Meaning::Signal(_)));
    let meaning = meaning(&bare).or_else(whole);
    (bare, unit, meaning)
}

/// Parts a heading from its unit: in brackets, else its last word.
fn parted(head: &str) -> (String, String) {
    let head = head.trim();
    for (open, close) in [('[', ']'), ('(', ')'), ('{', '}')] {
        if let (Some(from), Some(to)) = (head.rfind(open), head.rfind(close))
            && from < to
        {
            let inside = head[from + open.len_utf8()..to].trim();
            let outside = format!("{} {}", &head[..from], &head[to + close.len_utf8()..]);
            if any_unit(inside) || open == '[' {
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

/// Whether a text is a unit of any family, or says that bytes follow.
pub(super) fn any_unit(text: &str) -> bool {
    let plain = plain_unit(text);
    is_raw(text)
        || UNITS
            .iter()
            .any(|(_, names, _)| names.split(' ').any(|n| n == plain))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn signal(head: &str) -> Option<Signal> {
        match read(head).2 {
            Some((Meaning::Signal(s), _)) => Some(s),
            _ => None,
        }
    }

    #[test]
    fn the_names_of_the_standard_and_common_wordings_are_known() {
        use Signal::*;
        for (head, wanted) in [
            ("Engine coolant temperature [degC]", Coolant),
            ("Engine Coolant Temperature [Â°C]", Coolant),
            ("ECT (°F)", Coolant),
            ("coolant_temp_c", Coolant),
            ("CoolantTemp", Coolant),
            ("Kühlmitteltemperatur [°C]", Coolant),
            ("0105 [raw]", Coolant),
            ("PID 05", Coolant),
            ("Engine speed [rpm]", EngineSpeed),
            ("RPM", EngineSpeed),
            ("Engine RPM", EngineSpeed),
            ("Vehicle speed (km/h)", RoadSpeed),
            ("Vehicle Speed Sensor [km/h]", RoadSpeed),
            ("Speed (OBD)(mph)", RoadSpeed),
            ("Ambient air temperature", Ambient),
            ("Intake air temperature", IntakeAir),
            ("MAF air flow (g/s)", AirFlow),
            ("Air Flow Rate from Mass Flow Sensor [g/s]", AirFlow),
            ("Engine fuel rate (L/h)", FuelRate),
            ("Kraftstoffverbrauch [l/h]", FuelRate),
            ("Fuel flow rate/minute(gal/min)", FuelRate),
            ("GPS Speed (Meters/second)", RoadSpeed),
            ("Außentemperatur [°C]", Ambient),
            ("Intake manifold absolute pressure", ManifoldPressure),
            ("Barometric pressure (kPa)", Barometer),
            ("Calculated engine load (%)", Load),
            ("A/C compressor", AirConditioning),
            ("GPS Altitude (m)", Altitude),
        ] {
            assert_eq!(signal(head), Some(wanted), "{head}");
        }
    }

    #[test]
    fn what_is_something_else_is_not_taken() {
        for head in [
            "Engine oil temperature",
            "Fan speed (rpm)",
            "Fan RPM",
            "Injector pulse ms",
            "Fuel level",
            "Accelerator Pedal Position D [%]",
            "Transmission coolant temperature",
            "Coolant level",
            "Absolute Throttle Position [%]",
            "Wheel speed front left (km/h)",
        ] {
            assert_eq!(signal(head), None, "{head}");
        }
    }

    #[test]
    fn a_degree_sign_may_be_broken() {
        for text in ["°C", "Â°C", "\u{fffd}C", "deg C", "ºC", "C", "℃"] {
            assert_eq!(
                scale(Unit::Temperature, text),
                Some((1.0, 273.15)),
                "{text}"
            );
        }
    }

    #[test]
    fn units_are_exact() {
        // By hand: 212 °F is the boiling point of water, 373.15 K; 60 mph is 26.8224 m/s.
        let (factor, zero) = scale(Unit::Temperature, "°F").unwrap();
        assert!((212.0 * factor + zero - 373.15).abs() < 1e-9);
        assert!((60.0 * scale(Unit::Road, "mph").unwrap().0 - 26.8224).abs() < 1e-9);
    }
}
