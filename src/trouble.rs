//! The type of a problem (an error or a warning): where it is, what was found, what was expected, and what to try. Also
//! the cancellation of computations.

use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Cause of a problem: the input is wrong, or the question has no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// The input is wrong: exit code 2.
    Input,
    /// The input is valid, but there is no answer: exit code 1.
    NoAnswer,
}

/// Location of a problem in the input.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Spot {
    /// The key of the field, such as `oil_temp`; or empty. The command line and the web page each replace the key with
    /// their own name for the field.
    pub field: String,
    /// The name of the file, or empty.
    pub source: String,
    /// The byte range in the text of that file, if known.
    pub span: Option<std::ops::Range<usize>>,
    /// The line number, counted from 1, if known.
    pub line: Option<usize>,
    /// The column in characters, counted from 1, if known.
    pub column: Option<usize>,
}

/// A problem, as reported to the user.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// Whether the input is wrong or the question has no answer.
    pub cause: Cause,
    /// Location of the problem.
    pub spot: Spot,
    /// The text or value found.
    pub found: String,
    /// The text or value expected there.
    pub expected: String,
    /// A hint on what to try; may be empty.
    pub hint: String,
}

impl Trouble {
    /// An error in the input.
    pub fn input(found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self {
            cause: Cause::Input,
            spot: Spot::default(),
            found: found.into(),
            expected: expected.into(),
            hint: String::new(),
        }
    }

    /// A problem with valid input: the question has no answer.
    pub fn no_answer(found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self {
            cause: Cause::NoAnswer,
            ..Self::input(found, expected)
        }
    }

    /// Adds a hint on what to try.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// Sets the key of the field concerned, unless already set.
    pub fn on(mut self, field: impl Into<String>) -> Self {
        if self.spot.field.is_empty() {
            self.spot.field = field.into();
        }
        self
    }

    /// Changes the field of a problem from `from` to `to`, a field of the same kind for another case, such as the oil
    /// of the baseline.
    pub fn moved(mut self, from: &str, to: &str) -> Self {
        if self.spot.field == from {
            self.spot.field = to.into();
        }
        self
    }

    /// Adds a hint with the word of `known` that is most similar to `word`, if any is similar enough.
    pub fn did_you_mean<'a>(self, word: &str, known: impl IntoIterator<Item = &'a str>) -> Self {
        match near(word, known) {
            Some(k) => {
                let hint = format!("did you mean `{k}`?");
                self.hint(hint)
            }
            None => self,
        }
    }

    /// Sets the file concerned, unless already set.
    pub fn at(mut self, source: impl Into<String>) -> Self {
        if self.spot.source.is_empty() {
            self.spot.source = source.into();
        }
        self
    }

    /// Sets the byte range of the problem in `text`, and the line and column at which it starts.
    pub fn within(mut self, text: &str, span: std::ops::Range<usize>) -> Self {
        let before = text.get(..span.start.min(text.len())).unwrap_or("");
        self.spot.line = Some(before.matches('\n').count() + 1);
        self.spot.column = Some(before.rsplit('\n').next().unwrap_or("").chars().count() + 1);
        self.spot.span = Some(span);
        self
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let key = |key: &str| key.to_string();
        if self.spot.source.is_empty() && !self.spot.field.is_empty() {
            write!(f, "{}: ", self.spot.field)?;
        }
        if !self.spot.source.is_empty() {
            write!(f, "{}", self.spot.source)?;
            if let (Some(line), Some(column)) = (self.spot.line, self.spot.column) {
                write!(f, ":{line}:{column}")?;
            }
            write!(f, ": ")?;
        }
        let [found, expected, hint] =
            [&self.found, &self.expected, &self.hint].map(|text| with_names(text, key));
        write!(f, "{found}; expected {expected}")?;
        if !hint.is_empty() {
            write!(f, " ({hint})")?;
        }
        Ok(())
    }
}

impl std::error::Error for Trouble {}

/// Characters that mark the start and end of a field key in a text; see [`mention`].
const MARKS: [char; 2] = ['\u{E000}', '\u{E001}'];

/// A placeholder for the name of the field `key`, for use in a message; [`with_names`] replaces it.
pub fn mention(key: &str) -> String {
    format!("{}{key}{}", MARKS[0], MARKS[1])
}

/// Replaces each field placeholder in `text` with the name that `name` returns for the field's key.
pub fn with_names(text: &str, name: impl Fn(&str) -> String) -> String {
    let mut pieces = text.split(MARKS[0]);
    let mut plain = pieces.next().unwrap_or_default().to_string();
    for piece in pieces {
        match piece.split_once(MARKS[1]) {
            Some((key, rest)) => {
                plain.push_str(&name(key));
                plain.push_str(rest);
            }
            None => plain.push_str(piece),
        }
    }
    plain
}

