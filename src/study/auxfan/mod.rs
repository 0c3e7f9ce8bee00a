//! What do electric fans buy, and what do mending the main fan or the right oil buy instead?

mod places;
mod typed;
mod wiring;

pub use places::{Fitted, MOST, Set, Spot, every, fits, mounted, mounted_as, set, spots};
pub use typed::{AMBIENT, ROAD_SPEED, Typed, WIRE, pose};
pub use wiring::{DROP, STARTING, STRANDED, Wiring, drop, wiring};

use super::answer::{Answer, Bar, Bars, Block, Chart, Curve, Mark, Table};
use super::words;
use crate::balance::{AirWay, Asked, COLDEST, Heats, Warm, at_limit, warm};
use crate::input::unit::celsius;
use crate::model::{AuxiliaryFan, Case, Machine, Mount, OilSheet, Posed};
use crate::part::{Alternator, LUGGING};
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;
use rayon::prelude::*;
use serde_json::{Value, json};

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

/// Walking pace, m/s.
const WALKING: f64 = 5.0 / 3.6;

/// Misfit of a fan's curve from which it is said.
const MISFIT: f64 = 0.1;

/// What is said where the oil gives out first.
fn oil_first(units: Units) -> String {
    format!(
        "At this engine speed the oil passes {}, where the computation ends, before the coolant reaches its limit: some of the hottest days are only known to be no colder than the day asked for. Such oil is ruined long before; look at a lower engine speed.",
        units.show(Kind::Temperature, celsius(200.0))
    )
}

const FREE: Asked = Asked {
    automatic: false,
    ..Asked::STEADY
};

/// The main fan in one state: the case, and how it is asked for.
#[derive(Clone, Copy)]
struct Main {
    case: Case,
    asked: Asked,
}

impl Main {
    /// The state on the day on which the coolant reaches its limit.
    fn limit(&self) -> Option<Warm> {
        at_limit(&self.case, self.asked, None)
    }

    /// That day's temperature, K; the coldest that counts where no day is cold enough.
    fn hottest_day(&self) -> f64 {
        self.known_day().0
    }

    /// The same, and whether the oil gives out before the coolant reaches its limit: then that day is only known to be no
    /// colder than one on which both settle, the case's own.
    fn known_day(&self) -> (f64, bool) {
        match self.limit() {
            Some(w) => (w.budget.ambient.max(COLDEST), false),
            None if self.stands() => (self.case.now.ambient, true),
            None => (COLDEST, false),
        }
    }

    /// Whether the coolant stays at or below its limit on the case's own day.
    fn stands(&self) -> bool {
        let limit = self.case.coolant.as_ref().map_or(f64::NAN, |c| c.limit);
        warm(&self.case, self.asked)
            .is_ok_and(|w| w.heats.is_none() && w.budget.coolant_temp <= limit)
    }

    fn with(&self, question: &Question, set: &Set, on: bool) -> Self {
        let case = mounted(&self.case, &question.spots, &question.fans, set, on);
        Self { case, ..*self }
    }
}

/// What a set comes to.
#[derive(Clone, Debug)]
struct Outcome {
    set: Set,
    count: usize,
    current: f64,
    mass: f64,
    hottest_day: f64,
}

/// One line of the comparison.
struct Side {
    name: String,
    key: &'static str,
    current: f64,
    warm: Warm,
    hottest_day: f64,
    /// The oil gives out before the coolant reaches its limit.
    oil_first: bool,
}

/// A machine standing, or on the climb, on the target's day.
fn situated(question: &Question, case: &Case) -> Case {
    let mut case = *case;
    case.now.ambient = question.target;
    case.now.command = 1.0;
    let Some(grade) = question.climb else {
        return case;
    };
    case.now.grade = grade;
    rolling(question, &case, WALKING)
}

/// The same at a road speed, with the engine as gear and road have it.
fn rolling(question: &Question, case: &Case, speed: f64) -> Case {
    let mut case = *case;
    case.now.road_speed = speed;
    let machine: &Machine = &question.posed.machine;
    let idle = machine.usual("idle").value;
    let by_gear = case
        .vehicle
        .as_ref()
        .and_then(|v| v.engine_speed(v.gear(speed, LUGGING), speed, idle));
    if let (Some(engine), false) = (by_gear, question.engine_given) {
        case.now.engine_speed = engine;
    }
    case
}

/// What the main fan's speed, where it is held, is of what it should be.
fn held_share(question: &Question, sound: &Case) -> Result<Option<f64>, Trouble> {
    Ok(match question.main {
        None => None,
        Some(Held::Share(share)) => Some(share),
        Some(Held::At(speed)) => Some(speed / warm(sound, FREE)?.fan_speed.max(1e-9)),
    })
}

/// The main fan as it is in a condition: held where its speed was measured.
fn as_it_is(faulty: &Case, sound: &Case, share: Option<f64>) -> Result<Main, Trouble> {
    let Some(share) = share else {
        return Ok(Main {
            case: *faulty,
            asked: FREE,
        });
    };
    let speed = share * warm(sound, FREE)?.fan_speed;
    let asked = Asked {
        fan_speed: Some(speed),
        hold_oil: true,
        ..FREE
    };
    Ok(Main {
        case: *faulty,
        asked,
    })
}

/// A case with an oil in it.
fn on_oil(case: &Case, oil: &OilSheet) -> Case {
    let mut case = *case;
    (case.oil, case.curve) = (oil.oil, oil.curve);
    case
}

