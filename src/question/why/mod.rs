//! Why does the fan speed differ from a baseline, by place in the circuit, and can the oil alone explain a reading?

mod outcome;

use super::basis::{self, WARM, WITH};
use super::noted::with_reading;
use super::state::{cautions, viscosity_slope};
use super::{Field, Flat, Group, Intake, Keyed, Outcome, Question, Request, Takes, Values};
use crate::balance::{Output, State};
use crate::fault::priors::Priors;
use crate::fault::{self, Subsystem, THINNEST};
use crate::input::Place;
use crate::input::unit::celsius;
use crate::model::{Caution, Lookup, OILS, OilSheet, Setup, Whose};
use crate::probe::{self, Engine, Reading, Readings, Setting, What};
use crate::quantity::Measure;
use crate::trouble::{Trouble, Troubles};
use crate::vary::band::{self, Difference};
use crate::vary::forecast::model;
use crate::vary::inverse::{self, SPAN};
use crate::vary::settled::warmed;
use crate::vary::weigh::{Cause, weigh};
use crate::vary::{shares, sweep};
pub use outcome::{AtOilTemp, Comparison, Explanation, Found, Split, Step, Viscosities};

/// Additional oil temperatures at which the reading is examined, °C.
const LOOKED_AT: [f64; 8] = [-20.0, -10.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0];

/// What is measured.
const FAN_SPEED: What = What::Output(Output::FAN_SPEED);

/// Field for the baseline's oil.
pub const AGAINST_OIL: Field =
    Field::new("against_oil", Takes::Oil, "The same case with another oil")
        .else_words("the same oil");

/// Field for the baseline's oil temperature.
pub const AGAINST_OIL_TEMP: Field = Field::new(
    "against_oil_temp",
    basis::OIL_TEMP.takes,
    "The same case at another oil temperature",
)
.help("Include the unit.")
.else_words("the same temperature");

/// Field for the baseline's machine.
pub const AGAINST_MACHINE: Field =
    Field::new("against_machine", Takes::Machine, "Another machine").else_words("the same machine");

/// Field for the baseline's faults.
pub const AGAINST_WITH: Field = Field::new(
    "against_with",
    Takes::Fault,
    "The same case with a fault, or without it (severity 0)",
)
.example("worn-pump=0")
.many();

/// Field for a measured fan speed.
pub const MEASURED: Field = basis::MEASURED.called(
    basis::MEASURED.label,
    "Checks whether the oil alone could explain it.",
);

/// The question.
pub static QUESTION: Question = Question {
    key: "why",
    title: "What differs?",
    about: "Why is this fan slower than another, place by place, and could the oil alone explain a reading?",
    groups: &[
        basis::MACHINE_AND_OIL,
        basis::MOMENT,
        Group::new(
            "Compare with",
            &[
                &AGAINST_OIL,
                &AGAINST_OIL_TEMP,
                &AGAINST_MACHINE,
                &AGAINST_WITH,
                &MEASURED,
            ],
        ),
        basis::AIR,
        basis::FAULT,
        basis::SETTINGS,
        Group::folded("Temperatures", &[&WARM]),
    ],
    examples: &[
        "oilwheel why light-truck --against-oil transmission-multi-vehicle",
        "oilwheel why light-truck --with worn-pump=0.4 --against-with worn-pump=0",
        "oilwheel why light-truck --measured \"640 rpm ± 10 rpm\"",
    ],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub struct Why {
    /// The case in question.
    pub setup: Setup,
    /// The baseline; `None` if only a reading is to be explained.
    pub baseline: Option<Setup>,
    /// A measured fan speed with its uncertainty, if given.
    pub measured: Option<Measure>,
    /// The oils that are commonly used to refill such a machine.
    pub poured: Vec<OilSheet>,
}

impl Request for Why {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let values = &with_reading(values);
        let mut intake = Intake::new(values);
        let setup = intake.basis();
        let measured = intake.reading(&MEASURED);
        let baseline = if compares(values) {
            intake.baseline().map(Some)
        } else {
            if !values.has(&MEASURED) {
                intake.problems.push(nothing_to_compare_with());
            }
            Some(None)
        };
        let oils = OILS.iter().map(|(key, _)| Lookup::LibraryOnly.oil(key));
        let poured = oils.collect::<Result<_, _>>()?;
        let read = setup.zip(baseline).map(|(setup, baseline)| Why {
            setup,
            baseline,
            measured,
            poured,
        });
        let mut request = intake.finish(read)?;
        if values.has(&WARM) {
            let warm = |setup: &Setup| warmed(setup).map_err(|t| vec![t]);
            request.setup = warm(&request.setup)?;
            request.baseline = request.baseline.as_ref().map(warm).transpose()?;
        }
        Ok(request)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find().map_err(|t| vec![t])
    }
}

