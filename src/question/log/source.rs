//! Where a log comes from, and how it is read.

use super::{COLUMN, EVERY};
use crate::model::log::Choices;
use crate::question::{Field, Intake, Open};
use crate::trouble::{Stop, Trouble, Troubles};
use crate::vary::log::{Digest, digest};
use std::io::{Cursor, Read};
use std::sync::Arc;

/// Where a log comes from.
#[derive(Clone)]
pub struct Source {
    /// Its name in messages, by which it is opened.
    pub name: String,
    /// The key of the field that it was given for.
    pub field: &'static str,
    /// What opens it; it may be opened twice.
    pub open: Open,
}

impl Source {
    /// The log that was given for a field; none where nothing was.
    pub(super) fn of(intake: &mut Intake<'_>, field: &Field) -> Option<Self> {
        let (values, key) = (intake.values, field.key);
        if let Some((name, text)) = values.came_along(field) {
            let bytes: Arc<[u8]> = text.as_bytes().into();
            let open: Open = Arc::new(move |_| Ok(Box::new(Cursor::new(Arc::clone(&bytes)))));
            return Some(Self {
                name: name.into(),
                field: key,
                open,
            });
        }
        let name = values.text(field)?;
        let nowhere = || Trouble::input(format!("`{name}`"), "the text itself");
        let open = values.open.clone().ok_or_else(nowhere);
        intake.keep(field, open).map(|open| Self {
            name,
            field: key,
            open,
        })
    }

    /// Reads it, until nobody waits any longer.
    pub(super) fn read(
        &self,
        choices: &Choices,
        levels: &[f64],
        stop: &Stop,
    ) -> Result<Digest, Troubles> {
        let open = || match (self.open)(&self.name) {
            Ok(bytes) => Ok(Watched { bytes, stop }),
            Err(e) => {
                let found = format!("cannot be read: {e}");
                Err(Trouble::input(found, "a file that can be read").at(self.name.clone()))
            }
        };
        let read = digest(open, &self.name, choices, levels, &mut |_| {});
        stop.ask().map_err(|t| vec![t])?;
        read.map_err(|all| all.into_iter().map(|t| self.noted(t)).collect())
    }

    /// A mistake with the field that it is about. What reads a log speaks of flags.
    fn noted(&self, mut trouble: Trouble) -> Trouble {
        for field in [&COLUMN, &EVERY] {
            let flag = format!("--{}", field.flag());
            if trouble.spot.source == flag {
                trouble.spot.source.clear();
                trouble = trouble.on(field.key);
            }
            for text in [&mut trouble.found, &mut trouble.expected, &mut trouble.hint] {
                *text = text.replace(&flag, &field.mention());
            }
        }
        trouble.on(self.field)
    }
}

/// Bytes that are read until nobody waits any longer.
struct Watched<'a> {
    bytes: Box<dyn Read + Send>,
    stop: &'a Stop,
}

impl Read for Watched<'_> {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        let stopped = |t: Trouble| std::io::Error::other(t.to_string());
        self.stop.ask().map_err(stopped)?;
        self.bytes.read(room)
    }
}
