//! Finds the design and its robustness to the ±, and builds the results.

use super::words::{Range, Wanted};
use super::{FREE, Followed, Found, GOAL, Met, Other, Part, Size, Stands};
use crate::balance::COLDEST;
use crate::input::Input;
use crate::model::{Case, Machine};
use crate::quantity::{Kind, Measure};
use crate::question::want::Situation;
use crate::trouble::Trouble;
use crate::vary::sample;
use crate::vary::size::{self, Best, Design, Figure, Follow, Free, Goal, Problem, Solved, Want};
use rayon::prelude::*;

/// The seed of the sampling.
const SEED: u64 = 20_261_129;
/// Number of times the margins of the requirements are updated from machines sampled around a design.
const ROUNDS: usize = 4;
/// Maximum number of combinations of sizes.
const CHOICES: usize = 400;

/// A combination of sizes: one for each input that has a list of sizes.
type Choice = Vec<(Input, f64)>;

/// Robustness of a design in sampled machines: for each requirement the values of its figure, and the number of
/// machines that meet all requirements.
struct Held {
    values: Vec<Vec<f64>>,
    all: usize,
}

impl Size {
    pub(super) fn find(&self) -> Result<Found, Trouble> {
        let choices = self.choices()?;
        let as_computed = vec![0.0; self.wants.len()];
        self.refuse_without_effect(&choices, &as_computed)?;
        let rounds = if self.sure.is_some() { ROUNDS } else { 0 };
        self.setup.stop.expect((1 + rounds) * choices.len());
        let mut best = self.best(&choices, &as_computed)?;
        for _ in 0..rounds {
            let values = self.values(&choices[best.choice], &best.design);
            let held = self.held(&self.case(&values), &values);
            best = self.best(&choices, &self.shifts(&best.design, &held))?;
        }
        self.told(&choices, &best)
    }

    /// Reports free inputs that affect nothing, and a goal that no free input affects.
    fn refuse_without_effect(&self, choices: &[Choice], shifts: &[f64]) -> Result<(), Trouble> {
        let (idle, goal) = self.problem(&choices[0], shifts).idle(SEED);
        if let Some(input) = idle.first() {
            let key = input.key();
            let found = format!("`{key}` affects neither a requirement nor the goal");
            return Err(Trouble::input(found, "free inputs that affect one of them").on(FREE.key));
        }
        let goal = match self.goal.figure {
            Figure::Input(input) => {
                let own =
                    |r: &Range| r.input == input || r.follows.iter().any(|f| f.input == input);
                !self.ranges.iter().any(own)
            }
            _ => goal && choices.len() == 1,
        };
        if goal {
            let found = format!("no free input changes `{}`", self.goal.words);
            return Err(Trouble::input(found, "a goal that a free input changes").on(GOAL.key));
        }
        Ok(())
    }

    /// For each requirement, by how much its value is worse than nominal in the least favourable machine that must
    /// still meet it.
    fn shifts(&self, design: &Design, held: &Held) -> Vec<f64> {
        let sure = self.sure.unwrap_or(0.5);
        let one = |(k, wanted): (usize, &Wanted)| {
            let share = if wanted.least { 1.0 - sure } else { sure };
            let values = &held.values[k];
            match values.is_empty() {
                true => 0.0,
                false => sample::at(values, share) - design.wants[k],
            }
        };
        self.wants.iter().enumerate().map(one).collect()
    }

    /// The best design of all combinations of sizes.
    fn best(&self, choices: &[Choice], shifts: &[f64]) -> Result<Best, Trouble> {
        let problems: Vec<Problem> = choices.iter().map(|c| self.problem(c, shifts)).collect();
        size::best(&problems, SEED)
    }

    /// The case with the free inputs set to their chosen values, and with what follows them.
    fn case(&self, values: &[(Input, f64)]) -> Case {
        let set = |case: Case, (input, value): &(Input, f64)| case.with(*input, *value);
        let case = values.iter().fold(self.setup.case, set);
        let followed = self.followed(values).into_iter();
        followed.fold(case, |case, (follow, value)| {
            case.with(follow.input, follow.at(value))
        })
    }

