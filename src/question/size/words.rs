//! Parses requirements, free inputs, goals and conditions.

use super::said::Text;
use super::{FREE, WANT, rules};
use crate::input::Input;
use crate::model::{INPUTS, Setup, in_range};
use crate::quantity::{Kind, Units, parse, parse_in};
use crate::question::condition::Condition;
use crate::question::want::{Situation, Spelled, at};
use crate::question::{Intake, basis};
use crate::trouble::Trouble;
use crate::vary::size::{Figure, Follow, Heat, Want};

/// A requirement, parsed, with its text.
#[derive(Clone, Debug)]
pub(super) struct Wanted {
    pub words: String,
    pub figure: Figure,
    pub least: bool,
    pub bound: f64,
    /// Index of the condition in which the requirement applies; `None` for all conditions.
    pub at: Option<usize>,
    pub source: Option<&'static str>,
}

/// A free input, which may take any value between two limits, or one of several sizes.
#[derive(Clone, Debug)]
pub(super) struct Range {
    pub input: Input,
    pub low: f64,
    pub high: f64,
    pub sizes: Vec<f64>,
    /// Half-width of the uncertainty of the chosen value: a fraction of the value if the flag is true, otherwise in SI
    /// units.
    pub spread: Option<(f64, bool)>,
    /// The inputs that follow it.
    pub follows: Vec<Follow>,
}

/// Inputs that follow a displacement if they are neither free nor set, as in geometrically similar units: friction
/// torques are proportional to it, and the speed to which a pump fills goes with its linear dimension, V^(-1/3). An
/// engineering assumption.
const FOLLOWS: [(Input, Input, f64); 4] = [
    (INPUTS.pump.displacement, INPUTS.pump.dry_torque, 1.0),
    (INPUTS.pump.displacement, INPUTS.pump.fill_speed, -1.0 / 3.0),
    (INPUTS.motor.displacement, INPUTS.motor.dry_torque, 1.0),
    (INPUTS.motor.displacement, INPUTS.motor.breakaway, 1.0),
];

/// Makes the inputs of `FOLLOWS` follow the free inputs.
fn follow(ranges: &mut [Range], setup: &Setup) {
    let known: Vec<Input> = ranges.iter().map(|r| r.input).collect();
    let set = |input| setup.sets.iter().any(|(one, _)| *one == input);
    for range in ranges {
        let own = FOLLOWS.iter().filter(|(of, _, _)| *of == range.input);
        // The two friction torques of the motor, of which the breakaway torque is the larger, follow together.
        let torques = [INPUTS.motor.dry_torque, INPUTS.motor.breakaway];
        let given = |input: &Input| known.contains(input) || set(*input);
        let held =
            |input: &Input| given(input) || (torques.contains(input) && torques.iter().any(given));
        let own = own.filter(|(_, input, _)| !held(input));
        let one = |(of, input, power): &(Input, Input, f64)| {
            Some(Follow {
                input: *input,
                value: setup.case.get(*input)?,
                from: setup.case.get(*of)?,
                power: *power,
            })
        };
        range.follows = own.filter_map(one).collect();
    }
}

/// The goal, parsed, with its text.
#[derive(Clone, Debug)]
pub(super) struct Goal {
    pub words: String,
    pub figure: Figure,
    pub most: bool,
    /// The conditions in which the goal counts, each with its weight; empty for all conditions with equal weights.
    pub at: Vec<(usize, f64)>,
}

/// Parses a condition and returns its index in `all`, to which it is added if it is new. It has a heat balance if the
/// figure or the condition needs one.
fn numbered(
    words: &str,
    figure: Figure,
    setup: &Setup,
    all: &mut Vec<Situation>,
) -> Result<usize, Trouble> {
    Situation::numbered(words, figure.is_of_heat(), setup, all)
}

/// If no condition is named, adds the one set by the flags, with a heat balance if `heat` is true. Returns an error if
/// `heat` is true and no condition has a heat balance.
pub(super) fn usual(all: &mut Vec<Situation>, heat: bool, setup: &Setup) -> Result<(), Trouble> {
    if all.is_empty() {
        all.push(Situation::of(Condition::usual(), heat, setup)?);
    }
    if heat && all.iter().all(|s| s.heat.is_none()) {
        return Err(Trouble::input(
            "a temperature is required, but no condition is given in which it can be computed",
            "`at` and an ambient temperature, a road or a load, as in `coolant <= 105 C at 38 C, engine 700 rpm`",
        ));
    }
    Ok(())
}

