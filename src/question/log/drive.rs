//! What one log holds: rows, peak, time above levels, episodes, columns; and what its own state asks to be borne in mind.

use crate::model::LogCaution;
use crate::model::log::{Column, Signal};
use crate::outcome;
use crate::question::Keyed;
use crate::vary::log::{CLIMB, Digest, Episode, Pace};

/// A reading that stands still for longer, s, is remarked on.
const STILL: f64 = 1200.0;
/// Mistakes that are remarked on one by one.
const NAMED: usize = 5;
/// A log of fewer rows, or shorter (s), is short.
const SHORT: (u64, f64) = (30, 120.0);
/// Intake air that varies by more (K) is far from ambient.
const VARIES: f64 = 30.0;

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
        /// Fraction of the rows with the engine at rest.
        engine_off_share: f64,
        /// Fraction of the time with the engine at rest.
        engine_off_time_share: f64,
        /// Time at or above each level, in rising order.
        thresholds: Vec<Threshold>,
        /// The first episodes, and among many the worst.
        episodes: Vec<HotSpell>,
        /// Which column was taken for what, by signal.
        columns: Keyed<LogColumn>,
    }
}

impl Drive {
    /// What a log holds.
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
            fastest_warm_rise: exposure.rise.map(|r| r.0 * 60.0),
            fastest_warm_rise_at: exposure.rise.map(|r| r.1),
            engine_off_share: off as f64 / rows as f64,
            engine_off_time_share: off_time / time,
            thresholds: thresholds(log),
            episodes: exposure.episodes.iter().map(HotSpell::of).collect(),
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

/// Which column was taken for what: the time, then each signal.
fn columns(log: &Digest) -> Vec<(String, LogColumn)> {
    let layout = &log.layout;
    let time = layout.time_column.map(|at| {
        let column = LogColumn {
            column: at,
            name: layout.heads.get(at - 1).cloned().unwrap_or_default(),
            unit: layout.clock.into(),
            unit_guessed: None,
            readings: None,
        };
        ("time".to_string(), column)
    });
    let signal = |c: &Column| {
        let column = LogColumn {
            column: c.number,
            name: c.name.clone(),
            unit: c.unit.clone(),
            unit_guessed: Some(c.unit_guessed),
            readings: Some(log.tally.seen[c.signal as usize].readings),
        };
        (c.signal.key().to_string(), column)
    };
    time.into_iter()
        .chain(layout.columns.iter().map(signal))
        .collect()
}

/// What a log's own state asks to be borne in mind.
pub(super) fn cautions(log: &Digest) -> Vec<LogCaution> {
    let (tally, layout) = (&log.tally, &log.layout);
    let mut all = of_columns(log);
    let named = tally.mistakes.iter().take(NAMED).cloned();
    all.extend(named.map(LogCaution::Cell));
    let mut add = |when: bool, caution: LogCaution| {
        if when {
            all.push(caution);
        }
    };
    let (cells, listed) = (tally.rows_dropped + tally.mixed_units, tally.mistakes.len());
    let named = NAMED;
    add(
        cells > NAMED as u64,
        LogCaution::MoreCells {
            named,
            cells,
            listed,
        },
    );
    let (rows, duration) = (tally.rows_read, tally.duration);
    let short = rows < SHORT.0 || duration < SHORT.1;
    add(short, LogCaution::ShortLog { rows, duration });
    let readings = tally.dropouts;
    add(readings > 0, LogCaution::Dropouts { readings });
    add(tally.restarts > 0, LogCaution::ClockSetBack);
    let unstated = |c: &Column| c.signal == Signal::Coolant && c.unit_guessed;
    let fahrenheit = log.fahrenheit_guessed;
    add(
        fahrenheit || layout.columns.iter().any(unstated),
        LogCaution::UnitNotStated { fahrenheit },
    );
    let still = log.exposure.unmoved;
    let (at, duration, from) = (still.reading, still.long, still.from);
    add(
        duration > STILL,
        LogCaution::ReadingStill { at, duration, from },
    );
    let intake = tally.seen[Signal::IntakeAir as usize];
    let (low, high) = (intake.least, intake.most);
    let varies = intake.readings > 0 && high - low > VARIES;
    add(varies, LogCaution::IntakeAir { low, high });
    all
}

/// Columns that are blank throughout, and columns that were not used.
fn of_columns(log: &Digest) -> Vec<LogCaution> {
    let seen = |c: &&Column| log.tally.seen[c.signal as usize].readings == 0;
    let blank = log.layout.columns.iter().filter(seen);
    let blank = blank.map(|c| LogCaution::BlankColumn {
        column: c.number,
        name: c.name.clone(),
    });
    let passed_over = log.layout.passed_over.iter();
    let passed_over = passed_over.map(|(column, name, signal)| LogCaution::PassedOver {
        column: *column,
        name: name.clone(),
        signal: *signal,
    });
    blank.chain(passed_over).collect()
}
