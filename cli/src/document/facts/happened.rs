//! What happened in a session beside readings and marks, and the cables that it used.

use super::utc;
use protocol::record::{EventKind, Record};
use protocol::said;
use protocol::sheet::{Column, Table};
use protocol::style::Style;

fn word(kind: EventKind, style: Style) -> String {
    match kind {
        EventKind::Note => said!(style, "event-note"),
        EventKind::Clamp => said!(style, "event-clamp"),
        EventKind::Ground => said!(style, "event-ground"),
        EventKind::Cable => said!(style, "event-cable"),
        EventKind::Clock => said!(style, "event-clock"),
        EventKind::Gap => said!(style, "event-gap"),
        EventKind::Daemon => said!(style, "event-program"),
    }
}

/// Notes and events, in order, in the words in which they were recorded.
pub fn events(record: &Record, style: Style) -> Table {
    let events = record.events.iter();
    let rows = events.map(|e| vec![utc(e.utc_ns), word(e.what, style), e.text.clone()]);
    let columns = [
        Column::text("UTC".to_owned()),
        Column::text(said!(style, "column-what")),
        Column::text(String::new()),
    ];
    Table::new(columns, rows)
}

/// The cables and their settings.
pub fn cables(record: &Record, style: Style) -> Table {
    let cables = record.cables.iter();
    let rows = cables.map(|c| {
        vec![
            c.name.clone(),
            c.port.clone(),
            c.settings.clone(),
            style.term("cadence", &c.cadence),
            c.frame.clone(),
        ]
    });
    let columns = [
        Column::text(said!(style, "column-cable")),
        Column::text(said!(style, "column-port")),
        Column::text(said!(style, "column-settings")),
        Column::text(said!(style, "column-cadence")),
        Column::text(said!(style, "column-frame")),
    ];
    Table::new(columns, rows)
}

/// Who wrote the document, and how its results are checked.
pub fn written_by(record: &Record, style: Style) -> String {
    said!(
        style,
        "written-by",
        program = record.program.as_str(),
        version = record.version.to_string()
    )
}
