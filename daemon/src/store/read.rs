//! Readers of the store: a connection of their own, which cannot write and never waits for the writer.

use super::decode;
use super::error::{StoreError, file, sqlite};
use super::opened::reading;
use crate::files::FILE_NAME;
use metrology::setup::Setup;
use protocol::api::{SessionFilter, SessionLine};
use protocol::evidence::Evidence;
use protocol::plan::Plan;
use protocol::record::{FORMAT, Record, SessionInfo, StepRecord, VERSION, later};
use rusqlite::{Connection, OptionalExtension, Row, params};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::str::FromStr;

/// Which session is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// By its number.
    Number(i64),
    /// The open one.
    Current,
    /// The one opened last, open or not.
    Latest,
}

impl FromStr for Which {
    type Err = StoreError;

    fn from_str(text: &str) -> Result<Self, StoreError> {
        match text {
            "current" => Ok(Self::Current),
            "latest" => Ok(Self::Latest),
            number => number
                .parse()
                .map(Self::Number)
                .map_err(|_| StoreError::NoSession {
                    asked: text.to_owned(),
                }),
        }
    }
}

impl std::fmt::Display for Which {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number(number) => write!(f, "{number}"),
            Self::Current => f.write_str("current"),
            Self::Latest => f.write_str("latest"),
        }
    }
}

/// A reading end of the store.
#[derive(Debug)]
pub struct Reader {
    path: PathBuf,
    connection: Connection,
}

impl Reader {
    /// Opens the store of a data directory for reading.
    ///
    /// # Errors
    /// There is none, or it cannot be read.
    pub fn open(directory: &Path) -> Result<Self, StoreError> {
        Self::open_file(&directory.join(FILE_NAME))
    }

    /// Opens an archive or a copy for reading.
    ///
    /// # Errors
    /// There is none, or it cannot be read.
    pub fn open_file(path: &Path) -> Result<Self, StoreError> {
        Ok(Self {
            connection: reading(path)?,
            path: path.to_owned(),
        })
    }

    /// The sessions that meet all that is stated, newest first.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn sessions(&self, filter: &SessionFilter) -> Result<Vec<SessionLine>, StoreError> {
        let listed = (|| {
            let verdict = filter
                .verdict
                .as_ref()
                .map(serde_json::to_string)
                .transpose();
            let verdict = verdict
                .map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))?;
            let mut statement = self.connection.prepare(
                "SELECT id, name, opened_utc_ns, closed_utc_ns, taper, fixture,
                        (SELECT count(*) FROM step WHERE session = session.id), verdict,
                        (SELECT '[' || group_concat(kind) || ']'
                         FROM (SELECT kind FROM step WHERE session = session.id
                               GROUP BY kind ORDER BY min(number)))
                 FROM session
                 WHERE (?1 IS NULL OR opened_utc_ns >= ?1)
                   AND (?2 IS NULL OR opened_utc_ns <= ?2)
                   AND (?3 IS NULL OR verdict = ?3)
                 ORDER BY id DESC",
            )?;
            let mut rows = statement.query(params![filter.since, filter.until, verdict])?;
            let mut lines = Vec::new();
            while let Some(row) = rows.next()? {
                let text = |column| row.get_ref(column).map(|value| value.as_str().ok());
                if contains(text(1)?, filter.part.as_deref())
                    && is(text(4)?, filter.taper.as_deref())
                    && is(text(5)?, filter.fixture.as_deref())
                {
                    lines.push(line(row)?);
                }
            }
            Ok(lines)
        })();
        listed.map_err(sqlite(&self.path, "list the sessions"))
    }

    /// Everything of a session that is stored. What is computed, cautioned and summed up over it is left empty.
    ///
    /// # Errors
    /// There is no such session, or the store cannot be read.
    pub fn session(&mut self, which: Which, program: &str) -> Result<Record, StoreError> {
        let found = (|| {
            // One transaction, so that all of it is of the same moment.
            let transaction = self.connection.transaction()?;
            record(&transaction, which, program, true)
        })();
        found
            .map_err(sqlite(&self.path, "read the session"))?
            .ok_or_else(|| StoreError::NoSession {
                asked: which.to_string(),
            })
    }

    /// Writes the record of a session piece by piece; the readings that no result needs are never held. `finish` fills in what is
    /// not stored, and `begun` is given the session's number before the first piece.
    ///
    /// # Errors
    /// As [`Reader::session`]; `out` does not take it.
    pub fn write_session(
        &mut self,
        which: Which,
        program: &str,
        finish: impl FnOnce(&mut Record),
        begun: impl FnOnce(i64),
        out: &mut impl Write,
    ) -> Result<(), StoreError> {
        let path = self.path.clone();
        let unread = || sqlite(&path, "read the session");
        let transaction = self.connection.transaction().map_err(unread())?;
        let found = record(&transaction, which, program, false).map_err(unread())?;
        let mut record = found.ok_or_else(|| StoreError::NoSession {
            asked: which.to_string(),
        })?;
        let keys = step_keys(&transaction, record.session.id).map_err(unread())?;
        for (step, key) in record.steps.iter_mut().zip(&keys) {
            let cables = decode::cables_of(&transaction, *key).map_err(unread())?;
            step.evidence.readings = cables
                .into_iter()
                .map(|(_, name)| (name, later()))
                .collect();
        }
        finish(&mut record);
        begun(record.session.id);
        let written = record.write_to(out, |step, cable, each| {
            decode::each_reading::<Unwritten>(&transaction, keys[step], cable, each)
        });
        written.map_err(|error| match error {
            Unwritten::Sqlite(error) => unread()(error),
            Unwritten::Out(error) => file(&path, "hand over the record from")(error),
        })
    }
}

