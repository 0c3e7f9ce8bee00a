//! How does an output vary with one input, for one oil or several, or with two inputs?
//!
//! | file | task |
//! |---|---|
//! | `along.rs` | the axis of a sweep |
//! | `grid.rs` | a sweep of two inputs: the states and the contour lines of the output |

mod along;
mod grid;

use super::basis::{self, OIL};
use super::values::{renamed, split_names};
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::balance::{Limit, Output, State};
use crate::input::Input;
use crate::model::{Ask, Case, Setup};
use crate::outcome;
use crate::trouble::{Trouble, Troubles};
use crate::vary::sweep::{self, Step};
use crate::vary::{band, inverse};
use along::Axis;
use rayon::prelude::*;

pub use along::{Along, At, Given, Second};
pub use grid::Contour;

/// Field for the quantity of the axis.
pub const OVER: Field = Field::new("over", Takes::Words, "Axis of the sweep")
    .help("engine-speed, oil-temp, viscosity, command, air-temp, altitude, or an input such as pump.slip.")
    .example("oil-temp")
    .required();

/// Field for the first value.
pub const FROM: Field = Field::new("from", Takes::Words, "From")
    .help("First value, with its unit.")
    .example("-20 C")
    .required();

/// Field for the last value.
pub const TO: Field = Field::new("to", Takes::Words, "To")
    .help("Last value, with its unit.")
    .example("110 C")
    .required();

/// Field for the oils to compare.
pub const OILS: Field = Field::new("oils", Takes::Oil, "With these oils")
    .help("Separate them by commas, or give them one by one.")
    .else_words("the machine's oil")
    .many();

/// Field for the number of values.
pub const STEPS: Field = Field::new("steps", Takes::Count(2, 20_000), "Number of values")
    .help("From 2 to 20000.")
    .usually("101");

/// Field for the quantity of the second axis.
pub const OVER_2: Field = Field::new("over_2", Takes::Words, "Second axis")
    .help("A second input. Contour lines are then drawn over both inputs.")
    .example("engine-speed")
    .else_words("one axis only");

/// Field for the first value of the second axis.
pub const FROM_2: Field = Field::new("from_2", Takes::Words, "From, second axis")
    .help("Include the unit.")
    .example("700 rpm");

/// Field for the last value of the second axis.
pub const TO_2: Field = Field::new("to_2", Takes::Words, "To, second axis")
    .help("Include the unit.")
    .example("3000 rpm");

/// Field for the number of values of the second axis.
pub const STEPS_2: Field = Field::new(
    "steps_2",
    Takes::Count(2, 2_000),
    "Number of values, second axis",
)
.help("From 2 to 2000; at most a million pairs.")
.usually("101");

/// Field for the output to show.
pub const GIVE: Field = Field::new("give", Takes::Words, "Output to show")
    .help("An output such as supply_gauge_pressure, pump_shaft_power, drive_efficiency.")
    .usually("fan_speed");

/// Switch to compute an uncertainty band.
pub const BAND: Field = Field::new("band", Takes::Switch, "With the uncertainty band")
    .help("The range that contains 95 % of machines, given the uncertainty of machine, oil and condition. With several oils, the difference from the first oil has a band too.");

/// The input fields of the first and of the second axis.
const AXES: [Axis; 2] = [
    Axis {
        over: &OVER,
        from: &FROM,
        to: &TO,
        steps: &STEPS,
    },
    Axis {
        over: &OVER_2,
        from: &FROM_2,
        to: &TO_2,
        steps: &STEPS_2,
    },
];

/// Maximum number of pairs of values in a sweep of two inputs.
const MOST: usize = 1_000_000;

/// The question.
pub static QUESTION: Question = Question {
    key: "sweep",
    title: "Sweep",
    about: "How do speed, pressure or power vary with one input (for one oil or several), or with two inputs?",
    groups: &[
        basis::MACHINE_AND_OIL,
        basis::MOMENT,
        Group::new("Axis", &[&OVER, &FROM, &TO, &STEPS, &OILS, &GIVE, &BAND]),
        Group::folded("Second axis", &[&OVER_2, &FROM_2, &TO_2, &STEPS_2]),
        basis::AIR,
        basis::FAULT,
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel sweep light-truck --over oil-temp --from \"-20 C\" --to \"110 C\"",
        "oilwheel sweep light-truck --over viscosity --from \"5 cSt\" --to \"1000 cSt\"",
        "oilwheel sweep light-truck --over oil-temp --from \"-20 C\" --to \"110 C\" --over-2 engine-speed --from-2 \"700 rpm\" --to-2 \"3000 rpm\" --give supply_gauge_pressure",
        "oilwheel sweep bus --over engine-speed --from \"500 rpm\" --to \"2200 rpm\" --oils iso-vg-32,iso-vg-46",
    ],
    finds: Found::properties,
};

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
    pub output: Output,
    /// Whether to compute the uncertainty band of the output.
    pub band: bool,
}

