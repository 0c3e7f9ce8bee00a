//! How hot do coolant and oil get along a trip, when, and what does the fan do meanwhile?
//!
//! | file | task |
//! |---|---|
//! | `mod.rs` | the fields, and how they are read |
//! | `course.rs` | the trip of one machine, and its key figures |
//! | `spread.rs` | the same trip with machines sampled within the ± |
//! | `variants.rs` | variants of the machine on the same trip |
//! | `found.rs` | the types of the results, and their computation |

mod course;
mod found;
mod spread;
mod variants;

pub use course::{Figures, HOT_OIL, IDLING, Idle};
pub use found::{Event, Found, Limited, Look, Row, RowAgainst};
pub use spread::Spread;
pub use variants::{Variant, VariantLook};

use super::basis::{
    self, AGAINST_OIL, AGAINST_OIL_TEMP, AGAINST_WITH, AIR_TEMP, ALTITUDE, ENGINE_SPEED,
    OWN_COMMAND, UNPLUGGED, WITH, condition,
};
use super::noted::with_cause;
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values, renamed};
use crate::fault;
use crate::model::{Ask, Caution, Profile, Setup};
use crate::trouble::Troubles;

/// The trip.
pub const TRIP: Field = Field::new("trip", Takes::Trip, "Trip")
    .help("jam, commute, cold-start, tow (all invented), or the path of a table. The table has two rows or more below headings such as time_min,road_speed_km_h,ambient_c. Other possible columns are engine_speed_rpm, gear, grade_percent, air_conditioning, trailer_kg, command, work_kw, altitude_m, coolant_c and oil_c.")
    .required()
    .by_place();

/// The ambient temperature throughout the trip.
pub const AMBIENT: Field = Field::new(
    "ambient",
    condition("ambient", &[]),
    "Ambient temperature throughout",
)
.help("Replaces the ambient temperature in every row of the trip.")
.example("38 C")
.else_words("as in the trip");

/// Whether everything starts at ambient temperature.
pub const COLD: Field = Field::new(
    "cold",
    Takes::Switch,
    "Start with everything at ambient temperature",
)
.help("Otherwise the trip starts in the steady state of its first row, or as given in the table.");

/// The initial oil temperature.
pub const OIL_TEMP: Field = basis::OIL_TEMP
    .called("Initial oil temperature", "Include the unit.")
    .else_words("as in the steady state");

/// The fan command throughout the trip.
pub const COMMAND: Field = OWN_COMMAND.called(
    "Fan command throughout",
    "0 % to 100 %, or a word: automatic (set by the trip or the fan control), least, full.",
);

/// The baseline's initial oil temperature.
pub const AGAINST_OIL_AT: Field = AGAINST_OIL_TEMP.called(
    "The same trip with another initial oil temperature",
    "Include the unit.",
);

/// The baseline's faults.
pub const AGAINST_FAULT: Field = AGAINST_WITH.called(
    "The same trip with another fault",
    "A fault and its severity. If nothing is given to compare with, a machine with a fault is compared with the healthy one.",
);

/// A variant of the machine.
pub const VARIANT: Field = Field::new("variant", Takes::Words, "A variant of the machine")
    .help("A name, a colon, and the changes to the machine, separated by semicolons. A change is part.key=value, oil …, machine … (a name or a file) or with fault=severity. One table compares all variants.")
    .example("small pump: pump.displacement=9 cm3/rev; oil iso-vg-32")
    .many();

/// The question `trip`: its fields, examples and outcome.
pub static QUESTION: Question = Question {
    key: "trip",
    title: "On a trip",
    about: "How hot do coolant and oil get on a trip, and what does the fan do meanwhile?",
    groups: &[
        basis::MACHINE_AND_OIL,
        Group::new("Which trip", &[&TRIP, &AMBIENT, &COLD]),
        Group::new("Conditions", &[&OIL_TEMP, &COMMAND]),
        Group::new(
            "Compare with",
            &[&AGAINST_OIL, &AGAINST_OIL_AT, &AGAINST_FAULT],
        ),
        Group::folded("Variants in one table", &[&VARIANT]),
        Group::folded(
            "Air, altitude, valve unplugged",
            &[&ENGINE_SPEED, &AIR_TEMP, &ALTITUDE, &UNPLUGGED],
        ),
        basis::FAULT,
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel trip light-truck jam",
        "oilwheel trip light-truck tow --with worn-pump=0.6",
        "oilwheel trip car cold-start --cold --against-oil engine-10w-30",
        "oilwheel trip light-truck tow --variant \"small pump: pump.displacement=9 cm3/rev\" --variant \"thin oil: oil iso-vg-32\"",
    ],
    finds: Found::properties,
};

