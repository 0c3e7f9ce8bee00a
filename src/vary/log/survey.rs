//! Several logs, each in a row, those that matter most first.

use super::climbs::{RunsHot, Verdict, runs_hot};
use super::digest::Digest;
use crate::trouble::Troubles;
use rayon::prelude::*;

/// A log in a row: what it says, or why it says nothing.
#[derive(Debug)]
pub struct Line {
    /// The log.
    pub source: String,
    /// What was read of it.
    pub read: Result<(Digest, RunsHot), Troubles>,
}

impl Line {
    /// By what rows are sorted: logs that run hot first, then by how high they went; those that could not be read last.
    fn rank(&self) -> (u8, f64) {
        let Ok((digest, hot)) = &self.read else {
            return (3, 0.0);
        };
        let peak = digest.exposure.peak.map_or(0.0, |p| p.0);
        let rank = match hot.verdict {
            Verdict::Standing(_) | Verdict::Moving(_) | Verdict::Both(_) if !digest.withdrawn() => {
                0
            }
            _ if digest.withdrawn() => 2,
            _ => 1,
        };
        (rank, -peak)
    }
}

/// Reads logs beside each other; `read` reads one and may tell how far it is.
pub fn survey(
    sources: &[String],
    read: impl Fn(&str) -> Result<Digest, Troubles> + Sync,
) -> Vec<Line> {
    let line = |source: &String| {
        let read = read(source).map(|digest| {
            let hot = runs_hot(&digest);
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
