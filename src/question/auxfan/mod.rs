//! How much do electric fans gain, and how much would repairing the main fan or using the correct oil gain instead?
//!
//! | file | task |
//! |---|---|
//! | `found.rs` | the results |
//! | `places.rs` | possible positions of electric fans, and a case with fans fitted |
//! | `sides.rs` | evaluates all sets of fans, and compares fans, oil and repair |
//! | `working.rs` | the operating points of a set's fans, and cautions |
//! | `wants.rs` | requirements in words |
//! | `smallest.rs` | the smallest set that meets these, in what fraction of machines, and what rules out others |
//! | `wiring.rs` | wire and fuse of one fan |

mod found;
mod places;
mod sides;
mod smallest;
mod wants;
mod wiring;
mod working;

pub use found::{Curves, Found, Remedy, Side, Tried, Wire, Working, Would};
pub use places::{
    Fitted, MOST, NOWHERE, Set, Spot, every, fits, mounted, mounted_as, set, spots, square,
};
pub use smallest::{InTheWay, Rung, WantMet};
pub use wants::{Wants, What};
pub use wiring::{STARTING, STRANDED, Wiring, drop, wiring};

use self::places::name_of;
use self::sides::{Compared, as_it_is, rolling};
use super::basis::{self, AIR_TEMP, ALTITUDE, COMMAND, ENGINE_SPEED, OIL_TEMP, UNPLUGGED, WITH};
use super::noted::{Noted, as_read};
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::fault;
use crate::input::unit::celsius;
use crate::model::{AUXILIARY_FANS, AuxiliaryFan, Case, Caution, OilSheet, Setup, in_range_of};
use crate::part::Alternator;
use crate::quantity::{Kind, parse};
use crate::trouble::{Trouble, Troubles};

/// The ambient temperature up to which the coolant must stay below its limit.
pub const AMBIENT: Field = Field::new(
    "ambient",
    Takes::Quantity(Kind::Temperature, celsius(-60.0), celsius(80.0), &[]),
    "Ambient temperature",
)
.help("The coolant must stay below its limit up to this temperature.")
.usually("38 C");

/// Grade of a climb at walking pace.
pub const CLIMB: Field = Field::new(
    "climb",
    Takes::Quantity(Kind::Share, 0.0, 0.4, &[]),
    "A climb at walking pace",
)
.help("The grade of the road.")
.example("10 %")
.else_words("none: the machine stands still");

/// Whether the air conditioning is off.
pub const NO_AIR_CONDITIONING: Field = Field::new(
    "no_air_conditioning",
    Takes::Switch,
    "Air conditioning is off",
);

/// The measured speed of the main fan.
pub const FAN_SPEED: Field = Field::new(
    "fan_speed",
    Takes::Quantity(Kind::Speed, 0.0, 1000.0, &[]),
    "Main fan speed, if measured",
)
.help("With the fan fully commanded. Or as a fraction of the expected speed, such as 33 %.")
.example("33 %")
.else_words("as computed");

/// The oil to compare with the present one.
pub const RIGHT_OIL: Field = Field::new(
    "right_oil",
    Takes::Oil,
    "The right oil, to compare with the present one",
)
.else_words("the machine's usual oil");

/// The available fans.
pub const FANS: Field = Field::new(
    "fans",
    Takes::Text("a table of electric fans"),
    "Fans of your own, from data sheets",
)
.help("A table with one row for each point of a fan curve, from zero flow upwards. Its headings are fan,flow (m3/h),pressure (Pa),current (A),diameter (mm),mass (kg),mount and, if known, depth (mm).")
.else_words("the built-in, invented classes of fans");

/// Possible positions of electric fans.
pub const AT: Field = Field::new("at", Takes::Words, "Where electric fans may be mounted")
    .help("Any of front_1, front_2, front_3 and bare (the open core face), separated by commas. Each may have =pusher or =puller after it, then +shroud.")
    .example("front_2=puller+shroud, bare=pusher")
    .else_words("everywhere, as pushers without a shroud");

