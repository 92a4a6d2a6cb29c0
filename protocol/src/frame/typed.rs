//! What a user types, or an adapter that types digits: a line with a length or with divisions.

use super::line::{self, Line, Step, View};
use super::pattern::Terminator;
use super::{Decoded, decimal, places, steps, written};
use metrology::{Length, Shown, Unit};

/// A typed line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Typed {
    /// The size of a division, where it is known.
    pub division: Option<Length>,
}

impl Typed {
    pub(super) fn scan(self, view: View, bare: Unit) -> Option<Step> {
        let (bytes, total, edge) = match line::first(view, Terminator::Any) {
            Line::Whole(bytes, total, edge) => (bytes, total, edge),
            Line::Done(step) => return step,
        };
        let read = || {
            if edge != line::Edge::Known {
                return None;
            }
            self.read(std::str::from_utf8(bytes).ok()?, bare)
        };
        Some(match read() {
            Some(value) => Step::found(total, 0, value),
            None => Step::skip(total, line::Edge::Known),
        })
    }

    fn read(self, text: &str, bare: Unit) -> Option<Decoded> {
        let shown = Shown::parse(text, bare, self.division).ok()?;
        // The unit is whatever stands behind the number.
        let sign = text.trim_start_matches(|c: char| !c.is_alphabetic() && c != '"');
        Some(Decoded {
            unit: Unit::from_sign(sign),
            ..Decoded::bare(shown.value, shown.resolution)
        })
    }
}

/// The line that a user would type.
pub(super) fn encode(value: Length, resolution: Length, unit: Unit) -> Option<Vec<u8>> {
    let places = places(resolution, unit);
    let count = steps(value, unit.pm() / 10_i64.pow(u32::from(places)));
    decimal(false, count.unsigned_abs(), places, unit)?;
    let sign = if count < 0 { "-" } else { "" };
    let number = written(count.unsigned_abs(), 1, places, ".");
    let unit = match unit {
        Unit::Mm => "mm",
        Unit::Um => "um",
        Unit::In => "in",
    };
    Some(format!("{sign}{number}{unit}\n").into_bytes())
}
