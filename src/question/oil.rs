//! Properties of oils: of all oils in the library, of one oil over temperature and for a pump, or of a blend of two
//! oils.

use super::{Field, Flat, Group, Intake, Outcome, Question, Request, Takes, Values, basis};
use crate::input::Input;
use crate::input::unit::celsius;
use crate::law::viscosity_index_astm_d2270::viscosity_index;
use crate::model::{Ask, Caution, Lookup, OILS as LIBRARY, OilSheet, Setup};
use crate::outcome;
use crate::quantity::Kind;
use crate::trouble::{Trouble, Troubles};
use crate::vary::sweep::{self, Step};
use serde_json::{Map, Value};

/// Usual limits of kinematic viscosity for gear pumps, m²/s, from thin to thick; each has two values, from different
/// makers. Common practice, no source.
pub const WINDOWS: [(&str, f64, f64); 4] = [
    ("hot_minimum", 7.4e-6, 12e-6),
    ("good", 16e-6, 40e-6),
    ("running_maximum", 100e-6, 500e-6),
    ("cold_start", 1650e-6, 1650e-6),
];

/// Verdicts on an oil's viscosity for a gear pump, each with its upper limit (m²/s).
const VERDICTS: [(&str, f64); 7] = [
    ("too thin", 7.4e-6),
    ("thin for some makers", 12e-6),
    ("runs", 16e-6),
    ("good", 40e-6),
    ("runs", 100e-6),
    ("thick for some makers", 500e-6),
    ("start only", 1650e-6),
];

/// The verdict, in a word or two, on a viscosity `nu` (m²/s) for a gear pump.
pub fn verdict(nu: f64) -> &'static str {
    let found = VERDICTS.iter().find(|(_, to)| nu < *to);
    found.map_or("too thick to start", |(word, _)| word)
}

/// Temperatures at which the viscosity is listed, °C.
const LISTED: [f64; 11] = [
    -40.0, -30.0, -20.0, -10.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0,
];

/// Lowest oil temperature at which the filling of the pump is computed, K.
pub const COLDEST: f64 = celsius(-45.0);

/// Field for one oil or two oils to blend.
pub const OILS: Field = Field::new(
    "oils",
    Takes::Oil,
    "One oil, two oils to blend, or none to list the library",
)
.help(basis::OIL.help)
.example(basis::OIL.example)
.many()
.by_place();

/// Field for the fraction of the second oil in the blend.
pub const SHARE: Field = Field::new(
    "share",
    Takes::Quantity(Kind::Share, 0.0, 1.0, &[]),
    "Volume fraction of the second oil in the blend",
)
.example("30 %")
.else_words("50 %");

/// Field for the machine whose pump uses the oil.
pub const MACHINE: Field = Field::new(
    "machine",
    Takes::Machine,
    "The machine whose pump uses the oil",
)
.help(basis::MACHINE.help)
.usually("light-truck");

