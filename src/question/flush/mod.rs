//! How often must the oil be changed until little of the old is left, and what does that do for the fan?

mod pictures;
mod told;
mod typed;

pub use typed::{Typed, pose};

use self::pictures::{by_method, over_temperature, over_volume, speed_over_share, tables};
use self::told::{assumptions, cautions, headline, said, worth};
use super::answer::{Answer, Block};
use super::words;
use crate::balance::State;
use crate::model::{Case, OilSheet, Posed};
use crate::quantity::Kind;
use crate::trouble::Trouble;
use crate::vary::dilution::{Exchange, Fill, Old};
use serde_json::{Value, json};

/// Most rounds that are looked at.
const MOST: usize = 200;
/// A change of fan speed by less than this share of it buys nothing.
const PAYS: f64 = 0.005;

/// How the oil is changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Drain and refill.
    Drain,
    /// Suck out the reservoir and refill it.
    Reservoir,
    /// Pour in while the old oil runs out of the return line into a container.
    ReturnLine,
}

impl Method {
    /// All methods.
    pub const ALL: [Method; 3] = [Method::Drain, Method::Reservoir, Method::ReturnLine];

    /// Its key in flags and answers.
    pub fn key(self) -> &'static str {
        match self {
            Method::Drain => "drain",
            Method::Reservoir => "reservoir",
            Method::ReturnLine => "return-line",
        }
    }

    /// Share of the whole fill that is exchanged in one round where nothing else is said. A reservoir holds 25 to 50 % of
    /// such systems; a drain takes some of the hoses too: common practice, no source.
    pub fn usual_share(self) -> f64 {
        match self {
            Method::Drain => 0.4,
            Method::Reservoir => 0.3,
            Method::ReturnLine => 1.0,
        }
    }

    /// What one round of it is called.
    fn round(self) -> &'static str {
        match self {
            Method::Drain => "drain and refill",
            Method::Reservoir => "exchange of the reservoir's oil",
            Method::ReturnLine => "pour through the return line",
        }
    }
}

/// What is planned.
#[derive(Clone, Copy, Debug)]
pub struct Plan {
    /// How the oil is changed.
    pub method: Method,
    /// Share of the whole fill that is exchanged in one round; above 1 where more is poured through.
    pub exchanged: f64,
    /// What stands still meanwhile, and how far it mixes afterwards.
    pub fill: Fill,
}

impl Plan {
    /// One exchange of a part (0 to 1) of a whole round, by the limit that dilutes least and by the one that dilutes most.
    fn exchanges(&self, part: f64) -> [Exchange; 2] {
        let amount = self.exchanged * part;
        match self.method {
            Method::Drain | Method::Reservoir => [Exchange::Refill(amount); 2],
            Method::ReturnLine => [Exchange::Mixed(amount), Exchange::PushedOut(amount)],
        }
    }
}

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Machine and condition on the fresh oil.
    pub fresh: Posed,
    /// The same on the old oil.
    pub old: Posed,
    /// What is planned.
    pub plan: Plan,
    /// The share of old oil that may be left, if that is asked.
    pub target: Option<f64>,
    /// By what share of itself the fan's speed may differ from that on fresh oil, if that is asked.
    pub within: Option<f64>,
    /// What a litre costs.
    pub cost_per_litre: Option<f64>,
}

/// The fan on blends of the two oils.
struct Blends<'a> {
    question: &'a Question,
    fresh: OilSheet,
    old: OilSheet,
    /// Fan speed on fresh oil, rad/s.
    fresh_speed: f64,
}

/// The rounds of one plan under one of its limits.
struct Rounds {
    /// The old oil after each round, the first before any.
    old: Vec<Old>,
    /// How many are needed.
    needed: usize,
    /// Fresh oil that is needed, m³; the last round may be cut short where oil is poured through.
    volume: f64,
    /// Share of old oil that is then left.
    left: f64,
}

impl<'a> Blends<'a> {
    fn new(question: &'a Question) -> Result<Self, Trouble> {
        // What was set of the oil holds for both.
        let sheet = |posed: &Posed| OilSheet {
            oil: posed.case.oil,
            ..posed.oil.clone()
        };
        let mut blends = Self {
            fresh: sheet(&question.fresh),
            old: sheet(&question.old),
            fresh_speed: 0.0,
            question,
        };
        blends.fresh_speed = blends.at(0.0)?.fan_speed;
        Ok(blends)
    }

    /// The case with a share of old oil.
    fn case(&self, share: f64) -> Result<Case, Trouble> {
        let oil = OilSheet::blend(&self.fresh, &self.old, share)?;
        Ok(Case {
            oil: oil.oil,
            curve: oil.curve,
            ..self.question.fresh.case
        })
    }

    /// The state with a share of old oil.
    fn at(&self, share: f64) -> Result<State, Trouble> {
        Ok(State::of(&self.case(share)?)?.0)
    }

