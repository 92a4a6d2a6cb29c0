//! `export`: a session's record, written to a file. It goes from the store into the file, and is never held: a session may have ten
//! million readings.

use super::file::{NewFile, ending, not_saved, unwritten};
use super::which::named;
use super::written::Written;
use crate::args::{DecimalSign, DocumentArgs, ExportArgs};
use crate::client::Client;
use crate::document::streamed::{self, Unmade};
use crate::keys::{KeyFault, Keys, Signer};
use crate::{Answer, Failure};
use config::Config;
use daemon::store::StoreError;
use metrology::setup::Setup;
use protocol::record::sign_end;
use serde::Deserialize;
use serde_json::json;
use std::io::{self, BufWriter, Read, Write};
use std::path::Path;

/// What a file is by its ending.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    Json,
    Document(streamed::Form),
}

pub(super) async fn run(
    client: Client,
    args: &ExportArgs,
    written: Written,
    signer: Option<&Signer>,
) -> Result<Answer, Failure> {
    let work = Work::of(args, written, signer)?;
    let named = named(&client, args.session.as_deref()).await?;
    let (record, mut sent) = io::pipe().map_err(|error| not_saved(&args.to, &error))?;
    let made = tokio::task::spawn_blocking(move || work.write(record));
    let piped = client.record_into(named, &mut sent).await;
    drop(sent);
    let made = made.await.map_err(|error| {
        Failure::new("internal", format!("the record was not written: {error}"))
    })?;
    // When the pipe was left before its end, what was made says why.
    let piped = piped?;
    let made = made?;
    piped.map_err(|error| not_saved(&args.to, &error))?;
    placed(args, made)
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

/// From an archive or a copy of the store, without the daemon.
pub(super) fn from_file(
    args: &ExportArgs,
    written: Written,
    signer: Option<&Signer>,
) -> Result<Answer, Failure> {
    let work = Work::of(args, written, signer)?;
    let from = args.from.as_deref().unwrap_or(Path::new(""));
    let session = args.session.as_deref().unwrap_or("latest");
    let made = daemon::record_of_file(from, session, |record| work.write(record));
    let made = made.map_err(|error| {
        let failed = Failure::new("cannot_read", error.to_string());
        match error {
            StoreError::NoSession { .. } => failed.hint(format!(
                "conewright store restore --from {} lists the sessions in it",
                from.display()
            )),
            _ => failed.hint("--from takes what was written by: conewright store archive"),
        }
    })?;
    placed(args, made?)
}

/// What is to be written. It is done on a thread of its own, beside whatever the record comes from.
struct Work {
    args: ExportArgs,
    form: Form,
    written: Written,
    signer: Option<Signer>,
}

/// A file that is complete and not at its place yet, and the session whose record it is: its number and its name.
type Made = (NewFile, (i64, String));

impl Work {
    fn of(args: &ExportArgs, written: Written, signer: Option<&Signer>) -> Result<Self, Failure> {
        Ok(Self {
            form: form(args, written)?,
            args: args.clone(),
            written,
            signer: signer.cloned(),
        })
    }

    /// Writes the file from a record that is read as JSON. Whether that came to its end is known to who sends it.
    fn write(&self, record: impl Read) -> Result<Made, Failure> {
        let to = &self.args.to;
        let not_saved = |error| not_saved(to, &error);
        let mut file = NewFile::begin(to).map_err(not_saved)?;
        let session = match self.form {
            Form::Json => {
                json_record(record, &mut file, self.signer.as_ref()).map_err(not_saved)?
            }
            Form::Document(form) => self.document(record, form, &mut file)?,
        };
        Ok((file, session))
    }

    fn document(
        &self,
        record: impl Read,
        form: streamed::Form,
        file: &mut NewFile,
    ) -> Result<(i64, String), Failure> {
        let wanted = wanted(&self.args);
        let style = |setup: &Setup| self.written.document(&wanted, setup);
        let session = streamed::write(
            record,
            form,
            style,
            self.signer.as_ref(),
            BufWriter::with_capacity(PIECE, file),
        );
        let session = session.map_err(|why| match why {
            Unmade::Out(error) => not_saved(&self.args.to, &error),
            Unmade::Pdf(why) => unwritten(why),
            Unmade::Record(why) => Failure::new("internal", why.to_string())
                .hint("the complete record: conewright export --to FILE.json"),
        })?;
        Ok((session.id, session.name))
    }
}

/// What goes into a file at a time, bytes.
const PIECE: usize = 64 * 1024;

/// The complete record as it comes, with its signature when there is one to be.
fn json_record(
    mut record: impl Read,
    file: &mut NewFile,
    signer: Option<&Signer>,
) -> io::Result<(i64, String)> {
    let mut head = Head::default();
    let mut out = Ending {
        out: BufWriter::with_capacity(PIECE, Both(&mut head, file)),
        end: Vec::new(),
    };
    io::copy(&mut record, &mut out)?;
    out.finish(signer)?;
    head.session()
}

fn placed(args: &ExportArgs, (file, session): Made) -> Result<Answer, Failure> {
    let bytes = file.finish().map_err(|error| not_saved(&args.to, &error))?;
    told(args, session, bytes)
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

    fn session(&self) -> io::Result<(i64, String)> {
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
            .ok_or_else(|| io::Error::other("the record does not say of which session it is"))
    }
}

/// Writes into the file, and keeps the beginning.
struct Both<'a>(&'a mut Head, &'a mut NewFile);

impl Write for Both<'_> {
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

    /// Writes the end, with the signature when there is one to be.
    fn finish(mut self, signer: Option<&Signer>) -> io::Result<()> {
        if let Some(signer) = signer {
            let end = std::str::from_utf8(&self.end);
            let signed = end.map(|end| sign_end(end, |seal| signer.sign(seal)));
            let Ok(Some(signed)) = signed else {
                return Err(io::Error::other("the record does not end with its seal"));
            };
            self.end = signed.into_bytes();
        }
        self.out.write_all(&self.end)?;
        self.out.flush()
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
        Some("csv") => Ok(Form::Document(streamed::Form::Csv)),
        Some("html") => Ok(Form::Document(streamed::Form::Html)),
        Some("pdf") => Ok(Form::Document(streamed::Form::Pdf)),
        _ => Err(Failure::bad_value(format!(
            "{} does not say what to write: its ending is none of .json, .csv, .html, .pdf",
            to.display()
        ))
        .hint("--to FILE.json for the complete record, .csv for its readings, .html to read and print, .pdf to hand over")),
    }
}
