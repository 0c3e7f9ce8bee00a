//! Writes files either completely or not at all.

use crate::trouble::Trouble;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Writes a file either completely or not at all: the text goes into a temporary file beside it, which is then renamed.
///
/// An existing file remains unchanged until the new one is complete. Pipes and devices are written to directly.
pub fn write_whole(path: impl AsRef<Path>, contents: &str) -> Result<(), Trouble> {
    let path = path.as_ref();
    write(path, contents.as_bytes()).map_err(|error| trouble(path, &error))
}

fn write(path: &Path, contents: &[u8]) -> io::Result<()> {
    // If the path is a symbolic link, the file that it points to is replaced.
    let path = &fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let old = fs::metadata(path).ok();
    match &old {
        Some(old) if old.is_dir() => return Err(io::ErrorKind::IsADirectory.into()),
        Some(old) if !old.is_file() => {
            return OpenOptions::new()
                .write(true)
                .open(path)?
                .write_all(contents);
        }
        _ => {}
    }
    let beside = beside(path)?;
    let mut file = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&beside)?;
    let written = fill(&mut file, contents, old.map(|old| old.permissions()));
    drop(file);
    let done = written.and_then(|()| fs::rename(&beside, path));
    if done.is_err() {
        let _ = fs::remove_file(&beside);
    }
    done
}

/// Writes the new file, with the permissions of the old one.
fn fill(file: &mut File, contents: &[u8], permissions: Option<fs::Permissions>) -> io::Result<()> {
    file.write_all(contents)?;
    if let Some(permissions) = permissions {
        file.set_permissions(permissions)?;
    }
    file.sync_all()
}

/// The path of the temporary file: in the same folder, with a name unique to this process.
fn beside(path: &Path) -> io::Result<PathBuf> {
    let name = path.file_name().ok_or(io::ErrorKind::InvalidFilename)?;
    let mut hidden = std::ffi::OsString::from(".");
    hidden.push(name);
    hidden.push(format!(".{}.part", std::process::id()));
    Ok(path.with_file_name(hidden))
}

fn trouble(path: &Path, error: &io::Error) -> Trouble {
    let shown = path.display().to_string();
    let (expected, hint) = match error.kind() {
        io::ErrorKind::NotFound => (
            "a path in an existing folder",
            "create the folder first, or choose another one",
        ),
        io::ErrorKind::NotADirectory => (
            "a path in a folder",
            "a part of the path is a file, not a folder; choose another path",
        ),
        io::ErrorKind::IsADirectory => (
            "the path of a file",
            "this path is a folder; add a file name to it",
        ),
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            ("a writable folder", "choose a folder of your own")
        }
        io::ErrorKind::StorageFull => (
            "enough space for the file",
            "free some space, or choose another place",
        ),
        io::ErrorKind::InvalidFilename => ("the path of a file", "end the path with a file name"),
        io::ErrorKind::AlreadyExists => (
            "no partly written file of an earlier run in that folder",
            "remove the hidden file there whose name ends in .part",
        ),
        _ => ("a file that can be written", "try another place"),
    };
    Trouble::input(format!("could not write: {error}"), expected)
        .hint(hint)
        .at(shown)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An empty temporary folder, removed at the end of the test.
    struct Folder(PathBuf);

    impl Folder {
        fn new(name: &str) -> Self {
            let path = std::env::temp_dir().join(format!("oilwheel-{name}-{}", std::process::id()));
            let _ = fs::remove_dir_all(&path);
            fs::create_dir(&path).unwrap();
            Self(path)
        }

        fn names(&self) -> Vec<String> {
            let mut names: Vec<String> = fs::read_dir(&self.0)
                .unwrap()
                .map(|e| e.unwrap().file_name().into_string().unwrap())
                .collect();
            names.sort();
            names
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            let _ = fs::remove_dir_all(&self.0);
        }
    }

    #[test]
    fn a_file_is_written_and_replaced_and_nothing_else_stays() {
        let folder = Folder::new("whole");
        let path = folder.0.join("answer.json");
        write_whole(&path, "first, and longer").unwrap();
        write_whole(&path, "second").unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "second");
        assert_eq!(folder.names(), ["answer.json"]);
    }

    #[test]
    fn a_missing_folder_and_a_folder_are_told_with_a_hint_and_leave_nothing() {
        let folder = Folder::new("missing");
        fs::create_dir(folder.0.join("taken")).unwrap();
        fs::write(folder.0.join("plain"), "kept").unwrap();
        for name in ["nowhere/answer.svg", "taken", "plain/answer.svg"] {
            let path = folder.0.join(name);
            let trouble = write_whole(&path, "x").unwrap_err();
            assert!(!trouble.hint.is_empty(), "{name}");
            assert_eq!(trouble.spot.source, path.display().to_string());
        }
        assert!(write_whole("", "x").is_err());
        assert_eq!(folder.names(), ["plain", "taken"]);
        assert_eq!(fs::read_to_string(folder.0.join("plain")).unwrap(), "kept");
    }

    #[test]
    fn a_file_that_cannot_be_replaced_stays_as_it_is() {
        let folder = Folder::new("last");
        let path = folder.0.join("old.txt");
        fs::write(&path, "old").unwrap();
        // A partly written file of another run already has the temporary name.
        fs::write(beside(&path).unwrap(), "half").unwrap();
        assert!(write_whole(&path, "new").is_err());
        assert_eq!(fs::read_to_string(&path).unwrap(), "old");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_permissions_stay() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = Folder::new("link");
        let (real, link) = (folder.0.join("real"), folder.0.join("link"));
        fs::write(&real, "old").unwrap();
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
        symlink(&real, &link).unwrap();
        write_whole(&link, "new").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&real).unwrap(), "new");
        assert_eq!(
            fs::metadata(&real).unwrap().permissions().mode() & 0o777,
            0o640
        );
        write_whole("/dev/null", "gone").unwrap();
        assert!(!fs::metadata("/dev/null").unwrap().is_file());
    }
}
