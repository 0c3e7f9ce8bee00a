//! How hot do coolant and oil get, how far is that from boiling, and what is the limiting ambient temperature?
//!
//! | file | task |
//! |---|---|
//! | `mod.rs` | the fields, and how they are read |
//! | `petrol.rs` | heat from a measured flow of a petrol engine |
//! | `found.rs` | the types of the results |
//! | `answer.rs` | computes the result |
//! | `looks.rs` | the condition as requested, and others for comparison |
//! | `draws.rs` | bands, probabilities and differences from sampled machines |
//! | `reading.rs` | fits the model to a reading of the machine |
//! | `days.rs` | the coolant versus ambient temperature, and the limiting ambient temperature versus road speed and grade |

mod answer;
mod days;
mod draws;
mod found;
mod looks;
mod petrol;
mod reading;

pub use super::weather::{
    AIR_CONDITIONING, AMBIENT, CABIN_HEATER, ENGINE_SPEED, GEAR, GRADE, HEAT_LOAD, LOAD,
    ROAD_SPEED, TRAILER,
};
pub use days::MAP_POINTS;
pub use draws::DRAWN;
pub use found::{Day, Found, Look, MapPoint, Rating, RatingInput, Residuals, Variant};
pub use reading::{Anchor, Anchored, FAR, Turns};

use super::basis::{self, AIR_TEMP, ALTITUDE, OIL_TEMP, OWN_COMMAND, UNPLUGGED, WITH};
use super::noted::{self, Noted};
use super::weather::{CONDITION, WEATHER, put};
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::fault;
use crate::input::unit::RPM;
use crate::model::{AsCause, Case, Caution, Machine, OilSheet, RatingPoint, Setup, in_range_of};
use crate::probe::Reading;
use crate::quantity::{Kind, Measure, parse};
use crate::trouble::{Trouble, Troubles};
use crate::vary::rating;

/// An imposed fan speed. The range of this field is an engineering assumption.
pub const FAN_SPEED: Field = Field::new(
    "fan_speed",
    Takes::Quantity(Kind::Speed, 0.0, 10_000.0 * RPM, &[]),
    "Fan speed",
)
.help("A measured speed, with its ± if known; the fan speed is then fixed. Or the fraction of its healthy speed that the fan reaches, such as 56 %. In both cases the oil temperature is held.")
.example("450 rpm")
.else_words("as computed");

/// The oil temperature that applies with an imposed fan speed.
pub const FIXED_OIL_TEMP: Field = OIL_TEMP.called(
    "Oil temperature",
    "Used only if a fan speed is given. Otherwise the oil temperature is computed.",
);

/// Coolant temperature readings.
pub const ANCHOR: Field = Field::new(
    "anchor",
    Takes::Words,
    "Coolant reading at an engine or fan speed",
)
.help("Taken when the machine was healthy. Say whether the speed is that of the engine or of the fan. Add the road speed, air conditioning or no air conditioning if this differs from the condition of this question: \"95 C at engine 1800 rpm, 30 C ambient, 90 km/h\". Separate several readings by semicolons.")
.example("99 C at engine 700 rpm, 38 C ambient")
.else_words("none")
.many();

/// A measured fuel flow of a petrol engine.
pub const FUEL_FLOW: Field = Field::new(
    "fuel_flow",
    Takes::Quantity(Kind::Flow, 0.0, petrol::MAX_FUEL, &[]),
    "Fuel flow of a petrol engine",
)
.example("1.2 L/h")
.else_words("computed from the load");

/// A measured intake air flow of a petrol engine.
pub const AIR_FLOW: Field = Field::new(
    "air_flow",
    Takes::Quantity(Kind::MassFlow, 0.0, petrol::MAX_AIR, &[]),
    "Air flow of a petrol engine",
)
.help("Give it instead of the fuel flow.")
.example("4 g/s")
.else_words("computed from the load");

