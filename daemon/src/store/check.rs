//! Whether a store is sound: asked of SQLite first, and then of what only this program knows about it.
//!
//! It reads by a connection that cannot write, so that it may be asked beside a running daemon, and of a store
//! that a daemon was killed over.

use super::chain;
use super::damage::{self, Lost};
use super::decode;
use super::error::{StoreError, file, sqlite};
use super::opened::reading;
use super::schema;
use crate::files::FILE_NAME;
use metrology::setup::Setup;
use protocol::evidence::MarkSource;
use protocol::plan::{Plan, StepKind};
use protocol::record::CableSettings;
use rusqlite::{Connection, ErrorCode};
use serde::Serialize;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// Faults listed at most; a broken file has one in every page.
const MOST_FAULTS: usize = 50;

/// What was found in a store.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Soundness {
    /// The file.
    pub file: PathBuf,
    /// The version of its tables.
    pub version: i64,
    /// The version that this program writes.
    pub known_version: i64,
    /// Its size.
    pub size_bytes: u64,
    /// The size of its log: what was written and is not in the file yet.
    pub log_bytes: u64,
    /// How much is in it.
    #[serde(flatten)]
    pub counts: Counts,
    /// What is wrong; nothing in a sound store.
    pub faults: Vec<String>,
    /// What a damaged log has lost, and the user has not settled.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lost: Vec<Lost>,
}

/// How much is in a store.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Sessions.
    pub sessions: u64,
    /// Steps.
    pub steps: u64,
    /// Marks, those that were taken back among them.
    pub marks: u64,
    /// Marks that were taken back.
    pub taken_back: u64,
    /// Readings.
    pub readings: u64,
    /// Events.
    pub events: u64,
}

impl Counts {
    /// Whether nothing of it is less than in the other: a store only grows.
    #[must_use]
    pub const fn holds(&self, other: &Self) -> bool {
        self.sessions >= other.sessions
            && self.steps >= other.steps
            && self.marks >= other.marks
            && self.taken_back >= other.taken_back
            && self.readings >= other.readings
            && self.events >= other.events
    }
}

impl Soundness {
    /// Whether nothing is wrong.
    #[must_use]
    pub const fn is_sound(&self) -> bool {
        self.faults.is_empty() && self.lost.is_empty()
    }

    fn fault(&mut self, what: impl Into<String>) {
        if self.faults.len() < MOST_FAULTS {
            self.faults.push(what.into());
        }
    }
}

/// Checks the store of a data directory.
///
/// # Errors
/// There is none, it cannot be read at all, is another program's, or was written by a newer one.
pub fn check(directory: &Path) -> Result<Soundness, StoreError> {
    check_file(&directory.join(FILE_NAME))
}

pub(super) fn check_file(path: &Path) -> Result<Soundness, StoreError> {
    let found = fs::metadata(path).map_err(file(path, "find the store"))?;
    let log = path.with_file_name(format!(
        "{}-wal",
        path.file_name().unwrap_or_default().to_string_lossy()
    ));
    let log_bytes = match fs::metadata(&log) {
        Ok(found) => found.len(),
        Err(error) if error.kind() == ErrorKind::NotFound => 0,
        Err(error) => return Err(file(&log, "look at")(error)),
    };
    let mut soundness = Soundness {
        file: path.to_owned(),
        known_version: schema::MIGRATIONS.len() as i64,
        size_bytes: found.len(),
        log_bytes,
        ..Default::default()
    };
    let unseen = damage::unseen(path)?;
    let connection = reading(unseen.as_ref().map_or(path, |unseen| &unseen.copy))?;
    let looked = look(&connection, &mut soundness, path);
    soundness.lost.extend(unseen.map(|unseen| unseen.lost));
    match looked {
        Ok(()) => Ok(soundness),
        Err(Looked::Refused(error)) => Err(error),
        Err(Looked::Sqlite(error)) if says_broken(&error) => {
            soundness.fault(error.to_string());
            Ok(soundness)
        }
        Err(Looked::Sqlite(error)) => Err(sqlite(path, "check the store")(error)),
    }
}

enum Looked {
    Refused(StoreError),
    Sqlite(rusqlite::Error),
}

impl From<rusqlite::Error> for Looked {
    fn from(error: rusqlite::Error) -> Self {
        Self::Sqlite(error)
    }
}

/// Whether the error says that the content is broken, and not that it could not be read now.
fn says_broken(error: &rusqlite::Error) -> bool {
    matches!(error, rusqlite::Error::FromSqlConversionFailure(..))
        || matches!(
            error.sqlite_error_code(),
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase)
        )
}

