//! How warm do coolant and oil get along a trip, when, and what does the fan do meanwhile?

mod spread;

use self::spread::Spread;
use super::answer::{Answer, Block, Chart, Curve, Stretch, Table};
use super::words;
use crate::balance::{Asked, Course, Happening, Limit, Moment, Rules, Stored, travel, warm};
use crate::fault;
use crate::model::{Ask, Case, Leg, Posed, Profile, Shelf};
use crate::quantity::{Kind, Units};
use crate::trouble::{Trouble, Troubles};
use serde_json::{Map, Value, json};

/// How long idling is followed after the trip, s.
const IDLING: f64 = 3600.0;

/// A side's name of more letters than this is too long for the head of a column.
const LONG: usize = 24;

/// Share of the trip below which a stretch of one limit is not shaded by itself.
const SHORT: f64 = 0.02;

/// Oil temperature, K, above which such drives are not meant to run *(common practice, no source)*.
const HOT_OIL: f64 = 366.15;

/// The most lines of what happened.
const TOLD: usize = 24;

/// One machine on a trip.
#[derive(Clone, Debug)]
pub struct Side {
    /// What it is called beside the other.
    pub name: String,
    /// Machine, oil, faults.
    pub posed: Posed,
    /// The oil's temperature at the beginning, K, where it was asked for.
    pub oil_temp: Option<f64>,
    /// The command that is imposed all along.
    pub command: Option<f64>,
}

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// This machine.
    pub side: Side,
    /// What it is held against.
    pub against: Option<Side>,
    /// The trip.
    pub profile: Profile,
    /// All begins as cold as the day.
    pub cold: bool,
}

/// What a trip is held against, as typed; nothing where it is the same.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Against {
    /// Another oil.
    pub oil: Option<String>,
    /// Another oil temperature at the beginning.
    pub oil_temp: Option<String>,
    /// Other faults, each as `worn-pump=0.4`.
    pub with: Vec<String>,
}

/// Understands what is asked, as typed, on a trip as far as it could be read. A faulty machine is held against the sound one where nothing else is asked for.
pub fn pose(
    ask: &Ask,
    with: &[String],
    against: &Against,
    profile: Result<Profile, Troubles>,
    cold: bool,
    shelf: Shelf,
) -> Result<Question, Troubles> {
    let mut troubles = Troubles::new();
    let profile = profile.map_err(|t| troubles.extend(t)).ok();
    let mut ask = ask.clone();
    if ask.command.as_deref().map(str::trim) == Some("automatic") {
        ask.command = None;
    }
    let side = |name: String, ask: &Ask, with: &[String], flag: &str| {
        let mut posed = ask.pose(shelf)?;
        fault::put_on(&mut posed, with, flag)?;
        let now = posed.case.now;
        Ok::<_, Troubles>(Side {
            name,
            oil_temp: ask.oil_temp.is_some().then_some(now.oil_temp),
            command: ask.command.is_some().then_some(now.command),
            posed,
        })
    };
    let mut other = ask.clone();
    other.oil = against.oil.clone().or(other.oil);
    other.oil_temp = against.oil_temp.clone().or(other.oil_temp);
    let (own, held, flag) = match (&against.oil, &against.oil_temp, against.with.as_slice()) {
        (None, None, []) if with.is_empty() => (String::new(), None, ""),
        (None, None, []) => (
            with.join(", "),
            Some(("sound".to_string(), &[][..])),
            "--with",
        ),
        (None, None, faults) => {
            let name = if with.is_empty() {
                "as asked".into()
            } else {
                with.join(", ")
            };
            (name, Some((faults.join(", "), faults)), "--against-with")
        }
        (oil, oil_temp, faults) => {
            let name = [
                oil.as_ref().map(|o| format!("on {o}")),
                oil_temp.as_ref().map(|t| format!("oil from {t}")),
                (!faults.is_empty()).then(|| faults.join(", ")),
            ];
            let name = name.into_iter().flatten().collect::<Vec<_>>().join(", ");
            // Another oil is compared with the same faults.
            let faults = if faults.is_empty() { with } else { faults };
            (
                "as asked".to_string(),
                Some((name, faults)),
                "--against-with",
            )
        }
    };
    let here = side(own, &ask, with, "--with")
        .map_err(|t| troubles.extend(t))
        .ok();
    let there = match held {
        Some((name, faults)) => {
            let found = side(name, &other, faults, flag);
            let there = |mut trouble: Trouble| {
                let source = match trouble.spot.source.as_str() {
                    "oil" if against.oil.is_some() => "--against-oil",
                    "--oil-temp" if against.oil_temp.is_some() => "--against-oil-temp",
                    other => other,
                };
                trouble.spot.source = source.to_string();
                trouble
            };
            found
                .map_err(|all| {
                    for trouble in all.into_iter().map(there) {
                        if !troubles.contains(&trouble) {
                            troubles.push(trouble);
                        }
                    }
                })
                .ok()
        }
        None => None,
    };
    match (here, profile) {
        (Some(side), Some(profile)) if troubles.is_empty() => Ok(Question {
            side,
            against: there,
            profile,
            cold,
        }),
        _ => Err(troubles),
    }
}

