//! Several logs, one per row.

use super::climbs;
use crate::model::Caution;
use crate::outcome;
use crate::trouble::Trouble;
use crate::vary::log::{Line, Verdict};

outcome! {
    /// What one of several logs says, or why it says nothing.
    pub struct LogLine {
        /// The log.
        log: String,
        /// Where it runs hot, as in `runs_hot` of a log by itself; or `withdrawn` where too much of it could not be
        /// used, or `not_read`.
        verdict: &'static str,
        /// The highest coolant temperature.
        peak_coolant: Option<f64> as Temperature,
        /// From the first row to the last.
        duration: Option<f64> as Time,
        /// Rows that were used.
        rows_read: Option<u64>,
        /// Why it could not be read.
        troubles: Vec<String>,
    }
    beside {
        /// What its climbs say, where it was read and enough of it could be used.
        hot: Option<Verdict>,
        /// Why it could not be read, or tells nothing, in short; may be empty.
        why: String,
    }
}

outcome! {
    /// What several logs say, those that run hot first.
    pub struct Several {
        /// The logs.
        logs: Vec<LogLine>,
    }
    beside {
        /// What must be borne in mind.
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
