//! What do electric fans buy, and what do mending the main fan or the right oil buy instead?
//!
//! | file | what it does |
//! |---|---|
//! | `typed.rs` | the question as typed, by flags or by form |
//! | `places.rs` | where electric fans may sit, and a case with them in place |
//! | `sides.rs` | every set of fans, and side by side what fans, oil and mending buy |
//! | `wiring.rs` | wire and fuse of one fan |
//! | `told.rs`, `pictures.rs`, `numbers.rs` | the answer in words, in tables and pictures, for programs |

mod numbers;
mod pictures;
mod places;
mod sides;
mod told;
mod typed;
mod wiring;

pub use places::{Fitted, MOST, Set, Spot, every, fits, mounted, mounted_as, set, spots};
pub use typed::{AMBIENT, ROAD_SPEED, Typed, WIRE, pose};
pub use wiring::{STARTING, STRANDED, Wiring, drop, wiring};

use self::sides::{Found, Outcome, points, sound};
use super::answer::{Answer, Block};
use super::words;
use crate::model::{AuxiliaryFan, Case, OilSheet, Posed};
use crate::quantity::Kind;
use crate::trouble::Trouble;
use serde_json::Value;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Machine, oil, condition, with the faults that are put on it.
    pub posed: Posed,
    /// The machine without those faults.
    pub sound: Case,
    /// What holds the main fan's speed, where it was measured.
    pub main: Option<Held>,
    /// The oil to hold against the one that is in it.
    pub right_oil: OilSheet,
    /// The fans that one can have.
    pub fans: Vec<AuxiliaryFan>,
    /// Where they may sit.
    pub spots: Vec<Spot>,
    /// A set to look at; else the smallest that meets the target is sought.
    pub tried: Option<Set>,
    /// The day on which the coolant must not pass its limit, K.
    pub target: f64,
    /// Grade of a climb at walking pace; else it stands.
    pub climb: Option<f64>,
    /// The engine speed is as the condition says; else the first gear gives it on the climb.
    pub engine_given: bool,
    /// Length of the wire to each fan, one way, m.
    pub wire: f64,
    /// Road speed at which the fans are off and in the way, m/s.
    pub road_speed: f64,
}

/// The speed at which the main fan is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Held {
    /// This, rad/s.
    At(f64),
    /// This share of what it should make.
    Share(f64),
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Trouble> {
    sound(question)?;
    let found = Found::of(question)?;
    let mut answer = Answer {
        question: "auxfan",
        case: told::said(question, &found),
        cautions: question.posed.cautions.clone(),
        ..Answer::default()
    };
    let blocks = &mut answer.blocks;
    blocks.push(Block::Headline(told::headline(question, &found)?));
    blocks.extend(
        told::verdict(question, &found)
            .into_iter()
            .map(Block::Sentence),
    );
    blocks.push(Block::Table(pictures::comparison(question, &found)));
    blocks.push(Block::Bars(pictures::bars(question, &found)));
    if let Some(one) = &found.chosen {
        these_fans(&mut answer, question, &found, one)?;
    }
    let front = found.front();
    let blocks = &mut answer.blocks;
    blocks.extend(pictures::gains(question, &found, &front).map(Block::Chart));
    if !front.is_empty() {
        let table = pictures::front_table(question, &found, &front);
        blocks.push(Block::Table(table));
    }
    answer.series = pictures::series(question, &found);
    blocks.push(Block::Next(told::next(found.slow).into()));
    blocks.push(Block::Safety(told::safety()));
    answer
        .cautions
        .extend(told::cautions(question.posed.units, &found));
    numbers::put(&mut answer.numbers, question, &found, &front);
    Ok(answer)
}

/// All that is said of the set to look at.
fn these_fans(
    answer: &mut Answer,
    question: &Question,
    found: &Found,
    one: &Outcome,
) -> Result<(), Trouble> {
    let points = points(question, &found.main, &one.set);
    let blocks = &mut answer.blocks;
    blocks.push(Block::Table(pictures::points_table(question, &points)));
    blocks.extend(pictures::curves(question, &found.main, &one.set).map(Block::Chart));
    let electrical = told::electrical(question, one, &points, &mut answer.cautions);
    blocks.extend(electrical.into_iter().map(Block::Sentence));
    blocks.push(Block::Table(pictures::wires(question, &one.set)));
    let each = points.iter().map(|p| numbers::point(question, p)).collect();
    answer.numbers.insert("points".into(), Value::Array(each));
    if let Some((line, plain, off)) = told::road(question, found.share, &one.set)? {
        blocks.push(Block::Sentence(line));
        let numbers = &mut answer.numbers;
        let kind = Kind::Temperature;
        words::put(numbers, "road_limiting_ambient", kind, plain);
        words::put(numbers, "road_limiting_ambient_fans_off", kind, off);
    }
    let cautions = told::set_cautions(question, one, &points, &found.main);
    answer.cautions.extend(cautions);
    Ok(())
}