    /// The inputs that follow free inputs, each with the chosen value of the input that it follows.
    fn followed(&self, values: &[(Input, f64)]) -> Vec<(Follow, f64)> {
        let of = |range: &Range| {
            let chosen = values.iter().find(|(input, _)| *input == range.input);
            let value = chosen.map(|(_, value)| *value);
            let follows = range.follows.clone();
            follows
                .into_iter()
                .filter_map(move |follow| Some((follow, value?)))
        };
        self.ranges.iter().flat_map(of).collect()
    }

    /// All combinations of sizes.
    fn choices(&self) -> Result<Vec<Choice>, Trouble> {
        let mut all: Vec<Choice> = vec![Vec::new()];
        for range in self.listed() {
            let with = |choice: &Choice| {
                let one = |size: &f64| [choice.clone(), vec![(range.input, *size)]].concat();
                range.sizes.iter().map(one).collect::<Vec<_>>()
            };
            all = all.iter().flat_map(with).collect();
            if all.len() > CHOICES {
                let found = format!("more than {CHOICES} combinations of sizes");
                return Err(
                    Trouble::input(found, "fewer sizes, or a range instead of sizes").on(FREE.key),
                );
            }
        }
        Ok(all)
    }

    /// The inputs that are free between two limits.
    fn between(&self) -> impl Iterator<Item = &Range> {
        self.ranges.iter().filter(|r| r.sizes.is_empty())
    }

    /// The inputs that are chosen from lists of sizes.
    fn listed(&self) -> impl Iterator<Item = &Range> {
        self.ranges.iter().filter(|r| !r.sizes.is_empty())
    }

    /// The optimisation problem with these sizes selected. Each requirement is evaluated as if its value were shifted
    /// by `shifts`.
    fn problem(&self, choice: &Choice, shifts: &[f64]) -> Problem {
        let base = self.case(choice);
        let free = |r: &Range| Free {
            input: r.input,
            low: r.low,
            high: r.high,
            follows: r.follows.clone(),
        };
        Problem {
            conditions: self.conditions.iter().map(|s| s.on(&base)).collect(),
            wants: self
                .wants
                .iter()
                .zip(shifts)
                .map(|(wanted, shift)| {
                    let want = wanted.want();
                    Want {
                        bound: want.bound - shift,
                        ..want
                    }
                })
                .collect(),
            frees: self.between().map(free).collect(),
            sizes: self.listed().map(free).collect(),
            goal: Goal {
                figure: self.goal.figure,
                most: self.goal.most,
                at: self.goal_at(),
            },
            stop: self.setup.stop.clone(),
        }
    }

    /// The conditions in which the goal is evaluated, each with its weight.
    fn goal_at(&self) -> Vec<(usize, f64)> {
        let heat = self.goal.figure.is_of_heat();
        let there = |k: &usize| !heat || self.conditions[*k].heat.is_some();
        if self.goal.at.is_empty() {
            let all = (0..self.conditions.len()).filter(there);
            return all.map(|k| (k, 1.0)).collect();
        }
        self.goal.at.clone()
    }

    /// What a range wider by a tenth would gain, if the value of the design is at a limit of the range; for a list of
    /// sizes, at an end of it.
    fn wider(&self, range: &Range, design: &Design) -> Option<f64> {
        let all = self.between().chain(self.listed());
        let at = all.into_iter().position(|r| r.input == range.input)?;
        design.wider.get(at).copied().flatten()
    }

    /// The value of each free input in a design, in the order in which they were entered.
    fn values(&self, choice: &Choice, design: &Design) -> Vec<(Input, f64)> {
        let between = self
            .between()
            .map(|r| r.input)
            .zip(design.values.iter().copied());
        let all: Vec<(Input, f64)> = choice.iter().copied().chain(between).collect();
        let in_order = |r: &Range| all.iter().find(|(input, _)| *input == r.input).copied();
        self.ranges.iter().filter_map(in_order).collect()
    }

