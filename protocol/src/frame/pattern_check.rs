//! What a description of a line may say: values in their domain, keys with their pieces.

use super::line::{LONGEST, is_blank};
use super::pattern::{Blanks, PatternError, Piece, Presence, Sign, TextPattern};

/// Whether every line of the pattern has the same length.
pub(super) fn is_fixed(pattern: &TextPattern, lines: &[Vec<Piece>]) -> bool {
    let mut lengths = pattern.units.keys().map(String::len);
    let first = lengths.next();
    let unit_fixed =
        first.is_some() && lengths.all(|n| Some(n) == first) && pattern.unit == Presence::Always;
    pattern.blanks == Blanks::Exact
        && lines[0].iter().all(|piece| match piece {
            Piece::Literal(_) | Piece::Blank | Piece::Channel | Piece::Status => true,
            Piece::Sign => pattern.sign != Sign::Optional,
            Piece::Value => pattern.whole.is_some() && pattern.places.is_some(),
            Piece::Unit => unit_fixed,
        })
}

/// Refuses values that cannot be, and keys without their piece.
pub(super) fn check(pattern: &TextPattern, lines: &[Vec<Piece>]) -> Result<(), PatternError> {
    let has = |piece: &Piece| lines.iter().flatten().any(|p| p == piece);
    let domain = |key, value: String, domain| Err(PatternError::OutOfDomain { key, value, domain });
    if pattern.line.len() > 80 {
        return domain("line", pattern.line.clone(), "at most 80 characters");
    }
    for (key, digits, most) in [("whole", pattern.whole, 9), ("places", pattern.places, 6)] {
        if let Some(n) = digits.filter(|n| *n > most) {
            return domain(
                key,
                n.to_string(),
                "at most 9 digits before the point and 6 behind it",
            );
        }
    }
    if pattern.whole.unwrap_or(1) + pattern.places.unwrap_or(1) < 2 {
        return domain(
            "whole",
            pattern.whole.unwrap_or(0).to_string(),
            "a value has two digits at least, or noise is taken for one",
        );
    }
    if !(1..=2).contains(&pattern.channel_digits) {
        return domain(
            "channel_digits",
            pattern.channel_digits.to_string(),
            "1 or 2",
        );
    }
    if let Some(channel) = pattern.channel {
        if channel > 99 || (channel > 9 && pattern.channel_digits == 1) {
            return domain(
                "channel",
                channel.to_string(),
                "a number with as many digits as `channel_digits` says, 1 where it does not",
            );
        }
        if !has(&Piece::Channel) {
            return Err(PatternError::Unpaired {
                key: "channel",
                piece: "{channel}",
            });
        }
    }
    if let Some(width) = pattern.width.filter(|w| usize::from(*w) > LONGEST / 2) {
        return domain("width", width.to_string(), "at most 80 characters");
    }
    let letters = || pattern.status.bytes().chain(pattern.refuse.bytes());
    if has(&Piece::Status) != letters().next().is_some() {
        return Err(PatternError::Unpaired {
            key: "status",
            piece: "{status}",
        });
    }
    if !letters().all(|b| b.is_ascii_graphic() && !b.is_ascii_digit() && !b"+-.,".contains(&b)) {
        return domain(
            "status",
            format!("{}{}", pattern.status, pattern.refuse),
            "letters and signs that are no part of a number",
        );
    }
    if !has(&Piece::Unit) && (pattern.unit == Presence::Always || !pattern.units.is_empty()) {
        return Err(PatternError::Unpaired {
            key: "unit",
            piece: "{unit}",
        });
    }
    let bad =
        |s: &&String| s.is_empty() || s.len() > 8 || s.bytes().any(|b| b < 0x20 || is_blank(b));
    if let Some(sign) = pattern.units.keys().find(bad) {
        return domain(
            "units",
            sign.clone(),
            "a unit's sign has one to eight characters and no blank",
        );
    }
    Ok(())
}
