//! The chain over the marks of a session: each mark, and each taking back, carries the hash of the one before it.
//!
//! So a mark that was lost or changed after it was acknowledged is seen in the store itself. A link is written in the
//! transaction of its mark. It covers the mark's columns as they are stored and, of a settled mark, the readings that it uses.
//! Marks of older programs have no link; they are accepted before the first link of their session.
//!
//! Who may write the file can make a new chain: it shows damage and mistakes, and is no signature.

use rusqlite::types::ValueRef;
use rusqlite::{Connection, OptionalExtension, params};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;

/// Adds the link of a mark that was just written, or of one that was just taken back.
pub(super) fn add(c: &Connection, step: i64, mark: u32, taken_back: bool) -> rusqlite::Result<()> {
    let session: i64 = c
        .prepare_cached("SELECT session FROM step WHERE id = ?1")?
        .query_row([step], |row| row.get(0))?;
    let last: Option<(i64, Vec<u8>)> = c
        .prepare_cached(
            "SELECT link, hash FROM chain WHERE session = ?1 ORDER BY link DESC LIMIT 1",
        )?
        .query_row([session], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let (link, before) = last.unwrap_or_default();
    // Only a mark that is not there has none, and such a change is refused before.
    let hash =
        hash(c, &before, step, mark, taken_back)?.ok_or(rusqlite::Error::QueryReturnedNoRows)?;
    c.prepare_cached("INSERT INTO chain VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?
        .execute(params![session, link + 1, step, mark, taken_back, hash])?;
    c.prepare_cached("UPDATE session SET links = ?2 WHERE id = ?1")?
        .execute(params![session, link + 1])?;
    Ok(())
}

/// The hash of a link; none when its mark is not there.
fn hash(
    c: &Connection,
    before: &[u8],
    step: i64,
    mark: u32,
    taken_back: bool,
) -> rusqlite::Result<Option<Vec<u8>>> {
    let mut hash = Sha256::new();
    hash.update(before);
    let mut statement = c.prepare_cached(
        "SELECT s.number, m.number, m.t_ns, m.place, m.round, m.clamped, m.setting, m.source
         FROM mark AS m JOIN step AS s ON s.id = m.step WHERE m.step = ?1 AND m.number = ?2",
    )?;
    let mut rows = statement.query(params![step, mark])?;
    let Some(row) = rows.next()? else {
        return Ok(None);
    };
    // A taking back says which mark; the mark's own link says the rest.
    let columns = if taken_back { 2 } else { 8 };
    hash.update([u8::from(taken_back)]);
    for column in 0..columns {
        match row.get_ref(column)? {
            ValueRef::Integer(number) => hash.update(number.to_le_bytes()),
            ValueRef::Text(text) => {
                hash.update((text.len() as u64).to_le_bytes());
                hash.update(text);
            }
            other => hash.update(format!("{other:?}")),
        }
    }
    if !taken_back {
        readings(c, &mut hash, step, row.get_ref(7)?.as_str()?)?;
    }
    Ok(Some(hash.finalize().to_vec()))
}

/// Takes in the readings of a settled mark. SQLite reads its source, so that the program's own reading of it may change.
fn readings(c: &Connection, hash: &mut Sha256, step: i64, source: &str) -> rusqlite::Result<()> {
    let mut statement = c.prepare_cached(
        "SELECT r.seq, r.t_ns, r.value_pm, r.resolution_pm
         FROM reading AS r JOIN cable ON cable.id = r.cable
         WHERE r.step = ?1 AND cable.name = ?2 ->> '$.cable'
           AND r.seq BETWEEN ?2 ->> '$.first_seq' AND ?2 ->> '$.last_seq' ORDER BY r.seq",
    )?;
    let mut rows = statement.query(params![step, source])?;
    while let Some(row) = rows.next()? {
        for column in 0..4 {
            hash.update(row.get::<_, i64>(column)?.to_le_bytes());
        }
    }
    Ok(())
}

/// Everything that the chains and their marks do not agree in.
pub(super) fn faults(c: &Connection, mut fault: impl FnMut(String)) -> rusqlite::Result<()> {
    let mut statement = c.prepare("SELECT id, links FROM session ORDER BY id")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (session, links) = (row.get(0)?, row.get(1)?);
        of_session(c, session, links, &mut fault)?;
    }
    Ok(())
}

fn of_session(
    c: &Connection,
    session: i64,
    links: i64,
    fault: &mut impl FnMut(String),
) -> rusqlite::Result<()> {
    let mut statement = c.prepare_cached(
        "SELECT c.link, c.step, c.mark, c.taken_back, c.hash, s.number
         FROM chain AS c LEFT JOIN step AS s ON s.id = c.step WHERE c.session = ?1 ORDER BY c.link",
    )?;
    let mut rows = statement.query([session])?;
    let (mut before, mut expected) = (Vec::new(), 1);
    let (mut chained, mut back) = (BTreeSet::new(), BTreeSet::new());
    while let Some(row) = rows.next()? {
        let (link, step, mark): (i64, i64, u32) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let (taken_back, stored): (bool, Vec<u8>) = (row.get(3)?, row.get(4)?);
        let number: Option<i64> = row.get(5)?;
        let place = format!(
            "mark {mark} of step {} of session {session}",
            number.map_or_else(|| "?".to_owned(), |number| number.to_string())
        );
        if link != expected {
            fault(format!(
                "{} before {place} are missing in the chain",
                metrology::Counted(link - expected, "change")
            ));
        } else {
            match hash(c, &before, step, mark, taken_back)? {
                None => fault(format!("{place} was acknowledged and is missing")),
                Some(now) if now != stored && taken_back => {
                    fault(format!("the taking back of {place} was changed"));
                }
                Some(now) if now != stored => {
                    fault(format!("{place} was changed after it was acknowledged"));
                }
                Some(_) => {}
            }
        }
        if taken_back {
            back.insert((step, mark));
        } else {
            chained.insert((step, mark));
        }
        expected = link + 1;
        before = stored;
    }
    if expected <= links {
        fault(format!(
            "the last {} of the marks of session {session} are missing",
            metrology::Counted(links - expected + 1, "change")
        ));
    }
    marks(c, session, &chained, &back, fault)
}

/// That every mark since the first link is in the chain, and taken back just where the chain says so.
fn marks(
    c: &Connection,
    session: i64,
    chained: &BTreeSet<(i64, u32)>,
    back: &BTreeSet<(i64, u32)>,
    fault: &mut impl FnMut(String),
) -> rusqlite::Result<()> {
    let mut statement = c.prepare_cached(
        "SELECT m.step, m.number, m.taken_back, s.number FROM mark AS m
         JOIN step AS s ON s.id = m.step WHERE s.session = ?1 ORDER BY s.number, m.number",
    )?;
    let mut rows = statement.query([session])?;
    let mut begun = false;
    while let Some(row) = rows.next()? {
        let key: (i64, u32) = (row.get(0)?, row.get(1)?);
        let (is_back, step): (bool, i64) = (row.get(2)?, row.get(3)?);
        let place = format!("mark {} of step {step} of session {session}", key.1);
        begun |= chained.contains(&key);
        if begun && !chained.contains(&key) {
            fault(format!("{place} is not in the chain"));
        } else if begun && is_back && !back.contains(&key) {
            fault(format!("{place} is taken back, and nobody took it back"));
        } else if !is_back && back.contains(&key) {
            fault(format!("{place} was taken back, and counts"));
        }
    }
    Ok(())
}
