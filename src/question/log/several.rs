//! A table of several logs, one per row.

use super::climbs;
use crate::model::Caution;
use crate::outcome;
use crate::trouble::Trouble;
use crate::vary::log::{Line, Verdict};

outcome! {
    /// The result for one of several logs, or why there is none.
    pub struct LogLine {
        /// Name of the log.
        log: String,
        /// Where the engine runs hot, as in `runs_hot` for a single log; `withdrawn` if too much of the log is
        /// unusable, `not_read` if it could not be read.
        verdict: &'static str,
        /// The highest coolant temperature.
        peak_coolant: Option<f64> as Temperature,
        /// Duration from the first row to the last.
        duration: Option<f64> as Time,
        /// Number of rows used.
        rows_read: Option<u64>,
        /// Why the log could not be read.
        troubles: Vec<String>,
    }
    beside {
        /// The conclusion from the climbs in the log, if enough of the log is usable.
        hot: Option<Verdict>,
        /// Short reason why the log could not be read or is inconclusive; may be empty.
        why: String,
    }
}

outcome! {
    /// The results for several logs; logs in which the engine runs hot come first.
    pub struct Several {
        /// The logs.
        logs: Vec<LogLine>,
    }
    beside {
        /// The cautions to be shown with the result.
        cautions: Vec<Caution>,
    }
}

impl LogLine {
    /// The result for one log.
    pub(super) fn of(line: &Line) -> Self {
        let log = line.source.clone();
        match &line.read {
            Err(troubles) => Self {
                log,
                verdict: "not_read",
                peak_coolant: None,
                duration: None,
                rows_read: None,
                troubles: troubles.iter().map(Trouble::to_string).collect(),
                hot: None,
                why: troubles.first().map_or(String::new(), |t| t.found.clone()),
            },
            Ok((digest, hot)) => Self {
                log,
                verdict: match digest.withdrawn() {
                    true => "withdrawn",
                    false => climbs::key(&hot.verdict).0,
                },
                peak_coolant: digest.exposure.peak.map(|p| p.0),
                duration: Some(digest.tally.duration),
                rows_read: Some(digest.tally.rows_read),
                troubles: Vec::new(),
                why: climbs::key(&hot.verdict).1.into(),
                hot: (!digest.withdrawn()).then_some(hot.verdict),
            },
        }
    }
}
