//! A document made of a record that comes piece by piece: what it does not show is never held.

use super::pdf::{Paper, Unwritten};
use super::{csv, html, pdf};
use crate::keys::Signer;
use config::model::PaperSize;
use metrology::setup::Setup;
use protocol::record::{PieceError, Record, SessionInfo, Thinned};
use protocol::style::Style;
use std::io::{self, BufReader, Read, Write};

/// What is made of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// The table of its readings.
    Csv,
    /// The page to read and print.
    Html,
    /// The document to hand over.
    Pdf,
}

/// Why a document was not made.
#[derive(Debug, thiserror::Error)]
pub enum Unmade {
    /// The record cannot be read.
    #[error("{0}")]
    Record(PieceError),
    /// What was made is not taken.
    #[error(transparent)]
    Out(#[from] io::Error),
    /// The PDF's library does not accept what it was given.
    #[error(transparent)]
    Pdf(#[from] Unwritten),
}

impl From<PieceError> for Unmade {
    fn from(error: PieceError) -> Self {
        match error {
            PieceError::Out(error) => Self::Out(error),
            read @ PieceError::Read(_) => Self::Record(read),
        }
    }
}

/// Pieces of the record are read in such a size, bytes.
const PIECE: usize = 64 * 1024;

/// Makes a document of a record that is read as JSON; `style` says how it looks for such a set-up. Returns the record's session.
///
/// # Errors
/// [`Unmade`]: the record cannot be read, or the document cannot be written.
pub fn write(
    record: impl Read,
    form: Form,
    style: impl Fn(&Setup) -> (Style, PaperSize),
    signer: Option<&Signer>,
    mut out: impl Write,
) -> Result<SessionInfo, Unmade> {
    let record = BufReader::with_capacity(PIECE, record);
    if form == Form::Csv {
        let (record, table) = Record::read_by_piece(record, |head| {
            csv::Table::begin(&mut out, style(&head.setup).0)
        })?;
        table.finish()?;
        return Ok(record.session);
    }
    let (mut record, _) = Record::read_by_piece(record, |_| Ok(Thinned::default()))?;
    record.signature = signer.map(|signer| signer.sign(&record.sealed()));
    let (style, paper) = style(&record.setup);
    let document = match form {
        Form::Pdf => pdf::record::write(&record, Paper::from(paper), style)?,
        Form::Csv | Form::Html => html::write(&record, style).into_bytes(),
    };
    out.write_all(&document)?;
    out.flush()?;
    Ok(record.session)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::example;
    use metrology::Unit;
    use protocol::style::{Decimal, Language};

    const GERMAN: Style = Style {
        unit: Unit::Mm,
        decimal: Decimal::Comma,
        language: Language::De,
        division: None,
    };

    fn streamed(json: &str, form: Form, style: Style) -> Result<Vec<u8>, Unmade> {
        let mut out = Vec::new();
        let paper = |_: &Setup| (style, PaperSize::A4);
        write(json.as_bytes(), form, paper, None, &mut out).map(|_| out)
    }

    #[test]
    fn every_document_is_the_one_that_the_whole_record_makes() {
        for record in [example::record(), example::job()] {
            let json = record.clone().write();
            for style in [Style::default(), Style::of(Unit::In), GERMAN] {
                let streamed = |form| streamed(&json, form, style).unwrap();
                let table = String::from_utf8(streamed(Form::Csv)).unwrap();
                assert_eq!(table, csv::write(&record, style));
                let page = String::from_utf8(streamed(Form::Html)).unwrap();
                assert_eq!(page, html::write(&record, style));
                let paper = pdf::record::write(&record, Paper::A4, style).unwrap();
                assert!(streamed(Form::Pdf) == paper);
            }
        }
    }

    #[test]
    fn a_record_that_is_cut_short_makes_no_document() {
        let json = example::record().write();
        for form in [Form::Csv, Form::Html, Form::Pdf] {
            let cut = streamed(&json[..json.len() - 20], form, Style::default());
            assert!(matches!(cut, Err(Unmade::Record(_))), "{form:?}: {cut:?}");
        }
    }

    /// A disk that is full.
    struct Full;

    impl Write for Full {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::StorageFull.into())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_document_that_is_not_taken_is_reported() {
        let json = example::record().write();
        for form in [Form::Csv, Form::Html, Form::Pdf] {
            let style = |_: &Setup| (Style::default(), PaperSize::A4);
            let made = write(json.as_bytes(), form, style, None, Full);
            let Err(Unmade::Out(error)) = made else {
                panic!("{form:?}: {made:?}");
            };
            assert_eq!(error.kind(), io::ErrorKind::StorageFull, "{form:?}");
        }
    }
}