/// What every set comes to.
fn search(question: &Question, main: &Main) -> Result<Vec<Outcome>, Trouble> {
    let sets = every(&main.case, &question.spots, &question.fans)?;
    let stop = &question.posed.stop;
    sets.into_par_iter()
        .map(|set| stop.check().map(|()| outcome(question, main, set)))
        .collect()
}

fn outcome(question: &Question, main: &Main, set: Set) -> Outcome {
    let each = set
        .iter()
        .flatten()
        .filter_map(|s| Some((question.fans.get(s.fan)?, s.count)));
    let (mut count, mut current, mut mass) = (0, 0.0, 0.0);
    for (fan, n) in each {
        count += n;
        current += fan.greatest_current() * n as f64;
        mass += fan.mass * n as f64;
    }
    Outcome {
        hottest_day: main.with(question, &set, true).hottest_day(),
        set,
        count,
        current,
        mass,
    }
}

/// The smallest set that meets the target: fewest fans, then least current, then least mass.
fn smallest(all: &[Outcome], target: f64) -> Option<&Outcome> {
    all.iter()
        .filter(|o| o.hottest_day >= target)
        .min_by(|a, b| {
            let by = a.count.cmp(&b.count).then(a.current.total_cmp(&b.current));
            by.then(a.mass.total_cmp(&b.mass))
        })
}

/// The set that gains most; of those that gain the same, the one that draws least.
fn best(all: &[Outcome]) -> Option<&Outcome> {
    all.iter().max_by(|a, b| {
        let by = a.hottest_day.total_cmp(&b.hottest_day);
        by.then(b.current.total_cmp(&a.current))
    })
}

/// The sets that no other beats in both degrees and current, by rising current.
fn front(all: &[Outcome]) -> Vec<&Outcome> {
    let mut sorted: Vec<&Outcome> = all.iter().collect();
    sorted.sort_by(|a, b| {
        let by = a.current.total_cmp(&b.current);
        by.then(b.hottest_day.total_cmp(&a.hottest_day))
    });
    let mut found: Vec<&Outcome> = Vec::new();
    for one in sorted {
        if found
            .last()
            .is_none_or(|last| one.hottest_day > last.hottest_day + 1e-6)
        {
            found.push(one);
        }
    }
    found
}

/// A set in words.
fn named(question: &Question, set: &Set) -> String {
    let each: Vec<String> = question
        .spots
        .iter()
        .zip(set)
        .filter_map(|(spot, one)| {
            let one = one.as_ref()?;
            let fan = question.fans.get(one.fan)?;
            let mount = match spot.mount {
                Mount::Pusher => "pusher",
                Mount::Puller => "puller",
            };
            let shroud = if spot.shroud { " in a shroud" } else { "" };
            Some(format!(
                "{} × {} as {mount}{shroud} at {} ({})",
                one.count, fan.name, spot.key, spot.ahead
            ))
        })
        .collect();
    if each.is_empty() {
        "no fan".into()
    } else {
        each.join(", ")
    }
}

/// A set in fewer words: how the fans are mounted is left out where all places have the same.
fn brief(question: &Question, set: &Set) -> String {
    let same = |s: &Spot| {
        question
            .spots
            .first()
            .is_some_and(|f| (f.mount, f.shroud) == (s.mount, s.shroud))
    };
    if !question.spots.iter().all(same) || set.iter().all(Option::is_none) {
        return named(question, set);
    }
    let each = question.spots.iter().zip(set).filter_map(|(spot, one)| {
        let one = one.as_ref()?;
        let fan = question.fans.get(one.fan)?;
        Some(format!("{} × {} at {}", one.count, fan.name, spot.key))
    });
    each.collect::<Vec<_>>().join(", ")
}

/// A limiting ambient temperature in words.
fn day(units: Units, t: f64) -> String {
    let shown = units.show(Kind::Temperature, t);
    if t > COLDEST {
        shown
    } else {
        format!("below {shown}")
    }
}