/// Rating points of the core.
pub const RATING: Field = Field::new(
    "rating",
    Takes::Text("rating points"),
    "Rating points of the core",
)
.help("From the maker: a CSV table with the headings air_speed,coolant_flow,coolant_temp,air_temp,heat and two or more rows, with a unit in each cell, such as 5 m/s,120 L/min,95 C,35 C,62 kW.")
.else_words("the machine's own values");

/// Oils to compare.
pub const AGAINST_OILS: Field = Field::new(
    "against_oils",
    Takes::Oil,
    "Other oils to compare with this one",
)
.help("Separate them by commas, or give them one by one.")
.many();

/// The map of the limiting ambient temperature.
pub const MAP: Field = Field::new(
    "map",
    Takes::Switch,
    "Also show the limiting ambient temperature versus road speed and grade",
)
.help("This takes longer.");

/// Omits the sampling of machines, and with it bands and probabilities.
pub const WITHOUT_BANDS: Field = Field::new(
    "without_bands",
    Takes::Switch,
    "Without bands and probabilities",
)
.help("Faster, because no machines are sampled.");

/// The question `heat`: its fields, examples and outcome.
pub static QUESTION: Question = Question {
    key: "heat",
    title: "How hot?",
    about: "How hot do coolant and oil get, how far is that from boiling, and what is the limiting ambient temperature?",
    groups: &[
        basis::MACHINE_AND_OIL,
        Group::new("Operating condition", &[&ENGINE_SPEED, &OWN_COMMAND]),
        Group::new("Weather and road", &WEATHER),
        Group::folded(
            "Measured values",
            &[
                &FAN_SPEED,
                &FIXED_OIL_TEMP,
                &ANCHOR,
                &HEAT_LOAD,
                &FUEL_FLOW,
                &AIR_FLOW,
            ],
        ),
        Group::folded("Rating points of the core", &[&RATING]),
        Group::new("Compare", &[&AGAINST_OILS, &MAP, &WITHOUT_BANDS]),
        Group::folded(
            "Air, altitude, valve unplugged",
            &[&AIR_TEMP, &ALTITUDE, &UNPLUGGED],
        ),
        basis::FAULT,
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel heat light-truck --ambient \"38 C\" --air-conditioning",
        "oilwheel heat light-truck --road-speed \"70 km/h\" --grade \"6 %\" --trailer \"1500 kg\"",
        "oilwheel heat light-truck --ambient \"30 C\" --fan-speed \"450 rpm\" --oil-temp \"80 C\"",
    ],
    finds: Found::properties,
};

