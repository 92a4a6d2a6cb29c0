//! Before SQLite touches anything: what lies in the place of the store, and how a new one is made.

use super::error::{StoreError, file, sqlite};
use super::private::{private_file, sync_directory};
use super::schema;
use crate::files::{FILE_NAME, KEPT};
use rusqlite::{Connection, OpenFlags};
use std::ffi::OsString;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// What is found in the place of the store.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Found {
    /// Nothing, and nothing beside it that an older store left.
    Nothing,
    /// A store, as far as it can be seen without changing a byte.
    Store,
}

/// Looks at the place of the store, and changes nothing there.
///
/// # Errors
/// An empty file, another program's database, or no file where an older store has left its log or a copy.
pub(super) fn look(path: &Path) -> Result<Found, StoreError> {
    match fs::metadata(path) {
        Ok(found) if found.len() == 0 => Err(StoreError::Empty {
            path: path.to_owned(),
        }),
        Ok(_) if is_foreign(path)? => Err(StoreError::Foreign {
            path: path.to_owned(),
        }),
        Ok(_) => Ok(Found::Store),
        Err(error) if error.kind() == ErrorKind::NotFound => match trace(path)? {
            Some(trace) => Err(StoreError::Missing {
                path: path.to_owned(),
                trace,
            }),
            None => Ok(Found::Nothing),
        },
        Err(error) => Err(file(path, "look at")(error)),
    }
}

/// Whether it has tables and another program's mark. Read as a file that does not change: SQLite then writes neither into it
/// nor beside it. A store of ours whose tables are still in its log alone has none here; SQLite finds out later whether
/// what is no database at all can be read.
fn is_foreign(path: &Path) -> Result<bool, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY
        | OpenFlags::SQLITE_OPEN_URI
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let name = path.to_string_lossy();
    let name = name
        .replace('%', "%25")
        .replace('?', "%3f")
        .replace('#', "%23");
    let asked = (|| {
        let connection = Connection::open_with_flags(format!("file:{name}?immutable=1"), flags)?;
        let tables: i64 =
            connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
        let mark: i64 = connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
        Ok(tables > 0 && mark != i64::from(schema::APPLICATION_ID))
    })();
    match asked {
        Err(error) if is_unreadable(&error) => Ok(false),
        asked => asked.map_err(sqlite(path, "look at the store")),
    }
}

fn is_unreadable(error: &rusqlite::Error) -> bool {
    use rusqlite::ErrorCode::{CannotOpen, DatabaseCorrupt, NotADatabase, SystemIoFailure};
    let code = error.sqlite_error_code();
    // Opened to be written, it is told with what can be done about it.
    matches!(
        code,
        Some(CannotOpen | DatabaseCorrupt | NotADatabase | SystemIoFailure)
    )
}

/// What an older store has left beside its place: its log, or a copy of an earlier version.
fn trace(path: &Path) -> Result<Option<PathBuf>, StoreError> {
    let directory = path.parent().unwrap_or(path);
    let of_ours = |name: &OsString| {
        let name = name.to_string_lossy();
        let copy = |kind: &str| name.starts_with(&format!("{FILE_NAME}{kind}"));
        name == format!("{FILE_NAME}-wal") || copy(".v") || copy(KEPT)
    };
    let entries = fs::read_dir(directory).map_err(file(directory, "look at"))?;
    for entry in entries {
        let entry = entry.map_err(file(directory, "look at"))?;
        let holds = || entry.metadata().is_ok_and(|found| found.len() > 0);
        if of_ours(&entry.file_name()) && holds() {
            return Ok(Some(entry.path()));
        }
    }
    Ok(None)
}

/// Where a new store is made, to take its place when it is whole: so that an empty file is never one that was just begun.
pub(super) fn place(path: &Path) -> Result<PathBuf, StoreError> {
    let new = path.with_file_name(format!("{FILE_NAME}.new"));
    for left in ["", "-wal", "-shm"] {
        let left = path.with_file_name(format!("{FILE_NAME}.new{left}"));
        match fs::remove_file(&left) {
            Err(error) if error.kind() != ErrorKind::NotFound => {
                return Err(file(&left, "replace")(error));
            }
            _ => {}
        }
    }
    private_file(&new)?;
    Ok(new)
}

/// Puts the new store in its place.
pub(super) fn put(new: &Path, path: &Path) -> Result<(), StoreError> {
    fs::rename(new, path).map_err(file(path, "put into its place"))?;
    sync_directory(path)
}