/// One machine on a trip.
#[derive(Clone, Debug)]
pub struct Side {
    /// Machine, oil, faults.
    pub setup: Setup,
    /// The initial oil temperature, K, if given.
    pub oil_temp: Option<f64>,
    /// The fan command imposed throughout the trip, if given.
    pub command: Option<f64>,
}

/// The baseline with which the trip is compared.
#[derive(Clone, Debug)]
pub struct Against {
    /// The machine of the baseline.
    pub side: Side,
    /// Whether another oil was given.
    pub oil: bool,
    /// Whether another initial oil temperature was given.
    pub oil_temp: bool,
    /// Whether other faults were given.
    pub with: bool,
}

/// A request for `trip`, parsed from what the user entered.
#[derive(Clone, Debug)]
pub struct Trip {
    /// The machine that the question is about.
    pub side: Side,
    /// The baseline, if there is a comparison.
    pub against: Option<Against>,
    /// The trip.
    pub profile: Profile,
    /// The ambient temperature throughout, K, if it is not that of the trip.
    pub ambient: Option<f64>,
    /// Whether everything starts at ambient temperature.
    pub cold: bool,
    /// Variants of the machine to run on the same trip.
    pub variants: Vec<Variant>,
    /// The caution about the cause that is applied because a notebook's readings show it, if any.
    pub noted: Option<Caution>,
}

impl Request for Trip {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let (values, noted) = &with_cause(values)?;
        let mut intake = Intake::new(values);
        let profile = match (values.came_along(&TRIP), values.get(&TRIP)) {
            (Some((name, text)), _) => Profile::from_text(name, text),
            (None, name) => values.lookup.trip(name.unwrap_or_default()),
        };
        let profile = intake.keep_all(&TRIP, profile);
        let ambient = intake.value(&AMBIENT);
        let profile = match ambient {
            Some(ambient) => profile.map(|p| p.at_ambient(ambient)),
            None => profile,
        };
        let side = side(values, &basis::ask_automatic(values), &WITH);
        let side = side.map_err(|all| intake.problems.extend(all)).ok();
        let against = against(values).map_err(|all| {
            for problem in all {
                if !intake.problems.contains(&problem) {
                    intake.problems.push(problem);
                }
            }
        });
        let variants = match side {
            Some(_) => Variant::all(values, &basis::ask_automatic(values)),
            None => Ok(Vec::new()),
        };
        let variants = variants.map_err(|all| intake.problems.extend(all)).ok();
        let request = match (side, against, profile, variants) {
            (Some(side), Ok(against), Some(profile), Some(variants)) => Some(Trip {
                side,
                against,
                profile,
                ambient,
                cold: values.has(&COLD),
                variants,
                noted: noted.clone(),
            }),
            _ => None,
        };
        intake.finish(request)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        Found::of(self)
    }
}

/// Resolves one machine of the comparison, with the faults given in the field `with`.
fn side(values: &Values, ask: &Ask, with: &Field) -> Result<Side, Troubles> {
    side_with(values, ask, &values.list(with), with.key)
}

/// Resolves one machine of the comparison, with the given faults; `key` is the key of the field that they come from.
fn side_with(values: &Values, ask: &Ask, faults: &[String], key: &str) -> Result<Side, Troubles> {
    let mut setup = super::own::resolve(ask, values)?;
    fault::put_on(&mut setup, faults, key)?;
    setup.stop = values.stop.clone();
    let now = setup.case.now;
    let typed = |key: &str| setup.typed.contains(&key);
    Ok(Side {
        oil_temp: typed("oil_temp").then_some(now.oil_temp),
        command: typed("command").then_some(now.command),
        setup,
    })
}

/// Parses the baseline; `None` without a comparison. By default a faulty machine is compared with the healthy one.
fn against(values: &Values) -> Result<Option<Against>, Troubles> {
    let [oil, oil_temp, with] =
        [&AGAINST_OIL, &AGAINST_OIL_AT, &AGAINST_FAULT].map(|field| values.has(field));
    if !(oil || oil_temp || with || values.has(&WITH)) {
        return Ok(None);
    }
    let mut ask = basis::ask_automatic(values);
    ask.oil = values.text(&AGAINST_OIL).or(ask.oil);
    ask.oil_temp = values.text(&AGAINST_OIL_AT).or(ask.oil_temp);
    // If only the oil or its temperature differs, both machines have the same faults.
    let faults = if !with && (oil || oil_temp) {
        &WITH
    } else {
        &AGAINST_FAULT
    };
    let side = side(values, &ask, faults).map_err(|mut all| {
        if oil {
            all = renamed(all, "oil", AGAINST_OIL.key);
        }
        if oil_temp {
            all = renamed(all, "oil_temp", AGAINST_OIL_AT.key);
        }
        all
    })?;
    Ok(Some(Against {
        side,
        oil,
        oil_temp,
        with,
    }))
}
