//! Writes quantities as text: for people, in either unit system; for programs; and for files.

use super::units::{KILOWATT, PART, PERCENT, Unit};
use super::{Kind, Measure, Units, parse};
use crate::trouble::{Trouble, near};

/// Numbers outside this range are written with a power of ten.
const USUAL: std::ops::Range<f64> = 1e-4..1e7;

impl std::str::FromStr for Units {
    type Err = Trouble;

    fn from_str(text: &str) -> Result<Self, Trouble> {
        match text.trim().to_ascii_lowercase().as_str() {
            "si" => Ok(Units::Si),
            "us" => Ok(Units::Us),
            other => {
                let trouble = Trouble::input(
                    format!("{} is not a unit system", parse::quote(other)),
                    "si or us",
                );
                Err(
                    match near(&parse::clip(other), ["metric", "imperial", "si", "us"]) {
                        Some("metric" | "si") => trouble.hint("for metric units use si"),
                        Some(_) => trouble.hint("for inches, pounds and gallons use us"),
                        None => trouble,
                    },
                )
            }
        }
    }
}

impl Units {
    fn of(self, kind: Kind) -> Unit {
        match self {
            Units::Si => kind.facts().si,
            Units::Us => kind.facts().us,
        }
    }

    /// The unit for printing a value: as for `of`, but kilowatts for large powers in SI.
    fn of_size(self, kind: Kind, si: f64) -> Unit {
        if kind == Kind::Power && self == Units::Si && si.abs() >= 999.5 {
            KILOWATT
        } else {
            self.of(kind)
        }
    }

    /// The printed unit of a kind of quantity, for example to label an axis; empty for a plain number.
    pub fn unit(self, kind: Kind) -> &'static str {
        self.of(kind).name()
    }

    /// A value in the printed unit of its kind, for example for an axis or a table.
    pub fn number(self, kind: Kind, si: f64) -> f64 {
        self.of(kind).of_si(kind, si)
    }

    /// A value as text, with its unit: `62.1 bar`. Powers of 1 kW and more are in kW.
    pub fn show(self, kind: Kind, si: f64) -> String {
        let unit = self.of_size(kind, si);
        join(&figure(kind, unit.of_si(kind, si)), unit)
    }

    /// A value with its uncertainty, as a half-width or a factor: `2e-8 ×/÷ 3`.
    pub fn show_measure(self, kind: Kind, measure: Measure) -> String {
        match measure.by_factor() {
            Some(factor) => {
                let value = self.show(kind, measure.value);
                format!("{value} ×/÷ {}", (factor * 100.0).round() / 100.0)
            }
            None => self.show_spread(kind, measure.value, measure.spread),
        }
    }

    /// A value with the limits of its uncertainty band: `1140 rpm (890 to 1360 rpm)`. All three are rounded to the
    /// second significant digit of the half-width.
    pub fn show_band(self, kind: Kind, si: f64, low: f64, high: f64) -> String {
        let unit = self.of_size(kind, si);
        let half = 0.5 * (high - low) / unit.factor;
        if half.is_nan() || half <= 0.0 || !half.is_finite() {
            return self.show(kind, si);
        }
        let step = 10_f64.powi(exponent(half) - 1);
        let coarse = |si: f64| {
            let value = unit.of_si(kind, si);
            figure(kind, (value / step).round() * step)
        };
        let ends = join(&format!("{} to {}", coarse(low), coarse(high)), unit);
        format!("{} ({ends})", join(&coarse(si), unit))
    }

    /// A value with its uncertainty: `640 ± 10 rpm`. The uncertainty has two significant digits, and the value has as
    /// many decimals as the uncertainty.
    pub fn show_spread(self, kind: Kind, si: f64, spread: f64) -> String {
        let unit = self.of_size(kind, si);
        let value = unit.of_si(kind, si);
        let spread = (spread / unit.factor).abs();
        let size = value.abs().max(spread);
        if spread.is_nan() || spread <= 0.0 || !size.is_finite() {
            return self.show(kind, si);
        }
        if !USUAL.contains(&size) && finest(kind).is_none() {
            return join(
                &format!("{} ± {}", figure(kind, value), figure(kind, spread)),
                unit,
            );
        }
        // Two significant digits for the uncertainty, and at most five for the larger of value and uncertainty. Whole
        // rpm unless the uncertainty is below 1 rpm.
        let mut decimals = (1 - exponent(spread)).min(4 - exponent(size));
        if let Some(most) = finest(kind) {
            decimals = decimals.min(most + i32::from(kind == Kind::Speed && spread < 1.0));
        }
        let (mut v, mut s) = (rounded(value, decimals), rounded(spread, decimals));
        while decimals > 0 && v.ends_with('0') && s.ends_with('0') {
            decimals -= 1;
            (v, s) = (rounded(value, decimals), rounded(spread, decimals));
        }
        if is_zero(&s) {
            self.show(kind, si)
        } else if kind == Kind::Share && value.abs() <= 1.0 {
            // Without a unit of its own, the number before ± would be read back as a fraction from 0 to 1.
            format!("{} ± {}", join(&v, unit), join(&s, unit))
        } else {
            join(&format!("{v} ± {s}"), unit)
        }
    }
}

