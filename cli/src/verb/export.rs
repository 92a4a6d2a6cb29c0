//! `export`: a session's record, written to a file.

use super::file::{NewFile, ending, not_saved, save, unwritten};
use super::which::{named, record};
use super::written::Written;
use crate::args::{DecimalSign, DocumentArgs, ExportArgs};
use crate::client::Client;
use crate::document::{csv, html, pdf};
use crate::keys::{KeyFault, Keys, Signer};
use crate::{Answer, Failure};
use config::Config;
use daemon::store::StoreError;
use protocol::record::{Record, sign_end};
use serde::Deserialize;
use serde_json::json;
use std::io::{self, BufWriter, Write};
use std::path::Path;

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
    signer: Option<&Signer>,
) -> Result<Answer, Failure> {
    let form = form(args, written)?;
    if form == Form::Json {
        return json_record(&client, args, signer).await;
    }
    let record = record(&client, args.session.as_deref()).await?;
    write(args, form, record, (written, signer))
}

/// What signs, when it is asked for and the form has room for a signature.
pub(super) fn signer(
    args: &ExportArgs,
    config: &Config,
    written: Written,
    keys: impl FnOnce() -> Result<Keys, KeyFault>,
) -> Result<Option<Signer>, Failure> {
    form(args, written)?;
    let always = config.sign.always && !args.unsigned && ending(&args.to).as_deref() != Some("csv");
    Ok(if args.sign || always {
        Some(keys()?.signer()?)
    } else {
        None
    })
}

/// The complete record goes from the store into the file, and is never held: a session may have ten million readings.
async fn json_record(
    client: &Client,
    args: &ExportArgs,
    signer: Option<&Signer>,
) -> Result<Answer, Failure> {
    let named = named(client, args.session.as_deref()).await?;
    let mut head = Head::default();
    let mut file = NewFile::begin(&args.to).map_err(|error| not_saved(&args.to, &error))?;
    let bytes = {
        let mut out = Ending {
            out: BufWriter::new(Both(&mut head, &mut file)),
            end: Vec::new(),
        };
        let length = client.record_into(named, &mut out).await?;
        length.and_then(|length| Ok(length + out.finish(signer)?))
    };
    bytes
        .and_then(|bytes| file.finish().map(|()| bytes))
        .map_err(|error| not_saved(&args.to, &error))
        .and_then(|bytes| told(args, head.session()?, bytes))
}

/// From an archive or a copy of the store, without the daemon.
pub(super) fn from_file(
    args: &ExportArgs,
    written: Written,
    signer: Option<&Signer>,
) -> Result<Answer, Failure> {
    let form = form(args, written)?;
    let from = args.from.as_deref().unwrap_or(Path::new(""));
    let session = args.session.as_deref().unwrap_or("latest");
    let record = daemon::record_of_file(from, session).map_err(|error| {
        let failed = Failure::new("cannot_read", error.to_string());
        match error {
            StoreError::NoSession { .. } => failed.hint(format!(
                "conewright store restore --from {} lists the sessions in it",
                from.display()
            )),
            _ => failed.hint("--from takes what was written by: conewright store archive"),
        }
    })?;
    write(args, form, record, (written, signer))
}

fn write(
    args: &ExportArgs,
    form: Form,
    mut record: Record,
    (written, signer): (Written, Option<&Signer>),
) -> Result<Answer, Failure> {
    record.signature = signer.map(|signer| signer.sign(&record.seal()));
    let (style, paper) = written.document(&wanted(args), &record.setup);
    let session = record.session.clone();
    let content = match form {
        Form::Json => record.write().into_bytes(),
        Form::Csv => csv::write(&record, style).into_bytes(),
        Form::Html => html::write(&record, style).into_bytes(),
        Form::Pdf => pdf::record::write(&record, paper.into(), style).map_err(unwritten)?,
    };
    save(&args.to, &content)?;
    told(args, (session.id, session.name), content.len() as u64)
}

fn told(args: &ExportArgs, (id, name): (i64, String), bytes: u64) -> Result<Answer, Failure> {
    let text = format!(
        "record of session {id} ({name}) written to {}",
        args.to.display()
    );
    Answer::new(
        text,
        &json!({ "session": id, "file": args.to, "bytes": bytes }),
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

/// The beginning of a record, which says of which session it is.
#[derive(Default)]
struct Head(Vec<u8>);

impl Head {
    /// More than format, version, program, number and the longest name take.
    const MOST: usize = 16 * 1024;

    fn session(&self) -> Result<(i64, String), Failure> {
        #[derive(Deserialize)]
        struct Session {
            id: i64,
            name: String,
        }
        let text = String::from_utf8_lossy(&self.0);
        let session = text.split_once("\"session\":").and_then(|(_, after)| {
            let mut values = serde_json::Deserializer::from_str(after).into_iter::<Session>();
            values.next()?.ok()
        });
        session
            .map(|session| (session.id, session.name))
            .ok_or_else(|| {
                Failure::new("internal", "the record does not say of which session it is")
            })
    }
}

/// Writes into the file, and keeps the beginning.
struct Both<'a, 'b>(&'a mut Head, &'a mut NewFile<'b>);

impl Write for Both<'_, '_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.1.write(bytes)?;
        let room = Head::MOST.saturating_sub(self.0.0.len());
        self.0.0.extend_from_slice(&bytes[..written.min(room)]);
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.1.flush()
    }
}

/// Holds back the end of a record on its way, behind which its signature goes: the seal that is signed is known there.
struct Ending<W> {
    out: W,
    end: Vec<u8>,
}

impl<W: Write> Ending<W> {
    /// More than the seal and what stands around it take, however the text is laid out.
    const MOST: usize = 1024;

    /// Writes the end, with the signature when there is one to be; gives how many bytes that made more.
    fn finish(mut self, signer: Option<&Signer>) -> io::Result<u64> {
        let mut more = 0;
        if let Some(signer) = signer {
            let end = std::str::from_utf8(&self.end);
            let signed = end.map(|end| sign_end(end, |seal| signer.sign(seal)));
            let Ok(Some(signed)) = signed else {
                return Err(io::Error::other("the record does not end with its seal"));
            };
            more = signed.len() - self.end.len();
            self.end = signed.into_bytes();
        }
        self.out.write_all(&self.end)?;
        self.out.flush()?;
        Ok(more as u64)
    }
}

impl<W: Write> Write for Ending<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.end.extend_from_slice(bytes);
        let on = self.end.len().saturating_sub(Self::MOST);
        self.out.write_all(&self.end[..on])?;
        self.end.drain(..on);
        Ok(bytes.len())
    }

    /// What is held back stays.
    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
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
    if args.sign && ending == Some("csv") {
        return Err(only_for("--sign", ".json, .html or .pdf"));
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
