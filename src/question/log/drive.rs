//! The result for one log: rows, peak, time above levels, episodes, columns.

use crate::model::log::{Column, Guess, Guessed, Signal};
use crate::outcome;
use crate::question::Keyed;
use crate::vary::log::{CLIMB, Digest, Episode, Pace};

outcome! {
    /// A stretch without rows.
    pub struct LogGap {
        /// When it begins, since the first row.
        from: f64 as Time,
        /// How long it is; unknown where the clock was set back.
        duration: f64 as Time,
    }
}

outcome! {
    /// A cell that could not be read as it stands.
    pub struct LogMistake {
        /// The line of the file, from 1.
        line: u64,
        /// The column, from 1.
        column: usize,
        /// Its heading.
        name: String,
        /// What stands there.
        found: String,
        /// What was expected.
        expected: &'static str,
        /// Whether the row was dropped for it.
        row_dropped: bool,
    }
}

outcome! {
    /// Time at or above a level.
    pub struct Threshold {
        /// The level.
        threshold: f64 as Temperature,
        /// Time at or above it.
        time: f64 as Time,
        /// The longest episode.
        longest: f64 as Time,
        /// Excess over the level times time.
        degree_minutes: f64 = "degree_minutes_k_min",
        /// Number of episodes.
        episodes: u64,
    }
}

outcome! {
    /// One episode at or above a level.
    pub struct HotSpell {
        /// The level.
        threshold: f64 as Temperature,
        /// When it began, since the first row.
        from: f64 as Time,
        /// How long it was.
        duration: f64 as Time,
        /// The highest temperature.
        peak: f64 as Temperature,
        /// Excess over the level times time.
        degree_minutes: f64 = "degree_minutes_k_min",
        /// What the vehicle did most of the time: `standing`, `crawling`, `driving`, `climbing`, `unknown`.
        doing: &'static str,
        /// Mean slope of the road, where altitude was logged and the vehicle moved.
        grade: Option<f64>,
        /// Time at each pace, s.
        times: Keyed<f64>,
    }
}

outcome! {
    /// A column, and how it was taken.
    pub struct LogColumn {
        /// Where it stands, from 1.
        column: usize,
        /// Its heading.
        name: String,
        /// Its unit.
        unit: String,
        /// Whether the unit is the usual one, for want of one that is stated.
        unit_guessed: Option<bool>,
        /// How many readings it holds.
        readings: Option<u64>,
        /// How many more there are that the signal cannot have.
        impossible: Option<u64>,
    }
}

outcome! {
    /// What of a log was guessed.
    pub struct LogGuess {
        /// What: `time_scale`, `time_column`, `column`, `delimiter`, `marks`, `unit` or `shift`.
        what: &'static str,
        /// Of which signal.
        signal: Option<&'static str>,
        /// What was taken.
        taken: String,
        /// What it may be otherwise.
        other: String,
        /// The field that says the other; none where only the file itself can.
        field: Option<&'static str>,
        /// What that field then holds, or how the file must be changed.
        setting: String,
    }
}

outcome! {
    /// A warm-up.
    pub struct LogWarmUp {
        /// When it began, since the first row.
        from: f64 as Time,
        /// How fast the coolant rose between 40 and 70 °C.
        rate: f64 = "rate_k_per_min",
    }
}

outcome! {
    /// Cooling while parked.
    pub struct LogSoak {
        /// When it began, since the first row.
        from: f64 as Time,
        /// How long it was.
        duration: f64 as Time,
        /// Coolant temperature before.
        coolant_before: f64 as Temperature,
        /// Coolant temperature after.
        coolant_after: f64 as Temperature,
        /// Ambient temperature.
        ambient: f64 as Temperature,
        /// Fraction of the excess over ambient that is lost in an hour.
        rate: Option<f64> = "rate_per_h",
    }
}