/// A request for `heat`, parsed from what the user entered.
#[derive(Clone, Debug)]
pub struct Heat {
    /// Machine, oil and operating condition.
    pub setup: Setup,
    /// The case without its faults.
    pub healthy: Case,
    /// Whether the fan command is taken from the given operating condition; otherwise the fan control sets it.
    pub command_given: bool,
    /// Whether the engine speed is taken from the given operating condition; otherwise it follows from gear and road
    /// speed.
    pub engine_given: bool,
    /// The gear; `None` for the highest one that does not lug the engine.
    pub gear: Option<usize>,
    /// The imposed fan speed, rad/s, with its ±, if any.
    pub fan_speed: Option<Measure>,
    /// How fast the fan is compared with the computed one, if that is known.
    pub ratio: Option<Ratio>,
    /// The caution about the cause that is applied because a notebook's readings show it and none of them was taken in the
    /// requested condition, if any.
    pub noted: Option<Caution>,
    /// Heat of the fuel burned, W, if given or computed from a measured flow; and the key of the field that gives it.
    pub fuel_heat: Option<(&'static str, f64)>,
    /// Rating points of the core; empty if the machine's own data apply.
    pub rating: Vec<RatingPoint>,
    /// Coolant temperature readings to which the uncertain inputs are fitted.
    pub anchors: Vec<Anchor>,
    /// Other oils to compare with the machine's.
    pub oils: Vec<OilSheet>,
    /// Whether the map of the limiting ambient temperature is requested.
    pub map: bool,
    /// Whether bands and probabilities are requested.
    pub bands: bool,
}

/// How fast the fan is compared with that of the machine as computed.
#[derive(Clone, Copy, Debug)]
pub enum Ratio {
    /// It makes this fraction of the computed speed.
    Given(Measure),
    /// In the condition of this reading it makes the speed that was read.
    Read(Reading),
}

impl Ratio {
    /// The factor by which the computed fan speed of a case is multiplied; `off` is the error of what is known, in
    /// standard deviations.
    fn of(&self, machine: &Machine, case: &Case, off: f64) -> Result<f64, Trouble> {
        match self {
            Self::Given(m) => Ok((m.value + 0.5 * off * m.spread).max(0.0)),
            Self::Read(reading) => noted::ratio(reading, machine, case, off),
        }
    }
}

impl Request for Heat {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let set = CONDITION.map(|(field, key)| Some((key, intake.quantity(field)?)));
        let gear = intake.count(&GEAR);
        let fraction = values.get(&FAN_SPEED).filter(|words| words.ends_with('%'));
        let ratio = fraction.and_then(|words| {
            let read = fraction_of(words, values);
            intake.keep(&FAN_SPEED, read).map(Ratio::Given)
        });
        let fan_speed = match fraction {
            Some(_) => None,
            None => intake.quantity(&FAN_SPEED),
        };
        let flows = petrol::Flows::read(&mut intake);
        let anchors = values.all(&ANCHOR).flat_map(|words| words.split(';'));
        let anchors = anchors.filter(|words| !words.trim().is_empty());
        let anchors: Vec<Anchor> = anchors
            .filter_map(|words| intake.keep(&ANCHOR, reading::parsed(words.trim())))
            .collect();
        let oils = intake.oils(&AGAINST_OILS);
        let map = values.has(&MAP);
        let setup = match basis::with_healthy(&basis::ask_automatic(values), values) {
            Ok(setup) => Some(setup),
            Err(all) => {
                intake.problems.extend(all);
                None
            }
        };
        let (setup, healthy) = setup.unzip();
        let carried = setup.as_ref().map(|p| p.case);
        let rating = intake.file(&RATING).and_then(|(name, text)| {
            let carries = |p: &RatingPoint| carried.and_then(|case| rating::carried(&case, p));
            let read = RatingPoint::all_from_text(&name, &text, &carries);
            intake.keep_all(&RATING, read)
        });
        if map && setup.as_ref().is_some_and(|p| p.case.vehicle.is_none()) {
            let found = "a map was requested, but the machine file has no [vehicle] section";
            let problem = Trouble::input(found, "a machine file with [vehicle]");
            intake.problems.push(problem.on(MAP.key));
        }
        let mut request = setup.zip(healthy).map(|(mut setup, mut healthy)| {
            put(&mut setup, set.into_iter().flatten(), values);
            healthy.now = setup.case.now;
            Heat {
                healthy,
                command_given: setup.case.shape.unplugged || setup.typed.contains(&"command"),
                engine_given: setup.typed.contains(&"engine_speed"),
                setup,
                gear,
                fan_speed,
                ratio,
                noted: None,
                fuel_heat: None,
                rating: rating.unwrap_or_default(),
                anchors,
                oils,
                map,
                bands: !values.has(&WITHOUT_BANDS),
            }
        });
        if let Some(request) = &mut request {
            let given = flows.heat(&request.setup.machine, &mut intake);
            let loaded = values.has(&HEAT_LOAD);
            let loaded = loaded.then_some((&HEAT_LOAD, request.setup.case.now.fuel_heat));
            request.fuel_heat = given.or(loaded).and_then(|(field, heat)| {
                let burnt = intake.keep(field, burns(&request.setup, heat))?;
                Some((field.key, burnt))
            });
            if let Some((_, heat)) = request.fuel_heat {
                request.setup.case.now.fuel_heat = heat;
                request.healthy.now.fuel_heat = heat;
            }
            intake.problems.extend(two_speeds(request));
            if !values.has(&FAN_SPEED) && !values.has(&WITH) {
                let noted = request.notice(values);
                intake.problems.extend(noted.err().into_iter().flatten());
            }
        }
        intake.finish(request)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        Found::of(self).map_err(|t| vec![t])
    }
}