/// What is read off a course.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Figures {
    /// When and how warm, s and K.
    peak: (f64, f64),
    peak_oil: (f64, f64),
    to_limit: Option<f64>,
    above_limit: f64,
    above_boiling: f64,
    hot_oil: f64,
    /// Fan speed in the mean, rad/s.
    fan: f64,
    boiled: bool,
    idle: Idle,
}

/// A trip of one machine, and what is read off it.
struct Look<'a> {
    side: &'a Side,
    course: Course,
    figures: Figures,
    /// The same of machines drawn within its ±.
    spread: Spread,
    /// Least and greatest fan speed, rad/s.
    fan: [f64; 2],
}

/// Left idling from the end of the trip.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Idle {
    /// For so long, s, until the coolant reaches its limit.
    Until(f64),
    /// It stays below; where it stands at the end, K.
    Stays(f64),
    /// It is at its limit already.
    No,
}

impl Idle {
    /// How long it may idle on, s; without end where it stays below its limit as long as was looked.
    fn time(self) -> f64 {
        match self {
            Self::Until(time) => time,
            Self::Stays(_) => f64::INFINITY,
            Self::No => 0.0,
        }
    }
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Troubles> {
    let (here, there) = match &question.against {
        Some(side) => {
            let (here, there) =
                rayon::join(|| look(question, &question.side), || look(question, side));
            (here?, Some(there?))
        }
        None => (look(question, &question.side)?, None),
    };
    Ok(told(question, &here, there.as_ref()))
}

/// The legs of a side's machine as a case has it, and the temperatures with which they begin.
fn begun(question: &Question, side: &Side, case: &Case) -> Result<(Vec<Leg>, Stored), Troubles> {
    let mut legs = question.profile.legs(&side.posed.machine, case)?;
    if side.command.is_some() {
        for leg in &mut legs {
            leg.command = side.command;
        }
    }
    let Some(first) = legs.first().copied() else {
        return Err(vec![Trouble::input(
            "no rows",
            "a trip of at least two rows",
        )]);
    };
    let mut stored = match (question.cold, question.profile.coolant) {
        (true, _) => Stored::even(first.now.ambient),
        (false, Some(t)) => Stored::even(t),
        (false, None) => settled(case, &first).map_err(|t| vec![t])?,
    };
    let oil = question.profile.oil.filter(|_| !question.cold);
    if let Some(oil) = side.oil_temp.or(oil) {
        stored.oil = oil;
    }
    Ok((legs, stored))
}

/// Where the machine settles in the first row.
fn settled(case: &Case, first: &Leg) -> Result<Stored, Trouble> {
    const HINT: &str =
        "--cold begins as cold as the day; a column coolant_c says how warm it begins";
    let mut there = *case;
    there.now = first.now;
    there.now.command = first.command.unwrap_or(case.now.command);
    let asked = Asked {
        automatic: first.command.is_none(),
        ..Asked::STEADY
    };
    let mut found = warm(&there, asked);
    if let Err(trouble) = &mut found
        && trouble.hint.is_empty()
    {
        trouble.hint = HINT.into();
    }
    let found = found?;
    let stored = match found.heats {
        None => Stored::settled(&found),
        Some(_) => None,
    };
    stored.ok_or_else(|| {
        let why = found.heats.map_or("it does not settle", |h| h.words());
        Trouble::no_answer(
            format!("a first row in which {why}"),
            "a first row in which the machine settles, to begin with",
        )
        .hint(HINT)
    })
}

fn look<'a>(question: &Question, side: &'a Side) -> Result<Look<'a>, Troubles> {
    let (course, figures) = gone(question, side, &side.posed.case, Rules::USUAL)?;
    let speeds = || course.moments.iter().map(|m| m.fan_speed);
    Ok(Look {
        side,
        figures,
        spread: Spread::of(question, side, &figures)?,
        fan: [
            speeds().fold(f64::INFINITY, f64::min),
            speeds().fold(0.0, f64::max),
        ],
        course,
    })
}

