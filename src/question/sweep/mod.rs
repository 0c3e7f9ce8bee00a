//! How does an output vary with one input, for one oil or several, or with two inputs?
//!
//! | file | task |
//! |---|---|
//! | `fields.rs` | the input fields |
//! | `along.rs` | the axis of a sweep |
//! | `states.rs` | the states along the axis, at given temperatures or at those of the heat balance |
//! | `line.rs` | a sweep of one input, with bands and differences |
//! | `grid.rs` | a sweep of two inputs: the states and the contour lines of the output |
//! | `found.rs` | the types of the results |

mod along;
mod fields;
mod found;
mod grid;
mod line;
mod states;

use super::basis::{self, OIL, WARM};
use super::values::{renamed, split_names};
use super::weather::{self, GEAR};
use super::{Field, Intake, Question, Request, Values};
use crate::input::Input;
use crate::model::{Ask, Setup};
use crate::quantity::Measure;
use crate::trouble::{Trouble, Troubles};
use crate::vary::size::Figure;
use fields::{AXES, MOST};
use std::collections::HashMap;

pub use along::{Along, At};
pub use fields::*;
pub use found::{Curve, Found, Given, Point, Row, Second, Settles};
pub use grid::Contour;
pub use states::Steady;

/// The request.
#[derive(Clone, Debug)]
pub struct Sweep {
    /// Machine, oil, condition.
    pub setup: Setup,
    /// The axis.
    pub along: Along,
    /// The second axis, if any.
    pub second: Option<Along>,
    /// The machine with each requested oil; empty if no oils were requested and the oil of the case is used.
    pub oils: Vec<Setup>,
    /// The output to show.
    pub output: Figure,
    /// Whether to compute the uncertainty band of the output.
    pub band: bool,
    /// How the temperatures are computed from the heat balance; `None` if they are given.
    pub steady: Option<Steady>,
}

impl Request for Sweep {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let weather = weather::CONDITION.map(|(field, key)| Some((key, intake.quantity(field)?)));
        let weather: Vec<(&str, Measure)> = weather.into_iter().flatten().collect();
        let gear = intake.count(&GEAR);
        let setup = intake.of_machine(&basis::ask_automatic(values), &weather);
        let oils = intake.on_oils(&weather);
        if !oils.is_empty() && values.has(&OIL) {
            let found = format!("{} together with {}", OIL.mention(), OILS.mention());
            let problem = Trouble::input(found, "one or the other");
            intake.problems.push(problem.on(OILS.key));
        }
        let output = values.get(&GIVE).map(output_of);
        let output = output.and_then(|found| intake.keep(&GIVE, found));
        let band = values.has(&BAND);
        let setup = setup.as_ref();
        let along = setup.and_then(|setup| intake.along(&AXES[0], setup));
        let second = setup.and_then(|setup| intake.second(setup, along));
        let alone = second.is_some() && (band || oils.len() > 1);
        if alone {
            let found = format!(
                "{} together with {} or several oils",
                OVER_2.mention(),
                BAND.mention()
            );
            let problem = Trouble::input(found, "a band or several oils only with one axis");
            intake.problems.push(problem.on(OVER_2.key));
        }
        let axes = [along, second];
        let of_heat = output.is_some_and(Figure::is_of_heat);
        let steady = setup.and_then(|setup| intake.steady(setup, axes, of_heat, gear));
        let read = setup.cloned().zip(along).zip(output);
        intake.finish(read.map(|((setup, along), output)| Sweep {
            setup,
            along,
            second,
            oils,
            output,
            band,
            steady,
        }))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find().map_err(|t| vec![t])
    }
}

/// The inputs of the operating condition that the oil circuit takes as given.
const GIVEN: [Input; 5] = [
    Input::ENGINE_SPEED,
    Input::OIL_TEMP,
    Input::COMMAND,
    Input::AIR_TEMP,
    Input::ALTITUDE,
];