/// Why a record was not written to its end.
pub(super) enum Unwritten {
    Sqlite(rusqlite::Error),
    Out(io::Error),
}

impl From<rusqlite::Error> for Unwritten {
    fn from(error: rusqlite::Error) -> Self {
        Self::Sqlite(error)
    }
}

impl From<io::Error> for Unwritten {
    fn from(error: io::Error) -> Self {
        Self::Out(error)
    }
}

/// The keys of a session's steps, in their order.
fn step_keys(c: &Connection, session: i64) -> rusqlite::Result<Vec<i64>> {
    c.prepare("SELECT id FROM step WHERE session = ?1 ORDER BY number")?
        .query_map([session], |row| row.get(0))?
        .collect()
}

/// Whether a name contains what is wanted, capitals or not. SQLite knows only the capitals of English.
fn contains(name: Option<&str>, wanted: Option<&str>) -> bool {
    wanted.is_none_or(|wanted| {
        let folded = |text: &str| text.trim().to_lowercase();
        name.is_some_and(|name| folded(name).contains(&folded(wanted)))
    })
}

/// Whether a name is what is wanted, capitals or not.
fn is(name: Option<&str>, wanted: Option<&str>) -> bool {
    wanted.is_none_or(|wanted| {
        let folded = |text: &str| text.trim().to_lowercase();
        name.is_some_and(|name| folded(name) == folded(wanted))
    })
}

fn line(row: &Row<'_>) -> rusqlite::Result<SessionLine> {
    Ok(SessionLine {
        session: row.get(0)?,
        name: row.get(1)?,
        opened_utc_ns: decode::time(row, 2)?,
        closed_utc_ns: decode::optional_time(row, 3)?,
        taper: row.get(4)?,
        fixture: row.get(5)?,
        steps: row.get(6)?,
        verdict: decode::optional_json(row, 7)?,
        kinds: decode::optional_json(row, 8)?.unwrap_or_default(),
    })
}

/// The record, with all its readings or with those that its results need.
fn record(
    c: &Connection,
    which: Which,
    program: &str,
    whole: bool,
) -> rusqlite::Result<Option<Record>> {
    let (condition, number) = match which {
        Which::Number(number) => ("id = ?1", number),
        Which::Current => ("closed_utc_ns IS NULL AND ?1 = 0", 0),
        Which::Latest => ("?1 = 0", 0),
    };
    let query = format!(
        "SELECT id, name, opened_utc_ns, closed_utc_ns, setup, cables FROM session
         WHERE {condition} ORDER BY id DESC LIMIT 1"
    );
    let found = c
        .query_row(&query, [number], |row| {
            Ok(Record {
                format: FORMAT.to_owned(),
                version: VERSION,
                program: program.to_owned(),
                session: SessionInfo {
                    id: row.get(0)?,
                    name: row.get(1)?,
                    opened_utc_ns: decode::time(row, 2)?,
                    closed_utc_ns: decode::optional_time(row, 3)?,
                },
                setup: decode::json::<Setup>(row, 4)?,
                cables: decode::json(row, 5)?,
                steps: Vec::new(),
                events: Vec::new(),
                cautions: Vec::new(),
                digest: String::new(),
                signature: None,
            })
        })
        .optional()?;
    let Some(mut record) = found else {
        return Ok(None);
    };
    record.steps = steps(c, record.session.id, &record.setup, whole)?;
    record.events = decode::events(c, record.session.id)?;
    Ok(Some(record))
}

fn steps(
    c: &Connection,
    session: i64,
    setup: &Setup,
    whole: bool,
) -> rusqlite::Result<Vec<StepRecord>> {
    let mut statement = c.prepare(
        "SELECT id, number, plan, opened_t_ns, closed_t_ns, ground FROM step
         WHERE session = ?1 ORDER BY number",
    )?;
    let mut rows = statement.query([session])?;
    let mut steps = Vec::new();
    while let Some(row) = rows.next()? {
        let id = row.get(0)?;
        let plan: Plan = decode::json(row, 2)?;
        let marks = decode::marks(c, id)?;
        let evidence = Evidence {
            ground_before: decode::optional_json(row, 5)?.unwrap_or_default(),
            // Of a step that records any reading may count.
            readings: if whole || plan.records() {
                decode::readings(c, id)?
            } else {
                decode::readings_of_marks(c, id, &marks)?
            },
            marks,
        };
        steps.push(StepRecord::computed(
            row.get(1)?,
            plan,
            (decode::time(row, 3)?, decode::optional_time(row, 4)?),
            setup,
            evidence,
        ));
    }
    Ok(steps)
}
