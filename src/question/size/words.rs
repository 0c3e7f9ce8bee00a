//! Parses requirements, free inputs, goals and conditions.

use super::{FREE, GOAL, WANT};
use crate::input::Input;
use crate::model::{Case, Posed, in_range};
use crate::quantity::{Kind, Measure, Units, parse, parse_in};
use crate::question::{Intake, basis};
use crate::trouble::Trouble;
use crate::vary::size::{Figure, Want};

/// A condition: its inputs, and its text.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Condition {
    pub words: String,
    pub sets: Vec<(Input, f64)>,
}

/// A requirement with its text.
#[derive(Clone, Debug)]
pub(super) struct Wanted {
    pub words: String,
    pub figure: Figure,
    pub least: bool,
    pub bound: f64,
    /// The index of its condition; `None` for all conditions.
    pub at: Option<usize>,
    pub source: Option<&'static str>,
}

/// A free input: between two limits, or one of several sizes; with the uncertainty of the chosen value.
#[derive(Clone, Debug)]
pub(super) struct Range {
    pub input: Input,
    pub low: f64,
    pub high: f64,
    pub sizes: Vec<f64>,
    /// The uncertainty of the chosen value: relative if the flag is set, otherwise SI.
    pub spread: Option<(f64, bool)>,
}

/// The goal, with its text.
#[derive(Clone, Debug)]
pub(super) struct Goal {
    pub words: String,
    pub figure: Figure,
    pub most: bool,
    pub at: Option<usize>,
}

/// The signs of a bound: the sign, and whether the bound is a minimum.
const SIGNS: [(&str, bool); 6] = [
    (">=", true),
    ("<=", false),
    ("≥", true),
    ("≤", false),
    (">", true),
    ("<", false),
];

/// The inputs that a condition may set.
const SETS: [(&str, Input); 5] = [
    ("engine", Input::ENGINE_SPEED),
    ("oil", Input::OIL_TEMP),
    ("command", Input::COMMAND),
    ("air", Input::AIR_TEMP),
    ("altitude", Input::ALTITUDE),
];

impl Condition {
    /// The condition set by the flags.
    pub fn usual() -> Self {
        Self {
            words: "as given".into(),
            sets: Vec::new(),
        }
    }

    /// A case in this condition.
    pub fn on(&self, case: &Case) -> Case {
        self.sets
            .iter()
            .fold(*case, |case, (input, value)| case.with(*input, *value))
    }

    /// Parses `engine 1600 rpm, oil 80 C`.
    fn read(words: &str, posed: &Posed) -> Result<Self, Trouble> {
        let mut sets: Vec<(Input, f64)> = Vec::new();
        for piece in words.split(',').map(str::trim) {
            let (name, value) = piece.split_once(' ').unwrap_or((piece, ""));
            let name = name.to_lowercase().replace('_', "-");
            let known = SETS
                .iter()
                .find(|(key, _)| name == *key || name.starts_with(&format!("{key}-")));
            let Some((_, input)) = known else {
                let expected = "engine, oil, command, air or altitude, each with its value, such as engine 1600 rpm, oil 80 C";
                let problem = Trouble::input(format!("`{piece}` as a condition"), expected);
                return Err(problem.did_you_mean(&name, SETS.iter().map(|s| s.0)));
            };
            let value = value
                .trim()
                .trim_start_matches("speed ")
                .trim_start_matches("temp ");
            if sets.iter().any(|s| s.0 == *input) {
                return Err(Trouble::input(
                    format!("`{piece}` beside another"),
                    "each once",
                ));
            }
            sets.push((*input, value_of(*input, value, posed)?.value));
        }
        sets.sort_by_key(|set| set.0);
        Ok(Self {
            words: words.trim().into(),
            sets,
        })
    }
}