/// Parses a requirement.
pub(super) fn want(
    words: &str,
    setup: &Setup,
    all: &mut Vec<Situation>,
) -> Result<Wanted, Trouble> {
    let Some(Spelled {
        figure,
        least,
        bound,
        condition,
    }) = Spelled::of(words)
    else {
        let found = format!("`{words}` without >= or <=");
        let (example, names) = (WANT.example, rules::names());
        let expected = format!("a requirement such as {example}, or {names}");
        return Err(Trouble::input(found, expected));
    };
    let figure = there(Figure::find(figure)?, setup)?;
    let bound = parse(figure.kind(), bound)?;
    if bound.spread > 0.0 {
        return Err(Trouble::input(
            format!("`{words}` with ±"),
            "a bound without ±",
        ));
    }
    let at = condition
        .map(|c| numbered(c, figure, setup, all))
        .transpose()?;
    Ok(Wanted {
        words: words.split_whitespace().collect::<Vec<_>>().join(" "),
        figure,
        least,
        bound: bound.value,
        at,
        source: None,
    })
}

/// Checks that a machine has the quantity `figure`; returns an error if not.
fn there(figure: Figure, setup: &Setup) -> Result<Figure, Trouble> {
    if figure.is_there(&setup.case) {
        return Ok(figure);
    }
    let found = format!("this machine has no `{}`", figure.name());
    Err(Trouble::input(
        found,
        "an input of a part that this machine has",
    ))
}

/// Repeats a requirement without a condition for each condition, or, if its figure depends on a heat balance, for each
/// that has one; one on the machine itself is kept as it is.
pub(super) fn everywhere(wants: Vec<Wanted>, all: &[Situation]) -> Vec<Wanted> {
    let each = |want: Wanted| match want.at {
        Some(_) => vec![want],
        None if want.figure.is_of_machine() && !all.is_empty() => vec![Wanted {
            at: Some(0),
            ..want
        }],
        None => {
            let heat = want.figure.is_of_heat();
            let there = |(_, s): &(usize, &Situation)| !heat || s.heat.is_some();
            let one = |(k, situation): (usize, &Situation)| Wanted {
                words: match all.len() {
                    1 => want.words.clone(),
                    _ => format!("{} at {}", want.words, situation.condition.words),
                },
                at: Some(k),
                ..want.clone()
            };
            all.iter().enumerate().filter(there).map(one).collect()
        }
    };
    wants.into_iter().flat_map(each).collect()
}

/// Sets the day of each condition that names no ambient temperature but has a minimum limiting ambient temperature: that
/// temperature, with the fan at full command, which is what the requirement is about.
pub(super) fn days(wants: &[Wanted], all: &mut [Situation]) {
    for (k, situation) in all.iter_mut().enumerate() {
        let own = |w: &&Wanted| w.figure == Figure::Limiting && w.least && w.at == Some(k);
        let bounds = wants.iter().filter(own).map(|w| w.bound);
        let day = bounds.max_by(f64::total_cmp);
        let condition = &mut situation.condition;
        if let (Some(day), false) = (day, condition.sets(Input::AMBIENT)) {
            condition.sets.push((Input::AMBIENT, day));
            condition.sets.sort_by_key(|set| set.0);
            situation.heat = situation.heat.map(|heat| Heat {
                automatic: false,
                ..heat
            });
            situation.day = true;
        }
    }
}

impl Wanted {
    /// The requirement in the form in which the search uses it.
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
    /// Parses the requirements, and adds the conditions that they name to `all`. The name of a design rule is replaced
    /// by the rule.
    pub(super) fn wants(
        &mut self,
        said: &[Text],
        setup: &Setup,
        all: &mut Vec<Situation>,
    ) -> Vec<Wanted> {
        let mut wants = Vec::new();
        for text in said {
            let rule = rules::called(&text.words, setup);
            if rule.is_empty() {
                let found = want(&text.words, setup, all);
                wants.extend(self.keep_said(text, found));
            } else {
                wants.extend(rule);
            }
        }
        wants
    }

