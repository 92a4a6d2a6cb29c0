//! The short way for the line that nearly every instrument sends: a sign, a number with its point, perhaps `mm`, and the end of the line.
//!
//! What it reads the general way reads the same, and what it does not know it leaves to that.

use super::matcher::Parts;
use super::pattern::{Blanks, Piece, Point, Presence, Sign, Terminator, TextPattern};
use metrology::Unit;

/// More digits than this are left to the general way, which refuses them.
const MOST_DIGITS: u8 = 15;

/// Whether such a line is a whole frame of the pattern: a sign and a free number come first, and a unit of the usual ones may follow.
pub(super) fn suits(pattern: &TextPattern, lines: &[Vec<Piece>]) -> bool {
    let [pieces] = lines else {
        return false;
    };
    // The unit comes before a status: `mm` is then no letter of one.
    let parts = matches!(
        pieces[..],
        [Piece::Sign, Piece::Value, Piece::Unit]
            | [Piece::Sign, Piece::Value, Piece::Unit, Piece::Status]
    );
    parts
        && pattern.units.is_empty()
        && pattern.unit == Presence::Optional
        && pattern.blanks == Blanks::Free
        && pattern.sign != Sign::Minus
        && pattern.point != Point::None
        && (
            pattern.whole,
            pattern.places,
            pattern.width,
            pattern.channel,
        ) == (None, None, None, None)
}

/// What these bytes begin with, and how many of them that takes, where it is such a line. The other half
/// of a CR LF, which would be an empty line, goes with it.
#[inline]
pub(super) fn line(pattern: &TextPattern, bytes: &[u8]) -> Option<(usize, Parts)> {
    let (sign, mut rest) = match bytes {
        [sign @ (b'+' | b'-'), rest @ ..] => (Some(*sign), rest),
        rest if pattern.sign == Sign::Optional => (None, rest),
        _ => return None,
    };
    let mut digits = 0_u64;
    let whole = run(&mut rest, MOST_DIGITS, &mut digits)?;
    rest = match (rest, pattern.point) {
        ([b'.', rest @ ..], Point::Either | Point::Point)
        | ([b',', rest @ ..], Point::Either | Point::Comma) => rest,
        _ => return None,
    };
    let places = run(&mut rest, MOST_DIGITS - whole, &mut digits)?;
    // A single digit is left to the general way, and so is a point without digits behind it.
    if places == 0 || whole + places < 2 {
        return None;
    }
    let mut unit = None;
    if let [b'm', b'm', after @ ..] = rest {
        (unit, rest) = (Some(Unit::Mm), after);
    }
    rest = match (rest, pattern.terminator) {
        ([b'\r', b'\n', rest @ ..], Terminator::Any | Terminator::CrLf)
        | ([b'\r', rest @ ..], Terminator::Any | Terminator::Cr)
        | ([b'\n', rest @ ..], Terminator::Any | Terminator::Lf) => rest,
        _ => return None,
    };
    let parts = Parts {
        negative: sign == Some(b'-'),
        signed: sign.is_some(),
        pointed: true,
        digits,
        places,
        unit,
        ..Parts::default()
    };
    Some((bytes.len() - rest.len(), parts))
}

/// A run of digits, taken off; nothing when there are more than `most`.
#[inline]
fn run(rest: &mut &[u8], most: u8, digits: &mut u64) -> Option<u8> {
    let mut count = 0;
    while let [digit @ b'0'..=b'9', after @ ..] = *rest {
        if count == most {
            return None;
        }
        *digits = *digits * 10 + u64::from(digit - b'0');
        *rest = after;
        count += 1;
    }
    Some(count)
}

#[cfg(test)]
mod tests {
    use super::super::line::{Edge, Step, Trust, View};
    use super::super::shipped;
    use super::super::text::TextFrame;
    use super::*;
    use proptest::prelude::*;

    fn frames() -> Vec<TextFrame> {
        let named = ["text", "text-status"].map(|name| shipped::pattern(name).unwrap());
        let own = [
            TextPattern {
                terminator: Terminator::CrLf,
                sign: Sign::Always,
                ..TextPattern::default()
            },
            TextPattern {
                terminator: Terminator::Cr,
                point: Point::Comma,
                ..TextPattern::default()
            },
        ];
        let patterns = named.into_iter().chain(own);
        patterns.map(|p| TextFrame::new(&p).unwrap()).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2_000))]

        /// Whatever the bytes: where the short way finds something, the general way finds the same.
        #[test]
        fn the_short_way_reads_what_the_general_way_reads(
            bytes in prop_oneof!["[-+]?[0-9]{0,17}[.,]?[0-9]{0,17}(mm|MM| mm|um|in)?[\r\n]{0,3}[-+0-9.m]{0,3}", "[-+0-9., mM\r\n]{0,12}"]
        ) {
            for frame in frames() {
                let view = View { bytes: bytes.as_bytes(), edge: Edge::Known, paused: false, trust: Trust::None };
                let Some((taken, short)) = frame.quick(view.bytes, Unit::Mm) else { continue };
                let general = frame.general(view, Unit::Mm).unwrap();
                // The short way may take one byte more.
                prop_assert!((general.taken..=general.taken + 1).contains(&taken), "{bytes:?}: {taken}, {general:?}");
                let as_short = Step::found(general.taken, 0, short);
                prop_assert!(as_short == general, "{bytes:?}: {short:?}, {general:?}");
            }
        }
    }

    #[test]
    fn the_usual_line_goes_the_short_way() {
        let pattern = shipped::pattern("text").unwrap();
        let (taken, parts) = line(&pattern, b"-0.012\r\n+1.000\r\n").unwrap();
        assert_eq!(
            (taken, parts.digits, parts.places, parts.negative),
            (8, 12, 3, true)
        );
        let (taken, parts) = line(&pattern, b"1.5mm\n").unwrap();
        assert_eq!((taken, parts.unit), (6, Some(Unit::Mm)));
        assert!(suits(
            &pattern,
            &super::super::pattern::pieces(&pattern.line).unwrap()
        ));
        for left in [
            &b"5\r\n"[..],
            b"1.5",
            b"1.5 mm\r\n",
            b"1.5in\r\n",
            b"X1.5\r\n",
        ] {
            assert!(line(&pattern, left).is_none(), "{}", left.escape_ascii());
        }
    }
}
