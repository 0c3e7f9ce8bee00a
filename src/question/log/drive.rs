//! The result for one log: rows, peak temperature, time above temperature levels, episodes, columns.

use crate::model::log::{Column, Guess, Guessed, Signal};
use crate::outcome;
use crate::question::Keyed;
use crate::vary::log::{CLIMB, Digest, Episode, Pace};

outcome! {
    /// An interval without rows.
    pub struct LogGap {
        /// Start time, counted from the first row.
        from: f64 as Time,
        /// Duration; null if the clock was set back.
        duration: f64 as Time,
    }
}

outcome! {
    /// A cell that could not be read as written.
    pub struct LogMistake {
        /// The line of the file, from 1.
        line: u64,
        /// The column, from 1.
        column: usize,
        /// Heading of the column.
        name: String,
        /// The text found.
        found: String,
        /// The expected content.
        expected: &'static str,
        /// Whether the row was dropped because of this cell.
        row_dropped: bool,
    }
}

outcome! {
    /// Time with the coolant at or above a temperature level.
    pub struct Threshold {
        /// The temperature level.
        threshold: f64 as Temperature,
        /// Time at or above the level.
        time: f64 as Time,
        /// Duration of the longest episode at or above the level.
        longest: f64 as Time,
        /// Excess of the coolant temperature over the level, integrated over time.
        degree_minutes: f64 = "degree_minutes_k_min",
        /// Number of episodes at or above the level.
        episodes: u64,
    }
}

outcome! {
    /// One episode with the coolant at or above a temperature level.
    pub struct HotSpell {
        /// The temperature level.
        threshold: f64 as Temperature,
        /// Start time, counted from the first row.
        from: f64 as Time,
        /// Duration.
        duration: f64 as Time,
        /// The highest coolant temperature in the episode.
        peak: f64 as Temperature,
        /// Excess of the coolant temperature over the level, integrated over time.
        degree_minutes: f64 = "degree_minutes_k_min",
        /// The pace during most of the episode: `standing`, `crawling`, `driving`, `climbing`, `unknown`.
        doing: &'static str,
        /// Mean grade of the road; null unless altitude was logged and the vehicle moved.
        grade: Option<f64>,
        /// Time at each pace, s.
        times: Keyed<f64>,
    }
}

outcome! {
    /// A column and its interpretation.
    pub struct LogColumn {
        /// Position of the column, from 1.
        column: usize,
        /// Heading of the column.
        name: String,
        /// Unit of the column.
        unit: String,
        /// Whether the usual unit of the signal was assumed, because the log states none.
        unit_guessed: Option<bool>,
        /// Number of readings.
        readings: Option<u64>,
        /// Number of readings with impossible values, not included in `readings`.
        impossible: Option<u64>,
    }
}

outcome! {
    /// A guess made in reading a log.
    pub struct LogGuess {
        /// What was guessed: `time_scale`, `time_column`, `column`, `delimiter`, `marks`, `unit` or `shift`.
        what: &'static str,
        /// The signal that the guess is about, if any.
        signal: Option<&'static str>,
        /// The value that was assumed.
        taken: String,
        /// The alternative that was not used.
        other: String,
        /// Key of the field that selects the alternative; null if the file itself must be changed.
        field: Option<&'static str>,
        /// What to enter in that field, or what to change in the file.
        setting: String,
    }
}

outcome! {
    /// A warm-up of the engine.
    pub struct LogWarmUp {
        /// Start time, counted from the first row.
        from: f64 as Time,
        /// Rate of rise of the coolant between 40 and 70 °C.
        rate: f64 = "rate_k_per_min",
    }
}

outcome! {
    /// Cooling of the parked engine.
    pub struct LogSoak {
        /// Start time, counted from the first row.
        from: f64 as Time,
        /// Duration.
        duration: f64 as Time,
        /// Coolant temperature at the start of the cooling.
        coolant_before: f64 as Temperature,
        /// Coolant temperature at the end of the cooling.
        coolant_after: f64 as Temperature,
        /// Ambient temperature.
        ambient: f64 as Temperature,
        /// Relative rate at which the excess of coolant over ambient temperature decays, per hour.
        rate: Option<f64> = "rate_per_h",
    }
}