/// The requirements.
pub const WANT: Field = Field::new("want", Takes::Words, "Requirement")
    .help("A limit on a temperature (coolant <= 100 C, oil <= 110 C, limiting_ambient >= 45 C), if needed with `at` and a condition: ambient temperature and road, or engine, load, altitude. Air conditioning is on unless the condition says no air conditioning. Or a limit on the set of fans: current <= 30 A, depth <= 60 mm. Without a current limit, the set may draw the spare current of the alternator at idle.")
    .example("coolant <= 100 C at 38 C, engine 700 rpm, air conditioning")
    .many();

/// The fraction of machines that must meet all requirements.
pub const SURE: Field = Field::new(
    "sure",
    Takes::Quantity(Kind::Share, 0.5, 0.99, &[]),
    "Fraction of machines in which all requirements must be met",
)
.help("A fraction of machines sampled within the ±. If it is not given, only the nominal machine must meet the requirements, and about half of the sampled machines then miss a requirement that it only just meets.")
.example("90 %");

/// A set of fans to examine.
pub const TRY: Field = Field::new("try", Takes::Words, "The set of fans to examine")
    .help("Each fan with its place, and with its number if there are several.")
    .example("class-250@front_2, class-250@bare*1")
    .else_words("the smallest sufficient set");

/// Length of the wire to each fan.
pub const WIRE: Field = Field::new(
    "wire",
    Takes::Quantity(Kind::HoseLength, 0.1, 30.0, &[]),
    "Length of the wire to each fan",
)
.help("One way, not there and back.")
.usually("3 m");

/// The road speed at which the fans are off.
pub const ROAD_SPEED: Field = Field::new(
    "road_speed",
    Takes::Quantity(Kind::RoadSpeed, 1.0, 60.0, &[]),
    "Road speed at which the fans, switched off, obstruct the airflow",
)
.usually("90 km/h");

/// The question `auxfan`: its fields, examples and outcome.
pub static QUESTION: Question = Question {
    key: "auxfan",
    title: "Electric fans",
    about: "How much do electric fans help, and how much would repairing the main fan or filling the right oil help instead?",
    groups: &[
        basis::MACHINE_AND_OIL,
        Group::new(
            "Requirement",
            &[&AMBIENT, &CLIMB, &NO_AIR_CONDITIONING, &ENGINE_SPEED],
        ),
        Group::folded("Requirements in words", &[&WANT, &SURE]),
        Group::new("The main fan", &[&FAN_SPEED, &RIGHT_OIL]),
        Group::folded("Electric fans, and where they may be mounted", &[&AT, &TRY]),
        Group::folded("Fans of your own", &[&FANS]),
        Group::folded("Wiring and road speed", &[&WIRE, &ROAD_SPEED]),
        Group::folded("Altitude, valve unplugged", &[&ALTITUDE, &UNPLUGGED]),
        basis::FAULT,
        basis::SETTINGS,
        Group::folded("Computed here", &[&OIL_TEMP, &AIR_TEMP, &COMMAND]),
    ],
    examples: &[
        "oilwheel auxfan light-truck --fan-speed \"33 %\"",
        "oilwheel auxfan light-truck --with worn-pump=0.4 --try \"class-250@front_2\"",
        "oilwheel auxfan light-truck --fan-speed \"33 %\" --climb \"10 %\" --ambient \"45 C\"",
        "oilwheel auxfan light-truck --fan-speed \"50 %\" --want \"coolant <= 105 C at 38 C, engine 700 rpm, air conditioning\" --want \"depth <= 80 mm\"",
    ],
    finds: Found::properties,
};

