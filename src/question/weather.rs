//! Weather, road and load: the fields that matter only to a heat balance, and how they set the operating condition.

use super::basis::{self, condition};
use super::{Field, Takes, Values};
use crate::input::Input;
use crate::model::Setup;
use crate::quantity::Measure;

/// Temperature of the ambient air.
pub const AMBIENT: Field = Field::new("ambient", condition("ambient", &[]), "Ambient temperature")
    .help("Measured in the shade, away from the vehicle.")
    .example("38 C")
    .else_words("25 C");

/// Road speed.
pub const ROAD_SPEED: Field = Field::new("road_speed", condition("road_speed", &[]), "Road speed")
    .example("60 km/h")
    .else_words("at a standstill");

/// Grade of the road.
pub const GRADE: Field = Field::new("grade", condition("grade", &[]), "Grade of the road")
    .help("Uphill is positive.")
    .example("6 %")
    .else_words("level");

/// Mass of a trailer.
pub const TRAILER: Field = Field::new("trailer", condition("trailer", &[]), "Trailer")
    .help("Mass of the trailer.")
    .example("1500 kg")
    .else_words("none");

/// Whether the air conditioning is on.
pub const AIR_CONDITIONING: Field =
    Field::new("air_conditioning", Takes::Switch, "Air conditioning is on");

/// Engine speed.
pub const ENGINE_SPEED: Field = basis::ENGINE_SPEED
    .else_words("idle, or on the road the speed that follows from gear and road speed");

/// Whether the cabin heater is fully on.
pub const CABIN_HEATER: Field =
    Field::new("cabin_heater", Takes::Switch, "Cabin heater is fully on");

/// The gear. A vehicle has at most six.
pub const GEAR: Field = Field::new("gear", Takes::Count(1, 6), "Gear")
    .help("A number from 1 to 6.")
    .example("3")
    .else_words("the highest that does not lug the engine");

/// Heat of the fuel burned by the engine.
pub const HEAT_LOAD: Field = Field::new(
    "heat_load",
    condition("fuel_heat", &[]),
    "Heat of the fuel burned by the engine",
)
.help("If known. Diesel has about 10 kWh per litre.")
.example("30 kW")
.else_words("computed from the load");

/// Engine power for work other than driving.
pub const LOAD: Field = Field::new(
    "load",
    condition("work", &[]),
    "Engine power for work other than driving",
)
.help("For stationary machines, or if the load is known.")
.example("40 kW")
.else_words("none");

/// Fields that each set an input of the operating condition, with the key of the input.
pub const CONDITION: [(&Field, &str); 6] = [
    (&AMBIENT, "ambient"),
    (&ROAD_SPEED, "road_speed"),
    (&GRADE, "grade"),
    (&TRAILER, "trailer"),
    (&LOAD, "work"),
    (&HEAT_LOAD, "fuel_heat"),
];

/// Fields for weather, road and load, which matter only to the heat balance.
pub const WEATHER: [&Field; 8] = [
    &AMBIENT,
    &AIR_CONDITIONING,
    &CABIN_HEATER,
    &ROAD_SPEED,
    &GRADE,
    &TRAILER,
    &GEAR,
    &LOAD,
];

/// Sets inputs of the operating condition, with their uncertainties.
pub fn put(setup: &mut Setup, set: impl Iterator<Item = (&'static str, Measure)>, values: &Values) {
    let mut put = |key: &str, measure: Measure| {
        if let Some(input) = Input::find(&format!("now.{key}")) {
            setup.case = setup.case.with(input, measure.value);
            setup.spread = setup.spread.with_uncertainty(input, measure);
        }
    };
    for (key, measure) in set {
        put(key, measure);
    }
    if values.has(&AIR_CONDITIONING) {
        put(AIR_CONDITIONING.key, Measure::exact(1.0));
    }
    if values.has(&CABIN_HEATER) {
        put(CABIN_HEATER.key, Measure::exact(1.0));
    }
}