    /// Parses the goal, if there is one.
    pub(super) fn goal(
        &mut self,
        said: Option<&Text>,
        setup: &Setup,
        all: &mut Vec<Situation>,
    ) -> Option<Goal> {
        let text = said?;
        let found = goal(&text.words, setup, all);
        self.keep_said(text, found)
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
                let found = format!("`{}` and `{}` exclude each other", least.words, most.words);
                let problem = Trouble::input(found, "requirements that can be met together");
                self.problems.push(problem.on(WANT.key));
            }
        }
    }

    /// Parses the free inputs.
    pub(super) fn ranges(&mut self, said: &[Text], setup: &Setup) -> Vec<Range> {
        let mut all: Vec<Range> = Vec::new();
        for text in said {
            let found = range(&text.words, setup).and_then(|range| {
                let twice = all.iter().any(|r| r.input == range.input);
                let set = setup.sets.iter().any(|(input, _)| *input == range.input);
                if !twice && !set {
                    return Ok(range);
                }
                let other = if twice {
                    FREE.mention()
                } else {
                    basis::SET.mention()
                };
                let found = format!("`{}` is set both here and by {other}", range.input.key());
                Err(Trouble::input(found, "each input only once"))
            });
            all.extend(self.keep_said(text, found));
        }
        follow(&mut all, setup);
        if all.is_empty() && self.problems.is_empty() {
            let expected = format!("a free input such as {}", FREE.example);
            let problem = Trouble::input("no free input", expected);
            self.problems.push(problem.on(FREE.key));
        }
        all
    }
}

/// Parses a goal.
fn goal(words: &str, setup: &Setup, all: &mut Vec<Situation>) -> Result<Goal, Trouble> {
    let (what, cycle) = words
        .split_once(" over ")
        .map_or((words, None), |(what, cycle)| (what, Some(cycle)));
    let (what, condition) = at(what);
    let (first, rest) = what.trim().split_once(' ').unwrap_or((what, ""));
    let most = match first {
        "least" | "smallest" => false,
        "most" | "greatest" => true,
        _ => {
            let found = format!("`{words}`");
            return Err(Trouble::input(
                found,
                "`least` or `most` and a quantity, such as least pump_shaft_power; or smallest pump, motor or fan",
            ));
        }
    };
    let figure = there(Figure::find(rest)?, setup)?;
    let mut at = Vec::new();
    if let Some(condition) = condition {
        at.push((numbered(condition, figure, setup, all)?, 1.0));
    }
    for piece in cycle.iter().flat_map(|cycle| cycle.split(';')) {
        let (weight, condition) = piece.split_once(" at ").ok_or_else(|| {
            let expected = "each part of a duty cycle as a fraction or a time, then `at` and a condition: 60 % at engine idle; 40 % at engine 1500 rpm";
            Trouble::input(format!("`{}`", piece.trim()), expected)
        })?;
        let weight = weighs(weight)?;
        at.push((numbered(condition, figure, setup, all)?, weight));
    }
    Ok(Goal {
        words: words.trim().into(),
        figure,
        most,
        at,
    })
}

/// Parses the weight of a part of a duty cycle: a fraction, a time, or a number.
fn weighs(words: &str) -> Result<f64, Trouble> {
    let read = |kind| parse(kind, words.trim()).ok().map(|m| m.value);
    let found = [Kind::Share, Kind::Time, Kind::Number]
        .into_iter()
        .find_map(read);
    found.filter(|w| *w > 0.0).ok_or_else(|| {
        let expected = "a fraction or a time above zero, such as 60 % or 3 h";
        Trouble::input(format!("`{}`", words.trim()), expected)
    })
}

