//! Where a log comes from, and how it is read.

use crate::model::Lookup;
use crate::model::log::Choices;
use crate::question::{Field, Intake};
use crate::trouble::{Stop, Trouble, Troubles};
use crate::vary::log::{Digest, digest};
use std::cell::Cell;
use std::io::{Cursor, Read, Result as Opened};
use std::path::Path;
use std::sync::Arc;

/// Bytes of a log per unit of progress.
const PIECE: u64 = 1 << 18;

/// A function that opens a log.
type OpenOne = Arc<dyn Fn() -> Opened<Box<dyn Read + Send>> + Send + Sync>;

/// A log that can be opened and read.
#[derive(Clone)]
pub struct Source {
    /// Name of the log in messages.
    pub name: String,
    /// Key of the field in which the log was given.
    pub field: &'static str,
    /// Opens the log; may be called twice.
    pub open: OpenOne,
    /// Length of the log, bytes; zero if unknown.
    pub bytes: u64,
}

impl Source {
    /// The logs given in a field, and whether any of them came from a folder.
    pub(super) fn all(intake: &mut Intake<'_>, field: &Field) -> (Vec<Self>, bool) {
        let (values, key) = (intake.values, field.key);
        if let Some((name, text)) = values.came_along(field) {
            let bytes: Arc<[u8]> = text.as_bytes().into();
            let long = bytes.len() as u64;
            let open: OpenOne = Arc::new(move || Ok(Box::new(Cursor::new(Arc::clone(&bytes)))));
            let name = name.to_string();
            let one = Self {
                name,
                field: key,
                open,
                bytes: long,
            };
            return (vec![one], false);
        }
        let (mut all, mut folder) = (Vec::new(), false);
        for name in values.all(field) {
            let paths = if values.lookup == Lookup::Files && Path::new(name).is_dir() {
                folder = true;
                within(name)
            } else {
                Ok(vec![name.to_string()])
            };
            for path in intake.keep(field, paths).into_iter().flatten() {
                let nowhere = || {
                    Trouble::input(
                        format!("`{path}`"),
                        "the text of the file, because no file can be opened here",
                    )
                };
                let open = values.open.clone().ok_or_else(nowhere);
                if let Some(open) = intake.keep(field, open) {
                    let name = match path.as_str() {
                        "-" => "standard input".to_string(),
                        path => path.to_string(),
                    };
                    let about = std::fs::metadata(&path);
                    let about = about.ok().filter(|_| values.lookup == Lookup::Files);
                    let open: OpenOne = Arc::new(move || open(&path));
                    all.push(Self {
                        name,
                        field: key,
                        open,
                        bytes: about.map_or(0, |a| a.len()),
                    });
                }
            }
        }
        (all, folder)
    }

    /// Number of progress units that reading the log takes.
    pub(super) fn pieces(&self) -> usize {
        (self.bytes / PIECE) as usize
    }

    /// Reads the log until it ends or reading is cancelled; the caller has announced its progress units.
    pub(super) fn read(
        &self,
        choices: &Choices,
        levels: &[f64],
        stop: &Stop,
    ) -> Result<Digest, Troubles> {
        let again = Cell::new(false);
        let open = || {
            if again.replace(true) {
                stop.expect(self.pieces());
            }
            let left = PIECE;
            let bytes = (self.open)().map(|bytes| Watched { bytes, stop, left });
            bytes.map_err(|e| {
                let found = format!("cannot be read: {e}");
                Trouble::input(found, "a file that can be read").at(self.name.clone())
            })
        };
        let read = digest(open, &self.name, choices, levels, &mut |_| {});
        stop.ask().map_err(|t| vec![t])?;
        read.map_err(|all| all.into_iter().map(|t| t.on(self.field)).collect())
    }
}

/// The files in a folder except hidden ones, sorted by name.
fn within(folder: &str) -> Result<Vec<String>, Trouble> {
    let unreadable = |e: std::io::Error| {
        let found = format!("cannot be read: {e}");
        Trouble::input(found, "a folder that can be read").at(folder)
    };
    let entries = std::fs::read_dir(folder).map_err(unreadable)?;
    let hidden = |path: &Path| {
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
        name.is_some_and(|n| n.starts_with('.'))
    };
    let mut paths: Vec<String> = entries
        .filter_map(Result::ok)
        .map(|entry| entry.path())
        .filter(|path| path.is_file() && !hidden(path))
        .map(|path| path.to_string_lossy().into_owned())
        .collect();
    if paths.is_empty() {
        let found = "the folder contains no file";
        return Err(Trouble::input(found, "a folder of logs").at(folder));
    }
    paths.sort();
    Ok(paths)
}

/// A reader that can be cancelled and counts progress units.
struct Watched<'a> {
    bytes: Box<dyn Read + Send>,
    stop: &'a Stop,
    /// Bytes left in the current progress unit.
    left: u64,
}

impl Read for Watched<'_> {
    fn read(&mut self, room: &mut [u8]) -> Opened<usize> {
        let stopped = |t: Trouble| std::io::Error::other(t.to_string());
        self.stop.ask().map_err(stopped)?;
        let read = self.bytes.read(room)?;
        let mut more = read as u64;
        while more >= self.left {
            more -= self.left;
            self.left = PIECE;
            self.stop.check().map_err(stopped)?;
        }
        self.left -= more;
        Ok(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// After one of two equal logs is read, the progress is one half, because both were announced beforehand.
    #[test]
    fn the_pieces_of_all_logs_are_expected_before_one_is_read() {
        let text: String = (0..150_000).map(|i| format!("{i},90\n")).collect();
        let text: Arc<[u8]> = format!("Time [s],ECT [°C]\n{text}").into_bytes().into();
        let bytes = text.len() as u64;
        let open: OpenOne = Arc::new(move || Ok(Box::new(Cursor::new(Arc::clone(&text)))));
        let log = Source {
            name: "a log".into(),
            field: "log",
            open,
            bytes,
        };
        let stop = Stop::able();
        stop.expect(2 * log.pieces());
        assert!(log.pieces() > 4 && stop.share() == Some(0.0));
        log.read(&Choices::default(), &[373.15], &stop).unwrap();
        assert!((stop.share().unwrap() - 0.5).abs() < 1e-12);
    }
}
