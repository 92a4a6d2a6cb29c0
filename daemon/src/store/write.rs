//! One transaction of the store.

use super::chain;
use super::error::{StoreError, sqlite};
use super::file::{Store, identity};
use super::gate::{Call, ask};
use super::rows::{ReadingRow, Row, Write};
use rusqlite::{Connection, OptionalExtension, params};
use serde::Serialize;
use std::collections::HashMap;
use std::sync::Arc;

impl Store {
    /// Writes all of it, and returns when it is on the disk.
    ///
    /// # Errors
    /// Nothing was written; or that is not certain, and then the error says so.
    pub fn write(&mut self, write: &Write) -> Result<(), StoreError> {
        self.still_there()?;
        let (reached, done) = self.transact(write);
        if let Err(error) = done {
            // The keys of cables that this transaction made are gone with it.
            self.cables.clear();
            let error = sqlite(&self.path, "write to the store")(error);
            return Err(match reached {
                Reached::Rows => error,
                Reached::Commit => self.taken_back(error),
            });
        }
        // The file may have been removed during the commit: then it is no longer the one in the data directory.
        self.still_there()
            .map_err(|error| StoreError::Unsure(Box::new(error)))
    }

    /// Makes sure that a transaction whose commit failed does not come back.
    ///
    /// The commit may have been written whole, and only bringing it to the disk have failed: a daemon that is started
    /// over that log would find it. Whatever is written next lies over it in the log, so something is written at once.
    pub(super) fn taken_back(&mut self, refused: StoreError) -> StoreError {
        let version = self.version;
        let over = self.connection.pragma_update(None, "user_version", version);
        match over {
            Ok(()) => refused,
            Err(error) => {
                tracing::error!(%error, "a rejected transaction could not be overwritten");
                StoreError::Unsure(Box::new(refused))
            }
        }
    }

    /// Checks that the file is still the one in the data directory, before and after every commit: SQLite goes on writing into a
    /// file that was deleted, and a restart would not find it.
    ///
    /// # Errors
    /// It was removed, or another lies in its place.
    fn still_there(&self) -> Result<(), StoreError> {
        match identity(&self.path) {
            Ok(found) if found == self.identity => Ok(()),
            _ => Err(StoreError::Removed {
                path: self.path.clone(),
            }),
        }
    }

    fn transact(&mut self, write: &Write) -> (Reached, Result<(), rusqlite::Error>) {
        let mut reached = Reached::Rows;
        let done = self.make(write, &mut reached);
        (reached, done)
    }

    fn make(&mut self, write: &Write, reached: &mut Reached) -> Result<(), rusqlite::Error> {
        ask(&mut self.gate, Call::Begin)?;
        // Dropped without a commit it rolls back.
        let transaction = self.connection.transaction()?;
        let begun = self.unbegun.as_ref().map(|run| run.write(&transaction));
        let begun = begun.transpose()?;
        for row in &write.readings {
            ask(&mut self.gate, Call::Write)?;
            let cable = cable_key(&transaction, &mut self.cables, &row.cable)?;
            reading(&transaction, row, cable)?;
        }
        for row in &write.rows {
            ask(&mut self.gate, Call::Write)?;
            change(&transaction, row)?;
            match row {
                Row::Mark { step, mark } => chain::add(&transaction, *step, mark.number, false)?,
                Row::TakenBack { step, number } => chain::add(&transaction, *step, *number, true)?,
                _ => {}
            }
        }
        ask(&mut self.gate, Call::Commit)?;
        *reached = Reached::Commit;
        transaction.commit()?;
        if begun.is_some() {
            self.run = begun;
            self.unbegun = None;
        }
        Ok(())
    }
}

/// How far a transaction came.
#[derive(Clone, Copy)]
enum Reached {
    /// Rows were written, none of which counts without a commit.
    Rows,
    /// The commit was begun.
    Commit,
}

fn cable_key(
    connection: &Connection,
    known: &mut HashMap<Arc<str>, i64>,
    name: &Arc<str>,
) -> Result<i64, rusqlite::Error> {
    if let Some(key) = known.get(name) {
        return Ok(*key);
    }
    let found = connection
        .query_row("SELECT id FROM cable WHERE name = ?1", [&**name], |row| {
            row.get(0)
        })
        .optional()?;
    let key = match found {
        Some(key) => key,
        None => {
            connection.execute("INSERT INTO cable (name) VALUES (?1)", [&**name])?;
            connection.last_insert_rowid()
        }
    };
    known.insert(Arc::clone(name), key);
    Ok(key)
}