/// The question.
pub static QUESTION: Question = Question {
    key: "oil",
    title: "",
    about: "What are the properties of the oils in the library, of one oil over temperature, or of a blend of two oils?",
    groups: &[Group::new("The oils", &[&OILS, &SHARE, &MACHINE])],
    examples: &[
        "oilwheel oil",
        "oilwheel oil iso-vg-32 --machine bus",
        "oilwheel oil central-hydraulic transmission-multi-vehicle --share \"30 %\"",
    ],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub struct Oil {
    /// What the request is about.
    pub about: About,
    /// The unit system of the answer.
    pub units: crate::quantity::Units,
}

/// What a request is about: the library, one oil, or a blend.
#[derive(Clone, Debug)]
pub enum About {
    /// The oils of the library.
    Library(Vec<OilSheet>),
    /// One oil, and its suitability for a machine's pump.
    One(Box<Setup>),
    /// Two oils, and the fraction of the second in their blend.
    Blend(Box<[OilSheet; 2]>, f64),
}

outcome! {
    /// The main figures of an oil.
    pub struct Figures {
        /// Viscosity at 40 °C.
        viscosity_at_40: f64 as KinematicViscosity = "viscosity_at_40_c",
        /// Viscosity at 100 °C.
        viscosity_at_100: f64 as KinematicViscosity = "viscosity_at_100_c",
        /// Viscosity index by ASTM D2270; null if not defined.
        viscosity_index: Option<f64>,
        /// Temperature of the coldest given viscosity point.
        coldest_point: f64 as Temperature,
        /// Viscosity at the coldest given point.
        viscosity_at_coldest_point: f64 as KinematicViscosity,
        /// Lowest temperature covered by the oil's data.
        data_from: f64 as Temperature,
        /// Highest temperature covered by the oil's data.
        data_to: f64 as Temperature,
        /// Density at 15 °C.
        density: f64 as Density = "density_at_15_c",
    }
}

outcome! {
    /// An oil of the library.
    pub struct Listed {
        /// Key of the oil.
        key: String,
        /// Name of the oil.
        name: String,
        /// Its main figures.
        figures: Flat<Figures>,
        /// Source of the oil's values.
        status: String,
    }
}

outcome! {
    /// The library.
    pub struct Library {
        /// The oils.
        oils: Vec<Listed>,
    }
}

outcome! {
    /// The temperature range in which an oil is within one viscosity range of gear pumps.
    pub struct Window {
        /// Key of the viscosity range.
        window: &'static str,
        /// Minimum viscosity of the range.
        viscosity_low: f64 as KinematicViscosity,
        /// Maximum viscosity of the range.
        viscosity_high: f64 as KinematicViscosity,
        /// Temperature at which the oil has the maximum viscosity.
        from: f64 as Temperature,
        /// Temperature at which the oil has the minimum viscosity.
        to: f64 as Temperature,
    }
}

outcome! {
    /// Viscosity and density of an oil at one temperature.
    pub struct AtTemperature {
        /// Temperature.
        temperature: f64 as Temperature,
        /// Viscosity.
        viscosity: f64 as KinematicViscosity,
    }
    beside {
        /// Density, kg/m³.
        density: f64,
    }
}

outcome! {
    /// Properties of one oil.
    pub struct One {
        /// Name of the oil.
        name: String,
        /// Its main figures.
        figures: Flat<Figures>,
        /// The machine's usual oil temperature.
        usual_temp: f64 as Temperature = "usual_oil_temperature",
        /// Viscosity at the machine's usual oil temperature.
        usual_viscosity: f64 as KinematicViscosity,
        /// Verdict on the viscosity at the usual oil temperature for a gear pump.
        usual_verdict: &'static str,
        /// Minimum oil temperature at which the pump fills at idle; null if it fills even at -45 °C, or not even
        /// warm.
        idle: Option<f64> as Temperature = "pump_fills_from_idle",
        /// Whether the pump fills at idle with oil at its usual temperature.
        idle_warm: bool = "pump_fills_warm_idle",
        /// Minimum oil temperature at which the pump fills at raised engine speed; null if it fills even at
        /// -45 °C, or not even warm.
        raised: Option<f64> as Temperature = "pump_fills_from_raised",
        /// Whether the pump fills at raised engine speed with oil at its usual temperature.
        raised_warm: bool = "pump_fills_warm_raised",
        /// The temperature ranges in which the oil suits gear pumps.
        windows: Vec<Window>,
        /// Viscosity at the listed temperatures.
        viscosities: Vec<AtTemperature>,
        /// Viscosity over temperature, at close intervals.
        series: Vec<AtTemperature>,
    }
}

outcome! {
    /// Viscosity of the blend with one fraction of the second oil.
    pub struct AtShare {
        /// Fraction of the second oil.
        share: f64,
        /// Viscosity at -20 °C.
        at_minus_20: f64 as KinematicViscosity = "viscosity_at_minus_20_c",
        /// Viscosity at 0 °C.
        at_0: f64 as KinematicViscosity = "viscosity_at_0_c",
        /// Viscosity at 40 °C.
        at_40: f64 as KinematicViscosity = "viscosity_at_40_c",
        /// Viscosity at 100 °C.
        at_100: f64 as KinematicViscosity = "viscosity_at_100_c",
    }
}

outcome! {
    /// Properties of a blend.
    pub struct Blend {
        /// Fraction of the second oil.
        share: f64,
        /// Its main figures.
        figures: Flat<Figures>,
        /// Viscosity at the listed temperatures.
        viscosities: Vec<AtTemperature>,
        /// Viscosity at each fraction of the second oil.
        series: Vec<AtShare>,
    }
    beside {
        /// Viscosity of the two oils over temperature.
        parts: [Vec<AtTemperature>; 2],
        /// The blend with the requested fraction, at the same temperatures as in `series`.
        chosen: AtShare,
    }
}

/// The result of `oil`.
#[derive(Clone, Debug)]
pub enum Found {
    /// For the library.
    Library(Library),
    /// For one oil.
    One(Box<One>),
    /// For a blend.
    Blend(Box<Blend>),
}

impl Outcome for Found {
    fn object(&self) -> Map<String, Value> {
        match self {
            Found::Library(found) => found.object(),
            Found::One(found) => found.object(),
            Found::Blend(found) => found.object(),
        }
    }
    fn properties() -> Map<String, Value> {
        let mut all = Library::properties();
        all.extend(Blend::properties());
        all.extend(One::properties());
        all
    }
}

impl Request for Oil {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let about = intake.about();
        let units = values.units;
        intake.finish(about.map(|about| Oil { about, units }))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        match &self.about {
            About::Library(oils) => {
                let oils = oils.iter().map(listed).collect();
                Ok(Found::Library(Library { oils }))
            }
            About::One(setup) => Ok(Found::One(Box::new(one(setup)))),
            About::Blend(oils, share) => {
                let found = blend(&oils[0], &oils[1], *share);
                Ok(Found::Blend(Box::new(found.map_err(|t| vec![t])?)))
            }
        }
    }
}