/// The trip, and what is read off it, of a side's machine as a case has it.
fn gone(
    question: &Question,
    side: &Side,
    case: &Case,
    rules: Rules,
) -> Result<(Course, Figures), Troubles> {
    let (legs, start) = begun(question, side, case)?;
    let course = travel(case, &legs, start, rules).map_err(|t| vec![t])?;
    let idle = match (course.moments.last(), legs.last()) {
        (Some(end), Some(last)) if !course.boiled => {
            let idling = side.posed.machine.usual.idle.value;
            idled(case, idling, *last, end.stored, rules).map_err(|t| vec![t])?
        }
        _ => Idle::No,
    };
    let figures = Figures::of(case, &course, start.coolant, idle);
    Ok((course, figures))
}

/// What comes of a machine that is left idling, from a leg and what it has stored at the end of that.
fn idled(
    case: &Case,
    engine_speed: f64,
    mut leg: Leg,
    stored: Stored,
    rules: Rules,
) -> Result<Idle, Trouble> {
    if stored.coolant >= limit(case) {
        return Ok(Idle::No);
    }
    leg.now.road_speed = 0.0;
    leg.now.grade = 0.0;
    leg.now.work = 0.0;
    leg.now.engine_speed = engine_speed;
    leg.time = 0.0;
    let after = Leg {
        time: IDLING,
        ..leg
    };
    let rules = Rules {
        stop_at_limit: true,
        ..rules
    };
    let left = travel(case, &[leg, after], stored, rules)?;
    let reached = left.events.iter().find(|e| e.1 == Happening::LimitReached);
    Ok(match reached {
        Some(at) => Idle::Until(at.0),
        None => Idle::Stays(left.track.last().map_or(f64::NAN, |p| p.1)),
    })
}

/// The coolant's limit, K.
fn limit(case: &Case) -> f64 {
    case.coolant.as_ref().map_or(f64::NAN, |c| c.limit)
}

impl Figures {
    /// Of a course that began with the coolant at so many K, and of what came of idling after it.
    fn of(case: &Case, course: &Course, began: f64, idle: Idle) -> Self {
        let limit = limit(case);
        let [boiling, _] = words::boiling(case);
        let most = |of: fn(&(f64, f64, f64)) -> f64| {
            let track = course.track.iter().map(|p| (p.0, of(p)));
            track
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .unwrap_or((f64::NAN, f64::NAN))
        };
        let reached = |what: Happening| course.events.iter().find(|e| e.1 == what).map(|e| e.0);
        let lasted = course.track.last().map_or(0.0, |p| p.0).max(1e-9);
        let turned = course.moments.windows(2);
        let turned: f64 = turned
            .map(|w| 0.5 * (w[0].fan_speed + w[1].fan_speed) * (w[1].time - w[0].time))
            .sum();
        Self {
            peak: most(|p| p.1),
            peak_oil: most(|p| p.2),
            to_limit: if began >= limit {
                Some(0.0)
            } else {
                reached(Happening::LimitReached)
            },
            above_limit: above(course, |p| p.1, limit),
            above_boiling: above(course, |p| p.1, boiling),
            hot_oil: above(course, |p| p.2, HOT_OIL),
            fan: turned / lasted,
            boiled: course.boiled,
            idle,
        }
    }
}

/// How long, s, a temperature lies above a level.
fn above(course: &Course, of: fn(&(f64, f64, f64)) -> f64, level: f64) -> f64 {
    course
        .track
        .windows(2)
        .map(|w| {
            let (a, b) = (of(&w[0]) - level, of(&w[1]) - level);
            let length = w[1].0 - w[0].0;
            match (a > 0.0, b > 0.0) {
                (true, true) => length,
                (false, false) => 0.0,
                _ => length * a.max(b) / (a - b).abs(),
            }
        })
        .sum()
}

/// A time in words: `12 min 30 s`.
fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0).round();
    let (minutes, rest) = ((whole / 60.0).floor(), whole % 60.0);
    match (minutes > 0.0, rest > 0.0) {
        (true, true) => format!("{minutes:.0} min {rest:.0} s"),
        (true, false) => format!("{minutes:.0} min"),
        _ => format!("{rest:.0} s"),
    }
}