/// Writes a reading. A mark is written with the readings that it uses, some of which may be stored already. A stored reading is
/// never replaced: if it differed, the null would make the whole transaction fail.
fn reading(connection: &Connection, row: &ReadingRow, cable: i64) -> Result<(), rusqlite::Error> {
    let r = &row.reading;
    connection
        .prepare_cached(
            "INSERT INTO reading VALUES (?1, ?2, ?3, ?4, ?5, ?6)
             ON CONFLICT DO UPDATE SET t_ns = iif(
                 t_ns = excluded.t_ns AND value_pm = excluded.value_pm, t_ns, NULL)",
        )?
        .execute(params![
            row.step,
            cable,
            r.seq.cast_signed(),
            r.t.0,
            r.value.pm(),
            r.resolution.pm()
        ])?;
    Ok(())
}

/// Writes a row.
#[expect(
    clippy::too_many_lines,
    reason = "a statement for each kind of row; the compiler names one that is missing"
)]
fn change(connection: &Connection, row: &Row) -> Result<(), rusqlite::Error> {
    let changed = match row {
        Row::Session(s) => connection.execute(
            "INSERT INTO session (id, name, opened_t_ns, opened_utc_ns, setup, cables, taper, fixture)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![
                s.id,
                s.name,
                s.opened.0,
                s.opened_utc.0,
                json(&s.setup)?,
                json(&s.cables)?,
                s.setup.taper.as_ref().map(|t| &t.name),
                s.setup.fixture.as_ref().map(|f| &f.name),
            ],
        ),
        Row::SessionClosed { id, closed_utc } => connection.execute(
            "UPDATE session SET closed_utc_ns = ?2 WHERE id = ?1",
            params![id, closed_utc.0],
        ),
        Row::Verdict { session, verdict } => connection.execute(
            "UPDATE session SET verdict = ?2 WHERE id = ?1",
            params![session, verdict.as_ref().map(json).transpose()?],
        ),
        Row::Cables { session, cables } => connection.execute(
            "UPDATE session SET cables = ?2 WHERE id = ?1",
            params![session, json(cables)?],
        ),
        Row::Found { session, found } => connection.execute(
            "UPDATE session SET found = ?2 WHERE id = ?1",
            params![session, json(found)?],
        ),
        Row::Checked { cable, step, check } => connection.execute(
            "INSERT OR REPLACE INTO checked VALUES (?1, ?2, ?3)",
            params![cable, step, json(check)?],
        ),
        Row::Clamp {
            session,
            clamped,
            setting,
        } => connection.execute(
            "UPDATE session SET clamped = ?2, setting = ?3 WHERE id = ?1",
            params![session, clamped, setting],
        ),
        Row::Ground { step, before } => connection.execute(
            "UPDATE step SET ground = ?2 WHERE id = ?1",
            params![step, json(before)?],
        ),
        Row::Step(s) => connection.execute(
            "INSERT INTO step (id, session, number, kind, opened_t_ns, plan)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![
                s.id,
                s.session,
                s.number,
                json(&s.plan.kind())?,
                s.opened.0,
                json(&s.plan)?
            ],
        ),
        Row::StepClosed { id, closed } => connection.execute(
            "UPDATE step SET closed_t_ns = ?2 WHERE id = ?1",
            params![id, closed.0],
        ),
        Row::Mark { step, mark } => connection.execute(
            "INSERT INTO mark VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            params![
                step,
                mark.number,
                mark.t.0,
                json(&mark.place)?,
                mark.round,
                mark.clamped,
                mark.setting,
                json(&mark.source)?,
                mark.taken_back,
            ],
        ),
        Row::TakenBack { step, number } => connection.execute(
            "UPDATE mark SET taken_back = 1 WHERE step = ?1 AND number = ?2",
            params![step, number],
        ),
        Row::Event { session, event } => connection.execute(
            "INSERT INTO event (session, t_ns, utc_ns, what, text) VALUES (?1, ?2, ?3, ?4, ?5)",
            params![
                session,
                event.t.0,
                event.utc_ns.0,
                json(&event.what)?,
                event.text
            ],
        ),
        Row::Learned {
            fixture,
            step,
            what: Some(what),
        } => connection.execute(
            "INSERT OR REPLACE INTO learned VALUES (?1, ?2, ?3)",
            params![fixture, step, json(what)?],
        ),
        Row::Learned {
            fixture,
            step,
            what: None,
        } => {
            // There may be nothing to take away.
            return connection
                .execute(
                    "DELETE FROM learned WHERE fixture = ?1 AND step = ?2",
                    params![fixture, step],
                )
                .map(drop);
        }
    }?;
    // A change that matches no row would be lost without an error.
    if changed == 1 {
        Ok(())
    } else {
        Err(rusqlite::Error::StatementChangedRows(changed))
    }
}

fn json<T: Serialize>(value: &T) -> Result<String, rusqlite::Error> {
    serde_json::to_string(value)
        .map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))
}