outcome! {
    /// What one log holds.
    pub struct Drive {
        /// Rows that were used.
        rows_read: u64,
        /// Rows that were not.
        rows_dropped: u64,
        /// Of these, rows whose time lay behind the row before.
        rows_backwards: u64,
        /// Of these, rows whose time alone lay far ahead of the rows around them.
        rows_ahead: u64,
        /// Rows with nothing but zeros, as before a link is up.
        rows_of_zeros: u64,
        /// Sessions, each under headings of its own.
        sessions: usize,
        /// Whether readings that dropped out and rows that could not be used are so many that no verdict stands.
        verdict_withdrawn: bool,
        /// Rows with the stamp of the row before.
        repeated_stamps: u64,
        /// Cells in another unit than their column's.
        cells_in_another_unit: u64,
        /// Coolant readings that no coolant has: the sensor dropped out.
        coolant_dropouts: u64,
        /// How often the clock was set back.
        clock_set_back: u64,
        /// How many gaps there are.
        gap_count: u64,
        /// From the first row to the last.
        duration: f64 as Time,
        /// How long the gaps are together.
        gap_time: f64 as Time,
        /// The first gaps.
        gaps: Vec<LogGap>,
        /// The first mistakes.
        mistakes: Vec<LogMistake>,
        /// The highest coolant temperature.
        peak_coolant: f64 as Temperature,
        /// When it was first reached, since the first row.
        peak_at: f64 as Time,
        /// The level at which the warm engine stays most.
        plateau: Option<f64> as Temperature,
        /// Fraction of the time within a degree of it.
        plateau_share: Option<f64>,
        /// The fastest rise of the warm engine.
        fastest_warm_rise: Option<f64> = "fastest_warm_rise_k_per_min",
        /// When that was, since the first row.
        fastest_warm_rise_at: Option<f64> as Time,
        /// Warm-ups.
        warm_ups: Vec<LogWarmUp>,
        /// Cooling while parked.
        soaks: Vec<LogSoak>,
        /// Fraction of the rows with the engine at rest.
        engine_off_share: f64,
        /// Fraction of the time with the engine at rest.
        engine_off_time_share: f64,
        /// Time at or above each level, in rising order.
        thresholds: Vec<Threshold>,
        /// The first episodes, and among many the worst.
        episodes: Vec<HotSpell>,
        /// What of its layout was guessed.
        guesses: Vec<LogGuess>,
        /// Which column was taken for what, by signal.
        columns: Keyed<LogColumn>,
    }
}

impl Drive {
    /// The result for one log.
    pub(super) fn of(log: &Digest) -> Self {
        let (tally, exposure) = (&log.tally, &log.exposure);
        let (rows, off) = exposure.engine_rows;
        let (time, off_time) = exposure.engine_time;
        let plateau = exposure.plateau();
        let (peak_coolant, peak_at) = exposure.peak.unwrap_or((f64::NAN, f64::NAN));
        Self {
            rows_read: tally.rows_read,
            rows_dropped: tally.rows_dropped,
            rows_backwards: tally.backwards,
            rows_ahead: tally.ahead,
            rows_of_zeros: tally.placeholders,
            sessions: tally.sessions.len() + 1,
            verdict_withdrawn: log.withdrawn(),
            repeated_stamps: tally.repeated_stamps,
            cells_in_another_unit: tally.mixed_units,
            coolant_dropouts: tally.dropouts,
            clock_set_back: tally.restarts,
            gap_count: tally.gap_count,
            duration: tally.duration,
            gap_time: tally.gap_time,
            gaps: gaps(log),
            mistakes: mistakes(log),
            peak_coolant,
            peak_at,
            plateau: plateau.map(|p| p.0),
            plateau_share: plateau.map(|p| p.1),
            fastest_warm_rise: exposure.rise().map(|r| r.0 * 60.0),
            fastest_warm_rise_at: exposure.rise().map(|r| r.1),
            warm_ups: warm_ups(log),
            soaks: soaks(log),
            engine_off_share: off as f64 / rows as f64,
            engine_off_time_share: off_time / time,
            thresholds: thresholds(log),
            episodes: exposure.episodes.iter().map(HotSpell::of).collect(),
            guesses: log.layout.guesses.iter().map(LogGuess::of).collect(),
            columns: Keyed(columns(log)),
        }
    }
}