outcome! {
    /// The result for one log.
    pub struct Drive {
        /// Number of rows used.
        rows_read: u64,
        /// Number of rows not used.
        rows_dropped: u64,
        /// Number of unused rows whose time stamp is before that of the previous row.
        rows_backwards: u64,
        /// Number of unused rows whose time stamp alone is far from that of the neighbouring rows.
        rows_ahead: u64,
        /// Number of rows containing only zeros, as logged before the connection to the vehicle is established.
        rows_of_zeros: u64,
        /// Number of recording sessions in the file, each with its own headings.
        sessions: usize,
        /// Whether too many coolant readings or rows are unusable for any conclusion.
        verdict_withdrawn: bool,
        /// Number of rows with the same time stamp as the previous row.
        repeated_stamps: u64,
        /// Number of cells whose unit differs from that of their column.
        cells_in_another_unit: u64,
        /// Number of impossible coolant readings, caused by sensor dropouts.
        coolant_dropouts: u64,
        /// Number of times the clock was set back.
        clock_set_back: u64,
        /// Number of gaps between rows.
        gap_count: u64,
        /// Duration from the first row to the last.
        duration: f64 as Time,
        /// Total duration of the gaps.
        gap_time: f64 as Time,
        /// The first gaps.
        gaps: Vec<LogGap>,
        /// The first cells that could not be read as written.
        mistakes: Vec<LogMistake>,
        /// The highest coolant temperature.
        peak_coolant: f64 as Temperature,
        /// Time at which the peak coolant temperature was first reached, since the first row.
        peak_at: f64 as Time,
        /// Most frequent coolant temperature of the warm engine.
        plateau: Option<f64> as Temperature,
        /// Fraction of the time within one degree of the most frequent coolant temperature.
        plateau_share: Option<f64>,
        /// Fastest rise of the coolant temperature of the warm engine; null if `verdict_withdrawn`.
        fastest_warm_rise: Option<f64> = "fastest_warm_rise_k_per_min",
        /// Time of the fastest rise, since the first row.
        fastest_warm_rise_at: Option<f64> as Time,
        /// The warm-ups of the engine. None if `verdict_withdrawn`.
        warm_ups: Vec<LogWarmUp>,
        /// The periods in which the parked engine cooled. None if `verdict_withdrawn`.
        soaks: Vec<LogSoak>,
        /// Fraction of the rows with the engine off.
        engine_off_share: f64,
        /// Fraction of the time with the engine off.
        engine_off_time_share: f64,
        /// Time with the coolant at or above each level, in rising order of level.
        thresholds: Vec<Threshold>,
        /// The first episodes at or above each level; if there are many, the worst ones. None if `verdict_withdrawn`.
        episodes: Vec<HotSpell>,
        /// The guesses made about the layout of the log.
        guesses: Vec<LogGuess>,
        /// The columns used, by signal.
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
        // Noise gives figures that look sound; none of them is shown.
        let withdrawn = log.withdrawn();
        let rise = log.rise().filter(|_| !withdrawn);
        let sound = |_: &&Episode| !withdrawn;
        Self {
            rows_read: tally.rows_read,
            rows_dropped: tally.rows_dropped,
            rows_backwards: tally.backwards,
            rows_ahead: tally.ahead,
            rows_of_zeros: tally.placeholders,
            sessions: tally.sessions.len() + 1,
            verdict_withdrawn: withdrawn,
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
            fastest_warm_rise: rise.map(|r| r.0 * 60.0),
            fastest_warm_rise_at: rise.map(|r| r.1),
            warm_ups: if withdrawn { Vec::new() } else { warm_ups(log) },
            soaks: if withdrawn { Vec::new() } else { soaks(log) },
            engine_off_share: off as f64 / rows as f64,
            engine_off_time_share: off_time / time,
            thresholds: thresholds(log),
            episodes: { exposure.episodes.iter() }
                .filter(sound)
                .map(HotSpell::of)
                .collect(),
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
