//! The built-in machines, oils and trips, and access to the user's files.

use super::machine::Machine;
use super::oil_sheet::OilSheet;
use super::profile::Profile;
use crate::trouble::{Trouble, Troubles, near};
use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::sync::OnceLock;

/// The built-in machines: the key and the file text of each.
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

/// The built-in oils: the key and the file text of each.
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

/// The built-in trips: the key and the table of each. All are invented.
pub const TRIPS: [(&str, &str); 4] = [
    ("jam", include_str!("../../models/trips/jam.csv")),
    ("commute", include_str!("../../models/trips/commute.csv")),
    (
        "cold-start",
        include_str!("../../models/trips/cold-start.csv"),
    ),
    ("tow", include_str!("../../models/trips/tow.csv")),
];

/// Maximum file size, bytes.
const LARGEST: u64 = 1 << 20;

/// Where a name may be looked up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lookup {
    /// The library and the user's files.
    Files,
    /// The library only, if the user's files must not be read.
    LibraryOnly,
}

impl Lookup {
    /// The text of the library entry or file with a given name; `what` says in errors what was looked for.
    pub fn text(self, name: &str, library: &[(&str, &str)], what: &str) -> Result<String, Trouble> {
        if let Some((_, text)) = library.iter().find(|(key, _)| *key == name) {
            return Ok((*text).to_string());
        }
        let path_like = name == "-" || name.contains(['/', '\\', '.']);
        let exists = self == Lookup::Files && std::path::Path::new(name).exists();
        if self == Lookup::LibraryOnly || !(path_like || exists) {
            let keys: Vec<&str> = library.iter().map(|(key, _)| *key).collect();
            let hint = match near(name, keys.iter().copied()) {
                Some(key) => format!("did you mean `{key}`?"),
                None if self == Lookup::LibraryOnly => String::new(),
                None => format!(
                    "for your own file, give its path, such as ./mine.{}",
                    if what == "trip" { "csv" } else { "toml" }
                ),
            };
            return Err(
                Trouble::input(format!("no {what} called `{name}`"), keys.join(", ")).hint(hint),
            );
        }
        read_file(name)
    }

    /// The text of a user's file, if access is allowed.
    pub fn file(self, path: &str) -> Result<String, Trouble> {
        match self {
            Lookup::Files => read_file(path),
            Lookup::LibraryOnly => Err(Trouble::input(
                format!("the file `{path}` cannot be opened here"),
                "the text of the file",
            )),
        }
    }

    /// The machine with a given name.
    pub fn machine(self, name: &str) -> Result<Machine, Troubles> {
        let text = self
            .text(name, &MACHINES, "machine")
            .map_err(|t| vec![t.on("machine")])?;
        let mut machine = Machine::from_text(name, &text)?;
        machine.fill = beside(name, &machine.fill);
        Ok(machine)
    }

    /// The trip with a given name.
    pub fn trip(self, name: &str) -> Result<Profile, Troubles> {
        let text = self
            .text(name, &TRIPS, "trip")
            .map_err(|t| vec![t.on("trip")])?;
        Profile::from_text(name, &text)
    }

    /// The oil with a given name, or from a line such as `40C=35 cSt, 100C=7.4 cSt`.
    pub fn oil(self, name: &str) -> Result<OilSheet, Troubles> {
        if name.contains('=') {
            return OilSheet::from_line(name)
                .map_err(|all| all.into_iter().map(|t| t.on("oil")).collect());
        }
        let text = self
            .text(name, &OILS, "oil")
            .map_err(|t| vec![t.on("oil")])?;
        OilSheet::from_text(name, &text)
    }
}

/// Whether the text that names an oil is a path.
fn is_path(oil: &str) -> bool {
    !oil.contains('=') && oil.contains(['/', '\\', '.'])
}

/// The oil that a machine file names; a relative path is resolved from the folder of that file.
pub fn beside(file: &str, oil: &str) -> String {
    match Path::new(file).parent() {
        Some(folder) if is_path(oil) => folder.join(oil).to_string_lossy().into_owned(),
        _ => oil.to_string(),
    }
}

/// The name of an oil as it must be written in a file so that [`beside`] finds it again.
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

/// Reads a text file of limited size; `-` is standard input, which is read once and cached.
pub fn read_file(path: &str) -> Result<String, Trouble> {
    static STANDARD_INPUT: OnceLock<Result<Vec<u8>, Trouble>> = OnceLock::new();
    let bytes = match path {
        "-" => STANDARD_INPUT
            .get_or_init(|| limited(std::io::stdin().lock()))
            .clone(),
        path => opened(path).and_then(limited),
    };
    bytes.and_then(text_of).map_err(|t| t.at(path))
}

/// Opens a file.
fn opened(path: &str) -> Result<File, Trouble> {
    let expected = "a file that can be read";
    let file =
        File::open(path).map_err(|e| Trouble::input(format!("cannot be opened: {e}"), expected))?;
    match file.metadata() {
        Err(e) => Err(Trouble::input(format!("cannot be read: {e}"), expected)),
        Ok(about) if about.is_dir() => Err(Trouble::input("this is a folder", "a file")),
        Ok(_) => Ok(file),
    }
}

/// Reads the whole content of a reader; content beyond the size limit is an error.
fn limited(reader: impl Read) -> Result<Vec<u8>, Trouble> {
    let mut bytes = Vec::new();
    // One more byte than the limit is read, to detect a file that exceeds it.
    let read = reader.take(LARGEST + 1).read_to_end(&mut bytes);
    read.map_err(|e| Trouble::input(format!("cannot be read: {e}"), "a file that can be read"))?;
    if bytes.len() as u64 > LARGEST {
        return Err(Trouble::input(
            "the file is larger than 1 MB",
            "a file of at most 1 MB",
        ));
    }
    Ok(bytes)
}

/// Decodes bytes as the text of a file.
fn text_of(bytes: Vec<u8>) -> Result<String, Trouble> {
    match String::from_utf8(bytes) {
        Ok(text) if text.trim().is_empty() => Err(Trouble::input(
            "the file is empty",
            "a machine or an oil in TOML, or a table",
        )
        .hint("`oilwheel new light-truck` writes a machine file to start from")),
        Ok(text) if text.contains('\0') => {
            Err(Trouble::input("the file contains NUL bytes", "a text file"))
        }
        Ok(text) => Ok(text),
        Err(_) => Err(Trouble::input("the file is not UTF-8 text", "a text file")
            .hint("save it as UTF-8 text; a spreadsheet or an archive cannot be read here")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_passes_the_limit_is_refused_and_not_cut() {
        let of = |bytes: u64| limited(std::io::repeat(b'#').take(bytes));
        assert_eq!(of(LARGEST).map(|b| b.len() as u64), Ok(LARGEST));
        assert!(of(LARGEST + 1).is_err_and(|t| t.found.contains("larger than 1 MB")));
    }
}
