//! Which parts meet the requirements: inputs of a machine that meet requirements in several conditions and minimise a
//! goal.
//!
//! | file | task |
//! |---|---|
//! | `words.rs` | parses requirements, free inputs, goals and conditions |
//! | `said.rs` | takes them from flags and from a file of wants |
//! | `rules.rs` | built-in requirements: design rules, each with its source |
//! | `found.rs` | the design, its robustness to the ±, and the results for both |

mod found;
mod rules;
mod said;
mod words;

use super::{Field, Group, Intake, Question, Request, Takes, Values, basis};
use crate::model::{Case, Machine, Posed};
use crate::outcome;
use crate::quantity::Kind;
use crate::question::Outcome;
use crate::trouble::{Trouble, Troubles};
use crate::vary::size::Figure;
use words::{Range, Situation, Wanted};

/// The requirements.
pub const WANT: Field = Field::new("want", Takes::Words, "What is wanted")
    .help("A figure, >= or <=, a bound with its unit, and where it counts `at` a condition: engine, oil, command, air, altitude; or a day and a road, such as 38 C, 30 km/h, 6 %, air conditioning, where temperatures are those of `heat`. Without one it counts in every condition that is named. Figures are the outputs of `speed`, suction_velocity, supply_velocity, return_velocity, relief_above_valve, inputs, and coolant, oil, limiting_ambient. Or a rule of the trade by its name: line velocities, seal, inlet, relief, belt, viscosity, best viscosity, start, oil temperature.")
    .example("fan_speed >= 2300 rpm at engine 1600 rpm, oil 90 C")
    .many();

/// The free inputs.
pub const FREE: Field = Field::new("free", Takes::Words, "What is free")
    .help("An input with a range, or with sizes to choose from. What is chosen counts as exact, unless ± stands behind.")
    .example("pump.displacement = 8..40 cm3/rev")
    .many();

/// A file of wants.
pub const WANTS: Field = Field::new("wants", Takes::Text("wants"), "A file of wants")
    .help("TOML: want = [\"…\", \"…\"], free = [\"…\"], goal = \"…\", each text as the flag of that name takes it.")
    .example("wants.toml")
    .else_words("what the flags say");

/// The goal.
pub const GOAL: Field = Field::new("goal", Takes::Words, "What is best")
    .help(
        "least or most of a figure: its mean over all conditions, `at` one, or over a duty cycle, such as least pump power over 60 % at engine idle; 40 % at engine 1500 rpm, oil 90 C; or smallest pump, motor, fan.",
    )
    .example("least pump power at engine idle")
    .usually("least pump_shaft_power");

/// The design rules.
pub const RULES: Field = Field::new("rules", Takes::Switch, "With the rules of the trade")
    .help("Line velocities, pressure behind the motor, at the pump's inlet, relief above valve, viscosity.");

/// Number of sampled machines.
pub const MACHINES: Field = Field::new(
    "machines",
    Takes::Count(0, 20_000),
    "How many machines are drawn",
)
.help("Within the ± of machine, oil and condition, to say how often the wants hold.")
.usually("200");

/// Minimum number of machines for which a fraction is reported.
const FEWEST: usize = 50;

/// The required fraction of machines.
pub const SURE: Field = Field::new(
    "sure",
    Takes::Quantity(Kind::Share, 0.5, 0.99, &[]),
    "In which share of machines each want is to hold",
)
.help("By the drawn machines; without it the wants hold as computed, which is in about half where they bind.")
.example("90 %");

/// The output file of the machine.
pub const OUT: Field = Field::new(
    "out",
    Takes::Text("the designed machine"),
    "Where to write the designed machine",
)
.help("A machine file.")
.example("designed.toml")
.else_words("it is not kept");

