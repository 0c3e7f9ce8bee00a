//! Turns the outcome of a question into text, tables and pictures. Computes nothing.
//! | file | content |
//! |---|---|
//! | `answer.rs` | an answer and its blocks |
//! | `words.rs` | wording that several questions share |
//! | `caution.rs` | the text of each caution |
//! | `hazard.rs` | the safety notes |
//! | `readings.rs` | wording for readings |
//! | the others | one question each |

mod answer;
pub mod auxfan;
pub mod batch;
pub mod caution;
pub mod check;
pub mod faults;
pub mod first_look;
pub mod fit;
pub mod flush;
pub mod hazard;
pub mod heat;
pub mod log;
pub mod notebook;
pub mod oil;
pub mod points;
mod readings;
pub mod sheet;
pub mod size;
pub mod speed;
pub mod suspects;
pub mod sweep;
pub mod trip;
pub mod why;
pub mod words;

pub use answer::{
    Answer, Bar, Bars, Block, Chart, Circuit, Curve, Figure, Form, Lane, Mark, Next, Panels,
    Remark, Stretch, Table,
};
pub use words::FIGURES;

use crate::input::Input;
use crate::model::{Caution, Setup};
use crate::question::{self, Outcome, Question, Request, Series, Values};
use crate::trouble::Troubles;
use serde_json::{Map, Value, json};

/// The outcome of a question as text, tables and pictures.
#[derive(Default)]
pub struct Presentation {
    /// The main figure, shown large on the page, if any.
    pub figure: Option<Figure>,
    /// The blocks of the answer, from top to bottom.
    pub blocks: Vec<Block>,
    /// The assumptions, each as label and value.
    pub assumptions: Vec<(String, String)>,
    /// The cautions.
    pub cautions: Vec<Caution>,
    /// The inputs of the case.
    pub case: Map<String, Value>,
    /// The data behind the pictures.
    pub series: Series,
    /// The text of a generated file, such as a machine file, if any.
    pub made: Option<String>,
    /// Whether requirements were stated that nothing found meets.
    pub unmet: bool,
}

impl Presentation {
    /// Begins with the assumptions and the inputs of a case.
    pub fn about(setup: &Setup) -> Self {
        Self {
            assumptions: words::assumptions(setup),
            case: inputs(setup),
            ..Self::default()
        }
    }

    /// Adds a sentence.
    pub fn say(&mut self, sentence: impl Into<String>) {
        self.blocks.push(Block::Sentence(sentence.into()));
    }

    /// Adds the sentence with the reason.
    pub fn why(&mut self, sentence: impl Into<String>) {
        self.blocks.push(Block::Why(sentence.into()));
    }

    /// Adds the headline.
    pub fn headline(&mut self, line: impl Into<String>) {
        self.blocks.push(Block::Headline(line.into()));
    }

    /// Adds a block.
    pub fn show(&mut self, block: Block) {
        self.blocks.push(block);
    }
}

/// Every input of a case, SI, by key.
pub fn inputs(setup: &Setup) -> Map<String, Value> {
    let value = |i: Input| Some((i.key(), json!(setup.case.get(i)?)));
    Input::all().filter_map(value).collect()
}

/// A question with the function that answers it.
pub struct Teller {
    /// The question.
    pub question: &'static Question,
    /// Answers the question for the given values.
    pub answer: fn(&Values) -> Result<Answer, Troubles>,
}

/// All questions with the functions that answer them.
pub static ALL: &[Teller] = &[
    teller(&question::speed::QUESTION, |v| told(v, speed::tell)),
    teller(&question::why::QUESTION, |v| told(v, why::tell)),
    teller(&question::suspects::QUESTION, |v| told(v, suspects::tell)),
    teller(&question::notebook::QUESTION, |v| told(v, notebook::tell)),
    teller(&question::heat::QUESTION, |v| told(v, heat::tell)),
    teller(&question::auxfan::QUESTION, |v| told(v, auxfan::tell)),
    teller(&question::trip::QUESTION, |v| told(v, trip::tell)),
    teller(&question::log::QUESTION, |v| told(v, log::tell)),
    teller(&question::sweep::QUESTION, |v| told(v, sweep::tell)),
    teller(&question::batch::QUESTION, |v| told(v, batch::tell)),
    teller(&question::size::QUESTION, |v| told(v, size::tell)),
    teller(&question::points::QUESTION, |v| told(v, points::tell)),
    teller(&question::flush::QUESTION, |v| told(v, flush::tell)),
    teller(&question::oil::QUESTION, |v| told(v, oil::tell)),
    teller(&question::faults::QUESTION, |v| told(v, faults::tell)),
    teller(&question::sheet::QUESTION, |v| told(v, sheet::tell)),
    teller(&question::fit::QUESTION, |v| told(v, fit::tell)),
    teller(&question::check::QUESTION, |v| told(v, check::tell)),
    teller(&question::first_look::QUESTION, |v| {
        told(v, first_look::tell)
    }),
];

const fn teller(
    question: &'static Question,
    answer: fn(&Values) -> Result<Answer, Troubles>,
) -> Teller {
    Teller { question, answer }
}

/// The answer to the question with a given key; `None` for an unknown key.
pub fn answer(key: &str, values: &Values) -> Option<Result<Answer, Troubles>> {
    let teller = ALL.iter().find(|t| t.question.key == key)?;
    Some((teller.answer)(values))
}

/// Reads the request from the values, computes the outcome, and presents it.
pub fn told<R: Request>(
    values: &Values,
    tell: fn(&R, &R::Outcome) -> Presentation,
) -> Result<Answer, Troubles> {
    let request = R::read(values)?;
    let found = request.answer()?;
    Ok(whole(
        R::QUESTION,
        values,
        tell(&request, &found),
        found.object(),
    ))
}

/// The complete answer, made from presentation and outcome.
pub fn whole(
    question: &Question,
    values: &Values,
    told: Presentation,
    numbers: Map<String, Value>,
) -> Answer {
    Answer {
        question: question.key,
        figure: told.figure,
        blocks: told.blocks,
        assumptions: told.assumptions,
        cautions: caution::remarks(&told.cautions, values.units),
        request: request(question, values),
        case: told.case,
        numbers,
        series: told.series,
        made: told.made,
        unmet: told.unmet,
    }
}

/// What the user entered, by field: a text, a list of texts if several are allowed, or `true` for a switch.
fn request(question: &Question, values: &Values) -> Map<String, Value> {
    let mut map = Map::new();
    for field in question.fields() {
        let words: Vec<&str> = values.all(field).collect();
        let value = match words.as_slice() {
            [] => continue,
            _ if field.takes == question::Takes::Switch => json!(true),
            [one] if !field.many => json!(one),
            many => json!(many),
        };
        map.insert(field.key.into(), value);
    }
    map
}
