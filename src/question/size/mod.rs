//! Which parts meet the requirements? Finds inputs of a machine that meet requirements in several conditions and best
//! meet a goal.
//!
//! | file | task |
//! |---|---|
//! | `words.rs` | parses requirements, free inputs, goals and conditions |
//! | `said.rs` | collects the texts of these from flags and from a file |
//! | `rules.rs` | built-in requirements: design rules, each with its source |
//! | `doubts.rs` | cautions about the design |
//! | `found.rs` | finds the design and its robustness to the ±, and builds the results |

mod doubts;
mod found;
mod rules;
mod said;
mod words;

use super::want::Situation;
use super::{Field, Group, Intake, Question, Request, Takes, Values, basis};
use crate::model::{Case, Caution, Machine, Setup};
use crate::outcome;
use crate::quantity::Kind;
use crate::question::Outcome;
use crate::trouble::{Trouble, Troubles};
use crate::vary::size::{Beyond, Figure};
use words::{Range, Wanted};

/// The requirements.
pub const WANT: Field = Field::new("want", Takes::Words, "Requirement")
    .help("A quantity, >= or <=, and a bound with its unit; then, if needed, `at` and a condition. The condition gives engine, oil, command, air and altitude; or ambient temperature and road, such as 38 C, 30 km/h, 6 %, air conditioning, and temperatures are then computed as in `heat`. A requirement without a condition applies in every condition that another requirement or the goal names. Quantities are the outputs of `speed`, suction_velocity, supply_velocity, return_velocity, relief_above_valve, coolant, oil, limiting_ambient, and any input. A design rule is required by its name: line velocities, seal, inlet, relief, belt, viscosity, best viscosity, start, oil temperature.")
    .example("fan_speed >= 2300 rpm at engine 1600 rpm, oil 90 C")
    .many();

/// The free inputs.
pub const FREE: Field = Field::new("free", Takes::Words, "Free input")
    .help("An input with a range, or with sizes to choose from. The chosen value is taken as exact unless a ± is given after the range or sizes.")
    .example("pump.displacement = 8..40 cm3/rev")
    .many();

/// A file of requirements, free inputs and a goal.
pub const WANTS: Field = Field::new("wants", Takes::Text("wants"), "A file of requirements")
    .help("A TOML file: want = [\"…\", \"…\"], free = [\"…\"], goal = \"…\". Each text is written as in the field of the same name.")
    .example("wants.toml")
    .else_words("only what the other fields say");

/// The goal.
pub const GOAL: Field = Field::new("goal", Takes::Words, "Goal")
    .help(
        "`least` or `most` and a quantity; or smallest pump, motor or fan. The quantity is averaged over all conditions, unless one condition follows with `at`, or a duty cycle with `over`: least pump power over 60 % at engine idle; 40 % at engine 1500 rpm, oil 90 C.",
    )
    .example("least pump power at engine idle")
    .usually("least pump_shaft_power");

/// The design rules.
pub const RULES: Field = Field::new("rules", Takes::Switch, "Include design rules")
    .help("Limits line velocities, motor outlet pressure, pump inlet pressure, belt slip and viscosity, and keeps the relief setting above the control valve.");

/// Number of sampled machines.
pub const MACHINES: Field = Field::new(
    "machines",
    Takes::Count(0, 20_000),
    "Number of sampled machines",
)
.help("Machines are sampled within the ± of machine, oil and condition, to find how often the requirements are met.")
.usually("200");

/// Minimum number of sampled machines if a fraction of them is required to meet each requirement.
const FEWEST: usize = 50;

/// The fraction of machines that must meet each requirement.
pub const SURE: Field = Field::new(
    "sure",
    Takes::Quantity(Kind::Share, 0.5, 0.99, &[]),
    "Fraction of machines that must meet each requirement",
)
.help("A fraction of the sampled machines. If it is not given, only the nominal design must meet the requirements, and many machines of the class then miss a requirement that the design only just meets.")
.example("90 %");

/// The file to which the designed machine is written.
pub const OUT: Field = Field::new(
    "out",
    Takes::Text("the designed machine"),
    "Where to write the designed machine",
)
.help("A machine file.")
.example("designed.toml")
.else_words("not written");