/// What must hold before the question makes sense.
fn sound(question: &Question) -> Result<(), Trouble> {
    let case = &question.posed.case;
    if let (Some(coolant), Some(thermostat)) = (&case.coolant, &case.thermostat)
        && !thermostat.is_open(coolant.limit)
    {
        return Err(Trouble::input(
            "a coolant limit at which the thermostat is not full open",
            "[coolant] limit at or above [thermostat] full",
        ));
    }
    if question.climb.is_some() && case.vehicle.is_none() {
        return Err(Trouble::input(
            "a climb for a machine without [vehicle]",
            "a machine that drives",
        )
        .at("--climb"));
    }
    if let Some(Held::Share(share)) = question.main
        && !(0.0..=1.0).contains(&share)
    {
        return Err(Trouble::input(
            format!(
                "a main fan at {} of what it should make",
                Units::Si.show(Kind::Share, share)
            ),
            "0 to 100 %",
        )
        .at("--fan-speed"));
    }
    Ok(())
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Trouble> {
    sound(question)?;
    let posed = &question.posed;
    let mended = Main {
        case: situated(question, &question.sound),
        asked: FREE,
    };
    let faulty = situated(question, &posed.case);
    let share = held_share(question, &mended.case)?;
    let main = as_it_is(&faulty, &mended.case, share)?;
    let slow = share.is_some() || posed.case != question.sound;

    // The right oil, where it is not in it already; a speed that was measured goes with what the sound machine does.
    let other_oil = question.right_oil.name != posed.oil.name;
    let oiled = Main {
        case: on_oil(&main.case, &question.right_oil),
        asked: Asked {
            fan_speed: match main.asked.fan_speed {
                Some(speed) => {
                    let now = warm(&mended.case, FREE)?.fan_speed.max(1e-9);
                    let then = warm(&on_oil(&mended.case, &question.right_oil), FREE)?.fan_speed;
                    Some(speed * then / now)
                }
                None => None,
            },
            ..main.asked
        },
    };
    let mended_oiled = Main {
        case: on_oil(&mended.case, &question.right_oil),
        ..mended
    };

    // That the machine can be balanced at all is found here.
    let base = side("as it is", "as_it_is", &main, 0.0)?;
    let met = base.hottest_day >= question.target;
    // Where the oil gives out first, one set is as good as the next.
    let all = if met && base.oil_first {
        Vec::new()
    } else {
        search(question, &main)?
    };
    let tried = question
        .tried
        .as_ref()
        .map(|set| outcome(question, &main, set.clone()));
    let chosen = match (&tried, met) {
        (Some(tried), _) => Some(tried),
        (None, true) => None,
        (None, false) => smallest(&all, question.target)
            .or(best(&all))
            .filter(|o| o.hottest_day > base.hottest_day),
    };

    let mut sides = vec![base];
    let mended_words = match question.main {
        Some(_) => "main fan mended",
        None => "faults mended",
    };
    let mut add = |name: &str, key, main: &Main, current| {
        sides.push(side(name, key, main, current)?);
        Ok::<_, Trouble>(())
    };
    if let Some(one) = chosen {
        add(
            "these fans",
            "fans",
            &main.with(question, &one.set, true),
            one.current,
        )?;
    }
    if other_oil {
        add("right oil", "right_oil", &oiled, 0.0)?;
        if let Some(one) = chosen {
            add(
                "these fans and right oil",
                "fans_and_right_oil",
                &oiled.with(question, &one.set, true),
                one.current,
            )?;
        }
    }
    if slow {
        add(mended_words, "mended", &mended, 0.0)?;
        if other_oil {
            add(
                &format!("{mended_words}, right oil"),
                "mended_and_right_oil",
                &mended_oiled,
                0.0,
            )?;
        }
        if let Some(one) = chosen {
            let with = mended.with(question, &one.set, true);
            add(
                &format!("{mended_words}, and these fans"),
                "mended_and_fans",
                &with,
                one.current,
            )?;
        }
    }

    let mut answer = Answer {
        question: "auxfan",
        case: said(question, share, &sides[0]),
        ..Answer::default()
    };
    let what_would = if met || chosen.is_some_and(|o| o.hottest_day >= question.target) {
        None
    } else {
        Some(what_would(question, &sides, slow, &mended)?)
    };
    answer.blocks.push(Block::Headline(headline(
        question,
        &sides,
        chosen,
        met,
        what_would.as_deref(),
    )));
    for line in verdict(question, &sides, chosen, slow, other_oil) {
        answer.blocks.push(Block::Sentence(line));
    }
    answer
        .blocks
        .push(Block::Table(comparison(question, &sides)));
    answer.blocks.push(Block::Bars(bars(question, &sides)));

    let mut numbers = serde_json::Map::new();
    if let Some(one) = chosen {
        let points = points(question, &main, &one.set);
        answer
            .blocks
            .push(Block::Table(points_table(question, &points)));
        answer
            .blocks
            .extend(curves(question, &main, &one.set).map(Block::Chart));
        for line in electrical(question, one, &points, &mut answer.cautions) {
            answer.blocks.push(Block::Sentence(line));
        }
        answer.blocks.push(Block::Table(wires(question, &one.set)));
        numbers.insert(
            "points".into(),
            Value::Array(points.iter().map(|p| p.json(question)).collect()),
        );
        if let Some((line, plain, off)) = road(question, share, &one.set)? {
            answer.blocks.push(Block::Sentence(line));
            words::put(
                &mut numbers,
                "road_limiting_ambient",
                Kind::Temperature,
                plain,
            );
            words::put(
                &mut numbers,
                "road_limiting_ambient_fans_off",
                Kind::Temperature,
                off,
            );
        }
        answer
            .cautions
            .extend(set_cautions(question, one, &points, &main));
    }
    let front = front(&all);
    if let Some(chart) = gains(question, &sides, &front, chosen) {
        answer.blocks.push(Block::Chart(chart));
    }
    if !front.is_empty() {
        let table = front_table(question, &sides[0], &front);
        answer.blocks.push(Block::Table(table));
    }
    answer.series = series(question, &sides[0], &all);
    answer.blocks.push(Block::Next(next(question, slow).into()));
    answer.blocks.push(Block::Safety(safety()));
    answer.cautions.splice(0..0, posed.cautions.iter().cloned());
    if sides.iter().any(|s| s.oil_first) {
        answer.cautions.push(oil_first(posed.units));
    }
    answer.cautions.push(format!(
        "Absolute temperatures standing still are credible to about {} without a reading of your own; the differences are better. {}",
        words::credible(posed.units),
        "How much of the air comes round again, what a pusher loses against a puller, and what a standing fan blocks are judgments."
    ));

    words::put(
        &mut numbers,
        "target_ambient",
        Kind::Temperature,
        question.target,
    );
    numbers.insert("already_met".into(), json!(met));
    numbers.insert(
        "target_met".into(),
        json!(met || chosen.is_some_and(|o| o.hottest_day >= question.target)),
    );
    numbers.insert("sets_tried".into(), json!(all.len()));
    numbers.insert("set".into(), json!(chosen.map(|o| named(question, &o.set))));
    words::put(
        &mut numbers,
        "set_current",
        Kind::Current,
        chosen.map_or(0.0, |o| o.current),
    );
    words::put(
        &mut numbers,
        "set_starting_current",
        Kind::Current,
        chosen.map_or(0.0, |o| STARTING * o.current),
    );
    words::put(
        &mut numbers,
        "alternator_spare",
        Kind::Current,
        alternator(&posed.case).spare(),
    );
    let floor = |t: f64| (t > COLDEST).then(|| Kind::Temperature.to_json(t));
    let side_json = |s: &Side| {
        let steady = s.warm.heats.is_none();
        json!({
            "key": s.key,
            "name": s.name,
            "fan_speed_rpm": Kind::Speed.to_json(s.warm.fan_speed),
            "airflow_m3_per_s": s.warm.budget.draft.flow,
            "current_a": s.current,
            "limiting_ambient_c": floor(s.hottest_day),
            "gained_k": s.hottest_day - sides[0].hottest_day,
            "steady": steady,
            "coolant_temp_c": steady.then(|| Kind::Temperature.to_json(s.warm.budget.coolant_temp)),
        })
    };
    numbers.insert(
        "side_by_side".into(),
        Value::Array(sides.iter().map(side_json).collect()),
    );
    let front_json = |o: &&Outcome| {
        json!({
            "set": named(question, &o.set),
            "current_a": o.current,
            "mass_kg": o.mass,
            "limiting_ambient_c": floor(o.hottest_day),
            "gained_k": o.hottest_day - sides[0].hottest_day,
        })
    };
    numbers.insert(
        "front".into(),
        Value::Array(front.iter().map(front_json).collect()),
    );
    answer.numbers = numbers;
    Ok(answer)
}

fn side(name: &str, key: &'static str, main: &Main, current: f64) -> Result<Side, Trouble> {
    let (hottest_day, oil_first) = main.known_day();
    Ok(Side {
        name: name.into(),
        key,
        current,
        warm: warm(&main.case, main.asked)?,
        hottest_day,
        oil_first,
    })
}

/// The alternator of a machine, or a usual one.
fn alternator(case: &Case) -> Alternator {
    case.alternator.unwrap_or_else(Alternator::<f64>::usual)
}

fn find<'a>(sides: &'a [Side], key: &str) -> Option<&'a Side> {
    sides.iter().find(|s| s.key == key)
}

