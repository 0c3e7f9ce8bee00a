//! How probable is each cause given these readings, and which test would be most informative next?
//!
//! | file | task |
//! |---|---|
//! | `found.rs` | the results |
//! | `refuse.rs` | readings that are rejected |
//! | `misread.rs` | errors that multiply all readings of a kind by the same factor |
//! | `weigh.rs` | the probability of each cause |
//! | `next.rs` | the information to be expected from each remaining test |

mod found;
mod misread;
mod next;
mod refuse;
mod weigh;

pub use found::{Candidate, Expected, Explains, Found, NextTest, Outlier, Pair, Strength};
pub use misread::Misread;
pub use weigh::candidates;

use super::basis::{self, AIR_TEMP, ALTITUDE};
use super::own;
use super::readings::READINGS;
use super::{Field, Group, Intake, Outcome, Question, Request, Takes, Values};
use crate::fault::priors::{EMBEDDED, Priors};
use crate::model::Setup;
use crate::probe::{Readings, skippable};
use crate::trouble::Troubles;

/// Field for readings taken when the machine was healthy.
pub const WELL: Field = Field::new(
    "well",
    Takes::Text("readings"),
    "Readings of the same machine when it was healthy",
)
.help("With them, differences between this machine and others of its class are not mistaken for faults.");

/// Field for the file that states how common each cause is.
pub const PRIORS: Field = Field::new(
    "priors",
    Takes::Text("weights"),
    "How common each cause is, before any reading",
)
.help("A TOML file such as models/priors.toml.")
.else_words("built-in engineering assumptions");

/// Field for tests and facts that are not available.
pub const SKIP: Field = Field::new("skip", Takes::Words, "A test or instrument to leave out")
    .help("The key of a test or fact that is not available, or of an instrument that is not at hand, such as photo-tachometer or gauge-class-1.6. It is then not proposed.")
    .example("supply-pressure-raised-hot")
    .many();

/// The question.
pub static QUESTION: Question = Question {
    key: "suspects",
    title: "What is wrong?",
    about: "How probable is each cause after these readings, and which test would be most informative next?",
    groups: &[
        basis::MACHINE_AND_OIL,
        Group::new("Readings", &[&READINGS, &WELL]),
        Group::folded("How common each cause is", &[&PRIORS, &SKIP]),
        Group::folded("Air and altitude", &[&AIR_TEMP, &ALTITUDE]),
        basis::SETTINGS,
    ],
    examples: &[
        "oilwheel suspects light-truck",
        "oilwheel suspects light-truck models/readings/worn-pump.toml",
        "oilwheel suspects light-truck models/readings/repaired.toml --well models/readings/well.toml",
    ],
    finds: Found::properties,
};

/// The request.
#[derive(Clone, Debug)]
pub struct Suspects {
    /// Machine and oil.
    pub setup: Setup,
    /// The readings.
    pub readings: Readings,
    /// The readings taken on the same machine when it was healthy, if given.
    pub well: Option<Readings>,
    /// How common each cause is, as prior weights.
    pub priors: Priors,
    /// Keys of tests, facts and instruments that are not available and so are not proposed.
    pub skip: Vec<&'static str>,
}

impl Request for Suspects {
    const QUESTION: &'static Question = &QUESTION;
    type Outcome = Found;

    fn read(values: &Values) -> Result<Self, Troubles> {
        let mut intake = Intake::new(values);
        let given = intake.measured(&READINGS);
        let setup = given.as_ref().map(|m| &m.setup);
        let well = setup.and_then(|setup| intake.readings_on(&WELL, setup));
        let skip = values.all(&SKIP).map(skippable);
        let skip: Vec<_> = skip.map(|key| intake.keep(&SKIP, key)).collect();
        let (source, text) = intake
            .file(&PRIORS)
            .unwrap_or_else(|| ("models/priors.toml".into(), EMBEDDED.into()));
        let priors = intake.keep_all(&PRIORS, Priors::from_text(&source, &text));
        let request = given.zip(priors).map(|(measured, priors)| {
            let (mut readings, healthy) = own::parted(measured.readings);
            own::since_work(&mut readings);
            let mut well = well;
            if !healthy.all.is_empty() {
                well.get_or_insert_default().all.extend(healthy.all);
            }
            Suspects {
                setup: measured.setup,
                skip: skip
                    .into_iter()
                    .flatten()
                    .chain(readings.book.skip.clone())
                    .collect(),
                readings,
                well,
                priors,
            }
        });
        intake.finish(request)
    }

    fn answer(&self) -> Result<Found, Troubles> {
        let problems = refuse::problems(self);
        if !problems.is_empty() {
            return Err(problems);
        }
        weigh::find(self).map_err(|t| vec![t])
    }
}

impl Suspects {
    /// The readings taken when the machine was healthy; empty if none.
    fn baseline(&self) -> &[crate::probe::Reading] {
        self.well.as_ref().map_or(&[], |w| &w.all)
    }

    /// Whether faults of the heat side are considered, which is the case if there are coolant readings.
    fn heat_side(&self) -> bool {
        let mut all = self.readings.all.iter().chain(self.baseline());
        all.any(|r| r.probe.what.of_coolant())
    }
}
