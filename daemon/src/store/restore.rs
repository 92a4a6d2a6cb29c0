//! What the daemon finds in the store when it starts, and the anchor that it sets for its own run.

use super::damage::{self, Lost};
use super::decode;
use super::error::{StoreError, sqlite};
use super::file::Store;
use super::gate::{Call, ask};
use super::rows::{Found, Learned};
use super::runs::{Anchor, Run};
use metrology::dial::IndicatorCheck;
use metrology::setup::Setup;
use protocol::evidence::stretch;
use protocol::evidence::{Evidence, Readings, Time};
use protocol::plan::Plan;
use protocol::record::{CableSettings, SessionInfo};
use rusqlite::{Connection, OptionalExtension, params};
use std::collections::BTreeMap;

/// Shifts of older steps of a fixture say little about how it is now.
const STEPS_REMEMBERED: usize = 50;

/// Readings of a step that records that are held in memory, of all its cables: 32 MiB. The others are in the store alone.
pub const MOST_HELD: usize = 1_000_000;

/// What the daemon goes on from.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Restored {
    /// The latest moment that anything in the store happened.
    pub last: Option<Time>,
    /// The run before this one.
    pub run: Option<LastRun>,
    /// The first key that no session has.
    pub next_session: i64,
    /// The first key that no step has.
    pub next_step: i64,
    /// What the steps taught about their fixtures: by fixture, then by the step's key.
    pub learned: BTreeMap<String, BTreeMap<i64, Learned>>,
    /// The last check of each indicator, by its cable's name.
    pub checked: BTreeMap<String, IndicatorCheck>,
    /// The session that was open.
    pub open: Option<OpenSession>,
    /// What a damaged log has lost, and the user has not settled.
    pub lost: Vec<Lost>,
}

/// The run before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastRun {
    /// Which start of the computer it was.
    pub boot_id: String,
    /// Its timeline minus the steady clock.
    pub offset_ns: i64,
    /// When it ended; absent when it was killed.
    pub ended: Option<Time>,
}

/// A session that was open.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenSession {
    /// Which.
    pub info: SessionInfo,
    /// Its set-up.
    pub setup: Setup,
    /// Its cables as configured then.
    pub cables: Vec<CableSettings>,
    /// Whether the clamp was tight.
    pub clamped: bool,
    /// How often clamp or part were changed.
    pub setting: u32,
    /// What its closed steps found.
    pub found: Found,
    /// How many steps it has.
    pub steps: u32,
    /// The step that was open.
    pub step: Option<OpenStep>,
}

/// A step that was open.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenStep {
    /// Its key.
    pub id: i64,
    /// Its number within the session.
    pub number: u32,
    /// What it is for.
    pub plan: Plan,
    /// When it was opened.
    pub opened: Time,
    /// Its marks, and the readings that they use; in a step that records, those from its first beginning on.
    pub evidence: Evidence,
    /// The last count of each cable's readings.
    pub last_seq: BTreeMap<String, u64>,
}

impl Store {
    /// Reads what the daemon goes on from.
    ///
    /// # Errors
    /// The file cannot be read, or holds what this program does not understand.
    pub fn restore(&mut self) -> Result<Restored, StoreError> {
        self.look_back().or_else(|error| {
            if !error.may_pass() {
                return Err(error);
            }
            // A disk that fails once is no reason not to start.
            tracing::warn!(%error, "the store is read once more");
            self.look_back()
        })
    }

    fn look_back(&mut self) -> Result<Restored, StoreError> {
        let found = (|| {
            ask(&mut self.gate, Call::Read)?;
            let c = &self.connection;
            // The numbers of deleted sessions stay theirs: an archive has them.
            let next = |table: &str, deleted: &str| {
                let query = format!(
                    "SELECT max((SELECT coalesce(max(id), 0) FROM {table}),
                                (SELECT coalesce(max({deleted}), 0) FROM deleted)) + 1"
                );
                c.query_row(&query, [], |row| row.get(0))
            };
            Ok(Restored {
                last: last_moment(c)?,
                run: last_run(c)?,
                next_session: next("session", "session")?,
                next_step: next("step", "last_step")?,
                learned: learned(c)?,
                checked: checked(c)?,
                open: open_session(c)?,
                lost: damage::unsettled(c, &self.path)?,
            })
        })();
        found.map_err(sqlite(&self.path, "read the store"))
    }

    /// Begins a run of the daemon.
    ///
    /// # Errors
    /// The disk refuses.
    pub fn begin_run(&mut self, program: &str, anchor: &Anchor) -> Result<(), StoreError> {
        let run = Run {
            program: program.to_owned(),
            anchor: anchor.clone(),
        };
        let done = ask(&mut self.gate, Call::Write).and_then(|()| run.write(&self.connection));
        match done {
            Ok(key) => self.run = Some(key),
            Err(error) => {
                self.unbegun = Some(run);
                return Err(sqlite(&self.path, "write to the store")(error));
            }
        }
        Ok(())
    }

    /// Ends it, so that the next one knows that it was not killed.
    ///
    /// # Errors
    /// The disk refuses.
    pub fn end_run(&mut self, at: Time) -> Result<(), StoreError> {
        let done = (|| {
            ask(&mut self.gate, Call::Write)?;
            if let Some(run) = &self.unbegun {
                self.run = Some(run.write(&self.connection)?);
                self.unbegun = None;
            }
            self.connection.execute(
                "UPDATE run SET ended_t_ns = ?2 WHERE id = ?1",
                params![self.run, at.0],
            )
        })();
        done.map(drop)
            .map_err(sqlite(&self.path, "write to the store"))
    }
}

