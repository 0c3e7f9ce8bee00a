//! What does a log of the road say: how hot, how long, doing what; how far from boiling; and did the repair work?

use super::answer::{Answer, Block, Chart, Curve, Mark, Table};
use super::words::put;
use crate::fluid::coolant;
use crate::input::unit::celsius;
use crate::model::log::{SIGNALS, Signal};
use crate::quantity::{Kind, Units};
use crate::vary::log::{
    ByPace, Compared, Digest, Episode, Fuel, Heat, Hot, Interval, Outcome, Pace, by_pace, compare,
    heat, where_hot,
};
use serde_json::{Map, Value, json};

/// Episodes that the table shows.
const SHOWN: usize = 12;

/// From here on a road counts as a climb, rise over length *(common practice, no source)*.
const CLIMB: f64 = 0.025;

/// A reading that stands still for longer, s, is remarked on.
const STILL: f64 = 1200.0;

/// Levels that are counted where none are asked for, K.
pub fn usual_levels() -> [f64; 3] {
    [100.0, 105.0, 110.0].map(celsius)
}

/// Cap, mix and altitude, from which boiling follows.
#[derive(Clone, Copy, Debug)]
pub struct Filling {
    /// What the cap holds, Pa gauge.
    pub cap: f64,
    /// Share of glycol by volume.
    pub glycol: f64,
    /// Altitude, m; none: as logged, else sea level.
    pub altitude: Option<f64>,
}

impl Filling {
    /// Temperatures, K, between which it begins to boil, at an altitude.
    fn boiling(&self, altitude: f64) -> [f64; 2] {
        coolant::boiling(self.glycol, self.cap, altitude)
    }

    /// All levels to count: those asked for, and the low edge of boiling.
    pub fn levels(&self, asked: &[f64]) -> Vec<f64> {
        let mut levels = asked.to_vec();
        levels.push(self.boiling(self.altitude.unwrap_or(0.0))[0]);
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        levels
    }
}

/// What is asked.
pub struct Question {
    /// The log.
    pub log: Digest,
    /// A log after a repair, to hold against it.
    pub after: Option<Digest>,
    /// Cap, mix, altitude.
    pub filling: Filling,
    /// What the engine burns, if said.
    pub fuel: Option<Fuel>,
    /// Ambient temperature of the log and of the one after, K, if said.
    pub ambient: [Option<f64>; 2],
    /// Units to print.
    pub units: Units,
}

/// Answers.
pub fn answer(question: &Question) -> Answer {
    let Question {
        log,
        filling,
        units,
        ..
    } = question;
    let units = *units;
    let logged = Some(log.exposure.altitude).filter(|a| a.is_finite());
    let altitude = filling.altitude.or(logged).unwrap_or(0.0);
    let boiling = filling.boiling(altitude);
    let mut answer = Answer {
        question: "log",
        case: vec![
            ("log".into(), log.source.clone()),
            ("cap".into(), units.show(Kind::Pressure, filling.cap)),
            ("glycol".into(), units.show(Kind::Share, filling.glycol)),
            ("altitude".into(), units.show(Kind::Altitude, altitude)),
        ],
        ..Answer::default()
    };
    headline(&mut answer, question, boiling);
    if let Some(after) = &question.after {
        answer.case.push(("after".into(), after.source.clone()));
        compared(&mut answer, question, after);
    }
    let mut chart = temperatures(units, log, boiling);
    if let Some(after) = &question.after {
        chart.curves[0].name = "coolant before".into();
        chart.curves.insert(
            1,
            coolant_curve(units, after, per_tick(log).0, "coolant after"),
        );
    }
    answer.blocks.push(Block::Chart(chart));
    if log.tally.seen[Signal::RoadSpeed as usize].readings > 0 {
        answer.blocks.push(Block::Chart(speeds(units, log)));
    }
    let counted_at = filling.boiling(filling.altitude.unwrap_or(0.0))[0];
    exposure(&mut answer, units, log, counted_at);
    margin(&mut answer, question, boiling);
    paces(&mut answer, question);
    columns(&mut answer, units, log, "");
    if let Some(after) = &question.after {
        let mut other = Answer::default();
        counted(&mut other.numbers, after);
        exposure(&mut other, units, after, counted_at);
        columns(&mut other, units, after, " after");
        answer.blocks.extend(
            other
                .blocks
                .into_iter()
                .filter(|b| matches!(b, Block::Table(t) if t.title.starts_with("Which column"))),
        );
        answer
            .numbers
            .insert("after".into(), Value::Object(other.numbers));
        answer
            .cautions
            .extend(other.cautions.into_iter().map(|c| format!("After: {c}")));
    }
    cautions(&mut answer, question, logged);
    answer.series = series(log);
    answer.blocks.push(Block::Safety(safety()));
    answer
}