    /// Builds the result for a design.
    fn told(&self, all: &[Choice], best: &Best) -> Result<Found, Trouble> {
        let (choice, choices) = (&all[best.choice], all.len());
        let design = &best.design;
        let values = self.values(choice, design);
        let case = self.case(&values);
        let held = (self.machines > 0).then(|| self.held(&case, &values));
        let kind = self.goal.figure.kind();
        let missed = |k: &&usize| !held.as_ref().is_some_and(|held| self.is_sure(**k, held));
        let against = design.against.iter().filter(missed);
        let against: Vec<String> = against.map(|k| self.wants[*k].words.clone()).collect();
        let met = design.off <= 0.0 || (self.sure.is_some() && against.is_empty());
        let none = || {
            Trouble::no_answer(
                "no operating point at this design",
                "other ranges of the free inputs",
            )
        };
        let solved = self.solved(&case, None).ok_or_else(none)?;
        let conditions = self.stands(&solved);
        let wants = (0..self.wants.len()).map(|k| Met {
            boils: self.wants[k].figure == Figure::Coolant
                && conditions[self.wants[k].at.unwrap_or_default()].boils,
            ..self.met(k, best, held.as_ref())
        });
        Ok(Found {
            met,
            design: values
                .iter()
                .zip(&self.ranges)
                .map(|(v, range)| part(v.1, range, self.wider(range, design)))
                .collect(),
            goal: self.goal.words.clone(),
            goal_unit: kind.json_suffix().into(),
            goal_value: kind.to_json(design.goal),
            follows: self.followed(&values).iter().map(followed).collect(),
            wants: wants.collect(),
            against,
            worst_off: design.off,
            cautions: self.cautions(&solved),
            conditions,
            machines: self.machines,
            sure: self.sure,
            worst: held.as_ref().and_then(|held| self.worst(held)),
            share: held.map(|h| h.all as f64 / self.machines as f64),
            choices,
            others: self.others(all, best),
            goal_si: (kind, design.goal),
            machine: self.machine(&values, met),
            case,
        })
    }

    /// Whether as many sampled machines as are asked for meet a requirement.
    fn is_sure(&self, k: usize, held: &Held) -> bool {
        let holding = held.values[k]
            .iter()
            .filter(|v| self.wants[k].want().holds(**v));
        let share = holding.count() as f64 / self.machines as f64;
        self.sure.is_some_and(|sure| share >= sure)
    }

    /// The requirement that a sampled machine misses most, or meets with the smallest margin, and its value there.
    fn worst(&self, held: &Held) -> Option<(String, Kind, f64)> {
        let end = |k: usize| {
            let (want, values) = (self.wants[k].want(), &held.values[k]);
            let value = *if want.least {
                values.first()
            } else {
                values.last()
            }?;
            Some((want.off(value), k, value))
        };
        let ends = (0..self.wants.len()).filter_map(end);
        let (_, k, value) = ends.max_by(|a, b| a.0.total_cmp(&b.0))?;
        let wanted = &self.wants[k];
        Some((wanted.words.clone(), wanted.figure.kind(), value))
    }