/// A request for `auxfan`, parsed from what the user entered.
#[derive(Clone, Debug)]
pub struct Auxfan {
    /// Machine, oil and condition, with the applied faults.
    pub setup: Setup,
    /// The case without the applied faults.
    pub healthy: Case,
    /// The speed imposed on the main fan, if it was measured.
    pub main: Option<Held>,
    /// The oil to compare with the present one.
    pub right_oil: OilSheet,
    /// The available fans.
    pub fans: Vec<AuxiliaryFan>,
    /// Possible positions of the fans.
    pub spots: Vec<Spot>,
    /// A set to examine; otherwise the smallest set that meets the target is searched for.
    pub tried: Option<Set>,
    /// The ambient temperature up to which the coolant must stay below its limit, K.
    pub target: f64,
    /// Grade of a climb at walking pace; `None` at standstill.
    pub climb: Option<f64>,
    /// Length of the wire to each fan, one way, m.
    pub wire: f64,
    /// Road speed at which the fans are off and obstruct the airflow, m/s.
    pub road_speed: f64,
    /// The requirements, if any are given in words.
    pub wants: Wants,
}

/// The speed imposed on the main fan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Held {
    /// Speed, rad/s.
    At(f64),
    /// Fraction of the speed computed for the healthy machine.
    Share(f64),
}

/// The fans of a table, else the built-in classes; empty if the table cannot be read.
pub fn fans_of(table: Option<&str>) -> Vec<AuxiliaryFan> {
    let fans = AuxiliaryFan::from_text("", table.unwrap_or(AUXILIARY_FANS));
    fans.unwrap_or_default()
}

/// Reads the available fans from the user's table, or else the built-in classes.
fn fans(intake: &mut Intake<'_>) -> Option<Vec<AuxiliaryFan>> {
    let fans = if intake.values.has(&FANS) {
        let (source, text) = intake.file(&FANS)?;
        AuxiliaryFan::from_text(&source, &text)
    } else {
        AuxiliaryFan::from_text("models/auxfans/classes.csv", AUXILIARY_FANS)
    };
    intake.keep_all(&FANS, fans)
}

/// Parses the main fan's speed, which is absolute or a percentage of the speed of the healthy machine.
fn held(intake: &mut Intake<'_>) -> Option<Held> {
    let words = intake.values.get(&FAN_SPEED)?;
    if !words.ends_with('%') {
        return intake.value(&FAN_SPEED).map(Held::At);
    }
    let (kind, units) = (Kind::Share, intake.values.units);
    let share = parse(kind, words).and_then(|m| in_range_of(kind, 0.0, 1.0, m, units));
    intake.keep(&FAN_SPEED, share).map(|m| Held::Share(m.value))
}

/// The speed of the main fan, or else its most probable fault, according to the readings in a notebook; adds the caution
/// that says so.
fn notice(setup: &mut Setup, values: &Values) -> Result<(Option<Held>, Vec<String>), Troubles> {
    let Some(noted) = Noted::of(values) else {
        return Ok((None, Vec::new()));
    };
    // With a fixed fan speed the oil temperature is not computed.
    let of_oil = values.all(&WANT).any(|w| w.trim_start().starts_with("oil"));
    if let Some(reading) = noted.at(&setup.case, 1.0).filter(|_| !of_oil) {
        setup.cautions.push(as_read(&reading, &setup.machine));
        return Ok((Some(Held::At(reading.value)), Vec::new()));
    }
    let (cause, caution) = noted.cause()?;
    setup.cautions.extend(caution);
    let with = cause.map(|c| c.typed());
    Ok((None, with.into_iter().collect()))
}

/// The oil to compare with the present one; by default the machine's usual fill.
fn right_oil(intake: &mut Intake<'_>, fill: Option<&str>) -> Option<OilSheet> {
    let values = intake.values;
    let found = values.lookup.oil(values.get(&RIGHT_OIL).or(fill)?);
    let here = |t: Trouble| t.moved("oil", RIGHT_OIL.key);
    let found = found.map_err(|all| all.into_iter().map(here).collect());
    intake.keep_all(&RIGHT_OIL, found)
}

