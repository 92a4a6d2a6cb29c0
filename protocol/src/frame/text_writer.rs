//! The line of a text pattern for a value: what the virtual bench sends, and what a pattern is tried on.

use super::pattern::{Blanks, Piece, Point, Sign};
use super::text::{TextFrame, UNITS};
use super::{decimal, places, steps, written};
use metrology::{Length, Unit};

impl TextFrame {
    pub(super) fn encode(&self, value: Length, resolution: Length, unit: Unit) -> Option<Vec<u8>> {
        let pattern = &self.rules.pattern;
        let needs_point = pattern.point != Point::None;
        let places = pattern.places.unwrap_or(if needs_point {
            places(resolution, unit).max(1)
        } else {
            0
        });
        let count = steps(value, unit.pm() / 10_i64.pow(u32::from(places)));
        let bytes = self.write(count, places, unit)?;
        // What does not come back as it was is not sent: too many digits for the columns, for one.
        let back = self.read(&bytes, unit)?;
        let (sent, _) = decimal(count < 0, count.unsigned_abs(), places, unit)?;
        (back.value == sent).then_some(bytes)
    }

    /// The line for a number of steps; `places` only counts where the pattern leaves it open.
    pub(super) fn write(&self, count: i64, places: u8, unit: Unit) -> Option<Vec<u8>> {
        let pattern = &self.rules.pattern;
        let places = pattern.places.unwrap_or(places);
        if count < 0 && !self.has(&Piece::Sign) {
            return None;
        }
        let mut bytes = Vec::new();
        let mut value_at = 0;
        for (number, pieces) in self.lines.iter().enumerate() {
            let start = bytes.len();
            for piece in pieces {
                match piece {
                    Piece::Literal(literal) => bytes.extend_from_slice(literal),
                    Piece::Blank => bytes.push(b' '),
                    Piece::Channel => bytes.extend_from_slice(
                        format!(
                            "{:0width$}",
                            pattern.channel.unwrap_or(1),
                            width = usize::from(pattern.channel_digits)
                        )
                        .as_bytes(),
                    ),
                    Piece::Sign => bytes.extend_from_slice(match (count < 0, pattern.sign) {
                        (true, _) => b"-",
                        (false, Sign::Always) => b"+",
                        (false, Sign::Minus) if pattern.blanks == Blanks::Exact => b" ",
                        (false, _) => b"",
                    }),
                    Piece::Value => {
                        value_at = bytes.len();
                        let whole = pattern.whole.unwrap_or(1);
                        let point = match pattern.point {
                            Point::None => "",
                            Point::Comma => ",",
                            Point::Either | Point::Point => ".",
                        };
                        let text = written(count.unsigned_abs(), whole, places, point);
                        bytes.extend_from_slice(text.as_bytes());
                    }
                    Piece::Unit => bytes.extend_from_slice(self.sign_of(unit)?),
                    Piece::Status if pattern.blanks == Blanks::Exact => bytes.push(b' '),
                    Piece::Status => {}
                }
            }
            if let (0, Some(width), Blanks::Free) = (number, pattern.width, pattern.blanks) {
                let missing = usize::from(width).saturating_sub(bytes.len() - start);
                let at = if value_at > 0 { value_at } else { start };
                bytes.splice(at..at, std::iter::repeat_n(b' ', missing));
            }
            bytes.extend_from_slice(pattern.terminator.bytes());
        }
        Some(bytes)
    }

    /// The sign with which a unit is sent: the shortest, so that the plain one comes first.
    fn sign_of(&self, unit: Unit) -> Option<&[u8]> {
        if self.rules.pattern.units.is_empty() {
            let usual = UNITS.iter().find(|(_, u)| *u == unit);
            return usual.map(|(sign, _)| *sign);
        }
        let own = self.rules.units.iter().rfind(|(_, u)| *u == unit);
        own.map(|(sign, _)| sign.as_slice())
    }
}
