//! The coolings and warm-ups of a log that carry information about the thermal inputs of a machine.

use super::rates::{Rates, WarmUp};
use crate::law::fuel_heat_stoichiometric as fuel_heat;
use crate::model::log::Signal;
use crate::model::{Fuel, Machine};
use crate::vary::coolant::Observed;

/// Number of coolings and of warm-ups that are used, the longest first.
const USED: usize = 4;

/// Up to this multiple of its idle speed, an engine counts as idling *(engineering assumption; a cold engine idles
/// faster)*.
const IDLES: f64 = 1.6;

/// Maximum mean road speed of a machine at standstill, m/s.
const STANDS: f64 = 0.3;

/// An engine colder than this when started has cooled completely, K: only then do coolant and metal have the same
/// temperature.
const COLD: f64 = 273.15 + 35.0;

/// Density of petrol, kg/m³ *(from memory)*.
const PETROL: f64 = 745.0;

/// The observations of a log that apply to a machine: coolings while parked with a known ambient temperature, and
/// warm-ups from cold at idle and standstill.
pub fn observed(rates: &Rates, machine: &Machine) -> Vec<Observed> {
    let soaks = rates.soaks.iter().filter(|s| s.ambient.is_finite());
    let mut parked: Vec<Observed> = soaks
        .map(|s| Observed::Parked {
            ends: s.ends,
            long: s.long,
            ambient: s.ambient,
        })
        .collect();
    let warm_ups = rates.warm_ups.iter();
    let mut warm_ups: Vec<Observed> = warm_ups.filter_map(|w| idling(w, machine)).collect();
    for all in [&mut parked, &mut warm_ups] {
        all.sort_by(|a, b| b.long().total_cmp(&a.long()));
        all.truncate(USED);
    }
    parked.append(&mut warm_ups);
    parked
}

/// The observation of a warm-up from cold at idle and standstill; `None` for any other warm-up.
fn idling(warm_up: &WarmUp, machine: &Machine) -> Option<Observed> {
    let mean = |signal| Some(warm_up.mean(signal)).filter(|x: &f64| x.is_finite());
    let engine_speed = mean(Signal::EngineSpeed)?;
    let ambient = mean(Signal::Ambient)?;
    let stands = mean(Signal::RoadSpeed).is_none_or(|v| v < STANDS);
    let idles = engine_speed <= IDLES * machine.usual.idle.value;
    let petrol = machine.fuel == Some(Fuel::Petrol);
    let by_fuel = mean(Signal::FuelRate).map(|q| fuel_heat::from_fuel(PETROL * q));
    let by_air = || mean(Signal::AirFlow).map(fuel_heat::from_air);
    let measured = by_fuel.or_else(by_air).filter(|_| petrol);
    let off = mean(Signal::AirConditioning).is_none_or(|on| on < 0.01);
    (stands && idles && off && warm_up.begins < COLD).then(|| Observed::WarmUp {
        begins: warm_up.begins,
        ends: WarmUp::ENDS,
        long: (WarmUp::ENDS[1] - WarmUp::ENDS[0]) / warm_up.rate,
        engine_speed,
        ambient,
        fuel_heat: measured.unwrap_or(0.0),
    })
}