outcome! {
    /// One point of a curve.
    pub struct Point {
        /// Value on the axis.
        at: At,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// The requested output.
        given: Given,
        /// What limits the fan speed.
        limited_by: Limit,
    }
}

outcome! {
    /// Fan speed and requested output along the axis, with one oil.
    pub struct Curve {
        /// Name of the oil.
        oil: String,
        /// Points of the curve; each has its value on the axis under the key of the axis.
        points: Vec<Point>,
    }
    beside {
        /// Each limit of the fan speed, and the interval of the axis in which it acts.
        stretches: Vec<(Limit, f64, f64)>,
    }
}

outcome! {
    /// The state with one oil at one value on the axis.
    pub struct Row {
        /// Key of the oil, or its name if it has no key.
        oil: String,
        /// Value on the axis.
        at: At,
        /// Value on the second axis.
        second: Second,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// Gauge pressure at the pump outlet.
        supply_gauge_pressure: f64 as Pressure,
        /// Pressure difference across the motor.
        motor_pressure_drop: f64 as Pressure,
        /// Pump shaft power.
        pump_shaft_power: f64 as Power,
        /// The requested output.
        given: Given,
        /// What limits the fan speed.
        limited_by: Limit,
    }
}

outcome! {
    /// The result of `sweep`.
    pub struct Found {
        /// A curve for each oil; empty for two axes.
        curves: Vec<Curve>,
        /// Contour lines, for two axes.
        contours: Vec<Contour>,
        /// The state with each oil at each value; the value is under the key of the axis.
        series: Vec<Row>,
    }
}

impl Request for Sweep {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let setup = intake.basis();
        let oils = intake.on_oils();
        if !oils.is_empty() && values.has(&OIL) {
            let found = format!("{} together with {}", OIL.mention(), OILS.mention());
            let problem = Trouble::input(found, "one or the other");
            intake.problems.push(problem.on(OILS.key));
        }
        let output = values.get(&GIVE).map(Output::of_name);
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
        let read = setup.cloned().zip(along).zip(output);
        intake.finish(read.map(|((setup, along), output)| Sweep {
            setup,
            along,
            second,
            oils,
            output,
            band,
        }))
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find().map_err(|t| vec![t])
    }
}

