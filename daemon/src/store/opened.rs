//! A store, an archive or a copy, opened for reading alone.

use super::error::{StoreError, sqlite};
use rusqlite::{Connection, OpenFlags};
use std::path::Path;

/// Opens a file for reading.
pub(super) fn reading(path: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    Connection::open_with_flags(path, flags)
        .and_then(|connection| {
            connection.busy_timeout(std::time::Duration::from_secs(2))?;
            Ok(connection)
        })
        .map_err(sqlite(path, "open the store for reading"))
}
