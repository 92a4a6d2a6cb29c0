//! Sessions brought back into the store: from what was kept of a damaged one, from an archive, or from a copy.

mod compared;

use super::check::{Soundness, check, check_file};
use super::copy::{self, SessionCounts};
use super::damage::{self, Temporary};
use super::error::{StoreError, file, sqlite};
use super::file::Store;
use super::gate::NoFault;
use super::log::beside;
use crate::files::FILE_NAME;
use compared::{has_more, is_same, went_on};
use metrology::Counted;
use protocol::record::EventKind;
use rusqlite::{Connection, OptionalExtension, params};
use serde::Serialize;
use std::fs;
use std::path::{Path, PathBuf};

/// What happens to a session that is brought back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "how", rename_all = "snake_case")]
pub enum How {
    /// All of it is in the store: nothing has to be done.
    Unchanged,
    /// It is not in the store, and comes back under its number.
    Added,
    /// Nothing was marked in it since: what the store has of it is replaced.
    Completed,
    /// It went on since, or its number is another session's: it comes back, closed, under another number.
    Beside {
        /// That number.
        as_session: i64,
    },
}

/// A session that can be brought back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Offer {
    /// What is there of it.
    #[serde(flatten)]
    pub there: SessionCounts,
    /// Marks of it that the store has; absent when it has no such session.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marks_here: Option<u64>,
    /// What happens to it.
    #[serde(flatten)]
    pub how: How,
}

/// Everything that can be brought back from a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Offers {
    /// The file.
    pub from: PathBuf,
    /// The sessions in it.
    pub sessions: Vec<Offer>,
    /// What is wrong with the file.
    pub faults: Vec<String>,
}

/// Where sessions are brought back from: a copy of the file that is up to date, so that the file itself stays as it is.
struct Source {
    from: PathBuf,
    copy: PathBuf,
    found: Soundness,
    _folder: Temporary,
}

impl Source {
    fn open(directory: &Path, from: Option<&Path>) -> Result<Self, StoreError> {
        let from = match from {
            Some(from) => from.to_owned(),
            None => kept(directory)?,
        };
        let folder = damage::tempdir(&from)?;
        let copy = folder.path.join(FILE_NAME);
        check_file(&from)?;
        damage::copy(&from, &copy)?;
        damage::copy(&beside(&from, "-wal"), &beside(&copy, "-wal"))?;
        let store = Store::open(&folder.path, Box::new(NoFault)).map_err(|error| match error {
            // The user knows the file, and not the copy.
            StoreError::Sqlite { .. } | StoreError::Empty { .. } => StoreError::Unsound {
                path: from.clone(),
                fault: error.to_string(),
            },
            other => other,
        })?;
        store.close()?;
        let found = check_file(&copy)?;
        Ok(Self {
            from,
            copy,
            found,
            _folder: folder,
        })
    }
}

/// What could be read of the last damaged store that is not settled.
fn kept(directory: &Path) -> Result<PathBuf, StoreError> {
    let found = check(directory)?;
    let kept = found.lost.iter().rfind(|lost| lost.kept != found.file);
    let none = || StoreError::NothingKept {
        directory: directory.to_owned(),
    };
    kept.map(|lost| damage::readable(&lost.kept))
        .ok_or_else(none)
}

/// Lists what could be brought back. The caller holds the data directory ([`crate::Home`]), here as in what follows. It comes
/// from this file, or from what was kept of the last damaged store. Nothing is changed, but a damage that no daemon has seen is
/// kept aside.
///
/// # Errors
/// There is nothing to bring back, or it cannot be read.
pub fn offers(directory: &Path, from: Option<&Path>) -> Result<Offers, StoreError> {
    Bringing::begin(directory, from)?.ended()
}

/// Brings these sessions back, or all when none is named.
///
/// # Errors
/// As [`offers`]; there is no such session; the disk rejects the change. Then none was brought back.
pub fn bring_back(
    directory: &Path,
    from: Option<&Path>,
    sessions: &[i64],
) -> Result<Offers, StoreError> {
    let mut bringing = Bringing::begin(directory, from)?;
    bringing.choose(sessions)?;
    bringing.bring(from.is_none())?;
    bringing.ended()
}

/// Settles every damage without bringing anything back. Returns how many there were.
///
/// # Errors
/// The disk rejects it.
pub fn leave(directory: &Path) -> Result<usize, StoreError> {
    let store = Store::open(directory, Box::new(NoFault))?;
    let settled = store
        .connection
        .execute("UPDATE damage SET settled = 1 WHERE settled = 0", [])
        .map_err(sqlite(store.path(), "write to the store"))?;
    store.close()?;
    Ok(settled)
}

struct Bringing {
    store: Store,
    source: Source,
    offers: Vec<Offer>,
}

impl Bringing {
    fn begin(directory: &Path, from: Option<&Path>) -> Result<Self, StoreError> {
        // A damage that no daemon has seen is kept aside here.
        let store = Store::open(directory, Box::new(NoFault))?;
        let source = Source::open(directory, from)?;
        let path = store.path().to_owned();
        let listed = (|| {
            copy::attach(&store.connection, &source.copy)?;
            list(&store.connection)
        })();
        let offers = listed.map_err(sqlite(&path, "read the sessions"))?;
        Ok(Self {
            store,
            source,
            offers,
        })
    }

    fn choose(&mut self, sessions: &[i64]) -> Result<(), StoreError> {
        for asked in sessions {
            if !self
                .offers
                .iter()
                .any(|offer| offer.there.session == *asked)
            {
                return Err(StoreError::NoSession {
                    asked: asked.to_string(),
                });
            }
        }
        if !sessions.is_empty() {
            self.offers
                .retain(|offer| sessions.contains(&offer.there.session));
        }
        Ok(())
    }

