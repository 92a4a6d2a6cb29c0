//! How documents are written.

use clap::{Args, ValueEnum};
use metrology::Unit;
use protocol::style::{Decimal, Language};

/// How a document is written; the configuration's `[document]` says it where these do not.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Args)]
pub struct DocumentArgs {
    /// The decimal sign; in a .csv, with the comma, semicolons stand between the columns
    #[arg(long, value_name = "SIGN")]
    pub decimal: Option<DecimalSign>,
    /// The language
    #[arg(long, value_name = "LANGUAGE")]
    pub language: Option<WordsIn>,
    /// In a .pdf: the size of the paper
    #[arg(long, value_name = "SIZE")]
    pub paper: Option<PaperSize>,
}

/// A unit of lengths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LengthUnit {
    /// Millimetres
    Mm,
    /// Micrometres for readings, millimetres for sizes
    Um,
    /// Inches
    In,
}

/// A decimal sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DecimalSign {
    /// 1.5
    Point,
    /// 1,5
    Comma,
}

/// A language that there is a table of words for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum WordsIn {
    /// English
    En,
    /// German
    De,
}

/// The size of a sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperSize {
    /// 210 mm by 297 mm
    A4,
    /// 8.5 in by 11 in
    Letter,
}

impl From<LengthUnit> for Unit {
    fn from(unit: LengthUnit) -> Self {
        match unit {
            LengthUnit::Mm => Self::Mm,
            LengthUnit::Um => Self::Um,
            LengthUnit::In => Self::In,
        }
    }
}

impl From<DecimalSign> for Decimal {
    fn from(sign: DecimalSign) -> Self {
        match sign {
            DecimalSign::Point => Self::Point,
            DecimalSign::Comma => Self::Comma,
        }
    }
}

impl From<WordsIn> for Language {
    fn from(language: WordsIn) -> Self {
        match language {
            WordsIn::En => Self::En,
            WordsIn::De => Self::De,
        }
    }
}

impl From<PaperSize> for config::model::PaperSize {
    fn from(size: PaperSize) -> Self {
        match size {
            PaperSize::A4 => Self::A4,
            PaperSize::Letter => Self::Letter,
        }
    }
}
