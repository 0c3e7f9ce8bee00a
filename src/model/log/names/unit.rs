//! The units that may appear in the headings of a log.

/// A family of units, which all measure the same quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Unit {
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
    /// A unit that no signal uses.
    Other,
}

/// Conversion of a unit to SI: factor, then offset.
pub(crate) type Scale = (f64, f64);

pub(super) const RPM: f64 = std::f64::consts::PI / 30.0;
const POUND: f64 = 0.453_592_37;
const GALLON: f64 = 3.785_411_784e-3;

/// The units of each family: spellings in lower case without spaces and signs, and the conversion.
const UNITS: &[(Unit, &str, Scale)] = &[
    (
        Unit::Temperature,
        "c degc celsius degreesc cel gradc degreecelsius degreescelsius degcelsius",
        (1.0, 273.15),
    ),
    (
        Unit::Temperature,
        "f degf fahrenheit degreesf degreefahrenheit degreesfahrenheit",
        (5.0 / 9.0, 459.67 * 5.0 / 9.0),
    ),
    (Unit::Temperature, "k kelvin degk", (1.0, 0.0)),
    (
        Unit::Rotation,
        "rpm 1/min u/min /min min1 r/min rev/min min revolutionsperminute revolutionperminute tr/min giri/min",
        (RPM, 0.0),
    ),
    (
        Unit::Road,
        "km/h kmh kph kmph km/hr kilometerperhour kilometersperhour kilometreperhour kilometresperhour",
        (1.0 / 3.6, 0.0),
    ),
    (
        Unit::Road,
        "mph mi/h miles/h mile/h miles/hour mileperhour milesperhour",
        (0.44704, 0.0),
    ),
    (
        Unit::Road,
        "m/s mps meters/second metres/second meterpersecond meterspersecond metrepersecond",
        (1.0, 0.0),
    ),
    (
        Unit::MassFlow,
        "g/s gs g/sec gps grams/sec gm/s gsec grampersecond gramspersecond",
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
        "l/h lh l/hr lph liters/hour ltr/h literperhour litersperhour litreperhour",
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
    (
        Unit::Pressure,
        "kpa kpaabs kpaa kilopascal kilopascals",
        (1e3, 0.0),
    ),
    (Unit::Pressure, "pa", (1.0, 0.0)),
    (Unit::Pressure, "hpa mbar mb", (100.0, 0.0)),
    (Unit::Pressure, "bar", (1e5, 0.0)),
    (Unit::Pressure, "psi psia", (6_894.757_293_168, 0.0)),
    (Unit::Pressure, "inhg", (3_386.389, 0.0)),
    (Unit::Pressure, "mmhg", (133.322, 0.0)),
    (Unit::Share, "% percent percentage pct", (0.01, 0.0)),
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
    (Unit::Time, "us microseconds microsecond usec", (1e-6, 0.0)),
    // In a time column, `min` means minutes, not 1/min.
    (Unit::Time, "min mins minutes minuten", (60.0, 0.0)),
    (Unit::Time, "h hours hr stunden", (3600.0, 0.0)),
    (Unit::Time, "days tage", (86_400.0, 0.0)),
    // Units that show that a column holds none of the signals.
    (
        Unit::Other,
        "v volt volts mv vdc ma amp amps ohm ohms kohm hz khz adc count counts g/rev mg/stroke mg/str mg/st nm ftlb lbft kw hp afr lambda l ml km l/100km mpg bits steps",
        (1.0, 0.0),
    ),
];

/// Reduces the text of a unit to lower-case letters, digits, `/` and `%`; the degree sign is left out, because it may
/// be damaged.
pub(crate) fn plain_unit(text: &str) -> String {
    text.chars()
        .flat_map(|c| match c {
            '℃' => vec!['c'],
            '℉' => vec!['f'],
            c if c.is_ascii_alphanumeric() || c == '/' || c == '%' => vec![c.to_ascii_lowercase()],
            _ => vec![],
        })
        .collect()
}

/// The conversion of a unit to SI; `None` if it is not in the family `kind`.
pub(crate) fn scale(kind: Unit, text: &str) -> Option<Scale> {
    let plain = plain_unit(text);
    UNITS
        .iter()
        .find(|(of, names, _)| *of == kind && names.split(' ').any(|n| n == plain))
        .map(|(_, _, scale)| *scale)
}

/// Whether the text in place of a unit states that the column holds raw bytes from the vehicle.
pub(crate) fn is_raw(text: &str) -> bool {
    ["hex", "raw", "byte", "bytes", "rawhex"].contains(&plain_unit(text).as_str())
}

/// Whether a text is a unit of any family, or states that the column holds raw bytes.
pub(crate) fn any_unit(text: &str) -> bool {
    let plain = plain_unit(text);
    is_raw(text)
        || plain != "1"
            && UNITS
                .iter()
                .any(|(_, names, _)| names.split(' ').any(|n| n == plain))
}
