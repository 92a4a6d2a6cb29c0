//! `session card`: what to take to the machine before the job.

use super::file::{ending, save, unwritten};
use crate::document::pdf;
use crate::{Answer, Failure};
use config::model::PaperSize;
use config::shipped::shipped_cautions;
use protocol::record::Record;
use protocol::style::Style;
use serde_json::json;
use std::path::Path;

/// Writes the card of a session.
pub(super) fn write(
    record: &Record,
    to: &Path,
    (style, paper): (Style, PaperSize),
) -> Result<Answer, Failure> {
    if ending(to).as_deref() != Some("pdf") {
        return Err(Failure::bad_value(format!(
            "{} cannot be a card: its ending is not .pdf",
            to.display()
        ))
        .hint("--to FILE.pdf"));
    }
    let cautions = shipped_cautions().iter();
    let cautions: Vec<String> = cautions.map(|caution| caution.text.clone()).collect();
    let content = pdf::card::write(record, &cautions, paper.into(), style);
    let content = content.map_err(unwritten)?;
    save(to, &content)?;
    let session = &record.session;
    let text = format!(
        "card of session {} ({}) written to {}",
        session.id,
        session.name,
        to.display()
    );
    Answer::new(
        text,
        &json!({
            "session": session.id,
            "file": to,
            "bytes": content.len(),
        }),
    )
}