/// The question `size`: its fields, examples and outcome.
pub static QUESTION: Question = Question {
    key: "size",
    title: "Sizing",
    about: "Which sizes of the parts meet the requirements, and what is gained by relaxing a requirement?",
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

/// A request for `size`, parsed from what the user entered.
#[derive(Clone, Debug)]
pub struct Size {
    /// Machine, oil, and the condition that applies to requirements by default.
    pub setup: Setup,
    /// The conditions that requirements and goal name.
    pub conditions: Vec<Situation>,
    /// The requirements, each in one condition.
    wants: Vec<Wanted>,
    /// The free inputs.
    ranges: Vec<Range>,
    /// The goal of the design.
    goal: words::Goal,
    machines: usize,
    /// The fraction of machines that must meet each requirement, if given.
    sure: Option<f64>,
    /// The oil, as entered by the user, if it is not the machine's own.
    oil: Option<String>,
    /// The file to which the designed machine is written.
    pub out: Option<String>,
}

outcome! {
    /// A free input, and its value in the design.
    pub struct Part {
        /// The input.
        input: String,
        /// Unit of the value.
        unit: String,
        /// Value in that unit.
        value: f64,
        /// Lower limit of the range given for the input.
        from: f64,
        /// Upper limit of the range given for the input.
        to: f64,
        /// Whether the value is at a limit of its range, or at an end of its list of sizes.
        at_end: bool,
        /// If it is: by what fraction the goal would be better, or the worst violation smaller, in a range, or a list of
        /// sizes, wider by a tenth at that limit.
        wider: Option<f64>,
    }
    beside {
        /// The value, SI.
        si: f64,
        /// Whether it is chosen from a list of sizes.
        listed: bool,
    }
}

outcome! {
    /// Another combination of sizes, with its design.
    pub struct Other {
        /// The free inputs, with their values in this design.
        design: Vec<Part>,
        /// Value of the goal in its unit.
        goal_value: f64,
    }
    beside {
        /// Value of the goal, SI.
        goal: f64,
    }
}

outcome! {
    /// An input that follows a free input, as in geometrically similar units of different size.
    pub struct Followed {
        /// The input.
        input: String,
        /// Unit of the value.
        unit: String,
        /// Value in that unit.
        value: f64,
    }
    beside {
        /// The value, SI.
        si: f64,
    }
}

outcome! {
    /// A requirement, and how well the design meets it.
    pub struct Met {
        /// The requirement as entered by the user, with its condition.
        want: String,
        /// Unit of the values below.
        unit: String,
        /// Limit stated in the requirement.
        bound: f64,
        /// Value in the design; for coolant that boils, the temperature it would reach if it did not.
        value: f64,
        /// Margin of the value to the bound; negative if the requirement is not met.
        margin: f64,
        /// Whether the requirement is met.
        holds: bool,
        /// Whether the requirement is active: the goal would be better without it.
        binds: bool,
        /// Change of the goal per unit by which the bound is relaxed, computed from a new design with the bound relaxed
        /// by 0.1 % (a temperature by 0.5 K).
        buys: Option<f64>,
        /// Lower limit of the band (95 %) of the value in sampled machines.
        low: Option<f64>,
        /// Upper limit of the band (95 %) of the value in sampled machines.
        high: Option<f64>,
        /// Fraction of sampled machines that meet the requirement.
        share: Option<f64>,
        /// If the requirement cannot be met even by itself: the value nearest to the bound that a design in these ranges
        /// has.
        nearest: Option<f64>,
        /// Source of the requirement, if it is a design rule.
        source: Option<String>,
    }
    beside {
        /// The quantity that the requirement limits.
        figure: Figure,
        /// Whether the requirement limits the coolant temperature and the coolant boils.
        boils: bool,
        /// Bound, value, margin, SI.
        si: [f64; 3],
        /// What can be reached, if the requirement cannot be met even by itself.
        beyond: Option<Beyond>,
        /// Lower and upper limit of the value in sampled machines, SI.
        band: Option<(f64, f64)>,
    }
}

outcome! {
    /// The results for the design in one condition.
    pub struct Stands {
        /// The condition.
        condition: String,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// Gauge pressure at the pump outlet.
        supply_gauge_pressure: f64 as Pressure,
        /// Pump outlet flow.
        pump_flow: f64 as Flow,
        /// Pump shaft power.
        pump_shaft_power: f64 as Power,
        /// Fan shaft power.
        fan_shaft_power: f64 as Power,
        /// Fan shaft power divided by pump shaft power.
        drive_efficiency: f64 as Share,
        /// What limits the fan speed.
        limited_by: crate::balance::Limit,
        /// Steady coolant temperature, if the condition has a heat balance; null if the coolant boils.
        coolant_temp: Option<f64> as Temperature,
        /// Steady oil temperature, if the condition has a heat balance.
        oil_temp: Option<f64> as Temperature,
        /// Ambient temperature at which the coolant reaches its limit.
        limiting_ambient: Option<f64> as Temperature,
        /// Whether the coolant boils.
        boils: bool,
    }
}

outcome! {
    /// The result of `size`.
    pub struct Found {
        /// Whether all requirements are met.
        met: bool,
        /// The free inputs, with their values in the design.
        design: Vec<Part>,
        /// The inputs that follow free inputs, with their values in the design.
        follows: Vec<Followed>,
        /// The goal in words.
        goal: String,
        /// Unit of the goal.
        goal_unit: String,
        /// Value of the goal in that unit.
        goal_value: f64,
        /// The requirements, and how well the design meets them.
        wants: Vec<Met>,
        /// The requirements that cannot be met, by themselves or together, if any.
        against: Vec<String>,
        /// Largest violation of a requirement as a fraction of its bound; for a temperature, as a fraction of 50 K.
        worst_off: f64 as Share,
        /// The results for the design in each condition.
        conditions: Vec<Stands>,
        /// Number of sampled machines.
        machines: usize,
        /// Fraction of machines that must meet each requirement.
        sure: Option<f64> as Share,
        /// Fraction of the sampled machines that meet all requirements.
        share: Option<f64>,
        /// Number of combinations of sizes compared.
        choices: usize,
        /// Other combinations of sizes that meet all requirements with a goal worse by at most 1 %, best first.
        others: Vec<Other>,
    }
    beside {
        /// Kind and value of the goal, SI.
        goal_si: (Kind, f64),
        /// The requirement that a sampled machine misses most, or meets with the smallest margin; the kind of its value
        /// and the value there, SI.
        worst: Option<(String, Kind, f64)>,
        /// The designed machine.
        machine: Machine,
        /// The case of the designed machine.
        case: Case,
        /// The cautions about the design.
        cautions: Vec<Caution>,
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
            let problem = Trouble::input(found, "more machines, so that a fraction is meaningful");
            intake.problems.push(problem.on(MACHINES.key));
        }
        let Some(setup) = intake.basis() else {
            return intake.finish(None);
        };
        let mut conditions = Vec::new();
        let said = intake.said();
        let mut wants = intake.wants(&said.wants, &setup, &mut conditions);
        let goal = intake.goal(said.goal.as_ref(), &setup, &mut conditions);
        let goal_heat = goal.as_ref().filter(|g| g.at.is_empty());
        let heat = goal_heat.is_some_and(|g| g.figure.is_of_heat());
        let heat = heat
            || wants
                .iter()
                .any(|w| w.at.is_none() && w.figure.is_of_heat());
        let usual = words::usual(&mut conditions, heat, &setup);
        intake.keep(&WANT, usual);
        if values.has(&RULES) {
            wants.extend(rules::usual(&setup));
        }
        let wants = words::everywhere(wants, &conditions);
        if said.wants.is_empty() && !values.has(&RULES) {
            let problem = Trouble::input(
                "no requirement",
                format!("a requirement such as {}", WANT.example),
            );
            intake.problems.push(problem.on(WANT.key));
        }
        intake.contradictions(&wants);
        words::days(&wants, &mut conditions);
        let ranges = intake.ranges(&said.frees, &setup);
        let read = goal.zip(machines).map(|(goal, machines)| Size {
            setup,
            conditions,
            wants,
            ranges,
            goal,
            machines,
            sure,
            oil: values.text(&basis::OIL),
            out: values.text(&OUT),
        });
        intake.finish(read)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find().map_err(|t| vec![t])
    }
}