/// A time in words.
fn span(seconds: f64) -> String {
    let s = seconds.round().max(0.0) as u64;
    match s {
        0..60 => format!("{s} s"),
        60..3600 if s.is_multiple_of(60) => format!("{} min", s / 60),
        60..3600 => format!("{} min {} s", s / 60, s % 60),
        _ => format!("{} h {} min", s / 3600, s / 60 % 60),
    }
}

/// A moment after the first row, as a clock shows it.
fn moment(seconds: f64) -> String {
    let s = seconds.round().max(0.0) as u64;
    format!("{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

fn headline(answer: &mut Answer, question: &Question, boiling: [f64; 2]) {
    let (log, units) = (&question.log, question.units);
    let Some((peak, when)) = log.exposure.peak else {
        return;
    };
    let levels = &log.exposure.levels;
    let below = boiling[0] - peak;
    let boil = if below >= 0.0 {
        format!(
            "{} below where it may begin to boil",
            units.show(Kind::TemperatureDifference, below)
        )
    } else {
        "inside or above the band in which it begins to boil".to_string()
    };
    let hot = match levels.first() {
        Some(first) if first.time > 0.0 => format!(
            "it was at or above {} for {}, the longest stretch {}",
            units.show(Kind::Temperature, first.temperature),
            span(first.time),
            span(first.longest)
        ),
        Some(first) => format!(
            "it never reached {}",
            units.show(Kind::Temperature, first.temperature)
        ),
        None => String::new(),
    };
    answer.blocks.push(Block::Headline(format!(
        "The coolant peaked at {} ({} after the first row), {boil}; {hot}.",
        units.show(Kind::Temperature, peak),
        moment(when),
    )));
    let gaps = match log.tally.gap_count {
        0 => "without a gap".to_string(),
        1 => format!("with one gap of {}", span(log.tally.gap_time)),
        n => format!("with {n} gaps, {} together", span(log.tally.gap_time)),
    };
    let mut sentence = format!(
        "{} rows over {}, {gaps}; {} dropped.",
        log.tally.rows_read,
        span(log.tally.duration),
        match log.tally.rows_dropped {
            0 => "no row".to_string(),
            1 => "1 row".to_string(),
            n => format!("{n} rows"),
        }
    );
    if let Some((plateau, share)) = log.exposure.plateau() {
        sentence.push_str(&format!(
            " Warm, it stayed most at {} ({} of the time within a degree).",
            units.show(Kind::Temperature, plateau),
            units.show(Kind::Share, share)
        ));
    }
    if let Some((rise, at)) = log.exposure.rise {
        sentence.push_str(&format!(
            " Its fastest rise when warm was {} a minute, at {}.",
            units.show(Kind::TemperatureDifference, rise * 60.0),
            moment(at)
        ));
    }
    let (rows, off) = log.exposure.engine_rows;
    if off > 0 {
        sentence.push_str(&format!(
            " The engine was at rest in {} of the rows.",
            units.show(Kind::Share, off as f64 / rows as f64)
        ));
    }
    answer.blocks.push(Block::Sentence(sentence));
    let numbers = &mut answer.numbers;
    counted(numbers, log);
    put(numbers, "peak_coolant", Kind::Temperature, peak);
    numbers.insert("peak_at_s".into(), json!(when));
    put(numbers, "boiling_low", Kind::Temperature, boiling[0]);
    put(numbers, "boiling_high", Kind::Temperature, boiling[1]);
    numbers.insert("margin_to_boiling_k".into(), json!(below));
}

/// What was counted.
fn counted(numbers: &mut Map<String, Value>, log: &Digest) {
    let tally = &log.tally;
    for (key, value) in [
        ("rows_read", tally.rows_read),
        ("rows_dropped", tally.rows_dropped),
        ("rows_backwards", tally.backwards),
        ("repeated_stamps", tally.repeated_stamps),
        ("cells_in_another_unit", tally.mixed_units),
        ("coolant_dropouts", tally.dropouts),
        ("clock_set_back", tally.restarts),
        ("gap_count", tally.gap_count),
    ] {
        numbers.insert(key.into(), json!(value));
    }
    numbers.insert("duration_s".into(), json!(tally.duration));
    numbers.insert("gap_time_s".into(), json!(tally.gap_time));
    let gaps = tally
        .gaps
        .iter()
        .map(|g| json!({"from_s": g.from, "duration_s": number(g.long)}))
        .collect();
    numbers.insert("gaps".into(), Value::Array(gaps));
    let mistakes = tally
        .mistakes
        .iter()
        .map(|m| {
            json!({
                "line": m.line, "column": m.column, "name": m.name, "found": m.found,
                "expected": m.expected, "row_dropped": m.dropped,
            })
        })
        .collect();
    numbers.insert("mistakes".into(), Value::Array(mistakes));
}

/// A number, or null.
fn number(value: f64) -> Value {
    if value.is_finite() {
        json!(value)
    } else {
        Value::Null
    }
}

/// What an episode was spent at.
fn doing(episode: &Episode) -> String {
    let pace = episode.pace();
    let climbing = episode.grade.is_some_and(|g| g >= CLIMB);
    match (pace, climbing) {
        (Pace::Slow | Pace::Fast, true) => format!("{}, climbing", pace.label()),
        _ => pace.label().to_string(),
    }
}

/// Time above levels; `boiling` is the level at which it may begin to boil.
fn exposure(answer: &mut Answer, units: Units, log: &Digest, boiling: f64) {
    let e = &log.exposure;
    let mut table = Table {
        title: "Time at or above".into(),
        heads: ["level", "time", "longest", "excess × time", "episodes"]
            .map(String::from)
            .to_vec(),
        rows: Vec::new(),
        numeric: vec![1, 2, 3, 4],
    };
    let mut levels = Vec::new();
    for level in &e.levels {
        let minutes = level.degree_time / 60.0;
        let boils = if (level.temperature - boiling).abs() < 1e-6 {
            ", may begin to boil"
        } else {
            ""
        };
        table.rows.push(vec![
            format!(
                "{}{boils}",
                units.show(Kind::Temperature, level.temperature)
            ),
            span(level.time),
            span(level.longest),
            format!("{} min", units.show(Kind::TemperatureDifference, minutes)),
            level.episodes.to_string(),
        ]);
        let mut line = Map::new();
        put(&mut line, "threshold", Kind::Temperature, level.temperature);
        line.insert("time_s".into(), json!(level.time));
        line.insert("longest_s".into(), json!(level.longest));
        line.insert("degree_minutes_k_min".into(), json!(minutes));
        line.insert("episodes".into(), json!(level.episodes));
        levels.push(Value::Object(line));
    }
    answer.blocks.push(Block::Table(table));
    let mut episodes = Vec::new();
    for episode in &e.episodes {
        let mut line = Map::new();
        put(&mut line, "threshold", Kind::Temperature, episode.level);
        line.insert("from_s".into(), json!(episode.from));
        line.insert("duration_s".into(), json!(episode.long));
        put(&mut line, "peak", Kind::Temperature, episode.peak);
        line.insert(
            "degree_minutes_k_min".into(),
            json!(episode.degree_time / 60.0),
        );
        line.insert("doing".into(), json!(episode.pace().key()));
        line.insert(
            "climbing".into(),
            episode.grade.map_or(Value::Null, |g| json!(g >= CLIMB)),
        );
        for pace in Pace::ALL {
            line.insert(
                format!("{}_s", pace.key()),
                json!(episode.paces[pace as usize]),
            );
        }
        episodes.push(Value::Object(line));
    }
    if let Some(lowest) = e.levels.first().filter(|l| l.episodes > 0) {
        let mut rows: Vec<&Episode> = e
            .episodes
            .iter()
            .filter(|x| (x.level - lowest.temperature).abs() < 1e-9)
            .collect();
        let all = lowest.episodes;
        rows.sort_by(|a, b| b.degree_time.total_cmp(&a.degree_time));
        rows.truncate(SHOWN);
        rows.sort_by(|a, b| a.from.total_cmp(&b.from));
        let level = units.show(Kind::Temperature, lowest.temperature);
        answer.blocks.push(Block::Table(Table {
            title: if all as usize > rows.len() {
                format!(
                    "The {} worst of {all} episodes at or above {level}",
                    rows.len()
                )
            } else {
                format!("Episodes at or above {level}")
            },
            heads: ["began at", "lasted", "peak", "mostly"]
                .map(String::from)
                .to_vec(),
            rows: rows
                .iter()
                .map(|x| {
                    vec![
                        moment(x.from),
                        span(x.long),
                        units.show(Kind::Temperature, x.peak),
                        doing(x),
                    ]
                })
                .collect(),
            numeric: vec![0, 1, 2],
        }));
        answer.blocks.push(Block::Sentence(
            "This says how hot it was and for how long, not what that did: what to inspect after heat is for licensed practice and the service information.".into(),
        ));
    }
    let numbers = &mut answer.numbers;
    numbers.insert("thresholds".into(), Value::Array(levels));
    numbers.insert("episodes".into(), Value::Array(episodes));
    let (plateau, share) = e.plateau().unwrap_or((f64::NAN, f64::NAN));
    numbers.insert("plateau_c".into(), number(plateau - 273.15));
    numbers.insert("plateau_share".into(), number(share));
    let rise = e.rise.map_or(f64::NAN, |r| r.0 * 60.0);
    numbers.insert("fastest_warm_rise_k_per_min".into(), number(rise));
    let of = |part: f64, whole: f64| number(part / whole);
    numbers.insert(
        "engine_off_share".into(),
        of(e.engine_rows.1 as f64, e.engine_rows.0 as f64),
    );
    numbers.insert(
        "engine_off_time_share".into(),
        of(e.engine_time.1, e.engine_time.0),
    );
}

fn margin(answer: &mut Answer, question: &Question, boiling: [f64; 2]) {
    let (units, filling) = (question.units, &question.filling);
    let Some((peak, _)) = question.log.exposure.peak else {
        return;
    };
    let logged = Some(question.log.exposure.altitude).filter(|a| a.is_finite());
    let altitude = filling.altitude.or(logged).unwrap_or(0.0);
    let open = Filling {
        cap: 0.0,
        ..*filling
    }
    .boiling(altitude);
    let row = |name: &str, band: [f64; 2]| {
        vec![
            name.to_string(),
            units.show(Kind::Temperature, band[0]),
            units.show(Kind::Temperature, band[1]),
            units.show(Kind::TemperatureDifference, band[0] - peak),
        ]
    };
    answer.blocks.push(Block::Table(Table {
        title: format!(
            "Where it begins to boil, with {} glycol at {}",
            units.show(Kind::Share, filling.glycol),
            units.show(Kind::Altitude, altitude)
        ),
        heads: [
            "cap",
            "at the earliest",
            "at the latest",
            "peak is below by",
        ]
        .map(String::from)
        .to_vec(),
        rows: vec![
            row(
                &format!("holds {}", units.show(Kind::Pressure, filling.cap)),
                boiling,
            ),
            row("holds nothing", open),
        ],
        numeric: vec![1, 2, 3],
    }));
    answer
        .numbers
        .insert("boiling_low_open_c".into(), json!(open[0] - 273.15));
    answer
        .numbers
        .insert("margin_to_boiling_open_k".into(), json!(open[0] - peak));
}

/// `90.1 °C ± 0.4 K`.
fn mean(units: Units, kind: Kind, value: Option<Interval>) -> String {
    value.map_or("–".into(), |i| units.show_spread(kind, i.mean, i.half))
}

fn paces(answer: &mut Answer, question: &Question) {
    let (log, units) = (&question.log, question.units);
    let heat = heat(log, question.fuel);
    let lines = by_pace(log, &heat, question.ambient[0]);
    answer
        .blocks
        .push(Block::Heading("Where it runs hot".into()));
    let hot = where_hot(log);
    let (key, reason) = match hot {
        Hot::Standing => (
            "standing",
            "It runs hotter standing and crawling than moving, by more than the error: common practice looks at the fan, its drive and its control first (no source).",
        ),
        Hot::Moving => (
            "moving",
            "It runs hotter moving than standing, by more than the error: common practice looks at the radiator, the coolant's flow and what blocks the air first (no source).",
        ),
        Hot::Both => ("both", "It runs hot standing as well as moving."),
        Hot::Nowhere => (
            "nowhere",
            "It did not run hot in this log: the coolant stayed where a thermostat holds it. So the log does not show how much more the cooling could have given, standing or moving.",
        ),
        Hot::CannotTell(why) => ("cannot_tell", why),
    };
    answer.blocks.push(Block::Sentence(match hot {
        Hot::CannotTell(why) => {
            format!("Whether it runs hot standing or moving, this log cannot tell: {why}.")
        }
        _ => reason.to_string(),
    }));
    let known = lines.iter().any(|l| l.conductance.is_some());
    let mut heads = vec![
        "pace",
        "of the time",
        "coolant",
        "above ambient",
        "rises a minute",
    ];
    if known {
        heads.push("heat per kelvin");
    }
    answer.blocks.push(Block::Table(Table {
        title: "Warm engine, by pace (± holds about 95 of 100 times)".into(),
        heads: heads.into_iter().map(String::from).collect(),
        rows: lines.iter().map(|l| pace_row(units, l, known)).collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }));
    match &heat {
        Heat::Unknown(why) => answer.blocks.push(Block::Sentence(format!(
            "How much heat the coolant took up is not known here: {why}. So the table compares temperatures alone."
        ))),
        _ if known => answer.blocks.push(Block::Sentence(
            "Heat per kelvin of excess over ambient, with 25 ± 5 % of the fuel's heat going to the coolant (common practice, no source). That share moves all paces alike: between paces the ± of each counts. Where it says “at least”, the thermostat still held something back.".into(),
        )),
        _ => answer.blocks.push(Block::Sentence(
            "Heat per kelvin is not told: it takes three steady stretches of two minutes at a pace, with ambient and the engine's draw known.".into(),
        )),
    }
    let numbers = &mut answer.numbers;
    numbers.insert("where_hot".into(), json!(key));
    numbers.insert("where_hot_reason".into(), json!(reason));
    let (from, why) = match heat {
        Heat::Fuel(_) => ("fuel", ""),
        Heat::Air => ("air", ""),
        Heat::Unknown(why) => ("unknown", why),
    };
    numbers.insert("heat_from".into(), json!(from));
    numbers.insert("heat_unknown_because".into(), json!(why));
    numbers.insert("paces".into(), lines.iter().map(pace_json).collect());
}

fn pace_row(units: Units, line: &ByPace, known: bool) -> Vec<String> {
    let rise = line.rise.map(|i| Interval {
        mean: i.mean * 60.0,
        half: i.half * 60.0,
        ..i
    });
    let mut row = vec![
        line.pace.label().to_string(),
        units.show(Kind::Share, line.share),
        mean(units, Kind::Temperature, line.coolant),
        mean(units, Kind::TemperatureDifference, line.excess),
        mean(units, Kind::TemperatureDifference, rise),
    ];
    if known {
        let least = if line.at_full || line.conductance.is_none() {
            ""
        } else {
            "at least "
        };
        row.push(format!(
            "{least}{}",
            mean(units, Kind::Conductance, line.conductance)
        ));
    }
    row
}

fn pace_json(line: &ByPace) -> Value {
    let of = |i: Option<Interval>, factor: f64, zero: f64| {
        i.map_or([Value::Null, Value::Null, json!(0)], |i| {
            [
                number(i.mean * factor - zero),
                number(i.half * factor),
                json!(i.count),
            ]
        })
    };
    let [coolant, coolant_half, stretches] = of(line.coolant, 1.0, 273.15);
    let [excess, excess_half, _] = of(line.excess, 1.0, 0.0);
    let [rise, rise_half, _] = of(line.rise, 60.0, 0.0);
    let [conductance, conductance_half, steady] = of(line.conductance, 1.0, 0.0);
    json!({
        "pace": line.pace.key(), "time_share": number(line.share), "warm_stretches": stretches,
        "coolant_c": coolant, "coolant_half_width_k": coolant_half,
        "above_ambient_k": excess, "above_ambient_half_width_k": excess_half,
        "rise_k_per_min": rise, "rise_half_width_k_per_min": rise_half,
        "steady_stretches": steady, "conductance_w_per_k": conductance,
        "conductance_half_width_w_per_k": conductance_half, "thermostat_full_open": line.at_full,
    })
}

fn compared(answer: &mut Answer, question: &Question, after: &Digest) {
    let units = question.units;
    let c = compare(&question.log, after, question.ambient);
    let difference = |v: f64| units.show_spread(Kind::TemperatureDifference, v, c.half);
    let (key, said) = match (c.outcome, c.effect) {
        (Outcome::Cooler, Some(effect)) => (
            "cooler",
            format!(
                "After, it runs cooler by {}, with ambient, load and air conditioning allowed for.",
                difference(-effect)
            ),
        ),
        (Outcome::Hotter, Some(effect)) => (
            "hotter",
            format!(
                "After, it runs hotter by {}, with ambient, load and air conditioning allowed for.",
                difference(effect)
            ),
        ),
        (Outcome::CannotTell(why), Some(effect)) => (
            "cannot_tell",
            format!(
                "Whether it runs cooler after, these logs cannot tell: {why}. After less before, allowed for what is known: {}.",
                difference(effect)
            ),
        ),
        (_, None) => (
            "cannot_tell",
            match c.outcome {
                Outcome::CannotTell(why) => {
                    format!("Whether it runs cooler after, these logs cannot tell: {why}.")
                }
                _ => "Whether it runs cooler after, these logs cannot tell.".to_string(),
            },
        ),
    };
    // The question was whether the repair worked: that comes first.
    answer.blocks.insert(0, Block::Headline(said));
    if let Some(at) = answer
        .blocks
        .iter()
        .skip(1)
        .position(|b| matches!(b, Block::Headline(_)))
        && let Block::Headline(line) = answer.blocks.remove(at + 1)
    {
        answer
            .blocks
            .insert(1, Block::Sentence(format!("Before: {line}")));
    }
    let plain = |v: f64, kind: Kind| {
        if v.is_finite() {
            units.show(kind, v)
        } else {
            "not known".to_string()
        }
    };
    answer.blocks.push(Block::Table(Table {
        title: "What was allowed for".into(),
        heads: ["what", "before", "after"].map(String::from).to_vec(),
        rows: vec![
            vec![
                "warm, steady stretches of two minutes".into(),
                c.stretches[0].to_string(),
                c.stretches[1].to_string(),
            ],
            vec![
                "ambient".into(),
                plain(c.ambient[0], Kind::Temperature),
                plain(c.ambient[1], Kind::Temperature),
            ],
            vec![
                "load, over that before".into(),
                plain(if c.load.is_finite() { 1.0 } else { f64::NAN }, Kind::Share),
                plain(c.load, Kind::Share),
            ],
            vec![
                "air conditioning on".into(),
                plain(c.conditioning[0], Kind::Share),
                plain(c.conditioning[1], Kind::Share),
            ],
        ],
        numeric: vec![1, 2],
    }));
    if !c.not_known.is_empty() {
        answer.blocks.push(Block::Sentence(format!(
            "Not in both logs: {}. What that may have changed makes the ± wider (how much is a judgment).",
            c.not_known.join(", ")
        )));
    }
    answer
        .numbers
        .insert("compare".into(), compared_json(key, &c));
}

fn compared_json(key: &str, c: &Compared) -> Value {
    json!({
        "outcome": key,
        "effect_k": c.effect.map_or(Value::Null, number),
        "effect_half_width_k": number(c.half),
        "plain_difference_k": number(c.plain),
        "stretches_before": c.stretches[0], "stretches_after": c.stretches[1],
        "ambient_before_c": number(c.ambient[0] - 273.15), "ambient_after_c": number(c.ambient[1] - 273.15),
        "load_ratio": number(c.load),
        "not_known": c.not_known,
    })
}

fn columns(answer: &mut Answer, units: Units, log: &Digest, which: &str) {
    let kind = |s: Signal| match s {
        Signal::Coolant | Signal::Ambient | Signal::IntakeAir => Kind::Temperature,
        Signal::EngineSpeed => Kind::Speed,
        Signal::RoadSpeed => Kind::RoadSpeed,
        Signal::FuelRate => Kind::Flow,
        Signal::ManifoldPressure | Signal::Barometer => Kind::AbsolutePressure,
        Signal::Load | Signal::AirConditioning => Kind::Share,
        Signal::Altitude => Kind::Altitude,
        Signal::AirFlow => Kind::Number,
    };
    let show = |s: Signal, v: f64| match s {
        Signal::AirFlow => format!("{:.1} g/s", v * 1e3),
        Signal::FuelRate => format!("{:.2} L/h", v * 3.6e6),
        _ => units.show(kind(s), v),
    };
    let mut rows = Vec::new();
    let mut json_columns = Map::new();
    if let Some(at) = log.layout.time_column {
        let name = log.layout.heads.get(at - 1).cloned().unwrap_or_default();
        rows.push(vec![
            "time".to_string(),
            at.to_string(),
            name.clone(),
            log.layout.clock.to_string(),
            String::new(),
        ]);
        json_columns.insert(
            "time".into(),
            json!({"column": at, "name": name, "unit": log.layout.clock}),
        );
    }
    for column in &log.layout.columns {
        let seen = log.tally.seen[column.signal as usize];
        let range = if seen.readings > 0 {
            format!(
                "{} to {}",
                show(column.signal, seen.least),
                show(column.signal, seen.most)
            )
        } else {
            "all blank".to_string()
        };
        let guessed = if column.unit_guessed {
            " (not said)"
        } else {
            ""
        };
        rows.push(vec![
            column.signal.label().to_string(),
            column.number.to_string(),
            column.name.clone(),
            format!("{}{guessed}", column.unit),
            range,
        ]);
        json_columns.insert(
            column.signal.key().into(),
            json!({
                "column": column.number, "name": column.name, "unit": column.unit,
                "unit_guessed": column.unit_guessed, "readings": seen.readings,
            }),
        );
        if seen.readings == 0 {
            answer.cautions.push(format!(
                "Column {}, `{}`, is blank throughout.",
                column.number, column.name
            ));
        }
    }
    answer.blocks.push(Block::Table(Table {
        title: format!(
            "Which column{which} was taken for what (--column SIGNAL=COLUMN says otherwise)"
        ),
        heads: ["signal", "column", "heading", "unit", "read"]
            .map(String::from)
            .to_vec(),
        rows,
        numeric: vec![1],
    }));
    let missing: Vec<&str> = SIGNALS
        .into_iter()
        .filter(|s| !log.layout.columns.iter().any(|c| c.signal == *s))
        .map(Signal::label)
        .collect();
    if !missing.is_empty() {
        answer.blocks.push(Block::Sentence(format!(
            "Not in the log: {}.",
            missing.join(", ")
        )));
    }
    for (at, name, signal) in &log.layout.passed_over {
        answer.cautions.push(format!(
            "Column {at}, `{name}`, may carry {} too; it was not used.",
            signal.label()
        ));
    }
    answer
        .numbers
        .insert("columns".into(), Value::Object(json_columns));
    told(answer, units, log);
}

/// What the log's own state asks to be borne in mind.
fn told(answer: &mut Answer, units: Units, log: &Digest) {
    let tally = &log.tally;
    let said = &mut answer.cautions;
    for m in tally.mistakes.iter().take(5) {
        let what = if m.dropped {
            "the row was dropped"
        } else {
            "the row was kept"
        };
        said.push(format!(
            "Line {}, column {} (`{}`): found `{}`, expected {}; {what}.",
            m.line, m.column, m.name, m.found, m.expected
        ));
    }
    if tally.mistakes.len() > 5 {
        said.push(format!(
            "{} rows dropped in all; --json lists the first {} mistakes.",
            tally.rows_dropped,
            tally.mistakes.len()
        ));
    }
    if tally.rows_read < 30 || tally.duration < 120.0 {
        said.push(format!(
            "This is a short log ({} rows, {}): it shows what was, and hardly what usually is.",
            tally.rows_read,
            span(tally.duration)
        ));
    }
    if tally.dropouts > 0 {
        said.push(format!(
            "{} coolant readings were none that a coolant can have (a sensor that dropped out), and were passed over.",
            tally.dropouts
        ));
    }
    if tally.restarts > 0 {
        said.push("The clock was set back within the log; what lies between is counted as a gap of unknown length.".into());
    }
    if log.fahrenheit_guessed {
        said.push("No unit is said for the coolant; in °C it would be beyond any coolant, so °F were taken.".into());
    } else if log
        .layout
        .columns
        .iter()
        .any(|c| c.signal == Signal::Coolant && c.unit_guessed)
    {
        said.push("No unit is said for the coolant; °C were taken.".into());
    }
    let still = log.exposure.unmoved;
    if still.long > STILL {
        said.push(format!(
            "The coolant reading stood at {} for {} from {} on with the engine running: a thermostat may hold it so, and so does a sensor that sticks.",
            units.show(Kind::Temperature, still.reading),
            span(still.long),
            moment(still.from)
        ));
    }
    let intake = tally.seen[Signal::IntakeAir as usize];
    if intake.readings > 0 && intake.most - intake.least > 30.0 {
        said.push(format!(
            "Intake air reads from {} to {}: useless as ambient, and not used for it.",
            units.show(Kind::Temperature, intake.least),
            units.show(Kind::Temperature, intake.most)
        ));
    }
}

fn cautions(answer: &mut Answer, question: &Question, logged: Option<f64>) {
    let known = |s: Signal| question.log.tally.seen[s as usize].readings > 0;
    let said = &mut answer.cautions;
    if !known(Signal::Ambient) && question.ambient[0].is_none() {
        said.push("Ambient is not in the log: --ambient says it.".into());
    }
    if let (None, Some(height)) = (question.filling.altitude, logged)
        && height > 300.0
    {
        said.push(format!(
            "The margin to boiling is taken at the greatest altitude logged; the time above the boiling level is counted for sea level. --altitude \"{height:.0} m\" counts it there."
        ));
    }
    said.push("Where a coolant begins to boil differs between published figures by several kelvin, so it is a band; steam pockets at hot spots come earlier. The sensor reads where it sits, in steps of 1 °C on most vehicles.".into());
}

/// Seconds in a unit of the picture's axis, and its name.
fn per_tick(log: &Digest) -> (f64, &'static str) {
    if log.tally.duration > 3.0 * 3600.0 {
        (3600.0, "time, h")
    } else {
        (60.0, "time, min")
    }
}

fn coolant_curve(units: Units, log: &Digest, unit: f64, name: &str) -> Curve {
    let points = log.curve.bins.iter().enumerate().map(|(i, bin)| {
        (
            log.curve.middle(i) / unit,
            units.number(Kind::Temperature, bin.coolant()),
        )
    });
    Curve {
        name: name.into(),
        points: whole(points, log, unit),
        ..Curve::default()
    }
}

/// Bins without a row are left out where rows are usually that far apart; in a gap one point breaks the line.
fn whole(points: impl Iterator<Item = (f64, f64)>, log: &Digest, unit: f64) -> Vec<(f64, f64)> {
    let gaps = &log.tally.gaps;
    let mut kept: Vec<(f64, f64)> = Vec::new();
    for (x, y) in points {
        if y.is_finite() {
            if kept.is_empty() && x < 0.01 * log.tally.duration / unit {
                // The axis begins with the log, not in the middle of its first bin.
                kept.push((0.0, y));
            }
            kept.push((x, y));
            continue;
        }
        let s = x * unit;
        let inside = gaps.iter().any(|g| s > g.from && s < g.from + g.long);
        if inside && kept.last().is_some_and(|k| k.1.is_finite()) {
            kept.push((x, f64::NAN));
        }
    }
    kept
}

fn temperatures(units: Units, log: &Digest, boiling: [f64; 2]) -> Chart {
    let (unit, x_label) = per_tick(log);
    let t = |k: f64| units.number(Kind::Temperature, k);
    let end = log.tally.duration / unit;
    let mut chart = Chart {
        title: "Coolant temperature".into(),
        x_label: x_label.into(),
        y_label: format!("coolant, {}", units.unit(Kind::Temperature)),
        curves: vec![coolant_curve(units, log, unit, "coolant")],
        ..Chart::default()
    };
    chart.curves.push(Curve {
        name: "begins to boil".into(),
        points: vec![(0.0, t(boiling[0])), (end, t(boiling[0]))],
        band: vec![
            (0.0, t(boiling[0]), t(boiling[1])),
            (end, t(boiling[0]), t(boiling[1])),
        ],
    });
    chart.levels = log
        .exposure
        .levels
        .iter()
        .filter(|l| (l.temperature - boiling[0]).abs() > 0.5)
        .map(|l| {
            (
                units.show(Kind::Temperature, l.temperature),
                t(l.temperature),
            )
        })
        .collect();
    if let Some((peak, when)) = log.exposure.peak {
        chart.marks.push(Mark {
            name: format!("peak {}", units.show(Kind::Temperature, peak)),
            x: when / unit,
            y: t(peak),
            spread: 0.0,
        });
    }
    chart
}

fn speeds(units: Units, log: &Digest) -> Chart {
    let (unit, x_label) = per_tick(log);
    let points = log.curve.bins.iter().enumerate().map(|(i, bin)| {
        (
            log.curve.middle(i) / unit,
            units.number(Kind::RoadSpeed, bin.speed()),
        )
    });
    Chart {
        title: "Road speed".into(),
        x_label: x_label.into(),
        y_label: format!("road speed, {}", units.unit(Kind::RoadSpeed)),
        y_from_zero: true,
        curves: vec![Curve {
            name: String::new(),
            points: whole(points, log, unit),
            ..Curve::default()
        }],
        ..Chart::default()
    }
}

fn series(log: &Digest) -> Table {
    let text = |v: f64| {
        if v.is_finite() {
            format!("{v:.2}")
        } else {
            String::new()
        }
    };
    let rows = log
        .curve
        .bins
        .iter()
        .enumerate()
        .filter(|(_, b)| b.coolant().is_finite());
    Table {
        heads: [
            "time_s",
            "coolant_c",
            "coolant_most_c",
            "road_speed_km_per_h",
        ]
        .map(String::from)
        .to_vec(),
        rows: rows
            .map(|(i, bin)| {
                vec![
                    text(log.curve.middle(i)),
                    text(bin.coolant() - 273.15),
                    text(bin.coolant_most - 273.15),
                    text(bin.speed() * 3.6),
                ]
            })
            .collect(),
        ..Table::default()
    }
}

fn safety() -> Vec<String> {
    [
        "Never open a hot cooling system: the cap holds back scalding coolant and steam.",
        "The fan may start by itself, also with the engine off. Keep hands and sleeves out of its plane.",
        "Do not read a screen while driving: let the tool log, and look later.",
        "After an engine was too hot, what to inspect follows the service information and licensed practice.",
    ]
    .map(String::from)
    .to_vec()
}