/// Only the last step can hold the last reading.
fn last_moment(c: &Connection) -> rusqlite::Result<Option<Time>> {
    let mut last: Option<i64> = c.query_row(
        "SELECT max(t) FROM (
            SELECT max(max(t_ns), max(coalesce(ended_t_ns, t_ns))) AS t FROM run
            UNION ALL SELECT max(opened_t_ns) FROM session
            UNION ALL SELECT max(max(opened_t_ns), max(coalesce(closed_t_ns, opened_t_ns))) FROM step
            UNION ALL SELECT max(t_ns) FROM event
            UNION ALL SELECT max(last_t_ns) FROM deleted
            UNION ALL SELECT max(t_ns) FROM mark)",
        [],
        |row| row.get(0),
    )?;
    let step: Option<i64> = c.query_row("SELECT max(id) FROM step", [], |row| row.get(0))?;
    if let Some(step) = step {
        for (cable, _) in decode::cables(c)? {
            let t = decode::last_reading(c, step, cable)?.map(|reading| reading.t.0);
            last = last.max(t);
        }
    }
    Ok(last.map(Time))
}

fn last_run(c: &Connection) -> rusqlite::Result<Option<LastRun>> {
    c.query_row(
        "SELECT boot_id, t_ns - steady_ns, ended_t_ns FROM run ORDER BY id DESC LIMIT 1",
        [],
        |row| {
            Ok(LastRun {
                boot_id: row.get(0)?,
                offset_ns: row.get(1)?,
                ended: decode::optional_time(row, 2)?,
            })
        },
    )
    .optional()
}

fn learned(c: &Connection) -> rusqlite::Result<BTreeMap<String, BTreeMap<i64, Learned>>> {
    let mut all: BTreeMap<String, BTreeMap<i64, Learned>> = BTreeMap::new();
    let mut statement =
        c.prepare("SELECT fixture, step, what FROM learned ORDER BY fixture, step DESC")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let of_fixture = all.entry(row.get(0)?).or_default();
        if of_fixture.len() < STEPS_REMEMBERED {
            of_fixture.insert(row.get(1)?, decode::json(row, 2)?);
        }
    }
    Ok(all)
}

fn checked(c: &Connection) -> rusqlite::Result<BTreeMap<String, IndicatorCheck>> {
    let mut statement = c.prepare(
        "SELECT cable, what FROM checked AS one
         WHERE step = (SELECT max(step) FROM checked WHERE cable = one.cable)",
    )?;
    statement
        .query_map([], |row| Ok((row.get(0)?, decode::json(row, 1)?)))?
        .collect()
}

fn open_session(c: &Connection) -> rusqlite::Result<Option<OpenSession>> {
    let found = c
        .query_row(
            "SELECT id, name, opened_utc_ns, setup, cables, clamped, setting,
                    (SELECT count(*) FROM step WHERE session = session.id), found
             FROM session WHERE closed_utc_ns IS NULL ORDER BY id DESC LIMIT 1",
            [],
            |row| {
                Ok(OpenSession {
                    info: SessionInfo {
                        id: row.get(0)?,
                        name: row.get(1)?,
                        opened_utc_ns: decode::time(row, 2)?,
                        closed_utc_ns: None,
                    },
                    setup: decode::json(row, 3)?,
                    cables: decode::json(row, 4)?,
                    clamped: row.get(5)?,
                    setting: row.get(6)?,
                    steps: row.get(7)?,
                    found: decode::optional_json(row, 8)?.unwrap_or_default(),
                    step: None,
                })
            },
        )
        .optional()?;
    let Some(mut session) = found else {
        return Ok(None);
    };
    session.step = open_step(c, session.info.id, &session.setup)?;
    Ok(Some(session))
}

fn open_step(c: &Connection, session: i64, setup: &Setup) -> rusqlite::Result<Option<OpenStep>> {
    let found = c
        .query_row(
            "SELECT id, number, plan, opened_t_ns, ground FROM step
             WHERE session = ?1 AND closed_t_ns IS NULL ORDER BY number DESC LIMIT 1",
            [session],
            |row| {
                Ok(OpenStep {
                    id: row.get(0)?,
                    number: row.get(1)?,
                    plan: decode::json(row, 2)?,
                    opened: decode::time(row, 3)?,
                    evidence: Evidence {
                        ground_before: decode::optional_json(row, 4)?.unwrap_or_default(),
                        ..Evidence::default()
                    },
                    last_seq: BTreeMap::new(),
                })
            },
        )
        .optional()?;
    let Some(mut step) = found else {
        return Ok(None);
    };
    let marks = decode::marks(c, step.id)?;
    let readings = if step.plan.records() {
        let cables = step.plan.recorded_cables(setup);
        match stretch::of(&marks).first() {
            Some(first) => {
                // One more shows that there are more.
                let most = MOST_HELD / cables.len().max(1) + 1;
                decode::readings_since(c, step.id, &cables, first.from, most)?
            }
            None => Readings::new(),
        }
    } else {
        decode::readings_of_marks(c, step.id, &marks)?
    };
    step.evidence.readings = readings;
    step.evidence.marks = marks;
    for (cable, name) in decode::cables(c)? {
        if let Some(reading) = decode::last_reading(c, step.id, cable)? {
            step.last_seq.insert(name, reading.seq);
        }
    }
    Ok(Some(step))
}