impl Intake<'_> {
    /// The machine filled with each requested oil.
    fn on_oils(&mut self) -> Vec<Setup> {
        if self.oils(&OILS).is_empty() {
            return Vec::new();
        }
        let names = split_names(self.values.all(&OILS));
        let mut all = Vec::new();
        for name in names {
            let ask = Ask {
                oil: Some(name),
                ..basis::ask(self.values)
            };
            let setup = basis::setup(&ask, self.values);
            match setup.map_err(|all| renamed(all, OIL.key, OILS.key)) {
                Ok(setup) => all.push(setup),
                // Problems of the machine itself are reported where the machine is read.
                Err(problems) => {
                    let own = problems.into_iter().filter(|p| p.spot.field == OILS.key);
                    let new: Troubles = own.filter(|p| !self.problems.contains(p)).collect();
                    self.problems.extend(new);
                }
            }
        }
        all
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
    fn find(&self) -> Result<Found, Trouble> {
        let setup = &self.setup;
        let sides = match &self.oils[..] {
            [] => std::slice::from_ref(setup),
            oils => oils,
        };
        let found = match (self.second, sides) {
            (Some(second), [side, ..]) => self.over_two(side, second)?,
            _ => self.over_one(sides)?,
        };
        if found.series.is_empty() {
            State::of(&setup.case)?;
            return Err(Trouble::no_answer(
                "no value of the sweep has an operating point",
                "a range in which the machine runs",
            ));
        }
        Ok(found)
    }

    /// Sweeps one input with each oil.
    fn over_one(&self, sides: &[Setup]) -> Result<Found, Trouble> {
        let (mut curves, mut series) = (Vec::new(), Vec::new());
        let mut first: Option<(&Setup, Vec<Step>)> = None;
        for side in sides {
            let steps = self.along.run(&side.case);
            self.setup.stop.ask()?;
            let given = self.given(side, &steps, first.as_ref())?;
            let told = || steps.iter().zip(&given);
            series.extend(told().map(|(s, given)| self.row(side, s, Second(None), *given)));
            curves.push(Curve {
                oil: side.oil.name.clone(),
                points: told().map(|(s, given)| self.point(s, *given)).collect(),
                stretches: sweep::stretches(&steps),
            });
            first.get_or_insert((side, steps));
        }
        Ok(Found {
            curves,
            contours: Vec::new(),
            series,
        })
    }

    /// The requested output at each step; if requested, with its uncertainty band and its difference from the first
    /// oil.
    fn given(
        &self,
        side: &Setup,
        steps: &[Step],
        first: Option<&(&Setup, Vec<Step>)>,
    ) -> Result<Vec<Given>, Trouble> {
        let output = self.output;
        if self.band {
            self.setup.stop.expect(steps.len());
        }
        let one = |step: &Step| {
            let value = step.state.get(output);
            let (mut band, mut difference) = (None, None);
            if self.band {
                self.setup.stop.check()?;
                let here = self.along.resolve(side, step.x);
                let together = &side.machine.correlations;
                let (case, spread) = (&here.case, &here.spread);
                band = Some(band::of_output(
                    case,
                    spread,
                    together,
                    &step.operating,
                    output,
                ));
                difference = first.and_then(|(first, theirs)| {
                    let near = theirs.iter().find(|s| s.x.total_cmp(&step.x).is_eq())?;
                    let there = self.along.resolve(first, step.x);
                    let (low, high) = band::output_difference(&here, &there, output)?;
                    Some((value - near.state.get(output), low, high))
                });
            }
            Ok(Given {
                output,
                value,
                band,
                difference,
            })
        };
        steps.par_iter().map(one).collect()
    }

    fn at(&self, step: &Step) -> At {
        At {
            along: self.along,
            value: step.x,
        }
    }

    fn point(&self, step: &Step, given: Given) -> Point {
        Point {
            at: self.at(step),
            fan_speed: step.state.fan_speed,
            given,
            limited_by: step.operating.limit,
        }
    }

    fn row(&self, side: &Setup, step: &Step, second: Second, given: Given) -> Row {
        let oil = &side.oil;
        let named = !oil.key.is_empty();
        Row {
            oil: if named { &oil.key } else { &oil.name }.clone(),
            at: self.at(step),
            second,
            fan_speed: step.state.fan_speed,
            supply_gauge_pressure: step.state.supply_gauge_pressure,
            motor_pressure_drop: step.state.motor_pressure_drop,
            pump_shaft_power: step.state.pump_shaft_power,
            given,
            limited_by: step.operating.limit,
        }
    }
}

impl Along {
    /// The states along the axis; values without an operating point are omitted.
    fn run(&self, case: &Case) -> Vec<Step> {
        self.whole(case).into_iter().flatten().collect()
    }

    /// The states along the axis, one for each value; `None` where there is no operating point.
    fn whole(&self, case: &Case) -> Vec<Option<Step>> {
        let values = self.values();
        match self.input {
            Some(input) => sweep::sweep(case, input, &values),
            None => inverse::over_viscosities(case, &values),
        }
    }

    /// The values of the axis.
    pub fn values(&self) -> Vec<f64> {
        sweep::values(self.from, self.to, self.steps, self.input.is_none())
    }

    /// A case with the swept quantity set to `value`.
    fn on(&self, case: &Case, value: f64) -> Case {
        match self.input {
            Some(input) => case.with(input, value),
            None => inverse::at_viscosity(case, value),
        }
    }

    /// A case and its uncertainties with the swept quantity set to `value`, which itself is taken as exact.
    fn resolve(&self, side: &Setup, value: f64) -> Setup {
        let exact = self.input.unwrap_or(Input::OIL_THICKNESS);
        Setup {
            case: self.on(&side.case, value),
            spread: side.spread.with(exact, 0.0),
            ..side.clone()
        }
    }
}
