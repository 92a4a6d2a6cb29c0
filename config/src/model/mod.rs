//! The configuration as the program uses it: checked, with every name resolved.

mod cable;
mod pedal;

pub use cable::{Cable, Cadence, Flow, Measures, Parity, PortSelector, SerialSettings, TYPED};
pub use pedal::{Pedal, PedalAction, PedalSelector};

use metrology::Unit;
use metrology::blocks::Kit;
use metrology::setting::Bar;
use metrology::setup::{Fixture, Indicator, SettleRule, Setup};
use metrology::taper::Taper;
use metrology::tolerance::Tolerance;
use protocol::api::SetupOptions;
use protocol::style::{Decimal, Language, Style};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Everything that a user may set. The default is what runs without a file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Config {
    /// The cables, in the order of the file: the first that measures the part is the indicator unless a session
    /// names another, and at most one measures the table's position.
    pub cables: Vec<Cable>,
    /// The user's own tapers, by name.
    pub tapers: BTreeMap<String, Taper>,
    /// The user's own kits, by name.
    pub kits: BTreeMap<String, Kit>,
    /// The user's setting instruments, by name.
    pub bars: BTreeMap<String, Bar>,
    /// The user's fixtures, by name.
    pub fixtures: BTreeMap<String, Fixture>,
    /// What the user's fixtures bring along: options that hold in a session in that fixture unless it states them.
    pub profiles: BTreeMap<String, SetupOptions>,
    /// When a dwell counts as settled, unless a session says otherwise.
    pub settle: SettleRule,
    /// What is known of the indicator where neither its cable nor a session says it; for typed readings too.
    pub indicator: Indicator,
    /// The tolerance of a session that states none.
    pub tolerance: Option<Tolerance>,
    /// A key, keypad or foot switch that marks whatever window has the focus.
    pub pedal: Option<Pedal>,
    /// How the screens show things.
    pub screen: Screen,
    /// How documents are written.
    pub document: Document,
    /// Whether exports are signed, and with what.
    pub sign: Sign,
    /// What is logged, and where.
    pub log: Log,
}

impl Config {
    /// The indicator's cable unless a session names another: the first that measures the part.
    #[must_use]
    pub fn indicator_cable(&self) -> Option<&Cable> {
        let mut cables = self.cables.iter();
        cables.find(|cable| cable.measures == Measures::Part)
    }

    /// The cable that measures where the table stands on its travel.
    #[must_use]
    pub fn position_cable(&self) -> Option<&Cable> {
        let mut cables = self.cables.iter();
        cables.find(|cable| cable.measures == Measures::Position)
    }
}

/// How the screens show things.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Screen {
    /// The unit of readings; where none is stated, that of the session's gauge blocks.
    pub unit: Option<Unit>,
    /// Whether colours are used.
    pub colour: Colour,
    /// Whether the live view sounds from the beginning.
    pub sound: bool,
}

impl Config {
    /// How a verb shows things in a terminal: English, in the unit of `[screen]`, or else of the session's gauge blocks.
    #[must_use]
    pub fn style(&self, setup: Option<&Setup>) -> Style {
        Style::default().in_unit(self.screen.unit, setup)
    }

    /// How terminal and page show a live view: in the unit of a terminal, with the words and the decimal sign of documents.
    #[must_use]
    pub fn live_style(&self, setup: Option<&Setup>) -> Style {
        self.document.words().in_unit(self.screen.unit, setup)
    }

    /// How a document is written, where nobody says otherwise.
    #[must_use]
    pub fn document_style(&self, setup: &Setup) -> Style {
        self.document.style(self.screen.unit, setup)
    }
}

/// How documents are written, unless the command line says otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Document {
    /// The unit of lengths; where none is stated, that of the screen.
    pub unit: Option<Unit>,
    /// The decimal sign; where none is stated, the usual one of the language.
    pub decimal: Option<Decimal>,
    /// The language.
    pub language: Language,
    /// The size of the paper.
    pub paper: PaperSize,
}

impl Document {
    /// The style; `screen` is the unit of the screen, where it is stated.
    #[must_use]
    pub fn style(&self, screen: Option<Unit>, setup: &Setup) -> Style {
        self.words().in_unit(self.unit.or(screen), Some(setup))
    }

    /// Language and decimal sign; the unit is not that of documents.
    #[must_use]
    pub fn words(&self) -> Style {
        let decimal = self.decimal;
        Style {
            decimal: decimal.unwrap_or_else(|| self.language.usual_decimal()),
            language: self.language,
            ..Style::default()
        }
    }
}

/// The size of a sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PaperSize {
    /// 210 mm by 297 mm.
    #[default]
    A4,
    /// 8.5 in by 11 in.
    Letter,
}

/// Whether colours are used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Colour {
    /// In a terminal, unless `NO_COLOR` is set.
    #[default]
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// Whether exports are signed, with which key, and which keys are known.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sign {
    /// Every export that can be signed is; otherwise those of which it is asked.
    pub always: bool,
    /// The file of the private key; the usual one beside the configuration unless stated.
    pub key: Option<PathBuf>,
    /// The directory of the keys that are known; the usual one beside the configuration unless stated.
    pub known: Option<PathBuf>,
}

/// What is logged, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Log {
    /// From this level on.
    pub level: LogLevel,
    /// A file beside which daily ones are kept; standard error without one.
    pub file: Option<PathBuf>,
    /// How many files are kept.
    pub keep: usize,
}

impl Default for Log {
    fn default() -> Self {
        Self {
            level: LogLevel::Info,
            file: None,
            keep: 7,
        }
    }
}

/// The levels of the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogLevel {
    /// Only what failed.
    Error,
    /// And what is doubtful.
    Warn,
    /// And what a user would want to know.
    Info,
    /// And how it came about.
    Debug,
    /// And everything.
    Trace,
}

impl LogLevel {
    /// Its name, as log filters take it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warn => "warn",
            Self::Info => "info",
            Self::Debug => "debug",
            Self::Trace => "trace",
        }
    }
}
