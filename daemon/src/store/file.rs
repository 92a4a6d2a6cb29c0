//! The writing end of the store: opened, brought up to date, and closed.

use super::beginning::{self, Found};
use super::damage;
use super::error::{StoreError, file, sqlite};
use super::gate::{Call, Fault, Gate, ask};
use super::private::private_file;
use super::runs::Run;
use super::schema;
use crate::files::FILE_NAME;
use rusqlite::{Connection, OpenFlags};
use std::collections::HashMap;
use std::fs::{self, File};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Pages that SQLite keeps in memory, KiB: the work is appending, so that few are enough.
const CACHE_KIB: i64 = 512;

/// The writing end of the store.
pub struct Store {
    pub(super) path: PathBuf,
    pub(super) connection: Connection,
    pub(super) gate: Box<dyn Gate>,
    /// Device and inode at opening: a mark committed into a file that was deleted since would be lost.
    pub(super) identity: (u64, u64),
    /// Keys of the cables by name.
    pub(super) cables: HashMap<Arc<str>, i64>,
    /// The version of its tables.
    pub(super) version: i64,
    /// Key of the run, once it has begun.
    pub(super) run: Option<i64>,
    /// The run that the disk had no room for: it is begun with the first write that the disk takes.
    pub(super) unbegun: Option<Run>,
}

impl Store {
    /// Opens the store of a data directory, or makes it; brings an older file up to date, after keeping a copy.
    ///
    /// # Errors
    /// The file cannot be made, opened or written, is another program's, or was written by a newer one.
    pub fn open(directory: &Path, gate: Box<dyn Gate>) -> Result<Self, StoreError> {
        Self::open_with(directory, gate, schema::MIGRATIONS)
    }

    pub(super) fn open_with(
        directory: &Path,
        gate: Box<dyn Gate>,
        migrations: &[&str],
    ) -> Result<Self, StoreError> {
        let path = directory.join(FILE_NAME);
        let gate = match beginning::look(&path)? {
            Found::Store => {
                // SQLite would leave out what lies behind a damage, and write over it.
                damage::keep_aside(&path)?;
                gate
            }
            Found::Nothing => {
                let new = beginning::place(&path)?;
                let gate = Self::opened(&new, gate, migrations)?.closed()?;
                beginning::put(&new, &path)?;
                gate
            }
        };
        private_file(&path)?;
        let mut store = Self::opened(&path, gate, migrations)?;
        damage::note_all(&mut store.connection, &path)?;
        Ok(store)
    }

    pub(super) fn opened(
        path: &Path,
        gate: Box<dyn Gate>,
        migrations: &[&str],
    ) -> Result<Self, StoreError> {
        let mut store = Self::connect(path, gate)?;
        // The disk may have failed only once, so the store is opened a second time. The first connection is not used again: it
        // may have fallen back to reading only, or take half a file for a broken one.
        if let Err(error) = store.begin(migrations) {
            if !error.may_pass() {
                return Err(error);
            }
            tracing::warn!(%error, "the store is opened once more");
            let Self {
                connection, gate, ..
            } = store;
            drop(connection);
            store = Self::connect(path, gate)?;
            store.begin(migrations)?;
        }
        Ok(store)
    }

