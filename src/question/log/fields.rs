//! The fields of `log` other than those shared with other questions.

use super::HIGHEST;
use crate::input::unit::celsius;
use crate::quantity::Kind;
use crate::question::{Field, Takes};

const fn temperature(low: f64, high: f64) -> Takes {
    Takes::Quantity(Kind::Temperature, celsius(low), celsius(high), &[])
}

/// The log.
pub const LOG: Field = Field::new("log", Takes::Log, "The log")
    .help("Readings of a scan tool in rows, below a line of column names. Several logs, or a folder of logs, give a table with one row per log. If a log after a repair is given too, they are the logs before the repair.")
    .required()
    .many()
    .by_place();

/// The log after a repair.
pub const COMPARE: Field = Field::new("compare", Takes::Log, "A log after a repair")
    .help(
        "Shows whether the repair helped, corrected for ambient temperature, load and air conditioning.",
    )
    .else_words("none")
    .many();

/// The cap pressure.
pub const CAP: Field = Field::new(
    "cap",
    Takes::Quantity(Kind::Pressure, 0.0, 3e5, &[]),
    "Radiator cap pressure",
)
.help("Gauge pressure at which the cap opens.")
.example("0.9 bar")
.usually("13 psi");

/// The fraction of glycol.
pub const GLYCOL: Field = Field::new(
    "glycol",
    Takes::Quantity(Kind::Share, 0.0, 0.6, &[]),
    "Glycol in the coolant, by volume",
)
.usually("50 %");

/// Altitude.
pub const ALTITUDE: Field = Field::new(
    "altitude",
    Takes::Quantity(Kind::Altitude, -500.0, HIGHEST, &[]),
    "Altitude",
)
.example("1500 m")
.else_words("as logged, else sea level");

/// Ambient temperature.
pub const AMBIENT: Field = Field::new("ambient", temperature(-60.0, 60.0), "Ambient temperature")
    .help("For a log without it, or to replace the logged one.")
    .example("30 C")
    .else_words("as logged");

/// Ambient temperature of the log after the repair.
pub const AMBIENT_AFTER: Field = Field::new(
    "ambient_after",
    temperature(-60.0, 60.0),
    "Ambient temperature of the log after the repair",
)
.help("For a log without it, or to replace the logged one.")
.example("25 C")
.else_words("as logged");

/// Coolant temperatures at or above which time is counted.
pub const ABOVE: Field = Field::new(
    "above",
    temperature(0.0, 160.0),
    "Count the time at or above these coolant temperatures",
)
.help("One or more, separated by commas.")
.example("100 C, 105 C")
.else_words("100, 105 and 110 °C")
.many();

/// Column assignments.
pub const COLUMN: Field = Field::new("column", Takes::Words, "Which column is which")
    .help("Written signal=column, with the column's name or its number (counted from 1) and, if needed, its unit in square brackets. signal=none means that no column has this signal. Separate several by commas.")
    .example("coolant=ECT, intake-air=none")
    .else_words("from the headings")
    .many();

/// Column assignments in the log after the repair.
pub const COLUMN_AFTER: Field = Field::new(
    "column_after",
    Takes::Words,
    "Which column is which in the log after the repair",
)
.help("Only if it differs from the log before the repair.")
.example("coolant=ECT 2")
.else_words("as in the log before the repair")
.many();

/// The unit of the time column.
pub const TIME_UNIT: Field = Field::new("time_unit", Takes::Words, "Unit of the time column")
    .help("s, ms, us, ns, min, h, days, hh:mm or mm:ss.")
    .example("ms")
    .else_words("detected from the heading and the times");

/// The cell separator.
pub const DELIMITER: Field = Field::new("delimiter", Takes::Words, "Cell separator")
    .help("One character, or tab, or space.")
    .example(";")
    .else_words("detected from the rows");

/// The decimal mark.
pub const DECIMAL: Field = Field::new("decimal", Takes::Words, "Decimal mark")
    .help("point or comma. The other one then separates thousands.")
    .example("comma")
    .else_words("detected from the cells");

/// The interval between rows.
pub const EVERY: Field = Field::new(
    "every",
    Takes::Quantity(Kind::Time, 1e-3, 3600.0, &[]),
    "Interval between rows",
)
.help("For a log without a time column, or to replace the time column.")
.example("1 s")
.else_words("as logged");

/// The fuel of the engine.
pub const FUEL: Field = Field::new(
    "fuel",
    Takes::Choice(&[
        ("unknown", "not stated"),
        ("petrol", "petrol"),
        ("gasoline", "the same as petrol"),
        ("diesel", "diesel"),
    ]),
    "Fuel of the engine",
)
.help("The fuel flow can be computed from the air flow of a petrol engine, but not from that of a diesel.");

/// The coolant temperature above which thermostat and fan are at their maximum.
pub const FULL_FROM: Field = Field::new(
    "full_from",
    temperature(40.0, 140.0),
    "Coolant temperature above which thermostat and fan are at their maximum",
)
.example("100 C")
.else_words("as in the machine file, else 5 K above the engine's most frequent temperature");

/// A machine to compare with.
pub const MACHINE: Field = Field::new("machine", Takes::Machine, "Machine")
    .help("light-truck, car, bus, off-road, or the path of a machine file. The machine is simulated with the engine speed, road speed and ambient temperature of the log.")
    .else_words("none");