impl Kind {
    /// The kind of a difference of two values of this kind.
    pub fn difference(self) -> Kind {
        match self {
            Kind::Temperature => Kind::TemperatureDifference,
            Kind::AbsolutePressure => Kind::Pressure,
            kind => kind,
        }
    }

    /// Name of the kind: `pressure`.
    pub fn name(self) -> &'static str {
        self.facts().name
    }

    /// The suffix of a JSON or CSV key that names the unit, as in `fan_speed_rpm`; empty for plain numbers and money.
    pub fn json_suffix(self) -> &'static str {
        self.facts().suffix
    }

    /// A value in the unit of the JSON suffix. The unit does not depend on the chosen unit system.
    pub fn to_json(self, si: f64) -> f64 {
        self.file_unit().of_si(self, si)
    }

    /// Factor from SI to the unit of the JSON key, for slopes and differences.
    pub fn json_factor(self) -> f64 {
        self.file_unit().factor.recip()
    }

    /// The JSON or CSV key with the unit appended: `fan_speed_rpm`.
    pub fn json_key(self, key: &str) -> String {
        match self.json_suffix() {
            "" => key.to_string(),
            suffix => format!("{key}_{suffix}"),
        }
    }

    /// Converts a number in the unit of the JSON key to SI: the inverse of `to_json`.
    pub fn from_json(self, number: f64) -> f64 {
        self.file_unit().to_si(self, number)
    }

    /// A finite SI value as a short ASCII text, such as `10.5 cm3/rev`; `parse` reads it back with a relative error
    /// below 1e-12.
    pub fn typed(self, si: f64) -> String {
        let unit = match self {
            Kind::Share if !(0.0..=1.0).contains(&si) => PERCENT,
            _ => self.file_unit(),
        };
        let exact = unit.of_si(self, si);
        let short = (0..=16)
            .filter_map(|digits| format!("{exact:.digits$e}").parse().ok())
            .find(|near: &f64| (unit.to_si(self, *near) - si).abs() <= 1e-13 * si.abs())
            .unwrap_or(exact);
        let figure = match short.abs() {
            0.0 => "0".to_owned(),
            size if (1e-5..1e16).contains(&size) => format!("{short}"),
            _ => format!("{short:e}"),
        };
        join(&figure, unit)
            .chars()
            .map(parse::ascii)
            .filter(|c| *c != '°')
            .collect()
    }

    /// The unit of JSON keys and generated files: the printed metric unit, except that fractions are not in per cent
    /// but from 0 to 1.
    fn file_unit(self) -> Unit {
        if self == Kind::Share {
            PART
        } else {
            self.facts().si
        }
    }
}

/// A number with its unit.
fn join(figure: &str, unit: Unit) -> String {
    format!("{figure} {}", unit.name()).trim_end().to_owned()
}

/// The maximum useful number of decimals of a quantity, for all its printed units; `None` if the magnitudes of the
/// quantity differ too much for one limit.
pub(super) fn finest(kind: Kind) -> Option<i32> {
    match kind {
        Kind::Speed => Some(0),
        Kind::Temperature | Kind::RoadSpeed => Some(1),
        Kind::TemperatureDifference | Kind::Share | Kind::Power | Kind::AirSpeed => Some(2),
        Kind::Pressure | Kind::AbsolutePressure | Kind::AirPressure => Some(3),
        Kind::Flow | Kind::AirFlow | Kind::Torque => Some(3),
        _ => None,
    }
}