    /// The designed machine, filled with the oil in use. What follows a free input keeps its relative ±.
    fn machine(&self, values: &[(Input, f64)], met: bool) -> Machine {
        let mut machine = self.setup.machine.clone();
        let keys: Vec<String> = values.iter().map(|(input, _)| input.key()).collect();
        let (keys, status) = (keys.join(", "), &machine.status);
        let sized = if met {
            "Sized"
        } else {
            "Sized, with requirements missed"
        };
        machine.status = format!(
            "{sized}: {keys}, and the values that follow from them. Before sizing: {status}"
        );
        if let Some(oil) = &self.oil {
            machine.fill.clone_from(oil);
        }
        for ((input, value), range) in values.iter().zip(&self.ranges) {
            machine.set(*input, Measure::within(*value, range.half(*value)));
            machine.correlations.free(*input);
        }
        for (follow, value) in self.followed(values) {
            let own = self.setup.machine.value(follow.input);
            if let Some(own) = own.filter(|_| !machine.left_out.contains(&follow.input)) {
                let scaled = |x: f64| x * follow.ratio(value);
                let measure = Measure {
                    value: scaled(own.value),
                    spread: scaled(own.spread),
                    ..own
                };
                machine.set(follow.input, measure);
            }
        }
        machine
    }

    /// Other combinations of sizes that are about as good, best first.
    fn others(&self, all: &[Choice], best: &Best) -> Vec<Other> {
        let kind = self.goal.figure.kind();
        let one = |(choice, design): &(usize, Design)| {
            let values = self.values(&all[*choice], design);
            let part = |(v, range): (&(Input, f64), &Range)| part(v.1, range, None);
            Other {
                design: values.iter().zip(&self.ranges).map(part).collect(),
                goal_value: kind.to_json(design.goal),
                goal: design.goal,
            }
        };
        best.others.iter().map(one).collect()
    }

    /// A requirement, and how well the design meets it.
    fn met(&self, k: usize, best: &Best, held: Option<&Held>) -> Met {
        let design = &best.design;
        let beyond = best.beyond.iter().find(|beyond| beyond.want == k).copied();
        let (wanted, value) = (&self.wants[k], design.wants[k]);
        let kind = wanted.figure.kind();
        let want = wanted.want();
        let margin = if want.least {
            value - want.bound
        } else {
            want.bound - value
        };
        let hardly = beyond.is_some_and(|b| b.hardly);
        let binds = design.buys[k].abs() > 0.0 || (design.against.contains(&k) && !hardly);
        let goal = self.goal.figure.kind().json_factor() / kind.json_factor();
        let values = held.map(|h| &h.values[k]).filter(|v| !v.is_empty());
        let band = values.map(|v| (sample::at(v, 0.025), sample::at(v, 0.975)));
        let holding = held.map(|h| h.values[k].iter().filter(|v| want.holds(**v)).count());
        Met {
            want: wanted.words.clone(),
            unit: kind.json_suffix().into(),
            bound: kind.to_json(want.bound),
            value: kind.to_json(value),
            margin: margin * kind.json_factor(),
            holds: want.holds(value),
            binds,
            buys: (design.off <= 0.0 && binds).then(|| design.buys[k] * goal),
            low: band.map(|b| kind.to_json(b.0)),
            high: band.map(|b| kind.to_json(b.1)),
            share: holding.map(|n| n as f64 / self.machines as f64),
            nearest: beyond.map(|b| kind.to_json(b.nearest)),
            source: wanted.source.map(String::from),
            figure: wanted.figure,
            boils: false,
            si: [want.bound, value, margin],
            beyond,
            band,
        }
    }

    /// Evaluates the design in sampled machines. The chosen values have the uncertainty given by the user, or none.
    fn held(&self, case: &Case, values: &[(Input, f64)]) -> Held {
        let mut spread = self.setup.spread;
        for ((input, value), range) in values.iter().zip(&self.ranges) {
            spread = spread.with_uncertainty(*input, Measure::within(*value, range.half(*value)));
        }
        for (follow, value) in self.followed(values) {
            let own = spread.get(follow.input).unwrap_or(0.0);
            spread = spread.with(follow.input, own * follow.ratio(value));
        }
        let mut together = self.setup.machine.correlations.clone();
        values.iter().for_each(|(input, _)| together.free(*input));
        let drawn = sample::draw(case, &spread, &together, self.machines, SEED);
        let near = self.solved(case, None);
        let one = |machine: &Case| -> Option<Vec<f64>> {
            let solved = self.solved(machine, near.as_deref())?;
            let value = |w: &Wanted| w.figure.read(&solved[w.at.unwrap_or_default()].stand);
            Some(self.wants.iter().map(value).collect())
        };
        let found: Vec<Vec<f64>> = drawn.par_iter().filter_map(one).collect();
        let all = |values: &Vec<f64>| {
            self.wants
                .iter()
                .zip(values)
                .all(|(w, v)| w.want().holds(*v))
        };
        let column = |k: usize| {
            let mut values: Vec<f64> = found.iter().map(|v| v[k]).collect();
            values.sort_by(f64::total_cmp);
            values
        };
        Held {
            all: found.iter().filter(|v| all(v)).count(),
            values: (0..self.wants.len()).map(column).collect(),
        }
    }

