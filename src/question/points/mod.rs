//! Which coefficients follow from a manufacturer's performance points of a pump, a motor or a fan?
//!
//! | file | task |
//! |---|---|
//! | `machine.rs` | points of a pump or motor |
//! | `fan.rs` | points of a fan curve |

mod fan;
mod machine;

pub use fan::{FanMisfit, FanTable};
pub use machine::MachineTable;

use super::basis::{OIL, OIL_TEMP};
use super::{Field, Group, Intake, Question, Request, Takes, Values};
use crate::input::unit::MM;
use crate::model::{FanCurvePoint, MachinePoint, OilSheet};
use crate::outcome;
use crate::quantity::{Kind, Units};
use crate::question::Outcome;
use crate::trouble::Troubles;

/// The points.
pub const POINTS: Field = Field::new("points", Takes::Text("the points"), "The points")
    .help("A CSV file with a unit in every cell or in the heading, such as flow (m3/h). Columns for a pump or motor: pressure (the pressure difference), speed, flow, torque, and viscosity or oil_temp. Either flow or torque may be missing. Columns for a fan: flow, speed, pressure (static), power (at the shaft), density. Either pressure or power may be missing.")
    .required()
    .by_place();

/// Pump, motor or fan.
pub const PART: Field = Field::new(
    "part",
    Takes::Choice(&[("pump", "a pump"), ("motor", "a motor"), ("fan", "a fan")]),
    "What the points describe",
)
.help("pump, motor or fan.");

/// Displacement of the pump or motor.
pub const DISPLACEMENT: Field = Field::new(
    "displacement",
    Takes::Quantity(Kind::Displacement, 8e-8, 8e-5, &[]),
    "Displacement, if known",
)
.help("Include the unit.")
.example("16 cm3/rev")
.else_words("computed from the flow points");

/// Diameter of the fan.
pub const DIAMETER: Field = Field::new(
    "diameter",
    Takes::Quantity(Kind::Length, 100.0 * MM, 2000.0 * MM, &[]),
    "Diameter of the fan, if known",
)
.help("Measured over the blade tips. Include the unit.")
.example("460 mm")
.else_words("left open in the written section");

/// Air density, for points of a fan without a stated density.
pub const DENSITY: Field = Field::new(
    "density",
    Takes::Quantity(Kind::Density, 0.5, 2.0, &[]),
    "Air density, for fan points that do not give it",
)
.usually("1.2 kg/m3");

/// The oil. Its default here is ISO VG 46, because no machine with a usual oil is given.
pub const FILL: Field = Field {
    usual: super::Usual::Value("iso-vg-46"),
    ..OIL
};

/// The file to which the section for a machine file is written.
pub const OUT: Field = Field::new(
    "out",
    Takes::Text("the section of a machine file"),
    "Where to write the section for a machine file",
)
.help("The path of a file.")
.example("pump.toml")
.else_words("not written");

/// The question `points`: its fields, examples and outcome.
pub static QUESTION: Question = Question {
    key: "points",
    title: "Maker's points",
    about: "Which coefficients follow from a maker's data points for a pump, motor or fan, and how accurate are they?",
    groups: &[
        Group::new("The points", &[&POINTS, &PART, &OUT]),
        Group::new("For a pump or motor", &[&DISPLACEMENT]),
        Group::new("For a fan", &[&DIAMETER, &DENSITY]),
        Group::new(
            "The oil, for points without a viscosity",
            &[&FILL, &OIL_TEMP],
        ),
    ],
    examples: &[
        "oilwheel points points.csv --part pump --displacement \"16 cm3/rev\" --oil iso-vg-46 --out pump.toml",
        "oilwheel points curve.csv --part fan --diameter \"460 mm\" --out fan.toml",
    ],
    finds: Found::properties,
};

/// The performance points of one part.
#[derive(Clone, Debug)]
pub enum Table {
    /// Points of a pump or motor.
    Machine(MachineTable),
    /// Points of a fan curve.
    Fan(FanTable),
}

/// A request for `points`, parsed from what the user entered.
#[derive(Clone, Debug)]
pub struct Points {
    /// Name of the file with the points.
    pub source: String,
    /// The points.
    pub table: Table,
    /// The oil, for points without a viscosity.
    pub oil: OilSheet,
    /// The unit system of the answer.
    pub units: Units,
    /// The file to which the section for a machine file is written, if given.
    pub out: Option<String>,
}

outcome! {
    /// A coefficient of the model of the pump, motor or fan.
    pub struct Coefficient {
        /// Key of the coefficient in a machine file.
        key: String,
        /// Unit of the value.
        unit: String,
        /// Value in that unit.
        value: f64,
        /// Half-width (95 %) of its uncertainty; null if the coefficient was not solved for.
        half: Option<f64>,
        /// Whether the coefficient is held at zero because the fit would make it negative.
        at_none: bool,
        /// Whether the coefficient is significantly different from zero.
        told: bool,
    }
    beside {
        /// Section of the machine file to which the coefficient belongs.
        section: &'static str,
        /// Kind of quantity.
        kind: Kind,
        /// Value and half-width, SI.
        si: (f64, Option<f64>),
    }
}