    /// Whether a share of old oil meets what is asked.
    fn meets(&self, share: f64) -> Result<bool, Trouble> {
        let question = self.question;
        if question.target.is_some_and(|t| share > t * (1.0 + 1e-12)) {
            return Ok(false);
        }
        match question.within {
            Some(within) => {
                let off = (self.at(share)?.fan_speed - self.fresh_speed).abs();
                Ok(off <= within * self.fresh_speed)
            }
            None => Ok(true),
        }
    }

    /// The rounds of a plan under one of its limits; nothing where no number of rounds meets what is asked.
    fn rounds(&self, plan: &Plan, limit: usize) -> Result<Result<Rounds, Vec<Old>>, Trouble> {
        let fill = plan.fill;
        let old = fill.rounds(plan.exchanges(1.0)[limit], MOST);
        // The round after the last that does not meet it: a speed may come near and leave again.
        let mut needed = 0;
        for (n, one) in old.iter().enumerate().rev() {
            if !self.meets(fill.share(*one))? {
                needed = n + 1;
                break;
            }
        }
        if needed >= old.len() {
            return Ok(Err(old));
        }
        let mut part = 1.0;
        let mut left = old.get(needed).map_or(1.0, |o| fill.share(*o));
        if plan.method == Method::ReturnLine && needed > 0 {
            let before = old[needed - 1];
            let after = |part: f64| fill.share(fill.exchanged(before, plan.exchanges(part)[limit]));
            let mut low = 0.0;
            for _ in 0..50 {
                let middle = 0.5 * (low + part);
                if self.meets(after(middle))? {
                    part = middle
                } else {
                    low = middle
                }
            }
            left = after(part);
        }
        let rounds = needed.saturating_sub(1) as f64 + if needed > 0 { part } else { 0.0 };
        let volume = self.question.fresh.case.reservoir.volume * plan.exchanged * rounds;
        Ok(Ok(Rounds {
            old,
            needed,
            volume,
            left,
        }))
    }
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Trouble> {
    let (posed, plan) = (&question.fresh, &question.plan);
    let fill = plan.fill;
    let units = posed.units;
    let blends = Blends::new(question)?;
    let (old_state, fresh_state) = (blends.at(1.0)?, blends.at(0.0)?);
    if question.within.is_some() && fresh_state.fan_speed <= 0.0 {
        return Err(Trouble::no_answer(
            "a fan that stands on fresh oil too",
            "a condition in which it turns, where its speed is asked for",
        )
        .hint("engine speed, oil temperature and command make the condition"));
    }
    let rounds = match blends.rounds(plan, 0)? {
        Ok(rounds) => rounds,
        Err(old) => return Err(no_end(question, &blends, &old)),
    };
    let hopeful = match blends.rounds(plan, 1)? {
        Ok(rounds) => rounds,
        Err(old) => return Err(no_end(question, &blends, &old)),
    };
    let shown = (rounds.needed + 2).max(5);
    let shares: Vec<(f64, f64)> = (0..=shown)
        .map(|n| {
            // Where the list ends, nothing changes any more.
            let at = |r: &Rounds| {
                r.old
                    .get(n)
                    .or(r.old.last())
                    .map_or(1.0, |o| fill.share(*o))
            };
            (at(&rounds), at(&hopeful))
        })
        .collect();
    let states = shares
        .iter()
        .map(|(share, _)| blends.at(*share))
        .collect::<Result<Vec<State>, Trouble>>()?;
    let left = rounds.left;
    let after = blends.at(left)?;
    let speeds = rounds
        .old
        .iter()
        .map(|old| Ok(blends.at(fill.share(*old))?.fan_speed))
        .collect::<Result<Vec<f64>, Trouble>>()?;
    let pays = last_that_pays(&speeds);
    let cost = question
        .cost_per_litre
        .map(|price| price * rounds.volume * 1e3);

    let mut answer = Answer {
        question: "flush",
        case: said(question),
        ..Answer::default()
    };
    answer
        .blocks
        .push(Block::Headline(headline(question, &rounds, &hopeful, left)));
    let mut say = |text: String| answer.blocks.push(Block::Sentence(text));
    say(format!(
        "The fan makes {} on the old oil, {} after that, and would make {} on fresh oil alone, with the engine at {} and the oil at {}.",
        units.show(Kind::Speed, old_state.fan_speed),
        units.show(Kind::Speed, after.fan_speed),
        units.show(Kind::Speed, fresh_state.fan_speed),
        units.show(Kind::Speed, posed.case.now.engine_speed),
        units.show(Kind::Temperature, posed.case.now.oil_temp)
    ));
    say(worth(question, pays, &speeds, fresh_state.fan_speed));
    let (elsewhere, listed, sentence) = over_temperature(&blends, left)?;
    say(sentence);
    say(assumptions(question));
    let (rows, series) = tables(question, &shares, &states, rounds.needed);
    answer.series = series;
    answer.blocks.push(Block::Table(rows));
    answer.blocks.push(Block::Chart(over_volume(
        question, &rounds, &hopeful, shown,
    )));
    answer.blocks.push(Block::Chart(speed_over_share(
        &blends,
        &shares[..=rounds.needed],
    )?));
    answer.blocks.push(Block::Table(elsewhere));
    let (table, methods) = by_method(&blends)?;
    answer.blocks.push(Block::Table(table));
    answer.blocks.push(Block::Safety(words::safety()));
    answer.cautions = cautions(question, &fresh_state)?;

    let n = &mut answer.numbers;
    n.insert("method".into(), json!(plan.method.key()));
    n.insert("rounds_needed".into(), json!(rounds.needed));
    n.insert(
        "litres_needed".into(),
        json!(Kind::Volume.to_json(rounds.volume)),
    );
    n.insert(
        "litres_needed_low".into(),
        json!(Kind::Volume.to_json(hopeful.volume)),
    );
    n.insert("cost".into(), json!(cost));
    n.insert("old_share_left".into(), json!(left));
    n.insert("last_round_that_pays".into(), json!(pays));
    words::put(n, "fan_speed_old", Kind::Speed, old_state.fan_speed);
    words::put(n, "fan_speed", Kind::Speed, after.fan_speed);
    words::put(n, "fan_speed_fresh", Kind::Speed, fresh_state.fan_speed);
    let nu = Kind::KinematicViscosity;
    words::put(n, "viscosity_old", nu, old_state.oil_viscosity);
    words::put(n, "viscosity_fresh", nu, fresh_state.oil_viscosity);
    words::put(n, "fill", Kind::Volume, posed.case.reservoir.volume);
    n.insert("exchanged_share".into(), json!(plan.exchanged));
    n.insert("stagnant_share".into(), json!(fill.still));
    n.insert("mixing_share".into(), json!(fill.mixing));
    n.insert("target_share".into(), json!(question.target));
    n.insert("speed_within_share".into(), json!(question.within));
    let listed_rounds: Vec<Value> = shares
        .iter()
        .zip(&states)
        .enumerate()
        .skip(1)
        .map(|(k, ((share, low), state))| {
            json!({
                "round": k,
                "fresh_oil_l": Kind::Volume.to_json(volume(question, k as f64)),
                "old_share": share,
                "old_share_low": low,
                "viscosity_mm2_per_s": nu.to_json(state.oil_viscosity),
                "fan_speed_rpm": Kind::Speed.to_json(state.fan_speed),
            })
        })
        .collect();
    n.insert("rounds".into(), Value::Array(listed_rounds));
    n.insert("over_oil_temp".into(), listed);
    n.insert("methods".into(), methods);
    Ok(answer)
}

/// Fresh oil in so many rounds, m³.
fn volume(question: &Question, rounds: f64) -> f64 {
    question.fresh.case.reservoir.volume * question.plan.exchanged * rounds
}

/// The target in words.
fn asked(question: &Question) -> String {
    let percent = |x| question.fresh.units.show(Kind::Share, x);
    let mut parts = Vec::new();
    if let Some(target) = question.target {
        parts.push(format!("at most {} of old oil", percent(target)));
    }
    if let Some(within) = question.within {
        parts.push(format!(
            "a fan speed within {} of that on fresh oil",
            percent(within)
        ));
    }
    parts.join(" and ")
}

/// Why no number of rounds does.
fn no_end(question: &Question, blends: &Blends<'_>, old: &[Old]) -> Trouble {
    let fill = question.plan.fill;
    let units = question.fresh.units;
    let last = old.last().copied().unwrap_or(Old::ALL);
    let share = fill.share(last);
    let mut found = if old.len() > MOST {
        format!(
            "after {MOST} rounds {} of the old oil is left",
            units.show(Kind::Share, share)
        )
    } else {
        format!(
            "however many rounds, {} of the old oil stays",
            units.show(Kind::Share, share)
        )
    };
    if let (Some(_), Ok(state)) = (question.within, blends.at(share)) {
        found.push_str(&format!(
            ", on which the fan makes {} instead of {}",
            units.show(Kind::Speed, state.fan_speed),
            units.show(Kind::Speed, blends.fresh_speed)
        ));
    }
    let hint = if fill.still > 0.0 && fill.mixing < 1.0 {
        "what stands still must mix: run the engine and turn the steering from lock to lock between rounds (--mixing), or ask for less"
    } else {
        "exchange more in each round (--drained, --pour), or ask for less"
    };
    Trouble::no_answer(found, asked(question)).hint(hint)
}

/// The last round that changes the fan's speed by enough to be worth it; 0 for none.
fn last_that_pays(speeds: &[f64]) -> usize {
    let changes = speeds.windows(2).map(|pair| {
        let (before, after) = (pair[0], pair[1]);
        (after - before).abs() > PAYS * before.max(after)
    });
    let last = changes.enumerate().rfind(|(_, pays)| *pays);
    last.map_or(0, |(k, _)| k + 1)
}
