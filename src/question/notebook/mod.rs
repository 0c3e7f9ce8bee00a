//! What is the state of this machine? Reports the known facts, the likely fault, the next test, and the history.
//!
//! | file | task |
//! |---|---|
//! | `found.rs` | the results |
//! | `add.rs` | adds entries to a notebook |
//! | `past.rs` | readings over time, and the effect of repairs |

mod add;
mod found;
mod past;

pub use add::{added, reading_of};
pub use found::{Changed, Done, Found, Known, Past};

use super::basis::MACHINE;
use super::own::{self, Own};
use super::suspects::{PRIORS, SKIP, Suspects};
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values, basis};
use crate::balance::State;
use crate::fault::priors::{EMBEDDED, Priors};
use crate::model::{MACHINES, Setup};
use crate::probe::{Reading, Readings};
use crate::trouble::{Spot, Trouble, Troubles};
use crate::vary::band::{Stated, stated};
use crate::vary::derivative::sensitivities;
use crate::vary::known::learn;

/// Field for the notebook.
pub const NOTEBOOK: Field = MACHINE.called("Notebook", "The path of a notebook.");

/// Field for an entry to add to the notebook.
pub const ADD: Field = Field::new("add", Takes::Words, "Add an entry to the notebook")
    .help("A reading, a fact or work done. Comments and order in the file are kept.")
    .example("fan-speed-idle-hot = 640 rpm ± 10 rpm at engine 690 rpm, oil 79 C")
    .many();

/// The question.
pub static QUESTION: Question = Question {
    key: "notebook",
    title: "",
    about: "What is known about my machine, what is wrong with it, and what should be found out next?",
    groups: &[
        Group::new("The machine", &[&NOTEBOOK, &ADD]),
        Group::folded("How common each cause is", &[&PRIORS, &SKIP]),
    ],
    examples: &[
        "oilwheel notebook models/notebooks/unknown-truck.toml",
        "oilwheel notebook models/notebooks/oil-changed.toml",
    ],
    finds: Found::properties,
};

/// The request.
pub struct Notebook {
    /// Name of the machine.
    pub name: String,
    /// A machine of this class, without the facts in the notebook.
    pub class: Setup,
    /// The request for the current diagnosis, from the readings since the last repair.
    pub now: Suspects,
    /// All readings, in file order.
    pub all: Vec<Reading>,
    /// The text with the additions; `None` if nothing was added.
    pub added: Option<String>,
    /// The machine fitted to its facts, healthy readings and logs.
    pub narrowed: Setup,
}

impl Request for Notebook {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let mut ask = basis::ask(values);
        let (source, text) = match Own::of(&ask, values)? {
            Some(own) => (own.source, own.text),
            None => {
                // A file that cannot be read is told as such.
                if ask.machine_text.is_none() {
                    let read = values.lookup.text(&ask.machine, &MACHINES, "machine");
                    read.map_err(|t| vec![t.on(MACHINE.key)])?;
                }
                return Err(vec![no_notebook(&ask.machine)]);
            }
        };
        let additions: Vec<&str> = values.all(&ADD).collect();
        let added = match additions.is_empty() {
            true => None,
            false => {
                let added = add::added(&source, &text, &additions);
                intake.keep_all(&ADD, added)
            }
        };
        if let Some(added) = &added {
            ask.machine_text = Some(added.clone());
        }
        let skip: Vec<_> = values
            .all(&SKIP)
            .map(|key| intake.keep(&SKIP, crate::probe::skippable(key)))
            .collect();
        let (from, weights) = intake
            .file(&PRIORS)
            .unwrap_or_else(|| ("models/priors.toml".into(), EMBEDDED.into()));
        let priors = intake.keep_all(&PRIORS, Priors::from_text(&from, &weights));
        let request = priors.and_then(|priors| {
            let skip = skip.into_iter().flatten().collect();
            // Added text is not in the file yet, so an error has no position there.
            let homeless = added.is_some();
            let note = |mut problem: Trouble| {
                if homeless {
                    problem.spot = Spot::default();
                    problem = problem.on(ADD.key);
                }
                problem
            };
            let read = Self::of(&ask, values, priors, skip, added);
            read.map_err(|all| intake.problems.extend(all.into_iter().map(note)))
                .ok()
        });
        intake.finish(request)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        self.find()
    }
}

fn no_notebook(machine: &str) -> Trouble {
    Trouble::input(
        format!("`{machine}` is not a notebook"),
        "a file with `machine = \"light-truck\"` and the known facts of the machine",
    )
    .hint("`oilwheel new light-truck --notebook` prints an empty one")
    .on(MACHINE.key)
}

impl Notebook {
    fn of(
        ask: &crate::model::Ask,
        values: &Values,
        priors: Priors,
        skip: Vec<&'static str>,
        added: Option<String>,
    ) -> Result<Self, Troubles> {
        let own = Own::of(ask, values)?.ok_or_else(|| vec![no_notebook(&ask.machine)])?;
        let class = own.class(values)?;
        let setup = own.learned(values)?;
        let read = Readings::from_notebook(&own.source, &own.text, &setup.machine)?;
        let all = read.all.clone();
        let name = read.name.clone();
        let (mut now, well) = own::parted(read);
        own::since_work(&mut now);
        let skip = skip.into_iter().chain(now.book.skip.clone()).collect();
        Ok(Self {
            name,
            class,
            now: Suspects {
                setup,
                readings: now,
                well: (!well.all.is_empty()).then_some(well),
                priors,
                skip,
            },
            all,
            added,
            narrowed: own::resolve(ask, values)?,
        })
    }

    fn find(&self) -> Result<Found, Troubles> {
        let now = self.now.answer()?;
        let one = |t: Trouble| vec![t];
        let idle = |setup: &Setup| idle(setup).map_err(|t| vec![t]);
        let (class, narrowed) = (idle(&self.class)?, idle(&self.narrowed)?);
        let known = self.known().map_err(one)?;
        Ok(Found {
            name: self.name.clone(),
            idle: narrowed.0,
            idle_half: narrowed.1.half(),
            class_idle: class.0,
            class_half: class.1.half(),
            bands: [narrowed.1, class.1],
            known,
            past: past::past(self).map_err(one)?,
            works: past::works(self)?,
            minutes: now.next_tests.first().map_or(0.0, |t| t.effort_minutes),
            now,
        })
    }

    /// Each fact, with the fraction by which it alone reduces the uncertainty of the fan speed at idle.
    fn known(&self) -> Result<Vec<Known>, Trouble> {
        let (_, before) = idle(&self.class)?;
        let facts = &self.now.readings.book.known;
        let one = |fact: &crate::probe::Fact| {
            let mut setup = self.class.clone();
            learn(&mut setup, &[(fact.input, fact.measure)]);
            let (_, after) = idle(&setup)?;
            Ok(Known {
                input: fact.input.key(),
                value: setup
                    .units
                    .show_measure(fact.input.field().kind, fact.measure),
                how: fact.how.clone(),
                worth: (1.0 - after.half() / before.half().max(1e-12)).max(0.0),
            })
        };
        facts.iter().map(one).collect()
    }
}

/// The fan speed at idle and full command with usual oil and air temperature, and its uncertainty band.
fn idle(setup: &Setup) -> Result<(f64, Stated), Trouble> {
    let (state, operating) = State::of(&setup.case)?;
    let slopes = sensitivities(&setup.case, &operating);
    let together = &setup.machine.correlations;
    let band = stated(&setup.case, &setup.spread, together, &operating, &slopes);
    Ok((state.fan_speed, band))
}