/// All problems of an input, reported together.
pub type Troubles = Vec<Trouble>;

/// The word of `known` that is most similar to `word`, if any is similar enough.
pub fn near<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    let long = word.chars().count();
    // The edit distance of two words is at least their difference in length.
    let alike = |k: &&str| {
        let own = k.chars().count();
        own.abs_diff(long) <= 1 + own.max(long) / 4
    };
    known
        .into_iter()
        .filter(alike)
        .map(|k| (strsim::osa_distance(&word, &k.to_lowercase()), k))
        .filter(|(d, k)| *d <= 1 + k.chars().count().max(word.chars().count()) / 4)
        .min_by_key(|(d, _)| *d)
        .map(|(_, k)| k)
}

/// Maximum number of problems listed; if there are more, only the number of the others is reported.
pub const TOLD: usize = 20;

/// Cancellation and progress of a computation. Long computations check it between work units. The default value is
/// never cancelled.
#[derive(Clone, Debug, Default)]
pub struct Stop(Option<Arc<Watch>>);

/// The shared data of a [`Stop`].
#[derive(Debug, Default)]
struct Watch {
    stopped: AtomicBool,
    /// Number of work units started (`begun`) and number expected (`pieces`).
    begun: AtomicUsize,
    pieces: AtomicUsize,
}

impl Stop {
    /// A new value that can be cancelled, through itself or any of its clones.
    pub fn able() -> Self {
        Self(Some(Arc::default()))
    }

    /// Cancels the computation, because the answer is no longer needed.
    pub fn stop(&self) {
        if let Some(watch) = &self.0 {
            watch.stopped.store(true, Ordering::Relaxed);
        }
    }

    /// Adds to the number of expected work units. The computation calls [`check`](Self::check) before each of them.
    pub fn expect(&self, pieces: usize) {
        if let Some(watch) = &self.0 {
            watch.pieces.fetch_add(pieces, Ordering::Relaxed);
        }
    }

    /// Fraction of the expected work units that have started, 0 to 1; `None` if the total is unknown.
    pub fn share(&self) -> Option<f64> {
        let watch = self.0.as_ref()?;
        let pieces = watch.pieces.load(Ordering::Relaxed);
        let begun = watch.begun.load(Ordering::Relaxed).min(pieces);
        (pieces > 0).then(|| begun as f64 / pieces as f64)
    }

    /// Counts a work unit as started; fails if the computation is cancelled.
    pub fn check(&self) -> Result<(), Trouble> {
        if let Some(watch) = &self.0 {
            watch.begun.fetch_add(1, Ordering::Relaxed);
        }
        self.ask()
    }

    /// Fails if the computation is cancelled, without counting a work unit.
    pub fn ask(&self) -> Result<(), Trouble> {
        let Some(watch) = &self.0 else { return Ok(()) };
        if watch.stopped.load(Ordering::Relaxed) {
            return Err(Trouble::no_answer(
                "cancelled, because the client disconnected",
                "a client that stays connected until it has the answer",
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_near_miss_is_found_and_a_stranger_is_not() {
        let keys = ["displacement", "slip", "drag"];
        assert_eq!(near("displacment", keys), Some("displacement"));
        assert_eq!(near("drga", keys), Some("drag"));
        assert_eq!(near("colour", keys), None);
    }

    #[test]
    fn what_is_begun_is_counted_until_it_is_stopped() {
        let stop = Stop::able();
        assert!(stop.share().is_none() && Stop::default().share().is_none());
        stop.expect(4);
        assert!(stop.check().is_ok());
        assert!((stop.share().unwrap() - 0.25).abs() < 1e-12);
        stop.clone().stop();
        assert!(stop.check().is_err() && Stop::default().check().is_ok());
    }

    #[test]
    fn a_place_is_counted_in_characters() {
        let text = "a = 1\nµ = 2\n";
        let t = Trouble::input("x", "y").within(text, 11..12);
        assert_eq!((t.spot.line, t.spot.column), (Some(2), Some(5)));
    }

    #[test]
    fn a_field_is_named_by_whoever_shows_it() {
        let text = format!("Say {}, or nothing.", mention("oil_temp"));
        let flag = |key: &str| format!("--{}", key.replace('_', "-"));
        assert_eq!(with_names(&text, flag), "Say --oil-temp, or nothing.");
        assert_eq!(with_names("plain", flag), "plain");
    }
}