    fn connect(path: &Path, mut gate: Box<dyn Gate>) -> Result<Self, StoreError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = ask(&mut gate, Call::Open)
            .and_then(|()| Connection::open_with_flags(path, flags))
            .map_err(sqlite(path, "open the store"))?;
        Ok(Self {
            identity: identity(path)?,
            path: path.to_owned(),
            connection,
            gate,
            cables: HashMap::new(),
            version: 0,
            run: None,
            unbegun: None,
        })
    }

    fn begin(&mut self, migrations: &[&str]) -> Result<(), StoreError> {
        self.prepare()?;
        // SQLite silently opens for reading a file or a log that it cannot open for writing. `is_readonly` reports it of the
        // file; of the log only a rejected writing transaction does.
        let may_write = match self.connection.is_readonly("main") {
            Ok(true) => Err(Fault::ReadOnly.error()),
            Ok(false) => self.connection.execute_batch("BEGIN IMMEDIATE; ROLLBACK"),
            Err(error) => Err(error),
        };
        may_write.map_err(sqlite(&self.path, "open the store for writing"))?;
        self.migrate(migrations)
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn prepare(&mut self) -> Result<(), StoreError> {
        let done = (|| {
            ask(&mut self.gate, Call::Prepare)?;
            let c = &self.connection;
            c.pragma_update(None, "journal_mode", "WAL")?;
            c.pragma_update(None, "synchronous", "FULL")?;
            c.pragma_update(None, "foreign_keys", true)?;
            c.pragma_update(None, "cache_size", -CACHE_KIB)?;
            // Readers never block a writer in WAL mode; a check-point by another program may, for a moment.
            c.busy_timeout(std::time::Duration::from_secs(2))
        })();
        done.map_err(sqlite(&self.path, "prepare the store"))
    }

    fn migrate(&mut self, migrations: &[&str]) -> Result<(), StoreError> {
        let path = self.path.clone();
        let known = i64::try_from(migrations.len()).unwrap_or(i64::MAX);
        let asked = (|| {
            ask(&mut self.gate, Call::Prepare)?;
            let number = |pragma: &str| {
                self.connection
                    .pragma_query_value(None, pragma, |row| row.get::<_, i64>(0))
            };
            let tables: i64 =
                self.connection
                    .query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
            Ok((number("user_version")?, number("application_id")?, tables))
        })();
        let (found, application, tables) =
            asked.map_err(sqlite(&path, "read the store's version"))?;
        if tables > 0 && application != i64::from(schema::APPLICATION_ID) {
            return Err(StoreError::Foreign { path });
        }
        if found > known || found < 0 {
            return Err(StoreError::Newer { path, found, known });
        }
        self.version = known;
        if found == known {
            return Ok(());
        }
        if found > 0 {
            self.keep_copy(found)?;
        }
        let done = (|| {
            ask(&mut self.gate, Call::Migrate)?;
            let transaction = self.connection.transaction()?;
            for migration in migrations.iter().skip(usize::try_from(found).unwrap_or(0)) {
                transaction.execute_batch(migration)?;
            }
            transaction.pragma_update(None, "application_id", schema::APPLICATION_ID)?;
            transaction.pragma_update(None, "user_version", known)?;
            ask(&mut self.gate, Call::Commit)?;
            transaction.commit()
        })();
        done.map_err(sqlite(&path, "bring the store up to date"))
    }

    /// Keeps the file of an older version beside the new one: `conewright.db.v1`.
    fn keep_copy(&mut self, version: i64) -> Result<(), StoreError> {
        let copy = self.path.with_file_name(format!("{FILE_NAME}.v{version}"));
        // A copy cut short by an earlier attempt is worth nothing, and SQLite writes only into an empty file.
        if let Err(source) = fs::remove_file(&copy)
            && source.kind() != std::io::ErrorKind::NotFound
        {
            return Err(file(&copy, "replace")(source));
        }
        private_file(&copy)?;
        let done = (|| {
            ask(&mut self.gate, Call::Migrate)?;
            let name = copy.to_string_lossy();
            self.connection.execute("VACUUM INTO ?1", [&*name])?;
            Ok(())
        })();
        done.map_err(sqlite(&copy, "keep a copy of the older store"))?;
        let synced = File::open(&copy).and_then(|copy| copy.sync_all());
        synced.map_err(file(&copy, "write"))
    }

    /// Brings what is in the log into the file, so that the file alone is whole, and closes it.
    ///
    /// # Errors
    /// The disk rejects a write; what was committed is then still in the log, and is read from there.
    pub fn close(self) -> Result<(), StoreError> {
        self.closed().map(drop)
    }

    fn closed(mut self) -> Result<Box<dyn Gate>, StoreError> {
        let path = self.path.clone();
        let done = (|| {
            ask(&mut self.gate, Call::Checkpoint)?;
            self.connection
                .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
        })();
        done.map_err(sqlite(&path, "check-point the store"))?;
        let closed = self.connection.close();
        closed.map_err(|(_, source)| sqlite(&path, "close the store")(source))?;
        Ok(self.gate)
    }
}

pub(super) fn identity(path: &Path) -> Result<(u64, u64), StoreError> {
    let found = fs::metadata(path).map_err(file(path, "look at"))?;
    Ok((found.dev(), found.ino()))
}
