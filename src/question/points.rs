//! Which coefficients follow from a maker's points of flow and torque?

use super::basis::{OIL, OIL_TEMP};
use super::{Field, Group, Intake, Question, Request, Takes, Values};
use crate::model::{MachinePoint, OilSheet};
use crate::outcome;
use crate::part::{Motor, Pump};
use crate::quantity::{Kind, Units};
use crate::question::Outcome;
use crate::trouble::{Trouble, Troubles};
use crate::vary::points::{COEFFICIENTS, Fitted, OF_FLOW, Point, Sought, fit};

/// The points.
pub const POINTS: Field = Field::new("points", Takes::Text("the points"), "The points")
    .help("A CSV file with a unit in every cell: pressure (the difference), speed, flow, torque, and viscosity or oil_temp; either flow or torque may be missing.")
    .required()
    .by_place();

/// Pump or motor.
pub const PART: Field = Field::new(
    "part",
    Takes::Choice(&[("pump", "a pump"), ("motor", "a motor")]),
    "Points of",
)
.help("pump or motor.");

/// Displacement of the pump or motor.
pub const DISPLACEMENT: Field = Field::new(
    "displacement",
    Takes::Quantity(Kind::Displacement, 8e-8, 8e-5, &[]),
    "Displacement, if known",
)
.help("With its unit.")
.example("16 cm3/rev")
.else_words("found from the points of flow");

/// The oil, which is required here.
pub const FILL: Field = Field {
    usual: super::Usual::Value("iso-vg-46"),
    ..OIL
};

/// The output file of the section.
pub const OUT: Field = Field::new(
    "out",
    Takes::Text("the section of a machine file"),
    "Where to write the section for a machine file",
)
.help("A file.")
.example("pump.toml")
.else_words("not written");

/// The question.
pub static QUESTION: Question = Question {
    key: "points",
    title: "",
    about: "Which coefficients follow from a maker's points of flow and torque, and how accurately?",
    groups: &[
        Group::new("The points", &[&POINTS, &PART, &DISPLACEMENT, &OUT]),
        Group::new(
            "The oil, for points without a viscosity",
            &[&FILL, &OIL_TEMP],
        ),
    ],
    examples: &[
        "oilwheel points points.csv --part pump --displacement \"16 cm3/rev\" --oil iso-vg-46 --out pump.toml",
    ],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub struct Points {
    /// The name of the table.
    pub source: String,
    points: Vec<MachinePoint>,
    solved: Vec<Point>,
    /// Whether the machine is a pump; otherwise a motor.
    pub pump: bool,
    displacement: Option<f64>,
    /// The oil.
    pub oil: OilSheet,
    /// The unit system of the answer.
    pub units: Units,
    /// The output file of the section.
    pub out: Option<String>,
}

outcome! {
    /// A coefficient.
    pub struct Coefficient {
        /// Key in a machine file.
        key: String,
        /// Unit of the value.
        unit: String,
        /// Value in that unit.
        value: f64,
        /// Half-width (95 %); null if the coefficient was not solved for.
        half: Option<f64>,
        /// Whether the fit would make it negative and it is held at zero.
        at_none: bool,
        /// Whether it is significantly different from zero.
        told: bool,
    }
    beside {
        /// Kind of quantity.
        kind: Kind,
        /// Value and half-width, SI.
        si: (f64, Option<f64>),
    }
}

outcome! {
    /// A point, compared with the fit.
    pub struct Misfit {
        /// Line in the table.
        line: usize,
        /// Pressure difference.
        pressure: f64 as Pressure,
        /// Speed.
        speed: f64 as Speed,
        /// Viscosity.
        viscosity: f64 as KinematicViscosity,
        /// Measured flow.
        flow: Option<f64> as Flow,
        /// Computed flow.
        flow_computed: Option<f64> as Flow,
        /// Half-width of the prediction for such a point (95 %).
        flow_half: Option<f64> as Flow,
        /// Measured torque.
        torque: Option<f64> as Torque,
        /// Computed torque.
        torque_computed: Option<f64> as Torque,
        /// Half-width of the prediction for such a point (95 %).
        torque_half: Option<f64> as Torque,
    }
}

outcome! {
    /// Two correlated coefficients.
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
        /// Scatter of flow around the fit, one standard deviation.
        flow_scatter: Option<f64> as Flow,
        /// Scatter of torque around the fit, one standard deviation.
        torque_scatter: Option<f64> as Torque,
        /// Number of flow points minus number of coefficients.
        flow_spare: usize,
        /// Number of torque points minus number of coefficients.
        torque_spare: usize,
        /// Correlations of the coefficients.
        correlations: Vec<Together>,
        /// The points.
        points: Vec<Misfit>,
    }
    beside {
        /// Ratio of maximum to minimum of viscosity, speed and pressure.
        spans: [f64; 3],
    }
}