impl Intake<'_> {
    fn about(&mut self) -> Option<About> {
        let values = self.values;
        let names = super::values::split_names(values.all(&OILS));
        if names.len() < 2 && values.has(&SHARE) {
            let problem = Trouble::input(
                "a fraction was given, but not two oils",
                "two oils to blend",
            );
            self.problems.push(problem.on(SHARE.key));
            return None;
        }
        match names.as_slice() {
            [] => {
                let library = LIBRARY.iter().map(|(key, _)| Lookup::LibraryOnly.oil(key));
                let library = library.collect::<Result<_, _>>();
                self.keep_all(&OILS, library).map(About::Library)
            }
            [name] => {
                let machine = values.text(&MACHINE).unwrap_or_default();
                let ask = Ask {
                    oil: Some(name.clone()),
                    units: values.units,
                    ..Ask::about(&machine)
                };
                let there = |t: Trouble| t.moved(basis::OIL.key, OILS.key);
                let setup = super::own::resolve(&ask, values);
                let note = |all: Troubles| self.problems.extend(all.into_iter().map(there));
                let setup = setup.map_err(note).ok()?;
                Some(About::One(Box::new(setup)))
            }
            [_, _] => {
                let share = match values.has(&SHARE) {
                    true => self.value(&SHARE),
                    false => Some(0.5),
                };
                let oils: [OilSheet; 2] = self.oils(&OILS).try_into().ok()?;
                Some(About::Blend(Box::new(oils), share?))
            }
            more => {
                let found = format!("{} oils", more.len());
                let problem = Trouble::input(
                    found,
                    "one oil, two oils to blend, or none to list the library",
                );
                self.problems.push(problem.on(OILS.key));
                None
            }
        }
    }
}

/// Kinematic viscosity of an oil at a temperature (K), m²/s.
fn viscosity(oil: &OilSheet, t: f64) -> f64 {
    oil.oil.now(&oil.curve, t).nu
}

fn at(oil: &OilSheet, t: f64) -> AtTemperature {
    let now = oil.oil.now(&oil.curve, t);
    AtTemperature {
        temperature: t,
        viscosity: now.nu,
        density: now.rho,
    }
}

fn at_listed(oil: &OilSheet) -> Vec<AtTemperature> {
    LISTED.iter().map(|t| at(oil, celsius(*t))).collect()
}

fn figures(oil: &OilSheet) -> Figures {
    let [nu40, nu100] = [40.0, 100.0].map(|t| viscosity(oil, celsius(t)));
    let range = oil.curve.range;
    let first = oil.curve.points().next();
    let (t, nu) = first.unwrap_or((range.0, oil.curve.viscosity(range.0)));
    Figures {
        viscosity_at_40: nu40,
        viscosity_at_100: nu100,
        viscosity_index: viscosity_index(nu40, nu100),
        coldest_point: t,
        viscosity_at_coldest_point: nu,
        data_from: range.0,
        data_to: range.1,
        density: oil.oil.density,
    }
}