/// A time in a table: `12:30`, minutes and seconds.
fn short(seconds: f64) -> String {
    let whole = seconds.max(0.0).round();
    format!("{:.0}:{:02.0}", (whole / 60.0).floor(), whole % 60.0)
}

fn told(question: &Question, here: &Look, there: Option<&Look>) -> Answer {
    let posed = &here.side.posed;
    let units = posed.units;
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let mut answer = Answer {
        question: "trip",
        case: said(question, there),
        ..Answer::default()
    };
    let limit = limit(&posed.case);
    answer
        .blocks
        .push(Block::Headline(headline(units, here, limit)));
    let mut say = |text: String| answer.blocks.push(Block::Sentence(text));
    if let Some(there) = there {
        say(compared(units, here, there));
    }
    say(here.spread.told(units));
    say(format!(
        "The oil peaks at {} after {}; the fan turns between {} and {}, {} in the mean.",
        temp(here.figures.peak_oil.1),
        clock(here.figures.peak_oil.0),
        units.show(Kind::Speed, here.fan[0]),
        units.show(Kind::Speed, here.fan[1]),
        units.show(Kind::Speed, here.figures.fan)
    ));
    say(idling(units, here, limit));
    say(format!(
        "Absolute temperatures are credible to about {}; differences between two courses are better than that. How fast it warms rests on heat capacities that are known to about ±30 %.",
        words::credible(units)
    ));
    answer
        .blocks
        .push(Block::Table(side_by_side(units, here, there)));
    for chart in charts(here, there, limit) {
        answer.blocks.push(Block::Chart(chart));
    }
    answer.blocks.push(Block::Table(happened(here)));
    answer.blocks.push(Block::Safety(words::safety()));
    answer.cautions = cautions(here, there);
    answer.series = series(here, there);
    put(&mut answer.numbers, here, limit);
    if let Some(there) = there {
        let mut other = Map::new();
        put(&mut other, there, limit);
        let difference = here.figures.peak.1 - there.figures.peak.1;
        answer
            .numbers
            .insert("against".into(), Value::Object(other));
        answer
            .numbers
            .insert("peak_difference_k".into(), json!(difference));
        if let Some((low, high)) = here.spread.hotter(&there.spread) {
            let ends = [("low", low), ("high", high)];
            answer
                .numbers
                .extend(ends.map(|(end, d)| (format!("peak_difference_{end}_k"), json!(d))));
        }
    }
    answer
}

fn headline(units: Units, here: &Look, limit: f64) -> String {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let (at, peak) = here.figures.peak;
    if here.figures.boiled {
        return format!(
            "The coolant boils after {}: the trip ends there.",
            clock(at)
        );
    }
    match here.figures.to_limit {
        Some(when) => format!(
            "The coolant reaches its limit of {} after {} and peaks at {} after {}; it is above its limit for {}.",
            temp(limit),
            clock(when),
            temp(peak),
            clock(at),
            clock(here.figures.above_limit)
        ),
        None => format!(
            "The coolant peaks at {} after {}, {} below its limit of {}.",
            temp(peak),
            clock(at),
            units.show(Kind::TemperatureDifference, limit - peak),
            temp(limit)
        ),
    }
}

/// This course beside the other, with the sign as computed.
fn compared(units: Units, here: &Look, there: &Look) -> String {
    let peak = units.show(Kind::Temperature, there.figures.peak.1);
    let name = &there.side.name;
    if here.figures.boiled || there.figures.boiled {
        return match there.figures.boiled {
            true => format!(
                "Held against it ({name}): the coolant boils after {}.",
                clock(there.figures.peak.0)
            ),
            false => {
                format!("Held against it ({name}): the coolant peaks at {peak} and does not boil.")
            }
        };
    }
    let difference = here.figures.peak.1 - there.figures.peak.1;
    let hotter = match difference {
        d if d.abs() < 0.1 => "as warm within 0.1 K".to_string(),
        d => format!(
            "{} {}",
            units.show(Kind::TemperatureDifference, d.abs()),
            if d > 0.0 { "hotter" } else { "cooler" }
        ),
    };
    let within = here.spread.hotter(&there.spread).filter(|(a, b)| b > a);
    let within = within.map_or(String::new(), |(low, high)| {
        let signed = |d: f64| {
            let sign = if d < 0.0 { "−" } else { "+" };
            format!("{sign}{}", units.show(Kind::TemperatureDifference, d.abs()))
        };
        format!(
            " ({} to {} within the machine's ±)",
            signed(low),
            signed(high)
        )
    });
    format!(
        "Held against it ({name}): the coolant peaks at {peak} after {}; so this one peaks {hotter}{within}, with a fan that is {} in the mean.",
        clock(there.figures.peak.0),
        words::faster_or_slower(units, here.figures.fan - there.figures.fan)
    )
}

