//! A step's outcome in lines: what `status`, `analyse` and `session show` print of it.

#[cfg(test)]
mod golden;

use crate::layout::{Pairs, Table};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use metrology::setup::Setup;
use protocol::api::Ground;
use protocol::evidence::Time;
use protocol::fold::Outcome;
use protocol::said;
use protocol::sheet::Sheet;
use protocol::style::Style;

/// What was noted of the grinding.
pub fn ground_words(ground: Ground, not: bool, style: Style) -> String {
    let mark = ground.before_mark;
    match (not, ground.next) {
        (false, true) => said!(style, "ground-now"),
        (false, false) => said!(style, "ground-before", mark = mark),
        (true, _) => said!(style, "not-ground-before", mark = mark),
    }
}

/// The outcome in whole lines. A plot has none: its tables tell what is in it.
#[must_use]
pub fn outcome(outcome: &Outcome, setup: &Setup, style: Style) -> String {
    let sheet = Sheet::of(setup, outcome, None, style);
    let mut pairs = Pairs::default();
    for headline in &sheet.headlines {
        pairs.add("result", headline.to_string());
    }
    for figure in &sheet.figures {
        pairs.add(&figure.name, figure.text(day));
    }
    let mut text = pairs.text();
    let mut remarks = Pairs::default();
    for sentence in &sheet.sentences {
        remarks.add("remark", sentence);
    }
    text.push_str(&remarks.text());
    for part in &sheet.parts {
        if let Some(table) = &part.table {
            let names: Vec<&str> = table.columns.iter().map(|column| &*column.name).collect();
            let mut lines = Table::new(&names);
            for row in &table.rows {
                lines.row(row.clone());
            }
            text.push_str(&format!("  {}\n{}", part.heading, lines.text()));
        } else if part.plot.is_none() {
            text.push_str(&format!("  {}\n", part.heading));
        }
        if (part.table.is_some() || part.plot.is_none()) && !part.note.is_empty() {
            text.push_str(&format!("  {}\n", part.note));
        }
    }
    text
}

/// The day of a moment, by the local clock.
fn day(t: Time) -> String {
    Timestamp::from_nanosecond(i128::from(t.0)).map_or_else(
        |_| String::from("?"),
        |at| {
            let at = at.to_zoned_datetime(TimeZone::system());
            at.strftime("%Y-%m-%d").to_string()
        },
    )
}