impl Request for Auxfan {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let wire = intake.value(&WIRE);
        let road_speed = intake.value(&ROAD_SPEED);
        let climb = intake.value(&CLIMB);
        let ambient = intake.value(&AMBIENT);
        let mut main = held(&mut intake);
        let sure = intake.value(&SURE);
        if sure.is_some() && !values.has(&WANT) {
            let found = format!("{} was given without a requirement", SURE.mention());
            let problem = Trouble::input(found, format!("a requirement such as {}", WANT.example));
            intake.problems.push(problem.on(SURE.key));
        }
        let fans = fans(&mut intake);
        let setup = super::own::resolve(&basis::ask(values), values);
        let setup = setup.map_err(|all| intake.problems.extend(all)).ok();
        let fill = setup.as_ref().map(|p| p.machine.fill.as_str());
        let right_oil = right_oil(&mut intake, fill);
        let read = (|| Some((setup?, right_oil?, fans?, wire?, road_speed?, ambient?)))();
        let (mut setup, right_oil, fans, wire, road_speed, target) = intake.finish(read)?;
        setup.stop = values.stop.clone();
        setup.case.now.ambient = target;
        if !values.has(&NO_AIR_CONDITIONING) {
            setup.case.now.air_conditioning = 1.0;
        }
        let mut healthy = setup.case;
        let mut with = values.list(&WITH);
        if main.is_none() && with.is_empty() {
            let noted = notice(&mut setup, values)?;
            (main, with) = (noted.0, noted.1);
        }
        fault::put_on(&mut setup, &with, WITH.key)?;
        let mut wants = Wants::read(values.all(&WANT), &setup, &healthy, &fans)?;
        wants.sure = sure;
        if main.is_some() && wants.all.iter().any(|w| w.what == What::Oil) {
            let found = format!(
                "a requirement on the oil was given, although {} fixes the speed of the main fan",
                FAN_SPEED.mention()
            );
            let expected = "a requirement on the coolant, because the oil temperature is then held";
            return Err(vec![Trouble::input(found, expected).on(WANT.key)]);
        }
        let mut target = target;
        let own = values.has(&AMBIENT) || values.has(&CLIMB);
        // Unless ambient temperature or climb is given, the comparison is made in the condition of the first
        // requirement.
        if let (Some(there), false) = (wants.first(), own) {
            [setup.case, healthy] = there;
            target = setup.case.now.ambient;
        }
        let spots = spots(&setup.case, values.get(&AT))?;
        let tried = values.get(&TRY);
        let tried = tried.map(|words| set(&setup.case, &spots, &fans, words));
        Ok(Auxfan {
            tried: tried.transpose()?,
            setup,
            healthy,
            main,
            right_oil,
            fans,
            spots,
            target,
            climb,
            wire,
            road_speed,
            wants,
        })
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find().map_err(|t| vec![t])
    }
}

impl Auxfan {
    fn find(&self) -> Result<Found, Trouble> {
        self.check()?;
        let compared = Compared::of(self)?;
        let answered = compared.answered.as_ref();
        let target_met = answered.map_or_else(|| compared.meets(self.target), |a| a.met);
        let would = !target_met && answered.is_none();
        let would = would.then(|| compared.would(self)).transpose()?;
        let chosen = compared.chosen.clone();
        let set = chosen.as_ref().map(|o| &o.set);
        let current = chosen.as_ref().map_or(0.0, |o| o.current);
        let points = set.map_or_else(Vec::new, |s| working::points(self, &compared.main, s));
        let road = match set {
            Some(set) => self.road(compared.held, set)?,
            None => None,
        };
        let alternator = self.alternator();
        Ok(Found {
            running: points.iter().map(|p| p.current * p.fans as f64).sum(),
            cautions: self.cautions(&compared, &points),
            points,
            road_limiting_ambient: road.map(|r| r.0),
            road_limiting_ambient_fans_off: road.map(|r| r.1),
            target: self.target,
            met: compared.met,
            target_met,
            sets_tried: compared.all.len(),
            set: chosen.as_ref().map(|o| o.name.clone()),
            current,
            starting_current: STARTING * current,
            spare: alternator.spare(),
            front: compared.front(),
            wants: answered.map_or_else(Vec::new, |a| a.wants.clone()),
            wants_share: answered.map(|a| a.share),
            ladder: answered.map_or_else(Vec::new, |a| a.ladder.clone()),
            in_the_way: answered.map_or_else(Vec::new, |a| a.in_the_way.clone()),
            current_limit: answered.map(|a| a.current),
            held: compared.held,
            slow: compared.slow,
            would,
            curves: set.map_or_else(Vec::new, |s| working::curves(self, &compared.main, s)),
            wires: set.map_or_else(Vec::new, |s| self.wires(s)),
            alternator_power: alternator.shaft_power(current),
            alternator,
            chosen,
            sides: compared.sides,
            series: compared.all,
        })
    }