fn idling(units: Units, here: &Look, limit: f64) -> String {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let own = match here.figures.idle {
        Idle::Until(seconds) => format!(
            "Left idling from the end of the trip, the coolant reaches its limit of {} after {}.",
            temp(limit),
            clock(seconds)
        ),
        Idle::Stays(end) => format!(
            "Left idling from the end of the trip, it stays below its limit: after an hour the coolant is at {}.",
            temp(end)
        ),
        Idle::No => {
            "There is no idling from the end of the trip: the coolant is at its limit already."
                .into()
        }
    };
    own + &here.spread.idling()
}

/// What was assumed, with the trip.
fn said(question: &Question, there: Option<&Look>) -> Vec<(String, String)> {
    let posed = &question.side.posed;
    // The trip says the rest.
    let mut said: Vec<(String, String)> = words::lasting(posed).collect();
    said.push(("trip".into(), question.profile.key.clone()));
    if let Some(about) = question.profile.about.first() {
        said.push(("about it".into(), about.clone()));
    }
    said.push((
        "columns".into(),
        question.profile.columns.join(", ").replace('_', " "),
    ));
    let temp = |t: f64| posed.units.show(Kind::Temperature, t);
    said.push((
        "begins".into(),
        match (question.cold, question.profile.coolant) {
            (true, _) => "as cold as the day".into(),
            (false, Some(t)) => format!("at {}", temp(t)),
            (false, None) => "where it settles in the first row".into(),
        },
    ));
    let oil = |side: &Side| {
        side.oil_temp
            .map(|t| ("oil begins at".to_string(), temp(t)))
    };
    said.extend(oil(&question.side));
    if let Some(command) = question.side.command {
        said.push(("command".into(), posed.units.show(Kind::Share, command)));
    }
    if let Some(there) = there {
        let others = words::lasting(&there.side.posed).chain(oil(there.side));
        let others: Vec<_> = others.filter(|entry| !said.contains(entry)).collect();
        said.extend(
            others
                .into_iter()
                .map(|(label, value)| (format!("against: {label}"), value)),
        );
    }
    said
}

fn side_by_side(units: Units, here: &Look, there: Option<&Look>) -> Table {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let speed = |n: f64| units.show(Kind::Speed, n);
    let hot_oil = format!("oil above {} for", temp(HOT_OIL));
    let when = |t: f64| match t.is_finite() {
        true => short(t),
        false => "never".into(),
    };
    let idle = |t: f64| match t.is_finite() {
        true => short(t),
        false => format!("over {}", short(IDLING)),
    };
    type Line<'l> = (
        &'l str,
        &'l dyn Fn(&Figures) -> f64,
        &'l dyn Fn(f64) -> String,
    );
    let lines: [Line; 9] = [
        ("coolant's peak", &|f| f.peak.1, &temp),
        ("reached after", &|f| f.peak.0, &short),
        (
            "at its limit after",
            &|f| f.to_limit.unwrap_or(f64::INFINITY),
            &when,
        ),
        ("above its limit for", &|f| f.above_limit, &short),
        ("may boil for", &|f| f.above_boiling, &short),
        ("oil's peak", &|f| f.peak_oil.1, &temp),
        (&hot_oil, &|f| f.hot_oil, &short),
        ("fan speed, mean", &|f| f.fan, &speed),
        ("may idle on for", &|f| f.idle.time(), &idle),
    ];
    let looks = || std::iter::once(here).chain(there);
    let mut heads = vec![String::new()];
    // A long name is told in the text above; cut in pieces it would be no head.
    let brief = ["this one", "held against it"];
    for (look, brief) in looks().zip(brief) {
        heads.push(match look.side.name.as_str() {
            "" => "this trip".to_string(),
            name if name.len() > LONG => brief.to_string(),
            name => name.replace('=', " "),
        });
        heads.push("within its ±".into());
    }
    let rows = lines
        .iter()
        .map(|(what, of, show)| {
            let mut row = vec![(*what).to_string()];
            for look in looks() {
                row.push(show(of(&look.figures)));
                row.push(look.spread.shown(of, show));
            }
            row
        })
        .collect();
    Table {
        title: "The trip in figures, times as minutes:seconds".into(),
        numeric: (1..heads.len()).collect(),
        heads,
        rows,
    }
}