/// A number as text with three significant digits, but with all digits before the decimal point and at most `finest`
/// decimals.
fn figure(kind: Kind, value: f64) -> String {
    let decimals = match finest(kind) {
        Some(most) => most.min(match kind {
            Kind::Speed | Kind::Temperature => most,
            _ => (2 - exponent(value)).max(0),
        }),
        _ if value.abs() > 0.0 && !USUAL.contains(&value.abs()) && value.is_finite() => {
            let short = format!("{value:.2e}").parse().unwrap_or(value);
            return format!("{short:e}");
        }
        _ => (2 - exponent(value)).max(0),
    };
    let text = rounded(value, decimals);
    match text.split_once('.') {
        Some(_) => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        None => text,
    }
}

/// The power of ten of a number's first significant digit.
fn exponent(value: f64) -> i32 {
    if value.abs() > 0.0 && value.is_finite() {
        value.abs().log10().floor() as i32
    } else {
        0
    }
}

/// A number rounded to `decimals` decimals; with −1, −2 … decimals, it is rounded to tens, hundreds …
fn rounded(value: f64, decimals: i32) -> String {
    let step = 10_f64.powi((-decimals).max(0));
    let places = usize::try_from(decimals).unwrap_or(0);
    let value = if decimals < 0 {
        (value / step).round() * step
    } else {
        value
    };
    let text = format!("{value:.places$}");
    if is_zero(&text) {
        text.replace('-', "")
    } else {
        text
    }
}

/// Whether a printed number has no digit other than zero.
fn is_zero(text: &str) -> bool {
    text.chars().all(|c| matches!(c, '-' | '0' | '.'))
}

#[cfg(test)]
mod tests {
    use super::super::units::FACTS;
    use super::*;
    use std::f64::consts::TAU;

    const RPM: f64 = TAU / 60.0;

    #[test]
    #[rustfmt::skip]
    fn values_are_shown_short() {
        for (units, kind, si, shown) in [
            (Units::Si, Kind::Pressure, 6_212_345.0, "62.1 bar"),
            (Units::Us, Kind::Pressure, 6_212_345.0, "901 psi"),
            (Units::Us, Kind::Pressure, 9_997_398.0, "1450 psi"),
            (Units::Si, Kind::AbsolutePressure, 101_325.0, "1.01 bar abs"),
            (Units::Us, Kind::AbsolutePressure, 101_325.0, "14.7 psi abs"),
            (Units::Us, Kind::AirPressure, 249.088_91, "1 in H2O"),
            (Units::Si, Kind::Flow, 18.44 / 60_000.0, "18.4 L/min"),
            (Units::Si, Kind::Flow, -1e-30, "0 L/min"),
            (Units::Si, Kind::AirFlow, 4.27e-12, "0 m³/s"),
            (Units::Si, Kind::Speed, 0.0234 * RPM, "0 rpm"),
            (Units::Si, Kind::Share, 0.004_21, "0.42 %"),
            (Units::Si, Kind::LaminarResistance, 4.27e-12, "4.27e-21 1/mm³"),
            (Units::Si, Kind::Flow, -0.0, "0 L/min"),
            (Units::Si, Kind::Temperature, 353.15, "80 °C"),
            (Units::Si, Kind::Temperature, 273.149, "0 °C"),
            (Units::Si, Kind::Temperature, 376.57, "103.4 °C"),
            (Units::Us, Kind::Temperature, 353.15, "176 °F"),
            (Units::Us, Kind::TemperatureDifference, 10.0, "18 °F"),
            (Units::Si, Kind::Speed, 744.7 * RPM, "745 rpm"),
            (Units::Us, Kind::Speed, -0.2 * RPM, "0 rpm"),
            (Units::Si, Kind::KinematicViscosity, 8.501e-6, "8.5 mm²/s"),
            (Units::Us, Kind::KinematicViscosity, 8.501e-6, "8.5 cSt"),
            (Units::Si, Kind::Power, 999.4, "999 W"),
            (Units::Si, Kind::Power, 999.7, "1 kW"),
            (Units::Si, Kind::Power, 12_345.0, "12.3 kW"),
            (Units::Us, Kind::Power, 745.7, "1 hp"),
            (Units::Si, Kind::Share, 0.8512, "85.1 %"),
            (Units::Si, Kind::Number, 1234.56, "1235"),
            (Units::Si, Kind::Number, 0.000_12, "0.00012"),
            (Units::Si, Kind::Number, 99.96, "100"),
            (Units::Si, Kind::Cost, 40.0, "40"),
        ] {
            assert_eq!(units.show(kind, si), shown);
        }
    }