/// The value of a condition's input, or a word instead of the value.
fn value_of(input: Input, words: &str, posed: &Posed) -> Result<Measure, Trouble> {
    let named = match words {
        _ if input == Input::ENGINE_SPEED => posed.machine.usual.engine_speed(words),
        "full" if input == Input::COMMAND => Some(Measure::exact(1.0)),
        "least" if input == Input::COMMAND => Some(Measure::exact(0.0)),
        _ => None,
    };
    let found = named.map_or_else(|| parse(input.field().kind, words), Ok)?;
    in_range(input.field(), found, posed.units)
}

/// The index of a condition among those named so far.
fn numbered(words: &str, posed: &Posed, all: &mut Vec<Condition>) -> Result<usize, Trouble> {
    let condition = Condition::read(words, posed)?;
    let same = |other: &Condition| other.sets == condition.sets;
    Ok(all.iter().position(same).unwrap_or_else(|| {
        all.push(condition);
        all.len() - 1
    }))
}

/// Splits the text before ` at ` from the condition after it.
fn at(words: &str) -> (&str, Option<&str>) {
    words
        .split_once(" at ")
        .map_or((words, None), |(before, at)| (before, Some(at)))
}

/// Parses a requirement.
pub(super) fn want(
    words: &str,
    posed: &Posed,
    all: &mut Vec<Condition>,
) -> Result<Wanted, Trouble> {
    let sign = SIGNS
        .iter()
        .filter_map(|(sign, least)| Some((words.find(sign)?, *sign, *least)));
    let Some((place, sign, least)) = sign.min_by_key(|s| (s.0, std::cmp::Reverse(s.1.len())))
    else {
        let found = format!("`{words}` without >= or <=");
        return Err(Trouble::input(found, WANT.example));
    };
    let figure = there(Figure::find(&words[..place])?, posed)?;
    let (bound, condition) = at(&words[place + sign.len()..]);
    let bound = parse(figure.kind(), bound.trim())?;
    if bound.spread > 0.0 {
        return Err(Trouble::input(
            format!("`{words}` with ±"),
            "a bound without ±",
        ));
    }
    let at = condition.map(|c| numbered(c, posed, all)).transpose()?;
    Ok(Wanted {
        words: words.split_whitespace().collect::<Vec<_>>().join(" "),
        figure,
        least,
        bound: bound.value,
        at,
        source: None,
    })
}

/// Checks that a figure exists for the machine.
fn there(figure: Figure, posed: &Posed) -> Result<Figure, Trouble> {
    if figure.is_there(&posed.case) {
        return Ok(figure);
    }
    let found = format!("`{}` for a machine without it", figure.name());
    Err(Trouble::input(
        found,
        "an input of a part that the machine has",
    ))
}

/// Repeats a requirement without a condition for each condition.
pub(super) fn everywhere(wants: Vec<Wanted>, conditions: &[Condition]) -> Vec<Wanted> {
    let each = |want: Wanted| match want.at {
        Some(_) => vec![want],
        None => {
            let one = |(k, condition): (usize, &Condition)| Wanted {
                words: match conditions.len() {
                    1 => want.words.clone(),
                    _ => format!("{} at {}", want.words, condition.words),
                },
                at: Some(k),
                ..want.clone()
            };
            conditions.iter().enumerate().map(one).collect()
        }
    };
    wants.into_iter().flat_map(each).collect()
}

impl Wanted {
    /// The requirement in numbers.
    pub fn want(&self) -> Want {
        Want {
            figure: self.figure,
            least: self.least,
            bound: self.bound,
            at: self.at.unwrap_or_default(),
        }
    }
}