fn listed(oil: &OilSheet) -> Listed {
    Listed {
        key: oil.key.clone(),
        name: oil.name.clone(),
        figures: Flat(figures(oil)),
        status: oil.status.clone(),
    }
}

/// Computes the properties of one oil, and its suitability for the machine's pump.
fn one(setup: &Setup) -> One {
    let oil = &setup.oil;
    let usual_temp = setup.machine.usual.oil_temp.value;
    let usual_viscosity = viscosity(oil, usual_temp);
    let temperature = |nu: f64| oil.curve.temperature(nu / oil.oil.thickness);
    let window = |(window, thin, thick): (&'static str, f64, f64)| Window {
        window,
        viscosity_low: thin,
        viscosity_high: thick,
        from: temperature(thick),
        to: temperature(thin),
    };
    let grid = sweep::values(celsius(-40.0), celsius(120.0), 161, false);
    let (idle_warm, idle) = fills_from(setup, setup.machine.usual.idle.value);
    let (raised_warm, raised) = fills_from(setup, setup.machine.usual.raised.value);
    One {
        name: oil.name.clone(),
        figures: Flat(figures(oil)),
        usual_temp,
        usual_viscosity,
        usual_verdict: verdict(usual_viscosity),
        idle,
        idle_warm,
        raised,
        raised_warm,
        windows: WINDOWS.map(window).to_vec(),
        viscosities: at_listed(oil),
        series: grid.iter().map(|t| at(oil, *t)).collect(),
    }
}

/// Whether the pump fills completely at an engine speed (rad/s) with warm oil, and the minimum oil temperature, K, at
/// which it does; `None` if it fills at all temperatures considered, or at none.
fn fills_from(setup: &Setup, engine_speed: f64) -> (bool, Option<f64>) {
    let warm = setup.machine.usual.oil_temp.value.max(celsius(40.0));
    let steps = (warm - COLDEST).ceil();
    let grid = sweep::values(COLDEST, COLDEST + steps, steps as usize + 1, false);
    let mut case = setup.case;
    case.now.engine_speed = engine_speed;
    let steps: Vec<Step> = sweep::sweep(&case, Input::OIL_TEMP, &grid)
        .into_iter()
        .flatten()
        .collect();
    // The pump may fill only partly even where something else limits the fan speed.
    let last = steps.iter().rposition(|s| s.state.starved());
    let next = last.and_then(|i| steps.get(i + 1));
    (last.is_none() || next.is_some(), next.map(|s| s.x))
}

/// Properties of a blend with a volume fraction `share` of oil `b`; the rest is oil `a`.
fn blend(a: &OilSheet, b: &OilSheet, share: f64) -> Result<Blend, Trouble> {
    let oil = OilSheet::blend(a, b, share)?;
    let at_share = |share: f64| {
        let oil = OilSheet::blend(a, b, share)?;
        let [at_minus_20, at_0, at_40, at_100] =
            [-20.0, 0.0, 40.0, 100.0].map(|t| viscosity(&oil, celsius(t)));
        Ok(AtShare {
            share,
            at_minus_20,
            at_0,
            at_40,
            at_100,
        })
    };
    let shares = sweep::values(0.0, 1.0, 51, false).into_iter();
    Ok(Blend {
        share,
        figures: Flat(figures(&oil)),
        viscosities: at_listed(&oil),
        series: shares.map(at_share).collect::<Result<_, Trouble>>()?,
        parts: [at_listed(a), at_listed(b)],
        chosen: at_share(share)?,
    })
}

impl Oil {
    /// The cautions.
    pub fn cautions(&self) -> Vec<Caution> {
        match &self.about {
            About::Library(_) => Vec::new(),
            About::One(setup) => {
                let coldest = setup.oil.curve.range.0;
                let mut all = vec![Caution::CommonWindows, Caution::ApprovedOil];
                if coldest > celsius(-10.0) {
                    all.push(Caution::NoColdPoint { coldest });
                }
                all
            }
            About::Blend(..) => vec![Caution::Compatibility],
        }
    }
}