/// The question.
pub static QUESTION: Question = Question {
    key: "size",
    title: "",
    about: "Which parts give what is wanted, and what would it buy to want less?",
    groups: &[
        basis::MACHINE_AND_OIL,
        Group::new(
            "The design",
            &[&WANT, &FREE, &GOAL, &RULES, &WANTS, &SURE, &MACHINES, &OUT],
        ),
        basis::MOMENT,
        basis::AIR,
        basis::FAULT,
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel size light-truck --want \"fan_speed >= 2300 rpm at engine 1600 rpm\" --want \"supply_pressure <= 100 bar\" --free \"pump.displacement = 8..40 cm3/rev\" --free \"motor.displacement = 6..16 cm3/rev\"",
        "oilwheel size bus --rules --want \"fan_speed >= 1900 rpm at engine 1500 rpm, altitude 2500 m\" --free \"pump.displacement = 28, 32, 36, 40, 45 cm3/rev\" --free \"motor.displacement = 20..40 cm3/rev\" --goal \"smallest pump\"",
        "oilwheel size light-truck --want \"limiting_ambient >= 48 C at 30 km/h, 6 %\" --want \"coolant <= 105 C at 38 C, engine 700 rpm, air conditioning\" --free \"pump.displacement = 8..40 cm3/rev\" --free \"core.conductance = 500..3000 W/K\"",
    ],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub struct Size {
    /// Machine, oil, and the default condition of requirements.
    pub posed: Posed,
    /// The conditions.
    conditions: Vec<Situation>,
    /// The requirements, each in one condition.
    wants: Vec<Wanted>,
    /// The free inputs.
    ranges: Vec<Range>,
    /// The goal, as typed.
    goal: words::Goal,
    machines: usize,
    /// The fraction of machines that must meet each requirement.
    sure: Option<f64>,
    /// The output file of the machine.
    pub out: Option<String>,
}

outcome! {
    /// A part of the design.
    pub struct Part {
        /// The input.
        input: String,
        /// Its unit.
        unit: String,
        /// Its value in that unit.
        value: f64,
        /// The least that it was free to be.
        from: f64,
        /// The most that it was free to be.
        to: f64,
        /// Whether it stands at an end of its range.
        at_end: bool,
    }
    beside {
        /// The value, SI.
        si: f64,
    }
}

outcome! {
    /// A want, and how it is met.
    pub struct Met {
        /// The want as it was typed, with its condition.
        want: String,
        /// The unit of the figures here.
        unit: String,
        /// The bound.
        bound: f64,
        /// What the design gives; of coolant that boils, how warm it would get if it did not.
        value: f64,
        /// By how much it is inside; negative where it is off.
        margin: f64,
        /// Whether it holds.
        holds: bool,
        /// Whether the goal would be better without it.
        binds: bool,
        /// By how much the goal changes for each unit by which it is relaxed, by a design anew with it relaxed by a thousandth, a temperature by half a kelvin.
        buys: Option<f64>,
        /// Low end of what drawn machines give (95 %).
        low: Option<f64>,
        /// High end of the same.
        high: Option<f64>,
        /// Share of drawn machines in which it holds.
        share: Option<f64>,
        /// Where a rule of the trade comes from.
        source: Option<String>,
    }
    beside {
        /// What it is on.
        figure: Figure,
        /// Whether it is on coolant that boils.
        boils: bool,
        /// Bound, value, margin, SI.
        si: [f64; 3],
        /// Low and high end, SI.
        band: Option<(f64, f64)>,
    }
}

outcome! {
    /// The design in a condition.
    pub struct Stands {
        /// The condition.
        condition: String,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// Gauge pressure at the pump outlet.
        supply_gauge_pressure: f64 as Pressure,
        /// Flow that the pump delivers.
        pump_flow: f64 as Flow,
        /// Power at the pump's shaft.
        pump_shaft_power: f64 as Power,
        /// Power at the fan's shaft.
        fan_shaft_power: f64 as Power,
        /// Fan shaft power over pump shaft power.
        drive_efficiency: f64 as Share,
        /// What limits the fan speed.
        limited_by: crate::balance::Limit,
        /// Steady coolant temperature, where heat is balanced; none where it boils.
        coolant_temp: Option<f64> as Temperature,
        /// Steady oil temperature, where heat is balanced.
        oil_temp: Option<f64> as Temperature,
        /// Ambient temperature at which the coolant reaches its limit.
        limiting_ambient: Option<f64> as Temperature,
        /// Whether the coolant boils.
        boils: bool,
    }
}

outcome! {
    /// What `size` finds.
    pub struct Found {
        /// Whether all wants hold.
        met: bool,
        /// The free inputs.
        design: Vec<Part>,
        /// The goal in words.
        goal: String,
        /// The goal's unit.
        goal_unit: String,
        /// The goal in that unit.
        goal_value: f64,
        /// The wants.
        wants: Vec<Met>,
        /// Wants that cannot be met together.
        against: Vec<String>,
        /// By how much of its bound the worst of them is off; for a temperature, of 50 K.
        worst_off: f64 as Share,
        /// The design in each condition.
        conditions: Vec<Stands>,
        /// How many machines were drawn.
        machines: usize,
        /// In which share of machines each want was to hold.
        sure: Option<f64> as Share,
        /// Share of them in which all wants hold.
        share: Option<f64>,
        /// Of how many choices of sizes the best was taken.
        choices: usize,
    }
    beside {
        /// The goal's kind and value, SI.
        goal_si: (Kind, f64),
        /// The machine as designed.
        machine: Machine,
        /// Its case.
        case: Case,
    }
}

impl Request for Size {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let machines = intake.count(&MACHINES);
        let sure = intake.value(&SURE);
        if sure.is_some() && machines.is_some_and(|n| n < FEWEST) {
            let found = format!("{} with fewer than {FEWEST} machines", SURE.mention());
            let problem = Trouble::input(found, "more machines, of which a share can be told");
            intake.problems.push(problem.on(MACHINES.key));
        }
        let Some(posed) = intake.basis() else {
            return intake.finish(None);
        };
        let mut conditions = Vec::new();
        let said = intake.said();
        let mut wants = intake.wants(&said.wants, &posed, &mut conditions);
        let goal = intake.goal(said.goal.as_ref(), &posed, &mut conditions);
        let goal_heat = goal.as_ref().filter(|g| g.at.is_empty());
        let heat = goal_heat.is_some_and(|g| g.figure.is_of_heat());
        let heat = heat
            || wants
                .iter()
                .any(|w| w.at.is_none() && w.figure.is_of_heat());
        let usual = words::usual(&mut conditions, heat, &posed);
        intake.keep(&WANT, usual);
        if values.has(&RULES) {
            wants.extend(rules::usual(&posed));
        }
        let wants = words::everywhere(wants, &conditions);
        if said.wants.is_empty() && !values.has(&RULES) {
            let problem = Trouble::input("nothing wanted", WANT.example);
            intake.problems.push(problem.on(WANT.key));
        }
        intake.contradictions(&wants);
        let ranges = intake.ranges(&said.frees, &posed);
        let read = goal.zip(machines).map(|(goal, machines)| Size {
            posed,
            conditions,
            wants,
            ranges,
            goal,
            machines,
            sure,
            out: values.text(&OUT),
        });
        intake.finish(read)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find().map_err(|t| vec![t])
    }
}