fn gaps(log: &Digest) -> Vec<LogGap> {
    let gaps = log.tally.gaps.iter();
    gaps.map(|g| LogGap {
        from: g.from,
        duration: g.long,
    })
    .collect()
}

fn mistakes(log: &Digest) -> Vec<LogMistake> {
    let mistakes = log.tally.mistakes.iter();
    mistakes
        .map(|m| LogMistake {
            line: m.line,
            column: m.column,
            name: m.name.clone(),
            found: m.found.clone(),
            expected: m.expected,
            row_dropped: m.dropped,
        })
        .collect()
}

fn warm_ups(log: &Digest) -> Vec<LogWarmUp> {
    let all = log.rates.warm_ups.iter();
    all.map(|w| LogWarmUp {
        from: w.from,
        rate: w.rate * 60.0,
    })
    .collect()
}

fn soaks(log: &Digest) -> Vec<LogSoak> {
    let all = log.rates.soaks.iter();
    all.map(|s| LogSoak {
        from: s.from,
        duration: s.long,
        coolant_before: s.ends[0],
        coolant_after: s.ends[1],
        ambient: s.ambient,
        rate: s.rate.map(|r| r * 3600.0),
    })
    .collect()
}

impl LogGuess {
    fn of(guess: &Guess) -> Self {
        let (what, signal) = match guess.what {
            Guessed::TimeScale => ("time_scale", None),
            Guessed::TimeColumn => ("time_column", None),
            Guessed::Column(signal) => ("column", Some(signal)),
            Guessed::Delimiter => ("delimiter", None),
            Guessed::Marks(signal) => ("marks", Some(signal)),
            Guessed::Unit(signal) => ("unit", Some(signal)),
            Guessed::Shift => ("shift", None),
        };
        Self {
            what,
            signal: signal.map(Signal::key),
            taken: guess.taken.clone(),
            other: guess.other.clone(),
            field: guess.field,
            setting: guess.setting.clone(),
        }
    }
}

fn thresholds(log: &Digest) -> Vec<Threshold> {
    let levels = log.exposure.levels.iter();
    levels
        .map(|level| Threshold {
            threshold: level.temperature,
            time: level.time,
            longest: level.longest,
            degree_minutes: level.degree_time / 60.0,
            episodes: level.episodes,
        })
        .collect()
}

impl HotSpell {
    fn of(episode: &Episode) -> Self {
        let doing = match episode.pace() {
            Pace::Slow | Pace::Fast if episode.grade.is_some_and(|g| g >= CLIMB) => "climbing",
            Pace::Slow | Pace::Fast => "driving",
            pace => pace.key(),
        };
        let times = Pace::ALL.map(|p| (format!("{}_s", p.key()), episode.paces[p as usize]));
        Self {
            threshold: episode.level,
            from: episode.from,
            duration: episode.long,
            peak: episode.peak,
            degree_minutes: episode.degree_time / 60.0,
            doing,
            grade: episode.grade,
            times: Keyed(times.into()),
        }
    }
}

/// The column used for the time, then for each signal.
fn columns(log: &Digest) -> Vec<(String, LogColumn)> {
    let layout = &log.layout;
    let time = layout.time_column.map(|at| {
        let column = LogColumn {
            column: at,
            name: layout.heads.get(at - 1).cloned().unwrap_or_default(),
            unit: layout.clock.into(),
            unit_guessed: None,
            readings: None,
            impossible: None,
        };
        ("time".to_string(), column)
    });
    let signal = |c: &Column| {
        let seen = log.tally.seen[c.signal as usize];
        let column = LogColumn {
            column: c.number,
            name: c.name.clone(),
            unit: c.unit.clone(),
            unit_guessed: Some(c.unit_guessed),
            readings: Some(seen.readings),
            impossible: Some(seen.impossible),
        };
        (c.signal.key().to_string(), column)
    };
    time.into_iter()
        .chain(layout.columns.iter().map(signal))
        .collect()
}
