//! The tables, and how a file of an older program is brought up to date.
//!
//! A migration that was released is never edited: a change is a further one at the end of the list.

/// Each brings the file from the version of its index to the next; the file knows its own as `user_version`.
pub(super) const MIGRATIONS: &[&str] = &[V1, V2, V3, V4];

/// Marks the file as this program's ("cone" in ASCII), so that no other database is taken for one.
pub(super) const APPLICATION_ID: i32 = 0x636f_6e65;

// Marks are chained, numbers of deleted sessions are not given again, and what a damaged log has lost is kept in mind.
const V4: &str = "
ALTER TABLE session ADD COLUMN links INTEGER NOT NULL DEFAULT 0;
CREATE TABLE chain (
    session INTEGER NOT NULL REFERENCES session,
    link INTEGER NOT NULL,
    step INTEGER NOT NULL REFERENCES step,
    mark INTEGER NOT NULL,
    taken_back INTEGER NOT NULL,
    hash BLOB NOT NULL,
    PRIMARY KEY (session, link)
) STRICT, WITHOUT ROWID;
CREATE TABLE deleted (
    session INTEGER PRIMARY KEY,
    last_step INTEGER NOT NULL,
    last_t_ns INTEGER NOT NULL
) STRICT;
CREATE TABLE damage (
    id INTEGER PRIMARY KEY,
    kept TEXT NOT NULL UNIQUE,
    utc_ns INTEGER NOT NULL,
    changes INTEGER NOT NULL,
    marks INTEGER,
    settled INTEGER NOT NULL DEFAULT 0
) STRICT;
";

// A step knows the marks before which the part was ground.
const V3: &str = "
ALTER TABLE step ADD COLUMN ground TEXT;
";

// Steps have plans of several kinds; a session knows what its steps found of the half angle, and an indicator's check
// is kept under its cable's name.
const V2: &str = "
ALTER TABLE step ADD COLUMN plan TEXT;
UPDATE step SET plan = '{\"kind\":' || kind || '}';
ALTER TABLE session ADD COLUMN found TEXT;
CREATE TABLE checked (
    cable TEXT NOT NULL,
    step INTEGER NOT NULL REFERENCES step,
    what TEXT NOT NULL,
    PRIMARY KEY (cable, step)
) STRICT, WITHOUT ROWID;
";

// Readings are the bulk: without a row id and by their key they take half the room of a table with an index,
// and those of one cable in one step lie together, as every reader wants them.
const V1: &str = "
CREATE TABLE run (
    id INTEGER PRIMARY KEY,
    program TEXT NOT NULL,
    boot_id TEXT NOT NULL,
    steady_ns INTEGER NOT NULL,
    utc_ns INTEGER NOT NULL,
    t_ns INTEGER NOT NULL,
    ended_t_ns INTEGER
) STRICT;
CREATE TABLE session (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    opened_t_ns INTEGER NOT NULL,
    opened_utc_ns INTEGER NOT NULL,
    closed_utc_ns INTEGER,
    setup TEXT NOT NULL,
    cables TEXT NOT NULL,
    taper TEXT,
    fixture TEXT,
    clamped INTEGER NOT NULL DEFAULT 0,
    setting INTEGER NOT NULL DEFAULT 0,
    verdict TEXT
) STRICT;
CREATE INDEX session_open ON session(id) WHERE closed_utc_ns IS NULL;
CREATE TABLE step (
    id INTEGER PRIMARY KEY,
    session INTEGER NOT NULL REFERENCES session,
    number INTEGER NOT NULL,
    kind TEXT NOT NULL,
    opened_t_ns INTEGER NOT NULL,
    closed_t_ns INTEGER,
    UNIQUE (session, number)
) STRICT;
CREATE TABLE mark (
    step INTEGER NOT NULL REFERENCES step,
    number INTEGER NOT NULL,
    t_ns INTEGER NOT NULL,
    place TEXT NOT NULL,
    round INTEGER NOT NULL,
    clamped INTEGER NOT NULL,
    setting INTEGER NOT NULL,
    source TEXT NOT NULL,
    taken_back INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (step, number)
) STRICT, WITHOUT ROWID;
CREATE TABLE cable (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
) STRICT;
CREATE TABLE reading (
    step INTEGER NOT NULL,
    cable INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    t_ns INTEGER NOT NULL,
    value_pm INTEGER NOT NULL,
    resolution_pm INTEGER NOT NULL,
    PRIMARY KEY (step, cable, seq)
) STRICT, WITHOUT ROWID;
CREATE TABLE event (
    id INTEGER PRIMARY KEY,
    session INTEGER NOT NULL REFERENCES session,
    t_ns INTEGER NOT NULL,
    utc_ns INTEGER NOT NULL,
    what TEXT NOT NULL,
    text TEXT NOT NULL
) STRICT;
CREATE INDEX event_session ON event(session);
CREATE TABLE learned (
    fixture TEXT NOT NULL,
    step INTEGER NOT NULL REFERENCES step,
    what TEXT NOT NULL,
    PRIMARY KEY (fixture, step)
) STRICT, WITHOUT ROWID;
";
