//! What happened in a session beside readings and marks, and the cables that it used.

use super::utc;
use protocol::record::{EventKind, Record};
use protocol::sheet::Table;

const fn word(kind: EventKind) -> &'static str {
    match kind {
        EventKind::Note => "note",
        EventKind::Clamp => "clamp",
        EventKind::Ground => "ground",
        EventKind::Cable => "cable",
        EventKind::Clock => "clock",
        EventKind::Gap => "gap",
        EventKind::Daemon => "program",
    }
}

/// Notes and events, in order.
pub fn events(record: &Record) -> Table {
    let events = record.events.iter();
    let rows = events.map(|e| vec![utc(e.utc_ns), word(e.what).to_owned(), e.text.clone()]);
    Table::new(&["UTC", "What", ""], rows)
}

/// The cables and their settings.
pub fn cables(record: &Record) -> Table {
    let cables = record.cables.iter();
    let rows = cables.map(|c| {
        [&c.name, &c.port, &c.settings, &c.cadence, &c.frame]
            .map(String::clone)
            .to_vec()
    });
    Table::new(&["Cable", "Port", "Settings", "Readings", "Frame"], rows)
}

/// Who wrote the document, and how its results are checked.
pub fn written_by(record: &Record) -> String {
    format!(
        "Written by Conewright {} as record version {}. Every result above can be computed again from the readings in the \
         record's JSON: conewright verify FILE.json",
        record.program, record.version
    )
}
