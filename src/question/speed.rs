//! What is the expected fan speed, what limits it, and is a measured speed really too low?

use super::basis::{self, MEASURED, WARM};
use super::noted::with_reading;
use super::state::{Slope, cautions, left_out};
use super::{Group, Intake, Outcome, Question, Request, Values};
use crate::balance::{Limit, Operating, State};
use crate::input::Input;
use crate::model::{Caution, Setup};
use crate::outcome;
use crate::quantity::Measure;
use crate::trouble::Troubles;
use crate::vary::band::{self, Stated};
use crate::vary::derivative::{Sensitivity, sensitivities};
use crate::vary::settled::warmed;
use crate::vary::sweep;

/// The question.
pub static QUESTION: Question = Question {
    key: "speed",
    title: "How fast?",
    about: "How fast should this fan turn, and what limits its speed?",
    groups: &[
        basis::MACHINE_AND_OIL,
        basis::MOMENT,
        Group::new("Your reading", &[&MEASURED]),
        basis::AIR,
        basis::FAULT,
        basis::SETTINGS,
        Group::folded("Temperatures", &[&WARM]),
    ],
    examples: &[
        "oilwheel speed light-truck",
        "oilwheel speed light-truck --measured \"640 rpm ± 10 rpm\"",
        "oilwheel speed light-truck --oil-temp \"-10 C\" --engine-speed raised",
    ],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub struct Speed {
    /// Machine, oil, condition.
    pub setup: Setup,
    /// A measured fan speed with its uncertainty, if given.
    pub measured: Option<Measure>,
}

outcome! {
    /// A limit of the fan speed that does not act at present.
    pub struct NextLimit {
        /// The limit.
        limit: Limit,
        /// Fan speed if this limit acted alone.
        fan_speed: f64 as Speed,
    }
}

outcome! {
    /// Fan speed and pressure at one engine speed.
    pub struct Step {
        /// Engine speed.
        engine_speed: f64 as Speed,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// Gauge pressure at the pump outlet.
        supply_gauge_pressure: f64 as Pressure,
        /// What limits the fan speed.
        limited_by: Limit,
    }
}

outcome! {
    /// The result of `speed`.
    pub struct Found {
        /// The state of the circuit.
        state: State,
        /// The steady oil temperature and the warm-up time, if requested.
        settled: Option<crate::model::Settled>,
        /// Lower limit of the uncertainty band of the fan speed (95 %): from linearised uncertainties or, if the result
        /// differs, from machines sampled at random within their uncertainty.
        low: f64 as Speed = "fan_speed_low",
        /// Upper limit of the uncertainty band of the fan speed (95 %).
        high: f64 as Speed = "fan_speed_high",
        /// Lower limit of the fan speed (95 %) of machines sampled at random within their uncertainty.
        sampled_low: Option<f64> as Speed = "fan_speed_sampled_low",
        /// Upper limit of the fan speed (95 %) of machines sampled at random within their uncertainty.
        sampled_high: Option<f64> as Speed = "fan_speed_sampled_high",
        /// What limits the fan speed.
        limit: Limit = "limited_by",
        /// The limits that do not act at present, lowest fan speed first.
        next_limits: Vec<NextLimit>,
        /// Command applied to the valve, 0 to 1.
        command: f64,
        /// Number of evaluations of the oil circuit that the solution took.
        evaluations: usize,
        /// Derivatives of the state with respect to each input.
        slopes: Vec<Slope> = "sensitivities",
        /// Engine speed above which the flow regulator or a valve limits the fan speed.
        full_from: Option<f64> as Speed = "full_speed_from_engine",
        /// Computed minus measured fan speed.
        shortfall: Option<f64> as Speed,
        /// Computed minus measured fan speed, in standard deviations that combine reading and machine.
        shortfall_sigma: Option<f64>,
        /// The state at each engine speed.
        series: Vec<Step>,
    }
    beside {
        /// The operating point.
        operating: Operating,
        /// The uncertainty band of the fan speed.
        band: Stated,
        /// The derivatives of the state with respect to each input.
        sensitivities: Vec<Sensitivity>,
        /// Change of fan speed if the oil were 10 % more viscous, rad/s.
        more_viscous: f64,
        /// Pressure difference available to start a stopped fan, and that required, Pa.
        start: (f64, f64),
        /// Each limit, and the interval of engine speed in which it acts, rad/s.
        stretches: Vec<(Limit, f64, f64)>,
        /// The cautions.
        cautions: Vec<Caution>,
    }
}

impl Request for Speed {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let values = &with_reading(values);
        let mut intake = Intake::new(values);
        let setup = intake.basis();
        let measured = intake.reading(&MEASURED);
        let mut request = intake.finish(setup.map(|setup| Speed { setup, measured }))?;
        if values.has(&WARM) {
            request.setup = warmed(&request.setup).map_err(|t| vec![t])?;
        }
        Ok(request)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        let found = self.find();
        found.map_err(|t| vec![t])
    }
}