impl Intake<'_> {
    /// The requirements, and the conditions that they name.
    pub(super) fn wants(&mut self, posed: &Posed, all: &mut Vec<Condition>) -> Vec<Wanted> {
        let typed = self.values.list(&WANT);
        let read = typed
            .iter()
            .filter_map(|words| self.keep(&WANT, want(words, posed, all)));
        read.collect()
    }

    /// The goal.
    pub(super) fn goal(&mut self, posed: &Posed, all: &mut Vec<Condition>) -> Option<Goal> {
        let words = self.values.text(&GOAL)?;
        let found = goal(&words, posed, all);
        self.keep(&GOAL, found)
    }

    /// Reports contradictory requirements.
    pub(super) fn contradictions(&mut self, wants: &[Wanted]) {
        for most in wants.iter().filter(|w| !w.least) {
            let against = |least: &&Wanted| {
                least.least
                    && least.figure == most.figure
                    && least.at == most.at
                    && least.bound > most.bound
            };
            if let Some(least) = wants.iter().find(against) {
                let found = format!("`{}` and `{}`", least.words, most.words);
                let problem = Trouble::input(found, "requirements that do not exclude each other");
                self.problems.push(problem.on(WANT.key));
            }
        }
    }

    /// The free inputs.
    pub(super) fn ranges(&mut self, posed: &Posed) -> Vec<Range> {
        let mut all: Vec<Range> = Vec::new();
        for words in self.values.list(&FREE) {
            let found = range(&words, posed).and_then(|range| {
                let twice = all.iter().any(|r| r.input == range.input);
                let set = posed.sets.iter().any(|(input, _)| *input == range.input);
                if !twice && !set {
                    return Ok(range);
                }
                let other = if twice {
                    FREE.mention()
                } else {
                    basis::SET.mention()
                };
                let found = format!("`{}` set both here and by {other}", range.input.key());
                Err(Trouble::input(found, "each input once"))
            });
            all.extend(self.keep(&FREE, found));
        }
        if all.is_empty() && self.problems.is_empty() {
            let problem = Trouble::input("nothing", FREE.example);
            self.problems.push(problem.on(FREE.key));
        }
        all
    }
}

/// Parses a goal.
fn goal(words: &str, posed: &Posed, all: &mut Vec<Condition>) -> Result<Goal, Trouble> {
    let (what, condition) = at(words);
    let (first, rest) = what.trim().split_once(' ').unwrap_or((what, ""));
    let most = match first {
        "least" | "smallest" => false,
        "most" | "greatest" => true,
        _ => {
            let found = format!("`{words}`");
            return Err(Trouble::input(
                found,
                "least or most of a figure, such as least pump_shaft_power; or smallest pump",
            ));
        }
    };
    let figure = there(Figure::find(rest)?, posed)?;
    let at = condition.map(|c| numbered(c, posed, all)).transpose()?;
    Ok(Goal {
        words: words.trim().into(),
        figure,
        most,
        at,
    })
}

/// Parses a free input: `pump.displacement = 8..40 cm3/rev`, or `= 8, 10, 12 cm3/rev`, each with an optional ± after
/// it.
fn range(words: &str, posed: &Posed) -> Result<Range, Trouble> {
    let shape = || Trouble::input(format!("`{words}`"), FREE.example);
    let (key, values) = words.split_once('=').ok_or_else(shape)?;
    let key = key.trim();
    let Some(input) = Input::find(key).filter(|i| i.part() != "now" && i.part() != "oil") else {
        let keys: Vec<String> = Input::all().map(Input::key).collect();
        let problem = Trouble::input(
            format!("no machine input called `{key}`"),
            "part.key, such as pump.displacement",
        );
        return Err(problem.did_you_mean(key, keys.iter().map(String::as_str)));
    };
    there(Figure::Input(input), posed)?;
    let kind = input.field().kind;
    let (values, spread) = with_spread(kind, values).ok_or_else(shape)?;
    let pieces: Vec<&str> = match values.split_once("..") {
        Some((from, to)) => vec![from, to],
        None => values.split(',').collect(),
    };
    let last = pieces.last().copied().unwrap_or_default().trim();
    let unit = last
        .trim_start_matches(|c: char| c.is_ascii_digit() || ".-+".contains(c))
        .trim();
    let mut sizes = Vec::new();
    for piece in &pieces {
        let found = parse_in(kind, piece.trim(), unit)?;
        sizes.push(in_range(input.field(), found, Units::Si)?.value);
    }
    let between = values.contains("..");
    if between && (sizes.len() != 2 || sizes[0] >= sizes[1]) {
        let found = format!("`{}` from {} to {}", key, pieces[0].trim(), last);
        return Err(Trouble::input(found, "a range from low to high"));
    }
    let ends = sizes
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
            (a.min(*v), b.max(*v))
        });
    Ok(Range {
        input,
        low: ends.0,
        high: ends.1,
        sizes: if between { Vec::new() } else { sizes },
        spread,
    })
}