    /// Checks that the question is meaningful for this machine.
    fn check(&self) -> Result<(), Trouble> {
        let case = &self.setup.case;
        if let (Some(coolant), Some(thermostat)) = (&case.coolant, &case.thermostat)
            && !thermostat.is_open(coolant.limit)
        {
            return Err(Trouble::input(
                "a coolant limit at which the thermostat is not fully open",
                "[coolant] limit at or above [thermostat] full",
            ));
        }
        if self.climb.is_some() && case.vehicle.is_none() {
            let found = "a climb was given, but the machine file has no [vehicle] section";
            return Err(Trouble::input(found, "a machine file with [vehicle]").on(CLIMB.key));
        }
        Ok(())
    }

    /// The alternator of the machine, or a typical one.
    pub(super) fn alternator(&self) -> Alternator {
        let own = self.setup.case.alternator;
        own.unwrap_or_else(Alternator::<f64>::usual)
    }

    /// Limiting ambient temperature, K, on a level road: without electric fans, and with the set off and obstructing
    /// the airflow. `None` if the machine does not drive.
    fn road(&self, held: Option<f64>, set: &Set) -> Result<Option<(f64, f64)>, Trouble> {
        if self.setup.case.vehicle.is_none() {
            return Ok(None);
        }
        let at = |case: &Case| {
            let mut case = *case;
            (case.now.grade, case.now.command, case.now.ambient) = (0.0, 1.0, self.target);
            rolling(self, &case, self.road_speed)
        };
        let main = as_it_is(&at(&self.setup.case), &at(&self.healthy), held)?;
        let off = main.with(self, set, false);
        Ok(Some((main.hottest_day(), off.hottest_day())))
    }

    /// Wire and fuse of each fan of a set.
    fn wires(&self, set: &Set) -> Vec<Wire> {
        let voltage = self.alternator().voltage;
        let mut kinds: Vec<usize> = set.iter().flatten().map(|s| s.fan).collect();
        kinds.sort_unstable();
        kinds.dedup();
        let wire = |fan: usize| {
            let current = self.fans.get(fan)?.greatest_current();
            Some(Wire {
                fan,
                current,
                starting: STARTING * current,
                wiring: wiring(current, voltage, self.wire),
            })
        };
        kinds.into_iter().filter_map(wire).collect()
    }

    /// Collects the cautions to be shown with the result.
    fn cautions(&self, compared: &Compared, points: &[Working]) -> Vec<Caution> {
        let mut all = self.setup.cautions.clone();
        if let Some(one) = &compared.chosen {
            let short = self.alternator().spare() < one.current;
            all.extend(short.then_some(Caution::AlternatorShort));
            let usual = self.setup.case.alternator.is_none();
            all.extend(usual.then_some(Caution::AlternatorUsual));
            all.extend(working::cautions(self, &compared.main, &one.set, points));
        }
        if compared.sides.iter().any(|s| s.oil_first) {
            let limit = celsius(200.0);
            all.push(Caution::OilGivesOutFirst { limit });
        }
        all.push(Caution::AccuracyStanding);
        let computed = [OIL_TEMP, AIR_TEMP, COMMAND].map(|f| f.key);
        let given = computed
            .into_iter()
            .filter(|key| self.setup.typed.contains(key));
        all.extend(given.map(|field| Caution::NoEffect { field }));
        all
    }
}
