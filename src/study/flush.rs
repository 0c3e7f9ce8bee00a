//! How often must the oil be changed until little of the old is left, and what does that do for the fan?

use super::answer::{Answer, Block, Chart, Curve, Mark, Table};
use super::words;
use crate::balance::{Operating, State};
use crate::fault;
use crate::input::unit::celsius;
use crate::model::{Ask, Case, OilSheet, Posed, Shelf, share};
use crate::quantity::{Kind, Units, parse};
use crate::trouble::{Trouble, Troubles, near};
use crate::vary::dilution::{Exchange, Fill, Old};
use crate::vary::sweep;
use serde_json::{Value, json};

/// Most rounds that are looked at.
const MOST: usize = 200;
/// Most rounds that the table shows.
const ROWS: usize = 24;
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

/// What is planned, as typed.
#[derive(Clone, Debug)]
pub struct Typed {
    /// The oil that is in it.
    pub from_oil: String,
    /// The oil that goes in; none: the machine's usual one.
    pub to_oil: Option<String>,
    /// The key of the method.
    pub method: String,
    /// How much old oil may be left.
    pub target: Option<String>,
    /// How near the fan's speed must come to that on fresh oil.
    pub speed_within: Option<String>,
    /// Share of the whole fill that comes out in one round.
    pub drained: Option<String>,
    /// What is poured through the return line in one go.
    pub pour: Option<String>,
    /// Share of the fill that stands still during an exchange.
    pub stagnant: String,
    /// How far that share mixes with the rest between rounds.
    pub mixing: String,
    /// What a litre of the fresh oil costs.
    pub cost_per_litre: Option<String>,
}