/// Parses values, and the ± after them: a fraction of the chosen value, or a half-width in SI. `None` if unreadable.
fn with_spread(kind: Kind, words: &str) -> Option<(&str, Option<(f64, bool)>)> {
    let parted = words.split_once('±').or_else(|| words.split_once("+/-"));
    let Some((values, spread)) = parted else {
        return Some((words, None));
    };
    let spread = spread.trim();
    let found = match spread.strip_suffix('%') {
        Some(percent) => (percent.trim().parse::<f64>().ok()? / 100.0, true),
        None => (parse(kind, &format!("1 ± {spread}")).ok()?.spread, false),
    };
    Some((values, Some(found)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ask, Shelf};

    fn truck() -> Posed {
        Ask::about("light-truck").pose(Shelf::LibraryOnly).unwrap()
    }

    #[test]
    fn a_want_is_read_as_the_trade_writes_it() {
        let (posed, mut all) = (truck(), Vec::new());
        let found = want(
            "back pressure at the motor <= 14 bar at engine 1600 rpm, oil 90 C",
            &posed,
            &mut all,
        )
        .unwrap();
        assert_eq!(found.figure, Figure::find("return_pressure").unwrap());
        assert!(!found.least && (found.bound - 14e5).abs() < 1e-6 && found.at == Some(0));
        assert_eq!(all[0].sets.len(), 2);
        let again = want(
            "fan speed ≥ 2300 rpm at oil 90 C, engine 1600 rpm",
            &posed,
            &mut all,
        );
        assert!(again.is_ok() && all.len() == 1, "the same in another order");
        for (words, says) in [
            ("fan_speed = 3", "without >= or <="),
            ("fan_sped >= 2300 rpm", "did you mean `fan_speed`"),
            ("fan_speed >= 2300", "unit"),
            ("fan_speed >= 2300 rpm at moon 3 m", "as a condition"),
            ("fan_speed >= 2300 rpm ± 3 rpm", "without ±"),
        ] {
            let said = want(words, &posed, &mut all).unwrap_err().to_string();
            assert!(said.contains(says), "{words}: {said}");
        }
    }

    #[test]
    fn what_is_free_is_a_range_or_sizes() {
        let posed = truck();
        let found = range("pump.displacement = 8..40 cm3/rev ± 2 %", &posed).unwrap();
        let cm3 = Kind::Displacement.from_json(1.0);
        assert!((found.low / cm3 - 8.0).abs() < 1e-9 && (found.high / cm3 - 40.0).abs() < 1e-9);
        assert_eq!(found.spread, Some((0.02, true)));
        let found = range("pump.displacement = 8, 10.5, 12 cm3/rev", &posed).unwrap();
        assert_eq!(found.sizes.len(), 3);
        for (words, says) in [
            ("pump.displacement", "8..40"),
            ("pump.displacement = 40..8 cm3/rev", "from low to high"),
            (
                "pump.displacment = 8..40 cm3/rev",
                "did you mean `pump.displacement`",
            ),
            ("now.engine_speed = 8..40 rpm", "no machine input called"),
            ("pump.displacement = 0..40 cm3/rev", "too low"),
        ] {
            let said = range(words, &posed).unwrap_err().to_string();
            assert!(said.contains(says), "{words}: {said}");
        }
    }
}