impl Request for Points {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let file = intake.file(&POINTS);
        let points = file.as_ref().and_then(|(name, text)| {
            intake.keep_all(&POINTS, MachinePoint::all_from_text(name, text))
        });
        let pump = intake.choice(&PART).map(|part| part == "pump");
        let displacement = intake.value(&DISPLACEMENT);
        let oil = intake.oil(&FILL);
        let oil_temp = intake.value(&OIL_TEMP);
        let solved = points.as_ref().zip(oil.as_ref()).and_then(|(points, oil)| {
            let all: Result<Vec<Point>, Trouble> =
                points.iter().map(|p| with_oil(p, oil, oil_temp)).collect();
            intake.keep(&POINTS, all)
        });
        if let (Some(points), Some(pump)) = (&points, pump) {
            let wrong = points
                .iter()
                .filter_map(|p| impossible(p, pump, displacement));
            intake.problems.extend(wrong.map(|t| t.on(POINTS.key)));
        }
        let read = points.zip(solved).zip(pump).zip(oil).zip(file);
        intake.finish(
            read.map(|((((points, solved), pump), oil), (source, _))| Points {
                source,
                points,
                solved,
                pump,
                displacement,
                oil,
                units: values.units,
                out: values.text(&OUT),
            }),
        )
    }

    fn answer(&self) -> Result<Found, Troubles> {
        let sought = Sought {
            pump: self.pump,
            displacement: self.displacement,
            exponent: true,
        };
        let found = fit(&self.solved, &sought).map_err(|t| vec![t.on(POINTS.key)])?;
        Ok(self.told(&found))
    }
}

/// A point with its oil.
fn with_oil(point: &MachinePoint, sheet: &OilSheet, usual: Option<f64>) -> Result<Point, Trouble> {
    let place = || format!("line {}", point.line);
    let oil = match (point.viscosity, point.oil_temp.or(usual)) {
        (Some(nu), t) => {
            let t = t.unwrap_or_else(|| sheet.curve.temperature(nu));
            let mut oil = sheet.oil.now(&sheet.curve, t);
            oil.nu = nu;
            oil
        }
        (None, Some(t)) => sheet.oil.now(&sheet.curve, t),
        (None, None) => {
            let found = format!("{}: neither viscosity nor oil_temp", place());
            return Err(Trouble::input(
                found,
                format!("one of them, or {}", OIL_TEMP.mention()),
            ));
        }
    };
    let weight = |m: crate::quantity::Measure| {
        let share = if m.spread > 0.0 {
            m.spread / m.value
        } else {
            0.01
        };
        (m.value, 0.01 / share)
    };
    Ok(Point {
        pressure: point.pressure,
        speed: point.speed,
        flow: point.flow.map(weight),
        torque: point.torque.map(weight),
        oil,
    })
}

/// A physically impossible point of a pump or motor: more output than input.
fn impossible(point: &MachinePoint, pump: bool, displacement: Option<f64>) -> Option<Trouble> {
    let line = point.line;
    if let (Some(flow), Some(torque)) = (point.flow, point.torque) {
        let (oil, shaft) = (flow.value * point.pressure, torque.value * point.speed);
        let efficiency = if pump { oil / shaft } else { shaft / oil };
        if efficiency > 1.0 {
            let found = format!(
                "line {line}: a total efficiency of {:.1} %",
                100.0 * efficiency
            );
            return Some(
                Trouble::input(found, "below 100 %")
                    .hint("is the pressure the difference, and is this a pump or a motor?"),
            );
        }
    }
    let swept = displacement? * point.speed;
    let flow = point.flow?.value;
    let share = if pump { flow / swept } else { swept / flow };
    (share > 1.005).then(|| {
        let found = format!(
            "line {line}: a volumetric efficiency of {:.1} %",
            100.0 * share
        );
        Trouble::input(found, "at most 100 %").hint("is the displacement right?")
    })
}

impl Points {
    fn told(&self, found: &Fitted) -> Found {
        let fields = if self.pump {
            Pump::<f64>::FIELDS
        } else {
            Motor::<f64>::FIELDS
        };
        let coefficient = |k: usize| {
            let (key, one) = (COEFFICIENTS[k], found.all[k]);
            let kind = fields
                .iter()
                .find(|f| f.key == key)
                .map_or(Kind::Number, |f| f.kind);
            Coefficient {
                key: key.into(),
                unit: kind.json_suffix().into(),
                value: kind.to_json(one.value),
                half: one.half.map(|h| h * kind.json_factor()),
                at_none: one.at_none,
                told: one.half.is_some_and(|h| h < one.value),
                kind,
                si: (one.value, one.half),
            }
        };
        let together = |(a, b, r): &(usize, usize, f64)| Together {
            one: COEFFICIENTS[*a],
            other: COEFFICIENTS[*b],
            correlation: *r,
        };
        let span = |f: &dyn Fn(&Point) -> f64| {
            let values = self.solved.iter().map(f);
            let (low, high) =
                values.fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
            high / low
        };
        Found {
            coefficients: (0..COEFFICIENTS.len())
                .filter(|k| *k < OF_FLOW || found.scatter[1].is_some())
                .filter(|k| found.all[*k].value > 0.0 || found.all[*k].at_none)
                .map(coefficient)
                .collect(),
            flow_scatter: found.scatter[0],
            torque_scatter: found.scatter[1],
            flow_spare: found.spare[0],
            torque_spare: found.spare[1],
            correlations: found.correlations.iter().map(together).collect(),
            points: self.misfits(found),
            spans: [
                span(&|p| p.oil.nu),
                span(&|p| p.speed),
                span(&|p| p.pressure),
            ],
        }
    }

    /// Each point, compared with the fitted coefficients.
    fn misfits(&self, found: &Fitted) -> Vec<Misfit> {
        let one = |(k, point): (usize, &MachinePoint)| {
            let [flow, torque] = found.computed[k];
            Misfit {
                line: point.line,
                pressure: point.pressure,
                speed: point.speed,
                viscosity: self.solved[k].oil.nu,
                flow: point.flow.map(|m| m.value),
                flow_computed: flow.map(|f| f.0),
                flow_half: flow.map(|f| f.1),
                torque: point.torque.map(|m| m.value),
                torque_computed: torque.map(|t| t.0),
                torque_half: torque.map(|t| t.1),
            }
        };
        self.points.iter().enumerate().map(one).collect()
    }
}
