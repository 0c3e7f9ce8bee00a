//! A progress bar on standard error for long computations.

use crate::question::Open;
use crate::trouble::Stop;
use indicatif::{ProgressBar, ProgressStyle};
use std::fs::File;
use std::io::{Error, IsTerminal, Read};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

/// Delay before the progress bar appears.
pub const PATIENCE: Duration = Duration::from_secs(1);

/// Interval at which the bar is redrawn.
const AGAIN: Duration = Duration::from_millis(100);

/// Number of steps of the bar.
const STEPS: f64 = 1000.0;

/// Maximum advance of the bar per redraw, as a fraction of its length, so that it moves smoothly even if much of the
/// work turns out to be unnecessary.
const AT_ONCE: f64 = 0.03;

/// Maximum position of the bar, as a fraction, while the computation is running.
const FULLEST: f64 = 0.99;

/// The next position of the bar, from the present position and the fraction of the work that has been started. If work
/// was added, the bar moves back.
fn next(shown: f64, share: f64) -> f64 {
    share.min(shown + AT_ONCE).min(FULLEST)
}

/// Runs a computation that can be cancelled; on a terminal, shows its progress if it takes long.
pub fn watched<T>(stop: &Stop, work: impl FnOnce() -> T) -> T {
    if !std::io::stderr().is_terminal() {
        return work();
    }
    let (working, ended) = channel::<()>();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            let waits = |time| ended.recv_timeout(time) == Err(RecvTimeoutError::Timeout);
            if !waits(PATIENCE) {
                return;
            }
            let style = ProgressStyle::with_template("{bar:40} {percent} %")
                .unwrap_or_else(|_| ProgressStyle::default_bar());
            let bar = ProgressBar::new(STEPS as u64).with_style(style);
            let share = || stop.share().unwrap_or(0.0);
            let mut shown = share().min(FULLEST);
            loop {
                bar.set_position((STEPS * shown) as u64);
                shown = next(shown, share());
                if !waits(AGAIN) {
                    break;
                }
            }
            bar.finish_and_clear();
        });
        let answer = work();
        drop(working);
        answer
    })
}

/// Maximum size of standard input that is kept in memory, bytes.
const LARGEST: u64 = 1 << 30;

/// Opens a file, or standard input for the path `-`. With `again`, standard input is kept in memory, so that it can be
/// read more than once; otherwise it is streamed.
pub fn opening(again: bool) -> Open {
    Arc::new(move |path| {
        if path == "-" && again {
            return Ok(Box::new(standard_input()?));
        }
        if path == "-" {
            return Ok(Box::new(std::io::stdin()));
        }
        let file = File::open(path)?;
        if file.metadata()?.is_dir() {
            return Err(Error::other("it is a folder"));
        }
        Ok(Box::new(file))
    })
}

/// The content of standard input, kept because it may be read twice.
fn standard_input() -> std::io::Result<&'static [u8]> {
    static HELD: OnceLock<Vec<u8>> = OnceLock::new();
    if let Some(held) = HELD.get() {
        return Ok(held);
    }
    let mut bytes = Vec::new();
    let read = std::io::stdin()
        .lock()
        .take(LARGEST + 1)
        .read_to_end(&mut bytes)?;
    if read as u64 > LARGEST {
        return Err(Error::other("more than 1 GB from standard input"));
    }
    Ok(HELD.get_or_init(|| bytes))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_not_opened() {
        assert!(opening(true)("/").is_err());
    }

    #[test]
    fn a_bar_follows_what_is_begun_and_is_never_full() {
        assert!((next(0.5, 0.51) - 0.51).abs() < 1e-12);
        assert!((next(0.5, 1.0) - 0.53).abs() < 1e-12, "it does not leap");
        assert!((next(0.99, 1.0) - FULLEST).abs() < 1e-12, "work goes on");
        assert!(
            (next(0.9, 0.45) - 0.45).abs() < 1e-12,
            "there is more to do than it seemed"
        );
    }

    #[test]
    fn work_is_done_whoever_looks_on() {
        assert_eq!(watched(&Stop::able(), || 7), 7);
    }
}
