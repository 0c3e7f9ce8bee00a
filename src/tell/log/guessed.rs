//! What was guessed about a log, one guess per line, with the alternative and the field that selects it.

use super::super::Presentation;
use super::super::answer::Block;
use crate::model::log::{Guess, Guessed, Signal};
use crate::question::mention;
use crate::vary::log::Digest;

/// Adds all guesses about a log; `which` names the log if there are two.
pub(super) fn tell(told: &mut Presentation, log: &Digest, which: &str) {
    let guesses = &log.layout.guesses;
    if guesses.is_empty() {
        return;
    }
    told.show(Block::Heading(format!("Guesses about the file{which}")));
    for guess in guesses {
        told.say(line(guess, log.fahrenheit_guessed));
    }
}

fn line(guess: &Guess, fahrenheit: bool) -> String {
    let what = match guess.what {
        Guessed::TimeScale => "the time is".to_string(),
        Guessed::TimeColumn => "the time is in".into(),
        Guessed::Delimiter => "the cell separator is".into(),
        Guessed::Column(signal) | Guessed::Unit(signal) => format!("{} is in", signal.label()),
        Guessed::Marks(signal) => format!("in {},", signal.label()),
        Guessed::Shift => "under the headings,".into(),
    };
    let beyond = fahrenheit && guess.what == Guessed::Unit(Signal::Coolant);
    let why = match beyond {
        true => " (in °C it would be too hot for any coolant)",
        false => "",
    };
    let (taken, other) = (&guess.taken, &guess.other);
    format!(
        "Guessed: {what} {taken}{why}. If that is wrong ({other} instead), {}.",
        setting(guess)
    )
}

/// What to enter so that nothing has to be guessed.
fn setting(guess: &Guess) -> String {
    let plain = |c: char| c.is_alphanumeric() || c == ':';
    let value = &guess.setting;
    match guess.field {
        None => format!("the file needs {value}"),
        Some(field) if value.chars().all(plain) => format!("enter {} {value}", mention(field)),
        Some(field) => format!("enter {} \"{value}\"", mention(field)),
    }
}