fn look(c: &Connection, found: &mut Soundness, path: &Path) -> Result<(), Looked> {
    // All of it of the same moment, whatever a daemon writes meanwhile.
    let c = &c.unchecked_transaction()?;
    let number = |pragma: &str| c.pragma_query_value(None, pragma, |row| row.get::<_, i64>(0));
    let count = |query: &str| {
        c.query_row(query, [], |row| row.get::<_, i64>(0))
            .map(i64::cast_unsigned)
    };
    found.version = number("user_version")?;
    let application = number("application_id")?;
    if count("SELECT count(*) FROM sqlite_schema")? == 0 {
        // A daemon was ended before it made its tables; the next one makes them.
        return Ok(());
    }
    if application != i64::from(schema::APPLICATION_ID) {
        let path = path.to_owned();
        return Err(Looked::Refused(StoreError::Foreign { path }));
    }
    if found.version > found.known_version {
        return Err(Looked::Refused(StoreError::Newer {
            path: path.to_owned(),
            found: found.version,
            known: found.known_version,
        }));
    }
    integrity(c, found)?;
    references(c, found)?;
    found.counts = Counts {
        sessions: count("SELECT count(*) FROM session")?,
        steps: count("SELECT count(*) FROM step")?,
        marks: count("SELECT count(*) FROM mark")?,
        taken_back: count("SELECT count(*) FROM mark WHERE taken_back")?,
        readings: count("SELECT count(*) FROM reading")?,
        events: count("SELECT count(*) FROM event")?,
    };
    sessions(c, found)?;
    steps(c, found)?;
    // Older files know no chains.
    if found.version > 3 {
        chain::faults(c, |what| found.fault(what))?;
        found.lost = damage::unsettled(c, path)?;
    }
    Ok(())
}

fn integrity(c: &Connection, found: &mut Soundness) -> rusqlite::Result<()> {
    let mut statement = c.prepare(&format!("PRAGMA integrity_check({MOST_FAULTS})"))?;
    let mut lines = statement.query([])?;
    while let Some(row) = lines.next()? {
        let line: String = row.get(0)?;
        if line != "ok" {
            found.fault(line);
        }
    }
    Ok(())
}

fn references(c: &Connection, found: &mut Soundness) -> rusqlite::Result<()> {
    let mut statement = c.prepare("PRAGMA foreign_key_check")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (table, parent): (String, String) = (row.get(0)?, row.get(2)?);
        found.fault(format!(
            "a row of `{table}` belongs to a row of `{parent}` that is not there"
        ));
    }
    // A million rows of readings declare no reference: each insertion would be checked.
    for (parent, column) in [("step", "step"), ("cable", "cable")] {
        let lone: i64 = c.query_row(
            &format!(
                "SELECT count(*) FROM reading WHERE {column} NOT IN (SELECT id FROM {parent})"
            ),
            [],
            |row| row.get(0),
        )?;
        if lone > 0 {
            found.fault(format!(
                "{lone} readings belong to no {parent} that is there"
            ));
        }
    }
    Ok(())
}

/// That every session can be understood.
fn sessions(c: &Connection, found: &mut Soundness) -> rusqlite::Result<()> {
    let mut statement = c.prepare("SELECT setup, cables, id FROM session ORDER BY id")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(2)?;
        let understood = decode::json::<Setup>(row, 0)
            .map(drop)
            .and_then(|()| decode::json::<Vec<CableSettings>>(row, 1).map(drop));
        if let Err(error) = understood {
            found.fault(format!(
                "the set-up of session {number} cannot be read: {error}"
            ));
        }
    }
    Ok(())
}

/// That every step can be understood, its marks are counted without a gap, and their readings are there.
fn steps(c: &Connection, found: &mut Soundness) -> rusqlite::Result<()> {
    // A file of the first version knows the kind alone.
    let has_plans = found.version > 1;
    let mut counting = c.prepare(
        "SELECT count(*) FROM reading JOIN cable ON cable.id = reading.cable
         WHERE step = ?1 AND cable.name = ?2 AND seq BETWEEN ?3 AND ?4",
    )?;
    let mut statement = c.prepare(&format!(
        "SELECT {}, id, session, number FROM step ORDER BY id",
        if has_plans { "plan" } else { "kind" }
    ))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (id, session, number): (i64, i64, i64) = (row.get(1)?, row.get(2)?, row.get(3)?);
        let place = format!("step {number} of session {session}");
        let understood = if has_plans {
            decode::json::<Plan>(row, 0).map(drop)
        } else {
            decode::json::<StepKind>(row, 0).map(drop)
        };
        if let Err(error) = understood {
            found.fault(format!("the plan of {place} cannot be read: {error}"));
        }
        let marks = match decode::marks(c, id) {
            Ok(marks) => marks,
            Err(error) => {
                found.fault(format!("the marks of {place} cannot be read: {error}"));
                continue;
            }
        };
        for (mark, expected) in marks.iter().zip(1..) {
            if mark.number != expected {
                found.fault(format!("mark {expected} of {place} is missing"));
                break;
            }
        }
        for mark in &marks {
            let MarkSource::Dwell {
                cable,
                first_seq,
                last_seq,
            } = &mark.source
            else {
                continue;
            };
            let range = (first_seq.cast_signed(), last_seq.cast_signed());
            let there: i64 = counting.query_row((id, cable, range.0, range.1), |row| row.get(0))?;
            let used = (last_seq + 1).saturating_sub(*first_seq);
            if there.cast_unsigned() != used {
                found.fault(format!(
                    "mark {} of {place} uses {used} readings of `{cable}`, and {there} of them are there",
                    mark.number
                ));
            }
        }
    }
    Ok(())
}