    #[test]
    #[rustfmt::skip]
    fn spreads_set_the_decimals() {
        for (units, kind, si, spread, shown) in [
            (Units::Si, Kind::Speed, 640.2 * RPM, 10.4 * RPM, "640 ± 10 rpm"),
            (Units::Si, Kind::Speed, 643.0 * RPM, 123.0 * RPM, "640 ± 120 rpm"),
            (Units::Si, Kind::Speed, 643.0 * RPM, 0.31 * RPM, "643.0 ± 0.3 rpm"),
            (Units::Si, Kind::Speed, 643.0 * RPM, 0.0, "643 rpm"),
            (Units::Si, Kind::Pressure, 6_212_345.0, 84_400.0, "62.12 ± 0.84 bar"),
            (Units::Si, Kind::Temperature, 353.15, 2.0, "80 ± 2 °C"),
            (Units::Us, Kind::Temperature, 353.15, 5.0, "176 ± 9 °F"),
            (Units::Si, Kind::Share, 0.85, 0.03, "85 ± 3 %"),
            (Units::Si, Kind::Share, 0.0042, 0.0003, "0.42 % ± 0.03 %"),
            (Units::Si, Kind::Power, 4321.0, 250.0, "4.32 ± 0.25 kW"),
            (Units::Si, Kind::Number, 0.0, 0.02, "0.00 ± 0.02"),
            (Units::Si, Kind::Number, 62.1, 1e-9, "62.1"),
        ] {
            assert_eq!(units.show_spread(kind, si, spread), shown);
        }
    }

    #[test]
    fn numbers_for_axes_and_programs() {
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} is not {b}");
        assert_eq!(Units::Us.unit(Kind::Temperature), "°F");
        close(Units::Us.number(Kind::Temperature, 373.15), 212.0);
        assert_eq!(Units::Si.unit(Kind::Power), "W");
        close(Units::Si.number(Kind::Power, 4000.0), 4000.0);
        assert_eq!(Units::Si.unit(Kind::Number), "");
        assert_eq!(
            (Kind::Temperature.json_suffix(), Kind::Flow.json_suffix()),
            ("c", "l_per_min")
        );
        close(Kind::Temperature.to_json(353.15), 80.0);
        close(Kind::Share.to_json(0.85), 0.85);
        close(Kind::Displacement.to_json(10.5e-6 / TAU), 10.5);
    }

    #[test]
    #[rustfmt::skip]
    fn typed_is_short() {
        for (kind, si, text) in [
            (Kind::Displacement, 10.5e-6 / TAU, "10.5 cm3/rev"),
            (Kind::Temperature, 353.15, "80 C"),
            (Kind::Temperature, 273.15, "0 C"),
            (Kind::AbsolutePressure, 101_325.0, "1.01325 bar abs"),
            (Kind::Share, 0.29, "0.29"),
            (Kind::Share, 1.5, "150 %"),
            (Kind::Torque, 20.0, "20 N m"),
            (Kind::PerPascal, 2e-8, "20 1/GPa"),
            (Kind::ValveSlope, 3e9, "0.5 bar/(L/min)"),
            (Kind::Number, 0.0, "0"),
            (Kind::Number, 1e-9, "1e-9"),
        ] {
            assert_eq!(kind.typed(si), text);
        }
    }

    /// Very large, very small and non-finite numbers can also be printed.
    #[test]
    fn anything_is_shown() {
        for facts in FACTS {
            for si in [
                f64::NAN,
                f64::INFINITY,
                f64::NEG_INFINITY,
                f64::MAX,
                f64::MIN_POSITIVE,
                -1e-300,
                0.0,
            ] {
                for units in [Units::Si, Units::Us] {
                    assert!(!units.show(facts.kind, si).is_empty());
                    for spread in [
                        f64::NAN,
                        f64::INFINITY,
                        f64::MAX,
                        f64::MIN_POSITIVE,
                        0.0,
                        -1.0,
                    ] {
                        assert!(!units.show_spread(facts.kind, si, spread).is_empty());
                    }
                }
                assert!(!facts.kind.typed(si).is_empty());
            }
        }
    }

    #[test]
    fn systems_of_units_by_name() {
        assert_eq!("US".parse::<Units>(), Ok(Units::Us));
        assert_eq!(" si".parse::<Units>(), Ok(Units::Si));
        assert!("metric".parse::<Units>().unwrap_err().hint.contains("si"));
        assert!("imperial".parse::<Units>().unwrap_err().hint.contains("us"));
        assert!("".parse::<Units>().is_err());
    }
}
