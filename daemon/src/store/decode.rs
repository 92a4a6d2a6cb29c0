//! Rows back into what they were written from.

use metrology::Length;
use protocol::evidence::{CableReadings, Mark, MarkSource, Marks, Reading, Readings, Time};
use protocol::record::Event;
use rusqlite::types::Type;
use rusqlite::{Connection, Row, params};
use serde::de::DeserializeOwned;

/// A column that holds JSON.
pub(super) fn json<T: DeserializeOwned>(row: &Row<'_>, column: usize) -> rusqlite::Result<T> {
    let text = row.get_ref(column)?.as_str()?;
    serde_json::from_str(text).map_err(|error| {
        rusqlite::Error::FromSqlConversionFailure(column, Type::Text, Box::new(error))
    })
}

/// A column that holds JSON or nothing.
pub(super) fn optional_json<T: DeserializeOwned>(
    row: &Row<'_>,
    column: usize,
) -> rusqlite::Result<Option<T>> {
    match row.get_ref(column)? {
        rusqlite::types::ValueRef::Null => Ok(None),
        _ => json(row, column).map(Some),
    }
}

/// A column that holds a moment.
pub(super) fn time(row: &Row<'_>, column: usize) -> rusqlite::Result<Time> {
    row.get(column).map(Time)
}

/// A column that holds a moment or nothing.
pub(super) fn optional_time(row: &Row<'_>, column: usize) -> rusqlite::Result<Option<Time>> {
    Ok(row.get::<_, Option<i64>>(column)?.map(Time))
}

/// Every mark of a step, in order.
pub(super) fn marks(connection: &Connection, step: i64) -> rusqlite::Result<Marks> {
    connection
        .prepare_cached(
            "SELECT number, t_ns, place, round, clamped, setting, source, taken_back
             FROM mark WHERE step = ?1 ORDER BY number",
        )?
        .query_map([step], |row| {
            Ok(Mark {
                number: row.get(0)?,
                t: time(row, 1)?,
                place: json(row, 2)?,
                round: row.get(3)?,
                clamped: row.get(4)?,
                setting: row.get(5)?,
                source: json(row, 6)?,
                taken_back: row.get(7)?,
            })
        })?
        .collect()
}

/// Every reading of a step, by cable and in order.
pub(super) fn readings(connection: &Connection, step: i64) -> rusqlite::Result<Readings> {
    let mut all = Readings::new();
    for (key, name) in cables(connection)? {
        let of_cable: CableReadings = between(connection, step, key, 0, u64::MAX >> 1)?;
        if !of_cable.is_empty() {
            all.insert(name, of_cable);
        }
    }
    Ok(all)
}

/// The readings that the marks use, by cable and in order.
pub(super) fn readings_of_marks(
    connection: &Connection,
    step: i64,
    marks: &Marks,
) -> rusqlite::Result<Readings> {
    let mut used = Readings::new();
    for (key, name) in cables(connection)? {
        let mut of_cable: Vec<Reading> = Vec::new();
        for mark in marks {
            if let MarkSource::Dwell {
                cable,
                first_seq,
                last_seq,
            } = &mark.source
                && *cable == name
            {
                let dwell: Vec<Reading> = between(connection, step, key, *first_seq, *last_seq)?;
                of_cable.extend(dwell);
            }
        }
        // The dwells of two marks may share readings.
        of_cable.sort_unstable_by_key(|reading| reading.seq);
        of_cable.dedup_by_key(|reading| reading.seq);
        if !of_cable.is_empty() {
            used.insert(name, of_cable.into());
        }
    }
    Ok(used)
}