fn said(question: &Question, share: Option<f64>, base: &Side) -> Vec<(String, String)> {
    let units = question.posed.units;
    let dropped = [
        "oil temperature",
        "command",
        "air at the fan",
        "engine speed",
    ];
    let mut said: Vec<(String, String)> = question
        .posed
        .said
        .iter()
        .filter(|(label, _)| !dropped.contains(&label.as_str()) && !label.starts_with("now."))
        .cloned()
        .collect();
    let now = &base.warm.case.now;
    let mut say = |label: &str, value: String| said.push((label.into(), value));
    say("engine speed", units.show(Kind::Speed, now.engine_speed));
    say("outer air", units.show(Kind::Temperature, question.target));
    match question.climb {
        Some(grade) => say("climb at walking pace", units.show(Kind::Share, grade)),
        None => say("road", "standing".into()),
    }
    say(
        "air conditioning",
        units.show(Kind::Share, now.air_conditioning),
    );
    say("command", "full".into());
    if let Some(share) = share {
        say(
            "main fan held at",
            format!("{} of what it should make", units.show(Kind::Share, share)),
        );
    }
    say("right oil", question.right_oil.name.clone());
    let place = |spot: &Spot| {
        let share = units.show(Kind::Share, spot.share);
        format!("{} ({}, {share} of the face)", spot.key, spot.ahead)
    };
    let places: Vec<String> = question.spots.iter().map(place).collect();
    say("places for electric fans", places.join(", "));
    said
}

fn where_(question: &Question) -> &'static str {
    match question.climb {
        Some(_) => "climb at walking pace",
        None => "stand",
    }
}

fn headline(
    question: &Question,
    sides: &[Side],
    chosen: Option<&Outcome>,
    met: bool,
    what_would: Option<&str>,
) -> String {
    let units = question.posed.units;
    let base = &sides[0];
    let target = units.show(Kind::Temperature, question.target);
    let now = day(units, base.hottest_day);
    let tried = question.tried.is_some();
    let mended = find(sides, "mended").map_or(String::new(), |m| {
        format!(
            " Mending what is wrong raises it to {}.",
            day(units, m.hottest_day)
        )
    });
    match chosen {
        None if met => format!(
            "No electric fan is needed: as it is, this machine can {} on a day of up to {now}, and {target} is asked for.{mended}",
            where_(question)
        ),
        None => format!(
            "None of these fans in these places raises the hottest day on which this machine can {}, {now}.{mended}{}",
            where_(question),
            what_would.map_or(String::new(), |w| format!(" {w}"))
        ),
        Some(one) => {
            let set = named(question, &one.set);
            let then = day(units, one.hottest_day);
            let first = if one.hottest_day >= question.target {
                let what = if tried {
                    ""
                } else {
                    "The smallest set that does it: "
                };
                let already = if met {
                    " The target was met without them."
                } else {
                    ""
                };
                format!(
                    "{what}{set}. The hottest day on which this machine can {} goes from {now} to {then}; {target} is asked for.{already}",
                    where_(question)
                )
            } else {
                let what = if tried {
                    "Not enough: "
                } else {
                    "No set of these fans is enough; the best, "
                };
                format!(
                    "{what}{set}, moves the hottest day on which this machine can {} from {now} to {then}; {target} is asked for.",
                    where_(question)
                )
            };
            format!(
                "{first}{mended}{}",
                what_would.map_or(String::new(), |w| format!(" {w}"))
            )
        }
    }
}