/// Understands what is asked, as typed: every mistake at once.
pub fn pose(ask: &Ask, with: &[String], typed: &Typed, shelf: Shelf) -> Result<Question, Troubles> {
    let units = ask.units;
    let mut troubles = Vec::new();
    let mut pose = |flag: &str, name: &Option<String>| {
        let ask = Ask {
            oil: name.clone(),
            ..ask.clone()
        };
        fault::pose(&ask, with, shelf).map_err(|all| {
            let named = all.into_iter().map(|mut t| {
                if t.spot.source == "oil" {
                    t.spot.source = flag.into();
                }
                t
            });
            // What is wrong with machine and condition is wrong for both oils, and said once.
            let new: Troubles = named.filter(|t| !troubles.contains(t)).collect();
            troubles.extend(new);
        })
    };
    let old = pose("--from-oil", &Some(typed.from_oil.clone()));
    let fresh = pose("--to-oil", &typed.to_oil);

    let method = Method::ALL.into_iter().find(|m| m.key() == typed.method);
    if method.is_none() {
        let keys = Method::ALL.map(Method::key);
        let hint = near(&typed.method, keys).map(|k| format!("did you mean `{k}`?"));
        let trouble = Trouble::input(
            format!("no method called `{}`", typed.method),
            keys.join(", "),
        );
        troubles.push(trouble.hint(hint.unwrap_or_default()).at("--method"));
    }
    let mut some = |flag: &str, words: &Option<String>, range| {
        let words = words.as_ref()?;
        share(flag, words, range, &mut troubles)
    };
    // Dilution never takes the last of the old oil, nor brings a speed quite to its end.
    let target = some("--target", &typed.target, 1e-4..=1.0);
    let within = some("--speed-within", &typed.speed_within, 1e-4..=1.0);
    let drained = some("--drained", &typed.drained, 0.01..=1.0);
    let still = some("--stagnant", &Some(typed.stagnant.clone()), 0.0..=0.9);
    let mixing = some("--mixing", &Some(typed.mixing.clone()), 0.0..=1.0);
    let mut positive = |flag: &str, kind: Kind, words: &Option<String>| {
        let read = parse(kind, words.as_ref()?).and_then(|m| {
            let fits = m.value > 0.0;
            let found = format!("{} is not above zero", units.show(kind, m.value));
            fits.then_some(m.value)
                .ok_or_else(|| Trouble::input(found, format!("a {} above zero", kind.name())))
        });
        read.map_err(|t| troubles.push(t.at(flag))).ok()
    };
    let pour = positive("--pour", Kind::Volume, &typed.pour);
    let cost_per_litre = positive("--cost-per-litre", Kind::Cost, &typed.cost_per_litre);
    let misplaced = match method {
        Some(Method::ReturnLine) => typed.drained.as_ref().map(|_| ("--drained", "--pour")),
        Some(_) => typed.pour.as_ref().map(|_| ("--pour", "--drained")),
        None => None,
    };
    if let Some((given, meant)) = misplaced {
        let found = format!("{given} with the method `{}`", typed.method);
        let trouble = Trouble::input(found, format!("{meant}, which goes with that method"));
        troubles.push(trouble.at(given));
    }
    let (Ok(old), Ok(fresh), Some(method), Some(still), Some(mixing), true) =
        (old, fresh, method, still, mixing, troubles.is_empty())
    else {
        return Err(troubles);
    };
    let exchanged = match (method, pour) {
        (Method::ReturnLine, Some(pour)) => pour / fresh.case.reservoir.volume,
        (Method::ReturnLine, None) => method.usual_share(),
        _ => drained.unwrap_or(method.usual_share().min(1.0 - still)),
    };
    if method != Method::ReturnLine && exchanged > 1.0 - still + 1e-9 {
        let percent = |x| units.show(Kind::Share, x);
        let found = format!(
            "{} drained where {} stands still",
            percent(exchanged),
            percent(still)
        );
        let trouble = Trouble::input(found, format!("at most {}", percent(1.0 - still)));
        let hint = "what stands still does not run out: give less with --stagnant or --drained";
        return Err(vec![trouble.hint(hint).at("--drained")]);
    }
    if method == Method::ReturnLine && !(0.01..=100.0).contains(&exchanged) {
        let show = |x| units.show(Kind::Volume, x * fresh.case.reservoir.volume);
        let found = format!("{} for a fill of {}", show(exchanged), show(1.0));
        let trouble = Trouble::input(found, format!("{} to {}", show(0.01), show(100.0)));
        return Err(vec![trouble.at("--pour")]);
    }
    Ok(Question {
        fresh,
        old,
        plan: Plan {
            method,
            exchanged,
            fill: Fill { still, mixing },
        },
        target: target.or(within.is_none().then_some(0.05)),
        within,
        cost_per_litre,
    })
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

/// What was taken, in words.
fn said(question: &Question) -> Vec<(String, String)> {
    let (plan, units) = (&question.plan, question.fresh.units);
    let mut case = question.fresh.said.clone();
    for (label, _) in &mut case {
        if label == "oil" {
            *label = "fresh oil".into();
        }
    }
    let percent = |x| units.show(Kind::Share, x);
    case.insert(1, ("old oil".into(), question.old.oil.name.clone()));
    case.push(("method".into(), plan.method.round().into()));
    case.push((
        "exchanged each round".into(),
        format!(
            "{}, {} of the fill",
            units.show(Kind::Volume, volume(question, 1.0)),
            percent(plan.exchanged)
        ),
    ));
    case.push((
        "standing still meanwhile".into(),
        format!(
            "{}, which mixes by {} while the engine runs between rounds",
            percent(plan.fill.still),
            percent(plan.fill.mixing)
        ),
    ));
    case.push(("asked".into(), asked(question)));
    case
}

/// How many rounds, how much oil, what is left.
fn headline(question: &Question, rounds: &Rounds, hopeful: &Rounds, left: f64) -> String {
    let units = question.fresh.units;
    let plan = &question.plan;
    if rounds.needed == 0 {
        return "No flush is needed: the old oil already gives what is asked.".into();
    }
    let price = question.cost_per_litre.map_or(String::new(), |price| {
        let cost = |v: f64| units.show(Kind::Cost, price * v * 1e3);
        format!(
            ", at a cost of {}",
            from_to(hopeful.volume, rounds.volume, cost)
        )
    });
    let litres = |v| units.show(Kind::Volume, v);
    match plan.method {
        Method::ReturnLine => {
            format!(
                "{} of fresh oil through the return line, in {}, leave {}{price}.",
                from_to(hopeful.volume, rounds.volume, litres),
                counted(rounds.needed, "pour"),
                asked(question)
            )
        }
        method => format!(
            "{} of {} ({} in all{price}) leave {} of the old oil.",
            match (method, rounds.needed) {
                (Method::Drain, 1) => "1 drain and refill".into(),
                (Method::Drain, n) => format!("{n} drains and refills"),
                (_, n) => format!("{} of the reservoir", counted(n, "exchange")),
            },
            litres(volume(question, 1.0)),
            litres(rounds.volume),
            units.show(Kind::Share, left)
        ),
    }
}

/// From one value to another, or one where they hardly differ.
fn from_to(low: f64, high: f64, show: impl Fn(f64) -> String) -> String {
    if high - low > 0.005 * high {
        format!("{} to {}", show(low), show(high))
    } else {
        show(high)
    }
}

/// So many of something.
fn counted(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
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

/// A change of speed in words.
fn makes(units: Units, change: f64) -> String {
    if units.show(Kind::Speed, change.abs()) == units.show(Kind::Speed, 0.0) {
        "neither faster nor slower".into()
    } else {
        words::faster_or_slower(units, change)
    }
}

/// Where another round buys nothing.
fn worth(question: &Question, pays: usize, speeds: &[f64], fresh: f64) -> String {
    let units = question.fresh.units;
    let at = |n: usize| speeds.get(n).copied().unwrap_or(fresh);
    let least = units.show(Kind::Share, PAYS);
    let all = makes(units, fresh - at(0));
    if fresh <= 0.0 {
        return "The fan stands in this condition, so no round changes its speed.".into();
    }
    if pays == 0 {
        return format!(
            "For the fan's speed in this condition no round buys anything: fresh oil alone makes it {all}, and no single round changes it by {least}. What a flush buys here is clean oil of the right kind."
        );
    }
    format!(
        "Fresh oil alone makes the fan {all} in this condition. After round {pays} none of the later ones changes its speed by {least}, and all of them together change it by {}. From there on a round buys less old oil, hardly another speed.",
        units.show(Kind::Speed, (fresh - at(pays)).abs())
    )
}

/// What was assumed, in a sentence.
fn assumptions(question: &Question) -> String {
    let plan = &question.plan;
    let percent = |x| question.fresh.units.show(Kind::Share, x);
    let mut text = match plan.method {
        Method::ReturnLine => {
            "Between the two limits, old oil pushed out ahead of the fresh and both mixed at once, lies what really happens; rounds and amounts are by the worse one. ".to_string()
        }
        _ => format!(
            "Each round takes out {} of the fill, as it then is in what circulates; the engine runs between rounds, or the fresh oil in the reservoir is drawn off again. ",
            percent(plan.exchanged)
        ),
    };
    if plan.fill.still > 0.0 {
        text.push_str(&format!(
            "{} of the fill (steering, cooler, hoses) stands still during an exchange and then mixes by {}. The old share is that of the whole fill, and viscosity and speed are those once it has all mixed.",
            percent(plan.fill.still),
            percent(plan.fill.mixing)
        ));
    }
    text
}

/// The rounds as a table for people and as a series.
fn tables(
    question: &Question,
    shares: &[(f64, f64)],
    states: &[State],
    needed: usize,
) -> (Table, Table) {
    let units = question.fresh.units;
    let poured = question.plan.method == Method::ReturnLine;
    let every = shares.len().div_ceil(ROWS).max(1);
    let mut rows = Table {
        title: "Round by round".into(),
        heads: vec![
            "round".into(),
            "fresh oil".into(),
            "old oil left".into(),
            format!(
                "viscosity at {}",
                units.show(Kind::Temperature, question.fresh.case.now.oil_temp)
            ),
            "fan speed".into(),
            String::new(),
        ],
        rows: Vec::new(),
        numeric: vec![0, 1, 2, 3, 4],
    };
    let mut series = Table {
        heads: [
            "round",
            "fresh_oil_l",
            "old_share",
            "old_share_low",
            "viscosity_mm2_per_s",
            "fan_speed_rpm",
        ]
        .map(String::from)
        .to_vec(),
        numeric: vec![0, 1, 2, 3, 4, 5],
        ..Table::default()
    };
    for (n, ((share, low), state)) in shares.iter().zip(states).enumerate() {
        let fresh = volume(question, n as f64);
        let percent = |x: f64| units.show(Kind::Share, x);
        series.rows.push(vec![
            n.to_string(),
            format!("{:.4}", Kind::Volume.to_json(fresh)),
            format!("{share:.6}"),
            format!("{low:.6}"),
            format!(
                "{:.4}",
                Kind::KinematicViscosity.to_json(state.oil_viscosity)
            ),
            format!("{:.3}", Kind::Speed.to_json(state.fan_speed)),
        ]);
        if n % every != 0 && n != needed {
            continue;
        }
        rows.rows.push(vec![
            n.to_string(),
            units.show(Kind::Volume, fresh),
            if poured && n > 0 {
                format!("{} to {}", percent(*low), percent(*share))
            } else {
                percent(*share)
            },
            units.show(Kind::KinematicViscosity, state.oil_viscosity),
            units.show(Kind::Speed, state.fan_speed),
            if n == needed { "enough" } else { "" }.into(),
        ]);
    }
    (rows, series)
}

/// Old oil over the fresh oil that went in.
fn over_volume(question: &Question, rounds: &Rounds, hopeful: &Rounds, shown: usize) -> Chart {
    let (plan, units) = (&question.plan, question.fresh.units);
    let fill = plan.fill;
    let x = |rounds: f64| units.number(Kind::Volume, volume(question, rounds));
    let poured = plan.method == Method::ReturnLine;
    let parts: Vec<f64> = if poured {
        sweep::values(0.0, 1.0, 25, false)
    } else {
        vec![0.0, 1.0]
    };
    let along = |rounds: &Rounds, limit: usize| -> Vec<(f64, f64)> {
        (0..shown)
            .flat_map(|n| {
                let before = rounds.old.get(n).or(rounds.old.last()).copied();
                let before = before.unwrap_or(Old::ALL);
                parts.iter().map(move |part| {
                    let after = fill.exchanged(before, plan.exchanges(*part)[limit]);
                    (x(n as f64 + part), 100.0 * fill.share(after))
                })
            })
            .collect()
    };
    let worse = along(rounds, 0);
    let mut curves = vec![Curve {
        name: if poured {
            "mixed at once; the band reaches to old oil pushed out ahead".into()
        } else {
            "old oil left in the whole fill".into()
        },
        band: if poured {
            let better = along(hopeful, 1);
            let ends = worse.iter().zip(&better);
            ends.map(|(w, b)| (w.0, b.1.min(w.1), b.1.max(w.1)))
                .collect()
        } else {
            Vec::new()
        },
        points: worse,
    }];
    if !poured {
        // What a fill without anything that stands still would do.
        curves.push(Curve {
            name: "if nothing stood still".into(),
            points: (0..=shown)
                .map(|n| {
                    let left = (1.0 - plan.exchanged).powi(n as i32);
                    (x(n as f64), 100.0 * left)
                })
                .collect(),
            band: Vec::new(),
        });
    }
    Chart {
        title: "Old oil left over the fresh oil that went in".into(),
        x_label: format!("fresh oil, {}", units.unit(Kind::Volume)),
        y_label: "old oil left, %".into(),
        y_from_zero: true,
        curves,
        levels: question
            .target
            .map(|t| vec![(format!("asked, {}", units.show(Kind::Share, t)), 100.0 * t)])
            .unwrap_or_default(),
        ..Chart::default()
    }
}

/// Fan speed over the share of old oil, with the rounds marked.
fn speed_over_share(blends: &Blends<'_>, shares: &[(f64, f64)]) -> Result<Chart, Trouble> {
    let units = blends.question.fresh.units;
    let y = |omega| units.number(Kind::Speed, omega);
    let points = sweep::values(0.0, 1.0, 61, false)
        .into_iter()
        .map(|share| Ok((100.0 * share, y(blends.at(share)?.fan_speed))))
        .collect::<Result<Vec<_>, Trouble>>()?;
    // The last rounds lie too close together to be named.
    let mut marks: Vec<Mark> = Vec::new();
    for (n, (share, _)) in shares.iter().enumerate() {
        let x = 100.0 * share;
        let last = n + 1 == shares.len();
        let near = marks.last().is_some_and(|m: &Mark| m.x - x < 9.0);
        marks.push(Mark {
            name: match n {
                0 => "old".into(),
                _ if near && !last => String::new(),
                _ => n.to_string(),
            },
            x,
            y: y(blends.at(*share)?.fan_speed),
            spread: 0.0,
        });
    }
    Ok(Chart {
        title: "Fan speed over the share of old oil; each mark is a round".into(),
        x_label: "old oil left, %".into(),
        y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
        y_from_zero: true,
        curves: vec![Curve {
            name: "in the condition asked for".into(),
            points,
            band: Vec::new(),
        }],
        marks,
        ..Chart::default()
    })
}

/// What the flush does to the fan at other oil temperatures.
fn over_temperature(blends: &Blends<'_>, left: f64) -> Result<(Table, Value, String), Trouble> {
    let units = blends.question.fresh.units;
    let mut table = Table {
        title: format!(
            "Fan speed at other oil temperatures, {}, all else as asked",
            units.unit(Kind::Speed)
        ),
        heads: [
            "oil at",
            "old oil",
            "after the flush",
            "fresh oil",
            "change",
        ]
        .map(String::from)
        .to_vec(),
        rows: Vec::new(),
        numeric: vec![0, 1, 2, 3, 4],
    };
    let mut listed = Vec::new();
    let mut named = Vec::new();
    for t in [-20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0] {
        let speed = |share: f64| -> Result<f64, Trouble> {
            let mut case = blends.case(share)?;
            case.now.oil_temp = celsius(t);
            let (state, _): (State, Operating) = State::of(&case)?;
            Ok(state.fan_speed)
        };
        let [old, after, fresh] = [speed(1.0)?, speed(left)?, speed(0.0)?];
        let figure = |omega| format!("{:.0}", units.number(Kind::Speed, omega));
        let change = if old > 0.0 { after / old - 1.0 } else { 0.0 };
        table.rows.push(vec![
            units.show(Kind::Temperature, celsius(t)),
            figure(old),
            figure(after),
            figure(fresh),
            format!("{:+.1} %", 100.0 * change).replace('-', "−"),
        ]);
        if fresh > 0.0 && (t.abs() < 1.0 || (t - 80.0).abs() < 1.0) {
            named.push(format!(
                "{} with the oil at {}",
                makes(units, after - old),
                units.show(Kind::Temperature, celsius(t))
            ));
        }
        listed.push(json!({
            "oil_temp_c": t,
            "fan_speed_old_rpm": Kind::Speed.to_json(old),
            "fan_speed_rpm": Kind::Speed.to_json(after),
            "fan_speed_fresh_rpm": Kind::Speed.to_json(fresh),
        }));
    }
    let sentence = if named.is_empty() {
        "The fan stands in this condition at any of the oil temperatures below.".into()
    } else {
        format!("The flush makes the fan {}.", named.join(", and "))
    };
    Ok((table, Value::Array(listed), sentence))
}

/// What each method would take to the same end.
fn by_method(blends: &Blends<'_>) -> Result<(Table, Value), Trouble> {
    let question = blends.question;
    let units = question.fresh.units;
    let mut table = Table {
        title: format!("By method, for {}", asked(question)),
        heads: vec![
            "method".into(),
            "each round".into(),
            "rounds".into(),
            "fresh oil".into(),
        ],
        rows: Vec::new(),
        numeric: vec![1, 2, 3],
    };
    if question.cost_per_litre.is_some() {
        table.heads.push("cost".into());
        table.numeric.push(4);
    }
    let mut listed = Vec::new();
    for method in Method::ALL {
        let mut plan = question.plan;
        if method != plan.method {
            plan.method = method;
            plan.exchanged = method.usual_share().min(match method {
                Method::ReturnLine => f64::INFINITY,
                _ => 1.0 - plan.fill.still,
            });
        }
        let each = question.fresh.case.reservoir.volume * plan.exchanged;
        let mut row = vec![method.round().to_string(), units.show(Kind::Volume, each)];
        let found = match (blends.rounds(&plan, 0)?, blends.rounds(&plan, 1)?) {
            (Ok(worse), Ok(better)) => Some((worse.needed, better.volume, worse.volume)),
            _ => None,
        };
        row.push(found.map_or("never".into(), |(n, _, _)| n.to_string()));
        row.push(found.map_or("–".into(), |(_, low, high)| {
            from_to(low, high, |v| units.show(Kind::Volume, v))
        }));
        if let Some(price) = question.cost_per_litre {
            row.push(found.map_or("–".into(), |(_, low, high)| {
                from_to(low, high, |v| units.show(Kind::Cost, price * v * 1e3))
            }));
        }
        table.rows.push(row);
        listed.push(json!({
            "method": method.key(),
            "exchanged_share": plan.exchanged,
            "rounds_needed": found.map(|f| f.0),
            "litres_needed": found.map(|f| Kind::Volume.to_json(f.2)),
            "litres_needed_low": found.map(|f| Kind::Volume.to_json(f.1)),
        }));
    }
    Ok((table, Value::Array(listed)))
}

/// What must be borne in mind.
fn cautions(question: &Question, fresh_state: &State) -> Result<Vec<String>, Trouble> {
    let posed = &question.fresh;
    let steering = if posed.case.steering.is_some() {
        "Steering shares this circuit, and brake boost may: an oil that its seals do not stand, or air left in it, is a steering or brake fault."
    } else {
        "Where steering or brake boost shares the circuit, an oil that its seals do not stand, or air left in it, is a steering or brake fault."
    };
    let mut said = vec![
        format!("{} Pour in only what the machine's maker approves, and ask whether it may meet the old oil at all.", words::COMPATIBILITY),
        steering.to_string(),
        "Bleed the circuit as the service information says, and check level and foam after every round. Catch the old oil and hand it in.".into(),
        "How much stands still and how far it mixes are a judgment, and so is the share exchanged where it was not measured: measure what comes out and give it with --drained or --pour.".into(),
    ];
    if question.plan.method == Method::ReturnLine {
        said.push("The pump must never run dry: pour as fast as the old oil runs out, or stop the engine.".into());
    }
    let (_, operating) = State::of(&posed.case)?;
    said.extend(words::cautions(posed, fresh_state, operating.limit));
    for caution in &question.old.cautions {
        if !said.contains(caution) {
            said.push(format!("Of the old oil: {caution}"));
        }
    }
    Ok(said)
}