/// The readings of some cables from a moment on, by cable and in order; of each the first `most`.
pub(super) fn readings_since(
    connection: &Connection,
    step: i64,
    cables_wanted: &[&str],
    from: Time,
    most: usize,
) -> rusqlite::Result<Readings> {
    let mut all = Readings::new();
    for (key, name) in cables(connection)? {
        if !cables_wanted.contains(&&*name) {
            continue;
        }
        let of_cable = connection
            .prepare_cached(
                "SELECT seq, t_ns, value_pm, resolution_pm FROM reading
                 WHERE step = ?1 AND cable = ?2 AND t_ns >= ?3 ORDER BY seq LIMIT ?4",
            )?
            .query_map(params![step, key, from.0, most as i64], reading)?
            .collect::<rusqlite::Result<CableReadings>>()?;
        all.insert(name, of_cable);
    }
    Ok(all)
}

/// The cables that any reading came from: key and name.
pub(super) fn cables(connection: &Connection) -> rusqlite::Result<Vec<(i64, String)>> {
    connection
        .prepare_cached("SELECT id, name FROM cable ORDER BY id")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect()
}

/// Those of which a step has readings, by name.
pub(super) fn cables_of(
    connection: &Connection,
    step: i64,
) -> rusqlite::Result<Vec<(i64, String)>> {
    connection
        .prepare_cached(
            "SELECT id, name FROM cable AS one
             WHERE EXISTS (SELECT 1 FROM reading WHERE step = ?1 AND cable = one.id) ORDER BY name",
        )?
        .query_map([step], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect()
}

/// Hands on every reading of a cable in a step, in order, and holds one at a time.
pub(super) fn each_reading<E: From<rusqlite::Error> + From<std::io::Error>>(
    connection: &Connection,
    step: i64,
    cable: &str,
    each: &mut dyn FnMut(Reading) -> std::io::Result<()>,
) -> Result<(), E> {
    let mut statement = connection.prepare_cached(
        "SELECT seq, t_ns, value_pm, resolution_pm FROM reading
         WHERE step = ?1 AND cable = (SELECT id FROM cable WHERE name = ?2) ORDER BY seq",
    )?;
    let mut rows = statement.query(params![step, cable])?;
    while let Some(row) = rows.next()? {
        each(reading(row)?)?;
    }
    Ok(())
}

/// The last reading of a cable in a step.
pub(super) fn last_reading(
    connection: &Connection,
    step: i64,
    cable: i64,
) -> rusqlite::Result<Option<Reading>> {
    let mut statement = connection.prepare_cached(
        "SELECT seq, t_ns, value_pm, resolution_pm FROM reading
         WHERE step = ?1 AND cable = ?2 ORDER BY seq DESC LIMIT 1",
    )?;
    let mut rows = statement.query_map(params![step, cable], reading)?;
    rows.next().transpose()
}

fn between<C: FromIterator<Reading>>(
    connection: &Connection,
    step: i64,
    cable: i64,
    first: u64,
    last: u64,
) -> rusqlite::Result<C> {
    connection
        .prepare_cached(
            "SELECT seq, t_ns, value_pm, resolution_pm FROM reading
             WHERE step = ?1 AND cable = ?2 AND seq BETWEEN ?3 AND ?4 ORDER BY seq",
        )?
        .query_map(
            params![step, cable, first.cast_signed(), last.cast_signed()],
            reading,
        )?
        .collect()
}

fn reading(row: &Row<'_>) -> rusqlite::Result<Reading> {
    Ok(Reading {
        seq: row.get::<_, i64>(0)?.cast_unsigned(),
        t: time(row, 1)?,
        value: Length::from_pm(row.get(2)?),
        resolution: Length::from_pm(row.get(3)?),
    })
}

/// What happened in a session, in order.
pub(super) fn events(connection: &Connection, session: i64) -> rusqlite::Result<Vec<Event>> {
    connection
        .prepare_cached(
            "SELECT t_ns, utc_ns, what, text FROM event WHERE session = ?1 ORDER BY id",
        )?
        .query_map([session], |row| {
            Ok(Event {
                t: time(row, 0)?,
                utc_ns: time(row, 1)?,
                what: json(row, 2)?,
                text: row.get(3)?,
            })
        })?
        .collect()
}
