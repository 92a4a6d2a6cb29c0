//! A copy of the store, whole at one moment, made beside a daemon that goes on writing.

use super::check::{Counts, Soundness, check, check_file};
use super::damage::Lost;
use super::error::{StoreError, file, sqlite};
use super::opened::reading;
use crate::files::{FILE_NAME, LOCK};
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind};
use std::os::unix::fs::{MetadataExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

/// Copies the store of a data directory to `to`, which then holds all that was answered before, and is checked.
///
/// It is written beside its place and brought there when it is whole, sound and on the disk, so that an older copy
/// is never half overwritten. `replace` lets it take the place of a file that is there.
///
/// # Errors
/// There is no store, or an unsound one; `to` cannot be written, is there already, or is the store itself.
pub fn backup(directory: &Path, to: &Path, replace: bool) -> Result<Soundness, StoreError> {
    let place = Place::look(directory, to, replace)?;
    let before = sound(directory)?;
    let copied = copy(&directory.join(FILE_NAME), &place.beside, &before.counts);
    place.finish(copied)
}

/// Makes sure that a store may be copied: whole, and without a damage that no daemon has seen yet, behind which SQLite would
/// leave everything out.
pub(super) fn sound(directory: &Path) -> Result<Soundness, StoreError> {
    let found = check(directory)?;
    let unseen = found.lost.iter().find(|lost| lost.kept == found.file);
    let unseen = unseen.map(Lost::words);
    match found.faults.first().cloned().or(unseen) {
        Some(fault) => Err(StoreError::Unsound {
            path: found.file,
            fault,
        }),
        None => Ok(found),
    }
}

/// Where a copy goes: it is written beside its place first.
pub(super) struct Place<'a> {
    to: &'a Path,
    folder: &'a Path,
    replace: bool,
    /// Where it is written.
    pub beside: PathBuf,
}

impl<'a> Place<'a> {
    /// Looks whether a copy of a data directory's store may go there.
    pub fn look(directory: &Path, to: &'a Path, replace: bool) -> Result<Self, StoreError> {
        let path = directory.join(FILE_NAME);
        let found = fs::metadata(&path).map_err(file(&path, "find the store"))?;
        let name = to.file_name().ok_or_else(|| {
            file(to, "write")(io::Error::new(ErrorKind::InvalidInput, "it names no file"))
        })?;
        let folder = match to.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        let itself = || StoreError::Itself {
            path: to.to_owned(),
        };
        match fs::metadata(to) {
            Ok(there) if (there.dev(), there.ino()) == (found.dev(), found.ino()) => {
                return Err(itself());
            }
            Ok(_) if !replace => {
                return Err(StoreError::Exists {
                    path: to.to_owned(),
                });
            }
            _ => {}
        }
        // SQLite would take a file of such a name for a log of the store, or the daemon for its lock.
        let same_folder = fs::canonicalize(folder).ok() == fs::canonicalize(directory).ok();
        let text = name.to_string_lossy();
        if same_folder && (text.starts_with(&format!("{FILE_NAME}-")) || *text == *LOCK) {
            return Err(itself());
        }
        let mut beside = OsString::from(".");
        beside.push(name);
        beside.push(format!(".{}", std::process::id()));
        Ok(Self {
            to,
            folder,
            replace,
            beside: folder.join(beside),
        })
    }

    /// Brings what was written to its place, or removes it with everything that SQLite left beside it.
    pub fn finish(self, written: Result<Soundness, StoreError>) -> Result<Soundness, StoreError> {
        let placed = written.and_then(|copy| {
            place(&self.beside, self.to, self.folder, self.replace).map(|()| copy)
        });
        if placed.is_err() {
            for ending in ["", "-journal", "-wal", "-shm"] {
                // The reason is the one reported; a leftover that cannot be removed either is the smaller harm.
                let _ = fs::remove_file(super::log::beside(&self.beside, ending));
            }
        }
        placed.map(|copy| Soundness {
            file: self.to.to_owned(),
            ..copy
        })
    }
}

/// Makes the copy, brings it to the disk, and checks what is there.
fn copy(path: &Path, beside: &Path, before: &Counts) -> Result<Soundness, StoreError> {
    // SQLite writes into an empty file, which is made first so that nobody else may read it even for a moment.
    let made = OpenOptions::new()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(beside);
    drop(made.map_err(file(beside, "make"))?);
    let name = beside.to_string_lossy();
    // One reading transaction: the copy is of one moment, and the daemon does not wait for it.
    reading(path)?
        .execute("VACUUM INTO ?1", [&*name])
        .map_err(sqlite(beside, "copy the store"))?;
    File::open(beside)
        .and_then(|copy| copy.sync_all())
        .map_err(file(beside, "write"))?;
    let copy = check_file(beside)?;
    let fault = match copy.faults.first() {
        Some(fault) => Some(fault.clone()),
        None if !copy.counts.holds(before) => Some("it holds less than the store".to_owned()),
        None => None,
    };
    match fault {
        None => Ok(copy),
        Some(fault) => Err(StoreError::Unsound {
            path: beside.to_owned(),
            fault,
        }),
    }
}

/// Brings the finished copy to its place; the name is on the disk when its directory is.
fn place(beside: &Path, to: &Path, folder: &Path, replace: bool) -> Result<(), StoreError> {
    let placed = if replace {
        fs::rename(beside, to)
    } else {
        give_new_name(beside, to)
    };
    placed.map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => StoreError::Exists {
            path: to.to_owned(),
        },
        _ => file(to, "write")(error),
    })?;
    File::open(folder)
        .and_then(|folder| folder.sync_all())
        .map_err(file(folder, "write"))
}

/// Renames without replacing what another program may have put there meanwhile.
fn give_new_name(beside: &Path, to: &Path) -> io::Result<()> {
    match fs::hard_link(beside, to) {
        Ok(()) => fs::remove_file(beside),
        Err(error) if error.kind() == ErrorKind::AlreadyExists => Err(error),
        // A memory stick's file system knows no second name; what was there was looked at before.
        Err(_) if !to.exists() => fs::rename(beside, to),
        Err(error) => Err(error),
    }
}
