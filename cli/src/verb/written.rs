//! In which style a verb writes: what the command line says, else the configuration, else the session's gauge blocks.

use crate::args::DocumentArgs;
use config::Config;
use config::model::{Document, PaperSize};
use metrology::Unit;
use metrology::setup::Setup;
use protocol::style::Style;

/// What was stated of it.
#[derive(Debug, Clone, Copy, Default)]
pub struct Written {
    /// On the command line.
    unit: Option<Unit>,
    /// In the configuration.
    screen: Option<Unit>,
    /// There too.
    document: Document,
}

impl Written {
    /// By the command line and the configuration.
    pub fn of(unit: Option<Unit>, config: &Config) -> Self {
        Self {
            unit,
            screen: config.screen.unit,
            document: config.document,
        }
    }

    /// The unit, where one is stated for the terminal.
    pub fn unit(self) -> Option<Unit> {
        self.unit.or(self.screen)
    }

    /// Whether the command line names a unit.
    pub const fn names_unit(self) -> bool {
        self.unit.is_some()
    }

    /// In a terminal.
    pub fn style(self, setup: Option<&Setup>) -> Style {
        Style::default().in_unit(self.unit(), setup)
    }

    /// In a document of such a session.
    pub fn document(self, args: &DocumentArgs, setup: &Setup) -> (Style, PaperSize) {
        let document = Document {
            unit: self.unit.or(self.document.unit),
            decimal: args.decimal.map(Into::into).or(self.document.decimal),
            language: args.language.map_or(self.document.language, Into::into),
            paper: args.paper.map_or(self.document.paper, Into::into),
        };
        (document.style(self.screen, setup), document.paper)
    }
}