/// What happened, with its time.
fn happened(here: &Look) -> Table {
    let all = &here.course.events;
    let turns = [Happening::CommandStands, Happening::CommandMoves];
    let crowded = all.len() > TOLD;
    let mut rows: Vec<Vec<String>> = all
        .iter()
        .filter(|(_, what)| !(crowded && turns.contains(what)))
        .map(|(time, what)| vec![clock(*time), what.words().to_string()])
        .collect();
    let more = rows.len().saturating_sub(TOLD);
    rows.truncate(TOLD);
    if more > 0 {
        rows.push(vec!["…".into(), format!("and {more} more")]);
    }
    if crowded {
        let count = all.iter().filter(|e| turns.contains(&e.1)).count();
        rows.push(vec![
            "…".into(),
            format!("the command stood or moved again {count} times"),
        ]);
    }
    Table {
        title: "What happens when".into(),
        heads: vec!["after".into(), "what".into()],
        rows,
        numeric: Vec::new(),
    }
}

/// The stretches of time along which one limit acts; those too short to see go with the one before.
fn limits(course: &Course) -> Vec<(Limit, f64, f64)> {
    let mut found: Vec<(Limit, f64, f64)> = Vec::new();
    for pair in course.moments.windows(2) {
        let (limit, from, to) = (pair[0].limit, pair[0].time, pair[1].time);
        match found.last_mut() {
            Some(last) if last.0 == limit => last.2 = to,
            _ => found.push((limit, from, to)),
        }
    }
    let whole = found.last().map_or(0.0, |s| s.2);
    let mut shown: Vec<(Limit, f64, f64)> = Vec::new();
    for (limit, from, to) in found {
        match shown.last_mut() {
            Some(last) if last.0 == limit || to - from < SHORT * whole => last.2 = to,
            _ => shown.push((limit, from, to)),
        }
    }
    shown
}

/// The pictures: temperatures, fan speed with what limits it, command, road speed.
fn charts(here: &Look, there: Option<&Look>, limit: f64) -> Vec<Chart> {
    let units = here.side.posed.units;
    let minutes = |t: f64| t / 60.0;
    let named = |what: &str, look: &Look| match look.side.name.as_str() {
        "" => what.to_string(),
        name => format!("{what}, {name}"),
    };
    let along = |name: String, look: &Look, of: &dyn Fn(&Moment) -> f64| Curve {
        name,
        points: look
            .course
            .moments
            .iter()
            .map(|m| (minutes(m.time), of(m)))
            .collect(),
        band: Vec::new(),
    };
    let temp = |t: f64| units.number(Kind::Temperature, t);
    let coolant = |m: &Moment| temp(m.stored.coolant);
    let oil = |m: &Moment| temp(m.stored.oil);
    let mut warm = vec![
        along(named("coolant", here), here, &coolant),
        along(named("oil", here), here, &oil),
    ];
    match there {
        Some(there) => warm.extend([
            along(named("coolant", there), there, &coolant),
            along(named("oil", there), there, &oil),
        ]),
        None => warm.extend([
            along("engine's metal".into(), here, &|m| temp(m.stored.metal)),
            along("core".into(), here, &|m| temp(m.stored.core)),
        ]),
    }
    let both = |what: &str, of: &dyn Fn(&Moment) -> f64| {
        let mut curves = vec![along(named(what, here), here, of)];
        curves.extend(there.map(|t| along(named(what, t), t, of)));
        curves
    };
    let x_label = "time, min".to_string();
    let mut levels = vec![("coolant's limit".to_string(), temp(limit))];
    let [boiling, _] = words::boiling(&here.side.posed.case);
    // Far below it the level would only press the curves together.
    if std::iter::once(here)
        .chain(there)
        .any(|l| l.figures.peak.1 > limit)
    {
        levels.push(("may boil from here".into(), temp(boiling)));
    }
    let stretches = || {
        limits(&here.course)
            .into_iter()
            .map(|(limit, from, to)| Stretch {
                name: limit.key().into(),
                from: minutes(from),
                to: minutes(to),
            })
            .collect::<Vec<_>>()
    };
    vec![
        Chart {
            title: "Temperatures along the trip".into(),
            x_label: x_label.clone(),
            y_label: format!("temperature, {}", units.unit(Kind::Temperature)),
            curves: warm,
            levels,
            ..Chart::default()
        },
        Chart {
            title: "Fan speed along the trip, and what limits it".into(),
            x_label: x_label.clone(),
            y_label: format!("fan speed, {}", units.unit(Kind::Speed)),
            y_from_zero: true,
            curves: both("fan", &|m| units.number(Kind::Speed, m.fan_speed)),
            stretches: stretches(),
            ..Chart::default()
        },
        Chart {
            title: "What the control asks for".into(),
            x_label: x_label.clone(),
            y_label: "command, %".into(),
            y_from_zero: true,
            curves: both("command", &|m| 100.0 * m.command),
            ..Chart::default()
        },
        Chart {
            title: "The road".into(),
            x_label,
            y_label: format!("road speed, {}", units.unit(Kind::RoadSpeed)),
            y_from_zero: true,
            curves: vec![along("road speed".into(), here, &|m| {
                units.number(Kind::RoadSpeed, m.now.road_speed)
            })],
            ..Chart::default()
        },
    ]
}

