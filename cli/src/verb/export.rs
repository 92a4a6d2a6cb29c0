//! `export`: a session's record, written to a file.

use super::file::{ending, save, unwritten};
use super::session::record;
use super::written::Written;
use crate::args::{DecimalSign, DocumentArgs, ExportArgs};
use crate::client::Client;
use crate::document::{csv, html, pdf};
use crate::{Answer, Failure};
use serde_json::json;

/// What a file is by its ending.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    Json,
    Csv,
    Html,
    Pdf,
}

pub(super) async fn run(
    client: Client,
    args: &ExportArgs,
    written: Written,
) -> Result<Answer, Failure> {
    let form = form(args, written)?;
    let record = record(&client, args.session.as_deref()).await?;
    let (style, paper) = written.document(&wanted(args), &record.setup);
    let session = record.session.clone();
    let content = match form {
        Form::Json => record.write().into_bytes(),
        Form::Csv => csv::write(&record, style).into_bytes(),
        Form::Html => html::write(&record, style).into_bytes(),
        Form::Pdf => pdf::record::write(&record, paper.into(), style).map_err(unwritten)?,
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

/// What the options say of the document.
fn wanted(args: &ExportArgs) -> DocumentArgs {
    let comma = args.decimal_comma.then_some(DecimalSign::Comma);
    DocumentArgs {
        decimal: args.written.decimal.or(comma),
        ..args.written
    }
}

fn form(args: &ExportArgs, written: Written) -> Result<Form, Failure> {
    let to = &args.to;
    let ending = ending(to);
    let ending = ending.as_deref();
    let only_for = |flag: &str, other: &str| {
        let file = to.display();
        Failure::usage(format!("{flag} is for a {other}, and {file} is none"))
    };
    if args.decimal_comma && ending != Some("csv") {
        return Err(only_for("--decimal-comma", ".csv"));
    }
    if args.written.paper.is_some() && ending != Some("pdf") {
        return Err(only_for("--paper", ".pdf"));
    }
    let stated = [
        ("--unit", written.names_unit()),
        ("--decimal", args.written.decimal.is_some()),
        ("--language", args.written.language.is_some()),
    ];
    let stated = stated.iter().find(|(_, stated)| *stated);
    if let (Some("json"), Some((flag, _))) = (ending, stated) {
        return Err(only_for(flag, ".html, .pdf or .csv")
            .hint("the complete record is in SI units, for programs to read"));
    }
    match ending {
        Some("json") => Ok(Form::Json),
        Some("csv") => Ok(Form::Csv),
        Some("html") => Ok(Form::Html),
        Some("pdf") => Ok(Form::Pdf),
        _ => Err(Failure::bad_value(format!(
            "{} does not say what to write: its ending is none of .json, .csv, .html, .pdf",
            to.display()
        ))
        .hint("--to FILE.json for the complete record, .csv for its readings, .html to read and print, .pdf to hand over")),
    }
}
