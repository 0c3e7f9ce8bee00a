//! Where a log comes from, and how it is read.

use crate::model::Shelf;
use crate::model::log::Choices;
use crate::question::{Field, Intake};
use crate::trouble::{Stop, Trouble, Troubles};
use crate::vary::log::{Digest, digest};
use std::io::{Cursor, Read, Result as Opened};
use std::path::Path;
use std::sync::Arc;

/// What opens a log.
type OpenOne = Arc<dyn Fn() -> Opened<Box<dyn Read + Send>> + Send + Sync>;

/// Where a log comes from.
#[derive(Clone)]
pub struct Source {
    /// Its name in messages.
    pub name: String,
    /// The key of the field that it was given for.
    pub field: &'static str,
    /// What opens it; it may be opened twice.
    pub open: OpenOne,
}

impl Source {
    /// The logs that were given for a field, and whether one of them is a folder of logs.
    pub(super) fn all(intake: &mut Intake<'_>, field: &Field) -> (Vec<Self>, bool) {
        let (values, key) = (intake.values, field.key);
        if let Some((name, text)) = values.came_along(field) {
            let bytes: Arc<[u8]> = text.as_bytes().into();
            let open: OpenOne = Arc::new(move || Ok(Box::new(Cursor::new(Arc::clone(&bytes)))));
            let name = name.to_string();
            let one = Self {
                name,
                field: key,
                open,
            };
            return (vec![one], false);
        }
        let (mut all, mut folder) = (Vec::new(), false);
        for name in values.all(field) {
            let paths = if values.shelf == Shelf::Files && Path::new(name).is_dir() {
                folder = true;
                within(name)
            } else {
                Ok(vec![name.to_string()])
            };
            for path in intake.keep(field, paths).into_iter().flatten() {
                let nowhere = || Trouble::input(format!("`{path}`"), "the text itself");
                let open = values.open.clone().ok_or_else(nowhere);
                if let Some(open) = intake.keep(field, open) {
                    let name = match path.as_str() {
                        "-" => "standard input".to_string(),
                        path => path.to_string(),
                    };
                    let open: OpenOne = Arc::new(move || open(&path));
                    all.push(Self {
                        name,
                        field: key,
                        open,
                    });
                }
            }
        }
        (all, folder)
    }

    /// Reads it, until nobody waits any longer.
    pub(super) fn read(
        &self,
        choices: &Choices,
        levels: &[f64],
        stop: &Stop,
    ) -> Result<Digest, Troubles> {
        let open = || match (self.open)() {
            Ok(bytes) => Ok(Watched { bytes, stop }),
            Err(e) => {
                let found = format!("cannot be read: {e}");
                Err(Trouble::input(found, "a file that can be read").at(self.name.clone()))
            }
        };
        let read = digest(open, &self.name, choices, levels, &mut |_| {});
        stop.ask().map_err(|t| vec![t])?;
        read.map_err(|all| all.into_iter().map(|t| t.on(self.field)).collect())
    }
}

/// The files in a folder, by name; hidden ones apart.
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
        let found = "a folder without a file";
        return Err(Trouble::input(found, "a folder of logs").at(folder));
    }
    paths.sort();
    Ok(paths)
}

/// Bytes that are read until nobody waits any longer.
struct Watched<'a> {
    bytes: Box<dyn Read + Send>,
    stop: &'a Stop,
}

impl Read for Watched<'_> {
    fn read(&mut self, room: &mut [u8]) -> Opened<usize> {
        let stopped = |t: Trouble| std::io::Error::other(t.to_string());
        self.stop.ask().map_err(stopped)?;
        self.bytes.read(room)
    }
}
