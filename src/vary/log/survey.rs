//! Several logs, one per row, the most important first.

use super::climbs::{RunsHot, Verdict, runs_hot};
use super::cooling::all_given_from;
use super::digest::Digest;
use crate::trouble::Troubles;
use rayon::prelude::*;

/// One log: the result, or why there is none.
#[derive(Debug)]
pub struct Line {
    /// The log.
    pub source: String,
    /// The data read from the log.
    pub read: Result<(Digest, RunsHot), Troubles>,
}

impl Line {
    /// The sort key of the rows: logs that run hot first, then by maximum temperature; unreadable logs last.
    fn rank(&self) -> (u8, f64) {
        let Ok((digest, hot)) = &self.read else {
            return (3, 0.0);
        };
        let peak = digest.exposure.peak.map_or(0.0, |p| p.0);
        let rank = match hot.verdict {
            Verdict::Standing(_) | Verdict::Moving(_) | Verdict::Both(_) => 0,
            _ if digest.withdrawn() => 2,
            _ => 1,
        };
        (rank, -peak)
    }
}

/// Reads logs in parallel; `read` reads one and may report progress.
pub fn survey(
    sources: &[String],
    read: impl Fn(&str) -> Result<Digest, Troubles> + Sync,
) -> Vec<Line> {
    let line = |source: &String| {
        let read = read(source).map(|digest| {
            let hot = runs_hot(&digest, all_given_from(&digest, None));
            (digest, hot)
        });
        Line {
            source: source.clone(),
            read,
        }
    };
    let mut lines: Vec<Line> = sources.par_iter().map(line).collect();
    lines.sort_by(|a, b| {
        let (a, b) = (a.rank(), b.rank());
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    lines
}
