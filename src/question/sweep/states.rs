//! The states along the axis of a sweep, at given temperatures or at the steady ones of the heat balance.

use super::{Along, Found, GEAR, Settles, Sweep, weather};
use crate::balance::{
    Asked, COLDEST, NoSteadyState, Operating, State, Warm, at_limit, solve_from, warm_from,
};
use crate::input::Input;
use crate::model::{Case, Caution, Setup};
use crate::question::condition::on_the_road;
use crate::question::state::warm_cautions;
use crate::trouble::Trouble;
use crate::vary::settled::boiling;
use crate::vary::size::{Figure, Stand};
use crate::vary::sweep::{self, Step};
use crate::vary::{band, inverse, sample};
use rayon::prelude::*;

/// How a sweep computes the steady temperatures.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Steady {
    /// Whether the fan control sets the command; otherwise the operating condition gives it.
    pub automatic: bool,
    /// Whether the engine speed follows from gear and road speed.
    pub geared: bool,
    /// The gear; `None` for the highest one that does not lug the engine.
    pub gear: Option<usize>,
}

/// One value of a sweep, solved.
#[derive(Clone, Copy)]
pub(super) struct Spot {
    /// Value on the axis.
    pub x: f64,
    pub state: State,
    pub operating: Operating,
    /// The requested output.
    pub value: f64,
    pub settles: Settles,
}

/// What is found at one value: the state, or why it is not steady, or nothing.
pub(super) type Place = Option<Result<Spot, (f64, NoSteadyState)>>;

/// Number of consecutive values of which each starts from the solution before it.
const CHAIN: usize = 16;

/// Number of machines sampled for a band.
pub(super) const DRAWN: usize = 120;
/// The seed of the sampling.
const SEED: u64 = 20_261_125;
/// Maximum residual of a sampled machine, relative to the heat flow. It changes a temperature by about 0.01 K.
const ROUGHLY: f64 = 1e-4;

impl Sweep {
    /// What is found along the axis, one for each value.
    pub(super) fn along(&self, case: &Case) -> Result<Vec<Place>, Trouble> {
        if self.steady.is_none() {
            let steps = self.along.given(case).into_iter();
            return Ok(steps.map(|s| Some(Ok(self.of_step(case, s?)))).collect());
        }
        let chain = |values: &[f64]| {
            self.setup.stop.ask()?;
            let mut near: Option<Warm> = None;
            let one = |x: &f64| {
                let warm = self.warm(
                    &self.along.on(case, *x),
                    Asked::STEADY.closed,
                    near.as_ref(),
                );
                near = warm;
                Some(self.of_warm(*x, &warm?))
            };
            Ok(values.iter().map(one).collect::<Vec<Place>>())
        };
        let values = self.along.values();
        let found: Result<Vec<Vec<Place>>, Trouble> = values.par_chunks(CHAIN).map(chain).collect();
        Ok(found?.concat())
    }

    /// The steady state of a case, or with the limiting ambient temperature requested, the state at that temperature;
    /// the search starts from a near state, if one is given. `None` if there is no solution.
    fn warm(&self, case: &Case, closed: f64, near: Option<&Warm>) -> Option<Warm> {
        self.try_warm(case, closed, near).ok()
    }

    fn try_warm(&self, case: &Case, closed: f64, near: Option<&Warm>) -> Result<Warm, Trouble> {
        let steady = self.steady.unwrap_or_default();
        let case = match steady.geared {
            true => on_the_road(case, steady.gear, &self.setup)?,
            false => *case,
        };
        let asked = Asked {
            automatic: steady.automatic,
            closed,
            ..Asked::STEADY
        };
        let near = near.filter(|near| near.heats.is_none());
        if self.output != Figure::Limiting {
            return warm_from(&case, asked, near);
        }
        let found = at_limit(&case, asked, near).filter(|w| w.budget.ambient > COLDEST);
        found.ok_or_else(|| {
            let why = "at no ambient temperature does the coolant stay below its limit";
            match warm_from(&case, asked, None) {
                Ok(_) => Trouble::no_answer(why, "less heat, or a larger core"),
                Err(trouble) => trouble,
            }
        })
    }

    fn of_warm(&self, x: f64, warm: &Warm) -> Result<Spot, (f64, NoSteadyState)> {
        if let Some(heats) = warm.heats {
            return Err((x, heats));
        }
        Ok(Spot {
            x,
            state: warm.state,
            operating: warm.operating,
            value: self.read(warm),
            settles: Settles(Some([warm.budget.coolant_temp, warm.budget.oil_temp])),
        })
    }

    fn of_step(&self, case: &Case, step: Step) -> Spot {
        let value = match self.output {
            Figure::Output(output) => step.state.get(output),
            figure => figure.read(&Stand::of(self.along.on(case, step.x), step.state)),
        };
        Spot {
            x: step.x,
            state: step.state,
            operating: step.operating,
            value,
            settles: Settles(None),
        }
    }

    /// The requested output of a steady state.
    fn read(&self, warm: &Warm) -> f64 {
        self.output.read(&Stand {
            budget: Some(warm.budget),
            limiting: warm.budget.ambient,
            ..Stand::of(warm.case, warm.state)
        })
    }