fn cautions(here: &Look, there: Option<&Look>) -> Vec<String> {
    let mut said = here.side.posed.cautions.clone();
    for look in std::iter::once(here).chain(there) {
        let of = match (there.is_some(), look.side.name.as_str()) {
            (false, _) | (_, "") => String::new(),
            (_, name) => format!("{name}: "),
        };
        let case = &look.side.posed.case;
        let moments = &look.course.moments;
        if look.figures.boiled {
            said.push(format!("{of}the coolant boils. Stop before that."));
        } else if look.figures.above_boiling > 0.0 {
            said.push(format!(
                "{of}the coolant may boil. Past that point the figures mean nothing."
            ));
        }
        if let Some(engine) = &case.engine
            && moments
                .iter()
                .any(|m| m.budget.engine_power > engine.rated_power)
        {
            said.push(format!(
                "{of}the engine does not have the power that this trip takes: it would slow down."
            ));
        }
        if case.vehicle.is_none() && moments.iter().any(|m| m.now.road_speed > 0.0) {
            said.push(format!("{of}this machine has no [vehicle], so the road does not load its engine: a column work_kw can."));
        }
        if moments.iter().any(|m| m.limit == Limit::Inlet) {
            said.push(format!("{of}the pump's inlet is starved for a while: expect whine, and air drawn from the oil."));
        }
        if moments
            .iter()
            .any(|m| m.limit == Limit::Standstill && m.now.engine_speed > 0.0)
        {
            said.push(format!(
                "{of}the fan stands for a while with the engine running."
            ));
        }
    }
    if here.course.moments.iter().any(|m| m.now.road_speed < 1.0) {
        said.push("At a standstill the temperature turns on how much air comes round again, which is a judgment, and on a few tens of fan rpm.".into());
    }
    said.dedup();
    said
}

/// The numbers of one course.
fn put(n: &mut Map<String, Value>, look: &Look, limit: f64) {
    let celsius = |n: &mut Map<String, Value>, key: &str, t: f64| {
        words::put(n, key, Kind::Temperature, t);
    };
    let seconds = |t: Option<f64>| t.map_or(Value::Null, |t| json!(t));
    let course = &look.course;
    celsius(n, "peak_coolant_temp", look.figures.peak.1);
    n.insert("peak_coolant_time_s".into(), json!(look.figures.peak.0));
    celsius(n, "peak_oil_temp", look.figures.peak_oil.1);
    n.insert("peak_oil_time_s".into(), json!(look.figures.peak_oil.0));
    celsius(n, "coolant_limit", limit);
    n.insert("time_to_limit_s".into(), seconds(look.figures.to_limit));
    n.insert("above_limit_s".into(), json!(look.figures.above_limit));
    n.insert("above_boiling_s".into(), json!(look.figures.above_boiling));
    n.insert("oil_above_93_c_s".into(), json!(look.figures.hot_oil));
    n.insert("boiled".into(), json!(look.figures.boiled));
    if let Some(end) = course.moments.last() {
        celsius(n, "end_coolant_temp", end.stored.coolant);
        celsius(n, "end_oil_temp", end.stored.oil);
        n.insert("duration_s".into(), json!(end.time));
    }
    for (key, speed) in [
        ("least", look.fan[0]),
        ("mean", look.figures.fan),
        ("greatest", look.fan[1]),
    ] {
        words::put(n, &format!("fan_speed_{key}"), Kind::Speed, speed);
    }
    n.insert(
        "may_idle_s".into(),
        match look.figures.idle {
            Idle::Until(t) => json!(t),
            Idle::No => json!(0.0),
            Idle::Stays(_) => Value::Null,
        },
    );
    n.insert(
        "idle_end_coolant_temp_c".into(),
        match look.figures.idle {
            Idle::Stays(t) => json!(Kind::Temperature.to_json(t)),
            _ => Value::Null,
        },
    );
    n.insert("heat_in_j".into(), json!(course.heat_in));
    n.insert("heat_out_j".into(), json!(course.heat_out));
    n.insert("heat_stored_j".into(), json!(course.heat_stored));
    n.insert(
        "events".into(),
        course
            .events
            .iter()
            .map(|(time, what)| json!({"time_s": time, "what": what.key()}))
            .collect(),
    );
    n.insert(
        "limits".into(),
        limits(course)
            .iter()
            .map(|(limit, from, to)| json!({"limited_by": limit.key(), "from_s": from, "to_s": to}))
            .collect(),
    );
    n.insert("circuit_solves".into(), json!(course.solves));
    n.insert("spread".into(), look.spread.numbers());
}

