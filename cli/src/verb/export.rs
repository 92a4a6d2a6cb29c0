//! `export`: a session's record, written to a file.

use super::file::{ending, paper, save, unwritten};
use super::session::record;
use crate::args::{ExportArgs, PaperSize};
use crate::client::Client;
use crate::document::csv::{self, Decimal};
use crate::document::html;
use crate::document::pdf::{self, Paper};
use crate::{Answer, Failure};
use serde_json::json;
use std::path::Path;

/// What a file is by its ending.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    Json,
    Csv(Decimal),
    Html,
    Pdf(Paper),
}

pub(super) async fn run(client: Client, args: &ExportArgs) -> Result<Answer, Failure> {
    let form = form(&args.to, args.decimal_comma, args.paper)?;
    let record = record(&client, args.session.as_deref()).await?;
    let session = record.session.clone();
    let content = match form {
        Form::Json => record.write().into_bytes(),
        Form::Csv(decimal) => csv::write(&record, decimal).into_bytes(),
        Form::Html => html::write(&record).into_bytes(),
        Form::Pdf(paper) => pdf::record::write(&record, paper).map_err(unwritten)?,
    };
    save(&args.to, &content)?;
    let text = format!(
        "record of session {} ({}) written to {}",
        session.id,
        session.name,
        args.to.display()
    );
    Answer::new(
        text,
        &json!({
            "session": session.id,
            "file": args.to,
            "bytes": content.len(),
        }),
    )
}

fn form(to: &Path, comma: bool, named: Option<PaperSize>) -> Result<Form, Failure> {
    let ending = ending(to);
    let ending = ending.as_deref();
    let only_for = |flag: &str, other: &str| {
        let file = to.display();
        Failure::usage(format!("{flag} is for a {other}, and {file} is none"))
    };
    if comma && ending != Some("csv") {
        return Err(only_for("--decimal-comma", ".csv"));
    }
    if named.is_some() && ending != Some("pdf") {
        return Err(only_for("--paper", ".pdf"));
    }
    match ending {
        Some("json") => Ok(Form::Json),
        Some("csv") if comma => Ok(Form::Csv(Decimal::Comma)),
        Some("csv") => Ok(Form::Csv(Decimal::Point)),
        Some("html") => Ok(Form::Html),
        Some("pdf") => Ok(Form::Pdf(paper(named))),
        _ => Err(Failure::bad_value(format!(
            "{} does not say what to write: its ending is none of .json, .csv, .html, .pdf",
            to.display()
        ))
        .hint("--to FILE.json for the complete record, .csv for its readings, .html to read and print, .pdf to hand over")),
    }
}
