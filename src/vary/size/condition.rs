//! A machine in one operating condition, in which its temperatures are either given or computed by the heat balance.

use super::figure::Figure;
use crate::balance::{
    Asked, Budget, Find, Operating, State, Turning, Warm, at_limit, boils, solve, warm_past_boiling,
};
use crate::input::Input;
use crate::model::{Case, Slopes};
use crate::numeric::Real;

/// One operating condition of the design.
#[derive(Clone, Copy, Debug)]
pub struct Condition {
    /// The machine in this condition.
    pub case: Case,
    /// How the heat balance computes the temperatures; `None` if the case gives them.
    pub heat: Option<Heat>,
}

/// The settings of a condition whose temperatures the heat balance computes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// Whether the fan control sets the fan command.
    pub automatic: bool,
    /// Gear and idle speed (rad/s), if the engine speed is computed from the road speed.
    pub gear: Option<(usize, f64)>,
}

impl Heat {
    /// The settings of the heat balance.
    pub fn asked(self) -> Asked {
        Asked {
            automatic: self.automatic,
            ..Asked::STEADY
        }
    }

    /// The case with its engine speed computed from the road speed, if this condition asks for that.
    pub fn on_the_road<N: Real>(self, mut case: Case<N>) -> Case<N> {
        if let (Some((gear, idle)), Some(vehicle)) = (self.gear, &case.vehicle) {
            let turns = vehicle.engine_speed(gear, case.now.road_speed, N::from(idle));
            case.now.engine_speed = turns.unwrap_or(case.now.engine_speed);
        }
        case
    }
}

/// The results from which figures are read. Temperatures in K, NaN if they were not computed.
#[derive(Clone, Copy, Debug)]
pub struct Stand<N = f64> {
    /// The machine; if the heat balance was solved, with the temperatures and the fan command from it.
    pub case: Case<N>,
    /// State of the oil circuit.
    pub state: State<N>,
    /// The heat flows; above the boiling point of the coolant an extrapolation. `None` if they were not computed.
    pub budget: Option<Budget<N>>,
    /// Ambient temperature at which the coolant reaches its limit.
    pub limiting: N,
}

/// A solved condition.
#[derive(Clone, Copy, Debug)]
pub struct Solved {
    /// The results from which figures are read.
    pub stand: Stand,
    /// Operating point of the oil circuit.
    pub operating: Operating,
    warm: Option<Warm>,
    limit: Option<Warm>,
}

impl Condition {
    /// The condition with the given inputs set to the given values.
    pub fn with(&self, sets: impl Iterator<Item = (Input, f64)>) -> Self {
        let case = sets.fold(self.case, |case, (input, value)| case.with(input, value));
        let case = self.heat.map_or(case, |heat| heat.on_the_road(case));
        Self { case, ..*self }
    }

    /// Solves the condition, starting from a nearby solution; also finds the limiting ambient temperature if
    /// `limiting`. `None` if there is no solution or inputs contradict each other.
    pub fn solve(&self, limiting: bool, near: Option<&Solved>) -> Option<Solved> {
        if self.case.clash().is_some() {
            return None;
        }
        let Some(heat) = self.heat else {
            let operating = solve(&self.case).ok()?;
            let state = State::found(&self.case, &operating);
            return Some(Solved::of(self.case, state, operating));
        };
        let asked = heat.asked();
        let warm = warm_past_boiling(&self.case, asked, near.and_then(|n| n.warm.as_ref())).ok()?;
        let near = near.and_then(|n| n.limit.as_ref());
        let limit = limiting
            .then(|| at_limit(&self.case, asked, near))
            .flatten();
        let mut solved = Solved::of(warm.case, warm.state, warm.operating);
        solved.stand.budget = Some(warm.budget);
        solved.stand.limiting = limit.as_ref().map_or(f64::NAN, |l| l.budget.ambient);
        (solved.warm, solved.limit) = (Some(warm), limit);
        Some(solved)
    }

    /// Derivatives of the figures with respect to inputs in a solved condition; `None` if they cannot be computed.
    pub fn slopes(
        &self,
        solved: &Solved,
        figures: &[Figure],
        along: impl Fn(Input) -> bool,
    ) -> Option<Slopes> {
        let Some((heat, warm)) = self.heat.zip(solved.warm) else {
            let turning = Turning::of(&self.case, &solved.operating);
            return Some(self.case.slopes(along, |case| {
                let state = turning.along(case);
                let stand = Stand::of(*case, state);
                figures.iter().map(|f| f.read(&stand)).collect()
            }));
        };
        let tangent = warm.tangent(heat.asked())?;
        let limit = match solved.limit {
            Some(limit) => Some(limit.tangent(at_the_limit())?),
            None => None,
        };
        Some(self.case.slopes(along, |case| {
            let case = heat.on_the_road(*case);
            let found = tangent.state(&case).map(|(there, state, budget)| {
                let mut full = case;
                full.now.command = 1.0.into();
                let limiting = limit.and_then(|l| l.along(&full)).map(|l| l[0]);
                Stand {
                    budget: Some(budget),
                    limiting: limiting.unwrap_or_else(|| f64::NAN.into()),
                    ..Stand::of(there, state)
                }
            });
            let values = |stand| figures.iter().map(|f| f.read(&stand)).collect();
            found.map_or_else(Vec::new, values)
        }))
    }
}