/// The course as a table.
fn series(here: &Look, there: Option<&Look>) -> Table {
    type Column<'c> = (&'c str, &'c dyn Fn(&Moment) -> String);
    let celsius = |t: f64| format!("{:.3}", t - 273.15);
    let columns: [Column; 14] = [
        ("time_s", &|m| format!("{:.3}", m.time)),
        ("road_speed_kmh", &|m| {
            format!("{:.2}", 3.6 * m.now.road_speed)
        }),
        ("engine_speed_rpm", &|m| {
            format!("{:.1}", Kind::Speed.to_json(m.now.engine_speed))
        }),
        ("ambient_c", &|m| celsius(m.now.ambient)),
        ("coolant_temp_c", &|m| celsius(m.stored.coolant)),
        ("metal_temp_c", &|m| celsius(m.stored.metal)),
        ("core_temp_c", &|m| celsius(m.stored.core)),
        ("oil_temp_c", &|m| celsius(m.stored.oil)),
        ("air_temp_c", &|m| celsius(m.budget.air_temp)),
        ("fan_speed_rpm", &|m| {
            format!("{:.2}", Kind::Speed.to_json(m.fan_speed))
        }),
        ("command", &|m| format!("{:.4}", m.command)),
        ("limited_by", &|m| m.limit.key().to_string()),
        ("engine_heat_w", &|m| format!("{:.1}", m.budget.engine_heat)),
        ("radiator_heat_w", &|m| {
            format!("{:.1}", m.budget.radiator_heat)
        }),
    ];
    let mut heads: Vec<String> = columns.iter().map(|c| c.0.to_string()).collect();
    if there.is_some() {
        heads.extend(
            [
                "coolant_temp_against_c",
                "oil_temp_against_c",
                "fan_speed_against_rpm",
            ]
            .map(String::from),
        );
    }
    let rows = here
        .course
        .moments
        .iter()
        .map(|m| {
            let mut row: Vec<String> = columns.iter().map(|c| c.1(m)).collect();
            if let Some(there) = there {
                let of = |f: fn(&Moment) -> f64| between(&there.course.moments, m.time, f);
                row.extend([
                    of(|m| m.stored.coolant).map_or(String::new(), celsius),
                    of(|m| m.stored.oil).map_or(String::new(), celsius),
                    of(|m| m.fan_speed)
                        .map_or(String::new(), |v| format!("{:.2}", Kind::Speed.to_json(v))),
                ]);
            }
            row
        })
        .collect();
    let numeric = (0..heads.len()).filter(|i| *i != 11).collect();
    Table {
        title: String::new(),
        heads,
        rows,
        numeric,
    }
}

/// A value between two moments, along a straight line; none after the last.
fn between(moments: &[Moment], time: f64, of: fn(&Moment) -> f64) -> Option<f64> {
    let after = moments.partition_point(|m| m.time < time);
    let next = moments.get(after)?;
    let before = moments.get(after.saturating_sub(1))?;
    let span = next.time - before.time;
    let part = if span > 0.0 {
        (time - before.time) / span
    } else {
        0.0
    };
    Some(of(before) + (of(next) - of(before)) * part)
}