    fn bring(&mut self, settle: bool) -> Result<(), StoreError> {
        let path = self.store.path().to_owned();
        let done = (|| {
            let transaction = self.store.connection.transaction()?;
            for offer in &self.offers {
                one(&transaction, offer)?;
            }
            if settle {
                let kept = self.source.from.file_name().unwrap_or_default();
                transaction.execute(
                    "UPDATE damage SET settled = 1 WHERE kept || '-read' = ?1",
                    [kept.to_string_lossy()],
                )?;
            }
            transaction.commit()
        })();
        done.map_err(sqlite(&path, "bring the sessions back"))
    }

    fn ended(self) -> Result<Offers, StoreError> {
        let path = self.store.path().to_owned();
        copy::detach(&self.store.connection).map_err(sqlite(&path, "read the sessions"))?;
        self.store.close()?;
        Ok(Offers {
            from: self.source.from,
            sessions: self.offers,
            faults: self.source.found.faults,
        })
    }
}

fn list(c: &Connection) -> rusqlite::Result<Vec<Offer>> {
    let mut statement = c.prepare("SELECT id FROM source.session ORDER BY id")?;
    let ids: Vec<i64> = statement
        .query_map([], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    let mut free: i64 = c.query_row(
        "SELECT max((SELECT coalesce(max(id), 0) FROM main.session),
                    (SELECT coalesce(max(session), 0) FROM main.deleted),
                    (SELECT coalesce(max(id), 0) FROM source.session)) + 1",
        [],
        |row| row.get(0),
    )?;
    let mut offers = Vec::new();
    for id in ids {
        let Some(there) = copy::counts(c, "source", id)? else {
            continue;
        };
        let here = copy::counts(c, "main", id)?;
        let how = match &here {
            None => How::Added,
            Some(_) if !is_same(c, id)? => How::Beside { as_session: free },
            Some(_) if !has_more(c, "source", "main", id)? => How::Unchanged,
            Some(_) if !went_on(c, id)? => How::Completed,
            Some(_) => How::Beside { as_session: free },
        };
        free += i64::from(matches!(how, How::Beside { .. }));
        offers.push(Offer {
            marks_here: here
                .filter(|_| is_same(c, id).unwrap_or(false))
                .map(|here| here.marks),
            there,
            how,
        });
    }
    Ok(offers)
}

fn one(c: &Connection, offer: &Offer) -> rusqlite::Result<()> {
    let from = offer.there.session;
    match offer.how {
        How::Unchanged => return Ok(()),
        How::Added => copy::session(c, from, from)?,
        How::Beside { as_session } => {
            copy::session(c, from, as_session)?;
            close(c, as_session)?;
        }
        How::Completed => {
            // What happened in it since stays told.
            c.execute_batch("CREATE TEMP TABLE since AS SELECT * FROM main.event LIMIT 0")?;
            c.execute(
                "INSERT INTO since SELECT * FROM main.event AS e WHERE session = ?1 AND NOT EXISTS (
                    SELECT 1 FROM source.event AS o
                    WHERE o.session = ?1 AND o.t_ns = e.t_ns AND o.what = e.what AND o.text = e.text)",
                [from],
            )?;
            copy::remove(c, from)?;
            copy::session(c, from, from)?;
            c.execute_batch(
                "INSERT INTO main.event (session, t_ns, utc_ns, what, text)
                 SELECT session, t_ns, utc_ns, what, text FROM since ORDER BY id;
                 DROP TABLE since",
            )?;
            let marks = offer
                .there
                .marks
                .saturating_sub(offer.marks_here.unwrap_or(0));
            let text = format!(
                "brought back by `conewright store restore`: {}",
                Counted(marks, "mark")
            );
            let what = serde_json::to_string(&EventKind::Daemon)
                .map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))?;
            // No daemon runs, and so no timeline: it follows the last that happened.
            c.execute(
                "INSERT INTO main.event (session, t_ns, utc_ns, what, text)
                 SELECT ?1, coalesce(max(t_ns), 0), coalesce(max(utc_ns), 0), ?2, ?3 FROM main.event WHERE session = ?1",
                params![from, what, text],
            )?;
        }
    }
    // One session at a time is open: the last.
    let open: Option<i64> = c
        .query_row(
            "SELECT id FROM main.session WHERE closed_utc_ns IS NULL AND id != ?1 LIMIT 1",
            [from],
            |row| row.get(0),
        )
        .optional()?;
    match open {
        Some(_) if offer.there.open => close(c, from),
        _ => Ok(()),
    }
}

/// Closes a session where it ended.
fn close(c: &Connection, session: i64) -> rusqlite::Result<()> {
    c.execute(
        "UPDATE main.step SET closed_t_ns = max(opened_t_ns,
            coalesce((SELECT max(t_ns) FROM main.mark WHERE step = main.step.id), opened_t_ns))
         WHERE session = ?1 AND closed_t_ns IS NULL",
        params![session],
    )?;
    c.execute(
        "UPDATE main.session SET closed_utc_ns = max(opened_utc_ns,
            coalesce((SELECT max(utc_ns) FROM main.event WHERE session = ?1), opened_utc_ns))
         WHERE id = ?1 AND closed_utc_ns IS NULL",
        params![session],
    )?;
    Ok(())
}

/// Checks one file: an archive, a copy, or another directory's store.
///
/// # Errors
/// As [`check`].
pub fn check_one(path: &Path) -> Result<Soundness, StoreError> {
    fs::metadata(path).map_err(file(path, "find the store"))?;
    check_file(path)
}