/// Parses a free input: `pump.displacement = 8..40 cm3/rev`, or `= 8, 10, 12 cm3/rev`, each with an optional ± after
/// it.
fn range(words: &str, setup: &Setup) -> Result<Range, Trouble> {
    let expected = || format!("a range or sizes, such as {}", FREE.example);
    let shape = || Trouble::input(format!("`{words}`"), expected());
    let (key, values) = words.split_once('=').ok_or_else(shape)?;
    let key = key.trim();
    let Some(input) = Input::find(key).filter(|i| i.part() != "now" && i.part() != "oil") else {
        let own = |i: &Input| i.part() != "now" && i.part() != "oil";
        let keys: Vec<String> = Input::all().filter(own).map(Input::key).collect();
        let expected = "part.key, such as pump.displacement";
        let problem = match Input::find(key) {
            Some(_) => {
                let found = format!("`{key}` is not an input of a part of the machine");
                let hint =
                    "give a condition after `at` of a requirement, and the oil in its own field";
                Trouble::input(found, expected).hint(hint)
            }
            None => Trouble::input(format!("no machine input called `{key}`"), expected)
                .did_you_mean(key, keys.iter().map(String::as_str)),
        };
        return Err(problem);
    };
    there(Figure::Input(input), setup)?;
    let kind = input.field().kind;
    let (values, spread) = with_spread(kind, values).ok_or_else(shape)?;
    let pieces: Vec<&str> = match values.split_once("..") {
        Some((from, to)) => vec![from, to],
        None => values.split(',').collect(),
    };
    let last = pieces.last().copied().unwrap_or_default().trim();
    let unit = after_number(last);
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
        follows: Vec::new(),
    })
}

/// The text after the number at the start of a text: its unit.
fn after_number(text: &str) -> &str {
    let number = |at: &usize| text[..*at].trim().parse::<f64>().is_ok();
    let ends = text.char_indices().map(|(at, c)| at + c.len_utf8());
    let end = ends.filter(number).max().unwrap_or(0);
    text[end..].trim()
}

/// Separates the values from the ± after them, which is a fraction of the chosen value or a half-width in SI. `None` if
/// the ± is unreadable.
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
    use crate::model::{Ask, Lookup};

    fn truck() -> Setup {
        Ask::about("light-truck")
            .resolve(Lookup::LibraryOnly)
            .unwrap()
    }

    #[test]
    fn a_want_is_read_as_the_trade_writes_it() {
        let (setup, mut all) = (truck(), Vec::new());
        let found = want(
            "back pressure at the motor <= 14 bar at engine 1600 rpm, oil 90 C",
            &setup,
            &mut all,
        )
        .unwrap();
        assert_eq!(found.figure, Figure::find("return_pressure").unwrap());
        assert!(!found.least && (found.bound - 14e5).abs() < 1e-6 && found.at == Some(0));
        assert_eq!(all[0].condition.sets.len(), 2);
        let again = want(
            "fan speed ≥ 2300 rpm at oil 90 C, engine 1600 rpm",
            &setup,
            &mut all,
        );
        assert!(again.is_ok() && all.len() == 1, "the same in another order");
        for (words, says) in [
            ("fan_speed = 3", "without >= or <="),
            ("fan_sped >= 2300 rpm", "did you mean `fan_speed`"),
            ("fan_speed >= 2300", "unit"),
            ("fan_speed >= 2300 rpm at moon 3 m", "is not a condition"),
            ("fan_speed >= 2300 rpm ± 3 rpm", "without ±"),
        ] {
            let said = want(words, &setup, &mut all).unwrap_err().to_string();
            assert!(said.contains(says), "{words}: {said}");
        }
    }

    #[test]
    fn what_is_free_is_a_range_or_sizes() {
        let setup = truck();
        let found = range("pump.displacement = 8..40 cm3/rev ± 2 %", &setup).unwrap();
        let cm3 = Kind::Displacement.from_json(1.0);
        assert!((found.low / cm3 - 8.0).abs() < 1e-9 && (found.high / cm3 - 40.0).abs() < 1e-9);
        assert_eq!(found.spread, Some((0.02, true)));
        let found = range("pump.displacement = 8, 10.5, 12 cm3/rev", &setup).unwrap();
        assert_eq!(found.sizes.len(), 3);
        let found = range("pump.slip = 1e-9..1.5e-8", &setup).unwrap();
        assert!((found.low - 1e-9).abs() < 1e-20 && (found.high - 1.5e-8).abs() < 1e-20);
        for (words, says) in [
            ("pump.displacement", "8..40"),
            ("pump.displacement = 40..8 cm3/rev", "from low to high"),
            (
                "pump.displacment = 8..40 cm3/rev",
                "did you mean `pump.displacement`",
            ),
            (
                "now.engine_speed = 8..40 rpm",
                "is not an input of a part of the machine",
            ),
            ("pump.displacement = 0..40 cm3/rev", "too low"),
        ] {
            let said = range(words, &setup).unwrap_err().to_string();
            assert!(said.contains(says), "{words}: {said}");
        }
    }
}
