//! How quantities and words are written: unit, decimal sign and language, as the reader wants them.
//!
//! The unit and the number of decimals of everything that is shown are chosen here alone. What is stored is not touched:
//! a record holds millimetres and English, and each document writes them in its own style.

mod choice;
mod divisions;
mod quantity;
mod reading;
mod retold;
mod words;

pub use choice::{Decimal, Language};
pub use words::Said;

use metrology::setup::Setup;
use metrology::{Length, Unit};

/// The style in which something is written. The default is millimetres, a decimal point, English.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// The unit of readings; other lengths are in inches where it is the inch, else in millimetres.
    pub unit: Unit,
    /// What stands before the decimals.
    pub decimal: Decimal,
    /// The language.
    pub language: Language,
    /// The size of one division, where readings are typed from a dial whose divisions are known: taps and marks are then told
    /// in divisions as well.
    pub division: Option<Length>,
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
            division: None,
        }
    }

    /// The same in the unit that the user stated; where none was stated, in that of the session's gauge blocks. A dial that is
    /// read by eye is told in its divisions as well.
    #[must_use]
    pub fn in_unit(self, stated: Option<Unit>, setup: Option<&Setup>) -> Self {
        let kit = || setup?.kit.as_ref().map(|kit| kit.unit());
        let by_eye = setup.filter(|setup| setup.indicator.cable.is_none());
        Self {
            unit: stated.or_else(kit).unwrap_or(self.unit),
            division: by_eye.and_then(|setup| setup.indicator.division),
            ..self
        }
    }

    /// Whether lengths are in inches.
    #[must_use]
    pub const fn inches(self) -> bool {
        matches!(self.unit, Unit::In)
    }
}