    /// Solves a machine in each condition, with the limiting ambient temperature where the condition has a heat
    /// balance; `None` if any condition has no solution.
    fn solved(&self, case: &Case, near: Option<&[Solved]>) -> Option<Vec<Solved>> {
        let solve = |(k, situation): (usize, &Situation)| {
            let near = near.and_then(|n| n.get(k));
            situation.on(case).solve(situation.heat.is_some(), near)
        };
        self.conditions.iter().enumerate().map(solve).collect()
    }

    /// The results for the design in each condition.
    fn stands(&self, solved: &[Solved]) -> Vec<Stands> {
        let one = |(situation, solved): (&Situation, &Solved)| {
            let (state, boils) = (&solved.stand.state, solved.boils());
            let heat = situation.heat.map(|_| &solved.stand);
            let limiting = heat.map(|s| s.limiting).filter(|t| *t > COLDEST);
            Stands {
                condition: situation.condition.words.clone(),
                fan_speed: state.fan_speed,
                supply_gauge_pressure: state.supply_gauge_pressure,
                pump_flow: state.pump_flow,
                pump_shaft_power: state.pump_shaft_power,
                fan_shaft_power: state.fan_shaft_power,
                drive_efficiency: state.drive_efficiency,
                limited_by: solved.operating.limit,
                coolant_temp: heat.map(|s| Figure::Coolant.read(s)).filter(|_| !boils),
                oil_temp: heat.map(|s| s.case.now.oil_temp).filter(|_| !boils),
                limiting_ambient: limiting,
                boils,
            }
        };
        self.conditions.iter().zip(solved).map(one).collect()
    }
}

impl Range {
    /// The half-width of a chosen value, SI.
    fn half(&self, value: f64) -> f64 {
        match self.spread {
            Some((share, true)) => share * value,
            Some((half, false)) => half,
            None => 0.0,
        }
    }
}

/// An input that follows a free input, and its value in the design.
fn followed((follow, value): &(Follow, f64)) -> Followed {
    let kind = follow.input.field().kind;
    Followed {
        input: follow.input.key(),
        unit: kind.json_suffix().into(),
        value: kind.to_json(follow.at(*value)),
        si: follow.at(*value),
    }
}

/// A free input, and its value in the design.
fn part(value: f64, range: &Range, wider: Option<f64>) -> Part {
    let kind = range.input.field().kind;
    Part {
        input: range.input.key(),
        unit: kind.json_suffix().into(),
        value: kind.to_json(value),
        from: kind.to_json(range.low),
        to: kind.to_json(range.high),
        at_end: wider.is_some(),
        wider,
        si: value,
        listed: !range.sizes.is_empty(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ask, Lookup};

    /// A motor that starts on less torque than keeps it turning is physically impossible.
    #[test]
    fn no_sampled_motor_breaks_away_below_what_keeps_it_turning() {
        let setup = Ask::about("bus").resolve(Lookup::LibraryOnly).unwrap();
        let together = &setup.machine.correlations;
        let drawn = sample::draw(&setup.case, &setup.spread, together, 2000, SEED);
        let clash = |m: &Case| m.clash().is_some();
        assert!(!drawn.iter().any(clash));
    }
}
