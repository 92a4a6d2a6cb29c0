//! The files that verbs write.

use crate::Failure;
use crate::document::pdf::Unwritten;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Writes what was made.
pub(super) fn save(to: &Path, content: &[u8]) -> Result<(), Failure> {
    write_whole(to, content).map_err(|error| not_saved(to, &error))
}

/// Why a file was not written.
pub(super) fn not_saved(to: &Path, error: &io::Error) -> Failure {
    Failure::new(
        "cannot_write",
        format!("{} cannot be written: {error}", to.display()),
    )
    .hint("a file that was there is whole; name another one: --to FILE")
}

/// Why there is no PDF.
pub(crate) fn unwritten(error: Unwritten) -> Failure {
    Failure::new("cannot_write", format!("the PDF cannot be made: {error}"))
        .hint("the page to read and print: conewright export --to FILE.html")
}

/// The ending of a file's name, in small letters.
pub(super) fn ending(to: &Path) -> Option<String> {
    to.extension().map(|e| e.to_string_lossy().to_lowercase())
}

/// Writes a file as a whole or not at all: beside its place first, then renamed to it.
pub(crate) fn write_whole(to: &Path, content: &[u8]) -> io::Result<()> {
    let mut file = NewFile::begin(to)?;
    file.write_all(content)?;
    file.finish().map(drop)
}

/// A file that is being written beside its place. Without [`NewFile::finish`] nothing is left of it.
pub(crate) struct NewFile {
    to: PathBuf,
    beside: PathBuf,
    file: File,
    placed: bool,
}

impl NewFile {
    pub fn begin(to: &Path) -> io::Result<Self> {
        let name = to
            .file_name()
            .ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "it names no file"))?;
        let mut beside = std::ffi::OsString::from(".");
        beside.push(name);
        beside.push(format!(".{}", std::process::id()));
        let beside = to.with_file_name(beside);
        Ok(Self {
            to: to.to_owned(),
            file: File::create_new(&beside)?,
            beside,
            placed: false,
        })
    }

    /// Brings it to its place; returns its length, bytes.
    pub fn finish(mut self) -> io::Result<u64> {
        self.file.sync_all()?;
        let length = self.file.metadata()?.len();
        fs::rename(&self.beside, &self.to)?;
        self.placed = true;
        sync_folder(&self.to).map(|()| length)
    }
}

impl Write for NewFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl Drop for NewFile {
    fn drop(&mut self) {
        if !self.placed {
            // The reason is told already; a leftover that cannot be removed either is the smaller harm.
            let _ = fs::remove_file(&self.beside);
        }
    }
}

/// Brings a file's name to the disk: until then a power cut may leave the file of before.
fn sync_folder(of: &Path) -> io::Result<()> {
    let folder = match of.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    match File::open(folder).and_then(|folder| folder.sync_all()) {
        // Some file systems have nothing to sync in a directory, and one that may not be read cannot be.
        Err(error)
            if matches!(
                error.kind(),
                io::ErrorKind::InvalidInput
                    | io::ErrorKind::Unsupported
                    | io::ErrorKind::PermissionDenied
            ) =>
        {
            Ok(())
        }
        done => done,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let directory = tempfile::tempdir().unwrap();
        let to = directory.path().join("record.json");
        write_whole(&to, b"first").unwrap();
        write_whole(&to, b"second").unwrap();
        assert_eq!(fs::read(&to).unwrap(), b"second");
        assert_eq!(fs::read_dir(directory.path()).unwrap().count(), 1);
    }

    #[test]
    fn what_cannot_be_written_leaves_nothing() {
        let directory = tempfile::tempdir().unwrap();
        // A directory stands where the file should go, so that the rename fails.
        let to = directory.path().join("record.json");
        fs::create_dir(&to).unwrap();
        assert!(write_whole(&to, b"content").is_err());
        assert_eq!(fs::read_dir(directory.path()).unwrap().count(), 1);
        assert!(write_whole(&directory.path().join("none/record.json"), b"").is_err());
    }
}