/// The settings of the heat balance with the coolant at its limit.
fn at_the_limit() -> Asked {
    Asked {
        automatic: false,
        find: Find::Ambient,
        ..Asked::STEADY
    }
}

impl<N: Real> Stand<N> {
    /// A machine and the state of its oil circuit.
    pub fn of(case: Case<N>, state: State<N>) -> Self {
        Self {
            case,
            state,
            budget: None,
            limiting: N::from(f64::NAN),
        }
    }
}

impl Solved {
    /// Whether the coolant boils.
    pub fn boils(&self) -> bool {
        let boils = |w: &Warm| w.heats.is_some() || w.budget.coolant_temp > boils(&w.case);
        self.warm.as_ref().is_some_and(boils)
    }

    /// The steady temperatures, if the heat balance was solved.
    pub fn warm(&self) -> Option<&Warm> {
        self.warm.as_ref()
    }

    fn of(case: Case, state: State, operating: Operating) -> Self {
        Self {
            stand: Stand::of(case, state),
            operating,
            warm: None,
            limit: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::unit::celsius;
    use crate::model::{Ask, Lookup};

    /// A light truck uphill in third gear: the derivative of each figure along each input, compared with central
    /// differences.
    #[test]
    fn figures_of_heat_move_as_their_slopes_say() {
        let mut case = Ask::about("light-truck")
            .resolve(Lookup::LibraryOnly)
            .unwrap()
            .case;
        (case.now.ambient, case.now.air_conditioning) = (celsius(38.0), 1.0);
        (case.now.road_speed, case.now.grade) = (30.0 / 3.6, 0.06);
        let heat = Heat {
            automatic: true,
            gear: Some((3, case.now.engine_speed)),
        };
        let condition = Condition {
            case,
            heat: Some(heat),
        };
        let condition = condition.with(std::iter::empty());
        let names = [
            "coolant",
            "oil",
            "limiting_ambient",
            "fan_speed",
            "pump_power",
            "coolant_return_temp",
            "air_temp",
            "air flow",
            "engine_heat",
            "radiator_heat",
            "oil_heat",
            "engine_power",
            "fuel_heat",
        ];
        let figures = names.map(|name| Figure::find(name).unwrap());
        let solved = condition.solve(true, None).unwrap();
        let slopes = condition.slopes(&solved, &figures, |_| true).unwrap();
        for key in [
            "pump.displacement",
            "motor.displacement",
            "core.conductance",
            "core.face",
            "fan.diameter",
            "vehicle.final_drive",
            "oil_heat.cooler",
        ] {
            let input = Input::find(key).unwrap();
            let value = case.get(input).unwrap();
            let step = 1e-4 * value;
            let at = |by: f64| {
                let moved = condition.with(std::iter::once((input, value + by)));
                moved.solve(true, None).unwrap().stand
            };
            let (more, less) = (at(step), at(-step));
            for (k, (figure, name)) in figures.iter().zip(names).enumerate() {
                let by_steps = (figure.read(&more) - figure.read(&less)) / (2.0 * step);
                let slope = slopes.along(input).unwrap()[k];
                let size = figure.read(&solved.stand) / value;
                // Tolerance, set before the first run: a thousandth of the derivative, plus the rounding error of the
                // differences.
                assert!(
                    (slope - by_steps).abs() < 1e-3 * by_steps.abs() + 1e-6 * size.abs(),
                    "{name} along {key}: {slope} and {by_steps} by steps"
                );
            }
        }
    }

    /// Where `heat` reports boiling, the solution here continues above the boiling point, so that a search can still
    /// tell which designs are cooler.
    #[test]
    fn coolant_that_boils_is_still_cooler_with_a_larger_core() {
        let mut case = Ask::about("light-truck")
            .resolve(Lookup::LibraryOnly)
            .unwrap()
            .case;
        (case.now.ambient, case.now.work) = (celsius(45.0), 40e3);
        let heat = Heat {
            automatic: true,
            gear: None,
        };
        let condition = Condition {
            case,
            heat: Some(heat),
        };
        let conductance = Input::find("core.conductance").unwrap();
        let with = |times: f64| {
            let value = case.get(conductance).unwrap() * times;
            let moved = condition.with(std::iter::once((conductance, value)));
            moved.solve(false, None).unwrap()
        };
        let (small, large) = (with(1.0), with(1.1));
        assert!(small.boils() && large.boils());
        let coolant = |solved: &Solved| Figure::Coolant.read(&solved.stand);
        assert!(coolant(&large) < coolant(&small));
    }
}