/// What would meet the target where these fans do not.
fn what_would(
    question: &Question,
    sides: &[Side],
    slow: bool,
    mended: &Main,
) -> Result<String, Trouble> {
    let target = question.target;
    let by = |key: &str| find(sides, key).is_some_and(|s| s.hottest_day >= target);
    if by("right_oil") {
        return Ok("The right oil alone would do.".into());
    }
    if by("mended") {
        return Ok("That alone would do.".into());
    }
    if by("mended_and_right_oil") {
        return Ok("Mending it and the right oil would do together.".into());
    }
    if slow {
        let all = search(question, mended)?;
        if let Some(one) = smallest(&all, target) {
            return Ok(format!(
                "With that mended, {} would do.",
                named(question, &one.set)
            ));
        }
    }
    let sealed = Main {
        case: mended.case.with(
            crate::input::Input::find("air.recirculation").unwrap_or(crate::input::Input(0)),
            0.0,
        ),
        ..*mended
    };
    let all = search(question, &sealed)?;
    if let Some(one) = smallest(&all, target) {
        let with = if one.count == 0 {
            String::new()
        } else {
            format!(" and {}", named(question, &one.set))
        };
        return Ok(format!(
            "Seals about the core that let no hot air come round again{with} would do."
        ));
    }
    let takes = if oil_heats(&warm(&sealed.case, sealed.asked)?) {
        "it is the oil that heats without end, so it takes a larger oil cooler, or a lower engine speed"
    } else {
        "it takes a larger core, less heat, or other fans than these"
    };
    Ok(format!(
        "Nor would a sound main fan with them and tight seals about the core: {takes}."
    ))
}

/// Whether it is the oil that cannot give off its heat.
fn oil_heats(warm: &Warm) -> bool {
    warm.heats == Some(Heats::Oil)
}

/// The comparison in words.
fn verdict(
    question: &Question,
    sides: &[Side],
    chosen: Option<&Outcome>,
    slow: bool,
    other_oil: bool,
) -> Vec<String> {
    let units = question.posed.units;
    let base = sides[0].hottest_day;
    let degrees = |k: f64| units.show(Kind::TemperatureDifference, k);
    let more = if base > COLDEST { "" } else { "at least " };
    let mut lines = Vec::new();
    if base <= COLDEST {
        let what = if oil_heats(&sides[0].warm) {
            "the oil"
        } else {
            "it"
        };
        lines.push(format!(
            "As it is, no day is cold enough: {what} heats without end, so gains are counted from {}.",
            units.show(Kind::Temperature, COLDEST)
        ));
    }
    if let Some(fans) = chosen.map(|o| o.hottest_day - base) {
        let text = match find(sides, "mended").map(|m| m.hottest_day - base) {
            Some(mend) if mend > 0.5 => {
                let part = fans / mend;
                let shown = units.show(Kind::Share, part);
                let word = if part < 0.5 {
                    "They mask the trouble and do not mend it"
                } else if part < 1.0 {
                    "They make up for much of it, and the trouble stays"
                } else {
                    "They do more than mending would, and the trouble stays"
                };
                format!(
                    "These fans gain {more}{}, {more}{shown} of the {}{} that mending gains. {word}.",
                    degrees(fans),
                    degrees(mend),
                    if more.is_empty() { "" } else { " or more" }
                )
            }
            _ if slow => format!(
                "These fans gain {more}{}; mending what is wrong gains nothing here.",
                degrees(fans)
            ),
            _ => format!(
                "The machine is taken as sound, so these fans add to what it should do: {}.",
                degrees(fans)
            ),
        };
        lines.push(text);
    }
    if let Some(oil) = find(sides, "right_oil") {
        let change = oil.hottest_day - base;
        let word = if change.abs() < 0.5 {
            "changes next to nothing".to_string()
        } else if change > 0.0 {
            format!("gains {}", degrees(change))
        } else {
            format!("costs {}", degrees(-change))
        };
        lines.push(format!(
            "The right oil ({}) by itself {word} here, the fan at {} in place of {}.",
            question.right_oil.name,
            units.show(Kind::Speed, oil.warm.fan_speed),
            units.show(Kind::Speed, sides[0].warm.fan_speed)
        ));
    } else if !other_oil {
        lines.push("The right oil is in it already, so there is nothing to gain by it.".into());
    }
    lines.push(
        "All at full command with the thermostat open. The measure is the hottest day on which the coolant stays at its limit, as that exists where a steady coolant temperature does not.".into(),
    );
    lines
}

