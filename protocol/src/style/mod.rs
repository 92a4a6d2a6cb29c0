//! How quantities and words are written: unit, decimal sign and language, as the reader wants them.
//!
//! The unit and the number of decimals of everything that is shown are chosen here alone. What is stored is not touched:
//! a record holds millimetres and English, and each document writes them in its own style.

mod choice;
mod quantity;
mod reading;
mod retold;
mod words;

pub use choice::{Decimal, Language};
pub use words::Said;

use metrology::Unit;
use metrology::setup::Setup;

/// The style in which something is written. The default is millimetres, a decimal point, English.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// The unit of readings; other lengths are in inches where it is the inch, else in millimetres.
    pub unit: Unit,
    /// What stands before the decimals.
    pub decimal: Decimal,
    /// The language.
    pub language: Language,
}

impl Default for Style {
    fn default() -> Self {
        Self::of(Unit::Mm)
    }
}

impl Style {
    /// English with a decimal point, in this unit.
    #[must_use]
    pub const fn of(unit: Unit) -> Self {
        Self {
            unit,
            decimal: Decimal::Point,
            language: Language::En,
        }
    }

    /// The same in the unit that the user stated; where none was stated, in that of the session's gauge blocks.
    #[must_use]
    pub fn in_unit(self, stated: Option<Unit>, setup: Option<&Setup>) -> Self {
        let kit = || setup?.kit.as_ref().map(|kit| kit.unit());
        Self {
            unit: stated.or_else(kit).unwrap_or(self.unit),
            ..self
        }
    }

    /// Whether lengths are in inches.
    #[must_use]
    pub const fn inches(self) -> bool {
        matches!(self.unit, Unit::In)
    }
}
