//! The record on paper: complete, to read, and as a table.

use super::place::Place;
use crate::Failure;
use crate::document::pdf::{self, Paper};
use crate::document::{csv, html};
use crate::verb::file::{unwritten, write_whole};
use metrology::Counted;
use protocol::record::{Record, Verified, verify};
use protocol::style::Style;
use std::path::{Path, PathBuf};

/// Where the record is written.
#[derive(Debug, Clone)]
pub struct Papers {
    /// Without its ending.
    stem: PathBuf,
}

impl Papers {
    /// Beside each other under the name of `to`, or in the demo's own directory.
    ///
    /// # Errors
    /// When `to` names no file.
    pub fn named(to: Option<&Path>, place: &Place) -> Result<Self, Failure> {
        let stem = match to {
            None => place.directory.join("spindle-seat"),
            Some(to) if to.file_name().is_none() => {
                return Err(Failure::bad_value(format!(
                    "{} names no file",
                    to.display()
                )));
            }
            // A name may hold points of its own: only the endings that are written here are one.
            Some(to) => match to.extension().and_then(|e| e.to_str()) {
                Some("json" | "html" | "csv" | "pdf") => to.with_extension(""),
                _ => to.to_owned(),
            },
        };
        Ok(Self { stem })
    }

    fn with(&self, ending: &str) -> PathBuf {
        let mut name = self.stem.as_os_str().to_owned();
        name.push(".");
        name.push(ending);
        PathBuf::from(name)
    }

    /// The files, in the order in which they are written.
    pub fn files(&self) -> [PathBuf; 4] {
        ["json", "html", "csv", "pdf"].map(|ending| self.with(ending))
    }

    /// Writes them, reads the complete one back, and computes every result of it again.
    ///
    /// # Errors
    /// When a file cannot be written, or a result is not the same again.
    pub fn write(&self, record: &Record) -> Result<String, Failure> {
        let files = self.files();
        let style = Style::default();
        let contents = [
            record.clone().write().into_bytes(),
            html::write(record, style).into_bytes(),
            csv::write(record, style).into_bytes(),
            pdf::record::write(record, Paper::A4, style).map_err(unwritten)?,
        ];
        for (file, content) in files.iter().zip(contents) {
            write_whole(file, &content).map_err(|e| {
                Failure::new(
                    "cannot_write",
                    format!("{} cannot be written: {e}", file.display()),
                )
                .hint("name another file: --to FILE")
            })?;
        }
        let [json, ..] = &files;
        let text = std::fs::read_to_string(json)
            .map_err(|e| Failure::new("cannot_read", format!("{}: {e}", json.display())))?;
        match verify(&text) {
            Ok(Verified::Agrees {
                steps,
                marks,
                readings,
                signed: _,
            }) => Ok(format!(
                "agrees: {} computed again from {} and {}",
                Counted(steps, "step"),
                Counted(marks, "mark"),
                Counted(readings, "reading")
            )),
            Ok(Verified::Differs(difference)) => Err(Failure::new(
                "record_differs",
                format!("{} does not agree: {difference}", json.display()),
            )),
            Ok(Verified::NotSigned { by, why }) => Err(Failure::new(
                "record_differs",
                format!("{} is not signed by {by}: {why}", json.display()),
            )),
            Err(error) => Err(Failure::new(
                "no_record",
                format!("{}: {error}", json.display()),
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Paths;

    #[test]
    fn endings_are_put_to_the_name() {
        let place = Place {
            directory: "/d".into(),
            paths: Paths {
                config: None,
                data: "/d/data".into(),
                socket: "/d/data/socket".into(),
            },
        };
        for (to, expected) in [
            (None, "/d/spindle-seat.json"),
            (Some("/x/seat"), "/x/seat.json"),
            (Some("/x/seat.html"), "/x/seat.json"),
            (Some("/x/seat.7"), "/x/seat.7.json"),
        ] {
            let papers = Papers::named(to.map(Path::new), &place).unwrap();
            assert_eq!(papers.files()[0], Path::new(expected));
        }
        assert!(Papers::named(Some(Path::new("..")), &place).is_err());
    }
}