impl Heat {
    /// Takes over what the readings in a notebook say about the fan: the one taken in the requested condition, else the
    /// most probable cause.
    fn notice(&mut self, values: &Values) -> Result<(), Troubles> {
        let Some(noted) = Noted::of(values) else {
            return Ok(());
        };
        let there = answer::on_the_road(&self.healthy, self).unwrap_or(self.healthy);
        let command = match self.command_given {
            true => there.now.command,
            false => 1.0,
        };
        let reading = noted.at(&there, command);
        // The map is of many conditions, in most of which there is no reading.
        if let (Some(reading), false, false) = (reading, self.map, there.shape.unplugged) {
            let oil = reading.setting.oil_temp(&self.setup.machine);
            (self.setup.case.now.oil_temp, self.healthy.now.oil_temp) = (oil, oil);
            self.ratio = Some(Ratio::Read(reading));
            return Ok(());
        }
        let (cause, caution) = noted.cause()?;
        self.noted = caution;
        let with = cause.map(|c| c.typed());
        fault::put_on(&mut self.setup, with.as_slice(), WITH.key)
    }

    /// Whether the fan is as the readings in a notebook show it.
    pub fn follows_readings(&self) -> bool {
        matches!(self.ratio, Some(Ratio::Read(_))) || !self.causes().is_empty()
    }

    /// The causes of the fault that a notebook's readings show, most probable first; the first is applied.
    pub fn causes(&self) -> &[AsCause] {
        match &self.noted {
            Some(Caution::ByCause { causes }) => causes,
            _ => &[],
        }
    }

    /// Whether the fan speed is not that of the oil circuit as computed.
    fn is_slowed(&self) -> bool {
        self.fan_speed.is_some() || self.ratio.is_some()
    }

    /// Applies the faults of the request to a healthy machine.
    fn faulty(&self, healthy: &Case) -> Case {
        let faults = self.setup.faults.iter();
        faults.fold(*healthy, |case, (key, severity)| {
            fault::find(key).map_or(case, |fault| fault.on(&case, *severity))
        })
    }
}

/// Parses a fan speed that is given as a fraction of the computed one.
fn fraction_of(words: &str, values: &Values) -> Result<Measure, Trouble> {
    let measure = parse(Kind::Share, words)?;
    in_range_of(Kind::Share, 0.0, 1.0, measure, values.units)
}

/// Returns the fuel heat, W; an error if it is none, or more than that of the engine at maximum power.
fn burns(setup: &Setup, heat: f64) -> Result<f64, Trouble> {
    let show = |w| setup.units.show(Kind::Power, w);
    if heat <= 0.0 {
        let found = "a running engine without fuel";
        return Err(Trouble::input(found, "more than 0")
            .hint("leave it out to have it computed from the load"));
    }
    let most = setup.case.engine.map_or(f64::INFINITY, |e| {
        e.most_fuel(setup.machine.usual.full.value)
    });
    if heat > most {
        let found = format!("{} of fuel heat", show(heat));
        let expected = format!(
            "no more than {}, the fuel heat of this engine at maximum power",
            show(most)
        );
        return Err(Trouble::input(found, expected).hint("is the unit right?"));
    }
    Ok(heat)
}

/// The problem of a gear that is given beside an engine speed, which on the road follows from it.
fn two_speeds(request: &Heat) -> Option<Trouble> {
    let moves = request.setup.case.vehicle.is_some() && request.setup.case.now.road_speed > 0.0;
    let both = request.engine_given && request.gear.is_some() && moves;
    let found = "a gear and an engine speed were given, but the engine speed follows from gear and road speed";
    both.then(|| Trouble::input(found, "only one of the two").on(GEAR.key))
}
