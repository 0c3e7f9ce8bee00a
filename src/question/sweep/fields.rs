//! The input fields of a sweep.

use super::Found;
use super::along::Axis;
use crate::question::basis::{self, OIL_TEMP, OWN_COMMAND, WARM};
use crate::question::weather;
use crate::question::{Field, Group, Outcome, Question, Takes};

/// Field for the quantity of the axis.
pub const OVER: Field = Field::new("over", Takes::Words, "Axis of the sweep")
    .help("engine-speed, oil-temp, viscosity, command, air-temp, altitude; ambient, road-speed, grade, trailer, load; or an input such as pump.slip.")
    .example("oil-temp")
    .required();

/// Field for the first value.
pub const FROM: Field = Field::new("from", Takes::Words, "From")
    .help("First value, with its unit.")
    .example("-20 C")
    .required();

/// Field for the last value.
pub const TO: Field = Field::new("to", Takes::Words, "To")
    .help("Last value, with its unit.")
    .example("110 C")
    .required();

/// Field for the oils to compare.
pub const OILS: Field = Field::new("oils", Takes::Oil, "With these oils")
    .help("Separate them by commas, or give them one by one.")
    .else_words("the machine's oil")
    .many();

/// Field for the number of values.
pub const STEPS: Field = Field::new("steps", Takes::Count(2, 20_000), "Number of values")
    .help("From 2 to 20000.")
    .usually("101");

/// Field for the quantity of the second axis.
pub const OVER_2: Field = Field::new("over_2", Takes::Words, "Second axis")
    .help("A second input. Contour lines are then drawn over both inputs.")
    .example("engine-speed")
    .else_words("one axis only");

/// Field for the first value of the second axis.
pub const FROM_2: Field = Field::new("from_2", Takes::Words, "From, second axis")
    .help("Include the unit.")
    .example("700 rpm");

/// Field for the last value of the second axis.
pub const TO_2: Field = Field::new("to_2", Takes::Words, "To, second axis")
    .help("Include the unit.")
    .example("3000 rpm");

/// Field for the number of values of the second axis.
pub const STEPS_2: Field = Field::new(
    "steps_2",
    Takes::Count(2, 2_000),
    "Number of values, second axis",
)
.help("From 2 to 2000; at most a million pairs.")
.usually("101");

/// Field for the output to show.
pub const GIVE: Field = Field::new("give", Takes::Words, "Output to show")
    .help("An output such as supply_gauge_pressure, pump_shaft_power, drive_efficiency, suction_velocity; or of the heat balance: coolant_temp, oil_temp, limiting_ambient, coolant_return_temp, air_temp, airflow, engine_heat, radiator_heat, oil_heat, engine_power, fuel_heat.")
    .usually("fan_speed");

/// Switch to compute an uncertainty band.
pub const BAND: Field = Field::new("band", Takes::Switch, "With the uncertainty band")
    .help("The range that contains 95 % of machines, given the uncertainty of machine, oil and condition. With several oils, the difference from the first oil has a band too.");

/// Field for the oil temperature.
pub const GIVEN_OIL_TEMP: Field = OIL_TEMP.called(
    "Oil temperature",
    "With its unit. Not where the heat balance computes it.",
);

/// Field for the fan command.
pub const COMMAND: Field = OWN_COMMAND
    .else_words("full; automatic for outputs of the heat balance, except the limiting ambient");

/// The input fields of the first and of the second axis.
pub(super) const AXES: [Axis; 2] = [
    Axis {
        over: &OVER,
        from: &FROM,
        to: &TO,
        steps: &STEPS,
    },
    Axis {
        over: &OVER_2,
        from: &FROM_2,
        to: &TO_2,
        steps: &STEPS_2,
    },
];

/// Maximum number of pairs of values in a sweep of two inputs.
pub(super) const MOST: usize = 1_000_000;

/// The question.
pub static QUESTION: Question = Question {
    key: "sweep",
    title: "Sweep",
    about: "How do speed, pressure, power or temperatures vary with one input (for one oil or several), or with two inputs?",
    groups: &[
        basis::MACHINE_AND_OIL,
        Group::new(
            "Operating condition",
            &[&weather::ENGINE_SPEED, &GIVEN_OIL_TEMP, &COMMAND],
        ),
        Group::new("Axis", &[&OVER, &FROM, &TO, &STEPS, &OILS, &GIVE, &BAND]),
        Group::folded("Second axis", &[&OVER_2, &FROM_2, &TO_2, &STEPS_2]),
        Group::folded(
            "Weather and road, with steady temperatures",
            &[
                &WARM,
                &weather::AMBIENT,
                &weather::AIR_CONDITIONING,
                &weather::CABIN_HEATER,
                &weather::ROAD_SPEED,
                &weather::GRADE,
                &weather::TRAILER,
                &weather::GEAR,
                &weather::LOAD,
            ],
        ),
        basis::AIR,
        basis::FAULT,
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel sweep light-truck --over oil-temp --from \"-20 C\" --to \"110 C\"",
        "oilwheel sweep light-truck --over viscosity --from \"5 cSt\" --to \"1000 cSt\"",
        "oilwheel sweep light-truck --over oil-temp --from \"-20 C\" --to \"110 C\" --over-2 engine-speed --from-2 \"700 rpm\" --to-2 \"3000 rpm\" --give supply_gauge_pressure",
        "oilwheel sweep light-truck --over road-speed --from \"20 km/h\" --to \"110 km/h\" --over-2 grade --from-2 \"0 %\" --to-2 \"10 %\" --give limiting_ambient",
        "oilwheel sweep bus --over engine-speed --from \"500 rpm\" --to \"2200 rpm\" --oils iso-vg-32,iso-vg-46",
    ],
    finds: Found::properties,
};