/// Whether the user asked for a comparison with a baseline.
fn compares(values: &Values) -> bool {
    let fields = [
        &AGAINST_OIL,
        &AGAINST_OIL_TEMP,
        &AGAINST_MACHINE,
        &AGAINST_WITH,
    ];
    fields.into_iter().any(|f| values.has(f))
}

fn nothing_to_compare_with() -> Trouble {
    let expected = format!(
        "{}, {}, {}, {} or {}",
        AGAINST_OIL.mention(),
        AGAINST_OIL_TEMP.mention(),
        AGAINST_MACHINE.mention(),
        AGAINST_WITH.mention(),
        MEASURED.mention()
    );
    Trouble::input("nothing to compare this case with", expected).on(AGAINST_OIL.key)
}

impl Intake<'_> {
    /// The baseline of the comparison: the same as the case except for the fields given for the baseline.
    fn baseline(&mut self) -> Option<Setup> {
        let found = baseline(self.values);
        // A problem common to the case and its baseline is reported once.
        let new = |all: Troubles| {
            for problem in all {
                if !self.problems.contains(&problem) {
                    self.problems.push(problem);
                }
            }
        };
        found.map_err(new).ok()
    }
}

fn baseline(values: &Values) -> Result<Setup, Troubles> {
    let mut ask = basis::ask(values);
    ask.oil = values.text(&AGAINST_OIL).or(ask.oil);
    ask.oil_temp = values.text(&AGAINST_OIL_TEMP).or(ask.oil_temp);
    if let Some(machine) = values.text(&AGAINST_MACHINE) {
        ask.machine = machine;
        ask.machine_text = None;
    }
    // A problem in the baseline alone is reported at the field given for the baseline.
    let there = |mut problem: Trouble| {
        for (from, to) in [
            (&basis::OIL, &AGAINST_OIL),
            (&basis::OIL_TEMP, &AGAINST_OIL_TEMP),
            (&basis::MACHINE, &AGAINST_MACHINE),
        ] {
            if values.has(to) {
                problem = problem.moved(from.key, to.key);
            }
        }
        problem
    };
    let setup = super::own::resolve(&ask, values);
    let mut setup = setup.map_err(|all| all.into_iter().map(there).collect::<Troubles>())?;
    setup.stop = values.stop.clone();
    // The baseline has the faults of the case, unless faults are given for the baseline itself.
    let against = values.list(&AGAINST_WITH);
    if against.is_empty() {
        fault::put_on(&mut setup, &values.list(&WITH), WITH.key)?;
    }
    fault::put_on(&mut setup, &against, AGAINST_WITH.key)?;
    Ok(setup)
}

impl Why {
    fn find(&self) -> Result<Found, Trouble> {
        let setup = &self.setup;
        let (state, operating) = State::of(&setup.case)?;
        let mut all = cautions(setup, &state, operating.limit);
        let comparison = match &self.baseline {
            Some(baseline) => Some(compare(setup, &state, baseline, &mut all)?),
            None => None,
        };
        let explanation = match self.measured {
            Some(measured) => Some(explain(setup, measured, &self.poured)?),
            None => None,
        };
        let viscosity = viscosity(setup);
        let other = comparison.as_ref().map_or(viscosity, |c| c.viscosity);
        let from = 2e-6_f64.min(0.5 * viscosity.min(other)).max(SPAN.0);
        let to = 1e-3_f64.max(2.0 * viscosity.max(other)).min(10.0 * SPAN.1);
        let steps = inverse::over_viscosity(&setup.case, from, to, 160);
        let row = |s: &sweep::Step| Step {
            viscosity: s.x,
            fan_speed: s.state.fan_speed,
            limited_by: s.operating.limit,
        };
        Ok(Found {
            settled: setup.settled,
            limit: operating.limit,
            comparison: Flat(comparison),
            explanation: Flat(explanation),
            series: steps.iter().map(row).collect(),
            more_viscous: 0.1 * viscosity_slope(&setup.case, &operating),
            viscosity,
            stretches: sweep::stretches(steps.iter().map(sweep::Step::limit)),
            cautions: all,
            state,
        })
    }
}

/// Viscosity of the oil of a case at its temperature, m²/s.
fn viscosity(setup: &Setup) -> f64 {
    inverse::base_viscosity(&setup.case) * setup.case.oil.thickness
}