impl Speed {
    fn find(&self) -> Result<Found, crate::trouble::Trouble> {
        let setup = &self.setup;
        let (case, correlations) = (&setup.case, &setup.machine.correlations);
        let (state, operating) = State::of(case)?;
        let sensitivities = sensitivities(case, &operating);
        let band = band::stated(
            case,
            &setup.spread,
            correlations,
            &operating,
            &sensitivities,
        );
        let engine = Input::ENGINE_SPEED;
        let (idle, full) = (
            setup.machine.usual.idle.value,
            setup.machine.usual.full.value,
        );
        let short = self.measured.map(|m| shortfall(m, &state, &band));
        let thickness = Input::OIL_THICKNESS;
        let viscosity = sensitivities.iter().find(|s| s.input == thickness);
        let more_viscous = viscosity.map_or(0.0, |s| 0.1 * s.slope.fan_speed);
        let mut all = cautions(setup, &state, operating.limit);
        all.extend(left_out(setup, &sensitivities, &state));
        let sides = operating.sides(case, thickness);
        all.extend(sides.map(|(low, high)| Caution::TwoLimitsMeet {
            thinner: -0.01 * low,
            thicker: 0.01 * high,
        }));
        let now = case.now.engine_speed;
        let from = (0.5 * idle).min(now.max(0.1 * idle));
        let speeds = sweep::values(from, full.max(now), 121, false);
        let steps: Vec<_> = sweep::sweep(case, engine, &speeds)
            .into_iter()
            .flatten()
            .collect();
        Ok(Found {
            settled: setup.settled,
            low: band.low,
            high: band.high,
            sampled_low: band.sampled.map(|b| b.low),
            sampled_high: band.sampled.map(|b| b.high),
            limit: operating.limit,
            next_limits: operating
                .other_limits(case)
                .into_iter()
                .map(|(limit, fan_speed)| NextLimit { limit, fan_speed })
                .collect(),
            command: operating.command,
            evaluations: operating.evaluations,
            slopes: Slope::of(&sensitivities),
            full_from: sweep::full_from(case, engine, 0.3 * idle, full),
            shortfall: short.map(|s| s.0),
            shortfall_sigma: short.map(|s| s.1),
            stretches: sweep::stretches(steps.iter().map(sweep::Step::limit)),
            series: steps.iter().map(Step::of).collect(),
            start: Operating::start(case)?,
            cautions: all,
            state,
            operating,
            band,
            sensitivities,
            more_viscous,
        })
    }
}

/// Computed minus measured fan speed, in rad/s and in standard deviations.
fn shortfall(measured: Measure, state: &State, band: &Stated) -> (f64, f64) {
    let short = state.fan_speed - measured.value;
    // Half-width of the band on that side of the computed value on which the reading lies.
    let half = if short > 0.0 {
        state.fan_speed - band.low
    } else {
        band.high - state.fan_speed
    };
    let sigma = 0.5 * half.hypot(measured.spread);
    (short, if sigma > 0.0 { short / sigma } else { 0.0 })
}

impl Step {
    fn of(solved: &sweep::Step) -> Self {
        Self {
            engine_speed: solved.x,
            fan_speed: solved.state.fan_speed,
            supply_gauge_pressure: solved.state.supply_gauge_pressure,
            limited_by: solved.operating.limit,
        }
    }
}
