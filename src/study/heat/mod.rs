//! How warm do coolant and oil get, how far is that from boiling, and how hot may the day be?
//!
//! | file | what it does |
//! |---|---|
//! | `typed.rs` | the question as typed, by flags or by form |
//! | `looks.rs` | the machine as rating points and a reading have it, as asked and otherwise, side by side |
//! | `told.rs`, `pictures.rs`, `numbers.rs` | the answer in words, in tables and pictures, for programs |

mod looks;
mod numbers;
mod pictures;
mod told;
mod typed;

pub use pictures::MAP;
pub use typed::{Typed, pose};

use self::looks::Found;
use super::answer::{Answer, Block};
use super::words;
use crate::model::{OilSheet, Posed, RatingPoint};
use crate::quantity::Measure;
use crate::trouble::Trouble;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Machine, oil, condition.
    pub posed: Posed,
    /// The command is as the condition says; else the fan's control gives it.
    pub command_given: bool,
    /// The engine speed is as the condition says; else gear and road speed give it on the road.
    pub engine_given: bool,
    /// The gear; else the highest that pulls.
    pub gear: Option<usize>,
    /// A fan speed that is imposed, rad/s.
    pub fan_speed: Option<f64>,
    /// Rating points of the core; none where the machine's own figures hold.
    pub rating: Vec<RatingPoint>,
    /// A reading that sets what is known worst.
    pub anchor: Option<Anchor>,
    /// Oils to hold against this one.
    pub oils: Vec<OilSheet>,
    /// The limiting ambient temperature over road speed and grade as well.
    pub map: bool,
}

/// A reading of the machine at this condition: coolant at a fan speed on a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Anchor {
    /// Coolant temperature, K.
    pub coolant: Measure,
    /// Fan speed, rad/s.
    pub fan_speed: f64,
    /// Ambient temperature, K.
    pub ambient: f64,
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Trouble> {
    let posed = &question.posed;
    let found = Found::of(question)?;
    let here = found.here();
    let mut answer = Answer {
        question: "heat",
        case: told::said(posed, &here.warm.case),
        cautions: told::cautions(posed, &found),
        ..Answer::default()
    };
    let blocks = &mut answer.blocks;
    blocks.push(Block::Headline(told::headline(posed, &found)));
    blocks.extend(told::lines(posed, &found).into_iter().map(Block::Sentence));
    blocks.push(Block::Table(pictures::side_by_side(posed, &found.looks)));
    let (chart, series) = pictures::over_ambient(posed, &found);
    blocks.push(Block::Chart(chart));
    answer.series = series;
    blocks.extend(pictures::budgets(posed, &here.warm).map(Block::Bars));
    blocks.push(Block::Table(pictures::air(posed, &here.warm)));
    if question.map {
        let (chart, series) = pictures::map(question, &found)?;
        blocks.push(Block::Chart(chart));
        blocks.push(Block::Sentence(told::below_map(posed.units)));
        answer.series = series;
    }
    blocks.push(Block::Safety(words::safety()));
    numbers::put(&mut answer.numbers, &found);
    Ok(answer)
}
