//! What is kept and for how long: sessions archived in a file of their own, deleted, and the room that they took given back.

use super::backup;
use super::check::{Soundness, check_file};
use super::copy::{self, SessionCounts};
use super::error::{StoreError, file, sqlite};
use super::file::Store;
use super::gate::NoFault;
use super::opened::reading;
use super::private::private_file;
use super::schema;
use crate::files::FILE_NAME;
use std::fs::{self, File};
use std::path::Path;

/// Copies closed sessions into a new store of their own, which is checked. A daemon that runs goes on.
///
/// # Errors
/// There is no such session, or it is open; `to` cannot be written, is there already, or is the store itself; what was written
/// is not sound.
pub fn archive(
    directory: &Path,
    sessions: &[i64],
    to: &Path,
    replace: bool,
) -> Result<Soundness, StoreError> {
    let path = directory.join(FILE_NAME);
    let place = backup::Place::look(directory, to, replace)?;
    let before = backup::sound(directory)?;
    if before.version != before.known_version {
        return Err(StoreError::Older {
            path,
            found: before.version,
            known: before.known_version,
        });
    }
    let written = (|| {
        private_file(&place.beside)?;
        let store = Store::opened(&place.beside, Box::new(NoFault), schema::MIGRATIONS)?;
        let c = &store.connection;
        let copied = (|| {
            copy::attach(c, &path)?;
            let transaction = c.unchecked_transaction()?;
            for session in sessions {
                if let Some(error) = unfit(copy::counts(c, "source", *session)?.as_ref(), *session)
                {
                    return Ok(Some(error));
                }
                copy::session(c, *session, *session)?;
            }
            transaction.commit()?;
            copy::detach(c)?;
            // A file to keep has no log beside it.
            c.pragma_update(None, "journal_mode", "DELETE")?;
            Ok(None)
        })();
        match copied.map_err(sqlite(&place.beside, "copy the sessions"))? {
            Some(error) => return Err(error),
            None => drop(store),
        }
        File::open(&place.beside)
            .and_then(|copy| copy.sync_all())
            .map_err(file(&place.beside, "write"))?;
        let found = check_file(&place.beside)?;
        match found.faults.first() {
            Some(fault) => Err(StoreError::Unsound {
                path: path.clone(),
                fault: fault.clone(),
            }),
            None => Ok(found),
        }
    })();
    place.finish(written)
}

/// Why a session can be neither archived nor deleted.
fn unfit(found: Option<&SessionCounts>, asked: i64) -> Option<StoreError> {
    match found {
        None => Some(StoreError::NoSession {
            asked: asked.to_string(),
        }),
        Some(found) if found.open => Some(StoreError::OpenSession { session: asked }),
        Some(_) => None,
    }
}

/// What the named sessions have that would be deleted.
///
/// # Errors
/// There is no such session, or it is open; the store cannot be read.
pub fn to_delete(directory: &Path, sessions: &[i64]) -> Result<Vec<SessionCounts>, StoreError> {
    let path = directory.join(FILE_NAME);
    let c = reading(&path)?;
    sessions
        .iter()
        .map(|session| {
            let found = copy::counts(&c, "main", *session);
            let found = found.map_err(sqlite(&path, "read the session"))?;
            match unfit(found.as_ref(), *session) {
                Some(error) => Err(error),
                None => found.ok_or(StoreError::Ended),
            }
        })
        .collect()
}

/// Deletes closed sessions, all of them or none. The caller holds the data directory ([`crate::Home`]).
///
/// # Errors
/// As [`to_delete`], and when the disk rejects the change.
pub fn delete(directory: &Path, sessions: &[i64]) -> Result<Vec<SessionCounts>, StoreError> {
    let mut store = Store::open(directory, Box::new(NoFault))?;
    let found = to_delete(directory, sessions)?;
    let path = store.path().to_owned();
    let done = (|| {
        let transaction = store.connection.transaction()?;
        for session in &found {
            copy::remove(&transaction, session.session)?;
        }
        transaction.commit()
    })();
    done.map_err(sqlite(&path, "delete the sessions"))?;
    store.close()?;
    Ok(found)
}

/// Gives back to the disk what deleted sessions have taken. The caller holds the data directory. Returns the size of the file before and after, bytes.
///
/// # Errors
/// The disk rejects it; it needs as much room as the store has while it works. The store is then as it was.
pub fn compact(directory: &Path) -> Result<(u64, u64), StoreError> {
    let store = Store::open(directory, Box::new(NoFault))?;
    let path = store.path().to_owned();
    let size = || {
        let found = fs::metadata(&path).map_err(file(&path, "look at"));
        found.map(|found| found.len())
    };
    let before = size()?;
    store
        .connection
        .execute_batch("VACUUM")
        .map_err(sqlite(&path, "compact the store"))?;
    store.close()?;
    Ok((before, size()?))
}
