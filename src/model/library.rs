//! The machines, oils and trips that come with the program, and how others are found.

use super::machine::Machine;
use super::oil_sheet::OilSheet;
use super::profile::Profile;
use crate::trouble::{Trouble, Troubles, near};
use std::io::Read;
use std::path::Path;

/// The machines that come with the program: key and text.
pub const MACHINES: [(&str, &str); 4] = [
    (
        "light-truck",
        include_str!("../../models/machines/light-truck.toml"),
    ),
    ("car", include_str!("../../models/machines/car.toml")),
    ("bus", include_str!("../../models/machines/bus.toml")),
    (
        "off-road",
        include_str!("../../models/machines/off-road.toml"),
    ),
];

/// The oils that come with the program: key and text.
pub const OILS: [(&str, &str); 8] = [
    (
        "central-hydraulic",
        include_str!("../../models/oils/central-hydraulic.toml"),
    ),
    (
        "transmission-low-viscosity",
        include_str!("../../models/oils/transmission-low-viscosity.toml"),
    ),
    (
        "transmission-multi-vehicle",
        include_str!("../../models/oils/transmission-multi-vehicle.toml"),
    ),
    (
        "transmission-sheared",
        include_str!("../../models/oils/transmission-sheared.toml"),
    ),
    (
        "steering-mineral",
        include_str!("../../models/oils/steering-mineral.toml"),
    ),
    (
        "iso-vg-32",
        include_str!("../../models/oils/iso-vg-32.toml"),
    ),
    (
        "iso-vg-46",
        include_str!("../../models/oils/iso-vg-46.toml"),
    ),
    (
        "engine-10w-30",
        include_str!("../../models/oils/engine-10w-30.toml"),
    ),
];

/// The trips that come with the program: key and table. All are invented.
pub const TRIPS: [(&str, &str); 4] = [
    ("jam", include_str!("../../models/trips/jam.csv")),
    ("commute", include_str!("../../models/trips/commute.csv")),
    (
        "cold-start",
        include_str!("../../models/trips/cold-start.csv"),
    ),
    ("tow", include_str!("../../models/trips/tow.csv")),
];

/// The largest file that is read, in bytes.
const LARGEST: u64 = 1 << 20;

/// Where a name may lead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shelf {
    /// The library, and files of the user's.
    Files,
    /// The library alone: for whoever must not reach the user's files.
    LibraryOnly,
}

impl Shelf {
    /// The text behind a name: one of the library's, or a file.
    pub fn text(self, name: &str, library: &[(&str, &str)], what: &str) -> Result<String, Trouble> {
        if let Some((_, text)) = library.iter().find(|(key, _)| *key == name) {
            return Ok((*text).to_string());
        }
        let path_like = name.contains(['/', '\\', '.']);
        let exists = self == Shelf::Files && std::path::Path::new(name).exists();
        if self == Shelf::LibraryOnly || !(path_like || exists) {
            let keys: Vec<&str> = library.iter().map(|(key, _)| *key).collect();
            let hint = match near(name, keys.iter().copied()) {
                Some(key) => format!("did you mean `{key}`?"),
                None if self == Shelf::LibraryOnly => String::new(),
                None => format!(
                    "for a file of yours give its path, such as ./mine.{}",
                    if what == "trip" { "csv" } else { "toml" }
                ),
            };
            return Err(
                Trouble::input(format!("no {what} called `{name}`"), keys.join(", ")).hint(hint),
            );
        }
        read_file(name)
    }

    /// The machine behind a name.
    pub fn machine(self, name: &str) -> Result<Machine, Troubles> {
        let text = self
            .text(name, &MACHINES, "machine")
            .map_err(|t| vec![t.at("machine")])?;
        let mut machine = Machine::from_text(name, &text)?;
        machine.fill = beside(name, &machine.fill);
        Ok(machine)
    }

    /// The trip behind a name.
    pub fn trip(self, name: &str) -> Result<Profile, Troubles> {
        let text = self
            .text(name, &TRIPS, "trip")
            .map_err(|t| vec![t.at("trip")])?;
        Profile::from_text(name, &text)
    }

    /// The oil behind a name, or of a line such as `40C=35 cSt, 100C=7.4 cSt`.
    pub fn oil(self, name: &str) -> Result<OilSheet, Troubles> {
        if name.contains('=') {
            return OilSheet::from_line(name)
                .map_err(|all| all.into_iter().map(|t| t.at("oil")).collect());
        }
        let text = self
            .text(name, &OILS, "oil")
            .map_err(|t| vec![t.at("oil")])?;
        OilSheet::from_text(name, &text)
    }
}

/// Whether words for an oil are a path.
fn is_path(oil: &str) -> bool {
    !oil.contains('=') && oil.contains(['/', '\\', '.'])
}

/// An oil that a file names: a path is taken from that file's folder.
pub fn beside(file: &str, oil: &str) -> String {
    match Path::new(file).parent() {
        Some(folder) if is_path(oil) => folder.join(oil).to_string_lossy().into_owned(),
        _ => oil.to_string(),
    }
}

/// How a file names an oil, so that [`beside`] finds it again.
pub fn seen_from(file: &str, oil: &str) -> String {
    let folder = Path::new(file).parent().unwrap_or(Path::new(""));
    if !is_path(oil) || folder.as_os_str().is_empty() {
        return oil.to_string();
    }
    let whole = || std::path::absolute(oil).unwrap_or_else(|_| oil.into());
    let path = Path::new(oil)
        .strip_prefix(folder)
        .map_or_else(|_| whole(), Path::to_path_buf);
    path.to_string_lossy().into_owned()
}

/// Reads a text file of a size that a person may have written.
pub fn read_file(path: &str) -> Result<String, Trouble> {
    let trouble = |found: String, expected: &str| Trouble::input(found, expected).at(path);
    let file = std::fs::File::open(path)
        .map_err(|e| trouble(format!("cannot be opened: {e}"), "a file that can be read"))?;
    let about = file
        .metadata()
        .map_err(|e| trouble(format!("cannot be read: {e}"), "a file that can be read"))?;
    if about.is_dir() {
        return Err(trouble("a folder".into(), "a file"));
    }
    if about.len() > LARGEST {
        return Err(trouble(
            format!("{} MB", about.len() >> 20),
            "a file of less than 1 MB",
        ));
    }
    let mut bytes = Vec::new();
    file.take(LARGEST + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| trouble(format!("cannot be read: {e}"), "a file that can be read"))?;
    // A pipe does not say beforehand how much is in it.
    if bytes.len() as u64 > LARGEST {
        return Err(trouble("more than 1 MB".into(), "a file of less than 1 MB"));
    }
    match String::from_utf8(bytes) {
        Ok(text) if text.trim().is_empty() => Err(trouble(
            "an empty file".into(),
            "a machine or an oil in TOML, or a table",
        )
        .hint("`oilwheel new light-truck` writes a machine file to start from")),
        Ok(text) if text.contains('\0') => {
            Err(trouble("a file with NUL bytes".into(), "a text file"))
        }
        Ok(text) => Ok(text),
        Err(_) => Err(
            trouble("a file that is no UTF-8 text".into(), "a text file")
                .hint("save it as UTF-8; is it a spreadsheet or an archive?"),
        ),
    }
}

#[cfg(all(test, unix))]
mod tests {
    #[test]
    fn what_does_not_say_its_size_is_refused_past_the_limit() {
        let said = super::read_file("/dev/zero").unwrap_err();
        assert!(said.found.contains("more than 1 MB"), "{said}");
    }
}