/// Compares a case with its baseline: computes the difference and what each place in the circuit contributes to it.
fn compare(
    setup: &Setup,
    state: &State,
    baseline: &Setup,
    all: &mut Vec<Caution>,
) -> Result<Comparison, Trouble> {
    let (other, operating) = State::of(&baseline.case)?;
    for caution in cautions(baseline, &other, operating.limit) {
        if !all.contains(&caution) {
            all.push(caution.of(Whose::Baseline));
        }
    }
    let difference = state.fan_speed - other.fan_speed;
    let equal = difference.abs() < 1e-9 * other.fan_speed.max(1.0);
    let (shares, split) = if setup.case.same_shape(&baseline.case) {
        let found = shares::shares(&baseline.case, &setup.case)?;
        let keyed = found.iter().map(|(p, v)| (p.key().to_string(), *v));
        let split = if equal {
            None
        } else {
            shares::grade_or_temperature(&baseline.case, &setup.case)?
        };
        (Some(Keyed(keyed.collect())), split)
    } else {
        (None, None)
    };
    let same = setup.case == baseline.case && setup.spread == baseline.spread;
    let band = match same {
        true => Some(Difference::NONE),
        false => band::difference(setup, baseline),
    };
    let within = match shares {
        Some(_) if !equal => band::contributions(setup, baseline),
        _ => None,
    };
    let end = |of: fn(&(f64, f64)) -> f64| {
        let keyed = |all: &Vec<(Place, (f64, f64))>| {
            let each = all.iter().map(|(p, ends)| (p.key().to_string(), of(ends)));
            Keyed(each.collect())
        };
        within.as_ref().map(keyed)
    };
    Ok(Comparison {
        settled: baseline.settled,
        fan_speed: other.fan_speed,
        difference,
        difference_low: band.map(|b| b.low),
        difference_high: band.map(|b| b.high),
        band,
        limit: operating.limit,
        shares,
        shares_low: end(|ends| ends.0),
        shares_high: end(|ends| ends.1),
        split: split.map(|(grade, temperature)| Split { grade, temperature }),
        equal,
        more_viscous: 0.1 * viscosity_slope(&baseline.case, &operating),
        viscosity: viscosity(baseline),
    })
}

/// The probability that the oil itself is the cause of a reading in this condition.
fn oil_probability(setup: &Setup, measured: Measure) -> Result<f64, Trouble> {
    let now = setup.case.now;
    let probe = probe::find("fan-speed-idle-hot")?;
    let setting = Setting {
        engine: Engine::At(now.engine_speed),
        oil_temp: Some(now.oil_temp),
        command: now.command,
        unplugged: setup.case.shape.unplugged,
        ..probe.setting
    };
    let reading = Reading {
        setting,
        engine_half: setup.spread.now.engine_speed,
        oil_temp_half: setup.spread.now.oil_temp,
        ..Reading::of(probe, measured.value, measured.spread)
    };
    let readings = Readings {
        all: vec![reading],
        ..Readings::default()
    };
    let first = |mut all: Troubles| all.swap_remove(0);
    let priors = Priors::usual().map_err(first)?;
    let all = weigh(setup, &readings, &priors).map_err(first)?;
    let of_oil = |c: &Cause| matches!(c, Cause::Fault(f) if f.of == Subsystem::Oil);
    let of_oil = all.iter().filter(|w| of_oil(&w.cause));
    Ok(of_oil.map(|w| w.probability).sum())
}

/// Determines whether the oil alone can explain a reading, at its own and at other oil temperatures.
fn explain(setup: &Setup, measured: Measure, oils: &[OilSheet]) -> Result<Explanation, Trouble> {
    let at = |oil_temp: f64| -> Result<AtOilTemp, Trouble> {
        let mut case = setup.case;
        case.now.oil_temp = oil_temp;
        let (state, _) = State::of(&case)?;
        let own = inverse::base_viscosity(&case);
        let span = oils
            .iter()
            .map(|o| o.curve.viscosity(oil_temp))
            .fold((THINNEST * own, own), |(low, high), nu| {
                (low.min(nu), high.max(nu))
            });
        let value = measured.value;
        // As in `suspects`, the model itself has an error.
        let spread = measured.spread.hypot(2.0 * model(FAN_SPEED, value));
        let needed = inverse::viscosities(&case, value - spread, value + spread);
        let within = needed.iter().any(|(a, b)| *a <= span.1 && *b >= span.0);
        let short = |s: &sweep::Step| s.state.fan_speed - value;
        let unexplained = if within {
            0.0
        } else {
            let steps = inverse::over_viscosity(&case, span.0, span.1, 60);
            let least = steps.iter().map(short);
            least
                .min_by(|a, b| a.abs().total_cmp(&b.abs()))
                .unwrap_or(0.0)
        };
        Ok(AtOilTemp {
            oil_temp,
            fan_speed: state.fan_speed,
            needed: Viscosities(needed),
            unexplained,
            poured: span,
        })
    };
    let here = at(setup.case.now.oil_temp)?;
    Ok(Explanation {
        needed: here.needed,
        poured: vec![here.poured],
        unexplained: here.unexplained,
        oil_probability: oil_probability(setup, measured)?,
        over_oil_temp: LOOKED_AT
            .map(celsius)
            .into_iter()
            .map(at)
            .collect::<Result<_, _>>()?,
    })
}
