//! Temperatures, days and airflows as text, with no more digits than their uncertainty justifies.

use crate::balance::{COOLANT_MODEL_HALF, NoSteadyState, Warm};
use crate::input::unit::celsius;
use crate::quantity::{Kind, Units};
use crate::vary::settled::boiling;

/// A temperature in whole degrees, because its uncertainty does not justify decimals.
pub fn degrees(units: Units, t: f64) -> String {
    let kind = Kind::Temperature;
    format!("{:.0} {}", units.number(kind, t) + 0.0, units.unit(kind))
}

/// An airflow in two digits, because its uncertainty does not justify more.
pub fn airflow(units: Units, flow: f64) -> String {
    let size = 10_f64.powf(1.0 - flow.abs().max(1e-9).log10().floor());
    units.show(Kind::AirFlow, (flow * size).round() / size)
}

/// The coolant temperature of a state, as text; no number if the coolant boils, because the balance is then not valid.
pub fn coolant(units: Units, warm: &Warm) -> String {
    let [low, high] = boiling(&warm.case);
    let shown = |t: f64| degrees(units, t);
    match warm.budget.coolant_temp {
        _ if warm.heats == Some(NoSteadyState::Oil) => "oil heats up without limit".into(),
        t if t > high || warm.heats.is_some() => "boils".into(),
        t if t > low => format!("{}, may boil", shown(t)),
        t => shown(t),
    }
}

/// Range of the ambient temperatures on record, K, measured in the shade *(common practice, no source)*.
const DAYS: [f64; 2] = [celsius(-40.0), celsius(57.0)];

/// A limiting ambient temperature as text; words instead of a number if it is outside the range on record.
pub fn day(units: Units, t: f64) -> String {
    match t {
        t if t > DAYS[1] => "hotter than any day on record".into(),
        t if t < DAYS[0] => "colder than any day on record".into(),
        t => degrees(units, t),
    }
}

/// The days up to a limiting ambient temperature, as text that continues a sentence: `on a day of up to 48 °C`.
pub fn up_to(units: Units, t: f64) -> String {
    match t {
        t if t > DAYS[1] => "on any day on record".into(),
        t if t < DAYS[0] => "on no day on record".into(),
        t => format!("on a day of up to {}", degrees(units, t)),
    }
}

/// A band of coolant temperatures, K, that ends at boiling, at most at `boils` (K): `89 to 104 °C`.
pub fn to_boiling(units: Units, (low, high): (f64, f64), boils: f64) -> String {
    match high >= boils - 0.5 {
        true => format!("{} to boiling", degrees(units, low)),
        false => format!("{} to {}", degrees(units, low), degrees(units, high)),
    }
}

/// A difference of two limiting ambient temperatures, K, as text written by `show`; a dash if one of the two is outside
/// the range on record, where the difference is of no use.
pub fn of_days(days: [f64; 2], show: impl FnOnce() -> String) -> String {
    let known = days.iter().all(|t| (DAYS[0]..=DAYS[1]).contains(t));
    if known { show() } else { "-".into() }
}

/// The gain, K, in limiting ambient temperature from `base` to `day`, as text; counted only up to the hottest day on
/// record.
pub fn gain(units: Units, base: f64, day: f64) -> String {
    match day > DAYS[1] && base < DAYS[1] {
        true => format!("over {}", kelvin(units, DAYS[1] - base)),
        false => kelvin(units, day - base),
    }
}

/// The bar of a limiting ambient temperature: its length ends where no hotter day is on record.
pub fn day_bar(t: f64) -> f64 {
    t.min(DAYS[1])
}

/// A temperature difference, K, in whole degrees if it is of several.
pub fn kelvin(units: Units, k: f64) -> String {
    let kind = Kind::TemperatureDifference;
    let number = units.number(kind, k);
    match number.abs() {
        size if size < 2.0 => format!("{:.1} {}", number + 0.0, units.unit(kind)),
        _ => format!("{number:.0} {}", units.unit(kind)),
    }
}

/// The band of a limiting ambient temperature as text; words for limits outside the range on record.
pub fn days(units: Units, low: f64, high: f64) -> String {
    let (low, high) = (day(units, low), day(units, high));
    match low == high {
        true => low,
        false => format!("{low} to {high}"),
    }
}

/// A range of temperature differences in whole degrees: `8 to 10 K`.
pub fn kelvins(units: Units, from: f64, to: f64) -> String {
    let kind = Kind::TemperatureDifference;
    let [low, high] = [from, to].map(|k| format!("{:.0}", units.number(kind, k) + 0.0));
    let unit = units.unit(kind);
    match low == high {
        true => format!("{high} {unit}"),
        false => format!("{low} to {high} {unit}"),
    }
}

/// The accuracy of the temperatures that the model computes, as text *(engineering assumption)*.
pub fn credible(units: Units) -> String {
    format!(
        "±{}",
        units.show(Kind::TemperatureDifference, COOLANT_MODEL_HALF)
    )
}
