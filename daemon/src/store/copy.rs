//! Sessions from one store into another, with everything that belongs to them, and out of a store.

use rusqlite::{Connection, OptionalExtension, params};
use std::path::Path;

/// Attaches another store as `source`, which is only read.
pub(super) fn attach(c: &Connection, source: &Path) -> rusqlite::Result<()> {
    let name = source.to_string_lossy();
    let name = name
        .replace('%', "%25")
        .replace('?', "%3f")
        .replace('#', "%23");
    c.execute("ATTACH ?1 AS source", [format!("file:{name}?mode=ro")])?;
    Ok(())
}

/// Lets it go.
pub(super) fn detach(c: &Connection) -> rusqlite::Result<()> {
    c.execute("DETACH source", []).map(drop)
}

/// Copies a session of `source` into the store under this number. Its steps keep their keys where these are free.
pub(super) fn session(c: &Connection, from: i64, to: i64) -> rusqlite::Result<()> {
    c.execute(
        "INSERT INTO session (id, name, opened_t_ns, opened_utc_ns, closed_utc_ns, setup, cables, taper, fixture,
                              clamped, setting, verdict, found, links)
         SELECT ?2, name, opened_t_ns, opened_utc_ns, closed_utc_ns, setup, cables, taper, fixture,
                clamped, setting, verdict, found, links FROM source.session WHERE id = ?1",
        params![from, to],
    )?;
    c.execute("DELETE FROM deleted WHERE session = ?1", [to])?;
    let mut statement =
        c.prepare("SELECT id FROM source.step WHERE session = ?1 ORDER BY number")?;
    let steps: Vec<i64> = statement
        .query_map([from], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    for old in steps {
        step(c, old, to)?;
    }
    c.execute(
        "INSERT INTO chain
         SELECT ?2, one.link, (SELECT s.id FROM main.step AS s WHERE s.session = ?2 AND s.number = old.number),
                one.mark, one.taken_back, one.hash
         FROM source.chain AS one JOIN source.step AS old ON old.id = one.step WHERE one.session = ?1",
        params![from, to],
    )?;
    c.execute(
        "INSERT INTO event (session, t_ns, utc_ns, what, text)
         SELECT ?2, t_ns, utc_ns, what, text FROM source.event WHERE session = ?1 ORDER BY id",
        params![from, to],
    )?;
    Ok(())
}

fn step(c: &Connection, old: i64, session: i64) -> rusqlite::Result<()> {
    let new: i64 = c.query_row(
        "SELECT iif(EXISTS (SELECT 1 FROM main.step WHERE id = ?1),
                    max((SELECT max(id) FROM main.step),
                        (SELECT coalesce(max(last_step), 0) FROM main.deleted)) + 1, ?1)",
        [old],
        |row| row.get(0),
    )?;
    c.execute(
        "INSERT INTO step (id, session, number, kind, opened_t_ns, closed_t_ns, plan, ground)
         SELECT ?2, ?3, number, kind, opened_t_ns, closed_t_ns, plan, ground FROM source.step WHERE id = ?1",
        params![old, new, session],
    )?;
    c.execute(
        "INSERT INTO mark SELECT ?2, number, t_ns, place, round, clamped, setting, source, taken_back
         FROM source.mark WHERE step = ?1",
        params![old, new],
    )?;
    c.execute(
        "INSERT OR IGNORE INTO cable (name)
         SELECT name FROM source.cable AS one
         WHERE EXISTS (SELECT 1 FROM source.reading WHERE step = ?1 AND cable = one.id)",
        [old],
    )?;
    c.execute(
        "INSERT INTO reading
         SELECT ?2, here.id, r.seq, r.t_ns, r.value_pm, r.resolution_pm
         FROM source.reading AS r JOIN source.cable AS there ON there.id = r.cable
         JOIN main.cable AS here ON here.name = there.name WHERE r.step = ?1",
        params![old, new],
    )?;
    for table in [
        "learned (fixture, step, what)",
        "checked (cable, step, what)",
    ] {
        let (name, columns) = table.split_once(' ').unwrap_or((table, ""));
        let key = columns
            .trim_matches(['(', ')'])
            .split(", ")
            .next()
            .unwrap_or_default();
        c.execute(
            &format!(
                "INSERT INTO {name} {columns} SELECT {key}, ?2, what FROM source.{name} WHERE step = ?1"
            ),
            params![old, new],
        )?;
    }
    Ok(())
}

/// Removes a session and everything that belongs to it. Its number is not given again.
pub(super) fn remove(c: &Connection, session: i64) -> rusqlite::Result<()> {
    let of_steps = "step IN (SELECT id FROM step WHERE session = ?1)";
    c.execute(
        "INSERT OR REPLACE INTO deleted
         SELECT id, coalesce((SELECT max(id) FROM step WHERE session = ?1), 0),
                max(opened_t_ns,
                    coalesce((SELECT max(max(opened_t_ns), max(coalesce(closed_t_ns, 0))) FROM step WHERE session = ?1), 0),
                    coalesce((SELECT max(t_ns) FROM event WHERE session = ?1), 0))
         FROM session WHERE id = ?1",
        [session],
    )?;
    c.execute("DELETE FROM chain WHERE session = ?1", [session])?;
    for table in ["mark", "reading", "learned", "checked"] {
        c.execute(&format!("DELETE FROM {table} WHERE {of_steps}"), [session])?;
    }
    c.execute("DELETE FROM event WHERE session = ?1", [session])?;
    c.execute("DELETE FROM step WHERE session = ?1", [session])?;
    c.execute("DELETE FROM session WHERE id = ?1", [session])?;
    Ok(())
}

/// A session as a list of what is kept, deleted or brought back names it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SessionCounts {
    /// Its number.
    pub session: i64,
    /// Its name.
    pub name: String,
    /// Whether it is open.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub open: bool,
    /// Marks, those that were taken back among them.
    pub marks: u64,
    /// Readings.
    pub readings: u64,
}

/// What a session has, in the store (`main`) or in `source`; none when there is none.
pub(super) fn counts(
    c: &Connection,
    schema: &str,
    session: i64,
) -> rusqlite::Result<Option<SessionCounts>> {
    let of_steps = format!("step IN (SELECT id FROM {schema}.step WHERE session = ?1)");
    c.query_row(
        &format!(
            "SELECT id, name, closed_utc_ns IS NULL,
                    (SELECT count(*) FROM {schema}.mark WHERE {of_steps}),
                    (SELECT count(*) FROM {schema}.reading WHERE {of_steps})
             FROM {schema}.session WHERE id = ?1"
        ),
        [session],
        |row| {
            Ok(SessionCounts {
                session: row.get(0)?,
                name: row.get(1)?,
                open: row.get(2)?,
                marks: row.get::<_, i64>(3)?.cast_unsigned(),
                readings: row.get::<_, i64>(4)?.cast_unsigned(),
            })
        },
    )
    .optional()
}