impl Intake<'_> {
    /// The machine of `ask` in the given weather and on the given road.
    fn of_machine(&mut self, ask: &Ask, weather: &[(&'static str, Measure)]) -> Option<Setup> {
        let setup = basis::setup(ask, self.values);
        let mut setup = setup.map_err(|all| self.problems.extend(all)).ok()?;
        weather::put(&mut setup, weather.iter().copied(), self.values);
        Some(setup)
    }

    /// The machine filled with each requested oil.
    fn on_oils(&mut self, weather: &[(&'static str, Measure)]) -> Vec<Setup> {
        if self.oils(&OILS).is_empty() {
            return Vec::new();
        }
        let names = split_names(self.values.all(&OILS));
        let mut all = Vec::new();
        for name in names {
            let ask = Ask {
                oil: Some(name),
                ..basis::ask_automatic(self.values)
            };
            // Problems of the machine itself are reported where the machine is read.
            let before = std::mem::take(&mut self.problems);
            all.extend(self.of_machine(&ask, weather));
            let problems = std::mem::replace(&mut self.problems, before);
            for problem in renamed(problems, OIL.key, OILS.key) {
                if problem.spot.field == OILS.key && !self.problems.contains(&problem) {
                    self.problems.push(problem);
                }
            }
        }
        all
    }

    /// How the temperatures are computed from the heat balance; `None` if they are given.
    fn steady(
        &mut self,
        setup: &Setup,
        axes: [Option<Along>; 2],
        of_heat: bool,
        gear: Option<usize>,
    ) -> Option<Steady> {
        let values = self.values;
        let word = values.get(&COMMAND) == Some(basis::AUTOMATIC);
        let asked = |field: &&Field| values.has(field);
        let weather = weather::WEATHER.iter().any(asked);
        let over = |input| axes.iter().flatten().any(|a| a.input == Some(input));
        let of_weather = |input: Input| input.part() == "now" && !GIVEN.contains(&input);
        let axis = axes
            .iter()
            .flatten()
            .filter_map(|a| a.input)
            .any(of_weather);
        if !(of_heat || word || weather || axis || values.has(&WARM)) {
            return None;
        }
        for (along, field) in axes.iter().zip([&OVER, &OVER_2]) {
            let found = match along.map(|a| a.input) {
                Some(None) => "the viscosity, which follows from the oil temperature",
                Some(Some(Input::OIL_TEMP)) => {
                    "the oil temperature, which the heat balance computes"
                }
                Some(Some(Input::AIR_TEMP)) => {
                    "the air temperature, which the heat balance computes"
                }
                _ => continue,
            };
            let expected = "another axis; ambient, or oil.thickness, a factor on the viscosity";
            self.problems
                .push(Trouble::input(found, expected).on(field.key));
        }
        let typed = |key: &str| setup.typed.contains(&key);
        let engine = typed("engine_speed") || over(Input::ENGINE_SPEED);
        if engine && gear.is_some() {
            let found = "a gear and an engine speed, which follows from gear and road speed";
            self.problems
                .push(Trouble::input(found, "one of the two").on(GEAR.key));
        }
        let held = typed("command") || setup.case.shape.unplugged || over(Input::COMMAND);
        Some(Steady {
            automatic: (of_heat || word) && !held && setup.case.fan_control.is_some(),
            geared: !engine,
            gear,
        })
    }

    /// Reads the second axis, if any, and checks it against the first.
    fn second(&mut self, setup: &Setup, first: Option<Along>) -> Option<Along> {
        let others = [&FROM_2, &TO_2, &STEPS_2];
        if !self.values.has(&OVER_2) {
            for field in others.into_iter().filter(|f| self.values.has(f)) {
                let found = format!("{} without {}", field.mention(), OVER_2.mention());
                let problem = Trouble::input(found, "both or neither");
                self.problems.push(problem.on(field.key));
            }
            return None;
        }
        let second = self.along(&AXES[1], setup)?;
        let first = first?;
        let wrong = if second.input.is_none() {
            Some((
                OVER_2.key,
                "viscosity on the second axis".to_string(),
                "viscosity on the first axis, if at all",
            ))
        } else if second.input == first.input {
            Some((
                OVER_2.key,
                "the same input on both axes".into(),
                "two different inputs",
            ))
        } else if first.steps * second.steps > MOST {
            let found = format!("{} pairs of values", first.steps * second.steps);
            Some((STEPS_2.key, found, "at most 1000000 pairs"))
        } else {
            None
        };
        if let Some((key, found, expected)) = wrong {
            self.problems.push(Trouble::input(found, expected).on(key));
        }
        Some(second)
    }
}

impl Sweep {
    /// Whether an input is one of the axes.
    pub fn over(&self, input: Input) -> bool {
        let axes = [Some(self.along), self.second];
        axes.iter()
            .flatten()
            .any(|along| along.input == Some(input))
    }

    fn find(&self) -> Result<Found, Trouble> {
        let setup = &self.setup;
        let sides = match &self.oils[..] {
            [] => std::slice::from_ref(setup),
            oils => oils,
        };
        let mut found = match (self.second, sides) {
            (Some(second), [side, ..]) => self.over_two(side, second)?,
            _ => self.over_one(sides)?,
        };
        if found.series.is_empty() {
            return Err(self.nothing());
        }
        found.without_steady_state = found.heats.len();
        found.idle = [
            idle(&found.series, |row| row.second.0),
            self.second.is_some() && idle(&found.series, |row| Some(row.at)),
        ];
        found.cautions = self.cautions(sides.first().unwrap_or(setup), &found);
        Ok(found)
    }
}

/// Difference below which two values of an output count as the same, relative to their size.
const SAME: f64 = 1e-7;

/// Whether the output does not change between rows with the same oil and the same place on the other axis, `other`.
fn idle(series: &[Row], other: impl Fn(&Row) -> Option<At>) -> bool {
    let mut ends: HashMap<(&str, u64), (f64, f64, usize)> = HashMap::new();
    for row in series {
        let place = other(row).map_or(0, |at| at.value.to_bits());
        let value = row.given.value;
        let ends = ends.entry((&row.oil, place)).or_insert((value, value, 0));
        *ends = (ends.0.min(value), ends.1.max(value), ends.2 + 1);
    }
    let same = |(low, high, _): &(f64, f64, usize)| high - low <= SAME * high.abs().max(low.abs());
    ends.values().any(|e| e.2 > 1) && ends.values().all(same)
}

/// The output with the given name.
fn output_of(name: &str) -> Result<Figure, Trouble> {
    match Figure::find(name)? {
        Figure::Input(input) => {
            let found = format!("`{}`, which is an input", input.key());
            Err(Trouble::input(
                found,
                Figure::keys().collect::<Vec<_>>().join(", "),
            ))
        }
        figure => Ok(figure),
    }
}
