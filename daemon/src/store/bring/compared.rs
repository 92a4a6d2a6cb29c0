//! A session of the store beside the same one in another file.

use crate::store::decode;
use protocol::plan::Plan;
use rusqlite::Connection;

/// Whether a number is that of the same session in both.
pub(super) fn is_same(c: &Connection, id: i64) -> rusqlite::Result<bool> {
    c.query_row(
        "SELECT EXISTS (SELECT 1 FROM main.session AS a JOIN source.session AS b USING (id)
         WHERE id = ?1 AND a.opened_t_ns = b.opened_t_ns AND a.opened_utc_ns = b.opened_utc_ns)",
        [id],
        |row| row.get(0),
    )
}

/// Whether `a` has any step, mark or reading of a session that `b` has not, or knows more of one.
pub(super) fn has_more(c: &Connection, a: &str, b: &str, id: i64) -> rusqlite::Result<bool> {
    c.query_row(
        &format!(
            "SELECT EXISTS (
                SELECT number, closed_t_ns IS NOT NULL FROM {a}.step WHERE session = ?1
                EXCEPT SELECT number, s.on_off FROM (SELECT number, 0 AS on_off FROM {b}.step WHERE session = ?1
                    UNION SELECT number, 1 FROM {b}.step WHERE session = ?1 AND closed_t_ns IS NOT NULL) AS s)
             OR EXISTS (
                SELECT s.number, m.number, m.t_ns, m.source, m.place FROM {a}.mark AS m
                JOIN {a}.step AS s ON s.id = m.step WHERE s.session = ?1
                EXCEPT SELECT s.number, m.number, m.t_ns, m.source, m.place FROM {b}.mark AS m
                JOIN {b}.step AS s ON s.id = m.step WHERE s.session = ?1)
             OR (SELECT links FROM {a}.session WHERE id = ?1) > (SELECT links FROM {b}.session WHERE id = ?1)
             OR (SELECT closed_utc_ns FROM {a}.session WHERE id = ?1) IS NOT NULL
                AND (SELECT closed_utc_ns FROM {b}.session WHERE id = ?1) IS NULL
             OR EXISTS (
                SELECT s.number, r.seq, r.t_ns FROM {a}.reading AS r
                JOIN {a}.step AS s ON s.id = r.step WHERE s.session = ?1
                EXCEPT SELECT s.number, r.seq, r.t_ns FROM {b}.reading AS r
                JOIN {b}.step AS s ON s.id = r.step WHERE s.session = ?1)"
        ),
        [id],
        |row| row.get(0),
    )
}

/// Whether the store's own session has anything that counts and that is not in `source`: a step, a mark, a closing, a note, or
/// a reading of a step that records. Other readings are of no mark.
pub(super) fn went_on(c: &Connection, id: i64) -> rusqlite::Result<bool> {
    let more: bool = c.query_row(
        "SELECT EXISTS (
            SELECT s.number, m.number, m.t_ns, m.source, m.place, m.taken_back FROM main.mark AS m
            JOIN main.step AS s ON s.id = m.step WHERE s.session = ?1
            EXCEPT SELECT s.number, m.number, m.t_ns, m.source, m.place, min(m.taken_back, x.value)
            FROM source.mark AS m JOIN source.step AS s ON s.id = m.step
            JOIN (SELECT 0 AS value UNION SELECT 1) AS x WHERE s.session = ?1)
         OR EXISTS (SELECT number FROM main.step WHERE session = ?1
                    EXCEPT SELECT number FROM source.step WHERE session = ?1)
         OR EXISTS (SELECT number FROM main.step WHERE session = ?1 AND closed_t_ns IS NOT NULL
                    EXCEPT SELECT number FROM source.step WHERE session = ?1 AND closed_t_ns IS NOT NULL)",
        [id],
        |row| row.get(0),
    )?;
    if more {
        return Ok(true);
    }
    let mut statement = c.prepare(
        "SELECT plan, EXISTS (
            SELECT seq, t_ns FROM main.reading WHERE step = one.id
            EXCEPT SELECT r.seq, r.t_ns FROM source.reading AS r JOIN source.step AS s ON s.id = r.step
            WHERE s.session = ?1 AND s.number = one.number)
         FROM main.step AS one WHERE session = ?1",
    )?;
    let mut rows = statement.query([id])?;
    while let Some(row) = rows.next()? {
        if row.get(1)? && decode::json::<Plan>(row, 0)?.records() {
            return Ok(true);
        }
    }
    Ok(false)
}
