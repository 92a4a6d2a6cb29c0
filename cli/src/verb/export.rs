//! `export`: a session's record, written to a file.

use super::session::record;
use crate::args::ExportArgs;
use crate::client::Client;
use crate::document::csv::{self, Decimal};
use crate::document::html;
use crate::{Answer, Failure};
use serde_json::json;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

/// What a file is by its ending.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Json,
    Csv(Decimal),
    Html,
}

pub(super) async fn run(client: Client, args: &ExportArgs) -> Result<Answer, Failure> {
    let form = form(&args.to, args.decimal_comma)?;
    let record = record(&client, args.session.as_deref()).await?;
    let session = record.session.clone();
    let content = match form {
        Form::Json => record.write(),
        Form::Csv(decimal) => csv::write(&record, decimal),
        Form::Html => html::write(&record),
    };
    write_whole(&args.to, content.as_bytes()).map_err(|e| {
        Failure::new(
            "cannot_write",
            format!("{} cannot be written: {e}", args.to.display()),
        )
        .hint("a file that was there is whole; name another one: --to FILE")
    })?;
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

fn form(to: &Path, comma: bool) -> Result<Form, Failure> {
    let ending = to.extension().map(|e| e.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("csv") => Ok(Form::Csv(if comma { Decimal::Comma } else { Decimal::Point })),
        _ if comma => Err(Failure::usage(format!(
            "--decimal-comma is for a .csv, and {} is none",
            to.display()
        ))),
        Some("json") => Ok(Form::Json),
        Some("html") => Ok(Form::Html),
        _ => Err(Failure::bad_value(format!(
            "{} does not say what to write: its ending is none of .json, .csv, .html",
            to.display()
        ))
        .hint("--to FILE.json for the complete record, .csv for its readings, .html to read and print")),
    }
}

/// Writes a file as a whole or not at all: beside its place first, then renamed to it.
pub(crate) fn write_whole(to: &Path, content: &[u8]) -> io::Result<()> {
    let name = to
        .file_name()
        .ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "it names no file"))?;
    let mut beside = std::ffi::OsString::from(".");
    beside.push(name);
    beside.push(format!(".{}", std::process::id()));
    let beside = to.with_file_name(beside);
    let written = File::create_new(&beside).and_then(|mut file| {
        file.write_all(content)?;
        file.sync_all()?;
        fs::rename(&beside, to)
    });
    let written = written.and_then(|()| sync_folder(to));
    if written.is_err() {
        // The reason is the one told above; a leftover that cannot be removed either is the smaller harm.
        let _ = fs::remove_file(&beside);
    }
    written
}

/// Brings a file's name to the disk: until then a power cut may leave the file of before.
fn sync_folder(of: &Path) -> io::Result<()> {
    let folder = match of.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    match File::open(folder).and_then(|folder| folder.sync_all()) {
        // Some file systems have nothing to sync in a directory, and one that may not be read cannot be.
        Err(error)
            if matches!(
                error.kind(),
                io::ErrorKind::InvalidInput
                    | io::ErrorKind::Unsupported
                    | io::ErrorKind::PermissionDenied
            ) =>
        {
            Ok(())
        }
        done => done,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let directory = tempfile::tempdir().unwrap();
        let to = directory.path().join("record.json");
        write_whole(&to, b"first").unwrap();
        write_whole(&to, b"second").unwrap();
        assert_eq!(fs::read(&to).unwrap(), b"second");
        assert_eq!(fs::read_dir(directory.path()).unwrap().count(), 1);
    }

    #[test]
    fn what_cannot_be_written_leaves_nothing() {
        let directory = tempfile::tempdir().unwrap();
        // A directory stands where the file should go, so that the rename fails.
        let to = directory.path().join("record.json");
        fs::create_dir(&to).unwrap();
        assert!(write_whole(&to, b"content").is_err());
        assert_eq!(fs::read_dir(directory.path()).unwrap().count(), 1);
        assert!(write_whole(&directory.path().join("none/record.json"), b"").is_err());
    }
}