    /// The requested output of a sampled machine at each value of the axis. A coolant that boils counts as being at its
    /// boiling point.
    fn of_machine(&self, machine: &Case, values: &[f64]) -> Vec<Option<f64>> {
        let mut near: Option<Warm> = None;
        let mut speed = f64::NAN;
        let mut one = |x: &f64| {
            let case = self.along.on(machine, *x);
            if self.steady.is_none() {
                let operating = solve_from(&case, speed).ok()?;
                speed = operating.omega;
                let state = State::found(&case, &operating);
                return Some(self.output.read(&Stand::of(case, state)));
            }
            near = self.warm(&case, ROUGHLY, near.as_ref());
            let warm = near?;
            match (warm.heats, self.output) {
                (None, _) => Some(self.read(&warm)),
                (Some(NoSteadyState::Oil), _) => None,
                (_, Figure::Coolant) => Some(boiling(&warm.case)[1]),
                _ => None,
            }
        };
        values.iter().map(&mut one).collect()
    }

    /// Values of machines sampled with one oil, and of the same machines with the first oil, if it is another one: for
    /// each machine, the output at each value of the axis.
    fn drawn(
        &self,
        side: &Setup,
        first: Option<&Setup>,
    ) -> Result<[Vec<Vec<Option<f64>>>; 2], Trouble> {
        let exact = |side: &Setup| self.along.resolve(side, self.along.from);
        let side = exact(side);
        let together = &side.machine.correlations;
        let (these, those) = match first {
            None => (
                sample::draw(&side.case, &side.spread, together, DRAWN, SEED),
                Vec::new(),
            ),
            Some(first) => band::pairs(&side, &exact(first), DRAWN),
        };
        let values = self.along.values();
        let run = |machines: &[Case]| {
            let one = |machine: &Case| {
                self.setup.stop.check()?;
                Ok(self.of_machine(machine, &values))
            };
            machines
                .par_iter()
                .map(one)
                .collect::<Result<Vec<_>, Trouble>>()
        };
        Ok([run(&these)?, run(&those)?])
    }

    /// The 95 % band of the output at each value of the axis, and that of its difference from the first oil, over
    /// sampled machines; `None` where too many of them have no value.
    pub(super) fn bands(
        &self,
        side: &Setup,
        first: Option<&Setup>,
    ) -> Result<Vec<[Option<(f64, f64)>; 2]>, Trouble> {
        let [these, those] = self.drawn(side, first)?;
        let at = |k: usize| {
            let both = these.iter().zip(&those);
            let differences = both.map(|(a, b)| Some(a[k]? - b[k]?));
            let own = these.iter().map(|values| values[k]);
            [band::of_values(own), band::of_values(differences)]
        };
        Ok((0..self.along.steps).map(at).collect())
    }

    /// Why the first value has no state, if nothing else is known.
    pub(super) fn nothing(&self) -> Trouble {
        let case = self.along.on(&self.setup.case, self.along.from);
        let case = self
            .second
            .map_or(case, |along| along.on(&case, along.from));
        let found = match self.steady {
            None => State::of(&case).map(|_| None),
            Some(_) => self
                .try_warm(&case, Asked::STEADY.closed, None)
                .map(|w| w.heats),
        };
        match found {
            Err(trouble) => trouble,
            Ok(Some(heats)) => {
                let expected = "a range in which the machine reaches a steady state";
                Trouble::no_answer(heats.words(), expected)
            }
            Ok(None) => Trouble::no_answer(
                "no value of the sweep has an operating point",
                "a range in which the machine runs",
            ),
        }
    }

    /// The cautions: with steady temperatures, those about the hottest state found.
    pub(super) fn cautions(&self, side: &Setup, found: &Found) -> Vec<Caution> {
        let Some(steady) = self.steady else {
            return self.setup.cautions.clone();
        };
        let coolant = |settles: Settles| settles.0.map_or(f64::NEG_INFINITY, |s| s[0]);
        let hottest = found.series.iter().max_by(|a, b| {
            let (a, b) = (coolant(a.settles), coolant(b.settles));
            a.total_cmp(&b)
        });
        let warm = hottest.and_then(|row| {
            let case = self.along.on(&side.case, row.at.value);
            let case = row.second.0.map_or(case, |at| at.along.on(&case, at.value));
            self.warm(&case, Asked::STEADY.closed, None)
        });
        let mut all = warm.map_or_else(Vec::new, |warm| warm_cautions(side, &warm));
        let typed = self.setup.typed.iter();
        let ignored = typed.filter(|key| ["oil_temp", "air_temp"].contains(key));
        all.extend(ignored.map(|field| Caution::NoEffect { field }));
        let stands = self.setup.case.vehicle.is_none() || self.setup.case.now.road_speed <= 0.0;
        let road = [
            (self.setup.case.now.grade.abs() > 0.0, weather::GRADE.key),
            (self.setup.case.now.trailer > 0.0, weather::TRAILER.key),
            (steady.gear.is_some(), GEAR.key),
        ];
        let ignored = road
            .iter()
            .filter(|r| r.0 && stands && !self.over(Input::ROAD_SPEED));
        all.extend(ignored.map(|(_, field)| Caution::OnTheRoadOnly { field }));
        all
    }
}

impl Along {
    /// The states along the axis at the temperatures of the case, one for each value; `None` where there is no operating
    /// point.
    fn given(&self, case: &Case) -> Vec<Option<Step>> {
        let values = self.values();
        match self.input {
            Some(input) => sweep::sweep(case, input, &values),
            None => inverse::over_viscosities(case, &values),
        }
    }
}
