//! A bar on standard error while an answer takes long.

use crate::question::Open;
use crate::trouble::{Stop, Trouble};
use indicatif::{ProgressBar, ProgressStyle};
use std::fs::File;
use std::io::{Error, IsTerminal, Read};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

/// Work takes longer than this before a bar is shown.
pub const PATIENCE: Duration = Duration::from_secs(1);

/// How often the bar is drawn anew.
const AGAIN: Duration = Duration::from_millis(100);

/// Steps of the bar.
const STEPS: f64 = 1000.0;

/// The most that the bar moves at once, as a share: where much turns out not to be needed, it runs there and does not jump.
const AT_ONCE: f64 = 0.03;

/// Does work that asks `stop` between its pieces; a bar shows how far it is, where it takes long and somebody looks on.
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
            let mut shown = share();
            loop {
                bar.set_position((STEPS * shown) as u64);
                shown = share().clamp(shown, shown + AT_ONCE);
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

/// Bytes of a file that are one piece of work.
const PIECE: u64 = 1 << 18;

/// The most that is taken from standard input, bytes.
const LARGEST: u64 = 1 << 30;

/// Opens files, whose reading is counted as work, and standard input as `-`.
pub fn opening(stop: &Stop) -> Open {
    let stop = stop.clone();
    Arc::new(move |path| {
        if path == "-" {
            return Ok(Box::new(standard_input()?));
        }
        let file = File::open(path)?;
        let about = file.metadata()?;
        if about.is_dir() {
            return Err(Error::other("it is a folder"));
        }
        stop.expect((about.len() / PIECE) as usize);
        let stop = stop.clone();
        Ok(Box::new(Counted {
            file,
            stop,
            bytes: 0,
        }))
    })
}

/// What standard input held; it may be read twice.
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

/// A file whose pieces are counted.
struct Counted {
    file: File,
    stop: Stop,
    /// Since the last piece.
    bytes: u64,
}

impl Read for Counted {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        let read = self.file.read(room)?;
        self.bytes += read as u64;
        while self.bytes >= PIECE {
            self.bytes -= PIECE;
            let stopped = |t: Trouble| Error::other(t.to_string());
            self.stop.check().map_err(stopped)?;
        }
        Ok(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_counted_as_it_is_read() {
        let path = std::env::temp_dir().join(format!("oilwheel-wait-{}", std::process::id()));
        std::fs::write(&path, vec![b'x'; 4 * PIECE as usize]).unwrap();
        let stop = Stop::able();
        let mut file = opening(&stop)(&path.to_string_lossy()).unwrap();
        let mut half = vec![0; 2 * PIECE as usize];
        file.read_exact(&mut half).unwrap();
        assert!((stop.share().unwrap() - 0.5).abs() < 1e-12);
        stop.stop();
        assert!(file.read_to_end(&mut half).is_err());
        std::fs::remove_file(&path).unwrap();
        assert!(opening(&stop)("/").is_err());
    }

    #[test]
    fn work_is_done_whoever_looks_on() {
        assert_eq!(watched(&Stop::able(), || 7), 7);
    }
}
