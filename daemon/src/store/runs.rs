//! The runs of the daemon, each with its anchor: from it the next one's timeline goes on.

use protocol::evidence::Time;
use rusqlite::{Connection, params};

/// The beginning of a run: the same moment on all clocks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Anchor {
    /// Which start of the computer this is.
    pub boot_id: String,
    /// The steady clock, which starts again with each start of the computer.
    pub steady_ns: i64,
    /// The system's clock.
    pub utc_ns: i64,
    /// The timeline.
    pub t: Time,
}

/// A run of the daemon, as it is begun in the store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Run {
    pub program: String,
    pub anchor: Anchor,
}

impl Run {
    /// Writes its row, and returns the key.
    pub fn write(&self, c: &Connection) -> rusqlite::Result<i64> {
        let Anchor {
            boot_id,
            steady_ns,
            utc_ns,
            t,
        } = &self.anchor;
        c.execute(
            "INSERT INTO run (program, boot_id, steady_ns, utc_ns, t_ns) VALUES (?1, ?2, ?3, ?4, ?5)",
            params![self.program, boot_id, steady_ns, utc_ns, t.0],
        )?;
        Ok(c.last_insert_rowid())
    }
}