outcome! {
    /// A point of a pump or motor, compared with the fit.
    pub struct Misfit {
        /// Line in the table.
        line: usize,
        /// Pressure difference.
        pressure: f64 as Pressure,
        /// Speed.
        speed: f64 as Speed,
        /// Kinematic viscosity of the oil.
        viscosity: f64 as KinematicViscosity,
        /// Measured flow.
        flow: Option<f64> as Flow,
        /// Flow computed with the fitted coefficients.
        flow_computed: Option<f64> as Flow,
        /// Half-width (95 %) of the predicted flow for a single measurement at this point.
        flow_half: Option<f64> as Flow,
        /// Measured torque.
        torque: Option<f64> as Torque,
        /// Torque computed with the fitted coefficients.
        torque_computed: Option<f64> as Torque,
        /// Half-width (95 %) of the predicted torque for a single measurement at this point.
        torque_half: Option<f64> as Torque,
    }
}

outcome! {
    /// The correlation of two fitted coefficients.
    pub struct Together {
        /// The first coefficient.
        one: &'static str,
        /// The second coefficient.
        other: &'static str,
        /// Their correlation.
        correlation: f64,
    }
}

outcome! {
    /// The result of `points`.
    pub struct Found {
        /// The coefficients.
        coefficients: Vec<Coefficient>,
        /// Standard deviation of flow around the fit.
        flow_scatter: Option<f64> as Flow,
        /// Standard deviation of torque around the fit.
        torque_scatter: Option<f64> as Torque,
        /// Degrees of freedom of the flow fit: number of flow points minus number of coefficients.
        flow_spare: usize,
        /// Degrees of freedom of the torque fit: number of torque points minus number of coefficients.
        torque_spare: usize,
        /// For a fan: standard deviation of static pressure around the fit, at rated speed and density.
        pressure_scatter: Option<f64> as AirPressure,
        /// For a fan: standard deviation of shaft power around the fit, at rated speed and density.
        power_scatter: Option<f64> as Power,
        /// For a fan: degrees of freedom of the pressure fit, the number of points minus the number of coefficients.
        pressure_spare: usize,
        /// For a fan: degrees of freedom of the power fit, the number of points minus the number of coefficients.
        power_spare: usize,
        /// Correlations of the coefficients.
        correlations: Vec<Together>,
        /// The points of a pump or motor.
        points: Vec<Misfit>,
        /// The points of a fan.
        fan_points: Vec<FanMisfit>,
    }
    beside {
        /// For each varied quantity: its name, and the ratio of its maximum to its minimum among the points.
        spans: Vec<(&'static str, f64)>,
        /// For a fan: minimum and maximum ratio of flow to speed among the points, relative to that at the rating
        /// point.
        reach: Option<[f64; 2]>,
        /// Whether the curvature of a fan's pressure curve is held at the minimum allowed.
        straight: bool,
    }
}

impl Request for Points {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let file = intake.file(&POINTS);
        let part = intake.choice(&PART);
        let displacement = intake.value(&DISPLACEMENT);
        let (diameter, density) = (intake.value(&DIAMETER), intake.value(&DENSITY));
        let oil = intake.oil(&FILL);
        let oil_temp = intake.value(&OIL_TEMP);
        let table = (|| {
            let ((name, text), part) = (file.as_ref()?, part?);
            let (oil, density) = (oil.as_ref()?, density?);
            let table = if part == "fan" {
                let points = FanCurvePoint::all_from_text(name, text);
                points.map(|points| Table::Fan(FanTable::of(points, diameter, density)))
            } else {
                let points = MachinePoint::all_from_text(name, text);
                let table = points.and_then(|points| {
                    MachineTable::of(points, part == "pump", displacement, (oil, oil_temp))
                });
                table.map(Table::Machine)
            };
            intake.keep_all(&POINTS, table)
        })();
        let read = table.zip(oil).zip(file);
        intake.finish(read.map(|((table, oil), (source, _))| Points {
            source,
            table,
            oil,
            units: values.units,
            out: values.text(&OUT),
        }))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        let found = match &self.table {
            Table::Machine(table) => table.find(),
            Table::Fan(table) => table.find(),
        };
        found.map_err(|t| vec![t.on(POINTS.key)])
    }
}

impl Found {
    /// A result without coefficients or points, to be filled in.
    fn empty() -> Self {
        Self {
            coefficients: Vec::new(),
            flow_scatter: None,
            torque_scatter: None,
            flow_spare: 0,
            torque_spare: 0,
            pressure_scatter: None,
            power_scatter: None,
            pressure_spare: 0,
            power_spare: 0,
            correlations: Vec::new(),
            points: Vec::new(),
            fan_points: Vec::new(),
            spans: Vec::new(),
            reach: None,
            straight: false,
        }
    }
}

/// Ratio of the largest value to the smallest.
fn span(values: impl Iterator<Item = f64>) -> f64 {
    let (low, high) = values.fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
    high / low
}