fn comparison(question: &Question, sides: &[Side]) -> Table {
    let units = question.posed.units;
    let target = units.show(Kind::Temperature, question.target);
    Table {
        title: "Side by side".into(),
        heads: vec![
            String::new(),
            "main fan".into(),
            "air".into(),
            "electric".into(),
            format!("coolant at {target}"),
            "hottest day".into(),
            "gained".into(),
        ],
        rows: sides
            .iter()
            .map(|s| {
                vec![
                    s.name.clone(),
                    units.show(Kind::Speed, s.warm.fan_speed),
                    units.show(Kind::AirFlow, s.warm.budget.draft.flow),
                    units.show(Kind::Current, s.current),
                    words::coolant(units, &s.warm),
                    day(units, s.hottest_day),
                    units.show(
                        Kind::TemperatureDifference,
                        s.hottest_day - sides[0].hottest_day,
                    ),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4, 5, 6],
    }
}

fn bars(question: &Question, sides: &[Side]) -> Bars {
    let units = question.posed.units;
    let target = units.show(Kind::Temperature, question.target);
    let bar = |s: &Side| Bar {
        name: s.name.clone(),
        value: units.number(Kind::Temperature, s.hottest_day),
        range: None,
        note: match s.hottest_day > COLDEST {
            true => format!("coolant at {target}: {}", words::coolant(units, &s.warm)),
            false => "or colder: heats without end".into(),
        },
    };
    let mut rows: Vec<Bar> = sides.iter().map(bar).collect();
    rows.push(Bar {
        name: "asked for".into(),
        value: units.number(Kind::Temperature, question.target),
        ..Bar::default()
    });
    Bars {
        title: "Hottest day on which the coolant stays at its limit, before and after".into(),
        label: format!(
            "limiting ambient temperature, {}",
            units.unit(Kind::Temperature)
        ),
        rows,
    }
}

/// Where the fans at one spot work.
struct Working {
    spot: usize,
    count: f64,
    /// Flow of one fan, m³/s.
    flow: f64,
    pressure: f64,
    current: f64,
    /// Flow over the data sheet's at no pressure.
    of_free: f64,
    /// Pressure that the air behind the core gives; negative where it stands against the fan.
    helped: f64,
    beyond: bool,
    back: f64,
}

impl Working {
    fn json(&self, question: &Question) -> Value {
        json!({
            "place": question.spots.get(self.spot).map(|s| s.key.clone()),
            "fans": self.count,
            "flow_each_m3_per_s": self.flow,
            "static_pressure_pa": self.pressure,
            "current_each_a": self.current,
            "of_free_flow": self.of_free,
            "pressure_over_core_pa": self.helped,
        })
    }
}

/// The warm state in which operating points are shown: the day of the limit, or the target's day where there is none.
fn shown(main: &Main) -> Option<Warm> {
    main.limit().or_else(|| warm(&main.case, main.asked).ok())
}

fn points(question: &Question, main: &Main, set: &Set) -> Vec<Working> {
    let Some(warm) = shown(&main.with(question, set, true)) else {
        return Vec::new();
    };
    let Some(way) = AirWay::of(&warm.case) else {
        return Vec::new();
    };
    let draft = &warm.budget.draft;
    let each = question.spots.iter().zip(set).enumerate();
    each.filter_map(|(k, (spot, one))| {
        let one = one.as_ref()?;
        let fan = question.fans.get(one.fan)?;
        let count = one.count as f64;
        let (zone, v) = (way.zones.get(spot.slot)?, *draft.speed.get(spot.slot)?);
        let at_fan = match spot.mount {
            Mount::Pusher => way.outer,
            Mount::Puller => way.inner,
        };
        let flow = zone.area * v * way.outer / at_fan / count;
        // On the data sheet's curve.
        let sheet = flow / mounted_as(fan, spot.mount).0;
        Some(Working {
            spot: k,
            count,
            flow,
            pressure: zone.fan_pressure(v),
            current: fan.current_at(sheet),
            of_free: flow / fan.free_flow,
            helped: draft.over_core,
            beyond: fan.points.last().is_some_and(|p| sheet > p.flow)
                || fan.points.first().is_some_and(|p| sheet < p.flow),
            back: draft.back / (draft.mass + draft.back).max(1e-12),
        })
    })
    .collect()
}

fn points_table(question: &Question, points: &[Working]) -> Table {
    let units = question.posed.units;
    Table {
        title: "Where the fans work, on the day of the limit".into(),
        heads: [
            "place",
            "air of each",
            "of its free flow",
            "static pressure",
            "air behind helps with",
            "current of each",
        ]
        .map(String::from)
        .to_vec(),
        rows: points
            .iter()
            .map(|p| {
                vec![
                    question
                        .spots
                        .get(p.spot)
                        .map_or(String::new(), |s| format!("{} ({})", s.key, s.ahead)),
                    units.show(Kind::AirFlow, p.flow),
                    units.show(Kind::Share, p.of_free),
                    units.show(Kind::AirPressure, p.pressure),
                    units.show(Kind::AirPressure, p.helped),
                    units.show(Kind::Current, p.current),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }
}

/// The fans' curves over what they must overcome, each place's own.
fn curves(question: &Question, main: &Main, set: &Set) -> Option<Chart> {
    const STEPS: usize = 41;
    let units = question.posed.units;
    let warm = shown(&main.with(question, set, true))?;
    let way = AirWay::of(&warm.case)?;
    let draft = &warm.budget.draft;
    let (x, y) = (
        |q: f64| units.number(Kind::AirFlow, q),
        |p: f64| units.number(Kind::AirPressure, p),
    );
    let mut chart = Chart {
        title: "The fans' curves over what the core asks of them".into(),
        x_label: format!("air through the place, {}", units.unit(Kind::AirFlow)),
        y_label: format!("static pressure, {}", units.unit(Kind::AirPressure)),
        ..Chart::default()
    };
    for (spot, one) in question.spots.iter().zip(set) {
        let Some((one, fan)) = one
            .as_ref()
            .and_then(|o| Some((o, question.fans.get(o.fan)?)))
        else {
            continue;
        };
        let (Some(zone), Some(at)) = (way.zones.get(spot.slot), draft.speed.get(spot.slot)) else {
            continue;
        };
        let free = fan.free_flow * mounted_as(fan, spot.mount).0 * one.count as f64;
        let most = (1.1 * free).max(1.1 * zone.area * at) / zone.area;
        let line = |name: String, f: &dyn Fn(f64) -> f64, from: f64| Curve {
            name,
            points: (0..STEPS)
                .map(|k| most * k as f64 / (STEPS - 1) as f64)
                .map(|v| {
                    (
                        x(zone.area * v),
                        if f(v) >= from { y(f(v)) } else { f64::NAN },
                    )
                })
                .collect(),
            band: Vec::new(),
        };
        let top = 1.25 * zone.fan_pressure(0.0);
        let asks = |v: f64| {
            let p = zone.resistance(v) - draft.over_core;
            if p <= top { p } else { f64::NAN }
        };
        let mount = match spot.mount {
            Mount::Pusher => "pusher",
            Mount::Puller => "puller",
        };
        let name = format!("{} × {} as {mount}", one.count, fan.name);
        if !chart.curves.iter().any(|c| c.name == name) {
            let curve = line(name, &|v| zone.fan_pressure(v), 0.0);
            chart.curves.push(curve);
        }
        chart
            .curves
            .push(line(format!("asked at {}", spot.key), &asks, -0.3 * top));
        chart.marks.push(Mark {
            name: spot.key.clone(),
            x: x(zone.area * at),
            y: y(zone.fan_pressure(*at)),
            spread: 0.0,
        });
    }
    Some(chart)
}

/// Amperes against what the alternator has to spare.
fn electrical(
    question: &Question,
    one: &Outcome,
    points: &[Working],
    cautions: &mut Vec<String>,
) -> Vec<String> {
    let units = question.posed.units;
    let amps = |a: f64| units.show(Kind::Current, a);
    let alternator = alternator(&question.posed.case);
    let spare = alternator.spare();
    let running: f64 = points.iter().map(|p| p.current * p.count).sum();
    let mut lines = vec![format!(
        "They draw {} where they work, {} at most, and about {} for a moment when all start at once (3 times; 2 to 3 times is common practice, no source): start them one after the other.",
        amps(running),
        amps(one.current),
        amps(STARTING * one.current)
    )];
    lines.push(format!(
        "At idle the alternator gives {}, of which {} {} left{}.",
        amps(alternator.idle_output),
        amps(spare.max(0.0)),
        if spare > 0.0 { "are" } else { "is" },
        if spare >= one.current {
            ": enough".to_string()
        } else {
            format!(": {} too little", amps(one.current - spare.max(0.0)))
        }
    ));
    if spare < one.current {
        cautions.push("At idle the alternator cannot carry these fans: the battery runs down while they help. A raised idle, a larger alternator, or fewer fans.".into());
    }
    if question.posed.case.alternator.is_none() {
        cautions.push("The machine file has no [alternator]: usual values are taken.".into());
    }
    lines.push(format!(
        "That takes {} at the alternator's shaft, whose heat in the engine is counted.",
        units.show(Kind::Power, alternator.shaft_power(one.current))
    ));
    lines
}

fn wires(question: &Question, set: &Set) -> Table {
    let units = question.posed.units;
    let voltage = alternator(&question.posed.case).voltage;
    let mut kinds: Vec<usize> = set.iter().flatten().map(|s| s.fan).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let row = |fan: &AuxiliaryFan| {
        let current = fan.greatest_current();
        let mut row = vec![
            fan.name.clone(),
            units.show(Kind::Current, current),
            units.show(Kind::Current, STARTING * current),
        ];
        row.extend(match wiring(current, voltage, question.wire) {
            Some(w) => [
                units.show(Kind::Current, w.fuse),
                format!("{} mm²", w.size),
                w.gauge.map_or("-".into(), |g| format!("AWG {g}")),
                units.show(Kind::Voltage, w.drop),
            ],
            None => ["-", "thicker than 35 mm²", "-", "-"].map(String::from),
        });
        row
    };
    Table {
        title: format!(
            "Wire and fuse of each fan, {} one way at {}",
            units.show(Kind::HoseLength, question.wire),
            units.show(Kind::Voltage, voltage)
        ),
        heads: [
            "fan",
            "running, at most",
            "starting",
            "fuse",
            "wire",
            "or gauge",
            "lost there and back",
        ]
        .map(String::from)
        .to_vec(),
        rows: kinds
            .iter()
            .filter_map(|k| question.fans.get(*k))
            .map(row)
            .collect(),
        numeric: vec![1, 2, 3, 4, 5, 6],
    }
}

/// What the fans cost on the road when they are off: words, and the limiting ambient temperature without and with them.
fn road(
    question: &Question,
    share: Option<f64>,
    set: &Set,
) -> Result<Option<(String, f64, f64)>, Trouble> {
    let units = question.posed.units;
    if question.posed.case.vehicle.is_none() {
        return Ok(None);
    }
    let at = |case: &Case| {
        let mut case = *case;
        (case.now.grade, case.now.command, case.now.ambient) = (0.0, 1.0, question.target);
        rolling(question, &case, question.road_speed)
    };
    let main = as_it_is(&at(&question.posed.case), &at(&question.sound), share)?;
    let (plain, off) = (
        main.hottest_day(),
        main.with(question, set, false).hottest_day(),
    );
    let speed = units.show(Kind::RoadSpeed, question.road_speed);
    let line = if plain <= COLDEST {
        format!(
            "At {speed} on a level road no day is cold enough for this machine as it is, with or without fans in the way."
        )
    } else {
        let change = off - plain;
        let word = if change < 0.0 { "costs" } else { "gains" };
        format!(
            "On a level road at {speed}, off and in the way, they move the hottest day from {} to {}: that {word} {} of margin.",
            day(units, plain),
            day(units, off),
            units.show(Kind::TemperatureDifference, change.abs())
        )
    };
    Ok(Some((line, plain, off)))
}

fn set_cautions(
    question: &Question,
    one: &Outcome,
    points: &[Working],
    main: &Main,
) -> Vec<String> {
    let units = question.posed.units;
    let mut said = Vec::new();
    if let Some(back) = points.iter().map(|p| p.back).find(|b| *b > 0.005) {
        said.push(format!(
            "The fans press more air in than the main fan takes away: {} of it comes back out of the face beside them, and half of that round again (a judgment). A shroud or flaps would help more than a stronger fan.",
            units.show(Kind::Share, back)
        ));
    }
    if points.iter().any(|p| p.helped < 0.0) {
        said.push(
            "The air behind the core stands against the fans: a main fan so slow is in their way."
                .into(),
        );
    }
    let main_alone = shown(main).map(|w| w.budget.draft.flow);
    let with = shown(&main.with(question, &one.set, true)).map(|w| w.budget.draft.flow);
    if let (Some(alone), Some(with)) = (main_alone, with)
        && with < alone
    {
        said.push(
            "With them on, less air comes through in all than without: they starve the main fan."
                .into(),
        );
    }
    let used = one
        .set
        .iter()
        .flatten()
        .filter_map(|s| question.fans.get(s.fan));
    for fan in used {
        if fan.misfit > MISFIT {
            said.push(format!(
                "The curve that is fitted to {} lies off its points by up to {} of its greatest pressure.",
                fan.name,
                units.show(Kind::Share, fan.misfit)
            ));
        }
    }
    if points.iter().any(|p| p.beyond) {
        said.push(
            "A fan works outside the points of its data sheet, on the fitted curve drawn on."
                .into(),
        );
    }
    said.push("Electric fans are rated with nothing before them; 40 to 60 % of that is what usually arrives through stacked cores (common practice, no source).".into());
    said
}

/// Degrees gained over amperes, with what mending and oil gain beside it.
fn gains(
    question: &Question,
    sides: &[Side],
    front: &[&Outcome],
    chosen: Option<&Outcome>,
) -> Option<Chart> {
    if front.len() < 2 {
        return None;
    }
    let units = question.posed.units;
    let base = sides[0].hottest_day;
    let y = |t: f64| units.number(Kind::TemperatureDifference, t - base);
    let levels = [
        ("mended", "mended, no fan"),
        ("right_oil", "right oil, no fan"),
    ]
    .into_iter()
    .filter_map(|(key, name)| Some((name.to_string(), y(find(sides, key)?.hottest_day))))
    .chain([("asked for".to_string(), y(question.target))])
    .filter(|(_, v)| *v >= 0.0)
    .collect();
    Some(Chart {
        title: "Degrees gained over amperes: the best sets".into(),
        x_label: format!("current at most, {}", units.unit(Kind::Current)),
        y_label: format!(
            "gain of the hottest day, {}",
            units.unit(Kind::TemperatureDifference)
        ),
        y_from_zero: true,
        curves: vec![Curve {
            name: "best set for its current".into(),
            points: front
                .iter()
                .map(|o| (o.current, y(o.hottest_day)))
                .collect(),
            band: Vec::new(),
        }],
        marks: chosen
            .map(|o| Mark {
                name: "these fans".into(),
                x: o.current,
                y: y(o.hottest_day),
                spread: 0.0,
            })
            .into_iter()
            .collect(),
        levels,
        ..Chart::default()
    })
}

fn front_table(question: &Question, base: &Side, front: &[&Outcome]) -> Table {
    let units = question.posed.units;
    Table {
        title: "The best sets, each the best for its current".into(),
        heads: ["set", "current", "mass", "hottest day", "gained"]
            .map(String::from)
            .to_vec(),
        rows: front
            .iter()
            .map(|o| {
                vec![
                    brief(question, &o.set),
                    units.show(Kind::Current, o.current),
                    units.show(Kind::Mass, o.mass),
                    day(units, o.hottest_day),
                    units.show(
                        Kind::TemperatureDifference,
                        o.hottest_day - base.hottest_day,
                    ),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4],
    }
}

fn series(question: &Question, base: &Side, all: &[Outcome]) -> Table {
    Table {
        title: String::new(),
        heads: [
            "set",
            "fans",
            "current_a",
            "mass_kg",
            "limiting_ambient_c",
            "gained_k",
        ]
        .map(String::from)
        .to_vec(),
        rows: all
            .iter()
            .map(|o| {
                vec![
                    named(question, &o.set),
                    o.count.to_string(),
                    format!("{:.2}", o.current),
                    format!("{:.2}", o.mass),
                    if o.hottest_day > COLDEST {
                        format!("{:.2}", o.hottest_day - 273.15)
                    } else {
                        String::new()
                    },
                    format!("{:.2}", o.hottest_day - base.hottest_day),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }
}

fn next(question: &Question, slow: bool) -> &'static str {
    if slow || question.main.is_some() {
        "what makes the main fan slow, with readings (suspects), before a fan is bought. After fitting: hold a strip of paper to each fan; one that is wired the wrong way round pulls against the main fan."
    } else {
        "the main fan's own speed at full command, before a fan is bought. After fitting: hold a strip of paper to each fan; one that is wired the wrong way round pulls against the main fan."
    }
}

fn safety() -> Vec<String> {
    let mut lines = vec![
        "A fuse of its own for each fan, near the battery or alternator; a relay and terminals for its starting current. Wire, fuse and relay follow local wiring practice, the fan's data sheet and the machine's service information before this.".to_string(),
        "Take the battery off before wiring. Electric fans start by themselves, some with the engine off: keep hands and cords out of their plane.".to_string(),
        "Do not fix a fan to the core with ties through its fins, and leave a condenser's lines alone: refrigerant is for licensed practice.".to_string(),
    ];
    lines.extend(words::safety());
    lines
}
